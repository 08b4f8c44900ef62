//! Bottles beside each other: exchanged ones, twins, and a filter that catches coarse particles worse than fine ones.

use super::bottle::{Known, Seen, Spectrum, Which, number};
use super::{ASK, Bench, at_bottle, reading};
use crate::audit::say::Finding;
use crate::diagnostic::Code;
use crate::trade::cleanliness::iso4406::Code as Cleanliness;

/// The results before and behind the filter that belong together, by their places.
pub(super) fn pairs(bottles: &[Known<'_>], results: &[Seen<'_>]) -> Vec<(usize, usize)> {
    let first = |known: usize| results.iter().position(|seen| seen.known == known && seen.which == Which::First);
    let mut pairs = Vec::new();
    for (at, seen) in results.iter().enumerate() {
        let Some(known) = bottles.get(seen.known) else { continue };
        let Some(with) = known.drawn.bottle.paired_with.as_deref().filter(|_| seen.which == Which::First) else {
            continue;
        };
        let partner = bottles.iter().position(|other| {
            other.run == known.run
                && other.drawn.behind != known.drawn.behind
                && other.drawn.step.round == known.drawn.step.round
                && other.drawn.step.stage == known.drawn.step.stage
                && (other.drawn.reading.path == with
                    || with.rsplit('/').next() == Some(other.drawn.reading.name.as_str()))
        });
        let Some(other) = partner.and_then(first) else { continue };
        pairs.push(if known.drawn.behind { (other, at) } else { (at, other) });
    }
    pairs
}

/// Bottles that would fit if they were exchanged.
pub(super) fn exchanged(bench: &mut Bench<'_, '_>, found: &mut Vec<Finding>) {
    let mut settled = Vec::new();
    for (up, down) in bench.pairs.iter().copied() {
        if bench.settled.contains(&up) || bench.settled.contains(&down) {
            continue;
        }
        let (Some(before), Some(behind)) = (bench.seen.get(up), bench.seen.get(down)) else { continue };
        if !bench.known(before).is_some_and(|known| known.drawn.dusty && known.drawn.mounted) {
            continue;
        }
        let beyond: Vec<(f64, &str, f64, f64)> = above(&behind.spectrum, &before.spectrum, 0.05);
        if beyond.len() < 2 {
            continue;
        }
        let exchanged = misfit(bench, behind, bench.known(before)) + misfit(bench, before, bench.known(behind));
        let labelled = misfit(bench, behind, bench.known(behind));
        // One bottle before the filter that is off by a factor, and one behind it that is as it should be; or exchanged, the
        // filter would make coarse particles.
        let worse = labelled <= exchanged || !above(&before.spectrum, &behind.spectrum, 0.05).is_empty();
        if worse && bench.known(before).is_some_and(|known| reading::is_scaled(bench, before, known)) {
            continue;
        }
        let explained = exchanged < 0.3;
        let (Some(known), Some(other)) = (bench.known(behind), bench.known(before)) else { continue };
        let Some((sigmas, words, more, less)) = beyond.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0)) else {
            continue;
        };
        let message = format!(
            "behind the filter, bottle `{}` has {} particles per mL from {words} up, and before it bottle `{}` has {}: they seem to be exchanged",
            behind.result.label(),
            number(more),
            before.result.label(),
            number(less)
        );
        let planned = |known: &Known<'_>| f64::from(known.drawn.bottle.dilution.unwrap_or(1));
        let other_way = (behind.spectrum.dilution - planned(other)).abs() < 1e-9
            && (before.spectrum.dilution - planned(known)).abs() < 1e-9
            && (planned(known) - planned(other)).abs() > 1e-9;
        let mut support = if explained {
            format!(
                "more behind than before at {} sizes, at {words} by {sigmas:.0} times the scatter; exchanged, both fit what the doses lead to",
                beyond.len()
            )
        } else {
            format!(
                "more behind than before at {} sizes, at {words} by {sigmas:.0} times the scatter; but exchanged, the first does not fit the doses either: a rig that sheds dust is possible too",
                beyond.len()
            )
        };
        if other_way {
            support.push_str(&format!(
                "; and each was diluted as was planned for the other (1 to {} behind, 1 to {} before)",
                number(behind.spectrum.dilution),
                number(before.spectrum.dilution)
            ));
        }
        found.push(
            at_bottle(behind, known, &behind.result.label, Code::BottlesExchanged, message, "behind")
                .also(before.file.source, before.result.label.span, format!("before ({}), bottle `{}`", before.file.whereabouts(&before.result.label), other.label))
                .help(format!("What supports it: {support}. Look at both bottles' labels and at the times on them; have the kept bottles counted if the labels do not tell.")),
        );
        settled.extend([up, down]);
    }
    bench.settled.extend(settled);
    elsewhere(bench, found);
}

