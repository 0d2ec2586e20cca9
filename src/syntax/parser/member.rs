//! Bars, cables, beams and hinges.
//!
//! Must not know: supports, loads, claims.

use chumsky::prelude::*;

use super::parts::Parts;
use super::rule::{Fault, Rule, source_span};
use crate::base::Span;
use crate::syntax::error::{Statement, SyntaxError};
use crate::syntax::token::Token;
use crate::syntax::tree::{MemberKind, MemberStatement, NameRef, Range, StatementKind};

/// `member`: `bar A-B-C, D-E: rafter`, `beam A-B: chord, hinged at A, B`
pub(super) fn member<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    let keyword = select! {
        Token::Bar => (MemberKind::Bar, Token::Bar),
        Token::Cable => (MemberKind::Cable, Token::Cable),
        Token::Beam => (MemberKind::Beam, Token::Beam),
    }
    .map_with(|(kind, keyword), extra| (kind, Statement { keyword, span: source_span(extra) }));
    keyword
        .then(parts.chain_list.clone())
        .then(just(Token::Colon).ignore_then(member_detail(parts)).or_not())
        .map_with(|(((kind, keyword), chains), detail), extra| {
            let (section, hinged) = detail.unwrap_or_default();
            if let Some(Hinged { clause, .. }) = hinged
                && kind != MemberKind::Beam
            {
                extra.state().slip(SyntaxError::MisplacedClause { statement: keyword, clause });
            }
            let hinged = hinged.map_or(Range::default(), |hinged| hinged.joints);
            StatementKind::Member(Box::new(MemberStatement { kind, chains, section, hinged }))
        })
        .boxed()
}

/// `hinged at A, B`, where it stands.
#[derive(Clone, Copy)]
struct Hinged {
    joints: Range,
    clause: Span,
}

/// `member_detail`: the section, the hinges, or both.
fn member_detail<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, (Option<NameRef>, Option<Hinged>)> {
    let hinged = hinged(parts);
    let after_section = just(Token::Comma).or_not().ignore_then(hinged.clone());
    choice((
        hinged.map(|hinged| (None, Some(hinged))),
        parts.name_ref.clone().then(after_section.or_not()).map(|(section, hinged)| (Some(section), hinged)),
    ))
    .boxed()
}

/// `hinged`: `hinged at B`
fn hinged<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, Hinged> {
    just(Token::Hinged)
        .ignore_then(just(Token::At))
        .ignore_then(parts.name_list.clone())
        .map_with(|joints, extra| Hinged { joints, clause: source_span(extra) })
        .boxed()
}

/// `hinge`: `hinge B, C`
pub(super) fn hinge<'t, E: Fault<'t>>(parts: &Parts<'t, E>) -> Rule<'t, E, StatementKind> {
    just(Token::Hinge).ignore_then(parts.name_list.clone()).map(StatementKind::Hinge).boxed()
}
