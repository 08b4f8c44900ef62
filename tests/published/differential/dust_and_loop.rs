//! Dust, the loop and the ledger of a loading test.

use super::{
    super::si::{grams, kg_m3, kpa, l_min, litres, mg_l, minutes, mm},
    compare,
};
use loopleaf::{
    quantity::si::{Frequency, Length, NumberDensity, Ratio, Velocity},
    trade::{
        capacity::{Ledger, Terminal, Weighed, injected_mass},
        dust::{
            DistributionLimits, SizeDistribution, base_level, base_level_uncertainty, carrying_multiple, dust_in,
            feed_concentration, predicted_time, slurry_concentration, slurry_concentration_uncertainty, slurry_volume,
            weighing_uncertainty,
        },
        loop_balance::{Decay, Entry, Loop, State, line_delay},
    },
};
use uom::si::{frequency::hertz, ratio::ratio, velocity::meter_per_second, volumetric_number_density::per_cubic_meter};

fn part(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}

fn um(x: f64) -> Length {
    mm(x / 1e3)
}

fn per_ml(x: f64) -> NumberDensity {
    NumberDensity::new::<per_cubic_meter>(x * 1e6)
}

/// Six sizes, six lowest and six highest shares.
fn limits(x: &[f64]) -> Vec<(Length, Ratio, Ratio)> {
    (0..6).map(|i| (um(x[i]), part(x[6 + i]), part(x[12 + i]))).collect()
}

#[test]
pub(super) fn dust() {
    compare("dust midway", 1e-10, 1e-6, |x| {
        let dust = SizeDistribution::midway(&limits(x)).unwrap();
        let count = dust.concentration_above(um(x[18]), mg_l(1.0), kg_m3(2650.0)).unwrap();
        let size = dust.size_at(part(x[19])).unwrap();
        vec![dust.finer_than(um(x[18])).unwrap().value, size.value * 1e6, count.value / 1e6]
    });
    compare("dust within limits", 1e-9, 1e-2, |x| {
        let grade = DistributionLimits::new(&limits(x)).unwrap();
        let found = grade.particles_above(um(x[18]), grams(1e-3), kg_m3(2650.0)).unwrap();
        let level = grade.concentration_above(um(x[18]), mg_l(1.0), kg_m3(2650.0)).unwrap();
        assert!((level.high / 1e3 / found.high - 1.0).abs() < 1e-12, "a milligram in a litre is one in 1/1000 m³");
        vec![found.low, found.high]
    });
    compare("slurry", 1e-11, 0.0, |x| {
        let (m, v, rho, qi, q) = (grams(x[0]), litres(x[1]), kg_m3(x[2]), l_min(x[3]), l_min(x[4]));
        let slurry = slurry_concentration(m, v, rho).unwrap();
        let u = slurry_concentration_uncertainty((m, grams(x[8])), (v, litres(x[9])), (rho, kg_m3(x[10]))).unwrap();
        let level = base_level(slurry, qi, q).unwrap();
        let u_level = base_level_uncertainty((slurry, u), (qi, l_min(x[11])), (q, l_min(x[12]))).unwrap();
        let time = predicted_time(grams(x[5]), level, q).unwrap();
        vec![
            slurry.value,
            u.value,
            level.value * 1e3,
            u_level.value * 1e3,
            feed_concentration(level, q, qi).unwrap().value,
            time.value / 60.0,
            slurry_volume(time, qi, part(x[7]), litres(x[6])).unwrap().value * 1e3,
            dust_in(slurry, v).unwrap().value * 1e3,
        ]
    });
    compare("carrying and weighing", 1e-12, 0.0, |x| {
        let speed = |x| Velocity::new::<meter_per_second>(x);
        let weighing = weighing_uncertainty(grams(x[2]), grams(x[3])).unwrap();
        vec![carrying_multiple(speed(x[0]), speed(x[1])).unwrap().value, weighing.value * 1e3]
    });
}

