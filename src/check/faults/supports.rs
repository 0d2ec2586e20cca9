//! Words for faults of supports.
//!
//! Must not know: stability.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};
use crate::structure::fault::Freedom;

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

/// A settlement in a direction in which the support is free.
pub fn settle_not_held(at: Origin, joint: &str, support: &str, freedom: Freedom, stated: Origin) -> Diagnostic {
    let told = match freedom {
        Freedom::Turn => Diagnostic::new(
            Slug::SettleWithoutSupport,
            format!("the {support} at `{joint}` does not hold against turning, so it cannot turn by a given angle"),
        )
        .label(at, "turns nothing")
        .help(format!("write `fixed {joint}` if it holds against turning, or give a displacement: `5 mm down`")),
        Freedom::Move => Diagnostic::new(
            Slug::SettleWithoutSupport,
            format!("the {support} at `{joint}` is free to move this way, so it cannot be moved by a given amount"),
        )
        .label(at, "moves nothing")
        .help("give the part in the direction that the support holds, or a support that holds this one"),
    };
    told.label(stated, "free in this").why(
        "`settle` imposes a movement on a support; where the support is free, the members move as they will, and \
         nothing is imposed.",
    )
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
