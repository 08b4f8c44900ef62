//! Values that others published: every number here names its source, and none was made by this program.

#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a helper of tests fails by a panic, as a test does"
)]

mod computations;
mod differential;
mod physics_density;
mod physics_hydraulics;
mod physics_loop;
mod physics_reference;
mod physics_viscosity;
mod si;
mod statistics_cleanliness;
mod statistics_comparison;
mod statistics_counting;
mod statistics_properties;
mod statistics_reference;
mod statistics_rows;
mod statistics_strd;
mod statistics_uncertainty;
mod table;
mod values;
mod whole_table;
