//! Efficiency by size: bare counts against closed forms and against chance, then whole campaigns against their truth.

use loopleaf::record::{Number, Side, Value};
use loopleaf::results::removal::share::{Caught, Challenge, Counts, Doubts, Sides, Tally, caught};
use loopleaf::results::{Design, Outcome, RemovalResult};

use super::bench::{Draw, bound, files, made_up, of_plan};

fn doubts() -> Doubts {
    Doubts {
        scatter: 0.0,
        ground: 0.0,
        moment: 0.0,
        volume: 0.0,
        flow: 0.0,
        meter: String::new(),
        few: 20.0,
        apart: false,
    }
}

fn tally(count: u64, millilitres: f64) -> Option<Tally> {
    Some(Tally { count, volume: millilitres * 1e-6, bottles: 1 })
}

fn one(up: u64, down: u64, later: f64) -> Counts {
    Counts {
        sides: Sides { up: vec![tally(up, 10.0)], down: vec![tally(down, 10.0)] },
        turnovers: Some((0.0, later)),
        turnover: Some(45.0),
    }
}

fn nothing() -> Sides {
    Sides { up: vec![tally(0, 10.0)], down: vec![tally(0, 10.0)] }
}

fn alone(up: u64, down: u64, later: f64) -> Caught {
    caught(&[one(up, down, later)], &nothing(), 0, Challenge::Decays, &doubts())
}

/// A bench of one class or more: particles before at the beginning of the pass in the counted volume, and their share caught.
struct World {
    classes: &'static [(f64, f64)],
    /// Background in the counted volume.
    ground: f64,
    scatter: f64,
    ground_scatter: f64,
    /// Turnovers to the bottle behind and from it to that before, by pair.
    moments: &'static [(f64, f64)],
    /// Half widths: turnovers of a moment, shares of volume and flow.
    moment: f64,
    volume: f64,
    flow: f64,
}

impl World {
    fn truth(&self) -> f64 {
        let all: f64 = self.classes.iter().map(|(n, _)| n).sum();
        self.classes.iter().map(|(n, e)| n * e).sum::<f64>() / all
    }

    fn drawn(&self, dice: &mut Draw) -> (Vec<Counts>, Sides) {
        let even = |dice: &mut Draw, half: f64| half * (2.0 * dice.uniform() - 1.0);
        let faster = (1.0 + even(dice, self.flow)) / (1.0 + even(dice, self.volume));
        let bottle = |dice: &mut Draw, classes: &[f64]| -> Vec<Option<Tally>> {
            let hand = (self.scatter * dice.normal()).exp();
            let ground = self.ground * (1.0 + self.ground_scatter * dice.normal()).max(0.0);
            // Half of the background lies in the smallest class, half of the rest in the next.
            let (mut counts, mut share) = (Vec::new(), 0.5);
            for (place, class) in classes.iter().enumerate() {
                let own = if place + 1 == classes.len() { 2.0 * share } else { share };
                counts.push(dice.poisson((class + ground * own) * hand));
                share /= 2.0;
            }
            let sums = (0..counts.len()).map(|place| tally(counts[place..].iter().sum(), 10.0));
            sums.collect()
        };
        let pairs = self.moments.iter().map(|(behind, later)| {
            let real = |dice: &mut Draw, at: f64| (at + even(dice, self.moment)).max(0.0) * faster;
            let (a, b) = (real(dice, *behind), real(dice, behind + later));
            let down: Vec<f64> = self.classes.iter().map(|(n, e)| n * (1.0 - e) * (-e * a).exp()).collect();
            let up: Vec<f64> = self.classes.iter().map(|(n, e)| n * (-e * b).exp()).collect();
            Counts {
                sides: Sides { up: bottle(dice, &up), down: bottle(dice, &down) },
                turnovers: Some((*behind, behind + later)),
                turnover: Some(45.0),
            }
        });
        let pairs = pairs.collect();
        let empty = vec![0.0; self.classes.len()];
        (pairs, Sides { up: bottle(dice, &empty), down: bottle(dice, &empty) })
    }

