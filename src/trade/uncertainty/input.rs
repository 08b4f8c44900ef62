//! A quantity that goes into a result, and what is known of its error.

use serde::{Deserialize, Serialize};

use super::{UncertaintyError, not_negative, positive};
use crate::trade::{
    confidence::Confidence,
    descriptive::{mean, standard_deviation},
    distribution::{normal_quantile, student_quantile},
};

/// How much is known about a standard uncertainty itself.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DegreesOfFreedom {
    Finite(f64),
    /// Taken as exactly known, as a limit from a data sheet.
    Infinite,
}

impl DegreesOfFreedom {
    /// The whole number to enter a printed t table with: the next lower one, after rounding to two decimals, because
    /// 18.9987 means 19 (JCGM 100:2008, G.4.1 and H.1.6).
    pub fn truncated(self) -> Self {
        match self {
            Self::Finite(dof) => Self::Finite((dof + 0.005).floor().max(1.0)),
            Self::Infinite => Self::Infinite,
        }
    }

    pub(super) fn reciprocal(self) -> f64 {
        match self {
            Self::Finite(dof) => dof.recip(),
            Self::Infinite => 0.0,
        }
    }
}

/// The k that makes k·u an interval of the given confidence: Student's t, the normal quantile for infinite degrees of
/// freedom. Source: JCGM 100:2008, G.3 and table G.2.
pub fn coverage_factor(confidence: Confidence, freedom: DegreesOfFreedom) -> Result<f64, UncertaintyError> {
    let p = 1.0 - confidence.tail();
    Ok(match freedom {
        DegreesOfFreedom::Finite(dof) => student_quantile(p, dof)?,
        DegreesOfFreedom::Infinite => normal_quantile(p)?,
    })
}

/// The law of an error about the value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    /// Standard uncertainty given.
    Normal { standard: f64 },
    /// Mean of readings: t-distributed with this standard uncertainty of the mean.
    Student { standard: f64, degrees_of_freedom: f64 },
    /// Anywhere within ± half-width alike; u = a/√3 (JCGM 100:2008, 4.3.7).
    Rectangular { half_width: f64 },
    /// Within ± half-width, rather in the middle; u = a/√6 (4.3.9).
    Triangular { half_width: f64 },
    /// Within ± half-width, rather at the ends, as a controlled temperature that swings; u = a/√2 (common practice).
    UShaped { half_width: f64 },
}

impl Law {
    /// u, the standard deviation the GUM works with.
    pub fn standard_uncertainty(self) -> f64 {
        match self {
            Self::Normal { standard } | Self::Student { standard, .. } => standard,
            Self::Rectangular { half_width } => half_width / 3_f64.sqrt(),
            Self::Triangular { half_width } => half_width / 6_f64.sqrt(),
            Self::UShaped { half_width } => half_width / 2_f64.sqrt(),
        }
    }
}

/// A named quantity with its value and the law of its error.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Input {
    pub source: String,
    pub value: f64,
    pub law: Law,
    pub degrees_of_freedom: DegreesOfFreedom,
}

impl Input {
    fn new(source: &str, value: f64, law: Law, degrees_of_freedom: DegreesOfFreedom) -> Result<Self, UncertaintyError> {
        if value.is_finite() {
            Ok(Self { source: source.into(), value, law, degrees_of_freedom })
        } else {
            Err(UncertaintyError::Value(source.into()))
        }
    }

    /// Type A: the mean of repeated readings, u = s/√n, n − 1 degrees of freedom (JCGM 100:2008, 4.2). Two or more.
    pub fn from_readings(source: &str, readings: &[f64]) -> Result<Self, UncertaintyError> {
        let standard = standard_deviation(readings)? / (readings.len() as f64).sqrt();
        let degrees_of_freedom = (readings.len() - 1) as f64;
        let law = Law::Student { standard, degrees_of_freedom };
        Self::new(source, mean(readings)?, law, DegreesOfFreedom::Finite(degrees_of_freedom))
    }

