//! Sessions with the command: what is typed, what it prints to both streams, and how it ends, compared in full.
//!
//! `LOOPLEAF_BLESS=1 cargo test commands` writes the sessions anew; read the difference before it is committed. They run
//! from the root of the repository and write below `out`, so that every path that they show is the same everywhere.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use clap::CommandFactory;
use loopleaf::cli::{Arguments, Exit, Terminal, run};
use loopleaf::diagnostic::Code;

use crate::shipped::{bless, files_below, root};

const PLOUGHS: &str = "examples/snow-plough-returns";

/// Runs the command as a pipe would see it.
pub(crate) fn call(arguments: &[&str]) -> (String, String, Exit) {
    let arguments: Vec<String> = arguments.iter().map(|argument| (*argument).to_owned()).collect();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = run(&arguments, &mut out, &mut err, &Terminal::default());
    (String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap(), exit)
}

/// The words of a line as a shell would part them: what stands in double quotes is one.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for character in line.chars() {
        match character {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            other => words.last_mut().unwrap().push(other),
        }
    }
    words
}

/// One line of a session. Besides `loopleaf` it knows `cp FROM TO`, `cat FILE`, `head FILE` and `ls FOLDER`.
fn step(line: &str, told: &mut String) {
    writeln!(told, "$ {line}").unwrap();
    let words = words(line);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["loopleaf", ..] => {
            let (out, err, exit) = call(&words);
            for (name, text) in [("stdout", out), ("stderr", err)] {
                if !text.is_empty() {
                    writeln!(told, "[{name}]\n{}", text.trim_end_matches('\n')).unwrap();
                }
            }
            writeln!(told, "[exit {}]", exit as u8).unwrap();
        }
        ["cp", from, to] => {
            fs::create_dir_all(Path::new(to).parent().unwrap()).unwrap();
            fs::copy(root().join(from), to).unwrap();
        }
        ["cat", file] => told.push_str(&fs::read_to_string(file).unwrap()),
        ["head", file] => {
            let text = fs::read_to_string(file).unwrap();
            text.lines().take(5).for_each(|line| writeln!(told, "{line}").unwrap());
        }
        ["ls", folder] => {
            let files = files_below(folder).into_iter();
            // A build with PDF has more of them.
            for file in files.filter(|file| !file.ends_with(".pdf") && !file.ends_with(".seal")) {
                writeln!(told, "{file}").unwrap();
            }
        }
        _ => panic!("a session does not know `{line}`"),
    }
    told.push('\n');
}

/// Without the numbers that are others in a build with PDF; that nothing was left to write stays.
fn without_counts(session: &str) -> Vec<&str> {
    session
        .lines()
        .map(|line| match line.split_once(" papers written, ") {
            Some(("0", _)) => "no papers written",
            Some(_) => "papers written",
            None => line,
        })
        .collect()
}

/// A session against what is kept of it.
pub(crate) fn session(name: &str, about: &str, lines: &[&str]) {
    let folder = format!("out/sessions/{name}");
    let _absent = fs::remove_dir_all(&folder);
    let mut told = format!("# {about}\n\n");
    for line in lines {
        step(line, &mut told);
    }
    let _absent = fs::remove_dir_all(&folder);
    let told = told.trim_end().to_owned() + "\n";
    let kept = root().join(format!("tests/commands/{name}.txt"));
    if bless() {
        fs::write(&kept, &told).unwrap();
    }
    let expected = fs::read_to_string(&kept).unwrap_or_default();
    let (now, before) = (without_counts(&told), without_counts(&expected));
    let differs = now.iter().zip(&before).position(|(a, b)| a != b).unwrap_or(now.len().min(before.len()));
    assert!(
        now == before,
        "{name}.txt differs at line {}:\nkept: {}\nnow:  {}",
        differs + 1,
        before.get(differs).unwrap_or(&"(its end)"),
        now.get(differs).unwrap_or(&"(its end)")
    );
}

