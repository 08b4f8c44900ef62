//! Why a unit doesn't fit where it stands.

use serde::Serialize;
use thiserror::Error;

use super::{Kind, Mark};

/// Why a unit doesn't fit where it stands, with what a good message needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Error)]
pub enum Mismatch {
    /// A bare number where a quantity is expected.
    #[error("{} is expected, and the number has no unit", expected.name())]
    NoUnit {
        /// What is expected.
        expected: Kind,
    },
    /// A quantity of another kind.
    #[error("{} is expected, not {}", expected.name(), found.map_or("this unit", Kind::name))]
    WrongKind {
        /// What is expected.
        expected: Kind,
        /// What it seems to be, when that has a name.
        found: Option<Kind>,
    },
    /// A pressure that doesn't say gauge or absolute where it must.
    #[error("the pressure does not say whether it is gauge or absolute")]
    WhichPressure {
        /// What is expected.
        expected: Kind,
    },
    /// A pressure with another reference.
    #[error("{} is expected, not {}", expected.name(), found.name())]
    WrongReference {
        /// What is expected.
        expected: Kind,
        /// What is written.
        found: Kind,
    },
    /// A particle size without its calibration.
    #[error("the particle size does not say on which calibration")]
    WhichSize,
    /// A count without its volume.
    #[error("the count does not say per which volume")]
    PerWhatVolume,
    /// A dynamic viscosity where a kinematic one is expected, or the other way round.
    #[error("{} is expected, not {}; they differ by the density", expected.name(), found.name())]
    NeedsDensity {
        /// What is expected.
        expected: Kind,
        /// What is written.
        found: Kind,
    },
    /// A plain per cent where it must say by mass or by volume, or a fraction on the other basis.
    #[error("{} is expected", expected.name())]
    WhichFraction {
        /// What is expected.
        expected: Kind,
        /// What the unit says: nothing, by mass, or by volume.
        found: Mark,
    },
}
