//! Statements about the file and the structure: title, units, lets, joints,
//! materials, sections, blocks' headers, lints.
//!
//! Must not know: members, supports, loads, claims.

use chumsky::prelude::*;

use super::parts::Parts;
use super::rule::{Fault, Rule, label, source_span, spanned};
use crate::base::Span;
use crate::syntax::token::Token;
use crate::syntax::tree::{ForStatement, LintAction, Name, StatementKind, Units, With};

/// `title`: `title "Boathouse roof"`
pub(super) fn title<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Title).ignore_then(parts.text.clone()).map(StatementKind::Title).boxed()
}

/// `units`: `units m, kN, mm`
pub(super) fn units<'t, E: Fault<'t>>() -> Rule<'t, E, StatementKind> {
    let next = just(Token::Comma).ignore_then(unit_word());
    just(Token::Units)
        .ignore_then(unit_word())
        .then(next.clone())
        .then(next.or_not())
        .map(|((length, force), deflection)| StatementKind::Units(Box::new(Units { length, force, deflection })))
        .boxed()
}

/// `unit_word`: the word of one unit, away from a number.
fn unit_word<'t, E: Fault<'t>>() -> Rule<'t, E, Span> {
    spanned(Token::Name).labelled(label::UNIT_WORD).boxed()
}

/// `moments`: `moments cw`
pub(super) fn moments<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Moments).ignore_then(parts.turn.clone()).map(StatementKind::Moments).boxed()
}

/// `figures`: `figures 3`
pub(super) fn figures<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Figures).ignore_then(parts.scalar.clone()).map(StatementKind::Figures).boxed()
}

/// `let_value`: `let panel = 6 ft`
pub(super) fn let_value<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Let)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Equals))
        .then(parts.expression.clone())
        .map(|(name, value)| StatementKind::Let { name, value })
        .boxed()
}

/// `joint`: `joint A: (0, 0)`
pub(super) fn joint<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Joint)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.expression.clone())
        .map(|(name, at)| StatementKind::Joint { name, at })
        .boxed()
}

/// `material`: `material oak: E = 11 GPa, weight = 7 kN/m^3`
pub(super) fn material<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Material)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Colon))
        .then(parts.property_list.clone())
        .map(|(name, properties)| StatementKind::Material { name, properties })
        .boxed()
}

/// `section`: `section rafter: oak, A = 300 cm^2`, `section stiff: EA = rigid`
pub(super) fn section<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let properties = parts.property_list.clone();
    let with_material = parts
        .name_ref
        .clone()
        .then(just(Token::Comma).ignore_then(properties.clone()).or_not())
        .map(|(material, properties)| (Some(material), properties.unwrap_or_default()));
    just(Token::Section)
        .ignore_then(parts.name_ref.clone())
        .then_ignore(just(Token::Colon))
        .then(choice((properties.map(|properties| (None, properties)), with_material)))
        .map(|(name, (material, properties))| StatementKind::Section { name, material, properties })
        .boxed()
}

/// `case_header`: `case wind`, before its `{`
pub(super) fn case_header<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Case)
        .ignore_then(parts.name_ref.clone())
        .map(|name| StatementKind::Case { name, body: Vec::new() })
        .boxed()
}

/// `for_header`: `for i from 0 to 10 by 2`, before its `{`
pub(super) fn for_header<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let scalar = || parts.scalar.clone();
    just(Token::For)
        .ignore_then(super::name::name())
        .then_ignore(just(Token::From))
        .then(scalar())
        .then_ignore(just(Token::To))
        .then(scalar())
        .then(just(Token::By).ignore_then(scalar()).or_not())
        .map(|(((variable, from), to), by)| {
            let variable = Name { span: variable };
            StatementKind::For(Box::new(ForStatement { variable, from, to, by, body: Vec::new() }))
        })
        .boxed()
}

/// `use_file`: `use "loads.kp"`, `use "base.kp" with P = 26 kN, h = 3 m`
pub(super) fn use_file<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let set = parts.name_ref.clone().then_ignore(just(Token::Equals)).then(parts.expression.clone());
    let set = set.map(|(name, value)| With { name, value });
    let with = just(Token::With).ignore_then(set.separated_by(just(Token::Comma)).at_least(1).collect());
    just(Token::Use)
        .ignore_then(parts.text.clone())
        .then(with.or_not())
        .map(|(path, with)| StatementKind::Use { path, with: with.unwrap_or_default() })
        .boxed()
}

/// `lint`: `allow unused-let`, `deny shallow-angle`
pub(super) fn lint<'t, E: Fault<'t>>() -> Rule<'t, E, StatementKind> {
    select! { Token::Allow => LintAction::Allow, Token::Deny => LintAction::Deny }
        .then(slug())
        .map(|(action, slug)| StatementKind::Lint { action, slug })
        .boxed()
}

/// `slug`: words joined by `-`; here keywords are words like any other.
fn slug<'t, E: Fault<'t>>() -> Rule<'t, E, Span> {
    let word = select! { token if Token::is_word(token) || Token::is_keyword(token) => () }.labelled(label::SLUG);
    word.separated_by(just(Token::Minus)).at_least(1).map_with(|(), extra| source_span(extra)).boxed()
}
