//! What a grade's limits leave open: the fewest and the most particles that a dust within them can hold.

use super::{DustError, known_size, number_per_share};
use crate::{
    quantity::si::{Length, Mass, MassDensity, Ratio},
    trade::{
        confidence::Interval,
        numeric::{above_zero, zero_or_more},
    },
};
use uom::si::{length::meter, mass::kilogram, mass_density::kilogram_per_cubic_meter, ratio::ratio};

/// The lowest and the highest volume share finer that a grade of dust allows at each of a row of sizes.
#[derive(Clone, Debug, PartialEq)]
pub struct DistributionLimits {
    /// Diameter in m, lowest and highest share finer; the last pair is 1.
    finer: Vec<(f64, f64, f64)>,
}

impl DistributionLimits {
    /// Limits from rows of size, lowest and highest share finer.
    ///
    /// Errors: fewer than two sizes, sizes that do not rise, limits that fall or lie the wrong way round, or a last size
    /// at which 100 % finer is not allowed.
    pub fn new(limits: &[(Length, Ratio, Ratio)]) -> Result<Self, DustError> {
        let mut finer = Vec::with_capacity(limits.len());
        let mut before = (0.0, 0.0, 0.0);
        for (line, (size, low, high)) in limits.iter().enumerate() {
            let point = (size.get::<meter>(), low.get::<ratio>(), high.get::<ratio>().min(1.0));
            above_zero("a size of the distribution (m)", point.0)?;
            let rises = point.0 > before.0 * (1.0 + 1e-9) && point.1 >= before.1 && point.2 >= before.2;
            if !(rises && point.1 <= point.2 && high.get::<ratio>() <= 1.0 + 1e-9) {
                return Err(DustError::NotADistribution { line: line + 1 });
            }
            finer.push(point);
            before = point;
        }
        let lines = finer.len();
        match finer.last_mut() {
            Some(last) if lines >= 2 && last.2 >= 1.0 - 1e-9 => (last.1, last.2) = (1.0, 1.0),
            _ => return Err(DustError::NotADistribution { line: lines }),
        }
        Ok(Self { finer })
    }

    /// The fewest and the most particles larger than a size that a mass of dust within the limits can hold, as spheres.
    ///
    /// N is linear in the shares finer, so its ends lie at ends of the limits: the most with the least dust below the size
    /// and as much as allowed just above it, the fewest the other way round, shares never falling with size. Between
    /// sizes the shares are log-linear, as in [`super::SizeDistribution`]. It says nothing of the counter's own error nor
    /// of particles that are no spheres. Domain as [`super::SizeDistribution::particles_above`]. Source: geometry; linear
    /// optimisation.
    pub fn particles_above(
        &self,
        size: Length,
        mass: Mass,
        particle_density: MassDensity,
    ) -> Result<Interval, DustError> {
        let m = zero_or_more("the mass of dust (kg)", mass.get::<kilogram>())?;
        self.of_amount(size, m, particle_density)
    }

    /// The fewest and the most particles larger than a size per m³ of oil that holds a level of dust within the limits. As
    /// [`Self::particles_above`].
    pub fn concentration_above(
        &self,
        size: Length,
        level: MassDensity,
        particle_density: MassDensity,
    ) -> Result<Interval, DustError> {
        let c = zero_or_more("the dust in the oil (kg/m³)", level.get::<kilogram_per_cubic_meter>())?;
        self.of_amount(size, c, particle_density)
    }

    fn of_amount(&self, size: Length, amount: f64, particle_density: MassDensity) -> Result<Interval, DustError> {
        let rho = above_zero("the particle density (kg/m³)", particle_density.get::<kilogram_per_cubic_meter>())?;
        let d = known_size(size, self.finer.first().map_or(0.0, |(finest, ..)| *finest))?;
        let terms = self.terms(d);
        let number = |shares: &dyn Fn(&Term) -> f64| terms.iter().map(|term| term.weight * shares(term)).sum::<f64>();
        let most = number(&|term| if term.weight < 0.0 { term.low } else { term.high });
        // Shares below a level are as high, those above as low as they may be; one of the limits is the best level.
        let at_level = |level: f64| number(&|term| level.max(term.low).min(term.high));
        let levels = terms.iter().flat_map(|term| [term.low, term.high]);
        let fewest = levels.map(at_level).fold(most, f64::min).max(0.0);
        Ok(Interval { low: fewest, high: most.max(0.0) }.scaled(amount / rho))
    }

    /// What one share finer adds to the number above a size per volume of dust.
    fn terms(&self, d: f64) -> Vec<Term> {
        let next = || self.finer.iter().skip(1).map(|(b, ..)| *b);
        let weights: Vec<f64> = self.finer.iter().zip(next()).map(|((a, ..), b)| number_per_share(*a, b, d)).collect();
        let below = std::iter::once(0.0).chain(weights.iter().copied());
        let above = weights.iter().copied().chain(std::iter::once(0.0));
        let term = |((below, above), (_, low, high)): ((f64, f64), &(f64, f64, f64))| Term {
            weight: below - above,
            low: *low,
            high: *high,
        };
        below.zip(above).zip(&self.finer).map(term).collect()
    }
}

struct Term {
    weight: f64,
    low: f64,
    high: f64,
}
