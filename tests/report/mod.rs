//! The report: everything is in it, nothing hidden is, and anybody can read it.

mod blind;
mod changed;
mod command;
mod content;
mod fixture;
#[cfg(feature = "pdf")]
mod pdf;
mod slips;
mod structure;
