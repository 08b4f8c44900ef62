//! Results against truth: what made-up specimens really are like, and what the campaign finds of it.

mod bench;
mod compare;
pub(crate) mod bench;
mod removal;
mod simulation;
mod thin;
