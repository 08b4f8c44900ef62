//! Records that keep to the plan: the audit has nothing to say.

use super::bench::{bench, shipped};

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn a_conforming_record_has_no_finding_whatever_its_seed() {
    let mut bench = bench();
    let runs: Vec<String> = bench.plan.runs.iter().map(|run| run.code.clone()).collect();
    let mut audited = 0;
    for seed in 1..=30 {
        let sheets: Vec<_> = runs.iter().map(|run| bench.conforming(run, seed)).collect();
        let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
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
            let findings = bench.audit(&sheets.iter().collect::<Vec<_>>());
            assert!(findings.is_empty(), "{folder}, seed {seed}:\n{}", bench.shown(&findings));
        }
        println!("{folder}: {} runs, 3 seeds, no finding", runs.len());
    }
}
