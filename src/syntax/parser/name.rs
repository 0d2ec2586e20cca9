//! Names, indexed names and chains.
//!
//! Must not know: statements.

use chumsky::prelude::*;

use super::rule::{Fault, Production, Rule, items, label, source_span, spanned};
use crate::base::Span;
use crate::syntax::token::Token;
use crate::syntax::tree::{Chain, ExprId, NameRef, Place, Range};

/// `name`: any word but a statement's keyword.
pub(super) fn name<'t, E: Fault<'t>>() -> impl Production<'t, E, Span> {
    select! { token if Token::is_word(token) => () }.labelled(label::NAME).map_with(|(), extra| source_span(extra))
}

/// `name_ref`: a name that may carry an index.
pub(super) fn name_ref<'t, E: Fault<'t>>(
    expression: impl Production<'t, E, ExprId>,
) -> impl Production<'t, E, NameRef> {
    name().then(index(expression).or_not()).map_with(|(word, index), extra| match index {
        None => NameRef { word, span: word, index: Range::default() },
        Some((list, end)) => extra.state().name_ref(word, word.to(end), list),
    })
}

/// `index`: `[i+1]`, `[i,j]`; gives the list and the closing bracket's place.
pub(super) fn index<'t, E: Fault<'t>>(
    expression: impl Production<'t, E, ExprId>,
) -> impl Production<'t, E, (Range, Span)> {
    just(Token::LeftBracket).ignore_then(items(expression)).then(spanned(Token::RightBracket))
}

/// `name_list`: `A, B`.
pub(super) fn name_list<'t, E: Fault<'t>>(name_ref: Rule<'t, E, NameRef>) -> Rule<'t, E, Range> {
    name_ref
        .clone()
        .map_with(|first, extra| extra.state().open_names(first))
        .foldl_with(just(Token::Comma).ignore_then(name_ref).repeated(), |mark, name, extra| {
            extra.state().add_name(mark, name)
        })
        .map_with(|mark, extra| extra.state().close_names(mark))
        .boxed()
}

/// `chain`: `A-B-C`.
pub(super) fn chain<'t, E: Fault<'t>>(name_ref: impl Production<'t, E, NameRef>) -> impl Production<'t, E, Chain> {
    let link = just(Token::Minus).ignore_then(name_ref.clone());
    name_ref
        .map_with(|first, extra| extra.state().open_names(first))
        .foldl_with(link.repeated().at_least(1), |mark, name, extra| extra.state().add_name(mark, name))
        .map_with(|mark, extra| extra.state().close_chain(mark))
}

/// `chain_list`: `A-B-C, D-E`.
pub(super) fn chain_list<'t, E: Fault<'t>>(chain: Rule<'t, E, Chain>) -> Rule<'t, E, Vec<Chain>> {
    chain.separated_by(just(Token::Comma)).at_least(1).collect().boxed()
}

/// `place`: what a load stands on, one joint or a chain.
pub(super) fn place<'t, E: Fault<'t>>(name_ref: Rule<'t, E, NameRef>) -> Rule<'t, E, Place> {
    let link = just(Token::Minus).ignore_then(name_ref.clone());
    name_ref
        .map_with(|first, extra| extra.state().open_names(first))
        .foldl_with(link.repeated(), |mark, name, extra| extra.state().add_name(mark, name))
        .map_with(|mark, extra| extra.state().close_place(mark))
        .boxed()
}
