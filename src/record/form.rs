//! The blank form of a run: one row a reading, in the order of the plan, with everything that the plan knows filled in.

use csv::WriterBuilder;
use indexmap::IndexMap;
use rust_xlsxwriter::{
    Color, DataValidation, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet,
    XlsxError,
};

use super::Column;
use crate::plan::{Plan, Reading, Run, Step, Wants, bottle_labels};
use crate::quantity::inward;

/// One row of a form.
#[derive(Debug, Clone)]
pub struct FormRow<'a> {
    /// The step that asks for it.
    pub step: &'a Step,
    /// What is to be read.
    pub reading: &'a Reading,
    /// One text for each [`Column`]; empty where the bench writes.
    pub texts: Vec<String>,
}

impl FormRow<'_> {
    /// What the form prints in a column.
    pub fn text(&self, column: Column) -> &str {
        self.texts.get(column.index()).map_or("", String::as_str)
    }
}

/// The rows of a run's form. None where the plan has no test for the run.
pub fn rows<'a>(plan: &'a Plan, run: &Run) -> Vec<FormRow<'a>> {
    let Some(test) = plan.test_of(run) else { return Vec::new() };
    let labels = bottle_labels(run, test);
    let readings = test.steps.iter().flat_map(|step| step.readings.iter().map(move |reading| (step, reading)));
    readings
        .map(|(step, reading)| {
            let texts = Column::ALL.into_iter().map(|column| text(plan, run, step, reading, &labels, column));
            FormRow { step, reading, texts: texts.collect() }
        })
        .collect()
}

fn text(
    plan: &Plan,
    run: &Run,
    step: &Step,
    reading: &Reading,
    labels: &IndexMap<String, String>,
    column: Column,
) -> String {
    let numeric = match &reading.wants {
        Wants::Number(numeric) => Some(numeric),
        _ => None,
    };
    match column {
        Column::Run => run.code.clone(),
        Column::Specimen => run.specimen.clone(),
        Column::Fingerprint => plan.fingerprint.short.clone(),
        Column::Step => step.number.to_string(),
        Column::Reading => reading.path.clone(),
        Column::What => reading.label.clone(),
        Column::Window => window(reading, labels),
        Column::Unit => numeric.map_or(String::new(), |numeric| numeric.unit.text.clone()),
        Column::Instrument => numeric.and_then(|numeric| numeric.instrument.clone()).unwrap_or_default(),
        Column::Value | Column::Time | Column::By | Column::Note | Column::Correction => String::new(),
    }
}

/// What may be written, in words.
fn window(reading: &Reading, labels: &IndexMap<String, String>) -> String {
    match &reading.wants {
        Wants::Number(numeric) => {
            let show = |window, lead: &str| {
                let (low, high) = inward(window, &numeric.unit, numeric.decimals, false);
                match (low, high) {
                    (Some(low), Some(high)) => format!("{lead}{} to {}", low.number, high.number),
                    (Some(low), None) => format!("{lead}at least {}", low.number),
                    (None, Some(high)) => format!("{lead}at most {}", high.number),
                    (None, None) => String::new(),
                }
            };
            match (&numeric.window, &numeric.expect) {
                (Some(window), _) => show(window, ""),
                (None, Some(expect)) => show(expect, "expect "),
                (None, None) => String::new(),
            }
        }
        Wants::Tick => "done".to_owned(),
        Wants::Choice(choices) => choices.join(" / "),
        Wants::Count => "a whole number".to_owned(),
        Wants::Text => "words".to_owned(),
        Wants::Photograph => "file name".to_owned(),
        Wants::Bottle(_) => labels.get(&reading.path).cloned().unwrap_or_default(),
    }
}

/// The form as CSV: UTF-8, commas, one heading line. It begins with a byte order mark, without which spreadsheets take
/// `°` and `²` for other characters.
pub fn csv(plan: &Plan, run: &Run) -> String {
    format!("\u{feff}{}", lines(rows(plan, run).into_iter().map(|row| row.texts)))
}

