//! Share caught against size: a panel for each run, sizes on a scale of ratios.

use super::super::say;
use super::{Frame, panels};
use crate::picture::{Canvas, Scale, Shape, Stroke};
use crate::quantity::Unit;
use crate::results::{Outcome, RemovalResult, SizeResult};

const HIGH: f64 = 200.0;

/// `None` where nothing was counted, or where the counts give no share.
pub(in crate::report) fn removal(id: &str, title: &str, of: &[(String, &RemovalResult)]) -> Option<String> {
    let sizes = || of.iter().flat_map(|(_, removal)| &removal.pooled);
    let told = |size: &&SizeResult| !matches!(size.efficiency, Outcome::Unsaid { .. });
    let (small, large) =
        sizes().fold((f64::INFINITY, 0.0_f64), |(low, high), size| (low.min(size.size), high.max(size.size)));
    if sizes().filter(told).count() == 0 || large <= small {
        return None;
    }
    let lowest = sizes().filter_map(|size| size.efficiency.known()).map(|known| known.interval.low).fold(0.0, f64::min);
    let (wide, high) = panels(of.len(), HIGH);
    let mut canvas = Canvas::new(id, wide, high);
    let basis =
        sizes().find_map(|size| size.words.split_once(' ').map(|(_, unit)| unit.to_owned())).unwrap_or_default();
    for (index, (head, removal)) in of.iter().enumerate() {
        let frame = Frame::of(index, HIGH);
        let x = Scale::ratios(small * 0.9, large * 1.1, frame.left, frame.right);
        let y = Scale::between((lowest * 100.0).max(-50.0), 100.0, frame.bottom, frame.top);
        let mut ticks: Vec<(f64, String)> = Vec::new();
        for size in &removal.pooled {
            let at = x.at(size.size);
            if ticks.last().is_none_or(|(last, _)| at - last > 14.0) {
                ticks.push((at, size.words.split(' ').next().unwrap_or_default().to_owned()));
            }
        }
        frame.axes(&mut canvas, head, (&ticks, &format!("size and above, {basis}")), (&y, "caught, %"));
        for size in &removal.pooled {
            mark(&mut canvas, size, (&x, &y));
        }
    }
    let percent = Unit::parse("%").unwrap_or_else(|_| Unit::none());
    let told: Vec<String> = of
        .iter()
        .map(|(head, removal)| {
            let sizes =
                removal.pooled.iter().map(|size| format!("{} {}", size.words, say::whole(&size.efficiency, &percent)));
            format!("{head}: {}.", sizes.collect::<Vec<_>>().join("; "))
        })
        .collect();
    Some(canvas.finish(&format!("{title}: share caught against size"), &told.join(" ")))
}

fn mark(canvas: &mut Canvas, size: &SizeResult, (x, y): (&Scale, &Scale)) {
    let at = x.at(size.size);
    let up = |share: f64| y.at(share * 100.0);
    match &size.efficiency {
        Outcome::Known(known) => {
            let (low, high) = (up(known.interval.low), up(known.interval.high));
            canvas.line((at, low), (at, high), Stroke::Solid);
            for end in [low, high] {
                canvas.line((at - 3.0, end), (at + 3.0, end), Stroke::Solid);
            }
            canvas.mark(at, up(known.value), Shape::Circle, !size.few);
        }
        // From the bound towards where the value lies.
        Outcome::AtLeast { bound, .. } => canvas.arrow((at, up(*bound)), (at, (up(*bound) - 16.0).min(up(1.0)))),
        Outcome::AtMost { bound, .. } => canvas.arrow((at, up(*bound)), (at, up(*bound) + 16.0)),
        Outcome::Unsaid { .. } => {}
    }
}
