//! Supports, and how they settle.
//!
//! Must not know: members, loads, claims.

use chumsky::prelude::*;

use super::parts::Parts;
use super::rule::{Fault, Rule, source_span};
use crate::base::Span;
use crate::syntax::error::SyntaxError;
use crate::syntax::token::Token;
use crate::syntax::tree::{Direction, Range, StatementKind, SupportKind, SupportStatement};

fn plain(kind: SupportKind, joints: Range) -> SupportStatement {
    SupportStatement { kind, joints, along: None, pushes: None, lifts_off: None, properties: Vec::new() }
}

/// `pin_or_fixed`: `pin A, G`, `fixed A`
pub(super) fn pin_or_fixed<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    select! { Token::Pin => SupportKind::Pin, Token::Fixed => SupportKind::Fixed }
        .then(parts.name_list.clone())
        .map(|(kind, joints)| StatementKind::Support(Box::new(plain(kind, joints))))
        .boxed()
}

/// `roller`: `roller C`, `roller C: along 30°, lifts off`
pub(super) fn roller<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let clause = roller_clause(parts);
    let more = just(Token::Comma).or_not().ignore_then(clause.clone());
    let first = just(Token::Colon).ignore_then(clause);
    just(Token::Roller)
        .ignore_then(parts.name_list.clone())
        .map(|joints| Box::new(plain(SupportKind::Roller, joints)))
        .then(first.map(Some).or_not())
        .map_with(|(roller, first), extra| match first.flatten() {
            Some((clause, span)) => put_clause(roller, clause, span, |slip| extra.state().slip(slip)),
            None => roller,
        })
        .foldl_with(more.repeated(), |roller, (clause, span), extra| {
            put_clause(roller, clause, span, |slip| extra.state().slip(slip))
        })
        .map(StatementKind::Support)
        .boxed()
}

#[derive(Clone, Copy)]
enum RollerClause {
    Along(Direction),
    Pushes(Direction),
    LiftsOff,
}

/// The line of the one reaction is given once, by either of its clauses.
fn put_clause(
    mut roller: Box<SupportStatement>,
    clause: RollerClause,
    span: Span,
    slip: impl FnOnce(SyntaxError),
) -> Box<SupportStatement> {
    let given = roller.along.or(roller.pushes).map(|direction| direction.span);
    let earlier = match clause {
        RollerClause::Along(direction) => {
            roller.along = roller.along.or(Some(direction));
            given
        }
        RollerClause::Pushes(direction) => {
            roller.pushes = roller.pushes.or(Some(direction));
            given
        }
        RollerClause::LiftsOff => roller.lifts_off.replace(span),
    };
    if let Some(first) = earlier {
        slip(SyntaxError::ClauseTwice { first, second: span });
    }
    roller
}

/// `roller_clause`: `along 30°`, `pushes 120°` or `lifts off`
fn roller_clause<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, (RollerClause, Span)> {
    choice((
        just(Token::Along).ignore_then(parts.direction.clone()).map(RollerClause::Along),
        just(Token::Pushes).ignore_then(parts.direction.clone()).map(RollerClause::Pushes),
        just(Token::Lifts).ignore_then(just(Token::Off)).to(RollerClause::LiftsOff),
    ))
    .map_with(|clause, extra| (clause, source_span(extra)))
    .boxed()
}

/// `guide`: `guide A: along up`
pub(super) fn guide<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Guide)
        .ignore_then(parts.name_list.clone())
        .then_ignore(just(Token::Colon))
        .then_ignore(just(Token::Along))
        .then(parts.direction.clone())
        .map(|(joints, along)| {
            let guide = SupportStatement { along: Some(along), ..plain(SupportKind::Guide, joints) };
            StatementKind::Support(Box::new(guide))
        })
        .boxed()
}

/// `spring`: `spring A: kx = 4 kN/mm, kr = 20 kN*m/rad`
pub(super) fn spring<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Spring)
        .ignore_then(parts.name_list.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.property_list.clone())
        .map(|(joints, properties)| {
            let spring = SupportStatement { properties, ..plain(SupportKind::Spring, joints) };
            StatementKind::Support(Box::new(spring))
        })
        .boxed()
}

/// `settle`: `settle C: 12 mm down`, `settle A: 0.002 rad ccw`
pub(super) fn settle<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Settle)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.expression.clone())
        .then(parts.turn.clone().or_not())
        .map(|((joint, amount), turn)| StatementKind::Settle { joint, amount, turn })
        .boxed()
}
