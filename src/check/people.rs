//! People: what may hurt them against what the papers say of it, what they wear, who stands by, where the waste goes.

use super::say::{self, Round, above};
use super::{Also, Findings, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Hazard, Plan, Step, Test};

/// What hurts the body, and a caution that fits on a line.
const CAUTIONS: [(Hazard, &str); 11] = [
    (Hazard::HotOil, "Hot oil clings and burns. Sleeves, gloves, goggles; cool below 45 °C before you undo anything."),
    (Hazard::Pressure, "Pump off, vent open, gauge at zero, wait, then open. Look for leaks with card, never a hand."),
    (Hazard::Dust, "Fine dust is breathed deep. Enclosure or exhaust, wet it early, never sweep or blow."),
    (Hazard::Solvent, "The vapour creeps along the floor and burns. No flame, heater, spark or oven; air from below."),
    (Hazard::Ultrasonic, "Water in the bath, slurry in a closed vessel. Off before you reach in."),
    (Hazard::Oven, "No solvent and no oily rag in the oven. Let the dust cool before you open it in still air."),
    (Hazard::Burst, "Liquid only, shield on all sides, valve worked from behind a wall, a second person there."),
    (Hazard::Electrical, "Metal earthed, residual-current protection fitted, cut-outs tried today."),
    (Hazard::Mist, "No open jets. If you see haze: pump off, ventilate, find the leak."),
    (Hazard::Static, "Bond tank, drum and funnel; wait before you open after filtering fast."),
    (Hazard::Cutting, "Cut rims are knives. Gloves, eye protection; drained and cold; no grinder near solvent."),
];

/// What is worn or stood behind, where a hazard asks for it.
const EQUIPMENT: [(Hazard, &str); 6] = [
    (Hazard::HotOil, "oil-proof gloves and long sleeves"),
    (Hazard::Pressure, "face shield while a line is opened"),
    (Hazard::Dust, "fitted respirator, unless exposure is shown to be low"),
    (Hazard::Solvent, "solvent-proof gloves"),
    (Hazard::Burst, "ear and eye protection behind the rated shield"),
    (Hazard::Cutting, "cut-proof gloves and safety glasses"),
];

/// The first step of the campaign that has a hazard, with its test.
fn first(plan: &Plan, hazard: Hazard) -> Option<(&Test, &Step)> {
    let test = plan.tests.iter().find(|test| test.hazards.contains(&hazard))?;
    step_with(test, hazard).map(|step| (test, step))
}

fn step_with(test: &Test, hazard: Hazard) -> Option<&Step> {
    test.steps.iter().find(|step| step.hazards.contains(&hazard))
}

fn has_caution(plan: &Plan, hazard: Hazard) -> bool {
    plan.rules.cautions.iter().any(|caution| caution.hazard == hazard)
}

pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    uncautioned(plan, findings);
    for test in &plan.tests {
        unprotected(plan, test, findings);
        alone(plan, test, findings);
    }
    // Without any pack of cautions the finding above says it all; the packs bring card, fire line and waste with them.
    if !plan.rules.cautions.is_empty() {
        emergency(plan, findings);
        spill_and_fire(plan, findings);
    }
    waste(plan, findings);
}

/// Hazards that the plan has and the packs in force say nothing of.
fn uncautioned(plan: &Plan, findings: &mut Findings) {
    // Silica has a finding of its own, unless there is no caution at all.
    let none = plan.rules.cautions.is_empty();
    let mut missing = Vec::new();
    for (hazard, text) in CAUTIONS {
        let told_elsewhere = hazard == Hazard::Dust && !none;
        if let Some((_, step)) = first(plan, hazard).filter(|_| !has_caution(plan, hazard) && !told_elsewhere) {
            missing.push((hazard, text, step));
        }
    }
    let Some((hazard, text, step)) = missing.first() else { return };
    let words: Vec<&str> = missing.iter().map(|(hazard, ..)| called(*hazard)).collect();
    let message = if none {
        format!("no caution at all would be printed, but the plan has {}", listed(&words))
    } else {
        format!("no caution would be printed for {}", listed(&words))
    };
    let mut found =
        finding(Code::HazardWithoutCaution, message, step.origin, format!("{} from here on", called(*hazard)))
            .and(plan.campaign.origin, "no pack of this campaign speaks of it");
    for (hazard, _, step) in missing.iter().skip(1).take(3) {
        found = found.and(step.origin, called(*hazard));
    }
    let name = hazard.words().replace(' ', "-");
    findings.add(found.help(format!(
        "`use` the file `protocols/cautions.leaf` and add `rules bench-cautions` to the campaign, or write in a pack of your own: `caution {name} when {} \"{text}\"`",
        hazard.words()
    )));
}

