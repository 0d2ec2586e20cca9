//! Words for faults of loads: places and stretches on members, clauses, own
//! weight and heat, combinations, travelling loads.
//!
//! Must not know: what a load does.

use crate::base::{Origin, Span};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::{Dimension, format};
use crate::structure::fault::Missing;
use crate::syntax::tree::Measure;

use super::names::links_of;
use super::phrases::{Here, quote, written};

/// A cycle's labels are cut after so many.
const MOST_LABELS: usize = 6;
const FIGURES: usize = 4;

pub fn position_outside(here: Here<'_>, length: f64, value: f64) -> Diagnostic {
    let text = here.text();
    let place = quote(text);
    let (long, over) = in_written_unit(text, length, value);
    let (message, label) = if value < 0.0 {
        (format!("{place} is before the start of the member"), "before its first joint".to_owned())
    } else {
        (format!("{place} is past the end of the member, which is {long} long"), format!("{over} past the end"))
    };
    Diagnostic::new(Slug::PositionOutside, message)
        .label(here.at, label)
        .why(format!(
            "A place on a member or chain is measured along it from the joint named first, from 0 to its length, {long}."
        ))
        .help(match text.trim().parse::<f64>() {
            Ok(share) if (10.0..=100.0).contains(&share) && value > length => {
                format!("write `{}%` for a share of the length, or give a place between the ends", text.trim())
            }
            _ => "give a place between the ends, as a length or a share: `at 40%`".to_owned(),
        })
}

/// The member's length and what lies beyond it, in the unit a place is written in.
fn in_written_unit(text: &str, length: f64, value: f64) -> (String, String) {
    let show = |metres: f64, factor: f64, unit: &str| {
        let space = if unit.is_empty() { "" } else { " " };
        format!("{}{space}{unit}", format::trimmed(metres / factor, FIGURES))
    };
    let metres = (show(length, 1.0, "m"), show(value - length, 1.0, "m"));
    let Some(place) = written(text.trim()) else { return metres };
    if place.dimension == Dimension::LENGTH {
        return (show(length, place.factor, place.unit), show(value - length, place.factor, place.unit));
    }
    // A bare number took the file's unit on its way to metres.
    let factor = value / place.number;
    if place.unit.is_empty() && factor.is_finite() && factor > 0.0 {
        (show(length, factor, ""), show(value - length, factor, ""))
    } else {
        metres
    }
}

pub fn stretch_reversed(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::StretchReversed, "the loaded stretch ends where it begins, or before")
        .label(here.at, format!("{} is not beyond the other end", here.quote()))
        .why(
            "`from` and `to` are measured along the chain from the joint named first, and the stretch runs from the \
             smaller to the larger.",
        )
        .help("exchange the two places, and the two values if the load varies")
}

/// A couple without a word where files count them differently.
pub fn turn_unsaid(here: Here<'_>, text: &str, stated: Origin) -> Diagnostic {
    Diagnostic::new(Slug::TurningSenseUnsaid, format!("{} does not say which way it turns", quote(text)))
        .label(here.at, "`cw` or `ccw`?")
        .label(stated, format!("{} holds for this file only", here.of(stated).quote()))
        .why("Each file has its own positive sense; this one states none, and another that goes with it counts clockwise.")
        .help("add `cw` or `ccw`, or state `moments cw` or `moments ccw` in this file too")
}

/// A couple on a chain, at a joint where a hinge parts one side from the other.
pub fn couple_at_hinge(here: Here<'_>, joint: &str, before: &str, after: &str, hinge: Origin) -> Diagnostic {
    let end = |member: &str| if member.starts_with(&format!("{joint}-")) { "0%" } else { "100%" };
    Diagnostic::new(
        Slug::CoupleAtHinge,
        format!("this couple acts at the hinge `{joint}`, and does not say on which side"),
    )
    .label(here.at, format!("at `{joint}`: on {before} or on {after}?"))
    .label(hinge, "free to turn against each other")
    .why("A hinge transmits no moment, so a couple just before it and one just after it act on different members.")
    .help(format!(
        "name the member it turns: `moment {before}: … at {}` or `moment {after}: … at {}`",
        end(before),
        end(after)
    ))
}

