//! Signs that numbers were copied or made up: what is too even to be noise. Never proof; each says how often honest work
//! would look like it.

use indexmap::IndexMap;

use super::bench::flow_at;
use super::log::{Filled, Log, Slot};
use super::measure;
use super::say::{Finding, at_row, at_slot};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures};
use crate::record::Column;
use crate::trade::distribution::chi_squared_survival;

/// A measured, noisy value: the slot, its value in marks of its instrument, and how many marks honest noise covers.
struct Noisy<'s, 'a> {
    place: usize,
    slot: &'s Slot<'a>,
    marks: i64,
    /// Marks, standard deviation: a hundredth of the value is the least that a bench scatters, from memory.
    noise: f64,
}

fn noisy<'s, 'a>(log: &'s Log<'a>) -> Vec<Noisy<'s, 'a>> {
    let mut found = Vec::new();
    // A flow follows what is set, and a temperature what is held: neither is noise.
    for (place, slot) in log.slots.iter().enumerate() {
        let Some(numeric) = slot.numeric().filter(|n| n.window.is_none() && !slot.dropped) else { continue };
        let kind = matches!(numeric.measures, Measures::DifferentialPressure | Measures::GaugePressure);
        let dosing = matches!(slot.step.action, Action::Dose { .. });
        let (Some(instrument), Some(number)) = (measure::instrument(log.plan, numeric), slot.number()) else {
            continue;
        };
        let step = instrument.resolution.value;
        if !kind
            || dosing
            || instrument.is_role
            || step <= 0.0
            || !measure::same_numbers(&instrument.unit, &numeric.unit)
        {
            continue;
        }
        #[expect(clippy::cast_possible_truncation, reason = "marks of a scale")]
        let marks = (number.value / step).round() as i64;
        #[expect(clippy::cast_precision_loss, reason = "marks of a scale")]
        let noise = 0.005 * marks.abs() as f64;
        found.push(Noisy { place, slot, marks, noise });
    }
    found
}

/// How often two honest readings of the same thing agree to the last mark.
fn agreement(noise: f64) -> f64 {
    // The difference of two normal readings has √2 of their deviation; its density at zero times one mark.
    (1.0 / (2.0 * std::f64::consts::PI.sqrt() * noise.max(0.3))).min(1.0)
}

/// "about 1 in 20 000".
fn odds(probability: f64) -> String {
    if probability <= 1e-12 {
        "less than 1 in a million million".to_owned()
    } else {
        format!("about 1 in {:.0}", (1.0 / probability).max(1.0))
    }
}

/// Findings about one run.
pub(super) fn of_run(log: &Log<'_>, found: &mut Vec<Finding>) {
    let noisy = noisy(log);
    copied_leg(log, &noisy, found);
    straight(log, &noisy, found);
    on_target(log, found);
    regular(log, found);
    alike(log, found);
    photographs(log, found);
}

/// Findings that take several runs.
pub(super) fn between(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    copied_blocks(logs, found);
    last_digits(logs, found);
}

fn with_row(finding: Finding, row: Option<Filled<'_>>, role: &str) -> Finding {
    match row {
        Some(row) => finding.also(row.record.source, row.cell(Column::Value).span, role),
        None => finding,
    }
}

fn copied_leg(log: &Log<'_>, noisy: &[Noisy<'_, '_>], found: &mut Vec<Finding>) {
    type Points<'p, 's, 'a> = Vec<(&'p Noisy<'s, 'a>, f64, bool)>;
    let mut sweeps: IndexMap<(&str, &str), Points<'_, '_, '_>> = IndexMap::new();
    for one in noisy {
        let path = one.slot.reading.path.as_str();
        let Some((prefix, _)) = path.split_once("/rising/").or_else(|| path.split_once("/falling/")) else { continue };
        let Some((flow, _)) = flow_at(log, one.place) else { continue };
        sweeps.entry((prefix, one.slot.reading.name.as_str())).or_default().push((
            one,
            flow,
            path.contains("/rising/"),
        ));
    }
    for points in sweeps.values() {
        let (mut pairs, mut same, mut by_chance, mut first) = (0_usize, 0_usize, 1.0, None);
        for (one, flow, _) in points.iter().filter(|(.., rising)| *rising) {
            let twin = points.iter().find(|(_, other, rising)| !rising && (other / flow - 1.0).abs() < 0.05);
            let Some((twin, ..)) = twin else { continue };
            pairs += 1;
            if one.marks == twin.marks {
                same += 1;
                by_chance *= agreement(one.noise);
                first.get_or_insert((*one, *twin));
            }
        }
        let Some((one, twin)) = first.filter(|_| pairs >= 4 && same == pairs && by_chance < 1e-3) else { continue };
        let message = format!(
            "run {}: all {same} readings of `{}` with falling flow repeat those with rising flow to the last digit; honest work gives that {}",
            log.run.code,
            one.slot.reading.name,
            odds(by_chance)
        );
        let finding = at_slot(log, twin.slot, Column::Value, Code::LegCopied, message, "falling");
        let finding = with_row(finding, one.slot.current(), "rising");
        found.push(finding.help("Ask who wrote them, and look at the sheet. If the falling flows were not read, they are ND with the reason."));
    }
}

