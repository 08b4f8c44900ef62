//! A made-up record: every reading of a run with a value, a time that respects the waits, and initials.

use super::Character;
use super::bench::Bench;
use super::chance::Chance;
use crate::plan::{Action, Batch, Dwell, Plan, Reading, Run, Step, Wants, bottle_labels};
use crate::record::{Column, Instant, form, plain};

/// The record of a run as a bench would bring it, as CSV: conforming, with honest scatter, and saying that it is
/// invented. The same plan, run, seed and character give the same text. Empty where the plan has no such run.
pub fn synthetic_csv(plan: &Plan, run_code: &str, seed: u64, character: &Character) -> String {
    let Some(run) = plan.run(run_code) else { return String::new() };
    let rows = filled(plan, run, seed, character);
    format!("# Invented data, made by a rehearsal from seed {seed}. Nothing here was measured.\n{}", form::lines(rows))
}

fn filled(plan: &Plan, run: &Run, seed: u64, character: &Character) -> Vec<Vec<String>> {
    let Some(test) = plan.test_of(run) else { return Vec::new() };
    let mut chance = Chance::new(seed, &format!("run {}", run.code));
    let mut bench = Bench::new(plan, test, character, seed);
    let labels = bottle_labels(run, test);
    let mut hand = chance.pick(&character.hands).cloned().unwrap_or_default();
    let mut clock = character.begins.seconds as f64;
    let mut ended: Option<(usize, u32)> = None;
    let mut known: Vec<(&str, f64)> = Vec::new();
    let mut rows = Vec::new();
    let mut first = true;
    let mut forms = form::rows(plan, run).into_iter();
    for step in &test.steps {
        let skipped =
            step.round.is_some_and(|(batch, round)| ended.is_some_and(|(of, last)| of == batch && round > last));
        if !skipped {
            bench.carry_out(step, &mut chance);
            let batch = step.round.and_then(|(index, _)| test.batches.get(index));
            bench.keep_below(batch.and_then(|batch| highest(batch, &known)));
            let lasts = duration(&step.action, character.pace, &mut chance);
            bench.goes_on(lasts);
            clock += lasts;
            if matches!(step.action, Action::Mount { .. } | Action::CleanUp(_)) {
                hand = chance.pick(&character.hands).cloned().unwrap_or(hand);
            }
        }
        for reading in &step.readings {
            let Some(form) = forms.next() else { break };
            let mut texts = form.texts;
            if !skipped {
                clock += (character.pace * chance.between(6.0, 20.0)).max(2.0);
                let (value, si) = answer(&mut bench, step, reading, &labels, &mut chance);
                let mut put = |column: Column, text: String| {
                    if let Some(slot) = texts.get_mut(column.index()) {
                        *slot = text;
                    }
                };
                let time = Instant { seconds: clock.round() as i64, grain: 1 };
                put(Column::Value, value);
                put(Column::Time, time.text());
                put(Column::By, hand.clone());
                if std::mem::take(&mut first) {
                    put(Column::Note, "invented data".to_owned());
                }
                if let Some(si) = si {
                    known.push((reading.path.as_str(), si));
                    let loops = step.round.and_then(|round| Some((round, test.batches.get(round.0)?)));
                    if let Some((round, batch)) = loops
                        && batch.reading == reading.name
                        && is_terminal(batch, si, &known)
                    {
                        ended = Some(round);
                    }
                }
            }
            rows.push(texts);
        }
    }
    rows
}

fn is_terminal(batch: &Batch, value: f64, known: &[(&str, f64)]) -> bool {
    value - baseline(batch, known) >= batch.terminal.si()
}

/// Well inside the overshoot that the plan allows.
fn highest(batch: &Batch, known: &[(&str, f64)]) -> Option<f64> {
    let allowed = batch.overshoot?;
    Some(baseline(batch, known) + batch.terminal.si() * (1.0 + 0.95 * allowed))
}

fn baseline(batch: &Batch, known: &[(&str, f64)]) -> f64 {
    let Some(path) = &batch.baseline else { return 0.0 };
    known.iter().rev().find(|(known, _)| known == path).map_or(0.0, |(_, si)| *si)
}

fn answer(
    bench: &mut Bench<'_>,
    step: &Step,
    reading: &Reading,
    labels: &indexmap::IndexMap<String, String>,
    chance: &mut Chance,
) -> (String, Option<f64>) {
    match &reading.wants {
        Wants::Number(numeric) => {
            let si = bench.show(numeric, &reading.name, chance);
            let value = numeric.unit.from_si(si);
            (plain(value, numeric.decimals), Some(si))
        }
        Wants::Tick => ("done".to_owned(), None),
        Wants::Choice(choices) => (choices.first().cloned().unwrap_or_default(), None),
        Wants::Count => (plain(chance.between(40.0, 80.0).round(), 0), None),
        Wants::Text => ("as planned".to_owned(), None),
        Wants::Photograph => (format!("invented-{}-{}.jpg", step.number, reading.name), None),
        Wants::Bottle(_) => (labels.get(&reading.path).cloned().unwrap_or_default(), None),
    }
}

/// Seconds that a step takes before its first reading.
fn duration(action: &Action, pace: f64, chance: &mut Chance) -> f64 {
    let minutes = |chance: &mut Chance, low: f64, high: f64| pace * chance.between(low * 60.0, high * 60.0);
    match action {
        Action::Settle(dwell) | Action::Wait(dwell) | Action::Circulate(dwell) => wait(dwell, chance),
        Action::HoldViscosity(_) | Action::HoldTemperature(_) => minutes(chance, 6.0, 14.0),
        Action::Cool { .. } => minutes(chance, 12.0, 25.0),
        Action::ChangeFluid(_) => minutes(chance, 40.0, 70.0),
        Action::CleanUp(clean_up) => {
            let asked = clean_up.time.as_ref().or(clean_up.cap.as_ref()).map_or(1800.0, |time| time.si());
            if clean_up.time.is_some() { asked + chance.between(2.0, 40.0) } else { asked * chance.between(0.4, 0.8) }
        }
        Action::Dose { .. } => minutes(chance, 4.0, 8.0),
        Action::Condition { .. } | Action::Mount { .. } | Action::Remove => minutes(chance, 3.0, 6.0),
        Action::AntiDrain { time, .. } => time.si() + chance.between(1.0, 20.0),
        Action::BubblePoint { .. } | Action::Burst { .. } => minutes(chance, 6.0, 12.0),
        Action::Inject { .. } | Action::RinseInjector { .. } => minutes(chance, 0.7, 1.5),
        // Both bottles of a pair stand ready.
        Action::Sample => minutes(chance, 0.3, 0.6),
        Action::SetFlow { .. } | Action::HoldFlow(_) | Action::BypassFlow { .. } => minutes(chance, 0.4, 0.9),
        Action::Note { .. } | Action::Caution { .. } | Action::UseFluid { .. } => 0.0,
        _ => minutes(chance, 0.2, 0.6),
    }
}

/// A wait is kept: a little longer than the least, and within the most.
fn wait(dwell: &Dwell, chance: &mut Chance) -> f64 {
    let least = dwell.least.si();
    let room = dwell.most.as_ref().map_or(0.2 * least + 5.0, |most| (most.si() - least).max(0.0));
    least + chance.between(0.1, 0.6) * room.min(0.3 * least + 5.0)
}
