//! Dust in the loop, and what a filter holds, against what was published about them.

use super::{
    si::{grams, kg_m3, kpa, l_min, litres, mg_l, minutes, mm2_s},
    values::{Row, Values},
};
use loopleaf::{
    quantity::si::{Frequency, Length, MassRate, NumberDensity, Pressure, Ratio},
    trade::{
        capacity::{CapacityError, Dose, Gauged, Ledger, Terminal, Weighed, at_terminal, injected_mass},
        dust::{
            CARRYING_MULTIPLE, DustError, SizeDistribution, base_level, carrying_multiple, dust_in, feed_concentration,
            predicted_time, settling_velocity, slurry_concentration, slurry_volume, weighing_uncertainty,
        },
        loop_balance::{Class, Entry, Loop, LoopError, Phase, State, Withdrawal, fit_decay, line_delay},
    },
};
use uom::si::{
    frequency::hertz, length::meter, mass_rate::kilogram_per_second, pressure::pascal, ratio::ratio,
    volumetric_number_density::per_cubic_meter,
};

fn part(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}

fn um(x: f64) -> Length {
    Length::new::<meter>(x * 1e-6)
}

fn per_ml(x: f64) -> NumberDensity {
    NumberDensity::new::<per_cubic_meter>(x * 1e6)
}

/// Times in the published rows of clean-up are in the unit of V/Q; minutes and litres do for all.
fn cleaned(row: &Row) -> Loop {
    Loop::new(litres(row.input("V")), l_min(row.input("Q")), part(row.input("E"))).unwrap()
}

#[test]
pub(super) fn clean_up_of_a_loop() {
    let mut values = Values::physics("loop clean-up");
    for prefix in ["clean-0", "clean-1"] {
        values.check(prefix, |row| {
            let time = minutes(row.input("t"));
            vec![cleaned(row).remaining(time).unwrap().value, cleaned(row).turnovers(time).unwrap().value]
        });
    }
    values.check("clean-time-", |row| {
        let remaining = part(1.0 / row.input("N0_over_N"));
        vec![cleaned(row).time_to_clean(remaining).unwrap().value / 60.0]
    });
    values.check("clean-half-life", |row| vec![cleaned(row).half_life().value / 60.0]);
    values.check("clean-codes", |row| {
        assert_eq!((row.input("from_code"), row.input("to_code")), (21.0, 15.0));
        vec![cleaned(row).time_to_clean(part(320.0 / 20_000.0)).unwrap().value / 60.0]
    });
    let seven = |efficiency: f64| Loop::new(litres(1.0), l_min(1.0), part(efficiency)).unwrap().remaining(minutes(7.0));
    let ours: fn(&str) -> bool =
        |name| name.starts_with("N_over") || name.starts_with("equivalent") || name.starts_with("same");
    values.check_part("clean-rule-of-seven", ours, |row| {
        if row.id().ends_with("time") {
            let gallon = 3.785411784;
            let pump = Loop::new(litres(50.0 * gallon), l_min(5.0 * gallon), part(1.0)).unwrap();
            return vec![pump.turnover_time().value / 60.0 * row.input("turnovers")];
        }
        let all = seven(1.0).unwrap().value;
        vec![all, 1.0 / all, seven(1.0 - 1.0 / 75.0).unwrap().value]
    });
    values.check("clean-with-ingression", |row| {
        let tank = Loop::new(litres(row.input("V_L")), l_min(row.input("Q_L_min")), part(row.input("E"))).unwrap();
        let rate = Frequency::new::<hertz>(row.input("R_counts_per_min") / 60.0);
        let start = per_ml(row.input("N0_per_mL"));
        let after = |t: &f64| tank.with_ingression(start, rate, minutes(*t)).unwrap().value / 1e6;
        let target = tank.with_ingression(start, rate, minutes(15.0)).unwrap();
        let back = tank.time_to_clean_with_ingression(start, target, rate).unwrap();
        assert!((back.value / 900.0 - 1.0).abs() < 1e-12);
        let mut all = vec![tank.floor(rate).unwrap().value / 1e6];
        all.extend(row.inputs("t_min").iter().map(after));
        all
    });
    values.check("clean-fit-decay", |row| {
        let samples: Vec<_> =
            row.inputs("t_min").iter().zip(row.inputs("N")).map(|(t, n)| (minutes(*t), per_ml(n))).collect();
        let decay = fit_decay(&samples).unwrap();
        let (volume, flow) = (litres(row.input("V_L")), l_min(row.input("Q_L_min")));
        let (efficiency, uncertainty) = decay.efficiency(volume, flow, part(0.0)).unwrap();
        assert!(uncertainty.value > 0.0 && uncertainty.value < 0.01);
        vec![decay.rate.value * 60.0, decay.start.value / 1e6, efficiency.value]
    });
    values.finish();
}

