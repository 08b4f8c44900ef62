//! The covers: what has to be known before anything is touched.

use crate::plan::{
    Accuracy, Action, Campaign, Caution, Dust, Fluid, Hazard, Instrument, Limits, Mark, Plan, Run, Specimen, Test,
    Waiver, Wants,
};

use super::label::{Bottles, labels};
use super::number;
use super::page::{
    CampaignSheet, CautionBox, Fact, Frame, InstrumentLine, LeaningBox, Material, PersonLine, Protection, RouteLine,
    RunLine, RunSheet, SpecimenLine, WaiverLine,
};
use super::steps::sections;
use super::verbs::{pictures, sentence};

/// The sheets of the whole campaign.
pub(super) fn campaign(plan: &Plan) -> CampaignSheet {
    let campaign = &plan.campaign;
    let mut hazards: Vec<Hazard> = plan.tests.iter().flat_map(|test| test.hazards.iter().copied()).collect();
    hazards.sort_unstable();
    hazards.dedup();
    CampaignSheet {
        frame: frame(plan, campaign.title.clone(), "campaign".to_owned(), String::new(), String::new()),
        title: campaign.title.clone(),
        invented: campaign.invented.clone(),
        questions: campaign.questions.clone(),
        facts: campaign_facts(plan),
        people: campaign
            .people
            .values()
            .map(|person| PersonLine {
                initials: person.initials.clone(),
                name: person.name.clone(),
                role: person.role.clone().unwrap_or_default(),
                trained_on: person.trained_on.clone().unwrap_or_default(),
                interests: person.interests.clone().unwrap_or_default(),
            })
            .collect(),
        blind: campaign.blind,
        specimens: campaign.specimens.values().map(|specimen| specimen_line(campaign, specimen)).collect(),
        runs: plan
            .runs
            .iter()
            .map(|run| RunLine {
                code: run.code.clone(),
                test: plan.test_of(run).map_or_else(String::new, |test| test.title.clone()),
                specimen: run.specimen.clone(),
                replicate: run.replicate.to_string(),
            })
            .collect(),
        materials: plan.fluids.values().map(fluid).chain(plan.dusts.values().map(dust)).collect(),
        cautions: cautions(plan, &hazards),
        emergency: plan.rules.emergency.clone(),
        waivers: plan.waivers.iter().map(waiver).collect(),
    }
}

/// The sheets of one run.
pub(super) fn run_sheet(plan: &Plan, run: &Run, test: &Test) -> RunSheet {
    let bottles = Bottles::of(run, test);
    let stops = stops(plan, &test.limits);
    RunSheet {
        frame: frame(plan, test.title.clone(), run.code.clone(), run.specimen.clone(), strip(plan, &test.limits)),
        title: format!("{} — {}, specimen {}", run.code, test.title, run.specimen),
        purpose: test.protocol.purpose.clone(),
        facts: run_facts(plan, run, test),
        parameters: test.parameters.iter().map(|(name, value)| Fact::new(name, value)).collect(),
        stops,
        cautions: cautions(plan, &test.hazards),
        protection: protection(plan, test),
        waste: waste(plan, test),
        emergency: plan.rules.emergency.clone(),
        waivers: plan.waivers.iter().filter(|waiver| concerns(waiver, test)).map(waiver).collect(),
        leanings: test
            .protocol
            .leans_on
            .iter()
            .map(|leaning| LeaningBox {
                standard: leaning.standard.clone(),
                departures: leaning
                    .departures
                    .iter()
                    .map(|(what, effect)| Fact::new(what, effect.clone().unwrap_or_default()))
                    .collect(),
            })
            .collect(),
        instruments: instruments(plan, test),
        routes: routes(plan, test),
        sections: sections(plan, test, &bottles),
        labels: labels(plan, run, test, &bottles),
    }
}

fn frame(plan: &Plan, title: String, run: String, specimen: String, stop: String) -> Frame {
    Frame {
        plan: plan.campaign.name.clone(),
        title,
        run,
        specimen,
        fingerprint: plan.fingerprint.short.clone(),
        rig: format!("{}, revision {}", plan.rig.name, plan.rig.revision),
        invented: plan.campaign.invented.clone(),
        stop,
    }
}

