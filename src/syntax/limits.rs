//! What one file may ask of the reader, so that no text can exhaust memory or
//! the stack. Each limit is far beyond what a drawing holds.

/// Bytes in one file.
pub const MAX_FILE_BYTES: usize = 64 << 20;

/// How deep an expression may nest; `1 + 1 + 1` is two deep, for sums lean left.
pub const MAX_EXPRESSION_DEPTH: u16 = 256;

/// How deep brackets may nest: the parser descends once for each.
pub const MAX_BRACKETS: usize = 32;

/// How deep `case` and `for` blocks may nest.
pub const MAX_BLOCKS: usize = 32;

/// Errors kept for one file.
pub const MAX_ERRORS: usize = 1000;
