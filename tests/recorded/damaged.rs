//! Files that are damaged, too large, or something else: a clear finding with its place, never a panic, never a guess.

use std::fmt::Write as _;

use loopleaf::diagnostic::{Checked, Code};
use loopleaf::record::{Column, DecimalMark, Record, Side, Value, form, read};
use loopleaf::source::Sources;
use proptest::prelude::*;

use super::bench::bench;

const HEADING: &str = "run,specimen,fingerprint,step,reading,what,window,value,unit,instrument,time,by,note,correction";

fn read(bytes: &[u8]) -> (Checked<Option<Record>>, Sources) {
    let mut sources = Sources::new();
    let read = read::file("record.csv", bytes, &mut sources);
    for place in read.diagnostics.iter().flat_map(|finding| &finding.places) {
        let source = sources.get(place.source).unwrap();
        assert!(place.span.range().end <= source.text.len(), "a place outside its text");
    }
    (read, sources)
}

/// A file that can't be read says why, and gives nothing.
fn refused(bytes: &[u8], words: &str) {
    let (read, _) = read(bytes);
    assert!(read.value.is_none());
    let finding = &read.diagnostics[0];
    assert_eq!(finding.code, Code::CannotRead);
    assert!(finding.message.contains(words), "{}", finding.message);
    assert!(finding.help.is_some());
}

#[test]
fn what_is_no_text_is_refused_with_the_line() {
    refused(b"run,reading\nR01,\0a\n", "line 2 holds a NUL byte");
    refused(b"run,reading,value\nR01,caf\xe9,1\n", "line 2 holds a character in another encoding");
    refused(&[0xff, 0xfe, b'r', 0, b'u', 0], "UTF-16");
    refused(&[0xd0, 0xcf, 0x11, 0xe0, 0xa1], "old binary format");
    refused(b"", "no heading line");
    refused(b"\xef\xbb\xbf", "no heading line");
}

#[test]
fn what_is_too_large_is_refused_without_being_taken_in() {
    refused(&vec![b'a'; 40 * 1024 * 1024], "bytes, more than");
    let wide = format!("{HEADING}\n{}\n", ",".repeat(1_000_000));
    refused(wide.as_bytes(), "has 1000001 cells");
    let long = format!("{HEADING}\nR01,{}\n", "x".repeat(1_000_000));
    refused(long.as_bytes(), "a cell in line 2");
    let mut many = format!("{HEADING}\n");
    for _ in 0..200_001 {
        many += "R01,,,,,,,1,,,,,,\n";
    }
    refused(many.as_bytes(), "more than 200000 rows");
}

#[test]
fn a_quotation_mark_that_is_never_closed_is_shown() {
    let text = format!("{HEADING}\nR01,,,,a,,,1,,,,,\"lost,\nR01,,,,b,,,2,,,,,,\n");
    let (read, sources) = read(text.as_bytes());
    assert!(read.value.is_none());
    let finding = &read.diagnostics[0];
    assert!(finding.message.contains("a quotation mark in line 2"), "{}", finding.message);
    let place = finding.primary().unwrap();
    assert_eq!(sources.get(place.source).unwrap().slice(place.span), "\"");
    // One in the middle of a cell is a character like any other.
    let text = format!("{HEADING}\nR01,,,,a,,,1,,,,,3/4\" hose,\n");
    let (read, _) = self::read(text.as_bytes());
    assert_eq!(read.value.unwrap().rows[0].text(Column::Note), "3/4\" hose");
}

#[test]
fn byte_order_mark_mixed_line_ends_and_blank_lines_are_nothing_special() {
    let text =
        format!("\u{feff}{HEADING}\r\nR01,,,,a,,,1,,,,,,\n\n\r\nR01,,,,b,,,2,,,,,\"two\nlines\",\nR01,,,,c,,,3,,,,,,");
    let (read, sources) = read(text.as_bytes());
    assert!(read.diagnostics.is_empty(), "{:?}", read.diagnostics);
    let record = read.value.unwrap();
    let lines: Vec<(u32, &str)> = record.rows.iter().map(|row| (row.line, row.text(Column::Value))).collect();
    assert_eq!(lines, [(2, "1"), (5, "2"), (7, "3")]);
    let source = sources.get(record.source).unwrap();
    for row in &record.rows {
        let cell = row.cell(Column::Value);
        assert_eq!(source.slice(cell.span), cell.text);
        assert_eq!(source.line_column(cell.span.start).0, row.line as usize);
    }
}

