//! Set-points that are computed, not typed: a viscosity becomes the temperatures at which the fluid in use has it.

use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

use super::model::{Fluid, Marked, Origin, ViscosityHold, ViscosityPoint};
use super::read::Context;
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::quantity::si::{KinematicViscosity, Temperature, Time};
use crate::quantity::{Mark, Quantity, Unit, Window};
use crate::syntax::tree::Statement;
use crate::trade::viscosity::{Curve, Point, Reach, viscosity_from_saybolt};

/// A kinematic viscosity in m²/s; one in Saybolt seconds is converted at its temperature (ASTM D2161).
pub(crate) fn viscosity_si(
    viscosity: &Quantity,
    at: &Quantity,
    statement: &Statement,
    context: &Context<'_>,
) -> Option<f64> {
    if viscosity.unit.mark != Mark::Saybolt {
        return Some(viscosity.si());
    }
    let efflux = Time::new::<second>(viscosity.value);
    match viscosity_from_saybolt(efflux, Temperature::new::<kelvin>(at.si())) {
        Ok(kinematic) => Some(kinematic.get::<square_meter_per_second>()),
        Err(error) => {
            context.report(
                Code::ViscosityOutsideDomain,
                error.to_string(),
                statement.head,
                "this viscosity",
                "give it in mm²/s",
            );
            None
        }
    }
}

/// The viscosity–temperature curve of a fluid, with the reason where it has none.
pub(crate) fn curve(fluid: &Fluid) -> Result<Curve, String> {
    let points: Vec<Point> = fluid
        .viscosities
        .iter()
        .map(|p| {
            Point::nominal(
                Temperature::new::<kelvin>(p.value.temperature.si()),
                KinematicViscosity::new::<square_meter_per_second>(p.value.si),
            )
        })
        .collect();
    Curve::through(&points).map_err(|error| error.to_string())
}

/// What a `hold viscosity` asks for.
pub(crate) struct Wanted {
    /// m²/s.
    pub(crate) target: f64,
    pub(crate) window: Window,
    pub(crate) said: String,
    pub(crate) unit: Unit,
}

/// The temperatures that give a viscosity with this fluid, with findings where they lie far from what was measured.
pub(crate) fn viscosity_hold(
    wanted: Wanted,
    fluid: &Fluid,
    statement: &Statement,
    context: &Context<'_>,
) -> Option<ViscosityHold> {
    let curve = curve_of(fluid, statement, context)?;
    let at = |viscosity: f64| curve.temperature_for(KinematicViscosity::new::<square_meter_per_second>(viscosity));
    let found = match at(wanted.target) {
        Ok(found) => found,
        Err(error) => {
            context.notes.add(
                finding(
                    Code::TargetOutOfReach,
                    format!("`{}` cannot have this viscosity: {error}", fluid.name),
                    statement,
                    context,
                )
                .also(fluid.origin.source, fluid.origin.span, "the fluid in use")
                .help("take a thicker or thinner fluid"),
            );
            return None;
        }
    };
    let temperature = found.value.get::<kelvin>();
    stretch(found.reach, temperature, fluid, statement, context);
    // Thick is cold: the upper viscosity gives the lower temperature.
    let end = |viscosity: Option<f64>| viscosity.and_then(|v| at(v).ok()).map(|r| r.value.get::<kelvin>());
    let temperatures = Window { low: end(wanted.window.high), high: end(wanted.window.low) };
    Some(ViscosityHold {
        fluid: fluid.name.clone(),
        target: wanted.target,
        window: wanted.window,
        said: wanted.said,
        temperature,
        temperatures,
        unit: wanted.unit,
    })
}

/// The viscosity, in m²/s, of a fluid at a temperature.
pub(crate) fn viscosity_at(fluid: &Fluid, at: &Quantity, statement: &Statement, context: &Context<'_>) -> Option<f64> {
    let curve = curve_of(fluid, statement, context)?;
    match curve.viscosity_at(Temperature::new::<kelvin>(at.si())) {
        Ok(found) => {
            stretch(found.reach, at.si(), fluid, statement, context);
            Some(found.value.get::<square_meter_per_second>())
        }
        Err(error) => {
            context.notes.add(finding(Code::ViscosityOutsideDomain, error.to_string(), statement, context).also(
                fluid.origin.source,
                fluid.origin.span,
                "this fluid",
            ));
            None
        }
    }
}

fn curve_of(fluid: &Fluid, statement: &Statement, context: &Context<'_>) -> Option<Curve> {
    match curve(fluid) {
        Ok(curve) => Some(curve),
        Err(reason) => {
            // Two points of which the warmer is the thicker, and one that is no viscosity, are reported where they stand.
            let known = |pair: &[_]| matches!(pair, [a, b] if falls(a, b));
            let doubtful = fluid.viscosities.iter().any(|point| !point.value.si.is_finite())
                || !fluid.viscosities.windows(2).all(known);
            if doubtful {
                return None;
            }
            let message = match fluid.viscosities.as_slice() {
                [] => format!("no viscosity of `{}` is known", fluid.name),
                [only] => format!(
                    "`{}` is known at {} only, and is to be at another temperature",
                    fluid.name, only.value.temperature
                ),
                _ => format!("`{}` has no viscosity–temperature curve: {reason}", fluid.name),
            };
            let mut found = finding(Code::TwoPointsNeeded, message, statement, context)
                .also(fluid.origin.source, fluid.origin.span, "this fluid")
                .help("measure its viscosity at two temperatures, as far apart as the test goes, and write both; a class or a grade is not a measurement");
            for point in &fluid.viscosities {
                found = found.also(point.origin.source, point.origin.span, "measured here");
            }
            context.notes.add(found);
            None
        }
    }
}

fn falls(cooler: &Marked<ViscosityPoint>, warmer: &Marked<ViscosityPoint>) -> bool {
    warmer.value.si < cooler.value.si
}

/// Beyond 20 K outside the measured points a warning, beyond 40 K an error (a proposal of the trade study, no source).
fn stretch(reach: Reach, temperature: f64, fluid: &Fluid, statement: &Statement, context: &Context<'_>) {
    let (beyond, side) = match reach {
        Reach::Measured => return,
        Reach::Colder(by) => (by.value, "colder"),
        Reach::Hotter(by) => (by.value, "hotter"),
    };
    if beyond <= 20.0 {
        return;
    }
    let severity = if beyond > 40.0 { Severity::Error } else { Severity::Warning };
    let mut found = finding(
        Code::FarFromMeasured,
        format!(
            "{:.1} °C is {beyond:.0} K {side} than any measured viscosity of `{}`",
            temperature - 273.15,
            fluid.name
        ),
        statement,
        context,
    )
    .severity(severity)
    .help(format!("measure the viscosity near {:.0} °C and add the line to the fluid", temperature - 273.15));
    for point in &fluid.viscosities {
        found = found.also(point.origin.source, point.origin.span, "measured here");
    }
    context.notes.add(found);
}

fn finding(code: Code, message: String, statement: &Statement, context: &Context<'_>) -> Diagnostic {
    let Origin { source, span } = context.origin(statement.head);
    Diagnostic::new(code, message).at(source, span, "asked for here")
}
