//! The test fluid: whether its viscosity is what the plan takes it for, and stays so.

use indexmap::{IndexMap, IndexSet};
use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding, heater};
use crate::diagnostic::Code;
use crate::plan::{
    Action, Fluid, FluidChange, Mark, Measures, Origin, Plan, Stage, Step, Test, ViscosityHold, Wants, curve,
};
use crate::quantity::si::{KinematicViscosity, Ratio, Temperature};
use crate::quantity::{Kind, Unit};
use crate::trade::viscosity::{Reach, blend, viscosity_index};

/// What concerns the campaign as a whole.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    let checked: Vec<bool> = plan.tests.iter().map(checks_viscosity).collect();
    unmeasured(plan, findings);
    too_long(plan, &checked, findings);
    seals(plan, findings);
    charge(plan, findings);
    cold_alone(plan, findings);
}

/// The viscosity of a fluid at a temperature, in m²/s and K.
fn viscosity(fluid: &Fluid, at: f64) -> Option<f64> {
    let there = curve(fluid).ok()?.viscosity_at(Temperature::new::<kelvin>(at)).ok()?;
    Some(there.value.get::<square_meter_per_second>())
}

fn mm2(si: f64) -> String {
    say::point(si, &Kind::KinematicViscosity.usual_unit(), Round::Near)
}

fn measures(step: &Step, wanted: Measures) -> bool {
    step.readings.iter().any(|reading| matches!(&reading.wants, Wants::Number(number) if number.measures == wanted))
}

/// Whether a run draws a sample for its viscosity, or changes to oil that is proved.
fn checks_viscosity(test: &Test) -> bool {
    test.steps.iter().any(|step| {
        measures(step, Measures::Viscosity)
            || matches!(&step.action, Action::ChangeFluid(change) if change.verify.is_some())
    })
}

fn holds(test: &Test) -> impl Iterator<Item = (&Step, &ViscosityHold)> {
    test.steps.iter().filter_map(|step| match &step.action {
        Action::HoldViscosity(hold) => Some((step, hold)),
        _ => None,
    })
}

/// A viscosity that is held, known from paper only, and never looked at in the rig.
fn unmeasured(plan: &Plan, findings: &mut Findings) {
    let mut seen: IndexSet<&str> = IndexSet::new();
    for (step, hold) in plan.tests.iter().flat_map(holds) {
        if !seen.insert(&hold.fluid) {
            continue;
        }
        let Some(fluid) = plan.fluids.get(&hold.fluid) else { continue };
        let measured = fluid.viscosities.iter().any(|point| matches!(point.mark, Mark::Measured(_)));
        let proved = plan.tests.iter().any(|test| {
            test.steps.iter().any(|step| match &step.action {
                Action::ChangeFluid(change) => change.to == fluid.name && change.verify.is_some(),
                _ => measures(step, Measures::Viscosity),
            })
        });
        if measured || proved {
            continue;
        }
        findings.add(
            finding(
                Code::ViscosityUnverified,
                format!("the viscosity of `{}` comes from paper, and no sample of the oil is ever measured", fluid.name),
                step.origin,
                "held here",
            )
            .and(fluid.origin, "no viscosity `measured on` a date")
            .help("have the drum's oil measured at two temperatures and write `measured on …` after each, or `verify viscosity within 2 % by …` where the oil goes in"),
        );
    }
}

/// Runs on one fill of oil, with no look at its viscosity in any of them.
fn too_long(plan: &Plan, checked: &[bool], findings: &mut Findings) {
    let most = say::rule(plan, "runs-per-fill", 10.0);
    let changes = |test: &Test| test.steps.iter().any(|step| matches!(step.action, Action::ChangeFluid(_)));
    let has_oil = |test: &Test| test.steps.iter().any(|step| matches!(step.action, Action::HoldViscosity(_)));
    let mut runs = 0_u32;
    for run in &plan.runs {
        let Some(test) = plan.tests.get(run.test).filter(|test| has_oil(test)) else { continue };
        if changes(test) || checked.get(run.test) == Some(&true) {
            runs = 0;
            continue;
        }
        runs += 1;
        if !above(f64::from(runs), most.value) {
            continue;
        }
        let in_row = plan.runs.iter().filter(|other| other.test == run.test).count();
        findings.add(
            finding(
                Code::OilTooLong,
                format!(
                    "by run {} the same oil has served {runs} runs, and its viscosity was not looked at in any of them",
                    run.code
                ),
                test.origin,
                format!("{in_row} runs by this protocol"),
            )
            .and(plan.campaign.origin, "this campaign")
            .and_maybe(most.origin, "the rule that says how many runs one fill may serve")
            .help("begin the run with `change fluid to …`, or read the viscosity of a drawn sample in every run: `read viscosity with …`"),
        );
        return;
    }
}

