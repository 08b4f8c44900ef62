//! Texts and places, the table of codes, the renderers.

use std::collections::HashSet;

use loopleaf::diagnostic::render::{Style, human, json, plain, sarif, summary};
use loopleaf::diagnostic::{Checked, Code, Diagnostic, Severity};
use loopleaf::source::{LARGEST_FILE, LoadError, Loader, Memory, Source, SourceId, Sources, Span, decode};

const PROTOCOL: &str = "protocol sweep {\n  fluid test-oil-15\n  hold viscosity 15 mm²/s\n}\n";
const FLUIDS: &str = "fluid test-oil-15 {\n\tviscosity 15.2 mm²/s at 40 °C\n}\n";

fn place(text: &str, part: &str) -> Span {
    let start = text.find(part).unwrap();
    Span::new(start, start + part.len())
}

fn example() -> (Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let protocol = sources.add("sweep.leaf", PROTOCOL);
    let fluids = sources.add("fluids.leaf", FLUIDS);
    let findings = vec![
        Diagnostic::new(Code::NoTolerance, "the viscosity has no tolerance")
            .at(protocol, place(PROTOCOL, "15 mm²/s"), "needs a window")
            .help("write `hold viscosity 15 mm²/s ± 1 mm²/s`"),
        Diagnostic::new(Code::TwoPointsNeeded, "`test-oil-15` is known at one temperature only")
            .at(protocol, place(PROTOCOL, "test-oil-15"), "used here")
            .also(fluids, place(FLUIDS, "15.2 mm²/s at 40 °C"), "the only value")
            .severity(Severity::Warning),
    ];
    (findings, sources)
}

