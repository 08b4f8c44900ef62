//! Filter performance from counts (topic 8) and counting statistics (topic 10).

use loopleaf::trade::{
    counting::{self, Concentration, Counted, CountingError},
    ratio::{self, RatioError},
};

use super::{
    statistics_rows::{Row, Source, confidence, millilitres, number, numbers, topic},
    table::{Tol, Topic},
};

const PERFORMANCE: &str = "8 filter performance relations";
const COUNTING: &str = "10 counting statistics";

fn counted(count: f64, volume: f64) -> Counted {
    Counted::new(count as u64, millilitres(volume)).unwrap()
}

fn per_ml(value: f64) -> Concentration {
    Concentration::per_millilitre(value).unwrap()
}

#[test]
pub(super) fn filter_performance_agrees_with_the_published_relations() {
    let mut relations = Source::new(PERFORMANCE, "ISO 16889 relations and public examples");
    for row in topic("8") {
        performance_row(relations.of(&row), &row);
    }
    relations.finish();
}

fn performance_row(t: &mut Topic, row: &Row) {
    let id = row.id();
    match id {
        "beta-zero-downstream" => {
            let (up, down) = (counted(row.input("upstream"), 1.0), counted(row.input("downstream"), 1.0));
            t.same(id, ratio::filtration_ratio(up, down), Err(RatioError::NothingDownstream));
        }
        "downstream-dirty-equal-beta" => {
            let sides = row.inputs("upstream").into_iter().zip(row.inputs("beta"));
            for ((up, beta), want) in sides.zip(numbers(row.expected())) {
                let passed = 1.0 - ratio::efficiency_from_ratio(beta).unwrap();
                t.close(id, (up * passed).round(), want, Tol::Exact);
            }
        }
        "cum-to-diff" => {
            let cumulative: Vec<f64> = row.raw_input("cumulative").as_object().unwrap().values().map(number).collect();
            let classes = counting::differential(&cumulative).unwrap();
            for (class, want) in classes.iter().zip(row.expected().as_object().unwrap().values()) {
                t.close(id, *class, number(want), Tol::Exact);
            }
            t.same(id, counting::cumulative(&classes).unwrap(), cumulative);
        }
        "beta-diff-vs-cum" => {
            let at = |side: &str, size: &str| number(&row.raw_input(side)[size]);
            let pair = |side: &str| (at(side, "6"), at(side, "14"));
            let cumulative = ratio::ratio_of_averages(&[pair("up_cum").0], &[pair("down_cum").0]).unwrap();
            t.close(id, cumulative, row.wanted("beta_cum_6"), row.tol());
            let class = ratio::between_sizes(pair("up_cum"), pair("down_cum")).unwrap();
            t.close(id, class, row.wanted("beta_diff_6_14"), row.tol());
        }
        "beta-average" => {
            let average = ratio::ratio_of_averages(&row.inputs("up"), &row.inputs("down")).unwrap();
            t.close(id, average, row.wanted("beta_of_averages"), row.tol());
        }
        _ if id.starts_with("beta-eff") || id == "tol-16889-beta75-scope" => {
            let efficiency = ratio::efficiency_from_ratio(row.input("beta")).unwrap();
            t.close(id, 100.0 * efficiency, number(row.expected()), row.tol());
        }
        _ if id.starts_with("eff-beta") => {
            let beta = ratio::ratio_from_efficiency(row.input("efficiency_pct") / 100.0).unwrap();
            t.close(id, beta, number(row.expected()), row.tol());
        }
        _ if id.starts_with("beta-") => {
            let (up, down) = (counted(row.input("upstream"), 1.0), counted(row.input("downstream"), 1.0));
            t.close(id, ratio::filtration_ratio(up, down).unwrap(), row.wanted("beta"), row.tol());
            t.close(id, 100.0 * ratio::efficiency(up, down).unwrap(), row.wanted("eff_pct"), row.tol());
        }
        _ => panic!("{id} is checked by nothing"),
    }
}

#[test]
pub(super) fn counting_statistics_agree_with_other_peoples_programs() {
    let mut poisson = Source::new(COUNTING, "Poisson intervals (Garwood)");
    let mut ratios = Source::new(COUNTING, "ratio of two counts");
    let mut sensor = Source::new(COUNTING, "coincidence and dilution, closed forms");
    for row in topic("10") {
        match row.id().split('-').next().unwrap() {
            "poisson" | "poisson95" => poisson_row(poisson.of(&row), &row),
            "ratio" => ratio_row(ratios.of(&row), &row),
            "coinc" | "dilution" => sensor_row(sensor.of(&row), &row),
            _ => panic!("{} is checked by nothing", row.id()),
        }
    }
    poisson.finish();
    ratios.finish();
    sensor.finish();
}

