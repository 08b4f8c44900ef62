//! What expressions mean: quantities with their units, dimensions checked, points and differences kept apart.

use super::change::Changes;
use super::read::{Bound, Notes, si_of};
use super::sane::is_fahrenheit;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{Dimension, Kind, Mark, Mismatch, Quantity, Ratio, Unit, UnitError};
use crate::source::{SourceId, Span};
use crate::syntax::nearest;
use crate::syntax::tree::{Expr, Node, Operator};

/// A value: a quantity, a plain number, or several.
#[derive(Debug, Clone)]
pub(crate) enum Value {
    Quantity(Quantity),
    /// As written, and its value.
    Number(String, f64),
    /// The result of multiplying or dividing quantities: SI, and what it is a quantity of.
    Derived(f64, Dimension),
    List(Vec<Value>),
}

/// The names that a value may use.
pub(crate) trait Scope {
    fn lookup(&self, name: &str) -> Option<&Bound>;
    fn names(&self) -> Vec<&str>;
    /// What to do about a name that is not there.
    fn advice(&self) -> String {
        let names = self.names();
        if names.is_empty() {
            return "write a number with its unit, or declare a `parameter` or `let` of this name".to_owned();
        }
        format!("what may be named here: {}", names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", "))
    }
}

pub(crate) struct Evaluator<'e> {
    pub(crate) source: SourceId,
    pub(crate) scope: &'e dyn Scope,
    pub(crate) notes: &'e Notes,
    pub(crate) changes: &'e Changes<'e>,
}

