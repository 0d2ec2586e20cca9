//! Words for faults of members, of the sections and materials they are of, and
//! of supports.
//!
//! Must not know: stiffness, equilibrium.

use crate::base::Origin;
use crate::base::tolerances::SAME;
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::format;
use crate::structure::fault::Freedom;
use crate::syntax::tree::Axis;

use super::phrases::{Here, all_of, quote};

pub fn on_itself(here: Here<'_>, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::MemberOnItself, format!("a member from joint `{joint}` to itself: {}", here.quote()))
        .label(here.at, "both ends are the same joint")
        .why("A member runs between two joints; one that ends where it begins has no length and no direction.")
        .help(format!("name another joint at one end, or leave one `{joint}` out of the chain"))
}

pub fn duplicate(here: Here<'_>, name: &str, first: Origin) -> Diagnostic {
    let rule = "Two joints have at most one member between them; forces in two on one line could not be told apart by \
                statics.";
    if here.at == first {
        return Diagnostic::new(Slug::DuplicateMember, format!("the loop states member {} again", quote(name)))
            .label(here.at, "the same member in every turn")
            .why(rule)
            .help("let its joints follow the loop's variable, as in `L[i]-L[i+1]`, or move it out of the loop");
    }
    let first_name = here.of(first).text();
    let told = Diagnostic::new(Slug::DuplicateMember, format!("member {} is stated twice", quote(name)))
        .label(here.at, "stated again here")
        .label(
            first,
            if first_name == name {
                "first stated here".to_owned()
            } else {
                format!("first stated here, as {}", quote(first_name))
            },
        )
        .why(rule);
    let told = if first_name == name {
        told
    } else {
        told.why("The order of the joints does not matter: `A-B` and `B-A` are one member.")
    };
    told.help("leave one of the two out; where both are built, give one section with the area of both")
}

pub fn hinged_elsewhere(here: Here<'_>, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::HingedElsewhere, format!("no beam of this statement ends at joint `{joint}`"))
        .label(here.at, format!("`{joint}` is not in the chain"))
        .why("`hinged at` frees the ends of the beams that the same statement names, so its joint is one of their chain.")
        .help("name a joint of the chain")
        .help(format!("to free every beam end at `{joint}`, write `hinge {joint}` on a line of its own"))
}

pub fn no_such_member(here: Here<'_>, (a, b): (&str, &str), way: &[String], met: &[Vec<String>; 2]) -> Diagnostic {
    let written = here.text();
    let name = format!("{a}-{b}");
    let label = if written.contains('[') {
        format!("{} is `{name}` here", quote(written))
    } else {
        format!("no bar, cable or beam joins `{a}` and `{b}`")
    };
    let told = Diagnostic::new(Slug::NoSuchMember, format!("there is no member `{name}`"))
        .label(here.at, label)
        .why("A chain follows members from joint to joint, and each of its steps is a member.");
    if !way.is_empty() {
        // Either end may be a slip, so this is no more than what is likely meant.
        return told.help(format!("write {}, the chain from `{a}` to `{b}`", quote(&way.join("-"))));
    }
    let at = |(joint, met): (&str, &Vec<String>)| match met.as_slice() {
        [] => None,
        [only] => Some(format!("the member at `{joint}` is `{only}`")),
        several => Some(format!("the members at `{joint}` are {}", all_of(several.iter().map(String::as_str)))),
    };
    let met: Vec<String> = [a, b].into_iter().zip(met).filter_map(at).collect();
    if met.is_empty() {
        told.help(format!("name every joint on the way from `{a}` to `{b}`"))
    } else {
        told.help(met.join("; "))
    }
}

/// What a property is called here that the trade also knows by another word.
fn property_called(name: &str) -> Option<&'static str> {
    Some(match name.to_lowercase().as_str() {
        "alpha" | "cte" => "expansion",
        "density" | "rho" | "gamma" => "weight",
        "modulus" | "young" | "emod" => "E",
        "area" => "A",
        "inertia" | "ix" | "iy" | "iz" => "I",
        _ => return None,
    })
}

