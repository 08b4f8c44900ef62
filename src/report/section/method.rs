//! How it was done, on a page: each test with its parameters, the oils, the dust, the rig, the laboratory.

use super::super::page::Table;
use super::{Book, Section, say};
use crate::plan::{Action, Laboratory, Test};

pub(super) fn method(book: &Book<'_>) -> Section {
    let mut section = Section::new("method", "Method");
    section.says(
        "A method of our own. The plan of the campaign, with every step, window and instrument, is identified by its fingerprint; a \
         plan that differs in one digit has another.",
    );
    for test in &book.plan.tests {
        of_test(&mut section, test);
    }
    oils(&mut section, book);
    dusts(&mut section, book);
    rig(&mut section, book);
    for laboratory in book.plan.laboratories.values() {
        counts(&mut section, laboratory);
    }
    section
}

fn of_test(section: &mut Section, test: &Test) {
    section.heading(test.title.clone());
    let head = &test.protocol;
    section.says(format!("{} By protocol ‘{}’, revision {}, in {}.", head.purpose, head.title, head.revision, {
        let titles: Vec<&str> = test.stages.iter().map(|stage| stage.title.as_str()).collect();
        format!("{}: {}", say::count(titles.len(), "stage", "stages"), titles.join("; "))
    }));
    let parameters = test.parameters.iter().map(|(name, value)| format!("{} {value}", name.replace('-', " ")));
    section.facts(vec![
        ("Parameters".to_owned(), parameters.collect::<Vec<_>>().join("; ")),
        ("Dosing".to_owned(), test.dosing.clone().unwrap_or_default()),
        ("Sets a run aside".to_owned(), test.reject_if.join("; ")),
    ]);
}

fn oils(section: &mut Section, book: &Book<'_>) {
    let mut table =
        Table::new("Oils, with their measured viscosities", &["Oil", "Viscosity", "Density", "Flash point", "Lot"]);
    let used = |name: &str| {
        let tests = || book.plan.tests.iter();
        tests().flat_map(|test| &test.stages).any(|stage| stage.fluid.as_deref() == Some(name))
            || tests().flat_map(|test| &test.steps).any(|step| takes(&step.action, name))
    };
    for fluid in book.plan.fluids.values() {
        let points = fluid.viscosities.iter().map(|point| {
            let mark = point.mark.words();
            let mark = if mark.is_empty() { mark } else { format!(" ({mark})") };
            format!("{} at {}{mark}", say::quantity(&point.value.viscosity), say::quantity(&point.value.temperature))
        });
        let density = fluid
            .density
            .as_ref()
            .map(|density| format!("{} at {}", say::quantity(&density.value.0), say::quantity(&density.value.1)));
        let flash = fluid.flash.as_ref().map(|flash| {
            let cup = if flash.value.closed_cup { "closed cup" } else { "open cup" };
            format!("{} ({cup})", say::quantity(&flash.value.temperature))
        });
        let title = if used(&fluid.name) {
            fluid.title.clone()
        } else {
            format!("{} (stood for, not on the bench)", fluid.title)
        };
        let nothing = || say::NOTHING.to_owned();
        table.row([
            title,
            points.collect::<Vec<_>>().join("; "),
            density.unwrap_or_else(nothing),
            flash.unwrap_or_else(nothing),
            fluid.lot.clone().unwrap_or_else(nothing),
        ]);
    }
    section.table(table);
}

/// Whether a step takes this fluid.
fn takes(action: &Action, name: &str) -> bool {
    match action {
        Action::UseFluid { fluid } | Action::AntiDrain { fluid, .. } | Action::BubblePoint { fluid, .. } => {
            fluid == name
        }
        Action::Dose { carrier_fluid, .. } | Action::Condition { carrier_fluid, .. } => carrier_fluid == name,
        Action::ChangeFluid(change) => change.to == name || change.flushes.iter().any(|(_, fluid, _)| fluid == name),
        _ => false,
    }
}

