//! What can be said of differences, and the answers to the campaign's questions.

use super::super::Given;
use super::super::table::{Table, link, number, row, text, truth, whole};
use super::super::ucum;
use super::outcome::{self, Estimates};
use super::units::Units;
use super::{test_name, word};
use crate::results::{ClaimCheck, Outcome};

const VERDICTS: &[&str] = &["met", "not-met", "cannot-be-said"];

pub(super) fn tables(given: &Given<'_>, units: &mut Units, estimates: &mut Estimates) -> Vec<Table> {
    let mut tables = measurands(given, units, estimates);
    tables.extend([drifts(given, estimates), claims(given), claims_each(given), per_unit(given), answers(given)]);
    tables
}

fn measurands(given: &Given<'_>, units: &mut Units, estimates: &mut Estimates) -> Vec<Table> {
    let mut measurands = Table::new(
        "measurands",
        "What was compared",
        "Everything that all specimens of a test can be compared by.",
        &["measurand"],
        vec![
            text("measurand", "Measurand", "Key").required(),
            text("title", "Title", "In words"),
            text("test", "Test", "").required(),
            text("better", "Better", "Which way is better").required().one_of(&["low", "high", "neither"]),
            text("unit", "Unit", "UCUM code of the unit that it is printed in"),
            text("si_unit", "SI unit", "UCUM code, of every number of the measurand").required(),
            text("basis", "Basis", "How differences were decided"),
            number(
                "resolvable",
                "",
                "Smallest difference",
                "That this campaign would have shown in eight of ten cases, SI",
            ),
            text("none", "No comparison", "Why there is none"),
            text("remarks", "Remarks", "Who is not compared with whom, and why; joined by `; `"),
        ],
    )
    .links(&[link(&["test"], "tests", &["test"]), link(&["unit"], "units", &["unit"])]);
    let mut fields = vec![
        text("measurand", "Measurand", "").required(),
        text("specimen", "Specimen", "").required(),
        text("model", "Model", "Empty while models are hidden"),
        truth("reference", "Reference", "Whether it is the reference specimen"),
        text("runs", "Runs", "That it rests on, by their codes"),
        text("remark", "Remark", ""),
    ];
    fields.extend(outcome::fields(""));
    fields.push(number("corrected", "", "Corrected", "With the drift of the reference specimen taken off, SI"));
    let mut entries = Table::new(
        "entries",
        "Results by specimen",
        "One specimen's result for each measurand, SI.",
        &["measurand", "specimen"],
        fields,
    )
    .links(&[
        link(&["measurand"], "measurands", &["measurand"]),
        link(&["specimen"], "specimens", &["specimen"]),
        link(&["model"], "models", &["model"]),
        link(&["estimate"], "estimates", &["estimate"]),
    ]);
    let mut groups = Table::new(
        "groups",
        "What was compared, with letters",
        "Specimens, or models with several specimens. Those that share a letter cannot be told apart.",
        &["measurand", "group"],
        vec![
            text("measurand", "Measurand", "").required(),
            whole("group", "Group", "From 1").required().at_least(1.0),
            text("title", "Title", "").required(),
            text("members", "Members", "Codes of its specimens"),
            text("letters", "Letters", ""),
            number("mean", "", "Mean", "SI").required(),
            number("standard", "", "Its standard uncertainty", "SI").at_least(0.0),
            number("low", "", "Low", "95 %, SI"),
            number("high", "", "High", "95 %, SI"),
        ],
    )
    .links(&[link(&["measurand"], "measurands", &["measurand"])]);
    let mut bounds = Table::new(
        "bounds",
        "Told apart by a bound",
        "Where only a bound is known and it lies beyond another's interval all the same; at 95 % for the two by themselves.",
        &["measurand", "number"],
        vec![
            text("measurand", "Measurand", "").required(),
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("higher", "Higher", "").required(),
            text("lower", "Lower", "").required(),
            text("words", "In words", ""),
        ],
    )
    .links(&[link(&["measurand"], "measurands", &["measurand"])]);
    let mut pairs = Table::new(
        "comparisons",
        "Differences",
        "All pairs of groups: first less second, SI. What errs alike in both cancels.",
        &["measurand", "first", "second"],
        vec![
            text("measurand", "Measurand", "").required(),
            whole("first", "First", "Group").required().at_least(1.0),
            whole("second", "Second", "Group").required().at_least(1.0),
            number("difference", "", "Difference", "").required(),
            number("standard", "", "Standard uncertainty", "").required().at_least(0.0),
            number("low", "", "Low", "95 %, of this pair by itself").required(),
            number("high", "", "High", "95 %, of this pair by itself").required(),
            number("family_low", "", "Low, together", "95 % for all pairs at once").required(),
            number("family_high", "", "High, together", "95 % for all pairs at once").required(),
            number("p_value", "1", "p", "Adjusted for all pairs").required().at_least(0.0).at_most(1.0),
            truth("differs", "Differs", "Whether the difference is told"),
            truth("against_reference", "Against the reference", "Whether one of the two is the reference"),
            text("estimate", "Estimate", "Key into the tables estimates and budgets").required(),
        ],
    )
    .links(&[
        link(&["measurand", "first"], "groups", &["measurand", "group"]),
        link(&["measurand", "second"], "groups", &["measurand", "group"]),
        link(&["estimate"], "estimates", &["estimate"]),
    ]);
    for measurand in &given.results.measurands {
        let si = ucum::coherent(&measurand.unit).unwrap_or("1");
        let comparison = &measurand.comparison;
        measurands.rows.push(row![
            &measurand.key,
            &measurand.title,
            test_name(given, measurand.test),
            word(&measurand.better),
            units.code(&measurand.unit),
            si,
            &comparison.basis,
            comparison.resolvable,
            comparison.none.as_deref(),
            &comparison.remarks.join("; ")
        ]);
        for entry in &measurand.entries {
            let model = entry.model.as_deref().filter(|model| {
                given.tells_models() && given.plan.campaign.models.values().any(|known| known.name == *model)
            });
            let head = row![
                &measurand.key,
                &entry.specimen,
                model,
                entry.reference,
                entry.runs.join(" "),
                entry.remark.as_deref()
            ];
            let cells = estimates.cells(format!("{}/{}", measurand.key, entry.specimen), si, &entry.outcome);
            let corrected = entry.corrected.as_ref().and_then(|corrected| corrected.known()).map(|known| known.value);
            entries.rows.push([head, cells, row![corrected]].concat());
        }
        for (place, (title, mean)) in comparison.groups.iter().enumerate() {
            let letters = comparison.letters.get(place).map(String::as_str);
            let members = comparison.members.get(place).map(|members| members.join(" "));
            let doubt = comparison.means.get(place);
            groups.rows.push(row![
                &measurand.key,
                place + 1,
                title,
                members,
                letters,
                *mean,
                doubt.map(|doubt| doubt.standard),
                doubt.map(|doubt| doubt.interval.low),
                doubt.map(|doubt| doubt.interval.high)
            ]);
        }
        for (place, told) in comparison.beyond.iter().enumerate() {
            bounds.rows.push(row![&measurand.key, place + 1, &told.higher, &told.lower, &told.words]);
        }
        for pair in &comparison.pairs {
            let key = format!("{}/{} less {}", measurand.key, pair.first + 1, pair.second + 1);
            let outcome = Outcome::Known(pair.difference.clone());
            estimates.cells(key.clone(), si, &outcome);
            let difference = &pair.difference;
            pairs.rows.push(row![
                &measurand.key,
                pair.first + 1,
                pair.second + 1,
                difference.value,
                difference.standard,
                difference.interval.low,
                difference.interval.high,
                pair.family.0,
                pair.family.1,
                pair.p_value,
                pair.differs,
                pair.against_reference,
                key
            ]);
        }
    }
    vec![measurands, entries, groups, pairs, bounds]
}

