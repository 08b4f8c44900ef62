//! `loopleaf format`

use std::fs;
use std::path::{Path, PathBuf};

use super::session::Session;
use super::{Exit, args};
use crate::source::decode;
use crate::syntax::format::format;

pub(super) fn run(options: &args::Format, session: &mut Session<'_>) -> Result<Exit, String> {
    let mut files = Vec::new();
    for path in &options.paths {
        gather(path, &mut files)?;
    }
    let mut worst = Exit::Fine;
    for file in files {
        let shown = file.display().to_string();
        let bytes = super::disk::read_bytes(&file).map_err(|e| format!("`{shown}`: {e}"))?;
        let text = decode(&bytes).map_err(|e| format!("`{shown}`: {e}"))?;
        let line = match format(&text) {
            Err(error) => {
                worst = worst.max(Exit::Errors);
                format!("{shown}: not laid out: {error}")
            }
            Ok(laid_out) if laid_out == text => continue,
            Ok(_) if options.dry_run => {
                worst = worst.max(Exit::Warnings);
                format!("{shown}: would change")
            }
            Ok(laid_out) => {
                fs::write(&file, laid_out).map_err(|e| format!("`{shown}` cannot be written: {e}"))?;
                format!("{shown}: laid out")
            }
        };
        session.say(&line)?;
    }
    Ok(worst)
}

fn gather(path: &Path, files: &mut Vec<PathBuf>) -> Result<(), String> {
    if !path.is_dir() {
        files.push(path.to_owned());
        return Ok(());
    }
    let entries = fs::read_dir(path).map_err(|e| format!("`{}` cannot be listed: {e}", path.display()))?;
    let mut inner: Vec<PathBuf> = entries.filter_map(Result::ok).map(|entry| entry.path()).collect();
    inner.sort();
    for path in inner {
        if path.is_dir() {
            gather(&path, files)?;
        } else if path.extension().is_some_and(|e| e == "leaf") {
            files.push(path);
        }
    }
    Ok(())
}
