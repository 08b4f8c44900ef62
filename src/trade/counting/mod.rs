//! Particle counts: what was counted in what volume, and what that says of the liquid.
//!
//! A count is a whole number of particles seen and carries its own uncertainty (Poisson); a [`Concentration`] is a count
//! over a volume. Everything that changes a count on its way to a report has a function here: size classes
//! ([`spectrum`]), intervals ([`poisson`]), background and bottle blanks ([`background`]), dilution and coincidence
//! ([`sensor`]).

mod background;
mod poisson;
mod sensor;
mod spectrum;

use serde::{Deserialize, Serialize};
use thiserror::Error;

pub use background::{NetCount, subtract_background, subtract_bottle_blank};
pub use poisson::{Dispersion, dispersion, interval, lower_bound, relative_standard_uncertainty, upper_bound};
pub use sensor::{coincidence_limit, measured_from_true, true_from_measured, true_from_measured_uncertainty, undilute};
pub use spectrum::{cumulative, differential, interval_average, time_average};

use super::{
    confidence::{Confidence, Interval},
    distribution::DistributionError,
};
use crate::quantity::si::Volume;

/// Counts that cannot be, or from which the asked cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum CountingError {
    #[error("a counted volume must be above zero and finite")]
    Volume,
    #[error("a concentration of particles must be zero or more and finite, not {0}")]
    Concentration(f64),
    #[error("count {position} is not a finite number of zero or more")]
    Count { position: usize },
    #[error("cumulative counts cannot grow with size, as count {position} does")]
    Growing { position: usize },
    #[error("{needed} values are needed at least, and there are {found}")]
    TooFew { needed: usize, found: usize },
    #[error("times must grow, and time {position} does not")]
    Times { position: usize },
    #[error("there are {times} times and {values} values")]
    Lengths { times: usize, values: usize },
    #[error("no particle was counted, so there is no relative uncertainty; state an upper bound")]
    NothingCounted,
    #[error("more than 10⁹ particles in one count is beyond what this program computes")]
    TooMany,
    #[error("a dilution factor is total volume over sample volume, so 1 or more, not {0}")]
    Dilution(f64),
    #[error(
        "the diluent alone holds {diluent} and the mixture only {mixture}: what is left for the sample is below zero"
    )]
    DirtyDiluent { mixture: f64, diluent: f64 },
    #[error("a coincidence loss must lie between 0 and 1, not at {0}")]
    Loss(f64),
    #[error("the sensor never shows more than {most} per mL; a reading of {reading} per mL is no coincidence loss")]
    Saturated { reading: f64, most: f64 },
    #[error("the ratio of sample to background volume must be above zero and finite, not {0}")]
    Scale(f64),
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// Particles per volume. Built and read with the volume named, because a factor of 100 hides easily.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Concentration {
    per_millilitre: f64,
}

impl Concentration {
    /// Domain: zero or more, finite.
    pub fn per_millilitre(value: f64) -> Result<Self, CountingError> {
        if value >= 0.0 && value.is_finite() {
            Ok(Self { per_millilitre: value })
        } else {
            Err(CountingError::Concentration(value))
        }
    }

    /// Domain: zero or more, finite.
    pub fn per_100_millilitres(value: f64) -> Result<Self, CountingError> {
        Self::per_millilitre(value / 100.0)
    }

    /// The number per millilitre.
    pub fn in_millilitre(self) -> f64 {
        self.per_millilitre
    }

    /// The number per 100 millilitres.
    pub fn in_100_millilitres(self) -> f64 {
        self.per_millilitre * 100.0
    }
}

/// A number of particles counted in a volume of the sample itself (for a diluted sample: counted volume over dilution
/// factor).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counted {
    pub count: u64,
    volume: Volume,
}

impl Counted {
    /// Domain: a volume above zero; at most 10⁹ particles.
    pub fn new(count: u64, volume: Volume) -> Result<Self, CountingError> {
        if !(volume.value > 0.0 && volume.value.is_finite()) {
            return Err(CountingError::Volume);
        }
        if count > poisson::MOST { Err(CountingError::TooMany) } else { Ok(Self { count, volume }) }
    }

    pub fn volume(&self) -> Volume {
        self.volume
    }

    /// Count over volume.
    pub fn concentration(&self) -> Concentration {
        Concentration { per_millilitre: self.count as f64 / self.millilitres() }
    }

    /// Exact interval of the concentration, in particles per millilitre.
    pub fn concentration_interval(&self, confidence: Confidence) -> Result<Interval, CountingError> {
        Ok(interval(self.count, confidence)?.scaled(1.0 / self.millilitres()))
    }

    fn millilitres(&self) -> f64 {
        self.volume.value * 1e6
    }
}
