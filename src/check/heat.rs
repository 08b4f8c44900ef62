//! Heat and fire: what the oil, the parts and the people can stand.

use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::thermodynamic_temperature::kelvin;

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Fluid, Origin, Plan, curve};
use crate::quantity::si::Temperature;
use crate::quantity::{Kind, Quantity, Unit};

/// A heater that nothing watches.
pub(super) fn rig(plan: &Plan, findings: &mut Findings) {
    let Some(heater) = &plan.rig.heater else { return };
    if heater.high_limit.as_ref().is_none_or(|(_, independent)| !independent) {
        findings.add(
            finding(
                Code::HeaterUnguarded,
                format!("the heater `{}` has no high limit of its own", heater.name),
                heater.origin,
                "only its controller watches it",
            )
            .why("A controller that sticks heats until the oil smokes; a second thermostat that shares nothing with it stops it.")
            .help("fit a second thermostat and write for example `high limit 95 °C, independent`"),
        );
    }
    if heater.low_level_cut_out != Some(true) {
        findings.add(
            finding(
                Code::HeaterUnguarded,
                format!("the heater `{}` stays on when the oil runs low", heater.name),
                heater.origin,
                "no low-level cut-out",
            )
            .help("fit one and write `low-level cut-out fitted`"),
        );
    }
    let lowest = plan.rig.reservoir_holds.low.as_ref();
    if let (Some(covered), Some(lowest)) = (&heater.covered_above, lowest)
        && above(covered.si(), lowest.si())
    {
        findings.add(
            finding(
                Code::HeaterUnguarded,
                format!("the heater is covered above {covered}, but the reservoir may hold as little as {lowest}"),
                heater.origin,
                format!("bare below {covered}"),
            )
            .and(plan.rig.reservoir.origin, "the reservoir")
            .help(format!("let the reservoir hold {covered} at least")),
        );
    }
}

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    if let Some(set) = set_point(moment) {
        parts(moment, &set, findings);
        limit(moment, &set, findings);
        fire(moment, &set, findings);
        cold(moment, &set, findings);
    }
    still_oil(moment, findings);
    opened_hot(moment, findings);
}

/// A temperature that a step asks for.
struct SetPoint<'p> {
    kelvin: f64,
    unit: Unit,
    fluid: Option<&'p Fluid>,
    /// m²/s, where the temperature follows from a viscosity.
    viscosity: Option<f64>,
}

impl SetPoint<'_> {
    fn said(&self) -> String {
        let temperature = say::point(self.kelvin, &self.unit, Round::Near);
        match (self.viscosity, self.fluid) {
            (Some(viscosity), Some(fluid)) => format!(
                "`{}` has {} only at {temperature}",
                fluid.name,
                say::point(viscosity, &Kind::KinematicViscosity.usual_unit(), Round::Near)
            ),
            _ => format!("{temperature} is asked for"),
        }
    }

    /// What to hold instead, where nothing warmer (or colder) than a temperature is allowed.
    fn instead(&self, allowed: f64, hotter: bool) -> String {
        let round = if hotter { Round::Down } else { Round::Up };
        let temperature = say::point(allowed, &self.unit, round);
        let at = self.fluid.zip(self.viscosity).and_then(|(fluid, _)| {
            let there = curve(fluid).ok()?.viscosity_at(Temperature::new::<kelvin>(allowed)).ok()?;
            Some((fluid, there.value.get::<square_meter_per_second>()))
        });
        match at {
            Some((fluid, there)) => {
                let unit = Kind::KinematicViscosity.usual_unit();
                let (there, other, more) = if hotter {
                    (
                        say::point(there, &unit, Round::Up),
                        // A thinner oil often has the lower flash point, so thin alone is no advice.
                        "fluid that is this thin at a lower temperature and whose flash point leaves the margin",
                        "or more",
                    )
                } else {
                    (say::point(there, &unit, Round::Down), "thicker fluid", "or less")
                };
                format!("hold {there} {more}, which `{}` has at {temperature}, or take a {other}", fluid.name)
            }
            None => format!("hold {temperature} {}", if hotter { "or less" } else { "or more" }),
        }
    }
}

fn set_point<'p>(moment: &Moment<'_, 'p>) -> Option<SetPoint<'p>> {
    let in_use = || moment.before.fluid.and_then(|(name, _)| moment.plan.fluids.get(name));
    match &moment.step.action {
        Action::HoldViscosity(hold) => Some(SetPoint {
            kelvin: hold.temperature,
            unit: hold.unit.clone(),
            fluid: moment.plan.fluids.get(&hold.fluid),
            viscosity: Some(hold.target),
        }),
        Action::HoldTemperature(setting) => {
            let target = setting.target.as_ref()?;
            Some(SetPoint { kelvin: target.si(), unit: target.unit.clone(), fluid: in_use(), viscosity: None })
        }
        _ => None,
    }
}