    /// A standard uncertainty known from elsewhere, with its degrees of freedom. u ≥ 0.
    pub fn with_standard_uncertainty(
        source: &str,
        value: f64,
        standard: f64,
        degrees_of_freedom: DegreesOfFreedom,
    ) -> Result<Self, UncertaintyError> {
        let standard = not_negative("a standard uncertainty", standard)?;
        let law = match degrees_of_freedom {
            DegreesOfFreedom::Finite(dof) => {
                Law::Student { standard, degrees_of_freedom: positive("a number of degrees of freedom", dof)? }
            }
            DegreesOfFreedom::Infinite => Law::Normal { standard },
        };
        Self::new(source, value, law, degrees_of_freedom)
    }

    /// A calibration certificate: expanded uncertainty U with its k, u = U/k (JCGM 100:2008, 4.3.3). U ≥ 0, k > 0.
    pub fn from_certificate(source: &str, value: f64, expanded: f64, k: f64) -> Result<Self, UncertaintyError> {
        let standard = not_negative("an expanded uncertainty", expanded)? / positive("a coverage factor", k)?;
        Self::with_standard_uncertainty(source, value, standard, DegreesOfFreedom::Infinite)
    }

    /// The resolution of a display: ± half a step, rectangular, u = step/√12 (JCGM 100:2008, F.2.2.1). Step ≥ 0.
    pub fn from_resolution(source: &str, value: f64, step: f64) -> Result<Self, UncertaintyError> {
        let half_width = not_negative("a resolution", step)? / 2.0;
        Self::new(source, value, Law::Rectangular { half_width }, DegreesOfFreedom::Infinite)
    }

    /// Limits ± a without further knowledge: rectangular, u = a/√3 (JCGM 100:2008, 4.3.7). a ≥ 0.
    pub fn within_limits(source: &str, value: f64, half_width: f64) -> Result<Self, UncertaintyError> {
        let half_width = not_negative("a half-width", half_width)?;
        Self::new(source, value, Law::Rectangular { half_width }, DegreesOfFreedom::Infinite)
    }

    /// An accuracy class in percent of full scale: limits ± class·span/100, rectangular (common practice).
    pub fn from_class_of_span(source: &str, value: f64, percent: f64, span: f64) -> Result<Self, UncertaintyError> {
        Self::within_limits(source, value, not_negative("an accuracy class", percent)? / 100.0 * span.abs())
    }

    /// An accuracy in percent of reading: limits ± class·|value|/100, rectangular (common practice).
    pub fn from_class_of_reading(source: &str, value: f64, percent: f64) -> Result<Self, UncertaintyError> {
        Self::within_limits(source, value, not_negative("an accuracy class", percent)? / 100.0 * value.abs())
    }

    /// Limits ± a, rather in the middle: triangular, u = a/√6. a ≥ 0.
    pub fn triangular(source: &str, value: f64, half_width: f64) -> Result<Self, UncertaintyError> {
        let half_width = not_negative("a half-width", half_width)?;
        Self::new(source, value, Law::Triangular { half_width }, DegreesOfFreedom::Infinite)
    }

    /// A swing of amplitude a about the value: U-shaped, u = a/√2. a ≥ 0.
    pub fn u_shaped(source: &str, value: f64, amplitude: f64) -> Result<Self, UncertaintyError> {
        let half_width = not_negative("an amplitude", amplitude)?;
        Self::new(source, value, Law::UShaped { half_width }, DegreesOfFreedom::Infinite)
    }

    /// A number counted, with u = √n (Poisson).
    pub fn counted(source: &str, count: u64) -> Result<Self, UncertaintyError> {
        let value = count as f64;
        Self::with_standard_uncertainty(source, value, value.sqrt(), DegreesOfFreedom::Infinite)
    }

    /// The same input with stated degrees of freedom, as when a limit is itself only roughly known (JCGM 100:2008, G.4.2).
    pub fn with_degrees_of_freedom(self, degrees_of_freedom: f64) -> Result<Self, UncertaintyError> {
        let dof = positive("a number of degrees of freedom", degrees_of_freedom)?;
        Ok(Self { degrees_of_freedom: DegreesOfFreedom::Finite(dof), ..self })
    }

    pub fn standard_uncertainty(&self) -> f64 {
        self.law.standard_uncertainty()
    }
}
