//! The order of work at the bench: the way through the valves, the pump, what stands in the specimen's place.
//!
//! The whole test is walked through once. Every step is looked at before and after, so a valve that is closed before the other
//! one is open is seen as it would happen; a route opens its valves first and closes the others then, as the sheets say.

use indexmap::IndexMap;

use crate::check::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Origin, Plan, Run, Stage, Step, Test};

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let mut walk = Walk { plan, test, bench: Bench::default(), says: Says::of(test), findings };
    for step in &test.steps {
        walk.step(step);
    }
    walk.end(runs.len());
}

/// What stands in the specimen's place.
#[derive(Clone, Copy, PartialEq)]
enum Place {
    /// Nothing has been said of it yet.
    Unsaid,
    Specimen(Origin),
    Empty(Origin),
}

struct Bench<'p> {
    valves: IndexMap<&'p str, bool>,
    route: Option<Origin>,
    pump: Option<(bool, Origin)>,
    place: Place,
}

impl Default for Bench<'_> {
    fn default() -> Self {
        Bench { valves: IndexMap::new(), route: None, pump: None, place: Place::Unsaid }
    }
}

/// What a test speaks of anywhere: what it never mentions it leaves to the bench's own habits.
#[derive(Default)]
struct Says {
    starts: Vec<Origin>,
    routes: Vec<Origin>,
    /// Whether it stops the pump: where it neither stops nor starts it, pump and valves are left to the bench.
    ends: bool,
    /// Whether the first word about the specimen is that it goes on.
    mounts_first: Option<bool>,
}

impl Says {
    /// Whether the pump is the test's own business.
    fn pump(&self) -> bool {
        self.ends || !self.starts.is_empty()
    }

    fn of(test: &Test) -> Self {
        let mut says = Says::default();
        for step in &test.steps {
            match &step.action {
                Action::Switch { what, on } if what == "pump" => {
                    if *on {
                        says.starts.push(step.origin);
                    } else {
                        says.ends = true;
                    }
                }
                Action::TakeRoute { .. } => says.routes.push(step.origin),
                Action::Mount { .. } => says.mounts_first = says.mounts_first.or(Some(true)),
                Action::Remove => says.mounts_first = says.mounts_first.or(Some(false)),
                _ => {}
            }
        }
        says
    }
}

struct Walk<'p, 'f> {
    plan: &'p Plan,
    test: &'p Test,
    bench: Bench<'p>,
    says: Says,
    findings: &'f mut Findings,
}

