//! Dimensions, units and scales: what a written number means.

pub mod si;
