//! NIST Statistical Reference Datasets (topic 12): certified values, and the digits of them that come out.
//!
//! The log relative error, −log₁₀ |got − certified|/|certified|, is the number of digits that agree; certified values have
//! 15. Sets that may not be shipped are read from `../shared/nist-strd` where that folder exists.
#![expect(clippy::print_stderr, reason = "how well a set came out, and what was not run, is for people to read")]

use std::path::PathBuf;

use loopleaf::trade::{
    anova::one_way,
    descriptive,
    regression::{self, Fit},
};

use super::{
    statistics_rows::{Row, Source, topic},
    table::{Tol, Topic},
};

const STRD: &str = "12 NIST StRD";

/// The folder with the sets that the project does not ship, beside the repository.
pub(super) fn shared() -> Option<PathBuf> {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    ["../shared/nist-strd", "../../shared/nist-strd"].into_iter().map(|path| root.join(path)).find(|path| path.is_dir())
}

fn shipped(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/published/nist-strd").join(name);
    std::fs::read_to_string(path).unwrap()
}

fn row(name: &str) -> Row {
    topic("12").into_iter().find(|row| row.id().rsplit('-').next() == Some(name)).unwrap()
}

/// Numbers of a table, line by line; lines without any are left out.
fn columns(text: &str) -> Vec<Vec<f64>> {
    let cells = |line: &str| line.split([',', ' ', '\t']).filter_map(|cell| cell.parse().ok()).collect::<Vec<f64>>();
    text.lines().map(cells).filter(|cells| !cells.is_empty()).collect()
}

/// The data part of a NIST file.
fn data(text: &str) -> Vec<Vec<f64>> {
    columns(text.rsplit_once("Data:").unwrap().1)
}

/// Digits that agree, at most 15; a certified zero counts the digits after the point.
fn digits(got: f64, want: f64) -> f64 {
    let error = if want == 0.0 { got.abs() } else { ((got - want) / want).abs() };
    if error < 1e-15 { 15.0 } else { -error.log10() }
}

struct Certified<'a> {
    topic: &'a mut Topic,
    name: &'static str,
    worst: f64,
}

impl Certified<'_> {
    fn check(&mut self, got: f64, want: f64, least: f64) {
        self.worst = self.worst.min(digits(got, want));
        let limit = 10_f64.powf(-least);
        self.topic.close(self.name, got, want, if want == 0.0 { Tol::Abs(limit) } else { Tol::Rel(limit) });
    }
}

/// Runs one set and prints its log relative error.
fn certify(name: &'static str, check: impl FnOnce(&mut Certified, &Row)) {
    let row = row(name);
    let mut source = Source::new(STRD, name);
    let mut certified = Certified { topic: source.of(&row), name, worst: 15.0 };
    check(&mut certified, &row);
    eprintln!("LRE {name}: {:.1}", certified.worst);
    source.finish();
}

fn fitted(set: &mut Certified, row: &Row, fit: &Fit, least: f64) {
    for (key, got) in [("coef", &fit.coefficients), ("se", &fit.standard_errors)] {
        let want = row.all_wanted(key);
        assert_eq!(got.len(), want.len());
        for (got, want) in got.iter().zip(want) {
            set.check(*got, want, least);
        }
    }
    set.check(fit.residual_sd, row.wanted("residual_sd"), least);
    set.check(fit.r_squared.unwrap(), row.wanted("R2"), least);
    assert_eq!(fit.degrees_of_freedom as f64, row.wanted("df"));
}

fn described(set: &mut Certified, row: &Row, readings: &[f64], least: f64) {
    set.check(descriptive::mean(readings).unwrap(), row.wanted("mean"), least);
    set.check(descriptive::standard_deviation(readings).unwrap(), row.wanted("sd"), least);
    set.check(descriptive::lag1_autocorrelation(readings).unwrap(), row.wanted("lag1_autocorr"), least);
}

fn analysed(set: &mut Certified, row: &Row, groups: &[Vec<f64>], least: f64) {
    let slices: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
    let table = one_way(&slices).unwrap();
    let lines = [(&table.between, "between"), (&table.within, "within")];
    for (line, name) in lines {
        set.check(line.sum_of_squares, row.wanted(&format!("SS_{name}")), least);
        set.check(line.mean_square, row.wanted(&format!("MS_{name}")), least);
        assert_eq!(line.degrees_of_freedom as f64, row.wanted(&format!("df_{name}")));
    }
    set.check(table.f, row.wanted("F"), least);
    set.check(table.r_squared, row.wanted("R2"), least);
    set.check(table.residual_sd, row.wanted("residual_sd"), least);
}

