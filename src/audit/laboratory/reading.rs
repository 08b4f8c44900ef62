//! How the counts were read: sums or intervals, which volume, which dilution; the code beside them; what the doses lead to.

use indexmap::IndexMap;

use super::bottle::{Known, Seen, Spectrum, lab, number, spectrum};
use super::{ASK, Bench, at_bottle, pair};
use crate::audit::say::Finding;
use crate::diagnostic::{Code, Severity};
use crate::plan::{Counts, Holds};
use crate::record::laboratory::LabFile;
use crate::trade::cleanliness::iso4406::{Code as Cleanliness, FEW_COUNTS, ScaleNumber};
use crate::trade::counting::Concentration;

/// The sizes of a code, m.
pub(super) const CODED: [f64; 3] = [4e-6, 6e-6, 14e-6];

/// Another way to read a row than the layout says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Otherwise {
    Intervals,
    Sums,
    Hundredth,
    Hundredfold,
    Multiplied,
    Divided,
}

impl Otherwise {
    const ALL: [Otherwise; 6] = [
        Otherwise::Intervals,
        Otherwise::Sums,
        Otherwise::Hundredth,
        Otherwise::Hundredfold,
        Otherwise::Multiplied,
        Otherwise::Divided,
    ];

    fn code(self) -> Code {
        match self {
            Otherwise::Intervals | Otherwise::Sums => Code::IntervalsAsSums,
            Otherwise::Hundredth | Otherwise::Hundredfold => Code::OtherVolume,
            Otherwise::Multiplied | Otherwise::Divided => Code::DilutionMissed,
        }
    }

    /// The layout that would read so, and the factor on top of it.
    fn of(self, counts: &Counts, dilution: f64) -> Option<(Counts, f64)> {
        let mut other = counts.clone();
        let hundred = counts.basis.contains("100");
        Some(match self {
            Otherwise::Intervals if counts.cumulative => {
                other.cumulative = false;
                (other, 1.0)
            }
            Otherwise::Sums if !counts.cumulative => {
                other.cumulative = true;
                (other, 1.0)
            }
            Otherwise::Hundredth if !hundred => (other, 0.01),
            Otherwise::Hundredfold if hundred => (other, 100.0),
            Otherwise::Multiplied if dilution > 1.0 => (other, dilution),
            Otherwise::Divided if dilution > 1.0 => (other, 1.0 / dilution),
            _ => return None,
        })
    }

    fn words(self, dilution: f64) -> String {
        match self {
            Otherwise::Intervals => "they are counts between one size and the next".to_owned(),
            Otherwise::Sums => "they are counts from each size up already".to_owned(),
            Otherwise::Hundredth => "they are counts per 100 mL".to_owned(),
            Otherwise::Hundredfold => "they are counts per mL".to_owned(),
            Otherwise::Multiplied => {
                format!("they are counts of the diluted oil, to be multiplied by {}", number(dilution))
            }
            Otherwise::Divided => format!("the dilution of 1 to {} was multiplied twice", number(dilution)),
        }
    }

    fn line(self, counts: &Counts) -> String {
        let mut other = counts.clone();
        match self {
            Otherwise::Intervals => other.cumulative = false,
            Otherwise::Sums => other.cumulative = true,
            Otherwise::Hundredth => other.basis = "per 100 mL".to_owned(),
            Otherwise::Hundredfold => other.basis = "per mL".to_owned(),
            Otherwise::Multiplied => other.dilution_applied = Some(false),
            Otherwise::Divided => return "ask the laboratory for counts that are multiplied once".to_owned(),
        }
        let mode = if other.cumulative { "cumulative" } else { "differential" };
        let dilution = match other.dilution_applied {
            Some(true) => ", dilution applied",
            Some(false) => ", dilution not applied",
            None => "",
        };
        format!("`counts {mode}, \"{}\"{dilution}`", other.basis)
    }
}

/// What was found of one result's reading.
struct Strange {
    at: usize,
    how: Otherwise,
    support: String,
}

