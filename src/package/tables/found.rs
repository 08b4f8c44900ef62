//! Mechanical results and observations.

use super::super::Given;
use super::super::table::{Table, link, number, row, text, truth, whole};
use super::super::ucum;
use super::outcome::{self, Estimates};
use super::units::Units;
use super::word;

pub(super) fn tables(given: &Given<'_>, units: &mut Units, estimates: &mut Estimates) -> Vec<Table> {
    let mut fields = vec![
        text("run", "Run", "").required(),
        text("key", "Key", "What was measured: stage and result").required(),
        text("title", "Title", "In words"),
        text("better", "Better", "Which way is better").required().one_of(&["low", "high", "neither"]),
        text("unit", "Unit", "UCUM code of the unit that it is printed in"),
        text("si_unit", "SI unit", "UCUM code, of value, low and high"),
        text("remarks", "Remarks", "Sentences"),
    ];
    fields.extend(outcome::fields(""));
    let key = &["run", "key"];
    let mut mechanics = Table::new(
        "mechanics",
        "Mechanical results",
        "By-pass opening, leakage of the anti-drain valve, bubble point, torque.",
        key,
        fields,
    )
    .links(&[
        link(&["run"], "runs", &["run"]),
        link(&["unit"], "units", &["unit"]),
        link(&["estimate"], "estimates", &["estimate"]),
    ]);
    let mut values = Table::new(
        "mechanics_values",
        "Single values of the mechanical results",
        "In the order in which they were read; SI, in the si_unit of their result.",
        &["run", "key", "number"],
        vec![
            text("run", "Run", "").required(),
            text("key", "Key", "").required(),
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("reading", "Reading", "Path").required(),
            number("si", "", "SI", "").required(),
        ],
    )
    .links(&[link(key, "mechanics", key)]);
    let mut curves = Table::new(
        "bypass_curves",
        "Flow and pressure at the by-pass",
        "By rising flow.",
        &["run", "key", "number"],
        vec![
            text("run", "Run", "").required(),
            text("key", "Key", "").required(),
            whole("number", "Number", "From 1").required().at_least(1.0),
            number("flow", "m3/s", "Flow", "").required(),
            number("pressure", "Pa", "Differential pressure", "").required(),
        ],
    )
    .links(&[link(key, "mechanics", key)]);
    let mut observations = Table::new(
        "observations",
        "Observations",
        "What was seen at looks and teardowns, as written.",
        &["run", "number"],
        vec![
            text("run", "Run", "").required(),
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("reading", "Reading", "Path").required(),
            text("label", "What", ""),
            text("written", "As written", ""),
            truth("photograph", "Photograph", "Whether it names one"),
        ],
    )
    .links(&[link(&["run"], "runs", &["run"])]);
    for run in &given.results.runs {
        for found in &run.mechanics {
            let si = ucum::coherent(&found.unit).unwrap_or("1");
            let head = row![
                &run.code,
                &found.key,
                &found.title,
                word(&found.better),
                units.code(&found.unit),
                si,
                &found.remarks.join(" ")
            ];
            let cells = estimates.cells(format!("{}/{}", run.code, found.key), si, &found.outcome);
            mechanics.rows.push([head, cells].concat());
            for (place, (path, value)) in found.values.iter().enumerate() {
                values.rows.push(row![&run.code, &found.key, place + 1, path, *value]);
            }
            for (place, (flow, pressure)) in found.curve.iter().enumerate() {
                curves.rows.push(row![&run.code, &found.key, place + 1, *flow, *pressure]);
            }
        }
        for (place, seen) in run.observations.iter().enumerate() {
            observations.rows.push(row![&run.code, place + 1, &seen.path, &seen.label, &seen.written, seen.photograph]);
        }
    }
    vec![mechanics, values, curves, observations]
}