impl Evaluator<'_> {
    /// What is to be read for a written value: itself, or what stands in its place on the command line.
    fn instead<'x>(&'x self, expr: &'x Expr) -> (Evaluator<'x>, &'x Expr) {
        let (source, expr) = match self.changes.instead(self.source, expr.span) {
            Some(change) => (change.source, &change.expr),
            None => (self.source, expr),
        };
        (Evaluator { source, scope: self.scope, notes: self.notes, changes: self.changes }, expr)
    }

    fn fault(&self, code: Code, message: impl Into<String>, span: Span, role: impl Into<String>) -> Diagnostic {
        Diagnostic::new(code, message).at(self.source, span, role)
    }

    /// A quantity of this kind.
    pub(crate) fn quantity(&self, expr: &Expr, kind: Kind) -> Option<Quantity> {
        let (this, expr) = self.instead(expr);
        let value = this.value(expr)?;
        this.coerce(value, expr.span, kind)
    }

    /// Whatever it is.
    pub(crate) fn any_value(&self, expr: &Expr) -> Option<Value> {
        self.value(expr)
    }

    /// A quantity of whatever kind it says.
    pub(crate) fn any_quantity(&self, expr: &Expr) -> Option<Quantity> {
        let (this, new) = self.instead(expr);
        if std::ptr::eq(new, expr) {
            return self.whatever(expr);
        }
        // Nothing else says of what kind it is to be: it is of the kind that was written.
        let (written, quantity) = (self.whatever(expr)?, this.whatever(new)?);
        if written.unit.dimension == quantity.unit.dimension {
            return Some(quantity);
        }
        this.notes.add(
            this.fault(
                Code::WrongKind,
                format!("`{quantity}` stands for `{written}`, which is {}", named(written.unit.dimension)),
                new.span,
                format!("{} is wanted here", named(written.unit.dimension)),
            )
            .also(self.source, expr.span, "written here")
            .help(format!("write it in {} or another unit of the kind", written.unit)),
        );
        None
    }

    fn whatever(&self, expr: &Expr) -> Option<Quantity> {
        match self.value(expr)? {
            Value::Quantity(quantity) => Some(quantity),
            Value::Number(text, value) => Some(Quantity { number: text, value, unit: Unit::none() }),
            _ => {
                self.notes.add(self.fault(
                    Code::WrongKind,
                    "one quantity is wanted here",
                    expr.span,
                    "this is something else",
                ));
                None
            }
        }
    }

    pub(crate) fn number(&self, expr: &Expr) -> Option<f64> {
        let (this, expr) = self.instead(expr);
        match this.value(expr)? {
            Value::Number(_, value) => Some(value),
            Value::Derived(value, dimension) if dimension.is_none() => Some(value),
            _ => {
                this.notes.add(
                    this.fault(Code::WrongKind, "a plain number is wanted here", expr.span, "this has a unit")
                        .help("leave the unit out"),
                );
                None
            }
        }
    }

    pub(crate) fn list(&self, expr: &Expr, kind: Kind) -> Vec<Quantity> {
        match self.value(expr) {
            Some(Value::List(values)) => values.into_iter().filter_map(|v| self.coerce(v, expr.span, kind)).collect(),
            Some(value) => self.coerce(value, expr.span, kind).into_iter().collect(),
            None => Vec::new(),
        }
    }

    /// The half-width, in SI, that a tolerance gives around a centre; the target as written where there is one.
    pub(crate) fn tolerance(&self, expr: &Expr, kind: Kind, centre: f64, target: Option<&Quantity>) -> Option<f64> {
        let value = self.value(expr)?;
        if let Some(finding) = self.not_a_tolerance(&value, expr.span, kind, target) {
            self.notes.add(finding);
            return None;
        }
        if let Value::Quantity(quantity) = &value
            && quantity.unit.dimension.is_none()
            && quantity.unit.mark == Mark::None
            && kind != Kind::Fraction
        {
            if kind == Kind::Temperature {
                self.notes.add(
                    self.fault(
                        Code::PointAsDifference,
                        "a share of a temperature means nothing",
                        expr.span,
                        "a percentage of °C",
                    )
                    .help("write the tolerance in kelvin, for example `± 1 °C`"),
                );
                return None;
            }
            return Some(quantity.si() * centre.abs());
        }
        let difference = kind.difference();
        self.coerce(value, expr.span, difference).map(|q| si_of(&q, Some(difference)))
    }

    /// A tolerance without a unit, in the unit of something else, or converted from degrees like a reading.
    fn not_a_tolerance(&self, value: &Value, span: Span, kind: Kind, target: Option<&Quantity>) -> Option<Diagnostic> {
        let difference = kind.difference();
        let unit = target.map_or_else(|| difference.usual_unit(), |target| target.unit.clone());
        let unit = difference.accepts(&unit).map_or_else(|_| difference.usual_unit(), |()| unit);
        let share = if kind == Kind::Temperature { "" } else { ", or as a share `within 2 %`" };
        match value {
            Value::Number(number, _) if kind != Kind::Number => {
                let percent = if kind == Kind::Temperature {
                    String::new()
                } else {
                    format!(", or `within {number} %` if a share was meant")
                };
                Some(
                    self.fault(
                        Code::NoUnit,
                        format!("the tolerance `{number}` has no unit"),
                        span,
                        "how much is this?",
                    )
                    .help(format!("write `± {number} {unit}`{percent}")),
                )
            }
            Value::Quantity(given)
                if kind == Kind::Temperature && is_fahrenheit(&given.unit) && (32.4..=50.0).contains(&given.value) =>
            {
                let meant = given.value - 32.0;
                Some(
                    self.fault(
                        Code::PointAsDifference,
                        format!("a tolerance of {given} is {:.1} K on both sides", given.si_difference()),
                        span,
                        "was this converted like a reading?",
                    )
                    .why("A difference has no zero of its own: 2 °C up or down is 3.6 °F, although 2 °C on a thermometer is 35.6 °F.")
                    .help(format!("write `± {} °F`, which is ± {:.1} °C", short(meant), meant / 1.8)),
                )
            }
            Value::Quantity(given)
                if matches!(difference.accepts(&given.unit), Err(Mismatch::WrongKind { .. }))
                    && !is_share(&given.unit) =>
            {
                Some(
                    self.fault(
                        Code::WrongKind,
                        format!("`{}` is not the unit of {}", given.unit, difference.name()),
                        span,
                        "this tolerance",
                    )
                    .help(format!("write the tolerance in {unit}{share}")),
                )
            }
            _ => None,
        }
    }

    fn coerce(&self, value: Value, span: Span, kind: Kind) -> Option<Quantity> {
        match value {
            Value::Quantity(quantity) => match kind.accepts(&quantity.unit) {
                Ok(()) => Some(quantity),
                Err(mismatch) => {
                    self.notes.add(self.mismatch(&mismatch, &quantity, span, kind));
                    None
                }
            },
            Value::Number(text, value) if kind == Kind::Number => {
                Some(Quantity { number: text, value, unit: Unit::none() })
            }
            Value::Number(text, value) if kind == Kind::CountConcentration => {
                let bare = Quantity { number: text, value, unit: Unit::none() };
                self.notes.add(self.mismatch(&Mismatch::PerWhatVolume, &bare, span, kind));
                None
            }
            Value::Number(text, _) => {
                self.notes.add(
                    self.fault(
                        Code::NoUnit,
                        format!("`{text}` has no unit"),
                        span,
                        format!("{} is wanted here", kind.name()),
                    )
                    .help(format!("write the unit after the number, for example `{}`", with_unit(&text, kind))),
                );
                None
            }
            Value::Derived(si, dimension) if dimension == kind.dimension() => {
                Some(tidy(si, &kind.usual_unit(), kind == Kind::TemperatureDifference))
            }
            Value::Derived(_, dimension) => {
                self.notes.add(
                    self.fault(
                        Code::WrongKind,
                        format!("this works out as {}, not as {}", named(dimension), kind.name()),
                        span,
                        format!("{} is wanted here", kind.name()),
                    )
                    .help(format!("check the arithmetic; the result should be like {}", kind.example())),
                );
                None
            }
            Value::List(_) => {
                self.notes.add(
                    self.fault(Code::WrongKind, "one value is wanted here, not several", span, "a list")
                        .help("write one of them"),
                );
                None
            }
        }
    }

    fn mismatch(&self, mismatch: &Mismatch, quantity: &Quantity, span: Span, kind: Kind) -> Diagnostic {
        let unit = &quantity.unit.text;
        let wanted = format!("{} is wanted here", kind.name());
        let number = &quantity.number;
        match mismatch {
            Mismatch::WhichPressure { .. } => self
                .fault(
                    Code::WhichPressure,
                    format!("`{unit}` does not say against what this pressure is measured"),
                    span,
                    wanted,
                )
                .help(if kind == Kind::AbsolutePressure {
                    format!("write `{number} {unit} absolute`, the pressure above vacuum")
                } else {
                    format!("write `{number} {unit} gauge`, the pressure above that of the room")
                }),
            Mismatch::WrongReference { .. } => self
                .fault(Code::WrongPressureReference, format!("`{quantity}` is not {}", kind.name()), span, wanted)
                .help(match (kind, unit.strip_suffix(" gauge").or(unit.strip_suffix(" absolute"))) {
                    (Kind::DifferentialPressure, Some(plain)) => {
                        format!("write `{number} {plain}`, the difference of two pressures")
                    }
                    _ => format!("write it like `{}`", kind.example()),
                }),
            Mismatch::WhichSize => self
                .fault(
                    Code::WhichSize,
                    format!("`{unit}` does not say on which calibration this size is meant"),
                    span,
                    wanted,
                )
                .help(format!("write `{number} µm(c)` for ISO 11171, or `{number} µm(ACFTD)` for the older basis")),
            Mismatch::PerWhatVolume => self
                .fault(Code::PerWhatVolume, "a count needs the volume that it stands for", span, wanted)
                .help(format!("write `{number} per mL` or `{number} per 100 mL`")),
            Mismatch::NeedsDensity { .. } => self
                .fault(Code::NeedsDensity, format!("`{unit}` and {} differ by the density", kind.name()), span, wanted)
                .help("divide by the density in g/mL and write the result in mm²/s"),
            _ => self
                .fault(Code::WrongKind, format!("`{unit}` is not the unit of {}", kind.name()), span, wanted)
                .help(format!("write for example `{}`", kind.example())),
        }
    }

    fn value(&self, expr: &Expr) -> Option<Value> {
        match &expr.node {
            Node::Number(text) => text.parse().ok().map(|value| Value::Number(text.clone(), value)),
            Node::Quantity { number, unit } => match Unit::parse(unit) {
                Ok(unit) => {
                    Some(Value::Quantity(Quantity { number: number.clone(), value: number.parse().ok()?, unit }))
                }
                Err(error) => {
                    self.notes.add(self.bad_unit(&error, number, unit, expr.span));
                    None
                }
            },
            Node::Name(name) => match self.scope.lookup(name) {
                Some(Bound::Value(value)) => {
                    self.notes.mark_used(name);
                    Some(value.clone())
                }
                Some(Bound::Name(sort, _)) => {
                    self.notes.add(self.fault(
                        Code::WrongSort,
                        format!("`{name}` is a {}, not a value", sort.words()),
                        expr.span,
                        "a value is wanted here",
                    ));
                    None
                }
                None => {
                    let help = match nearest(name, self.scope.names()) {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => self.scope.advice(),
                    };
                    self.notes.add(
                        self.fault(
                            Code::UnknownName,
                            format!("there is no value called `{name}`"),
                            expr.span,
                            "not declared",
                        )
                        .help(help),
                    );
                    None
                }
            },
            Node::List(items) => {
                let values: Vec<Value> = items.iter().filter_map(|item| self.value(item)).collect();
                (values.len() == items.len()).then_some(Value::List(values))
            }
            Node::Binary(operator, left, right) => {
                let (l, r) = (self.value(left), self.value(right));
                self.combine(*operator, (l?, left.span), (r?, right.span), expr.span)
            }
        }
    }

    fn bad_unit(&self, error: &UnitError, number: &str, unit: &str, span: Span) -> Diagnostic {
        match error {
            UnitError::WhichGallon { .. } => self
                .fault(
                    Code::WhichGallon,
                    format!("`{unit}` can be a US or an imperial measure; they differ by 20 %"),
                    span,
                    "which one?",
                )
                .help(format!("write `{number} US {unit}` or `{number} imp {unit}`")),
            other => {
                let finding = self.fault(
                    Code::UnknownUnit,
                    format!("`{unit}` is not a unit that this bench knows"),
                    span,
                    "this unit",
                );
                match suggestions(other).first() {
                    Some(near) => finding.help(format!("did you mean `{number} {near}`?")),
                    None => finding,
                }
            }
        }
    }

    fn combine(
        &self,
        operator: Operator,
        (left, ls): (Value, Span),
        (right, rs): (Value, Span),
        span: Span,
    ) -> Option<Value> {
        if let Value::List(items) = left {
            let all: Vec<Value> = items
                .into_iter()
                .filter_map(|item| self.combine(operator, (item, ls), (right.clone(), rs), span))
                .collect();
            return Some(Value::List(all));
        }
        match operator {
            Operator::Add | Operator::Subtract => self.add(operator, (left, ls), (right, rs), span),
            Operator::Multiply | Operator::Of => self.multiply(left, right, span),
            Operator::Divide => self.divide(left, right, rs),
        }
    }

    fn add(
        &self,
        operator: Operator,
        (left, ls): (Value, Span),
        (right, rs): (Value, Span),
        span: Span,
    ) -> Option<Value> {
        let sign = if operator == Operator::Add { 1.0 } else { -1.0 };
        match (&left, &right) {
            (Value::Number(_, a), Value::Number(_, b)) => Some(plain(a + sign * b)),
            (Value::Quantity(a), Value::Quantity(b)) if a.unit.dimension == b.unit.dimension => {
                let (point_a, point_b) = (is_point(&a.unit), is_point(&b.unit));
                if point_a && point_b && operator == Operator::Add {
                    self.notes.add(
                        self.fault(
                            Code::PointsAdded,
                            "two temperatures cannot be added",
                            span,
                            format!("{a} and {b} are two points on a scale"),
                        )
                        .help(format!(
                            "write the second as a difference: `{a} + {} K`",
                            tidy(b.si_difference(), &Unit::parse("K").ok()?, true).number
                        )),
                    );
                    return None;
                }
                if point_a && point_b {
                    let kelvin = Unit::parse("K").ok()?;
                    return Some(Value::Quantity(tidy(a.si() - b.si(), &kelvin, true)));
                }
                let si = if point_a { a.si() } else { a.si_difference() } + sign * b.si_difference();
                Some(Value::Quantity(tidy(si, &a.unit, !point_a)))
            }
            (Value::Derived(a, da), Value::Derived(b, db)) if da == db => Some(Value::Derived(a + sign * b, *da)),
            (Value::Quantity(a), Value::Derived(b, d)) if a.unit.dimension == *d => {
                Some(Value::Quantity(tidy(a.si_difference() + sign * b, &a.unit, true)))
            }
            (Value::Derived(a, d), Value::Quantity(b)) if b.unit.dimension == *d => {
                Some(Value::Derived(a + sign * b.si_difference(), *d))
            }
            _ => {
                let verb = if operator == Operator::Add { "added to" } else { "taken from" };
                self.notes.add(
                    Diagnostic::new(Code::KindsMixed, format!("{} cannot be {verb} {}", say(&right), say(&left)))
                        .at(self.source, rs, say(&right))
                        .also(self.source, ls, say(&left))
                        .help("add only quantities of one kind"),
                );
                None
            }
        }
    }

    fn multiply(&self, left: Value, right: Value, span: Span) -> Option<Value> {
        match (left, right) {
            (Value::Number(_, a), Value::Number(_, b)) => Some(plain(a * b)),
            (Value::Number(_, a), Value::Quantity(q)) | (Value::Quantity(q), Value::Number(_, a)) => {
                Some(self.scaled(&q, a))
            }
            (Value::Quantity(share), Value::Quantity(q)) if is_share(&share.unit) => Some(self.scaled(&q, share.si())),
            (Value::Quantity(q), Value::Quantity(share)) if is_share(&share.unit) => Some(self.scaled(&q, share.si())),
            (Value::Quantity(share), Value::List(items)) if is_share(&share.unit) => {
                let all = items
                    .into_iter()
                    .filter_map(|item| self.multiply(Value::Quantity(share.clone()), item, span))
                    .collect();
                Some(Value::List(all))
            }
            (left, right) => {
                let ((a, da), (b, db)) = (self.si(&left, span)?, self.si(&right, span)?);
                Some(Value::Derived(a * b, da.mul(db)))
            }
        }
    }

    fn divide(&self, left: Value, right: Value, divisor: Span) -> Option<Value> {
        let (b, db) = self.si(&right, divisor)?;
        if b == 0.0 {
            self.notes.add(
                self.fault(Code::DivideByZero, "this divides by zero", divisor, "this is zero")
                    .help("look where this value is given; a count or a share of zero is nearly always a slip"),
            );
            return None;
        }
        match left {
            Value::Number(_, a) if db.is_none() => Some(plain(a / b)),
            Value::Quantity(q) if db.is_none() => Some(self.scaled(&q, 1.0 / b)),
            left => {
                let (a, da) = self.si(&left, divisor)?;
                Some(Value::Derived(a / b, da.div(db)))
            }
        }
    }

    fn scaled(&self, quantity: &Quantity, factor: f64) -> Value {
        let si = if is_point(&quantity.unit) { quantity.si() } else { quantity.si_difference() };
        Value::Quantity(tidy(si * factor, &quantity.unit, !is_point(&quantity.unit)))
    }

    fn si(&self, value: &Value, span: Span) -> Option<(f64, Dimension)> {
        match value {
            Value::Number(_, a) => Some((*a, Dimension::NONE)),
            Value::Quantity(q) if is_point(&q.unit) => {
                self.notes.add(
                    self.fault(
                        Code::PointsAdded,
                        "a temperature point cannot be multiplied or divided",
                        span,
                        "in this product",
                    )
                    .help("use a difference, in K"),
                );
                None
            }
            Value::Quantity(q) => Some((q.si_difference(), q.unit.dimension)),
            Value::Derived(a, dimension) => Some((*a, *dimension)),
            Value::List(_) => None,
        }
    }
}

