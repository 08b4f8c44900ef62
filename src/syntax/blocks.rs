//! Terms to statements, statements to blocks: with a stack instead of recursion, so depth costs nothing.

use super::token::{Token, TokenKind};
use crate::diagnostic::{Code, Diagnostic};
use crate::source::{SourceId, Span};

/// A statement before its form is known: its terms, and its block where one is open.
#[derive(Debug)]
pub(crate) struct RawStatement {
    pub(crate) terms: Vec<Token>,
    pub(crate) block: Option<Vec<RawStatement>>,
    pub(crate) span: Span,
}

/// No protocol is deeper than this; a file that is has lost a brace.
const DEEPEST: usize = 40;

/// A list over more lines than this has lost its bracket. Without the bound each of many lost brackets would be looked for
/// to the end of the file.
const TALLEST_LIST: usize = 60;

struct Frame {
    statement: RawStatement,
    open: Span,
}

pub(crate) fn assemble(
    text: &str,
    tokens: &[Token],
    id: SourceId,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<RawStatement> {
    Assembler { text, tokens, id, diagnostics, stack: Vec::new(), top: Vec::new(), skipping: 0, unclosed_lists: 0 }
        .run()
}

struct Assembler<'a> {
    text: &'a str,
    tokens: &'a [Token],
    id: SourceId,
    diagnostics: &'a mut Vec<Diagnostic>,
    stack: Vec<Frame>,
    top: Vec<RawStatement>,
    /// How many braces deep the part that is skipped for its depth has become.
    skipping: usize,
    /// How many brackets were found that never close.
    unclosed_lists: usize,
}

impl Assembler<'_> {
    fn run(mut self) -> Vec<RawStatement> {
        let mut at = 0;
        while let Some(token) = self.tokens.get(at) {
            at += 1;
            match token.kind {
                TokenKind::Newline | TokenKind::Semicolon | TokenKind::Comment => {}
                TokenKind::Open => self.open(Vec::new(), token.span),
                TokenKind::Close => self.close(token.span),
                _ => at = self.statement(at - 1),
            }
        }
        self.unclosed();
        self.top
    }

    /// Reads one statement's terms from `at`; gives where to go on.
    fn statement(&mut self, mut at: usize) -> usize {
        let mut terms: Vec<Token> = Vec::new();
        let mut brackets: Vec<Span> = Vec::new();
        // Where to begin again, and with how many terms, if a bracket turns out never to close.
        let mut rewind: Option<(usize, usize)> = None;
        let mut lines = 0;
        while let Some(token) = self.tokens.get(at) {
            match token.kind {
                TokenKind::Comment => {}
                TokenKind::Newline if !brackets.is_empty() => {
                    rewind.get_or_insert((at, terms.len()));
                    lines += 1;
                    if lines > TALLEST_LIST {
                        break;
                    }
                }
                TokenKind::Newline if terms.last().is_some_and(|t| t.is(self.text, ",")) => {}
                TokenKind::Newline | TokenKind::Semicolon | TokenKind::Open | TokenKind::Close => break,
                _ => {
                    match token.text(self.text) {
                        "[" | "(" if token.kind == TokenKind::Symbol => brackets.push(token.span),
                        "]" | ")" if token.kind == TokenKind::Symbol => {
                            brackets.pop();
                            if brackets.is_empty() {
                                rewind = None;
                                lines = 0;
                            }
                        }
                        _ => {}
                    }
                    terms.push(*token);
                }
            }
            at += 1;
        }
        if let Some(bracket) = brackets.first() {
            self.unclosed_lists += 1;
            if self.unclosed_lists <= 5 {
                self.diagnostics.push(
                    Diagnostic::new(Code::UnclosedList, "this bracket is never closed")
                        .at(self.id, *bracket, "opened here")
                        .help("close it with `]` or `)` in the same statement"),
                );
            }
            if let Some((newline, kept)) = rewind {
                at = newline;
                terms.truncate(kept);
            }
            // The statement is reported; it is not read further.
            terms.push(Token { kind: TokenKind::Bad, span: *bracket });
        }
        match self.tokens.get(at) {
            Some(token) if token.kind == TokenKind::Open => {
                self.open(terms, token.span);
                at + 1
            }
            _ => {
                let span = span_of(&terms);
                self.push(RawStatement { terms, block: None, span });
                at
            }
        }
    }

    fn open(&mut self, terms: Vec<Token>, brace: Span) {
        if self.skipping > 0 || self.stack.len() >= DEEPEST {
            if self.skipping == 0 {
                self.diagnostics.push(
                    Diagnostic::new(Code::NestedTooDeep, format!("blocks are nested more than {DEEPEST} deep here"))
                        .at(self.id, brace, "this block is not read")
                        .help("look above for blocks that should have been closed; a loop in a loop is all that a bench needs"),
                );
            }
            self.skipping += 1;
            return;
        }
        let span = if terms.is_empty() { brace } else { span_of(&terms) };
        let statement = RawStatement { terms, block: Some(Vec::new()), span };
        self.stack.push(Frame { statement, open: brace });
    }

    fn close(&mut self, brace: Span) {
        if self.skipping > 0 {
            self.skipping -= 1;
            return;
        }
        match self.stack.pop() {
            Some(mut frame) => {
                frame.statement.span.end = brace.end;
                self.push(frame.statement);
            }
            None => {
                let repeated = self.diagnostics.iter().filter(|d| d.code == Code::StrayClose).count();
                if repeated < 5 {
                    self.diagnostics.push(
                        Diagnostic::new(Code::StrayClose, "this brace closes nothing")
                            .at(self.id, brace, "no block is open here")
                            .help("take it away, or look above for a `{` that is missing"),
                    );
                }
            }
        }
    }

    fn push(&mut self, statement: RawStatement) {
        if self.skipping > 0 {
            return;
        }
        match self.stack.last_mut() {
            Some(frame) => frame.statement.block.get_or_insert_with(Vec::new).push(statement),
            None => self.top.push(statement),
        }
    }

    /// Every block that is still open at the end of the file, innermost last; what they hold is kept.
    fn unclosed(&mut self) {
        self.skipping = 0;
        let end = Span::new(self.text.len(), self.text.len());
        // The last character that can be seen: an empty place past the end can't be drawn.
        let written = self.text.trim_end();
        let last = written.char_indices().next_back().map_or(0, |(at, _)| at);
        let open: Vec<Span> = self.stack.iter().map(|frame| frame.open).collect();
        for (depth, brace) in open.iter().enumerate().rev().take(5) {
            let mut finding = Diagnostic::new(Code::UnclosedBlock, "this block is never closed")
                .at(self.id, *brace, "opened here")
                .help("close it with `}`");
            if depth + 1 == open.len() {
                finding = finding.also(self.id, Span::new(last, written.len()), "the file ends here");
            }
            self.diagnostics.push(finding);
        }
        while let Some(mut frame) = self.stack.pop() {
            frame.statement.span.end = end.end;
            self.push(frame.statement);
        }
    }
}

fn span_of(terms: &[Token]) -> Span {
    match (terms.first(), terms.last()) {
        (Some(first), Some(last)) => Span { start: first.span.start, end: last.span.end.max(first.span.end) },
        _ => Span::new(0, 0),
    }
}
