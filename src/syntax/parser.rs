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
use super::limits::{MAX_BLOCKS, MAX_ERRORS};
use super::scan::{Chunk, Ending, Scan, Segment, SegmentState};
use super::token::Token;
use super::tree::{Broken, Statement, StatementKind, Tree};
use crate::base::{FileId, Span};

/// `file`: every statement and block of a text. Gives the tree and what is
/// wrong with the text, in no order.
///
/// Where a brace is missing the text is read again, and the indentation tells
/// which block was left open, so that what follows is not taken into it.
pub(super) fn file(file: FileId, text: &str) -> (Tree, Vec<SyntaxError>) {
    let is_unclosed = |error: &SyntaxError| matches!(error, SyntaxError::UnclosedBlock { .. });
    let (tree, errors) = read(file, text, Blocks::AsBraced);
    if !errors.iter().any(is_unclosed) {
        return (tree, errors);
    }
    let again = read(file, text, Blocks::AsIndented);
    if again.1.len() <= errors.len() && again.1.iter().any(is_unclosed) { again } else { (tree, errors) }
}

/// What tells where a block ends.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Blocks {
    AsBraced,
    /// A line no further in than a block's header ends the block, if it does
    /// not do so itself.
    AsIndented,
}

fn read(file: FileId, text: &str, blocks: Blocks) -> (Tree, Vec<SyntaxError>) {
    let mut scan = Scan::new(text);
    let mut file = File::new(file, blocks);
    while scan.read_chunk() {
        file = Reader::new(text, &scan.chunk, file).read();
        file.make_room(Part { read: scan.position(), left: text.len() - scan.position() });
    }
    file.finish(scan)
}

/// How many bytes of a text are read, and how many are not.
#[derive(Clone, Copy)]
struct Part {
    read: usize,
    left: usize,
}

/// What has been read of a file.
struct File {
    tree: Tree,
    errors: Vec<SyntaxError>,
    /// Statements outside any block.
    top: Vec<Statement>,
    /// Blocks that are open, innermost last.
    blocks: Vec<Block>,
    ends: Blocks,
    /// Blocks open beyond the depth limit.
    unread_depth: usize,
    /// A block's header whose line ended without a brace.
    header_without_block: Option<Statement>,
    /// Headers reported to have no block; a brace may yet close what was meant.
    missing_blocks: usize,
}

/// Reads one chunk of a file. Its parsers borrow the chunk, so each chunk has
/// its own.
struct Reader<'t> {
    chunk: &'t Chunk,
    statements: Statements<'t, EmptyErr>,
    faults: Faults<'t>,
    builder: Builder<'t>,
    file: File,
}

/// A block that is open.
struct Block {
    /// Its header with an empty body; `None` where the header was broken.
    header: Option<Statement>,
    open: Span,
    body: Vec<Statement>,
}

impl File {
    fn new(file: FileId, ends: Blocks) -> Self {
        File {
            ends,
            tree: Tree { file, ..Tree::default() },
            errors: Vec::new(),
            top: Vec::new(),
            blocks: Vec::new(),
            unread_depth: 0,
            header_without_block: None,
            missing_blocks: 0,
        }
    }

    /// Makes room for the rest of a large file, if it is like what was read, so
    /// that the lists need not move as they grow.
    fn make_room(&mut self, part: Part) {
        let more = |held: usize| {
            let like_before = (held as u128 * part.left as u128).checked_div(part.read as u128).unwrap_or(0);
            usize::try_from(like_before + like_before / 16).unwrap_or(0)
        };
        // Where there is no room, the lists grow as they go.
        let _ = self.top.try_reserve(more(self.top.len()));
        let _ = self.tree.exprs.try_reserve(more(self.tree.exprs.len()));
        let _ = self.tree.names.try_reserve(more(self.tree.names.len()));
        let _ = self.tree.lists.try_reserve(more(self.tree.lists.len()));
    }

    fn error(&mut self, error: SyntaxError) {
        // One more than the limit, so that the excess is known.
        if self.errors.len() <= MAX_ERRORS {
            self.errors.push(error);
        }
    }

