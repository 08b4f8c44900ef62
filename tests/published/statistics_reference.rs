//! Every function against other people's libraries over random inputs.
//!
//! `reference/make_statistics.py` made `reference/statistics.json`, which names the libraries and their versions.

use loopleaf::trade::{
    anova,
    cleanliness::iso4406::ScaleNumber,
    comparison,
    confidence::Confidence,
    counting::{self, Concentration, Counted},
    descriptive, ratio, regression,
    uncertainty::{Correlations, DegreesOfFreedom, Dual64, DualNum, Input, conformity, coverage_factor, propagate},
};
use serde_json::Value;
use uom::si::{f64::Time, time::second};

use super::{
    differential::note,
    statistics_rows::{confidence, millilitres, number, numbers},
};

/// Runs `check` on every row of a section; notes how many there were and the worst deviation it returned.
fn rows(section: &str, limit: f64, check: impl Fn(&[Value]) -> f64) {
    let all: Value = serde_json::from_str(include_str!("reference/statistics.json")).unwrap();
    let rows = all[section].as_array().unwrap();
    let mut worst = 0.0_f64;
    for row in rows {
        let deviation = check(row.as_array().unwrap());
        assert!(deviation <= limit, "{section}: off by {deviation:e} in {row}");
        worst = worst.max(deviation);
    }
    assert!(!rows.is_empty());
    note(section, against(section, &all), rows.len(), worst, limit);
}

/// Which library answered, with its version; a second formulation where none has the relation.
fn against(section: &str, all: &Value) -> String {
    let library = |name: &str, what: &str| format!("{name} {}: {what}", all["made_with"][name].as_str().unwrap());
    match section {
        "poisson" | "background" | "dispersion" => library("scipy", "chi-squared law"),
        "ratio" => library("scipy", "F law"),
        "ratio_score" => library("statsmodels", "confint_poisson_2indep, test_poisson_2indep"),
        "coincidence" => library("scipy", "lambertw"),
        "iso4406" => "second formulation: Python's bisect on the printed limits".into(),
        "spectrum" => library("numpy", "cumsum"),
        "time_average" => library("numpy", "trapezoid"),
        "descriptive" => "second formulation in fractions; Python's statistics".into(),
        "correlation" => library("scipy", "pearsonr"),
        "polynomial" | "multiple" => library("statsmodels", "OLS"),
        "groups" => library("scipy", "f_oneway, studentized_range, dunnett; statsmodels' multipletests"),
        "studentized_range" | "range_quantile" => library("scipy", "studentized_range"),
        "dunnett_two" => library("scipy", "dblquad over the bivariate t density"),
        "power" => library("scipy", "non-central t law"),
        "specimens" => library("statsmodels", "TTestIndPower"),
        "propagation" => library("uncertainties", "correlated_values"),
        "student" => library("scipy", "Student's law"),
        "risk" => library("mpmath", "quad"),
        other => panic!("nobody is named for {other}"),
    }
}

/// Relative deviation, absolute below one millionth.
fn off(got: f64, want: f64) -> f64 {
    (got - want).abs() / want.abs().max(1e-6)
}

fn worst(pairs: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    pairs.into_iter().map(|(got, want)| off(got, want)).fold(
        0.0,
        |worst, one| {
            if one > worst || one.is_nan() { one } else { worst }
        },
    )
}

fn counted(count: &Value, volume: &Value) -> Counted {
    Counted::new(number(count) as u64, millilitres(number(volume))).unwrap()
}

