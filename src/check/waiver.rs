//! Findings that the plan's author has answered with a reason.

use super::{Findings, finding};
use crate::diagnostic::{Code, Diagnostic, Place, Severity};
use crate::plan::{Origin, Plan, Test, Waiver};
use crate::syntax::nearest;

/// Removes the findings that a waiver answers, and adds those about the waivers themselves: a code that doesn't exist,
/// one that can't be waived, one that nothing answers to.
pub fn settle(plan: &Plan, findings: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut useful = vec![false; plan.waivers.len()];
    let codes: Vec<Option<Code>> = plan.waivers.iter().map(|waiver| Code::from_id(&waiver.code)).collect();
    let blocks: Vec<Option<Blocks>> = plan.waivers.iter().map(|waiver| blocks(plan, waiver)).collect();
    let kept = findings.into_iter().filter(|found| {
        let mut answered = false;
        for (((blocks, code), useful), waiver) in blocks.iter().zip(&codes).zip(&mut useful).zip(&plan.waivers) {
            if is_reasoned(waiver)
                && *code == Some(found.code)
                && blocks.as_ref().is_none_or(|blocks| blocks.hold(found))
            {
                *useful = true;
                answered |= !found.code.is_safety();
            }
        }
        !answered
    });
    let kept: Vec<Diagnostic> = kept.collect();
    // Where a plan has errors, what a waiver answers may not have been looked for.
    let sound = kept.iter().all(|found| found.severity != Severity::Error);
    let mut settled = Findings { list: kept, ..Findings::default() };
    for ((waiver, code), useful) in plan.waivers.iter().zip(&codes).zip(&useful) {
        match code {
            None => {
                let known = Code::all().map(Code::id);
                let help = match nearest(&waiver.code.to_uppercase(), known) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "take the code from the finding's own first line, such as L430".to_owned(),
                };
                settled.add(
                    finding(
                        Code::UnknownCode,
                        format!("there is no finding `{}`", waiver.code),
                        waiver.origin,
                        "this code",
                    )
                    .help(help),
                );
            }
            Some(code) if code.is_safety() => settled.add(
                finding(
                    Code::WaiverOfSafety,
                    format!("{code} cannot be waived: {}", code.title().to_lowercase()),
                    waiver.origin,
                    "about somebody's safety",
                )
                .help("take the waiver out and change the plan"),
            ),
            Some(code) if !is_reasoned(waiver) => settled.add(
                finding(
                    Code::UselessWaiver,
                    format!("the waiver of {code} gives no reason, and waives nothing until it does"),
                    waiver.origin,
                    "without a reason",
                )
                .help("say after `because` why the bench may go on: readers of the report see these words beside the result"),
            ),
            Some(code) if !useful && sound => settled.add(
                finding(
                    Code::UselessWaiver,
                    format!("nothing here is {code}: {}", code.title().to_lowercase()),
                    waiver.origin,
                    "waives nothing",
                )
                .help("take it out, or move it to the block that has the finding"),
            ),
            _ => {}
        }
    }
    settled.list
}

/// Whether a waiver says why: a finding is answered with a reason, or not at all.
fn is_reasoned(waiver: &Waiver) -> bool {
    waiver.reason.chars().any(char::is_alphabetic)
}

/// Where the findings lie that a waiver answers: the block it stands in; for one in a campaign's `test`, also the
/// protocol that the test runs.
struct Blocks {
    own: Origin,
    protocol: Option<Origin>,
}

impl Blocks {
    fn hold(&self, found: &Diagnostic) -> bool {
        found
            .places
            .iter()
            .any(|place| inside(place, self.own) || self.protocol.is_some_and(|protocol| inside(place, protocol)))
    }
}

/// Nothing where a waiver is for the whole campaign.
fn blocks(plan: &Plan, waiver: &Waiver) -> Option<Blocks> {
    let own = waiver.covers?;
    let test = plan.tests.iter().find(|test| test.name == waiver.scope);
    Some(Blocks { own, protocol: test.map(protocol) })
}

fn inside(place: &Place, block: Origin) -> bool {
    place.source == block.source && place.span.start >= block.span.start && place.span.end <= block.span.end
}

/// A test's protocol, from its name to its last step.
fn protocol(test: &Test) -> Origin {
    let own = test.steps.iter().map(|step| step.origin).filter(|origin| origin.source == test.origin.source);
    let span = own.fold(test.origin.span, |span, origin| span.to(origin.span));
    Origin { source: test.origin.source, span }
}
