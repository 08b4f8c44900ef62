//! The way of the bottles, and how they were counted: seals, dates, hold time, method, calibration.

use super::bottle::{Known, Seen, lab, number};
use super::{ASK, Bench, at_bottle, at_cell};
use crate::audit::say::Finding;
use crate::diagnostic::{Code, Severity};
use crate::plan::{Holds, ResultsFile};
use crate::quantity::{Mark, SizeBasis, Unit};
use crate::record::Column;
use crate::record::laboratory::LabFile;

const DAY: f64 = 86_400.0;

pub(super) fn findings(bench: &Bench<'_, '_>, files: &[LabFile], found: &mut Vec<Finding>) {
    for file in files {
        sizes(bench, file, found);
    }
    for seen in bench.seen {
        let Some(known) = bench.known(seen) else { continue };
        seal(seen, known, found);
        dates(bench, seen, known, found);
        method(bench, seen, known, found);
    }
}

/// Seals: broken on arrival, or another than was put on.
fn seal(seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) {
    let Some((cell, text)) = seen.result.cell(&Holds::Seal).zip(seen.result.text(&Holds::Seal)) else { return };
    let lower = text.to_lowercase();
    let broken = ["broken", "open", "missing", "torn", "damaged", "leak", "none", "no"].iter().any(|word| {
        lower.split(|c: char| !c.is_alphabetic()).any(|part| part.starts_with(word) && (part.len() <= word.len() + 2))
    });
    let put_on = known.row.and_then(|row| {
        let note = row.text(Column::Note).to_lowercase();
        let rest = note.split("seal ").nth(1)?.to_owned();
        let number: String = rest.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        number.chars().any(|c| c.is_ascii_digit()).then_some(number)
    });
    let digits = lower.chars().any(|c| c.is_ascii_digit());
    let other = put_on.as_ref().filter(|number| digits && !lower.contains(number.as_str()));
    let message = match other {
        _ if broken => format!("bottle `{}` arrived with its seal `{text}`", seen.result.label()),
        Some(number) => {
            format!("bottle `{}` left the bench with seal `{number}` and arrived with `{text}`", seen.result.label())
        }
        None => return,
    };
    found.push(
        at_bottle(seen, known, cell, Code::CustodyBroken, message, "on arrival")
            .help("Ask who had the bottles on the way. If nobody can say, have the kept bottle counted."),
    );
}

