//! What a window of viscosity means in degrees: the set-point, and how tightly it must be held.

use super::{Curve, Reached, ViscosityError, interval, mm2, walther::Terms};
use crate::{
    quantity::si::{KinematicViscosity, Temperature, TemperatureInterval},
    trade::numeric::Unfit,
};
use uom::si::thermodynamic_temperature::kelvin;

/// The temperatures between which a fluid keeps within a window of viscosity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Where the fluid has the nominal viscosity.
    pub set_point: Reached<Temperature>,
    /// Where it is as thick as the window allows.
    pub coldest: Reached<Temperature>,
    /// Where it is as thin as the window allows.
    pub hottest: Reached<Temperature>,
}

impl Window {
    /// The largest ± about the set-point that stays inside on both sides.
    pub fn half_width(&self) -> TemperatureInterval {
        let t = |reached: Reached<Temperature>| reached.value.get::<kelvin>();
        let (below, above) = (t(self.set_point) - t(self.coldest), t(self.hottest) - t(self.set_point));
        interval(below.min(above).max(0.0))
    }
}

impl Curve {
    /// The window of temperature in which the viscosity is `nominal` ± `tolerance`.
    ///
    /// Exact on the curve (no linearisation); about `tolerance/(ν |d ln ν/dT|)` on either side, a little less on the
    /// cold one. Errors: the tolerance is below zero or reaches the lower end of ASTM D341 (0.21 mm²/s).
    /// Derived from ASTM D341.
    pub fn window(&self, nominal: KinematicViscosity, tolerance: KinematicViscosity) -> Result<Window, ViscosityError> {
        let value = mm2(tolerance);
        if !(value >= 0.0 && value < mm2(nominal) - mm2(Terms::CToH.lowest())) {
            let must = "a tolerance of viscosity is zero or more and leaves the fluid above 0.21 mm²/s";
            return Err(Unfit { what: "the tolerance (mm²/s)", value, must }.into());
        }
        Ok(Window {
            set_point: self.temperature_for(nominal)?,
            coldest: self.temperature_for(nominal + tolerance)?,
            hottest: self.temperature_for(nominal - tolerance)?,
        })
    }
}
