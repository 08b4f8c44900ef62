//! Groups that cannot be told apart, and letters that say so.

use serde::{Deserialize, Serialize};

use super::{ComparisonError, Difference};

/// The ties among compared groups.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ties {
    /// Sets of groups no two of which differ, each as large as it can be, the highest means first. A group may stand in
    /// several: not being told apart does not carry over.
    pub sets: Vec<Vec<usize>>,
    /// For each group the letters of its sets: two groups differ exactly when they share none.
    pub letters: Vec<String>,
}

/// The compact letter display of comparisons of all pairs, from the groups' means and the verdicts.
///
/// Domain: at most 52 sets; every pair refers to a group. Source: Piepho, *Journal of Computational and Graphical
/// Statistics* 13 (2004) 456 (insert and absorb).
pub fn groups(means: &[f64], differences: &[Difference]) -> Result<Ties, ComparisonError> {
    let count = means.len();
    if let Some(pair) = differences.iter().find(|pair| pair.first.max(pair.second) >= count) {
        return Err(ComparisonError::NoSuchGroup(pair.first.max(pair.second)));
    }
    let mut sets: Vec<Vec<usize>> = if count == 0 { Vec::new() } else { vec![(0..count).collect()] };
    for pair in differences.iter().filter(|pair| pair.differs) {
        sets = split(sets, pair.first, pair.second);
    }
    let rank = ranks(means);
    let place = |group: &usize| rank.get(*group).copied().unwrap_or_default();
    for set in &mut sets {
        set.sort_by_key(place);
    }
    sets.sort_by_key(|set| set.iter().map(place).collect::<Vec<_>>());
    let alphabet = ('a'..='z').chain('A'..='Z');
    if sets.len() > alphabet.clone().count() {
        return Err(ComparisonError::Letters);
    }
    let named: Vec<(char, &Vec<usize>)> = alphabet.zip(&sets).collect();
    let of = |group: usize| named.iter().filter(|(_, set)| set.contains(&group)).map(|(letter, _)| *letter).collect();
    Ok(Ties { letters: (0..count).map(of).collect(), sets })
}

/// Sets that hold both are replaced by one without the first and one without the second, unless another set holds them.
fn split(sets: Vec<Vec<usize>>, first: usize, second: usize) -> Vec<Vec<usize>> {
    let both = |set: &Vec<usize>| set.contains(&first) && set.contains(&second);
    let (torn, mut kept): (Vec<_>, Vec<_>) = sets.into_iter().partition(both);
    let without = |set: &[usize], gone: usize| set.iter().copied().filter(|group| *group != gone).collect::<Vec<_>>();
    for part in torn.iter().flat_map(|set| [without(set, first), without(set, second)]) {
        let held = |larger: &Vec<usize>| part.iter().all(|group| larger.contains(group));
        if !kept.iter().any(held) {
            kept.retain(|smaller| !smaller.iter().all(|group| part.contains(group)));
            kept.push(part);
        }
    }
    kept
}

/// For each group its place when the means are put in descending order.
fn ranks(means: &[f64]) -> Vec<usize> {
    let mut order: Vec<(usize, f64)> = means.iter().copied().enumerate().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut ranked: Vec<(usize, usize)> = order.iter().enumerate().map(|(rank, (group, _))| (*group, rank)).collect();
    ranked.sort_unstable();
    ranked.into_iter().map(|(_, rank)| rank).collect()
}
