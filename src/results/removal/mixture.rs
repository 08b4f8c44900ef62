//! Particles from a size up are a mixture, whose classes are caught and so decay each in its own way.

use super::curve::Curve;
use super::share::{Counts, Sides, Tally, at};

/// What the ratio of a pair's mixture departs by from that of a single class, as a logarithm.
#[derive(Clone, Default)]
pub(super) struct Departure {
    pub(super) ln: f64,
    /// How far it follows ln D − ln U.
    pub(super) follows: f64,
    /// How far it moves when the counts of each class err by one standard deviation.
    pub(super) noise: Vec<f64>,
}

/// A size class: the share caught, how far it follows ln D − ln U, the standard deviation of that by counting, and what there
/// is before the filter, by pair.
struct Class {
    share: f64,
    follows: f64,
    counting: f64,
    before: Vec<f64>,
}

/// The shape of each pair that has counts at a place on both sides.
pub(super) fn shapes(pairs: &[Counts], clean: &Sides, place: usize) -> Vec<Departure> {
    let used: Vec<&Counts> =
        pairs.iter().filter(|pair| at(&pair.sides.up, place).and(at(&pair.sides.down, place)).is_some()).collect();
    let classes = classes(&used, clean, place);
    let shape = |nth: usize, pair: &Counts| {
        let Some((behind, before)) = pair.turnovers else { return Departure::default() };
        let ln = |err: &dyn Fn(usize, &Class) -> f64| {
            let shares = classes.iter().enumerate().map(|(place, class)| {
                let share = (class.share + err(place, class)).clamp(0.0, 1.0 - 1e-9);
                (share, class.before.get(nth).copied().unwrap_or(0.0) * (share * before).exp())
            });
            departs(&shares.collect::<Vec<_>>(), behind, before)
        };
        let here = ln(&|_, _| 0.0);
        let step = 0.05;
        let noise = classes
            .iter()
            .enumerate()
            .map(|(own, class)| ln(&|place, _| if place == own { class.follows * class.counting } else { 0.0 }) - here);
        Departure { ln: here, follows: (ln(&|_, class| class.follows * step) - here) / step, noise: noise.collect() }
    };
    used.iter().enumerate().map(|(nth, pair)| shape(nth, pair)).collect()
}

/// Of classes with their shares caught and their particles at the beginning of the pass.
fn departs(classes: &[(f64, f64)], behind: f64, before: f64) -> f64 {
    let total: f64 = classes.iter().map(|(_, n)| n).sum();
    if total <= 0.0 {
        return 0.0;
    }
    let mean = classes.iter().map(|(e, n)| e * n).sum::<f64>() / total;
    let passed: f64 = classes.iter().map(|(e, n)| (1.0 - e) * n * (-e * behind).exp()).sum::<f64>() / total;
    let left: f64 = classes.iter().map(|(e, n)| n * (-e * before).exp()).sum::<f64>() / total;
    let ln = (passed / left).ln() - (1.0 - mean).ln() - mean * (before - behind);
    if ln.is_finite() { ln.clamp(-0.7, 0.7) } else { 0.0 }
}

/// The classes from a place up, from the largest down: what is caught never rises where the size falls.
fn classes(used: &[&Counts], clean: &Sides, place: usize) -> Vec<Class> {
    let sizes = used.iter().map(|pair| pair.sides.up.len()).max().unwrap_or(0);
    let there =
        |size: &usize| used.iter().all(|pair| at(&pair.sides.up, *size).and(at(&pair.sides.down, *size)).is_some());
    let sizes: Vec<usize> = (place..sizes).filter(there).collect();
    let per = |side: &[Option<Tally>], size: usize| at(side, size).map_or(0.0, |t| t.count as f64 / t.volume);
    let volume = |side: &[Option<Tally>], size: usize| at(side, size).map_or(0.0, |t| t.volume);
    let later = |pair: &Counts| pair.turnovers.map_or(0.0, |(behind, before)| before - behind);
    let mut found: Vec<Class> = Vec::new();
    let mut most = 1.0 - 1e-6;
    for (nth, size) in sizes.iter().enumerate().rev() {
        let next = sizes.get(nth + 1);
        let class = |side: &[Option<Tally>]| per(side, *size) - next.map_or(0.0, |next| per(side, *next));
        let net = |side: &[Option<Tally>], ground: &[Option<Tally>]| (class(side) - class(ground)).max(0.0);
        // Variance by counting of a class's particles in a counted volume, those of clean oil with it.
        let variance = |side: &[Option<Tally>], ground: &[Option<Tally>]| {
            let own = volume(side, *size);
            let clean = volume(ground, *size);
            let taken = if clean > 0.0 { own * own / clean } else { 0.0 };
            (class(side) * own).max(0.0) + (class(ground) * taken).max(0.0)
        };
        let before: Vec<f64> = used.iter().map(|pair| net(&pair.sides.up, &clean.up)).collect();
        let (mut behind, mut doubt, mut seen, mut doubt_before) = (0.0, 0.0, 0.0, 0.0);
        for pair in used {
            behind += net(&pair.sides.down, &clean.down) * volume(&pair.sides.down, *size);
            doubt += variance(&pair.sides.down, &clean.down);
            seen += net(&pair.sides.up, &clean.up) * volume(&pair.sides.up, *size);
            doubt_before += variance(&pair.sides.up, &clean.up);
        }
        let terms = used.iter().zip(&before);
        let terms = terms.map(|(pair, before)| (before * volume(&pair.sides.down, *size), later(pair))).collect();
        let curve = Curve::new(terms);
        let (mut follows, mut counting) = (0.0, 0.0);
        if curve.total > 0.0 {
            let share = curve.solve((behind.max(0.3) / curve.total).ln()).unwrap_or(curve.top).clamp(0.0, 1.0 - 1e-9);
            // What lies above the class of the next size is taken to be as that.
            if share < most {
                follows = -(1.0 - share) / curve.slope(share).max(0.1);
                counting = (doubt.sqrt() / behind.max(1.0)).hypot(doubt_before.sqrt() / seen.max(1.0)).min(0.7);
            }
            most = share.min(most);
        }
        found.push(Class { share: most, follows, counting, before });
    }
    found
}