/// A load per run of what has none.
pub fn no_projection(here: Here<'_>, chain: &str, measure: Measure) -> Diagnostic {
    let (clause, way, other) = match measure {
        Measure::PerRun => ("per run", "upright", "per rise"),
        Measure::PerRise => ("per rise", "level", "per run"),
    };
    Diagnostic::new(
        Slug::NoProjection,
        format!("this load is zero: `{chain}` is {way}, and `{clause}` measures nothing along it"),
    )
    .label(here.at, "measured along a length of 0")
    .why("`per run` measures along the horizontal, `per rise` along the vertical, whichever way the load acts.")
    .help(format!("leave `{clause}` out for a load along the member, or write `{other}`"))
}

pub fn position_missing(here: Here<'_>, text: &str) -> Diagnostic {
    let value = quote(text);
    let is_couple = written(text.trim()).is_some_and(|size| size.dimension == Dimension::MOMENT);
    let told = Diagnostic::new(Slug::PositionMissing, format!("{value} on a member needs its place"))
        .label(here.at, "where on the member?")
        .why(
            "A single force or couple acts at one point of a member, and its effect depends on which. Only a force per \
             length needs no place: it spreads over all of it.",
        )
        .help(format!("add the place: {} or `at 50%`", quote(&format!("{} at 2 m", text.trim()))));
    if is_couple {
        return told.help("or, where it acts on a joint, name the joint: `moment B: 5 kN*m cw`");
    }
    told.help("or, where a force is spread along the member, give it per length: `2 kN/m down`")
}

pub fn clause_not_for_joint(here: Here<'_>, clause: &str) -> Diagnostic {
    let before = here.before();
    if clause == "at" && here.text().ends_with(['°']) && before.ends_with("at") {
        let blanks = here.blanks_before();
        let end = here.at.span.start.saturating_sub(blanks);
        let word = Origin::new(here.at.file, Span::new(end.saturating_sub(2), end));
        return Diagnostic::new(Slug::ClauseNotForJoint, "`at` gives a place along a member, not a direction")
            .label(word, "a direction follows `@`")
            .label(here.at, "an angle")
            .help(format!("write `@ {}`", here.text()))
            .edit(word, "@");
    }
    let clause = clause_as_written(here, clause);
    let told = Diagnostic::new(Slug::ClauseNotForJoint, format!("`{clause}` does not fit a joint"))
        .label(here.at, "a joint is one point")
        .why(format!(
            "`{clause}` says where along a member, or how a load spreads over one; a joint has no length to it."
        ))
        .help("leave it out, or name the member or chain in place of the joint: `load A-B: …`");
    if clause == "to" { told.help("or, for a force that points at a joint, write `5 kN toward C`") } else { told }
}

/// `per run` stands for both measures in the data; the source knows which.
fn clause_as_written<'t>(here: Here<'t>, clause: &'t str) -> &'t str {
    let text = here.text();
    if clause.starts_with("per") && text.starts_with("per") { text } else { clause }
}

pub fn clauses_clash(here: Here<'_>, clause: &str, with: &str) -> Diagnostic {
    let clause = clause_as_written(here, clause);
    Diagnostic::new(Slug::ClausesClash, format!("`{clause}` does not go with `{with}`"))
        .label(here.at, format!("`{clause}` is for a load that spreads"))
        .why(format!(
            "`{with}` puts a single force at one point of a member; `{clause}` belongs to a force per length."
        ))
        .help(format!("leave `{clause}` out, or give a force per length and leave `{with}` out"))
}

