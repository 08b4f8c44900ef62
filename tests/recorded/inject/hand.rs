//! What a hand can do to the values of a sheet.

use loopleaf::record::Column;

use super::kinds::at;
use super::places::{clear, doubt, fine_sweep, marks, numeric, rounds, sweep};
use super::{Case, Dice, Spoilt};
use crate::recorded::bench::Sheet;

pub(super) type Row = Vec<String>;

impl Sheet {
    pub(crate) fn copy(&self) -> Sheet {
        Sheet { run: self.run.clone(), rows: self.rows.clone() }
    }
}

pub(super) fn text(row: &Row, column: Column) -> &str {
    &row[column.index()]
}

pub(super) fn path(row: &Row) -> &str {
    text(row, Column::Reading)
}

pub(super) fn unit(row: &Row) -> &str {
    text(row, Column::Unit)
}

pub(super) fn number(row: &Row) -> Option<f64> {
    text(row, Column::Value).parse().ok()
}

pub(super) fn decimals(row: &Row) -> usize {
    text(row, Column::Value).split_once('.').map_or(0, |(_, fraction)| fraction.len())
}

pub(super) fn is_filled(row: &Row) -> bool {
    !text(row, Column::Value).is_empty()
}

pub(super) fn is_number(row: &Row) -> bool {
    !unit(row).is_empty() && number(row).is_some()
}

pub(super) fn in_round(row: &Row) -> bool {
    path(row).contains("/batch-")
}

pub(super) fn is_dose(row: &Row) -> bool {
    path(row).ends_with("/dose") || path(row).ends_with("conditioning-dose")
}

/// The reading at which a loop ends or from which it counts.
pub(super) fn decides(row: &Row) -> bool {
    (in_round(row) && path(row).ends_with("/dp")) || path(row).ends_with("clean-dp")
}

pub(super) fn is_bottle(row: &Row) -> bool {
    text(row, Column::What) == "bottle drawn" && is_filled(row)
}

/// A window with two ends that the operator has to keep.
pub(super) fn window(row: &Row) -> Option<(f64, f64)> {
    let (low, high) = text(row, Column::Window).split_once(" to ")?;
    Some((low.parse().ok()?, high.parse().ok()?))
}

pub(super) fn is_set(row: &Row) -> bool {
    is_number(row) && window(row).is_some()
}

pub(super) fn is_measured_drop(row: &Row) -> bool {
    is_number(row) && path(row).ends_with("/dp") && window(row).is_none()
}

/// A row in the middle of the first sheet that something holds of.
pub(super) fn middle(case: &Case, dice: &mut Dice, holds: impl Fn(&Row) -> bool) -> Option<usize> {
    let rows = &case.sheets[0].rows;
    let last = rows.iter().rposition(is_filled)?;
    let fitting: Vec<usize> =
        (3..last.saturating_sub(2)).filter(|row| is_filled(&rows[*row]) && holds(&rows[*row])).collect();
    dice.pick(&fitting).copied()
}

pub(super) fn put(case: &mut Case, row: usize, column: Column, text: &str) {
    case.sheets[0].rows[row][column.index()] = text.to_owned();
}

/// A value beyond every limit on hot oil that a shipped protocol has.
pub(super) fn case_limit(row: &Row) -> Option<String> {
    let oil = is_number(row)
        && text(row, Column::What) == "temperature"
        && !path(row).contains("room")
        && !path(row).contains("cooled");
    let value = number(row).filter(|_| oil && text(row, Column::Instrument) == "inlet-probe")?;
    (unit(row) == "°C" && value > 20.0).then(|| "99.0".to_owned())
}

/// An oil temperature that is read and not set.
pub(super) fn case_free_temperature(row: &Row) -> bool {
    path(row).ends_with("/temperature")
        && unit(row) == "°C"
        && text(row, Column::Window).starts_with("expect")
        && path(row).contains("ing/")
}

/// A value made larger or smaller, with as many decimals as it had.
fn scale(case: &mut Case, row: usize, by: f64) -> Option<()> {
    let decimals = decimals(&case.sheets[0].rows[row]);
    let value = number(&case.sheets[0].rows[row])? * by;
    put(case, row, Column::Value, &format!("{value:.decimals$}"));
    Some(())
}

