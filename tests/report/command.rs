//! The commands on a campaign's folder.

use std::fs;
use std::path::{Path, PathBuf};

use loopleaf::cli::Exit;

use crate::commands::call;
use crate::shipped::{files_below, root};

/// The ferry campaign in a folder of its own, with answers to every critical finding or without.
pub(super) fn ferry(name: &str, answered: bool) -> PathBuf {
    let top = root().join("out/report").join(name);
    let _missing = fs::remove_dir_all(&top);
    for file in files_below("examples/ferry-generator-sets").into_iter().chain(files_below("protocols")) {
        if file.contains("/loopleaf-out/") || file.contains("/results/") {
            continue;
        }
        let target = top.join(&file);
        fs::create_dir_all(target.parent().unwrap()).unwrap();
        fs::copy(root().join(&file), target).unwrap();
    }
    let folder = top.join("examples/ferry-generator-sets");
    let answers = folder.join("records/answers.csv");
    if !answered {
        let _none = fs::remove_file(answers);
    }
    folder
}

pub(super) fn typed<'a>(folder: &'a Path, words: &[&'a str]) -> Vec<&'a str> {
    let folder = folder.to_str().unwrap();
    words.iter().map(|word| if *word == "FERRY" { folder } else { word }).collect()
}

#[test]
fn open_critical_findings_keep_the_report_a_draft_and_the_key_closed() {
    let folder = ferry("open", false);
    let (out, _, exit) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--date", "2026-11-25"]));
    assert_eq!(exit, Exit::Errors);
    assert!(out.contains("a draft: "), "{out}");
    let html = fs::read_to_string(folder.join("loopleaf-out/report.html")).unwrap();
    assert!(html.contains("<title>Draft: not for publication"));
    fs::remove_file(folder.join("loopleaf-out/report.html")).unwrap();
    let (_, err, exit) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--publish"]));
    assert_eq!(exit, Exit::Errors);
    assert!(err.starts_with("not published: ") && err.contains("A113"), "{err}");
    assert!(!folder.join("loopleaf-out/report.html").exists());
    let (_, err, exit) = call(&typed(&folder, &["loopleaf", "open-key", "FERRY", "--by", "MO"]));
    assert_eq!(exit, Exit::Errors);
    assert!(err.starts_with("the key stays closed"), "{err}");
    assert!(!folder.join("results/key-opened.json").exists());
}

#[test]
fn the_key_is_opened_once_and_then_models_are_named() {
    let folder = ferry("key", true);
    let report = ["loopleaf", "report", "FERRY", "--publish", "--date", "2026-11-25"];
    let (out, err, _) = call(&typed(&folder, &report));
    assert!(out.contains("models are hidden"), "{out}{err}");
    let page = folder.join("loopleaf-out/report.html");
    let closed = fs::read_to_string(&page).unwrap();
    assert!(!closed.contains("model-a") && !closed.contains("third maker") && !closed.contains("14.90 EUR"));
    let (json, _, _) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--json"]));
    assert!(!json.contains("model-") && json.contains("\"measurands\""));
    let (_, err, exit) = call(&typed(&folder, &["loopleaf", "open-key", "FERRY", "--by", "ZZ"]));
    assert_eq!(exit, Exit::CouldNotRun);
    assert!(err.contains("none of the campaign's people"), "{err}");
    let key = folder.join("results/key-opened.json");
    let open = ["loopleaf", "open-key", "FERRY", "--by", "MO", "--at", "2026-11-20 09:00:00"];
    let (out, err, exit) = call(&typed(&folder, &open));
    assert_eq!(exit, Exit::Fine, "{out}{err}");
    let written = fs::read_to_string(&key).unwrap();
    let again = ["loopleaf", "open-key", "FERRY", "--by", "RL", "--at", "2026-11-21 09:00:00"];
    let (out, _, exit) = call(&typed(&folder, &again));
    assert_eq!(exit, Exit::Fine);
    assert!(out.starts_with("already opened by MO at 2026-11-20 09:00:00"), "{out}");
    assert_eq!(fs::read_to_string(&key).unwrap(), written);
    call(&typed(&folder, &report));
    let opened = fs::read_to_string(&page).unwrap();
    assert!(opened.contains("model-a") && opened.contains("third maker") && !opened.contains("(hidden)"));
    assert!(opened.contains("nothing was changed after the key was opened"));
    // An answer that is changed afterwards leaves a value out: the results are others, and the report says when.
    let answers = folder.join("records/answers.csv");
    let text = fs::read_to_string(&answers).unwrap();
    let changed = text.replacen(",accepted,", ",left out,", 3).replacen(
        "A112,R08,loading/batch-5/dose,accepted",
        "A112,R08,loading/batch-5/dose,left out",
        1,
    );
    assert_ne!(text, changed);
    fs::write(&answers, changed).unwrap();
    call(&typed(&folder, &report));
    let later = fs::read_to_string(&page).unwrap();
    assert!(later.contains("The results were changed after the key was opened"));
}

#[test]
fn what_has_not_changed_is_left_alone() {
    let folder = ferry("again", true);
    let (first, ..) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--date", "2026-11-25"]));
    assert!(!first.contains("already up to date"), "{first}");
    let page = folder.join("loopleaf-out/report.html");
    let written = fs::read(&page).unwrap();
    // Without a date: that of the last report, since nothing else has changed.
    let (second, ..) = call(&typed(&folder, &["loopleaf", "report", "FERRY"]));
    assert!(second.contains("already up to date"), "{second}");
    assert_eq!(fs::read(&page).unwrap(), written);
    let (plain, ..) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--plain", "--date", "2026-11-25"]));
    assert!(plain.contains("Questions and answers\n====") && plain.contains("End of report LR-"), "{plain}");
}