/// y in the first column, x in the second.
fn pairs(table: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>) {
    (table.iter().map(|row| row[0]).collect(), table.iter().map(|row| row[1]).collect())
}

/// Groups by the number in the first column.
fn groups(table: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let last = table.iter().map(|row| row[0] as usize).max().unwrap();
    let of = |group: usize| table.iter().filter(|row| row[0] as usize == group).map(|row| row[1]).collect();
    (1..=last).map(of).collect()
}

/// NumAcc2 to 4: 1.2 and then 500 times 1.1 and 1.3, with leading digits in front.
fn alternating(leading: u64) -> Vec<f64> {
    let reading = |tenth: u32| format!("{leading}.{tenth}").parse::<f64>().unwrap();
    std::iter::once(2).chain([1, 3].repeat(500)).map(reading).collect()
}

/// The Simon and Lesage sets: nine groups of `replicates` readings about tenths 4 3 5 3 5 3 5 3 5, alternately one tenth
/// below and above the first, with leading digits in front.
fn simon_lesage(leading: u64, replicates: usize) -> Vec<Vec<f64>> {
    let group = |centre: u32| {
        let around = [centre - 1, centre + 1].repeat(replicates / 2);
        let tenths = std::iter::once(centre).chain(around);
        tenths.map(|tenth| format!("{leading}.{tenth}").parse().unwrap()).collect()
    };
    [4, 3, 5, 3, 5, 3, 5, 3, 5].map(group).to_vec()
}

/// y of the Wampler sets at x = 0 … 20: a polynomial of degree 5 with coefficients 1 (or 10⁻ᵏ), plus a fixed error.
fn wampler(set: usize) -> Vec<f64> {
    const ERROR: [i64; 21] = [
        759, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 2523,
        -2048, 2048, -2048, 759,
    ];
    let times = [0, 0, 1, 100, 10_000][set - 1];
    let tenths = |x: i64| (0..6).map(|k| x.pow(k) * 10_i64.pow(5 - k)).sum::<i64>() as f64 / 1e5;
    let whole = |(x, error)| ((0..6).map(|k| i64::pow(x, k)).sum::<i64>() + times * error) as f64;
    if set == 2 { (0..21).map(tenths).collect() } else { (0..21).zip(ERROR).map(whole).collect() }
}

fn zero_to_20() -> Vec<f64> {
    (0..21).map(f64::from).collect()
}

#[test]
pub(super) fn certified_univariate_values_come_out() {
    certify("NumAcc1", |set, row| described(set, row, &[10_000_001.0, 10_000_003.0, 10_000_002.0], 14.0));
    certify("NumAcc2", |set, row| described(set, row, &alternating(1), 14.0));
    certify("NumAcc3", |set, row| described(set, row, &alternating(1_000_000), 9.0));
    certify("NumAcc4", |set, row| described(set, row, &alternating(10_000_000), 8.0));
    let digits: Vec<f64> = shipped("pi-digits.txt").chars().filter_map(|c| c.to_digit(10)).map(f64::from).collect();
    certify("PiDigits", |set, row| described(set, row, &digits, 13.0));
}

#[test]
pub(super) fn certified_regressions_come_out() {
    let (y, x) = pairs(&data(&shipped("Norris.dat")));
    certify("Norris", |set, row| fitted(set, row, &regression::line(&x, &y).unwrap(), 12.0));
    let (x, y): (Vec<f64>, Vec<f64>) = (60..=70).map(|x| (f64::from(x), f64::from(x + 70))).unzip();
    certify("NoInt1", |set, row| fitted(set, row, &regression::line_through_origin(&x, &y).unwrap(), 13.0));
    let fit = regression::line_through_origin(&[4.0, 5.0, 6.0], &[3.0, 4.0, 4.0]).unwrap();
    certify("NoInt2", |set, row| fitted(set, row, &fit, 13.0));
    for (set, name) in (1..).zip(["Wampler1", "Wampler2", "Wampler3", "Wampler4", "Wampler5"]) {
        let fit = regression::polynomial(&zero_to_20(), &wampler(set), 5).unwrap();
        certify(name, |set, row| fitted(set, row, &fit, 12.0));
    }
}

