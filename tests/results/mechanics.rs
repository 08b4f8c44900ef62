//! By-pass, anti-drain valve, bubble point, torques: against closed forms, and thin input.

use loopleaf::plan::Action;
use loopleaf::results::{MechanicalResult, Outcome, Results, RunResults};

use super::bench::{Bench, made_up, with_values};

/// The rows of a run's record, changed by the path of their reading, and read again.
fn rewritten(bench: &mut Bench, run: &str, change: impl Fn(&str, &str) -> Option<String>) -> Results {
    let character = bench.truth[run].clone();
    let csv = loopleaf::rehearsal::synthetic_csv(&bench.plan, run, 5, &character);
    let text = with_values(&csv, change);
    let read = loopleaf::record::read::file("changed.csv", text.as_bytes(), &mut bench.sources);
    let records = std::mem::replace(&mut bench.records, read.value.into_iter().collect());
    let results = bench.results();
    bench.records = records;
    results
}

fn found<'r>(results: &'r Results, run: &str, key: &str) -> &'r MechanicalResult {
    of(results, run).mechanics.iter().find(|result| result.key == key).unwrap()
}

fn of<'r>(results: &'r Results, run: &str) -> &'r RunResults {
    results.runs.iter().find(|found| found.code == run).unwrap()
}

/// m³/s and Pa of the ferry's meter and gauge.
const LITRE: f64 = 1e-3 / 60.0;
const KILOPASCAL: f64 = 1e3;

