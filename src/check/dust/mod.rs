//! Dust: the jar, the balance, the injection, and what is known of it from step to step.

mod counts;

mod doses;

mod injection;

mod jar;

mod line;

mod slurry;

mod sums;

mod trail;

use super::{Findings, Moment};
use crate::plan::{Action, Plan, Run, Test};
use crate::quantity::Quantity;
pub(super) use doses::unit;
pub(super) use slurry::spell;
use trail::Slurry;
pub(super) use trail::{Facts, Trail, counted, through_specimen, volume};

/// A test as a whole.
pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let facts = Facts::of(test);
    jar::test(plan, runs, test, &facts, findings);
    sums::test(plan, runs, test, &facts, findings);
}

/// All tests together.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    jar::lots(plan, findings);
}

pub(super) fn step<'p>(moment: &Moment<'_, 'p>, runs: &[&Run], trail: &mut Trail<'p>, findings: &mut Findings) {
    trail.note(moment.step);
    if let Some(slurry) = Slurry::of(moment.step) {
        injection::not_rinsed(moment, trail, findings);
        let slip = doses::made(moment, &slurry, findings);
        trail.astray |= slip;
        trail.astray |= injection::made(moment, &slurry, slip, findings);
        if !trail.astray {
            counts::level(moment, trail, &slurry, findings);
        }
        trail.slurry = Some(slurry);
    }
    let injected: Option<(&Quantity, Option<&Quantity>)> = match &moment.step.action {
        Action::Dose { preparation, .. } => {
            doses::bath(moment, preparation, findings);
            preparation.inject.as_ref().and_then(|(flow, feed)| Some((flow.target.as_ref()?, feed.as_ref())))
        }
        Action::Inject { flow, feed } => flow.target.as_ref().map(|flow| (flow, feed.as_ref())),
        _ => None,
    };
    if let Some((flow, feed)) = injected {
        injection::injected(moment, trail, flow, feed, findings);
        line::injected(moment, trail, flow, findings);
    }
    if trail.facts.enters(moment.step) {
        injection::entered(moment, trail, findings);
    }
    match &moment.step.action {
        Action::RinseInjector { times, volume } => {
            doses::rinse(moment, *times, volume, findings);
            injection::rinsed(trail, *times, volume);
        }
        Action::Sample => {
            injection::not_rinsed(moment, trail, findings);
            injection::not_mixed(moment, trail, findings);
            if !trail.astray {
                counts::bottle(moment, runs, trail, findings);
            }
        }
        Action::CleanUp(clean_up) => {
            injection::not_rinsed(moment, trail, findings);
            trail.mixing = None;
            trail.background =
                clean_up.background.as_deref().map(|code| (code, moment.step.origin)).or(trail.background);
        }
        _ => {}
    }
    for reading in &moment.step.readings {
        injection::withdrawn(trail, reading);
    }
}

/// What shows only at the end of a test.
pub(super) fn end(trail: &mut Trail<'_>, plan: &Plan, test: &Test, findings: &mut Findings) {
    if !trail.astray {
        injection::overflows(trail, plan, findings);
    }
    injection::never_rinsed(trail, test, findings);
}
