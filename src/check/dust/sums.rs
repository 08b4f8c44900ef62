//! Doses added up: against the loop's own caps, the bottles that wait for them, and what a filter is said to hold.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, finding};
use super::Facts;
use super::jar::{capacity, models};
use super::trail::counted;
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Batch, Model, Origin, Plan, Run, Setting, Test};
use crate::quantity::Quantity;

/// A loop's doses: one round, and the step that doses.
struct Doses<'p> {
    batch: &'p Batch,
    /// kg in one round.
    round: f64,
    mass: &'p Quantity,
    at: Origin,
}

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, facts: &Facts<'_>, findings: &mut Findings) {
    let loops = loops(test);
    let mut round = None;
    let mut sum = 0.0;
    for step in &test.steps {
        let Some(here) = step.round else { continue };
        let Some(doses) = loops.iter().find(|(index, _)| *index == here.0).map(|(_, doses)| doses) else { continue };
        let Some(cap) = &doses.batch.mass_cap else { continue };
        if round != Some(here) {
            round = Some(here);
            sum = doses.round * f64::from(here.1);
            if here.1 == 1 && above(doses.round, cap.si()) {
                never_begins(doses, cap, findings);
            }
        }
        if let Some((reading, _)) = counted(step)
            && above(sum, cap.si())
            && !above(doses.round, cap.si())
        {
            never_drawn(doses, cap, here.1, &reading.name, step.origin, findings);
        }
    }
    if let Some((_, doses)) = loops.last() {
        let models = models(plan, runs);
        let expected = capacity(&models);
        too_big(plan, doses, expected, findings);
        never_full(test, &loops, facts, &models, findings);
    }
}

