//! Grains on their way from the pot to the loop.

use std::f64::consts::PI;

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::doses::unit;
use super::slurry::QUARTZ;
use super::trail::{Slurry, Trail};
use crate::diagnostic::Code;
use crate::foresight::distribution;
use crate::quantity::Quantity;
use crate::quantity::si::{DynamicViscosity, MassDensity, Ratio};
use crate::trade::dust::{CARRYING_MULTIPLE, settling_velocity};
use uom::si::{
    dynamic_viscosity::pascal_second, length::meter, mass_density::kilogram_per_cubic_meter, ratio::ratio,
    velocity::meter_per_second,
};

/// The density of a mineral oil that says none, in kg/m³; from memory.
const OIL: f64 = 870.0;

/// All but the coarsest hundredth of the dust is finer than the size that is looked at.
const COARSE: f64 = 0.99;

/// The size of the coarse grains of a slurry, m, and how fast they sink in it, m/s.
fn coarse(moment: &Moment<'_, '_>, slurry: &Slurry<'_>) -> Option<(f64, f64)> {
    let dust = moment.plan.dusts.get(slurry.dust)?;
    let fluid = moment.plan.fluids.get(slurry.fluid)?;
    let size = distribution(dust)?.size_at(Ratio::new::<ratio>(COARSE)).ok()?;
    let grain = dust.density.as_ref().map_or(QUARTZ, |density| density.value.si());
    let oil = fluid.density.as_ref().map_or(OIL, |density| density.value.0.si());
    // The pot stands in the room, whatever the loop is heated to.
    let room = say::temperature_rule(moment.plan, "room-temperature", 293.15).value;
    let speed = settling_velocity(
        size,
        MassDensity::new::<kilogram_per_cubic_meter>(grain),
        MassDensity::new::<kilogram_per_cubic_meter>(oil),
        DynamicViscosity::new::<pascal_second>(moment.paper.viscosity(slurry.fluid, room)? * oil),
    )
    .ok()?;
    Some((size.get::<meter>(), speed.get::<meter_per_second>()))
}

/// How fast the coarse grains of a slurry sink, in m/s.
pub(super) fn falls(moment: &Moment<'_, '_>, slurry: &Slurry<'_>) -> Option<f64> {
    coarse(moment, slurry).map(|(_, speed)| speed)
}

/// The line from the pot: fast enough that nothing stays in it.
pub(super) fn injected(moment: &Moment<'_, '_>, trail: &Trail<'_>, flow: &Quantity, findings: &mut Findings) {
    let Some(injector) = &moment.plan.rig.injector else { return };
    let (Some(bore), Some(slurry)) = (&injector.bore, &trail.slurry) else { return };
    let area = PI / 4.0 * bore.si() * bore.si();
    if flow.si() <= 0.0 || area <= 0.0 {
        return;
    }
    let speed = flow.si() / area;
    let level = say::rule(moment.plan, "slurry-line-speed", 0.3);
    let multiple = say::rule(moment.plan, "slurry-carrying-multiple", CARRYING_MULTIPLE);
    let coarse = coarse(moment, slurry);
    let rising = coarse.map_or(0.0, |(_, sinks)| sinks * multiple.value);
    let needed = rising.max(level.value);
    if !below(speed, needed) {
        return;
    }
    let metres = unit("m/s");
    let (against, rule) = match coarse {
        Some((size, sinks)) if above(rising, level.value) => (
            format!(
                "grains of {} sink at {}, and a rising line should be {} times as fast",
                say::point(size, &unit("µm"), Round::Near),
                say::point(sinks, &unit("mm/s"), Round::Near),
                say::number(multiple.value, Round::Near)
            ),
            multiple,
        ),
        _ => (format!("a level line should be at {} or faster", say::point(level.value, &metres, Round::Near)), level),
    };
    let narrow = say::point((4.0 * flow.si() / (PI * needed)).sqrt(), &bore.unit, Round::Down);
    let can = injector.delivers.as_ref().is_none_or(|delivers| delivers.window.contains(needed * area));
    let help = if can {
        format!(
            "inject at {} or more, or lay a line of {narrow} or less",
            say::point(needed * area, &flow.unit, Round::Up)
        )
    } else {
        format!("lay a line of {narrow} or less")
    };
    findings.add(
        finding(
            Code::SlurrySettles,
            format!("{flow} in a line of {bore} flow at {}; {against}", say::point(speed, &metres, Round::Near)),
            moment.step.origin,
            "this injection",
        )
        .and(injector.origin, format!("line bore {bore}"))
        .and_maybe(rule.origin, "the rule that sets the speed")
        .help(help),
    );
}
