//! What a master technician would object to before any oil is heated: predicates on a bound [`Plan`].
//!
//! Most of them look at the state of the bench before and after a step ([`crate::foresight`]), the others at the plan as a whole. One
//! file a family; [`waiver`] sets aside what the plan's author has answered.

mod background;

mod claims;

mod clean_up;

mod consequence;

mod design;

mod dust;

mod flow;

mod fluid;

mod heat;

mod heater;

mod instruments;

mod people;

mod pressure;

mod samples;

mod say;

mod solvent;

mod supply;

mod vapour;

mod waiver;

mod warming;

mod writing;

use std::collections::{HashMap, HashSet};

use crate::diagnostic::{Checked, Code, Diagnostic, Place};
use crate::foresight::{self, Paper, State, polishing_valves};
use crate::plan::{self, Changed, Origin, Plan, Planned, Run, Stage, Step, Test};
use crate::source::{Loader, SourceId, Sources, Span};
pub(crate) use supply::amounts;
pub use waiver::settle;

/// Everything that is wrong with a plan that could be bound, the places of every part involved.
pub fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut findings = Findings::default();
    pressure::rig(plan, &mut findings);
    heater::rig(plan, &mut findings);
    instruments::calibrations(plan, &mut findings);
    design::campaign(plan, &mut findings);
    writing::campaign(plan, &mut findings);
    fluid::campaign(plan, &mut findings);
    samples::campaign(plan, &mut findings);
    let mut runs: Vec<Vec<&Run>> = vec![Vec::new(); plan.tests.len()];
    for run in &plan.runs {
        if let Some(of_test) = runs.get_mut(run.test) {
            of_test.push(run);
        }
    }
    let mut polished = Vec::new();
    for (test, runs) in plan.tests.iter().zip(&runs) {
        flow::test(plan, runs, test, &mut findings);
        pressure::test(plan, runs, test, &mut findings);
        instruments::test(plan, test, &mut findings);
        design::test(plan, runs, test, &mut findings);
        background::test(plan, runs, test, &mut findings);
        dust::test(plan, runs, test, &mut findings);
        clean_up::test(plan, test, &mut findings);
        samples::test(plan, runs, test, &mut findings);
        heater::test(plan, test, &mut findings);
        warming::test(plan, test, &mut findings);
        solvent::test(plan, test, &mut findings);
        fluid::test(plan, test, &mut findings);
        let worn = steps(plan, runs, test, &mut findings);
        polished.push((test, runs.len(), worn));
    }
    background::campaign(plan, &mut findings);
    dust::campaign(plan, &mut findings);
    clean_up::campaign(plan, &polished, &mut findings);
    supply::campaign(plan, &mut findings);
    heater::settle(&mut findings.list);
    people::campaign(plan, &mut findings);
    claims::campaign(plan, &runs, &mut findings);
    findings.list
}

/// Loads an entry file with all that it uses, binds it, checks every plan, and settles what is waived.
pub fn read(path: &str, loader: &dyn Loader, sources: &mut Sources) -> Checked<Planned> {
    read_changed(path, &[], loader, sources)
}

/// The same with values put in place of written ones: pairs of what is changed and the value, as typed.
pub fn read_changed(
    path: &str,
    typed: &[(String, String)],
    loader: &dyn Loader,
    sources: &mut Sources,
) -> Checked<Planned> {
    let loaded = plan::load(path, loader, sources);
    let changes = plan::changes(typed, sources);
    let mut bound = plan::bind_changed(&loaded.value, &changes.value);
    let mut diagnostics = loaded.diagnostics;
    diagnostics.extend(changes.diagnostics);
    diagnostics.extend(bound.diagnostics);
    for plan in &mut bound.value.plans {
        plan.changed.extend(changes.value.iter().filter(|change| change.is_taken()).map(|change| Changed {
            target: change.target.clone(),
            value: change.value.clone(),
            written: change.written(sources).map(str::to_owned),
        }));
    }
    for plan in &bound.value.plans {
        diagnostics.extend(check(plan));
        diagnostics = settle(plan, diagnostics);
    }
    Checked { value: bound.value, diagnostics: consequence::withhold(&loaded.value, diagnostics) }
}

