//! A block of text, read into rows.

use super::block::{Block, excerpt, trouble};
use super::clock::Clock;
use super::lines::{LONGEST_LINE, cells};
use super::number::{decimal, number};

/// What a column of the file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// Nothing that anybody asked for.
    Other,
    Time,
    /// Which channel of the mapping.
    Channel(usize),
    Marker,
}

/// What is known of the rows of a file.
#[derive(Debug)]
pub(super) struct Shape {
    /// Column by column.
    pub(super) roles: Vec<Role>,
    pub(super) separator: u8,
    pub(super) comma: bool,
    /// Whether the time is a number of seconds.
    pub(super) elapsed: bool,
    /// Seconds that are added to every time.
    pub(super) zero: f64,
    pub(super) time: String,
    /// Name of each channel's column.
    pub(super) channels: Vec<String>,
}

/// Reads blocks of one shape, one after the other.
pub(super) struct Parser<'s> {
    shape: &'s Shape,
    mark: u8,
    clock: Clock,
    row: Vec<f64>,
}

impl<'s> Parser<'s> {
    pub(super) fn new(shape: &'s Shape) -> Self {
        let mark = if shape.comma { b',' } else { b'.' };
        Self { shape, mark, clock: Clock::default(), row: vec![f64::NAN; shape.channels.len()] }
    }

    /// Reads the text of a block, which ends at a line end unless the file ends before.
    pub(super) fn read(&mut self, block: &mut Block) {
        let text = std::mem::take(&mut block.text);
        let mut at = 0;
        while at < text.len() && block.trouble.is_none() {
            let quick = self.quick(&text, at, block);
            at = match quick {
                Some((time, end)) => {
                    self.add(block, time, at);
                    end
                }
                None => self.careful(&text, at, block),
            };
            block.count += 1;
        }
        block.text = text;
    }

    fn add(&self, block: &mut Block, time: f64, start: usize) {
        block.times.push(time + self.shape.zero);
        block.values.extend_from_slice(&self.row);
        block.lines.push(u32::try_from(block.count).unwrap_or(u32::MAX));
        block.starts.push(u32::try_from(start).unwrap_or(u32::MAX));
    }

    /// A whole line that is as it should be: its time and where the next begins. Whatever is not quite so is left to
    /// [`Parser::careful`].
    #[inline]
    fn quick(&mut self, text: &[u8], start: usize, block: &mut Block) -> Option<(f64, usize)> {
        let separator = self.shape.separator;
        let mut at = start;
        let mut time = None;
        let mut columns = self.shape.roles.iter().peekable();
        while let Some(role) = columns.next() {
            let end = match *role {
                Role::Channel(channel) => {
                    let (value, end) = self.cell(text, at)?;
                    *self.row.get_mut(channel)? = value;
                    end
                }
                Role::Time if self.shape.elapsed => {
                    let (value, end) = self.cell(text, at)?;
                    time = (!value.is_nan()).then_some(value);
                    end
                }
                Role::Time => {
                    let end = end_of_cell(text, at, separator)?;
                    time = self.clock.read(text.get(at..end)?);
                    end
                }
                Role::Other => end_of_cell(text, at, separator)?,
                Role::Marker => {
                    let end = end_of_cell(text, at, separator)?;
                    // A line that turns out to be damaged comes here again.
                    marker(block, text.get(at..end)?);
                    end
                }
            };
            let behind = *text.get(end)?;
            at = if columns.peek().is_some() {
                if behind != separator {
                    return None;
                }
                end + 1
            } else {
                let end = end + usize::from(behind == b'\r');
                if text.get(end) != Some(&b'\n') {
                    return None;
                }
                end + 1
            };
        }
        if at - start > LONGEST_LINE {
            return None;
        }
        Some((time?, at))
    }

