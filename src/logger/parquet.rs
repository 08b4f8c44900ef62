//! A logger's file in Parquet: row groups one after the other, a few thousand rows of the mapped columns at once.

use std::io::{BufReader, Error, Read, Seek, SeekFrom};
use std::sync::{Arc, Mutex, mpsc};
use std::thread;

use bytes::Bytes;
use parquet::basic::{ConvertedType, LogicalType, TimeUnit, Type};
use parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use parquet::data_type::DataType;
use parquet::errors::{ParquetError, Result as Parquet};
use parquet::file::reader::{ChunkReader, FileReader, Length};
use parquet::file::serialized_reader::SerializedFileReader;
use parquet::schema::types::{ColumnDescriptor, SchemaDescriptor};

use super::block::{Block, Order, Tally, Trouble, trouble};
use super::clock::Clock;
use super::number::number;
use super::parse::Role;
use super::rows::{Wanted, roles, zero};
use crate::plan::{LoggerFile, Plan};

/// Rows that are unpacked at once.
const BATCH: usize = 8192;
/// Blocks that are on the way at once.
const ON_THE_WAY: usize = 3;
/// A column of a row group may not claim to be larger, in bytes.
const LARGEST_COLUMN: i64 = 256 * 1024 * 1024;
const BRING_AGAIN: &str = "Bring the file again from the logger, or an earlier copy; nothing was changed.";

/// The columns of a file.
pub(super) struct Columns<R: Read + Seek + Send + 'static> {
    open: Result<Arc<SerializedFileReader<Shared<R>>>, Trouble>,
}

impl<R: Read + Seek + Send + 'static> Columns<R> {
    pub(super) fn new(stream: R) -> Self {
        // A thread of its own: what a damaged file does to the reader is told, whatever it is.
        let open = thread::spawn(move || SerializedFileReader::new(Shared::new(stream)?)).join();
        let open = match open {
            Ok(Ok(reader)) => Ok(Arc::new(reader)),
            Ok(Err(error)) => Err(damaged(&error)),
            Err(_) => Err(unreadable()),
        };
        Self { open }
    }

    /// Reads the whole file block by block.
    ///
    /// # Errors
    /// When it is damaged, or its columns are not what the mapping says.
    pub(super) fn blocks(
        &mut self,
        layout: &LoggerFile,
        wanted: Wanted,
        mut take: impl FnMut(&Block),
    ) -> Result<Tally, Trouble> {
        let reader = self.open.clone()?;
        let columns = Column::all(reader.metadata().file_metadata().schema_descr(), layout, wanted)?;
        let zero = zero(layout)?;
        let mut order = Order::after(0, layout);
        let (hand_on, full) = mpsc::sync_channel::<Block>(ON_THE_WAY);
        thread::scope(|scope| {
            let unpacking = scope.spawn(|| {
                let mut unpack = Unpack { layout, wanted, zero, columns, clock: Clock::default(), hand_on };
                unpack.all(reader.as_ref())
            });
            let mut done = Ok(());
            for mut block in &full {
                done = order.add(&mut block);
                take(&block);
                if done.is_err() {
                    break;
                }
            }
            drop(full);
            let unpacked = unpacking.join();
            done?;
            let next = order.tally.rows + order.tally.backwards.count + 1;
            match unpacked {
                Ok(Ok(())) => Ok(order.tally),
                // Row 1 would say that another logger may have written it.
                Ok(Err(error)) => Err(Trouble { line: next.max(2), ..damaged(&error) }),
                Err(_) => Err(Trouble { line: next.max(2), ..unreadable() }),
            }
        })
    }

    /// Lines for the campaign, as for a text.
    pub(super) fn guess(&mut self, plan: &Plan) -> String {
        let reader = match &self.open {
            Ok(reader) => reader,
            Err(trouble) => return format!("{}. {}", trouble.what, trouble.help),
        };
        let columns = reader.metadata().file_metadata().schema_descr().columns().to_vec();
        let names: Vec<String> = columns.iter().map(|c| format!("\"{}\"", c.name().replace('"', ""))).collect();
        let below: Vec<&str> = columns.iter().map(|c| if is_clock(c) { "00:00" } else { "1" }).collect();
        let text = format!("{}\n{}\n", names.join(","), below.join(","));
        super::guess(plan, text.as_bytes()).replace("    separated by comma\n", "")
    }
}

fn damaged(error: &ParquetError) -> Trouble {
    trouble(1, b"", format!("it is damaged, cut short, or packed in a way that is not read ({error})"), BRING_AGAIN)
}

