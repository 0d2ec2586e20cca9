//! The types every production shares.
//!
//! Must not know: any production.

use chumsky::error::{Error, LabelError};
use chumsky::input::MapExtra;
use chumsky::prelude::*;

use super::builder::Builder;
use crate::base::Span;
use crate::syntax::token::Token;
use crate::syntax::tree::{ExprId, Range};

/// One statement's tokens.
pub(super) type Input<'t> = &'t [Token];

pub(super) type Extra<'t, E> = extra::Full<E, Builder<'t>, ()>;

/// A production, ready to be shared.
pub(super) type Rule<'t, E, O> = Boxed<'t, 't, Input<'t>, O, Extra<'t, E>>;

/// An error type to parse with: one that costs nothing, or one that remembers
/// what was expected.
pub(super) trait Fault<'t>: Error<'t, Input<'t>> + LabelError<'t, Input<'t>, &'static str> + 't {}

impl<'t, E> Fault<'t> for E where E: Error<'t, Input<'t>> + LabelError<'t, Input<'t>, &'static str> + 't {}

/// A production before it is shared: what the functions of the expression
/// grammar take and give.
pub(super) trait Production<'t, E: Fault<'t>, O>: Parser<'t, Input<'t>, O, Extra<'t, E>> + Clone + 't {}

impl<'t, E: Fault<'t>, O, P> Production<'t, E, O> for P where P: Parser<'t, Input<'t>, O, Extra<'t, E>> + Clone + 't {}

/// What labels of expected things are called, so that they can be told apart.
pub(super) mod label {
    use crate::syntax::token::Token;

    pub const NAME: &str = "name";
    pub const VALUE: &str = "value";
    pub const DIRECTION: &str = "direction";
    pub const CLAIM: &str = "claim";
    pub const UNIT_WORD: &str = "unit word";
    pub const SLUG: &str = "slug";
    pub const CARDINAL: &str = "cardinal";
    pub const SIDEWAYS: &str = "sideways";
    pub const AXIS: &str = "axis";
    pub const TURN: &str = "turn";
    pub const FIT: &str = "fit";
    pub const MEASURE: &str = "measure";
    pub const RELATION: &str = "relation";
    pub const SENSE: &str = "sense";

    /// The tokens of a label that stands for a few of them.
    pub fn tokens(label: &str) -> &'static [Token] {
        match label {
            CARDINAL => &[Token::Up, Token::Down, Token::Left, Token::Right],
            SIDEWAYS => &[Token::Left, Token::Right],
            AXIS => &[Token::X, Token::Y],
            TURN => &[Token::Cw, Token::Ccw],
            FIT => &[Token::Long, Token::Short],
            MEASURE => &[Token::Run, Token::Rise],
            RELATION => &[Token::Colon, Token::AtMost, Token::AtLeast],
            SENSE => &[Token::Tension, Token::Compression, Token::Cw, Token::Ccw, Token::Sagging, Token::Hogging],
            _ => &[],
        }
    }
}

/// Where in the source the tokens stand that a rule has just taken.
pub(super) fn source_span<'t, E: Fault<'t>>(extra: &mut MapExtra<'t, '_, Input<'t>, Extra<'t, E>>) -> Span {
    let tokens = extra.span();
    extra.state().span(tokens)
}

/// A token, with its place in the source.
pub(super) fn spanned<'t, E: Fault<'t>>(token: Token) -> impl Production<'t, E, Span> {
    just(token).map_with(|_, extra| source_span(extra))
}

/// Items between commas, put into the tree as a list.
pub(super) fn items<'t, E: Fault<'t>>(item: impl Production<'t, E, ExprId>) -> impl Production<'t, E, Range> {
    item.clone()
        .map_with(|first, extra| extra.state().open_items(first))
        .foldl_with(just(Token::Comma).ignore_then(item).repeated(), |mark, item, extra| {
            extra.state().add_item(mark, item)
        })
        .map_with(|mark, extra| extra.state().close_items(mark))
}
