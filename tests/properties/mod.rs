//! What must hold for every input, drawn at random over whole domains and past their edges.

#![expect(clippy::unwrap_used, reason = "a helper of tests fails by a panic, as a test does")]

mod physics;
mod physics_refusals;
mod physics_spread;
mod statistics_domains;
