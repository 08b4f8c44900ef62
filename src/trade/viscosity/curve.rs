//! Viscosity against temperature: w = w̄ − B (log10 T − x̄), T in kelvin, w as in [`super::walther`].
//!
//! Two measured points fix the line; more are fitted by least squares in w, as ASTM D341 does it. The line is kept about
//! its centre, where its two parameters are independent.

use super::{
    ICE_POINT, ViscosityError, interval, kelvins, mm2, temperature,
    walther::{Terms, double_log, from_double_log},
};
use crate::{
    quantity::si::{KinematicViscosity, Temperature, TemperatureCoefficient, TemperatureInterval},
    trade::numeric::{Unfit, zero_or_more},
};
use std::f64::consts::LN_10;
use uom::si::{temperature_coefficient::per_kelvin, temperature_interval::kelvin as kelvin_interval};

/// A measured viscosity at a temperature. A value from a data sheet may carry no uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    pub temperature: Temperature,
    pub viscosity: KinematicViscosity,
    /// Standard uncertainty; zero when none is stated.
    pub uncertainty: KinematicViscosity,
}

impl Point {
    /// A point taken at its word.
    pub fn nominal(temperature: Temperature, viscosity: KinematicViscosity) -> Self {
        Self { temperature, viscosity, uncertainty: KinematicViscosity::default() }
    }
}

/// Whether an answer lies between the measured temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reach {
    Measured,
    /// Colder than the coldest point, by so much.
    Colder(TemperatureInterval),
    /// Hotter than the hottest point, by so much.
    Hotter(TemperatureInterval),
}

impl Reach {
    /// How far outside the measured points, in K; zero between them.
    pub fn beyond(self) -> f64 {
        match self {
            Self::Measured => 0.0,
            Self::Colder(by) | Self::Hotter(by) => by.value,
        }
    }
}

/// An answer of the curve, and how far it was stretched for it. A polymer-thickened oil can be off by a factor of two
/// and a half 80 K below its coldest point, so the caller decides how far is too far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reached<T> {
    pub value: T,
    pub reach: Reach,
}

/// The viscosity–temperature line of one fluid (ASTM D341), valid from 0.21 to 2·10⁷ mm²/s.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    terms: Terms,
    centre: f64,
    level: f64,
    fall: f64,
    coldest: f64,
    hottest: f64,
    /// log10 T of each point less the centre, and the variance of its w.
    points: Vec<(f64, f64)>,
    scatter: Option<f64>,
}

impl Curve {
    /// The line through two points or the least-squares line of more.
    ///
    /// B = −Σ(x−x̄)(w−w̄)/Σ(x−x̄)², x = log10 T. Each point counts as uncertain by its stated uncertainty or by the
    /// scatter of the points about the line, whichever is larger.
    ///
    /// Errors: fewer than two points or all within 0.01 K; a viscosity outside the relation or no better than its
    /// uncertainty; viscosities that do not fall with temperature. Source: ASTM D341; the treatment of uncertainty is
    /// derived (JCGM 100).
    pub fn through(points: &[Point]) -> Result<Self, ViscosityError> {
        Self::through_with(Terms::default(), points)
    }

    /// As [`Self::through`], with fewer terms or the short form: to agree with someone else's calculation.
    pub fn through_with(terms: Terms, points: &[Point]) -> Result<Self, ViscosityError> {
        let mut measured = Vec::with_capacity(points.len());
        for point in points {
            let (w, slope) = double_log(point.viscosity, terms)?;
            let uncertainty = zero_or_more("the uncertainty of a viscosity (mm²/s)", mm2(point.uncertainty))?;
            if point.uncertainty >= point.viscosity {
                let must = "it is as large as the viscosity itself; check the value and its unit";
                return Err(Unfit { what: "the uncertainty of a viscosity (mm²/s)", value: uncertainty, must }.into());
            }
            measured.push((kelvins(point.temperature)?, w, slope * uncertainty / mm2(point.viscosity)));
        }
        let n = measured.len() as f64;
        let centre = measured.iter().map(|(t, ..)| t.log10()).sum::<f64>() / n;
        let level = measured.iter().map(|(_, w, _)| w).sum::<f64>() / n;
        let sxx: f64 = measured.iter().map(|(t, ..)| (t.log10() - centre).powi(2)).sum();
        let sxw: f64 = measured.iter().map(|(t, w, _)| (t.log10() - centre) * (w - level)).sum();
        let coldest = measured.iter().map(|(t, ..)| *t).fold(f64::INFINITY, f64::min);
        let hottest = measured.iter().map(|(t, ..)| *t).fold(0.0, f64::max);
        if measured.len() < 2 || hottest - coldest < 0.01 {
            return Err(ViscosityError::TooFewPoints { given: measured.len() });
        }
        let fall = -sxw / sxx;
        if !(fall.is_finite() && fall > 0.0) {
            return Err(ViscosityError::NotFalling);
        }
        let residual = |(t, w, _): &(f64, f64, f64)| w - level + fall * (t.log10() - centre);
        let scatter = (measured.len() > 2)
            .then(|| (measured.iter().map(|point| residual(point).powi(2)).sum::<f64>() / (n - 2.0)).sqrt());
        let variance = |u: f64| u.max(scatter.unwrap_or(0.0)).powi(2);
        let points = measured.iter().map(|(t, _, u)| (t.log10() - centre, variance(*u))).collect();
        Ok(Self { terms, centre, level, fall, coldest, hottest, points, scatter })
    }

