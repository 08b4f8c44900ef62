//! Parts of a statement as typed values, each misuse reported where it stands.

use std::cell::RefCell;
use std::collections::HashSet;

use indexmap::IndexMap;

use super::library::{Library, Sort};
use super::model::{Bounds, Mark, Marked, Measures, Origin, Setting};
use super::sane::dates_meant;
use super::value::{Evaluator, Scope};
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::quantity::{Kind, Quantity, Window};
use crate::source::{SourceId, Span};
use crate::syntax::nearest;
use crate::syntax::tree::{self, Part, Statement, Tolerance, Word};
use crate::syntax::vocabulary::{Piece, Sort as FormSort};

/// What was noticed while binding, and which names were used.
#[derive(Debug, Default)]
pub(crate) struct Notes {
    diagnostics: RefCell<Vec<Diagnostic>>,
    used: RefCell<HashSet<String>>,
}

impl Notes {
    pub(crate) fn add(&self, finding: Diagnostic) {
        self.diagnostics.borrow_mut().push(finding);
    }

    pub(crate) fn mark_used(&self, name: &str) {
        self.used.borrow_mut().insert(name.to_owned());
    }

    pub(crate) fn is_used(&self, name: &str) -> bool {
        self.used.borrow().contains(name)
    }

    pub(crate) fn has_errors(&self) -> bool {
        self.diagnostics.borrow().iter().any(|found| found.severity == Severity::Error)
    }

    pub(crate) fn into_diagnostics(self) -> Vec<Diagnostic> {
        self.diagnostics.into_inner()
    }
}

/// What a name that a protocol uses stands for in this campaign: parameters and roles.
#[derive(Debug, Clone)]
pub(crate) enum Bound {
    Value(super::value::Value),
    /// A fluid, dust or instrument by its declared name.
    Name(Sort, String),
}

/// Where statements are read: their file, the names that are declared, and what parameters stand for.
pub(crate) struct Context<'c> {
    pub(crate) source: SourceId,
    pub(crate) library: &'c Library<'c>,
    pub(crate) notes: &'c Notes,
    pub(crate) bound: &'c IndexMap<String, Bound>,
}

impl Scope for Context<'_> {
    fn lookup(&self, name: &str) -> Option<&Bound> {
        self.bound.get(name)
    }

    fn names(&self) -> Vec<&str> {
        self.bound.keys().map(String::as_str).collect()
    }
}

