//! A loop of doses on paper: the instructions once, then one line a round with all its readings.

use indexmap::IndexMap;

use crate::plan::{Batch, Plan, Reading, Step, Test, Wants};

use super::boxes::{asked, instrument, label, stop};
use super::label::Bottles;
use super::number;
use super::page::{Cell, Column, Due, LoadingTable, Round, RoundTable, Row, StopLine};
use super::steps::{hazards, row};

/// As many columns as stay wide enough to write in.
const MOST_COLUMNS: usize = 7;

/// What is the same in every round: the instruction of a step, or the column of a reading. The steps of a round have no
/// number of their own in common with those of another, so they are told apart by name and by how often that name has come.
type Key = (String, usize);

/// A column, and the path of its reading in every round.
struct Series<'a> {
    sample: &'a Reading,
    letter: String,
    paths: IndexMap<u32, &'a str>,
}

/// The loading table of the steps of one loop.
pub(super) fn loading(plan: &Plan, test: &Test, bottles: &Bottles, index: usize, steps: &[&Step]) -> LoadingTable {
    let stage = steps.first().and_then(|step| test.stages.get(step.stage));
    let title = stage.map_or("", |stage| stage.title.as_str());
    let number = steps.first().map_or(0, |step| step.stage) + 1;
    let (rows, letters) = instructions(plan, bottles, steps);
    let batch = test.batches.get(index);
    let cap = batch.map_or(0, |batch| batch.cap).max(steps.iter().filter_map(|step| round_of(step)).max().unwrap_or(0));
    LoadingTable {
        heading: format!("Stage {number}: {title} — loading, at most {cap} doses"),
        hazards: hazards(steps.iter().copied()),
        rules: batch.map_or_else(Vec::new, |batch| rules(test, batch)),
        stop_line: batch.and_then(stop_line),
        rows,
        tables: tables(plan, bottles, steps, &letters, cap),
    }
}

fn round_of(step: &Step) -> Option<u32> {
    step.round.map(|(_, round)| round)
}

fn instruction_key(step: &Step) -> String {
    let kind = serde_json::to_value(&step.action).ok();
    let kind = kind.as_ref().map(|value| match value {
        serde_json::Value::String(name) => name.clone(),
        serde_json::Value::Object(map) => map.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    });
    let names = step.readings.iter().map(|reading| reading.name.as_str()).collect::<Vec<_>>().join(" ");
    format!("{} {names}", kind.unwrap_or_default())
}

/// The instructions of all rounds, each once and in order, and the letter of each step's.
fn instructions(plan: &Plan, bottles: &Bottles, steps: &[&Step]) -> (Vec<Row>, IndexMap<u32, String>) {
    let mut order: IndexMap<Key, (&Step, Vec<u32>)> = IndexMap::new();
    let mut keys: Vec<(u32, Key)> = Vec::new();
    let mut seen: IndexMap<(u32, String), usize> = IndexMap::new();
    let rounds: usize = {
        let mut all: Vec<u32> = steps.iter().filter_map(|step| round_of(step)).collect();
        all.dedup();
        all.len()
    };
    let mut last: Option<usize> = None;
    for step in steps {
        let round = round_of(step).unwrap_or(0);
        let name = instruction_key(step);
        let count = seen.entry((round, name.clone())).or_insert(0);
        let key = (name, *count);
        *count += 1;
        if let Some((position, _, entry)) = order.get_full_mut(&key) {
            entry.1.push(round);
            last = Some(position);
        } else {
            // An instruction that first comes in a later round stands where it comes in that round.
            let position =
                if round <= 1 { order.len() } else { last.map_or(order.len(), |at| at + 1).min(order.len()) };
            order.shift_insert(position, key.clone(), (step, vec![round]));
            last = Some(position);
        }
        keys.push((step.number, key));
    }
    let mut rows = Vec::new();
    for (position, (first, in_rounds)) in order.values().enumerate() {
        let mut row = row(plan, bottles, first);
        row.number = letter(position);
        row.fields.clear();
        if in_rounds.len() < rounds {
            let list = in_rounds.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
            row.details.insert(0, format!("Only after dose {list}."));
        }
        rows.push(row);
    }
    let letters = keys
        .into_iter()
        .filter_map(|(number, key)| order.get_index_of(&key).map(|position| (number, letter(position))))
        .collect();
    (rows, letters)
}

/// `a`, `b`, … `z`, `aa`, `ab`, …
fn letter(position: usize) -> String {
    let mut rest = position;
    let mut letters = Vec::new();
    loop {
        letters.push(char::from(b'a' + u8::try_from(rest % 26).unwrap_or(0)));
        if rest < 26 {
            break;
        }
        rest = rest / 26 - 1;
    }
    letters.into_iter().rev().collect()
}