#[test]
fn check_finds_nothing() {
    session(
        "check-fine",
        "Plans without a fault, as a folder and as a file.",
        &[
            "loopleaf check examples/snow-plough-returns examples/ferry-generator-sets",
            "loopleaf check protocols/dust-loading.leaf",
            "loopleaf check --json protocols/dust-loading.leaf",
            "loopleaf check --plain protocols/dust-loading.leaf",
        ],
    );
}

#[test]
fn check_finds_warnings() {
    let file = "tests/errors/L413-at-the-foot-of-the-scale/wrong.leaf";
    session(
        "check-warnings",
        "A plan that can be run, with something to think about first.",
        &[
            &format!("loopleaf check {file}"),
            &format!("loopleaf check --plain {file}"),
            &format!("loopleaf check --json {file}"),
        ],
    );
}

#[test]
fn check_finds_errors() {
    let wrong = "tests/errors/L431-more-than-the-pump-gives/wrong.leaf";
    session(
        "check-errors",
        "A plan that must not be run. Of several files the worst decides how the command ends.",
        &[
            &format!("loopleaf check {wrong}"),
            &format!("loopleaf check --plain {wrong}"),
            &format!("loopleaf check --json {wrong}"),
            &format!("loopleaf check --plain protocols/fluids.leaf {wrong}"),
            &format!("loopleaf form {wrong}"),
        ],
    );
}

#[test]
fn what_cannot_be_run() {
    session(
        "could-not-run",
        "Slips on the command line.",
        &[
            "loopleaf",
            "loopleaf chekc plan.leaf",
            "loopleaf check",
            "loopleaf check nowhere",
            "loopleaf check nowhere/plan.leaf",
            "loopleaf check protocols",
            "loopleaf check tests/commands",
            "loopleaf check --json --plain protocols/fluids.leaf",
            "loopleaf form protocols/fluids.leaf",
            "loopleaf form examples/snow-plough-returns --run R99",
            "loopleaf rehearse examples/snow-plough-returns --seed 3",
            "loopleaf audit examples/snow-plough-returns no-such-record.csv",
            "loopleaf format nowhere.leaf",
        ],
    );
}

#[test]
fn format_lays_out() {
    let file = "out/sessions/format/untidy.leaf";
    session(
        "format",
        "Laying out: said first, done next, nothing to do after that. A file with faults is left alone.",
        &[
            "cp tests/commands/untidy.leaf out/sessions/format/untidy.leaf",
            "loopleaf format --dry-run out/sessions/format",
            &format!("loopleaf format {file}"),
            &format!("cat {file}"),
            &format!("loopleaf format {file}"),
            &format!("loopleaf format --dry-run {file}"),
            "cp tests/errors/L104-stage-never-closed/wrong.leaf out/sessions/format/broken.leaf",
            "loopleaf format out/sessions/format",
            "loopleaf format --dry-run protocols examples",
        ],
    );
}

#[test]
fn form_writes_blanks() {
    session(
        "form",
        "Blank record forms of one run and of all.",
        &[
            &format!("loopleaf form {PLOUGHS} --run R05 --output out/sessions/form/one"),
            "head out/sessions/form/one/R05.csv",
            &format!("loopleaf form {PLOUGHS} -o out/sessions/form/all"),
            &format!("loopleaf form {PLOUGHS} --run R05 --xlsx -o out/sessions/form/sheets"),
            "ls out/sessions/form",
        ],
    );
}

#[test]
fn audit_of_a_record_that_conforms() {
    session(
        "audit-conforming",
        "A record as it should be.",
        &[
            &format!("loopleaf audit {PLOUGHS} {PLOUGHS}/records/R01.csv"),
            &format!("loopleaf audit --json {PLOUGHS} {PLOUGHS}/records/R01.csv"),
        ],
    );
}

