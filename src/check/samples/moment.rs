//! When a bottle is drawn: after the oil has come round, before the dust has gone, at its partner's side.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::{Pair, sits};
use crate::diagnostic::Code;
use crate::foresight::Span;
use crate::plan::{Action, Bottle, Dwell, Origin, Plan, Reading, Step, Test};

/// A number of seconds as a person sets a timer: no finer than a twentieth or so.
fn timer(seconds: f64) -> String {
    let (value, unit) = match seconds {
        s if s < 10.0 => ((s * 10.0).round() / 10.0, "s"),
        s if s < 15.0 => (s.round(), "s"),
        s if s < 120.0 => ((s / 5.0).round() * 5.0, "s"),
        s if s < 600.0 => ((s / 30.0).round() / 2.0, "min"),
        s if s < 7200.0 => ((s / 60.0).round(), "min"),
        s => ((s / 360.0).round() / 10.0, "h"),
    };
    format!("{} {unit}", say::number(value, Round::Near))
}

/// A share with two digits at most, as a person would say it.
fn share(share: f64) -> String {
    let per_cent = share * 100.0;
    if per_cent < 1e-4 {
        return "less than 0.0001 %".to_owned();
    }
    let scale = 10_f64.powi(per_cent.log10().floor() as i32 - i32::from(per_cent >= 1.0));
    format!("{} %", say::number((per_cent / scale).round() * scale, Round::Near))
}

fn least(action: &Action) -> f64 {
    match action {
        Action::Wait(Dwell { least, .. })
        | Action::Settle(Dwell { least, .. })
        | Action::Circulate(Dwell { least, .. }) => least.si(),
        _ => 0.0,
    }
}

/// What a bottle has to wait for, and how long the plan waits since.
struct Disturbed {
    /// The pump was started, a valve turned or a flow set here.
    at: Origin,
    started: bool,
    waited: f64,
}

/// How far back a disturbance is looked for; whatever lies further back has settled.
const BACK: usize = 200;

/// What last shook the oil before a step. Nothing where something in between takes long anyway, or the test begins.
fn disturbed(test: &Test, step: &Step) -> Option<Disturbed> {
    let before = usize::try_from(step.number).unwrap_or(1).saturating_sub(1);
    let mut waited = 0.0;
    for earlier in test.steps.get(..before)?.iter().rev().take(BACK) {
        let started = match &earlier.action {
            Action::Switch { what, on: true } if what == "pump" => true,
            Action::TakeRoute { .. } | Action::Valve { .. } | Action::SetFlow { .. } => false,
            // Heat, dust and hands take minutes; bottles are drawn one after the other.
            Action::HoldViscosity(_)
            | Action::HoldTemperature(_)
            | Action::Cool { .. }
            | Action::Dose { .. }
            | Action::CleanUp(_)
            | Action::Mount { .. }
            | Action::Sample => return None,
            other => {
                waited += least(other);
                continue;
            }
        };
        return Some(Disturbed { at: earlier.origin, started, waited });
    }
    None
}

/// A bottle drawn before the oil that it is to show has reached the valve.
pub(super) fn early(moment: &Moment<'_, '_>, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    if bottle.tests.is_empty() || !matches!(moment.step.action, Action::Sample) || !moment.before.pump_runs() {
        return;
    }
    let Some(disturbed) = disturbed(moment.test, moment.step) else { return };
    let (needed, what) = if disturbed.started {
        let turnover = moment.before.turnover().map_or(60.0, |turnover| turnover.high);
        (turnover.max(60.0), "the pump has started")
    } else {
        let shortest = say::rule(moment.plan, "sample-time", 5.0).value;
        let line = line_time(moment).unwrap_or(0.0);
        (shortest.max(3.0 * line), "the oil was sent another way")
    };
    if !below(disturbed.waited, needed) {
        return;
    }
    let after =
        if disturbed.waited > 0.0 { format!("{} after", timer(disturbed.waited)) } else { "as soon as".to_owned() };
    findings.add(
        finding(
            Code::SampledTooEarly,
            format!("`{}` is drawn {after} {what}", reading.name),
            moment.step.origin,
            "too early",
        )
        .and(disturbed.at, if disturbed.started { "started here" } else { "valves or flow changed here" })
        .help(format!(
            "write `wait {} ± {}` between them: so long until the valve has the new oil",
            // The shortest wait that the window allows is long enough, rounding included.
            timer((needed * 1.3).ceil()),
            timer((needed * 0.15).max(1.0).round())
        )),
    );
}

