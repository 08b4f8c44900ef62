//! Departures put into conforming records at random places. The injector knows nothing of the audit: it changes cells and
//! says which code should stand at which of them.

mod hand;
pub(crate) mod kinds;
mod places;
mod time;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::sync::Arc;

use indexmap::IndexMap;
use loopleaf::audit::Finding;
use loopleaf::diagnostic::Severity;
use loopleaf::plan::Plan;

use super::bench::{Bench, Sheet, bench, shipped};
use crate::found;
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

/// What a kind may change: the records of one test's runs, which it may read with their plan beside it. The first is the one to
/// spoil.
pub(crate) struct Case {
    pub(crate) campaign: &'static str,
    pub(crate) plan: Arc<Plan>,
    pub(crate) sheets: Vec<Sheet>,
}

impl Case {
    fn copy(&self) -> Case {
        Case {
            campaign: self.campaign,
            plan: Arc::clone(&self.plan),
            sheets: self.sheets.iter().map(Sheet::copy).collect(),
        }
    }

    fn protocol(&self) -> String {
        let run = self.plan.run(&self.sheets[0].run).unwrap();
        self.plan.test_of(run).unwrap().protocol.name.clone()
    }
}

/// Where a finding is due: the sheet by its index, and its rows.
pub(crate) struct Spoilt {
    pub(crate) rows: Vec<(usize, usize)>,
}

/// Campaign and the runs that are audited together.
pub(super) const SETS: [(&str, &[&str]); 6] = [
    ("bench", &["R01", "R02", "R03"]),
    ("ferry-generator-sets", &["R01", "R02", "R07"]),
    ("ferry-generator-sets", &["R08", "R09", "R10"]),
    ("ferry-generator-sets", &["R13", "R14", "R15"]),
    ("snow-plough-returns", &["R01", "R02", "R03"]),
    ("snow-plough-returns", &["R05", "R06", "R07"]),
];

/// What became of the departures of one kind.
#[derive(Default)]
struct Score {
    injected: usize,
    found: usize,
    misnamed: usize,
    lost: usize,
    /// Further critical or major findings at cells that were changed too.
    further: usize,
    /// Critical or major findings at cells that nobody touched.
    alarms: usize,
    protocols: BTreeSet<String>,
    examples: Vec<String>,
}

impl Score {
    fn add(&mut self, other: Score) {
        self.injected += other.injected;
        self.found += other.found;
        self.misnamed += other.misnamed;
        self.lost += other.lost;
        self.further += other.further;
        self.alarms += other.alarms;
        self.protocols.extend(other.protocols);
        self.examples.extend(other.examples);
    }
}

type Scores = IndexMap<&'static str, Score>;
pub(super) type Benches = BTreeMap<&'static str, (Bench, Arc<Plan>)>;

fn audit(bench: &mut Bench, sheets: &[Sheet]) -> (Vec<Finding>, Vec<String>) {
    let count = bench.sources.len();
    let names: Vec<String> =
        sheets.iter().enumerate().map(|(index, sheet)| format!("{}-{}.csv", sheet.run, count + index)).collect();
    let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
    (findings, names)
}

/// The rows that differ from those of the conforming record, by sheet and row.
fn changed(case: &Case, conforming: &Case) -> BTreeSet<(usize, usize)> {
    let mut changed = BTreeSet::new();
    for (index, sheet) in case.sheets.iter().enumerate() {
        let before = conforming.sheets.iter().find(|other| other.run == sheet.run).unwrap();
        let before: BTreeSet<&Vec<String>> = before.rows.iter().collect();
        let rows = sheet.rows.iter().enumerate().filter(|(_, row)| !before.contains(row));
        changed.extend(rows.map(|(row, _)| (index, row)));
    }
    changed
}

/// The rows, by sheet and row, at which a finding points. A sheet is a heading line and its rows.
fn places(bench: &Bench, finding: &Finding, names: &[String]) -> Vec<(usize, usize)> {
    let at = |place: &loopleaf::diagnostic::Place| {
        let source = bench.sources.get(place.source)?;
        let sheet = names.iter().position(|name| *name == source.name)?;
        Some((sheet, source.line_column(place.span.start).0.checked_sub(2)?))
    };
    finding.places.iter().filter_map(at).collect()
}

