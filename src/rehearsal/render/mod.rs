//! A page as text for a terminal, and as one self-contained HTML file.

mod html;

mod text;

pub use html::{HtmlError, html};
pub use text::text;
