//! What must hold over the whole domain and at its edges: finite answers or a refusal, order, round trips, coverage.

use loopleaf::trade::{
    anova,
    cleanliness::{Class, as4059, iso4406},
    comparison,
    confidence::Confidence,
    counting::{self, Concentration, Counted},
    descriptive, ratio, regression,
    size_scale::{Correspondence, Scale},
    uncertainty::{Correlations, DegreesOfFreedom, DualNum, Input, agrees, conformity, monte_carlo, propagate},
};
use proptest::prelude::*;
use uom::si::{f64::Volume, volume::cubic_meter};

use super::statistics_rows::{confidence, micrometres, millilitres};

/// Anything an f64 can be.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        -10.0..10.0,
        Just(0.0),
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::MAX),
        Just(f64::MIN_POSITIVE),
        Just(5e-324),
    ]
}

fn any_row() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(any_number(), 0..8)
}

fn any_count() -> impl Strategy<Value = u64> {
    prop_oneof![0..30_u64, 0..100_000_u64, 0..=1_000_000_000_u64, Just(u64::MAX)]
}

fn any_confidence() -> impl Strategy<Value = Confidence> {
    prop_oneof![0.5..0.9999, Just(1e-9), Just(1.0 - 1e-9)].prop_map(confidence)
}

fn counted(count: u64, volume: f64) -> Counted {
    Counted::new(count, millilitres(volume)).unwrap()
}

/// A refusal is an answer; a number that is none is not.
fn finite<E>(result: Result<f64, E>) -> Result<(), TestCaseError> {
    match result {
        Ok(value) => {
            prop_assert!(value.is_finite(), "{value}");
            Ok(())
        }
        Err(_) => Ok(()),
    }
}

