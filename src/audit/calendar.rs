//! Days and people: the run inside its campaign, one run at a time, in the planned order, written down when it was done.

use std::collections::BTreeSet;

use super::log::{Filled, Log, Slot};
use super::measure;
use super::say::{Finding, at_row, at_slot};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Order, Wants};
use crate::record::{Column, Instant, Record, Value, day_number};

/// Findings about one run. `now` is when the record is read, on the bench's clock, where it is known.
pub(super) fn of_run(log: &Log<'_>, now: Option<Instant>, found: &mut Vec<Finding>) {
    outside(log, now, found);
    together(log, found);
    pairs(log, found);
    heated(log, found);
}

/// Findings that take several runs.
pub(super) fn between(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    overlap(logs, found);
    order(logs, found);
    broken_off(logs, found);
    twice(logs, found);
}

fn times<'s, 'a>(log: &'s Log<'a>) -> impl Iterator<Item = (&'s Slot<'a>, Instant)> {
    log.slots.iter().filter_map(|slot| Some((slot, slot.time()?)))
}

/// First and last time of a run, wild ones left out: the middle nine tenths of its times and a little more.
fn span(log: &Log<'_>) -> Option<(i64, i64)> {
    let mut all: Vec<i64> = times(log).map(|(_, time)| time.seconds).collect();
    all.sort_unstable();
    let cut = all.len() / 20;
    let (from, to) = (*all.get(cut)?, *all.get(all.len().checked_sub(1 + cut)?)?);
    Some((from, to))
}

fn outside(log: &Log<'_>, now: Option<Instant>, found: &mut Vec<Finding>) {
    let campaign = &log.plan.campaign;
    let starts = campaign.starts.as_deref().and_then(day_number).map(|day| day * 86_400);
    let ends = campaign.ends.as_deref().and_then(day_number).map(|day| (day + 1) * 86_400);
    let dates = campaign.places.dates;
    type Outside<'t> = (bool, String, Severity);
    let mut told: BTreeSet<&str> = BTreeSet::new();
    for (slot, time) in times(log) {
        let cases: [Outside<'_>; 3] = [
            (
                now.is_some_and(|now| time.seconds > now.seconds + 60),
                format!(
                    "lies after the moment at which the record was read ({})",
                    now.map(Instant::text).unwrap_or_default()
                ),
                Severity::Critical,
            ),
            (
                starts.is_some_and(|starts| time.seconds < starts),
                format!("lies before the campaign, which starts on {}", campaign.starts.as_deref().unwrap_or_default()),
                Severity::Critical,
            ),
            (
                ends.is_some_and(|ends| time.seconds >= ends),
                format!("lies after the campaign, which ends on {}", campaign.ends.as_deref().unwrap_or_default()),
                Severity::Minor,
            ),
        ];
        for (index, (holds, words, weight)) in cases.into_iter().enumerate() {
            let key = ["future", "before", "after"].get(index).copied().unwrap_or("");
            // A date that is wrong against its neighbours is told as that.
            let is_told = found.iter().any(|f| f.code == Code::ClockBackwards && same_cell(f, slot));
            if !holds || is_told || !told.insert(key) {
                continue;
            }
            let count = times(log).filter(|(_, other)| match index {
                0 => now.is_some_and(|now| other.seconds > now.seconds + 60),
                1 => starts.is_some_and(|starts| other.seconds < starts),
                _ => ends.is_some_and(|ends| other.seconds >= ends),
            });
            let more = match count.count() {
                0 | 1 => String::new(),
                more => format!(" ({more} readings)"),
            };
            let message = format!("run {}, step {}: {}{more} {words}", log.run.code, slot.step.number, time.text());
            let mut finding =
                at_slot(log, slot, Column::Time, Code::OutsideCampaign, message, "the first of them").severity(weight);
            if let Some(origin) = dates {
                finding = finding.also(origin.source, origin.span, "the campaign's dates");
            }
            let swapped = swapped_date(time).filter(|day| {
                let second = day * 86_400;
                starts.is_none_or(|starts| second >= starts) && ends.is_none_or(|ends| second < ends)
            });
            found.push(finding.help(match swapped {
                Some(day) => format!("With day and month exchanged it would be {}, inside the campaign. If that was meant, correct the times.", Instant { seconds: day * 86_400, grain: 1 }.date()),
                None => "Correct the date if it was miscopied. If the run was done then, the plan's dates or its fingerprint have to be explained.".to_owned(),
            }));
        }
    }
}

fn same_cell(finding: &Finding, slot: &Slot<'_>) -> bool {
    let (Some(place), Some(row)) = (finding.primary(), slot.current()) else { return false };
    place.source == row.record.source && place.span == row.cell(Column::Time).span
}

