//! Lines of a stream, in memory that does not grow with it.

use std::io::Read;

use super::ends::Ends;

/// No line of a logger's file is longer.
pub const LONGEST_LINE: usize = 64 * 1024;
const BUFFER: usize = 4 * LONGEST_LINE;

/// Why a stream can't be read on.
#[derive(Debug)]
pub enum LineError {
    /// It could not be got.
    Disk(std::io::Error),
    /// A line without an end; its number.
    Endless(u64),
}

/// One line without its end.
pub struct Line<'b> {
    /// From 1.
    pub number: u64,
    pub bytes: &'b [u8],
    /// Whether a line end follows; the last line of a whole file has one too, of a file cut short it has none.
    pub ended: bool,
}

/// Reads a stream line by line. A line ends with LF or CR LF, mixed as they come; where the first ends with CR alone, all
/// may.
pub struct Lines<R> {
    stream: Ends<R>,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
    number: u64,
    over: bool,
}

impl<R: Read> Lines<R> {
    /// A reader at the beginning of a stream.
    pub fn new(stream: R) -> Self {
        Self { stream: Ends::new(stream), buffer: vec![0; BUFFER], start: 0, end: 0, number: 0, over: false }
    }

    /// The next line; `None` at the end.
    ///
    /// # Errors
    /// When the stream fails, or a line is longer than [`LONGEST_LINE`].
    pub fn next_line(&mut self) -> Result<Option<Line<'_>>, LineError> {
        let mut searched = self.start;
        loop {
            let fresh = self.buffer.get(searched..self.end).unwrap_or_default();
            if let Some(at) = memchr::memchr(b'\n', fresh) {
                let (from, to) = (self.start, searched + at);
                self.start = to + 1;
                return self.line(from, to, true).map(Some);
            }
            searched = self.end;
            if self.over {
                if self.start == self.end {
                    return Ok(None);
                }
                let (from, to) = (self.start, self.end);
                self.start = to;
                return self.line(from, to, false).map(Some);
            }
            if self.end - self.start > LONGEST_LINE {
                return Err(LineError::Endless(self.number + 1));
            }
            if self.start > 0 {
                self.buffer.copy_within(self.start..self.end, 0);
                searched -= self.start;
                self.end -= self.start;
                self.start = 0;
            }
            let room = self.buffer.get_mut(self.end..).unwrap_or_default();
            match self.stream.read(room) {
                Ok(0) => self.over = true,
                Ok(count) => self.end += count,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => return Err(LineError::Disk(error)),
            }
        }
    }

    /// What follows the lines that were read: what is in memory of it, the stream behind that, and how many lines are gone.
    pub(super) fn rest(self) -> (Vec<u8>, Ends<R>, u64) {
        let mut kept = self.buffer;
        kept.truncate(self.end);
        kept.drain(..self.start);
        (kept, self.stream, self.number)
    }

    fn line(&mut self, from: usize, to: usize, ended: bool) -> Result<Line<'_>, LineError> {
        self.number += 1;
        let bytes = self.buffer.get(from..to).unwrap_or_default();
        if bytes.len() > LONGEST_LINE {
            return Err(LineError::Endless(self.number));
        }
        let bytes = bytes.strip_suffix(b"\r").unwrap_or(bytes);
        let bytes = if self.number == 1 { bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes) } else { bytes };
        Ok(Line { number: self.number, bytes, ended })
    }
}

/// Calls `each` with the place and bytes of every cell of a line, quotation marks round a cell left off; says how many.
pub fn cells<'b>(line: &'b [u8], separator: u8, mut each: impl FnMut(usize, &'b [u8])) -> usize {
    let mut count = 0;
    let mut rest = line;
    loop {
        let quoted = rest.first() == Some(&b'"');
        let close = quoted.then(|| memchr::memchr(b'"', rest.get(1..).unwrap_or_default())).flatten();
        let from = close.map_or(0, |close| close + 2);
        let after = rest.get(from..).unwrap_or_default();
        let end = memchr::memchr(separator, after).map(|at| at + from);
        let cell = match close {
            Some(close) => rest.get(1..=close),
            None => rest.get(..end.unwrap_or(rest.len())),
        };
        each(count, cell.unwrap_or_default());
        count += 1;
        match end {
            Some(end) => rest = rest.get(end + 1..).unwrap_or_default(),
            None => return count,
        }
    }
}
