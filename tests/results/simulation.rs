//! Many campaigns with known truth: do the 95 % intervals hold it in 95 of 100 cases, and are equal specimens called equal?

use std::collections::BTreeMap;

use loopleaf::results::{Outcome, Results};

use super::bench::{Bench, made_up};

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

#[test]
#[expect(clippy::print_stdout, reason = "the numbers are the evidence")]
fn intervals_hold_the_truth() {
    let campaigns = if std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_some() { 2000 } else { 40 };
    let mut counted = BTreeMap::new();
    for seed in 1..=campaigns {
        let bench = made_up("ferry-generator-sets", seed, |_, character| character);
        restriction_and_capacity(&bench, &bench.results(), &mut counted);
    }
    for (what, held) in &counted {
        println!(
            "{what}: {} of {} ({:.1} %), {} not an interval",
            held.held,
            held.given,
            100.0 * held.share(),
            held.otherwise
        );
        // Four standard deviations of the count beside 93 to 97 %.
        let room = 4.0 * (0.95 * 0.05 / f64::from(held.given)).sqrt();
        assert!(
            held.share() > 0.95 - 0.02_f64.max(room) && held.share() < 0.95 + 0.02_f64.max(room),
            "{what}: {}",
            held.share()
        );
    }
}
