//! The audit as a page to print, and the log of deviations that belongs to a run's papers.

use serde::Serialize;

use crate::audit::RunState;
use crate::audit::evidence::Standing;
use crate::diagnostic::{Severity, render};
use crate::plan::Plan;
use crate::source::Sources;

/// What the page of the audit says.
#[derive(Debug, Serialize)]
pub struct AuditPage {
    title: String,
    name: String,
    invented: Option<String>,
    fingerprint: String,
    verdict: String,
    /// What keeps the results from being published.
    blocking: Vec<String>,
    runs: Vec<RunPage>,
    /// Findings that stand at no run.
    others: Vec<Line>,
}

#[derive(Debug, Serialize)]
struct RunPage {
    code: String,
    specimen: String,
    test: String,
    recorded: String,
    /// The gravest open finding's weight: what the run is worth.
    grade: &'static str,
    lines: Vec<Line>,
}

#[derive(Debug, Serialize)]
struct Line {
    number: usize,
    code: &'static str,
    severity: &'static str,
    message: String,
    places: Vec<String>,
    why: String,
    help: Option<String>,
    answer: String,
    reason: String,
    by: String,
    when: String,
    blocks: bool,
}

/// The page of the audit, run by run in the order of the plan.
pub fn audit_page(plan: &Plan, states: &[RunState], standings: &[Standing], sources: &Sources) -> AuditPage {
    let mut number = 0;
    let mut line = |standing: &Standing| {
        number += 1;
        let finding = &standing.finding;
        let places = finding.places.iter().filter_map(|place| {
            let source = sources.get(place.source)?;
            let (line, column) = source.line_column(place.span.start);
            Some(format!("{}, line {line}, column {column}: {}", source.name, place.role))
        });
        let answer = standing.answer.as_ref();
        let of = |field: fn(&crate::audit::evidence::Answer) -> &String| {
            answer.map(|a| field(a).clone()).unwrap_or_default()
        };
        Line {
            number,
            code: finding.code.id(),
            severity: finding.severity.word(),
            message: finding.message.clone(),
            places: places.collect(),
            why: finding.why.clone(),
            help: finding.help.clone(),
            answer: of(|a| &a.answer),
            reason: of(|a| &a.why),
            by: of(|a| &a.by),
            when: of(|a| &a.when),
            blocks: standing.blocks(),
        }
    };
    let mut runs = Vec::new();
    for run in &plan.runs {
        let Some(state) = states.iter().find(|state| state.code == run.code && state.rows_recorded > 0) else {
            continue;
        };
        let of_run: Vec<&Standing> = standings.iter().filter(|standing| standing.run == run.code).collect();
        let open = of_run.iter().filter(|standing| standing.answer.is_none());
        let worst = open.map(|standing| standing.finding.severity).max_by_key(|severity| severity.rank());
        runs.push(RunPage {
            code: run.code.clone(),
            specimen: run.specimen.clone(),
            test: plan.test_of(run).map(|test| test.title.clone()).unwrap_or_default(),
            recorded: format!("{} of {}", state.rows_recorded, state.rows_planned),
            grade: match worst {
                Some(Severity::Critical) => "not to be published",
                Some(Severity::Major) => "to be answered or disclosed",
                _ => "in order",
            },
            lines: of_run.into_iter().map(&mut line).collect(),
        });
    }
    let known = |standing: &&Standing| !runs.iter().any(|run| run.code == standing.run);
    let others: Vec<Line> = standings.iter().filter(known).map(&mut line).collect();
    let blocking = standings.iter().filter(|standing| standing.blocks());
    let blocking: Vec<String> = blocking.map(|s| format!("{} {}", s.finding.code.id(), s.finding.message)).collect();
    let findings: Vec<_> = standings.iter().map(|standing| standing.finding.clone()).collect();
    let answered = standings.iter().filter(|standing| standing.answer.is_some()).count();
    AuditPage {
        title: plan.campaign.title.clone(),
        name: plan.campaign.name.clone(),
        invented: plan.campaign.invented.clone(),
        fingerprint: plan.fingerprint.short.clone(),
        verdict: format!("{}; {answered} answered.", render::summary(&findings)),
        blocking,
        runs,
        others,
    }
}

/// The page.
///
/// # Errors
/// When the template does not take the view; a fault of the program.
pub fn audit_html(page: &AuditPage) -> Result<String, tera::Error> {
    let mut tera = tera::Tera::default();
    tera.add_raw_template("audit.html", include_str!("audit.html.tera"))?;
    tera.render("audit.html", &tera::Context::from_serialize(page)?)
}
