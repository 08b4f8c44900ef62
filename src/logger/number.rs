//! Numbers of a logger's file: the same bits as the standard reading, most of them without it.

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];

/// Longer than any number that a logger writes.
const LONGEST: usize = 64;

/// Reads a number, with blanks around it or not. `None` where the cell is empty or holds anything but a finite number.
///
/// A whole number below 2⁵³ times or over an exact power of ten is rounded once, so the result is the nearest double
/// (Clinger 1990); everything else goes to [`str::parse`].
pub fn number(cell: &[u8], comma: bool) -> Option<f64> {
    let cell = cell.trim_ascii();
    let (negative, digits) = match cell.split_first()? {
        (b'-', rest) => (true, rest),
        (b'+', rest) => (false, rest),
        _ => (false, cell),
    };
    let mark = if comma { b',' } else { b'.' };
    let (mut mantissa, mut decimals, mut any, mut fraction) = (0_u64, 0_usize, false, false);
    if digits.len() > 18 {
        return slow(cell, comma);
    }
    for byte in digits {
        match byte {
            b'0'..=b'9' => {
                mantissa = mantissa * 10 + u64::from(byte - b'0');
                decimals += usize::from(fraction);
                any = true;
            }
            _ if *byte == mark && !fraction => fraction = true,
            _ => return slow(cell, comma),
        }
    }
    if !any || mantissa > 1 << 53 {
        return slow(cell, comma);
    }
    let value = mantissa as f64 / POWERS.get(decimals)?;
    Some(if negative { -value } else { value })
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
