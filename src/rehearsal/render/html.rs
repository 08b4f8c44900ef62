//! A page as one HTML file with its pictures in it.

use tera::{Context, Tera};
use thiserror::Error;

use crate::rehearsal::Page;

/// The template failed; no plan should bring that about.
#[derive(Debug, Error)]
#[error("the rehearsal's HTML template failed: {0}")]
pub struct HtmlError(#[from] tera::Error);

/// A page as HTML. Everything that the plan says is escaped; nothing is loaded from elsewhere.
///
/// # Errors
/// When the template refuses the page.
pub fn html(page: &Page) -> Result<String, HtmlError> {
    let mut tera = Tera::new();
    // The name ends in `.html`, which is what turns escaping on.
    tera.add_raw_template("rehearsal.html", include_str!("rehearsal.html.tera"))?;
    Ok(tera.render("rehearsal.html", &Context::from_serialize(page)?)?)
}
