//! Which specimens differ, which cannot be told apart, and how many it takes to tell.
//!
//! Six models make fifteen pairs, and one pair in twenty "differs" at 95 % by chance: comparisons of several groups therefore
//! hold the error of the whole family. [`tukey_kramer`] and [`holm`] compare all pairs, [`dunnett`] all with one reference,
//! [`groups`] names the ties; [`power()`] and its inverses plan the number of specimens. All start from a one-way
//! [`super::anova::Anova`] and share its assumptions. The familiar [`least_significant_difference`] is for one pair chosen
//! beforehand.

mod pairs;
mod power;
mod reference;
mod studentized;
mod ties;

use serde::{Deserialize, Serialize};
use thiserror::Error;

pub use pairs::{holm, holm_adjusted, least_significant_difference, tukey_kramer};
pub use power::{power, smallest_difference, specimens_needed};
pub use reference::{dunnett, dunnett_probability};
pub use studentized::{range_probability, range_quantile};
pub use ties::{Ties, groups};

use super::{confidence::Interval, distribution::DistributionError};

/// Comparisons that cannot be made.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum ComparisonError {
    #[error("{what} must be above zero and finite, not {found}")]
    NotPositive { what: &'static str, found: f64 },
    #[error("a comparison needs 2 to 100 groups, not {0}")]
    Groups(usize),
    #[error("each group needs two specimens at least")]
    Specimens,
    #[error("group {0} does not exist")]
    NoSuchGroup(usize),
    #[error("p-value {position} is no probability")]
    Probability { position: usize },
    #[error("a wanted power must lie between the error probability and 1, not at {0}")]
    Power(f64),
    #[error("more than {0} specimens in each group would be needed")]
    OutOfReach(usize),
    #[error("with so few degrees of freedom the critical value lies above {0}")]
    Critical(f64),
    #[error("more than 52 groups of ties leave no letters to name them with")]
    Letters,
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// Two groups compared, in the unit of the readings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Difference {
    /// Places of the groups, counted from 0.
    pub first: usize,
    pub second: usize,
    /// Mean of the first less mean of the second.
    pub difference: f64,
    pub standard_error: f64,
    /// Simultaneous interval of the difference; absent where the method has none (Holm).
    pub interval: Option<Interval>,
    /// Adjusted for the family: the error of the whole family at which this pair would just differ.
    pub p_value: f64,
    /// Whether it differs at the stated confidence.
    pub differs: bool,
}

/// Largest number of groups; beyond it nobody compares specimens by hand.
const MOST_GROUPS: usize = 100;

fn count_of_groups(groups: usize) -> Result<usize, ComparisonError> {
    if (2..=MOST_GROUPS).contains(&groups) { Ok(groups) } else { Err(ComparisonError::Groups(groups)) }
}

fn positive(what: &'static str, found: f64) -> Result<f64, ComparisonError> {
    if found > 0.0 && found.is_finite() { Ok(found) } else { Err(ComparisonError::NotPositive { what, found }) }
}
