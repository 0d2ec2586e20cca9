//! Lines written as other notations have them: one table of shapes, each with
//! what is written for it here. A line is told of only where it reads once it
//! is rewritten; several rows may be needed for one line.
//!
//! Must not know: wording.

use std::collections::VecDeque;
use std::ops::Range;

use logos::Logos;
use rustc_hash::FxHashSet;

use super::error::{Certainty, Fits, Habit, MoreOnLine, Replacement, SyntaxError, Usage};
use super::token::{Token, keyword_called, keyword_perhaps_called};
use super::{parser, scan};
use crate::base::{FileId, Span};
use crate::quantity::{is_unit_word, parse_unit, similar_unit};

/// So many lines of a file are tried.
const MOST_LINES: usize = 40;
/// Longer lines are none of a statement that somebody typed.
const LONGEST_LINE: usize = 240;
/// So many ways to write one line are tried.
const MOST_WAYS: usize = 32;

/// How a line of a shape is written here.
enum Way {
    /// A shape and a text. In a shape words and marks stand for themselves, `a|b`
    /// for either, `a?` for one or none; capitals are parts, by their first
    /// letter: see [`part`]. The text has the parts in their places.
    Shape(&'static str, &'static str),
    By(fn(&str, &[Piece]) -> Option<String>),
}

struct Row(Usage, Certainty, Way);

const fn sure(usage: Usage, shape: &'static str, text: &'static str) -> Row {
    Row(usage, Certainty::Sure, Way::Shape(shape, text))
}

const fn open(usage: Usage, shape: &'static str, text: &'static str) -> Row {
    Row(usage, Certainty::Open, Way::Shape(shape, text))
}

use Usage as U;