fn dusts(section: &mut Section, book: &Book<'_>) {
    for dust in book.plan.dusts.values() {
        let drying = dust.drying.as_ref().map(|drying| {
            let time =
                drying.value.time.as_ref().map(|time| format!(" for {}", say::quantity(time))).unwrap_or_default();
            format!("{}{time}", say::bounds(&drying.value.temperature))
        });
        section.facts(vec![
            ("Dust".to_owned(), dust.title.clone()),
            ("Grade".to_owned(), dust.grade.value.clone()),
            ("Lot".to_owned(), dust.lot.clone().unwrap_or_default()),
            ("Certificate".to_owned(), dust.certificate.clone().unwrap_or_default()),
            ("Dried".to_owned(), drying.unwrap_or_default()),
        ]);
    }
}

fn rig(section: &mut Section, book: &Book<'_>) {
    let rig = &book.plan.rig;
    section.heading(format!("Rig: {}, revision {}", rig.title, rig.revision));
    section.picture(
        super::super::plot::sketch("rig-sketch", rig, &book.plan.instruments),
        "The rig, not to scale: what the oil goes through, where pressure is tapped and where bottles are drawn",
    );
    let mut table = Table::new("Volumes and ratings", &["Part", "Volume or dead volume", "Rated", "More"]);
    let some =
        |quantity: Option<&crate::quantity::Quantity>| quantity.map_or_else(|| say::NOTHING.to_owned(), say::quantity);
    let bore = |bore: Option<&crate::quantity::Quantity>| {
        bore.map_or_else(|| say::NOTHING.to_owned(), |bore| format!("bore {}", say::quantity(bore)))
    };
    table.row([
        rig.reservoir.title.clone(),
        say::bounds(&rig.reservoir_holds),
        some(rig.reservoir.rating.as_ref()),
        say::NOTHING.to_owned(),
    ]);
    table.row([
        rig.pump.title.clone(),
        say::NOTHING.to_owned(),
        some(rig.pump.rating.as_ref()),
        format!("delivers {}", say::bounds(&rig.pump_delivers)),
    ]);
    for part in &rig.parts {
        let line = part
            .line
            .as_ref()
            .map(|(bore, length)| format!("bore {}, length {}", say::quantity(bore), say::quantity(length)));
        if part.volume.is_none() && line.is_none() {
            continue;
        }
        table.row([
            part.title.clone(),
            some(part.volume.as_ref()),
            some(part.rating.as_ref()),
            line.unwrap_or_else(|| say::NOTHING.to_owned()),
        ]);
    }
    for sampler in rig.samplers.values() {
        table.row([
            format!("{} ({})", sampler.title, sampler.sits),
            say::quantity(&sampler.dead_volume),
            say::NOTHING.to_owned(),
            bore(sampler.bore.as_ref()),
        ]);
    }
    if let Some(injector) = &rig.injector {
        table.row([
            format!("Injector ({})", injector.name),
            say::quantity(&injector.holds),
            some(injector.rating.as_ref()),
            bore(injector.bore.as_ref()),
        ]);
    }
    for route in rig.routes.values().filter(|route| route.volume.is_some()) {
        table.row([
            format!("Route: {}", route.title),
            some(route.volume.as_ref()),
            say::NOTHING.to_owned(),
            say::NOTHING.to_owned(),
        ]);
    }
    section.table(table);
}

fn counts(section: &mut Section, laboratory: &Laboratory) {
    section.heading(format!("Laboratory: {}", laboratory.title));
    for test in laboratory.tests.values() {
        let sizes: Vec<String> = test.sizes.iter().map(say::quantity).collect();
        let counted =
            test.counted_volume.as_ref().map(|(volume, times)| format!("{} times {}", times, say::quantity(volume)));
        let given = test.counts.as_ref().map(|counts| {
            format!("{}, {}", if counts.cumulative { "cumulative" } else { "by interval" }, counts.basis)
        });
        section.facts(vec![
            ("Test".to_owned(), test.title.clone()),
            ("Sizes".to_owned(), sizes.join(", ")),
            ("Counted".to_owned(), counted.unwrap_or_default()),
            ("Given as".to_owned(), given.unwrap_or_default()),
            ("Calibrated to".to_owned(), test.calibrated_to.clone().unwrap_or_default()),
            ("Before counting".to_owned(), test.before_counting.join(", ")),
        ]);
    }
}
