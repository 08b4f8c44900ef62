//! The physics against independent implementations over random inputs: libraries where they have the relation, a second
//! formulation in 50-digit arithmetic where none has. `reference/physics.py` made the answers; the JSON names versions.

use super::{
    differential::note,
    si::{
        celsius, fahrenheit, grams, in_celsius, in_mm2_s, kelvins, kg_m3, kpa, l_min, litres, minutes, mm, mm2_s, pa_s,
        seconds,
    },
};
use loopleaf::{
    quantity::si::{HeatCapacity, Length, MassRate, NumberDensity, Power, Ratio, ThermalConductance},
    trade::{
        capacity::{Dose, Gauged, Weighed, at_terminal},
        density::{Group, Oil},
        dust::{SizeDistribution, settling_velocity},
        hydraulics::{Bath, Pipe, Reading, Restriction, Terms, line_loss},
        loop_balance::{Class, Entry, Phase, State, Withdrawal, fit_decay},
        viscosity::{Curve, Point, blend, saybolt_universal, viscosity_from_saybolt, viscosity_index},
    },
};
use serde_json::Value;
use uom::si::{
    heat_capacity::joule_per_kelvin, length::meter, mass_rate::kilogram_per_second, power::watt, ratio::ratio,
    thermal_conductance::watt_per_kelvin, volumetric_number_density::per_cubic_meter,
};

/// Compares a group of cases: relative, against at least `floor` (in the unit of the output).
fn compare(group: &str, relative: f64, floor: f64, ours: impl Fn(&[f64]) -> Vec<f64>) {
    let reference: Value = serde_json::from_str(include_str!("reference/physics.json")).unwrap();
    let groups = reference.as_object().unwrap();
    let (_, cases) = groups.iter().find(|(name, _)| name.starts_with(group)).expect("the group is in the file");
    let numbers = |value: &Value| value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect::<Vec<_>>();
    let cases = cases.as_array().unwrap();
    assert!(cases.len() >= 30, "{group}: few cases");
    let mut worst = 0.0_f64;
    for case in cases {
        let (inputs, want) = (numbers(&case[0]), numbers(&case[1]));
        let got = ours(&inputs);
        assert_eq!(got.len(), want.len(), "{group}");
        for (i, (got, want)) in got.iter().zip(&want).enumerate() {
            let off = (got - want).abs() / want.abs().max(floor);
            assert!(off <= relative, "{group} {inputs:?}, output {i}: {got} against {want}, off by {off:e}");
            worst = worst.max(off);
        }
    }
    note(group, against(group, &reference), cases.len(), worst, relative);
}

/// Which library answered, with its version; a second formulation where none has the relation.
fn against(group: &str, reference: &Value) -> String {
    let version = |name: &str| reference["made with"][name].as_str().unwrap().to_owned();
    let library = |name: &str, what: &str| format!("{name} {}: {what}", version(name));
    match group {
        "d2270" => library("chemicals", "viscosity_index"),
        "pipe" => library("fluids", "one_phase_dP"),
        "settling" => library("fluids", "v_terminal"),
        "dp fit" => library("numpy", "lstsq by singular values"),
        "heating" | "loop" => library("scipy", "solve_ivp (DOP853)"),
        "dust" => library("scipy", "quad"),
        "decay" => library("scipy", "linregress"),
        "capacity" => library("numpy", "interp, by differences"),
        _ => format!("second formulation in 50 digits (mpmath {})", version("mpmath")),
    }
}

fn part(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}

fn point(t: f64, nu: f64, u: f64) -> Point {
    Point { temperature: celsius(t), viscosity: mm2_s(nu), uncertainty: mm2_s(u) }
}

fn through(points: &[Point]) -> Curve {
    Curve::through(points).unwrap()
}

#[test]
pub(super) fn viscosity_curves_in_fifty_digits() {
    compare("d341 curve", 2e-10, 0.0, |x| {
        let (curve, t) = (through(&[point(40.0, x[0], 0.0), point(100.0, x[1], 0.0)]), celsius(x[2]));
        vec![in_mm2_s(curve.viscosity_at(t).unwrap().value), curve.sensitivity_at(t).unwrap().value]
    });
    compare("d341 inverse", 1e-11, 1.0, |x| {
        let curve = through(&[point(40.0, x[0], 0.0), point(100.0, x[1], 0.0)]);
        vec![in_celsius(curve.temperature_for(mm2_s(x[2])).unwrap().value)]
    });
    compare("d341 fit", 1e-10, 0.0, |x| {
        let points: Vec<_> = x[..10].chunks(2).map(|pair| point(pair[0], pair[1], 0.0)).collect();
        let curve = through(&points);
        let nu = curve.viscosity_at(celsius(x[10])).unwrap().value;
        vec![curve.intercept(), curve.slope(), in_mm2_s(nu)]
    });
    compare("d341 uncertainty", 1e-8, 0.0, |x| {
        let curve = through(&[point(40.0, x[0], x[1]), point(100.0, x[2], x[3])]);
        let u_nu = curve.viscosity_uncertainty(celsius(x[4]), kelvins(x[5])).unwrap();
        vec![in_mm2_s(u_nu), curve.temperature_uncertainty(mm2_s(x[6]), mm2_s(x[7])).unwrap().value]
    });
    compare("blend", 1e-11, 0.0, |x| vec![in_mm2_s(blend(mm2_s(x[0]), part(x[2]), mm2_s(x[1])).unwrap())]);
}