const TABLE: &[Row] = &[
    Row(U::Comment, Certainty::Sure, Way::By(comment)),
    Row(U::Bracket, Certainty::Sure, Way::By(closed_index)),
    Row(U::Word, Certainty::Sure, Way::By(small_letters)),
    // Statements by other words.
    sure(U::KindOfLoad, "point|concentrated|distributed|uniform|line|nodal|joint load P R", "load P R"),
    sure(U::Case, "load|loading case N R", "case N R"),
    sure(U::Combination, "load combination N R", "combination N R"),
    open(U::LoadOfCase, "N load P R", "case N { load P R }"),
    Row(U::Keyword, Certainty::Sure, Way::By(keyword_meant)),
    Row(U::Keyword, Certainty::Open, Way::By(keyword_perhaps_meant)),
    // Values.
    sure(U::Assignment, "let N : = V", "let N = V"),
    sure(U::Assignment, "let N = = V", "let N = V"),
    sure(U::Assignment, "let N is|be|to V", "let N = V"),
    sure(U::Let, "N : = V", "N = V"),
    Row(U::Let, Certainty::Sure, Way::By(let_missing)),
    // Points and vectors.
    sure(U::Point, "joint N :|=|at|@|is? X ,|;? Y", "joint N: (X, Y)"),
    sure(U::Point, "joint N :|=|at|@|is? ( X ,|;? Y )", "joint N: (X, Y)"),
    sure(U::Point, "H <|{|[ X ,|; Y >|}|] R", "H (X, Y) R"),
    open(U::Joint, "N :? ( X , Y )", "joint N: (X, Y)"),
    open(U::Joint, "N X ,? Y", "joint N: (X, Y)"),
    sure(U::Point, "joint N :? ( x = X , y = Y )", "joint N: (X, Y)"),
    sure(U::Components, "H fx|px|x|h =|:? X ,|;|and? fy|py|y|v =|:? Y", "H (X, Y)"),
    // Members.
    sure(U::Chain, "K from|between? N to|and M R", "K N-M R"),
    sure(U::Chain, "K N - > M R", "K N-M R"),
    sure(U::Chain, "K ( N , M ) R", "K N-M R"),
    sure(U::List, "K ( N , M )", "K N, M"),
    open(U::List, "K V and|& N", "K V, N"),
    sure(U::List, "K C and|& C2 R", "K C, C2 R"),
    sure(U::Hinged, "beam C : hinge|hinges|pinned at|on|in? V", "beam C: hinged at V"),
    sure(U::Hinged, "beam C ; hinged at V", "beam C: hinged at V"),
    open(U::Hinged, "beam C hinge|hinges|pinned at|on|in? V", "beam C: hinged at V"),
    sure(U::Support, "pinned|hinged support|bearing at|on|:? N", "pin N"),
    sure(U::Keyword, "internal|inner hinge R", "hinge R"),
    sure(U::Case, "case N load|loads|case {", "case N {"),
    sure(U::Angle, "H A to|towards the? S of W R", "H A S of W R"),
    open(U::Position, "H at X from N", "H at X"),
    sure(U::Subject, "expect force in|of|on C R", "expect force C R"),
    sure(U::List, "K at|on|in joint|joints|node|nodes? V", "K V"),
    Row(U::Chain, Certainty::Open, Way::By(chain_by_comma)),
    open(U::MemberName, "K N : C R", "K C R"),
    open(U::MemberName, "K Q : C R", "K C R"),
    Row(U::MemberName, Certainty::Open, Way::By(named_member)),
    sure(U::Hinged, "beam C ,|with|and hinge|hinged|hinges|pinned|pin at|on|in? V", "beam C: hinged at V"),
    open(U::Hinged, "beam C : N ,|with|and? hinge|hinged|hinges|pinned|pin at|on|in? V", "beam C: N, hinged at V"),
    sure(U::HingedAgain, "H hinged at V ,|and|;? hinged|hinge|pinned at V2", "H hinged at V, V2"),
    sure(U::HingedAgain, "H hinged at V and|& V2", "H hinged at V, V2"),
    // Supports.
    sure(U::Support, "N :|is|=? a? T support|joint?", "T N"),
    sure(U::Support, "N :|is|=? a? pinned|hinged support|joint?", "pin N"),
    sure(U::Support, "support|supports at|on|:? N :|=|is|,? a? T", "T N"),
    open(U::RollerWay, "roller N :? vertical|vertically|horizontal|horizontally", "roller N"),
    open(U::RollerWay, "roller N : A", "roller N: along A"),
    // Loads.
    sure(U::PlaceFirst, "load X D at|on|to|@ P R", "load P: X D R"),
    sure(U::PlaceFirst, "load V at|on|to P", "load P: V"),
    open(U::Components, "load P :? X ,? Y", "load P: (X, Y)"),
    sure(U::Colon, "K P X R", "K P: X R"),
    open(U::Direction, "load P : X vertical|vertically", "load P: X down"),
    open(U::Direction, "load P : X horizontal|horizontally", "load P: X right"),
    sure(U::ValueFirst, "K P : D of? X R", "K P: X D R"),
    sure(U::ValueFirst, "K P : D V", "K P: V D"),
    sure(U::ValueFirst, "K P : cw X R", "K P: X cw R"),
    sure(U::ValueFirst, "K P : ccw X R", "K P: X ccw R"),
    sure(U::Direction, "H X at|,|on|along|in? A B S R", "H X @ A B S R"),
    sure(U::Direction, "H X at|,|on|along|in? A S of W R", "H X @ A S of W R"),
    open(U::Direction, "H X at|, A", "H X @ A"),
    sure(U::Direction, "H X to|towards|toward|acting|pointing|directed|applied the? D R", "H X D R"),
    sure(U::Direction, "H X ( D ) R", "H X D R"),
    sure(U::Direction, "H vertically|vertical|straight W R", "H W R"),
    sure(U::Direction, "H horizontally|horizontal S R", "H S R"),
    sure(U::Direction, "H W vertically|vertical R", "H W R"),
    sure(U::Direction, "H S horizontally|horizontal R", "H S R"),
    sure(
        U::Angle,
        "H A B of|from? the? horizontal|horiz|horizontally|level? ,? and? to|towards|toward? the? S R",
        "H A B S R",
    ),
    sure(U::Angle, "H A to|towards? the? S ,|and? B of|from? the? horizontal|horiz|level R", "H A B S R"),
    sure(
        U::Angle,
        "H A from|to|off|with the? horizontal|horiz|level ,? up|upward|upwards ,|and? to? the? S R",
        "H A above S R",
    ),
    sure(
        U::Angle,
        "H A from|to|off|with the? horizontal|horiz|level ,? down|downward|downwards ,|and? to? the? S R",
        "H A below S R",
    ),
    sure(
        U::Angle,
        "H A from|to|off|with the? vertical|vert ,? down|downward|downwards ,|and? to? the? S R",
        "H A S of down R",
    ),
    sure(U::Angle, "H A from|to|off|with the? vertical|vert ,? up|upward|upwards ,|and? to? the? S R", "H A S of up R"),
    open(U::Slope, "H @|at|on? a? X : Y below left R", "H @ (-X, -Y) R"),
    open(U::Slope, "H @|at|on? a? X : Y below right R", "H @ (X, -Y) R"),
    open(U::Slope, "H @|at|on? a? X : Y above left R", "H @ (-X, Y) R"),
    open(U::Slope, "H @|at|on? a? X : Y above right R", "H @ (X, Y) R"),
    sure(U::Position, "H D @ X R", "H D at X R"),
    sure(U::Position, "H , at X R", "H at X R"),
    // Numbers and units.
    sure(U::Unit, "H X per E R", "H X/E R"),
    Row(U::Unit, Certainty::Open, Way::By(spaced_unit)),
    Row(U::Power, Certainty::Sure, Way::By(power_without_mark)),
    open(U::Pounds, "H X # R", "H X lbf R"),
    Row(U::Number, Certainty::Open, Way::By(decimal_for_fraction)),
    Row(U::Number, Certainty::Open, Way::By(thousands)),
    // Claims.
    Row(U::Subject, Certainty::Sure, Way::By(component_claimed)),
    Row(U::Subject, Certainty::Open, Way::By(subject_claimed)),
    open(U::Subject, "expect C :|=? X R", "expect force C: X R"),
    open(U::Subject, "expect N :|=? X R", "expect reaction N: X R"),
    sure(U::Relation, "expect V = = X R", "expect V: X R"),
    sure(U::Relation, "expect V : = X R", "expect V: X R"),
    sure(U::Relation, "expect V is|equals|= X R", "expect V: X R"),
    sure(U::Relation, "expect V at most X R", "expect V <= X R"),
    sure(U::Relation, "expect V at least X R", "expect V >= X R"),
    open(U::Relation, "expect V ~|≈|: about|approx|approximately|circa|ca|roughly|around|~|≈? X R", "expect V: X R"),
    open(U::Relation, "expect V about|approx|approximately|roughly X R", "expect V: X R"),
    sure(U::Sense, "expect force C : X (? t|ten|tens|tensile )? R", "expect force C: X tension R"),
    sure(U::Sense, "expect force C : X (? c|comp|compr|compressive )? R", "expect force C: X compression R"),
    sure(U::Stable, "expect stable R", "expect not unstable R"),
    sure(U::Stable, "expect not stable R", "expect unstable R"),
    // Combinations.
    sure(U::Plus, "combination N : V and|&|, R", "combination N: V + R"),
    sure(U::Factor, "combination N : H X ( M ) R", "combination N: H X M R"),
    open(U::Factor, "combination N : H M / X R", "combination N: H (1/X) M R"),
    // The file.
    sure(U::Quotes, "title :? V", "title \"V\""),
    sure(U::Quotes, "use '|` V '|`", "use \"V\""),
    sure(U::Quotes, "use V", "use \"V\""),
    sure(U::Units, "units :|=|in? N ,|;|-|/|and? M R", "units N, M R"),
    open(U::Units, "units :|=? metric|si", "units m, kN"),
    open(U::Units, "units :|=? imperial|us|english|customary", "units ft, lbf"),
    // Loops and blocks.
    sure(U::Loop, "for N = X to|through|thru Y R", "for N from X to Y R"),
    sure(U::Loop, "for N : = X to|through|thru Y R", "for N from X to Y R"),
    open(U::Loop, "for N in|over|= X to|until|: Y R", "for N from X to Y R"),
    open(U::Loop, "for N in|over range ( X ) R", "for N from 0 to X - 1 R"),
    open(U::Loop, "for N in|over range ( X , Y ) R", "for N from X to Y - 1 R"),
    open(U::Loop, "for ( N = X ; M < Y ; V ) R", "for N from X to Y - 1 R"),
    open(U::Loop, "for ( N = X ; M <= Y ; V ) R", "for N from X to Y R"),
    Row(U::Loop, Certainty::Open, Way::By(range_by_dots)),
    sure(U::Loop, "for V step X R", "for V by X R"),
    open(U::Block, "case N :|do|then", "case N {"),
    open(U::Block, "for V :|do|then", "for V {"),
    // Last: what can be said of almost any line.
    Row(U::NumberName, Certainty::Open, Way::By(numbers_as_names)),
    Row(U::Heading, Certainty::Open, Way::By(heading)),
];

