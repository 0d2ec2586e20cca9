//! Words for faults of supports.
//!
//! Must not know: stability.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};

pub fn duplicate(at: Origin, joint: &str, first: Origin) -> Diagnostic {
    let rule = "A joint has one support, which says all that it is held by: a roller one force, a pin two, a guide one \
                force and a couple, a fixed support two forces and a couple.";
    if at == first {
        return Diagnostic::new(Slug::DuplicateSupport, format!("the loop supports joint `{joint}` again"))
            .label(at, "the same joint in every turn")
            .why(rule)
            .help("move the support out of the loop");
    }
    Diagnostic::new(Slug::DuplicateSupport, format!("joint `{joint}` has two supports"))
        .label(at, "the second support")
        .label(first, "the first support")
        .why(rule)
        .help("keep the one that holds what both were to hold: a pin for two rollers, `fixed` for a pin and a couple")
}

pub fn settle_without_support(at: Origin, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::SettleWithoutSupport, format!("joint `{joint}` has no support that could settle"))
        .label(at, "not supported")
        .why(
            "`settle` moves a support by a known amount. A joint without one goes where the members let it, which is a \
             result and not given.",
        )
        .help(format!("name a supported joint, or support this one: `pin {joint}` or `roller {joint}`"))
}
