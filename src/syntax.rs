//! Text to tree: tokens, one parser function per production of the grammar, the tree.
//!
//! [`parse`] never fails: broken input still yields a tree, and a list of what
//! is wrong with it, as data.
//!
//! Must not know: what a name stands for, statics.

pub mod dump;
pub mod error;
pub mod limits;
mod parser;
mod rewriting;
mod scan;
pub mod token;
pub mod tree;

pub use error::SyntaxError;
pub use scan::is_hash_comment;
pub use tree::Tree;

use crate::base::{FileId, Span};

/// A text as a tree, with what is wrong with it in source order.
#[derive(Clone, Debug, Default)]
pub struct Parse {
    pub tree: Tree,
    pub errors: Vec<SyntaxError>,
}

/// Parses one file's text.
///
/// Statements that cannot be read are left out of the tree and named in
/// [`Tree::broken`]; each has one error, and reading goes on at the next.
pub fn parse(file: FileId, text: &str) -> Parse {
    if text.len() > limits::MAX_FILE_BYTES {
        let tree = Tree { file, ..Tree::default() };
        return Parse { tree, errors: vec![SyntaxError::FileTooLarge { bytes: text.len() }] };
    }
    let (tree, mut errors) = parser::file(file, text);
    errors.sort_by_key(|error| error.span().start);
    rewriting::tell_habits(text, &mut errors);
    if let Some(first_beyond) = errors.get(limits::MAX_ERRORS) {
        let at = Span::at(first_beyond.span().start);
        errors.truncate(limits::MAX_ERRORS);
        errors.push(SyntaxError::TooManyErrors { at });
    }
    Parse { tree, errors }
}