/// Sums, volume, dilution, code; each result for itself, and one finding where most of a file shows the same.
pub(super) fn findings(bench: &mut Bench<'_, '_>, files: &[LabFile], found: &mut Vec<Finding>) {
    let mut strange: Vec<Strange> = Vec::new();
    let mut settled = Vec::new();
    for (at, seen) in bench.seen.iter().enumerate() {
        let Some(known) = bench.known(seen) else { continue };
        beyond(bench, seen, known, found);
        let printed = code_of(seen);
        let wrong = printed.is_some_and(|code| !agrees(&seen.spectrum, code));
        let rises = seen.spectrum.rises();
        if printed.is_some() && !wrong && rises.is_none() {
            few(bench, seen, known, found);
        }
        if !wrong && rises.is_none() {
            continue;
        }
        settled.push(at);
        let columns = rises.is_some() && printed.is_some_and(|code| exchanged_cells(&seen.spectrum, code));
        let how = Otherwise::ALL.into_iter().find(|how| !columns && fits(bench, seen, known, *how, printed));
        if let Some(how) = how {
            let support = match printed {
                Some(code) => format!("read so, they give the printed code {code}"),
                None => "read so, they fall with size".to_owned(),
            };
            strange.push(Strange { at, how, support });
            continue;
        }
        if let Some((small, large)) = rises {
            let message = format!(
                "bottle `{}`: {} particles per mL from {} up, but {} from {} up",
                seen.result.label(),
                number(small.count),
                small.words,
                number(large.count),
                large.words
            );
            found.push(
                at_bottle(seen, known, large.cell, Code::CountsRise, message, "more than at the smaller size")
                    .also(
                        seen.file.source,
                        small.cell.span,
                        format!("the smaller size ({})", seen.file.whereabouts(small.cell)),
                    )
                    .help(format!("Two columns exchanged, or a digit lost. {ASK}")),
            );
            continue;
        }
        if let Some(code) = printed {
            let message = format!(
                "bottle `{}`: the code {code} is printed, and the counts beside it give {}",
                seen.result.label(),
                reckoned(&seen.spectrum)
            );
            let cell = seen.result.cell(&Holds::Code).unwrap_or(&seen.result.label);
            found.push(
                at_bottle(seen, known, cell, Code::CodeAgainstCounts, message, "this code")
                    .help(format!("No other way of reading the counts gives it either: not as counts between sizes, not per 100 mL, not with the dilution. {ASK}")),
            );
        }
    }
    bench.settled.extend(settled);
    for file in say(bench, files, &strange, found) {
        // Whatever else is odd in a file that was read wrong, was read wrong.
        let all = bench.seen.iter().enumerate().filter(|(_, seen)| std::ptr::eq(seen.file, file));
        bench.settled.extend(all.map(|(at, _)| at));
    }
}

/// One finding a file where most of its results show one way, else one a result. Gives the files that are so as a whole.
fn say<'f>(
    bench: &Bench<'_, '_>,
    files: &'f [LabFile],
    strange: &[Strange],
    found: &mut Vec<Finding>,
) -> Vec<&'f LabFile> {
    let mut whole = Vec::new();
    for file in files {
        let of_file = bench.seen.iter().filter(|seen| std::ptr::eq(seen.file, file)).count();
        let mut groups: IndexMap<Otherwise, Vec<&Strange>> = IndexMap::new();
        for one in strange {
            if bench.seen.get(one.at).is_some_and(|seen| std::ptr::eq(seen.file, file)) {
                groups.entry(one.how).or_default().push(one);
            }
        }
        for (how, group) in groups {
            let together = group.len() >= 3 && 2 * group.len() > of_file;
            let shown = if together { 1 } else { group.len() };
            whole.extend(together.then_some(file));
            for one in group.iter().take(shown) {
                let Some(seen) = bench.seen.get(one.at) else { continue };
                let Some(known) = bench.known(seen) else { continue };
                let (dilution, cell) = (seen.spectrum.dilution, super::first_count(seen.result));
                let many =
                    if together { format!(", and {} of {of_file} results are so", group.len()) } else { String::new() };
                let message =
                    format!("bottle `{}`: its counts make sense if {}{many}", seen.result.label(), how.words(dilution));
                let next = if together {
                    format!(
                        "If the laboratory confirms it, write {} in the layout of its file.",
                        how.line(&file.counts)
                    )
                } else {
                    format!(
                        "The other rows of this file are not so: the row was made in another way, or copied from elsewhere. {ASK}"
                    )
                };
                found.push(at_bottle(seen, known, cell, how.code(), message, "these counts").help(format!(
                    "What supports it: {}; as the layout says, they give {}. {next}",
                    one.support,
                    reckoned(&seen.spectrum)
                )));
            }
        }
    }
    whole
}

/// Whether two neighbouring counts, exchanged, give the printed code and fall with size.
fn exchanged_cells(spectrum: &Spectrum<'_>, code: Cleanliness) -> bool {
    (1..spectrum.points.len()).any(|at| {
        let mut other = spectrum.clone();
        let pair = (spectrum.points.get(at - 1).map(|p| p.count), spectrum.points.get(at).map(|p| p.count));
        if let (Some(small), Some(large)) = pair {
            if let Some(point) = other.points.get_mut(at - 1) {
                point.count = large;
            }
            if let Some(point) = other.points.get_mut(at) {
                point.count = small;
            }
        }
        other.rises().is_none() && agrees(&other, code)
    })
}

