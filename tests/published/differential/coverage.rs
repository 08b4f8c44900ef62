//! The interval of a sum of errors against its exact distribution.

use super::{super::statistics_rows::confidence, compare};
use loopleaf::trade::uncertainty::{Shape, half_width};

/// Welch and Satterthwaite replace several t-distributed errors, or one beside normal ones, by one of fractional freedom. The worst
/// deviation from their true convolution over the cases, which have two degrees of freedom and more; half of the cases are within
/// 0.4 %, and all lie below the convolution.
const WELCH_SATTERTHWAITE: f64 = 0.36;

#[test]
pub(super) fn half_widths() {
    let half = |x: &[f64]| {
        let parts: Vec<(f64, Shape)> = x[1..]
            .chunks(3)
            .map(|part| match part {
                [0.0, u, _] => (*u, Shape::Normal),
                [1.0, u, _] => (*u, Shape::Rectangular),
                [_, u, freedom] => (*u, Shape::Student { freedom: *freedom }),
                _ => panic!("three numbers a part"),
            })
            .collect();
        vec![half_width(&parts, confidence(x[0]))]
    };
    compare("half width", 1e-4, 0.0, half);
    compare("half width by Welch and Satterthwaite", WELCH_SATTERTHWAITE, 0.0, half);
}