/// Any two that are both strange and fit in each other's place.
fn elsewhere(bench: &mut Bench<'_, '_>, found: &mut Vec<Finding>) {
    let strange: Vec<(usize, f64)> = bench
        .open()
        .map(|(at, seen)| (at, misfit(bench, seen, bench.known(seen))))
        .filter(|(_, off)| *off > 0.7)
        .take(200)
        .collect();
    let mut settled: Vec<usize> = Vec::new();
    for (place, (one, off)) in strange.iter().enumerate() {
        let mut best: Option<(usize, f64, f64)> = None;
        for (other, other_off) in strange.iter().skip(place + 1) {
            if settled.contains(one) || settled.contains(other) {
                continue;
            }
            let (Some(a), Some(b)) = (bench.seen.get(*one), bench.seen.get(*other)) else { continue };
            let after = misfit(bench, a, bench.known(b)) + misfit(bench, b, bench.known(a));
            if after < 0.25 * (off + other_off) && best.is_none_or(|(_, _, least)| after < least) {
                best = Some((*other, off + other_off, after));
            }
        }
        let Some((other, before, after)) = best else { continue };
        let (Some(a), Some(b)) = (bench.seen.get(*one), bench.seen.get(other)) else { continue };
        let Some(known) = bench.known(a) else { continue };
        let message = format!("bottles `{}` and `{}` seem to be exchanged", a.result.label(), b.result.label());
        found.push(
            at_bottle(a, known, &a.result.label, Code::BottlesExchanged, message, "the first")
                .also(b.file.source, b.result.label.span, format!("the second ({})", b.file.whereabouts(&b.result.label)))
                .help(format!(
                    "What supports it: as labelled, their counts are off what the plan leads to by a factor of {} in the mean; exchanged, by {}. Look at both labels and at the times on them.",
                    number((before / 2.0).exp()),
                    number((after / 2.0).exp())
                )),
        );
        settled.extend([*one, other]);
    }
    bench.settled.extend(settled);
}

/// Whether the bottle behind the filter has more of some size than this one before it, and of none after a factor on this one.
pub(super) fn agrees_after(bench: &Bench<'_, '_>, before: &Seen<'_>, factor: f64) -> bool {
    let mut own_pairs =
        bench.pairs.iter().filter_map(|(up, down)| Some((bench.seen.get(*up)?, bench.seen.get(*down)?)));
    own_pairs.any(|(own, behind)| {
        if !std::ptr::eq(own, before) {
            return false;
        }
        let mut scaled = own.spectrum.clone();
        for point in &mut scaled.points {
            point.count *= factor;
            point.rounding *= factor;
        }
        !above(&behind.spectrum, &own.spectrum, 0.05).is_empty() && above(&behind.spectrum, &scaled, 0.05).is_empty()
    })
}

