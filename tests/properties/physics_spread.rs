//! Uncertainties over whole domains: finite or refused, nothing from nothing, more from more. And what a fitted or built
//! thing says of itself is a number.

use super::physics_refusals::{any_number, d, fair, heat, m, mu, n, nu, numbers, p, q, r, rho, s, t, v};
use loopleaf::{
    quantity::si::{HeatCapacity, Power, TemperatureInterval, ThermalConductance},
    trade::{capacity, density, dust, hydraulics, loop_balance, viscosity},
};
use proptest::prelude::*;
use uom::si::{
    frequency::hertz, heat_capacity::joule_per_kelvin, power::watt, temperature_interval::kelvin as kelvin_interval,
    thermal_conductance::watt_per_kelvin,
};

fn dt(x: f64) -> TemperatureInterval {
    TemperatureInterval::new::<kelvin_interval>(x)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..Default::default() })]

    #[test]
    fn uncertain_lines_and_heat_answer_or_refuse([a, b, c, e, f, g] in numbers::<6>(), [h, i, j, k] in numbers::<4>()) {
        use hydraulics::*;
        let pipe = Pipe { bore: d(a), length: d(b), roughness: d(c) };
        let of = LineUncertainty {
            bore: d(h), length: d(i), roughness: d(j), flow: q(k), viscosity: nu(h), density: rho(i),
        };
        fair("u of a line", line_loss_uncertainty(&pipe, q(e), nu(f), rho(g), &of).map(|(low, high)| low.value + high.value));
        fair("colebrook", colebrook(r(a), r(b)));
        fair("u of pump heat", pump_heating_uncertainty((p(a), p(b)), (q(c), q(e))).map(|x| x.value));
        fair("u of a rise", rise_per_pass_uncertainty((p(a), p(b)), (rho(c), rho(e)), (heat(f), heat(g))).map(|x| x.value));
        let (from, to) = (Fluid { viscosity: mu(a), density: rho(b) }, Fluid { viscosity: mu(c), density: rho(e) });
        let u = Fluid { viscosity: mu(h), density: rho(i) };
        for share in [Share::Unknown, Share::Known(r(f)), Share::Between(r(g), r(j))] {
            fair("u cold", cold_from_hot_uncertainty((p(k), p(f)), (&from, &u), (&to, &u), share).map(|(x, u)| (x + u).value));
        }
    }

    #[test]
    fn uncertain_baths_answer_or_refuse([a, b, c, e, f, g] in numbers::<6>(), [h, i, j, k] in numbers::<4>()) {
        use hydraulics::*;
        let loss = |x| ThermalConductance::new::<watt_per_kelvin>(x);
        let (capacity, power) = (|x| HeatCapacity::new::<joule_per_kelvin>(x), |x| Power::new::<watt>(x));
        if let Ok(bath) = Bath::new(capacity(a), power(b), loss(c), t(e)) {
            let of = BathUncertainty { capacity: capacity(h), heating: power(i), loss: loss(j), room: dt(k) };
            fair("u of the end", bath.temperature_uncertainty((t(f), dt(h)), s(g), &of).map(|x| x.value));
            let of_constant = bath.time_constant_uncertainty(&of);
            fair("u of the constant", of_constant.map(|x| x.unwrap_or_default().value));
            prop_assert!(bath.settles_at().is_none_or(|x| x.value.is_finite()));
            prop_assert!(bath.time_constant().is_none_or(|x| x.value.is_finite() && x.value > 0.0));
        }
    }

    #[test]
    fn uncertain_slurries_loops_and_grades_answer_or_refuse([a, b, c, e, f, g] in numbers::<6>(), [h, i, j] in numbers::<3>()) {
        use dust::*;
        fair("u of a slurry", slurry_concentration_uncertainty((m(a), m(b)), (v(c), v(e)), (rho(f), rho(g))).map(|x| x.value));
        fair("u of a level", base_level_uncertainty((rho(a), rho(b)), (q(c), q(e)), (q(f), q(g))).map(|x| x.value));
        fair("midway", SizeDistribution::midway(&[(d(a), r(b), r(c)), (d(e), r(f), r(g))]).map(|_| 0.0));
        match DistributionLimits::new(&[(d(a), r(b), r(c)), (d(e), r(f), r(1.0))]) {
            Err(refusal) => fair("limits", Err(refusal)),
            Ok(grade) => {
                fair("particles", grade.particles_above(d(g), m(h), rho(i)).map(|x| x.low + x.high));
                fair("concentration", grade.concentration_above(d(g), rho(h), rho(i)).map(|x| x.low + x.high));
            }
        }
        use loop_balance::*;
        if let Ok(rig) = Loop::new(v(a), q(b), r(c)) {
            fair("u of tau", rig.time_constant_uncertainty(v(e), q(f), r(g)).map(|x| x.value));
            for time in [rig.time_constant(), rig.half_life(), rig.turnover_time()] {
                prop_assert!(time.value.is_finite() && time.value > 0.0);
            }
            prop_assert!(!rho(1.0).value.is_nan() && rig.downstream(rho(1.0)).value.is_finite());
            fair("floor", rig.floor(loopleaf::quantity::si::Frequency::new::<hertz>(h)).map(|x| x.value));
        }
        let state = State::clean(v(a), 1).dosed(&[m(j)]);
        prop_assert!(state.ok().and_then(|x| x.level(0)).is_none_or(|x| !x.value.is_nan()));
        fair("a loop", fit_decay(&[(s(a), n(b)), (s(c), n(e)), (s(f), n(g))]).map(|x| x.rate_uncertainty.value));
    }

    #[test]
    fn uncertain_blends_and_sensors_answer_or_refuse([a, b, c, e, f, g] in numbers::<6>()) {
        use loopleaf::trade::counting::{Concentration, true_from_measured_uncertainty};
        use viscosity::*;
        let (first, second) = ((nu(a), nu(b)), (nu(c), nu(e)));
        fair("u of a blend", blend_uncertainty(first, (r(f), r(g)), second).map(|x| x.value));
        fair("u of a share", share_of_thinner_uncertainty(first, second, (nu(f), nu(g))).map(|x| x.value));
        fair("u of SUS", saybolt_universal_uncertainty(first, t(c)).map(|x| x.value));
        fair("u from SUS", viscosity_from_saybolt_uncertainty((s(a), s(b)), t(c)).map(|x| x.value));
        if let (Ok(shown), Ok(u)) = (Concentration::per_millilitre(a), Concentration::per_millilitre(b)) {
            fair("u of a true count", true_from_measured_uncertainty((shown, u), (v(c), v(e))).map(|x| x.in_millilitre()));
        }
    }

    /// What a fit, an oil, a curve or a ledger says of itself.
    #[test]
    fn what_was_built_speaks_in_numbers([a, b, c, e, f, g] in numbers::<6>(), [h, i] in numbers::<2>()) {
        use hydraulics::{Covered, Reading, Restriction, Terms};
        let readings = [(a, b), (c, e), (f, g)].map(|(x, y)| Reading { flow: q(x), pressure: p(y) });
        if let Ok(curve) = Restriction::fit(&readings, Terms::ViscousInertial) {
            prop_assert!(curve.viscous_coefficient().is_finite() && curve.inertial_coefficient().is_finite());
            prop_assert!(curve.covariance().is_some_and(|v| v.iter().all(|x| x.is_finite())) && curve.degrees_of_freedom() == 1);
            prop_assert!(curve.scatter().is_some_and(|x| x.value.is_finite()));
            fair("u of a knee", curve.flow_uncertainty_at(p(h), p(i)).map(|x| x.unwrap_or_default().value));
            if let Ok((_, covered)) = curve.pressure_at(q(h)) {
                let highest = a.max(c).max(f);
                prop_assert_eq!(covered == Covered::Measured, h <= highest * (1.0 + 1e-9));
            }
        }
        if let Ok(oil) = density::Oil::measured(density::Group::Lubricating, rho(a), t(b)) {
            prop_assert!(oil.expansion_at_60_fahrenheit().value > 0.0 && oil.density_at_60_fahrenheit().value > 800.0);
        }
        use viscosity::{Curve, Point};
        let points = [(a, b), (c, e), (f, g)].map(|(x, y)| Point::nominal(t(x), nu(y)));
        if let Ok(curve) = Curve::through(&points) {
            prop_assert!(curve.slope() > 0.0 && curve.intercept().is_finite() && curve.scatter().is_some_and(f64::is_finite));
            prop_assert_eq!(curve.terms(), viscosity::Terms::CToH);
        }
        use capacity::{Ledger, Terminal, Weighed};
        let w = |x, u| Weighed { mass: m(x), uncertainty: m(u) };
        let ledger = Ledger { given: vec![w(a, b)], left_behind: vec![w(c, e)], elsewhere: vec![w(f, g)] };
        fair("delivered", ledger.delivered().map(|x| (x.mass + x.uncertainty).value));
        fair("retained", ledger.retained().map(|x| (x.mass + x.uncertainty).value));
        fair("terminal", Terminal::new(p(a), p(b), p(c)).map(|x| (x.assembly() + x.clean_element()).value));
    }

    #[test]
    fn nothing_uncertain_makes_nothing_uncertain_and_more_makes_more(
        flow in 0.5..200.0_f64, bore in 6.0..50.0_f64, nu_ in 1.0..800.0_f64, u in 0.001..0.05_f64, kg in 0.5..50.0_f64,
    ) {
        use hydraulics::*;
        let pipe = Pipe { bore: d(bore / 1e3), length: d(1.0), roughness: d(1.5e-6) };
        let (rate, viscosity) = (q(flow / 6e4), nu(nu_ * 1e-6));
        let of = |u: f64| LineUncertainty { flow: rate * u, viscosity: viscosity * u, ..LineUncertainty::default() };
        let line = |u: f64| line_loss_uncertainty(&pipe, rate, viscosity, rho(860.0), &of(u)).unwrap();
        prop_assert!(line(0.0).1.value == 0.0 && line(u).1 > p(0.0) && line(2.0 * u).1 > line(u).1);
        let slurry = |u: f64| {
            let (dust, oil) = (m(kg), v(0.02));
            dust::slurry_concentration_uncertainty((dust, dust * u), (oil, oil * u), (rho(2650.0), rho(0.0))).unwrap()
        };
        prop_assert!(slurry(0.0).value == 0.0 && slurry(2.0 * u) > slurry(u));
        let rig = loop_balance::Loop::new(v(0.02), rate, r(0.5)).unwrap();
        let tau = |u: f64| rig.time_constant_uncertainty(v(0.02 * u), rate * u, r(0.0)).unwrap();
        prop_assert!(tau(0.0).value == 0.0 && tau(2.0 * u) > tau(u));
        let heat = |u: f64| pump_heating_uncertainty((p(1e5), p(1e5 * u)), (rate, rate * u)).unwrap();
        prop_assert!(heat(0.0).value == 0.0 && heat(2.0 * u) > heat(u));
    }

    /// Whatever dust a grade allows lies between its ends, the middle of the limits included.
    #[test]
    fn a_dust_within_its_limits_counts_within_them(
        shares in prop::collection::vec(0.02..0.95_f64, 4), width in 0.0..0.05_f64, pick in prop::collection::vec(0.0..=1.0_f64, 4), at in 0.0..0.99_f64,
    ) {
        use dust::*;
        let mut shares = shares;
        shares.sort_by(f64::total_cmp);
        let sizes = [1.0, 3.0, 10.0, 30.0, 100.0].map(|x| d(x * 1e-6));
        let low: Vec<f64> = shares.iter().map(|x| x - width.min(*x)).collect();
        let rows: Vec<_> = sizes.iter().zip(low.iter().zip(&shares).map(|(l, h)| (*l, *h)).chain([(1.0, 1.0)])).map(|(d, (l, h))| (*d, r(l), r(h))).collect();
        let grade = DistributionLimits::new(&rows).unwrap();
        let mut chosen: Vec<f64> = low.iter().zip(&shares).zip(&pick).map(|((l, h), x)| l + (h - l) * x).collect();
        chosen.sort_by(f64::total_cmp);
        chosen.push(1.0);
        let inside = chosen.iter().zip(&rows).all(|(x, (_, l, h))| *x >= l.value - 1e-12 && *x <= h.value + 1e-12);
        prop_assume!(inside);
        let pairs: Vec<_> = sizes.iter().zip(&chosen).map(|(d, f)| (*d, r(*f))).collect();
        let dust = SizeDistribution::new(&pairs).unwrap();
        let size = d(1e-6 * 100_f64.powf(at));
        let (count, ends) = (dust.particles_above(size, m(1e-6), rho(2650.0)).unwrap(), grade.particles_above(size, m(1e-6), rho(2650.0)).unwrap());
        prop_assert!(ends.low <= count * (1.0 + 1e-9) + 1e-9 && count <= ends.high * (1.0 + 1e-9) + 1e-9, "{count} {ends:?}");
        let middle = SizeDistribution::midway(&rows).unwrap().particles_above(size, m(1e-6), rho(2650.0)).unwrap();
        prop_assert!(ends.low <= middle * (1.0 + 1e-9) + 1e-9 && middle <= ends.high * (1.0 + 1e-9) + 1e-9);
    }

    #[test]
    fn classes_of_viscosity_hold_what_they_say(x in any_number()) {
        use viscosity::*;
        if let Ok(IsoClass::Grade(grade)) = iso_class(nu(x)) {
            prop_assert!(grade.lowest().value <= x * (1.0 + 1e-9) && x <= grade.highest().value * (1.0 + 1e-9));
            prop_assert!(iso_grades().contains(&grade) && grade.lowest() < grade.midpoint());
        }
        for edition in [Edition::Before2013, Edition::April2013, Edition::January2015] {
            for grade in engine_oil_grades(nu(x), edition).unwrap_or_default() {
                prop_assert!(grade.lowest().value <= x * (1.0 + 1e-9) && grade.limit().is_some_and(|limit| x < limit.value));
                prop_assert!(engine_grades(edition).contains(&grade));
            }
        }
    }
}
