//! The bench on paper against the closed forms and the general balance of the trade, and against sums done by hand.

use std::sync::LazyLock;

use loopleaf::foresight::{Class, Grid, Paper, Powder, Span, Stretch, Tank};
use loopleaf::plan::{Action, Plan};
use loopleaf::quantity::si::{
    DynamicViscosity, Mass, MassDensity, MassRate, Pressure, Ratio, Temperature, Time, Volume, VolumeRate,
};
use loopleaf::quantity::{Quantity, Unit};
use loopleaf::rehearsal::{Character, Needs, Part, page, rehearse, synthetic_csv};
use loopleaf::trade::hydraulics::{Bath, Fluid, Share, cold_from_hot};
use loopleaf::trade::loop_balance::{self, Entry, Loop, Phase, Withdrawal};
use proptest::prelude::*;
use uom::si::{
    dynamic_viscosity::pascal_second, heat_capacity::joule_per_kelvin, mass::kilogram,
    mass_density::kilogram_per_cubic_meter, mass_rate::kilogram_per_second, power::watt, pressure::pascal,
    ratio::ratio, thermal_conductance::watt_per_kelvin, thermodynamic_temperature::kelvin, time::second,
    volume::cubic_meter, volume_rate::cubic_meter_per_second,
};

use crate::shipped::{CAMPAIGNS, bless, bound, leaf_files, memory, root};

fn plan(campaign: &str) -> Plan {
    static BOUND: LazyLock<Vec<Plan>> = LazyLock::new(|| {
        let files = memory(&leaf_files());
        CAMPAIGNS.iter().map(|campaign| bound(&format!("{campaign}/campaign.leaf"), &files).0.unwrap()).collect()
    });
    BOUND[CAMPAIGNS.iter().position(|known| *known == campaign).unwrap()].clone()
}

fn near(found: f64, wanted: f64, share: f64) {
    assert!((found - wanted).abs() <= share * wanted.abs(), "{found} is not {wanted}");
}

/// One class with known efficiencies, and all of the dust in it.
fn alone(specimen: f64, polisher: f64) -> (Grid, Powder) {
    let class = Class { from: 0.0, specimen: Span::exactly(specimen), polisher: Span::exactly(polisher) };
    (Grid { classes: vec![class] }, Powder { shares: vec![1.0], numbers: vec![1e12] })
}

fn stretch(specimen: f64, polisher: f64, volume: f64, time: f64) -> Stretch {
    Stretch { specimen, polisher, volume, time }
}

const FLOW: f64 = 40.0e-3 / 60.0;
const VOLUME: f64 = 0.030;

fn the_loop(efficiency: f64) -> Loop {
    let flow = VolumeRate::new::<cubic_meter_per_second>(FLOW);
    Loop::new(Volume::new::<cubic_meter>(VOLUME), flow, Ratio::new::<ratio>(efficiency)).unwrap()
}

/// kg/m³ of the closed form, after a batch.
fn closed(efficiency: f64, batch: f64, time: f64) -> f64 {
    let after = the_loop(efficiency).after_batch(Mass::new::<kilogram>(batch), Time::new::<second>(time)).unwrap();
    after.get::<kilogram_per_cubic_meter>()
}

#[test]
fn a_mixed_batch_decays_as_the_closed_form_does() {
    for efficiency in [0.05, 0.5, 0.9, 1.0] {
        let (grid, powder) = alone(efficiency, 0.0);
        let mut tank = Tank::clean(1);
        tank.dose(1.5e-3, &powder);
        // Mixed while the specimen is by-passed: nothing is lost.
        let bypassed = stretch(0.0, 0.0, VOLUME, 180.0);
        tank.flow(&grid, &bypassed, &bypassed);
        near(tank.in_tank().low, 1.5e-3, 1e-15);
        for seconds in [15.0, 60.0, 345.0] {
            let mut later = tank.clone();
            let through = stretch(FLOW, 0.0, VOLUME, seconds);
            later.flow(&grid, &through, &through);
            let wanted = closed(efficiency, 1.5e-3, seconds) * VOLUME;
            near(later.in_tank().low, wanted, 1e-12);
            near(later.in_specimen().high, 1.5e-3 - wanted, 1e-9);
            near(later.remaining().unwrap().low, wanted / 1.5e-3, 1e-12);
        }
    }
}

