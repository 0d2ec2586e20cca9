//! Words for faults of names: unknown, of another kind, declared twice,
//! circular, badly indexed.
//!
//! Must not know: how names are looked up.

use crate::base::{Origin, letters_alike};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::{format, is_same_unit, is_unit_word, similar_unit};
use crate::structure::fault::{Named, Near, Wanted};

use crate::check::words;

use super::phrases::{Here, all_of, alternatives, quote};

/// A cycle longer than this is told by its first names.
const MOST_IN_CYCLE: usize = 6;

pub fn unknown(here: Here<'_>, name: &str, wanted: Wanted, near: &Near) -> Diagnostic {
    let (headline, rule, cure) = match wanted {
        Wanted::Joint => (
            format!("there is no joint `{name}`"),
            "Every joint has a `joint` statement: anywhere in the file, or in a file it uses.",
            format!("declare it: `joint {name}: (x, y)`"),
        ),
        Wanted::Value => (
            format!("nothing is named `{name}`"),
            "A name in an expression is a let, a joint (its position) or the variable of a loop around it.",
            if here.before().ends_with(" at") && matches!(name, "middle" | "midspan" | "mid" | "centre" | "center") {
                "the middle of a member is `at 50%`".to_owned()
            } else {
                format!("give it a value: `let {name} = …`")
            },
        ),
        Wanted::Case => (
            format!("there is no case, combination or travelling load `{name}`"),
            "A case is opened by `case NAME { … }`, a combination by `combination NAME: …`, a travelling load by `travel \
             NAME: …`; loads outside any case are the case `loads`.",
            format!("open it: `case {name} {{ … }}`"),
        ),
        Wanted::Section => (
            format!("there is no section `{name}`"),
            "The word after a member's colon is a section, stated by a `section` statement.",
            format!("state it: `section {name}: A = 300 cm^2`"),
        ),
        Wanted::Material => (
            format!("there is no material `{name}`"),
            "The first word of a section is its material, stated by a `material` statement.",
            format!("state it: `material {name}: E = 210 GPa`"),
        ),
    };
    let written = here.text();
    let near = match near {
        Near::Alike(near) => near.as_slice(),
        Near::All(joints) if joints.is_empty() => &[],
        Near::All(joints) => {
            return Diagnostic::new(Slug::UnknownName, headline)
                .label(here.at, "not declared")
                .help(match joints.as_slice() {
                    [only] => format!("the only joint is `{only}`"),
                    several => format!("the joints are {}", all_of(several.iter().map(String::as_str))),
                })
                .help(format!("or {cure}"));
        }
        Near::PastLastTurn(turn) => return past_last_turn(here, name, turn),
    };
    let label = match near {
        [only] => format!("did you mean `{only}`?"),
        _ if written.contains('[') => format!("{} is `{name}` here", quote(written)),
        _ => "not declared".to_owned(),
    };
    let mut told = Diagnostic::new(Slug::UnknownName, headline).label(here.at, label).why(rule);
    if wanted == Wanted::Value && here.before().ends_with(['*', '/']) {
        if let Some(unit) = similar_unit(name).filter(|unit| near.is_empty() && is_same_unit(name, unit)) {
            return told
                .why("A unit stands straight after its number, with all that it is divided by.")
                .help(format!("write `{unit}`"))
                .edit(here.at, unit);
        }
        told = told_of_unit(told, name);
    }
    match near {
        [] => {}
        [only] => {
            if letters_alike(name, only) {
                told = told.why(foreign_letters(name, only));
            } else if name.to_lowercase() == only.to_lowercase() {
                told = told.why("Names tell capitals from small letters.");
            }
            told = told.help(format!("write `{only}`"));
            if written == name && !differ_in_digits(name, only) {
                told = told.edit(here.at, only.clone());
            }
            return told.help(format!("or {cure}"));
        }
        several => {
            let shown = several.iter().take(MOST_IN_CYCLE).map(String::as_str);
            return told.help(format!("{} may be meant", alternatives(shown))).help(format!("or {cure}"));
        }
    }
    told.help(cure)
}

/// `use "base.kp" with Q = 1 kN`, where there is no let Q.
pub fn no_such_let(
    here: Here<'_>,
    name: &str,
    file: Option<&str>,
    (lets, total): (&[String], usize),
    near: &[String],
) -> Diagnostic {
    let place = file.map_or("the files that are read".to_owned(), |file| format!("`{file}` and what it uses"));
    let label = match near {
        [only] => format!("did you mean `{only}`?"),
        _ => "no such let".to_owned(),
    };
    let told = Diagnostic::new(Slug::UnknownName, format!("there is no let `{name}` to be set"))
        .label(here.at, label)
        .why("What is set is a let at the top level of a file, outside loops and cases.");
    let told = match lets {
        [] => told.why(format!("There are none in {place}.")),
        lets => told
            .why(format!("In {place} there are {}.", words::listed(total, lets.iter().map(|own| format!("`{own}`"))))),
    };
    match near {
        [only] => told.help(format!("write `{only}`")),
        _ => told.help(format!("name one of them, or state `let {name} = …` in the file that is to use it")),
    }
}

