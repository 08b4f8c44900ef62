//! What stands beside the records: seals, answers, photographs, a second typing, and benches that are not the small one.

use loopleaf::audit::evidence::{self, Beside};
use loopleaf::audit::{self, Finding};
use loopleaf::diagnostic::{Code, Severity};
use loopleaf::plan::Accuracy;
use loopleaf::record::{Column, Record};

use super::bench::{Bench, Sheet, altered, bench};

const AT: &str = "2026-09-20 17:00:00";
const DP: &str = "rising/40-l-min/dp";

fn codes(findings: &[Finding]) -> Vec<Code> {
    findings.iter().map(|finding| finding.code).collect()
}

fn chain(bench: &Bench, files: &[(&str, &[u8])]) -> String {
    let mut chain = String::new();
    for (name, bytes) in files {
        chain += &evidence::sign(&chain, &Beside::new(*name, bytes), &bench.plan, "AB", AT).unwrap();
    }
    chain
}

fn seals(bench: &mut Bench, chain: &str, now: &[(&str, &[u8])]) -> Vec<Finding> {
    let source = bench.sources.add("seals.txt", chain);
    let bytes = |name: &str| now.iter().find(|(known, _)| *known == name).map(|(_, bytes)| bytes.to_vec());
    evidence::seals(&bench.plan, &[], source, chain, bytes)
}

/// FIPS 180-4, SHA-256 of `abc` (the standard's worked example), from memory; and of many pieces at once.
#[test]
fn a_file_of_any_size_has_the_hash_of_its_bytes() {
    let known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(evidence::hash_of(&b"abc"[..]).unwrap(), known);
    let large: Vec<u8> = (0..300_000_u32).map(|at| at.to_le_bytes()[0] ^ 0x5a).collect();
    assert_eq!(evidence::hash_of(large.as_slice()).unwrap(), evidence::hash(&large));
}

#[test]
fn a_signed_record_that_is_changed_is_seen_and_one_that_is_not_is_left_in_peace() {
    let mut bench = bench();
    let record = bench.conforming("R01", 5).csv();
    let signed = chain(&bench, &[("R01.csv", record.as_bytes()), ("R02.csv", b"another")]);
    let conforming = seals(&mut bench, &signed, &[("R01.csv", record.as_bytes()), ("R02.csv", b"another")]);
    assert!(conforming.is_empty(), "{}", bench.shown(&conforming));
    // Any byte changed.
    for at in [0, 100, record.len() - 1] {
        let mut changed = record.clone().into_bytes();
        changed[at] ^= 1;
        let found = seals(&mut bench, &signed, &[("R01.csv", &changed), ("R02.csv", b"another")]);
        assert_eq!(codes(&found), [Code::SealBroken]);
        assert_eq!(found[0].severity, Severity::Critical);
        assert!(found[0].message.contains("signed by AB on 2026-09-20"), "{}", found[0].message);
    }
    // Corrections below are another matter, and a file taken away is told.
    let longer = format!("{record}R01,more\n");
    let found = seals(&mut bench, &signed, &[("R01.csv", longer.as_bytes()), ("R02.csv", b"another")]);
    assert_eq!((codes(&found), found[0].severity), (vec![Code::SealBroken], Severity::Major));
    let found = seals(&mut bench, &signed, &[("R01.csv", record.as_bytes())]);
    assert!(found[0].message.contains("is not there any more"));
    // Signed again: fine where it was gone on with, and no way to be rid of what was signed first.
    let now: [(&str, &[u8]); 2] = [("R01.csv", longer.as_bytes()), ("R02.csv", b"other")];
    let again =
        signed.clone() + &evidence::sign(&signed, &Beside::new("R01.csv", now[0].1), &bench.plan, "AB", AT).unwrap();
    let again =
        again.clone() + &evidence::sign(&again, &Beside::new("R02.csv", now[1].1), &bench.plan, "AB", AT).unwrap();
    let found = seals(&mut bench, &again, &now);
    assert_eq!((codes(&found), found[0].severity), (vec![Code::SealBroken], Severity::Critical));
    assert!(found[0].message.contains("`R02.csv`, signed by AB"), "{}", found[0].message);
    assert!(found[0].message.contains("was signed again by AB"), "{}", found[0].message);
}