/// A token of a line, and where it stands in it.
struct Piece {
    token: Token,
    at: Range<usize>,
}

/// Puts what a line is told of as one habit in the place of its errors, where
/// no row of the table is needed less.
pub(super) fn tell_habits(text: &str, errors: &mut Vec<SyntaxError>) {
    let mut rest = std::mem::take(errors).into_iter().peekable();
    let mut left = MOST_LINES;
    while let Some(first) = rest.next() {
        let line = line_at(text, first.span().start as usize);
        let mut own = vec![first];
        while let Some(next) = rest.next_if(|next| line.contains(&(next.span().start as usize))) {
            own.push(next);
        }
        let is_open = may_be_habit(&own, text.get(line.clone()).unwrap_or(""));
        let is_tried = left > 0 && is_open && !goes_on(text, line.start);
        left -= usize::from(is_tried);
        match is_tried.then(|| habit(text, line)).flatten() {
            Some(habit) => put(errors, habit),
            None => errors.append(&mut own),
        }
    }
}

/// Names that are numbers are one habit of a file.
fn put(errors: &mut Vec<SyntaxError>, found: SyntaxError) {
    let is_number =
        |error: &SyntaxError| matches!(error, SyntaxError::Habit { habit: Habit::Line(U::NumberName, _), .. });
    if is_number(&found)
        && let SyntaxError::Habit { edits: more, .. } = &found
        && let Some(SyntaxError::Habit { edits, .. }) = errors.iter_mut().find(|error| is_number(error))
    {
        edits.extend(more.iter().cloned());
        return;
    }
    errors.push(found);
}

/// Whether the errors of a line leave open what was meant: none that has its
/// own certain cure, or that is no matter of the line.
fn may_be_habit(errors: &[SyntaxError], line: &str) -> bool {
    use SyntaxError as E;
    let is_of_line = |error: &SyntaxError| match error {
        E::LookAlike { .. }
        | E::HiddenCharacter { .. }
        | E::UnclosedText { .. }
        | E::BadEscape { .. }
        | E::MergeConflict { .. }
        | E::OldKeyword { .. }
        | E::TwoStatements { .. }
        | E::ClauseTwice { .. }
        | E::IndexedNameEndsInDigit { .. }
        | E::BraceOnNextLine { .. }
        | E::ExpressionTooDeep { .. }
        | E::BracketsTooDeep { .. }
        | E::BlocksTooDeep { .. }
        | E::FileTooLarge { .. }
        | E::TooManyErrors { .. } => false,
        E::Semicolon { more, .. } => *more == MoreOnLine::Unclear,
        E::UnknownCharacter { .. }
        | E::MalformedNumber { .. }
        | E::NumberRange { .. }
        | E::UnknownStatement { .. }
        | E::NoStatement { .. }
        | E::MissingMark { .. }
        | E::WrongMark { .. }
        | E::Expected { .. }
        | E::KeywordAsName { .. }
        | E::UnclosedBracket { .. }
        | E::StrayBracket { .. }
        | E::ThirdCoordinate { .. }
        | E::DecimalComma { .. }
        | E::UnknownUnit { .. }
        | E::UnknownFunction { .. }
        | E::NeighbourWithoutUnit { .. }
        | E::ShortChain { .. }
        | E::MisplacedClause { .. }
        | E::LateDirection { .. }
        | E::Habit { .. }
        | E::UnclosedBlock { .. }
        | E::StrayBrace { .. }
        | E::MissingBlock { .. }
        | E::UnexpectedBlock { .. } => true,
    };
    let is_cured = |error: &SyntaxError| match error {
        E::Habit { habit: Habit::CommaMissing, .. } => !["vertical", "horizontal"].iter().any(|way| line.contains(way)),
        E::Habit { edits, .. } => !edits.is_empty(),
        E::MalformedNumber { instead, .. } => instead.is_some(),
        // `joint A 4 -2` reads with its mark, and is no difference.
        E::MissingMark { fits, .. } => *fits == Fits::Yes && !is_read_otherwise(line),
        E::WrongMark { fits, .. } | E::DecimalComma { fits, .. } => *fits == Fits::Yes,
        E::UnknownStatement { instead, .. } | E::Expected { instead, .. } => instead.is_some(),
        E::MissingBlock { .. } | E::UnclosedBlock { .. } | E::StrayBrace { .. } | E::ThirdCoordinate { .. } => true,
        _ => false,
    };
    errors.iter().all(is_of_line) && !matches!(errors, [only] if is_cured(only))
}

