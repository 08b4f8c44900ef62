//! The times: whether the steps follow each other as planned, the clock runs forwards, and waits were kept.

use super::log::{Log, Slot};
use super::say::{Finding, at_slot};
use crate::diagnostic::Code;
use crate::plan::{Action, Dwell};
use crate::record::{Column, Instant};

/// A slot with its time.
#[derive(Clone, Copy)]
struct Timed {
    place: usize,
    step: usize,
    time: Instant,
}

/// Findings about the times of a run.
pub(super) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    let timed: Vec<Timed> = log
        .slots
        .iter()
        .enumerate()
        .filter_map(|(place, slot)| Some(Timed { place, step: slot.step_index, time: slot.time()? }))
        .collect();
    let odd = odd_ones(&timed);
    for index in &odd {
        backwards(log, &timed, &odd, *index, found);
    }
    let kept: Vec<Timed> =
        (0..timed.len()).filter(|index| !odd.contains(index)).filter_map(|index| timed.get(index).copied()).collect();
    dwells(log, &kept, found);
}

/// The fewest readings that must be set aside so that the others never go back in time from step to step. Within one
/// step the order is free.
fn odd_ones(timed: &[Timed]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..timed.len()).collect();
    order.sort_by_key(|index| timed.get(*index).map(|one| (one.step, one.time.seconds)));
    // Longest never-falling run: for each length, the last member of the one that ends earliest.
    let seconds = |index: usize| timed.get(index).map_or(i64::MAX, |one| one.time.seconds);
    let mut tails: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; timed.len()];
    for index in order {
        let length = tails.partition_point(|tail| seconds(*tail) <= seconds(index));
        if let (Some(slot), Some(previous)) = (before.get_mut(index), length.checked_sub(1)) {
            *slot = tails.get(previous).copied();
        }
        match tails.get_mut(length) {
            Some(tail) => *tail = index,
            None => tails.push(index),
        }
    }
    let mut kept = vec![false; timed.len()];
    let mut at = tails.last().copied();
    while let Some(index) = at {
        if let Some(slot) = kept.get_mut(index) {
            *slot = true;
        }
        at = before.get(index).copied().flatten();
    }
    (0..timed.len()).filter(|index| !kept.get(*index).copied().unwrap_or(true)).collect()
}

fn backwards(log: &Log<'_>, timed: &[Timed], odd: &[usize], index: usize, found: &mut Vec<Finding>) {
    let Some(one) = timed.get(index) else { return };
    let Some(slot) = log.slots.get(one.place) else { return };
    // A block of odd ones is told once, at its first row.
    let in_block = index.checked_sub(1).is_some_and(|before| odd.contains(&before));
    let good = |mut range: Box<dyn Iterator<Item = usize> + '_>| {
        range.find(|other| !odd.contains(other)).and_then(|other| timed.get(other))
    };
    let before = good(Box::new((0..index).rev()));
    let after = good(Box::new(index + 1..timed.len()));
    let block = (index..timed.len()).take_while(|other| odd.contains(other)).count();
    let lies_between = |seconds: i64| {
        before.is_none_or(|b| b.time.seconds <= seconds) && after.is_none_or(|a| seconds <= a.time.seconds)
    };
    let written = slot.current().map_or("", |row| row.text(Column::Time));
    let cause = clock_slip(written, &lies_between);
    if in_block && (block > 1 || cause.is_none()) && !is_new_slip(timed, index) {
        return;
    }
    let rows = if block > 1 { format!(" and {} more", block - 1) } else { String::new() };
    let subject = format!("run {}: step {}{rows} ({written})", log.run.code, slot.step.number);
    let other = before.filter(|before| before.time.seconds > one.time.seconds).or(after);
    let Some(other_slot) = other.and_then(|other| log.slots.get(other.place)) else { return };
    let other_time = other_slot.current().map_or("", |row| row.text(Column::Time));
    let relation =
        if before.is_some_and(|before| before.time.seconds > one.time.seconds) { "earlier than" } else { "later than" };
    let (code, message) = match &cause {
        Some(_) => (
            Code::ClockBackwards,
            format!(
                "{subject} is {relation} step {} ({other_time}), and the clock can't run backwards",
                other_slot.step.number
            ),
        ),
        None => (
            Code::OutOfOrder,
            format!(
                "{subject} was done {} step {} ({other_time}); the plan has it {}",
                if relation == "earlier than" { "before" } else { "after" },
                other_slot.step.number,
                if relation == "earlier than" { "after" } else { "before" }
            ),
        ),
    };
    let mut finding = at_slot(log, slot, Column::Time, code, message, "this time");
    if let Some(row) = other_slot.current() {
        finding =
            finding.also(row.record.source, row.cell(Column::Time).span, format!("step {}", other_slot.step.number));
    }
    finding = finding.help(match cause {
        Some(words) => format!("{words} would fit between its neighbours. If that is what happened, write a row below with the right time and the reason in its correction cell; nothing was changed."),
        None => "If the steps were really done in this order, say in the note why; if a time was miscopied, correct it in a row of its own.".to_owned(),
    });
    found.push(finding);
}

