//! The linear algebra of least squares: modified Gram–Schmidt on the columns with y as the last one, in
//! double-double arithmetic.
//!
//! A Householder factorisation in `f64` leaves 7 digits of NIST's Filip set (condition number about 10¹⁵); with 31
//! digits to work in, the simplest stable method leaves all that the readings hold. Sources: Björck, *Numerical
//! Methods for Least Squares Problems* (1996), section 2.4; `twofloat` for the arithmetic.

use twofloat::TwoFloat;

use super::RegressionError;

/// A column whose part not explained by the columns before it is smaller than this share of it counts as dependent:
/// readings are `f64`, so less than this is rounding.
const DEPENDENT: f64 = 1e-13;

pub(super) struct Solution {
    pub(super) coefficients: Vec<TwoFloat>,
    pub(super) residual_squares: TwoFloat,
    /// Columns of R⁻¹, where X = QR.
    pub(super) inverse: Vec<Vec<TwoFloat>>,
}

impl Solution {
    /// variance·(XᵀX)⁻¹ = variance·R⁻¹R⁻ᵀ.
    pub(super) fn covariance(&self, variance: TwoFloat) -> Vec<Vec<f64>> {
        let size = self.coefficients.len();
        let entry = |column: &Vec<TwoFloat>, i: usize| column.get(i).copied().unwrap_or(ZERO);
        let product = |i, j| self.inverse.iter().map(|c| entry(c, i) * entry(c, j)).fold(ZERO, |sum, term| sum + term);
        (0..size).map(|i| (0..size).map(|j| f64::from(product(i, j) * variance)).collect()).collect()
    }
}

/// Solves min |Xb − y|² for the columns of X.
pub(super) fn solve(columns: Vec<Vec<TwoFloat>>, y: &[f64]) -> Result<Solution, RegressionError> {
    let size = columns.len();
    let norms: Vec<f64> = columns.iter().map(|column| f64::from(dot(column, column)).sqrt()).collect();
    let mut rest: Vec<TwoFloat> = y.iter().map(|v| TwoFloat::from(*v)).collect();
    let (mut rows, mut projected) = (Vec::with_capacity(size), Vec::with_capacity(size));
    let mut waiting = std::collections::VecDeque::from(columns);
    for (position, norm) in norms.iter().enumerate() {
        let Some(mut direction) = waiting.pop_front() else { break };
        let length = dot(&direction, &direction).sqrt();
        if !(f64::from(length) > DEPENDENT * norm) {
            return Err(RegressionError::Dependent { column: position + 1 });
        }
        direction.iter_mut().for_each(|v| *v = *v / length);
        let mut row = vec![length];
        row.extend(waiting.iter_mut().map(|column| take_out(&direction, column)));
        rows.push(row);
        projected.push(take_out(&direction, &mut rest));
    }
    let unit = |j: usize| (0..size).map(|i| if i == j { TwoFloat::from(1.0) } else { ZERO }).collect::<Vec<_>>();
    Ok(Solution {
        coefficients: back_substitute(&rows, &projected),
        residual_squares: dot(&rest, &rest),
        inverse: (0..size).map(|j| back_substitute(&rows, &unit(j))).collect(),
    })
}

/// Solves Rb = right for the upper triangle given by rows, each starting at its diagonal.
fn back_substitute(rows: &[Vec<TwoFloat>], right: &[TwoFloat]) -> Vec<TwoFloat> {
    let mut solved = std::collections::VecDeque::new();
    for (row, value) in rows.iter().zip(right).rev() {
        if let Some((diagonal, beyond)) = row.split_first() {
            let known = beyond.iter().zip(&solved).map(|(r, b)| *r * *b).fold(ZERO, |sum, term| sum + term);
            solved.push_front((*value - known) / *diagonal);
        }
    }
    solved.into()
}

/// Removes from `column` its part along the unit vector `direction`, and says how long that part was.
fn take_out(direction: &[TwoFloat], column: &mut [TwoFloat]) -> TwoFloat {
    let part = dot(direction, column);
    column.iter_mut().zip(direction).for_each(|(v, d)| *v = *v - part * *d);
    part
}

fn dot(a: &[TwoFloat], b: &[TwoFloat]) -> TwoFloat {
    a.iter().zip(b).map(|(a, b)| *a * *b).fold(ZERO, |sum, term| sum + term)
}

const ZERO: TwoFloat = TwoFloat::from_f64(0.0);
