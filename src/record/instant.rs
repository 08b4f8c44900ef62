//! The time in a record: a date and a time of day on the bench's clock.

use jiff::civil::{Date, DateTime, Time};
use serde::Serialize;

/// A time as written, in seconds of the bench's own clock (no zone is known, none is assumed).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Instant {
    /// Seconds since 1970-01-01 00:00:00 on that clock.
    pub seconds: i64,
    /// How coarsely it was written: 1 with seconds, 60 without.
    pub grain: i64,
}

impl Instant {
    /// Reads `YYYY-MM-DD hh:mm:ss` or `YYYY-MM-DD hh:mm`, with a blank or a `T` between; a fraction of a second is cut off.
    pub fn parse(text: &str) -> Option<Instant> {
        let (date, time) = text.trim().split_once([' ', 'T'])?;
        let date = parse_date(date)?;
        let (time, grain) = parse_time(time.trim())?;
        let midnight = days(date) * 86_400;
        let seconds = i64::from(time.hour()) * 3600 + i64::from(time.minute()) * 60 + i64::from(time.second());
        Some(Instant { seconds: midnight + seconds, grain })
    }

    /// As the form wants it written.
    pub fn text(self) -> String {
        let date = Date::constant(1970, 1, 1)
            .checked_add(jiff::Span::new().try_days(self.seconds.div_euclid(86_400)).unwrap_or_default())
            .unwrap_or(Date::ZERO);
        let second = self.seconds.rem_euclid(86_400);
        format!("{date} {:02}:{:02}:{:02}", second / 3600, second / 60 % 60, second % 60)
    }

    /// Whole days from 1970-01-01.
    pub fn day(self) -> i64 {
        self.seconds.div_euclid(86_400)
    }

    /// The ISO date alone.
    pub fn date(self) -> String {
        self.text().split(' ').next().unwrap_or_default().to_owned()
    }
}

/// Whole days from 1970-01-01 to an ISO date.
pub fn day_number(date: &str) -> Option<i64> {
    parse_date(date).map(days)
}

fn days(date: Date) -> i64 {
    let epoch = DateTime::from_parts(Date::constant(1970, 1, 1), Time::midnight());
    let span = DateTime::from_parts(date, Time::midnight()).duration_since(epoch);
    span.as_secs().div_euclid(86_400)
}

fn parse_date(text: &str) -> Option<Date> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let shape = parts.next().is_none() && year.len() == 4 && month.len() == 2 && day.len() == 2;
    shape.then(|| Date::new(digits(year)?, digits(month)?, digits(day)?).ok())?
}

fn parse_time(text: &str) -> Option<(Time, i64)> {
    let mut parts = text.split(':');
    let (hour, minute) = (parts.next()?, parts.next()?);
    let second = parts.next();
    let whole = second.map(|second| second.split_once('.').map_or(second, |(whole, _)| whole));
    let shape = parts.next().is_none()
        && (1..=2).contains(&hour.len())
        && minute.len() == 2
        && whole.is_none_or(|s| s.len() == 2);
    let time = Time::new(digits(hour)?, digits(minute)?, whole.map_or(Some(0), digits)?, 0).ok()?;
    shape.then_some((time, if second.is_some() { 1 } else { 60 }))
}

fn digits<T: std::str::FromStr>(text: &str) -> Option<T> {
    (!text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())).then(|| text.parse().ok())?
}
