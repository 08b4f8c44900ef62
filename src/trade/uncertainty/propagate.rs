//! From a model of the inputs to the budget of its result.

use num_dual::Dual64;

use super::{Budget, DegreesOfFreedom, Input, Line, UncertaintyError};
use crate::trade::descriptive::summable;

/// Correlations between the inputs of a model; inputs not named are independent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Correlations(Vec<(usize, usize, f64)>);

impl Correlations {
    pub fn none() -> Self {
        Self::default()
    }

    /// Adds the correlation of two inputs, counted from 0 in the order of the model. Domain −1 ≤ r ≤ 1; the later of two
    /// statements about one pair counts.
    pub fn and(mut self, first: usize, second: usize, r: f64) -> Result<Self, UncertaintyError> {
        if !(-1.0..=1.0).contains(&r) {
            return Err(UncertaintyError::Correlation(r));
        }
        if first == second {
            return Err(UncertaintyError::NoSuchInput(first));
        }
        let pair = (first.min(second), first.max(second));
        self.0.retain(|(a, b, _)| (*a, *b) != pair);
        self.0.push((pair.0, pair.1, r));
        Ok(self)
    }

    pub(super) fn pairs(&self) -> &[(usize, usize, f64)] {
        &self.0
    }

    pub(super) fn check(&self, inputs: usize) -> Result<(), UncertaintyError> {
        match self.0.iter().find(|(_, last, _)| *last >= inputs) {
            Some((_, last, _)) => Err(UncertaintyError::NoSuchInput(*last)),
            None => Ok(()),
        }
    }

    /// Σᵢⱼ aᵢ rᵢⱼ bⱼ with rᵢᵢ = 1.
    fn product(&self, a: &[f64], b: &[f64]) -> f64 {
        let at = |row: &[f64], i: usize| row.get(i).copied().unwrap_or_default();
        let own: f64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
        let cross = self.0.iter().map(|(i, j, r)| r * (at(a, *i) * at(b, *j) + at(a, *j) * at(b, *i)));
        own + cross.sum::<f64>()
    }
}

/// The budget of y = f(x): u_c² = Σᵢⱼ cᵢ cⱼ uᵢ uⱼ rᵢⱼ with cᵢ = ∂f/∂xᵢ (JCGM 100:2008, formulas 10 and 13).
///
/// The model is written once, in dual numbers, which carry its exact slope; to first order, so a strongly curved model
/// wants [`super::monte_carlo()`]. Domain: the model and its slopes are finite at the inputs.
///
/// ```
/// use loopleaf::trade::uncertainty::{Correlations, Input, propagate};
///
/// let injected = Input::from_certificate("slurry, mg/L", 4000.0, 160.0, 2.0)?;
/// let flow = Input::from_class_of_reading("test flow, L/min", 100.0, 1.7)?;
/// let injection = Input::from_class_of_reading("injection flow, L/min", 0.25, 1.7)?;
/// let level = propagate(&[injected, flow, injection], &Correlations::none(), |[g, q, qi]| g * qi / q)?;
/// assert!((level.value - 10.0).abs() < 1e-12);
/// # Ok::<(), loopleaf::trade::uncertainty::UncertaintyError>(())
/// ```
pub fn propagate<const N: usize>(
    inputs: &[Input; N],
    correlations: &Correlations,
    model: impl Fn([Dual64; N]) -> Dual64,
) -> Result<Budget, UncertaintyError> {
    correlations.check(N)?;
    let value = model(inputs.each_ref().map(|input| Dual64::from_re(input.value))).re;
    if !value.is_finite() {
        return Err(UncertaintyError::Model);
    }
    let mut lines = Vec::with_capacity(N);
    for (varied, input) in inputs.iter().enumerate() {
        lines.push(line(input, slope(inputs, varied, &model)?));
    }
    if lines.iter().any(|line| !summable(line.contribution)) {
        return Err(UncertaintyError::Model);
    }
    if correlations.pairs().is_empty() {
        return Ok(Budget::independent(value, lines));
    }
    let contributions: Vec<f64> = lines.iter().map(|line| line.contribution).collect();
    let variance = correlations.product(&contributions, &contributions);
    let largest = contributions.iter().fold(0.0_f64, |most, c| most.max(c * c));
    if variance < -1e-9 * largest {
        return Err(UncertaintyError::Contradiction);
    }
    let exact = inputs.iter().all(|input| input.degrees_of_freedom == DegreesOfFreedom::Infinite);
    let effective_freedom = exact.then_some(DegreesOfFreedom::Infinite);
    Ok(Budget { value, combined: variance.max(0.0).sqrt(), effective_freedom, lines })
}

/// Covariance of two results of the same inputs, Σᵢⱼ aᵢ bⱼ uᵢ uⱼ rᵢⱼ (JCGM 100:2008, formula H.9), from their budgets.
///
/// Domain: both budgets made from the same inputs in the same order.
pub fn covariance_of_results(
    first: &Budget,
    second: &Budget,
    correlations: &Correlations,
) -> Result<f64, UncertaintyError> {
    let sources = |budget: &Budget| budget.lines.iter().map(|line| line.source.clone()).collect::<Vec<_>>();
    if sources(first) != sources(second) {
        return Err(UncertaintyError::NoSuchInput(first.lines.len().min(second.lines.len())));
    }
    correlations.check(first.lines.len())?;
    let parts = |budget: &Budget| budget.lines.iter().map(|line| line.contribution).collect::<Vec<f64>>();
    Ok(correlations.product(&parts(first), &parts(second)))
}

/// ∂f/∂x of the input at a place in the order.
fn slope<const N: usize>(
    inputs: &[Input; N],
    varied: usize,
    model: impl Fn([Dual64; N]) -> Dual64,
) -> Result<f64, UncertaintyError> {
    let seed = |i: usize| if i == varied { 1.0 } else { 0.0 };
    let mut place = 0..;
    let at = inputs.each_ref().map(|input| Dual64::new(input.value, place.next().map_or(0.0, seed)));
    let slope = model(at).eps;
    let source = inputs.get(varied).map(|input| input.source.clone()).unwrap_or_default();
    if slope.is_finite() { Ok(slope) } else { Err(UncertaintyError::Slope(source)) }
}

fn line(input: &Input, sensitivity: f64) -> Line {
    let standard_uncertainty = input.standard_uncertainty();
    Line {
        source: input.source.clone(),
        value: input.value,
        standard_uncertainty,
        sensitivity,
        contribution: sensitivity * standard_uncertainty,
        degrees_of_freedom: input.degrees_of_freedom,
    }
}
