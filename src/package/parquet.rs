//! The same tables in Apache Parquet: one row group, columns in the types of the schema, Zstandard.

use std::sync::Arc;

use parquet::basic::{Compression, LogicalType, Repetition, TimeUnit, Type as Physical, ZstdLevel};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int32Type, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;

use super::descriptor;
use super::table::{Cell, Field, Sort, Table};
use crate::record::{Instant, day_number};

/// A table as a Parquet file. Its Table Schema, with titles, units and keys, stands in the file's own metadata under
/// `table-schema`. Empty bytes where the writer fails, which it cannot do in memory.
pub(super) fn bytes(table: &Table) -> Vec<u8> {
    write(table).unwrap_or_default()
}

fn write(table: &Table) -> Result<Vec<u8>, ParquetError> {
    let columns: Result<Vec<_>, ParquetError> = table.fields.iter().map(|field| column(field).map(Arc::new)).collect();
    let schema = Arc::new(Type::group_type_builder(table.name).with_fields(columns?).build()?);
    let said = KeyValue::new("table-schema".to_owned(), descriptor::schema(table).to_string());
    let properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_key_value_metadata(Some(vec![said]))
        .build();
    let mut bytes = Vec::new();
    let mut writer = SerializedFileWriter::new(&mut bytes, schema, Arc::new(properties))?;
    let mut group = writer.next_row_group()?;
    for (place, field) in table.fields.iter().enumerate() {
        let Some(mut column) = group.next_column()? else { break };
        let cells: Vec<&Cell> = table.rows.iter().map(|row| row.get(place).unwrap_or(&Cell::Empty)).collect();
        let there: Vec<i16> = cells.iter().map(|cell| i16::from(**cell != Cell::Empty)).collect();
        let levels = (!field.required).then_some(there.as_slice());
        match field.sort {
            Sort::Text => {
                let texts: Vec<ByteArray> = filled(&cells, |cell| Some(ByteArray::from(cell.text().into_bytes())));
                column.typed::<ByteArrayType>().write_batch(&texts, levels, None)?;
            }
            Sort::Whole => {
                let wholes: Vec<i64> = filled(&cells, |cell| match cell {
                    Cell::Whole(whole) => Some(*whole),
                    _ => None,
                });
                column.typed::<Int64Type>().write_batch(&wholes, levels, None)?;
            }
            Sort::Number => {
                let numbers: Vec<f64> = filled(&cells, |cell| match cell {
                    Cell::Number(number) => Some(*number),
                    _ => None,
                });
                column.typed::<DoubleType>().write_batch(&numbers, levels, None)?;
            }
            Sort::Truth => {
                let truths: Vec<bool> = filled(&cells, |cell| match cell {
                    Cell::Truth(truth) => Some(*truth),
                    _ => None,
                });
                column.typed::<BoolType>().write_batch(&truths, levels, None)?;
            }
            Sort::Date => {
                let days: Vec<i32> =
                    filled(&cells, |cell| day_number(&cell.text()).and_then(|day| i32::try_from(day).ok()));
                column.typed::<Int32Type>().write_batch(&days, levels, None)?;
            }
            Sort::Moment => {
                let moments: Vec<i64> =
                    filled(&cells, |cell| Instant::parse(&cell.text()).map(|moment| moment.seconds * 1_000_000));
                column.typed::<Int64Type>().write_batch(&moments, levels, None)?;
            }
        }
        column.close()?;
    }
    group.close()?;
    writer.close()?;
    Ok(bytes)
}

/// The values of the cells that hold one.
fn filled<T>(cells: &[&Cell], value: impl Fn(&Cell) -> Option<T>) -> Vec<T> {
    cells.iter().filter(|cell| ***cell != Cell::Empty).filter_map(|cell| value(cell)).collect()
}

fn column(field: &Field) -> Result<Type, ParquetError> {
    let (physical, logical) = match field.sort {
        Sort::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
        Sort::Whole => (Physical::INT64, None),
        Sort::Number => (Physical::DOUBLE, None),
        Sort::Truth => (Physical::BOOLEAN, None),
        Sort::Date => (Physical::INT32, Some(LogicalType::Date)),
        Sort::Moment => {
            let moment = LogicalType::timestamp(false, TimeUnit::MICROS);
            (Physical::INT64, Some(moment))
        }
    };
    let repetition = if field.required { Repetition::REQUIRED } else { Repetition::OPTIONAL };
    Type::primitive_type_builder(field.name, physical).with_logical_type(logical).with_repetition(repetition).build()
}
