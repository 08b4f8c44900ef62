//! What the uncertainty of a weighed dose, a measured volume and two flows makes of slurry and level. First order
//! (JCGM 100), the quantities independent of one another; each is given with its standard uncertainty.

use super::{DustError, base_level, slurry_concentration};
use crate::{
    quantity::si::{Mass, MassDensity, Volume, VolumeRate},
    trade::numeric::{rooted_squares, zero_or_more},
};
use uom::si::{
    mass::kilogram, mass_density::kilogram_per_cubic_meter, volume::cubic_meter, volume_rate::cubic_meter_per_second,
};

const OF_DENSITY: &str = "the uncertainty of a density or a concentration (kg/m³)";

/// Standard uncertainty of [`slurry_concentration`]: with W = V + m/ρ, ∂C/∂m = V/W², ∂C/∂V = −m/W², ∂C/∂ρ = (m/(ρ W))².
pub fn slurry_concentration_uncertainty(
    dust: (Mass, Mass),
    oil: (Volume, Volume),
    particle_density: (MassDensity, MassDensity),
) -> Result<MassDensity, DustError> {
    slurry_concentration(dust.0, oil.0, particle_density.0)?;
    let (m, v) = (dust.0.get::<kilogram>(), oil.0.get::<cubic_meter>());
    let rho = particle_density.0.get::<kilogram_per_cubic_meter>();
    let u_m = zero_or_more("the uncertainty of the dust (kg)", dust.1.get::<kilogram>())?;
    let u_v = zero_or_more("the uncertainty of the oil's volume (m³)", oil.1.get::<cubic_meter>())?;
    let u_rho = zero_or_more(OF_DENSITY, particle_density.1.get::<kilogram_per_cubic_meter>())?;
    let whole = v + m / rho;
    let parts = [v / whole / whole * u_m, m / whole / whole * u_v, (m / rho / whole).powi(2) * u_rho];
    Ok(MassDensity::new::<kilogram_per_cubic_meter>(rooted_squares(parts)))
}

/// Standard uncertainty of [`base_level`]: G times the root of the summed squares of the three relative uncertainties.
pub fn base_level_uncertainty(
    slurry: (MassDensity, MassDensity),
    injection: (VolumeRate, VolumeRate),
    test_flow: (VolumeRate, VolumeRate),
) -> Result<MassDensity, DustError> {
    let level = base_level(slurry.0, injection.0, test_flow.0)?;
    let of_slurry = zero_or_more(OF_DENSITY, slurry.1.get::<kilogram_per_cubic_meter>())?;
    let of_flow = |(flow, u): (VolumeRate, VolumeRate)| {
        zero_or_more("the uncertainty of a flow (m³/s)", u.get::<cubic_meter_per_second>())
            .map(|u| u / flow.get::<cubic_meter_per_second>())
    };
    let relative = rooted_squares([
        of_slurry / slurry.0.get::<kilogram_per_cubic_meter>(),
        of_flow(injection)?,
        of_flow(test_flow)?,
    ]);
    Ok(level * relative)
}
