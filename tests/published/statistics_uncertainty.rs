//! Measurement uncertainty (topic 11): the GUM's examples, t tables, budgets, risks and guard bands.

use loopleaf::trade::{
    confidence::Confidence,
    descriptive::correlation,
    regression,
    uncertainty::{
        Budget, Correlations, DegreesOfFreedom, Dual64, DualNum, Input, Law, UncertaintyError, conformity,
        covariance_of_results, coverage_factor, monte_carlo, propagate,
    },
};

use super::{
    statistics_rows::{Row, Source, confidence, number, topic},
    table::{Tol, Topic},
};

const UNCERTAINTY: &str = "11 measurement uncertainty";

fn known(source: &str, value: f64, u: f64) -> Input {
    Input::with_standard_uncertainty(source, value, u, DegreesOfFreedom::Infinite).unwrap()
}

fn estimated(source: &str, value: f64, u: f64, dof: f64) -> Input {
    Input::with_standard_uncertainty(source, value, u, DegreesOfFreedom::Finite(dof)).unwrap()
}

fn finite(freedom: Option<DegreesOfFreedom>) -> f64 {
    match freedom {
        Some(DegreesOfFreedom::Finite(dof)) => dof,
        other => panic!("{other:?}"),
    }
}

#[test]
pub(super) fn uncertainties_agree_with_the_guide_and_its_tables() {
    let mut gum = Source::new(UNCERTAINTY, "JCGM 100:2008 (GUM) examples");
    let mut other = Source::new(UNCERTAINTY, "t and k, type B, budgets, risks and guard bands");
    let mut h2_rows = Vec::new();
    for row in topic("11") {
        let t = if row.id().starts_with("gum") { gum.of(&row) } else { other.of(&row) };
        match row.id() {
            id if id.starts_with("gum-H.2") => h2_rows.push(row),
            id if id.starts_with("gum-H.3") => example_h3(t, &row),
            id if id.starts_with("gum-H.1") => example_h1(t, &row),
            id if id.starts_with("gum") => gum_row(t, &row),
            id if id.starts_with("propagate") || id.starts_with("budget") => budget_row(t, &row),
            id if id.starts_with("tur") || id.starts_with("guardband") || id.starts_with("ilac") => {
                decision_row(t, &row)
            }
            _ => type_b_or_factor_row(t, &row),
        }
    }
    example_h2(gum.of(&h2_rows[0]), &h2_rows);
    gum.finish();
    other.finish();
}

fn gum_row(t: &mut Topic, row: &Row) {
    let (id, tol) = (row.id(), row.tol());
    match id {
        "gum-4.4.3-typeA" => {
            let mean = Input::from_readings("temperature", &row.inputs("t_C")).unwrap();
            let n = row.wanted("n");
            t.close(id, mean.value, row.wanted("mean"), tol);
            t.close(id, mean.standard_uncertainty(), row.wanted("s_mean"), tol);
            t.close(id, mean.standard_uncertainty() * n.sqrt(), row.wanted("s"), tol);
            t.same(id, mean.degrees_of_freedom, DegreesOfFreedom::Finite(n - 1.0));
        }
        "gum-4.4.5-rectangular" => {
            let (low, high) = (row.input("a_minus"), row.input("a_plus"));
            let input = Input::within_limits("limits", f64::midpoint(low, high), (high - low) / 2.0).unwrap();
            t.close(id, input.value, row.wanted("mean"), tol);
            t.close(id, input.standard_uncertainty(), row.wanted("u"), tol);
        }
        "gum-4.4.6-triangular" => {
            let u = Input::triangular("limits", 0.0, row.input("a")).unwrap().standard_uncertainty();
            t.close(id, u, number(row.expected()), tol);
        }
        "gum-G.4.1-uc" => {
            let [a, b, c] = row.inputs("u_rel_pct").try_into().unwrap();
            let inputs = [estimated("1", 100.0, a, 9.0), estimated("2", 100.0, b, 4.0), estimated("3", 100.0, c, 14.0)];
            let budget = propagate(&inputs, &Correlations::none(), |[x, y, z]| x * y * z / 1e4).unwrap();
            t.close(id, budget.combined, number(row.expected()), tol);
            // 18.9987 must enter a printed table as 19.
            assert!((finite(budget.effective_freedom) - 18.9987).abs() < 1e-3);
            let entry = budget.effective_freedom.unwrap().truncated();
            assert_eq!(entry, DegreesOfFreedom::Finite(19.0));
        }
        "gum-G.4.1-U95" => {
            let k = coverage_factor(Confidence::P95, DegreesOfFreedom::Finite(row.input("veff"))).unwrap();
            t.close(id, k, row.wanted("t95"), tol);
            t.close(id, k * row.input("uc_rel_pct"), row.wanted("U95_rel_pct"), tol);
        }
        _ => panic!("{id} is checked by nothing"),
    }
}

