//! The data package: everything that a campaign recorded and found, as tidy tables that a stranger can open, check and compute
//! from: a Data Package (datapackage.org) of CSV tables with a Table Schema each, the same tables as Parquet, the plan's own
//! texts, and a page in plain words.
//!
//! While a campaign hides which specimen is which model, so does the package: no model, lot or purchase stands in a table, and
//! files that could tell are not copied; their SHA-256 is, so that they can be checked once the key is opened.

mod descriptor;
#[cfg(feature = "parquet")]
mod parquet;
mod readme;
mod table;
mod tables;
pub mod ucum;

use descriptor::Other;
use memchr::memmem::Finder;
use rayon::prelude::*;
use table::Table;

use crate::audit::evidence::{self, Standing};
use crate::plan::{Plan, TellingNames, telling_words};
use crate::record::Record;
use crate::record::laboratory::LabFile;
use crate::results::Results;
use crate::source::Sources;

/// The page for people inside the package.
pub const README: &str = "README.md";

/// What a package is made from.
pub struct Given<'a> {
    pub plan: &'a Plan,
    pub records: &'a [Record],
    pub laboratory: &'a [LabFile],
    /// Every finding of the audit with its answer, where it has one.
    pub standings: &'a [Standing],
    pub results: &'a Results,
    /// The texts that findings point into.
    pub sources: &'a Sources,
    /// Every file that plan, records and results were read from.
    pub inputs: &'a [InputFile],
    /// Whether it may be said which specimen is which model, where the campaign hides it.
    pub models_open: bool,
    /// Under which licence the package may be used.
    pub licence: Option<&'a str>,
    pub secrets: Secrets,
}

/// Words that tell which model a specimen is, in lower case; none where models may be told.
#[derive(Debug, Default)]
pub struct Secrets {
    words: Vec<Finder<'static>>,
    names: TellingNames,
}

impl Secrets {
    /// Of a campaign that hides its models, and whose key is closed.
    pub fn of(plan: &Plan) -> Secrets {
        let told = telling_words(plan);
        let words = told.iter().filter(|word| word.len() > 2);
        let words = words.map(|word| Finder::new(word.to_lowercase().as_bytes()).into_owned());
        Secrets { words: words.collect(), names: TellingNames::of(&told) }
    }

    /// Gives files whose names hold one of them other names.
    pub fn hide(&self, inputs: &mut [InputFile]) {
        for input in inputs {
            if let Some(hidden) = self.names.hidden(&input.path, || evidence::hash(&input.bytes)) {
                input.path = hidden;
            }
        }
    }

    /// Whether a text holds one of them.
    fn stand_in(&self, text: &str) -> bool {
        if self.words.is_empty() || text.is_empty() {
            return false;
        }
        let small = text.to_lowercase();
        self.words.iter().any(|secret| secret.find(small.as_bytes()).is_some())
    }
}

/// A file that something was read from.
pub struct InputFile {
    /// As findings and records name it.
    pub shown: String,
    /// Where it stands in the package, under `inputs/`: `records/R01.csv`. No `..` and no leading slash.
    pub path: String,
    pub kind: InputKind,
    pub bytes: Vec<u8>,
}

/// What a file was read for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InputKind {
    Plan,
    Record,
    Laboratory,
    Logger,
    Answers,
    /// Hashed, never copied: it is large and may show a label.
    Photograph,
    Other,
}

impl InputKind {
    fn word(self) -> &'static str {
        match self {
            InputKind::Plan => "plan",
            InputKind::Record => "record",
            InputKind::Laboratory => "laboratory",
            InputKind::Logger => "logger",
            InputKind::Answers => "answers",
            InputKind::Photograph => "photograph",
            InputKind::Other => "other",
        }
    }
}

impl Given<'_> {
    /// Whether models may be told.
    fn tells_models(&self) -> bool {
        self.models_open || !self.plan.campaign.blind
    }

    /// Whether a file goes into the package. Hidden: texts of the plan and of people tell models; a record and a laboratory's file
    /// know codes and labels only, unless someone wrote more into them.
    fn copies(&self, file: &InputFile) -> bool {
        match file.kind {
            InputKind::Photograph => false,
            _ if self.tells_models() => true,
            InputKind::Record | InputKind::Laboratory | InputKind::Logger => {
                !self.secrets.stand_in(&String::from_utf8_lossy(&file.bytes))
            }
            _ => false,
        }
    }

    /// A text for a table; while models are hidden, one that names a model or a lot is left out.
    fn tellable(&self, text: &str) -> String {
        if !self.tells_models() && self.secrets.stand_in(text) {
            "(hidden: it names a model)".to_owned()
        } else {
            text.to_owned()
        }
    }
}

/// The files of the package by their path in it, in a fixed order. Same input, same bytes.
pub fn files(given: &Given<'_>) -> Vec<(String, Vec<u8>)> {
    let tables = tables::all(given);
    let texts: Vec<(String, Vec<u8>)> =
        tables.par_iter().map(|table| (format!("data/{}.csv", table.name), table.csv())).collect();
    let mut others: Vec<(String, Vec<u8>)> = vec![(README.to_owned(), readme::text(given, &tables).into_bytes())];
    others.extend(in_parquet(&tables));
    let copied = given.inputs.iter().filter(|file| given.copies(file));
    others.extend(copied.map(|file| (format!("inputs/{}", file.path), file.bytes.clone())));
    let described: Vec<Other<'_>> = others.iter().map(|(path, bytes)| other(path, bytes)).collect();
    let json = descriptor::json(given, &tables, &texts, &described);
    let mut files = vec![(descriptor::NAME.to_owned(), json)];
    files.extend(texts);
    files.extend(others);
    files
}

#[cfg(feature = "parquet")]
fn in_parquet(tables: &[Table]) -> Vec<(String, Vec<u8>)> {
    tables.par_iter().map(|table| (format!("parquet/{}.parquet", table.name), parquet::bytes(table))).collect()
}

#[cfg(not(feature = "parquet"))]
fn in_parquet(_: &[Table]) -> Vec<(String, Vec<u8>)> {
    Vec::new()
}

fn other<'f>(path: &'f str, bytes: &'f [u8]) -> Other<'f> {
    let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
    let mediatype = match ending {
        "parquet" => "application/vnd.apache.parquet",
        "md" => "text/markdown",
        "csv" => "text/csv",
        "xlsx" => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        _ => "text/plain",
    };
    let title = match path.split_once('/') {
        Some(("parquet", rest)) => format!("The table {} as Parquet", rest.trim_end_matches(".parquet")),
        Some(("inputs", rest)) => format!("{rest}, as it was read"),
        _ => "What this is, and how to compute from it".to_owned(),
    };
    Other { name: descriptor::name(&path.replace('/', ".")), path, title, format: ending, mediatype, bytes }
}
