//! What the rest of the record leads to expect of a value: the same reading at the other flows, in the other rounds, in
//! the other runs. Wide on purpose: honest scatter is never called strange.

use std::collections::BTreeMap;

use super::log::{Log, Slot};
use crate::plan::{Action, Measures};

/// What a value should be near.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Prediction {
    /// In SI, above zero.
    pub(super) si: f64,
    /// How far off, as a natural logarithm of the ratio, a value may be before it is strange.
    pub(super) tolerance: f64,
    /// What it is taken from.
    pub(super) from: &'static str,
    /// Whether the value that is there is stranger than that.
    pub(super) strange: bool,
}

/// A value of a series: where it stands and what it is, as a logarithm.
#[derive(Clone, Copy)]
struct Point {
    place: usize,
    x: f64,
    y: f64,
    /// What the instrument's last digit is worth, as a logarithm.
    grain: f64,
}

/// Predictions for the readings of one run that are measured and not set; by place of the slot.
pub(super) fn predictions(log: &Log<'_>, others: &[&Log<'_>]) -> BTreeMap<usize, Prediction> {
    let mut found = BTreeMap::new();
    for (points, kind) in series(log) {
        match kind {
            SeriesKind::Flows => predict(&points, at_other_flows, "the other flows", &mut found),
            SeriesKind::Rounds => predict(&points, in_other_rounds, "the rounds before and after", &mut found),
        }
    }
    for (place, slot) in log.slots.iter().enumerate() {
        if !found.contains_key(&place)
            && let Some(point) = point(log, place, slot, 0.0)
            && let Some(prediction) = in_other_runs(&point, slot, others)
        {
            found.insert(place, prediction);
        }
    }
    found
}

#[derive(Clone, Copy, PartialEq)]
enum SeriesKind {
    Flows,
    Rounds,
}

/// The readings that belong together: the same name in one stage, at several flows or in several rounds of a loop.
fn series(log: &Log<'_>) -> Vec<(Vec<Point>, SeriesKind)> {
    let mut flow: Option<f64> = None;
    let mut step = 0;
    let mut flows: BTreeMap<(usize, &str), Vec<Point>> = BTreeMap::new();
    let mut rounds: BTreeMap<(usize, &str), Vec<Point>> = BTreeMap::new();
    for (place, slot) in log.slots.iter().enumerate() {
        for passed in log.test.steps.iter().take(slot.step_index + 1).skip(step) {
            match &passed.action {
                Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => flow = setting.target.as_ref().map(super::measure::si),
                Action::UseFluid { .. } | Action::ChangeFluid(_) => flow = None,
                _ => {}
            }
        }
        step = slot.step_index + 1;
        if slot.dropped {
            continue;
        }
        let name = slot.reading.name.as_str();
        match (slot.step.round, flow) {
            (Some((batch, round)), _) => {
                if let Some(point) = point(log, place, slot, f64::from(round)) {
                    rounds.entry((batch, name)).or_default().push(point);
                }
            }
            (None, Some(flow)) if flow > 0.0 => {
                if let Some(point) = point(log, place, slot, flow.ln()) {
                    flows.entry((slot.step.stage, name)).or_default().push(point);
                }
            }
            _ => {}
        }
    }
    let flows = flows.into_values().map(|points| (points, SeriesKind::Flows));
    let rounds = rounds.into_values().map(|points| (points, SeriesKind::Rounds));
    flows.chain(rounds).filter(|(points, _)| points.len() >= 4).collect()
}

/// A value that can be compared by its ratio: measured, not set, above what the instrument can just show.
fn point(log: &Log<'_>, place: usize, slot: &Slot<'_>, x: f64) -> Option<Point> {
    let numeric = slot.numeric().filter(|numeric| numeric.window.is_none())?;
    // Dust left in a boat is next to nothing, now and then.
    if matches!(slot.step.action, Action::Dose { .. }) {
        return None;
    }
    let by_ratio = !matches!(numeric.measures, Measures::Temperature | Measures::Time | Measures::ParticleCount);
    let value = slot.si().filter(|value| by_ratio && *value > 0.0)?;
    let resolution = super::measure::instrument(log.plan, numeric).map_or(0.0, |instrument| instrument.resolution.si_difference());
    let grain = 2.0 * resolution / value;
    Some(Point { place, x, y: value.ln(), grain: grain.min(3.0) })
}

