//! Flow: what the pump can give, and where the oil can go.

mod lineup;

mod sweep;

use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Plan, Run, Test};
use crate::quantity::Quantity;

pub(in crate::check) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    lineup::test(plan, runs, test, findings);
    sweep::test(plan, runs, test, findings);
}

pub(in crate::check) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    match &moment.step.action {
        Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
            if let Some(flow) = &setting.target {
                deliverable(moment, flow, findings);
            }
        }
        Action::BypassFlow { flow, .. } => deliverable(moment, flow, findings),
        Action::HoldLevel(setting) => {
            if let Some(level) = &setting.target {
                reservoir(moment, level, findings);
            }
        }
        _ => {}
    }
    opened_under_pressure(moment, findings);
}

/// What slips back through the pump is missing at the specimen.
fn deliverable(moment: &Moment<'_, '_>, flow: &Quantity, findings: &mut Findings) {
    if flow.value <= 0.0 {
        return;
    }
    let rig = &moment.plan.rig;
    let slip = rig.pump_slip.as_ref().map_or(0.0, |slip| slip.value.0.si());
    let most = rig.pump_delivers.window.high.map(|high| high * (1.0 - slip));
    let least = rig.pump_delivers.window.low;
    let (message, role, help) = match (least, most) {
        (_, Some(most)) if above(flow.si(), most) => {
            let limit = say::point(most, &flow.unit, Round::Down);
            let why = if slip > 0.0 {
                format!(", less {} that slips back", say::percent(slip, Round::Near))
            } else {
                String::new()
            };
            let high = rig.pump_delivers.high.as_ref().map_or_else(String::new, ToString::to_string);
            (
                format!("the pump cannot deliver {flow}"),
                format!("at most {high}{why}"),
                format!("ask for {limit} or less, or take a larger pump"),
            )
        }
        (Some(least), _) if below(flow.si(), least) => {
            let limit = say::point(least, &flow.unit, Round::Up);
            (
                format!("the pump does not run steadily at {flow}"),
                format!("at least {limit}"),
                format!("ask for {limit} or more, or send the rest of the flow past the specimen"),
            )
        }
        _ => return,
    };
    findings.add(
        finding(Code::FlowNotDelivered, message, moment.step.origin, "this flow")
            .and(rig.pump_delivers_at, role)
            .help(help),
    );
}

fn reservoir(moment: &Moment<'_, '_>, level: &Quantity, findings: &mut Findings) {
    let rig = &moment.plan.rig;
    if let Some(high) = &rig.reservoir_holds.high
        && above(level.si(), high.si())
    {
        findings.add(
            finding(
                Code::AboveLimit,
                format!("{level} do not fit in a reservoir that holds {high}"),
                moment.step.origin,
                "this level",
            )
            .and(rig.reservoir.origin, format!("holds {high} at most"))
            .help(format!("fill to {} or less", say::point(high.si(), &level.unit, Round::Down))),
        );
    }
    let limit = moment.test.limits.reservoir_volume.as_ref();
    if let Some(low) = limit.into_iter().chain(&rig.reservoir_holds.low).max_by(|a, b| a.si().total_cmp(&b.si()))
        && below(level.si(), low.si())
    {
        findings.add(
            finding(
                Code::AboveLimit,
                format!("{level} are less than the {low} that must stay in the reservoir"),
                moment.step.origin,
                "this level",
            )
            .and(rig.reservoir.origin, "the reservoir")
            .and(moment.test.origin, "the protocol that stops the run below")
            .help(format!("fill to {} or more", say::point(low.si(), &level.unit, Round::Up))),
        );
    }
}

/// A rig opened before the pump is off and the gauge at zero.
fn opened_under_pressure(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let what = match &moment.step.action {
        Action::Remove => "the specimen comes off",
        Action::Mount { .. } => "the specimen goes on",
        Action::ChangeFluid(change) if change.drain => "the rig is drained",
        _ => return,
    };
    let Some(since) = moment.before.pressure else { return };
    let (message, help) = if moment.before.pump_runs() {
        (format!("{what} while the pump runs"), "write `stop pump` and `vent` before it")
    } else {
        (format!("{what} before the rig is vented"), "write `vent` before it, after `stop pump`")
    };
    findings.add(
        finding(Code::OpenedUnderPressure, message, moment.step.origin, "opened here")
            .and(since, "under pressure since here")
            .help(help),
    );
}
