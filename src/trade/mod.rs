//! The trade's physics and statistics: pure functions on typed quantities, each with its published source.

mod numeric;

pub mod confidence;

pub mod distribution;

pub mod viscosity;

pub mod density;

pub mod hydraulics;

pub mod dust;

pub mod loop_balance;

pub mod counting;

pub mod cleanliness;

pub mod size_scale;

pub mod ratio;

pub mod capacity;

pub mod uncertainty;

pub mod descriptive;

pub mod regression;

pub mod anova;

pub mod comparison;

pub use numeric::Unfit;
