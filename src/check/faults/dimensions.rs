//! Words for faults of units and dimensions. Both sides of a clash are told by
//! name, with units as they are written.
//!
//! Must not know: how quantities are worked out.

use std::f64::consts::PI;

use crate::base::{Origin, Span};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::arithmetic::takes_file_unit;
use crate::quantity::units::pretty_symbol;
use crate::quantity::{Dimension, format, is_same_unit, parse_unit, units_of};

use super::phrases::{Here, Written, alternatives, kind, quote, units_like, with_word_replaced, written};

/// Standard gravity in m/s² (3rd CGPM, 1901).
const STANDARD_GRAVITY: f64 = 9.806_65;
const FIGURES: usize = 4;

pub fn units_of_wrong_kind(here: Here<'_>, wanted: Dimension, found: Dimension) -> Diagnostic {
    let unit = here.quote();
    let exchanged = exchanged_units(here, wanted, found);
    let told =
        Diagnostic::new(Slug::UnitsOfWrongKind, format!("{unit} is {}, not {}", unit_of(found), unit_of(wanted)))
            .label(here.at, format!("{} belongs here", unit_of(wanted)))
            .why(
                "`units` names the unit of length, then that of force, then, if wanted, that of deflections: \
             `units m, kN, mm`.",
            );
    let told = if found == Dimension::MASS && wanted == Dimension::FORCE {
        told.why("A mass is not a force; it weighs one.").help("write `kgf`, `tf`, `kN` or `lbf`")
    } else {
        told
    };
    if let Some((other, length)) = exchanged {
        let force = here.text();
        let told = told.help(format!("write `units {length}, {force}`: the length comes first"));
        return told.edit(here.at, length).edit(other, force);
    }
    match units_like(wanted) {
        Some(units) if found != Dimension::MASS => told.help(format!("write {units} here")),
        _ => told,
    }
}

/// `units kN, m`: where the second of the two is the length that the first was
/// to be, its place and its word.
fn exchanged_units(here: Here<'_>, wanted: Dimension, found: Dimension) -> Option<(Origin, &str)> {
    if (wanted, found) != (Dimension::LENGTH, Dimension::FORCE) || here.before() != "units" {
        return None;
    }
    let rest = here.rest_of_line();
    let list = rest.split("//").next()?;
    let second = list.trim_start().strip_prefix(',')?;
    let word = second.split(',').next()?.trim();
    let start = here.at.span.end + u32::try_from(rest.find(word).filter(|_| !word.is_empty())?).ok()?;
    let place = Origin::new(here.at.file, Span::new(start, start + u32::try_from(word.len()).ok()?));
    // `units kN, mm` may have lost its first word: deflections come third.
    let is_large = !matches!(word, "mm" | "cm" | "in");
    (parse_unit(word).ok()?.dimension == Dimension::LENGTH && is_large).then_some((place, word))
}

/// `a unit of force`, `a unit of moment`.
fn unit_of(dimension: Dimension) -> String {
    let name = dimension.name();
    let bare = name.strip_prefix("a ").or_else(|| name.strip_prefix("an ")).unwrap_or(&name);
    if dimension.is_pure() { "a pure number".to_owned() } else { format!("a unit of {bare}") }
}

pub fn unknown_unit(here: Here<'_>, unit: &str, similar: Option<&str>) -> Diagnostic {
    let told = Diagnostic::new(Slug::UnknownUnit, format!("{} is not a unit", quote(unit)));
    let Some(similar) = similar else {
        return told
            .label(here.at, "no such unit")
            .why(
                "A unit is a word of the unit table, or several joined without spaces by `*` and `/`, each with a \
                 power up to 12: `kN/m^2`.",
            )
            .help("lengths are `m`, `mm`, `ft`, `in`; forces `N`, `kN`, `lbf`, `kip`; see the notation for the rest");
    };
    let told = told
        .label(here.at, format!("did you mean `{similar}`?"))
        .why("Units are told apart by capitals too, as in print: `kN`, `MPa`, `mm`.");
    let whole = with_word_replaced(here.text(), unit, similar).or_else(|| {
        // A power written without its sign belongs to the word: `mm4`.
        (here.text() == unit).then(|| similar.to_owned())
    });
    let whole = whole.filter(|whole| parse_unit(whole).is_ok());
    let told = told.help(format!("write {}", quote(whole.as_deref().unwrap_or(similar))));
    match whole {
        Some(whole) if is_same_unit(unit, similar) => told.edit(here.at, whole),
        _ => told,
    }
}

