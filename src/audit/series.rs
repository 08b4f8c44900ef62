//! What the rest of the record leads to expect of a value: the same reading at the other flows, after the other doses, in
//! the other runs. Wide on purpose: honest scatter is never called strange.

use std::collections::BTreeMap;

use super::log::{Log, Slot};
use super::measure;
use crate::plan::{Action, Measures, Numeric};

/// What a value should be near.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Prediction {
    /// In SI.
    pub(super) si: f64,
    /// What it is taken from.
    pub(super) from: &'static str,
    /// Whether the value that is there is farther off than honest scatter goes.
    pub(super) strange: bool,
    scale: Scale,
    /// How far off a value may be before it is strange; as a logarithm of the ratio, or in SI, as the scale has it.
    tolerance: f64,
    /// How far off an ordinary value of this record is.
    likely: f64,
}

impl Prediction {
    /// How far a value is off, 1 being the bound of what is ordinary. `None` where it can't be compared.
    pub(super) fn away(&self, si: f64) -> Option<f64> {
        Some((self.scale.of(si)? - self.scale.of(self.si)?).abs() / self.tolerance)
    }

    /// The same in the scatter of this record.
    pub(super) fn scatters(&self, si: f64) -> Option<f64> {
        Some((self.scale.of(si)? - self.scale.of(self.si)?).abs() / self.likely)
    }
}

/// How values are compared: by their ratio, or, where zero means nothing, by their difference.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Scale {
    Ratio,
    Difference,
}

impl Scale {
    fn of(self, si: f64) -> Option<f64> {
        match self {
            Scale::Ratio => (si > 0.0).then(|| si.ln()),
            Scale::Difference => Some(si),
        }
    }

    fn back(self, y: f64) -> f64 {
        match self {
            Scale::Ratio => y.exp(),
            Scale::Difference => y,
        }
    }
}

/// A reading in a series: where it stands, and its value where it has one.
#[derive(Clone, Copy)]
struct Point {
    place: usize,
    x: f64,
    y: Option<f64>,
    /// Zero or below where only a ratio counts: it has no logarithm and is off by any measure.
    nothing: bool,
}

/// Readings that belong together.
struct Series {
    shape: Shape,
    points: Vec<Point>,
    /// The last digit of the instrument, in SI.
    step: f64,
    instrument: Option<String>,
    /// Points that others lean on and that are not judged here: the value before the first dose.
    anchors: Vec<Point>,
}

/// How the values of a series go together.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Shape {
    /// They rise with the flow.
    Flows,
    /// They change from dose to dose.
    Doses,
    /// They follow the flow through a valve that opens: from one flow to the next, and by no law.
    Opening,
    /// They stay.
    Steady,
}

impl Shape {
    fn scale(self) -> Scale {
        if self == Shape::Steady { Scale::Difference } else { Scale::Ratio }
    }

    fn from(self) -> &'static str {
        match self {
            Shape::Flows | Shape::Opening => "the other flows",
            Shape::Doses => "the rounds before and after",
            Shape::Steady => "the other readings of this stage",
        }
    }
}

/// Predictions for the readings of one run that are measured and not set; by place of the slot.
pub(super) fn predictions(log: &Log<'_>, others: &[&Log<'_>]) -> BTreeMap<usize, Prediction> {
    let mut found = BTreeMap::new();
    for series in all(log) {
        predict(&series, &mut found);
    }
    for (place, slot) in log.slots.iter().enumerate() {
        if found.contains_key(&place) {
            continue;
        }
        let alone = |numeric: &&Numeric| numeric.measures != Measures::Temperature;
        let prediction = match measured(slot).filter(alone) {
            Some(numeric) => as_set(log, slot, numeric)
                .or_else(|| in_other_repeats(log, slot, numeric))
                .or_else(|| in_other_runs(log, slot, numeric, others)),
            None => cooled(slot, others),
        };
        found.extend(prediction.map(|prediction| (place, prediction)));
    }
    found
}