#[test]
fn a_chain_of_seals_that_is_touched_anywhere_does_not_hold() {
    let mut bench = bench();
    let signed = chain(&bench, &[("R01.csv", b"one"), ("R02.csv", b"two"), ("R03.csv", b"three")]);
    let now: [(&str, &[u8]); 3] = [("R01.csv", b"one"), ("R02.csv", b"two"), ("R03.csv", b"three")];
    assert!(seals(&mut bench, &signed, &now).is_empty());
    for at in 0..signed.len() {
        let mut touched = signed.clone().into_bytes();
        if touched[at] == b'\n' {
            continue;
        }
        touched[at] = if touched[at] == b'7' { b'3' } else { b'7' };
        let touched = String::from_utf8(touched).unwrap();
        let found = seals(&mut bench, &touched, &now);
        assert!(codes(&found).contains(&Code::SealBroken), "byte {at}: {touched}");
    }
    // A seal taken out of the middle, and nothing is added to what is broken.
    let blocks: Vec<&str> = signed.split("\n\n").collect();
    let without = [blocks[0], blocks[2]].join("\n\n");
    assert!(codes(&seals(&mut bench, &without, &now)).contains(&Code::SealBroken));
    assert!(evidence::sign(&without, &Beside::new("R04.csv", b"four"), &bench.plan, "AB", AT).is_err());
    assert!(evidence::sign(&signed, &Beside::new("R04.csv", b"four"), &bench.plan, "ZZ", AT).is_err());
    assert!(evidence::sign(&signed, &Beside::new("R04.csv", b"four"), &bench.plan, "AB", "today").is_err());
}

/// Audits R01 with one value out of its window and one limit passed, and holds answers beside the findings; FOUND stands for the
/// words of the finding.
fn answered(lines: &[&str]) -> (Bench, Vec<evidence::Standing>, Vec<Finding>) {
    let mut bench = bench();
    let mut sheet = bench.conforming("R01", 11);
    sheet.set("rising/40-l-min/set-flow", Column::Value, "44.4");
    sheet.set("rising/40-l-min/temperature", Column::Value, "66.1");
    let records = [bench.read("R01.csv", &sheet.csv())];
    let findings = audit::run(&bench.plan, &records);
    let worded = |line: &&str| {
        let found = findings.iter().find(|finding| line.starts_with(finding.code.id()));
        line.replace("FOUND", &format!("\"{}\"", found.map_or("", |finding| &finding.message)))
    };
    let lines: Vec<String> = lines.iter().map(worded).collect();
    let text = format!("code,run,reading,found,answer,by,when,why\n{}\n", lines.join("\n"));
    let source = bench.sources.add("answers.csv", text.as_str());
    let (answers, mut wrong) = evidence::answers(source, &text);
    let (standings, more) = evidence::standings(&bench.plan, &records, findings, source, &answers);
    wrong.extend(more);
    (bench, standings, wrong)
}

#[test]
fn an_answer_stands_beside_its_finding_and_a_critical_one_without_blocks() {
    let (_, standings, wrong) = answered(&[]);
    assert!(wrong.is_empty());
    assert_eq!(standings.iter().filter(|standing| standing.blocks()).count(), 1);
    let (_, standings, wrong) = answered(&[
        "A103,R01,sweep/rising/40-l-min/set-flow,FOUND,accepted,AB,2026-09-21,\"set by eye, flow falls out of the sweep\"",
        "A113,R01,sweep/rising/40-l-min/temperature,FOUND,explained,CD,2026-09-21,probe pulled out of its pocket for a moment",
    ]);
    assert!(wrong.is_empty(), "{:?}", wrong.iter().map(|f| &f.message).collect::<Vec<_>>());
    assert!(standings.iter().all(|standing| standing.answer.is_some()));
    assert!(!standings.iter().any(evidence::Standing::blocks));
}

