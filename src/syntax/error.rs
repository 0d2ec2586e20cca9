//! What can be wrong with a text, as data: where, what was expected, what was
//! found. The words are made elsewhere. Each variant's comment is the smallest
//! input that triggers it.
//!
//! Must not know: wording, severity.

use super::token::Token;
use crate::base::Span;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SyntaxError {
    /// `pin §`
    UnknownCharacter { at: Span },
    /// `joint A: (−1, 0)` with a typographic minus: read as what it looks like.
    LookAlike { at: Span, instead: String },
    /// `pin A` followed by U+202E
    HiddenCharacter { at: Span },
    /// `title "roof`
    UnclosedText { text: Span },
    /// `title "a\n"`
    BadEscape { at: Span },
    /// `let a = .5`; `instead` where the cure is certain.
    MalformedNumber { number: Span, instead: Option<String> },
    /// `load A-B: 0..6 kN/m down`; each number with its unit, if it has one.
    NumberRange { low: Span, high: Span },
    /// `pin A; roller B`
    Semicolon { at: Span, more: MoreOnLine },
    /// `combo a: dead` for `combination a: dead`, each in one file: read as what it was.
    OldKeyword { at: Vec<Span> },
    /// `<<<<<<< ours` … `=======` … `>>>>>>> theirs`: what stands between the
    /// last two is not read. `middle` and `end` are missing where they are not
    /// found.
    MergeConflict { start: Span, middle: Option<Span>, end: Option<Span> },
    /// `jont A: (0, 0)`; `instead` where one keyword is near and the statement
    /// reads with it.
    UnknownStatement { word: Span, instead: Option<Token> },
    /// `+ 5 kN down`
    NoStatement { found: Span },
    /// `pin A roller B`; the second statement begins at `at`.
    TwoStatements { first: Span, at: Span },
    /// `joint A (0, 0)`; `after` ends where the mark belongs. `fits` tells
    /// whether the statement reads with nothing but the mark added, or reads on
    /// beyond this place.
    MissingMark { mark: Token, subject: Span, fits: Fits },
    /// `let a: 3`
    WrongMark { found: Span, instead: Token, fits: Fits },
    /// `pin`; `instead` where one expected word is near the found one and the
    /// statement reads with it.
    Expected { statement: Statement, expected: Vec<Expected>, found: Found, instead: Option<Token> },
    /// `joint load: (0, 0)`
    KeywordAsName { keyword: Span },
    /// `joint A: (0, 0`
    UnclosedBracket { open: Span, end: Span },
    /// `joint A: 0, 0)`
    StrayBracket { at: Span },
    /// `joint A: (3,5, 2)`
    ThirdCoordinate { comma: Span },
    /// `let a = 3,5`; `fits` where the statement reads with a point for the comma.
    DecimalComma { number: Span, comma: Span, decimals: Span, fits: Fits },
    /// `let a = 5 kn`
    UnknownUnit { number: Span, word: Span },
    /// `let a = log(2)`
    UnknownFunction { word: Span },
    /// `let h = 4 6 in`
    NeighbourWithoutUnit { number: Span, other: Span },
    /// `joint L2[i]: (0, 0)`
    IndexedNameEndsInDigit { word: Span },
    /// `bar A`
    ShortChain { statement: Statement, name: Span },
    /// `load A-B: 2 kN down at joints at joints`
    ClauseTwice { first: Span, second: Span },
    /// `pin A at 2 m`
    MisplacedClause { statement: Statement, clause: Span },
    /// `load A-B: 5 kN at 2 m down`
    LateDirection { direction: Span },
    /// `joint B: 4, 0`; `edits` where the cure is certain.
    Habit { habit: Habit, at: Span, edits: Vec<Replacement> },
    /// `case wind {`
    UnclosedBlock { open: Span },
    /// `}`
    StrayBrace { at: Span },
    /// `case wind`
    MissingBlock { header: Span },
    /// `case wind` with `{` on the next line
    BraceOnNextLine { header: Span, brace: Span },
    /// `pin A {` … `}`
    UnexpectedBlock { at: Span },
    /// `let a = 1+1+…` beyond [`MAX_EXPRESSION_DEPTH`](super::limits::MAX_EXPRESSION_DEPTH)
    ExpressionTooDeep { at: Span },
    /// `let a = ((((…` beyond [`MAX_BRACKETS`](super::limits::MAX_BRACKETS)
    BracketsTooDeep { at: Span },
    /// `case a { case a { …` beyond [`MAX_BLOCKS`](super::limits::MAX_BLOCKS)
    BlocksTooDeep { at: Span },
    /// A file beyond [`MAX_FILE_BYTES`](super::limits::MAX_FILE_BYTES)
    FileTooLarge { bytes: usize },
    /// A file with more than [`MAX_ERRORS`](super::limits::MAX_ERRORS) errors: the rest are not listed.
    TooManyErrors { at: Span },
}

