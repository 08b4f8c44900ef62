//! Blank forms: what they hold, that they stay the same, and that a filled workbook reads like a filled text.

use loopleaf::plan::{bottle_label, is_label, same_label};
use loopleaf::record::{Column, Instant, form, read};
use loopleaf::source::Sources;

use super::bench::bench;

#[test]
fn a_form_has_a_row_for_each_reading_in_the_order_of_the_plan() {
    let bench = bench();
    let run = &bench.plan.runs[0];
    let test = bench.plan.test_of(run).unwrap();
    let wanted: Vec<&str> =
        test.steps.iter().flat_map(|step| &step.readings).map(|reading| reading.path.as_str()).collect();
    let rows = form::rows(&bench.plan, run);
    assert_eq!(rows.iter().map(|row| row.text(Column::Reading)).collect::<Vec<_>>(), wanted);
    for row in &rows {
        assert_eq!(row.text(Column::Run), run.code);
        assert_eq!(row.text(Column::Fingerprint), bench.plan.fingerprint.short);
        for column in Column::ALL.into_iter().filter(|column| column.is_filled_by_hand()) {
            assert_eq!(row.text(column), "");
        }
    }
    let flow = rows.iter().find(|row| row.text(Column::Reading).ends_with("rising/40-l-min/set-flow")).unwrap();
    assert_eq!(
        (flow.text(Column::Window), flow.text(Column::Unit), flow.text(Column::Instrument)),
        ("39.2 to 40.8", "L/min", "turbine")
    );
    let bottle = rows.iter().find(|row| row.text(Column::Reading).ends_with("batch-1/down")).unwrap();
    assert!(is_label(bottle.text(Column::Window)), "{}", bottle.text(Column::Window));
}

#[test]
fn a_blank_form_reads_back_without_a_word_and_the_same_plan_gives_the_same_bytes() {
    let mut bench = bench();
    let run = bench.plan.runs[0].clone();
    let csv = form::csv(&bench.plan, &run);
    assert_eq!(csv, form::csv(&bench.plan, &run));
    let record = bench.read("blank.csv", &csv);
    assert_eq!(record.rows.len(), form::rows(&bench.plan, &run).len());
    assert!(record.rows.iter().all(|row| !row.is_filled()));
    let first = form::xlsx(&bench.plan, &run).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1100));
    assert!(first == form::xlsx(&bench.plan, &run).unwrap(), "a workbook's bytes change with the clock");
    let mut sources = Sources::new();
    let workbook = read::file("blank.xlsx", &first, &mut sources);
    assert!(workbook.diagnostics.is_empty(), "{:?}", workbook.diagnostics);
    let workbook = workbook.value.unwrap();
    let texts = |record: &loopleaf::record::Record| -> Vec<Vec<String>> {
        record.rows.iter().map(|row| Column::ALL.iter().map(|column| row.text(*column).to_owned()).collect()).collect()
    };
    let (printed, free) =
        texts(&workbook).into_iter().partition::<Vec<_>, _>(|row| !row[Column::Reading.index()].is_empty());
    assert_eq!(printed, texts(&record));
    // Room for corrections: run, specimen and plan are there, and an empty one is no row of the record.
    assert_eq!(free.len(), 20);
    assert!(free.iter().all(|row| row[Column::Run.index()] == run.code && row[Column::Value.index()].is_empty()));
    assert!(csv.starts_with('\u{feff}'));
    let findings = loopleaf::audit::run(&bench.plan, &[workbook]);
    assert!(findings.iter().all(|finding| finding.severity.rank() == 0), "{}", bench.shown(&findings));
}

#[test]
fn a_filled_workbook_keeps_what_was_typed_and_names_its_cells() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write(0, 0, "My bench").unwrap();
    for (place, column) in Column::ALL.into_iter().enumerate() {
        sheet.write(2, u16::try_from(place).unwrap(), column.name()).unwrap();
    }
    let at = |column: Column| u16::try_from(column.index()).unwrap();
    sheet.write(3, at(Column::Run), "R01").unwrap();
    sheet.write(3, at(Column::Reading), "a/b").unwrap();
    sheet.write(3, at(Column::Value), 40.1).unwrap();
    let time = rust_xlsxwriter::ExcelDateTime::parse_from_str("2026-09-14T09:12:40").unwrap();
    sheet
        .write_with_format(
            3,
            at(Column::Time),
            &time,
            &rust_xlsxwriter::Format::new().set_num_format("yyyy-mm-dd hh:mm:ss"),
        )
        .unwrap();
    sheet.write(4, at(Column::Run), "R01").unwrap();
    sheet.write(4, at(Column::Value), rust_xlsxwriter::Formula::new("=H4*2").set_result("80.2")).unwrap();
    let mut sources = Sources::new();
    let read = read::file("mine.xlsx", &workbook.save_to_buffer().unwrap(), &mut sources);
    let messages: Vec<&str> = read.diagnostics.iter().map(|finding| finding.message.as_str()).collect();
    assert_eq!(messages, ["cell H5 of `mine.xlsx` holds a formula; its last result is read"]);
    let record = read.value.unwrap();
    let row = &record.rows[0];
    assert_eq!((row.text(Column::Value), row.text(Column::Time)), ("40.1", "2026-09-14 09:12:40"));
    assert_eq!(record.whereabouts(row.cell(Column::Value)), "cell H4");
    let source = sources.get(record.source).unwrap();
    assert_eq!(source.slice(row.cell(Column::Value).span), "40.1");
    assert_eq!(record.rows[1].text(Column::Value), "80.2");
}

#[test]
fn labels_notice_a_wrong_character_and_a_swap() {
    let label = bottle_label("R12", 7);
    assert_eq!(label.rsplit_once('-').unwrap().0, "R12-07");
    assert!(is_label(&label) && is_label(&format!("{label}T")) && same_label(&label.to_lowercase(), &label));
    for at in [1, 2, 4, 5] {
        for digit in '0'..='9' {
            let mut wrong: Vec<char> = label.chars().collect();
            if wrong[at] != digit {
                wrong[at] = digit;
                let wrong: String = wrong.into_iter().collect();
                assert!(!is_label(&wrong), "{wrong}");
            }
        }
    }
    assert!(!is_label(&label.replacen("12", "21", 1)) && !is_label(&label.replacen("07", "70", 1)));
}

#[test]
fn times_are_read_only_where_the_day_cannot_be_taken_for_the_month() {
    let time = Instant::parse("2026-09-14 09:12:40").unwrap();
    assert_eq!((time.text().as_str(), time.grain), ("2026-09-14 09:12:40", 1));
    assert_eq!(Instant::parse("2026-09-14T9:12").unwrap().grain, 60);
    for text in
        ["14.09.2026 09:12", "09/14/2026 09:12", "2026-02-30 09:12", "2026-09-14", "2026-09-14 24:00", "09:12", ""]
    {
        assert_eq!(Instant::parse(text), None, "{text}");
    }
}
