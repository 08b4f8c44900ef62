//! What a slot of the language expects.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Dimension, Mark, Mismatch, Unit};

/// Makes the enum and its tables: variant, word in the language, name in a sentence, usual unit, example, dimension.
macro_rules! kinds {
    ($($variant:ident $word:literal $name:literal $unit:literal $example:literal $dimension:ident;)*) => {
        /// What a slot of the language expects.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Kind {
            $(#[doc = $name] $variant,)*
        }

        impl Kind {
            /// All kinds.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The word for it in the language: `gauge-pressure`.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)* }
            }

            /// Its name in a sentence: "a gauge pressure".
            pub fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            /// The text of the unit that benches mostly use for it; empty for a bare number.
            pub fn usual(self) -> &'static str {
                match self { $(Self::$variant => $unit,)* }
            }

            /// A quantity as one would write it.
            pub fn example(self) -> &'static str {
                match self { $(Self::$variant => $example,)* }
            }

            /// Its dimension.
            pub fn dimension(self) -> Dimension {
                match self { $(Self::$variant => Dimension::$dimension,)* }
            }
        }
    };
}

kinds! {
    Temperature "temperature" "a temperature" "°C" "60 °C" TEMPERATURE;
    TemperatureDifference "temperature-difference" "a temperature difference" "°C" "2 °C" TEMPERATURE;
    TemperatureRate "temperature-rate" "a rate of heating or cooling" "K/min" "2 K/min" TEMPERATURE_RATE;
    DifferentialPressure "differential-pressure" "a differential pressure" "kPa" "70 kPa" PRESSURE;
    GaugePressure "gauge-pressure" "a gauge pressure" "kPa gauge" "600 kPa gauge" PRESSURE;
    AbsolutePressure "absolute-pressure" "an absolute pressure" "kPa absolute" "101 kPa absolute" PRESSURE;
    PressureRate "pressure-rate" "a rate of pressure" "kPa/min" "10 kPa/min" PRESSURE_RATE;
    Flow "flow" "a flow" "L/min" "40 L/min" FLOW;
    Volume "volume" "a volume" "mL" "120 mL" VOLUME;
    Mass "mass" "a mass" "g" "0.800 g" MASS;
    MassRate "mass-rate" "a mass fed per time" "g/min" "0.200 g/min" MASS_RATE;
    Density "density" "a density" "kg/m³" "865 kg/m³" DENSITY;
    Concentration "concentration" "a mass concentration" "mg/L" "10 mg/L" DENSITY;
    Expansion "expansion" "a change of density with temperature" "kg/m³ per K" "0.65 kg/m³ per K" EXPANSION;
    KinematicViscosity "kinematic-viscosity" "a kinematic viscosity" "mm²/s" "15 mm²/s" KINEMATIC_VISCOSITY;
    DynamicViscosity "dynamic-viscosity" "a dynamic viscosity" "mPa·s" "13 mPa·s" DYNAMIC_VISCOSITY;
    Length "length" "a length" "mm" "25 mm" LENGTH;
    ParticleSize "particle-size" "a particle size" "µm(c)" "6 µm(c)" LENGTH;
    Area "area" "an area" "cm²" "1500 cm²" AREA;
    CountConcentration "count-concentration" "a particle count per volume" "per mL" "1300 per mL" COUNT_CONCENTRATION;
    Time "time" "a time" "min" "4 min" TIME;
    Speed "speed" "a speed of rotation" "rev/min" "600 rev/min" SPEED;
    Turns "turns" "a number of turns" "turns" "0.75 turns" TURNS;
    Frequency "frequency" "a frequency" "kHz" "40 kHz" FREQUENCY;
    Velocity "velocity" "a velocity" "m/s" "0.5 m/s" VELOCITY;
    Torque "torque" "a torque" "N·m" "20 N·m" TORQUE;
    Power "power" "a power" "kW" "3 kW" POWER;
    HeatFlux "heat-flux" "a heat flux" "W/cm²" "1.5 W/cm²" HEAT_FLUX;
    SpecificHeat "specific-heat" "a specific heat" "kJ/kg/K" "1.9 kJ/kg/K" SPECIFIC_HEAT;
    SurfaceTension "surface-tension" "a surface tension" "mN/m" "30 mN/m" SURFACE_TENSION;
    Conductivity "conductivity" "an electric conductivity" "pS/m" "100 pS/m" CONDUCTIVITY;
    Fraction "fraction" "a fraction" "%" "5 %" NONE;
    MassFraction "mass-fraction" "a fraction by mass" "% by mass" "0.1 % by mass" NONE;
    VolumeFraction "volume-fraction" "a fraction by volume" "% by volume" "0.1 % by volume" NONE;
    Money "money" "a price" "EUR" "12.50 EUR" MONEY;
    Number "number" "a bare number" "" "5" NONE;
}

