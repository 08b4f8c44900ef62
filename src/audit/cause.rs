//! What probably happened: the one slip that would make a strange value an ordinary one. A proposal, never a change.

use super::measure;
use super::series::Prediction;
use super::slip::{self, SlipKind};
use crate::plan::{Measures, Numeric};
use crate::quantity::{Unit, Window};
use crate::record::{DecimalMark, Number, Value, plain};

/// One explanation of a value.
#[derive(Debug, Clone)]
pub(super) struct Cause {
    /// In words, with the numbers.
    pub(super) words: String,
    /// The smaller, the likelier: a negative logarithm without a fixed zero.
    pub(super) score: f64,
    /// The unit that it was read in, where that explains it.
    pub(super) unit: Option<String>,
    /// What was meant, in SI.
    si: f64,
    /// What happened, in a few words.
    how: String,
    /// The slip that it would be, where it is one of characters.
    kind: Option<SlipKind>,
}

/// Two explanations that give the same value are told as one proposal where neither is far likelier: the digits cannot tell
/// a gauge read in mbar from a decimal mark that was lost.
const SAME: f64 = 2.0;

/// What an ordinary value would be.
pub(super) struct Ordinary<'a> {
    pub(super) numeric: &'a Numeric,
    /// The step between two values that the instrument can show, in the planned unit.
    pub(super) resolution: Option<f64>,
    /// The narrowest window that the value left, in SI.
    pub(super) window: Option<Window>,
    /// What the rest of the record leads to expect.
    pub(super) prediction: Option<&'a Prediction>,
}

/// The explanations of a number, the likeliest first. Only those that make it ordinary are given.
pub(super) fn of_number(written: &str, number: Number, mark: DecimalMark, ordinary: &Ordinary<'_>) -> Vec<Cause> {
    let planned = &ordinary.numeric.unit;
    let mut causes = Vec::new();
    // Around zero every smaller unit fits; nothing follows from that.
    let around_zero =
        ordinary.window.is_some_and(|w| w.low.is_some_and(|l| l < 0.0) && w.high.is_some_and(|h| h > 0.0));
    for (unit, cost) in measure::mistakable(planned).into_iter().filter(|_| !around_zero) {
        let si = unit.to_si(number.value);
        let Some(misfit) = ordinary.misfit(si) else { continue };
        let decimals = ordinary.numeric.decimals;
        let words = format!(
            "{written} in a {planned} box: {written} {unit} is {}{}",
            measure::text(planned, si, decimals),
            ordinary.words()
        );
        let how = format!("it was read in {unit}");
        let score = cost + misfit + ordinary.grain(&unit, number);
        causes.push(Cause { words, score, unit: Some(unit.text.clone()), si, how, kind: None });
    }
    causes.extend(slip::of_number(written, mark).into_iter().filter_map(|slip| ordinary.weigh(written, &slip)));
    gather(&mut causes);
    let mut causes = rank(causes);
    share(&mut causes);
    causes
}

/// A slip that could have happened to any of several digits is as likely as all of these together; the best of them says so.
fn gather(causes: &mut [Cause]) {
    for kind in [SlipKind::Dropped, SlipKind::LookAlike] {
        let all = causes.iter().filter(|cause| cause.kind == Some(kind)).map(|cause| (-cause.score).exp());
        let together = -all.sum::<f64>().ln();
        let own = causes.iter_mut().filter(|cause| cause.kind == Some(kind));
        if let Some(best) = own.min_by(|one, other| one.score.total_cmp(&other.score)) {
            best.score = best.score.min(together);
        }
    }
}

/// Puts an explanation that gives the first one's value, a unit beside a slip or a slip beside a unit, into its words.
fn share(causes: &mut Vec<Cause>) {
    let Some(first) = causes.first().filter(|first| !first.words.contains("which gives the same")) else { return };
    let same = |other: &Cause| {
        other.unit.is_some() != first.unit.is_some()
            && (other.si - first.si).abs() <= 1e-6 * first.si.abs()
            && other.score - first.score < SAME
    };
    let Some(at) = (1..causes.len()).find(|at| causes.get(*at).is_some_and(same)) else { return };
    let other = causes.remove(at);
    if let Some(first) = causes.first_mut() {
        first.words += &format!("; or {}, which gives the same", other.how);
        first.unit = first.unit.take().or(other.unit);
    }
}

/// The explanations of a text that should be a number.
pub(super) fn of_text(written: &str, mark: DecimalMark, ordinary: &Ordinary<'_>) -> Vec<Cause> {
    rank(slip::of_text(written, mark).into_iter().filter_map(|slip| ordinary.weigh(written, &slip)).collect())
}

fn rank(mut causes: Vec<Cause>) -> Vec<Cause> {
    causes.sort_by(|one, other| one.score.total_cmp(&other.score));
    causes
}

