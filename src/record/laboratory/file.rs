//! The table of a laboratory to results, by the layout of the plan.

use indexmap::IndexMap;

use super::{Guess, Heading, LabCount, LabFile, LabResult, guess};
use crate::diagnostic::{Checked, Code, Diagnostic, Severity};
use crate::plan::{Counts, Holds, LabTest, Laboratory, ResultColumn, ResultsFile};
use crate::quantity::Unit;
use crate::record::read::{Foreign, ForeignRow, foreign};
use crate::record::{Cell, DecimalMark, Value};
use crate::source::{Sources, Span};

/// Headings are looked for in the first rows.
const HEADINGS_WITHIN: usize = 60;

/// The laboratories whose layout the plan says.
pub fn layouts<'p>(
    laboratories: impl Iterator<Item = &'p Laboratory>,
) -> impl Iterator<Item = (&'p Laboratory, &'p ResultsFile)> {
    laboratories.filter_map(|laboratory| Some((laboratory, laboratory.results.as_ref()?)))
}

/// Reads one file by the layout of the laboratory that it fits best. `None` where no layout is written or none fits; the
/// findings then say why, with the layout that the file seems to have.
pub fn file<'p>(
    name: &str,
    bytes: &[u8],
    laboratories: impl Iterator<Item = &'p Laboratory> + Clone,
    sources: &mut Sources,
) -> Checked<Option<LabFile>> {
    let mut best: Option<(usize, &Laboratory, &ResultsFile, Foreign, Vec<Diagnostic>)> = None;
    for (laboratory, layout) in layouts(laboratories.clone()) {
        let accept = |sheet: &str, rows: &[Vec<String>]| match &layout.sheet {
            Some(wanted) => wanted.eq_ignore_ascii_case(sheet),
            None => rows.iter().any(|row| row.iter().any(|cell| holds_label(layout, cell))),
        };
        let separator = u8::try_from(layout.separator).unwrap_or(b',');
        let Checked { value, diagnostics } = foreign(name, bytes, separator, &accept, sources);
        let Some(table) = value else {
            if layouts(laboratories.clone()).count() == 1 {
                return Checked::new(None, diagnostics);
            }
            continue;
        };
        let fit = heading(&table, layout).map_or(0, |(_, fit)| fit);
        if best.as_ref().is_none_or(|(others, ..)| fit > *others) {
            best = Some((fit, laboratory, layout, table, diagnostics));
        }
    }
    let test = laboratories.clone().flat_map(|lab| lab.tests.values()).find(|test| !test.sizes.is_empty());
    let Some((_, laboratory, layout, table, mut found)) = best else {
        return no_layout(name, bytes, laboratories.clone().next(), test, sources);
    };
    let Some((at, _)) = heading(&table, layout) else {
        let mut finding = Diagnostic::new(
            Code::ColumnNotInFile,
            format!("`{name}` has no row with the headings that `{}` was said to write", laboratory.name),
        )
        .severity(Severity::Critical)
        .at(table.source, table.rows.first().map_or(Span::default(), |row| row.span), "the first row")
        .also(layout.origin.source, layout.origin.span, "the layout");
        if let Checked { value: Some(guessed), .. } = guess(name, bytes, test, &mut Sources::new()) {
            finding = finding.help(format!(
                "It seems to be laid out so; compare it line by line before you paste it:\n{}",
                guessed.lines
            ));
        }
        found.push(finding);
        return Checked::new(None, found);
    };
    let own = laboratory.tests.values().find(|test| !test.sizes.is_empty());
    let file = results(name, table, at, (laboratory, layout, own), &mut found);
    Checked::new(Some(file), found)
}