/// The part that stands the least heat.
fn parts(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) {
    let rig = &moment.plan.rig;
    let margin = say::rule(moment.plan, "part-temperature-margin", 10.0);
    let parts = [&rig.reservoir, &rig.pump].into_iter().chain(&rig.parts).chain(rig.valves.values());
    let rated =
        parts.filter_map(|p| p.at_most.as_ref().map(|t| (p.title.as_str(), t, t.si() - margin.value, p.origin)));
    let limit =
        rig.heater.as_ref().and_then(|h| h.high_limit.as_ref().map(|(t, _)| ("high limit", t, t.si(), h.origin)));
    let Some((title, rated, allowed, origin)) = rated.chain(limit).min_by(|a, b| a.2.total_cmp(&b.2)) else { return };
    if !above(set.kelvin, allowed) {
        return;
    }
    let beyond = if title == "high limit" {
        format!("the heater's high limit cuts off at {rated}")
    } else {
        let margin = say::number(margin.value, Round::Near);
        format!("{} is made for {rated} at most, less a margin of {margin} K", called(title))
    };
    let code = if set.viscosity.is_some() { Code::TargetOutOfReach } else { Code::AboveLimit };
    findings.add(
        finding(code, format!("{}, but {beyond}", set.said()), moment.step.origin, "this set-point")
            .and(origin, format!("at most {rated}"))
            .and_maybe(set.fluid.map(|f| f.origin), "the fluid in use")
            .help(set.instead(allowed, true)),
    );
}

/// A part by its title, or by what it is where it has none.
fn called(title: &str) -> String {
    if title.starts_with(char::is_uppercase) { format!("`{title}`") } else { format!("the {title}") }
}

/// The protocol's own limit.
fn limit(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) {
    if let Some(limit) = &moment.test.limits.fluid_temperature
        && above(set.kelvin, limit.si())
    {
        findings.add(
            finding(
                Code::AboveLimit,
                format!("{}, but this protocol stops the run above {limit}", set.said()),
                moment.step.origin,
                "this set-point",
            )
            .and(moment.test.origin, format!("its limits say `fluid temperature at most {limit}`"))
            .help(set.instead(limit.si(), true)),
        );
    }
}

fn fire(moment: &Moment<'_, '_>, set: &SetPoint<'_>, findings: &mut Findings) {
    let Some(fluid) = set.fluid else { return };
    let margin = say::rule(moment.plan, "flash-margin", 30.0);
    match &fluid.flash {
        Some(flash) if above(set.kelvin, flash.value.temperature.si() - margin.value) => {
            let allowed = flash.value.temperature.si() - margin.value;
            let gap = flash.value.temperature.si() - set.kelvin;
            let room = if gap >= 0.0 {
                format!("just {} K below", say::number(gap, Round::Near))
            } else {
                format!("{} K above", say::number(-gap, Round::Near))
            };
            let margin_said = say::number(margin.value, Round::Near);
            findings.add(
                finding(
                    Code::FlashMargin,
                    format!("{}, {room} its flash point of {}", set.said(), flash.value.temperature),
                    moment.step.origin,
                    "this set-point",
                )
                .and(flash.origin, format!("the margin to this is to be {margin_said} K"))
                .and_maybe(margin.origin, "the rule that sets the margin")
                .help(set.instead(allowed, true)),
            );
        }
        None if above(set.kelvin, WARM) => findings.add(
            finding(
                Code::FlashMargin,
                format!("{}, but nobody has written down when `{}` can be lit", set.said(), fluid.name),
                moment.step.origin,
                "heated here",
            )
            .and(fluid.origin, "no flash point")
            .help("add the line from its data sheet, for example `flash point 200 °C closed cup`"),
        ),
        _ => {}
    }
}

/// From here on oil is called hot, in K (45 °C, as on the worksheets).
const WARM: f64 = 318.15;

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
                "{}, {} K from its pour point of {}",
                set.said(),
                say::number(room, Round::Near),
                pour.value
            ),
            moment.step.origin,
            "this set-point",
        )
        .and(pour.origin, format!("`{}` stops flowing here", fluid.name))
        .and_maybe(margin.origin, "the rule that sets the margin")
        .why("Close above its pour point an oil holds wax and no longer flows like an oil: what is measured is not its viscosity.")
        .severity(severity)
        .help(set.instead(allowed, false)),
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
    let rule = say::temperature_rule(moment.plan, "open-below", 323.15);
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
