//! A series made from a conforming record, then spoilt in one place at a time.

use std::io::Cursor;

use loopleaf::diagnostic::Diagnostic;
use loopleaf::logger::Series;
use loopleaf::plan::{self, Plan, Wants};
use loopleaf::record::{self, Column, Record};
use loopleaf::rehearsal::{Character, synthetic_csv};
use loopleaf::source::{Memory, Sources};

const MAPPING: &str = "  logger bench-log \"Invented\" {
    separated by semicolon
    units below heading
    time \"when\" as date and time
    channel \"dp\" is dp-gauge, in \"kPa\"
    channel \"Q\" is turbine, in \"L/min\"
    channel \"T\" is inlet-probe, in \"°C\"
  }
";

struct Bench {
    plan: Plan,
    sources: Sources,
    records: Vec<Record>,
}

fn bench(mapping: &str) -> Bench {
    let text = include_str!("../recorded/bench.leaf")
        .replace("    mount specimen,", "    log [dp] every 1 s\n    mount specimen,")
        .replace("  rig bench\n  laboratory", &format!("{mapping}  rig bench\n  laboratory"));
    let mut sources = Sources::new();
    let loaded = plan::load("bench.leaf", &Memory::new().with("bench.leaf", text), &mut sources);
    let planned = loaded.then(|loaded| plan::bind(&loaded));
    let wrong: Vec<_> = planned.diagnostics.iter().filter(|finding| finding.severity.stops()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    let plan = planned.value.plans.into_iter().next().unwrap();
    let run = plan.runs[0].code.clone();
    let csv = synthetic_csv(&plan, &run, 11, &Character::typical(&plan, plan.run(&run).unwrap(), 11));
    let records = record::read::file("R.csv", csv.as_bytes(), &mut sources).value.into_iter().collect();
    Bench { plan, sources, records }
}

/// One row a second: time, dp, flow, temperature.
type Point = (i64, [f64; 3]);

impl Bench {
    /// Each channel stands at what will be read next (so a dwell is kept), from the first row of the record to its last.
    fn points(&self) -> Vec<Point> {
        let test = &self.plan.tests[0];
        let mut read: Vec<(i64, usize, f64)> = Vec::new();
        let mut times = Vec::new();
        let mut settings = Vec::new();
        for row in &self.records[0].rows {
            let Some(time) = row.time() else { continue };
            times.push(time.seconds);
            let (step, reading) = test
                .steps
                .iter()
                .flat_map(|step| step.readings.iter().map(move |reading| (step, reading)))
                .find(|(_, reading)| reading.path == row.text(Column::Reading))
                .unwrap();
            if matches!(step.action, plan::Action::Zero { .. }) {
                continue;
            }
            let Wants::Number(numeric) = &reading.wants else { continue };
            let names = ["dp-gauge", "turbine", "inlet-probe"];
            let Some(at) = names.iter().position(|name| numeric.instrument.as_deref() == Some(name)) else { continue };
            let Some(number) = self.records[0].value(row).number() else { continue };
            read.push((time.seconds, at, number.value));
            if numeric.window.is_some() {
                settings.push((time.seconds, at));
            }
        }
        let (first, last) = (*times.iter().min().unwrap(), *times.iter().max().unwrap());
        let value = |time: i64, at: usize| {
            let of = || read.iter().filter(move |(_, channel, _)| *channel == at);
            // What is set stands until it is set again; what is only read stands from the reading before.
            let set = settings.iter().any(|(_, channel)| *channel == at);
            let before = of().rfind(|(t, _, _)| *t <= time);
            let next = of().find(|(t, _, _)| *t >= time);
            let chosen = if set { before.or(next) } else { next.or(before) };
            chosen.map_or(0.0, |(_, _, value)| *value)
        };
        (first..=last).map(|time| (time, [value(time, 0), value(time, 1), value(time, 2)])).collect()
    }

    fn when(&self, path: &str) -> i64 {
        let row = self.records[0].rows.iter().find(|row| row.text(Column::Reading) == path);
        row.unwrap_or_else(|| panic!("no {path}")).time().unwrap().seconds
    }

    fn findings(&mut self, points: &[Point]) -> Vec<Diagnostic> {
        let mut text = String::from("when;dp;Q;T\n;kPa;L/min;°C\n");
        for (time, [dp, flow, temperature]) in points {
            let day = record::Instant { seconds: *time, grain: 1 }.text();
            text.push_str(&format!("{day};{dp};{flow};{temperature}\n"));
        }
        self.of_text(text)
    }

    fn of_text(&mut self, text: String) -> Vec<Diagnostic> {
        let mut series = Series::new(&self.plan, &self.records);
        series.file("log.csv", Cursor::new(text), &mut self.sources);
        series.findings(&mut self.sources)
    }
}

fn codes(found: &[Diagnostic]) -> Vec<&'static str> {
    let mut codes: Vec<&str> = found.iter().map(|finding| finding.code.id()).collect();
    codes.dedup();
    codes
}