fn fits(
    bench: &Bench<'_, '_>,
    seen: &Seen<'_>,
    known: &Known<'_>,
    how: Otherwise,
    printed: Option<Cleanliness>,
) -> bool {
    let Some(read) = read_as(bench, seen, known, how) else { return false };
    read.rises().is_none()
        && read.points.len() >= 3
        && printed.map_or(how == Otherwise::Intervals, |code| agrees(&read, code))
}

fn read_as<'a>(bench: &Bench<'_, '_>, seen: &Seen<'a>, known: &Known<'_>, how: Otherwise) -> Option<Spectrum<'a>> {
    let (counts, factor) = how.of(&seen.file.counts, seen.spectrum.dilution)?;
    let test = lab(bench.plan, seen.file).map(|(_, test)| test);
    let mut read = spectrum(seen.file, seen.result, &counts, known.drawn.bottle.dilution, test);
    for point in &mut read.points {
        point.count *= factor;
        point.rounding *= factor;
    }
    Some(read)
}

fn code_of(seen: &Seen<'_>) -> Option<Cleanliness> {
    seen.result.text(&Holds::Code)?.replace(' ', "").parse().ok()
}

/// Whether the counts may give a code: each at the edge of its rounding.
fn agrees(spectrum: &Spectrum<'_>, code: Cleanliness) -> bool {
    CODED.iter().zip(code.0).all(|(size, figure)| {
        let (Some(point), ScaleNumber::Band(_) | ScaleNumber::Above28) = (spectrum.at(*size), figure.number) else {
            return true;
        };
        let edge = point.rounding + 0.005 * point.count;
        [point.count - edge, point.count, point.count + edge]
            .into_iter()
            .any(|count| scale(count) == Some(figure.number))
    })
}

fn scale(count: f64) -> Option<ScaleNumber> {
    Concentration::per_millilitre(count.max(0.0)).ok().map(ScaleNumber::of)
}

/// The code of the counts, `-` where a size is missing.
fn reckoned(spectrum: &Spectrum<'_>) -> String {
    let figure =
        |size: &f64| spectrum.at(*size).and_then(|point| scale(point.count)).map_or("-".to_owned(), |s| s.to_string());
    CODED.iter().map(figure).collect::<Vec<_>>().join("/")
}

/// Few particles and no mark.
fn few(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) {
    let Some(code) = code_of(seen) else { return };
    for (size, figure) in CODED.iter().zip(code.0) {
        let Some(point) = seen.spectrum.at(*size) else { continue };
        let Some(raw) = seen.spectrum.raw(point.count) else { continue };
        let few = raw + seen.spectrum.raw(point.rounding).unwrap_or(0.0) < FEW_COUNTS as f64 - 0.5;
        if !few || figure.few_counts || !matches!(figure.number, ScaleNumber::Band(_)) {
            continue;
        }
        let cell = seen.result.cell(&Holds::Code).unwrap_or(&seen.result.label);
        let claimed = known.drawn.dusty && known.drawn.behind && claims(bench, known);
        let message = format!(
            "bottle `{}`: about {} particles were counted from {} up, and the code {code} has no ≥ before its {}",
            seen.result.label(),
            number(raw.round()),
            point.words,
            figure.number
        );
        found.push(
            at_bottle(seen, known, cell, Code::FewCountsUnmarked, message, "no mark")
                .severity(if claimed { Severity::Major } else { Severity::Minor })
                .help("Report this figure with ≥ before it. Where an efficiency rests on it, have the second bottle counted with more oil."),
        );
        return;
    }
}

fn claims(bench: &Bench<'_, '_>, known: &Known<'_>) -> bool {
    let campaign = &bench.plan.campaign;
    let model =
        campaign.specimens.get(known.specimen).and_then(|specimen| campaign.models.get(specimen.model.as_ref()?));
    model.is_some_and(|model| model.claims.iter().any(|claim| claim.size.is_some()))
}

