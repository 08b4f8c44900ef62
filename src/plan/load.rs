//! Files, and the files that they use.

use crate::diagnostic::{Checked, Code, Diagnostic, Severity};
use crate::source::{LoadError, Loader, SourceId, Sources, Span};
use crate::syntax::tree::{Part, Tree};
use crate::syntax::{self};

/// An entry file and all that it uses, parsed.
#[derive(Debug)]
pub struct Loaded {
    pub trees: Vec<Tree>,
    /// The trees of the entry file and of those that were named beside it come first.
    pub entries: usize,
    /// Whether every statement could be read.
    pub sound: bool,
}

/// Loads a file with everything it uses. `sources` receives every text.
pub fn load(path: &str, loader: &dyn Loader, sources: &mut Sources) -> Checked<Loaded> {
    let mut walk = Walk { loader, sources, trees: Vec::new(), diagnostics: Vec::new(), chain: Vec::new() };
    walk.visit(&normal(path), None);
    let Walk { trees, diagnostics, .. } = walk;
    let sound = diagnostics.iter().all(|found| found.severity != Severity::Error);
    Checked { value: Loaded { trees, entries: 1, sound }, diagnostics }
}

/// The longest text of a plan, in bytes: several times as much as 20,000 long lines. Records and logs may be longer.
const LARGEST: usize = 8_000_000;

struct Walk<'a> {
    loader: &'a dyn Loader,
    sources: &'a mut Sources,
    trees: Vec<Tree>,
    diagnostics: Vec<Diagnostic>,
    /// The files being read, outermost first, each with the place that asked for the next.
    chain: Vec<(String, Option<(SourceId, Span)>)>,
}

impl Walk<'_> {
    fn visit(&mut self, path: &str, asked: Option<(SourceId, Span)>) {
        if let Some(at) = self.chain.iter().position(|(p, _)| p == path) {
            self.cycle(at, asked);
            return;
        }
        if self.sources.find(path).is_some() {
            return; // used twice is read once
        }
        let text = match self.loader.read(path) {
            Ok(text) => text,
            Err(error) => return self.unreadable(path, &error, asked),
        };
        if text.len() > LARGEST {
            return self.unreadable(path, &LoadError::TooLarge { bytes: text.len() }, asked);
        }
        let id = self.sources.add(path, text);
        let parsed = syntax::parse(self.sources, id);
        self.diagnostics.extend(parsed.diagnostics);
        let tree = parsed.value;
        let uses: Vec<(String, Span)> = tree
            .statements
            .iter()
            .filter(|s| s.key() == "use")
            .filter_map(|s| match s.part("path") {
                Some(Part::Text(word)) => Some((word.text.clone(), word.span)),
                _ => None,
            })
            .collect();
        self.trees.push(tree);
        self.chain.push((path.to_owned(), asked));
        for (used, span) in uses {
            let target = join(path, &used);
            self.visit(&target, Some((id, span)));
        }
        self.chain.pop();
    }

    fn cycle(&mut self, at: usize, asked: Option<(SourceId, Span)>) {
        let Some((source, span)) = asked else { return };
        let names: Vec<&str> = self.chain.iter().skip(at).map(|(p, _)| p.as_str()).collect();
        let mut finding =
            Diagnostic::new(Code::UseCycle, format!("these files use each other in a circle: {}", names.join(" → ")))
                .at(source, span, "this closes the circle")
                .help("move what both need into a third file that uses neither");
        for (path, place) in self.chain.iter().skip(at + 1) {
            if let Some((source, span)) = place {
                finding = finding.also(*source, *span, format!("here `{path}` is asked for"));
            }
        }
        self.diagnostics.push(finding);
    }

    fn unreadable(&mut self, path: &str, error: &LoadError, asked: Option<(SourceId, Span)>) {
        let (code, message) = match error {
            LoadError::NotFound => (Code::UseNotFound, format!("there is no file `{path}`")),
            LoadError::NotText { .. } => (Code::NotText, format!("`{path}` is not a plain text file: {error}")),
            LoadError::TooLarge { bytes } => (
                Code::TooLarge,
                format!("`{path}` has {} MB; a plan has {} MB at most", bytes / 1_000_000, LARGEST / 1_000_000),
            ),
            LoadError::Other(_) => (Code::UseNotFound, format!("`{path}` cannot be read: {error}")),
        };
        let help = match code {
            Code::NotText => {
                "open it in a text editor and save it as UTF-8; what a spreadsheet or a word processor saves is not plain text"
            }
            Code::TooLarge => "give the file with the protocol; records and logs are read by other commands",
            _ => "check the path; it counts from the folder of the file that names it",
        };
        let finding = Diagnostic::new(code, message).help(help);
        self.diagnostics.push(match asked {
            Some((source, span)) => finding.at(source, span, "asked for here"),
            None => finding,
        });
    }
}

/// A path counted from the folder of the file that names it.
fn join(from: &str, used: &str) -> String {
    if used.starts_with('/') {
        return normal(used);
    }
    match from.rfind('/').and_then(|at| from.get(..at)) {
        Some(folder) => normal(&format!("{folder}/{used}")),
        None => normal(used),
    }
}

/// `a/./b/../c` is `a/c`.
fn normal(path: &str) -> String {
    let path = path.replace('\\', "/");
    let mut kept: Vec<&str> = Vec::new();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." if kept.last().is_some_and(|last| *last != "..") => {
                kept.pop();
            }
            _ => kept.push(part),
        }
    }
    let root = if path.starts_with('/') { "/" } else { "" };
    format!("{root}{}", kept.join("/"))
}