/// What to say of a file for which no layout is written.
fn no_layout(
    name: &str,
    bytes: &[u8],
    laboratory: Option<&Laboratory>,
    test: Option<&LabTest>,
    sources: &mut Sources,
) -> Checked<Option<LabFile>> {
    let Checked { value, diagnostics: mut found } = guess(name, bytes, test, sources);
    let Some(Guess { lines, source, heading, .. }) = value else {
        return Checked::new(None, found);
    };
    let whose = laboratory.map_or("its laboratory".to_owned(), |laboratory| format!("`{}`", laboratory.name));
    let mut finding = Diagnostic::new(
        Code::LayoutNotWritten,
        format!("nothing in the plan says how {whose} lays out `{name}`, so nothing of it was read"),
    )
    .at(source, heading, "this seems to be the heading")
    .help(format!("It seems to be laid out so. Compare every line with the file and the laboratory's report, and paste it into the laboratory:\n{lines}"));
    if let Some(laboratory) = laboratory {
        finding = finding.also(laboratory.origin.source, laboratory.origin.span, "here");
    }
    found.push(finding);
    Checked::new(None, found)
}

/// Headings as people compare them: capitals, blanks and the two signs for micro do not matter.
pub(super) fn plain(heading: &str) -> String {
    heading
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| match c {
            '\u{3bc}' => 'µ',
            other => other,
        })
        .flat_map(char::to_lowercase)
        .collect()
}

fn holds_label(layout: &ResultsFile, cell: &str) -> bool {
    layout.columns.iter().any(|column| column.holds == Holds::Label && plain(&column.heading) == plain(cell))
}

/// The row of the headings, and how many of the layout's it has.
fn heading(table: &Foreign, layout: &ResultsFile) -> Option<(usize, usize)> {
    let fit = |row: &ForeignRow| {
        let has = |heading: &str| row.cells.iter().any(|cell| plain(&cell.text) == plain(heading));
        let label = layout.columns.iter().any(|column| column.holds == Holds::Label && has(&column.heading));
        if label { layout.columns.iter().filter(|column| has(&column.heading)).count() } else { 0 }
    };
    let rows = table.rows.iter().take(HEADINGS_WITHIN).enumerate();
    rows.map(|(at, row)| (at, fit(row))).filter(|(_, fit)| *fit > 0).max_by_key(|(at, fit)| (*fit, usize::MAX - at))
}

