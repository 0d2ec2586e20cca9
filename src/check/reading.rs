use crate::base::*;
use crate::diagnostic::{Diagnostic, Slug};
use crate::syntax::SyntaxError;
pub fn explain(error: &SyntaxError, file: FileId, _text: &str) -> Diagnostic {
    Diagnostic::new(Slug::UnknownToken, format!("{:?}", error)).label(Origin::new(file, error.span()), "here")
}
