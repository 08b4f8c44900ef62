//! Characters to terms, by `grammar/text.pest`.

use pest::Parser;
use pest_derive::Parser;

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{SourceId, Span};

#[derive(Parser)]
#[grammar = "../grammar/text.pest"]
struct TextGrammar;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TokenKind {
    Text,
    Date,
    Code,
    Number,
    Word,
    Symbol,
    Open,
    Close,
    Semicolon,
    Newline,
    Comment,
    /// Reported already; stands for something that could not be read.
    Bad,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct Token {
    pub(crate) kind: TokenKind,
    pub(crate) span: Span,
}

impl Token {
    pub(crate) fn text<'t>(&self, text: &'t str) -> &'t str {
        text.get(self.span.start as usize..self.span.end as usize).unwrap_or_default()
    }

    pub(crate) fn is(&self, text: &str, symbol: &str) -> bool {
        matches!(self.kind, TokenKind::Symbol | TokenKind::Word | TokenKind::Number) && self.text(text) == symbol
    }
}

/// Lexes a whole text. The grammar takes any character, so this cannot fail; what has no place in the language is
/// reported, at most [`MANY`] times, and kept as [`TokenKind::Bad`].
pub(crate) fn lex(text: &str, id: SourceId, diagnostics: &mut Vec<Diagnostic>) -> Vec<Token> {
    let Ok(mut parsed) = TextGrammar::parse(Rule::document, text) else {
        return Vec::new();
    };
    let Some(document) = parsed.next() else { return Vec::new() };
    let mut reported = 0;
    let mut report = |finding: Diagnostic| {
        if reported < MANY {
            reported += 1;
            diagnostics.push(finding);
        }
    };
    let mut tokens: Vec<Token> = Vec::new();
    for pair in document.into_inner() {
        let written = pair.as_span();
        let span = Span::new(written.start(), written.end());
        let kind = match pair.as_rule() {
            Rule::string => TokenKind::Text,
            Rule::date => TokenKind::Date,
            Rule::code => TokenKind::Code,
            Rule::number => TokenKind::Number,
            Rule::word => TokenKind::Word,
            Rule::symbol => TokenKind::Symbol,
            Rule::open => TokenKind::Open,
            Rule::close => TokenKind::Close,
            Rule::semicolon => TokenKind::Semicolon,
            Rule::newline => TokenKind::Newline,
            Rule::comment => TokenKind::Comment,
            Rule::unclosed => {
                report(
                    Diagnostic::new(Code::UnclosedText, "this text is not closed before the end of the line")
                        .at(id, Span::new(written.start(), written.start() + 1), "the quote opens here")
                        .help("close it with `\"` on the same line"),
                );
                TokenKind::Bad
            }
            Rule::curly => {
                report(curly(pair.as_str(), span, id));
                TokenKind::Text
            }
            Rule::slip => {
                report(number_slip(pair.as_str(), span, id));
                TokenKind::Bad
            }
            Rule::stray => {
                let touches_last = tokens.last().is_some_and(|t| t.kind == TokenKind::Bad && t.span.end == span.start);
                if !touches_last {
                    report(stray(pair.as_str(), span, id));
                }
                TokenKind::Bad
            }
            _ => continue,
        };
        match tokens.last_mut() {
            Some(last) if kind == TokenKind::Bad && last.kind == kind && last.span.end == span.start => {
                last.span.end = span.end;
            }
            _ => tokens.push(Token { kind, span }),
        }
    }
    tokens
}

/// More of the same in one file tells nobody anything.
const MANY: usize = 20;

/// Text in other quotation marks than straight double ones.
fn curly(written: &str, span: Span, id: SourceId) -> Diagnostic {
    let mark: String = written.chars().take(1).collect();
    let kind = if mark == "'" { "a single quotation mark" } else { "a quotation mark of a word processor" };
    let inner: String = written.chars().skip(1).collect();
    let inner = inner.trim_end_matches(CURLY);
    Diagnostic::new(Code::StrayCharacter, format!("`{mark}` is {kind}, and text stands between straight ones here"))
        .at(id, span, "this text")
        .why("Many characters look like a quotation mark. Only one of them is taken, so that where a text ends is never in doubt.")
        .help(format!("write `\"{inner}\"`"))
}

/// The quotation marks that a text may be found in by mistake.
pub(super) const CURLY: [char; 10] = ['“', '”', '„', '‟', '«', '»', '‘', '’', '‚', '\''];

/// A character that nothing in the language uses, with what was probably meant.
fn stray(written: &str, span: Span, id: SourceId) -> Diagnostic {
    let shown = written.escape_debug().to_string();
    let (message, help) = match written.chars().next() {
        Some(c) if CURLY.contains(&c) => (
            format!("`{shown}` is not the straight quotation mark, and the text after it has no end"),
            "put the text between straight quotation marks, `\"like this\"`",
        ),
        Some('–' | '—' | '‐' | '‑') => (
            format!("`{shown}` is a dash of a word processor, not the minus sign"),
            "write `-`; between two values write `to`, such as `5 kPa to 40 kPa`",
        ),
        Some('º' | '˚') => (format!("`{shown}` looks like the degree sign and is another"), "write `°C` or `°F`"),
        Some('~' | '≈') => {
            (format!("`{shown}` does not say how far off a value may be"), "give a tolerance: `40 L/min, within 2 %`")
        }
        Some('½' | '¼' | '¾') => {
            (format!("`{shown}` is not a number that can be read here"), "write it with a point: `0.5`")
        }
        Some('€' | '$' | '£') => {
            (format!("`{shown}` stands for several currencies"), "write `14.90 EUR` or `14.90 USD`")
        }
        Some('?') => {
            ("`?` has no meaning here".to_owned(), "take it out; what is still open stands after a `#`, or as a `note`")
        }
        _ => {
            (format!("`{shown}` has no meaning here"), "take it out; words for people stand in quotes, or after a `#`")
        }
    };
    Diagnostic::new(Code::StrayCharacter, message).at(id, span, "this character").help(help)
}

fn number_slip(written: &str, span: Span, id: SourceId) -> Diagnostic {
    if let Some(rest) = written.strip_prefix('.') {
        return Diagnostic::new(Code::BareDecimalPoint, format!("`{written}` begins with the decimal point"))
            .at(id, span, "this number")
            .help(format!("write `0.{rest}`"));
    }
    if let Some(whole) = written.strip_suffix('.') {
        return Diagnostic::new(Code::BareDecimalPoint, format!("`{written}` ends with its decimal point"))
            .at(id, span, "this number")
            .help(format!("write `{whole}`, or the digits that are missing after the point"));
    }
    let joined = written.replace(',', "");
    let as_decimal = written.replacen(',', ".", 1);
    let help = if as_decimal.contains(',') || as_decimal.matches('.').count() > 1 {
        format!("write `{joined}` without commas")
    } else {
        format!("write `{joined}` if thousands were meant, `{as_decimal}` if a decimal")
    };
    Diagnostic::new(Code::CommaNumber, format!("`{written}` can be read in two ways"))
        .at(id, span, "a comma inside a number")
        .help(help)
}
