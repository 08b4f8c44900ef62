//! Removal efficiency from samples of one point while the loop clears: ln N falls in a straight line, E = rate · V/Q.

use super::LoopError;
use crate::{
    quantity::si::{Frequency, NumberDensity, Ratio, Time, Volume, VolumeRate},
    trade::numeric::{above_zero, zero_or_more},
};
use uom::si::{
    frequency::hertz, ratio::ratio, time::second, volume::cubic_meter, volume_rate::cubic_meter_per_second,
    volumetric_number_density::per_cubic_meter,
};

/// A fitted decay of counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decay {
    /// 1/τ.
    pub rate: Frequency,
    pub rate_uncertainty: Frequency,
    /// The concentration at time zero on the line.
    pub start: NumberDensity,
    /// Standard deviation of ln N about the line.
    pub scatter: f64,
    pub degrees_of_freedom: usize,
}

/// The least-squares line of ln N against time, equal weights, and the standard uncertainty of its slope.
///
/// Take the background off first, and leave out samples in which few particles were counted. Errors: fewer than three
/// samples, a count that is not above zero, counts that do not fall. Source: least squares.
pub fn fit_decay(samples: &[(Time, NumberDensity)]) -> Result<Decay, LoopError> {
    let mut points = Vec::with_capacity(samples.len());
    for (time, count) in samples {
        let t = zero_or_more("the time of a sample (s)", time.get::<second>())?;
        points.push((t, above_zero("a concentration (1/m³)", count.get::<per_cubic_meter>())?.ln()));
    }
    let n = points.len() as f64;
    let (t_mean, y_mean) = points.iter().fold((0.0, 0.0), |(t, y), point| (t + point.0 / n, y + point.1 / n));
    let stt: f64 = points.iter().map(|(t, _)| (t - t_mean).powi(2)).sum();
    let sty: f64 = points.iter().map(|(t, y)| (t - t_mean) * (y - y_mean)).sum();
    if points.len() < 3 || stt == 0.0 {
        return Err(LoopError::TooFewSamples { given: points.len() });
    }
    let slope = sty / stt;
    if slope >= 0.0 {
        return Err(LoopError::NotFalling);
    }
    let residuals: f64 = points.iter().map(|(t, y)| (y - y_mean - slope * (t - t_mean)).powi(2)).sum();
    let degrees_of_freedom = points.len() - 2;
    let scatter = (residuals / degrees_of_freedom as f64).sqrt();
    Ok(Decay {
        rate: Frequency::new::<hertz>(-slope),
        rate_uncertainty: Frequency::new::<hertz>(scatter / stt.sqrt()),
        start: NumberDensity::new::<per_cubic_meter>((y_mean - slope * t_mean).exp()),
        scatter,
        degrees_of_freedom,
    })
}

impl Decay {
    /// The single-pass efficiency that this rate means in a loop: E = rate · V/Q, with its standard uncertainty from those
    /// of the rate and (relative, together) of V/Q. First order (JCGM 100).
    ///
    /// An efficiency above 1 is returned as it comes out: it says that volume, flow or mixing are not what was thought.
    pub fn efficiency(
        &self,
        volume: Volume,
        flow: VolumeRate,
        relative_of_turnover: Ratio,
    ) -> Result<(Ratio, Ratio), LoopError> {
        let v = above_zero("the volume in circulation (m³)", volume.get::<cubic_meter>())?;
        let q = above_zero("the flow through the filter (m³/s)", flow.get::<cubic_meter_per_second>())?;
        let u = zero_or_more("the relative uncertainty of the turnover time", relative_of_turnover.get::<ratio>())?;
        let e = self.rate.get::<hertz>() * v / q;
        let of_rate = self.rate_uncertainty.get::<hertz>() * v / q;
        Ok((Ratio::new::<ratio>(e), Ratio::new::<ratio>(of_rate.hypot(e * u))))
    }
}
