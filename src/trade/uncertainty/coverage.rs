//! The interval of a sum of errors whose laws are known, without pretending that the sum is normal.

use serde::{Deserialize, Serialize};
use statrs::function::gamma::ln_gamma;

use crate::trade::confidence::Confidence;
use crate::trade::distribution::{normal_cdf, normal_quantile, student_quantile, student_two_sided};

/// The law of an error with a known standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    Normal,
    /// Scatter that is itself known from few readings.
    Student {
        freedom: f64,
    },
    /// Anywhere within ± √3 standard uncertainties alike: limits of an instrument.
    Rectangular,
}

/// Points of the grid on which the distribution of the sum is followed.
const POINTS: usize = 2049;

/// Next to the largest part a width of this share adds (w/s)²/6, less than 2e-7, to the half width.
const NOTHING: f64 = 1e-3;

/// Half the width of the symmetrical interval that holds a sum of independent errors with this confidence, in the unit of
/// the standard uncertainties.
///
/// Normal and t-distributed errors are taken together by Welch and Satterthwaite (JCGM 100:2008, G.4.1); rectangular ones are
/// convolved with them on a grid, F(x) = (1/2a) ∫ F over x ± a, which is what JCGM 101:2008 gets by drawing. Parts of zero
/// count for nothing; no part at all gives zero. Accurate to 1e-4 of the half width, but for Welch and Satterthwaite's own
/// approximation: the true convolution of several t-distributed errors is wider, by some per cent from about eight degrees of freedom on, and
/// by up to a third with two or three.
pub fn half_width(parts: &[(f64, Shape)], confidence: Confidence) -> f64 {
    // What is a millionth of the largest moves nothing, and would be lost in rounding where it is spread over a grid.
    let largest = parts.iter().map(|(standard, _)| *standard).filter(|s| s.is_finite()).fold(0.0, f64::max);
    let parts = || parts.iter().filter(move |(s, _)| *s > 1e-6 * largest && s.is_finite());
    let mut widths: Vec<f64> =
        parts().filter(|(_, shape)| *shape == Shape::Rectangular).map(|(s, _)| s * 3_f64.sqrt()).collect();
    let free = || parts().filter(|(_, shape)| *shape != Shape::Rectangular);
    let standard = free().fold(0.0_f64, |sum, (s, _)| sum.hypot(*s));
    let reciprocal: f64 = free()
        .map(|(s, shape)| match shape {
            Shape::Student { freedom } => (s / standard).powi(4) / freedom.max(1.0),
            _ => 0.0,
        })
        .sum();
    let p = 1.0 - confidence.tail();
    let quantile = if reciprocal > 1e-9 { student_quantile(p, 1.0 / reciprocal) } else { normal_quantile(p) };
    // A freedom of at least one and a probability below one are within the domain of both.
    let own = standard * quantile.unwrap_or(f64::INFINITY);
    let total: f64 = widths.iter().sum();
    match widths.as_slice() {
        [] => return own,
        [only] if standard == 0.0 => return only * confidence.probability(),
        _ => {}
    }
    if !(own + total).is_finite() {
        return own + total;
    }
    widths.sort_by(|one, other| other.total_cmp(one));
    // A width far below a cell of the grid moves nothing by more than a millionth, and would be lost in rounding.
    let least = NOTHING * widths.first().copied().unwrap_or(0.0).max(standard);
    widths.retain(|width| *width > least);
    let reach = own + 1.5 * total;
    let step = 2.0 * reach / (POINTS - 1) as f64;
    let at = |index: usize| index as f64 * step - reach;
    let mut below: Vec<f64> = if standard > 0.0 {
        distribution(standard, reciprocal, (0..POINTS).map(at).collect())
    } else {
        let widest = widths.remove(0);
        (0..POINTS).map(|index| ((at(index) + widest) / (2.0 * widest)).clamp(0.0, 1.0)).collect()
    };
    // The last one is needed only where it passes p.
    let last = widths.pop();
    for width in widths {
        below = Summed::new(below, step).widened(width);
    }
    let crossing = |index: usize, low: f64, high: f64| {
        at(index) + step * if high > low { ((p - low) / (high - low)).clamp(0.0, 1.0) } else { 1.0 }
    };
    match last {
        None => below
            .windows(2)
            .enumerate()
            .skip(POINTS / 2)
            .find_map(|(index, pair)| match pair {
                [low, high] if *high >= p => Some(crossing(index, *low, *high)),
                _ => None,
            })
            .unwrap_or(own + total),
        Some(width) => {
            let summed = Summed::new(below, step);
            // The first point at which the distribution reaches p.
            let (mut under, mut over) = (POINTS / 2, POINTS - 1);
            if summed.average(over, width) < p {
                return own + total;
            }
            while over - under > 1 {
                let middle = usize::midpoint(under, over);
                if summed.average(middle, width) < p { under = middle } else { over = middle }
            }
            crossing(under, summed.average(under, width), summed.average(over, width))
        }
    }
}