fn judge(bench: &mut Bench, kind: &Kind, case: &Case, conforming: &Case, spoilt: &Spoilt, score: &mut Score) {
    let (findings, names) = audit(bench, &case.sheets);
    let touched = changed(case, conforming);
    score.injected += 1;
    score.protocols.insert(case.protocol());
    let mut at_cell: Vec<&Finding> = Vec::new();
    let mut example = Vec::new();
    for finding in &findings {
        let places = places(bench, finding, &names);
        if places.iter().any(|at| spoilt.rows.contains(at)) {
            at_cell.push(finding);
        } else if finding.severity.rank() > 1 {
            let stray = !places.iter().any(|at| touched.contains(at));
            *(if stray { &mut score.alarms } else { &mut score.further }) += 1;
            example.push(format!(
                "{}{} {}",
                if stray { "FALSE ALARM " } else { "" },
                finding.code.id(),
                finding.message
            ));
        }
    }
    if at_cell.iter().any(|finding| finding.code.id() == kind.code) {
        score.found += 1;
    } else {
        example = findings.iter().map(|f| format!("{} {}", f.code.id(), f.message)).take(3).collect();
        *(if at_cell.is_empty() { &mut score.lost } else { &mut score.misnamed }) += 1;
        example.insert(0, if at_cell.is_empty() { "LOST" } else { "MISNAMED" }.to_owned());
    }
    if !example.is_empty() {
        example.truncate(4);
        score.examples.push(format!("{} in {} {}: {example:#?}", kind.name, case.campaign, case.sheets[0].run));
    }
}

pub(super) fn conforming(benches: &Benches, campaign: &'static str, runs: &[&str], seed: u64) -> Case {
    let (bench, plan) = &benches[campaign];
    Case { campaign, plan: Arc::clone(plan), sheets: runs.iter().map(|run| bench.conforming(run, seed)).collect() }
}

/// The benches, each read once.
pub(super) fn benches() -> Benches {
    let names = ["bench", "ferry-generator-sets", "snow-plough-returns"];
    let read = |name| {
        let bench = if name == "bench" { bench() } else { shipped(name) };
        let plan = Arc::new(bench.plan.clone());
        (name, (bench, plan))
    };
    names.into_iter().map(read).collect()
}