proptest! {
    #[test]
    fn no_number_makes_nonsense(a in any_number(), b in any_number(), c in any_number(), x in any_row(), y in any_row()) {
        let volume = |v: f64| Volume::new::<cubic_meter>(v);
        finite(descriptive::mean(&x))?;
        finite(descriptive::standard_deviation(&x))?;
        finite(descriptive::lag1_autocorrelation(&x))?;
        finite(descriptive::median(&x))?;
        finite(descriptive::median_absolute_deviation(&x))?;
        finite(descriptive::correlation(&x, &y))?;
        finite(ratio::efficiency_from_ratio(a))?;
        finite(ratio::ratio_from_efficiency(a))?;
        finite(ratio::ratio_of_averages(&x, &y))?;
        finite(ratio::between_sizes((a, b), (b, c)))?;
        finite(counting::interval_average(&x))?;
        finite(counting::coincidence_limit(a, volume(b)).map(Concentration::in_millilitre))?;
        if let Ok(concentration) = Concentration::per_millilitre(a) {
            finite(counting::true_from_measured(concentration, volume(b)).map(Concentration::in_millilitre))?;
            finite(counting::measured_from_true(concentration, volume(b)).map(Concentration::in_millilitre))?;
            finite(counting::undilute(concentration, b, concentration).map(Concentration::in_millilitre))?;
            iso4406::ScaleNumber::of(concentration);
            as4059::classify(concentration, as4059::Size::B).ok();
        }
        for classes in [counting::cumulative(&x), counting::differential(&x)].into_iter().flatten() {
            prop_assert!(classes.iter().all(|n| n.is_finite() && *n >= 0.0));
        }
        finite(conformity::uncertainty_ratio(a, b))?;
        finite(conformity::specific_risk(a, b, c))?;
        finite(conformity::guard_band_full(a))?;
        finite(conformity::guard_band_root(a))?;
        finite(Correspondence::from_memory().convert(micrometres(a), Scale::Older, Scale::C).map(|l| l.value))?;
        finite(comparison::least_significant_difference(a, b, (2, 3), Confidence::P95))?;
        finite(comparison::power(a, 3, 4, Confidence::P95))?;
        comparison::holm_adjusted(&x).ok();
        prop_assert_eq!(Confidence::new(a).is_ok(), a > 0.0 && a <= 1.0 - 1e-9);
    }

    #[test]
    fn no_reading_makes_a_fit_or_an_analysis_nonsense(x in any_row(), y in any_row(), at in any_number()) {
        for fit in [
            regression::line(&x, &y),
            regression::line_through_origin(&x, &y),
            regression::polynomial(&x, &y, 2),
            regression::multiple(&[&x, &y], &y),
        ].into_iter().flatten() {
            prop_assert!(fit.coefficients.iter().chain(&fit.standard_errors).all(|b| b.is_finite()), "{:?}", fit);
            prop_assert!(fit.residual_sd.is_finite());
            if let Ok(prediction) = fit.extrapolate(&[at]) {
                prop_assert!(prediction.value.is_finite() && prediction.standard_error.is_finite());
            }
        }
        if let Ok(table) = anova::one_way(&[&x, &y]) {
            prop_assert!(table.f.is_finite() && table.p_value.is_finite() && table.residual_sd.is_finite());
        }
    }

    #[test]
    fn no_input_makes_a_budget_nonsense(value in any_number(), u in any_number(), dof in any_number(), r in any_number()) {
        let inputs = [
            Input::with_standard_uncertainty("a", value, u, DegreesOfFreedom::Finite(dof)),
            Input::from_class_of_span("b", value, dof, u),
        ];
        if let [Ok(a), Ok(b)] = inputs {
            let correlations = Correlations::none().and(0, 1, r).unwrap_or_default();
            for budget in [
                propagate(&[a.clone(), b.clone()], &correlations, |[a, b]| a * b),
                propagate(&[a.clone(), b.clone()], &Correlations::none(), |[a, b]| a.ln() / b),
            ].into_iter().flatten() {
                prop_assert!(budget.value.is_finite() && budget.combined.is_finite());
                finite(budget.expanded(Confidence::P95).map(|expanded| expanded.uncertainty))?;
            }
        }
    }

    #[test]
    fn ratio_limits_enclose_the_ratio(up in any_count(), down in any_count(), v in 0.1..100.0, w in 0.1..100.0, p in any_confidence()) {
        let (Ok(up), Ok(down)) = (Counted::new(up, millilitres(v)), Counted::new(down, millilitres(w))) else { return Ok(()) };
        let Ok(limits) = ratio::interval(up, down, p) else {
            prop_assert_eq!(up.count, 0);
            return Ok(());
        };
        prop_assert!(limits.low.is_finite() && limits.low > 0.0);
        prop_assert!(ratio::lower_bound(up, down, p).unwrap() >= limits.low);
        match limits.high {
            Some(high) => {
                let beta = ratio::filtration_ratio(up, down).unwrap();
                prop_assert!(high.is_finite() && limits.low <= beta * (1.0 + 1e-9) && beta <= high * (1.0 + 1e-9));
                // What is a ratio one way round is its inverse the other.
                let turned = ratio::interval(down, up, p).unwrap();
                prop_assert!((turned.low * high - 1.0).abs() < 1e-6, "{} {}", turned.low, high);
            }
            None => prop_assert_eq!(down.count, 0),
        }
        let efficiency = ratio::efficiency_interval(up, down, p).unwrap();
        prop_assert!(efficiency.low <= efficiency.high && efficiency.high <= 1.0);
        if let Ok(score) = ratio::score_interval(up, down, p) {
            prop_assert!(score.low.is_finite() && score.high.is_none_or(f64::is_finite));
        }
    }

    #[test]
    fn net_ratio_limits_enclose_their_value(counts in prop::array::uniform4(any_count()), p in any_confidence()) {
        let [Ok(a), Ok(b), Ok(c), Ok(d)] = counts.map(|n| Counted::new(n, millilitres(10.0))) else { return Ok(()) };
        let pair = |sample, background| ratio::BackgroundPair { sample, background };
        if let Ok((value, limits)) = ratio::net_ratio(pair(a, b), pair(c, d), p) {
            prop_assert!(limits.low.is_finite() && limits.low >= 0.0);
            if let Some(value) = value {
                prop_assert!(limits.low <= value * (1.0 + 1e-9));
                prop_assert!(limits.high.is_none_or(|high| value <= high * (1.0 + 1e-9)));
            }
        }
    }

    #[test]
    fn sizes_and_sensors_and_codes_go_there_and_back(size in 4.3..31.6, n in 0.0..199_999.0, number in 0..29_u8, mark: bool) {
        let table = Correspondence::from_memory();
        for scale in [Scale::Older, Scale::B] {
            let there = table.convert(micrometres(size), Scale::C, scale).unwrap();
            let back = table.convert(there, scale, Scale::C).unwrap();
            prop_assert!((back.value * 1e6 - size).abs() < 1e-9);
        }
        let (volume, concentration) = (millilitres(5e-6), Concentration::per_millilitre(n).unwrap());
        let shown = counting::measured_from_true(concentration, volume).unwrap();
        let found = counting::true_from_measured(shown, volume).unwrap().in_millilitre();
        prop_assert!((found - n).abs() <= 1e-6 * n.max(1.0) + 2e5 * 1e-7 * (n / 2e5).powi(8), "{found} {n}");
        let figure = iso4406::Figure { number: iso4406::ScaleNumber::Band(number), few_counts: mark };
        prop_assert_eq!(figure.to_string().parse(), Ok(figure));
        let band = figure.number.band().unwrap();
        let inside = Concentration::per_millilitre(f64::midpoint(band.more_than, band.up_to.unwrap())).unwrap();
        prop_assert_eq!(iso4406::ScaleNumber::of(inside), figure.number);
    }

    #[test]
    fn every_pair_is_tied_or_differs(means in prop::collection::vec(0.0..10.0_f64, 2..9), least in 0.1..5.0_f64) {
        let verdict = |first: usize, second: usize| comparison::Difference {
            first,
            second,
            difference: means[first] - means[second],
            standard_error: 1.0,
            interval: None,
            p_value: 0.5,
            differs: f64::abs(means[first] - means[second]) > least,
        };
        let pairs: Vec<_> =
            (0..means.len()).flat_map(|i| (i + 1..means.len()).map(move |j| (i, j))).map(|(i, j)| verdict(i, j)).collect();
        let ties = comparison::groups(&means, &pairs).unwrap();
        for pair in &pairs {
            let share = ties.letters[pair.first].chars().any(|letter| ties.letters[pair.second].contains(letter));
            prop_assert_eq!(share, !pair.differs);
        }
        prop_assert!(ties.letters.iter().all(|letters| !letters.is_empty()));
    }

    #[test]
    fn risks_fall_with_a_better_instrument(ratio in 0.5..50.0, share in 0.5..0.999, acceptance in 0.0..1.0) {
        let risk = conformity::global_risk(ratio, share, 1.0).unwrap();
        let better = conformity::global_risk(ratio * 1.5, share, 1.0).unwrap();
        prop_assert!(better.false_reject <= risk.false_reject + 1e-12);
        let guarded = conformity::global_risk(ratio, share, acceptance).unwrap();
        prop_assert!(guarded.false_accept <= risk.false_accept + 1e-12);
        prop_assert!(guarded.false_reject >= risk.false_reject - 1e-12);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn count_limits_enclose_the_count_and_widen_with_confidence(n in 0..=1_000_000_000_u64, p in any_confidence()) {
        let limits = counting::interval(n, p).unwrap();
        prop_assert!(limits.low <= n as f64 && n as f64 <= limits.high && limits.low >= 0.0);
        let surer = counting::interval(n, Confidence::new(1.0 - p.error() / 2.0).unwrap_or(p)).unwrap();
        prop_assert!(surer.low <= limits.low && limits.high <= surer.high);
        prop_assert!(counting::upper_bound(n, p).unwrap() <= limits.high * (1.0 + 1e-9));
        prop_assert!(counting::lower_bound(n, p).unwrap() >= limits.low * (1.0 - 1e-9));
        prop_assert!(counting::upper_bound(n, p).unwrap() <= counting::upper_bound((n + 1).min(1_000_000_000), p).unwrap());
    }

    #[test]
    fn planned_specimens_have_the_wanted_power(ratio in 0.4..4.0, wanted in 0.5..0.99, groups in 2..6_usize) {
        let n = comparison::specimens_needed(ratio, 1.0, groups, Confidence::P95, wanted).unwrap();
        prop_assert!(comparison::power(ratio, groups, n, Confidence::P95).unwrap() >= wanted);
        prop_assert!(n == 2 || comparison::power(ratio, groups, n - 1, Confidence::P95).unwrap() < wanted);
        let smallest = comparison::smallest_difference(1.0, groups, n, Confidence::P95, wanted).unwrap();
        prop_assert!(smallest <= ratio * (1.0 + 1e-9));
    }

    #[test]
    fn verdict_and_interval_never_contradict_each_other(shift in -3.0..3.0, reference in 0..3_usize) {
        let groups = [vec![1.0, 2.0, 3.5, 2.2], vec![shift, shift + 1.0, shift + 0.7], vec![2.0 * shift, 1.0, 0.4]];
        let table = anova::one_way(&[&groups[0], &groups[1], &groups[2]]).unwrap();
        let tukey = comparison::tukey_kramer(&table, Confidence::P95).unwrap();
        for pair in tukey.into_iter().chain(comparison::dunnett(&table, reference, Confidence::P95).unwrap()) {
            prop_assert_eq!(pair.differs, !pair.interval.unwrap().contains(0.0));
            prop_assert!((pair.p_value < 0.05) == pair.differs || (pair.p_value - 0.05).abs() < 1e-9);
        }
    }
}

/// Over all possible counts the exact interval of an expectation holds at least as often as stated.
#[test]
fn exact_count_limits_cover() {
    for expectation in [0.1, 0.7, 2.3, 5.0, 11.9, 40.2] {
        let mut probability = f64::exp(-expectation);
        let mut covered = 0.0;
        for n in 0..400_u32 {
            if counting::interval(u64::from(n), Confidence::P95).unwrap().contains(expectation) {
                covered += probability;
            }
            probability *= expectation / f64::from(n + 1);
        }
        assert!(covered >= 0.95, "{expectation}: {covered}");
    }
}

/// The interval of a net ratio holds at least as often as stated, over all counts that matter.
#[test]
fn net_ratio_limits_cover() {
    let weights = |expectation: f64, most: u64| {
        let mut probability = f64::exp(-expectation);
        (0..most)
            .map(|n| {
                let this = probability;
                probability *= expectation / (n + 1) as f64;
                (n, this)
            })
            .filter(|(_, p)| *p > 1e-5)
            .collect::<Vec<_>>()
    };
    // 10 mL of sample and of background; 60 particles upstream, 6 downstream, 2 of background in each.
    let (up, down, blank) = (weights(62.0, 120), weights(8.0, 40), weights(2.0, 20));
    let mut covered = 0.0;
    for (u, pu) in up.iter().step_by(4) {
        let pu = pu * 4.0;
        for (d, pd) in &down {
            for (b, pb) in &blank {
                for (e, pe) in &blank {
                    let pair = |s: u64, k: u64| ratio::BackgroundPair {
                        sample: counted(s, 10.0),
                        background: counted(k, 10.0),
                    };
                    // A refusal states nothing false.
                    let holds = ratio::net_ratio(pair(*u, *b), pair(*d, *e), confidence(0.9))
                        .map_or(true, |(_, limits)| limits.low <= 10.0 && limits.high.is_none_or(|high| 10.0 <= high));
                    if holds {
                        covered += pu * pd * pb * pe;
                    }
                }
            }
        }
    }
    assert!(covered > 0.9, "{covered}");
}

#[test]
fn a_simulation_repeats_itself_and_agrees_with_a_straight_model() {
    let inputs = [
        Input::from_certificate("gauge", 30.0, 0.5, 2.0).unwrap(),
        Input::from_resolution("display", 0.0, 0.1).unwrap(),
        Input::u_shaped("swing", 0.0, 0.1).unwrap(),
        Input::triangular("zero", 0.0, 0.2).unwrap(),
    ];
    let model = |[gauge, display, swing, zero]: [_; 4]| gauge + display + swing + zero;
    let budget = propagate(&inputs, &Correlations::none(), model).unwrap();
    let run = |seed| monte_carlo(&inputs, &Correlations::none(), model, Confidence::P95, 100_000, seed).unwrap();
    let drawn = run(1);
    assert_eq!(drawn, run(1));
    assert_ne!(drawn.mean, run(2).mean);
    assert!((drawn.standard_uncertainty / budget.combined - 1.0).abs() < 0.01);
    assert!(agrees(&budget, &drawn, Confidence::P95).unwrap(), "{budget:?} {drawn:?}");
}

#[test]
fn correlated_draws_are_correlated() {
    let inputs =
        ["a", "b"].map(|name| Input::with_standard_uncertainty(name, 1.0, 0.1, DegreesOfFreedom::Infinite).unwrap());
    let correlations = Correlations::none().and(0, 1, -0.9).unwrap();
    let drawn = monte_carlo(&inputs, &correlations, |[a, b]| a + b, Confidence::P95, 50_000, 7).unwrap();
    let budget = propagate(&inputs, &correlations, |[a, b]| a + b).unwrap();
    assert!((drawn.standard_uncertainty / budget.combined - 1.0).abs() < 0.02);
}

#[test]
fn a_curved_model_is_found_out() {
    let inputs = [Input::within_limits("flow", 0.0, 1.0).unwrap()];
    let drawn = monte_carlo(&inputs, &Correlations::none(), |[q]| q.powi(2), Confidence::P95, 20_000, 7).unwrap();
    let budget = propagate(&inputs, &Correlations::none(), |[q]| q.powi(2)).unwrap();
    assert_eq!(budget.combined, 0.0);
    assert!((drawn.mean - 1.0 / 3.0).abs() < 0.01);
}

#[test]
fn a_wanted_risk_is_kept() {
    let acceptance = conformity::guard_band_for_risk(2.0, 0.95, 0.005).unwrap();
    let risk = conformity::global_risk(2.0, 0.95, acceptance).unwrap();
    assert!(risk.false_accept <= 0.005 && risk.false_accept > 0.004_99);
}

#[test]
fn classes_read_and_print_alike() {
    for class in Class::all() {
        assert_eq!(class.to_string().parse(), Ok(class));
    }
}

/// Counts of nine further bottles of a clean lot: their spread enters the net count.
#[test]
fn scattered_blanks_cost_certainty() {
    let calm = counting::subtract_bottle_blank(500, &[10, 11, 9, 10], 1.0).unwrap();
    let wild = counting::subtract_bottle_blank(500, &[0, 25, 3, 12], 1.0).unwrap();
    assert_eq!((calm.value, wild.value), (490.0, 490.0));
    assert!(wild.variance > calm.variance && calm.variance > 500.0);
}
