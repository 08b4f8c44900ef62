//! What stands on the bench: fluids, dusts, instruments, the rig, the laboratory.

use indexmap::IndexMap;
use serde::Serialize;

use super::Origin;
use crate::quantity::{Quantity, Unit, Window};

/// Where a number comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum Mark {
    Published(String),
    CommonPractice,
    FromMemory,
    /// Measured, on this ISO date.
    Measured(String),
    Unmarked,
}

impl Mark {
    /// In words; empty where nothing is said.
    pub fn words(&self) -> String {
        match self {
            Mark::Published(source) => format!("published in {source}"),
            Mark::CommonPractice => "common practice".to_owned(),
            Mark::FromMemory => "from memory".to_owned(),
            Mark::Measured(date) => format!("measured on {date}"),
            Mark::Unmarked => String::new(),
        }
    }
}

/// A value with its mark.
#[derive(Debug, Clone, Serialize)]
pub struct Marked<T> {
    pub value: T,
    pub mark: Mark,
    #[serde(skip)]
    pub origin: Origin,
}

/// Two bounds as written, both in the kind of quantity that their place wants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bounds {
    pub low: Option<Quantity>,
    pub high: Option<Quantity>,
    /// The same in coherent SI.
    pub window: Window,
}

#[derive(Debug, Clone, Serialize)]
pub struct Fluid {
    pub name: String,
    pub title: String,
    pub kind: Option<String>,
    pub class: Option<Marked<String>>,
    /// Measured kinematic viscosities and their temperatures, by rising temperature.
    pub viscosities: Vec<Marked<ViscosityPoint>>,
    pub density: Option<Marked<(Quantity, Quantity)>>,
    pub expansion: Option<Marked<Quantity>>,
    pub flash: Option<Marked<FlashPoint>>,
    pub pour: Option<Marked<Quantity>>,
    pub surface_tension: Option<Marked<(Quantity, Quantity)>>,
    pub conductivity: Option<Marked<(Quantity, Quantity)>>,
    pub cleanliness: Option<Marked<String>>,
    pub additives: Vec<Marked<String>>,
    /// Materials of seals, and whether they stand this fluid.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seals: Vec<Marked<(String, bool)>>,
    pub hazards: Vec<String>,
    pub supply: Option<Quantity>,
    pub lot: Option<String>,
    pub price: Option<(Quantity, Quantity)>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct ViscosityPoint {
    pub viscosity: Quantity,
    /// In SI, m²/s (a viscosity written in SUS is converted at its temperature).
    pub si: f64,
    pub temperature: Quantity,
}

#[derive(Debug, Clone, Serialize)]
pub struct FlashPoint {
    pub temperature: Quantity,
    pub closed_cup: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct Dust {
    pub name: String,
    pub title: String,
    pub grade: Marked<String>,
    pub lot: Option<String>,
    pub certificate: Option<String>,
    pub density: Option<Marked<Quantity>>,
    pub drying: Option<Marked<Drying>>,
    pub supply: Option<Quantity>,
    pub price: Option<(Quantity, Quantity)>,
    pub hazards: Vec<String>,
    pub sizes: Option<Marked<SizeDistribution>>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Drying {
    pub temperature: Bounds,
    pub time: Option<Quantity>,
    pub cooling: Option<Quantity>,
}

#[derive(Debug, Clone, Serialize)]
pub struct SizeDistribution {
    pub method: String,
    /// Size and the share by volume that is finer, by rising size.
    pub finer: Vec<(Quantity, Bounds)>,
}

/// What an instrument measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measures {
    DifferentialPressure,
    GaugePressure,
    AbsolutePressure,
    Temperature,
    Flow,
    Mass,
    Volume,
    Time,
    Length,
    Torque,
    Speed,
    Viscosity,
    ParticleCount,
    Conductivity,
}

impl Measures {
    pub const ALL: [Measures; 14] = [
        Measures::DifferentialPressure,
        Measures::GaugePressure,
        Measures::AbsolutePressure,
        Measures::Temperature,
        Measures::Flow,
        Measures::Mass,
        Measures::Volume,
        Measures::Time,
        Measures::Length,
        Measures::Torque,
        Measures::Speed,
        Measures::Viscosity,
        Measures::ParticleCount,
        Measures::Conductivity,
    ];

    /// As it is written in a file and printed on a sheet.
    pub fn words(self) -> &'static str {
        match self {
            Measures::DifferentialPressure => "differential pressure",
            Measures::GaugePressure => "gauge pressure",
            Measures::AbsolutePressure => "absolute pressure",
            Measures::Temperature => "temperature",
            Measures::Flow => "flow",
            Measures::Mass => "mass",
            Measures::Volume => "volume",
            Measures::Time => "time",
            Measures::Length => "length",
            Measures::Torque => "torque",
            Measures::Speed => "speed",
            Measures::Viscosity => "viscosity",
            Measures::ParticleCount => "particle count",
            Measures::Conductivity => "conductivity",
        }
    }

    pub fn from_words(words: &str) -> Option<Measures> {
        Self::ALL.into_iter().find(|m| m.words() == words)
    }
}

/// One term of an instrument's accuracy.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Accuracy {
    /// Fraction of the span (0.0025 for 0.25 %).
    OfSpan(f64),
    /// Fraction of the reading.
    OfReading(f64),
    Absolute(Quantity),
    /// The largest of several.
    WorstOf(Vec<Accuracy>),
}