#[test]
pub(super) fn dust_in_a_multi_pass_loop() {
    let mut values = Values::physics("dust in the loop");
    let level = |row: &Row| mg_l(row.input("Gb_mg_L"));
    let flow = |row: &Row| l_min(row.input("q_L_min"));
    values.check("mp-Gi-", |row| {
        let injection = l_min(row.input("qi_L_min"));
        let slurry = feed_concentration(level(row), flow(row), injection).unwrap();
        assert!(((base_level(slurry, injection, flow(row)).unwrap() / level(row)).value - 1.0).abs() < 1e-12);
        vec![slurry.value * 1e3]
    });
    values.check("mp-predicted-time", |row| {
        vec![predicted_time(grams(row.input("capacity_g")), level(row), flow(row)).unwrap().value / 60.0]
    });
    values.check("mp-injection-volume", |row| {
        let (time, injection) = (minutes(row.input("t_min")), l_min(row.input("qi_L_min")));
        let volume = slurry_volume(time, injection, part(row.input("factor")), litres(row.input("V_dead_L")));
        vec![volume.unwrap().value * 1e3]
    });
    values.check("mp-injection-dust-mass", |row| {
        vec![dust_in(mg_l(row.input("Gi_mg_L")), litres(row.input("V_L"))).unwrap().value * 1e3]
    });
    values.check("mp-injected-mass", |row| {
        let (slurry, time) = (mg_l(row.input("Gi_mg_L")), minutes(row.input("t_min")));
        vec![injected_mass(slurry, l_min(row.input("qi_L_min")), time).unwrap().value * 1e3]
    });
    values.check("mp-retained-mass", |row| {
        let known = |mass| Weighed { mass, uncertainty: grams(0.0) };
        let left = dust_in(mg_l(row.input("G_final_mg_L")), litres(row.input("V_final_L"))).unwrap();
        let given = vec![known(grams(row.input("m_injected_g")))];
        let ledger = Ledger { given, left_behind: vec![], elsewhere: vec![known(left)] };
        vec![ledger.retained().unwrap().mass.value * 1e3]
    });
    values.check("mp-terminal-dp", |row| {
        let dp = |name| kpa(row.input(name));
        let end = Terminal::new(dp("dp_clean_assembly_kPa"), dp("dp_housing_kPa"), dp("net_terminal_kPa")).unwrap();
        let at = |percent: f64| end.assembly_at(part(percent / 100.0)).unwrap();
        let all = [end.clean_element(), end.assembly(), at(5.0), at(10.0), at(20.0), at(40.0), at(80.0)];
        all.map(|pressure| pressure.value / 1e3).to_vec()
    });
    values.check("mp-loop-", |row| {
        let filter = Loop::new(litres(row.input("V_L")), flow(row), part(row.input("E"))).unwrap();
        let up = |t: f64| filter.under_injection(Entry::Tank, level(row), minutes(t)).unwrap();
        let mut all: Vec<_> = row.inputs("t_min").iter().map(|t| up(*t).value * 1e3).collect();
        let settled = up(1e4);
        all.extend([settled.value * 1e3, filter.downstream(settled).value * 1e3]);
        all
    });
    values.finish();
}