    /// Intervals that hold the truth and all of them; bounds likewise; how often nothing is said.
    fn tried(&self, seed: u64) -> ((u32, u32), (u32, u32), u32) {
        let mut dice = Draw(seed);
        let doubts = Doubts {
            scatter: self.scatter,
            ground: self.ground_scatter,
            moment: self.moment * 45.0,
            volume: self.volume,
            flow: self.flow,
            ..doubts()
        };
        let (mut known, mut bounds, mut unsaid) = ((0, 0), (0, 0), 0);
        for _ in 0..draws() {
            let (pairs, clean) = self.drawn(&mut dice);
            let truth = self.truth();
            match caught(&pairs, &clean, 0, Challenge::Decays, &doubts).efficiency {
                Outcome::Known(estimate) => {
                    known.0 += u32::from(estimate.interval.contains(truth));
                    known.1 += 1;
                }
                Outcome::AtLeast { bound, .. } => {
                    bounds.0 += u32::from(bound <= truth);
                    bounds.1 += 1;
                }
                Outcome::AtMost { bound, .. } => {
                    bounds.0 += u32::from(bound >= truth);
                    bounds.1 += 1;
                }
                Outcome::Unsaid { .. } => unsaid += 1,
            }
        }
        (known, bounds, unsaid)
    }
}

