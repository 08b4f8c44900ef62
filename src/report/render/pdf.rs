//! A page as PDF, upright.

use crate::report::Page;
use crate::typeset::{self, Paper, PdfError};

/// A report as the bytes of a PDF.
///
/// # Errors
/// When the typesetter refuses the template, which no plan should bring about.
pub fn pdf(page: &Page, paper: Paper) -> Result<Vec<u8>, PdfError> {
    typeset::pdf(include_str!("report.typ"), page, paper)
}