/// From some flow on the readings lie below the one before, in both directions.
pub(super) fn sweep_kink(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    let from = 1 + dice.below(rising.len() - 1);
    if !clear(case, rising[from - 1], 16.0) || !clear(case, falling[from - 1], 16.0) {
        return None;
    }
    let mut rows = Vec::new();
    for leg in [&rising, &falling] {
        let (before, first) = (leg[from - 1], leg[from]);
        let ratio = 0.72 * number(&case.sheets[0].rows[before])? / number(&case.sheets[0].rows[first])?;
        for row in &leg[from..] {
            scale(case, *row, ratio)?;
        }
        rows.extend([(0, first), (0, before)]);
    }
    Some(Spoilt { rows })
}

/// From some flow on the pressure hardly rises, in both directions.
pub(super) fn knee(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    if rising.len() < 5 {
        return None;
    }
    // The by-pass opens after at least one rise that can be told, and before two more flows.
    let open = 1 + dice.below(rising.len() - 3);
    if !clear(case, rising[open - 1], 12.0) {
        return None;
    }
    let mut rows = Vec::new();
    for leg in [&rising, &falling] {
        let top = number(&case.sheets[0].rows[leg[open]])?;
        for (index, row) in leg.iter().enumerate().skip(open + 1) {
            let ratio = top * (1.0 + 0.02 * (index - open) as f64) / number(&case.sheets[0].rows[*row])?;
            scale(case, *row, ratio)?;
            rows.push((0, *row));
        }
    }
    Some(Spoilt { rows })
}

/// A factor by which a reading between two others can be wrong and still lie between them.
fn between(case: &Case, leg: &[usize], index: usize, dice: &mut Dice, least: f64, most: f64) -> Option<f64> {
    let value = |at: usize| number(&case.sheets[0].rows[*leg.get(at)?]);
    let (before, here, next) = (value(index - 1)?, value(index)?, value(index + 1)?);
    let (up, down) = ((0.96 * next / here).min(most), (1.04 * before / here).max(1.0 / most));
    let ways: Vec<f64> =
        [(up >= least, up), (down <= 1.0 / least, down)].into_iter().filter(|way| way.0).map(|way| way.1).collect();
    dice.pick(&ways).copied()
}

/// One reading of a direction is a quarter or a half off the other direction's.
pub(super) fn directions(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    let index = 1 + dice.below(rising.len() - 2);
    let (spoilt, other) = if dice.below(2) == 0 { (&rising, &falling) } else { (&falling, &rising) };
    if !clear(case, spoilt[index], 16.0) {
        return None;
    }
    // Above the next flow's or below the last it would be another kind.
    let by = between(case, spoilt, index, dice, 1.25, 1.45)?;
    scale(case, spoilt[index], by)?;
    Some(Spoilt { rows: vec![(0, spoilt[index]), (0, other[index])] })
}

/// The readings of one flow lie high, or low, in both directions.
pub(super) fn off_curve(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    let index = 1 + dice.below(rising.len() - 2);
    if rising.len() < 5 || !clear(case, rising[index], 40.0) {
        return None;
    }
    let by = between(case, &rising, index, dice, 1.3, 1.5)?;
    // What is off may be seen best at a flow beside it: the whole sweep is due.
    let rows = rising.iter().chain(&falling).map(|row| (0, *row)).collect();
    for leg in [&rising, &falling] {
        scale(case, leg[index], by)?;
    }
    Some(Spoilt { rows })
}

/// The zeros before and after lie at the two ends of what is allowed.
pub(super) fn zero_moved(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let zeros: Vec<usize> =
        (0..rows.len()).filter(|row| path(&rows[*row]).contains("/zero-") && is_set(&rows[*row])).collect();
    let stage = |row: usize| path(&rows[row]).split('/').next().unwrap_or_default().to_owned();
    let pairs: Vec<(usize, usize)> = zeros
        .windows(2)
        .filter(|pair| {
            stage(pair[0]) == stage(pair[1])
                && text(&rows[pair[0]], Column::Instrument) == text(&rows[pair[1]], Column::Instrument)
        })
        .map(|pair| (pair[0], pair[1]))
        .collect();
    let (before, after) = *dice.pick(&pairs)?;
    let ((low, up), (down, high)) = (window(&rows[before])?, window(&rows[after])?);
    let (first, then) = if dice.below(2) == 0 { (low, high) } else { (up, down) };
    let decimals = decimals(&rows[before]);
    put(case, before, Column::Value, &format!("{first:.decimals$}"));
    put(case, after, Column::Value, &format!("{then:.decimals$}"));
    at(after)
}

