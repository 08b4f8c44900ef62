//! From numbers to places on the paper, and the numbers that an axis is marked with.

/// An axis from one number to another over a stretch of paper.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    log: bool,
}

impl Scale {
    /// From zero to a round number above the largest.
    pub(crate) fn linear(largest: f64, from: f64, to: f64) -> Scale {
        let step = step(largest.max(1e-30));
        let high = (largest.max(1e-30) / step - 1e-9).ceil() * step;
        Scale { low: 0.0, high, from, to, log: false }
    }

    /// Between round numbers around two, where zero has no meaning or lies far away.
    pub(crate) fn between(smallest: f64, largest: f64, from: f64, to: f64) -> Scale {
        let width = (largest - smallest).max(1e-9 * largest.abs()).max(1e-30);
        let step = step(width);
        let (low, high) = ((smallest / step + 1e-9).floor() * step, (largest / step - 1e-9).ceil() * step);
        Scale { low, high: high.max(low + step), from, to, log: false }
    }

    /// Two numbers above zero on a scale of ratios, as they are.
    pub(crate) fn ratios(smallest: f64, largest: f64, from: f64, to: f64) -> Scale {
        Scale { low: smallest.max(1e-12), high: largest.max(smallest.max(1e-12) * 1.5), from, to, log: true }
    }

    /// Whole decades around two numbers above zero.
    pub(crate) fn decades(smallest: f64, largest: f64, from: f64, to: f64) -> Scale {
        let low = 10_f64.powf(smallest.max(1e-12).log10().floor());
        let high = 10_f64.powf(largest.max(low * 10.0).log10().ceil());
        Scale { low, high, from, to, log: true }
    }

    pub(crate) fn at(&self, value: f64) -> f64 {
        let share = if self.log {
            (value.max(self.low) / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.from + share.clamp(0.0, 1.0) * (self.to - self.from)
    }

    pub(crate) fn holds(&self, value: f64) -> bool {
        value >= self.low && value <= self.high * (1.0 + 1e-9)
    }

    /// The marked numbers and how they are written.
    pub(crate) fn marks(&self) -> Vec<(f64, String)> {
        if self.log {
            let decades = (self.high / self.low).log10().round() as i32;
            let each = (0..=decades).map(|power| self.low * 10_f64.powi(power));
            return each.map(|value| (value, decade(value))).collect();
        }
        let step = step(self.high - self.low);
        let count = ((self.high - self.low) / step).round() as i32;
        let decimals = usize::try_from(-(step.log10().floor() as i32)).unwrap_or(0);
        // Never "-0".
        let each = (0..=count).map(|index| self.low + f64::from(index) * step);
        let each = each.map(|value| if value.abs() < step / 1e6 { 0.0 } else { value });
        each.map(|value| (value, format!("{value:.decimals$}").replace('-', "−"))).collect()
    }
}

fn decade(value: f64) -> String {
    let power = value.log10().round() as i32;
    match power {
        -2..=4 => {
            let decimals = usize::try_from(-power).unwrap_or(0);
            format!("{value:.decimals$}")
        }
        _ => {
            let power = power.to_string();
            let raised = power.chars().map(|digit| match digit {
                '-' => '⁻',
                '0' => '⁰',
                '1' => '¹',
                '2' => '²',
                '3' => '³',
                digit => char::from_u32('⁴' as u32 + digit as u32 - '4' as u32).unwrap_or(digit),
            });
            format!("10{}", raised.collect::<String>())
        }
    }
}

/// A round step that marks an axis four to nine times.
fn step(largest: f64) -> f64 {
    let rough = largest / 5.0;
    let power = 10_f64.powf(rough.log10().floor());
    let lead = rough / power;
    let round = if lead < 1.5 {
        1.0
    } else if lead < 3.5 {
        2.0
    } else if lead < 7.5 {
        5.0
    } else {
        10.0
    };
    round * power
}