/// Walks through a test with the state of the bench. Gives the dust (kg) that the polishing filter takes in one run.
fn steps<'p>(plan: &'p Plan, runs: &[&Run], test: &'p Test, findings: &mut Findings) -> foresight::Span {
    let polishing = polishing_valves(&plan.rig);
    let paper = Paper::new(plan, runs, test);
    let mut before = paper.start();
    let mut bottles = samples::Account::default();
    let mut days = design::Days::default();
    let mut trail = dust::Trail::new(test);
    for step in &test.steps {
        let after = paper.after(&before, step);
        let moment = Moment { plan, test, step, before: &before, after: &after, polishing: &polishing, paper: &paper };
        heat::step(&moment, findings);
        solvent::step(&moment, findings);
        fluid::step(&moment, findings);
        writing::step(&moment, findings);
        vapour::step(&moment, findings);
        flow::step(&moment, findings);
        pressure::step(&moment, findings);
        background::step(&moment, findings);
        dust::step(&moment, runs, &mut trail, findings);
        clean_up::step(&moment, &mut trail, findings);
        samples::step(&moment, &mut bottles, findings);
        instruments::step(&moment, findings);
        days.step(step, after.clock.low - before.clock.low);
        before = after;
    }
    background::end(runs, test, &before, findings);
    dust::end(&mut trail, plan, test, findings);
    bottles.end(plan, test, findings);
    days.end(plan, runs, test, findings);
    if trail.astray { foresight::Span::default() } else { before.tank.in_polisher() }
}

/// One step with the bench before and after it.
struct Moment<'m, 'p> {
    plan: &'p Plan,
    test: &'p Test,
    step: &'p Step,
    before: &'m State<'p>,
    after: &'m State<'p>,
    /// The valves that put the polishing filter into the circuit.
    polishing: &'m [&'p str],
    /// The test on paper: what is assumed and what can be worked out from it.
    paper: &'m Paper<'p>,
}

impl<'p> Moment<'_, 'p> {
    fn stage(&self) -> Option<&'p Stage> {
        self.test.stages.get(self.step.stage)
    }
}

/// Findings, each said once: a statement unfolds to many steps, and a protocol may stand behind many tests.
#[derive(Default)]
struct Findings {
    list: Vec<Diagnostic>,
    said: HashSet<(Code, Vec<(SourceId, Span)>)>,
    /// Where in the list a message stands: the same fault elsewhere is another place of the same finding.
    places: HashMap<(Code, String), usize>,
}

/// More places of one fault than this tell nobody more.
const PLACES: usize = 8;

impl Findings {
    fn add(&mut self, finding: Diagnostic) {
        let places = finding.places.iter().map(|place| (place.source, place.span)).collect();
        if !self.said.insert((finding.code, places)) {
            return;
        }
        let key = (finding.code, finding.message.clone());
        match self.places.get(&key).and_then(|index| self.list.get_mut(*index)) {
            Some(first) => {
                if let Some(place) = finding.places.into_iter().next()
                    && first.places.len() < PLACES
                    && !first.places.iter().any(|p| (p.source, p.span) == (place.source, place.span))
                {
                    first.places.push(Place { role: "and here".to_owned(), ..place });
                }
            }
            None => {
                self.places.insert(key, self.list.len());
                self.list.push(finding);
            }
        }
    }
}

/// A finding at its primary place.
fn finding(code: Code, message: impl Into<String>, at: Origin, role: impl Into<String>) -> Diagnostic {
    Diagnostic::new(code, message).at(at.source, at.span, role)
}

/// Another place of a finding.
trait Also {
    fn and(self, at: Origin, role: impl Into<String>) -> Self;

    fn and_maybe(self, at: Option<Origin>, role: impl Into<String>) -> Self;
}

impl Also for Diagnostic {
    fn and(self, at: Origin, role: impl Into<String>) -> Self {
        self.also(at.source, at.span, role)
    }

    fn and_maybe(self, at: Option<Origin>, role: impl Into<String>) -> Self {
        match at {
            Some(at) => self.and(at, role),
            None => self,
        }
    }
}
