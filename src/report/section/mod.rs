//! The sections of a report, one file a subject, in the order of its pages.

mod budget;
mod comparison;
mod departures;
mod disclosure;
mod front;
mod items;
mod loading;
mod mechanics;
mod method;
mod qualification;
mod removal;
mod restriction;
mod runs;
mod secondary;

use super::page::Section;
use super::{Book, Part, say};

/// Every section; one that has nothing to say has no parts.
pub(super) fn all(book: &Book<'_>) -> Vec<Section> {
    vec![
        front::answers(book),
        items::items(book),
        method::method(book),
        departures::departures(book),
        qualification::qualification(book),
        restriction::restriction(book),
        mechanics::mechanics(book),
        removal::removal(book),
        loading::loading(book),
        secondary::normalised(book),
        secondary::teardown(book),
        comparison::comparison(book),
        comparison::drift(book),
        comparison::claims(book),
        budget::budgets(book),
        runs::runs(book),
        disclosure::disclosure(book),
        front::limits(book),
    ]
}

/// Columns that a table can hold on a printed page.
const COLUMNS: usize = 7;

/// Parts for tables that hold so many columns, about as large as each other.
fn parted<T>(of: &[T]) -> impl Iterator<Item = &[T]> {
    let tables = of.len().div_ceil(COLUMNS).max(1);
    of.chunks(of.len().div_ceil(tables).max(1))
}

/// Remarks of a run's results, each with the run that it is of; the same remark of several runs once.
fn remarks<'r>(section: &mut Section, book: &Book<'_>, each: impl Iterator<Item = (String, &'r [String])>) {
    let mut seen: indexmap::IndexMap<&str, Vec<String>> = indexmap::IndexMap::new();
    let mut runs = 0;
    for (head, remarks) in each {
        runs += 1;
        for remark in remarks {
            seen.entry(remark.as_str()).or_default().push(head.clone());
        }
    }
    let items = seen.iter().map(|(remark, heads)| {
        let whose = if runs > 2 && heads.len() == runs { "All".to_owned() } else { say::listed(heads) };
        format!("{whose}: {}", book.free(remark))
    });
    section.list(items.collect());
}