/// Told alike for every name that the last turn alone misses, so that they
/// come together: the loop is one turn too long more often than a joint is missing.
fn past_last_turn(here: Here<'_>, name: &str, turn: &str) -> Diagnostic {
    let variable = turn.rsplit(", ").next().and_then(|last| last.split(' ').next()).unwrap_or("i");
    let heads = here.text_before().rsplit(&format!("for {variable} from ")).next().unwrap_or("");
    let bound = heads.split_once(" to ").and_then(|(_, rest)| rest.split(['{', '\n']).next()).unwrap_or("");
    let bound = bound.split(" by ").next().unwrap_or("").trim();
    let earlier = match bound.parse::<i64>() {
        Ok(last) => format!(", `to {}`", last - 1),
        Err(_) if bound.is_empty() || heads.contains(" by ") => String::new(),
        Err(_) => format!(", `to {bound}-1`"),
    };
    Diagnostic::new(Slug::UnknownName, format!("the last turn of the loop, {turn}, names a joint that is not declared"))
        .label(here.at, format!("{} is `{name}` here", quote(here.text())))
        .why("Every turn before it names joints that are declared.")
        .help(format!("end the loop one turn earlier{earlier}"))
        .help("or declare the joint")
}

/// A name after `*` or `/` that is a unit, or nearly one, was meant as a unit.
fn told_of_unit(told: Diagnostic, name: &str) -> Diagnostic {
    if name == "K" {
        told.help("a number per kelvin is written `12e-6 per K`")
    } else if is_unit_word(name) {
        told.why("A unit stands straight after its number and has no spaces in it; elsewhere the word is a name.")
            .help(format!("close the unit up, as in `2 kN/{name}`, or give the word a number, `1 {name}`"))
    } else if let Some(unit) = similar_unit(name) {
        told.why(format!("`{name}` is not a unit either; `{unit}` is."))
            .help(format!("write `{unit}`, as in `2 kN/{unit}`"))
    } else {
        told
    }
}

/// Which letters of two names that look the same are not.
fn foreign_letters(name: &str, other: &str) -> String {
    let pairs = name.chars().zip(other.chars()).filter(|(a, b)| a != b);
    let told: Vec<String> =
        pairs.map(|(a, b)| format!("U+{:04X} where `{other}` has U+{:04X}", u32::from(a), u32::from(b))).collect();
    format!("`{name}` looks like `{other}` but has other letters: {}.", told.join(", "))
}

/// `L7` for `L6` is another joint of a row more often than a slip.
fn differ_in_digits(a: &str, b: &str) -> bool {
    let digits = |name: &str| name.chars().filter(char::is_ascii_digit).collect::<String>();
    digits(a) != digits(b)
}

const fn noun(named: Named) -> &'static str {
    match named {
        Named::Joint => "a joint",
        Named::Let => "a let",
        Named::LoopVariable => "a loop variable",
        Named::Case => "a case",
        Named::Combination => "a combination",
        Named::Travel => "a travelling load",
        Named::Section => "a section",
        Named::Material => "a material",
    }
}

fn bare_noun(named: Named) -> &'static str {
    noun(named).strip_prefix("a ").unwrap_or("")
}

pub fn wrong_kind(here: Here<'_>, name: &str, found: Named, wanted: Wanted, declared: Origin) -> Diagnostic {
    let wanted = match wanted {
        Wanted::Joint => "a joint",
        Wanted::Value => "a value",
        Wanted::Case => "a case",
        Wanted::Section => "a section",
        Wanted::Material => "a material",
    };
    let told = Diagnostic::new(Slug::WrongKindOfName, format!("`{name}` is {}, not {wanted}", noun(found)))
        .label(here.at, format!("{wanted} is wanted here"))
        .label(declared, format!("`{name}` is declared here, as {}", noun(found)));
    match found {
        Named::LoopVariable => told
            .why("A loop variable counts; the joints of a loop carry it as an index: `L[i]` is `L3` where i is 3.")
            .help(format!("name a joint, such as `L[{name}]`")),
        Named::Let => told
            .why("Members, supports and loads stand on joints. A let is a value, even where that value is a point.")
            .help(format!("declare the point as a joint: `joint {name}: …` in place of the let")),
        Named::Travel if wanted == "a case" => told
            .why(
                "A travelling load has no one place: each result has its own worst one, so a combination cannot add \
                 it to loads that stand still.",
            )
            .help(format!(
                "look up with `solve` where `{name}` stands for the result that governs, and put its loads there in a \
                 case: `case {name}_worst {{ load A-B: 12 kN down at 2 m }}`"
            ))
            .help(format!("combine that case: `{name}_worst` in place of `{name}`")),
        _ => told.why(format!("Only {wanted} can stand here.")).help(format!("name {wanted}")),
    }
}

