//! `loopleaf why`: what a code means, with a plan that has the fault, what is said of it, and the plan without it.

use super::campaign::Stopped;
use super::session::Session;
use super::{Exit, args};
use crate::diagnostic::Code;
use crate::syntax::nearest;

/// Identifier and page of every code, as the tests make them in `docs/codes`.
const PAGES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/pages.rs"));

/// Where each family of codes begins, in the order of the table.
const FAMILIES: [(&str, &str); 13] = [
    ("L101", "The text: what can't be read, or read in two ways"),
    ("L201", "Quantities, units and windows"),
    ("L301", "Names"),
    ("L401", "The plan and the state of the bench"),
    ("L455", "Fluid and heat"),
    ("L485", "Pressure and instruments"),
    ("L515", "Tare, blank, background and dust"),
    ("L535", "Injection and clean-up"),
    ("L555", "Samples and laboratory"),
    ("L580", "Design and order"),
    ("L595", "People and cautions"),
    ("L610", "Claims and report"),
    ("A101", "Records, held against the plan"),
];

pub(super) fn run(options: &args::Why, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let Some(asked) = &options.code else {
        session.say(list(session.terminal.width).trim_end())?;
        return Ok(Exit::Fine);
    };
    let Some(code) = Code::from_id(asked.trim()) else {
        let near = nearest(&asked.to_uppercase(), Code::all().map(Code::id));
        let help = match near.and_then(Code::from_id) {
            Some(near) => format!("did you mean `{near}`, {}?", lowered(near.title())),
            None => "`loopleaf why` alone lists them all".to_owned(),
        };
        return Err(Stopped::Problem(format!("there is no code `{asked}`; {help}")));
    };
    let text = match page(code) {
        Some(page) => shown(page, session.terminal.width),
        None => format!("{}: {}\n\n{}\n", code.id(), code.title(), code.why()),
    };
    session.say(text.trim_end())?;
    Ok(Exit::Fine)
}

/// The page of a code, as it stands in `docs/codes`; none where it has not been made yet.
pub fn page(code: Code) -> Option<&'static str> {
    PAGES.iter().find(|(id, _)| *id == code.id()).map(|(_, page)| *page)
}

fn lowered(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// Every code with its title, by family.
fn list(width: usize) -> String {
    let mut text = String::from("Every finding. `loopleaf why L423` tells one with an example.\n");
    let mut family = None;
    for code in Code::all() {
        let of = FAMILIES.iter().rev().find(|(first, _)| same_letter(first, code.id()) && *first <= code.id());
        if of != family {
            family = of;
            text.push_str(&format!("\n{}\n", of.map_or("", |(_, title)| *title)));
        }
        let lines = wrapped(code.title(), width.saturating_sub(8));
        for (index, line) in lines.iter().enumerate() {
            let head = if index == 0 { code.id() } else { "" };
            text.push_str(&format!("  {head:4}  {line}\n"));
        }
    }
    text
}

fn same_letter(a: &str, b: &str) -> bool {
    a.chars().next() == b.chars().next()
}

/// A page without its marks: headings and sentences as they are, wrong and right plans set in, and of the right plan only the
/// lines that are others.
fn shown(page: &str, width: usize) -> String {
    let mut text = String::new();
    let mut fence: Option<(String, Vec<&str>)> = None;
    let mut wrong: Vec<&str> = Vec::new();
    let mut hidden = false;
    for line in page.lines() {
        if let Some((language, lines)) = &mut fence {
            if line != "```" {
                lines.push(line);
                continue;
            }
            let (language, lines) = (std::mem::take(language), std::mem::take(lines));
            fence = None;
            if language != "leaf" {
                // What is said of it shows the place in the plan already.
                for line in lines {
                    text.push_str(format!("    {line}").trim_end());
                    text.push('\n');
                }
            } else if wrong.is_empty() {
                wrong = lines;
            } else {
                text.push_str(&right_way(&wrong, &lines));
                wrong.clear();
            }
            continue;
        }
        if let Some(language) = line.strip_prefix("```") {
            fence = Some((language.to_owned(), Vec::new()));
            continue;
        }
        // Empty lines and the words around the two plans.
        match line {
            "This file has the fault." | "What is said of it:" | "This file does not." => hidden = true,
            _ if line.starts_with("<!--") || line.starts_with("The bench that they use") => hidden = true,
            "" if hidden || text.is_empty() || text.ends_with("\n\n") => hidden = false,
            "" => text.push('\n'),
            _ => {
                hidden = false;
                let plain = line.trim_start_matches('#').trim_start();
                for line in wrapped(plain, width) {
                    text.push_str(&line);
                    text.push('\n');
                }
            }
        }
    }
    text
}

/// What stands in the right plan where the wrong one has its fault, with a line before and after it.
fn right_way(wrong: &[&str], right: &[&str]) -> String {
    let same = wrong.iter().zip(right).take_while(|(a, b)| a == b).count();
    let rest = wrong.len().min(right.len()) - same;
    let tail = wrong.iter().rev().zip(right.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let (from, to) = (same.saturating_sub(1), (right.len() - tail + 1).min(right.len()));
    let mut text = if right.len() - tail == same {
        // Nothing was put in its place.
        String::from("  Right, with the faulty lines left out:\n\n")
    } else {
        String::from("  Right:\n\n")
    };
    for (index, line) in right.iter().enumerate().take(to).skip(from) {
        text.push_str(format!("    {:3} │ {line}", index + 1).trim_end());
        text.push('\n');
    }
    text
}

/// A sentence in lines of at most this many characters.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.is_empty() || line.chars().count() + 1 + word.chars().count() <= width => {
                if !line.is_empty() {
                    line.push(' ');
                }
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