/// Sizes at which one spectrum lies above another by more than three times the scatter: by how much, where, and both counts.
fn above<'s>(one: &'s Spectrum<'_>, other: &Spectrum<'_>, share: f64) -> Vec<(f64, &'s str, f64, f64)> {
    one.points
        .iter()
        .filter_map(|point| {
            let less = other.at(point.size)?;
            let spread =
                one.spread(point.count, share, point.rounding).hypot(other.spread(less.count, share, less.rounding));
            let sigmas = (point.count - less.count) / spread.max(1e-12);
            (sigmas > 3.0 && point.count > 1.2 * less.count).then_some((sigmas, point.words, point.count, less.count))
        })
        .collect()
}

/// How far counts lie outside what a bottle should hold, as the mean of logarithms over the sizes; 0 inside.
fn misfit(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: Option<&Known<'_>>) -> f64 {
    let Some(known) = known else { return 0.0 };
    let code = known.drawn.background.and_then(|code| code.parse::<Cleanliness>().ok());
    let (mut sum, mut sizes) = (0.0, 0.0);
    for (size, span) in &known.drawn.expected {
        let Some(point) = seen.spectrum.at(*size) else { continue };
        let (low, high) = match (known.drawn.dusty, span) {
            (true, Some(span)) => {
                let background = 200.0 * (4e-6 / size).powi(3);
                (span.low * 1e-6 / 1.5, span.high * 1e-6 * 1.5 + background)
            }
            (true, None) => continue,
            (false, _) => {
                let limit = code.and_then(|code| code.bands().first().copied()??.up_to).unwrap_or(640.0);
                (0.0, 3.0 * limit * (4e-6 / size).powi(2))
            }
        };
        let spread = 3.0 * seen.spectrum.spread(point.count, bench.scatter(), point.rounding);
        // Where next to nothing is expected and counted, nothing follows.
        if seen.spectrum.raw(point.count.max(high)).is_some_and(|raw| raw < 20.0) {
            continue;
        }
        sizes += 1.0;
        sum += (low / (point.count + spread)).max((point.count - spread) / high.max(1e-9)).max(1.0).ln();
    }
    if sizes > 0.0 { sum / sizes } else { 0.0 }
}

/// Twins and efficiencies.
pub(super) fn findings(bench: &Bench<'_, '_>, found: &mut Vec<Finding>) {
    twins(bench, found);
    for (up, down) in bench.pairs.iter().copied() {
        if bench.settled.contains(&up) || bench.settled.contains(&down) {
            continue;
        }
        let (Some(before), Some(behind)) = (bench.seen.get(up), bench.seen.get(down)) else { continue };
        if bench.known(before).is_some_and(|known| known.drawn.dusty && known.drawn.mounted) {
            efficiency(bench, before, behind, found);
        }
    }
}