pub fn unknown_property(here: Here<'_>, name: &str, of: &str, known: &[&str], similar: Option<&str>) -> Diagnostic {
    if let Some(told) = property_of_the_other(here, name, of) {
        return told;
    }
    if name == "k" && known.contains(&"kx") {
        return Diagnostic::new(Slug::UnknownProperty, format!("{of} has no property `k`"))
            .label(here.at, "stiff in which direction?")
            .why("A spring holds sideways, up and down, or against turning, each with a stiffness of its own.")
            .help("write `kx` (sideways), `ky` (up and down) or `kr` (against turning)");
    }
    /// What the trade calls them.
    const ALSO: [(&str, &str); 9] = [
        ("area", "A"),
        ("inertia", "I"),
        ("Iy", "I"),
        ("modulus", "E"),
        ("youngs", "E"),
        ("alpha", "expansion"),
        ("α", "expansion"),
        ("gamma", "weight"),
        ("γ", "weight"),
    ];
    let also = ALSO.iter().find(|(word, own)| word.eq_ignore_ascii_case(name) && known.contains(own));
    let similar = also.map(|(_, own)| *own).or(similar);
    let told = Diagnostic::new(Slug::UnknownProperty, format!("{of} has no property {}", quote(name)));
    if let Some(own) = property_called(name).filter(|own| known.contains(own)) {
        let told = told.label(here.at, format!("called `{own}` here"));
        return match name {
            "density" | "rho" => told
                .why("A density is a mass per volume; what loads a member is its weight.")
                .help("write `weight`, a force per volume: 1000 kg/m^3 weigh 9.81 kN/m^3"),
            _ => told.help(format!("write `{own}`")).edit(here.at, own.to_owned()),
        };
    }
    let list = all_of(known.iter().copied());
    let told = match similar {
        Some(similar) => told.label(here.at, format!("did you mean `{similar}`?")),
        None => told.label(here.at, format!("not a property of {of}")),
    };
    let told = told.why(format!("The properties of {of} are {list}."));
    match similar {
        Some(similar) if similar.eq_ignore_ascii_case(name) => {
            told.help(format!("write `{similar}`")).edit(here.at, similar.to_owned())
        }
        Some(similar) => told.help(format!("write `{similar}`")),
        None if name == "density" && known.contains(&"weight") => {
            told.help("give the weight per volume: `weight = 77 kN/m^3` for steel of 7850 kg/m³")
        }
        None => told.help("leave it out, or keep it in a `//` comment"),
    }
}

/// A material's property in a section, or a section's in a material.
fn property_of_the_other(here: Here<'_>, name: &str, of: &str) -> Option<Diagnostic> {
    let (other, rule) = match (of, name) {
        ("a section", "E" | "weight" | "expansion") => {
            ("a material", "A section takes `E`, `weight` and `expansion` from the material it names first.")
        }
        ("a material", "A" | "I" | "EA" | "EI") => {
            ("a section", "A material says what a member is made of, a section how large it is.")
        }
        _ => return None,
    };
    let subject = here.before().split(':').next().unwrap_or("").split_whitespace().nth(1).unwrap_or("chord");
    let given = here.rest_of_line().split([',', '/']).next().unwrap_or("").trim();
    let given = format!("{name} {given}");
    let (own, follows) = if other == "a material" {
        (format!("material steel: {given}"), format!("section {subject}: steel, …"))
    } else {
        (format!("section chord: {subject}, {given}"), "bar A-B: chord".to_owned())
    };
    let thing = other.trim_start_matches("a ");
    Some(
        Diagnostic::new(Slug::UnknownProperty, format!("`{name}` is a property of {other}, not of {of}"))
            .label(here.at, format!("belongs in a `{thing}`"))
            .why(rule)
            .help(format!("write {}, then {}", quote(&own), quote(&follows))),
    )
}

pub fn duplicate_property(here: Here<'_>, name: &str, first: Origin) -> Diagnostic {
    Diagnostic::new(Slug::DuplicateProperty, format!("{} is given twice", quote(name)))
        .label(here.at, "given again here")
        .label(first, "first given here")
        .why("Each property has one value; which of two was meant cannot be known.")
        .help("leave one of the two out")
}

pub fn not_positive(here: Here<'_>, name: &str) -> Diagnostic {
    Diagnostic::new(Slug::NotPositive, format!("{} must be more than 0, not {}", quote(name), here.quote()))
        .label(here.at, "0 or less")
        .why("Areas, stiffnesses, weights and expansions are positive; a member or spring without them would not act.")
        .help(format!("give {} its size, or leave it out where it is not known", quote(name)))
}

