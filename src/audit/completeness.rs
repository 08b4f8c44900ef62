//! What is there and what is not: readings left out, rows nobody asked for, rows without reason, time or initials, and
//! whether run, specimen and plan are the right ones.

use indexmap::IndexMap;

use super::loading::is_dose;
use super::log::{Filled, Log};
use super::say::{Finding, at_row, at_slot};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Plan, Wants};
use crate::record::{Column, Record, Value};

/// Runs that the plan does not have: one finding a file and code.
pub(super) fn unknown_runs(plan: &Plan, records: &[Record], found: &mut Vec<Finding>) {
    for record in records {
        let mut counts: IndexMap<&str, (Filled<'_>, usize)> = IndexMap::new();
        for row in &record.rows {
            let code = row.text(Column::Run);
            if plan.run(code).is_none() {
                counts.entry(code).or_insert((Filled { record, row }, 0)).1 += 1;
            }
        }
        for (code, (row, count)) in counts {
            let rows = if count == 1 { "one row".to_owned() } else { format!("{count} rows") };
            let message = match code {
                "" => format!("{rows} of `{}` name no run", record.name),
                _ => format!("{rows} of `{}` name the run `{code}`, which the campaign does not have", record.name),
            };
            let nearest = plan
                .runs
                .iter()
                .map(|run| run.code.as_str())
                .find(|known| strsim::damerau_levenshtein(known, code) <= 1);
            let help = match nearest {
                Some(known) if !code.is_empty() => {
                    format!("If it is `{known}`, write that; its rows are left out of the audit until then.")
                }
                _ => "Write the run's code as on the worksheet; its rows are left out of the audit until then."
                    .to_owned(),
            };
            found.push(at_row(row, Column::Run, Code::UnknownRun, message, "the first of them").help(help));
        }
    }
}

/// Findings about one run.
pub(super) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    identity(log, found);
    unplanned(log, found);
    altered(log, found);
    let pages = empty_pages(log, found);
    let mut stages = Stages::new();
    for place in 0..log.slots.len() {
        if !pages.contains(&place) {
            reading(log, place, &mut stages, found);
        }
    }
    for (_, (mut finding, count)) in stages {
        if count > 1 {
            finding.message = format!("{}, and so {} more of this stage", finding.message, count - 1);
        }
        found.push(finding);
    }
    open(log, found);
}

/// What is told once a stage, with the count.
type Stages = IndexMap<(Code, usize), (Finding, usize)>;

fn is_missing(log: &Log<'_>, place: usize) -> bool {
    log.slots
        .get(place)
        .is_some_and(|slot| !slot.is_recorded() && !slot.dropped && !log.is_open(place) && slot.rows.is_empty())
}

/// Many empty readings one after the other are one missing page, not as many findings. Gives their places.
fn empty_pages(log: &Log<'_>, found: &mut Vec<Finding>) -> Vec<usize> {
    const PAGE: usize = 8;
    let mut told = Vec::new();
    let mut place = 0;
    while place < log.slots.len() {
        let length = (place..log.slots.len()).take_while(|other| is_missing(log, *other)).count();
        if let (Some(first), Some(last), true) =
            (log.slots.get(place), log.slots.get(place + length.saturating_sub(1)), length >= PAGE)
        {
            let message = format!(
                "run {}: {length} readings in a row are empty, steps {} to {}, and the bench went on",
                log.run.code, first.step.number, last.step.number
            );
            let finding = at_slot(log, first, Column::Value, Code::Missing, message, "from here")
                .severity(Severity::Critical)
                .help("Look for a page of the worksheet that was not typed in. If the steps were left out, write ND and the reason.");
            found.push(finding);
            told.extend(place..place + length);
        }
        place += length.max(1);
    }
    told
}

