//! Openings and columns: an orifice, the head of a liquid, and the bubble that a wetted pore holds back.

use super::HydraulicsError;
use crate::{
    quantity::si::{Acceleration, Angle, Length, MassDensity, Pressure, Ratio, SurfaceTension, VolumeRate},
    trade::numeric::{Unfit, a_number, above_zero, share, zero_or_more},
};
use std::f64::consts::{FRAC_PI_2, PI};
use uom::si::{
    acceleration::meter_per_second_squared, angle::radian, length::meter, mass_density::kilogram_per_cubic_meter,
    pressure::pascal, ratio::ratio, surface_tension::newton_per_meter, volume_rate::cubic_meter_per_second,
};

/// Standard gravity, m/s² (exact by definition).
const STANDARD_GRAVITY: f64 = 9.80665;

/// The flow through a sharp opening: Q = C_d A √(2 ΔP/ρ), approach velocity neglected.
///
/// Domain: 0 < C_d ≤ 1, diameter and density above zero, pressure zero or more. C_d of about 0.61 needs turbulent flow
/// in the opening. Source: Bernoulli; textbook.
pub fn orifice_flow(
    discharge: Ratio,
    diameter: Length,
    pressure: Pressure,
    density: MassDensity,
) -> Result<VolumeRate, HydraulicsError> {
    let area = effective_area(discharge, diameter)?;
    let p = zero_or_more("the pressure (Pa)", pressure.get::<pascal>())?;
    let rho = above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
    Ok(VolumeRate::new::<cubic_meter_per_second>(area * (2.0 * p / rho).sqrt()))
}

/// The pressure that drives a flow through a sharp opening: ΔP = (ρ/2) (Q/(C_d A))². Domain and source as
/// [`orifice_flow`].
pub fn orifice_loss(
    discharge: Ratio,
    diameter: Length,
    flow: VolumeRate,
    density: MassDensity,
) -> Result<Pressure, HydraulicsError> {
    let area = effective_area(discharge, diameter)?;
    let q = zero_or_more("the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
    let rho = above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
    Ok(Pressure::new::<pascal>(rho / 2.0 * (q / area).powi(2)))
}

/// C_d A in m².
fn effective_area(discharge: Ratio, diameter: Length) -> Result<f64, Unfit> {
    let c = above_zero("the discharge coefficient", share("the discharge coefficient", discharge.get::<ratio>())?)?;
    let d = above_zero("the diameter of the opening (m)", diameter.get::<meter>())?;
    Ok(c * PI / 4.0 * d * d)
}

/// The pressure of a column of liquid: ΔP = ρ g h; below zero when the height is.
///
/// Needed when the impulse lines of a gauge are not filled alike. Domain: density above zero. Source: hydrostatics, with
/// standard gravity.
pub fn hydrostatic_head(height: Length, density: MassDensity) -> Result<Pressure, HydraulicsError> {
    a_number("the height (m)", height.get::<meter>())?;
    above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
    Ok(density * Acceleration::new::<meter_per_second_squared>(STANDARD_GRAVITY) * height)
}

/// The pressure at which gas breaks through a wetted round pore: ΔP = 4 σ cos θ/d.
///
/// Domain: surface tension and diameter above zero, contact angle 0 to below 90°. The bubble point tells a sound
/// element from a damaged one; it is no rating (ISO 2942 says so itself). Source: Young–Laplace.
pub fn bubble_pressure(
    pore: Length,
    tension: SurfaceTension,
    contact_angle: Angle,
) -> Result<Pressure, HydraulicsError> {
    above_zero("the diameter of the pore (m)", pore.get::<meter>())?;
    Ok(wetting(tension, contact_angle)? / pore)
}

/// The diameter of the round pore that lets gas through at a pressure: d = 4 σ cos θ/ΔP, as [`bubble_pressure`].
pub fn bubble_diameter(
    net: Pressure,
    tension: SurfaceTension,
    contact_angle: Angle,
) -> Result<Length, HydraulicsError> {
    above_zero("the net bubble pressure (Pa)", net.get::<pascal>())?;
    Ok(wetting(tension, contact_angle)? / net)
}

fn wetting(tension: SurfaceTension, contact_angle: Angle) -> Result<SurfaceTension, Unfit> {
    above_zero("the surface tension (N/m)", tension.get::<newton_per_meter>())?;
    let angle = contact_angle.get::<radian>();
    if !(0.0..FRAC_PI_2).contains(&angle) {
        let must = "the liquid must wet the medium: 0 to below 90°; take 0 for 2-propanol";
        return Err(Unfit { what: "the contact angle (rad)", value: angle, must });
    }
    Ok(tension * (4.0 * angle.cos()))
}

/// The bubble pressure less the head of liquid over the highest pore: p − ρ g h.
///
/// Errors: the head is as large as the reading. Source: ISO 2942 (abstract level), hydrostatics.
pub fn net_bubble_pressure(
    reading: Pressure,
    immersion: Length,
    density: MassDensity,
) -> Result<Pressure, HydraulicsError> {
    zero_or_more("the depth of immersion (m)", immersion.get::<meter>())?;
    a_number("the bubble pressure read (Pa)", reading.get::<pascal>())?;
    let net = reading - hydrostatic_head(immersion, density)?;
    let must = "the head of liquid takes up the whole reading; check depth and zero";
    if net.get::<pascal>() > 0.0 {
        Ok(net)
    } else {
        Err(Unfit { what: "the net bubble pressure (Pa)", value: net.get::<pascal>(), must }.into())
    }
}

/// A bubble pressure restated for a reference surface tension: p σ_ref/σ, same pore and wetting.
///
/// Domain: all above zero. Source: ISO 2942 (abstract level: results may be normalised so), Young–Laplace.
pub fn normalised_bubble_pressure(
    net: Pressure,
    tension: SurfaceTension,
    reference: SurfaceTension,
) -> Result<Pressure, HydraulicsError> {
    above_zero("the net bubble pressure (Pa)", net.get::<pascal>())?;
    for value in [tension, reference] {
        above_zero("the surface tension (N/m)", value.get::<newton_per_meter>())?;
    }
    Ok(net * (reference / tension))
}
