//! One record for each kind of departure: spoilt in one place, and the audit names the kind, the cell and, where
//! arithmetic allows, the cause.

use loopleaf::audit::{Finding, states};
use loopleaf::diagnostic::{Code, Severity};
use loopleaf::record::Column;

use super::bench::{Bench, Sheet, bench};

/// Spoils the conforming record of R01, audits all three runs, and gives the findings.
fn spoilt(seed: u64, spoil: impl FnOnce(&mut Sheet)) -> (Bench, Vec<Finding>) {
    let mut bench = bench();
    let mut sheet = bench.conforming("R01", seed);
    let (second, third) = (bench.conforming("R02", seed), bench.conforming("R03", seed));
    spoil(&mut sheet);
    let findings = bench.audit(&[&sheet, &second, &third]);
    (bench, findings)
}

/// The only finding that a spoilt record has: its kind, the cell that it points at, and words that its message or help
/// must hold.
fn only(spoil: impl FnOnce(&mut Sheet), code: Code, cell: &str, words: &[&str]) -> Finding {
    let (bench, findings) = spoilt(11, spoil);
    let shown = bench.shown(&findings);
    assert_eq!(findings.iter().map(|finding| finding.code).collect::<Vec<_>>(), [code], "\n{shown}");
    let finding = findings.into_iter().next().unwrap();
    assert_eq!(bench.cell(&finding), cell, "\n{shown}");
    let text = format!("{} {}", finding.message, finding.help.clone().unwrap_or_default());
    for word in words {
        assert!(text.contains(word), "no `{word}` in:\n{shown}");
    }
    assert!(
        finding.places.len() >= 2
            || finding.code == Code::UnknownRun
            || finding.code == Code::Unplanned
            || matches!(finding.code, Code::WrongSpecimen | Code::WrongFingerprint),
        "one place only:\n{shown}"
    );
    finding
}

const FLOW: &str = "rising/40-l-min/set-flow";
const DP: &str = "rising/40-l-min/dp";

#[test]
fn an_empty_box_in_the_middle_is_missing() {
    only(
        |sheet| {
            let at = sheet.at(DP);
            sheet.blank(at);
        },
        Code::Missing,
        "",
        &["is empty, and the bench went on"],
    );
}

#[test]
fn a_row_taken_out_is_missing_and_shows_where_it_belongs() {
    let (bench, findings) = spoilt(11, |sheet| {
        let at = sheet.at(DP);
        sheet.rows.remove(at);
    });
    assert_eq!(findings.len(), 1, "{}", bench.shown(&findings));
    assert_eq!(findings[0].code, Code::Missing);
    assert!(findings[0].places[0].role.contains("it belongs after"), "{}", bench.shown(&findings));
}

#[test]
fn a_row_that_nobody_asked_for_is_unplanned() {
    only(
        |sheet| {
            let mut row = sheet.rows[sheet.at(DP)].clone();
            row[Column::Reading.index()] = "sweep/rising/40-l-min/dpp".to_owned();
            let at = sheet.at(DP) + 1;
            sheet.rows.insert(at, row);
        },
        Code::Unplanned,
        "sweep/rising/40-l-min/dpp",
        &["sweep/rising/40-l-min/dp`"],
    );
}

#[test]
fn a_second_row_without_a_reason_is_a_repeat() {
    only(
        |sheet| {
            let mut row = sheet.rows[sheet.at(FLOW)].clone();
            row[Column::Value.index()] = "40.5".to_owned();
            let at = sheet.at(FLOW) + 1;
            sheet.rows.insert(at, row);
        },
        Code::RepeatedRow,
        "40.5",
        &["correction cell"],
    );
}

#[test]
fn a_second_row_with_a_reason_is_a_correction_and_both_are_shown() {
    let finding = only(
        |sheet| {
            let mut row = sheet.rows[sheet.at(FLOW)].clone();
            sheet.set(FLOW, Column::Value, "4.03");
            row[Column::Value.index()] = "40.3".to_owned();
            row[Column::Correction.index()] = "AB: point misplaced, sheet says 40.3".to_owned();
            let at = sheet.at(FLOW) + 1;
            sheet.rows.insert(at, row);
        },
        Code::Corrected,
        "\"AB: point misplaced, sheet says 40.3\"",
        &["from `4.03` to `40.3`"],
    );
    assert_eq!(finding.severity, Severity::Note);
}