/// Cells that the form had printed and that say something else now: one finding a column.
fn altered(log: &Log<'_>, found: &mut Vec<Finding>) {
    let printed = crate::record::form::rows(log.plan, log.run);
    let by_path: IndexMap<&str, &crate::record::form::FormRow<'_>> =
        printed.iter().map(|row| (row.reading.path.as_str(), row)).collect();
    let other_plan =
        log.rows.iter().any(|row| !row.text(Column::Fingerprint).eq_ignore_ascii_case(&log.plan.fingerprint.short));
    for (column, weight) in
        [(Column::Window, Severity::Critical), (Column::Step, Severity::Major), (Column::What, Severity::Minor)]
    {
        let mut wrong: Option<(Filled<'_>, &str, usize)> = None;
        for row in &log.rows {
            let Some(form) = by_path.get(row.text(Column::Reading)) else { continue };
            let (here, planned) = (row.text(column), form.text(column));
            // A column that the file leaves out was not changed.
            if here.is_empty() || here == planned.trim() {
                continue;
            }
            match &mut wrong {
                Some((.., count)) => *count += 1,
                None => wrong = Some((*row, planned, 1)),
            }
        }
        // A form of another plan is told as that.
        let Some((row, planned, count)) = wrong.filter(|_| !other_plan) else { continue };
        let more = if count > 1 { format!(", and so in {} more rows", count - 1) } else { String::new() };
        let message = format!(
            "run {}: `{}` has the {} `{}`, the plan's form `{planned}`{more}",
            log.run.code,
            row.text(Column::Reading),
            column.name(),
            row.text(column)
        );
        let mut finding = at_row(row, column, Code::FormAltered, message, "changed").severity(weight);
        if let Some(slot) = log.find_exactly(row.text(Column::Reading)) {
            let origin = slot.reading.origin;
            finding = finding.also(origin.source, origin.span, "the plan's words");
        }
        found.push(finding.help("Take the printed words back into the cell. The audit goes by the plan, whatever the form says; but the bench may have gone by the form."));
    }
}

/// What is gravest to miss: a zero, a blank, a tare, what a second person had to see.
fn weight_of_missing(log: &Log<'_>, slot: &super::log::Slot<'_>) -> Severity {
    let stage = log.test.stages.get(slot.step.stage);
    let foundation = stage.is_some_and(|stage| stage.blank.is_some() || stage.tare_for.is_some());
    let grave = foundation || matches!(slot.step.action, Action::Zero { .. } | Action::HoldPoint { .. } | Action::Vent);
    if grave { Severity::Critical } else { Severity::Major }
}

/// Specimen and plan: one finding for each wrong text.
fn identity(log: &Log<'_>, found: &mut Vec<Finding>) {
    let planned = [
        (Column::Specimen, log.run.specimen.as_str(), Code::WrongSpecimen),
        (Column::Fingerprint, log.plan.fingerprint.short.as_str(), Code::WrongFingerprint),
    ];
    for (column, planned, code) in planned {
        let mut wrong: IndexMap<String, (Filled<'_>, usize)> = IndexMap::new();
        for row in &log.rows {
            let written = row.text(column);
            if !written.eq_ignore_ascii_case(planned) && !planned.is_empty() && row.row.is_filled() {
                wrong.entry(written.to_ascii_uppercase()).or_insert((*row, 0)).1 += 1;
            }
        }
        for (written, (row, count)) in wrong {
            let rows = if count == 1 { "a row".to_owned() } else { format!("{count} rows") };
            let what = column.name();
            let message = match written.as_str() {
                "" => format!("run {}: {rows} name no {what}; the plan's is `{planned}`", log.run.code),
                _ => format!(
                    "run {}: {rows} name the {what} `{}`, the plan's is `{planned}`",
                    log.run.code,
                    row.text(column)
                ),
            };
            let help = match column {
                Column::Specimen => format!("Look at the code on the can. If it was `{planned}`, correct the cell and say so in the note; if it was not, the values belong to another run."),
                _ => "Compare the fingerprint at the foot of the worksheet. If the sheet was printed from an earlier plan, print it again and see which windows differ.".to_owned(),
            };
            let weight = if written.is_empty() { Severity::Major } else { Severity::Critical };
            found.push(at_row(row, column, code, message, "written").help(help).severity(weight));
        }
    }
}

fn unplanned(log: &Log<'_>, found: &mut Vec<Finding>) {
    for row in &log.unplanned {
        let written = row.text(Column::Reading);
        if !row.text(Column::Note).is_empty() && written.is_empty() {
            // A remark of the bench between two rows.
            continue;
        }
        let nearest = log
            .slots
            .iter()
            .map(|slot| slot.reading.path.as_str())
            .map(|path| (strsim::damerau_levenshtein(path, written), path))
            .min();
        let help = match nearest {
            Some((distance, path)) if distance <= 2 => format!("If it is `{path}`, write that."),
            _ => "If the bench did something that the plan does not ask for, say in the note what and why.".to_owned(),
        };
        let message = format!("run {}: `{written}` is not a reading of the plan", log.run.code);
        found.push(at_row(*row, Column::Reading, Code::Unplanned, message, "not planned").help(help));
    }
}

fn reading(log: &Log<'_>, place: usize, stages: &mut Stages, found: &mut Vec<Finding>) {
    let Some(slot) = log.slots.get(place) else { return };
    let (code, step, path) = (&log.run.code, slot.step.number, &slot.reading.path);
    if !slot.is_recorded() && !slot.dropped && !log.is_open(place) && !is_dose(slot) {
        let message = format!("run {code}: `{path}` of step {step} is empty, and the bench went on");
        let finding = at_slot(log, slot, Column::Value, Code::Missing, message, "nothing is written here")
            .severity(weight_of_missing(log, slot))
            .help("If it was read, fill it in from the worksheet; if it was not, write ND and the reason in the note.");
        found.push(finding);
    }
    let Some(row) = slot.current().filter(|_| slot.is_recorded()) else { return };
    if row.value() == Value::NotDone && row.text(Column::Note).is_empty() {
        let message = format!("run {code}: `{path}` of step {step} is marked ND without a reason");
        found.push(
            at_slot(log, slot, Column::Value, Code::SetAsideWithoutReason, message, "not done")
                .help("Write the reason in the note of this row."),
        );
    }
    if row.text(Column::Time).is_empty() && row.value() != Value::NotDone {
        let message = format!("run {code}: `{path}` of step {step} has no time");
        let weight = if matches!(slot.reading.wants, Wants::Bottle(_)) || is_dose(slot) {
            Severity::Major
        } else {
            Severity::Minor
        };
        let finding = at_slot(log, slot, Column::Time, Code::NoTime, message, "no time")
            .severity(weight)
            .help("Write it as YYYY-MM-DD hh:mm:ss, from the worksheet.");
        if weight == Severity::Minor {
            stages.entry((Code::NoTime, slot.step.stage)).or_insert((finding, 0)).1 += 1;
        } else {
            found.push(finding);
        }
    } else if !row.text(Column::Time).is_empty() && row.time().is_none() {
        let message = format!("run {code}: the time `{}` of step {step} can't be read", row.text(Column::Time));
        found.push(
            at_slot(log, slot, Column::Time, Code::BadTime, message, "written")
                .help(time_help(row.text(Column::Time)))
                .severity(if is_ambiguous(row.text(Column::Time)) { Severity::Major } else { Severity::Minor }),
        );
    }
    let initials = row.text(Column::By);
    if initials.is_empty() {
        let message = format!("run {code}: `{path}` of step {step} has no initials");
        let finding = at_slot(log, slot, Column::By, Code::NoInitials, message, "no initials");
        if is_dose(slot) || matches!(slot.reading.wants, Wants::Bottle(_)) {
            found.push(finding.severity(Severity::Major));
        } else {
            stages.entry((Code::NoInitials, slot.step.stage)).or_insert((finding, 0)).1 += 1;
        }
    } else if !log.plan.campaign.people.is_empty() && !log.plan.campaign.people.contains_key(initials) {
        let message = format!("run {code}: `{initials}` at step {step} is none of the campaign's people");
        let known: Vec<&str> = log.plan.campaign.people.keys().map(String::as_str).collect();
        found.push(
            at_slot(log, slot, Column::By, Code::NoInitials, message, "written")
                .help(format!("Known are {}. Add the person to the campaign, or correct the cell.", known.join(", "))),
        );
    }
    if !is_dose(slot) {
        repeated(log, place, found);
    }
    corrected(log, place, found);
}

/// Day and month of a date that is written with the year last or with two digits, where both can be read both ways.
fn is_ambiguous(written: &str) -> bool {
    let date = written.split([' ', 'T']).next().unwrap_or_default();
    let parts: Vec<&str> = date.split(['/', '.', '-']).collect();
    let [first, second, last] = parts.as_slice() else { return false };
    let small = |text: &str| text.parse::<u32>().is_ok_and(|number| (1..=12).contains(&number));
    first.len() <= 2 && !last.is_empty() && small(first) && small(second) && first != second
}

fn time_help(written: &str) -> String {
    let date = written.split([' ', 'T']).next().unwrap_or_default();
    let parts: Vec<&str> = date.split(['/', '.', '-']).collect();
    match parts.as_slice() {
        [first, second, year] if is_ambiguous(written) => format!(
            "It can be day {first} of month {second} or day {second} of month {first}. Write it as YYYY-MM-DD hh:mm:ss: {year}-{second:0>2}-{first:0>2} or {year}-{first:0>2}-{second:0>2}."
        ),
        [only] if only.contains(':') => "The date is missing. Write it as YYYY-MM-DD hh:mm:ss; a run may go past midnight, so that the time alone does not say when.".to_owned(),
        _ => "Write it as YYYY-MM-DD hh:mm:ss; the day comes last in the date, so that 03-04 is not two days.".to_owned(),
    }
}

/// Two rows of one reading, the later without a reason.
fn repeated(log: &Log<'_>, place: usize, found: &mut Vec<Finding>) {
    let Some(slot) = log.slots.get(place) else { return };
    let Some(first) = slot.rows.first() else { return };
    for row in
        slot.rows.iter().skip(1).filter(|row| row.text(Column::Correction).is_empty() && row.value() != Value::Empty)
    {
        let same = row.value() == first.value();
        let message = format!(
            "run {}: `{}` of step {} stands twice, {}",
            log.run.code,
            slot.reading.path,
            slot.step.number,
            if same { "with the same value" } else { "with different values" }
        );
        let finding = at_row(*row, Column::Value, Code::RepeatedRow, message, "the second time")
            .also(first.record.source, first.cell(Column::Value).span, "the first time")
            .also(slot.reading.origin.source, slot.reading.origin.span, "asks for one")
            .help("If this row replaces the first, say why in its correction cell; the first one is kept and shown beside it.")
            .severity(if same { Severity::Minor } else { Severity::Major });
        found.push(finding);
    }
}

/// Corrections are listed, with the value that they replace.
fn corrected(log: &Log<'_>, place: usize, found: &mut Vec<Finding>) {
    let Some(slot) = log.slots.get(place) else { return };
    for pair in slot.rows.windows(2) {
        let [earlier, later] = pair else { continue };
        let reason = later.text(Column::Correction);
        if reason.is_empty() {
            continue;
        }
        let message = format!(
            "run {}: `{}` of step {} was corrected from `{}` to `{}`: {reason}",
            log.run.code,
            slot.reading.path,
            slot.step.number,
            earlier.text(Column::Value),
            later.text(Column::Value)
        );
        let finding = at_row(*later, Column::Correction, Code::Corrected, message, "the correction").also(
            earlier.record.source,
            earlier.cell(Column::Value).span,
            "what stood before, and is kept",
        );
        found.push(finding);
    }
}

/// What is still to come, in one sentence.
fn open(log: &Log<'_>, found: &mut Vec<Finding>) {
    let open: Vec<&super::log::Slot<'_>> = log
        .slots
        .iter()
        .enumerate()
        .filter(|(place, slot)| log.is_open(*place) && !slot.dropped && !slot.is_recorded())
        .map(|(_, slot)| slot)
        .collect();
    let (Some(first), Some(last), Some(row)) = (open.first(), open.last(), log.rows.last()) else { return };
    let message = format!(
        "run {}: not yet recorded: steps {} to {} ({} reading{})",
        log.run.code,
        first.step.number,
        last.step.number,
        open.len(),
        if open.len() == 1 { "" } else { "s" }
    );
    let place = first.current().or(first.blank).unwrap_or(*row);
    let finding = at_row(place, Column::Value, Code::NotYetRecorded, message, "goes on here").also(
        first.reading.origin.source,
        first.reading.origin.span,
        "is the next reading",
    );
    found.push(finding);
}