/// 2,000 for a full proof; fewer in everyday runs.
fn draws() -> u32 {
    std::env::var("LOOPLEAF_SEEDS").ok().and_then(|text| text.parse().ok()).unwrap_or(400)
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn intervals_from_bare_counts_hold_the_truth() {
    const STILL: World = World {
        classes: &[(1000.0, 0.9)],
        ground: 0.0,
        scatter: 0.0,
        ground_scatter: 0.0,
        moments: &[(0.0, 0.0)],
        moment: 0.0,
        volume: 0.0,
        flow: 0.0,
    };
    const MIXED: &[(f64, f64)] = &[(9000.0, 0.62), (5000.0, 0.75), (2500.0, 0.86), (1200.0, 0.95)];
    let worlds = [
        ("100 behind", World { ..STILL }),
        ("60 behind", World { classes: &[(600.0, 0.9)], ..STILL }),
        ("10 behind", World { classes: &[(1000.0, 0.99)], ..STILL }),
        ("1 behind", World { classes: &[(1000.0, 0.999)], ..STILL }),
        ("half caught", World { classes: &[(400.0, 0.5)], ..STILL }),
        ("background", World { ground: 60.0, ..STILL }),
        ("scatter", World { classes: &[(20_000.0, 0.9)], scatter: 0.05, ..STILL }),
        (
            "scatter and background",
            World { classes: &[(4000.0, 0.95)], ground: 150.0, scatter: 0.05, ground_scatter: 0.2, ..STILL },
        ),
        (
            "three pairs",
            World {
                classes: &[(4000.0, 0.95)],
                ground: 50.0,
                scatter: 0.05,
                ground_scatter: 0.2,
                moments: &[(0.0, 0.0), (0.0, 0.0), (0.0, 0.0)],
                ..STILL
            },
        ),
        (
            "a turnover apart",
            World {
                classes: &[(20_000.0, 0.9)],
                scatter: 0.05,
                moments: &[(0.8, 1.0), (1.0, 0.7), (0.6, 0.9)],
                ..STILL
            },
        ),
        (
            "moments in doubt",
            World {
                classes: &[(20_000.0, 0.9)],
                scatter: 0.05,
                moments: &[(0.8, 1.0), (1.0, 0.7), (0.6, 0.9)],
                moment: 0.08,
                volume: 0.05,
                flow: 0.01,
                ..STILL
            },
        ),
        (
            "a mixture",
            World {
                classes: MIXED,
                scatter: 0.05,
                ground: 100.0,
                ground_scatter: 0.2,
                moments: &[(0.8, 1.0), (1.0, 0.7), (0.6, 0.9)],
                moment: 0.08,
                volume: 0.05,
                flow: 0.01,
            },
        ),
        (
            "a mixture, far apart",
            World {
                classes: MIXED,
                scatter: 0.02,
                ground: 100.0,
                ground_scatter: 0.2,
                moments: &[(0.8, 1.8), (1.0, 1.5), (0.6, 1.9)],
                moment: 0.0,
                volume: 0.0,
                flow: 0.0,
            },
        ),
    ];
    for (seed, (name, world)) in (1..).zip(worlds) {
        let ((held, all), (safe, bounds), unsaid) = world.tried(seed);
        let share = |part: u32, of: u32| 100.0 * f64::from(part) / f64::from(of.max(1));
        println!(
            "{name}: {all} intervals hold {:.1} %, {bounds} bounds {:.1} %, {unsaid} unsaid",
            share(held, all),
            share(safe, bounds)
        );
        // Three standard deviations of what so many draws can show, about 93 to 97.
        let room = 300.0 * (0.95 * 0.05 / f64::from(draws())).sqrt();
        if all > draws() * 9 / 10 {
            assert!((94.5 - room..=95.5 + room).contains(&share(held, all)), "{name}");
        }
        // Near the border between value and bound each is a choice by chance; together they must hold.
        assert!(share(held + safe, all + bounds) >= 94.5 - room, "{name}");
    }
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn whole_campaigns_hold_the_truth() {
    let seeds = std::env::var("LOOPLEAF_SEEDS").ok().and_then(|text| text.parse().ok()).unwrap_or(3);
    let mut known = std::collections::BTreeMap::<String, (u32, u32, f64, f64)>::new();
    let mut bounds = std::collections::BTreeMap::<String, (u32, u32)>::new();
    for seed in 1..=seeds {
        let bench = made_up("ferry-generator-sets", seed, |_, character| character);
        for run in bench.results().runs {
            let Some(removal) = run.removal else { continue };
            let truth = &bench.truth[&run.code];
            if seed == 1 {
                show(&run.code, &removal, |size| truth.captures(size));
            }
            for size in &removal.pooled {
                let real = truth.captures(size.size);
                let held = match &size.efficiency {
                    Outcome::Known(estimate) => {
                        let cell = known.entry(size.words.clone()).or_default();
                        cell.0 += u32::from(estimate.interval.contains(real));
                        cell.1 += 1;
                        let z = (estimate.value - real) / estimate.standard;
                        cell.2 += z;
                        cell.3 += z * z;
                        continue;
                    }
                    Outcome::AtLeast { bound, .. } => *bound <= real,
                    Outcome::AtMost { bound, .. } => *bound >= real,
                    Outcome::Unsaid { .. } => continue,
                };
                let cell = bounds.entry(size.words.clone()).or_default();
                cell.0 += u32::from(held);
                cell.1 += 1;
            }
        }
    }
    let share = |part: u32, of: u32| 100.0 * f64::from(part) / f64::from(of.max(1));
    for (words, (held, all, z, squares)) in &known {
        let n = f64::from(*all);
        println!("{words}: {all} intervals, {:.1} %, z {:.2} ± {:.2}", share(*held, *all), z / n, (squares / n).sqrt());
    }
    for (words, (held, all)) in &bounds {
        println!("{words}: {all} bounds, {:.1} %", share(*held, *all));
    }
    let all = known.values().fold((0, 0), |sum, cell| (sum.0 + cell.0, sum.1 + cell.1));
    let safe = bounds.values().fold((0, 0), |sum, cell| (sum.0 + cell.0, sum.1 + cell.1));
    println!("all intervals: {} of {}, {:.1} %", all.0, all.1, share(all.0, all.1));
    println!("all bounds: {} of {}, {:.1} %", safe.0, safe.1, share(safe.0, safe.1));
    assert!(all.1 > 4 * safe.1, "most sizes have enough particles for a value");
    // One volume and one meter err alike in a campaign: what holds in many campaigns may fail in one.
    assert!(share(all.0, all.1) > if seeds >= 100 { 93.0 } else { 80.0 });
}

#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn show(run: &str, removal: &RemovalResult, truth: impl Fn(f64) -> f64) {
    println!("{run} {:?} {:?}", removal.design, removal.remarks);
    for pair in &removal.pairs {
        println!("  {} {} {:?} {:?} {:?}", pair.down, pair.up, pair.down_after, pair.up_after, pair.turnover);
    }
    for size in &removal.pooled {
        let said = match &size.efficiency {
            Outcome::Known(e) => format!("{:.4} [{:.4}, {:.4}]", e.value, e.interval.low, e.interval.high),
            other => format!("{other:?}"),
        };
        println!("  {} {} {} true {:.4}: {said}", size.words, size.up, size.down, truth(size.size));
    }
}

/// The numbers are scipy's: `tests/published/reference/shares.py`.
#[test]
fn one_pair_agrees_with_a_library_of_statistics() {
    let mut rows = 0;
    for line in include_str!("../published/reference/shares.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().unwrap();
        let found = alone(cells[0].parse().unwrap(), cells[1].parse().unwrap(), number(2));
        match found.efficiency {
            Outcome::Known(estimate) => {
                let found = [estimate.value, estimate.interval.low, estimate.interval.high];
                for (found, wanted) in found.into_iter().zip([number(3), number(4), number(5)]) {
                    assert!((found / wanted - 1.0).abs() < 2e-7, "{line}: {found}");
                }
            }
            Outcome::AtLeast { bound, .. } => {
                assert!(cells[3].is_empty(), "{line}");
                assert!((bound / number(4) - 1.0).abs() < 1e-7, "{line}: {bound}");
                assert!(found.few);
            }
            other => panic!("{line}: {other:?}"),
        }
        rows += 1;
    }
    assert_eq!(rows, 12);
}

#[test]
fn nothing_behind_gives_the_bound_of_three_particles() {
    let found = alone(30_000, 0, 0.0);
    let Outcome::AtLeast { bound, .. } = found.ratio else { panic!("{:?}", found.ratio) };
    assert!((bound / (30_000.0 / 3.0) - 1.0).abs() < 0.002, "{bound}");
    // A clean bottle that was never counted says less, not more.
    let unknown = caught(&[one(30_000, 300, 0.0)], &Sides::default(), 0, Challenge::Decays, &doubts());
    assert!(matches!(unknown.efficiency, Outcome::AtLeast { bound, .. } if bound < 0.99 && bound > 0.985));
}

#[test]
fn the_ratio_is_the_share_turned_over() {
    let found = alone(1000, 100, 0.0);
    let (Outcome::Known(share), Outcome::Known(ratio)) = (found.efficiency, found.ratio) else { panic!() };
    assert!((ratio.value - 10.0).abs() < 1e-9);
    assert!((ratio.interval.low - 1.0 / (1.0 - share.interval.low)).abs() < 1e-9);
    assert!((ratio.interval.high - 1.0 / (1.0 - share.interval.high)).abs() < 1e-9);
}

#[test]
fn pairs_are_pooled_and_not_averaged() {
    // β of 200 and, nothing behind, of anything: their mean means nothing, their counts do.
    let pairs = [one(10_000, 50, 0.0), one(1_000, 0, 0.0)];
    let found = caught(&pairs, &nothing(), 0, Challenge::Decays, &doubts());
    let Outcome::Known(ratio) = found.ratio else { panic!("{:?}", found.ratio) };
    assert!((ratio.value - 220.0).abs() < 1e-6);
    assert_eq!((found.up, found.down), (11_000, 50));
}

/// A bottle that is not what its label says, among pairs that are.
#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn pairs_that_differ_more_than_every_doubt_widen_the_interval() {
    const WORLD: World = World {
        classes: &[(9000.0, 0.62), (5000.0, 0.75), (2500.0, 0.86), (1200.0, 0.95)],
        scatter: 0.05,
        ground: 50.0,
        ground_scatter: 0.2,
        moments: &[(0.8, 1.0), (1.0, 0.7), (0.6, 0.9), (0.9, 0.8)],
        moment: 0.05,
        volume: 0.02,
        flow: 0.01,
    };
    let by = Doubts { scatter: 0.05, ground: 0.2, moment: 0.05 * 45.0, volume: 0.02, flow: 0.01, ..doubts() };
    for (seed, factor) in (1..).zip([1.0, 0.5, 2.0, 5.0]) {
        for behind in [false, true] {
            let mut dice = Draw(seed);
            let (mut held, mut said, mut told, mut named, mut silent) = (0, 0, 0, 0, 0);
            for draw in 0..draws() {
                let (mut pairs, clean) = WORLD.drawn(&mut dice);
                let odd = draw as usize % pairs.len();
                let sides = &mut pairs[odd].sides;
                for tally in if behind { &mut sides.down } else { &mut sides.up }.iter_mut().flatten() {
                    tally.count = (tally.count as f64 * factor).round() as u64;
                }
                let found = caught(&pairs, &clean, 0, Challenge::Decays, &by);
                told += u32::from(!found.apart.is_empty());
                named += u32::from(found.apart.first() == Some(&odd));
                match found.efficiency {
                    Outcome::Known(estimate) => {
                        held += u32::from(estimate.interval.contains(WORLD.truth()));
                        said += 1;
                    }
                    // So much behind that no filter lets it through: nothing is said of it either way.
                    Outcome::Unsaid { .. } if found.apart.is_empty() => silent += 1,
                    _ => {}
                }
            }
            println!(
                "times {factor}, behind {behind}: told {told}, named {named} of {}; {held} of {said} hold",
                draws()
            );
            if factor == 1.0 {
                assert!(told <= draws() / 100, "pairs that agree are taken for others in {told} of {}", draws());
            } else {
                assert!(told + silent >= draws() * 99 / 100 && named >= told * 9 / 10, "{told} told, {named} named");
            }
            assert!(held * 100 >= said * 93, "{held} of {said} intervals hold the truth");
        }
    }
}

