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
    trade::numeric::{self, Unfit},
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
