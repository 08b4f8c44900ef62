//! Loops of doses: how far they went, whether they ended where the plan says, and whether every dose was given once.

use super::log::{Log, Slot};
use super::measure;
use super::say::{Finding, at_row, at_slot};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Batch};
use crate::record::{Column, Value};

/// How one loop of doses went.
pub(crate) struct Loading {
    /// Index into the test's batches.
    pub(crate) batch: usize,
    /// Pa, where there is a baseline and it was recorded.
    baseline: Option<f64>,
    /// By rising round.
    rounds: Vec<Round>,
    /// The first round whose reading reached the terminal value.
    pub(crate) reached: Option<u32>,
    /// The last round in which anything was recorded.
    pub(crate) last: Option<u32>,
    /// Whether something is recorded after the loop.
    passed: bool,
    /// The loop is over after this round: the terminal round, the cap, or the last one recorded when the bench went on.
    pub(crate) ended_after: Option<u32>,
}

struct Round {
    number: u32,
    /// Places of its slots.
    slots: Vec<usize>,
    /// Pa: the rise above the baseline, or the value where there is none.
    rise: Option<f64>,
    /// kg, the doses of this round together.
    dosed: f64,
    recorded: bool,
}

/// Follows every loop of a run. Called while the log is being put together: the slots are filled, nothing else is.
pub(crate) fn follow(log: &Log<'_>) -> Vec<Loading> {
    let batches = log.test.batches.iter().enumerate();
    batches.filter_map(|(index, batch)| follow_one(log, index, batch)).collect()
}

fn follow_one(log: &Log<'_>, index: usize, batch: &Batch) -> Option<Loading> {
    let places: Vec<usize> = (0..log.slots.len())
        .filter(|place| log.slots.get(*place).is_some_and(|slot| slot.step.round.is_some_and(|(of, _)| of == index)))
        .collect();
    let (first, end) = (*places.first()?, places.last()? + 1);
    let baseline_slot = batch.baseline.as_deref().and_then(|path| log.find(path, first));
    let baseline = baseline_slot.and_then(Slot::si);
    let mut rounds: Vec<Round> = Vec::new();
    for place in places {
        let Some(slot) = log.slots.get(place) else { continue };
        let Some((_, number)) = slot.step.round else { continue };
        if rounds.last().is_none_or(|round| round.number != number) {
            rounds.push(Round { number, slots: Vec::new(), rise: None, dosed: 0.0, recorded: false });
        }
        let Some(round) = rounds.last_mut() else { continue };
        round.slots.push(place);
        round.recorded |= slot.is_recorded();
        if slot.reading.name == batch.reading
            && let Some(value) = slot.si()
        {
            round.rise = match batch.baseline {
                Some(_) => baseline.map(|baseline| value - baseline),
                None => Some(value),
            };
        }
        if is_dose(slot) {
            round.dosed += slot.si().unwrap_or(0.0);
        }
    }
    // A baseline that is missing, or an absolute value across the element alone, leaves the end undecided.
    let decidable = (batch.baseline.is_none() && !batch.across_element) || baseline.is_some();
    let terminal = measure::si(&batch.terminal);
    // One value far too high is a slip, not the end: the rounds after it are lower again.
    let stays = |from: u32| {
        !rounds.iter().any(|round| round.number > from && round.rise.is_some_and(|rise| rise < 0.9 * terminal))
    };
    let reached = rounds.iter().find(|round| {
        decidable && round.rise.is_some_and(|rise| rise >= terminal * (1.0 - 1e-9)) && stays(round.number)
    });
    let reached = reached.map(|round| round.number);
    let last = rounds.iter().filter(|round| round.recorded).map(|round| round.number).max();
    let passed = log.last.is_some_and(|last| last >= end);
    let capped = last.filter(|last| *last >= batch.cap);
    let ended_after = reached.or(capped).or(if passed { last.or(Some(0)) } else { None });
    Some(Loading { batch: index, baseline, rounds, reached, last, passed, ended_after })
}

/// Whether a reading is the mass of a dose: the weighed value of a dosing step that has a window.
pub(crate) fn is_dose(slot: &Slot<'_>) -> bool {
    matches!(slot.step.action, Action::Dose { .. } | Action::Condition { .. })
        && slot
            .numeric()
            .is_some_and(|numeric| numeric.measures == crate::plan::Measures::Mass && numeric.window.is_some())
}

/// Findings about the loops of a run.
pub(crate) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    for loading in &log.loadings {
        let Some(batch) = log.test.batches.get(loading.batch) else { continue };
        stopped_early(log, loading, batch, found);
        never_begun(log, loading, batch, found);
        past_terminal(log, loading, batch, found);
    }
    doses(log, found);
}

