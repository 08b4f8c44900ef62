//! Chance from a written seed: the same seed, the same record.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use sha2::{Digest, Sha256};

/// A stream of chance.
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    /// From a seed and a name, so that every run of a campaign has its own.
    pub(super) fn new(seed: u64, name: &str) -> Chance {
        let digest = Sha256::digest(format!("{seed}\n{name}").as_bytes());
        let mut key = [0; 32];
        for (slot, byte) in key.iter_mut().zip(digest.iter()) {
            *slot = *byte;
        }
        Chance(ChaCha8Rng::from_seed(key))
    }

    /// Evenly from 0 to 1, 1 left out.
    pub(super) fn unit(&mut self) -> f64 {
        f64::from(self.0.next_u32()) / (f64::from(u32::MAX) + 1.0)
    }

    /// Evenly between two values.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Scatter with standard deviation 1, never beyond 3.5: twelve even numbers added up give nearly a normal one.
    pub(super) fn scatter(&mut self) -> f64 {
        let sum: f64 = (0..12).map(|_| self.unit()).sum();
        (sum - 6.0).clamp(-3.5, 3.5)
    }

    /// One of several.
    pub(super) fn pick<'a, T>(&mut self, among: &'a [T]) -> Option<&'a T> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index below the length")]
        #[expect(clippy::cast_precision_loss, reason = "a handful")]
        let index = (self.unit() * among.len() as f64) as usize;
        among.get(index)
    }
}