impl Context<'_> {
    pub(crate) fn origin(&self, span: Span) -> Origin {
        Origin { source: self.source, span }
    }

    pub(crate) fn evaluator(&self) -> Evaluator<'_> {
        Evaluator { source: self.source, scope: self, notes: self.notes, changes: &self.library.changes }
    }

    pub(crate) fn report(
        &self,
        code: Code,
        message: impl Into<String>,
        span: Span,
        role: &str,
        help: impl Into<String>,
    ) {
        self.notes.add(Diagnostic::new(code, message).at(self.source, span, role).help(help));
    }

    pub(crate) fn text(&self, statement: &Statement, part: &str) -> Option<String> {
        match statement.part(part)? {
            Part::Text(w) | Part::New(w) | Part::Choice(w) | Part::Path(w) | Part::Name(w) | Part::Dimension(w) => {
                Some(w.text.clone())
            }
            Part::Cleanliness(w) => Some(w.text.clone()),
            _ => None,
        }
    }

    pub(crate) fn word<'s>(&self, statement: &'s Statement, part: &str) -> Option<&'s Word> {
        match statement.part(part)? {
            Part::Text(w) | Part::New(w) | Part::Choice(w) | Part::Path(w) | Part::Name(w) | Part::Dimension(w) => {
                Some(w)
            }
            _ => None,
        }
    }

    pub(crate) fn words<'s>(&self, statement: &'s Statement, part: &str) -> &'s [Word] {
        match statement.part(part) {
            Some(Part::Names(words)) => words,
            _ => &[],
        }
    }

    pub(crate) fn integer(&self, statement: &Statement, part: &str) -> Option<u32> {
        match statement.part(part)? {
            Part::Integer(value, span) => match u32::try_from(*value) {
                Ok(value) => Some(value),
                Err(_) => {
                    self.report(
                        Code::NotWhole,
                        format!("{value} is too large here"),
                        *span,
                        "this number",
                        "write a smaller one",
                    );
                    None
                }
            },
            _ => None,
        }
    }

    /// A whole number from 1 on: of times, rounds, replicates.
    pub(crate) fn count(&self, statement: &Statement, part: &str) -> Option<u32> {
        let count = self.integer(statement, part)?;
        if count > 0 {
            return Some(count);
        }
        let Some(Part::Integer(_, span)) = statement.part(part) else { return None };
        self.report(
            Code::NotWhole,
            format!("`{}` counts from 1, not from 0", statement.key()),
            *span,
            "nothing would be done",
            "write 1 or more, or take the whole statement out",
        );
        None
    }

    /// An ISO date that exists.
    pub(crate) fn date(&self, statement: &Statement, part: &str) -> Option<String> {
        let Some(Part::Date(word)) = statement.part(part) else { return None };
        self.real_date(&word.text, word.span).then(|| word.text.clone())
    }

    /// Whether the calendar has this date; said at `place` where it has not.
    fn real_date(&self, date: &str, place: Span) -> bool {
        let real = date.parse::<jiff::civil::Date>().is_ok();
        if !real {
            let message = if date.get(4..5) == Some("-") {
                format!("`{date}` is not a date")
            } else {
                format!("`{date}` is not written year-month-day")
            };
            self.report(Code::BadDate, message, place, "this date", dates_meant(date));
        }
        real
    }

    pub(crate) fn quantity(&self, statement: &Statement, part: &str) -> Option<Quantity> {
        let Some(Part::Value(expr)) = statement.part(part) else { return None };
        let kind = kind_of(statement, part);
        let quantity = match kind {
            Some(kind) => self.evaluator().quantity(expr, kind),
            None => self.evaluator().any_quantity(expr),
        }?;
        self.possible(statement, part, quantity, kind)
    }

    /// A value whose kind its surroundings decide.
    pub(crate) fn quantity_as(&self, statement: &Statement, part: &str, kind: Kind) -> Option<Quantity> {
        match statement.part(part)? {
            Part::Value(expr) => {
                let quantity = self.evaluator().quantity(expr, kind)?;
                self.possible(statement, part, quantity, Some(kind))
            }
            _ => None,
        }
    }

    /// A count that may be written as a plain number or a parameter.
    pub(crate) fn number(&self, statement: &Statement, part: &str) -> Option<f64> {
        match statement.part(part)? {
            Part::Value(expr) => self.evaluator().number(expr),
            _ => None,
        }
    }

    /// A share such as `2 %`, as a fraction.
    pub(crate) fn fraction(&self, statement: &Statement, part: &str) -> Option<f64> {
        self.quantity_as(statement, part, Kind::Fraction).map(|q| q.si())
    }

    pub(crate) fn list(&self, statement: &Statement, part: &str) -> Vec<Quantity> {
        match (statement.part(part), kind_of(statement, part)) {
            (Some(Part::List(expr)), Some(kind)) => {
                let all = self.evaluator().list(expr, kind).into_iter();
                all.filter_map(|quantity| self.possible(statement, part, quantity, Some(kind))).collect()
            }
            _ => Vec::new(),
        }
    }

    pub(crate) fn bounds(&self, statement: &Statement, part: &str) -> Option<Bounds> {
        let kind = kind_of(statement, part);
        match statement.part(part)? {
            Part::Bounds(bounds) => self.both_possible(statement, part, self.bounds_of(bounds, kind)?, kind),
            _ => None,
        }
    }

    pub(crate) fn bounds_as(&self, statement: &Statement, part: &str, kind: Kind) -> Option<Bounds> {
        match statement.part(part)? {
            Part::Bounds(bounds) => {
                self.both_possible(statement, part, self.bounds_of(bounds, Some(kind))?, Some(kind))
            }
            _ => None,
        }
    }

    /// Bounds whose ends can exist.
    fn both_possible(&self, statement: &Statement, part: &str, bounds: Bounds, kind: Option<Kind>) -> Option<Bounds> {
        for end in [&bounds.low, &bounds.high].into_iter().flatten() {
            self.possible(statement, part, end.clone(), kind)?;
        }
        Some(bounds)
    }

    fn bounds_of(&self, bounds: &tree::Bounds, kind: Option<Kind>) -> Option<Bounds> {
        let read = |expr: &Option<tree::Expr>| -> Option<Option<Quantity>> {
            match expr {
                None => Some(None),
                Some(expr) => Some(Some(match kind {
                    Some(kind) => self.evaluator().quantity(expr, kind)?,
                    None => self.evaluator().any_quantity(expr)?,
                })),
            }
        };
        let (low, high) = (read(&bounds.low)?, read(&bounds.high)?);
        let window = Window { low: low.as_ref().map(|q| si_of(q, kind)), high: high.as_ref().map(|q| si_of(q, kind)) };
        if let (Some(l), Some(h)) = (window.low, window.high)
            && l > h
        {
            self.report(
                Code::WindowInsideOut,
                "the lower end is above the upper end",
                bounds.span,
                "from high to low",
                "write the smaller value first",
            );
            return None;
        }
        Some(Bounds { low, high, window })
    }

    /// A set value with its tolerance.
    pub(crate) fn setting(&self, statement: &Statement, part: &str) -> Option<Setting> {
        let kind = kind_of(statement, part)?;
        let Some(Part::Setting(setting)) = statement.part(part) else { return None };
        let target = match &setting.target {
            Some(expr) => {
                let target = self.evaluator().quantity(expr, kind)?;
                Some(self.possible(statement, part, target, Some(kind))?)
            }
            None => None,
        };
        let window = match (&setting.tolerance, &target) {
            (Tolerance::Bounds(bounds), _) => self.bounds_of(bounds, Some(kind))?.window,
            (Tolerance::PlusMinus(expr) | Tolerance::Within(expr), Some(target)) => self.around(target, expr, kind)?,
            (Tolerance::None, _) => Window { low: None, high: None },
            _ => {
                self.report(
                    Code::NoTolerance,
                    format!("{} without a tolerance", kind.name()),
                    setting.span,
                    "how far off may it be?",
                    {
                        let written = target.as_ref().map_or_else(|| "it".to_owned(), ToString::to_string);
                        if kind == Kind::Temperature {
                            format!("write for example `{written} ± 1 °C`, or `{written}, without tolerance`")
                        } else {
                            format!("write for example `{written}, within 2 %`, or `{written}, without tolerance`")
                        }
                    },
                );
                return None;
            }
        };
        Some(Setting { target, window })
    }

    /// As [`Self::setting`], for what may stand without a tolerance: a wait is at least as long as it says.
    pub(crate) fn setting_or_exact(&self, statement: &Statement, part: &str) -> Option<Setting> {
        if let Some(Part::Setting(tree::Setting { target: Some(expr), tolerance: Tolerance::Missing, .. })) =
            statement.part(part)
        {
            let target = self.evaluator().quantity(expr, kind_of(statement, part)?)?;
            return Some(Setting { target: Some(target), window: Window { low: None, high: None } });
        }
        self.setting(statement, part)
    }

    /// The window that a tolerance opens around a target: a share of it, or a difference of its own kind.
    pub(crate) fn around(&self, target: &Quantity, tolerance: &tree::Expr, kind: Kind) -> Option<Window> {
        let centre = si_of(target, Some(kind));
        let width = self.evaluator().tolerance(tolerance, kind, centre, Some(target))?;
        if width < 0.0 {
            self.report(
                Code::WindowInsideOut,
                "a tolerance cannot be negative",
                tolerance.span,
                "this tolerance",
                "leave the sign out: the window lies on both sides",
            );
            return None;
        }
        Some(Window { low: Some(centre - width), high: Some(centre + width) })
    }

    pub(crate) fn mark(&self, statement: &Statement) -> Mark {
        match statement.part("mark") {
            Some(Part::Mark(tree::Mark::Published(place))) => Mark::Published(place.clone()),
            Some(Part::Mark(tree::Mark::CommonPractice)) => Mark::CommonPractice,
            Some(Part::Mark(tree::Mark::FromMemory)) => Mark::FromMemory,
            Some(Part::Mark(tree::Mark::Measured(date))) => {
                self.real_date(date, statement.head);
                Mark::Measured(date.clone())
            }
            _ => Mark::Unmarked,
        }
    }

    pub(crate) fn marked<T>(&self, statement: &Statement, value: T) -> Marked<T> {
        Marked { value, mark: self.mark(statement), origin: self.origin(statement.head) }
    }

    pub(crate) fn measures(&self, statement: &Statement, part: &str) -> Option<Measures> {
        Measures::from_words(&self.text(statement, part)?)
    }

    /// The declared name behind a name, without judging either.
    pub(crate) fn stands_for(&self, name: &str) -> Option<String> {
        match self.bound.get(name) {
            Some(Bound::Name(_, declared)) => Some(declared.clone()),
            Some(Bound::Value(_)) => None,
            None => self.library.get(name).map(|declaration| declaration.name.clone()),
        }
    }

    /// The declared name that a name means, through parameters where they stand for one.
    pub(crate) fn resolve(&self, word: &Word, sort: Sort) -> Option<String> {
        let (name, found) = match self.bound.get(&word.text) {
            Some(Bound::Name(sort, name)) => (name.clone(), Some(*sort)),
            Some(Bound::Value(_)) => (word.text.clone(), None),
            None => match self.library.get(&word.text) {
                Some(declaration) => (declaration.name.clone(), Some(declaration.sort)),
                None => {
                    self.unknown(
                        word,
                        sort.called(),
                        self.library.of(sort).map(|d| d.name.as_str()).chain(self.names()),
                    );
                    return None;
                }
            },
        };
        self.notes.mark_used(&name);
        self.notes.mark_used(&word.text);
        if found == Some(sort) {
            return Some(name);
        }
        let is = found.map_or_else(|| "a value".to_owned(), Sort::one);
        let mut finding = Diagnostic::new(Code::WrongSort, format!("`{}` is {is}, not {}", word.text, sort.one())).at(
            self.source,
            word.span,
            format!("{} is wanted here", sort.one()),
        );
        if let Some(declared) = self.library.get(&name) {
            finding = finding.also(declared.source, declared.name_span, "declared here");
        }
        let known: Vec<&str> = self.library.of(sort).map(|d| d.name.as_str()).collect();
        if !known.is_empty() {
            finding = finding.help(format!("write the name of {}: {}", sort.one(), some_of(&known)));
        }
        self.notes.add(finding);
        None
    }

    pub(crate) fn unknown<'n>(&self, word: &Word, what: &str, known: impl Iterator<Item = &'n str>) {
        let known: Vec<&str> = known.collect();
        let help = match nearest(&word.text, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.is_empty() => format!("declare a {what} of that name, or `use` the file that does"),
            None => format!("known here: {}", some_of(&known)),
        };
        self.notes.add(
            Diagnostic::new(Code::UnknownName, format!("there is no {what} called `{}`", word.text))
                .at(self.source, word.span, "not declared")
                .help(help),
        );
    }
}

fn some_of(names: &[&str]) -> String {
    let mut text = names.iter().take(8).map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    if names.len() > 8 {
        text.push_str(&format!(" and {} others", names.len() - 8));
    }
    text
}

/// A quantity in SI, on the scale that its place wants: `2 °C` is 275.15 K as a temperature and 2 K as a difference.
pub(crate) fn si_of(quantity: &Quantity, kind: Option<Kind>) -> f64 {
    match kind {
        Some(kind) => kind.si(quantity),
        None => quantity.si(),
    }
}

/// The kind of quantity that a statement's form wants in a part.
pub(crate) fn kind_of(statement: &Statement, part: &str) -> Option<Kind> {
    fn search<'p>(pieces: &'p [Piece], part: &str) -> Option<&'p str> {
        pieces.iter().find_map(|piece| match piece {
            Piece::Part {
                name,
                sort: FormSort::Value(kind) | FormSort::Setting(kind) | FormSort::Bounds(kind) | FormSort::List(kind),
            } if name == part => Some(kind.as_str()),
            Piece::Clause(inner) => search(inner, part),
            _ => None,
        })
    }
    Kind::from_word(search(&statement.form.pieces, part)?)
}
