//! Oil and bottles that should be clean: background, bottle blanks, droplets that are counted as particles.

use super::bottle::{Known, Point, Seen, Which, lab, number, spectrum};
use super::reading::CODED;
use super::{Bench, at_bottle, at_cell, identity};
use crate::audit::say::Finding;
use crate::diagnostic::{Code, Severity};
use crate::record::laboratory::LabFile;
use crate::trade::cleanliness::iso4406::Code as Cleanliness;

pub(super) fn findings(bench: &mut Bench<'_, '_>, files: &[LabFile], found: &mut Vec<Finding>) {
    let mut settled = Vec::new();
    for (at, seen) in bench.open() {
        let Some(known) = bench.known(seen).filter(|known| !known.drawn.dusty) else { continue };
        if ghosts(bench, seen, known, found) || background(bench, seen, known, found) {
            settled.push(at);
        }
    }
    bench.settled.extend(settled);
    for file in files {
        blanks(bench, file, found);
    }
}

/// Many small particles and none of the large ones that dust would bring with them.
fn ghosts(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) -> bool {
    let (Some(small), Some(large)) = (seen.spectrum.at(4e-6), seen.spectrum.at(14e-6)) else { return false };
    let dust = bench
        .known
        .iter()
        .find_map(|other| {
            let at =
                |size: f64| other.drawn.per_mass.iter().find(|(s, _)| (s / size - 1.0).abs() < 0.01).map(|(_, n)| *n);
            Some(at(4e-6)? / at(14e-6).filter(|n| *n > 0.0)?)
        })
        .unwrap_or(50.0);
    let most = large.count + 3.0 * seen.spectrum.spread(large.count, bench.scatter(), large.rounding);
    let ratio = small.count / most.max(1e-9);
    let times = bench.rule("ghost-ratio", 5.0);
    let limit = limit(known, 0).unwrap_or(160.0);
    if ratio < times * dust.max(40.0) || small.count < 2.0 * limit {
        return false;
    }
    let message = format!(
        "bottle `{}`: {} particles per mL from {} up and only {} from {} up, in oil without dust",
        seen.result.label(),
        number(small.count),
        small.words,
        number(large.count),
        large.words
    );
    found.push(
        at_bottle(seen, known, small.cell, Code::GhostParticles, message, "small ones only")
            .help(format!("The test dust would bring one from {} up with every {} from {} up; here it is at most one in {}. Droplets of water or anti-foam look so. Ask whether the bottle was warmed, degassed or treated with solvent, and have it counted again after that.", large.words, number(dust.round()), small.words, number(ratio.round()))),
    );
    true
}

/// Up to which count the oil was to be clean at the nth size of a code, 1/mL.
fn limit(known: &Known<'_>, place: usize) -> Option<f64> {
    let code: Cleanliness = known.drawn.background?.parse().ok()?;
    code.bands().get(place).copied()??.up_to
}

fn background(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) -> bool {
    let mut worst: Option<(f64, &Point<'_>, f64)> = None;
    for (place, size) in CODED.iter().enumerate() {
        let (Some(point), Some(limit)) = (seen.spectrum.at(*size), limit(known, place)) else { continue };
        let spread = 3.0 * seen.spectrum.spread(point.count, bench.scatter(), point.rounding);
        let times = point.count / limit;
        if point.count - spread > limit && worst.as_ref().is_none_or(|(most, ..)| times > *most) {
            worst = Some((times, point, limit));
        }
    }
    let Some((_, point, limit)) = worst else { return false };
    let share = bench.rule("background-share", 0.20);
    let hidden = bench.open().map(|(_, other)| other).find_map(|other| {
        let loaded = bench.known(other)?;
        let behind =
            loaded.run == known.run && loaded.drawn.dusty && loaded.drawn.behind && other.which == Which::First;
        let count = other.spectrum.at(point.size)?.count;
        (behind && point.count > share * count).then_some((other, count))
    });
    let code = known.drawn.background.unwrap_or_default();
    let mut message = format!(
        "bottle `{}`: {} particles per mL from {} up before any dust, and {code} allows {}",
        seen.result.label(),
        number(point.count),
        point.words,
        number(limit)
    );
    if let Some((other, count)) = hidden {
        message.push_str(&format!(
            "; behind the filter, bottle `{}` has {} in all: {} % of it was there before",
            other.result.label(),
            number(count),
            number((100.0 * point.count / count.max(1e-9)).round())
        ));
    }
    found.push(
        at_bottle(seen, known, point.cell, Code::BackgroundTooHigh, message, "too many")
            .severity(if hidden.is_some() { Severity::Critical } else { Severity::Major })
            .help(format!("{} Take the background off only with its scatter.", cause(bench, seen, point))),
    );
    true
}

/// The oil or the bottle: what the bottle's twin says.
fn cause(bench: &Bench<'_, '_>, seen: &Seen<'_>, point: &Point<'_>) -> String {
    let twin =
        bench.open().map(|(_, other)| other).find(|other| other.known == seen.known && other.which != seen.which);
    match twin.and_then(|twin| Some((twin, twin.spectrum.at(point.size)?.count))) {
        Some((twin, count)) if count < 0.5 * point.count => format!(
            "Its twin `{}` has {}: this bottle was dirty, or was drawn before the valve was flushed; the oil was not so.",
            twin.result.label(),
            number(count)
        ),
        Some((twin, count)) => format!(
            "Its twin `{}` has {} as well: the oil was so. A clean-up that was too short, or a hose that sheds.",
            twin.result.label(),
            number(count)
        ),
        None => "A clean-up that was too short, a hose or sampling valve that shed, or a dirty bottle. Compare the bottle of the clean-up and the bottle blank.".to_owned(),
    }
}

/// Bottles that were only rinsed.
fn blanks(bench: &Bench<'_, '_>, file: &LabFile, found: &mut Vec<Finding>) {
    let tiers = bench.known.iter().filter_map(|known| Some((known, known.drawn.bottle.cleaner_than.as_ref()?)));
    let Some((known, (count, size))) = tiers.min_by(|(_, a), (_, b)| a.0.si().total_cmp(&b.0.si())) else { return };
    let test = lab(bench.plan, file).map(|(_, test)| test);
    for result in file.results.iter().filter(|result| identity::is_blank(bench.plan, file, result)) {
        let read = spectrum(file, result, &file.counts, None, test);
        let Some(point) = read.at(size.si()) else { continue };
        let allowed = count.si() * 1e-6;
        if point.count - 3.0 * read.spread(point.count, bench.scatter(), point.rounding) <= allowed {
            continue;
        }
        let origin = known.drawn.reading.origin;
        let message = format!(
            "the empty bottle `{}` has {} particles per mL from {size} up, and {count} were promised",
            result.label(),
            number(point.count)
        );
        found.push(
            at_cell(file, point.cell, Code::BottleBlankDirty, message, "this blank")
                .also(origin.source, origin.span, format!("wants bottles cleaner than {count} at {size}"))
                .help("Have a second empty bottle of the batch counted. If it is the same, take the blank off all of its bottles with its scatter, and buy cleaner ones."),
        );
    }
}