/// A flow that is read where it was set a step before and has no window.
fn as_set(log: &Log<'_>, slot: &Slot<'_>, numeric: &Numeric) -> Option<Prediction> {
    let steps = log.test.steps.iter().take(slot.step_index + 1).rev().take_while(|step| step.stage == slot.step.stage);
    let set = steps.map(|step| &step.action).find_map(|action| match action {
        Action::SetFlow { .. } | Action::HoldFlow(_) | Action::Switch { .. } => Some(None),
        Action::BypassFlow { flow, .. } => Some(Some(measure::si(flow))),
        _ => None,
    });
    let si = set.flatten().filter(|si| numeric.measures == Measures::Flow && *si > 0.0)?;
    let tolerance = 0.3 + (2.0 * step_of(log, numeric) / si).min(3.0);
    let strange = slot.si().is_some_and(|there| Scale::Ratio.of(there).is_none_or(|y| (y - si.ln()).abs() > tolerance));
    Some(Prediction { si, from: "the steps before", strange, scale: Scale::Ratio, tolerance, likely: 0.02 })
}

/// The same thing read again in the same run: a factor of two and what the others scatter is still ordinary.
fn in_other_repeats(log: &Log<'_>, slot: &Slot<'_>, numeric: &Numeric) -> Option<Prediction> {
    let (prefix, _) = slot.reading.path.split_once("/repeat-")?;
    let repeats = log.slots.iter().filter(|other| {
        let place = other.reading.path.split_once("/repeat-");
        other.reading.path != slot.reading.path
            && other.reading.name == slot.reading.name
            && place.is_some_and(|(of, _)| of == prefix)
    });
    let mut values: Vec<f64> = repeats.filter_map(Slot::si).filter(|value| *value > 0.0).map(f64::ln).collect();
    around(&mut values, slot, 0.7, 0.1, step_of(log, numeric), "the other repeats")
}

/// Oil is cooled down to a limit, in each run about as far.
fn cooled(slot: &Slot<'_>, others: &[&Log<'_>]) -> Option<Prediction> {
    /// Kelvin: in one run it may have stood over night.
    const FARTHER: f64 = 25.0;
    let cools = matches!(slot.step.action, Action::Cool { .. });
    slot.numeric().filter(|numeric| cools && numeric.measures == Measures::Temperature)?;
    let path = slot.reading.path.as_str();
    let mut values: Vec<f64> = others.iter().filter_map(|other| other.find_exactly(path)?.si()).collect();
    if values.len() < 2 {
        return None;
    }
    let (low, high) = bounds(&values);
    let si = median(&mut values)?;
    let tolerance = FARTHER + (high - low);
    let strange = slot.si().is_some_and(|there| there < si - tolerance);
    Some(Prediction { si, from: "the other runs", strange, scale: Scale::Difference, tolerance, likely: 5.0 })
}

/// A reading that is measured rather than set, of something that can be compared.
fn measured<'a>(slot: &Slot<'a>) -> Option<&'a Numeric> {
    let numeric = slot.numeric().filter(|numeric| numeric.window.is_none() && !slot.dropped)?;
    // Dust left in a boat is next to nothing, now and then.
    let comparable = !matches!(numeric.measures, Measures::Time | Measures::ParticleCount);
    (comparable && !matches!(slot.step.action, Action::Dose { .. })).then_some(numeric)
}

fn step_of(log: &Log<'_>, numeric: &Numeric) -> f64 {
    measure::instrument(log.plan, numeric).map_or(0.0, |instrument| instrument.resolution.si_difference().abs())
}

