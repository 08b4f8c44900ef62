//! Made-up but plausible records of a plan, for trying a campaign through and for examples. They say of themselves that
//! they are invented.

mod bench;

mod chance;

mod character;

mod laboratory;

mod record;

mod tank;

pub use character::Character;
pub use laboratory::{laboratory_csv, laboratory_csv_of};
pub use record::synthetic_csv;
