//! No input whatever makes the physics panic or answer with something that is not a number: a formula is either inside
//! its domain or it refuses, in words.

use loopleaf::{
    quantity::si::{
        Angle, DynamicViscosity, Frequency, HeatCapacity, KinematicViscosity, Length, Mass, MassDensity, MassRate,
        NumberDensity, Power, Pressure, Ratio, SpecificHeatCapacity, SurfaceTension, Temperature, TemperatureInterval,
        ThermalConductance, Time, Velocity, Volume, VolumeRate,
    },
    trade::{capacity, density, dust, hydraulics, loop_balance, viscosity},
};
use proptest::prelude::*;
use std::fmt::Display;
use uom::si::{
    angle::radian, diffusion_coefficient::square_meter_per_second, dynamic_viscosity::pascal_second, frequency::hertz,
    heat_capacity::joule_per_kelvin, length::meter, mass::kilogram, mass_density::kilogram_per_cubic_meter,
    mass_rate::kilogram_per_second, power::watt, pressure::pascal, ratio::ratio,
    specific_heat_capacity::joule_per_kilogram_kelvin, surface_tension::newton_per_meter, temperature_interval,
    thermal_conductance::watt_per_kelvin, thermodynamic_temperature::kelvin, time::second, velocity::meter_per_second,
    volume::cubic_meter, volume_rate::cubic_meter_per_second, volumetric_number_density::per_cubic_meter,
};

/// Any float at all, the usual suspects, and numbers of the size that a bench has in SI units.
pub(super) fn any_number() -> impl Strategy<Value = f64> {
    let suspects = prop::sample::select(vec![
        0.0,
        -0.0,
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::MIN_POSITIVE,
        5e-324,
        f64::MAX,
        f64::MIN,
        1.0,
        -1.0,
        273.15,
        0.21e-6,
        2.0e-6,
        70.0e-6,
        20.0,
        800.9,
        1163.5,
    ]);
    let bench = (-9.0..9.0).prop_map(|power| 10_f64.powf(power));
    prop_oneof![1 => prop::num::f64::ANY, 2 => suspects, 5 => bench, 2 => 250.0..450.0, 2 => 0.0..1.0]
}

pub(super) fn numbers<const N: usize>() -> impl Strategy<Value = [f64; N]> {
    prop::collection::vec(any_number(), N).prop_map(|drawn| drawn.try_into().unwrap())
}

/// An answer is finite; a refusal is a sentence.
pub(super) fn fair<E: Display>(what: &str, answer: Result<f64, E>) {
    match answer {
        Ok(value) => assert!(value.is_finite(), "{what} answers {value}"),
        Err(refusal) => assert!(refusal.to_string().len() > 20, "{what} refuses with too few words: {refusal}"),
    }
}

pub(super) fn nu(x: f64) -> KinematicViscosity {
    KinematicViscosity::new::<square_meter_per_second>(x)
}
pub(super) fn mu(x: f64) -> DynamicViscosity {
    DynamicViscosity::new::<pascal_second>(x)
}
pub(super) fn t(x: f64) -> Temperature {
    Temperature::new::<kelvin>(x)
}
pub(super) fn rho(x: f64) -> MassDensity {
    MassDensity::new::<kilogram_per_cubic_meter>(x)
}
pub(super) fn p(x: f64) -> Pressure {
    Pressure::new::<pascal>(x)
}
pub(super) fn q(x: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_second>(x)
}
pub(super) fn m(x: f64) -> Mass {
    Mass::new::<kilogram>(x)
}
pub(super) fn v(x: f64) -> Volume {
    Volume::new::<cubic_meter>(x)
}
pub(super) fn s(x: f64) -> Time {
    Time::new::<second>(x)
}
pub(super) fn d(x: f64) -> Length {
    Length::new::<meter>(x)
}
pub(super) fn r(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}
pub(super) fn n(x: f64) -> NumberDensity {
    NumberDensity::new::<per_cubic_meter>(x)
}
pub(super) fn heat(x: f64) -> SpecificHeatCapacity {
    SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>(x)
}

