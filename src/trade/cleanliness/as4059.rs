//! SAE AS4059, table 2: classes by size from cumulative counts per 100 mL.
//!
//! The limits are the tail sums of the NAS 1638 rows, which a test verifies; editions that print three figures (19 500 for
//! 19 462) can disagree at a limit. Status: limits and rules from public text, the standard itself not read.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use super::{Class, Classified, CleanlinessError, lowest};
use crate::trade::counting::Concentration;

/// A size at and above which particles are counted, in µm(c) and in the older scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Size {
    /// 4 µm(c), older 1 µm.
    A,
    /// 6 µm(c), older 5 µm.
    B,
    /// 14 µm(c), older 15 µm.
    C,
    /// 21 µm(c), older 25 µm.
    D,
    /// 38 µm(c), older 50 µm.
    E,
    /// 70 µm(c), older 100 µm.
    F,
}

/// Greatest count per 100 mL in the order A to F, for the classes in their order.
const LIMITS: [[u32; 6]; 15] = [
    [195, 76, 14, 3, 1, 0],
    [390, 152, 27, 5, 1, 0],
    [780, 304, 54, 10, 2, 0],
    [1560, 609, 109, 20, 4, 1],
    [3120, 1217, 217, 39, 7, 1],
    [6250, 2432, 432, 76, 13, 2],
    [12500, 4864, 864, 152, 26, 4],
    [25000, 9731, 1731, 306, 53, 8],
    [50000, 19462, 3462, 612, 106, 16],
    [100_000, 38924, 6924, 1224, 212, 32],
    [200_000, 77849, 13849, 2449, 424, 64],
    [400_000, 155_698, 27698, 4898, 848, 128],
    [800_000, 311_396, 55396, 9796, 1696, 256],
    [1_600_000, 622_792, 110_792, 19592, 3392, 512],
    [3_200_000, 1_245_584, 221_584, 39184, 6784, 1024],
];

impl Size {
    pub const ALL: [Self; 6] = [Self::A, Self::B, Self::C, Self::D, Self::E, Self::F];

    /// The size in µm(c), ISO 11171.
    pub fn micrometres(self) -> u32 {
        match self {
            Self::A => 4,
            Self::B => 6,
            Self::C => 14,
            Self::D => 21,
            Self::E => 38,
            Self::F => 70,
        }
    }

    fn letter(self) -> char {
        match self {
            Self::A => 'A',
            Self::B => 'B',
            Self::C => 'C',
            Self::D => 'D',
            Self::E => 'E',
            Self::F => 'F',
        }
    }
}

/// The greatest cumulative count per 100 mL that a class allows at a size.
pub fn limit(class: Class, size: Size) -> u32 {
    let row = LIMITS.get(usize::from(class.0));
    row.and_then(|row| row.get(size as usize)).copied().unwrap_or_default()
}

/// The lowest class whose limit is not exceeded by the particles at and above a size.
pub fn classify(at_and_above: Concentration, size: Size) -> Result<Classified, CleanlinessError> {
    // A quotient by 100 brought back by 100 can overshoot a limit by one bit.
    let count = at_and_above.in_100_millilitres();
    lowest(count - count * f64::EPSILON, |class| Some(limit(class, size)))
}

/// A code such as 7B/6C/5D; a class without a letter means size B.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Code(Vec<(Class, Size)>);

impl Code {
    pub fn parts(&self) -> &[(Class, Size)] {
        &self.0
    }

    /// The greatest counts per 100 mL that meet the code.
    pub fn limits(&self) -> impl Iterator<Item = (Size, u32)> {
        self.0.iter().map(|(class, size)| (*size, limit(*class, *size)))
    }
}

impl FromStr for Code {
    type Err = CleanlinessError;

    fn from_str(text: &str) -> Result<Self, CleanlinessError> {
        let mut parts: Vec<(Class, Size)> = Vec::new();
        for part in text.split('/') {
            let (class, size) = split(part.trim())?;
            if parts.iter().any(|(_, taken)| *taken == size) {
                return Err(CleanlinessError::Twice(size.letter()));
            }
            parts.push((class, size));
        }
        Ok(Self(parts))
    }
}

fn split(part: &str) -> Result<(Class, Size), CleanlinessError> {
    let letter = part.chars().last().filter(char::is_ascii_alphabetic);
    let Some(letter) = letter else {
        return Ok((part.parse()?, Size::B));
    };
    let size = Size::ALL.into_iter().find(|size| size.letter() == letter.to_ascii_uppercase());
    let size = size.ok_or_else(|| CleanlinessError::SizeLetter(part.into()))?;
    Ok((part.trim_end_matches(letter).parse()?, size))
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, (class, size)) in self.0.iter().enumerate() {
            write!(f, "{}{class}{}", if i > 0 { "/" } else { "" }, size.letter())?;
        }
        Ok(())
    }
}