/// A number with one digit after the point, none where it is whole.
fn short(value: f64) -> String {
    format!("{value:.1}").trim_end_matches(".0").to_owned()
}

fn plain(value: f64) -> Value {
    Value::Number(format!("{value}"), value)
}

fn say(value: &Value) -> String {
    match value {
        Value::Quantity(q) => format!("`{q}`"),
        Value::Number(text, _) => format!("the plain number {text}"),
        Value::Derived(_, dimension) => named(*dimension).to_owned(),
        Value::List(_) => "a list".to_owned(),
    }
}

/// Whether a value in this unit is a point on a scale with a zero of its own: `40 °C`, not `2 K`.
pub(crate) fn is_point(unit: &Unit) -> bool {
    unit.offset != Ratio::ZERO
}

fn is_share(unit: &Unit) -> bool {
    unit.dimension.is_none() && unit.mark == Mark::None && !unit.text.is_empty()
}

fn suggestions(error: &UnitError) -> &[String] {
    match error {
        UnitError::Unknown { suggestions, .. } => suggestions,
        _ => &[],
    }
}

/// What a dimension is usually called.
fn named(dimension: Dimension) -> &'static str {
    Kind::ALL
        .iter()
        .find(|kind| kind.dimension() == dimension)
        .map_or("a product of unlike quantities", |kind| kind.name())
}

/// `40` becomes `40 L/min` where a flow is wanted.
fn with_unit(number: &str, kind: Kind) -> String {
    format!("{number} {}", kind.usual()).trim_end().to_owned()
}

/// A computed value in a unit, with up to seven significant digits and no more than it needs.
pub(crate) fn tidy(si: f64, unit: &Unit, difference: bool) -> Quantity {
    let value = if difference { unit.from_si_difference(si) } else { unit.from_si(si) };
    let magnitude = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    let decimals = (6.0 - magnitude).clamp(0.0, 12.0) as usize;
    let mut number = format!("{value:.decimals$}");
    if number.contains('.') {
        number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
    }
    let value = number.parse().unwrap_or(value);
    Quantity { number, value, unit: unit.clone() }
}
