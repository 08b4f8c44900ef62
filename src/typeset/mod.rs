//! A template and its data as PDF. The data reaches the template as a JSON file, never as markup; the same data give the same
//! bytes.

use serde::Serialize;
use thiserror::Error;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

/// Size of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Paper {
    /// 210 mm × 297 mm.
    #[serde(rename = "a4")]
    A4,
    /// 8.5 in × 11 in.
    #[serde(rename = "us-letter")]
    Letter,
}

/// Why no PDF came out.
#[derive(Debug, Error)]
pub enum PdfError {
    /// The view could not be handed over.
    #[error("what is to be printed could not be handed to the typesetter: {0}")]
    View(#[from] serde_json::Error),
    /// A fixed path of the template is not one.
    #[error("the template has no valid name")]
    Path,
    /// What the typesetter said.
    #[error("the pages could not be typeset: {0}")]
    Typeset(String),
}

/// A view, laid out by a template that finds it as `view.json`: `{ "paper": …, "view": … }`. The bytes of a PDF.
///
/// # Errors
/// When the typesetter refuses the template, which no plan should bring about.
pub fn pdf<V: Serialize>(template: &str, view: &V, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let document = document(template, view, paper)?;
    let options = PdfOptions { creator: Smart::Custom(Some("Loopleaf".to_owned())), ..PdfOptions::default() };
    typst_pdf::pdf(&document, &options).map_err(|errors| PdfError::Typeset(messages(&errors, None)))
}

/// Gives back what the typesetter keeps of earlier documents: between two of many.
pub fn forget() {
    typst::comemo::evict(0);
}

/// How many pages a view takes.
///
/// # Errors
/// As [`pdf`].
pub fn page_count<V: Serialize>(template: &str, view: &V, paper: Paper) -> Result<usize, PdfError> {
    Ok(document(template, view, paper)?.pages().len())
}

fn document<V: Serialize>(template: &str, view: &V, paper: Paper) -> Result<PagedDocument, PdfError> {
    #[derive(Serialize)]
    struct Printed<'a, V> {
        paper: Paper,
        view: &'a V,
    }
    let desk = Desk::new(template, serde_json::to_vec(&Printed { paper, view })?)?;
    let warned = typst::compile::<PagedDocument>(&desk);
    warned.output.map_err(|errors| PdfError::Typeset(messages(&errors, Some(&desk))))
}

/// What the typesetter says, with the line of the template where it is known.
fn messages(errors: &[SourceDiagnostic], desk: Option<&Desk>) -> String {
    let line = |error: &SourceDiagnostic| {
        let desk = desk?;
        let range = desk.range(error.span)?;
        desk.template.text().get(..range.start).map(|before| before.matches('\n').count() + 1)
    };
    let said = errors.iter().map(|error| match line(error) {
        Some(line) => format!("{} (template, line {line})", error.message),
        None => error.message.to_string(),
    });
    said.collect::<Vec<_>>().join("; ")
}

/// The files and fonts that the typesetter may see: the template, the view, the fonts that the template names.
struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    template: Source,
    view_id: FileId,
    view: Bytes,
}

impl Desk {
    fn new(template: &str, view: Vec<u8>) -> Result<Self, PdfError> {
        let fonts: Vec<Font> =
            typst_assets::fonts().flat_map(|data| Font::iter(Bytes::new(data))).filter(used).collect();
        Ok(Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            template: Source::new(id("main.typ")?, template.to_owned()),
            view_id: id("view.json")?,
            view: Bytes::new(view),
        })
    }
}

fn id(name: &str) -> Result<FileId, PdfError> {
    let path = VirtualPath::new(name).map_err(|_| PdfError::Path)?;
    Ok(FileId::new(RootedPath::new(VirtualRoot::Project, path)))
}

/// The two families of the templates, text and numbers.
fn used(font: &Font) -> bool {
    matches!(font.info().family.as_str(), "Libertinus Serif" | "DejaVu Sans Mono")
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() { Ok(self.template.clone()) } else { Err(missing(id)) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.view_id { Ok(self.view.clone()) } else { Err(missing(id)) }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    /// No template has a date of its own: what is printed says it, or the operator writes it.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn missing(id: FileId) -> FileError {
    FileError::NotFound(id.get().vpath().get_with_slash().into())
}
