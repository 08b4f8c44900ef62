//! A piece of a plan as named values in words: `vg-15: flash point` is `155 °C, closed cup`.

use indexmap::IndexMap;
use serde_json::{Map, Value};

use crate::quantity::Unit;

/// What a piece holds, value by value.
pub(super) fn facts(value: Option<&Value>) -> IndexMap<String, String> {
    facts_in(value, None)
}

/// The same, where windows without a unit of their own are in this unit.
pub(super) fn facts_in(value: Option<&Value>, unit: Option<&Unit>) -> IndexMap<String, String> {
    let mut facts = IndexMap::new();
    if let Some(value) = value {
        gather(value, "", unit, &mut facts);
    }
    facts
}

fn gather(value: &Value, name: &str, unit: Option<&Unit>, facts: &mut IndexMap<String, String>) {
    if let Some(text) = whole(value, unit) {
        if !text.is_empty() {
            put(facts, name, text);
        }
        return;
    }
    match value {
        Value::Object(map) => {
            let own = own_unit(map);
            let unit = own.as_ref().or(unit);
            // What a thing is called names it already.
            let called = map.get("name").or_else(|| map.get("code")).and_then(Value::as_str);
            let named = called.is_some_and(|called| name == called || name.ends_with(&format!(": {called}")));
            for (key, inner) in map {
                let hidden = is_hidden(key, map) || (named && (key == "name" || key == "code"));
                if !hidden {
                    gather(inner, &below(name, key), unit, facts);
                }
            }
        }
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                let called = item.get("name").or_else(|| item.get("code")).and_then(Value::as_str);
                let key = called.map_or_else(|| (index + 1).to_string(), str::to_owned);
                gather(item, &below(name, &key), unit, facts);
            }
        }
        _ => {}
    }
}

/// Two of one name are told apart by their number.
fn put(facts: &mut IndexMap<String, String>, name: &str, text: String) {
    let mut key = name.to_owned();
    let mut again = 2;
    while facts.contains_key(&key) {
        key = format!("{name} ({again})");
        again += 1;
    }
    facts.insert(key, text);
}

fn below(name: &str, key: &str) -> String {
    let key = match key {
        "flash" => "flash point".to_owned(),
        "pour" => "pour point".to_owned(),
        "set" => "set at".to_owned(),
        "asks" => "what answers the questions".to_owned(),
        key => key.replace('_', " "),
    };
    if name.is_empty() { key } else { format!("{name}: {key}") }
}

/// What only repeats in SI what stands beside it as written.
fn is_hidden(key: &str, map: &Map<String, Value>) -> bool {
    let beside = |other: &str| map.get(other).is_some_and(|value| !value.is_null());
    match key {
        "si" => beside("viscosity"),
        "window" => beside("low") || (beside("high") && map.contains_key("low")),
        _ => false,
    }
}

/// The unit that a piece names for its numbers.
fn own_unit(map: &Map<String, Value>) -> Option<Unit> {
    let text = |value: &Value| value.as_str().and_then(|text| Unit::parse(text).ok());
    map.get("unit").and_then(text).or_else(|| map.get("target")?.get("unit").and_then(text))
}

/// What is one value: a quantity, a window, a setting, a marked value, a list of such.
fn whole(value: &Value, unit: Option<&Unit>) -> Option<String> {
    match value {
        Value::Null => Some(String::new()),
        Value::Bool(yes) => Some(if *yes { "yes" } else { "no" }.to_owned()),
        Value::Number(number) => Some(number.as_f64().map_or_else(|| number.to_string(), significant)),
        Value::String(text) => Some(text.clone()),
        Value::Array(items) => {
            let texts: Option<Vec<String>> = items.iter().map(|item| whole(item, unit)).collect();
            texts.map(|texts| texts.join(", "))
        }
        Value::Object(map) => object(map, unit),
    }
}

