//! A page as one HTML file with its pictures in it.

use tera::{Context, Tera};
use thiserror::Error;

use crate::report::Page;

/// The template failed; no plan should bring that about.
#[derive(Debug, Error)]
#[error("the report's HTML template failed: {0}")]
pub struct HtmlError(#[from] tera::Error);

/// A report as HTML. Everything that plan and records say is escaped; nothing is loaded from elsewhere.
///
/// # Errors
/// When the template refuses the page.
pub fn html(page: &Page) -> Result<String, HtmlError> {
    let mut tera = Tera::new();
    // The name ends in `.html`, which is what turns escaping on.
    tera.add_raw_template("report.html", include_str!("report.html.tera"))?;
    Ok(tera.render("report.html", &Context::from_serialize(page)?)?)
}
