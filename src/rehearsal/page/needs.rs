//! What to have at hand, and what it costs.

use super::{Part, Section, Table, says};
use crate::foresight::Span;
use crate::quantity::Unit;
use crate::rehearsal::{Bill, Needs, Rehearsal, Stock, say};

pub(super) fn section(rehearsal: &Rehearsal) -> Section {
    let needs = &rehearsal.needs;
    let mut parts = Vec::new();
    let short = shopping(needs);
    let whole = rehearsal.run.is_none();
    if short.is_empty() {
        parts.push(says("Oil and dust are enough, as far as the plan says what is there."));
    } else {
        parts.push(Part::List { items: short });
    }
    let mut table = Table::new("Oil, solvent and dust", &["What", "For", ">Takes", ">To have", ">There", "Verdict"]);
    for stock in needs.fluids.iter().chain(&needs.dusts) {
        stocked(&mut table, stock);
    }
    parts.push(Part::Table(table));
    if !needs.without_amount.is_empty() {
        parts.push(says(format!(
            "Besides, as much as the vessel takes (the plan does not say): {}.",
            needs.without_amount.join("; ")
        )));
    }
    let mut table = Table::new("Bottles, laboratory tests, specimens", &["What", ">How many", ">Price"]);
    for (volume, count) in &needs.bottles {
        table.row(vec![format!("bottles of {volume}, cleaned"), whole_numbers(*count), "not given".to_owned()]);
    }
    for bill in needs.tests.iter().chain(&needs.specimens) {
        billed(&mut table, bill);
    }
    parts.push(Part::Table(table));
    for (currency, amount) in &needs.money {
        let what = if whole { "The campaign" } else { "The run" };
        parts.push(says(format!(
            "{what} uses {} of what has a price; oil and dust by what is used of them, not by whole drums.",
            money(currency, *amount)
        )));
    }
    let mut without: Vec<String> = needs.without_price.clone();
    if !needs.bottles.is_empty() {
        without.push("bottles".to_owned());
    }
    if !without.is_empty() {
        parts.push(says(format!("No price given: {}.", without.join("; "))));
    }
    if needs.waste_oil.high > 0.0 {
        parts.push(says(format!(
            "Waste oil, flushings and bottles included: {}, in {} containers of {}. Oil with test dust is waste of its own \
             kind: your local rules say where it goes. Solvent and solvent rags apart, in closed metal.",
            say::span_in(needs.waste_oil, &litre()),
            whole_numbers(needs.waste_containers),
            say::value_in(needs.container, &litre())
        )));
    }
    Section { title: "What it takes".to_owned(), parts }
}

fn litre() -> Unit {
    Unit::parse("L").unwrap_or_else(|_| Unit::none())
}

/// One line for each thing that is short, or of which the plan does not say what is there.
fn shopping(needs: &Needs) -> Vec<String> {
    let each = needs.fluids.iter().chain(&needs.dusts).filter_map(|stock| match stock.short() {
        Some(short) if short > 0.0 => Some(format!(
            "buy {} more of {}: {} are to be there before the first run",
            say::value_in(short, &stock.unit),
            stock.name,
            say::value_in(stock.to_have, &stock.unit)
        )),
        Some(_) => None,
        None => Some(format!(
            "have {} of {} (the plan gives no supply)",
            say::value_in(stock.to_have, &stock.unit),
            stock.name
        )),
    });
    each.collect()
}

fn stocked(table: &mut Table, stock: &Stock) {
    let verdict = match stock.short() {
        Some(short) if short > 0.0 => format!("short by {}", say::value_in(short, &stock.unit)),
        Some(_) => "enough".to_owned(),
        None => "no supply given".to_owned(),
    };
    table.row(vec![
        stock.name.clone(),
        "all".to_owned(),
        say::exact_span_in(stock.total, &stock.unit),
        say::value_in(stock.to_have, &stock.unit),
        stock.supply.map_or_else(|| "–".to_owned(), |supply| say::value_in(supply, &stock.unit)),
        verdict,
    ]);
    for (what, amount) in &stock.lines {
        let blank = String::new;
        let amount = say::exact_span_in(*amount, &stock.unit);
        table.row(vec![blank(), (*what).to_owned(), amount, blank(), blank(), blank()]);
    }
}

fn billed(table: &mut Table, bill: &Bill) {
    let price =
        bill.price.as_ref().map_or_else(|| "not given".to_owned(), |(currency, amount)| money(currency, *amount));
    table.row(vec![bill.title.clone(), whole_numbers(bill.count), price]);
}

fn whole_numbers(count: Span) -> String {
    let (low, high) = (format!("{:.0}", count.low), format!("{:.0}", count.high));
    if low == high { low } else { format!("{low} to {high}") }
}

fn money(currency: &str, amount: Span) -> String {
    let (low, high) = (format!("{:.2}", amount.low), format!("{:.2}", amount.high));
    if low == high {
        return format!("{low} {currency}");
    }
    format!("{:.0} to {:.0} {currency}", amount.low, amount.high)
}
