//! Test dust: from a size distribution by volume to particles, from a weighed dose to a level in the oil.
//!
//! The distribution itself is data (it belongs to a grade of ISO 12103-1 in one edition) and is handed in.

mod limits;

mod spread;

pub use limits::DistributionLimits;
pub use spread::{base_level_uncertainty, slurry_concentration_uncertainty};

use super::numeric::{Unfit, above_zero, plain, share, zero_or_more};
use crate::quantity::si::{
    DynamicViscosity, Length, Mass, MassDensity, NumberDensity, Ratio, Time, Velocity, Volume, VolumeRate,
};
use std::f64::consts::PI;
use uom::si::{
    dynamic_viscosity::pascal_second, length::meter, mass::kilogram, mass_density::kilogram_per_cubic_meter,
    ratio::ratio, time::second, velocity::meter_per_second, volume::cubic_meter, volume_rate::cubic_meter_per_second,
    volumetric_number_density::per_cubic_meter,
};

/// Why something about the dust could not be computed. Sizes in µm.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DustError {
    #[error(transparent)]
    Unfit(#[from] Unfit),
    #[error(
        "a size distribution needs at least two sizes, rising, with shares that never fall and end at 100 %: line {line} breaks this"
    )]
    NotADistribution { line: usize },
    #[error(
        "{} µm lies below the finest size of the distribution ({} µm), where nothing is known of the dust: ask for a larger size",
        plain(*.size), plain(*.finest)
    )]
    BelowDistribution { size: f64, finest: f64 },
    #[error(
        "a particle falls with a Reynolds number of {}; Stokes' law holds up to 0.5: the fluid is too thin or the particle too large for it",
        plain(*.reynolds)
    )]
    NotStokes { reynolds: f64 },
}

/// Cumulative volume share of a dust finer than each of a row of sizes; between sizes it is linear in log size.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeDistribution {
    /// Diameter in m and share finer, rising.
    finer: Vec<(f64, f64)>,
}

impl SizeDistribution {
    /// A distribution from pairs of size and volume share finer.
    ///
    /// Errors: fewer than two sizes, sizes that do not rise, shares that fall, or an end other than 100 %.
    pub fn new(finer: &[(Length, Ratio)]) -> Result<Self, DustError> {
        let finer: Vec<_> = finer.iter().map(|(size, finer)| (size.get::<meter>(), finer.get::<ratio>())).collect();
        let mut before = (0.0, 0.0);
        for (line, point) in finer.iter().enumerate() {
            above_zero("a size of the distribution (m)", point.0)?;
            let rises = point.0 > before.0 * (1.0 + 1e-9) && point.1 >= before.1 && point.1 <= 1.0 + 1e-9;
            if !rises {
                return Err(DustError::NotADistribution { line: line + 1 });
            }
            before = *point;
        }
        if finer.len() < 2 || before.1 < 1.0 - 1e-9 {
            return Err(DustError::NotADistribution { line: finer.len() });
        }
        Ok(Self { finer })
    }

    /// A distribution midway between the lowest and the highest share that a standard allows at each size, scaled so
    /// that the last is 100 %.
    pub fn midway(limits: &[(Length, Ratio, Ratio)]) -> Result<Self, DustError> {
        let middle = |(size, low, high): &(Length, Ratio, Ratio)| (*size, (*low + *high) / 2.0);
        let end = limits.last().map_or(1.0, |limit| middle(limit).1.get::<ratio>());
        let scaled: Vec<_> = limits.iter().map(middle).map(|(size, share)| (size, share / end)).collect();
        Self::new(&scaled)
    }

    /// The volume share (for one particle density also the mass share) finer than a size.
    ///
    /// Log-linear between sizes. Errors: a size below the finest one. At and above the coarsest: 1.
    pub fn finer_than(&self, size: Length) -> Result<Ratio, DustError> {
        let d = self.known(size)?;
        let at = |((a, low), (b, high)): ((f64, f64), (f64, f64))| low + (high - low) * (d / a).ln() / (b / a).ln();
        let found = self.intervals().find(|((_, _), (b, _))| d <= *b);
        Ok(Ratio::new::<ratio>(found.map_or(1.0, at)))
    }

    /// The size that a share of the volume is finer than; the median for 0.5.
    ///
    /// Errors: a share below that of the finest size.
    pub fn size_at(&self, finer: Ratio) -> Result<Length, DustError> {
        let wanted = share("the share finer", finer.get::<ratio>())?;
        let at = |((a, low), (b, high)): ((f64, f64), (f64, f64))| a * (b / a).powf((wanted - low) / (high - low));
        let rising = self.intervals().find(|((_, low), (_, high))| wanted >= *low && wanted <= *high && high > low);
        let must = "nothing is known of the dust below the finest size of its distribution";
        let size = rising.map(at).ok_or(Unfit { what: "the share finer", value: wanted, must })?;
        Ok(Length::new::<meter>(size))
    }