/// Fluids that come into the rig, flushes with them, each with the step that brings it.
fn in_the_rig(plan: &Plan) -> IndexMap<&str, Origin> {
    let mut fluids = IndexMap::new();
    for step in plan.tests.iter().flat_map(|test| &test.steps) {
        match &step.action {
            Action::UseFluid { fluid } => {
                fluids.entry(fluid.as_str()).or_insert(step.origin);
            }
            Action::ChangeFluid(change) => {
                let all = change.flushes.iter().map(|(_, fluid, _)| fluid).chain([&change.to]);
                for fluid in all {
                    fluids.entry(fluid.as_str()).or_insert(step.origin);
                }
            }
            _ => {}
        }
    }
    fluids
}

/// Seals that are named, against fluids that say nothing of them or harm them.
fn seals(plan: &Plan, findings: &mut Findings) {
    if plan.rig.seals.is_empty() {
        return;
    }
    for (name, enters) in in_the_rig(plan) {
        let Some(fluid) = plan.fluids.get(name) else { continue };
        for seal in &plan.rig.seals {
            let material = &seal.material;
            let said = fluid.seals.iter().find(|known| known.value.0.eq_ignore_ascii_case(material));
            let found = match said {
                Some(known) if known.value.1 => continue,
                Some(known) => finding(
                    Code::SealsUnasked,
                    format!("`{name}` harms seals of {material}, and this rig has some"),
                    enters,
                    "goes into the rig here",
                )
                .and(known.origin, "said here")
                .help(format!("change the seals of {material} before `{name}` goes in, or take another fluid")),
                None => finding(
                    Code::SealsUnasked,
                    format!("nothing says whether seals of {material} stand `{name}`"),
                    enters,
                    "goes into the rig here",
                )
                .and(fluid.origin, "this fluid")
                .help(format!(
                    "ask the maker of the seals or of the fluid, and write `suits seals {material}` or `harms seals {material}` in `{name}`"
                )),
            };
            findings.add(found.and(seal.origin, "seals of this rig"));
        }
    }
}

/// Dust into glass or synthetic media, in oil of which nobody knows how it conducts.
fn charge(plan: &Plan, findings: &mut Findings) {
    let least = say::rule(plan, "conductivity-least", 1000e-12);
    for run in &plan.runs {
        let model =
            plan.campaign.specimens.get(&run.specimen).and_then(|s| plan.campaign.models.get(s.model.as_ref()?));
        let Some((model, medium)) = model.and_then(|m| Some((m, m.medium.as_deref()?))) else { continue };
        let Some(test) = plan.tests.get(run.test).filter(|_| medium != "paper") else { continue };
        let Some(dose) = test.steps.iter().find(|step| matches!(step.action, Action::Dose { .. })) else { continue };
        let Some(fluid) = heater::fluids(plan, test).first().copied() else { continue };
        if fluid.additives.iter().any(|additive| additive.value == "anti-static") {
            continue;
        }
        let (message, help) = match &fluid.conductivity {
            None => (
                format!(
                    "dust goes into a medium of {medium}, and nobody has written down how well `{}` conducts",
                    fluid.name
                ),
                "measure it and write `conductivity … pS/m at 23 °C`, or say in the report that it was not measured"
                    .to_owned(),
            ),
            Some(known) if below(known.value.0.si(), least.value) => (
                format!("dust goes into a medium of {medium}, and `{}` conducts {}", fluid.name, known.value.0),
                format!(
                    "an anti-static additive brings it above {}; or say in the report that the medium may have been charged",
                    say::difference(least.value, &known.value.0.unit, Round::Up)
                ),
            ),
            Some(_) => continue,
        };
        findings.add(
            finding(Code::ChargeUnknown, message, fluid.origin, "this oil")
                .and(model.origin, format!("a medium of {medium}"))
                .and(dose.origin, "dust goes in here")
                .and_maybe(least.origin, "the rule that says how well it should conduct")
                .help(help),
        );
        return;
    }
}

