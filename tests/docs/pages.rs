//! The pages that are made from the sources.

use std::fmt::Write;
use std::fs;

use clap::CommandFactory;
use loopleaf::cli::Arguments;
use loopleaf::diagnostic::{Code, Severity};
use loopleaf::syntax::vocabulary::{Block, Many, VOCABULARY};

use crate::commands::call;
use crate::shipped::{files_below, root};

const MADE: &str =
    "<!-- Made by tests/docs.rs from the sources; LOOPLEAF_BLESS=1 cargo test docs writes it anew. -->\n";

/// A text as code in a table.
fn cell(text: &str) -> String {
    let ticks = if text.contains('`') { "``" } else { "`" };
    format!("{ticks}{}{ticks}", text.replace('|', "\\|"))
}

/// The kinds of block in whose statements this one is opened.
fn parents(name: &str) -> Vec<&'static Block> {
    let opens = |block: &&Block| block.forms.iter().any(|form| form.opens.as_ref().is_some_and(|(o, _)| o == name));
    VOCABULARY.blocks.values().filter(opens).collect()
}

pub(super) fn language() -> String {
    let mut page = format!(
        "# Every statement of the language\n\n{MADE}
A file is a row of statements, one on a line or parted by `;`. Some open a block in braces. `#` begins a comment. Text for people
stands in quotes, dates are written 2026-09-14, and every number has its unit behind it.

How to read the tables: *once* means that the statement must stand there exactly once, *at most once* that it may be left out,
*at least once* that one is needed. `{{name: sort}}` is a part to fill in, `<name: a | b>` one of these words, and what stands in
`( … )?` may be left out; several such parts that follow each other may come in any order. `:: block` opens a block of that kind,
`:? block` may open one.

| a part of the sort | is filled by |
|---|---|
| `text` | text in quotes |
| `new` | a name that is declared here: letters, digits and dashes |
| `name fluid`, `names valve` | a name declared elsewhere; a list of them in `[ ]` |
| `path` | a reading: its name, or stage and name as in `clean-filter/clean-dp` |
| `integer`, `date`, `cleanliness` | `3`, `2026-09-14`, `18/16/13` |
| `flow`, `temperature` and other kinds of quantity | a number with a unit of that kind, or a calculation that gives one: `125 % of rated-flow` |
| `number` | a number without a unit |
| `value` | a quantity of the kind that the place wants |
| `setting flow` | a quantity and its tolerance: `40 L/min, within 2 %`, `0.8 g ± 0.01 g`, `20 °C to 26 °C`, or `…, without tolerance` |
| `bounds flow` | `5 L/min to 60 L/min`, `at least 5 L/min`, `at most 60 L/min` |
| `list flow` | several in `[ ]` |
| `bindings` | `rated-flow = 40 L/min, dp-gauge = dp-low` |
| `condition` | two values with `>=`, `<=`, `>`, `<` or `=` between them |
| `accuracy` | `0.25 % of span`, `0.5 % of reading`, `0.2 kPa`, or `worst of` several |
| `mark` | where a number comes from: `published in \"…\"`, `common practice`, `from memory`, `measured on 2026-08-14` |
| `dimension` | the word for a kind of quantity (`flow`, `mass`, …), or `fluid`, `dust`, `instrument` |

## The blocks\n\n"
    );
    for block in VOCABULARY.blocks.values() {
        writeln!(page, "- [`{0}`](#{0}): {1}", block.name, lowered(&block.meaning)).unwrap();
    }
    for block in VOCABULARY.blocks.values() {
        write!(page, "\n## {}\n\n{}.", block.name, block.meaning).unwrap();
        let within: Vec<String> = parents(&block.name).iter().map(|b| format!("[`{0}`](#{0})", b.name)).collect();
        if !within.is_empty() {
            write!(page, " Stands in {}.", within.join(", ")).unwrap();
        }
        page.push_str("\n\n| how often | statement | for example |\n|---|---|---|\n");
        for form in &block.forms {
            let many = match form.many {
                Many::ExactlyOnce => "once",
                Many::AtMostOnce => "at most once",
                Many::Any => "any number",
                Many::AtLeastOnce => "at least once",
            };
            let opens = form.opens.as_ref().map_or(String::new(), |(name, must)| {
                format!(" {} [{name}](#{name})", if *must { "`::`" } else { "`:?`" })
            });
            writeln!(page, "| {many} | {}{opens} | {} |", cell(&form.pattern), cell(&form.example)).unwrap();
        }
    }
    page
}

