//! A page laid out: as HTML, as lines of text, as PDF.

mod html;
#[cfg(feature = "pdf")]
mod pdf;
mod text;

pub use html::{HtmlError, html};
#[cfg(feature = "pdf")]
pub use pdf::pdf;
pub use text::text;
