//! Rows of a logger's file: a time and the mapped channels, everything else passed over.

use std::io::Read;

use super::lines::{LineError, Lines, cells};
use super::number::number;
use crate::plan::LoggerFile;
use crate::record::{Instant, day_number};

/// More columns than this, and it is no logger's file.
const MOST_COLUMNS: usize = 4096;

/// One row that can be used.
#[derive(Debug)]
pub struct Row<'r> {
    /// From 1.
    pub line: u64,
    /// Seconds of the bench's clock since 1970.
    pub time: f64,
    /// One for each channel of the mapping, in its unit; NaN where the cell is empty or no number.
    pub values: &'r [f64],
    /// The line as it stands in the file.
    pub bytes: &'r [u8],
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
    fn note(&mut self, line: u64, bytes: &[u8], what: impl FnOnce() -> String) {
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

/// Why a file can't be read: the line, what is wrong, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    pub line: u64,
    pub what: String,
    pub help: String,
    pub text: String,
}

fn trouble(line: u64, bytes: &[u8], what: impl Into<String>, help: impl Into<String>) -> Trouble {
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

/// The heading of a file: the names of its columns.
///
/// # Errors
/// When the first line can't be a heading.
pub fn heading(line: &[u8], separator: u8) -> Result<Vec<String>, Trouble> {
    if line.starts_with(&[0xff, 0xfe]) || line.starts_with(&[0xfe, 0xff]) || line.contains(&0) {
        return Err(trouble(
            1,
            line,
            "line 1 is not UTF-8 but UTF-16, or damaged",
            "Export the file again as CSV in UTF-8, or bring an earlier copy.",
        ));
    }
    let mut names = Vec::new();
    let mut foreign = false;
    cells(line, separator, |_, cell| match str::from_utf8(cell) {
        Ok(name) if names.len() < MOST_COLUMNS => names.push(name.trim().to_owned()),
        Ok(_) => {}
        Err(_) => {
            foreign = true;
            names.push(String::from_utf8_lossy(cell).trim().to_owned());
        }
    });
    if foreign {
        let help = "Export it again as CSV in UTF-8; an older encoding writes `°` and `µ` differently.";
        return Err(trouble(1, line, "line 1 holds a character in another encoding than UTF-8", help));
    }
    Ok(names)
}

/// Reads a whole file, in memory that does not grow with it.
///
/// # Errors
/// When the stream fails, a line has no end, or the heading lacks a mapped column. Rows that can't be used are counted.
pub fn read<R: Read>(stream: R, layout: &LoggerFile, mut each: impl FnMut(&Row<'_>)) -> Result<Tally, Trouble> {
    let mut lines = Lines::new(stream);
    let head = match lines.next_line().map_err(broken)? {
        Some(line) => heading(line.bytes, layout.separator)?,
        None => return Err(trouble(1, b"", "the file is empty", "Bring the file again from the logger.")),
    };
    // For each column of the file: 0 for the time, 1 for the first channel, and so on.
    let mut wanted: Vec<Option<usize>> = vec![None; head.len()];
    let columns = std::iter::once(&layout.time_column).chain(layout.channels.iter().map(|channel| &channel.column));
    for (place, column) in columns.enumerate() {
        let found: Vec<usize> = (0..head.len()).filter(|at| head.get(*at) == Some(column)).collect();
        let [at] = found.as_slice() else {
            let what = match found.len() {
                0 => format!("the heading has no column `{column}`"),
                n => format!("the heading has the column `{column}` {n} times"),
            };
            let help = format!("The heading has: {}. Write the name as it stands there.", head.join(", "));
            return Err(trouble(1, head.join(", ").as_bytes(), what, help));
        };
        if let Some(slot) = wanted.get_mut(*at) {
            *slot = Some(place);
        }
    }
    if layout.unit_row {
        lines.next_line().map_err(broken)?;
    }
    let zero = match &layout.zero {
        _ if !layout.elapsed => 0.0,
        Some(zero) => Instant::parse(zero).map(|zero| zero.seconds as f64).ok_or_else(|| {
            let help = "Write it as in a record: zero at \"2026-09-14 08:00:00\".";
            trouble(1, b"", format!("`{zero}` is no date and time"), help)
        })?,
        None => {
            let help = "Add to the line `time`: zero at \"2026-09-14 08:00:00\", with the bench's clock when the logger was started.";
            return Err(trouble(1, b"", "nobody has said when the logger's time was zero", help));
        }
    };
    let mut tally = Tally::default();
    let mut values = vec![f64::NAN; layout.channels.len()];
    let mut clock = Clock::default();
    loop {
        let line = match lines.next_line() {
            Ok(Some(line)) => line,
            Ok(None) => return Ok(tally),
            Err(error) => return Err(broken(error)),
        };
        if line.bytes.trim_ascii().is_empty() {
            continue;
        }
        if !line.ended {
            tally.cut_short = Some((line.number, excerpt(line.bytes)));
            continue;
        }
        let mut time = None;
        let mut bad = None;
        let count = cells(line.bytes, layout.separator, |at, cell| match wanted.get(at) {
            Some(Some(0)) => time = if layout.elapsed { number(cell, layout.decimal_comma) } else { clock.read(cell) },
            Some(Some(place)) => {
                let value = number(cell, layout.decimal_comma);
                if value.is_none() && bad.is_none() && !cell.trim_ascii().is_empty() {
                    bad = Some((*place, cell));
                }
                if let Some(slot) = values.get_mut(place - 1) {
                    *slot = value.unwrap_or(f64::NAN);
                }
            }
            _ => {}
        });
        if count != head.len() {
            let what = || format!("{count} cells where the heading has {}", head.len());
            tally.damaged.note(line.number, line.bytes, what);
            continue;
        }
        let Some(time) = time.map(|time| time + zero) else {
            tally.damaged.note(line.number, line.bytes, || format!("no time in the column `{}`", layout.time_column));
            continue;
        };
        if let Some((place, cell)) = bad {
            let column = layout.channels.get(place - 1).map_or("", |channel| channel.column.as_str());
            let what = || format!("`{}` is no number in the column `{column}`", excerpt(cell));
            tally.damaged.note(line.number, line.bytes, what);
        }
        if let Some((_, last)) = tally.span
            && time < last
        {
            let what = || format!("{:.1} s earlier than a row above", last - time);
            tally.backwards.note(line.number, line.bytes, what);
            continue;
        }
        tally.rows += 1;
        tally.span = Some((tally.span.map_or(time, |(first, _)| first), time));
        each(&Row { line: line.number, time, values: &values, bytes: line.bytes });
    }
}

fn broken(error: LineError) -> Trouble {
    match error {
        LineError::Disk(error) => trouble(0, b"", format!("it can't be read on: {error}"), "Copy the file again."),
        LineError::Endless(line) => trouble(
            line,
            b"",
            format!("line {line} is longer than {} bytes", super::lines::LONGEST_LINE),
            "A logger's row is short: the file is damaged, or is none of a logger. Bring it again.",
        ),
    }
}

/// Reads `2026-09-14 08:00:00.25`; the day is looked up only when it changes.
#[derive(Default)]
struct Clock {
    day: [u8; 10],
    midnight: f64,
}

impl Clock {
    fn read(&mut self, cell: &[u8]) -> Option<f64> {
        let cell = cell.trim_ascii();
        let (day, rest) = cell.split_at_checked(10)?;
        let (b' ' | b'T', time) = rest.split_first()? else { return None };
        if day != self.day {
            self.midnight = day_number(str::from_utf8(day).ok()?)? as f64 * 86_400.0;
            self.day.copy_from_slice(day);
        }
        let [h, hh, b':', m, mm, b':', s, ss, fraction @ ..] = time else { return None };
        let two = |one: &u8, other: &u8| {
            (one.is_ascii_digit() && other.is_ascii_digit()).then(|| f64::from((one - b'0') * 10 + (other - b'0')))
        };
        let (hour, minute, second) = (two(h, hh)?, two(m, mm)?, two(s, ss)?);
        let part = match fraction.split_first() {
            None => 0.0,
            Some((b'.' | b',', digits)) if digits.iter().all(u8::is_ascii_digit) && digits.len() <= 9 => {
                let whole = digits.iter().fold(0_u32, |sum, digit| sum.wrapping_mul(10) + u32::from(digit - b'0'));
                f64::from(whole) / 10_f64.powi(i32::try_from(digits.len()).ok()?)
            }
            Some(_) => return None,
        };
        (hour < 24.0 && minute < 60.0 && second < 61.0)
            .then_some(self.midnight + hour * 3600.0 + minute * 60.0 + second + part)
    }
}
