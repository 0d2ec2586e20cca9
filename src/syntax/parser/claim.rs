//! Claims: what `expect` says.
//!
//! Must not know: other statements.

use chumsky::prelude::*;

use super::parts::Parts;
use super::rule::{Fault, Rule, label, source_span, spanned};
use super::{direction::cardinal, expression::axis};
use crate::base::Span;
use crate::syntax::error::SyntaxError;
use crate::syntax::token::Token;
use crate::syntax::tree::{
    Axis, Claim, ClaimWhat, ClaimedValue, Component, Direction, DirectionKind, ExpectStatement, ExprId, Relation,
    Sense, StatementKind, Under, ValueClaim,
};

/// `expect`: `expect force D-E: 69.7 kN tension under strength`
pub(super) fn expect<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Expect)
        .ignore_then(spanned(Token::Not).or_not())
        .then(claim(parts))
        .map(|(not, claim)| StatementKind::Expect(Box::new(ExpectStatement { not, claim })))
        .boxed()
}

/// `claim`: about the structure as a whole, or about a value.
fn claim<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, Claim> {
    choice((
        just(Token::Determinate).to(Claim::Determinate),
        just(Token::Indeterminate).ignore_then(parts.scalar.clone().or_not()).map(Claim::Indeterminate),
        just(Token::Unstable).to(Claim::Unstable),
        value_claim(parts).map(|claim| Claim::Value(Box::new(claim))),
    ))
    .labelled(label::CLAIM)
    .boxed()
}

/// `value_claim`: `deflection K down <= 10 mm under service`
fn value_claim<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, ValueClaim> {
    claim_what()
        .then(parts.place.clone())
        .then(component(parts).or_not())
        .then(sense().or_not())
        .then(parts.at_position.clone().or_not())
        .then(relation())
        .then(claimed_value(parts))
        .then(sense().or_not())
        .map(|(((((((what, place), component), place_sense), at), relation), value), sense)| {
            let ((what, what_span), within, under) = (what, None, None);
            ValueClaim { what, what_span, place, component, place_sense, at, relation, value, sense, within, under }
        })
        .foldl_with(claim_clause(parts).repeated(), |mut claim, (clause, span), extra| {
            let earlier = match clause {
                ClaimClause::Within(tolerance) => {
                    claim.within.replace(tolerance).map(|tolerance| extra.state().expr_span(tolerance))
                }
                ClaimClause::Under(under) => claim.under.replace(under).map(|under| match under {
                    Under::All(span) => span,
                    Under::Case(name) => name.span,
                }),
            };
            if let Some(first) = earlier {
                extra.state().slip(SyntaxError::ClauseTwice { first, second: span });
            }
            claim
        })
        .boxed()
}

/// `claim_what`: the computed quantity; here `moment` is no keyword.
fn claim_what<'t, E: Fault<'t>>() -> Rule<'t, E, (ClaimWhat, Span)> {
    select! {
        Token::Reaction => ClaimWhat::Reaction,
        Token::Force => ClaimWhat::Force,
        Token::Shear => ClaimWhat::Shear,
        Token::Moment => ClaimWhat::Moment,
        Token::Deflection => ClaimWhat::Deflection,
        Token::Rotation => ClaimWhat::Rotation,
    }
    .map_with(|what, extra| (what, source_span(extra)))
    .boxed()
}

/// `component`: `.x`, `up`, `@ 30°`
fn component<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, Component> {
    let of_axis = just(Token::Dot).ignore_then(axis()).map(|(axis, span)| match axis {
        Axis::X => Component::X(span),
        Axis::Y => Component::Y(span),
    });
    let of_word = cardinal().map_with(|cardinal, extra| {
        Component::Along(Direction { kind: DirectionKind::Word(cardinal), span: source_span(extra) })
    });
    let of_direction = just(Token::Direct).ignore_then(parts.direction.clone()).map(Component::Along);
    choice((of_axis, of_word, of_direction)).boxed()
}

/// `relation`: `:`, `<=` or `>=`
fn relation<'t, E: Fault<'t>>() -> Rule<'t, E, Relation> {
    select! { Token::Colon => Relation::Equals, Token::AtMost => Relation::AtMost, Token::AtLeast => Relation::AtLeast }
        .labelled(label::RELATION)
        .boxed()
}

/// `claimed_value`: `zero`, or a value
fn claimed_value<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, ClaimedValue> {
    choice((spanned(Token::Zero).map(ClaimedValue::Zero), parts.expression.clone().map(ClaimedValue::Value))).boxed()
}

/// `sense`: `tension`, `ccw`, `sagging`, `tension below`
fn sense<'t, E: Fault<'t>>() -> Rule<'t, E, (Sense, Span)> {
    let side = select! {
        Token::Above => Sense::TensionAbove,
        Token::Below => Sense::TensionBelow,
        Token::Left => Sense::TensionLeft,
        Token::Right => Sense::TensionRight,
    };
    let tension = just(Token::Tension).ignore_then(side.or_not()).map(|side| side.unwrap_or(Sense::Tension));
    let word = select! {
        Token::Compression => Sense::Compression,
        Token::Cw => Sense::Clockwise,
        Token::Ccw => Sense::Counterclockwise,
        Token::Sagging => Sense::Sagging,
        Token::Hogging => Sense::Hogging,
    };
    choice((tension, word)).map_with(|sense, extra| (sense, source_span(extra))).boxed()
}

#[derive(Clone, Copy)]
enum ClaimClause {
    Within(ExprId),
    Under(Under),
}

/// `claim_clause`: `within 1%`, `under service`, in any order, each once
fn claim_clause<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, (ClaimClause, Span)> {
    choice((
        just(Token::Within).ignore_then(parts.scalar.clone()).map(ClaimClause::Within),
        just(Token::Under).ignore_then(under_case(parts)).map(ClaimClause::Under),
    ))
    .map_with(|clause, extra| (clause, source_span(extra)))
    .boxed()
}

/// `under_case`: `all`, or the name of a case or combination
fn under_case<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, Under> {
    choice((spanned(Token::All).map(Under::All), parts.name_ref.clone().map(Under::Case))).boxed()
}
