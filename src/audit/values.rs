//! What the values say: inside their windows and limits, possible at all, as fine as the instrument shows, in line with
//! the rest of the record. Each reading gets one finding, the gravest that holds.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::cause::{self, Cause, Ordinary};
use super::loading::is_dose;
use super::log::{Filled, Log, Slot};
use super::measure;
use super::say::{CORRECT_IT, Finding, at_row, at_slot};
use super::series::Prediction;
use super::together;
use crate::diagnostic::{Code, Severity};
use crate::plan::{Instrument, Measures, Numeric, Wants, bottle_labels, is_label, same_label};
use crate::quantity::{Unit, Window};
use crate::record::{Column, Number, Side, Value};

/// Findings about the values of a run.
pub(super) fn findings(log: &Log<'_>, predictions: &BTreeMap<usize, Prediction>, found: &mut Vec<Finding>) {
    let mut strange: Vec<Strange> = Vec::new();
    for (place, slot) in log.slots.iter().enumerate() {
        let Some(row) = slot.current() else { continue };
        let value = row.value();
        if matches!(value, Value::Empty | Value::NotDone) {
            continue;
        }
        match &slot.reading.wants {
            Wants::Number(numeric) => {
                strange.extend(number(log, slot, numeric, row, &value, predictions.get(&place), place));
            }
            Wants::Tick => found.extend(tick(log, slot, row)),
            Wants::Choice(choices) => found.extend(choice(log, slot, row, choices)),
            Wants::Count => found.extend(count(log, slot, &value, row)),
            Wants::Bottle(_) => found.extend(bottle(log, slot, row)),
            Wants::Text | Wants::Photograph => {}
        }
    }
    together::swapped(log, predictions, &mut strange, found);
    together::changed_unit(log, &mut strange, found);
    found.extend(strange.into_iter().map(|one| one.finding));
}

/// A number that was found strange, before its neighbours are looked at.
pub(super) struct Strange {
    pub(super) place: usize,
    pub(super) finding: Finding,
    /// The unit that would explain it.
    pub(super) unit: Option<String>,
}

fn number(
    log: &Log<'_>,
    slot: &Slot<'_>,
    numeric: &Numeric,
    row: Filled<'_>,
    value: &Value,
    prediction: Option<&Prediction>,
    place: usize,
) -> Option<Strange> {
    let instrument = measure::instrument(log.plan, numeric);
    let step = instrument.filter(|instrument| measure::same_numbers(&instrument.unit, &numeric.unit));
    let resolution = step.map(|instrument| instrument.resolution.value).filter(|step| *step > 0.0);
    let case = Case { log, slot, numeric, row, resolution, prediction, unit: RefCell::default() };
    let finding = match value {
        Value::Number(number) => case.number(*number),
        Value::WithUnit(number, unit) => Some(case.with_unit(*number, unit)),
        Value::Censored(side, bound) => case.censored(*side, *bound),
        Value::TooNumerous => Some(case.not_a_number("TNTC is for counts")),
        Value::Text(_) => Some(case.not_a_number("")),
        Value::Empty | Value::NotDone => None,
    }?;
    Some(Strange { place, finding, unit: case.unit.take() })
}

/// One numeric reading with everything needed to judge it.
struct Case<'a, 'b> {
    log: &'b Log<'a>,
    slot: &'b Slot<'a>,
    numeric: &'b Numeric,
    row: Filled<'a>,
    /// In the planned unit.
    resolution: Option<f64>,
    prediction: Option<&'b Prediction>,
    /// The unit that would explain the value, once it was looked for.
    unit: RefCell<Option<String>>,
}

impl Case<'_, '_> {
    fn number(&self, number: Number) -> Option<Finding> {
        let unit = self.slot.unit()?;
        let si = unit.to_si(number.value);
        if !si.is_finite() {
            return None;
        }
        let planned = &self.numeric.unit;
        let shown = |window: &Window| measure::window(window, planned, self.numeric.decimals);
        let written = self.written(unit, si);
        if let Some(instrument) = self.at_lower_stop(si) {
            let message = format!("{written} is the lower end of `{}`", instrument.name);
            return Some(
                self.at(Code::GaugeAtStop, message)
                    .also(instrument.origin.source, instrument.origin.span, "its range")
                    .help("The gauge was pressed against its stop: hoses exchanged, or the pressure the other way round. Check its zero before it is read again."),
            );
        }
        if let Some(why) = self.impossible(si) {
            return Some(self.finding(Code::Impossible, format!("{written}: {why}"), number, None));
        }
        if let Some(stop) = self.numeric.stop.filter(|stop| !stop.contains(si)) {
            let message = format!("{written} is beyond the limit that stops the run, {}", shown(&stop));
            return Some(self.finding(Code::BeyondLimit, message, number, self.numeric.window));
        }
        if let Some(window) = self.numeric.window.filter(|window| !window.contains(si)) {
            let code = if is_dose(self.slot) { Code::DoseOutOfWindow } else { Code::OutOfWindow };
            let message =
                format!("{written} is outside its window of {}{}", shown(&window), self.by_how_much(&window, si));
            return Some(self.finding(code, message, number, Some(window)));
        }
        if let Some(expect) = self.numeric.expect.filter(|expect| !expect.contains(si)) {
            let message = format!("{written}, where the plan expects {}", shown(&expect));
            return Some(self.finding(Code::DoesNotFit, message, number, Some(expect)));
        }
        if let Some(prediction) = self.prediction.filter(|prediction| prediction.strange) {
            let near = measure::amount(planned, prediction.si);
            let message = format!("{written}, where {} lead to about {near}", prediction.from);
            return Some(self.finding(Code::DoesNotFit, message, number, None));
        }
        self.instrument(unit, si, number)
    }