/// The housing alone restricts more than with the element in it.
pub(super) fn tare_above(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    let prefix = path(&case.sheets[0].rows[rising[0]]).split("/rising/").next()?.replace("sweep", "tare");
    let housing: Vec<usize> = {
        let rows = case.sheets[0].rows.iter().enumerate();
        rows.filter(|(_, row)| path(row).starts_with(&format!("{prefix}/")) && is_measured_drop(row))
            .map(|(at, _)| at)
            .collect()
    };
    if housing.len() != 2 * rising.len() {
        return None;
    }
    // Typed into each other's rows, both directions.
    let assembly: Vec<usize> = rising.iter().copied().chain(falling.iter().rev().copied()).collect();
    let mut rows = Vec::new();
    for (one, other) in housing.iter().zip(&assembly) {
        let values = [*one, *other].map(|row| text(&case.sheets[0].rows[row], Column::Value).to_owned());
        put(case, *one, Column::Value, &values[1]);
        put(case, *other, Column::Value, &values[0]);
        rows.push((0, *other));
    }
    Some(Spoilt { rows })
}

/// The gauge before the specimen reads less than what is lost across it.
pub(super) fn inlet_below(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let places = (0..rows.len()).filter(|row| path(&rows[*row]).ends_with("inlet-pressure") && is_number(&rows[*row]));
    let places: Vec<(usize, usize, f64)> = places
        .filter_map(|row| {
            let drop = (row..row + 3).find(|row| rows.get(*row).is_some_and(is_measured_drop))?;
            let (before, across) = (number(&rows[row])?, number(&rows[drop])?);
            let room = doubt(case, row)? + doubt(case, drop)?;
            let wrong = 0.94 * across - 1.2 * room;
            // Wrong, but not so far that the flows or rounds beside it tell.
            (wrong > 0.7 * before && wrong > 0.0).then_some((row, drop, wrong))
        })
        .collect();
    let (row, drop, wrong) = *dice.pick(&places)?;
    let decimals = decimals(&rows[row]);
    put(case, row, Column::Value, &format!("{wrong:.decimals$}"));
    at(drop)
}

/// A medium tears: from one round on the pressure lies lower by a third.
pub(super) fn dropped(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let rounds = rounds(&case.sheets[0]);
    if rounds.len() < 5 {
        return None;
    }
    let from = 2 + dice.below(rounds.len() - 4);
    clear(case, rounds[from - 1], 16.0).then_some(())?;
    let rows = &case.sheets[0].rows;
    let ratio = 0.72 * number(&rows[rounds[from - 1]])? / number(&rows[rounds[from]])?;
    let first = rounds[from];
    for row in rounds.into_iter().skip(from) {
        scale(case, row, ratio)?;
    }
    at(first)
}

/// A differential pressure and the temperature below it stand in each other's row.
pub(super) fn exchanged(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let row = middle(case, dice, |row| {
        path(row).contains("ing/")
            && is_measured_drop(row)
            && decimals(row) == 1
            && number(row).is_some_and(|value| value < 12.0)
    })?;
    let other = row + 1;
    case_free_temperature(&case.sheets[0].rows[other]).then_some(())?;
    let values = [row, other].map(|row| text(&case.sheets[0].rows[row], Column::Value).to_owned());
    put(case, row, Column::Value, &values[1]);
    put(case, other, Column::Value, &values[0]);
    at(row)
}

/// What a pressure in the planned unit reads on a scale that a gauge of the other trade has: the value, and its decimals.
fn other_scale(case: &Case, row: usize) -> Option<(f64, usize)> {
    let value = number(&case.sheets[0].rows[row])?;
    match unit(&case.sheets[0].rows[row]) {
        "kPa" => Some((value / 6.894_757, 2)),
        "psi" => Some((value * 6.894_757, 1)),
        _ => None,
    }
}

/// The readings of one flow were taken from the gauge's other scale.
pub(super) fn unit_changed(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    let index = dice.below(rising.len());
    let mut rows = Vec::new();
    for row in [rising[index], falling[index]] {
        clear(case, row, 16.0).then_some(())?;
        let (value, decimals) = other_scale(case, row)?;
        put(case, row, Column::Value, &format!("{value:.decimals$}"));
        rows.push((0, row));
    }
    Some(Spoilt { rows })
}