/// Whether a line that lacks a mark would be read as another with it: two
/// numbers as one difference, `at most` as a position, `in` as a name.
fn is_read_otherwise(line: &str) -> bool {
    let tokens: Vec<Token> = pieces(line).iter().map(|piece| piece.token).collect();
    let are_two = |tokens: &[Token]| {
        matches!(tokens, [Token::Number, Token::Number, ..] | [Token::Number, Token::Minus, Token::Number, ..])
    };
    let has_two = (0..tokens.len()).any(|at| tokens.get(at..).is_some_and(are_two));
    has_two || [" at most ", " at least ", " in ", "(x"].iter().any(|words| line.contains(words))
}

fn line_at(text: &str, at: usize) -> Range<usize> {
    let start = text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
    let end = text.get(at..).and_then(|rest| rest.find(['\n', '\r'])).map_or(text.len(), |end| at + end);
    start..end
}

/// Whether the line before goes on in the one that begins here.
fn goes_on(text: &str, start: usize) -> bool {
    let before = text.get(..start).unwrap_or("").trim_end();
    let line = before.rsplit('\n').next().unwrap_or("");
    line.split("//").next().unwrap_or("").trim_end().ends_with([',', '+', '-', '*', '/', '@', '=', '('])
}

/// The habit that a line shows, with the edits that mend it.
fn habit(text: &str, line: Range<usize>) -> Option<SyntaxError> {
    let written = text.get(line.clone()).filter(|written| written.len() <= LONGEST_LINE)?;
    let end = code_end(written);
    let code = written.get(..end)?.trim();
    let start = line.start + written.find(code)?;
    let (usage, certainty, new) = rewritten(code)?;
    let mut edits = vec![difference(code, &new, start)];
    let at = edits.first()?.at;
    if usage == U::Block {
        edits.push(Replacement { at: Span::at(offset(block_end(text, &line))), text: "}\n".to_owned() });
    }
    Some(SyntaxError::Habit { habit: Habit::Line(usage, certainty), at, edits })
}

/// Where the lines end that stand further in than the line before them.
fn block_end(text: &str, header: &Range<usize>) -> usize {
    let indentation = |line: &str| line.len() - line.trim_start_matches([' ', '\t']).len();
    let own = indentation(text.get(header.clone()).unwrap_or(""));
    let mut end = text.len().min(header.end + 1);
    let mut at = end;
    for line in text.get(at..).unwrap_or("").split_inclusive('\n') {
        at += line.len();
        match line.trim().is_empty() {
            true => continue,
            false if indentation(line) <= own => break,
            false => end = at,
        }
    }
    end
}

/// The one place where two texts differ, whole words.
fn difference(old: &str, new: &str, start: usize) -> Replacement {
    let is_part = |c: char| c.is_alphanumeric() || c == '_';
    let same = |(a, b): &(char, char)| a == b;
    let mut head: usize = old.chars().zip(new.chars()).take_while(same).map(|(c, _)| c.len_utf8()).sum();
    while old.get(..head).is_some_and(|head| head.ends_with(is_part)) {
        head -= 1;
        while !old.is_char_boundary(head) {
            head -= 1;
        }
    }
    let (old_rest, new_rest) = (old.get(head..).unwrap_or(""), new.get(head..).unwrap_or(""));
    let ends = old_rest.chars().rev().zip(new_rest.chars().rev()).take_while(same);
    let mut tail: usize = ends.map(|(c, _)| c.len_utf8()).sum();
    while tail > 0 && old_rest.get(old_rest.len() - tail..).is_some_and(|tail| tail.starts_with(is_part)) {
        tail -= 1;
        while !old_rest.is_char_boundary(old_rest.len() - tail) {
            tail -= 1;
        }
    }
    let (from, to) = (start + head, start + old.len() - tail);
    let text = new_rest.get(..new_rest.len() - tail).unwrap_or("").to_owned();
    Replacement { at: Span::new(offset(from), offset(to)), text }
}

