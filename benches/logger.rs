//! A logger's file of 20 million rows and 8 channels, held against a plan and a record, beside other programs:
//! `cargo bench --no-default-features --bench logger`.
//!
//! The file is made here (invented values; about 1.3 GB in the folder for temporary files, removed afterwards). Every program runs as a
//! process of its own, in turn, several times; the best time and the largest memory count. DuckDB and Polars are installed
//! into a virtual environment in the same folder, or taken from the Python that `LOOPLEAF_BENCH_PYTHON` names. Their answers and
//! ours must be the same. After `--`: `rows N`, `times N`, `folder PATH`.
#![expect(clippy::unwrap_used, clippy::print_stdout, clippy::panic, reason = "a bench prints and may fail")]

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use loopleaf::logger::{Series, Stretch};
use loopleaf::plan::{self, Plan, Wants};
use loopleaf::record::{self, Column, Record};
use loopleaf::rehearsal::{Character, synthetic_csv};
use loopleaf::source::{Memory, Sources};

const CHANNELS: [(&str, &str); 8] = [
    ("dp-low", "kPa"),
    ("dp-high", "kPa"),
    ("dp-wide", "kPa"),
    ("inlet-gauge", "kPa gauge"),
    ("gear-meter", "L/min"),
    ("small-gear-meter", "L/min"),
    ("inlet-probe", "°C"),
    ("room-probe", "°C"),
];
/// The campaign's first day, at which the logger's time is zero.
const DAY: &str = "2026-10-05 00:00:00";
/// Runs of the campaign that are in the file.
const RUNS: usize = 3;
/// Our own memory may not be more, in MB.
const ALLOWED: f64 = 200.0;

/// When something was read, and what.
type Read = (i64, f64);

/// The ferry example with another logger, and records of its first runs as a rehearsal predicts them.
fn campaign() -> (Plan, Vec<Record>, Sources) {
    let mut files = Memory::new();
    for folder in ["protocols", "examples/ferry-generator-sets"] {
        for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if entry.extension().is_some_and(|end| end == "leaf") {
                files = files.with(entry.to_str().unwrap(), fs::read(&entry).unwrap());
            }
        }
    }
    let path = "examples/ferry-generator-sets/campaign.leaf";
    let text = fs::read_to_string(path).unwrap();
    let (before, rest) = text.split_once("  logger bench-log").unwrap();
    let (_, after) = rest.split_once("\n  }\n").unwrap();
    let mut block = format!("  logger bench-log \"Invented\" {{\n    time \"t\" as seconds, zero at \"{DAY}\"\n");
    for (at, (instrument, unit)) in CHANNELS.iter().enumerate() {
        writeln!(block, "    channel \"c{at}\" is {instrument}, in \"{unit}\"").unwrap();
    }
    let files = files.with(path, format!("{before}{block}  }}\n{after}"));
    let mut sources = Sources::new();
    let loaded = plan::load(path, &files, &mut sources);
    let plan = loaded.then(|loaded| plan::bind(&loaded)).value.plans.into_iter().next().unwrap();
    assert_eq!(plan.campaign.loggers[0].channels.len(), CHANNELS.len());
    let records = plan.runs.iter().take(RUNS).map(|run| {
        let csv = synthetic_csv(&plan, &run.code, 11, &Character::typical(&plan, run, 11));
        record::read::file(&format!("{}.csv", run.code), csv.as_bytes(), &mut sources).value.unwrap()
    });
    let records = records.collect();
    (plan, records, sources)
}

/// Times of the records and, for each channel, what was read when; seconds since [`DAY`].
fn readings(plan: &Plan, records: &[Record]) -> ((i64, i64), Vec<Vec<Read>>) {
    let zero = record::Instant::parse(DAY).unwrap().seconds;
    let mut read = vec![Vec::new(); CHANNELS.len()];
    let (mut first, mut last) = (i64::MAX, i64::MIN);
    for record in records {
        for row in &record.rows {
            let Some(time) = row.time().map(|time| time.seconds - zero) else { continue };
            (first, last) = (first.min(time), last.max(time));
            let test = plan.test_of(plan.run(row.text(Column::Run)).unwrap()).unwrap();
            let path = row.text(Column::Reading);
            let reading = test.steps.iter().flat_map(|step| &step.readings).find(|reading| reading.path == path);
            let Some(Wants::Number(numeric)) = reading.map(|reading| &reading.wants) else { continue };
            let channel = CHANNELS.iter().position(|(name, _)| numeric.instrument.as_deref() == Some(*name));
            if let (Some(channel), Some(number)) = (channel, record.value(row).number()) {
                read[channel].push((time, number.value));
            }
        }
    }
    ((first, last), read)
}

