//! Fits and comparisons.

use super::{super::statistics_rows::confidence, compare};
use loopleaf::trade::{
    comparison::{Difference, groups, holm_adjusted, least_significant_difference, power, smallest_difference},
    confidence::Confidence,
    regression::{line, line_through_origin, multiple_through_origin},
};

#[test]
pub(super) fn fits() {
    compare("straight lines", 1e-10, 1e-3, |x| {
        let (x0, y) = x[1..].split_at(x.len() / 2);
        let (whole, origin) = (line(x0, y).unwrap(), line_through_origin(x0, y).unwrap());
        let cosines: Vec<f64> = x0.iter().map(|v| v.cos()).collect();
        let plane = multiple_through_origin(&[x0, &cosines], y).unwrap();
        let far = whole.extrapolate(&[x[0]]).unwrap();
        let reading = far.reading_interval(Confidence::P95).unwrap();
        [
            &whole.coefficients[..],
            &whole.standard_errors,
            &origin.coefficients,
            &origin.standard_errors,
            &plane.coefficients,
            &plane.standard_errors,
            &[far.value, far.standard_error, reading.low, reading.high],
        ]
        .concat()
    });
}

#[test]
pub(super) fn comparisons() {
    compare("holm", 1e-13, 1e-9, |x| holm_adjusted(x).unwrap());
    compare("least significant difference", 1e-9, 0.0, |x| {
        vec![least_significant_difference(x[0], x[1], (x[2] as usize, x[3] as usize), confidence(x[4])).unwrap()]
    });
    compare("power of an anova", 1e-8, 1e-2, |x| vec![power(x[0], 2, x[1] as usize, confidence(x[2])).unwrap()]);
    // The library stops its search at about six digits.
    compare("smallest difference", 1e-5, 0.0, |x| {
        vec![smallest_difference(x[2], 2, x[0] as usize, Confidence::P95, x[1]).unwrap()]
    });
    compare("ties", 0.0, 1.0, |x| {
        let n = x[0] as usize;
        let (means, verdicts) = x[1..].split_at(n);
        let places = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
        let pairs: Vec<Difference> = places
            .zip(verdicts)
            .map(|((first, second), differs)| Difference {
                first,
                second,
                difference: means[first] - means[second],
                standard_error: 1.0,
                interval: None,
                p_value: 0.5,
                differs: *differs > 0.0,
            })
            .collect();
        let ties = groups(means, &pairs).unwrap();
        let mask = |set: &Vec<usize>| set.iter().map(|group| f64::from(1_u32 << group)).sum::<f64>();
        let mut masks: Vec<f64> = ties.sets.iter().map(mask).collect();
        masks.sort_by(f64::total_cmp);
        masks
    });
}
