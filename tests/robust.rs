//! Nothing panics, hangs or grows without bound, whatever stands in a file.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use loopleaf::check;
use loopleaf::diagnostic::render::{Style, human, json, plain};
use loopleaf::diagnostic::{Code, Diagnostic};
use loopleaf::source::{LARGEST_FILE, Memory, Sources};
use proptest::prelude::*;

/// Reads a text as a file, and shows what was found in all three ways.
fn read(bytes: impl Into<Vec<u8>>) -> Vec<Diagnostic> {
    let files = Memory::new().with("a.leaf", bytes);
    let mut sources = Sources::new();
    let found = check::read("a.leaf", &files, &mut sources).diagnostics;
    assert!(human(&found, &sources, Style::default()).len() < 1_000_000);
    let _shown = (plain(&found, &sources), json(&found, &sources));
    found
}

/// As [`read`], which has to be done in a few seconds even without optimisation; `code` must be among the findings, and
/// they must be few.
fn quickly(bytes: impl Into<Vec<u8>>, code: Code) {
    let start = Instant::now();
    let found = read(bytes);
    assert!(found.iter().any(|finding| finding.code == code), "{:?}", found.first());
    assert!(found.len() <= 600, "{} findings", found.len());
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}

#[test]
fn a_million_open_braces() {
    quickly("{".repeat(1_000_000), Code::NestedTooDeep);
}

#[test]
fn a_million_blocks_of_a_word() {
    quickly("stage {\n".repeat(1_000_000 / 8), Code::UnclosedBlock);
}

#[test]
fn a_million_closing_braces() {
    quickly("}".repeat(1_000_000), Code::StrayClose);
}

#[test]
fn a_million_open_parentheses() {
    quickly(format!("protocol p \"P\" {{ let a = {} }}", "(".repeat(1_000_000)), Code::UnclosedList);
}

#[test]
fn a_million_open_brackets() {
    quickly(format!("protocol p \"P\" {{ let a = {} }}", "[".repeat(1_000_000)), Code::UnclosedList);
}

#[test]
fn a_million_closed_parentheses() {
    let deep = format!("{}1{}", "(".repeat(500_000), ")".repeat(500_000));
    quickly(format!("protocol p \"P\" {{ let a = {deep} }}"), Code::StatementForm);
}

#[test]
fn a_million_brackets_on_lines_of_their_own() {
    quickly("let a = [\n".repeat(100_000), Code::UnclosedList);
}

#[test]
fn a_million_sums() {
    quickly(format!("protocol p \"P\" {{ let a = a{} }}", " + a".repeat(1_000_000)), Code::StatementForm);
}

#[test]
fn a_million_question_marks() {
    quickly("? ".repeat(500_000), Code::StrayCharacter);
}

#[test]
fn half_a_million_lines_of_nonsense() {
    quickly("a\n".repeat(500_000), Code::UnknownStatement);
}

#[test]
fn a_million_quotes() {
    quickly("\"\n".repeat(500_000), Code::UnclosedText);
}

#[test]
fn one_word_of_a_million_letters() {
    quickly("a".repeat(1_000_000), Code::UnknownStatement);
}

#[test]
fn binary_bytes() {
    quickly(vec![0x7f, b'E', b'L', b'F', 0, 1, 2, 0xff], Code::NotText);
    quickly((0..=255).cycle().take(100_000).collect::<Vec<u8>>(), Code::NotText);
}

#[test]
fn a_file_of_a_hundred_megabytes() {
    quickly(vec![b' '; 100_000_000], Code::TooLarge);
    quickly(vec![b'a'; LARGEST_FILE + 1], Code::TooLarge);
    quickly(vec![b'a'; 8_000_001], Code::TooLarge);
}

#[test]
fn an_empty_file_says_nothing() {
    assert!(read("").is_empty());
    assert!(read("\u{feff}# nothing\n\r\n").is_empty());
}

#[test]
fn every_shipped_file_cut_anywhere() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("protocols");
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "leaf") {
            let bytes = fs::read(&path).unwrap();
            // Without optimisation a long file takes long; every fiftieth byte of the short ones, as many cuts of the long.
            let step = 50.max(bytes.len() / 60);
            for end in (0..bytes.len()).step_by(step) {
                read(&bytes[..end]);
            }
        }
    }
}

/// Pieces of which files are made, in any order.
fn soup() -> impl Strategy<Value = String> {
    let pieces = prop::sample::select(vec![
        "protocol p \"P\" {",
        "campaign c \"C\" {",
        "fluid oil \"Oil\" {",
        "rig r \"R\" {",
        "stage s \"S\" {",
        "{",
        "}",
        "[",
        "]",
        "(",
        ")",
        "\n",
        ";",
        ",",
        "=",
        "+",
        "-",
        "*",
        "/",
        "±",
        "of",
        "at",
        "to",
        "from",
        "with",
        "by",
        "in",
        "at most",
        "at least",
        "within",
        "40 L/min",
        "20 °C",
        "1 %",
        "5 kPa gauge",
        "0 g",
        "-5",
        "3",
        "1,250",
        ".5",
        "12/9/4",
        "2026-13-45",
        "2026-09-14",
        "\"text\"",
        "\"open",
        "# note",
        "revision 1",
        "purpose \"x\"",
        "hold flow",
        "hold viscosity",
        "read dp",
        "sweep flow",
        "batch",
        "repeat",
        "dose",
        "sample",
        "parameter a flow =",
        "let b =",
        "limits",
        "route",
        "valve v \"V\"",
        "waive L430 because",
        "test t \"T\", by p {",
        "specimen K7",
        "finer than",
        "viscosity 32 mm²/s at 40 °C",
        "density",
        "range 0 kPa to 100 kPa",
        "use \"a.leaf\"",
        "until",
        "and",
        "gal",
        "SUS",
        "µm",
        "per mL",
        "EUR",
    ]);
    prop::collection::vec(pieces, 0..60).prop_map(|pieces| pieces.join(" "))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        read(bytes);
    }

    #[test]
    fn random_text(text in "\\PC{0,200}") {
        read(text);
    }

    #[test]
    fn soup_of_the_language(text in soup()) {
        read(text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// A whole campaign with one piece put in, taken out or changed: this comes deeper than soup.
    #[test]
    fn a_campaign_with_a_slip(at in 0.0_f64..1.0, length in 0_usize..12, text in soup().prop_map(|s| s.chars().take(12).collect::<String>())) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/errors");
        let bench = fs::read_to_string(folder.join("bench.leaf")).unwrap();
        let case = fs::read_to_string(folder.join("L450-the-rig-never-counted/wrong.leaf")).unwrap();
        let whole = format!("{bench}\n{}", case.replace("use \"../bench.leaf\"", ""));
        let chars: Vec<char> = whole.chars().collect();
        let start = (at * chars.len() as f64) as usize;
        let end = (start + length).min(chars.len());
        let slipped: String = chars[..start].iter().copied().chain(text.chars()).chain(chars[end..].iter().copied()).collect();
        read(slipped);
    }
}
