//! Faults put into made-up files by hands that know nothing of the audit: cells are changed, and the audit has to say what
//! happened, where.

use std::fmt::Write as _;

use loopleaf::diagnostic::Severity;
use loopleaf::plan::bottle_label;
use loopleaf::trade::cleanliness::iso4406::Code;
use loopleaf::trade::counting::Concentration;

use super::bench::{Bench, bench};
use crate::found;

/// The file as cells.
#[derive(Clone)]
struct Table {
    rows: Vec<Vec<String>>,
    /// The first row with data.
    first: usize,
    separator: char,
    comma: bool,
    /// Columns: label, report, received, counted, seal, method, calibration, volume, dilution, code, mass; and the counts.
    at: [usize; 11],
    counts: Vec<usize>,
    per: f64,
}

/// What was done: the code that should name it, and the texts and lines of cells of which one should be pointed at.
struct Done {
    lines: Vec<usize>,
}

const FERRY: &str = "ferry-generator-sets";
const PLOUGH: &str = "snow-plough-returns";

impl Table {
    fn new(folder: &str, text: &str) -> Table {
        let ferry = folder == FERRY;
        let separator = if ferry { ';' } else { ',' };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator as u8)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let rows: Vec<Vec<String>> =
            reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
        let names = if ferry {
            [
                "Bottle",
                "Report",
                "In",
                "Counted",
                "Seal",
                "Method",
                "Calibration",
                "Counted mL",
                "Dilution",
                "ISO 4406",
                "Gravimetric",
            ]
        } else {
            [
                "Sample ID",
                "Certificate",
                "Received",
                "Analyzed",
                "Seal",
                "Procedure",
                "Calibration",
                "Volume counted",
                "DF",
                "Cleanliness code",
                "Dirt mg/L",
            ]
        };
        let find = |name: &str| rows[1].iter().position(|cell| cell == name).unwrap();
        let counts = (0..rows[1].len()).filter(|at| rows[1][*at].contains("um(c)")).collect();
        Table {
            first: if ferry { 3 } else { 2 },
            separator,
            comma: ferry,
            at: names.map(find),
            counts,
            per: if ferry { 1.0 } else { 100.0 },
            rows,
        }
    }

    fn text(&self) -> String {
        let mut writer =
            csv::WriterBuilder::new().delimiter(self.separator as u8).flexible(true).from_writer(Vec::new());
        for row in &self.rows {
            writer.write_record(row).unwrap();
        }
        String::from_utf8(writer.into_inner().unwrap()).unwrap()
    }

    fn get(&self, row: usize, column: usize) -> f64 {
        self.rows[row][column].replace(',', ".").parse().unwrap_or(0.0)
    }

    fn put(&mut self, row: usize, column: usize, value: f64) {
        let text = format!("{value:.decimals$}", decimals = if value >= 1000.0 { 0 } else { 2 });
        self.rows[row][column] = if self.comma { text.replace('.', ",") } else { text };
    }

    fn scale(&mut self, row: usize, factor: f64) {
        for column in self.counts.clone() {
            let value = self.get(row, column);
            self.put(row, column, value * factor);
        }
    }

    fn label(&self, row: usize) -> &str {
        &self.rows[row][self.at[0]]
    }

    /// Writes the code that belongs to the counts.
    fn recode(&mut self, row: usize) {
        let (volume, dilution) = (self.get(row, self.at[7]), self.get(row, self.at[8]));
        let figure = |place: usize| {
            let count = self.get(row, self.counts[place]) / self.per;
            (Concentration::per_millilitre(count).unwrap(), (count * volume / dilution).round() as u64)
        };
        let code = Code::automatic([figure(0), figure(1), figure(3)]).to_string();
        self.rows[row][self.at[9]] = code;
    }

    /// Rows of bottles, by what the bench says of them.
    fn of(&self, bench: &Bench, wanted: impl Fn(&str) -> bool) -> Vec<usize> {
        (self.first..self.rows.len())
            .filter(|row| {
                bench.records.iter().flat_map(|record| &record.rows).any(|line| {
                    use loopleaf::record::Column;
                    line.text(Column::Value) == self.label(*row) && wanted(line.text(Column::Reading))
                })
            })
            .collect()
    }

    fn partner(&self, bench: &Bench, row: usize, from: &str, to: &str) -> usize {
        use loopleaf::record::Column;
        let lines = || bench.records.iter().flat_map(|record| &record.rows);
        let own = lines().find(|line| line.text(Column::Value) == self.label(row)).unwrap();
        let path = own.text(Column::Reading).replace(from, to);
        let other = lines()
            .find(|line| line.text(Column::Run) == own.text(Column::Run) && line.text(Column::Reading) == path)
            .unwrap();
        (self.first..self.rows.len()).find(|at| self.label(*at) == other.text(Column::Value)).unwrap()
    }

    fn date(&mut self, row: usize, column: usize, days: i64) {
        let text = self.rows[row][column].clone();
        let parts: Vec<i64> = text.split(['.', '/']).map(|part| part.parse().unwrap()).collect();
        let (day, month) = if self.comma { (parts[0], parts[1]) } else { (parts[1], parts[0]) };
        let date = jiff::civil::date(parts[2] as i16, month as i8, day as i8)
            .checked_add(jiff::Span::new().days(days))
            .unwrap();
        self.rows[row][column] = date.strftime(if self.comma { "%d.%m.%Y" } else { "%m/%d/%Y" }).to_string();
    }
}

