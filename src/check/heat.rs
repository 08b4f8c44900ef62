//! Heat and fire: what the oil, the parts and the people can stand.

use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::thermodynamic_temperature::kelvin;

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding, heater};
use crate::diagnostic::{Code, Severity};
use crate::foresight::is_flammable;
use crate::plan::{Action, Fluid, Origin, curve};
use crate::quantity::si::{KinematicViscosity, Temperature};
use crate::quantity::{Kind, Quantity, Unit};

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    if let Some(set) = set_point(moment) {
        if !other_scale(moment, &set, findings) {
            let burns = fire(moment, &set, findings);
            parts(moment, &set, burns, findings);
            limit(moment, &set, findings);
            if !burns {
                heater::cut_out(moment, set.fluid, findings);
            }
            cold(moment, &set, findings);
        }
        heater::asked(moment, set.kelvin, &set.unit, findings);
    }
    heater::switched(moment, findings);
    still_oil(moment, findings);
    opened_hot(moment, findings);
}

/// A temperature that a step asks for.
struct SetPoint<'p> {
    kelvin: f64,
    /// The upper end of its window.
    high: f64,
    unit: Unit,
    fluid: Option<&'p Fluid>,
    /// m²/s, where the temperature follows from a viscosity.
    viscosity: Option<f64>,
}

impl SetPoint<'_> {
    /// What is asked for; where only the upper end of the window is beyond a bound, that end.
    fn said(&self, bound: f64) -> String {
        let temperature = say::point(self.kelvin, &self.unit, Round::Near);
        let high = say::point(self.high, &self.unit, Round::Near);
        let reaches = !above(self.kelvin, bound) && above(self.high, bound);
        match (self.viscosity, self.fluid) {
            (Some(viscosity), Some(fluid)) => {
                let viscosity = say::point(viscosity, &Kind::KinematicViscosity.usual_unit(), Round::Near);
                if reaches {
                    format!("`{}` has {viscosity} at {temperature}, and its window goes up to {high}", fluid.name)
                } else {
                    format!("`{}` has {viscosity} only at {temperature}", fluid.name)
                }
            }
            _ if reaches => format!("{temperature} is asked for, with a window up to {high}"),
            _ => format!("{temperature} is asked for"),
        }
    }

    /// What to hold instead, where nothing warmer (or colder) than a temperature is allowed.
    fn instead(&self, allowed: f64, hotter: bool, moment: &Moment<'_, '_>) -> String {
        let round = if hotter { Round::Down } else { Round::Up };
        let temperature = say::point(allowed, &self.unit, round);
        let at = self.fluid.zip(self.viscosity).and_then(|(fluid, _)| {
            let there = curve(fluid).ok()?.viscosity_at(Temperature::new::<kelvin>(allowed)).ok()?;
            Some((fluid, there.value.get::<square_meter_per_second>()))
        });
        match at {
            Some((fluid, there)) => {
                let unit = Kind::KinematicViscosity.usual_unit();
                let (there, more) = if hotter {
                    (say::point(there, &unit, Round::Up), "or more")
                } else {
                    (say::point(there, &unit, Round::Down), "or less")
                };
                let other = self.others(moment).unwrap_or_else(|| {
                    // A thinner oil often has the lower flash point, so thin alone is no advice.
                    let other = if hotter {
                        "fluid that is this thin at a lower temperature and whose flash point leaves the margin"
                    } else {
                        "thicker fluid"
                    };
                    format!("take a {other}")
                });
                format!("hold {there} {more}, which `{}` has at {temperature}, or {other}", fluid.name)
            }
            None => format!("hold {temperature} {}", if hotter { "or less" } else { "or more" }),
        }
    }

    /// Fluids of the files that have this viscosity at a temperature which everything allows, coolest first.
    fn others(&self, moment: &Moment<'_, '_>) -> Option<String> {
        let wanted = KinematicViscosity::new::<square_meter_per_second>(self.viscosity?);
        let mut fit: Vec<(f64, &str)> = moment
            .plan
            .shelf
            .iter()
            .filter(|fluid| self.fluid.is_none_or(|own| own.name != fluid.name))
            .filter(|fluid| !is_flammable(fluid) && fluid.kind.as_deref() != Some("water"))
            .filter_map(|fluid| {
                let at = curve(fluid).ok()?.temperature_for(wanted).ok()?.value.get::<kelvin>();
                is_allowed(moment, Some(fluid), at).then_some((at, fluid.name.as_str()))
            })
            .collect();
        fit.sort_by(|a, b| a.0.total_cmp(&b.0));
        let named: Vec<String> = fit
            .iter()
            .take(3)
            .map(|(at, name)| format!("`{name}` ({})", say::point(*at, &self.unit, Round::Near)))
            .collect();
        (!named.is_empty()).then(|| format!("take a fluid that has it where the rig allows: {}", named.join(", ")))
    }
}

