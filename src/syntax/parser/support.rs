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
    just(Token::Roller)
        .ignore_then(parts.name_list.clone())
        .then(just(Token::Colon).ignore_then(roller_clauses(parts)).or_not())
        .map(|(joints, clauses)| {
            let clauses = clauses.unwrap_or_default();
            StatementKind::Support(Box::new(SupportStatement {
                along: clauses.along,
                pushes: clauses.pushes,
                lifts_off: clauses.lifts_off,
                ..plain(SupportKind::Roller, joints)
            }))
        })
        .boxed()
}

/// What a roller's clauses say together.
#[derive(Clone, Copy, Default)]
struct RollerClauses {
    along: Option<Direction>,
    pushes: Option<Direction>,
    lifts_off: Option<Span>,
}

impl RollerClauses {
    /// Adds a clause; gives the place of an earlier one that says the same. The
    /// line of the one reaction is given once, by either of its clauses.
    fn put(&mut self, clause: RollerClause, span: Span) -> Option<Span> {
        let line = self.along.or(self.pushes).map(|direction| direction.span);
        match clause {
            RollerClause::Along(direction) => {
                self.along = self.along.or(Some(direction));
                line
            }
            RollerClause::Pushes(direction) => {
                self.pushes = self.pushes.or(Some(direction));
                line
            }
            RollerClause::LiftsOff => self.lifts_off.replace(span),
        }
    }
}

/// `roller_clauses`: `along 30°, lifts off`; the commas may be left out
fn roller_clauses<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, RollerClauses> {
    let clause = choice((roller_line(parts), lifts_off()));
    let more = just(Token::Comma).or_not().ignore_then(clause.clone());
    clause
        .map(|(clause, span)| {
            let mut clauses = RollerClauses::default();
            clauses.put(clause, span);
            clauses
        })
        .foldl_with(more.repeated(), |mut clauses, (clause, span), extra| {
            if let Some(first) = clauses.put(clause, span) {
                extra.state().slip(SyntaxError::ClauseTwice { first, second: span });
            }
            clauses
        })
        .boxed()
}

#[derive(Clone, Copy)]
enum RollerClause {
    Along(Direction),
    Pushes(Direction),
    LiftsOff,
}

/// `roller_line`: `along 30°` or `pushes 120°`
fn roller_line<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, (RollerClause, Span)> {
    choice((
        just(Token::Along).ignore_then(parts.direction.clone()).map(RollerClause::Along),
        just(Token::Pushes).ignore_then(parts.direction.clone()).map(RollerClause::Pushes),
    ))
    .map_with(|clause, extra| (clause, source_span(extra)))
    .boxed()
}

/// `lifts_off`: `lifts off`
fn lifts_off<'t, E: Fault<'t>>() -> Rule<'t, E, (RollerClause, Span)> {
    just(Token::Lifts).then(just(Token::Off)).map_with(|_, extra| (RollerClause::LiftsOff, source_span(extra))).boxed()
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