/// Whether an odd row begins something new rather than going on with the block before it.
fn is_new_slip(timed: &[Timed], index: usize) -> bool {
    let (Some(one), Some(before)) = (timed.get(index), index.checked_sub(1).and_then(|before| timed.get(before)))
    else {
        return true;
    };
    (one.time.seconds - before.time.seconds).abs() > 1800
}

/// A time as written with one slip undone, where that puts it between its neighbours: an hour or half a day off, a
/// wrong day, or two digits exchanged.
fn clock_slip(written: &str, fits: &dyn Fn(i64) -> bool) -> Option<String> {
    let time = Instant::parse(written)?;
    const SHIFTS: [(i64, &str); 8] = [
        (3600, "an hour later"),
        (-3600, "an hour earlier"),
        (43_200, "twelve hours later"),
        (-43_200, "twelve hours earlier"),
        (86_400, "a day later"),
        (-86_400, "a day earlier"),
        (36_000, "ten hours later"),
        (-36_000, "ten hours earlier"),
    ];
    for (shift, words) in SHIFTS {
        if fits(time.seconds + shift) {
            return Some(format!("{words}, {},", Instant { seconds: time.seconds + shift, grain: time.grain }.text()));
        }
    }
    let characters: Vec<char> = written.chars().collect();
    for at in 1..characters.len() {
        let mut swapped = characters.clone();
        swapped.swap(at - 1, at);
        let text: String = swapped.into_iter().collect();
        if text != written && Instant::parse(&text).is_some_and(|time| fits(time.seconds)) {
            return Some(format!("two digits exchanged, {text},"));
        }
    }
    None
}

/// The waits of the plan between one recorded time and the next.
fn dwells(log: &Log<'_>, timed: &[Timed], found: &mut Vec<Finding>) {
    let mut groups: Vec<(usize, Timed, Timed)> = Vec::new();
    for one in timed {
        match groups.last_mut() {
            Some((step, first, last)) if *step == one.step => {
                if one.time < first.time {
                    *first = *one;
                }
                if one.time > last.time {
                    *last = *one;
                }
            }
            _ => groups.push((one.step, *one, *one)),
        }
    }
    for pair in groups.windows(2) {
        let [(from_step, _, from), (to_step, to, _)] = pair else { continue };
        dwell(log, *from_step, *to_step, from, to, found);
    }
}

