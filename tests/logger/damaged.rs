//! Damaged files: an answer with a place, never more memory than for a sound one, never a panic.

use std::io::{Cursor, Read};

use loopleaf::logger::lines::{LONGEST_LINE, LineError, Lines};
use loopleaf::logger::{number, rows};
use proptest::prelude::*;

use super::layout;

/// Rows: a time and the values of the channels.
type Series = Vec<(f64, Vec<f64>)>;

fn read(text: &[u8]) -> (Series, Result<rows::Tally, rows::Trouble>) {
    let mut seen = Vec::new();
    let tally = rows::read(Cursor::new(text), &layout(b',', false), |row| seen.push((row.time, row.values.to_vec())));
    (seen, tally)
}

#[test]
fn a_sound_file_with_a_mark_at_its_start_and_mixed_line_ends() {
    let (seen, tally) = read(b"\xef\xbb\xbft,x,\"b\",a\r\n0,no,2.5,1\n1,no,\"3.5\",-2e0\r\n\n");
    assert_eq!(seen, [(0.0, vec![1.0, 2.5]), (1.0, vec![-2.0, 3.5])]);
    let tally = tally.unwrap();
    assert_eq!((tally.rows, tally.damaged.count, tally.cut_short), (2, 0, None));
}

#[test]
fn decimal_commas_and_semicolons_where_they_are_declared() {
    let mut seen = Vec::new();
    let text = "t;a;b\n0,5;1,25;-0,5\n";
    let tally = rows::read(text.as_bytes(), &layout(b';', true), |row| seen.push((row.time, row.values.to_vec())));
    assert_eq!(seen, [(0.5, vec![1.25, -0.5])]);
    assert_eq!(tally.unwrap().damaged.count, 0);
    // A point there is no decimal mark.
    let tally = rows::read(&b"t;a;b\n0;1.250;1\n"[..], &layout(b';', true), |_| {}).unwrap();
    assert_eq!(tally.damaged.what, "`1.250` is no number in the column `a`");
}

#[test]
fn a_last_line_without_an_end_is_left_out_and_said() {
    let (seen, tally) = read(b"t,a,b\n0,1,2\n1,1,2");
    assert_eq!(seen.len(), 1);
    assert_eq!(tally.unwrap().cut_short, Some((3, "1,1,2".to_owned())));
}

#[test]
fn rows_that_can_not_be_used_are_counted_with_the_first_place() {
    for (row, what) in [
        ("1,1", "2 cells where the heading has 3"),
        ("1,1,2,3", "4 cells where the heading has 3"),
        ("soon,1,2", "no time in the column `t`"),
        ("1,inf,2", "`inf` is no number in the column `a`"),
        ("1,err,2", "`err` is no number in the column `a`"),
        ("1,1\0,2", "`1` is no number in the column `a`"),
    ] {
        let (_, tally) = read(format!("t,a,b\n0,1,2\n{row}\n2,1,2\n").as_bytes());
        let damaged = tally.unwrap().damaged;
        assert_eq!((damaged.count, damaged.line, damaged.what.as_str()), (1, 3, what), "{row:?}");
    }
}

#[test]
fn a_clock_that_runs_backwards_is_counted() {
    let (seen, tally) = read(b"t,a,b\n10,1,2\n4,1,2\n5,1,2\n11,1,2\n");
    let backwards = tally.unwrap().backwards;
    assert_eq!((seen.len(), backwards.count, backwards.line), (2, 2, 3));
    assert_eq!(backwards.what, "6.0 s earlier than a row above");
}

#[test]
fn headings_that_do_not_fit_are_refused_with_what_is_there() {
    assert_eq!(read(b"t,a\n").1.unwrap_err().what, "the heading has no column `b`");
    assert_eq!(read(b"t,a,b,b\n").1.unwrap_err().what, "the heading has the column `b` 2 times");
    assert_eq!(read(b"").1.unwrap_err().what, "the file is empty");
    assert!(read(b"\xff\xfet\0,\0a\0\n").1.unwrap_err().what.contains("UTF-16"));
    assert!(read(b"t,a,b,T [\xb0C]\n").1.unwrap_err().what.contains("another encoding"));
}

/// A stream that never ends a line, and counts what is taken from it.
struct Endless(usize);

impl Read for Endless {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        buffer.fill(b'7');
        self.0 += buffer.len();
        Ok(buffer.len())
    }
}

#[test]
fn an_endless_line_is_given_up_early() {
    let mut stream = Endless(0);
    let mut lines = Lines::new(&mut stream);
    assert!(matches!(lines.next_line(), Err(LineError::Endless(1))));
    assert!(stream.0 <= 4 * LONGEST_LINE, "{} bytes taken", stream.0);
}