fn unreadable() -> Trouble {
    trouble(1, b"", "it is damaged in a way that the reader of Parquet can't tell more of", BRING_AGAIN)
}

fn is_clock(column: &ColumnDescriptor) -> bool {
    let stamp = matches!(column.logical_type_ref(), Some(LogicalType::Timestamp(_)));
    let old = matches!(column.converted_type(), ConvertedType::TIMESTAMP_MILLIS | ConvertedType::TIMESTAMP_MICROS);
    stamp || old || column.physical_type() == Type::BYTE_ARRAY
}

/// How the values of a column are meant.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Number,
    /// A whole number over a power of ten.
    Decimal(i32),
    /// So many in a second, from 1970 on.
    Stamp(f64),
    Text,
}

/// A mapped column.
struct Column {
    role: Role,
    /// Index in the file.
    at: usize,
    name: String,
    kind: Kind,
    /// Definition level of a value that is there.
    defined: i16,
}

impl Column {
    fn all(schema: &SchemaDescriptor, layout: &LoggerFile, wanted: Wanted) -> Result<Vec<Column>, Trouble> {
        let head: Vec<String> = schema.columns().iter().map(|column| column.path().string()).collect();
        let roles = roles("file", &head, layout, wanted)?;
        let mapped = roles.iter().zip(schema.columns()).enumerate().filter(|(_, (role, _))| **role != Role::Other);
        mapped.map(|(at, (role, column))| Column::new(at, *role, column, layout)).collect()
    }

    fn new(at: usize, role: Role, column: &ColumnDescriptor, layout: &LoggerFile) -> Result<Column, Trouble> {
        let name = column.path().string();
        let refuse =
            |what: String, help: &str| Err(trouble(1, name.as_bytes(), format!("the column `{name}` {what}"), help));
        if column.max_rep_level() > 0 || column.path().parts().len() > 1 {
            return refuse("holds lists or groups".to_owned(), "Write one value a row into it.");
        }
        let kind = match (column.physical_type(), column.logical_type_ref(), column.converted_type()) {
            (Type::INT64, Some(LogicalType::Timestamp(stamp)), _) => {
                if stamp.is_adjusted_to_u_t_c {
                    let help = "Write the times as the bench's clock shows them, without a zone.";
                    return refuse(
                        "holds times in UTC, and nobody has said how the bench's clock differs".to_owned(),
                        help,
                    );
                }
                Kind::Stamp(match stamp.unit {
                    TimeUnit::MILLIS => 1e3,
                    TimeUnit::MICROS => 1e6,
                    TimeUnit::NANOS => 1e9,
                })
            }
            (Type::INT64, None, ConvertedType::TIMESTAMP_MILLIS) => Kind::Stamp(1e3),
            (Type::INT64, None, ConvertedType::TIMESTAMP_MICROS) => Kind::Stamp(1e6),
            (Type::INT32 | Type::INT64, Some(LogicalType::Decimal(decimal)), _) => Kind::Decimal(decimal.scale),
            (Type::INT32 | Type::INT64, Some(LogicalType::Integer(_)) | None, ConvertedType::NONE)
            | (
                Type::INT32 | Type::INT64,
                _,
                ConvertedType::INT_8
                | ConvertedType::INT_16
                | ConvertedType::INT_32
                | ConvertedType::INT_64
                | ConvertedType::UINT_8
                | ConvertedType::UINT_16,
            )
            | (Type::FLOAT | Type::DOUBLE, _, _) => Kind::Number,
            (
                Type::BYTE_ARRAY,
                Some(LogicalType::String | LogicalType::Enum) | None,
                ConvertedType::UTF8 | ConvertedType::NONE | ConvertedType::ENUM,
            ) => Kind::Text,
            (physical, logical, _) => {
                let what = logical.map_or_else(|| format!("{physical}"), |logical| format!("{physical}, {logical:?}"));
                return refuse(
                    format!("holds neither numbers nor text nor times ({what})"),
                    "Write it as numbers (DOUBLE).",
                );
            }
        };
        match (role, layout.elapsed, kind) {
            (Role::Time, true, Kind::Stamp(_)) => {
                let help = format!("Write `time \"{name}\" as date and time`.");
                refuse("holds dates and times, not seconds".to_owned(), &help)
            }
            (Role::Time, false, Kind::Number | Kind::Decimal(_)) => {
                let help = format!(
                    "Write `time \"{name}\" as seconds, zero at \"2026-09-14 08:00:00\"`, with the time at which the logger was started."
                );
                refuse("holds numbers, not dates and times".to_owned(), &help)
            }
            (Role::Channel(_), _, Kind::Stamp(_)) => {
                refuse("holds times, not a channel's values".to_owned(), "Name the column of the channel.")
            }
            _ => Ok(Column { role, at, name, kind, defined: column.max_def_level() }),
        }
    }
}

