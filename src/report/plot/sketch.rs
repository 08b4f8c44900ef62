//! The rig as a sketch: what the oil goes through, where pressure is tapped, where bottles are drawn.

use indexmap::IndexMap;

use super::super::say;
use super::WIDTH;
use crate::picture::{Canvas, Fill, Hold, Shape, Stroke};
use crate::plan::{Instrument, Measures, Rig};

/// Not to scale and not the pipework: the order in which the oil meets things, as the plan says it.
pub(in crate::report) fn sketch(id: &str, rig: &Rig, instruments: &IndexMap<String, Instrument>) -> Option<String> {
    let mut canvas = Canvas::new(id, WIDTH, 300.0);
    let (line, back) = (92.0, 232.0);
    // The loop: out of the tank, through pump and specimen, and back.
    canvas.path(&[(70.0, 190.0), (70.0, line), (690.0, line), (690.0, back), (70.0, back)], Stroke::Solid);
    boxed(&mut canvas, (20.0, 170.0, 150.0, 100.0), &["Reservoir", &say::bounds(&rig.reservoir_holds)]);
    if let Some(heater) = &rig.heater {
        canvas.small(95.0, 258.0, Hold::Middle, &format!("heater {}", say::quantity(&heater.power)));
    }
    let delivers = say::bounds(&rig.pump_delivers);
    boxed(&mut canvas, (92.0, line - 22.0, 176.0, 44.0), &["Pump", &delivers]);
    canvas.line((286.0, line), (286.0, 140.0), Stroke::Dashed);
    canvas.small(286.0, 154.0, Hold::Middle, "relief, set at");
    canvas.small(286.0, 167.0, Hold::Middle, &say::quantity(&rig.relief.set));
    boxed(&mut canvas, (440.0, line - 30.0, 110.0, 60.0), &["Specimen"]);
    taps(&mut canvas, rig, instruments, line);
    samplers(&mut canvas, rig, line);
    if let Some(injector) = &rig.injector {
        canvas.line((405.0, line), (405.0, 132.0), Stroke::Dashed);
        canvas.small(405.0, 145.0, Hold::Middle, "injector");
        canvas.small(405.0, 158.0, Hold::Middle, &say::quantity(&injector.holds));
    }
    if rig.polisher.is_some() {
        canvas.path(&[(350.0, line), (350.0, 182.0), (600.0, 182.0), (600.0, back)], Stroke::Dashed);
        boxed(&mut canvas, (430.0, 164.0, 130.0, 36.0), &["Polishing filter"]);
    }
    canvas.arrow((650.0, line), (672.0, line));
    canvas.arrow((420.0, back), (396.0, back));
    canvas.small(410.0, back + 16.0, Hold::Middle, "back to the reservoir");
    let described = format!(
        "Reservoir {}, pump {delivers}, relief set at {}, specimen, back to the reservoir. {}",
        say::bounds(&rig.reservoir_holds),
        say::quantity(&rig.relief.set),
        rig.samplers
            .values()
            .map(|sampler| format!("{} sits {}.", sampler.title, sampler.sits))
            .collect::<Vec<_>>()
            .join(" ")
    );
    Some(canvas.finish(&format!("{}: sketch", rig.title), &described))
}

fn boxed(canvas: &mut Canvas, (x, y, wide, high): (f64, f64, f64, f64), words: &[&str]) {
    canvas.bar(x, y, wide, high, Fill::White);
    let first = y + high / 2.0 + 4.0 - 7.5 * (words.len() as f64 - 1.0);
    for (index, word) in words.iter().enumerate() {
        let y = first + 15.0 * index as f64;
        if index == 0 {
            canvas.bold(x + wide / 2.0, y, Hold::Middle, word)
        } else {
            canvas.small(x + wide / 2.0, y, Hold::Middle, word)
        }
    }
}

/// The taps on either side of the specimen, and what is read where.
fn taps(canvas: &mut Canvas, rig: &Rig, instruments: &IndexMap<String, Instrument>, line: f64) {
    let of = |wanted: &[Measures]| {
        let named = rig.instruments.iter().filter_map(|name| instruments.get(name));
        let named =
            named.filter(|instrument| wanted.contains(&instrument.measures)).map(|instrument| instrument.name.clone());
        named.collect::<Vec<_>>().join(", ")
    };
    canvas.path(&[(430.0, line), (430.0, 40.0), (560.0, 40.0), (560.0, line)], Stroke::Dotted);
    canvas.mark(430.0, line, Shape::Circle, true);
    canvas.mark(560.0, line, Shape::Circle, true);
    let pressure = of(&[Measures::DifferentialPressure]);
    canvas.small(
        495.0,
        33.0,
        Hold::Middle,
        &format!("differential pressure: {}", if pressure.is_empty() { "not said".to_owned() } else { pressure }),
    );
    let before = of(&[Measures::Flow, Measures::Temperature, Measures::GaugePressure, Measures::AbsolutePressure]);
    if !before.is_empty() {
        canvas.small(20.0, 18.0, Hold::Start, &format!("also on this rig: {before}"));
    }
}

/// Sampling valves where they sit.
fn samplers(canvas: &mut Canvas, rig: &Rig, line: f64) {
    let mut placed: IndexMap<&str, usize> = IndexMap::new();
    for sampler in rig.samplers.values() {
        let turn = placed.entry(sampler.sits.as_str()).or_insert(0);
        let aside = 14.0 * *turn as f64;
        *turn += 1;
        let (x, y) = match sampler.sits.as_str() {
            "upstream" => (318.0 + aside, line),
            "downstream" => (620.0 + aside, line),
            "tank" => (45.0 + aside, 170.0),
            _ => continue,
        };
        canvas.line((x, y), (x, y - 22.0), Stroke::Solid);
        canvas.mark(x, y - 25.0, Shape::Drop, false);
        canvas.small(x, y - 34.0 - 12.0 * aside / 14.0, Hold::Middle, &format!("bottle: {}", sampler.name));
    }
}
