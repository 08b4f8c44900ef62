//! Values that no bench can have: below absolute zero, less than nothing of a mass, a share above the whole.

use super::read::Context;
use super::value::is_point;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{Kind, Quantity, Ratio, Unit};
use crate::source::Span;
use crate::syntax::tree::{Part, Statement};

/// Statements whose values may lie on either side of zero, or whose kind is the author's own business.
const FREE: [&str; 4] = ["range", "read", "parameter", "tap height difference"];

/// Kinds of which there is never less than nothing.
fn is_amount(kind: Kind) -> bool {
    !matches!(
        kind,
        Kind::Temperature
            | Kind::TemperatureDifference
            | Kind::TemperatureRate
            | Kind::DifferentialPressure
            | Kind::GaugePressure
            | Kind::Number
    )
}

/// Where nothing at all is as wrong as less than nothing: in these statements, and for these kinds anywhere.
const ABOVE_ZERO: [(&str, &str); 18] = [
    ("bore", "bore"),
    ("bore", "length"),
    ("bore of the line", "bore"),
    ("line bore", "bore"),
    ("bottle", "volume"),
    ("fill", "volume"),
    ("supply", "volume"),
    ("supply", "mass"),
    ("can volume", "volume"),
    ("price", "volume"),
    ("price", "mass"),
    ("capacity", "mass"),
    ("set at", "pressure"),
    ("by-pass opens at", "pressure"),
    ("collapse", "pressure"),
    ("housing rated", "pressure"),
    ("batch at most", "amount"),
    ("resolution", "resolution"),
];

fn is_above_zero(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::KinematicViscosity
            | Kind::DynamicViscosity
            | Kind::Density
            | Kind::Power
            | Kind::HeatFlux
            | Kind::SurfaceTension
            | Kind::Area
            | Kind::SpecificHeat
            | Kind::AbsolutePressure
    )
}

/// Shares of one whole: what is held back or lost.
const SHARES: [&str; 4] = ["slip", "removes", "batch at most", "expect capture"];

/// One atmosphere in Pa: a vacuum is no deeper.
const ATMOSPHERE: f64 = 101_325.0;

/// The coldest temperature in K that anybody writes in kelvin for a bench; below it a difference was meant.
const COLDEST_IN_KELVIN: f64 = 200.0;

/// What liquids and powders weigh, kg/m³: lighter than any liquid at a bench, heavier than any metal (common practice, no source).
const DENSITIES: (f64, f64) = (400.0, 23_000.0);

