//! Statistics over whole domains and past their edges: a finite answer or a refusal, limits in their order.

use super::physics_refusals::{any_number, fair};
use loopleaf::{
    quantity::si::{Length, Time, Volume},
    trade::{
        anova::one_way,
        cleanliness::{Class, Classified, as4059, iso4406, nas1638},
        comparison,
        confidence::{Confidence, Interval},
        counting::{self, Concentration, Counted},
        ratio, regression,
        size_scale::{Correspondence, Scale},
        uncertainty::{
            Correlations, DegreesOfFreedom, Input, Law, conformity, covariance_of_results, coverage_factor,
            monte_carlo, propagate,
        },
    },
};
use proptest::prelude::*;
use uom::si::{length::meter, time::second, volume::cubic_meter};

fn confidence() -> impl Strategy<Value = Confidence> {
    prop_oneof![0.01..0.9999, Just(1e-9), Just(1.0 - 1e-9)].prop_map(|p| Confidence::new(p).unwrap())
}

fn count() -> impl Strategy<Value = u64> {
    prop_oneof![0..30_u64, 0..100_000_u64, 0..=1_000_000_000_u64, Just(u64::MAX)]
}

fn row() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(any_number(), 0..8)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..Default::default() })]

    #[test]
    fn counts_answer_or_refuse(n in count(), blanks in prop::collection::vec(count(), 0..5), x in any_number(), times in row(), y in row(), p in confidence()) {
        let volume = Volume::new::<cubic_meter>(x);
        if let Ok(counted) = Counted::new(n, volume) {
            prop_assert_eq!(counted.volume(), volume);
            let here = counted.concentration();
            prop_assert!(!here.in_millilitre().is_nan() && !here.in_100_millilitres().is_nan());
            fair("limits", counted.concentration_interval(p).map(|limits| if limits.low <= limits.high { 0.0 } else { f64::NAN }));
        }
        fair("relative", counting::relative_standard_uncertainty(n));
        fair("blank", counting::subtract_bottle_blank(n, &blanks, x).map(|net| net.value + net.standard_uncertainty()));
        fair("background", counting::subtract_background(n, blanks.first().copied().unwrap_or(0), x, p).map(|(net, limits)| {
            if limits.low <= net.value && net.value <= limits.high { net.standard_uncertainty() } else { f64::NAN }
        }));
        fair("dispersion", counting::dispersion(&blanks).map(|found| found.index + found.p_value));
        let times: Vec<Time> = times.into_iter().map(Time::new::<second>).collect();
        fair("over time", counting::time_average(&times, &y));
        fair("per 100 mL", Concentration::per_100_millilitres(x).map(Concentration::in_100_millilitres));
    }

    #[test]
    fn ratios_answer_or_refuse(n in count(), k in count(), a in 1e-3..1e3, b in 1e-3..1e3, p in confidence()) {
        let counted = |n, v: f64| Counted::new(n, Volume::new::<cubic_meter>(v * 1e-6));
        if let (Ok(up), Ok(down)) = (counted(n, a), counted(k, b)) {
            fair("beta", ratio::filtration_ratio(up, down));
            fair("efficiency", ratio::efficiency(up, down));
            fair("equal", ratio::equal_rates(up, down).map(|test| test.z + test.p_value));
            fair("log-normal", ratio::log_normal_interval(up, down, p).map(|found| found.high - found.low));
            fair("upper", ratio::upper_bound(up, down, p).map(|found| found.unwrap_or(0.0)));
        }
    }

    #[test]
    fn codes_hold_their_counts(x in 0.0..4e6_f64, raw in 0..100_u64, place in 0..15_usize, sizes in row(), at in any_number()) {
        let here = Concentration::per_100_millilitres(x).unwrap();
        for size in as4059::Size::ALL {
            match as4059::classify(here, size).unwrap() {
                Classified::In(class) => prop_assert!(x <= f64::from(as4059::limit(class, size)) * (1.0 + 1e-12)),
                Classified::Above12 => prop_assert!(x > f64::from(as4059::limit(Class::all().last().unwrap(), size))),
            }
            prop_assert!(size.micrometres() >= 4);
        }
        for size in nas1638::SizeClass::ALL {
            if let Classified::In(class) = nas1638::classify(x, size).unwrap() {
                prop_assert!(nas1638::limit(class, size).is_some_and(|limit| x <= f64::from(limit)));
            }
        }
        prop_assert!(nas1638::overall([x; 5]).unwrap() >= nas1638::classify(x, nas1638::SizeClass::From5To15).unwrap());
        let class = Class::all().nth(place).unwrap();
        let code: as4059::Code = format!("{class}B/{class}D").parse().unwrap();
        prop_assert_eq!(code.parts().len(), code.limits().count());
        let code = iso4406::Code::automatic([(here, raw); 3]);
        prop_assert_eq!(iso4406::Code::microscope((here, raw), (here, raw)).0[1], code.0[0]);
        prop_assert_eq!(iso4406::Figure::of(here, raw).few_counts, raw < iso4406::FEW_COUNTS);
        prop_assert!(!iso4406::Figure::unmarked(here).few_counts);
        for band in code.bands().into_iter().flatten() {
            prop_assert!(here.in_millilitre() > band.more_than || x == 0.0);
            prop_assert!(band.up_to.is_none_or(|limit| here.in_millilitre() <= limit));
        }
        let length = |x: f64| Length::new::<meter>(x * 1e-6);
        let pairs: Vec<_> = sizes.iter().map(|x| (length(*x), length(x * 1.1))).collect();
        if let Ok(table) = Correspondence::from_pairs(&pairs) {
            fair("a size", table.convert(length(at), Scale::Older, Scale::C).map(|x| x.value));
        }
    }

    #[test]
    fn inputs_and_factors_answer_or_refuse(a in any_number(), b in any_number(), c in any_number(), n in count(), x in row(), p in confidence()) {
        let u = |input: Result<Input, _>| fair("an input", input.map(|x: Input| if x.value.is_finite() { x.standard_uncertainty() } else { x.value }));
        u(Input::from_readings("x", &x));
        u(Input::from_certificate("x", a, b, c));
        u(Input::from_resolution("x", a, b));
        u(Input::within_limits("x", a, b));
        u(Input::from_class_of_reading("x", a, b));
        u(Input::from_class_of_span("x", a, b, c));
        u(Input::triangular("x", a, b));
        u(Input::u_shaped("x", a, b));
        u(Input::counted("x", n));
        u(Input::with_standard_uncertainty("x", a, b, DegreesOfFreedom::Infinite).and_then(|x| x.with_degrees_of_freedom(c)));
        let law = Law::Triangular { half_width: 1.0 };
        prop_assert!(law.standard_uncertainty() < 1.0);
        fair("k", coverage_factor(p, DegreesOfFreedom::Infinite));
        if let Ok(k) = coverage_factor(p, DegreesOfFreedom::Finite(b)) {
            prop_assert!(!k.is_nan() && b >= 1.0, "{k} {b}");
        }
        if let DegreesOfFreedom::Finite(whole) = DegreesOfFreedom::Finite(b.abs().max(1.0)).truncated() {
            prop_assert!(whole >= 1.0 || b.is_nan());
        }
        fair("risk", conformity::global_risk(a, b, c).map(|risk| risk.false_accept + risk.false_reject));
        let interval = Interval::about(0.0, b);
        prop_assert!(interval.contains(0.0) || b.is_nan());
        prop_assert!(interval.scaled(2.0).high >= interval.high || b.is_nan());
        prop_assert!((p.probability() + p.error() - 1.0).abs() < 1e-15);
    }

    /// Whatever the errors: a number, never shorter for one more of them, and in proportion to all of them.
    #[test]
    fn intervals_of_sums_answer_and_grow(x in row(), freedom in any_number(), kinds in prop::collection::vec(0..3_u8, 8), scale in 0.01..100.0_f64) {
        use loopleaf::trade::uncertainty::{Shape, half_width};
        let shape = |kind: &u8| match kind {
            0 => Shape::Normal,
            1 => Shape::Rectangular,
            _ => Shape::Student { freedom },
        };
        let parts: Vec<(f64, Shape)> = x.iter().zip(&kinds).map(|(u, kind)| (*u, shape(kind))).collect();
        prop_assert!(!half_width(&parts, Confidence::P95).is_nan());
        let tame: Vec<(f64, Shape)> = parts.iter().enumerate().map(|(place, (_, shape))| {
            let shape = if let Shape::Student { .. } = shape { Shape::Student { freedom: 6.0 } } else { *shape };
            (1.0 + place as f64, shape)
        }).collect();
        let half = half_width(&tame, Confidence::P95);
        let scaled: Vec<(f64, Shape)> = tame.iter().map(|(u, shape)| (u * scale, *shape)).collect();
        prop_assert!((half_width(&scaled, Confidence::P95) - scale * half).abs() <= 1e-6 * scale * half);
        let more: Vec<(f64, Shape)> = tame.iter().copied().chain([(2.0, Shape::Normal)]).collect();
        prop_assert!(half_width(&more, Confidence::P95) >= half * (1.0 - 1e-4));
        prop_assert!(half_width(&tame, Confidence::P99) >= half);
    }

    #[test]
    fn budgets_keep_their_parts(value in 0.5..5.0_f64, u in 1e-6..0.3_f64, r in -0.99..0.99_f64, k in any_number(), dof in 1.0..50.0_f64) {
        let input = |name: &str| Input::with_standard_uncertainty(name, value, u, DegreesOfFreedom::Finite(dof)).unwrap();
        let none = Correlations::none();
        let budget = propagate(&[input("a"), input("b")], &none, |[a, b]| a * b).unwrap();
        prop_assert!((budget.shares().unwrap().iter().sum::<f64>() - 1.0).abs() < 1e-12);
        fair("U", budget.expanded_by(k).map(|x| x.uncertainty));
        let reported = budget.expanded(Confidence::P95).unwrap();
        prop_assert!(reported.interval().contains(budget.value));
        let tied = Correlations::none().and(0, 1, r).unwrap();
        let own = covariance_of_results(&budget, &budget, &none).unwrap();
        prop_assert!((own / budget.combined.powi(2) - 1.0).abs() < 1e-12);
        prop_assert!(covariance_of_results(&budget, &budget, &tied).unwrap().is_finite());
    }

    #[test]
    fn fits_and_comparisons_answer_or_refuse(x in row(), y in row(), at in any_number(), p in confidence()) {
        for fit in [
            regression::polynomial_through_origin(&x, &y, 2),
            regression::multiple_through_origin(&[&x], &y),
            regression::line(&x, &y),
        ].into_iter().flatten() {
            if let Ok(said) = fit.predict(&[at]) {
                let (curve, reading) = (said.curve_interval(p), said.reading_interval(p));
                if let (Ok(curve), Ok(reading)) = (curve, reading) {
                    prop_assert!(reading.low <= curve.low && curve.high <= reading.high);
                }
            }
            prop_assert!(fit.extrapolate(&[f64::NAN]).is_err());
        }
        if let Ok(table) = one_way(&[&x, &y]) {
            for pair in comparison::holm(&table, p).unwrap() {
                prop_assert!((0.0..=1.0).contains(&pair.p_value) && !pair.difference.is_nan());
            }
        }
        if let Ok(adjusted) = comparison::holm_adjusted(&x) {
            prop_assert!(adjusted.iter().zip(&x).all(|(after, before)| after >= before && *after <= 1.0));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..Default::default() })]

    #[test]
    fn probabilities_rise_with_their_argument(q in 0.01..9.0_f64, k in 2..7_usize, dof in 1.0..80.0_f64, sizes in prop::collection::vec(1..9_usize, 1..4)) {
        use comparison::*;
        let (low, high) = (range_probability(q, k, dof).unwrap(), range_probability(q * 1.1, k, dof).unwrap());
        prop_assert!((0.0..=1.0).contains(&low) && low <= high);
        let (low, high) = (dunnett_probability(q, &sizes, 4, dof).unwrap(), dunnett_probability(q * 1.1, &sizes, 4, dof).unwrap());
        prop_assert!((0.0..=1.0).contains(&low) && low <= high);
        if let Ok(point) = range_quantile(Confidence::P95, k, dof) {
            prop_assert!((range_probability(point, k, dof).unwrap() - 0.95).abs() < 1e-8);
        }
    }

    #[test]
    fn draws_keep_to_their_law(half in 0.01..5.0_f64, seed in 0..1000_u64) {
        let input = [Input::within_limits("x", 1.0, half).unwrap()];
        let p = Confidence::new(0.9).unwrap();
        let drawn = monte_carlo(&input, &Correlations::none(), |[x]| x, p, 4000, seed).unwrap();
        prop_assert!(drawn.interval.low >= 1.0 - half && drawn.interval.high <= 1.0 + half);
        prop_assert!(drawn.shortest.high - drawn.shortest.low <= drawn.interval.high - drawn.interval.low + 1e-12);
        let risk = conformity::guard_band_for_risk(half.max(0.5), 0.9, 0.01).unwrap();
        prop_assert!((0.0..=1.0).contains(&risk));
    }
}
