//! The catalogue of single mistakes, in `faults/*.txt`, and what each must give.
//!
//! ```text
//! * a mistake, in words
//! in ferry rig.leaf          the campaign, and a file of it or of `protocols/`
//!   lines that stay          lines are compared without their indentation
//! - lines that go
//! + lines that come
//! gives L416 at set at 900   the code, and what the line of its first place holds
//! with L418                  a further finding that the same mistake must cause
//! ```

use std::collections::BTreeSet;
use std::fs;

use loopleaf::diagnostic::{Code, Diagnostic};
use loopleaf::source::Sources;

use super::{findings, said};
use crate::shipped::{files_below, leaf_files, root};

#[derive(Debug, Default, Clone)]
struct Fault {
    name: String,
    campaign: String,
    file: String,
    /// A mark (` `, `-`, `+`) and the line without indentation.
    lines: Vec<(char, String)>,
    code: String,
    place: String,
    with: BTreeSet<String>,
}

fn parse(path: &str) -> Vec<Fault> {
    let text = fs::read_to_string(root().join(path)).unwrap();
    let mut faults: Vec<Fault> = Vec::new();
    for line in text.lines() {
        if let Some(name) = line.strip_prefix("* ") {
            faults.push(Fault { name: name.to_owned(), ..Fault::default() });
            continue;
        }
        let Some(fault) = faults.last_mut() else { continue };
        if let Some(rest) = line.strip_prefix("in ") {
            let (campaign, file) = rest.split_once(' ').unwrap_or_else(|| panic!("{path}: `{line}`"));
            fault.campaign = match campaign {
                "ferry" => "examples/ferry-generator-sets".to_owned(),
                "plough" => "examples/snow-plough-returns".to_owned(),
                other => panic!("{path}: no campaign `{other}`"),
            };
            fault.file =
                if file.starts_with("protocols/") { file.to_owned() } else { format!("{}/{file}", fault.campaign) };
        } else if let Some(rest) = line.strip_prefix("gives ") {
            let (code, place) = rest.split_once(" at ").unwrap_or_else(|| panic!("{path}: `{line}`"));
            fault.code = code.to_owned();
            fault.place = place.to_owned();
        } else if let Some(rest) = line.strip_prefix("with ") {
            fault.with.extend(rest.split_whitespace().map(str::to_owned));
        } else if let Some(mark) = line.chars().next().filter(|c| matches!(c, ' ' | '-' | '+')) {
            fault.lines.push((mark, line[1..].trim().to_owned()));
        }
    }
    faults
}

fn faults() -> Vec<Fault> {
    files_below("tests/seeded/faults").iter().flat_map(|path| parse(path)).collect()
}

impl Fault {
    /// The file with the mistake; an error where its lines are not found just once.
    fn seed(&self, text: &str) -> Result<String, String> {
        let wanted: Vec<&str> =
            self.lines.iter().filter(|(mark, _)| *mark != '+').map(|(_, line)| line.as_str()).collect();
        let lines: Vec<&str> = text.lines().collect();
        let places: Vec<usize> = (0..lines.len())
            .filter(|at| {
                wanted.iter().enumerate().all(|(i, want)| lines.get(at + i).is_some_and(|line| line.trim() == *want))
            })
            .collect();
        let [at] = places.as_slice() else {
            return Err(format!("`{}`: its lines stand {} times in {}", self.name, places.len(), self.file));
        };
        let mut new: Vec<String> = lines[..*at].iter().map(|line| (*line).to_owned()).collect();
        for (mark, line) in &self.lines {
            if *mark != '-' {
                new.push(line.clone());
            }
        }
        new.extend(lines[at + wanted.len()..].iter().map(|line| (*line).to_owned()));
        Ok(new.join("\n") + "\n")
    }

    /// What is wrong with the findings; `None` where they are as they must be.
    fn misses(&self, found: &[Diagnostic], sources: &Sources) -> Option<String> {
        let codes: BTreeSet<&str> = found.iter().map(|finding| finding.code.id()).collect();
        let allowed = |code: &str| code == self.code || self.with.contains(code);
        let strays: Vec<&&str> = codes.iter().filter(|code| !allowed(code)).collect();
        let missing = self.with.iter().any(|code| !codes.contains(code.as_str()));
        let placed = found.iter().filter(|finding| finding.code.id() == self.code).any(|finding| {
            let Some(place) = finding.places.first() else { return self.place.is_empty() };
            let source = sources.get(place.source).unwrap();
            let (line, _) = source.line_column(place.span.start);
            source.line(line).contains(&self.place)
        });
        let why = match (codes.contains(self.code.as_str()), placed) {
            (false, _) => format!("does not give {}", self.code),
            (true, false) => format!("gives {} at another place than `{}`", self.code, self.place),
            (true, true) if !strays.is_empty() => format!("gives {strays:?} too"),
            (true, true) if missing => format!("must give {:?} with it", self.with),
            (true, true) => return None,
        };
        Some(format!("`{}` {why}:\n{}", self.name, said(found, sources)))
    }
}

#[test]
fn each_single_mistake_gives_its_finding_and_no_other() {
    let (files, faults) = (leaf_files(), faults());
    assert!(faults.len() >= 120, "only {} mistakes in the catalogue", faults.len());
    let mut wrong = Vec::new();
    for fault in &faults {
        assert!(Code::from_id(&fault.code).is_some(), "`{}` gives no code", fault.name);
        let text = files.iter().find(|(path, _)| *path == fault.file).unwrap_or_else(|| panic!("no {}", fault.file));
        match fault.seed(&text.1) {
            Err(reason) => wrong.push(reason),
            Ok(seeded) => {
                let mut files = files.clone();
                files.iter_mut().filter(|(path, _)| *path == fault.file).for_each(|(_, text)| text.clone_from(&seeded));
                let (found, sources) = findings(&fault.campaign, &files);
                wrong.extend(fault.misses(&found, &sources));
            }
        }
    }
    let count = wrong.len();
    assert!(wrong.is_empty(), "{count} of {}:\n\n{}", faults.len(), wrong.join("\n\n"));
}

#[test]
fn no_mistake_is_told_twice() {
    let mut seen = BTreeSet::new();
    for fault in faults() {
        assert!(seen.insert(fault.lines.clone()), "`{}` changes what another one changes", fault.name);
    }
}
