//! Clean-up: does the oil go through the polishing filter, for long enough, and all of it?

use indexmap::IndexSet;

use super::dust::{Trail, counted, through_specimen, volume};
use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::foresight::Span;
use crate::plan::{Action, CleanUp, Origin, Plan, Polisher, Test};
use crate::quantity::Quantity;
use crate::trade::cleanliness::iso4406::Code as Cleanliness;

/// The polishing filter against what is counted.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    let (Some(polisher), Some(clean)) = (&plan.rig.polisher, first_clean_up(test)) else { return };
    let (share, size) = &polisher.removes.value;
    let wanted = say::rule(plan, "polisher-share", 0.9);
    let Some((smallest, at)) = smallest(plan, test) else { return };
    let weak = below(share.si(), wanted.value);
    if !weak && !below(smallest.si(), size.si()) {
        return;
    }
    let message =
        format!("`{}` removes {share} at {size}, and particles are counted from {smallest} up", polisher.name);
    let least = say::percent(wanted.value, Round::Near);
    findings.add(
        finding(Code::PolisherTooCoarse, message, polisher.origin, format!("removes {share} at {size}"))
            .and(at, "counted by this laboratory")
            .and(clean, "the clean-up that it is to do")
            .and_maybe(wanted.origin, "the rule that sets the share")
            .help(format!(
                "fit a polishing filter that removes {least} or more at {smallest}, or count from {size} up only"
            )),
    );
}

/// The polishing filter over the whole campaign: what each test sends into it, times its runs.
pub(super) fn campaign(plan: &Plan, tests: &[(&Test, usize, Span)], findings: &mut Findings) {
    let Some(polisher) = &plan.rig.polisher else { return };
    let Some(capacity) = &polisher.capacity else { return };
    let use_of = say::rule(plan, "polisher-use", 0.7);
    let runs = |runs: usize| u32::try_from(runs).map_or(0.0, f64::from);
    let total =
        tests.iter().fold(Span::default(), |sum, (_, count, worn)| sum.plus(worn.times(Span::exactly(runs(*count)))));
    let allowed = capacity.value.si() * use_of.value;
    if !above(total.high, allowed) {
        return;
    }
    let most = tests.iter().max_by(|a, b| (a.2.high * runs(a.1)).total_cmp(&(b.2.high * runs(b.1))));
    let Some((test, count, worn)) = most else { return };
    let unit = &capacity.value.unit;
    let amount = |si: f64| say::difference(si, unit, Round::Near);
    let often = (allowed / worn.high).floor().max(0.0);
    let help = if often >= 1.0 && often < runs(*count) {
        format!(
            "change it after {} runs of `{}`: write at the head of its protocol `confirm \"polishing filter changed, or good for one more run by the tally on its housing\"`",
            say::number(often, Round::Down),
            test.name
        )
    } else {
        format!("fit one that holds {} or more", say::difference(total.high / use_of.value, unit, Round::Up))
    };
    findings.add(
        finding(
            Code::PolisherWornOut,
            format!(
                "over the campaign `{}` takes up to {} of dust, {} of the {} that it holds",
                polisher.name,
                amount(total.high),
                say::percent(total.high / capacity.value.si(), Round::Near),
                capacity.value
            ),
            polisher.origin,
            format!("capacity {}", capacity.value),
        )
        .and(test.origin, format!("{count} runs of `{}`, up to {} each", test.name, amount(worn.high)))
        .and_maybe(use_of.origin, "the rule that sets the share")
        .help(help),
    );
}

fn first_clean_up(test: &Test) -> Option<Origin> {
    test.steps.iter().find(|step| matches!(step.action, Action::CleanUp(_))).map(|step| step.origin)
}

/// The smallest size that the laboratory counts in a bottle of this test.
fn smallest<'p>(plan: &'p Plan, test: &Test) -> Option<(&'p Quantity, Origin)> {
    let mut asked: IndexSet<&str> = IndexSet::new();
    for step in &test.steps {
        if let Some((_, bottle)) = counted(step) {
            asked.extend(bottle.tests.iter().map(String::as_str));
        }
    }
    let labs = plan.laboratories.values().flat_map(|lab| lab.tests.values().map(move |test| (lab, test)));
    labs.filter(|(_, test)| asked.contains(test.name.as_str()))
        .flat_map(|(lab, test)| test.sizes.iter().map(move |size| (size, lab.origin)))
        .min_by(|a, b| a.0.si().total_cmp(&b.0.si()))
}

