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

/// How many lines a place may take to be drawn.
const TALLEST: usize = 30;

/// Lines shown before and after a place.
const CONTEXT: usize = 1;

/// The first [`SHOWN`] findings, how many more there are, and the summary.
pub(super) fn render(findings: &[Diagnostic], sources: &Sources, style: Style) -> String {
    let handler = handler(style);
    let mut text = String::new();
    for finding in findings.iter().take(SHOWN) {
        let drawn = if drawable(finding, sources) { draw(finding, sources, &handler, style) } else { None };
        text += &drawn.unwrap_or_else(|| plain::one(finding, sources));
        text.push('\n');
    }
    if let Some(more) = findings.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        text += &format!("{} and {more} more\n", if style.unicode { "…" } else { "..." });
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
        .with_context_lines(CONTEXT)
        .with_break_words(false)
}

/// Whether every line that would be drawn is short enough, and the places are few enough.
fn drawable(finding: &Diagnostic, sources: &Sources) -> bool {
    finding.places.len() <= PLACES
        && finding.places.iter().all(|place| {
            let Some(source) = sources.get(place.source) else {
                return false;
            };
            let (first, _) = source.line_column(place.span.start);
            let (last, _) = source.line_column(place.span.end);
            last < first + TALLEST
                && (first.saturating_sub(CONTEXT)..=last + CONTEXT).all(|line| source.line(line).len() <= LONGEST_LINE)
        })
}

/// The message with the snippet of the primary file, a snippet of each other file, the reason, the help.
fn draw(finding: &Diagnostic, sources: &Sources, handler: &GraphicalReportHandler, style: Style) -> Option<String> {
    let mut files: Vec<SourceId> = Vec::new();
    for place in &finding.places {
        if !files.contains(&place.source) {
            files.push(place.source);
        }
    }
    let mut snippets = files.into_iter().filter_map(|file| Snippet::new(file, finding, sources));
    let mut text = String::new();
    let first = Report::new(finding, snippets.next());
    push_report(&mut text, &first, handler)?;
    for snippet in snippets {
        // Only the frame is wanted: it names its file itself.
        let other = Report { code: None, message: String::new(), snippet: Some(snippet), ..first };
        push_report(&mut text, &other, handler)?;
    }
    if !finding.why.is_empty() {
        text += &labelled("why", &finding.why, style);
    }
    if let Some(help) = &finding.help {
        text += &labelled("do this", help, style);
    }
    Some(text)
}

/// The report without its empty lines.
fn push_report(text: &mut String, report: &Report, handler: &GraphicalReportHandler) -> Option<()> {
    let mut drawn = String::new();
    handler.render_report(&mut drawn, report).ok()?;
    let lines = drawn.lines().map(str::trim_end).filter(|line| !line.is_empty());
    for line in lines {
        text.push_str(line);
        text.push('\n');
    }
    Some(())
}

/// `  why: …`, wrapped, with its line ends kept.
fn labelled(label: &str, text: &str, style: Style) -> String {
    let margin = " ".repeat(label.len() + 4);
    let width = style.width.max(40) - margin.len();
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines() {
        // Spaces at the beginning are the layout of an example; they stay.
        let indent: String = line.chars().take_while(|character| *character == ' ').collect();
        let mut current = indent.clone();
        for word in line.split_whitespace() {
            let begun = current.len() > indent.len();
            if begun && current.chars().count() + 1 + word.chars().count() > width {
                lines.push(std::mem::replace(&mut current, indent.clone() + word));
            } else {
                current += if begun { " " } else { "" };
                current += word;
            }
        }
        lines.push(current);
    }
    let body = lines.join(&format!("\n{margin}"));
    if style.colour { format!("  \u{1b}[36m{label}:\u{1b}[0m {body}\n") } else { format!("  {label}: {body}\n") }
}

/// A finding in miette's terms, with the places of one file.
struct Report {
    code: Option<&'static str>,
    severity: miette::Severity,
    message: String,
    snippet: Option<Snippet>,
}

struct Snippet {
    text: NamedSource<String>,
    labels: Vec<LabeledSpan>,
}

impl Report {
    fn new(finding: &Diagnostic, snippet: Option<Snippet>) -> Self {
        let severity = match finding.severity {
            Severity::Note => miette::Severity::Advice,
            Severity::Warning | Severity::Minor => miette::Severity::Warning,
            Severity::Error | Severity::Major | Severity::Critical => miette::Severity::Error,
        };
        let message = format!("{}: {}", finding.severity, finding.message);
        Self { code: Some(finding.code.id()), severity, message, snippet }
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
        Some(Self { text: NamedSource::new(&source.name, source.text.clone()), labels })
    }
}

/// A label whose ends are within the text and between characters.
fn label(place: &Place, source: &Source, primary: bool) -> LabeledSpan {
    let start = source.text.floor_char_boundary(place.span.start as usize);
    let end = source.text.ceil_char_boundary(place.span.end as usize).max(start);
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
        self.code.map(|code| Box::new(code) as Box<dyn fmt::Display>)
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(self.severity)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.snippet.as_ref().map(|snippet| &snippet.text as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let snippet = self.snippet.as_ref()?;
        Some(Box::new(snippet.labels.iter().cloned()))
    }
}