/// A fault: what it is called, which code should name it, and how it is put in; `None` where the file has no place for it.
type Fault = (&'static str, &'static str, fn(&mut Table, &Bench, usize) -> Option<Done>);

fn done(rows: &[usize]) -> Option<Done> {
    Some(Done { lines: rows.iter().map(|row| row + 1).collect() })
}

fn nth(rows: &[usize], seed: usize) -> Option<usize> {
    (!rows.is_empty()).then(|| rows[(seed * 7) % rows.len()])
}

fn loaded(path: &str) -> bool {
    path.starts_with("loading/")
}

fn up(path: &str) -> bool {
    loaded(path) && path.ends_with("/up")
}

fn down(path: &str) -> bool {
    loaded(path) && path.ends_with("/down")
}

fn base(path: &str) -> bool {
    path.contains("clean-filter/base-")
}

const FAULTS: &[Fault] = &[
    ("swapped-bottles", "A196", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let other = t.partner(b, row, "/up", "/down");
        let column = t.at[0];
        let (one, two) = (t.rows[row][column].clone(), t.rows[other][column].clone());
        t.rows[row][column] = two;
        t.rows[other][column] = one;
        done(&[row, other])
    }),
    ("label-reused", "A174", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let other = t.partner(b, row, "/up", "/down");
        t.rows[other][t.at[0]] = t.label(row).to_owned();
        done(&[row, other])
    }),
    ("check-character-wrong", "A173", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        let mut label = t.label(row).to_owned();
        let last = label.pop()?;
        label.push(if last == '7' { '9' } else { '7' });
        let column = t.at[0];
        t.rows[row][column] = label;
        done(&[row])
    }),
    ("bottle-nobody-drew", "A175", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        let column = t.at[0];
        t.rows[row][column] = bottle_label(&t.label(row)[..3], 77);
        done(&[row])
    }),
    ("bottle-lost", "A176", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        t.rows.remove(row);
        done(&[])
    }),
    ("seal-broken", "A177", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        let column = t.at[4];
        t.rows[row][column] = "broken".to_owned();
        done(&[row])
    }),
    ("received-before-drawn", "A177", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        t.date(row, t.at[2], -9);
        done(&[row])
    }),
    ("held-too-long", "A178", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        t.date(row, t.at[3], 40);
        done(&[row])
    }),
    ("counts-rise-with-size", "A179", |t, b, s| {
        let row = nth(&t.of(b, loaded), s)?;
        let (one, two) = (t.counts[1], t.counts[2]);
        t.rows[row].swap(one, two);
        done(&[row])
    }),
    ("intervals-as-sums-one-row", "A180", |t, b, s| {
        // A row whose code stays the same either way holds no trace of it.
        let rows = t.of(b, loaded).into_iter().filter(|row| {
            let mut other = t.clone();
            intervals(&mut other, *row);
            other.recode(*row);
            other.rows[*row] != t.rows[*row] && other.rows[*row][t.at[9]] != t.rows[*row][t.at[9]]
        });
        let row = nth(&rows.collect::<Vec<_>>(), s)?;
        intervals(t, row);
        done(&[row])
    }),
    ("intervals-as-sums-whole-file", "A180", |t, b, _| {
        let rows = t.of(b, |_| true);
        rows.iter().for_each(|row| intervals(t, *row));
        done(&rows)
    }),
    ("other-volume-one-row", "A181", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        let factor = if t.per > 1.0 { 0.01 } else { 100.0 };
        t.scale(row, factor);
        done(&[row])
    }),
    ("other-volume-whole-file", "A181", |t, b, _| {
        let factor = if t.per > 1.0 { 0.01 } else { 100.0 };
        let rows = t.of(b, |_| true);
        rows.iter().for_each(|row| t.scale(*row, factor));
        done(&rows)
    }),
    ("dilution-missed", "A182", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let factor = t.get(row, t.at[8]);
        t.scale(row, 1.0 / factor);
        done(&[row])
    }),
    ("dilution-missed-and-no-code", "A182", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let factor = t.get(row, t.at[8]);
        t.scale(row, 1.0 / factor);
        let column = t.at[9];
        t.rows[row][column].clear();
        done(&[row])
    }),
    ("code-of-other-counts", "A183", |t, b, s| {
        let row = nth(&t.of(b, loaded), s)?;
        let column = t.at[9];
        let mut figures: Vec<String> = t.rows[row][column].split('/').map(str::to_owned).collect();
        let middle: u32 = figures[1].trim_start_matches('≥').parse().unwrap();
        figures[1] = (middle + 2).to_string();
        t.rows[row][column] = figures.join("/");
        done(&[row])
    }),
    ("few-counts-unmarked", "A184", |t, b, s| {
        let column = t.at[9];
        let marked: Vec<usize> =
            t.of(b, |_| true).into_iter().filter(|row| t.rows[*row][column].contains('≥')).collect();
        let row = match nth(&marked, s) {
            Some(row) => row,
            None => {
                // Nothing is rare enough: less oil is counted of a clean bottle.
                let row = nth(&t.of(b, |path| path.ends_with("base-up")), s)?;
                for place in 3..t.counts.len() {
                    let count = t.per * 0.12 / (place as f64);
                    t.put(row, t.counts[place], count);
                }
                t.recode(row);
                row
            }
        };
        t.rows[row][column] = t.rows[row][column].replace('≥', "");
        done(&[row])
    }),
    ("counted-too-dense", "A185", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let (limit, dilution) = (20_000.0 * t.per, t.get(row, t.at[8]));
        let factor = 1.3 * limit * dilution / t.get(row, t.counts[0]);
        t.scale(row, factor);
        t.recode(row);
        done(&[row])
    }),
    ("background-too-high", "A186", |t, b, s| {
        let row = nth(&t.of(b, base), s)?;
        t.scale(row, 9.0);
        t.recode(row);
        done(&[row])
    }),
    ("bottle-blank-dirty", "A187", |t, _, _| {
        let row = (t.first..t.rows.len())
            .find(|row| t.label(*row).starts_with("BLANK") || t.label(*row).starts_with("EMPTY"))?;
        t.scale(row, 30.0);
        done(&[row])
    }),
    ("twin-disagrees", "A188", |t, _, s| {
        let twins: Vec<usize> =
            (t.first..t.rows.len()).filter(|row| t.label(*row).ends_with('T') && t.label(*row).len() > 8).collect();
        let twins: Vec<usize> = twins
            .into_iter()
            .filter(|row| t.rows.iter().any(|other| format!("{}T", other[t.at[0]]) == t.label(*row)))
            .collect();
        let row = nth(&twins, s)?;
        t.scale(row, 0.3);
        t.recode(row);
        done(&[row])
    }),
    ("other-calibration", "A189", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        let column = t.at[6];
        t.rows[row][column] = "ISO 11171:1999".to_owned();
        done(&[row])
    }),
    ("air-behind-the-filter", "A190", |t, b, s| {
        // A filter that lets most of the finest through as well can't be seen to catch fewer of the coarse.
        let catches = |row: &usize| {
            let before = t.partner(b, *row, "/down", "/up");
            t.get(*row, t.counts[1]) < 0.6 * t.get(before, t.counts[1])
        };
        let row = nth(&t.of(b, down).into_iter().filter(catches).collect::<Vec<_>>(), s)?;
        let before = t.partner(b, row, "/down", "/up");
        let air = 0.8 * t.get(before, t.counts[3]);
        for place in 0..=3 {
            let count = t.get(row, t.counts[place]);
            t.put(row, t.counts[place], count + air);
        }
        t.recode(row);
        done(&[row])
    }),
    ("ghost-particles", "A191", |t, b, s| {
        let row = nth(&t.of(b, base), s)?;
        for place in 0..2 {
            let count = t.get(row, t.counts[place]);
            t.put(row, t.counts[place], count * 80.0);
        }
        t.recode(row);
        done(&[row])
    }),
    ("mass-does-not-fit", "A192", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let mass = t.get(row, t.at[10]);
        t.put(row, t.at[10], mass * 8.0);
        done(&[row])
    }),
    ("dust-left-in-the-pot", "A193", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        let behind = t.partner(b, row, "/up", "/down");
        for at in [row, behind] {
            // What the plan lets expect is wide: the oil turns over while a bottle is drawn.
            t.scale(at, 0.04);
            t.recode(at);
        }
        let mass = t.get(row, t.at[10]);
        t.put(row, t.at[10], mass * 0.04);
        done(&[row, behind])
    }),
    ("reissued", "A194", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        t.rows.push(t.rows[row].clone());
        let new = t.rows.len() - 1;
        t.scale(new, 1.3);
        t.recode(new);
        let column = t.at[1];
        t.rows[new][column] = "invented-2".to_owned();
        done(&[new])
    }),
    ("other-method", "A195", |t, b, s| {
        let row = nth(&t.of(b, |_| true), s)?;
        let column = t.at[5];
        t.rows[row][column] = "microscope (invented)".to_owned();
        done(&[row])
    }),
    ("less-oil-counted", "A195", |t, b, s| {
        let row = nth(&t.of(b, up), s)?;
        t.put(row, t.at[7], 20.0);
        t.recode(row);
        done(&[row])
    }),
    ("copied-row", "A197", |t, b, s| {
        let rows = t.of(b, up);
        let (one, two) = (nth(&rows, s)?, rows[(s * 7 + 1) % rows.len()]);
        for column in t.counts.clone().into_iter().chain([t.at[9], t.at[10]]) {
            t.rows[two][column] = t.rows[one][column].clone();
        }
        done(&[one, two])
    }),
];