fn results(
    name: &str,
    table: Foreign,
    at: usize,
    (laboratory, layout, test): (&Laboratory, &ResultsFile, Option<&LabTest>),
    found: &mut Vec<Diagnostic>,
) -> LabFile {
    let mark = if layout.decimal_comma { DecimalMark::Comma } else { DecimalMark::Point };
    let counts = layout.counts.clone().or_else(|| test.and_then(|test| test.counts.clone()));
    let counts =
        counts.unwrap_or_else(|| Counts { cumulative: true, basis: "per mL".to_owned(), dilution_applied: None });
    let mut file = LabFile {
        name: name.to_owned(),
        source: table.source,
        sheet: table.sheet,
        laboratory: laboratory.name.clone(),
        mark,
        counts,
        dates: layout.dates.clone(),
        headings: Vec::new(),
        results: Vec::new(),
    };
    let mut rows = table.rows.into_iter().skip(at);
    let Some(heading) = rows.next() else { return file };
    let units = if layout.unit_row { rows.next() } else { None };
    // Place of the column in the file, for each column of the layout.
    let mut places: Vec<(usize, &Holds, Option<&str>)> = Vec::new();
    let mut contradicted: IndexMap<(Code, String), Vec<(&ResultColumn, Span)>> = IndexMap::new();
    for column in &layout.columns {
        let same = |cell: &Cell| plain(&cell.text) == plain(&column.heading);
        let Some(place) = heading.cells.iter().position(same) else {
            let weight = if matches!(column.holds, Holds::CountAt(_)) { Severity::Major } else { Severity::Minor };
            found.push(
                Diagnostic::new(
                    Code::ColumnNotInFile,
                    format!("`{name}` has no column `{}`, which should hold the {}", column.heading, column.holds.words()),
                )
                .severity(weight)
                .at(file.source, heading.span, "its headings")
                .also(column.origin.source, column.origin.span, "the layout")
                .help("If the laboratory has changed its file, change this line of the layout; if a column is lost, ask for the file again."),
            );
            continue;
        };
        if heading.cells.iter().skip(place + 1).any(same) {
            found.push(
                Diagnostic::new(
                    Code::ColumnNotInFile,
                    format!("the heading `{}` stands twice in `{name}`; the first is read", column.heading),
                )
                .at(file.source, heading.span, "its headings")
                .also(column.origin.source, column.origin.span, "the layout")
                .help("Ask the laboratory which of the two columns is meant."),
            );
        }
        let unit = units.as_ref().and_then(|row| row.cells.get(place)).cloned();
        let factor = match factor(column, unit.as_ref(), &file.counts) {
            Ok(factor) => factor,
            Err(wrong) => {
                let span = unit.as_ref().map_or(heading.span, |unit| unit.span);
                contradicted.entry(wrong).or_default().push((column, span));
                continue;
            }
        };
        if let Some(cell) = heading.cells.get(place) {
            file.headings.push(Heading { cell: cell.clone(), holds: column.holds.clone(), unit, factor });
        }
        places.push((place, &column.holds, column.unit.as_deref()));
    }
    for ((code, words), columns) in contradicted {
        found.extend(contradiction(&file, name, code, &words, &columns));
    }
    let width = heading.cells.len();
    for row in rows {
        let same_heading =
            row.cells.iter().map(|cell| plain(&cell.text)).eq(heading.cells.iter().map(|cell| plain(&cell.text)));
        if same_heading {
            continue;
        }
        if file.sheet.is_none()
            && row.cells.len() > width
            && row.cells.iter().skip(width).any(|cell| !cell.text.trim().is_empty())
        {
            found.push(
                Diagnostic::new(
                    Code::ShiftedRow,
                    format!("line {} of `{name}` has {} cells, the heading has {width}", row.line, row.cells.len()),
                )
                .at(file.source, row.span, "this row")
                .also(file.source, heading.span, "the heading")
                .help("A decimal comma or a separator inside a remark splits a cell. Ask the laboratory for the file again, or say in the layout how its cells are separated."),
            );
        }
        let labelled = places.iter().any(|(place, holds, _)| {
            **holds == Holds::Label && row.cells.get(*place).is_some_and(|cell| !cell.text.trim().is_empty())
        });
        let cut =
            places.iter().any(|(place, holds, _)| matches!(holds, Holds::CountAt(_)) && *place >= row.cells.len());
        if file.sheet.is_none() && labelled && cut {
            found.push(
                Diagnostic::new(
                    Code::ShiftedRow,
                    format!(
                        "line {} of `{name}` breaks off after {} of {width} cells: counts are missing at its end",
                        row.line,
                        row.cells.len()
                    ),
                )
                .at(file.source, row.span, "this row")
                .also(file.source, heading.span, "the heading")
                .help("The file was cut, by a copy or a mail program. Ask the laboratory for it again."),
            );
        }
        one_row(&mut file, row, &places, found);
    }
    file
}

/// Columns whose units are not those of the layout, all for one reason.
fn contradiction(
    file: &LabFile,
    name: &str,
    code: Code,
    words: &str,
    columns: &[(&ResultColumn, Span)],
) -> Option<Diagnostic> {
    let (first, span) = columns.first()?;
    let headings: Vec<String> = columns.iter().map(|(column, _)| format!("`{}`", column.heading)).collect();
    let which = if columns.len() == 1 { "column" } else { "columns" };
    let message = format!("{which} {} of `{name}`: {words}; nothing is read of it", headings.join(", "));
    Some(
        Diagnostic::new(code, message)
            .severity(Severity::Critical)
            .at(file.source, *span, "the file's unit")
            .also(first.origin.source, first.origin.span, "the layout")
            .help("Ask the laboratory which of the two is meant, and write it in the layout."),
    )
}

