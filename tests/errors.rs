//! The catalogue of wrong files: for each code a file that has the fault, the whole message it gives, and its neighbour
//! without the fault.
//!
//! `LOOPLEAF_BLESS=1 cargo test errors` writes the messages anew; read the difference before it is committed.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use loopleaf::check;
use loopleaf::diagnostic::render::{Style, human};
use loopleaf::diagnostic::{Code, Diagnostic};
use loopleaf::source::{Memory, Sources};

/// Codes without a folder, and why.
const NOT_YET: &[(Code, &str)] =
    &[(Code::TooLarge, "its file would have more than 8 MB; `robust` makes one and looks at the code")];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/errors")
}

/// The folders, each named by its code and its story.
fn folders() -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> =
        fs::read_dir(root()).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()).collect();
    folders.sort();
    folders
}

fn name(path: &Path) -> &str {
    path.file_name().and_then(|name| name.to_str()).unwrap()
}

/// What is found in a file of a folder, which may use the other files of the folder and those above it.
fn findings(folder: &Path, file: &str) -> (Vec<Diagnostic>, Sources) {
    let mut files = Memory::new();
    for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        files = files.with(format!("{}/{}", name(folder), name(&path)), fs::read(&path).unwrap());
    }
    files = files.with("bench.leaf", fs::read(root().join("bench.leaf")).unwrap());
    let mut sources = Sources::new();
    let checked = check::read(&format!("{}/{file}", name(folder)), &files, &mut sources);
    (checked.diagnostics, sources)
}

fn code(folder: &Path) -> Code {
    let id = name(folder).split('-').next().unwrap();
    Code::from_id(id).unwrap_or_else(|| panic!("`{}` begins with no code", name(folder)))
}

#[test]
fn every_wrong_file_gives_its_whole_message() {
    let bless = std::env::var_os("LOOPLEAF_BLESS").is_some();
    let mut wrong = Vec::new();
    for folder in folders() {
        let (found, sources) = findings(&folder, "wrong.leaf");
        let code = code(&folder);
        let message = human(&found, &sources, Style { colour: false, unicode: true, width: 100 });
        if !found.iter().any(|finding| finding.code == code) {
            wrong.push(format!("{} does not give {code}:\n{message}", name(&folder)));
        }
        let kept = folder.join("message.txt");
        if bless {
            fs::write(&kept, &message).unwrap();
        } else if fs::read_to_string(&kept).ok().as_deref() != Some(message.as_str()) {
            wrong.push(format!("{} now says:\n{message}", name(&folder)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_right_file_gives_nothing() {
    let mut wrong = Vec::new();
    for folder in folders() {
        let (found, sources) = findings(&folder, "right.leaf");
        if !found.is_empty() {
            wrong.push(format!("{}:\n{}", name(&folder), human(&found, &sources, Style::default())));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_wrong_file_has_one_fault() {
    for folder in folders() {
        let (found, _) = findings(&folder, "wrong.leaf");
        let codes: BTreeSet<&str> = found.iter().map(|finding| finding.code.id()).collect();
        assert!(codes.len() <= 2, "{} tells more than one story: {codes:?}", name(&folder));
    }
}

#[test]
fn every_code_of_a_plan_has_a_folder() {
    let told: BTreeSet<Code> = folders().iter().map(|folder| code(folder)).collect();
    for code in Code::all().filter(|code| code.id().starts_with('L')) {
        let excused = NOT_YET.iter().any(|(missing, _)| *missing == code);
        assert_ne!(told.contains(&code), excused, "{code} needs a folder, or a reason in NOT_YET, not both");
    }
}

/// The codes that are found in a text beside the bench's file.
fn codes(text: &str) -> Vec<&'static str> {
    let bench = fs::read(root().join("bench.leaf")).unwrap();
    let files = Memory::new().with("bench.leaf", bench).with("case/a.leaf", text);
    let found = check::read("case/a.leaf", &files, &mut Sources::new()).diagnostics;
    found.iter().map(|finding| finding.code.id()).collect()
}

/// The file of a folder, with lines put in after a line.
fn with_lines(folder: &str, after: &str, lines: &str) -> String {
    let text = fs::read_to_string(root().join(folder).join("wrong.leaf")).unwrap();
    assert!(text.contains(after), "{folder} has no `{after}`");
    text.replacen(after, &format!("{after}\n{lines}"), 1)
}

#[test]
fn a_waiver_answers_where_it_stands() {
    let folder = "L444-a-zero-taken-on-trust";
    let waive = "waive L444 because \"zeroed this morning\"";
    for place in ["stage warm \"Warm oil\" {", "it is made for.\"", "rules bench-rules"] {
        assert!(codes(&with_lines(folder, place, waive)).is_empty(), "{place}");
    }
    let in_test = with_lines(folder, "specimen K7", "");
    let in_test = in_test.replace("by sweep {}", &format!("by sweep {{ {waive} }}"));
    assert!(codes(&in_test).is_empty());
    // In another stage than the finding's it answers nothing, and says so.
    let elsewhere = format!("stage cold \"Cold oil\" {{\n vent\n {waive}\n }}");
    assert_eq!(codes(&with_lines(folder, "it is made for.\"", &elsewhere)), ["L444", "L314"]);
}

#[test]
fn a_waiver_without_a_reason_answers_nothing() {
    for reason in ["", "  ", "-"] {
        let text =
            with_lines("L444-a-zero-taken-on-trust", "rules bench-rules", &format!("waive L444 because \"{reason}\""));
        assert_eq!(codes(&text), ["L444", "L314"], "{reason}");
    }
}

#[test]
fn a_waiver_does_not_answer_for_safety() {
    let text = with_lines("L434-off-while-it-is-hot", "rules bench-rules", "waive L434 because \"we are careful\"");
    assert_eq!(codes(&text), ["L434", "L315"]);
}
