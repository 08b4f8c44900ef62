//! Statements read by their forms, with findings that say what a form would take.

use super::blocks::RawStatement;
use super::expression::{Cursor, Misfit, UnitWords};
use super::token::{CURLY, Token, TokenKind};
use super::tree::{
    AccuracyOf, AccuracyTerm, Bounds, Comparison, Condition, Expr, Mark, Part, Setting, Statement, Tolerance, Word,
};
use super::vocabulary::{Block, Form, Many, Piece, Sort, VOCABULARY};
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{Kind, Unit, UnitError};
use crate::source::{SourceId, Span};

pub(crate) fn fit_file(
    text: &str,
    id: SourceId,
    raw: &[RawStatement],
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<Statement> {
    let Some(file) = VOCABULARY.blocks.get("file") else { return Vec::new() };
    let units = UnitWords::default();
    Fitter { text, id, units: &units, diagnostics }.block(file, raw, None)
}

/// A text that is one value.
pub(crate) fn one_value(text: &str, id: SourceId, terms: &[Token], diagnostics: &mut Vec<Diagnostic>) -> Option<Expr> {
    let terms: Vec<Token> = terms.iter().copied().filter(|term| term.kind != TokenKind::Newline).collect();
    let units = UnitWords::default();
    let mut cursor = Cursor { text, terms: &terms, at: 0, units: &units };
    let misfit = match cursor.value("a value such as 30 L/min") {
        Ok(expr) if cursor.at == terms.len() => return Some(expr),
        Ok(_) => Misfit::new(cursor.at, "the end"),
        Err(misfit) => misfit,
    };
    let span = terms.get(misfit.at).or(terms.last()).map_or(Span::at(0), |term| term.span);
    diagnostics.push(
        Diagnostic::new(Code::StatementForm, format!("`{}` is not one value", text.trim()))
            .at(id, span, format!("{} is expected here", misfit.expected))
            .help("write a number with its unit, such as `30 L/min`, in quotes for the shell: `--set rated-flow=\"30 L/min\"`"),
    );
    None
}

/// A file with more faults than this is something else than a plan; the rest is not reported.
const MANY: usize = 500;

struct Fitter<'a> {
    text: &'a str,
    id: SourceId,
    units: &'a UnitWords,
    diagnostics: &'a mut Vec<Diagnostic>,
}

