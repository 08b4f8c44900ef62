//! Rows in blocks, whatever kind of file they come from, and what was seen on the way.

use crate::plan::LoggerFile;

/// Rows that lie one behind the other in a file.
#[derive(Debug, Default)]
pub(super) struct Block {
    /// Line of the file at which the block begins, from 1.
    pub(super) first: u64,
    /// Lines of the block, those too that are no row.
    pub(super) count: u64,
    /// Seconds of the bench's clock since 1970; one for each row, as all lists below.
    pub(super) times: Vec<f64>,
    /// Row by row one value for each channel, in its unit; NaN where the cell is empty or no number.
    pub(super) values: Vec<f64>,
    /// Line within the block, from 0.
    pub(super) lines: Vec<u32>,
    /// Where the row's line begins in the text.
    pub(super) starts: Vec<u32>,
    /// The text of all lines; nothing for a file that is no text.
    pub(super) text: Vec<u8>,
    /// Cells of the marker's column, each with the row from which it stands there.
    pub(super) markers: Vec<(u32, Vec<u8>)>,
    /// Lines here are counted from 0.
    pub(super) damaged: Seen,
    pub(super) cut_short: Option<(u64, String)>,
    /// Why there is no block after this; its line is counted from 0.
    pub(super) trouble: Option<Trouble>,
}

impl Block {
    /// Empties it for another use.
    pub(super) fn clear(&mut self) {
        (self.first, self.count) = (0, 0);
        self.times.clear();
        self.values.clear();
        self.lines.clear();
        self.starts.clear();
        self.text.clear();
        self.markers.clear();
        self.damaged = Seen::default();
        (self.cut_short, self.trouble) = (None, None);
    }

    /// Line of the file on which a row stands.
    pub(super) fn line(&self, row: usize) -> u64 {
        self.first + u64::from(self.lines.get(row).copied().unwrap_or_default())
    }

    /// The row as it can be shown: the line of a text, or names and values.
    pub(super) fn show(&self, row: usize, layout: &LoggerFile) -> Vec<u8> {
        if self.text.is_empty() {
            let values = self.values.chunks(layout.channels.len().max(1)).nth(row).unwrap_or_default();
            let cell = |(channel, value): (&crate::plan::Channel, &f64)| format!("{}: {value}", channel.column);
            let cells: Vec<String> = layout.channels.iter().zip(values).map(cell).collect();
            return cells.join(", ").into_bytes();
        }
        self.bytes(row).to_vec()
    }

    /// The line of a text without its end.
    pub(super) fn bytes(&self, row: usize) -> &[u8] {
        let start = self.starts.get(row).map_or(0, |start| *start as usize);
        let rest = self.text.get(start..).unwrap_or_default();
        let line = rest.get(..memchr::memchr(b'\n', rest).unwrap_or(rest.len())).unwrap_or_default();
        line.strip_suffix(b"\r").unwrap_or(line)
    }
}

/// Something seen at a line.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Seen {
    /// How often in the file.
    pub count: u64,
    /// Line of the first.
    pub line: u64,
    /// What the first was, in words.
    pub what: String,
    /// The first line as it stands in the file.
    pub text: String,
}

impl Seen {
    pub(super) fn note(&mut self, line: u64, bytes: &[u8], what: impl FnOnce() -> String) {
        self.count += 1;
        if self.count == 1 {
            (self.line, self.what, self.text) = (line, what(), excerpt(bytes));
        }
    }
}

/// What reading a whole file came to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Rows handed on.
    pub rows: u64,
    /// Rows or cells that were left out.
    pub damaged: Seen,
    /// Rows whose time lies before that of a row above; left out.
    pub backwards: Seen,
    /// The last line, where no line end follows; left out.
    pub cut_short: Option<(u64, String)>,
    /// Times of the first and last row.
    pub span: Option<(f64, f64)>,
}

/// Why a file can't be read, or not to its end: the line, what is wrong, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    pub line: u64,
    pub what: String,
    pub help: String,
    pub text: String,
}

