//! An example's campaign with made-up records and a made-up file of its laboratory.

use loopleaf::audit::{self, Finding};
use loopleaf::plan::Plan;
use loopleaf::record::laboratory::{self, LabFile};
use loopleaf::record::{self, Record};
use loopleaf::rehearsal::{Character, laboratory_csv, synthetic_csv};
use loopleaf::source::Sources;

use crate::results::bench::{bound, campaign, files};

#[derive(Clone)]
pub(super) struct Bench {
    pub(super) plan: Plan,
    pub(super) sources: Sources,
    pub(super) records: Vec<Record>,
    pub(super) csv: String,
}

/// The campaign of an example, with records of every run and the laboratory's file, all made up from a seed.
pub(super) fn bench(folder: &str, seed: u64) -> Bench {
    let (plan, mut sources) = campaign(folder);
    let mut records = Vec::new();
    for run in &plan.runs {
        let character = Character::typical(&plan, run, seed);
        let csv = synthetic_csv(&plan, &run.code, seed, &character);
        records.extend(record::read::file(&format!("{}.csv", run.code), csv.as_bytes(), &mut sources).value);
    }
    let csv = laboratory_csv(&plan, &records, seed);
    assert!(csv.contains("Invented"), "the file says that it is invented");
    Bench { plan, sources, records, csv }
}

/// A plan of the ferry's campaign with another layout of its laboratory's file.
pub(super) fn with_layout(lines: &str) -> (Plan, Sources) {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let path = "examples/ferry-generator-sets/campaign.leaf";
    let text = std::fs::read_to_string(root.join(path)).unwrap();
    let start = text.find("  results file {").unwrap();
    let end = start + text[start..].find("\n  }\n").unwrap() + 5;
    let changed = format!("{}{lines}\n{}", &text[..start], &text[end..]);
    bound(&files("ferry-generator-sets").with(path, changed), "ferry-generator-sets")
}

impl Bench {
    pub(super) fn read(&mut self, text: &str) -> (Option<LabFile>, Vec<Finding>) {
        let read = laboratory::file("lab.csv", text.as_bytes(), self.plan.laboratories.values(), &mut self.sources);
        (read.value, read.diagnostics)
    }

    /// Everything that reading and audit find in a file, each with the line of its first place in that file (0 for a place
    /// elsewhere).
    pub(super) fn audit(&self, text: &str) -> Vec<(Finding, usize)> {
        // The file comes last, as when a campaign is audited.
        let mut sources = Sources::new();
        for (_, source) in self.sources.iter() {
            sources.add(source.name.clone(), "");
        }
        let before = sources.len();
        let read = laboratory::file("lab.csv", text.as_bytes(), self.plan.laboratories.values(), &mut sources);
        let mut found = read.diagnostics;
        found.extend(audit::laboratory(&self.plan, &self.records, read.value.as_slice()));
        let line = |finding: &Finding| {
            let place = finding.primary().unwrap();
            let own = place.source.0 as usize >= before;
            if own { sources.get(place.source).unwrap().line_column(place.span.start).0 } else { 0 }
        };
        found
            .into_iter()
            .map(|finding| {
                let line = line(&finding);
                (finding, line)
            })
            .collect()
    }
}