/// The viscosities at which a test reads the differential pressure of a mounted specimen over several flows.
fn swept(test: &Test) -> Vec<(f64, Origin)> {
    let mut swept = Vec::new();
    let mut mounted = false;
    for stage in &test.stages {
        let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
        let (mut held, mut sweeps) = (None, false);
        for step in steps {
            match &step.action {
                Action::Mount { .. } => mounted = true,
                Action::Remove => mounted = false,
                Action::HoldViscosity(hold) => held = Some((hold.target, step.origin)),
                Action::SetFlow { .. } => sweeps = true,
                Action::Read if mounted && sweeps && measures(step, Measures::DifferentialPressure) => {
                    swept.extend(held.take());
                }
                _ => {}
            }
        }
    }
    swept
}

/// Specimens whose restriction is taken cold only.
fn cold_alone(plan: &Plan, findings: &mut Findings) {
    let cold = say::rule(plan, "cold-viscosity", 100e-6);
    let of_tests: Vec<Vec<(f64, Origin)>> = plan.tests.iter().map(swept).collect();
    let mut by_specimen: IndexMap<&str, Vec<(f64, Origin)>> = IndexMap::new();
    for run in &plan.runs {
        if let Some(swept) = of_tests.get(run.test) {
            by_specimen.entry(&run.specimen).or_default().extend(swept);
        }
    }
    let alone = by_specimen.iter().find_map(|(specimen, swept)| {
        let thickest = swept.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        let thinnest = swept.iter().map(|(viscosity, _)| *viscosity).reduce(f64::min)?;
        (!below(thickest.0, cold.value) && above(thinnest * 3.0, thickest.0)).then_some((specimen, *thickest))
    });
    let Some((specimen, (viscosity, origin))) = alone else { return };
    findings.add(
        finding(Code::ColdAlone, format!("`{specimen}` is swept at {} only", mm2(viscosity)), origin, "cold")
            .and(plan.campaign.origin, "no sweep with thinner oil in this campaign")
            .and_maybe(cold.origin, "the rule that says from where on it is cold")
            .help(format!(
                "add a sweep of the same specimen with warm oil, for example at 24 mm²/s: a third of {} or thinner",
                mm2(viscosity)
            )),
    );
}

/// What concerns one test.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    for stage in &test.stages {
        unsteady(plan, test, stage, findings);
    }
    polymer(plan, test, findings);
    unproved(test, findings);
}

/// A window of temperature that lets the viscosity move further than a restriction stands.
fn unsteady(plan: &Plan, test: &Test, stage: &Stage, findings: &mut Findings) {
    let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
    let read =
        steps.iter().find(|step| matches!(step.action, Action::Read) && measures(step, Measures::DifferentialPressure));
    let by_viscosity = steps.iter().any(|step| matches!(step.action, Action::HoldViscosity(_)));
    let Some(read) = read.filter(|_| !by_viscosity) else { return };
    let most = say::rule(plan, "viscosity-spread", 0.05);
    let fluid = stage.fluid.as_ref().and_then(|name| plan.fluids.get(name));
    for step in steps {
        let (Action::HoldTemperature(setting), Some(fluid)) = (&step.action, fluid) else { continue };
        let Some(target) = &setting.target else { continue };
        let (Some(low), Some(high)) = (setting.window.low, setting.window.high) else { continue };
        let at = |temperature| viscosity(fluid, temperature);
        let (Some(centre), Some(thick), Some(thin)) = (at(target.si()), at(low), at(high)) else { continue };
        let spread = (thick / centre - 1.0).max(1.0 - thin / centre);
        if !above(spread, most.value) {
            continue;
        }
        let allowed = ((high - low) / 2.0) * most.value / spread;
        let half = say::difference((high - low) / 2.0, &target.unit, Round::Near);
        findings.add(
            finding(
                Code::ViscosityUnsteady,
                format!("± {half} lets `{}` be {} thicker or thinner", fluid.name, say::percent(spread, Round::Near)),
                step.origin,
                format!("{} at {target}", mm2(centre)),
            )
            .and(read.origin, "differential pressure is read at this viscosity")
            .and_maybe(most.origin, "the rule that says how far it may move")
            .help(format!(
                "keep it within ± {}, or write `hold viscosity {}, within {}` and let the temperature follow",
                tenth_below(allowed, &target.unit),
                mm2(centre),
                say::percent(most.value, Round::Near)
            )),
        );
    }
}

/// A difference of temperature, rounded down to what a thermometer shows.
fn tenth_below(difference: f64, unit: &Unit) -> String {
    let value = unit.from_si_difference(difference);
    if value >= 0.1 {
        format!("{:.1} {unit}", (value * 10.0).floor() / 10.0)
    } else {
        say::difference(difference, unit, Round::Down)
    }
}

