//! Seals: one plain-text chain beside the records. Each seal holds the hash of what was signed, the hash of the seal before
//! it, the plan, who and when; whatever is changed afterwards, in a record or in the chain, no longer fits.
//!
//! ```text
//! seal 1
//! file: R01.csv
//! bytes: 20311
//! sha-256: 5e1c…
//! plan: SP3E-2YGA
//! by: AB
//! at: 2026-10-06 16:40:00
//! before: none
//! this: 9f0a…
//! ```

use super::{Beside, Finding, hash};
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::plan::Plan;
use crate::record::Record;
use crate::source::{SourceId, Span};

/// One signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seal {
    /// 1, 2, 3, … down the chain.
    pub number: usize,
    /// The file's name, without folders.
    pub file: String,
    /// Its bytes when it was signed.
    pub length: usize,
    /// SHA-256 of them.
    pub hash: String,
    /// Short fingerprint of the plan.
    pub plan: String,
    /// Initials.
    pub by: String,
    /// `YYYY-MM-DD hh:mm:ss`.
    pub at: String,
    /// The seal before it, or `none`.
    pub before: String,
    /// SHA-256 of all the lines above.
    pub this: String,
    span: Span,
    /// Whether its own lines give its hash.
    whole: bool,
}

/// The lines that a seal's own hash is taken of.
fn lines(number: usize, file: &Beside, plan: &str, by: &str, at: &str, before: &str) -> String {
    format!(
        "seal {number}\nfile: {}\nbytes: {}\nsha-256: {}\nplan: {plan}\nby: {by}\nat: {at}\nbefore: {before}\n",
        file.name, file.length, file.hash
    )
}

/// The text to add to a chain when a file is signed.
///
/// # Errors
/// When who or when is missing, when the person is none of the campaign's, or when the chain is broken already.
pub fn sign(chain: &str, file: &Beside, plan: &Plan, by: &str, at: &str) -> Result<String, String> {
    if by.is_empty() || crate::record::Instant::parse(at).is_none() {
        return Err("a signature needs initials and a time, written as YYYY-MM-DD hh:mm:ss".to_owned());
    }
    let people = &plan.campaign.people;
    if !people.is_empty() && !people.contains_key(by) {
        let known: Vec<&str> = people.keys().map(String::as_str).collect();
        return Err(format!("`{by}` is none of the campaign's people ({})", known.join(", ")));
    }
    let seals = parse(chain)
        .map_err(|(line, _)| format!("line {line} of the seals can't be read; nothing is added to a broken chain"))?;
    if let Some(broken) = first_broken(&seals) {
        return Err(format!("seal {broken} does not fit the chain any more; nothing is added to a broken chain"));
    }
    let before = seals.last().map_or("none", |seal| seal.this.as_str());
    let text = lines(seals.len() + 1, file, &plan.fingerprint.short, by, at, before);
    let this = hash(text.as_bytes());
    Ok(format!("{}{text}this: {this}\n", if chain.is_empty() { "" } else { "\n" }))
}

/// The number of the first seal that does not follow from its own lines and the one before.
fn first_broken(seals: &[Seal]) -> Option<usize> {
    let mut before = "none";
    for (index, seal) in seals.iter().enumerate() {
        if !seal.whole || seal.before != before || seal.number != index + 1 {
            return Some(index + 1);
        }
        before = &seal.this;
    }
    None
}

/// The seals of a chain; the line (from 1) and place of the first that can't be read.
fn parse(chain: &str) -> Result<Vec<Seal>, (usize, Span)> {
    const FIELDS: [&str; 8] = ["file: ", "bytes: ", "sha-256: ", "plan: ", "by: ", "at: ", "before: ", "this: "];
    let mut seals = Vec::new();
    let mut at = 0;
    let mut current: Option<(usize, usize, Vec<String>)> = None;
    for (index, raw) in chain.split_inclusive('\n').enumerate() {
        let line = raw.trim_end_matches(['\n', '\r']);
        let place = Span::new(at, at + line.len());
        at += raw.len();
        let problem = (index + 1, place);
        match &mut current {
            None if line.trim().is_empty() => {}
            None => {
                let number = line.strip_prefix("seal ").and_then(|number| number.parse().ok()).ok_or(problem)?;
                current = Some((number, place.range().start, Vec::new()));
            }
            Some((number, start, values)) => {
                let field = FIELDS.get(values.len()).ok_or(problem)?;
                values.push(line.strip_prefix(field).ok_or(problem)?.to_owned());
                let [file, length, sha, plan, by, when, before, this] = values.as_slice() else { continue };
                let length = length.parse().map_err(|_| problem)?;
                let signed = Beside { name: file.clone(), hash: sha.clone(), length };
                let whole = hash(lines(*number, &signed, plan, by, when, before).as_bytes()) == *this;
                seals.push(Seal {
                    number: *number,
                    file: file.clone(),
                    length,
                    hash: sha.clone(),
                    plan: plan.clone(),
                    by: by.clone(),
                    at: when.clone(),
                    before: before.clone(),
                    this: this.clone(),
                    span: Span::new(*start, place.range().end),
                    whole,
                });
                current = None;
            }
        }
    }
    match current {
        Some((_, start, _)) => Err((chain.lines().count(), Span::new(start, chain.len()))),
        None => Ok(seals),
    }
}