fn offset(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

/// What a line is to be, by the fewest rows of the table: the first of them,
/// and how certain all are together.
fn rewritten(code: &str) -> Option<(Usage, Certainty, String)> {
    let mut known = FxHashSet::from_iter([code.to_owned()]);
    let mut open = VecDeque::from([(None, Certainty::Sure, code.to_owned())]);
    while let Some((first, before, written)) = open.pop_front() {
        let pieces = pieces(&written);
        for Row(usage, own, way) in TABLE {
            let new = match way {
                Way::Shape(shape, text) => by_shape(&written, &pieces, shape, text),
                Way::By(way) => way(&written, &pieces),
            };
            let Some(new) = new.filter(|new| known.len() < MOST_WAYS && known.insert(new.clone())) else { continue };
            let (first, certainty) = (first.unwrap_or(*usage), before.max(*own));
            if reads(&new) {
                return Some((first, certainty, new));
            }
            open.push_back((Some(first), certainty, new));
        }
    }
    None
}

/// Whether a line is one statement, a block's header, or a comment.
fn reads(line: &str) -> bool {
    let closed = if line.ends_with('{') { format!("{line}\n}}") } else { line.to_owned() };
    let (tree, errors) = parser::file(FileId::default(), &closed);
    errors.is_empty() && (tree.statements.len() == 1 || line.starts_with("//"))
}

fn code_end(line: &str) -> usize {
    let comment = Token::lexer(line).spanned().find(|(token, _)| *token == Ok(Token::Comment));
    comment.map_or(line.len(), |(_, at)| at.start)
}

fn pieces(code: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut lexer = Token::lexer(code);
    while let Some(token) = lexer.next() {
        let (token, at) = (token.unwrap_or(Token::Unknown), lexer.span());
        let end = at.end;
        pieces.push(Piece { token, at });
        if matches!(token, Token::Number | Token::BareDecimal | Token::RightParen)
            && let Some(unit) = scan::unit_after(code, end)
        {
            lexer.bump(unit.end - end);
            pieces.push(Piece { token: Token::Unit, at: unit });
        }
    }
    pieces
}

/// A line of a shape written otherwise.
fn by_shape(code: &str, pieces: &[Piece], shape: &'static str, text: &str) -> Option<String> {
    let shape: Vec<&str> = shape.split(' ').collect();
    let mut parts = Vec::new();
    fits(code, &shape, pieces, &mut parts).then(|| filled(text, &parts))
}

/// Whether the pieces are of a shape; gives the text of its parts.
fn fits<'c>(code: &'c str, shape: &[&'static str], pieces: &[Piece], parts: &mut Vec<(&'static str, &'c str)>) -> bool {
    let Some((first, rest)) = shape.split_first() else { return pieces.is_empty() };
    if first.starts_with(|c: char| c.is_ascii_uppercase()) {
        let counts = part(first, code, pieces);
        // The last part takes all that is left.
        let counts = if rest.is_empty() { counts.start.max(pieces.len())..counts.end } else { counts };
        for count in counts {
            let (own, after) = pieces.split_at_checked(count).unwrap_or((pieces, &[]));
            let own = match (own.first(), own.last()) {
                (Some(first), Some(last)) => code.get(first.at.start..last.at.end).unwrap_or(""),
                _ => "",
            };
            parts.push((first, own));
            if fits(code, rest, after, parts) {
                return true;
            }
            parts.pop();
        }
        return false;
    }
    let (words, is_optional) = match first.strip_suffix('?') {
        Some(words) => (words, true),
        None => (*first, false),
    };
    let is_it = |piece: &Piece| {
        let word = code.get(piece.at.clone()).unwrap_or("");
        words.split('|').any(|own| own.eq_ignore_ascii_case(word))
    };
    let found = pieces.split_first().filter(|(piece, _)| is_it(piece));
    found.is_some_and(|(_, after)| fits(code, rest, after, parts)) || (is_optional && fits(code, rest, pieces, parts))
}

/// How many pieces a part may take, the ways in which it is tried: `H` and `R`
/// are any text, `V` any but none, `N` `M` names, `C` a chain, `P` either, `X`
/// `Y` numbers with or without a unit, `Q` a whole number, `A` an angle, `B` above or
/// below, `S` left or right, `W` up or down, `D` any of the four, `E` a unit,
/// `T` a kind of support, `K` a keyword.
fn part(name: &str, code: &str, pieces: &[Piece]) -> Range<usize> {
    let token = |at: usize| pieces.get(at).map(|piece| piece.token);
    let word = |at: usize| pieces.get(at).and_then(|piece| code.get(piece.at.clone())).unwrap_or("");
    let is_angle = |unit: &str| matches!(unit, "°" | "deg" | "rad" | "º" | "˚");
    let is_name = |at: usize| token(at).is_some_and(Token::is_word);
    let one = |is: bool| if is { 1..2 } else { 0..0 };
    let chain = || {
        let links = (0..).take_while(|link| is_name(2 * link + 2) && token(2 * link + 1) == Some(Token::Minus)).count();
        if is_name(0) { 2 * links + 1 } else { 0 }
    };
    let number = || {
        let sign = usize::from(token(0) == Some(Token::Minus));
        match (token(sign), token(sign + 1)) {
            (Some(Token::Number), Some(Token::Unit)) if is_angle(word(sign + 1)) => 0,
            (Some(Token::Number), Some(Token::Unit)) => sign + 2,
            (Some(Token::Number), _) => sign + 1,
            _ => 0,
        }
    };
    match name.as_bytes().first() {
        Some(b'H' | b'R') => 0..pieces.len() + 1,
        Some(b'V') => 1..pieces.len() + 1,
        Some(b'N' | b'M') => one(is_name(0)),
        Some(b'C') => match chain() {
            0 | 1 => 0..0,
            count => count..count + 1,
        },
        Some(b'P') => match chain() {
            0 => 0..0,
            count => count..count + 1,
        },
        Some(b'X' | b'Y') => match number() {
            0 => 0..0,
            count => count..count + 1,
        },
        Some(b'Q') => one(token(0) == Some(Token::Number) && token(1) != Some(Token::Unit) && !word(0).contains('.')),
        Some(b'A') => {
            let is_one = token(0) == Some(Token::Number) && token(1) == Some(Token::Unit) && is_angle(word(1));
            if is_one { 2..3 } else { 0..0 }
        }
        Some(b'B') => one(matches!(token(0), Some(Token::Above | Token::Below))),
        Some(b'S') => one(matches!(token(0), Some(Token::Left | Token::Right))),
        Some(b'W') => one(matches!(token(0), Some(Token::Up | Token::Down))),
        Some(b'D') => one(token(0).is_some_and(Token::is_cardinal)),
        Some(b'E') => one(is_name(0) && is_unit_word(word(0))),
        Some(b'T') => one(matches!(token(0), Some(Token::Pin | Token::Roller | Token::Fixed | Token::Guide))),
        Some(b'K') => one(token(0).is_some_and(Token::is_keyword)),
        _ => 0..0,
    }
}

/// A text with the parts put in; blanks about an empty one are one, and one
/// less than a whole number is worked out.
fn filled(text: &str, parts: &[(&str, &str)]) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        let is_part = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit();
        let own = if next.is_ascii_uppercase() { rest.len() - rest.trim_start_matches(is_part).len() } else { 0 };
        let (name, after) = rest.split_at_checked(own.max(next.len_utf8())).unwrap_or((rest, ""));
        match parts.iter().find(|(part, _)| *part == name) {
            Some((_, written)) => {
                if written.starts_with([':', ',']) && out.ends_with(' ') {
                    out.pop();
                }
                out.push_str(written);
            }
            None => out.push_str(name),
        }
        if let Some((own, less)) = after.strip_prefix(" - 1").zip(parts.iter().find(|(part, _)| *part == name))
            && let Ok(count) = less.1.parse::<u64>()
            && count > 0
        {
            out.truncate(out.len() - less.1.len());
            out.push_str(&(count - 1).to_string());
            rest = own;
            continue;
        }
        rest = after;
        if out.ends_with("  ") {
            out.pop();
        }
    }
    out.trim().to_owned()
}

