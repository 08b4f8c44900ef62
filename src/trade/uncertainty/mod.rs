//! Measurement uncertainty after the GUM (JCGM 100:2008) and its first supplement (JCGM 101:2008).
//!
//! [`Input`]: a value with what is known of its error (type A from readings, type B from a resolution, an accuracy class, a
//! certificate). [`propagate()`]: a model of the inputs to a [`Budget`], with sensitivities by automatic differentiation
//! (`num-dual`). [`Budget::expanded`]: the interval to report. [`monte_carlo()`]: the same model without the linearisation,
//! as a check. [`conformity`]: what the uncertainty does to a decision. Values are plain numbers; one budget keeps to one
//! coherent set of units.

mod budget;
pub mod conformity;
mod coverage;
mod input;
mod monte_carlo;
mod propagate;

use thiserror::Error;

pub use budget::{Budget, Expanded, Line};
pub use coverage::{Shape, half_width};
pub use input::{DegreesOfFreedom, Input, Law, coverage_factor};
pub use monte_carlo::{Simulation, agrees, monte_carlo};
pub use num_dual::{Dual64, DualNum};
pub use propagate::{Correlations, covariance_of_results, propagate};

use super::{confidence::ConfidenceError, descriptive::DescriptiveError, distribution::DistributionError};

/// Inputs from which no uncertainty can be had.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum UncertaintyError {
    #[error("{what} must be zero or more and finite, not {found}")]
    Negative { what: &'static str, found: f64 },
    #[error("{what} must be above zero and finite, not {found}")]
    NotPositive { what: &'static str, found: f64 },
    #[error("the value of `{0}` is not a finite number")]
    Value(String),
    #[error("the model gives no finite number at these inputs")]
    Model,
    #[error("the model has no finite slope in `{0}` at these inputs")]
    Slope(String),
    #[error("a correlation must lie between -1 and 1, not at {0}")]
    Correlation(f64),
    #[error("input {0} is not one of this model's, or was correlated with itself")]
    NoSuchInput(usize),
    #[error("these correlations contradict each other")]
    Contradiction,
    #[error("only normal inputs can be drawn correlated, and `{0}` is not")]
    CorrelatedLaw(String),
    #[error("correlated inputs with few degrees of freedom have no effective number of them; state a k instead")]
    NoEffectiveFreedom,
    #[error("{what} must lie between 0 and 1, not at {found}")]
    Fraction { what: &'static str, found: f64 },
    #[error("risks are computed for test uncertainty ratios from 0.01 to 1000, not {0}")]
    RatioRange(f64),
    #[error("with a test uncertainty ratio of {0}, below 1, no reading can be accepted with a guard band")]
    Undecidable(f64),
    #[error("every contribution to the budget is zero")]
    NoContribution,
    #[error("a simulation needs at least {0} draws for this confidence")]
    TooFewDraws(usize),
    #[error(transparent)]
    Confidence(#[from] ConfidenceError),
    #[error(transparent)]
    Descriptive(#[from] DescriptiveError),
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

fn positive(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    if found > 0.0 && found.is_finite() { Ok(found) } else { Err(UncertaintyError::NotPositive { what, found }) }
}

fn not_negative(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    if found >= 0.0 && found.is_finite() { Ok(found) } else { Err(UncertaintyError::Negative { what, found }) }
}