/// What a number of a column is multiplied by to stand in its usual unit; what is wrong with its unit.
fn factor(column: &ResultColumn, below: Option<&Cell>, counts: &Counts) -> Result<f64, (Code, String)> {
    let below = below.map(|cell| cell.text.trim()).filter(|text| !text.is_empty());
    let usual = match column.holds {
        Holds::CountAt(_) | Holds::Count => {
            return match below.and_then(|text| Some((text, volume_of(text)?))) {
                Some((text, volume)) if volume != volume_of(&counts.basis).unwrap_or(volume) => Err((
                    Code::OtherVolume,
                    format!("its unit is `{text}`, and the layout says counts {}", counts.basis),
                )),
                _ => Ok(1.0),
            };
        }
        Holds::Gravimetric => "mg/L",
        Holds::CountedVolume => "mL",
        _ => return Ok(1.0),
    };
    let unit = |text: &str| Unit::parse(text).or_else(|wrong| Unit::parse(&text.replace('l', "L")).map_err(|_| wrong));
    let said = column.unit.as_deref().unwrap_or(usual);
    let (Ok(said_unit), Ok(usual_unit)) = (unit(said), unit(usual)) else {
        return Err((Code::LabValueUnclear, format!("the layout's unit `{said}` is none")));
    };
    if said_unit.dimension != usual_unit.dimension {
        return Err((
            Code::LabValueUnclear,
            format!("the layout's unit `{said}` is none for it; `{usual}` would be one"),
        ));
    }
    if let Some(text) = below
        && let Ok(other) = unit(text)
        && (other.dimension != said_unit.dimension || (other.to_si(1.0) / said_unit.to_si(1.0) - 1.0).abs() > 1e-9)
    {
        return Err((Code::LabValueUnclear, format!("its unit is `{text}`, and it is read in {said}")));
    }
    Ok(said_unit.to_si(1.0) / usual_unit.to_si(1.0))
}

/// mL to which counts belong, from words such as `1/mL`, `per 100 mL` or `#/L`; `None` where they say no volume.
fn volume_of(text: &str) -> Option<u32> {
    let plain = plain(text);
    let behind = plain.rsplit_once('/').or_else(|| plain.rsplit_once("per")).map(|(_, behind)| behind)?;
    let digits = behind.chars().take_while(char::is_ascii_digit).count();
    let (many, unit) = behind.split_at_checked(digits)?;
    let each = match unit {
        "ml" | "cm³" | "cm3" | "cc" => 1,
        "l" | "dm³" | "dm3" => 1000,
        _ => return None,
    };
    if many.is_empty() { Some(each) } else { many.parse::<u32>().ok()?.checked_mul(each) }
}

/// What is wrong with a cell that should hold a number; empty cells say nothing.
fn unclear(holds: &Holds, cell: &Cell, mark: DecimalMark) -> Option<&'static str> {
    let text = match holds {
        Holds::Dilution => {
            cell.text.trim().trim_start_matches("1:").trim_start_matches("1 to ").trim_start_matches(['x', '×'])
        }
        _ => cell.text.as_str(),
    };
    let value = Value::parse(text, mark);
    match (holds, &value) {
        (_, Value::Empty | Value::NotDone) => None,
        (Holds::Gravimetric, Value::Censored(..)) => None,
        (Holds::Gravimetric, Value::Number(number)) => (number.value < 0.0).then_some("less than nothing was weighed"),
        (Holds::CountedVolume, Value::Number(number)) => (number.value <= 0.0).then_some("nothing can be seen in it"),
        (Holds::Dilution, Value::Number(number)) => {
            (number.value < 1.0).then_some("a dilution is 1 where the oil was counted as it came, 10 for 1 to 10")
        }
        (Holds::Gravimetric | Holds::CountedVolume | Holds::Dilution, _) => Some("no plain number"),
        _ => None,
    }
}

