//! The fingerprint of a plan: SHA-256 over its meaning.
//!
//! The plan is serialised without places in the text; what is left is what was meant: every number as written, unit,
//! tolerance, instrument, step and name. Comments, layout and file names are not in it.

use sha2::{Digest, Sha256};

use super::model::{Fingerprint, Plan};

/// Digits and letters that a tired eye keeps apart: no I, L, O, U, 0 or 1.
const ALPHABET: &[u8; 30] = b"23456789ABCDEFGHJKMNPQRSTVWXYZ";

pub(crate) fn seal(plan: &Plan) -> Fingerprint {
    // Serialising a plan cannot fail: it has string keys and plain data. Were it to, an empty text would be hashed and the
    // fingerprint would match no sheet.
    let meaning = serde_json::to_vec(plan).unwrap_or_default();
    let digest = Sha256::digest(&meaning);
    let full = digest.iter().map(|byte| format!("{byte:02x}")).collect();
    let mut number = digest.iter().take(8).fold(0_u64, |sum, byte| (sum << 8) | u64::from(*byte));
    let mut short = String::new();
    for _ in 0..7 {
        short.push(letter((number % 30) as usize));
        number /= 30;
    }
    short.push(check_character(&short));
    short.insert(4, '-');
    Fingerprint { full, short }
}

fn letter(value: usize) -> char {
    ALPHABET.get(value % ALPHABET.len()).map_or('?', |b| char::from(*b))
}

/// A check character over the letters of [`ALPHABET`]: position-weighted sum modulo 31, so that any single wrong character and
/// any swap of two neighbours shows (31 is prime and larger than any weight or difference). The rare sum of 30 is `=`.
pub fn check_character(code: &str) -> char {
    let value = |c: char| ALPHABET.iter().position(|b| char::from(*b) == c.to_ascii_uppercase());
    let sum: usize = code.chars().filter_map(value).enumerate().map(|(at, v)| (at % 30 + 1) * v).sum();
    match sum % 31 {
        30 => '=',
        rest => letter(rest),
    }
}
