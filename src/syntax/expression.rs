//! Values: `40 L/min`, `125 % of rated-flow`, `2 * (lines + housing)`, `[10 °C, 20 °C]`.

use std::cell::RefCell;
use std::collections::HashMap;

use super::token::{Token, TokenKind};
use super::tree::{Expr, Node, Operator};
use crate::quantity::{Unit, UnitError};
use crate::source::Span;

/// No value on a bench needs more operators or parentheses than this.
const LARGEST: usize = 200;

/// Why a value could not be read: the token at fault (an index), and what was expected there.
#[derive(Debug, Clone)]
pub(crate) struct Misfit {
    pub(crate) at: usize,
    pub(crate) expected: String,
}

impl Misfit {
    pub(crate) fn new(at: usize, expected: impl Into<String>) -> Self {
        Self { at, expected: expected.into() }
    }
}

/// A run of terms that is being read, and how far one has come.
#[derive(Clone)]
pub(crate) struct Cursor<'a> {
    pub(crate) text: &'a str,
    pub(crate) terms: &'a [Token],
    pub(crate) at: usize,
    pub(crate) units: &'a UnitWords,
}

/// Which runs of words are units, remembered: the same few stand in a file thousands of times.
#[derive(Default)]
pub(crate) struct UnitWords(RefCell<HashMap<String, bool>>);

impl UnitWords {
    fn knows(&self, words: &str) -> bool {
        if let Some(known) = self.0.borrow().get(words) {
            return *known;
        }
        let known = match Unit::parse(words) {
            Ok(_) => true,
            // A gallon of an unnamed kind is a unit all the same; `plan` asks which.
            Err(error) => matches!(error, UnitError::WhichGallon { .. }),
        };
        self.0.borrow_mut().insert(words.to_owned(), known);
        known
    }
}

impl<'a> Cursor<'a> {
    pub(crate) fn peek(&self) -> Option<&'a Token> {
        self.terms.get(self.at)
    }

    pub(crate) fn peek_text(&self) -> &'a str {
        self.peek().map_or("", |token| token.text(self.text))
    }

    /// Takes the next term where it is this word or symbol.
    pub(crate) fn take(&mut self, word: &str) -> bool {
        let found = self.peek().is_some_and(|token| token.is(self.text, word));
        self.at += usize::from(found);
        found
    }

    pub(crate) fn take_words(&mut self, words: &[impl AsRef<str>]) -> bool {
        let start = self.at;
        let all = words.iter().all(|word| self.take(word.as_ref()));
        if !all {
            self.at = start;
        }
        all
    }

    pub(crate) fn take_kind(&mut self, kind: TokenKind) -> Option<&'a Token> {
        let token = self.peek().filter(|token| token.kind == kind)?;
        self.at += 1;
        Some(token)
    }

    pub(crate) fn span_from(&self, start: usize) -> Span {
        let first = self.terms.get(start).map_or(Span::new(0, 0), |t| t.span);
        let last = self.at.checked_sub(1).and_then(|i| self.terms.get(i)).map_or(first, |t| t.span);
        first.to(last)
    }

    /// Reads a value.
    pub(crate) fn value(&mut self, expected: &str) -> Result<Expr, Misfit> {
        let mut budget = LARGEST;
        self.sum(expected, &mut budget)
    }

    fn sum(&mut self, expected: &str, budget: &mut usize) -> Result<Expr, Misfit> {
        let mut left = self.product(expected, budget)?;
        loop {
            let operator = match self.peek_text() {
                "+" => Operator::Add,
                "-" | "−" => Operator::Subtract,
                _ => return Ok(left),
            };
            self.spend(budget)?;
            self.at += 1;
            left = binary(operator, left, self.product("a value", budget)?);
        }
    }

    fn product(&mut self, expected: &str, budget: &mut usize) -> Result<Expr, Misfit> {
        let mut left = self.operand(expected, budget)?;
        loop {
            let operator = match self.peek_text() {
                "*" | "×" => Operator::Multiply,
                "/" => Operator::Divide,
                "of" if is_share(&left) => Operator::Of,
                _ => return Ok(left),
            };
            self.spend(budget)?;
            self.at += 1;
            left = binary(operator, left, self.operand("a value", budget)?);
        }
    }

    fn spend(&self, budget: &mut usize) -> Result<(), Misfit> {
        *budget = budget.checked_sub(1).ok_or_else(|| Misfit::new(self.at, "a shorter value"))?;
        Ok(())
    }

    fn operand(&mut self, expected: &str, budget: &mut usize) -> Result<Expr, Misfit> {
        let start = self.at;
        let Some(token) = self.peek() else { return Err(Misfit::new(self.at, expected)) };
        let written = token.text(self.text);
        let node = match token.kind {
            TokenKind::Number => {
                self.at += 1;
                let number = written.replace('−', "-");
                match self.unit() {
                    Some(unit) => Node::Quantity { number, unit },
                    None => Node::Number(number),
                }
            }
            TokenKind::Word => {
                self.at += 1;
                Node::Name(written.to_owned())
            }
            TokenKind::Symbol if written == "(" => {
                self.spend(budget)?;
                self.at += 1;
                let mut inner = self.sum("a value", budget)?;
                if !self.take(")") {
                    return Err(Misfit::new(self.at, "`)`"));
                }
                inner.span = self.span_from(start);
                return Ok(inner);
            }
            TokenKind::Symbol if written == "[" => {
                self.at += 1;
                let mut items = Vec::new();
                while !self.take("]") {
                    self.spend(budget)?;
                    items.push(self.sum(expected, budget)?);
                    if !self.take(",") && self.peek_text() != "]" {
                        return Err(Misfit::new(self.at, "`,` or `]`"));
                    }
                }
                Node::List(items)
            }
            _ => return Err(Misfit::new(self.at, expected)),
        };
        Ok(Expr { node, span: self.span_from(start) })
    }

    /// The unit that follows a number: the longest run of up to four terms that is one.
    fn unit(&mut self) -> Option<String> {
        let mut best = None;
        let mut words = String::new();
        for (taken, token) in self.terms.iter().skip(self.at).take(4).enumerate() {
            let joins = match token.kind {
                TokenKind::Word => true,
                TokenKind::Number => taken > 0 && token.text(self.text) == "100",
                _ => false,
            };
            if !joins {
                break;
            }
            if taken > 0 {
                words.push(' ');
            }
            words.push_str(token.text(self.text));
            if self.units.knows(&words) {
                best = Some((taken + 1, words.clone()));
            }
        }
        let (taken, unit) = best?;
        self.at += taken;
        Some(unit)
    }
}

/// `of` multiplies only a share: in `0.8 g of medium` it belongs to the statement.
fn is_share(expr: &Expr) -> bool {
    match &expr.node {
        Node::Quantity { unit, .. } => unit == "%",
        Node::List(items) => items.iter().all(is_share),
        _ => false,
    }
}

fn binary(operator: Operator, left: Expr, right: Expr) -> Expr {
    let span = left.span.to(right.span);
    Expr { node: Node::Binary(operator, Box::new(left), Box::new(right)), span }
}
