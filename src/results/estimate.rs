//! A result and how far it can be trusted.

use serde::Serialize;

use crate::trade::confidence::{Confidence, Interval};
use crate::trade::uncertainty::{Shape, half_width};

/// What can be said of a quantity. SI.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    Known(Estimate),
    /// Only a bound is known, one-sided at 95 %.
    AtLeast {
        bound: f64,
        why: String,
    },
    AtMost {
        bound: f64,
        why: String,
    },
    /// Nothing can be said, and why.
    Unsaid {
        why: String,
    },
}

impl Outcome {
    pub fn unsaid(why: impl Into<String>) -> Outcome {
        Outcome::Unsaid { why: why.into() }
    }

    pub fn known(&self) -> Option<&Estimate> {
        match self {
            Outcome::Known(estimate) => Some(estimate),
            _ => None,
        }
    }
}

/// A value, its 95 % interval, and where its doubt comes from. SI.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Estimate {
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard: f64,
    /// 95 %, two-sided.
    pub interval: Interval,
    /// Half of the interval over the standard uncertainty; of a lopsided interval the wider side.
    pub factor: f64,
    pub sources: Vec<Source>,
}

/// Where doubt comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    /// In words: `gauge dp-low`, `scatter about the curve`.
    pub name: String,
    /// What it does to the result when it errs by one standard uncertainty upwards; with a sign, for what is shared.
    pub contribution: f64,
    pub shape: Shape,
    /// Set where the same error stands in other results too, which then cancels in a difference: by what it is known.
    pub shared: Option<String>,
}

impl Source {
    /// Scatter, known from so many degrees of freedom.
    pub fn scatter(name: impl Into<String>, standard: f64, freedom: f64) -> Source {
        let shape = if freedom.is_finite() { Shape::Student { freedom } } else { Shape::Normal };
        Source { name: name.into(), contribution: standard, shape, shared: None }
    }

    /// An error anywhere within ± a half width.
    pub fn within(name: impl Into<String>, half_width: f64) -> Source {
        Source { name: name.into(), contribution: half_width / 3_f64.sqrt(), shape: Shape::Rectangular, shared: None }
    }

    /// A standard uncertainty with nothing known against a normal law.
    pub fn normal(name: impl Into<String>, standard: f64) -> Source {
        Source { name: name.into(), contribution: standard, shape: Shape::Normal, shared: None }
    }

    /// The same error in every result that names the same cause.
    #[must_use]
    pub fn shared(mut self, cause: impl Into<String>) -> Source {
        self.shared = Some(cause.into());
        self
    }
}

/// A bound as it is printed: rounded to the side where it still holds, and its decimals. Three significant digits; of a share in
/// per cent near the whole, two of what is missing to it.
pub(crate) fn rounded_bound(value: f64, per_cent: bool, upwards: bool) -> (f64, i32) {
    let near_whole = per_cent && (50.0..100.0).contains(&value);
    let telling = if near_whole { 100.0 - value } else { value.abs() };
    let power = if telling > 0.0 { telling.log10().floor() as i32 } else { 0 };
    let decimals = (if near_whole { 1 } else { 2 } - power).clamp(0, 9);
    let scale = 10_f64.powi(decimals);
    let (scaled, near) = (value * scale, (value * scale).round());
    let whole = if (scaled - near).abs() < 1e-6 * near.abs().max(1.0) {
        near
    } else if upwards {
        scaled.ceil()
    } else {
        scaled.floor()
    };
    (whole / scale, decimals)
}

impl Estimate {
    /// A value with independent sources of doubt. The interval is symmetrical and holds 95 % of their convolution.
    pub fn new(value: f64, sources: Vec<Source>) -> Estimate {
        let parts: Vec<(f64, Shape)> = sources.iter().map(|source| (source.contribution.abs(), source.shape)).collect();
        let standard = parts.iter().fold(0.0_f64, |sum, (contribution, _)| sum.hypot(*contribution));
        let half = half_width(&parts, Confidence::P95);
        let factor = if standard > 0.0 { half / standard } else { 0.0 };
        Estimate { value, standard, interval: Interval::about(value, half), factor, sources }
    }

    /// With an interval that comes from elsewhere, such as an exact one of counts.
    pub fn with_interval(value: f64, standard: f64, interval: Interval, sources: Vec<Source>) -> Estimate {
        let half = (interval.high - value).max(value - interval.low);
        let factor = if standard > 0.0 { half / standard } else { 0.0 };
        Estimate { value, standard, interval, factor, sources }
    }

    /// This less another: what they share cancels as far as it is alike in both.
    pub fn less(&self, other: &Estimate) -> Estimate {
        let mut sources: Vec<Source> = Vec::new();
        let mut taken = vec![false; other.sources.len()];
        for own in &self.sources {
            let twin = own.shared.as_ref().and_then(|cause| {
                other.sources.iter().position(|theirs| theirs.shared.as_ref() == Some(cause) && theirs.name == own.name)
            });
            let theirs = twin.and_then(|place| {
                if let Some(seen) = taken.get_mut(place) {
                    *seen = true;
                }
                other.sources.get(place)
            });
            let contribution = own.contribution - theirs.map_or(0.0, |theirs| theirs.contribution);
            sources.push(Source { contribution, ..own.clone() });
        }
        let rest = other.sources.iter().zip(&taken).filter(|(_, taken)| !**taken);
        sources.extend(rest.map(|(source, _)| Source { contribution: -source.contribution, ..source.clone() }));
        Estimate::new(self.value - other.value, sources)
    }

    /// The mean of several, each with the same weight: shared errors stay, others average out.
    pub fn mean(several: &[&Estimate]) -> Option<Estimate> {
        let count = several.len() as f64;
        let [first, rest @ ..] = several else { return None };
        if rest.is_empty() {
            return Some((*first).clone());
        }
        let mut sources: Vec<Source> = Vec::new();
        for source in several.iter().flat_map(|one| &one.sources) {
            let same = sources
                .iter_mut()
                .find(|known| known.name == source.name && known.shared.is_some() && known.shared == source.shared);
            match same {
                Some(known) => known.contribution += source.contribution / count,
                None => sources.push(Source { contribution: source.contribution / count, ..source.clone() }),
            }
        }
        Some(Estimate::new(several.iter().map(|one| one.value).sum::<f64>() / count, sources))
    }

    /// Multiplied by a number that is taken as exact.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Estimate {
        let sources = self.sources.iter();
        let sources =
            sources.map(|source| Source { contribution: source.contribution * factor, ..source.clone() }).collect();
        Estimate {
            value: self.value * factor,
            standard: self.standard * factor.abs(),
            interval: self.interval.scaled(factor),
            factor: self.factor,
            sources,
        }
    }
}