#[test]
fn separator_and_decimal_mark_are_followed_when_declared_and_never_guessed() {
    let semicolons = HEADING.replace(',', ";");
    let body = "R01;;;;a;;;12,7;;;;;;\n";
    let declared = format!("separator: ;\ndecimal: ,\n# typed by AB\n{semicolons}\n{body}");
    let (read, _) = read(declared.as_bytes());
    assert!(read.diagnostics.is_empty(), "{:?}", read.diagnostics);
    let record = read.value.unwrap();
    assert_eq!(record.value(&record.rows[0]).number().unwrap().value, 12.7);
    // A spreadsheet that saves the file again pads and quotes the first lines.
    let padded = format!("separator: ;;;;;;;;;;;;;;\n\"decimal: ,\";;;;;;;;;;;;;\n{semicolons}\n{body}");
    let (read, _) = self::read(padded.as_bytes());
    assert!(read.value.is_some_and(|record| record.mark == DecimalMark::Comma));
    let (read, _) = self::read(format!("{semicolons}\n{body}").as_bytes());
    assert!(read.value.is_none());
    assert!(read.diagnostics[0].help.as_ref().unwrap().contains("write `separator: ;` as the first line"));
    let (read, _) = self::read(format!("separator: |\n{HEADING}\n").as_bytes());
    assert_eq!(read.diagnostics[0].code, Code::BadDeclaration);
}

#[test]
fn columns_unknown_missing_and_double_are_told_and_any_order_will_do() {
    let (read, _) = read(b"time,by,Value,reading,run,remark,value\n2026-09-14 09:00:00,AB,1,a,R01,x,2\n");
    let told: Vec<(Code, &str)> =
        read.diagnostics.iter().map(|finding| (finding.code, finding.message.as_str())).collect();
    assert_eq!(
        told,
        [
            (Code::UnknownColumn, "the column `remark` of `record.csv` is not known"),
            (Code::UnknownColumn, "the column `value` of `record.csv` stands twice; the first is read"),
            (Code::MissingColumn, "`record.csv` has no column `specimen`"),
            (Code::MissingColumn, "`record.csv` has no column `fingerprint`"),
            (Code::MissingColumn, "`record.csv` has no column `unit`"),
            (Code::MissingColumn, "`record.csv` has no column `instrument`"),
        ]
    );
    let record = read.value.unwrap();
    assert_eq!((record.rows[0].text(Column::Value), record.rows[0].text(Column::Run)), ("1", "R01"));
}

#[test]
fn a_row_of_another_width_is_told() {
    let text = format!("{HEADING}\nR01,,,,a,,,12,7,,,,,,\nR01,,,,a\n");
    let (read, _) = read(text.as_bytes());
    let codes: Vec<Code> = read.diagnostics.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [Code::ShiftedRow, Code::ShiftedRow]);
    assert!(read.diagnostics[0].help.as_ref().unwrap().contains("decimal comma"));
}

