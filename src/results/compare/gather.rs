//! From runs to what specimens are compared by: one entry a specimen, all its runs named.

use indexmap::IndexMap;

use super::words;
use crate::plan::{Plan, ResultKey, ResultKind, result_keys, size_words};
use crate::quantity::Unit;
use crate::results::estimate::{Estimate, Outcome, Source};
use crate::results::model::{
    Better, Comparison, Course, Design, Entry, Measurand, RestrictionResult, RunResults, SizeResult,
};
use crate::trade::descriptive::standard_deviation;

/// Every result of every test with its key, its entries by rising code of the specimens: codes say nothing of models, an order of
/// registering might.
pub(crate) fn measurands(plan: &Plan, runs: &[RunResults]) -> (Vec<ResultKey>, Vec<Measurand>) {
    let mut keys = result_keys(plan);
    for run in runs {
        let Some(test) = plan.tests.get(run.test) else { continue };
        for found in &run.mechanics {
            let key = format!("{}/{}", test.name, found.key);
            if !keys.iter().any(|known| known.key == key) {
                let kind = ResultKind::Mechanical { name: found.key.clone() };
                keys.push(ResultKey { key, test: run.test, kind });
            }
        }
    }
    keys.sort_by_key(|key| key.test);
    let measurands = keys.iter().map(|key| measurand(plan, key, runs)).collect();
    (keys, measurands)
}

fn measurand(plan: &Plan, key: &ResultKey, runs: &[RunResults]) -> Measurand {
    let of_test = || runs.iter().filter(|run| run.test == key.test);
    let mut by_specimen: IndexMap<&str, Vec<&RunResults>> = IndexMap::new();
    for run in of_test() {
        by_specimen.entry(&run.specimen).or_default().push(run);
    }
    by_specimen.sort_keys();
    let entries = by_specimen.into_iter().map(|(code, runs)| {
        let specimen = plan.campaign.specimens.get(code);
        let (outcome, remark) = of_runs(&key.kind, &runs);
        Entry {
            specimen: code.to_owned(),
            model: specimen.and_then(|specimen| specimen.model.clone()),
            reference: specimen.is_some_and(|specimen| specimen.reference),
            runs: runs.iter().map(|run| run.code.clone()).collect(),
            outcome,
            corrected: None,
            remark,
        }
    });
    let (title, unit, better) = heading(plan, key, of_test());
    Measurand {
        key: key.key.clone(),
        title,
        test: key.test,
        unit,
        better,
        entries: entries.collect(),
        comparison: Comparison::default(),
    }
}

/// What a run found, or why it found nothing.
pub(crate) fn outcome_of(kind: &ResultKind, run: &RunResults) -> Outcome {
    if let Some(why) = &run.set_aside {
        return Outcome::unsaid(format!("{} is set aside: {why}", run.code));
    }
    let found = match kind {
        ResultKind::Restriction { stage } => restriction(run, stage).and_then(|result| match result.headline()? {
            (_, Outcome::Known(_)) if result.tare_lost => Some(Outcome::unsaid(format!(
                "the tare of {} can't be used, and what the housing takes is still in its pressures",
                run.code
            ))),
            (_, outcome) => Some(outcome.clone()),
        }),
        ResultKind::Opening { stage } => restriction(run, stage).map(opening),
        ResultKind::Capacity => run.loading.as_ref().map(|loading| loading.capacity.clone()),
        ResultKind::Retained => run.loading.as_ref().map(|loading| loading.ledger.retained.clone()),
        ResultKind::Capture { .. } => run.removal.as_ref().and_then(|removal| {
            if removal.design == Design::Residual {
                return Some(Outcome::unsaid(removal.claims.clone()));
            }
            removal.pooled.iter().find(|size| is_of(kind, size)).map(|size| size.efficiency.clone())
        }),
        ResultKind::Mechanical { name } => {
            run.mechanics.iter().find(|result| result.key == *name).map(|result| result.outcome.clone())
        }
    };
    found.map_or_else(|| Outcome::unsaid(nothing(run)), finite)
}

fn nothing(run: &RunResults) -> String {
    match run.course {
        Course::NotBegun => format!("{} was never begun", run.code),
        Course::BrokenOff => format!("{} was broken off before it gave one", run.code),
        Course::Complete => format!("{} gives none", run.code),
    }
}