impl Kind {
    /// The kind that a word of the language stands for.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.word() == word)
    }

    /// The unit that benches mostly use for it.
    pub fn usual_unit(self) -> Unit {
        Unit::parse(self.usual()).unwrap_or_else(|_| Unit::none())
    }

    /// What a tolerance, a rise or an accuracy of this kind is: a difference of temperatures or of pressures.
    #[must_use]
    pub fn difference(self) -> Self {
        match self {
            Self::Temperature => Self::TemperatureDifference,
            Self::GaugePressure | Self::AbsolutePressure => Self::DifferentialPressure,
            other => other,
        }
    }

    /// Whether a value is a point on a scale, so that two of them can't be added.
    pub fn is_point(self) -> bool {
        self.difference() != self
    }

    /// The kind that a unit is most likely of.
    pub fn of(unit: &Unit) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.fits(unit))
    }

    /// The value in SI: temperatures as points or as differences, as the kind has it.
    pub fn si(self, quantity: &super::Quantity) -> f64 {
        if self == Self::TemperatureDifference { quantity.si_difference() } else { quantity.si() }
    }

    /// Whether a quantity in this unit can stand here. Saybolt seconds can stand for a kinematic viscosity.
    ///
    /// # Errors
    /// Why it can't.
    pub fn accepts(self, unit: &Unit) -> Result<(), Mismatch> {
        if self.fits(unit) { Ok(()) } else { Err(self.mismatch(unit)) }
    }

    fn fits(self, unit: &Unit) -> bool {
        let mark = match self {
            Self::GaugePressure => unit.mark == Mark::Gauge,
            Self::AbsolutePressure => unit.mark == Mark::Absolute,
            Self::DifferentialPressure => matches!(unit.mark, Mark::None | Mark::Differential),
            Self::Temperature | Self::TemperatureDifference => unit.mark == Mark::TemperaturePoint,
            Self::ParticleSize => matches!(unit.mark, Mark::Basis(_)),
            Self::KinematicViscosity => matches!(unit.mark, Mark::None | Mark::Saybolt),
            Self::Money => matches!(unit.mark, Mark::Currency(_)),
            Self::MassFraction => unit.mark == Mark::MassFraction,
            Self::VolumeFraction => unit.mark == Mark::VolumeFraction,
            Self::Fraction => unit.mark == Mark::None && !unit.text.is_empty(),
            Self::Number => unit.text.is_empty(),
            _ => unit.mark == Mark::None,
        };
        mark && unit.dimension == self.dimension()
    }

    fn mismatch(self, unit: &Unit) -> Mismatch {
        let expected = self;
        if self == Self::CountConcentration && (unit.text.is_empty() || unit.dimension == Dimension::PARTICLES) {
            return Mismatch::PerWhatVolume;
        }
        if unit.text.is_empty() {
            return Mismatch::NoUnit { expected };
        }
        let found = Self::of(unit);
        if self == Self::ParticleSize && unit.dimension == Dimension::LENGTH {
            return Mismatch::WhichSize;
        }
        if matches!(self, Self::MassFraction | Self::VolumeFraction | Self::Fraction) && unit.dimension.is_none() {
            return Mismatch::WhichFraction { expected, found: unit.mark };
        }
        match (self, found) {
            (Self::GaugePressure | Self::AbsolutePressure, Some(Self::DifferentialPressure))
                if unit.mark == Mark::None =>
            {
                Mismatch::WhichPressure { expected }
            }
            (Self::GaugePressure | Self::AbsolutePressure | Self::DifferentialPressure, Some(found))
                if unit.dimension == Dimension::PRESSURE =>
            {
                Mismatch::WrongReference { expected, found }
            }
            (Self::KinematicViscosity, Some(found @ Self::DynamicViscosity))
            | (Self::DynamicViscosity, Some(found @ Self::KinematicViscosity)) => {
                Mismatch::NeedsDensity { expected, found }
            }
            _ => Mismatch::WrongKind { expected, found },
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
