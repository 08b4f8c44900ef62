//! Density of the test oil against temperature, and kinematic ↔ dynamic viscosity.
//!
//! API MPMS chapter 11.1 (2004) / ASTM D1250-04 with the constants of a [`Group`] of oils; ρ in kg/m³, temperatures moved
//! from ITS-90 to the IPTS-68 the constants were fitted on:
//!
//! ```text
//! A = (δ/2) (K0/ρ60 + K1)/ρ60              δ = 0.01374979547 °F
//! B = (2 K0 + K1 ρ60)/(K0 + K1 ρ60)
//! ρ* = ρ60 {1 + [exp(A (1 + 0.8 A)) − 1]/[1 + A (1 + 1.6 A) B]}
//! α60 = (K0/ρ* + K1)/ρ*,   ΔT = t68(°F) − 60.0068749
//! CTL = exp{−α60 ΔT [1 + 0.8 α60 (ΔT + δ)]},   ρ(t) = ρ60 · CTL
//! ```
//!
//! The constants are an average over mineral oils; a synthetic or polymer-thickened fluid may expand by about 10 % more
//! or less (from memory, unverified). CTL is not rounded to five decimals, which is for custody transfer only.

use super::numeric::{Unfit, above_zero, plain, root, rooted_squares, zero_or_more};
use crate::quantity::si::{
    DynamicViscosity, KinematicViscosity, MassDensity, Pressure, Ratio, Temperature, TemperatureCoefficient,
    TemperatureInterval,
};
use uom::si::{
    diffusion_coefficient::square_meter_per_second, dynamic_viscosity::pascal_second,
    mass_density::kilogram_per_cubic_meter, pressure::pascal, ratio::ratio, temperature_coefficient::per_kelvin,
    temperature_interval::kelvin as kelvin_interval, thermodynamic_temperature::kelvin,
};

/// Why a density could not be given. Densities in kg/m³, temperatures in °C.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DensityError {
    #[error(
        "a density of {} kg/m³ lies outside this group of oils in API MPMS 11.1 ({} to {} kg/m³ at 60 °F): check the value and its unit, or measure the density at the test temperature",
        plain(*.density), plain(*.lowest), plain(*.highest)
    )]
    OutsideGroup { density: f64, lowest: f64, highest: f64 },
    #[error("{} °C lies outside -50 to 150 °C, where API MPMS 11.1 holds: measure the density there instead", plain(*.0))]
    OutsideTemperature(f64),
    #[error("a pressure of {} kPa lies outside 0 to 10342 kPa (1500 psi), where API MPMS 11.1 holds", plain(*.0))]
    OutsidePressure(f64),
    #[error(transparent)]
    Unfit(#[from] Unfit),
}

/// 60 °F ITS-90 less 60 °F IPTS-68, twice, as the standard writes it (°F).
const DELTA: f64 = 0.01374979547;
const BASE_F68: f64 = 60.0068749;
const PSI: f64 = 4.4482216152605 / (0.0254 * 0.0254);

/// The groups of oils that the standard gives constants for. Source: API MPMS 11.1 (2004), found in public code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Lubricating and hydraulic oils, 800.9 to 1163.5 kg/m³ at 60 °F.
    Lubricating,
    /// Diesel fuel, heating and fuel oils, 838.3127 to 1163.5 kg/m³.
    Fuel,
    /// Jet fuel, kerosine and solvents of their kind, 787.5195 to 838.3127 kg/m³.
    Jet,
    /// Crude oil, 610.6 to 1163.5 kg/m³.
    Crude,
}

impl Group {
    /// K0 (kg²/m⁶ per °F) and K1 (kg/m³ per °F); K2 is zero in these groups.
    fn constants(self) -> (f64, f64) {
        match self {
            Self::Lubricating => (0.0, 0.34878),
            Self::Fuel => (103.872, 0.2701),
            Self::Jet => (330.301, 0.0),
            Self::Crude => (341.0957, 0.0),
        }
    }

