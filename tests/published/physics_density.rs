//! Density against what was published about it.

use super::{
    si::{celsius, fahrenheit, in_celsius, kg_m3, kpa, mm2_s},
    values::{Row, Values},
};
use loopleaf::trade::density::{
    Group, Oil, api_gravity, density_by_table_54d, density_from_api_gravity, dynamic_viscosity, on_ipts_68,
};

const KPA_PER_PSI: f64 = 6.894757293168361;

fn oil_at_60_f(rho60: f64) -> Oil {
    Oil::measured(Group::Lubricating, kg_m3(rho60), fahrenheit(60.0)).unwrap()
}

/// The expansion at 60 °F depends on ρ60 alone, which a density at 60 °F ITS-90 is but for 2·10⁻⁹.
#[test]
pub(super) fn density_against_temperature() {
    let mut values = Values::physics("density-temperature");
    values.check("api11.1-shift", |row| {
        vec![in_celsius(on_ipts_68(fahrenheit(row.input("t_F_ITS90"))).unwrap()) * 1.8 + 32.0]
    });
    values.check("its90-ipts68-", |row| vec![in_celsius(on_ipts_68(celsius(row.input("t90_C"))).unwrap())]);
    let per_f = |oil: Oil| oil.expansion_at_60_fahrenheit().value / 1.8;
    values.check("api11.1-alpha60-", |row| vec![per_f(oil_at_60_f(row.input("rho60")))]);
    values.check("api11.1-ctl-", |row| {
        let oil = oil_at_60_f(row.input("rho60_kg_m3"));
        let ctl = oil.volume_correction(fahrenheit(row.input("t_F"))).unwrap().value;
        vec![ctl, (ctl * 1e5).round() / 1e5]
    });
    values.check("table54D-", |row| {
        let rho15 = row.input("rho15_kg_m3");
        let rho = density_by_table_54d(kg_m3(rho15), celsius(row.input("t_C"))).unwrap().value;
        vec![rho / rho15, rho]
    });
    values.check("density15-", |row| {
        let rho15 = row.input("rho15_kg_m3");
        let oil = Oil::measured(Group::Lubricating, kg_m3(rho15), celsius(15.0)).unwrap();
        let rho = oil.density_at(celsius(row.input("t_C"))).unwrap().value;
        vec![oil.density_at_60_fahrenheit().value, rho, rho / rho15]
    });
    values.check("api11.1-golden-crude-920-42C-rho60", |row| {
        let oil = Oil::measured(Group::Crude, kg_m3(row.input("rho_obs")), celsius(row.input("t_C"))).unwrap();
        vec![oil.density_at_60_fahrenheit().value]
    });
    values.check("api11.1-golden-crude-920-42C-alpha60", |row| {
        vec![per_f(Oil::measured(Group::Crude, kg_m3(row.input("rho60")), fahrenheit(60.0)).unwrap())]
    });
    values.check("api11.1-Fp-", |row| {
        let (oil, at, psi) = (oil_at_60_f(row.input("rho60_kg_m3")), fahrenheit(row.input("t_F")), 1000.0);
        let under = oil.density_under_pressure(at, kpa(psi * KPA_PER_PSI)).unwrap();
        vec![(1.0 - (oil.density_at(at).unwrap() / under).value) / psi]
    });
    values.check("api-gravity-", |row: &Row| {
        let rho = density_from_api_gravity(row.input("API")).unwrap();
        assert!((api_gravity(rho).unwrap() - row.input("API")).abs() < 1e-9);
        vec![rho.value / 999.016, rho.value]
    });
    values.check("dyn-kin-", |row| {
        let mu = dynamic_viscosity(mm2_s(row.input("nu_mm2_s")), kg_m3(row.input("rho_kg_m3"))).unwrap();
        vec![mu.value * 1e3]
    });
    values.finish();
}