#[test]
fn lines_across_the_edge_of_the_buffer_stay_whole() {
    let mut text = String::from("t,a,b\n");
    for row in 0..60_000 {
        text.push_str(&format!("{row},{}.5,{row}\n", row % 97));
    }
    let (seen, tally) = read(text.as_bytes());
    assert_eq!(tally.unwrap().rows, 60_000);
    for (row, (time, values)) in seen.iter().enumerate() {
        assert_eq!((*time, values[0], values[1]), (row as f64, (row % 97) as f64 + 0.5, row as f64));
    }
}

/// A file whose line has ten thousand million bytes, none of which is kept anywhere.
struct Huge<'c> {
    before: &'c [u8],
    left: u64,
    taken: &'c std::sync::atomic::AtomicU64,
}

impl Read for Huge<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let count = if self.before.is_empty() {
            let count = buffer.len().min(usize::try_from(self.left).unwrap_or(usize::MAX));
            buffer[..count].fill(b'7');
            self.left -= count as u64;
            count
        } else {
            self.before.read(buffer)?
        };
        self.taken.fetch_add(count as u64, std::sync::atomic::Ordering::Relaxed);
        Ok(count)
    }
}

#[test]
fn a_line_of_ten_gigabytes_in_the_middle_is_given_up_and_the_rows_before_it_stand() {
    let mut before = String::from("t,a,b\n");
    for row in 0..50_000 {
        before.push_str(&format!("{row},1,2\n"));
    }
    let taken = std::sync::atomic::AtomicU64::new(0);
    let stream = Huge { before: before.as_bytes(), left: 10_000_000_000, taken: &taken };
    let mut rows = 0;
    let trouble = rows::read(stream, &layout(b',', false), |_| rows += 1).unwrap_err();
    assert_eq!((rows, trouble.line), (50_000, 50_002));
    assert_eq!(trouble.what, "a line is longer than 65536 bytes");
    let more = taken.into_inner() - before.len() as u64;
    assert!(more < 64 * LONGEST_LINE as u64, "{more} bytes of it were taken");
}

#[test]
fn bytes_of_zero_after_a_loss_of_power_are_told_with_their_place() {
    let mut text = b"t,a,b\n0,1,2\n1,1,2\n".to_vec();
    text.extend(std::iter::repeat_n(0, 2 * LONGEST_LINE));
    let (seen, trouble) = read(&text);
    let trouble = trouble.unwrap_err();
    assert_eq!((seen.len(), trouble.line), (2, 4));
    assert!(trouble.what.contains("nothing but bytes that are zero"), "{}", trouble.what);
    // A few of them are one row that can't be used.
    let (seen, tally) = read(b"t,a,b\n0,1,2\n\0\0\0\n1,1,2\n");
    let damaged = tally.unwrap().damaged;
    assert_eq!((seen.len(), damaged.count, damaged.line), (2, 1, 3));
}

#[test]
fn lines_that_end_with_carriage_returns_alone_are_read() {
    let (seen, tally) = read(b"\xef\xbb\xbft,x,b,a\r0,no,2.5,1\r1,no,3.5,oh\r2,no,4,5");
    assert_eq!(seen[0], (0.0, vec![1.0, 2.5]));
    let tally = tally.unwrap();
    assert_eq!((tally.damaged.count, tally.damaged.line), (1, 3));
    assert_eq!(tally.cut_short, Some((4, "2,no,4,5".to_owned())));
    // Among line feeds a carriage return ends nothing.
    let (_, tally) = read(b"t,a,b\n0,1,2\r1,1,2\n2,1,2\n");
    let damaged = tally.unwrap().damaged;
    assert_eq!((damaged.count, damaged.line, damaged.what.as_str()), (1, 2, "5 cells where the heading has 3"));
}

#[test]
fn other_files_under_the_name_of_a_csv_are_told() {
    for (bytes, what) in [
        (b"PK\x03\x04\x14\0\x06\0".as_slice(), "a spreadsheet or an archive"),
        (b"\x1f\x8b\x08\0\0", "packed (gzip)"),
        (b"t\0,\0a\0,\0b\0\n\0", "UTF-16"),
    ] {
        let trouble = read(bytes).1.unwrap_err();
        assert!(trouble.what.contains(what) && trouble.line == 1, "{trouble:?}");
    }
}

/// A stream that breaks off.
struct Breaks<'b>(&'b [u8]);

impl Read for Breaks<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.0.is_empty() {
            return Err(std::io::Error::other("the stick was pulled"));
        }
        self.0.read(buffer)
    }
}

