//! Half-open byte ranges in one source file.
//!
//! Must not know: what the bytes mean.

use super::ids::FileId;

/// A half-open range of bytes `start..end` in one source file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    pub start: u32,
    pub end: u32,
}

impl Span {
    pub const fn new(start: u32, end: u32) -> Self {
        Span { start, end }
    }

    /// The empty span at one place.
    pub const fn at(place: u32) -> Self {
        Span { start: place, end: place }
    }

    /// The smallest span that holds both.
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    pub const fn len(self) -> u32 {
        self.end.saturating_sub(self.start)
    }

    pub const fn is_empty(self) -> bool {
        self.end <= self.start
    }

    pub const fn contains(self, place: u32) -> bool {
        self.start <= place && place < self.end
    }

    /// The text under this span; empty where the span does not fit the text.
    pub fn text(self, source: &str) -> &str {
        source.get(self.start as usize..self.end as usize).unwrap_or("")
    }
}

/// Where something in the structure was written: a span in a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Origin {
    pub file: FileId,
    pub span: Span,
}

impl Origin {
    pub const fn new(file: FileId, span: Span) -> Self {
        Origin { file, span }
    }
}
