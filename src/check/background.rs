//! What is there without the filter and without the dust: tare, blank, base sample, background, conditioning, reference.

use indexmap::IndexSet;

use super::dust::{Facts, counted};
use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures, Origin, Plan, Run, Stage, Step, Test, Wants};
use crate::quantity::Quantity;

/// A test as a whole.
pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let facts = Facts::of(test);
    tares(plan, test, findings);
    dusty_blank(plan, runs, test, &facts, findings);
    base_sample(plan, test, &facts, findings);
    background_limit(test, &facts, findings);
}

/// All tests together.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    conditioning(plan, findings);
    reference(plan, findings);
}

/// What a stage measures a differential pressure under.
#[derive(Default)]
struct Under<'p> {
    flows: Vec<(&'p Quantity, Origin)>,
    /// m²/s, the window around it, what is said of it.
    viscosities: Vec<(f64, crate::quantity::Window, &'p str, Origin)>,
    route: Option<(&'p str, Origin)>,
    gauges: IndexSet<&'p str>,
    read: Option<Origin>,
}

/// The route in force where each stage begins, in one pass.
fn routes(test: &Test) -> Vec<Option<(&str, Origin)>> {
    let mut taken = Vec::with_capacity(test.stages.len());
    let mut route = None;
    for stage in &test.stages {
        taken.push(route);
        for step in test.steps.get(stage.first_step..stage.end_step).unwrap_or_default() {
            if let Action::TakeRoute { route: name, .. } = &step.action {
                route = Some((name.as_str(), step.origin));
            }
        }
    }
    taken
}

/// Everything that is held and read in a stage; the route may have been taken before it.
fn under<'p>(test: &'p Test, stage: &'p Stage, route: Option<(&'p str, Origin)>) -> Under<'p> {
    let mut under = Under { route, ..Under::default() };
    for step in test.steps.get(stage.first_step..stage.end_step).unwrap_or_default() {
        if let Action::TakeRoute { route, .. } = &step.action
            && under.read.is_none()
        {
            under.route = Some((route, step.origin));
        }
        match &step.action {
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                let flow = setting.target.as_ref().filter(|flow| flow.si() > 0.0);
                under.flows.extend(flow.map(|flow| (flow, step.origin)));
            }
            Action::HoldViscosity(hold) if !under.viscosities.iter().any(|(known, ..)| *known == hold.target) => {
                under.viscosities.push((hold.target, hold.window, &hold.said, step.origin));
            }
            Action::Read => {
                for gauge in gauges(step) {
                    under.gauges.insert(gauge);
                    under.read = under.read.or(Some(step.origin));
                }
            }
            _ => {}
        }
    }
    under.flows.sort_by(|a, b| a.0.si().total_cmp(&b.0.si()));
    under.flows.dedup_by(|a, b| a.0.si() == b.0.si());
    under
}

fn gauges(step: &Step) -> impl Iterator<Item = &str> {
    step.readings.iter().filter_map(|reading| match &reading.wants {
        Wants::Number(numeric) if numeric.measures == Measures::DifferentialPressure => numeric.instrument.as_deref(),
        _ => None,
    })
}

/// A tare fits where it was taken at the flows and the viscosity, by the way and with the gauge of what it is taken off.
fn tares(plan: &Plan, test: &Test, findings: &mut Findings) {
    let taken = routes(test);
    let all = || test.stages.iter().zip(taken.iter().copied());
    for (stage, route) in all() {
        let Some((tare, before)) = stage.tare.as_ref().and_then(|name| all().find(|(other, _)| other.name == *name))
        else {
            continue;
        };
        let (of, off) = (under(test, stage, route), under(test, tare, before));
        if of.read.is_none() {
            continue;
        }
        tare_flows(stage, tare, &of, &off, findings);
        tare_viscosity(stage, tare, &of, &off, findings);
        tare_elsewhere(plan, stage, tare, &of, &off, findings);
    }
}

fn tare_flows(stage: &Stage, tare: &Stage, of: &Under<'_>, off: &Under<'_>, findings: &mut Findings) {
    // A reading may lie a few per cent beside the flow that was meant.
    const BESIDE: f64 = 0.02;
    let (Some((least, _)), Some((most, _))) = (off.flows.first(), off.flows.last()) else {
        if let Some((flow, at)) = of.flows.last() {
            findings.add(
                finding(
                    Code::TareUnlike,
                    format!("`{}` reads at up to {flow}, and its tare `{}` says no flow", stage.name, tare.name),
                    *at,
                    "this flow",
                )
                .and(tare.origin, "the tare")
                .help(format!("sweep the tare over the same flows: `{}`", list(&of.flows))),
            );
        }
        return;
    };
    let outside = of.flows.iter().find(|(flow, _)| {
        below(flow.si() * (1.0 + BESIDE), least.si()) || above(flow.si() * (1.0 - BESIDE), most.si())
    });
    let Some((flow, at)) = outside else { return };
    let from = if least.si() == most.si() { format!("at {least} only") } else { format!("from {least} to {most}") };
    findings.add(
        finding(
            Code::TareUnlike,
            format!("`{}` reads at {flow}, and its tare `{}` was taken {from}", stage.name, tare.name),
            *at,
            format!("{flow} is not among the tare's flows"),
        )
        .and(tare.origin, "the tare")
        .help(format!("sweep the tare over the same flows: `{}`", list(&of.flows))),
    );
}