/// Dates in an order that can't be, and bottles that stood too long.
fn dates(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) {
    let drawn = known.row.and_then(|row| row.time());
    let received = seen.file.date(seen.result, &Holds::ReceivedOn);
    let counted = seen.file.date(seen.result, &Holds::CountedOn);
    let cell = |holds: &Holds| seen.result.cell(holds).unwrap_or(&seen.result.label);
    for (holds, what, date) in [(Holds::ReceivedOn, "received", received), (Holds::CountedOn, "counted", counted)] {
        if date.is_none() && seen.result.text(&holds).is_some() {
            let text = seen.result.text(&holds).unwrap_or_default();
            let pattern = seen.file.dates.as_deref().unwrap_or("YYYY-MM-DD");
            let message = format!(
                "bottle `{}`: the date on which it was {what} reads `{text}`, not {pattern}",
                seen.result.label()
            );
            found.push(
                at_bottle(seen, known, cell(&holds), Code::LabValueUnclear, message, "this date")
                    .severity(Severity::Minor)
                    .help("Say in the layout how dates are written, for example `dates \"DD.MM.YYYY\"`."),
            );
        }
    }
    let early = |date: Option<crate::record::Instant>, than: Option<crate::record::Instant>| {
        date.zip(than).is_some_and(|(date, than)| date.seconds + date.grain / 2 < than.seconds - than.grain / 2)
    };
    let wrong = if early(received, drawn) {
        Some((Holds::ReceivedOn, "received before it was drawn"))
    } else if early(counted, received) {
        Some((Holds::CountedOn, "counted before it was received"))
    } else if early(counted, drawn) {
        Some((Holds::CountedOn, "counted before it was drawn"))
    } else {
        None
    };
    if let Some((holds, words)) = wrong {
        let mut message = format!("bottle `{}` was {words}", seen.result.label());
        if let Some(text) = seen.result.text(&holds) {
            message.push_str(&format!(", on {text}"));
        }
        if let Some(drawn) = drawn {
            message.push_str(&format!("; it was drawn on {}", drawn.text()));
        }
        found.push(at_bottle(seen, known, cell(&holds), Code::CustodyBroken, message, "this date").help(format!(
            "Either a date is miswritten, or day and month are exchanged, or it is another bottle. {ASK}"
        )));
        return;
    }
    let Some((laboratory, _)) = lab(bench.plan, seen.file) else { return };
    if let (Some(drawn), Some(received), Some(within)) = (drawn, received, laboratory.ships_within.as_ref()) {
        let took = (received.seconds - received.grain / 2 - drawn.seconds) as f64;
        if took > within.si() {
            held(
                seen,
                known,
                cell(&Holds::ReceivedOn),
                "received",
                took,
                &within.to_string(),
                took > 3.0 * within.si(),
                laboratory.origin,
                found,
            );
            return;
        }
    }
    let longest = bench.rule("bottle-hold", 30.0 * DAY);
    let (limit, words) = match &laboratory.turnaround {
        Some(time) => {
            (time.si() + laboratory.ships_within.as_ref().map_or(0.0, |within| within.si()), time.to_string())
        }
        None => (longest, format!("{} days", number(longest / DAY))),
    };
    if let (Some(drawn), Some(counted)) = (drawn, counted) {
        let stood = (counted.seconds - counted.grain / 2 - drawn.seconds) as f64;
        if stood > limit {
            held(
                seen,
                known,
                cell(&Holds::CountedOn),
                "counted",
                stood,
                &words,
                stood > 2.0 * limit,
                laboratory.origin,
                found,
            );
        }
    }
}

#[expect(clippy::too_many_arguments, reason = "one sentence, filled from two places")]
fn held(
    seen: &Seen<'_>,
    known: &Known<'_>,
    cell: &crate::record::Cell,
    what: &str,
    took: f64,
    allowed: &str,
    grave: bool,
    laboratory: crate::plan::Origin,
    found: &mut Vec<Finding>,
) {
    let message = format!(
        "bottle `{}` was {what} {} days after it was drawn, and {allowed} were planned",
        seen.result.label(),
        crate::record::plain(took / DAY, 1)
    );
    found.push(
        at_bottle(seen, known, cell, Code::HeldTooLong, message, "this late")
            .also(laboratory.source, laboratory.span, "the laboratory's times")
            .severity(if grave { Severity::Major } else { Severity::Minor })
            .help("Ask how it was shaken before the count. If the bottles of a pair stood differently long, say so beside the result."),
    );
}

