//! The plan: everything a campaign is, with names bound, numbers computed and steps numbered. No doubt is left in it:
//! worksheet, form, audit, rehearsal and results read the same structure and have no rules of their own.

mod bench;

mod campaign;

mod results;

mod rules;

mod sequence;

pub use bench::*;
pub use campaign::*;
pub use results::*;
pub use rules::*;
pub use sequence::*;

use indexmap::IndexMap;
use serde::Serialize;

use crate::source::{SourceId, Span};

/// Where in the text something was said. Not part of a plan's meaning: the fingerprint does not see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Origin {
    pub source: SourceId,
    pub span: Span,
}

/// A campaign, unfolded.
#[derive(Debug, Clone, Serialize)]
pub struct Plan {
    pub campaign: Campaign,
    pub rig: Rig,
    pub fluids: IndexMap<String, Fluid>,
    /// Every fluid that the files describe: what could be taken instead. No part of the meaning.
    #[serde(skip)]
    pub shelf: Vec<Fluid>,
    pub dusts: IndexMap<String, Dust>,
    pub instruments: IndexMap<String, Instrument>,
    pub laboratories: IndexMap<String, Laboratory>,
    /// One for each `test` of the campaign: a protocol with its parameters bound, unfolded.
    pub tests: Vec<Test>,
    /// In the order in which they are to be run.
    pub runs: Vec<Run>,
    /// The packs in force, those used last winning.
    pub rules: Rules,
    pub waivers: Vec<Waiver>,
    /// Values that were put in place of written ones when the plan was read. Not part of its meaning: the values are in the plan,
    /// as they would be had they been written.
    #[serde(skip)]
    pub changed: Vec<Changed>,
    /// Changes exactly when the plan's meaning does. Empty until [`super::fingerprint`] has sealed the plan.
    #[serde(skip)]
    pub fingerprint: Fingerprint,
}

/// A value that is not the written one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    pub target: String,
    pub value: String,
    /// As it stands in the files; none for a parameter that has no value there.
    pub written: Option<String>,
}

impl std::fmt::Display for Changed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} = {}", self.target, self.value)?;
        self.written.as_ref().map_or(Ok(()), |written| write!(f, " instead of {written}"))
    }
}

/// SHA-256 over a plan's meaning, and the short form that is printed and typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Fingerprint {
    /// 64 hexadecimal digits.
    pub full: String,
    /// `XXXX-XXXX`: 35 bits of it and a check character, in an alphabet without look-alikes.
    pub short: String,
}

impl Plan {
    /// The run with this code.
    pub fn run(&self, code: &str) -> Option<&Run> {
        self.runs.iter().find(|run| run.code == code)
    }

    /// The test that a run carries out.
    pub fn test_of(&self, run: &Run) -> Option<&Test> {
        self.tests.get(run.test)
    }
}
