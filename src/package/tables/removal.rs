//! What went in and what came out, by size.

use super::super::Given;
use super::super::table::{Cell, Field, Table, link, number, row, text, truth, whole};
use super::outcome::Estimates;
use super::word;
use crate::results::{Outcome, SizeResult};

pub(super) fn tables(given: &Given<'_>, estimates: &mut Estimates) -> Vec<Table> {
    let mut removal = Table::new(
        "removal",
        "Removal",
        "What the counts of a run may claim.",
        &["run"],
        vec![
            text("run", "Run", "").required(),
            text("design", "Design", "Which of the designs the dosing follows").required().one_of(&[
                "mixed-batch",
                "continuous",
                "decay",
                "residual",
            ]),
            text("claims", "Claims", "In a sentence").required(),
            text("remarks", "Remarks", "Sentences"),
        ],
    )
    .links(&[link(&["run"], "runs", &["run"])]);
    let mut pairs = Table::new(
        "removal_pairs",
        "Pairs of bottles",
        "Two bottles of one moment, before and after the specimen.",
        &["run", "pair"],
        vec![
            text("run", "Run", "").required(),
            whole("pair", "Pair", "From 1").required().at_least(1.0),
            text("stage", "Stage", "").required(),
            whole("round", "Round", "Of its loop").at_least(1.0),
            text("up", "Upstream bottle", "Label").required(),
            text("down", "Downstream bottle", "Label").required(),
            number("up_after", "s", "Upstream drawn", "After the flow was switched to the specimen"),
            number("down_after", "s", "Downstream drawn", "After the flow was switched to the specimen"),
            number("turnover", "s", "Turnover", "Volume over flow"),
        ],
    )
    .links(&[link(&["run"], "removal", &["run"])]);
    let mut sizes = Table::new(
        "removal_sizes",
        "Counts by size, pair by pair",
        "Particles at a size and above in the two bottles of a pair, and the share caught.",
        &["run", "pair", "size"],
        [vec![text("run", "Run", "").required(), whole("pair", "Pair", "").required().at_least(1.0)], size_fields()]
            .concat(),
    )
    .links(&[
        link(&["run", "pair"], "removal_pairs", &["run", "pair"]),
        link(&["estimate"], "estimates", &["estimate"]),
    ]);
    let mut pooled = Table::new(
        "removal_pooled",
        "Counts by size, all pairs of a run together",
        "Counts are added, never are ratios averaged.",
        &["run", "size"],
        [vec![text("run", "Run", "").required()], size_fields()].concat(),
    )
    .links(&[link(&["run"], "removal", &["run"]), link(&["estimate"], "estimates", &["estimate"])]);
    for run in &given.results.runs {
        let Some(found) = &run.removal else { continue };
        removal.rows.push(row![&run.code, word(&found.design), &found.claims, &found.remarks.join(" ")]);
        for (place, pair) in found.pairs.iter().enumerate() {
            pairs.rows.push(row![
                &run.code,
                place + 1,
                &pair.stage,
                pair.round,
                &pair.up,
                &pair.down,
                pair.up_after,
                pair.down_after,
                pair.turnover
            ]);
            for size in &pair.sizes {
                let key = format!("{}/pair {}/{}", run.code, place + 1, size.words);
                let cells = size_cells(estimates, &key, size);
                sizes.rows.push([row![&run.code, place + 1], cells].concat());
            }
        }
        for size in &found.pooled {
            let cells = size_cells(estimates, &format!("{}/pooled/{}", run.code, size.words), size);
            pooled.rows.push([row![&run.code], cells].concat());
        }
    }
    vec![removal, pairs, sizes, pooled]
}

fn size_fields() -> Vec<Field> {
    let mut fields = vec![
        number("size", "m", "Size", "And above").required().at_least(0.0),
        text("size_written", "Size as written", "With its calibration").required(),
        whole("up", "Upstream", "Particles seen by the sensor").required().at_least(0.0),
        whole("down", "Downstream", "Particles seen by the sensor").required().at_least(0.0),
        number("up_background", "{particle}", "Upstream background", "The same in clean oil, in the counted volume")
            .required(),
        number(
            "down_background",
            "{particle}",
            "Downstream background",
            "The same in clean oil, in the counted volume",
        )
        .required(),
        number("up_volume", "m3", "Upstream volume", "Undiluted oil that was counted").required(),
        number("down_volume", "m3", "Downstream volume", "Undiluted oil that was counted").required(),
        truth("few", "Few", "Whether there are too few particles to say more than a bound"),
        number(
            "by_counts",
            "1",
            "By counts alone",
            "1 less net counts after over net counts before, in the same counted volume",
        ),
        number(
            "turnovers",
            "1",
            "Turnovers between",
            "By which the bottles before were drawn later, in turnovers of the tank",
        ),
        number(
            "mixture",
            "1",
            "Mixture",
            "m: the share caught E solves 1 - E = (1 - by_counts) / (m exp(E turnovers))",
        ),
    ];
    fields.extend(super::outcome::fields("1"));
    fields.extend([
        text("ratio_outcome", "Ratio", "Of the ratio β from the same counts: known, or only a bound, or unsaid")
            .required(),
        number("ratio", "1", "β", "Before over after"),
        number("ratio_low", "1", "β, low", "95 %"),
        number("ratio_high", "1", "β, high", "95 %"),
    ]);
    fields
}

fn size_cells(estimates: &mut Estimates, key: &str, size: &SizeResult) -> Vec<Cell> {
    let counted = row![
        size.size,
        &size.words,
        size.up,
        size.down,
        size.up_background,
        size.down_background,
        size.up_volume,
        size.down_volume,
        size.few,
        size.steps.map(|steps| steps.by_counts),
        size.steps.map(|steps| steps.turnovers),
        size.steps.map(|steps| steps.mixture),
    ];
    let efficiency = estimates.cells(key.to_owned(), "1", &size.efficiency);
    let ratio = match &size.ratio {
        Outcome::Known(known) => row!["known", known.value, known.interval.low, known.interval.high],
        Outcome::AtLeast { bound, .. } => row!["at-least", None::<f64>, *bound, None::<f64>],
        Outcome::AtMost { bound, .. } => row!["at-most", None::<f64>, None::<f64>, *bound],
        Outcome::Unsaid { .. } => row!["unsaid", None::<f64>, None::<f64>, None::<f64>],
    };
    [counted, efficiency, ratio].concat()
}
