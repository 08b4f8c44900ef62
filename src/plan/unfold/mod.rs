//! A protocol's statements to numbered steps.
//!
//! Loops are written out to their caps; every reading gets the path that is its name for good. A step's number may change when
//! the text above it does, its path does not.

mod bench_work;

mod dust_work;

mod hold;

mod loops;

mod readings;

use std::collections::HashSet;

use indexmap::IndexMap;

use super::declare::Bench;
use super::model::{Action, Fluid, Hazard, Instrument, Reading, Rig, Stage, Step, Test, Waiver, Wants};
use super::read::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::Quantity;
use crate::syntax::tree::Statement;

/// What a protocol is unfolded against.
pub(crate) struct Surroundings<'a> {
    pub(crate) context: &'a Context<'a>,
    pub(crate) bench: &'a Bench,
    /// The bench's instruments, and stand-ins for roles that no campaign has filled.
    pub(crate) instruments: &'a IndexMap<String, Instrument>,
    /// Absent where a protocol is read alone.
    pub(crate) rig: Option<&'a Rig>,
    pub(crate) block: &'a [Statement],
}

/// A sequence longer than this is a slip in a cap or a repeat.
const LONGEST: usize = 100_000;

/// Fills in the test's stages and steps. Gives the waivers that stand in the protocol; nothing if a step could not be made.
pub(crate) fn unfold(surroundings: &Surroundings<'_>, test: &mut Test) -> Option<Vec<Waiver>> {
    let mut walker = Walker {
        s: surroundings,
        test,
        waivers: Vec::new(),
        prefix: Vec::new(),
        fluid: None,
        round: None,
        taken: HashSet::new(),
        whole: true,
        too_long: false,
        oil_probes: HashSet::new(),
    };
    walker.find_oil_probes(surroundings.block);
    for statement in surroundings.block {
        match statement.key() {
            "stage" => walker.stage(statement),
            "waive" => walker.waive(statement, None),
            _ => {}
        }
    }
    let Walker { waivers, whole, test, .. } = walker;
    test.hazards = Hazard::ALL
        .into_iter()
        .filter(|h| *h == Hazard::Always || test.steps.iter().any(|s| s.hazards.contains(h)))
        .collect();
    if test.steps.is_empty() && whole {
        let context = surroundings.context;
        context.notes.add(
            Diagnostic::new(Code::NoSteps, format!("`{}` has no steps", test.protocol.name))
                .at(test.origin.source, test.origin.span, "nothing would be done")
                .help("write at least one stage with a `read` in it"),
        );
        return None;
    }
    whole.then_some(waivers)
}

pub(crate) struct Walker<'a> {
    s: &'a Surroundings<'a>,
    test: &'a mut Test,
    waivers: Vec<Waiver>,
    prefix: Vec<String>,
    fluid: Option<String>,
    round: Option<(usize, u32)>,
    taken: HashSet<String>,
    /// False once a statement could not be made into a step; its reason has been reported.
    whole: bool,
    too_long: bool,
    /// The thermometers by which oil is held or cooled: the limit of the oil's temperature is theirs, not the room's.
    oil_probes: HashSet<String>,
}

impl<'a> Walker<'a> {
    fn context(&self) -> &'a Context<'a> {
        self.s.context
    }

    fn find_oil_probes(&mut self, block: &[Statement]) {
        for s in block {
            if s.key().starts_with("hold ") || s.key() == "cool to" {
                let named = self.context().word(s, "instrument").and_then(|word| self.context().stands_for(&word.text));
                self.oil_probes.extend(named);
            }
            self.find_oil_probes(&s.block);
        }
    }

    fn stage(&mut self, statement: &Statement) {
        let context = self.context();
        let (Some(name), Some(title)) = (context.text(statement, "name"), context.text(statement, "title")) else {
            return;
        };
        if self.test.stages.iter().any(|stage| stage.name == name) {
            context.report(
                Code::DuplicateName,
                format!("two stages are called `{name}`"),
                statement.head,
                "the second",
                "give it another name: readings are called by their stage",
            );
        }
        let first_step = self.test.steps.len();
        self.test.stages.push(Stage {
            name: name.clone(),
            title,
            fluid: self.fluid.clone(),
            tare: None,
            tare_for: None,
            blank: None,
            logs: Vec::new(),
            first_step,
            end_step: first_step,
            origin: context.origin(statement.head),
        });
        self.prefix = vec![name];
        if statement.block.is_empty() {
            context.report(
                Code::EmptyBlock,
                "this stage does nothing",
                statement.head,
                "an empty block",
                "write its steps, or take it out",
            );
        }
        self.statements(&statement.block, Some(statement));
        let (end, fluid) = (self.test.steps.len(), self.fluid.clone());
        if let Some(stage) = self.test.stages.last_mut() {
            stage.end_step = end;
            stage.fluid = stage.fluid.take().or(fluid);
        }
        self.prefix.clear();
    }

