//! The plan.
mod model;
pub use model::*;
