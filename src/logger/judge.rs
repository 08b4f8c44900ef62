//! What the stretches of the series amount to.

use super::limits::Limits;
use super::marks::Marks;
use super::rows::Tally;
use super::ties::{Purpose, Tie};
use super::watch::Spot;
use super::{File, quote};
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::plan::{LoggerFile, Plan};
use crate::quantity::{Dimension, Quantity, Unit, Window};
use crate::record::Column;
use crate::source::Sources;

/// Findings on a file as a whole.
pub(super) fn file(file: &File, tally: &Tally, layout: &LoggerFile, sources: &mut Sources) -> Vec<Diagnostic> {
    let File { name, word } = file;
    let mut found = Vec::new();
    let layout = layout.origin;
    let mut add = |code, message: String, line, text: &str, help: &str, severity: Option<Severity>| {
        let (source, span) = quote(file, line, text, sources);
        let finding = Diagnostic::new(code, message)
            .at(source, span, format!("{word} {line} of `{name}`"))
            .also(layout.source, layout.span, "how this logger writes its files")
            .help(help);
        found.push(match severity {
            Some(severity) => finding.severity(severity),
            None => finding,
        });
    };
    let rows = |count: u64| if count == 1 { "1 row".to_owned() } else { format!("{count} rows") };
    if tally.damaged.count > 0 {
        let seen = &tally.damaged;
        let message = format!("{} of `{name}` can't be used, the first for {}", rows(seen.count), seen.what);
        add(
            Code::LoggerRowsDamaged,
            message,
            seen.line,
            &seen.text,
            "Look at the line in the file; bring an earlier copy if there is one.",
            None,
        );
    }
    if let Some((line, text)) = &tally.cut_short {
        let message = format!("`{name}` ends in the middle of line {line}");
        let help = "The last line has no line end and was left out, since its last number may be cut.";
        add(Code::LoggerRowsDamaged, message, *line, text, help, Some(Severity::Note));
    }
    if tally.backwards.count > 0 {
        let seen = &tally.backwards;
        let message = format!("{} of `{name}` lie back in time, the first {}", rows(seen.count), seen.what);
        let help = "They were left out. Say in the record when the logger's clock was set, and by how much.";
        add(Code::LoggerClockBackwards, message, seen.line, &seen.text, help, None);
    }
    found
}

/// A marker that names nothing in the plan, or a column without any that does.
pub(super) fn marks(file: &File, marks: &Marks, layout: &LoggerFile, sources: &mut Sources) -> Option<Diagnostic> {
    let (File { name, word }, column) = (file, layout.marker.as_deref()?);
    let seen = &marks.unknown;
    let (message, line) = match (seen.count, marks.is_empty()) {
        (0, false) => return None,
        (0, true) => (format!("the column `{column}` of `{name}` marks nothing"), 1),
        (count, _) => {
            let times = if count == 1 { "once".to_owned() } else { format!("{count} times") };
            let text = format!(
                "the column `{column}` of `{name}` names {} by `{}`, {times} such a mark",
                seen.what, seen.text
            );
            (text, seen.line)
        }
    };
    let (source, span) = quote(file, line, &seen.text, sources);
    let help =
        "Mark by the number of a step or the path of a reading as the form has them, with the run in front: `R01 12`.";
    let finding =
        Diagnostic::new(Code::LoggerMarkUnknown, message).at(source, span, format!("{word} {line} of `{name}`"));
    Some(finding.also(layout.origin.source, layout.origin.span, "how this logger writes its files").help(help))
}

/// Findings on the stretches, in their order.
pub(super) fn ties(
    plan: &Plan,
    layout: &LoggerFile,
    ties: &[Tie<'_>],
    files: &[File],
    sources: &mut Sources,
) -> Vec<Diagnostic> {
    let mut bench = Bench { plan, layout, files, sources, limits: Limits::of(plan) };
    // The stretches whose dwell was not kept: one cause, one finding.
    let broken: Vec<(usize, f64, f64)> = ties.iter().filter(|tie| short_dwell(tie).is_some()).map(place).collect();
    ties.iter()
        .filter(|tie| {
            let (channel, start, end) = place(tie);
            let inside = |(c, s, e): &(usize, f64, f64)| *c == channel && *s <= end && *e >= start;
            !matches!(tie.purpose, Purpose::Held) || !broken.iter().any(inside)
        })
        .filter_map(|tie| bench.judge(tie, ties))
        .collect()
}

fn place(tie: &Tie<'_>) -> (usize, f64, f64) {
    (tie.watch.channel, tie.watch.start, tie.watch.end)
}

/// Seconds inside the window before the reading, where that is less than the dwell.
fn short_dwell(tie: &Tie<'_>) -> Option<f64> {
    let Purpose::Dwell { least, .. } = tie.purpose else { return None };
    let kept = tie.watch.end - tie.watch.last_outside?;
    (kept < least - 1.0).then_some(kept)
}

struct Bench<'a> {
    plan: &'a Plan,
    layout: &'a LoggerFile,
    files: &'a [File],
    sources: &'a mut Sources,
    limits: Limits,
}

