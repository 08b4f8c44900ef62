//! The dust before it is weighed: which jar, dried, blended, and fit for what is claimed.

use indexmap::IndexMap;

use super::super::say::{self, Round};
use super::super::{Also, Findings, finding};
use super::Facts;
use crate::diagnostic::{Code, Severity};
use crate::foresight::distribution;
pub(super) use crate::foresight::models;
use crate::plan::{Action, Dust, Hazard, Model, Origin, Plan, Run, Step, Test};
use crate::quantity::si::Length;
use crate::quantity::{Dimension, Quantity};
use uom::si::{length::meter, ratio::ratio};

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, facts: &Facts<'_>, findings: &mut Findings) {
    silica(plan, test, findings);
    if facts.matters() {
        ready(plan, test, findings);
        residue(plan, test, findings);
        unlike(plan, runs, facts, findings);
    }
    unfit(plan, runs, test, facts, findings);
}

/// The dust that a step weighs.
fn weighed<'p>(plan: &'p Plan, step: &'p Step) -> Option<&'p Dust> {
    match &step.action {
        Action::Dose { dust, .. } | Action::Condition { dust, .. } => plan.dusts.get(dust),
        _ => None,
    }
}

/// Silica without its caution.
fn silica(plan: &Plan, test: &Test, findings: &mut Findings) {
    // Where there is no caution at all, that is the finding.
    let cautions = &plan.rules.cautions;
    if cautions.is_empty() || cautions.iter().any(|caution| caution.hazard == Hazard::Dust) {
        return;
    }
    let Some((step, dust)) = test.steps.iter().find_map(|step| Some((step, weighed(plan, step)?))) else { return };
    let silica = dust.hazards.iter().any(|hazard| hazard == "silica") || dust.grade.value.contains("12103");
    if !silica {
        return;
    }
    findings.add(
        finding(
            Code::SilicaWithoutCaution,
            format!("`{}` is silica, and no caution for dust would be printed", dust.name),
            step.origin,
            "weighed here",
        )
        .and(dust.origin, "this dust")
        .and(plan.campaign.origin, "no pack of this campaign has a caution `when dust`")
        .help("`use` the file of cautions and add `rules bench-cautions` to the campaign"),
    );
}

/// Which jar the dust comes from, and whether one grade comes from two.
pub(super) fn lots(plan: &Plan, findings: &mut Findings) {
    let mut used: IndexMap<&str, (&Dust, Origin)> = IndexMap::new();
    for step in plan.tests.iter().flat_map(|test| &test.steps) {
        if let Some(dust) = weighed(plan, step) {
            used.entry(&dust.name).or_insert((dust, step.origin));
        }
    }
    let mut by_grade: IndexMap<&str, (&str, Origin)> = IndexMap::new();
    for (dust, origin) in used.values() {
        let Some(lot) = &dust.lot else {
            findings.add(
                finding(
                    Code::DustWithoutLot,
                    format!("`{}` is weighed, and nothing says from which lot", dust.name),
                    dust.origin,
                    "no lot",
                )
                .and(*origin, "weighed here")
                .help("add `lot \"…\", certificate \"…\"` to the dust, as they stand on its jar"),
            );
            continue;
        };
        match by_grade.get(dust.grade.value.as_str()) {
            Some((first, at)) if *first != lot.as_str() => findings.add(
                finding(
                    Code::LotChange,
                    format!("`{}` comes from two lots, `{first}` and `{lot}`", dust.grade.value),
                    *origin,
                    format!("lot `{lot}` is weighed here"),
                )
                .and(*at, format!("lot `{first}` is weighed here"))
                .help(format!(
                    "take one lot for the whole campaign, or compare only filters that were given the same lot and say \
                     so where you `waive {}`",
                    Code::LotChange
                )),
            ),
            Some(_) => {}
            None => {
                by_grade.insert(&dust.grade.value, (lot, *origin));
            }
        }
    }
}

/// Dried and blended, once for each dust of a test.
fn ready(plan: &Plan, test: &Test, findings: &mut Findings) {
    let mut seen: IndexMap<&str, (Origin, bool, bool)> = IndexMap::new();
    for step in &test.steps {
        if let Action::Dose { dust, preparation, .. } = &step.action {
            let entry = seen.entry(dust).or_insert((step.origin, false, false));
            entry.1 |= preparation.dry;
            entry.2 |= preparation.tumble.is_some();
        }
    }
    for (name, (origin, dried, blended)) in seen {
        let (what, add, severity) = match (dried, blended) {
            (true, true) => continue,
            (false, false) => {
                ("neither dried nor blended", "`dry the dust` and `tumble the jar 2 min`", Severity::Warning)
            }
            (false, true) => ("not dried", "`dry the dust`", Severity::Warning),
            (true, false) => ("not blended in its jar", "`tumble the jar 2 min`", Severity::Note),
        };
        let dust = plan.dusts.get(name);
        let how = match dust {
            Some(dust) if !dried && dust.drying.is_none() => {
                ", and `dry at 105 °C to 110 °C, for at least 2 h, then cool 30 min` (from memory) to the dust"
            }
            _ => "",
        };
        findings.add(
            finding(Code::DustNotReady, format!("`{name}` is {what} before it is weighed"), origin, "its first dose")
                .and_maybe(dust.map(|dust| dust.origin), "this dust")
                .severity(severity)
                .help(format!("add {add} to the first dose{how}")),
        );
    }
}

