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
    /// How far to the right the line stands on which the block opens.
    indent: usize,
}

/// More lost braces than this are no slip; the file is reported as it is.
const MOST_LOST: usize = 8;

/// A block that has lost its brace, and the first line after it.
struct Lost {
    /// The statement that opens the block.
    head: Span,
    /// The token before which the brace is missing.
    before: usize,
}

/// Puts statements together. Where a brace is lost, the text's own indentation tells where: the block is closed there, so
/// that one slip costs one finding, and what follows is read as it was meant.
pub(crate) fn assemble(
    text: &str,
    tokens: &[Token],
    id: SourceId,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<RawStatement> {
    let mut lost: Vec<Lost> = Vec::new();
    let (first, unclosed) = Assembler::new(text, tokens, id, &[]).run();
    let mut suspect = first.suspect;
    if unclosed {
        while let Some(found) = suspect.take().filter(|_| lost.len() < MOST_LOST) {
            lost.push(found);
            let closes: Vec<usize> = lost.iter().map(|lost| lost.before).collect();
            let (again, still_open) = Assembler::new(text, tokens, id, &closes).run();
            let surplus = again.diagnostics.iter().any(|d| d.code == Code::StrayClose);
            if surplus {
                break;
            }
            if !still_open {
                diagnostics.extend(lost.iter().map(|lost| lost.finding(text, tokens, id)));
                diagnostics.extend(again.diagnostics);
                return again.top;
            }
            suspect = again.suspect;
        }
    }
    diagnostics.extend(first.diagnostics);
    first.top
}

impl Lost {
    fn finding(&self, text: &str, tokens: &[Token], id: SourceId) -> Diagnostic {
        let head = text.get(self.head.start as usize..self.head.end as usize).unwrap_or_default();
        let finding = Diagnostic::new(
            Code::UnclosedBlock,
            format!("the block of `{}` is never closed", first_words(head)),
        )
        .at(id, self.head, "opened here");
        let Some(next) = tokens.get(self.before) else { return finding.help("close it with `}`") };
        let line = text.get(..next.span.start as usize).unwrap_or_default().matches('\n').count() + 1;
        finding
            .also(id, next.span, "this line stands further left than the block's steps: it is outside")
            .help(format!("put `}}` on a line of its own before line {line}"))
    }
}

/// A statement in few words: `stage warm`, not its title.
fn first_words(head: &str) -> String {
    let plain = head.split('"').next().unwrap_or(head);
    plain.split_whitespace().take(3).collect::<Vec<_>>().join(" ")
}

struct Assembler<'a> {
    text: &'a str,
    tokens: &'a [Token],
    id: SourceId,
    diagnostics: Vec<Diagnostic>,
    /// The tokens before which a block is closed although no brace stands there.
    closes: &'a [usize],
    /// The first line that stands too far left for the block it would be in.
    suspect: Option<Lost>,
    /// How far to the right the present line begins.
    indent: usize,
    stack: Vec<Frame>,
    top: Vec<RawStatement>,
    /// How many braces deep the part that is skipped for its depth has become.
    skipping: usize,
    /// How many brackets were found that never close.
    unclosed_lists: usize,
}

impl<'a> Assembler<'a> {
    fn new(text: &'a str, tokens: &'a [Token], id: SourceId, closes: &'a [usize]) -> Self {
        Self {
            text,
            tokens,
            id,
            diagnostics: Vec::new(),
            closes,
            suspect: None,
            indent: 0,
            stack: Vec::new(),
            top: Vec::new(),
            skipping: 0,
            unclosed_lists: 0,
        }
    }

    /// Reads to the end. Tells also whether blocks were left open.
    fn run(mut self) -> (Self, bool) {
        let mut at = 0;
        while let Some(token) = self.tokens.get(at) {
            for _ in self.closes.iter().filter(|before| **before == at) {
                self.close(Span::new(token.span.start as usize, token.span.start as usize));
            }
            self.look_left(at, token);
            at += 1;
            match token.kind {
                TokenKind::Newline | TokenKind::Semicolon | TokenKind::Comment => {}
                TokenKind::Open => self.open(Vec::new(), token.span),
                TokenKind::Close => self.close(token.span),
                _ => at = self.statement(at - 1),
            }
        }
        let open = !self.stack.is_empty();
        self.unclosed();
        (self, open)
    }

    /// Notes where a line begins, and remembers the first that begins no further right than the block it stands in.
    fn look_left(&mut self, at: usize, token: &Token) {
        if matches!(token.kind, TokenKind::Newline | TokenKind::Comment) {
            return;
        }
        let before = at.checked_sub(1).and_then(|i| self.tokens.get(i));
        let begins_line = before.is_none_or(|t| t.kind == TokenKind::Newline);
        if !begins_line {
            return;
        }
        self.indent = token.span.start.saturating_sub(before.map_or(0, |t| t.span.end)) as usize;
        let Some(frame) = self.stack.last().filter(|_| self.suspect.is_none() && self.skipping == 0) else { return };
        let outside =
            if token.kind == TokenKind::Close { self.indent < frame.indent } else { self.indent <= frame.indent };
        if outside {
            self.suspect = Some(Lost { head: frame.statement.span, before: at });
        }
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
        let indent = self.indent;
        let statement = RawStatement { terms, block: Some(Vec::new()), span };
        self.stack.push(Frame { statement, open: brace, indent });
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
