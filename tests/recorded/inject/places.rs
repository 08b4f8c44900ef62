//! Where in a record a departure can be made: what the plan says of a row, its sweeps, its rounds.

use loopleaf::plan::{Accuracy, Action, Instrument, Numeric, Step, Wants};
use loopleaf::record::Column;

use super::hand::{Row, decimals, in_round, is_filled, is_measured_drop, number, path, text};
use super::{Case, Dice};
use crate::recorded::bench::Sheet;

/// The planned step of a row of the first sheet.
pub(super) fn step(case: &Case, row: usize) -> Option<&Step> {
    let sheet = &case.sheets[0];
    let test = case.plan.test_of(case.plan.run(&sheet.run)?)?;
    let path = path(sheet.rows.get(row)?);
    test.steps.iter().find(|step| step.readings.iter().any(|reading| reading.path == path))
}

/// What the plan says of the number in a row of the first sheet.
pub(super) fn numeric(case: &Case, row: usize) -> Option<&Numeric> {
    let path = path(case.sheets[0].rows.get(row)?);
    let reading = step(case, row)?.readings.iter().find(|reading| reading.path == path)?;
    if let Wants::Number(numeric) = &reading.wants { Some(numeric) } else { None }
}

pub(super) fn instrument(case: &Case, row: usize) -> Option<&Instrument> {
    case.plan.instruments.get(text(case.sheets[0].rows.get(row)?, Column::Instrument))
}

/// How far a reading may honestly be off, in its own unit: accuracy and one step of the scale.
pub(super) fn doubt(case: &Case, row: usize) -> Option<f64> {
    fn off(accuracy: &Accuracy, span: f64, si: f64) -> f64 {
        match accuracy {
            Accuracy::OfSpan(share) => share * span,
            Accuracy::OfReading(share) => share * si.abs(),
            Accuracy::Absolute(amount) => amount.si_difference().abs(),
            Accuracy::WorstOf(terms) => terms.iter().map(|term| off(term, span, si)).fold(0.0, f64::max),
        }
    }
    let (instrument, unit) = (instrument(case, row)?, &numeric(case, row)?.unit);
    let range = instrument.range.window;
    let span = range.high? - range.low.unwrap_or(0.0);
    let si = unit.to_si(number(&case.sheets[0].rows[row])?);
    Some(unit.from_si_difference(off(&instrument.accuracy, span, si) + instrument.resolution.si_difference().abs()))
}

/// Whether a value is so many times what its gauge may be off.
pub(super) fn clear(case: &Case, row: usize, times: f64) -> bool {
    let value = number(&case.sheets[0].rows[row]);
    value.zip(doubt(case, row)).is_some_and(|(value, doubt)| value >= times * doubt)
}

/// How many marks of its scale a value covers.
pub(super) fn marks(row: &Row) -> f64 {
    let places = i32::try_from(decimals(row)).unwrap();
    number(row).unwrap_or(0.0) * 10_f64.powi(places)
}

/// The readings of a sweep: rows of rising and of falling flow, each by rising flow.
pub(super) type Legs = (Vec<usize>, Vec<usize>);

/// Every sweep of a sheet that was read in both directions; the housing alone is none.
pub(super) fn sweeps(sheet: &Sheet) -> Vec<Legs> {
    let mut prefixes: Vec<&str> = Vec::new();
    for row in sheet.rows.iter().filter(|row| is_measured_drop(row) && path(row).contains("sweep/")) {
        if let Some((prefix, _)) = path(row).split_once("/rising/")
            && !prefixes.contains(&prefix)
        {
            prefixes.push(prefix);
        }
    }
    let leg = |prefix: &str, name: &str| -> Vec<usize> {
        let begins = format!("{prefix}/{name}/");
        let rows = sheet.rows.iter().enumerate();
        rows.filter(|(_, row)| path(row).starts_with(&begins) && is_measured_drop(row)).map(|(at, _)| at).collect()
    };
    let both = prefixes.into_iter().map(|prefix| {
        let mut falling = leg(prefix, "falling");
        falling.reverse();
        (leg(prefix, "rising"), falling)
    });
    both.filter(|(rising, falling)| rising.len() >= 4 && falling.len() == rising.len()).collect()
}

pub(super) fn sweep(case: &Case, dice: &mut Dice) -> Option<Legs> {
    dice.pick(&sweeps(&case.sheets[0])).cloned()
}

/// A sweep whose readings cover so many marks that two honest ones hardly agree to the last.
pub(super) fn fine_sweep(sheet: &Sheet, dice: &mut Dice) -> Option<Legs> {
    let fine = |(rising, falling): &Legs| {
        let all = rising.iter().chain(falling).all(|row| marks(&sheet.rows[*row]) > 80.0);
        all && rising[1..].iter().all(|row| marks(&sheet.rows[*row]) > 250.0)
    };
    let sweeps: Vec<Legs> = sweeps(sheet).into_iter().filter(fine).collect();
    dice.pick(&sweeps).cloned()
}

/// The differential pressures after the doses.
pub(super) fn rounds(sheet: &Sheet) -> Vec<usize> {
    let rows = sheet.rows.iter().enumerate();
    rows.filter(|(_, row)| is_measured_drop(row) && in_round(row) && path(row).starts_with("loading/"))
        .map(|(at, _)| at)
        .collect()
}

/// A row that comes after a wait of at least so many seconds, with that wait.
pub(super) fn after_a_wait(case: &Case, dice: &mut Dice, least: f64) -> Option<(usize, f64)> {
    let sheet = &case.sheets[0];
    let test = case.plan.test_of(case.plan.run(&sheet.run)?)?;
    let waited = |row: usize| -> Option<(usize, f64)> {
        let (this, before) = (step(case, row)?, step(case, row - 1)?);
        let index = usize::try_from(this.number).ok()?.checked_sub(2)?;
        let (Action::Settle(dwell) | Action::Wait(dwell)) = &test.steps.get(index)?.action else { return None };
        (usize::try_from(before.number).ok()? == index && dwell.least.si() >= least).then(|| (row, dwell.least.si()))
    };
    let last = sheet.rows.iter().rposition(is_filled)?;
    let rows = (1..last).filter(|row| is_filled(&sheet.rows[*row]) && is_filled(&sheet.rows[*row - 1]));
    dice.pick(&rows.filter_map(waited).collect::<Vec<_>>()).copied()
}