fn stopped_early(log: &Log<'_>, loading: &Loading, batch: &Batch, found: &mut Vec<Finding>) {
    let Some(last) = loading.last.filter(|last| loading.passed && loading.reached.is_none() && *last < batch.cap)
    else {
        return;
    };
    // Without the value that the rise is counted from nothing can be said of it; that it is missing is told already.
    if batch.baseline.is_some() && loading.baseline.is_none() {
        return;
    }
    let Some(round) = loading.rounds.iter().find(|round| round.number == last) else { return };
    let deciding =
        round.slots.iter().filter_map(|place| log.slots.get(*place)).rfind(|slot| slot.reading.name == batch.reading);
    let Some(slot) = deciding else { return };
    // A note at another reading of the round speaks of something else.
    let excused = slot.rows.iter().any(|row| !row.text(Column::Note).is_empty());
    if excused || reached_cap(log, loading, batch) {
        return;
    }
    let unit = slot.unit();
    let say = |pascal: f64| match &unit {
        Some(unit) => measure::difference(unit, pascal),
        None => format!("{pascal} Pa"),
    };
    let terminal = say(measure::si(&batch.terminal));
    let message = match round.rise {
        Some(rise) => format!(
            "run {}: the doses ended after round {last} at {} of {terminal}, and no reason is noted",
            log.run.code,
            say(rise)
        ),
        None => format!(
            "run {}: the doses ended after round {last} without a reading of `{}`, and no reason is noted",
            log.run.code, batch.reading
        ),
    };
    let finding = at_slot(log, slot, Column::Value, Code::StoppedEarly, message, "the last round")
        .also(batch.origin.source, batch.origin.span, format!("goes on to {terminal}, at most {} rounds", batch.cap))
        .help("If there was a reason, write it in the note of this row; the result is then a lower bound and is reported as one.");
    found.push(finding);
}

/// A loop without a single round, though the bench went on and no loop before it had reached this one's end.
fn never_begun(log: &Log<'_>, loading: &Loading, batch: &Batch, found: &mut Vec<Finding>) {
    if !loading.passed || loading.last.is_some() || reached_cap(log, loading, batch) {
        return;
    }
    // Without the value that the rise is counted from nothing can be said of it; that it is missing is told already.
    if batch.baseline.is_some() && loading.baseline.is_none() {
        return;
    }
    let before = log.loadings.iter().take_while(|other| other.batch < loading.batch);
    let last_before = before.flat_map(|other| &other.rounds).filter(|round| round.recorded).last();
    let terminal = measure::si(&batch.terminal);
    if last_before.and_then(|round| round.rise).is_some_and(|rise| rise >= terminal) {
        return;
    }
    let own: Vec<&Slot<'_>> =
        loading.rounds.iter().flat_map(|round| &round.slots).filter_map(|place| log.slots.get(*place)).collect();
    let Some(&first) = own.first() else { return };
    let row_before = log.slots.iter().take_while(|slot| !std::ptr::eq(*slot, first)).filter(|slot| slot.is_recorded());
    let noted = |slot: &Slot<'_>| slot.rows.iter().chain(&slot.blank).any(|row| !row.text(Column::Note).is_empty());
    if own.iter().copied().chain(row_before.last()).any(noted) {
        return;
    }
    let goes_on = match own.iter().rfind(|slot| slot.reading.name == batch.reading).and_then(|slot| slot.unit()) {
        Some(unit) => measure::difference(unit, terminal),
        None => format!("{terminal} Pa"),
    };
    let stage = first.reading.path.split('/').next().unwrap_or_default();
    let message = format!(
        "run {}: no dose of `{stage}` is recorded, the bench went on before {goes_on} was reached, and no reason is noted",
        log.run.code
    );
    let finding = at_slot(log, first, Column::Value, Code::StoppedEarly, message, "the first dose")
        .also(batch.origin.source, batch.origin.span, format!("goes on to {goes_on}, at most {} rounds", batch.cap))
        .help("If the rows were lost, type them again from the sheet. If the doses were not given, write the reason in the note of that row or of the row before; the result is then a lower bound and is reported as one.");
    found.push(finding);
}

/// Whether the loop ended because its dust or its time was used up.
fn reached_cap(log: &Log<'_>, loading: &Loading, batch: &Batch) -> bool {
    let largest = loading.rounds.iter().map(|round| round.dosed).fold(0.0, f64::max);
    let here: f64 = loading.rounds.iter().map(|round| round.dosed).sum();
    let before: f64 = log
        .loadings
        .iter()
        .take_while(|other| other.batch < loading.batch)
        .flat_map(|other| &other.rounds)
        .map(|round| round.dosed)
        .sum();
    let mass = batch.mass_cap.as_ref().map(measure::si);
    if mass.is_some_and(|cap| here + before + largest > cap) {
        return true;
    }
    let times = loading.rounds.iter().flat_map(|round| &round.slots).filter_map(|place| log.slots.get(*place)?.time());
    let (from, to) =
        times.fold((i64::MAX, i64::MIN), |(from, to), time| (from.min(time.seconds), to.max(time.seconds)));
    let rounds = i64::from(loading.last.unwrap_or(1).max(1));
    let spent = to.saturating_sub(from);
    // The next round would not have fitted.
    batch.time_cap.as_ref().map(measure::si).is_some_and(|cap| from <= to && (spent + spent / rounds) as f64 > cap)
}

