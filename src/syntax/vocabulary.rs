//! `grammar/statements.forms`, read once: what each block may hold and what each statement may say.

use std::collections::HashMap;
use std::sync::LazyLock;

use indexmap::IndexMap;
use pest::Parser;
use pest::iterators::Pair;
use pest_derive::Parser;

#[derive(Parser)]
#[grammar = "../grammar/forms.pest"]
struct FormsGrammar;

/// The language's statements, as they stand in the grammar.
pub static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(|| {
    #[expect(clippy::expect_used, reason = "the file is part of the program and a test reads it")]
    Vocabulary::read(include_str!("../../grammar/statements.forms")).expect("grammar/statements.forms is well-formed")
});

#[derive(Debug)]
pub struct Vocabulary {
    pub blocks: IndexMap<String, Block>,
}

/// A kind of block: `fluid`, `stage`, `campaign`.
#[derive(Debug)]
pub struct Block {
    pub name: String,
    pub meaning: String,
    pub forms: Vec<Form>,
    /// Forms by their first word.
    heads: HashMap<String, Vec<usize>>,
}

/// One statement's form.
#[derive(Debug)]
pub struct Form {
    /// The words that it begins with, up to its first part: `hold viscosity like`.
    pub key: String,
    /// As written in the grammar.
    pub pattern: String,
    pub example: String,
    pub many: Many,
    pub pieces: Vec<Piece>,
    /// The kind of block that it opens, and whether it must.
    pub opens: Option<(String, bool)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Many {
    ExactlyOnce,
    AtMostOnce,
    Any,
    AtLeastOnce,
}

#[derive(Debug)]
pub enum Piece {
    Word(String),
    Symbol(String),
    Choice {
        name: String,
        options: Vec<Vec<String>>,
    },
    Part {
        name: String,
        sort: Sort,
    },
    /// May be left out.
    Clause(Vec<Piece>),
}

/// What may fill a part. The kinds of quantity keep their word; `plan` gives it meaning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sort {
    Text,
    New,
    Path,
    Integer,
    Date,
    Cleanliness,
    Dimension,
    Name(String),
    Names(String),
    Value(String),
    Setting(String),
    Bounds(String),
    List(String),
    Bindings,
    Condition,
    Accuracy,
    Mark,
}

impl Vocabulary {
    /// Reads the notation of `grammar/forms.pest`.
    pub fn read(text: &str) -> Result<Vocabulary, String> {
        let text: String =
            text.lines().skip_while(|line| !line.starts_with("in ")).flat_map(|line| [line, "\n"]).collect();
        let mut parsed = FormsGrammar::parse(Rule::vocabulary, &text).map_err(|e| e.to_string())?;
        let mut blocks = IndexMap::new();
        let pairs = parsed.next().map(Pair::into_inner).into_iter().flatten();
        for pair in pairs.filter(|p| p.as_rule() == Rule::block) {
            let mut inner = pair.into_inner();
            let name = inner.next().map(|p| p.as_str().to_owned()).unwrap_or_default();
            let meaning = inner.next().map(|p| p.as_str().trim().to_owned()).unwrap_or_default();
            let forms: Vec<Form> = inner.map(read_form).collect();
            let mut heads: HashMap<String, Vec<usize>> = HashMap::new();
            for (index, form) in forms.iter().enumerate() {
                for head in form.first_words() {
                    heads.entry(head.to_owned()).or_default().push(index);
                }
            }
            blocks.insert(name.clone(), Block { name, meaning, forms, heads });
        }
        Ok(Vocabulary { blocks })
    }

    /// The kinds of block in which a statement may begin with this word.
    pub fn blocks_with(&self, head: &str) -> Vec<&str> {
        self.blocks.values().filter(|b| b.heads.contains_key(head)).map(|b| b.name.as_str()).collect()
    }
}

impl Block {
    /// The forms that begin with this word.
    pub fn forms_for(&self, head: &str) -> impl Iterator<Item = &Form> {
        self.heads.get(head).into_iter().flatten().filter_map(|i| self.forms.get(*i))
    }

