//! Saybolt Universal Seconds, the scale of older American oil specifications.
//!
//! ASTM D2161, ν in mm²/s, t in °F:
//!
//! ```text
//! SUS = [1 + 0.000061 (t − 100)] [4.6324 ν + (1 + 0.03264 ν)/((3930.2 + 262.7 ν + 23.97 ν² + 1.646 ν³)·10⁻⁵)]
//! ```
//!
//! Handbook tables with the older slope ν = 0.22 SUS differ from it by 2 % (500 s) to 6 % (35 s).

use super::{ICE_POINT, ViscosityError, from_mm2, kelvins, mm2};
use crate::{
    quantity::si::{KinematicViscosity, Temperature, Time},
    trade::numeric::{Unfit, root, zero_or_more},
};
use uom::si::time::second;

const LOWEST: f64 = 1.77;
const HIGHEST: f64 = 2e7;

/// The efflux time of a fluid in the Saybolt Universal viscometer (SUS) at a temperature.
///
/// Domain: 1.77 mm²/s and more, 0 to 350 °F. The standard's own tables run from 1.81 mm²/s at 100 °F and from 1.77 mm²/s
/// at 210 °F, and it gives the whole range of temperature above 75 mm²/s. Source: ASTM D2161.
pub fn saybolt_universal(viscosity: KinematicViscosity, at: Temperature) -> Result<Time, ViscosityError> {
    let value = mm2(viscosity);
    if !(LOWEST * (1.0 - 1e-12)..=HIGHEST).contains(&value) {
        return Err(ViscosityError::OutsideRelation { value, lowest: LOWEST, highest: HIGHEST });
    }
    Ok(Time::new::<second>(thermal(at)? * seconds_at_100(value)))
}

/// The kinematic viscosity of a fluid with a Saybolt Universal time at a temperature, by iteration.
///
/// Errors: a time below that of 1.77 mm²/s (about 31.8 s at 100 °F), where the scale ends. Source: ASTM D2161.
pub fn viscosity_from_saybolt(efflux: Time, at: Temperature) -> Result<KinematicViscosity, ViscosityError> {
    let seconds = efflux.get::<second>();
    let basic = seconds / thermal(at)?;
    if !(basic >= seconds_at_100(LOWEST) && basic <= seconds_at_100(HIGHEST)) {
        let must = "the Saybolt Universal scale starts at 1.77 mm²/s, about 31.8 s at 100 °F";
        return Err(Unfit { what: "the Saybolt Universal time (s)", value: seconds, must }.into());
    }
    let (low, high) = (LOWEST.max((basic - 50.0) / 4.6324), (basic / 4.6324).max(LOWEST));
    let found = root(|nu| seconds_at_100(nu) - basic, low, high);
    found.map(from_mm2).ok_or(ViscosityError::OutsideRelation { value: basic, lowest: LOWEST, highest: HIGHEST })
}

/// Standard uncertainty of [`saybolt_universal`]: u(ν) times the slope of the scale there. The temperature moves it by
/// 0.01 % per kelvin and is left out. First order (JCGM 100).
pub fn saybolt_universal_uncertainty(
    viscosity: (KinematicViscosity, KinematicViscosity),
    at: Temperature,
) -> Result<Time, ViscosityError> {
    saybolt_universal(viscosity.0, at)?;
    let u = zero_or_more("the uncertainty of the viscosity (mm²/s)", mm2(viscosity.1))?;
    Ok(Time::new::<second>(thermal(at)? * slope_at_100(mm2(viscosity.0)) * u))
}

/// Standard uncertainty of [`viscosity_from_saybolt`]: u(SUS) over the slope of the scale there. As
/// [`saybolt_universal_uncertainty`] (JCGM 100).
pub fn viscosity_from_saybolt_uncertainty(
    efflux: (Time, Time),
    at: Temperature,
) -> Result<KinematicViscosity, ViscosityError> {
    let nu = mm2(viscosity_from_saybolt(efflux.0, at)?);
    let u = zero_or_more("the uncertainty of the Saybolt Universal time (s)", efflux.1.get::<second>())?;
    Ok(from_mm2(u / (thermal(at)? * slope_at_100(nu))))
}

/// d SUS/dν of [`seconds_at_100`].
fn slope_at_100(nu: f64) -> f64 {
    let above = 1.0 + 0.03264 * nu;
    let below = (3930.2 + 262.7 * nu + 23.97 * nu * nu + 1.646 * nu * nu * nu) * 1e-5;
    let fall = (262.7 + 2.0 * 23.97 * nu + 3.0 * 1.646 * nu * nu) * 1e-5;
    4.6324 + (0.03264 - above * fall / below) / below
}

fn seconds_at_100(nu: f64) -> f64 {
    let (square, cube) = (nu * nu, nu * nu * nu);
    4.6324 * nu + (1.0 + 0.03264 * nu) / ((3930.2 + 262.7 * nu + 23.97 * square + 1.646 * cube) * 1e-5)
}

fn thermal(at: Temperature) -> Result<f64, ViscosityError> {
    let fahrenheit = (kelvins(at)? - ICE_POINT) * 1.8 + 32.0;
    if (-1e-9..=350.0 + 1e-9).contains(&fahrenheit) {
        Ok(1.0 + 0.000061 * (fahrenheit - 100.0))
    } else {
        let must = "Saybolt times are converted from 0 to 350 °F (-17.8 to 176.7 °C)";
        Err(Unfit { what: "the temperature (°F)", value: fahrenheit, must }.into())
    }
}