/// Another method, or less or more oil counted, than was asked for.
fn method(bench: &Bench<'_, '_>, seen: &Seen<'_>, known: &Known<'_>, found: &mut Vec<Finding>) {
    let Some((laboratory, test)) = lab(bench.plan, seen.file) else { return };
    let layout: Option<&ResultsFile> = laboratory.results.as_ref();
    let plain = |text: &str| text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some(asked) = layout.and_then(|layout| layout.method.as_deref())
        && let Some((cell, method)) = seen.result.cell(&Holds::Method).zip(seen.result.text(&Holds::Method))
        && plain(asked) != plain(method)
    {
        let message =
            format!("bottle `{}` was counted by `{method}`, and `{asked}` was asked for", seen.result.label());
        found.push(
            at_bottle(seen, known, cell, Code::OtherMethod, message, "this method")
                .help(format!("Compare it with no bottle that was counted in the other way. {ASK}")),
        );
    }
    if let Some((each, times)) = &test.counted_volume
        && let Some(cell) = seen.result.cell(&Holds::CountedVolume)
        && let Some(volume) = seen.file.number(seen.result, &Holds::CountedVolume)
    {
        let asked = each.si() * 1e6 * f64::from(*times);
        if !(0.9 * asked..=1.1 * asked).contains(&volume) {
            let message = format!(
                "bottle `{}`: {} mL were counted, and {each} {times} times were asked for, {} mL in all",
                seen.result.label(),
                number(volume),
                number(asked)
            );
            let help = if volume < asked {
                format!(
                    "Chance makes every count uncertain by {} times as much as planned. Have the kept bottle counted, or say so beside the result.",
                    number((asked / volume.max(1e-9)).sqrt())
                )
            } else {
                format!(
                    "By this volume more particles would have been seen, and the result surer than planned; a slip in it makes it sure of what nobody saw. {ASK}"
                )
            };
            found.push(
                at_bottle(seen, known, cell, Code::OtherMethod, message, "this volume")
                    .also(test.origin.source, test.origin.span, "asked for here")
                    .help(help),
            );
        }
    }
    let asked = test.calibrated_to.as_deref().and_then(edition);
    if let Some(asked) = asked
        && let Some((cell, text)) = seen.result.cell(&Holds::Calibration).zip(seen.result.text(&Holds::Calibration))
        && edition(text).is_some_and(|edition| edition != asked)
    {
        let message =
            format!("bottle `{}` was counted with sizes by `{text}`, and by {asked} was planned", seen.result.label());
        found.push(
            at_bottle(seen, known, cell, Code::SizesOnOtherScale, message, "this calibration")
                .also(test.origin.source, test.origin.span, "planned here")
                .help(format!("Compare no count of it with the others. {ASK}")),
        );
    }
}

/// The standard and its year, such as `ISO 11171:2020`.
fn edition(text: &str) -> Option<String> {
    let head = text.split([',', ';', '(']).next()?.trim();
    (!head.is_empty()).then(|| head.to_uppercase().split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Headings and units that name another size scale than the layout.
fn sizes(bench: &Bench<'_, '_>, file: &LabFile, found: &mut Vec<Finding>) {
    for heading in &file.headings {
        let Holds::CountAt(size) = &heading.holds else { continue };
        let Mark::Basis(planned) = size.unit.mark else { continue };
        for cell in std::iter::once(&heading.cell).chain(&heading.unit) {
            let text = cell.text.to_lowercase();
            let said = if text.contains("(c)") {
                Some(SizeBasis::Iso11171C)
            } else if text.contains("(b)") {
                Some(SizeBasis::Iso11171B)
            } else if text.contains("acftd") || text.contains("4402") {
                Some(SizeBasis::Acftd)
            } else {
                None
            };
            if said.is_some_and(|said| said != planned) {
                let message = format!("the file's heading says `{}`, and it is read as {size}", cell.text.trim());
                found.push(
                    at_cell(file, cell, Code::SizesOnOtherScale, message, "this heading")
                        .help("Ask the laboratory by which calibration its sizes are told, and write what it answers in the layout."),
                );
                return;
            }
        }
        let counted = lab(bench.plan, file).map(|(_, test)| test);
        let other =
            counted.and_then(|test| test.sizes.iter().find(|asked| (asked.value / size.value - 1.0).abs() < 1e-9));
        if let Some(asked) = other.filter(|asked| !same_scale(&asked.unit, &size.unit)) {
            let message = format!("the file's sizes are read as {size}, and {asked} was asked for");
            found.push(at_cell(file, &heading.cell, Code::SizesOnOtherScale, message, "this column").help(
                "Write the size in the layout as the laboratory tells it, and compare only counts of one calibration.",
            ));
            return;
        }
    }
}

fn same_scale(one: &Unit, other: &Unit) -> bool {
    one.mark == other.mark
}