fn straight(log: &Log<'_>, noisy: &[Noisy<'_, '_>], found: &mut Vec<Finding>) {
    let mut series: IndexMap<(usize, &str), Vec<&Noisy<'_, '_>>> = IndexMap::new();
    for one in noisy {
        if let Some((batch, _)) = one.slot.step.round {
            series.entry((batch, one.slot.reading.name.as_str())).or_default().push(one);
        }
    }
    for points in series.values() {
        let mut run = 0_usize;
        let mut by_chance = 1.0;
        for (index, triple) in points.windows(3).enumerate() {
            let [one, two, three] = triple else { continue };
            if three.marks - two.marks == two.marks - one.marks && three.marks != two.marks {
                run += 1;
                by_chance *= agreement(1.22 * two.noise);
            } else {
                run = 0;
                by_chance = 1.0;
            }
            // Six points are four equal steps of steps.
            if run < 4 || by_chance >= 1e-3 {
                continue;
            }
            let Some(start) = points.get(index + 1 - run) else { continue };
            let message = format!(
                "run {}: {} values of `{}` in a row rise by the same {} each time; honest work gives that {}",
                log.run.code,
                run + 2,
                three.slot.reading.name,
                two.slot.numeric().map_or(String::new(), |n| {
                    let step = two.slot.si().zip(one.slot.si()).map_or(0.0, |(b, a)| b - a);
                    measure::difference(&n.unit, step)
                }),
                odds(by_chance)
            );
            let finding = at_slot(log, three.slot, Column::Value, Code::StraightLine, message, "until here");
            let finding = with_row(finding, start.slot.current(), "from here");
            found.push(finding.help(
                "Ask whether the values between were read or filled in. What was filled in is ND with the reason.",
            ));
            break;
        }
    }
}

fn on_target(log: &Log<'_>, found: &mut Vec<Finding>) {
    let (mut all, mut exact, mut by_chance, mut first) = (0_usize, 0_usize, 1.0_f64, None);
    for slot in &log.slots {
        let Some(numeric) = slot.numeric() else { continue };
        let (Some(window), Some(target)) = (numeric.window, numeric.target.as_ref()) else { continue };
        let (Some(low), Some(high), Some(si)) = (window.low, window.high, slot.si()) else { continue };
        let Some(instrument) = measure::instrument(log.plan, numeric).filter(|i| !i.is_role) else { continue };
        let step = instrument.resolution.si_difference().abs();
        if step <= 0.0 || (high - low) < 6.0 * step {
            continue;
        }
        all += 1;
        if (si - target.si()).abs() < 0.01 * step {
            exact += 1;
            // A hand that sets well stays within a third of the window.
            by_chance *= (3.0 * step / (high - low)).min(0.9);
            first.get_or_insert(slot);
        }
    }
    let Some(slot) = first.filter(|_| all >= 8 && 5 * exact > 4 * all) else { return };
    let message = format!(
        "run {}: {exact} of {all} set values are written exactly as planned, though their instruments show more; honest work gives that {}",
        log.run.code,
        odds(by_chance)
    );
    let finding = at_slot(log, slot, Column::Value, Code::OnTarget, message, "the first of them");
    found.push(
        finding.help("Write what the instrument shows, not what was set. If these are set values, say so in the note."),
    );
}

