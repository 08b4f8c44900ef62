//! Records that keep to the plan: the audit has nothing to say.

use super::bench::bench;

#[test]
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
