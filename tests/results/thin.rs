//! Thin and wrong input: a result that says less, never a wrong number.

use loopleaf::rehearsal::Character;
use loopleaf::results::{Outcome, Results, RunResults};

use super::bench::{Bench, campaign, edited, made_up, with_values};

const FERRY: &str = "ferry-generator-sets";

fn ferry(edit: impl Fn(&str, &str, &str) -> Option<String>) -> Bench {
    let (plan, sources) = campaign(FERRY);
    let same = |_: &str, character: Character| character;
    edited(plan, sources, 7, same, |run, csv| with_values(&csv, |reading, value| edit(run, reading, value)))
}

fn run<'r>(results: &'r Results, code: &str) -> &'r RunResults {
    results.runs.iter().find(|run| run.code == code).unwrap()
}

fn is_near(found: f64, expected: f64, share: f64) -> bool {
    (found / expected - 1.0).abs() < share
}

#[test]
fn without_a_tare_the_pressure_is_that_of_the_whole_and_says_so() {
    let whole = made_up(FERRY, 7, |_, character| character);
    let bench = ferry(|run, reading, _| (run == "R01" && reading.starts_with("warm-tare/")).then(String::new));
    let results = bench.results();
    let warm = run(&results, "R01").restrictions.iter().find(|sweep| sweep.stage == "warm-sweep").unwrap();
    assert!(!warm.net && warm.tare.is_none());
    assert!(warm.remarks.iter().any(|remark| remark.contains("housing and adaptor together")), "{:?}", warm.remarks);
    let with = whole.results();
    let with =
        run(&with, "R01").restrictions.iter().find(|sweep| sweep.stage == "warm-sweep").unwrap().at.last().unwrap();
    let (with, without) = (with.1.known().unwrap().value, warm.at.last().unwrap().1.known().unwrap().value);
    assert!(without > 1.05 * with, "the housing is still in it: {with} {without}");
}

#[test]
fn a_sweep_of_three_readings_gives_no_number() {
    let bench = ferry(|run, reading, _| {
        let kept = reading.contains("/rising/16") || reading.contains("/rising/40") || reading.contains("/falling/16");
        (run == "R01" && reading.starts_with("warm-sweep/") && reading.ends_with("/dp") && !kept).then(String::new)
    });
    let results = bench.results();
    let warm = run(&results, "R01").restrictions.iter().find(|sweep| sweep.stage == "warm-sweep").unwrap();
    assert_eq!(warm.points.len(), 3);
    for (_, outcome) in &warm.at {
        assert!(matches!(outcome, Outcome::Unsaid { why } if why.contains("four")), "{outcome:?}");
    }
}

/// A gross slip that someone accepts stays in, for people decide; it must not pull the curve to itself unseen.
#[test]
fn a_reading_that_strays_is_named_and_widens_the_interval() {
    let strays = |results: &Results, code: &str| -> Vec<String> {
        let sweeps = run(results, code).restrictions.iter();
        let remarks = sweeps.flat_map(|sweep| &sweep.remarks).filter(|remark| remark.contains("it bends the curve"));
        remarks.cloned().collect()
    };
    let plain = made_up(FERRY, 7, |_, character| character).results();
    assert!(plain.runs.iter().all(|run| strays(&plain, &run.code).is_empty()));
    let at = |results: &Results| {
        let warm = run(results, "R02").restrictions.iter().find(|sweep| sweep.stage == "warm-sweep").unwrap();
        warm.at.last().unwrap().1.known().unwrap().clone()
    };
    let (true_one, share) = (at(&plain), |factor: f64| {
        ferry(move |run, reading, value| {
            let hit = run == "R02" && reading == "warm-sweep/rising/34-l-min/dp";
            hit.then(|| format!("{:.2}", value.parse::<f64>().unwrap() * factor))
        })
    });
    for factor in [0.01, 0.15, 1.7, 2.2] {
        let results = share(factor).results();
        let named = strays(&results, "R02");
        let side = if factor < 1.0 { "below" } else { "above" };
        assert!(
            matches!(&named[..], [one] if one.contains("`warm-sweep/rising/34-l-min/dp`") && one.contains(side)),
            "{factor}: {named:?}"
        );
        let found = at(&results);
        assert!(found.interval.contains(true_one.value), "{factor}: {:?}", found.interval);
        let width = |of: &loopleaf::results::Estimate| of.interval.high - of.interval.low;
        assert!(width(&found) > 10.0 * width(&true_one), "{factor}");
    }
}