fn campaign_facts(plan: &Plan) -> Vec<Fact> {
    let campaign = &plan.campaign;
    let mut facts = vec![
        Fact::new("Plan", campaign.name.clone()),
        Fact::new("Fingerprint", plan.fingerprint.short.clone()),
        Fact::new("Rig", format!("{} ({}), revision {}", plan.rig.title, plan.rig.name, plan.rig.revision)),
    ];
    facts.extend(changed(plan));
    match (&campaign.starts, &campaign.ends) {
        (Some(starts), Some(ends)) => facts.push(Fact::new("Dates", format!("{starts} to {ends}"))),
        (Some(starts), None) => facts.push(Fact::new("Starts", starts.clone())),
        _ => {}
    }
    facts.push(Fact::new("Runs", plan.runs.len().to_string()));
    for laboratory in plan.laboratories.values() {
        facts.push(Fact::new("Laboratory", laboratory.title.clone()));
    }
    if let Some(interval) = &campaign.sent_every {
        facts.push(Fact::new("Bottles are sent", format!("every {}", number::written(interval))));
    }
    for (count, volume) in &campaign.bottles {
        facts.push(Fact::new("Clean bottles at hand", format!("{count} of {}", number::written(volume))));
    }
    for (name, title) in &plan.rules.packs {
        facts.push(Fact::new("Rules", format!("{title} ({name})")));
    }
    for (name, title) in &plan.rules.house {
        facts.push(Fact::new("House rule", format!("{title} ({name})")));
    }
    facts
}

fn run_facts(plan: &Plan, run: &Run, test: &Test) -> Vec<Fact> {
    let mut facts = vec![
        Fact::new("Campaign", plan.campaign.title.clone()),
        Fact::new("Plan", format!("{}, fingerprint {}", plan.campaign.name, plan.fingerprint.short)),
        Fact::new("Test", format!("{}, by {} revision {}", test.name, test.protocol.title, test.protocol.revision)),
        Fact::new("Specimen", format!("{}, replicate {}", run.specimen, run.replicate)),
        Fact::new("Rig", format!("{} ({}), revision {}", plan.rig.title, plan.rig.name, plan.rig.revision)),
    ];
    if let Some(day) = &test.on {
        facts.push(Fact::new("First day", day.date.clone()));
    }
    facts.extend(changed(plan));
    if let Some(dosing) = &test.dosing {
        facts.push(Fact::new("Dosing", dosing.clone()));
    }
    for reason in test.reject_if.iter().chain(&plan.rules.reject_if) {
        facts.push(Fact::new("Set this run aside if", reason.clone()));
    }
    for what in &plan.rules.on_change {
        facts.push(Fact::new("If something has to change", what.clone()));
    }
    facts
}

/// What was put in place of written values for these papers.
fn changed(plan: &Plan) -> impl Iterator<Item = Fact> {
    plan.changed.iter().map(|changed| Fact::new("CHANGED, not as in the files", changed.to_string()))
}

fn specimen_line(campaign: &Campaign, specimen: &Specimen) -> SpecimenLine {
    let mut origin = Vec::new();
    if !campaign.blind {
        let model = specimen.model.as_ref().and_then(|name| campaign.models.get(name));
        origin.extend(model.map(|model| model.title.clone()));
        origin.extend(specimen.lot.as_ref().map(|lot| format!("lot {lot}")));
        origin.extend(specimen.bought.as_ref().map(|bought| format!("bought {bought}")));
        origin.extend(specimen.reference.then(|| "reference".to_owned()));
    }
    SpecimenLine { code: specimen.code.clone(), origin: origin.join("; ") }
}

/// Limits and reasons to stop, one line each.
fn stops(plan: &Plan, limits: &Limits) -> Vec<String> {
    let mut lines = limit_lines(limits);
    lines.extend(limits.stop_if.iter().chain(&plan.rules.stop_if).cloned());
    lines
}