/// The day with its day and month exchanged.
fn swapped_date(time: Instant) -> Option<i64> {
    let date = time.date();
    let mut parts = date.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    (month != day).then(|| day_number(&format!("{year}-{day}-{month}")))?
}

/// Rows of several steps with one time to the second: they were written together.
fn together(log: &Log<'_>, found: &mut Vec<Finding>) {
    let timed: Vec<(&Slot<'_>, Instant)> = times(log).filter(|(_, time)| time.grain == 1).collect();
    let mut index = 0;
    while let Some((first, time)) = timed.get(index) {
        let block = timed.iter().skip(index).take_while(|(_, other)| other.seconds == time.seconds);
        let block: Vec<&(&Slot<'_>, Instant)> = block.collect();
        let steps: BTreeSet<usize> = block.iter().map(|(slot, _)| slot.step_index).collect();
        let late = block
            .iter()
            .any(|(slot, _)| slot.current().is_some_and(|row| row.text(Column::Note).to_lowercase().contains("late")));
        if steps.len() >= 4 && !late {
            let message = format!(
                "run {}: {} rows of {} steps carry the same time, {}",
                log.run.code,
                block.len(),
                steps.len(),
                time.text()
            );
            let finding = at_slot(log, first, Column::Time, Code::WrittenTogether, message, "the first of them");
            found.push(finding.help("If they were written afterwards, say `late entry` in the note and when it was; each value is then as good as the memory."));
        }
        index += block.len().max(1);
    }
}

/// Bottles that belong together, against the time that the oil takes from one to the other.
fn pairs(log: &Log<'_>, found: &mut Vec<Finding>) {
    for slot in &log.slots {
        let Wants::Bottle(bottle) = &slot.reading.wants else { continue };
        let Some(partner) = bottle.paired_with.as_deref() else { continue };
        let place = log.slots.iter().position(|other| std::ptr::eq(other, slot)).unwrap_or(0);
        let Some(other) = log.find(partner, place).filter(|other| other.step.round == slot.step.round) else {
            continue;
        };
        let (Some(from), Some(to)) = (other.time(), slot.time()) else { continue };
        let delay = bottle.delay.as_ref().map_or(0.0, measure::si);
        #[expect(clippy::cast_precision_loss, reason = "a few hours in seconds")]
        let apart = (to.seconds - from.seconds).abs() as f64;
        // Drawing two bottles one after the other takes a hand some minutes.
        let allowed = delay + log.plan.rules.number("pair-apart").unwrap_or(300.0);
        if apart <= allowed {
            continue;
        }
        let message = format!(
            "run {}: the bottles of steps {} and {} were drawn {:.1} min apart; the line between takes {delay:.0} s, and drawing them at most {:.0} min",
            log.run.code,
            other.step.number,
            slot.step.number,
            apart / 60.0,
            (allowed - delay) / 60.0
        );
        let mut finding = at_slot(log, slot, Column::Time, Code::PairApart, message, "this bottle");
        if let Some(row) = other.current() {
            finding = finding.also(row.record.source, row.cell(Column::Time).span, "its partner");
        }
        found.push(finding.help(
            "If a time was miscopied, correct it. If not, the efficiency from this pair is that of two moments.",
        ));
    }
}

/// Oil heated faster than heater and pump can: power times time against heat in the oil alone.
fn heated(log: &Log<'_>, found: &mut Vec<Finding>) {
    // J/(m³ K) of mineral oil, the low end, from memory; what metal and losses take comes on top.
    const HEAT: f64 = 1.5e6;
    let Some(power) = log.plan.rig.heater.as_ref().map(|heater| heater.power.si()) else { return };
    let mut volume: Option<f64> = None;
    let mut before: Option<(&Slot<'_>, f64, Instant)> = None;
    let mut next = 0;
    for slot in &log.slots {
        for step in log.test.steps.iter().take(slot.step_index + 1).skip(next) {
            match &step.action {
                Action::TakeRoute { route, .. } => {
                    volume = log.plan.rig.routes.get(route).and_then(|r| r.volume.as_ref()).map(measure::si);
                }
                Action::ChangeFluid(_) | Action::UseFluid { .. } => before = None,
                _ => {}
            }
        }
        next = slot.step_index + 1;
        let oil = slot.numeric().is_some_and(|n| n.measures == crate::plan::Measures::Temperature)
            && matches!(slot.step.action, Action::HoldViscosity(_) | Action::HoldTemperature(_) | Action::Read);
        let (Some(si), Some(time), true) = (slot.si(), slot.time(), oil) else { continue };
        if super::bench::is_blamed(slot, found) || slot.reading.name.contains("room") {
            continue;
        }
        let same = |other: &Slot<'_>| {
            other.numeric().and_then(|n| n.instrument.clone()) == slot.numeric().and_then(|n| n.instrument.clone())
        };
        let earlier = before.replace((slot, si, time)).filter(|(other, ..)| same(other));
        let (Some((other, cold, from)), Some(volume)) = (earlier, volume) else { continue };
        #[expect(clippy::cast_precision_loss, reason = "a few hours in seconds")]
        let seconds = (time.seconds - from.seconds) as f64;
        let rise = si - cold;
        // The pump's work heats too: a kilowatt is more than a bench pump does.
        let most = (power + 1000.0) * (seconds + 60.0) / (HEAT * volume) + 1.5;
        if seconds <= 0.0 || rise <= most {
            continue;
        }
        let message = format!(
            "run {}: the oil rose by {rise:.1} K in {:.1} min from step {} to step {}; {:.1} kW bring {:.0} L no more than {most:.1} K in that time",
            log.run.code,
            seconds / 60.0,
            other.step.number,
            slot.step.number,
            power / 1000.0,
            volume * 1000.0
        );
        let mut finding = at_slot(log, slot, Column::Time, Code::TooFast, message, "warm");
        if let Some(row) = other.current() {
            finding = finding.also(row.record.source, row.cell(Column::Time).span, "still cold");
        }
        found.push(finding.help("Look at both times and both temperatures. If they stand, the probe stood in a warm streak and the oil was not yet mixed."));
    }
}

fn first_row<'a>(log: &Log<'a>) -> Option<Filled<'a>> {
    log.slots.iter().find(|slot| slot.time().is_some()).and_then(Slot::current)
}

