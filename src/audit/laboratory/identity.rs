//! Whose result is it: labels, reports, bottles without a result and results without a bottle, rows that were copied.

use indexmap::IndexMap;

use super::bottle::{Known, Seen, Which, find, lab, number, spectrum};
use super::{ASK, at_bottle, at_cell};
use crate::audit::say::Finding;
use crate::diagnostic::{Code, Severity};
use crate::plan::{Holds, Plan, is_label};
use crate::record::laboratory::{LabFile, LabResult};
use crate::source::SourceId;

/// The results that belong to a bottle, and the places of those that seem to be copies; what doesn't belong is found.
pub(super) fn sort<'a>(
    plan: &'a Plan,
    known: &[Known<'a>],
    files: &'a [LabFile],
    found: &mut Vec<Finding>,
) -> (Vec<Seen<'a>>, Vec<usize>) {
    let mut seen: Vec<Seen<'a>> = Vec::new();
    let mut places: IndexMap<(usize, Which), usize> = IndexMap::new();
    let mut again_in: IndexMap<(SourceId, SourceId), (&LabFile, &LabFile, &LabResult, usize)> = IndexMap::new();
    for file in files {
        for result in &file.results {
            if is_blank(plan, file, result) {
                continue;
            }
            let written = result.label();
            let Some((at, which)) = find(known, written) else {
                stranger(known, file, result, found);
                continue;
            };
            let Some(bottle) = known.get(at) else { continue };
            if bottle.row.is_none() && bottle.run_recorded {
                not_drawn(file, result, bottle, found);
            }
            let test = lab(plan, file).map(|(_, test)| test);
            let read = spectrum(file, result, &file.counts, bottle.drawn.bottle.dilution, test);
            let new = Seen { file, result, known: at, which, spectrum: read };
            match places.get(&(at, which)).and_then(|place| seen.get(*place)) {
                Some(old) if old.file.source != new.file.source && old.result.says_the_same(new.result) => {
                    let sources = (old.file.source, new.file.source);
                    again_in.entry(sources).or_insert((old.file, new.file, new.result, 0)).3 += 1;
                }
                Some(old) => again(old, &new, bottle, found),
                None => {
                    places.insert((at, which), seen.len());
                    seen.push(new);
                }
            }
        }
    }
    for (old, new, result, times) in again_in.into_values() {
        let message = format!("`{}` says of {times} bottles what `{}` says, digit by digit", new.name, old.name);
        found.push(
            at_cell(new, &result.label, Code::LabelReused, message, "the first of them")
                .severity(Severity::Minor)
                .help("Keep one of the two files beside the campaign: what is answered of the one must not come back by the other. Nothing is counted twice."),
        );
    }
    lost(known, &seen, found);
    let copies = copied(known, &seen, found);
    (seen, copies)
}

/// Whether a row is a bottle blank by its label.
pub(super) fn is_blank(plan: &Plan, file: &LabFile, result: &LabResult) -> bool {
    let prefix = plan.laboratories.get(&file.laboratory).and_then(|lab| lab.results.as_ref()?.blanks.as_deref());
    prefix.is_some_and(|prefix| {
        result.label().get(..prefix.len()).is_some_and(|start| start.eq_ignore_ascii_case(prefix))
    })
}

/// A label that no bottle of the campaign bears.
fn stranger(known: &[Known<'_>], file: &LabFile, result: &LabResult, found: &mut Vec<Finding>) {
    let written = result.label();
    let distance =
        |label: &str| strsim::damerau_levenshtein(&label.to_ascii_uppercase(), &written.to_ascii_uppercase());
    let mut near: Vec<&Known<'_>> = known.iter().filter(|bottle| distance(&bottle.label) <= 2).collect();
    near.sort_by_key(|bottle| distance(&bottle.label));
    let free: Vec<String> = near
        .iter()
        .filter(|bottle| distance(&bottle.label) == near.first().map_or(0, |first| distance(&first.label)))
        .filter(|bottle| !file.results.iter().any(|other| other.label().eq_ignore_ascii_case(&bottle.label)))
        .map(|bottle| format!("`{}`", bottle.label))
        .collect();
    let likely = match free.as_slice() {
        [] => "No bottle without a result has a label like it.".to_owned(),
        [one] => format!("The only bottle without a result whose label is like it is {one}."),
        more => format!("Bottles without a result whose labels are like it: {}.", more.join(", ")),
    };
    let finding = if is_label(written) {
        let message = format!("`{written}` is a label of no bottle of this campaign");
        at_cell(file, &result.label, Code::BottleNotSent, message, "this label")
    } else {
        let message = format!("the check character of `{written}` does not belong to the rest of the label");
        at_cell(file, &result.label, Code::LabelCheckWrong, message, "this label")
    };
    found.push(
        finding
            .help(format!("{likely} Look at the bottle, or at the photograph of it, before anything is taken over.")),
    );
}

fn not_drawn(file: &LabFile, result: &LabResult, bottle: &Known<'_>, found: &mut Vec<Finding>) {
    let origin = bottle.drawn.reading.origin;
    found.push(
        at_cell(
            file,
            &result.label,
            Code::BottleNotSent,
            format!(
                "bottle `{}` has a result, and the record of run {} does not say that it was drawn",
                bottle.label, bottle.run
            ),
            "this label",
        )
        .also(origin.source, origin.span, format!("asks for `{}`", bottle.drawn.reading.path))
        .help("If it was drawn, write so in the record; if it was not, the result is another bottle's."),
    );
}

/// A label that has a result already.
fn again(old: &Seen<'_>, new: &Seen<'_>, bottle: &Known<'_>, found: &mut Vec<Finding>) {
    let report = |seen: &Seen<'_>| (seen.file.source, seen.result.text(&Holds::Report).map(str::to_owned));
    let pairs = old.spectrum.points.iter().zip(&new.spectrum.points);
    let differs = pairs.clone().find(|(one, other)| (one.count - other.count).abs() > 1e-9 * one.count.max(1.0));
    if report(old) == report(new) {
        let message = format!("the label `{}` stands on two results of one report", new.result.label());
        found.push(
            at_bottle(new, bottle, &new.result.label, Code::LabelReused, message, "the second")
                .also(old.file.source, old.result.label.span, format!("the first ({})", old.file.whereabouts(&old.result.label)))
                .help("Find out which bottle each of them was. Until then the first is looked at, and neither may be used."),
        );
        return;
    }
    let Some((before, after)) = differs else { return };
    let name = |seen: &Seen<'_>| {
        seen.result.text(&Holds::Report).map_or(format!("`{}`", seen.file.name), |text| format!("report `{text}`"))
    };
    let message = format!(
        "bottle `{}`: {} gives {} from {} up, and {} gives {}",
        bottle.label,
        name(old),
        number(before.written),
        before.words,
        name(new),
        number(after.written)
    );
    found.push(
        at_bottle(new, bottle, after.cell, Code::Reissued, message, "the later number")
            .also(
                old.file.source,
                before.cell.span,
                format!("the earlier number ({})", old.file.whereabouts(before.cell)),
            )
            .help("Ask why it was reissued and keep both. Until that is answered, the earlier numbers are looked at."),
    );
}

