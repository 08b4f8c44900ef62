//! Dimensions, units, kinds and scales: what a written number means. Knows nothing else.

mod catalogue;
mod convert;
mod dimension;
mod kind;
mod mismatch;
mod number;
mod ratio;
pub mod si;
mod suggest;
mod unit;
mod window;

pub use convert::ConvertError;
pub use dimension::Dimension;
pub use kind::Kind;
pub use mismatch::Mismatch;
pub use number::{NumberError, Quantity, read_number};
pub use ratio::Ratio;
pub use unit::{Currency4217, Mark, SizeBasis, Unit, UnitError};
pub use window::{Interval, Window, inward};
