//! Results: what plan and records lead to, with the doubt of every number, and nothing where nothing can be said.
//!
//! A run is reduced by itself first ([`RunResults`]), from the cells that may be used: a cell with an open critical or major
//! finding is left out and listed. Then specimens are compared ([`Measurand`]), and the campaign's questions are answered.

mod compare;
mod estimate;
mod loading;
mod mechanics;
mod model;
mod oil;
pub mod removal;
mod restriction;
mod sheet;

pub use compare::{Name, answers, compare_all, compared};
pub(crate) use estimate::rounded_bound;
pub use estimate::{Estimate, Outcome, Source};
pub use model::*;
pub use sheet::Input;

use crate::audit::log::ByRun;
use rayon::prelude::*;
use sheet::Sheet;

/// The results of a campaign.
pub fn results(input: &Input<'_>) -> Results {
    let rows = ByRun::new(input.records);
    let sheets = input.plan.runs.par_iter().filter_map(|run| Sheet::new(input, &rows, run));
    let runs = sheets.map(|sheet| of_run(&sheet)).collect();
    compared(input.plan, input.standings, runs)
}

fn of_run(sheet: &Sheet<'_>) -> RunResults {
    RunResults {
        code: sheet.log.run.code.clone(),
        test: sheet.log.run.test,
        specimen: sheet.log.run.specimen.clone(),
        course: sheet.course(),
        date: sheet.date(),
        set_aside: sheet.set_aside(),
        left_out: sheet.left_out(),
        restrictions: restriction::restrictions(sheet),
        loading: loading::loading(sheet),
        removal: removal::removal(sheet),
        mechanics: mechanics::mechanics(sheet),
        observations: mechanics::observations(sheet),
    }
}