    /// The number of particles larger than a size in a mass of dust, taken as spheres of one density.
    ///
    /// N = (m/ρ) Σ (2/π) ΔF/ln(b/a) (a⁻³ − b⁻³) over the intervals above the size. Domain: size from the finest of the
    /// distribution; density above zero. A count by light blockage may differ by a factor: particles are no spheres, and
    /// the distribution was measured otherwise. Source: geometry.
    pub fn particles_above(&self, size: Length, mass: Mass, particle_density: MassDensity) -> Result<f64, DustError> {
        let m = zero_or_more("the mass of dust (kg)", mass.get::<kilogram>())?;
        let rho = above_zero("the particle density (kg/m³)", particle_density.get::<kilogram_per_cubic_meter>())?;
        Ok(m / rho * self.number_per_volume(self.known(size)?))
    }

    /// The number concentration of particles larger than a size at a mass of dust per volume of oil. As
    /// [`Self::particles_above`].
    pub fn concentration_above(
        &self,
        size: Length,
        level: MassDensity,
        particle_density: MassDensity,
    ) -> Result<NumberDensity, DustError> {
        let c = zero_or_more("the dust in the oil (kg/m³)", level.get::<kilogram_per_cubic_meter>())?;
        let rho = above_zero("the particle density (kg/m³)", particle_density.get::<kilogram_per_cubic_meter>())?;
        Ok(NumberDensity::new::<per_cubic_meter>(c / rho * self.number_per_volume(self.known(size)?)))
    }

    /// Particles above a diameter per volume of dust, 1/m³.
    fn number_per_volume(&self, d: f64) -> f64 {
        self.intervals().map(|((a, low), (b, high))| (high - low) * number_per_share(a, b, d)).sum()
    }

    fn known(&self, size: Length) -> Result<f64, DustError> {
        known_size(size, self.finer.first().map_or(0.0, |(size, _)| *size))
    }

