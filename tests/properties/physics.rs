//! Round trips, directions and balances of the physics over whole domains.

use loopleaf::{
    quantity::si::{
        KinematicViscosity, Length, Mass, MassDensity, MassRate, Pressure, Ratio, Temperature, Time, Volume, VolumeRate,
    },
    trade::{capacity, density, dust, hydraulics, loop_balance, viscosity},
};
use proptest::prelude::*;
use uom::si::{
    diffusion_coefficient::square_meter_per_second, length::meter, mass::kilogram,
    mass_density::kilogram_per_cubic_meter, mass_rate::kilogram_per_second, pressure::pascal, ratio::ratio,
    thermodynamic_temperature::kelvin, time::second, volume::cubic_meter, volume_rate::cubic_meter_per_second,
};

fn mm2(x: f64) -> KinematicViscosity {
    KinematicViscosity::new::<square_meter_per_second>(x * 1e-6)
}
fn c(x: f64) -> Temperature {
    Temperature::new::<kelvin>(x + 273.15)
}
fn rho(x: f64) -> MassDensity {
    MassDensity::new::<kilogram_per_cubic_meter>(x)
}
fn q(x: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_second>(x)
}
fn p(x: f64) -> Pressure {
    Pressure::new::<pascal>(x)
}
fn s(x: f64) -> Time {
    Time::new::<second>(x)
}
fn part(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}
fn litres(x: f64) -> Volume {
    Volume::new::<cubic_meter>(x * 1e-3)
}
fn um(x: f64) -> Length {
    Length::new::<meter>(x * 1e-6)
}
fn grams(x: f64) -> Mass {
    Mass::new::<kilogram>(x * 1e-3)
}
fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

