//! A minus before a size that has a sense word: `-1.11 kN tension`, `-5 kN
//! down`. The one turns the other round, and most likely one of them was meant.
//! And a size taken from nothing, `0-6 kN/m down`, where a range may be meant.
//!
//! Must not know: forces, whether a claim holds.

use crate::base::{Origin, Span};
use crate::diagnostic::{Diagnostic, Slug};
use crate::syntax::tree::{
    BinaryOp, Cardinal, Claim, ClaimedValue, Direction, DirectionKind, Expr, ExprId, ExprKind, Fit, Relation,
    StatementKind, Tree,
};

use super::MOST_TOLD;

/// A size with both: where they stand, the size without its minus, the word,
/// and the word for what it comes to.
struct Both<'t> {
    at: Span,
    size: &'t str,
    word: String,
    opposite: String,
}

pub fn minus_and_sense(tree: &Tree, text: &str) -> Vec<Diagnostic> {
    let mut found = sizes_turned(tree, text);
    found.extend(tree.every_expr().filter_map(|(_, expr)| range(tree, expr, text)).take(MOST_TOLD));
    found
}

/// `0-6 kN/m down`: taken from nothing, it points the other way, and most likely a range is meant.
fn range(tree: &Tree, difference: &Expr, text: &str) -> Option<Diagnostic> {
    let ExprKind::Binary { op: BinaryOp::Subtract, left, right } = difference.kind else { return None };
    let ExprKind::Directed { magnitude, direction } = tree.expr(right)?.kind else { return None };
    let (low, high) = (tree.expr(left)?, tree.expr(magnitude)?);
    let ExprKind::Number { number, unit: low_unit } = low.kind else { return None };
    let ExprKind::Number { unit, .. } = high.kind else { return None };
    if !number.text(text).bytes().all(|byte| matches!(byte, b'0' | b'.' | b'_')) {
        return None;
    }
    let (word, opposite) = direction_words(direction, text)?;
    let missing = unit.filter(|_| low_unit.is_none()).map_or(String::new(), |unit| format!(" {}", unit.text(text)));
    let (low, high) = (low.span.text(text), high.span.text(text));
    let is_spread = unit.is_none_or(|unit| unit.text(text).contains('/'));
    let range = if is_spread { format!("{low}{missing} to ") } else { String::new() };
    let at = Origin::new(tree.file, difference.span);
    Some(
        asked(at, &word, high, &opposite)
            .why("A `-` between two sizes subtracts; from one size to another a load grows with `to`.")
            .help(format!("write `{range}{high} {word}` or `{high} {opposite}`, whichever is meant")),
    )
}

fn asked(at: Origin, word: &str, size: &str, opposite: &str) -> Diagnostic {
    let word = word.trim_start_matches("@ ");
    Diagnostic::new(Slug::MinusAndSense, format!("a minus and `{word}`: is it both?"))
        .label(at, format!("as written: {size} {opposite}"))
}

fn sizes_turned(tree: &Tree, text: &str) -> Vec<Diagnostic> {
    let (mut found, mut limits): (Vec<Both>, Vec<ExprId>) = (Vec::new(), Vec::new());
    for statement in tree.every_statement() {
        match &statement.kind {
            // A limit that is negative is an error of its own.
            StatementKind::Expect(expect) if limit(&expect.claim).is_some() => limits.extend(limit(&expect.claim)),
            kind if found.len() < MOST_TOLD => found.extend(sensed(tree, kind, text)),
            _ => {}
        }
    }
    limits.sort_unstable();
    let others = tree.every_expr().filter(|(id, _)| limits.binary_search(id).is_err());
    found.extend(others.filter_map(|(_, expr)| directed(tree, expr, text)).take(MOST_TOLD));
    found.sort_by_key(|both| both.at.start);
    let told = found.into_iter().map(|both| {
        let Both { at, size, word, opposite } = both;
        asked(Origin::new(tree.file, at), &word, size, &opposite)
            .why("The word says which way; the minus turns it round once more.")
            .help(format!("write `{size} {word}` or `{size} {opposite}`, whichever is meant"))
    });
    told.take(MOST_TOLD).collect()
}

