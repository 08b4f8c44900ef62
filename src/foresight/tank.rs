//! The dust in the circuit by size class, as far as two runs on paper enclose it: one that cleans slowly and one that
//! cleans fast.
//!
//! In each, with constant flows over a stretch of time, dM/dt = feed − (Q E + Q_p E_p) M/V, whose closed form is
//! [`crate::trade::loop_balance`]'s; what leaves the tank is shared between specimen and polishing filter, so the dust is
//! conserved by construction.

use super::{Assumed, Span};
use crate::plan::Dust;
use crate::quantity::si::{Length, Mass, MassDensity, Ratio};
use crate::trade::dust::SizeDistribution;
use uom::si::{length::meter, mass::kilogram, mass_density::kilogram_per_cubic_meter, ratio::ratio};

/// A range of sizes that is tracked as one.
#[derive(Debug, Clone, Copy)]
pub struct Class {
    /// m: from this size to the next class's.
    pub from: f64,
    /// Single-pass efficiency of the specimen.
    pub specimen: Span,
    /// Of the polishing filter.
    pub polisher: Span,
}

/// A dust as the classes see it: for each class its share of the mass and its particles per kilogram of the whole dust.
#[derive(Debug, Clone)]
pub struct Powder {
    pub shares: Vec<f64>,
    pub numbers: Vec<f64>,
}

/// The classes of a test and the dusts that go into it.
#[derive(Debug, Clone)]
pub struct Grid {
    pub classes: Vec<Class>,
}

/// Density of quartz, kg/m³, for a dust that does not say its own. Source: handbooks of mineralogy (2650 ± 10).
const QUARTZ: f64 = 2650.0;

/// Sizes at which particles are usually counted, µm.
const COUNTED: [f64; 8] = [4.0, 6.0, 10.0, 14.0, 21.0, 25.0, 38.0, 70.0];

impl Grid {
    /// Classes from the usual counting sizes and those of the plan's laboratories (m).
    pub fn new(further: impl Iterator<Item = f64>, assumed: &Assumed<'_>, polisher: Option<(f64, f64)>) -> Self {
        let mut sizes: Vec<f64> = COUNTED.iter().map(|size| size * 1e-6).chain(further).filter(|s| *s > 0.0).collect();
        sizes.sort_by(f64::total_cmp);
        sizes.dedup_by(|a, b| *a / *b < 1.0 + 1e-6);
        let starts: Vec<f64> = std::iter::once(0.0).chain(sizes).collect();
        let class = |(index, from): (usize, &f64)| {
            let to = starts.get(index + 1).copied();
            // A class stands for its geometric middle; the finest and the coarsest for their known end.
            let size = match to {
                Some(to) if *from > 0.0 => (from * to).sqrt(),
                Some(to) => to * 0.5,
                None => *from,
            };
            let polisher = match polisher {
                Some((share, at)) if *from >= at * (1.0 - 1e-6) => Span::between(share, 1.0),
                Some((share, _)) => Span::between(0.0, share),
                None => Span::default(),
            };
            Class { from: *from, specimen: assumed.efficiency(size), polisher }
        };
        Self { classes: starts.iter().enumerate().map(class).collect() }
    }

    /// What a dust brings into each class; `None` in `numbers` where its sizes are not known.
    pub fn powder(&self, dust: &Dust) -> Powder {
        let Some(sizes) = distribution(dust) else {
            // Nothing known of its sizes: all of its mass stands in the class at 10 µm, and no particle can be predicted.
            let shares = self.classes.iter().map(|class| if is_at(class.from, 10e-6) { 1.0 } else { 0.0 }).collect();
            return Powder { shares, numbers: Vec::new() };
        };
        let density = dust.density.as_ref().map_or(QUARTZ, |density| density.value.si());
        let finer = |size: f64| sizes.finer_than(Length::new::<meter>(size)).map_or(0.0, |share| share.get::<ratio>());
        let above = |size: f64| {
            let density = MassDensity::new::<kilogram_per_cubic_meter>(density);
            sizes.particles_above(Length::new::<meter>(size), Mass::new::<kilogram>(1.0), density).unwrap_or(0.0)
        };
        let ends = self.classes.iter().skip(1).map(|class| Some(class.from)).chain([None]);
        let both = self.classes.iter().zip(ends).map(|(class, to)| {
            let (share_to, number_to) = to.map_or((1.0, 0.0), |to| (finer(to), above(to)));
            let (share_from, number_from) =
                if class.from > 0.0 { (finer(class.from), above(class.from)) } else { (0.0, number_to) };
            ((share_to - share_from).max(0.0), (number_from - number_to).max(0.0))
        });
        let (shares, numbers) = both.unzip();
        Powder { shares, numbers }
    }