/// Every kind, in so many of the sets as have a place for it, from a random one on.
fn one_seed(benches: &mut Benches, seed: u64, most: usize) -> Scores {
    let mut dice = Dice(20_261_125 + seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let cases: Vec<Case> = SETS.iter().map(|(campaign, runs)| conforming(benches, campaign, runs, seed)).collect();
    let mut scores = Scores::new();
    for kind in KINDS {
        let (from, mut made) = (dice.below(SETS.len()), 0);
        for set in (from..from + SETS.len()).map(|set| set % SETS.len()) {
            let case = &cases[set];
            // Where the place that was drawn is none, another is.
            let spoilt = (0..6).find_map(|_| {
                let mut copy = case.copy();
                (kind.spoil)(&mut copy, &mut dice).map(|spoilt| (copy, spoilt))
            });
            let Some((copy, spoilt)) = spoilt else { continue };
            let (bench, _) = benches.get_mut(case.campaign).unwrap();
            judge(bench, kind, &copy, case, &spoilt, scores.entry(kind.name).or_default());
            made += 1;
            if made == most {
                break;
            }
        }
    }
    scores
}

fn each_seed(seeds: u64, most: usize) -> Scores {
    let mut scores: Scores = KINDS.iter().map(|kind| (kind.name, Score::default())).collect();
    for (name, score) in
        found::each_seed(seeds, benches, |tools, seed| one_seed(tools, seed, most)).into_iter().flatten()
    {
        scores[name].add(score);
    }
    scores
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn each_kind_of_departure_is_found_with_its_code_and_cell() {
    let every = found::every_change();
    let seeds = std::env::var("LOOPLEAF_SEEDS").ok().and_then(|s| s.parse().ok());
    let seeds = seeds.unwrap_or(if every { 20 } else { 2 });
    let scores = each_seed(seeds, 1);
    let (text, injected, found) = table(&scores);
    let mut examples = String::new();
    for example in scores.values().flat_map(|score| score.examples.iter().take(2)) {
        writeln!(examples, "{example}").unwrap();
    }
    println!("{text}{examples}{found} of {injected} found");
    if every {
        document(&scores, seeds);
    }
    assert!(found * 100 >= injected * 99, "{found} of {injected} found");
    let alarms: usize = scores.values().map(|score| score.alarms).sum();
    assert!(alarms * 100 <= injected, "{alarms} false alarms");
    for (name, score) in &scores {
        assert!(score.found > 0, "{name}: {} of {}", score.found, score.injected);
    }
    if every {
        for (name, score) in &scores {
            assert!(score.injected >= 5, "{name} was put in only {} times", score.injected);
            assert!(score.found * 100 >= score.injected * 95, "{name}: {} of {}", score.found, score.injected);
        }
    }
}

/// The whole table, with the sums of what was put in and found.
fn table(scores: &Scores) -> (String, usize, usize) {
    let mut text = "| kind | code | protocols | put in | found | misnamed | lost | further | false alarms |\n|---|---|---|---|---|---|---|---|---|\n".to_owned();
    let mut sums = [0; 6];
    for kind in KINDS {
        let s = &scores[kind.name];
        let counts = [s.injected, s.found, s.misnamed, s.lost, s.further, s.alarms];
        let [injected, found, misnamed, lost, further, alarms] = counts;
        writeln!(
            text,
            "| {} | [{2}](codes/{2}.md) | {1} | {injected} | {found} | {misnamed} | {lost} | {further} | {alarms} |",
            kind.name,
            s.protocols.len(),
            kind.code
        )
        .unwrap();
        sums.iter_mut().zip(counts).for_each(|(sum, count)| *sum += count);
    }
    let [injected, found, misnamed, lost, further, alarms] = sums;
    let protocols: BTreeSet<&String> = scores.values().flat_map(|score| &score.protocols).collect();
    writeln!(
        text,
        "| **all** | | {} | {injected} | {found} | {misnamed} | {lost} | {further} | {alarms} |",
        protocols.len()
    )
    .unwrap();
    (text, injected, found)
}

/// The page is that of the long run; the short one leaves it alone.
fn document(scores: &Scores, seeds: u64) {
    let (text, injected, found) = table(scores);
    let protocols: BTreeSet<&str> = scores.values().flat_map(|score| &score.protocols).map(String::as_str).collect();
    let protocols: Vec<&str> = protocols.into_iter().collect();
    let body = format!(
        "Conforming records of {seeds} seeds and {} protocols ({}) were made up, and each kind of departure was put at a random place of them: {injected} \
         departures, {found} found. *Found*: with the right code at the right cell. *Misnamed*: another code at that cell. *Further*: critical or major \
         findings at other cells that the same departure changed. *False alarms*: critical or major findings at cells that nobody touched. *Protocols*: in \
         how many of them it was put.\n\n{text}",
        protocols.len(),
        protocols.join(", ")
    );
    found::section(found::KINDS, &body);
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn no_conforming_run_has_a_critical_or_major_finding() {
    let mut benches = benches();
    let every = found::every_change();
    let (from, to) = if every { (101, 130) } else { (101, 103) };
    let (mut audited, mut minor, mut bad) = (0, 0, Vec::new());
    let mut runs_of: BTreeMap<String, usize> = BTreeMap::new();
    for seed in from..=to {
        for (campaign, runs) in SETS {
            let case = conforming(&benches, campaign, runs, seed);
            let (bench, _) = benches.get_mut(campaign).unwrap();
            let (findings, _) = audit(bench, &case.sheets);
            audited += case.sheets.len();
            *runs_of.entry(case.protocol()).or_default() += case.sheets.len();
            let grave = findings.iter().filter(|finding| finding.severity.rank() > 1);
            bad.extend(grave.map(|f| format!("{campaign} {runs:?} seed {seed}: {} {}", f.code.id(), f.message)));
            minor += findings.iter().filter(|finding| finding.severity == Severity::Minor).count();
        }
    }
    println!("{audited} conforming runs, {} critical or major findings, {minor} minor ones", bad.len());
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert!(minor * 20 <= audited, "{minor} minor findings in {audited} conforming runs");
    if every {
        assert!(audited >= 500, "only {audited} runs");
        let mut body = format!(
            "{audited} conforming runs of {} protocols, seeds {from} to {to}: none has a critical or major finding; {minor} minor ones in all.\n\n\
             | protocol | runs | critical or major findings |\n|---|---|---|\n",
            runs_of.len()
        );
        for (protocol, runs) in &runs_of {
            writeln!(body, "| {protocol} | {runs} | 0 |").unwrap();
        }
        found::section(found::CONFORMING, &body);
    }
}
