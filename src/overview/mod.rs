//! How a campaign stands, at a glance: one page that says what is done and what is open, with links to all the rest.

mod papers;

pub use papers::{AuditPage, audit_html, audit_page};

use serde::Serialize;

use crate::audit::RunState;
use crate::diagnostic::{Diagnostic, render};
use crate::plan::{Plan, Waiver};
use crate::source::Sources;

/// What the page says.
#[derive(Debug, Serialize)]
pub struct Overview {
    title: String,
    name: String,
    invented: Option<String>,
    fingerprint: String,
    rig: String,
    /// One sentence: what stands and what is open.
    verdict: String,
    runs: Vec<RunLine>,
    plan_findings: Vec<FindingLine>,
    record_findings: Vec<FindingLine>,
    waivers: Vec<Waiver>,
    campaign_files: Vec<FileLink>,
}

/// A file beside the page.
#[derive(Debug, Clone, Serialize)]
pub struct FileLink {
    pub label: String,
    pub href: String,
}

#[derive(Debug, Serialize)]
struct RunLine {
    code: String,
    specimen: String,
    test: String,
    recorded: String,
    open: usize,
    critical: usize,
    major: usize,
    minor: usize,
    /// `not begun`, `open`, `complete` or `answer needed`.
    state: &'static str,
    files: Vec<FileLink>,
}

#[derive(Debug, Serialize)]
struct FindingLine {
    code: &'static str,
    severity: &'static str,
    message: String,
    places: Vec<String>,
    why: String,
    help: Option<String>,
}

/// The overview of a plan, its runs' states in the order of the plan, and the files of each run.
pub fn view(
    plan: &Plan,
    states: &[RunState],
    plan_findings: &[Diagnostic],
    record_findings: &[Diagnostic],
    sources: &Sources,
    campaign_files: Vec<FileLink>,
    run_files: impl Fn(&str) -> Vec<FileLink>,
) -> Overview {
    let runs: Vec<RunLine> = plan
        .runs
        .iter()
        .filter_map(|run| {
            let state = states.iter().find(|s| s.code == run.code)?;
            let replicate = if run.replicate > 1 { format!(" (replicate {})", run.replicate) } else { String::new() };
            Some(RunLine {
                code: run.code.clone(),
                specimen: format!("{}{replicate}", run.specimen),
                test: plan.test_of(run).map(|t| t.title.clone()).unwrap_or_default(),
                recorded: format!("{} of {}", state.rows_recorded, state.rows_planned),
                open: state.open,
                critical: state.critical,
                major: state.major,
                minor: state.minor,
                state: standing(state),
                files: run_files(&run.code),
            })
        })
        .collect();
    Overview {
        title: plan.campaign.title.clone(),
        name: plan.campaign.name.clone(),
        invented: plan.campaign.invented.clone(),
        fingerprint: plan.fingerprint.short.clone(),
        rig: format!("{} ({}), revision {}", plan.rig.title, plan.rig.name, plan.rig.revision),
        verdict: verdict(&runs, plan_findings),
        plan_findings: plan_findings.iter().map(|f| line(f, sources)).collect(),
        record_findings: record_findings.iter().map(|f| line(f, sources)).collect(),
        waivers: plan.waivers.clone(),
        campaign_files,
        runs,
    }
}

fn standing(state: &RunState) -> &'static str {
    if state.critical > 0 || state.major > 0 {
        "answer needed"
    } else if state.rows_recorded == 0 {
        "not begun"
    } else if state.open > 0 {
        "open"
    } else {
        "complete"
    }
}

fn verdict(runs: &[RunLine], plan_findings: &[Diagnostic]) -> String {
    let count = |wanted: &str| runs.iter().filter(|r| r.state == wanted).count();
    let mut parts = vec![format!("The plan: {}.", render::summary(plan_findings))];
    let states = [
        ("complete", "complete"),
        ("answer needed", "with departures to answer"),
        ("open", "begun"),
        ("not begun", "not begun"),
    ];
    let counted: Vec<String> = states
        .iter()
        .map(|(state, words)| (count(state), words))
        .filter(|(n, _)| *n > 0)
        .map(|(n, w)| format!("{n} {w}"))
        .collect();
    parts.push(format!("Of {} runs: {}.", runs.len(), counted.join(", ")));
    parts.join(" ")
}

fn line(finding: &Diagnostic, sources: &Sources) -> FindingLine {
    let places = finding
        .places
        .iter()
        .filter_map(|place| {
            let source = sources.get(place.source)?;
            let (line, column) = source.line_column(place.span.start);
            Some(format!("{}, line {line}, column {column}: {}", source.name, place.role))
        })
        .collect();
    FindingLine {
        code: finding.code.id(),
        severity: finding.severity.word(),
        message: finding.message.clone(),
        places,
        why: finding.why.clone(),
        help: finding.help.clone(),
    }
}

/// The page.
///
/// # Errors
/// When the template does not take the view; a fault of the program.
pub fn html(overview: &Overview) -> Result<String, tera::Error> {
    let mut tera = tera::Tera::default();
    tera.add_raw_template("index.html", include_str!("index.html.tera"))?;
    tera.render("index.html", &tera::Context::from_serialize(overview)?)
}
