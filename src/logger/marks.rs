//! Rows that say themselves which step they belong to.

use indexmap::IndexMap;

use super::block::Block;
use super::rows::Seen;
use crate::plan::{Plan, Run};

/// The first and the last time at which something is marked; seconds of the bench's clock since 1970.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mark {
    pub(super) first: f64,
    pub(super) last: f64,
}

/// When each reading was taken, by the marker's column of one file.
#[derive(Debug, Default)]
pub(super) struct Marks {
    found: IndexMap<(String, String), Mark>,
    /// Cells that name nothing in the plan.
    pub(super) unknown: Seen,
}

impl Marks {
    pub(super) fn get(&self, run: &str, reading: &str) -> Option<Mark> {
        self.found.get(&(run.to_owned(), reading.to_owned())).copied()
    }

    pub(super) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }
}

/// The run and the paths of the readings that a cell stands for.
type Meant<'p> = (&'p Run, Vec<&'p str>);

/// Collects the marks of one file.
pub(super) struct Collector<'p> {
    plan: &'p Plan,
    /// The run that is meant where a cell names none.
    usual: Option<&'p Run>,
    marks: Marks,
    /// What the last cell stands for, and the cell.
    now: Option<(Vec<u8>, Option<Meant<'p>>)>,
}

impl<'p> Collector<'p> {
    /// A cell without a run belongs to the run in whose name the file is, or to the only one that has a record.
    pub(super) fn new(plan: &'p Plan, file: &str, recorded: &[&str]) -> Self {
        let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
        let named = |run: &&Run| {
            let rest = name.strip_prefix(run.code.as_str());
            rest.is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_alphanumeric()))
        };
        let usual = plan.runs.iter().find(named).or_else(|| match recorded {
            [only] => plan.run(only),
            _ => None,
        });
        Self { plan, usual, marks: Marks::default(), now: None }
    }

    pub(super) fn take(&mut self, block: &Block) {
        let ends = block.markers.iter().skip(1).map(|(from, _)| *from as usize).chain([block.times.len()]);
        for ((from, cell), end) in block.markers.iter().zip(ends) {
            let from = *from as usize;
            let (Some(first), Some(last)) = (block.times.get(from), block.times.get(end.wrapping_sub(1))) else {
                continue;
            };
            if end <= from || cell.is_empty() {
                self.now = None;
                continue;
            }
            if self.now.as_ref().is_none_or(|(known, _)| known != cell) {
                let means = self.means(cell);
                if means.is_none() {
                    let what = || match self.usual {
                        None => "no run, and neither does the file's name".to_owned(),
                        Some(run) => format!("no step and no reading of run {}", run.code),
                    };
                    self.marks.unknown.note(block.line(from), cell, what);
                }
                self.now = Some((cell.clone(), means));
            }
            let Some((_, Some((run, paths)))) = &self.now else { continue };
            for path in paths {
                let key = (run.code.clone(), (*path).to_owned());
                let mark = self.marks.found.entry(key).or_insert(Mark { first: *first, last: *last });
                mark.last = *last;
            }
        }
    }

    /// `12`, `sweep/rising/30-l-min/dp`, or the same after a run: `R01 12`. All readings of the step that is named.
    fn means(&self, cell: &[u8]) -> Option<Meant<'p>> {
        let text = str::from_utf8(cell).ok()?.trim();
        let (run, rest) = match text.split_once([' ', '/', ':']) {
            Some((code, rest)) if self.plan.run(code).is_some() => (self.plan.run(code)?, rest.trim()),
            _ => (self.usual?, text),
        };
        let test = self.plan.test_of(run)?;
        let number: Option<u32> = rest.parse().ok();
        let mut paths = Vec::new();
        for step in &test.steps {
            let whole = Some(step.number) == number || step.path == rest;
            paths.extend(step.readings.iter().filter(|r| whole || r.path == rest).map(|r| r.path.as_str()));
        }
        // A step at which nothing is written down may be marked too.
        let known = !paths.is_empty() || test.steps.iter().any(|s| Some(s.number) == number || s.path == rest);
        known.then_some((run, paths))
    }

    pub(super) fn done(self) -> Marks {
        self.marks
    }
}
