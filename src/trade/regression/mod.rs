//! Least squares: lines, polynomials and several columns, with the uncertainty of what they say.
//!
//! Model y = Xb + e with equal, independent errors. Estimates b = (XᵀX)⁻¹Xᵀy, residual standard deviation
//! s = √(Σe²/(n − p)), covariance s²(XᵀX)⁻¹, from an orthogonalisation in double-double arithmetic (see
//! [`orthogonal`]). R² = 1 − Σe²/Σ(y − ȳ)², and without a constant term 1 − Σe²/Σy² (the uncentred one: never compare
//! the two). Sources: NIST/SEMATECH e-Handbook, section 4.4; certified by the NIST linear least squares sets.
//!
//! Units: y, residuals and predictions in the unit of y; a coefficient in unit of y over unit of its column.

mod orthogonal;
mod prediction;

use thiserror::Error;
use twofloat::TwoFloat;

pub use prediction::Prediction;

use super::{
    descriptive::{exact_mean, squares_about, summable},
    distribution::DistributionError,
};

/// Readings through which no such curve can be drawn.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RegressionError {
    #[error("{coefficients} coefficients need more than {coefficients} readings, and there are {readings}")]
    TooFew { coefficients: usize, readings: usize },
    #[error("column {column} has {found} entries where y has {wanted}")]
    Lengths { column: usize, found: usize, wanted: usize },
    #[error("a model needs at least one column")]
    NoColumns,
    #[error("reading {position} is no number to compute with")]
    NotFinite { position: usize },
    #[error("column {column} says nothing that the columns before it do not say")]
    Dependent { column: usize },
    #[error("{at} lies outside the fitted range {low} to {high}; ask for an extrapolation if one is meant")]
    Outside { at: f64, low: f64, high: f64 },
    #[error("the model takes {wanted} values at a time, not {found}")]
    Arguments { wanted: usize, found: usize },
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// What stands in the columns of the model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Basis {
    /// 1, x, x², …, x^degree of one variable; without the 1 when the curve passes through the origin.
    Powers { constant: bool, degree: usize },
    /// The caller's own columns, with a leading 1 or without.
    Columns { constant: bool, count: usize },
}

/// A fitted model.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Constant first if the model has one, then in the order of powers or columns.
    pub coefficients: Vec<f64>,
    /// Standard deviations of the coefficients.
    pub standard_errors: Vec<f64>,
    /// Covariances of the coefficients.
    pub covariance: Vec<Vec<f64>>,
    /// Standard deviation of the residuals, in the unit of y.
    pub residual_sd: f64,
    /// Sum of the squared residuals.
    pub residual_squares: f64,
    /// Readings less coefficients.
    pub degrees_of_freedom: usize,
    /// Centred with a constant term, uncentred without; absent when y does not vary.
    pub r_squared: Option<f64>,
    basis: Basis,
    /// Smallest and largest fitted value of each variable.
    ranges: Vec<(f64, f64)>,
    exact: Vec<TwoFloat>,
    /// Columns of M with MMᵀ = (XᵀX)⁻¹, for standard errors of predictions.
    inverse: Vec<Vec<TwoFloat>>,
}

/// y = b₀ + b₁x.
pub fn line(x: &[f64], y: &[f64]) -> Result<Fit, RegressionError> {
    polynomial(x, y, 1)
}

/// y = b₁x.
pub fn line_through_origin(x: &[f64], y: &[f64]) -> Result<Fit, RegressionError> {
    polynomial_through_origin(x, y, 1)
}

/// y = b₀ + b₁x + … + b_k xᵏ.
pub fn polynomial(x: &[f64], y: &[f64], degree: usize) -> Result<Fit, RegressionError> {
    fit(&[x], y, Basis::Powers { constant: true, degree })
}

/// y = b₁x + … + b_k xᵏ, as differential pressure against flow: nothing flows at no pressure.
pub fn polynomial_through_origin(x: &[f64], y: &[f64], degree: usize) -> Result<Fit, RegressionError> {
    fit(&[x], y, Basis::Powers { constant: false, degree })
}

/// y = b₀ + b₁x₁ + … over the given columns.
pub fn multiple(columns: &[&[f64]], y: &[f64]) -> Result<Fit, RegressionError> {
    fit(columns, y, Basis::Columns { constant: true, count: columns.len() })
}

