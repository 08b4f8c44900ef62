//! What an unknown unit may have meant: a slip of capitals, a long word, a letter too many.

use super::Unit;
use super::catalogue::{NAMED, is_gallon_without_country};

/// Long words and habits, and the unit that is meant. Several units are separate rows, the likeliest first.
const WORDS: &[(&str, &str)] = &[
    ("litre", "L"),
    ("litres", "L"),
    ("liter", "L"),
    ("liters", "L"),
    ("lt", "L"),
    ("ltr", "L"),
    ("millilitre", "mL"),
    ("millilitres", "mL"),
    ("milliliters", "mL"),
    ("milliliter", "mL"),
    ("cc", "mL"),
    ("lpm", "L/min"),
    ("l/m", "L/min"),
    ("cubic metres", "m³"),
    ("cubic meters", "m³"),
    ("c", "°C"),
    ("°", "°C"),
    ("deg", "°C"),
    ("degree", "°C"),
    ("degrees", "°C"),
    ("degrees c", "°C"),
    ("deg c", "°C"),
    ("celsius", "°C"),
    ("centigrade", "°C"),
    ("degrees celsius", "°C"),
    ("ºc", "°C"),
    ("° c", "°C"),
    ("f", "°F"),
    ("deg", "°F"),
    ("degree", "°F"),
    ("degrees", "°F"),
    ("degrees f", "°F"),
    ("deg f", "°F"),
    ("fahrenheit", "°F"),
    ("degrees fahrenheit", "°F"),
    ("ºf", "°F"),
    ("° f", "°F"),
    ("kelvin", "K"),
    ("kelvins", "K"),
    ("°k", "K"),
    ("second", "s"),
    ("seconds", "s"),
    ("sec", "s"),
    ("secs", "s"),
    ("minute", "min"),
    ("minutes", "min"),
    ("mins", "min"),
    ("hour", "h"),
    ("hours", "h"),
    ("hr", "h"),
    ("hrs", "h"),
    ("d", "days"),
    ("micron", "µm(c)"),
    ("microns", "µm(c)"),
    ("mic", "µm(c)"),
    ("micrometre", "µm(c)"),
    ("micrometres", "µm(c)"),
    ("micrometer", "µm(c)"),
    ("micrometers", "µm(c)"),
    ("micron", "µm"),
    ("microns", "µm"),
    ("micrometres", "µm"),
    ("millimetre", "mm"),
    ("millimetres", "mm"),
    ("millimeters", "mm"),
    ("centimetres", "cm"),
    ("metre", "m"),
    ("metres", "m"),
    ("meter", "m"),
    ("meters", "m"),
    ("inch", "in"),
    ("inches", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("\"", "in"),
    ("gram", "g"),
    ("grams", "g"),
    ("gramme", "g"),
    ("grammes", "g"),
    ("gr", "g"),
    ("gr", "grain"),
    ("milligram", "mg"),
    ("milligrams", "mg"),
    ("kilo", "kg"),
    ("kilos", "kg"),
    ("kilogram", "kg"),
    ("kilograms", "kg"),
    ("kgs", "kg"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("pascal", "Pa"),
    ("pascals", "Pa"),
    ("kilopascal", "kPa"),
    ("kilopascals", "kPa"),
    ("barg", "bar gauge"),
    ("bara", "bar absolute"),
    ("bar(g)", "bar gauge"),
    ("bar(a)", "bar absolute"),
    ("bard", "bar differential"),
    ("kpag", "kPa gauge"),
    ("kpaa", "kPa absolute"),
    ("kpa(g)", "kPa gauge"),
    ("kpa(a)", "kPa absolute"),
    ("bars", "bar"),
    ("millibar", "mbar"),
    ("inwc", "inH2O"),
    ("inwg", "inH2O"),
    ("in h2o", "inH2O"),
    ("centistokes", "cSt"),
    ("centistoke", "cSt"),
    ("centipoise", "cP"),
    ("ssu", "SUS"),
    ("newton", "N"),
    ("newtons", "N"),
    ("nm", "N·m"),
    ("ft-lb", "lbf·ft"),
    ("ftlb", "lbf·ft"),
    ("ft lb", "lbf·ft"),
    ("lb-ft", "lbf·ft"),
    ("in-lb", "lbf·in"),
    ("in lb", "lbf·in"),
    ("watt", "W"),
    ("watts", "W"),
    ("percent", "%"),
    ("per cent", "%"),
    ("pct", "%"),
    ("wt%", "% by mass"),
    ("% wt", "% by mass"),
    ("% w/w", "% by mass"),
    ("vol%", "% by volume"),
    ("% vol", "% by volume"),
    ("% v/v", "% by volume"),
    ("ppm", "mg/L"),
    ("ppm", "mg/kg"),
    ("particle", "particles"),
    ("p", "particles"),
    ("pcs", "particles"),
    ("revs", "turns"),
    ("revolutions", "turns"),
    ("euro", "EUR"),
    ("euros", "EUR"),
    ("€", "EUR"),
    ("dollar", "USD"),
    ("dollars", "USD"),
    ("$", "USD"),
    ("£", "GBP"),
];

/// Units that may have been meant, best first, at most three.
pub(super) fn suggestions(text: &str) -> Vec<String> {
    let text = text.replace(" per ", "/");
    let mut found = closest(&text);
    if found.is_empty() && text.contains(['/', '·', '.', ' ']) {
        found.extend(repaired(&text));
    }
    found.retain(|unit| Unit::read(unit, false).is_ok());
    found.truncate(3);
    found
}

/// Units by another capital or by a long word of the trade, never by likeness: `KPA`, `lpm`, `C`, `litres/min`. Several
/// where a habit has several meanings.
pub(super) fn habits(text: &str) -> Vec<String> {
    let whole = habit(&text.to_lowercase());
    if !whole.is_empty() || !text.contains('/') {
        return whole.into_iter().map(str::to_owned).collect();
    }
    let part = |part: &str| match habit(&part.to_lowercase()).as_slice() {
        _ if Unit::read(part, false).is_ok() => Some(part.to_owned()),
        [only] => Some((*only).to_owned()),
        _ => None,
    };
    let parts: Option<Vec<String>> = text.split('/').map(|each| part(each.trim())).collect();
    parts.map(|parts| parts.join("/")).into_iter().collect()
}

fn habit(lower: &str) -> Vec<&'static str> {
    let capitals = NAMED.iter().flat_map(|named| named.spellings).copied();
    let mut found: Vec<&str> = capitals.filter(|spelling| spelling.to_lowercase() == lower).collect();
    found.extend(WORDS.iter().filter(|(habit, _)| *habit == lower).map(|(_, unit)| *unit));
    found
}

/// Named units that one word may have meant.
fn closest(word: &str) -> Vec<String> {
    let lower = word.to_lowercase();
    let mut found = habit(&lower);
    if found.is_empty() && lower.chars().count() >= 3 {
        let mut near: Vec<(usize, &str)> = NAMED
            .iter()
            .flat_map(|named| named.spellings)
            .chain(WORDS.iter().filter(|(habit, _)| habit.len() > 4).map(|(habit, _)| habit))
            .map(|spelling| (strsim::damerau_levenshtein(&spelling.to_lowercase(), &lower), *spelling))
            .filter(|(distance, spelling)| *distance * 3 <= spelling.chars().count())
            .collect();
        near.sort_by_key(|(distance, _)| *distance);
        found.extend(near.into_iter().map(|(_, spelling)| {
            WORDS.iter().find(|(habit, _)| *habit == spelling).map_or(spelling, |(_, unit)| unit)
        }));
    }
    let mut units: Vec<String> = Vec::new();
    for unit in found {
        if !units.iter().any(|earlier| earlier == unit) {
            units.push(unit.to_owned());
        }
    }
    units
}

/// The text with each unknown part replaced by the unit closest to it.
fn repaired(text: &str) -> Option<String> {
    if let Some((rest, word)) = text.rsplit_once(' ') {
        let reference = match word.to_lowercase().as_str() {
            "gauge" | "gage" | "g" => Some("gauge"),
            "absolute" | "abs" | "a" => Some("absolute"),
            "differential" | "diff" | "d" => Some("differential"),
            _ => None,
        };
        if let Some(reference) = reference {
            return Some(format!("{} {reference}", repaired(rest).or_else(|| known(rest))?));
        }
    }
    let mut whole = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['/', '·', '.']) {
        let mark = rest[at..].chars().next()?;
        whole += &known(rest[..at].trim())?;
        whole.push(mark);
        rest = &rest[at + mark.len_utf8()..];
    }
    whole += &known(rest.trim())?;
    Some(whole).filter(|whole| whole != text)
}

/// A part as it is when it is a unit, otherwise the closest one.
fn known(part: &str) -> Option<String> {
    if part.is_empty() || part.starts_with("100 ") || Unit::read(part, false).is_ok() {
        return Some(part.to_owned());
    }
    if is_gallon_without_country(part) {
        return None;
    }
    closest(part).into_iter().next()
}
