//! Puts the pages of `docs/codes` into the program: `loopleaf why L423` has to work where there are no documents.
//!
//! The pages are made by the tests. A code whose page has not been made yet is left out, so that the tests can be built that make it.
#![expect(clippy::print_stdout, reason = "cargo reads what this prints")]

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let target = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default()).join("pages.rs");
    let folder = root.join("docs/codes");
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut pages: Vec<PathBuf> = fs::read_dir(&folder)?.filter_map(|entry| Some(entry.ok()?.path())).collect();
    pages.sort();
    let mut table = String::from("&[\n");
    for page in pages.iter().filter(|page| is_page(page)) {
        let name = page.file_stem().unwrap_or_default().to_string_lossy();
        println!("cargo::rerun-if-changed={}", page.display());
        let _written = writeln!(table, "    ({name:?}, include_str!({:?})),", page.display().to_string());
    }
    table.push(']');
    fs::write(target, table)
}

/// `L423.md`, but not the index.
fn is_page(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name.ends_with(".md") && name.len() == "L423.md".len()
}
