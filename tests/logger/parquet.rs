//! The same rows in Parquet give the same findings; damaged files give an answer.

use std::io::Cursor;
use std::sync::Arc;

use loopleaf::diagnostic::Diagnostic;
use loopleaf::logger::Series;
use loopleaf::record;
use parquet::basic::{Compression, ZstdLevel};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, FloatType, Int64Type};
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::parser::parse_message_type;

use super::series::{Bench, MAPPING, Point, bench};

const SCHEMA: &str = "message log {
    optional int64 when (TIMESTAMP(MICROS, false));
    optional double dp;
    required float Q;
    optional binary T (STRING);
    optional double unread;
}";

/// Where a value is missing, and how the file is packed.
struct Packing {
    schema: &'static str,
    compression: Compression,
    group: usize,
    missing: fn(usize) -> bool,
}

const PLAIN: Packing = Packing { schema: SCHEMA, compression: Compression::SNAPPY, group: 1000, missing: |_| false };

fn file(points: &[Point], packing: &Packing) -> Vec<u8> {
    let properties = WriterProperties::builder().set_compression(packing.compression).build();
    let schema = Arc::new(parse_message_type(packing.schema).unwrap());
    let mut writer = SerializedFileWriter::new(Vec::new(), schema, Arc::new(properties)).unwrap();
    for (at, points) in points.chunks(packing.group).enumerate() {
        let missing = |row: usize| (packing.missing)(at * packing.group + row);
        let mut group = writer.next_row_group().unwrap();
        let all = vec![1_i16; points.len()];

        let mut column = group.next_column().unwrap().unwrap();
        let times: Vec<i64> = points.iter().map(|(time, _)| time * 1_000_000).collect();
        column.typed::<Int64Type>().write_batch(&times, Some(&all), None).unwrap();
        column.close().unwrap();

        let mut column = group.next_column().unwrap().unwrap();
        let there: Vec<i16> = (0..points.len()).map(|row| i16::from(!missing(row))).collect();
        let values: Vec<f64> =
            points.iter().enumerate().filter(|(row, _)| !missing(*row)).map(|(_, (_, [dp, ..]))| *dp).collect();
        column.typed::<DoubleType>().write_batch(&values, Some(&there), None).unwrap();
        column.close().unwrap();

        let mut column = group.next_column().unwrap().unwrap();
        #[expect(clippy::cast_possible_truncation, reason = "as a logger with short floats does")]
        let values: Vec<f32> = points.iter().map(|(_, [_, flow, _])| *flow as f32).collect();
        column.typed::<FloatType>().write_batch(&values, None, None).unwrap();
        column.close().unwrap();

        let mut column = group.next_column().unwrap().unwrap();
        let values: Vec<ByteArray> =
            points.iter().map(|(_, [.., temperature])| temperature.to_string().as_str().into()).collect();
        column.typed::<ByteArrayType>().write_batch(&values, Some(&all), None).unwrap();
        column.close().unwrap();

        let mut column = group.next_column().unwrap().unwrap();
        column.typed::<DoubleType>().write_batch(&vec![1.0; points.len()], Some(&all), None).unwrap();
        column.close().unwrap();
        group.close().unwrap();
    }
    writer.into_inner().unwrap()
}

fn read(bench: &mut Bench, bytes: Vec<u8>) -> Vec<Diagnostic> {
    let mut series = Series::new(&bench.plan, &bench.records);
    series.file("log.parquet", Cursor::new(bytes), &mut bench.sources);
    series.findings(&mut bench.sources)
}

fn text(points: &[Point], missing: fn(usize) -> bool) -> String {
    let mut text = String::from("when;dp;Q;T\n;kPa;L/min;°C\n");
    for (row, (time, [dp, flow, temperature])) in points.iter().enumerate() {
        let day = record::Instant { seconds: *time, grain: 1 }.text();
        let dp = if missing(row) { String::new() } else { dp.to_string() };
        text.push_str(&format!("{day};{dp};{flow};{temperature}\n"));
    }
    text
}

/// Code, message, and all places but the first, which is a line of the one file and a row of the other.
fn told(found: &[Diagnostic]) -> Vec<String> {
    let tell = |f: &Diagnostic| {
        let roles: Vec<&str> = f.places.iter().skip(1).map(|place| place.role.as_str()).collect();
        format!("{} {} {roles:?}", f.code, f.message)
    };
    found.iter().map(tell).collect()
}

fn row_of(found: &Diagnostic, word: &str) -> Option<u64> {
    found.primary()?.role.strip_prefix(word)?.split(' ').next()?.parse().ok()
}