#[test]
fn batches_on_top_of_each_other_add_up_as_the_closed_form_does() {
    // Three batches of 1 g, five minutes apart, all through the specimen: each decays by itself, so their levels add up.
    let (grid, powder) = alone(0.3, 0.0);
    let mut tank = Tank::clean(1);
    let five_minutes = stretch(FLOW, 0.0, VOLUME, 300.0);
    for _ in 0..3 {
        tank.dose(1e-3, &powder);
        tank.flow(&grid, &five_minutes, &five_minutes);
    }
    let wanted = closed(0.3, 1e-3, 300.0) + closed(0.3, 1e-3, 600.0) + closed(0.3, 1e-3, 900.0);
    near(tank.in_tank().high, wanted * VOLUME, 1e-12);
}

#[test]
fn a_feed_builds_up_as_the_closed_form_and_the_general_balance_do() {
    // 2 g fed within 400 s into the tank.
    let (rate, time) = (5e-6, 250.0);
    let (grid, powder) = alone(0.6, 0.0);
    let mut tank = Tank::clean(1);
    tank.feed(2e-3, rate, &powder);
    let first = stretch(FLOW, 0.0, VOLUME, time);
    tank.flow(&grid, &first, &first);
    let level = MassDensity::new::<kilogram_per_cubic_meter>(rate / FLOW);
    let closed = the_loop(0.6).under_injection(Entry::Tank, level, Time::new::<second>(time)).unwrap();
    near(tank.in_tank().low, closed.get::<kilogram_per_cubic_meter>() * VOLUME, 1e-9);
    // On past the end of the feed: the general balance in two phases.
    let second_part = stretch(FLOW, 0.0, VOLUME, 300.0);
    tank.flow(&grid, &second_part, &second_part);
    let start = loop_balance::State::clean(Volume::new::<cubic_meter>(VOLUME), 1);
    let fed = general(&start, (0.6, 0.0), rate, (FLOW, 0.0), 400.0);
    let after = general(&fed, (0.6, 0.0), 0.0, (FLOW, 0.0), 150.0);
    near(tank.in_tank().low, after.classes[0].tank.get::<kilogram>(), 1e-8);
    near(tank.in_specimen().low, after.classes[0].specimen.get::<kilogram>(), 1e-8);
}

#[test]
fn a_clean_up_shares_the_dust_between_specimen_and_polisher_as_the_general_balance_does() {
    let (grid, powder) = alone(0.5, 0.95);
    let mut tank = Tank::clean(1);
    tank.dose(4e-3, &powder);
    let start = loop_balance::State::clean(Volume::new::<cubic_meter>(VOLUME), 1);
    let start = start.dosed(&[Mass::new::<kilogram>(4e-3)]).unwrap();
    let both = stretch(FLOW, 0.4 * FLOW, VOLUME, 33.0);
    tank.flow(&grid, &both, &both);
    let middle = general(&start, (0.5, 0.95), 0.0, (FLOW, 0.4 * FLOW), 33.0);
    near(tank.in_specimen().low, middle.classes[0].specimen.get::<kilogram>(), 1e-8);
    near(tank.in_polisher().low, middle.classes[0].polisher.get::<kilogram>(), 1e-8);
    let polishing = stretch(0.0, FLOW, VOLUME, 120.0);
    tank.flow(&grid, &polishing, &polishing);
    let end = general(&middle, (0.5, 0.95), 0.0, (0.0, FLOW), 120.0);
    near(tank.in_tank().low, end.classes[0].tank.get::<kilogram>(), 1e-6);
    near(tank.in_polisher().low, end.classes[0].polisher.get::<kilogram>(), 1e-8);
}

