//! A weighted score, where a campaign declares weights: how much it rests on them is said beside it.

use indexmap::IndexMap;

use super::words;
use crate::plan::{Plan, Way};
use crate::results::model::{Better, Measurand, Score};

/// One group: what it is compared by, its share of the best in each measurand.
struct Row {
    title: String,
    members: Vec<String>,
    shares: Vec<f64>,
}

/// `None` where no weights are declared.
pub(crate) fn score(plan: &Plan, measurands: &[Measurand]) -> Option<Score> {
    if plan.campaign.weights.is_empty() {
        return None;
    }
    let weighed = weighed(plan, measurands);
    let weights: Vec<(String, f64)> = weighed.iter().map(|(one, share)| (one.key.clone(), *share)).collect();
    let (rows, without) = rows(&weighed);
    let silent = |why: &str| {
        let words = format!("{why}{}", left_out(&weighed, &without));
        Some(Score { weights: weights.clone(), groups: Vec::new(), stable: false, words })
    };
    if weighed.is_empty() || rows.len() < 2 {
        return silent("There is no score: fewer than two kinds have a number in all that is weighed.");
    }
    if !rows.iter().flat_map(|row| &row.shares).all(|share| share.is_finite() && *share > 0.0) {
        return silent("There is no score: shares of the best cannot be formed where a result is zero or below.");
    }
    let plain: Vec<f64> = weighed.iter().map(|(_, share)| *share).collect();
    let mut variants = vec![plain.clone()];
    for at in 0..plain.len() {
        for factor in [0.5, 2.0] {
            let changed = plain.iter().enumerate();
            variants.push(changed.map(|(index, share)| if index == at { share * factor } else { *share }).collect());
        }
    }
    let scores: Vec<Vec<f64>> =
        variants.iter().map(|weights| rows.iter().map(|row| total(weights, &row.shares)).collect()).collect();
    let firsts: Vec<usize> = scores.iter().map(|scores| first(scores)).collect();
    let best = *firsts.first()?;
    let stable = firsts.iter().all(|first| *first == best);
    let groups = rows.iter().enumerate().map(|(index, row)| {
        let all = scores.iter().filter_map(|scores| scores.get(index).copied());
        let (low, high) =
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), one| (low.min(one), high.max(one)));
        let own = scores.first().and_then(|scores| scores.get(index).copied()).unwrap_or(0.0);
        (row.title.clone(), own, low, high)
    });
    let groups: Vec<(String, f64, f64, f64)> = groups.collect();
    let words = in_words(&weighed, &rows, best, stable) + &left_out(&weighed, &without);
    Some(Score { weights, groups, stable, words })
}

/// The measurands of each weighed test: those that a question ranks, else the first that has a better side.
fn weighed<'m>(plan: &Plan, measurands: &'m [Measurand]) -> Vec<(&'m Measurand, f64)> {
    let ranked = |key: &str| {
        let asks = plan.campaign.asks.iter().flatten();
        asks.into_iter().any(|ask| ask.key == key && matches!(ask.way, Way::Lowest | Way::Highest))
    };
    let mut weighed = Vec::new();
    for (name, share) in &plan.campaign.weights {
        let of_test = |one: &&Measurand| {
            plan.tests.get(one.test).is_some_and(|test| test.name == *name) && one.better != Better::Neither
        };
        let mut chosen: Vec<&Measurand> = measurands.iter().filter(of_test).filter(|one| ranked(&one.key)).collect();
        if chosen.is_empty() {
            chosen.extend(measurands.iter().filter(of_test).find(|one| one.comparison.groups.len() >= 2));
        }
        let each = share / chosen.len().max(1) as f64;
        weighed.extend(chosen.into_iter().map(|one| (one, each)));
    }
    weighed
}

/// Codes of a group that has no number somewhere, and the places in the list of what is weighed.
type Without = (Vec<String>, Vec<usize>);

