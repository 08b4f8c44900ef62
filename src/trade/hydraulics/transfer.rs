//! The same restriction with another fluid: from test oil to reference viscosity, from hot to cold.

use super::{HydraulicsError, Restriction};
use crate::{
    quantity::si::{DynamicViscosity, MassDensity, Pressure, Ratio},
    trade::numeric::{Unfit, above_zero, rooted_squares, share, zero_or_more},
};
use uom::si::{
    dynamic_viscosity::pascal_second, mass_density::kilogram_per_cubic_meter, pressure::pascal, ratio::ratio,
};

/// The two properties that a differential pressure depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fluid {
    pub viscosity: DynamicViscosity,
    pub density: MassDensity,
}

impl Fluid {
    fn mu(&self) -> f64 {
        self.viscosity.get::<pascal_second>()
    }

    fn rho(&self) -> f64 {
        self.density.get::<kilogram_per_cubic_meter>()
    }

    /// Viscosity and density of `self` over those of `from`.
    fn over(&self, from: &Self) -> Result<(f64, f64), Unfit> {
        for fluid in [self, from] {
            above_zero("the dynamic viscosity (Pa·s)", fluid.viscosity.get::<pascal_second>())?;
            above_zero("the density (kg/m³)", fluid.density.get::<kilogram_per_cubic_meter>())?;
        }
        Ok(((self.viscosity / from.viscosity).get::<ratio>(), (self.density / from.density).get::<ratio>()))
    }
}

/// What is known of the viscous share of a differential pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Share {
    /// From a fitted sweep: [`Restriction::viscous_share`].
    Known(Ratio),
    Between(Ratio, Ratio),
    /// Nothing is known: 0.5 to 1 is taken, as common practice has it for filters in oil.
    Unknown,
}

/// A value that is known to lie between two others; they are equal when it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span<T> {
    pub lowest: T,
    pub highest: T,
}

/// A differential pressure measured with one fluid, predicted for another at the same flow:
/// ΔP₂ = ΔP₁ [s μ₂/μ₁ + (1 − s) ρ₂/ρ₁], s the viscous share with the first fluid.
///
/// Domain: pressure zero or more; share 0 to 1; nothing in the filter gives way, so a prediction above the setting of
/// the by-pass says that the by-pass will be measured. Source: derived from the viscous–inertial form.
pub fn cold_from_hot(
    hot_pressure: Pressure,
    hot: &Fluid,
    cold: &Fluid,
    viscous: Share,
) -> Result<Span<Pressure>, HydraulicsError> {
    zero_or_more("the differential pressure (Pa)", hot_pressure.get::<pascal>())?;
    let (mu, rho) = cold.over(hot)?;
    let (least, most) = match viscous {
        Share::Known(s) => (s.get::<ratio>(), s.get::<ratio>()),
        Share::Between(a, b) => (a.get::<ratio>(), b.get::<ratio>()),
        Share::Unknown => (0.5, 1.0),
    };
    let with = |s: f64| share("the viscous share", s).map(|s| hot_pressure * (s * mu + (1.0 - s) * rho));
    let (a, b) = (with(least)?, with(most)?);
    Ok(if a <= b { Span { lowest: a, highest: b } } else { Span { lowest: b, highest: a } })
}

/// The middle of [`cold_from_hot`] and its standard uncertainty, the quantities given with theirs and independent.
///
/// u² = ([s μ₂/μ₁ + (1 − s) ρ₂/ρ₁] u(ΔP₁))² + (ΔP₁ s μ₂/μ₁)² (u²(μ₁)/μ₁² + u²(μ₂)/μ₂²) + (ΔP₁ (1 − s) ρ₂/ρ₁)² (u²(ρ₁)/ρ₁² +
/// u²(ρ₂)/ρ₂²) + a²/3, s the middle share and a half the distance between the two ends: a share that is only known to lie
/// between two others is uncertain by a rectangular distribution. First order (JCGM 100:2008, 5.1.2 and 4.3.7).
pub fn cold_from_hot_uncertainty(
    hot_pressure: (Pressure, Pressure),
    hot: (&Fluid, &Fluid),
    cold: (&Fluid, &Fluid),
    viscous: Share,
) -> Result<(Pressure, Pressure), HydraulicsError> {
    let ends = cold_from_hot(hot_pressure.0, hot.0, cold.0, viscous)?;
    let p = hot_pressure.0.get::<pascal>();
    let u_p = zero_or_more("the uncertainty of the differential pressure (Pa)", hot_pressure.1.get::<pascal>())?;
    let (mu, rho) = cold.0.over(hot.0)?;
    let (u_mu, u_rho) = (relative([hot, cold], Fluid::mu)?, relative([hot, cold], Fluid::rho)?);
    let (low, high) = (ends.lowest.get::<pascal>(), ends.highest.get::<pascal>());
    let s = match viscous {
        Share::Known(s) => s.get::<ratio>(),
        Share::Between(a, b) => f64::midpoint(a.get::<ratio>(), b.get::<ratio>()),
        Share::Unknown => 0.75,
    };
    let factor = s * mu + (1.0 - s) * rho;
    let half = (high - low) / 2.0;
    let u = rooted_squares([factor * u_p, p * s * mu * u_mu, p * (1.0 - s) * rho * u_rho, half / 3_f64.sqrt()]);
    Ok((Pressure::new::<pascal>(f64::midpoint(low, high)), Pressure::new::<pascal>(u)))
}

/// Relative standard uncertainty of a property of one fluid over that of another, each fluid beside its uncertainties.
fn relative(fluids: [(&Fluid, &Fluid); 2], property: fn(&Fluid) -> f64) -> Result<f64, Unfit> {
    let [a, b] = fluids.map(|(fluid, u)| {
        Ok(zero_or_more("the uncertainty of a fluid's viscosity or density", property(u))? / property(fluid))
    });
    Ok(f64::hypot(a?, b?))
}

impl Restriction {
    /// The curve of the same part with another fluid: k₁ μ₂/μ₁, k₂ ρ₂/ρ₁, the covariance with them.
    ///
    /// Errors: a coefficient below zero, which would be stretched into nonsense. Derived from the viscous–inertial form;
    /// assumes a Newtonian fluid and a by-pass that stays shut. Scatter and degrees of freedom stay those of the readings.
    pub fn with_fluid(&self, from: &Fluid, to: &Fluid) -> Result<Self, HydraulicsError> {
        self.physical()?;
        let (mu, rho) = to.over(from)?;
        Ok(Self {
            k1: self.k1 * mu,
            k2: self.k2 * rho,
            covariance: self.covariance.map(|[v11, v12, v22]| [v11 * mu * mu, v12 * mu * rho, v22 * rho * rho]),
            ..*self
        })
    }

    /// A measured differential pressure restated for a reference fluid at the same flow, with this curve's viscous share
    /// there: a small correction for oil that was not exactly at its temperature.
    pub fn restate(&self, reading: super::Reading, from: &Fluid, to: &Fluid) -> Result<Pressure, HydraulicsError> {
        let share = self.viscous_share(reading.flow)?;
        Ok(cold_from_hot(reading.pressure, from, to, Share::Known(share))?.lowest)
    }
}
