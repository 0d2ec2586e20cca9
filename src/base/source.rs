//! Source files and places in them as people count: line and column from 1.
//!
//! Must not know: the language. Reads nothing from disk.

use super::ids::FileId;
use super::span::Span;

/// One file's name, as it is shown, and text.
#[derive(Clone, Debug)]
pub struct SourceFile {
    pub name: String,
    pub text: String,
    /// Byte offset of the start of each line.
    line_starts: std::sync::OnceLock<Vec<u32>>,
}

/// A place in a file. Lines and columns count from 1, columns in Unicode
/// scalar values; bytes count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Location {
    pub line: usize,
    pub column: usize,
    pub byte: u32,
}

impl SourceFile {
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        SourceFile { name: name.into(), text: text.into(), line_starts: std::sync::OnceLock::new() }
    }

    /// Byte offsets of the line starts, found on first use.
    pub fn line_starts(&self) -> &[u32] {
        self.line_starts.get_or_init(|| {
            let newlines = self.text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
            std::iter::once(0).chain(newlines.map(|(at, _)| u32::try_from(at + 1).unwrap_or(u32::MAX))).collect()
        })
    }

    /// The line of a byte offset, from 1.
    pub fn line_of(&self, byte: u32) -> usize {
        self.line_starts().partition_point(|start| *start <= byte).max(1)
    }

    /// Line and column of a byte offset; offsets past the end are clamped and
    /// offsets inside a character are moved to its start.
    pub fn location(&self, byte: u32) -> Location {
        let mut at = (byte as usize).min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let starts = self.line_starts();
        let line = starts.partition_point(|start| *start as usize <= at);
        let line_start = starts.get(line.saturating_sub(1)).copied().unwrap_or(0) as usize;
        let column = self.text.get(line_start..at).map_or(0, |text| text.chars().count()) + 1;
        Location { line: line.max(1), column, byte: u32::try_from(at).unwrap_or(u32::MAX) }
    }

    pub fn slice(&self, span: Span) -> &str {
        span.text(&self.text)
    }
}

/// All files of one run; the first is the root.
#[derive(Clone, Debug, Default)]
pub struct Files {
    files: Vec<SourceFile>,
}

impl Files {
    pub fn new() -> Self {
        Files::default()
    }

    pub fn add(&mut self, file: SourceFile) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(file);
        id
    }

    /// Puts another name and text in the place of a file's.
    pub fn replace(&mut self, id: FileId, file: SourceFile) {
        if let Some(slot) = self.files.get_mut(id.index()) {
            *slot = file;
        }
    }

    pub fn get(&self, id: FileId) -> Option<&SourceFile> {
        self.files.get(id.index())
    }

    /// The text of a file; empty for an id of another run.
    pub fn text(&self, id: FileId) -> &str {
        self.get(id).map_or("", |file| file.text.as_str())
    }

    pub fn name(&self, id: FileId) -> &str {
        self.get(id).map_or("?", |file| file.name.as_str())
    }

    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        self.files.iter().enumerate().map(|(index, file)| (FileId(u32::try_from(index).unwrap_or(u32::MAX)), file))
    }

    pub fn len(&self) -> usize {
        self.files.len()
    }

    pub fn is_empty(&self) -> bool {
        self.files.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_scalar_values_and_offsets_inside_a_character_move_to_its_start() {
        let file = SourceFile::new("a.kp", "a\nñö é\n");
        assert_eq!(file.location(0), Location { line: 1, column: 1, byte: 0 });
        assert_eq!(file.location(2), Location { line: 2, column: 1, byte: 2 });
        assert_eq!(file.location(3), Location { line: 2, column: 1, byte: 2 });
        assert_eq!(file.location(7), Location { line: 2, column: 4, byte: 7 });
        assert_eq!(file.location(999).line, 3);
    }
}
