//! Values given on the command line in place of written ones: `rated-flow = 30 L/min`, `rig.main-relief.set-at = 400 kPa gauge`.
//!
//! A change takes a written value's place where it is read, so that kinds, ranges and dimensions are judged as if it had been
//! written there; what is said of it names the command line.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;

use super::library::{Declaration, Library, Sort};
use super::load::Loaded;
use super::read::Notes;
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::source::{SourceId, Sources, Span};
use crate::syntax::tree::{Bounds, Expr, Part, Statement};
use crate::syntax::{self, nearest};

/// One value to be bound instead of the written one.
#[derive(Debug)]
pub struct Change {
    /// `rated-flow`, `restriction.rated-flow`, `rule.flash-margin`, `rig.main-relief.set-at`, `bench-oil-15.flash-point`.
    pub target: String,
    /// The value, as typed.
    pub value: String,
    /// The command line as a text, so that findings can show it.
    pub(crate) source: SourceId,
    pub(crate) expr: Expr,
    /// Whether anything was said of it: it was taken, or found to stand for nothing.
    used: Cell<bool>,
    taken: Cell<bool>,
    /// The written value that it stands for.
    replaced: RefCell<Option<(SourceId, Span)>>,
}

impl Change {
    pub(crate) fn take(&self, source: SourceId, span: Option<Span>) {
        self.used.set(true);
        self.taken.set(true);
        if let Some(span) = span {
            self.replaced.borrow_mut().get_or_insert((source, span));
        }
    }

    /// Whether it took the place of a value of some plan.
    pub fn is_taken(&self) -> bool {
        self.taken.get()
    }

    /// The value that is written in the files, where one is.
    pub fn written<'s>(&self, sources: &'s Sources) -> Option<&'s str> {
        let (source, span) = (*self.replaced.borrow())?;
        Some(sources.get(source)?.slice(span))
    }
}

/// Reads changes as they were typed: target and value. `sources` receives each as a text of its own.
pub fn changes(typed: &[(String, String)], sources: &mut Sources) -> Checked<Vec<Change>> {
    let mut read = Vec::new();
    let mut diagnostics = Vec::new();
    for (target, value) in typed {
        let source = sources.add(format!("command line, --set {target}"), value.clone());
        let parsed = syntax::parse_value(sources, source);
        diagnostics.extend(parsed.diagnostics);
        if let Some(expr) = parsed.value {
            let (target, value) = (target.clone(), value.clone());
            read.push(Change {
                target,
                value,
                source,
                expr,
                used: Cell::new(false),
                taken: Cell::new(false),
                replaced: RefCell::new(None),
            });
        }
    }
    Checked { value: read, diagnostics }
}

/// The changes of a plan, and the written values whose places they take.
#[derive(Debug, Default)]
pub(crate) struct Changes<'t> {
    all: &'t [Change],
    places: HashMap<(SourceId, Span), &'t Change>,
}