/// Branches that dust has been in, and valves that were never turned.
#[derive(Default)]
pub(super) struct Branches<'p> {
    open: IndexSet<&'p str>,
    /// Named by some step so far: turned, or seen where they are.
    touched: IndexSet<&'p str>,
    /// Open while there was dust in the oil, and not since in a clean-up.
    dusty: IndexSet<&'p str>,
    cleaned: Option<Origin>,
    /// Opened after the clean-up: what of it, where, and how long oil has gone through since.
    joined: Option<Joined<'p>>,
}

#[derive(Clone, Copy)]
struct Joined<'p> {
    valve: &'p str,
    at: Origin,
    dusty: bool,
    waited: f64,
}

impl<'p> Branches<'p> {
    fn turn(&mut self, valve: &'p str, open: bool, at: Origin) {
        let known = !self.touched.insert(valve);
        if !open {
            self.open.shift_remove(valve);
            return;
        }
        let fresh = self.open.insert(valve);
        let dusty = self.dusty.contains(valve);
        if fresh && self.cleaned.is_some() && (dusty || !known) {
            let before = self.joined.filter(|joined| joined.dusty);
            self.joined = before.or(Some(Joined { valve, at, dusty, waited: 0.0 }));
        }
    }
}

pub(super) fn step<'p>(moment: &Moment<'_, 'p>, trail: &mut Trail<'p>, findings: &mut Findings) {
    if let Action::CleanUp(clean_up) = &moment.step.action {
        if goes_through(moment, trail, findings) {
            too_short(moment, trail, clean_up, findings);
        }
        by_the_clock(moment, trail, clean_up, findings);
    }
    branches(moment, trail, findings);
}

/// Whether the oil goes through the polishing filter at all, as far as the plan says.
fn goes_through(moment: &Moment<'_, '_>, trail: &Trail<'_>, findings: &mut Findings) -> bool {
    let at = moment.step.origin;
    let rig = &moment.plan.rig;
    if rig.polisher.is_none() {
        findings.add(
            finding(
                Code::CleanUpCleansNothing,
                "the rig has no polishing filter to clean up with",
                at,
                "this clean-up",
            )
            .and(rig.origin, "this rig")
            .help("describe it in the rig: `polisher … { removes … % at … µm(c) }`, and a route through it"),
        );
        return false;
    }
    let way = rig.routes.values().find(|route| route.through.as_deref() == Some("the polisher"));
    let take = way.map_or_else(
        || "give the rig a route `through the polisher` and take it before".to_owned(),
        |route| format!("write `route {}` before it", route.name),
    );
    let route = moment.before.route.and_then(|(name, origin)| Some((rig.routes.get(name)?, origin)));
    if let Some((route, origin)) = route
        && route.through.as_deref() != Some("the polisher")
        && !moment.polishing.iter().any(|valve| moment.before.valve(valve) == Some(true))
    {
        let mounted = moment.before.mounted.filter(|_| through_specimen(moment));
        let found = match mounted {
            Some(mounted) => finding(
                Code::SpecimenAsPolisher,
                format!("the clean-up goes by `{}`, with the specimen in the circuit", route.name),
                at,
                "this clean-up",
            )
            .and(mounted, "the specimen is mounted here"),
            None => finding(
                Code::CleanUpCleansNothing,
                format!("the clean-up goes by `{}`, which does not lead through the polishing filter", route.name),
                at,
                "this clean-up",
            ),
        };
        findings.add(found.and(origin, "the route in force").help(take));
        return false;
    }
    if through_specimen(moment)
        && let Some(mounted) = moment.before.mounted
    {
        findings.add(
            finding(
                Code::SpecimenAsPolisher,
                "the polishing filter is open, and so is the way through the specimen",
                at,
                "this clean-up",
            )
            .and(mounted, "the specimen is mounted here")
            .and_maybe(moment.before.route.map(|(_, origin)| origin), "the route in force")
            .help(take),
        );
        return false;
    }
    if trail.facts.speaks_of_pump && !moment.before.pump_runs() {
        findings.add(
            finding(Code::CleanUpCleansNothing, "the clean-up begins while the pump is off", at, "this clean-up")
                .and_maybe(moment.before.pump.map(|(_, origin)| origin), "the pump was stopped here")
                .help("write `start pump` before it"),
        );
        return false;
    }
    true
}