fn poisson_row(t: &mut Topic, row: &Row) {
    let (id, n) = (row.id(), row.input("n") as u64);
    if id.contains("rel-sd") {
        t.close(id, 100.0 * counting::relative_standard_uncertainty(n).unwrap(), number(row.expected()), row.tol());
    } else if id.contains("onesided") {
        let bound = counting::upper_bound(n, confidence(row.input("one_sided"))).unwrap();
        t.close(id, bound, number(row.expected()), row.tol());
    } else {
        let got = counting::interval(n, confidence(row.input("confidence"))).unwrap();
        let want = numbers(row.expected());
        let tol = if want[0] == 0.0 { Tol::Exact } else { row.tol() };
        // The printed example at 99 % is rounded to whole counts.
        let printed = want.iter().all(|limit| limit.fract() == 0.0) && n > 0;
        let (low, high) = if printed { (got.low.round(), got.high.round()) } else { (got.low, got.high) };
        t.close(id, low, want[0], tol);
        t.close(id, high, want[1], row.tol());
    }
}

fn ratio_row(t: &mut Topic, row: &Row) {
    let id = row.id();
    let volume = |key: &str| row.raw_input(key).as_f64().unwrap_or(1.0);
    let up = counted(row.input("x1"), volume("t1"));
    let down = counted(row.input("x2"), volume("t2"));
    if id.starts_with("ratio-score-test") {
        let test = ratio::equal_rates(up, down).unwrap();
        t.close(id, test.z, row.wanted("z"), row.tol());
        t.close(id, test.p_value, row.wanted("p"), row.tol());
    } else if id.starts_with("ratio-score") {
        let got = ratio::score_interval(up, down, confidence(0.95)).unwrap();
        t.close(id, got.low, numbers(row.expected())[0], row.tol());
        t.close(id, got.high.unwrap(), numbers(row.expected())[1], row.tol());
    } else if id.starts_with("ratio-log-normal") {
        let got = ratio::log_normal_interval(up, down, confidence(0.95)).unwrap();
        t.close(id, got.low, numbers(row.expected())[0], row.tol());
        t.close(id, got.high, numbers(row.expected())[1], row.tol());
    } else {
        let got = ratio::interval(up, down, confidence(row.input("confidence"))).unwrap();
        t.close(id, got.low, row.wanted("lo"), row.tol());
        match got.high {
            Some(high) => {
                t.close(id, high, row.wanted("hi"), row.tol());
                t.close(id, ratio::filtration_ratio(up, down).unwrap(), row.wanted("ratio"), row.tol());
            }
            None => t.same(id, "inf", row.expected()["hi"].as_str().unwrap_or("inf")),
        }
    }
}

fn sensor_row(t: &mut Topic, row: &Row) {
    let id = row.id();
    if id.starts_with("coinc-limit") {
        let limit = counting::coincidence_limit(row.input("loss"), millilitres(1.0)).unwrap();
        t.close(id, limit.in_millilitre(), number(row.expected()), row.tol());
    } else if id.starts_with("coinc-inverse") {
        let volume = millilitres(row.input("v_mL"));
        let found = counting::true_from_measured(per_ml(row.input("measured_per_mL")), volume).unwrap();
        t.close(id, found.in_millilitre(), number(row.expected()), row.tol());
    } else if id.starts_with("coinc-") {
        let actual = row.input("true_per_mL");
        let shown = counting::measured_from_true(per_ml(actual), millilitres(row.input("v_mL"))).unwrap();
        t.close(id, shown.in_millilitre(), row.wanted("measured_per_mL"), row.tol());
        t.close(id, 100.0 * (1.0 - shown.in_millilitre() / actual), row.wanted("loss_pct"), row.tol());
    } else {
        let (mixture, diluent) = (per_ml(row.input("measured")), per_ml(row.input("diluent")));
        let sample = counting::undilute(mixture, row.input("factor"), diluent).unwrap();
        t.close(id, sample.in_millilitre(), number(row.expected()), row.tol());
    }
}

#[test]
fn refusals_say_what_is_wrong() {
    let dirty = counting::undilute(per_ml(1.0), 100.0, per_ml(2.0)).unwrap_err();
    assert_eq!(
        dirty.to_string(),
        "the diluent alone holds 2 and the mixture only 1: what is left for the sample is below zero"
    );
    let growing = counting::differential(&[5.0, 6.0]).unwrap_err();
    assert_eq!(growing, CountingError::Growing { position: 2 });
    let saturated = counting::true_from_measured(per_ml(1e6), millilitres(5e-6)).unwrap_err();
    assert!(matches!(saturated, CountingError::Saturated { .. }));
}