/// The time that oil takes from one valve to the other, through the largest of the specimens, s.
fn line_time(moment: &Moment<'_, '_>) -> Option<f64> {
    let (flow, _) = moment.before.flow.filter(|(flow, _)| *flow > 0.0)?;
    let cans = moment.plan.campaign.models.values().filter_map(|model| model.can_volume.as_ref()).map(|v| v.si());
    Some(cans.reduce(f64::max)? / flow)
}

/// How a dose has fallen by now.
struct Fallen {
    /// s, the time constants of what the specimen catches worst and best.
    constant: Span,
    /// What is left of the dose.
    left: Span,
    exposed: Span,
    /// Whether the dose went in over a time that is long against its fall.
    fed: bool,
}

fn fallen(moment: &Moment<'_, '_>) -> Option<Fallen> {
    let state = moment.before;
    // While slurry is still going in, the challenge does not fall away.
    if state.tank.feeding() || state.loop_dust.is_none() {
        return None;
    }
    let turnover = state.turnover()?;
    let caught = moment.paper.assumed.efficiency(size_of_interest(moment));
    let constant = turnover.over(caught)?;
    // What went in last has fallen for the shortest time.
    let feeding = feed_time(moment).unwrap_or(0.0);
    let since = |dose: f64| (dose - feeding).max(0.0);
    let (seen, dosed) = (state.exposed?, state.since_dose?);
    let exposed = Span::between(seen.low.min(since(dosed.low)), seen.high.min(since(dosed.high)));
    let left = Span::between((-exposed.high / constant.low).exp(), (-exposed.low / constant.high).exp());
    Some(Fallen { constant, left, exposed, fed: feeding > 0.3 * constant.low && seen.low > feeding })
}

/// s, the time that the last dose took to go in.
fn feed_time(moment: &Moment<'_, '_>) -> Option<f64> {
    let (mass, at) = moment.before.dosed?;
    let here = usize::try_from(moment.step.number).ok()?.saturating_sub(1);
    let before = moment.test.steps.get(..here)?;
    let index = before.iter().rposition(|step| step.origin == at)?;
    let (flow, feed) = match &before.get(index)?.action {
        Action::Dose { preparation, .. } => {
            let (flow, feed) = preparation.inject.as_ref()?;
            (flow, feed.as_ref())
        }
        Action::Inject { flow, feed } => (flow, feed.as_ref()),
        _ => return None,
    };
    let flow = flow.target.as_ref().map(|flow| flow.si()).filter(|flow| *flow > 0.0)?;
    if let Some(feed) = feed.map(|feed| feed.si()).filter(|feed| *feed > 0.0) {
        return Some(mass / (feed * flow));
    }
    let carrier = before.get(..=index)?.iter().rev().find_map(|step| match &step.action {
        Action::Dose { carrier, .. } => Some(carrier.si()),
        _ => None,
    })?;
    Some(carrier / flow)
}

/// The size at which the test's bottles are to tell something, m: the smallest that a model makes a claim for, or else a
/// usual one.
fn size_of_interest(moment: &Moment<'_, '_>) -> f64 {
    let claims =
        moment.plan.campaign.models.values().flat_map(|model| &model.claims).filter_map(|claim| claim.size.as_ref());
    claims.map(|size| size.si()).reduce(f64::min).unwrap_or(10e-6)
}

