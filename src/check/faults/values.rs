//! Words for faults of values: vectors and single values, directions,
//! functions, numbers out of range.
//!
//! Must not know: how values are worked out.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::arithmetic::{LARGEST_VALUE, SMALLEST_VALUE};
use crate::quantity::{Dimension, Function};
use crate::syntax::tree::Axis;

use super::phrases::{Here, kind, quote, written};

pub fn vector_wanted(here: Here<'_>, role: &str) -> Diagnostic {
    Diagnostic::new(Slug::VectorWanted, format!("a single value where a point or vector belongs: {}", here.quote()))
        .label(here.at, "one value, not two components")
        .why(format!("Wanted: {role}, which has two components, x to the right and y up."))
        .help("give both components, `(3, 2)`, or a size with its direction, `3 m right`")
}

pub fn scalar_wanted(here: Here<'_>, role: &str) -> Diagnostic {
    let told = Diagnostic::new(Slug::ScalarWanted, format!("a vector where a single value belongs: {}", here.quote()))
        .label(here.at, "two components, not one value");
    match role {
        "a member force" => told
            .why("A member force acts along its member, so it has a size and a sense but no direction of its own.")
            .help("give the sense in words: `5 kN tension` or `5 kN compression`"),
        "a shear" | "a bending moment" | "a rotation" => told
            .why(format!("Wanted: {role}, which has a size and a sign but no direction."))
            .help("give the size alone, with its sense in words where it has one: `5 kN*m sagging`, `0.01 rad cw`"),
        "a position along the member" => told
            .why("A place on a member or chain is measured along it from the joint named first.")
            .help("give a length or a share: `at 2 m`, `at 50%`; `at 100%` is the joint named last"),
        _ => told
            .why(format!("Wanted: {role}, which is one value."))
            .help("take one component, `.x` or `.y`, or the magnitude, `abs(…)`"),
    }
}

pub fn direction_missing(here: Here<'_>, text: &str) -> Diagnostic {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let whole = text.clone();
    let simple = text.chars().count() <= 24;
    // A direction takes the product before it, and turns with its sign.
    let size = text.strip_prefix('-').unwrap_or(&text).trim_start();
    let is_turned = size.len() < text.len();
    let text = if size.contains(['+', '-', '−']) { format!("({size})") } else { size.to_owned() };
    let turned = |told: Diagnostic, word: &str| match is_turned {
        true => told.why(format!(
            "A minus sign reverses the direction: {} acts the other way.",
            quote(&format!("-{text} {word}"))
        )),
        false => told,
    };
    if written(&text).is_some_and(|size| size.dimension == Dimension::LENGTH) && simple {
        let told = Diagnostic::new(Slug::DirectionMissing, format!("{} has no direction", quote(&whole)))
            .label(here.at, "which way does it move?")
            .why("A settlement is a vector. Nothing is assumed about its direction, not even that it goes down.");
        return turned(told, "down").help(format!("write `{text} down` or `{text} @ 30°`"));
    }
    let size = if simple { text.as_str() } else { "5 kN" };
    let told = Diagnostic::new(Slug::DirectionMissing, format!("{} has no direction", quote(&whole)))
        .label(here.at, "which way does it act?")
        .why("A load is a vector. Nothing is assumed about its direction, not even that it acts down.");
    turned(told, "down").help(format!("write `{size} down`, `{size} @ 30°` or `{size} @ 40° below left`"))
}

pub fn direction_twice(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::DirectionTwice, format!("{} is a second direction", here.quote()))
        .label(here.at, "there is a direction already")
        .why("A direction follows a magnitude; a vector has its own direction.")
        .help("leave it out, or give the magnitude alone, `abs(v) down`")
}

pub fn toward_without_joint(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::TowardWithoutJoint, format!("{} starts from no joint", here.quote()))
        .label(here.at, "no loaded joint here")
        .why("`toward C` points from the joint that the load stands on to C; only a load on a joint has such a start.")
        .help("give the direction by its two ends: `@ (C - A)` or `@ along(A-C)`")
}

pub fn zero_direction(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::ZeroDirection, format!("{} has no direction", here.quote()))
        .label(here.at, "of length 0")
        .why("Its length is 0: its ends are at the same place.")
        .help("give an angle, a word such as `down`, or a vector between two different places")
}

pub fn division_by_zero(here: Here<'_>) -> Diagnostic {
    let (value, literal) = (here.quote(), here.text() == "0");
    if here.before().ends_with('^') {
        return Diagnostic::new(Slug::DivisionByZero, "a negative power of 0 divides by zero")
            .label(here.at, "a negative power")
            .why("`x^-1` is 1/x, and x is 0 here.")
            .help("check the base of the power");
    }
    let headline = if literal { "a division by zero".to_owned() } else { format!("a division by zero: {value} is 0") };
    Diagnostic::new(Slug::DivisionByZero, headline)
        .label(here.at, "0 here")
        .why("A quotient with 0 below the line has no value.")
        .help(if literal { "check the divisor".to_owned() } else { format!("check what {value} is made of") })
}

pub fn outside_domain(here: Here<'_>, function: &str) -> Diagnostic {
    let (headline, rule, cure) = match function {
        "sqrt" => (
            "is the square root of a negative number",
            "A square root is taken of 0 or more.",
            "check the sign of what stands under the root",
        ),
        "asin" | "acos" => (
            "has no angle",
            "A sine or cosine lies between -1 and 1, so an angle is found only for a number from -1 to 1.",
            "check the quotient: the hypotenuse stands below the line",
        ),
        "tan" => (
            "has no value",
            "The tangent is the quotient of sine and cosine, and the cosine is 0 at 90°, 270° and so on.",
            "give an upright direction by a word, `up`, or a vector, `(0, 1)`",
        ),
        _ => (
            "asks for the direction of a point without one",
            "The angle of the point (x, y) has no value where both are 0.",
            "check that the two arguments cannot both be 0",
        ),
    };
    Diagnostic::new(Slug::OutsideDomain, format!("{} {headline}", here.quote()))
        .label(here.at, "no value")
        .why(rule)
        .help(cure)
}

