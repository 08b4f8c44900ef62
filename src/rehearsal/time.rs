//! How long it takes: each run, each stage, the days, the weeks to the result.

use serde::Serialize;

use super::course::{Course, Work};
use crate::foresight::Span;
use crate::plan::{Plan, Run, Wants};
use crate::record::{Instant, day_number};

/// A run's time, in s.
#[derive(Debug, Clone, Serialize)]
pub struct RunTime {
    pub run: String,
    pub specimen: String,
    pub model: String,
    pub test: String,
    pub lasts: Span,
    pub likely: f64,
    /// By what it goes into, in the order of [`Work::ALL`]: words, from to, likely.
    pub work: Vec<(&'static str, Span, f64)>,
    pub stages: Vec<StageTime>,
}

/// A stage within its run.
#[derive(Debug, Clone, Serialize)]
pub struct StageTime {
    pub title: String,
    /// s after the run's first step, most likely, and from to.
    pub begins: f64,
    pub begins_between: Span,
    pub likely: f64,
    pub lasts: Span,
}

pub(super) fn runs(chosen: &[&Run], courses: &[Course<'_>]) -> Vec<RunTime> {
    let of = |run: &&&Run| courses.iter().find(|course| course.runs.contains(&run.code.as_str()));
    let known = chosen.iter().filter_map(|run| Some((run, of(&run)?)));
    known.map(|(run, course)| run_time(run, course)).collect()
}

fn run_time(run: &Run, course: &Course<'_>) -> RunTime {
    let test = course.paper.test;
    let stages = test.stages.iter().enumerate().map(|(index, stage)| StageTime {
        title: stage.title.clone(),
        begins: course.likely(|step| step.stage < index),
        begins_between: course.takes(|step| step.stage < index),
        likely: course.likely(|step| step.stage == index),
        lasts: course.takes(|step| step.stage == index),
    });
    RunTime {
        run: run.code.clone(),
        specimen: run.specimen.clone(),
        model: course.title(),
        test: test.title.clone(),
        lasts: course.takes(|_| true),
        likely: course.likely(|_| true),
        work: Work::ALL.iter().map(|work| (*work, course.work(*work))).map(|(w, (s, l))| (w.words(), s, l)).collect(),
        stages: stages.collect(),
    }
}

/// How the runs fall on days.
#[derive(Debug, Clone, Serialize)]
pub struct Days {
    /// s: no run begins that would likely end later in the day than this.
    pub longest: f64,
    pub days: Vec<Day>,
    /// Bench days if every step is quick, and if every step is slow.
    pub fewest: usize,
    pub most: usize,
    /// Days from the last bottle to the laboratory's answer, where there is a bottle and a turnaround.
    pub answer: Option<f64>,
    /// From the first morning to the last result, in days of the calendar.
    pub until_result: Span,
    /// Whether the campaign's own last day comes before the last bench day.
    pub ends_too_soon: Option<String>,
}

/// A bench day.
#[derive(Debug, Clone, Serialize)]
pub struct Day {
    /// ISO, where the campaign says when it starts.
    pub date: Option<String>,
    pub runs: Vec<String>,
    /// s, most likely, and from to.
    pub likely: f64,
    pub lasts: Span,
}

/// Runs in their order, as many on a day as likely fit; no bench work on Saturdays and Sundays.
pub(super) fn days(plan: &Plan, runs: &[RunTime], courses: &[Course<'_>]) -> Days {
    let longest = plan.rules.number("longest-day").unwrap_or(9.0 * 3600.0);
    let first = plan.campaign.starts.as_deref().and_then(day_number);
    let packed = pack(runs, longest, |run| run.likely);
    let fewest = pack(runs, longest, |run| run.lasts.low).len();
    let most = pack(runs, longest, |run| run.lasts.high).len();
    let days: Vec<Day> = packed
        .iter()
        .enumerate()
        .map(|(index, day)| Day {
            date: first.map(|first| date(first + after(first, index))),
            runs: day.iter().map(|run| run.run.clone()).collect(),
            likely: day.iter().map(|run| run.likely).sum(),
            lasts: day.iter().fold(Span::default(), |sum, run| sum.plus(run.lasts)),
        })
        .collect();
    let answer = answer(plan, courses);
    let calendar = |bench: usize| after(first.unwrap_or(4), bench.saturating_sub(1)) as f64 + 1.0;
    let ends = plan.campaign.ends.as_deref().and_then(day_number);
    let last = first.map(|first| first + after(first, most.saturating_sub(1)));
    let ends_too_soon = ends.zip(last).filter(|(ends, last)| ends < last).map(|(_, last)| date(last));
    Days {
        longest,
        until_result: Span::between(calendar(fewest), calendar(most)).plus(Span::exactly(answer.unwrap_or(0.0))),
        days,
        fewest,
        most,
        answer,
        ends_too_soon,
    }
}

fn pack(runs: &[RunTime], longest: f64, takes: impl Fn(&RunTime) -> f64) -> Vec<Vec<&RunTime>> {
    let mut days: Vec<Vec<&RunTime>> = Vec::new();
    let mut used = 0.0;
    for run in runs {
        let time = takes(run);
        match days.last_mut() {
            Some(day) if used + time <= longest => {
                day.push(run);
                used += time;
            }
            _ => {
                // A run that is longer than a day takes as many as it needs.
                days.push(vec![run]);
                used = time;
                while used > longest {
                    used -= longest;
                    days.push(Vec::new());
                }
            }
        }
    }
    days
}

/// Days of the calendar from the first bench day to the one with this number, Saturdays and Sundays left out.
fn after(first: i64, bench: usize) -> i64 {
    let mut passed = 0;
    let mut left = bench;
    while left > 0 {
        passed += 1;
        // 1970-01-01 was a Thursday; Monday is 0.
        if (first + passed + 3).rem_euclid(7) < 5 {
            left -= 1;
        }
    }
    passed
}

fn date(day: i64) -> String {
    Instant { seconds: day * 86_400, grain: 1 }.date()
}

/// Days from the last bottle to the laboratory's answer.
fn answer(plan: &Plan, courses: &[Course<'_>]) -> Option<f64> {
    let readings = courses.iter().flat_map(|course| &course.paper.test.steps).flat_map(|step| &step.readings);
    let mut asked = readings.filter(|r| matches!(&r.wants, Wants::Bottle(bottle) if !bottle.tests.is_empty()));
    asked.next()?;
    let each = plan.laboratories.values().filter_map(|lab| {
        let ships = lab.ships_within.as_ref().map_or(0.0, |time| time.si());
        Some((lab.turnaround.as_ref()?.si() + ships) / 86_400.0)
    });
    each.reduce(f64::max)
}