/// Oil that holds polymer, in a test that leans on its viscosity.
fn polymer(plan: &Plan, test: &Test, findings: &mut Findings) {
    if test.steps.iter().any(|step| measures(step, Measures::Viscosity)) {
        return;
    }
    let most = say::rule(plan, "viscosity-index", 140.0);
    for (step, hold) in holds(test) {
        let Some(fluid) = plan.fluids.get(&hold.fluid) else { continue };
        let improver = fluid.additives.iter().find(|additive| additive.value == "viscosity improver");
        let index = || {
            let curve = curve(fluid).ok()?;
            let at = |celsius: f64| {
                let there = curve.viscosity_at(Temperature::new::<kelvin>(celsius + 273.15)).ok()?;
                // Far from what was measured, an index would say more of the line than of the oil.
                (is_near(there.reach)).then_some(there.value)
            };
            viscosity_index(at(40.0)?, at(100.0)?).ok()
        };
        let (known, at) = match (improver, fluid.kind.as_deref()) {
            (Some(additive), _) => ("has a viscosity improver in it".to_owned(), additive.origin),
            (None, Some("multigrade oil")) => ("is a multigrade oil".to_owned(), fluid.origin),
            (None, Some("mineral oil") | None) => match index() {
                Some(index) if above(index, most.value) => {
                    let known = format!(
                        "has a viscosity index of {index:.0} by its viscosities, which no straight mineral oil has"
                    );
                    (known, fluid.origin)
                }
                _ => continue,
            },
            _ => continue,
        };
        let by_index = improver.is_none() && fluid.kind.as_deref() != Some("multigrade oil");
        findings.add(
            finding(
                Code::PolymerThickened,
                format!("`{}` {known}, and here its temperature alone is to set the viscosity", fluid.name),
                step.origin,
                format!("held at {}", mm2(hold.target)),
            )
            .and(at, "this oil")
            .and_maybe(most.origin.filter(|_| by_index), "the rule that says how high an index may be")
            .help(if by_index {
                "first hold its viscosities and their temperatures against the data sheet; if they are right, it holds polymer: write `kind multigrade oil`, and measure a drawn sample in every run with `read viscosity with` and your viscometer"
            } else {
                "use a straight mineral oil at the temperature where it has this viscosity, or measure a drawn sample in every run with `read viscosity with` and your viscometer"
            }),
        );
    }
}

/// A fluid that is changed for one whose viscosity is then held, and not proved.
fn unproved(test: &Test, findings: &mut Findings) {
    for (index, step) in test.steps.iter().enumerate() {
        let Action::ChangeFluid(change) = &step.action else { continue };
        let after = test.steps.get(index + 1..).unwrap_or_default();
        let before_next = after.iter().take_while(|step| !matches!(step.action, Action::ChangeFluid(_)));
        let mut held = None;
        let mut proved = change.verify.is_some();
        for later in before_next {
            proved |= measures(later, Measures::Viscosity);
            if let Action::HoldViscosity(hold) = &later.action {
                held = held.or(Some((later.origin, hold.target)));
            }
        }
        let Some((origin, target)) = held.filter(|_| !proved) else { continue };
        findings.add(
            finding(
                Code::ViscosityUnverified,
                format!("`{}` goes in, and no sample of it is measured before {} is held", change.to, mm2(target)),
                step.origin,
                "the new oil goes in here",
            )
            .and(origin, "held here")
            .help("add `verify viscosity within 2 % by \"drawn sample, capillary viscometer\"` to the change of fluid"),
        );
    }
}

/// What concerns one step and the bench around it.
pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    match &moment.step.action {
        Action::ChangeFluid(change) => residue(moment, change, findings),
        _ => ghosts(moment, findings),
    }
}

