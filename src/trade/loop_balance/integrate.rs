//! A fifth-order Runge–Kutta pair with step control (Dormand and Prince, 1980) for a handful of equations.
//!
//! Written here because the crates at hand bring a linear algebra of their own for it. Every stage is a weighted sum of
//! slopes, so a sum that the equations keep constant stays constant to rounding.

/// Error allowed per step, relative to a value and at least to this part of the largest value seen.
const TOLERANCE: f64 = 1e-12;
const FLOOR: f64 = 1e-3;
const MOST_STEPS: usize = 20_000;

/// Nodes, the stages' weights, and the weights of the error (fifth less fourth order).
const NODES: [f64; 7] = [0.0, 1.0 / 5.0, 3.0 / 10.0, 4.0 / 5.0, 8.0 / 9.0, 1.0, 1.0];
const STAGES: [&[f64]; 7] = [
    &[],
    &[1.0 / 5.0],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0],
    &[9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0],
    &[35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
const ERROR: [f64; 7] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];

/// Carries `y` from time zero to `end` along `slope(t, y)`. `None` when it cannot be done in a sane number of steps.
pub(super) fn integrate(y: &[f64], end: f64, slope: impl Fn(f64, &[f64]) -> Vec<f64>) -> Option<Vec<f64>> {
    let mut y = y.to_vec();
    let (mut t, mut step) = (0.0, end / 16.0);
    let largest = |values: &[f64]| values.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
    let mut scale = largest(&y);
    for _ in 0..MOST_STEPS {
        if t >= end {
            return Some(y);
        }
        step = step.min(end - t);
        let mut slopes: Vec<Vec<f64>> = Vec::with_capacity(STAGES.len());
        let mut reached = y.clone();
        for (node, weights) in NODES.iter().zip(STAGES) {
            reached = sum(&y, step, weights, &slopes);
            slopes.push(slope(t + node * step, &reached));
        }
        // The last stage stands at the fifth-order end of the step.
        scale = scale.max(largest(&reached)).max(f64::MIN_POSITIVE);
        let off = sum(&vec![0.0; y.len()], step, &ERROR, &slopes);
        let part = |(off, value): (&f64, &f64)| off.abs() / (TOLERANCE * value.abs().max(FLOOR * scale));
        let error = off.iter().zip(&reached).map(part).fold(0.0, f64::max);
        if !off.iter().chain(&reached).all(|value| value.is_finite()) {
            return None;
        }
        if error <= 1.0 {
            t = if step == end - t { end } else { t + step };
            y = reached;
        }
        step *= (0.9 * error.max(1e-10).powf(-0.2)).clamp(0.2, 5.0);
    }
    None
}

fn sum(y: &[f64], step: f64, weights: &[f64], slopes: &[Vec<f64>]) -> Vec<f64> {
    let mut sum = y.to_vec();
    for (weight, slope) in weights.iter().zip(slopes) {
        for (total, slope) in sum.iter_mut().zip(slope) {
            *total += step * weight * slope;
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::integrate;

    #[test]
    fn a_circle_closes() {
        let turn = integrate(&[1.0, 0.0], std::f64::consts::TAU, |_, y| vec![-y[1], y[0]]).unwrap();
        assert!((turn[0] - 1.0).abs() < 1e-9 && turn[1].abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_integrated_is_refused() {
        assert_eq!(integrate(&[1.0], 1.0, |_, _| vec![f64::NAN]), None);
    }
}
