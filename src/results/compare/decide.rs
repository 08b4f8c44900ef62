//! Which differ, which cannot be told apart, and what could have been seen: all pairs of a family of measurands at once.
//!
//! A campaign asks several things of several specimens, and of many pairs of equals one or another differs by chance. The
//! family is all pairs of all measurands that the campaign's questions rank; all others are a second one. Together no more than
//! one campaign in twenty calls any pair of equals different. Verdicts after Holm (*Scandinavian Journal of Statistics* 6 (1979) 65), which needs no
//! independence of the pairs; intervals by Bonferroni at the same size of the family, since Holm gives none.

use super::group::{Group, groups};
use super::{law, words};
use crate::results::estimate::{Estimate, Outcome};
use crate::results::model::{Better, Beyond, Comparison, Measurand, PairDifference};
use crate::trade::comparison::{Difference, groups as ties, holm_adjusted};

/// A pair before the verdict.
struct Raw {
    measurand: usize,
    first: usize,
    second: usize,
    difference: Estimate,
    p_value: f64,
}

/// Compares the groups of several measurands as one family. `what` says of which results the family is made, `share` how
/// much of the error that a campaign may make is this family's.
pub(crate) fn family(measurands: &mut [&mut Measurand], what: &str, share: f64) {
    let all: Vec<(Vec<Group>, String)> = measurands.iter().map(|measurand| groups(&measurand.entries)).collect();
    let mut raw: Vec<Raw> = Vec::new();
    let mut silent: Vec<Vec<String>> = vec![Vec::new(); all.len()];
    for (index, (groups, _)) in all.iter().enumerate() {
        for (first, one) in groups.iter().enumerate().filter(|(_, group)| group.known().is_some()) {
            for (second, other) in
                groups.iter().enumerate().skip(first + 1).filter(|(_, group)| group.known().is_some())
            {
                let found = one.less(other).and_then(|difference| Some((law::p_value(&difference)?, difference)));
                match found {
                    Some((p_value, difference)) => {
                        raw.push(Raw { measurand: index, first, second, difference, p_value })
                    }
                    None => silent.get_mut(index).into_iter().for_each(|remarks| {
                        remarks.push(format!(
                            "{} and {} are not compared: the doubt of their difference is not known",
                            one.title(),
                            other.title()
                        ));
                    }),
                }
            }
        }
    }
    let size = raw.len();
    let p_values: Vec<f64> = raw.iter().map(|pair| pair.p_value).collect();
    // Every one is a probability, made so above.
    let adjusted = holm_adjusted(&p_values).unwrap_or_else(|_| vec![1.0; size]);
    for (index, (measurand, (groups, basis))) in measurands.iter_mut().zip(&all).enumerate() {
        let mine = raw.iter().zip(&adjusted).filter(|(pair, _)| pair.measurand == index);
        let remarks = silent.get(index).cloned().unwrap_or_default();
        measurand.comparison = one(measurand, groups, basis, mine, Family { size, what, share }, remarks);
    }
}

#[derive(Clone, Copy)]
struct Family<'w> {
    size: usize,
    share: f64,
    what: &'w str,
}

impl Family<'_> {
    /// What all statements together may err.
    fn whole(self) -> f64 {
        law::FAMILY_ERROR * self.share
    }

    /// What a single statement may err, so that all of them together keep to the family's share.
    fn error(self) -> f64 {
        self.whole() / self.size.max(1) as f64
    }
}

