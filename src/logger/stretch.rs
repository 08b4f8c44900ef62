//! What the series is held against, laid open: for whoever wants to compute it anew by other means.

use super::ties::{Purpose, Tie};
use crate::plan::LoggerFile;

/// A channel over a stretch of time, ends included.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// `held`, `dwell`, `drift`, `limit`, `logged` or `typed`.
    pub purpose: &'static str,
    pub run: String,
    pub column: String,
    /// Seconds of the bench's clock since 1970.
    pub start: f64,
    pub end: f64,
    /// The window, in the channel's unit.
    pub low: Option<f64>,
    pub high: Option<f64>,
    /// Rows with a value, and those outside the window.
    pub rows: u64,
    pub outside: u64,
    /// The least and the largest value; `None` without any row.
    pub extremes: Option<(f64, f64)>,
    /// Seconds of the longest time without a value.
    pub gap: f64,
    /// Least-squares slope per second, where a drift is looked at.
    pub slope: Option<f64>,
}

impl Stretch {
    pub(super) fn of(tie: &Tie<'_>, layout: &LoggerFile) -> Stretch {
        let watch = &tie.watch;
        let purpose = match tie.purpose {
            Purpose::Held => "held",
            Purpose::Dwell { .. } => "dwell",
            Purpose::Drift { .. } => "drift",
            Purpose::Limit { .. } => "limit",
            Purpose::Logged { .. } => "logged",
            Purpose::Typed { .. } => "typed",
        };
        Stretch {
            purpose,
            run: tie.run.to_owned(),
            column: layout.channels.get(watch.channel).map(|channel| channel.column.clone()).unwrap_or_default(),
            start: watch.start,
            end: watch.end,
            low: watch.window.low,
            high: watch.window.high,
            rows: watch.count,
            outside: watch.rows_outside,
            extremes: (watch.count > 0).then_some((watch.low, watch.high)),
            gap: watch.longest_gap(),
            slope: matches!(tie.purpose, Purpose::Drift { .. }).then(|| watch.slope()).flatten(),
        }
    }
}
