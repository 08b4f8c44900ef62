//! The small bench of `bench.leaf`, and a conforming record of it to spoil.

use std::sync::LazyLock;

use loopleaf::audit::{self, Finding};
use loopleaf::diagnostic::render;
use loopleaf::plan::{self, Plan};
use loopleaf::record::{self, Column, Record, form};
use loopleaf::rehearsal::{Character, synthetic_csv};
use loopleaf::source::{Memory, Sources};

/// A plan with the texts that it was made from.
pub(super) struct Bench {
    pub(super) plan: Plan,
    pub(super) sources: Sources,
}

/// The bench of `bench.leaf`.
pub(super) fn bench() -> Bench {
    static BOUND: LazyLock<Bench> = LazyLock::new(|| bound(include_str!("bench.leaf")));
    Bench { plan: BOUND.plan.clone(), sources: BOUND.sources.clone() }
}

/// The bench of `bench.leaf` with some of its words changed.
pub(super) fn altered(changes: &[(&str, &str)]) -> Bench {
    let mut text = include_str!("bench.leaf").to_owned();
    for (before, after) in changes {
        assert!(text.contains(before), "no `{before}` in bench.leaf");
        text = text.replacen(before, after, 1);
    }
    bound(&text)
}

/// The only campaign of a text.
fn bound(text: &str) -> Bench {
    made("bench.leaf", &Memory::new().with("bench.leaf", text))
}

/// The campaign of an example that ships with the tool.
pub(super) fn shipped(folder: &str) -> Bench {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Memory::new();
    for inside in ["protocols".to_owned(), format!("examples/{folder}")] {
        let mut paths: Vec<_> =
            std::fs::read_dir(root.join(&inside)).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        for path in paths.into_iter().filter(|path| path.extension().is_some_and(|end| end == "leaf")) {
            let name = format!("{inside}/{}", path.file_name().unwrap().to_str().unwrap());
            files = files.with(name, std::fs::read(path).unwrap());
        }
    }
    made(&format!("examples/{folder}/campaign.leaf"), &files)
}

fn made(entry: &str, files: &Memory) -> Bench {
    let mut sources = Sources::new();
    let loaded = plan::load(entry, files, &mut sources);
    let planned = loaded.then(|loaded| plan::bind(&loaded));
    let stopping: Vec<_> = planned.diagnostics.iter().filter(|finding| finding.severity.stops()).collect();
    assert!(
        stopping.is_empty(),
        "{}",
        stopping.iter().map(|finding| format!("{} {:?}\n", finding.message, finding.help)).collect::<String>()
    );
    let plan = planned.value.plans.into_iter().next().unwrap();
    Bench { plan, sources }
}

/// A record as rows of texts, to be changed cell by cell.
pub(crate) struct Sheet {
    pub(super) run: String,
    pub(super) rows: Vec<Vec<String>>,
}

impl Bench {
    pub(super) fn conforming(&self, run: &str, seed: u64) -> Sheet {
        let character = Character::typical(&self.plan, self.plan.run(run).unwrap(), seed);
        self.made_up(run, seed, &character)
    }

    pub(super) fn made_up(&self, run: &str, seed: u64, character: &Character) -> Sheet {
        self.sheet(run, &synthetic_csv(&self.plan, run, seed, character))
    }

    fn sheet(&self, run: &str, csv: &str) -> Sheet {
        let body: String = csv.lines().filter(|line| !line.starts_with('#')).map(|line| format!("{line}\n")).collect();
        let mut reader = csv::Reader::from_reader(body.as_bytes());
        let rows = reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect());
        Sheet { run: run.to_owned(), rows: rows.collect() }
    }

    pub(super) fn read(&mut self, name: &str, text: &str) -> Record {
        let read = record::read::file(name, text.as_bytes(), &mut self.sources);
        assert!(read.diagnostics.is_empty(), "{:?}", read.diagnostics);
        read.value.unwrap()
    }

    pub(super) fn audit(&mut self, sheets: &[&Sheet]) -> Vec<Finding> {
        let count = self.sources.len();
        let records: Vec<Record> = sheets
            .iter()
            .enumerate()
            .map(|(index, sheet)| self.read(&format!("{}-{}.csv", sheet.run, count + index), &sheet.csv()))
            .collect();
        audit::run(&self.plan, &records)
    }

    /// Every finding as a person would read it.
    pub(super) fn shown(&self, findings: &[Finding]) -> String {
        render::human(findings, &self.sources, render::Style::default())
    }

    /// The text at the first place of a finding.
    pub(super) fn cell(&self, finding: &Finding) -> String {
        let place = finding.primary().unwrap();
        self.sources.get(place.source).unwrap().slice(place.span).to_owned()
    }
}

impl Sheet {
    pub(super) fn csv(&self) -> String {
        form::lines(self.rows.iter().cloned())
    }

    /// The row of the reading whose path ends so, by its index.
    pub(super) fn at(&self, path: &str) -> usize {
        let ends = |row: &Vec<String>| row[Column::Reading.index()].ends_with(path);
        self.rows.iter().position(ends).unwrap_or_else(|| panic!("no reading {path}"))
    }

    pub(super) fn get(&self, path: &str, column: Column) -> &str {
        &self.rows[self.at(path)][column.index()]
    }

    pub(super) fn set(&mut self, path: &str, column: Column, text: &str) -> &mut Self {
        let at = self.at(path);
        self.rows[at][column.index()] = text.to_owned();
        self
    }

    /// Empties what the bench wrote in a row.
    pub(super) fn blank(&mut self, at: usize) -> &mut Self {
        for column in Column::ALL.into_iter().filter(|column| column.is_filled_by_hand()) {
            self.rows[at][column.index()].clear();
        }
        self
    }
}