/// The distribution function of s·t at the points of an even grid about zero: by Simpson's rule over its density, or, where s is no
/// more than a few cells of the grid, point by point.
fn distribution(standard: f64, reciprocal_freedom: f64, at: Vec<f64>) -> Vec<f64> {
    let step = at.last().copied().unwrap_or(0.0) / (at.len() / 2).max(1) as f64;
    if step > standard / 4.0 {
        return at.iter().map(|x| point(x / standard, reciprocal_freedom)).collect();
    }
    let density = |x: f64| {
        let x = x / standard;
        if reciprocal_freedom > 1e-9 {
            let freedom = 1.0 / reciprocal_freedom;
            let constant =
                ln_gamma((freedom + 1.0) / 2.0) - ln_gamma(freedom / 2.0) - 0.5 * (freedom * std::f64::consts::PI).ln();
            (constant - (freedom + 1.0) / 2.0 * (x * x / freedom).ln_1p()).exp() / standard
        } else {
            (-x * x / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt() / standard
        }
    };
    let middle = at.len() / 2;
    let mut above = Vec::with_capacity(middle + 1);
    let mut sum = 0.5;
    above.push(sum);
    let mut before = density(0.0);
    for pair in at.get(middle..).unwrap_or_default().windows(2) {
        if let [from, to] = pair {
            let after = density(*to);
            sum += (to - from) / 6.0 * (before + 4.0 * density(f64::midpoint(*from, *to)) + after);
            before = after;
            above.push(sum.min(1.0));
        }
    }
    let under = above.iter().skip(1).rev().map(|high| 1.0 - high);
    under.chain(above.iter().copied()).collect()
}

/// The distribution function of t itself.
fn point(x: f64, reciprocal_freedom: f64) -> f64 {
    let beyond = match reciprocal_freedom > 1e-9 {
        true => student_two_sided(x, 1.0 / reciprocal_freedom).unwrap_or(0.0) / 2.0,
        false => normal_cdf(-x.abs()),
    };
    if x < 0.0 { beyond } else { 1.0 - beyond }
}

/// A distribution function on the grid with its integral.
struct Summed {
    below: Vec<f64>,
    area: Vec<f64>,
    step: f64,
}

impl Summed {
    fn new(below: Vec<f64>, step: f64) -> Summed {
        let mut area = Vec::with_capacity(below.len());
        let mut sum = 0.0;
        area.push(sum);
        for pair in below.windows(2) {
            if let [low, high] = pair {
                sum += step * (low + high) / 2.0;
                area.push(sum);
            }
        }
        Summed { below, area, step }
    }

    fn integral(&self, place: f64) -> f64 {
        let last = self.below.len().saturating_sub(1);
        if place <= 0.0 {
            return 0.0;
        }
        let beyond = place - last as f64;
        if beyond >= 0.0 {
            let (sum, end) = (self.area.last(), self.below.last());
            return sum.copied().unwrap_or(0.0) + beyond * self.step * end.copied().unwrap_or(1.0);
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the last index")]
        let whole = place as usize;
        let value = |index: usize, or: f64| self.below.get(index).copied().unwrap_or(or);
        let (low, high) = (value(whole, 0.0), value(whole + 1, 1.0));
        let part = place - whole as f64;
        self.area.get(whole).copied().unwrap_or(0.0) + self.step * (part * low + part * part * (high - low) / 2.0)
    }

    /// The distribution of the sum with an error anywhere within ± a width, at a point.
    fn average(&self, index: usize, width: f64) -> f64 {
        let (place, reach) = (index as f64, width / self.step);
        ((self.integral(place + reach) - self.integral(place - reach)) / (2.0 * width)).clamp(0.0, 1.0)
    }

    /// The same at every point: it is symmetrical about the middle one.
    fn widened(&self, width: f64) -> Vec<f64> {
        let above: Vec<f64> =
            (self.below.len() / 2..self.below.len()).map(|index| self.average(index, width)).collect();
        let under = above.iter().skip(1).rev().map(|high| 1.0 - high);
        under.chain(above.iter().copied()).collect()
    }
}
