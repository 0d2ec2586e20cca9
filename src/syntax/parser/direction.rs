//! Directions: words, bearings, angles and vectors.
//!
//! Must not know: statements.

use chumsky::prelude::*;

use super::name::name_ref;
use super::rule::{Fault, Production, Rule, label, source_span};
use crate::syntax::token::Token;
use crate::syntax::tree::{Cardinal, Direction, DirectionKind, ExprId};

/// `direction`: `up`, `30°`, `40° below left`, `(3, -4)`, `toward C`.
pub(super) fn direction<'t, E: Fault<'t>>(
    product: Rule<'t, E, ExprId>,
    expression: impl Production<'t, E, ExprId>,
) -> impl Production<'t, E, Direction> {
    let word = cardinal()
        .map_with(|cardinal, extra| Direction { kind: DirectionKind::Word(cardinal), span: source_span(extra) });
    choice((word, toward(expression), bearing(product))).labelled(label::DIRECTION)
}

/// `cardinal`: the four directions of the page.
pub(super) fn cardinal<'t, E: Fault<'t>>() -> impl Production<'t, E, Cardinal> {
    select! {
        Token::Right => Cardinal::Right,
        Token::Up => Cardinal::Up,
        Token::Left => Cardinal::Left,
        Token::Down => Cardinal::Down,
    }
    .labelled(label::CARDINAL)
}

/// `toward`: `toward C`.
pub(super) fn toward<'t, E: Fault<'t>>(
    expression: impl Production<'t, E, ExprId>,
) -> impl Production<'t, E, Direction> {
    just(Token::Toward)
        .ignore_then(name_ref(expression))
        .map_with(|joint, extra| Direction { kind: DirectionKind::Toward(joint), span: source_span(extra) })
}

/// `bearing`: an angle or a vector, or an angle from one of the four directions.
fn bearing<'t, E: Fault<'t>>(product: Rule<'t, E, ExprId>) -> impl Production<'t, E, Direction> {
    product.then(choice((from_horizontal(), from_vertical())).or_not()).map_with(|(angle, turn), extra| {
        let span = source_span(extra);
        let kind = match turn {
            None => DirectionKind::Value(angle),
            Some(Turned::FromHorizontal { vertical, horizontal }) => {
                DirectionKind::FromHorizontal { angle, vertical, horizontal }
            }
            Some(Turned::FromVertical { horizontal, vertical }) => {
                DirectionKind::FromVertical { angle, horizontal, vertical }
            }
        };
        Direction { kind, span }
    })
}

#[derive(Clone, Copy)]
enum Turned {
    FromHorizontal { vertical: Cardinal, horizontal: Cardinal },
    FromVertical { horizontal: Cardinal, vertical: Cardinal },
}

/// `from_horizontal`: `below left`.
fn from_horizontal<'t, E: Fault<'t>>() -> impl Production<'t, E, Turned> {
    let vertical = select! { Token::Above => Cardinal::Up, Token::Below => Cardinal::Down };
    vertical.then(sideways()).map(|(vertical, horizontal)| Turned::FromHorizontal { vertical, horizontal })
}

/// `from_vertical`: `left of up`.
fn from_vertical<'t, E: Fault<'t>>() -> impl Production<'t, E, Turned> {
    let vertical = select! { Token::Up => Cardinal::Up, Token::Down => Cardinal::Down };
    sideways()
        .then_ignore(just(Token::Of))
        .then(vertical)
        .map(|(horizontal, vertical)| Turned::FromVertical { horizontal, vertical })
}

/// `sideways`: `left` or `right`.
fn sideways<'t, E: Fault<'t>>() -> impl Production<'t, E, Cardinal> {
    select! { Token::Left => Cardinal::Left, Token::Right => Cardinal::Right }.labelled(label::SIDEWAYS)
}
