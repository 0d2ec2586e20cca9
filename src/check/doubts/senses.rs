//! A minus before a size that has a sense word: `-1.11 kN tension`, `-5 kN
//! down`. The one turns the other round, and most likely one of them was meant.
//! And a size taken from nothing, `0-6 kN/m down`, where a range may be meant.
//! And a minus before a limit, `<= -20 kN`, which bounds a size.
//!
//! Must not know: forces, whether a claim holds.

use crate::base::{Origin, Span};
use crate::diagnostic::{Diagnostic, Slug};
use crate::syntax::tree::{
    BinaryOp, Cardinal, Claim, ClaimWhat, ClaimedValue, Direction, DirectionKind, ExprId, ExprKind, Fit, Relation,
    Sense, Statement, StatementKind, Tree, Turn,
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
    let ids = (0..tree.exprs.len()).filter_map(|index| u32::try_from(index).ok().map(ExprId));
    found.extend(ids.filter_map(|id| range(tree, id, text)).take(MOST_TOLD));
    found
}

/// `0-6 kN/m down`: taken from nothing, it points the other way, and most likely a range is meant.
fn range(tree: &Tree, id: ExprId, text: &str) -> Option<Diagnostic> {
    let difference = tree.expr(id)?;
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
    let told =
        Diagnostic::new(Slug::MinusAndSense, format!("a minus and `{}`: is it both?", word.trim_start_matches("@ ")))
            .label(Origin::new(tree.file, difference.span), format!("as written: {high} {opposite}"))
            .why("A `-` between two sizes subtracts; from one size to another a load grows with `to`.");
    Some(match unit.is_none_or(|unit| unit.text(text).contains('/')) {
        true => {
            told.help(format!("write `{low}{missing} to {high} {word}` or `{high} {opposite}`, whichever is meant"))
        }
        false => told.help(format!("write `{high} {word}` or `{high} {opposite}`, whichever is meant")),
    })
}

fn sizes_turned(tree: &Tree, text: &str) -> Vec<Diagnostic> {
    let directed = (0..tree.exprs.len()).filter_map(|index| {
        let id = ExprId(u32::try_from(index).ok()?);
        directed(tree, id, text)
    });
    let mut found: Vec<Both> = directed.take(MOST_TOLD).collect();
    let mut limits: Vec<Diagnostic> = Vec::new();
    let mut open: Vec<&Statement> = tree.statements.iter().rev().collect();
    while let Some(statement) = open.pop() {
        match &statement.kind {
            StatementKind::Case { body, .. } => open.extend(body.iter().rev()),
            StatementKind::For(repeat) => open.extend(repeat.body.iter().rev()),
            StatementKind::Expect(expect) if is_limit(&expect.claim) => {
                limits.extend(limit(tree, &expect.claim, text).filter(|_| limits.len() < MOST_TOLD));
            }
            kind if found.len() < 2 * MOST_TOLD => found.extend(sensed(tree, kind, text)),
            _ => {}
        }
    }
    found.sort_by_key(|both| both.at.start);
    let told = found.into_iter().map(|both| {
        let Both { at, size, word, opposite } = both;
        Diagnostic::new(Slug::MinusAndSense, format!("a minus and `{}`: is it both?", word.trim_start_matches("@ ")))
            .label(Origin::new(tree.file, at), format!("as written: {size} {opposite}"))
            .why("The word says which way; the minus turns it round once more.")
            .help(format!("write `{size} {word}` or `{size} {opposite}`, whichever is meant"))
    });
    told.take(MOST_TOLD).chain(limits).collect()
}

fn is_limit(claim: &Claim) -> bool {
    matches!(claim, Claim::Value(claim) if claim.relation != Relation::Equals)
}

/// `<= -20 kN`
fn limit(tree: &Tree, claim: &Claim, text: &str) -> Option<Diagnostic> {
    let Claim::Value(claim) = claim else { return None };
    let ClaimedValue::Value(value) = claim.value else { return None };
    let size = negative(tree, value)?.text(text);
    let (sign, words) = match claim.relation {
        Relation::AtLeast => (">=", "at least"),
        _ => ("<=", "at most"),
    };
    let told = Diagnostic::new(Slug::MinusAndSense, "a limit is one of size: its minus counts for nothing")
        .label(Origin::new(tree.file, tree.expr(value)?.span), format!("as written: {words} {size}"))
        .why("`<=` and `>=` compare sizes; which way is said by a word.");
    let way = match (claim.sense, claim.what) {
        (Some(_), _) => "the sense word says which way",
        (None, ClaimWhat::Reaction | ClaimWhat::Deflection) => "a direction before it says which way, such as `down`",
        (None, ClaimWhat::Force) => "`tension` or `compression` says which way",
        (None, ClaimWhat::Moment) => "the side in tension says which way: `sagging`, `hogging`",
        (None, ClaimWhat::Rotation) => "`cw` or `ccw` says which way",
        (None, ClaimWhat::Shear) => "a shear has no word for its sign: claim the value with `:`",
    };
    Some(told.help(format!("write `{sign} {size}`; {way}")))
}

/// `-5 kN down`, however the minus was taken.
fn directed<'t>(tree: &Tree, id: ExprId, text: &'t str) -> Option<Both<'t>> {
    let expr = tree.expr(id)?;
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
            let (ClaimedValue::Value(value), Some((sense, _))) = (claim.value, claim.sense) else { return None };
            (value, sense.words(), other_sense(sense).words())
        }
        StatementKind::Moment(moment) => {
            let (word, opposite) = turn_words(moment.turn?);
            (moment.value, word, opposite)
        }
        StatementKind::Settle { amount, turn, .. } => {
            let (word, opposite) = turn_words((*turn)?);
            (*amount, word, opposite)
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
        DirectionKind::Word(word) => other_way(word).to_owned(),
        DirectionKind::FromHorizontal { vertical, horizontal, .. } => {
            let vertical = if vertical == Cardinal::Down { "above" } else { "below" };
            format!("@ {} {vertical} {}", angle(direction, text)?, other_way(horizontal))
        }
        DirectionKind::FromVertical { horizontal, vertical, .. } => {
            format!("@ {} {} of {}", angle(direction, text)?, other_way(horizontal), other_way(vertical))
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

const fn other_way(word: Cardinal) -> &'static str {
    match word {
        Cardinal::Right => "left",
        Cardinal::Up => "down",
        Cardinal::Left => "right",
        Cardinal::Down => "up",
    }
}

const fn turn_words(turn: Turn) -> (&'static str, &'static str) {
    match turn {
        Turn::Clockwise => ("cw", "ccw"),
        Turn::Counterclockwise => ("ccw", "cw"),
    }
}

const fn other_sense(sense: Sense) -> Sense {
    match sense {
        Sense::Tension => Sense::Compression,
        Sense::Compression => Sense::Tension,
        Sense::Clockwise => Sense::Counterclockwise,
        Sense::Counterclockwise => Sense::Clockwise,
        Sense::Sagging => Sense::Hogging,
        Sense::Hogging => Sense::Sagging,
        Sense::TensionAbove => Sense::TensionBelow,
        Sense::TensionBelow => Sense::TensionAbove,
        Sense::TensionLeft => Sense::TensionRight,
        Sense::TensionRight => Sense::TensionLeft,
    }
}
