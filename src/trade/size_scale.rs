//! Sizes of particles on the scales that bench reports mix: µm(c) of ISO 11171, µm(b) of its 2016 edition, and the older
//! micrometre of ISO 4402, fixed by a dust no longer made (ACFTD).
//!
//! The scales differ by up to a factor of four at the fine end and cross near 10 µm: below it the µm(c) of a particle is the
//! larger number, above it the smaller. A ratio "at 10 µm" of the older scale is one at about 9.8 µm(c).

use thiserror::Error;

use crate::quantity::si::Length;

/// Sizes that have no partner on the other scale.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum SizeScaleError {
    #[error("{at} µm lies outside the correspondence, which reaches from {low} to {high} µm")]
    Outside { at: f64, low: f64, high: f64 },
    #[error("a particle size must be above zero and finite, not {0} µm")]
    Size(f64),
    #[error("a correspondence needs two pairs at least, both sizes growing, and pair {position} breaks this")]
    Pairs { position: usize },
}

/// What a written particle size means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// µm(c): ISO 11171, sole unit since 2020.
    C,
    /// µm(b): ISO 11171:2016 beside µm(c).
    B,
    /// ISO 4402, ACFTD; sizes in NAS 1638.
    Older,
}

/// µm(c) per µm(b). From memory: replace when the standard has been bought.
pub const C_PER_B: f64 = 0.898;

/// Pairs of sizes (older, µm(c)) at which AS4059 puts its limits, in micrometres. Published; nominal, not a calibration.
pub const AS4059_PAIRS: [(f64, f64); 6] =
    [(1.0, 4.0), (5.0, 6.0), (15.0, 14.0), (25.0, 21.0), (50.0, 38.0), (100.0, 70.0)];

/// µm(c) for 1, 2, …, 40 µm of the older scale. From memory: replace when the standard (ISO 11171:1999) has been bought.
const FROM_MEMORY: [f64; 40] = [
    4.2, 4.6, 5.1, 5.8, 6.4, 7.1, 7.7, 8.4, 9.1, 9.8, //
    10.6, 11.3, 12.1, 12.9, 13.6, 14.4, 15.2, 15.9, 16.7, 17.5, //
    18.2, 19.0, 19.7, 20.5, 21.2, 22.0, 22.7, 23.5, 24.2, 24.9, //
    25.7, 26.4, 27.1, 27.9, 28.5, 29.2, 29.9, 30.5, 31.1, 31.7,
];

/// A table of sizes on the older scale and in µm(c), read both ways by straight lines between its pairs.
#[derive(Clone, Debug, PartialEq)]
pub struct Correspondence {
    /// (older, µm(c)), in micrometres, both growing.
    pairs: Vec<(f64, f64)>,
}

impl Correspondence {
    /// The table shipped with the program, 1 to 40 µm of the older scale, **from memory**.
    pub fn from_memory() -> Self {
        Self { pairs: (1..=40).map(f64::from).zip(FROM_MEMORY).collect() }
    }

    /// A laboratory's own table: pairs (older, µm(c)), both growing.
    pub fn from_pairs(pairs: &[(Length, Length)]) -> Result<Self, SizeScaleError> {
        let pairs: Vec<(f64, f64)> = pairs.iter().map(|(old, new)| (micrometres(*old), micrometres(*new))).collect();
        let grows = |(a, b): (&(f64, f64), &(f64, f64))| a.0 < b.0 && a.1 < b.1;
        let steps = pairs.iter().zip(pairs.iter().skip(1));
        let broken = steps.map(grows).position(|grows| !grows).map(|position| position + 2);
        let start = pairs.first().is_none_or(|(old, new)| !(*old > 0.0 && *new > 0.0)).then_some(1);
        let end = pairs.last().is_none_or(|(old, new)| !(old.is_finite() && new.is_finite())).then_some(pairs.len());
        match broken.or(start).or(end).or((pairs.len() < 2).then_some(pairs.len())) {
            Some(position) => Err(SizeScaleError::Pairs { position }),
            None => Ok(Self { pairs }),
        }
    }

    /// The same particle's size on another scale. Domain: the table's range, when the older scale is on one side; any
    /// size above zero between µm(c) and µm(b).
    pub fn convert(&self, size: Length, from: Scale, to: Scale) -> Result<Length, SizeScaleError> {
        let at = micrometres(size);
        if !(at > 0.0 && at.is_finite()) {
            return Err(SizeScaleError::Size(at));
        }
        if from == to {
            return Ok(size);
        }
        let c = match from {
            Scale::C => at,
            Scale::B => at * C_PER_B,
            Scale::Older => between(&self.pairs, at)?,
        };
        let converted = match to {
            Scale::C => c,
            Scale::B => c / C_PER_B,
            Scale::Older => {
                let mirrored: Vec<(f64, f64)> = self.pairs.iter().map(|(old, new)| (*new, *old)).collect();
                between(&mirrored, c)?
            }
        };
        Ok(length(converted))
    }
}

/// Straight lines between pairs; nothing outside them.
fn between(pairs: &[(f64, f64)], at: f64) -> Result<f64, SizeScaleError> {
    let steps = || pairs.iter().zip(pairs.iter().skip(1));
    let step = steps().find(|((low, _), (high, _))| (*low..=*high).contains(&at));
    let outside = || SizeScaleError::Outside {
        at,
        low: pairs.first().map_or(0.0, |pair| pair.0),
        high: pairs.last().map_or(0.0, |pair| pair.0),
    };
    let ((x0, y0), (x1, y1)) = step.ok_or_else(outside)?;
    Ok(y0 + (y1 - y0) * ((at - x0) / (x1 - x0)))
}

/// Rounded to the picometre, so that 15e-6 m is 15 µm and not its neighbour outside a table.
fn micrometres(size: Length) -> f64 {
    let value = size.value * 1e6;
    let rounded = (value * 1e6).round() / 1e6;
    if (rounded - value).abs() <= value.abs() * 4.0 * f64::EPSILON { rounded } else { value }
}

fn length(micrometres: f64) -> Length {
    Length::new::<uom::si::length::meter>(micrometres * 1e-6)
}