/// Hazards for which neither the protocol nor the bench says what to wear.
fn unprotected(plan: &Plan, test: &Test, findings: &mut Findings) {
    let asked = |hazard: Hazard| {
        let mut all = test.protection.iter().chain(&plan.rules.protection);
        all.any(|(_, when)| *when == hazard)
    };
    let missing: Vec<(Hazard, &str, &Step)> = EQUIPMENT
        .into_iter()
        .filter(|(hazard, _)| !asked(*hazard))
        .filter_map(|(hazard, item)| step_with(test, hazard).map(|step| (hazard, item, step)))
        .collect();
    let Some((hazard, _, step)) = missing.first() else { return };
    let words: Vec<&str> = missing.iter().map(|(hazard, ..)| called(*hazard)).collect();
    let lines: Vec<String> =
        missing.iter().map(|(hazard, item, _)| format!("`protect \"{item}\", when {}`", hazard.words())).collect();
    findings.add(
        finding(
            Code::NoProtection,
            format!("nothing says what to wear for {} in `{}`", listed(&words), test.name),
            step.origin,
            format!("{} from here on", called(*hazard)),
        )
        .and(test.origin, "this protocol names no equipment for it")
        .help(format!("write in the protocol, or in a pack of rules for every protocol: {}", lines.join("; "))),
    );
}

/// What to do once it has happened has to hang beside the bench before.
fn emergency(plan: &Plan, findings: &mut Findings) {
    if !plan.rules.emergency.is_empty() {
        return;
    }
    let grave = [Hazard::Pressure, Hazard::HotOil, Hazard::Burst, Hazard::Solvent, Hazard::Dust];
    let present: Vec<(Hazard, &Step)> =
        grave.into_iter().filter_map(|hazard| first(plan, hazard).map(|(_, step)| (hazard, step))).collect();
    let Some((hazard, step)) = present.first() else { return };
    let words: Vec<&str> = present.iter().map(|(hazard, _)| called(*hazard)).collect();
    let line = match hazard {
        Hazard::Pressure | Hazard::Burst => {
            "Oil jet on or under the skin, however small the mark: hospital now. Say 'oil injection'."
        }
        Hazard::HotOil => "Burn: cool running water for twenty minutes, no cream, then a doctor.",
        Hazard::Solvent => "Solvent burns: leave, close the door, call the fire brigade.",
        _ => "Dust cloud: leave, wait until it has settled, come back with a respirator and clean wet.",
    };
    findings.add(
        finding(
            Code::NoEmergencyCard,
            format!("the emergency card would be empty, and the plan has {}", listed(&words)),
            plan.campaign.origin,
            "no pack of this campaign has an `emergency` line",
        )
        .and(step.origin, format!("{} from here on", called(*hazard)))
        .help(format!(
            "write in a pack of rules: `emergency \"{line}\"`; or add `rules bench-cautions`, whose card is complete"
        )),
    );
}

/// Something to take up what is spilt, something to put out what burns.
fn spill_and_fire(plan: &Plan, findings: &mut Findings) {
    let lines = [
        (Hazard::Spills, "A tray under every joint, absorbent within reach. Wipe at once."),
        (Hazard::Fire, "The right extinguisher within reach, the way out clear, the heater's switch by the door."),
    ];
    let missing: Vec<(Hazard, &str, &Step)> = lines
        .into_iter()
        .filter(|(hazard, _)| !has_caution(plan, *hazard))
        .filter_map(|(hazard, text)| first(plan, hazard).map(|(_, step)| (hazard, text, step)))
        .collect();
    let Some((hazard, _, step)) = missing.first() else { return };
    let things: Vec<&str> = missing
        .iter()
        .flat_map(
            |(hazard, ..)| if *hazard == Hazard::Fire { &["an extinguisher"][..] } else { &["trays", "absorbent"] },
        )
        .copied()
        .collect();
    let help: Vec<String> =
        missing.iter().map(|(hazard, text, _)| format!("`caution {0} when {0} \"{text}\"`", hazard.words())).collect();
    findings.add(
        finding(
            Code::NoSpillOrFireLine,
            format!("the first sheet would not ask for {}", listed(&things)),
            step.origin,
            if *hazard == Hazard::Fire { "can burn from here on" } else { "can spill from here on" },
        )
        .and(plan.campaign.origin, format!("no pack of this campaign has a caution `when {}`", hazard.words()))
        .help(format!("write in a pack of rules: {}", help.join("; "))),
    );
}