#[test]
pub(super) fn counting_agrees_with_scipy() {
    rows("poisson", 1e-8, |row| {
        let (n, p) = (number(&row[0]) as u64, confidence(number(&row[1])));
        let both = counting::interval(n, p).unwrap();
        let (low, high) = (counting::lower_bound(n, p).unwrap(), counting::upper_bound(n, p).unwrap());
        worst([both.low, both.high, low, high].into_iter().zip(numbers(&Value::from(row[2..].to_vec()))))
    });
    rows("background", 1e-8, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        let (net, interval) = counting::subtract_background(v[0] as u64, v[1] as u64, v[2], confidence(v[3])).unwrap();
        // Limits can cancel to near zero: measured against the width.
        let width = v[7] - v[6];
        worst([(net.value, v[4]), (net.variance, v[5])])
            .max((interval.low - v[6]).abs() / width)
            .max((interval.high - v[7]).abs() / width)
    });
    rows("coincidence", 1e-7, |row| {
        let measured = Concentration::per_millilitre(number(&row[0])).unwrap();
        off(counting::true_from_measured(measured, millilitres(1.0)).unwrap().in_millilitre(), number(&row[1]))
    });
    rows("dispersion", 1e-9, |row| {
        let counts: Vec<u64> = numbers(&row[0]).into_iter().map(|n| n as u64).collect();
        let found = counting::dispersion(&counts).unwrap();
        worst([(found.index, number(&row[1])), (found.p_value, number(&row[2]))])
    });
    rows("iso4406", 0.0, |row| {
        let found = ScaleNumber::of(Concentration::per_millilitre(number(&row[0])).unwrap());
        f64::from(u8::from(found != ScaleNumber::Band(number(&row[1]) as u8)))
    });
    rows("spectrum", 1e-9, |row| {
        let (classes, sums) = (numbers(&row[0]), numbers(&row[1]));
        let back = counting::differential(&counting::cumulative(&classes).unwrap()).unwrap();
        let found = counting::cumulative(&classes).unwrap();
        let step = back.iter().zip(&classes).map(|(a, b)| (a - b).abs() / sums[0]).fold(0.0, f64::max);
        worst(found.into_iter().zip(sums)).max(step)
    });
    rows("time_average", 1e-12, |row| {
        let times: Vec<Time> = numbers(&row[0]).into_iter().map(Time::new::<second>).collect();
        off(counting::time_average(&times, &numbers(&row[1])).unwrap(), number(&row[2]))
    });
}

#[test]
pub(super) fn ratios_agree_with_scipy_and_statsmodels() {
    rows("ratio", 1e-8, |row| {
        let (up, down) = (counted(&row[0], &row[1]), counted(&row[2], &row[3]));
        let found = ratio::interval(up, down, confidence(number(&row[4]))).unwrap();
        let high = match (found.high, row[6].is_null()) {
            (Some(high), false) => off(high, number(&row[6])),
            (None, true) => 0.0,
            _ => f64::NAN,
        };
        off(found.low, number(&row[5])).max(high)
    });
    rows("ratio_score", 1e-7, |row| {
        let (up, down) = (counted(&row[0], &row[1]), counted(&row[2], &row[3]));
        let found = ratio::score_interval(up, down, Confidence::P95).unwrap();
        let test = ratio::equal_rates(up, down).unwrap();
        let got = [found.low, found.high.unwrap(), test.z, test.p_value];
        worst(got.into_iter().zip(row[4..].iter().map(number)))
    });
}

#[test]
pub(super) fn descriptions_and_fits_agree_with_fractions_and_statsmodels() {
    rows("descriptive", 1e-10, |row| {
        let x = numbers(&row[0]);
        let got = [
            descriptive::mean(&x).unwrap(),
            descriptive::standard_deviation(&x).unwrap(),
            descriptive::lag1_autocorrelation(&x).unwrap(),
            descriptive::median(&x).unwrap(),
        ];
        worst(got.into_iter().zip(row[1..5].iter().map(number)))
            // A difference of readings: good to their last digit, which reading the JSON file may change.
            .max((descriptive::median_absolute_deviation(&x).unwrap() - number(&row[5])).abs() / number(&row[1]).abs())
    });
    rows("correlation", 1e-12, |row| {
        off(descriptive::correlation(&numbers(&row[0]), &numbers(&row[1])).unwrap(), number(&row[2]))
    });
    rows("polynomial", 1e-7, |row| {
        let (x, y, degree) = (numbers(&row[0]), numbers(&row[1]), number(&row[2]) as usize);
        let fit = if row[3].as_bool().unwrap() {
            regression::polynomial(&x, &y, degree).unwrap()
        } else {
            regression::polynomial_through_origin(&x, &y, degree).unwrap()
        };
        let at = fit.predict(&[number(&row[8])]).unwrap();
        let (curve, reading) =
            (at.curve_interval(Confidence::P95).unwrap(), at.reading_interval(Confidence::P95).unwrap());
        let said = [at.value, at.standard_error, curve.low, curve.high, reading.low, reading.high];
        worst(fit.coefficients.into_iter().zip(numbers(&row[4])))
            .max(worst(fit.standard_errors.into_iter().zip(numbers(&row[5]))))
            .max(worst([(fit.residual_sd, number(&row[6])), (fit.r_squared.unwrap(), number(&row[7]))]))
            .max(worst(said.into_iter().zip(numbers(&row[9]))))
    });
    rows("multiple", 1e-8, |row| {
        let columns: Vec<Vec<f64>> = row[0].as_array().unwrap().iter().map(numbers).collect();
        let slices: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let fit = regression::multiple(&slices, &numbers(&row[1])).unwrap();
        worst(fit.coefficients.into_iter().zip(numbers(&row[2])))
            .max(worst(fit.standard_errors.into_iter().zip(numbers(&row[3]))))
            .max(off(fit.r_squared.unwrap(), number(&row[4])))
    });
}