    fn statements(&mut self, block: &[Statement], owner: Option<&Statement>) {
        for statement in block {
            if self.too_long {
                return;
            }
            if statement.key() == "waive" {
                self.waive(statement, owner);
            } else if self.statement(statement).is_none() {
                self.whole = false;
            }
        }
    }

    /// Makes a statement's steps. `None` where that failed; the reason has been reported.
    fn statement(&mut self, s: &Statement) -> Option<()> {
        match s.key() {
            "fluid" => self.fluid(s),
            "hold viscosity" => self.hold_viscosity(s),
            "hold viscosity like" => self.hold_viscosity_like(s),
            "hold temperature" | "hold flow" | "hold back pressure" | "hold level" => self.hold(s),
            "sweep flow" => self.sweep(s),
            "repeat" => self.repeat(s),
            "batch at most" => self.batch(s),
            "by-pass opening" => self.bypass(s),
            "circulate" | "settle" | "wait" => self.dwell(s),
            "read" => self.read(s),
            "weigh" => self.weigh(s),
            "zero" => self.zero(s),
            "observe" => self.observe(s),
            "sample" => self.sample(s),
            "dose" => self.dose(s),
            "condition with" => self.condition(s),
            "inject at" => self.inject(s),
            "rinse injector" => self.rinse(s),
            "clean up through" => self.clean_up(s),
            "change fluid to" => self.change_fluid(s),
            "log" | "subtract tare" | "tare for" | "blank" => self.stage_note(s),
            _ => self.bench_work(s),
        }
    }

    fn waive(&mut self, statement: &Statement, owner: Option<&Statement>) {
        let context = self.context();
        if let (Some(code), Some(reason)) = (context.text(statement, "code"), context.text(statement, "reason")) {
            self.waivers.push(Waiver {
                code,
                reason,
                scope: self.prefix.join("/"),
                covers: owner.map(|o| context.origin(o.span)),
                origin: context.origin(statement.head),
            });
        }
    }

    /// Adds a step. Its path is the stage, the rounds it stands in, and what it does.
    fn step(&mut self, s: &Statement, slug: &str, action: Action, readings: Vec<Reading>) -> Option<()> {
        if self.test.steps.len() >= LONGEST {
            self.too_long = true;
            self.context().report(
                Code::PlanTooLong,
                format!("this protocol unfolds to more than {LONGEST} steps"),
                s.head,
                "the last step that was made",
                "look for a cap, a repeat or a list that is larger than was meant",
            );
            return None;
        }
        let path = self.path(slug);
        let hazards = self.hazards(&action);
        self.test.steps.push(Step {
            number: u32::try_from(self.test.steps.len() + 1).unwrap_or(u32::MAX),
            path,
            stage: self.test.stages.len().saturating_sub(1),
            action,
            readings,
            round: self.round,
            hazards,
            origin: self.context().origin(s.head),
        });
        Some(())
    }

    /// A name in the present stage and round that nothing else has: the second of a kind gets `-2`.
    fn path(&mut self, slug: &str) -> String {
        let base = format!("{}/{slug}", self.prefix.join("/"));
        let mut path = base.clone();
        let mut again = 2;
        while !self.taken.insert(path.clone()) {
            path = format!("{base}-{again}");
            again += 1;
        }
        path
    }

    fn reading(&mut self, s: &Statement, name: &str, label: &str, mut wants: Wants) -> Reading {
        if let Wants::Number(numeric) = &mut wants {
            numeric.role = self.context().word(s, "instrument").map(|word| word.text.clone());
        }
        Reading {
            path: self.path(name),
            name: name.to_owned(),
            label: label.to_owned(),
            wants,
            origin: self.context().origin(s.head),
        }
    }

