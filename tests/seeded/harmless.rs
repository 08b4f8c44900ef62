//! Changes that change nothing at the bench: other names, other order where order is free, other units of the same value,
//! another layout. None of them may give a finding that the campaign did not have.

use std::collections::BTreeSet;

use loopleaf::source::Sources;
use loopleaf::syntax::parse;
use loopleaf::syntax::tree::{Part, Statement};

use super::{findings, said};
use crate::shipped::{CAMPAIGNS, Piece, leaf_files, pieces, untidy};

/// One variation: what was done, the campaign, and its files.
struct Variation {
    what: String,
    campaign: &'static str,
    files: Vec<(String, String)>,
}

/// The files that a campaign may use.
fn its_files(campaign: &str) -> Vec<(String, String)> {
    let own = |path: &str| path.starts_with("protocols/") || path.starts_with(campaign);
    leaf_files().into_iter().filter(|(path, _)| own(path)).collect()
}

fn statements(path: &str, text: &str) -> Vec<Statement> {
    let mut sources = Sources::new();
    let id = sources.add(path, text);
    parse(&sources, id).value.statements
}

/// Every statement, those in blocks too.
fn each<'s>(statements: &'s [Statement], seen: &mut impl FnMut(&'s Statement)) {
    for statement in statements {
        seen(statement);
        each(&statement.block, seen);
    }
}

/// Names that files declare and that are no word of the language.
fn declared(files: &[(String, String)]) -> BTreeSet<String> {
    let words: BTreeSet<&str> =
        include_str!("../../grammar/statements.forms").split(|c: char| !c.is_alphanumeric() && c != '-').collect();
    let mut names = BTreeSet::new();
    for (path, text) in files {
        let tree = statements(path, text);
        each(&tree, &mut |statement| {
            for part in ["name", "code"] {
                if let Some(Part::New(word)) = statement.part(part)
                    && !matches!(statement.key(), "waive" | "window" | "threshold" | "field" | "caution")
                    // `carrier` is a property that house rules speak of.
                    && word.text != "carrier"
                    && !words.contains(word.text.as_str())
                {
                    names.insert(word.text.clone());
                }
            }
        });
    }
    names
}

/// A text with a name put in place of another, wherever it stands as a name of its own or as a part of a path.
fn renamed(text: &str, old: &str, new: &str) -> String {
    let put = |solid: &str| {
        if solid.starts_with('"') {
            return solid.to_owned();
        }
        let segments: Vec<&str> = solid.split('/').map(|segment| if segment == old { new } else { segment }).collect();
        segments.join("/")
    };
    let piece = |piece| match piece {
        Piece::Solid(solid) => put(solid),
        Piece::Spaces => " ".to_owned(),
        Piece::Newline => "\n".to_owned(),
        Piece::Comment(comment) => comment.to_owned(),
    };
    pieces(text).into_iter().map(piece).collect()
}

fn renames() -> Vec<Variation> {
    let mut found = Vec::new();
    for campaign in CAMPAIGNS {
        let files = its_files(campaign);
        for (number, name) in declared(&files).into_iter().enumerate() {
            // Specimens and people have short codes; another short code then.
            let new = if name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit()) {
                format!("Z{}", number + 10)
            } else {
                format!("other-{}", ["alder", "birch", "cedar", "elm", "fir"][number % 5]) + &format!("-{number}")
            };
            let files = files.iter().map(|(path, text)| (path.clone(), renamed(text, &name, &new))).collect();
            found.push(Variation { what: format!("{campaign}: `{name}` becomes `{new}`"), campaign, files });
        }
    }
    found
}

/// Units that stand for one another exactly: the one, the other, and by what power of ten the number grows.
const ALIKE: &[(&str, &str, i32)] = &[
    ("L/min", "mL/min", 3),
    ("kPa", "hPa", 1),
    ("kPa", "Pa", 3),
    ("g", "mg", 3),
    ("mm", "cm", -1),
    ("L", "mL", 3),
    ("kW", "W", 3),
    ("mm²/s", "cSt", 0),
    ("psi", "lbf/in²", 0),
    ("m³", "L", 3),
];

/// A decimal number times a power of ten, with all its digits.
fn shifted(number: &str, by: i32) -> String {
    let (whole, fraction) = number.split_once('.').unwrap_or((number, ""));
    let digits = format!("{whole}{fraction}");
    let point = i32::try_from(whole.len()).unwrap() + by;
    let zeros = |n: i32| "0".repeat(usize::try_from(n.max(0)).unwrap());
    let length = i32::try_from(digits.len()).unwrap();
    let padded = format!("{}{digits}{}", zeros(1 - point), zeros(point - length));
    let at = usize::try_from(point.max(1)).unwrap();
    let (whole, fraction) = padded.split_at(at);
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    if fraction.is_empty() { whole.to_owned() } else { format!("{whole}.{fraction}") }
}