/// y = b₁x₁ + … over the given columns.
pub fn multiple_through_origin(columns: &[&[f64]], y: &[f64]) -> Result<Fit, RegressionError> {
    fit(columns, y, Basis::Columns { constant: false, count: columns.len() })
}

fn fit(variables: &[&[f64]], y: &[f64], basis: Basis) -> Result<Fit, RegressionError> {
    check(variables, y, basis)?;
    let design = basis.design(variables, y.len());
    let solution = orthogonal::solve(design, y)?;
    let degrees_of_freedom = y.len() - solution.coefficients.len();
    let variance = solution.residual_squares / degrees_of_freedom as f64;
    let covariance = solution.covariance(variance);
    let total = if basis.constant() { squares_about(y, exact_mean(y)) } else { squares_about(y, TwoFloat::from(0.0)) };
    let r_squared = (total > 0.0).then(|| f64::from(TwoFloat::from(1.0) - solution.residual_squares / total));
    Ok(Fit {
        coefficients: solution.coefficients.iter().map(|b| f64::from(*b)).collect(),
        standard_errors: covariance.iter().enumerate().filter_map(|(i, row)| row.get(i)).map(|v| v.sqrt()).collect(),
        covariance,
        residual_sd: f64::from(variance).max(0.0).sqrt(),
        residual_squares: f64::from(solution.residual_squares),
        degrees_of_freedom,
        r_squared,
        basis,
        ranges: variables.iter().map(|x| range(x)).collect(),
        exact: solution.coefficients,
        inverse: solution.inverse,
    })
}

impl Basis {
    fn constant(self) -> bool {
        let (Self::Powers { constant, .. } | Self::Columns { constant, .. }) = self;
        constant
    }

    /// How many coefficients the model has.
    fn size(self) -> usize {
        match self {
            Self::Powers { constant, degree } => degree + usize::from(constant),
            Self::Columns { constant, count } => count + usize::from(constant),
        }
    }

    /// The columns over all readings.
    fn design(self, variables: &[&[f64]], readings: usize) -> Vec<Vec<TwoFloat>> {
        let ones = self.constant().then(|| vec![TwoFloat::from(1.0); readings]);
        let rest: Vec<Vec<TwoFloat>> = match self {
            Self::Columns { .. } => variables.iter().map(|x| x.iter().map(|v| TwoFloat::from(*v)).collect()).collect(),
            Self::Powers { degree, .. } => {
                let x = variables.first().copied().unwrap_or_default();
                let first: Vec<TwoFloat> = x.iter().map(|v| TwoFloat::from(*v)).collect();
                let next = |power: &Vec<TwoFloat>| Some(power.iter().zip(x).map(|(p, v)| *p * *v).collect());
                std::iter::successors(Some(first), next).take(degree).collect()
            }
        };
        ones.into_iter().chain(rest).collect()
    }

    /// The columns at one place.
    fn row(self, at: &[f64]) -> Vec<TwoFloat> {
        let single: Vec<&[f64]> = at.iter().map(std::slice::from_ref).collect();
        self.design(&single, 1).into_iter().flatten().collect()
    }
}

fn check(variables: &[&[f64]], y: &[f64], basis: Basis) -> Result<(), RegressionError> {
    let wrong = variables.iter().enumerate().find(|(_, x)| x.len() != y.len());
    if let Some((column, x)) = wrong {
        return Err(RegressionError::Lengths { column: column + 1, found: x.len(), wanted: y.len() });
    }
    match basis.size() {
        0 => return Err(RegressionError::NoColumns),
        coefficients if y.len() <= coefficients => {
            return Err(RegressionError::TooFew { coefficients, readings: y.len() });
        }
        _ => {}
    }
    // Squares of columns and powers must stay within the range of f64.
    let highest = match basis {
        Basis::Powers { degree, .. } => 150.0 / degree.max(1) as f64,
        Basis::Columns { .. } => 150.0,
    };
    let limit = 10_f64.powf(highest);
    let bad = |x: &f64| x.is_nan() || x.abs() >= limit;
    let position = variables.iter().find_map(|x| x.iter().position(bad));
    match position.or_else(|| y.iter().position(|v| !summable(*v))) {
        Some(position) => Err(RegressionError::NotFinite { position: position + 1 }),
        None => Ok(()),
    }
}

fn range(x: &[f64]) -> (f64, f64) {
    x.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(*v), high.max(*v)))
}
