//! How a laboratory lays out its file of results: which column is what.

use super::{Counts, Origin};
use crate::quantity::Quantity;

/// The layout of a laboratory's file, as the plan says it. Nothing of it is guessed.
#[derive(Debug, Clone)]
pub struct ResultsFile {
    /// `,`, `;` or tab.
    pub separator: char,
    pub decimal_comma: bool,
    /// Of a workbook; the first sheet with the headings where nothing is said.
    pub sheet: Option<String>,
    /// Whether the row below the headings holds units.
    pub unit_row: bool,
    /// Such as `DD.MM.YYYY`; ISO dates where nothing is said.
    pub dates: Option<String>,
    /// How this file gives its counts; as the laboratory's test says where it is silent.
    pub counts: Option<Counts>,
    /// The method that was asked for, as the file names it.
    pub method: Option<String>,
    /// What the labels of bottle blanks begin with.
    pub blanks: Option<String>,
    pub columns: Vec<ResultColumn>,
    pub origin: Origin,
}

/// One column.
#[derive(Debug, Clone)]
pub struct ResultColumn {
    /// As it stands in the file; capitals and blanks around it do not matter.
    pub heading: String,
    pub holds: Holds,
    /// As written, where the file gives another unit than the usual one.
    pub unit: Option<String>,
    pub origin: Origin,
}

/// What a column holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Holds {
    Label,
    Code,
    /// mg/L unless another unit is written.
    Gravimetric,
    /// mL, all repeats together.
    CountedVolume,
    /// The factor: 10 for 1 to 10.
    Dilution,
    CountedOn,
    ReceivedOn,
    Seal,
    Report,
    Method,
    Calibration,
    Remarks,
    /// The size, in µm(c) unless another unit is written, where each size has a row of its own.
    Size,
    /// The count, where each size has a row of its own.
    Count,
    CountAt(Quantity),
}

impl Holds {
    /// What the language calls it, but for a count at a size.
    pub const WORDS: [(&'static str, Holds); 14] = [
        ("label", Holds::Label),
        ("code", Holds::Code),
        ("gravimetric", Holds::Gravimetric),
        ("counted volume", Holds::CountedVolume),
        ("dilution", Holds::Dilution),
        ("counted on", Holds::CountedOn),
        ("received on", Holds::ReceivedOn),
        ("seal", Holds::Seal),
        ("report", Holds::Report),
        ("method", Holds::Method),
        ("calibration", Holds::Calibration),
        ("size", Holds::Size),
        ("count", Holds::Count),
        ("remarks", Holds::Remarks),
    ];

    /// As it stands in a plan, such as `count at 4 µm(c)`.
    pub fn words(&self) -> String {
        match self {
            Holds::CountAt(size) => format!("count at {size}"),
            other => Self::WORDS.iter().find(|(_, holds)| holds == other).map_or("", |(words, _)| words).to_owned(),
        }
    }
}