/// Whether rig, protocol and fluid all allow a temperature, margins kept.
fn is_allowed(moment: &Moment<'_, '_>, fluid: Option<&Fluid>, at: f64) -> bool {
    let plan = moment.plan;
    let flash = say::rule(plan, "flash-margin", 30.0).value;
    let pour = say::rule(plan, "pour-margin", 15.0).value;
    let hottest = heater::bounds(plan).map(|bound| bound.allowed).reduce(f64::min);
    let limit = moment.test.limits.fluid_temperature.as_ref().map(|limit| limit.si());
    let burns = fluid.map(|fluid| match &fluid.flash {
        Some(point) => point.value.temperature.si() - flash,
        None => WARM,
    });
    let stiff = fluid
        .and_then(|fluid| fluid.pour.as_ref())
        .map_or(COLDEST_ROOM, |point| (point.value.si() + pour).max(COLDEST_ROOM));
    let most = [hottest, limit, burns].into_iter().flatten().reduce(f64::min);
    most.is_none_or(|most| !above(at, most)) && !below(at, stiff)
}

/// No bench without a cooling machine is colder than this, in K.
const COLDEST_ROOM: f64 = 278.15;

/// A set-point that nothing on this rig stands, and that all of it would if its number were of the other scale.
fn other_scale(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) -> bool {
    let Action::HoldTemperature(setting) = &moment.step.action else { return false };
    let Some(target) = &setting.target else { return false };
    let stiff = set.fluid.and_then(|fluid| fluid.pour.as_ref()).is_some_and(|pour| below(set.kelvin, pour.value.si()));
    let beyond = heater::bounds(moment.plan).map(|bound| bound.rating).reduce(f64::max);
    if !stiff && !beyond.is_some_and(|beyond| above(set.kelvin, beyond)) {
        return false;
    }
    let Some((other, meant)) = heater::on_other_scale(target) else { return false };
    if !is_allowed(moment, set.fluid, meant) {
        return false;
    }
    let unit = &target.unit;
    let what = if stiff { "the oil would not flow" } else { "no part of this rig is made for it" };
    findings.add(
        finding(
            Code::OtherScale,
            format!("{target} is asked for, and {what}; {other} would be {}", say::point(meant, unit, Round::Near)),
            moment.step.origin,
            "this set-point",
        )
        .and(moment.plan.rig.origin, "this rig")
        .help(format!("write `{other}` if that was meant, with its tolerance on the same scale")),
    );
    true
}

fn set_point<'p>(moment: &Moment<'_, 'p>) -> Option<SetPoint<'p>> {
    let in_use = || moment.before.fluid.and_then(|(name, _)| moment.plan.fluids.get(name));
    match &moment.step.action {
        Action::HoldViscosity(hold) => Some(SetPoint {
            kelvin: hold.temperature,
            high: hold.temperatures.high.unwrap_or(hold.temperature),
            unit: hold.unit.clone(),
            fluid: moment.plan.fluids.get(&hold.fluid),
            viscosity: Some(hold.target),
        }),
        Action::HoldTemperature(setting) => {
            let target = setting.target.as_ref()?;
            let (at, unit) = (target.si(), target.unit.clone());
            let high = setting.window.high.unwrap_or(at).max(at);
            Some(SetPoint { kelvin: at, high, unit, fluid: in_use(), viscosity: None })
        }
        _ => None,
    }
}

