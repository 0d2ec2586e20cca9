//! Words for faults of supports.
//!
//! Must not know: stability.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::format;
use crate::structure::fault::Freedom;
use crate::syntax::tree::Axis;

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

/// A settlement of which one part lies the way the support is free.
pub fn settle_part_free(at: Origin, joint: &str, support: &str, part: Axis, stated: Origin) -> Diagnostic {
    let (part, way) = match part {
        Axis::X => ("x", "sideways"),
        Axis::Y => ("y", "up and down"),
    };
    Diagnostic::new(
        Slug::SettlePartFree,
        format!("the {part} part of this settlement moves nothing: the {support} at `{joint}` is free {way}"),
    )
    .label(at, format!("its {part} part is not imposed"))
    .label(stated, format!("free {way}"))
    .why("`settle` imposes a movement on a support; where it is free, the joint goes as the members let it.")
    .help(format!("leave the {part} part out, or give `{joint}` a support that holds it that way too"))
}

/// A roller that may lift off a track with no upper side.
pub fn lift_side_unsaid(at: Origin, joint: &str, sides: [f64; 2]) -> Diagnostic {
    let [first, second] = sides.map(pushed);
    Diagnostic::new(
        Slug::LiftSideUnsaid,
        format!("the roller at `{joint}` may lift off, and its track has no upper side"),
    )
    .label(at, "within 5° of upright: it could push either way")
    .why("A roller that may lift off pushes upward where nothing else is said; off a wall it pushes to one side.")
    .help(format!("write `roller {joint}: pushes {first}, lifts off` or `roller {joint}: pushes {second}, lifts off`"))
}

/// A direction as a word, or as an angle from −180° to 180°.
fn pushed(degrees: f64) -> String {
    let degrees = if degrees > 180.0 { degrees - 360.0 } else { degrees };
    let near = |word: f64| (degrees - word).abs() < 1e-9;
    match degrees {
        _ if near(0.0) => "right".to_owned(),
        _ if near(180.0) || near(-180.0) => "left".to_owned(),
        _ => format!("{}°", format::trimmed(degrees, 9)),
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