/// More than the counter can tell apart.
fn beyond(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) {
    let Some(limit) = lab(bench.plan, seen.file).and_then(|(_, test)| test.coincidence_limit.as_ref()) else { return };
    let allowed = limit.value.si() * 1e-6;
    let Some(point) = seen.spectrum.points.first() else { return };
    let met = point.count / seen.spectrum.dilution;
    if met <= allowed * 1.0001 || allowed <= 0.0 {
        return;
    }
    let message = format!(
        "bottle `{}`: the counter met {} particles per mL from {} up at a dilution of 1 to {}, and is good to {}",
        seen.result.label(),
        number(met),
        point.words,
        number(seen.spectrum.dilution),
        limit.value
    );
    let least = (point.count / (0.8 * allowed)).ceil();
    found.push(
        at_bottle(seen, known, point.cell, Code::BeyondCoincidence, message, "counted too dense")
            .also(limit.origin.source, limit.origin.span, "the limit")
            .help(format!("Have the kept bottle counted again, diluted at least 1 to {}.", number(least))),
    );
}

/// Upstream counts against what the doses lead to, and against the dirt that was weighed.
pub(super) fn challenge(bench: &mut Bench<'_, '_>, found: &mut Vec<Finding>) {
    let allowed = 1.0 + bench.rule("challenge-window", 0.30);
    let mut strange = Vec::new();
    let mut settled = Vec::new();
    for (at, seen) in bench.open() {
        let Some(known) = bench.known(seen) else { continue };
        if known.drawn.behind || !known.drawn.dusty {
            continue;
        }
        let how = factor(bench, seen, known);
        let by_pair = how
            .and_then(|how| how.of(&seen.file.counts, seen.spectrum.dilution))
            .is_some_and(|(_, factor)| pair::agrees_after(bench, seen, factor));
        if !by_pair {
            mass(seen, known, found);
        }
        let Some((low, high)) = away(bench, seen, known, 1.0) else { continue };
        if low <= allowed && high <= allowed && !by_pair {
            continue;
        }
        settled.push(at);
        if let Some(how) = how {
            strange.push(Strange {
                at,
                how,
                support: "read so, they are what the doses lead to at most sizes".to_owned(),
            });
            continue;
        }
        let Some((point, low, high)) = worst(seen, known) else { continue };
        let message = format!(
            "bottle `{}` before the filter: {} particles per mL from {} up, and the doses lead to {} to {}",
            seen.result.label(),
            number(point.0),
            point.1,
            number(low * 1e-6),
            number(high * 1e-6)
        );
        let cell =
            seen.spectrum.points.iter().find(|other| other.words == point.1).map_or(&seen.result.label, |p| p.cell);
        found.push(
            at_bottle(seen, known, cell, Code::ChallengeNotAsPlanned, message, "off by more than the doses explain")
                .help(if point.0 < low * 1e-6 {
                    "Too little: dust left in the pot or on its walls, settled in the tank, mixed too short, or the bottle drawn after most of it had been caught. Compare the weighed boat and the time of the bottle."
                } else {
                    "Too much: dust of an earlier dose still going round, a dose entered twice, or a bottle drawn before the dust was mixed. Compare the doses in the record."
                }),
        );
    }
    bench.settled.extend(settled);
    let files: Vec<&LabFile> = bench.seen.iter().map(|seen| seen.file).fold(Vec::new(), |mut files, file| {
        if !files.iter().any(|other| std::ptr::eq(*other, file)) {
            files.push(file);
        }
        files
    });
    for file in files {
        say(bench, std::slice::from_ref(file), &strange, found);
    }
}

/// A factor on all counts of a bottle before the filter that makes them what the doses lead to, where they are far from it.
fn factor(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>) -> Option<Otherwise> {
    let ratio = middle_ratio(seen, known)?;
    let factors = [Otherwise::Hundredth, Otherwise::Hundredfold, Otherwise::Multiplied, Otherwise::Divided];
    factors.into_iter().find(|how| {
        let factor = how.of(&seen.file.counts, seen.spectrum.dilution).map(|(_, factor)| factor);
        // A factor below two is no sign of anything but scatter.
        factor.filter(|factor| !(0.45..2.2).contains(factor)).is_some_and(|factor| {
            let near = (ratio * factor).ln().abs() < 1.5_f64.ln() && ratio.ln().abs() > 2.0_f64.ln();
            (near || pair::agrees_after(bench, seen, factor))
                && away(bench, seen, known, factor).is_some_and(|(low, high)| low <= 1.0 && high <= 1.0)
        })
    })
}

/// Whether such a factor explains a bottle.
pub(super) fn is_scaled(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>) -> bool {
    factor(bench, seen, known).is_some()
}