fn intervals(t: &mut Table, row: usize) {
    for pair in t.counts.clone().windows(2) {
        let (small, large) = (t.get(row, pair[0]), t.get(row, pair[1]));
        t.put(row, pair[0], (small - large).max(0.0));
    }
}

fn grave(severity: Severity) -> bool {
    matches!(severity, Severity::Critical | Severity::Major)
}

/// Twenty with `LOOPLEAF_EVERY_CHANGE=1`, a few otherwise.
fn seeds() -> u64 {
    if found::every_change() { 20 } else { 3 }
}

/// Each injected fault and its code.
pub(crate) fn kinds() -> Vec<(&'static str, &'static str)> {
    FAULTS.iter().map(|(name, code, _)| (*name, *code)).collect()
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn conforming_files_raise_nothing_grave() {
    let mut page = "| campaign | results | critical or major findings |\n|---|---|---|\n".to_owned();
    let (mut all, mut minor) = (0, 0);
    for folder in [FERRY, PLOUGH] {
        let mut results = 0;
        for seed in 1..=seeds() {
            let mut bench = bench(folder, seed);
            let text = bench.csv.clone();
            let found = bench.audit(&text);
            let grave: Vec<String> = found
                .iter()
                .filter(|(finding, _)| grave(finding.severity))
                .map(|(finding, line)| format!("{} {} line {line}", finding.code, finding.message))
                .collect();
            assert!(grave.is_empty(), "{folder}, seed {seed}:\n{}", grave.join("\n"));
            minor += found.len();
            results += bench.read(&text).0.unwrap().results.len();
        }
        writeln!(page, "| {folder} | {results} | 0 |").unwrap();
        all += results;
    }
    println!("{all} conforming results: nothing critical or major, {minor} minor");
    assert!(all > 25 * seeds() as usize, "there were results to look at");
    if found::every_change() {
        let body = format!(
            "{all} results in conforming files of {} seeds: none has a critical or major finding; {minor} minor ones in all.\n\n{page}",
            seeds()
        );
        found::section(found::CONFORMING_FILES, &body);
    }
}

/// What became of the faults of one kind.
#[derive(Default, Clone)]
struct Score {
    laboratories: usize,
    injected: usize,
    found: usize,
    misnamed: usize,
    alarms: usize,
}

#[test]
#[expect(clippy::print_stdout, reason = "the table is the evidence")]
fn faults_in_the_laboratories_files_are_named_where_they_are() {
    let both = std::thread::scope(|scope| {
        let hands = [FERRY, PLOUGH].map(|folder| scope.spawn(move || injected(folder)));
        hands.map(|hand| hand.join().unwrap())
    });
    let mut scores = vec![Score::default(); FAULTS.len()];
    let mut problems = Vec::new();
    for (part, told) in both {
        for (score, more) in scores.iter_mut().zip(part) {
            score.laboratories += usize::from(more.injected > 0);
            score.injected += more.injected;
            score.found += more.found;
            score.misnamed += more.misnamed;
            score.alarms += more.alarms;
        }
        problems.extend(told.into_iter().take(8));
    }
    let mut page = "| kind | code | laboratories | put in | found | misnamed | lost | false alarms |\n|---|---|---|---|---|---|---|---|\n".to_owned();
    let mut sums = [0; 5];
    for ((name, code, _), s) in FAULTS.iter().zip(&scores) {
        let counts = [s.injected, s.found, s.misnamed, s.injected - s.found - s.misnamed, s.alarms];
        let [injected, found, misnamed, lost, alarms] = counts;
        writeln!(
            page,
            "| {name} | [{code}](codes/{code}.md) | {} | {injected} | {found} | {misnamed} | {lost} | {alarms} |",
            s.laboratories
        )
        .unwrap();
        sums.iter_mut().zip(counts).for_each(|(sum, count)| *sum += count);
    }
    let [injected, found, misnamed, lost, alarms] = sums;
    writeln!(page, "| **all** | | 2 | {injected} | {found} | {misnamed} | {lost} | {alarms} |").unwrap();
    println!("{page}{}", problems.join("\n"));
    if found::every_change() {
        let body = format!(
            "The files of the example campaigns' laboratories ({FERRY}: semicolons, decimal commas, per mL; {PLOUGH}: commas, decimal points, per 100 mL), made \
             up from {} seeds: {injected} faults put in, {found} found with the right code at the right line. *False alarms*: critical or major findings at \
             other lines.\n\n{page}",
            seeds()
        );
        found::section(found::LABORATORY, &body);
    }
    for ((name, ..), score) in FAULTS.iter().zip(&scores) {
        assert!(score.injected > 0, "{name} found no place in any file");
        assert!(score.found * 100 >= score.injected * 95, "{name}: {} of {}", score.found, score.injected);
    }
    assert!(found * 100 >= injected * 99, "{found} of {injected}\n{}", problems.join("\n"));
    assert!(alarms * 100 <= injected, "{alarms} false alarms\n{}", problems.join("\n"));
}

/// Every fault in the files of one laboratory.
fn injected(folder: &str) -> (Vec<Score>, Vec<String>) {
    let mut scores = vec![Score::default(); FAULTS.len()];
    let mut problems = Vec::new();
    for seed in 1..=seeds() {
        let bench = bench(folder, seed);
        for (fault, score) in FAULTS.iter().zip(&mut scores) {
            one_fault(&bench, folder, fault, seed, score, &mut problems);
        }
    }
    (scores, problems)
}

fn one_fault(bench: &Bench, folder: &str, fault: &Fault, seed: u64, score: &mut Score, problems: &mut Vec<String>) {
    let (name, code, put) = fault;
    let mut spoilt = Table::new(folder, &bench.csv);
    let Some(Done { lines }) = put(&mut spoilt, bench, seed as usize) else { return };
    let found = bench.audit(&spoilt.text());
    score.injected += 1;
    let here = |line: usize| lines.is_empty() || lines.contains(&line);
    let named = found.iter().any(|(finding, line)| finding.code.id() == *code && here(*line));
    if named {
        score.found += 1;
    } else if found.iter().any(|(finding, line)| here(*line) && grave(finding.severity)) {
        score.misnamed += 1;
    }
    // A bottle whose label went wrong is missed too: that is no false alarm.
    let stray = found.iter().filter(|(finding, line)| {
        grave(finding.severity) && !here(*line) && !["A176", *code].contains(&finding.code.id())
    });
    let stray = stray.count();
    score.alarms += stray;
    if !named || stray > 0 {
        let all: Vec<String> = found.iter().map(|(f, line)| format!("{} {} line {line}", f.code, f.message)).collect();
        problems.push(format!("{folder} {seed} {name}, lines {lines:?}: named {named}\n  {}", all.join("\n  ")));
    }
}
