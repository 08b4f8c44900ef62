//! The report of a campaign: what was asked, what was found and with which doubt, and everything that a stranger needs to check it.
//!
//! ```text
//! plan + results + standings ─ page ─▶ Page ─┬─ html ─▶ one self-contained file
//!                                            ├─ pdf ──▶ pages (feature `pdf`)
//!                                            └─ text ─▶ lines
//! ```
//! [`page()`] decides: rounding, units, wording, what is hidden. The templates only place.

mod key;
mod page;
mod plot;
mod render;
mod say;
mod section;

pub use key::{KeyOpened, results_hash};
pub use page::*;
#[cfg(feature = "pdf")]
pub use render::pdf;
pub use render::{HtmlError, html, text};

use crate::audit::evidence::{self, Standing};
use crate::diagnostic::Diagnostic;
use crate::plan::{Mask, Model, Plan, Test};
use crate::results::Results;
use crate::source::Sources;

/// What a report is made from.
pub struct Input<'a> {
    pub plan: &'a Plan,
    pub results: &'a Results,
    /// Every finding of the audit with its answer, where it has one.
    pub standings: &'a [Standing],
    /// What the check of the plan still says.
    pub plan_findings: &'a [Diagnostic],
    pub sources: &'a Sources,
    /// Every file that went in.
    pub files: &'a [InputFile],
    pub key: Option<&'a KeyOpened>,
    /// ISO date of the report.
    pub date: &'a str,
    /// What is typed to make it again.
    pub command: &'a str,
    pub replaces: Option<Replaced<'a>>,
}

/// A file that went in, as the shell read it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// From the campaign's folder.
    pub name: String,
    /// What it is: `plan`, `record`, `laboratory`, `logger`, `answers`, `seals`, `photograph`, `second typing`, `key`.
    pub what: &'static str,
    /// SHA-256 of its bytes.
    pub hash: String,
}

/// An earlier report that this one takes the place of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Replaced<'a> {
    /// Its number.
    pub id: &'a str,
    /// What changed.
    pub why: &'a str,
}

/// What the sections are written from.
struct Book<'a> {
    input: &'a Input<'a>,
    plan: &'a Plan,
    results: &'a Results,
    /// Set while models are hidden.
    mask: Option<Mask>,
    /// SHA-256 of the results.
    hash: String,
}

impl<'a> Book<'a> {
    fn hidden(&self) -> bool {
        self.mask.is_some()
    }

    /// What a person or another part of the tool wrote, without what is still hidden.
    fn free(&self, text: &str) -> String {
        self.mask.as_ref().map_or_else(|| text.to_owned(), |mask| mask.free(text))
    }

    /// A file that was read, by a name that tells no model.
    fn file(&self, file: &InputFile) -> String {
        self.mask.as_ref().map_or_else(|| file.name.clone(), |mask| mask.file(&file.name, &file.hash))
    }

    /// What was written of a photograph.
    fn photograph(&self, written: &str) -> String {
        self.mask.as_ref().map_or_else(|| written.to_owned(), |mask| mask.photograph(written))
    }

    /// The model of a specimen, where it may be told.
    fn model(&self, specimen: &str) -> Option<&'a Model> {
        if self.hidden() {
            return None;
        }
        let campaign = &self.plan.campaign;
        campaign.models.get(campaign.specimens.get(specimen)?.model.as_ref()?)
    }

    /// A specimen as tables and pictures name it: its code, and its model where that may be told.
    fn specimen(&self, code: &str) -> String {
        self.model(code).map_or_else(|| code.to_owned(), |model| format!("{code} {}", model.name))
    }

    fn test(&self, index: usize) -> Option<&'a Test> {
        self.plan.tests.get(index)
    }

    /// What was compared, as it may be named: a specimen, or a model with its specimens.
    fn group(&self, title: &str) -> String {
        if self.plan.campaign.specimens.contains_key(title) {
            return self.specimen(title);
        }
        group(self.plan, self.mask.as_ref(), title)
    }

    /// The runs of a test, as `K7`, or `W2 (R01)` where a specimen went through it more than once.
    fn run_heads(&self, test: usize) -> Vec<(String, String)> {
        let runs: Vec<_> = self.results.runs.iter().filter(|run| run.test == test).collect();
        let head = |run: &crate::results::RunResults| {
            let again = runs.iter().filter(|other| other.specimen == run.specimen).count() > 1;
            let specimen = self.specimen(&run.specimen);
            (run.code.clone(), if again { format!("{specimen} ({})", run.code) } else { specimen })
        };
        runs.iter().map(|run| head(run)).collect()
    }

    /// The same of one run.
    fn run_head(&self, run: &crate::results::RunResults) -> String {
        let heads = self.run_heads(run.test);
        heads.into_iter().find(|(code, _)| *code == run.code).map_or_else(|| run.specimen.clone(), |(_, head)| head)
    }
}

/// Findings that keep the results from being published, as a person reads them.
pub fn open_findings(standings: &[Standing], sources: &Sources) -> Vec<String> {
    let open = standings.iter().filter(|standing| standing.blocks());
    open.map(|standing| {
        let finding = &standing.finding;
        let place = finding.primary().and_then(|place| {
            let source = sources.get(place.source)?;
            let (line, _) = source.line_column(place.span.start);
            let name = source.name.rsplit(['/', '\\']).next().unwrap_or_default();
            Some(format!(" ({name}, line {line})"))
        });
        format!("{} {}{}", finding.code.id(), finding.message, place.unwrap_or_default())
    })
    .collect()
}

