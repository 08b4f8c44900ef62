//! Pictures of results: black on white, every interval visible, every line labelled where it ends.

mod intervals;
mod lines;
mod removal;
mod restriction;
mod sketch;

pub(super) use intervals::{Row, intervals};
pub(super) use lines::{bypass, loading};
pub(super) use removal::removal;
pub(super) use restriction::restriction;
pub(super) use sketch::sketch;

use crate::picture::{Canvas, Hold, Scale, Stroke};

/// A picture fills a printed page at this width.
const WIDTH: f64 = 760.0;

/// Panels side by side, all to one scale.
const ACROSS: usize = 4;

/// How wide a panel is with its margins.
const PANEL: f64 = WIDTH / ACROSS as f64;

/// Where a panel's axes lie: left, right, top, bottom.
#[derive(Debug, Clone, Copy)]
struct Frame {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Frame {
    /// The frame of the panel in a row of panels.
    fn of(index: usize, high: f64) -> Frame {
        let (column, row) = (index % ACROSS, index / ACROSS);
        let (left, top) = (column as f64 * PANEL + 40.0, row as f64 * high + 26.0);
        Frame { left, right: left + PANEL - 56.0, top, bottom: top + high - 68.0 }
    }

    /// Axes with their marks, the title above and the words for both axes.
    fn axes(&self, canvas: &mut Canvas, title: &str, (x, across): (&[(f64, String)], &str), (y, up): (&Scale, &str)) {
        let Frame { left, right, top, bottom } = *self;
        canvas.bold(left, top - 12.0, Hold::Start, title);
        for (value, words) in y.marks() {
            canvas.line((left, y.at(value)), (right, y.at(value)), Stroke::Grid);
            canvas.small(left - 5.0, y.at(value) + 3.5, Hold::End, &words);
        }
        for (at, words) in x {
            canvas.line((*at, bottom), (*at, bottom + 3.0), Stroke::Axis);
            canvas.small(*at, bottom + 15.0, Hold::Middle, words);
        }
        canvas.line((left, bottom), (right, bottom), Stroke::Axis);
        canvas.line((left, top), (left, bottom), Stroke::Axis);
        canvas.small(right, bottom + 28.0, Hold::End, across);
        canvas.small(right, top - 12.0, Hold::End, up);
    }
}

/// The marks of an axis, without those that would stand in each other.
fn marks(scale: &Scale, least: f64) -> Vec<(f64, String)> {
    let mut kept: Vec<(f64, String)> = Vec::new();
    for (value, words) in scale.marks() {
        let at = scale.at(value);
        if kept.last().is_none_or(|(last, _)| at - last >= least) {
            kept.push((at, words));
        }
    }
    kept
}

/// A picture of so many panels, and how high it is.
fn panels(count: usize, high: f64) -> (f64, f64) {
    let across = count.clamp(1, ACROSS) as f64;
    (PANEL * across, high * count.div_ceil(ACROSS) as f64)
}