/// The keyword for a word by which the trade knows just that, if it begins the line.
fn keyword_meant(code: &str, pieces: &[Piece]) -> Option<String> {
    with_keyword(code, pieces, keyword_called)
}

/// One that the trade uses for more than that.
fn keyword_perhaps_meant(code: &str, pieces: &[Piece]) -> Option<String> {
    with_keyword(code, pieces, keyword_perhaps_called)
}

fn with_keyword(code: &str, pieces: &[Piece], called: impl Fn(&str) -> Option<Token>) -> Option<String> {
    let first = pieces.first().filter(|first| !first.token.is_keyword())?;
    let (word, rest) = code.split_at_checked(first.at.end)?;
    let keyword = called(word).filter(|_| !rest.trim_start().starts_with(['=', ':']))?;
    Some(format!("{}{rest}", keyword.spelling()))
}

/// `h = 3 m`, `leth = 3 m`
fn let_missing(code: &str, pieces: &[Piece]) -> Option<String> {
    let [name, equals, _, ..] = pieces else { return None };
    let is_value = name.token.is_word() && equals.token == Token::Equals;
    let own = code.strip_prefix("let").filter(|rest| rest.starts_with(char::is_alphabetic)).unwrap_or(code);
    is_value.then(|| format!("let {own}"))
}

/// `DOWN`, `Joint`: a word of the notation in capitals.
fn small_letters(code: &str, pieces: &[Piece]) -> Option<String> {
    let is_own = |piece: &&Piece| {
        let word = code.get(piece.at.clone()).unwrap_or("");
        let small = word.to_lowercase();
        piece.token == Token::Name && word.len() > 1 && small != word && Token::is_own_word(&small)
    };
    let mut out = code.to_owned();
    for piece in pieces.iter().filter(is_own) {
        let small = code.get(piece.at.clone())?.to_lowercase();
        out.replace_range(piece.at.clone(), &small);
    }
    (out != code).then_some(out)
}

/// `-- note`, `% note`, `! note`: a comment as it is written elsewhere.
fn comment(code: &str, _: &[Piece]) -> Option<String> {
    if let Some((sign, note)) = code.split_once(' ').filter(|(sign, _)| matches!(*sign, "'" | "REM" | "rem" | "*")) {
        return Some(format!("//{}{note}", " ".repeat(usize::from(!sign.is_empty()))));
    }
    ["--", "%", "!"].into_iter().find_map(|sign| {
        let (before, after) = code.split_once(sign)?;
        let is_apart = before.is_empty() || before.ends_with([' ', '\t']);
        let is_note = after.starts_with([' ', '\t']) && after.contains(char::is_alphabetic);
        let follows_number = sign == "%" && before.trim_end().ends_with(|c: char| c.is_ascii_digit());
        (is_apart && is_note && !follows_number).then(|| format!("{before}//{after}"))
    })
}

/// `L[i: (0, 0)`: the bracket of an index closed before the colon.
fn closed_index(code: &str, pieces: &[Piece]) -> Option<String> {
    let is = |piece: &Piece, token| piece.token == token;
    let open = pieces.iter().rposition(|piece| is(piece, Token::LeftBracket))?;
    let rest = pieces.get(open..)?;
    let end = rest.iter().find(|piece| matches!(piece.token, Token::Colon | Token::Equals | Token::RightBracket))?;
    (!is(end, Token::RightBracket)).then(|| {
        let (head, tail) = code.split_at_checked(end.at.start).unwrap_or((code, ""));
        format!("{}]{tail}", head.trim_end())
    })
}

/// `bar AB A B`: a member named by its joints, which come after.
fn named_member(code: &str, pieces: &[Piece]) -> Option<String> {
    let [keyword, name, first, second, rest @ ..] = pieces else { return None };
    let word = |piece: &Piece| code.get(piece.at.clone()).unwrap_or("");
    let is_named = matches!(keyword.token, Token::Bar | Token::Cable | Token::Beam)
        && word(name) == format!("{}{}", word(first), word(second));
    let tail = rest.first().map_or("", |next| code.get(next.at.start..).unwrap_or(""));
    let tail = if tail.is_empty() { String::new() } else { format!(" {tail}") };
    is_named.then(|| format!("{} {}-{}{tail}", word(keyword), word(first), word(second)))
}

