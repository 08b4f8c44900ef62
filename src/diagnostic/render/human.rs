//! Findings with the lines they are about, drawn by [`miette`].

use std::fmt;

use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};

use super::{Style, plain, summary};
use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::source::{Source, SourceId, Sources};

/// How many findings are drawn; the rest is counted.
pub(super) const SHOWN: usize = 50;

/// Lines longer than this many bytes are not drawn; the finding is shown plainly instead.
const LONGEST_LINE: usize = 200;

/// How many places of one finding are drawn.
const PLACES: usize = 12;

/// The first [`SHOWN`] findings, how many more there are, and the summary.
pub(super) fn render(findings: &[Diagnostic], sources: &Sources, style: Style) -> String {
    let handler = handler(style);
    let mut text = String::new();
    for finding in findings.iter().take(SHOWN) {
        let drawn = if drawable(finding, sources) {
            draw(finding, sources, &handler)
        } else {
            None
        };
        text += &drawn.unwrap_or_else(|| plain::one(finding, sources));
        text.push('\n');
    }
    if let Some(more) = findings.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        text += &format!("… and {more} more\n");
    }
    text += &summary(findings);
    text.push('\n');
    text
}

fn handler(style: Style) -> GraphicalReportHandler {
    let theme = match (style.unicode, style.colour) {
        (true, true) => GraphicalTheme::unicode(),
        (true, false) => GraphicalTheme::unicode_nocolor(),
        (false, true) => GraphicalTheme::ascii(),
        (false, false) => GraphicalTheme::none(),
    };
    GraphicalReportHandler::new_themed(theme)
        .with_width(style.width.max(40))
        .with_links(false)
        .without_syntax_highlighting()
        .with_context_lines(0)
        .with_break_words(false)
}

/// Whether every line that would be drawn is short enough, and the places are few enough.
fn drawable(finding: &Diagnostic, sources: &Sources) -> bool {
    finding.places.len() <= PLACES
        && finding.places.iter().all(|place| {
            let Some(source) = sources.get(place.source) else {
                return false;
            };
            let (first, last) = lines(place, source);
            last - first < 30 && (first..=last).all(|line| source.line(line).len() <= LONGEST_LINE)
        })
}

fn lines(place: &Place, source: &Source) -> (usize, usize) {
    let (first, _) = source.line_column(place.span.start);
    let (last, _) = source.line_column(place.span.end);
    (first, last.max(first))
}

fn draw(
    finding: &Diagnostic,
    sources: &Sources,
    handler: &GraphicalReportHandler,
) -> Option<String> {
    let mut text = String::new();
    handler
        .render_report(&mut text, &Report::new(finding, sources))
        .ok()?;
    let mut lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.retain(|line| !line.is_empty());
    Some(lines.join("\n") + "\n")
}

/// A finding in miette's terms: one snippet for the file of the primary place, one related snippet for each other file.
struct Report {
    code: String,
    severity: miette::Severity,
    message: String,
    help: Option<String>,
    snippet: Option<Snippet>,
    related: Vec<Report>,
}

struct Snippet {
    text: NamedSource<String>,
    labels: Vec<LabeledSpan>,
}

impl Report {
    fn new(finding: &Diagnostic, sources: &Sources) -> Self {
        let severity = match finding.severity {
            Severity::Note => miette::Severity::Advice,
            Severity::Warning | Severity::Minor => miette::Severity::Warning,
            Severity::Error | Severity::Major | Severity::Critical => miette::Severity::Error,
        };
        let mut files: Vec<SourceId> = Vec::new();
        for place in &finding.places {
            if !files.contains(&place.source) {
                files.push(place.source);
            }
        }
        let mut snippets = files
            .into_iter()
            .filter_map(|file| Snippet::new(file, finding, sources));
        let snippet = snippets.next();
        let related = snippets
            .map(|snippet| Self {
                code: String::new(),
                severity: miette::Severity::Advice,
                message: format!("see also {}", snippet.text.name()),
                help: None,
                snippet: Some(snippet),
                related: Vec::new(),
            })
            .collect();
        let why = Some(format!("why: {}", finding.why)).filter(|_| !finding.why.is_empty());
        let help = finding.help.as_ref().map(|help| format!("do this: {help}"));
        Self {
            code: finding.code.id().to_owned(),
            severity,
            message: format!("{}: {}", finding.severity, finding.message),
            help: why
                .into_iter()
                .chain(help)
                .reduce(|why, help| why + "\n" + &help),
            snippet,
            related,
        }
    }
}

impl Snippet {
    fn new(file: SourceId, finding: &Diagnostic, sources: &Sources) -> Option<Self> {
        let source = sources.get(file)?;
        let labels = finding
            .places
            .iter()
            .enumerate()
            .filter(|(_, place)| place.source == file)
            .map(|(index, place)| label(place, source, index == 0))
            .collect();
        Some(Self {
            text: NamedSource::new(&source.name, source.text.clone()),
            labels,
        })
    }
}

/// A label whose ends are within the text and between characters.
fn label(place: &Place, source: &Source, primary: bool) -> LabeledSpan {
    let start = source.text.floor_char_boundary(place.span.start as usize);
    let end = source
        .text
        .ceil_char_boundary(place.span.end as usize)
        .max(start);
    let role = Some(place.role.clone()).filter(|role| !role.is_empty());
    if primary {
        LabeledSpan::new_primary_with_span(role, (start, end - start))
    } else {
        LabeledSpan::new_with_span(role, (start, end - start))
    }
}

impl fmt::Debug for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Report {}

impl miette::Diagnostic for Report {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        if self.code.is_empty() {
            None
        } else {
            Some(Box::new(&self.code))
        }
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(self.severity)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help
            .as_ref()
            .map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.snippet
            .as_ref()
            .map(|snippet| &snippet.text as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let snippet = self.snippet.as_ref()?;
        Some(Box::new(snippet.labels.iter().cloned()))
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn miette::Diagnostic> + 'a>> {
        if self.related.is_empty() {
            return None;
        }
        Some(Box::new(
            self.related
                .iter()
                .map(|report| report as &dyn miette::Diagnostic),
        ))
    }
}
