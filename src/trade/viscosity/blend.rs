//! Viscosity of two fluids mixed: a flush left in the rig, a fluid topped up with another.
//!
//! The double-log rule at one temperature, w as in [`super::walther`]: w = x w₁ + (1 − x) w₂, x the volume fraction.
//! Good to a few per cent for mineral oils with one another; worse the further apart the two are in kind or viscosity.

use super::{
    ViscosityError,
    walther::{Terms, double_log, from_double_log},
};
use crate::{
    quantity::si::{KinematicViscosity, Ratio},
    trade::numeric::{self, Unfit, a_number, rooted_squares, zero_or_more},
};
use uom::si::ratio::ratio;

/// The viscosity of a mixture of `share` (volume fraction) of the first fluid in the second, all at one temperature.
///
/// Domain: share 0 to 1, viscosities 0.21 to 2·10⁷ mm²/s. Source: ASTM D7152 (double-log rule by volume), from memory;
/// common practice.
pub fn blend(
    first: KinematicViscosity,
    share: Ratio,
    second: KinematicViscosity,
) -> Result<KinematicViscosity, ViscosityError> {
    let x = numeric::share("the share", share.get::<ratio>())?;
    let ((w1, _), (w2, _)) = (double_log(first, Terms::CToH)?, double_log(second, Terms::CToH)?);
    let outside = Unfit { what: "the share", value: x, must: "the blend leaves the ASTM D341 relation" };
    from_double_log(x * w1 + (1.0 - x) * w2, Terms::CToH).ok_or(outside.into())
}

/// The volume fraction of a thinner fluid that explains the viscosity measured in a thicker one.
///
/// x = (w_thick − w_mixture)/(w_thick − w_thin). Errors: the two fluids are the same or swapped, or the mixture does not
/// lie between them. Source: ASTM D7152, from memory, inverted.
pub fn share_of_thinner(
    thinner: KinematicViscosity,
    thicker: KinematicViscosity,
    mixture: KinematicViscosity,
) -> Result<Ratio, ViscosityError> {
    let w = |viscosity| double_log(viscosity, Terms::CToH).map(|(w, _)| w);
    let (thin, thick, mixed) = (w(thinner)?, w(thicker)?, w(mixture)?);
    let x = (thick - mixed) / (thick - thin);
    if thick > thin && (-1e-12..=1.0 + 1e-12).contains(&x) {
        Ok(Ratio::new::<ratio>(x.clamp(0.0, 1.0)))
    } else {
        let must = "the mixture's viscosity lies between those of the thinner and the thicker fluid";
        Err(Unfit { what: "the mixture's viscosity (mm²/s)", value: super::mm2(mixture), must }.into())
    }
}

/// Standard uncertainty of [`blend`], from those of both viscosities and of the share.
///
/// u²(w) = (x s₁ u(ν₁)/ν₁)² + ((1 − x) s₂ u(ν₂)/ν₂)² + ((w₁ − w₂) u(x))², s = dw/d ln ν at each fluid, and
/// u(ν) = ν u(w)/s of the mixture. First order (JCGM 100), all independent; how well the rule holds comes on top.
pub fn blend_uncertainty(
    first: (KinematicViscosity, KinematicViscosity),
    share: (Ratio, Ratio),
    second: (KinematicViscosity, KinematicViscosity),
) -> Result<KinematicViscosity, ViscosityError> {
    let mixture = blend(first.0, share.0, second.0)?;
    let ((w1, u1), (w2, u2), (_, slope)) = (uncertain(first)?, uncertain(second)?, double_log(mixture, Terms::CToH)?);
    let x = share.0.get::<ratio>();
    let u_x = zero_or_more("the uncertainty of the share", share.1.get::<ratio>())?;
    Ok(mixture * (rooted_squares([x * u1, (1.0 - x) * u2, (w1 - w2) * u_x]) / slope))
}

/// Standard uncertainty of [`share_of_thinner`], from those of the three viscosities:
/// u²(x) = (x² u²(w_thin) + (1 − x)² u²(w_thick) + u²(w_mixture))/(w_thick − w_thin)². First order (JCGM 100).
pub fn share_of_thinner_uncertainty(
    thinner: (KinematicViscosity, KinematicViscosity),
    thicker: (KinematicViscosity, KinematicViscosity),
    mixture: (KinematicViscosity, KinematicViscosity),
) -> Result<Ratio, ViscosityError> {
    let x = share_of_thinner(thinner.0, thicker.0, mixture.0)?.get::<ratio>();
    let ((thin, u_thin), (thick, u_thick), (_, u_mixed)) =
        (uncertain(thinner)?, uncertain(thicker)?, uncertain(mixture)?);
    let u = rooted_squares([x * u_thin, (1.0 - x) * u_thick, u_mixed]) / (thick - thin);
    Ok(Ratio::new::<ratio>(a_number("the uncertainty of the share", u)?))
}

/// w of a viscosity and its standard uncertainty.
fn uncertain((viscosity, u): (KinematicViscosity, KinematicViscosity)) -> Result<(f64, f64), ViscosityError> {
    let (w, slope) = double_log(viscosity, Terms::CToH)?;
    let u = zero_or_more("the uncertainty of a viscosity (mm²/s)", super::mm2(u))?;
    Ok((w, slope * u / super::mm2(viscosity)))
}