fn rate(x: f64) -> MassRate {
    MassRate::new::<kilogram_per_second>(x)
}

fn phase(time: f64, flow: f64, entry: Entry) -> Phase {
    Phase {
        time: minutes(time),
        specimen_flow: l_min(flow),
        polisher_flow: l_min(0.0),
        entry,
        injection_flow: l_min(0.0),
        withdrawal: Withdrawal::default(),
    }
}

/// The general balance, integrated numerically, against the closed forms of the same loop.
#[test]
fn the_integrated_balance_agrees_with_the_closed_forms() {
    for (e, minutes_run) in [(0.2, 0.3), (0.5, 1.0), (0.9, 3.0), (1.0, 8.0)] {
        let filter = Loop::new(litres(20.0), l_min(20.0), part(e)).unwrap();
        let class = Class { specimen: part(e), polisher: part(0.0), injection: rate(0.0), ingression: rate(0.0) };
        let dosed = State::clean(litres(20.0), 1).dosed(&[grams(1.0)]).unwrap();
        let batch = dosed.after(&[class], &phase(minutes_run, 20.0, Entry::Tank)).unwrap();
        let closed = filter.after_batch(grams(1.0), minutes(minutes_run)).unwrap();
        assert!(((batch.level(0).unwrap() / closed).value - 1.0).abs() < 1e-9, "batch, E = {e}");
        for entry in [Entry::Tank, Entry::FilterInlet] {
            // 10 mg/L at 20 L/min, in a slurry of no volume.
            let feed = Class { injection: rate(0.01 * 20e-3 / 60.0), ..class };
            let run = phase(minutes_run, 20.0, entry);
            let tank = State::clean(litres(20.0), 1).after(&[feed], &run).unwrap().level(0).unwrap();
            let at_filter = if entry == Entry::FilterInlet { tank + mg_l(10.0) } else { tank };
            let closed = filter.under_injection(entry, mg_l(10.0), minutes(minutes_run)).unwrap();
            assert!(((at_filter / closed).value - 1.0).abs() < 1e-9, "{entry:?}, E = {e}");
        }
    }
}

/// A hand-worked phase: two equal bottles of a tenth leave 0.9² of the dust, and the ledger still adds up.
#[test]
fn bottles_and_a_polisher_are_booked_where_they_took_the_dust() {
    let start = State::clean(litres(20.0), 2).dosed(&[grams(1.0), grams(2.0)]).unwrap();
    let twice = start.sampled(litres(2.0)).unwrap().sampled(litres(1.8)).unwrap();
    assert!((twice.classes[0].tank.value * 1e3 - 0.81).abs() < 1e-12);
    assert!((twice.volume.value * 1e3 - 16.2).abs() < 1e-12);
    let class = |e| Class { specimen: part(e), polisher: part(1.0), injection: rate(1e-6), ingression: rate(0.0) };
    let run = Phase {
        polisher_flow: l_min(20.0),
        injection_flow: l_min(0.25),
        withdrawal: Withdrawal { upstream: l_min(0.1), downstream: l_min(0.15) },
        ..phase(30.0, 20.0, Entry::FilterInlet)
    };
    let end = twice.after(&[class(0.5), class(1.0)], &run).unwrap();
    for (after, before) in end.classes.iter().zip(&twice.classes) {
        let came_in = grams(1e-3 * 1800.0);
        assert!(((after.total() / (before.total() + came_in)).value - 1.0).abs() < 1e-11);
    }
    assert!(end.classes[0].polisher > end.classes[1].polisher);
    assert!(matches!(twice.sampled(litres(20.0)), Err(LoopError::RunsDry { .. })));
    let by_passed = Phase { specimen_flow: l_min(0.0), withdrawal: Withdrawal::default(), ..run };
    assert!(matches!(twice.after(&[class(0.5), class(1.0)], &by_passed), Err(LoopError::Unfit(_))));
    assert!(matches!(twice.after(&[class(0.5)], &run), Err(LoopError::ClassesDiffer { .. })));
}

