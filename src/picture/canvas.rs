//! A drawing as SVG text.

use std::fmt::Write;

/// How a shape is filled; each can be told from the others without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fill {
    White,
    Light,
    Middle,
    Dark,
    Slanted,
    Crossed,
}

impl Fill {
    fn paint(self, id: &str) -> String {
        match self {
            Fill::White => "#fff".to_owned(),
            Fill::Light => "#ddd".to_owned(),
            Fill::Middle => "#999".to_owned(),
            Fill::Dark => "#333".to_owned(),
            Fill::Slanted => format!("url(#{id}-slanted)"),
            Fill::Crossed => format!("url(#{id}-crossed)"),
        }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stroke {
    Axis,
    Grid,
    Solid,
    Dashed,
    Dotted,
    /// A long stroke and a dot.
    Chained,
    Heavy,
}

impl Stroke {
    fn attributes(self) -> &'static str {
        match self {
            Stroke::Axis => r##"stroke="#111" stroke-width="1""##,
            Stroke::Grid => r##"stroke="#ccc" stroke-width="0.7""##,
            Stroke::Solid => r##"stroke="#111" stroke-width="1.4""##,
            Stroke::Dashed => r##"stroke="#111" stroke-width="1.2" stroke-dasharray="7 4""##,
            Stroke::Dotted => r##"stroke="#111" stroke-width="1.2" stroke-dasharray="2 3""##,
            Stroke::Chained => r##"stroke="#111" stroke-width="1.2" stroke-dasharray="11 3 2 3""##,
            Stroke::Heavy => r##"stroke="#111" stroke-width="3" stroke-linecap="butt""##,
        }
    }
}

/// What a mark looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    Circle,
    Square,
    Triangle,
    Diamond,
    /// A triangle on its point.
    Drop,
    Cross,
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hold {
    Start,
    Middle,
    End,
}

/// A drawing of a fixed size; its texts are 12 high, so a width of 760 fills a printed page.
pub(crate) struct Canvas {
    id: String,
    width: f64,
    height: f64,
    body: String,
}

impl Canvas {
    /// The id tells the patterns of one drawing on a page from those of the next.
    pub(crate) fn new(id: &str, width: f64, height: f64) -> Canvas {
        Canvas { id: id.to_owned(), width, height, body: String::new() }
    }

    pub(crate) fn text(&mut self, x: f64, y: f64, hold: Hold, text: &str) {
        self.lettered(x, y, hold, text, "");
    }

