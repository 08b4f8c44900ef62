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

/// As [`sig`], without zeros at the end: for numbers that are known exactly.
pub(in super::super) fn trimmed(value: f64, digits: usize) -> String {
    let text = sig(value, digits);
    if text.contains('.') && !text.contains('^') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// As [`sig`], rounded down: what is claimed to be exceeded is not claimed too high.
pub(in super::super) fn sig_down(value: f64, digits: usize) -> String {
    let step = step_of(value, digits);
    sig((value / step + 1e-9).floor() * step, digits)
}

/// As [`sig`], rounded up: what is asked for is enough.
pub(in super::super) fn sig_up(value: f64, digits: usize) -> String {
    let step = step_of(value, digits);
    sig((value / step - 1e-9).ceil() * step, digits)
}

/// The step between two numbers with so many digits.
fn step_of(value: f64, digits: usize) -> f64 {
    let magnitude = value.abs().log10().floor() as i32;
    10_f64.powi(magnitude - i32::try_from(digits).unwrap_or(4) + 1)
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

/// A share that was typed, as a percentage.
pub(in super::super) fn share_said(share: f64) -> String {
    format!("{} %", trimmed(share * 100.0, 6))
}

/// Decimals of an efficiency in per cent that tell this ratio from infinity: β 75 wants one, β 1000 two.
pub(in super::super) fn nines(ratio: f64) -> usize {
    let passed = (100.0 / ratio).max(1e-9);
    usize::try_from((1 - passed.log10().floor() as i32).clamp(1, 9)).unwrap_or(1)
}

/// An efficiency from its ratio, in per cent, rounded down: it never claims more than was found.
pub(in super::super) fn efficiency(ratio: f64, decimals: usize) -> String {
    let scale = 10_f64.powi(i32::try_from(decimals).unwrap_or(1));
    format!("{:.decimals$} %", ((100.0 - 100.0 / ratio) * scale + 1e-6).floor() / scale)
}

fn tenth(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::{celsius, efficiency, kelvins, nines, sig, sig_down, sig_up, span, trimmed};

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
        assert_eq!((sig_down(86_987.0, 3), sig_up(0.0811, 2)), ("86900".to_owned(), "0.082".to_owned()));
        assert_eq!((sig_down(30.0, 2), sig_up(0.3, 2)), ("30".to_owned(), "0.30".to_owned()));
        assert_eq!((trimmed(6.0, 5), trimmed(600.0, 2)), ("6".to_owned(), "600".to_owned()));
        assert_eq!(
            (efficiency(75.0, nines(75.0)), efficiency(86_900.0, nines(86_900.0))),
            ("98.6 %".to_owned(), "99.9988 %".to_owned())
        );
        assert_eq!(span(0.5, 1.0, "kPa", 2), "0.50 to 1.0 kPa");
        assert_eq!(celsius(273.149), "0.0 °C");
        assert_eq!(kelvins(12.3), "12 K");
    }
}
