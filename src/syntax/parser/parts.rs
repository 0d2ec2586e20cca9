//! The rules that statements are put together from, built once for a file and
//! shared by all of them.
//!
//! Must not know: any statement.

use chumsky::prelude::*;

use super::expression::{Values, values};
use super::name::{chain, chain_list, name, name_list, name_ref, place};
use super::rule::{Fault, Rule, label, spanned};
use crate::base::Span;
use crate::syntax::token::Token;
use crate::syntax::tree::{Chain, Direction, ExprId, NameRef, Place, Property, PropertyValue, Range, Turn};

pub(super) struct Parts<'t, E: Fault<'t>> {
    pub expression: Rule<'t, E, ExprId>,
    pub scalar: Rule<'t, E, ExprId>,
    pub direction: Rule<'t, E, Direction>,
    pub name_ref: Rule<'t, E, NameRef>,
    pub name_list: Rule<'t, E, Range>,
    pub chain: Rule<'t, E, Chain>,
    pub chain_list: Rule<'t, E, Vec<Chain>>,
    pub place: Rule<'t, E, Place>,
    /// `at 2 m`
    pub at_position: Rule<'t, E, ExprId>,
    pub property_list: Rule<'t, E, Vec<Property>>,
    pub turn: Rule<'t, E, Turn>,
    pub text: Rule<'t, E, Span>,
}

impl<'t, E: Fault<'t>> Parts<'t, E> {
    pub fn new() -> Self {
        let Values { expression, scalar, direction } = values();
        let name_ref = name_ref(expression.clone()).boxed();
        let chain = chain(name_ref.clone()).boxed();
        Parts {
            name_list: name_list(name_ref.clone()),
            chain_list: chain_list(chain.clone()),
            place: place(name_ref.clone()),
            at_position: at_position(scalar.clone()),
            property_list: property_list(property(scalar.clone())),
            turn: turn(),
            text: text(),
            expression,
            scalar,
            direction,
            name_ref,
            chain,
        }
    }
}

/// `at_position`: `at 2 m`, `at 40%`.
fn at_position<'t, E: Fault<'t>>(scalar: Rule<'t, E, ExprId>) -> Rule<'t, E, ExprId> {
    just(Token::At).ignore_then(scalar).boxed()
}

/// `turn`: `cw` or `ccw`.
fn turn<'t, E: Fault<'t>>() -> Rule<'t, E, Turn> {
    select! { Token::Cw => Turn::Clockwise, Token::Ccw => Turn::Counterclockwise }.labelled(label::TURN).boxed()
}

/// `text`: a string; gives the span of its inside.
fn text<'t, E: Fault<'t>>() -> Rule<'t, E, Span> {
    spanned(Token::Text).map_with(|span, extra| extra.state().inside_quotes(span)).boxed()
}

/// `property_list`: `E = 11 GPa, weight = 7 kN/m^3`.
fn property_list<'t, E: Fault<'t>>(property: Rule<'t, E, Property>) -> Rule<'t, E, Vec<Property>> {
    property.separated_by(just(Token::Comma)).at_least(1).collect().boxed()
}

/// `property`: `EA = 3750 kN`, `EI = rigid`.
fn property<'t, E: Fault<'t>>(scalar: Rule<'t, E, ExprId>) -> Rule<'t, E, Property> {
    let value = choice((spanned(Token::Rigid).map(PropertyValue::Rigid), scalar.map(PropertyValue::Given)));
    name().then_ignore(just(Token::Equals)).then(value).map(|(name, value)| Property { name, value }).boxed()
}