#[test]
fn two_pairs_that_contradict_each_other_say_nothing() {
    let found = caught(&[one(10_000, 100, 0.0), one(10_000, 1_000, 0.0)], &nothing(), 0, Challenge::Decays, &doubts());
    let Outcome::Unsaid { why } = found.efficiency else { panic!("{:?}", found.efficiency) };
    assert!(why.contains("differ"), "{why}");
    assert_eq!(found.apart.len(), 2);
    let alike = caught(&[one(10_000, 100, 0.0), one(10_000, 120, 0.0)], &nothing(), 0, Challenge::Decays, &doubts());
    assert!(alike.apart.is_empty() && alike.efficiency.known().is_some());
}

#[test]
fn a_later_bottle_before_the_filter_is_brought_to_the_moment_of_that_behind() {
    // 40 % let through, of which one turnover later 100 e^(−0.6) are left: uncorrected it would pass for 27 %.
    let up = (100_000.0 * (-0.6_f64).exp()).round() as u64;
    let Outcome::Known(share) = alone(up, 40_000, 1.0).efficiency else { panic!() };
    assert!((share.value - 0.6).abs() < 1e-4, "{}", share.value);
    // Two turnovers later a filter that catches a fifth leaves the same counts as one that catches this much.
    let up = (100_000.0 * (-2.0 * 0.6_f64).exp()).round() as u64;
    let Outcome::AtMost { bound, why } = alone(up, 40_000, 2.0).efficiency else { panic!() };
    assert!(bound > 0.6 && bound < 0.65 && why.contains("2.0 turnovers"), "{bound} {why}");
}