    /// A step whose only box is a tick.
    fn ticked(&mut self, s: &Statement, slug: &str, label: &str, action: Action) -> Option<()> {
        let tick = self.reading(s, slug, label, Wants::Tick);
        self.step(s, &format!("do-{slug}"), action, vec![tick])
    }

    /// The fluid of the present stage.
    fn fluid_in_use(&self, s: &Statement) -> Option<&'a Fluid> {
        match &self.fluid {
            Some(name) => self.s.bench.fluids.get(name),
            None => {
                self.context().report(
                    Code::NoFluid,
                    "nothing says which fluid is in the rig here",
                    s.head,
                    "needs a fluid",
                    "write `fluid …` earlier in the stage",
                );
                None
            }
        }
    }

    fn stage_now(&mut self) -> Option<&mut Stage> {
        self.test.stages.last_mut()
    }

    fn hazards(&self, action: &Action) -> Vec<Hazard> {
        let warm = |kelvin: f64| kelvin >= 273.15 + 45.0;
        let mut hazards = Vec::new();
        match action {
            Action::HoldViscosity(hold) => {
                hazards.extend([Hazard::Electrical]);
                if warm(hold.temperature) {
                    hazards.extend([Hazard::HotOil, Hazard::Fire]);
                }
            }
            Action::HoldTemperature(setting) => {
                hazards.push(Hazard::Electrical);
                if setting.target.as_ref().is_some_and(|t| warm(t.si())) {
                    hazards.extend([Hazard::HotOil, Hazard::Fire]);
                }
            }
            Action::HoldFlow(_) | Action::SetFlow { .. } | Action::BypassFlow { .. } | Action::HoldBackPressure(_) => {
                hazards.extend([Hazard::Pressure, Hazard::Spills, Hazard::Mist]);
            }
            Action::Dose { preparation, .. } => {
                hazards.push(Hazard::Dust);
                if preparation.ultrasonic.is_some() {
                    hazards.push(Hazard::Ultrasonic);
                }
                if preparation.dry {
                    hazards.push(Hazard::Oven);
                }
            }
            Action::Condition { .. } => hazards.push(Hazard::Dust),
            Action::Mount { .. } | Action::Remove => hazards.extend([Hazard::Spills, Hazard::Waste]),
            Action::CleanUp(_) => hazards.push(Hazard::Static),
            Action::ChangeFluid(change) => {
                hazards.extend([Hazard::Waste, Hazard::Spills]);
                let all = change.flushes.iter().map(|(_, fluid, _)| fluid).chain([&change.to]);
                if all.into_iter().any(|fluid| self.is_flammable(fluid)) {
                    hazards.extend([Hazard::Solvent, Hazard::Fire]);
                }
            }
            Action::UseFluid { fluid } | Action::BubblePoint { fluid, .. } if self.is_flammable(fluid) => {
                hazards.extend([Hazard::Solvent, Hazard::Fire]);
            }
            Action::Burst { .. } => hazards.extend([Hazard::Burst, Hazard::Pressure]),
            Action::Switch { what, on: true } if what == "pump" => hazards.extend([Hazard::Pressure, Hazard::Spills]),
            Action::Switch { what, on: true } if what == "heater" => {
                hazards.extend([Hazard::Electrical, Hazard::Fire]);
            }
            _ => {}
        }
        hazards.sort();
        hazards.dedup();
        hazards
    }

    fn is_flammable(&self, fluid: &str) -> bool {
        self.s
            .bench
            .fluids
            .get(fluid)
            .is_some_and(|f| f.hazards.iter().any(|h| h == "flammable") || f.kind.as_deref() == Some("solvent"))
    }
}

/// A quantity as a piece of a path: `40 L/min` is `40-l-min`.
fn slug(quantity: &Quantity) -> String {
    let mut slug = String::new();
    for c in quantity.to_string().to_lowercase().chars() {
        match c {
            '²' => slug.push('2'),
            '³' => slug.push('3'),
            '.' => slug.push('.'),
            c if c.is_alphanumeric() => slug.push(c),
            _ if slug.ends_with('-') || slug.is_empty() => {}
            _ => slug.push('-'),
        }
    }
    slug.trim_matches('-').to_owned()
}
