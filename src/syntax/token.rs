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
            Rule::slip => {
                report(number_slip(pair.as_str(), span, id));
                TokenKind::Bad
            }
            Rule::stray => {
                let touches_last = tokens.last().is_some_and(|t| t.kind == TokenKind::Bad && t.span.end == span.start);
                if !touches_last {
                    report(
                        Diagnostic::new(
                            Code::StrayCharacter,
                            format!("`{}` has no meaning here", pair.as_str().escape_default()),
                        )
                        .at(id, span, "this character")
                        .help("take it out; words for people stand in quotes, or after a `#`"),
                    );
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

fn number_slip(written: &str, span: Span, id: SourceId) -> Diagnostic {
    if let Some(rest) = written.strip_prefix('.') {
        return Diagnostic::new(Code::BareDecimalPoint, format!("`{written}` begins with the decimal point"))
            .at(id, span, "this number")
            .help(format!("write `0.{rest}`"));
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