    /// Particles from a size (m) up in a kilogram of a dust; `None` where its sizes are not known.
    pub fn per_mass(&self, powder: &Powder, size: f64) -> Option<f64> {
        let all = self.classes.iter().zip(&powder.numbers).filter(|(class, _)| class.from >= size * (1.0 - 1e-6));
        (!powder.numbers.is_empty()).then(|| all.map(|(_, number)| number).sum())
    }
}

/// The distribution of a dust, midway between its bounds; `None` where its sizes are not known.
pub fn distribution(dust: &Dust) -> Option<SizeDistribution> {
    let finer = dust.sizes.as_ref()?.value.finer.iter();
    let limits: Vec<(Length, Ratio, Ratio)> = finer
        .map(|(size, share)| {
            let (low, high) = (share.window.low.unwrap_or(0.0), share.window.high.unwrap_or(1.0));
            (Length::new::<meter>(size.si()), Ratio::new::<ratio>(low), Ratio::new::<ratio>(high))
        })
        .collect();
    SizeDistribution::midway(&limits).ok()
}

fn is_at(size: f64, at: f64) -> bool {
    (size / at - 1.0).abs() < 1e-6
}

/// One of the two runs on paper: for each class the dust in tank, specimen, polishing filter and drawn oil, kg.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Places {
    pub tank: Vec<f64>,
    pub specimen: Vec<f64>,
    pub polisher: Vec<f64>,
    pub drawn: Vec<f64>,
    /// kg in the tank since the last dose, that dose included; for what is left of it.
    last_dose: f64,
    /// What an injection still holds, kg, and how fast it feeds, kg/s.
    feed: (f64, f64),
}

/// The flows of a stretch of time in one of the two runs, m³/s and m³ and s.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    pub specimen: f64,
    pub polisher: f64,
    pub volume: f64,
    pub time: f64,
}

/// The dust of the circuit, between a slow and a fast run.
#[derive(Debug, Clone, Default)]
pub struct Tank {
    pub slow: Places,
    pub fast: Places,
    /// Particles per kilogram of each class, of the dust that was dosed last.
    numbers: Vec<f64>,
    /// Shares by class of that dust, for a feed.
    shares: Vec<f64>,
}

impl Places {
    fn clean(classes: usize) -> Self {
        let empty = vec![0.0; classes];
        Self { tank: empty.clone(), specimen: empty.clone(), polisher: empty.clone(), drawn: empty, ..Self::default() }
    }

    fn dose(&mut self, mass: f64, shares: &[f64]) {
        for (tank, share) in self.tank.iter_mut().zip(shares) {
            *tank += mass * share;
        }
        self.last_dose = self.tank.iter().sum();
    }

    fn flow(&mut self, grid: &Grid, stretch: &Stretch, fast: bool, shares: &[f64]) {
        if stretch.volume <= 0.0 || stretch.time <= 0.0 {
            return;
        }
        let (left, rate) = self.feed;
        let fed = (rate * stretch.time).min(left);
        let feeding = if rate > 0.0 { fed / rate } else { 0.0 };
        for (index, class) in grid.classes.iter().enumerate() {
            let end = |span: Span| if fast { span.high } else { span.low };
            let (by_specimen, by_polisher) =
                (stretch.specimen * end(class.specimen), stretch.polisher * end(class.polisher));
            let total = (by_specimen + by_polisher) / stretch.volume;
            let Some(tank) = self.tank.get_mut(index) else { continue };
            let share = shares.get(index).copied().unwrap_or(0.0);
            let before = *tank + fed * share;
            *tank = if total > 0.0 {
                // While fed towards the level where feed and removal balance, then alone.
                let balance = rate * share / total;
                let fed_to = balance + (*tank - balance) * (-total * feeding).exp();
                let fed_to = if rate > 0.0 { fed_to } else { *tank };
                fed_to * (-total * (stretch.time - feeding)).exp()
            } else {
                before
            };
            let gone = (before - *tank).max(0.0);
            let removal = by_specimen + by_polisher;
            if removal > 0.0 {
                add(&mut self.specimen, index, gone * by_specimen / removal);
                add(&mut self.polisher, index, gone * by_polisher / removal);
            }
        }
        self.feed = (left - fed, if left - fed > 0.0 { rate } else { 0.0 });
    }

