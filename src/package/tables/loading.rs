//! Dust given against differential pressure, the capacity, and where the dust went.

use super::super::Given;
use super::super::table::{Table, link, number, row, text, truth, whole};
use super::outcome::{self, Estimates};

pub(super) fn tables(given: &Given<'_>, estimates: &mut Estimates) -> Vec<Table> {
    let mut fields = vec![
        text("run", "Run", "").required(),
        number("terminal_rise", "Pa", "Terminal rise", "That ends the loading").required(),
        number("baseline", "Pa", "Clean pressure", "That the rise is counted from, at the planned flow and viscosity"),
        number("mass_before", "kg", "Dust before", "Given up to the round before the terminal rise"),
        number("mass_after", "kg", "Dust after", "Given up to the round after it"),
        truth(
            "stepped_back",
            "Stepped back",
            "Whether the pressure fell after a dose: a by-pass that opens, or a tear",
        ),
        truth(
            "closes",
            "Account closes",
            "Whether the interval of the closure contains zero; empty where it is not known",
        )
        .or_empty(),
        text("remarks", "Remarks", "Sentences"),
    ];
    fields.extend(outcome::fields("kg"));
    let mut capacity = Table::new(
        "capacity",
        "Capacity",
        "Dust given at the terminal rise of differential pressure, interpolated between two rounds.",
        &["run"],
        fields,
    )
    .links(&[link(&["run"], "runs", &["run"]), link(&["estimate"], "estimates", &["estimate"])]);
    let mut points = Table::new(
        "loading_points",
        "Rounds of the loadings",
        "After each round: dust given so far and the differential pressure, brought to the planned flow and viscosity.",
        &["run", "number"],
        vec![
            text("run", "Run", "").required(),
            whole("number", "Number", "From 1, in the order of the run").required().at_least(1.0),
            text("reading", "Reading", "Path of the differential pressure").required(),
            text("stage", "Stage", "").required(),
            whole("round", "Round", "Of its loop").required().at_least(0.0),
            number("mass", "kg", "Dust given", "So far").required().at_least(0.0),
            number("mass_standard", "kg", "Its standard uncertainty", "").required().at_least(0.0),
            number("gross", "Pa", "Gross", "As read").required(),
            number("pressure", "Pa", "Pressure", "Brought to the planned flow and viscosity").required(),
            number("rise", "Pa", "Rise", "Above the clean pressure").required(),
        ],
    )
    .links(&[link(&["run"], "capacity", &["run"])]);
    let mut ledger = Table::new(
        "ledger",
        "Where the dust went",
        "Lines of each loading's account; below zero what goes away.",
        &["run", "line"],
        vec![
            text("run", "Run", "").required(),
            whole("line", "Line", "From 1").required().at_least(1.0),
            text("what", "What", "").required(),
            number("mass", "kg", "Mass", "").required(),
            number("standard", "kg", "Standard uncertainty", "").required().at_least(0.0),
        ],
    )
    .links(&[link(&["run"], "capacity", &["run"])]);
    let mut fields = vec![
        text("run", "Run", "").required(),
        text("what", "What", "given; retained: given less what went with samples, at most; gain: of the specimen by weighing; closure: given less what went with samples, less gain")
            .required()
            .one_of(&["given", "retained", "gain", "closure"]),
    ];
    fields.extend(outcome::fields("kg"));
    let mut sums = Table::new("ledger_sums", "Sums of the accounts", "", &["run", "what"], fields)
        .links(&[link(&["run"], "capacity", &["run"]), link(&["estimate"], "estimates", &["estimate"])]);
    for run in &given.results.runs {
        let Some(loading) = &run.loading else { continue };
        let said = row![
            &run.code,
            loading.terminal,
            loading.baseline,
            loading.between.map(|(before, _)| before),
            loading.between.map(|(_, after)| after),
            loading.stepped_back,
            loading.ledger.closes,
            &loading.remarks.join(" ")
        ];
        let cells = estimates.cells(format!("{}/capacity", run.code), "kg", &loading.capacity);
        capacity.rows.push([said, cells].concat());
        for (place, point) in loading.points.iter().enumerate() {
            points.rows.push(row![
                &run.code,
                place + 1,
                &point.path,
                &point.stage,
                point.round,
                point.mass,
                point.mass_doubt,
                point.gross,
                point.pressure,
                point.rise
            ]);
        }
        for (place, line) in loading.ledger.lines.iter().chain(&loading.ledger.away).enumerate() {
            ledger.rows.push(row![&run.code, place + 1, &line.what, line.mass, line.doubt]);
        }
        let account = &loading.ledger;
        let each = [
            ("given", &account.given),
            ("retained", &account.retained),
            ("gain", &account.gain),
            ("closure", &account.closure),
        ];
        for (what, outcome) in each {
            let cells = estimates.cells(format!("{}/ledger/{what}", run.code), "kg", outcome);
            sums.rows.push([row![&run.code, what], cells].concat());
        }
    }
    vec![capacity, points, ledger, sums]
}
