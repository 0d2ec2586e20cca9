//! The tree a file parses into: every statement of the notation with its
//! spans, notes and comments kept, nothing resolved.
//!
//! Expressions, names and chain links live in flat arenas inside [`Tree`];
//! nodes refer to them by index, so a large file costs few allocations and a
//! deep expression is dropped without recursion.
//!
//! Must not know: what a name stands for, what a unit is worth.

use crate::base::{FileId, Span};
pub use crate::quantity::Function;

/// One parsed file. Broken statements are absent from `statements`; what was
/// wrong with them is in the parse's list of errors.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    pub file: FileId,
    /// Statements at the top level, in source order.
    pub statements: Vec<Statement>,
    pub exprs: Vec<Expr>,
    /// Chain links, name lists and the like: see [`Range`].
    pub names: Vec<NameRef>,
    /// Index expressions, call arguments, direction parts: see [`Range`].
    pub lists: Vec<ExprId>,
    /// Every `//` comment, in source order, notes (`///`) among them.
    pub comments: Vec<Span>,
    /// Statements that could not be read: the names they would have declared
    /// are not reported as unknown.
    pub broken: Vec<Broken>,
}

/// A statement that could not be read; its error is in the parse's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Broken {
    pub span: Span,
    /// The word it would have declared, as far as that is known. An indexed
    /// name is given by its word: `L` for `L[i]`, which may stand for `L3`.
    pub name: Option<Span>,
    /// The joint it stands on, where that much can be read: `D` of `load D: …`.
    pub joint: Option<Span>,
}

/// An expression in [`Tree::exprs`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ExprId(pub u32);

/// A run of [`Tree::names`] or [`Tree::lists`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Range {
    pub start: u32,
    pub len: u32,
}

/// A plain word used as a name, where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Name {
    pub span: Span,
}

/// A name that may carry an index: `A`, `L[i+1]`, `L[i,j]`. For a plain name
/// `index` is empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NameRef {
    /// The word alone, without the brackets.
    pub word: Span,
    /// The whole reference, brackets included.
    pub span: Span,
    /// Index expressions, a run of [`Tree::lists`].
    pub index: Range,
}

/// `A-B-C`: a run of [`Tree::names`] with at least two links, or with one
/// where a statement allows a single joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chain {
    pub links: Range,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub struct Statement {
    pub kind: StatementKind,
    /// From the keyword to the last token (to the closing brace for blocks).
    pub span: Span,
    /// The `///` lines just before it.
    pub note: Option<Span>,
}

#[derive(Clone, Debug)]
pub enum StatementKind {
    /// `title "…"`: the span of the string's inside, escapes unresolved.
    Title(Span),
    Units(Box<Units>),
    /// `moments cw`
    Moments(Turn),
    /// `figures 3`
    Figures(ExprId),
    Let {
        name: NameRef,
        value: ExprId,
    },
    Joint {
        name: NameRef,
        at: ExprId,
    },
    Member(Box<MemberStatement>),
    /// `hinge B, C`: a run of [`Tree::names`].
    Hinge(Range),
    Support(Box<SupportStatement>),
    /// `settle C: 12 mm down`, `settle A: 0.002 rad ccw`
    Settle {
        joint: NameRef,
        amount: ExprId,
        turn: Option<Turn>,
    },
    Load(Box<LoadStatement>),
    /// `moment B: 5 kN*m ccw`, `moment A-B: 5 kN*m cw at 2 m`
    Moment(Box<MomentStatement>),
    /// `heat A-B: 25 K`
    Heat {
        chain: Chain,
        rise: ExprId,
    },
    /// `misfit A-B: 3 mm long`
    Misfit {
        chain: Chain,
        amount: ExprId,
        sense: Option<Fit>,
    },
    /// `weigh all` (no chains) or `weigh A-B-C, D-E`
    Weigh {
        chains: Vec<Chain>,
    },
    Case {
        name: NameRef,
        body: Vec<Statement>,
    },
    Combination {
        name: NameRef,
        terms: Vec<CombinationTerm>,
    },
    Travel(Box<TravelStatement>),
    Material {
        name: NameRef,
        properties: Vec<Property>,
    },
    Section {
        name: NameRef,
        material: Option<NameRef>,
        properties: Vec<Property>,
    },
    For(Box<ForStatement>),
    /// `use "loads.kp"`, `use "base.kp" with P = 26 kN`: the span of the string's inside.
    Use {
        path: Span,
        with: Vec<With>,
    },
    /// `allow SLUG`, `deny SLUG`: the span of the slug.
    Lint {
        action: LintAction,
        slug: Span,
    },
    Expect(Box<ExpectStatement>),
}

