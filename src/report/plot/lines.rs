//! Lines of several specimens in one picture, each with its own mark and its name where it ends.

use super::super::say;
use super::{WIDTH, marks};
use crate::picture::{Canvas, Hold, Scale, Shape, Stroke};
use crate::results::{LoadingResult, MechanicalResult};

const LEFT: f64 = 62.0;
const RIGHT: f64 = 670.0;
const TOP: f64 = 54.0;
const BOTTOM: f64 = 344.0;

const SHAPES: [Shape; 5] = [Shape::Circle, Shape::Square, Shape::Triangle, Shape::Diamond, Shape::Drop];
const STROKES: [Stroke; 4] = [Stroke::Solid, Stroke::Dashed, Stroke::Chained, Stroke::Dotted];

/// One specimen's line: its name, its points in the axes' units, and what is told of it in words.
struct Line {
    head: String,
    points: Vec<(f64, f64)>,
    told: String,
}

/// Rise of differential pressure against dust given; `None` where nothing was given.
pub(in crate::report) fn loading(id: &str, title: &str, of: &[(String, &LoadingResult)]) -> Option<String> {
    let (_, first) = of.first()?;
    let lines: Vec<Line> = of
        .iter()
        .filter(|(_, loading)| !loading.points.is_empty())
        .map(|(head, loading)| {
            let points = loading.points.iter().map(|point| {
                (first.mass_unit.from_si_difference(point.mass), first.unit.from_si_difference(point.rise))
            });
            Line {
                head: head.clone(),
                points: points.collect(),
                told: format!("{head}: {} at the terminal rise", say::whole(&loading.capacity, &loading.mass_unit)),
            }
        })
        .collect();
    let terminal = first.unit.from_si_difference(first.terminal);
    let words = format!("terminal rise, {}", say::value_in(first.terminal, &first.unit, 3));
    let axes = (format!("dust given, {}", first.mass_unit), format!("rise of differential pressure, {}", first.unit));
    draw(id, &format!("{title}: rise against dust given"), &lines, &axes, Some((terminal, words)), true)
}

/// Flow through the by-pass against differential pressure; `None` where no curve was taken.
pub(in crate::report) fn bypass(id: &str, of: &[(String, &MechanicalResult)]) -> Option<String> {
    let (_, first) = of.first()?;
    // The unit of the result is that of the pressure; litres a minute are how flows are read on most benches.
    let flow = crate::quantity::Unit::parse("L/min").ok()?;
    let lines: Vec<Line> = of
        .iter()
        .map(|(head, result)| Line {
            head: head.clone(),
            points: result
                .curve
                .iter()
                .map(|(q, dp)| (first.unit.from_si_difference(*dp), flow.from_si_difference(*q)))
                .collect(),
            told: format!("{head}: {}", say::whole(&result.outcome, &result.unit)),
        })
        .collect();
    let axes = (format!("differential pressure, {}", first.unit), format!("flow, {flow}"));
    draw(id, &first.title, &lines, &axes, None, false)
}

fn draw(
    id: &str,
    title: &str,
    lines: &[Line],
    axes: &(String, String),
    level: Option<(f64, String)>,
    from_nothing: bool,
) -> Option<String> {
    let points = || lines.iter().flat_map(|line| line.points.iter().copied());
    let (across, up) = points().fold((0.0_f64, 0.0_f64), |(a, b), (x, y)| (a.max(x), b.max(y)));
    let lowest = points().map(|(_, y)| y).fold(0.0, f64::min);
    let up = level.as_ref().map_or(up, |(level, _)| up.max(*level));
    if across <= 0.0 || up <= 0.0 || !across.is_finite() || !up.is_finite() {
        return None;
    }
    let nearest = points().map(|(x, _)| x).fold(across, f64::min);
    let x =
        if from_nothing { Scale::linear(across, LEFT, RIGHT) } else { Scale::between(nearest, across, LEFT, RIGHT) };
    let y = Scale::between(lowest, up, BOTTOM, TOP);
    let mut canvas = Canvas::new(id, WIDTH, BOTTOM + 44.0);
    for (value, words) in y.marks() {
        canvas.line((LEFT, y.at(value)), (RIGHT, y.at(value)), Stroke::Grid);
        canvas.text(LEFT - 6.0, y.at(value) + 4.0, Hold::End, &words);
    }
    for (at, words) in marks(&x, 30.0) {
        canvas.line((at, BOTTOM), (at, BOTTOM + 4.0), Stroke::Axis);
        canvas.text(at, BOTTOM + 17.0, Hold::Middle, &words);
    }
    canvas.line((LEFT, BOTTOM), (RIGHT, BOTTOM), Stroke::Axis);
    canvas.line((LEFT, TOP), (LEFT, BOTTOM), Stroke::Axis);
    canvas.text(f64::midpoint(LEFT, RIGHT), BOTTOM + 35.0, Hold::Middle, &axes.0);
    canvas.text(10.0, 16.0, Hold::Start, &axes.1);
    if let Some((level, words)) = &level {
        canvas.line((LEFT, y.at(*level)), (RIGHT, y.at(*level)), Stroke::Dashed);
        canvas.label(LEFT + 6.0, y.at(*level) - 5.0, Hold::Start, words);
    }
    for (index, line) in lines.iter().enumerate() {
        let stroke = STROKES.get(index % STROKES.len()).copied().unwrap_or(Stroke::Solid);
        let shape = SHAPES.get(index % SHAPES.len()).copied().unwrap_or(Shape::Circle);
        let placed: Vec<(f64, f64)> = line.points.iter().map(|(a, b)| (x.at(*a), y.at(*b))).collect();
        canvas.path(&placed, stroke);
        // Another turn round the shapes is hollow.
        let filled = (index / SHAPES.len()) % 2 == 0;
        placed.iter().for_each(|(a, b)| canvas.mark(*a, *b, shape, filled));
    }
    names(&mut canvas, lines, (&x, &y));
    let told: Vec<&str> = lines.iter().map(|line| line.told.as_str()).collect();
    Some(canvas.finish(title, &format!("{}.", told.join("; "))))
}

/// The names above where the lines end, moved up where they would stand in each other.
fn names(canvas: &mut Canvas, lines: &[Line], (x, y): (&Scale, &Scale)) {
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    for line in lines {
        let Some((end, height)) = line.points.last().map(|(a, b)| (x.at(*a), y.at(*b))) else { continue };
        let wide = 7.0 * line.head.chars().count() as f64;
        let middle = end.min(WIDTH - 4.0 - wide / 2.0);
        let from = middle - wide / 2.0;
        let mut up = height - 8.0;
        let meets = |up: f64| taken.iter().any(|(a, b, c)| from < *b && from + wide > *a && (up - c).abs() < 14.0);
        while meets(up) && up > 26.0 {
            up -= 14.0;
        }
        taken.push((from, from + wide, up));
        canvas.label(middle, up, Hold::Middle, &line.head);
    }
}
