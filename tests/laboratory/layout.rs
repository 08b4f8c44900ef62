//! The layout: written, read, guessed.

use loopleaf::plan::Holds;
use loopleaf::record::laboratory::{file, guess};
use loopleaf::source::Sources;

use super::bench::{bench, with_layout};

const FERRY: &str = "ferry-generator-sets";
const PLOUGH: &str = "snow-plough-returns";

fn read(lines: &str, text: &str) -> (Option<loopleaf::record::laboratory::LabFile>, Vec<String>) {
    let (plan, mut sources) = with_layout(lines);
    let read = file("lab.csv", text.as_bytes(), plan.laboratories.values(), &mut sources);
    (read.value, read.diagnostics.iter().map(|finding| format!("{} {}", finding.code, finding.message)).collect())
}

#[test]
fn what_the_layout_says_is_what_is_read() {
    let lines = "  results file {\n    cells separated by semicolon\n    decimal comma\n    row of units below the headings\n    dates \"DD.MM.YYYY\"\n    counts differential, \"per 100 mL\", dilution not applied\n    column \"Probe\" is label\n    column \"4 µm\" is count at 4 µm(c)\n    column \"6 µm\" is count at 6 µm(c)\n    column \"DF\" is dilution\n    column \"On\" is counted on\n  }";
    let text = "A report\n\nProbe;4 µm;6 µm;DF;On;else\n;1/100 mL;1/100 mL;;;\nR08-01-2;1234,5;<20;1:10;03.11.2026;x\nR08-02-7;TNTC;ND;5;04.11.2026;\n";
    let (found, said) = read(lines, text);
    let found = found.unwrap();
    assert!(said.is_empty(), "{said:?}");
    assert_eq!(found.results.len(), 2);
    let first = &found.results[0];
    assert_eq!(first.label(), "R08-01-2");
    assert_eq!(first.counts[0].value.number().unwrap().value, 1234.5);
    assert!(first.counts[1].value.number().is_none(), "a bound is not a number");
    assert_eq!(found.number(first, &Holds::Dilution), Some(10.0));
    assert_eq!(found.date(first, &Holds::CountedOn).unwrap().date(), "2026-11-03");
    assert!(!found.counts.cumulative && found.counts.basis == "per 100 mL");
    assert!(found.results[1].counts.iter().all(|count| count.value.number().is_none()), "TNTC and ND are no numbers");
}

#[test]
fn a_row_for_each_size_is_one_result_a_bottle() {
    let lines =
        "  results file {\n    column \"Id\" is label\n    column \"Size\" is size\n    column \"N\" is count\n  }";
    let (found, said) = read(lines, "Id,Size,N\nR08-01-2,6,20\nR08-01-2,4,66\nR08-02-7,4,54\n");
    let found = found.unwrap();
    assert!(said.is_empty(), "{said:?}");
    let sizes: Vec<Vec<String>> =
        found.results.iter().map(|result| result.counts.iter().map(|count| count.words.clone()).collect()).collect();
    assert_eq!(sizes, [vec!["4 µm(c)", "6 µm(c)"], vec!["4 µm(c)"]]);
}

#[test]
fn a_decimal_comma_is_read_only_where_it_is_declared() {
    let lines = "  results file {\n    cells separated by semicolon\n    column \"Id\" is label\n    column \"4\" is count at 4 µm(c)\n  }";
    let (found, said) = read(lines, "Id;4\nR08-01-2;1,234\n");
    assert!(found.unwrap().results[0].counts[0].value.number().is_none());
    assert_eq!(said.len(), 1);
    assert!(said[0].starts_with("A172") && said[0].contains("1,234"), "{said:?}");
}

#[test]
fn a_lost_column_is_said_with_the_line_that_asks_for_it() {
    let lines = "  results file {\n    column \"Id\" is label\n    column \"4\" is count at 4 µm(c)\n    column \"6\" is count at 6 µm(c)\n  }";
    let (found, said) = read(lines, "Id,4\nR08-01-2,66\n");
    assert_eq!(found.unwrap().results.len(), 1);
    assert!(said.len() == 1 && said[0].starts_with("A171") && said[0].contains("`6`"), "{said:?}");
    let (found, said) = read(lines, "Name,four\nx,66\n");
    assert!(found.is_none() && said[0].starts_with("A171"), "{said:?}");
}

