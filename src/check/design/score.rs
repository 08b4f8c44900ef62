//! What is made of the results: weights, differences that can be seen, pairs, scores by eye.

use super::super::say::{self, Round, above};
use super::super::{Also, Findings, finding};
use super::specimens_by_model;
use crate::diagnostic::Code;
use crate::plan::{Action, Plan, Run, Test, Wants};
use crate::syntax::nearest;
use crate::trade::comparison::{smallest_difference, specimens_needed};
use crate::trade::confidence::Confidence;

/// Four times out of five a difference that is there is to be seen; 95 times out of a hundred none is seen that isn't.
const POWER: f64 = 0.8;

/// Weights of a score, which name tests and make a whole.
pub(super) fn weights(plan: &Plan, findings: &mut Findings) {
    let weights = &plan.campaign.weights;
    if weights.is_empty() {
        return;
    }
    let at = plan.campaign.places.weights.unwrap_or(plan.campaign.origin);
    let tests = || plan.tests.iter().map(|test| test.name.as_str());
    if let Some((name, _)) = weights.iter().find(|(name, _)| !tests().any(|test| test == name)) {
        let help = match nearest(name, tests()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("its tests are {}", tests().map(|t| format!("`{t}`")).collect::<Vec<_>>().join(", ")),
        };
        findings.add(
            finding(
                Code::WeightsWrong,
                format!("`{name}` has a weight, and no test of the campaign is called that"),
                at,
                "these weights",
            )
            .help(help),
        );
        return;
    }
    if let Some((name, share)) = weights.iter().find(|(_, share)| *share < 0.0) {
        findings.add(
            finding(
                Code::WeightsWrong,
                format!("the weight of `{name}` is {}, less than nothing", say::percent(*share, Round::Near)),
                at,
                "these weights",
            )
            .help("write every weight as a share of the whole, from 0 % to 100 %"),
        );
        return;
    }
    let sum: f64 = weights.iter().map(|(_, share)| share).sum();
    if (sum - 1.0).abs() < 5e-4 {
        return;
    }
    let scaled = whole(weights, sum);
    findings.add(
        finding(
            Code::WeightsWrong,
            format!("the weights add up to {}, not to 100 %", say::percent(sum, Round::Near)),
            at,
            "these weights",
        )
        .help(match scaled {
            Some(scaled) => format!("in the same proportions that is `weights {scaled}`"),
            None => "give each test a share of the whole; the shares make 100 %".to_owned(),
        }),
    );
}

/// The same proportions in tenths of a per cent that make exactly a whole.
fn whole(weights: &[(String, f64)], sum: f64) -> Option<String> {
    if sum <= 0.0 {
        return None;
    }
    let mut left = 1000_i64;
    let last = weights.len().saturating_sub(1);
    let mut said = Vec::new();
    for (index, (name, share)) in weights.iter().enumerate() {
        let tenths = if index == last { left } else { (share / sum * 1000.0).round() as i64 };
        left -= tenths;
        said.push(format!("{name} = {}", say::percent(tenths as f64 / 1000.0, Round::Near)));
    }
    Some(said.join(", "))
}

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, single: bool, findings: &mut Findings) {
    let specimens = specimens_by_model(plan, runs);
    let fewest = specimens.values().map(indexmap::IndexSet::len).min().unwrap_or(0);
    // Where one specimen speaks for a model, that is said already.
    if !single && specimens.len() >= 2 {
        tell_apart(plan, test, specimens.len(), fewest, findings);
    }
    pairs(plan, runs, test, specimens.len(), findings);
    if specimens.len() >= 2 {
        scorer(plan, test, specimens.len(), findings);
    }
}

/// The difference that the campaign is to show, against what its specimens can show.
fn tell_apart(plan: &Plan, test: &Test, groups: usize, fewest: usize, findings: &mut Findings) {
    let Some(wanted) = &plan.campaign.tell_apart else { return };
    let (difference, scatter) = (wanted.difference, wanted.scatter);
    let confidence = Confidence::P95;
    let Ok(shown) = smallest_difference(scatter, groups, fewest, confidence, POWER) else { return };
    if !above(shown, difference) {
        return;
    }
    let needed = specimens_needed(difference, scatter, groups, confidence, POWER);
    let at = plan.campaign.places.tell_apart.unwrap_or(plan.campaign.origin);
    findings.add(
        finding(
            Code::TooFewToTell,
            format!(
                "{fewest} specimens of a model in `{}` show a difference of {} or more, not one of {}",
                test.name,
                say::percent(shown, Round::Up),
                say::percent(difference, Round::Near)
            ),
            at,
            format!("specimens scatter by {}", say::percent(scatter, Round::Near)),
        )
        .and(test.origin, format!("{groups} models, {fewest} specimens of each: seen four times in five, at 95 %"))
        .help(match needed {
            Ok(needed) => format!(
                "test {needed} specimens of each model, or write `tell apart {}, with a scatter of {}`",
                say::percent(shown, Round::Up),
                say::percent(scatter, Round::Near)
            ),
            Err(_) => "make the runs more alike first; no number of specimens that can be bought shows this difference"
                .to_owned(),
        }),
    );
}

/// Every model with every other, and nothing to hold them against.
fn pairs(plan: &Plan, runs: &[&Run], test: &Test, models: usize, findings: &mut Findings) {
    let most = say::rule(plan, "most-pairs", 10.0);
    let pairs = models * models.saturating_sub(1) / 2;
    let reference = runs.iter().any(|run| plan.campaign.specimens.get(&run.specimen).is_some_and(|s| s.reference));
    if reference || !above(pairs as f64, most.value) {
        return;
    }
    findings.add(
        finding(
            Code::TooManyPairs,
            format!(
                "{models} models in `{}` make {pairs} pairs, and there is no reference to compare each with",
                test.name
            ),
            plan.campaign.origin,
            "these models",
        )
        .and_maybe(most.origin, "the rule that sets how many pairs are too many")
        .help(format!(
            "mark one specimen as `reference` and compare the {} others with it, or say beforehand which pairs matter",
            models - 1
        )),
    );
}

/// Opened cans scored by eye, with the makers' names on the papers.
fn scorer(plan: &Plan, test: &Test, models: usize, findings: &mut Findings) {
    if plan.campaign.blind {
        return;
    }
    let opened = test.steps.iter().any(|step| matches!(step.action, Action::Photograph));
    let scored = test.steps.iter().find_map(|step| {
        step.readings.iter().find(|reading| matches!(reading.wants, Wants::Choice(_))).filter(|_| opened)
    });
    let Some(reading) = scored else { return };
    findings.add(
        finding(
            Code::ScorerKnows,
            format!("`{}` is scored by eye on cans of {models} models, and the papers name the models", reading.name),
            reading.origin,
            "scored here",
        )
        .and(plan.campaign.origin, "this campaign does not hide the models")
        .help("write `blind models hidden on all papers` in the campaign, open the cans under their codes, and let a second person score them too"),
    );
}
