//! Rule packs.

use crate::diagnostic::Severity;
use crate::plan::library::Declaration;
use crate::plan::model::{Caution, Hazard, Rules, WasteRoute};
use crate::plan::read::Context;
use crate::source::SourceId;
use crate::syntax::tree::{Condition, Part, Statement};

/// A check of the bench's own, to be evaluated on every subject of a plan.
#[derive(Debug)]
pub(crate) struct HouseRule<'t> {
    pub(crate) name: String,
    pub(crate) title: String,
    pub(crate) subject: String,
    pub(crate) filter: Option<&'t Condition>,
    pub(crate) require: &'t Condition,
    pub(crate) message: String,
    pub(crate) because: Option<String>,
    pub(crate) severity: Severity,
    pub(crate) source: SourceId,
    pub(crate) statement: &'t Statement,
}

/// Adds a pack to the rules in force. What a later pack says of the same name wins.
pub(crate) fn read_rules<'t>(
    declaration: &Declaration<'t>,
    context: &Context<'_>,
    rules: &mut Rules,
) -> Vec<HouseRule<'t>> {
    let mut house = Vec::new();
    rules.packs.push((declaration.name.clone(), declaration.title.clone()));
    for s in &declaration.statement.block {
        match s.key() {
            "window" | "threshold" => {
                let Some((name, value)) = context.text(s, "name").zip(context.quantity(s, "value")) else { continue };
                let value = context.marked(s, value);
                let table = if s.key() == "window" { &mut rules.windows } else { &mut rules.thresholds };
                table.insert(name, value);
            }
            "caution" => {
                let parts = (context.text(s, "name"), context.text(s, "trigger"), context.text(s, "text"));
                let (Some(name), Some(trigger), Some(text)) = parts else { continue };
                let Some(hazard) = Hazard::from_words(&trigger) else { continue };
                rules.cautions.retain(|c| c.name != name);
                rules.cautions.push(Caution { name, hazard, text, mark: context.mark(s) });
            }
            "stop if" => rules.stop_if.extend(context.text(s, "text")),
            "reject a run if" => rules.reject_if.extend(context.text(s, "text")),
            "if a run changes" => rules.on_change.extend(context.text(s, "text")),
            "emergency" => rules.emergency.extend(context.text(s, "text")),
            "protect" => {
                if let Some(equipment) = context.text(s, "equipment") {
                    let hazard = context.text(s, "trigger").and_then(|t| Hazard::from_words(&t));
                    rules.protection.push((equipment, hazard.unwrap_or(Hazard::Always)));
                }
            }
            "waste" => {
                // The later pack knows where this bench's waste goes.
                if let Some((what, route)) = context.text(s, "what").zip(context.text(s, "route")) {
                    rules.waste.retain(|known| known.what != what);
                    rules.waste.push(WasteRoute { what, route });
                }
            }
            "rule" => house.extend(read_rule(s, context)),
            _ => {}
        }
    }
    for rule in &house {
        rules.house.push((rule.name.clone(), rule.title.clone()));
    }
    house
}

fn read_rule<'t>(statement: &'t Statement, context: &Context<'_>) -> Option<HouseRule<'t>> {
    let find = |key: &str| statement.block.iter().find(|s| s.key() == key);
    let condition = |s: &'t Statement| match s.part("condition") {
        Some(Part::Condition(condition)) => Some(condition),
        _ => None,
    };
    Some(HouseRule {
        name: context.text(statement, "name")?,
        title: context.text(statement, "title")?,
        subject: find("for each").and_then(|s| context.text(s, "subject"))?,
        filter: find("where").and_then(condition),
        require: find("require").and_then(condition)?,
        message: find("message").and_then(|s| context.text(s, "text"))?,
        because: find("because").and_then(|s| context.text(s, "text")),
        severity: match find("severity").and_then(|s| context.text(s, "severity")).as_deref() {
            Some("error") => Severity::Error,
            Some("note") => Severity::Note,
            _ => Severity::Warning,
        },
        source: context.source,
        statement,
    })
}