pub fn ambiguous_ton(here: Here<'_>) -> Diagnostic {
    let run = here.text();
    let word = ["tons", "tonf", "ton"].into_iter().find(|word| with_word_replaced(run, word, "").is_some());
    let run_with = |unit: &str| word.and_then(|word| with_word_replaced(run, word, unit)).unwrap_or(unit.to_owned());
    Diagnostic::new(Slug::AmbiguousTon, format!("{} could be any of three forces", quote(word.unwrap_or(run))))
        .label(here.at, "which ton?")
        .why(
            "A tonne-force is 9.807 kN, a short ton-force (2000 lbf) 8.896 kN, a long one (2240 lbf) 9.964 kN: \
             12 % lie between the least and the greatest.",
        )
        .help(format!(
            "write {}",
            alternatives([run_with("tf").as_str(), run_with("tonf_US").as_str(), run_with("tonf_UK").as_str()])
        ))
}

pub fn bar_as_unit(here: Here<'_>) -> Diagnostic {
    let run = here.text();
    let (word, kilopascals) = if run.contains("mbar") { ("mbar", 0.1) } else { ("bar", 100.0) };
    let told = Diagnostic::new(Slug::BarAsUnit, format!("`{word}` is not a unit here"))
        .label(here.at, "a bar is a member")
        .why(format!(
            "`bar` begins the statement of a bar, so no pressure is written with it; 1 {word} is {kilopascals} kPa."
        ));
    match here.number_before().replace('_', "").parse::<f64>() {
        Ok(number) if run == word => told.help(format!("write `{} kPa`", format::trimmed(number * kilopascals, 9))),
        _ => told.help("write the pressure in `kPa`, `MPa`, `kN/m^2`, `psf` or `psi`"),
    }
}

pub fn pound_as_force(here: Here<'_>) -> Diagnostic {
    let run = here.text();
    let force = with_word_replaced(run, "lb", "lbf");
    let told = Diagnostic::new(Slug::PoundAsForce, "`lb` is read as the force `lbf`")
        .label(here.at, format!("read as {}", quote(force.as_deref().unwrap_or("lbf"))))
        .why("A pound is a mass; a load in pounds is the force that mass weighs, 1 lbf = 4.448 N.");
    match force {
        Some(force) => told.help(format!("write {}", quote(&force))).edit(here.at, force),
        None => told.help("write `lbf`"),
    }
}

pub fn mass_as_load(here: Here<'_>, wanted: Dimension, text: &str) -> Diagnostic {
    const FORCES: [(&str, &str); 3] = [("kg", "kgf"), ("t", "tf"), ("lbm", "lbf")];
    let told = Diagnostic::new(Slug::MassAsLoad, format!("{} is a mass; {} belongs here", quote(text), wanted.name()))
        .label(here.at, "a mass, not its weight");
    let mass = written(text).filter(|mass| mass.dimension.time == 2);
    let told = match &mass {
        Some(Written { number, unit, factor, .. }) => told.why(format!(
            "A mass does not load a structure; its weight does: {} {} weighs {}.",
            format::trimmed(*number, 9),
            pretty_symbol(unit),
            weight(number * factor * STANDARD_GRAVITY, wanted)
        )),
        None => told.why("A mass does not load a structure; its weight does: 1 kg weighs 1 kgf = 9.807 N."),
    };
    let literal = mass.and_then(|mass| {
        FORCES.iter().find_map(|(mass_unit, force)| {
            let run = with_word_replaced(mass.unit, mass_unit, force)?;
            Some(text.replacen(mass.unit, &run, 1))
        })
    });
    match literal {
        Some(force) => told.help(format!("write {}", quote(&force))),
        None => told.help("write the weight: `kgf` for `kg`, `tf` for `t`, `lbf` for `lbm`, or times `1 g_n`"),
    }
}

