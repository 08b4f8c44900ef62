//! Worksheets: nothing of the plan is missing on paper, nothing that must stay hidden is on it.

mod plan;

use loopleaf::plan::{Plan, Run, Wants, bottle_label};
use loopleaf::worksheet::{Input, RunSheet, Scope, Section, View, ViewError, html, view};

use self::plan::plan as hand_built;

/// The paths of all boxes and cells of a run's sheets, in the order of the pages.
fn boxes(sheet: &RunSheet) -> Vec<String> {
    let mut paths = Vec::new();
    for section in &sheet.sections {
        match section {
            Section::Steps(table) => {
                paths.extend(table.rows.iter().flat_map(|row| row.fields.iter().map(|field| field.path.clone())));
            }
            Section::Repeated(table) => {
                for round in table.tables.iter().flat_map(|table| &table.rounds) {
                    paths.extend(round.cells.iter().filter_map(|cell| cell.path.clone()));
                    paths.extend(round.due.iter().map(|due| due.path.clone()));
                }
            }
        }
    }
    paths
}

fn readings(plan: &Plan, run: &Run) -> Vec<String> {
    let steps = &plan.test_of(run).unwrap().steps;
    steps.iter().flat_map(|step| step.readings.iter().map(|reading| reading.path.clone())).collect()
}

fn everything(plan: &Plan) -> View {
    view(plan, Scope::Everything).unwrap()
}

fn field<'a>(view: &'a View, path: &str) -> &'a loopleaf::worksheet::Field {
    let sections = view.runs.iter().flat_map(|run| &run.sections);
    let rows = sections.flat_map(|section| match section {
        Section::Steps(table) => table.rows.iter().collect::<Vec<_>>(),
        Section::Repeated(_) => Vec::new(),
    });
    rows.flat_map(|row| &row.fields).find(|field| field.path == path).unwrap()
}

#[test]
fn every_reading_of_a_run_has_exactly_one_box() {
    let plan = hand_built(30);
    let view = everything(&plan);
    assert_eq!(view.runs.len(), plan.runs.len());
    for (run, sheet) in plan.runs.iter().zip(&view.runs) {
        let (mut wanted, mut printed) = (readings(&plan, run), boxes(sheet));
        wanted.sort();
        printed.sort();
        assert!(!wanted.is_empty());
        assert_eq!(printed, wanted, "{}", run.code);
    }
}

#[test]
fn every_reading_is_in_the_html_once_a_run() {
    let plan = hand_built(3);
    for run in &plan.runs {
        let page = html(&view(&plan, Scope::Run(&run.code)).unwrap()).unwrap();
        for path in readings(&plan, run) {
            assert_eq!(page.matches(&format!("data-path=\"{path}\"")).count(), 1, "{path}");
        }
    }
}

#[test]
fn windows_are_rounded_to_the_inside() {
    let plan = hand_built(3);
    let view = everything(&plan);
    // 346.03 K to 348.27 K is 72.88 °C to 75.12 °C; 72.8 and 75.2 would lie outside.
    assert_eq!(field(&view, "warm-sweep/hold-viscosity").window, "72.9 … 75.1 °C");
    // Not a sweep's cell but a step's box: 40 L/min within 2 %.
    assert_eq!(field(&view, "loading/hold-flow").window, "39.2 … 40.8 L/min");
    assert_eq!(field(&view, "warm-sweep/zero").window, "−0.20 … 0.20 kPa");
}

#[test]
fn what_is_only_measured_is_expected_and_not_demanded() {
    let plan = hand_built(3);
    let view = everything(&plan);
    let clean = field(&view, "loading/clean-dp");
    assert_eq!(clean.window, "expect 5.0 … 90.0 kPa");
    assert_eq!(clean.stop, "STOP above 250.0 kPa");
    assert!(clean.judged);
}

#[test]
fn boxes_have_a_cell_for_each_digit_of_the_instrument() {
    let plan = hand_built(3);
    let view = everything(&plan);
    let comb = |sign, whole, decimals, unit: &str| Input::Comb { sign, whole, decimals, unit: unit.into() };
    assert_eq!(field(&view, "loading/hold-flow").input, comb(false, 2, 1, "L/min"));
    assert_eq!(field(&view, "loading/clean-dp").input, comb(false, 3, 1, "kPa"));
    assert_eq!(field(&view, "warm-sweep/zero").input, comb(true, 2, 2, "kPa"));
}

#[test]
fn a_sweep_has_a_line_a_flow_each_with_its_own_window() {
    let plan = hand_built(3);
    let view = everything(&plan);
    let sweep = view.runs[0]
        .sections
        .iter()
        .find_map(|section| match section {
            Section::Repeated(table) => Some(table),
            Section::Steps(_) => None,
        })
        .unwrap();
    let lines: Vec<(&str, &str)> =
        sweep.tables[0].rounds.iter().map(|round| (round.number.as_str(), round.cells[0].window.as_str())).collect();
    assert_eq!(
        lines,
        [
            ("10.0 L/min ↑", "9.8 … 10.2 L/min"),
            ("20.0 L/min ↑", "19.6 … 20.4 L/min"),
            ("30.0 L/min ↑", "29.4 … 30.6 L/min"),
            ("40.0 L/min ↑", "39.2 … 40.8 L/min"),
            ("50.0 L/min ↑", "49.0 … 51.0 L/min"),
        ]
    );
}