fn general(
    start: &loop_balance::State,
    (specimen, polisher): (f64, f64),
    rate: f64,
    (flow, polished): (f64, f64),
    time: f64,
) -> loop_balance::State {
    let class = loop_balance::Class {
        specimen: Ratio::new::<ratio>(specimen),
        polisher: Ratio::new::<ratio>(polisher),
        injection: MassRate::new::<kilogram_per_second>(rate),
        ingression: MassRate::new::<kilogram_per_second>(0.0),
    };
    let phase = Phase {
        time: Time::new::<second>(time),
        specimen_flow: VolumeRate::new::<cubic_meter_per_second>(flow),
        polisher_flow: VolumeRate::new::<cubic_meter_per_second>(polished),
        entry: Entry::Tank,
        injection_flow: VolumeRate::new::<cubic_meter_per_second>(0.0),
        withdrawal: Withdrawal::default(),
    };
    start.after(&[class], &phase).unwrap()
}

#[test]
fn every_gram_of_both_examples_is_somewhere_at_every_step() {
    let mut steps = 0;
    for campaign in CAMPAIGNS {
        let plan = plan(campaign);
        for run in &plan.runs {
            let paper = Paper::new(&plan, &[run], plan.test_of(run).unwrap());
            let (mut given, mut waits) = (0.0, 0.0);
            for (step, _, after) in paper.walk() {
                if let Action::Dose { mass, .. } | Action::Condition { mass, .. } = &step.action {
                    waits = mass.target.as_ref().unwrap().si();
                    given += waits;
                }
                for places in [&after.tank.slow, &after.tank.fast] {
                    let all = places.all();
                    // A slurry that waits for its injection is in no circuit yet.
                    let off = (all - given).abs().min((all + waits - given).abs());
                    assert!(off <= 1e-9 * given, "{} {}: {all} of {given}", run.code, step.path);
                }
                steps += 1;
            }
            let last = paper.walk().last().unwrap().2;
            near(last.tank.slow.all(), given, 1e-9);
            near(last.tank.fast.all(), given, 1e-9);
        }
    }
    assert!(steps > 2000, "{steps}");
}

#[test]
fn a_restriction_is_carried_to_another_oil_as_the_trade_does_it_and_back_to_its_flow() {
    let plan = plan(CAMPAIGNS[0]);
    let run = plan.runs.first().unwrap();
    let paper = Paper::new(&plan, &[run], plan.test_of(run).unwrap());
    let known = paper.assumed.restrictions.first().unwrap();
    let fluid = |viscosity: f64| Fluid {
        viscosity: DynamicViscosity::new::<pascal_second>(viscosity * 870.0),
        density: MassDensity::new::<kilogram_per_cubic_meter>(870.0),
    };
    for viscosity in [8e-6, 12e-6, 93e-6, 400e-6] {
        let at = known.at(known.flow, Span::exactly(viscosity));
        let share = Share::Known(Ratio::new::<ratio>(known.viscous.low));
        for (end, found) in [(known.pressure.low, at.low), (known.pressure.high, at.high)] {
            let hot = fluid(known.viscosity.low);
            let wanted = cold_from_hot(Pressure::new::<pascal>(end), &hot, &fluid(viscosity), share).unwrap();
            near(found, wanted.lowest.get::<pascal>(), 1e-12);
        }
        let flows = known.flow_at(20_000.0, Span::exactly(viscosity)).unwrap();
        near(known.at(flows.low, Span::exactly(viscosity)).high, 20_000.0, 1e-9);
        near(known.at(flows.high, Span::exactly(viscosity)).low, 20_000.0, 1e-9);
    }
}