pub fn weight_unknown(here: Here<'_>, member: &str, missing: Missing, lacking: Origin) -> Diagnostic {
    let label = match missing {
        Missing::Section => "stated without a section",
        Missing::Area => "stated without an area",
        Missing::Material => "stated without a material",
        Missing::MaterialWeight => "stated without a weight",
    };
    let (lacks, cure) = match missing {
        Missing::Section => ("it has no section", format!("give it one: `bar {member}: SECTION`")),
        Missing::Area => ("its section has no area", "add the area to the section: `A = 20 cm^2`".to_owned()),
        Missing::Material => (
            "its section names no material",
            "name the material first in the section: `section NAME: steel, A = …`".to_owned(),
        ),
        Missing::MaterialWeight => {
            ("its material has no weight", "add it to the material: `weight = 77 kN/m^3` for steel".to_owned())
        }
    };
    Diagnostic::new(Slug::WeightUnknown, format!("the weight of member `{member}` is not known: {lacks}"))
        .label(here.at, format!("weighs `{member}`"))
        .label(lacking, label)
        .why("A member weighs its length times the area of its section times the weight of its material per volume.")
        .help(cure)
        .help("or leave the member out: `weigh` takes the chains that are to be weighed")
}

pub fn expansion_unknown(here: Here<'_>, member: &str, lacking: Origin) -> Diagnostic {
    Diagnostic::new(Slug::ExpansionUnknown, format!("how member `{member}` expands is not known"))
        .label(here.at, format!("heats `{member}`"))
        .label(lacking, "stated without an expansion")
        .why(
            "A member warmed by ΔT grows by α·ΔT times its length, where α is the `expansion` of the material of its \
             section.",
        )
        .help("give the member a section of a material with it: `expansion = 12e-6 per K` for steel")
}

pub fn circular_combination(chain: &[(String, Origin)]) -> Diagnostic {
    let (first, links) = links_of(chain);
    let mut told =
        Diagnostic::new(Slug::CircularCombination, format!("combination `{first}` contains itself: {links}"));
    for (index, (name, at)) in chain.iter().enumerate().take(MOST_LABELS) {
        let next = chain.get(index + 1).map_or(first, |(next, _)| next.as_str());
        let contained = if next == name { "itself".to_owned() } else { format!("`{next}`") };
        told = told.label(*at, format!("`{name}` contains {contained}"));
    }
    told.why("A combination is a factored sum of cases and of other combinations; followed down, it must end at cases.")
        .help("build one of them from cases alone")
}

pub fn spacing_count(here: Here<'_>, loads: usize, spacings: usize) -> Diagnostic {
    let (message, label) = match (loads, spacings) {
        (_, 0) => (
            format!("a train of {loads} loads needs the distance between them"),
            "how far apart are its loads?".to_owned(),
        ),
        (1, _) => ("a single load has no spacing".to_owned(), "there is nothing to be spaced from".to_owned()),
        (loads, found) => (
            format!("{loads} loads have {} spaces between them, not {found}", loads - 1),
            format!("{found} spacings are given"),
        ),
    };
    let told = Diagnostic::new(Slug::TrainSpacing, message)
        .label(here.at, label)
        .why("Spacings stand between neighbouring loads, the leading load first; one alone is taken for all of them.");
    match loads {
        1 => told.help("leave `spaced …` out, or name the other loads"),
        2 => told.help("give one spacing: `40 kN, 60 kN spaced 3 m`"),
        more => told.help(format!("give one spacing for all, or {}: `spaced 3 m, 4.5 m`", more - 1)),
    }
}

pub fn spacing_negative(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::TrainSpacing, format!("the spacing {} is negative", here.quote()))
        .label(here.at, "a distance, 0 or more")
        .why("Loads are named in their order, the leading one first, so each follows the one before at some distance.")
        .help("name the loads in the order in which they pass")
}

pub fn path_doubles_back(here: Here<'_>, member: &str) -> Diagnostic {
    Diagnostic::new(Slug::PathDoublesBack, format!("the train would pass {member} twice"))
        .label(here.at, format!("goes along {member} more than once"))
        .why("A train always runs both ways, so its path is stated once, from one end to the other.")
        .help("name each member of the path once")
}