/// CSV lines under the form's heading line.
pub fn lines(rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut writer = WriterBuilder::new().from_writer(Vec::new());
    let heading = Column::ALL.map(Column::name);
    // Writing to memory does not fail; were it to, the form would end early rather than be wrong.
    let mut written = writer.write_record(heading).is_ok();
    for row in rows {
        written = written && writer.write_record(row).is_ok();
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// The form as a workbook: the heading stays in view, what the plan says is locked, what the bench writes is text, so
/// that it stays as typed. The same plan gives the same bytes.
///
/// # Errors
/// When the workbook can't be put together, such as with more rows than a sheet holds.
pub fn xlsx(plan: &Plan, run: &Run) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    let properties = DocProperties::new()
        .set_title(format!("Record of run {}", run.code))
        .set_comment(format!("Plan {}", plan.fingerprint.short))
        .set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?);
    workbook.set_properties(&properties);
    let sheet = workbook.add_worksheet();
    sheet.set_name(format!(
        "Run {}",
        run.code.chars().filter(char::is_ascii_alphanumeric).take(20).collect::<String>()
    ))?;
    fill(sheet, plan, run)?;
    workbook.save_to_buffer()
}

fn fill(sheet: &mut Worksheet, plan: &Plan, run: &Run) -> Result<(), XlsxError> {
    let heading =
        Format::new().set_bold().set_border_bottom(FormatBorder::Medium).set_align(FormatAlign::VerticalCenter);
    let printed =
        Format::new().set_background_color(Color::RGB(0x00EF_EFEF)).set_border(FormatBorder::Hair).set_num_format("@");
    let written = Format::new().set_border(FormatBorder::Thin).set_num_format("@").set_unlocked();
    // The unit and the instrument may turn out to be others than planned, so the bench can write over them.
    let changeable = printed.clone().set_unlocked();
    for column in Column::ALL {
        let place = u16::try_from(column.index()).unwrap_or(u16::MAX);
        sheet.write_string_with_format(0, place, column.name(), &heading)?;
        sheet.set_column_width(place, width(column))?;
    }
    for (index, row) in rows(plan, run).iter().enumerate() {
        let last = u32::try_from(index + 1).unwrap_or(u32::MAX);
        for column in Column::ALL {
            let place = u16::try_from(column.index()).unwrap_or(u16::MAX);
            let format = match column {
                Column::Unit | Column::Instrument => &changeable,
                column if column.is_filled_by_hand() => &written,
                _ => &printed,
            };
            sheet.write_string_with_format(last, place, row.text(column), format)?;
        }
        if let Wants::Choice(choices) = &row.reading.wants {
            let place = u16::try_from(Column::Value.index()).unwrap_or(u16::MAX);
            // A list that a spreadsheet can't hold is left to the audit.
            if let Ok(list) = DataValidation::new().allow_list_strings(choices) {
                sheet.add_data_validation(last, place, last, place, &list.show_error_message(false))?;
            }
        }
    }
    free_rows(sheet, plan, run, &written)?;
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(0, 0)?;
    sheet.protect();
    Ok(())
}

/// Rows at the end for corrections and remarks: run, specimen and plan are filled in, the rest may be written.
fn free_rows(sheet: &mut Worksheet, plan: &Plan, run: &Run, written: &Format) -> Result<(), XlsxError> {
    const FREE: usize = 20;
    let from = rows(plan, run).len() + 1;
    for index in from..from + FREE {
        let row = u32::try_from(index).unwrap_or(u32::MAX);
        for column in Column::ALL {
            let place = u16::try_from(column.index()).unwrap_or(u16::MAX);
            let text = match column {
                Column::Run => run.code.as_str(),
                Column::Specimen => run.specimen.as_str(),
                Column::Fingerprint => plan.fingerprint.short.as_str(),
                _ => "",
            };
            sheet.write_string_with_format(row, place, text, written)?;
        }
    }
    Ok(())
}

fn width(column: Column) -> f64 {
    match column {
        Column::Run | Column::Step | Column::By => 6.0,
        Column::Specimen => 9.0,
        Column::Fingerprint | Column::Value | Column::Unit => 11.0,
        Column::Instrument => 14.0,
        Column::Time => 19.0,
        Column::What | Column::Window => 22.0,
        Column::Reading => 34.0,
        Column::Note | Column::Correction => 30.0,
    }
}
