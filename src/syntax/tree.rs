//! What a text says, before anything is bound: statements, each with its form and the parts that fill it.

use super::vocabulary::Form;
use crate::source::{SourceId, Span};

#[derive(Debug)]
pub struct Tree {
    pub source: SourceId,
    pub statements: Vec<Statement>,
}

#[derive(Debug)]
pub struct Statement {
    pub form: &'static Form,
    /// In the order of the form; a clause that was left out leaves no part.
    pub parts: Vec<(&'static str, Part)>,
    pub block: Vec<Statement>,
    /// The whole statement, its block with it.
    pub span: Span,
    /// The statement without its block.
    pub head: Span,
}

impl Statement {
    /// The leading words of the form: `hold viscosity like`.
    pub fn key(&self) -> &'static str {
        &self.form.key
    }

    pub fn part(&self, name: &str) -> Option<&Part> {
        self.parts.iter().find(|(n, _)| *n == name).map(|(_, part)| part)
    }
}

/// A piece of text and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    pub text: String,
    pub span: Span,
}

#[derive(Debug)]
pub enum Part {
    /// Text in quotes, its escapes undone.
    Text(Word),
    /// A name that is declared here.
    New(Word),
    Name(Word),
    Names(Vec<Word>),
    Path(Word),
    /// One of the words that a form offers.
    Choice(Word),
    Integer(u64, Span),
    Date(Word),
    Cleanliness(Word),
    Dimension(Word),
    Value(Expr),
    List(Expr),
    Setting(Setting),
    Bounds(Bounds),
    Bindings(Vec<(Word, Expr)>),
    Condition(Condition),
    Accuracy(Vec<AccuracyTerm>, Span),
    Mark(Mark),
}

#[derive(Debug)]
pub struct Setting {
    pub target: Option<Expr>,
    pub tolerance: Tolerance,
    pub span: Span,
}

#[derive(Debug)]
pub enum Tolerance {
    /// `± 0.010 g`
    PlusMinus(Expr),
    /// `within 2 %`
    Within(Expr),
    Bounds(Bounds),
    /// `without tolerance`
    None,
    Missing,
}

#[derive(Debug)]
pub struct Bounds {
    pub low: Option<Expr>,
    pub high: Option<Expr>,
    pub span: Span,
}

#[derive(Debug)]
pub struct Condition {
    pub left: Expr,
    pub comparison: Comparison,
    pub right: Expr,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparison {
    AtLeast,
    AtMost,
    Above,
    Below,
    Equal,
}

#[derive(Debug)]
pub struct AccuracyTerm {
    pub value: Expr,
    pub of: Option<AccuracyOf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AccuracyOf {
    Span,
    Reading,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mark {
    Published(String),
    CommonPractice,
    FromMemory,
    Measured(String),
}

#[derive(Debug)]
pub struct Expr {
    pub node: Node,
    pub span: Span,
}

#[derive(Debug)]
pub enum Node {
    /// A number without a unit.
    Number(String),
    Quantity {
        number: String,
        unit: String,
    },
    Name(String),
    List(Vec<Expr>),
    Binary(Operator, Box<Expr>, Box<Expr>),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    Add,
    Subtract,
    Multiply,
    Divide,
    /// `125 % of rated-flow`
    Of,
}
