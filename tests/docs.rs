//! The documents say what the program does: the generated ones are made here, the others are tried out.
//!
//! `LOOPLEAF_BLESS=1 cargo test docs` writes `docs/language.md`, `docs/command-line.md` and `docs/codes` anew.

mod examples;

mod pages;

use std::fs;

use loopleaf::cli::page;
use loopleaf::diagnostic::Code;

use crate::shipped::{bless, files_below, root};

/// What a generated page must say, against what it says.
fn up_to_date(pages: &[(String, String)], folder: Option<&str>) {
    let mut wrong = Vec::new();
    for (path, text) in pages {
        let target = root().join(path);
        if bless() {
            fs::create_dir_all(target.parent().unwrap()).unwrap();
            fs::write(&target, text).unwrap();
        } else if fs::read_to_string(&target).ok().as_deref() != Some(text.as_str()) {
            wrong.push(path.as_str());
        }
    }
    assert!(wrong.is_empty(), "not up to date (LOOPLEAF_BLESS=1 writes them anew): {wrong:?}");
    let Some(folder) = folder else { return };
    for path in files_below(folder) {
        assert!(pages.iter().any(|(known, _)| *known == path), "{path} is made from nothing");
    }
}

#[test]
fn the_language_reference_is_up_to_date() {
    up_to_date(&[("docs/language.md".to_owned(), pages::language())], None);
}

#[test]
fn the_command_line_reference_is_up_to_date() {
    up_to_date(&[("docs/command-line.md".to_owned(), pages::command_line())], None);
}

#[test]
fn the_pages_of_the_codes_are_up_to_date() {
    up_to_date(&pages::codes(), Some("docs/codes"));
}

/// The program carries the pages as they are: `loopleaf why` tells what the book tells.
#[test]
fn the_program_carries_every_page() {
    for (path, text) in pages::codes() {
        let Some(code) = path.strip_prefix("docs/codes/").and_then(|name| Code::from_id(name.trim_end_matches(".md")))
        else {
            continue;
        };
        // Pages that were written anew a moment ago come into the program when it is built the next time.
        if !bless() {
            assert_eq!(page(code), Some(text.as_str()), "{path} is another one in the program");
        }
    }
}
