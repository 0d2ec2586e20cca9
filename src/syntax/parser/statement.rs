//! From a statement's keyword to its production.
//!
//! Must not know: what a statement means.

use chumsky::prelude::*;

use super::builder::Builder;
use super::parts::Parts;
use super::rule::{Fault, Rule};
use super::{claim, declaration, load, member, support};
use crate::syntax::token::Token;
use crate::syntax::tree::StatementKind;

/// A parser for each keyword, built once for a file.
pub(super) struct Statements<'t, E: Fault<'t>> {
    /// In the order of the tokens, which begin with the keywords.
    by_keyword: Vec<Rule<'t, E, StatementKind>>,
}

impl<'t, E: Fault<'t>> Statements<'t, E> {
    pub fn new() -> Self {
        let parts = Parts::new();
        Statements { by_keyword: Token::KEYWORDS.map(|keyword| statement(keyword, &parts)).into() }
    }

    /// The rule for statements that begin with this token.
    pub fn rule(&self, keyword: Token) -> Option<&Rule<'t, E, StatementKind>> {
        self.by_keyword.get(keyword as usize)
    }

    /// One whole statement; `None` where it does not parse.
    pub fn parse(&self, tokens: &'t [Token], builder: &mut Builder<'t>) -> Option<StatementKind> {
        self.rule(*tokens.first()?)?.parse_with_state(tokens, builder).into_output()
    }
}

/// `statement`: the production of each keyword.
pub(super) fn statement<'t, E: Fault<'t>>(keyword: Token, parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    match keyword {
        Token::Title => declaration::title(parts),
        Token::Units => declaration::units(),
        Token::Moments => declaration::moments(parts),
        Token::Figures => declaration::figures(parts),
        Token::Let => declaration::let_value(parts),
        Token::Joint => declaration::joint(parts),
        Token::Bar | Token::Cable | Token::Beam => member::member(parts),
        Token::Hinge => member::hinge(parts),
        Token::Pin | Token::Fixed => support::pin_or_fixed(parts),
        Token::Roller => support::roller(parts),
        Token::Guide => support::guide(parts),
        Token::Spring => support::spring(parts),
        Token::Settle => support::settle(parts),
        Token::Load => load::load(parts),
        Token::Moment => load::moment(parts),
        Token::Heat => load::heat(parts),
        Token::Misfit => load::misfit(parts),
        Token::Case => declaration::case_header(parts),
        Token::Weigh => load::weigh(parts),
        Token::Combination => load::combination(parts),
        Token::Travel => load::travel(parts),
        Token::Material => declaration::material(parts),
        Token::Section => declaration::section(parts),
        Token::For => declaration::for_header(parts),
        Token::Use => declaration::use_file(parts),
        Token::Allow | Token::Deny => declaration::lint(),
        _ => claim::expect(parts),
    }
}
