//! Words for faults of members, and of the sections and materials they are of.
//!
//! Must not know: stiffness, equilibrium.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};

use super::phrases::{Source, all_of, quote};

pub fn on_itself(source: Source<'_>, at: Origin, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::MemberOnItself, format!("a member from joint `{joint}` to itself: {}", source.quote(at)))
        .label(at, "both ends are the same joint")
        .why("A member runs between two joints; one that ends where it begins has no length and no direction.")
        .help(format!("name another joint at one end, or leave one `{joint}` out of the chain"))
}

pub fn duplicate(source: Source<'_>, at: Origin, name: &str, first: Origin) -> Diagnostic {
    let rule = "Two joints have at most one member between them; forces in two on one line could not be told apart by \
                statics.";
    if at == first {
        return Diagnostic::new(Slug::DuplicateMember, format!("the loop states member {} again", quote(name)))
            .label(at, "the same member in every turn")
            .why(rule)
            .help("let its joints follow the loop's variable, as in `L[i]-L[i+1]`, or move it out of the loop");
    }
    let first_name = source.text(first);
    let told = Diagnostic::new(Slug::DuplicateMember, format!("member {} is stated twice", quote(name)))
        .label(at, "stated again here")
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

pub fn hinged_elsewhere(at: Origin, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::HingedElsewhere, format!("no beam of this statement ends at joint `{joint}`"))
        .label(at, format!("`{joint}` is not in the chain"))
        .why("`hinged at` frees the ends of the beams that the same statement names, so its joint is one of their chain.")
        .help("name a joint of the chain")
        .help(format!("to free every beam end at `{joint}`, write `hinge {joint}` on a line of its own"))
}

pub fn no_such_member(source: Source<'_>, at: Origin, (a, b): (&str, &str), way: &[String]) -> Diagnostic {
    let written = source.text(at);
    let name = format!("{a}-{b}");
    let label = if written.contains('[') {
        format!("{} stands for `{name}` here", quote(written))
    } else {
        format!("no bar, cable or beam joins `{a}` and `{b}`")
    };
    let told = Diagnostic::new(Slug::NoSuchMember, format!("there is no member `{name}`"))
        .label(at, label)
        .why("A chain follows members from joint to joint, and each of its steps is a member of the structure.");
    if way.is_empty() {
        return told
            .help(format!("name every joint on the way from `{a}` to `{b}`, or state the member: `bar {name}`"));
    }
    let chain = way.join("-");
    // Either end may be a slip, so this is no more than what is likely meant.
    told.why(format!("Between `{a}` and `{b}` lie other joints, and the members from each to the next."))
        .help(format!("write {}", quote(&chain)))
}

pub fn unknown_property(
    source: Source<'_>,
    at: Origin,
    name: &str,
    of: &str,
    known: &[&str],
    similar: Option<&str>,
) -> Diagnostic {
    if let Some(told) = property_of_the_other(source, at, name, of) {
        return told;
    }
    if name == "k" && known.contains(&"kx") {
        return Diagnostic::new(Slug::UnknownProperty, format!("{of} has no property `k`"))
            .label(at, "stiff in which direction?")
            .why("A spring holds sideways, up and down, or against turning, each with a stiffness of its own.")
            .help("write `kx` (sideways), `ky` (up and down) or `kr` (against turning)");
    }
    let told = Diagnostic::new(Slug::UnknownProperty, format!("{of} has no property {}", quote(name)));
    let list = all_of(known.iter().copied());
    let told = match similar {
        Some(similar) => told.label(at, format!("did you mean `{similar}`?")),
        None => told.label(at, format!("not a property of {of}")),
    };
    let told = told.why(format!("The properties of {of} are {list}."));
    match similar {
        Some(similar) if similar.eq_ignore_ascii_case(name) => {
            told.help(format!("write `{similar}`")).edit(at, similar.to_owned())
        }
        Some(similar) => told.help(format!("write `{similar}`")),
        None => told.help("leave it out, or keep it in a `//` comment"),
    }
}

/// A material's property in a section, or a section's in a material.
fn property_of_the_other(source: Source<'_>, at: Origin, name: &str, of: &str) -> Option<Diagnostic> {
    let (other, rule) = match (of, name) {
        ("a section", "E" | "weight" | "expansion") => {
            ("a material", "A section takes `E`, `weight` and `expansion` from the material it names first.")
        }
        ("a material", "A" | "I" | "EA" | "EI") => {
            ("a section", "A material says what a member is made of, a section how large it is.")
        }
        _ => return None,
    };
    let subject = source.before(at).split(':').next().unwrap_or("").split_whitespace().nth(1).unwrap_or("chord");
    let given = source.rest_of_line(at).split([',', '/']).next().unwrap_or("").trim();
    let given = format!("{name} {given}");
    let (own, follows) = if other == "a material" {
        (format!("material steel: {given}"), format!("section {subject}: steel, …"))
    } else {
        (format!("section chord: {subject}, {given}"), "bar A-B: chord".to_owned())
    };
    let thing = other.trim_start_matches("a ");
    Some(
        Diagnostic::new(Slug::UnknownProperty, format!("`{name}` is a property of {other}, not of {of}"))
            .label(at, format!("belongs in a `{thing}`"))
            .why(rule)
            .help(format!("write {}, then {}", quote(&own), quote(&follows))),
    )
}

pub fn duplicate_property(at: Origin, name: &str, first: Origin) -> Diagnostic {
    Diagnostic::new(Slug::DuplicateProperty, format!("{} is given twice", quote(name)))
        .label(at, "given again here")
        .label(first, "first given here")
        .why("Each property has one value; which of two was meant cannot be known.")
        .help("leave one of the two out")
}

pub fn not_positive(source: Source<'_>, at: Origin, name: &str) -> Diagnostic {
    Diagnostic::new(Slug::NotPositive, format!("{} must be more than 0, not {}", quote(name), source.quote(at)))
        .label(at, "0 or less")
        .why("Areas, stiffnesses, weights and expansions are positive; a member or spring without them would not act.")
        .help(format!("give {} its size, or leave it out where it is not known", quote(name)))
}

pub fn not_rigid(at: Origin, name: &str) -> Diagnostic {
    Diagnostic::new(Slug::NotRigid, format!("{} cannot be rigid", quote(name)))
        .label(at, "needs a value")
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