/// What is no number says nothing.
fn finite(outcome: Outcome) -> Outcome {
    let sound = match &outcome {
        Outcome::Known(known) => {
            [known.value, known.standard, known.interval.low, known.interval.high].iter().all(|value| value.is_finite())
        }
        Outcome::AtLeast { bound, .. } | Outcome::AtMost { bound, .. } => bound.is_finite(),
        Outcome::Unsaid { .. } => true,
    };
    if sound { outcome } else { Outcome::unsaid("the readings lead to no finite number") }
}

fn restriction<'r>(run: &'r RunResults, stage: &str) -> Option<&'r RestrictionResult> {
    run.restrictions.iter().find(|result| result.stage == stage)
}

/// Where the by-pass opened: between the last flow that belongs to the element and the next one.
fn opening(result: &RestrictionResult) -> Outcome {
    let flow_words = |flow: f64| words::set(flow, &result.flow_unit);
    let highest = result.at.iter().map(|(flow, _)| *flow).chain(result.points.iter().map(|point| point.planned));
    let Some(highest) = highest.reduce(f64::max) else { return Outcome::unsaid("no reading of the sweep can be used") };
    let Some(knee) = &result.knee else {
        if result.fit.is_none() {
            return Outcome::unsaid("too few readings of the sweep can be used to see a break in its curve");
        }
        let why = format!("the curve does not break off up to {}", flow_words(highest));
        return Outcome::AtLeast { bound: highest, why };
    };
    let beyond = result.points.iter().map(|point| point.flow).filter(|flow| *flow > knee.flow * (1.0 + 1e-6));
    match beyond.reduce(f64::min) {
        Some(next) => {
            let half = (next - knee.flow) / 2.0;
            Outcome::Known(Estimate::new(
                knee.flow + half,
                vec![Source::within("between two flows of the sweep", half)],
            ))
        }
        None => Outcome::AtLeast { bound: knee.flow, why: format!("no flow above {} was read", flow_words(knee.flow)) },
    }
}

fn is_of(kind: &ResultKind, found: &SizeResult) -> bool {
    let ResultKind::Capture { size } = kind else { return false };
    let basis = |words: &str| words.find('(').map_or(String::new(), |at| words.chars().skip(at).collect());
    let (wanted, words) = (size_words(size), found.words.as_str());
    let same = (size.si() - found.size).abs() <= 1e-6 * size.si().abs();
    same && (words == wanted
        || words.contains(&basis_of(&wanted)) && basis(words).is_empty() == basis(&wanted).is_empty())
}

/// `(c)` of `10 µm(c)`.
fn basis_of(words: &str) -> String {
    words.split_once('(').map_or_else(String::new, |(_, basis)| format!("({basis}"))
}

/// Of a specimen's runs: their mean, or the bound that all of them share.
fn of_runs(kind: &ResultKind, runs: &[&RunResults]) -> (Outcome, Option<String>) {
    let found: Vec<(&str, Outcome)> = runs.iter().map(|run| (run.code.as_str(), outcome_of(kind, run))).collect();
    together(&found)
}

/// Several runs of one specimen taken together, and what must be said of it.
pub(crate) fn together(found: &[(&str, Outcome)]) -> (Outcome, Option<String>) {
    let mut remarks: Vec<String> = Vec::new();
    let (mut known, mut least, mut most, mut silent) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (run, outcome) in found {
        match outcome {
            Outcome::Known(estimate) => known.push((*run, estimate)),
            Outcome::AtLeast { bound, why } => least.push((*bound, why)),
            Outcome::AtMost { bound, why } => most.push((*bound, why)),
            // Two runs that say nothing for the same reason are told once.
            Outcome::Unsaid { why } if silent.contains(why) => {}
            Outcome::Unsaid { why } => silent.push(why.clone()),
        }
    }
    let said = found.iter().filter(|(_, outcome)| !matches!(outcome, Outcome::Unsaid { .. })).count();
    if said == 0 {
        let why = if silent.is_empty() { "no run of it was planned".to_owned() } else { silent.join("; ") };
        return (Outcome::Unsaid { why }, None);
    }
    remarks.extend(silent);
    let outcome = match (least.as_slice(), most.as_slice()) {
        ([], []) => mean(&known, &mut remarks),
        // Each bound fails in one case of twenty, and the mean lies above the smallest of what the runs truly have.
        ([(_, why), ..], []) => {
            let bounds = least.iter().map(|(bound, _)| *bound);
            let bound = bounds.chain(known.iter().map(|(_, one)| one.interval.low)).fold(f64::INFINITY, f64::min);
            Outcome::AtLeast { bound, why: (*why).clone() }
        }
        ([], [(_, why), ..]) => {
            let bounds = most.iter().map(|(bound, _)| *bound);
            let bound = bounds.chain(known.iter().map(|(_, one)| one.interval.high)).fold(f64::NEG_INFINITY, f64::max);
            Outcome::AtMost { bound, why: (*why).clone() }
        }
        _ => Outcome::unsaid("one run gives a lower bound and another an upper one"),
    };
    (outcome, (!remarks.is_empty()).then(|| remarks.join("; ")))
}