/// What is written otherwise here than it is elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Habit {
    /// `/* a note */`
    BlockComment,
    /// `pin: A`, `joint: C (2, 3)`
    ColonAfterKeyword,
    /// `roller on B`
    Preposition,
    /// `joint B: 4, 0`
    BareCoordinates,
    /// `joint A: (0 0)`
    PointWithoutComma,
    /// `load C: 5 kN 30° below right`
    AngleWithoutSign,
    /// `load C: 5 kN down left`
    TwoDirections { upright: Token, sideways: Token },
    /// `load C: 5 kN downwards`, `expect force A-B: 5 kN comp`
    OtherWord(Token),
    /// `load C: 12 kN down under wind`
    LoadUnderCase { case: Span },
    /// `loadB: 3 kN up`
    RunOn { keyword: Token },
    /// `for (i = 0; i < 5; i++) {`
    LoopParts,
    /// `support A: pin`
    SupportOfKind { kind: Token, joint: Span },
    /// `joint D: (3, 4'6")`
    FeetAndInches,
    /// `load C: 5 kN @ 30°15' below left`
    MinutesOfArc,
    /// `joint B: [3, 0]`
    SquareBrackets,
    /// `beam A B C`
    ChainByBlanks,
    /// `expect deflection A-B at 2 m down: 1.8 mm`
    LateComponent,
    /// `load D: 10 kN @ 30° from vertical`
    AngleFrom(Reference),
    /// `beam A-B: hinged B`
    WordMissing(Token),
    /// `hinge B-C`
    ChainOfJoints,
    /// `joint D: (3,0, 4,5)`
    DecimalCommas,
    /// `pin A D`, `pin A and D`
    CommaMissing,
    /// `load A-B: 5 kN at 2 m down`, `moment A-B: 5 kN*m at 2 m cw`
    LateWord,
    /// `load B: 5 kN*m cw`
    CoupleAsLoad,
    /// `12 kip-ft`: a product of units as drawings have it.
    UnitProduct,
    /// A line that reads once rows of the table of habits have rewritten it.
    Line(Usage, Certainty),
}

/// Whether anything else could be meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    Sure,
    Open,
}

/// What a line has that is written otherwise here; each with the smallest
/// line that shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Usage {
    /// `pin A -- note`
    Comment,
    /// `joint L[i: (0, 0)`
    Bracket,
    /// `load C: 5 kN DOWN`
    Word,
    /// `point load C: 5 kN down`
    KindOfLoad,
    /// `load case dead {`
    Case,
    /// `load combination s: dead + snow`
    Combination,
    /// `dead load C: 5 kN down`
    LoadOfCase,
    /// `node A 0 0`
    Keyword,
    /// `let h := 3 m`
    Assignment,
    /// `h = 3 m`
    Let,
    /// `joint B: <4, 0>`
    Point,
    /// `B (4, 0)`
    Joint,
    /// `load C: Fx = 3 kN, Fy = -4 kN`
    Components,
    /// `bar A to B`
    Chain,
    /// `pin (A, B)`
    List,
    /// `bar 1: A-B`
    MemberName,
    /// `beam A-B-C, hinge at B`
    Hinged,
    /// `beam A-B-C: hinged at A, hinged at B`
    HingedAgain,
    /// `A: pin`
    Support,
    /// `roller C: vertical`
    RollerWay,
    /// `load 10 kN down at C`
    PlaceFirst,
    /// `load C 10 kN to the left`
    Colon,
    /// `load C: down 10 kN`
    ValueFirst,
    /// `load C: 10 kN at 30° below right`
    Direction,
    /// `load C: 5 kN @ 30° below the horizontal to the left`
    Angle,
    /// `load C: 5 kN @ 2:1 below left`
    Slope,
    /// `load A-B: 5 kN down @ 2 m`
    Position,
    /// `load A-B: 5 kN per m down`
    Unit,
    /// `section s: A = 45 cm2`
    Power,
    /// `load C: 500# down`
    Pounds,
    /// `let h = 2½ m`
    Number,
    /// `expect A_y: 5 kN`
    Subject,
    /// `expect force A-B == 5 kN`
    Relation,
    /// `expect force A-B 5 kN T`
    Sense,
    /// `expect stable`
    Stable,
    /// `combination s: dead and live`
    Plus,
    /// `combination s: dead + live/2`
    Factor,
    /// `title Boathouse roof`
    Quotes,
    /// `units m kN`
    Units,
    /// `for i = 0 to 3 {`
    Loop,
    /// `case dead:`
    Block,
    /// `joint 1: (0, 0)`
    NumberName,
    /// `Joint X Y`
    Heading,
}

