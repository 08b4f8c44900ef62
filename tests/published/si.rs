//! Numbers in the units the published tables are written in.

use loopleaf::quantity::si::{
    DynamicViscosity, KinematicViscosity, Length, Mass, MassDensity, Pressure, Temperature, TemperatureInterval, Time,
    Volume, VolumeRate,
};
use uom::si::{
    diffusion_coefficient::square_meter_per_second, dynamic_viscosity::pascal_second, length::meter, mass::kilogram,
    mass_density::kilogram_per_cubic_meter, pressure::pascal, temperature_interval, thermodynamic_temperature::kelvin,
    time::second, volume::cubic_meter, volume_rate::cubic_meter_per_second,
};

pub(crate) fn mm2_s(x: f64) -> KinematicViscosity {
    KinematicViscosity::new::<square_meter_per_second>(x * 1e-6)
}

pub(crate) fn in_mm2_s(x: KinematicViscosity) -> f64 {
    x.value * 1e6
}

pub(crate) fn pa_s(x: f64) -> DynamicViscosity {
    DynamicViscosity::new::<pascal_second>(x)
}

pub(crate) fn celsius(x: f64) -> Temperature {
    Temperature::new::<kelvin>(x + 273.15)
}

pub(crate) fn in_celsius(x: Temperature) -> f64 {
    x.value - 273.15
}

pub(crate) fn fahrenheit(x: f64) -> Temperature {
    celsius((x - 32.0) / 1.8)
}

pub(crate) fn kelvins(x: f64) -> TemperatureInterval {
    TemperatureInterval::new::<temperature_interval::kelvin>(x)
}

pub(crate) fn kg_m3(x: f64) -> MassDensity {
    MassDensity::new::<kilogram_per_cubic_meter>(x)
}

pub(crate) fn mg_l(x: f64) -> MassDensity {
    kg_m3(x * 1e-3)
}

pub(crate) fn grams(x: f64) -> Mass {
    Mass::new::<kilogram>(x * 1e-3)
}

pub(crate) fn seconds(x: f64) -> Time {
    Time::new::<second>(x)
}

pub(crate) fn minutes(x: f64) -> Time {
    seconds(x * 60.0)
}

pub(crate) fn litres(x: f64) -> Volume {
    Volume::new::<cubic_meter>(x * 1e-3)
}

pub(crate) fn l_min(x: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_second>(x * 1e-3 / 60.0)
}

pub(crate) fn mm(x: f64) -> Length {
    Length::new::<meter>(x * 1e-3)
}

pub(crate) fn kpa(x: f64) -> Pressure {
    Pressure::new::<pascal>(x * 1e3)
}