/// `units m, kN, mm`: spans of the unit words.
#[derive(Clone, Debug)]
pub struct Units {
    pub length: Span,
    pub force: Span,
    pub deflection: Option<Span>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    Clockwise,
    Counterclockwise,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    Long,
    Short,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LintAction {
    Allow,
    Deny,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MemberKind {
    Bar,
    Cable,
    Beam,
}

impl MemberKind {
    /// As a statement begins with it.
    pub const fn word(self) -> &'static str {
        match self {
            MemberKind::Bar => "bar",
            MemberKind::Cable => "cable",
            MemberKind::Beam => "beam",
        }
    }
}

/// `bar A-B-C, D-E: rafter`, `beam A-B-C: hinged at B`,
/// `beam A-B: chord, hinged at A, B` (the comma before `hinged` is optional).
#[derive(Clone, Debug)]
pub struct MemberStatement {
    pub kind: MemberKind,
    pub chains: Vec<Chain>,
    pub section: Option<NameRef>,
    /// Joints after `hinged at`, a run of [`Tree::names`]; empty without it.
    pub hinged: Range,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SupportKind {
    Pin,
    Roller,
    Fixed,
    Guide,
    Spring,
}

impl SupportKind {
    /// The keyword.
    pub const fn word(self) -> &'static str {
        match self {
            SupportKind::Pin => "pin",
            SupportKind::Roller => "roller",
            SupportKind::Fixed => "fixed",
            SupportKind::Guide => "guide",
            SupportKind::Spring => "spring",
        }
    }
}

/// `pin A, G`, `roller C: along 30°, lifts off`, `guide A: along up`,
/// `spring A: kx = 4 kN/mm, kr = 20 kN*m/rad`.
#[derive(Clone, Debug)]
pub struct SupportStatement {
    pub kind: SupportKind,
    /// A run of [`Tree::names`].
    pub joints: Range,
    /// `along DIRECTION`: the way it may roll or slide.
    pub along: Option<Direction>,
    /// `pushes DIRECTION`: the line of its one reaction.
    pub pushes: Option<Direction>,
    /// The span of `lifts off`.
    pub lifts_off: Option<Span>,
    pub properties: Vec<Property>,
}

/// `E = 29000 ksi`, `EA = rigid`.
#[derive(Clone, Copy, Debug)]
pub struct Property {
    pub name: Span,
    pub value: PropertyValue,
}

#[derive(Clone, Copy, Debug)]
pub enum PropertyValue {
    Given(ExprId),
    Rigid(Span),
}

/// What a load, claim or couple stands on: one joint, or a chain of members.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    Joint(NameRef),
    Chain(Chain),
}

/// `load PLACE: VALUE [to VALUE] [from P to P] [per run|per rise] [at joints] [at P]`
#[derive(Clone, Debug)]
pub struct LoadStatement {
    pub place: Place,
    pub value: ExprId,
    /// The value at the far end of the loaded stretch.
    pub to_value: Option<ExprId>,
    pub from: Option<ExprId>,
    pub to: Option<ExprId>,
    /// `per run` / `per rise`, and where it stands.
    pub measure: Option<(Measure, Span)>,
    /// The span of `at joints`.
    pub at_joints: Option<Span>,
    /// `at 2 m`
    pub at: Option<ExprId>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    PerRun,
    PerRise,
}

#[derive(Clone, Debug)]
pub struct MomentStatement {
    pub place: Place,
    pub value: ExprId,
    /// Absent where the sense word was left out: counterclockwise is positive.
    pub turn: Option<Turn>,
    pub at: Option<ExprId>,
}

/// A let of a used file given another value: `P = 26 kN`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct With {
    pub name: NameRef,
    pub value: ExprId,
}

/// `1.2 dead`, `- 0.5 wind`, `dead`
#[derive(Clone, Copy, Debug)]
pub struct CombinationTerm {
    pub negative: bool,
    pub factor: Option<ExprId>,
    pub name: NameRef,
    pub span: Span,
}