pub(super) fn trouble(line: u64, bytes: &[u8], what: impl Into<String>, help: impl Into<String>) -> Trouble {
    Trouble { line, what: what.into(), help: help.into(), text: excerpt(bytes) }
}

/// A line as it can be shown: at most 120 characters, what is no text replaced.
pub(super) fn excerpt(bytes: &[u8]) -> String {
    let shown: String = String::from_utf8_lossy(bytes.get(..480).unwrap_or(bytes))
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .take(120)
        .collect();
    shown.trim_end().to_owned()
}

/// Puts the blocks of a file together: numbers their lines and leaves out rows that lie back in time.
#[derive(Debug)]
pub(super) struct Order<'l> {
    pub(super) tally: Tally,
    lines: u64,
    layout: &'l LoggerFile,
}

impl<'l> Order<'l> {
    /// For blocks that come after so many lines.
    pub(super) fn after(lines: u64, layout: &'l LoggerFile) -> Self {
        Order { tally: Tally::default(), lines, layout }
    }

    /// Takes the next block and makes its rows ready.
    ///
    /// # Errors
    /// When the file can't be read on after this block; its rows are good.
    pub(super) fn add(&mut self, block: &mut Block) -> Result<(), Trouble> {
        block.first = self.lines + 1;
        self.lines += block.count;
        let seen = &block.damaged;
        if self.tally.damaged.count == 0 && seen.count > 0 {
            self.tally.damaged = Seen { line: block.first + seen.line, ..seen.clone() };
        } else {
            self.tally.damaged.count += seen.count;
        }
        if let Some((line, text)) = block.cut_short.take() {
            self.tally.cut_short = Some((block.first + line, text));
        }
        let last = self.tally.span.map(|(_, last)| last);
        let fits = block.times.first().zip(last).is_none_or(|(first, last)| *first >= last);
        if !fits || !block.times.is_sorted() {
            self.forwards(block);
        }
        if let (Some(first), Some(last)) = (block.times.first(), block.times.last()) {
            self.tally.rows += block.times.len() as u64;
            self.tally.span = Some((self.tally.span.map_or(*first, |(first, _)| first), *last));
        }
        match block.trouble.take() {
            Some(trouble) if trouble.line == u64::MAX => Err(Trouble { line: 0, ..trouble }),
            Some(trouble) => Err(Trouble { line: block.first + trouble.line, ..trouble }),
            None => Ok(()),
        }
    }

    /// Leaves out the rows that lie before a row above them.
    fn forwards(&mut self, block: &mut Block) {
        let mut last = self.tally.span.map_or(f64::NEG_INFINITY, |(_, last)| last);
        let width = block.values.len() / block.times.len().max(1);
        let mut kept = 0;
        let mut markers = std::mem::take(&mut block.markers).into_iter().peekable();
        let mut marker = None;
        for row in 0..block.times.len() {
            while let Some((_, cell)) = markers.next_if(|(from, _)| *from as usize <= row) {
                marker = Some(cell);
            }
            let time = block.times.get(row).copied().unwrap_or_default();
            if time < last {
                let line = block.line(row);
                self.tally.backwards.count += 1;
                if self.tally.backwards.count == 1 {
                    let what = format!("{:.1} s earlier than a row above", last - time);
                    self.tally.backwards = Seen { count: 1, line, what, text: excerpt(&block.show(row, self.layout)) };
                }
                continue;
            }
            last = time;
            if let Some(cell) = marker.take() {
                block.markers.push((u32::try_from(kept).unwrap_or(u32::MAX), cell));
            }
            block.times.swap(kept, row);
            block.lines.swap(kept, row);
            if !block.starts.is_empty() {
                block.starts.swap(kept, row);
            }
            block.values.copy_within(row * width..(row + 1) * width, kept * width);
            kept += 1;
        }
        block.times.truncate(kept);
        block.lines.truncate(kept);
        block.starts.truncate(kept);
        block.values.truncate(kept * width);
    }
}