/// Bottles drawn and sent with others, and never heard of again.
fn lost(known: &[Known<'_>], seen: &[Seen<'_>], found: &mut Vec<Finding>) {
    for (at, bottle) in known.iter().enumerate() {
        let Some(row) = bottle.row else { continue };
        let back = |which: Which| seen.iter().any(|seen| seen.known == at && seen.which == which);
        let run_back =
            seen.iter().filter(|seen| known.get(seen.known).is_some_and(|other| other.run == bottle.run)).count();
        let mut missing = Vec::new();
        if !back(Which::First) {
            missing.push(bottle.label.clone());
        }
        if bottle.drawn.bottle.twin && !back(Which::Twin) {
            missing.push(format!("{}T", bottle.label));
        }
        if run_back == 0 || missing.is_empty() || bottle.drawn.bottle.tests.is_empty() {
            continue;
        }
        let cell = row.cell(crate::record::Column::Value);
        let origin = bottle.drawn.reading.origin;
        let message = format!(
            "bottle `{}` of run {} was drawn and has no result, while {run_back} others of this run have",
            missing.join("` and `"),
            bottle.run
        );
        let weight = if bottle.drawn.dusty { Severity::Major } else { Severity::Minor };
        found.push(
            crate::diagnostic::Diagnostic::new(Code::BottleWithoutResult, message)
                .severity(weight)
                .at(row.record.source, cell.span, format!("drawn here ({})", row.record.whereabouts(cell)))
                .also(origin.source, origin.span, format!("asks for `{}`", bottle.drawn.reading.path))
                .help("Compare the custody form's list with the laboratory's list of bottles received."),
        );
    }
}

/// Two bottles with the same counts in five sizes or more.
fn copied(known: &[Known<'_>], seen: &[Seen<'_>], found: &mut Vec<Finding>) -> Vec<usize> {
    let mut copies = Vec::new();
    let count = seen.len().min(2_000);
    let pairs = (count * count.saturating_sub(1) / 2).max(1) as f64;
    for (at, one) in seen.iter().enumerate().take(count) {
        for (place, other) in seen.iter().enumerate().take(count).skip(at + 1) {
            let same = one
                .spectrum
                .points
                .iter()
                .zip(&other.spectrum.points)
                .filter(|(a, b)| (a.written - b.written).abs() < 1e-9 && (a.size / b.size - 1.0).abs() < 1e-6);
            let (mut equal, mut chance) = (0, 1.0_f64);
            for (a, _) in same {
                equal += 1;
                // Two honest counts around one mean fall on the same printed number this often.
                let spread = one.spectrum.spread(a.count, 0.0, 0.0).max(1e-12);
                chance *= (2.0 * a.rounding / (2.0 * std::f64::consts::PI.sqrt() * spread)).min(1.0);
            }
            if equal < 5 || chance * pairs > 1e-3 {
                continue;
            }
            let (Some(first), Some(second)) = (known.get(one.known), known.get(other.known)) else { continue };
            copies.extend([at, place]);
            let odds = 1.0 / (chance * pairs).max(1e-30);
            let message = format!(
                "bottles `{}` and `{}` have the same counts in {equal} sizes",
                one.result.label(),
                other.result.label()
            );
            let cell = super::first_count(other.result);
            found.push(
                at_bottle(other, second, cell, Code::SameCountsTwice, message, "these")
                    .also(one.file.source, super::first_count(one.result).span, format!("and these, of `{}`", first.label))
                    .help(format!("If both oils were alike and both were counted, this would happen by chance in about 1 of {odds:.0e} such files. A row that was copied is likelier. {ASK}")),
            );
        }
    }
    copies
}
