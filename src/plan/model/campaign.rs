//! Who tests what, in which order, with what at stake.

use indexmap::IndexMap;
use serde::Serialize;

use super::{Bounds, Mark, Marked, Origin};
use crate::quantity::Quantity;

#[derive(Debug, Clone, Serialize)]
pub struct Campaign {
    pub name: String,
    pub title: String,
    /// Set where the whole campaign is made up, with the sentence that says so.
    pub invented: Option<String>,
    pub questions: Vec<String>,
    /// ISO dates.
    pub starts: Option<String>,
    pub ends: Option<String>,
    pub people: IndexMap<String, Person>,
    pub models: IndexMap<String, Model>,
    pub specimens: IndexMap<String, Specimen>,
    pub blind: bool,
    /// Question or test and its share, where the campaign declares a weighted score.
    pub weights: Vec<(String, f64)>,
    #[serde(skip)]
    pub origin: Origin,
}

#[derive(Debug, Clone, Serialize)]
pub struct Person {
    pub initials: String,
    pub name: String,
    pub role: Option<String>,
    pub interests: Option<String>,
    pub trained_on: Option<String>,
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
