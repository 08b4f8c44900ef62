//! Numbers as a bench writes them.

/// A number with so many significant digits, without an exponent where a bench would write none. Zeros after the point
/// that carry a digit stay, so that columns agree.
pub(in super::super) fn sig(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { value.to_string() };
    }
    let wanted = i32::try_from(digits).unwrap_or(4);
    let magnitude = rounded_magnitude(value, wanted);
    if !(-7..9).contains(&magnitude) {
        let text = format!("{value:.*e}", digits.saturating_sub(1));
        return text.replacen('e', " × 10^", 1);
    }
    let decimals = usize::try_from((wanted - 1 - magnitude).max(0)).unwrap_or(0);
    let scale = 10_f64.powi((magnitude - wanted + 1).max(0));
    format!("{:.decimals$}", if scale > 1.0 { (value / scale).round() * scale } else { value })
}

/// The power of ten of the first digit, once rounded: 9.996 to three digits is 10.0.
fn rounded_magnitude(value: f64, digits: i32) -> i32 {
    let magnitude = value.abs().log10().floor() as i32;
    let step = 10_f64.powi(magnitude - digits + 1);
    if (value.abs() / step).round() * step >= 10_f64.powi(magnitude + 1) { magnitude + 1 } else { magnitude }
}

/// A number without what the arithmetic alone put behind its tenth digit, for machines.
pub(in super::super) fn tidy(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

/// `14.5 to 15.5 mm²/s`.
pub(in super::super) fn span(low: f64, high: f64, unit: &str, digits: usize) -> String {
    format!("{} to {} {unit}", sig(low, digits), sig(high, digits)).trim_end().to_owned()
}

/// A temperature in K as °C, to a tenth.
pub(in super::super) fn celsius(kelvin: f64) -> String {
    format!("{} °C", tenth(kelvin - 273.15))
}

/// A temperature in K on both scales.
pub(in super::super) fn both_scales(kelvin: f64) -> String {
    format!("{} °C ({} °F)", tenth(kelvin - 273.15), tenth((kelvin - 273.15) * 1.8 + 32.0))
}

/// A difference of temperatures.
pub(in super::super) fn kelvins(difference: f64) -> String {
    format!("{} K", if difference.abs() < 10.0 { sig(difference, 2) } else { format!("{difference:.0}") })
}

/// A share as a percentage, with so many significant digits.
pub(in super::super) fn percent(share: f64, digits: usize) -> String {
    format!("{} %", sig(share * 100.0, digits))
}

fn tenth(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::{celsius, kelvins, sig, span};

    #[test]
    fn numbers_have_the_digits_that_were_asked_for() {
        for (value, digits, text) in [
            (59.98427, 3, "60.0"),
            (9.996, 3, "10.0"),
            (0.00123456, 3, "0.00123"),
            (123456.0, 3, "123000"),
            (123456.0, 6, "123456"),
            (-4.26, 2, "-4.3"),
            (0.0, 3, "0"),
            (1.5e12, 3, "1.50 × 10^12"),
        ] {
            assert_eq!(sig(value, digits), text);
        }
        assert_eq!(span(0.5, 1.0, "kPa", 2), "0.50 to 1.0 kPa");
        assert_eq!(celsius(273.149), "0.0 °C");
        assert_eq!(kelvins(12.3), "12 K");
    }
}