/// The mean of several runs. What differs from run to run beyond the doubt of the runs becomes part of the doubt.
fn mean(known: &[(&str, &Estimate)], remarks: &mut Vec<String>) -> Outcome {
    let estimates: Vec<&Estimate> = known.iter().map(|(_, estimate)| *estimate).collect();
    let Some(mean) = Estimate::mean(&estimates) else { return Outcome::unsaid("no run gives a number") };
    let apart = known.iter().enumerate().find_map(|(at, (run, one))| {
        let later = known.iter().skip(at + 1);
        later.clone().find(|(_, other)| !one.less(other).interval.contains(0.0)).map(|(other, _)| (*run, *other))
    });
    let (Some((one, other)), Ok(scatter)) =
        (apart, standard_deviation(&estimates.iter().map(|one| one.value).collect::<Vec<f64>>()))
    else {
        return Outcome::Known(mean);
    };
    remarks.push(format!(
        "{one} and {other} differ by more than the doubt of either; what changes from run to run is part of the interval"
    ));
    let count = estimates.len() as f64;
    let mut sources = mean.sources;
    sources.push(Source::scatter("from run to run", scatter / count.sqrt(), count - 1.0));
    Outcome::Known(Estimate::new(mean.value, sources))
}

fn heading<'r>(
    plan: &Plan,
    key: &ResultKey,
    runs: impl Iterator<Item = &'r RunResults> + Clone,
) -> (String, Unit, Better) {
    let usual = |text: &str| Unit::parse(text).unwrap_or_else(|_| Unit::none());
    let stage_title = |name: &str| {
        let stages = plan.tests.get(key.test).into_iter().flat_map(|test| &test.stages);
        stages.into_iter().find(|stage| stage.name == name).map_or_else(|| name.to_owned(), |stage| stage.title.clone())
    };
    let loading = || runs.clone().find_map(|run| run.loading.as_ref());
    let mass = || loading().map_or_else(|| usual("g"), |loading| loading.mass_unit.clone());
    let rise = || {
        loading()
            .filter(|loading| loading.terminal.is_finite())
            .map_or_else(String::new, |loading| format!(" of {}", words::set(loading.terminal, &loading.unit)))
    };
    match &key.kind {
        ResultKind::Restriction { stage } => {
            let found = runs.clone().find_map(|run| restriction(run, stage));
            let at = found.and_then(|result| Some((result.headline()?.0, &result.flow_unit)));
            let at = at.map_or_else(String::new, |(flow, unit)| format!(", at {}", words::set(flow, unit)));
            let unit = found.map_or_else(|| usual("kPa"), |result| result.unit.clone());
            (format!("{}{at}", stage_title(stage)), unit, Better::Low)
        }
        ResultKind::Opening { stage } => {
            let found = runs.clone().find_map(|run| restriction(run, stage));
            let unit = found.map_or_else(|| usual("L/min"), |result| result.flow_unit.clone());
            (format!("{}: flow at which the by-pass opens", stage_title(stage)), unit, Better::Neither)
        }
        ResultKind::Capacity => (format!("Dust given until the rise{}", rise()), mass(), Better::High),
        ResultKind::Retained => (format!("Dust held at the rise{}", rise()), mass(), Better::High),
        ResultKind::Capture { size } => {
            (format!("Share caught at {} and above", size_words(size)), usual("%"), Better::High)
        }
        ResultKind::Mechanical { name } => {
            let found = runs.clone().flat_map(|run| &run.mechanics).find(|result| result.key == *name);
            found.map_or_else(
                || (stage_title(name), Unit::none(), Better::Neither),
                |result| (result.title.clone(), result.unit.clone(), result.better),
            )
        }
    }
}
