//! Text to tree: tokens, one parser function per production of the grammar, the tree.
//!
//! Must not know: what a name stands for, statics.

pub mod tree;
