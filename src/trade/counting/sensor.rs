//! Between the liquid and the number shown: dilution, and particles that pass the sensor together.

use super::{Concentration, CountingError};
use crate::quantity::si::Volume;

/// Concentration of a sample that was diluted: N = (N_m − N_d)D + N_d, D being total volume over sample volume and N_d
/// the diluent's own particles.
///
/// Domain: D ≥ 1; N_m no less than the diluent's share N_d(1 − 1/D). Source: balance of particles.
pub fn undilute(mixture: Concentration, factor: f64, diluent: Concentration) -> Result<Concentration, CountingError> {
    if !(factor >= 1.0 && factor.is_finite()) {
        return Err(CountingError::Dilution(factor));
    }
    let (mixture, diluent) = (mixture.in_millilitre(), diluent.in_millilitre());
    let sample = (mixture - diluent) * factor + diluent;
    if sample < 0.0 {
        return Err(CountingError::DirtyDiluent { mixture, diluent });
    }
    Concentration::per_millilitre(sample)
}

/// What a sensor shows of a true concentration: N_m = N·exp(−Nv), v being its sensing volume.
///
/// Particles that arrive together are seen as one. Domain v > 0. Source: Poisson arrivals in the sensing volume; the
/// relation behind the coincidence limit of ISO 11171 (formula from memory).
pub fn measured_from_true(
    true_concentration: Concentration,
    sensing_volume: Volume,
) -> Result<Concentration, CountingError> {
    let n = true_concentration.in_millilitre();
    Concentration::per_millilitre(n * (-n * millilitres(sensing_volume)?).exp())
}

/// The inverse of [`measured_from_true`] below the sensor's maximum: N = −W₀(−N_m v)/v with Lambert's W.
///
/// Domain: N_m ≤ 1/(e·v), beyond which no concentration gives the reading. The upper branch (so much dust that the sensor
/// shows little) is never returned: whoever fears it dilutes and counts again.
pub fn true_from_measured(measured: Concentration, sensing_volume: Volume) -> Result<Concentration, CountingError> {
    let volume = millilitres(sensing_volume)?;
    let reading = measured.in_millilitre();
    let most = 1.0 / (std::f64::consts::E * volume);
    if reading > most {
        return Err(CountingError::Saturated { reading, most });
    }
    let passing = -lambert_w::lambert_w0(-reading * volume);
    // At the very top of the branch rounding may take the argument past −1/e.
    let passing = if passing.is_finite() { passing.max(0.0) } else { 1.0 };
    Concentration::per_millilitre(passing / volume)
}

/// Standard uncertainty of [`true_from_measured`], from those of the reading and of the sensing volume, per mL:
/// u(N) = N/(1 − N v) √(u²(N_m)/N_m² + (N u(v))²).
///
/// First order (JCGM 100). Errors as [`true_from_measured`]; at the sensor's maximum (N v = 1) the reading no longer moves
/// with the concentration and nothing can be said.
pub fn true_from_measured_uncertainty(
    measured: (Concentration, Concentration),
    sensing_volume: (Volume, Volume),
) -> Result<Concentration, CountingError> {
    let n = true_from_measured(measured.0, sensing_volume.0)?.in_millilitre();
    let volume = millilitres(sensing_volume.0)?;
    let u_volume = sensing_volume.1.value * 1e6;
    if !(u_volume >= 0.0 && u_volume.is_finite()) {
        return Err(CountingError::Volume);
    }
    // N/N_m is e^(N v), also where both are zero.
    let of_reading = (n * volume).exp() * measured.1.in_millilitre();
    let u = of_reading.hypot(n * n * u_volume) / (1.0 - n * volume);
    Concentration::per_millilitre(u)
}

/// The true concentration at which a sensor loses the given share: N = −ln(1 − loss)/v.
///
/// Domain 0 < loss < 1, v > 0. Source as [`measured_from_true`].
pub fn coincidence_limit(loss: f64, sensing_volume: Volume) -> Result<Concentration, CountingError> {
    if loss > 0.0 && loss < 1.0 {
        Concentration::per_millilitre(-(-loss).ln_1p() / millilitres(sensing_volume)?)
    } else {
        Err(CountingError::Loss(loss))
    }
}

fn millilitres(volume: Volume) -> Result<f64, CountingError> {
    let value = volume.value * 1e6;
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(CountingError::Volume) }
}
