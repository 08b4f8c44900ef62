//! The heater itself: what guards it, how long it takes, what it does to thick oil; and the heat that the pump makes.

use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::thermodynamic_temperature::kelvin;

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::plan::{Action, Fluid, Origin, Plan, Step, Test, curve, is_fahrenheit};
use crate::quantity::si::Temperature;
use crate::quantity::{Kind, Quantity, Unit};
use crate::source::{SourceId, Span};

/// How much heat something of the rig stands, in K.
pub(super) struct Bound<'p> {
    pub(super) title: &'p str,
    pub(super) said: &'p Quantity,
    pub(super) rating: f64,
    /// The rating less the margin.
    pub(super) allowed: f64,
    pub(super) is_high_limit: bool,
    pub(super) origin: Origin,
}

/// The ratings of all parts, and the heater's high limit.
pub(super) fn bounds(plan: &Plan) -> impl Iterator<Item = Bound<'_>> {
    let rig = &plan.rig;
    let margin = say::rule(plan, "part-temperature-margin", 10.0).value;
    let parts = [&rig.reservoir, &rig.pump].into_iter().chain(&rig.parts).chain(rig.valves.values());
    let rated = parts.filter_map(move |part| {
        let said = part.at_most.as_ref()?;
        let rating = said.si();
        Some(Bound {
            title: &part.title,
            said,
            rating,
            allowed: rating - margin,
            is_high_limit: false,
            origin: part.origin,
        })
    });
    let limit = rig.heater.as_ref().and_then(|heater| {
        let (said, _) = heater.high_limit.as_ref()?;
        let rating = said.si();
        Some(Bound { title: "high limit", said, rating, allowed: rating, is_high_limit: true, origin: heater.origin })
    });
    rated.chain(limit)
}

/// A part by its title, or by what it is where it has none.
pub(super) fn called(title: &str) -> String {
    if title.starts_with(char::is_uppercase) { format!("`{title}`") } else { format!("the {title}") }
}

/// The number of a temperature on the other scale, as written and in K: `140 °F` for `140 °C`.
pub(super) fn on_other_scale(target: &Quantity) -> Option<(String, f64)> {
    let other = if is_fahrenheit(&target.unit) { "°C" } else { "°F" };
    let meant = Unit::parse(other).ok()?.to_si(target.value);
    Some((format!("{} {other}", target.number), meant))
}

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
    above_parts(plan, findings);
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

/// A high limit that lets the weakest part get too hot.
fn above_parts(plan: &Plan, findings: &mut Findings) {
    let Some(limit) = bounds(plan).find(|bound| bound.is_high_limit) else { return };
    let weakest = bounds(plan).filter(|bound| !bound.is_high_limit).min_by(|a, b| a.rating.total_cmp(&b.rating));
    let Some(part) = weakest.filter(|part| above(limit.rating, part.rating)) else { return };
    findings.add(
        finding(
            Code::HighLimitTooHigh,
            format!(
                "the heater cuts off at {}, but {} is made for {} at most",
                limit.said,
                called(part.title),
                part.said
            ),
            limit.origin,
            "this heater",
        )
        .and(part.origin, format!("at most {}", part.said))
        .help(format!(
            "set the cut-out to it or lower, and write `high limit {}, independent`",
            say::point(part.rating, &limit.said.unit, Round::Down)
        )),
    );
}

/// A high limit that lets this fluid come too near its flash point.
pub(super) fn cut_out(moment: &Moment<'_, '_>, fluid: Option<&Fluid>, findings: &mut Findings) {
    let Some(limit) = bounds(moment.plan).find(|bound| bound.is_high_limit) else { return };
    let Some((fluid, flash)) = fluid.and_then(|fluid| Some((fluid, fluid.flash.as_ref()?))) else { return };
    let margin = say::rule(moment.plan, "flash-margin", 30.0);
    let allowed = flash.value.temperature.si() - margin.value;
    if !above(limit.rating, allowed) {
        return;
    }
    let gap = flash.value.temperature.si() - limit.rating;
    let where_ = if gap < 0.0 { "above" } else { "below" };
    findings.add(
        finding(
            Code::HighLimitTooHigh,
            format!(
                "the heater cuts off at {}, {} K {where_} the flash point of `{}`",
                limit.said,
                say::number(gap.abs(), Round::Near),
                fluid.name
            ),
            limit.origin,
            "this heater",
        )
        .and(flash.origin, format!("the margin to this is to be {} K", say::number(margin.value, Round::Near)))
        .and(moment.step.origin, "heated here")
        .and_maybe(margin.origin, "the rule that sets the margin")
        .help(format!(
            "set the cut-out lower for this oil and write `high limit {}, independent`, or take an oil with a higher flash point",
            say::point(allowed, &limit.said.unit, Round::Down)
        )),
    );
}

