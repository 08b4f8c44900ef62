//! Where the dust is in a recirculating rig, per size class: a tank mixed well, a specimen, a polishing filter.
//!
//! | file | relation | source |
//! | --- | --- | --- |
//! | `closed` | one specimen, constant flow: closed forms of decay, build-up and clean-up | mass balance, common practice |
//! | `decay` | removal efficiency from counts that fall with time | least squares |
//! | `general` | any phase: injection, polisher, withdrawals, a changing volume; integrated numerically | mass balance |
//!
//! All assume that the tank is mixed well; mixing takes about one to three turnovers (from memory), so nothing here is
//! exact in the first of them. Everything holds for mass and for number, per size class, with that class's efficiency.

mod closed;

mod decay;

mod general;

mod integrate;

pub use closed::{Delay, Entry, Loop, line_delay};
pub use decay::{Decay, fit_decay};
pub use general::{Class, Deposit, Phase, State, Withdrawal};

use super::numeric::{Unfit, plain};

/// Why a balance could not be drawn. Volumes in L.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LoopError {
    #[error(transparent)]
    Unfit(#[from] Unfit),
    #[error("{state} size classes in the oil against {given} efficiencies: give one class for each")]
    ClassesDiffer { state: usize, given: usize },
    #[error(
        "{} L would be taken out of {} L in this phase: the tank runs dry; take less or add oil",
        plain(*.withdrawn), plain(*.held)
    )]
    RunsDry { withdrawn: f64, held: f64 },
    #[error(
        "the balance of this phase could not be integrated: its flows are too large for its volume; check their units"
    )]
    NotIntegrated,
    #[error("{given} samples at different times do not show a decay: take at least three, all above zero")]
    TooFewSamples { given: usize },
    #[error("the counts do not fall with time: the loop is not clearing; check for ingression or an open by-pass")]
    NotFalling,
}