#[test]
fn without_a_layout_nothing_is_read_and_the_guess_is_shown() {
    let csv = bench(FERRY, 3).csv;
    let (found, said) = read("", &csv);
    assert!(found.is_none());
    assert!(said.len() == 1 && said[0].starts_with("A170"), "{said:?}");
    let (plan, mut sources) = with_layout("");
    let finding = &file("lab.csv", csv.as_bytes(), plan.laboratories.values(), &mut sources).diagnostics[0];
    let help = finding.help.as_deref().unwrap();
    assert!(help.contains("results file {") && help.trim_end().ends_with('}'), "{help}");
}

/// The guess, pasted, reads the same bottles and counts as the layout that was written by hand.
#[test]
fn the_guess_can_be_pasted_and_reads_the_same() {
    for folder in [FERRY, PLOUGH] {
        let mut bench = bench(folder, 5);
        let csv = bench.csv.clone();
        let test = bench.plan.laboratories.values().flat_map(|lab| lab.tests.values()).next().unwrap().clone();
        let lines = guess("lab.csv", csv.as_bytes(), Some(&test), &mut Sources::new()).value.unwrap().lines;
        let written = bench.read(&csv).0.unwrap();
        let (guessed, said) = read(&lines, &csv);
        let guessed = guessed.unwrap_or_else(|| panic!("{lines}\n{said:?}"));
        assert!(said.is_empty(), "{folder}: {said:?}\n{lines}");
        assert_eq!(guessed.results.len(), written.results.len(), "{lines}");
        for (one, other) in guessed.results.iter().zip(&written.results) {
            assert_eq!(one.label(), other.label());
            let values = |result: &loopleaf::record::laboratory::LabResult| -> Vec<_> {
                result.counts.iter().map(|count| (count.words.clone(), count.value.clone())).collect()
            };
            assert_eq!(values(one), values(other), "{}\n{lines}", one.label());
        }
    }
}

#[test]
fn a_guess_says_what_it_rests_on() {
    let guessed = |text: &str| guess("x", text.as_bytes(), None, &mut Sources::new()).value.unwrap().lines;
    let lines = guessed("Sample ID;4-6 µm(c);6-14 µm(c);Date counted\nA;12,5;3,1;13/11/2026\n");
    for part in [
        "cells separated by semicolon",
        "decimal comma",
        "dates \"DD/MM/YYYY\"",
        "counts differential",
        "count at 4 µm(c)",
    ] {
        assert!(lines.contains(part), "{part} in\n{lines}");
    }
    let lines = guessed("Sample,≥4 µm/100 mL,≥6 µm/100 mL\nA,1200,300\n");
    assert!(lines.contains("\"per 100 mL\"") && lines.contains("which calibration: ask"), "{lines}");
}

#[test]
fn heading_of_another_calibration() {
    let lines = "  results file {\n    column \"Id\" is label\n    column \">=4um(b)\" is count at 4 µm(c)\n  }";
    let (plan, mut sources) = with_layout(lines);
    let read = file("lab.csv", b"Id,>=4um(b)\nR08-01-2,66\n", plan.laboratories.values(), &mut sources).value.unwrap();
    let found = loopleaf::audit::laboratory(&plan, &[], &[read]);
    assert!(found.iter().any(|finding| finding.code.id() == "A189"), "{found:?}");
}

/// What the folders' READMEs list is found, and nothing else is grave.
#[test]
fn the_examples_hold_the_mistakes_that_they_list() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let listed = [
        (FERRY, "2026-11-02-invented.csv", vec!["A177", "A182", "A183", "A186", "A196"]),
        (PLOUGH, "2026-11-16-invented.csv", vec!["A173", "A176", "A181", "A191", "A194", "A195"]),
    ];
    for (folder, name, codes) in listed {
        let mut bench = bench(folder, 1);
        bench.records.clear();
        for run in &bench.plan.runs {
            let path = root.join(format!("examples/{folder}/records/{}.csv", run.code));
            let bytes = std::fs::read(&path).unwrap();
            bench.records.extend(loopleaf::record::read::file(&run.code, &bytes, &mut bench.sources).value);
        }
        let text = std::fs::read_to_string(root.join(format!("examples/{folder}/laboratory/{name}"))).unwrap();
        let found = bench.audit(&text);
        let mut seen: Vec<&str> = found
            .iter()
            .filter(|(f, _)| f.severity.stops() || f.code.id() == "A176")
            .map(|(f, _)| f.code.id())
            .collect();
        seen.sort_unstable();
        let all: Vec<String> = found.iter().map(|(f, _)| format!("{} {}", f.code, f.message)).collect();
        assert_eq!(seen, codes, "{folder}\n{}", all.join("\n"));
    }
}
