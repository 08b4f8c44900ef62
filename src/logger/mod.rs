//! A logger's file beside plan and record: what the instruments showed between the readings. The file is read once, row by
//! row, in memory that does not grow with it; the times of the record say which stretch belongs to which step.

mod guess;
mod judge;
pub mod lines;
mod number;
pub mod rows;
mod ties;
mod watch;

pub use guess::guess;
pub use number::number;

use std::io::{Read, Seek, SeekFrom};

use crate::diagnostic::{Code, Diagnostic};
use crate::plan::{LoggerFile, Plan};
use crate::record::Record;
use crate::source::{SourceId, Sources, Span};
use rows::{Tally, Trouble};
use ties::Tie;
use watch::Sample;

/// The logger's files of a campaign, taken one after the other.
pub struct Series<'p> {
    plan: &'p Plan,
    files: Vec<String>,
    ties: Vec<(&'p LoggerFile, Vec<Tie<'p>>, bool)>,
    found: Vec<Diagnostic>,
}

impl<'p> Series<'p> {
    /// What the records ask of the series.
    pub fn new(plan: &'p Plan, records: &'p [Record]) -> Series<'p> {
        let ties = plan.campaign.loggers.iter().map(|layout| {
            let mut ties: Vec<Tie<'p>> =
                plan.runs.iter().flat_map(|run| ties::of_run(plan, run, records, layout)).collect();
            ties.sort_by(|one, other| one.watch.start.total_cmp(&other.watch.start));
            (layout, ties, false)
        });
        Series { plan, files: Vec::new(), ties: ties.collect(), found: Vec::new() }
    }

    /// Reads one file. Which of the campaign's loggers wrote it, its heading says; no column is ever guessed.
    pub fn file<R: Read + Seek>(&mut self, name: &str, mut stream: R, sources: &mut Sources) -> Option<Tally> {
        let file = self.files.len();
        self.files.push(name.to_owned());
        let mut misfit = None;
        for (layout, ties, used) in &mut self.ties {
            if let Err(error) = stream.seek(SeekFrom::Start(0)) {
                let text = format!("`{name}` can't be read: {error}");
                self.found.push(Diagnostic::new(Code::LoggerCannotRead, text));
                return None;
            }
            let mut begun = 0;
            let mut active: Vec<usize> = Vec::new();
            let taken = rows::read(&mut stream, layout, |row| {
                while let Some(tie) = ties.get(begun)
                    && tie.watch.start <= row.time
                {
                    active.push(begun);
                    begun += 1;
                }
                active.retain(|at| {
                    let Some(tie) = ties.get_mut(*at) else { return false };
                    if tie.watch.end < row.time {
                        return false;
                    }
                    let value = row.values.get(tie.watch.channel).copied().unwrap_or(f64::NAN);
                    if !value.is_nan() {
                        tie.watch.take(&Sample { time: row.time, value, line: row.line, file, bytes: row.bytes });
                    }
                    true
                });
            });
            match taken {
                Ok(tally) => {
                    *used = true;
                    self.found.extend(judge::file(name, &tally, layout, sources));
                    return Some(tally);
                }
                // Another of the loggers may have written it.
                Err(trouble) if trouble.line == 1 => misfit = Some((trouble, *layout)),
                Err(trouble) => {
                    self.found.push(unreadable(name, &trouble, layout, sources));
                    return None;
                }
            }
        }
        match misfit {
            Some((trouble, layout)) => self.found.push(unreadable(name, &trouble, layout, sources)),
            None => {
                let _ = stream.seek(SeekFrom::Start(0));
                let found = Diagnostic::new(
                    Code::LoggerWithoutMapping,
                    format!("the campaign does not say which column of `{name}` is which instrument"),
                )
                .at(self.plan.campaign.origin.source, self.plan.campaign.origin.span, "this campaign")
                .help(guess(self.plan, stream));
                self.found.push(found);
            }
        }
        None
    }

    /// Every finding: of the files first, then run by run in the order of time.
    pub fn findings(self, sources: &mut Sources) -> Vec<Diagnostic> {
        let mut found = self.found;
        for (layout, ties, _) in self.ties.iter().filter(|(_, _, used)| *used) {
            found.extend(judge::ties(self.plan, layout, ties, &self.files, sources));
        }
        found
    }
}

fn unreadable(name: &str, trouble: &Trouble, layout: &LoggerFile, sources: &mut Sources) -> Diagnostic {
    let (source, span) = quote(name, trouble.line, &trouble.text, sources);
    Diagnostic::new(Code::LoggerCannotRead, format!("`{name}`: {}", trouble.what))
        .at(source, span, format!("line {} of `{name}`", trouble.line))
        .also(layout.origin.source, layout.origin.span, "how this logger writes its files")
        .help(trouble.help.clone())
}

/// A line of a file too large to be kept, as a source of its own.
fn quote(name: &str, line: u64, text: &str, sources: &mut Sources) -> (SourceId, Span) {
    let before = format!("line {line}: ");
    let start = before.len();
    let source = sources.add(format!("{name} (excerpt)"), format!("{before}{text}"));
    (source, Span::new(start, start + text.len()))
}
