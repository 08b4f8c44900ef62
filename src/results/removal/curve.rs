//! The ratio of counts as a function of the share caught, and back.

/// ln((1 − E) Σ w e^(E k)): what the ratio of counts tells of E.
pub(super) struct Curve {
    /// w (they add up to 1) and k.
    terms: Vec<(f64, f64)>,
    pub(super) total: f64,
    /// Where the curve is highest: the share meant lies above.
    pub(super) top: f64,
}

impl Curve {
    pub(super) fn new(terms: Vec<(f64, f64)>) -> Curve {
        let total: f64 = terms.iter().map(|(weight, _)| weight).sum();
        let terms = terms.into_iter().map(|(weight, later)| (weight / total.max(f64::MIN_POSITIVE), later)).collect();
        let mut curve = Curve { terms, total, top: -20.0 };
        let rises = |share: f64| (1.0 - share) * curve.later(share) > 1.0;
        if rises(-20.0) {
            let (mut low, mut high) = (-20.0, 1.0);
            for _ in 0..80 {
                let middle = f64::midpoint(low, high);
                if rises(middle) { low = middle } else { high = middle }
            }
            curve.top = f64::midpoint(low, high);
        }
        curve
    }

    /// The mean of k at a share.
    pub(super) fn later(&self, share: f64) -> f64 {
        let (sum, weighted) = self.terms.iter().fold((0.0, 0.0), |(sum, weighted), (weight, later)| {
            let own = weight * (share * later).exp();
            (sum + own, weighted + own * later)
        });
        if sum > 0.0 { weighted / sum } else { 0.0 }
    }

    fn at(&self, share: f64) -> f64 {
        let sum: f64 = self.terms.iter().map(|(weight, later)| weight * (share * later).exp()).sum();
        (1.0 - share).ln() + sum.ln()
    }

    /// Whether a smaller share that is zero or more may give the same ratio.
    pub(super) fn doubles(&self) -> bool {
        self.top > 0.0
    }

    /// Its slope over ln(1 − E).
    pub(super) fn slope(&self, share: f64) -> f64 {
        (1.0 - (1.0 - share) * self.later(share)).max(1e-3)
    }

    /// The larger share that gives a ratio; `None` where none does.
    pub(super) fn solve(&self, ln_ratio: f64) -> Option<f64> {
        if !ln_ratio.is_finite() || ln_ratio > self.at(self.top) {
            return None;
        }
        let (mut low, mut high) = (-60.0_f64, (1.0 - self.top).ln());
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            if self.at(-middle.exp_m1()) < ln_ratio { low = middle } else { high = middle }
        }
        Some(-f64::midpoint(low, high).exp_m1())
    }
}