#[test]
fn a_loop_is_printed_once_with_a_line_a_dose_and_its_bottles() {
    let plan = hand_built(30);
    let view = everything(&plan);
    let table = view.runs[1]
        .sections
        .iter()
        .find_map(|section| match section {
            Section::Repeated(table) => Some(table),
            Section::Steps(_) => None,
        })
        .unwrap();
    let letters: String = table.rows.iter().map(|row| row.number.as_str()).collect();
    assert_eq!(letters, "abcdefg");
    assert_eq!(table.rows[6].details[0], "Only in line 5, 10, 15, 20, 25, 30.");
    assert_eq!(table.rules[0], "Stop when dp across the assembly has risen by 70 kPa above clean-dp (step 2).");
    let last = table.tables.last().unwrap();
    assert_eq!(last.rounds.len(), 30);
    let due: Vec<&str> = last.rounds.iter().filter(|round| !round.due.is_empty()).map(|r| r.number.as_str()).collect();
    assert_eq!(due, ["5", "10", "15", "20", "25", "30"]);
}

#[test]
fn models_stay_off_all_papers_of_a_blind_campaign_and_only_of_a_blind_one() {
    let mut plan = hand_built(3);
    assert!(!html(&everything(&plan)).unwrap().contains("Secret"));
    assert!(!serde_json::to_string(&everything(&plan)).unwrap().contains("chandler"));
    plan.campaign.blind = false;
    assert!(html(&everything(&plan)).unwrap().contains("Secret can of the first maker"));
    // The sheets of a run carry the code alone in either case.
    assert!(!html(&view(&plan, Scope::Run("R01")).unwrap()).unwrap().contains("Secret"));
}

#[test]
fn head_and_foot_name_run_specimen_and_fingerprint() {
    let plan = hand_built(3);
    for (run, sheet) in plan.runs.iter().zip(&everything(&plan).runs) {
        assert_eq!(sheet.frame.run, run.code);
        assert_eq!(sheet.frame.specimen, run.specimen);
        assert_eq!(sheet.frame.fingerprint, "9F3C-74QX");
        assert!(sheet.frame.stop.starts_with("oil above 95 °C | line pressure above 600 kPa gauge"));
        assert!(sheet.frame.invented.is_some());
    }
}

#[test]
fn cautions_follow_the_hazards_of_the_test() {
    let plan = hand_built(3);
    let view = everything(&plan);
    let named = |sheet: &RunSheet| sheet.cautions.iter().map(|caution| caution.name.clone()).collect::<Vec<_>>();
    assert_eq!(named(&view.runs[0]), ["hot-oil", "pressure", "alone"]);
    assert_eq!(named(&view.runs[1]), ["hot-oil", "pressure", "silica", "alone"]);
    let waived: Vec<&str> = view.runs[0].waivers.iter().map(|waiver| waiver.code.as_str()).collect();
    assert_eq!(waived, ["L423"], "the waiver of another test is none of this run's");
}

#[test]
fn every_bottle_has_a_label_with_its_own_number() {
    let plan = hand_built(10);
    let view = everything(&plan);
    let bottles = plan.tests[1]
        .steps
        .iter()
        .flat_map(|step| &step.readings)
        .filter(|reading| matches!(reading.wants, Wants::Bottle(_)))
        .count();
    let mut ids: Vec<&str> = view.runs[1].labels.iter().map(|label| label.id.as_str()).collect();
    assert_eq!(ids.len(), 2 * bottles, "each has a twin");
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), 2 * bottles);
}

#[test]
fn a_slip_in_a_bottle_number_changes_its_check_character() {
    let check = |id: &str| id.chars().last().unwrap();
    let right = check(&bottle_label("R12", 34));
    for (run, number) in [("R11", 34), ("R22", 34), ("R12", 35), ("R12", 24), ("R21", 34), ("R12", 43), ("R13", 24)] {
        assert_ne!(check(&bottle_label(run, number)), right, "{run} {number}");
    }
}

#[test]
fn text_of_the_plan_is_escaped_in_html() {
    let mut plan = hand_built(3);
    plan.campaign.title = "<script>alert(1)</script> & co".into();
    let page = html(&everything(&plan)).unwrap();
    assert!(!page.contains("<script>"));
    assert!(page.contains("&lt;script&gt;"));
}

#[test]
fn a_run_that_is_not_there_is_said_to_be_missing() {
    assert_eq!(view(&hand_built(3), Scope::Run("R99")), Err(ViewError::NoSuchRun("R99".into())));
}

#[test]
fn the_same_plan_gives_the_same_page() {
    assert_eq!(html(&everything(&hand_built(5))).unwrap(), html(&everything(&hand_built(5))).unwrap());
}

#[cfg(feature = "pdf")]
mod pages {
    use loopleaf::worksheet::{Paper, Scope, page_count, pdf, view};

    use super::hand_built;

    #[test]
    fn pages_come_out_on_both_papers_and_are_the_same_twice() {
        let mut plan = hand_built(30);
        // Text that would be markup if it were pasted into the template.
        plan.tests[1].title = "#panic(\"no\") *bold* $x$ @ref <label> // = heading".into();
        let sheets = view(&plan, Scope::Run("R02")).unwrap();
        for paper in [Paper::A4, Paper::Letter] {
            let bytes = pdf(&sheets, paper).unwrap();
            assert!(bytes.starts_with(b"%PDF-"));
            assert_eq!(bytes, pdf(&sheets, paper).unwrap());
            assert!(page_count(&sheets, paper).unwrap() >= 8);
        }
    }
}
