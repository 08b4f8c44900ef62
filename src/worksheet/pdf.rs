//! A view as PDF.

use super::page::View;
use crate::typeset;
pub use crate::typeset::{Paper, PdfError};

const TEMPLATE: &str = include_str!("templates/worksheet.typ");

/// The sheets of a view, landscape, as the bytes of a PDF.
///
/// # Errors
/// When the typesetter refuses the template, which no plan should bring about.
pub fn pdf(view: &View, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let pages = typeset::pdf(TEMPLATE, &view.shown()?, paper);
    typeset::forget();
    pages
}

/// How many pages the sheets of a view take.
///
/// # Errors
/// As [`pdf`].
pub fn page_count(view: &View, paper: Paper) -> Result<usize, PdfError> {
    typeset::page_count(TEMPLATE, &view.shown()?, paper)
}