/// The series of a run: the same name in one stage at several flows, or in the loops of doses by the dust given.
fn all(log: &Log<'_>) -> Vec<Series> {
    let mut flow: Option<f64> = None;
    let mut opens = false;
    let (mut dust, mut first_dose, mut next) = (0.0, None, 0);
    let mut found: BTreeMap<(Shape, usize, &str), Series> = BTreeMap::new();
    for (place, slot) in log.slots.iter().enumerate() {
        for passed in log.test.steps.iter().take(slot.step_index + 1).skip(next) {
            match &passed.action {
                Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                    flow = setting.target.as_ref().map(measure::si);
                    opens = false;
                }
                Action::BypassFlow { flow: set, .. } => {
                    flow = Some(measure::si(set));
                    opens = true;
                }
                Action::Switch { on: false, .. } if opens => flow = None,
                Action::UseFluid { .. } | Action::ChangeFluid(_) => flow = None,
                Action::Dose { mass, .. } if !log.is_left_out(passed) => {
                    let mass = mass.target.as_ref().map_or(0.0, measure::si);
                    first_dose.get_or_insert(mass);
                    dust += mass;
                }
                _ => {}
            }
        }
        next = slot.step_index + 1;
        let Some(numeric) = measured(slot) else { continue };
        let (shape, group, x) = match (numeric.measures, slot.step.round, flow) {
            (Measures::Temperature, ..) => (Shape::Steady, slot.step.stage, 0.0),
            (_, Some((_, round)), _) => match first_dose {
                Some(first) if first > 0.0 => (Shape::Doses, 0, dust / first),
                _ => (Shape::Doses, 0, f64::from(round)),
            },
            (Measures::Flow, None, _) if opens => continue,
            (_, None, Some(flow)) if flow > 0.0 && opens => (Shape::Opening, slot.step.stage, flow.ln()),
            (_, None, Some(flow)) if flow > 0.0 => (Shape::Flows, slot.step.stage, flow.ln()),
            _ => continue,
        };
        let series = found.entry((shape, group, slot.reading.name.as_str())).or_insert_with(|| Series {
            shape,
            points: Vec::new(),
            step: step_of(log, numeric),
            instrument: numeric.instrument.clone(),
            anchors: before_the_first(log, shape, numeric, place),
        });
        let y = slot.si().and_then(|si| shape.scale().of(si));
        let nothing = y.is_none() && slot.si().is_some_and(f64::is_finite);
        series.points.push(Point { place, x, y, nothing });
    }
    lend(&mut found);
    found.into_values().collect()
}

/// A reading that stands alone leans on the others of its stage with the same instrument: the clean differential
/// pressure on the sweep.
fn lend(found: &mut BTreeMap<(Shape, usize, &str), Series>) {
    let long = |series: &Series| series.points.iter().filter(|point| point.y.is_some()).count() >= 4;
    let lenders: Vec<(Shape, usize, Option<String>, Vec<Point>)> = found
        .iter()
        .filter(|((shape, ..), series)| *shape == Shape::Flows && long(series))
        .map(|((shape, group, _), series)| (*shape, *group, series.instrument.clone(), series.points.clone()))
        .collect();
    for ((shape, group, _), series) in found.iter_mut().filter(|(_, series)| series.points.len() < 4) {
        let mut fitting =
            lenders.iter().filter(|(of, at, instrument, _)| (of, at, instrument) == (shape, group, &series.instrument));
        // Two of them, and it is not clear which one it goes with.
        if let (Some((.., points)), None) = (fitting.next(), fitting.next()) {
            series.anchors.extend(points.iter().map(|point| Point { place: usize::MAX, ..*point }));
        }
    }
}

/// What a loop's reading starts from.
fn before_the_first(log: &Log<'_>, shape: Shape, numeric: &Numeric, place: usize) -> Vec<Point> {
    let baseline = numeric.baseline.as_deref().filter(|_| shape == Shape::Doses).and_then(|path| log.find(path, place));
    let y = baseline.and_then(Slot::si).and_then(|si| shape.scale().of(si));
    y.map(|y| Point { place: usize::MAX, x: 0.0, y: Some(y), nothing: false }).into_iter().collect()
}