/// One reading of a sweep was taken from the gauge's other scale.
pub(super) fn other_unit(case: &mut Case, dice: &mut Dice, planned: &str) -> Option<Spoilt> {
    let (rising, falling) = sweep(case, dice)?;
    // Beyond a limit that stops the run it would be another kind.
    let allowed = |row: &usize| {
        let limit = numeric(case, *row).and_then(|numeric| numeric.stop?.high.map(|high| numeric.unit.from_si(high)));
        limit.is_none_or(|limit| other_scale(case, *row).is_some_and(|(value, _)| value < limit))
    };
    let rows = rising.into_iter().chain(falling).filter(|row| clear(case, *row, 16.0));
    let rows: Vec<usize> = rows.filter(|row| unit(&case.sheets[0].rows[*row]) == planned && allowed(row)).collect();
    let row = *dice.pick(&rows)?;
    let (value, decimals) = other_scale(case, row)?;
    put(case, row, Column::Value, &format!("{value:.decimals$}"));
    at(row)
}

/// A set value was written in the other trade's unit.
pub(super) fn converted(
    case: &mut Case,
    dice: &mut Dice,
    planned: &str,
    decimals: usize,
    convert: fn(f64) -> f64,
) -> Option<Spoilt> {
    let row = middle(case, dice, |row| unit(row) == planned && is_set(row) && number(row).is_some_and(|v| v > 0.0))?;
    let value = convert(number(&case.sheets[0].rows[row])?);
    put(case, row, Column::Value, &format!("{value:.decimals$}"));
    at(row)
}

pub(super) fn leg_copied(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = fine_sweep(&case.sheets[0], dice)?;
    let mut rows = Vec::new();
    for (one, other) in rising.iter().zip(&falling) {
        let value = text(&case.sheets[0].rows[*one], Column::Value).to_owned();
        put(case, *other, Column::Value, &value);
        rows.push((0, *other));
    }
    Some(Spoilt { rows })
}

pub(super) fn block_copied(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = fine_sweep(&case.sheets[1], dice)?;
    let mut rows = Vec::new();
    for row in rising.into_iter().chain(falling) {
        if path(&case.sheets[0].rows[row]) != path(&case.sheets[1].rows[row]) {
            return None;
        }
        let value = text(&case.sheets[1].rows[row], Column::Value).to_owned();
        put(case, row, Column::Value, &value);
        // What stands before may agree by itself, and then the block begins there.
        rows.extend((0..=row).flat_map(|row| [(0, row), (1, row)]));
    }
    Some(Spoilt { rows })
}

/// Every set value is written as the plan has it.
pub(super) fn on_target(case: &mut Case) -> Option<Spoilt> {
    let mut written = 0;
    for index in 0..case.sheets[0].rows.len() {
        let row = &case.sheets[0].rows[index];
        if !is_set(row) || path(row).contains("zero-") {
            continue;
        }
        let Some(numeric) = numeric(case, index) else { continue };
        let Some(target) = numeric.target.as_ref().map(|target| numeric.unit.from_si(target.si())) else { continue };
        let text = format!("{target:.0$}", decimals(row));
        put(case, index, Column::Value, &text);
        written += 1;
    }
    let due = (0..case.sheets[0].rows.len()).map(|row| (0, row)).collect();
    (written >= 12).then_some(Spoilt { rows: due })
}

/// The differential pressures of the rounds between two lie on a straight line, to the last digit.
pub(super) fn straight(case: &mut Case) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let rounds = rounds(&case.sheets[0]);
    if rounds.len() < 8 {
        return None;
    }
    let (from, to) = (1, rounds.len() - 2);
    let (low, high) = (number(&rows[rounds[from]])?, number(&rows[rounds[to]])?);
    let places = decimals(&rows[rounds[from]]);
    let grid = 10_f64.powi(i32::try_from(places).unwrap());
    let step = ((high - low) / (to - from) as f64 * grid).floor() / grid;
    if step < 2.0 / grid || marks(&rows[rounds[from]]) < 100.0 {
        return None;
    }
    let mut due = Vec::new();
    for (index, row) in rounds.iter().enumerate().take(to + 1).skip(from) {
        let value = low + step * (index - from) as f64;
        put(case, *row, Column::Value, &format!("{value:.places$}"));
        due.push((0, *row));
    }
    Some(Spoilt { rows: due })
}