fn object(map: &Map<String, Value>, unit: Option<&Unit>) -> Option<String> {
    let only = |keys: &[&str]| map.len() == keys.len() && keys.iter().all(|key| map.contains_key(*key));
    if only(&["number", "value", "unit"]) {
        let text = |key: &str| map.get(key).and_then(Value::as_str).unwrap_or_default();
        return Some(format!("{} {}", text("number"), text("unit")).trim_end().to_owned());
    }
    if only(&["low", "high"]) {
        return Some(ends(map, |end| end.as_f64().map(|si| in_unit(si, unit))));
    }
    if only(&["low", "high", "window"]) {
        return Some(ends(map, |end| whole(end, unit).filter(|text| !text.is_empty())));
    }
    if only(&["target", "window"]) {
        let own = own_unit(map);
        let target = whole(map.get("target")?, unit)?;
        let window = whole(map.get("window")?, own.as_ref().or(unit))?;
        return Some(match (target.is_empty(), window.is_empty()) {
            (false, false) => format!("{target} ({window})"),
            _ => target + &window,
        });
    }
    if only(&["value", "mark"]) {
        let value = whole(map.get("value")?, unit)?;
        let mark = mark(map.get("mark")?);
        return Some(if mark.is_empty() { value } else { format!("{value}, {mark}") });
    }
    if only(&["viscosity", "si", "temperature"]) {
        return Some(format!("{} at {}", whole(map.get("viscosity")?, unit)?, whole(map.get("temperature")?, unit)?));
    }
    if only(&["temperature", "closed_cup"]) {
        let cup = if map.get("closed_cup")? == true { "closed cup" } else { "open cup" };
        return Some(format!("{}, {cup}", whole(map.get("temperature")?, unit)?));
    }
    if only(&["way", "key"]) {
        let text = |key: &str| map.get(key).and_then(Value::as_str);
        return Some(format!("{} {}", text("way")?.replace('-', " "), text("key")?));
    }
    if map.contains_key("said") && map.contains_key("temperatures") {
        return held(map);
    }
    // One variant with what it holds, such as `{"FromMemory": …}` or `{"published": "…"}`.
    None
}

/// A viscosity that is held, and the temperature that gives it.
fn held(map: &Map<String, Value>) -> Option<String> {
    let unit = own_unit(map);
    let said = map.get("said")?.as_str()?;
    let mm2 = Unit::parse("mm²/s").ok();
    let viscosity = whole(map.get("window")?, mm2.as_ref())?;
    let temperature = in_unit(map.get("temperature")?.as_f64()?, unit.as_ref());
    let window = whole(map.get("temperatures")?, unit.as_ref())?;
    Some(format!("{said} ({viscosity}) with {}, at {temperature} ({window})", map.get("fluid")?.as_str()?))
}

fn ends(map: &Map<String, Value>, text: impl Fn(&Value) -> Option<String>) -> String {
    let end = |key: &str| map.get(key).filter(|value| !value.is_null()).and_then(&text);
    match (end("low"), end("high")) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("at least {low}"),
        (None, Some(high)) => format!("at most {high}"),
        (None, None) => String::new(),
    }
}

fn mark(value: &Value) -> String {
    let published = value.get("Published").and_then(Value::as_str).map(|place| format!("published in {place}"));
    let measured = value.get("Measured").and_then(Value::as_str).map(|date| format!("measured on {date}"));
    published.or(measured).unwrap_or_else(|| match value.as_str() {
        Some("CommonPractice") => "common practice".to_owned(),
        Some("FromMemory") => "from memory".to_owned(),
        _ => String::new(),
    })
}

/// A value in SI as it is read in a unit; in SI without a word where no unit is known.
fn in_unit(si: f64, unit: Option<&Unit>) -> String {
    match unit {
        Some(unit) => format!("{} {unit}", significant(unit.from_si(si))).trim_end().to_owned(),
        None => significant(si),
    }
}

/// Five significant digits, no zeros at the end.
fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let magnitude = value.abs().log10().floor();
    let decimals = (4.0 - magnitude).clamp(0.0, 12.0) as usize;
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    text
}
