//! Loads, couples, heat, misfits, self-weight; combinations and moving trains.
//!
//! Must not know: members, supports, claims.

use chumsky::prelude::*;

use super::builder::Builder;
use super::expression::{Sign, group, product_operator, sign};
use super::parts::Parts;
use super::rule::{Fault, Rule, items, label, source_span, spanned};
use crate::base::Span;
use crate::syntax::error::SyntaxError;
use crate::syntax::token::Token;
use crate::syntax::tree::{
    CombinationTerm, ExprId, ExprKind, Fit, LoadStatement, Measure, MomentStatement, Range, StatementKind,
    TravelStatement,
};

/// `load`: `load A-B: 2 kN/m to 5 kN/m down from 1 m to 3 m`
pub(super) fn load<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Load)
        .ignore_then(parts.place.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.expression.clone())
        .map(|(place, value)| {
            Box::new(LoadStatement {
                place,
                value,
                to_value: None,
                from: None,
                to: None,
                measure: None,
                at_joints: None,
                at: None,
            })
        })
        .foldl_with(load_clause(parts).repeated(), |load, (clause, span), extra| {
            put_load_clause(load, clause, span, extra.state())
        })
        .map(StatementKind::Load)
        .boxed()
}

#[derive(Clone, Copy)]
enum LoadClause {
    To(ExprId),
    Stretch(ExprId, ExprId),
    Per(Measure),
    AtJoints,
    At(ExprId),
}

/// Clauses come in any order, each once.
fn put_load_clause(
    mut load: Box<LoadStatement>,
    clause: LoadClause,
    span: Span,
    builder: &mut Builder<'_>,
) -> Box<LoadStatement> {
    let earlier = match clause {
        LoadClause::To(value) => load.to_value.replace(value).map(|value| builder.expr_span(value)),
        LoadClause::Stretch(from, to) => {
            load.to = Some(to);
            load.from.replace(from).map(|from| builder.expr_span(from))
        }
        LoadClause::Per(measure) => load.measure.replace((measure, span)).map(|(_, span)| span),
        LoadClause::AtJoints => load.at_joints.replace(span),
        LoadClause::At(position) => load.at.replace(position).map(|position| builder.expr_span(position)),
    };
    if let Some(first) = earlier {
        builder.slip(SyntaxError::ClauseTwice { first, second: span });
    }
    load
}

/// `load_clause`: any of the clauses that may follow a load's value.
fn load_clause<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, (LoadClause, Span)> {
    choice((
        at_joints().to(LoadClause::AtJoints),
        parts.at_position.clone().map(LoadClause::At),
        measure().map(LoadClause::Per),
        stretch(parts).map(|(from, to)| LoadClause::Stretch(from, to)),
        to_value(parts).map(LoadClause::To),
    ))
    .map_with(|clause, extra| (clause, source_span(extra)))
    .boxed()
}

/// `to_value`: `to 5 kN/m`, the value at the far end.
fn to_value<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, ExprId> {
    just(Token::To).ignore_then(parts.expression.clone()).boxed()
}

/// `stretch`: `from 1 m to 3 m`, `from 25% to 100%`
fn stretch<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, (ExprId, ExprId)> {
    just(Token::From).ignore_then(parts.scalar.clone()).then_ignore(just(Token::To)).then(parts.scalar.clone()).boxed()
}

/// `measure`: `per run` or `per rise`
fn measure<'t, E: Fault<'t>>() -> Rule<'t, E, Measure> {
    just(Token::Per)
        .ignore_then(
            select! { Token::Run => Measure::PerRun, Token::Rise => Measure::PerRise }.labelled(label::MEASURE),
        )
        .boxed()
}

/// `at_joints`: `at joints`
fn at_joints<'t, E: Fault<'t>>() -> Rule<'t, E, ()> {
    just(Token::At).then(just(Token::Joints)).ignored().boxed()
}

/// `moment`: `moment B: 5 kN*m ccw`, `moment A-B: 5 kN*m cw at 2 m`
pub(super) fn moment<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Moment)
        .ignore_then(parts.place.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.scalar.clone())
        .then(parts.turn.clone().or_not())
        .then(parts.at_position.clone().or_not())
        .map(|(((place, value), turn), at)| StatementKind::Moment(Box::new(MomentStatement { place, value, turn, at })))
        .boxed()
}