#[test]
pub(super) fn loops() {
    compare("closed loop", 1e-10, 1e-9, |x| {
        let rig = Loop::new(litres(x[0]), l_min(x[1]), part(x[2])).unwrap();
        let (t, g, rate, start) = (minutes(x[3]), mg_l(x[5]), Frequency::new::<hertz>(x[7] / 60.0), per_ml(x[6]));
        let against =
            rig.time_to_clean_with_ingression(start, per_ml(x[9]), rate).map_or(super::NONE, |time| time.value / 60.0);
        let left = part(x[8]);
        vec![
            rig.remaining(t).unwrap().value,
            rig.after_batch(grams(x[4]), t).unwrap().value,
            rig.under_injection(Entry::Tank, g, t).unwrap().value * 1e3,
            rig.under_injection(Entry::FilterInlet, g, t).unwrap().value * 1e3,
            rig.with_ingression(start, rate, t).unwrap().value / 1e6,
            rig.floor(rate).unwrap().value / 1e6,
            rig.time_to_clean(left).unwrap().value / 60.0,
            rig.turnovers_to_clean(left).unwrap().value,
            against,
            rig.turnover_time().value / 60.0,
            rig.time_constant().value / 60.0,
            rig.half_life().value / 60.0,
            rig.turnovers(t).unwrap().value,
            rig.downstream(g).value * 1e3,
        ]
    });
    compare("closed loop uncertainty", 1e-10, 0.0, |x| {
        let rig = Loop::new(litres(x[0]), l_min(x[1]), part(x[2])).unwrap();
        let u = rig.time_constant_uncertainty(litres(x[4]), l_min(x[5]), part(x[6])).unwrap();
        let left = rig.remaining_uncertainty(minutes(x[3]), u / rig.time_constant()).unwrap();
        vec![u.value / 60.0, left.value]
    });
    compare("line delay", 1e-12, 0.0, |x| {
        let delay = line_delay(litres(x[0]), l_min(x[1]), true).unwrap();
        vec![delay.mean.value, delay.first.value]
    });
    compare("removal", 1e-11, 0.0, |x| {
        let per_min = |x: f64| Frequency::new::<hertz>(x / 60.0);
        let decay = Decay {
            rate: per_min(x[0]),
            rate_uncertainty: per_min(x[1]),
            start: per_ml(1.0),
            scatter: 0.0,
            degrees_of_freedom: 3,
        };
        let (efficiency, u) = decay.efficiency(litres(x[2]), l_min(x[3]), part(x[4])).unwrap();
        vec![efficiency.value, u.value]
    });
    compare("bottles", 1e-12, 0.0, |x| {
        let mut held = State::clean(litres(x[0]), 1);
        held.classes[0].tank = grams(x[2]);
        let end = held.dosed(&[grams(x[3])]).unwrap().sampled(litres(x[1])).unwrap();
        let place = end.classes[0];
        vec![
            end.volume.value * 1e3,
            place.tank.value * 1e3,
            place.withdrawn.value * 1e3,
            place.total().value * 1e3,
            end.level(0).unwrap().value,
        ]
    });
}

#[test]
pub(super) fn capacities() {
    compare("ledger", 1e-10, 1e-2, |x| {
        let w = |i: usize| Weighed { mass: grams(x[2 * i]), uncertainty: grams(x[2 * i + 1]) };
        let ledger = Ledger { given: vec![w(0), w(1)], left_behind: vec![w(2)], elsewhere: vec![w(3), w(4)] };
        let closure = ledger.closure(w(5)).unwrap();
        let weighed = [ledger.delivered().unwrap(), ledger.retained().unwrap(), closure.difference];
        let mut all: Vec<f64> = weighed.iter().flat_map(|w| [w.mass.value * 1e3, w.uncertainty.value * 1e3]).collect();
        all.extend([closure.relative.unwrap().value, f64::from(u8::from(closure.closes))]);
        all
    });
    compare("terminal", 1e-11, 1e-2, |x| {
        let end = Terminal::new(kpa(x[0]), kpa(x[1]), kpa(x[2])).unwrap();
        let injected = injected_mass(kg_m3(x[4]), l_min(x[5]), minutes(x[6])).unwrap();
        let all = [end.clean_element(), end.assembly(), end.assembly_at(part(x[3])).unwrap()];
        [all.map(|pressure| pressure.value / 1e3).to_vec(), vec![injected.value * 1e3]].concat()
    });
}
