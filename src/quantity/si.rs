//! The typed quantities that `trade` computes with: [`uom`]'s, over `f64`, in coherent SI.
//!
//! Only SI base units are used to get numbers in and out (`uom`'s other factors are rounded to seven digits);
//! conversion from what the bench writes is [`super::Unit`]'s job, with exact factors.

pub use uom::si::f64::{
    Acceleration, Angle, Area, DiffusionCoefficient as KinematicViscosity, DynamicViscosity, Energy, Frequency,
    HeatCapacity, Length, Mass, MassDensity, MassRate, Power, Pressure, Ratio, SpecificHeatCapacity, SurfaceTension,
    TemperatureCoefficient, TemperatureInterval, ThermalConductance, ThermodynamicTemperature as Temperature, Time,
    Velocity, Volume, VolumeRate, VolumetricNumberDensity as NumberDensity,
};