/// `heat`: `heat A-B: 25 K`
pub(super) fn heat<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Heat)
        .ignore_then(parts.chain.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.scalar.clone())
        .map(|(chain, rise)| StatementKind::Heat { chain, rise })
        .boxed()
}

/// `misfit`: `misfit A-B: 3 mm long`
pub(super) fn misfit<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let fit = select! { Token::Long => Fit::Long, Token::Short => Fit::Short }.labelled(label::FIT);
    just(Token::Misfit)
        .ignore_then(parts.chain.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.scalar.clone())
        .then(fit.or_not())
        .map(|((chain, amount), sense)| StatementKind::Misfit { chain, amount, sense })
        .boxed()
}

/// `weigh`: `weigh all`, `weigh A-B-C`
pub(super) fn weigh<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    // A joint may be called `all`, but a chain has more than one joint.
    let all = just(Token::All).then_ignore(end()).to(Vec::new());
    just(Token::Weigh)
        .ignore_then(choice((all, parts.chain_list.clone())))
        .map(|chains| StatementKind::Weigh { chains })
        .boxed()
}

/// `combination`: `combination strength: 1.2 dead + 1.6 snow`
pub(super) fn combination<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let first = sign().or_not().then(combination_term(parts)).map(|(sign, term)| signed_term(sign, term));
    let next = sign().then(combination_term(parts)).map(|(sign, term)| signed_term(Some(sign), term));
    just(Token::Combination)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Colon))
        .then(first.map(|first| vec![first]).foldl(next.repeated(), |mut terms, term| {
            terms.push(term);
            terms
        }))
        .map(|(name, terms)| StatementKind::Combination { name, terms })
        .boxed()
}

fn signed_term(sign: Option<(Sign, Span)>, term: CombinationTerm) -> CombinationTerm {
    match sign {
        Some((sign, at)) => CombinationTerm { negative: sign == Sign::Minus, span: at.to(term.span), ..term },
        None => term,
    }
}

/// `combination_term`: `1.2 dead`, `dead`, `gamma*psi*wind`
fn combination_term<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, CombinationTerm> {
    combination_factor(parts)
        .or_not()
        .then(parts.name_ref.clone())
        .map_with(|(factor, name), extra| CombinationTerm { negative: false, factor, name, span: source_span(extra) })
        .boxed()
}

/// `combination_factor`: `1.2`, `gamma*psi*`: the product before the case's own name
fn combination_factor<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, ExprId> {
    let operand = combination_operand(parts);
    operand
        .clone()
        .foldl_with(product_operator().then(operand).repeated(), |left, (op, right), extra| {
            extra.state().binary(left, op, right)
        })
        .then_ignore(just(Token::Star).or_not())
        .boxed()
}

/// `combination_operand`: a number, or a name that an operator follows: the last
/// name is that of the case itself
fn combination_operand<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, ExprId> {
    let name = parts.name_ref.clone().then_ignore(product_operator().rewind());
    let named = name.map_with(|name, extra| extra.state().expr(ExprKind::Name(name), name.span));
    choice((combination_number(parts), named)).boxed()
}

/// `combination_number`: `1.2`, `(1/2)`
fn combination_number<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, ExprId> {
    let number = spanned(Token::Number)
        .map_with(|number, extra| extra.state().expr(ExprKind::Number { number, unit: None }, number));
    choice((number, group(parts.expression.clone()))).boxed()
}

/// `travel`: `travel crane: 40 kN, 60 kN spaced 3 m along A-B-C-D`
pub(super) fn travel<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Travel)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Colon))
        .then(train(parts))
        .then(spacings(parts).or_not())
        .then_ignore(just(Token::Along))
        .then(parts.chain.clone())
        .map(|(((name, loads), spacings), chain)| {
            let spacings = spacings.unwrap_or_default();
            StatementKind::Travel(Box::new(TravelStatement { name, loads, spacings, chain }))
        })
        .boxed()
}

/// `train`: `40 kN, 60 kN`
fn train<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, Range> {
    items(parts.expression.clone()).boxed()
}

/// `spacings`: `spaced 3 m`, `spaced 3 m, 1.5 m`
fn spacings<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, Range> {
    just(Token::Spaced).ignore_then(items(parts.scalar.clone())).boxed()
}