    /// The low-viscosity terms the curve keeps.
    pub fn terms(&self) -> Terms {
        self.terms
    }

    /// A of log10 log10 Z = A − B log10 T.
    pub fn intercept(&self) -> f64 {
        self.level + self.fall * self.centre
    }

    /// B of log10 log10 Z = A − B log10 T; always above zero.
    pub fn slope(&self) -> f64 {
        self.fall
    }

    /// Standard deviation of the points about the line, in w; `None` for two points.
    pub fn scatter(&self) -> Option<f64> {
        self.scatter
    }

    /// The viscosity at a temperature.
    ///
    /// Errors: not a temperature; the curve leaves 0.21 to 2·10⁷ mm²/s there. Source: ASTM D341.
    pub fn viscosity_at(&self, at: Temperature) -> Result<Reached<KinematicViscosity>, ViscosityError> {
        let t = kelvins(at)?;
        let lowest = self.terms.lowest_mm2();
        let value = from_double_log(self.level - self.fall * (t.log10() - self.centre), self.terms)
            .ok_or(ViscosityError::CurveLeavesRelation { celsius: t - ICE_POINT, lowest })?;
        Ok(Reached { value, reach: self.reach(t) })
    }

    /// The temperature at which the fluid has a viscosity: log10 T = x̄ + (w̄ − w)/B.
    ///
    /// Errors: the viscosity lies outside the relation, or the line is so flat that no temperature gives it.
    /// Source: ASTM D341.
    pub fn temperature_for(&self, viscosity: KinematicViscosity) -> Result<Reached<Temperature>, ViscosityError> {
        let (w, _) = double_log(viscosity, self.terms)?;
        let t = 10_f64.powf(self.centre + (self.level - w) / self.fall);
        kelvins(temperature(t))?;
        Ok(Reached { value: temperature(t), reach: self.reach(t) })
    }

    /// d ln ν/dT at a temperature: the relative change of viscosity per kelvin, below zero.
    ///
    /// d ln ν/dT = −B/(T ln 10) ÷ dw/d ln ν. Errors as [`Self::viscosity_at`]. Derived from ASTM D341.
    pub fn sensitivity_at(&self, at: Temperature) -> Result<TemperatureCoefficient, ViscosityError> {
        let (_, slope) = double_log(self.viscosity_at(at)?.value, self.terms)?;
        let t = kelvins(at)?;
        Ok(TemperatureCoefficient::new::<per_kelvin>(-self.fall / (t * LN_10 * slope)))
    }

    /// Standard uncertainty of the viscosity at a temperature known to `temperature_uncertainty`.
    ///
    /// u²(w) = Σ cᵢ² vᵢ + (B u(T)/(T ln 10))², cᵢ the weight of point i in the line at T, vᵢ the variance of its w; then
    /// u(ν) = ν u(w)/(dw/d ln ν). First order (JCGM 100); points independent of one another.
    pub fn viscosity_uncertainty(
        &self,
        at: Temperature,
        temperature_uncertainty: TemperatureInterval,
    ) -> Result<KinematicViscosity, ViscosityError> {
        let viscosity = self.viscosity_at(at)?.value;
        let (_, slope) = double_log(viscosity, self.terms)?;
        let t = kelvins(at)?;
        let u_t =
            zero_or_more("the uncertainty of the temperature (K)", temperature_uncertainty.get::<kelvin_interval>())?;
        let variance = self.line_variance(t) + (self.fall * u_t / (t * LN_10)).powi(2);
        Ok(viscosity * (variance.sqrt() / slope))
    }

    /// Standard uncertainty of the temperature that gives a viscosity known to `viscosity_uncertainty`.
    ///
    /// u²(T) = (T ln 10/B)² (Σ cᵢ² vᵢ + u²(w)). First order (JCGM 100).
    pub fn temperature_uncertainty(
        &self,
        viscosity: KinematicViscosity,
        viscosity_uncertainty: KinematicViscosity,
    ) -> Result<TemperatureInterval, ViscosityError> {
        let t = kelvins(self.temperature_for(viscosity)?.value)?;
        let (_, slope) = double_log(viscosity, self.terms)?;
        let u = zero_or_more("the uncertainty of the viscosity (mm²/s)", mm2(viscosity_uncertainty))?;
        let variance = self.line_variance(t) + (slope * u / mm2(viscosity)).powi(2);
        Ok(interval(t * LN_10 / self.fall * variance.sqrt()))
    }

    /// Variance of w on the line at a temperature: the line is a weighted sum of the points' w.
    fn line_variance(&self, t: f64) -> f64 {
        let n = self.points.len() as f64;
        let sxx: f64 = self.points.iter().map(|(x, _)| x * x).sum();
        let at = t.log10() - self.centre;
        self.points.iter().map(|(x, variance)| (1.0 / n + at * x / sxx).powi(2) * variance).sum()
    }

    fn reach(&self, t: f64) -> Reach {
        // A measured point asked for again may come back a bit off through m²/s.
        let slack = 1e-9 * t;
        if t < self.coldest - slack {
            Reach::Colder(interval(self.coldest - t))
        } else if t > self.hottest + slack {
            Reach::Hotter(interval(t - self.hottest))
        } else {
            Reach::Measured
        }
    }
}