    /// The gauge whose lower end, below zero, a measured pressure stands at.
    fn at_lower_stop(&self, si: f64) -> Option<&Instrument> {
        let pressure = matches!(self.numeric.measures, Measures::DifferentialPressure | Measures::GaugePressure);
        let instrument = measure::instrument(self.log.plan, self.numeric).filter(|instrument| !instrument.is_role)?;
        let low = instrument.range.window.low.filter(|low| *low < 0.0)?;
        let step = instrument.resolution.si_difference().abs();
        (pressure && self.numeric.window.is_none() && (si - low).abs() <= 0.5 * step).then_some(instrument)
    }

    /// What the instrument can show at all.
    fn instrument(&self, unit: &Unit, si: f64, number: Number) -> Option<Finding> {
        let instrument = measure::instrument(self.log.plan, self.numeric).filter(|instrument| !instrument.is_role)?;
        let range = instrument.range.window;
        // A zero a little below zero is what the plan allows for; the range is not asked again.
        let allowed = self.numeric.window.is_some_and(|window| window.contains(si));
        if !range.contains(si) && !allowed {
            let shown = measure::window(&range, &instrument.unit, instrument.decimals);
            let message = format!("{} is outside the range of `{}`, {shown}", self.written(unit, si), instrument.name);
            let finding = self.finding(Code::OutsideRecordedRange, message, number, None);
            return Some(finding.also(instrument.origin.source, instrument.origin.span, "its range"));
        }
        let step = self.resolution.filter(|_| measure::same_numbers(unit, &self.numeric.unit))?;
        let digits = number.decimals > instrument.decimals;
        if !digits && cause::is_multiple(number.value, step) {
            return None;
        }
        let message = format!(
            "{} is finer than `{}` shows: it reads in steps of {}",
            self.written(unit, si),
            instrument.name,
            instrument.resolution
        );
        let finding = self
            .at(Code::FinerThanInstrument, message)
            .also(instrument.origin.source, instrument.origin.span, "its resolution")
            .help("If another instrument was read, name it in the instrument cell; if the digit was estimated between two marks, say so in the note.");
        Some(finding)
    }