fn one<'r>(
    measurand: &Measurand,
    groups: &[Group],
    basis: &str,
    pairs: impl Iterator<Item = (&'r Raw, &'r f64)>,
    family: Family<'_>,
    mut remarks: Vec<String>,
) -> Comparison {
    // Only groups with a number are numbered; the others are told of in words.
    let numbered: Vec<(usize, &Group, &Estimate)> =
        groups.iter().enumerate().filter_map(|(at, group)| Some((at, group, group.known()?))).collect();
    let place = |group: usize| numbered.iter().position(|(at, ..)| *at == group);
    let mut compared = Vec::new();
    let mut doubts = Vec::new();
    for (raw, p_value) in pairs {
        let (Some(first), Some(second)) = (place(raw.first), place(raw.second)) else { continue };
        let reference = |at: usize| numbered.get(at).is_some_and(|(_, group, _)| group.reference);
        let interval = law::family_interval(&raw.difference, family.error());
        doubts.push(raw.difference.clone());
        compared.push(PairDifference {
            first,
            second,
            family: interval.unwrap_or((raw.difference.interval.low, raw.difference.interval.high)),
            p_value: *p_value,
            // An interval that cannot be computed shows nothing.
            differs: *p_value < family.whole() && interval.is_some(),
            against_reference: reference(first) != reference(second),
            difference: raw.difference.clone(),
        });
    }
    let beyond = bounds(measurand, groups, family.error(), &mut remarks);
    // The middle one of the pairs' doubts stands for all.
    doubts.sort_by(|one, other| one.standard.total_cmp(&other.standard));
    let typical = doubts.get(doubts.len() / 2);
    let none = (compared.is_empty() && beyond.is_empty()).then(|| match numbered.len() {
        0 => "no specimen gives a number".to_owned(),
        1 => {
            format!("only {} gives a number", numbered.first().map_or_else(String::new, |(_, group, _)| group.title()))
        }
        _ => "the doubt of no difference is known".to_owned(),
    });
    let sign = if measurand.better == Better::Low { -1.0 } else { 1.0 };
    let means: Vec<f64> = numbered.iter().map(|(_, _, known)| sign * known.value).collect();
    let verdicts: Vec<Difference> = compared.iter().map(verdict).collect();
    let letters = ties(&means, &verdicts).map(|ties| ties.letters);
    if letters.is_err() {
        remarks.push("there are more sets of ties than letters to name them; the pairs say which differ".to_owned());
    }
    Comparison {
        basis: sentence(basis, family),
        pairs: compared,
        groups: numbered.iter().map(|(_, group, known)| (group.title(), known.value)).collect(),
        members: numbered.iter().map(|(_, group, _)| group.members.clone()).collect(),
        means: numbered.iter().map(|(_, _, known)| (*known).clone()).collect(),
        letters: letters.unwrap_or_else(|_| vec![String::new(); numbered.len()]),
        error: family.whole(),
        resolvable: typical.and_then(|pair| law::resolvable(pair, family.error())),
        beyond,
        remarks,
        none,
    }
}

fn verdict(pair: &PairDifference) -> Difference {
    Difference {
        first: pair.first,
        second: pair.second,
        difference: pair.difference.value,
        standard_error: pair.difference.standard,
        interval: None,
        p_value: pair.p_value,
        differs: pair.differs,
    }
}

fn sentence(basis: &str, family: Family<'_>) -> String {
    let pairs = match family.size {
        1 => "the one pair".to_owned(),
        size => format!("all {size} pairs"),
    };
    format!(
        "Compared {basis}. Over {pairs} of {} together, two equals are called different in no more than {:.0} of 100 campaigns: two differ where p, adjusted for all of them (Holm), is below {:.2}. The intervals of the differences hold for all of them at once (Bonferroni) and are a little wider than the verdict needs.",
        family.what,
        100.0 * family.whole(),
        family.whole()
    )
}

/// Groups of which only a bound is known, against those that lie wholly on the other side of it.
fn bounds(measurand: &Measurand, groups: &[Group], error: f64, remarks: &mut Vec<String>) -> Vec<Beyond> {
    let unit = &measurand.unit;
    let mut beyond = Vec::new();
    for (at, group) in groups.iter().enumerate() {
        match &group.outcome {
            Outcome::Known(_) => continue,
            Outcome::Unsaid { why } => {
                remarks.push(format!("{} is not compared: {why}", group.title()));
                continue;
            }
            Outcome::AtLeast { .. } | Outcome::AtMost { .. } => {}
        }
        let mut open = Vec::new();
        for (other, against) in groups.iter().enumerate().filter(|(other, _)| *other != at) {
            let Some((from, to)) = reach(&against.outcome, error) else { continue };
            let bounded_too = against.known().is_none();
            let (higher, lower) = match &group.outcome {
                Outcome::AtLeast { bound, .. } if to.is_some_and(|to| *bound > to) => (group, against),
                Outcome::AtMost { bound, .. } if from.is_some_and(|from| *bound < from) => (against, group),
                // Of two bounds the first one speaks.
                _ if bounded_too && other < at => continue,
                _ => {
                    open.push(against.title());
                    continue;
                }
            };
            if bounded_too && other < at {
                continue;
            }
            beyond.push(Beyond {
                higher: higher.title(),
                lower: lower.title(),
                words: format!(
                    "{} ({}) lies above {} ({})",
                    higher.title(),
                    words::outcome(&higher.outcome, unit),
                    lower.title(),
                    words::outcome(&lower.outcome, unit)
                ),
            });
        }
        if !open.is_empty() {
            remarks.push(format!(
                "{} is known only as {}, which does not tell it apart from {}",
                group.title(),
                words::outcome(&group.outcome, unit),
                words::list(&open)
            ));
        }
    }
    beyond
}

/// From where to where a result may lie, with room for a whole family; an end that is not known is left open.
fn reach(outcome: &Outcome, error: f64) -> Option<(Option<f64>, Option<f64>)> {
    match outcome {
        Outcome::Known(known) => {
            let (low, high) = law::family_interval(known, error)?;
            Some((Some(low.min(known.interval.low)), Some(high.max(known.interval.high))))
        }
        Outcome::AtLeast { bound, .. } => Some((Some(*bound), None)),
        Outcome::AtMost { bound, .. } => Some((None, Some(*bound))),
        Outcome::Unsaid { .. } => None,
    }
}
