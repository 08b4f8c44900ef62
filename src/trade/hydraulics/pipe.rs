//! Flow in a line: Reynolds number, friction, and what is left at the pump inlet.

use super::HydraulicsError;
use crate::{
    quantity::si::{Area, KinematicViscosity, Length, MassDensity, Pressure, Ratio, Velocity, VolumeRate},
    trade::numeric::{Unfit, a_number, above_zero, root, zero_or_more},
};
use std::f64::consts::PI;
use uom::si::{
    diffusion_coefficient::square_meter_per_second, length::meter, mass_density::kilogram_per_cubic_meter,
    pressure::pascal, ratio::ratio, volume_rate::cubic_meter_per_second,
};

/// Flow is laminar below this Reynolds number. Textbooks say 2000 to 2300; some libraries switch at 2040.
const LAMINAR: f64 = 2300.0;
/// Flow is turbulent above this one; between the two nobody can say.
const TURBULENT: f64 = 4000.0;

/// A straight round line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pipe {
    pub bore: Length,
    pub length: Length,
    /// Height of the wall's roughness; zero for drawn tube and hose.
    pub roughness: Length,
}

/// How the oil moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// Re up to 2300: no mixing across the line; a sample from it is not representative without a mixer.
    Laminar,
    /// Re 2300 to 4000: unsteady, either value may be seen.
    Transitional,
    /// Re above 4000.
    Turbulent,
}

/// Darcy's friction factor (four times Fanning's). The two ends differ in the transitional regime only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Friction {
    pub regime: Regime,
    pub lowest: f64,
    pub highest: f64,
}

/// The pressure lost in a line. The two ends differ in the transitional regime only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineLoss {
    pub regime: Regime,
    pub reynolds: Ratio,
    pub lowest: Pressure,
    pub highest: Pressure,
}

fn bore_area(bore: Length) -> Result<Area, Unfit> {
    above_zero("the bore (m)", bore.get::<meter>())?;
    Ok(bore * bore * (PI / 4.0))
}

/// The mean velocity in a bore: v = 4 Q/(π D²).
///
/// Domain: bore above zero, flow zero or more. Source: definition.
pub fn mean_velocity(flow: VolumeRate, bore: Length) -> Result<Velocity, HydraulicsError> {
    zero_or_more("the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
    Ok(flow / bore_area(bore)?)
}

/// The Reynolds number in a bore: Re = v D/ν = 4 Q/(π D ν).
///
/// Domain: bore and viscosity above zero, flow zero or more. Source: definition; in the bench's units
/// 21 220.66 Q\[L/min\]/(D\[mm\] ν\[mm²/s\]).
pub fn reynolds(flow: VolumeRate, bore: Length, viscosity: KinematicViscosity) -> Result<Ratio, HydraulicsError> {
    above_zero("the viscosity (m²/s)", viscosity.get::<square_meter_per_second>())?;
    Ok(mean_velocity(flow, bore)? * bore / viscosity)
}

/// Darcy's friction factor of a line.
///
/// Laminar (Re ≤ 2300): f = 64/Re (Hagen–Poiseuille). Turbulent (Re ≥ 4000): Colebrook. Between them both are given.
/// Domain: Re above zero, roughness 0 to 0.05 of the bore. Source: textbook.
pub fn friction_factor(reynolds: Ratio, relative_roughness: Ratio) -> Result<Friction, HydraulicsError> {
    let re = above_zero("the Reynolds number", reynolds.get::<ratio>())?;
    let laminar = 64.0 / re;
    if re <= LAMINAR {
        return Ok(Friction { regime: Regime::Laminar, lowest: laminar, highest: laminar });
    }
    let turbulent = colebrook(reynolds, relative_roughness)?;
    if re >= TURBULENT {
        return Ok(Friction { regime: Regime::Turbulent, lowest: turbulent, highest: turbulent });
    }
    let (lowest, highest) = (laminar.min(turbulent), laminar.max(turbulent));
    Ok(Friction { regime: Regime::Transitional, lowest, highest })
}

/// Darcy's friction factor of turbulent flow by iteration: 1/√f = −2 log10(ε/(3.7 D) + 2.51/(Re √f)).
///
/// Domain: Re 2300 to 10⁸, roughness 0 to 0.05 of the bore. Source: Colebrook (1939).
pub fn colebrook(reynolds: Ratio, relative_roughness: Ratio) -> Result<f64, HydraulicsError> {
    let (re, rough) = turbulent_domain(reynolds, relative_roughness)?;
    let off = |x: f64| x + 2.0 * (rough / 3.7 + 2.51 * x / re).log10();
    let must = "Colebrook's formula has no answer here; check Reynolds number and roughness";
    let x = root(off, 1.0, 40.0).ok_or(Unfit { what: "the Reynolds number", value: re, must })?;
    Ok(1.0 / (x * x))
}

/// Explicit stand-ins for Colebrook's formula, to check someone else's sheet; off by up to about 2 %.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Explicit {
    /// 1/√f = −1.8 log10[(ε/(3.7 D))^1.11 + 6.9/Re].
    Haaland,
    /// 1/√f = −2 log10[ε/(3.7 D) + (6.97/Re)^0.9]; often printed with 5.74/Re^0.9, 2·10⁻⁶ away.
    SwameeJain,
    /// f = 8 [(8/Re)¹² + (A + B)^−1.5]^(1/12), A = {2.457 ln 1/[(7/Re)^0.9 + 0.27 ε/D]}¹⁶, B = (37530/Re)¹⁶.
    Churchill,
    /// f = 0.3164 Re^−0.25, smooth lines and Re up to 10⁵ only.
    Blasius,
}