pub fn not_rigid(here: Here<'_>, name: &str) -> Diagnostic {
    Diagnostic::new(Slug::NotRigid, format!("{} cannot be rigid", quote(name)))
        .label(here.at, "needs a value")
        .why(
            "`rigid` is for the stiffnesses `EA` and `EI` of a section: the member does not stretch, or does not bend.",
        )
        .help(match name {
            "A" | "E" => "write `EA = rigid` in the section",
            "I" => "write `EI = rigid` in the section",
            "kx" | "ky" | "kr" => "a spring that does not give is a support: `pin`, `roller`, `guide` or `fixed`",
            _ => "give it a value with its unit",
        })
}

pub fn duplicate_support(here: Here<'_>, joint: &str, first: Origin) -> Diagnostic {
    let rule = "A joint has one support, which says all that it is held by: a roller one force, a pin two, a guide one \
                force and a couple, a fixed support two forces and a couple.";
    if here.at == first {
        return Diagnostic::new(Slug::DuplicateSupport, format!("the loop supports joint `{joint}` again"))
            .label(here.at, "the same joint in every turn")
            .why(rule)
            .help("move the support out of the loop");
    }
    Diagnostic::new(Slug::DuplicateSupport, format!("joint `{joint}` has two supports"))
        .label(here.at, "the second support")
        .label(first, "the first support")
        .why(rule)
        .help("keep the one that holds what both were to hold: a pin for two rollers, `fixed` for a pin and a couple")
}

/// A settlement in a direction in which the support is free.
pub fn settle_not_held(here: Here<'_>, joint: &str, support: &str, freedom: Freedom, stated: Origin) -> Diagnostic {
    let told = match freedom {
        Freedom::Turn => Diagnostic::new(
            Slug::SettleWithoutSupport,
            format!("the {support} at `{joint}` does not hold against turning, so it cannot turn by a given angle"),
        )
        .label(here.at, "turns nothing")
        .help(format!("write `fixed {joint}` if it holds against turning, or give a displacement: `5 mm down`")),
        Freedom::Move => Diagnostic::new(
            Slug::SettleWithoutSupport,
            format!("the {support} at `{joint}` is free to move this way, so it cannot be moved by a given amount"),
        )
        .label(here.at, "moves nothing")
        .help("give the part in the direction that the support holds, or a support that holds this one"),
    };
    told.label(stated, "free in this").why(
        "`settle` imposes a movement on a support; where the support is free, the members move as they will, and \
         nothing is imposed.",
    )
}

/// A settlement of which one part lies the way the support is free.
pub fn settle_part_free(here: Here<'_>, joint: &str, support: &str, part: Axis, stated: Origin) -> Diagnostic {
    let (part, way) = match part {
        Axis::X => ("x", "sideways"),
        Axis::Y => ("y", "up and down"),
    };
    Diagnostic::new(
        Slug::SettlePartFree,
        format!("the {part} part of this settlement moves nothing: the {support} at `{joint}` is free {way}"),
    )
    .label(here.at, format!("its {part} part is not imposed"))
    .label(stated, format!("free {way}"))
    .why("`settle` imposes a displacement on a support; in a direction that is free, the members decide where the joint goes.")
    .help(format!("leave the {part} part out, or give `{joint}` a support that holds it that way too"))
}

/// A roller that may lift off a track with no upper side.
pub fn lift_side_unsaid(here: Here<'_>, joint: &str, sides: [f64; 2]) -> Diagnostic {
    let [first, second] = sides.map(pushed);
    Diagnostic::new(
        Slug::LiftSideUnsaid,
        format!("the roller at `{joint}` may lift off, and its track has no upper side"),
    )
    .label(here.at, "within 5° of upright: it could push either way")
    .why("A roller that may lift off pushes upward where nothing else is said; off a wall it pushes to one side.")
    .help(format!("write `roller {joint}: pushes {first}, lifts off` or `roller {joint}: pushes {second}, lifts off`"))
}

/// A direction as a word, or as an angle from −180° to 180°.
fn pushed(degrees: f64) -> String {
    let degrees = if degrees > 180.0 { degrees - 360.0 } else { degrees };
    let near = |word: f64| (degrees - word).abs() < SAME;
    match degrees {
        _ if near(0.0) => "right".to_owned(),
        _ if near(180.0) || near(-180.0) => "left".to_owned(),
        _ => format!("{}°", format::trimmed(degrees, 9)),
    }
}

pub fn settle_without_support(here: Here<'_>, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::SettleWithoutSupport, format!("joint `{joint}` has no support that could settle"))
        .label(here.at, "not supported")
        .why(
            "`settle` moves a support by a known amount. A joint without one goes where the members let it, which is a \
             result and not given.",
        )
        .help(format!("name a supported joint, or support this one: `pin {joint}` or `roller {joint}`"))
}
