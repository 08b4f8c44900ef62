//! Pressures that a flow will make.

use super::{Paper, Restriction, Span, State};
use crate::quantity::si::{KinematicViscosity, Length, MassDensity, VolumeRate};
use crate::trade::hydraulics::{Pipe, line_loss};
use uom::si::{
    diffusion_coefficient::square_meter_per_second, length::meter, mass_density::kilogram_per_cubic_meter,
    pressure::pascal, volume_rate::cubic_meter_per_second,
};

/// A differential pressure that was worked out beforehand.
#[derive(Debug, Clone, Copy)]
pub struct Predicted<'p> {
    /// Pa, of the clean specimen.
    pub pressure: Span,
    /// What it was worked out from.
    pub from: Restriction<'p>,
}

/// Drawn tube; a hose is as smooth. Handbook value, from memory.
const ROUGHNESS: f64 = 1.5e-6;

impl<'p> Paper<'p> {
    /// The clean specimen's differential pressure at the flow and viscosity of a state, of the model that restricts most.
    pub fn restriction(&self, state: &State<'p>) -> Option<Predicted<'p>> {
        let (flow, viscosity) = (state.flow.map(|(flow, _)| flow).filter(|flow| *flow > 0.0)?, state.viscosity()?);
        let each = self.assumed.restrictions.iter();
        each.map(|from| Predicted { pressure: from.at(flow, viscosity), from: *from })
            .max_by(|a, b| a.pressure.high.total_cmp(&b.pressure.high))
    }

    /// The loss in the lines that the oil passes after the pump, Pa; a line whose name or title speaks of suction is left
    /// out, and one without bore and length counts nothing.
    pub fn line_losses(&self, flow: f64, viscosity: Span) -> Span {
        let lines = self.plan.rig.parts.iter().filter(|part| {
            let named = |text: &str| text.to_lowercase().contains("suction");
            !named(&part.name) && !named(&part.title)
        });
        let lines = lines.filter_map(|part| part.line.as_ref());
        lines.fold(Span::default(), |sum, (bore, length)| {
            let loss = |viscosity: f64| self.loss(flow, bore.si(), length.si(), viscosity).unwrap_or(0.0);
            sum.plus(Span::between(loss(viscosity.low), loss(viscosity.high)))
        })
    }

    /// The loss of one line, Pa, at a flow (m³/s) and viscosity (m²/s).
    pub fn loss(&self, flow: f64, bore: f64, length: f64, viscosity: f64) -> Option<f64> {
        let pipe = Pipe {
            bore: Length::new::<meter>(bore),
            length: Length::new::<meter>(length),
            roughness: Length::new::<meter>(ROUGHNESS),
        };
        let loss = line_loss(
            &pipe,
            VolumeRate::new::<cubic_meter_per_second>(flow),
            KinematicViscosity::new::<square_meter_per_second>(viscosity),
            MassDensity::new::<kilogram_per_cubic_meter>(870.0),
        );
        Some(loss.ok()?.highest.get::<pascal>())
    }

    /// The gauge pressure before the clean specimen, Pa: back pressure, lines and specimen.
    pub fn line_pressure(&self, state: &State<'p>) -> Option<Span> {
        let specimen = self.restriction(state)?.pressure;
        let lines = self.line_losses(state.flow?.0, state.viscosity()?);
        Some(Span::exactly(state.back_pressure).plus(lines).plus(specimen))
    }
}
