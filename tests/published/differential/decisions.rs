//! Measurement uncertainty, decisions and intervals.

use super::{super::statistics_rows::confidence, compare};
use loopleaf::trade::{
    confidence::{Confidence, Interval},
    uncertainty::{
        Budget, Correlations, DegreesOfFreedom, DualNum, Input, Law, Simulation, agrees, conformity,
        covariance_of_results, coverage_factor, monte_carlo, propagate,
    },
};

fn known(source: &str, value: f64, u: f64) -> Input {
    Input::with_standard_uncertainty(source, value, u, DegreesOfFreedom::Infinite).unwrap()
}

fn finite(freedom: DegreesOfFreedom) -> f64 {
    match freedom {
        DegreesOfFreedom::Finite(dof) => dof,
        DegreesOfFreedom::Infinite => f64::INFINITY,
    }
}

#[test]
pub(super) fn inputs_and_budgets() {
    compare("laws", 1e-12, 1e-6, |x| {
        let [a, step, percent, span, value, n, k] = x[..7] else { panic!("seven numbers") };
        let u = |input: Result<Input, _>| Input::standard_uncertainty(&input.unwrap());
        assert_eq!(Law::Rectangular { half_width: a }.standard_uncertainty(), u(Input::within_limits("a", value, a)));
        let readings = Input::from_readings("readings", &x[7..]).unwrap();
        let roughly = Input::within_limits("a", value, a).unwrap().with_degrees_of_freedom(k).unwrap();
        assert_eq!(roughly.degrees_of_freedom, DegreesOfFreedom::Finite(k));
        vec![
            u(Input::within_limits("a", value, a)),
            u(Input::triangular("a", value, a)),
            u(Input::u_shaped("a", value, a)),
            u(Input::from_resolution("step", value, step)),
            u(Input::from_class_of_span("class", value, percent, span)),
            u(Input::from_class_of_reading("class", value, percent)),
            u(Input::counted("n", n as u64)),
            u(Input::from_certificate("certificate", value, a, k)),
            readings.value,
            readings.standard_uncertainty(),
            finite(readings.degrees_of_freedom),
        ]
    });
    compare("budget", 1e-10, 1e-6, |x| {
        let input = |i: usize| {
            let freedom = DegreesOfFreedom::Finite(x[6 + i]);
            Input::with_standard_uncertainty(&i.to_string(), x[i], x[3 + i], freedom).unwrap()
        };
        let budget =
            propagate(&[input(0), input(1), input(2)], &Correlations::none(), |[a, b, c]| a * b / c + a.sqrt())
                .unwrap();
        let expanded = budget.expanded(confidence(x[9])).unwrap();
        let freedom = budget.effective_freedom.unwrap();
        let mut all = vec![
            budget.value,
            budget.combined,
            finite(freedom),
            expanded.uncertainty,
            budget.expanded_by(x[10]).unwrap().uncertainty,
        ];
        all.extend(budget.shares().unwrap());
        all.extend([expanded.interval().low, expanded.interval().high, finite(freedom.truncated())]);
        all
    });
    compare("covariance of results", 1e-11, 1e-9, |x| {
        let inputs = [known("a", x[0], x[3]), known("b", x[1], x[4]), known("c", x[2], x[5])];
        let correlations = Correlations::none().and(0, 1, x[6]).unwrap();
        let first = propagate(&inputs, &correlations, |[a, b, _]| a * b).unwrap();
        let second = propagate(&inputs, &correlations, |[_, b, c]| b / c).unwrap();
        let covariance = |other| covariance_of_results(&first, other, &correlations).unwrap();
        vec![covariance(&second), covariance(&first)]
    });
    compare("normal factor", 1e-11, 0.0, |x| {
        vec![coverage_factor(confidence(x[0]), DegreesOfFreedom::Infinite).unwrap()]
    });
}

/// Draws against the laws that their results are known to have: within what 100 000 draws leave open.
#[test]
pub(super) fn draws() {
    compare("monte carlo", 0.02, 0.3, |x| {
        let none = Correlations::none();
        let run =
            |inputs: &[Input; 2]| monte_carlo(inputs, &none, |[a, b]| a + b, confidence(x[4]), 100_000, 11).unwrap();
        let limits = |half| Input::within_limits("limits", 0.0, half).unwrap();
        let (flat, normal) = (run(&[limits(x[0]), limits(x[1])]), run(&[known("a", 0.0, x[2]), known("b", 0.0, x[3])]));
        let model = |[a]: [_; 1]| DualNum::exp(&a);
        let skewed = monte_carlo(&[known("s", 0.0, 0.5)], &none, model, confidence(x[4]), 100_000, 11).unwrap();
        let width = skewed.shortest.high - skewed.shortest.low;
        let three = |s: &Simulation| [s.standard_uncertainty, s.interval.low, s.interval.high];
        let last = [skewed.mean, skewed.standard_uncertainty, skewed.interval.low, skewed.interval.high, width];
        [&three(&flat)[..], &three(&normal), &last].concat()
    });
    compare("agreement", 0.0, 1.0, |x| {
        let freedom = Some(DegreesOfFreedom::Infinite);
        let budget = Budget { value: x[0], combined: x[1], effective_freedom: freedom, lines: Vec::new() };
        let interval = Interval { low: x[2], high: x[3] };
        let drawn = Simulation { mean: x[0], standard_uncertainty: x[1], interval, shortest: interval, draws: 100_000 };
        vec![f64::from(u8::from(agrees(&budget, &drawn, Confidence::P95).unwrap()))]
    });
}

#[test]
pub(super) fn risks_and_intervals() {
    compare("decisions", 1e-9, 1e-6, |x| {
        vec![
            conformity::uncertainty_ratio(x[0], x[1]).unwrap(),
            conformity::specific_risk(x[2], x[3], x[1]).unwrap(),
            conformity::guard_band_full(x[4]).unwrap(),
            conformity::guard_band_root(x[4]).unwrap(),
        ]
    });
    compare("guard band for a risk", 1e-7, 0.1, |x| vec![conformity::guard_band_for_risk(x[0], x[1], x[2]).unwrap()]);
    compare("interval", 1e-12, 1e-2, |x| {
        let interval = Interval::about(x[0], x[1]);
        let scaled = interval.scaled(x[2]);
        let p = Confidence::new(x[4]).unwrap();
        let inside = f64::from(u8::from(interval.contains(x[3])));
        vec![interval.low, interval.high, inside, scaled.low, scaled.high, p.probability(), p.error()]
    });
}