fn one_row(file: &mut LabFile, row: ForeignRow, places: &[(usize, &Holds, Option<&str>)], found: &mut Vec<Diagnostic>) {
    let mut label = None;
    let mut counts = Vec::new();
    let mut others: IndexMap<&'static str, Cell> = IndexMap::new();
    let (mut size, mut count) = (None, None);
    for (place, holds, unit) in places {
        let Some(cell) = row.cells.get(*place) else { continue };
        match holds {
            Holds::Label => label = Some(cell.clone()),
            Holds::CountAt(at) => counts.push((at.si(), at.to_string(), cell.clone())),
            Holds::Size => size = size_of(cell, unit.unwrap_or("µm(c)"), file.mark),
            Holds::Count => count = Some(cell.clone()),
            other => {
                if let Some((words, _)) = Holds::WORDS.iter().find(|(_, holds)| holds == *other) {
                    others.insert(words, cell.clone());
                }
            }
        }
    }
    if let Some(((si, words), cell)) = size.zip(count) {
        counts.push((si, words, cell));
    }
    let label = label.unwrap_or_default();
    if label.text.trim().is_empty() {
        if counts.iter().any(|(_, _, cell)| Value::parse(&cell.text, file.mark).number().is_some()) {
            found.push(
                Diagnostic::new(
                    Code::LabValueUnclear,
                    format!("{} of `{}` has counts and no label", row_words(file, row.line), file.name),
                )
                .at(file.source, row.span, "whose bottle?")
                .help("Ask the laboratory. Where cells were merged, the label stands only in the first of them: a row of its own is needed for each bottle."),
            );
        }
        return;
    }
    for (place, holds, _) in places {
        let Some(cell) = row.cells.get(*place) else { continue };
        let Some(why) = unclear(holds, cell, file.mark) else { continue };
        found.push(
            Diagnostic::new(
                Code::LabValueUnclear,
                format!("bottle `{}`: the {} reads `{}`: {why}", label.text.trim(), holds.words(), cell.text.trim()),
            )
            .at(file.source, cell.span, format!("not used ({})", file.whereabouts(cell)))
            .help("Ask the laboratory for a corrected report and keep both; nothing was changed here."),
        );
    }
    let mut read: Vec<LabCount> = Vec::new();
    for (size, words, cell) in counts {
        let value = Value::parse(&cell.text, file.mark);
        let why = match &value {
            Value::Text(text) if text.contains([',', '.']) => {
                Some("a decimal mark, or a mark between thousands, that the layout does not declare")
            }
            Value::Text(_) => Some("no number"),
            Value::WithUnit(..) => Some("a number with something behind it"),
            Value::Number(number) if number.value < 0.0 => Some("a negative count"),
            _ => None,
        };
        if let Some(why) = why {
            found.push(
                Diagnostic::new(
                    Code::LabValueUnclear,
                    format!("bottle `{}`: the count at {words} reads `{}`: {why}", label.text.trim(), cell.text.trim()),
                )
                .at(file.source, cell.span, format!("not read ({})", file.whereabouts(&cell)))
                .help("If the file has decimal commas, write `decimal comma` in its layout; if it has marks between thousands, ask for a file without them. Nothing was made of this cell."),
            );
        }
        read.push(LabCount { size, words, cell, value });
    }
    let empty: Vec<&str> =
        read.iter().filter(|count| matches!(count.value, Value::Empty)).map(|count| count.words.as_str()).collect();
    if !empty.is_empty() && empty.len() < read.len() {
        found.push(
            Diagnostic::new(
                Code::LabValueUnclear,
                format!("bottle `{}`: nothing stands at {}, and other sizes were counted", label.text.trim(), empty.join(", ")),
            )
            .at(file.source, row.span, "this row")
            .help("Nothing is neither none nor few. Ask the laboratory what it saw at these sizes; what the others give depends on it."),
        );
    }
    // Where each size has a row of its own, rows of one bottle and report follow each other.
    let long = places.iter().any(|(_, holds, _)| **holds == Holds::Count);
    if long
        && let Some(last) = file.results.last_mut()
        && last.label() == label.text.trim()
        && last.text(&Holds::Report) == others.get("report").map(|cell| cell.text.trim()).filter(|t| !t.is_empty())
        && !read.iter().any(|new| last.counts.iter().any(|old| (old.size / new.size - 1.0).abs() < 1e-9))
    {
        last.counts.extend(read);
        last.counts.sort_by(|one, other| one.size.total_cmp(&other.size));
        last.span = last.span.to(row.span);
        return;
    }
    read.sort_by(|one, other| one.size.total_cmp(&other.size));
    file.results.push(LabResult { label, counts: read, others, span: row.span, line: row.line });
}

fn row_words(file: &LabFile, line: u32) -> String {
    if file.sheet.is_some() { format!("row {line}") } else { format!("line {line}") }
}

fn size_of(cell: &Cell, unit: &str, mark: DecimalMark) -> Option<(f64, String)> {
    let text = cell.text.trim().trim_start_matches(['>', '=', '≥', ' ']);
    let number = match Value::parse(text, mark) {
        Value::Number(number) | Value::WithUnit(number, _) => number.value,
        _ => return None,
    };
    let unit = Unit::parse(unit).ok()?;
    Some((unit.to_si(number), format!("{number} {}", unit.text)))
}