    /// Density at 60 °F, kg/m³.
    fn range(self) -> (f64, f64) {
        match self {
            Self::Lubricating => (800.9, 1163.5),
            Self::Fuel => (838.3127, 1163.5),
            Self::Jet => (787.5195, 838.3127),
            Self::Crude => (610.6, 1163.5),
        }
    }
}

/// An oil, known by its density at 60 °F.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oil {
    group: Group,
    rho60: f64,
    /// Where it was measured: the thermal expansion is uncertain only away from there.
    measured_celsius: f64,
}

impl Oil {
    /// The oil whose density was measured at a temperature: 60 °F, 15 °C or any other in the domain.
    ///
    /// The density at 60 °F is found by iteration. Domain: −50 to 150 °C, the group's densities at 60 °F.
    /// Source: API MPMS 11.1 (2004), ASTM D1250-04.
    pub fn measured(group: Group, density: MassDensity, at: Temperature) -> Result<Self, DensityError> {
        let rho = density.get::<kilogram_per_cubic_meter>();
        let celsius = celsius(at)?;
        let (lowest, highest) = group.range();
        let off = |rho60: f64| rho60 * ctl(group, rho60, celsius) - rho;
        // A density that is itself the end of the range may miss it by a rounding.
        let rho60 = root(off, lowest * (1.0 - 1e-12), highest * (1.0 + 1e-12)).ok_or(DensityError::OutsideGroup {
            density: rho,
            lowest,
            highest,
        })?;
        Ok(Self { group, rho60, measured_celsius: celsius })
    }

    /// The density at 60 °F.
    pub fn density_at_60_fahrenheit(&self) -> MassDensity {
        MassDensity::new::<kilogram_per_cubic_meter>(self.rho60)
    }

    /// The density at a temperature and atmospheric pressure. Domain: −50 to 150 °C. Source: API MPMS 11.1 (2004).
    pub fn density_at(&self, at: Temperature) -> Result<MassDensity, DensityError> {
        Ok(MassDensity::new::<kilogram_per_cubic_meter>(self.rho60 * ctl(self.group, self.rho60, celsius(at)?)))
    }

    /// CTL: the volume at 60 °F of a volume at a temperature, as a ratio. Source: API MPMS 11.1 (2004).
    pub fn volume_correction(&self, at: Temperature) -> Result<Ratio, DensityError> {
        Ok(Ratio::new::<ratio>(ctl(self.group, self.rho60, celsius(at)?)))
    }

    /// α60, the coefficient of thermal expansion at 60 °F. Source: API MPMS 11.1 (2004).
    pub fn expansion_at_60_fahrenheit(&self) -> TemperatureCoefficient {
        TemperatureCoefficient::new::<per_kelvin>(alpha60(self.group, self.rho60).1 * 1.8)
    }

    /// The density at a temperature under a gauge pressure: ρ(t)/(1 − F p).
    ///
    /// F = exp(−1.9947 + 0.00013427 t* + (793920 + 2326 t*)/ρ*²)·10⁻⁵ per psi, t* the temperature in °F on IPTS-68.
    /// Domain: −50 to 150 °C, 0 to 1500 psi. Source: API MPMS 11.1 (2004).
    pub fn density_under_pressure(&self, at: Temperature, gauge: Pressure) -> Result<MassDensity, DensityError> {
        let psi = gauge.get::<pascal>() / PSI;
        if !(0.0..=1500.0).contains(&psi) {
            return Err(DensityError::OutsidePressure(psi * PSI / 1e3));
        }
        Ok(self.density_at(at)? / (1.0 - self.compressibility_per_psi(celsius(at)?) * psi))
    }

    fn compressibility_per_psi(&self, celsius: f64) -> f64 {
        let t = fahrenheit_68(celsius);
        let (rho_star, _) = alpha60(self.group, self.rho60);
        1e-5 * (-1.9947 + 0.00013427 * t + (793920.0 + 2326.0 * t) / (rho_star * rho_star)).exp()
    }

