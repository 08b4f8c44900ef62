//! What the oil was like when a reading was taken.

use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::thermodynamic_temperature::kelvin;

use crate::plan::{Fluid, curve};
use crate::quantity::si::Temperature;
use crate::trade::viscosity::Curve;

/// kg/m³ per K by which a mineral oil gets lighter, where the plan does not say. From memory.
const USUAL_FALL: f64 = 0.65;
/// kg/m³ of a mineral oil, where the plan does not say. From memory.
const USUAL_DENSITY: f64 = 870.0;

/// A fluid's viscosity (ASTM D341) and density by temperature.
pub(crate) struct Oil {
    curve: Curve,
    /// kg/m³ at K.
    density: (f64, f64),
    fall: f64,
    /// Whether the plan gives a density.
    pub(crate) weighed: bool,
}

impl Oil {
    /// `None` where the plan gives no curve of viscosity against temperature.
    pub(crate) fn new(fluid: &Fluid) -> Option<Oil> {
        let density = fluid.density.as_ref().map(|said| (said.value.0.si(), said.value.1.si()));
        Some(Oil {
            curve: curve(fluid).ok()?,
            density: density.unwrap_or((USUAL_DENSITY, 288.15)),
            fall: fluid.expansion.as_ref().map_or(USUAL_FALL, |said| said.value.si_difference()),
            weighed: density.is_some(),
        })
    }

    /// m²/s at K.
    pub(crate) fn viscosity(&self, temperature: f64) -> Option<f64> {
        let found = self.curve.viscosity_at(Temperature::new::<kelvin>(temperature)).ok()?;
        Some(found.value.get::<square_meter_per_second>()).filter(|viscosity| *viscosity > 0.0)
    }

    /// kg/m³ at K: ρ(T) = ρ₀ − k (T − T₀).
    pub(crate) fn density(&self, temperature: f64) -> f64 {
        self.density.0 - self.fall * (temperature - self.density.1)
    }

    /// d ln ν/dT at K, by a central difference over a tenth of a kelvin.
    pub(crate) fn slope(&self, temperature: f64) -> Option<f64> {
        let (low, high) = (self.viscosity(temperature - 0.05)?, self.viscosity(temperature + 0.05)?);
        Some((high / low).ln() / 0.1)
    }
}
