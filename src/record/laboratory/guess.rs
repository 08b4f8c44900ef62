//! How a file seems to be laid out: lines to be compared, corrected and pasted, never followed by themselves.

use std::fmt::Write as _;

use super::file::plain;
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::plan::LabTest;
use crate::record::read::{Foreign, ForeignRow, foreign};
use crate::record::{Cell, DecimalMark, Value};
use crate::source::{SourceId, Sources, Span};

/// A layout that a file seems to have.
#[derive(Debug, Clone)]
pub struct Guess {
    /// `results file { … }`, ready to paste into the laboratory; remarks say what each line was concluded from.
    pub lines: String,
    pub source: SourceId,
    /// The row taken for the headings.
    pub heading: Span,
}

/// What a heading seems to be.
enum Seems {
    Count { size: String, interval: bool, at_least: bool },
    Role(&'static str),
    Nothing,
}

/// Words of headings and what they lead to, the first that fits.
const ROLES: [(&str, &[&str]); 12] = [
    ("label", &["sampleid", "samplelabel", "label", "bottle", "sample", "yourref", "clientref", "probe", "reference"]),
    ("code", &["iso4406", "cleanlinesscode", "isocode", "cleanliness", "code"]),
    ("gravimetric", &["gravimetric", "mg/l", "massconc", "dirtmass"]),
    ("counted volume", &["countedvolume", "volumecounted", "vol.counted", "countedml", "counted(ml)", "counted,ml"]),
    ("dilution", &["dilution", "df", "diluted"]),
    (
        "counted on",
        &["countedon", "datecounted", "analysed", "analyzed", "testdate", "dateoftest", "measuredon", "counted"],
    ),
    ("received on", &["received", "arrival", "datein"]),
    ("seal", &["seal"]),
    ("report", &["report", "certificate"]),
    ("method", &["method", "procedure"]),
    ("calibration", &["calibration", "calibrated"]),
    ("remarks", &["remark", "comment", "note", "observation"]),
];

/// Guesses the layout of a file. `test` lends the sizes' calibration where headings leave it out.
pub fn guess(name: &str, bytes: &[u8], test: Option<&LabTest>, sources: &mut Sources) -> Checked<Option<Guess>> {
    let workbook = bytes.starts_with(b"PK\x03\x04");
    let mut best: Option<(usize, usize, u8, Foreign, Sources, Vec<Diagnostic>)> = None;
    let mut failed = None;
    let separators: &[u8] = if workbook { b"," } else { b";\t," };
    for separator in separators {
        let mut own = sources.clone();
        let accept = |_: &str, rows: &[Vec<String>]| {
            rows.iter().any(|row| row.iter().filter(|cell| is_known(cell)).count() >= 2)
        };
        let Checked { value, diagnostics } = foreign(name, bytes, *separator, &accept, &mut own);
        match value {
            Some(table) => {
                if let Some((at, known)) = heading(&table)
                    && best.as_ref().is_none_or(|(others, ..)| known > *others)
                {
                    best = Some((known, at, *separator, table, own, diagnostics));
                }
            }
            None => failed = Some((own, diagnostics)),
        }
    }
    let Some((_, at, separator, table, own, diagnostics)) = best else {
        if let Some((own, diagnostics)) = failed {
            *sources = own;
            return Checked::new(None, diagnostics);
        }
        let source = sources.add(name, "");
        let finding = Diagnostic::new(
            Code::CannotRead,
            format!("no row of `{name}` looks like the headings of a laboratory's results"),
        )
        .at(source, Span::default(), "the file")
        .help("A table with a heading for the sample and one for each size is looked for. A report that is made for reading has to be typed over, or asked for as a table.");
        return Checked::new(None, vec![finding]);
    };
    *sources = own;
    let Some(row) = table.rows.get(at) else { return Checked::new(None, diagnostics) };
    let lines = lines(&table, at, row, separator, workbook, test);
    let heading = row.span;
    Checked::new(Some(Guess { lines, source: table.source, heading }), diagnostics)
}

fn is_known(cell: &str) -> bool {
    !matches!(seems(cell), Seems::Nothing)
}

/// The row with most known headings, and how many.
fn heading(table: &Foreign) -> Option<(usize, usize)> {
    let known = |row: &ForeignRow| row.cells.iter().filter(|cell| is_known(&cell.text)).count();
    let rows = table.rows.iter().take(60).enumerate().map(|(at, row)| (at, known(row)));
    rows.filter(|(_, known)| *known >= 2).max_by_key(|(at, known)| (*known, usize::MAX - at))
}

fn seems(heading: &str) -> Seems {
    let text = plain(heading);
    if text.is_empty() || text.len() > 60 {
        return Seems::Nothing;
    }
    // A role's word beside a number is a role: `ISO 4406`, `Counted (mL)`.
    if let Some((role, _)) = ROLES.iter().find(|(_, words)| {
        words
            .iter()
            .any(|word| text.starts_with(word) || ((word.len() > 5 || word.contains('/')) && text.contains(word)))
    }) {
        return Seems::Role(role);
    }
    size(&text).unwrap_or(Seems::Nothing)
}

/// A size such as `≥4µm(c)`, `>14`, `4-6um`, `n(21µm)`.
fn size(text: &str) -> Option<Seems> {
    let first = text.find(|c: char| c.is_ascii_digit())?;
    let lead = text.get(..first)?;
    let rest = text.get(first..)?;
    let digits = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(rest.len());
    let number = rest.get(..digits)?.trim_end_matches('.');
    let value: f64 = number.parse().ok()?;
    let tail = rest.get(digits..)?;
    let micro = tail.contains("µm") || tail.contains("um") || tail.contains("micron");
    let signed = lead.ends_with(['>', '≥', '=']);
    if !(micro || signed) || !(1.0..=500.0).contains(&value) || lead.len() > 20 {
        return None;
    }
    let next =
        tail.trim_start_matches("µm").trim_start_matches("um").trim_start_matches("(c)").trim_start_matches("(b)");
    let next =
        next.strip_prefix(['-', '–', '…']).or_else(|| next.strip_prefix("to")).or_else(|| next.strip_prefix(".."));
    let interval = next.is_some_and(|next| next.starts_with(|c: char| c.is_ascii_digit()));
    let basis = if tail.contains("(b)") {
        "µm(b)"
    } else if tail.contains("acftd") {
        "µm(ACFTD)"
    } else if tail.contains("(c)") {
        "µm(c)"
    } else {
        "?"
    };
    Some(Seems::Count { size: format!("{number} {basis}"), interval, at_least: signed })
}

fn lines(
    table: &Foreign,
    at: usize,
    heading: &ForeignRow,
    separator: u8,
    workbook: bool,
    test: Option<&LabTest>,
) -> String {
    let body: Vec<&ForeignRow> = table.rows.iter().skip(at + 1).take(500).collect();
    let places: Vec<(usize, Seems)> = heading.cells.iter().map(|cell| seems(&cell.text)).enumerate().collect();
    let counts: Vec<usize> =
        places.iter().filter(|(_, seems)| matches!(seems, Seems::Count { .. })).map(|(place, _)| *place).collect();
    let mut out = String::from("  results file {\n");
    match separator {
        b';' => out.push_str("    cells separated by semicolon\n"),
        b'\t' => out.push_str("    cells separated by tab\n"),
        _ => {}
    }
    if workbook && let Some(sheet) = table.sheet.as_deref().filter(|sheet| *sheet != "Sheet1") {
        let _ = writeln!(out, "    sheet \"{}\"", sheet.replace('"', "'"));
    }
    let units = body.first().filter(|row| counts.iter().all(|place| !is_number(row.cells.get(*place)))).copied();
    let data = || body.iter().skip(usize::from(units.is_some()));
    if units.is_some() {
        out.push_str("    row of units below the headings\n");
    }
    decimals(&mut out, data().copied(), &counts, separator);
    dates(&mut out, data().copied(), &places);
    mode(&mut out, table, at, units, &places, data().copied(), &counts);
    let mut taken: Vec<&str> = Vec::new();
    for (place, seems) in &places {
        let Some(cell) = heading.cells.get(*place) else { continue };
        let text = cell.text.trim().replace('"', "'");
        match seems {
            Seems::Count { size, .. } => {
                let basis = test.and_then(|test| test.sizes.first()).map_or("µm(c)", |size| size.unit.text.as_str());
                let guessed = size.contains('?');
                let size = size.replace('?', basis);
                let why = if guessed { "  # the heading does not say which calibration: ask" } else { "" };
                let _ = writeln!(out, "    column \"{text}\" is count at {size}{why}");
            }
            Seems::Role(role) if !taken.contains(role) => {
                taken.push(role);
                let _ = writeln!(out, "    column \"{text}\" is {role}");
            }
            Seems::Role(role) => {
                let _ = writeln!(out, "    # column \"{text}\" may be the {role} too: choose one");
            }
            Seems::Nothing if !text.is_empty() => {
                let _ = writeln!(out, "    # column \"{text}\" is left out: nothing is known of it");
            }
            Seems::Nothing => {}
        }
    }
    if !taken.contains(&"label") {
        out.push_str("    # no column looks like the bottles' labels: write `column \"…\" is label`\n");
    }
    out.push_str("  }");
    out
}

fn is_number(cell: Option<&Cell>) -> bool {
    cell.is_some_and(|cell| {
        [DecimalMark::Point, DecimalMark::Comma].into_iter().any(|mark| {
            matches!(
                Value::parse(&cell.text, mark),
                Value::Number(_) | Value::Censored(..) | Value::TooNumerous | Value::NotDone
            )
        })
    })
}

/// Says a decimal comma only where numbers can't be read otherwise.
fn decimals<'r>(out: &mut String, rows: impl Iterator<Item = &'r ForeignRow>, counts: &[usize], separator: u8) {
    let (mut comma, mut thousands) = (None, None);
    for row in rows {
        for place in counts {
            let Some(text) = row.cells.get(*place).map(|cell| cell.text.trim()) else { continue };
            let Some((whole, rest)) = text.split_once(',') else { continue };
            if rest.len() == 3 && !whole.is_empty() && whole != "0" {
                thousands.get_or_insert(text)
            } else {
                comma.get_or_insert(text)
            };
        }
    }
    match (comma, thousands) {
        (Some(seen), _) => {
            let _ = writeln!(out, "    decimal comma  # from `{seen}`");
        }
        (None, Some(seen)) if separator != b',' => {
            let _ = writeln!(
                out,
                "    # `{seen}` is either a decimal comma or thousands: ask, and write `decimal comma` if it is the first"
            );
        }
        _ => {}
    }
}