/// Finds the strange values of a series one by one, the strangest first, and predicts each from those left.
fn predict(
    points: &[Point],
    from_others: fn(&Point, &[Point]) -> Option<(f64, f64)>,
    from: &'static str,
    found: &mut BTreeMap<usize, Prediction>,
) {
    let mut kept: Vec<Point> = points.to_vec();
    let mut strange: Vec<Point> = Vec::new();
    let judge = |point: &Point, kept: &[Point]| -> Option<(f64, f64, f64)> {
        let others: Vec<Point> = kept.iter().filter(|other| other.place != point.place).copied().collect();
        let (y, tolerance) = from_others(point, &others)?;
        let tolerance = tolerance + point.grain;
        Some((y, tolerance, (point.y - y).abs() / tolerance))
    };
    while strange.len() * 3 < points.len() {
        let worst = kept
            .iter()
            .filter_map(|point| judge(point, &kept).map(|(.., away)| (*point, away)))
            .max_by(|one, other| one.1.total_cmp(&other.1));
        match worst {
            Some((point, away)) if away > 1.0 => {
                kept.retain(|other| other.place != point.place);
                strange.push(point);
            }
            _ => break,
        }
    }
    for point in points {
        if let Some((y, tolerance, away)) = judge(point, &kept) {
            let strange = away > 1.0 && strange.iter().any(|other| other.place == point.place);
            found.insert(point.place, Prediction { si: y.exp(), tolerance, from, strange });
        }
    }
}

/// At the other flows: a straight line in logarithms through the nearest ones, its slope the middle of all slopes. A
/// differential pressure rises with flow at least in proportion and at most with its square.
fn at_other_flows(point: &Point, others: &[Point]) -> Option<(f64, f64)> {
    if others.len() < 3 {
        return None;
    }
    let mut slopes = Vec::new();
    for (index, one) in others.iter().enumerate() {
        for other in others.iter().skip(index + 1) {
            if (one.x - other.x).abs() > 0.05 {
                slopes.push((one.y - other.y) / (one.x - other.x));
            }
        }
    }
    let slope = median(&mut slopes).unwrap_or(1.4).clamp(0.6, 2.2);
    let mut near: Vec<&Point> = others.iter().collect();
    near.sort_by(|one, other| (one.x - point.x).abs().total_cmp(&(other.x - point.x).abs()));
    let nearest = near.first().map_or(0.0, |other| (other.x - point.x).abs());
    let mut guesses: Vec<f64> = near.iter().take(5).map(|other| other.y + slope * (point.x - other.x)).collect();
    Some((median(&mut guesses)?, 0.38 + 0.5 * nearest))
}

/// In the other rounds: between the neighbours on both sides, or beyond the last two at an end.
fn in_other_rounds(point: &Point, others: &[Point]) -> Option<(f64, f64)> {
    let mut before: Vec<&Point> = others.iter().filter(|other| other.x <= point.x).collect();
    let after: Vec<&Point> = others.iter().filter(|other| other.x > point.x).take(2).collect();
    before.reverse();
    before.truncate(2);
    let mut guesses = Vec::new();
    if before.is_empty() || after.is_empty() {
        let side = if before.is_empty() { after } else { before };
        let [near, far] = side.as_slice() else { return None };
        let span = (near.x - far.x).abs().max(1.0);
        let steps = (point.x - near.x).abs() / span;
        // Half the last change: a loading curve bends, and a clogging filter bends upwards.
        let guess = near.y + 0.5 * steps * (near.y - far.y);
        return Some((guess, 0.55 + (near.y - far.y).abs() * steps));
    }
    let mut gap = f64::INFINITY;
    for low in &before {
        for high in &after {
            let share = (point.x - low.x) / (high.x - low.x);
            guesses.push(low.y + share * (high.y - low.y));
            gap = gap.min(high.x - low.x);
        }
    }
    Some((median(&mut guesses)?, 0.38 + 0.05 * gap))
}

/// In other runs of the same test: wide, since another filter is another filter.
fn in_other_runs(point: &Point, slot: &Slot<'_>, others: &[&Log<'_>]) -> Option<Prediction> {
    let mut values: Vec<f64> = others
        .iter()
        .filter_map(|log| log.slots.iter().find(|other| other.reading.path == slot.reading.path))
        .filter_map(|other| other.si().filter(|value| *value > 0.0))
        .map(f64::ln)
        .collect();
    if values.len() < 2 {
        return None;
    }
    let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(*y), high.max(*y)));
    let y = median(&mut values)?;
    let tolerance = 1.4 + (high - low).min(1.0) + point.grain;
    Some(Prediction { si: y.exp(), tolerance, from: "the other runs", strange: (point.y - y).abs() > tolerance })
}

fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    if values.len() % 2 == 1 {
        return Some(upper);
    }
    Some((upper + values.get(middle.checked_sub(1)?)?) / 2.0)
}
