use crate::base::Files;
use crate::diagnostic::{Diagnostic, Slug};
use crate::structure::Fault;
pub fn diagnose(fault: &Fault, _files: &Files) -> Diagnostic {
    let d = Diagnostic::new(Slug::UnknownToken, format!("{:?}", fault));
    match fault.kind.place() {
        Some(p) => d.label(p, "here"),
        None => d,
    }
}