/// Turnovers against minutes, and what is left after them.
fn too_short(moment: &Moment<'_, '_>, trail: &Trail<'_>, clean_up: &CleanUp, findings: &mut Findings) {
    let (Some(flow), Some(oil), Some(polisher)) = (trail.flow, volume(moment), &moment.plan.rig.polisher) else {
        return;
    };
    let turnover = oil.si() / flow.si();
    if let (Some(turnovers), Some(cap)) = (clean_up.turnovers, &clean_up.cap) {
        let needed = turnovers * turnover;
        if above(needed, cap.si()) {
            findings.add(
                finding(
                    Code::CleanUpTooShort,
                    format!(
                        "{} turnovers take {} at {flow} with {oil}; the plan allows {cap}",
                        say::number(turnovers, Round::Near),
                        say::point(needed, &cap.unit, Round::Near)
                    ),
                    moment.step.origin,
                    "this clean-up",
                )
                .and_maybe(moment.before.route.map(|(_, origin)| origin), format!("{oil} in this route"))
                .help(longer_or_faster(
                    moment.plan,
                    needed,
                    turnovers * oil.si() / cap.si(),
                    cap,
                    flow,
                )),
            );
            return;
        }
    }
    let Some(since) = moment.before.loop_dust else { return };
    if let (Some(code), Some(cap)) = (&clean_up.background, &clean_up.cap) {
        to_code(moment, polisher, (code, cap), (turnover, flow, oil), since, findings);
        return;
    }
    let (turnovers, said) = match (clean_up.turnovers, &clean_up.time) {
        (Some(turnovers), _) => {
            (turnovers, format!("the {oil} pass the polishing filter {} times", say::number(turnovers, Round::Near)))
        }
        (None, Some(time)) => {
            let turnovers = time.si() / turnover;
            let number = say::number((turnovers * 10.0).round() / 10.0, Round::Near);
            (turnovers, format!("in {time} at {flow} the {oil} pass the polishing filter {number} times"))
        }
        (None, None) => return,
    };
    leaves(moment, polisher, (turnovers, turnover, &said), clean_up, since, findings);
}

/// More minutes, or more flow where the pump has it.
fn longer_or_faster(plan: &Plan, seconds: f64, faster: f64, cap: &Quantity, flow: &Quantity) -> String {
    let longer = format!("write `at most {}` or more", say::point(seconds, &cap.unit, Round::Up));
    if plan.rig.pump_delivers.window.contains(faster) {
        format!("{longer}, or clean up at {} or more", say::point(faster, &flow.unit, Round::Up))
    } else {
        longer
    }
}

/// The time to come down to a code, from what the doses have left: ln(C₀/C)/E turnovers.
fn to_code(
    moment: &Moment<'_, '_>,
    polisher: &Polisher,
    (code, cap): (&str, &Quantity),
    (turnover, flow, oil): (f64, &Quantity, &Quantity),
    since: Origin,
    findings: &mut Findings,
) {
    let share = polisher.removes.value.0.si();
    let first = code.parse::<Cleanliness>().ok().and_then(|code| code.bands().first().copied().flatten()?.up_to);
    let there = moment.before.upstream_above(4e-6, &moment.paper.grid).map(|there| there.low * 1e-6);
    let (Some(limit), Some(there)) = (first, there) else { return };
    if !(share > 0.0 && share <= 1.0 && limit > 0.0 && there > limit) {
        return;
    }
    let turnovers = (there / limit).ln() / share;
    let needed = turnovers * turnover;
    if !above(needed, cap.si()) {
        return;
    }
    findings.add(
        finding(
            Code::CleanUpTooShort,
            format!(
                "from {} particles per mL down to the {} of {code} it takes {} turnovers, {} at {flow} with {oil}; the plan allows {cap}",
                two_digits(there),
                two_digits(limit),
                say::number((turnovers * 10.0).round() / 10.0, Round::Near),
                say::point(needed, &cap.unit, Round::Near)
            ),
            moment.step.origin,
            "this clean-up",
        )
        .and(since, "dust goes in here")
        .and(polisher.origin, format!("removes {} at each pass", polisher.removes.value.0))
        .help(longer_or_faster(moment.plan, needed, turnovers * oil.si() / cap.si(), cap, flow)),
    );
}

fn two_digits(value: f64) -> String {
    let scale = 10_f64.powi(1 - value.max(1e-9).log10().floor() as i32);
    say::number((value * scale).round() / scale, Round::Near)
}

/// exp(−E·n) of the dust is left after n turnovers.
fn leaves(
    moment: &Moment<'_, '_>,
    polisher: &Polisher,
    (turnovers, turnover, said): (f64, f64, &str),
    clean_up: &CleanUp,
    since: Origin,
    findings: &mut Findings,
) {
    let rule = say::rule(moment.plan, "clean-up-leaves", 0.01);
    let share = polisher.removes.value.0.si();
    if !(share > 0.0 && share <= 1.0 && rule.value > 0.0 && rule.value < 1.0) {
        return;
    }
    let left = (-turnovers * share).exp();
    let needed = -rule.value.ln() / share;
    if !above(needed, turnovers) {
        return;
    }
    let help = match &clean_up.time {
        Some(time) => format!("clean up for {} or more", say::point(needed * turnover, &time.unit, Round::Up)),
        None => format!("clean up for {} turnovers or more", say::number(needed, Round::Up)),
    };
    findings.add(
        finding(
            Code::CleanUpTooShort,
            format!(
                "{said}, and {} of the dust is still there; at most {} is to be left",
                say::percent(left, Round::Near),
                say::percent(rule.value, Round::Near)
            ),
            moment.step.origin,
            "this clean-up",
        )
        .and(since, "dust goes in here")
        .and(polisher.origin, format!("removes {} at each pass", polisher.removes.value.0))
        .and_maybe(rule.origin, "the rule that sets what may be left")
        .help(format!("{help}; better, let it end by a count: `until background at most 14/12/9, at most 90 min`")),
    );
}

