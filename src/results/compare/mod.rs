//! From runs to answers: what specimens are compared by, which of them differ, whether the bench drifted, whether claims
//! hold, and what the campaign's questions come to.

mod answers;

mod claims;

mod decide;

mod drift;

mod gather;

mod group;

mod law;

mod per_unit;

mod rank;

mod score;

mod words;

use super::model::{Answer, Better, Comparison, Measurand, Results, RunResults};
use crate::audit::evidence::Standing;
use crate::plan::{Plan, Way};
pub use rank::Name;

/// All that follows from what the single runs found.
pub fn compared(plan: &Plan, standings: &[Standing], runs: Vec<RunResults>) -> Results {
    let (keys, mut measurands) = gather::measurands(plan, &runs);
    decide(plan, &mut measurands);
    let drifts = drift::drifts(plan, &keys, &mut measurands, &runs);
    let claims = claims::claims(plan, &keys, &measurands);
    let score = score::score(plan, &measurands);
    let per_unit = per_unit::views(plan, &keys, &measurands);
    let mut results = Results { runs, measurands, drifts, claims, answers: Vec::new(), score, per_unit };
    results.answers = answers(plan, standings, &results, &str::to_owned, !plan.campaign.blind);
    results
}

/// The answers to the campaign's questions, with specimens called as `name` says. `opened`: whether it may be told which
/// specimen is of which model, and so what its maker claims.
pub fn answers(plan: &Plan, standings: &[Standing], results: &Results, name: Name<'_>, opened: bool) -> Vec<Answer> {
    let (keys, _) = gather::measurands(plan, &results.runs);
    let ground = answers::Ground {
        plan,
        keys: &keys,
        measurands: &results.measurands,
        claims: &results.claims,
        runs: &results.runs,
        standings,
        name,
        opened,
    };
    answers::answers(&ground)
}

/// Compares: what the questions rest on is one family, and all else another.
fn decide(plan: &Plan, measurands: &mut [Measurand]) {
    let ranked = |key: &str| {
        let asks = plan.campaign.asks.iter().flatten();
        asks.into_iter().any(|ask| ask.key == key && matches!(ask.way, Way::Lowest | Way::Highest))
    };
    for ask in plan.campaign.asks.iter().flatten() {
        let better = match ask.way {
            Way::Lowest => Better::Low,
            Way::Highest => Better::High,
            Way::Each | Way::AsClaimed => continue,
        };
        // What is told and not ranked has no better side of its own; a question may give it one.
        let unranked = measurands.iter_mut().filter(|one| one.key == ask.key && one.better == Better::Neither);
        unranked.for_each(|one| one.better = better);
    }
    let any_asked = measurands.iter().any(|one| ranked(&one.key));
    let (mut asked, mut others) = (Vec::new(), Vec::new());
    for measurand in measurands {
        if measurand.better == Better::Neither {
            let none = Some("it is told of each specimen, and none is better for it".to_owned());
            measurand.comparison = Comparison { none, ..Comparison::default() };
        } else if ranked(&measurand.key) || !any_asked {
            asked.push(measurand);
        } else {
            others.push(measurand);
        }
    }
    if any_asked && !others.is_empty() {
        decide::family(&mut asked, "all results that a question asks for", ASKED);
        decide::family(&mut others, "all results that no question asks for", 1.0 - ASKED);
    } else {
        decide::family(&mut asked, "all results of the campaign", 1.0);
    }
}

/// Of the error that a campaign may make, the part of what its questions ask for. What nobody asked for is shown too, and
/// may err only so much that the whole campaign keeps to one in twenty.
const ASKED: f64 = 0.8;

/// Compares measurands as one family, whatever plan they come from.
pub fn compare_all(measurands: &mut [Measurand]) {
    decide::family(&mut measurands.iter_mut().collect::<Vec<_>>(), "all these results", 1.0);
}