/// The part that stands the least heat. A high limit that lies below the flash point, as it should, says no more than the flash
/// point where that is too near already.
fn parts(moment: &Moment<'_, '_>, set: &SetPoint<'_>, burns: bool, findings: &mut Findings) {
    let margin = say::rule(moment.plan, "part-temperature-margin", 10.0);
    // The set-point keeps the margin, and the upper end of its window the rating itself.
    let spread = set.high - set.kelvin;
    let bounds = heater::bounds(moment.plan).filter(|bound| !(burns && bound.is_high_limit));
    let lowest = bounds.min_by(|a, b| a.allowed.total_cmp(&b.allowed));
    let Some(bound) = lowest else { return };
    if !above(set.kelvin, bound.allowed) && !above(set.high, bound.rating) {
        return;
    }
    let rated = bound.said;
    let beyond = if bound.is_high_limit {
        format!("the heater's high limit cuts off at {rated}")
    } else {
        let margin = say::number(margin.value, Round::Near);
        format!("{} is made for {rated} at most, less a margin of {margin} K", heater::called(bound.title))
    };
    let said = set.said(bound.allowed);
    let code = if set.viscosity.is_some() { Code::TargetOutOfReach } else { Code::AboveLimit };
    findings.add(
        finding(code, format!("{said}, but {beyond}"), moment.step.origin, "this set-point")
            .and(bound.origin, format!("at most {rated}"))
            .and_maybe(set.fluid.map(|f| f.origin), "the fluid in use")
            .help(set.instead(bound.allowed.min(bound.rating - spread), true, moment)),
    );
}

/// The protocol's own limit, which the whole window has to keep.
fn limit(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) {
    if let Some(limit) = &moment.test.limits.fluid_temperature
        && above(set.high, limit.si())
    {
        let at = moment.test.limits.origin("fluid temperature at most").unwrap_or(moment.test.origin);
        let finding = finding(
            Code::AboveLimit,
            format!("{}, but this protocol stops the run above {limit}", set.said(limit.si())),
            moment.step.origin,
            "this set-point",
        )
        .and(at, "its limit");
        let finding = if above(set.kelvin, limit.si()) {
            finding
        } else {
            finding.why("A run that is held as it should be would have to be stopped: nobody takes such a limit seriously twice.")
        };
        findings.add(finding.help(set.instead(limit.si() - (set.high - set.kelvin), true, moment)));
    }
}

/// Gives whether something was found.
fn fire(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) -> bool {
    let Some(fluid) = set.fluid else { return false };
    let margin = say::rule(moment.plan, "flash-margin", 30.0);
    match &fluid.flash {
        Some(flash) if above(set.high, flash.value.temperature.si() - margin.value) => {
            let allowed = flash.value.temperature.si() - margin.value;
            let reached = if above(set.kelvin, allowed) { set.kelvin } else { set.high };
            let gap = flash.value.temperature.si() - reached;
            let room = if gap >= 0.0 {
                format!("just {} K below", say::number(gap, Round::Near))
            } else {
                format!("{} K above", say::number(-gap, Round::Near))
            };
            let margin_said = say::number(margin.value, Round::Near);
            findings.add(
                finding(
                    Code::FlashMargin,
                    format!("{}, {room} its flash point of {}", set.said(allowed), flash.value.temperature),
                    moment.step.origin,
                    "this set-point",
                )
                .and(flash.origin, format!("the margin to this is to be {margin_said} K"))
                .and_maybe(margin.origin, "the rule that sets the margin")
                .help(set.instead(allowed - (set.high - set.kelvin), true, moment)),
            );
            true
        }
        None if above(set.kelvin, WARM) => {
            findings.add(
                finding(
                    Code::FlashMargin,
                    format!("{}, but the flash point of `{}` is not written down", set.said(WARM), fluid.name),
                    moment.step.origin,
                    "heated here",
                )
                .and(fluid.origin, "no flash point")
                .help("add the line from its data sheet, for example `flash point 200 °C closed cup`"),
            );
            true
        }
        _ => false,
    }
}

