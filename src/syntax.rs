//! Text to tree: tokens, one parser function per production of the grammar, the tree.
//!
//! Must not know: what a name stands for, statics.

pub mod tree;

#[derive(Debug, Clone)]
pub struct SyntaxError;
impl SyntaxError { pub fn span(&self) -> crate::base::Span { crate::base::Span::default() } }
pub struct Parse { pub tree: tree::Tree, pub errors: Vec<SyntaxError> }
pub fn parse(_file: crate::base::FileId, _text: &str) -> Parse { Parse { tree: tree::Tree::default(), errors: vec![] } }