#[test]
fn the_same_rows_give_the_same_findings() {
    let gap: fn(usize) -> bool = |row| (900..940).contains(&row);
    let zstd = Compression::ZSTD(ZstdLevel::default());
    for compression in [Compression::UNCOMPRESSED, Compression::SNAPPY, zstd, Compression::GZIP(Default::default())] {
        let mut bench = bench(MAPPING);
        let mut points = bench.points();
        let clean = file(&points, &Packing { compression, ..PLAIN });
        assert_eq!(told(&read(&mut bench, clean)), [""; 0]);
        // A flow that falls, a limit that is passed, a clock that goes back, a time without values.
        let read_at = bench.when("sweep/rising/30-l-min/dp");
        points.iter_mut().filter(|p| (read_at - 40..read_at - 20).contains(&p.0)).for_each(|p| p.1[1] = 25.1);
        points.iter_mut().filter(|p| (read_at + 200..read_at + 203).contains(&p.0)).for_each(|p| p.1[0] = 230.3);
        points[1500].0 -= 900;
        let packed = file(&points, &Packing { compression, missing: gap, group: 777, ..PLAIN });
        let of_parquet = read(&mut bench, packed);
        let mut series = Series::new(&bench.plan, &bench.records);
        series.file("log.parquet.csv", Cursor::new(text(&points, gap)), &mut bench.sources);
        let of_text = series.findings(&mut bench.sources);
        let plain = told(&of_text).iter().map(|t| t.replace("log.parquet.csv", "log.parquet")).collect::<Vec<_>>();
        assert_eq!(told(&of_parquet), plain);
        assert!(plain.len() >= 4, "{plain:?}");
        for (one, two) in of_parquet.iter().zip(&of_text) {
            // Heading and units stand above the first row of the text.
            assert_eq!(row_of(one, "row ").map(|row| row + 2), row_of(two, "line "), "{}", one.message);
        }
    }
}

#[test]
fn a_damaged_file_gives_an_answer_wherever_it_is_cut() {
    let mut bench = bench(MAPPING);
    let points = bench.points();
    let whole = file(&points, &PLAIN);
    for part in 1..40 {
        let mut cut = whole.clone();
        cut.truncate(whole.len() * part / 40);
        let found = read(&mut bench, cut);
        assert_eq!(found[0].code.id(), "A200", "{part}");
        assert!(found[0].message.contains("damaged, cut short"), "{}", found[0].message);
    }
    // Bytes changed in the middle: whatever comes of it, never a panic and never an end without a word.
    for at in (4..whole.len() - 8).step_by(whole.len() / 150) {
        let mut changed = whole.clone();
        changed[at] ^= 0xff;
        changed[at + 1] ^= 0x55;
        let _ = read(&mut bench, changed);
    }
    let found = read(&mut bench, b"when;dp;Q;T\n".to_vec());
    assert!(found[0].message.contains("does not begin as a Parquet file does"), "{}", found[0].message);
}

#[test]
fn a_column_of_another_kind_is_named() {
    let seconds = MAPPING.replace("as date and time", "as seconds, zero at \"2026-09-14 08:00:00\"");
    for (from, to, mapping, expected) in [
        ("(TIMESTAMP(MICROS, false))", "(TIMESTAMP(MICROS, true))", MAPPING, "the column `when` holds times in UTC"),
        ("(TIMESTAMP(MICROS, false))", "", MAPPING, "the column `when` holds numbers, not dates and times"),
        ("", "", &seconds, "the column `when` holds dates and times, not seconds"),
        (" dp;", " pressure;", MAPPING, "the file has no column `dp`"),
        ("(STRING)", "(JSON)", MAPPING, "the column `T` holds neither numbers nor text nor times"),
    ] {
        let mut bench = bench(mapping);
        let schema: &'static str = Box::leak(SCHEMA.replacen(from, to, usize::from(!from.is_empty())).into_boxed_str());
        let points = bench.points();
        let found = read(&mut bench, file(&points[..50], &Packing { schema, ..PLAIN }));
        assert_eq!(found[0].code.id(), "A200", "{expected}");
        assert!(found[0].message.contains(expected), "{}", found[0].message);
    }
}

#[test]
fn without_a_mapping_its_columns_are_proposed() {
    let mut bench = bench("");
    let points = bench.points();
    let found = read(&mut bench, file(&points[..50], &PLAIN));
    assert_eq!(found[0].code.id(), "A212");
    let help = found[0].help.clone().unwrap();
    assert!(help.contains("time \"when\" as date and time") && help.contains("# channel \"dp\""), "{help}");
}