type Parts = Vec<(&'static str, Part)>;

impl Fitter<'_> {
    fn block(&mut self, block: &'static Block, raw: &[RawStatement], head: Option<Span>) -> Vec<Statement> {
        let statements: Vec<Statement> = raw.iter().filter_map(|statement| self.statement(block, statement)).collect();
        // A statement that could not be read may be the one that seems to be missing.
        if statements.len() == raw.len() {
            self.counts(block, &statements, head);
        }
        statements
    }

    fn statement(&mut self, block: &'static Block, raw: &RawStatement) -> Option<Statement> {
        let head = head_of(raw);
        if raw.terms.iter().any(|term| term.kind == TokenKind::Bad) {
            return None; // reported where it was found
        }
        let many = self.diagnostics.len() >= MANY;
        let Some(first) = raw.terms.first() else {
            if many {
                return None;
            }
            self.diagnostics.push(
                Diagnostic::new(Code::StatementForm, "a block begins here, but nothing says of what")
                    .at(self.id, Span::new(raw.span.start as usize, raw.span.start as usize + 1), "this brace")
                    .help(format!("put a statement before it: {}", offers(block))),
            );
            return None;
        };
        let mut furthest: Option<(Misfit, &'static Form)> = None;
        for form in block.forms_for(first.text(self.text)) {
            match self.fit(form, &raw.terms) {
                Ok(parts) => return Some(self.finish(form, parts, raw, head)),
                Err(misfit) if furthest.as_ref().is_none_or(|(best, _)| misfit.at > best.at) => {
                    furthest = Some((misfit, form));
                }
                Err(_) => {}
            }
        }
        if many {
            return None;
        }
        let finding = match furthest {
            Some((misfit, form)) => self.misfit(&misfit, form, &raw.terms),
            None => self.unknown(block, first),
        };
        self.diagnostics.push(finding);
        None
    }

    fn finish(&mut self, form: &'static Form, parts: Parts, raw: &RawStatement, head: Span) -> Statement {
        let mut statement = Statement { form, parts, block: Vec::new(), span: raw.span, head };
        let many = self.diagnostics.len() >= MANY;
        match (&form.opens, &raw.block) {
            (Some((inner, _)), Some(raw_block)) => {
                if let Some(inner) = VOCABULARY.blocks.get(inner.as_str()) {
                    statement.block = self.block(inner, raw_block, Some(head));
                }
            }
            (Some((inner, true)), None) if !many => {
                let within = VOCABULARY.blocks.get(inner.as_str()).map(offers).unwrap_or_default();
                self.diagnostics.push(
                    Diagnostic::new(Code::MissingBlock, format!("`{}` needs a block", form.key))
                        .at(self.id, head, "nothing in braces follows")
                        .help(if form.example.contains('{') {
                            format!("say between braces what is done, like `{}`", form.example)
                        } else {
                            format!("write `{{` after it, then {within}, then `}}`")
                        }),
                );
            }
            (None, Some(_)) if !many => self.diagnostics.push(
                Diagnostic::new(Code::UnexpectedBlock, format!("`{}` has no block", form.key))
                    .at(self.id, head, "this statement is complete by itself")
                    .help(format!(
                        "take the braces away, and write what stands in them before or after it; by itself it is `{}`",
                        form.example
                    )),
            ),
            _ => {}
        }
        statement
    }

    /// How often each statement of a block may stand.
    fn counts(&mut self, block: &'static Block, statements: &[Statement], head: Option<Span>) {
        for form in &block.forms {
            if self.diagnostics.len() >= MANY {
                return;
            }
            let mut of_form = statements.iter().filter(|s| std::ptr::eq(s.form, form));
            let first = of_form.next();
            match (form.many, first) {
                (Many::ExactlyOnce | Many::AtLeastOnce, None) => {
                    let Some(head) = head else { continue };
                    self.diagnostics.push(
                        Diagnostic::new(Code::MissingStatement, format!("`{}` is missing", form.key))
                            .at(self.id, head, format!("this {} does not say it", block.name))
                            .help(format!("add a line such as `{}`", form.example)),
                    );
                }
                (Many::ExactlyOnce | Many::AtMostOnce, Some(first)) => {
                    if let Some(second) = of_form.next() {
                        self.diagnostics.push(
                            Diagnostic::new(Code::RepeatedStatement, format!("`{}` stands twice", form.key))
                                .at(self.id, second.head, "here again")
                                .also(self.id, first.head, "said here already")
                                .help("keep one of them"),
                        );
                    }
                }
                _ => {}
            }
        }
    }

    fn unknown(&self, block: &Block, first: &Token) -> Diagnostic {
        let word = first.text(self.text);
        let elsewhere = VOCABULARY.blocks_with(word);
        if let (TokenKind::Word, Some(place)) = (first.kind, elsewhere.first()) {
            return Diagnostic::new(Code::NotAllowedHere, format!("`{word}` does not belong in a {}", block.name))
                .at(self.id, first.span, format!("this belongs in a {place}"))
                .help(format!(
                    "move it there{}; a {} may say {}",
                    if block.name == "file" {
                        String::new()
                    } else {
                        format!(", or close the {} with `}}` before it", block.name)
                    },
                    block.name,
                    offers(block)
                ));
        }
        let finding = Diagnostic::new(Code::UnknownStatement, format!("no statement begins with `{word}`")).at(
            self.id,
            first.span,
            format!("in a {}", block.name),
        );
        match nearest(word, block.first_words()) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!("a {} may say {}", block.name, offers(block))),
        }
    }

    fn misfit(&self, misfit: &Misfit, form: &Form, terms: &[Token]) -> Diagnostic {
        let before = misfit.at.checked_sub(1).and_then(|i| terms.get(i));
        let help = format!("write it like `{}`", form.example);
        let Some(token) = terms.get(misfit.at) else {
            let end = before.map_or(Span::new(0, 0), |t| Span::new(t.span.end as usize, t.span.end as usize));
            return Diagnostic::new(Code::StatementForm, format!("this statement stops before {}", misfit.expected))
                .at(self.id, end, format!("{} is expected here", misfit.expected))
                .help(help);
        };
        let word = token.text(self.text);
        if let (Some(number), TokenKind::Word) = (before.filter(|t| t.kind == TokenKind::Number), token.kind)
            && (misfit.expected.starts_with("the end") || misfit.expected.starts_with(['`', ',']))
        {
            let suggestion = match Unit::parse(word) {
                Err(UnitError::Unknown { suggestions, .. }) => suggestions,
                _ => Vec::new(),
            };
            let finding = Diagnostic::new(Code::UnknownUnit, format!("`{word}` is not a unit that this bench knows"))
                .at(self.id, number.span.to(token.span), "after this number");
            return match suggestion.first() {
                Some(near) => finding.help(format!("did you mean `{} {near}`?", number.text(self.text))),
                None => finding.help(help),
            };
        }
        Diagnostic::new(Code::StatementForm, format!("`{word}` does not fit here"))
            .at(self.id, token.span, format!("{} is expected here", misfit.expected))
            .help(help)
    }

    fn fit(&self, form: &'static Form, terms: &[Token]) -> Result<Parts, Misfit> {
        let mut cursor = Cursor { text: self.text, terms, at: 0, units: self.units };
        let mut parts = Vec::new();
        let deepest = self.pieces(&form.pieces, &mut cursor, &mut parts)?;
        if cursor.at < terms.len() {
            return Err(deepest
                .filter(|m| m.at > cursor.at)
                .unwrap_or_else(|| Misfit::new(cursor.at, expected_after(form))));
        }
        Ok(parts)
    }

    /// Fits pieces in order; clauses that stand together fit in any order. Gives the furthest misfit of a clause that was
    /// passed over, since it is the best explanation when the rest does not fit either.
    fn pieces(
        &self,
        pieces: &'static [Piece],
        cursor: &mut Cursor<'_>,
        parts: &mut Parts,
    ) -> Result<Option<Misfit>, Misfit> {
        let mut deepest: Option<Misfit> = None;
        let mut rest = pieces;
        while let Some(piece) = rest.first() {
            let clauses = rest.iter().take_while(|p| matches!(p, Piece::Clause(_))).count();
            if clauses == 0 {
                self.piece(piece, cursor, parts).map_err(|m| further(deepest.take(), words_together(m, rest)))?;
                rest = rest.get(1..).unwrap_or_default();
                continue;
            }
            let (together, after) = rest.split_at(clauses);
            let mut open: Vec<&'static Piece> = together.iter().collect();
            while let Some((index, after_clause, found)) = self.any_clause(&open, cursor, &mut deepest) {
                open.remove(index);
                cursor.at = after_clause;
                parts.extend(found);
            }
            rest = after;
        }
        Ok(deepest)
    }

    fn any_clause(
        &self,
        open: &[&'static Piece],
        cursor: &Cursor<'_>,
        deepest: &mut Option<Misfit>,
    ) -> Option<(usize, usize, Parts)> {
        for (index, piece) in open.iter().enumerate() {
            let Piece::Clause(inner) = piece else { continue };
            let mut trial = cursor.clone();
            let mut found = Vec::new();
            match self.pieces(inner, &mut trial, &mut found) {
                Ok(_) => return Some((index, trial.at, found)),
                Err(misfit) if misfit.at > cursor.at + 1 => *deepest = Some(further(deepest.take(), misfit)),
                Err(_) => {}
            }
        }
        None
    }

    fn piece(&self, piece: &'static Piece, cursor: &mut Cursor<'_>, parts: &mut Parts) -> Result<(), Misfit> {
        match piece {
            Piece::Word(word) | Piece::Symbol(word) => {
                if cursor.take(word) {
                    Ok(())
                } else {
                    Err(Misfit::new(cursor.at, format!("`{word}`")))
                }
            }
            Piece::Choice { name, options } => {
                let start = cursor.at;
                // Longest first, so that `rising then falling` is not read as `rising`.
                let mut by_length: Vec<&Vec<String>> = options.iter().collect();
                by_length.sort_by_key(|option| std::cmp::Reverse(option.len()));
                if !by_length.into_iter().any(|option| cursor.take_words(option)) {
                    let all: Vec<String> = options.iter().map(|o| format!("`{}`", o.join(" "))).collect();
                    return Err(Misfit::new(start, all.join(" or ")));
                }
                let span = cursor.span_from(start);
                let text = cursor.terms.get(start..cursor.at).unwrap_or_default();
                let text = text.iter().map(|t| t.text(self.text)).collect::<Vec<_>>().join(" ");
                parts.push((name, Part::Choice(Word { text, span })));
                Ok(())
            }
            Piece::Part { name, sort } => {
                let part = self.part(sort, cursor)?;
                parts.push((name, part));
                Ok(())
            }
            Piece::Clause(inner) => self.pieces(inner, cursor, parts).map(drop),
        }
    }

    fn part(&self, sort: &Sort, cursor: &mut Cursor<'_>) -> Result<Part, Misfit> {
        let at = cursor.at;
        let word = |token: &Token| Word { text: token.text(self.text).to_owned(), span: token.span };
        let one = |cursor: &mut Cursor<'_>, kind, expected: &str| {
            cursor.take_kind(kind).map(word).ok_or_else(|| Misfit::new(at, expected))
        };
        Ok(match sort {
            Sort::Text => Part::Text(unquote(one(cursor, TokenKind::Text, "text in quotes")?)),
            Sort::New => Part::New(one(cursor, TokenKind::Word, "a name")?),
            Sort::Name(of) => Part::Name(one(cursor, TokenKind::Word, &format!("the name of a {of}"))?),
            Sort::Path => Part::Path(match cursor.take_kind(TokenKind::Text) {
                Some(token) => unquote(word(token)),
                None => one(cursor, TokenKind::Word, "a name or a path")?,
            }),
            Sort::Dimension => {
                Part::Dimension(one(cursor, TokenKind::Word, "what kind of thing it is, such as `flow`")?)
            }
            Sort::Date => Part::Date(match cursor.peek().map(|t| t.kind) {
                Some(TokenKind::Date | TokenKind::Code) => {
                    cursor.at += 1;
                    cursor.terms.get(at).map(word).unwrap_or(Word { text: String::new(), span: Span::new(0, 0) })
                }
                _ => return Err(Misfit::new(at, "a date such as 2026-09-14")),
            }),
            Sort::Cleanliness => {
                Part::Cleanliness(one(cursor, TokenKind::Code, "a cleanliness code such as 16/14/11")?)
            }
            Sort::Integer => {
                let number = one(cursor, TokenKind::Number, "a whole number")?;
                let value = number.text.parse().map_err(|_| Misfit::new(at, "a whole number"))?;
                Part::Integer(value, number.span)
            }
            Sort::Names(of) => Part::Names(self.names(of, cursor)?),
            Sort::Value(kind) => Part::Value(cursor.value(&kind_words(kind))?),
            Sort::List(kind) => Part::List(cursor.value(&format!("{}, or several in brackets", kind_words(kind)))?),
            Sort::Setting(kind) => Part::Setting(self.setting(kind, cursor)?),
            Sort::Bounds(kind) => Part::Bounds(self.bounds(kind, cursor)?),
            Sort::Bindings => Part::Bindings(self.bindings(cursor)?),
            Sort::Condition => Part::Condition(self.condition(cursor)?),
            Sort::Accuracy => {
                let terms = self.accuracy(cursor)?;
                Part::Accuracy(terms, cursor.span_from(at))
            }
            Sort::Mark => Part::Mark(self.mark(cursor)?),
        })
    }

    fn names(&self, of: &str, cursor: &mut Cursor<'_>) -> Result<Vec<Word>, Misfit> {
        let expected = format!("the name of a {of}");
        let mut names = Vec::new();
        let bracketed = cursor.take("[");
        loop {
            let token = cursor.take_kind(TokenKind::Word).ok_or_else(|| Misfit::new(cursor.at, expected.clone()))?;
            names.push(Word { text: token.text(self.text).to_owned(), span: token.span });
            if !bracketed {
                return Ok(names);
            }
            let comma = cursor.take(",");
            if cursor.take("]") {
                return Ok(names);
            }
            if !comma {
                return Err(Misfit::new(cursor.at, "`,` or `]`"));
            }
        }
    }

    fn setting(&self, kind: &str, cursor: &mut Cursor<'_>) -> Result<Setting, Misfit> {
        let start = cursor.at;
        if matches!(cursor.peek_text(), "from" | "at") {
            let bounds = self.bounds(kind, cursor)?;
            let span = bounds.span;
            return Ok(Setting { target: None, tolerance: Tolerance::Bounds(bounds), span });
        }
        let target = cursor.value(&kind_words(kind))?;
        let tolerance = if cursor.take("±") || cursor.take("+/-") {
            Tolerance::PlusMinus(cursor.value("a tolerance")?)
        } else if cursor.take_words(&[",", "within"]) || cursor.take("within") {
            Tolerance::Within(cursor.value("a tolerance")?)
        } else if cursor.take_words(&[",", "without", "tolerance"]) {
            Tolerance::None
        } else {
            Tolerance::Missing
        };
        Ok(Setting { target: Some(target), tolerance, span: cursor.span_from(start) })
    }

    fn bounds(&self, kind: &str, cursor: &mut Cursor<'_>) -> Result<Bounds, Misfit> {
        let start = cursor.at;
        let expected = kind_words(kind);
        let (mut low, mut high) = (None, None);
        if cursor.take_words(&["at", "most"]) {
            high = Some(cursor.value(&expected)?);
        } else if cursor.take_words(&["at", "least"]) {
            low = Some(cursor.value(&expected)?);
        } else {
            cursor.take("from");
            low = Some(cursor.value(&expected)?);
            if !cursor.take("to") {
                return Err(Misfit::new(cursor.at, "`to` and the upper end"));
            }
            high = Some(cursor.value(&expected)?);
        }
        Ok(Bounds { low, high, span: cursor.span_from(start) })
    }

    fn bindings(&self, cursor: &mut Cursor<'_>) -> Result<Vec<(Word, Expr)>, Misfit> {
        let mut bindings = Vec::new();
        loop {
            let name =
                cursor.take_kind(TokenKind::Word).ok_or_else(|| Misfit::new(cursor.at, "the name of a parameter"))?;
            if !cursor.take("=") {
                return Err(Misfit::new(cursor.at, "`=`"));
            }
            let value = cursor.value("a value or a name")?;
            bindings.push((Word { text: name.text(self.text).to_owned(), span: name.span }, value));
            if !cursor.take(",") {
                return Ok(bindings);
            }
        }
    }

    fn condition(&self, cursor: &mut Cursor<'_>) -> Result<Condition, Misfit> {
        let left = cursor.value("a value")?;
        let comparison = match cursor.peek_text() {
            ">=" | "≥" => Comparison::AtLeast,
            "<=" | "≤" => Comparison::AtMost,
            ">" => Comparison::Above,
            "<" => Comparison::Below,
            "=" => Comparison::Equal,
            _ => return Err(Misfit::new(cursor.at, "`>=`, `<=`, `>`, `<` or `=`")),
        };
        cursor.at += 1;
        let right = cursor.value("a value")?;
        Ok(Condition { left, comparison, right })
    }

    fn accuracy(&self, cursor: &mut Cursor<'_>) -> Result<Vec<AccuracyTerm>, Misfit> {
        let several = cursor.take_words(&["worst", "of"]);
        let mut terms = Vec::new();
        loop {
            // `0.25 % of span` is not a product: the words after `of` are the statement's own.
            let share = cursor.terms.get(cursor.at + 2).is_some_and(|t| t.is(self.text, "of"));
            let (value, of) = if share {
                let mut head =
                    Cursor { terms: cursor.terms.get(..cursor.at + 2).unwrap_or_default(), ..cursor.clone() };
                let value = head.value("an accuracy such as 0.25 % of span")?;
                cursor.at = head.at + 1;
                let of = match cursor.peek_text() {
                    "span" => AccuracyOf::Span,
                    "reading" => AccuracyOf::Reading,
                    _ => return Err(Misfit::new(cursor.at, "`span` or `reading`")),
                };
                cursor.at += 1;
                (value, Some(of))
            } else {
                (cursor.value("an accuracy such as 0.25 % of span")?, None)
            };
            terms.push(AccuracyTerm { value, of });
            if !(several && cursor.take(",")) {
                return Ok(terms);
            }
        }
    }

    fn mark(&self, cursor: &mut Cursor<'_>) -> Result<Mark, Misfit> {
        if cursor.take_words(&["common", "practice"]) {
            return Ok(Mark::CommonPractice);
        }
        if cursor.take_words(&["from", "memory"]) {
            return Ok(Mark::FromMemory);
        }
        let (kind, expected) = if cursor.take_words(&["published", "in"]) {
            (TokenKind::Text, "where it is published, in quotes")
        } else if cursor.take_words(&["measured", "on"]) {
            (TokenKind::Date, "a date such as 2026-08-14")
        } else {
            return Err(Misfit::new(cursor.at, "`published in`, `measured on`, `common practice` or `from memory`"));
        };
        let token = cursor.take_kind(kind).ok_or_else(|| Misfit::new(cursor.at, expected))?;
        let word = Word { text: token.text(self.text).to_owned(), span: token.span };
        Ok(if kind == TokenKind::Text { Mark::Published(unquote(word).text) } else { Mark::Measured(word.text) })
    }
}