impl Context<'_> {
    /// The quantity where it can exist in this part of the statement; else nothing, and the reason is reported.
    pub(crate) fn possible(
        &self,
        statement: &Statement,
        part: &str,
        quantity: Quantity,
        kind: Option<Kind>,
    ) -> Option<Quantity> {
        let Some(kind) = kind else { return Some(quantity) };
        let span = span_of(statement.part(part)).unwrap_or(statement.head);
        match self.fault(statement.key(), part, &quantity, kind, span) {
            Some(finding) => {
                self.notes.add(finding);
                None
            }
            None => Some(quantity),
        }
    }

    fn fault(&self, key: &str, part: &str, quantity: &Quantity, kind: Kind, span: Span) -> Option<Diagnostic> {
        let finding = |code, message: String, role: &str| Diagnostic::new(code, message).at(self.source, span, role);
        if kind == Kind::Temperature {
            return self.temperature(quantity, span);
        }
        let value = quantity.value;
        if kind == Kind::Fraction && SHARES.contains(&key) && quantity.si() > 1.0 + 1e-9 {
            return Some(
                finding(Code::ShareAboveWhole, format!("`{quantity}` is more than all of it"), "this share")
                    .help(slipped_point(quantity)),
            );
        }
        if kind == Kind::GaugePressure && quantity.si() < -ATMOSPHERE {
            return Some(
                finding(Code::CannotBe, format!("`{quantity}` is below a perfect vacuum"), "this pressure")
                    .help("a gauge shows no less than about -101 kPa; check the sign and the unit"),
            );
        }
        if key == "density"
            && kind == Kind::Density
            && value > 0.0
            && !(DENSITIES.0..=DENSITIES.1).contains(&quantity.si())
        {
            let message = format!("`{quantity}` is no density of a liquid or a powder");
            return Some(
                finding(Code::CannotBe, message, "this density").help(
                    "oils have 800 to 1000 kg/m³, which is 0.8 to 1.0 g/mL: check the unit and the decimal point",
                ),
            );
        }
        let strict = ABOVE_ZERO.contains(&(key, part)) || is_above_zero(kind);
        if value < 0.0 && !FREE.contains(&key) && (is_amount(kind) || strict) {
            let plain = quantity.number.trim_start_matches(['-', '−']);
            return Some(
                finding(
                    Code::CannotBe,
                    format!("`{quantity}` is below zero, and {} cannot be", kind.name()),
                    "this value",
                )
                .help(format!("leave the sign out if it is a slip: `{plain} {}`", quantity.unit)),
            );
        }
        (value == 0.0 && strict).then(|| {
            finding(Code::CannotBe, format!("`{quantity}` cannot be: {} is above zero", kind.name()), "this value")
                .help("write the value from its plate, its data sheet or its certificate")
        })
    }

    /// A temperature below absolute zero, or a difference in kelvin where a temperature belongs.
    fn temperature(&self, quantity: &Quantity, span: Span) -> Option<Diagnostic> {
        let kelvin = quantity.si();
        if kelvin < 0.0 {
            let zero = if is_fahrenheit(&quantity.unit) { "-459.67 °F" } else { "-273.15 °C" };
            return Some(
                Diagnostic::new(Code::CannotBe, format!("`{quantity}` is below absolute zero, {zero}"))
                    .at(self.source, span, "this temperature")
                    .help("check the number and its sign"),
            );
        }
        (!is_point(&quantity.unit) && kelvin < COLDEST_IN_KELVIN).then(|| {
            Diagnostic::new(
                Code::PointAsDifference,
                format!("`{quantity}` as a temperature is {:.0} °C", kelvin - 273.15),
            )
            .at(self.source, span, "a temperature is wanted here")
            .why("Kelvin counts from absolute zero: 40 K is -233 °C. As a difference, 40 K and 40 °C are the same.")
            .help(format!("write `{} °C`", quantity.number))
        })
    }
}

/// `980 %` may have been `98.0 %`.
fn slipped_point(quantity: &Quantity) -> String {
    let tenth = quantity.value / 10.0;
    if tenth <= 100.0 && quantity.unit.text == "%" {
        format!("a point may have slipped: `{tenth:.1} %`")
    } else {
        "a share is at most 100 %".to_owned()
    }
}

/// Whether a unit counts in degrees Fahrenheit.
pub(crate) fn is_fahrenheit(unit: &Unit) -> bool {
    unit.offset != Ratio::ZERO && (unit.to_si_difference(9.0) - 5.0).abs() < 1e-9
}

fn span_of(part: Option<&Part>) -> Option<Span> {
    match part? {
        Part::Value(expr) | Part::List(expr) => Some(expr.span),
        Part::Setting(setting) => Some(setting.target.as_ref().map_or(setting.span, |target| target.span)),
        Part::Bounds(bounds) => Some(bounds.span),
        _ => None,
    }
}

/// What may have been meant by a text that is no ISO date: the dates that exist, with the reading that gives them.
pub(crate) fn dates_meant(text: &str) -> String {
    use jiff::civil::Date;
    let general = "write year-month-day, such as 2026-09-14; day and month change places between countries".to_owned();
    let parts: Vec<&str> = text.split(['/', '.', '-']).collect();
    let [first, second, third] = parts.as_slice() else { return general };
    let number = |part: &str| part.parse::<i16>().ok();
    let (Some(a), Some(b), Some(c)) = (number(first), number(second), number(third)) else { return general };
    let date = |year: i16, month: i16, day: i16| {
        let year = if year < 100 { 2000 + year } else { year };
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    };
    if first.len() == 4 {
        // An ISO date that does not exist: a day too many.
        return match i8::try_from(b).ok().and_then(|month| Date::new(a, month, 1).ok()) {
            Some(month) => format!(
                "that month has {} days; write `{}` if its last day was meant",
                month.days_in_month(),
                month.last_of_month()
            ),
            None => format!("there are twelve months; {general}"),
        };
    }
    let (day_first, month_first) = (date(c, b, a), date(c, a, b));
    match (day_first, month_first) {
        (Some(one), Some(other)) if one != other && text.contains('/') => {
            format!("write `{one}` if the day stands first, `{other}` if the month does")
        }
        (Some(one), _) | (None, Some(one)) => format!("write `{one}`"),
        _ => general,
    }
}
