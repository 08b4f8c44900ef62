//! The time of a row, where it is a date and a time of day.

use crate::record::day_number;

/// Reads `2026-09-14 08:00:00.25`; the day is looked up only when it changes.
#[derive(Default)]
pub(super) struct Clock {
    day: [u8; 10],
    midnight: f64,
}

impl Clock {
    /// Seconds of the bench's clock since 1970.
    pub(super) fn read(&mut self, cell: &[u8]) -> Option<f64> {
        let cell = cell.trim_ascii();
        let (day, rest) = cell.split_at_checked(10)?;
        let (b' ' | b'T', time) = rest.split_first()? else { return None };
        if day != self.day {
            self.midnight = day_number(str::from_utf8(day).ok()?)? as f64 * 86_400.0;
            self.day.copy_from_slice(day);
        }
        let [h, hh, b':', m, mm, b':', s, ss, fraction @ ..] = time else { return None };
        let two = |one: &u8, other: &u8| {
            (one.is_ascii_digit() && other.is_ascii_digit()).then(|| f64::from((one - b'0') * 10 + (other - b'0')))
        };
        let (hour, minute, second) = (two(h, hh)?, two(m, mm)?, two(s, ss)?);
        let part = match fraction.split_first() {
            None => 0.0,
            Some((b'.' | b',', digits)) if digits.iter().all(u8::is_ascii_digit) && digits.len() <= 9 => {
                let whole = digits.iter().fold(0_u32, |sum, digit| sum.wrapping_mul(10) + u32::from(digit - b'0'));
                f64::from(whole) / 10_f64.powi(i32::try_from(digits.len()).ok()?)
            }
            Some(_) => return None,
        };
        (hour < 24.0 && minute < 60.0 && second < 61.0)
            .then_some(self.midnight + hour * 3600.0 + minute * 60.0 + second + part)
    }
}