    /// Standard uncertainty of the density at a temperature, from those of the measured density and of the temperature.
    ///
    /// u²/ρ² = (c u(ρ_measured)/ρ_measured)² + (d ln CTL/dt u(t))² + ((e − c e_measured) u(α)/α)², each slope taken through
    /// the whole chain: e = d ln CTL/d ln α at either temperature, and c = (1 + κ)/(1 + κ_measured) with κ = d ln CTL/d ln ρ60,
    /// because a denser oil also expands less. `expansion` is the relative standard uncertainty of the thermal expansion:
    /// about 0.02 for mineral oil, 0.1 for others (from memory). First order (JCGM 100).
    pub fn density_uncertainty(
        &self,
        at: Temperature,
        measured: MassDensity,
        temperature: TemperatureInterval,
        expansion: Ratio,
    ) -> Result<MassDensity, DensityError> {
        let (u_rho, u_t) = (measured.get::<kilogram_per_cubic_meter>(), temperature.get::<kelvin_interval>());
        let u_alpha = expansion.get::<ratio>();
        for uncertainty in [u_rho, u_t, u_alpha] {
            zero_or_more("a standard uncertainty", uncertainty)?;
        }
        let celsius = celsius(at)?;
        let (there, here) = (self.measured_celsius, celsius);
        let rho = self.rho60 * ctl(self.group, self.rho60, here);
        let measured = self.rho60 * ctl(self.group, self.rho60, there);
        let carried = (1.0 + self.by_density(here)) / (1.0 + self.by_density(there));
        let of_expansion = self.by_expansion(here) - carried * self.by_expansion(there);
        let relative =
            rooted_squares([carried * u_rho / measured, self.by_temperature(here) * u_t, of_expansion * u_alpha]);
        Ok(MassDensity::new::<kilogram_per_cubic_meter>(rho * relative))
    }

    /// d ln CTL/d ln α.
    fn by_expansion(&self, celsius: f64) -> f64 {
        let (_, alpha) = alpha60(self.group, self.rho60);
        let warmer = fahrenheit_68(celsius) - BASE_F68;
        -alpha * warmer * (1.0 + 1.6 * alpha * (warmer + DELTA))
    }

    /// d ln CTL/d ln ρ60, by central differences.
    fn by_density(&self, celsius: f64) -> f64 {
        const STEP: f64 = 1e-4;
        let at = |part: f64| ctl(self.group, self.rho60 * (1.0 + part), celsius).ln();
        (at(STEP) - at(-STEP)) / (2.0 * STEP)
    }

    /// d ln CTL/dt per kelvin, by central differences.
    fn by_temperature(&self, celsius: f64) -> f64 {
        const STEP: f64 = 1e-2;
        let at = |t: f64| ctl(self.group, self.rho60, t).ln();
        (at(celsius + STEP) - at(celsius - STEP)) / (2.0 * STEP)
    }
}

/// The simplified form of 1980 (table 54D): ρ(t) = ρ15 exp(−a Δt (1 + 0.8 a Δt)), a = 0.6278/ρ15 per °C, Δt = t − 15 °C.
///
/// Within 6·10⁻⁶ of the 2004 method from 15 to 100 °C. Domain: 800 to 1164 kg/m³ at 15 °C, −50 to 150 °C.
/// Source: ASTM D1250-80, table 54D; the constant is from memory, confirmed against the 2004 method.
pub fn density_by_table_54d(at_15: MassDensity, at: Temperature) -> Result<MassDensity, DensityError> {
    let rho = at_15.get::<kilogram_per_cubic_meter>();
    if !(800.0..=1164.0).contains(&rho) {
        return Err(DensityError::OutsideGroup { density: rho, lowest: 800.0, highest: 1164.0 });
    }
    let rise = 0.6278 / rho * (celsius(at)? - 15.0);
    Ok(at_15 * (-rise * (1.0 + 0.8 * rise)).exp())
}

/// Dynamic viscosity: μ = ρ ν, both at the same temperature. Errors: a density that is not above zero.
pub fn dynamic_viscosity(
    kinematic: KinematicViscosity,
    density: MassDensity,
) -> Result<DynamicViscosity, DensityError> {
    positive(density)?;
    zero_or_more("the kinematic viscosity (m²/s)", kinematic.get::<square_meter_per_second>())?;
    Ok(kinematic * density)
}

