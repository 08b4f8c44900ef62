//! What the gauges will show and the laboratory will count.

use super::{Part, Section, Table, says};
use crate::quantity::Unit;
use crate::rehearsal::{Bottled, Level, Loading, Pressure, Rehearsal, picture, sample, say};

pub(super) fn pressures(rehearsal: &Rehearsal) -> Option<Section> {
    if rehearsal.pressures.is_empty() {
        return None;
    }
    let mut parts = Vec::new();
    if rehearsal.pressures.iter().any(|p| !p.expected) {
        parts.push(says(
            "Of models without `expect restriction`, only the plan's own expected readings tell; write one in the model's \
             block for a narrower prediction.",
        ));
    }
    parts.push(says("Of the specimen alone; adaptor and housing add their own."));
    let thickness = Unit::parse("mm²/s").unwrap_or_else(|_| Unit::none());
    let mut table = Table::new(
        "Differential pressure of the clean specimen, at the smallest and at the largest flow",
        &["Stage", "Model", ">In", ">At", ">Predicted", ">At", ">Predicted", "Look"],
    );
    for p in &rehearsal.pressures {
        let cells = |point: Option<&(f64, crate::foresight::Span)>| match point {
            Some((flow, dp)) => [say::value_in(*flow, &p.flow_unit), say::span_in(*dp, &p.unit)],
            None => [String::new(), String::new()],
        };
        let first = cells(p.points.first().filter(|_| p.points.len() > 1));
        let last = cells(p.points.last());
        let mut row = vec![p.stage.clone(), p.model.clone(), say::value_in(p.viscosity.middle(), &thickness)];
        row.extend(first.into_iter().chain(last));
        row.push(look(p));
        table.row(row);
    }
    parts.push(Part::Table(table));
    for (index, (_, of)) in by_test(&rehearsal.pressures, |p| &p.test).into_iter().enumerate() {
        parts.extend(picture::pressure(&format!("dp-{index}"), &of).map(|svg| Part::Picture { svg }));
    }
    Some(Section { title: "What the gauges will show, clean".to_owned(), parts })
}

/// What to look out for.
fn look(p: &Pressure) -> String {
    let most = p.points.iter().map(|(_, dp)| dp.high).fold(0.0, f64::max);
    let mut words = Vec::new();
    if p.bypass.is_some_and(|bypass| most > bypass) {
        words.push("may open the by-pass".to_owned());
    }
    if let Some((name, top)) = p.gauge.as_ref().filter(|(_, top)| most > *top) {
        words.push(format!("may pass {name} ({})", say::value_in(*top, &p.unit)));
    }
    words.join("; ")
}

/// Things of each test, in the order of the tests.
fn by_test<T>(all: &[T], test: impl Fn(&T) -> &String) -> Vec<(&String, Vec<&T>)> {
    let mut found: Vec<(&String, Vec<&T>)> = Vec::new();
    for one in all {
        match found.iter_mut().find(|(name, _)| *name == test(one)) {
            Some((_, group)) => group.push(one),
            None => found.push((test(one), vec![one])),
        }
    }
    found
}

pub(super) fn loading(rehearsal: &Rehearsal) -> Option<Section> {
    if rehearsal.loadings.is_empty() && rehearsal.levels.is_empty() {
        return None;
    }
    let mut parts = Vec::new();
    if !rehearsal.loadings.is_empty() {
        parts.push(Part::Table(doses(&rehearsal.loadings)));
    }
    if rehearsal.loadings.iter().any(|l| !l.expected) {
        parts.push(says(
            "Of models without `expect capacity`, nothing tells how many doses it takes: from one to the cap of the loop.",
        ));
    }
    for (index, level) in rehearsal.levels.iter().enumerate() {
        parts.push(says(peak(level)));
        parts.extend(picture::level(&format!("tank-{index}"), level).map(|svg| Part::Picture { svg }));
    }
    Some(Section { title: "Dust".to_owned(), parts })
}

fn doses(loadings: &[Loading]) -> Table {
    let mut table = Table::new(
        "Doses to the end of each loop",
        &["Loop", "Model", ">Dose", ">Likely", ">From to", ">Cap", ">Dosed by then", ">Shows at the end"],
    );
    for l in loadings {
        let span = if l.fewest == l.most { l.fewest.to_string() } else { format!("{} to {}", l.fewest, l.most) };
        table.row(vec![
            l.path.clone(),
            l.model.clone(),
            say::value_in(l.dose, &l.mass_unit),
            if l.expected { l.likely.to_string() } else { "–".to_owned() },
            span,
            l.cap.to_string(),
            say::span_in(l.dosed, &l.mass_unit),
            l.at_end.map_or_else(|| "–".to_owned(), |dp| say::span_in(dp, &l.unit)),
        ]);
    }
    table
}

fn peak(level: &Level) -> String {
    let unit = Unit::parse("mg/L").unwrap_or_else(|_| Unit::none());
    let most = level.points.iter().map(|point| point.weight).max_by(|a, b| a.high.total_cmp(&b.high));
    let words = most.map_or_else(String::new, |most| {
        format!(": {} of dust in the tank when there is most", say::span_in(most, &unit))
    });
    format!("{}, {}{words}.", level.test, level.model)
}

pub(super) fn bottles(rehearsal: &Rehearsal) -> Option<Section> {
    if rehearsal.bottles.is_empty() {
        return None;
    }
    let mut parts = Vec::new();
    let few = sample::Verdict::TooFew;
    for (index, (test, of)) in by_test(&rehearsal.bottles, |b| &b.test).into_iter().enumerate() {
        let model = of.first().map_or("", |b| b.model.as_str());
        parts.push(says(format!(
            "{test}, with the specimen of {model}. Counts are of the dust put in; oil and bottle bring their own."
        )));
        parts.push(Part::Table(counted(&of)));
        let empty = of.iter().filter(|b| b.sizes.iter().all(|size| size.verdict == few)).count();
        if empty > 0 {
            parts.push(says(format!(
                "{} of {} hold too few particles of every size to tell more than that they are clean.",
                empty,
                say::count(of.len(), "bottle", "bottles")
            )));
        }
        parts.extend(picture::counts(&format!("counts-{index}"), &of).map(|svg| Part::Picture { svg }));
    }
    Some(Section { title: "What the laboratory will count".to_owned(), parts })
}

/// A row for each bottle and each size that can be counted, and for the first that cannot.
fn counted(bottles: &[&Bottled]) -> Table {
    let unit = sample::per_millilitre();
    let mut table = Table::new(
        "Per mL in the bottle, and what the counter itself sees of it after dilution",
        &["Bottle", ">1 to", "Size", ">Per mL", ">Raw count", ">Counting alone", "Look"],
    );
    for bottle in bottles {
        let mut name = bottle.path.clone();
        let mut dilution = bottle.dilution.to_string();
        for size in &bottle.sizes {
            let per = say::in_unit(size.concentration, &unit);
            table.row(vec![
                std::mem::take(&mut name),
                std::mem::take(&mut dilution),
                format!("≥ {}", size.size),
                say::small_span(per),
                say::small_span(size.raw),
                size.counting.map_or_else(|| "–".to_owned(), |half| format!("± {}", say::percent(half))),
                size.verdict.words().to_owned(),
            ]);
            if size.verdict == sample::Verdict::TooFew {
                break;
            }
        }
    }
    table
}
