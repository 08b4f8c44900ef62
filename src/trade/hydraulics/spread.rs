//! What uncertain inputs make of a line loss and of the pump's heat. First order (JCGM 100), the inputs independent.

use super::{
    HydraulicsError, Pipe, Regime, colebrook, friction_factor, line_loss, pump_heating, reynolds, rise_per_pass,
};
use crate::{
    quantity::si::{
        KinematicViscosity, Length, MassDensity, Power, Pressure, SpecificHeatCapacity, TemperatureInterval, VolumeRate,
    },
    trade::numeric::{rooted_squares, zero_or_more},
};
use std::f64::consts::{LN_10, PI};
use uom::si::{
    diffusion_coefficient::square_meter_per_second, length::meter, mass_density::kilogram_per_cubic_meter, power::watt,
    pressure::pascal, ratio::ratio, specific_heat_capacity::joule_per_kilogram_kelvin,
    temperature_interval::kelvin as kelvin_interval, volume_rate::cubic_meter_per_second,
};

/// Standard uncertainties of what a line loss is computed from; zero for what is exactly known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LineUncertainty {
    pub bore: Length,
    pub length: Length,
    pub roughness: Length,
    pub flow: VolumeRate,
    pub viscosity: KinematicViscosity,
    pub density: MassDensity,
}

/// Standard uncertainties of the lowest and the highest loss of [`line_loss`]; one number twice outside the transitional
/// regime. Between 2300 and 4000 the distance of the two losses comes on top.
///
/// Relative sensitivities, with a = ∂ln f/∂ln Re and b = ∂ln f/∂ln(ε/D): flow 2 + a, bore −5 − a − b, length 1,
/// roughness b, viscosity −a, density 1. Laminar a = −1, b = 0: the bore counts fourfold. Turbulent both by
/// differentiating Colebrook's formula. Domain as [`line_loss`]. Source: JCGM 100:2008, 5.1.2; derived.
pub fn line_loss_uncertainty(
    pipe: &Pipe,
    flow: VolumeRate,
    viscosity: KinematicViscosity,
    density: MassDensity,
    of: &LineUncertainty,
) -> Result<(Pressure, Pressure), HydraulicsError> {
    let loss = line_loss(pipe, flow, viscosity, density)?;
    // A metre of the line, so that a line of no length has an uncertainty as well.
    let metre = line_loss(&Pipe { length: Length::new::<meter>(1.0), ..*pipe }, flow, viscosity, density)?;
    let u = Absolute::of(of)?;
    let (d, l) = (pipe.bore.get::<meter>(), pipe.length.get::<meter>());
    let (q, nu, rho) = (flow.value, viscosity.get::<square_meter_per_second>(), density.value);
    if q == 0.0 {
        // Laminar at rest: ΔP = 128 ρ ν L Q/(π D⁴).
        let still = Pressure::new::<pascal>(128.0 * rho * nu * l / (PI * d.powi(4)) * u.flow);
        return Ok((still, still));
    }
    let end = |per_metre: Pressure, slopes: &Slopes| {
        let per_metre = per_metre.get::<pascal>();
        let relative = rooted_squares([
            (2.0 + slopes.reynolds) * u.flow / q,
            (5.0 + slopes.reynolds + slopes.roughness_times(pipe)) * u.bore / d,
            slopes.per_roughness * u.roughness / d,
            slopes.reynolds * u.viscosity / nu,
            u.density / rho,
        ]);
        Pressure::new::<pascal>(rooted_squares([per_metre * l * relative, per_metre * u.length]))
    };
    let (laminar, turbulent) = (Slopes::LAMINAR, || Slopes::turbulent(pipe, flow, viscosity));
    Ok(match loss.regime {
        Regime::Laminar => (end(metre.lowest, &laminar), end(metre.highest, &laminar)),
        Regime::Turbulent => (end(metre.lowest, &turbulent()?), end(metre.highest, &turbulent()?)),
        Regime::Transitional => {
            let of_laminar = 64.0 / loss.reynolds.get::<ratio>();
            let friction = friction_factor(loss.reynolds, pipe.roughness / pipe.bore)?;
            let laminar_is_low = (friction.lowest - of_laminar).abs() <= (friction.highest - of_laminar).abs();
            let (low, high) = if laminar_is_low { (laminar, turbulent()?) } else { (turbulent()?, laminar) };
            (end(metre.lowest, &low), end(metre.highest, &high))
        }
    })
}

/// How the friction factor moves.
struct Slopes {
    /// ∂ln f/∂ln Re.
    reynolds: f64,
    /// ∂ln f/∂(ε/D).
    per_roughness: f64,
}

