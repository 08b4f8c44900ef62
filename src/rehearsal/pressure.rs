//! What the gauges across the specimen will show: clean at every flow and viscosity, and loaded to the end.

use serde::Serialize;

use super::course::{Course, dose_of};
use crate::foresight::Span;
use crate::plan::{Measures, Wants};
use crate::quantity::Unit;

/// A clean specimen's differential pressure wherever the plan reads one.
#[derive(Debug, Clone, Serialize)]
pub struct Pressure {
    pub test: String,
    pub stage: String,
    pub model: String,
    /// Whether it rests on what the model says; otherwise on the plan's own expected readings.
    pub expected: bool,
    /// m²/s.
    pub viscosity: Span,
    /// m³/s and Pa, by rising flow.
    pub points: Vec<(f64, Span)>,
    /// The gauge's name and the top of its range, Pa.
    pub gauge: Option<(String, f64)>,
    /// Pa: where the by-pass opens.
    pub bypass: Option<f64>,
    pub flow_unit: Unit,
    pub unit: Unit,
}

pub(super) fn pressures(courses: &[Course<'_>]) -> Vec<Pressure> {
    courses.iter().flat_map(of_course).collect()
}

fn of_course(course: &Course<'_>) -> Vec<Pressure> {
    let plan = course.paper.plan;
    let mut found: Vec<Pressure> = Vec::new();
    for (step, _, after) in course.walk() {
        let stage = course.paper.test.stages.get(step.stage);
        let Some(stage) = stage.filter(|stage| stage.tare_for.is_none() && stage.blank.is_none()) else { continue };
        // Dust lifts what is read later; clean ends with the first dose.
        // To see a by-pass open, the element is blocked; its restriction says nothing there.
        let blocked =
            matches!(step.action, crate::plan::Action::BypassFlow { .. }) || by_pass_stage(course, step.stage);
        let clean = step.round.is_none() && after.specimen_dust.is_none() && !blocked;
        let reading = step.readings.iter().find_map(|reading| match &reading.wants {
            Wants::Number(numeric) if numeric.measures == Measures::DifferentialPressure => Some(numeric),
            _ => None,
        });
        let (true, Some(numeric), Some((flow, _))) = (clean, reading, after.flow) else { continue };
        let (Some(predicted), Some(viscosity)) = (course.paper.restriction(&after), after.viscosity()) else {
            continue;
        };
        let point = (flow, predicted.pressure);
        let same = |p: &&mut Pressure| p.stage == stage.title && p.viscosity == viscosity;
        if let Some(group) = found.iter_mut().find(same) {
            if !group.points.iter().any(|(at, _)| (at / flow - 1.0).abs() < 1e-9) {
                group.points.push(point);
                group.points.sort_by(|a, b| a.0.total_cmp(&b.0));
            }
            continue;
        }
        let instrument = numeric.instrument.as_ref().and_then(|name| plan.instruments.get(name));
        let top = |range: crate::quantity::Window| range.high;
        let model = plan.campaign.models.get(course.model);
        found.push(Pressure {
            test: course.paper.test.title.clone(),
            stage: stage.title.clone(),
            model: course.title(),
            expected: !predicted.from.model.is_empty(),
            viscosity,
            points: vec![point],
            gauge: instrument.and_then(|i| Some((i.name.clone(), top(i.range.window)?))),
            bypass: model.and_then(|model| model.bypass_opens.as_ref()).map(|opens| opens.value.si_difference()),
            flow_unit: flow_unit(course),
            unit: numeric.unit.clone(),
        });
    }
    found
}

fn by_pass_stage(course: &Course<'_>, stage: usize) -> bool {
    let steps = &course.paper.test.steps;
    steps.iter().any(|step| step.stage == stage && matches!(step.action, crate::plan::Action::BypassFlow { .. }))
}

/// The unit in which the test sets its flows.
fn flow_unit(course: &Course<'_>) -> Unit {
    use crate::plan::Action;
    let mut flows = course.paper.test.steps.iter().filter_map(|step| match &step.action {
        Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => setting.target.as_ref(),
        Action::BypassFlow { flow, .. } => Some(flow),
        _ => None,
    });
    flows.next().map_or_else(|| Unit::parse("L/min").unwrap_or_else(|_| Unit::none()), |flow| flow.unit.clone())
}

/// A loop of doses on paper.
#[derive(Debug, Clone, Serialize)]
pub struct Loading {
    pub test: String,
    pub model: String,
    pub path: String,
    /// Pa, above the clean specimen or absolute, as the plan has it.
    pub terminal: f64,
    /// kg a round.
    pub dose: f64,
    pub fewest: u32,
    pub likely: u32,
    pub most: u32,
    pub cap: u32,
    /// kg by the end of this loop, earlier loops counted in.
    pub dosed: Span,
    /// Whether a capacity is expected of the model.
    pub expected: bool,
    /// Pa across the specimen when the loop ends, where its clean restriction is known.
    pub at_end: Option<Span>,
    pub unit: Unit,
    pub mass_unit: Unit,
}

pub(super) fn loadings(courses: &[Course<'_>]) -> Vec<Loading> {
    courses.iter().flat_map(loops).collect()
}

fn loops(course: &Course<'_>) -> Vec<Loading> {
    use crate::plan::Action;
    let test = course.paper.test;
    let each = test.batches.iter().enumerate().filter_map(|(index, batch)| {
        let dose = dose_of(test, index)?;
        let (fewest, most) = course.rounds.of_loop(index);
        let dosed = |way: &Vec<u32>| {
            let so_far = way.iter().enumerate().take(index + 1);
            so_far.map(|(loop_, rounds)| f64::from(*rounds) * dose_of(test, loop_).unwrap_or(0.0)).sum::<f64>()
        };
        let of_ways = course.rounds.ways.iter().map(|way| Span::exactly(dosed(way))).reduce(Span::or)?;
        let before = course.walk().find(|(step, ..)| step.round.is_some_and(|(of, _)| of == index));
        let clean = before.and_then(|(_, before, _)| course.paper.restriction(&before)).map(|found| found.pressure);
        let terminal = batch.terminal.si_difference();
        let past = 1.0 + batch.overshoot.unwrap_or(0.0);
        let at_end = match &batch.baseline {
            Some(_) => clean.map(|clean| clean.plus(Span::between(terminal, terminal * past))),
            None => Some(Span::between(terminal, terminal * past)),
        };
        let mass_unit = test.steps.iter().find_map(|step| match &step.action {
            Action::Dose { mass, .. } => mass.target.as_ref().map(|mass| mass.unit.clone()),
            _ => None,
        });
        Some(Loading {
            test: test.title.clone(),
            model: course.title(),
            path: batch.path.clone(),
            terminal,
            dose,
            fewest,
            likely: course.rounds.likely.get(index).copied().unwrap_or(0),
            most,
            cap: batch.cap,
            dosed: of_ways,
            expected: course.rounds.expected,
            at_end,
            unit: batch.terminal.unit.clone(),
            mass_unit: mass_unit?,
        })
    });
    each.collect()
}
