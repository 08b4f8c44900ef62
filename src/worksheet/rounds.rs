//! Steps that come again and again on paper, the doses of a loop and the flows of a sweep: what is done stands once, and
//! one line a round takes all its readings.

use indexmap::IndexMap;

use crate::plan::{Action, Batch, Plan, Reading, Step, Test, Wants};

use super::boxes::{asked, instrument, label, stop};
use super::label::Bottles;
use super::number;
use super::page::{Cell, Column, Due, RepeatTable, Round, RoundTable, Row, StopLine};
use super::steps::{hazards, row};

/// As many columns as stay wide enough to write in.
const MOST_COLUMNS: usize = 7;

/// What is the same in every round: the instruction of a step, or the column of a reading. The steps of a round have no
/// number of their own in common with those of another, so they are told apart by name and by how often that name has come.
type Key = (String, usize);

/// A line of the table: one dose, or one flow.
struct Line<'a> {
    label: String,
    steps: &'a [&'a Step],
}

/// A column, and its reading in every line that has it.
struct Series<'a> {
    letter: String,
    readings: IndexMap<usize, &'a Reading>,
}

/// The loading table of the steps of one loop.
pub(super) fn loading(plan: &Plan, test: &Test, bottles: &Bottles, index: usize, steps: &[&Step]) -> RepeatTable {
    let lines: Vec<Line<'_>> = steps
        .chunk_by(|one, next| one.round == next.round)
        .map(|steps| Line {
            label: steps.first().and_then(|step| step.round).map_or_else(String::new, |(_, round)| round.to_string()),
            steps,
        })
        .collect();
    let batch = test.batches.get(index);
    RepeatTable {
        heading: format!("{} — loading, at most {} doses", stage_heading(test, steps), lines.len()),
        line: "Dose".to_owned(),
        hazards: hazards(steps.iter().copied()),
        rules: batch.map_or_else(Vec::new, |batch| rules(test, batch)),
        stop_line: batch.and_then(stop_line),
        ..repeated(plan, bottles, &lines, "Loading table")
    }
}

/// The table of the flows of a sweep, each of the groups being one flow.
pub(super) fn sweep(plan: &Plan, test: &Test, bottles: &Bottles, groups: &[&[&Step]]) -> RepeatTable {
    let lines: Vec<Line<'_>> = groups.iter().map(|steps| Line { label: flow_label(steps), steps }).collect();
    let all: Vec<&Step> = groups.iter().flat_map(|steps| steps.iter().copied()).collect();
    let numbers = match (all.first(), all.last()) {
        (Some(first), Some(last)) => format!(", steps {} to {}", first.number, last.number),
        _ => String::new(),
    };
    RepeatTable {
        heading: format!("{} — sweep{numbers}", stage_heading(test, &all)),
        line: "Flow".to_owned(),
        hazards: hazards(all.iter().copied()),
        rules: vec![
            "One line a flow, from the top down; every line is finished before the next flow is set.".to_owned(),
        ],
        ..repeated(plan, bottles, &lines, "Sweep table")
    }
}

/// `16 L/min ↑`, and the steps that the line stands for.
fn flow_label(steps: &[&Step]) -> String {
    let flow = steps.iter().find_map(|step| match &step.action {
        Action::SetFlow { setting, rising } => {
            let arrow = if *rising { "↑" } else { "↓" };
            setting.target.as_ref().map(|target| format!("{} {arrow}", number::written(target)))
        }
        Action::BypassFlow { flow, .. } => Some(number::written(flow)),
        _ => None,
    });
    flow.unwrap_or_default()
}

fn stage_heading(test: &Test, steps: &[&Step]) -> String {
    let index = steps.first().map_or(0, |step| step.stage);
    let title = test.stages.get(index).map_or("", |stage| stage.title.as_str());
    format!("Stage {}: {title}", index + 1)
}

