//! The columns of a record.

use serde::Serialize;

/// A column of the record form, in the order in which the form prints them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Column {
    /// `R01`, `R02`, … as in the campaign's order.
    Run,
    /// The code on the specimen.
    Specimen,
    /// The short fingerprint of the plan that the worksheet was printed from.
    Fingerprint,
    /// Number of the step.
    Step,
    /// Path of the reading.
    Reading,
    /// In a few words, what is read.
    What,
    /// What the plan allows, for the eyes only.
    Window,
    /// What was read.
    Value,
    /// In which unit it was read.
    Unit,
    /// With which instrument.
    Instrument,
    /// When: `YYYY-MM-DD hh:mm:ss`.
    Time,
    /// Initials.
    By,
    /// Anything worth saying; the reason, where a reading was not done.
    Note,
    /// Why this row replaces an earlier row of the same reading.
    Correction,
}

impl Column {
    /// Every column, in order.
    pub const ALL: [Column; 14] = [
        Column::Run,
        Column::Specimen,
        Column::Fingerprint,
        Column::Step,
        Column::Reading,
        Column::What,
        Column::Window,
        Column::Value,
        Column::Unit,
        Column::Instrument,
        Column::Time,
        Column::By,
        Column::Note,
        Column::Correction,
    ];

    /// The heading.
    pub fn name(self) -> &'static str {
        match self {
            Column::Run => "run",
            Column::Specimen => "specimen",
            Column::Fingerprint => "fingerprint",
            Column::Step => "step",
            Column::Reading => "reading",
            Column::What => "what",
            Column::Window => "window",
            Column::Value => "value",
            Column::Unit => "unit",
            Column::Instrument => "instrument",
            Column::Time => "time",
            Column::By => "by",
            Column::Note => "note",
            Column::Correction => "correction",
        }
    }

    /// The column under a heading; capitals and surrounding blanks do not matter.
    pub fn from_name(heading: &str) -> Option<Column> {
        let heading = heading.trim();
        Self::ALL.into_iter().find(|column| column.name().eq_ignore_ascii_case(heading))
    }

    /// Whether a record without it cannot be audited.
    pub fn is_required(self) -> bool {
        !matches!(self, Column::Step | Column::What | Column::Window | Column::Note | Column::Correction)
    }

    /// Whether the bench fills it, rather than the form.
    pub fn is_filled_by_hand(self) -> bool {
        matches!(self, Column::Value | Column::Time | Column::By | Column::Note | Column::Correction)
    }

    /// Its place among all columns.
    pub fn index(self) -> usize {
        self as usize
    }
}
