//! Slips of eye and hand, made at random places of conforming records. The injector knows nothing of the audit: it takes
//! what was meant, writes it wrong in one way, and looks whether the first proposal is what was meant.

use std::fmt::Write as _;

use indexmap::IndexMap;
use loopleaf::record::Column;

use super::bench::{Bench, Sheet};
use super::inject::{Benches, Dice, SETS, benches, conforming};
use crate::found;

/// What was written in place of a number, and what was meant.
struct Written {
    wrong: String,
    /// Beginnings of a proposal that is right; the cause and, where it is known to the digit, the value.
    starts: String,
    /// What the same proposal may say beside another that gives the same value.
    beside: String,
}

/// What a slip makes of a number and its unit. `None` where it can't be made of it.
type Slip = fn(&str, &str, &mut Dice) -> Option<Written>;

fn unit(value: &str, planned: &str, read: &str, decimals: usize, convert: impl Fn(f64) -> f64) -> Option<Written> {
    let wrong = format!("{:.decimals$}", convert(value.parse().unwrap()));
    Some(Written {
        starts: format!("{wrong} in a {planned} box: {wrong} {read} is "),
        beside: format!("or it was read in {read},"),
        wrong,
    })
}

fn text(right: &str, unit: &str, wrong: String, how: &str) -> Option<Written> {
    let same = wrong == right || wrong.parse::<f64>().ok()? == right.parse::<f64>().ok()?;
    let starts = format!("`{wrong}` for {right} {unit}: {how}");
    (!same).then_some(Written { wrong, starts, beside: format!("or {how},") })
}

fn digits(value: &str) -> Vec<usize> {
    value.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(at, _)| at).collect()
}

fn decimal(value: &str, planned: &str, places: isize) -> Option<Written> {
    let point = value.find('.').unwrap_or(value.len());
    let all: String = value.chars().filter(char::is_ascii_digit).collect();
    if value.starts_with('-') {
        return None;
    }
    let wrong = match point.checked_add_signed(places) {
        Some(at) if at > all.len() => return None,
        Some(at) if at == all.len() => all,
        Some(at) if at > 0 => format!("{}.{}", &all[..at], &all[at..]),
        Some(_) => format!("0.{all}"),
        None => format!("0.0{all}"),
    };
    if wrong.len() > 1 && wrong.starts_with('0') && !wrong.starts_with("0.") {
        return None;
    }
    text(value, planned, wrong, "the decimal mark slipped")
}

/// The slip, the unit of the box (any, where it is empty), and how it is made.
const SLIPS: &[(&str, &str, Slip)] = &[
    ("psi in a kPa box", "kPa", |v, u, _| unit(v, u, "psi", 2, |x| x / 6.894_757_293)),
    ("bar in a kPa box", "kPa", |v, u, _| unit(v, u, "bar", 3, |x| x / 100.0)),
    ("mbar in a kPa box", "kPa", |v, u, _| unit(v, u, "mbar", 0, |x| x * 10.0)),
    ("kPa in a psi box", "psi", |v, u, _| unit(v, u, "kPa", 1, |x| x * 6.894_757_293)),
    ("bar in a psi box", "psi", |v, u, _| unit(v, u, "bar", 3, |x| x / 14.503_773_773)),
    ("°F in a °C box", "°C", |v, u, _| unit(v, u, "°F", 1, |x| x * 1.8 + 32.0)),
    ("°C in a °F box", "°F", |v, u, _| unit(v, u, "°C", 1, |x| (x - 32.0) / 1.8)),
    ("US gal/min in an L/min box", "L/min", |v, u, _| unit(v, u, "US gpm", 2, |x| x / 3.785_411_784)),
    ("imperial gal/min in an L/min box", "L/min", |v, u, _| unit(v, u, "imp gpm", 2, |x| x / 4.546_09)),
    ("L/min in a US gal/min box", "US gal/min", |v, u, _| unit(v, u, "L/min", 1, |x| x * 3.785_411_784)),
    ("mg in a g box", "g", |v, u, _| unit(v, u, "mg", 0, |x| x * 1000.0)),
    ("decimal point one place right", "", |v, u, _| decimal(v, u, 1)),
    ("decimal point one place left", "", |v, u, _| decimal(v, u, -1)),
    ("decimal point two places left", "", |v, u, _| decimal(v, u, -2)),
    ("two digits exchanged", "", |v, u, dice| {
        let places = digits(v);
        let pair = dice.below(places.len().checked_sub(1).filter(|n| *n > 0)?);
        let mut wrong: Vec<char> = v.chars().collect();
        wrong.swap(places[pair], places[pair + 1]);
        text(v, u, wrong.into_iter().collect(), "two digits were exchanged")
    }),
    ("a digit doubled", "", |v, u, dice| {
        let places = digits(v);
        let at = places[dice.below(places.len())];
        let mut wrong = v.to_owned();
        wrong.insert(at, v.as_bytes()[at].into());
        text(v, u, wrong, "a digit was written twice")
    }),
    ("one of two equal digits left out", "", |v, u, _| {
        let at = v.as_bytes().windows(2).position(|pair| pair[0] == pair[1])?;
        let mut wrong = v.to_owned();
        wrong.remove(at);
        text(v, u, wrong, "one of two equal digits was left out")
    }),
    ("another digit left out", "", |v, u, dice| {
        let bytes = v.as_bytes();
        let alone = |at: &usize| bytes.get(at + 1) != bytes.get(*at) && (*at == 0 || bytes[at - 1] != bytes[*at]);
        let places: Vec<usize> = digits(v).into_iter().filter(alone).collect();
        let mut wrong = v.to_owned();
        wrong.remove(*dice.pick(&places)?);
        let bare = wrong.trim_end_matches('.').to_owned();
        let headless =
            bare.starts_with('.') || bare.starts_with('0') && bare.as_bytes().get(1).is_some_and(u8::is_ascii_digit);
        if bare.is_empty() || headless {
            return None;
        }
        // Which digit it was can't be known; that one was left out can.
        let made = text(v, u, bare, "a digit was left out")?;
        Some(Written { starts: format!("`{}` for ", made.wrong), beside: ": a digit was left out".to_owned(), ..made })
    }),
    ("a digit that looks like another", "", |v, u, dice| {
        const PAIRS: [(char, char); 4] = [('1', '7'), ('0', '6'), ('3', '8'), ('5', '6')];
        let (one, other) = PAIRS[dice.below(4)];
        let at = v.find([one, other])?;
        let mut wrong: Vec<char> = v.chars().collect();
        wrong[at] = if wrong[at] == one { other } else { one };
        text(v, u, wrong.into_iter().collect(), "a digit was taken for another that looks like it")
    }),
    ("comma for point", "", |v, u, _| {
        let wrong = v.replace('.', ",");
        let starts = format!("`{wrong}` for {v} {u}");
        v.contains('.').then_some(Written { wrong, starts, beside: String::new() })
    }),
];

