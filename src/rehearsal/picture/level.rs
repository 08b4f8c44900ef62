//! The dust in the tank over time, by size.

use crate::picture::{Canvas, Fill, Hold, Scale, Stroke, apart};
use crate::rehearsal::sample::per_millilitre;
use crate::rehearsal::{Level, say};

const LEFT: f64 = 70.0;
const RIGHT: f64 = 660.0;
const TOP: f64 = 60.0;
const BOTTOM: f64 = 340.0;

/// `None` where the sizes of the dust are not known.
pub(crate) fn level(id: &str, level: &Level) -> Option<String> {
    let unit = per_millilitre();
    let counts = |index: usize| {
        let points = level.points.iter().filter_map(move |point| Some((point.time, *point.above.get(index)?)));
        points.map(|(time, above)| (time / 3600.0, say::in_unit(above, &unit))).collect::<Vec<_>>()
    };
    let largest = (0..level.sizes.len()).flat_map(counts).map(|(_, above)| above.high).fold(0.0, f64::max);
    if largest <= 0.0 {
        return None;
    }
    let end = level.points.last().map_or(0.0, |point| point.time) / 3600.0;
    let x = Scale::linear(end, LEFT, RIGHT);
    let y = Scale::decades(0.1, largest, BOTTOM, TOP);
    let mut canvas = Canvas::new(id, 760.0, BOTTOM + 62.0);
    for (value, words) in y.marks() {
        canvas.line((LEFT, y.at(value)), (RIGHT, y.at(value)), Stroke::Grid);
        canvas.text(LEFT - 5.0, y.at(value) + 4.0, Hold::End, &words);
    }
    for (value, words) in x.marks() {
        canvas.text(x.at(value), BOTTOM + 15.0, Hold::Middle, &words);
    }
    canvas.line((LEFT, BOTTOM), (RIGHT, BOTTOM), Stroke::Axis);
    canvas.line((LEFT, TOP), (LEFT, BOTTOM), Stroke::Axis);
    canvas.text(f64::midpoint(LEFT, RIGHT), BOTTOM + 32.0, Hold::Middle, "hours since the first step, as likely");
    canvas.text(
        10.0,
        18.0,
        Hold::Start,
        "particles per mL in the tank, above each size; bands: the dust goes slowly, or fast",
    );
    let mut last = f64::NEG_INFINITY;
    for (index, (time, _)) in level.stages.iter().enumerate() {
        let at = x.at(time / 3600.0);
        canvas.line((at, TOP), (at, BOTTOM), Stroke::Dotted);
        if at - last > 13.0 {
            canvas.text(at, TOP - 6.0, Hold::Middle, &(index + 1).to_string());
            last = at;
        }
    }
    canvas.text(LEFT - 5.0, TOP - 6.0 - 13.0, Hold::Start, "stage");
    let looks = [(Fill::Light, Stroke::Solid), (Fill::Middle, Stroke::Dashed), (Fill::White, Stroke::Dotted)];
    let mut labels = Vec::new();
    for ((index, size), (fill, edge)) in level.sizes.iter().enumerate().zip(looks) {
        let points = counts(index);
        let lower: Vec<_> = points.iter().map(|(time, above)| (x.at(*time), y.at(above.low))).collect();
        let upper: Vec<_> = points.iter().map(|(time, above)| (x.at(*time), y.at(above.high))).collect();
        // Where no dust is, nothing is drawn.
        for (from, to) in stretches(&points) {
            if let (Some(lower), Some(upper)) = (lower.get(from..to), upper.get(from..to)) {
                canvas.band(lower, upper, fill, edge);
            }
        }
        let peak = upper.iter().map(|(_, y)| *y).fold(BOTTOM, f64::min);
        labels.push((peak + 4.0, format!("≥ {size}")));
    }
    let heights: Vec<f64> = labels.iter().map(|(y, _)| *y).collect();
    for ((_, words), y) in labels.iter().zip(apart(&heights, 14.0, BOTTOM)) {
        canvas.label(RIGHT + 6.0, y, Hold::Start, words);
    }
    let stages: Vec<String> =
        level.stages.iter().enumerate().map(|(index, (_, title))| format!("{} {title}", index + 1)).collect();
    let highest: Vec<String> = level
        .sizes
        .iter()
        .enumerate()
        .map(|(index, size)| {
            let most = counts(index).iter().map(|(_, above)| above.high).fold(0.0, f64::max);
            format!("≥ {size} at most {} per mL", say::number(most, 2))
        })
        .collect();
    Some(canvas.finish(
        &format!("{}: dust in the tank over time", level.test),
        &format!("{}. Stages: {}.", highest.join("; "), stages.join("; ")),
    ))
}

/// Where there is dust: half-open ranges of points.
fn stretches(points: &[(f64, crate::foresight::Span)]) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut open = None;
    for (index, (_, above)) in points.iter().enumerate() {
        match (above.high > 0.0, open) {
            (true, None) => open = Some(index),
            (false, Some(from)) => {
                found.push((from, index));
                open = None;
            }
            _ => {}
        }
    }
    found.extend(open.map(|from| (from, points.len())));
    found
}
