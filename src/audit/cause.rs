//! What probably happened: the one slip that would make a strange value an ordinary one. A proposal, never a change.

use super::measure;
use super::series::Prediction;
use super::slip::{self, SlipKind};
use crate::plan::{Measures, Numeric};
use crate::quantity::Window;
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
}

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
        causes.push(Cause { words, score: cost + misfit, unit: Some(unit.text.clone()) });
    }
    causes.extend(slip::of_number(written, mark).into_iter().filter_map(|slip| ordinary.weigh(written, &slip)));
    rank(causes)
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
        Some(Cause { words, score, unit: None })
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
            misfit += 0.7 * from_centre * from_centre;
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