/// Whether so little is left of the last dose that a bottle says nothing.
pub(super) fn is_late(moment: &Moment<'_, '_>) -> bool {
    let gone = say::rule(moment.plan, "decayed-to", 0.05);
    fallen(moment).is_some_and(|fallen| below(fallen.left.high, gone.value))
}

/// A bottle that is drawn when the filter has taken the dose out already.
pub(super) fn late<'p>(moment: &Moment<'_, 'p>, reading: &'p Reading, bottle: &'p Bottle, findings: &mut Findings) {
    if bottle.tests.is_empty() || !matches!(moment.step.action, Action::Sample) || !is_late(moment) {
        return;
    }
    // Of a pair the first bottle speaks for both.
    if super::pair_of(moment, reading, bottle).is_some_and(|pair| !pair.first.3.tests.is_empty()) {
        return;
    }
    let (Some(fallen), Some((_, dosed))) = (fallen(moment), moment.before.dosed) else { return };
    let state = moment.before;
    let gone = say::rule(moment.plan, "decayed-to", 0.05);
    let since = timer(fallen.exposed.low.max(1.0));
    let left = if fallen.left.low < fallen.left.high / 4.0 {
        format!("{} to {}", share(fallen.left.low), share(fallen.left.high))
    } else {
        share(fallen.left.middle())
    };
    let constants = if fallen.constant.low < fallen.constant.high * 0.8 {
        format!("{} to {}", timer(fallen.constant.low), timer(fallen.constant.high))
    } else {
        timer(fallen.constant.middle())
    };
    // From when the oil behind the specimen is that of the dose, to when a third of it is left, for the fastest decay.
    let (first, last) = (0.3 * fallen.constant.low, fallen.constant.low);
    let switched = state.route.filter(|(_, at)| *at != dosed).map(|(_, at)| at);
    let circuit = state.oil().zip(state.flow).and_then(|(oil, (flow, at))| {
        let delivers = &moment.plan.rig.pump_delivers;
        let flow_unit = delivers.high.as_ref().or(delivers.low.as_ref()).map(|q| &q.unit)?;
        let holds = &moment.plan.rig.reservoir_holds;
        let volume_unit = holds.high.as_ref().or(holds.low.as_ref()).map(|q| &q.unit)?;
        let said = format!(
            "{} at {}: the dose falls to a third in {constants}",
            say::point(oil.middle(), volume_unit, Round::Near),
            say::point(flow, flow_unit, Round::Near)
        );
        Some((at, said))
    });
    let (what, when) = if fallen.fed {
        ("the last slurry went in; of what was there then", "while the slurry goes in, or no later than")
    } else {
        ("the dose was sent through the specimen; of it", "")
    };
    let mut found = finding(
        Code::SampledTooLate,
        format!("`{}` is drawn {since} after {what} {left} is left", reading.name),
        moment.step.origin,
        format!("{left} of the dose is left"),
    )
    .and(dosed, "the dose goes in here");
    found = found.and_maybe(switched, "the specimen sees it from here on");
    if let Some((at, said)) = circuit {
        found = found.and(at, said);
    }
    let help = if fallen.fed {
        format!("sample {when} {} after its end; at {since} {left} is left", timer(last))
    } else {
        format!(
            "sample {} to {} after the switch; at {since} {left} of the dose is left. Write `wait {} ± {}` before this bottle, or feed the slurry continuously with `inject`",
            timer(first),
            timer(last),
            timer((first + last) / 2.0),
            timer((last - first) * 0.4)
        )
    };
    findings.add(found.and_maybe(gone.origin, "the rule that says how little is too little").help(help));
}