/// The middle of the ratios of what was counted to the geometric middle of what is expected.
fn middle_ratio(seen: &Seen<'_>, known: &Known<'_>) -> Option<f64> {
    let expected = known.drawn.expected.iter().filter_map(|(size, span)| {
        let span = span.as_ref()?;
        let (point, middle) = (seen.spectrum.at(*size)?, (span.low * span.high).sqrt() * 1e-6);
        seen.spectrum.raw(middle).filter(|raw| *raw >= 30.0)?;
        Some(point.count.max(1e-9) / middle)
    });
    let mut ratios: Vec<f64> = expected.collect();
    ratios.sort_by(f64::total_cmp);
    ratios.get(ratios.len() / 2).copied()
}

/// How far the counts lie below and above the expected span, as factors of the middle size (1 is inside), after a factor.
/// Scatter is taken off.
fn away(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, factor: f64) -> Option<(f64, f64)> {
    let mut ratios: Vec<(f64, f64)> = Vec::new();
    for (size, span) in &known.drawn.expected {
        let (Some(point), Some(span)) = (seen.spectrum.at(*size), span) else { continue };
        let (low, high) = (span.low * 1e-6, span.high * 1e-6);
        if seen.spectrum.raw(low).is_none_or(|raw| raw < 30.0) {
            continue;
        }
        let count = point.count * factor;
        let noise = 3.0 * seen.spectrum.spread(count, bench.scatter(), point.rounding);
        ratios.push(((low / (count + noise)).max(1.0), ((count - noise).max(1e-9) / high).max(1.0)));
    }
    if ratios.len() < 2 {
        return None;
    }
    let middle = |pick: fn(&(f64, f64)) -> f64| {
        let mut all: Vec<f64> = ratios.iter().map(pick).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(1.0)
    };
    Some((middle(|ratio| ratio.0), middle(|ratio| ratio.1)))
}

/// The point farthest from its span.
fn worst<'s>(seen: &'s Seen<'_>, known: &Known<'_>) -> Option<((f64, &'s str), f64, f64)> {
    let mut worst: Option<(f64, (f64, &str), f64, f64)> = None;
    for (size, span) in &known.drawn.expected {
        let (Some(point), Some(span)) = (seen.spectrum.at(*size), span) else { continue };
        if seen.spectrum.raw(span.low * 1e-6).is_none_or(|raw| raw < 30.0) {
            continue;
        }
        let off = (span.low * 1e-6 / point.count.max(1e-9)).max(point.count / (span.high * 1e-6).max(1e-9));
        if worst.as_ref().is_none_or(|(most, ..)| off > *most) {
            worst = Some((off, (point.count, point.words), span.low, span.high));
        }
    }
    worst.map(|(_, point, low, high)| (point, low, high))
}

/// Counts against the dirt that was weighed.
fn mass(seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) {
    // mg/L are 1e-3 kg/m³.
    let Some(weighed) = seen.file.number(seen.result, &Holds::Gravimetric).filter(|mass| *mass > 0.0) else { return };
    let mut ratios: Vec<(f64, &super::bottle::Point<'_>, f64)> = known
        .drawn
        .per_mass
        .iter()
        .filter_map(|(size, per_mass)| {
            let point = seen.spectrum.at(*size)?;
            let led_to = per_mass * weighed * 1e-3 * 1e-6;
            seen.spectrum.raw(led_to).filter(|raw| *raw >= 30.0)?;
            (point.count > 0.0).then_some((point.count / led_to, point, led_to))
        })
        .collect();
    // A filter takes the coarse dust first: against what is still weighed there are more fine particles than in the fresh dust
    // and fewer coarse ones. All more, or all fewer, are no dust of this kind.
    ratios.sort_by(|one, other| one.0.total_cmp(&other.0));
    let nearest = if ratios.first().is_some_and(|(least, ..)| *least > 1.0) { ratios.first() } else { ratios.last() };
    let Some((ratio, point, led_to)) = nearest.filter(|(ratio, ..)| !(1.0 / 3.0..3.0).contains(ratio)) else { return };
    let message = format!(
        "bottle `{}`: {} mg/L of this dust would be {} particles per mL from {} up, and {} were counted",
        seen.result.label(),
        number(weighed),
        number(*led_to),
        point.words,
        number(point.count)
    );
    let cell = seen.result.cell(&Holds::Gravimetric).unwrap_or(&seen.result.label);
    let grave = !(0.1..10.0).contains(ratio);
    found.push(
        at_bottle(seen, known, cell, Code::CountsAgainstMass, message, "weighed")
            .severity(if grave { Severity::Major } else { Severity::Minor })
            .help(format!("They differ by a factor of {}. {ASK}", number(ratio.max(1.0 / ratio)))),
    );
}