impl<'t> Changes<'t> {
    /// What is to be read instead of a written value.
    pub(crate) fn instead(&self, source: SourceId, span: Span) -> Option<&'t Change> {
        if self.places.is_empty() { None } else { self.places.get(&(source, span)).copied() }
    }

    /// What a test's parameter is to be instead: said for this test, or for every test that has it.
    pub(crate) fn parameter(&self, test: &str, name: &str) -> Option<&'t Change> {
        let own = |change: &&&Change| change.target.strip_prefix(test).and_then(|t| t.strip_prefix('.')) == Some(name);
        self.all.iter().rev().find(|c| own(&c)).or_else(|| self.all.iter().rev().find(|change| change.target == name))
    }

    /// Finds the written values that changes of rig, fluids, rules and instruments stand for.
    pub(crate) fn find(all: &'t [Change], library: &Library<'_>, notes: &Notes) -> Self {
        let mut changes = Self { all, places: HashMap::new() };
        for change in all {
            let Some((head, rest)) = change.target.split_once('.') else { continue };
            let found = match head {
                "rule" => rules(rest, library),
                _ => match library.get(head).filter(|declaration| declaration.sort != Sort::Protocol) {
                    Some(declaration) => declared(declaration, rest),
                    None if head == "rig" => match library.of(Sort::Rig).next() {
                        Some(rig) => declared(rig, rest),
                        None => continue,
                    },
                    None => continue,
                },
            };
            match found {
                Ok(places) => {
                    for (source, span) in places {
                        change.take(source, Some(span));
                        changes.places.insert((source, span), change);
                    }
                }
                Err(help) => {
                    change.used.set(true);
                    notes.add(unknown(change, help));
                }
            }
        }
        changes
    }

    /// Reports what stands for nothing in any plan of the file.
    pub(crate) fn report_unused(&self, loaded: &Loaded, library: &Library<'_>, notes: &Notes) {
        for change in self.all.iter().filter(|change| !change.used.get()) {
            let parameters = || {
                let protocols = loaded.trees.iter().flat_map(|tree| &tree.statements);
                protocols.filter(|s| s.key() == "protocol").flat_map(|s| &s.block).filter(|s| s.key() == "parameter")
            };
            let names = parameters().filter_map(|s| name_of(s, "name"));
            let last = change.target.rsplit('.').next().unwrap_or_default();
            let known = [Sort::Fluid, Sort::Rig, Sort::Instrument, Sort::Dust].into_iter().flat_map(|s| library.of(s));
            let help = match change.target.split_once('.') {
                Some((head, rest)) => match nearest(head, known.map(|d| d.name.as_str())) {
                    Some(near) if near != head => format!("did you mean `{near}.{rest}`?"),
                    _ => format!(
                        "before the point stands a test, `rule`, `rig`, or a declared name; after it, what is changed: {FORMS}"
                    ),
                },
                None => match nearest(last, names) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => FORMS.to_owned(),
                },
            };
            notes.add(unknown(change, help));
        }
    }
}

const FORMS: &str =
    "`rated-flow`, `restriction.rated-flow`, `rule.flash-margin`, `rig.main-relief.set-at`, `vg-15.flash-point`";

fn unknown(change: &Change, help: String) -> Diagnostic {
    Diagnostic::new(Code::UnknownParameter, format!("nothing here is called `{}`", change.target))
        .at(change.source, change.expr.span, "this value was to stand there")
        .help(help)
}

type Places = Result<Vec<(SourceId, Span)>, String>;

/// A window or threshold, wherever a pack sets it.
fn rules(name: &str, library: &Library<'_>) -> Places {
    let all = || {
        let lines = library.of(Sort::Rules).flat_map(|pack| pack.statement.block.iter().map(move |s| (pack.source, s)));
        lines.filter(|(_, s)| matches!(s.key(), "window" | "threshold"))
    };
    let places: Vec<(SourceId, Span)> = all()
        .filter(|(_, s)| name_of(s, "name") == Some(name))
        .filter_map(|(source, s)| match s.part("value") {
            Some(Part::Value(expr)) => Some((source, expr.span)),
            _ => None,
        })
        .collect();
    if places.is_empty() {
        return Err(match nearest(name, all().filter_map(|(_, s)| name_of(s, "name"))) {
            Some(near) => format!("did you mean `rule.{near}`?"),
            None => "no pack of rules sets it; the windows and thresholds are those of the packs that the file uses"
                .to_owned(),
        });
    }
    Ok(places)
}

/// A number of a rig, a fluid, an instrument: statement by statement, then the part of it.
fn declared(declaration: &Declaration<'_>, path: &str) -> Places {
    let words: Vec<&str> = path.split('.').collect();
    let span = inside(&declaration.statement.block, &words, &declaration.name)?;
    Ok(vec![(declaration.source, span)])
}

