//! Viscosity and density.

use super::{
    super::si::{celsius, fahrenheit, in_celsius, in_mm2_s, kelvins, kg_m3, kpa, mm2_s},
    NONE, compare,
};
use loopleaf::{
    quantity::si::Ratio,
    trade::{
        density::{
            Group, Oil, api_gravity, density_by_table_54d, density_from_api_gravity, dynamic_viscosity,
            kinematic_viscosity, on_ipts_68,
        },
        viscosity::{
            Curve, Edition, IsoClass, Point, Terms, blend_uncertainty, engine_grades, engine_oil_grades, iso_class,
            iso_grades, saybolt_universal, saybolt_universal_uncertainty, share_of_thinner,
            share_of_thinner_uncertainty, short_form_inverse, transform, transform_inverse, viscosity_at_40_from_index,
            viscosity_from_saybolt_uncertainty, viscosity_index_uncertainty,
        },
    },
};
use uom::si::ratio::ratio;

#[test]
pub(super) fn viscosities() {
    compare("d341 transform", 1e-11, 0.0, |x| {
        let terms = Terms::ALL[x[0] as usize];
        let z = transform(mm2_s(x[1]), terms).unwrap();
        assert!(terms.lowest() <= mm2_s(x[1]));
        let back = transform_inverse(z, terms).unwrap();
        vec![z, in_mm2_s(back), short_form_inverse(x[2]).map_or(NONE, in_mm2_s)]
    });
    compare("d341 terms", 1e-9, 1e-6, |x| {
        let points: Vec<_> = x[1..7].chunks(2).map(|pair| Point::nominal(celsius(pair[0]), mm2_s(pair[1]))).collect();
        let curve = Curve::through_with(Terms::ALL[x[0] as usize], &points).unwrap();
        assert_eq!(curve.terms(), Terms::ALL[x[0] as usize]);
        let nu = curve.viscosity_at(celsius(x[7])).unwrap().value;
        vec![curve.intercept(), curve.slope(), curve.scatter().unwrap(), in_mm2_s(nu)]
    });
    compare("d341 window", 1e-9, 1.0, |x| {
        let points = [Point::nominal(celsius(40.0), mm2_s(x[0])), Point::nominal(celsius(100.0), mm2_s(x[1]))];
        let window = Curve::through(&points).unwrap().window(mm2_s(x[2]), mm2_s(x[3])).unwrap();
        let [t, cold, hot] = [window.set_point, window.coldest, window.hottest].map(|at| in_celsius(at.value));
        vec![t, cold, hot, window.half_width().value]
    });
    compare("blend inverse", 1e-10, 1e-3, |x| {
        vec![share_of_thinner(mm2_s(x[0]), mm2_s(x[1]), mm2_s(x[2])).unwrap().value]
    });
    compare("oil uncertainty", 1e-9, 0.0, |x| {
        let (thin, thick, at) = ((mm2_s(x[0]), mm2_s(x[1])), (mm2_s(x[2]), mm2_s(x[3])), fahrenheit(100.0));
        let share = (Ratio::new::<ratio>(x[4]), Ratio::new::<ratio>(x[5]));
        let (sus, u_sus) = (saybolt_universal(thin.0, at).unwrap(), saybolt_universal_uncertainty(thin, at).unwrap());
        vec![
            in_mm2_s(blend_uncertainty(thin, share, thick).unwrap()),
            share_of_thinner_uncertainty(thin, thick, (mm2_s(x[6]), mm2_s(x[7]))).unwrap().value,
            u_sus.value,
            sus.value,
            in_mm2_s(viscosity_from_saybolt_uncertainty((sus, u_sus), at).unwrap()),
        ]
    });
    compare("d2270 inverse", 1e-9, 0.0, |x| vec![in_mm2_s(viscosity_at_40_from_index(mm2_s(x[0]), x[1]).unwrap())]);
    // The slope of the table changes at its nodes: central differences as wide as the uncertainty average over them, the
    // library's derivative takes one side.
    compare("d2270 uncertainty", 3e-2, 0.0, |x| {
        vec![viscosity_index_uncertainty((mm2_s(x[0]), mm2_s(x[1])), (mm2_s(x[2]), mm2_s(x[3]))).unwrap()]
    });
}

#[test]
pub(super) fn grades() {
    compare("iso 3448", 1e-12, 0.0, |x| {
        let grades = iso_grades();
        let nearest = grades[x[1] as usize];
        let class = match iso_class(mm2_s(x[0])).unwrap() {
            IsoClass::Grade(grade) => in_mm2_s(grade.midpoint()),
            _ => NONE,
        };
        let below = grades.iter().filter(|grade| grade.highest() < mm2_s(x[0])).count() as f64;
        let [m, low, high] = [nearest.midpoint(), nearest.lowest(), nearest.highest()].map(in_mm2_s);
        vec![class, below, m, low, high]
    });
    compare("sae j300", 1e-12, 0.0, |x| {
        let edition = [Edition::Before2013, Edition::April2013, Edition::January2015][x[0] as usize];
        let found = engine_oil_grades(mm2_s(x[1]), edition).unwrap();
        assert!(found.iter().all(|grade| engine_grades(edition).contains(grade)));
        let names = found.iter().map(|grade| grade.name.parse::<f64>().unwrap()).sum();
        let low = found.iter().map(|grade| in_mm2_s(grade.lowest())).sum();
        vec![found.len() as f64, names, low, found.iter().map(|grade| in_mm2_s(grade.limit().unwrap())).sum()]
    });
}

#[test]
pub(super) fn densities() {
    let groups = [Group::Lubricating, Group::Fuel, Group::Jet, Group::Crude];
    compare("density more", 1e-10, 1.0, |x| {
        let oil = Oil::measured(groups[x[0] as usize], kg_m3(x[1]), celsius(x[2])).unwrap();
        let t = celsius(x[3]);
        vec![
            oil.volume_correction(t).unwrap().value,
            oil.expansion_at_60_fahrenheit().value,
            oil.density_under_pressure(t, kpa(x[4])).unwrap().value,
            in_celsius(on_ipts_68(t).unwrap()),
        ]
    });
    compare("density uncertainty", 1e-6, 0.0, |x| {
        let oil = Oil::measured(groups[x[0] as usize], kg_m3(x[1]), celsius(x[2])).unwrap();
        let expansion = Ratio::new::<ratio>(x[6]);
        vec![oil.density_uncertainty(celsius(x[3]), kg_m3(x[4]), kelvins(x[5]), expansion).unwrap().value]
    });
    compare("table 54d", 1e-13, 0.0, |x| vec![density_by_table_54d(kg_m3(x[0]), celsius(x[1])).unwrap().value]);
    compare("dynamic viscosity", 1e-13, 0.0, |x| {
        let mu = dynamic_viscosity(mm2_s(x[0]), kg_m3(x[1])).unwrap();
        vec![mu.value, in_mm2_s(kinematic_viscosity(mu, kg_m3(x[1])).unwrap())]
    });
    compare("api gravity", 1e-12, 1.0, |x| {
        let rho = density_from_api_gravity(x[0]).unwrap();
        vec![rho.value, api_gravity(rho).unwrap()]
    });
}