#[test]
pub(super) fn comparisons_agree_with_scipy_and_statsmodels() {
    rows("groups", 1e-7, |row| {
        let data: Vec<Vec<f64>> = row[0].as_array().unwrap().iter().map(numbers).collect();
        let slices: Vec<&[f64]> = data.iter().map(Vec::as_slice).collect();
        let table = anova::one_way(&slices).unwrap();
        let p = |pairs: Vec<comparison::Difference>| pairs.into_iter().map(|pair| pair.p_value).collect::<Vec<f64>>();
        let tukey = p(comparison::tukey_kramer(&table, Confidence::P95).unwrap());
        let holm = p(comparison::holm(&table, Confidence::P95).unwrap());
        let dunnett = p(comparison::dunnett(&table, 0, Confidence::P95).unwrap());
        // scipy integrates Dunnett's law by quasi-random points, to about three digits.
        for (got, want) in dunnett.iter().zip(numbers(&row[7])) {
            assert!((got - want).abs() < 2e-3, "{got} against {want}");
        }
        let dof = table.within.degrees_of_freedom as f64;
        let q = comparison::range_quantile(Confidence::P95, data.len(), dof).unwrap();
        let absolute = |got: Vec<f64>, want: Vec<f64>| {
            got.into_iter().zip(want).map(|(got, want)| (got - want).abs()).fold(0.0, f64::max)
        };
        worst([(table.f, number(&row[1])), (table.p_value, number(&row[2])), (table.residual_sd, number(&row[3]))])
            .max(absolute(tukey, numbers(&row[4])))
            .max(worst(holm.into_iter().zip(numbers(&row[5]))))
            .max(off(q, number(&row[6])))
    });
    rows("studentized_range", 1e-9, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        (comparison::range_probability(v[0], v[1] as usize, v[2]).unwrap() - v[3]).abs()
    });
    rows("range_quantile", 1e-7, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        off(comparison::range_quantile(confidence(v[0]), v[1] as usize, v[2]).unwrap(), v[3])
    });
    rows("dunnett_two", 1e-9, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        let got = comparison::dunnett_probability(v[0], &[v[1] as usize, v[2] as usize], v[3] as usize, v[4]).unwrap();
        (got - v[5]).abs()
    });
    rows("power", 1e-9, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        (comparison::power(v[0], v[1] as usize, v[2] as usize, confidence(v[3])).unwrap() - v[4]).abs()
    });
    rows("specimens", 0.0, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        let n = comparison::specimens_needed(v[0], 1.0, 2, Confidence::P95, v[1]).unwrap();
        (n as f64 - v[2]).abs()
    });
}

#[test]
pub(super) fn uncertainties_agree_with_the_uncertainties_package_and_mpmath() {
    rows("propagation", 1e-10, |row| {
        let (at, u) = (numbers(&row[0]), numbers(&row[1]));
        let input = |i: usize| {
            Input::with_standard_uncertainty(&i.to_string(), at[i], u[i], DegreesOfFreedom::Infinite).unwrap()
        };
        let correlations = Correlations::none().and(0, 1, number(&row[2])).unwrap();
        let model = |[a, b, c]: [Dual64; 3]| a * b / c + (-a).exp() * b.sqrt() - c.ln().powi(2);
        let budget = propagate(&[input(0), input(1), input(2)], &correlations, model).unwrap();
        worst([(budget.value, number(&row[3])), (budget.combined, number(&row[4]))])
    });
    rows("student", 1e-10, |row| {
        let freedom = DegreesOfFreedom::Finite(number(&row[1]));
        off(coverage_factor(confidence(number(&row[0])), freedom).unwrap(), number(&row[2]))
    });
    rows("risk", 1e-10, |row| {
        let v = numbers(&Value::from(row.to_vec()));
        let risk = conformity::global_risk(v[0], v[1], v[2]).unwrap();
        (risk.false_accept - v[3]).abs().max((risk.false_reject - v[4]).abs())
    });
}