    fn draw(&mut self, share: f64) {
        for index in 0..self.tank.len() {
            let Some(tank) = self.tank.get_mut(index) else { continue };
            let gone = *tank * share.clamp(0.0, 1.0);
            *tank -= gone;
            add(&mut self.drawn, index, gone);
        }
    }

    /// All dust of this run, kg; what an injector still holds included.
    pub fn all(&self) -> f64 {
        [&self.tank, &self.specimen, &self.polisher, &self.drawn].into_iter().flatten().sum::<f64>() + self.feed.0
    }
}

fn add(place: &mut [f64], index: usize, mass: f64) {
    if let Some(slot) = place.get_mut(index) {
        *slot += mass;
    }
}

fn sum(place: &[f64]) -> f64 {
    place.iter().sum()
}

impl Tank {
    pub fn clean(classes: usize) -> Self {
        let places = Places::clean(classes);
        Self { slow: places.clone(), fast: places, numbers: Vec::new(), shares: Vec::new() }
    }

    /// A dose mixed into the tank at once, kg.
    pub fn dose(&mut self, mass: f64, powder: &Powder) {
        self.numbers = per_kilogram(powder);
        self.shares.clone_from(&powder.shares);
        self.slow.dose(mass, &powder.shares);
        self.fast.dose(mass, &powder.shares);
    }

    /// A slurry that is fed from now on: its dust in kg and how much a second, kg/s.
    pub fn feed(&mut self, mass: f64, rate: f64, powder: &Powder) {
        self.numbers = per_kilogram(powder);
        self.shares.clone_from(&powder.shares);
        for places in [&mut self.slow, &mut self.fast] {
            places.feed = (places.feed.0 + mass, rate);
            places.last_dose = sum(&places.tank) + mass;
        }
    }

    /// A stretch of time, as the slow run and as the fast run sees it.
    pub fn flow(&mut self, grid: &Grid, slow: &Stretch, fast: &Stretch) {
        let shares = std::mem::take(&mut self.shares);
        self.slow.flow(grid, slow, false, &shares);
        self.fast.flow(grid, fast, true, &shares);
        self.shares = shares;
    }

    /// Oil drawn off, as a share of what is in the circuit.
    pub fn draw(&mut self, share: f64) {
        self.slow.draw(share);
        self.fast.draw(share);
    }

    /// Cleaned until counted clean: not more particles above 4 µm than this, 1/m³, in a volume.
    pub fn clean_to(&mut self, limit: f64, volume: f64, grid: &Grid) {
        for places in [&mut self.slow, &mut self.fast] {
            let now: f64 = counted(&places.tank, &self.numbers, grid, 4e-6) / volume.max(1e-9);
            if now <= limit {
                continue;
            }
            let keep = limit / now;
            for index in 0..places.tank.len() {
                let Some(tank) = places.tank.get_mut(index) else { continue };
                let gone = *tank * (1.0 - keep);
                *tank -= gone;
                add(&mut places.polisher, index, gone);
            }
        }
    }

    /// Fresh oil, or a flush: nothing of the dust stays in the tank.
    pub fn emptied(&mut self) {
        self.draw(1.0);
    }

    /// Another specimen: what the last one holds goes with it.
    pub fn specimen_off(&mut self) {
        for places in [&mut self.slow, &mut self.fast] {
            for index in 0..places.specimen.len() {
                let Some(held) = places.specimen.get_mut(index).map(std::mem::take) else { continue };
                add(&mut places.drawn, index, held);
            }
        }
    }

    /// kg in the tank, in the specimen, in the polishing filter.
    pub fn in_tank(&self) -> Span {
        Span::between(sum(&self.fast.tank), sum(&self.slow.tank))
    }

    pub fn in_specimen(&self) -> Span {
        Span::between(sum(&self.slow.specimen), sum(&self.fast.specimen))
    }