impl<'p> Walk<'p, '_> {
    fn step(&mut self, step: &'p Step) {
        self.specimen(step);
        self.pump_needed(step);
        match &step.action {
            Action::TakeRoute { opens, closes, .. } => {
                for valve in opens {
                    self.bench.valves.insert(valve, true);
                }
                for valve in closes {
                    self.bench.valves.insert(valve, false);
                    self.dead_end(step);
                }
                self.dead_end(step);
                self.bench.route = Some(step.origin);
            }
            Action::Valve { valve, open } => {
                self.bench.valves.insert(valve, *open);
                self.dead_end(step);
            }
            Action::Switch { what, on } if what == "pump" => {
                self.bench.pump = Some((*on, step.origin));
                if *on {
                    self.no_route(step);
                    self.dead_end(step);
                }
            }
            Action::Mount { .. } => self.bench.place = Place::Specimen(step.origin),
            Action::Remove => self.bench.place = Place::Empty(step.origin),
            _ => {}
        }
    }

    fn runs(&self) -> bool {
        self.bench.pump.is_some_and(|(on, _)| on)
    }

    /// Whether oil that leaves the pump can come back by some route of the rig. `None` where it isn't known.
    fn way_open(&self) -> Option<bool> {
        let mut known = true;
        for route in self.plan.rig.routes.values() {
            // A route that only closes valves shows no way out.
            let mut open = !route.opens.is_empty() || route.closes.is_empty();
            for valve in &route.opens {
                match self.bench.valves.get(valve.as_str()) {
                    Some(true) => {}
                    Some(false) => open = false,
                    None => {
                        open = false;
                        known = false;
                    }
                }
            }
            if open {
                return Some(true);
            }
        }
        known.then_some(false)
    }

    /// A pump that pushes against closed valves, or may.
    fn dead_end(&mut self, step: &Step) {
        if !self.runs() {
            return;
        }
        let closing = matches!(&step.action, Action::Valve { open: false, .. });
        let message = match self.way_open() {
            Some(false) => "the pump runs, and every way back to the tank is closed",
            // A route was taken, and this closes it; of the other ways nobody has said anything.
            None if closing && self.bench.route.is_some() => {
                "the pump runs, and nothing shows that a way back to the tank is open"
            }
            _ => return,
        };
        let (role, help) = match &step.action {
            Action::Valve { valve, .. } => (
                format!("`{valve}` is the last way out"),
                format!("before this write `open …` with the valve of another way, or `stop pump`; {EITHER}"),
            ),
            _ => {
                let route = self.plan.rig.routes.keys().next().map_or("…", String::as_str);
                ("the pump runs from here on".to_owned(), format!("take a route first, for example `route {route}`"))
            }
        };
        let started = self.bench.pump.map(|(_, origin)| origin).filter(|origin| *origin != step.origin);
        self.findings.add(
            finding(Code::PumpAgainstClosed, message, step.origin, role)
                .and_maybe(started, "the pump started here")
                .and_maybe(self.bench.route, "the last route that was taken")
                .and(self.plan.rig.relief.origin, "from here on all the flow goes through this valve")
                .help(help),
        );
    }

    /// A pump that starts before anything was said of the valves.
    fn no_route(&mut self, step: &Step) {
        if self.bench.route.is_some() || self.way_open().is_some() {
            return;
        }
        let rig = &self.plan.rig;
        let later = self.says.routes.first().copied();
        let message = match later {
            Some(_) => "the pump starts before the route is taken",
            None => "the pump starts, and no route is ever taken",
        };
        let name = rig.routes.values().find(|r| r.through.as_deref() == Some("the specimen"));
        let name = name.or(rig.routes.values().next()).map_or("…", |route| route.name.as_str());
        let help = match later {
            Some(_) => "move the `route` line in front of `start pump`".to_owned(),
            None => format!("in front of it write `route {name}`, or another route of this rig"),
        };
        self.findings.add(
            finding(Code::RouteNotTaken, message, step.origin, "nobody has been told yet how the valves stand")
                .and_maybe(later, "the first route is taken here")
                .help(help),
        );
    }

    /// A flow that no pump makes.
    fn pump_needed(&mut self, step: &Step) {
        let flows = |flow: Option<&crate::quantity::Quantity>| flow.is_some_and(|flow| flow.value > 0.0);
        let what = match &step.action {
            Action::SetFlow { setting, .. } if flows(setting.target.as_ref()) => "a sweep of flows begins",
            Action::HoldFlow(setting) if flows(setting.target.as_ref()) => "a flow is held",
            Action::BypassFlow { .. } => "the by-pass valve is opened by flow",
            Action::Circulate(_) => "the oil is to go round",
            Action::Inject { .. } => "dust is injected",
            _ => return,
        };
        if self.runs() || !self.says.pump() {
            return;
        }
        let stopped = self.bench.pump.map(|(_, origin)| origin);
        let (message, role) = match (stopped, self.says.starts.first()) {
            (Some(_), _) => (format!("{what} after the pump was stopped"), "needs the pump"),
            (None, Some(_)) => (format!("{what} before the pump is started"), "needs the pump"),
            (None, None) => (format!("{what}, and nothing ever starts the pump"), "needs the pump"),
        };
        let later = self.says.starts.first().copied().filter(|_| stopped.is_none());
        self.findings.add(
            finding(Code::FlowWithoutPump, message, step.origin, role)
                .and_maybe(stopped, "the pump was stopped here")
                .and_maybe(later, "the pump starts only here")
                .help("write `start pump` before it, after the route is taken and the gauge is zeroed"),
        );
        // Said once; from here on the flow is taken for what was meant.
        self.bench.pump = Some((true, step.origin));
        self.dead_end(step);
    }

    /// What a step needs in the specimen's place, against what stands there.
    fn specimen(&mut self, step: &Step) {
        match (&step.action, self.bench.place) {
            (Action::Mount { .. }, Place::Specimen(since)) => self.findings.add(
                finding(
                    Code::SpecimenPlace,
                    "a specimen is mounted while the last one is still on",
                    step.origin,
                    "mounted again",
                )
                .and(since, "mounted here, and not removed since")
                .why(WHICH)
                .help("write `remove specimen` before it, after `stop pump` and `vent`, or take this line out"),
            ),
            (Action::Remove, Place::Empty(since)) => self.findings.add(
                finding(Code::SpecimenPlace, "a specimen is removed twice", step.origin, "nothing is there any more")
                    .and(since, "removed here")
                    .why(WHICH)
                    .help("take one of the two lines out, or write `mount specimen` between them"),
            ),
            (_, Place::Specimen(_)) => {}
            (_, place) => self.nothing_there(step, place),
        }
    }

    fn nothing_there(&mut self, step: &Step, place: Place) {
        let Some(stage) = self.test.stages.get(step.stage) else { return };
        let Some(what) = tests_a_specimen(step, stage) else { return };
        let (message, removed) = match place {
            Place::Empty(since) => (format!("{what} after the specimen was removed"), Some(since)),
            // Where its first word is `remove specimen`, the specimen is on from the test before.
            _ if self.says.mounts_first == Some(true) => (format!("{what} before a specimen is mounted"), None),
            _ if self.says.mounts_first.is_none() && stage.tare.is_some() && self.says.pump() => {
                (format!("{what}, and no specimen is ever mounted"), None)
            }
            _ => return,
        };
        let later = self.test.steps.iter().skip(step.number as usize);
        let later = later.filter(|later| matches!(later.action, Action::Mount { .. })).map(|later| later.origin).next();
        self.findings.add(
            finding(Code::SpecimenPlace, message, step.origin, "needs a specimen")
                .and_maybe(removed, "removed here")
                .and_maybe(later, "the next one goes on only here")
                .help("write `mount specimen` before it, with the pump off and the rig vented; a stage that is meant to run without one says `tare for \"…\"` or `blank clean`"),
        );
        self.bench.place = Place::Specimen(step.origin);
    }

    /// The next run would find this one's specimen.
    fn end(&mut self, runs: usize) {
        let Place::Specimen(since) = self.bench.place else { return };
        // A test that ends with mounting leaves the specimen for the one after it.
        let last = self.test.steps.last().is_some_and(|step| step.origin == since);
        if runs < 2 || last || self.says.mounts_first != Some(true) {
            return;
        }
        let mounted = self.test.steps.iter().any(|s| s.origin == since && matches!(s.action, Action::Mount { .. }));
        if !mounted {
            return;
        }
        self.findings.add(
            finding(
                Code::SpecimenPlace,
                format!("the test ends with the specimen still on, and {runs} runs follow each other"),
                since,
                "mounted here, and never removed",
            )
            .and(self.test.origin, "this protocol")
            .why("The next run begins by mounting its own specimen where this one still is.")
            .help("end it with `stop pump`, `vent` and `remove specimen`"),
        );
    }
}

const WHICH: &str =
    "The sheet asks for what can't be done, and afterwards nobody can say which specimen the readings belong to.";
const EITHER: &str = "with the pump running, the new way is opened before the old one is closed";

/// What only means something with a specimen in place, in words.
fn tests_a_specimen(step: &Step, stage: &Stage) -> Option<&'static str> {
    if stage.tare_for.is_some() || stage.blank.is_some() {
        return None;
    }
    match &step.action {
        Action::SetFlow { .. } => Some("a sweep begins"),
        Action::Dose { .. } => Some("dust is dosed"),
        Action::BypassFlow { .. } => Some("the by-pass valve is opened by flow"),
        Action::Burst { .. } => Some("the burst test begins"),
        _ if step.round.is_some() => Some("a loop to a terminal pressure begins"),
        _ => None,
    }
}