#[test]
fn answers_are_audited_too() {
    let place = "R01,sweep/rising/40-l-min/temperature";
    for (line, words) in [
        (
            "A113,R01,sweep/rising/30-l-min/dp,a gauge was off,explained,AB,2026-09-21,because of it".to_owned(),
            "answers nothing that is found",
        ),
        (format!("A113,{place},FOUND,explained,,2026-09-21,the probe was out"), "none of the campaign's people"),
        (format!("A113,{place},FOUND,explained,AB,21.9.26,the probe was out"), "no date that can be read"),
        (format!("A113,{place},FOUND,explained,AB,2026-09-21,"), "gives no reason"),
        (format!("A113,{place},FOUND,accepted,AB,2026-09-21,fine"), "accepts a critical finding"),
        (format!("A113,{place},FOUND,corrected,AB,2026-09-21,"), "gives no reason"),
        (format!("A113,{place},FOUND,corrected,AB,2026-09-21,typed wrong"), "no row of this reading has a correction"),
        (format!("A113,{place},FOUND,never mind,AB,2026-09-21,fine"), "says `never mind`"),
        (format!("A913,{place},FOUND,explained,AB,2026-09-21,fine"), "a code that does not exist"),
        ("A113,R01".to_owned(), "has 2 cells"),
        (format!("A113,{place},,explained,AB,2026-09-21,the probe was out"), "does not say in `found` what it answers"),
        (
            format!("A113,{place},it was 61.1 °C,explained,AB,2026-09-21,the probe was out"),
            "was given to `it was 61.1 °C`, and that is not what is found there now",
        ),
    ] {
        let (bench, standings, wrong) = answered(&[&line]);
        assert_eq!(codes(&wrong), [Code::AnswerDoesNotHold], "{line}");
        assert!(wrong[0].message.contains(words), "{line}: {}", wrong[0].message);
        let (before, after) = line.split_once("FOUND").unwrap_or((&line, ""));
        let cell = bench.cell(&wrong[0]);
        assert!(cell.starts_with(before) && cell.ends_with(after), "{line}: {cell}");
        assert!(standings.iter().any(evidence::Standing::blocks), "{line}");
    }
}

/// Nobody chooses readings away, nor is a reading used again because what was found in it can't be seen any more.
#[test]
fn a_reading_is_left_out_for_what_is_found_in_it_or_not_at_all() {
    let line =
        "A103,R01,sweep/rising/30-l-min/set-flow,it was too high,left out,AB,2026-09-21,we like the others better";
    let (_, _, wrong) = answered(&[line]);
    assert_eq!((codes(&wrong), wrong[0].severity), (vec![Code::AnswerDoesNotHold], Severity::Critical));
}

/// The rows to be filled in name what was found; a spreadsheet may add spaces.
#[test]
fn the_rows_to_be_filled_in_are_answers_once_they_are() {
    let (_, standings, _) = answered(&[]);
    let rows = evidence::to_answer(&standings);
    let filled: Vec<String> = rows
        .lines()
        .skip(1)
        .map(|row| {
            row.replace(",,,,", ",explained,AB,2026-09-21,the probe was out").replace("run R01, ", "run  R01,  ")
        })
        .collect();
    let (_, standings, wrong) = answered(&filled.iter().map(String::as_str).collect::<Vec<_>>());
    assert!(wrong.is_empty() && standings.iter().all(|standing| standing.answer.is_some()), "{rows}");
}

#[test]
fn two_typings_are_compared_cell_by_cell() {
    let mut bench = bench();
    let sheet = bench.conforming("R01", 11);
    let first = [bench.read("R01.csv", &sheet.csv())];
    let again = |bench: &mut Bench, change: &dyn Fn(&mut Sheet)| {
        let mut copy = Sheet { run: "R01".to_owned(), rows: sheet.rows.clone() };
        change(&mut copy);
        let second: [Record; 1] = [bench.read("second/R01.csv", &copy.csv())];
        evidence::compare(&first, &second)
    };
    assert!(again(&mut bench, &|_| {}).is_empty());
    let found = again(&mut bench, &|copy| _ = copy.set(DP, Column::Value, "99.9"));
    assert_eq!((codes(&found), found[0].severity), (vec![Code::TypedDifferently], Severity::Major));
    assert_eq!(bench.cell(&found[0]), sheet.get(DP, Column::Value));
    assert_eq!(codes(&again(&mut bench, &|copy| _ = copy.set(DP, Column::By, "XX"))), [Code::TypedDifferently]);
    let left_out = again(&mut bench, &|copy| {
        let row = copy.at(DP);
        copy.blank(row);
    });
    assert!(left_out[0].message.contains("the first time only"));
}