impl Slopes {
    const LAMINAR: Self = Self { reynolds: -1.0, per_roughness: 0.0 };

    /// Of Colebrook's formula, x + 2 log10 A = 0 with x = 1/√f and A = ε/(3.7 D) + 2.51 x/Re, differentiated.
    fn turbulent(pipe: &Pipe, flow: VolumeRate, viscosity: KinematicViscosity) -> Result<Self, HydraulicsError> {
        let re = reynolds(flow, pipe.bore, viscosity)?;
        let rough = pipe.roughness / pipe.bore;
        let x = colebrook(re, rough)?.sqrt().recip();
        let re = re.get::<ratio>();
        let inside = rough.get::<ratio>() / 3.7 + 2.51 * x / re;
        let scale = 2.0 / (LN_10 * inside);
        let back = 1.0 + scale * 2.51 / re;
        Ok(Self { reynolds: -2.0 * scale * 2.51 / re / back, per_roughness: 2.0 / x * scale / 3.7 / back })
    }

    fn roughness_times(&self, pipe: &Pipe) -> f64 {
        self.per_roughness * (pipe.roughness / pipe.bore).get::<ratio>()
    }
}

/// The standard uncertainties in SI, checked.
struct Absolute {
    bore: f64,
    length: f64,
    roughness: f64,
    flow: f64,
    viscosity: f64,
    density: f64,
}

impl Absolute {
    fn of(given: &LineUncertainty) -> Result<Self, HydraulicsError> {
        Ok(Self {
            bore: zero_or_more("the uncertainty of the bore (m)", given.bore.get::<meter>())?,
            length: zero_or_more("the uncertainty of the length (m)", given.length.get::<meter>())?,
            roughness: zero_or_more("the uncertainty of the roughness (m)", given.roughness.get::<meter>())?,
            flow: zero_or_more("the uncertainty of the flow (m³/s)", given.flow.get::<cubic_meter_per_second>())?,
            viscosity: zero_or_more(
                "the uncertainty of the viscosity (m²/s)",
                given.viscosity.get::<square_meter_per_second>(),
            )?,
            density: zero_or_more(
                "the uncertainty of the density (kg/m³)",
                given.density.get::<kilogram_per_cubic_meter>(),
            )?,
        })
    }
}

/// Standard uncertainty of [`pump_heating`]: u² = (Q u(ΔP))² + (ΔP u(Q))². Source: JCGM 100:2008, 5.1.2.
pub fn pump_heating_uncertainty(
    pressure: (Pressure, Pressure),
    flow: (VolumeRate, VolumeRate),
) -> Result<Power, HydraulicsError> {
    pump_heating(pressure.0, flow.0)?;
    let u_p = zero_or_more("the uncertainty of the pressure (Pa)", pressure.1.get::<pascal>())?;
    let u_q = zero_or_more("the uncertainty of the flow (m³/s)", flow.1.get::<cubic_meter_per_second>())?;
    let (p, q) = (pressure.0.get::<pascal>(), flow.0.get::<cubic_meter_per_second>());
    Ok(Power::new::<watt>(rooted_squares([q * u_p, p * u_q])))
}

/// Standard uncertainty of [`rise_per_pass`]: u² = (u(ΔP)/(ρ c))² + ΔT² (u²(ρ)/ρ² + u²(c)/c²). Source: JCGM 100:2008, 5.1.2.
pub fn rise_per_pass_uncertainty(
    pressure: (Pressure, Pressure),
    density: (MassDensity, MassDensity),
    specific_heat: (SpecificHeatCapacity, SpecificHeatCapacity),
) -> Result<TemperatureInterval, HydraulicsError> {
    let rise = rise_per_pass(pressure.0, density.0, specific_heat.0)?.get::<kelvin_interval>();
    let u_p = zero_or_more("the uncertainty of the pressure (Pa)", pressure.1.get::<pascal>())?;
    let u_rho = zero_or_more("the uncertainty of the density (kg/m³)", density.1.get::<kilogram_per_cubic_meter>())?;
    let u_c = specific_heat.1.get::<joule_per_kilogram_kelvin>();
    let u_c = zero_or_more("the uncertainty of the specific heat (J/(kg K))", u_c)?;
    let (rho, c) = (density.0.get::<kilogram_per_cubic_meter>(), specific_heat.0.get::<joule_per_kilogram_kelvin>());
    Ok(TemperatureInterval::new::<kelvin_interval>(rooted_squares([
        u_p / (rho * c),
        rise * u_rho / rho,
        rise * u_c / c,
    ])))
}
