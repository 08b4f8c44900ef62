//! Departures put into conforming records at random places. The injector knows nothing of the audit: it changes cells and
//! says which code should stand at which of them.

mod hand;
pub(crate) mod kinds;
mod time;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use indexmap::IndexMap;
use loopleaf::audit::Finding;
use loopleaf::diagnostic::Severity;

use super::bench::{Bench, Sheet, bench, shipped};
use kinds::{KINDS, Kind};

/// Chance of its own, so that the test does not lean on the code that it tests.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % end.max(1)
    }

    pub(crate) fn pick<'a, T>(&mut self, among: &'a [T]) -> Option<&'a T> {
        if among.is_empty() { None } else { among.get(self.below(among.len())) }
    }
}

/// What a kind may change: the records of one test's runs. The first is the one to spoil.
pub(crate) struct Case {
    pub(crate) campaign: &'static str,
    pub(crate) sheets: Vec<Sheet>,
}

/// Where a finding is due: the sheet by its index, and its rows.
pub(crate) struct Spoilt {
    pub(crate) rows: Vec<(usize, usize)>,
}

/// Campaign and the runs that are audited together.
const SETS: [(&str, &[&str]); 6] = [
    ("bench", &["R01", "R02", "R03"]),
    ("ferry-generator-sets", &["R01", "R02", "R07"]),
    ("ferry-generator-sets", &["R08", "R09", "R10"]),
    ("ferry-generator-sets", &["R13", "R14", "R15"]),
    ("snow-plough-returns", &["R01", "R02", "R03"]),
    ("snow-plough-returns", &["R05", "R06", "R07"]),
];

#[derive(Default)]
struct Score {
    injected: usize,
    found: usize,
    misnamed: usize,
    lost: usize,
    /// Further critical or major findings elsewhere.
    alarms: usize,
    examples: Vec<String>,
}

fn every_change() -> bool {
    std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_some()
}

/// The line of a sheet's row in its file: a heading line, then the rows.
fn touches(bench: &Bench, finding: &Finding, names: &[String], at: (usize, usize)) -> bool {
    finding.places.iter().any(|place| {
        let source = bench.sources.get(place.source).unwrap();
        names.get(at.0) == Some(&source.name) && source.line_column(place.span.start).0 == at.1 + 2
    })
}

fn audit(bench: &mut Bench, sheets: &[Sheet]) -> (Vec<Finding>, Vec<String>) {
    let count = bench.sources.len();
    let names: Vec<String> =
        sheets.iter().enumerate().map(|(index, sheet)| format!("{}-{}.csv", sheet.run, count + index)).collect();
    let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
    (findings, names)
}

fn judge(bench: &mut Bench, kind: &Kind, case: &Case, spoilt: &Spoilt, score: &mut Score) {
    let (findings, names) = audit(bench, &case.sheets);
    score.injected += 1;
    let here = |finding: &&Finding| spoilt.rows.iter().any(|at| touches(bench, finding, &names, *at));
    let at_cell: Vec<&Finding> = findings.iter().filter(here).collect();
    if at_cell.iter().any(|finding| finding.code.id() == kind.code) {
        score.found += 1;
    } else {
        let told: Vec<String> = findings.iter().map(|f| format!("{} {}", f.code.id(), f.message)).take(3).collect();
        if at_cell.is_empty() {
            score.lost += 1
        } else {
            score.misnamed += 1
        }
        score.examples.push(format!("{} in {} {}: {told:?}", kind.name, case.campaign, case.sheets[0].run));
    }
    let others = findings.iter().filter(|finding| finding.severity.rank() > 1 && !here(finding));
    score.alarms += others.count();
}

fn conforming(bench: &Bench, campaign: &'static str, runs: &[&str], seed: u64) -> Case {
    Case { campaign, sheets: runs.iter().map(|run| bench.conforming(run, seed)).collect() }
}