/// Says a pattern of dates where they are not ISO dates.
fn dates<'r>(out: &mut String, rows: impl Iterator<Item = &'r ForeignRow>, places: &[(usize, Seems)]) {
    let dated: Vec<usize> = places
        .iter()
        .filter(|(_, seems)| matches!(seems, Seems::Role("counted on" | "received on")))
        .map(|(place, _)| *place)
        .collect();
    let texts: Vec<&str> = rows
        .flat_map(|row| dated.iter().filter_map(|place| row.cells.get(*place)))
        .map(|cell| cell.text.trim())
        .collect();
    let parts = |text: &str| -> Option<(char, Vec<u32>)> {
        let sign = text.chars().find(|c| matches!(c, '.' | '/'))?;
        let numbers: Vec<u32> =
            text.split([' ', 'T']).next()?.split(sign).filter_map(|part| part.parse().ok()).collect();
        (numbers.len() == 3 && numbers.last().is_some_and(|year| *year > 1000)).then_some((sign, numbers))
    };
    let found: Vec<(char, Vec<u32>)> = texts.iter().filter_map(|text| parts(text)).collect();
    let Some((sign, _)) = found.first() else { return };
    let beyond = |place: usize| found.iter().any(|(_, numbers)| numbers.get(place).is_some_and(|number| *number > 12));
    let (pattern, why) = match (beyond(0), beyond(1)) {
        (false, true) => (format!("MM{sign}DD{sign}YYYY"), ""),
        (true, _) => (format!("DD{sign}MM{sign}YYYY"), ""),
        (false, false) => (format!("DD{sign}MM{sign}YYYY"), "  # or the month first: no date in the file tells"),
    };
    let _ = writeln!(out, "    dates \"{pattern}\"{why}");
}

