//! What is typed, understood: quantities as on the bench, fluids and dusts by name.

mod dust;

mod oil;

mod quantity;

pub(super) use dust::grade;
pub(super) use oil::{
    FLASH_MARGIN, Oil, OilOptions, POUR_MARGIN, Stretch, WARM, at, viscosity_si, viscosity_tolerance,
};
pub(super) use quantity::{
    Measured, bare, count, joined, measured, number_and_unit, quantity, range, share, shares, split_target,
};

pub(super) mod si;