#[test]
fn heating_takes_what_a_bath_takes() {
    let plan = plan(CAMPAIGNS[0]);
    let run = plan.runs.first().unwrap();
    let paper = Paper::new(&plan, &[run], plan.test_of(run).unwrap());
    let mut seen = 0;
    for (step, before, _) in paper.walk() {
        let Action::HoldViscosity(hold) = &step.action else { continue };
        let from = before.temperature.map_or(293.15, |(temperature, _)| temperature);
        if hold.temperature < from + 5.0 {
            continue;
        }
        let power = plan.rig.heater.as_ref().unwrap().power.si();
        let lasts = paper.lasts(&before, &step.action);
        let oil = before.oil().unwrap();
        for (volume, loss) in [(oil.low, 0.0), (oil.high, 0.0), (oil.middle(), 20.0)] {
            let bath = Bath::new(
                uom::si::f64::HeatCapacity::new::<joule_per_kelvin>(paper.heat_capacity * volume),
                uom::si::f64::Power::new::<watt>(power),
                uom::si::f64::ThermalConductance::new::<watt_per_kelvin>(loss),
                Temperature::new::<kelvin>(293.15),
            )
            .unwrap();
            let to = Temperature::new::<kelvin>(hold.temperature);
            let time = bath.time_to_reach(Temperature::new::<kelvin>(from), to).unwrap().get::<second>();
            // The time to turn the knob, half a minute to two, is in it.
            assert!(lasts.low - 30.0 <= time * (1.0 + 1e-9) && time <= lasts.high, "{time} s outside {lasts:?}");
            if loss == 0.0 && volume == oil.low {
                near(lasts.low - 30.0, time, 1e-9);
            }
        }
        seen += 1;
    }
    assert!(seen >= 2, "{seen}");
}

fn line(needs: &Needs, stock: &str, what: &str) -> Span {
    let all = needs.fluids.iter().chain(&needs.dusts);
    let stock = all.into_iter().find(|s| s.name == stock).unwrap();
    stock.lines.iter().find(|(line, _)| *line == what).unwrap().1
}

#[test]
fn the_needs_of_the_ferry_campaign_are_those_added_up_by_hand() {
    let plan = plan(CAMPAIGNS[0]);
    let needs = rehearse(&plan, None).needs;
    // Seven runs of the restriction test, each with one change to the cold oil and one to the warm: 24 L in, and twice 8 L
    // through to flush. 7 · 24 L = 168 L; 7 · 2 · 8 L = 112 L. The loading runs find the warm oil in the rig.
    for oil in ["bench-oil-15", "bench-oil-68"] {
        for (what, litres) in [("fillings", 168.0), ("flushes at changes of fluid", 112.0)] {
            let found = line(&needs, oil, what);
            near(found.low, litres * 1e-3, 1e-12);
            near(found.high, litres * 1e-3, 1e-12);
        }
    }
    // One can of each run comes off full of cold oil: W2 0.55 twice, M3 0.55, T6 0.55, K7 0.55, P9 0.60, R4 0.50.
    near(line(&needs, "bench-oil-68", "left in specimens taken off").high, 3.85e-3, 1e-12);
    // Five loading runs, 0.50 g each through a throw-away filter.
    near(line(&needs, "lot-dust", "conditioning").high, 2.5e-3, 1e-12);
    // Model d holds 11 g give or take 2.75: at least 8.25 g in doses of 1.5 g and then 0.5 g is 8.5 g; model c at most 22.5 g.
    // By model, fewest: b 9.75 → 10; a 10.5 → 10.5; c 13.5 → 13.5 or 14; d 8.25 → 8.5; e 12 → 12.
    let doses = line(&needs, "lot-dust", "doses");
    assert!(
        (10.0 + 10.5 + 13.5 + 8.5 + 12.0 - 0.5..=10.0 + 10.5 + 14.0 + 8.5 + 12.0 + 0.5).contains(&(doses.low * 1e3))
    );
    // 11.20 + 2 · (14.90 + 9.40 + 22.00 + 7.80 + 31.50) EUR.
    let specimens: f64 = needs.specimens.iter().map(|bill| bill.price.as_ref().unwrap().1.high).sum();
    near(specimens, 182.40, 1e-12);
    // Bottles of a loading run: one after each of the two clean-ups, two of the blank rig, three of the clean specimen (one
    // with its twin), and two after batches 1, 4 and 7. All five runs come at least to batch 3, none of them below.
    let (volume, bottles) = needs.bottles.first().unwrap();
    assert_eq!(volume, "120 mL");
    assert!(bottles.low >= 5.0 * 9.0 && bottles.high <= 5.0 * 13.0, "{bottles:?}");
    let tests = needs.tests.first().unwrap();
    near(tests.price.as_ref().unwrap().1.high, tests.count.high * 38.0, 1e-12);
    // Half a kilogram is there; 130 % of what may be used is less.
    assert_eq!(needs.dusts.first().unwrap().short(), Some(0.0));
}

