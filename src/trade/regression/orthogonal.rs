//! The linear algebra of least squares: modified Gram–Schmidt on the columns with y as the last one, without square
//! roots, in double-double arithmetic.
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
    /// Columns of a matrix M with MMᵀ = (XᵀX)⁻¹.
    pub(super) inverse: Vec<Vec<TwoFloat>>,
}

impl Solution {
    /// variance·(XᵀX)⁻¹.
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
    let mut lengths = Vec::with_capacity(size);
    for (position, norm) in norms.iter().enumerate() {
        let Some(direction) = waiting.pop_front() else { break };
        let square = dot(&direction, &direction);
        let length = f64::from(square).sqrt();
        if length <= DEPENDENT * norm {
            return Err(RegressionError::Dependent { column: position + 1 });
        }
        rows.push(waiting.iter_mut().map(|column| take_out(&direction, square, column)).collect::<Vec<_>>());
        projected.push(take_out(&direction, square, &mut rest));
        lengths.push(length);
    }
    // X = QR with R unit upper triangular and QᵀQ the squared lengths, so (XᵀX)⁻¹ = MMᵀ with M = R⁻¹ over the lengths.
    let unit = |j: usize| (0..size).map(|i| TwoFloat::from(if i == j { 1.0 } else { 0.0 })).collect::<Vec<_>>();
    let scaled = |(j, length): (usize, &f64)| {
        back_substitute(&rows, &unit(j)).into_iter().map(|entry| entry / *length).collect()
    };
    Ok(Solution {
        coefficients: back_substitute(&rows, &projected),
        residual_squares: dot(&rest, &rest),
        inverse: lengths.iter().enumerate().map(scaled).collect(),
    })
}

/// Solves Rb = right for the unit upper triangle given by rows, each starting beside its diagonal.
fn back_substitute(rows: &[Vec<TwoFloat>], right: &[TwoFloat]) -> Vec<TwoFloat> {
    let mut solved = std::collections::VecDeque::new();
    for (beyond, value) in rows.iter().zip(right).rev() {
        let known = beyond.iter().zip(&solved).map(|(r, b)| *r * *b).fold(ZERO, |sum, term| sum + term);
        solved.push_front(*value - known);
    }
    solved.into()
}

/// Removes from `column` its part along `direction`, whose squared length is given, and says how many times it was there.
fn take_out(direction: &[TwoFloat], square: TwoFloat, column: &mut [TwoFloat]) -> TwoFloat {
    let times = dot(direction, column) / square;
    column.iter_mut().zip(direction).for_each(|(v, d)| *v -= times * *d);
    times
}

fn dot(a: &[TwoFloat], b: &[TwoFloat]) -> TwoFloat {
    a.iter().zip(b).map(|(a, b)| *a * *b).fold(ZERO, |sum, term| sum + term)
}

const ZERO: TwoFloat = TwoFloat::from_f64(0.0);
