//! What a laboratory would count in the bottles of a run, as far as the plan tells.

use super::state::through;
use super::{Paper, Span};
use crate::plan::{Action, Bottle, Plan, Reading, Run, Step, Wants};

/// A bottle of a run, and what is expected in it.
#[derive(Debug, Clone)]
pub struct Drawn<'p> {
    pub step: &'p Step,
    pub reading: &'p Reading,
    pub bottle: &'p Bottle,
    /// Whether it is drawn behind the specimen.
    pub behind: bool,
    /// Whether dust went in since the oil was last counted clean.
    pub dusty: bool,
    /// Whether a specimen was in place.
    pub mounted: bool,
    /// Whether its stage is the rig without specimen and without dust.
    pub blank: bool,
    /// The cleanliness code up to which the oil was cleaned last, where one was asked for.
    pub background: Option<&'p str>,
    /// Whether the bottle itself shows that it was.
    pub proves_clean: bool,
    /// Sizes counted (m) and the particles from there up that the doses lead to, 1/m³.
    pub expected: Vec<(f64, Option<Span>)>,
    /// Sizes (m) and the particles from there up in a kilogram of the last dust; empty where its sizes are not known.
    pub per_mass: Vec<(f64, f64)>,
    /// The oil in the circuit, m³, and its flow, m³/s, as they were set before.
    pub oil: Option<Span>,
    pub flow: Option<f64>,
    /// The step from which the dust of the last dose goes through the specimen: the route is taken, or the dose given on its
    /// way; `None` where it does not go through.
    pub pass: Option<&'p Step>,
}

/// The bottles of a run that a laboratory counts, in the order in which they are drawn.
pub fn bottles<'p>(plan: &'p Plan, run: &'p Run) -> Vec<Drawn<'p>> {
    let Some(test) = plan.test_of(run) else { return Vec::new() };
    let paper = Paper::new(plan, &[run], test);
    let mut found = Vec::new();
    let mut background = None;
    let mut per_mass: Vec<(f64, f64)> = Vec::new();
    let mut pass = None;
    for (step, before, after) in paper.walk() {
        match &step.action {
            Action::TakeRoute { .. } | Action::Dose { .. } | Action::Inject { .. } => {
                let passing = through(&plan.rig, &after) == Some("the specimen") && after.mounted.is_some();
                pass = (passing && after.dosed.is_some() && after.loop_dust.is_some()).then_some(step);
            }
            Action::CleanUp(_) | Action::ChangeFluid(_) | Action::Mount { .. } | Action::Remove => pass = None,
            _ => {}
        }
        if let Action::CleanUp(clean) = &step.action {
            background = clean.background.as_deref().or(background);
        }
        if let Action::Dose { dust, .. } = &step.action
            && let Some(dust) = plan.dusts.get(dust)
        {
            let powder = paper.grid.powder(dust);
            let sizes = sizes(plan);
            per_mass = sizes.iter().filter_map(|size| Some((*size, paper.grid.per_mass(&powder, *size)?))).collect();
        }
        for reading in &step.readings {
            let Wants::Bottle(bottle) = &reading.wants else { continue };
            let sits = plan.rig.samplers.get(&bottle.sampler).map_or("", |sampler| sampler.sits.as_str());
            let behind = sits == "downstream";
            let proves_clean = matches!(step.action, Action::CleanUp(_));
            let state = if proves_clean { &after } else { &before };
            let dusty = state.loop_dust.is_some() && state.dosed.is_some() && !proves_clean;
            let stage = test.stages.get(step.stage);
            let expected = sizes(plan)
                .into_iter()
                .map(|size| {
                    let there = if behind {
                        state.downstream_above(size, &paper.grid)
                    } else {
                        state.upstream_above(size, &paper.grid)
                    };
                    (size, there.filter(|_| dusty))
                })
                .collect();
            found.push(Drawn {
                step,
                reading,
                bottle,
                behind,
                dusty,
                mounted: state.mounted.is_some(),
                blank: stage.is_some_and(|stage| stage.blank.is_some()),
                background,
                proves_clean,
                expected,
                per_mass: per_mass.clone(),
                oil: state.oil(),
                flow: state.flow.map(|(flow, _)| flow).filter(|flow| *flow > 0.0),
                pass: pass.filter(|_| dusty),
            });
        }
    }
    found
}

/// Every size that a laboratory of the plan counts, rising.
fn sizes(plan: &Plan) -> Vec<f64> {
    let mut sizes: Vec<f64> = plan
        .laboratories
        .values()
        .flat_map(|laboratory| laboratory.tests.values())
        .flat_map(|test| test.sizes.iter().map(|size| size.si()))
        .collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup_by(|one, other| (*one / *other - 1.0).abs() < 1e-9);
    sizes
}
