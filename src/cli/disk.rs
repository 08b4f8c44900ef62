//! Files of the disk, for a core that knows none.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::source::{LARGEST_FILE, LoadError, Loader, decode};

/// Reads files below the working folder or by absolute path.
#[derive(Debug, Default)]
pub(crate) struct Disk;

impl Loader for Disk {
    fn read(&self, path: &str) -> Result<String, LoadError> {
        decode(&read_bytes(Path::new(path))?)
    }
}

/// A file's bytes, but no more than a little over what may be read.
pub(crate) fn read_bytes(path: &Path) -> Result<Vec<u8>, LoadError> {
    let found = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => LoadError::NotFound,
        _ => LoadError::Other(error.to_string()),
    };
    let file = fs::File::open(path).map_err(found)?;
    if file.metadata().map_err(found)?.is_dir() {
        return Err(LoadError::Other("it is a folder".to_owned()));
    }
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE as u64 + 1).read_to_end(&mut bytes).map_err(found)?;
    Ok(bytes)
}

/// What a person meant by a path: a file itself, or the campaign file of a folder.
pub(crate) fn entry(path: &Path) -> Result<PathBuf, String> {
    if !path.is_dir() {
        return Ok(path.to_owned());
    }
    let campaign = path.join("campaign.leaf");
    if campaign.is_file() {
        return Ok(campaign);
    }
    let files = leaf_files(path)?;
    match files.as_slice() {
        [only] => Ok(only.clone()),
        [] => Err(format!("there is no .leaf file in `{}`", path.display())),
        _ => Err(format!(
            "`{}` holds several .leaf files and none is called campaign.leaf; name the one to read",
            path.display()
        )),
    }
}

/// Everything that a path asks to be checked: a file; a campaign folder's entry; or, in a folder of library files, each of them.
pub(crate) fn entries(path: &Path) -> Result<Vec<PathBuf>, String> {
    if !path.is_dir() || path.join("campaign.leaf").is_file() {
        return entry(path).map(|file| vec![file]);
    }
    let files = leaf_files(path)?;
    if files.is_empty() {
        return Err(format!("there is no .leaf file in `{}`", path.display()));
    }
    Ok(files)
}

/// The `.leaf` files that lie in a folder, by name.
fn leaf_files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .map_err(|e| format!("`{}` cannot be listed: {e}", folder.display()))?
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|p| p.extension().is_some_and(|e| e == "leaf"))
        .collect();
    files.sort();
    Ok(files)
}
