//! Heat: every pascal of pressure the pump gives ends as warmth in the oil.

use super::HydraulicsError;
use crate::{
    quantity::si::{
        HeatCapacity, MassDensity, Power, Pressure, SpecificHeatCapacity, Temperature, TemperatureInterval,
        ThermalConductance, Time, Volume, VolumeRate,
    },
    trade::numeric::{a_number, above_zero, rooted_squares, zero_or_more},
};
use uom::si::{
    heat_capacity::joule_per_kelvin, mass_density::kilogram_per_cubic_meter, power::watt, pressure::pascal,
    specific_heat_capacity::joule_per_kilogram_kelvin, temperature_interval::kelvin as kelvin_interval,
    thermal_conductance::watt_per_kelvin, thermodynamic_temperature::kelvin, time::second, volume::cubic_meter,
    volume_rate::cubic_meter_per_second,
};

/// The heat a pressure drop sets free: P = ΔP Q. Domain: both zero or more. Source: conservation of energy.
pub fn pump_heating(pressure: Pressure, flow: VolumeRate) -> Result<Power, HydraulicsError> {
    zero_or_more("the pressure (Pa)", pressure.get::<pascal>())?;
    zero_or_more("the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
    Ok(pressure * flow)
}

/// How much warmer oil leaves a restriction: ΔT = ΔP/(ρ c), no heat lost on the way.
///
/// Domain: pressure zero or more, density and specific heat above zero (mineral oil about 1.9 to 2.1 kJ/(kg K), from
/// memory). Source: conservation of energy; expansion of the oil is neglected.
pub fn rise_per_pass(
    pressure: Pressure,
    density: MassDensity,
    specific_heat: SpecificHeatCapacity,
) -> Result<TemperatureInterval, HydraulicsError> {
    let p = zero_or_more("the pressure (Pa)", pressure.get::<pascal>())?;
    let rho = above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
    let c = above_zero("the specific heat (J/(kg K))", specific_heat.get::<joule_per_kilogram_kelvin>())?;
    Ok(TemperatureInterval::new::<kelvin_interval>(p / (rho * c)))
}

/// Oil in a rig that is heated and cools to the room: C dT/dt = P − h (T − T_room).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bath {
    /// Of the oil and of the metal that warms with it, J/K.
    capacity: f64,
    /// From heater and pump together, W; negative for a cooler.
    heating: f64,
    /// To the room, W/K.
    loss: f64,
    /// K.
    room: f64,
}

/// Standard uncertainties of a [`Bath`]'s properties; zero for what is exactly known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BathUncertainty {
    pub capacity: HeatCapacity,
    pub heating: Power,
    pub loss: ThermalConductance,
    pub room: TemperatureInterval,
}

impl BathUncertainty {
    /// As a bath of them, in SI.
    fn checked(&self) -> Result<Bath, HydraulicsError> {
        Ok(Bath {
            capacity: zero_or_more(
                "the uncertainty of the heat capacity (J/K)",
                self.capacity.get::<joule_per_kelvin>(),
            )?,
            heating: zero_or_more("the uncertainty of the heating (W)", self.heating.get::<watt>())?,
            loss: zero_or_more("the uncertainty of the loss (W/K)", self.loss.get::<watt_per_kelvin>())?,
            room: zero_or_more("the uncertainty of the room's temperature (K)", self.room.get::<kelvin_interval>())?,
        })
    }
}

impl Bath {
    /// Oil with its heat sources and losses, mixed well. Domain: heat capacity above zero, loss zero or more.
    pub fn new(
        capacity: HeatCapacity,
        heating: Power,
        loss: ThermalConductance,
        room: Temperature,
    ) -> Result<Self, HydraulicsError> {
        Ok(Self {
            capacity: above_zero("the heat capacity (J/K)", capacity.get::<joule_per_kelvin>())?,
            heating: a_number("the heating (W)", heating.get::<watt>())?,
            loss: zero_or_more("the loss to the room (W/K)", loss.get::<watt_per_kelvin>())?,
            room: above_zero("the room's temperature (K)", room.get::<kelvin>())?,
        })
    }

    /// The heat capacity of a volume of oil: ρ c V. Domain: all above zero.
    pub fn capacity_of(
        volume: Volume,
        density: MassDensity,
        specific_heat: SpecificHeatCapacity,
    ) -> Result<HeatCapacity, HydraulicsError> {
        above_zero("the volume (m³)", volume.get::<cubic_meter>())?;
        above_zero("the density (kg/m³)", density.get::<kilogram_per_cubic_meter>())?;
        above_zero("the specific heat (J/(kg K))", specific_heat.get::<joule_per_kilogram_kelvin>())?;
        Ok(volume * density * specific_heat)
    }

    /// The temperature where heating and loss balance; `None` without a loss, when it rises for ever.
    pub fn settles_at(&self) -> Option<Temperature> {
        (self.loss > 0.0).then(|| Temperature::new::<kelvin>(self.room + self.heating / self.loss))
    }

