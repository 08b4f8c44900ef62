//! Numbers of a logger's file: the same bits as the standard reading, most of them without it.

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];

/// Longer than any number that a logger writes.
const LONGEST: usize = 64;

/// Digits that always fit below 2⁵³.
const DIGITS: usize = 15;

/// Reads a number, with blanks around it or not. `None` where the cell is empty or holds anything but a finite number.
///
/// A whole number below 2⁵³ over an exact power of ten is rounded once, so the result is the nearest double
/// (Clinger 1990); everything else goes to [`str::parse`].
pub fn number(cell: &[u8], comma: bool) -> Option<f64> {
    let cell = cell.trim_ascii();
    match decimal(cell, if comma { b',' } else { b'.' }) {
        Some((value, length)) if length == cell.len() => Some(value),
        _ => slow(cell, comma),
    }
}

/// The plain decimal at the beginning of a text, and how many bytes it takes. `None` where there is none, or it is too
/// long to be exact; what stands behind it is not looked at.
#[inline]
pub(super) fn decimal(text: &[u8], mark: u8) -> Option<(f64, usize)> {
    let negative = text.first() == Some(&b'-');
    let signed = usize::from(negative || text.first() == Some(&b'+'));
    let digits = text.get(signed..)?;
    let (mantissa, decimals, length) = match digits.first_chunk::<8>().and_then(|eight| short(*eight, mark)) {
        Some(found) => found,
        None => any_length(digits, mark)?,
    };
    let value = mantissa as f64 / POWERS.get(decimals)?;
    Some((if negative { -value } else { value }, signed + length))
}

/// A decimal that ends within eight bytes, all of them looked at together: its digits, how many of them are decimals,
/// its length.
///
/// A byte is a digit where exclusive-or with `0` leaves less than ten; the digits are then added up in pairs, fours and
/// eights, each pair of neighbours by one multiplication (Lemire 2021).
#[inline]
fn short(eight: [u8; 8], mark: u8) -> Option<(u64, usize, usize)> {
    const EACH: u64 = 0x0101_0101_0101_0101;
    let word = u64::from_le_bytes(eight) ^ (EACH * 0x30);
    let others = (((word & (EACH * 0x7f)) + EACH * 0x76) | word) & (EACH * 0x80);
    let first = others.trailing_zeros() / 8;
    if first == 8 {
        return None;
    }
    let (digits, count, decimals, length) = if (word >> (8 * first)) as u8 == mark ^ 0x30 {
        let rest = others & (others - 1);
        let end = rest.trailing_zeros() / 8;
        if end == 8 {
            return None;
        }
        let whole = word & !(u64::MAX << (8 * first));
        let part = (word >> 8) & !(u64::MAX << (8 * (end - 1))) & (u64::MAX << (8 * first));
        (whole | part, end - 1, end - 1 - first, end)
    } else {
        (word & !(u64::MAX << (8 * first)), first, 0, first)
    };
    if count == 0 {
        return None;
    }
    let aligned = digits << (64 - 8 * count);
    let pairs = aligned.wrapping_mul(10).wrapping_add(aligned >> 8);
    let upper = (pairs & 0x0000_00ff_0000_00ff).wrapping_mul(0x000f_4240_0000_0064);
    let lower = ((pairs >> 16) & 0x0000_00ff_0000_00ff).wrapping_mul(0x0000_2710_0000_0001);
    Some((upper.wrapping_add(lower) >> 32, decimals as usize, length as usize))
}

fn any_length(digits: &[u8], mark: u8) -> Option<(u64, usize, usize)> {
    let (mut mantissa, mut decimals, mut count, mut fraction, mut length) = (0_u64, 0_usize, 0_usize, false, 0);
    for byte in digits {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            mantissa = mantissa * 10 + u64::from(digit);
            count += 1;
            decimals += usize::from(fraction);
            if count > DIGITS {
                return None;
            }
        } else if *byte == mark && !fraction {
            fraction = true;
        } else {
            break;
        }
        length += 1;
    }
    (count > 0).then_some((mantissa, decimals, length))
}

fn slow(cell: &[u8], comma: bool) -> Option<f64> {
    let value: f64 = if comma {
        let mut point = [0_u8; LONGEST];
        let point = point.get_mut(..cell.len())?;
        for (to, from) in point.iter_mut().zip(cell) {
            // A point in a file with decimal commas is no decimal mark, and nobody has said that it groups thousands.
            *to = match from {
                b',' => b'.',
                b'.' => return None,
                other => *other,
            };
        }
        str::from_utf8(point).ok()?.parse().ok()?
    } else {
        str::from_utf8(cell).ok()?.parse().ok()?
    };
    value.is_finite().then_some(value)
}