#[test]
pub(super) fn certified_analyses_of_variance_come_out() {
    certify("SiRstv", |set, row| analysed(set, row, &groups(&data(&shipped("SiRstv.dat"))), 11.0));
    certify("AtmWtAg", |set, row| analysed(set, row, &groups(&data(&shipped("AtmWtAg.dat"))), 9.0));
    let names = [["SmLs01", "SmLs02", "SmLs03"], ["SmLs04", "SmLs05", "SmLs06"], ["SmLs07", "SmLs08", "SmLs09"]];
    // From SmLs04 on the readings are rounded as they are read: 10⁶ + 0.4 keeps ten digits of its tenths, 10¹² + 0.4 four.
    for ((leading, least), names) in [(1, 13.0), (1_000_000, 9.0), (1_000_000_000_000, 3.0)].into_iter().zip(names) {
        for (replicates, name) in [21, 201, 2001].into_iter().zip(names) {
            let readings = simon_lesage(leading, replicates);
            certify(name, |set, row| analysed(set, row, &readings, least));
        }
    }
}

#[test]
pub(super) fn certified_values_of_sets_that_are_not_shipped_come_out() {
    let Some(folder) = shared() else {
        eprintln!(
            "not run: folder absent (../shared/nist-strd: Pontius, Longley, Filip, Lew, Lottery, Mavro, Michelso)"
        );
        return;
    };
    let read = |name: &str| columns(&std::fs::read_to_string(folder.join(name)).unwrap());
    let (y, x) = pairs(&read("lls_pontius.csv"));
    certify("Pontius", |set, row| fitted(set, row, &regression::polynomial(&x, &y, 2).unwrap(), 12.0));
    let (y, x) = pairs(&read("lls_filip.csv"));
    certify("Filip", |set, row| fitted(set, row, &regression::polynomial(&x, &y, 10).unwrap(), 12.0));
    let table = read("lls_longley.csv");
    let column = |place: usize| table.iter().map(|row| row[place]).collect::<Vec<f64>>();
    let variables: Vec<Vec<f64>> = (1..7).map(column).collect();
    let slices: Vec<&[f64]> = variables.iter().map(Vec::as_slice).collect();
    let fit = regression::multiple(&slices, &column(0)).unwrap();
    certify("Longley", |set, row| fitted(set, row, &fit, 13.0));
    let sets = [("Lew", "lew"), ("Lottery", "lottery"), ("Mavro", "mavro"), ("Michelso", "michaelso")];
    for (name, file) in sets {
        let readings: Vec<f64> = read(&format!("univ_{file}.txt")).concat();
        certify(name, |set, row| described(set, row, &readings, 12.0));
    }
}

/// The sets made from their rules are NIST's own, wherever its files are at hand.
#[test]
fn generated_sets_equal_the_files() {
    let Some(folder) = shared() else {
        eprintln!("not run: folder absent (../shared/nist-strd: files of the generated sets)");
        return;
    };
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    for (number, (leading, replicates)) in
        (1..).zip([1, 1_000_000, 1_000_000_000_000].into_iter().flat_map(|l| [21, 201, 2001].map(|r| (l, r))))
    {
        let file = groups(&data(&read(&format!("SmLs0{number}.dat"))));
        assert!(file == simon_lesage(leading, replicates), "SmLs0{number}");
    }
    for set in 1..=5 {
        let (y, x) = pairs(&columns(&read(&format!("lls_wampler{set}.csv"))));
        assert_eq!((y, x), (wampler(set), zero_to_20()), "Wampler{set}");
    }
}

#[test]
fn constant_leading_digits_do_not_change_an_analysis() {
    let near: Vec<Vec<f64>> = vec![vec![1.0, 2.0, 4.0], vec![2.0, 3.0, 7.0]];
    let far: Vec<Vec<f64>> = near.iter().map(|group| group.iter().map(|x| x + 1e15).collect()).collect();
    let f = |groups: &[Vec<f64>]| one_way(&[&groups[0], &groups[1]]).unwrap().f;
    assert_eq!(f(&near), f(&far));
}
