//! What the parsers build into: the tree's arenas, the current statement's
//! spans, and the slips that do not stop a parse.
//!
//! Must not know: the grammar.

use chumsky::input::{Checkpoint, Cursor, Input};
use chumsky::inspector::Inspector;
use chumsky::span::SimpleSpan;

use crate::base::Span;
use crate::syntax::error::SyntaxError;
use crate::syntax::limits::MAX_EXPRESSION_DEPTH;
use crate::syntax::token::Token;
use crate::syntax::tree::{
    Axis, BinaryOp, Chain, Direction, DirectionKind, Expr, ExprId, ExprKind, NameRef, Place, Range, Tree,
};

/// The state of one file's parse. What a failed statement added to the arenas is
/// removed by [`Builder::forget`].
pub(super) struct Builder<'t> {
    text: &'t str,
    /// The spans of the current statement's tokens.
    spans: &'t [Span],
    pub tree: Tree,
    /// The depth of each of the current statement's expressions.
    depths: Vec<u16>,
    /// The first of the current statement's expressions.
    first_expr: usize,
    /// Names of lists that are still open, innermost last.
    open_names: Vec<NameRef>,
    /// Expressions of lists that are still open, innermost last.
    open_items: Vec<ExprId>,
    /// What is wrong with the current statement although it parses.
    pub slips: Vec<SyntaxError>,
}

/// Where an open list begins.
#[derive(Clone, Copy)]
pub(super) struct Mark(usize);

/// The sizes of the arenas before a statement.
#[derive(Clone, Copy)]
pub(super) struct Sizes {
    exprs: usize,
    names: usize,
    lists: usize,
}

impl<'t> Builder<'t> {
    pub fn new(text: &'t str, tree: Tree) -> Self {
        Builder {
            text,
            spans: &[],
            tree,
            depths: Vec::new(),
            first_expr: 0,
            open_names: Vec::new(),
            open_items: Vec::new(),
            slips: Vec::new(),
        }
    }

    /// Makes ready for a statement whose tokens have these spans.
    pub fn begin(&mut self, spans: &'t [Span]) -> Sizes {
        self.spans = spans;
        self.depths.clear();
        self.first_expr = self.tree.exprs.len();
        self.open_names.clear();
        self.open_items.clear();
        self.slips.clear();
        Sizes { exprs: self.tree.exprs.len(), names: self.tree.names.len(), lists: self.tree.lists.len() }
    }

    /// Drops what a failed statement left behind.
    pub fn forget(&mut self, before: Sizes) {
        self.tree.exprs.truncate(before.exprs);
        self.tree.names.truncate(before.names);
        self.tree.lists.truncate(before.lists);
    }

