//! What the laboratory and the bench may read: codes, not makers.

use super::super::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Model, Origin, Plan};

/// Letters and digits alone, in capitals.
fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect()
}

/// Whether a text holds one of these words, however it is written.
fn holds<'w>(text: &str, mut words: impl Iterator<Item = &'w str>) -> bool {
    let text = plain(text);
    words.any(|word| word.chars().filter(|c| c.is_alphanumeric()).count() >= 3 && text.contains(&plain(word)))
}

/// A model's title without what stands in brackets, where it has more words than one: `glass` alone is in any sight glass.
fn title(model: &Model) -> Option<&str> {
    let title = model.title.split('(').next().unwrap_or_default().trim();
    title.contains(' ').then_some(title)
}

/// A code that tells its model.
fn code_tells(code: &str, model: &Model) -> bool {
    holds(code, std::iter::once(model.name.as_str()).chain(title(model)))
}

/// A sentence that tells a model: by its title, or by a name that is no word of everyday.
fn sentence_tells(sentence: &str, model: &Model) -> bool {
    let name = Some(model.name.as_str()).filter(|name| name.contains(|c: char| c.is_ascii_digit() || c == '-'));
    holds(sentence, name.into_iter().chain(title(model)))
}

/// Labels carry the codes of specimens, and all papers the texts of the plan.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    let sent = plan.tests.iter().any(|test| super::drawn(test).any(|(_, _, bottle)| !bottle.tests.is_empty()));
    if sent || plan.campaign.blind {
        codes(plan, sent, findings);
    }
    if plan.campaign.blind {
        papers(plan, findings);
    }
}

fn codes(plan: &Plan, sent: bool, findings: &mut Findings) {
    let models: Vec<&Model> = plan.campaign.models.values().collect();
    if models.len() < 2 {
        return;
    }
    for specimen in plan.campaign.specimens.values() {
        let Some(model) = specimen.model.as_ref().and_then(|name| plan.campaign.models.get(name)) else { continue };
        if !code_tells(&specimen.code, model) {
            continue;
        }
        let place = if sent { "every bottle label" } else { "all papers" };
        findings.add(
            finding(
                Code::LabelTellsMaker,
                format!("the code `{}` stands on {place} and names the model `{}`", specimen.code, model.name),
                specimen.origin,
                "this code",
            )
            .and(model.origin, "this model")
            .help("give it a code that says nothing, such as a letter and a digit drawn from a hat, and keep the list away from the bench"),
        );
    }
}

fn papers(plan: &Plan, findings: &mut Findings) {
    for test in &plan.tests {
        let stages = test.stages.iter().map(|stage| (stage.title.as_str(), stage.origin));
        let steps = test.steps.iter().filter_map(|step| match &step.action {
            Action::Note { text }
            | Action::Confirm { text }
            | Action::HoldPoint { text }
            | Action::Caution { text } => Some((text.as_str(), step.origin)),
            _ => None,
        });
        let title = (test.title.as_str(), test.origin);
        let said: Option<(&str, Origin, &Model)> =
            std::iter::once(title).chain(stages).chain(steps).find_map(|(text, at)| {
                plan.campaign.models.values().find(|model| sentence_tells(text, model)).map(|model| (text, at, model))
            });
        let Some((text, at, model)) = said else { continue };
        findings.add(
            finding(
                Code::LabelTellsMaker,
                format!("the papers of `{}` name the model `{}`, which they are to hide", test.name, model.name),
                at,
                format!("“{text}”"),
            )
            .and(model.origin, "this model")
            .and(plan.campaign.origin, "`blind models hidden on all papers`")
            .help("name the specimen by its code, or write what is meant without the maker"),
        );
    }
}
