//! What a code can say of itself. The codes stand in [`super::table`].

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Code;

/// Makes the enum and its tables out of one list: variant, identifier, severity, title, reason.
macro_rules! codes {
    ($($variant:ident $id:literal $severity:ident $title:literal $why:literal;)*) => {
        /// The kinds of finding. The identifier is stable: it stands in waivers, in records and in the book.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $(#[doc = $title] $variant,)*
        }

        impl Code {
            /// Every code, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The identifier, such as `L203`.
            pub fn id(self) -> &'static str {
                match self { $(Self::$variant => $id,)* }
            }

            /// The title in plain words.
            pub fn title(self) -> &'static str {
                match self { $(Self::$variant => $title,)* }
            }

            /// How much it weighs unless the case says otherwise.
            pub fn severity(self) -> $crate::diagnostic::Severity {
                match self { $(Self::$variant => $crate::diagnostic::Severity::$severity,)* }
            }

            /// Why it matters at the bench, in general.
            pub fn why(self) -> &'static str {
                match self { $(Self::$variant => $why,)* }
            }
        }
    };
}
pub(super) use codes;

impl Code {
    /// Every code, in the order of the table.
    pub fn all() -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied()
    }

    /// The code with this identifier; capitals don't matter.
    pub fn from_id(id: &str) -> Option<Self> {
        Self::all().find(|code| code.id().eq_ignore_ascii_case(id))
    }

    /// Whether it is about someone's safety; such a finding can't be waived.
    pub fn is_safety(self) -> bool {
        matches!(
            self,
            Self::ReliefAboveRating
                | Self::FlashMargin
                | Self::AboveLimit
                | Self::SolventBeforeHeat
                | Self::PumpAgainstClosed
                | Self::OpenedUnderPressure
                | Self::OpenedWhileHot
                | Self::HeaterWithoutFlow
                | Self::HeaterUnguarded
                | Self::ReliefCutOff
                | Self::ReliefTooNear
                | Self::RouteNotTaken
                | Self::LimitIdle
                | Self::BurstUnguarded
                | Self::SampledUnderPressure
                | Self::SilicaWithoutCaution
                | Self::OtherScale
                | Self::HighLimitTooHigh
                | Self::LimitTooHigh
                | Self::WaterBeforeHeat
                | Self::SolventInBath
                | Self::OvenNearSolvent
                | Self::HazardWithoutCaution
                | Self::Alone
                | Self::SolventVapour
                | Self::IgnitionBesideSolvent
                | Self::DustRaised
                | Self::WaiverOfSafety
                | Self::HotOilInBottle
                | Self::BeyondLimit
        )
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

impl Serialize for Code {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

impl<'de> Deserialize<'de> for Code {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let id = String::deserialize(deserializer)?;
        Self::from_id(&id).ok_or_else(|| serde::de::Error::custom(format!("there is no code {id}")))
    }
}