fn drifts(given: &Given<'_>, estimates: &mut Estimates) -> Table {
    let mut fields = vec![
        whole("number", "Number", "From 1").required().at_least(1.0),
        text("measurand", "Measurand", "Or a test of which nothing can be said").required(),
        text("specimen", "Specimen", "The reference; empty where a test has none that is run twice"),
        text("runs", "Runs", "By their codes"),
        truth("seen", "Seen", "Whether the change is beyond its doubt"),
        text("words", "In words", ""),
    ];
    fields.extend(outcome::fields("1"));
    let mut table = Table::new(
        "drifts",
        "Drift of the bench",
        "The reference specimen at its last run over its first, less 1.",
        &["number"],
        fields,
    )
    .links(&[link(&["specimen"], "specimens", &["specimen"]), link(&["estimate"], "estimates", &["estimate"])]);
    for (number, drift) in (1_usize..).zip(&given.results.drifts) {
        let runs: Vec<&str> = drift.runs.iter().map(|(run, _, _)| run.as_str()).collect();
        let head = row![number, &drift.measurand, &drift.specimen, runs.join(" "), drift.seen, &drift.words];
        let key = format!("{}/drift {number}", drift.measurand);
        table.rows.push([head, estimates.cells(key, "1", &drift.change)].concat());
    }
    table
}