    pub fn in_polisher(&self) -> Span {
        Span::between(sum(&self.slow.polisher), sum(&self.fast.polisher))
    }

    /// Whether an injection may still be going in.
    pub fn feeding(&self) -> bool {
        self.slow.feed.0 > 0.0 || self.fast.feed.0 > 0.0
    }

    /// The share still in the tank of what was there when the last dose had gone in.
    pub fn remaining(&self) -> Option<Span> {
        let share = |places: &Places| (places.last_dose > 0.0).then(|| sum(&places.tank) / places.last_dose);
        Some(Span::between(share(&self.fast)?, share(&self.slow)?))
    }

    /// The same for the dust coarser than a size (m), which a filter takes out first.
    pub fn remaining_above(&self, size: f64, grid: &Grid, dosed: f64) -> Option<Span> {
        let start: f64 = grid
            .classes
            .iter()
            .zip(&self.shares)
            .filter(|(class, _)| class.from >= size * (1.0 - 1e-6))
            .map(|(_, share)| share * dosed)
            .sum();
        let now = |places: &Places| -> f64 {
            let held = grid.classes.iter().zip(&places.tank);
            held.filter(|(class, _)| class.from >= size * (1.0 - 1e-6)).map(|(_, mass)| mass).sum()
        };
        (start > 0.0).then(|| Span::between(now(&self.fast) / start, now(&self.slow) / start))
    }

    /// Particles above a size (m) in the whole tank, by number; `None` where the dust's sizes are not known.
    pub fn particles_above(&self, size: f64, grid: &Grid) -> Option<Span> {
        if self.numbers.is_empty() {
            return None;
        }
        let at = |places: &Places| counted(&places.tank, &self.numbers, grid, size);
        Some(Span::between(at(&self.fast), at(&self.slow)))
    }

    /// The same behind the specimen: what one pass lets through.
    pub fn particles_behind(&self, size: f64, grid: &Grid) -> Option<Span> {
        if self.numbers.is_empty() {
            return None;
        }
        let behind = |places: &Places, fast: bool| {
            let left = grid.classes.iter().zip(&places.tank).zip(&self.numbers);
            left.filter(|((class, _), _)| class.from >= size * (1.0 - 1e-6))
                .map(|((class, mass), number)| {
                    let caught = if fast { class.specimen.high } else { class.specimen.low };
                    mass * number * (1.0 - caught)
                })
                .sum::<f64>()
        };
        Some(Span::between(behind(&self.fast, true), behind(&self.slow, false)))
    }
}

/// Particles per kilogram of each class itself.
fn per_kilogram(powder: &Powder) -> Vec<f64> {
    let each = powder.numbers.iter().zip(&powder.shares);
    each.map(|(number, share)| if *share > 0.0 { number / share } else { 0.0 }).collect()
}

fn counted(masses: &[f64], numbers: &[f64], grid: &Grid, size: f64) -> f64 {
    let held = grid.classes.iter().zip(masses).zip(numbers);
    held.filter(|((class, _), _)| class.from >= size * (1.0 - 1e-6)).map(|((_, mass), number)| mass * number).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_dust_is_conserved_at_every_instant() {
        let class = |from, specimen| Class { from, specimen, polisher: Span::between(0.5, 0.98) };
        let grid = Grid { classes: vec![class(0.0, Span::between(0.1, 0.3)), class(10e-6, Span::between(0.9, 0.99))] };
        let powder = Powder { shares: vec![0.4, 0.6], numbers: vec![1e12, 1e9] };
        let mut tank = Tank::clean(2);
        let mut given = 0.0;
        for turn in 0..50 {
            tank.dose(1.5e-3, &powder);
            tank.feed(0.5e-3, 1e-5, &powder);
            given += 2e-3;
            for time in [0.0, 1e-3, 7.0, 40.0] {
                let stretch = Stretch {
                    specimen: 6e-4 * f64::from(turn % 3),
                    polisher: 5e-4 * f64::from(turn % 2),
                    volume: 0.03,
                    time,
                };
                tank.flow(&grid, &stretch, &Stretch { time: 2.0 * time, ..stretch });
                tank.draw(0.004);
                for places in [&tank.slow, &tank.fast] {
                    assert!((places.all() - given).abs() < 1e-12 * given, "{} of {given}", places.all());
                }
            }
        }
    }
}
