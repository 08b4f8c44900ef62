//! Who is first, who cannot be told apart from it, and who comes behind: a sentence made of the numbers.

use super::words;
use crate::plan::{ResultKind, Way};
use crate::results::estimate::Outcome;
use crate::results::model::{Comparison, Entry, Measurand};

/// How specimens are called: by their codes, or with their models once these are known.
pub type Name<'n> = &'n dyn Fn(&str) -> String;

/// What being first and coming behind is called.
pub(crate) struct Verbs {
    first: [&'static str; 2],
    behind: [&'static str; 2],
}

impl Verbs {
    pub(crate) fn of(kind: &ResultKind, way: Way) -> Verbs {
        let (first, behind) = match (kind, way) {
            (ResultKind::Restriction { .. }, Way::Highest) => {
                (["restricts most", "restrict most"], ["restricts less", "restrict less"])
            }
            (ResultKind::Restriction { .. }, _) => {
                (["restricts least", "restrict least"], ["restricts more", "restrict more"])
            }
            (ResultKind::Capacity, Way::Lowest) => (["takes least", "take least"], ["takes more", "take more"]),
            (ResultKind::Capacity, _) => (["takes most", "take most"], ["takes less", "take less"]),
            (ResultKind::Retained, Way::Lowest) => (["holds least", "hold least"], ["holds more", "hold more"]),
            (ResultKind::Retained, _) => (["holds most", "hold most"], ["holds less", "hold less"]),
            (ResultKind::Capture { .. }, Way::Lowest) => {
                (["catches least", "catch least"], ["catches more", "catch more"])
            }
            (ResultKind::Capture { .. }, _) => (["catches most", "catch most"], ["catches less", "catch less"]),
            (_, Way::Highest) => (["is highest", "are highest"], ["is lower", "are lower"]),
            (_, _) => (["is lowest", "are lowest"], ["is higher", "are higher"]),
        };
        Verbs { first, behind }
    }
}

fn number<'v>(verbs: &[&'v str; 2], count: usize) -> &'v str {
    let [one, many] = verbs;
    if count == 1 { one } else { many }
}

/// The sentences that rank a measurand.
pub(crate) fn sentences(measurand: &Measurand, way: Way, verbs: &Verbs, name: Name<'_>) -> Vec<String> {
    let comparison = &measurand.comparison;
    let ranked = Ranked { measurand, comparison, verbs, name };
    let mut order: Vec<usize> = (0..comparison.groups.len()).collect();
    let value = |group: &usize| comparison.groups.get(*group).map_or(0.0, |(_, mean)| *mean);
    let sign = if way == Way::Highest { -1.0 } else { 1.0 };
    order.sort_by(|one, other| (sign * value(one)).total_cmp(&(sign * value(other))));
    let bounded: Vec<&Entry> = measurand
        .entries
        .iter()
        .filter(|entry| matches!(entry.outcome, Outcome::AtLeast { .. } | Outcome::AtMost { .. }))
        .collect();
    let Some((best, others)) = order.split_first() else { return ranked.only_bounds(&bounded) };
    let mut sentences = Vec::new();
    // Whether a bound tells a specimen apart from the best that has a number.
    let best_title = comparison.groups.get(*best).map_or("", |(title, _)| title.as_str());
    let beats = |better: &str, worse: &str| {
        let (high, low) = if way == Way::Highest { (better, worse) } else { (worse, better) };
        comparison.beyond.iter().any(|pair| pair.higher == high && pair.lower == low)
    };
    let (ahead, rest): (Vec<&Entry>, Vec<&Entry>) =
        bounded.into_iter().partition(|entry| beats(&entry.specimen, best_title));
    let (behind, open): (Vec<&Entry>, Vec<&Entry>) =
        rest.into_iter().partition(|entry| beats(best_title, &entry.specimen));
    if !ahead.is_empty() {
        let (all, side) = (ranked.bounds(&ahead), if way == Way::Highest { "above" } else { "below" });
        sentences.push(format!("{}: {all} {} {side} every one that has a number.", ranked.title(), is(ahead.len())));
    }
    let clear = ahead.is_empty() && open.is_empty();
    sentences.push(ranked.sentence(*best, others, clear));
    if !behind.is_empty() {
        sentences.push(format!("{} {}.", ranked.bounds(&behind), number(&verbs.behind, behind.len())));
    }
    if !open.is_empty() {
        sentences.push(format!(
            "{}, known only by a bound, may be better or worse than {}.",
            ranked.bounds(&open),
            ranked.label(*best)
        ));
    }
    sentences
}

fn is(count: usize) -> &'static str {
    if count == 1 { "lies" } else { "lie" }
}

struct Ranked<'r> {
    measurand: &'r Measurand,
    comparison: &'r Comparison,
    verbs: &'r Verbs,
    name: Name<'r>,
}

