//! Solvent in the room, what could light it, and dust that is stirred up again.

use super::say::{self, Round, above};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::foresight::burns;
use crate::plan::{Action, Plan};
use crate::quantity::Quantity;

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    room(moment, findings);
    ignition(moment, findings);
    raised(moment, findings);
}

/// The solvent that a step handles in the open: its name and volume in m³, and how that volume is written.
fn handled<'p>(plan: &Plan, action: &'p Action) -> Option<(&'p str, f64, String)> {
    let said = |volume: &Quantity, times: u32| {
        if times > 1 { format!("{times} times {volume}") } else { volume.to_string() }
    };
    match action {
        Action::ChangeFluid(change) => {
            let flush = change.flushes.iter().find(|(_, fluid, _)| burns(plan, fluid));
            if let Some((volume, fluid, times)) = flush {
                return Some((fluid, volume.si() * f64::from(*times), said(volume, *times)));
            }
            let fill = change.fill.as_ref().filter(|_| burns(plan, &change.to))?;
            Some((&change.to, fill.si(), said(fill, 1)))
        }
        Action::BubblePoint { fluid, bath: Some(bath), .. } if burns(plan, fluid) => {
            Some((fluid, bath.si(), said(bath, 1)))
        }
        _ => None,
    }
}

/// The vapour of all of it in the air of the room: litres of vapour for a litre of liquid, over the room's volume.
fn room(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let plan = moment.plan;
    let Some((solvent, volume, said)) = handled(plan, &moment.step.action) else { return };
    if plan.rig.solvent_work.as_deref().is_some_and(|place| place != "in the room") {
        return;
    }
    let Some(room) = &plan.rig.room_volume else {
        findings.add(
            finding(
                Code::SolventVapour,
                format!("{said} of `{solvent}` are handled, and nothing says in how large a room"),
                moment.step.origin,
                "solvent here",
            )
            .and(plan.rig.origin, "this rig tells neither the room nor a hood")
            .severity(Severity::Warning)
            .help("add to the rig `room volume 60 m³` with your own figure, and `solvent work in a fume hood` or `outdoors` where that is so"),
        );
        return;
    };
    let swell = say::rule(plan, "vapour-of-solvent", 319.0);
    let warning = say::rule(plan, "solvent-vapour-warning", 4e-4);
    let limit = say::rule(plan, "solvent-vapour-limit", 2e-3);
    let share = volume * swell.value / room.si();
    if !above(share, warning.value) {
        return;
    }
    let grave = above(share, limit.value);
    let rule = if grave { &limit } else { &warning };
    let ppm = |share: f64, round| format!("{} ppm", say::number(share * 1e6, round));
    let least = warning.value * room.si() / swell.value;
    findings.add(
        finding(
            Code::SolventVapour,
            format!(
                "{said} of `{solvent}`, spilt or dried off, make {} in this room of {room}; {} at {}",
                ppm(share, Round::Near),
                if grave { "life is in danger" } else { "the limit for a day is reached" },
                ppm(rule.value, Round::Near)
            ),
            moment.step.origin,
            "handled here",
        )
        .and(plan.rig.origin, format!("room volume {room}"))
        .and_maybe(rule.origin, "the rule that sets the limit")
        .severity(if grave { Severity::Error } else { Severity::Warning })
        .help(format!(
            "have no more than {} mL open at a time, or work in a hood or outdoors and say so in the rig: `solvent work in a fume hood`",
            say::number(least * 1e6, Round::Down)
        )),
    );
}