/// The benches, each read once.
fn benches() -> BTreeMap<&'static str, Bench> {
    let names = ["bench", "ferry-generator-sets", "snow-plough-returns"];
    names.into_iter().map(|name| (name, if name == "bench" { bench() } else { shipped(name) })).collect()
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn each_kind_of_departure_is_found_with_its_code_and_cell() {
    let mut benches = benches();
    let seeds = std::env::var("LOOPLEAF_SEEDS").ok().and_then(|s| s.parse().ok());
    let seeds = seeds.unwrap_or(if every_change() { 20 } else { 3 });
    let mut dice = Dice(20_261_125);
    let mut scores: IndexMap<&str, Score> = IndexMap::new();
    for seed in 1..=seeds {
        for (set, (campaign, runs)) in SETS.iter().enumerate() {
            let bench = benches.get_mut(campaign).unwrap();
            let case = conforming(bench, campaign, runs, seed);
            for (index, kind) in KINDS.iter().enumerate() {
                // A kind is tried on some of the sets a seed, on all of them over the seeds.
                if (index + set + usize::try_from(seed).unwrap()) % SETS.len() >= 1 {
                    continue;
                }
                let mut spoilt_case = Case { campaign, sheets: case.sheets.iter().map(Sheet::copy).collect() };
                let Some(spoilt) = (kind.spoil)(&mut spoilt_case, &mut dice) else { continue };
                judge(bench, kind, &spoilt_case, &spoilt, scores.entry(kind.name).or_default());
            }
        }
    }
    let mut table = format!(
        "{:<46}{:>6}{:>9}{:>7}{:>10}{:>6}{:>8}\n",
        "kind", "code", "injected", "found", "misnamed", "lost", "alarms"
    );
    let (mut injected, mut found) = (0, 0);
    for kind in KINDS {
        let none = Score::default();
        let s = scores.get(kind.name).unwrap_or(&none);
        writeln!(
            table,
            "{:<46}{:>6}{:>9}{:>7}{:>10}{:>6}{:>8}",
            kind.name, kind.code, s.injected, s.found, s.misnamed, s.lost, s.alarms
        )
        .unwrap();
        injected += s.injected;
        found += s.found;
    }
    println!("{table}{found} of {injected} found");
    let mut examples = String::new();
    for example in scores.values().flat_map(|score| score.examples.iter().take(2)) {
        writeln!(examples, "{example}").unwrap();
    }
    println!("{examples}");
    if every_change() {
        document(&scores, seeds);
        let silent: Vec<&str> = KINDS.iter().map(|kind| kind.name).filter(|name| !scores.contains_key(name)).collect();
        assert!(silent.is_empty(), "never injected: {silent:?}");
    }
    assert!(found * 100 >= injected * 99, "{found} of {injected}:\n{table}\n{examples}");
}

/// The table in the docs is that of the long run; the short one only reads it.
fn document(scores: &IndexMap<&str, Score>, seeds: u64) {
    let mut page = format!(
        "# Departures put in, and departures found\n\nMade by the tests (`LOOPLEAF_EVERY_CHANGE=1 cargo nextest run departure`): into conforming records of five \
         protocols and {seeds} seeds each kind of departure is put at random places, by a test that knows nothing of the audit. *Found*: with the right code \
         at the right cell. *Further*: critical or major findings at other cells of the same records, most of them consequences.\n\n\
         | kind | code | put in | found | misnamed | lost | further |\n|---|---|---|---|---|---|---|\n",
    );
    for kind in KINDS {
        let none = Score::default();
        let s = scores.get(kind.name).unwrap_or(&none);
        writeln!(
            page,
            "| {} | [{2}](codes/{2}.md) | {1} | {3} | {4} | {5} | {6} |",
            kind.name, s.injected, kind.code, s.found, s.misnamed, s.lost, s.alarms
        )
        .unwrap();
    }
    let target = crate::shipped::root().join("docs/departures-found.md");
    if crate::shipped::bless() {
        std::fs::write(&target, &page).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&target).unwrap_or_default(), page, "LOOPLEAF_BLESS=1 writes it anew");
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn no_conforming_run_has_a_critical_or_major_finding() {
    let mut benches = benches();
    let seeds = if every_change() { 101..=130 } else { 101..=103 };
    let (mut audited, mut minor) = (0, 0);
    for seed in seeds {
        for (campaign, runs) in SETS {
            let bench = benches.get_mut(campaign).unwrap();
            let case = conforming(bench, campaign, runs, seed);
            let (findings, _) = audit(bench, &case.sheets);
            audited += case.sheets.len();
            let grave: Vec<&Finding> = findings.iter().filter(|finding| finding.severity.rank() > 1).collect();
            assert!(
                grave.is_empty(),
                "{campaign} {runs:?} seed {seed}: {:?}",
                grave.iter().map(|f| &f.message).collect::<Vec<_>>()
            );
            minor += findings.iter().filter(|finding| finding.severity == Severity::Minor).count();
        }
    }
    println!("{audited} conforming runs, no critical or major finding, {minor} minor ones");
    assert!(minor * 20 <= audited, "{minor} minor findings in {audited} conforming runs");
}
