//! The numbers of the plan that results are computed with, and what the plan says of itself.

use super::super::Given;
use super::super::table::{Cell, Table, date, link, number, row, text, truth, whole};
use super::units::Units;
use crate::plan::{Accuracy, Mark, Marked};
use crate::quantity::{Quantity, Unit};

pub(super) fn tables(given: &Given<'_>, units: &mut Units) -> Vec<Table> {
    let mut tables = vec![fluids(given), viscosities(given), instruments(given, units), accuracies(given, units)];
    tables.push(parameters(given, units));
    tables.extend([departures(given), waivers(given)]);
    tables
}

fn mark(mark: &Mark) -> String {
    match mark {
        Mark::Published(source) => format!("published in {source}"),
        Mark::CommonPractice => "common practice".to_owned(),
        Mark::FromMemory => "from memory".to_owned(),
        Mark::Measured(on) => format!("measured on {on}"),
        Mark::Unmarked => String::new(),
    }
}

fn fluids(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "fluids",
        "Fluids",
        "Oils of the campaign. Density at T: density − expansion × (T − density_temperature).",
        &["fluid"],
        vec![
            text("fluid", "Fluid", "Name in the plan").required(),
            text("title", "Title", "In words"),
            text("lot", "Lot", "As delivered"),
            number("density", "kg/m3", "Density", "At density_temperature"),
            number("density_temperature", "K", "Temperature of the density", ""),
            number(
                "expansion",
                "kg/m3/K",
                "Expansion",
                "By which the density falls for each kelvin; 0.65 is taken where it is empty",
            ),
            text("density_mark", "Where the density is from", ""),
        ],
    );
    for fluid in given.plan.fluids.values() {
        let density = fluid.density.as_ref();
        table.rows.push(row![
            &fluid.name,
            &fluid.title,
            fluid.lot.as_deref(),
            density.map(|said| said.value.0.si()),
            density.map(|said| said.value.1.si()),
            fluid.expansion.as_ref().map(|said| said.value.si_difference()),
            density.map(|said| mark(&said.mark))
        ]);
    }
    table
}

fn viscosities(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "viscosities",
        "Measured viscosities",
        "Kinematic viscosities of the fluids at their temperatures. ASTM D341 leads from one temperature to another: log10 log10 Z falls in a straight line with log10 T (K), by least squares through all points of a fluid; Z = ν + 0.7 + C − D + E − F + G − H with ν in mm²/s, C = exp(−1.14883 − 2.65868 ν), D = exp(−0.00381308 − 12.5645 ν), E = exp(5.46491 − 37.6289 ν), F = exp(13.0458 − 74.6851 ν), G = exp(37.4619 − 192.643 ν), H = exp(80.4945 − 400.468 ν) (the terms from C on from memory; above 5 mm²/s they come to less than a millionth).",
        &["fluid", "temperature"],
        vec![
            text("fluid", "Fluid", "").required(),
            number("temperature", "K", "Temperature", "").required(),
            number("viscosity", "m2/s", "Kinematic viscosity", "").required().at_least(0.0),
            text("written", "As written", "Viscosity and temperature as the plan writes them"),
            text("mark", "Where it is from", ""),
        ],
    )
    .links(&[link(&["fluid"], "fluids", &["fluid"])]);
    for fluid in given.plan.fluids.values() {
        for Marked { value: point, mark: from, .. } in &fluid.viscosities {
            let written = format!("{} at {}", point.viscosity, point.temperature);
            table.rows.push(row![&fluid.name, point.temperature.si(), point.si, written, mark(from)]);
        }
    }
    table
}

/// The SI unit of what an instrument reads, and the unit itself.
fn codes(units: &mut Units, unit: &Unit) -> (Option<String>, Option<&'static str>) {
    (units.code(unit), super::super::ucum::coherent(unit))
}

fn instruments(given: &Given<'_>, units: &mut Units) -> Table {
    let mut table = Table::new(
        "instruments",
        "Instruments",
        "What readings were taken with. Low, high and resolution are in SI, by si_unit.",
        &["instrument"],
        vec![
            text("instrument", "Instrument", "Name in the plan").required(),
            text("title", "Title", "In words"),
            text("measures", "Measures", "What it measures").required(),
            number("low", "", "Low end of its range", "SI"),
            number("high", "", "High end of its range", "SI"),
            number("resolution", "", "Resolution", "Last step of its scale, SI, as a difference"),
            text("unit", "Unit", "UCUM code of the unit that its scale is read in"),
            text("si_unit", "SI unit", "UCUM code"),
            text("serial", "Serial number", ""),
            date("calibrated_on", "Calibrated on", ""),
            date("valid_until", "Valid until", ""),
            text("certificate", "Certificate", ""),
        ],
    )
    .links(&[link(&["unit"], "units", &["unit"])]);
    for instrument in given.plan.instruments.values().filter(|instrument| !instrument.is_role) {
        let window = instrument.range.window;
        let (unit, si) = codes(units, &instrument.unit);
        let calibration = instrument.calibration.as_ref();
        table.rows.push(row![
            &instrument.name,
            &instrument.title,
            instrument.measures.words(),
            window.low,
            window.high,
            instrument.resolution.si_difference(),
            unit,
            si,
            instrument.serial.as_deref(),
            calibration.map(|c| c.on.as_str()),
            calibration.map(|c| c.valid_until.as_str()),
            calibration.and_then(|c| c.certificate.as_deref())
        ]);
    }
    table
}