    fn intervals(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> {
        self.finer.iter().copied().zip(self.finer.iter().copied().skip(1))
    }
}

/// A size of which the distribution, known from its finest size on, can say something.
fn known_size(size: Length, finest: f64) -> Result<f64, DustError> {
    let d = above_zero("the size (m)", size.get::<meter>())?;
    if d < finest * (1.0 - 1e-12) {
        return Err(DustError::BelowDistribution { size: d * 1e6, finest: finest * 1e6 });
    }
    Ok(d.max(finest))
}

/// Particles above a diameter d per volume of dust, 1/m³, when all of it lies between the sizes a and b.
fn number_per_share(a: f64, b: f64, d: f64) -> f64 {
    let from: f64 = a.max(d);
    if from < b { 2.0 / PI / (b / a).ln() * (from.powi(-3) - b.powi(-3)) } else { 0.0 }
}

/// The concentration of a slurry made of a mass of dust and a volume of oil: C = m/(V + m/ρ).
///
/// Domain: all above zero. Source: definition; the dust takes its own room.
pub fn slurry_concentration(dust: Mass, oil: Volume, particle_density: MassDensity) -> Result<MassDensity, DustError> {
    above_zero("the mass of dust (kg)", dust.get::<kilogram>())?;
    above_zero("the volume of oil (m³)", oil.get::<cubic_meter>())?;
    above_zero("the particle density (kg/m³)", particle_density.get::<kilogram_per_cubic_meter>())?;
    Ok(dust / (oil + dust / particle_density))
}

/// The base upstream level of a continuous injection: G = C_inj q_inj/Q.
///
/// Domain: all above zero. Source: mass balance; ISO 16889 and ISO 4548-12 use it (from memory).
pub fn base_level(slurry: MassDensity, injection: VolumeRate, test_flow: VolumeRate) -> Result<MassDensity, DustError> {
    Ok(positive_level(slurry)? * (positive_flow(injection)? / positive_flow(test_flow)?))
}

/// The slurry that an injection needs for a base level: C_inj = G Q/q_inj. Domain and source as [`base_level`].
pub fn feed_concentration(
    level: MassDensity,
    test_flow: VolumeRate,
    injection: VolumeRate,
) -> Result<MassDensity, DustError> {
    Ok(positive_level(level)? * (positive_flow(test_flow)? / positive_flow(injection)?))
}

/// How long a capacity lasts at a base level: T = m/(G Q), as if all dust were retained.
///
/// Domain: all above zero. Source: mass balance; ISO 16889 predicts its test so (from memory).
pub fn predicted_time(capacity: Mass, level: MassDensity, test_flow: VolumeRate) -> Result<Time, DustError> {
    above_zero("the expected capacity (kg)", capacity.get::<kilogram>())?;
    Ok(capacity / (positive_level(level)? * positive_flow(test_flow)?))
}

/// The slurry to make ready: V = k T q_inj + V_dead, with k ≥ 1 in reserve (1.2, from memory) and the volume that the
/// injector cannot give.
///
/// Domain: time zero or more, flow above zero, dead volume zero or more, k from 1. Source: ISO 16889, from memory.
pub fn slurry_volume(time: Time, injection: VolumeRate, reserve: Ratio, dead: Volume) -> Result<Volume, DustError> {
    zero_or_more("the time (s)", time.get::<second>())?;
    zero_or_more("the dead volume (m³)", dead.get::<cubic_meter>())?;
    let k = reserve.get::<ratio>();
    if !(1.0..=1000.0).contains(&k) {
        let must = "it must be 1 or more, or the slurry runs out before the test ends; 1.2 is usual";
        return Err(Unfit { what: "the reserve factor", value: k, must }.into());
    }
    Ok(positive_flow(injection)? * time * reserve + dead)
}

/// The dust in a volume of slurry: m = C V. Domain: both zero or more.
pub fn dust_in(slurry: MassDensity, volume: Volume) -> Result<Mass, DustError> {
    zero_or_more("the concentration of the slurry (kg/m³)", slurry.get::<kilogram_per_cubic_meter>())?;
    zero_or_more("the volume of slurry (m³)", volume.get::<cubic_meter>())?;
    Ok(slurry * volume)
}

/// The speed at which a sphere settles (rises, when below zero): v = (ρ_p − ρ) g d²/(18 μ).
///
/// Domain: size, densities and viscosity above zero, particle Reynolds number up to 0.5 (the law is then about 8 % high).
/// Source: Stokes (1851).
pub fn settling_velocity(
    size: Length,
    particle_density: MassDensity,
    oil_density: MassDensity,
    viscosity: DynamicViscosity,
) -> Result<Velocity, DustError> {
    let d = above_zero("the size (m)", size.get::<meter>())?;
    let particle = above_zero("the particle density (kg/m³)", particle_density.get::<kilogram_per_cubic_meter>())?;
    let oil = above_zero("the oil's density (kg/m³)", oil_density.get::<kilogram_per_cubic_meter>())?;
    let mu = above_zero("the dynamic viscosity (Pa·s)", viscosity.get::<pascal_second>())?;
    let v = (particle - oil) * 9.80665 * d * d / (18.0 * mu);
    let reynolds = v.abs() * d * oil / mu;
    if reynolds > 0.5 {
        return Err(DustError::NotStokes { reynolds });
    }
    Ok(Velocity::new::<meter_per_second>(v))
}

/// The multiple of the settling speed that a rising line should keep. Common practice, no source.
pub const CARRYING_MULTIPLE: f64 = 20.0;

/// How many times faster the oil moves than the particle settles; at least [`CARRYING_MULTIPLE`] in a rising line.
///
/// Domain: line velocity zero or more, settling above zero. Source: common practice, no source.
pub fn carrying_multiple(line: Velocity, settling: Velocity) -> Result<Ratio, DustError> {
    zero_or_more("the velocity in the line (m/s)", line.get::<meter_per_second>())?;
    above_zero("the settling velocity (m/s)", settling.get::<meter_per_second>())?;
    Ok(line / settling)
}

/// Standard uncertainty of a mass weighed by difference: u² = 2 (d²/12 + s²), d the readability of the balance and s its
/// repeatability.
///
/// Domain: readability above zero, repeatability zero or more. The balance's calibration, common to both readings, falls
/// out of a small difference. Source: JCGM 100, rectangular distribution of a digital reading.
pub fn weighing_uncertainty(readability: Mass, repeatability: Mass) -> Result<Mass, DustError> {
    let d = above_zero("the readability of the balance (kg)", readability.get::<kilogram>())?;
    let s = zero_or_more("the repeatability of the balance (kg)", repeatability.get::<kilogram>())?;
    Ok(Mass::new::<kilogram>((2.0 * (d * d / 12.0 + s * s)).sqrt()))
}

fn positive_level(level: MassDensity) -> Result<MassDensity, Unfit> {
    above_zero("the dust per volume (kg/m³)", level.get::<kilogram_per_cubic_meter>()).map(|_| level)
}

fn positive_flow(flow: VolumeRate) -> Result<VolumeRate, Unfit> {
    above_zero("the flow (m³/s)", flow.get::<cubic_meter_per_second>()).map(|_| flow)
}