/// In plain words, what kind of quantity is wanted.
fn kind_words(kind: &str) -> String {
    match Kind::from_word(kind) {
        Some(kind) => format!("{} such as {}", kind.name(), kind.example()),
        None => "a value".to_owned(),
    }
}

/// Where a word is missing, the words that belong to it as well: `at most`, not `at`.
fn words_together(misfit: Misfit, rest: &[Piece]) -> Misfit {
    let words: Vec<&str> =
        rest.iter().map_while(|piece| if let Piece::Word(word) = piece { Some(word.as_str()) } else { None }).collect();
    match words.first() {
        Some(first) if misfit.expected == format!("`{first}`") => {
            Misfit { expected: format!("`{}`", words.join(" ")), ..misfit }
        }
        _ => misfit,
    }
}

fn further(best: Option<Misfit>, new: Misfit) -> Misfit {
    match best {
        Some(best) if best.at >= new.at => best,
        _ => new,
    }
}

fn expected_after(form: &Form) -> String {
    if form.pieces.iter().any(|p| matches!(p, Piece::Clause(_))) {
        "the end of the statement, or a further part of it,".to_owned()
    } else {
        "the end of the statement".to_owned()
    }
}

fn head_of(raw: &RawStatement) -> Span {
    match (raw.terms.first(), raw.terms.last()) {
        (Some(first), Some(last)) => first.span.to(last.span),
        _ => raw.span,
    }
}

/// `"…"` without its quotes and escapes.
fn unquote(word: Word) -> Word {
    let straight = word.text.strip_prefix('"').and_then(|t| t.strip_suffix('"'));
    let inner = straight.unwrap_or_else(|| word.text.trim_matches(CURLY));
    let text = inner.replace("\\\"", "\"").replace("\\\\", "\\");
    Word { text, span: word.span }
}

/// A few of the statements that a block may hold.
fn offers(block: &Block) -> String {
    let mut keys: Vec<String> = block.forms.iter().map(|form| format!("`{}`", form.key)).collect();
    keys.dedup();
    if keys.len() > 8 {
        let more = keys.len() - 7;
        keys.truncate(7);
        return format!("{} and {more} others", keys.join(", "));
    }
    keys.join(", ")
}

/// The nearest of several words, where it is near enough to be what was meant.
pub(crate) fn nearest<'w>(word: &str, among: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    if word.len() > 64 {
        return None; // no name is as long
    }
    among
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(word, candidate), candidate))
        // Two letters that changed places weigh much in a short word, and are the commonest slip.
        .filter(|(likeness, candidate)| {
            *likeness > 0.86 || (word.len() > 2 && strsim::osa_distance(word, candidate) == 1)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}
