//! NAS 1638: classes from differential counts per 100 mL in five size classes of the older scale.
//!
//! Status: limits from public text, checked against AS4059 (see [`super::as4059`]), the standard itself not read. The
//! standard is withdrawn; field reports still use it.

use serde::{Deserialize, Serialize};

use super::{Class, Classified, CleanlinessError, lowest};

/// A size class, in micrometres of the older scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum SizeClass {
    From5To15,
    From15To25,
    From25To50,
    From50To100,
    Above100,
}

/// Greatest count per 100 mL in each size class, for the classes 00, 0, 1, …, 12.
const LIMITS: [[u32; 5]; 14] = [
    [125, 22, 4, 1, 0],
    [250, 44, 8, 2, 0],
    [500, 89, 16, 3, 1],
    [1000, 178, 32, 6, 1],
    [2000, 356, 63, 11, 2],
    [4000, 712, 126, 22, 4],
    [8000, 1425, 253, 45, 8],
    [16000, 2850, 506, 90, 16],
    [32000, 5700, 1012, 180, 32],
    [64000, 11400, 2025, 360, 64],
    [128_000, 22800, 4050, 720, 128],
    [256_000, 45600, 8100, 1440, 256],
    [512_000, 91200, 16200, 2880, 512],
    [1_024_000, 182_400, 32400, 5760, 1024],
];

impl SizeClass {
    pub const ALL: [Self; 5] = [Self::From5To15, Self::From15To25, Self::From25To50, Self::From50To100, Self::Above100];
}

/// The greatest differential count per 100 mL that a class allows; absent for 000, which this table does not have.
pub fn limit(class: Class, size: SizeClass) -> Option<u32> {
    let row = LIMITS.get(usize::from(class.0.checked_sub(1)?))?;
    row.get(size as usize).copied()
}

/// The class of one size class, from its differential count per 100 mL.
pub fn classify(per_100_millilitres: f64, size: SizeClass) -> Result<Classified, CleanlinessError> {
    lowest(per_100_millilitres, |class| limit(class, size))
}

/// The class of a liquid: the dirtiest of its size classes, from differential counts per 100 mL in their order.
pub fn overall(per_100_millilitres: [f64; 5]) -> Result<Classified, CleanlinessError> {
    let mut classes = per_100_millilitres.into_iter().zip(SizeClass::ALL).map(|(count, size)| classify(count, size));
    classes.try_fold(Classified::In(Class(1)), |worst, class| Ok(worst.max(class?)))
}
