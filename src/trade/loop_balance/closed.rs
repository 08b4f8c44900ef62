//! One specimen in a loop at constant flow: V dC/dt = feed − E Q C.

use super::LoopError;
use crate::{
    quantity::si::{Frequency, Mass, MassDensity, NumberDensity, Ratio, Time, Volume, VolumeRate},
    trade::numeric::{Unfit, above_zero, rooted_squares, share, zero_or_more},
};
use std::f64::consts::LN_2;
use uom::si::{
    frequency::hertz, mass::kilogram, mass_density::kilogram_per_cubic_meter, ratio::ratio, time::second,
    volume::cubic_meter, volume_rate::cubic_meter_per_second, volumetric_number_density::per_cubic_meter,
};

/// A loop for one size class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loop {
    volume: Volume,
    flow: VolumeRate,
    efficiency: f64,
}

/// Where a continuous injection enters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entry {
    /// Into the tank: the challenge builds up from nothing.
    Tank,
    /// Right before the filter: the challenge starts at the base level.
    FilterInlet,
}

impl Loop {
    /// A loop of a volume, a flow through the specimen, and its single-pass efficiency for the class.
    ///
    /// Domain: volume and flow above zero, efficiency above zero and up to 1.
    pub fn new(volume: Volume, flow: VolumeRate, efficiency: Ratio) -> Result<Self, LoopError> {
        above_zero("the volume in circulation (m³)", volume.get::<cubic_meter>())?;
        above_zero("the flow through the filter (m³/s)", flow.get::<cubic_meter_per_second>())?;
        let e = share("the efficiency", efficiency.get::<ratio>())?;
        if e == 0.0 {
            let must = "a filter that removes nothing never clears the loop; use the general balance";
            return Err(Unfit { what: "the efficiency", value: e, must }.into());
        }
        Ok(Self { volume, flow, efficiency: e })
    }

    /// The time to pump the volume once: V/Q.
    pub fn turnover_time(&self) -> Time {
        self.volume / self.flow
    }

    /// τ = V/(Q E): the time in which a batch falls to 37 %.
    pub fn time_constant(&self) -> Time {
        self.turnover_time() / self.efficiency
    }