impl Bench<'_> {
    fn judge(&mut self, tie: &Tie<'_>, all: &[Tie<'_>]) -> Option<Diagnostic> {
        let watch = &tie.watch;
        let channel = self.layout.channels.get(watch.channel)?;
        let unit = &channel.unit;
        let column = format!("`{}`", channel.column);
        let value = |v: f64| amount(v, unit);
        let seconds = |s: f64| format!("{s:.0} s");
        match &tie.purpose {
            Purpose::Held if watch.count > 0 => {
                let share = watch.outside / (watch.end - watch.start).max(1.0);
                if watch.longest <= self.limits.short && share <= self.limits.small_share {
                    return None;
                }
                let message = format!(
                    "{column} was outside {} for {} of {} ({:.0} %), {} at a stretch, as far as {}",
                    window(&watch.window, unit),
                    seconds(watch.outside),
                    seconds(watch.end - watch.start),
                    100.0 * share,
                    seconds(watch.longest),
                    value(watch.worst.value)
                );
                let help = "Say in the record what happened, and whether the readings from this time are to stand.";
                Some(self.at(tie, Code::OutsideWhileHeld, message, &watch.worst).help(help))
            }
            Purpose::Dwell { least, at } => {
                let kept = short_dwell(tie)?;
                let message = format!(
                    "before this reading {column} was inside {} for {} only, not for {}",
                    window(&watch.window, unit),
                    seconds(kept),
                    seconds(*least)
                );
                let help = format!(
                    "Read again after {} inside the window, or say why the reading may stand.",
                    seconds(*least)
                );
                let finding = self.at(tie, Code::DwellNotKept, message, &watch.worst).help(help);
                Some(finding.also(at.source, at.span, "the dwell"))
            }
            Purpose::Drift { rule, at } => {
                let moved = watch.slope()?.abs() * rule.within.si();
                let relative = rule.less_than.unit.dimension == Dimension::NONE;
                let allowed = if relative {
                    rule.less_than.si() * watch.mean().abs()
                } else {
                    unit.from_si_difference(rule.less_than.si_difference())
                };
                if moved <= allowed || moved.is_nan() {
                    return None;
                }
                let message = format!(
                    "{column} drifted {} in {} when it was read, and {} are allowed",
                    amount(moved, unit),
                    rule.within,
                    amount(allowed, unit)
                );
                let finding = self.at(tie, Code::StillDrifting, message, &watch.some);
                Some(finding.also(at.source, at.span, "until it drifts less").help("Wait longer and read again."))
            }
            Purpose::Limit { said, bound, at } => {
                watch.last_outside?;
                let message = format!(
                    "{column} reached {} in run {}, and the run stops at {bound}; it was beyond for {}",
                    value(watch.high),
                    tie.run,
                    seconds(watch.outside)
                );
                let mut finding = self.at(tie, Code::LimitPassedInSeries, message, &watch.worst);
                if let Some(at) = at {
                    finding = finding.also(at.source, at.span, format!("{said} {bound}"));
                }
                let help = "Find out what the rig and the specimen saw before the next run; the bench's own rules say who decides.";
                Some(finding.help(help))
            }
            Purpose::Logged { every, stage, at } => self.logged(tie, (*every, stage, *at), &column),
            Purpose::Typed { value: typed, tolerance } if watch.count > 0 => {
                let apart = (watch.low - typed).max(typed - watch.high);
                if apart <= *tolerance {
                    return None;
                }
                let stuck = watch.low == watch.high && stands_still(tie, all);
                let (code, message) = if stuck {
                    let text = format!(
                        "{column} stands at {} while the readings change: {} was written here",
                        value(watch.low),
                        value(*typed)
                    );
                    (Code::StuckChannel, text)
                } else {
                    let text = format!(
                        "{} was written, and {column} showed {} to {} {}",
                        value(*typed),
                        bare(watch.low),
                        value(watch.high),
                        match self.layout.marker {
                            Some(_) => "where it is marked".to_owned(),
                            None => format!("within {} s of it", self.limits.written_late),
                        }
                    );
                    (Code::ReadingDisagrees, text)
                };
                let help =
                    "Look at the sheet and at the mapping's unit; correct neither by the other without a reason.";
                Some(self.at(tie, code, message, &watch.some).help(help))
            }
            _ => None,
        }
    }

    fn logged(
        &mut self,
        tie: &Tie<'_>,
        (every, stage, at): (f64, &str, crate::plan::Origin),
        column: &str,
    ) -> Option<Diagnostic> {
        let watch = &tie.watch;
        let length = watch.end - watch.start;
        let gap = watch.longest_gap();
        let Limits { gap: many, slow, .. } = self.limits;
        let (code, message) = if watch.count == 0 && length > many * every {
            (Code::NotLogged, format!("no file has a value of {column} for the stage `{stage}` of run {}", tie.run))
        } else if gap > many * every {
            // A logger that is slow all along has no gap.
            let mean = length / watch.count.max(1) as f64;
            if mean > slow * every && gap < many * mean {
                let text = format!(
                    "{column} was logged every {mean:.1} s in the stage `{stage}` of run {}, not every {every} s",
                    tie.run
                );
                (Code::LoggedTooSlowly, text)
            } else {
                (
                    Code::LogGap,
                    format!("{column} has no value for {gap:.0} s in the stage `{stage}` of run {}", tie.run),
                )
            }
        } else if watch.count > 9 && length / watch.count as f64 > slow * every {
            let mean = length / watch.count as f64;
            let text = format!(
                "{column} was logged every {mean:.1} s in the stage `{stage}` of run {}, not every {every} s",
                tie.run
            );
            (Code::LoggedTooSlowly, text)
        } else {
            return None;
        };
        let finding = self.at(tie, code, message, &watch.after_gap).also(at.source, at.span, "the log of this stage");
        Some(finding.help("Say in the record why, and what else shows that the conditions were held."))
    }

    /// The row of the file first, then the cell of the record, then the line of the protocol.
    fn at(&mut self, tie: &Tie<'_>, code: Code, message: String, spot: &Spot) -> Diagnostic {
        let mut finding = Diagnostic::new(code, message);
        if spot.line > 0
            && let Some(file) = self.files.get(spot.file)
        {
            let text = super::block::excerpt(&spot.bytes);
            let (source, span) = quote(file, spot.line, &text, self.sources);
            finding = finding.at(source, span, format!("{} {} of `{}`", file.word, spot.line, file.name));
        }
        if let Some((record, row)) = tie.row {
            let cell = row.cell(Column::Value);
            let role = format!("what was written ({})", record.whereabouts(cell));
            finding = finding.also(record.source, cell.span, role);
        }
        match tie.reading {
            Some(reading) => {
                let asks = format!("asks for `{}`", reading.path);
                finding.also(reading.origin.source, reading.origin.span, asks)
            }
            None => {
                let origin = self.plan.campaign.origin;
                if finding.primary().is_none() {
                    finding.at(origin.source, origin.span, "this campaign")
                } else {
                    finding
                }
            }
        }
    }
}

/// Whether the channel shows one and the same value at another reading too, which was written quite differently.
fn stands_still(tie: &Tie<'_>, all: &[Tie<'_>]) -> bool {
    let Purpose::Typed { value, tolerance } = tie.purpose else { return false };
    all.iter().any(|other| {
        let Purpose::Typed { value: there, .. } = other.purpose else { return false };
        let same_channel = other.run == tie.run && other.watch.channel == tie.watch.channel && other.watch.count > 0;
        let same_value = other.watch.low == tie.watch.low && other.watch.high == tie.watch.low;
        same_channel && same_value && (there - value).abs() > 2.0 * tolerance
    })
}

fn bare(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    };
    format!("{value:.decimals$}")
}

fn amount(value: f64, unit: &Unit) -> String {
    Quantity { number: bare(value), value, unit: unit.clone() }.to_string()
}

fn window(window: &Window, unit: &Unit) -> String {
    match (window.low, window.high) {
        (Some(low), Some(high)) => format!("{} to {}", bare(low), amount(high, unit)),
        (Some(low), None) => format!("at least {}", amount(low, unit)),
        (None, Some(high)) => format!("at most {}", amount(high, unit)),
        (None, None) => "any value".to_owned(),
    }
}