/// The part that loops and sweeps share.
fn repeated(plan: &Plan, bottles: &Bottles, lines: &[Line<'_>], heading: &str) -> RepeatTable {
    let (rows, letters) = instructions(plan, bottles, lines);
    RepeatTable {
        heading: String::new(),
        line: String::new(),
        hazards: String::new(),
        rules: Vec::new(),
        stop_line: None,
        rows,
        tables: tables(plan, bottles, lines, &letters, heading),
    }
}

/// What two steps have in common that do the same in two lines.
pub(super) fn instruction_key(step: &Step) -> String {
    let kind = serde_json::to_value(&step.action).ok();
    let kind = kind.as_ref().map(|value| match value {
        serde_json::Value::String(name) => name.clone(),
        serde_json::Value::Object(map) => map.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    });
    let names = step.readings.iter().map(|reading| reading.name.as_str()).collect::<Vec<_>>().join(" ");
    format!("{} {names}", kind.unwrap_or_default())
}

/// The instructions of all lines, each once and in order, and the letter of each step's.
fn instructions(plan: &Plan, bottles: &Bottles, lines: &[Line<'_>]) -> (Vec<Row>, IndexMap<u32, String>) {
    let mut order: IndexMap<Key, (&Step, Vec<&str>)> = IndexMap::new();
    let mut keys: Vec<(u32, Key)> = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let mut seen: IndexMap<String, usize> = IndexMap::new();
        let mut last: Option<usize> = None;
        for step in line.steps {
            let key = next(&mut seen, instruction_key(step));
            let position = if let Some((position, _, entry)) = order.get_full_mut(&key) {
                entry.1.push(&line.label);
                position
            } else {
                // An instruction that first comes in a later line stands where it comes in that line.
                let after = if at == 0 { order.len() } else { last.map_or(0, |last| last + 1).min(order.len()) };
                order.shift_insert(after, key.clone(), (step, vec![&line.label]));
                after
            };
            last = Some(position);
            keys.push((step.number, key));
        }
    }
    let mut rows = Vec::new();
    for (position, (first, labels)) in order.values().enumerate() {
        let mut row = instruction(plan, bottles, first);
        row.number = letter(position);
        if labels.len() < lines.len() {
            row.details.insert(0, format!("Only in line {}.", labels.join(", ")));
        }
        rows.push(row);
    }
    let letters = keys
        .into_iter()
        .filter_map(|(number, key)| order.get_index_of(&key).map(|position| (number, letter(position))))
        .collect();
    (rows, letters)
}

/// A step as an instruction for every line: without its boxes, and without what only its own line says.
fn instruction(plan: &Plan, bottles: &Bottles, step: &Step) -> Row {
    let mut row = row(plan, bottles, step);
    row.fields.clear();
    match &step.action {
        Action::SetFlow { .. } => {
            row.sentence = "Set the flow of the line: ↑ coming from below, ↓ coming from above.".to_owned();
        }
        Action::BypassFlow { .. } => row.sentence = "Set the flow of the line and watch the by-pass.".to_owned(),
        _ => {}
    }
    row
}

/// Whether a step may stand as a line's instruction: a hold point needs signatures of its own.
pub(super) fn repeatable(step: &Step) -> bool {
    !matches!(step.action, Action::HoldPoint { .. })
}

/// The name, and how often it has come before.
fn next(seen: &mut IndexMap<String, usize>, name: String) -> Key {
    let count = seen.entry(name.clone()).or_insert(0);
    let key = (name, *count);
    *count += 1;
    key
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
    lines: &[Line<'_>],
    letters: &IndexMap<u32, String>,
    heading: &str,
) -> Vec<RoundTable> {
    let mut columns: IndexMap<Key, Series<'_>> = IndexMap::new();
    let mut due: IndexMap<usize, Vec<Due>> = IndexMap::new();
    for (at, line) in lines.iter().enumerate() {
        let mut seen = IndexMap::new();
        for (step, reading) in
            line.steps.iter().flat_map(|step| step.readings.iter().map(move |reading| (step, reading)))
        {
            if let Wants::Bottle(bottle) = &reading.wants {
                let twin = if bottle.twin { " + twin" } else { "" };
                due.entry(at).or_default().push(Due {
                    path: reading.path.clone(),
                    id: bottles.id(&reading.path),
                    sampler: format!("{}{twin}", bottle.sampler),
                });
                continue;
            }
            let letter = letters.get(&step.number).cloned().unwrap_or_default();
            let series = columns
                .entry(next(&mut seen, format!("{letter} {}", reading.name)))
                .or_insert_with(|| Series { letter, readings: IndexMap::new() });
            series.readings.insert(at, reading);
        }
    }
    let mut series: Vec<&Series<'_>> = columns.values().collect();
    series.sort_by_key(|series| (series.letter.len(), series.letter.clone()));
    // Equal shares, so that no table is left with one lonely column.
    let most = if due.is_empty() { MOST_COLUMNS } else { MOST_COLUMNS - 1 };
    let count = series.len().div_ceil(most).max(1);
    let share = series.len().div_ceil(count).max(1);
    let mut parts: Vec<&[&Series<'_>]> = series.chunks(share).collect();
    if parts.is_empty() {
        parts.push(&[]);
    }
    let count = parts.len();
    parts
        .into_iter()
        .enumerate()
        .map(|(at, part)| {
            let with_bottles = at + 1 == count && !due.is_empty();
            let common: Vec<bool> = part.iter().map(|series| same_window(series)).collect();
            let round = |(index, line): (usize, &Line<'_>)| Round {
                number: line.label.clone(),
                cells: part.iter().zip(&common).map(|(series, common)| cell(series, index, *common)).collect(),
                due: if with_bottles { due.get(&index).cloned().unwrap_or_default() } else { Vec::new() },
            };
            RoundTable {
                heading: if count > 1 { format!("{heading}, part {} of {count}", at + 1) } else { heading.to_owned() },
                columns: part
                    .iter()
                    .zip(&common)
                    .filter_map(|(series, common)| column(plan, series, *common))
                    .collect(),
                bottles: with_bottles,
                rounds: lines.iter().enumerate().map(round).collect(),
            }
        })
        .collect()
}

fn window_of(reading: &Reading) -> String {
    match &reading.wants {
        Wants::Number(numeric) => asked(numeric),
        Wants::Choice(choices) => choices.join(" / "),
        _ => String::new(),
    }
}

/// Whether all lines ask for the same, so that the head of the column can say it.
fn same_window(series: &Series<'_>) -> bool {
    let mut windows = series.readings.values().map(|reading| window_of(reading));
    let first = windows.next();
    windows.all(|window| Some(&window) == first.as_ref())
}

fn column(plan: &Plan, series: &Series<'_>, common: bool) -> Option<Column> {
    let sample = series.readings.values().next()?;
    let empty = Column {
        label: label(sample),
        unit: String::new(),
        window: if common { window_of(sample) } else { String::new() },
        stop: String::new(),
        instrument: String::new(),
        step: series.letter.clone(),
    };
    Some(match &sample.wants {
        Wants::Number(numeric) => Column {
            unit: number::symbol(&numeric.unit),
            stop: stop(numeric),
            instrument: instrument(plan, numeric),
            ..empty
        },
        _ => empty,
    })
}

fn cell(series: &Series<'_>, line: usize, common: bool) -> Cell {
    let reading = series.readings.get(&line);
    Cell {
        path: reading.map(|reading| reading.path.clone()),
        tick: reading.is_some_and(|reading| matches!(reading.wants, Wants::Tick)),
        window: reading.filter(|_| !common).map_or_else(String::new, |reading| window_of(reading)),
    }
}