#[derive(Debug, Clone, Serialize)]
pub struct Instrument {
    pub name: String,
    pub title: String,
    pub measures: Measures,
    pub range: Bounds,
    pub resolution: Quantity,
    /// Decimals to print and to expect, from the resolution as written.
    pub decimals: usize,
    /// The unit that its scale is read in: the resolution's.
    pub unit: Unit,
    pub accuracy: Accuracy,
    pub calibration: Option<Calibration>,
    /// Whether a calibration is written, even where its dates could not be read.
    #[serde(skip)]
    pub calibration_written: bool,
    pub indicator_only: Option<String>,
    pub place: Option<String>,
    pub tap_height: Option<Quantity>,
    pub viscosity_range: Option<Bounds>,
    pub largest_load: Option<Quantity>,
    pub serial: Option<String>,
    /// A place-holder for an instrument that a campaign will name; nothing but `measures` is known of it.
    pub is_role: bool,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Calibration {
    /// ISO dates.
    pub on: String,
    pub valid_until: String,
    pub certificate: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Rig {
    pub name: String,
    pub title: String,
    pub revision: u32,
    pub reservoir: Part,
    pub reservoir_holds: Bounds,
    /// What the reservoir is made of.
    pub reservoir_wall: Option<String>,
    pub pump: Part,
    pub pump_delivers: Bounds,
    #[serde(skip)]
    pub pump_delivers_at: Origin,
    pub pump_slip: Option<Marked<(Quantity, Quantity)>>,
    pub pump_drive: Option<String>,
    pub heater: Option<Heater>,
    pub relief: Relief,
    /// Every part that holds pressure, reservoir and pump left out.
    pub parts: Vec<Part>,
    pub valves: IndexMap<String, Part>,
    pub polisher: Option<Polisher>,
    pub samplers: IndexMap<String, Sampler>,
    pub injector: Option<Injector>,
    pub routes: IndexMap<String, Route>,
    pub instruments: Vec<String>,
    pub room_volume: Option<Quantity>,
    /// Where solvent is handled: `in the room`, `in a fume hood` or `outdoors`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub solvent_work: Option<String>,
    /// What the seals are made of.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seals: Vec<Seal>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hot_surfaces: Vec<HotSurface>,
    #[serde(skip)]
    pub origin: Origin,
}

/// A material that seals of the rig are made of, such as nitrile.
#[derive(Debug, Clone, Serialize)]
pub struct Seal {
    pub material: String,
    #[serde(skip)]
    pub origin: Origin,
}

/// Something near the rig that is hot enough to light oil mist.
#[derive(Debug, Clone, Serialize)]
pub struct HotSurface {
    pub title: String,
    pub temperature: Quantity,
    pub shielded: bool,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Part {
    pub name: String,
    pub title: String,
    /// Gauge pressure.
    pub rating: Option<Quantity>,
    pub at_most: Option<Quantity>,
    pub burst: Option<Quantity>,
    pub volume: Option<Quantity>,
    /// Bore and length, of a line.
    pub line: Option<(Quantity, Quantity)>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Heater {
    pub name: String,
    pub power: Quantity,
    pub surface_load: Option<Quantity>,
    pub covered_above: Option<Quantity>,
    pub high_limit: Option<(Quantity, bool)>,
    pub low_level_cut_out: Option<bool>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Relief {
    pub name: String,
    /// Gauge pressure.
    pub set: Quantity,
    /// ISO date.
    pub proved_on: Option<String>,
    #[serde(skip)]
    pub proved_at: Option<Origin>,
    pub directly_after_pump: Option<bool>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Polisher {
    pub name: String,
    pub removes: Marked<(Quantity, Quantity)>,
    pub capacity: Option<Marked<Quantity>>,
    pub rating: Option<Quantity>,
    pub volume: Option<Quantity>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Sampler {
    pub name: String,
    pub title: String,
    /// upstream, downstream, tank or elsewhere.
    pub sits: String,
    pub dead_volume: Quantity,
    pub bore: Option<Quantity>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Injector {
    pub name: String,
    pub holds: Quantity,
    pub delivers: Option<Bounds>,
    pub bore: Option<Quantity>,
    pub rating: Option<Quantity>,
    /// The valve of the branch that its line leads into.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feeds: Option<String>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Route {
    pub name: String,
    pub title: String,
    pub opens: Vec<String>,
    pub closes: Vec<String>,
    /// `the specimen`, `the polisher` or `neither`.
    pub through: Option<String>,
    pub volume: Option<Quantity>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Laboratory {
    pub name: String,
    pub title: String,
    pub tests: IndexMap<String, LabTest>,
    pub turnaround: Option<Quantity>,
    pub ships_within: Option<Quantity>,
    /// How its files are read. It is often learnt when the first file comes, and changes nothing at the bench: no part of the
    /// fingerprint.
    #[serde(skip)]
    pub results: Option<super::ResultsFile>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct LabTest {
    pub name: String,
    pub title: String,
    pub sizes: Vec<Quantity>,
    pub counts: Option<Counts>,
    pub counted_volume: Option<(Quantity, u32)>,
    pub smallest_bottle: Option<Quantity>,
    pub coincidence_limit: Option<Marked<Quantity>>,
    pub reports_code: bool,
    /// Further result fields: name and kind of quantity.
    pub fields: Vec<(String, String)>,
    /// By which calibration the counter tells sizes, and of when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated_to: Option<String>,
    /// What is done with a bottle first: shaken, degassed, looked at for water.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub before_counting: Vec<String>,
    pub price: Option<Quantity>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Counts {
    pub cumulative: bool,
    /// `per mL` or `per 100 mL`.
    pub basis: String,
    pub dilution_applied: Option<bool>,
}