fn limit(claim: &Claim) -> Option<ExprId> {
    match claim {
        Claim::Value(claim) if claim.relation != Relation::Equals => match claim.value {
            ClaimedValue::Value(id) => Some(id),
            ClaimedValue::Zero(_) => None,
        },
        _ => None,
    }
}

/// `-5 kN down`, however the minus was taken.
fn directed<'t>(tree: &Tree, expr: &Expr, text: &'t str) -> Option<Both<'t>> {
    let (size, direction) = match expr.kind {
        ExprKind::Negative(inner) => match tree.expr(inner)?.kind {
            ExprKind::Directed { magnitude, direction } => (literal(tree, magnitude)?, direction),
            _ => return None,
        },
        ExprKind::Directed { magnitude, direction } => (negative(tree, magnitude)?, direction),
        _ => return None,
    };
    let (word, opposite) = direction_words(direction, text)?;
    Some(Both { at: expr.span, size: size.text(text), word, opposite })
}

/// `-1.11 kN tension`, `-3 mm long`, `-5 kN*m cw`
fn sensed<'t>(tree: &Tree, kind: &StatementKind, text: &'t str) -> Option<Both<'t>> {
    let (value, word, opposite) = match kind {
        StatementKind::Expect(expect) => {
            let Claim::Value(claim) = &expect.claim else { return None };
            let sense = claim.place_sense.or(claim.sense);
            let (ClaimedValue::Value(value), Some((sense, _))) = (claim.value, sense) else { return None };
            (value, sense.words(), sense.opposite().words())
        }
        StatementKind::Moment(moment) => {
            let turn = moment.turn?;
            (moment.value, turn.words(), turn.opposite().words())
        }
        StatementKind::Settle { amount, turn, .. } => {
            let turn = (*turn)?;
            (*amount, turn.words(), turn.opposite().words())
        }
        StatementKind::Misfit { amount, sense, .. } => {
            let (word, opposite) = match (*sense)? {
                Fit::Long => ("long", "short"),
                Fit::Short => ("short", "long"),
            };
            (*amount, word, opposite)
        }
        _ => return None,
    };
    let size = negative(tree, value)?;
    let at = tree.expr(value)?.span;
    Some(Both { at, size: size.text(text), word: word.to_owned(), opposite: opposite.to_owned() })
}

/// The literal behind a minus.
fn negative(tree: &Tree, id: ExprId) -> Option<Span> {
    match tree.expr(id)?.kind {
        ExprKind::Negative(inner) => literal(tree, inner),
        ExprKind::Group { inner, unit: None } => negative(tree, inner),
        _ => None,
    }
}

fn literal(tree: &Tree, id: ExprId) -> Option<Span> {
    let expr = tree.expr(id)?;
    matches!(expr.kind, ExprKind::Number { .. } | ExprKind::Neighbours(_)).then_some(expr.span)
}

/// A direction in words and the one against it; an angle alone is no word.
fn direction_words(direction: Direction, text: &str) -> Option<(String, String)> {
    let opposite = match direction.kind {
        DirectionKind::Word(word) => word.opposite().words().to_owned(),
        DirectionKind::FromHorizontal { vertical, horizontal, .. } => {
            let vertical = if vertical == Cardinal::Down { "above" } else { "below" };
            format!("@ {} {vertical} {}", angle(direction, text)?, horizontal.opposite().words())
        }
        DirectionKind::FromVertical { horizontal, vertical, .. } => {
            format!(
                "@ {} {} of {}",
                angle(direction, text)?,
                horizontal.opposite().words(),
                vertical.opposite().words()
            )
        }
        DirectionKind::Value(_) | DirectionKind::Toward(_) => return None,
    };
    let at = if matches!(direction.kind, DirectionKind::Word(_)) { "" } else { "@ " };
    Some((format!("{at}{}", direction.span.text(text)), opposite))
}

/// `35°` of `35° below right`
fn angle(direction: Direction, text: &str) -> Option<&str> {
    direction.span.text(text).split_whitespace().next()
}
