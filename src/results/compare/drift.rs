//! A specimen that was run twice in one test: whether the bench changed in between, and what the others would have given
//! had it not.

use super::gather::{outcome_of, together};
use super::words;
use crate::plan::{Plan, ResultKey};
use crate::results::estimate::{Estimate, Outcome, Source};
use crate::results::model::{Better, Drift, Measurand, RunResults};

/// A drift in the order of the runs, by which the others are corrected.
struct Course {
    specimen: String,
    /// Places of its first and last run.
    from: usize,
    to: usize,
    /// Last over first, less 1.
    change: Estimate,
}

/// The drifts of every measurand; fills in what the others would have given without.
pub(crate) fn drifts(plan: &Plan, keys: &[ResultKey], measurands: &mut [Measurand], runs: &[RunResults]) -> Vec<Drift> {
    let mut drifts = Vec::new();
    for (index, test) in plan.tests.iter().enumerate() {
        let of_test: Vec<&RunResults> = runs.iter().filter(|run| run.test == index).collect();
        if of_test.is_empty() {
            continue;
        }
        let repeated = repeated(plan, &of_test);
        if repeated.is_empty() {
            drifts.push(unseen(plan, &test.name, &of_test));
            continue;
        }
        for (key, measurand) in keys.iter().zip(measurands.iter_mut()).filter(|(key, _)| key.test == index) {
            let mut course: Option<Course> = None;
            for specimen in &repeated {
                let (drift, found) = of_specimen(key, measurand, specimen, &of_test);
                // What is only told, such as where a by-pass opens, need not show a drift.
                if measurand.better == Better::Neither && found.is_none() {
                    continue;
                }
                drifts.push(drift);
                course = course.or(found);
            }
            if let Some(course) = course {
                correct(key, measurand, &course, &of_test);
            }
        }
    }
    drifts
}

/// Specimens that were to be run more than once in a test: those that are marked as the reference, else all.
fn repeated(plan: &Plan, of_test: &[&RunResults]) -> Vec<String> {
    let mut codes: Vec<String> = Vec::new();
    for run in of_test {
        let times = of_test.iter().filter(|other| other.specimen == run.specimen).count();
        if times >= 2 && !codes.contains(&run.specimen) {
            codes.push(run.specimen.clone());
        }
    }
    let is_reference = |code: &String| plan.campaign.specimens.get(code).is_some_and(|specimen| specimen.reference);
    if codes.iter().any(is_reference) {
        codes.retain(is_reference);
    }
    codes.sort();
    codes
}

/// A test in which no specimen comes twice.
fn unseen(plan: &Plan, test: &str, of_test: &[&RunResults]) -> Drift {
    let reference = of_test
        .iter()
        .find(|run| plan.campaign.specimens.get(&run.specimen).is_some_and(|specimen| specimen.reference));
    let words = match reference {
        Some(run) => format!(
            "The reference {} is run once in `{test}`: whether the bench drifted during this test cannot be seen.",
            run.specimen
        ),
        None => {
            format!("No specimen is run twice in `{test}`: whether the bench drifted during this test cannot be seen.")
        }
    };
    Drift {
        measurand: test.to_owned(),
        specimen: reference.map_or_else(String::new, |run| run.specimen.clone()),
        runs: Vec::new(),
        change: Outcome::unsaid(words.clone()),
        seen: false,
        words,
    }
}