    /// Standard uncertainty of [`Self::time_constant`]: τ √(u²(V)/V² + u²(Q)/Q² + u²(E)/E²).
    ///
    /// Half-life and [`Self::time_to_clean`] are multiples of τ and share its relative uncertainty. First order
    /// (JCGM 100), the three independent.
    pub fn time_constant_uncertainty(
        &self,
        volume: Volume,
        flow: VolumeRate,
        efficiency: Ratio,
    ) -> Result<Time, LoopError> {
        let u_v = zero_or_more("the uncertainty of the volume (m³)", volume.get::<cubic_meter>())?;
        let u_q = zero_or_more("the uncertainty of the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
        let u_e = zero_or_more("the uncertainty of the efficiency", efficiency.get::<ratio>())?;
        let (v, q) = (self.volume.get::<cubic_meter>(), self.flow.get::<cubic_meter_per_second>());
        Ok(self.time_constant() * rooted_squares([u_v / v, u_q / q, u_e / self.efficiency]))
    }

    /// The time in which a batch falls to half: τ ln 2.
    pub fn half_life(&self) -> Time {
        self.time_constant() * LN_2
    }

    /// How often the volume was pumped in a time: t Q/V.
    pub fn turnovers(&self, time: Time) -> Result<Ratio, LoopError> {
        Ok(elapsed(time)? / self.turnover_time())
    }

    /// What is left of a batch after a time, such as of the challenge when a sample is taken: exp(−t/τ).
    pub fn remaining(&self, time: Time) -> Result<Ratio, LoopError> {
        Ok(Ratio::new::<ratio>((-self.in_time_constants(time)?).exp()))
    }

    /// Standard uncertainty of [`Self::remaining`]: |t/τ| exp(−t/τ) times the relative standard uncertainty of τ, which is
    /// the root of the summed squares of those of V, Q and E. First order (JCGM 100).
    pub fn remaining_uncertainty(&self, time: Time, relative_of_tau: Ratio) -> Result<Ratio, LoopError> {
        let u = zero_or_more("the relative uncertainty of the time constant", relative_of_tau.get::<ratio>())?;
        let x = self.in_time_constants(time)?;
        Ok(Ratio::new::<ratio>(x * (-x).exp() * u))
    }

    /// The level after a batch that was mixed into the volume at time zero: (m/V) exp(−t/τ).
    pub fn after_batch(&self, batch: Mass, time: Time) -> Result<MassDensity, LoopError> {
        zero_or_more("the batch (kg)", batch.get::<kilogram>())?;
        Ok(batch / self.volume * self.remaining(time)?)
    }

    /// The challenge at the filter under a continuous injection that alone would make the base level G:
    /// into the tank (G/E) (1 − e^(−t/τ)), at the filter inlet G + G ((1 − E)/E) (1 − e^(−t/τ)).
    ///
    /// Both end at G/E: what the filter lets through comes back. Assumes that the injected volume is taken out again.
    /// Domain: level and time zero or more. Source: mass balance.
    pub fn under_injection(&self, entry: Entry, level: MassDensity, time: Time) -> Result<MassDensity, LoopError> {
        zero_or_more("the base level (kg/m³)", level.get::<kilogram_per_cubic_meter>())?;
        let e = self.efficiency;
        let built_up = -(-self.in_time_constants(time)?).exp_m1();
        Ok(match entry {
            Entry::Tank => level * (built_up / e),
            Entry::FilterInlet => level * (1.0 + (1.0 - e) / e * built_up),
        })
    }

    /// What a challenge leaves downstream: C (1 − E).
    pub fn downstream(&self, challenge: MassDensity) -> MassDensity {
        challenge * (1.0 - self.efficiency)
    }

    /// The number concentration after a time with particles entering at a constant rate R:
    /// C∞ + (C₀ − C∞) exp(−t/τ), C∞ = R/(E Q).
    ///
    /// Domain: all zero or more. Source: mass balance.
    pub fn with_ingression(
        &self,
        start: NumberDensity,
        rate: Frequency,
        time: Time,
    ) -> Result<NumberDensity, LoopError> {
        zero_or_more("the concentration at the start (1/m³)", start.get::<per_cubic_meter>())?;
        let floor = self.floor(rate)?;
        let above: NumberDensity = ((start - floor) * self.remaining(time)?).into();
        Ok(floor + above)
    }

    /// The number concentration that ingression holds the loop at: R/(E Q).
    pub fn floor(&self, rate: Frequency) -> Result<NumberDensity, LoopError> {
        zero_or_more("the rate of ingression (1/s)", rate.get::<hertz>())?;
        Ok((rate / (self.flow * self.efficiency)).into())
    }

    /// The time until a share of what was there remains: τ ln(1/share).
    ///
    /// Domain: share above zero and up to 1. Without ingression; the blank sets a floor that this does not know.
    /// Source: mass balance.
    pub fn time_to_clean(&self, remaining: Ratio) -> Result<Time, LoopError> {
        Ok(self.time_constant() * ln_of_share(remaining)?)
    }

    /// The turnovers until a share of what was there remains: ln(1/share)/E. As [`Self::time_to_clean`].
    pub fn turnovers_to_clean(&self, remaining: Ratio) -> Result<Ratio, LoopError> {
        Ok(Ratio::new::<ratio>(ln_of_share(remaining)? / self.efficiency))
    }

    /// The time to fall from one concentration to another against ingression: τ ln[(C₀ − C∞)/(C − C∞)].
    ///
    /// Errors: the target is at or below what ingression holds, or above the start. Source: mass balance.
    pub fn time_to_clean_with_ingression(
        &self,
        start: NumberDensity,
        target: NumberDensity,
        rate: Frequency,
    ) -> Result<Time, LoopError> {
        let floor = self.floor(rate)?;
        zero_or_more("the concentration at the start (1/m³)", start.get::<per_cubic_meter>())?;
        if floor < target && target <= start {
            // The quotient of the two may lie below every number there is; the difference of their logarithms does not.
            let above_floor = |level: NumberDensity| (level - floor).get::<per_cubic_meter>().ln();
            return Ok(self.time_constant() * (above_floor(start) - above_floor(target)));
        }
        let must = "it must lie above what ingression holds the loop at and below the start; stop the ingression first";
        Err(Unfit { what: "the target concentration (1/m³)", value: target.get::<per_cubic_meter>(), must }.into())
    }

    fn in_time_constants(&self, time: Time) -> Result<f64, Unfit> {
        Ok((elapsed(time)? / self.time_constant()).get::<ratio>())
    }
}

fn elapsed(time: Time) -> Result<Time, Unfit> {
    zero_or_more("the time (s)", time.get::<second>()).map(|_| time)
}

fn ln_of_share(remaining: Ratio) -> Result<f64, Unfit> {
    let share = remaining.get::<ratio>();
    if share > 0.0 && share <= 1.0 {
        Ok(-share.ln())
    } else {
        let must = "it must lie above 0 and up to 1; nothing ever clears to zero";
        Err(Unfit { what: "the share that may remain", value: share, must })
    }
}

/// When oil that enters a line comes out of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delay {
    /// The first of it: at the mean time in turbulent flow, at half of it in laminar flow, where the middle of the line
    /// moves twice as fast as the mean.
    pub first: Time,
    /// The mean: V/Q.
    pub mean: Time,
}

/// The delay of a line of a volume at a flow. Domain: both above zero. Source: definition; Hagen–Poiseuille's profile.
pub fn line_delay(volume: Volume, flow: VolumeRate, laminar: bool) -> Result<Delay, LoopError> {
    above_zero("the volume of the line (m³)", volume.get::<cubic_meter>())?;
    above_zero("the flow in the line (m³/s)", flow.get::<cubic_meter_per_second>())?;
    let mean = volume / flow;
    Ok(Delay { first: if laminar { mean / 2.0 } else { mean }, mean })
}