/// Writes the series: each channel stands near what is read next.
fn make(path: &Path, rows: u64, (first, last): (i64, i64), readings: &[Vec<Read>]) {
    let mut out = BufWriter::with_capacity(1 << 20, File::create(path).unwrap());
    writeln!(out, "t,{}", (0..CHANNELS.len()).map(|c| format!("c{c}")).collect::<Vec<_>>().join(",")).unwrap();
    // In steps of 0.1 ms, so that decimals say the time exactly.
    let ticks = (last - first).unsigned_abs() * 10_000 / rows.max(1) + 1;
    let mut noise = 7_u64;
    let mut at = vec![0_usize; CHANNELS.len()];
    for row in 0..rows {
        let tick = first.unsigned_abs() * 10_000 + row * ticks;
        let (second, part) = (tick / 10_000, tick % 10_000);
        write!(out, "{second}.{part:04}").unwrap();
        for (at, read) in at.iter_mut().zip(readings) {
            while *at + 1 < read.len() && read[*at].0.unsigned_abs() < second {
                *at += 1;
            }
            noise = noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let share = (noise >> 33) as f64 / f64::from(1_u32 << 31) - 0.5;
            let value = read.get(*at).map_or(0.0, |(_, value)| *value);
            write!(out, ",{:.3}", value + share * 0.04 * value.abs().max(1.0)).unwrap();
        }
        out.write_all(b"\n").unwrap();
    }
    out.flush().unwrap();
}

fn side(bound: Option<f64>) -> String {
    bound.map(|bound| bound.to_string()).unwrap_or_default()
}

/// The stretches that others are to look at.
fn write_stretches(path: &Path, stretches: &[Stretch]) {
    let zero = record::Instant::parse(DAY).unwrap().seconds as f64;
    let mut text = String::from("purpose,column,start,end,low,high\n");
    for s in stretches {
        let (low, high) = (side(s.low), side(s.high));
        writeln!(text, "{},{},{},{},{low},{high}", s.purpose, s.column, s.start - zero, s.end - zero).unwrap();
    }
    fs::write(path, text).unwrap();
}

/// Largest resident memory of this process, in MB, where the system says it.
fn peak() -> f64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).map_or(f64::NAN, |kilobytes: f64| kilobytes / 1024.0)
}

/// Seconds of processor time that this process has used, all threads together, where the system says it.
fn processor() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // Behind the name, which may hold anything; the system counts in hundredths.
    let after = stat.rsplit(')').next().unwrap_or_default();
    let ticks = |at| after.split_whitespace().nth(at).and_then(|n| n.parse::<f64>().ok()).unwrap_or(f64::NAN);
    (ticks(11) + ticks(12)) / 100.0
}

/// The checks themselves: plan, record and file to findings.
fn ours(folder: &Path) {
    let (plan, records, mut sources) = campaign();
    let (began, before) = (Instant::now(), processor());
    let mut series = Series::new(&plan, &records);
    let file = File::open(folder.join("log.csv")).unwrap();
    let tally = series.file("log.csv", file, &mut sources).unwrap();
    let stretches = series.stretches();
    let findings = series.findings(&mut sources).len();
    let (seconds, busy) = (began.elapsed().as_secs_f64(), processor() - before);
    let mut text = String::new();
    for s in &stretches {
        let (low, high) = s.extremes.map_or((None, None), |(low, high)| (Some(low), Some(high)));
        writeln!(text, "{},{},{},{},{}", s.rows, s.outside, side(low), side(high), side(s.slope)).unwrap();
    }
    fs::write(folder.join("ours.csv"), text).unwrap();
    println!(
        "loopleaf {} ({} rows, {findings} findings)|{seconds}|{busy}|{}",
        env!("CARGO_PKG_VERSION"),
        tally.rows,
        peak()
    );
}

/// The csv crate alone: cells, or cells and numbers; no check.
fn csv_crate(folder: &Path, numbers: bool) {
    let (began, before) = (Instant::now(), processor());
    let mut reader = csv::Reader::from_path(folder.join("log.csv")).unwrap();
    let (mut record, mut sum, mut rows) = (csv::ByteRecord::new(), 0.0, 0_u64);
    while reader.read_byte_record(&mut record).unwrap() {
        rows += 1;
        if numbers {
            sum += record.iter().map(|cell| str::from_utf8(cell).unwrap().parse::<f64>().unwrap()).sum::<f64>();
        }
    }
    let (seconds, busy) = (began.elapsed().as_secs_f64(), processor() - before);
    let what = if numbers { format!("cells and numbers, sum {sum:.0}") } else { "cells only".to_owned() };
    println!("csv crate ({what}, {rows} rows)|{seconds}|{busy}|{}", peak());
}

/// What a child says of itself.
#[derive(Debug, Clone)]
struct Measured {
    name: String,
    seconds: f64,
    /// Of processor time.
    busy: f64,
    /// MB.
    peak: f64,
}

fn child(command: &mut Command) -> Option<Measured> {
    let output = command.output().ok()?;
    if !output.status.success() {
        println!("{}", String::from_utf8_lossy(&output.stderr));
        return None;
    }
    let text = String::from_utf8(output.stdout).unwrap();
    let mut parts = text.trim().split('|');
    let name = parts.next()?.to_owned();
    let mut number = || parts.next()?.parse().ok();
    Some(Measured { name, seconds: number()?, busy: number()?, peak: number()? })
}

