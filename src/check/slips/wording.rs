//! Slips in a sentence.
//!
//! Must not know: how a slip is found.

use crate::check::words;
use crate::structure::VectorForm;

use super::kinds::Slip;
use super::sheet::Told;
use super::teller::Teller;
use super::{Explained, Named};

/// The slip, or the two that may be it, in one sentence.
pub fn explained(teller: &Teller<'_>, claimed: &str, told: &[Told]) -> Explained {
    let named = told.iter().map(|Told { slip, .. }| Named {
        slug: if *slip == Slip::SenseReversed && teller.is_unsigned() { "sense-unsaid" } else { slip.word() },
        load: slip.load().and_then(|load| teller.groups.get(load)).map(|group| group.origin),
    });
    let clause = |told: &Told| match told.is_reversed {
        true => format!("{}, and {}", told.slip.clause(teller), teller.sense_reversed()),
        false => told.slip.clause(teller),
    };
    let clauses: Vec<String> = told.iter().map(clause).collect();
    let text = match told {
        [only] if !only.is_reversed => alone(teller, only.slip),
        _ => None,
    };
    let either = if told.len() > 1 { "either " } else { "" };
    let text = text.unwrap_or_else(|| format!("{claimed} follows when {either}{}.", clauses.join(", or ")));
    Explained { named: named.collect(), text }
}

/// A sentence of its own, where the answer was right but for its form.
fn alone(teller: &Teller<'_>, slip: Slip) -> Option<String> {
    let (subject, clause) = (&teller.claim.subject, || slip.clause(teller));
    Some(match slip {
        Slip::SenseReversed if teller.is_unsigned() => {
            format!("The size is right; without a sense word it is claimed {}.", teller.unsigned_sense())
        }
        Slip::SenseReversed => match teller.turned_by_minus() {
            Some(word) => format!("The size and `{word}` are right; the minus before them turns `{word}` round."),
            None => format!("The size is right; {}.", clause()),
        },
        Slip::WholeForPart(_) if subject.component.is_none() => {
            let towards = words::way(teller.structure, teller.reaction());
            format!("The size of the whole reaction is right; it acts {towards}.")
        }
        Slip::PartsExchanged if subject.vector == Some(VectorForm::Components) => {
            format!("Both numbers are right; {}.", clause())
        }
        Slip::PartReversed(axis) => {
            format!("Both sizes and the {} sense are right; {}.", axis.other(), clause())
        }
        slip if slip.is_of_units() => format!("{}.", words::capital(&clause())),
        _ => return None,
    })
}
