//! Viscosity of the test fluid: its course with temperature, and the scales the trade writes it in.
//!
//! | file | relation | source |
//! | --- | --- | --- |
//! | `walther` | the double logarithm of kinematic viscosity | ASTM D341 |
//! | `curve` | viscosity against temperature, both ways, with its uncertainty | ASTM D341 |
//! | `window` | what a window of viscosity means in degrees | derived from the curve |
//! | `index` | viscosity index | ASTM D2270, ISO 2909 |
//! | `saybolt` | Saybolt Universal Seconds | ASTM D2161 |
//! | `grade` | viscosity classes and engine-oil grades | ISO 3448, SAE J300 |
//! | `blend` | viscosity of a mixture | double-log rule, ASTM D7152 |

mod walther;

mod curve;

mod window;

mod index;

mod saybolt;

mod grade;

mod blend;

pub use blend::{blend, blend_uncertainty, share_of_thinner, share_of_thinner_uncertainty};
pub use curve::{Curve, Point, Reach, Reached};
pub use grade::{
    Edition, EngineGrade, IsoClass, IsoGrade, Mark, engine_grades, engine_oil_grades, iso_class, iso_grades,
};
pub use index::{viscosity_at_40_from_index, viscosity_index, viscosity_index_uncertainty};
pub use saybolt::{
    saybolt_universal, saybolt_universal_uncertainty, viscosity_from_saybolt, viscosity_from_saybolt_uncertainty,
};
pub use walther::{Terms, short_form_inverse, transform, transform_inverse};
pub use window::Window;

use super::numeric::{Unfit, plain};
use crate::quantity::si::{KinematicViscosity, Temperature, TemperatureInterval};
use uom::si::{
    diffusion_coefficient::square_meter_per_second, temperature_interval::kelvin as kelvin_interval,
    thermodynamic_temperature::kelvin,
};

/// Why a viscosity could not be given. Viscosities in mm²/s, temperatures in °C.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ViscosityError {
    #[error(
        "{} mm²/s lies outside {} to {} mm²/s, where the ASTM D341 relation holds: give a viscosity inside it",
        plain(*.value), plain(*.lowest), plain(*.highest)
    )]
    OutsideRelation { value: f64, lowest: f64, highest: f64 },
    #[error(
        "at {} °C the curve leaves {} to 20000000 mm²/s, where the ASTM D341 relation holds: ask for a temperature nearer to the measured points",
        plain(*.celsius), plain(*.lowest)
    )]
    CurveLeavesRelation { celsius: f64, lowest: f64 },
    #[error("{} °C is not a temperature a fluid can have: check the value and its unit", plain(*.celsius))]
    NoTemperature { celsius: f64 },
    #[error("{given} measured viscosities do not fix a curve: give at least two, at different temperatures")]
    TooFewPoints { given: usize },
    #[error("the viscosity does not fall as the temperature rises: check whether two points were swapped")]
    NotFalling,
    #[error(transparent)]
    Unfit(#[from] Unfit),
}

const MM2_PER_S: f64 = 1e-6;
const ICE_POINT: f64 = 273.15;
/// No test fluid is a liquid outside, K.
const LIQUID: std::ops::RangeInclusive<f64> = 50.0..=2000.0;

/// In mm²/s.
fn mm2(viscosity: KinematicViscosity) -> f64 {
    viscosity.get::<square_meter_per_second>() / MM2_PER_S
}

fn from_mm2(value: f64) -> KinematicViscosity {
    KinematicViscosity::new::<square_meter_per_second>(value * MM2_PER_S)
}

fn temperature(value: f64) -> Temperature {
    Temperature::new::<kelvin>(value)
}

fn interval(value: f64) -> TemperatureInterval {
    TemperatureInterval::new::<kelvin_interval>(value)
}

/// In kelvin, once it is a temperature that a fluid can have.
fn kelvins(temperature: Temperature) -> Result<f64, ViscosityError> {
    let value = temperature.get::<kelvin>();
    if LIQUID.contains(&value) { Ok(value) } else { Err(ViscosityError::NoTemperature { celsius: value - ICE_POINT }) }
}