fn list(flows: &[(&Quantity, Origin)]) -> String {
    let flows: Vec<String> = flows.iter().map(|(flow, _)| flow.to_string()).collect();
    format!("sweep flow [{}]", flows.join(", "))
}

fn tare_viscosity(stage: &Stage, tare: &Stage, of: &Under<'_>, off: &Under<'_>, findings: &mut Findings) {
    let fits = |target: f64, window: &crate::quantity::Window| {
        off.viscosities.iter().any(|(tared, around, ..)| window.contains(*tared) || around.contains(target))
    };
    let Some((target, _, said, at)) = of.viscosities.iter().find(|(target, window, ..)| !fits(*target, window)) else {
        return;
    };
    let square = super::dust::unit("mm²/s");
    let number = |si: f64| say::point(si, &square, Round::Near);
    let taken = match off.viscosities.first() {
        Some((tared, ..)) => format!("was taken at {}", number(*tared)),
        None => "holds no viscosity".to_owned(),
    };
    findings.add(
        finding(
            Code::TareUnlike,
            format!("`{}` is read at {}, and its tare `{}` {taken}", stage.name, number(*target), tare.name),
            *at,
            "this viscosity",
        )
        .and(off.viscosities.first().map_or(tare.origin, |(.., at)| *at), "the tare")
        .help(match said.strip_prefix("like ") {
            Some(like) => format!("hold the tare's oil alike: `hold viscosity like {like}, within 3 %`"),
            None => format!("hold the tare's oil alike: `hold viscosity {said}, within 3 %`"),
        }),
    );
}

fn tare_elsewhere(plan: &Plan, stage: &Stage, tare: &Stage, of: &Under<'_>, off: &Under<'_>, findings: &mut Findings) {
    let Some(read) = of.read else { return };
    if let (Some((way, at)), Some((other, taken))) = (of.route, off.route)
        && way != other
    {
        findings.add(
            finding(
                Code::TareElsewhere,
                format!("`{}` is read by the route `{way}`, and its tare `{}` by `{other}`", stage.name, tare.name),
                at,
                "this way",
            )
            .and(taken, "the tare's way")
            .help(format!("take `route {way}` in `{}` as well", tare.name)),
        );
    }
    if off.read.is_none() {
        return;
    }
    if let Some(gauge) = of.gauges.iter().find(|gauge| !off.gauges.contains(*gauge)) {
        let other = off.gauges.first().copied().unwrap_or("another");
        findings.add(
            finding(
                Code::TareElsewhere,
                format!("`{}` is read with `{gauge}`, and its tare `{}` with `{other}`", stage.name, tare.name),
                read,
                format!("with `{gauge}`"),
            )
            .and_maybe(off.read, format!("with `{other}`"))
            .and_maybe(plan.instruments.get(*gauge).map(|gauge| gauge.origin), "this gauge")
            .help(format!("read the tare with `{gauge}` too; two readings in one step cost a minute")),
        );
    }
}

/// The challenge, seen by a bottle before the specimen or by a blank with dust.
fn dusty_blank(plan: &Plan, runs: &[&Run], test: &Test, facts: &Facts<'_>, findings: &mut Findings) {
    let Some((_, batch)) = facts.last_loop else { return };
    let blank = plan.tests.iter().flat_map(|test| &test.stages).any(|stage| stage.blank.as_deref() == Some("dusty"));
    if blank || runs.is_empty() {
        return;
    }
    let mut dosed = false;
    for step in &test.steps {
        dosed |= matches!(step.action, Action::Dose { .. });
        let Some((_, bottle)) = counted(step).filter(|_| dosed && matches!(step.action, Action::Sample)) else {
            continue;
        };
        let sits = plan.rig.samplers.get(&bottle.sampler).map(|sampler| sampler.sits.as_str());
        if matches!(sits, Some("upstream" | "tank")) {
            return;
        }
    }
    let Some(dose) = facts.first_dose else { return };
    findings.add(
        finding(
            Code::NoDustyBlank,
            "the dust that is weighed is to be the filter's capacity, and nothing shows that it gets there",
            batch.origin,
            "loaded until the pressure has risen",
        )
        .and(dose.origin, "the dust that counts")
        .help(
            "draw a bottle before the specimen in this loop: `sample upstream up after batch 1 { bottle 120 mL; flush 120 mL; \
             test [particle-count] }`; or run one dose without specimen in a stage with `blank dusty`",
        ),
    );
}