#[test]
fn not_done_needs_a_reason() {
    only(|sheet| _ = sheet.set(DP, Column::Value, "ND"), Code::SetAsideWithoutReason, "ND", &["reason"]);
    let (bench, findings) = spoilt(11, |sheet| {
        sheet.set(DP, Column::Value, "ND").set(DP, Column::Note, "gauge was being zeroed");
    });
    assert!(findings.is_empty(), "{}", bench.shown(&findings));
}

#[test]
fn time_and_initials_are_asked_for() {
    only(|sheet| _ = sheet.set(DP, Column::Time, ""), Code::NoTime, "", &[]);
    only(|sheet| _ = sheet.set(DP, Column::By, ""), Code::NoInitials, "", &[]);
    only(|sheet| _ = sheet.set(DP, Column::By, "ZZ"), Code::NoInitials, "ZZ", &["AB, CD"]);
    only(|sheet| _ = sheet.set(DP, Column::Time, "14/09/2026 9:12"), Code::BadTime, "14/09/2026 9:12", &["YYYY-MM-DD"]);
}

#[test]
fn run_specimen_and_plan_are_compared() {
    let (bench, findings) = spoilt(11, |sheet| {
        for row in &mut sheet.rows {
            row[Column::Run.index()] = "R91".to_owned();
        }
    });
    assert_eq!(findings.iter().map(|finding| finding.code).collect::<Vec<_>>(), [Code::UnknownRun]);
    assert!(findings[0].message.contains("rows of `R01"), "{}", bench.shown(&findings));
    let other = |sheet: &Sheet| if sheet.get(DP, Column::Specimen) == "K9" { "K8" } else { "K9" }.to_owned();
    only(
        |sheet| {
            let wrong = other(sheet);
            sheet.set(DP, Column::Specimen, &wrong);
        },
        Code::WrongSpecimen,
        "K9",
        &["Look at the code on the can"],
    );
    only(
        |sheet| {
            for row in &mut sheet.rows {
                row[Column::Fingerprint.index()] = "AAAA-AAAA".to_owned();
            }
        },
        Code::WrongFingerprint,
        "AAAA-AAAA",
        &["rows name the fingerprint"],
    );
}

#[test]
fn a_value_outside_its_window_comes_with_its_likely_cause() {
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "10.6"),
        Code::OutOfWindow,
        "10.6",
        &["10.6 US gpm is 40.1 L/min", "inside 39.2 to 40.8"],
    );
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "4.01"),
        Code::OutOfWindow,
        "4.01",
        &["`4.01` for 40.1 L/min", "decimal mark slipped"],
    );
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "400.1"),
        Code::OutOfWindow,
        "400.1",
        &["for 40.1 L/min", "written twice"],
    );
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "04.1"),
        Code::OutOfWindow,
        "04.1",
        &["for 40.1 L/min", "exchanged"],
    );
    only(|sheet| _ = sheet.set(FLOW, Column::Value, "44.4"), Code::OutOfWindow, "44.4", &["by 3.60 L/min"]);
    only(
        |sheet| _ = sheet.set("rising/40-l-min/temperature", Column::Value, "104.2"),
        Code::BeyondLimit,
        "104.2",
        &["104.2 °F is 40.1 °C"],
    );
}

#[test]
fn a_value_without_a_window_is_compared_with_the_rest_of_the_record() {
    let (bench, _) = spoilt(11, |_| {});
    drop(bench);
    let mut typed = String::new();
    let finding = only(
        |sheet| {
            let kilopascal: f64 = sheet.get(DP, Column::Value).parse().unwrap();
            let psi = format!("{:.2}", kilopascal / 6.894_757);
            sheet.set(DP, Column::Value, &psi);
            typed = psi;
        },
        Code::DoesNotFit,
        &std::iter::once(spoilt_psi(11)).collect::<String>(),
        &["psi is", "the other flows"],
    );
    assert!(finding.help.unwrap().contains(&typed));
}

