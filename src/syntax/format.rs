//! The one layout of a file. Works on terms, so it keeps every comment and every number as written; and proves on each run
//! that what it gives reads the same as what it got.

use super::token::{Token, TokenKind, lex};
use crate::source::SourceId;

/// Lines longer than this are broken after a comma, where they have one.
const WIDTH: usize = 110;

/// Why a text was not laid out anew.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FormatError {
    #[error("the file has errors, and laying it out could change what it means; check it first")]
    Unreadable,
    #[error(
        "the new layout would not read the same as the old one; this is a fault of the formatter, and nothing was changed"
    )]
    Unsound,
}

/// Lays a text out. Fails where the text cannot be read by its terms, never changes meaning.
pub fn format(text: &str) -> Result<String, FormatError> {
    let id = SourceId(0);
    let mut diagnostics = Vec::new();
    let tokens = lex(text, id, &mut diagnostics);
    if !diagnostics.is_empty() {
        return Err(FormatError::Unreadable);
    }
    super::blocks::assemble(text, &tokens, id, &mut diagnostics);
    if !diagnostics.is_empty() {
        return Err(FormatError::Unreadable);
    }
    let laid_out = Writer::new(text).write(&tokens);
    let again = lex(&laid_out, id, &mut diagnostics);
    if essence(text, &tokens) != essence(&laid_out, &again) {
        return Err(FormatError::Unsound);
    }
    Ok(laid_out)
}

/// What a layout must not change: terms, braces, comments, and where statements end.
fn essence<'t>(text: &'t str, tokens: &[Token]) -> Vec<(TokenKind, &'t str)> {
    let mut kept: Vec<(TokenKind, &str)> = Vec::new();
    let mut depth = 0_usize;
    for token in tokens {
        let written = token.text(text);
        match token.kind {
            TokenKind::Newline | TokenKind::Semicolon => {
                let goes_on = depth > 0 || kept.last().is_some_and(|(kind, t)| *kind == TokenKind::Symbol && *t == ",");
                let ended = kept.last().is_none_or(|(kind, _)| {
                    matches!(kind, TokenKind::Semicolon | TokenKind::Open | TokenKind::Close | TokenKind::Comment)
                });
                if !goes_on && !ended {
                    kept.push((TokenKind::Semicolon, ";"));
                }
            }
            TokenKind::Comment => kept.push((token.kind, written.trim_end())),
            TokenKind::Close => {
                if kept.last().is_some_and(|(kind, _)| *kind == TokenKind::Semicolon) {
                    kept.pop();
                }
                kept.push((token.kind, written));
            }
            _ => {
                match written {
                    "[" | "(" if token.kind == TokenKind::Symbol => depth += 1,
                    "]" | ")" if token.kind == TokenKind::Symbol => depth = depth.saturating_sub(1),
                    _ => {}
                }
                kept.push((token.kind, written));
            }
        }
    }
    while kept.last().is_some_and(|(kind, _)| *kind == TokenKind::Semicolon) {
        kept.pop();
    }
    // A semicolon before a comment is the line's end; the comment's place after it does not change meaning.
    kept.dedup_by(|b, a| a.0 == TokenKind::Comment && b.0 == TokenKind::Semicolon);
    kept
}

struct Writer<'a> {
    text: &'a str,
    out: String,
    line: String,
    depth: usize,
    /// Empty lines that stood before what comes next.
    gaps: usize,
    /// Blocks, innermost last, that are kept on one line.
    inline: Vec<bool>,
}

impl<'a> Writer<'a> {
    fn new(text: &'a str) -> Self {
        Self { text, out: String::new(), line: String::new(), depth: 0, gaps: 0, inline: Vec::new() }
    }

