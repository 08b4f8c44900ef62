//! Dust in the tank over time, and what the laboratory will count in each bottle.

use serde::Serialize;

use super::course::Course;
use crate::foresight::{Span, State};
use crate::plan::{Action, LabTest, Wants};
use crate::quantity::{Quantity, Unit};
use crate::trade::confidence::Confidence;
use crate::trade::counting;

/// The dust in the tank while a test goes on, with the likely number of rounds.
#[derive(Debug, Clone, Serialize)]
pub struct Level {
    pub test: String,
    pub model: String,
    /// The sizes that are followed, as written.
    pub sizes: Vec<String>,
    pub points: Vec<LevelPoint>,
    /// s and words: where a stage begins.
    pub stages: Vec<(f64, String)>,
}

/// A moment: s after the first step, kg/m³ by weight, and particles above each size, 1/m³.
#[derive(Debug, Clone, Serialize)]
pub struct LevelPoint {
    pub time: f64,
    pub weight: Span,
    pub above: Vec<Span>,
}

/// One course for each test; of several models the first that is named.
fn shown<'c, 'p>(courses: &'c [Course<'p>]) -> impl Iterator<Item = &'c Course<'p>> {
    courses
        .iter()
        .enumerate()
        .filter(|(index, course)| {
            !courses.iter().take(*index).any(|earlier| std::ptr::eq(earlier.paper.test, course.paper.test))
        })
        .map(|(_, course)| course)
}

pub(super) fn levels(courses: &[Course<'_>]) -> Vec<Level> {
    shown(courses).filter_map(level).collect()
}

fn level(course: &Course<'_>) -> Option<Level> {
    let test = course.paper.test;
    let dusty = |step: &crate::plan::Step| {
        matches!(step.action, Action::Dose { .. } | Action::Condition { .. } | Action::Inject { .. })
    };
    if !test.steps.iter().any(dusty) {
        return None;
    }
    let sizes = followed(course);
    let mut time = 0.0;
    let mut points = Vec::new();
    let mut stages: Vec<(f64, String)> = Vec::new();
    let mut last_stage = usize::MAX;
    for (step, before, after) in course.walk() {
        if step.stage != last_stage {
            last_stage = step.stage;
            stages.extend(test.stages.get(step.stage).map(|stage| (time, stage.title.clone())));
        }
        let lasts = Span::between(after.clock.low - before.clock.low, after.clock.high - before.clock.high);
        time += lasts.middle();
        let above: Option<Vec<Span>> =
            sizes.iter().map(|size| after.upstream_above(size.si(), &course.paper.grid)).collect();
        if let Some(weight) = after.level() {
            points.push(LevelPoint { time, weight, above: above.unwrap_or_default() });
        }
    }
    let sizes = sizes.iter().map(Quantity::to_string).collect();
    Some(Level { test: test.title.clone(), model: course.title(), sizes, points, stages })
}

/// The finest, a middle and a coarse one of the sizes that the plan's laboratories count.
fn followed(course: &Course<'_>) -> Vec<Quantity> {
    let mut sizes: Vec<Quantity> = Vec::new();
    for size in course.paper.plan.laboratories.values().flat_map(|lab| lab.tests.values()).flat_map(|test| &test.sizes)
    {
        if !sizes.iter().any(|known| known.si() == size.si()) {
            sizes.push(size.clone());
        }
    }
    sizes.sort_by(|a, b| a.si().total_cmp(&b.si()));
    let near = |wanted: f64| sizes.iter().min_by(|a, b| (a.si() - wanted).abs().total_cmp(&(b.si() - wanted).abs()));
    let mut chosen: Vec<Quantity> = [4e-6, 14e-6, 38e-6].into_iter().filter_map(near).cloned().collect();
    chosen.dedup_by(|a, b| a.si() == b.si());
    chosen
}

/// A bottle, and what will be counted in it.
#[derive(Debug, Clone, Serialize)]
pub struct Bottled {
    pub test: String,
    pub model: String,
    pub path: String,
    pub sampler: String,
    /// upstream, downstream, tank or elsewhere.
    pub sits: String,
    pub laboratory_test: String,
    pub dilution: u32,
    /// m³, that is counted in all repeats.
    pub counted: f64,
    pub sizes: Vec<SizeCount>,
}

/// The particles above one size.
#[derive(Debug, Clone, Serialize)]
pub struct SizeCount {
    pub size: String,
    /// 1/m³ in the bottle.
    pub concentration: Span,
    /// Particles that the sensor sees.
    pub raw: Span,
    /// From counting alone, at the fewest raw counts: the half width of the 95 % interval as a share; `None` at no count.
    pub counting: Option<f64>,
    /// What this will mean: nothing to object to, too few to say anything, or more than the sensor tells apart.
    pub verdict: Verdict,
}

/// How well a count can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    Fine,
    Few,
    TooFew,
    TooMany,
}