/// A flush that leaves so much of the last oil that the viscosity moves.
fn residue(moment: &Moment<'_, '_>, change: &FluidChange, findings: &mut Findings) {
    let plan = moment.plan;
    let Some((old, since)) = moment.before.fluid.filter(|(old, _)| *old != change.to) else { return };
    if !change.drain || change.flushes.is_empty() {
        return;
    }
    let (Some(old), Some(new)) = (plan.fluids.get(old), plan.fluids.get(&change.to)) else { return };
    let fill = change.fill.as_ref().or(plan.rig.reservoir_holds.high.as_ref()).map(|volume| volume.si());
    let Some(fill) = fill.filter(|fill| *fill > 0.0) else { return };
    let stays = say::rule(plan, "drain-residue", 0.05);
    let most = say::rule(plan, "flush-residue", 0.02);
    let held_up = stays.value * fill;
    let after = moment.test.steps.get(moment.step.number as usize..).unwrap_or_default();
    let at = after.iter().find_map(|step| match &step.action {
        Action::HoldViscosity(hold) if hold.fluid == new.name => Some(hold.temperature),
        Action::HoldTemperature(setting) => setting.target.as_ref().map(|target| target.si()),
        _ => None,
    });
    let Some(at) = at else { return };
    let left = |extra: u32| {
        let last = change.flushes.len() - 1;
        let flushed = change.flushes.iter().enumerate().fold(1.0, |share, (index, (volume, _, times))| {
            let times = times + if index == last { extra } else { 0 };
            share * (held_up / (held_up + volume.si())).powi(i32::try_from(times).unwrap_or(i32::MAX))
        });
        flushed * held_up / (held_up + fill)
    };
    let moved = |share: f64| {
        let v = |fluid| viscosity(fluid, at).map(KinematicViscosity::new::<square_meter_per_second>);
        let (first, second) = (v(old)?, v(new)?);
        let mixed = blend(first, Ratio::new::<ratio>(share), second).ok()?;
        Some((mixed.get::<square_meter_per_second>() / second.get::<square_meter_per_second>() - 1.0).abs())
    };
    // Where the two cannot be blended on paper, the share itself is the measure.
    let effect = |extra: u32| moved(left(extra)).unwrap_or_else(|| left(extra));
    let now = effect(0);
    if !above(now, most.value) {
        return;
    }
    let times = change.flushes.last().map_or(0, |(_, _, times)| *times);
    let enough = (1..=8).find(|extra| !above(effect(*extra), most.value));
    let help = match enough {
        Some(extra) => {
            format!("flush {} times, which leaves {}", times + extra, say::percent(effect(extra), Round::Near))
        }
        None => "flush with more oil each time".to_owned(),
    };
    findings.add(
        finding(
            Code::FlushTooWeak,
            format!(
                "after this flush {} of `{}` is left in `{}`, and moves its viscosity by {}",
                say::percent(left(0), Round::Near),
                old.name,
                new.name,
                say::percent(now, Round::Near)
            ),
            moment.step.origin,
            "drained and flushed here",
        )
        .and(since, format!("`{}` went in here", old.name))
        .and_maybe(
            stays.origin,
            format!("{} of the filling stays when it is drained", say::percent(stays.value, Round::Near)),
        )
        .and_maybe(most.origin, "the rule that says how far the viscosity may move")
        .help(help),
    );
}

/// Bottles of formulated oil that are counted without dilution once there is dust to tell from the oil's own droplets.
fn ghosts(moment: &Moment<'_, '_>, findings: &mut Findings) {
    if moment.after.loop_dust.is_none() {
        return;
    }
    let fluid = moment.before.fluid.and_then(|(name, _)| moment.plan.fluids.get(name));
    let Some(fluid) = fluid else { return };
    let foam = fluid.additives.iter().find(|additive| additive.value == "anti-foam");
    let said = match (foam, fluid.kind.as_deref()) {
        (Some(additive), _) => ("has an anti-foam additive", additive.origin),
        (None, Some("multigrade oil")) => {
            ("is a formulated engine oil, with an anti-foam additive as a rule", fluid.origin)
        }
        _ => return,
    };
    for reading in &moment.step.readings {
        let Wants::Bottle(bottle) = &reading.wants else { continue };
        let counts = bottle.tests.iter().any(|name| {
            moment.plan.laboratories.values().filter_map(|lab| lab.tests.get(name)).any(|test| !test.sizes.is_empty())
        });
        if !counts || bottle.dilution.is_some() {
            continue;
        }
        findings.add(
            finding(
                Code::GhostCounts,
                format!("`{}` is counted undiluted, and `{}` {}", reading.name, fluid.name, said.0),
                reading.origin,
                "this bottle",
            )
            .and(said.1, "this oil")
            .help("have it diluted with solvent, which takes the droplets apart: `dilute 1 to 10`; and count a bottle without dust beside it. Better is a base oil without additives"),
        );
    }
}

/// Whether a temperature is at most 20 K outside the measured ones.
fn is_near(reach: Reach) -> bool {
    match reach {
        Reach::Measured => true,
        Reach::Colder(by) | Reach::Hotter(by) => by.value <= 20.0,
    }
}
