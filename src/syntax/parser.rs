//! Tokens to tree: blocks are put together here with a stack of our own, so
//! that no nesting can exhaust the machine's; statements are parsed one at a
//! time by the productions in the files below.
//!
//! A statement is parsed first with an error type that costs nothing; only one
//! that fails is parsed again by [`fault`] to learn what was expected.
//!
//! Must not know: what a name stands for.

mod builder;
mod claim;
mod declaration;
mod direction;
mod expression;
mod fault;
mod load;
mod member;
mod name;
mod parts;
mod rule;
mod statement;
mod support;

use chumsky::error::EmptyErr;

use self::builder::Builder;
use self::fault::{Failure, Faults};
use self::statement::Statements;
use super::error::SyntaxError;
use super::limits::MAX_BLOCKS;
use super::scan::{Ending, Scan, Segment, SegmentState};
use super::tree::{Broken, Statement, StatementKind, Tree};
use crate::base::{FileId, Span};

/// `file`: every statement and block of a scanned text. Gives the tree and
/// what is wrong beyond what the scan found.
pub(super) fn file(file: FileId, text: &str, scan: &Scan) -> (Tree, Vec<SyntaxError>) {
    let tree = Tree { file, comments: scan.comments.clone(), ..Tree::default() };
    let mut driver = Driver {
        scan,
        statements: Statements::new(),
        faults: Faults::new(text),
        builder: Builder::new(text, tree),
        errors: Vec::new(),
        top: Vec::new(),
        blocks: Vec::new(),
        buried: 0,
    };
    let mut segments = scan.segments.iter().peekable();
    while let Some(segment) = segments.next() {
        let next_opens = segments.peek().and_then(|next| match next.ending {
            Ending::Open(brace) if next.start == next.end => Some(brace),
            _ => None,
        });
        if driver.segment(segment, next_opens) == Taken::WithNext {
            segments.next();
        }
    }
    driver.finish()
}

struct Driver<'t> {
    scan: &'t Scan,
    statements: Statements<'t, EmptyErr>,
    faults: Faults<'t>,
    builder: Builder<'t>,
    errors: Vec<SyntaxError>,
    /// Statements outside any block.
    top: Vec<Statement>,
    /// Blocks that are open, innermost last.
    blocks: Vec<Block>,
    /// Blocks open beyond the depth limit.
    buried: usize,
}

/// A block that is open.
struct Block {
    /// Its header with an empty body; `None` where the header was broken.
    header: Option<Statement>,
    open: Span,
    body: Vec<Statement>,
}

/// Whether a segment was taken alone or with the brace that stands alone after it.
#[derive(PartialEq, Eq)]
enum Taken {
    Alone,
    WithNext,
}

impl<'t> Driver<'t> {
    fn segment(&mut self, segment: &Segment, next_opens: Option<Span>) -> Taken {
        if self.buried > 0 {
            match segment.ending {
                Ending::Open(_) => self.buried += 1,
                Ending::Close(_) => self.buried -= 1,
                Ending::Line => {}
            }
            return Taken::Alone;
        }
        let statement = if segment.start == segment.end { None } else { self.statement(segment) };
        let is_empty = segment.start == segment.end;
        match segment.ending {
            Ending::Line => match (statement, next_opens) {
                (Some(header), Some(brace)) if is_block(&header) => {
                    self.errors.push(SyntaxError::BraceOnNextLine { header: header.span, brace });
                    self.open_block(Some(header), brace);
                    return Taken::WithNext;
                }
                (Some(header), None) if is_block(&header) => {
                    self.errors.push(SyntaxError::MissingBlock { header: header.span });
                }
                (Some(statement), _) => self.push(statement),
                (None, _) => {}
            },
            Ending::Open(brace) => match statement {
                Some(header) if is_block(&header) => self.open_block(Some(header), brace),
                Some(statement) => {
                    self.errors.push(SyntaxError::UnexpectedBlock { at: brace });
                    self.push(statement);
                    self.open_block(None, brace);
                }
                None => {
                    if is_empty {
                        self.errors.push(SyntaxError::UnexpectedBlock { at: brace });
                    }
                    self.open_block(None, brace);
                }
            },
            Ending::Close(brace) => self.close_block(brace),
        }
        Taken::Alone
    }

    fn open_block(&mut self, header: Option<Statement>, open: Span) {
        if self.blocks.len() >= MAX_BLOCKS {
            self.errors.push(SyntaxError::BlocksTooDeep { at: open });
            self.buried = 1;
            return;
        }
        self.blocks.push(Block { header, open, body: Vec::new() });
    }

