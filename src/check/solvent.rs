//! Solvent and fluids that follow each other.

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::foresight::is_flammable;
use crate::plan::{Action, Origin, Plan, Test};
use crate::quantity::{Kind, Unit};

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    heated_wet(moment, findings);
    swapped(moment, findings);
    bath(moment, findings);
    oven(moment, findings);
}

/// Whether the vapour of a fluid can be lit at room temperature.
fn burns(plan: &Plan, fluid: &str) -> bool {
    plan.fluids.get(fluid).is_some_and(is_flammable)
}

/// A slurry in something that burns, in the ultrasonic bath.
fn bath(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Action::Dose { carrier_fluid, preparation, .. } = &moment.step.action else { return };
    let plan = moment.plan;
    let Some(fluid) = plan.fluids.get(carrier_fluid).filter(|_| preparation.ultrasonic.is_some()) else { return };
    let least = say::temperature_rule(plan, "ultrasonic-flash", 333.15);
    let low = fluid.flash.as_ref().filter(|flash| below(flash.value.temperature.si(), least.value));
    if low.is_none() && !burns(plan, carrier_fluid) {
        return;
    }
    let flashes = low.map_or_else(
        || "can be lit at room temperature".to_owned(),
        |flash| format!("flashes at {}", flash.value.temperature),
    );
    let in_use = moment
        .before
        .fluid
        .map(|(name, _)| name)
        .filter(|name| *name != carrier_fluid && !burns(plan, name))
        .unwrap_or("test-oil");
    findings.add(
        finding(
            Code::SolventInBath,
            format!("the slurry is made in `{carrier_fluid}`, which {flashes}, and goes into the ultrasonic bath"),
            moment.step.origin,
            "this slurry",
        )
        .and(low.map_or(fluid.origin, |flash| flash.origin), "can be lit")
        .and_maybe(least.origin, "the rule that says what may go into the bath")
        .help(format!(
            "make the slurry in the oil of the test, `in … of {in_use}`, in a closed vessel that stands in water"
        )),
    );
}

/// The dust oven, while a specimen or the rig is wet with solvent.
fn oven(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Action::Dose { preparation, .. } = &moment.step.action else { return };
    let Some((solvent, since)) = moment.before.solvent.filter(|_| preparation.dry) else { return };
    findings.add(
        finding(
            Code::OvenNearSolvent,
            format!("dust is dried in the oven while something is wet with `{solvent}`"),
            moment.step.origin,
            "the oven is hot for this dose",
        )
        .and(since, format!("`{solvent}` came in here"))
        .help(
            "dry the dust before the solvent is opened, or let the specimen air first: `wait 24 h ± 4 h`, in the hood",
        ),
    );
}

/// Hot oil after water that was never dried out.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    let hot = say::temperature_rule(plan, "water-below", 368.15);
    let is_water = |name: &str| plan.fluids.get(name).is_some_and(|fluid| fluid.kind.as_deref() == Some("water"));
    let mut wet: Option<(&str, Origin)> = None;
    for step in &test.steps {
        let set: Option<(f64, Unit)> = match &step.action {
            Action::UseFluid { fluid } => {
                wet = if is_water(fluid) { Some((fluid, step.origin)) } else { wet };
                None
            }
            Action::ChangeFluid(change) => {
                let flushed = change.flushes.iter().map(|(_, fluid, _)| fluid.as_str()).find(|fluid| is_water(fluid));
                if is_water(&change.to) {
                    wet = Some((&change.to, step.origin));
                } else if change.dry.is_some() {
                    wet = None;
                } else if let Some(water) = flushed {
                    wet = Some((water, step.origin));
                }
                None
            }
            Action::HoldViscosity(hold) => Some((hold.temperature, hold.unit.clone())),
            Action::HoldTemperature(setting) => {
                setting.target.as_ref().map(|target| (target.si(), target.unit.clone()))
            }
            _ => None,
        };
        let (Some((at, unit)), Some((water, since))) = (set, wet) else { continue };
        if !above(at, hot.value) {
            continue;
        }
        findings.add(
            finding(
                Code::WaterBeforeHeat,
                format!("oil is brought to {} after `{water}`, and nothing dries the rig", say::point(at, &unit, Round::Near)),
                step.origin,
                "this set-point",
            )
            .and(since, format!("`{water}` came in here"))
            .and_maybe(hot.origin, "the rule that says how hot oil may be after water")
            .help(format!(
                "write `dry 60 min` in the change of fluid, after the flush; then warm the oil slowly, and stay below {} until no bubble rises",
                say::point(hot.value, &Kind::Temperature.usual_unit(), Round::Down)
            )),
        );
    }
}

/// Heat after a solvent that was not proved gone.
fn heated_wet(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Some((solvent, since)) = moment.before.solvent else { return };
    let heats = match &moment.step.action {
        Action::Switch { what, on } => what == "heater" && *on,
        Action::HoldTemperature(_) | Action::HoldViscosity(_) => moment.before.heater_is_on(),
        _ => false,
    };
    if !heats {
        return;
    }
    let in_the_rig = moment.before.fluid.is_some_and(|(fluid, _)| fluid == solvent);
    let message = if in_the_rig {
        format!("`{solvent}` is in the rig while it is heated")
    } else {
        format!("the rig is heated after `{solvent}`, and nothing shows that it is gone")
    };
    let mut found = finding(Code::SolventBeforeHeat, message, moment.step.origin, "heat from here on")
        .and(since, format!("`{solvent}` came in here"));
    if let Some(fluid) = moment.plan.fluids.get(solvent) {
        found = found.and_maybe(fluid.flash.as_ref().map(|f| f.origin), "it can be lit from here on");
    }
    findings.add(found.help(
        "after the solvent write `change fluid to …` with `drain`, `dry 30 min` and `verify viscosity within 2 % by …`; \
         for a specimen, `wait 24 h ± 4 h` in the open air",
    ));
}

/// One oil after another without draining and flushing between them.
fn swapped(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Some((old, since)) = moment.before.fluid else { return };
    let (new, flushed) = match &moment.step.action {
        Action::UseFluid { fluid } => (fluid, false),
        Action::ChangeFluid(change) => (&change.to, change.drain && !change.flushes.is_empty()),
        _ => return,
    };
    if new == old || flushed {
        return;
    }
    findings.add(
        finding(
            Code::FluidNotChanged,
            format!("`{new}` follows `{old}` without draining and flushing"),
            moment.step.origin,
            format!("`{new}` from here on"),
        )
        .and(since, format!("`{old}` went in here"))
        .help(format!(
            "write `change fluid to {new} {{ drain; flush with 5 L of {new}, 2 times; fill 20 L; verify viscosity within 2 % by \"drawn sample\" }}`, with the volumes of this rig"
        )),
    );
}
