//! Differential pressure of the clean specimens: a table and a picture for each viscosity, and what was fitted.

use super::super::page::Table;
use super::super::plot;
use super::{Book, Section, parted, remarks, say};
use crate::quantity::Unit;
use crate::results::{RestrictionResult, RunResults};

type Swept<'b> = (&'b RunResults, &'b RestrictionResult);

pub(super) fn restriction(book: &Book<'_>) -> Section {
    let mut section = Section::new("restriction", "Restriction");
    let mut number = 0;
    for (index, test) in book.plan.tests.iter().enumerate() {
        for stage in &test.stages {
            let of = |run| sweep(run, &stage.name);
            let swept: Vec<Swept<'_>> =
                book.results.runs.iter().filter(|run| run.test == index).filter_map(of).collect();
            if swept.is_empty() {
                continue;
            }
            number += 1;
            of_stage(&mut section, book, &format!("sweep-{number}"), &swept);
        }
    }
    section
}

fn sweep<'b>(run: &'b RunResults, stage: &str) -> Option<Swept<'b>> {
    run.restrictions.iter().find(|result| result.stage == stage).map(|result| (run, result))
}

fn of_stage(section: &mut Section, book: &Book<'_>, id: &str, swept: &[Swept<'_>]) {
    let Some((_, first)) = swept.first() else { return };
    let viscosity = Unit::parse("mm²/s").map(|unit| say::value_in(first.viscosity, &unit, 3)).unwrap_or_default();
    let fluid = book.plan.fluids.get(&first.fluid).map_or(first.fluid.as_str(), |fluid| fluid.title.as_str());
    section.heading(format!("{}: {fluid}, {viscosity}", first.title));
    let kind = if swept.iter().all(|(_, result)| result.net) {
        "of the element alone: the tare of housing and adaptor is taken off"
    } else if swept.iter().any(|(_, result)| result.net) {
        "of the element alone where a tare was measured, and else of element, housing and adaptor together"
    } else {
        "of element, housing and adaptor together: no tare was measured"
    };
    section
        .says(format!("Differential pressure {kind}. All values are brought to {viscosity} and to the planned flows."));
    let heads = book.run_heads(swept.first().map_or(0, |(run, _)| run.test));
    let head = |run: &RunResults| {
        heads.iter().find(|(code, _)| *code == run.code).map_or_else(|| run.specimen.clone(), |(_, head)| head.clone())
    };
    let panels: Vec<(String, &RestrictionResult)> = swept.iter().map(|(run, result)| (head(run), *result)).collect();
    section.picture(
        plot::restriction(id, &first.title, &panels),
        "Filled, a little to the left: rising flow. Hollow, a little to the right: falling. Cross: read and not used. Line: what was fitted. Band: 95 %.",
    );
    for part in parted(swept) {
        values(section, part, &head);
    }
    fits(section, swept, &head);
    remarks(section, book, swept.iter().map(|(run, result)| (head(run), result.remarks.as_slice())));
}

/// Net differential pressure at each planned flow.
fn values(section: &mut Section, swept: &[Swept<'_>], head: &dyn Fn(&RunResults) -> String) {
    let Some((_, first)) = swept.first() else { return };
    let mut flows: Vec<f64> = swept.iter().flat_map(|(_, result)| result.at.iter().map(|(flow, _)| *flow)).collect();
    flows.sort_by(f64::total_cmp);
    flows.dedup_by(|a, b| (*a - *b).abs() <= 1e-9 * b.abs());
    let same = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.abs();
    let readings = |result: &RestrictionResult, flow: f64| {
        result.points.iter().filter(|point| point.used && same(point.planned, flow)).count()
    };
    // How many readings stand behind most cells; the others say it.
    let mut counts: Vec<usize> =
        swept.iter().flat_map(|(_, result)| flows.iter().map(|flow| readings(result, *flow))).collect();
    counts.sort_unstable();
    let usual = counts.get(counts.len() / 2).copied().unwrap_or(0);
    let columns = swept.iter().map(|(run, _)| format!("#{}", head(run)));
    let mut table = Table::of(
        format!("{}: differential pressure, {}, and its 95 % interval", first.title, first.unit),
        std::iter::once(format!("Flow, {}", first.flow_unit)).chain(columns),
    );
    let mut reasons = say::Reasons::default();
    for flow in &flows {
        let mut cells = vec![say::number(first.flow_unit.from_si_difference(*flow), 4)];
        for (_, result) in swept {
            let at = result.at.iter().find(|(at, _)| same(*at, *flow));
            let cell = at.map_or_else(|| say::NOTHING.to_owned(), |(_, outcome)| reasons.cell(outcome, &result.unit));
            let count = readings(result, *flow);
            cells.push(if count == usual || cell == say::NOTHING { cell } else { format!("{cell} (n {count})") });
        }
        table.row(cells);
    }
    table.notes.push(format!("Each from {} at that flow, rising and falling, unless n says otherwise, and from the curve through all of them.", say::count(usual, "reading", "readings")));
    table.notes.extend(reasons.notes());
    section.table(table);
}

/// What was fitted.
fn fits(section: &mut Section, swept: &[Swept<'_>], head: &dyn Fn(&RunResults) -> String) {
    let Some((_, first)) = swept.first() else { return };
    let mut table = Table::new(
        format!("{}: ΔP = a μ Q + b ρ Q², fitted to the readings at their own viscosity and density", first.title),
        &["Specimen", "#a, 1/m³", "#b, 1/m⁴", "#Scatter", "#Readings used", "#a of the tare", "#b of the tare", "Knee"],
    );
    for (run, result) in swept {
        let Some(fit) = &result.fit else {
            let why = "too few readings for a curve".to_owned();
            let rest = std::iter::repeat_n(say::NOTHING.to_owned(), 6);
            table.row([head(run), why].into_iter().chain(rest));
            continue;
        };
        let coefficient = |value: f64, variance: f64| {
            format!("{} ({})", say::powered(value, 3), say::powered(variance.max(0.0).sqrt(), 2))
        };
        let [aa, _, bb] = fit.covariance;
        let used = result.points.iter().filter(|point| point.used).count();
        let tare = |of: fn(&crate::results::CurveFit) -> f64| {
            result.tare.as_ref().map_or_else(|| say::NOTHING.to_owned(), |tare| say::powered(of(tare), 3))
        };
        let knee = result.knee.as_ref().map_or_else(
            || "none seen".to_owned(),
            |knee| {
                format!(
                    "after {}, {}",
                    say::value_in(knee.flow, &result.flow_unit, 3),
                    say::value_in(knee.pressure, &result.unit, 3)
                )
            },
        );
        table.row([
            head(run),
            coefficient(fit.viscous, aa),
            coefficient(fit.inertial, bb),
            say::value_in(fit.scatter, &result.unit, 2),
            format!("{used} of {}", result.points.len() + result.lost),
            tare(|tare| tare.viscous),
            tare(|tare| tare.inertial),
            knee,
        ]);
    }
    table.notes.push("In brackets: the standard uncertainty. a times the dynamic viscosity in Pa·s and the flow in m³/s gives Pa; b times the density in kg/m³ and the square of the flow gives Pa.".to_owned());
    section.table(table);
}