    fn close_block(&mut self, brace: Span) {
        match self.blocks.pop() {
            Some(block) => self.block(block, brace),
            None => self.errors.push(SyntaxError::StrayBrace { at: brace }),
        }
    }

    /// `block`: puts a header and its body together.
    fn block(&mut self, block: Block, close: Span) {
        let Block { header, body, .. } = block;
        let Some(mut statement) = header else {
            // What a block without a readable header meant is unknown: its
            // statements count as broken, so that nobody misses their names.
            self.builder.tree.broken.extend(body.iter().map(broken_by_block));
            return;
        };
        statement.span = statement.span.to(close);
        match &mut statement.kind {
            StatementKind::Case { body: inside, .. } => *inside = body,
            StatementKind::For(repeat) => repeat.body = body,
            _ => {}
        }
        self.push(statement);
    }

    fn push(&mut self, statement: Statement) {
        match self.blocks.last_mut() {
            Some(block) => block.body.push(statement),
            None => self.top.push(statement),
        }
    }

    /// `statement`: one segment's statement, or `None` with the error recorded.
    fn statement(&mut self, segment: &Segment) -> Option<Statement> {
        let mut start = segment.start as usize;
        let end = segment.end as usize;
        loop {
            let tokens = self.scan.tokens.get(start..end)?;
            let spans = self.scan.spans.get(start..end)?;
            let whole = spans.first().copied()?.to(spans.last().copied()?);
            let error = match segment.state {
                SegmentState::Reported => None,
                SegmentState::TooDeep(at) => Some(SyntaxError::BracketsTooDeep { at }),
                SegmentState::Whole => {
                    let before = self.builder.begin(spans);
                    if let Some(kind) = self.statements.parse(tokens, &mut self.builder) {
                        if self.builder.slips.is_empty() {
                            return Some(Statement { kind, span: whole, note: segment.note });
                        }
                        self.builder.forget(before);
                        self.builder.slips.drain(..).next()
                    } else {
                        self.builder.forget(before);
                        match self.faults.find(tokens, spans) {
                            Failure::Plain(error) => Some(error),
                            Failure::SecondStatement { at, error } => {
                                self.errors.push(error);
                                let first = Segment {
                                    start: offset(start),
                                    end: offset(start + at),
                                    ending: Ending::Line,
                                    ..*segment
                                };
                                if let Some(statement) = self.whole_statement(&first) {
                                    self.push(statement);
                                }
                                start += at;
                                continue;
                            }
                        }
                    }
                }
            };
            self.errors.extend(error);
            self.builder.tree.broken.push(fault::broken(tokens, spans, whole));
            return None;
        }
    }

    /// A statement known to be whole.
    fn whole_statement(&mut self, segment: &Segment) -> Option<Statement> {
        let range = segment.start as usize..segment.end as usize;
        let tokens = self.scan.tokens.get(range.clone())?;
        let spans = self.scan.spans.get(range)?;
        let span = spans.first().copied()?.to(spans.last().copied()?);
        self.builder.begin(spans);
        let kind = self.statements.parse(tokens, &mut self.builder)?;
        Some(Statement { kind, span, note: segment.note })
    }

    fn finish(mut self) -> (Tree, Vec<SyntaxError>) {
        if let Some(innermost) = self.blocks.last() {
            // One missing brace leaves every block around it open as well.
            self.errors.push(SyntaxError::UnclosedBlock { open: innermost.open });
        }
        while let Some(block) = self.blocks.pop() {
            let end = block.body.last().map_or(block.open, |last| last.span);
            self.block(block, end);
        }
        let mut tree = self.builder.tree;
        tree.statements = self.top;
        (tree, self.errors)
    }
}

fn is_block(statement: &Statement) -> bool {
    matches!(statement.kind, StatementKind::Case { .. } | StatementKind::For(_))
}

fn broken_by_block(statement: &Statement) -> Broken {
    let name = match &statement.kind {
        StatementKind::Let { name, .. }
        | StatementKind::Joint { name, .. }
        | StatementKind::Case { name, .. }
        | StatementKind::Combo { name, .. }
        | StatementKind::Material { name, .. }
        | StatementKind::Section { name, .. } => Some(name.word),
        StatementKind::Travel(travel) => Some(travel.name.word),
        _ => None,
    };
    Broken { span: statement.span, name }
}

fn offset(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