    pub(crate) fn bold(&mut self, x: f64, y: f64, hold: Hold, text: &str) {
        self.lettered(x, y, hold, text, r#" font-weight="600""#);
    }

    /// A text on a white ground, so that lines behind it do not cross it.
    pub(crate) fn label(&mut self, x: f64, y: f64, hold: Hold, text: &str) {
        self.lettered(x, y, hold, text, r##" stroke="#fff" stroke-width="3" paint-order="stroke""##);
    }

    fn lettered(&mut self, x: f64, y: f64, hold: Hold, text: &str, more: &str) {
        let anchor = match hold {
            Hold::Start => "start",
            Hold::Middle => "middle",
            Hold::End => "end",
        };
        let text = escape(text);
        self.put(format_args!(r#"<text x="{x:.1}" y="{y:.1}" text-anchor="{anchor}"{more}>{text}</text>"#));
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: Stroke) {
        let paint = stroke.attributes();
        let ((a, b), (c, d)) = (from, to);
        self.put(format_args!(r#"<line x1="{a:.1}" y1="{b:.1}" x2="{c:.1}" y2="{d:.1}" {paint}/>"#));
    }

    pub(crate) fn path(&mut self, points: &[(f64, f64)], stroke: Stroke) {
        let (points, paint) = (places(points), stroke.attributes());
        self.put(format_args!(r#"<polyline points="{points}" fill="none" {paint}/>"#));
    }

    /// The area between two lines.
    pub(crate) fn band(&mut self, lower: &[(f64, f64)], upper: &[(f64, f64)], fill: Fill, edge: Stroke) {
        let around: Vec<(f64, f64)> = lower.iter().chain(upper.iter().rev()).copied().collect();
        let (points, paint) = (places(&around), fill.paint(&self.id));
        self.put(format_args!(r#"<polygon points="{points}" fill="{paint}" fill-opacity="0.55"/>"#));
        self.path(lower, edge);
        self.path(upper, edge);
    }

    pub(crate) fn bar(&mut self, x: f64, y: f64, width: f64, height: f64, fill: Fill) {
        let paint = fill.paint(&self.id);
        self.put(format_args!(
            r##"<rect x="{x:.1}" y="{y:.1}" width="{width:.1}" height="{height:.1}" fill="{paint}" stroke="#111" stroke-width="0.8"/>"##
        ));
    }

    pub(crate) fn dot(&mut self, x: f64, y: f64, filled: bool) {
        let fill = if filled { "#111" } else { "#fff" };
        self.put(format_args!(r##"<circle cx="{x:.1}" cy="{y:.1}" r="3" fill="{fill}" stroke="#111"/>"##));
    }

    /// A mark whose shape and filling tell what it stands for.
    pub(crate) fn mark(&mut self, x: f64, y: f64, shape: Shape, filled: bool) {
        let fill = if filled { "#111" } else { "#fff" };
        let around = |corners: &[(f64, f64)]| {
            places(&corners.iter().map(|(across, down)| (x + across, y + down)).collect::<Vec<_>>())
        };
        let corners = match shape {
            Shape::Circle => return self.dot(x, y, filled),
            Shape::Cross => {
                self.line((x - 3.0, y - 3.0), (x + 3.0, y + 3.0), Stroke::Axis);
                return self.line((x - 3.0, y + 3.0), (x + 3.0, y - 3.0), Stroke::Axis);
            }
            Shape::Square => around(&[(-2.8, -2.8), (2.8, -2.8), (2.8, 2.8), (-2.8, 2.8)]),
            Shape::Triangle => around(&[(0.0, -3.8), (3.5, 2.6), (-3.5, 2.6)]),
            Shape::Diamond => around(&[(0.0, -4.0), (4.0, 0.0), (0.0, 4.0), (-4.0, 0.0)]),
            Shape::Drop => around(&[(0.0, 3.8), (3.5, -2.6), (-3.5, -2.6)]),
        };
        self.put(format_args!(r##"<polygon points="{corners}" fill="{fill}" stroke="#111"/>"##));
    }

    /// A line that goes on beyond what is drawn: from a place towards another, with a head at its end.
    pub(crate) fn arrow(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.line(from, to, Stroke::Solid);
        let (across, down) = (to.0 - from.0, to.1 - from.1);
        let length = across.hypot(down).max(1e-9);
        let (ahead, aside) = ((across / length, down / length), (-down / length, across / length));
        let corner = |side: f64| (to.0 - 6.0 * ahead.0 + side * aside.0, to.1 - 6.0 * ahead.1 + side * aside.1);
        let corners = places(&[to, corner(3.2), corner(-3.2)]);
        self.put(format_args!(r##"<polygon points="{corners}" fill="#111"/>"##));
    }

    /// A small text.
    pub(crate) fn small(&mut self, x: f64, y: f64, hold: Hold, text: &str) {
        self.lettered(x, y, hold, text, r#" font-size="10.5""#);
    }

    fn put(&mut self, what: std::fmt::Arguments<'_>) {
        let _never_fails = writeln!(self.body, "{what}");
    }

    /// The whole drawing, with a title and a description for whoever cannot see it.
    pub(crate) fn finish(self, title: &str, description: &str) -> String {
        let Canvas { id, width, height, body } = self;
        let (title, description) = (escape(title), escape(description));
        format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0} {height:.0}" width="{width:.0}" height="{height:.0}" role="img" aria-labelledby="{id}-title {id}-desc" font-family="sans-serif" font-size="12" fill="#111">
<title id="{id}-title">{title}</title>
<desc id="{id}-desc">{description}</desc>
<defs>
<pattern id="{id}-slanted" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#fff"/><rect width="2" height="6" fill="#111"/></pattern>
<pattern id="{id}-crossed" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#fff"/><rect width="1.5" height="6" fill="#111"/><rect width="6" height="1.5" fill="#111"/></pattern>
</defs>
<rect width="{width:.0}" height="{height:.0}" fill="#fff"/>
{body}</svg>
"##
        )
    }
}

fn places(points: &[(f64, f64)]) -> String {
    points.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect::<Vec<_>>().join(" ")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Moves texts apart that would lie on each other: their heights, in the order given, at least `gap` apart, none below
/// `last` where that can be.
pub(crate) fn apart(heights: &[f64], gap: f64, last: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..heights.len()).collect();
    let at = |index: usize| heights.get(index).copied().unwrap_or(0.0);
    order.sort_by(|a, b| at(*a).total_cmp(&at(*b)));
    let mut placed: Vec<(usize, f64)> = Vec::new();
    for index in order {
        let free = placed.last().map_or(f64::NEG_INFINITY, |(_, y)| y + gap);
        placed.push((index, at(index).max(free)));
    }
    let over = placed.last().map_or(0.0, |(_, y)| (y - last).max(0.0));
    if over > 0.0 {
        let mut most = last;
        for (_, y) in placed.iter_mut().rev() {
            *y = y.min(most);
            most = *y - gap;
        }
    }
    placed.sort_by_key(|(index, _)| *index);
    placed.into_iter().map(|(_, y)| y).collect()
}
