//! What a hand can do to the times of a sheet.

use loopleaf::plan::Action;
use loopleaf::record::{Column, Instant};

use super::hand::{is_filled, middle, path, put, text};
use super::kinds::at;
use super::places::{after_a_wait, step};
use super::{Case, Dice, Spoilt};
use crate::recorded::bench::Sheet;

fn time(sheet: &Sheet, row: usize) -> Option<Instant> {
    Instant::parse(text(&sheet.rows[row], Column::Time))
}

/// Every time of a sheet from a row on, moved.
fn shift(sheet: &mut Sheet, from: usize, seconds: i64) {
    for row in from..sheet.rows.len() {
        if let Some(mut time) = time(sheet, row) {
            time.seconds += seconds;
            sheet.rows[row][Column::Time.index()] = time.text();
        }
    }
}

pub(super) fn backwards(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let row = middle(case, dice, is_filled)?;
    let mut earlier = time(&case.sheets[0], row)?;
    let before = time(&case.sheets[0], row - 1)?;
    // A day too early lies before everything else of the day's run.
    let first = time(&case.sheets[0], case.sheets[0].rows.iter().position(is_filled)?)?;
    earlier.seconds -= 86_400;
    if earlier.seconds > first.seconds || before.seconds < earlier.seconds {
        return None;
    }
    put(case, row, Column::Time, &earlier.text());
    at(row)
}

/// A whole run on another day.
pub(super) fn shifted(case: &mut Case, days: i64) -> Option<Spoilt> {
    // The first run may go farther back, the last one farther on, without being out of order.
    let sheet = if days < 0 { 0 } else { case.sheets.len() - 1 };
    shift(&mut case.sheets[sheet], 0, days * 86_400);
    let first = case.sheets[sheet].rows.iter().position(is_filled)?;
    Some(Spoilt { rows: vec![(sheet, first)] })
}

fn begins(sheet: &Sheet) -> Option<Instant> {
    (0..sheet.rows.len()).find_map(|row| time(sheet, row))
}

pub(super) fn overlap(case: &mut Case) -> Option<Spoilt> {
    let (first, second) = (begins(&case.sheets[0])?, begins(&case.sheets[1])?);
    shift(&mut case.sheets[1], 0, first.seconds - second.seconds + 1200);
    let row = case.sheets[1].rows.iter().position(|row| !text(row, Column::Time).is_empty())?;
    Some(Spoilt { rows: vec![(1, row)] })
}

pub(super) fn exchanged_days(case: &mut Case) -> Option<Spoilt> {
    let (first, second) = (begins(&case.sheets[0])?, begins(&case.sheets[1])?);
    let days = (second.seconds - first.seconds).div_euclid(86_400);
    if days < 1 {
        return None;
    }
    shift(&mut case.sheets[0], 0, days * 86_400);
    shift(&mut case.sheets[1], 0, -days * 86_400);
    let row = case.sheets[1].rows.iter().position(|row| !text(row, Column::Time).is_empty())?;
    Some(Spoilt { rows: vec![(1, row)] })
}

/// Everything from a reading on comes sooner than its wait allows: after a third of it.
pub(super) fn wait(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let (row, wait) = after_a_wait(case, dice, 60.0)?;
    let passed = time(&case.sheets[0], row)?.seconds - time(&case.sheets[0], row - 1)?.seconds;
    shift(&mut case.sheets[0], row, (wait / 3.0) as i64 - passed);
    at(row)
}