#[test]
fn photographs_are_there_and_each_shows_one_thing() {
    let mut bench = altered(&[(
        "remove specimen",
        "remove specimen\n    teardown { photograph \"the can\"; photograph \"the medium\" }",
    )]);
    let mut sheet = bench.conforming("R01", 11);
    let named: Vec<String> =
        sheet.rows.iter().filter(|row| row[7].ends_with(".jpg")).map(|row| row[7].clone()).collect();
    assert_eq!(named.len(), 2);
    let records = [bench.read("R01.csv", &sheet.csv())];
    let files = [Beside::new(named[0].as_str(), b"can"), Beside::new(named[1].as_str(), b"medium")];
    assert!(evidence::photographs(&bench.plan, &records, &files).is_empty());
    let found = evidence::photographs(&bench.plan, &records, &files[..1]);
    assert_eq!(codes(&found), [Code::PhotographMissing]);
    assert_eq!(bench.cell(&found[0]), named[1]);
    let twice = [Beside::new(named[0].as_str(), b"can"), Beside::new(named[1].as_str(), b"can")];
    assert_eq!(codes(&evidence::photographs(&bench.plan, &records, &twice)), [Code::PhotographReused]);
    // The same name twice is seen without the files.
    let path = sheet.rows.iter().find(|row| row[7] == named[1]).unwrap()[4].clone();
    sheet.set(&path, Column::Value, &named[0]);
    let others = [bench.conforming("R02", 11), bench.conforming("R03", 11)];
    let findings = bench.audit(&[&sheet, &others[0], &others[1]]);
    assert_eq!(codes(&findings), [Code::PhotographReused], "{}", bench.shown(&findings));
}

#[test]
fn more_dust_than_there_was_is_noticed() {
    let mut bench = altered(&[("supply 500 g", "supply 12 g")]);
    let sheets: Vec<Sheet> = ["R01", "R02", "R03"].iter().map(|run| bench.conforming(run, 11)).collect();
    let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
    assert_eq!(codes(&findings), [Code::StockExceeded], "{}", bench.shown(&findings));
    assert!(findings[0].message.contains("and there were 12"), "{}", findings[0].message);
}

#[test]
fn what_lies_after_now_cannot_have_been_measured() {
    let mut bench = bench();
    let sheet = bench.conforming("R01", 11);
    let records = [bench.read("R01.csv", &sheet.csv())];
    let now = loopleaf::record::Instant::parse("2026-09-14 08:00:00");
    let findings = audit::run_at(&bench.plan, &records, now);
    assert_eq!(codes(&findings), [Code::OutsideCampaign], "{}", bench.shown(&findings));
    assert_eq!(findings[0].severity, Severity::Critical);
}

#[test]
fn a_meter_outside_its_viscosities_and_a_bound_far_off_are_noticed() {
    let mut bench = altered(&[(
        "  range 4 L/min to 80 L/min\n",
        "  range 4 L/min to 80 L/min\n  good for viscosity 14.5 mm²/s to 15.5 mm²/s\n",
    )]);
    let mut sheet = bench.conforming("R01", 11);
    sheet.set("rising/20-l-min/temperature", Column::Value, "38.2");
    let findings = bench.audit(&[&sheet]);
    let found = codes(&findings);
    assert!(found.contains(&Code::ViscosityLeft), "{}", bench.shown(&findings));
    assert!(found.contains(&Code::MeterBeyondViscosity), "{}", bench.shown(&findings));
    let mut bench = super::bench::bench();
    let mut sheet = bench.conforming("R01", 11);
    sheet.set(DP, Column::Value, "<0.5");
    let findings = bench.audit(&[&sheet]);
    assert_eq!(codes(&findings), [Code::DoesNotFit], "{}", bench.shown(&findings));
    sheet.set(DP, Column::Value, "<90");
    assert!(codes(&bench.audit(&[&sheet])).is_empty());
}

#[test]
fn a_unit_in_capitals_is_still_that_unit() {
    let mut bench = bench();
    let mut sheet = bench.conforming("R01", 11);
    let kilopascal: f64 = sheet.get(DP, Column::Value).parse().unwrap();
    sheet.set(DP, Column::Value, &format!("{:.1}", kilopascal / 6.894_757)).set(DP, Column::Unit, "PSI");
    let findings = bench.audit(&[&sheet]);
    assert_eq!(codes(&findings), [Code::WrongUnit], "{}", bench.shown(&findings));
    assert!(findings[0].message.contains("psi"), "{}", findings[0].message);
}