/// Every valve that is sampled behind a loaded filter was sampled behind the clean one.
fn base_sample(plan: &Plan, test: &Test, facts: &Facts<'_>, findings: &mut Findings) {
    let Some(dose) = facts.first_dose else { return };
    let mut base: IndexSet<&str> = IndexSet::new();
    for step in &test.steps {
        if step.number < dose.number {
            if matches!(step.action, Action::Mount { .. }) {
                base.clear();
            }
            if matches!(step.action, Action::Sample)
                && let Some((_, bottle)) = counted(step)
            {
                base.insert(&bottle.sampler);
            }
            continue;
        }
        let Some((reading, bottle)) = counted(step).filter(|_| matches!(step.action, Action::Sample)) else { continue };
        let sampler = plan.rig.samplers.get(&bottle.sampler).filter(|sampler| sampler.sits == "downstream");
        let Some(sampler) = sampler.filter(|sampler| !base.contains(sampler.name.as_str())) else { continue };
        findings.add(
            finding(
                Code::NoBaseSample,
                format!(
                    "`{}` is the first bottle from `{}` with the specimen in place, and dust has gone in before it",
                    reading.name, sampler.name
                ),
                reading.origin,
                "this bottle",
            )
            .and(dose.origin, "the first dose")
            .help(format!(
                "before the first dose, with the specimen mounted and the oil running, write `sample {} base-down {{ … }}` with \
                 the same bottle, flush and test",
                sampler.name
            )),
        );
        return;
    }
}

/// A number that the oil has to come down to, before the dust.
fn background_limit(test: &Test, facts: &Facts<'_>, findings: &mut Findings) {
    let (Some(dose), Some(counted)) = (facts.first_dose, facts.counted_after) else { return };
    let before = test.steps.iter().take_while(|step| step.number < dose.number);
    // A clean-up by the clock is another finding.
    if before.into_iter().any(|step| matches!(step.action, Action::CleanUp(_))) {
        return;
    }
    findings.add(
        finding(
            Code::NoBackgroundLimit,
            "dust goes into oil that was not cleaned first until a count showed it clean",
            dose.origin,
            "the first dose",
        )
        .and(counted.origin, "counted together with what was there before")
        .help(
            "before the specimen is mounted write `clean up through polisher until background at most 14/12/9, at most 90 min`; \
             14/12/9 is a cleanliness code of ISO 4406, and your own limit may stand in its place",
        ),
    );
}

/// The little dust that pipes and pot keep for themselves, the same in every test.
fn conditioning(plan: &Plan, findings: &mut Findings) {
    let mut first: Option<(&Quantity, Origin)> = None;
    for (index, test) in plan.tests.iter().enumerate() {
        let facts = Facts::of(test);
        let (Some(dose), true) = (facts.first_dose, facts.counted_after.is_some()) else { continue };
        if !plan.runs.iter().any(|run| run.test == index) {
            continue;
        }
        let before = test.steps.iter().take_while(|step| step.number < dose.number);
        let conditioned = before.into_iter().find_map(|step| match &step.action {
            Action::Condition { mass, .. } => Some((mass.target.as_ref()?, step.origin)),
            _ => None,
        });
        match (conditioned, first) {
            (None, _) => findings.add(
                finding(
                    Code::NoConditioning,
                    format!("the first dose of `{}` is also the first dust that pipes and pot see", test.name),
                    dose.origin,
                    "the first dose",
                )
                .and(test.origin, "no conditioning before it")
                .help(condition_help(dose)),
            ),
            (Some((mass, at)), Some((other, there))) if (mass.si() / other.si() - 1.0).abs() > 0.05 => findings.add(
                finding(
                    Code::NoConditioning,
                    format!("`{}` is conditioned with {mass} of dust, and an earlier test with {other}", test.name),
                    at,
                    "conditioned here",
                )
                .and(there, "and here")
                .help(format!("condition both with {other}")),
            ),
            (Some(found), None) => first = Some(found),
            _ => {}
        }
    }
}

/// A third of a dose is enough for the pipes.
fn condition_help(dose: &Step) -> String {
    match &dose.action {
        Action::Dose { mass, dust, carrier, carrier_fluid, .. } => {
            let third = mass.target.as_ref().map_or_else(
                || "0.5 g".to_owned(),
                |mass| {
                    let third = Quantity::from_si_difference(mass.si() / 3.0, &mass.unit, mass.decimals());
                    third.to_string()
                },
            );
            format!(
                "before the specimen is mounted write `condition with {third} ± 2 % of {dust}, in {carrier} of {carrier_fluid}, through \
                 \"a throw-away filter\"`, then clean up"
            )
        }
        _ => "before the specimen is mounted write `condition with …, through \"a throw-away filter\"`, then clean up"
            .to_owned(),
    }
}

