//! Who may know whom: the imports of every file against the table of the house.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Each folder of `src/`, in the order in which data meets it, and what it may know besides itself.
const TABLE: &[(&str, &[&str])] = &[
    ("source", &[]),
    ("diagnostic", &["source"]),
    ("quantity", &[]),
    ("trade", &["quantity"]),
    ("syntax", &["source", "diagnostic", "quantity"]),
    ("plan", &["source", "diagnostic", "quantity", "trade", "syntax"]),
    ("foresight", &["source", "quantity", "trade", "plan"]),
    ("check", &["source", "diagnostic", "quantity", "trade", "syntax", "plan", "foresight"]),
    ("difference", &["source", "diagnostic", "quantity", "plan", "check"]),
    ("picture", &[]),
    ("typeset", &[]),
    ("worksheet", &["source", "diagnostic", "quantity", "plan", "typeset"]),
    ("record", &["source", "diagnostic", "quantity", "plan"]),
    // What a rehearsal predicts is a record, read and audited like any other.
    ("rehearsal", &["source", "diagnostic", "quantity", "trade", "plan", "foresight", "record", "picture"]),
    ("audit", &["source", "diagnostic", "quantity", "trade", "plan", "foresight", "record"]),
    ("logger", &["source", "diagnostic", "quantity", "plan", "record"]),
    ("results", &["source", "diagnostic", "quantity", "trade", "plan", "foresight", "record", "audit"]),
    ("package", &["source", "diagnostic", "quantity", "trade", "plan", "record", "audit", "results"]),
    // What stands and what is open, over everything.
    ("overview", &["source", "diagnostic", "quantity", "plan", "record", "audit", "results"]),
    (
        "report",
        &["source", "diagnostic", "quantity", "trade", "plan", "record", "audit", "results", "picture", "typeset"],
    ),
];

/// Shells know everything, and nothing knows them.
const SHELLS: &[&str] = &["cli", "lsp", "web"];

fn manifest() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// The folder of `src/` that a file belongs to; a file that stands in `src/` itself belongs to its own name.
fn room(file: &Path) -> String {
    let inside = file.strip_prefix(manifest().join("src")).unwrap();
    let first = inside.components().next().unwrap().as_os_str().to_str().unwrap();
    first.trim_end_matches(".rs").to_owned()
}

/// The rooms that a text names after `crate::`, those in braces too. Lines of comment name none.
fn named(text: &str) -> BTreeSet<String> {
    let code: String = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
    let word = |text: &str| -> String { text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect() };
    let mut rooms = BTreeSet::new();
    for (at, found) in code.match_indices("crate::") {
        let rest = &code[at + found.len()..];
        match rest.strip_prefix('{') {
            None => {
                rooms.insert(word(rest));
            }
            Some(list) => {
                // The names at the first level of the braces.
                let mut depth = 0;
                let mut item = String::new();
                for c in list.chars() {
                    match c {
                        '{' => depth += 1,
                        '}' if depth == 0 => break,
                        '}' => depth -= 1,
                        ',' if depth == 0 => rooms.extend([word(std::mem::take(&mut item).trim())]),
                        c if depth == 0 => item.push(c),
                        _ => {}
                    }
                }
                rooms.insert(word(item.trim()));
            }
        }
    }
    rooms.remove("");
    rooms
}

fn table() -> String {
    let rows = TABLE.iter().map(|(room, may)| format!("{room:12} may know {}", may.join(", ")));
    rows.chain([format!("{:12} may know everything; nothing knows them", SHELLS.join(", "))])
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn nobody_knows_more_than_the_house_allows() {
    let allowed: BTreeMap<&str, &[&str]> = TABLE.iter().copied().collect();
    let mut files = Vec::new();
    rust_files(&manifest().join("src"), &mut files);
    let mut wrong = Vec::new();
    for file in &files {
        let room = room(file);
        if SHELLS.contains(&room.as_str()) || room == "lib" || room == "main" {
            continue;
        }
        let Some(may) = allowed.get(room.as_str()) else {
            wrong.push(format!("{}: `{room}` is not in the table", file.display()));
            continue;
        };
        for other in named(&fs::read_to_string(file).unwrap()) {
            let known_room = allowed.contains_key(other.as_str()) || SHELLS.contains(&other.as_str());
            if known_room && other != room && !may.contains(&other.as_str()) {
                wrong.push(format!("{}: `{room}` must not know `{other}`", file.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}\n\n{}", wrong.join("\n"), table());
}

#[test]
fn the_imports_are_really_read() {
    let text = "use crate::plan::{Plan, Step};\nuse crate::{check, source::{Span, Sources}};\n// crate::web\nlet a = crate::trade::x();";
    let rooms = named(text);
    assert_eq!(rooms.iter().map(String::as_str).collect::<Vec<_>>(), ["check", "plan", "source", "trade"]);
}

#[test]
fn every_file_of_tests_is_run() {
    let main = fs::read_to_string(manifest().join("tests/main.rs")).unwrap();
    let mut missing = Vec::new();
    for entry in fs::read_dir(manifest().join("tests")).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().and_then(|stem| stem.to_str()).unwrap().to_owned();
        let is_module = path.is_dir() && path.join("mod.rs").exists()
            || path.extension().is_some_and(|extension| extension == "rs") && stem != "main";
        if is_module && !main.contains(&format!("mod {stem};")) {
            missing.push(stem);
        }
    }
    assert!(missing.is_empty(), "tests/main.rs forgets {}", missing.join(", "));
}