/// What an angle is told from, without saying to which side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// `30° to the horizontal`
    Horizontal,
    /// `30° above`
    Above,
    /// `30° below the horizontal`
    Below,
    /// `30° from vertical`
    Vertical,
    /// `30° down`
    Toward(Token),
}

/// What a certain cure puts in the place of what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replacement {
    pub at: Span,
    pub text: String,
}

/// The statement an error stands in: its keyword and where that stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Statement {
    pub keyword: Token,
    pub span: Span,
}

/// Whether the statement was tried with the mark in its place and read well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fits {
    Yes,
    No,
}

/// What could have stood at the place of an error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Expected {
    Token(Token),
    Name,
    Value,
    Direction,
    Claim,
    UnitWord,
    Slug,
    EndOfStatement,
}

/// What stood there instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// `None` at the end of the statement.
    pub token: Option<Token>,
    pub at: Span,
}

impl SyntaxError {
    /// Where it is.
    pub fn span(&self) -> Span {
        match self {
            SyntaxError::Habit { at, .. }
            | SyntaxError::UnknownCharacter { at }
            | SyntaxError::LookAlike { at, .. }
            | SyntaxError::HiddenCharacter { at }
            | SyntaxError::BadEscape { at }
            | SyntaxError::Semicolon { at, .. }
            | SyntaxError::TwoStatements { at, .. }
            | SyntaxError::StrayBracket { at }
            | SyntaxError::StrayBrace { at }
            | SyntaxError::UnexpectedBlock { at }
            | SyntaxError::ExpressionTooDeep { at }
            | SyntaxError::BracketsTooDeep { at }
            | SyntaxError::BlocksTooDeep { at }
            | SyntaxError::TooManyErrors { at } => *at,
            SyntaxError::UnclosedText { text } => *text,
            SyntaxError::MalformedNumber { number, .. } => *number,
            SyntaxError::NumberRange { low, high } => low.to(*high),
            SyntaxError::UnknownStatement { word, .. }
            | SyntaxError::UnknownUnit { word, .. }
            | SyntaxError::UnknownFunction { word }
            | SyntaxError::IndexedNameEndsInDigit { word } => *word,
            SyntaxError::NoStatement { found } | SyntaxError::WrongMark { found, .. } => *found,
            SyntaxError::MissingMark { subject, .. } => Span::at(subject.end),
            SyntaxError::Expected { found, .. } => found.at,
            SyntaxError::KeywordAsName { keyword } => *keyword,
            SyntaxError::UnclosedBracket { open, .. } | SyntaxError::UnclosedBlock { open } => *open,
            SyntaxError::ThirdCoordinate { comma } | SyntaxError::DecimalComma { comma, .. } => *comma,
            SyntaxError::NeighbourWithoutUnit { number, .. } => *number,
            SyntaxError::ShortChain { name, .. } => *name,
            SyntaxError::ClauseTwice { second, .. } => *second,
            SyntaxError::MisplacedClause { clause, .. } => *clause,
            SyntaxError::LateDirection { direction } => *direction,
            SyntaxError::MissingBlock { header } | SyntaxError::BraceOnNextLine { header, .. } => *header,
            SyntaxError::MergeConflict { start, .. } => *start,
            SyntaxError::OldKeyword { at } => at.first().copied().unwrap_or_default(),
            SyntaxError::FileTooLarge { .. } => Span::default(),
        }
    }
}

/// Whether a statement follows on the line, or nothing but a comment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MoreOnLine {
    Yes,
    No,
    /// Something that begins no statement.
    Unclear,
}