#[test]
fn the_correction_never_turns_over() {
    for later in [-1.0, 0.0, 0.5, 0.9, 1.5] {
        let mut last = f64::INFINITY;
        for behind in [30_u64, 100, 300, 1000, 3000, 9000] {
            let value = match alone(10_000, behind, later).efficiency {
                Outcome::Known(estimate) => estimate.value,
                Outcome::AtMost { bound, .. } => bound,
                other => panic!("{other:?}"),
            };
            assert!(value < last, "{later} {behind}: {value} after {last}");
            last = value;
        }
    }
}

#[test]
fn every_doubt_widens_the_interval() {
    let width = |doubts: &Doubts| {
        let Outcome::Known(e) = caught(&[one(10_000, 900, 0.8)], &nothing(), 0, Challenge::Decays, doubts).efficiency
        else {
            panic!()
        };
        e.interval.high - e.interval.low
    };
    let least = width(&doubts());
    for more in [
        Doubts { scatter: 0.05, ..doubts() },
        Doubts { moment: 5.0, ..doubts() },
        Doubts { volume: 0.05, ..doubts() },
        Doubts { flow: 0.05, ..doubts() },
    ] {
        assert!(width(&more) > 1.02 * least, "{more:?}");
    }
}

fn pooled<'r>(results: &'r loopleaf::results::Results, run: &str) -> &'r RemovalResult {
    results.runs.iter().find(|found| found.code == run).unwrap().removal.as_ref().unwrap()
}

