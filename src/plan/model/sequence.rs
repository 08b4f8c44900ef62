//! A test, unfolded: stages, numbered steps, and the readings that each step asks for.

use serde::Serialize;

use super::{Day, Hazard, Measures, Order, Origin};
use crate::quantity::{Quantity, Unit, Window};

/// A protocol with its parameters bound, unfolded. The same for every specimen that goes through it.
#[derive(Debug, Clone, Serialize)]
pub struct Test {
    pub name: String,
    pub title: String,
    pub protocol: ProtocolHead,
    /// Name and value as printed, in the order of the protocol.
    pub parameters: Vec<(String, String)>,
    pub limits: Limits,
    /// Protective equipment, and the hazard that calls for it.
    pub protection: Vec<(String, Hazard)>,
    pub dosing: Option<String>,
    /// What sets a run of this test aside.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub reject_if: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<Day>,
    /// The runs themselves say the order; this says how it came about.
    #[serde(skip)]
    pub order: Order,
    pub stages: Vec<Stage>,
    pub steps: Vec<Step>,
    pub batches: Vec<Batch>,
    /// Hazards that any of its steps has, in order.
    pub hazards: Vec<Hazard>,
    #[serde(skip)]
    pub origin: Origin,
    /// Where the campaign asks for it; nowhere for a protocol that is read alone.
    #[serde(skip)]
    pub asked: Option<Origin>,
}

#[derive(Debug, Clone, Serialize)]
pub struct ProtocolHead {
    pub name: String,
    pub title: String,
    pub revision: u32,
    pub purpose: String,
    pub leans_on: Vec<Leaning>,
}

/// A published method that a protocol leans on, and each departure from it.
#[derive(Debug, Clone, Serialize)]
pub struct Leaning {
    pub standard: String,
    /// What differs, and its expected effect where it was written.
    pub departures: Vec<(String, Option<String>)>,
    #[serde(skip)]
    pub origin: Origin,
}

/// What stops the run.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Limits {
    pub fluid_temperature: Option<Quantity>,
    /// Gauge.
    pub line_pressure: Option<Quantity>,
    pub differential_pressure: Option<Quantity>,
    pub reservoir_volume: Option<Quantity>,
    pub stop_if: Vec<String>,
    /// Where each is said, by the words that begin it: `fluid temperature at most`.
    #[serde(skip)]
    pub said: Vec<(&'static str, Origin)>,
}