/// Warm oil on a rig without a heater, and a warm-up that takes hours.
pub(super) fn asked(moment: &Moment<'_, '_>, set: f64, unit: &Unit, findings: &mut Findings) {
    let plan = moment.plan;
    let room = say::temperature_rule(plan, "room-temperature", ROOM);
    let Some(heater) = &plan.rig.heater else {
        // Where the heater is switched on, that says it already.
        let switched = moment.test.steps.iter().any(is_heater_on);
        if above(set, room.value + 10.0) && !switched {
            findings.add(
                finding(
                    Code::HeaterMissing,
                    format!("{} is asked for, and this rig has no heater", say::point(set, unit, Round::Near)),
                    moment.step.origin,
                    "this set-point",
                )
                .and(plan.rig.origin, "no `heater` in this rig")
                .help("describe the heater and what guards it in the rig, or take a fluid that has this viscosity at room temperature"),
            );
        }
        return;
    };
    let from = moment.before.temperature.map_or(room.value, |(at, _)| at);
    let (Some(warmed), true) = (capacity(moment), above(set, from)) else { return };
    let seconds = warmed * (set - from) / heater.power.si();
    let longest = say::rule(plan, "longest-warm-up", 5400.0);
    if !above(seconds, longest.value) {
        return;
    }
    let hours = Unit::parse("h").unwrap_or_else(|_| Unit::none());
    let volume = volume(moment).map(|volume| say::difference(volume, &litres(), Round::Near));
    findings.add(
        finding(
            Code::WarmUpLong,
            format!(
                "{} takes {} to warm {} of oil from {} to {}, losses not counted",
                heater.power,
                say::difference(seconds, &hours, Round::Near),
                volume.unwrap_or_default(),
                say::point(from, unit, Round::Near),
                say::point(set, unit, Round::Near)
            ),
            moment.step.origin,
            "this set-point",
        )
        .and(heater.origin, format!("power {}", heater.power))
        .and_maybe(longest.origin, "the rule that says how long it may take")
        .help("plan the hours into the day, work with less oil, or take an oil that is thin enough at a lower temperature"),
    );
}

fn litres() -> Unit {
    Unit::parse("L").unwrap_or_else(|_| Unit::none())
}

/// The temperature of a room where nothing else is said, in K.
pub(super) const ROOM: f64 = 293.15;

/// Of oil, in J/(kg K); from memory, 1.9 to 2.1 kJ/(kg K).
pub(super) const SPECIFIC_HEAT: f64 = 2000.0;

/// Of oil where its line does not say, in kg/m³.
pub(super) const DENSITY: f64 = 870.0;

fn is_heater_on(step: &Step) -> bool {
    matches!(&step.action, Action::Switch { what, on: true } if what == "heater")
}

/// The oil that is warmed together, in m³: the route's volume, or the fullest tank.
fn volume(moment: &Moment<'_, '_>) -> Option<f64> {
    let rig = &moment.plan.rig;
    let route = moment.before.route.and_then(|(name, _)| rig.routes.get(name)).and_then(|route| route.volume.as_ref());
    route.or(rig.reservoir_holds.high.as_ref()).map(|volume| volume.si()).filter(|volume| *volume > 0.0)
}

/// Its heat capacity, in J/K.
fn capacity(moment: &Moment<'_, '_>) -> Option<f64> {
    let fluid = moment.before.fluid.and_then(|(name, _)| moment.plan.fluids.get(name));
    let density = fluid.and_then(|fluid| fluid.density.as_ref()).map_or(DENSITY, |density| density.value.0.si());
    Some(volume(moment)? * density * SPECIFIC_HEAT)
}