fn claims(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "claims",
        "Promises on packages",
        "Beside what was measured. Empty while models are hidden.",
        &["number"],
        vec![
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("model", "Model", "").required(),
            text("claim", "Claim", "").required(),
            text("specimens", "Specimens", "By their codes"),
            text("verdict", "Verdict", "").required().one_of(VERDICTS),
            text("words", "Why", "With numbers"),
        ],
    )
    .links(&[link(&["model"], "models", &["model"])]);
    for (number, claim) in told(given) {
        table.rows.push(row![
            number,
            &claim.model,
            &claim.claim,
            claim.specimens.join(" "),
            word(&claim.verdict),
            &claim.words
        ]);
    }
    table
}

/// The promises that may be told, numbered.
fn told<'a>(given: &Given<'a>) -> impl Iterator<Item = (usize, &'a ClaimCheck)> {
    let (plan, tells) = (given.plan, given.tells_models());
    let known = move |name: &str| plan.campaign.models.values().any(|model| model.name == name);
    (1..).zip(given.results.claims.iter().filter(move |claim| tells && known(&claim.model)))
}

fn claims_each(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "claims_by_specimen",
        "Promises on packages, specimen by specimen",
        "Empty while models are hidden.",
        &["number", "specimen", "measurand"],
        vec![
            whole("number", "Number", "Of the promise").required().at_least(1.0),
            text("specimen", "Specimen", "").required(),
            text("measurand", "Measurand", "That it was held against").required(),
            text("verdict", "Verdict", "").required().one_of(VERDICTS),
            text("words", "Why", "With numbers"),
        ],
    )
    .links(&[
        link(&["number"], "claims", &["number"]),
        link(&["specimen"], "specimens", &["specimen"]),
        link(&["measurand"], "measurands", &["measurand"]),
    ]);
    for (number, claim) in told(given) {
        for each in &claim.each {
            table.rows.push(row![number, &each.specimen, &each.measurand, word(&each.verdict), &each.words]);
        }
    }
    table
}

fn per_unit(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "per_unit",
        "Results by price and size",
        "A view beside the results: nothing rests on it. Not in SI, for money has none; the unit is in words. Empty while models are hidden, since prices and sizes tell them apart.",
        &["measurand", "per", "specimen"],
        vec![
            text("measurand", "Measurand", "").required(),
            text("per", "By", "price, media area or can volume").required(),
            text("specimen", "Specimen", "").required(),
            text("unit_written", "Unit", "In words").required(),
            number("value", "", "Value", ""),
            number("low", "", "Low", "95 %, or the bound that it is at least"),
            number("high", "", "High", "95 %, or the bound that it is at most"),
        ],
    )
    .links(&[
        link(&["measurand"], "measurands", &["measurand"]),
        link(&["specimen"], "specimens", &["specimen"]),
    ]);
    for view in given.results.per_unit.iter().filter(|_| given.tells_models()) {
        for (specimen, outcome) in &view.entries {
            let (value, low, high) = match outcome {
                Outcome::Known(known) => (Some(known.value), Some(known.interval.low), Some(known.interval.high)),
                Outcome::AtLeast { bound, .. } => (None, Some(*bound), None),
                Outcome::AtMost { bound, .. } => (None, None, Some(*bound)),
                Outcome::Unsaid { .. } => continue,
            };
            table.rows.push(row![&view.measurand, &view.per, specimen, &view.unit, value, low, high]);
        }
    }
    table
}

fn answers(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "answers",
        "Answers to the campaign's questions",
        "",
        &["question_number"],
        vec![
            whole("question_number", "Number", "Of the question, from 1").required().at_least(1.0),
            text("question", "Question", "As the plan asks it").required(),
            text("answer", "Answer", "Sentences"),
            text("limits", "Limits", "What was not tested, or why nothing can be said"),
            text("rests_on", "Rests on", "Keys of measurands, joined by `; `"),
        ],
    );
    for (place, answer) in given.results.answers.iter().enumerate() {
        table.rows.push(row![
            place + 1,
            &answer.question,
            &answer.sentences.join(" "),
            &answer.limits.join(" "),
            answer.rests_on.join("; ")
        ]);
    }
    table
}