#[test]
fn values_are_read_for_what_they_say_and_nothing_more() {
    let value = |text: &str| Value::parse(text, DecimalMark::Point);
    let number = |text: &str| value(text).number().map(|number| (number.value, number.decimals));
    assert_eq!(number(" 12.70 "), Some((12.7, 2)));
    assert_eq!(number("-0.3"), Some((-0.3, 1)));
    assert_eq!(number("−0.3"), Some((-0.3, 1)));
    assert_eq!(number("1.2e4"), Some((12_000.0, 1)));
    for text in ["12,7", "1 250", "1,250", "12.", "..5", "0x1F", "inf", "NaN", "1e999", "1e", "٣", "12.7.1", "--1"] {
        assert_eq!(number(text), None, "{text}");
    }
    assert_eq!(Value::parse("12,7", DecimalMark::Comma).number().unwrap().value, 12.7);
    assert_eq!(Value::parse("12.7", DecimalMark::Comma).number(), None);
    assert!(matches!(value("<0.5"), Value::Censored(Side::Below, bound) if bound.value == 0.5));
    assert!(matches!(value("≥ 20"), Value::Censored(Side::AtLeast, bound) if bound.value == 20.0));
    assert!(matches!(value(">=20"), Value::Censored(Side::AtLeast, _)));
    assert_eq!((value("nd"), value("TNTC"), value("  ")), (Value::NotDone, Value::TooNumerous, Value::Empty));
    assert!(matches!(value("8.7 psi"), Value::WithUnit(_, unit) if unit == "psi"));
    assert_eq!(value("n/a"), Value::Text("n/a".to_owned()));
}

#[test]
fn a_damaged_workbook_is_refused() {
    let bench = bench();
    let whole = form::xlsx(&bench.plan, &bench.plan.runs[0]).unwrap();
    refused(b"PK\x03\x04", "its directory is missing");
    let (cut, _) = read(&whole[..whole.len() / 2]);
    assert!(cut.value.is_none());
    // A directory that promises ten gigabytes.
    let mut bomb = whole.clone();
    let at = bomb.windows(4).position(|window| window == b"PK\x01\x02").unwrap();
    bomb[at + 24..at + 28].copy_from_slice(&u32::MAX.to_le_bytes());
    refused(&bomb, "would unpack to");
    let empty = rust_xlsxwriter::Workbook::new().save_to_buffer().unwrap();
    refused(&empty, "no sheet of");
    let mut far = rust_xlsxwriter::Workbook::new();
    far.add_worksheet().write(1_048_575, 16_383, "far away").unwrap();
    refused(&far.save_to_buffer().unwrap(), "beyond row");
}

#[test]
fn a_workbook_with_any_byte_changed_never_panics() {
    let bench = bench();
    let whole = form::xlsx(&bench.plan, &bench.plan.runs[0]).unwrap();
    let mut seed = 1_u64;
    for _ in 0..300 {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let at = usize::try_from(seed >> 33).unwrap() % whole.len();
        let mut bytes = whole.clone();
        bytes[at] ^= u8::try_from((seed >> 20) & 0xff).unwrap() | 1;
        read(&bytes);
    }
    for cut in (0..whole.len()).step_by(whole.len() / 60) {
        read(&whole[..cut]);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read(&bytes);
    }

    #[test]
    fn any_cells_come_back_as_they_were(cells in proptest::collection::vec("[ -~äµ\n\"]{0,12}", 14)) {
        let mut text = format!("{HEADING}\n");
        let quoted: Vec<String> = cells.iter().map(|cell| format!("\"{}\"", cell.replace('"', "\"\""))).collect();
        writeln!(text, "{}", quoted.join(",")).unwrap();
        let (read, sources) = read(text.as_bytes());
        let record = read.value.unwrap();
        if cells.iter().any(|cell| !cell.trim().is_empty()) {
            let row = &record.rows[0];
            for (column, wanted) in Column::ALL.into_iter().zip(&cells) {
                let cell = row.cell(column);
                prop_assert_eq!(&cell.text, wanted);
                let shown = sources.get(record.source).unwrap().slice(cell.span);
                prop_assert_eq!(shown, format!("\"{}\"", wanted.replace('"', "\"\"")));
            }
        }
    }

    #[test]
    fn any_value_in_any_box_is_audited_without_panic(text in "\\PC{0,30}", row in 0_usize..120, column in 0_usize..14) {
        let mut bench = bench();
        let mut sheet = bench.conforming("R01", 1);
        let at = row % sheet.rows.len();
        sheet.rows[at][column] = text;
        let csv = sheet.csv();
        let mut sources = std::mem::take(&mut bench.sources);
        let read = read::file("R01.csv", csv.as_bytes(), &mut sources);
        let records: Vec<Record> = read.value.into_iter().collect();
        loopleaf::audit::run(&bench.plan, &records);
    }
}
