//! What can be told apart, how the reference drifted, what packages promise.

use indexmap::IndexSet;

use super::super::page::Table;
use super::super::plot;
use super::{Book, Part, Section, say};
use crate::results::{Better, Drift, Measurand, Met, Outcome};

pub(super) fn comparison(book: &Book<'_>) -> Section {
    let mut section = Section::new("comparison", "Comparison");
    // How it was decided is said again only where it is something else.
    let mut said = "";
    for (number, measurand) in book.results.measurands.iter().enumerate() {
        let basis = measurand.comparison.basis.as_str();
        of_measurand(&mut section, book, number, measurand, if basis == said { "" } else { basis });
        if !basis.is_empty() && !nothing(measurand) {
            said = basis;
        }
    }
    score(&mut section, book);
    section
}

fn of_measurand(section: &mut Section, book: &Book<'_>, number: usize, measurand: &Measurand, basis: &str) {
    let unit = &measurand.unit;
    section.heading(book.free(&measurand.title));
    let better = match measurand.better {
        Better::Low => "Lower is better.",
        Better::High => "Higher is better.",
        Better::Neither => "Neither way is better: it is told, not ranked.",
    };
    let comparison = &measurand.comparison;
    let basis = book.free(basis);
    if nothing(measurand) {
        let why: IndexSet<&str> = measurand.entries.iter().filter_map(|entry| say::why(&entry.outcome)).collect();
        let why: Vec<String> = why.into_iter().map(|why| book.free(why)).collect();
        section.says(format!("Nothing can be said of any specimen: {}.", why.join("; ")));
        return;
    }
    section.says(format!("{better} {basis}").trim_end());
    let letters = |specimen: &str| letters(measurand, specimen);
    let rows: Vec<plot::Row<'_>> = measurand
        .entries
        .iter()
        .map(|entry| plot::Row {
            label: if entry.reference {
                format!("{} (reference)", book.specimen(&entry.specimen))
            } else {
                book.specimen(&entry.specimen)
            },
            outcome: &entry.outcome,
            letters: letters(&entry.specimen),
        })
        .collect();
    let title = book.free(&measurand.title);
    section.picture(
        plot::intervals(&format!("compared-{}", number + 1), &title, unit, &rows, measurand.better),
        if comparison.letters.is_empty() {
            "By value, with the 95 % interval of each."
        } else {
            "By value, with the 95 % interval of each. Those that share a letter cannot be told apart."
        },
    );
    entries(section, book, measurand);
    if let Some(none) = &comparison.none {
        section.says(format!("No comparison: {}.", book.free(none).trim_end_matches('.')));
    }
    pairs(section, book, measurand);
    let mut more: Vec<String> = comparison
        .beyond
        .iter()
        .map(|beyond| {
            format!(
                "{} is above {}: {}",
                book.specimen(&beyond.higher),
                book.specimen(&beyond.lower),
                book.free(&beyond.words)
            )
        })
        .collect();
    more.extend(comparison.remarks.iter().map(|remark| book.free(remark)));
    section.list(more);
    if let Some(least) = comparison.resolvable {
        section.says(format!(
            "The smallest true difference that this campaign would have shown in eight of ten cases: {}. A smaller one may be there and not be seen.",
            say::difference(least, unit, 2)
        ));
    }
}

/// Whether nothing can be said of any specimen.
fn nothing(measurand: &Measurand) -> bool {
    measurand.entries.iter().all(|entry| matches!(entry.outcome, Outcome::Unsaid { .. }))
}

/// The letters of what a specimen was compared as.
fn letters(measurand: &Measurand, specimen: &str) -> String {
    let comparison = &measurand.comparison;
    let place = comparison.members.iter().position(|members| members.iter().any(|member| member == specimen));
    place.and_then(|place| comparison.letters.get(place)).cloned().unwrap_or_default()
}