#[test]
fn shifting_keeps_the_digits() {
    let shifts = [("0.01", 1, "0.1"), ("40", 3, "40000"), ("12", -1, "1.2"), ("1.50", 1, "15.0"), ("7", -1, "0.7")];
    for (number, by, wanted) in shifts {
        assert_eq!(shifted(number, by), wanted);
    }
}

fn units() -> Vec<Variation> {
    let mut found = Vec::new();
    for campaign in CAMPAIGNS {
        let files = its_files(campaign);
        for (file, (path, text)) in files.iter().enumerate() {
            let mut taken = 0;
            for (one, other, by) in ALIKE {
                let mark = format!(" {one}");
                for (at, _) in text.match_indices(&mark) {
                    let rest = &text[at + mark.len()..];
                    let whole_unit = rest.starts_with(['\n', ',', ';', ']', ' ']) && !rest.starts_with(" gauge");
                    let start = text[..at].rfind(|c: char| !c.is_ascii_digit() && c != '.').map_or(0, |at| at + 1);
                    let number = &text[start..at];
                    let quoted = text[..at].rsplit('\n').next().unwrap().matches('"').count() % 2 == 1;
                    if !whole_unit || number.is_empty() || quoted || text[..start].ends_with('-') {
                        continue;
                    }
                    taken += 1;
                    if taken % 3 != 1 {
                        continue;
                    }
                    let new = format!("{}{} {other}{rest}", &text[..start], shifted(number, *by));
                    let mut files = files.clone();
                    files[file].1 = new;
                    let what = format!("{path}: `{number} {one}` is written in {other}");
                    found.push(Variation { what, campaign, files });
                }
            }
        }
    }
    found
}

/// Blocks in which the order of statements says nothing.
const FREE: [&str; 10] =
    ["fluid", "instrument", "rig", "laboratory", "reservoir", "pump", "heater", "model", "limits", "rules"];

fn orders() -> Vec<Variation> {
    let mut found = Vec::new();
    for campaign in CAMPAIGNS {
        let files = its_files(campaign);
        for (file, (path, text)) in files.iter().enumerate() {
            let tree = statements(path, text);
            let mut swaps = Vec::new();
            let tops: Vec<&Statement> = tree.iter().filter(|s| s.key() != "use").collect();
            swaps.extend(tops.windows(2).map(|pair| (pair[0].span, pair[1].span)));
            each(&tree, &mut |statement| {
                if FREE.contains(&statement.key()) {
                    let pairs = statement.block.windows(2).filter(|pair| pair[0].key() != pair[1].key());
                    swaps.extend(pairs.step_by(3).map(|pair| (pair[0].span, pair[1].span)));
                }
            });
            for (first, second) in swaps {
                let (a, b) = (first.range(), second.range());
                let new = [&text[..a.start], &text[b.clone()], &text[a.end..b.start], &text[a.clone()], &text[b.end..]];
                let mut files = files.clone();
                files[file].1 = new.concat();
                let said = text[a.start..].lines().next().unwrap_or_default();
                found.push(Variation { what: format!("{path}: `{said}` stands after its neighbour"), campaign, files });
            }
        }
    }
    found
}

fn layouts() -> Vec<Variation> {
    let mut found = Vec::new();
    for campaign in CAMPAIGNS {
        for seed in 0..15_u8 {
            let choices: Vec<u8> = (0..97_u8).map(|i| i.wrapping_mul(37).wrapping_add(seed.wrapping_mul(29))).collect();
            let files = its_files(campaign).into_iter().map(|(path, text)| (path, untidy(&text, &choices))).collect();
            found.push(Variation { what: format!("{campaign}: layout {seed}"), campaign, files });
        }
    }
    found
}

/// Every variation with `LOOPLEAF_EVERY_CHANGE=1`, otherwise every so-manieth.
fn give_nothing(variations: &[Variation], every: usize, at_least: usize) {
    let every = if std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_some() { 1 } else { every };
    let variations: Vec<&Variation> = variations.iter().step_by(every).collect();
    assert!(variations.len() >= at_least, "only {} variations", variations.len());
    let mut wrong = Vec::new();
    for variation in &variations {
        let (found, sources) = findings(variation.campaign, &variation.files);
        if !found.is_empty() {
            wrong.push(format!("{}:\n{}", variation.what, said(&found, &sources)));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n\n{}", wrong.len(), variations.len(), wrong.join("\n\n"));
}

#[test]
fn other_names_give_no_finding() {
    give_nothing(&renames(), 3, 90);
}

#[test]
fn other_units_of_the_same_value_give_no_finding() {
    give_nothing(&units(), 2, 40);
}

#[test]
fn another_order_gives_no_finding() {
    give_nothing(&orders(), 3, 50);
}

#[test]
fn another_layout_gives_no_finding() {
    give_nothing(&layouts(), 1, 30);
}