fn at<'r>(removal: &'r RemovalResult, words: &str) -> &'r loopleaf::results::SizeResult {
    removal.pooled.iter().find(|size| size.words == words).unwrap()
}

fn width(outcome: &Outcome) -> f64 {
    let Outcome::Known(estimate) = outcome else { panic!("{outcome:?}") };
    estimate.interval.high - estimate.interval.low
}

/// Thin and strange input: less is said, and why.
#[test]
fn what_is_missing_takes_something_away() {
    let mut bench = made_up("ferry-generator-sets", 3, |_, character| character);
    let whole = bench.results();
    let run = whole.runs.iter().find(|run| run.removal.is_some()).unwrap().code.clone();
    let full = pooled(&whole, &run).clone();
    assert!(full.pairs.len() >= 2 && full.remarks.is_empty(), "{:?}", full.remarks);
    let best = "14 µm(c)";
    let laboratory = bench.laboratory.clone();
    let of = |label: &str, of: &str| label == of || label == format!("{of}T");

    // The same counts in other dress.
    let file = &mut bench.laboratory[0];
    file.counts.basis = "per 100 mL".to_owned();
    file.counts.cumulative = false;
    file.counts.dilution_applied = Some(false);
    for row in 0..file.results.len() {
        let dilution = file.number(&file.results[row], &loopleaf::plan::Holds::Dilution).unwrap_or(1.0);
        let counts = &mut file.results[row].counts;
        for place in 0..counts.len() {
            let next = counts.get(place + 1).and_then(|next| next.value.number()).map_or(0.0, |next| next.value);
            let own = counts[place].value.number().unwrap();
            let value = (own.value - next) * 100.0 / dilution;
            counts[place].value = Value::Number(Number { value, decimals: 4 });
        }
    }
    let dressed = bench.results();
    for (one, other) in full.pooled.iter().zip(&pooled(&dressed, &run).pooled) {
        // A rounded difference here and there.
        assert!(one.up.abs_diff(other.up) <= 20 && one.down.abs_diff(other.down) <= 20, "{one:?} {other:?}");
    }

    // No clean bottle at all: a bound only.
    bench.laboratory = laboratory.clone();
    let dusty: Vec<String> = full.pairs.iter().flat_map(|pair| [pair.up.clone(), pair.down.clone()]).collect();
    bench.laboratory[0].results.retain(|row| dusty.iter().any(|label| of(row.label(), label)));
    let bare = bench.results();
    let bare = pooled(&bare, &run);
    let Outcome::AtLeast { bound, .. } = at(bare, best).efficiency else { panic!("{:?}", at(bare, best)) };
    let Outcome::Known(known) = &at(&full, best).efficiency else { panic!() };
    assert!(bound < known.value && bare.remarks.iter().any(|remark| remark.contains("No clean bottle")));

    // A bottle of a pair is missing: the pair is left out, the rest says less.
    bench.laboratory = laboratory.clone();
    let lost = full.pairs[0].down.clone();
    bench.laboratory[0].results.retain(|row| !of(row.label(), &lost));
    let fewer = bench.results();
    let fewer = pooled(&fewer, &run);
    assert!(width(&at(fewer, best).efficiency) > width(&at(&full, best).efficiency));
    assert!(fewer.remarks.iter().any(|remark| remark.contains(&lost)), "{:?}", fewer.remarks);
    assert!(matches!(fewer.pairs[0].sizes[0].efficiency, Outcome::Unsaid { .. }));

    // Too many to count in one bottle, at one size: that pair, at that size.
    bench.laboratory = laboratory.clone();
    for row in bench.laboratory[0].results.iter_mut().filter(|row| of(row.label(), &lost)) {
        row.counts[3].value = Value::TooNumerous;
    }
    let numerous = bench.results();
    let numerous = pooled(&numerous, &run);
    assert!(at(numerous, best).down < at(&full, best).down);
    assert_eq!(at(numerous, "21 µm(c)").down, at(&full, "21 µm(c)").down);
    assert!(numerous.remarks.iter().any(|remark| remark.contains("TNTC")), "{:?}", numerous.remarks);

    // A bound in every bottle, or no cell: the size is left out, and why.
    for (value, why) in [
        (Value::Censored(Side::Below, Number { value: 0.5, decimals: 1 }), "only a bound"),
        (Value::Empty, "no count"),
        (Value::NotDone, "ND"),
    ] {
        bench.laboratory = laboratory.clone();
        for row in &mut bench.laboratory[0].results {
            row.counts[3].value = value.clone();
        }
        let none = bench.results();
        let Outcome::Unsaid { why: said } = &at(pooled(&none, &run), best).efficiency else { panic!() };
        assert!(said.contains(why), "{said}");
        assert!(at(pooled(&none, &run), best).up == 0);
    }

    // Nobody knows how much oil there is: the counts cannot be brought to one moment.
    bench.laboratory = laboratory.clone();
    let plan = bench.plan.clone();
    for route in bench.plan.rig.routes.values_mut() {
        route.volume = None;
    }
    let adrift = bench.results();
    let Outcome::AtLeast { bound, .. } = at(pooled(&adrift, &run), best).efficiency else { panic!() };
    assert!(bound < known.value);
    assert!(pooled(&adrift, &run).remarks.iter().any(|remark| remark.contains("one moment")));

    // The oil went round while dust was added: counts, and no efficiency.
    bench.plan = plan;
    for test in &mut bench.plan.tests {
        test.dosing = Some("recirculating batches".to_owned());
    }
    let residual = bench.results();
    let residual = pooled(&residual, &run);
    assert_eq!(residual.design, Design::Residual);
    assert!(residual.claims.contains("no efficiency"));
    for size in residual.pooled.iter().chain(residual.pairs.iter().flat_map(|pair| &pair.sizes)) {
        assert!(matches!(size.efficiency, Outcome::Unsaid { .. }) && matches!(size.ratio, Outcome::Unsaid { .. }));
    }
    assert_eq!(at(residual, best).up, at(&full, best).up);

    // No file of the laboratory at all.
    bench.laboratory.clear();
    let nothing = bench.results();
    let nothing = pooled(&nothing, &run);
    assert!(nothing.pooled.is_empty() && !nothing.remarks.is_empty());
}