    /// Puts a statement, and the brace or line end after it, in its place.
    fn take(&mut self, statement: Option<Statement>, ending: Ending) {
        match ending {
            Ending::Line => match statement {
                Some(header) if is_block(&header) => self.header_without_block = Some(header),
                Some(statement) => self.push(statement),
                None => {}
            },
            Ending::Open(brace) => match statement {
                Some(header) if is_block(&header) => self.open_block(Some(header), brace),
                Some(statement) => {
                    self.push(statement);
                    self.open_unexpected(brace);
                }
                None => self.open_block(None, brace),
            },
            Ending::Close(brace) => match self.blocks.pop() {
                Some(block) => self.block(block, brace),
                None if self.missing_blocks > 0 => self.missing_blocks -= 1,
                None => self.error(SyntaxError::StrayBrace { at: brace }),
            },
        }
    }

    /// A brace that stands alone on its line, or after a brace.
    fn take_lone_brace(&mut self, ending: Ending) {
        match (ending, self.header_without_block.take()) {
            (Ending::Open(brace), Some(header)) => {
                self.error(SyntaxError::BraceOnNextLine { header: header.span, brace });
                self.open_block(Some(header), brace);
            }
            (Ending::Open(brace), None) => self.open_unexpected(brace),
            (ending, header) => {
                self.header_without_block = header;
                self.report_missing_block();
                self.take(None, ending);
            }
        }
    }

    fn report_missing_block(&mut self) {
        if let Some(header) = self.header_without_block.take() {
            self.tree.broken.push(broken_by_block(&header));
            self.error(SyntaxError::MissingBlock { header: header.span });
            self.missing_blocks += 1;
        }
    }

    fn open_unexpected(&mut self, brace: Span) {
        if self.blocks.len() < MAX_BLOCKS {
            self.error(SyntaxError::UnexpectedBlock { at: brace });
        }
        self.open_block(None, brace);
    }

    fn open_block(&mut self, header: Option<Statement>, open: Span) {
        if self.blocks.len() >= MAX_BLOCKS {
            self.error(SyntaxError::BlocksTooDeep { at: open });
            self.unread_depth = 1;
            return;
        }
        self.blocks.push(Block { header, open, body: Vec::new() });
    }