fn twins(bench: &Bench<'_, '_>, found: &mut Vec<Finding>) {
    for (_, twin) in bench.open().filter(|(_, seen)| seen.which != Which::First) {
        let Some((_, first)) = bench.open().find(|(_, seen)| seen.known == twin.known && seen.which == Which::First)
        else {
            continue;
        };
        let Some(known) = bench.known(twin) else { continue };
        let mut worst: Option<(f64, &super::bottle::Point<'_>, f64, f64)> = None;
        for point in &twin.spectrum.points {
            let Some(other) = first.spectrum.at(point.size) else { continue };
            let spread = twin
                .spectrum
                .spread(point.count, bench.scatter(), point.rounding)
                .hypot(first.spectrum.spread(other.count, bench.scatter(), other.rounding));
            let sigmas = (point.count - other.count).abs() / spread.max(1e-12);
            if worst.as_ref().is_none_or(|(most, ..)| sigmas > *most) {
                worst = Some((sigmas, point, other.count, spread));
            }
        }
        // Several sizes are looked at in many twins: beyond four standard deviations honest work hardly ever comes.
        let Some((sigmas, point, other, spread)) = worst.filter(|(sigmas, ..)| *sigmas > 4.0) else { continue };
        let message = format!(
            "bottles `{}` and `{}` were drawn at one moment and differ at {} by {} per mL ({} and {}), {sigmas:.1} times what chance and the laboratory's scatter make",
            first.result.label(),
            twin.result.label(),
            point.words,
            number((point.count - other).abs()),
            number(other),
            number(point.count)
        );
        found.push(
            at_bottle(twin, known, point.cell, Code::TwinsDisagree, message, "the twin")
                .also(first.file.source, first.result.label.span, format!("the first ({})", first.file.whereabouts(&first.result.label)))
                .help(format!("Within {} per mL, the two would agree nineteen times in twenty. One bottle was dirty, not shaken, or not flushed before. Have the kept bottle counted; until then use neither alone.", number(2.0 * spread))),
        );
    }
}

fn efficiency(bench: &Bench<'_, '_>, before: &Seen<'_>, behind: &Seen<'_>, found: &mut Vec<Finding>) {
    let (Some(known), Some(other)) = (bench.known(behind), bench.known(before)) else { return };
    let base = |side: bool| {
        bench.open().map(|(_, seen)| seen).find(|seen| {
            bench.known(seen).is_some_and(|base| {
                base.run == known.run && !base.drawn.dusty && base.drawn.mounted && base.drawn.behind == side
            })
        })
    };
    let (base_before, base_behind) = (base(false), base(true));
    // Share let through, its standard deviation.
    let mut through: Vec<(f64, f64, &super::bottle::Point<'_>, f64)> = Vec::new();
    for point in &behind.spectrum.points {
        let Some(up) = before.spectrum.at(point.size) else { continue };
        let ground = |seen: Option<&Seen<'_>>| {
            seen.and_then(|seen| {
                Some((
                    seen.spectrum.at(point.size)?.count,
                    seen.spectrum.spread(seen.spectrum.at(point.size)?.count, 0.3, 0.0),
                ))
            })
            .unwrap_or((0.0, 0.0))
        };
        let (down_ground, up_ground) = (ground(base_behind), ground(base_before));
        let (net_down, net_up) = ((point.count - down_ground.0).max(0.0), up.count - up_ground.0);
        if net_up <= 0.0 || before.spectrum.raw(up.count).is_none_or(|raw| raw < 50.0) {
            continue;
        }
        let down_spread = behind.spectrum.spread(point.count, 0.05, point.rounding).hypot(down_ground.1);
        let up_spread = before.spectrum.spread(up.count, 0.05, up.rounding).hypot(up_ground.1);
        let share = net_down / net_up;
        let spread = share.max(1e-6) * ((down_spread / net_down.max(down_spread)).hypot(up_spread / net_up));
        through.push((share, spread, point, up.count));
    }
    let mut worst: Option<(f64, usize, usize)> = None;
    for (small, (share, spread, ..)) in through.iter().enumerate() {
        for (large, (more, wider, ..)) in through.iter().enumerate().skip(small + 1) {
            let sigmas = (more - share) / spread.hypot(*wider).max(1e-9);
            if sigmas > 4.0 && more - share > 0.05 && worst.is_none_or(|(most, ..)| sigmas > most) {
                worst = Some((sigmas, small, large));
            }
        }
    }
    let Some((sigmas, small, large)) = worst else { return };
    let (Some(fine), Some(coarse)) = (through.get(small), through.get(large)) else { return };
    let per_cent = |share: f64| number((1.0 - share) * 100.0);
    let message = format!(
        "run {}: the filter catches {} % from {} up and {} % from {} up, by bottles `{}` and `{}`",
        known.run,
        per_cent(fine.0),
        fine.2.words,
        per_cent(coarse.0),
        coarse.2.words,
        before.result.label(),
        behind.result.label()
    );
    found.push(
        at_bottle(behind, known, coarse.2.cell, Code::EfficiencyFalls, message, "too many coarse ones")
            .also(before.file.source, before.result.label.span, format!("before the filter ({}), bottle `{}`", before.file.whereabouts(&before.result.label), other.label))
            .help(format!("The fall is {sigmas:.1} times its scatter, with the background taken off. Air or water in the bottle behind counts as coarse particles; a valve that was not flushed sheds them. {ASK}")),
    );
}
