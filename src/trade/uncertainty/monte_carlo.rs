//! The model without linearisation: draws of the inputs, run through it (JCGM 101:2008).

use nalgebra::DMatrix;
use num_dual::Dual64;
use rand_chacha::{
    ChaCha12Rng,
    rand_core::{Rng, SeedableRng},
};
use serde::{Deserialize, Serialize};

use super::{Budget, Correlations, Input, Law, UncertaintyError};
use crate::trade::{
    confidence::{Confidence, Interval},
    descriptive::{mean, standard_deviation},
};

/// What the draws say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Simulation {
    pub mean: f64,
    pub standard_uncertainty: f64,
    /// Equal tails.
    pub interval: Interval,
    /// The shortest interval of the same content; another one when the result is skewed.
    pub shortest: Interval,
    pub draws: usize,
}

/// Runs `draws` sets of inputs, drawn from their laws, through the model.
///
/// Same seed, same result, on every machine. Correlated inputs must be normal (JCGM 101:2008, 6.4.8). A draw at which the
/// model has no finite value is an error, not skipped: it means that the model's domain does not hold its inputs. Domain:
/// enough draws that each tail holds 100 of them.
pub fn monte_carlo<const N: usize>(
    inputs: &[Input; N],
    correlations: &Correlations,
    model: impl Fn([Dual64; N]) -> Dual64,
    confidence: Confidence,
    draws: usize,
    seed: u64,
) -> Result<Simulation, UncertaintyError> {
    let least = (100.0 / confidence.tail()).ceil() as usize;
    if draws < least {
        return Err(UncertaintyError::TooFewDraws(least));
    }
    let mixing = Mixing::new(inputs, correlations)?;
    let mut source = ChaCha12Rng::seed_from_u64(seed);
    let mut results = Vec::with_capacity(draws);
    for _ in 0..draws {
        let errors = mixing.apply(inputs.each_ref().map(|input| error(input.law, &mut source)));
        let mut error = errors.into_iter();
        let drawn = inputs.each_ref().map(|input| Dual64::from_re(input.value + error.next().unwrap_or_default()));
        let result = model(drawn).re;
        if !result.is_finite() {
            return Err(UncertaintyError::Model);
        }
        results.push(result);
    }
    results.sort_by(f64::total_cmp);
    Ok(Simulation {
        mean: mean(&results)?,
        standard_uncertainty: standard_deviation(&results)?,
        interval: equal_tails(&results, confidence),
        shortest: shortest(&results, confidence),
        draws,
    })
}

/// Does the first-order budget agree with the simulation? Both ends of value ± U within half a unit of the second digit of
/// u_c (JCGM 101:2008, clause 8, with two significant digits).
pub fn agrees(budget: &Budget, simulation: &Simulation, confidence: Confidence) -> Result<bool, UncertaintyError> {
    let expanded = budget.expanded(confidence)?.interval();
    if budget.combined == 0.0 {
        return Err(UncertaintyError::NoContribution);
    }
    let tolerance = 10_f64.powf(budget.combined.log10().floor() - 1.0) / 2.0;
    let simulated = simulation.interval;
    Ok((expanded.low - simulated.low).abs() <= tolerance && (expanded.high - simulated.high).abs() <= tolerance)
}

/// One draw of an error (JCGM 101:2008, 6.4).
fn error(law: Law, source: &mut ChaCha12Rng) -> f64 {
    match law {
        Law::Normal { standard } => standard * (-2.0 * uniform(source).ln()).sqrt() * turn(source).cos(),
        // Bailey's polar form (Mathematics of Computation 62 (1994) 779); the law's standard deviation is larger than u.
        Law::Student { standard, degrees_of_freedom: dof } => {
            standard * (dof * (-2.0 / dof * uniform(source).ln()).exp_m1()).sqrt() * turn(source).cos()
        }
        Law::Rectangular { half_width } => half_width * (2.0 * uniform(source) - 1.0),
        Law::Triangular { half_width } => half_width * (uniform(source) + uniform(source) - 1.0),
        Law::UShaped { half_width } => half_width * turn(source).cos(),
    }
}

/// A number between 0 and 1, never at either.
fn uniform(source: &mut ChaCha12Rng) -> f64 {
    ((source.next_u64() >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
}

fn turn(source: &mut ChaCha12Rng) -> f64 {
    std::f64::consts::TAU * uniform(source)
}

/// Turns independent normal errors into correlated ones, by the Cholesky factor of their correlation matrix.
struct Mixing(Option<DMatrix<f64>>);

impl Mixing {
    fn new(inputs: &[Input], correlations: &Correlations) -> Result<Self, UncertaintyError> {
        correlations.check(inputs.len())?;
        if correlations.pairs().is_empty() {
            return Ok(Self(None));
        }
        let mut matrix = DMatrix::identity(inputs.len(), inputs.len());
        for (first, second, r) in correlations.pairs() {
            for input in [first, second].into_iter().filter_map(|i| inputs.get(*i)) {
                if !matches!(input.law, Law::Normal { .. }) {
                    return Err(UncertaintyError::CorrelatedLaw(input.source.clone()));
                }
            }
            for place in [(*first, *second), (*second, *first)] {
                matrix.get_mut(place).into_iter().for_each(|entry| *entry = *r);
            }
        }
        let factor = matrix.cholesky().ok_or(UncertaintyError::Contradiction)?.unpack();
        // Errors arrive scaled by their own u: undo, mix, redo.
        let scale: Vec<f64> = inputs.iter().map(Input::standard_uncertainty).collect();
        let scaled = DMatrix::from_fn(inputs.len(), inputs.len(), |i, j| {
            let part = |i: usize| scale.get(i).copied().unwrap_or_default();
            let own = factor.get((i, j)).copied().unwrap_or_default();
            if i == j || part(j) == 0.0 { own } else { own * part(i) / part(j) }
        });
        Ok(Self(Some(scaled)))
    }

    fn apply<const N: usize>(&self, errors: [f64; N]) -> [f64; N] {
        let Some(matrix) = &self.0 else { return errors };
        let mut rows = matrix.row_iter();
        let mixed = |row: nalgebra::RowDVector<f64>| row.iter().zip(&errors).map(|(m, e)| m * e).sum();
        errors.map(|own| rows.next().map_or(own, |row| mixed(row.into_owned())))
    }
}

fn equal_tails(sorted: &[f64], confidence: Confidence) -> Interval {
    let beyond = (confidence.tail() * sorted.len() as f64).round() as usize;
    let at = |i: usize| sorted.get(i).copied().unwrap_or_default();
    Interval { low: at(beyond), high: at(sorted.len().saturating_sub(1 + beyond)) }
}

fn shortest(sorted: &[f64], confidence: Confidence) -> Interval {
    let content = (confidence.probability() * sorted.len() as f64).round() as usize;
    // So many draws, both ends counted, as in the equal tails: one step fewer.
    let candidates = sorted.iter().zip(sorted.iter().skip(content.saturating_sub(1)));
    let narrower = |a: &(&f64, &f64), b: &(&f64, &f64)| (a.1 - a.0).total_cmp(&(b.1 - b.0));
    match candidates.min_by(narrower) {
        Some((low, high)) => Interval { low: *low, high: *high },
        None => equal_tails(sorted, confidence),
    }
}