/// `2½ m`, `6 1/2 in`.
fn decimal_for_fraction(code: &str, pieces: &[Piece]) -> Option<String> {
    for (sign, decimals) in
        [("½", "5"), ("¼", "25"), ("¾", "75"), ("⅛", "125"), ("⅜", "375"), ("⅝", "625"), ("⅞", "875")]
    {
        if let Some((before, after)) = code.split_once(sign) {
            let whole = before.trim_end_matches(' ');
            let is_mixed = whole.ends_with(|c: char| c.is_ascii_digit());
            return Some(if is_mixed {
                format!("{whole}.{decimals}{after}")
            } else {
                format!("{before}0.{decimals}{after}")
            });
        }
    }
    let number = |at: usize| -> Option<f64> {
        let piece = pieces.get(at).filter(|piece| piece.token == Token::Number)?;
        code.get(piece.at.clone())?.parse().ok()
    };
    let at = (0..pieces.len()).find(|at| {
        let slash = pieces.get(at + 2).is_some_and(|piece| piece.token == Token::Slash);
        slash && number(*at).is_some() && number(at + 1) < number(at + 3) && number(at + 1).is_some()
    })?;
    let value = number(at)? + number(at + 1)? / number(at + 3)?;
    let (from, to) = (pieces.get(at)?.at.start, pieces.get(at + 3)?.at.end);
    Some(format!("{}{}{}", code.get(..from)?, crate::quantity::format::trimmed(value, 9), code.get(to..)?))
}

/// `1'500`, `1 500`: thousands set apart.
fn thousands(code: &str, pieces: &[Piece]) -> Option<String> {
    let is_number = |at: usize| pieces.get(at).is_some_and(|piece| piece.token == Token::Number);
    let text = |at: usize| pieces.get(at).and_then(|piece| code.get(piece.at.clone())).unwrap_or("");
    let at = (0..pieces.len()).find(|at| is_number(*at) && text(*at).len() <= 3)?;
    let second = if matches!(text(at + 1), "'" | "’") { at + 2 } else { at + 1 };
    let is_group = is_number(second) && text(second).len() == 3;
    let (from, to) = (pieces.get(at)?.at.end, pieces.get(second)?.at.start);
    is_group.then(|| Some(format!("{}_{}", code.get(..from)?, code.get(to..)?))).flatten()
}

/// `bar A, B`; a load on `A, B` is one on each of them.
fn chain_by_comma(code: &str, pieces: &[Piece]) -> Option<String> {
    let text = |piece: &Piece| code.get(piece.at.clone());
    let [keyword, name, comma, second, ..] = pieces else { return None };
    let is_member = matches!(text(keyword)?, "bar" | "beam" | "cable" | "heat" | "misfit" | "weigh");
    let is_pair = [name, second].iter().all(|piece| piece.token == Token::Name) && comma.token == Token::Comma;
    (is_member && is_pair).then(|| Some(format!("{}-{}", code.get(..name.at.end)?, code.get(second.at.start..)?)))?
}

/// `3000 kN m^2`: the words of one unit, set apart.
fn spaced_unit(code: &str, pieces: &[Piece]) -> Option<String> {
    let is_unit = |piece: &Piece| code.get(piece.at.clone()).is_some_and(|text| parse_unit(text).is_ok());
    let mut gaps = pieces.windows(3).filter_map(|three| match three {
        [number, first, second] if number.token == Token::Number && is_unit(first) && is_unit(second) => {
            let gap = first.at.end..second.at.start;
            code.get(gap.clone()).filter(|gap| gap.trim().is_empty()).map(|_| gap)
        }
        _ => None,
    });
    let gap = gaps.next()?;
    // What belongs to the second word goes with it: `m ^2`.
    Some(format!("{}*{}", code.get(..gap.start)?, code.get(gap.end..)?))
}

/// `45 cm2`, `3200 cm4`: powers of units without their mark.
fn power_without_mark(code: &str, pieces: &[Piece]) -> Option<String> {
    let (mut new, mut from) = (String::new(), 0);
    for pair in pieces.windows(2) {
        let [number, word] = pair else { continue };
        let text = code.get(word.at.clone())?;
        let unit = similar_unit(text).filter(|unit| unit.contains('^') && unit.replace('^', "") == text);
        if let (Token::Number, Some(unit), true) = (number.token, unit, text.ends_with(['2', '3', '4'])) {
            new.push_str(&format!("{}{unit}", code.get(from..word.at.start)?));
            from = word.at.end;
        }
    }
    (from > 0).then(|| Some(format!("{new}{}", code.get(from..)?)))?
}

/// `expect A_y: 5 kN`: the component of a reaction by its sign.
fn component_claimed(code: &str, pieces: &[Piece]) -> Option<String> {
    let (word, tail) = claimed(code, pieces)?;
    let (joint, axis) = word.rsplit_once('_')?;
    let is_sign = matches!(axis, "x" | "y") && !matches!(joint, "R" | "F" | "N" | "S" | "V" | "H" | "M");
    (is_sign && !joint.is_empty()).then(|| format!("expect reaction {joint}.{axis}{tail}"))
}

/// `expect F_AB: 3 kN T`, `expect R_A: 5 kN`: what is claimed, as formulae have it.
fn subject_claimed(code: &str, pieces: &[Piece]) -> Option<String> {
    let (word, tail) = claimed(code, pieces)?;
    if let Some((joint, axis @ ("x" | "y"))) = word.split_at_checked(word.len().saturating_sub(1))
        && joint.len() == 1
    {
        return Some(format!("expect reaction {joint}.{axis}{tail}"));
    }
    let (sign, of) = word.split_once('_')?;
    let of = of.trim_matches('_');
    let (axis, joint) = match of.strip_suffix(['x', 'y']) {
        Some(joint) if !joint.is_empty() => (format!(".{}", of.get(joint.len()..)?), joint.trim_end_matches('_')),
        _ => (String::new(), of),
    };
    let mut letters = of.chars();
    match (sign, letters.next(), letters.next(), letters.next()) {
        ("F" | "N" | "S" | "T", Some(first), Some(second), None) => {
            Some(format!("expect force {first}-{second}{tail}"))
        }
        ("F" | "N" | "S" | "T", Some(first), None, None) => {
            // `F_A-B`: the other joint follows.
            let other = tail.strip_prefix('-').filter(|rest| rest.starts_with(char::is_alphabetic))?;
            Some(format!("expect force {first}-{other}"))
        }
        ("V" | "A", Some(_), _, _) => Some(format!("expect reaction {of}.y{tail}")),
        ("H", Some(_), _, _) => Some(format!("expect reaction {of}.x{tail}")),
        ("R" | "M", Some(_), _, _) => Some(format!("expect reaction {joint}{axis}{tail}")),
        _ => None,
    }
}