fn limit_lines(limits: &Limits) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(limit) = &limits.fluid_temperature {
        lines.push(format!("oil above {}", number::written(limit)));
    }
    if let Some(limit) = &limits.line_pressure {
        lines.push(format!("line pressure above {}", number::written(limit)));
    }
    if let Some(limit) = &limits.differential_pressure {
        lines.push(format!("differential pressure above {}", number::written(limit)));
    }
    if let Some(limit) = &limits.reservoir_volume {
        lines.push(format!("reservoir below {}", number::written(limit)));
    }
    lines
}

/// The same on one line, for the head of every page; what does not fit stands on the cover.
fn strip(plan: &Plan, limits: &Limits) -> String {
    const WIDTH: usize = 170;
    let mut line = String::new();
    for stop in stops(plan, limits) {
        let stop = stop.trim_end_matches('.');
        if line.is_empty() {
            line.push_str(stop);
        } else if line.chars().count() + stop.chars().count() + 3 <= WIDTH {
            line.push_str(" | ");
            line.push_str(stop);
        } else {
            line.push_str(" | see cover");
            break;
        }
    }
    line
}

fn cautions(plan: &Plan, hazards: &[Hazard]) -> Vec<CautionBox> {
    let triggered = |caution: &&Caution| caution.hazard == Hazard::Always || hazards.contains(&caution.hazard);
    plan.rules
        .cautions
        .iter()
        .filter(triggered)
        .map(|caution| CautionBox {
            name: caution.name.clone(),
            hazard: if caution.hazard == Hazard::Always {
                "always".to_owned()
            } else {
                caution.hazard.words().to_owned()
            },
            text: sentence(&caution.text),
            mark: caution.mark.words(),
        })
        .collect()
}

/// What the protocol asks to be worn, and what the bench asks for whatever the protocol says.
fn protection(plan: &Plan, test: &Test) -> Vec<Protection> {
    let called_for = |hazard: Hazard| hazard == Hazard::Always || test.hazards.contains(&hazard);
    let of_bench = plan.rules.protection.iter().filter(|known| called_for(known.1) && !test.protection.contains(known));
    test.protection
        .iter()
        .chain(of_bench)
        .map(|(item, hazard)| Protection { item: item.clone(), when: when(*hazard) })
        .collect()
}

fn waste(plan: &Plan, test: &Test) -> Vec<Fact> {
    let comes = |what: &str| match what {
        "solvent" => test.hazards.contains(&Hazard::Solvent),
        "dust" => test.hazards.contains(&Hazard::Dust),
        _ => test.hazards.contains(&Hazard::Waste),
    };
    let routes = plan.rules.waste.iter().filter(|route| comes(&route.what));
    routes.map(|route| Fact::new(route.what.clone(), route.route.clone())).collect()
}

fn when(hazard: Hazard) -> String {
    match hazard {
        Hazard::Always => "always".to_owned(),
        other => format!("for {}", other.words()),
    }
}

fn waiver(waiver: &Waiver) -> WaiverLine {
    WaiverLine {
        code: waiver.code.clone(),
        scope: if waiver.scope.is_empty() { "whole campaign".to_owned() } else { waiver.scope.clone() },
        reason: waiver.reason.clone(),
    }
}

/// Whether a waiver touches a test: it stands over the campaign, the test, its protocol, or one of its stages.
fn concerns(waiver: &Waiver, test: &Test) -> bool {
    let scope = waiver.scope.as_str();
    let head = scope.split('/').next().unwrap_or_default();
    scope.is_empty()
        || head == test.name
        || head == test.protocol.name
        || test.stages.iter().any(|stage| stage.name == head)
}