#[test]
fn audit_of_records_that_do_not() {
    session(
        "audit",
        "Records with departures, one by one and all of a campaign.",
        &[
            &format!("loopleaf audit {PLOUGHS} {PLOUGHS}/records/R03.csv"),
            &format!("loopleaf audit --json {PLOUGHS} {PLOUGHS}/records/R02.csv"),
            &format!("loopleaf audit --plain {PLOUGHS}"),
            "loopleaf audit --plain examples/ferry-generator-sets",
        ],
    );
}

#[test]
fn print_a_web_page() {
    session(
        "print",
        "Worksheets as a web page.",
        &[
            &format!("loopleaf print {PLOUGHS} --run R05 --html -o out/sessions/print/R05.html"),
            &format!("loopleaf print {PLOUGHS} --html -o out/sessions/print/all.html"),
            &format!("loopleaf print {PLOUGHS} --run R99 --html -o out/sessions/print/R99.html"),
            "ls out/sessions/print",
        ],
    );
}

#[cfg(not(feature = "pdf"))]
#[test]
fn print_without_pdf() {
    session(
        "print-without-pdf",
        "A loopleaf without PDF says so, and what to do.",
        &[&format!("loopleaf print {PLOUGHS} --run R05 -o out/sessions/print-without-pdf/R05.pdf")],
    );
}

#[test]
fn refresh_brings_up_to_date() {
    session(
        "refresh",
        "Everything in one go; a second time there is nothing left to write.",
        &[
            &format!("loopleaf refresh {PLOUGHS} --output out/sessions/refresh"),
            "ls out/sessions/refresh",
            &format!("loopleaf refresh {PLOUGHS} --output out/sessions/refresh"),
        ],
    );
}

#[test]
fn rehearse_a_campaign_on_paper() {
    session(
        "rehearse",
        "A campaign on paper, and one of its runs; a page with pictures beside it.",
        &[
            &format!("loopleaf rehearse {PLOUGHS}"),
            &format!("loopleaf rehearse {PLOUGHS} --run R02 --html out/sessions/rehearse/R02.html"),
            "ls out/sessions/rehearse",
        ],
    );
    let (json, ..) = call(&["loopleaf", "rehearse", PLOUGHS, "--json"]);
    let read: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(read["runs"].as_array().unwrap().len(), 7);
    assert_eq!(read["needs"]["dusts"][0]["name"], "road-dust");
}

#[test]
fn rehearse_records_and_audit_what_came_of_them() {
    let record =
        format!("loopleaf rehearse {PLOUGHS} --run R06 --seed 7 --record out/sessions/rehearse-record/R06.csv");
    session(
        "rehearse-record",
        "An invented record conforms to the plan that it was drawn from, and none is written over.",
        &[
            &record,
            &format!("loopleaf audit {PLOUGHS} out/sessions/rehearse-record/R06.csv"),
            &record,
            &format!("loopleaf rehearse {PLOUGHS} --record out/sessions/rehearse-record/all"),
        ],
    );
    let drawn = |name: &str, seed: &str| {
        let place = format!("out/sessions/rehearse-seeds/{name}.csv");
        let _absent = fs::remove_file(&place);
        call(&["loopleaf", "rehearse", PLOUGHS, "--run", "R06", "--seed", seed, "--record", &place]);
        fs::read_to_string(&place).unwrap()
    };
    let seven = drawn("one", "7");
    assert!(seven.starts_with("# Invented data, made by a rehearsal from seed 7. Nothing here was measured."));
    assert_eq!(seven, drawn("other", "7"));
    assert_ne!(seven, drawn("third", "8"));
}

#[test]
fn help_of_every_command() {
    let mut lines = vec!["loopleaf --help".to_owned(), "loopleaf -h".to_owned()];
    lines.extend(
        Arguments::command().get_subcommands().map(|command| format!("loopleaf {} --help", command.get_name())),
    );
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    session("help", "What each command says of itself.", &lines);
}

