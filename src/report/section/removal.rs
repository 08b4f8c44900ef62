//! What was caught, by size: counts, backgrounds, counted volumes, and what follows from them.

use super::super::page::Table;
use super::super::plot;
use super::{Book, Section, remarks, say};
use crate::quantity::Unit;
use crate::results::removal::share::Steps;
use crate::results::{Design, Pair, RemovalResult, RunResults, SizeResult};

pub(super) fn removal(book: &Book<'_>) -> Section {
    let mut section = Section::new("removal", "Removal of particles");
    for (index, test) in book.plan.tests.iter().enumerate() {
        let of: Vec<(&RunResults, &RemovalResult)> = book
            .results
            .runs
            .iter()
            .filter(|run| run.test == index)
            .filter_map(|run| run.removal.as_ref().map(|removal| (run, removal)))
            .collect();
        let Some((_, first)) = of.first() else { continue };
        section.heading(test.title.clone());
        section.says(format!("{}. {}", design(first.design), book.free(&first.claims)));
        section.says(
            "Particles are those that the sensor saw, in the counted volume of undiluted oil. Background is what clean oil would have shown in \
             the same volume. Efficiency is the share caught, with its 95 % interval; β = 1/(1 − efficiency). Both are computed from counts, \
             never from cleanliness codes.",
        );
        if of.iter().any(|(_, removal)| moved(removal)) {
            section.says(
                "‘By counts’ is 1 − D/U, with D and U the counts less background, brought to the same volume. The two bottles of a pair are not \
                 drawn at once, and meanwhile the filter cleans the tank: t is by how many turnovers of the tank the upstream bottle comes \
                 later (below zero: earlier). So the efficiency E solves 1 − E = (D/U)/(m e^(E t)). The factor m, near 1, is there because particles \
                 from a size up are a mixture, of which the coarse go first; it is computed from the counts of all sizes.",
            );
        }
        let panels: Vec<(String, &RemovalResult)> =
            of.iter().map(|(run, removal)| (book.run_head(run), *removal)).collect();
        section.picture(
            plot::removal(&format!("removal-{}", index + 1), &test.title, &panels),
            "Share caught against size. Filled: value with 95 % interval. Hollow: few particles. Arrow: a bound only.",
        );
        for (run, removal) in &of {
            sizes(&mut section, &book.run_head(run), run, removal);
        }
        pairs(&mut section, book, &of);
        remarks(&mut section, book, of.iter().map(|(run, removal)| (book.run_head(run), removal.remarks.as_slice())));
    }
    section
}

fn design(design: Design) -> &'static str {
    match design {
        Design::MixedBatch => {
            "A mixed batch that goes through the specimen once: paired bottles give the share caught in one pass"
        }
        Design::Continuous => "Dust fed without end: paired bottles at a schedule",
        Design::Decay => "One point counted over time: the slope gives the share caught, if the volume is well stirred",
        Design::Residual => "Bottles of what is left after circulating: no efficiency follows from them",
    }
}

/// Whether the efficiencies are more than counts over counts: the oil went round between the bottles.
fn moved(removal: &RemovalResult) -> bool {
    removal.pooled.iter().filter_map(|size| size.steps).any(|steps| steps.turnovers != 0.0)
}

fn sizes(section: &mut Section, head: &str, run: &RunResults, removal: &RemovalResult) {
    let moved = moved(removal);
    let columns: Vec<&str> =
        ["Size and above", "#Upstream (of it background)", "#Downstream (of it background)", "#Counted, mL, up / down"]
            .into_iter()
            .chain(["#By counts, %", "#t", "#m"].into_iter().filter(|_| moved))
            .chain(["#Efficiency, %", "#β"])
            .collect();
    let head = if head.contains(&run.code) { head.to_owned() } else { format!("{head} ({})", run.code) };
    let used = removal.pairs.iter().filter(|pair| used(pair)).count();
    if used == 0 && !removal.pairs.is_empty() {
        section.says(format!("{head}: no pair of bottles can be used."));
        return;
    }
    let mut table =
        Table::new(format!("{head}: {} together", say::count(used, "pair of bottles", "pairs of bottles")), &columns);
    let mut reasons = say::Reasons::default();
    for size in &removal.pooled {
        let cells = row(size, moved, &mut reasons);
        if size.few { table.faint(cells) } else { table.row(cells) }
    }
    if removal.pooled.iter().any(|size| size.few) {
        table.notes.push(
            "Grey, marked ‘few’: too few particles downstream to say more than a wide interval or a bound.".to_owned(),
        );
    }
    table.notes.extend(reasons.notes());
    section.table(table);
}

fn row(size: &SizeResult, moved: bool, reasons: &mut say::Reasons) -> Vec<String> {
    let unit = |words: &str| Unit::parse(words).unwrap_or_else(|_| Unit::none());
    let (percent, millilitre) = (unit("%"), unit("mL"));
    let volume = |si: f64| say::number(millilitre.from_si_difference(si), 3);
    let counted = |seen: u64, background: f64| format!("{seen} ({})", say::number(background, 3));
    let mut cells = vec![
        format!("{}{}", size.words, if size.few { ", few" } else { "" }),
        counted(size.up, size.up_background),
        counted(size.down, size.down_background),
        format!("{} / {}", volume(size.up_volume), volume(size.down_volume)),
    ];
    if moved {
        // As many digits as take a reader to the efficiency that is printed.
        let step = |of: &dyn Fn(Steps) -> String| size.steps.map_or_else(|| say::NOTHING.to_owned(), of);
        cells.push(step(&|steps| {
            let half = size.efficiency.known().map_or(0.0, |known| (known.interval.high - known.interval.low) / 2.0);
            say::by(steps.by_counts, half, &percent)
        }));
        cells.push(step(&|steps| say::number(steps.turnovers, 3)));
        cells.push(step(&|steps| format!("{:.3}", steps.mixture)));
    }
    cells.push(reasons.cell(&size.efficiency, &percent));
    cells.push(reasons.cell(&size.ratio, &Unit::none()));
    cells
}

/// Whether anything of a pair was counted and may be used.
fn used(pair: &Pair) -> bool {
    pair.sizes.iter().any(|size| size.up > 0)
}

fn pairs(section: &mut Section, book: &Book<'_>, of: &[(&RunResults, &RemovalResult)]) {
    let mut table = Table::new(
        "When the bottles were drawn, and how long the oil takes to go round once",
        &[
            "Run",
            "Stage",
            "#Round",
            "Upstream",
            "Downstream",
            "#Upstream after, s",
            "#Downstream after, s",
            "#Turnover, s",
            "Used",
        ],
    );
    let seconds = |time: Option<f64>| time.map_or_else(|| say::NOTHING.to_owned(), |time| say::number(time, 3));
    for (run, removal) in of {
        let stages = book.test(run.test).map(|test| &test.stages);
        for pair in &removal.pairs {
            let title = stages.and_then(|stages| stages.iter().find(|stage| stage.name == pair.stage));
            table.row([
                run.code.clone(),
                title.map_or_else(|| pair.stage.clone(), |stage| stage.title.clone()),
                pair.round.map_or_else(|| say::NOTHING.to_owned(), |round| round.to_string()),
                pair.up.clone(),
                pair.down.clone(),
                seconds(pair.up_after),
                seconds(pair.down_after),
                seconds(pair.turnover),
                if used(pair) { "yes" } else { "no" }.to_owned(),
            ]);
        }
    }
    table
        .notes
        .push("Seconds after the flow was switched to the specimen, and V/Q, where the record tells them.".to_owned());
    section.table(table);
}