/// The instruments that the test reads, in the order in which they come.
fn instruments(plan: &Plan, test: &Test) -> Vec<InstrumentLine> {
    let mut names: Vec<&str> = Vec::new();
    for step in &test.steps {
        let zeroed = match &step.action {
            Action::Zero { instrument, .. } => Some(instrument.as_str()),
            _ => None,
        };
        let read = step.readings.iter().filter_map(|reading| match &reading.wants {
            Wants::Number(numeric) => numeric.instrument.as_deref(),
            _ => None,
        });
        for name in zeroed.into_iter().chain(read) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    names.into_iter().filter_map(|name| plan.instruments.get(name)).map(instrument_line).collect()
}

fn instrument_line(instrument: &Instrument) -> InstrumentLine {
    InstrumentLine {
        name: instrument.name.clone(),
        title: match &instrument.serial {
            Some(serial) => format!("{}, serial {serial}", instrument.title),
            None => instrument.title.clone(),
        },
        measures: instrument.measures.words().to_owned(),
        range: number::bounds(&instrument.range),
        resolution: number::written(&instrument.resolution),
        accuracy: accuracy(&instrument.accuracy),
        calibration: match (&instrument.calibration, &instrument.indicator_only) {
            (Some(calibration), _) => format!("{}, valid until {}", calibration.on, calibration.valid_until),
            (None, Some(reason)) => format!("indicator only: {reason}"),
            (None, None) => "not said".to_owned(),
        },
        place: instrument.place.clone().unwrap_or_default(),
    }
}

fn accuracy(accuracy: &Accuracy) -> String {
    match accuracy {
        Accuracy::OfSpan(share) => format!("{} % of span", number::plain(share * 100.0)),
        Accuracy::OfReading(share) => format!("{} % of reading", number::plain(share * 100.0)),
        Accuracy::Absolute(amount) => format!("± {}", number::written(amount)),
        Accuracy::WorstOf(several) => {
            format!("worst of {}", several.iter().map(self::accuracy).collect::<Vec<_>>().join(", "))
        }
    }
}

/// The routes that the test takes, in the order in which they come.
fn routes(plan: &Plan, test: &Test) -> Vec<RouteLine> {
    let mut lines: Vec<RouteLine> = Vec::new();
    for step in &test.steps {
        if let Action::TakeRoute { route, opens, closes } = &step.action
            && !lines.iter().any(|line| line.name == *route)
        {
            lines.push(RouteLine {
                name: route.clone(),
                title: plan.rig.routes.get(route).map_or_else(|| route.clone(), |known| known.title.clone()),
                valves: pictures(opens, closes),
            });
        }
    }
    lines
}

fn fluid(fluid: &Fluid) -> Material {
    let mut facts = Vec::new();
    if let Some(class) = &fluid.class {
        facts.push(Fact::new("Class", class.value.clone()));
    }
    for point in &fluid.viscosities {
        let text =
            format!("{} at {}", number::written(&point.value.viscosity), number::written(&point.value.temperature));
        facts.push(Fact::new("Viscosity", with_mark(text, &point.mark)));
    }
    if let Some(density) = &fluid.density {
        let text = format!("{} at {}", number::written(&density.value.0), number::written(&density.value.1));
        facts.push(Fact::new("Density", with_mark(text, &density.mark)));
    }
    if let Some(flash) = &fluid.flash {
        let cup = if flash.value.closed_cup { "closed cup" } else { "open cup" };
        let text = format!("{} {cup}", number::written(&flash.value.temperature));
        facts.push(Fact::new("Flash point", with_mark(text, &flash.mark)));
    }
    if let Some(pour) = &fluid.pour {
        facts.push(Fact::new("Pour point", with_mark(number::written(&pour.value), &pour.mark)));
    }
    if let Some(lot) = &fluid.lot {
        facts.push(Fact::new("Lot", lot.clone()));
    }
    Material { name: fluid.name.clone(), title: fluid.title.clone(), facts, hazards: fluid.hazards.join(", ") }
}

fn dust(dust: &Dust) -> Material {
    let mut facts = vec![Fact::new("Grade", with_mark(dust.grade.value.clone(), &dust.grade.mark))];
    if let Some(lot) = &dust.lot {
        facts.push(Fact::new("Lot", lot.clone()));
    }
    if let Some(certificate) = &dust.certificate {
        facts.push(Fact::new("Certificate", certificate.clone()));
    }
    if let Some(supply) = &dust.supply {
        facts.push(Fact::new("In hand", number::written(supply)));
    }
    Material { name: dust.name.clone(), title: dust.title.clone(), facts, hazards: dust.hazards.join(", ") }
}

fn with_mark(text: String, said: &Mark) -> String {
    match said.words() {
        words if words.is_empty() => text,
        words => format!("{text} ({words})"),
    }
}
