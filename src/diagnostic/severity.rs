//! How much a finding weighs.

use std::fmt;

use serde::{Deserialize, Serialize};

/// How much a finding weighs: the first three for what is written, the last three for what was recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing; nothing has to change.
    Note,
    /// Probably not what was meant; can be waived with a reason.
    Warning,
    /// The protocol has no meaning, or must not be run.
    Error,
    /// A departure in the record that doesn't touch the result.
    Minor,
    /// A departure in the record that may change the result.
    Major,
    /// The run can't be used, or someone could have been hurt.
    Critical,
}

impl Severity {
    /// All of them, the written ones first.
    pub const ALL: [Self; 6] = [Self::Note, Self::Warning, Self::Error, Self::Minor, Self::Major, Self::Critical];

    /// The word for it in a message.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
            Self::Minor => "minor",
            Self::Major => "major",
            Self::Critical => "critical",
        }
    }

    /// The severity that a word stands for.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|severity| severity.word() == word)
    }

    /// How grave it is, 0 to 3, on one scale for plans and records: a warning weighs as much as a minor finding, an
    /// error as much as a major one.
    pub fn rank(self) -> u8 {
        match self {
            Self::Note => 0,
            Self::Warning | Self::Minor => 1,
            Self::Error | Self::Major => 2,
            Self::Critical => 3,
        }
    }

    /// Whether work must stop at it: an error, or a major or critical departure.
    pub fn stops(self) -> bool {
        self.rank() >= 2
    }

    /// The word with its number: "1 error", "2 warnings", "3 minor findings".
    pub fn counted(self, count: usize) -> String {
        let plural = if count == 1 { "" } else { "s" };
        match self {
            Self::Note | Self::Warning | Self::Error => format!("{count} {}{plural}", self.word()),
            Self::Minor | Self::Major | Self::Critical => {
                format!("{count} {} finding{plural}", self.word())
            }
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