/// When the pump turned for a run: from the first to the last time of each stage that starts it.
fn at_the_rig(log: &Log<'_>) -> Vec<(i64, i64)> {
    let mut spans: Vec<(usize, i64, i64)> = Vec::new();
    let pumps = |stage: usize| {
        let steps = log.test.steps.iter().filter(|step| step.stage == stage);
        steps
            .map(|step| &step.action)
            .any(|action| matches!(action, Action::Switch { what, on: true } if what == "pump"))
    };
    for (slot, time) in times(log).filter(|(slot, _)| pumps(slot.step.stage)) {
        match spans.last_mut().filter(|(stage, ..)| *stage == slot.step.stage) {
            Some((_, from, to)) => (*from, *to) = ((*from).min(time.seconds), (*to).max(time.seconds)),
            None => spans.push((slot.step.stage, time.seconds, time.seconds)),
        }
    }
    // One miscopied day is told as that, and not as a run that lasts a week.
    spans.retain(|(_, from, to)| to - from < 43_200);
    spans.into_iter().map(|(_, from, to)| (from, to)).collect()
}

/// A rig carries one specimen at a time, and a specimen is in one run at a time. Off the rig, runs may go side by side.
fn overlap(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    let spans: Vec<_> = logs.iter().map(|log| (log, span(log), at_the_rig(log))).collect();
    for (index, (log, whole, rig)) in spans.iter().enumerate() {
        let Some(whole) = *whole else { continue };
        for (other, other_whole, other_rig) in spans.iter().take(index) {
            let Some(other_whole) = *other_whole else { continue };
            let crosses = |(from, to): (i64, i64), (before, until): (i64, i64)| from < until && before < to;
            let both_at_rig =
                rig.iter().find_map(|one| other_rig.iter().find(|two| crosses(*one, **two)).map(|two| (*one, *two)));
            let specimen = log.run.specimen == other.run.specimen;
            let one_specimen = (specimen && crosses(whole, other_whole)).then_some((whole, other_whole));
            let Some(((from, to), (before, until))) = both_at_rig.or(one_specimen) else { continue };
            let (Some(row), Some(first)) = (first_row(log), first_row(other)) else { continue };
            let text = |seconds: i64| Instant { seconds, grain: 1 }.text();
            let hands: BTreeSet<&str> =
                log.rows.iter().map(|row| row.text(Column::By)).filter(|by| !by.is_empty()).collect();
            let shared = other.rows.iter().map(|row| row.text(Column::By)).find(|by| hands.contains(by));
            let who = shared.map_or(String::new(), |by| format!(", and `{by}` was at both"));
            let with =
                if specimen { format!(" with the specimen `{}`", log.run.specimen) } else { " on one rig".to_owned() };
            let message = format!(
                "run {} ({} to {}) and run {} ({} to {}) went on at the same time{with}{who}",
                log.run.code,
                text(from),
                text(to),
                other.run.code,
                text(before),
                text(until)
            );
            let finding = at_row(row, Column::Time, Code::RunsOverlap, message, &format!("run {}", log.run.code)).also(
                first.record.source,
                first.cell(Column::Time).span,
                format!("run {}", other.run.code),
            );
            found.push(finding.help("Look at the dates of both: one day miscopied moves a whole run. If both are right, one of the two was not done as written."));
        }
    }
}