/// The end-gauge of H.1; `exact` takes every uncertainty as exactly known, as the second-order term does.
fn end_gauge(exact: bool) -> [Input; 8] {
    let freedom = |input: Input, dof| {
        if exact { input } else { input.with_degrees_of_freedom(dof).unwrap() }
    };
    [
        freedom(known("standard, nm", 50_000_623.0, 25.0), 18.0),
        freedom(known("repeats, nm", 215.0, 5.8), 24.0),
        freedom(known("comparator, random, nm", 0.0, 3.9), 5.0),
        freedom(known("comparator, systematic, nm", 0.0, 6.7), 8.0),
        Input::within_limits("expansion, 1/K", 11.5e-6, 2e-6).unwrap(),
        known("temperature from 20 C, K", -0.1, 0.2_f64.hypot(0.5 / 2_f64.sqrt())),
        freedom(Input::within_limits("difference of expansions, 1/K", 0.0, 1e-6).unwrap(), 50.0),
        freedom(Input::within_limits("difference of temperatures, K", 0.0, 0.05).unwrap(), 2.0),
    ]
}

fn end_gauge_length([ls, d, d1, d2, alpha, theta, d_alpha, d_theta]: [Dual64; 8]) -> Dual64 {
    ls + d + d1 + d2 - ls * (d_alpha * theta + alpha * d_theta)
}

fn example_h1(t: &mut Topic, row: &Row) {
    let (id, tol) = (row.id(), row.tol());
    let budget = propagate(&end_gauge(false), &Correlations::none(), end_gauge_length).unwrap();
    let part = |place: usize| budget.lines[place].contribution.abs();
    match id {
        "gum-H.1-components" => {
            for (place, key) in [(0, "ls"), (1, "d0"), (2, "d1"), (3, "d2"), (6, "d_alpha"), (7, "d_theta")] {
                t.close(id, part(place), row.wanted(key), tol);
            }
        }
        "gum-H.1-l" => t.close(id, budget.value, number(row.expected()), tol),
        "gum-H.1-veff" => t.close(id, finite(budget.effective_freedom), number(row.expected()), tol),
        "gum-H.1-U99" => {
            let freedom = DegreesOfFreedom::Finite(row.input("veff"));
            let k = coverage_factor(Confidence::P99, freedom).unwrap();
            t.close(id, k, row.wanted("t99"), Tol::Rel(1e-7));
            t.close(id, k * row.input("uc_nm"), row.wanted("U99"), tol);
        }
        "gum-H.1-d" => {
            let [a, b, c]: [f64; 3] = row.inputs("u_nm").try_into().unwrap();
            let [na, nb, nc]: [f64; 3] = row.inputs("dof").try_into().unwrap();
            let inputs = [estimated("0", 0.0, a, na), estimated("1", 0.0, b, nb), estimated("2", 0.0, c, nc)];
            let d = propagate(&inputs, &Correlations::none(), |[x, y, z]| x + y + z).unwrap();
            t.close(id, d.combined, row.wanted("u_d"), tol);
            t.close(id, finite(d.effective_freedom), row.wanted("veff_d"), tol);
        }
        "gum-H.1-second-order" => {
            let all = end_gauge(true);
            let drawn =
                monte_carlo(&all, &Correlations::none(), end_gauge_length, Confidence::P95, 100_000, 4406).unwrap();
            t.close(id, drawn.standard_uncertainty, number(row.expected()), tol);
        }
        _ => panic!("{id} is checked by nothing"),
    }
}