fn past_terminal(log: &Log<'_>, loading: &Loading, batch: &Batch, found: &mut Vec<Finding>) {
    let Some(reached) = loading.reached else { return };
    let Some(terminal_round) = loading.rounds.iter().find(|round| round.number == reached) else { return };
    let terminal = measure::si(&batch.terminal);
    let deciding = |round: &Round| {
        round.slots.iter().filter_map(|place| log.slots.get(*place)).rfind(|slot| slot.reading.name == batch.reading)
    };
    let Some(slot) = deciding(terminal_round) else { return };
    let Some(unit) = slot.unit() else { return };
    let say = |pascal: f64| measure::difference(unit, pascal);
    if let (Some(rise), Some(allowed)) = (terminal_round.rise, batch.overshoot) {
        let over = rise / terminal - 1.0;
        if over > allowed + 1e-9 {
            let message = format!(
                "run {}: round {reached} rose to {}, {:.0} % above {}; the plan allows {:.0} %",
                log.run.code,
                say(rise),
                over * 100.0,
                say(terminal),
                allowed * 100.0
            );
            let weight = if over > 0.2 { Severity::Major } else { Severity::Minor };
            let finding = at_slot(log, slot, Column::Value, Code::PastTerminal, message, "the terminal round")
                .also(batch.origin.source, batch.origin.span, "allows less")
                .help("The capacity is interpolated between the last two rounds; with so long a last step it is less certain. Smaller doses near the end keep it short.")
                .severity(weight);
            found.push(finding);
        }
    }
    let beyond: Vec<&Round> = loading.rounds.iter().filter(|round| round.number > reached && round.recorded).collect();
    let Some(first) = beyond.first() else { return };
    let Some(row) = first.slots.iter().filter_map(|place| log.slots.get(*place)).find(|slot| slot.is_recorded()) else {
        return;
    };
    let count = beyond.len();
    let message = format!(
        "run {}: {count} round{} recorded after round {reached} had reached the terminal value ({} of {})",
        log.run.code,
        if count == 1 { " was" } else { "s were" },
        say(terminal_round.rise.unwrap_or(terminal)),
        say(terminal)
    );
    let baseline = loading
        .baseline
        .map_or(String::new(), |baseline| format!(" The rise is counted from {}.", measure::amount(unit, baseline)));
    let finding = at_slot(log, row, Column::Value, Code::AfterTerminal, message, "the first round too many")
        .also(batch.origin.source, batch.origin.span, "ends the loop there")
        .help(format!("If the value of round {reached} is a slip, correct it in a row of its own; if not, these rounds belong to no result.{baseline}"));
    found.push(finding);
}

/// Doses: inside their window, none left out in a round that went on, none recorded twice.
fn doses(log: &Log<'_>, found: &mut Vec<Finding>) {
    for (place, slot) in log.slots.iter().enumerate().filter(|(_, slot)| is_dose(slot)) {
        if slot.dropped || log.is_open(place) {
            continue;
        }
        if !slot.is_recorded() {
            let message = format!(
                "run {}: the dose of step {} is not recorded, and the bench went on",
                log.run.code, slot.step.number
            );
            let finding = at_slot(log, slot, Column::Value, Code::DoseSkipped, message, "no mass stands here")
                .help("If the dose was given, write its mass in a correction row; if it was left out, write ND and the reason. The account of dust is open until then.");
            found.push(finding);
        }
        let plain =
            slot.rows.iter().filter(|row| row.text(Column::Correction).is_empty() && row.value() != Value::Empty);
        let plain: Vec<_> = plain.collect();
        if let [first, .., second] = plain.as_slice() {
            let message = format!("run {}: the dose of step {} is recorded twice", log.run.code, slot.step.number);
            let finding = at_row(**second, Column::Value, Code::DoseRepeated, message, "the second time")
                .also(first.record.source, first.cell(Column::Value).span, "the first time")
                .also(slot.reading.origin.source, slot.reading.origin.span, "asks for one dose")
                .help("If the dose was given twice, every later round holds more dust than planned. If this row replaces the first, say why in its correction cell.");
            found.push(finding);
        }
    }
}
