//! Dates that fit, and days that people can work.

use jiff::civil::Date;

use super::super::say::{self, Round, above};
use super::super::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Day, Origin, Plan, Run, Step, Test};

/// A wait as long as this is a night: nobody stands beside it.
const NIGHT: f64 = 6.0 * 3600.0;

fn date(text: &str) -> Option<Date> {
    text.parse().ok()
}

/// Days from one date to another, both counted.
fn days(from: Date, to: Date) -> Option<i64> {
    Some(i64::from(from.until(to).ok()?.get_days()) + 1)
}

/// Dates that run backwards, or outside the campaign's own.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    let campaign = &plan.campaign;
    let at = campaign.places.dates.unwrap_or(campaign.origin);
    let starts = campaign.starts.as_deref().and_then(date);
    let ends = campaign.ends.as_deref().and_then(date);
    if let (Some(first), Some(last)) = (starts, ends)
        && last < first
    {
        findings.add(
            finding(
                Code::DatesWrong,
                format!("the campaign ends on {last}, before it starts on {first}"),
                at,
                "these dates",
            )
            .help(format!("write `starts {last}, ends {first}`, or mend the year or the month")),
        );
        return;
    }
    for test in &plan.tests {
        let Some((day, when)) = test.on.as_ref().and_then(|day| Some((day, date(&day.date)?))) else { continue };
        let (limit, side) = match (starts, ends) {
            (Some(first), _) if when < first => (first, "before the campaign starts"),
            (_, Some(last)) if when > last => (last, "after the campaign has ended"),
            _ => continue,
        };
        findings.add(
            finding(
                Code::DatesWrong,
                format!("`{}` begins on {when}, {side} on {limit}", test.name),
                day.origin,
                "this date",
            )
            .and(at, "the campaign's own dates")
            .help(format!("write `on {limit}`, or move the dates of the campaign")),
        );
    }
    in_order(plan, findings);
}

/// Runs are numbered in the order of the tests; the dates have to follow it.
fn in_order(plan: &Plan, findings: &mut Findings) {
    let mut latest: Option<(&Test, &Day, Date)> = None;
    for test in &plan.tests {
        let Some((day, when)) = test.on.as_ref().and_then(|day| Some((day, date(&day.date)?))) else { continue };
        if let Some((before, earlier, date)) = latest
            && when < date
        {
            findings.add(
                finding(
                    Code::DatesWrong,
                    format!("`{}` comes after `{}` in the plan, and before it by its date", test.name, before.name),
                    day.origin,
                    format!("{when}"),
                )
                .and(earlier.origin, format!("{date}"))
                .why("Runs are numbered in the order of the tests; papers and records would be in another order than the days.")
                .help(format!("move the test `{}` before `{}`, or change one of the dates", test.name, before.name)),
            );
        }
        if latest.is_none_or(|(_, _, date)| when > date) {
            latest = Some((test, day, when));
        }
    }
}

/// How long one run takes at least: in one go, and altogether. A loop is gone through once.
#[derive(Default)]
pub(in crate::check) struct Days {
    /// s, since the last night.
    sitting: f64,
    longest: f64,
    total: f64,
}

impl Days {
    /// A step and the least time that it takes, in s.
    pub(in crate::check) fn step(&mut self, step: &Step, least: f64) {
        if step.round.is_some_and(|(_, round)| round > 1) {
            return;
        }
        if least >= NIGHT {
            self.sitting = 0.0;
            return;
        }
        self.sitting += least;
        self.longest = self.longest.max(self.sitting);
        self.total += least;
    }

    /// Against the working day of the rules, and the days that the campaign has for this test.
    pub(in crate::check) fn end(&self, plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
        let day = say::rule(plan, "longest-day", 9.0 * 3600.0);
        if day.value <= 0.0 {
            return;
        }
        let hours = |seconds: f64| format!("{} h", say::number((seconds / 360.0).round() / 10.0, Round::Near));
        if above(self.longest, day.value) {
            findings.add(
                finding(
                    Code::DayTooLong,
                    format!("one run of `{}` takes at least {} without a night in it", test.name, hours(self.longest)),
                    test.origin,
                    "this protocol",
                )
                .and_maybe(day.origin, format!("a day has {} at most", hours(day.value)))
                .help("make two protocols of it with a night between them, or hand over to a second team and say so in a hold point"),
            );
            return;
        }
        let Some((from, to, at)) = span(plan, test) else { return };
        let Some(there) = days(from, to) else { return };
        // Two runs do not share a day unless both fit into it whole.
        let a_day = (day.value / self.total.max(1.0)).floor().max(1.0);
        let each = (self.total / day.value).ceil().max(1.0);
        let count = runs.len() as f64;
        let needed = if self.total > day.value { count * each } else { (count / a_day).ceil() };
        if !above(needed, there as f64) {
            return;
        }
        findings.add(
            finding(
                Code::DayTooLong,
                format!(
                    "{} runs of `{}`, {} each at least, take {needed} days of {}; from {from} to {to} there are {there}",
                    runs.len(),
                    test.name,
                    hours(self.total),
                    hours(day.value)
                ),
                at,
                "these dates",
            )
            .and(test.origin, "this protocol")
            .and_maybe(day.origin, "the rule that says how long a day is")
            .help("give the test more days, or run fewer specimens"),
        );
    }
}

/// The first and the last day that a test has: from its own date to the day before the next test's, or the campaign's.
fn span(plan: &Plan, test: &Test) -> Option<(Date, Date, Origin)> {
    let campaign = &plan.campaign;
    let from = test.on.as_ref().map(|day| day.date.as_str()).or(campaign.starts.as_deref()).and_then(date)?;
    let later = plan.tests.iter().skip_while(|other| other.name != test.name).skip(1);
    let next = later.filter_map(|other| date(&other.on.as_ref()?.date)).find(|other| *other > from);
    let end = campaign.ends.as_deref().and_then(date);
    let to = match next {
        Some(next) => next.yesterday().ok()?,
        None => end?,
    };
    let at = test.on.as_ref().map(|day| day.origin).or(campaign.places.dates).unwrap_or(campaign.origin);
    (from <= to).then_some((from, to, at))
}
