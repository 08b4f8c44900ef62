//! A series made from a conforming record, then spoilt in one place at a time.

use std::io::Cursor;

use loopleaf::diagnostic::Diagnostic;
use loopleaf::logger::Series;
use loopleaf::plan::{self, Plan, Wants};
use loopleaf::record::{self, Column, Record};
use loopleaf::rehearsal::{Character, synthetic_csv};
use loopleaf::source::{Memory, Sources};

pub(super) const MAPPING: &str = "  logger bench-log \"Invented\" {
    separated by semicolon
    units below heading
    time \"when\" as date and time
    channel \"dp\" is dp-gauge, in \"kPa\"
    channel \"Q\" is turbine, in \"L/min\"
    channel \"T\" is inlet-probe, in \"°C\"
  }
";

pub(super) struct Bench {
    pub(super) plan: Plan,
    pub(super) sources: Sources,
    pub(super) records: Vec<Record>,
}

pub(super) fn bench(mapping: &str) -> Bench {
    bench_of(mapping, |text| text)
}

fn bench_of(mapping: &str, change: impl Fn(String) -> String) -> Bench {
    let text = include_str!("../recorded/bench.leaf")
        .replace("    mount specimen,", "    log [dp] every 1 s\n    mount specimen,")
        .replace("  rig bench\n  laboratory", &format!("{mapping}  rig bench\n  laboratory"));
    let text = change(text);
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
pub(super) type Point = (i64, [f64; 3]);

impl Bench {
    /// Each channel stands at what will be read next (so a dwell is kept), from the first row of the record to its last.
    pub(super) fn points(&self) -> Vec<Point> {
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

    pub(super) fn when(&self, path: &str) -> i64 {
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

/// The rows as a file, each marked with the step whose reading comes next; the clock is off by so many seconds.
fn marked(bench: &Bench, points: &[Point], off: i64, mark: impl Fn(&record::Row) -> String) -> String {
    let mut rows: Vec<(i64, String)> =
        bench.records[0].rows.iter().filter_map(|row| Some((row.time()?.seconds, mark(row)))).collect();
    rows.sort_by_key(|(time, _)| *time);
    let mut text = String::from("when;step;dp;Q;T\n;;kPa;L/min;°C\n");
    for (time, [dp, flow, temperature]) in points {
        let next = &rows[rows.partition_point(|(at, _)| at < time)].1;
        let day = record::Instant { seconds: *time + off, grain: 1 }.text();
        text.push_str(&format!("{day};{next};{dp};{flow};{temperature}\n"));
    }
    text
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

/// The plan's first settling ends by a drift of what is read after it.
fn drifting_bench() -> Bench {
    bench_of(MAPPING, |text| {
        text.replace(
            "    settle 60 s\n    read clean-dp",
            "    settle 60 s until clean-dp drifts less than 1 % in 30 s, at most 10 min\n    read clean-dp",
        )
    })
}

#[test]
fn a_reading_taken_while_it_drifted() {
    for (per_second, expected) in [(0.002, None), (0.03, Some("A203"))] {
        let mut bench = drifting_bench();
        let mut points = bench.points();
        let read = bench.when("sweep/clean-dp");
        for (time, [dp, ..]) in points.iter_mut().filter(|(time, _)| (read - 40..=read + 15).contains(time)) {
            *dp += (*time - read) as f64 * per_second;
        }
        let found: Vec<_> = bench.findings(&points).into_iter().filter(|f| f.code.id() == "A203").collect();
        assert_eq!(found.first().map(|f| f.code.id()), expected, "{per_second} kPa/s");
        if let Some(finding) = found.first() {
            // 0.03 kPa/s for 30 s is 0.9 kPa, and 1 % of some 10 kPa is a tenth of it.
            assert!(finding.message.contains("drifted 0.900 kPa in 30 s"), "{}", finding.message);
        }
    }
}

#[test]
fn a_setting_left_while_it_is_held_and_the_limits_of_it() {
    let spoil = |seconds: i64, flow: f64| {
        spoilt(move |bench, points| {
            // Behind the last reading of the dwell and before the next setting nothing but the holding is looked at.
            let after = bench.when("sweep/clean-dp") + 16;
            points.iter_mut().filter(|p| (after..after + seconds).contains(&p.0)).for_each(|p| p.1[1] = flow);
        })
    };
    let mut any = bench(MAPPING);
    let points = any.points();
    let (read, leak) = (any.when("sweep/clean-dp"), any.when("sweep/leak"));
    assert!(leak - read > 40, "the flow is held for {} s after the reading", leak - read);
    let (codes, message) = spoil(12, 35.0);
    assert_eq!(codes, ["A201"], "{message}");
    assert!(message.contains("was outside 39.20 to 40.80 L/min for 12 s"), "{message}");
    assert!(message.contains("12 s at a stretch, as far as 35.00 L/min"), "{message}");
    // Four seconds are the control at work, and so is a window that is kept.
    assert_eq!(spoil(4, 35.0).0, [""; 0]);
    assert_eq!(spoil(30, 40.5).0, [""; 0]);
    assert!(any.findings(&points).is_empty());
}

#[test]
fn a_bench_may_set_the_limits_itself() {
    let rules = "rules ours \"Ours (invented)\" {\n  threshold logger-excursion 20 s, common practice\n  threshold logger-excursion-share 30 %, common practice\n}\n\ncampaign trial";
    let mut bench = bench_of(MAPPING, |text| {
        text.replace("campaign trial", rules).replace("  rig bench\n", "  rig bench\n  rules ours\n")
    });
    let mut points = bench.points();
    let after = bench.when("sweep/clean-dp") + 16;
    points.iter_mut().filter(|p| (after..after + 12).contains(&p.0)).for_each(|p| p.1[1] = 35.0);
    let found = bench.findings(&points);
    assert!(found.is_empty(), "{:?}", found.iter().map(|f| &f.message).collect::<Vec<_>>());
}

#[test]
fn a_clock_set_back_and_rows_that_can_not_be_used_are_told_with_their_place() {
    let mut bench = bench(MAPPING);
    let points = bench.points();
    let mut lines = vec!["when;dp;Q;T".to_owned(), ";kPa;L/min;°C".to_owned()];
    for (time, [dp, flow, temperature]) in &points {
        // In row 500 the clock goes back by an hour for two rows.
        let back = if (500..502).contains(&(lines.len() - 1)) { 3600 } else { 0 };
        let day = record::Instant { seconds: *time - back, grain: 1 }.text();
        lines.push(format!("{day};{dp};{flow};{temperature}"));
    }
    lines[700].push_str(";9");
    lines[800] = lines[800].replace(';', ";x");
    let mut series = Series::new(&bench.plan, &bench.records);
    let tally = series.file("log.csv", Cursor::new(lines.join("\n")), &mut bench.sources).unwrap();
    assert_eq!(tally.rows as usize, points.len() - 2 - 1 - 1);
    let found = series.findings(&mut bench.sources);
    let said: Vec<_> =
        found.iter().map(|f| (f.code.id(), f.message.clone(), f.primary().unwrap().role.clone())).collect();
    let expected = [
        (
            "A211",
            "2 rows of `log.csv` can't be used, the first for 5 cells where the heading has 4".to_owned(),
            "line 701 of `log.csv`".to_owned(),
        ),
        (
            "A211",
            format!("`log.csv` ends in the middle of line {}", lines.len()),
            format!("line {} of `log.csv`", lines.len()),
        ),
        (
            "A208",
            "2 rows of `log.csv` lie back in time, the first 3599.0 s earlier than a row above".to_owned(),
            "line 502 of `log.csv`".to_owned(),
        ),
    ];
    assert_eq!(said, expected);
}

const MARKED: &str = "    time \"when\" as date and time\n    marker \"step\"";

fn marked_bench() -> Bench {
    bench(&MAPPING.replace("    time \"when\" as date and time", MARKED))
}

#[test]
fn markers_tie_rows_to_steps_where_the_clocks_differ() {
    let number = |row: &record::Row| row.text(Column::Step).to_owned();
    let with_run = |row: &record::Row| format!("{} {}", row.text(Column::Run), row.text(Column::Reading));
    // An hour and some seconds: nothing of the record's times fits.
    let off = 3617;
    for mark in [&number as &dyn Fn(&record::Row) -> String, &with_run] {
        let mut bench = marked_bench();
        let points = bench.points();
        let text = marked(&bench, &points, off, mark);
        let found = bench.of_text(text);
        assert!(found.is_empty(), "{:?}", found.iter().map(|f| &f.message).collect::<Vec<_>>());
        // The same spoilt dwell as without markers.
        let mut spoilt = points.clone();
        let read = bench.when(DP_READ).min(bench.when("sweep/rising/30-l-min/temperature"));
        spoilt.iter_mut().filter(|p| (read - 30..read - 20).contains(&p.0)).for_each(|p| p.1[1] = 25.0);
        let text = marked(&bench, &spoilt, off, mark);
        let found = bench.of_text(text);
        assert_eq!(codes(&found), ["A202"], "{:?}", found.iter().map(|f| &f.message).collect::<Vec<_>>());
        assert!(found[0].message.contains("for 21 s only, not for 60 s"), "{}", found[0].message);
    }
    // Without markers the times do not fit.
    let mut bench = bench(MAPPING);
    let points: Vec<Point> = bench.points().into_iter().map(|(time, values)| (time + off, values)).collect();
    assert!(!bench.findings(&points).is_empty());
}

#[test]
fn a_marker_that_names_nothing_is_told() {
    let mut bench = marked_bench();
    let points = bench.points();
    let text = marked(&bench, &points, 0, |row| match row.text(Column::Step) {
        "5" => "pause".to_owned(),
        number => number.to_owned(),
    });
    let found = bench.of_text(text);
    let unknown = found.iter().find(|f| f.code.id() == "A213").unwrap();
    assert!(unknown.message.contains("no step and no reading of run R01 by `pause`"), "{}", unknown.message);
    let text = marked(&bench, &points, 0, |_| String::new());
    let found = bench.of_text(text);
    assert_eq!(found[0].message, "the column `step` of `log.csv` marks nothing");
}

#[test]
fn what_came_before_the_damage_is_judged() {
    let mut bench = bench(MAPPING);
    let points = bench.points();
    let mut text = String::from("when;dp;Q;T\n;kPa;L/min;°C\n");
    for (time, [dp, flow, temperature]) in &points {
        let dp = if *time == bench.when(FLOW_SET) + 20 { 230.0 } else { *dp };
        let day = record::Instant { seconds: *time, grain: 1 }.text();
        text.push_str(&format!("{day};{dp};{flow};{temperature}\n"));
    }
    text.push_str(&"7".repeat(100_000));
    let found = bench.of_text(text);
    assert!(codes(&found).contains(&"A200") && codes(&found).contains(&"A204"), "{:?}", codes(&found));
    assert_eq!(found[0].message, "`log.csv`: a line is longer than 65536 bytes");
    assert_eq!(found[0].primary().unwrap().role, format!("line {} of `log.csv`", points.len() + 3));
}