/// Finds the strange values of a series one by one, and predicts each from those left.
fn predict(series: &Series, found: &mut BTreeMap<usize, Prediction>) {
    let judged = series.points.iter().filter(|point| point.y.is_some()).count();
    if judged + series.anchors.len() < 4 {
        return;
    }
    let mut kept: Vec<Point> =
        series.anchors.iter().chain(&series.points).filter(|point| point.y.is_some()).copied().collect();
    kept.sort_by(|one, other| one.x.total_cmp(&other.x));
    let mut strange: Vec<usize> = Vec::new();
    while strange.len() * 3 < judged {
        let mut suspects: Vec<(Point, f64)> = kept
            .iter()
            .filter(|point| point.place != usize::MAX)
            .filter_map(|point| Some((*point, series.away(point, &kept)?)))
            .filter(|(_, away)| *away > 1.0)
            .collect();
        suspects.sort_by(|one, other| other.1.total_cmp(&one.1));
        // A wild value makes its neighbours look wild: the one to set aside is the one without which the others agree.
        let culprit = suspects
            .iter()
            .take(6)
            .map(|(suspect, _)| (suspect.place, series.worst(&without(&kept, suspect.place))))
            .min_by(|one, other| one.1.total_cmp(&other.1));
        let Some((place, _)) = culprit else { break };
        kept = without(&kept, place);
        strange.push(place);
    }
    let mut residuals: Vec<f64> =
        kept.iter().filter_map(|point| Some((point.y? - series.expected(point, &kept)?.0).abs())).collect();
    let least = if series.shape == Shape::Steady { 0.3 } else { 0.02 };
    let likely = 1.5 * median(&mut residuals).unwrap_or(least).max(least);
    for point in &series.points {
        let Some((y, tolerance)) = series.expected(point, &kept) else { continue };
        let scale = series.shape.scale();
        let gone = point.nothing && scale.back(y) > 6.0 * series.step;
        let off = gone || point.y.is_some_and(|there| (there - y).abs() > tolerance) && strange.contains(&point.place);
        let prediction = Prediction {
            si: scale.back(y),
            from: series.shape.from(),
            strange: off,
            scale,
            tolerance,
            likely: likely.min(tolerance),
        };
        found.insert(point.place, prediction);
    }
}

fn without(points: &[Point], place: usize) -> Vec<Point> {
    points.iter().filter(|point| point.place != place).copied().collect()
}

impl Series {
    /// What a point should be by the others, and how far off it may be.
    fn expected(&self, point: &Point, kept: &[Point]) -> Option<(f64, f64)> {
        let others: Vec<(f64, f64)> = kept
            .iter()
            .filter(|other| other.place != point.place)
            .filter_map(|other| Some((other.x, other.y?)))
            .collect();
        let (y, tolerance) = match self.shape {
            Shape::Flows => at_other_flows(point.x, &others)?,
            Shape::Doses | Shape::Opening => after_other_doses(point.x, &others)?,
            Shape::Steady => steady(&others)?,
        };
        let grain = if self.shape == Shape::Steady { 2.0 * self.step } else { (2.0 * self.step / y.exp()).min(3.0) };
        Some((y, tolerance + grain))
    }

    fn away(&self, point: &Point, kept: &[Point]) -> Option<f64> {
        let (y, tolerance) = self.expected(point, kept)?;
        Some((point.y? - y).abs() / tolerance)
    }

    fn worst(&self, kept: &[Point]) -> f64 {
        kept.iter().filter_map(|point| self.away(point, kept)).fold(0.0, f64::max)
    }
}