/// A weight in newtons, or in kilonewtons where there are thousands.
fn weight(newtons: f64, dimension: Dimension) -> String {
    let (value, prefix) = if newtons.abs() >= 1_000.0 { (newtons / 1_000.0, "k") } else { (newtons, "") };
    let per = match dimension.length {
        -1 => "/m",
        -3 => "/m³",
        _ => "",
    };
    format!("{} {prefix}N{per}", format::trimmed(value, FIGURES))
}

pub fn wrong(here: Here<'_>, role: &str, wanted: Dimension, found: Dimension, text: &str) -> Diagnostic {
    let told = Diagnostic::new(
        Slug::WrongDimension,
        format!("{} where {} belongs: {}", found.name(), wanted.name(), quote(text)),
    )
    .label(here.at, format!("this is {}", found.name()))
    .why(format!("Wanted: {role}, {}.", kind(wanted)))
    .why(format!("Found: {}, {}.", quote(text), kind(found)));
    let is_number = text.trim().parse::<f64>().is_ok();
    let told = match found.is_pure() && !is_number {
        true if takes_file_unit(wanted) => {
            told.why("Its units cancel; only a number written without any takes the unit of the file.")
        }
        true => told.why("Its units cancel."),
        false => told,
    };
    let told = match missing_factor(wanted, found) {
        Some(factor) => told.why(factor),
        None => told,
    };
    // What a load would be instead is no matter of a claim.
    let is_claim = here.before().trim_start().starts_with("expect");
    let told = match hint(wanted, found).filter(|_| !is_claim) {
        Some(hint) => told.help(hint),
        None => told,
    };
    match units_like(wanted) {
        Some(units) => told.help(format!("write it in {units}")),
        None if wanted.is_pure() => told.help("write it without a unit, or divide by a quantity of the same kind"),
        None => told.help(format!("write {}", wanted.name())),
    }
}

/// What the found quantity would have to be multiplied or divided by.
fn missing_factor(wanted: Dimension, found: Dimension) -> Option<String> {
    if wanted.is_pure() || found.is_pure() {
        return None;
    }
    let (up, down) = (wanted.over(found)?, found.over(wanted)?);
    let named = |dimension: Dimension| !units_of(dimension).is_empty();
    if named(up) && up.length >= 0 && up.force >= 0 {
        Some(format!("Times {} it would fit.", up.name()))
    } else if named(down) {
        Some(format!("Divided by {} it would fit.", down.name()))
    } else {
        None
    }
}

/// The slip of the trade behind a clash, where there is a usual one.
fn hint(wanted: Dimension, found: Dimension) -> Option<&'static str> {
    use Dimension as D;
    match (wanted, found) {
        (D::LINE_LOAD, D::PRESSURE) => {
            Some("a load per area becomes one along a member times the width it is carried over: `1.0 kN/m^2 * bay`")
        }
        (D::FORCE, D::LINE_LOAD) => {
            Some("a load per length is put on members, not on a joint: `load A-B: 2 kN/m down`")
        }
        (D::FORCE, D::MOMENT) => Some("a couple has a statement of its own: `moment A-B: 5 kN*m ccw at 2 m`"),
        (D::MOMENT, D::FORCE) => Some("a couple is a force times its arm: `5 kN * 0.3 m`"),
        (D::AREA, D::LENGTH) => Some("an area has its unit squared: `cm^2`, `in^2`"),
        (D::SECOND_MOMENT, D::AREA | D::VOLUME | D::LENGTH) => {
            Some("a second moment of area has its unit to the fourth: `cm^4`, `in^4`")
        }
        (D::LENGTH, D::ANGLE) => Some("a support that turns says which way: `settle A: 0.002 rad ccw`"),
        (D::FORCE, D::PRESSURE) => Some("times the area it acts on, a force per area is a force"),
        _ => None,
    }
}

pub fn mixed(here: Here<'_>, left: (Origin, Dimension), right: (Origin, Dimension)) -> Diagnostic {
    let whole = here.quote();
    let told = Diagnostic::new(
        Slug::MixedDimensions,
        format!("{} and {} do not go together: {whole}", left.1.name(), right.1.name()),
    )
    .label(left.0, left.1.name());
    let told = if right.0 == left.0 { told } else { told.label(right.0, right.1.name()) };
    let mut told = told
        .why(format!("{} is {}.", here.of(left.0).quote(), kind(left.1)))
        .why(format!("{} is {}.", here.of(right.0).quote(), kind(right.1)))
        .why("Only quantities of one kind can be added, compared or paired in a vector; a bare `0` fits any.");
    if let Some(units) = units_like(left.1) {
        told = told.help(format!("write both as {}: {units}", left.1.name()));
    }
    if let Some(units) = units_like(right.1) {
        told = told.help(format!("or both as {}: {units}", right.1.name()));
    }
    if told.help.is_empty() { told.help("write both in units of the same kind") } else { told }
}

