//! Whole campaigns from a seed, with the truth behind them.

use std::collections::BTreeMap;
use std::sync::Mutex;

use loopleaf::audit::{self, evidence};
use loopleaf::plan::{self, Plan, Run};
use loopleaf::record::laboratory::{self, LabFile};
use loopleaf::record::{self, Record};
use loopleaf::rehearsal::{Character, laboratory_csv_of, synthetic_csv};
use loopleaf::results::{self, Course, Input, Results, RunResults};
use loopleaf::source::{Memory, SourceId, Sources};

/// A campaign with its records, as far as they are made.
pub(crate) struct Bench {
    pub(crate) plan: Plan,
    pub(crate) sources: Sources,
    pub(crate) records: Vec<Record>,
    pub(crate) laboratory: Vec<LabFile>,
    /// By run.
    pub(crate) truth: BTreeMap<String, Character>,
}

/// A campaign of the examples, bound.
pub(crate) fn campaign(folder: &str) -> (Plan, Sources) {
    static READ: Mutex<BTreeMap<String, (Plan, Sources)>> = Mutex::new(BTreeMap::new());
    READ.lock().unwrap().entry(folder.to_owned()).or_insert_with(|| bound(&files(folder), folder)).clone()
}

/// Every file of the protocols and of an example.
pub(crate) fn files(folder: &str) -> Memory {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Memory::new();
    for inside in ["protocols".to_owned(), format!("examples/{folder}")] {
        for entry in std::fs::read_dir(root.join(&inside)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|end| end == "leaf") {
                let name = format!("{inside}/{}", path.file_name().unwrap().to_str().unwrap());
                files = files.with(name, std::fs::read(path).unwrap());
            }
        }
    }
    files
}

pub(crate) fn bound(files: &Memory, folder: &str) -> (Plan, Sources) {
    let mut sources = Sources::new();
    let loaded = plan::load(&format!("examples/{folder}/campaign.leaf"), files, &mut sources);
    let planned = loaded.then(|loaded| plan::bind(&loaded));
    (planned.value.plans.into_iter().next().unwrap(), sources)
}

/// Records of every run and the laboratory's file, all made up from a seed; the truth may be changed before.
pub(crate) fn made_up(folder: &str, seed: u64, change: impl Fn(&str, Character) -> Character) -> Bench {
    let (plan, sources) = campaign(folder);
    of_plan(plan, sources, seed, change)
}

pub(crate) fn of_plan(plan: Plan, sources: Sources, seed: u64, change: impl Fn(&str, Character) -> Character) -> Bench {
    edited(plan, sources, seed, change, |_, csv| csv)
}

/// The same, with the records' text changed before they are read.
pub(crate) fn edited(
    plan: Plan,
    sources: Sources,
    seed: u64,
    change: impl Fn(&str, Character) -> Character,
    edit: impl Fn(&str, String) -> String,
) -> Bench {
    let mut bench = Bench { plan, sources, records: Vec::new(), laboratory: Vec::new(), truth: BTreeMap::new() };
    for run in &bench.plan.runs {
        let character = change(&run.specimen, Character::typical(&bench.plan, run, seed));
        let csv = edit(&run.code, synthetic_csv(&bench.plan, &run.code, seed, &character));
        let read = record::read::file(&format!("{}.csv", run.code), csv.as_bytes(), &mut bench.sources);
        bench.records.extend(read.value);
        bench.truth.insert(run.code.clone(), character);
    }
    let nature = |run: &Run| bench.truth[&run.code].clone();
    let csv = laboratory_csv_of(&bench.plan, &bench.records, seed, &nature);
    let read = laboratory::file("laboratory.csv", csv.as_bytes(), bench.plan.laboratories.values(), &mut bench.sources);
    bench.laboratory.extend(read.value);
    bench
}

/// A record's text with the value of some readings changed: `None` leaves it, an empty text empties it.
pub(crate) fn with_values(csv: &str, change: impl Fn(&str, &str) -> Option<String>) -> String {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(csv.as_bytes());
    let heading = reader.headers().unwrap().clone();
    let place = |name: &str| heading.iter().position(|cell| cell == name).unwrap();
    let (reading, value) = (place("reading"), place("value"));
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&heading).unwrap();
    for row in reader.records() {
        let row = row.unwrap();
        let changed = change(&row[reading], &row[value]);
        let cells = row.iter().enumerate().map(|(at, cell)| match &changed {
            Some(text) if at == value => text.clone(),
            _ => cell.to_owned(),
        });
        writer.write_record(cells).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

impl Bench {
    /// Results without looking for departures: the records are taken as they are.
    pub(crate) fn results(&self) -> Results {
        let input = Input { plan: &self.plan, records: &self.records, laboratory: &self.laboratory, standings: &[] };
        results::results(&input)
    }

    /// Results after the audit: open findings bar their cells.
    pub(crate) fn audited(&self) -> Results {
        let mut findings = audit::run(&self.plan, &self.records);
        findings.extend(audit::laboratory(&self.plan, &self.records, &self.laboratory));
        let (standings, _) = evidence::standings(&self.plan, &self.records, findings, SourceId(0), &[]);
        let input =
            Input { plan: &self.plan, records: &self.records, laboratory: &self.laboratory, standings: &standings };
        results::results(&input)
    }
}

/// Numbers that look drawn, the same every time: splitmix64.
pub(crate) struct Draw(pub(crate) u64);

impl Draw {
    /// From 0 to 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn normal(&mut self) -> f64 {
        let (one, two) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * two).cos()
    }

    pub(crate) fn poisson(&mut self, mean: f64) -> u64 {
        if mean > 500.0 {
            return (mean + mean.sqrt() * self.normal()).round().max(0.0) as u64;
        }
        let (limit, mut product, mut count) = ((-mean).exp(), self.uniform(), 0);
        while product > limit {
            product *= self.uniform();
            count += 1;
        }
        count
    }
}

/// What is known of a run that was done, and nothing found of it yet.
pub(crate) fn done(run: &Run) -> RunResults {
    RunResults {
        code: run.code.clone(),
        test: run.test,
        specimen: run.specimen.clone(),
        course: Course::Complete,
        date: "2026-10-05".to_owned(),
        set_aside: None,
        left_out: Vec::new(),
        restrictions: Vec::new(),
        loading: None,
        removal: None,
        mechanics: Vec::new(),
        observations: Vec::new(),
    }
}

/// A bottle behind the filter with five eighths of its particles, in counts and code: it disagrees with the run's other pairs
/// alone.
pub(crate) fn thinned(text: &str) -> String {
    let (own, thin) =
        (";27740;7722;1126;188,8;20,2;2,91;0,72;22/20/15;", ";17337;4826;703,8;118,0;12,6;1,82;0,45;21/19/14;");
    assert!(text.contains(own));
    text.replace(own, thin)
}