#[test]
fn a_run_longer_than_a_day_and_a_supply_that_is_short_are_said() {
    let mut plan = plan(CAMPAIGNS[0]);
    plan.fluids.get_mut("bench-oil-15").unwrap().supply =
        Some(Quantity::new("200", Unit::parse("L").unwrap()).unwrap());
    let found = rehearse(&plan, None);
    let oil = found.needs.fluids.iter().find(|stock| stock.name == "bench-oil-15").unwrap();
    near(oil.short().unwrap(), oil.total.high - 0.2, 1e-12);
    let text = loopleaf::rehearsal::text(&page(&plan, &found), 100);
    assert!(text.contains("more of bench-oil-15"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 100));
}

#[test]
fn the_days_hold_every_sitting_once_and_skip_the_week_ends() {
    for campaign in CAMPAIGNS {
        let plan = plan(campaign);
        let found = rehearse(&plan, None);
        let on: Vec<&String> = found.days.days.iter().flat_map(|day| &day.runs).collect();
        let sittings: usize = found.runs.iter().map(|run| run.sittings.len()).sum();
        assert_eq!(on.len(), sittings);
        assert!(found.days.fewest <= found.days.days.len() && found.days.days.len() <= found.days.most);
        let dates: Vec<i64> = found
            .days
            .days
            .iter()
            .map(|day| loopleaf::record::day_number(day.date.as_ref().unwrap()).unwrap())
            .collect();
        assert!(dates.iter().all(|day| (day + 3).rem_euclid(7) < 5), "{dates:?}");
        assert!(dates.windows(2).all(|pair| pair[0] < pair[1]), "{dates:?}");
    }
}

#[test]
fn more_specimens_show_smaller_differences_and_as_many_as_are_asked_for_show_the_wanted_one() {
    let plan = plan(CAMPAIGNS[0]);
    for found in rehearse(&plan, None).differences {
        assert_eq!(found.specimens, 1);
        let (least, needed) = (found.smallest.unwrap(), found.needed.unwrap());
        assert!(least > found.sd && needed > 2, "{found:?}");
        let sum: f64 = found.sources.iter().map(|(_, share)| share).sum();
        near(sum, 1.0, 1e-9);
    }
}

/// kPa of the last reading of this name in an invented record of R01.
fn invented(plan: &Plan, seed: u64, reading: &str) -> f64 {
    let run = plan.runs.first().unwrap();
    let record = synthetic_csv(plan, &run.code, seed, &Character::typical(plan, run, seed));
    let line = record.lines().find(|line| line.contains(reading)).unwrap();
    line.split(',').nth(7).unwrap().parse().unwrap()
}

#[test]
fn an_invented_specimen_is_as_its_model_is_expected_to_be() {
    let mut plan = plan(CAMPAIGNS[0]);
    let model = plan.campaign.models.get_mut("model-x").unwrap();
    model.expects.restriction.as_mut().unwrap().value.pressure =
        Quantity::new("8", Unit::parse("kPa").unwrap()).unwrap();
    let net = |plan: &Plan, seed| {
        invented(plan, seed, ",warm-sweep/rising/40-l-min/dp,") - invented(plan, seed, ",warm-tare/rising/40-l-min/dp,")
    };
    let mut values = Vec::new();
    for seed in 1..=8 {
        let eight = net(&plan, seed);
        // At 12.3 instead of 12 mm²/s; off by a quarter of the doubt and by 3 % from specimen to specimen, three times that at most.
        assert!((6.0..11.0).contains(&eight), "{eight} kPa, seed {seed}");
        values.push(eight);
        plan.campaign.models.get_mut("model-x").unwrap().expects.restriction.as_mut().unwrap().value.pressure =
            Quantity::new("16", Unit::parse("kPa").unwrap()).unwrap();
        near(net(&plan, seed), 2.0 * eight, 0.08);
        plan.campaign.models.get_mut("model-x").unwrap().expects.restriction.as_mut().unwrap().value.pressure =
            Quantity::new("8", Unit::parse("kPa").unwrap()).unwrap();
    }
    values.sort_by(f64::total_cmp);
    assert!(values[7] - values[0] > 0.1, "{values:?}");
}

