//! Text to tree, and tree to text.
//!
//! `grammar/text.pest` turns characters into terms; [`blocks`] puts terms into statements and statements into blocks;
//! [`fit`] reads each statement by its form in `grammar/statements.forms`. Numbers stay as written: meaning begins in
//! `plan`.

pub mod format;

pub mod tree;

pub mod vocabulary;

mod blocks;

mod expression;

mod fit;

mod token;

use crate::diagnostic::Checked;
use crate::source::{SourceId, Sources};
pub(crate) use fit::nearest;
use tree::Tree;

/// Reads a source that is one value and nothing else: `30 L/min`, or a name.
pub(crate) fn parse_value(sources: &Sources, id: SourceId) -> Checked<Option<tree::Expr>> {
    let text = sources.get(id).map_or("", |source| source.text.as_str());
    let mut diagnostics = Vec::new();
    let tokens = token::lex(text, id, &mut diagnostics);
    let value = if diagnostics.is_empty() { fit::one_value(text, id, &tokens, &mut diagnostics) } else { None };
    Checked { value, diagnostics }
}

/// Reads a source. Always gives a tree: of what could be read, with everything that was noticed.
pub fn parse(sources: &Sources, id: SourceId) -> Checked<Tree> {
    let text = sources.get(id).map_or("", |source| source.text.as_str());
    let mut diagnostics = Vec::new();
    let tokens = token::lex(text, id, &mut diagnostics);
    let raw = blocks::assemble(text, &tokens, id, &mut diagnostics);
    let statements = fit::fit_file(text, id, &raw, &mut diagnostics);
    diagnostics.sort_by_key(|d| d.places.first().map_or(0, |p| p.span.start));
    Checked { value: Tree { source: id, statements }, diagnostics }
}