/// `travel crane: 40 kN, 60 kN spaced 3 m along A-B-C-D`
#[derive(Clone, Debug)]
pub struct TravelStatement {
    pub name: NameRef,
    /// A run of [`Tree::lists`].
    pub loads: Range,
    /// A run of [`Tree::lists`]; one spacing serves for all.
    pub spacings: Range,
    pub chain: Chain,
}

#[derive(Clone, Debug)]
pub struct ForStatement {
    pub variable: Name,
    pub from: ExprId,
    pub to: ExprId,
    pub by: Option<ExprId>,
    pub body: Vec<Statement>,
}

#[derive(Clone, Debug)]
pub struct ExpectStatement {
    /// The span of `not`.
    pub not: Option<Span>,
    pub claim: Claim,
}

#[derive(Clone, Debug)]
pub enum Claim {
    Determinate,
    /// `indeterminate 2`; without a number any degree will do.
    Indeterminate(Option<ExprId>),
    Unstable,
    Value(Box<ValueClaim>),
}

/// `WHAT WHERE [.x|.y|direction|sense] [at P] (:|<=|>=) VALUE [sense] [within T] [under CASE]`
#[derive(Clone, Debug)]
pub struct ValueClaim {
    pub what: ClaimWhat,
    pub what_span: Span,
    pub place: Place,
    pub component: Option<Component>,
    /// A sense word after the place.
    pub place_sense: Option<(Sense, Span)>,
    pub at: Option<ExprId>,
    pub relation: Relation,
    pub value: ClaimedValue,
    /// A sense word after the value.
    pub sense: Option<(Sense, Span)>,
    pub within: Option<ExprId>,
    pub under: Option<Under>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClaimWhat {
    Reaction,
    Force,
    Shear,
    Moment,
    Deflection,
    Rotation,
}

#[derive(Clone, Copy, Debug)]
pub enum Component {
    X(Span),
    Y(Span),
    Along(Direction),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    Equals,
    AtMost,
    AtLeast,
}

#[derive(Clone, Copy, Debug)]
pub enum ClaimedValue {
    Zero(Span),
    /// May hold a [`ExprKind::Directed`] (`65.9 kN up`) or a vector.
    Value(ExprId),
}

/// A sense word. Direction words (`up` …) after a plain quantity belong to the
/// expression instead, as [`ExprKind::Directed`]; after the place they are a
/// [`Component`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    Tension,
    Compression,
    Clockwise,
    Counterclockwise,
    Sagging,
    Hogging,
    TensionAbove,
    TensionBelow,
    TensionLeft,
    TensionRight,
}

#[derive(Clone, Copy, Debug)]
pub enum Under {
    All(Span),
    Case(NameRef),
}