/// The dp of the conforming record in psi, as a slip would have it.
fn spoilt_psi(seed: u64) -> String {
    let sheet = bench().conforming("R01", seed);
    let kilopascal: f64 = sheet.get(DP, Column::Value).parse().unwrap();
    format!("{:.2}", kilopascal / 6.894_757)
}

#[test]
fn limits_and_impossible_values_are_critical() {
    let finding = only(
        |sheet| _ = sheet.set("rising/40-l-min/temperature", Column::Value, "66.1"),
        Code::BeyondLimit,
        "66.1",
        &["65"],
    );
    assert_eq!(finding.severity, Severity::Critical);
    let finding =
        only(|sheet| _ = sheet.set(DP, Column::Value, "-18.0"), Code::Impossible, "-18.0", &["zero that moved"]);
    assert_eq!(finding.severity, Severity::Critical);
}

#[test]
fn what_is_not_a_number_is_kept_and_asked_about() {
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "about forty"),
        Code::NotANumber,
        "about forty",
        &["Words belong in the note"],
    );
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "4O.1"),
        Code::NotANumber,
        "4O.1",
        &["for 40.1 L/min", "a letter stands for a digit"],
    );
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "40,1"),
        Code::NotANumber,
        "\"40,1\"",
        &["for 40.1 L/min", "comma"],
    );
    only(|sheet| _ = sheet.set(FLOW, Column::Value, "40.1 L/min"), Code::WrongUnit, "40.1 L/min", &["cell of its own"]);
    only(|sheet| _ = sheet.set(FLOW, Column::Value, ">40"), Code::NotANumber, ">40", &["a bound only"]);
}

#[test]
fn digits_that_the_instrument_does_not_show_are_noticed() {
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "40.13"),
        Code::FinerThanInstrument,
        "40.13",
        &["steps of 0.1 L/min"],
    );
    only(|sheet| _ = sheet.set("zero-dp-gauge", Column::Value, "0.05"), Code::FinerThanInstrument, "0.05", &[]);
}

#[test]
fn another_unit_is_converted_and_said() {
    only(
        |sheet| _ = sheet.set(FLOW, Column::Value, "10.6").set(FLOW, Column::Unit, "US gpm"),
        Code::WrongUnit,
        "US gpm",
        &["10.6 US gpm is 40.1 L/min, inside 39.2 to 40.8 L/min"],
    );
    only(|sheet| _ = sheet.set(FLOW, Column::Unit, "kPa"), Code::WrongUnit, "kPa", &["measures something else"]);
    only(|sheet| _ = sheet.set(FLOW, Column::Unit, "gpm"), Code::WrongUnit, "gpm", &["US or imperial"]);
}

#[test]
fn another_instrument_and_an_expired_one_are_noticed() {
    let (bench, findings) = spoilt(11, |sheet| _ = sheet.set(DP, Column::Instrument, "dp-spare"));
    let codes: Vec<_> = findings.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [Code::WrongInstrument, Code::CalibrationExpired], "{}", bench.shown(&findings));
    only(|sheet| _ = sheet.set(DP, Column::Instrument, "dp-gauje"), Code::WrongInstrument, "dp-gauje", &["`dp-gauge`"]);
    only(
        |sheet| _ = sheet.set(DP, Column::Instrument, "turbine"),
        Code::WrongInstrument,
        "turbine",
        &["measures flow"],
    );
}

#[test]
fn steps_out_of_order_and_a_clock_that_slipped_are_told_apart() {
    let hour = |text: &str, by: i64| {
        let mut time = loopleaf::record::Instant::parse(text).unwrap();
        time.seconds += by;
        time.text()
    };
    let (bench, findings) = spoilt(11, |sheet| {
        let time = hour(sheet.get(DP, Column::Time), -3600);
        sheet.set(DP, Column::Time, &time);
    });
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::ClockBackwards],
        "{}",
        bench.shown(&findings)
    );
    assert!(findings[0].help.as_ref().unwrap().contains("an hour later"), "{}", bench.shown(&findings));
    // The spot of a later step was visited first: its time lies well before, and no single slip explains it.
    let (bench, findings) = spoilt(11, |sheet| {
        let time = hour(sheet.get("rising/20-l-min/dp", Column::Time), 7);
        sheet.set("falling/20-l-min/dp", Column::Time, &time);
    });
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::OutOfOrder],
        "{}",
        bench.shown(&findings)
    );
}

