//! A laboratory's files: read by their layout, guessed only to be shown, and held against the bottles that were drawn.

mod bench;
mod damaged;
pub(crate) mod inject;
mod layout;
