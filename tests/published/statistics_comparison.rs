//! Comparison of groups against published examples and tables.

use loopleaf::trade::{anova, comparison, confidence::Confidence};

use super::{
    statistics_rows::confidence,
    table::{Tol, Topic},
};

const COMPARISON: &str = "9 comparison of specimens";

const CONTROL: [f64; 10] = [4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14];
const FIRST: [f64; 10] = [4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69];
const SECOND: [f64; 10] = [6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26];

/// Dobson's plant weights, the worked example of many textbooks and of R's manual.
#[test]
pub(super) fn plant_weights_give_the_printed_comparison() {
    let mut t = Topic::new(COMPARISON, "Dobson (1983) plant weights, as printed by R, *from memory*");
    let table = anova::one_way(&[&CONTROL, &FIRST, &SECOND]).unwrap();
    t.close("F", table.f, 4.846, Tol::Abs(5e-4));
    t.close("p", table.p_value, 0.01591, Tol::Abs(5e-6));
    let pairs = comparison::tukey_kramer(&table, Confidence::P95).unwrap();
    let printed = [
        (0.371, -0.320_216_1, 1.062_216_1, 0.390_871_1, false),
        (-0.494, -1.185_216_1, 0.197_216_1, 0.197_996_0, false),
        (-0.865, -1.556_216_1, -0.173_783_9, 0.012_006_4, true),
    ];
    for (pair, (difference, low, high, p, differs)) in pairs.iter().zip(printed) {
        let interval = pair.interval.unwrap();
        t.close("difference", pair.difference, difference, Tol::Abs(1e-7));
        t.close("low", interval.low, low, Tol::Abs(1e-7));
        t.close("high", interval.high, high, Tol::Abs(1e-7));
        t.close("p", pair.p_value, p, Tol::Abs(1e-7));
        t.same("differs", pair.differs, differs);
    }
    let means: Vec<f64> = table.groups.iter().map(|group| group.mean).collect();
    let ties = comparison::groups(&means, &pairs).unwrap();
    t.same("letters", ties.letters, vec!["ab".to_string(), "b".into(), "a".into()]);
    t.finish();
}

/// Upper points of the studentized range, as printed in statistical tables to two or three decimals.
#[test]
pub(super) fn studentized_range_points_agree_with_the_printed_tables() {
    let mut t = Topic::new(COMPARISON, "upper points of the studentized range in printed tables, *from memory*");
    let printed = [
        (0.95, 2, 10.0, 3.151),
        (0.95, 3, 10.0, 3.877),
        (0.95, 3, 20.0, 3.578),
        (0.95, 4, 16.0, 4.046),
        (0.95, 5, 20.0, 4.232),
        (0.99, 3, 10.0, 5.270),
    ];
    for (p, groups, dof, want) in printed {
        let got = comparison::range_quantile(confidence(p), groups, dof).unwrap();
        t.close("q", got, want, Tol::Abs(1e-3));
    }
    t.finish();
}

/// Two-sided 5 % points of Dunnett's test, as printed to two decimals.
#[test]
pub(super) fn dunnett_points_agree_with_the_printed_tables() {
    let mut t = Topic::new(COMPARISON, "two-sided 5 % points of Dunnett's test in printed tables, *from memory*");
    for (groups, dof, want) in [(2, 10.0, 2.57), (2, 20.0, 2.38), (3, 20.0, 2.54), (4, 20.0, 2.65)] {
        let p = |d: f64| comparison::dunnett_probability(d, &vec![8; groups], 8, dof).unwrap();
        t.same("d", p(want - 0.005) < 0.95 && p(want + 0.005) > 0.95, true);
    }
    t.finish();
}
