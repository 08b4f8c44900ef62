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
    fn any_double_comes_back(bits in any::<u64>()) {
        let value = f64::from_bits(bits);
        prop_assume!(value.is_finite());
        for text in [format!("{value:e}"), format!("{value:?}")] {
            prop_assert_eq!(number(text.as_bytes(), false).map(f64::to_bits), Some(bits));
        }
    }
}
