//! A logger's file beside plan and record: what the instruments showed between the readings. The file is read once, row by
//! row, in memory that does not grow with it (twice where it bears markers); the times of the record, or the markers, say which
//! stretch belongs to which step.

mod block;
mod clock;
mod ends;
mod guess;
mod judge;
mod limits;
pub mod lines;
mod marks;
mod number;
#[cfg(feature = "parquet")]
mod parquet;
mod parse;
pub mod rows;
mod stretch;
mod threads;
mod ties;
mod watch;

pub use guess::guess;
pub use number::number;
pub use stretch::Stretch;

use std::io::{Read, Seek, SeekFrom};

use crate::diagnostic::{Code, Diagnostic};
use crate::plan::{LoggerFile, Plan};
use crate::record::{Column, Record};
use crate::source::{SourceId, Sources, Span};
use block::{Block, trouble};
use marks::{Collector, Marks};
use rows::{Tally, Trouble, Wanted};
use ties::Tie;
use watch::Part;

/// The logger's files of a campaign, taken one after the other.
pub struct Series<'p> {
    plan: &'p Plan,
    records: &'p [Record],
    files: Vec<File>,
    loggers: Vec<Logger<'p>>,
    found: Vec<Diagnostic>,
}

/// What a file is called, and what its rows are called in a message.
struct File {
    name: String,
    word: &'static str,
}

/// A logger of the campaign.
struct Logger<'p> {
    layout: &'p LoggerFile,
    ties: Vec<Tie<'p>>,
    /// Whether any file was read by this layout.
    used: bool,
}

impl<'p> Series<'p> {
    /// What the records ask of the series.
    pub fn new(plan: &'p Plan, records: &'p [Record]) -> Series<'p> {
        let loggers = plan.campaign.loggers.iter().map(|layout| {
            let ties = if layout.marker.is_none() { ties(plan, records, layout, None) } else { Vec::new() };
            Logger { layout, ties, used: false }
        });
        Series { plan, records, files: Vec::new(), loggers: loggers.collect(), found: Vec::new() }
    }

    /// Reads one file. Which of the campaign's loggers wrote it, its heading says; no column is ever guessed.
    pub fn file<R: Read + Seek + Send + 'static>(
        &mut self,
        name: &str,
        stream: R,
        sources: &mut Sources,
    ) -> Option<Tally> {
        let index = self.files.len();
        let mut input = Input::new(stream, name);
        self.files.push(File { name: name.to_owned(), word: input.word() });
        let file = self.files.last()?;
        let mut misfit = None;
        for logger in &mut self.loggers {
            let layout = logger.layout;
            let mut from = 0;
            if layout.marker.is_some() {
                let mut recorded: Vec<&str> =
                    self.records.iter().flat_map(|r| &r.rows).map(|r| r.text(Column::Run)).collect();
                recorded.sort_unstable();
                recorded.dedup();
                let mut collector = Collector::new(self.plan, name, &recorded);
                let read = input.blocks(layout, Wanted::Marker, |block| collector.take(block));
                // What breaks off there breaks off at the second reading too, and is told then.
                if matches!(&read, Err(trouble) if trouble.line == 1) {
                    misfit = read.err().map(|trouble| (trouble, layout));
                    continue;
                }
                let marks = collector.done();
                self.found.extend(judge::marks(file, &marks, layout, sources));
                from = logger.ties.len();
                logger.ties.extend(ties(self.plan, self.records, layout, Some(&marks)));
            }
            let mut taker = Taker::new(logger.ties.get_mut(from..).unwrap_or_default(), layout, index);
            match input.blocks(layout, Wanted::Channels, |block| taker.take(block)) {
                Ok(tally) => {
                    logger.used = true;
                    self.found.extend(judge::file(file, &tally, layout, sources));
                    return Some(tally);
                }
                // Another of the loggers may have written it.
                Err(trouble) if trouble.line == 1 => misfit = Some((trouble, layout)),
                Err(trouble) => {
                    // What came before was read, and is judged.
                    logger.used |= taker.any;
                    self.found.push(unreadable(file, &trouble, layout, sources));
                    return None;
                }
            }
        }
        match misfit {
            Some((trouble, layout)) => self.found.push(unreadable(file, &trouble, layout, sources)),
            None => {
                let found = Diagnostic::new(
                    Code::LoggerWithoutMapping,
                    format!("the campaign does not say which column of `{name}` is which instrument"),
                )
                .at(self.plan.campaign.origin.source, self.plan.campaign.origin.span, "this campaign")
                .help(input.guess(self.plan));
                self.found.push(found);
            }
        }
        None
    }

    /// Every finding: of the files first, then run by run in the order of time.
    pub fn findings(self, sources: &mut Sources) -> Vec<Diagnostic> {
        let mut found = self.found;
        for logger in self.loggers.iter().filter(|logger| logger.used) {
            found.extend(judge::ties(self.plan, logger.layout, &logger.ties, &self.files, sources));
        }
        found
    }

    /// Every stretch that is looked at, with what was seen there so far.
    pub fn stretches(&self) -> Vec<Stretch> {
        let of =
            |logger: &Logger<'p>| logger.ties.iter().map(|tie| Stretch::of(tie, logger.layout)).collect::<Vec<_>>();
        self.loggers.iter().flat_map(of).collect()
    }
}

