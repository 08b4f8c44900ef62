//! Many campaigns with known truth: do the 95 % intervals hold it in 95 of 100 cases, and are equal specimens called equal?

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt::Write;

use loopleaf::rehearsal::Character;
use loopleaf::results::{Outcome, Results};

use super::bench::{Bench, made_up};

const FERRY: &str = "ferry-generator-sets";

/// How often an interval was given, and how often it held the truth.
#[derive(Default, Clone, Copy)]
struct Held {
    given: u32,
    held: u32,
    /// Campaigns in which it was not an interval but a bound or nothing.
    otherwise: u32,
}

impl Held {
    fn share(self) -> f64 {
        f64::from(self.held) / f64::from(self.given)
    }

    fn count(&mut self, outcome: &Outcome, truth: f64) {
        match outcome {
            Outcome::Known(estimate) => {
                self.given += 1;
                self.held += u32::from(estimate.interval.contains(truth));
            }
            _ => self.otherwise += 1,
        }
    }
}

fn restriction_and_capacity(bench: &Bench, results: &Results, counted: &mut BTreeMap<&'static str, Held>) {
    for run in &results.runs {
        let truth = &bench.truth[&run.code];
        for sweep in &run.restrictions {
            let what = if sweep.stage.starts_with("cold") {
                "restriction, cold, highest flow"
            } else {
                "restriction, warm, highest flow"
            };
            if let Some((flow, outcome)) = sweep.headline() {
                let real = truth.laminar * flow * sweep.viscosity + truth.inertial * flow * flow;
                counted.entry(what).or_default().count(outcome, real);
            }
        }
        if let Some(loading) = &run.loading {
            counted.entry("capacity").or_default().count(&loading.capacity, truth.capacity);
        }
    }
}

fn efficiency(bench: &Bench, results: &Results, counted: &mut BTreeMap<String, Held>, bounds: &mut Held) {
    for run in &results.runs {
        let truth = &bench.truth[&run.code];
        for size in run.removal.iter().flat_map(|removal| &removal.pooled) {
            let real = truth.captures(size.size);
            match &size.efficiency {
                Outcome::AtLeast { bound, .. } => {
                    bounds.given += 1;
                    bounds.held += u32::from(real >= *bound);
                }
                Outcome::AtMost { bound, .. } => {
                    bounds.given += 1;
                    bounds.held += u32::from(real <= *bound);
                }
                outcome => {
                    counted.entry(format!("efficiency, {} and above", size.words)).or_default().count(outcome, real)
                }
            }
        }
    }
}

/// Every specimen like the first of its kind: any difference that is called one is a false one.
fn alike(character: Character, first: &RefCell<Option<Character>>) -> Character {
    let mut first = first.borrow_mut();
    let first = first.get_or_insert_with(|| character.clone());
    Character { begins: character.begins, hands: character.hands, ..first.clone() }
}

fn campaigns(normally: u64) -> u64 {
    let asked = std::env::var("LOOPLEAF_CAMPAIGNS").ok().and_then(|text| text.parse().ok());
    asked.unwrap_or(if std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_some() { 2000 } else { normally })
}

#[test]
fn intervals_hold_the_truth() {
    let all = campaigns(12);
    let (mut counted, mut sizes, mut bounds) = (BTreeMap::new(), BTreeMap::new(), Held::default());
    for seed in 1..=all {
        let bench = made_up(FERRY, seed, |_, character| character);
        let results = bench.results();
        restriction_and_capacity(&bench, &results, &mut counted);
        efficiency(&bench, &results, &mut sizes, &mut bounds);
    }
    let counted: BTreeMap<String, Held> =
        counted.into_iter().map(|(what, held)| (what.to_owned(), held)).chain(sizes).collect();
    let mut page = table(&counted);
    let _ = writeln!(
        page,
        "| efficiency, one-sided bounds (too few particles), all sizes | {} | {} | {:.1} | – |",
        bounds.given,
        bounds.held,
        100.0 * bounds.share()
    );
    show("held", &page);
    for (what, held) in &counted {
        // Fewer campaigns scatter more: four standard deviations of a share of 95 %.
        let room = 0.02_f64.max(4.0 * (0.95 * 0.05 / f64::from(held.given.max(1))).sqrt());
        let inside = (held.share() - 0.95).abs() <= room;
        assert!(held.given < 20 || inside, "{what}, {all} campaigns: {} of {}", held.held, held.given);
    }
    assert!(bounds.given == 0 || bounds.share() > 0.93, "bounds hold in {} of {}", bounds.held, bounds.given);
}

fn table(counted: &BTreeMap<String, Held>) -> String {
    let mut page = String::new();
    for (what, held) in counted {
        let _ = writeln!(
            page,
            "| {what} | {} | {} | {:.1} | {} |",
            held.given,
            held.held,
            100.0 * held.share(),
            held.otherwise
        );
    }
    page
}

#[test]
fn equal_specimens_are_not_called_different() {
    let all = campaigns(12);
    let (mut wrong, mut pairs, mut called) = (0_u32, 0_u32, 0_u32);
    let mut by_key = BTreeMap::<String, usize>::new();
    for seed in 1..=all {
        let first = RefCell::new(None);
        let bench = made_up(FERRY, 500_000 + seed, |_, character| alike(character, &first));
        let results = bench.results();
        for measurand in &results.measurands {
            let falsely = measurand.comparison.pairs.iter().filter(|pair| pair.differs).count();
            *by_key.entry(measurand.key.clone()).or_default() += falsely;
        }
        let differ = results.measurands.iter().flat_map(|measurand| &measurand.comparison.pairs);
        pairs += u32::try_from(differ.clone().count()).unwrap();
        let differ = u32::try_from(differ.filter(|pair| pair.differs).count()).unwrap();
        called += differ;
        wrong += u32::from(differ > 0);
    }
    let share = f64::from(wrong) / all as f64;
    show("family", &format!("| {all} | {pairs} | {called} | {wrong} | {:.1} |\n", 100.0 * share));
    let room = if all < 1000 { 4.0 * (0.05 * 0.95 / all as f64).sqrt() } else { 0.0 };
    assert!(pairs > 0, "nothing was compared");
    assert!(share <= 0.05 + room, "{wrong} of {all} campaigns call equal specimens different: {by_key:?}");
}

/// Prints a part of the page, and writes it with both switches on: 2,000 campaigns, blessed.
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn show(part: &str, rows: &str) {
    println!("{rows}");
    if std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_none() || std::env::var_os("LOOPLEAF_BLESS").is_none() {
        return;
    }
    let page = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/how-sure.md");
    let text = std::fs::read_to_string(&page).unwrap();
    let (open, close) = (format!("<!-- {part} -->\n"), format!("<!-- end of {part} -->"));
    let (before, rest) = text.split_once(&open).unwrap();
    let (_, after) = rest.split_once(&close).unwrap();
    std::fs::write(page, format!("{before}{open}{rows}{close}{after}")).unwrap();
}
