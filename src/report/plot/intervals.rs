//! What was compared, by value, each with its interval.

use super::super::say;
use super::marks;
use crate::picture::{Canvas, Hold, Scale, Shape, Stroke};
use crate::quantity::Unit;
use crate::results::{Better, Outcome};

/// One line of the picture.
pub(in crate::report) struct Row<'r> {
    pub(in crate::report) label: String,
    pub(in crate::report) outcome: &'r Outcome,
    pub(in crate::report) letters: String,
}

const WIDE: f64 = 660.0;
const ROW: f64 = 26.0;

/// The best first; in the order given where neither way is better. `None` where no value is known.
pub(in crate::report) fn intervals(
    id: &str,
    title: &str,
    unit: &Unit,
    rows: &[Row<'_>],
    better: Better,
) -> Option<String> {
    let ends: Vec<f64> = rows.iter().filter_map(|row| ends(row.outcome)).flat_map(|(low, high)| [low, high]).collect();
    let ends: Vec<f64> = ends.into_iter().map(|si| unit.from_si_difference(si)).filter(|end| end.is_finite()).collect();
    let (low, high) =
        ends.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), end| (low.min(*end), high.max(*end)));
    if ends.is_empty() || rows.iter().all(|row| row.outcome.known().is_none()) {
        return None;
    }
    // A single point has no width: a tenth of it on either side.
    let spare = if high > low { (high - low) * 0.04 } else { (high.abs() * 0.1).max(1e-9) };
    let longest = rows.iter().map(|row| row.label.chars().count()).max().unwrap_or(0) as f64;
    let left = (30.0 + 6.8 * longest).clamp(80.0, 260.0);
    let right = WIDE - 190.0;
    // No share is more than all.
    let most = if unit.to_string() == "%" && high <= 100.0 { 100.0 } else { f64::INFINITY };
    let x = Scale::between(low - spare, (high + spare).min(most), left, right);
    let (top, bottom) = (34.0, 34.0 + ROW * rows.len() as f64);
    let mut canvas = Canvas::new(id, WIDE, bottom + 42.0);
    let lettered = rows.iter().any(|row| !row.letters.is_empty());
    canvas.small(right + 12.0, 18.0, Hold::Start, "value and 95 % interval");
    if lettered {
        canvas.small(WIDE - 8.0, 18.0, Hold::End, "letters");
    }
    for (at, words) in marks(&x, 34.0) {
        canvas.line((at, top - 6.0), (at, bottom), Stroke::Grid);
        canvas.text(at, bottom + 15.0, Hold::Middle, &words);
    }
    canvas.line((left, bottom), (right, bottom), Stroke::Axis);
    canvas.text(f64::midpoint(left, right), bottom + 32.0, Hold::Middle, &unit.to_string());
    let mut order: Vec<&Row<'_>> = rows.iter().collect();
    match better {
        Better::Low => {
            order.sort_by(|a, b| middle(a.outcome, f64::INFINITY).total_cmp(&middle(b.outcome, f64::INFINITY)))
        }
        Better::High => {
            order.sort_by(|a, b| middle(b.outcome, f64::NEG_INFINITY).total_cmp(&middle(a.outcome, f64::NEG_INFINITY)))
        }
        Better::Neither => {}
    }
    for (index, row) in order.iter().enumerate() {
        let y = top + ROW * (index as f64 + 0.5);
        canvas.text(left - 10.0, y + 4.0, Hold::End, &row.label);
        draw(&mut canvas, row.outcome, y, &x, unit, (left, right));
        let said = say::said(row.outcome, unit).unwrap_or_else(|| "cannot be said".to_owned());
        canvas.text(right + 12.0, y + 4.0, Hold::Start, &said);
        canvas.bold(WIDE - 8.0, y + 4.0, Hold::End, &row.letters);
    }
    let told: Vec<String> = order
        .iter()
        .map(|row| {
            let letters = if row.letters.is_empty() { String::new() } else { format!(" (letters {})", row.letters) };
            format!("{}: {}{letters}", row.label, say::whole(row.outcome, unit))
        })
        .collect();
    Some(canvas.finish(&format!("{title}: values with their intervals"), &format!("{}.", told.join("; "))))
}

fn ends(outcome: &Outcome) -> Option<(f64, f64)> {
    match outcome {
        Outcome::Known(known) => Some((known.interval.low.min(known.value), known.interval.high.max(known.value))),
        Outcome::AtLeast { bound, .. } | Outcome::AtMost { bound, .. } => Some((*bound, *bound)),
        Outcome::Unsaid { .. } => None,
    }
}

/// What a row is put in order by; what is not known stands last.
fn middle(outcome: &Outcome, last: f64) -> f64 {
    match outcome {
        Outcome::Known(known) => known.value,
        Outcome::AtLeast { bound, .. } | Outcome::AtMost { bound, .. } => *bound,
        Outcome::Unsaid { .. } => last,
    }
}

fn draw(canvas: &mut Canvas, outcome: &Outcome, y: f64, x: &Scale, unit: &Unit, (left, right): (f64, f64)) {
    let at = |si: f64| x.at(unit.from_si_difference(si));
    match outcome {
        Outcome::Known(known) => {
            let (low, high) = (at(known.interval.low), at(known.interval.high));
            canvas.line((low, y), (high, y), Stroke::Solid);
            for end in [low, high] {
                canvas.line((end, y - 4.0), (end, y + 4.0), Stroke::Solid);
            }
            canvas.mark(at(known.value), y, Shape::Circle, true);
        }
        Outcome::AtLeast { bound, .. } => {
            canvas.line((at(*bound), y - 4.0), (at(*bound), y + 4.0), Stroke::Solid);
            canvas.arrow((at(*bound), y), ((at(*bound) + 40.0).min(right + 6.0), y));
        }
        Outcome::AtMost { bound, .. } => {
            canvas.line((at(*bound), y - 4.0), (at(*bound), y + 4.0), Stroke::Solid);
            canvas.arrow((at(*bound), y), ((at(*bound) - 40.0).max(left - 6.0), y));
        }
        Outcome::Unsaid { .. } => {}
    }
}