/// Times that follow each other to the second. Only what is written with seconds can be too regular.
fn regular(log: &Log<'_>, found: &mut Vec<Finding>) {
    let timed: Vec<(&Slot<'_>, i64)> =
        log.slots.iter().filter_map(|slot| Some((slot, slot.time().filter(|time| time.grain == 1)?.seconds))).collect();
    let mut run = 0_usize;
    for (index, triple) in timed.windows(3).enumerate() {
        let [(_, a), (_, b), (slot, c)] = triple else { continue };
        run = if c - b == b - a && c > b { run + 1 } else { 0 };
        if run < 9 {
            continue;
        }
        let Some((start, _)) = timed.get(index + 1 - run) else { return };
        // Two gaps agree to the second once in about ten times, from memory.
        let message = format!(
            "run {}: {} times in a row lie {} s apart to the second; honest work gives that {}",
            log.run.code,
            run + 2,
            c - b,
            odds(0.1_f64.powi(i32::try_from(run).unwrap_or(9)))
        );
        let finding = at_slot(log, slot, Column::Time, Code::TooRegular, message, "until here");
        let finding = match start.current() {
            Some(row) => finding.also(row.record.source, row.cell(Column::Time).span, "from here"),
            None => finding,
        };
        found
            .push(finding.help("Ask how the times were taken. If they were filled in afterwards, say so in the note."));
        return;
    }
}

/// Repeats of one reading that are more alike than an instrument's last digit lets them be.
fn alike(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut groups: IndexMap<(String, &str), Vec<(&Slot<'_>, f64)>> = IndexMap::new();
    for slot in &log.slots {
        let path = slot.reading.path.as_str();
        let Some((prefix, _)) = path.split_once("/repeat-") else { continue };
        let Some(numeric) = slot.numeric().filter(|n| n.window.is_none()) else { continue };
        if let Some(si) = slot.si().filter(|_| !matches!(numeric.measures, Measures::Temperature)) {
            groups.entry((prefix.to_owned(), slot.reading.name.as_str())).or_default().push((slot, si));
        }
    }
    for ((_, name), group) in groups.iter().filter(|(_, group)| group.len() >= 5) {
        let Some((slot, value)) = group.last() else { continue };
        let Some(instrument) = slot.numeric().and_then(|n| measure::instrument(log.plan, n)).filter(|i| !i.is_role)
        else {
            continue;
        };
        let step = instrument.resolution.si_difference().abs();
        let equal = group.iter().all(|(_, other)| (other - value).abs() < 0.01 * step);
        if !equal || value.abs() < 20.0 * step {
            continue;
        }
        let noise = 0.01 * value.abs() / step;
        let by_chance = agreement(noise).powi(i32::try_from(group.len() - 1).unwrap_or(4));
        let message = format!(
            "run {}: all {} repeats of `{name}` are the same to the last digit; honest work gives that {}",
            log.run.code,
            group.len(),
            odds(by_chance)
        );
        let finding = at_slot(log, slot, Column::Value, Code::TooAlike, message, "the last of them");
        let finding = with_row(finding, group.first().and_then(|(slot, _)| slot.current()), "the first of them");
        found.push(finding.help("Ask whether each was read anew."));
    }
}

fn photographs(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut seen: IndexMap<String, &Slot<'_>> = IndexMap::new();
    for slot in log.slots.iter().filter(|slot| matches!(slot.reading.wants, crate::plan::Wants::Photograph)) {
        let Some(row) = slot.current() else { continue };
        let name = row.text(Column::Value).to_lowercase();
        if name.is_empty() || name == "nd" {
            continue;
        }
        let Some(first) = seen.get(&name) else {
            seen.insert(name, slot);
            continue;
        };
        let message = format!(
            "run {}: `{}` stands for step {} and for step {}",
            log.run.code,
            row.text(Column::Value),
            first.step.number,
            slot.step.number
        );
        let finding = at_slot(log, slot, Column::Value, Code::PhotographReused, message, "the second time");
        found.push(
            with_row(finding, first.current(), "the first time")
                .help("Look at the picture: for which of the two steps was it taken? The other one is missing."),
        );
    }
}

/// Five measured values in a row that stand in another run in the same order.
fn copied_blocks(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    // At least five values, and as many as it takes that honest work would hardly repeat them.
    const LEAST: usize = 5;
    const MOST: usize = 14;
    // One series a name: the gauges beside it may have been read all the same.
    let mut all: Vec<(usize, Vec<Noisy<'_, '_>>)> = Vec::new();
    for (run, log) in logs.iter().enumerate() {
        let mut names: IndexMap<&str, Vec<Noisy<'_, '_>>> = IndexMap::new();
        for one in noisy(log) {
            names.entry(one.slot.reading.name.as_str()).or_default().push(one);
        }
        all.extend(names.into_values().map(|values| (run, values)));
    }
    let mut seen: IndexMap<(usize, Vec<i64>), (usize, usize)> = IndexMap::new();
    for (index, (run, values)) in all.iter().enumerate() {
        let Some(log) = logs.get(*run) else { continue };
        let mut told = false;
        for start in 0..values.len() {
            let mut by_chance = 1.0;
            let mut length = 0;
            for one in values.iter().skip(start).take(MOST) {
                by_chance *= agreement(one.noise);
                length += 1;
                if length >= LEAST && by_chance < 1e-5 {
                    break;
                }
            }
            let Some(block) = values.get(start..start + length).filter(|_| length >= LEAST && by_chance < 1e-5) else {
                continue;
            };
            let key = (log.run.test, block.iter().map(|one| one.marks).collect::<Vec<_>>());
            let Some((other, at)) =
                seen.get(&key).copied().filter(|(other, _)| all.get(*other).is_some_and(|(of, _)| of != run))
            else {
                seen.entry(key).or_insert((index, start));
                continue;
            };
            if std::mem::replace(&mut told, true) {
                continue;
            }
            let (Some(first), Some(from), Some(earlier)) = (
                block.first(),
                all.get(other).and_then(|(_, values)| values.get(at)),
                all.get(other).and_then(|(of, _)| logs.get(*of)),
            ) else {
                continue;
            };
            let longer = (length..).take_while(|more| {
                let here = values.get(start + more).map(|one| one.marks);
                here.is_some() && here == all.get(other).and_then(|(_, v)| v.get(at + more)).map(|one| one.marks)
            });
            let whole = length + longer.count();
            let message = format!(
                "run {}: {whole} measured values from `{}` on are those of run {}, digit by digit; honest work gives {length} of them {}",
                log.run.code,
                first.slot.reading.path,
                earlier.run.code,
                odds(by_chance)
            );
            let finding = at_slot(log, first.slot, Column::Value, Code::BlockCopied, message, "from here");
            let finding = with_row(finding, from.slot.current(), "and from here");
            found.push(finding.help("Compare both with their sheets: a form may have been filled for the wrong run, or saved under two names."));
        }
    }
}

/// Last digits of noisy values by the hand that wrote them.
fn last_digits(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    let mut hands: IndexMap<&str, (Vec<usize>, Option<Filled<'_>>)> = IndexMap::new();
    for log in logs {
        for one in noisy(log) {
            let (Some(row), true) = (one.slot.current(), one.noise >= 1.0 && one.marks.abs() >= 100) else { continue };
            let entry = hands.entry(row.text(Column::By)).or_insert_with(|| (vec![0; 10], Some(row)));
            let digit = usize::try_from(one.marks.abs() % 10).unwrap_or(0);
            if let Some(count) = entry.0.get_mut(digit) {
                *count += 1;
            }
        }
    }
    for (hand, (counts, row)) in hands {
        let total: usize = counts.iter().sum();
        let (Some(row), true) = (row, total >= 50) else { continue };
        #[expect(clippy::cast_precision_loss, reason = "a few thousand digits")]
        let expected = total as f64 / 10.0;
        #[expect(clippy::cast_precision_loss, reason = "a few thousand digits")]
        let chi: f64 = counts.iter().map(|count| (*count as f64 - expected).powi(2) / expected).sum();
        let Ok(by_chance) = chi_squared_survival(chi, 9.0) else { continue };
        if by_chance >= 1e-4 {
            continue;
        }
        let Some((digit, count)) = counts.iter().enumerate().max_by_key(|(_, count)| **count) else { continue };
        let message = format!(
            "of {total} last digits written by `{hand}`, {count} are {digit}, where {expected:.0} are to be expected (χ² = {chi:.1}); honest work gives that {}",
            odds(by_chance)
        );
        let finding = at_row(row, Column::By, Code::LastDigits, message, "the first of them");
        found.push(finding.help("Ask how the scale is read: a needle between marks is rounded to 0 and 5 by many. Then it is the resolution that is coarser than the plan says."));
    }
}
