//! SI numbers as the typed quantities that the trade computes with.

use uom::si;

use crate::quantity::si::{
    DynamicViscosity, KinematicViscosity, Length, Mass, MassDensity, Pressure, Ratio, Temperature, TemperatureInterval,
    Time, Volume, VolumeRate,
};

macro_rules! typed {
    ($($name:ident $kind:ident $unit:path;)*) => {
        $(pub(in super::super) fn $name(si: f64) -> $kind {
            $kind::new::<$unit>(si)
        })*
    };
}

typed! {
    viscosity KinematicViscosity si::diffusion_coefficient::square_meter_per_second;
    dynamic DynamicViscosity si::dynamic_viscosity::pascal_second;
    temperature Temperature si::thermodynamic_temperature::kelvin;
    interval TemperatureInterval si::temperature_interval::kelvin;
    length Length si::length::meter;
    mass Mass si::mass::kilogram;
    density MassDensity si::mass_density::kilogram_per_cubic_meter;
    pressure Pressure si::pressure::pascal;
    time Time si::time::second;
    volume Volume si::volume::cubic_meter;
    flow VolumeRate si::volume_rate::cubic_meter_per_second;
    part Ratio si::ratio::ratio;
}
