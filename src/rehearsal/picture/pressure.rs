//! Differential pressure against flow: a small picture for each model, all to one scale.

use crate::picture::{Canvas, Fill, Hold, Scale, Stroke, apart};
use crate::quantity::Unit;
use crate::rehearsal::{Pressure, say};

const WIDE: f64 = 372.0;
const HIGH: f64 = 250.0;

/// The pictures of one test. `pressures` are of that test only.
pub(crate) fn pressure(id: &str, pressures: &[&Pressure]) -> Option<String> {
    let first = pressures.first()?;
    let (unit, flow_unit) = (&first.unit, &first.flow_unit);
    let mut models: Vec<&str> = Vec::new();
    for one in pressures {
        if !models.contains(&one.model.as_str()) {
            models.push(&one.model);
        }
    }
    // A single flow is no curve.
    if pressures.iter().all(|p| p.points.len() < 2) {
        return None;
    }
    let points = || pressures.iter().flat_map(|p| &p.points);
    let flow = flow_unit.from_si_difference(points().map(|(flow, _)| *flow).fold(0.0, f64::max));
    let shown = unit.from_si_difference(points().map(|(_, dp)| dp.high).fold(0.0, f64::max));
    let columns = if models.len() > 1 { 2 } else { 1 };
    let rows = models.len().div_ceil(columns);
    let mut canvas = Canvas::new(id, 20.0 + WIDE * columns as f64, 10.0 + HIGH * rows as f64);
    for (index, model) in models.iter().enumerate() {
        let (left, top) = ((index % columns) as f64 * WIDE + 56.0, (index / columns) as f64 * HIGH + 36.0);
        let x = Scale::linear(flow, left, left + WIDE - 140.0);
        let y = Scale::linear(shown * 1.15, top + HIGH - 84.0, top);
        let of: Vec<&&Pressure> = pressures.iter().filter(|p| p.model == *model).collect();
        panel(&mut canvas, model, &of, (&x, &y), (left, top), (flow_unit, unit));
    }
    let described: Vec<String> = pressures.iter().map(|p| describe(p)).collect();
    Some(canvas.finish(
        &format!("{}: differential pressure of the clean specimen against flow", first.test),
        &format!("Bands between what is least and most expected. {}", described.join(" ")),
    ))
}

fn describe(p: &Pressure) -> String {
    let last = p.points.last().map_or_else(String::new, |(flow, dp)| {
        format!("{} at {}", say::span_in(*dp, &p.unit), say::value_in(*flow, &p.flow_unit))
    });
    format!("{} in {}: {last}.", p.model, viscosity(p))
}

fn viscosity(p: &Pressure) -> String {
    let unit = Unit::parse("mm²/s").unwrap_or_else(|_| Unit::none());
    say::value_in(p.viscosity.middle(), &unit)
}

fn panel(
    canvas: &mut Canvas,
    model: &str,
    of: &[&&Pressure],
    (x, y): (&Scale, &Scale),
    (left, top): (f64, f64),
    (flow_unit, unit): (&Unit, &Unit),
) {
    let (right, bottom) = (left + WIDE - 140.0, top + HIGH - 84.0);
    canvas.bold(left, top - 14.0, Hold::Start, model);
    for (value, words) in y.marks() {
        canvas.line((left, y.at(value)), (right, y.at(value)), Stroke::Grid);
        canvas.text(left - 5.0, y.at(value) + 4.0, Hold::End, &words);
    }
    for (value, words) in x.marks() {
        canvas.text(x.at(value), bottom + 15.0, Hold::Middle, &words);
    }
    canvas.line((left, bottom), (right, bottom), Stroke::Axis);
    canvas.line((left, top), (left, bottom), Stroke::Axis);
    canvas.text(f64::midpoint(left, right), bottom + 31.0, Hold::Middle, &format!("flow, {flow_unit}"));
    canvas.text(left - 5.0, top - 14.0, Hold::End, &unit.to_string());
    let looks = [(Fill::Light, Stroke::Solid), (Fill::Middle, Stroke::Dashed), (Fill::White, Stroke::Dotted)];
    let mut labels: Vec<(f64, String)> = Vec::new();
    for (pressure, (fill, edge)) in of.iter().zip(looks.into_iter().cycle()) {
        let place = |flow: f64, dp: f64| (x.at(flow_unit.from_si_difference(flow)), y.at(unit.from_si_difference(dp)));
        let lower: Vec<_> = pressure.points.iter().map(|(flow, dp)| place(*flow, dp.low)).collect();
        let upper: Vec<_> = pressure.points.iter().map(|(flow, dp)| place(*flow, dp.high)).collect();
        canvas.band(&lower, &upper, fill, edge);
        if let (Some(low), Some(high)) = (lower.last(), upper.last()) {
            labels.push((f64::midpoint(low.1, high.1) + 4.0, viscosity(pressure)));
            let end = low.0;
            if end < right - 20.0 {
                canvas.label(end + 4.0, f64::midpoint(low.1, high.1) + 4.0, Hold::Start, &viscosity(pressure));
                labels.pop();
            }
        }
    }
    for (value, words) in limits(of) {
        let value = unit.from_si_difference(value);
        if y.holds(value) {
            canvas.line((left, y.at(value)), (right, y.at(value)), Stroke::Dashed);
            labels.push((y.at(value) + 4.0, words));
        }
    }
    let heights: Vec<f64> = labels.iter().map(|(y, _)| *y).collect();
    for ((_, words), y) in labels.iter().zip(apart(&heights, 13.0, bottom)) {
        canvas.label(right + 5.0, y, Hold::Start, words);
    }
    let above: Vec<String> = limits(of)
        .into_iter()
        .filter(|(value, _)| !y.holds(unit.from_si_difference(*value)))
        .map(|(value, words)| format!("{words} {}", say::value_in(value, unit)))
        .collect();
    if !above.is_empty() {
        let from = left + 14.0 + 7.5 * model.chars().count() as f64;
        canvas.text(from, top - 14.0, Hold::Start, &format!("above: {}", above.join(", ")));
    }
}

/// The by-pass setting and the ends of the gauges.
fn limits(of: &[&&Pressure]) -> Vec<(f64, String)> {
    let mut found: Vec<(f64, String)> = Vec::new();
    let bypass = of.iter().filter_map(|p| Some((p.bypass?, "by-pass".to_owned())));
    let gauges = of.iter().filter_map(|p| p.gauge.as_ref().map(|(name, top)| (*top, format!("end of {name}"))));
    for limit in bypass.chain(gauges) {
        if !found.contains(&limit) {
            found.push(limit);
        }
    }
    found
}
