//! Every form of the language, by its own example.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use loopleaf::diagnostic::Code;
use loopleaf::source::Sources;
use loopleaf::syntax::format::format;
use loopleaf::syntax::parse;
use loopleaf::syntax::tree::Statement;
use loopleaf::syntax::vocabulary::VOCABULARY;

/// A statement's example without its block.
fn head(example: &str) -> &str {
    let mut quoted = false;
    let open = example.char_indices().find(|(_, c)| {
        quoted ^= *c == '"';
        *c == '{' && !quoted
    });
    example[..open.map_or(example.len(), |(at, _)| at)].trim_end()
}

/// The heads of the statements that lead from a file to each kind of block.
pub(crate) fn ways() -> BTreeMap<&'static str, Vec<&'static str>> {
    let mut ways: BTreeMap<&str, Vec<&str>> = BTreeMap::from([("file", Vec::new())]);
    let mut next = VecDeque::from(["file"]);
    while let Some(name) = next.pop_front() {
        let way = ways[name].clone();
        for form in &VOCABULARY.blocks[name].forms {
            let Some((opened, _)) = &form.opens else { continue };
            if !ways.contains_key(opened.as_str()) {
                ways.insert(opened, way.iter().copied().chain([head(&form.example)]).collect());
                next.push_back(opened);
            }
        }
    }
    ways
}

/// A file in which these statements stand in this way's innermost block.
pub(crate) fn wrapped(way: &[&str], statements: &str) -> String {
    let mut text: String = way.iter().flat_map(|head| [head, " {\n"]).collect();
    text.push_str(statements);
    text.push('\n');
    text.push_str(&"}\n".repeat(way.len()));
    text
}

/// What is wrong with a text but for statements that it lacks.
pub(crate) fn faults(text: &str) -> Vec<String> {
    let mut sources = Sources::new();
    let id = sources.add("example.leaf", text);
    let found = parse(&sources, id).diagnostics.into_iter();
    found
        .filter(|finding| finding.code != Code::MissingStatement)
        .map(|finding| format!("{}: {} {:?}", finding.code, finding.message, finding.help))
        .collect()
}

/// Each word and mark of a text, with its line breaks as they come.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_kind_of_block_can_be_reached_from_a_file() {
    let reached: BTreeSet<&str> = ways().into_keys().collect();
    let known: BTreeSet<&str> = VOCABULARY.blocks.keys().map(String::as_str).collect();
    assert_eq!(reached, known);
}

#[test]
fn every_example_is_read_by_its_own_form() {
    let ways = ways();
    let mut wrong = Vec::new();
    for block in VOCABULARY.blocks.values() {
        let way = &ways[block.name.as_str()];
        for form in &block.forms {
            let text = wrapped(way, &form.example);
            let faults = faults(&text);
            if !faults.is_empty() {
                wrong.push(format!("in {}: {}\n  {}", block.name, form.example, faults.join("\n  ")));
                continue;
            }
            let mut sources = Sources::new();
            let id = sources.add("example.leaf", text);
            let tree = parse(&sources, id).value;
            let mut statements: &[Statement] = &tree.statements;
            for _ in way {
                statements = &statements[0].block;
            }
            assert_eq!(statements.len(), 1, "{}", form.example);
            assert_eq!(statements[0].form.pattern, form.pattern, "{} is read by another form", form.example);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn an_example_says_all_that_its_block_needs() {
    // An empty block in an example stands for what is shown elsewhere.
    let ways = ways();
    for block in VOCABULARY.blocks.values() {
        for form in block.forms.iter().filter(|form| form.example.contains("{ ")) {
            let way = &ways[block.name.as_str()];
            let text = wrapped(way, &form.example);
            let start = text.find(&form.example).unwrap();
            let mut sources = Sources::new();
            let id = sources.add("example.leaf", text.as_str());
            let found = parse(&sources, id).diagnostics;
            let own = found.iter().find(|finding| finding.places.iter().any(|p| p.span.start as usize >= start));
            assert!(own.is_none(), "{}: {own:?}", form.example);
        }
    }
}

#[test]
fn every_example_is_laid_out_and_reads_the_same() {
    let ways = ways();
    for block in VOCABULARY.blocks.values() {
        for form in &block.forms {
            let text = wrapped(&ways[block.name.as_str()], &form.example);
            let laid_out = format(&text).unwrap_or_else(|error| panic!("{}: {error}", form.example));
            assert_eq!(squeezed(&laid_out), squeezed(&text), "{}", form.example);
            assert_eq!(format(&laid_out).unwrap(), laid_out, "{}", form.example);
        }
    }
}

#[test]
fn no_block_has_the_same_form_twice() {
    for block in VOCABULARY.blocks.values() {
        let patterns: BTreeSet<&str> = block.forms.iter().map(|form| form.pattern.as_str()).collect();
        assert_eq!(patterns.len(), block.forms.len(), "in {}", block.name);
        assert!(!block.meaning.is_empty(), "{} says nothing of itself", block.name);
    }
}