fn accuracies(given: &Given<'_>, units: &mut Units) -> Table {
    let mut table = Table::new(
        "accuracies",
        "Limits of error",
        "What an instrument's specification allows, a half width. Of several terms the one that is largest at the reading counts. of-span: amount × (high − low), or × high where no low end is given; of-reading: amount × |reading|; absolute: amount, in the instrument's SI unit. The first and the last are an offset, which zeroing takes away and leaves anew; of-reading is a gain, which stays.",
        &["instrument", "term"],
        vec![
            text("instrument", "Instrument", "").required(),
            whole("term", "Term", "From 1, as written").required().at_least(1.0),
            text("kind", "Kind", "").required().one_of(&["of-span", "of-reading", "absolute"]),
            number("amount", "", "Amount", "A share, or SI").required(),
            text("unit", "Unit", "UCUM code: 1 of a share").required(),
        ],
    )
    .links(&[link(&["instrument"], "instruments", &["instrument"])]);
    for instrument in given.plan.instruments.values().filter(|instrument| !instrument.is_role) {
        let mut terms = Vec::new();
        flatten(&instrument.accuracy, &mut terms);
        for (place, (kind, amount)) in terms.into_iter().enumerate() {
            let unit = if kind == "absolute" { codes(units, &instrument.unit).1 } else { Some("1") };
            table.rows.push(row![&instrument.name, place + 1, kind, amount, unit.unwrap_or("1")]);
        }
    }
    table
}

fn flatten(accuracy: &Accuracy, terms: &mut Vec<(&'static str, f64)>) {
    match accuracy {
        Accuracy::OfSpan(share) => terms.push(("of-span", *share)),
        Accuracy::OfReading(share) => terms.push(("of-reading", *share)),
        Accuracy::Absolute(quantity) => terms.push(("absolute", quantity.si_difference())),
        Accuracy::WorstOf(several) => several.iter().for_each(|one| flatten(one, terms)),
    }
}

fn parameters(given: &Given<'_>, units: &mut Units) -> Table {
    let mut table = Table::new(
        "parameters",
        "Parameters",
        "Numbers and words of the plan that results rest on: parameters of each test as printed on its sheets, the loops of doses, thresholds and windows of the rules in force.",
        &["scope", "owner", "name"],
        vec![
            text("scope", "Scope", "").required().one_of(&["test", "doses", "window", "threshold"]),
            text("owner", "Owner", "Test, test and loop, or `rules`").required(),
            text("name", "Name", "").required(),
            text("written", "As written", "").required(),
            number("number", "", "Number", "In its unit"),
            text("unit", "Unit", "UCUM code"),
            number("si", "", "SI", "The same in SI; temperatures of windows are points or differences as the name says"),
            text("mark", "Where it is from", ""),
        ],
    )
    .links(&[link(&["unit"], "units", &["unit"])]);
    let quantity = |units: &mut Units, quantity: &Quantity, difference: bool| -> Vec<Cell> {
        let si = if difference { quantity.si_difference() } else { quantity.si() };
        row![quantity.to_string(), quantity.value, units.code(&quantity.unit), si]
    };
    let Given { plan, .. } = given;
    for test in &plan.tests {
        for (name, value) in &test.parameters {
            table.rows.push(row!["test", &test.name, name, value, None::<f64>, "", None::<f64>, ""]);
        }
        for batch in &test.batches {
            let owner = format!("{}/{}", test.name, batch.path);
            let mut say = |name: &str, cells: Vec<Cell>| {
                table.rows.push([row!["doses", &owner, name], cells, row![""]].concat());
            };
            say("terminal", quantity(units, &batch.terminal, true));
            say("reading", row![&batch.reading, None::<f64>, "", None::<f64>]);
            say("rounds at most", row![batch.cap.to_string(), f64::from(batch.cap), "", None::<f64>]);
            if let Some(baseline) = &batch.baseline {
                say("baseline", row![baseline, None::<f64>, "", None::<f64>]);
            }
            if let Some(mass) = &batch.mass_cap {
                say("mass at most", quantity(units, mass, true));
            }
        }
    }
    for (scope, marked) in [("window", &plan.rules.windows), ("threshold", &plan.rules.thresholds)] {
        for (name, said) in marked {
            let cells = quantity(units, &said.value, false);
            table.rows.push([row![scope, "rules", name], cells, row![mark(&said.mark)]].concat());
        }
    }
    table
}

fn departures(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "departures",
        "Departures from published methods",
        "Where a protocol differs from a published method that it leans on. Nothing here claims that a method was followed.",
        &["test", "number"],
        vec![
            text("test", "Test", "").required(),
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("standard", "Published method", "").required(),
            text("what", "What differs", "").required(),
            text("effect", "Expected effect", "As the protocol's author says"),
        ],
    )
    .links(&[link(&["test"], "tests", &["test"])]);
    for test in &given.plan.tests {
        let leanings = test.protocol.leans_on.iter();
        let each = leanings.flat_map(|leaning| leaning.departures.iter().map(move |said| (&leaning.standard, said)));
        for (place, (standard, (what, effect))) in each.enumerate() {
            table.rows.push(row![&test.name, place + 1, standard, what, effect.as_deref()]);
        }
    }
    table
}

fn waivers(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "waivers",
        "Findings set aside by the plan's author",
        "Checks of the plan that its author answered beforehand, with the reason.",
        &["number"],
        vec![
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("code", "Code", "Of the check").required(),
            text("scope", "Scope", "Test or stage; empty: the whole campaign"),
            text("reason", "Reason", ""),
            truth("campaign", "Whole campaign", "Whether it holds for the whole campaign"),
        ],
    );
    for (place, waiver) in given.plan.waivers.iter().enumerate() {
        let everywhere = waiver.scope.is_empty();
        table.rows.push(row![place + 1, &waiver.code, &waiver.scope, &waiver.reason, everywhere]);
    }
    table
}
