//! What is kept of one channel over one stretch of time: a handful of numbers, whatever the length.

use std::ops::Range;

use super::block::Block;
use crate::plan::LoggerFile;
use crate::quantity::Window;

/// A row that is worth showing.
#[derive(Debug, Clone, Default)]
pub(super) struct Spot {
    pub(super) line: u64,
    pub(super) value: f64,
    /// Index of the file.
    pub(super) file: usize,
    pub(super) bytes: Vec<u8>,
}

/// Rows of a block within a stretch.
pub(super) struct Part<'b> {
    pub(super) block: &'b Block,
    pub(super) rows: Range<usize>,
    pub(super) layout: &'b LoggerFile,
    /// Index of the file.
    pub(super) file: usize,
}

impl Part<'_> {
    fn spot(&self, row: usize, channel: usize) -> Spot {
        let width = self.layout.channels.len();
        Spot {
            line: self.block.line(row),
            value: self.block.values.get(row * width + channel).copied().unwrap_or(f64::NAN),
            file: self.file,
            bytes: self.block.show(row, self.layout),
        }
    }
}

/// A channel over a stretch of time, ends included, and what was seen there.
#[derive(Debug, Clone, Default)]
pub(super) struct Watch {
    pub(super) channel: usize,
    pub(super) start: f64,
    pub(super) end: f64,
    /// In the channel's unit.
    pub(super) window: Window,
    pub(super) count: u64,
    pub(super) low: f64,
    pub(super) high: f64,
    /// Time of the last sample.
    pub(super) last: Option<f64>,
    /// Seconds outside the window.
    pub(super) outside: f64,
    pub(super) last_outside: Option<f64>,
    pub(super) rows_outside: u64,
    /// Seconds of the longest excursion, and its farthest row.
    pub(super) longest: f64,
    pub(super) worst: Spot,
    excursion: Option<f64>,
    farthest: f64,
    /// Seconds of the longest time without a value, and the row after it.
    pub(super) gap: f64,
    pub(super) after_gap: Spot,
    /// Any row, to point at.
    pub(super) some: Spot,
    // Sums for the slope, where it is asked for: times from `start`, values from the first.
    wants_slope: bool,
    origin: f64,
    sums: [f64; 4],
}

impl Watch {
    pub(super) fn new(channel: usize, start: f64, end: f64, window: Window) -> Watch {
        Watch { channel, start, end, window, low: f64::INFINITY, high: f64::NEG_INFINITY, ..Watch::default() }
    }

    /// The same, and its slope is asked for.
    pub(super) fn with_slope(self) -> Watch {
        Watch { wants_slope: true, ..self }
    }

    /// Takes the values of some rows inside the stretch.
    pub(super) fn take(&mut self, part: &Part<'_>) {
        let (width, channel) = (part.layout.channels.len(), self.channel);
        let times = part.block.times.get(part.rows.clone()).unwrap_or_default();
        let values = part.block.values.get(part.rows.start * width + channel..).unwrap_or_default();
        let (mut after_gap, mut worst) = (None, None);
        let (low, high) = (self.window.low.unwrap_or(f64::NEG_INFINITY), self.window.high.unwrap_or(f64::INFINITY));
        for (row, (time, value)) in times.iter().zip(values.iter().step_by(width.max(1))).enumerate() {
            let (time, value) = (*time, *value);
            if value.is_nan() {
                continue;
            }
            let step = time - self.last.unwrap_or(self.start);
            if step > self.gap {
                self.gap = step;
                after_gap = Some(row);
            }
            if self.count == 0 {
                self.origin = value;
                self.some = part.spot(part.rows.start + row, channel);
            }
            self.count += 1;
            self.low = self.low.min(value);
            self.high = self.high.max(value);
            if self.wants_slope {
                let (x, y) = (time - self.start, value - self.origin);
                let [sx, sy, sxx, sxy] = self.sums;
                self.sums = [sx + x, sy + y, sxx + x * x, sxy + x * y];
            }
            if let Some(began) = self.excursion {
                self.outside += step;
                self.longest = self.longest.max(time - began);
            }
            if low <= value && value <= high {
                self.excursion = None;
            } else {
                self.excursion.get_or_insert(time);
                self.last_outside = Some(time);
                self.rows_outside += 1;
                let beyond = (low - value).max(value - high);
                if beyond > self.farthest {
                    self.farthest = beyond;
                    worst = Some(row);
                }
            }
            self.last = Some(time);
        }
        if let Some(row) = after_gap {
            self.after_gap = part.spot(part.rows.start + row, channel);
        }
        if let Some(row) = worst {
            self.worst = part.spot(part.rows.start + row, channel);
        }
    }

    /// The stretch without a value at its end counts as a gap too.
    pub(super) fn longest_gap(&self) -> f64 {
        self.gap.max(self.end - self.last.unwrap_or(self.start))
    }

    /// Least-squares slope per second, in the channel's unit; `None` with fewer than three points.
    pub(super) fn slope(&self) -> Option<f64> {
        let n = self.count as f64;
        let [sx, sy, sxx, sxy] = self.sums;
        let spread = n * sxx - sx * sx;
        (self.count >= 3 && spread > 0.0).then(|| (n * sxy - sx * sy) / spread)
    }

    /// Mean of all values.
    pub(super) fn mean(&self) -> f64 {
        let [_, sy, _, _] = self.sums;
        self.origin + sy / (self.count.max(1) as f64)
    }
}
