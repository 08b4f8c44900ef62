//! Whether dust and oil last for the whole campaign.

use indexmap::IndexMap;

use super::say::{self, Round, above};
use super::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Origin, Plan, Test};
use crate::quantity::Quantity;

/// What one run takes of each dust and each fluid, in SI, and the step that takes most of it.
#[derive(Default)]
struct Needs<'p> {
    dust: IndexMap<&'p str, Need>,
    fluid: IndexMap<&'p str, Need>,
}

#[derive(Clone, Copy)]
struct Need {
    amount: f64,
    largest: f64,
    at: Origin,
}

fn take<'p>(needs: &mut IndexMap<&'p str, Need>, name: &'p str, amount: f64, at: Origin) {
    let need = needs.entry(name).or_insert(Need { amount: 0.0, largest: 0.0, at });
    need.amount += amount;
    if amount > need.largest {
        need.largest = amount;
        need.at = at;
    }
}

/// Names and amounts in SI.
pub(crate) type Amounts<'p> = Vec<(&'p str, f64)>;

/// What all runs take of each dust (kg) and of each fluid (m³), loops run to their caps.
pub(crate) fn amounts(plan: &Plan) -> (Amounts<'_>, Amounts<'_>) {
    let all = all_runs(plan);
    let list = |needs: IndexMap<_, Need>| needs.into_iter().map(|(name, need)| (name, need.amount)).collect();
    (list(all.dust), list(all.fluid))
}

fn all_runs(plan: &Plan) -> Needs<'_> {
    let mut all = Needs::default();
    let mut runs = vec![0_u32; plan.tests.len()];
    for run in &plan.runs {
        if let Some(count) = runs.get_mut(run.test) {
            *count += 1;
        }
    }
    for (test, runs) in plan.tests.iter().zip(&runs) {
        let one = one_run(test);
        for (name, need) in one.dust {
            take(&mut all.dust, name, need.amount * f64::from(*runs), need.at);
        }
        for (name, need) in one.fluid {
            take(&mut all.fluid, name, need.amount * f64::from(*runs), need.at);
        }
    }
    all
}

pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    let all = all_runs(plan);
    let factor = say::rule(plan, "stock-factor", 1.3);
    for (name, need) in &all.dust {
        let Some((dust, supply)) = plan.dusts.get(*name).and_then(|d| d.supply.as_ref().map(|s| (d, s))) else {
            continue;
        };
        let wanted = need.amount * factor.value;
        if above(wanted, supply.si()) {
            findings.add(
                finding(
                    Code::SupplyShort,
                    short(name, need.amount, wanted, supply, factor.value),
                    dust.origin,
                    format!("supply {supply}"),
                )
                .and(need.at, "most of it goes here")
                .and_maybe(
                    factor.origin,
                    format!("{} of the need is to be there", say::percent(factor.value, Round::Near)),
                )
                .help(format!(
                    "have {} of the same lot before the first run, or plan fewer runs",
                    say::difference(wanted, &supply.unit, Round::Up)
                )),
            );
        }
    }
    for (name, need) in &all.fluid {
        let Some((fluid, supply)) = plan.fluids.get(*name).and_then(|f| f.supply.as_ref().map(|s| (f, s))) else {
            continue;
        };
        if above(need.amount, supply.si()) {
            findings.add(
                finding(
                    Code::SupplyShort,
                    format!(
                        "fillings, flushes and slurries take {} of `{name}`, and {supply} are there",
                        say::difference(need.amount, &supply.unit, Round::Near)
                    ),
                    fluid.origin,
                    format!("supply {supply}"),
                )
                .and(need.at, "most of it goes here")
                .help(format!(
                    "have {} before the first run, flush with less, or group the runs so that the fluid changes less often",
                    say::difference(need.amount, &supply.unit, Round::Up)
                )),
            );
        }
    }
}

/// What is short: the dust itself, or only the reserve.
fn short(name: &str, need: f64, wanted: f64, supply: &Quantity, factor: f64) -> String {
    let amount = |si: f64| say::difference(si, &supply.unit, Round::Near);
    if above(need, supply.si()) {
        format!("the runs take up to {} of `{name}`, and {supply} are there", amount(need))
    } else {
        format!(
            "the runs take up to {} of `{name}`; with {} in reserve that is {}, and {supply} are there",
            amount(need),
            say::percent(factor - 1.0, Round::Near),
            amount(wanted)
        )
    }
}

/// What one run takes at most: every round of a loop, but no more dust than the loop's own cap.
fn one_run(test: &Test) -> Needs<'_> {
    let mut needs = Needs::default();
    let mut in_loop = vec![0.0_f64; test.batches.len()];
    for step in &test.steps {
        match &step.action {
            Action::Dose { mass, dust, carrier, carrier_fluid, .. }
            | Action::Condition { mass, dust, carrier, carrier_fluid, .. } => {
                let mut amount = mass.target.as_ref().map_or(0.0, |m| m.si());
                if let Some((index, _)) = step.round
                    && let (Some(so_far), Some(batch)) = (in_loop.get_mut(index), test.batches.get(index))
                {
                    let room = batch.mass_cap.as_ref().map_or(f64::INFINITY, |cap| cap.si() - *so_far);
                    amount = amount.min(room.max(0.0));
                    *so_far += amount;
                }
                take(&mut needs.dust, dust, amount, step.origin);
                take(&mut needs.fluid, carrier_fluid, carrier.si(), step.origin);
            }
            Action::ChangeFluid(change) => {
                if let Some(fill) = &change.fill {
                    take(&mut needs.fluid, &change.to, fill.si(), step.origin);
                }
                for (volume, fluid, times) in &change.flushes {
                    take(&mut needs.fluid, fluid, volume.si() * f64::from(*times), step.origin);
                }
            }
            _ => {}
        }
    }
    needs
}
