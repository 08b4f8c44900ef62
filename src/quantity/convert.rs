//! From one unit to another, with exact factors.

use thiserror::Error;

use super::{Mark, Ratio, Unit};

/// Why a value can't be given in another unit.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ConvertError {
    /// The units measure different things.
    #[error("`{from}` and `{to}` measure different things")]
    Unlike {
        /// The unit that is there.
        from: String,
        /// The unit that is wanted.
        to: String,
    },
    /// The pressures have different references, the sizes different calibrations, the money different currencies, the
    /// parts different bases.
    #[error("`{from}` and `{to}` have different references")]
    Reference {
        /// The unit that is there.
        from: String,
        /// The unit that is wanted.
        to: String,
    },
    /// One of them is in Saybolt seconds, which need a temperature and the trade's equation.
    #[error("Saybolt seconds are converted at a temperature, not by a factor")]
    Saybolt,
    /// The factor doesn't fit.
    #[error("the factor from `{from}` to `{to}` is out of reach")]
    OutOfReach {
        /// The unit that is there.
        from: String,
        /// The unit that is wanted.
        to: String,
    },
}

impl Unit {
    /// A value in this unit, in coherent SI; a temperature is taken as a point, in K. NaN for Saybolt seconds, so that a
    /// forgotten conversion can't pass for a number.
    pub fn to_si(&self, value: f64) -> f64 {
        if self.is_linear() { affine(value, (self.factor, self.offset), SI) } else { f64::NAN }
    }

    /// A difference in this unit, in coherent SI: the factor only. NaN for Saybolt seconds.
    pub fn to_si_difference(&self, value: f64) -> f64 {
        if self.is_linear() { affine(value, (self.factor, Ratio::ZERO), SI) } else { f64::NAN }
    }

    /// A value in coherent SI, in this unit; the inverse of [`Unit::to_si`].
    pub fn from_si(&self, si: f64) -> f64 {
        if self.is_linear() { affine(si, SI, (self.factor, self.offset)) } else { f64::NAN }
    }

    /// A difference in coherent SI, in this unit; the inverse of [`Unit::to_si_difference`].
    pub fn from_si_difference(&self, si: f64) -> f64 {
        if self.is_linear() { affine(si, SI, (self.factor, Ratio::ZERO)) } else { f64::NAN }
    }

    /// A value in this unit, in another. A plain and a differential pressure are the same; no other marks are.
    ///
    /// # Errors
    /// When the units measure different things, have different references, or are not linear.
    pub fn convert(&self, value: f64, to: &Self, as_difference: bool) -> Result<f64, ConvertError> {
        let names = || (self.text.clone(), to.text.clone());
        if self.dimension != to.dimension {
            let (from, to) = names();
            return Err(ConvertError::Unlike { from, to });
        }
        if self.same_as(to) {
            return Ok(value);
        }
        if !self.is_linear() || !to.is_linear() {
            return Err(ConvertError::Saybolt);
        }
        if reference(self.mark) != reference(to.mark) {
            let (from, to) = names();
            return Err(ConvertError::Reference { from, to });
        }
        let scale = |unit: &Self| (unit.factor, if as_difference { Ratio::ZERO } else { unit.offset });
        let converted = affine(value, scale(self), scale(to));
        if value.is_finite() && !converted.is_finite() {
            let (from, to) = names();
            return Err(ConvertError::OutOfReach { from, to });
        }
        Ok(converted)
    }
}

/// Coherent SI: factor one, no offset.
const SI: (Ratio, Ratio) = (Ratio::ONE, Ratio::ZERO);

/// The mark, with what is the same seen as the same.
fn reference(mark: Mark) -> Mark {
    match mark {
        Mark::Differential | Mark::TemperaturePoint => Mark::None,
        other => other,
    }
}

/// `(value + offset) × factor` of one scale, on another. The factors are joined as fractions first, so that a value is
/// rounded as seldom as can be: 104 °F is 40 °C, 250 mL is 0.25 L, to the last bit.
#[expect(clippy::cast_precision_loss, reason = "a factor's parts are rounded once each, to 1 in 2⁵³")]
fn affine(value: f64, from: (Ratio, Ratio), to: (Ratio, Ratio)) -> f64 {
    let joined = || {
        let slope = from.0.over(to.0)?;
        // value × slope - shift, over one denominator
        let shift = to.1.minus(from.1.times(slope)?)?;
        let numerator = slope.numerator().checked_mul(shift.denominator())?;
        let constant = shift.numerator().checked_mul(slope.denominator())?;
        let denominator = slope.denominator().checked_mul(shift.denominator())?;
        let whole = Ratio::new(constant, denominator)?;
        if whole == Ratio::ZERO {
            let (numerator, denominator) = (slope.numerator() as f64, slope.denominator() as f64);
            return Some(value * numerator / denominator);
        }
        Some((value * numerator as f64 - constant as f64) / denominator as f64)
    };
    joined().unwrap_or_else(|| (value + from.1.to_f64()) * from.0.to_f64() / to.0.to_f64() - to.1.to_f64())
}
