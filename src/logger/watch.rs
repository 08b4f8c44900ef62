//! What is kept of one channel over one stretch of time: a handful of numbers, whatever the length.

use crate::quantity::Window;

/// A row that is worth showing.
#[derive(Debug, Clone, Default)]
pub(super) struct Spot {
    pub(super) line: u64,
    pub(super) time: f64,
    pub(super) value: f64,
    /// Index of the file.
    pub(super) file: usize,
    pub(super) bytes: Vec<u8>,
}

impl Spot {
    fn set(&mut self, sample: &Sample<'_>) {
        (self.line, self.time, self.value, self.file) = (sample.line, sample.time, sample.value, sample.file);
        self.bytes.clear();
        self.bytes.extend_from_slice(sample.bytes.get(..480).unwrap_or(sample.bytes));
    }
}

/// One value of one channel.
pub(super) struct Sample<'s> {
    pub(super) time: f64,
    pub(super) value: f64,
    pub(super) line: u64,
    pub(super) file: usize,
    pub(super) bytes: &'s [u8],
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
    // Sums for the slope: times from `start`, values from the first.
    origin: f64,
    sums: [f64; 4],
}

impl Watch {
    pub(super) fn new(channel: usize, start: f64, end: f64, window: Window) -> Watch {
        Watch { channel, start, end, window, low: f64::INFINITY, high: f64::NEG_INFINITY, ..Watch::default() }
    }

    /// Takes one value inside the stretch.
    pub(super) fn take(&mut self, sample: &Sample<'_>) {
        let Sample { time, value, .. } = *sample;
        let step = time - self.last.unwrap_or(self.start);
        if step > self.gap {
            self.gap = step;
            self.after_gap.set(sample);
        }
        if self.count == 0 {
            self.origin = value;
            self.some.set(sample);
        }
        self.count += 1;
        self.low = self.low.min(value);
        self.high = self.high.max(value);
        let (x, y) = (time - self.start, value - self.origin);
        let [sx, sy, sxx, sxy] = self.sums;
        self.sums = [sx + x, sy + y, sxx + x * x, sxy + x * y];
        if let Some(began) = self.excursion {
            self.outside += step;
            self.longest = self.longest.max(time - began);
        }
        if self.window.contains(value) {
            self.excursion = None;
        } else {
            self.excursion.get_or_insert(time);
            self.last_outside = Some(time);
            let beyond =
                self.window.low.map_or(0.0, |low| low - value).max(self.window.high.map_or(0.0, |h| value - h));
            if beyond > self.farthest {
                self.farthest = beyond;
                self.worst.set(sample);
            }
        }
        self.last = Some(time);
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
