//! Expressions, from sums down to literals.
//!
//! Must not know: statements.

use chumsky::prelude::*;

use super::direction::{cardinal, direction, toward};
use super::name::{chain, name_ref};
use super::rule::{Fault, Production, Rule, items, label, source_span, spanned};
use crate::base::Span;
use crate::syntax::token::Token;
use crate::syntax::tree::{
    Axis, BinaryOp, ChainFunction, Direction, DirectionKind, ExprId, ExprKind, Function, NameRef, Range,
};

/// The rules that statements are made of, built once for a file.
pub(super) struct Values<'t, E: Fault<'t>> {
    /// Any value: a vector, a position, a number with or without a unit.
    pub expression: Rule<'t, E, ExprId>,
    /// A value that takes no direction: `at 2 m`, `from 25%`.
    pub scalar: Rule<'t, E, ExprId>,
    pub direction: Rule<'t, E, Direction>,
}

pub(super) fn values<'t, E: Fault<'t>>() -> Values<'t, E> {
    let expression = recursive(|itself| expression(itself)).boxed();
    let product = product(expression.clone()).boxed();
    Values {
        scalar: scalar(product.clone()).boxed(),
        direction: direction(product, expression.clone()).boxed(),
        expression,
    }
}

/// `expression`: `5 kN down + 2 kN right`; built in terms of itself.
fn expression<'t, E: Fault<'t>>(itself: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    let directed = directed(product(itself.clone()).boxed(), itself).boxed();
    directed.clone().foldl_with(sum_operator().then(directed).repeated(), |left, (op, right), extra| {
        extra.state().binary(left, op, right)
    })
}

/// `scalar`: a sum of products, without directions.
fn scalar<'t, E: Fault<'t>>(product: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    product.clone().foldl_with(sum_operator().then(product).repeated(), |left, (op, right), extra| {
        extra.state().binary(left, op, right)
    })
}

/// `sum_operator`: `+` or `-`, between values.
fn sum_operator<'t, E: Fault<'t>>() -> impl Production<'t, E, BinaryOp> {
    select! { Token::Plus => BinaryOp::Add, Token::Minus => BinaryOp::Subtract }
}

/// `directed`: `2*T down`, `95 lbf @ 35° below left`, `5 kN toward C`.
fn directed<'t, E: Fault<'t>>(
    product: Rule<'t, E, ExprId>,
    expression: impl Production<'t, E, ExprId>,
) -> impl Production<'t, E, ExprId> {
    let bare_word = cardinal()
        .map_with(|cardinal, extra| Direction { kind: DirectionKind::Word(cardinal), span: source_span(extra) });
    let after_sign = just(Token::Direct).ignore_then(direction(product.clone(), expression.clone()));
    product.then(choice((bare_word, after_sign, toward(expression))).or_not()).map_with(
        |(magnitude, direction), extra| match direction {
            Some(direction) => extra.state().directed(magnitude, direction),
            None => magnitude,
        },
    )
}

/// `product`: `0.40 kN/m^2 * bay`, `span/3`.
fn product<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    // Most products are one literal or one name: they are taken without going
    // down through every production below.
    let literal = spanned(Token::Number)
        .then(spanned(Token::Unit).or_not())
        .map(|(number, unit)| (ExprKind::Number { number, unit }, unit.map_or(number, |unit| number.to(unit))));
    let word = select! { token if Token::is_word(token) && token != Token::Pi => () }.map_with(|(), extra| {
        let word = source_span(extra);
        (ExprKind::Name(NameRef { word, span: word, index: Range::default() }), word)
    });
    let stands_alone = choice((select! { token if !Token::continues_operand(token) => () }.rewind(), end()));
    let lone = choice((literal, word))
        .then_ignore(stands_alone)
        .map_with(|(kind, span), extra| extra.state().expr(kind, span));
    let signed = signed(expression);
    let whole = signed.clone().foldl_with(product_operator().then(signed).repeated(), |left, (op, right), extra| {
        extra.state().binary(left, op, right)
    });
    choice((lone, whole))
}

/// `product_operator`: `*` or `/`, where no unit runs on through it.
pub(super) fn product_operator<'t, E: Fault<'t>>() -> impl Production<'t, E, BinaryOp> {
    select! { Token::Star => BinaryOp::Multiply, Token::Slash => BinaryOp::Divide }
}

/// `signed`: `-4 ft 6 in`. A plus sign says nothing and leaves no node.
fn signed<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    sign().repeated().foldr_with(power(expression), |(sign, span), inner, extra| match sign {
        Sign::Plus => inner,
        Sign::Minus => extra.state().negative(span, inner),
    })
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    Plus,
    Minus,
}

/// `sign`: `+` or `-`, where no value stands before it.
pub(super) fn sign<'t, E: Fault<'t>>() -> impl Production<'t, E, (Sign, Span)> {
    select! { Token::Plus => Sign::Plus, Token::Minus => Sign::Minus }
        .map_with(|sign, extra| (sign, source_span(extra)))
}

/// `power`: `a^2`, `a^-2`; powers of powers lean right.
fn power<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    let field = field(expression);
    let exponent = just(Token::Caret).ignore_then(exponent(field.clone()));
    field.then(exponent.repeated().collect::<Vec<_>>()).map_with(|(base, mut exponents), extra| {
        let state = extra.state();
        let mut raised = None;
        while let Some(Exponent { value, minus }) = exponents.pop() {
            let whole = raised.map_or(value, |power| state.binary(value, BinaryOp::Power, power));
            raised = Some(minus.map_or(whole, |minus| state.negative(minus, whole)));
        }
        raised.map_or(base, |power| state.binary(base, BinaryOp::Power, power))
    })
}