    /// `block`: puts a header and its body together.
    fn block(&mut self, block: Block, close: Span) {
        let Block { header, body, .. } = block;
        let Some(mut statement) = header else {
            // What a block without a readable header meant is unknown: its
            // statements count as broken, so that their names are not reported as unknown.
            self.tree.broken.extend(body.iter().map(broken_by_block));
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

    fn finish(mut self, scan: Scan<'_>) -> (Tree, Vec<SyntaxError>) {
        self.report_missing_block();
        if let Some(innermost) = self.blocks.last() {
            // One missing brace leaves every block around it open as well.
            let open = innermost.open;
            self.error(SyntaxError::UnclosedBlock { open });
        }
        while let Some(block) = self.blocks.pop() {
            let end = block.body.last().map_or(block.open, |last| last.span);
            self.block(block, end);
        }
        let mut errors = scan.errors;
        errors.append(&mut self.errors);
        if !scan.old_keywords.is_empty() {
            errors.push(SyntaxError::OldKeyword { at: scan.old_keywords });
        }
        // One of two versions was read; which one is meant is not known.
        let conflicts = errors.iter().filter(|error| matches!(error, SyntaxError::MergeConflict { .. }));
        self.tree.broken.extend(conflicts.map(|error| Broken { span: error.span(), name: None, joint: None }));
        (Tree { statements: self.top, comments: scan.comments, ..self.tree }, errors)
    }
}

impl<'t> Reader<'t> {
    fn new(text: &'t str, chunk: &'t Chunk, mut file: File) -> Self {
        let builder = Builder::new(text, std::mem::take(&mut file.tree));
        Reader { chunk, statements: Statements::new(), faults: Faults::new(text), builder, file }
    }

    fn read(mut self) -> File {
        for segment in &self.chunk.segments {
            self.segment(segment);
        }
        let mut tree = self.builder.tree;
        tree.broken.append(&mut self.file.tree.broken);
        File { tree, ..self.file }
    }

    fn segment(&mut self, segment: &Segment) {
        if self.file.ends == Blocks::AsIndented {
            self.end_blocks_left_open(segment);
        }
        let file = &mut self.file;
        if file.unread_depth > 0 {
            match segment.ending {
                Ending::Open(_) => file.unread_depth += 1,
                Ending::Close(_) => file.unread_depth -= 1,
                Ending::Line => {}
            }
            return;
        }
        if segment.start == segment.end {
            file.take_lone_brace(segment.ending);
            return;
        }
        file.report_missing_block();
        let statement = self.statement(segment);
        self.file.take(statement, segment.ending);
    }

    /// Ends the blocks whose header begins further in than this line does, or
    /// as far in if the line is not their brace.
    fn end_blocks_left_open(&mut self, segment: &Segment) {
        let first = self.chunk.spans.get(segment.start as usize).filter(|_| segment.start < segment.end);
        let (at, is_brace) = match (first, segment.ending) {
            (Some(first), _) => (first.start, false),
            (None, Ending::Close(brace)) => (brace.start, true),
            _ => return,
        };
        let text = self.builder.text();
        let Some(here) = indentation_at(text, at) else { return };
        while let Some(block) = self.file.blocks.last() {
            let open = block.open;
            let header = indentation_of(text, open.start);
            let is_ended = Span::new(open.end, at).text(text).contains('\n') && !(is_brace && header == here);
            // The outermost block keeps its brace, wherever that stands.
            let keeps_brace = is_brace && self.file.blocks.len() == 1;
            if !is_ended || header < here || keeps_brace {
                return;
            }
            self.file.error(SyntaxError::UnclosedBlock { open });
            if let Some(block) = self.file.blocks.pop() {
                self.file.block(block, Span::at(open.end));
            }
        }
    }

    /// `statement`: one segment's statement, or `None` with the error recorded.
    fn statement(&mut self, segment: &Segment) -> Option<Statement> {
        let range = segment.start as usize..segment.end as usize;
        let mut tokens = self.chunk.tokens.get(range.clone())?;
        let mut spans = self.chunk.spans.get(range)?;
        loop {
            let span = spans.first().copied()?.to(spans.last().copied()?);
            let error = match segment.state {
                SegmentState::Reported => None,
                SegmentState::TooDeep(at) => Some(SyntaxError::BracketsTooDeep { at }),
                SegmentState::Whole => match self.parse(tokens, spans) {
                    Ok(kind) => return Some(Statement { kind, span, note: segment.note }),
                    Err(Failure::Plain(error)) => Some(error),
                    Err(Failure::SecondStatement { at, error }) => {
                        self.file.error(error);
                        let ((first, rest), (first_spans, rest_spans)) =
                            (tokens.split_at_checked(at)?, spans.split_at_checked(at)?);
                        if let Ok(kind) = self.parse(first, first_spans) {
                            let span = first_spans.first().copied()?.to(first_spans.last().copied()?);
                            self.file.take(Some(Statement { kind, span, note: segment.note }), Ending::Line);
                        }
                        (tokens, spans) = (rest, rest_spans);
                        continue;
                    }
                },
            };
            error.into_iter().for_each(|error| self.file.error(error));
            self.builder.tree.broken.push(fault::broken(tokens, spans, span));
            return None;
        }
    }

    fn parse(&mut self, tokens: &'t [Token], spans: &'t [Span]) -> Result<StatementKind, Failure> {
        let before = self.builder.begin(spans);
        let parsed = self.statements.parse(tokens, &mut self.builder);
        match (parsed, self.builder.slips.is_empty()) {
            (Some(kind), true) => Ok(kind),
            (Some(_), false) => {
                self.builder.forget(before);
                let slip = self.builder.slips.swap_remove(0);
                Err(Failure::Plain(self.faults.refine(slip, tokens, spans)))
            }
            (None, _) => {
                self.builder.forget(before);
                Err(self.faults.find(tokens, spans))
            }
        }
    }
}

/// How far in the line of a place begins, where the place is its first.
fn indentation_at(text: &str, at: u32) -> Option<usize> {
    let line = text.get(..at as usize)?.rsplit('\n').next()?;
    line.trim().is_empty().then_some(line.len())
}

/// How far in the line of a place begins.
fn indentation_of(text: &str, at: u32) -> usize {
    let line = text.get(..at as usize).and_then(|before| before.rsplit('\n').next()).unwrap_or("");
    line.len() - line.trim_start().len()
}

fn is_block(statement: &Statement) -> bool {
    matches!(statement.kind, StatementKind::Case { .. } | StatementKind::For(_))
}

fn broken_by_block(statement: &Statement) -> Broken {
    let name = match &statement.kind {
        StatementKind::Let { name, .. }
        | StatementKind::Joint { name, .. }
        | StatementKind::Case { name, .. }
        | StatementKind::Combination { name, .. }
        | StatementKind::Material { name, .. }
        | StatementKind::Section { name, .. } => Some(name.word),
        StatementKind::Travel(travel) => Some(travel.name.word),
        _ => None,
    };
    Broken { span: statement.span, name, joint: None }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
