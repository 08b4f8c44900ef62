//! Viscosity against what was published about it.

use super::{
    si::{celsius, fahrenheit, in_celsius, in_mm2_s, mm2_s, seconds},
    values::{Row, Values},
};
use loopleaf::trade::viscosity::{
    Curve, Edition, IsoClass, Point, Terms, engine_grades, engine_oil_grades, iso_class, iso_grades, saybolt_universal,
    short_form_inverse, transform, viscosity_at_40_from_index, viscosity_from_saybolt, viscosity_index,
};

/// The published values were made with the short form.
fn curve(row: &Row) -> Curve {
    let point = |t, nu| Point::nominal(celsius(row.input(t)), mm2_s(row.input(nu)));
    Curve::through_with(Terms::Short, &[point("t1_C", "nu1"), point("t2_C", "nu2")]).unwrap()
}

fn viscosities(row: &Row, celsii: &[f64]) -> Vec<f64> {
    celsii.iter().map(|t| in_mm2_s(curve(row).viscosity_at(celsius(*t)).unwrap().value)).collect()
}

#[test]
pub(super) fn viscosity_against_temperature() {
    let mut values = Values::physics("viscosity-temperature");
    let nu = |row: &Row| mm2_s(row.input("nu_mm2_s"));
    values.check("d341-Zshort-", |row| vec![transform(nu(row), Terms::Short).unwrap()]);
    values.check("d341-Zlong-", |row| vec![transform(nu(row), Terms::CToH).unwrap()]);
    values.check("d341-inverse-", |row| vec![in_mm2_s(short_form_inverse(row.input("Z")).unwrap())]);
    let constants = |row: &Row| vec![curve(row).intercept(), curve(row).slope()];
    for prefix in [
        "d341-fit-32-5.4-K",
        "d341-vg32-AB",
        "d341-vg46-AB",
        "d341-vg68-AB",
        "d341-vg100-AB",
        "d341-vg460-AB",
        "d341-mil5606-typ-AB",
    ] {
        values.check(prefix, constants);
    }
    for prefix in
        ["d341-vg32-nu", "d341-vg46-nu", "d341-vg100-nu", "d341-vg460-nu", "d341-solvent-nu", "d341-extrapolation-trap"]
    {
        values.check(prefix, |row| viscosities(row, &row.inputs("t_C")));
    }
    for prefix in [
        "d341-vg32-t",
        "d341-vg46-t",
        "d341-vg68-t",
        "d341-vg460-t",
        "d341-mil5606-typ-t",
        "d341-sae30-t",
        "d341-solvent-t",
    ] {
        values.check(prefix, |row| {
            let wanted = row.inputs("nu");
            wanted.iter().map(|nu| in_celsius(curve(row).temperature_for(mm2_s(*nu)).unwrap().value)).collect()
        });
    }
    values.check("d341-solvent-AB", constants);
    for prefix in ["d341-real-", "d341-trap-10-vs-e"] {
        values.check(prefix, |row| viscosities(row, &[row.input("t_C")]));
    }
    values.finish();
}

/// The published fit counts temperature from −273 °C; at 80 °C that changes nothing in the printed digits.
#[test]
pub(super) fn viscosity_published_with_the_older_absolute_zero() {
    let mut values = Values::physics("viscosity-temperature, 273 K");
    let points = |row: &Row| {
        let shifted = |t, nu| Point::nominal(celsius(row.input(t) - 0.15), mm2_s(row.input(nu)));
        Curve::through(&[shifted("t1_C", "nu1"), shifted("t2_C", "nu2")]).unwrap()
    };
    values.check("d341-fit-published", |row| vec![points(row).intercept(), points(row).slope()]);
    let at_80 = |t1, nu1, t2, nu2| {
        let curve = Curve::through(&[Point::nominal(celsius(t1), mm2_s(nu1)), Point::nominal(celsius(t2), mm2_s(nu2))]);
        in_mm2_s(curve.unwrap().viscosity_at(celsius(80.0)).unwrap().value)
    };
    values.check("d341-at80-published", |_| vec![at_80(40.0, 32.0, 100.0, 5.4)]);
    values.finish();
}

#[test]
pub(super) fn temperature_for_the_viscosities_of_filter_tests() {
    let mut values = Values::physics("temperature for a viscosity");
    let oil = |kv40, kv100| {
        let points = [Point::nominal(celsius(40.0), mm2_s(kv40)), Point::nominal(celsius(100.0), mm2_s(kv100))];
        in_celsius(Curve::through(&points).unwrap().temperature_for(mm2_s(24.0)).unwrap().value)
    };
    values.check("iso4548-2-oil-temperature", |_| vec![oil(100.0, 11.4), oil(150.0, 14.5)]);
    values.check("d341-crosscheck-VG100-11.4", |_| vec![oil(100.0, 11.4)]);
    values.check("d341-crosscheck-VG150-15.0", |_| vec![oil(150.0, 15.0)]);
    values.check("d341-crosscheck-VG150-14.5", |_| vec![oil(150.0, 14.5)]);
    values.finish();
}