    /// A number and where its cell ends; NaN for an empty cell.
    #[inline]
    fn cell(&self, text: &[u8], at: usize) -> Option<(f64, usize)> {
        let separator = self.shape.separator;
        if self.mark != separator
            && let Some((value, length)) = decimal(text.get(at..)?, self.mark)
        {
            let end = at + length;
            let behind = *text.get(end)?;
            if behind == separator || behind == b'\n' || behind == b'\r' {
                return Some((value, end));
            }
        }
        let end = end_of_cell(text, at, separator)?;
        let cell = text.get(at..end)?;
        match number(cell, self.shape.comma) {
            Some(value) => Some((value, end)),
            None if cell.trim_ascii().is_empty() => Some((f64::NAN, end)),
            None => None,
        }
    }

    /// A line that is not quite as it should be; returns where the next begins.
    #[cold]
    fn careful(&mut self, text: &[u8], start: usize, block: &mut Block) -> usize {
        let rest = text.get(start..).unwrap_or_default();
        let length = memchr::memchr(b'\n', rest);
        let line = rest.get(..length.unwrap_or(rest.len())).unwrap_or_default();
        let next = start + line.len() + 1;
        let number_of_line = block.count;
        if line.len() > LONGEST_LINE {
            let what = format!("a line is longer than {LONGEST_LINE} bytes");
            let (what, help) = if line.iter().all(|byte| *byte == 0) {
                let text = "from here it holds nothing but bytes that are zero, as after a loss of power";
                (text.to_owned(), "Bring an earlier copy; what stands above was read.")
            } else {
                (what, "A logger's row is short: the file is damaged, or is none of a logger. Bring it again.")
            };
            block.trouble = Some(trouble(number_of_line, line, what, help));
            return next;
        }
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        if line.trim_ascii().is_empty() {
            return next;
        }
        if length.is_none() {
            block.cut_short = Some((number_of_line, excerpt(line)));
            return next;
        }
        let Self { shape, clock, row, .. } = self;
        let (mut time, mut bad, mut mark) = (None, None, None);
        let count = cells(line, shape.separator, |at, cell| match shape.roles.get(at) {
            Some(Role::Time) => time = if shape.elapsed { number(cell, shape.comma) } else { clock.read(cell) },
            Some(Role::Channel(channel)) => {
                let value = number(cell, shape.comma);
                if value.is_none() && bad.is_none() && !cell.trim_ascii().is_empty() {
                    bad = Some((*channel, cell));
                }
                if let Some(slot) = row.get_mut(*channel) {
                    *slot = value.unwrap_or(f64::NAN);
                }
            }
            Some(Role::Marker) => mark = Some(cell),
            _ => {}
        });
        if count != shape.roles.len() {
            let what = || format!("{count} cells where the heading has {}", shape.roles.len());
            block.damaged.note(number_of_line, line, what);
            return next;
        }
        let Some(time) = time else {
            block.damaged.note(number_of_line, line, || format!("no time in the column `{}`", shape.time));
            return next;
        };
        if let Some((channel, cell)) = bad {
            let column = shape.channels.get(channel).map_or("", String::as_str);
            let what = || format!("`{}` is no number in the column `{column}`", excerpt(cell));
            block.damaged.note(number_of_line, line, what);
        }
        if let Some(cell) = mark {
            marker(block, cell);
        }
        self.add(block, time, start);
        next
    }
}

/// Keeps a marker where it changes. One that stands at the same row again takes the place of what stood there.
fn marker(block: &mut Block, cell: &[u8]) {
    let row = u32::try_from(block.times.len()).unwrap_or(u32::MAX);
    if block.markers.last().is_some_and(|(at, _)| *at == row) {
        block.markers.pop();
    }
    let cell = cell.trim_ascii();
    if block.markers.last().is_none_or(|(_, last)| last != cell) {
        block.markers.push((row, cell.to_vec()));
    }
}

/// Where a cell without quotation marks ends.
#[inline]
fn end_of_cell(text: &[u8], at: usize, separator: u8) -> Option<usize> {
    let rest = text.get(at..)?;
    if rest.first() == Some(&b'"') {
        return None;
    }
    let end = rest.iter().position(|byte| *byte == separator || *byte == b'\n' || *byte == b'\r')?;
    Some(at + end)
}