fn example_h2(t: &mut Topic, rows: &[Row]) {
    let [inputs, results] = rows else { panic!("the two rows of H.2") };
    let read = ["V", "I", "phi"].map(|key| inputs.inputs(key));
    let means = [0, 1, 2].map(|i| Input::from_readings(["V", "I", "phi"][i], &read[i]).unwrap());
    let (mean, s) = (inputs.all_wanted("mean"), inputs.all_wanted("s_mean"));
    for (place, input) in means.iter().enumerate() {
        t.close("gum-H.2 mean", input.value, mean[place], inputs.tol());
        t.close("gum-H.2 u", input.standard_uncertainty(), s[place], inputs.tol());
    }
    let mut correlations = Correlations::none();
    for ((a, b), want) in [(0, 1), (0, 2), (1, 2)].into_iter().zip(inputs.all_wanted("r_VI_Vphi_Iphi")) {
        let r = correlation(&read[a], &read[b]).unwrap();
        t.close("gum-H.2 r", r, want, inputs.tol());
        correlations = correlations.and(a, b, r).unwrap();
    }
    let budgets: [Budget; 3] = [
        propagate(&means, &correlations, |[v, i, phi]| v / i * phi.cos()).unwrap(),
        propagate(&means, &correlations, |[v, i, phi]| v / i * phi.sin()).unwrap(),
        propagate(&means, &correlations, |[v, i, _]| v / i).unwrap(),
    ];
    for (budget, (value, u)) in budgets.iter().zip([("R", "uR"), ("X", "uX"), ("Z", "uZ")]) {
        t.close("gum-H.2", budget.value, results.wanted(value), results.tol());
        t.close("gum-H.2", budget.combined, results.wanted(u), results.tol());
        assert_eq!(budget.expanded(Confidence::P95), Err(UncertaintyError::NoEffectiveFreedom));
    }
    for (a, b, key) in [(0, 1, "r_RX"), (0, 2, "r_RZ"), (1, 2, "r_XZ")] {
        let covariance = covariance_of_results(&budgets[a], &budgets[b], &correlations).unwrap();
        let r = covariance / (budgets[a].combined * budgets[b].combined);
        t.close("gum-H.2", r, results.wanted(key), results.tol());
    }
}

fn example_h3(t: &mut Topic, row: &Row) {
    let id = row.id();
    let rows = topic("11");
    let source = rows.iter().find(|row| row.id() == "gum-H.3-fit").unwrap();
    let t0 = source.input("t0");
    let from_t0: Vec<f64> = source.inputs("t_C").iter().map(|t| t - t0).collect();
    let fit = regression::line(&from_t0, &source.inputs("b_C")).unwrap();
    if id == "gum-H.3-fit" {
        let r = fit.covariance[0][1] / (fit.standard_errors[0] * fit.standard_errors[1]);
        let got = [fit.coefficients[0], fit.coefficients[1], fit.standard_errors[0], fit.standard_errors[1], r];
        for (got, key) in got.into_iter().zip(["y1", "y2", "u1", "u2", "r"]) {
            t.close(id, got, row.wanted(key), row.tol());
        }
        t.close(id, fit.residual_sd, row.wanted("s"), row.tol());
        t.close(id, fit.residual_squares, row.wanted("ssr"), row.tol());
    } else {
        let at = row.input("t_C") - t0;
        assert!(fit.predict(&[at]).is_err(), "30 C lies outside the calibration");
        let prediction = fit.extrapolate(&[at]).unwrap();
        t.close(id, prediction.value, row.wanted("b"), row.tol());
        t.close(id, prediction.standard_error, row.wanted("u"), row.tol());
    }
}