/// All stretches of the campaign, by their beginning.
fn ties<'p>(plan: &'p Plan, records: &'p [Record], layout: &LoggerFile, marks: Option<&Marks>) -> Vec<Tie<'p>> {
    let of = |run| ties::of_run(plan, run, records, layout, marks);
    let mut ties: Vec<Tie<'p>> = plan.runs.iter().flat_map(of).collect();
    ties.sort_by(|one, other| one.watch.start.total_cmp(&other.watch.start));
    ties
}

/// Gives each stretch its rows.
struct Taker<'t, 'p> {
    ties: &'t mut [Tie<'p>],
    layout: &'t LoggerFile,
    file: usize,
    begun: usize,
    active: Vec<usize>,
    any: bool,
}

impl<'t, 'p> Taker<'t, 'p> {
    fn new(ties: &'t mut [Tie<'p>], layout: &'t LoggerFile, file: usize) -> Self {
        Self { ties, layout, file, begun: 0, active: Vec::new(), any: false }
    }

    fn take(&mut self, block: &Block) {
        let Some(last) = block.times.last() else { return };
        self.any = true;
        while self.ties.get(self.begun).is_some_and(|tie| tie.watch.start <= *last) {
            self.active.push(self.begun);
            self.begun += 1;
        }
        let Self { ties, layout, file, active, .. } = self;
        active.retain(|at| {
            let Some(tie) = ties.get_mut(*at) else { return false };
            let from = block.times.partition_point(|time| *time < tie.watch.start);
            let to = block.times.partition_point(|time| *time <= tie.watch.end);
            tie.watch.take(&Part { block, rows: from..to.max(from), layout, file: *file });
            tie.watch.end >= *last
        });
    }
}

/// A stream of either kind.
enum Input<R: Read + Seek + Send + 'static> {
    Text(R),
    #[cfg(feature = "parquet")]
    Parquet(parquet::Columns<R>),
    Refused(Trouble),
}

impl<R: Read + Seek + Send + 'static> Input<R> {
    /// What it is, its first bytes say, and its name where they can't.
    fn new(mut stream: R, name: &str) -> Self {
        let mut start = [0_u8; 4];
        let read = stream.seek(SeekFrom::Start(0)).and_then(|_| stream.read_exact(&mut start));
        let named = name.to_ascii_lowercase().ends_with(".parquet");
        match (read.is_ok() && start == *b"PAR1", named) {
            (false, false) => Input::Text(stream),
            (false, true) => {
                let help = "Bring it again from the logger; a CSV file has the ending `.csv`.";
                Input::Refused(trouble(1, b"", "it does not begin as a Parquet file does", help))
            }
            #[cfg(feature = "parquet")]
            (true, _) => Input::Parquet(parquet::Columns::new(stream)),
            #[cfg(not(feature = "parquet"))]
            (true, _) => {
                let help = "Export it as CSV, or use a program that was built with Parquet.";
                Input::Refused(trouble(
                    1,
                    b"",
                    "it is a Parquet file, and this program was built without Parquet",
                    help,
                ))
            }
        }
    }

    fn word(&self) -> &'static str {
        match self {
            Input::Text(_) => "line",
            _ => "row",
        }
    }

    fn blocks(&mut self, layout: &LoggerFile, wanted: Wanted, take: impl FnMut(&Block)) -> Result<Tally, Trouble> {
        match self {
            Input::Text(stream) => {
                stream
                    .seek(SeekFrom::Start(0))
                    .map_err(|error| trouble(0, b"", format!("it can't be read: {error}"), "Copy the file again."))?;
                rows::blocks(stream, layout, wanted, take)
            }
            #[cfg(feature = "parquet")]
            Input::Parquet(columns) => columns.blocks(layout, wanted, take),
            Input::Refused(trouble) => Err(trouble.clone()),
        }
    }

    fn guess(&mut self, plan: &Plan) -> String {
        match self {
            Input::Text(stream) => {
                let _ = stream.seek(SeekFrom::Start(0));
                guess(plan, stream)
            }
            #[cfg(feature = "parquet")]
            Input::Parquet(columns) => columns.guess(plan),
            Input::Refused(trouble) => trouble.help.clone(),
        }
    }
}

fn unreadable(file: &File, trouble: &Trouble, layout: &LoggerFile, sources: &mut Sources) -> Diagnostic {
    let (source, span) = quote(file, trouble.line, &trouble.text, sources);
    Diagnostic::new(Code::LoggerCannotRead, format!("`{}`: {}", file.name, trouble.what))
        .at(source, span, format!("{} {} of `{}`", file.word, trouble.line, file.name))
        .also(layout.origin.source, layout.origin.span, "how this logger writes its files")
        .help(trouble.help.clone())
}

/// A row of a file too large to be kept, as a source of its own.
fn quote(file: &File, line: u64, text: &str, sources: &mut Sources) -> (SourceId, Span) {
    let before = format!("{} {line}: ", file.word);
    let start = before.len();
    let source = sources.add(format!("{} (excerpt)", file.name), format!("{before}{text}"));
    (source, Span::new(start, start + text.len()))
}