fn inside(block: &[Statement], words: &[&str], called: &str) -> Result<Span, String> {
    let Some((word, rest)) = words.split_first() else { return Err(offers(block, called)) };
    let is = |s: &&Statement, word: &str| slug(s.key()) == word || name_of(s, "name") == Some(word);
    let mut matching: Vec<&Statement> = block.iter().filter(|s| is(s, word)).collect();
    if matching.is_empty()
        && let Some((stem, number)) = word.rsplit_once('-')
        && let Some(index) = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1))
    {
        matching = block.iter().filter(|s| is(s, stem)).skip(index).take(1).collect();
    }
    let statement = match matching.as_slice() {
        [] => return Err(offers(block, called)),
        [one] => *one,
        several => {
            return Err(format!("`{called}` has {} of them: write `{word}-1` to `{word}-{0}`", several.len()));
        }
    };
    let own = name_of(statement, "name").unwrap_or(word);
    match rest.split_first() {
        None => only_number(statement, own),
        Some((part, _)) if statement.part(part).is_some() => number(statement, part, rest.get(1).copied(), own),
        Some((end @ (&"low" | &"high"), [])) if !numbers(statement).is_empty() => {
            let first = numbers(statement).first().copied().unwrap_or_default();
            number(statement, first, Some(end), own)
        }
        Some(_) if statement.block.is_empty() => {
            let parts = numbers(statement);
            Err(format!("of `{own}` can be changed: {}", ticked(parts.iter().copied())))
        }
        Some(_) => inside(&statement.block, rest, own),
    }
}

/// The number of a statement that has but one.
fn only_number(statement: &Statement, own: &str) -> Result<Span, String> {
    match numbers(statement).as_slice() {
        [] if statement.block.is_empty() => Err(format!("`{own}` holds no number")),
        [] => Err(offers(&statement.block, own)),
        // The first is what the statement is about: `viscosity 32 mm²/s at 40 °C`.
        [first, ..] => number(statement, first, None, own),
    }
}

fn number(statement: &Statement, part: &str, end: Option<&str>, own: &str) -> Result<Span, String> {
    let bounds = |bounds: &Bounds| {
        let which = match (end, &bounds.low, &bounds.high) {
            (Some("low"), Some(low), _) | (None, Some(low), None) => Some(low),
            (Some("high"), _, Some(high)) | (None, None, Some(high)) => Some(high),
            _ => None,
        };
        which.map(|expr| expr.span).ok_or_else(|| format!("say which end: `{own}.low` or `{own}.high`"))
    };
    match statement.part(part) {
        Some(Part::Value(expr)) => Ok(expr.span),
        Some(Part::Bounds(range)) => bounds(range),
        _ => Err(format!("`{part}` of `{own}` is no number")),
    }
}

/// The parts of a statement that hold numbers.
fn numbers(statement: &Statement) -> Vec<&'static str> {
    let holds = |part: &Part| matches!(part, Part::Value(_) | Part::Bounds(_));
    statement.parts.iter().filter(|(_, part)| holds(part)).map(|(name, _)| *name).collect()
}

fn offers(block: &[Statement], called: &str) -> String {
    let with = block.iter().filter(|s| !numbers(s).is_empty() || !s.block.is_empty());
    let names = with.map(|s| name_of(s, "name").map_or_else(|| slug(s.key()), str::to_owned));
    let mut names: Vec<String> = names.collect();
    names.dedup();
    format!("`{called}` has {}", ticked(names.iter().map(String::as_str)))
}

fn ticked<'w>(words: impl Iterator<Item = &'w str>) -> String {
    words.map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

fn name_of<'s>(statement: &'s Statement, part: &str) -> Option<&'s str> {
    match statement.part(part) {
        Some(Part::New(word) | Part::Name(word)) => Some(&word.text),
        _ => None,
    }
}

fn slug(key: &str) -> String {
    key.replace(' ', "-")
}