/// The names of the slips.
pub(crate) fn kinds() -> impl Iterator<Item = &'static str> {
    SLIPS.iter().map(|slip| slip.0)
}

#[derive(Default)]
struct Score {
    made: usize,
    implausible: usize,
    found: usize,
    /// The first proposal is the true cause; among them those that name a second cause with the same value.
    named: usize,
    shared: usize,
    /// First proposals that were not what was meant.
    wrong: Vec<String>,
}

impl Score {
    fn add(&mut self, other: Score) {
        self.made += other.made;
        self.implausible += other.implausible;
        self.found += other.found;
        self.named += other.named;
        self.shared += other.shared;
        self.wrong.extend(other.wrong);
    }
}

/// Whether anybody who knows the bench would see that the value is wrong: a set value outside its window, a measured
/// one by more than the half.
fn is_implausible(window: &str, right: &str, wrong: &str) -> bool {
    let Ok(wrong) = wrong.parse::<f64>() else { return true };
    match window.trim_start_matches("expect ").split_once(" to ") {
        Some((low, high)) => wrong < low.parse::<f64>().unwrap() || wrong > high.parse::<f64>().unwrap(),
        None => (wrong / right.parse::<f64>().unwrap()).ln().abs() > 0.8,
    }
}

/// Whether a slip can be made of a row: a number in its unit that is not next to nothing.
fn fits(row: &[String], wanted: &str) -> bool {
    let (unit, value) = (row[Column::Unit.index()].as_str(), &row[Column::Value.index()]);
    let small = value.parse::<f64>().is_ok_and(|value| value.abs() < 2.0 && unit != "g");
    !unit.is_empty()
        && !value.is_empty()
        && (wanted.is_empty() || unit == wanted)
        && !small
        && !row[Column::Reading.index()].ends_with("left-in-boat")
}

fn inject(bench: &mut Bench, sheets: &[Sheet], slip: &(&str, &str, Slip), dice: &mut Dice, score: &mut Score) {
    let (_, wanted, make) = slip;
    let sheet = &sheets[0];
    let rows: Vec<&Vec<String>> = sheet.rows.iter().filter(|row| fits(row, wanted)).collect();
    // A slip that leaves the value plausible is one that nobody can see: another place is drawn.
    for _ in 0..12 {
        let Some(row) = dice.pick(&rows) else { return };
        let (path, right, window) =
            (&row[Column::Reading.index()], &row[Column::Value.index()], &row[Column::Window.index()]);
        let Some(written) = make(right, &row[Column::Unit.index()], dice) else { continue };
        score.made += 1;
        if is_implausible(window, right, &written.wrong) {
            score.implausible += 1;
            judge(bench, sheets, path, right, &written, score);
            return;
        }
    }
}