#[test]
fn plain_is_one_line_a_finding() {
    let (findings, sources) = example();
    insta::assert_snapshot!(plain(&findings, &sources), @r#"
    sweep.leaf:3:18: error L212: the viscosity has no tolerance
        here: needs a window
        why: Without a window nobody can say whether the set-point was held, neither at the bench nor in the audit.
        do this: write `hold viscosity 15 mm²/s ± 1 mm²/s`
    sweep.leaf:2:9: warning L405: `test-oil-15` is known at one temperature only
        here: used here
        fluids.leaf:2:12: the only value
        why: How fast an oil thins with temperature can't be told from one point.
    1 error, 1 warning
    "#);
}

/// Source: the JSON schema that OASIS publishes with SARIF 2.1.0.
#[test]
fn sarif_keeps_its_published_schema() {
    // The published pattern for a language, which we do not use, has a bracket too many for strict regular expressions.
    let published = include_str!("standards/sarif-schema-2.1.0.json").replace("-[a-zA-Z]{2}]?$", "-[a-zA-Z]{2}$");
    let schema: serde_json::Value = serde_json::from_str(&published).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let (mut findings, sources) = example();
    for findings in [Vec::new(), findings.clone(), {
        findings.push(Diagnostic::new(Code::Missing, "a finding without a place"));
        findings
    }] {
        let log: serde_json::Value = serde_json::from_str(&sarif(&findings, &sources)).unwrap();
        let errors: Vec<String> = validator.iter_errors(&log).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{}", errors.join("\n"));
        assert_eq!(log["runs"][0]["results"].as_array().unwrap().len(), findings.len());
    }
    // The validator does object to what is not SARIF.
    assert!(!validator.is_valid(&serde_json::json!({ "version": "2.1.0", "runs": [{ "results": [] }] })));
}

#[test]
fn human_draws_the_lines_of_all_files() {
    let (findings, sources) = example();
    insta::assert_snapshot!(human(&findings, &sources, Style::default()), @r#"
    L212
      × error: the viscosity has no tolerance
       ╭─[sweep.leaf:3:18]
     2 │   fluid test-oil-15
     3 │   hold viscosity 15 mm²/s
       ·                  ────┬───
       ·                      ╰── needs a window
     4 │ }
       ╰────
      why: Without a window nobody can say whether the set-point was held, neither at the bench nor in
           the audit.
      do this: write `hold viscosity 15 mm²/s ± 1 mm²/s`

    L405
      ⚠ warning: `test-oil-15` is known at one temperature only
       ╭─[sweep.leaf:2:9]
     1 │ protocol sweep {
     2 │   fluid test-oil-15
       ·         ─────┬─────
       ·              ╰── used here
     3 │   hold viscosity 15 mm²/s
       ╰────
       ╭─[fluids.leaf:2:12]
     1 │ fluid test-oil-15 {
     2 │     viscosity 15.2 mm²/s at 40 °C
       ·               ─────────┬─────────
       ·                        ╰── the only value
     3 │ }
       ╰────
      why: How fast an oil thins with temperature can't be told from one point.

    1 error, 1 warning
    "#);
}

#[test]
fn ascii_for_old_terminals() {
    let (findings, sources) = example();
    let style = Style { unicode: false, ..Style::default() };
    insta::assert_snapshot!(human(&findings[..1], &sources, style), @r#"
    L212
      x error: the viscosity has no tolerance
       ,-[sweep.leaf:3:18]
     2 |   fluid test-oil-15
     3 |   hold viscosity 15 mm²/s
       :                  ^^^^|^^^
       :                      `-- needs a window
     4 | }
       `----
      why: Without a window nobody can say whether the set-point was held, neither at the bench nor in
           the audit.
      do this: write `hold viscosity 15 mm²/s ± 1 mm²/s`

    1 error
    "#);
}

#[test]
fn json_is_stable() {
    let (findings, sources) = example();
    insta::assert_snapshot!(json(&findings[1..], &sources), @r#"
    [
      {
        "code": "L405",
        "severity": "warning",
        "message": "`test-oil-15` is known at one temperature only",
        "why": "How fast an oil thins with temperature can't be told from one point.",
        "help": null,
        "places": [
          {
            "file": "sweep.leaf",
            "line": 2,
            "column": 9,
            "end_line": 2,
            "end_column": 20,
            "role": "used here"
          },
          {
            "file": "fluids.leaf",
            "line": 2,
            "column": 12,
            "end_line": 2,
            "end_column": 31,
            "role": "the only value"
          }
        ]
      }
    ]
    "#);
}

#[test]
fn colour_only_when_asked() {
    let (findings, sources) = example();
    let style = Style { colour: true, ..Style::default() };
    assert!(human(&findings, &sources, style).contains("\u{1b}["));
    assert!(!human(&findings, &sources, Style::default()).contains("\u{1b}["));
}

#[test]
fn thousands_of_findings_are_cut_for_people_only() {
    let (findings, sources) = example();
    let many: Vec<Diagnostic> = findings.iter().cycle().take(3_000).cloned().collect();
    let drawn = human(&many, &sources, Style::default());
    assert!(drawn.ends_with("… and 2950 more\n1500 errors, 1500 warnings\n"));
    assert_eq!(plain(&many, &sources).matches("sweep.leaf:3:18: error L212").count(), 1_500);
}

#[test]
fn long_lines_and_odd_places_are_shown_plainly() {
    let mut sources = Sources::new();
    let long = sources.add("long.leaf", "µ".repeat(100_000));
    let empty = sources.add("empty.leaf", "");
    let tabs = sources.add("tabs.leaf", "\t\tdose\t5\r\n");
    for (source, span) in [
        (long, Span::new(1, 3)),
        (long, Span::new(0, 200_000)),
        (empty, Span::new(0, 0)),
        (empty, Span::new(5, 9)),
        (tabs, Span::new(7, 8)),
        (tabs, Span::new(7, 10)),
        (tabs, Span::new(10, 10)),
        (SourceId(99), Span::new(0, 1)),
    ] {
        let finding = [Diagnostic::new(Code::NoUnit, "5 has no unit").at(source, span, "here")];
        let drawn = human(&finding, &sources, Style::default());
        assert!(drawn.contains("5 has no unit"), "{drawn}");
        assert!(drawn.len() < 3_000, "{drawn}");
        assert!(plain(&finding, &sources).contains("L201"));
        assert!(json(&finding, &sources).contains("L201"));
    }
    let nowhere = [Diagnostic::new(Code::NoSteps, "nothing to do")];
    assert!(human(&nowhere, &sources, Style::default()).contains("nothing to do"));
    assert!(plain(&nowhere, &sources).starts_with("error L404: nothing to do\n"));
}

#[test]
fn the_table_of_codes_is_in_order() {
    let ids: HashSet<&str> = Code::all().map(Code::id).collect();
    assert_eq!(ids.len(), Code::all().count(), "an identifier stands twice");
    for code in Code::all() {
        assert_eq!(Code::from_id(&code.id().to_lowercase()), Some(code));
        assert!(!code.title().is_empty() && !code.title().ends_with('.'), "{code}");
        assert!(code.why().ends_with('.'), "{code}");
        // A note stands for plans and records alike: a run that goes on, a correction.
        let audit = matches!(code.severity(), Severity::Minor | Severity::Major | Severity::Critical);
        let note = code.severity() == Severity::Note;
        assert!(note || audit == code.id().starts_with('A'), "{code}");
        if code.is_safety() {
            assert!(code.severity().stops(), "{code}");
        }
    }
    let text = serde_json::to_string(&Code::NoUnit).unwrap();
    assert_eq!(text, "\"L201\"");
    assert_eq!(serde_json::from_str::<Code>(&text).unwrap(), Code::NoUnit);
}

#[test]
fn summaries_in_words() {
    let (findings, _) = example();
    assert_eq!(summary(&findings), "1 error, 1 warning");
    assert_eq!(summary(&[]), "nothing found");
    let minor = Diagnostic::new(Code::NoTime, "no time");
    assert_eq!(summary(&[minor.clone(), minor]), "2 minor findings");
}

#[test]
fn a_stage_keeps_what_it_noticed() {
    let (findings, _) = example();
    let checked = Checked::new(1, findings).then(|one| Checked::clean(one + 1));
    assert!(checked.has_errors());
    assert_eq!((checked.value, checked.diagnostics.len()), (2, 2));
    assert!(!Checked::clean(()).has_errors());
}

#[test]
fn lines_and_columns_count_characters() {
    let source = Source::new("a.leaf", "°C\r\nmm²/s x\n");
    assert_eq!(source.line_column(0), (1, 1));
    assert_eq!(source.line_column(2), (1, 2));
    assert_eq!(source.line_column(5), (2, 1));
    assert_eq!(source.line_column(13), (2, 8));
    assert_eq!(source.line_column(9_999), (3, 1));
    assert_eq!((source.line(1), source.line(2), source.line(3), source.line(4)), ("°C", "mm²/s x", "", ""));
}

#[test]
fn bytes_become_text_or_a_reason() {
    assert_eq!(decode("\u{feff}°C".as_bytes()).as_deref(), Ok("°C"));
    assert_eq!(decode(b"ab\0c"), Err(LoadError::NotText { offset: 2 }));
    assert_eq!(decode(b"20 \xb0C"), Err(LoadError::NotText { offset: 3 }));
    let bytes = LARGEST_FILE + 1;
    assert_eq!(decode(&vec![b' '; bytes]), Err(LoadError::TooLarge { bytes }));
    let files = Memory::new().with("a.leaf", "x");
    assert_eq!(files.read("a.leaf").as_deref(), Ok("x"));
    assert_eq!(files.read("b.leaf"), Err(LoadError::NotFound));
}