/// A heater that is switched on where there is none, or in oil that hardly moves along it.
pub(super) fn switched(moment: &Moment<'_, '_>, findings: &mut Findings) {
    if !is_heater_on(moment.step) {
        return;
    }
    let plan = moment.plan;
    let Some(heater) = &plan.rig.heater else {
        findings.add(
            finding(
                Code::HeaterMissing,
                "the heater is switched on, and this rig has none",
                moment.step.origin,
                "switched on here",
            )
            .and(plan.rig.origin, "no `heater` in this rig")
            .help("describe it in the rig: `heater tank-heater { power 3 kW; covered above 9 L; high limit 80 °C, independent; low-level cut-out fitted }`, with your heater's values"),
        );
        return;
    };
    let Some(load) = &heater.surface_load else { return };
    let most = say::rule(plan, "heater-surface-load", 15_000.0);
    let thick = say::rule(plan, "heater-thick-oil", 100e-6);
    let room = say::temperature_rule(plan, "room-temperature", ROOM);
    let at = moment.before.temperature.map_or(room.value, |(at, _)| at);
    let fluid = moment.before.fluid.and_then(|(name, _)| plan.fluids.get(name));
    let Some((fluid, viscosity)) = fluid.and_then(|fluid| {
        let there = curve(fluid).ok()?.viscosity_at(Temperature::new::<kelvin>(at)).ok()?;
        Some((fluid, there.value.get::<square_meter_per_second>()))
    }) else {
        return;
    };
    if !above(load.si(), most.value) || !above(viscosity, thick.value) {
        return;
    }
    findings.add(
        finding(
            Code::HeaterFierce,
            format!(
                "the heater gives {load}, and `{}` has {} when it goes on at {}",
                fluid.name,
                say::point(viscosity, &Kind::KinematicViscosity.usual_unit(), Round::Near),
                say::point(at, &Kind::Temperature.usual_unit(), Round::Near)
            ),
            moment.step.origin,
            "switched on here",
        )
        .and(heater.origin, format!("surface load {load}"))
        .and_maybe(most.origin, "the rule that says how much thick oil stands")
        .help(format!(
            "run it at reduced power, {} or less, until the oil is thinner than {}, and say so in a `note` and here in `surface load`; or let the pump warm the oil first",
            say::difference(most.value, &load.unit, Round::Down),
            say::point(thick.value, &Kind::KinematicViscosity.usual_unit(), Round::Near)
        )),
    );
}

/// A flash point or a rating that a set-point passes is told once, at the set-point: what else lies above it follows from the
/// same line.
pub(super) fn settle(findings: &mut Vec<Diagnostic>) {
    let is_set_point =
        |found: &&Diagnostic| matches!(found.code, Code::FlashMargin | Code::TargetOutOfReach | Code::AboveLimit);
    let told: Vec<(SourceId, Span)> = findings
        .iter()
        .filter(is_set_point)
        .flat_map(|found| found.places.iter().map(|place| (place.source, place.span)))
        .collect();
    findings.retain(|found| {
        !matches!(found.code, Code::HighLimitTooHigh | Code::LimitTooHigh | Code::SolventInBath)
            || !found.places.iter().any(|place| told.contains(&(place.source, place.span)))
    });
}

/// What a test's own limits are to protect, and hot surfaces beside oil under pressure.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    temperature_limit(plan, test, findings);
    level_limit(plan, test, findings);
    hot_surfaces(plan, test, findings);
}

/// The fluids that a test has in the rig.
pub(super) fn fluids<'p>(plan: &'p Plan, test: &'p Test) -> Vec<&'p Fluid> {
    let mut fluids: Vec<&Fluid> = Vec::new();
    for step in &test.steps {
        let name = match &step.action {
            Action::UseFluid { fluid } => fluid,
            Action::ChangeFluid(change) => &change.to,
            Action::HoldViscosity(hold) => &hold.fluid,
            _ => continue,
        };
        if let Some(fluid) = plan.fluids.get(name)
            && !fluids.iter().any(|known| known.name == fluid.name)
        {
            fluids.push(fluid);
        }
    }
    fluids
}