pub fn bare_number(here: Here<'_>, wanted: Dimension, text: &str) -> Diagnostic {
    let told = Diagnostic::new(Slug::BareNumber, "numbers without a unit, in a file that states none")
        .label(here.at, format!("{} without its unit", wanted.name()))
        .why("A bare number takes the unit of its file's `units` statement, and this file has none.")
        .help("state the file's units once, at its head: `units m, kN` or `units ft, lbf`");
    let example = units_of(wanted).first().copied();
    match example {
        Some(unit) if text.trim().parse::<f64>().is_ok() => {
            told.help(format!("or write the unit here: {}", quote(&format!("{} {unit}", text.trim()))))
        }
        Some(unit) => told.help(format!("or write the unit on each number, such as `2 {unit}`")),
        None => told,
    }
}

/// A quantity whose unit its file does not settle; `unit` is the usual one.
pub fn unit_missing(here: Here<'_>, wanted: Dimension, text: &str, property: Option<&str>, unit: &str) -> Diagnostic {
    let is_movement = wanted == Dimension::LENGTH;
    let what = if is_movement { "a displacement".to_owned() } else { wanted.name() };
    let headline = match property {
        Some(name) => format!("{} has no unit", quote(&format!("{name} = {text}"))),
        None => format!("{} has no unit, and {what} needs one", quote(text)),
    };
    let told = Diagnostic::new(Slug::UnitMissing, headline)
        .label(here.at, "in which unit?")
        .why(match (is_movement, wanted == Dimension::FORCE) {
            (true, _) => {
                "A displacement takes the file's unit only where it is written out as a number; what is worked out from \
                 numbers could be in the unit of lengths as well."
            }
            (_, true) => "A stiffness is no load: it has to say its unit, whatever the file's unit of force.",
            _ => "A file's `units` are for the lengths of the geometry and for forces; anything else writes its own.",
        });
    if unit.is_empty() {
        return told.help(format!("write {what} with its unit"));
    }
    let property = property.map_or(String::new(), |name| format!("{name} = "));
    match with_unit(text, unit) {
        Some(whole) => told.help(format!("write {}, or the unit that is meant", quote(&format!("{property}{whole}")))),
        None => told.help(format!("write the unit with the number it is worked out from, such as `2 {unit}`")),
    }
}

/// `3 kN/m down` for `3 down`; `(25, -90) kN/m` for `(25, -90)`. `None` for
/// what is no literal.
fn with_unit(text: &str, unit: &str) -> Option<String> {
    let text = text.trim();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '_' | '-' | 'e' | 'E');
    let end = text.find(|c| !is_number(c)).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    if number.replace('_', "").parse::<f64>().is_ok() {
        let is_direction = rest.is_empty() || rest.trim_start().starts_with(['@']) || rest.starts_with(' ');
        let is_product = rest.contains(['*', '/', '+']) || rest.trim_start().starts_with('-');
        return (is_direction && !is_product).then(|| format!("{number} {unit}{rest}"));
    }
    let inside = text.strip_prefix('(')?.strip_suffix(')')?;
    let is_plain = inside.split(',').all(|part| part.trim().parse::<f64>().is_ok());
    is_plain.then(|| format!("{text} {unit}"))
}

/// A number of a file in one system of units, in one in another.
pub fn pure_let_elsewhere(here: Here<'_>, name: &str, declared: Origin, own: &str, there: &str) -> Diagnostic {
    let text = here.quote();
    Diagnostic::new(
        Slug::LetOfOtherUnits,
        format!("`{name}` has no unit: {text} would be in {own} here, and `{name}` is of a file in {there}"),
    )
    .label(here.at, format!("read in {own}"))
    .label(declared, format!("stated in a file in {there}"))
    .why("A bare number takes the units of the file it stands in; this one was written in another.")
    .help(format!("give `{name}` its unit where it is stated"))
}

