//! Claims and what became of them, in words.
//!
//! Must not know: how a claim is judged.

use crate::base::MemberId;
use crate::check::words;
use crate::quantity::format::{Figures, trimmed, with_symbol};
use crate::quantity::{Dimension, Quantity};
use crate::structure::{ClaimSubject, ComponentWord, Passage, ResultOf, Structure, Tolerance, ValueClaim, VectorForm};
use crate::syntax::tree::Relation;

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
        Some(member) => format!("{} {}", met.claim.subject.of.word(), passed_name(structure, member)),
        None => subject_words(structure, &met.claim.subject),
    };
    let (is, under) = (met.words(), met.gauge.under());
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

pub fn subject_words(structure: &Structure, subject: &ClaimSubject) -> String {
    let joint = match &subject.of {
        ResultOf::Reaction(support) | ResultOf::Couple(support) => structure.supports[*support].joint,
        ResultOf::Movement(joint) | ResultOf::Rotation(joint) => *joint,
        ResultOf::Inside(_, chain) | ResultOf::Deflection(chain) => {
            return format!("{} {}", subject.of.word(), chain_name(structure, &chain.path));
        }
    };
    let component = match subject.component.as_ref().map(|component| component.word) {
        Some(ComponentWord::X) => ".x",
        Some(ComponentWord::Y) => ".y",
        Some(ComponentWord::Cardinal(_) | ComponentWord::Other) | None => "",
    };
    format!("{} {}{component}", subject.of.word(), structure.joint_name(joint))
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
    let subject = &claim.subject;
    let sense = subject.sense.map_or(String::new(), |sense| format!(" {}", sense.words()));
    if let Some(written) = &claim.written {
        return format!("{}{sense}", written.text);
    }
    let dimension = subject.of.dimension();
    let unit = words::unit_of(structure, dimension);
    let most = CLAIMED_FIGURES.max(figures.stated().unwrap_or(0));
    let digits = |si: f64| trimmed(unit.convert(si), most);
    let [x, y] = claim.claimed();
    let value = match subject.vector {
        None if claim.numbers[0].is_zero() => "zero".to_owned(),
        None if matches!(dimension, Dimension::LENGTH | Dimension::ANGLE) => format!("{} {}", digits(x), unit.symbol),
        None if figures == structure.figures => {
            words::units(structure).show(&Quantity::new(claim.numbers[0].clone(), dimension))
        }
        None => unit.show(x, figures),
        Some(VectorForm::Cardinal(_)) => {
            format!("{} {} {}", digits(x.hypot(y)), unit.symbol, words::direction([x, y]))
        }
        Some(VectorForm::Components | VectorForm::Directed(_)) => {
            format!("({}, {}) {}", digits(x), digits(y), unit.symbol)
        }
    };
    format!("{value}{sense}")
}

/// How near a value that fails had to be.
pub fn tolerance_words(structure: &Structure, claim: &ValueClaim, found: [f64; 2]) -> Option<String> {
    if claim.relation != Relation::Equals {
        return None;
    }
    let (amount, what) = match claim.tolerance {
        Tolerance::Each([x, y]) if matches!(claim.subject.vector, Some(VectorForm::Components)) && x != y => {
            let off = (found[0] - claim.claimed()[0]).abs();
            if off > x { (x, "its horizontal component") } else { (y, "its vertical component") }
        }
        Tolerance::Each([x, y]) => (x.max(y), "the claim"),
        Tolerance::Length(length) => (length, "the claim"),
    };
    if amount == 0.0 {
        return None;
    }
    let own = claim.written.as_ref().map(|written| written.unit.clone());
    let unit = own.unwrap_or_else(|| words::unit_of(structure, claim.subject.of.dimension()));
    let text = with_symbol(&trimmed(unit.convert(amount), 2), &unit.symbol);
    Some(format!("As written {what} is held to ±{text}."))
}