    /// C/h: the time in which the distance from [`Self::settles_at`] falls to 37 %; `None` without a loss.
    pub fn time_constant(&self) -> Option<Time> {
        (self.loss > 0.0).then(|| Time::new::<second>(self.capacity / self.loss))
    }

    /// Standard uncertainty of [`Self::time_constant`]: (C/h) √(u²(C)/C² + u²(h)/h²). Source: JCGM 100:2008, 5.1.2.
    pub fn time_constant_uncertainty(&self, of: &BathUncertainty) -> Result<Option<Time>, HydraulicsError> {
        let u = of.checked()?;
        let relative = rooted_squares([u.capacity / self.capacity, u.loss / self.loss]);
        Ok(self.time_constant().map(|time| time * relative))
    }

    /// The temperature after a time: exponential towards [`Self::settles_at`], or a straight line without a loss.
    ///
    /// Domain: start above absolute zero, time zero or more. Source: conservation of energy.
    pub fn temperature_after(&self, start: Temperature, time: Time) -> Result<Temperature, HydraulicsError> {
        let t0 = above_zero("the starting temperature (K)", start.get::<kelvin>())?;
        let t = zero_or_more("the time (s)", time.get::<second>())?;
        // expm1 keeps the straight line as the limit of a small loss.
        let reached = match self.loss * t / self.capacity {
            0.0 => t0 + self.heating * t / self.capacity,
            decay => t0 - (self.room + self.heating / self.loss - t0) * (-decay).exp_m1(),
        };
        Ok(Temperature::new::<kelvin>(above_zero("the temperature reached (K)", reached)?))
    }

    /// Standard uncertainty of [`Self::temperature_after`], from those of the bath and of the start.
    ///
    /// With x = h t/C, φ = (1 − e⁻ˣ)/x and k = P − h (T₀ − T_room): T = T₀ + k φ t/C; its slopes in C, P, h, T_room and
    /// T₀ times their uncertainties, summed in squares. First order (JCGM 100), all independent; the time is exact.
    pub fn temperature_uncertainty(
        &self,
        start: (Temperature, TemperatureInterval),
        time: Time,
        of: &BathUncertainty,
    ) -> Result<TemperatureInterval, HydraulicsError> {
        self.temperature_after(start.0, time)?;
        let u = of.checked()?;
        let u_start =
            zero_or_more("the uncertainty of the starting temperature (K)", start.1.get::<kelvin_interval>())?;
        let (t, over_room) = (time.get::<second>(), start.0.get::<kelvin>() - self.room);
        let x = self.loss * t / self.capacity;
        let drive = self.heating - self.loss * over_room;
        // φ and dφ/dx, by their series where the quotient loses its digits.
        let (phi, slope) = if x < 1e-4 {
            (1.0 - x / 2.0 + x * x / 6.0, -0.5 + x / 3.0 - x * x / 8.0)
        } else {
            let phi = -(-x).exp_m1() / x;
            (phi, ((-x).exp() - phi) / x)
        };
        let per_capacity = t / self.capacity;
        let parts = [
            -per_capacity * drive / self.capacity * (phi + slope * x) * u.capacity,
            per_capacity * phi * u.heating,
            per_capacity * (drive * slope * per_capacity - over_room * phi) * u.loss,
            per_capacity * phi * self.loss * u.room,
            (1.0 - per_capacity * phi * self.loss) * u_start,
        ];
        Ok(TemperatureInterval::new::<kelvin_interval>(a_number("the uncertainty (K)", rooted_squares(parts))?))
    }

    /// The time from one temperature to another: t = (C/h) ln[(T∞ − T₀)/(T∞ − T)], or C (T − T₀)/P without a loss.
    ///
    /// Errors: the temperature is never reached. Source: conservation of energy.
    pub fn time_to_reach(&self, start: Temperature, wanted: Temperature) -> Result<Time, HydraulicsError> {
        let t0 = above_zero("the starting temperature (K)", start.get::<kelvin>())?;
        let t = above_zero("the wanted temperature (K)", wanted.get::<kelvin>())?;
        if t == t0 {
            return Ok(Time::default());
        }
        let seconds = match self.settles_at().map(|settles| settles.get::<kelvin>()) {
            None => self.capacity * (t - t0) / self.heating,
            // ln_1p keeps the digits when the rise is a small part of the way.
            Some(settles) => -self.capacity / self.loss * (-(t - t0) / (settles - t0)).ln_1p(),
        };
        if seconds.is_finite() && seconds > 0.0 {
            return Ok(Time::new::<second>(seconds));
        }
        let settles = self.settles_at().map_or(t0, |settles| settles.get::<kelvin>());
        Err(HydraulicsError::NeverReached { settles: settles - 273.15, wanted: t - 273.15 })
    }
}