#[test]
fn a_series_that_conforms_has_no_finding() {
    let mut bench = bench(MAPPING);
    let points = bench.points();
    let found = bench.findings(&points);
    assert!(found.is_empty(), "{:?}", found.iter().map(|f| &f.message).collect::<Vec<_>>());
}

/// Spoils the series and says which codes come of it, with the first message.
fn spoilt(change: impl Fn(&Bench, &mut Vec<Point>)) -> (Vec<&'static str>, String) {
    let mut bench = bench(MAPPING);
    let mut points = bench.points();
    change(&bench, &mut points);
    let found = bench.findings(&points);
    (codes(&found), found.first().map(|f| f.message.clone()).unwrap_or_default())
}

const FLOW_SET: &str = "sweep/rising/30-l-min/set-flow";
const DP_READ: &str = "sweep/rising/30-l-min/dp";

#[test]
fn a_flow_that_fell_during_the_dwell() {
    let (codes, message) = spoilt(|bench, points| {
        let read = bench.when(DP_READ).min(bench.when("sweep/rising/30-l-min/temperature"));
        points.iter_mut().filter(|p| (read - 30..read - 20).contains(&p.0)).for_each(|p| p.1[1] = 25.0);
    });
    assert_eq!(codes, ["A202"], "{message}");
    assert!(message.contains("inside 29.40 to 30.60 L/min for 21 s only, not for 60 s"), "{message}");
}

#[test]
fn a_limit_passed_between_two_readings() {
    let (codes, message) = spoilt(|bench, points| {
        let at = bench.when(FLOW_SET) + 20;
        points.iter_mut().filter(|p| (at..at + 4).contains(&p.0)).for_each(|p| p.1[0] = 230.0);
    });
    assert_eq!(codes, ["A204"], "{message}");
    assert!(message.contains("reached 230.0 kPa") && message.contains("beyond for 4 s"), "{message}");
}

#[test]
fn a_gap_a_slow_logger_and_no_logger() {
    let (codes, message) = spoilt(|bench, points| {
        let at = bench.when(FLOW_SET) + 16;
        points.retain(|p| !(at..at + 20).contains(&p.0));
    });
    assert_eq!(codes, ["A205"], "{message}");
    assert!(message.contains("no value for 21 s"), "{message}");
    let (codes, message) = spoilt(|_, points| points.retain(|p| p.0 % 5 == 0));
    assert!(codes.contains(&"A206") && !codes.contains(&"A205"), "{codes:?} {message}");
    let (codes, message) = spoilt(|_, points| points.truncate(0));
    assert!(codes.contains(&"A207"), "{codes:?} {message}");
}

#[test]
fn a_reading_that_the_series_does_not_know() {
    let (codes, message) = spoilt(|bench, points| {
        let at = bench.when(DP_READ);
        points.iter_mut().filter(|p| (at - 20..=at + 20).contains(&p.0)).for_each(|p| p.1[0] += 3.0);
    });
    assert_eq!(codes, ["A210"], "{message}");
}

#[test]
fn a_channel_that_stands_still() {
    let (codes, message) = spoilt(|bench, points| {
        let at = bench.when("sweep/rising/20-l-min/dp");
        let value = points.iter().find(|p| p.0 == at).unwrap().1[0];
        points.iter_mut().filter(|p| p.0 >= at).for_each(|p| p.1[0] = value);
    });
    assert!(codes.contains(&"A209"), "{codes:?} {message}");
}

#[test]
fn a_file_without_a_mapping_is_not_read_and_a_proposal_is_shown() {
    let mut bench = bench("");
    let found = bench.of_text("when;dp;turbine [L/min];T\n2026-09-14 08:00:00;1,5;2;3\n".to_owned());
    assert_eq!(codes(&found), ["A212"]);
    let help = found[0].help.clone();
    let help = format!("{help:?}");
    for line in [
        "separated by semicolon",
        "decimal comma",
        "time \\\"when\\\" as date and time",
        "is turbine, in \\\"L/min\\\"",
        "# channel \\\"T\\\"",
    ] {
        assert!(help.contains(line), "{line}: {help}");
    }
}
