//! Words for claims that cannot be tested as they stand.
//!
//! Must not know: whether a claim is true.

use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::format;

use super::names::not_whole;
use super::phrases::{Here, alternatives};
use crate::check::words;
use crate::syntax::tree::Relation;

pub fn without_support(here: Here<'_>, joint: &str) -> Diagnostic {
    Diagnostic::new(Slug::ClaimWithoutSupport, format!("joint `{joint}` has no support, so it has no reaction"))
        .label(here.at, "not supported")
        .why("A reaction is the force a support gives; a joint without one is held by its members alone.")
        .help("name a supported joint, or claim the force in a member: `expect force A-B: …`")
}

pub fn place(here: Here<'_>, what: &str, wanted: &str) -> Diagnostic {
    if let Some(chain) = here.as_members() {
        return Diagnostic::new(Slug::ClaimPlace, format!("`{}` is one name, and no joint has it", here.text()))
            .label(here.at, format!("did you mean `{chain}`?"))
            .why("A name may have several letters; `-` tells where one joint ends and the next begins.")
            .help(format!("write `{chain}`"));
    }
    let given = if here.text().contains('-') { "a member" } else { "a joint" };
    Diagnostic::new(Slug::ClaimPlace, format!("`expect {what}` is about {wanted}, not about {given}"))
        .label(here.at, format!("{given} has no {what} to claim"))
        .why(match what {
            "force" => "The axial force is that of a member; a joint only passes forces on.",
            "shear" | "moment" => "Shear and bending moment vary along a beam; a joint has neither of its own.",
            "reaction" => "A reaction acts where a support is, at a joint.",
            _ => "A rotation is claimed at a joint, where the ends that meet there turn together.",
        })
        .help(match here.rest_of_line().split("//").next() {
            Some(rest) if what == "moment" && rest.split_whitespace().any(|word| matches!(word, "cw" | "ccw")) => {
                format!("the couple a support gives is `expect reaction {}{rest}`", here.text())
            }
            _ => format!("name {wanted}"),
        })
}

pub fn side(here: Here<'_>, sense: &str, member: &str, is_level: bool) -> Diagnostic {
    let (is, sides, words) = if is_level {
        ("level", "one side above and one below", "`tension above` or `tension below`, `hogging` or `sagging`")
    } else {
        ("upright", "one side on the left and one on the right", "`tension left` or `tension right`")
    };
    Diagnostic::new(Slug::ClaimSense, format!("`{sense}` is no side of {member}, which is {is}"))
        .label(here.at, format!("{member} is {is}"))
        .why(format!("A bending moment is told by the side it puts in tension; {member} has {sides}."))
        .help(format!("say {words}"))
}

pub fn sense(here: Here<'_>, sense: &str, what: &str, allowed: &str) -> Diagnostic {
    Diagnostic::new(Slug::ClaimSense, format!("`{sense}` is not the sense of a {what}"))
        .label(here.at, format!("a {what} takes {allowed}"))
        .why(match what {
            "force" => "An axial force pulls or pushes along its member: tension or compression.",
            "reaction" => "A reaction is a force, which has a direction, or a couple, which turns.",
            "rotation" => "A rotation turns one way or the other.",
            "moment" => "A bending moment is told by the side it puts in tension: `sagging` below, `hogging` above.",
            "shear" => "The sign of a shear follows the results page; no word of the trade names it without a drawing.",
            _ => "A deflection goes somewhere: `up`, `down`, `left`, `right` or along a direction.",
        })
        .help(if what == "shear" {
            "leave the word out and claim the size with its sign".to_owned()
        } else {
            format!("write {allowed}")
        })
}

pub fn senses_differ(here: Here<'_>, sense: &str, place: &str) -> Diagnostic {
    Diagnostic::new(Slug::ClaimSense, format!("`{sense}` is not along `{place}`"))
        .label(here.at, format!("another sense than `{place}`"))
        .why("A sense may stand after the place or after the value; if both name one, they have to agree.")
        .help("leave one of the two out, or write the same sense twice")
}

pub fn limit_negative(here: Here<'_>, relation: Relation, opposite: Option<&str>) -> Diagnostic {
    let text = here.text();
    let size = text.strip_prefix('-').unwrap_or(text).trim_start();
    let (sign, turned) = if relation == Relation::AtMost { ("<=", ">=") } else { (">=", "<=") };
    let told = Diagnostic::new(Slug::NegativeLimit, "a limit is on the magnitude, which is never negative")
        .label(here.at, "negative")
        .why("`<=` and `>=` compare magnitudes, or what acts in the sense that a word names.");
    // A direction after the size is the one to be replaced.
    let size = [" up", " down", " left", " right"].iter().find_map(|word| size.strip_suffix(word)).unwrap_or(size);
    match opposite {
        Some(word) if text.starts_with('-') => told
            .help(format!("write `{word} {turned} {size}` for what acts the other way"))
            .help(format!("or leave the minus out: `{sign} {size}`")),
        Some(word) => told.help(format!("write `{word} {turned} …` with a positive limit for what acts the other way")),
        None => told.help("leave the minus out: the limit is on the magnitude, whichever way it acts"),
    }
}

pub fn compares_vector(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::ClaimComparesVector, format!("a limit cannot be a vector: {}", here.quote()))
        .label(here.at, "two components")
        .why("`<=` and `>=` compare magnitudes, one number with another.")
        .help("claim one component, `expect reaction A.y <= 3 kN` or `expect reaction A up <= 3 kN`")
        .help("or claim the vector itself, with `:` and `within`")
}

pub fn case_unsaid(here: Here<'_>, names: &[String], total: usize) -> Diagnostic {
    let quoted = names.iter().map(|name| format!("`{name}`"));
    let shown = words::listed(total, quoted);
    let unders: Vec<String> = names.iter().take(3).map(|name| format!("under {name}")).collect();
    let unders = unders.iter().map(String::as_str).chain(["under all"]);
    Diagnostic::new(Slug::ClaimCaseUnsaid, "the claim does not say under which case it holds")
        .label(here.at, "under which case?")
        .why(format!("The values differ between {shown}."))
        .help(format!("add {}", alternatives(unders)))
}

pub fn case_twice(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::ClaimCaseTwice, "a claim inside a case names a case again")
        .label(here.at, format!("{} inside a `case` block", here.quote()))
        .why("A claim inside `case { }` is about that case.")
        .help("leave `under …` out, or move the claim out of the block")
}

pub fn degree_not_whole(here: Here<'_>, value: f64) -> Diagnostic {
    let (message, label) = not_whole(&here.quote(), "a degree of redundancy", Some(value));
    let whole = format::trimmed(value.ceil(), 9);
    Diagnostic::new(Slug::DegreeNotWhole, message)
        .label(here.at, label)
        .why("The degree counts the members and reactions that are more than statics can resolve.")
        .help(format!("write a whole number, `expect indeterminate {whole}`, or none where any degree will do"))
}