impl Verdict {
    /// As it stands in a table.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Fine => "",
            Verdict::Few => "may be few",
            Verdict::TooFew => "too few",
            Verdict::TooMany => "dilute more?",
        }
    }
}

pub(super) fn bottles(courses: &[Course<'_>]) -> Vec<Bottled> {
    shown(courses).flat_map(of_course).collect()
}

fn of_course(course: &Course<'_>) -> Vec<Bottled> {
    let plan = course.paper.plan;
    let mut found = Vec::new();
    for (step, before, after) in course.walk() {
        for reading in &step.readings {
            let Wants::Bottle(bottle) = &reading.wants else { continue };
            let Some(sampler) = plan.rig.samplers.get(&bottle.sampler) else { continue };
            let behind = sampler.sits == "downstream";
            let tests = plan.laboratories.values().flat_map(|lab| lab.tests.values());
            for test in tests.filter(|test| bottle.tests.contains(&test.name)) {
                let dilution = bottle.dilution.unwrap_or(1).max(1);
                let counted = test.counted_volume.as_ref().map_or(0.0, |(v, times)| v.si() * f64::from(*times));
                // A clean-up ends with its bottle; any other fills while the oil goes on round.
                let cleaned = matches!(step.action, Action::CleanUp(_));
                let moment = (if cleaned { &after } else { &before }, &after);
                let size = |size: &Quantity| count(course, moment, behind, (size, test), f64::from(dilution), counted);
                let sizes: Vec<SizeCount> = test.sizes.iter().filter_map(size).collect();
                if sizes.is_empty() {
                    continue;
                }
                found.push(Bottled {
                    test: course.paper.test.title.clone(),
                    model: course.title(),
                    path: reading.path.clone(),
                    sampler: sampler.name.clone(),
                    sits: sampler.sits.clone(),
                    laboratory_test: test.name.clone(),
                    dilution,
                    counted,
                    sizes,
                });
            }
        }
    }
    found
}

/// While the bottle fills, the oil goes on round: the count lies between that before the step and that after it.
fn count(
    course: &Course<'_>,
    moment: (&State<'_>, &State<'_>),
    behind: bool,
    asked: (&Quantity, &LabTest),
    dilution: f64,
    counted: f64,
) -> Option<SizeCount> {
    let (size, test) = asked;
    let grid = &course.paper.grid;
    let at = |state: &State<'_>| match behind {
        true => state.downstream_above(size.si(), grid),
        false => state.upstream_above(size.si(), grid),
    };
    let concentration = at(moment.0)?.or(at(moment.1)?);
    let raw = concentration.times(Span::exactly(counted / dilution));
    let rules = &course.paper.plan.rules;
    let few = rules.number("raw-counts-warning").unwrap_or(100.0);
    let too_few = rules.number("raw-counts-limit").unwrap_or(20.0);
    let limit = test.coincidence_limit.as_ref().map(|limit| limit.value.si());
    let used = rules.number("coincidence-use").unwrap_or(0.8);
    let verdict = if limit.is_some_and(|limit| concentration.high / dilution > used * limit) {
        Verdict::TooMany
    } else if raw.high < too_few {
        Verdict::TooFew
    } else if raw.low < few {
        Verdict::Few
    } else {
        Verdict::Fine
    };
    Some(SizeCount { size: size.to_string(), concentration, raw, counting: poisson(raw.low), verdict })
}

/// Half the width of the exact 95 % interval of a count, as a share of it.
fn poisson(expected: f64) -> Option<f64> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count, held in range")]
    let whole = expected.clamp(0.0, 1e9).round() as u64;
    if whole == 0 {
        return None;
    }
    let interval = counting::interval(whole, Confidence::P95).ok()?;
    Some((interval.high - interval.low) / 2.0 / whole as f64)
}

/// Particles per millilitre.
pub(super) fn per_millilitre() -> Unit {
    Unit::parse("per mL").unwrap_or_else(|_| Unit::none())
}
