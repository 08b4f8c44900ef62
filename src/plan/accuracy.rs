//! How far an instrument may be off.

use super::model::{Accuracy, Instrument};

/// What an instrument's accuracy allows at a value, half widths in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Limits {
    /// What zeroing takes away and leaves anew: a part of the span, or a fixed amount.
    pub(crate) offset: f64,
    /// What stays through every zeroing, in proportion to the reading.
    pub(crate) gain: f64,
}

/// The half width of what an instrument's accuracy allows at a value, in SI; `None` where its range has no end.
pub(crate) fn accuracy_half_width(instrument: &Instrument, value: f64) -> Option<f64> {
    accuracy_limits(instrument, value).map(|limits| limits.offset + limits.gain)
}

/// The same in its two parts, of which one is zero: of several terms the largest at this value counts.
pub(crate) fn accuracy_limits(instrument: &Instrument, value: f64) -> Option<Limits> {
    let window = instrument.range.window;
    let span = window.high.zip(window.low).map(|(high, low)| high - low).or(window.high);
    of(&instrument.accuracy, value, span)
}

fn of(accuracy: &Accuracy, value: f64, span: Option<f64>) -> Option<Limits> {
    match accuracy {
        Accuracy::OfSpan(share) => span.map(|span| Limits { offset: share * span, gain: 0.0 }),
        Accuracy::OfReading(share) => Some(Limits { offset: 0.0, gain: share * value.abs() }),
        Accuracy::Absolute(quantity) => Some(Limits { offset: quantity.si_difference(), gain: 0.0 }),
        Accuracy::WorstOf(several) => {
            let each = several.iter().filter_map(|one| of(one, value, span));
            each.max_by(|one, other| (one.offset + one.gain).total_cmp(&(other.offset + other.gain)))
        }
    }
}