fn entries(section: &mut Section, book: &Book<'_>, measurand: &Measurand) {
    let unit = &measurand.unit;
    let corrected = measurand.entries.iter().any(|entry| entry.corrected.is_some());
    let mut head = vec!["Specimen".to_owned(), "Runs".to_owned(), format!("#{}", column(measurand))];
    if corrected {
        head.push("#With the drift of the reference taken off".to_owned());
    }
    let lettered = !measurand.comparison.letters.iter().all(String::is_empty);
    let remarked = measurand.entries.iter().any(|entry| entry.reference || entry.remark.is_some());
    head.extend(lettered.then(|| "Letters".to_owned()));
    head.extend(remarked.then(|| "Remark".to_owned()));
    let mut table = Table::of(format!("{}: each specimen", book.free(&measurand.title)), head);
    let mut reasons = say::Reasons::default();
    for entry in &measurand.entries {
        let mut cells = vec![book.specimen(&entry.specimen), entry.runs.join(", "), reasons.cell(&entry.outcome, unit)];
        if corrected {
            cells.push(
                entry.corrected.as_ref().map_or_else(|| say::NOTHING.to_owned(), |outcome| reasons.cell(outcome, unit)),
            );
        }
        let mut remark: Vec<String> = entry.remark.iter().map(|remark| book.free(remark)).collect();
        if entry.reference {
            remark.insert(0, "reference".to_owned());
        }
        cells.extend(lettered.then(|| letters(measurand, &entry.specimen)));
        cells.extend(remarked.then(|| remark.join("; ")));
        table.row(cells);
    }
    table.notes = reasons.notes();
    if corrected {
        table.notes.push(
            "The drift is taken as a straight line from the reference's first run to its last, in the order of the runs: the corrected column \
             is what each would have given at the level of the first. The reference itself stands uncorrected, as the mean of its runs; \
             comparisons are made without the correction."
                .to_owned(),
        );
    }
    section.table(table);
}

fn column(measurand: &Measurand) -> String {
    let unit = measurand.unit.to_string();
    if unit.is_empty() { "Value and 95 % interval".to_owned() } else { format!("{unit}, and 95 % interval") }
}

fn pairs(section: &mut Section, book: &Book<'_>, measurand: &Measurand) {
    let comparison = &measurand.comparison;
    let unit = &measurand.unit;
    let mut table = Table::new(
        format!("{}: all pairs", book.free(&measurand.title)),
        &["Pair", "#First less second", "#Interval for the whole family", "#p, adjusted", "Said"],
    );
    let is_reference = |place: usize| {
        let members = comparison.members.get(place).map_or(&[][..], Vec::as_slice);
        measurand.entries.iter().any(|entry| entry.reference && members.contains(&entry.specimen))
    };
    let name = |place: usize| {
        let name = comparison.groups.get(place).map_or_else(String::new, |(title, _)| book.group(title));
        if is_reference(place) { format!("{name} (reference)") } else { name }
    };
    let mut close = false;
    for pair in &comparison.pairs {
        let holds_nothing = pair.family.0 <= 0.0 && pair.family.1 >= 0.0;
        close |= pair.differs && holds_nothing;
        let said = match (pair.differs, holds_nothing) {
            (true, false) => "they differ",
            (true, true) => "they differ, by p alone",
            (false, _) => "cannot be told apart",
        };
        table.row([
            format!("{} less {}", name(pair.first), name(pair.second)),
            say::by(pair.difference.value, (pair.family.1 - pair.family.0) / 2.0, unit),
            say::interval(pair.family, unit),
            if pair.p_value < 0.001 { "< 0.001".to_owned() } else { format!("{:.3}", pair.p_value) },
            said.to_owned(),
        ]);
    }
    table.notes.push(format!(
        "Interval and p hold for the whole family of pairs at once; which pairs are in it is said above. Two differ where p is below {:.2}.",
        comparison.error
    ));
    if close {
        table.notes.push(
            "By p alone: the interval still holds 0. It is made alike for all pairs; p is held only against those pairs that are no plainer, and so shows a little more."
                .to_owned(),
        );
    }
    section.table(table);
}

fn score(section: &mut Section, book: &Book<'_>) {
    let Some(score) = &book.results.score else { return };
    section.heading("Weighted score");
    section.says(book.free(&score.words));
    let mut weights = Table::new("Weights, as the campaign declares them", &["Of", "#Share"]);
    for (key, share) in &score.weights {
        let title = book
            .results
            .measurands
            .iter()
            .find(|measurand| measurand.key == *key)
            .map_or(key, |measurand| &measurand.title);
        weights.row([book.free(title), format!("{} %", say::number(share * 100.0, 3))]);
    }
    section.table(weights);
    let mut table = Table::new(
        "Scores from 0 to 1",
        &["Of", "#Score", "#Lowest and highest when each weight is halved and doubled"],
    );
    for (title, at, low, high) in &score.groups {
        table.row([book.group(title), format!("{at:.2}"), format!("{low:.2} to {high:.2}")]);
    }
    let stable = if score.stable {
        "The first stays first under every such change."
    } else {
        "The first does NOT stay first under every such change: the score ranks the weights as much as the filters."
    };
    table.notes.push(stable.to_owned());
    section.table(table);
}

