//! Words for faults of supports.
//!
//! Must not know: stability.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};

use super::phrases::Source;

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

pub fn directions_clash(source: Source<'_>, at: Origin) -> Diagnostic {
    Diagnostic::new(Slug::DirectionsClash, "a roller takes `along` or `pushes`, not both")
        .label(at, format!("{} on top of `along`", source.quote(at)))
        .why(
            "`along` is the way the roller rolls, `pushes` the line of its reaction. They are square to each other, so \
             one of them settles both: `along 30°` pushes at 120°.",
        )
        .help("keep the one that the drawing gives")
}

pub fn guide_direction_missing(source: Source<'_>, at: Origin) -> Diagnostic {
    Diagnostic::new(Slug::GuideDirectionMissing, "a guide needs the direction it is free in, and nothing else")
        .label(source.keyword(at), "free in which direction?")
        .why("A guide slides along one line and holds the joint square to that line and against turning; no direction is \
             the usual one.")
        .help("write it after `along`: `guide A: along up`")
}

pub fn spring_stiffness_missing(source: Source<'_>, at: Origin) -> Diagnostic {
    Diagnostic::new(Slug::SpringStiffnessMissing, "a spring needs at least one stiffness")
        .label(source.keyword(at), "how stiff?")
        .why("A spring support holds by its stiffness: `kx` and `ky` along the axes, `kr` against turning.")
        .help("write `spring A: ky = 4 kN/mm`, with every stiffness it has")
}

pub fn clause_not_for_support(source: Source<'_>, at: Origin, keyword: &str) -> Diagnostic {
    let told = Diagnostic::new(Slug::ClauseNotForSupport, format!("`{keyword}` does not take this clause"))
        .label(source.keyword(at), "takes no direction");
    match keyword {
        "pin" => told
            .why("A pin holds its joint in every direction, so it has no direction to give.")
            .help("write `pin A` alone, or `roller A: along 30°` where the joint may roll"),
        "fixed" => told
            .why("A fixed support holds its joint in every direction and against turning, so it has no direction to give.")
            .help("write `fixed A` alone, or `guide A: along up` where the joint may slide"),
        _ => told
            .why("A spring holds along the axes, by `kx` and `ky`, and against turning, by `kr`.")
            .help("give only stiffnesses: `spring A: kx = 4 kN/mm, ky = 2 kN/mm`"),
    }
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
