//! Who tests what, in which order, with what at stake.

use indexmap::IndexMap;
use serde::Serialize;

use super::{Bounds, Mark, Marked, Origin};
use crate::quantity::{Quantity, Unit};

#[derive(Debug, Clone, Serialize)]
pub struct Campaign {
    pub name: String,
    pub title: String,
    /// Set where the whole campaign is made up, with the sentence that says so.
    pub invented: Option<String>,
    pub questions: Vec<String>,
    /// For each question what answers it, where the campaign says so.
    #[serde(skip_serializing_if = "nothing_asked")]
    pub asks: Vec<Vec<Ask>>,
    /// ISO dates.
    pub starts: Option<String>,
    pub ends: Option<String>,
    pub people: IndexMap<String, Person>,
    pub models: IndexMap<String, Model>,
    pub specimens: IndexMap<String, Specimen>,
    pub blind: bool,
    /// Question or test and its share, where the campaign declares a weighted score.
    pub weights: Vec<(String, f64)>,
    /// How often bottles leave for the laboratory.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sent_every: Option<Quantity>,
    /// Clean bottles at hand: how many of which volume.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub bottles: Vec<(u32, Quantity)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tell_apart: Option<TellApart>,
    #[serde(skip)]
    pub places: CampaignPlaces,
    /// How the loggers of this bench write their files.
    #[serde(skip)]
    pub loggers: Vec<LoggerFile>,
    #[serde(skip)]
    pub origin: Origin,
}

/// A result that answers a question.
#[derive(Debug, Clone, Serialize)]
pub struct Ask {
    pub way: Way,
    /// As [`crate::plan::ResultKey::key`]: `restriction/warm-sweep`, `loading/capture at 10 µm(c)`.
    pub key: String,
    #[serde(skip)]
    pub origin: Origin,
}

/// What is asked of a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// Which specimen has the lowest.
    Lowest,
    Highest,
    /// What each has, in no order of merit.
    Each,
    /// Whether it is as the package says.
    AsClaimed,
}

impl Way {
    /// As it is written.
    pub fn words(self) -> &'static str {
        match self {
            Way::Lowest => "lowest",
            Way::Highest => "highest",
            Way::Each => "each",
            Way::AsClaimed => "as claimed",
        }
    }
}

/// Whether no question says what answers it: such a plan means what it meant before questions could.
fn nothing_asked(asks: &[Vec<Ask>]) -> bool {
    asks.iter().all(Vec::is_empty)
}

/// How a logger writes its files. No part of the plan's meaning: a file's layout changes nothing at the bench.
#[derive(Debug, Clone)]
pub struct LoggerFile {
    pub name: String,
    /// The byte between cells.
    pub separator: u8,
    pub decimal_comma: bool,
    /// Whether a row of units stands below the heading.
    pub unit_row: bool,
    pub time_column: String,
    /// Whether the time column holds seconds since [`LoggerFile::zero`]; otherwise a date and a time of day.
    pub elapsed: bool,
    /// The bench's clock when an elapsed time was 0, as written: `2026-09-14 08:00:00`.
    pub zero: Option<String>,
    /// A column whose cells say which step or which reading a row belongs to.
    pub marker: Option<String>,
    pub channels: Vec<Channel>,
    pub origin: Origin,
}

/// A column of a logger's files.
#[derive(Debug, Clone)]
pub struct Channel {
    pub column: String,
    pub instrument: String,
    /// The unit in which the column is written.
    pub unit: Unit,
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Person {
    pub initials: String,
    pub name: String,
    pub role: Option<String>,
    pub interests: Option<String>,
    pub trained_on: Option<String>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Model {
    pub name: String,
    pub title: String,
    pub price: Option<Quantity>,
    pub rated_flow: Option<Quantity>,
    pub bypass_opens: Option<Marked<Quantity>>,
    pub collapse: Option<Marked<Quantity>>,
    pub housing_rating: Option<Marked<Quantity>>,
    pub media_area: Option<Quantity>,
    /// paper, glass fibre, synthetic or mixed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub medium: Option<String>,
    pub can_volume: Option<Quantity>,
    pub thread: Option<String>,
    pub claims: Vec<Claim>,
    #[serde(skip_serializing_if = "Expects::is_empty")]
    pub expects: Expects,
    #[serde(skip)]
    pub origin: Origin,
}

/// What the tester takes a model to be like before it is tested: for predictions, never for results.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Expects {
    pub restriction: Option<Marked<ExpectedRestriction>>,
    /// Share caught in one pass, and at which size.
    pub captures: Vec<Marked<(Quantity, Quantity)>>,
    pub capacity: Option<Marked<Quantity>>,
    /// Standard deviation from specimen to specimen, as a share of what is measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scatter: Option<Marked<Quantity>>,
}

/// A clean element's differential pressure at one flow and viscosity.
#[derive(Debug, Clone, Serialize)]
pub struct ExpectedRestriction {
    pub pressure: Quantity,
    pub flow: Quantity,
    pub viscosity: Quantity,
    /// The part of it that grows with the viscosity.
    pub viscous: Option<Quantity>,
}

impl Expects {
    /// Whether nothing is expected.
    pub fn is_empty(&self) -> bool {
        self.restriction.is_none() && self.captures.is_empty() && self.capacity.is_none() && self.scatter.is_none()
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Claim {
    pub name: String,
    pub text: Option<String>,
    pub bounds: Option<Bounds>,
    pub size: Option<Quantity>,
    pub mark: Mark,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Specimen {
    pub code: String,
    pub model: Option<String>,
    pub lot: Option<String>,
    pub bought: Option<String>,
    pub reference: bool,
    #[serde(skip)]
    pub origin: Origin,
}

/// The difference that the campaign is to show, and how much alike specimens scatter; both as fractions of a result.
#[derive(Debug, Clone, Serialize)]
pub struct TellApart {
    pub difference: f64,
    pub scatter: f64,
    pub mark: Mark,
}

/// Where a campaign says what.
#[derive(Debug, Clone, Default)]
pub struct CampaignPlaces {
    pub dates: Option<Origin>,
    pub laboratory: Option<Origin>,
    pub bottles: Option<Origin>,
    pub weights: Option<Origin>,
    pub tell_apart: Option<Origin>,
}

/// The day on which a test is to begin.
#[derive(Debug, Clone, Serialize)]
pub struct Day {
    /// ISO date.
    pub date: String,
    #[serde(skip)]
    pub origin: Origin,
}

/// How the order of a test's runs came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// As the specimens stand in the register or in the test.
    AsListed,
    /// As the plan's author wrote it down.
    Given(Origin),
    /// Drawn from a seed.
    Drawn(Origin),
}

/// One specimen through one test.
#[derive(Debug, Clone, Serialize)]
pub struct Run {
    /// `R01`, `R02`, … in the order of the campaign.
    pub code: String,
    /// Index into [`super::Plan::tests`].
    pub test: usize,
    pub specimen: String,
    /// 1-based.
    pub replicate: u32,
}