/// Kinematic viscosity: ν = μ/ρ, both at the same temperature. Errors: a density that is not above zero.
pub fn kinematic_viscosity(
    dynamic: DynamicViscosity,
    density: MassDensity,
) -> Result<KinematicViscosity, DensityError> {
    positive(density)?;
    zero_or_more("the dynamic viscosity (Pa·s)", dynamic.get::<pascal_second>())?;
    Ok(dynamic / density)
}

/// The density of water at 60 °F that specific gravities refer to (kg/m³). Source: API MPMS 11.1 (2004).
const WATER_AT_60_F: f64 = 999.016;

/// The density at 60 °F of an oil by its API gravity: 999.016 · 141.5/(131.5 + API).
///
/// Domain: above −131.5 degrees. Source: API MPMS 11.1 (2004).
pub fn density_from_api_gravity(degrees: f64) -> Result<MassDensity, DensityError> {
    let specific_gravity = 141.5 / (131.5 + degrees);
    if specific_gravity.is_finite() && specific_gravity > 0.0 {
        Ok(MassDensity::new::<kilogram_per_cubic_meter>(WATER_AT_60_F * specific_gravity))
    } else {
        let must = "an API gravity lies above -131.5 degrees; oils have 10 to 45";
        Err(Unfit { what: "the API gravity", value: degrees, must }.into())
    }
}

/// The API gravity of a density at 60 °F: 141.5 · 999.016/ρ − 131.5 degrees.
///
/// Errors: a density that is not above zero. Source: API MPMS 11.1 (2004).
pub fn api_gravity(at_60_fahrenheit: MassDensity) -> Result<f64, DensityError> {
    Ok(141.5 * WATER_AT_60_F / positive(at_60_fahrenheit)? - 131.5)
}

fn positive(density: MassDensity) -> Result<f64, Unfit> {
    above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())
}

fn celsius(at: Temperature) -> Result<f64, DensityError> {
    let value = at.get::<kelvin>() - 273.15;
    // The ends of the domain survive their journey through kelvin.
    if (-50.0 - 1e-9..=150.0 + 1e-9).contains(&value) {
        Ok(value)
    } else {
        Err(DensityError::OutsideTemperature(value))
    }
}

/// The temperature on the scale of 1968 (IPTS-68), which the constants were fitted on, of one on ITS-90.
///
/// Domain: −50 to 150 °C. Source: API MPMS 11.1 (2004); the shift is about 0.01 K at 40 °C.
pub fn on_ipts_68(at: Temperature) -> Result<Temperature, DensityError> {
    Ok(Temperature::new::<kelvin>((fahrenheit_68(celsius(at)?) - 32.0) / 1.8 + 273.15))
}

/// °F on IPTS-68 of °C on ITS-90. Source: API MPMS 11.1 (2004).
fn fahrenheit_68(celsius_90: f64) -> f64 {
    const SHIFT: [f64; 8] = [-0.148759, -0.267408, 1.080760, 1.269056, -4.089591, -1.871251, 7.438081, -3.536296];
    let tau = celsius_90 / 630.0;
    let shift = SHIFT.iter().rev().fold(0.0, |sum, a| (sum + a) * tau);
    1.8 * (celsius_90 - shift) + 32.0
}

/// ρ* (kg/m³) and α60 (per °F).
fn alpha60(group: Group, rho60: f64) -> (f64, f64) {
    let (k0, k1) = group.constants();
    let alpha = |rho: f64| (k0 / rho + k1) / rho;
    let a = DELTA / 2.0 * alpha(rho60);
    let b = (2.0 * k0 + k1 * rho60) / (k0 + k1 * rho60);
    let rho_star = rho60 * (1.0 + (a * (1.0 + 0.8 * a)).exp_m1() / (1.0 + a * (1.0 + 1.6 * a) * b));
    (rho_star, alpha(rho_star))
}

fn ctl(group: Group, rho60: f64, celsius: f64) -> f64 {
    let (_, alpha) = alpha60(group, rho60);
    let warmer = fahrenheit_68(celsius) - BASE_F68;
    (-alpha * warmer * (1.0 + 0.8 * alpha * (warmer + DELTA))).exp()
}
