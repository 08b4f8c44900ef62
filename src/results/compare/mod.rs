//! From runs to answers: what specimens are compared by, which of them differ, whether the bench drifted, whether claims
//! hold, and what the campaign's questions come to.

mod decide;

mod gather;

mod group;

mod law;

mod words;

use super::model::{Better, Comparison, Measurand, Results, RunResults};
use crate::audit::evidence::Standing;
use crate::plan::{Plan, Way};

/// All that follows from what the single runs found.
pub fn compared(plan: &Plan, _standings: &[Standing], runs: Vec<RunResults>) -> Results {
    let mut measurands = gather::measurands(plan, &runs);
    decide(plan, &mut measurands);
    Results { runs, measurands, drifts: Vec::new(), claims: Vec::new(), answers: Vec::new(), score: None }
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
    let first = if any_asked { "all results that a question asks for" } else { "all results of the campaign" };
    decide::family(&mut asked, first);
    decide::family(&mut others, "all results that no question asks for");
}

/// Compares measurands as one family, whatever plan they come from.
pub fn compare_all(measurands: &mut [Measurand]) {
    decide::family(&mut measurands.iter_mut().collect::<Vec<_>>(), "all these results");
}