impl Limits {
    /// Where a limit is said.
    pub fn origin(&self, key: &str) -> Option<Origin> {
        self.said.iter().find(|(said, _)| *said == key).map(|(_, origin)| *origin)
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Stage {
    pub name: String,
    pub title: String,
    pub fluid: Option<String>,
    /// The tare that is subtracted from this stage's differential pressures, as a stage name.
    pub tare: Option<String>,
    /// The adaptor that this stage is the tare of.
    pub tare_for: Option<String>,
    /// clean or dusty, where this stage is a blank.
    pub blank: Option<String>,
    /// Readings to be logged, and how often.
    pub logs: Vec<(Vec<String>, Quantity)>,
    /// The half-open range of its steps in [`Test::steps`].
    pub first_step: usize,
    pub end_step: usize,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Step {
    /// 1-based within the test.
    pub number: u32,
    /// `stage/…/step`, stable under edits elsewhere.
    pub path: String,
    /// Index into [`Test::stages`].
    pub stage: usize,
    pub action: Action,
    pub readings: Vec<Reading>,
    /// Set for a step inside a batch loop: which loop (index into [`Test::batches`]) and which round, 1-based.
    pub round: Option<(usize, u32)>,
    pub hazards: Vec<Hazard>,
    #[serde(skip)]
    pub origin: Origin,
}

/// Something to be written down: a box on the worksheet, a row of the form.
#[derive(Debug, Clone, Serialize)]
pub struct Reading {
    /// `stage/…/name`: its identity in every record.
    pub path: String,
    pub name: String,
    /// Few words for the box, such as `differential pressure`.
    pub label: String,
    pub wants: Wants,
    #[serde(skip)]
    pub origin: Origin,
}

/// What may be written in the box.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(clippy::large_enum_variant, reason = "a plan is built once and read often; boxes would only scatter it")]
pub enum Wants {
    Number(Numeric),
    /// Done, seen or closed.
    Tick,
    Choice(Vec<String>),
    /// A whole number.
    Count,
    Text,
    Photograph,
    /// A bottle was drawn: its label is known, the time is what counts.
    Bottle(Bottle),
}

#[derive(Debug, Clone, Serialize)]
pub struct Numeric {
    pub measures: Measures,
    /// `None` where the plan says in so many words that no instrument is named.
    pub instrument: Option<String>,
    pub unit: Unit,
    pub decimals: usize,
    /// What the operator sets: the reading must lie inside. SI.
    pub window: Option<Window>,
    pub target: Option<Quantity>,
    /// A wide range of plausibility for what is only measured. SI.
    pub expect: Option<Window>,
    /// SI limits that stop the run, where the plan has one for this kind of reading.
    pub stop: Option<Window>,
    /// The path of the reading that this one is compared with.
    pub baseline: Option<String>,
    /// The name by which the protocol calls the instrument: a parameter, or the instrument's own.
    #[serde(skip)]
    pub role: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Bottle {
    pub sampler: String,
    pub volume: Quantity,
    /// glass, metal or plastic.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    pub flush: Option<Quantity>,
    /// `returned` to the tank or `collected` and measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flush_ends: Option<String>,
    pub cleaner_than: Option<(Quantity, Quantity)>,
    pub tests: Vec<String>,
    pub dilution: Option<u32>,
    pub delay: Option<Quantity>,
    pub second_bottle: bool,
    pub twin: bool,
    pub paired_with: Option<String>,
}

impl Bottle {
    /// How many bottles are drawn: the one, its twin, and one to keep.
    pub fn pieces(&self) -> u32 {
        1 + u32::from(self.twin) + u32::from(self.second_bottle)
    }
}

/// A dwell: the next reading comes no sooner after the last one than this.
#[derive(Debug, Clone, Serialize)]
pub struct Dwell {
    pub least: Quantity,
    pub most: Option<Quantity>,
    pub until: Option<Drift>,
}

/// `until dp drifts less than 1 % in 30 s`.
#[derive(Debug, Clone, Serialize)]
pub struct Drift {
    pub reading: String,
    pub less_than: Quantity,
    pub within: Quantity,
}

/// A set value with its tolerance, in SI; `window` has no bounds where the plan says there is none.
#[derive(Debug, Clone, Serialize)]
pub struct Setting {
    pub target: Option<Quantity>,
    pub window: Window,
}

/// A viscosity to be held, and the temperatures that give it with the fluid in use.
#[derive(Debug, Clone, Serialize)]
pub struct ViscosityHold {
    pub fluid: String,
    /// m²/s.
    pub target: f64,
    pub window: Window,
    /// As written, for the sheet: `24 mm²/s` or `like multigrade-30 at 95 °C`.
    pub said: String,
    /// Kelvin: the set-point and the window, derived.
    pub temperature: f64,
    pub temperatures: Window,
    /// The unit in which the bench reads temperature here.
    pub unit: Unit,
}

/// What a step does. One variant a verb of the language; numbers typed, never text.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(clippy::large_enum_variant, reason = "a plan is built once and read often; boxes would only scatter it")]
pub enum Action {
    UseFluid {
        fluid: String,
    },
    HoldViscosity(ViscosityHold),
    HoldTemperature(Setting),
    HoldFlow(Setting),
    HoldBackPressure(Setting),
    HoldLevel(Setting),
    Circulate(Dwell),
    TakeRoute {
        route: String,
        opens: Vec<String>,
        closes: Vec<String>,
    },
    Valve {
        valve: String,
        open: bool,
    },
    Switch {
        what: String,
        on: bool,
    },
    Cool {
        to: Quantity,
    },
    Vent,
    Zero {
        instrument: String,
        within: Quantity,
    },
    /// One flow of a sweep.
    SetFlow {
        setting: Setting,
        rising: bool,
    },
    Settle(Dwell),
    Wait(Dwell),
    Read,
    Dose {
        mass: Setting,
        dust: String,
        carrier: Quantity,
        carrier_fluid: String,
        preparation: Preparation,
    },
    Condition {
        mass: Setting,
        dust: String,
        carrier: Quantity,
        carrier_fluid: String,
        through: String,
    },
    Inject {
        flow: Setting,
        feed: Option<Quantity>,
    },
    RinseInjector {
        times: u32,
        volume: Quantity,
    },
    Sample,
    CleanUp(CleanUp),
    ChangeFluid(FluidChange),
    Mount {
        turns: Option<Setting>,
        torque: Option<Setting>,
    },
    Remove,
    Weigh,
    BypassFlow {
        flow: Quantity,
        leak: Quantity,
    },
    AntiDrain {
        head: Quantity,
        fluid: String,
        time: Quantity,
    },
    BubblePoint {
        fluid: String,
        depth: Quantity,
        rate: Quantity,
        /// How much fluid stands open.
        #[serde(skip_serializing_if = "Option::is_none")]
        bath: Option<Quantity>,
    },
    Burst {
        step: Quantity,
        every: Quantity,
        cap: Quantity,
        shield: String,
    },
    Observe,
    Photograph,
    Confirm {
        text: String,
    },
    Note {
        text: String,
    },
    Caution {
        text: String,
    },
    HoldPoint {
        text: String,
    },
}

/// How a slurry is made.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Preparation {
    pub dry: bool,
    pub tumble: Option<Quantity>,
    pub shake: Option<Quantity>,
    pub ultrasonic: Option<(Quantity, Option<Quantity>)>,
    pub stir: Option<String>,
    pub inject: Option<(Setting, Option<Quantity>)>,
    pub rinse: Option<(u32, Quantity)>,
    pub weigh_empty_boat: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct CleanUp {
    pub turnovers: Option<f64>,
    pub time: Option<Quantity>,
    /// A cleanliness code such as `14/12/9`.
    pub background: Option<String>,
    pub cap: Option<Quantity>,
}

#[derive(Debug, Clone, Serialize)]
pub struct FluidChange {
    pub to: String,
    pub drain: bool,
    pub flushes: Vec<(Quantity, String, u32)>,
    pub dry: Option<Quantity>,
    pub fill: Option<Quantity>,
    pub verify: Option<(Quantity, String)>,
}

/// A loop of doses that ends when the differential pressure has risen far enough, or at its cap.
#[derive(Debug, Clone, Serialize)]
pub struct Batch {
    /// `stage/batch`.
    pub path: String,
    pub cap: u32,
    /// The name of the reading inside the loop that decides.
    pub reading: String,
    pub across_element: bool,
    /// Pa: a rise above the baseline, or an absolute value where there is no baseline.
    pub terminal: Quantity,
    pub baseline: Option<String>,
    /// Fraction of the rise.
    pub overshoot: Option<f64>,
    pub mass_cap: Option<Quantity>,
    pub time_cap: Option<Quantity>,
    #[serde(skip)]
    pub origin: Origin,
}