#[test]
fn a_wait_cut_short_and_one_drawn_out_are_noticed() {
    let shift = |sheet: &mut Sheet, from: usize, by: i64| {
        for row in sheet.rows.iter_mut().skip(from) {
            let cell = &mut row[Column::Time.index()];
            if let Some(mut time) = loopleaf::record::Instant::parse(cell) {
                time.seconds += by;
                *cell = time.text();
            }
        }
    };
    let (bench, findings) = spoilt(11, |sheet| {
        let at = sheet.at("batch-3/hold-flow");
        shift(sheet, at, -90);
    });
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::DwellTooShort],
        "{}",
        bench.shown(&findings)
    );
    assert!(findings[0].message.contains("asks for 3 min 50 s"), "{}", bench.shown(&findings));
    let (bench, findings) = spoilt(11, |sheet| {
        let at = sheet.at("batch-3/hold-flow");
        shift(sheet, at, 1800);
    });
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::DwellTooLong],
        "{}",
        bench.shown(&findings)
    );
}

#[test]
fn a_loop_that_stopped_early_needs_a_reason() {
    let cut = |sheet: &mut Sheet, note: &str| {
        let last = round_of(sheet, sheet.last_round());
        for at in last {
            sheet.blank(at);
        }
        let before = sheet.last_round();
        sheet.set(&format!("batch-{before}/dp"), Column::Note, note);
    };
    let (bench, findings) = spoilt(11, |sheet| cut(sheet, ""));
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::StoppedEarly],
        "{}",
        bench.shown(&findings)
    );
    assert!(findings[0].message.contains("of 70.00 kPa"), "{}", bench.shown(&findings));
    let (bench, findings) = spoilt(11, |sheet| cut(sheet, "pump failed"));
    assert!(findings.is_empty(), "{}", bench.shown(&findings));
}

#[test]
fn a_loop_without_a_single_dose_needs_a_reason_too() {
    let lose = |sheet: &mut Sheet, note: &str| {
        let first = sheet.rows.iter().position(|row| row[Column::Reading.index()].contains("batch-")).unwrap();
        sheet.rows.retain(|row| !row[Column::Reading.index()].contains("batch-"));
        sheet.rows[first - 1][Column::Note.index()] = note.to_owned();
    };
    let (bench, findings) = spoilt(11, |sheet| lose(sheet, ""));
    let codes: Vec<Code> = findings.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [Code::StoppedEarly], "{}", bench.shown(&findings));
    let message = &findings[0].message;
    assert!(message.contains("no dose of") && message.contains("before 70.00 kPa was reached"), "{message}");
    let (bench, findings) = spoilt(11, |sheet| lose(sheet, "pump failed"));
    assert!(findings.is_empty(), "{}", bench.shown(&findings));
}

#[test]
fn rounds_after_the_terminal_one_are_noticed() {
    let (bench, findings) = spoilt(11, |sheet| {
        let last = sheet.last_round();
        for at in round_of(sheet, last) {
            let path = sheet.rows[at][Column::Reading.index()]
                .replace(&format!("batch-{last}/"), &format!("batch-{}/", last + 1));
            let into = sheet.rows.iter().position(|row| row[Column::Reading.index()] == path).unwrap();
            for column in [Column::Value, Column::Time, Column::By] {
                let mut text = sheet.rows[at][column.index()].clone();
                if column == Column::Time {
                    let mut time = loopleaf::record::Instant::parse(&text).unwrap();
                    time.seconds += 900;
                    text = time.text();
                }
                sheet.rows[into][column.index()] = text;
            }
        }
        let end = sheet.at("close/stop-heater");
        for row in sheet.rows.iter_mut().skip(end) {
            let mut time = loopleaf::record::Instant::parse(&row[Column::Time.index()]).unwrap();
            time.seconds += 1500;
            row[Column::Time.index()] = time.text();
        }
    });
    assert!(findings.iter().any(|finding| finding.code == Code::AfterTerminal), "{}", bench.shown(&findings));
    assert!(!findings.iter().any(|finding| finding.code == Code::Missing), "{}", bench.shown(&findings));
}

