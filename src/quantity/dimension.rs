//! What a quantity measures, as powers of eight bases.

use serde::{Deserialize, Serialize};

/// Powers of length, mass, time, temperature, particles, turns, money and electric current. Particles, turns and money
/// are bases of their own so that a count, a speed and a price can't pass for bare numbers.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Dimension([i8; 8]);

impl Dimension {
    /// A bare number.
    pub const NONE: Self = Self([0; 8]);
    /// Length, m.
    pub const LENGTH: Self = Self([1, 0, 0, 0, 0, 0, 0, 0]);
    /// Mass, kg.
    pub const MASS: Self = Self([0, 1, 0, 0, 0, 0, 0, 0]);
    /// Time, s.
    pub const TIME: Self = Self([0, 0, 1, 0, 0, 0, 0, 0]);
    /// Temperature, K.
    pub const TEMPERATURE: Self = Self([0, 0, 0, 1, 0, 0, 0, 0]);
    /// Counted particles.
    pub const PARTICLES: Self = Self([0, 0, 0, 0, 1, 0, 0, 0]);
    /// Turns of a shaft or of a thread.
    pub const TURNS: Self = Self([0, 0, 0, 0, 0, 1, 0, 0]);
    /// Money, in one currency.
    pub const MONEY: Self = Self([0, 0, 0, 0, 0, 0, 1, 0]);
    /// Electric current, A; only for the conductivity of fuels and oils.
    pub const CURRENT: Self = Self([0, 0, 0, 0, 0, 0, 0, 1]);
    /// Area, m².
    pub const AREA: Self = Self::LENGTH.pow(2);
    /// Volume, m³.
    pub const VOLUME: Self = Self::LENGTH.pow(3);
    /// Flow, m³/s.
    pub const FLOW: Self = Self::VOLUME.div(Self::TIME);
    /// Velocity, m/s.
    pub const VELOCITY: Self = Self::LENGTH.div(Self::TIME);
    /// Density or mass concentration, kg/m³.
    pub const DENSITY: Self = Self::MASS.div(Self::VOLUME);
    /// Force, N.
    pub const FORCE: Self = Self::MASS.mul(Self::VELOCITY).div(Self::TIME);
    /// Pressure, Pa.
    pub const PRESSURE: Self = Self::FORCE.div(Self::AREA);
    /// Kinematic viscosity, m²/s.
    pub const KINEMATIC_VISCOSITY: Self = Self::AREA.div(Self::TIME);
    /// Dynamic viscosity, Pa·s.
    pub const DYNAMIC_VISCOSITY: Self = Self::PRESSURE.mul(Self::TIME);
    /// Torque or energy, N·m.
    pub const TORQUE: Self = Self::FORCE.mul(Self::LENGTH);
    /// Power, W.
    pub const POWER: Self = Self::TORQUE.div(Self::TIME);
    /// Heat flux, W/m².
    pub const HEAT_FLUX: Self = Self::POWER.div(Self::AREA);
    /// Specific heat capacity, J/(kg·K).
    pub const SPECIFIC_HEAT: Self = Self::TORQUE.div(Self::MASS).div(Self::TEMPERATURE);
    /// Change of density with temperature, kg/m³ per K.
    pub const EXPANSION: Self = Self::DENSITY.div(Self::TEMPERATURE);
    /// Change of temperature with time, K/s.
    pub const TEMPERATURE_RATE: Self = Self::TEMPERATURE.div(Self::TIME);
    /// Change of pressure with time, Pa/s.
    pub const PRESSURE_RATE: Self = Self::PRESSURE.div(Self::TIME);
    /// Mass fed per time, kg/s.
    pub const MASS_RATE: Self = Self::MASS.div(Self::TIME);
    /// Particles per volume, 1/m³.
    pub const COUNT_CONCENTRATION: Self = Self::PARTICLES.div(Self::VOLUME);
    /// Speed of a shaft, turns/s.
    pub const SPEED: Self = Self::TURNS.div(Self::TIME);
    /// Frequency, Hz.
    pub const FREQUENCY: Self = Self::NONE.div(Self::TIME);
    /// Surface tension, N/m.
    pub const SURFACE_TENSION: Self = Self::FORCE.div(Self::LENGTH);
    /// Electric conductance, S = A²/W.
    pub const CONDUCTANCE: Self = Self::CURRENT.pow(2).div(Self::POWER);
    /// Electric conductivity, S/m.
    pub const CONDUCTIVITY: Self = Self::CONDUCTANCE.div(Self::LENGTH);

    /// The dimension of a product.
    #[must_use]
    pub const fn mul(self, other: Self) -> Self {
        self.combine(other, 1)
    }

    /// The dimension of a quotient.
    #[must_use]
    pub const fn div(self, other: Self) -> Self {
        self.combine(other, -1)
    }

    /// The dimension of a power.
    #[must_use]
    pub const fn pow(self, power: i8) -> Self {
        Self::NONE.combine(self, power)
    }

    /// Whether it is a bare number.
    pub fn is_none(self) -> bool {
        self == Self::NONE
    }

    const fn combine(self, other: Self, power: i8) -> Self {
        let mut powers = self.0;
        let mut index = 0;
        while index < powers.len() {
            powers[index] = powers[index].saturating_add(other.0[index].saturating_mul(power));
            index += 1;
        }
        Self(powers)
    }
}
