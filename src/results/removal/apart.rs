//! Whether the pairs of bottles of a run say the same.

use crate::trade::distribution::chi_squared_quantile;

/// What a pair's bottle behind holds, beside its part of what came through in all pairs.
#[derive(Clone, Copy)]
pub(super) struct Against {
    /// Its place among all pairs.
    pub(super) pair: usize,
    /// Particles, less those of clean oil.
    pub(super) seen: f64,
    pub(super) expected: f64,
    /// By counting and by every doubt that is of this pair alone.
    pub(super) variance: f64,
}

impl Against {
    fn off(self) -> f64 {
        self.seen - self.expected
    }

    /// How far off in standard deviations, as a ratio: a bottle before with twice as much is as odd as one with half.
    fn far(self) -> f64 {
        (self.seen.max(0.5) / self.expected.max(0.5)).ln().abs() * self.expected / self.variance.sqrt()
    }
}

/// Pairs that differ by more than chance and every doubt let them.
pub(super) struct Apart {
    /// Their places among all pairs, that farthest off first.
    pub(super) order: Vec<usize>,
    /// What their scatter leaves open of the logarithm of what came through: one standard uncertainty, and its degrees of freedom.
    pub(super) scatter: f64,
    pub(super) freedom: f64,
}

/// χ² of the pairs at 99.9 %; `None` where they agree and nothing else speaks against them.
pub(super) fn apart(pairs: &[Against], known: bool) -> Option<Apart> {
    let (count, freedom) = (pairs.len() as f64, pairs.len() as f64 - 1.0);
    let squares: f64 = pairs.iter().map(|pair| pair.off().powi(2) / pair.variance).sum();
    if !known && squares <= chi_squared_quantile(0.999, freedom).ok()? {
        return None;
    }
    let mut order = pairs.to_vec();
    order.sort_by(|one, other| other.far().total_cmp(&one.far()));
    let off: f64 = pairs.iter().map(|pair| pair.off().powi(2)).sum();
    let seen: f64 = pairs.iter().map(|pair| pair.seen).sum();
    Some(Apart {
        order: order.iter().map(|pair| pair.pair).collect(),
        scatter: (off * count / freedom).sqrt() / seen,
        freedom,
    })
}