/// At the other flows: a straight line in logarithms through the nearest ones, its slope the middle of all slopes. A
/// differential pressure rises with flow at least in proportion and at most with its square.
fn at_other_flows(x: f64, others: &[(f64, f64)]) -> Option<(f64, f64)> {
    if others.len() < 3 {
        return None;
    }
    let mut slopes = Vec::new();
    for (index, one) in others.iter().enumerate() {
        for other in others.iter().skip(index + 1) {
            if (one.0 - other.0).abs() > 0.05 {
                slopes.push((one.1 - other.1) / (one.0 - other.0));
            }
        }
    }
    let slope = median(&mut slopes).unwrap_or(1.4).clamp(0.6, 2.2);
    let mut near: Vec<&(f64, f64)> = others.iter().collect();
    near.sort_by(|one, other| (one.0 - x).abs().total_cmp(&(other.0 - x).abs()));
    let nearest = near.first().map_or(0.0, |other| (other.0 - x).abs());
    let mut guesses: Vec<f64> = near.iter().take(5).map(|other| other.1 + slope * (x - other.0)).collect();
    Some((median(&mut guesses)?, 0.38 + 0.5 * nearest))
}

/// After the other doses: between the neighbours on both sides, or beyond the last two at an end.
fn after_other_doses(x: f64, others: &[(f64, f64)]) -> Option<(f64, f64)> {
    let before: Vec<&(f64, f64)> = others.iter().rev().filter(|other| other.0 <= x).take(2).collect();
    let after: Vec<&(f64, f64)> = others.iter().filter(|other| other.0 > x).take(2).collect();
    if before.is_empty() || after.is_empty() {
        let side = if before.is_empty() { after } else { before };
        let [near, far] = side.as_slice() else { return None };
        let steps = (x - near.0).abs() / (near.0 - far.0).abs().max(1e-9);
        let change = near.1 - far.1;
        // A loading curve bends: a little less than the last change, and room for more.
        return Some((near.1 + 0.8 * steps.min(3.0) * change, 0.45 + 0.8 * change.abs() * steps.min(3.0)));
    }
    let mut guesses = Vec::new();
    let mut change = f64::INFINITY;
    for low in &before {
        for high in &after {
            let share = (x - low.0) / (high.0 - low.0).max(1e-9);
            guesses.push(low.1 + share * (high.1 - low.1));
            change = change.min((high.1 - low.1).abs());
        }
    }
    Some((median(&mut guesses)?, 0.38 + 0.3 * change))
}

/// What is held stays within a few kelvin.
fn steady(others: &[(f64, f64)]) -> Option<(f64, f64)> {
    if others.len() < 3 {
        return None;
    }
    let mut values: Vec<f64> = others.iter().map(|other| other.1).collect();
    let middle = median(&mut values)?;
    let mut away: Vec<f64> = values.iter().map(|value| (value - middle).abs()).collect();
    Some((middle, 6.0 + 6.0 * median(&mut away)?))
}

/// In other runs of the same test: wide, since another filter is another filter.
fn in_other_runs(log: &Log<'_>, slot: &Slot<'_>, numeric: &Numeric, others: &[&Log<'_>]) -> Option<Prediction> {
    let path = slot.reading.path.as_str();
    let same = others.iter().filter_map(|other| other.find_exactly(path)?.si()).filter(|value| *value > 0.0);
    let mut values: Vec<f64> = same.map(f64::ln).collect();
    around(&mut values, slot, 1.4, 0.3, step_of(log, numeric), "the other runs")
}

fn bounds(values: &[f64]) -> (f64, f64) {
    values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(*y), high.max(*y)))
}

/// Near the middle of at least two logarithms, within a room of its own and what they scatter.
fn around(
    values: &mut [f64],
    slot: &Slot<'_>,
    room: f64,
    likely: f64,
    step: f64,
    from: &'static str,
) -> Option<Prediction> {
    if values.len() < 2 {
        return None;
    }
    let (low, high) = bounds(values);
    let y = median(values)?;
    let tolerance = room + (high - low).min(1.0) + (2.0 * step / y.exp()).min(3.0);
    let strange = slot.si().and_then(|si| Scale::Ratio.of(si)).is_some_and(|there| (there - y).abs() > tolerance);
    let likely = likely.max((high - low) / 2.0).min(tolerance);
    Some(Prediction { si: y.exp(), from, strange, scale: Scale::Ratio, tolerance, likely })
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
