//! Results against truth: what made-up specimens really are like, and what the campaign finds of it.

mod bench;

mod package;
mod simulation;
mod thin;
