//! Fluids and dusts.

use crate::diagnostic::{Code, Diagnostic};
use crate::plan::derive;
use crate::plan::library::Declaration;
use crate::plan::model::{Bounds, Drying, Dust, FlashPoint, Fluid, SizeDistribution, ViscosityPoint};
use crate::plan::read::Context;
use crate::quantity::{Kind, Quantity};

pub(super) fn read_fluid(declaration: &Declaration<'_>, context: &Context<'_>) -> Fluid {
    let mut fluid = Fluid {
        name: declaration.name.clone(),
        title: declaration.title.clone(),
        kind: None,
        class: None,
        viscosities: Vec::new(),
        density: None,
        expansion: None,
        flash: None,
        pour: None,
        surface_tension: None,
        conductivity: None,
        cleanliness: None,
        additives: Vec::new(),
        seals: Vec::new(),
        hazards: Vec::new(),
        supply: None,
        lot: None,
        price: None,
        origin: context.origin(declaration.name_span),
    };
    for s in &declaration.statement.block {
        let marked = |value: Option<_>| value.map(|v| context.marked(s, v));
        match s.key() {
            "kind" => fluid.kind = context.text(s, "kind"),
            "class" => fluid.class = context.text(s, "class").map(|t| context.marked(s, t)),
            "viscosity" => {
                let temperature = context.quantity(s, "temperature");
                let viscosity = context.quantity(s, "viscosity");
                if let (Some(viscosity), Some(temperature)) = (viscosity, temperature)
                    && let Some(si) = derive::viscosity_si(&viscosity, &temperature, s, context)
                {
                    fluid.viscosities.push(context.marked(s, ViscosityPoint { viscosity, si, temperature }));
                }
            }
            "density" => fluid.density = pair(context, s, "density").map(|p| context.marked(s, p)),
            "density falls" => fluid.expansion = marked(context.quantity(s, "expansion")),
            "flash point" => {
                fluid.flash = context.quantity(s, "flash").map(|temperature| {
                    let closed_cup = context.text(s, "cup").is_some_and(|cup| cup == "closed cup");
                    context.marked(s, FlashPoint { temperature, closed_cup })
                });
            }
            "pour point" => fluid.pour = marked(context.quantity(s, "pour")),
            "surface tension" => fluid.surface_tension = pair(context, s, "tension").map(|p| context.marked(s, p)),
            "conductivity" => fluid.conductivity = pair(context, s, "conductivity").map(|p| context.marked(s, p)),
            "cleanliness on delivery" => fluid.cleanliness = context.text(s, "code").map(|t| context.marked(s, t)),
            "additive" => fluid.additives.extend(context.text(s, "additive").map(|t| context.marked(s, t))),
            "suits seals" | "harms seals" => {
                let suits = s.key() == "suits seals";
                fluid.seals.extend(context.text(s, "seal").map(|seal| context.marked(s, (seal, suits))));
            }
            "hazard" => fluid.hazards.extend(context.text(s, "hazard")),
            "supply" => {
                fluid.supply = context.quantity(s, "volume");
                fluid.lot = context.text(s, "lot");
            }
            "price" => fluid.price = context.quantity(s, "price").zip(context.quantity(s, "volume")),
            _ => {}
        }
    }
    fluid.viscosities.sort_by(|a, b| a.value.temperature.si().total_cmp(&b.value.temperature.si()));
    falls_with_heat(&fluid, context);
    fluid
}

fn pair(context: &Context<'_>, statement: &crate::syntax::tree::Statement, part: &str) -> Option<(Quantity, Quantity)> {
    context.quantity(statement, part).zip(context.quantity(statement, "temperature"))
}

/// A viscosity that rises with temperature is a slip of the pen.
fn falls_with_heat(fluid: &Fluid, context: &Context<'_>) {
    for (cool, warm) in fluid.viscosities.iter().zip(fluid.viscosities.iter().skip(1)) {
        if warm.value.si >= cool.value.si || warm.value.temperature.si() <= cool.value.temperature.si() {
            context.notes.add(
                Diagnostic::new(
                    Code::ViscosityNotFalling,
                    format!(
                        "{} at {} is not thinner than {} at {}",
                        warm.value.viscosity, warm.value.temperature, cool.value.viscosity, cool.value.temperature
                    ),
                )
                .at(warm.origin.source, warm.origin.span, "the warmer oil")
                .also(cool.origin.source, cool.origin.span, "the cooler oil")
                .help("check the two numbers and their temperatures against the data sheet"),
            );
        }
    }
}

