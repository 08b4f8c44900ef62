//! What is counted in each bottle, on a scale of decades.

use crate::picture::{Canvas, Hold, Scale, Stroke};
use crate::quantity::Unit;
use crate::rehearsal::sample::per_millilitre;
use crate::rehearsal::{Bottled, say};

const LEFT: f64 = 300.0;
const RIGHT: f64 = 730.0;

/// A line for each bottle and each of three sizes, from the least to the most expected. `bottles` are of one test.
pub(crate) fn counts(id: &str, bottles: &[&Bottled]) -> Option<String> {
    let unit = per_millilitre();
    let first = bottles.first()?;
    let chosen: Vec<usize> = three(first.sizes.len());
    let rows = bottles.len() as f64;
    let high = 14.0 * chosen.len() as f64 + 8.0;
    let (top, bottom) = (50.0, 50.0 + rows * high);
    let most =
        bottles.iter().flat_map(|b| &b.sizes).map(|size| in_unit(size.concentration.high, &unit)).fold(0.0, f64::max);
    if most <= 0.0 {
        return None;
    }
    let x = Scale::decades(0.1, most, LEFT, RIGHT);
    let mut canvas = Canvas::new(id, 760.0, bottom + 44.0);
    canvas.text(
        10.0,
        18.0,
        Hold::Start,
        "filled: before the specimen; hollow: behind it; at the left edge: 0.1 per mL or fewer",
    );
    for (value, words) in x.marks() {
        canvas.line((x.at(value), top - 8.0), (x.at(value), bottom), Stroke::Grid);
        canvas.text(x.at(value), bottom + 15.0, Hold::Middle, &words);
    }
    canvas.line((LEFT, bottom), (RIGHT, bottom), Stroke::Axis);
    canvas.text(f64::midpoint(LEFT, RIGHT), bottom + 32.0, Hold::Middle, "particles per mL in the bottle");
    for (row, bottle) in bottles.iter().enumerate() {
        let y = top + row as f64 * high;
        canvas.text(10.0, y + 14.0, Hold::Start, &bottle.path);
        let sizes = chosen.iter().filter_map(|index| bottle.sizes.get(*index));
        for (index, size) in sizes.enumerate() {
            let at = y + 10.0 + 14.0 * index as f64;
            canvas.text(LEFT - 8.0, at + 4.0, Hold::End, &format!("≥ {}", size.size));
            let (from, to) =
                (x.at(in_unit(size.concentration.low, &unit)), x.at(in_unit(size.concentration.high, &unit)));
            let filled = bottle.sits != "downstream";
            canvas.line((from, at), (to, at), if filled { Stroke::Heavy } else { Stroke::Solid });
            canvas.dot(from, at, filled);
            canvas.dot(to, at, filled);
        }
        canvas.line((10.0, y + high - 3.0), (RIGHT, y + high - 3.0), Stroke::Grid);
    }
    let described: Vec<String> = bottles
        .iter()
        .map(|bottle| {
            let sizes = chosen.iter().filter_map(|index| bottle.sizes.get(*index));
            let sizes: Vec<String> =
                sizes.map(|size| format!("≥ {} {}", size.size, say::span_in(size.concentration, &unit))).collect();
            format!("{}: {}", bottle.path, sizes.join(", "))
        })
        .collect();
    Some(
        canvas.finish(
            &format!("{}: what will be counted in each bottle", first.test),
            &format!("{}.", described.join("; ")),
        ),
    )
}

fn in_unit(si: f64, unit: &Unit) -> f64 {
    unit.from_si_difference(si)
}

/// The first, a middle and the last but one of so many sizes.
fn three(sizes: usize) -> Vec<usize> {
    let mut chosen = vec![0, sizes / 2, sizes.saturating_sub(2)];
    chosen.sort_unstable();
    chosen.dedup();
    chosen.retain(|index| *index < sizes);
    chosen
}
