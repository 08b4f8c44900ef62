//! Tree to plan.

mod label;

pub mod model;

pub use label::{bottle_label, bottle_labels, is_label, same_label};
pub use model::*;
