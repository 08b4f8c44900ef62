//! The examples in the documents that people wrote: files bind, pieces parse, commands run and print what is shown.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::Parser;
use clap::error::ErrorKind;
use loopleaf::check;
use loopleaf::cli::Arguments;
use loopleaf::diagnostic::render;
use loopleaf::source::Sources;

use crate::commands::words;
use crate::language::{faults, ways, wrapped};
use crate::shipped::{files_below, leaf_files, memory, root};

/// A fenced block: its language, its text, and the line where it begins.
struct Fenced {
    language: String,
    text: String,
    line: usize,
}

/// The documents that may show the language or the command.
fn documents() -> Vec<(String, String)> {
    let inside = files_below("docs").into_iter().filter(|path| path.ends_with(".md") && path.matches('/').count() == 1);
    let paths = ["README.md", "DEVELOPERS.md"].map(str::to_owned).into_iter().chain(inside);
    paths.filter_map(|path| fs::read_to_string(root().join(&path)).ok().map(|text| (path, text))).collect()
}

fn fenced(document: &str) -> Vec<Fenced> {
    let mut found = Vec::new();
    let mut open: Option<Fenced> = None;
    for (at, line) in document.lines().enumerate() {
        match (&mut open, line.strip_prefix("```")) {
            (Some(_), Some(_)) => found.extend(open.take()),
            (Some(block), None) => {
                block.text.push_str(line);
                block.text.push('\n');
            }
            (None, Some(language)) => {
                open = Some(Fenced { language: language.trim().to_owned(), text: String::new(), line: at + 1 });
            }
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a fence is never closed");
    found
}

/// The whole files that a document shows, by the names that it gives them.
fn whole_files(document: &str) -> Vec<(String, String)> {
    let named = |block: Fenced| {
        let name = block.text.lines().next()?.strip_prefix("# file: ")?.trim().to_owned();
        Some((name, block.text))
    };
    fenced(document).into_iter().filter(|block| block.language == "leaf").filter_map(named).collect()
}

#[test]
fn there_is_something_to_try_out() {
    let blocks: Vec<Fenced> = documents().iter().flat_map(|(_, text)| fenced(text)).collect();
    assert!(blocks.iter().any(|block| block.language == "leaf"));
    assert!(blocks.iter().any(|block| block.language == "console"));
}

#[test]
fn pieces_of_the_language_parse() {
    let ways = ways();
    for (path, document) in documents() {
        for block in fenced(&document).iter().filter(|block| block.language == "leaf") {
            let somewhere = ways.values().any(|way| faults(&wrapped(way, &block.text)).is_empty());
            assert!(somewhere, "{path}:{}: {:?}", block.line, faults(&block.text));
        }
    }
}

#[test]
fn whole_files_bind_without_a_finding() {
    for (path, document) in documents() {
        let files = whole_files(&document);
        let all = memory(&leaf_files().into_iter().chain(files.clone()).collect::<Vec<_>>());
        let mut read: Vec<String> = Vec::new();
        // Campaigns first: what they use is read with them, as it will be.
        let (campaigns, others): (Vec<_>, Vec<_>) =
            files.iter().partition(|(_, text)| text.lines().any(|line| line.starts_with("campaign ")));
        for (name, _) in campaigns.into_iter().chain(others) {
            if read.contains(name) {
                continue;
            }
            let mut sources = Sources::new();
            let checked = check::read(name, &all, &mut sources);
            let found = &checked.diagnostics;
            assert!(found.is_empty(), "{path}, {name}:\n{}", render::plain(found, &sources));
            read.extend(sources.iter().map(|(_, source)| source.name.clone()));
        }
    }
}

/// A command of a document and what it is shown to print.
struct Shown {
    command: String,
    output: Vec<String>,
}

fn shown(block: &str) -> Vec<Shown> {
    let mut found: Vec<Shown> = Vec::new();
    for line in block.lines() {
        match (line.strip_prefix("$ "), found.last_mut()) {
            (Some(command), _) => found.push(Shown { command: command.to_owned(), output: Vec::new() }),
            (None, Some(last)) => last.output.push(line.to_owned()),
            (None, None) => panic!("`{line}` is printed by no command"),
        }
    }
    found
}

#[test]
fn commands_are_ones_that_are_understood() {
    for (path, document) in documents() {
        for block in fenced(&document).iter().filter(|block| block.language == "console") {
            for shown in shown(&block.text).iter().filter(|shown| shown.command.starts_with("loopleaf")) {
                let understood = match Arguments::try_parse_from(words(&shown.command)) {
                    Ok(_) => true,
                    Err(error) => matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion),
                };
                assert!(understood, "{path}:{}: {}", block.line, shown.command);
            }
        }
    }
}

/// A folder with everything that a document's commands may ask for.
fn stage(path: &str, document: &str) -> PathBuf {
    let folder = root().join("out/documents").join(path.replace(['/', '.'], "-"));
    let _absent = fs::remove_dir_all(&folder);
    let put = |name: &str, bytes: &[u8]| {
        let target = folder.join(name);
        fs::create_dir_all(target.parent().unwrap()).unwrap();
        fs::write(target, bytes).unwrap();
    };
    let shipped = ["protocols", "examples"].into_iter().flat_map(files_below);
    for file in shipped.filter(|file| !file.contains("/loopleaf-out/")) {
        put(&file, &fs::read(root().join(&file)).unwrap());
    }
    for (name, text) in whole_files(document) {
        put(&name, text.as_bytes());
    }
    folder
}

/// Both streams of the real command, in the order in which it wrote to them.
fn printed(command: &str, folder: &Path) -> Vec<String> {
    let log = folder.join("printed.log");
    let file = fs::File::create(&log).unwrap();
    let second = file.try_clone().unwrap();
    Command::new(env!("CARGO_BIN_EXE_loopleaf"))
        .args(words(command).iter().skip(1))
        .current_dir(folder)
        .env("COLUMNS", "100")
        .env("LC_ALL", "C.UTF-8")
        .stdin(Stdio::null())
        .stdout(Stdio::from(file))
        .stderr(Stdio::from(second))
        .status()
        .unwrap();
    fs::read_to_string(log).unwrap().trim_end().lines().map(str::to_owned).collect()
}

/// Whether lines are as shown; a line with nothing but `…` stands for any number of lines.
fn alike(shown: &[String], printed: &[String]) -> bool {
    match (shown.first(), printed.first()) {
        (None, None) => true,
        (Some(skip), _) if skip.trim() == "…" => {
            (0..=printed.len()).any(|skipped| alike(&shown[1..], &printed[skipped..]))
        }
        // How many papers there are depends on whether PDF is built in.
        (Some(a), Some(b)) if a.contains(" papers written") && b.contains(" papers written") => {
            alike(&shown[1..], &printed[1..])
        }
        (Some(a), Some(b)) => a.trim_end() == b.trim_end() && alike(&shown[1..], &printed[1..]),
        _ => false,
    }
}

#[test]
fn commands_print_what_is_shown() {
    for (path, document) in documents() {
        let blocks: Vec<Fenced> = fenced(&document).into_iter().filter(|b| b.language == "console").collect();
        if blocks.is_empty() {
            continue;
        }
        let folder = stage(&path, &document);
        for shown in blocks.iter().flat_map(|block| shown(&block.text)) {
            let mut output = shown.output;
            while output.last().is_some_and(String::is_empty) {
                output.pop();
            }
            if output.is_empty() || !shown.command.starts_with("loopleaf ") {
                continue;
            }
            let printed = printed(&shown.command, &folder);
            assert!(
                alike(&output, &printed),
                "{path}: `{}` is shown to print\n{}\nbut prints\n{}",
                shown.command,
                output.join("\n"),
                printed.join("\n")
            );
        }
        let _absent = fs::remove_dir_all(&folder);
    }
}

#[test]
fn a_line_of_dots_stands_for_any_number_of_lines() {
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    assert!(alike(&lines("a\n…\nd"), &lines("a\nb\nc\nd")));
    assert!(alike(&lines("…"), &lines("")));
    assert!(!alike(&lines("a\n…\ne"), &lines("a\nb\nc\nd")));
    assert!(!alike(&lines("a"), &lines("a\nb")));
    assert!(!alike(&lines("a\nb"), &lines("a")));
}