/// From here on oil is called hot, in K (45 °C, as on the worksheets).
pub(super) const WARM: f64 = 318.15;

/// Near the pour point an oil no longer flows as one.
fn cold(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) {
    let Some((fluid, pour)) = set.fluid.and_then(|f| f.pour.as_ref().map(|pour| (f, pour))) else { return };
    let margin = say::rule(moment.plan, "pour-margin", 15.0);
    let allowed = pour.value.si() + margin.value;
    if !below(set.kelvin, allowed) {
        return;
    }
    let severity = if below(set.kelvin, pour.value.si()) { Severity::Error } else { Severity::Warning };
    let room = set.kelvin - pour.value.si();
    findings.add(
        finding(
            Code::TargetOutOfReach,
            format!(
                "{}, {} K {} its pour point of {}",
                set.said(f64::INFINITY),
                say::number(room.abs(), Round::Near),
                if room < 0.0 { "below" } else { "above" },
                pour.value
            ),
            moment.step.origin,
            "this set-point",
        )
        .and(pour.origin, format!("`{}` stops flowing here", fluid.name))
        .and_maybe(margin.origin, "the rule that sets the margin")
        .why("Close above its pour point an oil holds wax and no longer flows like an oil: what is measured is not its viscosity.")
        .severity(severity)
        .help(set.instead(allowed, false, moment)),
    );
}

/// A heater in oil that stands still.
fn still_oil(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Action::Switch { what, on } = &moment.step.action else { return };
    let heater_starts = what == "heater" && *on && !moment.before.pump_runs();
    let pump_stops = what == "pump" && !*on && moment.before.heater_is_on();
    if !heater_starts && !pump_stops {
        return;
    }
    let (message, role, help) = if heater_starts {
        (
            "the heater starts while the pump is off",
            "the heater starts here",
            "write `start pump` before `start heater`",
        )
    } else {
        ("the pump stops while the heater is on", "the pump stops here", "write `stop heater` before `stop pump`")
    };
    let other = if heater_starts { moment.before.pump } else { moment.before.heater };
    let last = if heater_starts { "the pump stopped here" } else { "the heater is on since here" };
    findings.add(
        finding(Code::HeaterWithoutFlow, message, moment.step.origin, role)
            .and_maybe(other.map(|(_, origin)| origin), last)
            .help(help),
    );
}

/// A rig opened while the oil burns skin.
fn opened_hot(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let what = match &moment.step.action {
        Action::Remove => "the specimen comes off",
        Action::Mount { .. } => "the specimen goes on",
        Action::ChangeFluid(change) if change.drain => "the rig is drained",
        _ => return,
    };
    let rule = say::temperature_rule(moment.plan, "open-below", WARM);
    let Some((hot, since)) = moment.before.temperature.filter(|(t, _)| above(*t, rule.value)) else { return };
    let unit = unit_of_bench(moment, since);
    let allowed = say::point(rule.value, &unit, Round::Down);
    findings.add(
        finding(
            Code::OpenedWhileHot,
            format!("{what} while the oil is at {}", say::point(hot, &unit, Round::Near)),
            moment.step.origin,
            "opened here",
        )
        .and(since, "heated here, and not cooled since")
        .and_maybe(rule.origin, "the rule that says how warm it may be")
        .help(format!("write `cool to {allowed}` before it, or cooler")),
    );
}

/// The unit in which the bench reads the temperature that was set somewhere.
fn unit_of_bench(moment: &Moment<'_, '_>, set: Origin) -> Unit {
    let step = moment.test.steps.iter().take(moment.step.number as usize).rev().find(|s| s.origin == set);
    let unit = step.and_then(|step| match &step.action {
        Action::HoldViscosity(hold) => Some(hold.unit.clone()),
        Action::HoldTemperature(setting) => setting.target.as_ref().map(|q: &Quantity| q.unit.clone()),
        Action::Cool { to } => Some(to.unit.clone()),
        _ => None,
    });
    unit.unwrap_or_else(|| Kind::Temperature.usual_unit())
}