#[test]
fn a_valve_noted_in_the_other_position_is_critical() {
    let mut bench = altered(&[("    observe leak choose", "    close around-valve\n    observe leak choose")]);
    let mut sheet = bench.conforming("R01", 11);
    let path = sheet.rows.iter().map(|row| row[4].clone()).find(|path| path.contains("around-valve")).unwrap();
    sheet.set(&path, Column::Value, "closed");
    assert!(bench.audit(&[&sheet]).is_empty());
    sheet.set(&path, Column::Value, "open");
    let findings = bench.audit(&[&sheet]);
    assert_eq!(codes(&findings), [Code::ValveContradicts], "{}", bench.shown(&findings));
    assert_eq!(findings[0].severity, Severity::Critical);
}

#[test]
fn one_specimen_of_six_that_reads_otherwise_is_an_outlier_and_stays() {
    let more = "  specimen K2 of model-a, lot \"L-1\"\n  specimen K4 of model-a, lot \"L-1\"\n  specimen K5 of model-a, lot \"L-1\"\n  specimen K6 of model-a, lot \"L-1\"\n  specimen K7 of model-a, lot \"L-1\"";
    let mut bench = altered(&[
        ("  specimen K2 of model-a, lot \"L-1\"", more),
        ("specimens [K1, K2, K3]", "specimens [K1, K2, K4, K5, K6, K7]"),
    ]);
    let runs: Vec<String> = bench.plan.runs.iter().map(|run| run.code.clone()).collect();
    let mut sheets: Vec<Sheet> = runs.iter().map(|run| bench.conforming(run, 12)).collect();
    // With another seed one may lie beyond by chance: in one set of six in fifteen the farthest is over five of these
    // deviations away (20,000 sets of six normal numbers).
    let grave = |findings: &[Finding]| findings.iter().filter(|f| f.code == Code::Outlier).count();
    let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
    assert_eq!(grave(&findings), 0, "{}", bench.shown(&findings));
    for row in sheets[2]
        .rows
        .iter_mut()
        .filter(|row| row[4].starts_with("sweep/") && row[4].ends_with("/dp") && !row[7].is_empty())
    {
        let value: f64 = row[7].parse().unwrap();
        row[7] = format!("{:.1}", value * 1.35);
    }
    let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
    assert_eq!(codes(&findings), [Code::Outlier], "{}", bench.shown(&findings));
    assert_eq!(findings[0].severity, Severity::Minor);
}

#[test]
fn repeats_that_are_all_the_same_are_looked_at() {
    let before = "    hold flow 40 L/min, within 2 %, on turbine\n    settle 60 s\n    read clean-dp";
    let after = "    hold flow 40 L/min, within 2 %, on turbine\n    repeat 5 times {\n      settle 30 s\n      read again-dp with dp-gauge\n    }\n    settle 60 s\n    read clean-dp";
    let mut bench = altered(&[(before, after)]);
    let mut sheet = bench.conforming("R01", 11);
    let rows: Vec<usize> = (0..sheet.rows.len()).filter(|row| sheet.rows[*row][4].ends_with("again-dp")).collect();
    assert_eq!(rows.len(), 5);
    for row in rows {
        sheet.rows[row][7] = "13.4".to_owned();
    }
    let findings = bench.audit(&[&sheet]);
    assert_eq!(codes(&findings), [Code::TooAlike], "{}", bench.shown(&findings));
}

#[test]
fn a_second_form_in_a_workbook_is_not_overlooked() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    for name in ["one", "two"] {
        let sheet = workbook.add_worksheet().set_name(name).unwrap();
        for (place, column) in (0..).zip(Column::ALL) {
            sheet.write_string(0, place, column.name()).unwrap();
            sheet.write_string(1, place, "1").unwrap();
        }
    }
    let bytes = workbook.save_to_buffer().unwrap();
    let mut sources = loopleaf::source::Sources::new();
    let read = loopleaf::record::read::file("R01.xlsx", &bytes, &mut sources);
    assert_eq!(codes(&read.diagnostics), [Code::SheetNotRead]);
    assert!(read.diagnostics[0].message.contains("`one` is read, `two` not"));
}