#[test]
fn line_delay_is_halved_in_the_middle_of_a_laminar_line() {
    let delay = line_delay(litres(1.0), l_min(2.0), true).unwrap();
    assert!((delay.mean.value - 30.0).abs() < 1e-12 && (delay.first.value - 15.0).abs() < 1e-12);
    assert_eq!(line_delay(litres(1.0), l_min(2.0), false).unwrap().first, delay.mean);
}

/// Settling speeds of the job description, and the counts that 1 mg/L of medium dust makes (order of magnitude there).
#[test]
fn settling_and_counts_come_out_as_worked_by_hand() {
    let falls = |size, nu| {
        let mu = mm2_s(nu) * kg_m3(860.0);
        settling_velocity(um(size), kg_m3(2650.0), kg_m3(860.0), mu).unwrap().value * 60e3
    };
    for (size, nu, mm_per_min) in [(80.0, 10.0, 43.0), (80.0, 24.0, 18.0), (80.0, 500.0, 0.9), (20.0, 10.0, 2.7)] {
        assert!((falls(size, nu) / mm_per_min - 1.0).abs() < 0.05, "{size} µm at {nu} mm²/s: {}", falls(size, nu));
    }
    let too_large = settling_velocity(um(2000.0), kg_m3(2650.0), kg_m3(860.0), mm2_s(1.0) * kg_m3(860.0));
    assert!(matches!(too_large, Err(DustError::NotStokes { .. })));
    let line = loopleaf::trade::hydraulics::mean_velocity(l_min(30.0), um(19_000.0)).unwrap();
    let fall = settling_velocity(um(80.0), kg_m3(2650.0), kg_m3(860.0), mm2_s(10.0) * kg_m3(860.0)).unwrap();
    assert!(carrying_multiple(line, fall).unwrap().value > CARRYING_MULTIPLE);

    let a3 = [
        (1.0, 1.0, 2.0),
        (2.0, 4.0, 5.5),
        (3.0, 7.5, 9.5),
        (4.0, 10.5, 13.0),
        (5.0, 15.0, 19.0),
        (7.0, 28.0, 33.0),
        (10.0, 40.0, 45.0),
        (20.0, 65.0, 69.0),
        (40.0, 84.0, 88.0),
        (80.0, 99.0, 100.0),
        (120.0, 100.0, 100.0),
    ];
    let limits: Vec<_> = a3.iter().map(|(d, low, high)| (um(*d), part(low / 100.0), part(high / 100.0))).collect();
    let dust = SizeDistribution::midway(&limits).unwrap();
    for (size, per_ml) in [(4.0, 1160.0), (6.0, 400.0), (10.0, 82.0), (14.0, 29.0), (20.0, 8.0)] {
        let count = dust.concentration_above(um(size), mg_l(1.0), kg_m3(2650.0)).unwrap().value / 1e6;
        assert!((count / per_ml - 1.0).abs() < 0.08, "{count} above {size} µm");
        let counted = dust.particles_above(um(size), grams(1e-3), kg_m3(2650.0)).unwrap();
        assert!((counted / (count * 1e3) - 1.0).abs() < 1e-12);
    }
    assert!((dust.finer_than(um(10.0)).unwrap().value - 0.425).abs() < 1e-12);
    assert!((dust.size_at(part(0.425)).unwrap().value / 10e-6 - 1.0).abs() < 1e-12);
    assert_eq!(dust.particles_above(um(120.0), grams(1.0), kg_m3(2650.0)).unwrap(), 0.0);
    assert!(matches!(dust.finer_than(um(0.5)), Err(DustError::BelowDistribution { .. })));
    assert!(dust.size_at(part(0.001)).is_err());
    let open_end = SizeDistribution::new(&[(um(1.0), part(0.1)), (um(10.0), part(0.9))]);
    assert!(matches!(open_end, Err(DustError::NotADistribution { line: 2 })));
}

