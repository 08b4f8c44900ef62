//! A plan on paper before it is run: how long it takes, what it needs, what the gauges will show, what it can tell apart.
//!
//! [`Rehearsal`] holds the numbers, in SI; [`page`] turns them into words, tables and pictures for people, and [`text`] and
//! [`html`] lay those out. [`synthetic_csv`] writes a made-up record of a run from the same physics.

mod assumption;

mod course;

mod difference;

mod needs;

mod page;

mod picture;

mod pressure;

mod render;

mod sample;

mod say;

mod synthetic;

mod time;

use serde::Serialize;

pub use assumption::Assumption;
pub use course::{Course, Rounds, Work};
pub use difference::Difference;
pub use needs::{Bill, Needs, Stock};
pub use page::{Page, Part, Section, Table, page};
pub use pressure::{Loading, Pressure};
pub use render::{HtmlError, html, text};
pub use sample::{Bottled, Level, LevelPoint, SizeCount, Verdict};
pub use synthetic::{Character, laboratory_csv, laboratory_csv_of, synthetic_csv};
pub use time::{Day, Days, RunTime, Sitting, StageTime};

use crate::plan::{Plan, Run};

/// A plan on paper. Numbers in coherent SI: s, m³, kg, Pa, m³/s, m²/s; counts per m³; money in its currency.
#[derive(Debug, Clone, Serialize)]
pub struct Rehearsal {
    /// The one run that was asked for; the whole campaign where there is none.
    pub run: Option<String>,
    pub runs: Vec<RunTime>,
    pub days: Days,
    pub needs: Needs,
    pub pressures: Vec<Pressure>,
    pub loadings: Vec<Loading>,
    pub levels: Vec<Level>,
    pub bottles: Vec<Bottled>,
    pub differences: Vec<Difference>,
    pub assumptions: Vec<Assumption>,
}

/// Carries a campaign out on paper, or one of its runs.
pub fn rehearse(plan: &Plan, run: Option<&str>) -> Rehearsal {
    let chosen: Vec<&Run> = plan.runs.iter().filter(|r| run.is_none_or(|code| r.code == code)).collect();
    let courses = course::courses(plan, &chosen);
    let runs = time::runs(&chosen, &courses);
    Rehearsal {
        run: run.map(str::to_owned),
        days: time::days(plan, &runs, &courses),
        needs: needs::needs(plan, &chosen, &courses),
        pressures: pressure::pressures(&courses),
        loadings: pressure::loadings(&courses),
        levels: sample::levels(&courses),
        bottles: sample::bottles(&courses),
        differences: difference::differences(plan, &courses),
        assumptions: assumption::assumptions(plan, &courses),
        runs,
    }
}