fn rules(test: &Test, batch: &Batch) -> Vec<String> {
    let across = if batch.across_element { "the element (tare taken off)" } else { "the assembly" };
    let amount = number::written(&batch.terminal);
    let mut rules = Vec::new();
    match &batch.baseline {
        Some(baseline) => rules.push(format!(
            "Stop when {} across {across} has risen by {amount} above {}.",
            batch.reading,
            baseline_label(test, baseline)
        )),
        None => rules.push(format!("Stop when {} across {across} has reached {amount}.", batch.reading)),
    }
    if let Some(overshoot) = batch.overshoot {
        rules.push(format!(
            "An overshoot of more than {} % goes to the deviation log.",
            number::plain(overshoot * 100.0)
        ));
    }
    let mut caps = vec![format!("{} doses", batch.cap)];
    caps.extend(batch.mass_cap.as_ref().map(|mass| format!("{} of dust", number::written(mass))));
    caps.extend(batch.time_cap.as_ref().map(|time| format!("{} in all", number::written(time))));
    rules.push(format!("Never more than {}.", caps.join(", ")));
    rules
}

fn baseline_label(test: &Test, path: &str) -> String {
    let matches = |reading: &&Reading| reading.path == path || reading.path.ends_with(&format!("/{path}"));
    let step = test.steps.iter().find(|step| step.readings.iter().any(|reading| matches(&reading)));
    match step {
        Some(step) => format!("{path} (step {})", step.number),
        None => path.to_owned(),
    }
}

fn stop_line(batch: &Batch) -> Option<StopLine> {
    let baseline = batch.baseline.as_deref()?;
    Some(StopLine {
        baseline: baseline.to_owned(),
        rise: number::written(&batch.terminal),
        unit: number::unit_of(&batch.terminal),
    })
}

fn tables(
    plan: &Plan,
    bottles: &Bottles,
    steps: &[&Step],
    letters: &IndexMap<u32, String>,
    cap: u32,
) -> Vec<RoundTable> {
    let mut columns: IndexMap<Key, Series<'_>> = IndexMap::new();
    let mut due: IndexMap<u32, Vec<Due>> = IndexMap::new();
    let mut seen: IndexMap<(u32, &str), usize> = IndexMap::new();
    for step in steps {
        let round = round_of(step).unwrap_or(0);
        for reading in &step.readings {
            if let Wants::Bottle(bottle) = &reading.wants {
                due.entry(round).or_default().push(Due {
                    path: reading.path.clone(),
                    id: bottles.id(&reading.path),
                    sampler: if bottle.twin { format!("{} + twin", bottle.sampler) } else { bottle.sampler.clone() },
                });
                continue;
            }
            let count = seen.entry((round, reading.name.as_str())).or_insert(0);
            let key = (reading.name.clone(), *count);
            *count += 1;
            let letter = letters.get(&step.number).cloned().unwrap_or_default();
            let series =
                columns.entry(key).or_insert_with(|| Series { sample: reading, letter, paths: IndexMap::new() });
            series.paths.insert(round, reading.path.as_str());
        }
    }
    let series: Vec<&Series<'_>> = columns.values().collect();
    let first = if due.is_empty() { MOST_COLUMNS } else { MOST_COLUMNS - 1 };
    let mut parts: Vec<Vec<&Series<'_>>> = Vec::new();
    let mut rest = series.as_slice();
    // Equal shares, so that no table is left with one lonely column.
    let tables = rest.len().div_ceil(first).max(1);
    let share = rest.len().div_ceil(tables).max(1);
    while !rest.is_empty() {
        let (part, later) = rest.split_at(share.min(rest.len()));
        parts.push(part.to_vec());
        rest = later;
    }
    if parts.is_empty() && !due.is_empty() {
        parts.push(Vec::new());
    }
    let count = parts.len();
    let last = count.saturating_sub(1);
    parts
        .into_iter()
        .enumerate()
        .map(|(at, part)| RoundTable {
            heading: if count > 1 {
                format!("Loading table, part {} of {count}", at + 1)
            } else {
                "Loading table".to_owned()
            },
            columns: part.iter().map(|series| column(plan, series)).collect(),
            bottles: at == last && !due.is_empty(),
            rounds: (1..=cap)
                .map(|round| Round {
                    number: round.to_string(),
                    cells: part.iter().map(|series| cell(series, round)).collect(),
                    due: if at == last { due.get(&round).cloned().unwrap_or_default() } else { Vec::new() },
                })
                .collect(),
        })
        .collect()
}

fn column(plan: &Plan, series: &Series<'_>) -> Column {
    let empty = Column {
        label: label(series.sample),
        unit: String::new(),
        window: String::new(),
        stop: String::new(),
        instrument: String::new(),
        step: series.letter.clone(),
    };
    match &series.sample.wants {
        Wants::Number(numeric) => Column {
            unit: number::symbol(&numeric.unit),
            window: asked(numeric),
            stop: stop(numeric),
            instrument: instrument(plan, numeric),
            ..empty
        },
        Wants::Choice(choices) => Column { window: choices.join(" / "), ..empty },
        _ => empty,
    }
}

fn cell(series: &Series<'_>, round: u32) -> Cell {
    Cell {
        path: series.paths.get(&round).map(|path| (*path).to_owned()),
        tick: matches!(series.sample.wants, Wants::Tick),
    }
}