fn judge(bench: &mut Bench, sheets: &[Sheet], path: &str, right: &str, written: &Written, score: &mut Score) {
    let Written { wrong, starts, beside } = written;
    let mut spoilt = sheets[0].copy();
    spoilt.set(path, Column::Value, wrong);
    let mut all = vec![&spoilt];
    all.extend(sheets.iter().skip(1));
    let findings = bench.audit(&all);
    let cell = if wrong.contains(',') { format!("\"{wrong}\"") } else { wrong.clone() };
    let at_cell = findings
        .iter()
        .find(|finding| bench.cell(finding) == cell && finding.places.iter().any(|place| place.role.contains(path)));
    let Some(finding) = at_cell else {
        score.wrong.push(format!("{path}: {right} as {wrong}: not found"));
        return;
    };
    score.found += 1;
    let help = finding.help.clone().unwrap_or_default();
    let first = help.split(". If that is what happened").next().unwrap_or_default();
    let lost_digit = beside.starts_with(':');
    if first.starts_with(starts) && (!lost_digit || first.contains(beside)) {
        score.named += 1;
        score.shared += usize::from(first.contains("which gives the same"));
    } else if !lost_digit && !beside.is_empty() && first.contains(beside) && first.contains("which gives the same") {
        score.named += 1;
        score.shared += 1;
    } else {
        score.wrong.push(format!("{} {path}: {right} as {wrong}: {help}", finding.code.id()));
    }
}

type Scores = IndexMap<&'static str, Score>;

/// Every slip in half of the sets, the other half with the next seed.
fn one_seed(benches: &mut Benches, seed: u64) -> Scores {
    let mut dice = Dice(20_260_914 + seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let mut scores = Scores::new();
    let half = usize::try_from(seed % 2).unwrap();
    for (campaign, runs) in SETS.iter().skip(half).step_by(2) {
        let sheets = conforming(benches, campaign, runs, seed).sheets;
        let (bench, _) = benches.get_mut(campaign).unwrap();
        for slip in SLIPS {
            // What has its own unit finds it in few of the sets.
            let times = if slip.1.is_empty() { 1 } else { 2 };
            for _ in 0..times {
                inject(bench, &sheets, slip, &mut dice, scores.entry(slip.0).or_default());
            }
        }
    }
    scores
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn the_first_proposed_cause_is_the_true_one() {
    let every = found::every_change();
    let seeds = if every { 20 } else { 2 };
    let mut scores: Scores = SLIPS.iter().map(|slip| (slip.0, Score::default())).collect();
    for (kind, score) in found::each_seed(seeds, benches, one_seed).into_iter().flatten() {
        scores[kind].add(score);
    }
    let text = table(&scores);
    println!("{text}");
    for (kind, score) in &scores {
        for wrong in score.wrong.iter().take(6) {
            println!("{kind}: {wrong}");
        }
    }
    if every {
        let body = format!(
            "Into conforming records of {seeds} seeds and five protocols single numbers were written wrong in one way each. *Implausible*: a set value outside \
             its window, a measured one off by more than a factor of 2.2; the others nobody can see. *Right*: the first cause that the audit proposes is the \
             true one, with the value that was meant (which digit was left out can't be known). *Shared*: among these, the proposal names a second cause that \
             gives the same value, since the digits are the same: 166 is 16.6 kPa read in mbar, and 16.6 with its point lost.\n\n{text}"
        );
        found::section(found::SLIPS, &body);
    }
    let (found, implausible): (usize, usize) =
        scores.values().fold((0, 0), |(found, all), score| (found + score.found, all + score.implausible));
    assert!(found * 100 >= implausible * 99, "{found} of {implausible} found");
    for (kind, score) in &scores {
        assert!(score.implausible > 0, "{kind} never left a value implausible");
        // Which digit was left out can't be known, and a mark that slipped often explains it as well.
        let least = if *kind == "another digit left out" { 85 } else { 90 };
        // Few of a kind are put in where not every seed is taken: of these, all kinds together.
        let right = !every || score.named * 100 >= score.implausible * least;
        assert!(right, "{kind}: {} of {}", score.named, score.implausible);
    }
    let named: usize = scores.values().map(|score| score.named).sum();
    assert!(named * 100 >= implausible * 95, "{named} of {implausible} causes right");
}

fn table(scores: &Scores) -> String {
    let mut text =
        "| slip | put in | implausible | found | first cause right | shared | share |\n|---|---|---|---|---|---|---|\n"
            .to_owned();
    for (kind, s) in scores {
        let share = 100.0 * s.named as f64 / s.implausible.max(1) as f64;
        writeln!(
            text,
            "| {kind} | {} | {} | {} | {} | {} | {share:.0} % |",
            s.made, s.implausible, s.found, s.named, s.shared
        )
        .unwrap();
    }
    text
}