pub(super) fn read_dust(declaration: &Declaration<'_>, context: &Context<'_>) -> Option<Dust> {
    let mut grade = None;
    let mut dust_parts = (None, None, None, None, None, None, None);
    let mut hazards = Vec::new();
    for s in &declaration.statement.block {
        match s.key() {
            "grade" => grade = context.text(s, "grade").map(|g| context.marked(s, g)),
            "lot" => {
                dust_parts.0 = context.text(s, "lot");
                dust_parts.1 = context.text(s, "certificate");
            }
            "density" => dust_parts.2 = context.quantity(s, "density").map(|q| context.marked(s, q)),
            "dry at" => {
                dust_parts.3 = context.bounds(s, "temperature").map(|temperature| {
                    let (time, cooling) = (context.quantity(s, "time"), context.quantity(s, "cooling"));
                    context.marked(s, Drying { temperature, time, cooling })
                });
            }
            "supply" => dust_parts.4 = context.quantity(s, "mass"),
            "price" => dust_parts.5 = context.quantity(s, "price").zip(context.quantity(s, "mass")),
            "hazard" => hazards.extend(context.text(s, "hazard")),
            "sizes by volume" => {
                let mut finer = Vec::new();
                for size in &s.block {
                    if let (Some(at), Some(share)) =
                        (context.quantity(size, "size"), context.bounds_as(size, "share", Kind::Fraction))
                    {
                        finer.push((at, share));
                    }
                }
                finer.sort_by(|a, b| a.0.si().total_cmp(&b.0.si()));
                rises(&declaration.name, &finer, s, context);
                let method = context.text(s, "method").unwrap_or_default();
                dust_parts.6 = Some(context.marked(s, SizeDistribution { method, finer }));
            }
            _ => {}
        }
    }
    let (lot, certificate, density, drying, supply, price, sizes) = dust_parts;
    Some(Dust {
        name: declaration.name.clone(),
        title: declaration.title.clone(),
        grade: grade?,
        lot,
        certificate,
        density,
        drying,
        supply,
        price,
        hazards,
        sizes,
        origin: context.origin(declaration.name_span),
    })
}

/// A cumulative table only rises, and ends at all of the dust.
fn rises(name: &str, finer: &[(Quantity, Bounds)], statement: &crate::syntax::tree::Statement, context: &Context<'_>) {
    let beyond = |share: f64| !(0.0..=1.0 + 1e-9).contains(&share);
    let ends = |share: &Bounds| (share.window.low.unwrap_or(0.0), share.window.high.unwrap_or(1.0));
    let percent = |share: f64| format!("{} %", (share * 1e4).round() / 1e2);
    let report = |message: String, help: String| {
        context.report(Code::SizesFall, message, statement.head, "this table", help);
    };
    for (size, share) in finer {
        let (low, high) = ends(share);
        if beyond(low) || beyond(high) {
            let wrong = if beyond(high) { high } else { low };
            report(
                format!("of `{name}`, {} is said to be finer than {size}", percent(wrong)),
                "write a share from 0 % to 100 %, as it stands on the certificate".to_owned(),
            );
            return;
        }
    }
    for ((small, below), (large, above)) in finer.iter().zip(finer.iter().skip(1)) {
        let (low, high) = (ends(below), ends(above));
        if small.si() == large.si() {
            report(
                format!("the table of `{name}` has two lines for {small}"),
                "keep the one that stands on the certificate".to_owned(),
            );
            return;
        }
        if low.0 > high.0 + 1e-12 || low.1 > high.1 + 1e-12 {
            let (from, to) = if low.1 > high.1 + 1e-12 { (low.1, high.1) } else { (low.0, high.0) };
            report(
                format!(
                    "of `{name}`, {} is finer than {small}, and only {} is finer than {large}",
                    percent(from),
                    percent(to)
                ),
                "look for two values that were swapped, or for a table of what lies between two sizes in place of what is finer"
                    .to_owned(),
            );
            return;
        }
    }
}
