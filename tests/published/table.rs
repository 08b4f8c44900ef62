//! The harness of the published values: each topic checks its values, then answers for its rows of the table in
//! `docs/published-values.md`. One row per topic, source and tolerance.
//!
//! `LOOPLEAF_BLESS=1 cargo nextest run published` rewrites the rows; without it a row that differs fails the test.

use std::{
    cell::RefCell,
    fmt::{Debug, Write as _},
    fs::File,
    io::{Read as _, Seek as _, Write as _},
    path::PathBuf,
};

const HEAD: &str = "\
# Published values

Made by the tests (`tests/published/`); do not edit by hand. None of the expected values comes from this program.
A deviation is rounded up. A row whose source says *from memory* is a recollection: replace
it when the standard has been bought.

| topic | published source | values | worst deviation | tolerance |
| --- | --- | ---: | --- | --- |
";

thread_local! {
    /// The rows that the topics of this thread stood for.
    static MADE: RefCell<Vec<String>> = const { RefCell::new(Vec::new()) };
}

/// Rows of the table that none of the topics of this thread stood for: their topic was renamed, or nobody checks it any
/// more; the sums below the table are checked as well. Without the folder of data sets that are not shipped, their rows are not asked for.
pub(crate) fn stale(kept: impl Fn(&str) -> bool) -> Vec<String> {
    let made = MADE.take();
    let table = Table::open();
    let (living, stale): (Vec<String>, Vec<String>) =
        table.rows.iter().cloned().partition(|row| made.contains(row) || kept(row));
    let whole = page(living.clone());
    if std::env::var_os("LOOPLEAF_BLESS").is_some() {
        table.write(living);
        return Vec::new();
    }
    assert!(
        !stale.is_empty() || table.text == whole,
        "the head or the sums of docs/published-values.md are out of date"
    );
    stale
}

/// How far a value may lie from the published one. `Rel` is relative to the published value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Tol {
    Rel(f64),
    Abs(f64),
    Exact,
}

/// The values of one published source on one topic.
pub(crate) struct Topic {
    name: &'static str,
    source: String,
    checks: Vec<(f64, Tol)>,
    failures: Vec<String>,
}

impl Topic {
    pub(crate) fn new(name: &'static str, source: impl Into<String>) -> Self {
        Self { name, source: source.into(), checks: Vec::new(), failures: Vec::new() }
    }

    /// Checks a number. A `got` that is not a number never passes.
    pub(crate) fn close(&mut self, id: &str, got: f64, want: f64, tol: Tol) {
        let off = (got - want).abs();
        let (deviation, limit) = match tol {
            Tol::Rel(limit) => (if off == 0.0 { 0.0 } else { off / want.abs() }, limit),
            Tol::Abs(limit) => (off, limit),
            Tol::Exact => (off, 0.0),
        };
        self.checks.push((deviation, tol));
        if deviation.is_nan() || deviation > limit {
            self.failures.push(format!("{id}: got {got:e}, published {want:e}, off by {deviation:e} ({tol:?})"));
        }
    }

    /// Checks something that is not a number: a code, a class, a refusal.
    pub(crate) fn same<T: Debug + PartialEq>(&mut self, id: &str, got: T, want: T) {
        self.checks.push((0.0, Tol::Exact));
        if got != want {
            self.failures.push(format!("{id}: got {got:?}, published {want:?}"));
        }
    }

    /// Asserts every check and the topic's rows in the docs.
    pub(crate) fn finish(self) {
        assert!(self.failures.is_empty(), "{} ({}):\n{}", self.name, self.source, self.failures.join("\n"));
        assert!(!self.checks.is_empty(), "{} ({}) checks nothing", self.name, self.source);
        let rows = self.rows();
        MADE.with_borrow_mut(|made| made.extend(rows.iter().cloned()));
        Table::open().settle(&format!("| {} | {} | ", self.name, self.source), &rows);
    }

    fn rows(&self) -> Vec<String> {
        let mut tolerances: Vec<Tol> = Vec::new();
        for (_, tol) in &self.checks {
            if !tolerances.contains(tol) {
                tolerances.push(*tol);
            }
        }
        let row = |tol: &Tol| {
            let deviations = self.checks.iter().filter(|(_, t)| t == tol).map(|(deviation, _)| *deviation);
            let (count, worst) = deviations.fold((0, 0.0_f64), |(n, worst), deviation| (n + 1, worst.max(deviation)));
            let worst = if *tol == Tol::Exact { "0".into() } else { format!("< {:e}", rounded_up(worst)) };
            let tol = match tol {
                Tol::Rel(x) => format!("{x:e} relative"),
                Tol::Abs(x) => format!("{x:e} absolute"),
                Tol::Exact => "exact".into(),
            };
            format!("| {} | {} | {count} | {worst} | {tol} |", self.name, self.source)
        };
        tolerances.iter().map(row).collect()
    }
}

/// One digit; below 1e-9 a power of ten, and never below 1e-12, where another machine's arithmetic says something else.
pub(crate) fn rounded_up(deviation: f64) -> f64 {
    let power = deviation.max(1e-12).log10();
    if power < -9.0 {
        return 10_f64.powi(power.ceil() as i32);
    }
    let digit = (deviation / 10_f64.powi(power.floor() as i32)).floor() + 1.0;
    format!("{digit}e{}", power.floor()).parse().expect("a digit and a power")
}

/// The committed table, locked while a topic compares or rewrites its rows (tests run side by side).
struct Table {
    file: File,
    text: String,
    rows: Vec<String>,
}

impl Table {
    fn open() -> Self {
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/published-values.md");
        let mut file = File::options().read(true).write(true).create(true).truncate(false).open(path).unwrap();
        file.lock().unwrap();
        let mut text = String::new();
        file.read_to_string(&mut text).unwrap();
        let is_row =
            |line: &&str| line.starts_with("| ") && !line.starts_with("| topic |") && !line.starts_with("| --- |");
        let rows = text.lines().filter(is_row).map(String::from).collect();
        Self { file, text, rows }
    }

    fn settle(mut self, key: &str, want: &[String]) {
        let (mut mine, others): (Vec<_>, Vec<_>) = self.rows.drain(..).partition(|row| row.starts_with(key));
        let mut want = want.to_vec();
        mine.sort();
        want.sort();
        if std::env::var_os("LOOPLEAF_BLESS").is_none() {
            assert_eq!(mine, want, "docs/published-values.md is out of date: run the tests with LOOPLEAF_BLESS=1");
            return;
        }
        self.write([others, want].concat());
    }

    fn write(mut self, rows: Vec<String>) {
        self.file.set_len(0).unwrap();
        self.file.rewind().unwrap();
        self.file.write_all(page(rows).as_bytes()).unwrap();
    }
}

/// The page with these rows and their sums.
fn page(mut rows: Vec<String>) -> String {
    rows.sort();
    let mut text = String::from(HEAD);
    for row in &rows {
        writeln!(text, "{row}").unwrap();
    }
    let values = |told: &str| rows.iter().filter(|row| row.contains(told)).map(|row| count(row)).sum::<usize>();
    let (all, remembered, computed) = (values("|"), values("from memory"), values("computed in Python"));
    writeln!(
        text,
        "\nIn all: {all} values. Of these, {computed} were computed in Python from a published formula, a definition or \
         a library and {remembered} rest on memory; the other {} are printed values.",
        all - computed - remembered,
    )
    .unwrap();
    text
}

fn count(row: &str) -> usize {
    row.split('|').nth(3).and_then(|cell| cell.trim().parse().ok()).expect("a row names its number of values")
}
