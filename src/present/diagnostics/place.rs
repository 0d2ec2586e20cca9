//! Where a span lies, as every format for programs says it.
//!
//! Must not know: any one format.

use crate::base::{FileId, Files, Location, Origin, Span};

/// Both ends of a span, in order, moved into the file where they lie outside.
pub fn ends(at: Origin, files: &Files) -> [Location; 2] {
    let Origin { file, span } = at;
    let place = |byte: u32| {
        let outside = Location { line: 1, column: 1, byte: 0 };
        files.get(file).map_or(outside, |file| file.location(byte))
    };
    [span.start.min(span.end), span.start.max(span.end)].map(place)
}

/// The text of the line that a place is on, without its end.
pub fn line_at(at: Origin, files: &Files) -> &str {
    let text = files.text(at.file);
    let [start, _] = ends(Origin::new(at.file, Span::at(at.span.start)), files);
    let before = text.get(..start.byte as usize).unwrap_or("");
    let first = before.rfind('\n').map_or(0, |end| end + 1);
    text.get(first..).and_then(|rest| rest.lines().next()).unwrap_or("")
}

/// The file a diagnostic is about: that of its first label, else the root.
pub fn file_of(place: Option<Origin>) -> FileId {
    place.map_or(FileId::default(), |place| place.file)
}