/// Dust that clings to the boat.
fn residue(plan: &Plan, test: &Test, findings: &mut Findings) {
    let dose = test.steps.iter().find_map(|step| match &step.action {
        Action::Dose { mass, dust, preparation, .. } if !preparation.weigh_empty_boat => Some((step, mass, dust)),
        _ => None,
    });
    let Some((step, mass, dust)) = dose else { return };
    let share = mass.target.as_ref().map_or_else(String::new, |mass| {
        format!("; 2 % of {mass} would be {}", say::difference(mass.si() * 0.02, &mass.unit, Round::Near))
    });
    findings.add(
        finding(
            Code::ResidueIgnored,
            format!("nobody weighs what stays in the boat of a dose of `{dust}`{share}"),
            step.origin,
            "this dose",
        )
        .and_maybe(plan.dusts.get(dust).map(|dust| dust.origin), "this dust")
        .help("add `weigh the empty boat` to the dose: what went in is the difference"),
    );
}

/// A claim at a size that the dust does not have.
fn unfit(plan: &Plan, runs: &[&Run], test: &Test, facts: &Facts<'_>, findings: &mut Findings) {
    let Some(dose) = facts.first_dose else { return };
    let Some(dust) = test.steps.iter().find_map(|step| match &step.action {
        Action::Dose { dust, .. } => plan.dusts.get(dust),
        _ => None,
    }) else {
        return;
    };
    let Some(sizes) = distribution(dust) else { return };
    for model in models(plan, runs) {
        for claim in &model.claims {
            let Some(size) = &claim.size else { continue };
            let Ok(finer) = sizes.finer_than(Length::new::<meter>(size.si())) else {
                continue;
            };
            let finer = finer.get::<ratio>();
            let (message, help) = if finer > 0.99 {
                (
                    format!(
                        "`{}` claims something at {size}, and only {} of `{}` is as coarse",
                        model.name,
                        say::percent(1.0 - finer, Round::Near),
                        dust.name
                    ),
                    "dose a coarser grade, or say in the report that this claim was not tested",
                )
            } else if finer < 0.01 {
                (
                    format!(
                        "`{}` claims something at {size}, and only {} of `{}` is as fine",
                        model.name,
                        say::percent(finer, Round::Near),
                        dust.name
                    ),
                    "dose a finer grade, or say in the report that this claim was not tested",
                )
            } else {
                continue;
            };
            findings.add(
                finding(Code::DustUnfitForClaim, message, model.origin, format!("claim `{}`", claim.name))
                    .and(dust.origin, "the dust of the test")
                    .and(dose.origin, "dosed here")
                    .help(help),
            );
        }
    }
}

/// One dose for filters of very unlike size.
fn unlike(plan: &Plan, runs: &[&Run], facts: &Facts<'_>, findings: &mut Findings) {
    let Some(dose) = facts.first_dose else { return };
    let models = models(plan, runs);
    let areas = || models.iter().filter_map(|model| Some((*model, model.media_area.as_ref()?)));
    let smallest = areas().min_by(|a, b| a.1.si().total_cmp(&b.1.si()));
    let largest = areas().max_by(|a, b| a.1.si().total_cmp(&b.1.si()));
    let (Some((small, least)), Some((large, most))) = (smallest, largest) else { return };
    let times = most.si() / least.si();
    if !(times.is_finite() && times > 2.0 * (1.0 + 1e-9)) {
        return;
    }
    findings.add(
        finding(
            Code::UnlikeFilters,
            format!(
                "every filter is given the same doses, and `{}` has {} times the medium of `{}`",
                large.name,
                say::number(times, Round::Near),
                small.name
            ),
            dose.origin,
            "the same dose for all",
        )
        .and(large.origin, format!("media area {most}"))
        .and(small.origin, format!("media area {least}"))
        .help(format!(
            "report the dust held per area as well as per filter; where that is planned, `waive {} because \"…\"`",
            Code::UnlikeFilters
        )),
    );
}

/// What the models of a test are expected, or else claimed, to hold: the least of them.
pub(super) fn capacity<'p>(models: &[&'p Model]) -> Option<(&'p Model, f64, &'p Quantity)> {
    let of = |model: &&'p Model| -> Option<(&'p Model, f64, &'p Quantity)> {
        let model: &'p Model = model;
        let expected = model.expects.capacity.as_ref().map(|capacity| &capacity.value);
        let claimed = || {
            model
                .claims
                .iter()
                .filter_map(|claim| claim.bounds.as_ref()?.low.as_ref())
                .find(|low| low.unit.dimension == Dimension::MASS)
        };
        let held = expected.or_else(claimed).filter(|held| held.si() > 0.0)?;
        Some((model, held.si(), held))
    };
    models.iter().filter_map(of).min_by(|a, b| a.1.total_cmp(&b.1))
}
