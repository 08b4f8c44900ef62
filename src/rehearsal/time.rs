//! How long it takes: each run, each stage, the days, the weeks to the result.

use serde::Serialize;

use super::course::{Course, Work};
use crate::foresight::Span;
use crate::plan::{Plan, Run, Step, Wants};
use crate::record::{Instant, day_number};

/// A run's time, in s.
#[derive(Debug, Clone, Serialize)]
pub struct RunTime {
    pub run: String,
    pub specimen: String,
    pub model: String,
    pub test: String,
    /// At the bench, long waits left out.
    pub lasts: Span,
    pub likely: f64,
    /// s that it stands alone.
    pub standing: f64,
    /// s of bench work between long waits: most likely, and from to; after each but the last it stands alone.
    pub sittings: Vec<Sitting>,
    /// By what it goes into, in the order of [`Work::ALL`]: words, from to, likely.
    pub work: Vec<(&'static str, Span, f64)>,
    pub stages: Vec<StageTime>,
}

/// Bench work without a long wait in it.
#[derive(Debug, Clone, Serialize)]
pub struct Sitting {
    pub likely: f64,
    pub lasts: Span,
    /// s that it stands alone afterwards.
    pub then_alone: f64,
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
    let attended = |step: &Step| Work::of(step) != Work::Standing;
    RunTime {
        run: run.code.clone(),
        specimen: run.specimen.clone(),
        model: course.title(),
        test: test.title.clone(),
        lasts: course.takes(attended),
        likely: course.likely(attended),
        standing: course.likely(|step| !attended(step)),
        sittings: sittings(course),
        work: Work::ALL.iter().map(|work| (*work, course.work(*work))).map(|(w, (s, l))| (w.words(), s, l)).collect(),
        stages: stages.collect(),
    }
}

/// A long wait parts the work of a run.
fn sittings(course: &Course<'_>) -> Vec<Sitting> {
    let steps = &course.paper.test.steps;
    let alone = steps.iter().filter(|step| Work::of(step) == Work::Standing);
    let mut from = 0;
    let mut found = Vec::new();
    for until in alone.map(|step| step.number).chain([u32::MAX]) {
        let within = |step: &Step| step.number > from && step.number < until;
        let then_alone = course.likely(|step| step.number == until);
        let (likely, lasts) = (course.likely(within), course.takes(within));
        match found.last_mut() {
            // Nothing is done between two waits that follow each other.
            Some(Sitting { then_alone: before, .. }) if lasts.high == 0.0 => *before += then_alone,
            _ => found.push(Sitting { likely, lasts, then_alone }),
        }
        from = until;
    }
    found
}

/// How the runs fall on days.
#[derive(Debug, Clone, Serialize)]
pub struct Days {
    /// s: nothing begins that would likely end later in the day than this.
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
    let packed = pack(runs, longest, |sitting| sitting.likely);
    let fewest = pack(runs, longest, |sitting| sitting.lasts.low).len();
    let most = pack(runs, longest, |sitting| sitting.lasts.high).len();
    let days: Vec<Day> = packed
        .iter()
        .enumerate()
        .map(|(index, day)| Day {
            date: first.map(|first| date(first + after(first, index))),
            runs: day.iter().map(|(run, part)| part_of(run, *part)).collect(),
            likely: day.iter().filter_map(|(run, part)| run.sittings.get(*part)).map(|sitting| sitting.likely).sum(),
            lasts: day
                .iter()
                .filter_map(|(run, part)| run.sittings.get(*part))
                .fold(Span::default(), |sum, sitting| sum.plus(sitting.lasts)),
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

/// `R13`, or `R13 (2 of 3)` where long waits part it.
fn part_of(run: &RunTime, part: usize) -> String {
    let all = run.sittings.len();
    if all < 2 { run.run.clone() } else { format!("{} ({} of {all})", run.run, part + 1) }
}

/// For each day the sittings on it, as a run and which of its sittings, from 0. A sitting goes on the first day that has
/// room for it: not before the runs before it have begun, and not before its own run has stood as long as it must. One that is
/// longer than a day takes as many days as it needs.
fn pack(runs: &[RunTime], longest: f64, takes: impl Fn(&Sitting) -> f64) -> Vec<Vec<(&RunTime, usize)>> {
    let mut days: Vec<(f64, Vec<(&RunTime, usize)>)> = Vec::new();
    let mut begun = 0;
    for run in runs {
        let mut earliest = begun;
        for (index, sitting) in run.sittings.iter().enumerate() {
            let time = takes(sitting);
            let mut day = earliest;
            while days.get(day).is_some_and(|(used, _)| *used > 0.0 && used + time > longest) {
                day += 1;
            }
            if days.len() <= day {
                days.resize_with(day + 1, Default::default);
            }
            let mut left = time;
            if let Some((used, on)) = days.get_mut(day) {
                on.push((run, index));
                left = (*used + time - longest).max(0.0);
                *used = (*used + time).min(longest);
            }
            if index == 0 {
                begun = day;
            }
            while left > 0.0 {
                day += 1;
                if days.len() <= day {
                    days.resize_with(day + 1, Default::default);
                }
                // A night's stop is not looked for: the run goes on first thing in the morning.
                if let Some((used, _)) = days.get_mut(day) {
                    *used += left.min(longest);
                }
                left -= longest;
            }
            let nights = (sitting.then_alone / 86_400.0).ceil();
            earliest = day + (1..=30).find(|night| f64::from(*night) >= nights).unwrap_or(30) as usize;
        }
    }
    days.into_iter().map(|(_, on)| on).collect()
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