    fn impossible(&self, si: f64) -> Option<&'static str> {
        let below = |limit: f64| si < limit;
        match self.numeric.measures {
            Measures::Mass => below(0.0).then_some("a mass can't be below zero"),
            Measures::Volume => below(0.0).then_some("a volume can't be below zero"),
            Measures::Flow => below(0.0).then_some("a flow can't be below zero"),
            Measures::Time => below(0.0).then_some("a time can't be below zero"),
            Measures::Length => below(0.0).then_some("a length can't be below zero"),
            Measures::Viscosity => (si <= 0.0).then_some("a viscosity can't be zero or below"),
            Measures::ParticleCount => below(0.0).then_some("a count can't be below zero"),
            Measures::AbsolutePressure => below(0.0).then_some("an absolute pressure can't be below zero"),
            Measures::Temperature => below(0.0).then_some("nothing is colder than absolute zero"),
            Measures::DifferentialPressure
                if self.numeric.window.is_none_or(|window| window.low.is_none_or(|low| low >= 0.0)) =>
            {
                let unit = &self.numeric.unit;
                let play = self.resolution.map_or(0.0, |step| unit.to_si_difference(3.0 * step));
                below(-play).then_some("a differential pressure below zero means exchanged hoses or a zero that moved")
            }
            _ => None,
        }
    }

    /// How far outside, in per cent of the window's centre.
    fn by_how_much(&self, window: &Window, si: f64) -> String {
        let unit = &self.numeric.unit;
        let away = match (window.low, window.high) {
            (Some(low), _) if si < low => low - si,
            (_, Some(high)) => si - high,
            _ => return String::new(),
        };
        format!(", by {}", measure::difference(unit, away))
    }

    fn with_unit(&self, number: Number, unit: &str) -> Finding {
        let planned = &self.numeric.unit;
        let written = self.row.text(Column::Value);
        let Some(known) = measure::unit_like(unit, planned) else {
            return self.not_a_number("");
        };
        let si = known.to_si(number.value);
        let value = measure::text(planned, si, self.numeric.decimals);
        let message = format!("{}: `{written}` carries its unit in the value cell", self.subject());
        let finding = self.at(Code::WrongUnit, message);
        if measure::same_numbers(&known, planned) {
            return finding.severity(Severity::Minor).help("Write the number alone; the unit has a cell of its own.");
        }
        finding.help(format!("{written} is {value}. If that is what was read, {CORRECT_IT}."))
    }

    /// Only a bound is known: fine for what is measured, unless the bound itself lies outside.
    fn censored(&self, side: Side, bound: Number) -> Option<Finding> {
        let unit = self.slot.unit()?;
        let si = unit.to_si(bound.value);
        let possible = match side {
            Side::Below | Side::AtMost => Window::at_most(si),
            Side::Above | Side::AtLeast => Window::at_least(si),
        };
        let written = self.row.text(Column::Value);
        if let Some(stop) = self.numeric.stop.filter(|stop| possible.and(*stop).is_empty()) {
            let message = format!(
                "{}: `{written}` is beyond the limit that stops the run, {}",
                self.subject(),
                measure::window(&stop, unit, self.numeric.decimals)
            );
            return Some(self.at(Code::BeyondLimit, message));
        }
        let stray = self.numeric.expect.is_some_and(|expect| possible.and(expect).is_empty());
        let far =
            self.prediction.filter(|near| !possible.contains(near.si) && near.away(si).is_some_and(|away| away > 1.0));
        if let Some(near) = far {
            let about = measure::amount(unit, near.si);
            let message = format!("{}: `{written}`, where {} lead to about {about}", self.subject(), near.from);
            return Some(
                self.at(Code::DoesNotFit, message)
                    .help("Look at the sheet: which side of the bound was meant, and in which unit?"),
            );
        }
        if let Some(expect) = self.numeric.expect.filter(|_| stray) {
            let shown = measure::window(&expect, unit, self.numeric.decimals);
            let message = format!("{}: `{written}`, where the plan expects {shown}", self.subject());
            return Some(
                self.at(Code::DoesNotFit, message)
                    .help("Look at the sheet: which side of the bound was meant, and in which unit?"),
            );
        }
        let window = self.numeric.window?;
        let message = format!(
            "{}: `{written}` gives a bound only; whether it was inside {} can't be told",
            self.subject(),
            measure::window(&window, unit, self.numeric.decimals)
        );
        Some(
            self.at(Code::NotANumber, message)
                .severity(Severity::Minor)
                .help("It is kept as a bound and never counted as the number."),
        )
    }

    fn not_a_number(&self, why: &str) -> Finding {
        let written = self.row.text(Column::Value);
        let colon = if why.is_empty() { String::new() } else { format!(": {why}") };
        let message = format!("{}: `{written}` is not a number{colon}", self.subject());
        let finding = self.at(Code::NotANumber, message);
        let causes = cause::of_text(written, self.row.record.mark, &self.ordinary(self.numeric.window));
        match causes.first() {
            Some(cause) => finding.help(proposal(cause)),
            None => finding.help("Write a number, or `<` or `>` with a bound, or ND with the reason in the note. Words belong in the note."),
        }
    }

    /// A finding about a number, with its likely cause.
    fn finding(&self, code: Code, message: String, number: Number, window: Option<Window>) -> Finding {
        let finding = self.at(code, message);
        let planned = self.slot.unit().is_some_and(|unit| measure::same_numbers(unit, &self.numeric.unit));
        let causes = if planned {
            cause::of_number(
                self.row.text(Column::Value),
                number,
                self.row.record.mark,
                &self.ordinary(window.or(self.numeric.window)),
            )
        } else {
            Vec::new()
        };
        *self.unit.borrow_mut() = causes.first().and_then(|cause| cause.unit.clone());
        match causes.as_slice() {
            [] => finding.help("No single slip explains it. If it was read so, say in the note what happened; the run then has a departure to report."),
            [only] => finding.help(proposal(only)),
            [first, second, ..] if second.score - first.score < 0.7 => {
                finding.help(format!("{} Or else: {}.", proposal(first), second.words))
            }
            [first, ..] => finding.help(proposal(first)),
        }
    }

    fn ordinary(&self, window: Option<Window>) -> Ordinary<'_> {
        Ordinary { numeric: self.numeric, resolution: self.resolution, window, prediction: self.prediction }
    }

    fn at(&self, code: Code, message: String) -> Finding {
        at_slot(self.log, self.slot, Column::Value, code, message, "written")
    }

    fn subject(&self) -> String {
        format!("run {}, step {}, {}", self.log.run.code, self.slot.step.number, self.slot.reading.label)
    }

    fn written(&self, unit: &Unit, si: f64) -> String {
        let text = self.row.text(Column::Value);
        let planned = &self.numeric.unit;
        if measure::same_numbers(unit, planned) {
            format!("{}: {text} {planned}", self.subject())
        } else {
            format!("{}: {text} {unit} ({})", self.subject(), measure::text(planned, si, self.numeric.decimals))
        }
    }
}