    fn write(mut self, tokens: &[Token]) -> String {
        let mut newlines = 0;
        let mut brackets = 0_usize;
        for (index, token) in tokens.iter().enumerate() {
            let written = token.text(self.text);
            let inline = self.inline.last().copied().unwrap_or(false);
            match token.kind {
                TokenKind::Newline => {
                    newlines += 1;
                    let goes_on = brackets > 0 || self.line.ends_with(',');
                    if !goes_on && !inline {
                        self.end_line();
                    }
                    continue;
                }
                TokenKind::Semicolon if inline => self.line.push(';'),
                TokenKind::Semicolon => self.end_line(),
                TokenKind::Comment => {
                    let own_line = self.line.is_empty() || newlines > 0;
                    if own_line && self.line.is_empty() {
                        self.gap(newlines);
                        self.line.push_str(written.trim_end());
                        self.flush_raw();
                    } else {
                        // Inside a statement: the comment ends its line, the statement goes on below.
                        self.line.push_str("  ");
                        self.line.push_str(written.trim_end());
                        self.flush_raw();
                    }
                }
                TokenKind::Open => {
                    self.space(token);
                    self.line.push('{');
                    match inline_end(self.text, tokens, index) {
                        Some(0) => self.inline.push(true),
                        Some(length) if self.indent() + self.line.chars().count() + length < WIDTH => {
                            self.line.push(' ');
                            self.inline.push(true);
                        }
                        _ => {
                            self.inline.push(false);
                            self.end_line();
                            self.depth += 1;
                        }
                    }
                }
                TokenKind::Close => {
                    let was_inline = self.inline.pop().unwrap_or(false);
                    if was_inline {
                        if !self.line.ends_with('{') {
                            let kept = self.line.trim_end_matches([' ', ';']).len();
                            self.line.truncate(kept);
                            self.line.push(' ');
                        }
                    } else {
                        self.end_line();
                        self.depth = self.depth.saturating_sub(1);
                        self.gaps = 0;
                    }
                    self.line.push('}');
                    let outer_inline = self.inline.last().copied().unwrap_or(false);
                    let comment_follows = tokens.get(index + 1).is_some_and(|t| t.kind == TokenKind::Comment);
                    if outer_inline {
                        self.line.push(';');
                    } else if !comment_follows {
                        self.end_line();
                    }
                }
                _ => {
                    if self.line.is_empty() {
                        self.gap(newlines);
                    }
                    match written {
                        "[" | "(" if token.kind == TokenKind::Symbol => brackets += 1,
                        "]" | ")" if token.kind == TokenKind::Symbol => brackets = brackets.saturating_sub(1),
                        _ => {}
                    }
                    self.space(token);
                    self.line.push_str(written);
                }
            }
            newlines = 0;
        }
        self.end_line();
        self.out
    }

    fn indent(&self) -> usize {
        2 * self.depth
    }

    /// At most one empty line is kept between statements, none at the beginning of a block.
    fn gap(&mut self, newlines: usize) {
        let opens = self.out.ends_with("{\n") || self.out.is_empty();
        if newlines > 1 && !opens {
            self.gaps = 1;
        }
    }

    /// The space before a term, if one belongs there.
    fn space(&mut self, token: &Token) {
        let written = token.text(self.text);
        let tight_before = token.kind == TokenKind::Symbol && matches!(written, "," | "]" | ")");
        let tight_after = self.line.ends_with(['[', '(']) || self.line.is_empty() || self.line.ends_with(' ');
        if !tight_before && !tight_after {
            self.line.push(' ');
        }
    }

    fn end_line(&mut self) {
        if self.line.is_empty() {
            return;
        }
        let line = std::mem::take(&mut self.line);
        let mut first = true;
        let mut rest = line.trim_end();
        loop {
            let indent = self.indent() + if first { 0 } else { 4 };
            let cut = break_after(rest, WIDTH.saturating_sub(indent));
            let (head, tail) = rest.split_at(cut);
            self.emit(indent, head.trim_end());
            rest = tail.trim_start();
            first = false;
            if rest.is_empty() {
                break;
            }
        }
    }

    /// A line with a comment is never broken.
    fn flush_raw(&mut self) {
        let line = std::mem::take(&mut self.line);
        self.emit(self.indent(), line.trim_end());
    }

    fn emit(&mut self, indent: usize, line: &str) {
        for _ in 0..std::mem::take(&mut self.gaps) {
            self.out.push('\n');
        }
        self.out.extend(std::iter::repeat_n(' ', indent));
        self.out.push_str(line);
        self.out.push('\n');
    }
}

/// Where to break a line that is too long: after the last comma, outside quotes, that still fits.
fn break_after(line: &str, width: usize) -> usize {
    if line.chars().count() <= width {
        return line.len();
    }
    let mut quoted = false;
    let mut escaped = false;
    let mut best = None;
    for (column, (at, c)) in line.char_indices().enumerate() {
        match c {
            '"' if !escaped => quoted = !quoted,
            // Nothing in an inline block can be broken: its lines end statements.
            '{' if !quoted => break,
            ',' if !quoted && (column < width || best.is_none()) => best = Some(at + 1),
            _ => {}
        }
        escaped = c == '\\' && !escaped;
        if column >= width && best.is_some() {
            break;
        }
    }
    best.unwrap_or(line.len())
}

/// The length of a block that stands on one line, or nothing where it does not.
fn inline_end(text: &str, tokens: &[Token], open: usize) -> Option<usize> {
    let mut depth = 0_usize;
    let mut length = 0;
    for token in tokens.iter().skip(open) {
        match token.kind {
            TokenKind::Newline | TokenKind::Comment => return None,
            TokenKind::Open => depth += 1,
            TokenKind::Close => depth = depth.saturating_sub(1),
            _ => length += token.text(text).chars().count() + 1,
        }
        if depth == 0 {
            return Some(length);
        }
    }
    None
}
