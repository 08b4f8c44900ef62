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
//! right everywhere and leaves no step. The short form puts one exponential in place of them all:
//!
//! ```text
//! Z = ν + 0.7 + exp(−1.47 − 1.84 ν − 0.51 ν²)
//! ```
//!
//! The standard's explicit inverse is an approximation (0.03 %); ours is found by iteration.

use super::{ViscosityError, from_mm2, mm2};
use crate::{quantity::si::KinematicViscosity, trade::numeric::root};
use std::f64::consts::LN_10;

/// The upper end of the relation, mm²/s.
const HIGHEST: f64 = 2e7;

/// The low-viscosity terms that are kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Terms {
    /// Z = ν + 0.7, as most hand calculations have it.
    None,
    C,
    CToD,
    CToE,
    CToG,
    #[default]
    CToH,
    /// The short form.
    Short,
}

impl Terms {
    pub const ALL: [Self; 7] = [Self::None, Self::C, Self::CToD, Self::CToE, Self::CToG, Self::CToH, Self::Short];

    /// The lowest viscosity for which these terms are enough.
    pub fn lowest(self) -> KinematicViscosity {
        from_mm2(self.lowest_mm2())
    }

    pub(super) fn lowest_mm2(self) -> f64 {
        match self {
            Self::None => 2.00,
            Self::C => 1.65,
            Self::CToD => 0.90,
            Self::CToE => 0.30,
            Self::CToG => 0.24,
            Self::CToH | Self::Short => 0.21,
        }
    }

    /// Z of a viscosity in mm²/s, and dZ/dν.
    fn z(self, nu: f64) -> (f64, f64) {
        let kept = match self {
            Self::Short => {
                let term = (-1.47 - 1.84 * nu - 0.51 * nu * nu).exp();
                return (nu + 0.7 + term, 1.0 - (1.84 + 1.02 * nu) * term);
            }
            Self::None => 0,
            Self::C => 1,
            Self::CToD => 2,
            Self::CToE => 3,
            Self::CToG => 5,
            Self::CToH => 6,
        };
        TERMS.iter().take(kept).fold((nu + 0.7, 1.0), |(z, slope), (sign, constant, factor)| {
            let term = sign * (constant + factor * nu).exp();
            (z + term, slope + factor * term)
        })
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
        Ok(terms.z(value).0)
    } else {
        Err(ViscosityError::OutsideRelation { value, lowest, highest: HIGHEST })
    }
}

/// The viscosity that has this Z with the terms kept: found by iteration, to the last bits.
///
/// Domain: Z of [`Terms::lowest`] to 2·10⁷ mm²/s, else `None`. Source: ASTM D341.
pub fn transform_inverse(z: f64, terms: Terms) -> Option<KinematicViscosity> {
    let z_of = |nu| terms.z(nu).0;
    let lowest = terms.lowest_mm2();
    // Far above the terms Z is ν + 0.7 to the last bit; below, the root is bracketed closely.
    let (low, high) = if z > 20.0 { (z - 0.8, z - 0.6) } else { (lowest * (1.0 - 1e-9), 20.0) };
    let inside = z >= z_of(lowest) * (1.0 - 1e-12) && z <= z_of(HIGHEST) * (1.0 + 1e-12);
    inside.then(|| root(|nu| z_of(nu) - z, low, high)).flatten().map(from_mm2)
}

/// The standard's explicit inverse of the short form: y − exp(−0.7487 − 3.295 y + 0.6119 y² − 0.3193 y³), y = Z − 0.7.
///
/// Good to 0.03 %, for comparison with hand work; `None` where it gives less than 0.21 or more than 2·10⁷ mm²/s.
/// Source: ASTM D341 (2003 and later), found in public text.
pub fn short_form_inverse(z: f64) -> Option<KinematicViscosity> {
    let y = z - 0.7;
    let nu = y - (-0.7487 - 3.295 * y + 0.6119 * y * y - 0.3193 * y * y * y).exp();
    (Terms::Short.lowest_mm2()..=HIGHEST).contains(&nu).then(|| from_mm2(nu))
}

/// w = log10 log10 Z of a viscosity, and dw/d ln ν.
pub(super) fn double_log(viscosity: KinematicViscosity, terms: Terms) -> Result<(f64, f64), ViscosityError> {
    transform(viscosity, terms)?;
    let nu = mm2(viscosity);
    let (z, slope) = terms.z(nu);
    Ok((z.log10().log10(), nu * slope / (z * z.ln() * LN_10)))
}

/// The viscosity of a double logarithm; `None` outside the relation.
pub(super) fn from_double_log(w: f64, terms: Terms) -> Option<KinematicViscosity> {
    transform_inverse(10_f64.powf(10_f64.powf(w)), terms)
}