/// The same filter at both ends of a campaign.
fn reference(plan: &Plan, findings: &mut Findings) {
    let (Some(starts), Some(ends)) = (&plan.campaign.starts, &plan.campaign.ends) else { return };
    if starts == ends {
        return;
    }
    let mut compared: Option<(&Test, usize)> = None;
    for (index, test) in plan.tests.iter().enumerate() {
        let runs: Vec<&Run> = plan.runs.iter().filter(|run| run.test == index).collect();
        let is_reference =
            |run: &&Run| plan.campaign.specimens.get(&run.specimen).is_some_and(|specimen| specimen.reference);
        if let (Some(first), Some(last)) = (runs.first(), runs.last())
            && runs.len() > 1
            && is_reference(first)
            && is_reference(last)
        {
            return;
        }
        let of = |run: &&Run| plan.campaign.specimens.get(&run.specimen).and_then(|specimen| specimen.model.as_deref());
        let models: IndexSet<&str> = runs.iter().filter_map(of).collect();
        let measures = test.steps.iter().flat_map(|step| &step.readings).any(|reading| {
            matches!(&reading.wants, Wants::Number(numeric) if numeric.window.is_none())
                || matches!(&reading.wants, Wants::Bottle(_))
        });
        if models.len() > 1 && measures && compared.is_none() {
            compared = Some((test, models.len()));
        }
    }
    let Some((test, models)) = compared else { return };
    let known = plan.campaign.specimens.values().find(|specimen| specimen.reference);
    let help = match known {
        Some(specimen) => format!(
            "let `{}` be the first and the last run: name it in `specimens`, and write `order random from seed …, reference first and last`",
            specimen.code
        ),
        None => "buy one filter more of a model that is at hand in one lot, declare it with `, reference`, and write \
                 `order random from seed …, reference first and last`"
            .to_owned(),
    };
    findings.add(
        finding(
            Code::NoReference,
            format!("{models} models are compared from {starts} to {ends}, and no filter is run at both ends"),
            plan.campaign.origin,
            "this campaign",
        )
        .and(test.origin, format!("the protocol of `{}`", test.name))
        .and_maybe(known.map(|specimen| specimen.origin), "the reference")
        .help(help),
    );
}

/// What has to be clean when a step begins.
pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    clean_after_dirty(moment, findings);
}

/// What has to be clean, after dust.
fn clean_after_dirty(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let blank = moment.stage().is_some_and(|stage| stage.blank.as_deref() == Some("clean"));
    let (what, needs) = match &moment.step.action {
        Action::SetFlow { .. } => ("a flow sweep", "a clean filter"),
        Action::Mount { .. } => ("a new specimen", "clean oil"),
        Action::Sample if blank => ("a clean blank", "clean oil"),
        Action::BubblePoint { .. } => ("a bubble point", "a filter that has seen no dust"),
        _ => return,
    };
    let sweep = matches!(moment.step.action, Action::SetFlow { .. } | Action::BubblePoint { .. });
    if let Some(since) = moment.before.specimen_dust.filter(|_| sweep) {
        findings.add(
            finding(
                Code::DirtyBeforeClean,
                format!("{what} comes after dust has gone into the same specimen"),
                moment.step.origin,
                format!("wants {needs}"),
            )
            .and(since, "dust went in here")
            .why("A filter that has been loaded is never clean again; its restriction is that of the dust in it.")
            .help("move this stage before the first dose, or mount another specimen for it"),
        );
    } else if let Some(since) = moment.before.loop_dust {
        findings.add(
            finding(
                Code::DirtyBeforeClean,
                format!("{what} comes after dust, without a clean-up between them"),
                moment.step.origin,
                format!("wants {needs}"),
            )
            .and(since, "dust went in here")
            .help("write `clean up through polisher until background at most 14/12/9, at most 90 min` after the dust"),
        );
    }
}

/// The next specimen finds what this run leaves.
pub(super) fn end(runs: &[&Run], test: &Test, last: &crate::foresight::State<'_>, findings: &mut Findings) {
    let Some(since) = last.loop_dust else { return };
    let runs = runs.len();
    if runs < 2 {
        return;
    }
    findings.add(
        finding(
            Code::DirtyBeforeClean,
            format!("the test ends with dust in the oil, and {runs} runs follow each other"),
            since,
            "the last dust goes in here",
        )
        .and(test.origin, "no clean-up after it")
        .help("end the protocol with `clean up through polisher until background at most 14/12/9, at most 90 min`"),
    );
}
