//! A view as one self-contained HTML page that prints like the PDF.

use tera::{Context, Tera};
use thiserror::Error;

use super::page::View;

/// The page could not be made; no plan should bring that about.
#[derive(Debug, Error)]
pub enum HtmlError {
    #[error("the worksheet's HTML template failed: {0}")]
    Template(#[from] tera::Error),
    #[error("the worksheet could not be handed to its template: {0}")]
    View(#[from] serde_json::Error),
}

/// The sheets of a view as HTML. Everything that the plan says is escaped; nothing is loaded from elsewhere.
///
/// # Errors
/// When the template refuses the view.
pub fn html(view: &View) -> Result<String, HtmlError> {
    let mut tera = Tera::new();
    // The name ends in `.html`, which is what turns escaping on.
    tera.add_raw_template("worksheet.html", include_str!("templates/worksheet.html"))?;
    Ok(tera.render("worksheet.html", &Context::from_serialize(&view.shown()?)?)?)
}