/// Darcy's friction factor of turbulent flow by an explicit formula.
///
/// Domain: as [`colebrook`]; Blasius smooth and up to Re 10⁵. Source: Haaland (1983), Swamee and Jain (1976), Churchill
/// (1977), Blasius (1913).
pub fn explicit_friction(
    formula: Explicit,
    reynolds: Ratio,
    relative_roughness: Ratio,
) -> Result<f64, HydraulicsError> {
    let (re, rough) = turbulent_domain(reynolds, relative_roughness)?;
    let from_log = |factor: f64, inside: f64| (factor * inside.log10()).powi(-2);
    match formula {
        Explicit::Haaland => Ok(from_log(1.8, (rough / 3.7).powf(1.11) + 6.9 / re)),
        Explicit::SwameeJain => Ok(from_log(2.0, rough / 3.7 + (6.97 / re).powf(0.9))),
        Explicit::Churchill => {
            let a = (-2.457 * ((7.0 / re).powf(0.9) + 0.27 * rough).ln()).powi(16);
            let b = (37530.0 / re).powi(16);
            Ok(8.0 * ((8.0 / re).powi(12) + (a + b).powf(-1.5)).powf(1.0 / 12.0))
        }
        Explicit::Blasius if rough == 0.0 && re <= 1e5 => Ok(0.3164 * re.powf(-0.25)),
        Explicit::Blasius => {
            let must = "Blasius' formula holds for smooth lines up to 100000; use Colebrook's";
            Err(Unfit { what: "the Reynolds number", value: re, must }.into())
        }
    }
}

fn turbulent_domain(reynolds: Ratio, relative_roughness: Ratio) -> Result<(f64, f64), Unfit> {
    let (re, rough) = (reynolds.get::<ratio>(), relative_roughness.get::<ratio>());
    if !(LAMINAR..=1e8).contains(&re) {
        let must = "turbulent friction is computed from 2300 to 10⁸; below, flow is laminar and f = 64/Re";
        return Err(Unfit { what: "the Reynolds number", value: re, must });
    }
    if !(0.0..=0.05).contains(&rough) {
        let must = "it must lie from 0 to 0.05; check roughness and bore";
        return Err(Unfit { what: "the roughness relative to the bore", value: rough, must });
    }
    Ok((re, rough))
}

/// The pressure lost in a straight line: ΔP = f (L/D) ρ v²/2 (Darcy–Weisbach); laminar 128 μ L Q/(π D⁴).
///
/// Domain: bore, viscosity and density above zero; flow, length and roughness zero or more. Fully developed flow.
/// Source: textbook; the ends of the transitional regime are common practice.
pub fn line_loss(
    pipe: &Pipe,
    flow: VolumeRate,
    viscosity: KinematicViscosity,
    density: MassDensity,
) -> Result<LineLoss, HydraulicsError> {
    above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
    zero_or_more("the length of the line (m)", pipe.length.get::<meter>())?;
    zero_or_more("the roughness (m)", pipe.roughness.get::<meter>())?;
    let velocity = mean_velocity(flow, pipe.bore)?;
    let reynolds = reynolds(flow, pipe.bore, viscosity)?;
    if reynolds.get::<ratio>() == 0.0 {
        let none = Pressure::default();
        return Ok(LineLoss { regime: Regime::Laminar, reynolds, lowest: none, highest: none });
    }
    let friction = friction_factor(reynolds, pipe.roughness / pipe.bore)?;
    let per_factor: Pressure = pipe.length / pipe.bore * density * velocity * velocity / 2.0;
    Ok(LineLoss {
        regime: friction.regime,
        reynolds,
        lowest: per_factor * friction.lowest,
        highest: per_factor * friction.highest,
    })
}

/// The pressure lost in a fitting: ΔP = K ρ v²/2.
///
/// Domain: K and velocity zero or more, density above zero. K values are for turbulent flow; below Re of about 1000 a
/// fitting loses several times as much. Source: textbook.
pub fn minor_loss(k: Ratio, density: MassDensity, velocity: Velocity) -> Result<Pressure, HydraulicsError> {
    zero_or_more("the loss coefficient K", k.get::<ratio>())?;
    zero_or_more("the velocity (m/s)", velocity.value)?;
    above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
    Ok(k * density * velocity * velocity / 2.0)
}

/// The absolute pressure at the pump inlet: that over the oil, plus the oil above the pump, less the losses between.
///
/// Errors: the losses leave nothing: the column of oil breaks and the pump cavitates well before that. Common practice
/// keeps a suction loss below 20 to 30 kPa. Source: Bernoulli, velocities neglected.
pub fn inlet_pressure(over_oil: Pressure, head: Pressure, losses: Pressure) -> Result<Pressure, HydraulicsError> {
    above_zero("the absolute pressure over the oil (Pa)", over_oil.get::<pascal>())?;
    zero_or_more("the loss before the pump (Pa)", losses.get::<pascal>())?;
    a_number("the head above the pump (Pa)", head.get::<pascal>())?;
    let left = over_oil + head - losses;
    if left.get::<pascal>() > 0.0 {
        return Ok(left);
    }
    let must = "nothing is left to push the oil into the pump; warm the oil, slow down or use a wider suction line";
    Err(Unfit { what: "the absolute pressure at the pump inlet (Pa)", value: left.get::<pascal>(), must }.into())
}