fn budget_row(t: &mut Topic, row: &Row) {
    let (id, tol) = (row.id(), row.tol());
    let pair = |key: &str| {
        let values = row.inputs(key);
        known(key, values[0], values[1])
    };
    match id {
        "propagate-beta" => {
            let inputs = [Input::counted("up", row.input("Nu") as u64), Input::counted("down", row.input("Nd") as u64)];
            let inputs = inputs.map(Result::unwrap);
            let budget = propagate(&inputs, &Correlations::none(), |[up, down]| up / down).unwrap();
            t.close(id, budget.value, row.wanted("beta"), tol);
            t.close(id, budget.combined, row.wanted("u"), tol);
            t.close(id, 100.0 * budget.combined / budget.value, row.wanted("rel_pct"), tol);
        }
        "propagate-Gb" => {
            let inputs = [pair("Gi"), pair("qi"), pair("q")];
            let budget = propagate(&inputs, &Correlations::none(), |[g, qi, q]| g * qi / q).unwrap();
            t.close(id, budget.value, row.wanted("Gb"), tol);
            t.close(id, budget.combined, row.wanted("u"), tol);
        }
        "propagate-dp-difference" => {
            let inputs = [pair("assembly"), pair("housing")];
            let budget = propagate(&inputs, &Correlations::none(), |[a, h]| a - h).unwrap();
            t.close(id, budget.value, row.wanted("dp"), tol);
            t.close(id, budget.combined, row.wanted("u"), tol);
        }
        "budget-flow-80" => {
            let inputs = [
                estimated("repeatability", 80.0, 0.35 / 6_f64.sqrt(), row.input("dof_typeA")),
                Input::from_class_of_reading("meter, 1 % of reading", 80.0, 1.0).unwrap(),
                Input::from_resolution("display", 0.0, 0.1).unwrap(),
                Input::from_certificate("calibration", 0.0, 0.4, 2.0).unwrap(),
            ];
            let model = |[mean, meter, display, calibration]: [_; 4]| mean + (meter - 80.0) + display + calibration;
            let budget = propagate(&inputs, &Correlations::none(), model).unwrap();
            t.close(id, budget.combined, row.wanted("uc"), tol);
            t.close(id, finite(budget.effective_freedom), row.wanted("veff"), tol);
            t.close(id, budget.expanded(Confidence::P95).unwrap().k, row.wanted("k"), tol);
            t.close(id, budget.expanded_by(2.0).unwrap().uncertainty, row.wanted("U"), tol);
            let again: Budget = serde_json::from_str(&serde_json::to_string(&budget).unwrap()).unwrap();
            assert_eq!(again.lines.len(), 4);
        }
        _ => panic!("{id} is checked by nothing"),
    }
}

fn type_b_or_factor_row(t: &mut Topic, row: &Row) {
    let (id, tol) = (row.id(), row.tol());
    let k = |level: &str, freedom| {
        let probability = level.parse::<f64>().unwrap() / 100.0;
        coverage_factor(confidence(probability), freedom).unwrap()
    };
    if let Some(letter) = ["t", "k"].into_iter().find(|letter| id.starts_with(&format!("{letter}-"))) {
        for (level, want) in row.expected().as_object().unwrap() {
            let got = match level.strip_prefix(letter).unwrap() {
                "95-rectangular" => 0.95 / Law::Rectangular { half_width: 1.0 }.standard_uncertainty(),
                level if letter == "t" => k(level, DegreesOfFreedom::Finite(row.input("dof"))),
                level => k(level, DegreesOfFreedom::Infinite),
            };
            t.close(id, got, number(want), tol);
        }
        return;
    }
    let input = match id {
        "divisor-u-shaped-arcsine" => Input::u_shaped("x", 0.0, row.input("half_width_or_step")),
        "divisor-resolution-full-step" => Input::from_resolution("x", 0.0, row.input("half_width_or_step")),
        _ if id.starts_with("divisor-rect") => Input::within_limits("x", 0.0, row.input("half_width_or_step")),
        _ if id.starts_with("divisor-tri") => Input::triangular("x", 0.0, row.input("half_width_or_step")),
        _ if id.starts_with("accuracy-class-gauge") => {
            Input::from_class_of_span("x", 0.0, row.input("class_pct_FS"), row.input("full_scale"))
        }
        _ if id.starts_with("accuracy-class-flow") => {
            Input::from_class_of_reading("x", row.input("reading"), row.input("class_pct_reading"))
        }
        _ if id.starts_with("accuracy-class-temp") => Input::within_limits("x", 0.0, row.input("limit")),
        _ => panic!("{id} is checked by nothing"),
    };
    t.close(id, input.unwrap().standard_uncertainty(), number(row.expected()), tol);
}

fn decision_row(t: &mut Topic, row: &Row) {
    let (id, tol) = (row.id(), row.tol());
    if id.starts_with("tur") {
        let risk = conformity::global_risk(row.input("TUR"), row.input("in_tolerance_prob"), 1.0).unwrap();
        t.close(id, 100.0 * risk.false_accept, row.wanted("PFA_pct"), tol);
        t.close(id, 100.0 * risk.false_reject, row.wanted("PFR_pct"), tol);
    } else if id.starts_with("guardband-rss") {
        t.close(id, conformity::guard_band_root(row.input("TUR")).unwrap(), number(row.expected()), tol);
    } else if id.starts_with("guardband-ilac") {
        t.close(id, conformity::guard_band_full(row.input("TUR")).unwrap(), number(row.expected()), tol);
    } else {
        // U = 2u below the limit.
        let risk = conformity::specific_risk(98.0, 100.0, 1.0).unwrap();
        t.close(id, 100.0 * risk, number(row.expected()), tol);
    }
}