/// Holds the chain against itself and against the files that it signs. `bytes` gives a file's bytes by its name.
pub fn check(
    plan: &Plan,
    records: &[Record],
    source: SourceId,
    chain: &str,
    bytes: impl Fn(&str) -> Option<Vec<u8>>,
) -> Vec<Finding> {
    let mut found = Vec::new();
    let seals = match parse(chain) {
        Ok(seals) => seals,
        Err((line, place)) => {
            let message = format!("line {line} of the seals can't be read");
            found.push(
                Diagnostic::new(Code::SealBroken, message)
                    .at(source, place, "changed")
                    .help("Seals are written by `loopleaf sign` and never by hand. Bring the copy that was kept."),
            );
            return found;
        }
    };
    if let Some(seal) = first_broken(&seals).and_then(|number| seals.get(number - 1)) {
        let message =
            format!("seal {} (of `{}`) does not follow from its lines and the seal before it", seal.number, seal.file);
        found.push(
            Diagnostic::new(Code::SealBroken, message)
                .at(source, seal.span, "changed, or one before it was taken out")
                .help("Bring the copy of the seals that was kept. Until then no signature after this one stands."),
        );
    }
    for (index, seal) in seals.iter().enumerate() {
        let subject = format!("`{}`, signed by {} on {}", seal.file, seal.by, seal.at);
        // Only the last signature of a file speaks of what it is now; those before it, of what must still stand in it.
        if let Some(last) = seals.iter().skip(index + 1).rfind(|later| later.file == seal.file) {
            let now = bytes(&seal.file).filter(|now| hash(now) == last.hash);
            if let Some(now) = now.filter(|now| !goes_on(now, seal)) {
                let message = format!(
                    "{subject}, was signed again by {} on {} after what had been signed was changed: it had {} bytes, and the first {} of now are others",
                    last.by,
                    last.at,
                    seal.length,
                    seal.length.min(now.len())
                );
                found.push(
                    Diagnostic::new(Code::SealBroken, message)
                        .at(source, seal.span, "its first seal")
                        .also(source, last.span, "signed again")
                        .help("Bring the copy that was signed first and compare the two. A correction is a row below, with its reason; what stood before stays."),
                );
            }
            continue;
        }
        let Some(now) = bytes(&seal.file) else {
            let message = format!("{subject}, is not there any more");
            found.push(
                Diagnostic::new(Code::SealBroken, message)
                    .at(source, seal.span, "its seal")
                    .help("Bring it back; what was signed is kept."),
            );
            continue;
        };
        if hash(&now) == seal.hash {
            if seal.plan != plan.fingerprint.short {
                let message = format!(
                    "{subject}, was signed under plan {}; the plan is now {}",
                    seal.plan, plan.fingerprint.short
                );
                found.push(Diagnostic::new(Code::SealBroken, message).at(source, seal.span, "its seal").severity(Severity::Major).help(
                    "Look at what was changed in the plan since, and say so in the report, or go back to the plan that was signed.",
                ));
            }
            continue;
        }
        let finding = if goes_on(&now, seal) {
            let message = format!(
                "{subject}, was gone on with afterwards: {} bytes were added at its end, nothing before them was changed",
                now.len() - seal.length
            );
            Diagnostic::new(Code::SealBroken, message)
                .severity(Severity::Major)
                .help("If what was added are corrections with their reasons, sign it again: `loopleaf sign`.")
        } else {
            let message = format!(
                "{subject}, was changed afterwards: it had {} bytes and the hash {}…, it has {} bytes and the hash {}…",
                seal.length,
                first(&seal.hash),
                now.len(),
                first(&hash(&now))
            );
            Diagnostic::new(Code::SealBroken, message).help("Bring the copy that was signed and compare the two. A correction is a row below, with its reason; what stood before stays.")
        };
        let record = records.iter().find(|record| record.name.rsplit(['/', '\\']).next() == Some(seal.file.as_str()));
        found.push(match record {
            Some(record) => {
                finding.at(record.source, record.heading, "this record").also(source, seal.span, "its seal")
            }
            None => finding.at(source, seal.span, "its seal"),
        });
    }
    found
}

/// Whether a file begins with what was signed.
fn goes_on(now: &[u8], seal: &Seal) -> bool {
    now.get(..seal.length).is_some_and(|before| hash(before) == seal.hash)
}

fn first(hash: &str) -> &str {
    hash.get(..12).unwrap_or(hash)
}
