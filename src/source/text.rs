//! The texts of one run, and the line and column of a place.

use serde::{Deserialize, Serialize};

use super::{SourceId, Span};

/// One file: the path as it is shown to people, and its text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Source {
    /// The path as shown in messages, on worksheets and in reports.
    pub name: String,
    /// The whole text, in UTF-8, without byte-order mark.
    pub text: String,
    /// Offset of the first byte of each line.
    lines: Vec<u32>,
}

impl Source {
    /// A text with the index of its lines.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        let starts = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let lines = std::iter::once(0).chain(starts.map(|(at, _)| u32::try_from(at + 1).unwrap_or(u32::MAX))).collect();
        Self { name: name.into(), text, lines }
    }

    /// Line and column of a byte, both counted from 1; the column counts characters. An offset past the end is
    /// the end; one inside a character is the start of that character.
    pub fn line_column(&self, offset: u32) -> (usize, usize) {
        let offset = (offset as usize).min(self.text.len());
        let line = self.lines.partition_point(|start| *start as usize <= offset).max(1);
        let start = self.lines.get(line - 1).map_or(0, |start| *start as usize);
        let before = self.text.get(start..).unwrap_or("").char_indices();
        let column = before.take_while(|(at, character)| start + at + character.len_utf8() <= offset).count();
        (line, column + 1)
    }

    /// The text of a line counted from 1, without its line end; empty when there is no such line.
    pub fn line(&self, line: usize) -> &str {
        let Some(start) = line.checked_sub(1).and_then(|index| self.lines.get(index)) else {
            return "";
        };
        let end = self.lines.get(line).map_or(self.text.len(), |next| *next as usize);
        self.text.get(*start as usize..end).unwrap_or("").trim_end_matches(['\n', '\r'])
    }

    /// How many lines the text has; an empty text has one.
    pub fn line_count(&self) -> usize {
        self.lines.len()
    }

    /// The text at a place; empty when the place is outside the text.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or("")
    }
}

/// All files of one run, in the order in which they were met.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sources(Vec<Source>);

impl Sources {
    /// No file yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a text and gives it its number.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<String>) -> SourceId {
        let id = SourceId(u32::try_from(self.0.len()).unwrap_or(u32::MAX));
        self.0.push(Source::new(name, text));
        id
    }

    /// The file with this number.
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        self.0.get(id.0 as usize)
    }

    /// The number of the file shown under this name.
    pub fn find(&self, name: &str) -> Option<SourceId> {
        self.iter().find(|(_, source)| source.name == name).map(|(id, _)| id)
    }

    /// All files with their numbers.
    pub fn iter(&self) -> impl Iterator<Item = (SourceId, &Source)> {
        (0..).map(SourceId).zip(self.0.iter())
    }

    /// How many files there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is no file.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