/// One place counted four times after each dose: the slope, and nothing where there are too few bottles for one.
#[test]
fn the_slope_of_a_decay_gives_the_share_caught() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let path = "protocols/dust-loading.leaf";
    let text = std::fs::read_to_string(root.join(path)).unwrap();
    let text = text.replace("dosing mixed batch then one pass", "dosing decay");
    let start = text.find("      sample upstream up after batches").unwrap();
    let end = start + text[start..].find("\n      }\n").unwrap() + "\n      }\n".len();
    let sample = &text[start..end];
    let again = |name: &str| {
        let sample = sample.replace("upstream up after", &format!("upstream {name} after"));
        sample.replace(", paired with down", "")
    };
    let changed = format!("{}{}{}{}{}", &text[..end], again("up-2"), again("up-3"), again("up-4"), &text[end..]);
    let folder = "ferry-generator-sets";
    let (plan, sources) = bound(&files(folder).with(path, changed), folder);
    let bench = of_plan(plan, sources, 4, |_, character| character);
    let results = bench.results();
    let (mut compared, mut held, mut near) = (0, 0, 0);
    for run in &results.runs {
        let Some(removal) = &run.removal else { continue };
        assert_eq!(removal.design, Design::Decay);
        for size in &removal.pooled {
            let Outcome::AtLeast { bound, .. } = &size.efficiency else { continue };
            let truth = bench.truth[&run.code].captures(size.size);
            held += u32::from(*bound <= truth);
            near += u32::from(*bound > truth - 0.25);
            compared += 1;
        }
    }
    // A bound is all that a mixture allows: it must hold, and say something at least where one class rules.
    assert!(held + 1 >= compared && near > 0, "{held} of {compared} held, {near} near");
    assert!(compared > 10, "{compared}");

    let mut few = made_up(folder, 4, |_, character| character);
    for test in &mut few.plan.tests {
        test.dosing = Some("decay".to_owned());
    }
    let results = few.results();
    let removal = results.runs.iter().find_map(|run| run.removal.as_ref()).unwrap();
    assert!(removal.remarks.iter().any(|remark| remark.contains("three bottles")), "{:?}", removal.remarks);
    assert!(removal.pooled.iter().all(|size| matches!(size.efficiency, Outcome::Unsaid { .. })));
}
