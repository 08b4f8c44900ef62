//! From the plan to paper: worksheets that a gloved hand can fill, as PDF and as HTML.
//!
//! ```text
//! Plan ─ view ─▶ View ─┬─ html ─▶ one self-contained page
//!                      └─ pdf ──▶ pages (feature `pdf`)
//! ```
//! [`view()`] decides: rounding, units, wording, what hangs together. The templates only place. Windows are rounded inward
//! to what the instrument shows, so that no value that the paper calls good is outside the plan.

mod boxes;
mod cover;
mod html;
mod label;
mod number;
mod page;
#[cfg(feature = "pdf")]
mod pdf;
mod rounds;
mod steps;
mod verbs;
mod view;
mod words;

pub use html::{HtmlError, html};
pub use page::*;
#[cfg(feature = "pdf")]
pub use pdf::{Paper, PdfError, page_count, pdf};
pub use view::{Scope, ViewError, view};
pub use words::Words;