/// A clean-up that nobody looks at afterwards.
fn by_the_clock(moment: &Moment<'_, '_>, trail: &Trail<'_>, clean_up: &CleanUp, findings: &mut Findings) {
    if clean_up.background.is_some() || !moment.step.readings.iter().all(|r| r.name == "clean-up") {
        return;
    }
    if !trail.facts.matters() {
        return;
    }
    let said = match (&clean_up.turnovers, &clean_up.time) {
        (Some(turnovers), _) => format!("after {} turnovers", say::number(*turnovers, Round::Near)),
        (None, Some(time)) => format!("after {time}"),
        (None, None) => return,
    };
    let cap = clean_up.cap.as_ref().or(clean_up.time.as_ref());
    let cap = cap.map_or_else(|| "90 min".to_owned(), ToString::to_string);
    let sampler = moment.plan.rig.samplers.keys().next().map_or("…", String::as_str);
    findings.add(
        finding(
            Code::CleanUpOnTime,
            format!("the clean-up ends {said}, and nobody counts what is left"),
            moment.step.origin,
            "this clean-up",
        )
        .help(format!(
            "write `clean up through polisher until background at most 14/12/9, at most {cap}, sampled at {sampler} {{ … }}`"
        )),
    );
}

/// What joins the clean oil again after the clean-up.
fn branches<'p>(moment: &Moment<'_, 'p>, trail: &mut Trail<'p>, findings: &mut Findings) {
    let at = moment.step.origin;
    match &moment.step.action {
        Action::TakeRoute { opens, closes, .. } => {
            for valve in closes {
                trail.branches.turn(valve, false, at);
            }
            for valve in opens {
                trail.branches.turn(valve, true, at);
            }
        }
        Action::Valve { valve, open } => trail.branches.turn(valve, *open, at),
        Action::CleanUp(_) => {
            let branches = &mut trail.branches;
            branches.cleaned = Some(at);
            let open = branches.open.clone();
            branches.dusty.retain(|valve| !open.contains(valve));
            branches.joined = None;
        }
        Action::Circulate(dwell) | Action::Settle(dwell) | Action::Wait(dwell) => {
            if let Some(joined) = &mut trail.branches.joined {
                joined.waited += dwell.least.si();
            }
        }
        Action::Sample if counted(moment.step).is_some() => joined(moment, trail, findings),
        _ => {}
    }
    if moment.after.loop_dust.is_some() {
        let branches = &mut trail.branches;
        for valve in &branches.open {
            branches.dusty.insert(valve);
        }
    }
}

fn joined(moment: &Moment<'_, '_>, trail: &mut Trail<'_>, findings: &mut Findings) {
    let Some(joined) = trail.branches.joined.take() else { return };
    // In dusty oil a branch's own dust is lost; a valve that sheds is not.
    if joined.dusty && moment.before.loop_dust.is_some() {
        return;
    }
    let turnover = trail.flow.zip(volume(moment)).map(|(flow, oil)| oil.si() / flow.si());
    let enough = turnover.map_or(joined.waited > 0.0, |turnover| !below(joined.waited, turnover));
    if enough {
        return;
    }
    let minutes = turnover.map_or_else(
        || "5 min".to_owned(),
        |turnover| say::point(turnover * 3.0, &super::dust::unit("min"), Round::Up),
    );
    let (message, role, severity) = if joined.dusty {
        (
            format!(
                "oil that stood behind `{}` since the dust joins the clean oil right before this bottle",
                joined.valve
            ),
            "opened here, for the first time since the clean-up",
            Code::BranchNotCleaned.severity(),
        )
    } else {
        (
            format!("`{}` is turned for the first time right before this bottle", joined.valve),
            "turned here, and neither before nor during the clean-up",
            Severity::Note,
        )
    };
    findings.add(
        finding(Code::BranchNotCleaned, message, moment.step.origin, "this bottle")
            .and(joined.at, role)
            .and_maybe(trail.branches.cleaned, "the clean-up before it")
            .severity(severity)
            .help(format!(
                "write `circulate {minutes}` before the bottle; better, `open {}` during the clean-up as well",
                joined.valve
            )),
    );
}