fn of_specimen(
    key: &ResultKey,
    measurand: &Measurand,
    specimen: &str,
    of_test: &[&RunResults],
) -> (Drift, Option<Course>) {
    let own: Vec<(&RunResults, usize, Outcome)> = of_test
        .iter()
        .enumerate()
        .filter(|(_, run)| run.specimen == specimen)
        .map(|(place, run)| (*run, place, outcome_of(&key.kind, run)))
        .collect();
    let known: Vec<(&str, usize, &Estimate)> =
        own.iter().filter_map(|(run, place, outcome)| Some((run.code.as_str(), *place, outcome.known()?))).collect();
    let subject = lead(&measurand.title);
    let (change, words, seen) = match known.as_slice() {
        [(one, _, first), .., (two, _, last)] => {
            let change = relative(first, last);
            let unit = &measurand.unit;
            let values = format!("{} in {one}, {} in {two}", words::estimate(first, unit), words::estimate(last, unit));
            let (said, seen) = match change.known() {
                Some(known) => in_words(known),
                None => {
                    ("the first is so near to nothing that a change of it cannot be given as a share".to_owned(), false)
                }
            };
            (change, format!("{subject}: {specimen} gave {values}; {said}."), seen)
        }
        _ => {
            let silent: Vec<String> = own
                .iter()
                .filter_map(|(run, _, outcome)| match outcome {
                    Outcome::Known(_) => None,
                    Outcome::Unsaid { why } => Some(why.clone()),
                    bound => Some(format!("{} gives only {}", run.code, words::outcome(bound, &measurand.unit))),
                })
                .collect();
            let why = format!(
                "{subject}: fewer than two runs of {specimen} give a number ({}), so a drift of the bench cannot be seen.",
                silent.join("; ")
            );
            (Outcome::unsaid(why.clone()), why, false)
        }
    };
    let course = match (known.as_slice(), change.known()) {
        ([(_, from, _), .., (_, to, _)], Some(change)) => {
            Some(Course { specimen: specimen.to_owned(), from: *from, to: *to, change: change.clone() })
        }
        _ => None,
    };
    let runs = own.into_iter().map(|(run, place, outcome)| (run.code.clone(), place, outcome)).collect();
    (Drift { measurand: key.key.clone(), specimen: specimen.to_owned(), runs, change, seen, words }, course)
}

/// A title as the beginning of a sentence.
fn lead(title: &str) -> &str {
    title.trim_end_matches('.')
}

/// Last over first less 1. What both share cancels.
fn relative(first: &Estimate, last: &Estimate) -> Outcome {
    if first.interval.contains(0.0) || first.value == 0.0 {
        return Outcome::unsaid("the first of the two cannot be told from nothing");
    }
    let ratio = last.value / first.value;
    let off = last.less(&first.scaled(ratio)).scaled(1.0 / first.value);
    Outcome::Known(Estimate::new(ratio - 1.0, off.sources))
}

fn in_words(change: &Estimate) -> (String, bool) {
    let (low, high) = (change.interval.low, change.interval.high);
    let half = (high - low) / 2.0;
    let seen = !change.interval.contains(0.0);
    let moved =
        |share: f64| format!("{} {}", words::per_cent(share.abs(), half), if share < 0.0 { "less" } else { "more" });
    let said = format!("that is {} (between {} and {})", moved(change.value), moved(low), moved(high));
    if seen {
        (
            format!(
                "{said}, more than their doubt would give in 95 of 100 cases: something seems to have changed in between"
            ),
            true,
        )
    } else {
        (format!("{said}, no more than their doubt: no drift is seen"), false)
    }
}

/// What the others would have given had nothing changed since the first run of the reference: linear in the order of runs.
fn correct(key: &ResultKey, measurand: &mut Measurand, course: &Course, of_test: &[&RunResults]) {
    for entry in measurand.entries.iter_mut().filter(|entry| entry.specimen != course.specimen) {
        let runs = of_test.iter().enumerate().filter(|(_, run)| run.specimen == entry.specimen);
        let corrected: Vec<(&str, Outcome)> = runs
            .filter_map(|(place, run)| {
                let found = outcome_of(&key.kind, run);
                let known = found.known()?;
                Some((run.code.as_str(), undrifted(&key.key, known, course, place)?))
            })
            .collect();
        if !corrected.is_empty() {
            entry.corrected = Some(together(&corrected).0);
        }
    }
}

fn undrifted(key: &str, found: &Estimate, course: &Course, place: usize) -> Option<Outcome> {
    let span = course.to as f64 - course.from as f64;
    let share = (place as f64 - course.from as f64) / span;
    let grown = 1.0 + course.change.value * share;
    // Half gone or doubled is no drift that a straight line can take out.
    if !(0.5..=2.0).contains(&grown) {
        return None;
    }
    let corrected = found.scaled(1.0 / grown);
    let slope = -found.value * share / (grown * grown);
    let drifted = course.change.sources.iter().enumerate().map(|(number, source)| Source {
        name: format!("drift: {}", source.name),
        contribution: source.contribution * slope,
        shape: source.shape,
        // All that are corrected by one specimen err together.
        shared: Some(format!("drift of {}, {key}, {number}", course.specimen)),
    });
    let sources = corrected.sources.iter().cloned().chain(drifted).collect();
    Some(Outcome::Known(Estimate::new(corrected.value, sources)))
}
