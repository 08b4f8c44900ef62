//! Results against truth: what made-up specimens really are like, and what the campaign finds of it.

pub(crate) mod bench;
mod compare;
mod mechanics;
mod package;
mod removal;
mod simulation;
mod thin;