pub(super) fn drift(book: &Book<'_>) -> Section {
    let mut section = Section::new("drift", "Drift of the reference specimen");
    if book.results.drifts.is_empty() {
        return section;
    }
    section.says("The same specimen was tested at the beginning and at the end. What changed between is the bench, not the filters.");
    let mut table =
        Table::new("The reference, run by run", &["What", "Specimen", "Runs and what they gave", "#Change, %", "Said"]);
    let percent = crate::quantity::Unit::parse("%").unwrap_or_else(|_| crate::quantity::Unit::none());
    let mut reasons = say::Reasons::default();
    for (number, drift) in book.results.drifts.iter().enumerate() {
        let measurand = book.results.measurands.iter().find(|measurand| measurand.key == drift.measurand);
        let title = measurand.map_or_else(|| drift.measurand.clone(), |measurand| book.free(&measurand.title));
        if let Some(measurand) = measurand.filter(|_| drift.runs.len() > 1) {
            chart(&mut section, number, &title, measurand, drift);
        }
        let runs = drift.runs.iter().map(|(run, _, outcome)| {
            measurand
                .map_or_else(|| run.clone(), |measurand| format!("{run}: {}", say::whole(outcome, &measurand.unit)))
        });
        table.row([
            title,
            book.specimen(&drift.specimen),
            runs.collect::<Vec<_>>().join("; "),
            reasons.cell(&drift.change, &percent),
            if drift.words.is_empty() {
                if drift.seen { "beyond its doubt" } else { "within its doubt" }.to_owned()
            } else {
                book.free(&drift.words)
            },
        ]);
    }
    table.notes = reasons.notes();
    section.table(table);
    section
}

fn chart(section: &mut Section, number: usize, title: &str, measurand: &Measurand, drift: &Drift) {
    let rows: Vec<plot::Row<'_>> = drift
        .runs
        .iter()
        .map(|(run, place, outcome)| plot::Row {
            label: format!("{run}, no. {}", place + 1),
            outcome,
            letters: String::new(),
        })
        .collect();
    let svg = plot::intervals(
        &format!("drift-{}", number + 1),
        &format!("{title}: the reference"),
        &measurand.unit,
        &rows,
        Better::Neither,
    );
    section.parts.extend(svg.map(|svg| Part::Picture {
        svg,
        caption: format!("{title}: {} from its first run to its last", drift.specimen),
    }));
}

pub(super) fn claims(book: &Book<'_>) -> Section {
    let mut section = Section::new("claims", "What packages promise");
    if book.results.claims.is_empty() {
        return section;
    }
    if book.hidden() {
        section.says("The promises on the packages are held against the results when the key is opened.");
        return section;
    }
    let verdict = |met: Met| {
        match met {
            Met::Met => "met",
            Met::NotMet => "not met",
            Met::CannotBeSaid => "cannot be said",
        }
        .to_owned()
    };
    let mut table = Table::new("Promises beside what was measured", &["Model", "Promise", "Specimens", "Said", "Why"]);
    let mut each = Table::new("The same, specimen by specimen", &["Specimen", "Promise", "Said", "Why"]);
    for claim in &book.results.claims {
        let model = book.plan.campaign.models.get(&claim.model);
        let title = model.map_or_else(|| claim.model.clone(), |model| format!("{}, {}", model.name, model.title));
        table.row([
            title,
            claim.claim.clone(),
            claim.specimens.join(", "),
            verdict(claim.verdict),
            claim.words.clone(),
        ]);
        for one in claim.each.iter().filter(|_| claim.each.len() > 1) {
            each.row([book.specimen(&one.specimen), claim.claim.clone(), verdict(one.verdict), one.words.clone()]);
        }
    }
    table.notes.push(
        "Met or not: for the specimens named, under the conditions of this bench. A maker's conditions may have been others. A figure without a tolerance stands for what rounds to it, and can be missed but not proved."
            .to_owned(),
    );
    section.table(table);
    section.table(each);
    section
}