/// A Python that has DuckDB and Polars.
fn python(folder: &Path) -> PathBuf {
    if let Some(named) = std::env::var_os("LOOPLEAF_BENCH_PYTHON") {
        return named.into();
    }
    let place = folder.join("python");
    let _ = Command::new("python3").args(["-m", "venv"]).arg(&place).status();
    let python = place.join("bin/python");
    let _ = Command::new(&python).args(["-m", "pip", "install", "--quiet", "duckdb", "polars"]).status();
    python
}

/// Whether two programs saw the same in every stretch.
fn compare(folder: &Path, other: &str) -> Result<String, String> {
    let read = |name: &str| -> Vec<Vec<Option<f64>>> {
        let text = fs::read_to_string(folder.join(format!("{name}.csv"))).unwrap_or_default();
        text.lines().map(|line| line.split(',').map(|cell| cell.trim().parse().ok()).collect()).collect()
    };
    let (ours, theirs) = (read("ours"), read(other));
    if ours.len() != theirs.len() {
        return Err(format!("{other} looked at other stretches"));
    }
    for (at, (one, two)) in ours.iter().zip(&theirs).enumerate() {
        // A slope is a sum of thousands of products, added up in another order: its last digits depend on the values' size.
        let size = one.iter().skip(2).take(2).flatten().fold(0.0_f64, |size, value| size.max(value.abs()));
        for (cell, (one, two)) in one.iter().zip(two).enumerate() {
            let same = match (one, two) {
                (Some(one), Some(two)) if cell == 4 => (one - two).abs() <= 1e-6 * one.abs() + 1e-9 * size,
                _ => one == two,
            };
            if !same {
                return Err(format!("stretch {at}, number {cell}: {one:?} here, {two:?} by {other}"));
            }
        }
    }
    Ok(format!("{other} saw the same in all {} stretches", ours.len()))
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    if let [which, folder] = arguments.as_slice() {
        let folder = Path::new(folder);
        match which.as_str() {
            "ours" => return ours(folder),
            "cells" => return csv_crate(folder, false),
            "numbers" => return csv_crate(folder, true),
            _ => {}
        }
    }
    let given = |name: &str| arguments.iter().position(|a| a == name).and_then(|at| arguments.get(at + 1)).cloned();
    let rows: u64 = given("rows").map_or(20_000_000, |rows| rows.parse().unwrap());
    let times: usize = given("times").map_or(3, |times| times.parse().unwrap());
    let folder = given("folder").map_or_else(std::env::temp_dir, PathBuf::from);
    let folder = folder.join(format!("loopleaf-logger-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let (plan, records, _) = campaign();
    let (span, readings) = readings(&plan, &records);
    let stretches = Series::new(&plan, &records).stretches();
    write_stretches(&folder.join("stretches.csv"), &stretches);
    let began = Instant::now();
    make(&folder.join("log.csv"), rows, span, &readings);
    let bytes = fs::metadata(folder.join("log.csv")).unwrap().len() as f64;
    println!(
        "{rows} rows by {} channels, {:.0} MB, {:.1} h of {RUNS} runs, {} stretches; made in {:.0} s",
        CHANNELS.len(),
        bytes / 1e6,
        (span.1 - span.0) as f64 / 3600.0,
        stretches.len(),
        began.elapsed().as_secs_f64()
    );
    let python = python(&folder);
    let me = std::env::current_exe().unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/logger_others.py");
    let programs = ["ours", "cells", "numbers", "duckdb", "polars"];
    let mut best: Vec<Option<Measured>> = vec![None; programs.len()];
    for _ in 0..times {
        for (which, best) in programs.iter().zip(&mut best) {
            let measured = match *which {
                "duckdb" | "polars" => child(Command::new(&python).arg(&script).arg(&folder).arg(which)),
                _ => child(Command::new(&me).arg(which).arg(&folder)),
            };
            *best = match (best.take(), measured) {
                (Some(old), Some(new)) => Some(Measured {
                    seconds: old.seconds.min(new.seconds),
                    busy: old.busy.min(new.busy),
                    peak: old.peak.max(new.peak),
                    name: new.name,
                }),
                (old, new) => old.or(new),
            };
        }
    }
    println!("best of {times}, each in turn:\n");
    println!("| | s | million rows/s | MB/s | processor s | peak MB |\n|---|---|---|---|---|---|");
    for Measured { name, seconds, busy, peak } in best.iter().flatten() {
        let (million, speed) = (rows as f64 / seconds / 1e6, bytes / seconds / 1e6);
        println!("| {name} | {seconds:.2} | {million:.1} | {speed:.0} | {busy:.2} | {peak:.0} |");
    }
    let others = programs.iter().zip(&best).skip(3).filter(|(_, best)| best.is_some());
    let compared: Vec<_> = others.map(|(which, _)| compare(&folder, which)).collect();
    fs::remove_dir_all(&folder).unwrap();
    for same in compared {
        println!("{}", same.unwrap());
    }
    match &best[0] {
        Some(Measured { peak, .. }) if *peak < ALLOWED => {}
        other => panic!("less than {ALLOWED} MB are allowed: {other:?}"),
    }
}