/// A sentence's beginning, in the middle of another.
fn lowered(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

pub(super) fn command_line() -> String {
    let mut page = format!("# The command line\n\n{MADE}");
    let mut names = Vec::new();
    gather(&Arguments::command(), &mut vec!["loopleaf".to_owned()], &mut names);
    for name in names {
        writeln!(page, "\n## {}", name.join(" ")).unwrap();
        let mut arguments: Vec<&str> = name.iter().map(String::as_str).collect();
        arguments.push("--help");
        let (help, _, _) = call(&arguments);
        write!(page, "\n```text\n{}\n```\n", help.trim_end()).unwrap();
    }
    page
}

/// A command by its words, then its own commands.
fn gather(command: &clap::Command, words: &mut Vec<String>, names: &mut Vec<Vec<String>>) {
    names.push(words.clone());
    for inner in command.get_subcommands() {
        words.push(inner.get_name().to_owned());
        gather(inner, words, names);
        words.pop();
    }
}

/// One page a code, and their index.
pub(super) fn codes() -> Vec<(String, String)> {
    let errors = files_below("tests/errors");
    let mut pages = vec![("docs/codes/README.md".to_owned(), index())];
    for code in Code::all() {
        let mut page = format!("# {}: {}\n\n{MADE}\n{}\n\n{}\n", code.id(), code.title(), weight(code), code.why());
        let wrong = errors
            .iter()
            .filter(|path| path.ends_with("/wrong.leaf") && path.starts_with(&format!("tests/errors/{}-", code.id())));
        for path in wrong {
            let folder = path.trim_end_matches("/wrong.leaf");
            let read = |name: &str| {
                let bytes = fs::read(root().join(folder).join(name)).unwrap();
                String::from_utf8_lossy(&bytes).trim_end().to_owned()
            };
            let story = folder.trim_start_matches("tests/errors/").trim_start_matches(code.id()).replace('-', " ");
            write!(
                page,
                "\n## For example:{story}\n\nThis file has the fault.\n\n```leaf\n{}\n```\n\nWhat is said of it:\n\n\
                 ```text\n{}\n```\n\nThis file does not.\n\n```leaf\n{}\n```\n",
                read("wrong.leaf"),
                read("message.txt"),
                read("right.leaf"),
            )
            .unwrap();
            if read("wrong.leaf").contains("\"../bench.leaf\"") {
                page.push_str("\nThe bench that they use: [bench.leaf](../../tests/errors/bench.leaf).\n");
            }
        }
        pages.push((format!("docs/codes/{}.md", code.id()), page));
    }
    pages
}

/// What a code does to what was asked for, in words.
fn weight(code: Code) -> String {
    let does = match code.severity() {
        Severity::Error => "An error: nothing is printed from a plan that has it.",
        Severity::Warning => "A warning: think about it before the run.",
        Severity::Note => "A note.",
        Severity::Critical => "A critical departure: the result does not hold, or someone was in danger.",
        Severity::Major => "A major departure: the result may not hold.",
        Severity::Minor => "A minor departure.",
    };
    let safety = if code.is_safety() { " It is about someone's safety and cannot be waived." } else { "" };
    format!("{does}{safety}")
}

fn index() -> String {
    let mut page = format!(
        "# Every finding\n\n{MADE}\nCodes with L are found in plans, before a run; codes with A in records, after it. How much a finding \
         weighs may differ from what stands here where the case asks for it.\n\n| code | weight | what is found |\n|---|---|---|\n"
    );
    for code in Code::all() {
        writeln!(page, "| [{0}]({0}.md) | {1} | {2} |", code.id(), code.severity().word(), code.title()).unwrap();
    }
    page
}
