//! Loopleaf.
pub mod quantity;
pub mod trade;
