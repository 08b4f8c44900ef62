//! Many campaigns with known truth: do the 95 % intervals hold it in 95 of 100 cases?

use loopleaf::results::Outcome;

use super::bench::made_up;

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn intervals_hold_the_truth() {
    let mut count = std::collections::BTreeMap::<String, (u32, u32, f64)>::new();
    for seed in 1..=40 {
        let bench = made_up("ferry-generator-sets", seed, |_, character| character);
        let results = bench.results();
        for run in &results.runs {
            let truth = &bench.truth[&run.code];
            for sweep in &run.restrictions {
                for (flow, outcome) in &sweep.at {
                    let Outcome::Known(estimate) = outcome else { panic!("{outcome:?}") };
                    let real = truth.laminar * flow * sweep.viscosity + truth.inertial * flow * flow;
                    let cell = count.entry(format!("{} {:.1}", sweep.stage, flow * 6e4)).or_default();
                    cell.0 += 1;
                    cell.1 += u32::from(estimate.interval.contains(real));
                    cell.2 += (estimate.value - real) / estimate.standard;
                    if seed == 1 && run.code == "R01" {
                        println!("{} {flow:.6} {real:.1} {:.1} {:?} {:#?}", sweep.stage, estimate.value, estimate.interval, estimate.sources);
                    }
                }
            }
            if let Some(loading) = &run.loading {
                let Outcome::Known(estimate) = &loading.capacity else { println!("{:?}", loading.capacity); continue };
                let cell = count.entry("capacity".to_owned()).or_default();
                cell.0 += 1;
                cell.1 += u32::from(estimate.interval.contains(truth.capacity));
                cell.2 += (estimate.value - truth.capacity) / estimate.standard;
                if seed == 1 {
                    println!("{} {:?} {:#?} {:?}", truth.capacity, estimate.interval, estimate.sources, loading.remarks);
                }
            }
        }
    }
    for (what, (all, held, z)) in count {
        println!("{what}: {held}/{all} {:.1} % mean z {:.2}", 100.0 * f64::from(held) / f64::from(all), z / f64::from(all));
    }
}
