//! Pressure, flow and heat in the rig.
//!
//! | file | relation | source |
//! | --- | --- | --- |
//! | `pipe` | Reynolds number, line loss, fittings, pump inlet | Darcy–Weisbach, Hagen–Poiseuille, Colebrook |
//! | `restriction` | differential pressure against flow, fitted; tare; by-pass knee | ISO 3968, common practice |
//! | `transfer` | the same differential pressure with another fluid | derived |
//! | `heat` | what the pump and the heater do to the oil | conservation of energy |
//! | `opening` | orifice, liquid column, capillary | textbook; ISO 2942 |
//! | `spread` | uncertainty of a line loss and of the pump's heat | JCGM 100 |

mod pipe;

mod restriction;

mod transfer;

mod heat;

mod opening;

mod spread;

pub use heat::{Bath, BathUncertainty, pump_heating, rise_per_pass};
pub use opening::{
    bubble_diameter, bubble_pressure, hydrostatic_head, net_bubble_pressure, normalised_bubble_pressure, orifice_flow,
    orifice_loss,
};
pub use pipe::{
    Explicit, Friction, LineLoss, Pipe, Regime, colebrook, explicit_friction, friction_factor, inlet_pressure,
    line_loss, mean_velocity, minor_loss, reynolds,
};
pub use restriction::{Covered, Reading, Restriction, Terms};
pub use spread::{LineUncertainty, line_loss_uncertainty, pump_heating_uncertainty, rise_per_pass_uncertainty};
pub use transfer::{Fluid, Share, Span, cold_from_hot, cold_from_hot_uncertainty};

use super::numeric::{Unfit, plain};

/// Why a pressure, flow or temperature could not be given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HydraulicsError {
    #[error(transparent)]
    Unfit(#[from] Unfit),
    #[error("{given} readings at different flows do not fix {needed} coefficients: measure at more flows")]
    TooFewReadings { given: usize, needed: usize },
    #[error(
        "the {which} coefficient comes out negative ({}): no filter does that, so it cannot be carried to another fluid; look for an opening by-pass, a zero shift or too narrow a range of flows, or fit the viscous part alone",
        plain(*.value)
    )]
    NotPhysical { which: &'static str, value: f64 },
    #[error(
        "the oil settles at {} °C and never reaches {} °C: more heat or less loss is needed",
        plain(*.settles), plain(*.wanted)
    )]
    NeverReached { settles: f64, wanted: f64 },
}
