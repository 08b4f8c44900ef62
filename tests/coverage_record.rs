//! How much of what goes wrong in records is found: the catalogue of departures in `tests/coverage-record`, one file a family,
//! against the injected kinds and the tests that show them. The table in the docs is made from it.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;

use loopleaf::diagnostic::Code;

use crate::laboratory;
use crate::recorded::inject::kinds::KINDS;
use crate::shipped::{bless, files_below, root};

/// One departure: its place in the catalogue, its name, the cases that show it, and a remark.
struct Entry {
    id: String,
    deviation: String,
    cases: Vec<String>,
    remark: String,
}

/// The families in order: the file's name and its departures.
fn families() -> Vec<(String, Vec<Entry>)> {
    files_below("tests/coverage-record")
        .iter()
        .map(|path| {
            let mut reader = csv::Reader::from_path(root().join(path)).unwrap();
            let entry = |record: csv::StringRecord| Entry {
                id: record[0].to_owned(),
                deviation: record[1].to_owned(),
                cases: record[2].split_whitespace().map(str::to_owned).collect(),
                remark: record[3].to_owned(),
            };
            let entries = reader.records().map(|record| entry(record.unwrap())).collect();
            (path.rsplit('/').next().unwrap().trim_end_matches(".csv").to_owned(), entries)
        })
        .collect()
}

/// The source of a test that a case names: `deviations::a_loop_that_stopped_early_needs_a_reason`.
fn body(case: &str) -> Option<String> {
    let (file, function) = case.split_once("::")?;
    let at = |path: String| fs::read_to_string(root().join(path)).ok();
    let text = at(format!("tests/recorded/{file}.rs"))
        .or_else(|| at(format!("tests/laboratory/{file}.rs")))
        .or_else(|| at(format!("tests/recorded/{file}/mod.rs")))
        .or_else(|| at(format!("tests/logger/{file}.rs")))
        .or_else(|| at(format!("tests/{file}.rs")))?;
    let from = text.find(&format!("#[test]\nfn {function}(")).or_else(|| text.find(&format!("fn {function}(")))?;
    let end = text[from..].find("\n}\n")?;
    Some(text[from..from + end].to_owned())
}

/// The codes that a case gives: the injected kind's, or those that the test speaks of.
fn codes(case: &str) -> BTreeSet<&'static str> {
    if let Some(kind) = KINDS.iter().find(|kind| kind.name == case) {
        return [kind.code].into_iter().collect();
    }
    if let Some((_, code)) = laboratory::inject::kinds().into_iter().find(|(name, _)| *name == case) {
        return [code].into_iter().collect();
    }
    let Some(body) = body(case) else { return BTreeSet::new() };
    Code::all()
        .filter(|code| {
            code.id().starts_with('A')
                && (body.contains(&format!("Code::{code:?}")) || body.contains(&format!("\"{}\"", code.id())))
        })
        .map(Code::id)
        .collect()
}

#[test]
fn every_departure_is_shown_by_a_case_or_says_why_not() {
    let mut wrong = Vec::new();
    for (_, entries) in families() {
        for entry in entries {
            if entry.cases.is_empty() && entry.remark.is_empty() {
                wrong.push(format!("{} `{}` has neither a case nor a reason", entry.id, entry.deviation));
            }
            for case in &entry.cases {
                let slips = case.starts_with("slips::") || case.starts_with("damaged::");
                let further = laboratory::inject::kinds();
                let mut injected = KINDS.iter().map(|kind| kind.name).chain(further.iter().map(|kind| kind.0));
                if body(case).is_none() && !injected.any(|name| name == case) {
                    wrong.push(format!("{}: there is no case `{case}`", entry.id));
                } else if codes(case).is_empty() && !slips {
                    wrong.push(format!("{}: the case `{case}` speaks of no code", entry.id));
                }
            }
        }
    }
    for kind in KINDS {
        assert!(Code::from_id(kind.code).is_some(), "{} has no code", kind.name);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_of_departures_is_up_to_date() {
    let families = families();
    let all: usize = families.iter().map(|(_, entries)| entries.len()).sum();
    let built = families.iter().flat_map(|(_, entries)| entries).filter(|entry| !entry.cases.is_empty()).count();
    assert!(all >= 106, "only {all} departures in the catalogue");
    assert!(built >= 80, "only {built} of {all} are shown");
    let mut page = format!(
        "# What goes wrong in records, and what is found\n\nMade by the tests. {built} of {all} departures are shown by a case: an injected kind (see \
         [departures found](departures-found.md)) or a test.\n"
    );
    for (family, entries) in &families {
        let (_, title) = family.split_once('-').unwrap();
        write!(page, "\n## {title}\n\n| | departure | code | shown by | remark |\n|---|---|---|---|---|\n").unwrap();
        for entry in entries {
            let found: BTreeSet<&str> = entry.cases.iter().flat_map(|case| codes(case)).collect();
            let found: Vec<String> = found.iter().map(|code| format!("[{code}](codes/{code}.md)")).collect();
            let cases: Vec<String> =
                entry.cases.iter().map(|case| case.rsplit("::").next().unwrap().replace(['_', '-'], " ")).collect();
            let shown = if cases.is_empty() { "not shown".to_owned() } else { cases.join("; ") };
            writeln!(
                page,
                "| {} | {} | {} | {shown} | {} |",
                entry.id,
                entry.deviation,
                found.join(", "),
                entry.remark
            )
            .unwrap();
        }
    }
    let target = root().join("docs/deviations.md");
    if bless() {
        fs::write(&target, &page).unwrap();
    }
    assert_eq!(fs::read_to_string(&target).unwrap_or_default(), page, "LOOPLEAF_BLESS=1 writes it anew");
}