#[test]
fn the_picture_of_the_documents_is_the_one_that_is_drawn() {
    let plan = plan(CAMPAIGNS[1]);
    let page = page(&plan, &rehearse(&plan, None));
    let parts = page.sections.iter().flat_map(|section| &section.parts);
    let svg = parts.filter_map(|part| if let Part::Picture { svg } = part { Some(svg) } else { None });
    let svg: Vec<&String> = svg.collect();
    // A time line, pressures, dust over time, counts: each with a title and a description, none with a number that is none.
    assert_eq!(svg.len(), 4);
    for one in &svg {
        assert!(one.contains("<title id=") && one.contains("<desc id=") && one.contains("role=\"img\""));
        assert!(!one.contains("NaN") && !one.contains("inf"));
    }
    let picture = svg.into_iter().find(|svg| svg.contains("against flow")).unwrap();
    let kept = root().join("docs/images/rehearsal-pressure.svg");
    if bless() {
        std::fs::write(&kept, picture).unwrap();
    }
    assert_eq!(&std::fs::read_to_string(kept).unwrap(), picture);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the numbers of a plan: no span upside down, nothing that is no number, dust neither made nor lost.
    #[test]
    fn spans_stay_upright_whatever_the_numbers(
        litres in 5_u32..60, kilopascals in 1_u32..400, capture in 1_u32..100, grams in 1_u32..60, run in 0_usize..17,
    ) {
        let mut plan = plan(CAMPAIGNS[0]);
        let quantity = |number: u32, unit: &str| Quantity::new(&number.to_string(), Unit::parse(unit).unwrap()).unwrap();
        for route in plan.rig.routes.values_mut() {
            route.volume = Some(quantity(litres, "L"));
        }
        for model in plan.campaign.models.values_mut() {
            if let Some(said) = &mut model.expects.restriction { said.value.pressure = quantity(kilopascals, "kPa"); }
            if let Some(said) = model.expects.captures.first_mut() { said.value.0 = quantity(capture, "%"); }
            if let Some(said) = &mut model.expects.capacity { said.value = quantity(grams, "g"); }
        }
        let run = plan.runs[run].clone();
        let paper = Paper::new(&plan, &[&run], plan.test_of(&run).unwrap());
        let upright = |span: Span| span.low <= span.high && span.low.is_finite() && span.high.is_finite() && span.low >= 0.0;
        for (step, _, after) in paper.walk() {
            let above = after.upstream_above(14e-6, &paper.grid);
            let behind = after.downstream_above(14e-6, &paper.grid);
            let pressures = [paper.restriction(&after).map(|p| p.pressure), paper.line_pressure(&after)];
            let spans = [Some(after.clock), after.oil(), after.viscosity(), after.turnover(), after.level(), above, behind];
            for span in spans.into_iter().chain(pressures).flatten() {
                prop_assert!(upright(span), "{}: {span:?}", step.path);
            }
        }
        let found = rehearse(&plan, Some(&run.code));
        prop_assert!(found.runs.iter().all(|run| upright(run.lasts) && run.lasts.low <= run.likely));
        for size in found.bottles.iter().flat_map(|bottle| &bottle.sizes) {
            prop_assert!(upright(size.concentration) && upright(size.raw));
        }
        let page = page(&plan, &found);
        let html = loopleaf::rehearsal::html(&page).unwrap();
        prop_assert!(!html.contains("NaN") && !html.contains("inf ") && html.contains("</html>"));
    }
}