pub fn root_of_dimension(here: Here<'_>, found: Dimension, text: &str) -> Diagnostic {
    Diagnostic::new(Slug::RootOfDimension, format!("{} has no square root: {}", found.name(), quote(text)))
        .label(here.at, format!("the root of {}", found.name()))
        .why(format!(
            "A root halves every power of a unit: that of an area is a length. The powers of {} cannot all be halved.",
            kind(found)
        ))
        .help("check the units under the root: a length comes from `sqrt(2 m * 3 m)` or `hypot(3 m, 4 m)`")
}

pub fn number_out_of_range(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::NumberOutOfRange, format!("{} is out of range", here.quote()))
        .label(here.at, "too large or too small")
        .why(format!(
            "Sizes other than 0 lie between {SMALLEST_VALUE:e} and {LARGEST_VALUE:e} in metres, newtons, seconds, kelvin \
             and radians, and powers of units within ±127, so that no result overflows."
        ))
        .help("check the exponents; no structure needs numbers of this size")
}

pub fn power_not_whole(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(
        Slug::PowerNotWhole,
        format!("a quantity with a unit cannot be raised to the power {}", here.quote()),
    )
    .label(here.at, "not a whole number")
    .why(
        "The unit is raised with the number, and a fractional power of it has no meaning; only the square root of a \
         square, such as an area, has one.",
    )
    .help("raise a pure number: divide by `1 m` first, as in `(span / 1 m)^0.3 * 1 m`")
}

pub fn argument_count(here: Here<'_>, function: &str, found: usize) -> Diagnostic {
    let wanted = Function::from_word(function).map_or((1, 1), Function::arguments);
    let number = |count: usize| match count {
        0 => "none".to_owned(),
        1 => "one".to_owned(),
        2 => "two".to_owned(),
        more => more.to_string(),
    };
    let plural = |count: usize| if count == 1 { "argument" } else { "arguments" };
    let least = if wanted.1 == usize::MAX { "at least " } else { "" };
    let usage = match (function, wanted.0) {
        ("atan2", _) => "atan2(y, x)".to_owned(),
        (_, 1) => format!("{function}(x)"),
        _ => format!("{function}(x, y)"),
    };
    let why = match Function::from_word(function).and_then(|known| known.summary().split_once(": ")) {
        Some((call, meaning)) => format!("`{call}` gives {meaning}."),
        None => format!("`{function}` needs each of its arguments."),
    };
    Diagnostic::new(
        Slug::ArgumentCount,
        format!("`{function}` takes {least}{} {}, not {}", number(wanted.0), plural(wanted.0), number(found)),
    )
    .label(here.at, format!("{} here", number(found)))
    .why(why)
    .help(format!("give it as `{usage}`"))
}

pub fn scalar_and_vector(here: Here<'_>, vector: Origin, scalar: Origin) -> Diagnostic {
    let single = here.of(scalar).text().trim();
    let told = Diagnostic::new(
        Slug::ScalarAndVector,
        format!("a vector and a single value cannot be added: {}", here.quote()),
    )
    .label(scalar, "a single value")
    .label(vector, "a vector")
    .why("A sum of vectors adds x to x and y to y; a single value does not say which of the two it adds to.");
    let told = match range_meant(here, vector, single) {
        Some(range) => told.help(format!("write {} for a load that goes from the one to the other", quote(&range))),
        None => told,
    };
    told.help(format!(
        "give {single} a direction, {}, or a place in a vector, {}",
        quote(&format!("{single} right")),
        quote(&format!("({single}, 0)"))
    ))
}

/// `2 kN/m to 5 kN/m down` for `2-5 kN/m down`.
fn range_meant(here: Here<'_>, vector: Origin, low: &str) -> Option<String> {
    let high = here.of(vector).text().trim();
    let begins_with_digit = |text: &str| text.starts_with(|first: char| first.is_ascii_digit());
    let between = here.text().trim().strip_prefix(low)?.strip_suffix(high)?.trim();
    let unit = high.split(' ').nth(1).filter(|unit| unit.contains('/'))?;
    if between != "-" || !begins_with_digit(low) || !begins_with_digit(high) {
        return None;
    }
    let is_bare = low.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '_'));
    Some(if is_bare { format!("{low} {unit} to {high}") } else { format!("{low} to {high}") })
}

pub fn product_of_vectors(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(
        Slug::ProductOfVectors,
        format!("a vector is multiplied or divided by single values only: {}", here.quote()),
    )
    .label(here.at, "two vectors, or a power or quotient of one")
    .why("Two vectors have more than one product; their quotient and their powers have no meaning.")
    .help("write the product that is meant in components: the moment of F about O is `r.x*F.y - r.y*F.x`")
    .help("or take the magnitude, `abs(v)`")
}

pub fn component_of_scalar(here: Here<'_>, axis: Axis) -> Diagnostic {
    let component = match axis {
        Axis::X => ".x",
        Axis::Y => ".y",
    };
    let whole = here.text();
    let of = whole.strip_suffix(component).unwrap_or(whole);
    Diagnostic::new(Slug::ComponentOfScalar, format!("{} has no components", quote(of)))
        .label(here.at, format!("a single value has no `{component}`"))
        .why("Joints (their positions) and vectors have the components `.x` and `.y`; a single value has none.")
        .help(format!("write {} alone, or name a joint or vector before `{component}`", quote(of)))
}