/// Groups that have a number everywhere: the specimens of a model count as one, since a test may have others than the next. And
/// those that have not: who is measured less, or better than can be told, is not last by that.
fn rows(weighed: &[(&Measurand, f64)]) -> (Vec<Row>, Vec<Without>) {
    let mut members: IndexMap<&str, Vec<String>> = IndexMap::new();
    for entry in weighed.iter().flat_map(|(measurand, _)| &measurand.entries) {
        let codes = members.entry(entry.model.as_deref().unwrap_or(&entry.specimen)).or_default();
        if !codes.contains(&entry.specimen) {
            codes.push(entry.specimen.clone());
        }
    }
    let mean = |measurand: &Measurand, codes: &[String]| -> Option<f64> {
        let entries = measurand.entries.iter().filter(|entry| codes.contains(&entry.specimen));
        let values: Vec<f64> = entries.filter_map(|entry| Some(entry.outcome.known()?.value)).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let mut whole: Vec<(Vec<String>, Vec<f64>)> = Vec::new();
    let mut without: Vec<Without> = Vec::new();
    for mut codes in members.into_values() {
        codes.sort();
        let values: Vec<Option<f64>> = weighed.iter().map(|(one, _)| mean(one, &codes)).collect();
        match values.iter().copied().collect() {
            Some(values) => whole.push((codes, values)),
            None => {
                let missing = values.iter().enumerate().filter(|(_, value)| value.is_none());
                without.push((codes, missing.map(|(place, _)| place).collect()));
            }
        }
    }
    without.sort();
    // By code: the order of the models is hidden.
    whole.sort_by(|one, other| one.0.cmp(&other.0));
    let best = |at: usize, better: Better| {
        let values = whole.iter().filter_map(|(_, values)| values.get(at).copied());
        if better == Better::Low { values.reduce(f64::min) } else { values.reduce(f64::max) }
    };
    let bests: Vec<Option<f64>> = weighed.iter().enumerate().map(|(at, (one, _))| best(at, one.better)).collect();
    let share = |value: f64, best: Option<f64>, better: Better| {
        let best = best.unwrap_or(f64::NAN);
        if better == Better::Low { best / value } else { value / best }
    };
    let row = |(codes, values): &(Vec<String>, Vec<f64>)| Row {
        title: codes.join(", "),
        members: codes.clone(),
        shares: values
            .iter()
            .zip(&bests)
            .zip(weighed)
            .map(|((value, best), (one, _))| share(*value, *best, one.better))
            .collect(),
    };
    (whole.iter().map(row).collect(), without)
}

/// Who has no score, and for want of what.
fn left_out(weighed: &[(&Measurand, f64)], without: &[Without]) -> String {
    let mut alike: IndexMap<&[usize], Vec<String>> = IndexMap::new();
    for (codes, places) in without {
        alike.entry(places.as_slice()).or_default().push(codes.join(", "));
    }
    let said = alike.iter().map(|(places, who)| {
        let titles = places.iter().filter_map(|place| Some(format!("`{}`", weighed.get(*place)?.0.title)));
        let (who, have) = (words::list(who), if who.len() == 1 { "has" } else { "have" });
        let of = words::list(&titles.collect::<Vec<_>>());
        format!(" {who} {have} no score, and could be first: of {of} there is no number, or only a bound.")
    });
    said.collect()
}

fn total(weights: &[f64], shares: &[f64]) -> f64 {
    let whole: f64 = weights.iter().sum();
    weights.iter().zip(shares).map(|(weight, share)| weight * share).sum::<f64>() / whole
}

fn first(scores: &[f64]) -> usize {
    scores
        .iter()
        .enumerate()
        .fold((0, f64::NEG_INFINITY), |best, (at, score)| if *score > best.1 { (at, *score) } else { best })
        .0
}

fn in_words(weighed: &[(&Measurand, f64)], rows: &[Row], best: usize, stable: bool) -> String {
    let Some(first) = rows.get(best) else { return String::new() };
    // Whom no weighed result tells apart from the first.
    let ties: Vec<String> = rows
        .iter()
        .enumerate()
        .filter(|(at, row)| *at != best && !weighed.iter().any(|(one, _)| differ(one, first, row)))
        .map(|(_, row)| row.title.clone())
        .collect();
    let mut text = if ties.is_empty() {
        format!("{} has the highest score.", first.title)
    } else {
        format!(
            "{} has the highest score, but no result that it is made of tells it apart from {}: that is no winner.",
            first.title,
            words::list(&ties)
        )
    };
    text.push_str(if stable {
        " The first stays the first when each weight is halved or doubled."
    } else {
        " With a weight halved or doubled another one is first: the score rests on the weights more than on the readings."
    });
    text.push_str(" A score is each result as a share of the best, weighted; the doubt of the readings is not in it.");
    text
}

fn differ(measurand: &Measurand, one: &Row, other: &Row) -> bool {
    let comparison = &measurand.comparison;
    let of = |row: &Row, group: usize| {
        comparison.members.get(group).is_some_and(|members| members.iter().any(|code| row.members.contains(code)))
    };
    comparison
        .pairs
        .iter()
        .filter(|pair| pair.differs)
        .any(|pair| of(one, pair.first) && of(other, pair.second) || of(other, pair.first) && of(one, pair.second))
}