    pub fn text(&self) -> &'t str {
        self.text
    }

    pub fn text_of(&self, span: Span) -> &'t str {
        span.text(self.text)
    }

    /// The source under a run of tokens.
    pub fn span(&self, tokens: SimpleSpan<usize>) -> Span {
        let first = self.spans.get(tokens.start).copied().unwrap_or_default();
        if tokens.end <= tokens.start + 1 {
            return first;
        }
        let last = self.spans.get(tokens.end - 1).copied().unwrap_or(first);
        Span::new(first.start, last.end)
    }

    /// What a string holds, without its quotes, straight or typographic.
    pub fn inside_quotes(&self, string: Span) -> Span {
        let written = self.text_of(string);
        let open = written.chars().next().map_or(0, char::len_utf8);
        let close = written.get(open..).and_then(|rest| rest.chars().next_back()).map_or(0, char::len_utf8);
        Span::new(string.start + length(open), string.end - length(close))
    }

    pub fn slip(&mut self, slip: SyntaxError) {
        self.slips.push(slip);
    }

    pub fn expr_span(&self, id: ExprId) -> Span {
        self.tree.expr(id).map(|expr| expr.span).unwrap_or_default()
    }

    /// Puts an expression into the tree, one deeper than its deepest part.
    pub fn expr(&mut self, kind: ExprKind, span: Span) -> ExprId {
        let depth = self.depth_of_parts(&kind).saturating_add(1);
        if depth > MAX_EXPRESSION_DEPTH && self.slips.is_empty() {
            self.slip(SyntaxError::ExpressionTooDeep { at: span });
        }
        let id = ExprId(length(self.tree.exprs.len()));
        self.tree.exprs.push(Expr { kind, span });
        self.depths.push(depth);
        id
    }

    fn depth_of_parts(&self, kind: &ExprKind) -> u16 {
        match *kind {
            ExprKind::Number { .. } | ExprKind::Pi => 0,
            ExprKind::Name(name) => self.depth_of_list(name.index),
            ExprKind::Neighbours(parts) | ExprKind::Call { arguments: parts, .. } => self.depth_of_list(parts),
            ExprKind::Field { of, .. } => self.depth(of),
            ExprKind::Negative(inner) | ExprKind::Group { inner, .. } => self.depth(inner),
            ExprKind::Binary { left, right, .. } => self.depth(left).max(self.depth(right)),
            ExprKind::Vector { x, y, .. } => self.depth(x).max(self.depth(y)),
            ExprKind::ChainCall { chain, .. } => {
                let links = self.tree.links(chain.links).iter();
                links.map(|link| self.depth_of_list(link.index)).max().unwrap_or(0)
            }
            ExprKind::Directed { magnitude, direction } => {
                self.depth(magnitude).max(self.depth_of_direction(&direction.kind))
            }
        }
    }

    fn depth_of_direction(&self, kind: &DirectionKind) -> u16 {
        match *kind {
            DirectionKind::Word(_) => 0,
            DirectionKind::Toward(name) => self.depth_of_list(name.index),
            DirectionKind::Value(angle)
            | DirectionKind::FromHorizontal { angle, .. }
            | DirectionKind::FromVertical { angle, .. } => self.depth(angle),
        }
    }

    fn depth_of_list(&self, list: Range) -> u16 {
        self.tree.list(list).iter().map(|part| self.depth(*part)).max().unwrap_or(0)
    }

    fn depth(&self, id: ExprId) -> u16 {
        (id.0 as usize).checked_sub(self.first_expr).and_then(|at| self.depths.get(at)).copied().unwrap_or(0)
    }

    pub fn negative(&mut self, minus: Span, inner: ExprId) -> ExprId {
        let span = minus.to(self.expr_span(inner));
        self.expr(ExprKind::Negative(inner), span)
    }

    pub fn binary(&mut self, left: ExprId, op: BinaryOp, right: ExprId) -> ExprId {
        let span = self.expr_span(left).to(self.expr_span(right));
        self.expr(ExprKind::Binary { op, left, right }, span)
    }

    pub fn field(&mut self, of: ExprId, axis: Axis, end: Span) -> ExprId {
        let span = self.expr_span(of).to(end);
        self.expr(ExprKind::Field { of, axis }, span)
    }

    pub fn directed(&mut self, magnitude: ExprId, direction: Direction) -> ExprId {
        let span = self.expr_span(magnitude).to(direction.span);
        self.expr(ExprKind::Directed { magnitude, direction }, span)
    }

    /// Adds a neighbouring literal: `4 ft` and `6 in`.
    pub fn neighbour(&mut self, first: ExprId, next: ExprId) -> ExprId {
        let span = self.expr_span(first).to(self.expr_span(next));
        self.check_neighbour_unit(first, next);
        self.check_neighbour_unit(next, first);
        match self.tree.expr(first).map(|expr| expr.kind) {
            Some(ExprKind::Neighbours(mut run)) => {
                self.tree.lists.push(next);
                run.len += 1;
                if let Some(expr) = self.tree.exprs.get_mut(first.0 as usize) {
                    *expr = Expr { kind: ExprKind::Neighbours(run), span };
                }
                first
            }
            _ => {
                let start = length(self.tree.lists.len());
                self.tree.lists.extend([first, next]);
                self.expr(ExprKind::Neighbours(Range { start, len: 2 }), span)
            }
        }
    }

    /// Neighbouring literals each carry a unit.
    fn check_neighbour_unit(&mut self, literal: ExprId, other: ExprId) {
        if let Some(ExprKind::Number { unit: None, number }) = self.tree.expr(literal).map(|expr| expr.kind) {
            self.slip(SyntaxError::NeighbourWithoutUnit { number, other: self.expr_span(other) });
        }
    }

    pub fn name_ref(&mut self, word: Span, span: Span, index: Range) -> NameRef {
        if !index.is_empty() && self.text_of(word).ends_with(|last: char| last.is_ascii_digit()) {
            self.slip(SyntaxError::IndexedNameEndsInDigit { word });
        }
        NameRef { word, span, index }
    }

    pub fn open_names(&mut self, first: NameRef) -> Mark {
        self.open_names.push(first);
        Mark(self.open_names.len() - 1)
    }

    pub fn add_name(&mut self, mark: Mark, name: NameRef) -> Mark {
        self.open_names.push(name);
        mark
    }

    pub fn close_names(&mut self, mark: Mark) -> Range {
        let start = length(self.tree.names.len());
        self.tree.names.extend(self.open_names.drain(mark.0.min(self.open_names.len())..));
        Range { start, len: length(self.tree.names.len()) - start }
    }

    /// The links of a chain, with the span they cover.
    pub fn close_chain(&mut self, mark: Mark) -> Chain {
        let links = self.close_names(mark);
        let run = self.tree.links(links);
        let span = match (run.first(), run.last()) {
            (Some(first), Some(last)) => first.span.to(last.span),
            _ => Span::default(),
        };
        Chain { links, span }
    }

    /// A place named by one joint, or by the links of a chain.
    pub fn close_place(&mut self, mark: Mark) -> Place {
        match self.open_names.get(mark.0..) {
            Some([joint]) => {
                let joint = *joint;
                self.open_names.truncate(mark.0);
                Place::Joint(joint)
            }
            _ => Place::Chain(self.close_chain(mark)),
        }
    }

    pub fn open_items(&mut self, first: ExprId) -> Mark {
        self.open_items.push(first);
        Mark(self.open_items.len() - 1)
    }

    pub fn add_item(&mut self, mark: Mark, item: ExprId) -> Mark {
        self.open_items.push(item);
        mark
    }

    pub fn close_items(&mut self, mark: Mark) -> Range {
        let start = length(self.tree.lists.len());
        self.tree.lists.extend(self.open_items.drain(mark.0.min(self.open_items.len())..));
        Range { start, len: length(self.tree.lists.len()) - start }
    }
}

/// Arena sizes fit: a file is capped far below `u32::MAX` bytes.
fn length(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

/// Nothing is undone when a parser tries another alternative: lists are closed
/// above their own mark, and nodes of an abandoned alternative are not referred to.
impl<'t> Inspector<'t, &'t [Token]> for Builder<'t> {
    type Checkpoint = ();

    #[inline(always)]
    fn on_token(&mut self, _: &<&'t [Token] as Input<'t>>::Token) {}

    #[inline(always)]
    fn on_save<'parse>(&self, _: &Cursor<'t, 'parse, &'t [Token]>) -> Self::Checkpoint {}

    #[inline(always)]
    fn on_rewind<'parse>(&mut self, _: &Checkpoint<'t, 'parse, &'t [Token], Self::Checkpoint>) {}
}
