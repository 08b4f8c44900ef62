//! One finding, and a value together with everything that was noticed while making it.

use serde::{Deserialize, Serialize};

use super::{Code, Severity};
use crate::source::{SourceId, Span};

/// A place that takes part in a finding, with the part it plays ("asks for 90 °C", "is measured to 40 °C").
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// The file.
    pub source: SourceId,
    /// The bytes.
    pub span: Span,
    /// What the place has to do with it, in a few words; may be empty.
    pub role: String,
}

/// Something noticed: what is wrong, where, why it matters, what to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Diagnostic {
    /// Which kind of finding.
    pub code: Code,
    /// How much it weighs here; the code's own unless something changed it.
    pub severity: Severity,
    /// What is wrong, one sentence without full stop.
    pub message: String,
    /// The places involved; the first is the primary one. Empty for a finding about a run as a whole.
    pub places: Vec<Place>,
    /// Why it matters at the bench.
    pub why: String,
    /// What to write or do instead.
    pub help: Option<String>,
    /// What it is about, such as a size, where another finding may be about the same and then is not told.
    #[serde(skip)]
    pub about: Option<String>,
}

impl Diagnostic {
    /// A finding without a place yet, with the severity and the reason of its code.
    pub fn new(code: Code, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: code.severity(),
            message: bounded(message.into()),
            places: Vec::new(),
            why: code.why().to_owned(),
            help: None,
            about: None,
        }
    }

    /// The primary place: put first, before any that are there.
    #[must_use]
    pub fn at(mut self, source: SourceId, span: Span, role: impl Into<String>) -> Self {
        self.places.insert(0, Place { source, span, role: bounded(role.into()) });
        self
    }

    /// Another place that takes part.
    #[must_use]
    pub fn also(mut self, source: SourceId, span: Span, role: impl Into<String>) -> Self {
        self.places.push(Place { source, span, role: bounded(role.into()) });
        self
    }

    /// A reason closer to the case than the code's own.
    #[must_use]
    pub fn why(mut self, why: impl Into<String>) -> Self {
        self.why = why.into();
        self
    }

    /// What to write or do instead.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(cut(help.into(), LONGEST_HELP));
        self
    }

    /// What it is about.
    #[must_use]
    pub fn about(mut self, what: impl Into<String>) -> Self {
        self.about = Some(what.into());
        self
    }

    /// Another weight than the code's own (a house rule sets it, an extrapolation grows into an error).
    #[must_use]
    pub fn severity(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// The primary place.
    pub fn primary(&self) -> Option<&Place> {
        self.places.first()
    }
}

/// The longest text of a finding, in bytes. A word of a million letters is quoted in part.
const LONGEST: usize = 1_000;

/// What is ready to paste may be a whole block.
const LONGEST_HELP: usize = 6_000;

fn bounded(text: String) -> String {
    cut(text, LONGEST)
}

fn cut(mut text: String, longest: usize) -> String {
    if text.len() > longest {
        let end = (0..=longest).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
        text.truncate(end);
        text.push('…');
    }
    text
}

/// What a stage could build, and everything it noticed on the way. Nobody stops at the first error.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Checked<T> {
    /// What could be built.
    pub value: T,
    /// What was noticed, in the order of noticing.
    pub diagnostics: Vec<Diagnostic>,
}

impl<T> Checked<T> {
    /// A value about which there is nothing to say.
    pub fn clean(value: T) -> Self {
        Self { value, diagnostics: Vec::new() }
    }

    /// A value and what was noticed.
    pub fn new(value: T, diagnostics: Vec<Diagnostic>) -> Self {
        Self { value, diagnostics }
    }

    /// Whether something was noticed at which work must stop.
    pub fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(|finding| finding.severity.stops())
    }

    /// The value changed, the findings kept.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Checked<U> {
        Checked { value: change(self.value), diagnostics: self.diagnostics }
    }

    /// The next stage, its findings after these.
    pub fn then<U>(self, next: impl FnOnce(T) -> Checked<U>) -> Checked<U> {
        let Checked { value, diagnostics: more } = next(self.value);
        let mut diagnostics = self.diagnostics;
        diagnostics.extend(more);
        Checked { value, diagnostics }
    }

    /// The value, with the findings moved to the end of a list.
    pub fn into(self, list: &mut Vec<Diagnostic>) -> T {
        list.extend(self.diagnostics);
        self.value
    }
}