/// Heat, ultrasound and ovens beside solvent.
fn ignition(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let plan = moment.plan;
    let here = moment.step.origin;
    if let Action::Dose { carrier_fluid, preparation, .. } = &moment.step.action {
        let wet = if burns(plan, carrier_fluid) {
            Some((carrier_fluid.as_str(), None))
        } else {
            moment.before.solvent.map(|(name, since)| (name, Some(since)))
        };
        let Some((solvent, since)) = wet else { return };
        let (source, why, help) = if preparation.ultrasonic.is_some() && since.is_none() {
            (
                "an ultrasonic bath shakes a slurry",
                "Ultrasound warms the liquid and makes a mist that burns below the flash point.",
                "carry the dust in the test oil, or leave the bath out and shake by hand",
            )
        } else if preparation.dry {
            (
                "an oven dries dust",
                "An oven is hot, sparks when it switches, and stands where the vapour creeps.",
                "dry the dust on another day or in another room, and prove the rig dry first: `wait 24 h ± 4 h`",
            )
        } else {
            return;
        };
        let message = match since {
            None => format!("{source} in `{solvent}`"),
            Some(_) => format!("{source} while `{solvent}` is about"),
        };
        let found = finding(Code::IgnitionBesideSolvent, message, here, "could be lit here").why(why).help(help);
        findings.add(found.and_maybe(since, format!("`{solvent}` came in here")));
        return;
    }
    let solvent = match &moment.step.action {
        Action::ChangeFluid(change) => {
            let all = change.flushes.iter().map(|(_, fluid, _)| fluid).chain([&change.to]);
            all.into_iter().find(|fluid| burns(plan, fluid))
        }
        Action::BubblePoint { fluid, .. } => Some(fluid).filter(|fluid| burns(plan, fluid)),
        _ => None,
    };
    if let (Some(solvent), Some((true, since))) = (solvent, moment.before.heater) {
        findings.add(
            finding(
                Code::IgnitionBesideSolvent,
                format!("`{solvent}` comes to the bench while the heater is on"),
                here,
                "vapour from here on",
            )
            .and(since, "the heater goes on here")
            .and_maybe(plan.rig.heater.as_ref().map(|heater| heater.origin), "this heater")
            .help("before the solvent write `stop heater`, `cool to 30 °C` and `confirm \"heater isolated and tagged, nothing else hot or sparking\"`"),
        );
    }
}

/// An instruction that would put settled dust back into the air.
fn raised(moment: &Moment<'_, '_>, findings: &mut Findings) {
    if !moment.test.hazards.contains(&crate::plan::Hazard::Dust) {
        return;
    }
    let text = match &moment.step.action {
        Action::Confirm { text } | Action::Note { text } | Action::HoldPoint { text } => text,
        _ => return,
    };
    let Some(words) = stirs(text) else { return };
    findings.add(
        finding(Code::DustRaised, format!("`{words}` puts dust back into the air"), moment.step.origin, "said here").help(
            "write what is done instead: `confirm \"wiped up wet, wipes bagged as dust waste\"`, or a vacuum cleaner with a HEPA filter",
        ),
    );
}

/// The words of a sentence by which dust is swept or blown; none where it is forbidden.
fn stirs(text: &str) -> Option<&'static str> {
    const ALWAYS: [&str; 6] = ["compressed air", "air gun", "air line", "air hose", "broom", "dry brush"];
    // Of a flow, a sweep is nothing to worry about.
    const OF_DUST: [&str; 8] =
        ["swept", "sweep up", "sweep the", "brushed off", "brush off", "blown off", "blow off", "blown out"];
    const NOT: [&str; 7] = ["no ", "not ", "never ", "without ", "nothing ", "don't ", "nobody "];
    text.to_lowercase().split(['.', ';', ':']).find_map(|sentence| {
        if NOT.iter().any(|word| sentence.trim_start().starts_with(word) || sentence.contains(&format!(" {word}"))) {
            return None;
        }
        let dusty =
            ["dust", "floor", "hood", "bench", "cabinet", "balance", "table"].iter().any(|w| sentence.contains(w));
        let found = ALWAYS.iter().find(|words| sentence.contains(**words));
        found.or_else(|| OF_DUST.iter().find(|words| dusty && sentence.contains(**words))).copied()
    })
}
