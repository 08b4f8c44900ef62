//! How much of what goes wrong in plans is caught: the catalogue of mistakes in `tests/coverage`, one file a family, against the
//! folders of wrong and right files. The table in the docs is made from it.

use std::fmt::Write as _;
use std::fs;

use loopleaf::diagnostic::Code;

use crate::shipped::{bless, files_below, root};

/// One mistake: its place in the catalogue, its name, the folders that show it, and a remark.
struct Entry {
    id: String,
    mistake: String,
    folders: Vec<String>,
    remark: String,
}

/// The families in order: the file's name and its mistakes.
fn families() -> Vec<(String, Vec<Entry>)> {
    let files = files_below("tests/coverage");
    files
        .iter()
        .map(|path| {
            let mut reader = csv::Reader::from_path(root().join(path)).unwrap();
            let entries = reader
                .records()
                .map(|record| {
                    let record = record.unwrap();
                    Entry {
                        id: record[0].to_owned(),
                        mistake: record[1].to_owned(),
                        folders: record[2].split_whitespace().map(str::to_owned).collect(),
                        remark: record[3].to_owned(),
                    }
                })
                .collect();
            let name = path.rsplit('/').next().unwrap().trim_end_matches(".csv");
            (name.to_owned(), entries)
        })
        .collect()
}

fn code_of(folder: &str) -> Code {
    Code::from_id(folder.split('-').next().unwrap()).unwrap_or_else(|| panic!("`{folder}` begins with no code"))
}

#[test]
fn every_mistake_is_caught_or_says_why_not() {
    let mut wrong = Vec::new();
    for (_, entries) in families() {
        for entry in entries {
            if entry.folders.is_empty() && entry.remark.is_empty() {
                wrong.push(format!("{} `{}` has neither a folder nor a reason", entry.id, entry.mistake));
            }
            for folder in &entry.folders {
                for file in ["wrong.leaf", "right.leaf", "message.txt"] {
                    if !root().join("tests/errors").join(folder).join(file).exists() {
                        wrong.push(format!("{}: tests/errors/{folder}/{file} is missing", entry.id));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_of_mistakes_is_up_to_date() {
    let families = families();
    let all: usize = families.iter().map(|(_, entries)| entries.len()).sum();
    let built = families.iter().flat_map(|(_, entries)| entries).filter(|entry| !entry.folders.is_empty()).count();
    assert!(all >= 182, "only {all} mistakes in the catalogue");
    assert!(built >= 150, "only {built} of {all} are built");
    let mut page = format!(
        "# What goes wrong in plans, and what is caught\n\nMade by the tests. {built} of {all} mistakes are caught; each has a wrong file, its whole \
         message, and a right file.\n"
    );
    for (family, entries) in &families {
        let (_, title) = family.split_once('-').unwrap();
        let _ = write!(
            page,
            "\n## {title}\n\n| | mistake | code | wrong, message, right | remark |\n|---|---|---|---|---|\n"
        );
        for entry in entries {
            let mut codes: Vec<&str> = entry.folders.iter().map(|folder| code_of(folder).id()).collect();
            codes.dedup();
            let codes: Vec<String> = codes.iter().map(|code| format!("[{code}](codes/{code}.md)")).collect();
            let folders: Vec<String> =
                entry.folders.iter().map(|folder| format!("[{folder}](../tests/errors/{folder})")).collect();
            let shown = if folders.is_empty() { "not built".to_owned() } else { folders.join(", ") };
            let (id, mistake, codes) = (&entry.id, &entry.mistake, codes.join(", "));
            let _ = writeln!(page, "| {id} | {mistake} | {codes} | {shown} | {} |", entry.remark);
        }
    }
    let target = root().join("docs/mistakes.md");
    if bless() {
        fs::write(&target, &page).unwrap();
    }
    assert_eq!(fs::read_to_string(&target).unwrap_or_default(), page, "LOOPLEAF_BLESS=1 writes it anew");
}
