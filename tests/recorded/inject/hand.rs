//! What a hand can do to the values of a sheet.

use loopleaf::record::Column;

use super::kinds::at;
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

/// The sweep of a gauge that shows hundredths.
fn fine_sweep(sheet: &Sheet) -> Option<(Vec<usize>, Vec<usize>)> {
    let fine = |row: &Row| decimals(row) == 2 && number(row).is_some_and(|value| value > 0.8);
    let (rising, falling) = sweep_of(sheet, |row| decimals(row) == 2)?;
    rising.iter().chain(&falling).all(|row| fine(&sheet.rows[*row])).then_some((rising, falling))
}

/// The readings of a sweep: rows of rising and of falling flow, each by rising flow.
pub(super) fn sweep(sheet: &Sheet) -> Option<(Vec<usize>, Vec<usize>)> {
    sweep_of(sheet, |_| true)
}

fn sweep_of(sheet: &Sheet, holds: fn(&Row) -> bool) -> Option<(Vec<usize>, Vec<usize>)> {
    let first = sheet.rows.iter().position(|row| {
        is_measured_drop(row) && holds(row) && path(row).contains("sweep/") && path(row).contains("/rising/")
    })?;
    let prefix = path(&sheet.rows[first]).split("/rising/").next()?.to_owned();
    let leg = |name: &str| -> Vec<usize> {
        let begins = format!("{prefix}/{name}/");
        let rows = sheet.rows.iter().enumerate();
        rows.filter(|(_, row)| path(row).starts_with(&begins) && is_measured_drop(row)).map(|(at, _)| at).collect()
    };
    let mut falling = leg("falling");
    falling.reverse();
    let rising = leg("rising");
    (rising.len() >= 4 && falling.len() == rising.len()).then_some((rising, falling))
}

/// The bench of the tests reads its sweep under `sweep/…`, the shipped ones under `…-sweep/…`.
fn scale(case: &mut Case, row: usize, by: f64) -> Option<()> {
    let decimals = decimals(&case.sheets[0].rows[row]);
    let value = number(&case.sheets[0].rows[row])? * by;
    put(case, row, Column::Value, &format!("{value:.decimals$}"));
    Some(())
}

fn large(case: &Case, rows: &[usize], than: f64) -> bool {
    rows.iter().all(|row| number(&case.sheets[0].rows[*row]).is_some_and(|value| value > than))
}

/// The last flow's reading lies below the one before it, in both directions.
pub(super) fn sweep_kink(case: &mut Case, _dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(&case.sheets[0])?;
    if !large(case, &rising[rising.len() - 2..], 8.0) {
        return None;
    }
    let mut rows = Vec::new();
    for leg in [&rising, &falling] {
        let (before, last) = (leg[leg.len() - 2], leg[leg.len() - 1]);
        let ratio = number(&case.sheets[0].rows[before])? / number(&case.sheets[0].rows[last])?;
        scale(case, last, ratio * 0.72)?;
        rows.extend([(0, last), (0, before)]);
    }
    Some(Spoilt { rows })
}

/// From the third flow on the pressure hardly rises, in both directions.
pub(super) fn knee(case: &mut Case) -> Option<Spoilt> {
    let (rising, falling) = fine_sweep(&case.sheets[0])?;
    if rising.len() < 5 || !large(case, &rising[1..], 2.0) {
        return None;
    }
    let mut rows = Vec::new();
    for leg in [&rising, &falling] {
        let top = number(&case.sheets[0].rows[leg[2]])?;
        for (index, row) in leg.iter().enumerate().skip(3) {
            let ratio = top * (1.0 + 0.02 * (index as f64 - 2.0)) / number(&case.sheets[0].rows[*row])?;
            scale(case, *row, ratio)?;
            rows.push((0, *row));
        }
    }
    Some(Spoilt { rows })
}

/// One reading of a direction is a quarter higher than the other direction's.
pub(super) fn directions(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(&case.sheets[0])?;
    let index = 1 + dice.below(rising.len() - 2);
    if !large(case, &rising[index..=index], 8.0) {
        return None;
    }
    scale(case, falling[index], 1.36)?;
    // Above the next flow's it would be another kind.
    let value = |row: usize| number(&case.sheets[0].rows[row]);
    if value(falling[index])? > 0.97 * value(falling[index + 1])? {
        return None;
    }
    Some(Spoilt { rows: vec![(0, falling[index]), (0, rising[index])] })
}

/// The reading of one flow lies high in both directions.
pub(super) fn off_curve(case: &mut Case) -> Option<Spoilt> {
    let (rising, falling) = fine_sweep(&case.sheets[0])?;
    let index = rising.len() / 2;
    if !large(case, &rising[index - 1..], 2.0) || rising.len() < 5 {
        return None;
    }
    let mut rows = Vec::new();
    for leg in [&rising, &falling] {
        scale(case, leg[index], 1.30)?;
        rows.push((0, leg[index]));
    }
    let whole: Vec<(usize, usize)> = rising.iter().chain(&falling).map(|row| (0, *row)).collect();
    rows.extend(whole);
    let below = |row: usize| number(&case.sheets[0].rows[row]);
    // It stays below the next flow's, or it would be another kind.
    (below(rising[index])? < below(rising[index + 1])?).then_some(Spoilt { rows })
}

