//! A large logger's file: how fast it is read and held against windows, beside the csv crate alone.
//!
//! `cargo bench --no-default-features --bench logger -- FILE ROWS` makes the file where it is missing (invented values).
#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a bench prints and may fail")]

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::time::Instant;

use loopleaf::logger::rows;
use loopleaf::plan::{Channel, LoggerFile, Origin};
use loopleaf::quantity::Unit;
use loopleaf::source::{SourceId, Span};

const CHANNELS: usize = 8;
/// The same windows as in `logger_others.py`.
const LOW: f64 = 39.2;
const HIGH: f64 = 40.8;

fn make(path: &Path, rows: u64) {
    let mut out = BufWriter::with_capacity(1 << 20, File::create(path).unwrap());
    let names: Vec<String> = (0..CHANNELS).map(|c| format!("c{c}")).collect();
    writeln!(out, "t,{}", names.join(",")).unwrap();
    let mut state = 7_u64;
    for row in 0..rows {
        write!(out, "{}.{}", row / 10, row % 10).unwrap();
        for _ in 0..CHANNELS {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            write!(out, ",{:.3}", 40.0 + ((state >> 33) % 2000) as f64 / 1000.0 - 1.0).unwrap();
        }
        out.write_all(b"\n").unwrap();
    }
}

/// Largest resident memory, in MB, where the system says it.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or_default();
    let kilobytes: f64 = line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).unwrap_or(f64::NAN);
    format!("{:.0} MB", kilobytes / 1024.0)
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let [path, rows] = arguments.as_slice() else { return println!("give FILE ROWS") };
    let (path, count): (&Path, u64) = (Path::new(path), rows.parse().unwrap());
    if !path.exists() {
        make(path, count);
    }
    let origin = Origin { source: SourceId(0), span: Span::at(0) };
    let channel = |c: usize| Channel {
        column: format!("c{c}"),
        instrument: format!("c{c}"),
        unit: Unit::parse("kPa").unwrap(),
        origin,
    };
    let layout = LoggerFile {
        name: "bench".to_owned(),
        separator: b',',
        decimal_comma: false,
        unit_row: false,
        time_column: "t".to_owned(),
        elapsed: true,
        zero: Some("2026-09-14 08:00:00".to_owned()),
        channels: (0..CHANNELS).map(channel).collect(),
        origin,
    };
    let began = Instant::now();
    let mut outside = [0_u64; CHANNELS];
    let tally = rows::read(File::open(path).unwrap(), &layout, |row| {
        for (count, value) in outside.iter_mut().zip(row.values) {
            *count += u64::from(!(LOW..=HIGH).contains(value));
        }
    });
    let seconds = began.elapsed().as_secs_f64();
    let rows = tally.map_err(|trouble| trouble.what).unwrap().rows;
    println!(
        "loopleaf: {rows} rows, {seconds:.2} s, {:.2} M rows/s, peak {}, outside {outside:?}",
        rows as f64 / seconds / 1e6,
        peak()
    );
    let began = Instant::now();
    let mut reader = csv::Reader::from_path(path).unwrap();
    let (mut record, mut outside) = (csv::ByteRecord::new(), [0_u64; CHANNELS]);
    while reader.read_byte_record(&mut record).unwrap() {
        for (count, cell) in outside.iter_mut().zip(record.iter().skip(1)) {
            let value: f64 = str::from_utf8(cell).unwrap().parse().unwrap();
            *count += u64::from(!(LOW..=HIGH).contains(&value));
        }
    }
    let seconds = began.elapsed().as_secs_f64();
    println!(
        "csv + str::parse: {seconds:.2} s, {:.2} M rows/s, peak {}, outside {outside:?}",
        rows as f64 / seconds / 1e6,
        peak()
    );
}