#[test]
fn a_stream_that_breaks_off_keeps_whole_lines_only() {
    let mut rows = 0;
    let text = b"t,a,b\n0,1,2\n1,1,2\n2,1,";
    let trouble = rows::read(Breaks(text), &layout(b',', false), |_| rows += 1).unwrap_err();
    assert_eq!(rows, 2);
    assert!(trouble.what.contains("the stick was pulled"), "{}", trouble.what);
}

/// One line of a made-up file, and what it holds: `None` for a row that can't be used.
fn made_up(row: u64, random: u64) -> (String, Option<(f64, [f64; 2])>) {
    let a: f64 = format!("{:.3}", (random % 100_000) as f64 / 1000.0 - 20.0).parse().unwrap();
    let b = (random / 7 % 1000) as f64;
    let time = row as f64 / 8.0;
    match random % 29 {
        0 => (format!("{time},{a},{b}\r\n"), Some((time, [a, b]))),
        1 => (format!("{time}, {a:e} ,+{b}\n"), Some((time, [a, b]))),
        2 => (format!("\"{time}\",{a},\"{b}\"\n"), Some((time, [a, b]))),
        3 => (format!("{time},,{b:.20}\n"), Some((time, [f64::NAN, b]))),
        4 => (format!("{time},{a}\n"), None),
        5 => (format!("never,{a},{b}\n"), None),
        6 => (format!("{time},{a},open\n"), Some((time, [a, f64::NAN]))),
        7 => (format!("{time:.6},{a:.3},{b:.1}\n"), Some((time, [a, b]))),
        _ => (format!("{time},{a:.3},{b}\n"), Some((time, [a, b]))),
    }
}

#[test]
fn rows_read_by_several_threads_are_those_of_a_plain_reading_in_their_order() {
    let mut text = String::from("t,a,b\n");
    let (mut expected, mut damaged, mut random) = (Vec::new(), 0, 3_u64);
    for row in 0..120_000 {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let (line, held) = made_up(row, random >> 20);
        text.push_str(&line);
        damaged += u64::from(held.is_none() || line.contains("open"));
        expected.extend(held.map(|(time, values)| (row + 2, time, values)));
    }
    assert!(text.len() > 8 * 4 * LONGEST_LINE, "several blocks");
    let mut at = 0;
    let tally = rows::read(text.as_bytes(), &layout(b',', false), |row| {
        let (line, time, values) = expected[at];
        assert_eq!((row.line, row.time), (line, time));
        for (one, two) in values.iter().zip(row.values) {
            assert!(one == two || one.is_nan() && two.is_nan(), "line {line}: {one} {two}");
        }
        at += 1;
    });
    let tally = tally.unwrap();
    assert_eq!((at, tally.rows), (expected.len(), expected.len() as u64));
    assert_eq!(tally.damaged.count, damaged);
    assert_eq!((tally.backwards.count, tally.cut_short), (0, None));
}

proptest! {
    #[test]
    fn any_bytes_are_read_without_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes);
        let _ = read(&[b"t,a,b\n".as_slice(), &bytes].concat());
        let _ = number(&bytes, true);
    }

    #[test]
    fn a_number_has_the_bits_of_the_standard_reading(text in "[+-]?[0-9]{0,20}(\\.[0-9]{0,22})?([eE][+-]?[0-9]{1,3})?") {
        let standard: Option<f64> = text.parse().ok().filter(|value: &f64| value.is_finite());
        prop_assert_eq!(number(text.as_bytes(), false).map(f64::to_bits), standard.map(f64::to_bits));
        let comma = text.replace('.', ",");
        if comma.len() <= 64 {
            prop_assert_eq!(number(comma.as_bytes(), true).map(f64::to_bits), standard.map(f64::to_bits));
        }
    }

    #[test]
    fn a_number_in_a_row_has_the_bits_of_the_standard_reading(cells in proptest::collection::vec("-?[0-9]{1,9}(\\.[0-9]{0,9})?", 2)) {
        let (seen, _) = read(format!("t,a,b\n0,{},{}\n", cells[0], cells[1]).as_bytes());
        for (cell, value) in cells.iter().zip(&seen[0].1) {
            let standard: f64 = cell.parse().unwrap();
            prop_assert_eq!(standard.to_bits(), value.to_bits());
        }
    }

    #[test]
    fn any_double_comes_back(bits in any::<u64>()) {
        let value = f64::from_bits(bits);
        prop_assume!(value.is_finite());
        for text in [format!("{value:e}"), format!("{value:?}")] {
            prop_assert_eq!(number(text.as_bytes(), false).map(f64::to_bits), Some(bits));
        }
    }
}