/// Five rows of as many steps are written at one time, the last of them.
pub(super) fn together(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let quick = |row: usize| {
        step(case, row).filter(|step| {
            matches!(
                step.action,
                Action::Confirm { .. }
                    | Action::TakeRoute { .. }
                    | Action::Valve { .. }
                    | Action::Switch { .. }
                    | Action::Vent
                    | Action::Zero { .. }
                    | Action::Mount { .. }
                    | Action::Remove
                    | Action::Observe
                    | Action::Photograph
                    | Action::HoldPoint { .. }
            )
        })
    };
    let sheet = &case.sheets[0];
    // Work between two waits: no step without a row lies between, so no wait does.
    let whole = |row: &usize| {
        let steps: Vec<u32> = (*row..row + 5).filter_map(|row| quick(row).map(|step| step.number)).collect();
        let filled = (*row..row + 5).all(|row| time(sheet, row).is_some());
        filled && steps.len() == 5 && steps.windows(2).all(|pair| pair[1] == pair[0] + 1)
    };
    let rows: Vec<usize> = (0..sheet.rows.len().saturating_sub(5)).filter(whole).collect();
    let row = *dice.pick(&rows)?;
    let last = text(&sheet.rows[row + 4], Column::Time).to_owned();
    for row in row..row + 5 {
        put(case, row, Column::Time, &last);
    }
    at(row)
}

pub(super) fn regular(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let rows = &case.sheets[0].rows;
    let places: Vec<usize> = (5..rows.len().saturating_sub(30))
        .filter(|row| (*row..row + 14).all(|row| path(&rows[row]).contains("/rising/")))
        .collect();
    let from = *dice.pick(&places)?;
    let start = time(&case.sheets[0], from)?;
    let end = from + 14;
    let last = time(&case.sheets[0], end - 1)?;
    // As long as before, so that every wait is kept; the gap is the longest one between two.
    let gaps = (from + 1..end)
        .filter_map(|row| Some(time(&case.sheets[0], row)?.seconds - time(&case.sheets[0], row - 1)?.seconds));
    let gap = gaps.max()? + 5;
    let taken = gap * 13;
    shift(&mut case.sheets[0], end, taken - (last.seconds - start.seconds));
    let mut due = Vec::new();
    for (index, row) in (from..end).enumerate() {
        let then = Instant { seconds: start.seconds + gap * i64::try_from(index).ok()?, grain: 1 };
        put(case, row, Column::Time, &then.text());
        due.push((0, row));
    }
    Some(Spoilt { rows: due })
}

/// The second bottle of a pair comes twenty minutes after the first, and everything after it too.
pub(super) fn pair_apart(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let row = middle(case, dice, |row| super::hand::is_bottle(row) && path(row).ends_with("/up"))?;
    path(&case.sheets[0].rows[row - 1]).ends_with("/down").then_some(())?;
    shift(&mut case.sheets[0], row, 1200);
    Some(Spoilt { rows: vec![(0, row), (0, row - 1)] })
}

/// Both bottles of a pair are drawn half an hour late.
pub(super) fn late_bottle(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let row = middle(case, dice, |row| {
        super::hand::is_bottle(row) && path(row).starts_with("loading/") && path(row).ends_with("/down")
    })?;
    // Without a partner the bottle behind is drawn alone.
    path(case.sheets[0].rows.get(row + 1)?).ends_with("/up").then_some(())?;
    shift(&mut case.sheets[0], row, 1800);
    Some(Spoilt { rows: vec![(0, row), (0, row + 1)] })
}

/// The oil is warm a minute after it was cold.
pub(super) fn heated(case: &mut Case, dice: &mut Dice) -> Option<Spoilt> {
    let sheet = &mut case.sheets[0];
    let oil: Vec<usize> = (0..sheet.rows.len())
        .filter(|row| path(&sheet.rows[*row]).ends_with("hold-viscosity") && is_filled(&sheet.rows[*row]))
        .collect();
    let value = |row: usize| super::hand::number(&sheet.rows[row]);
    let pairs: Vec<(usize, usize)> = oil
        .windows(2)
        .filter(|pair| {
            let one = text(&sheet.rows[pair[0]], Column::Instrument) == text(&sheet.rows[pair[1]], Column::Instrument);
            one && value(pair[1]).zip(value(pair[0])).is_some_and(|(warm, cold)| warm - cold > 40.0)
        })
        .map(|pair| (pair[0], pair[1]))
        .collect();
    let (cold, warm) = *dice.pick(&pairs)?;
    let passed = time(sheet, warm)?.seconds - time(sheet, cold)?.seconds;
    // Everything between comes in the minute too.
    for row in cold + 1..warm {
        sheet.blank(row);
    }
    shift(sheet, warm, 60 - passed);
    at(warm)
}