impl Ordinary<'_> {
    fn weigh(&self, written: &str, slip: &slip::Slip) -> Option<Cause> {
        let planned = &self.numeric.unit;
        let si = planned.to_si(slip.meant.value);
        let misfit = self.misfit(si)?;
        // The right number would have had the digits that the instrument shows.
        let digits = if slip.meant.decimals == self.numeric.decimals { 0.0 } else { 1.5 };
        let shown = self.resolution.is_none_or(|step| is_multiple(slip.meant.value, step));
        // Whoever moved the mark kept the digits: a last zero that is not there would have been left away as well.
        let digits =
            if slip.kind == SlipKind::Decimal && slip.meant.decimals < self.numeric.decimals { 3.0 } else { digits };
        // Nobody begins with a zero who only moved the mark.
        let padded = written.starts_with('0') && written.as_bytes().get(1).is_some_and(u8::is_ascii_digit);
        let digits = if slip.kind == SlipKind::Decimal && padded { digits + 1.5 } else { digits };
        // Two places are rarer than one.
        let far = slip.kind == SlipKind::Decimal
            && Value::parse(written, DecimalMark::Point)
                .number()
                .is_some_and(|number| !(0.05..20.0).contains(&(slip.meant.value / number.value).abs()));
        let score = slip.kind.cost() + misfit + digits + if far { 1.2 } else { 0.0 } + if shown { 0.0 } else { 1.0 };
        let meant = plain(slip.meant.value, slip.meant.decimals);
        let words = format!(
            "`{written}` for {meant} {planned}: {}; it would be{}",
            slip.kind.words(),
            self.words().trim_start_matches(", and").trim_start_matches(',')
        );
        let also = slip.also.filter(|also| also.cost() - slip.kind.cost() < SAME);
        let words = match also {
            Some(also) => format!("{words}; or {}, which gives the same", also.words()),
            None => words,
        };
        Some(Cause { words, score, unit: None, si, how: slip.kind.words().to_owned(), kind: Some(slip.kind) })
    }

    /// What speaks against a unit in which the written digits would be much finer, or much coarser, than the instrument
    /// shows in the planned one.
    fn grain(&self, unit: &Unit, number: Number) -> f64 {
        let places = |decimals: usize| 0.1_f64.powi(i32::try_from(decimals).unwrap_or(0));
        let planned = &self.numeric.unit;
        let finest = planned.to_si_difference(self.resolution.unwrap_or(places(self.numeric.decimals))).abs();
        let share = unit.to_si_difference(places(number.decimals)).abs() / finest;
        match share {
            share if share < 0.3 => 1.5,
            share if share > 5.0 => 0.5,
            _ => 0.0,
        }
    }

    /// How badly a value would fit, or `None` where it would not be ordinary either.
    fn misfit(&self, si: f64) -> Option<f64> {
        if !si.is_finite() {
            return None;
        }
        let mut misfit = 0.0;
        let bounds = self.window.or(self.numeric.expect);
        for window in [self.window, self.numeric.stop, self.numeric.expect].into_iter().flatten() {
            if !window.contains(si) {
                return None;
            }
        }
        if let Some(Window { low: Some(low), high: Some(high) }) = bounds
            && high > low
        {
            let from_centre = (si - (low + high) / 2.0) / ((high - low) / 2.0);
            // Whoever sets a value sets it to the middle: about two thirds of all lie in the inner half of a window. From memory.
            misfit += 2.0 * from_centre * from_centre;
        }
        // With a limit on one side only, what lies not far inside it is ordinary.
        let mut near_limit = false;
        if let Some(Window { low, high }) = bounds
            && let (Some(limit), None) | (None, Some(limit)) = (low, high)
            && limit != 0.0
        {
            let room = if self.numeric.measures == Measures::Temperature { 50.0 } else { 0.6 * limit.abs() };
            let away = (si - limit).abs() / room;
            near_limit = away <= 1.0;
            misfit += 0.8 + 0.7 * away * away;
        }
        if let Some(prediction) = self.prediction {
            let kept = prediction.away(si).is_some_and(|away| away <= 1.0);
            let open = bounds.is_none_or(|window| window.low.is_none() || window.high.is_none());
            if open && !kept {
                return None;
            }
            let scatters = prediction.scatters(si).unwrap_or(4.0).min(4.0);
            misfit += 0.5 * scatters * scatters;
        }
        (bounds.is_some_and(|window| window.low.is_some() && window.high.is_some())
            || near_limit
            || self.prediction.is_some())
        .then_some(misfit)
    }

    /// Why the value would be ordinary, as the end of a sentence.
    fn words(&self) -> String {
        let (unit, decimals) = (&self.numeric.unit, self.numeric.decimals);
        let window = self.window.or(self.numeric.expect).map(|window| measure::window(&window, unit, decimals));
        match (window, self.prediction) {
            (Some(window), Some(prediction)) => {
                format!(
                    ", inside {window}, and {} lead to about {}",
                    prediction.from,
                    measure::amount(unit, prediction.si)
                )
            }
            (Some(window), None) => format!(", inside {window}"),
            (None, Some(prediction)) => {
                format!(", near the {} that {} lead to", measure::amount(unit, prediction.si), prediction.from)
            }
            (None, None) => String::new(),
        }
    }
}

/// Whether a value lies on the grid that the instrument shows.
pub(super) fn is_multiple(value: f64, step: f64) -> bool {
    let steps = value / step;
    (steps - steps.round()).abs() < 1e-6 * steps.abs().max(1.0)
}