#[test]
fn what_valves_seals_and_seams_did() {
    let mut bench = made_up("ferry-generator-sets", 5, |_, character| character);
    let all = bench.results();
    let run = all.runs.iter().find(|run| !run.mechanics.is_empty()).unwrap().code.clone();
    let keys: Vec<&str> = of(&all, &run).mechanics.iter().map(|result| result.key.as_str()).collect();
    assert_eq!(keys, ["seams", "mounting/mounting-torque", "drain-back", "by-pass", "by-pass/loosening-torque"]);
    let test = bench.plan.test_of(bench.plan.run(&run).unwrap()).unwrap().clone();
    let flows: Vec<(String, f64)> = test
        .steps
        .iter()
        .filter_map(|step| match &step.action {
            Action::BypassFlow { flow, .. } => {
                Some((step.readings[0].path.rsplit_once('/').unwrap().0.to_owned(), flow.value))
            }
            _ => None,
        })
        .collect();
    assert!(flows.len() >= 5);
    let leg = |path: &str| {
        let (group, name) = path.rsplit_once('/')?;
        flows.iter().find(|(leg, _)| leg == group).map(|(_, flow)| (*flow, name.to_owned()))
    };
    // Pressure of a spring: 100 kPa and 10 kPa more for each L/min, read as flow and pressure.
    let spring = |shift: f64, path: &str| match leg(path)? {
        (flow, name) if name == "flow" => Some(format!("{:.2}", flow + shift)),
        (flow, name) if name == "dp" => Some(format!("{:.1}", 100.0 + 10.0 * (flow + shift))),
        _ => None,
    };

    // The leak of 1.5 L/min lies between readings at 0.9 and 1.9 L/min: 115 kPa on the straight line.
    let opened = rewritten(&mut bench, &run, |path, _| spring(-0.6, path));
    let by_pass = found(&opened, &run, "by-pass");
    let Outcome::Known(estimate) = &by_pass.outcome else { panic!("{:?}", by_pass.outcome) };
    assert!((estimate.value - 115.0 * KILOPASCAL).abs() < 60.0, "{estimate:?}");
    let step = estimate.sources.iter().find(|source| source.name.contains("step")).unwrap();
    // Half a step of 10 kPa, 60 % of the way: 4·0.6·0.4 of it, anywhere within.
    assert!((step.contribution - 5e3 * 0.96 / 3_f64.sqrt()).abs() < 60.0, "{step:?}");
    assert!((by_pass.curve[1].0 - 1.9 * LITRE).abs() < 0.01 * LITRE && by_pass.curve.len() == flows.len());

    // A perfectly smooth curve scatters by nothing; readings that lie d above and below it in turn depart by 2 d from the line between
    // their neighbours, and so show d √(8/3), the departure having 3/2 of the variance of a reading.
    let rough = |results: &Results| {
        let Outcome::Known(estimate) = &found(results, &run, "by-pass").outcome else { panic!() };
        estimate.sources.iter().find(|source| source.name.contains("smooth")).unwrap().contribution
    };
    assert!(rough(&opened) < 1.0, "{}", rough(&opened));
    let zigzag = rewritten(&mut bench, &run, |path, _| match leg(path)? {
        (flow, name) if name == "flow" => Some(format!("{flow:.2}")),
        (flow, name) if name == "dp" => {
            let place = flows.iter().position(|(_, other)| *other == flow)?;
            let off = if place % 2 == 0 { 0.6 } else { -0.6 };
            Some(format!("{:.1}", 100.0 + 10.0 * flow + off))
        }
        _ => None,
    });
    // The first flow is the leak itself: one reading, all of its scatter.
    assert!((rough(&zigzag) - 600.0 * (8.0_f64 / 3.0).sqrt()).abs() < 5.0, "{}", rough(&zigzag));
    assert!(found(&zigzag, &run, "by-pass").remarks.iter().any(|remark| remark.contains("was set once")));

    // Readings that lie apart by as much as they show say nothing about an opening.
    let wild = rewritten(&mut bench, &run, |path, _| match leg(path)? {
        (flow, name) if name == "flow" => Some(format!("{flow:.2}")),
        (flow, name) if name == "dp" => {
            let place = flows.iter().position(|(_, other)| *other == flow)?;
            Some(if place % 2 == 0 { "150.0" } else { "20.0" }.to_owned())
        }
        _ => None,
    });
    let Outcome::Unsaid { why } = &found(&wild, &run, "by-pass").outcome else { panic!() };
    assert!(why.contains("scatter so much"), "{why}");

    // Open at the first flow; not open at the last.
    let early = rewritten(&mut bench, &run, |path, _| spring(0.9, path));
    let Outcome::AtMost { bound, .. } = found(&early, &run, "by-pass").outcome else { panic!() };
    assert!(bound > 124.0 * KILOPASCAL && bound < 130.0 * KILOPASCAL, "{bound}");
    let late = rewritten(&mut bench, &run, |path, _| match leg(path)? {
        (_, name) if name == "flow" => Some("0.40".to_owned()),
        (flow, name) if name == "dp" => Some(format!("{:.1}", 100.0 + 10.0 * flow)),
        _ => None,
    });
    let Outcome::AtLeast { bound, .. } = found(&late, &run, "by-pass").outcome else { panic!() };
    assert!(bound < 205.0 * KILOPASCAL && bound > 190.0 * KILOPASCAL, "{bound}");

    // Flows that nobody read are taken as planned, and widen the doubt.
    let unread = rewritten(&mut bench, &run, |path, _| match leg(path)? {
        (_, name) if name == "flow" => Some(String::new()),
        _ => spring(0.0, path),
    });
    let unread = found(&unread, &run, "by-pass");
    assert!(unread.remarks.iter().any(|remark| remark.contains("not read")), "{:?}", unread.remarks);
    let none = rewritten(&mut bench, &run, |path, _| leg(path).map(|_| String::new()));
    assert!(matches!(found(&none, &run, "by-pass").outcome, Outcome::Unsaid { .. }));

    // Three repeats: mean 12 mL, standard deviation 2 mL, t of two degrees of freedom.
    let collected = std::cell::Cell::new(0);
    let drained = rewritten(&mut bench, &run, |path, _| {
        path.ends_with("/leakage").then(|| {
            collected.set(collected.get() + 1);
            ["10", "12", "14"][(collected.get() - 1) % 3].to_owned()
        })
    });
    let drained = found(&drained, &run, "drain-back");
    assert_eq!(drained.values.len(), 3);
    let Outcome::Known(estimate) = &drained.outcome else { panic!("{:?}", drained.outcome) };
    assert!((estimate.value * 1e6 - 12.0).abs() < 1e-9);
    let scatter = estimate.sources.iter().find(|source| source.name.contains("scatter")).unwrap();
    assert!((scatter.contribution * 1e6 - 2.0 / 3_f64.sqrt()).abs() < 1e-9);
    // t(0.975; 2) = 4.303: from scipy.
    assert!(estimate.interval.high * 1e6 > 12.0 + 4.302 * 2.0 / 3_f64.sqrt());
    let dry = rewritten(&mut bench, &run, |path, _| path.ends_with("/leakage").then(|| "0".to_owned()));
    let Outcome::AtMost { bound, .. } = found(&dry, &run, "drain-back").outcome else { panic!() };
    assert!(bound > 0.0 && bound < 5e-6, "{bound}");
    let once = std::cell::Cell::new(0);
    let single = rewritten(&mut bench, &run, |path, _| {
        once.set(once.get() + usize::from(path.ends_with("/leakage")));
        (path.ends_with("/leakage") && once.get() > 1).then(String::new)
    });
    let single = found(&single, &run, "drain-back");
    assert!(single.remarks.iter().any(|remark| remark.contains("One reading")), "{:?}", single.remarks);

    // 2.00 kPa under 12 mm of 785 kg/m³: 92.4 Pa of it are the liquid.
    let bubbles = |bench: &mut Bench, came: &str| {
        let results = rewritten(bench, &run, |path, _| match path.rsplit('/').next()? {
            "first-bubble" => Some("2.00".to_owned()),
            "first-bubbles" => Some(came.to_owned()),
            _ => None,
        });
        found(&results, &run, "seams").outcome.clone()
    };
    let Outcome::Known(estimate) = bubbles(&mut bench, "element") else { panic!() };
    assert!((estimate.value - (2000.0 - 785.0 * 9.80665 * 0.012)).abs() < 0.1, "{}", estimate.value);
    let Outcome::AtLeast { bound, why } = bubbles(&mut bench, "gasket") else { panic!() };
    assert!(bound < estimate.value && why.contains("gasket"));
    assert!(matches!(bubbles(&mut bench, "none"), Outcome::AtLeast { .. }));
    for fluid in bench.plan.fluids.values_mut() {
        fluid.density = None;
    }
    assert!(matches!(bubbles(&mut bench, "element"), Outcome::AtMost { bound, .. } if bound >= 2000.0));

    // What was looked at stands as it was written.
    let looks = &of(&all, &run).observations;
    assert!(looks.iter().any(|look| look.path == "seams/gasket" && look.written == "sound"), "{looks:?}");
}