/// Cells of a column, unpacked.
enum Cells {
    Numbers(Vec<Option<f64>>),
    Texts(Vec<Option<Bytes>>),
}

struct Unpack<'l> {
    layout: &'l LoggerFile,
    wanted: Wanted,
    zero: f64,
    columns: Vec<Column>,
    clock: Clock,
    hand_on: mpsc::SyncSender<Block>,
}

impl Unpack<'_> {
    /// All row groups in order. Ends early when nobody takes the blocks any more.
    fn all<R: Read + Seek + Send + 'static>(&mut self, reader: &SerializedFileReader<Shared<R>>) -> Parquet<()> {
        for group in 0..reader.num_row_groups() {
            let group = reader.get_row_group(group)?;
            let mut readers = Vec::new();
            for column in &self.columns {
                if group.metadata().column(column.at).uncompressed_size() > LARGEST_COLUMN {
                    let text =
                        "the column `{}` of a row group claims more than 256 MB; write row groups of a million rows";
                    return Err(ParquetError::General(text.replace("{}", &column.name)));
                }
                readers.push(group.get_column_reader(column.at)?);
            }
            let mut left = usize::try_from(group.metadata().num_rows()).unwrap_or(0);
            while left > 0 {
                let mut cells = Vec::new();
                for (column, reader) in self.columns.iter().zip(&mut readers) {
                    cells.push(read(reader, left.min(BATCH), column)?);
                }
                let length = |cells: &Cells| match cells {
                    Cells::Numbers(cells) => cells.len(),
                    Cells::Texts(cells) => cells.len(),
                };
                let rows = cells.first().map_or(0, length);
                if rows == 0 || cells.iter().any(|cells| length(cells) != rows) {
                    return Err(ParquetError::General("its columns are of different lengths".to_owned()));
                }
                left -= rows.min(left);
                let block = self.block(&cells, rows);
                if self.hand_on.send(block).is_err() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    fn block(&mut self, cells: &[Cells], rows: usize) -> Block {
        let width = if self.wanted == Wanted::Channels { self.layout.channels.len() } else { 0 };
        let mut block = Block { count: rows as u64, ..Block::default() };
        let mut values = vec![f64::NAN; width];
        for row in 0..rows {
            let (mut time, mut bad, mut mark) = (None, None, None);
            for (column, cells) in self.columns.iter().zip(cells) {
                let (value, text) = match cells {
                    Cells::Numbers(cells) => (cells.get(row).copied().flatten(), None),
                    Cells::Texts(cells) => {
                        let text = cells.get(row).and_then(Option::as_ref);
                        (text.and_then(|text| number(text, self.layout.decimal_comma)), text)
                    }
                };
                match column.role {
                    Role::Time if self.layout.elapsed || text.is_none() => {
                        time = value.filter(|value| value.is_finite())
                    }
                    Role::Time => time = text.and_then(|text| self.clock.read(text)),
                    Role::Channel(channel) => {
                        let filled = text.is_some_and(|text| !text.trim_ascii().is_empty());
                        if value.is_some_and(f64::is_infinite) || (filled && value.is_none()) {
                            let cell = text.map_or_else(|| "inf".to_owned(), |text| super::block::excerpt(text));
                            bad = bad.or(Some((cell, column.name.as_str())));
                        }
                        if let Some(slot) = values.get_mut(channel) {
                            *slot = value.filter(|value| value.is_finite()).unwrap_or(f64::NAN);
                        }
                    }
                    Role::Marker => {
                        let number = value.map(|value| value.to_string().into_bytes());
                        mark = text.map(|text| text.trim_ascii().to_vec()).or(number);
                    }
                    Role::Other => {}
                }
            }
            let Some(time) = time else {
                let what = || format!("no time in the column `{}`", self.layout.time_column);
                block.damaged.note(row as u64, b"", what);
                continue;
            };
            if let Some((cell, column)) = bad {
                let what = || format!("`{cell}` is no number in the column `{column}`");
                block.damaged.note(row as u64, format!("{column}: {cell}").as_bytes(), what);
            }
            if self.wanted == Wanted::Marker {
                let mark = mark.unwrap_or_default();
                if block.markers.last().is_none_or(|(_, last)| *last != mark) {
                    block.markers.push((u32::try_from(block.times.len()).unwrap_or(u32::MAX), mark));
                }
            }
            block.lines.push(u32::try_from(row).unwrap_or(u32::MAX));
            block.times.push(time + self.zero);
            block.values.extend_from_slice(&values);
        }
        block
    }
}

fn read(reader: &mut ColumnReader, rows: usize, column: &Column) -> Parquet<Cells> {
    let over = match column.kind {
        Kind::Decimal(scale) => 10_f64.powi(scale),
        Kind::Stamp(per_second) => per_second,
        Kind::Number | Kind::Text => 1.0,
    };
    Ok(match reader {
        ColumnReader::DoubleColumnReader(reader) => Cells::Numbers(some(reader, rows, column, |value| *value)?),
        ColumnReader::FloatColumnReader(reader) => {
            Cells::Numbers(some(reader, rows, column, |value| as_written(*value))?)
        }
        ColumnReader::Int32ColumnReader(reader) => {
            Cells::Numbers(some(reader, rows, column, |value| f64::from(*value) / over)?)
        }
        ColumnReader::Int64ColumnReader(reader) => {
            Cells::Numbers(some(reader, rows, column, |value| *value as f64 / over)?)
        }
        ColumnReader::ByteArrayColumnReader(reader) => {
            Cells::Texts(some(reader, rows, column, |value| Bytes::copy_from_slice(value.data()))?)
        }
        _ => {
            return Err(ParquetError::General(format!(
                "the column `{}` is of another kind than its heading says",
                column.name
            )));
        }
    })
}

/// So many cells of a column, or as many as there are.
fn some<T: DataType, V>(
    reader: &mut ColumnReaderImpl<T>,
    rows: usize,
    column: &Column,
    value: impl Fn(&T::T) -> V,
) -> Parquet<Vec<Option<V>>> {
    let (mut levels, mut values) = (Vec::new(), Vec::new());
    let may_lack = column.defined > 0;
    let (records, _, _) = reader.read_records(rows, may_lack.then_some(&mut levels), None, &mut values)?;
    let mut values = values.iter();
    Ok((0..records)
        .map(|row| {
            let is_there = !may_lack || levels.get(row) == Some(&column.defined);
            if is_there { values.next().map(&value) } else { None }
        })
        .collect())
}

/// The decimal number that a logger wrote as a short float: 29.4, not 29.399999618.
fn as_written(value: f32) -> f64 {
    let exact = f64::from(value);
    let mut scale = 1.0;
    for _ in 0..8 {
        let short = (exact * scale).round() / scale;
        #[expect(clippy::cast_possible_truncation, reason = "the nearest float is what is asked for")]
        if short as f32 == value {
            return short;
        }
        scale *= 10.0;
    }
    exact
}

/// A stream that several columns read from.
struct Shared<R> {
    stream: Arc<Mutex<R>>,
    length: u64,
}

impl<R: Read + Seek> Shared<R> {
    fn new(mut stream: R) -> Parquet<Self> {
        let length = stream.seek(SeekFrom::End(0))?;
        Ok(Self { stream: Arc::new(Mutex::new(stream)), length })
    }
}

impl<R> Length for Shared<R> {
    fn len(&self) -> u64 {
        self.length
    }
}

impl<R: Read + Seek + Send> ChunkReader for Shared<R> {
    type T = BufReader<Window<R>>;

    fn get_read(&self, start: u64) -> Parquet<Self::T> {
        Ok(BufReader::with_capacity(1024, Window { stream: Arc::clone(&self.stream), at: start }))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Parquet<Bytes> {
        if start.checked_add(length as u64).is_none_or(|end| end > self.length) {
            return Err(ParquetError::EOF(format!("{length} bytes are missing from byte {start} on")));
        }
        let mut bytes = vec![0; length];
        Window { stream: Arc::clone(&self.stream), at: start }.read_exact(&mut bytes)?;
        Ok(bytes.into())
    }
}

/// A place in a shared stream.
struct Window<R> {
    stream: Arc<Mutex<R>>,
    at: u64,
}

impl<R: Read + Seek> Read for Window<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let mut stream = self.stream.lock().map_err(|_| Error::other("another reader broke off"))?;
        stream.seek(SeekFrom::Start(self.at))?;
        let count = stream.read(buffer)?;
        self.at += count as u64;
        Ok(count)
    }
}