fn dwell(log: &Log<'_>, from_step: usize, to_step: usize, from: &Timed, to: &Timed, found: &mut Vec<Finding>) {
    // A waiting step with a reading of its own ends at that reading.
    let waits = |index: usize| {
        log.test.steps.get(index).filter(|step| !log.is_left_out(step)).and_then(|step| wait(&step.action))
    };
    let between = from_step + 1..=to_step;
    let dwells: Vec<(usize, Dwell)> = between.clone().filter_map(|index| Some((index, waits(index)?))).collect();
    let Some((index, dwell)) = dwells.first().cloned() else { return };
    let Some(step) = log.test.steps.get(index) else { return };
    let least: f64 = dwells.iter().map(|(_, dwell)| super::measure::si(&dwell.least)).sum();
    let passed = to.time.seconds - from.time.seconds;
    let play = if from.time.grain.max(to.time.grain) > 1 { 60 } else { 1 };
    let (Some(first), Some(second)) = (log.slots.get(from.place), log.slots.get(to.place)) else { return };
    let count = dwells.len();
    let asked = match count {
        1 => format!("step {} asks for {}", step.number, say_seconds(least)),
        _ => format!("the {count} waits between them ask for {}", say_seconds(least)),
    };
    let place = |code: Code, message: String| {
        with_both(log, first, second, code, message).also(
            step.origin.source,
            step.origin.span,
            format!("asks for {}", say_seconds(super::measure::si(&dwell.least))),
        )
    };
    #[expect(clippy::cast_precision_loss, reason = "a few hours in seconds")]
    let (passed, play) = (passed as f64, play as f64);
    if passed + play < least {
        let message = format!(
            "run {}: {} passed from step {} to step {}, and {asked}",
            log.run.code,
            say_seconds(passed),
            first.step.number,
            second.step.number
        );
        found.push(place(Code::DwellTooShort, message).help("If the wait was kept and a time was noted late, say so in the note; if it was cut short, this reading may not have settled: take it again."));
        return;
    }
    let Some(most) = dwells.iter().map(|(_, dwell)| dwell.most.as_ref().map(super::measure::si)).sum::<Option<f64>>()
    else {
        return;
    };
    // Whatever else is done between the two readings takes its time too.
    let others = between
        .filter(|index| {
            *index != to_step
                && waits(*index).is_none()
                && log.test.steps.get(*index).is_some_and(|step| !log.is_left_out(step) && takes_time(&step.action))
        })
        .count();
    #[expect(clippy::cast_precision_loss, reason = "a handful of steps")]
    let allowed = most + if matches!(second.step.action, Action::Read) { 60.0 } else { 300.0 } + 900.0 * others as f64;
    if passed > allowed {
        let message = format!(
            "run {}: {} passed from step {} to step {}, and step {} waits at most {}",
            log.run.code,
            say_seconds(passed),
            first.step.number,
            second.step.number,
            step.number,
            say_seconds(most)
        );
        found.push(place(Code::DwellTooLong, message).help("Say in the note what held it up."));
    }
}

fn with_both(log: &Log<'_>, first: &Slot<'_>, second: &Slot<'_>, code: Code, message: String) -> Finding {
    let mut finding = at_slot(log, second, Column::Time, code, message, "until here");
    if let Some(row) = first.current() {
        finding = finding.also(row.record.source, row.cell(Column::Time).span, "from here");
    }
    finding
}

fn wait(action: &Action) -> Option<Dwell> {
    match action {
        Action::Settle(dwell) | Action::Wait(dwell) | Action::Circulate(dwell) => Some(dwell.clone()),
        // What drips is collected for the whole of this time before it is read.
        Action::AntiDrain { time, .. } => Some(Dwell { least: time.clone(), most: None, until: None }),
        _ => None,
    }
}

fn takes_time(action: &Action) -> bool {
    !matches!(action, Action::Note { .. } | Action::Caution { .. } | Action::UseFluid { .. })
}

/// A time as a person says it.
fn say_seconds(seconds: f64) -> String {
    let whole = seconds.round();
    if whole.abs() < 120.0 {
        return format!("{whole:.0} s");
    }
    if whole.abs() < 7200.0 {
        let (minutes, rest) = ((whole / 60.0).trunc(), whole.abs() % 60.0);
        return if rest < 0.5 { format!("{minutes:.0} min") } else { format!("{minutes:.0} min {rest:.0} s") };
    }
    format!("{:.1} h", whole / 3600.0)
}
