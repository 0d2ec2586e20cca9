//! A figure: a drawing with the words that stand under it and those read out
//! to whoever cannot see it.
//!
//! Must not know: files and terminals.

/// A drawing and what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Under the drawing.
    pub caption: String,
    /// For whoever cannot see it: what the drawing shows, in a sentence or two.
    pub description: String,
    /// A whole SVG element, without fonts or links from outside.
    pub svg: String,
}