pub fn bare_angle(here: Here<'_>, text: &str) -> Diagnostic {
    let told = Diagnostic::new(Slug::BareAngle, format!("{} says neither degrees nor radians", quote(text)))
        .label(here.at, "an angle needs its unit");
    match text.trim().parse::<f64>() {
        Ok(number) => {
            let value = format::trimmed(number, 9);
            let (radians, degrees) =
                (format::trimmed(number * PI / 180.0, FIGURES), format::trimmed(number * 180.0 / PI, 6));
            told.why(format!(
                "{value}° is {radians} rad; {value} rad is {degrees}°. The file's units settle lengths and \
                 forces, never angles."
            ))
            .help(format!("write `{}°` or `{} rad`", text.trim(), text.trim()))
        }
        Err(_) => told.why("The file's units settle lengths and forces, never angles: 1 rad is 57.30°.").help(
            "write `°`, `deg` or `rad` after the number, or times `1°`; a slope may also be given as a vector, \
                 `@ (3, -4)`",
        ),
    }
}

pub fn share_out_of_place(here: Here<'_>) -> Diagnostic {
    let number = here.number_before();
    let told = Diagnostic::new(Slug::ShareOutOfPlace, format!("`{number}%` has nothing to be a share of"))
        .label(here.at, "no member to take a share of")
        .why(
            "`%` is a share of the member or chain that a statement names: `at 40%`, `from 25% to 100%`; after \
             `within`, a share of the claimed value.",
        );
    match number.replace('_', "").parse::<f64>() {
        Ok(value) => told.help(format!("write the number: `{}`", format::trimmed(value / 100.0, 9))),
        Err(_) => told.help("write the number: `0.25` for `25%`"),
    }
}

pub fn neighbour_order(here: Here<'_>) -> Diagnostic {
    if let Some((size, angle)) = size_and_angle(here.text()) {
        return Diagnostic::new(Slug::NeighbourOrder, format!("{} lacks the `@` of a direction", here.quote()))
            .label(here.at, "an angle straight after a size")
            .why("A direction follows its size after `@`. An angle alone counts counterclockwise from right.")
            .help(format!(
                "write `{size} @ {angle}`, or with the line it is measured from: `{size} @ {angle} above right`, `{size} \
                 @ {angle} right of down`"
            ));
    }
    if here.before().trim_start().starts_with("travel")
        && let Some(list) = as_list(here.text())
    {
        return Diagnostic::new(Slug::NeighbourOrder, format!("{} are loads without commas", here.quote()))
            .label(here.at, "commas are missing")
            .why("Neighbouring quantities add up, as `4 ft 6 in` does; the loads of a train are a list.")
            .help(format!("write `{list}`"))
            .edit(here.at, list);
    }
    Diagnostic::new(Slug::NeighbourOrder, format!("{} does not read as one length or force", here.quote()))
        .label(here.at, "each unit must be smaller than the one before")
        .why(
            "Neighbouring quantities add up as on a tape: each unit smaller than the one before, each count less than \
             one of it, all of one kind: `4 ft 6 in`.",
        )
        .help("put the larger unit first, carry what is too much, or join the parts with `+`")
}

/// `10 kN` and `30°` of `10 kN 30°`.
fn size_and_angle(text: &str) -> Option<(&str, &str)> {
    let number = text.trim_end_matches("deg").trim_end_matches("rad").trim_end_matches('°').trim_end();
    let size = number.trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '_'));
    let is_angle = number.len() < text.len() && size.len() < number.len();
    let whole = written(size.trim_end())?;
    (is_angle && whole.dimension != Dimension::ANGLE).then(|| (size.trim_end(), text.get(size.len()..).unwrap_or("")))
}

/// `40 kN, 60 kN` for `40 kN 60 kN`.
fn as_list(text: &str) -> Option<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let pairs: Vec<String> = words.chunks(2).map(|pair| pair.join(" ")).collect();
    let is_force = |pair: &String| written(pair).is_some_and(|size| size.dimension == Dimension::FORCE);
    (pairs.len() > 1 && pairs.iter().all(is_force)).then(|| pairs.join(", "))
}
