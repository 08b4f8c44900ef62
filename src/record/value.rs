//! What stands in a value cell. Read strictly: a thing that is not plainly a number is not made into one.

use serde::Serialize;

/// How a file writes its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DecimalMark {
    /// `12.7`
    #[default]
    Point,
    /// `12,7`, where the file declares it.
    Comma,
}

impl DecimalMark {
    /// The character itself.
    pub fn character(self) -> char {
        match self {
            DecimalMark::Point => '.',
            DecimalMark::Comma => ',',
        }
    }
}

/// A number as written: `12.70` has two decimals, `12.7` has one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Number {
    /// What it says.
    pub value: f64,
    /// Digits after the decimal mark.
    pub decimals: usize,
}

/// Which side of a limit a censored reading lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// `<`
    Below,
    /// `≤`
    AtMost,
    /// `>`
    Above,
    /// `≥`
    AtLeast,
}

/// A value cell, understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Value {
    /// Nothing is written.
    Empty,
    /// A plain number.
    Number(Number),
    /// Only a bound is known, as in `<0.5`. Never taken as the number itself.
    Censored(Side, Number),
    /// `ND`: not done, or not detected; the note says why.
    NotDone,
    /// `TNTC`: too numerous to count.
    TooNumerous,
    /// A number with something behind it, such as `8.7 psi`.
    WithUnit(Number, String),
    /// Anything else.
    Text(String),
}

impl Value {
    /// Reads a cell.
    pub fn parse(cell: &str, mark: DecimalMark) -> Value {
        let text = cell.trim();
        if text.is_empty() {
            return Value::Empty;
        }
        if text.eq_ignore_ascii_case("ND") {
            return Value::NotDone;
        }
        if text.eq_ignore_ascii_case("TNTC") {
            return Value::TooNumerous;
        }
        if let Some(number) = number(text, mark) {
            return Value::Number(number);
        }
        const SIDES: [(&str, Side); 6] = [
            ("<=", Side::AtMost),
            (">=", Side::AtLeast),
            ("≤", Side::AtMost),
            ("≥", Side::AtLeast),
            ("<", Side::Below),
            (">", Side::Above),
        ];
        for (sign, side) in SIDES {
            if let Some(bound) = text.strip_prefix(sign).and_then(|rest| number(rest.trim_start(), mark)) {
                return Value::Censored(side, bound);
            }
        }
        let head = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '−')))
            .unwrap_or(text.len());
        if let Some((front, back)) = text.split_at_checked(head)
            && let Some(number) = number(front, mark)
            && !back.trim().is_empty()
        {
            return Value::WithUnit(number, back.trim().to_owned());
        }
        Value::Text(text.to_owned())
    }

    /// The plain number, if it is one.
    pub fn number(&self) -> Option<Number> {
        match self {
            Value::Number(number) => Some(*number),
            _ => None,
        }
    }
}

/// Digits with at most one decimal mark and one sign before them; an exponent as laboratories print it (`1.2e4`).
/// No blanks, no second mark, no thousands separators: those are not read but asked about.
fn number(text: &str, mark: DecimalMark) -> Option<Number> {
    let (minus, digits) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (mantissa, exponent) = match digits.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => {
            let plain = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
            let small = !plain.is_empty() && plain.len() <= 2 && plain.bytes().all(|b| b.is_ascii_digit());
            (mantissa, small.then_some(exponent)?)
        }
        None => (digits, "0"),
    };
    let (whole, fraction) = mantissa.split_once(mark.character()).unwrap_or((mantissa, ""));
    let all_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() + fraction.len() == 0 || whole.len() + fraction.len() > 40 {
        return None;
    }
    if !all_digits(whole) || !all_digits(fraction) || mantissa.ends_with(mark.character()) {
        return None;
    }
    let plain = format!("{}{whole}.{fraction}0e{exponent}", if minus { "-" } else { "" });
    let value: f64 = plain.parse().ok()?;
    value.is_finite().then_some(Number { value, decimals: fraction.len() })
}

/// A number as a person would write it: no more decimals than asked for, no `-0`.
pub fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}
