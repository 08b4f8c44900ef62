//! How far an instrument may be off.

use super::model::{Accuracy, Instrument};

/// The half width of what an instrument's accuracy allows at a value, in SI; `None` where its range has no end.
pub(crate) fn accuracy_half_width(instrument: &Instrument, value: f64) -> Option<f64> {
    let window = instrument.range.window;
    let span = window.high.zip(window.low).map(|(high, low)| high - low).or(window.high);
    of(&instrument.accuracy, value, span)
}

fn of(accuracy: &Accuracy, value: f64, span: Option<f64>) -> Option<f64> {
    match accuracy {
        Accuracy::OfSpan(share) => span.map(|span| share * span),
        Accuracy::OfReading(share) => Some(share * value.abs()),
        Accuracy::Absolute(quantity) => Some(quantity.si_difference()),
        Accuracy::WorstOf(several) => several.iter().filter_map(|one| of(one, value, span)).reduce(f64::max),
    }
}