fn proposal(cause: &Cause) -> String {
    format!("{}. If that is what happened, {CORRECT_IT}.", capital(&cause.words))
}

fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or(String::new(), |first| first.to_uppercase().chain(characters).collect())
}

fn tick(log: &Log<'_>, slot: &Slot<'_>, row: Filled<'_>) -> Option<Finding> {
    const YES: [&str; 11] = ["done", "yes", "y", "ok", "x", "✓", "seen", "closed", "open", "true", "1"];
    let written = row.text(Column::Value);
    if YES.iter().any(|yes| yes.eq_ignore_ascii_case(written)) {
        return None;
    }
    let message = format!(
        "run {}, step {}, {}: `{written}` does not say that it was done",
        log.run.code, slot.step.number, slot.reading.label
    );
    let denied = ["no", "n", "not done", "false", "0"].iter().any(|no| no.eq_ignore_ascii_case(written));
    let weight = if denied { Severity::Major } else { Severity::Minor };
    let finding = at_slot(log, slot, Column::Value, Code::NotAChoice, message, "written").severity(weight);
    Some(finding.help("Write `done`, or ND and the reason in the note."))
}

fn choice(log: &Log<'_>, slot: &Slot<'_>, row: Filled<'_>, choices: &[String]) -> Option<Finding> {
    let written = row.text(Column::Value);
    if choices.iter().any(|choice| choice.trim().eq_ignore_ascii_case(written)) {
        return None;
    }
    let nearest = choices
        .iter()
        .map(|choice| (strsim::damerau_levenshtein(&choice.to_lowercase(), &written.to_lowercase()), choice))
        .min()
        .filter(|(distance, _)| *distance <= 2);
    let help = match nearest {
        Some((_, choice)) => format!("If it is `{choice}`, {CORRECT_IT}."),
        None => "Choose one of them, and put what they leave unsaid in the note.".to_owned(),
    };
    let message = format!(
        "run {}, step {}, {}: `{written}` is none of: {}",
        log.run.code,
        slot.step.number,
        slot.reading.label,
        choices.join(", ")
    );
    Some(at_slot(log, slot, Column::Value, Code::NotAChoice, message, "written").help(help))
}

fn count(log: &Log<'_>, slot: &Slot<'_>, value: &Value, row: Filled<'_>) -> Option<Finding> {
    match value {
        Value::TooNumerous | Value::Censored(..) => return None,
        Value::Number(number) if number.value >= 0.0 && number.value.fract() == 0.0 => return None,
        _ => {}
    }
    let written = row.text(Column::Value);
    let message = format!(
        "run {}, step {}, {}: `{written}` is not a whole number",
        log.run.code, slot.step.number, slot.reading.label
    );
    Some(
        at_slot(log, slot, Column::Value, Code::NotANumber, message, "written")
            .help("Count again, or write TNTC where there are too many to count."),
    )
}

fn bottle(log: &Log<'_>, slot: &Slot<'_>, row: Filled<'_>) -> Option<Finding> {
    let written = row.text(Column::Value);
    let labels = bottle_labels(log.run, log.test);
    let planned = labels.get(&slot.reading.path)?;
    if same_label(written, planned) {
        return None;
    }
    let owner = log.plan.runs.iter().find_map(|run| {
        let test = log.plan.test_of(run)?;
        let (path, _) = bottle_labels(run, test).into_iter().find(|(_, label)| same_label(written, label))?;
        let step = test.steps.iter().find(|step| step.readings.iter().any(|reading| reading.path == path))?;
        Some((run.code.clone(), step.number))
    });
    let help = match owner {
        Some((run, step)) => format!(
            "`{written}` is the label of step {step} of run {run}. Look at both bottles before one of them leaves the bench."
        ),
        None if is_label(written) => "No bottle of the campaign has this label.".to_owned(),
        None => "Its check character does not fit the rest: it was probably miscopied. Read it from the bottle again."
            .to_owned(),
    };
    let message = format!(
        "run {}, step {}: the bottle is `{written}`, the plan's is `{planned}`",
        log.run.code, slot.step.number
    );
    let origin = slot.reading.origin;
    let finding = at_row(row, Column::Value, Code::WrongBottle, message, "written");
    Some(finding.also(origin.source, origin.span, "asks for this bottle").help(help))
}