impl Ranked<'_> {
    fn title(&self) -> &str {
        &self.measurand.title
    }

    fn named(&self, code: &str) -> String {
        let reference = self.measurand.entries.iter().any(|entry| entry.specimen == code && entry.reference);
        let name = (self.name)(code);
        if reference { format!("the reference {name}") } else { name }
    }

    fn label(&self, group: usize) -> String {
        let members = self.comparison.members.get(group).map_or(&[][..], Vec::as_slice);
        let named: Vec<String> = members.iter().map(|code| self.named(code)).collect();
        if named.len() > 1 { format!("the kind of {}", words::list(&named)) } else { words::list(&named) }
    }

    /// `K7 (18.2 kPa, 17.6 to 18.8)`.
    fn with_value(&self, group: usize) -> String {
        match self.comparison.means.get(group) {
            Some(mean) => {
                let (value, interval) = words::parts(mean, &self.measurand.unit);
                format!("{} ({value}, {interval})", self.label(group))
            }
            None => self.label(group),
        }
    }

    fn list(&self, groups: &[usize]) -> String {
        words::list(&groups.iter().map(|group| self.with_value(*group)).collect::<Vec<_>>())
    }

    fn bounds(&self, entries: &[&Entry]) -> String {
        let said = entries.iter().map(|entry| {
            format!("{} ({})", self.named(&entry.specimen), words::outcome(&entry.outcome, &self.measurand.unit))
        });
        words::list(&said.collect::<Vec<_>>())
    }

    fn differ(&self, one: usize, other: usize) -> bool {
        let pairs = self.comparison.pairs.iter();
        pairs.filter(|pair| pair.differs).any(|pair| (pair.first, pair.second) == (one.min(other), one.max(other)))
    }

    fn only_bounds(&self, bounded: &[&Entry]) -> Vec<String> {
        if bounded.is_empty() {
            return Vec::new();
        }
        let which = self.comparison.beyond.iter().map(|pair| pair.words.clone()).collect::<Vec<_>>().join("; ");
        let which = if which.is_empty() { "which does not tell them apart".to_owned() } else { which };
        vec![format!("{}: there are only bounds, {}; {which}.", self.title(), self.bounds(bounded))]
    }

    /// What differs among groups in their order, though none of them can be told apart from another one: a clause for each that
    /// comes behind.
    fn between(&self, groups: &[usize]) -> Vec<String> {
        let clause = |(place, group): (usize, &usize)| {
            let before = groups.iter().take(place).filter(|other| self.differ(**other, *group));
            let before: Vec<String> = before.map(|other| self.label(*other)).collect();
            let behind = number(&self.verbs.behind, 1);
            (!before.is_empty()).then(|| format!("{} {behind} than {}", self.label(*group), words::list(&before)))
        };
        groups.iter().enumerate().filter_map(clause).collect()
    }

    /// `clear` where no bound stands in the way of calling one the first.
    fn sentence(&self, best: usize, others: &[usize], clear: bool) -> String {
        let title = self.title();
        let (worse, tied): (Vec<usize>, Vec<usize>) = others.iter().partition(|other| self.differ(best, **other));
        let among = if clear { "" } else { "of those that have a number, " };
        if others.is_empty() {
            let after = if clear { ", and there is nothing to compare it with" } else { "" };
            return format!("{title}: {among}only {} gives one{after}.", self.with_value(best))
                .replace("of those that have a number, only", "only")
                .replace("gives one", "gives a number");
        }
        let seen = match self.comparison.resolvable {
            Some(least) => {
                let least = words::difference(least, least * 0.05, &self.measurand.unit);
                format!(" A true difference of {least} would have been shown in eight of ten cases.")
            }
            None => String::new(),
        };
        let between = self.between(&tied);
        if worse.is_empty() && between.is_empty() {
            let all: Vec<usize> = std::iter::once(best).chain(tied).collect();
            return format!("{title}: {among}no difference is shown between {} at 95 %.{seen}", self.list(&all));
        }
        let first = if tied.is_empty() {
            format!("{} {}", self.with_value(best), number(&self.verbs.first, 1))
        } else {
            // One that is merely too doubtful to be told apart may have a number that lies far behind.
            format!(
                "{} {} by number alone: {} cannot be told apart from it at 95 %",
                self.with_value(best),
                number(&self.verbs.first, 1),
                self.list(&tied)
            )
        };
        let mut clauses = vec![first];
        clauses.extend(between);
        let beyond_all = |group: &usize| tied.iter().all(|tie| self.differ(*tie, *group));
        let (plainly, partly): (Vec<usize>, Vec<usize>) = worse.iter().partition(|group| beyond_all(group));
        if !plainly.is_empty() {
            clauses.push(format!("{} {}", self.list(&plainly), number(&self.verbs.behind, plainly.len())));
        }
        for group in partly {
            let ties: Vec<String> =
                tied.iter().filter(|tie| !self.differ(**tie, group)).map(|tie| self.label(*tie)).collect();
            clauses.push(format!(
                "{} {} than {} and cannot be told apart from {}",
                self.with_value(group),
                number(&self.verbs.behind, 1),
                self.label(best),
                words::list(&ties)
            ));
        }
        format!("{title}: {among}{}.", clauses.join("; "))
    }
}
