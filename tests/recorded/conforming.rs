//! Records that keep to the plan: the audit has nothing to say.

use loopleaf::audit::Finding;
use loopleaf::diagnostic::Code;
use loopleaf::rehearsal::Character;

use super::bench::{bench, shipped};

/// An honest value may lie near the edge of its window, or be small for its gauge: that is noted, and no departure.
fn beyond_accuracy(finding: &Finding) -> bool {
    !matches!(finding.code, Code::OnTheFence | Code::TooSmallForGauge)
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn a_conforming_record_has_no_finding_whatever_its_seed() {
    let mut bench = bench();
    let runs: Vec<String> = bench.plan.runs.iter().map(|run| run.code.clone()).collect();
    let mut audited = 0;
    for seed in 1..=30 {
        let sheets: Vec<_> = runs.iter().map(|run| bench.conforming(run, seed)).collect();
        let mut findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
        findings.retain(beyond_accuracy);
        audited += sheets.len();
        assert!(findings.is_empty(), "seed {seed}:\n{}", bench.shown(&findings));
    }
    println!("{audited} conforming runs, no finding");
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn made_up_records_of_the_shipped_campaigns_conform() {
    for folder in ["ferry-generator-sets", "snow-plough-returns"] {
        let mut bench = shipped(folder);
        let runs: Vec<String> = bench.plan.runs.iter().map(|run| run.code.clone()).collect();
        for seed in 1..=3 {
            let sheets: Vec<_> = runs.iter().map(|run| bench.conforming(run, seed)).collect();
            let mut findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
            findings.retain(beyond_accuracy);
            assert!(findings.is_empty(), "{folder}, seed {seed}:\n{}", bench.shown(&findings));
        }
        println!("{folder}: {} runs, 3 seeds, no finding", runs.len());
    }
}

/// Benches that scatter more than a good one does, filters that clog at once or hardly, straight and sharply bent loading
/// curves: none of that is a departure.
#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn honest_scatter_and_odd_filters_are_not_called_departures() {
    let mut bench = bench();
    let runs: Vec<String> = bench.plan.runs.iter().map(|run| run.code.clone()).collect();
    let seeds = std::env::var("LOOPLEAF_SEEDS").ok().and_then(|text| text.parse().ok()).unwrap_or(12);
    let mut audited = 0;
    for seed in 1..=seeds {
        let draw = |salt: u64, low: f64, high: f64| {
            let mixed = (seed * 1_000 + salt).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            low + (high - low) * ((mixed >> 40) as f64 / f64::from(1 << 24))
        };
        let mut sheets = Vec::new();
        for (salt, run) in (1..).zip(&runs) {
            let typical = Character::typical(&bench.plan, bench.plan.run(run).unwrap(), seed);
            let character = Character {
                laminar: typical.laminar * draw(salt, 0.4, 1.6),
                inertial: typical.inertial * draw(10 + salt, 0.2, 1.8),
                capacity: typical.capacity * draw(20 + salt, 0.5, 2.5),
                bend: draw(30 + salt, 0.0, 3.5),
                scatter: draw(40 + salt, 0.002, 0.025),
                pace: draw(50 + salt, 0.7, 2.0),
                ..typical
            };
            sheets.push(bench.made_up(run, seed, &character));
        }
        let mut findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
        findings.retain(beyond_accuracy);
        audited += sheets.len();
        assert!(findings.is_empty(), "seed {seed}:\n{}", bench.shown(&findings));
    }
    println!("{audited} runs with scatter up to 2.5 %, no finding");
}