#[test]
pub(super) fn scales_of_viscosity_by_library() {
    compare("d2270", 1e-9, 1.0, |x| vec![viscosity_index(mm2_s(x[0]), mm2_s(x[1])).unwrap()]);
    compare("d2161", 1e-12, 0.0, |x| {
        let sus = saybolt_universal(mm2_s(x[0]), fahrenheit(x[1])).unwrap();
        let back = in_mm2_s(viscosity_from_saybolt(sus, fahrenheit(x[1])).unwrap());
        assert!((back / x[0] - 1.0).abs() < 1e-12, "{x:?}: {back}");
        vec![sus.value]
    });
}

#[test]
pub(super) fn density_in_fifty_digits() {
    let groups = [Group::Lubricating, Group::Fuel, Group::Jet, Group::Crude];
    compare("density", 1e-12, 0.0, |x| {
        let oil = Oil::measured(groups[x[0] as usize], kg_m3(x[1]), celsius(x[2])).unwrap();
        vec![oil.density_at_60_fahrenheit().value, oil.density_at(celsius(x[3])).unwrap().value]
    });
}

#[test]
pub(super) fn pipes_settling_sweeps_and_heat_by_library() {
    compare("pipe", 1e-10, 0.0, |x| {
        let pipe = Pipe { bore: mm(x[1]), length: Length::new::<meter>(x[2]), roughness: Length::new::<meter>(x[5]) };
        let loss = line_loss(&pipe, l_min(x[0]), mm2_s(x[3]), kg_m3(x[4])).unwrap();
        vec![loss.reynolds.value, loss.highest.value]
    });
    compare("settling", 1e-12, 0.0, |x| {
        vec![settling_velocity(mm(x[0] / 1e3), kg_m3(x[1]), kg_m3(x[2]), pa_s(x[3])).unwrap().value]
    });
    compare("dp fit", 1e-8, 0.0, |x| {
        let (flows, pressures) = x[1..].split_at(x.len() / 2);
        let readings: Vec<_> =
            flows.iter().zip(pressures).map(|(q, p)| Reading { flow: l_min(*q), pressure: kpa(*p) }).collect();
        let curve = Restriction::fit(&readings, Terms::ViscousInertial).unwrap();
        let [v11, v12, v22] = curve.covariance().unwrap();
        let (first, second) = (6e7, 3.6e12);
        let u = curve.uncertainty_at(l_min(x[0]), l_min(0.0)).unwrap().unwrap();
        vec![
            curve.viscous_coefficient() / first,
            curve.inertial_coefficient() / second,
            v11 / first / first,
            v12 / first / second,
            v22 / second / second,
            u.value / 1e3,
        ]
    });
    compare("heating", 1e-9, 1.0, |x| {
        let capacity = HeatCapacity::new::<joule_per_kelvin>(x[0]);
        let loss = ThermalConductance::new::<watt_per_kelvin>(x[2]);
        let bath = Bath::new(capacity, Power::new::<watt>(x[1]), loss, celsius(x[3])).unwrap();
        vec![in_celsius(bath.temperature_after(celsius(x[4]), seconds(x[5])).unwrap())]
    });
}

#[test]
pub(super) fn dust_and_loop_by_quadrature_and_integration() {
    compare("dust", 1e-9, 1e-3, |x| {
        let pairs: Vec<_> = x[..6].iter().zip(&x[6..12]).map(|(d, f)| (mm(d / 1e3), part(*f))).collect();
        let (dust, size) = (SizeDistribution::new(&pairs).unwrap(), mm(x[12] / 1e3));
        let count = dust.particles_above(size, grams(1e-3), kg_m3(2650.0)).unwrap();
        vec![count, dust.finer_than(size).unwrap().value]
    });
    let g_min = |x: f64| MassRate::new::<kilogram_per_second>(x * 1e-3 / 60.0);
    compare("loop", 1e-9, 1e-6, |x| {
        let class =
            Class { specimen: part(x[6]), polisher: part(x[7]), injection: g_min(x[8]), ingression: g_min(x[9]) };
        let phase = Phase {
            time: minutes(x[12]),
            specimen_flow: l_min(x[1]),
            polisher_flow: l_min(x[2]),
            entry: if x[10] > 0.0 { Entry::FilterInlet } else { Entry::Tank },
            injection_flow: l_min(x[3]),
            withdrawal: Withdrawal { upstream: l_min(x[4]), downstream: l_min(x[5]) },
        };
        let start = State::clean(litres(x[0]), 1).dosed(&[grams(x[11])]).unwrap();
        let end = start.after(&[class], &phase).unwrap();
        let came_in = x[11] + (x[8] + x[9]) * x[12];
        let found = end.classes[0];
        assert!((found.total().value * 1e3 / came_in - 1.0).abs() < 1e-11, "mass is conserved");
        [found.tank, found.specimen, found.polisher, found.withdrawn].map(|mass| mass.value * 1e3).to_vec()
    });
    compare("decay", 1e-10, 0.0, |x| {
        let (times, counts) = x.split_at(x.len() / 2);
        let concentration = |c: f64| NumberDensity::new::<per_cubic_meter>(c * 1e6);
        let samples: Vec<_> = times.iter().zip(counts).map(|(t, c)| (minutes(*t), concentration(*c))).collect();
        let decay = fit_decay(&samples).unwrap();
        vec![decay.rate.value * 60.0, decay.rate_uncertainty.value * 60.0, decay.start.value / 1e6]
    });
    compare("capacity", 1e-6, 0.0, |x| {
        let gauged = |i: usize| Gauged { pressure: kpa(x[10 + i]), uncertainty: kpa(x[16 + i]) };
        let weighed = |i: usize| Weighed { mass: grams(x[i]), uncertainty: grams(x[5 + i]) };
        let doses: Vec<_> = (0..5).map(|i| Dose { dust: weighed(i), after: gauged(i + 1) }).collect();
        let found = at_terminal(gauged(0), &doses, kpa(x[22])).unwrap();
        vec![found.mass.value * 1e3, found.uncertainty.value * 1e3]
    });
}