/// What is drained, wiped up or thrown away, and no word of where it goes.
fn waste(plan: &Plan, findings: &mut Findings) {
    let kinds = [
        ("oil", Hazard::Waste, "the drum marked used oil"),
        ("solvent", Hazard::Solvent, "the can marked used solvent, lid on, never into the used oil"),
        ("dust", Hazard::Dust, "the bag marked test dust, closed wet"),
    ];
    let named = |what: &str| plan.rules.waste.iter().any(|route| route.what == what);
    let missing: Vec<(&str, &str, &Step)> = kinds
        .into_iter()
        .filter(|(what, ..)| !named(what))
        .filter_map(|(what, hazard, route)| first(plan, hazard).map(|(_, step)| (what, route, step)))
        .collect();
    // A bench that has no cautions yet hears of those first.
    let Some((_, _, step)) = missing.first().filter(|_| !plan.rules.cautions.is_empty()) else { return };
    let words: Vec<&str> = missing.iter().map(|(what, ..)| *what).collect();
    let help: Vec<String> = missing.iter().map(|(what, route, _)| format!("`waste {what} into \"{route}\"`")).collect();
    findings.add(
        finding(
            Code::NoWasteRoute,
            format!("nothing says where waste {} goes", listed(&words)),
            step.origin,
            format!("waste {} from here on", words.first().copied().unwrap_or_default()),
        )
        .and(plan.campaign.origin, "no pack of this campaign says it")
        .help(format!("write in a pack of rules, with the places of your bench: {}", help.join("; "))),
    );
}

/// One person with hot oil, under pressure, or beside something that is meant to burst.
fn alone(plan: &Plan, test: &Test, findings: &mut Findings) {
    let people = &plan.campaign.people;
    let who = match people.values().next() {
        Some(person) if people.len() == 1 => format!("only `{}` is named", person.initials),
        Some(_) => return,
        None => "nobody is named".to_owned(),
    };
    let help = "name who is there, or who calls in and when: `person MO \"…\", \"second person, within call\"`";
    if let Some(burst) = test.steps.iter().find(|step| matches!(step.action, Action::Burst { .. })) {
        findings.add(
            finding(
                Code::Alone,
                format!("{who}, and `{}` bursts a filter", test.name),
                burst.origin,
                "parts may fly from here on",
            )
            .and(plan.campaign.origin, "the people of this campaign")
            .help(help),
        );
        return;
    }
    // A campaign that names nobody leaves it open who is there.
    if people.is_empty() {
        return;
    }
    let warm = say::temperature_rule(plan, "alone-temperature", 333.15);
    let hottest = test.steps.iter().filter_map(|step| Some((step, held(&step.action)?)));
    let hottest = hottest.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, kelvin)| above(*kelvin, warm.value));
    let high = say::rule(plan, "alone-pressure", 7e5);
    let most = match &test.limits.line_pressure {
        Some(limit) if limit.si() < plan.rig.relief.set.si() => limit,
        _ => &plan.rig.relief.set,
    };
    let pressed = step_with(test, Hazard::Pressure).filter(|_| above(most.si(), high.value));
    let (what, place, rule) = match (hottest, pressed) {
        (Some((step, kelvin)), _) => {
            (format!("the oil is brought to {} °C", say::number(kelvin - 273.15, Round::Near)), step, warm)
        }
        (None, Some(step)) => (format!("the line may reach {most}"), step, high),
        (None, None) => return,
    };
    findings.add(
        finding(
            Code::Alone,
            format!("{who}, and {what} in `{}`", test.name),
            place.origin,
            "here somebody should be near",
        )
        .and(plan.campaign.origin, "the people of this campaign")
        .and_maybe(rule.origin, "the rule that sets it")
        .severity(Severity::Warning)
        .help(help),
    );
}

/// The temperature to which a step brings the oil, in K.
fn held(action: &Action) -> Option<f64> {
    match action {
        Action::HoldTemperature(setting) => setting.target.as_ref().map(|target| target.si()),
        Action::HoldViscosity(hold) => Some(hold.temperature),
        _ => None,
    }
}

/// A hazard in the middle of a sentence.
fn called(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Electrical => "mains electricity",
        Hazard::Ultrasonic => "an ultrasonic bath",
        Hazard::Oven => "an oven",
        Hazard::Burst => "a burst",
        Hazard::Cutting => "cut metal",
        Hazard::Mist => "oil mist",
        Hazard::Static => "static charge",
        other => other.words(),
    }
}

/// `a`, `a and b`, `a, b and c`.
fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}
