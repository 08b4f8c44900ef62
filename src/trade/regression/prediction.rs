//! What a fitted model says at a place, and how surely.

use twofloat::TwoFloat;

use super::{Fit, RegressionError};
use crate::trade::{
    confidence::{Confidence, Interval},
    distribution::student_quantile,
};

/// The fitted value at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prediction {
    /// In the unit of y.
    pub value: f64,
    /// Standard error of the fitted curve there.
    pub standard_error: f64,
    /// Standard deviation of one further reading about the curve, the residual one.
    pub residual_sd: f64,
    pub degrees_of_freedom: usize,
}

impl Prediction {
    /// Where the curve itself lies: value ± t·standard error.
    pub fn curve_interval(&self, confidence: Confidence) -> Result<Interval, RegressionError> {
        Ok(Interval::about(self.value, self.factor(confidence)? * self.standard_error))
    }

    /// Where one further reading will lie: value ± t·√(standard error² + residual sd²).
    pub fn reading_interval(&self, confidence: Confidence) -> Result<Interval, RegressionError> {
        let spread = self.standard_error.hypot(self.residual_sd);
        Ok(Interval::about(self.value, self.factor(confidence)? * spread))
    }

    fn factor(&self, confidence: Confidence) -> Result<f64, RegressionError> {
        Ok(student_quantile(1.0 - confidence.tail(), self.degrees_of_freedom as f64)?)
    }
}

impl Fit {
    /// The model at `at` (one value for a curve, one per column for [`super::multiple`]), inside the fitted range.
    pub fn predict(&self, at: &[f64]) -> Result<Prediction, RegressionError> {
        let outside = at.iter().zip(&self.ranges).find(|(x, (low, high))| !(low..=high).contains(x));
        match outside {
            Some((at, (low, high))) => Err(RegressionError::Outside { at: *at, low: *low, high: *high }),
            None => self.extrapolate(at),
        }
    }

    /// The model at `at` wherever that lies. The interval knows nothing of a model that stops being true outside.
    pub fn extrapolate(&self, at: &[f64]) -> Result<Prediction, RegressionError> {
        if at.len() != self.ranges.len() {
            return Err(RegressionError::Arguments { wanted: self.ranges.len(), found: at.len() });
        }
        if let Some(position) = at.iter().position(|x| !x.is_finite()) {
            return Err(RegressionError::NotFinite { position: position + 1 });
        }
        let row = self.basis.row(at);
        let along = |vector: &[TwoFloat]| {
            row.iter().zip(vector).map(|(r, v)| *r * *v).fold(TwoFloat::from(0.0), |sum, term| sum + term)
        };
        let leverage: f64 = self.inverse.iter().map(|column| f64::from(along(column)).powi(2)).sum();
        let value = f64::from(along(&self.exact));
        let standard_error = self.residual_sd * leverage.sqrt();
        if !(value.is_finite() && standard_error.is_finite()) {
            return Err(RegressionError::NotFinite { position: 1 });
        }
        Ok(Prediction {
            value,
            standard_error,
            residual_sd: self.residual_sd,
            degrees_of_freedom: self.degrees_of_freedom,
        })
    }
}
