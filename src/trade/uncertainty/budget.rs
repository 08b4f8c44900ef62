//! The budget: what each source contributes to the uncertainty of a result.

use serde::{Deserialize, Serialize};

use super::{DegreesOfFreedom, UncertaintyError, coverage_factor, not_negative, positive};
use crate::trade::confidence::{Confidence, Interval};

/// One source's part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Line {
    pub source: String,
    pub value: f64,
    /// u, in the unit of the source.
    pub standard_uncertainty: f64,
    /// c = ∂y/∂x, unit of the result per unit of the source.
    pub sensitivity: f64,
    /// c·u, in the unit of the result, with the sign of c.
    pub contribution: f64,
    pub degrees_of_freedom: DegreesOfFreedom,
}

/// The result, its combined standard uncertainty and where that comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Budget {
    pub value: f64,
    /// u_c, in the unit of the result.
    pub combined: f64,
    /// By Welch and Satterthwaite; absent when correlated inputs have few degrees of freedom, for which it does not hold.
    pub effective_freedom: Option<DegreesOfFreedom>,
    pub lines: Vec<Line>,
}

/// What to report: value ± U, with the k it was made with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Expanded {
    pub value: f64,
    /// U = k·u_c.
    pub uncertainty: f64,
    pub k: f64,
}

impl Expanded {
    pub fn interval(&self) -> Interval {
        Interval::about(self.value, self.uncertainty)
    }
}

impl Budget {
    /// From lines whose contributions are independent: u_c² = Σ(c·u)² (JCGM 100:2008, 5.1.2).
    pub(super) fn independent(value: f64, lines: Vec<Line>) -> Self {
        let combined = lines.iter().fold(0.0_f64, |sum, line| sum.hypot(line.contribution));
        let effective_freedom = Some(welch_satterthwaite(&lines, combined));
        Self { value, combined, effective_freedom, lines }
    }

    /// U for a confidence: k from Student's t at the effective degrees of freedom (JCGM 100:2008, G.4).
    pub fn expanded(&self, confidence: Confidence) -> Result<Expanded, UncertaintyError> {
        let freedom = self.effective_freedom.ok_or(UncertaintyError::NoEffectiveFreedom)?;
        self.expanded_by(coverage_factor(confidence, freedom)?)
    }

    /// U for a stated k. Domain k > 0.
    pub fn expanded_by(&self, k: f64) -> Result<Expanded, UncertaintyError> {
        let k = positive("a coverage factor", k)?;
        let uncertainty = not_negative("an expanded uncertainty", k * self.combined)?;
        Ok(Expanded { value: self.value, uncertainty, k })
    }

    /// The share of a line in the variance of the result, (c·u/u_c)², in the order of the lines. With correlated inputs the
    /// shares need not add up to one. Domain: a budget that is not all zero.
    pub fn shares(&self) -> Result<Vec<f64>, UncertaintyError> {
        if self.combined == 0.0 {
            return Err(UncertaintyError::NoContribution);
        }
        Ok(self.lines.iter().map(|line| (line.contribution / self.combined).powi(2)).collect())
    }
}

/// ν_eff = u_c⁴/Σ((c·u)⁴/ν) (JCGM 100:2008, formula G.2b).
fn welch_satterthwaite(lines: &[Line], combined: f64) -> DegreesOfFreedom {
    let share = |line: &Line| (line.contribution / combined).powi(4) * line.degrees_of_freedom.reciprocal();
    let sum: f64 = lines.iter().filter(|line| line.contribution != 0.0).map(share).sum();
    if sum > 0.0 { DegreesOfFreedom::Finite(sum.recip()) } else { DegreesOfFreedom::Infinite }
}