#[test]
fn last_digits_that_lean_are_looked_at() {
    let mut bench = altered(&[("  resolution 0.1 kPa\n  accuracy 0.25 %", "  resolution 0.01 kPa\n  accuracy 0.25 %")]);
    let mut sheets: Vec<Sheet> = ["R01", "R02", "R03"].iter().map(|run| bench.conforming(run, 11)).collect();
    assert!(!codes(&bench.audit(&sheets.iter().collect::<Vec<_>>())).contains(&Code::LastDigits));
    for row in
        sheets.iter_mut().flat_map(|sheet| &mut sheet.rows).filter(|row| row[4].ends_with("dp") && !row[7].is_empty())
    {
        let value: f64 = row[7].parse().unwrap();
        row[7] = format!("{:.2}", (value * 20.0).round() / 20.0);
        row[11] = "AB".to_owned();
    }
    let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
    assert_eq!(codes(&findings), [Code::LastDigits], "{}", bench.shown(&findings));
    assert_eq!(findings[0].severity, Severity::Minor);
    assert!(findings[0].message.contains("χ²"), "{}", findings[0].message);
}

/// A gauge before the specimen, read with the differential pressure of each round; and the relief valve set so.
fn with_an_inlet_gauge(relief: &str) -> Bench {
    let gauge = "instrument inlet-gauge \"Pressure before the specimen\" {\n  measures gauge pressure\n  range 0 kPa gauge to 600 kPa gauge\n  \
                 resolution 1 kPa\n  accuracy 0.5 % of span\n  calibrated on 2026-06-02, valid until 2027-06-02\n}\n\nrig bench \"";
    let read = "      read inlet-pressure with inlet-gauge\n      read dp with dp-gauge, above sweep/clean-dp\n";
    altered(&[
        ("rig bench \"", gauge),
        ("set at 600 kPa gauge", &format!("set at {relief}")),
        ("  instrument balance\n}", "  instrument balance\n  instrument inlet-gauge\n}"),
        ("      read dp with dp-gauge, above sweep/clean-dp\n", read),
    ])
}

#[test]
fn a_pressure_at_which_the_relief_valve_lifts_is_critical() {
    let mut bench = with_an_inlet_gauge("600 kPa gauge");
    let sheet = bench.conforming("R01", 11);
    let findings = bench.audit(&[&sheet]);
    assert!(findings.is_empty(), "{}", bench.shown(&findings));
    // The doses bring it to about 90 kPa.
    let mut bench = with_an_inlet_gauge("75 kPa gauge");
    let sheet = bench.conforming("R01", 11);
    let findings = bench.audit(&[&sheet]);
    assert_eq!(codes(&findings), [Code::ReliefLifted], "{}", bench.shown(&findings));
    assert_eq!(findings[0].severity, Severity::Critical);
    let read: f64 = bench.cell(&findings[0]).parse().unwrap();
    assert!((71.0..110.0).contains(&read), "{}", findings[0].message);
    assert!(findings[0].message.contains("relief valve is set at 75 kPa"), "{}", findings[0].message);
    // The cell, the line of the protocol, and the valve.
    assert_eq!(findings[0].places.len(), 3);
}

#[test]
fn a_gauge_too_coarse_for_what_it_reads_is_noted() {
    let mut bench = super::bench::shipped("ferry-generator-sets");
    let sheet = bench.conforming("R01", 11);
    let findings = bench.audit(&[&sheet]);
    assert!(!codes(&findings).contains(&Code::TooSmallForGauge), "{}", bench.shown(&findings));
    // The same readings with a gauge that may be off by 4 kPa.
    bench.plan.instruments.get_mut("dp-low").unwrap().accuracy = Accuracy::OfSpan(0.08);
    let findings = bench.audit(&[&sheet]);
    let coarse: Vec<&Finding> = findings.iter().filter(|finding| finding.code == Code::TooSmallForGauge).collect();
    assert_eq!(coarse.len(), 1, "{}", bench.shown(&findings));
    assert_eq!(coarse[0].severity, Severity::Minor);
    let read: f64 = bench.cell(coarse[0]).parse().unwrap();
    assert!(read < 8.0, "more than twice what the gauge may be off by is large enough: {}", coarse[0].message);
    assert!(coarse[0].message.contains("with `dp-low`, which may be off by 4.00 kPa"), "{}", coarse[0].message);
}
