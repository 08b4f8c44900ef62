//! Who was tested, by which test, how far.

use super::super::Given;
use super::super::table::{Table, date, link, number, row, text, truth, whole};
use super::word;

const COURSES: &[&str] = &["not-begun", "broken-off", "complete"];

pub(super) fn tables(given: &Given<'_>) -> Vec<Table> {
    vec![models(given), specimens(given), tests(given), runs(given)]
}

fn models(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "models",
        "Models",
        "What was bought. Empty while the campaign hides which specimen is which model.",
        &["model"],
        vec![
            text("model", "Model", "Name in the plan").required(),
            text("title", "Title", "In words"),
            number("price", "", "Price", "As paid"),
            text("currency", "Currency", "ISO 4217"),
            number("rated_flow", "m3/s", "Rated flow", "As the maker says"),
            number("media_area", "m2", "Area of the medium", "As the plan says"),
            text("medium", "Medium", "What it filters with"),
            number("can_volume", "m3", "Volume", "Of the can"),
            text("thread", "Thread", "As written"),
        ],
    );
    if given.tells_models() {
        for model in given.plan.campaign.models.values() {
            let si = |quantity: &Option<crate::quantity::Quantity>| quantity.as_ref().map(|q| q.si());
            table.rows.push(row![
                &model.name,
                &model.title,
                model.price.as_ref().map(|price| price.value),
                model.price.as_ref().map(|price| price.unit.text.as_str()),
                si(&model.rated_flow),
                si(&model.media_area),
                model.medium.as_deref(),
                si(&model.can_volume),
                model.thread.as_deref()
            ]);
        }
    }
    table
}

fn specimens(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "specimens",
        "Specimens",
        "Each thing that was tested, by the code on it. Model, lot and purchase are empty while the campaign hides them.",
        &["specimen"],
        vec![
            text("specimen", "Specimen", "Code on the specimen").required(),
            truth("reference", "Reference", "Whether it is the specimen that is run again to see the bench drift"),
            text("model", "Model", "Which model it is"),
            text("lot", "Lot", "As stamped"),
            text("bought", "Bought", "When and where"),
        ],
    )
    .links(&[link(&["model"], "models", &["model"])]);
    // By their codes: the order of the register may follow the models.
    let mut specimens: Vec<_> = given.plan.campaign.specimens.values().collect();
    specimens.sort_by(|one, other| one.code.cmp(&other.code));
    for specimen in specimens {
        let told = given.tells_models().then_some(specimen);
        table.rows.push(row![
            &specimen.code,
            specimen.reference,
            told.and_then(|s| s.model.as_deref()),
            told.and_then(|s| s.lot.as_deref()),
            told.and_then(|s| s.bought.as_deref())
        ]);
    }
    table
}

fn tests(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "tests",
        "Tests",
        "What was done to specimens: a protocol with its parameters.",
        &["test"],
        vec![
            text("test", "Test", "Name in the plan").required(),
            text("title", "Title", "In words"),
            text("protocol", "Protocol", "Name of the protocol").required(),
            whole("revision", "Revision", "Of the protocol").required(),
            text("purpose", "Purpose", "What the protocol is for"),
            text("dosing", "Dosing", "How dust is given, where the plan says"),
        ],
    );
    for test in &given.plan.tests {
        let protocol = &test.protocol;
        table.rows.push(row![
            &test.name,
            &test.title,
            &protocol.name,
            protocol.revision,
            &protocol.purpose,
            test.dosing.as_deref()
        ]);
    }
    table
}

fn runs(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "runs",
        "Runs",
        "Every run of the plan, also those that were broken off, set aside or never begun.",
        &["run"],
        vec![
            text("run", "Run", "Code").required(),
            text("test", "Test", "Which test").required(),
            text("specimen", "Specimen", "Which specimen").required(),
            whole("replicate", "Replicate", "From 1").required().at_least(1.0),
            text("course", "Course", "How far it got").required().one_of(COURSES),
            date("date", "Date", "Of its first row, on the bench's calendar"),
            text("set_aside", "Set aside", "Why nothing of it enters a comparison"),
        ],
    )
    .links(&[link(&["test"], "tests", &["test"]), link(&["specimen"], "specimens", &["specimen"])]);
    for run in &given.plan.runs {
        let found = given.results.runs.iter().find(|found| found.code == run.code);
        table.rows.push(row![
            &run.code,
            super::test_name(given, run.test),
            &run.specimen,
            run.replicate,
            found.map_or_else(|| "not-begun".to_owned(), |found| word(&found.course)),
            found.map(|found| found.date.as_str()),
            found.and_then(|found| found.set_aside.as_deref())
        ]);
    }
    table
}