#[test]
fn the_curve_is_not_drawn_beyond_its_readings() {
    let bench = ferry(|run, reading, _| {
        (run == "R01" && reading.starts_with("warm-sweep/") && reading.contains("/40-l-min/dp")).then(String::new)
    });
    let results = bench.results();
    let warm = run(&results, "R01").restrictions.iter().find(|sweep| sweep.stage == "warm-sweep").unwrap();
    let (outcomes, last) = warm.at.split_at(4);
    assert!(outcomes.iter().all(|(_, outcome)| outcome.known().is_some()));
    assert!(matches!(&last[0].1, Outcome::Unsaid { why } if why.contains("not drawn further")), "{last:?}");
}

#[test]
fn a_terminal_rise_that_was_not_reached_is_a_bound() {
    let bench = ferry(|run, reading, _| {
        (run == "R08" && (reading.starts_with("last-doses/") || reading.starts_with("close-down/"))).then(String::new)
    });
    let loading = run(&bench.results(), "R08").loading.clone().unwrap();
    let truth = bench.truth["R08"].capacity;
    match &loading.capacity {
        Outcome::AtLeast { bound, .. } => assert!(*bound < truth && *bound > 0.3 * truth, "{bound} {truth}"),
        other => panic!("{other:?}"),
    }
    assert!(loading.between.is_none());
}

#[test]
fn a_dose_that_nobody_wrote_down_ends_the_account() {
    let bench = ferry(|run, reading, _| (run == "R08" && reading == "loading/batch-3/dose").then(String::new));
    let loading = run(&bench.results(), "R08").loading.clone().unwrap();
    assert!(matches!(loading.capacity, Outcome::Unsaid { .. }), "{:?}", loading.capacity);
    assert!(matches!(loading.ledger.given, Outcome::Unsaid { .. }));
    assert!(loading.remarks.iter().any(|remark| remark.contains("loading/batch-3/dose")), "{:?}", loading.remarks);
    assert_eq!(loading.points.len(), 2, "what was known before it is still shown");
}

#[test]
fn without_the_clean_pressure_there_is_no_rise() {
    let bench = ferry(|run, reading, _| (run == "R08" && reading == "clean-filter/clean-dp").then(String::new));
    let loading = run(&bench.results(), "R08").loading.clone().unwrap();
    assert!(matches!(loading.capacity, Outcome::Unsaid { .. }), "{:?}", loading.capacity);
    assert!(loading.points.is_empty());
    assert!(
        loading.remarks.iter().any(|remark| remark.contains("clean differential pressure")),
        "{:?}",
        loading.remarks
    );
}

#[test]
fn a_cell_with_an_open_finding_is_left_out_and_listed() {
    let slip = |run: &str, reading: &str, value: &str| {
        let psi = || format!("{:.2}", value.parse::<f64>().unwrap() / 6.894_757);
        (run == "R02" && reading == "warm-sweep/rising/34-l-min/dp").then(psi)
    };
    let (slipped, honest) = (ferry(slip), ferry(|_, _, _| None));
    let (blind, seeing) = (slipped.results(), slipped.audited());
    let at = |results: &Results| {
        let sweep = run(results, "R02").restrictions.iter().find(|sweep| sweep.stage == "warm-sweep").unwrap();
        sweep.at.last().unwrap().1.known().unwrap().clone()
    };
    let truth = at(&honest.audited()).value;
    assert!(!is_near(at(&blind).value, truth, 0.01), "the slip would have moved the result");
    assert!(is_near(at(&seeing).value, truth, 0.01), "{} {truth}", at(&seeing).value);
    let left = &run(&seeing, "R02").left_out;
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!((left[0].reading.as_str(), left[0].code.as_str()), ("warm-sweep/rising/34-l-min/dp", "A136"));
}

#[test]
fn nothing_recorded_gives_runs_that_say_nothing() {
    let (plan, sources) = campaign(FERRY);
    let mut bench = edited(plan, sources, 7, |_, character| character, |_, csv| csv);
    bench.records.clear();
    bench.laboratory.clear();
    let results = bench.audited();
    assert_eq!(results.runs.len(), bench.plan.runs.len());
    for run in &results.runs {
        assert_eq!(run.course, loopleaf::results::Course::NotBegun);
        assert!(run.loading.as_ref().is_none_or(|l| l.capacity.known().is_none()));
        assert!(run.restrictions.iter().flat_map(|sweep| &sweep.at).all(|(_, outcome)| outcome.known().is_none()));
    }
}