pub fn duplicate(here: Here<'_>, name: &str, what: Named, (first, first_what): (Origin, Named)) -> Diagnostic {
    let rule = match what {
        Named::Joint | Named::Let | Named::LoopVariable => {
            "Joints, lets and loop variables share one set of names, so that a name in an expression has one meaning."
        }
        Named::Case | Named::Combination | Named::Travel => {
            "Cases, combinations and travelling loads share one set of names, so that `under NAME` has one meaning."
        }
        Named::Section => "Each section is stated once, so that a member's section has one meaning.",
        Named::Material => "Each material is stated once, so that a section's material has one meaning.",
    };
    if here.at == first {
        return Diagnostic::new(Slug::DuplicateName, format!("the loop declares {} `{name}` again", bare_noun(what)))
            .label(here.at, "the same name in every turn")
            .why(rule)
            .help(format!("let the name follow the loop's variable, as in `{name}[i]`, or move it out of the loop"));
    }
    let (message, label) = if what == first_what && what == Named::LoopVariable {
        (format!("the loops around each other both count `{name}`"), "the inner loop")
    } else if what == first_what {
        (format!("{} `{name}` is declared twice", bare_noun(what)), "declared again here")
    } else {
        (format!("`{name}` is both {} and {}", noun(first_what), noun(what)), "declared again here")
    };
    Diagnostic::new(Slug::DuplicateName, message)
        .label(here.at, label)
        .label(first, format!("`{name}` is {} first, here", noun(first_what)))
        .why(rule)
        .help("give one of the two another name, or leave one out")
}

pub fn circular_value(chain: &[(String, Origin)]) -> Diagnostic {
    let (first, links) = links_of(chain);
    let mut told = Diagnostic::new(Slug::CircularValue, format!("the value of `{first}` depends on itself: {links}"));
    for (index, (name, at)) in chain.iter().enumerate().take(MOST_IN_CYCLE) {
        let next = chain.get(index + 1).map_or(first, |(next, _)| next.as_str());
        let label = if next == name { format!("`{name}` needs itself") } else { format!("`{name}` needs `{next}`") };
        told = told.label(*at, label);
    }
    told.why("Values may be stated in any order, but each is worked out from others, never from itself.")
        .help("give one of them a value that depends on none of the others")
}

pub fn reserved(here: Here<'_>, name: &str, what: Named) -> Diagnostic {
    Diagnostic::new(Slug::ReservedName, format!("`{name}` is reserved: {} cannot have this name", noun(what)))
        .label(here.at, "reserved")
        .why(format!("In every expression `{name}` is 3.14159…, half a turn in radians."))
        .help("give it another name")
}

/// The first name of a cycle, and `` `a` → `b` → `a` ``.
pub(super) fn links_of(chain: &[(String, Origin)]) -> (&str, String) {
    let first = chain.first().map_or("?", |(name, _)| name.as_str());
    let mut names: Vec<String> = chain.iter().take(MOST_IN_CYCLE).map(|(name, _)| format!("`{name}`")).collect();
    if chain.len() > MOST_IN_CYCLE {
        names.push("…".to_owned());
    }
    names.push(format!("`{first}`"));
    (first, names.join(" → "))
}

pub fn index_not_whole(here: Here<'_>, value: Option<f64>) -> Diagnostic {
    let written = here.quote();
    let (message, label) = not_whole(&written, "an index", value);
    Diagnostic::new(Slug::IndexNotWhole, message)
        .label(here.at, label)
        .why("An index becomes the digits of a name: `L[3]` is the joint `L3`.")
        .help("count in whole numbers, and work out positions from the count: `joint L[i]: (i*panel/2, 0)`")
}

/// Headline and label for something that must be a whole number and is not.
pub(super) fn not_whole(written: &str, what: &str, value: Option<f64>) -> (String, String) {
    match value {
        None => (format!("{what} must be a whole number, and {written} has a unit"), "not a pure number".to_owned()),
        Some(value) if value.fract() == 0.0 => {
            (format!("{what} of {written} is too large to count with"), "beyond whole numbers of 64 bits".to_owned())
        }
        Some(value) => {
            let value = format::trimmed(value, 6);
            let message = if *written == format!("`{value}`") {
                format!("{what} must be a whole number, not {written}")
            } else {
                format!("{what} must be a whole number, and {written} is {value}")
            };
            (message, format!("{value} is not whole"))
        }
    }
}

pub fn index_negative(here: Here<'_>, value: i64) -> Diagnostic {
    Diagnostic::new(Slug::IndexNegative, format!("an index cannot be negative, and {} is {value}", here.quote()))
        .label(here.at, format!("{value} here"))
        .why("An index becomes the digits of a name: `L[3]` is the joint `L3`, and no name has a minus in it.")
        .help("let the loop begin later, or shift every index by the same whole number")
}
