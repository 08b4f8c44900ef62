//! From the plan to what the pages say.

use thiserror::Error;

use crate::plan::{Plan, telling_words};

use super::cover::{campaign, run_sheet};
use super::page::View;
use super::words::ENGLISH;

/// Which sheets are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope<'a> {
    /// The campaign's own sheets and those of every run.
    Everything,
    /// The campaign's own sheets only.
    Campaign,
    /// The sheets of the run with this code.
    Run(&'a str),
}

/// Why there are no sheets.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ViewError {
    /// No run has this code.
    #[error("no run of this campaign is called `{0}`")]
    NoSuchRun(String),
}

/// What the worksheets of a plan say: every text in its final wording, every number rounded, every unit in place.
///
/// # Errors
/// When a run is asked for that the plan does not have.
pub fn view(plan: &Plan, scope: Scope<'_>) -> Result<View, ViewError> {
    let sheets = |code: Option<&str>| {
        plan.runs
            .iter()
            .filter(|run| code.is_none_or(|code| run.code == code))
            .filter_map(|run| plan.test_of(run).map(|test| run_sheet(plan, run, test)))
            .collect::<Vec<_>>()
    };
    let title = &plan.campaign.title;
    let hides = if plan.campaign.blind { telling_words(plan) } else { Vec::new() };
    Ok(match scope {
        Scope::Everything => View {
            title: format!("Worksheets: {title}"),
            words: ENGLISH,
            campaign: Some(campaign(plan)),
            runs: sheets(None),
            hides,
        },
        Scope::Campaign => View {
            title: format!("Campaign sheets: {title}"),
            words: ENGLISH,
            campaign: Some(campaign(plan)),
            runs: Vec::new(),
            hides,
        },
        Scope::Run(code) => {
            let runs = sheets(Some(code));
            if runs.is_empty() {
                return Err(ViewError::NoSuchRun(code.to_owned()));
            }
            View { title: format!("Worksheets of run {code}: {title}"), words: ENGLISH, campaign: None, runs, hides }
        }
    })
}