/// Evenly over the logarithm.
fn log(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (low.ln()..=high.ln()).prop_map(move |x| x.exp().clamp(low, high))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..Default::default() })]

    #[test]
    fn the_double_log_goes_both_ways_and_rises(nu in log(0.21, 2e7), step in 1e-6..1.0, terms in 0..7_usize) {
        use viscosity::*;
        let terms = Terms::ALL[terms];
        prop_assume!(mm2(nu) >= terms.lowest());
        let z = transform(mm2(nu), terms).unwrap();
        prop_assert!(close(transform_inverse(z, terms).unwrap().value, nu * 1e-6, 1e-12));
        let more = f64::min(nu * (1.0 + step), 2e7);
        prop_assert!(transform(mm2(more), terms).unwrap() >= z);
    }

    #[test]
    fn a_curve_passes_through_its_points_falls_and_inverts(
        kv100 in log(0.3, 100.0), span in 1.2..40.0_f64, t in -40.0..180.0_f64, warmer in 0.01..20.0_f64,
    ) {
        use viscosity::*;
        let points = [Point::nominal(c(40.0), mm2(kv100 * span)), Point::nominal(c(100.0), mm2(kv100))];
        let curve = Curve::through(&points).unwrap();
        for point in points {
            let found = curve.viscosity_at(point.temperature).unwrap();
            prop_assert!(close(found.value.value, point.viscosity.value, 1e-11));
            prop_assert_eq!(found.reach, Reach::Measured);
        }
        if let (Ok(here), Ok(there)) = (curve.viscosity_at(c(t)), curve.viscosity_at(c(t + warmer))) {
            prop_assert!(here.value > there.value);
            let back = curve.temperature_for(here.value).unwrap().value;
            prop_assert!((back.value - c(t).value).abs() < 1e-9);
            prop_assert!(curve.sensitivity_at(c(t)).unwrap().value < 0.0);
            prop_assert_eq!(here.reach == Reach::Measured, (40.0 - 1e-6..=100.0 + 1e-6).contains(&t));
        }
    }

    #[test]
    fn a_window_holds_what_it_says(kv100 in log(2.0, 30.0), span in 2.0..12.0_f64, nu in log(3.0, 300.0), tolerance in 0.001..0.2_f64) {
        use viscosity::*;
        let points = [Point::nominal(c(40.0), mm2(kv100 * span)), Point::nominal(c(100.0), mm2(kv100))];
        let curve = Curve::through(&points).unwrap();
        let window = curve.window(mm2(nu), mm2(nu * tolerance)).unwrap();
        let half = window.half_width().value;
        for t in [window.set_point.value.value - half, window.set_point.value.value + half] {
            let nu_there = curve.viscosity_at(Temperature::new::<kelvin>(t)).unwrap().value.value * 1e6;
            prop_assert!((nu_there - nu).abs() <= nu * tolerance * (1.0 + 1e-9));
        }
    }

    #[test]
    fn scales_of_viscosity_go_both_ways(kv100 in log(2.0, 300.0), vi in 0.0..350.0_f64, nu in log(1.8, 1e5), f in 1.0..349.0_f64) {
        use viscosity::*;
        if let Ok(kv40) = viscosity_at_40_from_index(mm2(kv100), vi) {
            prop_assert!((viscosity_index(kv40, mm2(kv100)).unwrap() - vi).abs() < 1e-8);
            prop_assert!(viscosity_index(kv40 * 1.01, mm2(kv100)).unwrap() < vi);
        }
        let at = c((f - 32.0) / 1.8);
        let sus = saybolt_universal(mm2(nu), at).unwrap();
        prop_assert!(close(viscosity_from_saybolt(sus, at).unwrap().value, nu * 1e-6, 1e-12));
        prop_assert!(saybolt_universal(mm2(nu * 1.01), at).unwrap() > sus);
    }

    #[test]
    fn a_blend_lies_between_its_fluids(a in log(0.3, 1e4), b in log(0.3, 1e4), x in 0.0..=1.0_f64) {
        use viscosity::*;
        let (thin, thick) = (a.min(b), a.max(b));
        prop_assume!(thick > thin * 1.01);
        let mixed = blend(mm2(thin), part(x), mm2(thick)).unwrap();
        prop_assert!(mixed >= mm2(thin * (1.0 - 1e-12)) && mixed <= mm2(thick * (1.0 + 1e-12)));
        prop_assert!((share_of_thinner(mm2(thin), mm2(thick), mixed).unwrap().value - x).abs() < 1e-9);
    }

    #[test]
    fn oil_measured_anywhere_is_the_same_oil(rho60 in 801.0..1163.0_f64, t1 in -50.0..150.0_f64, t2 in -50.0..149.0_f64) {
        use density::*;
        let oil = Oil::measured(Group::Lubricating, rho(rho60), c(15.0 + 5.0 / 9.0)).unwrap();
        let again = Oil::measured(Group::Lubricating, oil.density_at(c(t1)).unwrap(), c(t1)).unwrap();
        prop_assert!(close(again.density_at_60_fahrenheit().value, oil.density_at_60_fahrenheit().value, 1e-13));
        prop_assert!(oil.density_at(c(t2)).unwrap() > oil.density_at(c(t2 + 1.0)).unwrap());
        prop_assert!(oil.density_under_pressure(c(t2), p(1e6)).unwrap() > oil.density_at(c(t2)).unwrap());
    }

    #[test]
    fn more_flow_loses_more(bore in 4.0..60.0_f64, flow in log(1e-7, 1e-2), nu in log(0.5, 2000.0), rough in 0.0..0.04_f64) {
        use hydraulics::*;
        let pipe = Pipe { bore: um(bore * 1e3), length: um(1e6), roughness: um(bore * 1e3 * rough) };
        let loss = |flow: f64| line_loss(&pipe, q(flow), mm2(nu), rho(860.0));
        if let (Ok(less), Ok(more)) = (loss(flow), loss(flow * 1.05)) {
            prop_assert!(less.lowest <= less.highest);
            // At the ends of the transitional regime the lower value may step, never the upper one down.
            prop_assert!(more.highest > less.highest);
        }
    }

    #[test]
    fn a_restriction_is_fitted_inverted_and_carried_there_and_back(
        k1 in log(1e6, 1e10), k2 in log(1e6, 1e13), top in log(1e-5, 5e-3), at in 0.01..1.0_f64, thicker in 0.02..50.0_f64,
    ) {
        use hydraulics::*;
        let readings: Vec<_> = (1..=5)
            .map(|i| top * f64::from(i) / 5.0)
            .map(|flow| Reading { flow: q(flow), pressure: p(k1 * flow + k2 * flow * flow) })
            .collect();
        let fitted = Restriction::fit(&readings, Terms::ViscousInertial).unwrap();
        let (flow, pressure) = (top * at, k1 * top * at + k2 * (top * at).powi(2));
        prop_assert!(close(fitted.pressure_at(q(flow)).unwrap().0.value, pressure, 1e-9));
        if let Ok((found, covered)) = fitted.flow_at(p(pressure)) {
            prop_assert!(close(found.value, flow, 1e-8));
            prop_assert_eq!(covered, Covered::Measured);
            let fluid = |mu: f64, density| Fluid { viscosity: mm2(mu) * rho(density), density: rho(density) };
            let (from, to) = (fluid(20.0, 860.0), fluid(20.0 * thicker, 880.0));
            let moved = fitted.with_fluid(&from, &to).unwrap();
            let predicted = moved.pressure_at(q(flow)).unwrap().0;
            let share = fitted.viscous_share(q(flow)).unwrap();
            let by_share = cold_from_hot(fitted.pressure_at(q(flow)).unwrap().0, &from, &to, Share::Known(share)).unwrap();
            prop_assert!(close(predicted.value, by_share.lowest.value, 1e-9));
            let back = moved.with_fluid(&to, &from).unwrap();
            prop_assert!(close(back.pressure_at(q(flow)).unwrap().0.value, pressure, 1e-8));
        }
    }

    #[test]
    fn fewer_particles_are_larger(fine in log(0.5, 2.0), factors in prop::collection::vec(1.05..3.0_f64, 5), shares in prop::collection::vec(0.0..1.0_f64, 5), at in 0.0..1.0_f64) {
        use dust::*;
        let mut shares = shares;
        shares.sort_by(f64::total_cmp);
        shares.push(1.0);
        let sizes: Vec<_> = std::iter::once(&1.0).chain(&factors).scan(fine, |d, f| { *d *= f; Some(*d) }).collect();
        let points: Vec<_> = sizes.iter().zip(&shares).map(|(d, f)| (um(*d), part(*f))).collect();
        let dust = SizeDistribution::new(&points).unwrap();
        let size = sizes[0] * (sizes[5] / sizes[0]).powf(at);
        let above = |d: f64| dust.particles_above(um(d), grams(1.0), rho(2650.0)).unwrap();
        prop_assert!(above(size) >= above(size * 1.01) && above(size) >= 0.0);
        let finer = dust.finer_than(um(size)).unwrap();
        prop_assert!(dust.finer_than(um(size * 1.01)).unwrap() >= finer);
        let back = dust.size_at(finer).unwrap();
        prop_assert!(close(dust.finer_than(back).unwrap().value, finer.value, 1e-9));
    }

    #[test]
    fn dust_is_never_lost(
        volume in 5.0..100.0_f64, flow in 0.0..1e-3_f64, polisher in 0.0..1e-3_f64, minutes in 0.0..30.0_f64,
        efficiencies in prop::array::uniform2(0.0..=1.0_f64), fed in 0.0..1e-5_f64, dose in 0.0..5.0_f64, drawn in 0.0..2e-6_f64,
    ) {
        use loop_balance::*;
        let [specimen, polishing] = efficiencies.map(part);
        let rate = |x| MassRate::new::<kilogram_per_second>(x);
        let class = Class { specimen, polisher: polishing, injection: rate(fed), ingression: rate(fed / 10.0) };
        let phase = Phase {
            time: s(minutes * 60.0),
            specimen_flow: q(flow),
            polisher_flow: q(polisher),
            entry: Entry::Tank,
            injection_flow: q(drawn),
            withdrawal: Withdrawal { upstream: q(drawn), downstream: q(0.0) },
        };
        let start = State::clean(litres(volume), 1).dosed(&[grams(dose)]).unwrap();
        let end = start.after(&[class], &phase).unwrap();
        let came_in = dose * 1e-3 + fed * 1.1 * minutes * 60.0;
        prop_assert!((end.classes[0].total().value - came_in).abs() <= 1e-9 * came_in);
        // Two halves make a whole.
        let half = Phase { time: phase.time / 2.0, ..phase };
        let twice = start.after(&[class], &half).unwrap().after(&[class], &half).unwrap();
        prop_assert!((twice.classes[0].tank.value - end.classes[0].tank.value).abs() <= 1e-9 * came_in);
    }

    #[test]
    fn a_loop_clears_as_told(volume in 5.0..200.0_f64, flow in log(1e-5, 1e-2), e in 0.01..=1.0_f64, left in log(1e-6, 1.0)) {
        use loop_balance::*;
        let rig = Loop::new(litres(volume), q(flow), part(e)).unwrap();
        let time = rig.time_to_clean(part(left)).unwrap();
        prop_assert!(close(rig.remaining(time).unwrap().value, left, 1e-12));
        prop_assert!(close(rig.turnovers(time).unwrap().value, rig.turnovers_to_clean(part(left)).unwrap().value, 1e-12) || left == 1.0);
        for entry in [Entry::Tank, Entry::FilterInlet] {
            let (early, late) = (rig.under_injection(entry, rho(0.01), time).unwrap(), rig.under_injection(entry, rho(0.01), time * 2.0).unwrap());
            prop_assert!(early <= late && late <= rho(0.01 / e * (1.0 + 1e-12)));
        }
    }

    #[test]
    fn heat_takes_the_time_it_was_told(capacity in log(1e4, 1e6), watts in 100.0..5000.0_f64, loss in 0.0..50.0_f64, start in 5.0..60.0_f64, rise in 0.1..60.0_f64) {
        use hydraulics::*;
        use loopleaf::quantity::si::{HeatCapacity, Power, ThermalConductance};
        use uom::si::{heat_capacity::joule_per_kelvin, power::watt, thermal_conductance::watt_per_kelvin};
        let (heat, leak) = (HeatCapacity::new::<joule_per_kelvin>(capacity), ThermalConductance::new::<watt_per_kelvin>(loss));
        let bath = Bath::new(heat, Power::new::<watt>(watts), leak, c(20.0)).unwrap();
        if let Ok(time) = bath.time_to_reach(c(start), c(start + rise)) {
            let reached = bath.temperature_after(c(start), time).unwrap();
            prop_assert!((reached.value - c(start + rise).value).abs() < 1e-6);
        }
    }

    #[test]
    fn a_higher_terminal_pressure_never_holds_less(steps in prop::collection::vec((0.1..10.0_f64, 0.1..50.0_f64), 3..8), at in 0.05..0.95_f64) {
        use capacity::*;
        let mut pressure = 10.0;
        let doses: Vec<_> = steps.iter().map(|(dose, rise)| {
            pressure += rise;
            Dose {
                dust: Weighed { mass: grams(*dose), uncertainty: grams(0.01) },
                after: Gauged { pressure: p(pressure), uncertainty: p(0.1) },
            }
        }).collect();
        let clean = Gauged { pressure: p(10.0), uncertainty: p(0.1) };
        let terminal = 10.0 + (pressure - 10.0) * at;
        let found = at_terminal(clean, &doses, p(terminal)).unwrap();
        prop_assert!(found.between.0 <= found.mass && found.mass <= found.between.1);
        let higher = at_terminal(clean, &doses, p((terminal * 1.02).min(pressure))).unwrap();
        prop_assert!(higher.mass >= found.mass && !found.fell_back);
    }
}
