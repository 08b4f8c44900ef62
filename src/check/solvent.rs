//! Solvent and fluids that follow each other.

use super::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::Action;

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    heated_wet(moment, findings);
    swapped(moment, findings);
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