#[test]
fn an_overshoot_beyond_the_allowed_is_noticed() {
    let (bench, findings) = spoilt(11, |sheet| {
        let last = sheet.last_round();
        let clean: f64 = sheet.get("sweep/clean-dp", Column::Value).parse().unwrap();
        sheet.set(&format!("batch-{last}/dp"), Column::Value, &format!("{:.1}", clean + 70.0 * 1.3));
    });
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::PastTerminal],
        "{}",
        bench.shown(&findings)
    );
    assert!(findings[0].message.contains("30 % above 70.00 kPa"), "{}", bench.shown(&findings));
}

#[test]
fn doses_are_counted_and_weighed() {
    only(
        |sheet| _ = sheet.set("batch-3/dose", Column::Value, "1.020"),
        Code::DoseOutOfWindow,
        "1.020",
        &["by 0.010 g"],
    );
    only(
        |sheet| _ = sheet.set("batch-3/dose", Column::Value, "10.02"),
        Code::DoseOutOfWindow,
        "10.02",
        &["for 1.002 g"],
    );
    only(
        |sheet| {
            let at = sheet.at("batch-3/dose");
            sheet.blank(at);
        },
        Code::DoseSkipped,
        "",
        &["account of dust is open"],
    );
    only(
        |sheet| {
            let at = sheet.at("batch-3/dose");
            let row = sheet.rows[at].clone();
            sheet.rows.insert(at + 1, row);
        },
        Code::DoseRepeated,
        bench().conforming("R01", 11).get("batch-3/dose", Column::Value),
        &["given twice"],
    );
}

#[test]
fn bottles_and_choices_are_compared_with_what_was_offered() {
    let label = bench().conforming("R01", 11).get("batch-4/down", Column::Value).to_owned();
    only(
        |sheet| _ = sheet.set("batch-1/down", Column::Value, &label),
        Code::WrongBottle,
        &label,
        &["is the label of step"],
    );
    only(
        |sheet| _ = sheet.set("batch-1/down", Column::Value, "R01-07-A"),
        Code::WrongBottle,
        "R01-07-A",
        &["check character"],
    );
    only(
        |sheet| _ = sheet.set("sweep/leak", Column::Value, "weping"),
        Code::NotAChoice,
        "weping",
        &["If it is `weeping`"],
    );
    only(|sheet| _ = sheet.set("close/stop-pump", Column::Value, "no"), Code::NotAChoice, "no", &["ND and the reason"]);
}

#[test]
fn a_run_in_progress_is_open_and_not_missing() {
    let mut bench = bench();
    let mut sheet = bench.conforming("R01", 11);
    for at in sheet.at("batch-5/hold-flow")..sheet.rows.len() {
        sheet.blank(at);
    }
    let findings = bench.audit(&[&sheet]);
    assert_eq!(
        findings.iter().map(|finding| finding.code).collect::<Vec<_>>(),
        [Code::NotYetRecorded],
        "{}",
        bench.shown(&findings)
    );
    assert!(findings[0].message.contains("not yet recorded: steps "), "{}", bench.shown(&findings));
}

#[test]
fn the_state_of_each_run_adds_up() {
    let mut bench = bench();
    let mut sheet = bench.conforming("R01", 3);
    sheet.set(FLOW, Column::Value, "44.4").set(DP, Column::By, "");
    let record = bench.read("R01.csv", &sheet.csv());
    let states = states(&bench.plan, &[record]);
    assert_eq!(states.len(), 3);
    let first = &states[0];
    assert_eq!((first.critical, first.major, first.minor, first.open), (0, 1, 1, 0));
    assert_eq!(first.rows_planned, first.rows_recorded);
    assert_eq!((states[1].rows_recorded, states[1].open), (0, states[1].rows_planned));
}

/// The rows of one round.
fn round_of(sheet: &Sheet, round: u32) -> Vec<usize> {
    let inside = format!("/batch-{round}/");
    (0..sheet.rows.len()).filter(|at| sheet.rows[*at][Column::Reading.index()].contains(&inside)).collect()
}

impl Sheet {
    fn last_round(&self) -> u32 {
        (1..=30).rev().find(|round| !self.get(&format!("batch-{round}/dp"), Column::Value).is_empty()).unwrap()
    }
}
