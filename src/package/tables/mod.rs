//! The tables of the package, in the order in which they are met: what was planned, what was recorded, what was found.

mod compared;
mod found;
mod inputs;
mod loading;
mod outcome;
mod plan;
mod planned;
mod readings;
mod removal;
mod restriction;
mod runs;
mod units;

use outcome::Estimates;
use units::Units;

use super::Given;
use super::table::{Cell, Field, Sort, Table};

/// Every table, also those without a row: a reader finds the same ones in every package.
pub(super) fn all(given: &Given<'_>) -> Vec<Table> {
    let mut units = Units::default();
    let mut estimates = Estimates::default();
    let mut tables = runs::tables(given);
    tables.extend(plan::tables(given, &mut units));
    tables.extend(planned::tables(given, &mut units));
    tables.extend(readings::tables(given, &mut units));
    tables.extend(restriction::tables(given, &mut estimates));
    tables.extend(loading::tables(given, &mut estimates));
    tables.extend(removal::tables(given, &mut estimates));
    tables.extend(found::tables(given, &mut units, &mut estimates));
    tables.extend(compared::tables(given, &mut units, &mut estimates));
    tables.extend(estimates.tables());
    tables.extend(inputs::tables(given));
    tables.push(units.table());
    if !given.tells_models() {
        tables.iter_mut().for_each(|table| hide(given, table));
    }
    tables
}

/// Leaves out every text that names a model or a lot, whoever wrote it. Names that rows are found by stay: with them nothing could
/// be looked up.
fn hide(given: &Given<'_>, table: &mut Table) {
    let finds = |field: &Field| {
        table.key.contains(&field.name) || table.links.iter().any(|link| link.fields.contains(&field.name))
    };
    let free: Vec<bool> =
        table.fields.iter().map(|field| field.sort == Sort::Text && field.one_of.is_empty() && !finds(field)).collect();
    for row in &mut table.rows {
        for (cell, _) in row.iter_mut().zip(&free).filter(|(_, free)| **free) {
            if let Cell::Text(text) = cell {
                *cell = given.tellable(text).into();
            }
        }
    }
}

/// The name of a test by its index.
fn test_name<'a>(given: &Given<'a>, test: usize) -> &'a str {
    given.plan.tests.get(test).map_or("", |test| test.name.as_str())
}

/// The word that a type is serialised as.
fn word(value: &impl serde::Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        Ok(serde_json::Value::Object(map)) => map.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    }
}