/// Found by chance: a finite viscosity whose index is none.
#[test]
fn an_oil_thicker_than_any_has_no_index() {
    let refused = viscosity::viscosity_index(nu(3.852_977_266_525_874_6e300), nu(2e-6)).unwrap_err();
    assert!(refused.to_string().contains("thick"), "{refused}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..Default::default() })]

    #[test]
    fn of_viscosity([a, b, c, e, f, g] in numbers::<6>(), terms in 0..7_usize) {
        use viscosity::*;
        let terms = Terms::ALL[terms];
        fair("transform", transform(nu(a), terms));
        assert!(transform_inverse(a, terms).is_none_or(|nu| nu.value.is_finite()));
        assert!(short_form_inverse(a).is_none_or(|nu| nu.value.is_finite()));
        let points = [
            Point { temperature: t(a), viscosity: nu(b), uncertainty: nu(c) },
            Point { temperature: t(e), viscosity: nu(f), uncertainty: nu(c) },
        ];
        match Curve::through_with(terms, &points) {
            Err(refusal) => fair("a curve", Err(refusal)),
            Ok(curve) => {
                fair("viscosity", curve.viscosity_at(t(g)).map(|found| found.value.value));
                fair("temperature", curve.temperature_for(nu(g)).map(|found| found.value.value));
                fair("sensitivity", curve.sensitivity_at(t(g)).map(|x| x.value));
                let du = TemperatureInterval::new::<temperature_interval::kelvin>(c);
                fair("u of viscosity", curve.viscosity_uncertainty(t(g), du).map(|x| x.value));
                fair("u of temperature", curve.temperature_uncertainty(nu(g), nu(c)).map(|x| x.value));
                fair("window", curve.window(nu(g), nu(c)).map(|window| window.half_width().value));
            }
        }
        fair("index", viscosity_index(nu(a), nu(b)));
        fair("u of index", viscosity_index_uncertainty((nu(a), nu(c)), (nu(b), nu(c))));
        fair("KV40", viscosity_at_40_from_index(nu(a), b).map(|x| x.value));
        fair("SUS", saybolt_universal(nu(a), t(b)).map(|x| x.value));
        fair("SUS back", viscosity_from_saybolt(s(a), t(b)).map(|x| x.value));
        fair("ISO class", iso_class(nu(a)).map(|_| 0.0));
        fair("SAE grades", engine_oil_grades(nu(a), Edition::January2015).map(|_| 0.0));
        fair("blend", blend(nu(a), r(b), nu(c)).map(|x| x.value));
        fair("share", share_of_thinner(nu(a), nu(b), nu(c)).map(|x| x.value));
    }

    #[test]
    fn of_density([a, b, c, e, f] in numbers::<5>()) {
        use density::*;
        for group in [Group::Lubricating, Group::Fuel, Group::Jet, Group::Crude] {
            match Oil::measured(group, rho(a), t(b)) {
                Err(refusal) => fair("an oil", Err(refusal)),
                Ok(oil) => {
                    fair("density", oil.density_at(t(c)).map(|x| x.value));
                    fair("CTL", oil.volume_correction(t(c)).map(|x| x.value));
                    fair("pressed", oil.density_under_pressure(t(c), p(e)).map(|x| x.value));
                    let du = TemperatureInterval::new::<temperature_interval::kelvin>(e);
                    fair("u", oil.density_uncertainty(t(c), rho(e), du, r(f)).map(|x| x.value));
                }
            }
        }
        fair("54D", density_by_table_54d(rho(a), t(b)).map(|x| x.value));
        fair("IPTS-68", on_ipts_68(t(a)).map(|x| x.value));
        fair("dynamic", dynamic_viscosity(nu(a), rho(b)).map(|x| x.value));
        fair("kinematic", kinematic_viscosity(mu(a), rho(b)).map(|x| x.value));
        fair("from API gravity", density_from_api_gravity(a).map(|x| x.value));
        fair("API gravity", api_gravity(rho(a)));
    }

    #[test]
    fn of_flow([a, b, c, e, f, g] in numbers::<6>()) {
        use hydraulics::*;
        let pipe = Pipe { bore: d(a), length: d(b), roughness: d(c) };
        fair("velocity", mean_velocity(q(a), d(b)).map(|x| x.value));
        fair("Reynolds", reynolds(q(a), d(b), nu(c)).map(|x| x.value));
        fair("friction", friction_factor(r(a), r(b)).map(|x| x.highest + x.lowest));
        for formula in [Explicit::Haaland, Explicit::SwameeJain, Explicit::Churchill, Explicit::Blasius] {
            fair("explicit friction", explicit_friction(formula, r(a), r(b)));
        }
        fair("line loss", line_loss(&pipe, q(e), nu(f), rho(g)).map(|x| (x.highest + x.lowest).value));
        fair("minor loss", minor_loss(r(a), rho(b), Velocity::new::<meter_per_second>(c)).map(|x| x.value));
        fair("inlet", inlet_pressure(p(a), p(b), p(c)).map(|x| x.value));
        fair("orifice flow", orifice_flow(r(a), d(b), p(c), rho(e)).map(|x| x.value));
        fair("orifice loss", orifice_loss(r(a), d(b), q(c), rho(e)).map(|x| x.value));
        fair("head", hydrostatic_head(d(a), rho(b)).map(|x| x.value));
        let sigma = |x| SurfaceTension::new::<newton_per_meter>(x);
        let angle = Angle::new::<radian>(c);
        fair("bubble", bubble_pressure(d(a), sigma(b), angle).map(|x| x.value));
        fair("pore", bubble_diameter(p(a), sigma(b), angle).map(|x| x.value));
        fair("net bubble", net_bubble_pressure(p(a), d(b), rho(c)).map(|x| x.value));
        fair("normalised", normalised_bubble_pressure(p(a), sigma(b), sigma(c)).map(|x| x.value));
    }

    #[test]
    fn of_restrictions([a, b, c, e, f, g] in numbers::<6>(), inertial: bool) {
        use hydraulics::*;
        let terms = if inertial { Terms::ViscousInertial } else { Terms::Viscous };
        let readings = [(a, b), (c, e), (f, g)].map(|(x, y)| Reading { flow: q(x), pressure: p(y) });
        let (from, to) = (Fluid { viscosity: mu(a), density: rho(b) }, Fluid { viscosity: mu(c), density: rho(e) });
        fair("cold", cold_from_hot(p(f), &from, &to, Share::Unknown).map(|x| x.highest.value));
        fair("cold", cold_from_hot(p(f), &from, &to, Share::Between(r(g), r(a))).map(|x| x.lowest.value));
        match Restriction::fit(&readings, terms) {
            Err(refusal) => fair("a fit", Err(refusal)),
            Ok(curve) => {
                fair("pressure", curve.pressure_at(q(g)).map(|x| x.0.value));
                fair("u", curve.uncertainty_at(q(g), q(a)).map(|x| x.unwrap_or_default().value));
                fair("share", curve.viscous_share(q(g)).map(|x| x.value));
                fair("knee", curve.flow_at(p(g)).map(|x| x.0.value));
                fair("moved", curve.with_fluid(&from, &to).and_then(|x| x.pressure_at(q(c))).map(|x| x.0.value));
                fair("restated", curve.restate(readings[0], &from, &to).map(|x| x.value));
                fair("net", curve.less(&curve).pressure_at(q(a)).map(|x| x.0.value));
            }
        }
    }

    #[test]
    fn of_heat([a, b, c, e, f, g] in numbers::<6>()) {
        use hydraulics::*;
        fair("pump", pump_heating(p(a), q(b)).map(|x| x.value));
        fair("rise", rise_per_pass(p(a), rho(b), heat(c)).map(|x| x.value));
        fair("capacity", Bath::capacity_of(v(a), rho(b), heat(c)).map(|x| x.value));
        let loss = ThermalConductance::new::<watt_per_kelvin>(c);
        match Bath::new(HeatCapacity::new::<joule_per_kelvin>(a), Power::new::<watt>(b), loss, t(e)) {
            Err(refusal) => fair("a bath", Err(refusal)),
            Ok(bath) => {
                fair("after", bath.temperature_after(t(f), s(g)).map(|x| x.value));
                fair("time", bath.time_to_reach(t(f), t(g)).map(|x| x.value));
            }
        }
    }

    #[test]
    fn of_dust([a, b, c, e, f, g] in numbers::<6>()) {
        use dust::*;
        match SizeDistribution::new(&[(d(a), r(b)), (d(c), r(e)), (d(f), r(1.0))]) {
            Err(refusal) => fair("a distribution", Err(refusal)),
            Ok(dust) => {
                fair("finer", dust.finer_than(d(g)).map(|x| x.value));
                fair("size", dust.size_at(r(g)).map(|x| x.value));
                fair("particles", dust.particles_above(d(g), m(a), rho(2650.0)));
                fair("concentration", dust.concentration_above(d(g), rho(a), rho(b)).map(|x| x.value));
            }
        }
        fair("slurry", slurry_concentration(m(a), v(b), rho(c)).map(|x| x.value));
        fair("level", base_level(rho(a), q(b), q(c)).map(|x| x.value));
        fair("feed", feed_concentration(rho(a), q(b), q(c)).map(|x| x.value));
        fair("time", predicted_time(m(a), rho(b), q(c)).map(|x| x.value));
        fair("volume", slurry_volume(s(a), q(b), r(c), v(e)).map(|x| x.value));
        fair("dust", dust_in(rho(a), v(b)).map(|x| x.value));
        fair("settling", settling_velocity(d(a), rho(b), rho(c), mu(e)).map(|x| x.value));
        let speed = |x| Velocity::new::<meter_per_second>(x);
        fair("carrying", carrying_multiple(speed(a), speed(b)).map(|x| x.value));
        fair("weighing", weighing_uncertainty(m(a), m(b)).map(|x| x.value));
    }

    #[test]
    fn of_the_loop([a, b, c, e, f, g] in numbers::<6>(), at_inlet: bool) {
        use loop_balance::*;
        let entry = if at_inlet { Entry::FilterInlet } else { Entry::Tank };
        let rate = Frequency::new::<hertz>(f);
        match Loop::new(v(a), q(b), r(c)) {
            Err(refusal) => fair("a loop", Err(refusal)),
            Ok(rig) => {
                fair("turnovers", rig.turnovers(s(e)).map(|x| x.value));
                fair("remaining", rig.remaining(s(e)).map(|x| x.value));
                fair("u of remaining", rig.remaining_uncertainty(s(e), r(f)).map(|x| x.value));
                fair("batch", rig.after_batch(m(f), s(e)).map(|x| x.value));
                fair("injection", rig.under_injection(entry, rho(f), s(e)).map(|x| x.value));
                fair("ingression", rig.with_ingression(n(g), rate, s(e)).map(|x| x.value));
                fair("clean", rig.time_to_clean(r(e)).map(|x| x.value));
                fair("turnovers to clean", rig.turnovers_to_clean(r(e)).map(|x| x.value));
                fair("against", rig.time_to_clean_with_ingression(n(g), n(e), rate).map(|x| x.value));
            }
        }
        fair("delay", line_delay(v(a), q(b), at_inlet).map(|x| x.first.value));
        match fit_decay(&[(s(a), n(b)), (s(c), n(e)), (s(f), n(g))]) {
            Err(refusal) => fair("a decay", Err(refusal)),
            Ok(decay) => {
                fair("rate", Ok::<_, LoopError>(decay.rate.value + decay.start.value + decay.scatter));
                fair("efficiency", decay.efficiency(v(a), q(b), r(c)).map(|(e, u)| (e + u).value));
            }
        }
    }

    #[test]
    fn of_any_phase([a, b, c, e, f, g] in numbers::<6>(), at_inlet: bool) {
        use loop_balance::*;
        let rate = MassRate::new::<kilogram_per_second>(g);
        let class = Class { specimen: r(a), polisher: r(b), injection: rate, ingression: rate };
        let phase = Phase {
            time: s(c),
            specimen_flow: q(e),
            polisher_flow: q(f),
            entry: if at_inlet { Entry::FilterInlet } else { Entry::Tank },
            injection_flow: q(b),
            withdrawal: Withdrawal { upstream: q(a), downstream: q(g) },
        };
        let end = State::clean(v(f), 1).dosed(&[m(g)]).and_then(|x| x.sampled(v(a))).and_then(|x| x.after(&[class], &phase));
        fair("a phase", end.map(|x| x.classes[0].total().value + x.volume.value));
    }

    #[test]
    fn of_capacity([a, b, c, e, f, g] in numbers::<6>()) {
        use capacity::*;
        let (w, gauge) = (|x, u| Weighed { mass: m(x), uncertainty: m(u) }, |x, u| Gauged { pressure: p(x), uncertainty: p(u) });
        let doses = [Dose { dust: w(a, b), after: gauge(c, b) }, Dose { dust: w(a, b), after: gauge(e, b) }];
        fair("capacity", at_terminal(gauge(f, b), &doses, p(g)).map(|x| (x.mass + x.uncertainty).value));
        fair("injected", injected_mass(rho(a), q(b), s(c)).map(|x| x.value));
        let ledger = Ledger { given: vec![w(a, b)], left_behind: vec![w(c, b)], elsewhere: vec![w(e, f)] };
        fair("closure", ledger.closure(w(g, b)).map(|x| x.difference.mass.value + x.relative.unwrap_or_default().value));
        fair("terminal", Terminal::new(p(a), p(b), p(c)).and_then(|x| x.assembly_at(r(e))).map(|x| x.value));
    }
}

/// A refusal says what was given, why it cannot be used and what to do.
#[test]
fn refusals_read_as_a_bench_would_say_them() {
    use viscosity::{Curve, Point};
    let said = |refusal: &dyn Display| refusal.to_string();
    assert_eq!(
        said(&viscosity::transform(nu(0.1e-6), viscosity::Terms::CToH).unwrap_err()),
        "0.1 mm²/s lies outside 0.21 to 20000000 mm²/s, where the ASTM D341 relation holds: give a viscosity inside it"
    );
    let swapped = [Point::nominal(t(313.15), nu(5.4e-6)), Point::nominal(t(373.15), nu(32e-6))];
    assert_eq!(
        said(&Curve::through(&swapped).unwrap_err()),
        "the viscosity does not fall as the temperature rises: check whether two points were swapped"
    );
    assert_eq!(
        said(&density::Oil::measured(density::Group::Lubricating, rho(0.872), t(288.15)).unwrap_err()),
        "a density of 0.872 kg/m³ lies outside this group of oils in API MPMS 11.1 (800.9 to 1163.5 kg/m³ at 60 °F): check \
         the value and its unit, or measure the density at the test temperature"
    );
    assert_eq!(
        said(&loop_balance::Loop::new(v(0.02), q(3e-4), r(98.7)).unwrap_err()),
        "the efficiency is 98.7: a share lies from 0 to 1; check whether it was meant in per cent"
    );
    let short = loop_balance::State::clean(v(0.02), 0).sampled(v(0.025)).unwrap_err();
    assert_eq!(said(&short), "25 L would be taken out of 20 L in this phase: the tank runs dry; take less or add oil");
}
