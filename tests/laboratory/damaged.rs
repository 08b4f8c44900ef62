//! Files that came damaged: said clearly, with the place, in bounded time and memory.

use loopleaf::record::laboratory::{file, guess};
use loopleaf::source::Sources;
use rust_xlsxwriter::{Format, Formula, Workbook};

use super::bench::{bench, with_layout};

const LINES: &str = "  results file {\n    column \"Id\" is label\n    column \"4\" is count at 4 µm(c)\n    column \"6\" is count at 6 µm(c)\n  }";
const GOOD: &str = "Id,4,6\nR08-01-2,66,19\nR08-02-7,54,16\n";

fn said(bytes: &[u8]) -> (usize, String) {
    let (plan, mut sources) = with_layout(LINES);
    let read = file("lab.csv", bytes, plan.laboratories.values(), &mut sources);
    // A guess of the same bytes must not fall over either.
    let _guessed = guess("lab.csv", bytes, None, &mut Sources::new());
    let said: Vec<String> = read
        .diagnostics
        .iter()
        .map(|f| format!("{} {} {}", f.code, f.message, f.help.as_deref().unwrap_or("")))
        .collect();
    (read.value.map_or(0, |file| file.results.len()), said.join("\n"))
}

#[test]
fn each_damage_is_named_with_its_place() {
    let cases: Vec<(&str, Vec<u8>, usize, &str)> = vec![
        ("whole", GOOD.as_bytes().to_vec(), 2, ""),
        ("byte-order mark", [b"\xef\xbb\xbf".as_slice(), GOOD.as_bytes()].concat(), 2, ""),
        ("mixed line ends", GOOD.replacen('\n', "\r\n", 2).into_bytes(), 2, ""),
        ("no last line end", GOOD.trim_end().as_bytes().to_vec(), 2, ""),
        ("cut off in a quotation", b"Id,4,6\nR08-01-2,66,19\n\"R08-02".to_vec(), 0, "line 3"),
        ("NUL", b"Id,4,6\nR08-01-2,6\x006,19\n".to_vec(), 0, "line 2 holds a NUL byte"),
        ("Latin-1", b"Id,4,6\nR08-01-2,66,19\n\xb5,1,2\n".to_vec(), 0, "line 3 holds a character in another encoding"),
        ("UTF-16", b"\xff\xfeI\0d\0".to_vec(), 0, "UTF-16"),
        ("old workbook", b"\xd0\xcf\x11\xe0 and more".to_vec(), 0, "old binary format"),
        ("cut workbook", b"PK\x03\x04 and nothing else".to_vec(), 0, "damaged workbook"),
        ("empty", Vec::new(), 0, "no row with the headings"),
        ("split by a comma", b"Id,4,6\nR08-01-2,66,19,5\n".to_vec(), 1, "line 2 of `lab.csv` has 4 cells"),
        ("no label", b"Id,4,6\n,66,19\n".to_vec(), 0, "line 2 of `lab.csv` has counts and no label"),
        ("negative", b"Id,4,6\nR08-01-2,-66,19\n".to_vec(), 1, "a negative count"),
        ("words", b"Id,4,6\nR08-01-2,many,19\n".to_vec(), 1, "`many`: no number"),
    ];
    for (name, bytes, results, wanted) in cases {
        let (read, said) = said(&bytes);
        assert_eq!(read, results, "{name}: {said}");
        assert!(said.contains(wanted) && (wanted.is_empty() == said.is_empty()), "{name}: {said}");
    }
}

#[test]
fn an_endless_line_ends() {
    for filler in [b'a', b',', b'"'] {
        let (read, said) = said(&vec![filler; 4_000_000]);
        assert_eq!(read, 0);
        assert!(!said.is_empty() && said.len() < 8_000, "{}", said.len());
    }
    let mut long = GOOD.as_bytes().to_vec();
    long.extend(vec![b'9'; 1_000_000]);
    assert!(said(&long).1.contains("line 4"), "{}", said(&long).1);
}

#[test]
fn a_workbook_is_read_and_its_formulas_and_merged_cells_are_seen() {
    let mut workbook = Workbook::new();
    let _cover = workbook.add_worksheet().write_string(0, 0, "A cover (invented)").unwrap();
    let sheet = workbook.add_worksheet();
    for (place, heading) in ["Id", "4", "6"].into_iter().enumerate() {
        sheet.write_string(2, place as u16, heading).unwrap();
    }
    sheet.merge_range(3, 0, 4, 0, "R08-01-2", &Format::new()).unwrap();
    for row in 3..5 {
        sheet.write_number(row, 1, 66.0).unwrap();
        sheet.write_formula(row, 2, Formula::new("=10+9").set_result("19")).unwrap();
    }
    let bytes = workbook.save_to_buffer().unwrap();
    let (read, said) = said(&bytes);
    assert_eq!(read, 1, "{said}");
    assert!(said.contains("A130") && said.contains("cell C4"), "{said}");
    assert!(said.contains("row 5 of `lab.csv` has counts and no label") && said.contains("merged"), "{said}");
}

#[test]
fn a_zip_bomb_is_refused_by_its_own_word() {
    let mut workbook = Workbook::new();
    workbook.add_worksheet().write_string(0, 0, "Id").unwrap();
    let mut bytes = workbook.save_to_buffer().unwrap();
    // Its directory says that the first part unpacks to four gigabytes.
    let at = bytes.windows(4).position(|window| window == b"PK\x01\x02").unwrap();
    bytes[at + 24..at + 28].copy_from_slice(&u32::MAX.to_le_bytes());
    let (read, said) = said(&bytes);
    assert!(read == 0 && said.contains("would unpack to"), "{said}");
}

/// Cut anywhere, an honest file is read in part or refused, and never taken for another bottle's.
#[test]
fn a_file_cut_anywhere_gives_no_other_bottle() {
    let mut bench = bench("ferry-generator-sets", 2);
    let whole = bench.csv.clone();
    let labels: Vec<String> = bench.read(&whole).0.unwrap().results.iter().map(|r| r.label().to_owned()).collect();
    for cut in (0..whole.len()).step_by(97).filter(|cut| whole.is_char_boundary(*cut)) {
        let (read, _) = bench.read(&whole[..cut]);
        let Some(read) = read else { continue };
        for (place, result) in read.results.iter().enumerate() {
            assert!(labels[place].starts_with(result.label()), "{} at {cut}", result.label());
        }
    }
}
