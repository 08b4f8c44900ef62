//! Cleanliness codes: a few figures in place of a row of counts.
//!
//! [`iso4406`] codes the counts at three sizes by scale numbers; [`as4059`] gives a class per size from cumulative counts,
//! [`nas1638`] one per size class from differential counts. All three are tables and not formulas. A code says less than
//! the counts it came from: compute from counts, report the code beside them.

pub mod as4059;
pub mod iso4406;
pub mod nas1638;

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Codes and counts that do not fit their tables.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum CleanlinessError {
    #[error("`{0}` is no scale number; one is 0 to 28, >28, * or -, and may carry >= in front")]
    ScaleNumber(String),
    #[error("`{0}` is no ISO 4406 code; one has three figures, as 19/16/10, or -/16/10 for microscope counts")]
    Code(String),
    #[error("`{0}` is no class; the classes are 000, 00, 0 and 1 to 12")]
    Class(String),
    #[error("`{0}` is no class with a size letter, as 7B")]
    SizeLetter(String),
    #[error("size {0} stands twice in one code")]
    Twice(char),
    #[error("a count must be zero or more and finite, not {0}")]
    Count(f64),
}

/// A class of AS4059 or NAS 1638, cleanest first: 000, 00, 0, 1, …, 12.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Class(u8);

impl Class {
    const NAMES: [&'static str; 15] = ["000", "00", "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12"];

    /// All classes, cleanest first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..15).map(Self)
    }

    fn name(self) -> &'static str {
        Self::NAMES.get(usize::from(self.0)).copied().unwrap_or_default()
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Class {
    type Err = CleanlinessError;

    fn from_str(text: &str) -> Result<Self, CleanlinessError> {
        Self::all().find(|class| class.name() == text.trim()).ok_or_else(|| CleanlinessError::Class(text.into()))
    }
}

impl TryFrom<String> for Class {
    type Error = CleanlinessError;

    fn try_from(text: String) -> Result<Self, CleanlinessError> {
        text.parse()
    }
}

impl From<Class> for String {
    fn from(class: Class) -> Self {
        class.name().into()
    }
}

/// The class of a count, or the news that it exceeds them all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Classified {
    In(Class),
    /// More than class 12 allows.
    Above12,
}

impl fmt::Display for Classified {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::In(class) => class.fmt(f),
            Self::Above12 => f.write_str(">12"),
        }
    }
}

/// The lowest class whose limit, as `limit` gives it, is not exceeded.
fn lowest(count: f64, limit: impl Fn(Class) -> Option<u32>) -> Result<Classified, CleanlinessError> {
    if !(count >= 0.0 && count.is_finite()) {
        return Err(CleanlinessError::Count(count));
    }
    let fits = |class: &Class| limit(*class).is_some_and(|limit| count <= f64::from(limit));
    Ok(Class::all().find(fits).map_or(Classified::Above12, Classified::In))
}