/// The zeros before and after lie at the two ends of what is allowed.
pub(super) fn zero_moved(case: &mut Case, _dice: &mut Dice) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let zeros: Vec<usize> =
        (0..rows.len()).filter(|row| path(&rows[*row]).contains("/zero-") && is_set(&rows[*row])).collect();
    let stage = |row: usize| path(&rows[row]).split('/').next().unwrap_or_default().to_owned();
    let pair = zeros.windows(2).find(|pair| {
        stage(pair[0]) == stage(pair[1])
            && text(&rows[pair[0]], Column::Instrument) == text(&rows[pair[1]], Column::Instrument)
    })?;
    let (before, after) = (pair[0], pair[1]);
    let ((low, _), (_, high)) = (window(&rows[before])?, window(&rows[after])?);
    let decimals = decimals(&rows[before]);
    put(case, before, Column::Value, &format!("{low:.decimals$}"));
    put(case, after, Column::Value, &format!("{high:.decimals$}"));
    at(after)
}

/// The housing alone restricts more than with the element in it.
pub(super) fn tare_above(case: &mut Case, _dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(&case.sheets[0])?;
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

pub(super) fn inlet_below(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let row = middle(case, dice, |row| path(row).ends_with("inlet-pressure") && unit(row).contains("kPa"))?;
    let drop = (row..row + 3).find(|row| case.sheets[0].rows.get(*row).is_some_and(is_measured_drop))?;
    let value = number(&case.sheets[0].rows[drop]).filter(|value| *value > 70.0)?;
    let decimals = decimals(&case.sheets[0].rows[row]);
    // Wrong, but not so far that the flows or rounds beside it tell.
    put(case, row, Column::Value, &format!("{:.decimals$}", 0.8 * value));
    at(drop)
}

/// A medium tears: from one round on the pressure lies lower by a third.
pub(super) fn dropped(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let rounds: Vec<usize> = (0..rows.len())
        .filter(|row| {
            is_measured_drop(&rows[*row]) && in_round(&rows[*row]) && path(&rows[*row]).starts_with("loading/")
        })
        .collect();
    if rounds.len() < 5 {
        return None;
    }
    let from = 2 + dice.below(rounds.len() - 4);
    let before = number(&rows[rounds[from - 1]]).filter(|value| *value > 8.0)?;
    let ratio = 0.72 * before / number(&rows[rounds[from]])?;
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

/// Two readings of a sweep were taken from the gauge's other scale.
pub(super) fn unit_changed(case: &mut Case, _dice: &mut Dice) -> Option<Spoilt> {
    let (rising, falling) = sweep(&case.sheets[0])?;
    if unit(&case.sheets[0].rows[rising[0]]) != "kPa" || rising.len() < 5 {
        return None;
    }
    let mut rows = Vec::new();
    for row in [rising[3], falling[3]] {
        let value = number(&case.sheets[0].rows[row]).filter(|value| *value > 10.0)? / 6.894_757;
        put(case, row, Column::Value, &format!("{value:.2}"));
        rows.push((0, row));
    }
    Some(Spoilt { rows })
}

pub(super) fn other_unit(
    case: &mut Case,
    dice: &mut Dice,
    planned: &str,
    decimals: usize,
    convert: fn(f64) -> f64,
) -> Option<Spoilt> {
    let (rising, falling) = sweep(&case.sheets[0])?;
    let rows: Vec<usize> = rising
        .into_iter()
        .chain(falling)
        .filter(|row| {
            unit(&case.sheets[0].rows[*row]) == planned
                && number(&case.sheets[0].rows[*row]).is_some_and(|value| value > 8.0)
        })
        .collect();
    let row = *dice.pick(&rows)?;
    let value = convert(number(&case.sheets[0].rows[row]).filter(|value| *value > 8.0)?);
    put(case, row, Column::Value, &format!("{value:.decimals$}"));
    at(row)
}

pub(super) fn leg_copied(case: &mut Case) -> Option<Spoilt> {
    let (rising, falling) = fine_sweep(&case.sheets[0])?;
    // Small values agree by themselves.
    if !large(case, &rising[1..], 2.5) {
        return None;
    }
    let mut rows = Vec::new();
    for (one, other) in rising.iter().zip(&falling) {
        let value = text(&case.sheets[0].rows[*one], Column::Value).to_owned();
        put(case, *other, Column::Value, &value);
        rows.push((0, *other));
    }
    Some(Spoilt { rows })
}

pub(super) fn block_copied(case: &mut Case) -> Option<Spoilt> {
    let (rising, falling) = fine_sweep(&case.sheets[1])?;
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

pub(super) fn on_target(case: &mut Case) -> Option<Spoilt> {
    let mut rows = Vec::new();
    for index in 0..case.sheets[0].rows.len() {
        let row = &case.sheets[0].rows[index];
        if !is_set(row) || path(row).contains("zero-") {
            continue;
        }
        let (Some((low, high)), places) = (window(row), decimals(row)) else { continue };
        if text(row, Column::What) == "temperature" {
            continue;
        }
        let middle = format!("{:.places$}", (low + high) / 2.0);
        put(case, index, Column::Value, &middle);
        rows.push((0, index));
    }
    let due = (0..case.sheets[0].rows.len()).map(|row| (0, row)).collect();
    (rows.len() >= 12 && case.campaign == "bench").then_some(Spoilt { rows: due })
}

pub(super) fn straight(case: &mut Case) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let rounds: Vec<usize> = (0..rows.len())
        .filter(|row| {
            is_measured_drop(&rows[*row]) && in_round(&rows[*row]) && path(&rows[*row]).starts_with("loading/")
        })
        .collect();
    if rounds.len() < 8 {
        return None;
    }
    let (from, to) = (1, rounds.len() - 2);
    let (low, high) = (number(&rows[rounds[from]])?, number(&rows[rounds[to]])?);
    let places = decimals(&rows[rounds[from]]);
    let grid = 10_f64.powi(i32::try_from(places).unwrap());
    let step = ((high - low) / (to - from) as f64 * grid).floor() / grid;
    if step < 2.0 / grid || low < 10.0 {
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
