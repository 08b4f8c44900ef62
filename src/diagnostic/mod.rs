//! What a stage noticed: a code, the places involved, why it matters at the bench, and what to write instead.

mod code;
mod finding;
pub mod render;
mod severity;
mod table;

pub use finding::{Checked, Diagnostic, Place};
pub use severity::Severity;
pub use table::Code;
