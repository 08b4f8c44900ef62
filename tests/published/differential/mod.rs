//! Every function of the trade against an independent implementation over random inputs. `reference/functions.py` made
//! the answers, and `reference/functions.json` names the library and its version beside each group of them.

mod counting;
mod coverage;
mod decisions;
mod dust_and_loop;
mod hydraulics;
mod oil;
mod statistics;

use serde_json::Value;
use std::{cell::RefCell, sync::LazyLock};

/// What a group of random inputs showed.
#[derive(Clone, Debug)]
pub(crate) struct Measured {
    pub(crate) group: String,
    pub(crate) against: String,
    pub(crate) inputs: usize,
    pub(crate) worst: f64,
    pub(crate) tolerance: f64,
}

thread_local! {
    static MEASURED: RefCell<Vec<Measured>> = const { RefCell::new(Vec::new()) };
}

/// Notes a group for the page of the computations, which runs the tests of a file on a thread of its own.
pub(crate) fn note(group: &str, against: String, inputs: usize, worst: f64, tolerance: f64) {
    let measured = Measured { group: group.into(), against, inputs, worst, tolerance };
    MEASURED.with_borrow_mut(|all| all.push(measured));
}

/// Stands for "none" in the answers.
pub(crate) const NONE: f64 = -999.0;

static FUNCTIONS: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("../reference/functions.json")).unwrap());

/// Compares a group of cases: relative, against at least `floor` (in the unit of the output).
fn compare(group: &str, relative: f64, floor: f64, ours: impl Fn(&[f64]) -> Vec<f64>) {
    let groups = FUNCTIONS["groups"].as_object().unwrap();
    let named = groups.iter().find(|(name, _)| name.split(':').next() == Some(group));
    let (_, found) = named.unwrap_or_else(|| panic!("no group {group}"));
    let numbers = |value: &Value| value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect::<Vec<_>>();
    let rows = found["rows"].as_array().unwrap();
    let mut worst = 0.0_f64;
    for row in rows {
        let (inputs, want) = (numbers(&row[0]), numbers(&row[1]));
        let got = ours(&inputs);
        assert_eq!(got.len(), want.len(), "{group}");
        for (i, (got, want)) in got.iter().zip(&want).enumerate() {
            let off = if got == want { 0.0 } else { (got - want).abs() / want.abs().max(floor) };
            assert!(off <= relative, "{group} {inputs:?}, output {i}: {got} against {want}, off by {off:e}");
            worst = worst.max(off);
        }
    }
    note(group, found["against"].as_str().unwrap().into(), rows.len(), worst, relative);
}

/// Runs the tests of all files that compare with an independent implementation, and gathers what they noted.
pub(crate) fn everything() -> Vec<Measured> {
    let files: [&[fn()]; 4] = [
        &[
            counting::counts,
            counting::ratios,
            counting::codes_and_sizes,
            decisions::inputs_and_budgets,
            decisions::draws,
            decisions::risks_and_intervals,
            coverage::half_widths,
            dust_and_loop::dust,
            dust_and_loop::loops,
            dust_and_loop::capacities,
            hydraulics::lines,
            hydraulics::openings,
            hydraulics::heat,
            hydraulics::restrictions,
            oil::viscosities,
            oil::grades,
            oil::densities,
            statistics::fits,
        ],
        &[statistics::comparisons],
        &[
            super::physics_reference::viscosity_curves_in_fifty_digits,
            super::physics_reference::scales_of_viscosity_by_library,
            super::physics_reference::density_in_fifty_digits,
            super::physics_reference::pipes_settling_sweeps_and_heat_by_library,
            super::physics_reference::dust_and_loop_by_quadrature_and_integration,
            super::statistics_reference::counting_agrees_with_scipy,
            super::statistics_reference::ratios_agree_with_scipy_and_statsmodels,
            super::statistics_reference::descriptions_and_fits_agree_with_fractions_and_statsmodels,
            super::statistics_reference::uncertainties_agree_with_the_uncertainties_package_and_mpmath,
        ],
        &[super::statistics_reference::comparisons_agree_with_scipy_and_statsmodels],
    ];
    std::thread::scope(|scope| {
        let running = files.map(|tests| {
            scope.spawn(|| {
                tests.iter().for_each(|test| test());
                MEASURED.take()
            })
        });
        running.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
    })
}