/// The word a claim begins with, and what follows it.
fn claimed<'c>(code: &'c str, pieces: &[Piece]) -> Option<(&'c str, String)> {
    let [keyword, subject, ..] = pieces else { return None };
    let is_claim = keyword.token == Token::Expect && subject.token == Token::Name;
    let (word, tail) = (code.get(subject.at.clone())?, code.get(subject.at.end..)?);
    let value = tail.trim_start().strip_prefix('=');
    is_claim.then(|| (word, value.map_or_else(|| tail.to_owned(), |value| format!(":{value}"))))
}

/// `for i in 0..4 {`
fn range_by_dots(code: &str, pieces: &[Piece]) -> Option<String> {
    let is_loop = pieces.first().is_some_and(|first| first.token == Token::For);
    let dots = ["...", "..", "…"].into_iter().find(|dots| is_loop && code.contains(dots))?;
    code.split_once(dots).map(|(low, high)| format!("{} to {}", low.trim_end(), high.trim_start_matches(['=', ' '])))
}

/// `joint 1: (0, 0)`, `bar 1-2`: joints that are numbered get a letter.
fn numbers_as_names(code: &str, pieces: &[Piece]) -> Option<String> {
    let first = pieces.first()?.token;
    let takes_names = matches!(
        first,
        Token::Joint
            | Token::Bar
            | Token::Cable
            | Token::Beam
            | Token::Hinge
            | Token::Pin
            | Token::Fixed
            | Token::Roller
            | Token::Guide
            | Token::Spring
            | Token::Settle
            | Token::Load
            | Token::Moment
            | Token::Heat
            | Token::Misfit
            | Token::Weigh
            | Token::Expect
    );
    let subject = pieces.iter().position(|piece| matches!(piece.token, Token::Colon | Token::AtMost | Token::AtLeast));
    let subject = subject.unwrap_or(pieces.len());
    let mut out = String::new();
    let mut end = 0;
    for (at, piece) in pieces.iter().enumerate().take(subject) {
        let before = at.checked_sub(1).and_then(|at| pieces.get(at)).map(|piece| piece.token);
        let is_place = before.is_some_and(|before| {
            before.is_keyword()
                || matches!(
                    before,
                    Token::Minus
                        | Token::Comma
                        | Token::Reaction
                        | Token::Force
                        | Token::Shear
                        | Token::Deflection
                        | Token::Rotation
                )
        });
        let word = code.get(piece.at.clone())?;
        if piece.token == Token::Number && is_place && word.bytes().all(|byte| byte.is_ascii_digit()) {
            out.push_str(code.get(end..piece.at.start)?);
            out.push('J');
            end = piece.at.start;
        }
    }
    out.push_str(code.get(end..)?);
    (takes_names && out != code).then_some(out)
}

/// `Joint X Y`: the head of a table.
fn heading(code: &str, pieces: &[Piece]) -> Option<String> {
    let are_words = pieces.iter().all(|piece| piece.token.is_word() || piece.token.is_keyword());
    const HEADS: [&str; 16] = [
        "x", "y", "z", "name", "id", "type", "no", "from", "to", "start", "end", "joint", "node", "fx", "fy", "section",
    ];
    let mut words = code.split_whitespace().map(str::to_lowercase);
    let first = words.next()?;
    let are_heads = words.all(|word| HEADS.contains(&word.as_str()));
    let is_thing =
        keyword_perhaps_called(&first).is_some() || Token::KEYWORDS.iter().any(|keyword| keyword.spelling() == first);
    (are_words && are_heads && is_thing && pieces.len() >= 3).then(|| format!("// {code}"))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn every_row_leads_to_what_reads() {
        for (line, want) in [
            ("node B 20 0", "joint B: (20, 0)"),
            ("P = 26 kN", "let P = 26 kN"),
            ("load C: down 10 kN", "load C: 10 kN down"),
            ("load C: 10 kN at 30° below right", "load C: 10 kN @ 30° below right"),
            ("load C: 5 kN 63.4° below the horizontal to the left", "load C: 5 kN @ 63.4° below left"),
            ("beam A-B: hinged at A, hinged at B", "beam A-B: hinged at A, B"),
            ("joint L[i: (i*2, 0)", "joint L[i]: (i*2, 0)"),
            ("expect A_y: 5 kN", "expect reaction A.y: 5 kN"),
            ("expect F_AB: 3 kN T", "expect force A-B: 3 kN tension"),
            ("combination s: dead and live", "combination s: dead + live"),
            ("joint B: <4, 0>", "joint B: (4, 0)"),
            ("load C: {3, -10} kN", "load C: (3, -10) kN"),
            ("for i = 0 to 3 {", "for i from 0 to 3 {"),
            ("bar 1-2-3", "bar J1-J2-J3"),
        ] {
            assert_eq!(rewritten(line).map(|(_, _, new)| new).as_deref(), Some(want), "{line}");
        }
    }
}
