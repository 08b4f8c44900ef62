//! The order of runs: from a written seed, so that anyone can draw it again.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Shuffles by Fisher and Yates with the ChaCha8 stream of a seed. The stream and this procedure are part of what a seed
/// means; neither may change.
pub(crate) fn shuffle<T>(items: &mut [T], seed: u64) {
    let mut stream = ChaCha8Rng::seed_from_u64(seed);
    for last in (1..items.len()).rev() {
        items.swap(last, below(&mut stream, last + 1));
    }
}

/// A number below `limit`, each equally likely: draws that would favour the small ones are thrown away.
fn below(stream: &mut ChaCha8Rng, limit: usize) -> usize {
    let limit = limit as u64;
    let fair = u64::MAX - u64::MAX % limit;
    loop {
        let draw = stream.next_u64();
        if draw < fair {
            return (draw % limit) as usize;
        }
    }
}