/// The order in which the runs began, within each test.
fn order(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    let mut latest: Vec<(usize, i64, &Log<'_>)> = Vec::new();
    for log in logs {
        let Some((from, _)) = span(log) else { continue };
        let before = latest.iter().find(|(test, ..)| *test == log.run.test).copied();
        if let Some((_, began, earlier)) = before
            && from < began
        {
            let overlapping = found.iter().any(|f| f.code == Code::RunsOverlap && f.message.contains(&log.run.code));
            let (Some(row), Some(first)) = (first_row(log), first_row(earlier)) else { continue };
            if !overlapping {
                let drawn = matches!(log.test.order, Order::Drawn(_));
                let message = format!(
                    "run {} began before run {}, which the {} order has first",
                    log.run.code,
                    earlier.run.code,
                    if drawn { "drawn" } else { "planned" }
                );
                let mut finding = at_row(row, Column::Time, Code::OrderNotFollowed, message, "began here").also(
                    first.record.source,
                    first.cell(Column::Time).span,
                    format!("run {} began here", earlier.run.code),
                );
                if let Order::Drawn(origin) | Order::Given(origin) = log.test.order {
                    finding = finding.also(origin.source, origin.span, "says the order");
                }
                found.push(finding.help("If it was so, disclose it with the reason; a drift of the bench then may look like a difference between specimens."));
            }
        }
        match latest.iter_mut().find(|(test, ..)| *test == log.run.test) {
            Some(slot) if slot.1 < from => *slot = (log.run.test, from, log),
            Some(_) => {}
            None => latest.push((log.run.test, from, log)),
        }
    }
}

/// A run that ends in the middle although a later one was begun.
fn broken_off(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    for log in logs {
        let Some((from, to)) = span(log) else { continue };
        let open = log.slots.iter().enumerate().filter(|(place, slot)| log.is_open(*place) && !slot.dropped).count();
        let later = logs
            .iter()
            .filter(|other| other.run.code != log.run.code)
            .find(|other| span(other).is_some_and(|(begins, _)| begins > from.max(to)));
        let (Some(later), true) = (later, open > 0) else { continue };
        let Some(last) = log.last.and_then(|last| log.slots.get(last)) else { continue };
        let said = last.rows.iter().any(|row| !row.text(Column::Note).is_empty());
        if said {
            continue;
        }
        let message = format!(
            "run {}: nothing is written after step {} ({open} readings are left), and run {} was begun",
            log.run.code, last.step.number, later.run.code
        );
        let mut finding = at_slot(log, last, Column::Value, Code::RunBrokenOff, message, "the last that is written");
        if let Some(row) = first_row(later) {
            finding =
                finding.also(row.record.source, row.cell(Column::Time).span, format!("run {} begins", later.run.code));
        }
        found.push(finding.help("Say in the note of this row why it ended, and whether its specimen is used again. A run that was begun is reported, also when it failed."));
    }
}

/// One run in two files, both filled.
fn twice(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    for log in logs {
        let rows: Vec<Filled<'_>> = log.rows.iter().copied().filter(|filled| filled.row.is_filled()).collect();
        // Rows lie file by file.
        let files = rows.chunk_by(|one, next| std::ptr::eq(one.record, next.record));
        let files: Vec<(&Record, &[Filled<'_>])> =
            files.filter(|rows| rows.len() >= 5).filter_map(|rows| Some((rows.first()?.record, rows))).collect();
        let [(first, one), .., (second, other)] = files.as_slice() else { continue };
        let value = |rows: &[Filled<'_>], path: &str| {
            rows.iter().rfind(|row| row.text(Column::Reading) == path).map(|row| row.value())
        };
        let shared: Vec<&Filled<'_>> =
            other.iter().filter(|row| value(one, row.text(Column::Reading)).is_some()).collect();
        if shared.len() < 5 {
            continue;
        }
        let differ = shared
            .iter()
            .filter(|row| value(one, row.text(Column::Reading)) != Some(row.value()) && row.value() != Value::Empty)
            .count();
        let (Some(at), Some(before)) = (other.first(), one.first()) else { continue };
        let message = format!(
            "run {} stands in `{}` and in `{}`: {} readings in both, {differ} with different values",
            log.run.code,
            first.name,
            second.name,
            shared.len()
        );
        let weight = if differ == 0 { Severity::Minor } else { Severity::Critical };
        let finding = at_row(*at, Column::Run, Code::TwoRecords, message, "the second file")
            .also(before.record.source, before.row.span, "the first file")
            .severity(weight);
        found.push(finding.help("If one is a second typing of the same sheet, put it into `records/second`. If the run was repeated, it is another run with a code of its own; both are reported."));
    }
}