#[test]
pub(super) fn index_of_viscosity() {
    let mut values = Values::physics("viscosity index");
    let index = |row: &Row| viscosity_index(mm2_s(row.input("nu40")), mm2_s(row.input("nu100"))).unwrap();
    let h = |row: &Row| in_mm2_s(viscosity_at_40_from_index(mm2_s(row.input("nu100")), 100.0).unwrap());
    let l = |row: &Row| in_mm2_s(viscosity_at_40_from_index(mm2_s(row.input("nu100")), 0.0).unwrap());
    for id in ["d2270-A-VI", "d2270-B1-VI", "d2270-B2-VI"] {
        values.check(id, |row| vec![if row.id().ends_with("reported") { index(row).round() } else { index(row) }]);
    }
    values.check("d2270-B1-H", |row| vec![h(row)]);
    values.check("d2270-lib-", |row| vec![index(row)]);
    values.check("d2270-table1-", |row| vec![l(row), h(row)]);
    values.hold("d2270-undefined", |row| viscosity_index(mm2_s(row.input("nu40")), mm2_s(row.input("nu100"))).is_err());
    values.check_part(
        "milprf5606-typical",
        |name| name == "VI",
        |row| {
            let kv = |name| mm2_s(row.expected(name).unwrap());
            vec![viscosity_index(kv("kv40"), kv("kv100")).unwrap().round()]
        },
    );
    values.finish();
}

#[test]
pub(super) fn saybolt_universal_seconds() {
    let mut values = Values::physics("Saybolt Universal");
    let sus = |nu, t| saybolt_universal(mm2_s(nu), fahrenheit(t)).unwrap().value;
    let nu = |s| in_mm2_s(viscosity_from_saybolt(seconds(s), fahrenheit(100.0)).unwrap());
    values.check("sus-100F-", |row| vec![sus(row.input("nu_mm2_s"), row.input("t_F"))]);
    values.check("sus-210F-", |row| vec![sus(row.input("nu_mm2_s"), row.input("t_F"))]);
    values.check("sus-factor-B", |row| row.inputs("t_F").iter().map(|t| sus(300.0, *t) / 300.0).collect());
    values.check("sus-inverse-", |row| vec![nu(row.input("SUS_100F"))]);
    values.check("sus-handbook-", |row| vec![nu(row.input("SUS"))]);
    values.finish();
}

#[test]
pub(super) fn classes_of_viscosity() {
    let mut values = Values::physics("viscosity classes");
    values.check("iso3448-vg", |row| {
        let grade = iso_grades().iter().find(|grade| f64::from(grade.number) == row.input("ISO_VG")).unwrap();
        for inside in [grade.lowest(), grade.midpoint(), grade.highest()] {
            assert_eq!(iso_class(inside).unwrap(), IsoClass::Grade(*grade));
        }
        vec![in_mm2_s(grade.lowest()), in_mm2_s(grade.midpoint()), in_mm2_s(grade.highest())]
    });
    values.check_part(
        "saej300-",
        |name| name.starts_with("kv100"),
        |row| {
            let grades = engine_grades(Edition::January2015);
            let grade = grades.iter().find(|grade| grade.name == row.text("grade")).unwrap();
            [Some(grade.lowest()), grade.limit()].into_iter().flatten().map(in_mm2_s).collect()
        },
    );
    values.finish();
}

#[test]
fn a_gap_between_classes_and_an_overlap_of_grades_are_told() {
    assert!(matches!(iso_class(mm2_s(38.0)).unwrap(), IsoClass::Between(a, b) if (a.number, b.number) == (32, 46)));
    assert_eq!(iso_class(mm2_s(1.9)).unwrap(), IsoClass::BelowAll);
    assert_eq!(iso_class(mm2_s(3521.0)).unwrap(), IsoClass::AboveAll);
    let names = |kv100, edition| {
        engine_oil_grades(mm2_s(kv100), edition).unwrap().iter().map(|grade| grade.name).collect::<Vec<_>>()
    };
    assert_eq!(names(7.0, Edition::January2015), ["12", "16", "20"]);
    assert_eq!(names(6.0, Edition::Before2013), ["20"]);
    assert_eq!(names(12.5, Edition::Before2013), ["40"]);
    assert_eq!(names(3.0, Edition::January2015), [""; 0]);
}
