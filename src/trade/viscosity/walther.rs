//! The double logarithm that turns viscosity against temperature into a straight line.
//!
//! ASTM D341 (editions 93 to 20), after Walther and MacCoull, with ν in mm²/s and `exp` to base e:
//!
//! ```text
//! w = log10 log10 Z          Z = ν + 0.7 + C − D + E − F + G − H
//! C = exp(−1.14883 − 2.65868 ν)       F = exp(13.0458 −  74.6851 ν)
//! D = exp(−0.00381308 − 12.5645 ν)    G = exp(37.4619 − 192.643 ν)
//! E = exp(5.46491 − 37.6289 ν)        H = exp(80.4945 − 400.468 ν)
//! ```
//!
//! The coefficients and the range of each number of terms are from memory; they agree within 0.5 % with the short form
//! of the same standard, which was found in public text. Each term fades above its own range, so keeping all of them is
//! right everywhere and leaves no step; the standard's inverse is an approximation (0.03 %), ours is found by iteration.

use super::{ViscosityError, from_mm2, mm2};
use crate::{quantity::si::KinematicViscosity, trade::numeric::root};
use std::f64::consts::LN_10;

/// The upper end of the relation, mm²/s.
const HIGHEST: f64 = 2e7;

/// The low-viscosity terms that are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Terms {
    None,
    C,
    CToD,
    CToE,
    CToG,
    CToH,
}

impl Terms {
    /// Every number of terms, fewest first.
    pub const ALL: [Self; 6] = [Self::None, Self::C, Self::CToD, Self::CToE, Self::CToG, Self::CToH];

    /// The lowest viscosity for which these terms are enough.
    pub fn lowest(self) -> KinematicViscosity {
        from_mm2(self.lowest_mm2())
    }

    fn lowest_mm2(self) -> f64 {
        match self {
            Self::None => 2.00,
            Self::C => 1.65,
            Self::CToD => 0.90,
            Self::CToE => 0.30,
            Self::CToG => 0.24,
            Self::CToH => 0.21,
        }
    }

    fn count(self) -> usize {
        match self {
            Self::None => 0,
            Self::C => 1,
            Self::CToD => 2,
            Self::CToE => 3,
            Self::CToG => 5,
            Self::CToH => 6,
        }
    }
}

/// Sign, constant and factor of the terms C to H.
const TERMS: [(f64, f64, f64); 6] = [
    (1.0, -1.14883, -2.65868),
    (-1.0, -0.00381308, -12.5645),
    (1.0, 5.46491, -37.6289),
    (-1.0, 13.0458, -74.6851),
    (1.0, 37.4619, -192.643),
    (-1.0, 80.4945, -400.468),
];

/// Z of a viscosity with the terms kept (dimensionless).
///
/// Domain: [`Terms::lowest`] to 2·10⁷ mm²/s. Source: ASTM D341, coefficients from memory.
pub fn transform(viscosity: KinematicViscosity, terms: Terms) -> Result<f64, ViscosityError> {
    let value = mm2(viscosity);
    let lowest = terms.lowest_mm2();
    // An end of the range survives its journey through m²/s.
    if value >= lowest * (1.0 - 1e-12) && value <= HIGHEST * (1.0 + 1e-12) {
        Ok(z(value, terms.count()))
    } else {
        Err(ViscosityError::OutsideRelation { value, lowest, highest: HIGHEST })
    }
}

/// The viscosity that has this Z, with all terms kept: found by iteration, to the last bits.
///
/// Domain: Z of 0.21 to 2·10⁷ mm²/s, else `None`. Source: ASTM D341.
pub fn transform_inverse(z_wanted: f64) -> Option<KinematicViscosity> {
    let z_all = |nu| z(nu, TERMS.len());
    let lowest = Terms::CToH.lowest_mm2();
    // Far above the terms Z is ν + 0.7 to the last bit; below, the root is bracketed closely.
    let (low, high) = if z_wanted > 20.0 { (z_wanted - 0.8, z_wanted - 0.6) } else { (lowest * (1.0 - 1e-9), 20.0) };
    let inside = z_wanted >= z_all(lowest) * (1.0 - 1e-12) && z_wanted <= z_all(HIGHEST) * (1.0 + 1e-12);
    inside.then(|| root(|nu| z_all(nu) - z_wanted, low, high)).flatten().map(from_mm2)
}

fn z(nu: f64, terms: usize) -> f64 {
    TERMS.iter().take(terms).fold(nu + 0.7, |sum, (sign, constant, factor)| sum + sign * (constant + factor * nu).exp())
}

/// w = log10 log10 Z of a viscosity, and dw/d ln ν.
pub(super) fn double_log(viscosity: KinematicViscosity) -> Result<(f64, f64), ViscosityError> {
    let z = transform(viscosity, Terms::CToH)?;
    let nu = mm2(viscosity);
    let slope = TERMS.iter().fold(1.0, |sum, (sign, constant, factor)| sum + sign * factor * (constant + factor * nu).exp());
    Ok((z.log10().log10(), nu * slope / (z * z.ln() * LN_10)))
}

/// The viscosity of a double logarithm; `None` outside the relation.
pub(super) fn from_double_log(w: f64) -> Option<KinematicViscosity> {
    transform_inverse(10_f64.powf(10_f64.powf(w)))
}
