//! Viscosity index: how little an oil thins between 40 and 100 °C, on a scale set by two old reference oils.
//!
//! ASTM D2270 / ISO 2909, Y = KV100 and U = KV40 in mm²/s:
//!
//! ```text
//! L, H    Y ≤ 70: table 1, linear between its nodes;  Y > 70: L = 0.8353 Y² + 14.67 Y − 216,  H = 0.1684 Y² + 11.85 Y − 97
//! U ≥ H   VI = 100 (L − U)/(L − H)                                        (procedure A)
//! U < H   N = (log10 H − log10 U)/log10 Y,  VI = (10ᴺ − 1)/0.00715 + 100  (procedure B)
//! ```
//!
//! The standard reports the nearest whole number; that is left to the caller.

use super::{ViscosityError, from_mm2, mm2};
use crate::{
    quantity::si::KinematicViscosity,
    trade::numeric::{Unfit, zero_or_more},
};
use std::sync::LazyLock;

/// One line of table 1.
struct Node {
    kv100: f64,
    l: f64,
    h: f64,
}

static TABLE_1: LazyLock<Vec<Node>> = LazyLock::new(|| {
    let text = include_str!("../data/viscosity-index-table-1.csv");
    let node = |line: &str| {
        let mut cells = line.split(',').map(|cell| cell.trim().parse().ok());
        Some(Node { kv100: cells.next()??, l: cells.next()??, h: cells.next()?? })
    };
    text.lines().filter_map(node).collect()
});

const LOWEST: f64 = 2.0;
/// The highest KV100 that any class of oil reaches; the quadratics were not made for more.
const HIGHEST: f64 = 2000.0;

/// Viscosity index from the viscosities at 40 and 100 °C (dimensionless, not rounded).
///
/// Domain: KV100 from 2 mm²/s (below it the index is not defined) to 2000 mm²/s, KV40 above KV100.
/// Source: ASTM D2270, ISO 2909.
pub fn viscosity_index(at_40: KinematicViscosity, at_100: KinematicViscosity) -> Result<f64, ViscosityError> {
    let (u, y) = (mm2(at_40), mm2(at_100));
    let (l, h) = basic_values(y)?;
    if !(u > y && u.is_finite()) {
        let must = "at 40 °C an oil is thicker than at 100 °C; check whether the two were swapped";
        return Err(Unfit { what: "the viscosity at 40 °C (mm²/s)", value: u, must }.into());
    }
    let found = index(u, y, l, h);
    if !found.is_finite() {
        return Err(Unfit {
            what: "the viscosity at 40 °C (mm²/s)",
            value: u,
            must: "no oil is so thick; check its unit",
        }
        .into());
    }
    Ok(found)
}

/// Standard uncertainty of the index from those of both viscosities (independent), by central differences.
///
/// First order (JCGM 100). Errors as [`viscosity_index`], also when an uncertainty reaches outside its domain.
pub fn viscosity_index_uncertainty(
    at_40: (KinematicViscosity, KinematicViscosity),
    at_100: (KinematicViscosity, KinematicViscosity),
) -> Result<f64, ViscosityError> {
    let ((u, du), (y, dy)) = (at_40, at_100);
    for uncertainty in [du, dy] {
        zero_or_more("the uncertainty of a viscosity (mm²/s)", mm2(uncertainty))?;
    }
    let from_40 = viscosity_index(u + du, y)? - viscosity_index(u - du, y)?;
    let from_100 = viscosity_index(u, y + dy)? - viscosity_index(u, y - dy)?;
    Ok(from_40.hypot(from_100) / 2.0)
}

/// The viscosity at 40 °C of an oil whose data sheet gives KV100 and the index only: the relation above, solved for U.
///
/// Domain: KV100 as [`viscosity_index`]; an index for which the oil is thicker at 40 °C than at 100 °C.
/// Source: ASTM D2270, ISO 2909, inverted. A sheet's whole-number index moves KV40 by up to about 0.5 %.
pub fn viscosity_at_40_from_index(
    at_100: KinematicViscosity,
    index: f64,
) -> Result<KinematicViscosity, ViscosityError> {
    let y = mm2(at_100);
    let (l, h) = basic_values(y)?;
    let u = if index <= 100.0 {
        l - index * (l - h) / 100.0
    } else {
        h / y.powf(((index - 100.0) * 0.00715 + 1.0).log10())
    };
    if u.is_finite() && u > y {
        Ok(from_mm2(u))
    } else {
        let must = "no oil with this viscosity at 100 °C has such an index";
        Err(Unfit { what: "the viscosity index", value: index, must }.into())
    }
}

fn index(u: f64, y: f64, l: f64, h: f64) -> f64 {
    if u >= h {
        100.0 * (l - u) / (l - h)
    } else {
        let n = (h.log10() - u.log10()) / y.log10();
        (10_f64.powf(n) - 1.0) / 0.00715 + 100.0
    }
}

/// L and H for a viscosity at 100 °C.
fn basic_values(y: f64) -> Result<(f64, f64), ViscosityError> {
    let outside = Unfit {
        what: "the viscosity at 100 °C (mm²/s)",
        value: y,
        must: "the viscosity index is defined from 2 mm²/s at 100 °C (and used up to 2000)",
    };
    // 2 and 70 mm²/s survive their journey through m²/s.
    let y = if (y - LOWEST).abs() < 1e-12 { LOWEST } else { y };
    if !(LOWEST..=HIGHEST).contains(&y) {
        return Err(outside.into());
    }
    if y > 70.0 + 1e-12 {
        return Ok((0.8353 * y * y + 14.67 * y - 216.0, 0.1684 * y * y + 11.85 * y - 97.0));
    }
    let above = TABLE_1.partition_point(|node| node.kv100 < y).clamp(1, TABLE_1.len().saturating_sub(1).max(1));
    match (TABLE_1.get(above - 1), TABLE_1.get(above)) {
        (Some(a), Some(b)) => {
            let part = (y - a.kv100) / (b.kv100 - a.kv100);
            Ok((a.l + part * (b.l - a.l), a.h + part * (b.h - a.h)))
        }
        _ => Err(outside.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::TABLE_1;

    #[test]
    fn table_1_has_311_rising_nodes() {
        assert_eq!(TABLE_1.len(), 311);
        assert!(TABLE_1.windows(2).all(|pair| matches!(pair, [a, b] if a.kv100 < b.kv100 && a.l < b.l && a.h < b.h)));
    }
}
