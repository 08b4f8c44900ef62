//! The label of a bottle: short enough to write on glass, made from nothing but the run and the reading, with a check
//! character that notices a wrong or a swapped character before the bottle leaves the bench.

use sha2::{Digest, Sha256};

/// Digits and capitals without I, L, O and U, so that none is mistaken for another.
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// The label of the bottle that one reading of one run asks for, such as `R03-7KQ2M-C`.
pub fn bottle(run: &str, reading: &str) -> String {
    let digest = Sha256::digest(format!("bottle\n{run}\n{reading}").as_bytes());
    let word = digest.iter().take(4).fold(0_u32, |word, byte| (word << 8) | u32::from(*byte));
    let body: String = (0..5).map(|place| letter(word >> (5 * place))).collect();
    let stem = format!("{run}-{body}");
    let check = check_character(&stem);
    format!("{stem}-{check}")
}

/// Whether the last character of a label is the one that the others ask for.
pub fn is_whole(label: &str) -> bool {
    let label = label.trim();
    label.rsplit_once('-').is_some_and(|(stem, last)| {
        let mut characters = last.chars();
        characters.next().map(straighten) == Some(check_character(stem)) && characters.next().is_none()
    })
}

/// Whether two labels are the same for a person: capitals, blanks and look-alikes do not matter.
pub fn same(one: &str, other: &str) -> bool {
    let clean = |text: &str| -> String { text.chars().filter(|c| c.is_ascii_alphanumeric()).map(straighten).collect() };
    clean(one) == clean(other)
}

fn letter(index: u32) -> char {
    ALPHABET.get((index & 31) as usize).map_or('0', |byte| char::from(*byte))
}

/// The character that was meant: capital, and no look-alike.
fn straighten(character: char) -> char {
    match character.to_ascii_uppercase() {
        'I' | 'L' => '1',
        'O' => '0',
        'U' => 'V',
        other => other,
    }
}

/// A sum over the field of 32 elements (x⁵ + x² + 1), each character at its own power of x: one wrong character, and
/// two exchanged ones however far apart, always change it.
fn check_character(stem: &str) -> char {
    let sum = stem.chars().map(straighten).fold(0_u32, |sum, character| {
        let place = ALPHABET.iter().position(|known| char::from(*known) == character);
        match place.and_then(|place| u32::try_from(place).ok()) {
            Some(value) => times_x(sum) ^ value,
            None => sum,
        }
    });
    letter(times_x(sum))
}

fn times_x(element: u32) -> u32 {
    let doubled = element << 1;
    if doubled & 32 == 0 { doubled } else { doubled ^ 0b10_0101 }
}
