//! Rows of a logger's file: a time and the mapped channels, everything else passed over.

use std::io::Read;

use super::block::{Block, Order, trouble};
pub use super::block::{Seen, Tally, Trouble};
use super::lines::{LineError, Lines, cells};
use super::parse::{Role, Shape};
use super::threads::{self, Feed};
use crate::plan::LoggerFile;
use crate::record::Instant;

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

/// The heading of a file: the names of its columns.
///
/// # Errors
/// When the first line can't be a heading.
pub fn heading(line: &[u8], separator: u8) -> Result<Vec<String>, Trouble> {
    let foreign = [
        (b"PK\x03\x04".as_slice(), "it is a spreadsheet or an archive, not CSV", "Export the sheet as CSV in UTF-8."),
        (b"\x1f\x8b", "it is packed (gzip), not CSV", "Unpack it first."),
        (b"PAR1", "it is a Parquet file, and no CSV", "Give it a name that ends with `.parquet`."),
    ];
    if let Some((_, what, help)) = foreign.iter().find(|(start, _, _)| line.starts_with(start)) {
        return Err(trouble(1, b"", *what, *help));
    }
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

/// Reads a whole file row by row, in memory that does not grow with it.
///
/// # Errors
/// When the stream fails, a line has no end, or the heading lacks a mapped column. Rows that can't be used are counted.
pub fn read<R: Read + Send>(stream: R, layout: &LoggerFile, mut each: impl FnMut(&Row<'_>)) -> Result<Tally, Trouble> {
    let width = layout.channels.len().max(1);
    blocks(stream, layout, Wanted::Channels, |block| {
        for (row, (time, values)) in block.times.iter().zip(block.values.chunks(width)).enumerate() {
            each(&Row { line: block.line(row), time: *time, values, bytes: block.bytes(row) });
        }
    })
}

/// Which columns are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    Channels,
    /// The marker's column instead of the channels.
    Marker,
}

/// The same block by block.
pub(super) fn blocks<R: Read + Send>(
    stream: R,
    layout: &LoggerFile,
    wanted: Wanted,
    take: impl FnMut(&Block),
) -> Result<Tally, Trouble> {
    let mut lines = Lines::new(stream);
    let head = match lines.next_line().map_err(broken)? {
        Some(line) => heading(line.bytes, layout.separator)?,
        None => return Err(trouble(1, b"", "the file is empty", "Bring the file again from the logger.")),
    };
    let roles = roles("heading", &head, layout, wanted)?;
    if layout.unit_row {
        lines.next_line().map_err(broken)?;
    }
    let channels = match wanted {
        Wanted::Channels => layout.channels.iter().map(|channel| channel.column.clone()).collect(),
        Wanted::Marker => Vec::new(),
    };
    let shape = Shape {
        roles,
        separator: layout.separator,
        comma: layout.decimal_comma,
        elapsed: layout.elapsed,
        zero: zero(layout)?,
        time: layout.time_column.clone(),
        channels,
    };
    let (carry, stream, gone) = lines.rest();
    let mut order = Order::after(gone, layout);
    threads::read(Feed::new(stream, carry), &shape, &mut order, take)?;
    Ok(order.tally)
}

/// What each column of a heading is.
///
/// # Errors
/// When a column that the mapping names is not there, or is there twice.
pub(super) fn roles(place: &str, head: &[String], layout: &LoggerFile, wanted: Wanted) -> Result<Vec<Role>, Trouble> {
    let mut roles = vec![Role::Other; head.len()];
    let channels = layout.channels.iter().enumerate().map(|(at, channel)| (&channel.column, Role::Channel(at)));
    let marker = layout.marker.iter().map(|column| (column, Role::Marker));
    for (column, role) in std::iter::once((&layout.time_column, Role::Time)).chain(marker).chain(channels) {
        let found: Vec<usize> = (0..head.len()).filter(|at| head.get(*at) == Some(column)).collect();
        let [at] = found.as_slice() else {
            let what = match found.len() {
                0 => format!("the {place} has no column `{column}`"),
                n => format!("the {place} has the column `{column}` {n} times"),
            };
            let help = format!("The {place} has: {}. Write the name as it stands there.", head.join(", "));
            return Err(trouble(1, head.join(", ").as_bytes(), what, help));
        };
        let read = match role {
            Role::Channel(_) => wanted == Wanted::Channels,
            Role::Marker => wanted == Wanted::Marker,
            Role::Time | Role::Other => true,
        };
        if let Some(slot) = roles.get_mut(*at).filter(|_| read) {
            *slot = role;
        }
    }
    Ok(roles)
}

/// Seconds that are added to every time of a file.
///
/// # Errors
/// When the times are seconds and nobody has said from when.
pub(super) fn zero(layout: &LoggerFile) -> Result<f64, Trouble> {
    match &layout.zero {
        _ if !layout.elapsed => Ok(0.0),
        Some(zero) => Instant::parse(zero).map(|zero| zero.seconds as f64).ok_or_else(|| {
            let help = "Write it as in a record: zero at \"2026-09-14 08:00:00\".";
            trouble(1, b"", format!("`{zero}` is no date and time"), help)
        }),
        None => {
            let help = "Add to the line `time`: zero at \"2026-09-14 08:00:00\", with the bench's clock when the logger was started.";
            Err(trouble(1, b"", "nobody has said when the logger's time was zero", help))
        }
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