/// 1 g by difference: 0.4 % with 0.01 g, 4 % with 0.1 g; a slurry counts the room its dust takes.
#[test]
fn weighing_and_slurry_come_out_as_worked_by_hand() {
    for (readability, relative) in [(0.01, 0.00408), (0.1, 0.0408)] {
        let u = weighing_uncertainty(grams(readability), grams(0.0)).unwrap();
        assert!((u.value * 1e3 / relative - 1.0).abs() < 1e-3);
    }
    let slurry = slurry_concentration(grams(26.5), litres(0.99), kg_m3(2650.0)).unwrap();
    assert!((slurry.value - 26.5).abs() < 1e-12);
}

#[test]
fn capacity_at_the_terminal_pressure() {
    let u = |m| Weighed { mass: grams(m), uncertainty: grams(0.01) };
    let dp = |p: f64, spread: f64| Gauged { pressure: kpa(p), uncertainty: Pressure::new::<pascal>(spread * 1e3) };
    let doses = [(5.0, 30.0), (5.0, 60.0), (5.0, 120.0)].map(|(m, p)| Dose { dust: u(m), after: dp(p, 0.5) });
    let found = at_terminal(dp(20.0, 0.5), &doses, kpa(90.0)).unwrap();
    assert!((found.mass.value * 1e3 - 12.5).abs() < 1e-12);
    assert_eq!((found.dose, found.fell_back), (3, false));
    assert!((found.between.0.value * 1e3 - 10.0).abs() < 1e-12 && (found.between.1.value * 1e3 - 15.0).abs() < 1e-12);
    // By hand: weighing √(0.01²+0.01²+(0.5·0.01)²) = 0.015, pressures 5·0.5·√½/60 = 0.0295, curve 5·0.0850/√3 = 0.245.
    assert!((found.uncertainty.value * 1e3 - 0.2474).abs() < 5e-4, "{}", found.uncertainty.value * 1e3);
    let never = at_terminal(dp(20.0, 0.5), &doses, kpa(150.0));
    assert!(matches!(never, Err(CapacityError::NotReached { highest, .. }) if (highest - 120.0).abs() < 1e-9));
    assert!(matches!(at_terminal(dp(95.0, 0.5), &doses, kpa(90.0)), Err(CapacityError::CleanAboveTerminal { .. })));
    let torn = [(5.0, 60.0), (5.0, 50.0), (5.0, 120.0)].map(|(m, p)| Dose { dust: u(m), after: dp(p, 0.5) });
    assert!(at_terminal(dp(20.0, 0.5), &torn, kpa(90.0)).unwrap().fell_back);
}

#[test]
fn a_ledger_closes_within_its_uncertainty_or_says_by_how_much_not() {
    let w = |m, u| Weighed { mass: grams(m), uncertainty: grams(u) };
    let ledger = Ledger {
        given: vec![w(20.0, 0.01)],
        left_behind: vec![w(0.5, 0.01)],
        elsewhere: vec![w(0.6, 0.1), w(0.2, 0.02)],
    };
    assert!((ledger.delivered().unwrap().mass.value * 1e3 - 19.5).abs() < 1e-12);
    let closed = ledger.closure(w(18.6, 0.05)).unwrap();
    assert!(closed.closes && (closed.relative.unwrap().value - 0.1 / 18.7).abs() < 1e-12);
    assert!(!ledger.closure(w(17.0, 0.05)).unwrap().closes);
    assert!(ledger.closure(w(f64::NAN, 0.05)).is_err());
}