/// `fluid temperature at most` against flash point, ratings and the heater's high limit.
fn temperature_limit(plan: &Plan, test: &Test, findings: &mut Findings) {
    let Some(limit) = &test.limits.fluid_temperature else { return };
    let at = test.limits.origin("fluid temperature at most").unwrap_or(test.origin);
    let margin = say::rule(plan, "flash-margin", 30.0);
    let flash = fluids(plan, test)
        .into_iter()
        .filter_map(|fluid| Some((fluid, fluid.flash.as_ref()?)))
        .min_by(|a, b| a.1.value.temperature.si().total_cmp(&b.1.value.temperature.si()));
    let part = bounds(plan).filter(|bound| !bound.is_high_limit).min_by(|a, b| a.rating.total_cmp(&b.rating));
    let highest = bounds(plan).map(|bound| bound.rating).reduce(f64::max);
    let finding = |message: String| finding(Code::LimitTooHigh, message, at, "this limit");
    let instead =
        |allowed: f64| format!("write `fluid temperature at most {}`", say::point(allowed, &limit.unit, Round::Down));
    if let (Some(highest), Some((other, meant))) = (highest, on_other_scale(limit))
        && above(limit.si(), highest)
        && part.as_ref().is_none_or(|part| !above(meant, part.rating))
        && !below(meant, ROOM)
    {
        findings.add(
            super::finding(
                Code::OtherScale,
                format!(
                    "the run is to be stopped above {limit}, which nothing on this rig stands; {other} would be {}",
                    say::point(meant, &limit.unit, Round::Near)
                ),
                at,
                "this limit",
            )
            .and(plan.rig.origin, "this rig")
            .help(format!("write `fluid temperature at most {other}` if that was meant")),
        );
        return;
    }
    if let Some((fluid, flash)) = flash
        && above(limit.si(), flash.value.temperature.si() - margin.value)
    {
        let allowed = flash.value.temperature.si() - margin.value;
        findings.add(
            finding(format!(
                "the run is stopped above {limit}, but `{}` flashes at {}, and the margin is {} K",
                fluid.name,
                flash.value.temperature,
                say::number(margin.value, Round::Near)
            ))
            .and(flash.origin, "its flash point")
            .and_maybe(margin.origin, "the rule that sets the margin")
            .help(instead(allowed)),
        );
    } else if let Some(part) = part.filter(|part| above(limit.si(), part.rating)) {
        findings.add(
            finding(format!(
                "the run is stopped above {limit}, but {} is made for {} at most",
                called(part.title),
                part.said
            ))
            .and(part.origin, format!("at most {}", part.said))
            .help(instead(part.rating)),
        );
    } else if let Some(high) = bounds(plan).find(|bound| bound.is_high_limit && above(limit.si(), bound.rating)) {
        findings.add(
            finding(format!(
                "the run is stopped above {limit}, but the heater cuts off at {} already",
                high.said
            ))
            .and(high.origin, "this heater")
            .severity(Severity::Warning)
            .why("If the cut-out works the limit is never reached; if the oil gets there, the cut-out has failed and the limit is too late.")
            .help(instead(high.rating)),
        );
    }
}

/// A lowest level that lets the heater stand bare.
fn level_limit(plan: &Plan, test: &Test, findings: &mut Findings) {
    let Some((heater, covered)) = plan.rig.heater.as_ref().and_then(|h| Some((h, h.covered_above.as_ref()?))) else {
        return;
    };
    let held = test.steps.iter().find_map(|step| match &step.action {
        Action::HoldLevel(setting) => {
            let low = setting.window.low.or_else(|| setting.target.as_ref().map(|target| target.si()))?;
            let unit = setting.target.as_ref().map_or_else(|| covered.unit.clone(), |target| target.unit.clone());
            below(low, covered.si()).then(|| (step.origin, say::difference(low, &unit, Round::Near)))
        }
        _ => None,
    });
    let limit = test.limits.reservoir_volume.as_ref().filter(|limit| below(limit.si(), covered.si()));
    let (at, said, help) = match (limit, held) {
        (Some(limit), _) => (
            test.limits.origin("reservoir volume at least").unwrap_or(test.origin),
            format!("the run goes on down to {limit}"),
            format!(
                "write `reservoir volume at least {}` or more",
                say::difference(covered.si(), &limit.unit, Round::Up)
            ),
        ),
        (None, Some((at, low))) => (
            at,
            format!("the level may be as low as {low}"),
            format!("hold a level whose window stays above {covered}"),
        ),
        (None, None) => return,
    };
    findings.add(
        finding(
            Code::HeaterUnguarded,
            format!("{said}, but the heater is covered only above {covered}"),
            at,
            "this level",
        )
        .and(heater.origin, format!("bare below {covered}"))
        .help(help),
    );
}

/// Bare surfaces that would light a mist of oil, beside a rig under pressure.
fn hot_surfaces(plan: &Plan, test: &Test, findings: &mut Findings) {
    let most = say::temperature_rule(plan, "hot-surface", 473.15);
    let under_pressure = test.steps.iter().find(|step| step.hazards.contains(&crate::plan::Hazard::Pressure));
    let Some(step) = under_pressure else { return };
    for surface in plan.rig.hot_surfaces.iter().filter(|s| !s.shielded && above(s.temperature.si(), most.value)) {
        findings.add(
            finding(
                Code::MistNearHotSurface,
                format!("`{}` is at {} and open, beside oil under pressure", surface.title, surface.temperature),
                surface.origin,
                "this surface",
            )
            .and(step.origin, "oil under pressure from here on")
            .and_maybe(most.origin, "the rule that says how hot it may be")
            .help(format!(
                "put a shield between it and every hose and fitting and write `shielded`, or keep it below {} during the run",
                say::point(most.value, &surface.temperature.unit, Round::Down)
            )),
        );
    }
}