/// Cumulative or not, for which volume, diluted or not; with what it was concluded from.
fn mode<'r>(
    out: &mut String,
    table: &Foreign,
    at: usize,
    units: Option<&ForeignRow>,
    places: &[(usize, Seems)],
    data: impl Iterator<Item = &'r ForeignRow>,
    counts: &[usize],
) {
    let interval = places.iter().any(|(_, seems)| matches!(seems, Seems::Count { interval: true, .. }));
    let at_least = places.iter().any(|(_, seems)| matches!(seems, Seems::Count { at_least: true, .. }));
    let mut said = String::new();
    for row in table.rows.iter().take(at + 1).chain(units) {
        for cell in &row.cells {
            said.push_str(&plain(&cell.text));
            said.push('\n');
        }
    }
    let rises = data.filter(|row| row_rises(row, counts)).count();
    let (mode, why_mode) = if interval || said.contains("differential") || said.contains("interval") {
        ("differential", "the headings name sizes from … to …")
    } else if at_least || said.contains("cumulative") {
        ("cumulative", "the headings say at least")
    } else if rises > 0 {
        ("differential", "counts rise with size in some rows: ask")
    } else {
        ("cumulative", "nothing in the file says so: ask")
    };
    let hundred = ["/100ml", "per100ml", "100ml"].iter().any(|text| said.contains(text));
    let per_ml = ["/ml", "perml", "1/ml", "particles/ml"].iter().any(|text| said.contains(text));
    let (basis, why_basis) = match (hundred, per_ml) {
        (true, _) => ("per 100 mL", "written in the file"),
        (false, true) => ("per mL", "written in the file"),
        (false, false) => ("per mL", "nothing in the file says so: ask"),
    };
    let (dilution, why_dilution) = if ["notcorrected", "asdiluted", "notapplied"].iter().any(|text| said.contains(text))
    {
        ("not applied", "written in the file")
    } else if said.contains("corrected") || said.contains("applied") {
        ("applied", "written in the file")
    } else {
        ("applied", "nothing in the file says so: ask")
    };
    let _ = writeln!(out, "    # {mode}: {why_mode}; {basis}: {why_basis}; dilution {dilution}: {why_dilution}");
    let _ = writeln!(out, "    counts {mode}, \"{basis}\", dilution {dilution}");
}

fn row_rises(row: &ForeignRow, counts: &[usize]) -> bool {
    let numbers: Vec<f64> = counts
        .iter()
        .filter_map(|place| Value::parse(&row.cells.get(*place)?.text, DecimalMark::Point).number())
        .map(|number| number.value)
        .collect();
    numbers.windows(2).any(|pair| matches!(pair, [one, other] if other > one))
}