#[test]
fn manual_pages() {
    session(
        "manual",
        "Manual pages, one for each command.",
        &["loopleaf manual out/sessions/manual", "head out/sessions/manual/loopleaf-check.1"],
    );
}

#[test]
fn completions_for_every_shell() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let (out, err, exit) = call(&["loopleaf", "completions", shell]);
        assert!(out.contains("rehearse"), "{shell}: {out}");
        assert!(err.is_empty() && exit == Exit::Fine, "{shell}: {err}");
    }
}

#[test]
fn help_does_not_depend_on_the_terminal_of_the_tests() {
    let mut narrow = Vec::new();
    let terminal = Terminal { width: 60, ..Terminal::default() };
    run(&["loopleaf".to_owned(), "refresh".to_owned(), "--help".to_owned()], &mut narrow, &mut Vec::new(), &terminal);
    let narrow = String::from_utf8(narrow).unwrap();
    assert!(narrow.lines().all(|line| line.chars().count() <= 60), "{narrow}");
    assert!(call(&["loopleaf", "refresh", "--help"]).0.lines().any(|line| line.chars().count() > 60));
}

#[test]
fn why_tells_what_a_code_means() {
    session(
        "why",
        "What a code means, in the terminal; a slip in the code; all of them.",
        &[
            "loopleaf why L110",
            "loopleaf why l315",
            "loopleaf why A120",
            "loopleaf why L4233",
            "loopleaf why brimstone",
        ],
    );
}

#[test]
fn why_alone_lists_every_code() {
    let (out, err, exit) = call(&["loopleaf", "why"]);
    assert!(err.is_empty() && exit == Exit::Fine);
    let listed: Vec<&str> = out.lines().filter_map(|line| line.trim_start().split("  ").next()).collect();
    let known: Vec<&str> = Code::all().map(Code::id).collect();
    assert_eq!(listed.iter().filter(|word| known.contains(word)).count(), known.len());
    assert!(out.contains("\n\nPeople and cautions\n  L595  A hazard of the plan has no caution\n"), "{out}");
}

#[test]
fn what_if_another_value_held() {
    session(
        "what-if",
        "Other values for once: what is found of the changed plan, and slips of the hand.",
        &[
            &format!("loopleaf check {PLOUGHS} --plain --set grit.rated-flow=\"35 US gal/min\""),
            &format!(
                "loopleaf check {PLOUGHS} --plain --set rule.flash-margin=\"200 K\" --set rig.main-relief.set-at=\"200 psig\""
            ),
            &format!("loopleaf check {PLOUGHS} --set ratd-flow=\"20 US gal/min\" --plain"),
            &format!("loopleaf check {PLOUGHS} --set grit.rated-flow=\"20 psi\" --plain"),
            &format!("loopleaf check {PLOUGHS} --set grit.rated-flow"),
            &format!(
                "loopleaf print {PLOUGHS} --run R05 --html -o out/sessions/what-if/R05.html --set dawn.cold-viscosity=\"90 mm²/s\""
            ),
        ],
    );
}

#[test]
fn differ_tells_what_changed() {
    let (wrong, right) = (
        "tests/errors/L431-more-than-the-pump-gives/wrong.leaf",
        "tests/errors/L431-more-than-the-pump-gives/right.leaf",
    );
    session(
        "differ",
        "Two versions of a plan: a changed set-point, nothing but layout, and what cannot be compared.",
        &[
            &format!("loopleaf differ {wrong} {right}"),
            &format!("loopleaf differ --json {wrong} {right}"),
            &format!("loopleaf differ --all {right} {right}"),
            &format!("loopleaf differ {right} nowhere.leaf"),
            &format!("loopleaf differ {right} protocols/dusts.leaf"),
            &format!("loopleaf differ {right} tests/errors/L104-stage-never-closed/wrong.leaf"),
        ],
    );
}