/// The report.
///
/// # Errors
/// Where the results cannot be hashed.
pub fn page(input: &Input<'_>) -> Result<Page, serde_json::Error> {
    let campaign = &input.plan.campaign;
    let mask = (campaign.blind && input.key.is_none()).then(|| Mask::of(input.plan));
    let book = Book { input, plan: input.plan, results: input.results, mask, hash: results_hash(input.results)? };
    let open: Vec<String> = open_findings(input.standings, input.sources).iter().map(|text| book.free(text)).collect();
    let draft = (!open.is_empty()).then(|| Draft {
        why: format!(
            "{} of the audit without an answer. Readings that they bar are left out, so the results say less than they may.",
            say::count(open.len(), "critical finding", "critical findings")
        ),
        open,
    });
    let title = if draft.is_some() {
        format!("Draft: not for publication. {}", campaign.title)
    } else {
        campaign.title.clone()
    };
    let mut page = Page {
        title,
        draft,
        invented: campaign.invented.as_ref().map(|invented| book.free(invented)),
        id: number(input, &book.hash),
        date: input.date.to_owned(),
        campaign: campaign.name.clone(),
        fingerprint: input.plan.fingerprint.short.clone(),
        hidden: book.hidden(),
        sections: section::all(&book),
    };
    page.sections.retain(|section| !section.parts.is_empty());
    page.each(&mut |text| {
        if let Some(mask) = &book.mask {
            *text = mask.whole(text);
        }
        *text = say::kept_together(&quoted(text));
    });
    Ok(page)
}

/// Results as they may be given away while models are hidden: without promises of packages, and without names.
///
/// # Errors
/// Where the results hold what JSON has no words for.
pub fn without_names(plan: &Plan, results: &Results) -> Result<serde_json::Value, serde_json::Error> {
    let mask = Mask::of(plan);
    let mut results = results.clone();
    results.claims.clear();
    results.per_unit.clear();
    let names = |title: &mut String| *title = group(plan, Some(&mask), title);
    for measurand in &mut results.measurands {
        measurand.entries.iter_mut().for_each(|entry| entry.model = None);
        measurand.comparison.groups.iter_mut().for_each(|(title, _)| names(title));
    }
    if let Some(score) = &mut results.score {
        score.groups.iter_mut().for_each(|(title, ..)| names(title));
    }
    let mut value = serde_json::to_value(results)?;
    without(&mut value, &mask);
    Ok(value)
}

/// Every text in it without what is hidden; a path is made of names of the plan.
fn without(value: &mut serde_json::Value, mask: &Mask) {
    match value {
        serde_json::Value::String(text) => *text = if text.contains('/') { mask.whole(text) } else { mask.free(text) },
        serde_json::Value::Array(items) => items.iter_mut().for_each(|item| without(item, mask)),
        serde_json::Value::Object(fields) => fields.values_mut().for_each(|field| without(field, mask)),
        _ => {}
    }
}

/// What was compared, as it may be named while models are hidden: a specimen's code, or the codes of a model's specimens.
fn group(plan: &Plan, mask: Option<&Mask>, title: &str) -> String {
    let campaign = &plan.campaign;
    let Some(mask) = mask else { return title.to_owned() };
    let model = campaign.models.values().find(|model| model.name == title || model.title == title);
    match model {
        Some(model) if !campaign.specimens.contains_key(title) => {
            let of = campaign.specimens.values().filter(|specimen| specimen.model.as_ref() == Some(&model.name));
            of.map(|specimen| specimen.code.as_str()).collect::<Vec<_>>().join(" + ")
        }
        _ => mask.free(title),
    }
}

/// A report's number, from everything that its content follows from but its date.
fn number(input: &Input<'_>, results: &str) -> String {
    let mut said = format!("{} {} {results}", env!("CARGO_PKG_VERSION"), input.plan.fingerprint.full);
    for file in input.files {
        said.push_str(&format!(" {} {}", file.name, file.hash));
    }
    if let Some(key) = input.key {
        said.push_str(&format!(" {} {} {}", key.opened_by, key.opened_at, key.results_sha256));
    }
    if let Some(replaced) = &input.replaces {
        said.push_str(&format!(" {} {}", replaced.id, replaced.why));
    }
    let hash = evidence::hash(said.as_bytes()).to_uppercase();
    let (first, rest) = hash.split_at_checked(4).unwrap_or((&hash, ""));
    format!("LR-{first}-{}", rest.get(..4).unwrap_or_default())
}

/// Names stand between back-quotes in messages; on paper, between quotation marks. Signs that turn the direction of writing, or
/// are none, are left out: what follows them on the page would be turned too.
fn quoted(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let mut out = String::with_capacity(text.len());
    let mut open = false;
    for character in text.chars() {
        match character {
            '`' => {
                out.push(if open { '’' } else { '‘' });
                open = !open;
            }
            '\n' | '\t' => out.push(character),
            other if turns(other) || other.is_control() => {}
            other => out.push(other),
        }
    }
    out
}
