//! What a question says answers it, against what the plan leads to.

use super::super::{Also, Findings, finding};
use crate::diagnostic::{Code, Diagnostic};
use crate::plan::{Plan, result_keys};

/// As many results are named as a line of help can hold.
const NEAREST: usize = 4;

/// Results that a question names and no test gives.
pub(super) fn questions(plan: &Plan, findings: &mut Findings) {
    if plan.campaign.asks.iter().all(Vec::is_empty) {
        return;
    }
    let known = result_keys(plan);
    for ask in plan.campaign.asks.iter().flatten() {
        if known.iter().any(|result| result.key == ask.key) {
            continue;
        }
        let test = plan
            .tests
            .iter()
            .find(|test| ask.key.strip_prefix(test.name.as_str()).is_some_and(|rest| rest.starts_with('/')));
        let message = match test {
            Some(test) => format!("the test `{}` gives no result called `{}`", test.name, ask.key),
            None => format!("no test of the campaign gives a result called `{}`", ask.key),
        };
        let mut near: Vec<(f64, &str)> =
            known.iter().map(|result| (strsim::jaro_winkler(&ask.key, &result.key), result.key.as_str())).collect();
        near.sort_by(|one, other| other.0.total_cmp(&one.0));
        let lines: Vec<String> =
            near.iter().take(NEAREST).map(|(_, key)| format!("`{} {key}`", ask.way.words())).collect();
        let help = if lines.is_empty() {
            "no test of this campaign measures anything that specimens could be compared by; take the line out"
                .to_owned()
        } else {
            format!("write {}", one_of(&lines))
        };
        let size = ask.key.split_once("/capture at ").map(|(_, size)| size.to_owned());
        findings.add(Diagnostic {
            about: size,
            ..finding(Code::ResultUnknown, message, ask.origin, "this result")
                .and_maybe(test.and_then(|test| test.asked), "this test")
                .help(help)
        });
    }
}

/// `a`, `b` or `c`.
fn one_of(lines: &[String]) -> String {
    match lines {
        [only] => only.clone(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
        [] => String::new(),
    }
}
