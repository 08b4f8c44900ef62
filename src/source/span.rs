//! Places in a text: half-open ranges of bytes.

use serde::{Deserialize, Serialize};

/// Which file a place belongs to: the index of a [`Source`](super::Source) in its [`Sources`](super::Sources).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct SourceId(pub u32);

/// A half-open range of bytes, `start..end`, in one file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Span {
    /// First byte of the place.
    pub start: u32,
    /// First byte after the place.
    pub end: u32,
}

impl Span {
    /// The bytes `start..end`. An end before the start is drawn up to it, so that a span is never negative.
    pub fn new(start: usize, end: usize) -> Self {
        let start = u32::try_from(start).unwrap_or(u32::MAX);
        let end = u32::try_from(end).unwrap_or(u32::MAX);
        Self { start, end: end.max(start) }
    }

    /// The empty place just before one byte.
    pub fn at(offset: usize) -> Self {
        Self::new(offset, offset)
    }

    /// The smallest place that holds both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The range, for slicing a text.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Length in bytes.
    pub fn len(self) -> usize {
        self.range().len()
    }

    /// Whether the place holds no byte.
    pub fn is_empty(self) -> bool {
        self.start >= self.end
    }
}

/// A value and the place where it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Spanned<T> {
    /// What is written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A value and its place.
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// Another value at the same place.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: change(self.value), span: self.span }
    }

    /// The same place, with the value borrowed.
    pub fn as_ref(&self) -> Spanned<&T> {
        Spanned { value: &self.value, span: self.span }
    }
}
