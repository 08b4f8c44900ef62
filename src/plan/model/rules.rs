//! What a bench holds to: windows, thresholds, cautions, checks of its own, waivers.

use indexmap::IndexMap;
use serde::Serialize;

use super::{Mark, Marked, Origin};
use crate::quantity::Quantity;

#[derive(Debug, Clone, Default, Serialize)]
pub struct Rules {
    /// Names and titles of the packs in force.
    pub packs: Vec<(String, String)>,
    pub windows: IndexMap<String, Marked<Quantity>>,
    pub thresholds: IndexMap<String, Marked<Quantity>>,
    pub cautions: Vec<Caution>,
    pub emergency: Vec<String>,
    /// Protective equipment that the bench asks for whatever the protocol says, and the hazard that calls for it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub protection: Vec<(String, Hazard)>,
    /// Where waste goes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub waste: Vec<WasteRoute>,
    /// What stops any run of this bench.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stop_if: Vec<String>,
    /// What sets a whole run aside.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub reject_if: Vec<String>,
    /// What is done when something has to change in the middle of a run.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub on_change: Vec<String>,
    /// The checks themselves are evaluated by `plan`; their names and titles are printed.
    pub house: Vec<(String, String)>,
}

impl Rules {
    /// A threshold or a window of the packs in force.
    pub fn look_up(&self, name: &str) -> Option<&Marked<Quantity>> {
        self.thresholds.get(name).or_else(|| self.windows.get(name))
    }

    /// The same in SI, of what has no zero of its own: a share, a count, a pressure, a time.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.look_up(name).map(|found| found.value.si_difference()).filter(|value| value.is_finite())
    }

    /// A temperature as a point on its scale, K.
    pub fn point(&self, name: &str) -> Option<f64> {
        self.look_up(name).map(|found| found.value.si()).filter(|value| value.is_finite())
    }
}

/// What a caution, a step or a protective item answers to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hazard {
    Always,
    HotOil,
    Pressure,
    Dust,
    Solvent,
    Ultrasonic,
    Oven,
    Burst,
    Electrical,
    Spills,
    Mist,
    Static,
    Cutting,
    Waste,
    Fire,
}

impl Hazard {
    pub const ALL: [Hazard; 15] = [
        Hazard::Always,
        Hazard::HotOil,
        Hazard::Pressure,
        Hazard::Dust,
        Hazard::Solvent,
        Hazard::Ultrasonic,
        Hazard::Oven,
        Hazard::Burst,
        Hazard::Electrical,
        Hazard::Spills,
        Hazard::Mist,
        Hazard::Static,
        Hazard::Cutting,
        Hazard::Waste,
        Hazard::Fire,
    ];

    pub fn words(self) -> &'static str {
        match self {
            Hazard::Always => "always",
            Hazard::HotOil => "hot oil",
            Hazard::Pressure => "pressure",
            Hazard::Dust => "dust",
            Hazard::Solvent => "solvent",
            Hazard::Ultrasonic => "ultrasonic",
            Hazard::Oven => "oven",
            Hazard::Burst => "burst",
            Hazard::Electrical => "electrical",
            Hazard::Spills => "spills",
            Hazard::Mist => "mist",
            Hazard::Static => "static",
            Hazard::Cutting => "cutting",
            Hazard::Waste => "waste",
            Hazard::Fire => "fire",
        }
    }

    pub fn from_words(words: &str) -> Option<Hazard> {
        Self::ALL.into_iter().find(|h| h.words() == words)
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Caution {
    pub name: String,
    pub hazard: Hazard,
    pub text: String,
    pub mark: Mark,
}

/// One kind of waste and where it goes.
#[derive(Debug, Clone, Serialize)]
pub struct WasteRoute {
    /// `oil`, `solvent` or `dust`.
    pub what: String,
    pub route: String,
}

/// A finding set aside by the plan's author, with the reason; printed wherever results are.
#[derive(Debug, Clone, Serialize)]
pub struct Waiver {
    pub code: String,
    pub reason: String,
    /// Where it stands: a stage's path, a test's name, or empty for the whole campaign.
    pub scope: String,
    /// The block whose findings it answers; the whole campaign's where there is none.
    #[serde(skip)]
    pub covers: Option<Origin>,
    #[serde(skip)]
    pub origin: Origin,
}
