//! What a campaign takes: bottles, doses, dust, oil.

use indexmap::IndexMap;

use crate::check;
use crate::plan::{Action, Plan, Wants};
use crate::quantity::Unit;

/// Named needs of a whole campaign, loops run to their caps.
pub(super) fn needs(plan: &Plan) -> IndexMap<String, String> {
    let mut needs = IndexMap::new();
    let (mut bottles, mut doses, mut steps) = (0_usize, 0_usize, 0_usize);
    for test in plan.runs.iter().filter_map(|run| plan.test_of(run)) {
        steps += test.steps.len();
        doses += test.steps.iter().filter(|step| matches!(step.action, Action::Dose { .. })).count();
        for reading in test.steps.iter().flat_map(|step| &step.readings) {
            if let Wants::Bottle(bottle) = &reading.wants {
                bottles += 1 + usize::from(bottle.second_bottle);
            }
        }
    }
    for (name, count) in [("runs", plan.runs.len()), ("steps", steps), ("bottles", bottles), ("doses", doses)] {
        needs.insert(name.to_owned(), count.to_string());
    }
    let (dusts, fluids) = check::amounts(plan);
    let said = |amount: f64, unit: &str| match Unit::parse(unit) {
        Ok(parsed) => format!("{:.1} {unit}", parsed.from_si_difference(amount)),
        Err(_) => amount.to_string(),
    };
    for (name, amount) in dusts {
        needs.insert(format!("dust `{name}`"), said(amount, "g"));
    }
    for (name, amount) in fluids {
        needs.insert(format!("`{name}` for filling, flushing and slurries"), said(amount, "L"));
    }
    needs
}
