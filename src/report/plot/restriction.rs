//! Differential pressure against flow: a panel for each run, all to one scale.

use super::super::say;
use super::{Frame, marks, panels};
use crate::picture::{Canvas, Fill, Hold, Scale, Shape, Stroke};
use crate::results::{Outcome, RestrictionResult};

const HIGH: f64 = 200.0;

/// `None` where no run has a reading.
pub(in crate::report) fn restriction(id: &str, title: &str, of: &[(String, &RestrictionResult)]) -> Option<String> {
    let (_, first) = of.first()?;
    let points = || of.iter().flat_map(|(_, result)| &result.points);
    let bands = || of.iter().flat_map(|(_, result)| &result.at).filter_map(|(_, outcome)| outcome.known());
    let most =
        points().map(|point| point.at_reference).chain(bands().map(|known| known.interval.high)).fold(0.0, f64::max);
    let least = points().map(|point| point.at_reference).fold(0.0, f64::min);
    let flow = points().map(|point| point.planned).fold(0.0, f64::max);
    if most <= 0.0 || flow <= 0.0 {
        return None;
    }
    let (wide, high) = panels(of.len(), HIGH);
    let mut canvas = Canvas::new(id, wide, high);
    for (index, (head, result)) in of.iter().enumerate() {
        let frame = Frame::of(index, HIGH);
        let x = Scale::linear(first.flow_unit.from_si_difference(flow), frame.left, frame.right);
        let (low, top) = (first.unit.from_si_difference(least), first.unit.from_si_difference(most));
        let y = Scale::between(low, top, frame.bottom, frame.top);
        let (across, up) = (format!("flow, {}", first.flow_unit), first.unit.to_string());
        frame.axes(&mut canvas, head, (&marks(&x, 22.0), &across), (&y, &up));
        panel(&mut canvas, frame, result, (&x, &y), first);
    }
    let told: Vec<String> = of.iter().map(|(head, result)| told(head, result)).collect();
    Some(canvas.finish(&format!("{title}: differential pressure against flow"), &told.join(" ")))
}

fn told(head: &str, result: &RestrictionResult) -> String {
    let last = result.headline().map(|(flow, outcome)| {
        format!("{} at {}", say::whole(outcome, &result.unit), say::value_in(*flow, &result.flow_unit, 3))
    });
    let knee =
        result.knee.as_ref().map(|knee| format!(", a knee after {}", say::value_in(knee.flow, &result.flow_unit, 3)));
    format!("{head}: {}{}.", last.unwrap_or_else(|| "no value".to_owned()), knee.unwrap_or_default())
}

fn panel(
    canvas: &mut Canvas,
    frame: Frame,
    result: &RestrictionResult,
    (x, y): (&Scale, &Scale),
    first: &RestrictionResult,
) {
    let place = |flow: f64, pressure: f64| {
        (x.at(first.flow_unit.from_si_difference(flow)), y.at(first.unit.from_si_difference(pressure)))
    };
    let known: Vec<(f64, f64, f64)> = result
        .at
        .iter()
        .filter_map(|(flow, outcome)| match outcome {
            Outcome::Known(known) => Some((*flow, known.interval.low, known.interval.high)),
            _ => None,
        })
        .collect();
    if known.len() > 1 {
        let lower: Vec<_> = known.iter().map(|(flow, low, _)| place(*flow, *low)).collect();
        let upper: Vec<_> = known.iter().map(|(flow, _, high)| place(*flow, *high)).collect();
        canvas.band(&lower, &upper, Fill::Light, Stroke::Grid);
    }
    if let Some(fit) = &result.fit {
        let viscosity = result.viscosity * result.density;
        let curve = |share: f64| {
            let flow = fit.flows.0 + share * (fit.flows.1 - fit.flows.0);
            place(flow, fit.viscous * viscosity * flow + fit.inertial * result.density * flow * flow)
        };
        let line: Vec<_> = (0..=24).map(|step| curve(f64::from(step) / 24.0)).collect();
        canvas.path(&line, Stroke::Solid);
    }
    for point in &result.points {
        let (x, y) = place(point.planned, point.at_reference);
        let shape = if point.used { Shape::Circle } else { Shape::Cross };
        // A little apart, so that neither leg hides the other.
        canvas.mark(if point.rising { x - 2.5 } else { x + 2.5 }, y, shape, point.rising);
    }
    if let Some(knee) = &result.knee {
        let (at, _) = place(knee.flow, 0.0);
        canvas.line((at, frame.top), (at, frame.bottom), Stroke::Dotted);
        canvas.label(at - 3.0, frame.top + 10.0, Hold::End, "knee");
    }
}