    /// Every word with which a statement here may begin.
    pub fn first_words(&self) -> Vec<&str> {
        let mut words: Vec<&str> = self.forms.iter().flat_map(Form::first_words).collect();
        words.dedup();
        words
    }
}

impl Form {
    fn first_words(&self) -> Vec<&str> {
        match self.pieces.first() {
            Some(Piece::Word(word)) => vec![word],
            Some(Piece::Choice { options, .. }) => {
                options.iter().filter_map(|o| o.first()).map(String::as_str).collect()
            }
            _ => Vec::new(),
        }
    }
}

fn read_form(entry: Pair<'_, Rule>) -> Form {
    let mut form = Form {
        key: String::new(),
        pattern: String::new(),
        example: String::new(),
        many: Many::Any,
        pieces: Vec::new(),
        opens: None,
    };
    for pair in entry.into_inner() {
        match pair.as_rule() {
            Rule::many => {
                form.many = match pair.as_str() {
                    "!" => Many::ExactlyOnce,
                    "?" => Many::AtMostOnce,
                    "+" => Many::AtLeastOnce,
                    _ => Many::Any,
                }
            }
            Rule::pattern => {
                form.pattern = pair.as_str().trim().to_owned();
                form.pieces = pair.into_inner().map(read_piece).collect();
            }
            Rule::opens => {
                let must = pair.as_str().starts_with("::");
                form.opens = pair.into_inner().next().map(|p| (p.as_str().to_owned(), must));
            }
            Rule::example => form.example = pair.into_inner().as_str().trim().to_owned(),
            _ => {}
        }
    }
    let leading = form.pieces.iter().map_while(|piece| match piece {
        Piece::Word(word) => Some(word.as_str()),
        _ => None,
    });
    form.key = leading.collect::<Vec<_>>().join(" ");
    if let (true, Some(Piece::Choice { name, .. })) = (form.key.is_empty(), form.pieces.first()) {
        form.key = name.clone();
    }
    form
}

fn read_piece(pair: Pair<'_, Rule>) -> Piece {
    match pair.as_rule() {
        Rule::clause => {
            let pieces = pair.into_inner().flat_map(Pair::into_inner).map(read_piece).collect();
            Piece::Clause(pieces)
        }
        Rule::choice => {
            let mut inner = pair.into_inner();
            let name = inner.next().map(|p| p.as_str().to_owned()).unwrap_or_default();
            let options = inner.map(|o| o.into_inner().map(|w| w.as_str().to_owned()).collect()).collect();
            Piece::Choice { name, options }
        }
        Rule::capture => {
            let mut inner = pair.into_inner();
            let name = inner.next().map(|p| p.as_str().to_owned()).unwrap_or_default();
            let sort: Vec<&str> = inner.flat_map(Pair::into_inner).map(|w| w.as_str()).collect();
            Piece::Part { name, sort: read_sort(&sort) }
        }
        _ if pair.as_str().starts_with(|c: char| c.is_ascii_alphabetic()) => Piece::Word(pair.as_str().to_owned()),
        _ => Piece::Symbol(pair.as_str().to_owned()),
    }
}

fn read_sort(words: &[&str]) -> Sort {
    match words {
        ["text"] => Sort::Text,
        ["new"] => Sort::New,
        ["path"] => Sort::Path,
        ["integer"] => Sort::Integer,
        ["date"] => Sort::Date,
        ["cleanliness"] => Sort::Cleanliness,
        ["dimension"] => Sort::Dimension,
        ["bindings"] => Sort::Bindings,
        ["condition"] => Sort::Condition,
        ["accuracy"] => Sort::Accuracy,
        ["mark"] => Sort::Mark,
        ["name", of] => Sort::Name((*of).to_owned()),
        ["names", of] => Sort::Names((*of).to_owned()),
        ["setting", kind] => Sort::Setting((*kind).to_owned()),
        ["bounds", kind] => Sort::Bounds((*kind).to_owned()),
        ["list", kind] => Sort::List((*kind).to_owned()),
        other => Sort::Value(other.join(" ")),
    }
}