#[derive(Clone, Copy, Debug)]
pub struct Expr {
    pub kind: ExprKind,
    pub span: Span,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ExprKind {
    /// `12`, `4.5 kN/m`, `6.5e-6 per K` (the unit's span then begins at `per`),
    /// `25%`. The number's text may hold `_`.
    Number {
        number: Span,
        unit: Option<Span>,
    },
    /// `4 ft 6 in`: a run of [`Tree::lists`], each a `Number`, largest first.
    Neighbours(Range),
    /// A joint (its position), a let or a loop variable.
    Name(NameRef),
    /// `A.x`, `v.y`
    Field {
        of: ExprId,
        axis: Axis,
    },
    Negative(ExprId),
    Binary {
        op: BinaryOp,
        left: ExprId,
        right: ExprId,
    },
    /// `sqrt(x)`: arguments are a run of [`Tree::lists`]; `function` is the
    /// span of the word, [`Function`] which one.
    Call {
        function: Function,
        arguments: Range,
    },
    /// `length(A-B)`, `along(K-A)`: functions whose argument is always a chain.
    ChainCall {
        function: ChainFunction,
        chain: Chain,
    },
    /// `(x, y)`, `(25, -90) lbf`: the unit applies to both.
    Vector {
        x: ExprId,
        y: ExprId,
        unit: Option<Span>,
    },
    /// `(a + b)` kept as written; with a unit, `(3/2) kN`.
    Group {
        inner: ExprId,
        unit: Option<Span>,
    },
    /// `magnitude @ direction`, `310 lbf down`, `5 kN toward C`.
    Directed {
        magnitude: ExprId,
        direction: Direction,
    },
    /// `pi`
    Pi,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    X,
    Y,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BinaryOp {
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChainFunction {
    Length,
    Angle,
    Along,
    Across,
}

/// A direction, where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    pub kind: DirectionKind,
    pub span: Span,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DirectionKind {
    /// `right`, `up`, `left`, `down`
    Word(Cardinal),
    /// `ANGLE above|below left|right`: from the horizontal word, turned
    /// towards the vertical one.
    FromHorizontal { angle: ExprId, vertical: Cardinal, horizontal: Cardinal },
    /// `ANGLE left|right of up|down`
    FromVertical { angle: ExprId, horizontal: Cardinal, vertical: Cardinal },
    /// An angle counterclockwise from +x, or a vector whose length is ignored:
    /// which of the two is known from its dimension.
    Value(ExprId),
    /// `toward C`: from the loaded joint to C.
    Toward(NameRef),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cardinal {
    Right,
    Up,
    Left,
    Down,
}

impl Range {
    /// The slice of an arena this range stands for; empty where it does not fit.
    pub fn of<T>(self, arena: &[T]) -> &[T] {
        let start = self.start as usize;
        arena.get(start..start + self.len as usize).unwrap_or(&[])
    }

    pub const fn is_empty(self) -> bool {
        self.len == 0
    }
}

impl Tree {
    /// Every statement in the order of the text, a block before what is in it.
    pub fn every_statement(&self) -> impl Iterator<Item = &Statement> {
        let mut open: Vec<&Statement> = self.statements.iter().rev().collect();
        std::iter::from_fn(move || {
            let next = open.pop()?;
            match &next.kind {
                StatementKind::Case { body, .. } => open.extend(body.iter().rev()),
                StatementKind::For(repeat) => open.extend(repeat.body.iter().rev()),
                _ => {}
            }
            Some(next)
        })
    }

    /// Every expression with its id.
    pub fn every_expr(&self) -> impl Iterator<Item = (ExprId, &Expr)> {
        (0..).map(ExprId).zip(&self.exprs)
    }

    pub fn links(&self, range: Range) -> &[NameRef] {
        range.of(&self.names)
    }

    pub fn list(&self, range: Range) -> &[ExprId] {
        range.of(&self.lists)
    }

    /// The expression an id stands for; `None` only for an id of another tree.
    pub fn expr(&self, id: ExprId) -> Option<&Expr> {
        self.exprs.get(id.0 as usize)
    }
}

impl Sense {
    /// The word or words of the notation.
    pub const fn words(self) -> &'static str {
        match self {
            Sense::Tension => "tension",
            Sense::Compression => "compression",
            Sense::Clockwise => "cw",
            Sense::Counterclockwise => "ccw",
            Sense::Sagging => "sagging",
            Sense::Hogging => "hogging",
            Sense::TensionAbove => "tension above",
            Sense::TensionBelow => "tension below",
            Sense::TensionLeft => "tension left",
            Sense::TensionRight => "tension right",
        }
    }
    #[must_use]
    pub const fn opposite(self) -> Sense {
        match self {
            Sense::Tension => Sense::Compression,
            Sense::Compression => Sense::Tension,
            Sense::Clockwise => Sense::Counterclockwise,
            Sense::Counterclockwise => Sense::Clockwise,
            Sense::Sagging => Sense::Hogging,
            Sense::Hogging => Sense::Sagging,
            Sense::TensionAbove => Sense::TensionBelow,
            Sense::TensionBelow => Sense::TensionAbove,
            Sense::TensionLeft => Sense::TensionRight,
            Sense::TensionRight => Sense::TensionLeft,
        }
    }
}

impl Cardinal {
    /// The word of the notation.
    pub const fn words(self) -> &'static str {
        match self {
            Cardinal::Right => "right",
            Cardinal::Up => "up",
            Cardinal::Left => "left",
            Cardinal::Down => "down",
        }
    }

    #[must_use]
    pub const fn opposite(self) -> Cardinal {
        match self {
            Cardinal::Right => Cardinal::Left,
            Cardinal::Up => Cardinal::Down,
            Cardinal::Left => Cardinal::Right,
            Cardinal::Down => Cardinal::Up,
        }
    }
}

impl Turn {
    /// The word of the notation.
    pub const fn words(self) -> &'static str {
        match self {
            Turn::Clockwise => "cw",
            Turn::Counterclockwise => "ccw",
        }
    }

    #[must_use]
    pub const fn opposite(self) -> Turn {
        match self {
            Turn::Clockwise => Turn::Counterclockwise,
            Turn::Counterclockwise => Turn::Clockwise,
        }
    }
}