/// Two bottles of one pair: close in time, the cleaner one first, the way between the valves waited for.
pub(super) fn pairs(test: &Test, pairs: &[Pair<'_>], findings: &mut Findings, plan: &Plan) {
    for pair in pairs {
        apart(plan, test, pair, findings);
    }
}

fn apart(plan: &Plan, test: &Test, pair: &Pair<'_>, findings: &mut Findings) {
    let ((from, _, first, _), (to, _, second, _)) = (pair.first, pair.second);
    let between = test.steps.get(from + 1..to).unwrap_or_default();
    let waited: f64 = between.iter().map(|step| least(&step.action)).sum();
    let most = say::rule(plan, "pair-interval", 15.0);
    let changed = between.iter().find(|step| {
        matches!(
            step.action,
            Action::TakeRoute { .. }
                | Action::SetFlow { .. }
                | Action::Dose { .. }
                | Action::Inject { .. }
                | Action::CleanUp(_)
                | Action::Switch { .. }
                | Action::Mount { .. }
                | Action::Remove
                | Action::Valve { .. }
        )
    });
    let (what, at, role) = match (changed, between.iter().find(|step| least(&step.action) > 0.0)) {
        (_, Some(wait)) if above(waited, most.value) => {
            (format!("{} after", timer(waited)), wait.origin, "waited here".to_owned())
        }
        (Some(step), _) => {
            ("after a change of the bench, not beside".to_owned(), step.origin, "changed between the two".to_owned())
        }
        _ => return,
    };
    findings.add(
        finding(
            Code::PairTooFarApart,
            format!("`{}` is drawn {what} `{}`, its partner", second.name, first.name),
            second.origin,
            "the second of the pair",
        )
        .and(first.origin, "the first")
        .and(at, role)
        .and_maybe(most.origin, "the rule that says how far apart")
        .help(format!(
            "draw `{}` right after `{}`, {} apart at most",
            second.name,
            first.name,
            timer(most.value)
        )),
    );
}

/// The dirtier bottle first, or the way between the valves not waited for; looked at where dust is in the oil.
pub(super) fn in_dust(moment: &Moment<'_, '_>, pair: &Pair<'_>, findings: &mut Findings) {
    if moment.before.loop_dust.is_none() {
        return;
    }
    let ((_, _, first, one), (_, _, second, other)) = (pair.first, pair.second);
    let delayed = one.delay.is_some() || other.delay.is_some();
    let sides = (sits(moment.plan, one), sits(moment.plan, other));
    if sides == ("upstream", "downstream") && !delayed {
        findings.add(
            finding(
                Code::DirtyBottleFirst,
                format!("`{}` is drawn before `{}`, with dust in the oil", first.name, second.name),
                first.origin,
                "before the specimen: the dirtier oil",
            )
            .and(second.origin, "after it: the cleaner oil")
            .and_maybe(moment.before.loop_dust, "dust goes in here")
            .help(format!(
                "draw `{}` first and give `{}` the words `paired with {}`; or, with two pairs of hands, write `delay 3 s` in `{}`",
                second.name, first.name, second.name, second.name
            )),
        );
        return;
    }
    let both = matches!(sides, ("upstream", "downstream") | ("downstream", "upstream"));
    let Some(time) = line_time(moment).filter(|_| both && !delayed) else { return };
    let limit = say::rule(moment.plan, "line-delay", 2.0);
    if !above(time, limit.value) {
        return;
    }
    let down = if sides.0 == "downstream" { first } else { second };
    let up = if sides.0 == "downstream" { second } else { first };
    findings.add(
        finding(
            Code::NoLineDelay,
            format!(
                "oil takes {} from `{}` to `{}`, through the specimen, and no bottle waits for it",
                timer(time),
                if sides.0 == "downstream" { &other.sampler } else { &one.sampler },
                if sides.0 == "downstream" { &one.sampler } else { &other.sampler }
            ),
            down.origin,
            "after the specimen",
        )
        .and(up.origin, "before it")
        .and_maybe(moment.before.flow.map(|(_, at)| at), "at this flow")
        .and_maybe(limit.origin, "the rule that says how much matters")
        .help(format!(
            "write `delay {}` in `{}`, so that both bottles hold the same oil",
            timer(time.ceil()),
            down.name
        )),
    );
}