/// What a base is raised to; the minus sign is that of the whole power above it.
#[derive(Clone, Copy)]
struct Exponent {
    value: ExprId,
    minus: Option<Span>,
}

/// `exponent`: what follows `^`, with or without a minus sign.
fn exponent<'t, E: Fault<'t>>(field: impl Production<'t, E, ExprId>) -> impl Production<'t, E, Exponent> {
    spanned(Token::Minus).or_not().then(field).map(|(minus, value)| Exponent { value, minus })
}

/// `field`: `A.x`.
fn field<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    atom(expression).then(just(Token::Dot).ignore_then(axis()).or_not()).map_with(|(of, axis), extra| match axis {
        Some((axis, end)) => extra.state().field(of, axis, end),
        None => of,
    })
}

/// `axis`: `x` or `y`.
pub(super) fn axis<'t, E: Fault<'t>>() -> impl Production<'t, E, (Axis, Span)> {
    select! { Token::X => Axis::X, Token::Y => Axis::Y }
        .labelled(label::AXIS)
        .map_with(|axis, extra| (axis, source_span(extra)))
}

/// `atom`: a literal, a group or vector, a call, a name.
fn atom<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    let name_ref = name_ref(expression.clone());
    choice((
        quantity(),
        group(expression.clone()),
        call(expression),
        chain_call(name_ref.clone()),
        pi(),
        variable(name_ref),
    ))
    .labelled(label::VALUE)
}

/// `quantity`: `12`, `4.5 kN/m`, `4 ft 6 in`.
fn quantity<'t, E: Fault<'t>>() -> impl Production<'t, E, ExprId> {
    let literal = spanned(Token::Number).then(spanned(Token::Unit).or_not()).map_with(|(number, unit), extra| {
        let span = unit.map_or(number, |unit| number.to(unit));
        extra.state().expr(ExprKind::Number { number, unit }, span)
    });
    literal.clone().foldl_with(literal.repeated(), |first, next, extra| extra.state().neighbour(first, next))
}

/// `group`: `(a + b)`, `(3/2) kN`, `(x, y)`, `(25, -90) lbf`.
pub(super) fn group<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    let second = just(Token::Comma).ignore_then(expression.clone());
    just(Token::LeftParen)
        .ignore_then(expression)
        .then(second.or_not())
        .then_ignore(just(Token::RightParen))
        .then(spanned(Token::Unit).or_not())
        .map_with(|((first, second), unit), extra| {
            let span = source_span(extra);
            let kind = match second {
                Some(y) => ExprKind::Vector { x: first, y, unit },
                None => ExprKind::Group { inner: first, unit },
            };
            extra.state().expr(kind, span)
        })
}

/// `call`: `sqrt(2)`, `atan2(y, x)`.
fn call<'t, E: Fault<'t>>(expression: impl Production<'t, E, ExprId>) -> impl Production<'t, E, ExprId> {
    function().then(items(expression).delimited_by(just(Token::LeftParen), just(Token::RightParen))).map_with(
        |(function, arguments), extra| {
            let span = source_span(extra);
            extra.state().expr(ExprKind::Call { function, arguments }, span)
        },
    )
}

/// `function`: what takes numbers.
fn function<'t, E: Fault<'t>>() -> impl Production<'t, E, Function> {
    select! {
        Token::Sqrt => Function::Sqrt,
        Token::Sin => Function::Sin,
        Token::Cos => Function::Cos,
        Token::Tan => Function::Tan,
        Token::Asin => Function::Asin,
        Token::Acos => Function::Acos,
        Token::Atan => Function::Atan,
        Token::Atan2 => Function::Atan2,
        Token::Abs => Function::Abs,
        Token::Min => Function::Min,
        Token::Max => Function::Max,
        Token::Hypot => Function::Hypot,
    }
}

/// `chain_call`: `length(A-B)`, `across(K-A)`.
fn chain_call<'t, E: Fault<'t>>(name_ref: impl Production<'t, E, NameRef>) -> impl Production<'t, E, ExprId> {
    chain_function().then(chain(name_ref).delimited_by(just(Token::LeftParen), just(Token::RightParen))).map_with(
        |(function, chain), extra| {
            let span = source_span(extra);
            extra.state().expr(ExprKind::ChainCall { function, chain }, span)
        },
    )
}

/// `chain_function`: what takes a chain.
fn chain_function<'t, E: Fault<'t>>() -> impl Production<'t, E, ChainFunction> {
    select! {
        Token::Length => ChainFunction::Length,
        Token::Angle => ChainFunction::Angle,
        Token::Along => ChainFunction::Along,
        Token::Across => ChainFunction::Across,
    }
}

/// `pi`
fn pi<'t, E: Fault<'t>>() -> impl Production<'t, E, ExprId> {
    spanned(Token::Pi).map_with(|span, extra| extra.state().expr(ExprKind::Pi, span))
}

/// `variable`: a joint, a let or a loop variable.
fn variable<'t, E: Fault<'t>>(name_ref: impl Production<'t, E, NameRef>) -> impl Production<'t, E, ExprId> {
    name_ref.map_with(|name, extra| extra.state().expr(ExprKind::Name(name), name.span))
}
