//! Claims and what became of them, in words.
//!
//! Must not know: how a claim is judged.

use crate::base::MemberId;
use crate::check::words;
use crate::quantity::format::{Figures, trimmed, with_symbol};
use crate::structure::{
    ClaimPlace, ClaimedValue, ComponentWord, Passage, Structure, ValueClaim, VectorForm, VectorTolerance,
};
use crate::syntax::tree::{ClaimWhat, Relation};

use crate::check::outcome::Outcome;

/// A chain of more joints is told by its ends.
const MOST_NAMED: usize = 8;
/// The most figures a claimed value is repeated with.
const CLAIMED_FIGURES: usize = 6;

/// `reaction G is 33.2 kN up under snow`, `moment A-B reaches 12 kN·m sagging,
/// 2.000 m from A, under crane`
pub fn sentence(met: &Outcome<'_>) -> String {
    let structure = met.gauge.structure;
    let subject = match met.member {
        Some(member) => format!("{} {}", what_word(met.claim.what), passed_name(structure, member)),
        None => subject_words(structure, met.claim),
    };
    let (is, under) = (met.words(), met.under());
    match (met.value.train, met.value.place()) {
        (None, _) => format!("{subject} is {is}{under}"),
        (Some(_), None) => format!("{subject} reaches {is}{under}"),
        (Some(_), Some(_)) => format!("{subject} reaches {is},{under}"),
    }
}

/// A member's name as a chain passes it.
pub fn passed_name(structure: &Structure, (id, passage): (MemberId, Passage)) -> String {
    let member = &structure.members[id];
    match passage {
        Passage::Backward => format!("{}-{}", structure.joint_name(member.end), structure.joint_name(member.start)),
        Passage::Forward => structure.member_name(id),
    }
}

pub fn subject_words(structure: &Structure, claim: &ValueClaim) -> String {
    let what = what_word(claim.what);
    match &claim.place {
        ClaimPlace::Joint(joint) => {
            let component = match claim.component.as_ref().map(|component| component.word) {
                Some(ComponentWord::X) => ".x",
                Some(ComponentWord::Y) => ".y",
                _ => "",
            };
            format!("{what} {}{component}", structure.joint_name(*joint))
        }
        ClaimPlace::Members { path, .. } => {
            format!("{what} {}", chain_name(structure, path))
        }
    }
}

/// `A-B-C`; a long chain by its ends, `A-B-…-L`.
fn chain_name(structure: &Structure, path: &[(MemberId, Passage)]) -> String {
    let joints = structure.joints_along(path);
    let names: Vec<&str> = joints.iter().map(|joint| structure.joint_name(*joint)).collect();
    match names.as_slice() {
        [first, second, .., last] if names.len() > MOST_NAMED => format!("{first}-{second}-…-{last}"),
        _ => names.join("-"),
    }
}

/// The word of the notation.
pub const fn what_word(what: ClaimWhat) -> &'static str {
    match what {
        ClaimWhat::Reaction => "reaction",
        ClaimWhat::Force => "force",
        ClaimWhat::Shear => "shear",
        ClaimWhat::Moment => "moment",
        ClaimWhat::Deflection => "deflection",
        ClaimWhat::Rotation => "rotation",
    }
}

pub fn claimed_words(structure: &Structure, claim: &ValueClaim, figures: Figures) -> String {
    let relation = match claim.relation {
        Relation::Equals => "",
        Relation::AtMost => "at most ",
        Relation::AtLeast => "at least ",
    };
    format!("{relation}{}", value_words(structure, claim, figures))
}

/// The claimed value, without what it bounds: as written, or as computed, with
/// as many figures as what was found.
pub fn value_words(structure: &Structure, claim: &ValueClaim, figures: Figures) -> String {
    let sense = claim.sense.map_or(String::new(), |sense| format!(" {}", sense.words()));
    if let Some(written) = &claim.written {
        return format!("{}{sense}", written.text);
    }
    let units = words::units(structure);
    let most = CLAIMED_FIGURES.max(figures.stated().unwrap_or(0));
    let value = match &claim.value {
        ClaimedValue::Scalar { value, .. } if value.is_zero() => "zero".to_owned(),
        ClaimedValue::Scalar { value, .. } if claim.what == ClaimWhat::Deflection => {
            let unit = &units.deflection;
            format!("{} {}", trimmed(unit.convert(value.to_f64()), most), unit.symbol)
        }
        ClaimedValue::Scalar { value, .. } if claim.what == ClaimWhat::Rotation => {
            format!("{} rad", trimmed(value.to_f64(), most))
        }
        ClaimedValue::Scalar { value, dimension, .. } => {
            if figures == structure.figures {
                units.show(&crate::quantity::Quantity::new(value.clone(), *dimension))
            } else {
                units.display_unit(*dimension).show(value.to_f64(), figures)
            }
        }
        ClaimedValue::Vector { value: [x, y], dimension, form, .. } => match form {
            VectorForm::Cardinal(_) => {
                let unit = units.display_unit(*dimension);
                let size = trimmed(unit.convert(x.to_f64().hypot(y.to_f64())), most);
                format!("{size} {} {}", unit.symbol, words::direction([x.to_f64(), y.to_f64()]))
            }
            _ => {
                let unit = units.display_unit(*dimension);
                let [x, y] = [x, y].map(|part| trimmed(unit.convert(part.to_f64()), most));
                format!("({x}, {y}) {}", unit.symbol)
            }
        },
    };
    format!("{value}{sense}")
}

pub fn tolerance_words(structure: &Structure, claim: &ValueClaim) -> Option<String> {
    if claim.relation != Relation::Equals {
        return None;
    }
    let amount = match &claim.value {
        ClaimedValue::Scalar { tolerance, dimension, .. } => (tolerance.0, *dimension),
        ClaimedValue::Vector { tolerance: VectorTolerance::Length(length), dimension, .. } => (*length, *dimension),
        ClaimedValue::Vector { tolerance: VectorTolerance::Components([x, y]), dimension, .. } => {
            (x.max(*y), *dimension)
        }
    };
    if amount.0 == 0.0 {
        return None;
    }
    let units = words::units(structure);
    let unit = match &claim.written {
        Some(written) => written.unit.clone(),
        None if claim.what == ClaimWhat::Deflection => units.deflection,
        None => units.display_unit(amount.1),
    };
    let text = match (claim.what, &claim.written) {
        (ClaimWhat::Rotation, None) => format!("{} rad", trimmed(amount.0, 2)),
        _ => with_symbol(&trimmed(unit.convert(amount.0), 2), &unit.symbol),
    };
    Some(format!("As written the claim is held to ±{text}."))
}