/// The loops that dose, in order, with what goes in at each round.
fn loops(test: &Test) -> Vec<(usize, Doses<'_>)> {
    let mut loops: Vec<(usize, Doses<'_>)> = Vec::new();
    for step in &test.steps {
        let (Some((index, 1)), Some(mass)) = (step.round, dose(&step.action)) else { continue };
        let (Some(batch), Some(target)) = (test.batches.get(index), mass.target.as_ref().filter(|m| m.si() > 0.0))
        else {
            continue;
        };
        match loops.iter_mut().find(|(known, _)| *known == index) {
            Some((_, doses)) => doses.round += target.si(),
            None => {
                loops.push((index, Doses { batch, round: target.si(), mass: target, at: step.origin }));
            }
        }
    }
    loops
}

fn dose(action: &Action) -> Option<&Setting> {
    match action {
        Action::Dose { mass, .. } => Some(mass),
        _ => None,
    }
}

fn never_begins(doses: &Doses<'_>, cap: &Quantity, findings: &mut Findings) {
    findings.add(
        finding(
            Code::DosesDoNotAddUp,
            format!("the loop stops at {cap} of dust, and its first dose is {} already", doses.mass),
            doses.batch.origin,
            format!("at most {cap}"),
        )
        .and(doses.at, "this dose")
        .help(format!(
            "write `at most {}`, which are {} doses, or take a smaller dose",
            say::point(doses.round * f64::from(doses.batch.cap), &doses.mass.unit, Round::Up),
            doses.batch.cap
        )),
    );
}

fn never_drawn(doses: &Doses<'_>, cap: &Quantity, round: u32, bottle: &str, at: Origin, findings: &mut Findings) {
    let last = (cap.si() / doses.round * (1.0 + 1e-9)).floor();
    findings.add(
        finding(
            Code::DosesDoNotAddUp,
            format!(
                "`{bottle}` waits for batch {round}, but {round} doses of {} are {}, and the loop stops at {cap}",
                doses.mass,
                say::point(doses.round * f64::from(round), &doses.mass.unit, Round::Near)
            ),
            at,
            "this bottle would never be drawn",
        )
        .and(doses.batch.origin, format!("at most {cap}"))
        .and(doses.at, "the dose of each batch")
        .help(format!(
            "draw it after batch {} at the latest, or write `at most {}`",
            say::number(last, Round::Down),
            say::point(doses.round * f64::from(round), &doses.mass.unit, Round::Up)
        )),
    );
}

/// One of the last doses against what the filter is expected to hold.
fn too_big(plan: &Plan, last: &Doses<'_>, claim: Option<(&Model, f64, &Quantity)>, findings: &mut Findings) {
    let rule = say::rule(plan, "last-dose-share", 0.1);
    let (expected, said) = match (claim, &last.batch.mass_cap) {
        (Some((model, expected, claim)), _) => (expected, format!("the {claim} that `{}` is said to hold", model.name)),
        (None, Some(cap)) => (cap.si(), format!("the {cap} that the loop allows at most")),
        (None, None) => return,
    };
    let share = last.round / expected;
    // A dose beyond the cap is another finding.
    if !above(share, rule.value) || last.batch.mass_cap.as_ref().is_some_and(|cap| above(last.round, cap.si())) {
        return;
    }
    let small = say::point(expected * rule.value, &last.mass.unit, Round::Down);
    let half = say::point(last.batch.terminal.si_difference() / 2.0, &last.batch.terminal.unit, Round::Near);
    findings.add(
        finding(
            Code::LastDosesTooBig,
            format!("the last doses, {} each, are {} of {said}", last.mass, say::percent(share, Round::Near)),
            last.at,
            "these doses",
        )
        .and(last.batch.origin, "the loop that ends at the terminal pressure")
        .and_maybe(claim.map(|(model, ..)| model.origin), "what it is said to hold")
        .and_maybe(rule.origin, "the rule that sets the share")
        .help(format!(
            "dose {small} or less; or let this loop end at {half}, and add one with the small doses for the rest"
        )),
    );
}

/// All doses together against what a filter is said to hold.
fn never_full(
    test: &Test,
    loops: &[(usize, Doses<'_>)],
    facts: &Facts<'_>,
    models: &[&Model],
    findings: &mut Findings,
) {
    let outside = test.steps.iter().filter(|step| step.round.is_none()).filter_map(|step| dose(&step.action));
    let outside: f64 = outside.filter_map(|mass| Some(mass.target.as_ref()?.si())).sum();
    let most = |doses: &Doses<'_>| {
        let all = doses.round * f64::from(doses.batch.cap);
        doses.batch.mass_cap.as_ref().map_or(all, |cap| all.min(cap.si()))
    };
    let total = outside + loops.iter().map(|(_, doses)| most(doses)).sum::<f64>();
    let short = models
        .iter()
        .filter_map(|model| capacity(&[*model]).map(|(_, held, claim)| (*model, held, claim)))
        .filter(|(_, held, _)| below(total, *held))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let (Some((model, held, claim)), Some((_, last)), Some(_)) = (short, loops.last(), facts.last_loop) else { return };
    let more = ((held - total) / last.round * (1.0 - 1e-9)).ceil();
    let rounds = f64::from(last.batch.cap) + more;
    let cap = match &last.batch.mass_cap {
        Some(cap) => format!(
            " and `at most {}`",
            say::point(last.round * rounds.max(cap.si() / last.round), &cap.unit, Round::Up)
        ),
        None => String::new(),
    };
    findings.add(
        finding(
            Code::DosesDoNotAddUp,
            format!(
                "all doses together are {} at most, and `{}` is said to hold {claim}",
                say::point(total, &last.mass.unit, Round::Near),
                model.name
            ),
            last.batch.origin,
            "the loop may end at its cap, not at its pressure",
        )
        .and(last.at, format!("{} each time, {} times at most", last.mass, last.batch.cap))
        .and(model.origin, format!("said to hold {claim}"))
        .severity(Severity::Warning)
        .why("A filter that holds what is claimed would not be full at the end, and its capacity would stay unknown.")
        .help(format!(
            "write `batch at most {}`{cap}, or take bigger doses in an earlier loop",
            say::number(rounds, Round::Up)
        )),
    );
}
