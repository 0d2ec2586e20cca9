//! Trees to a structure, in passes: declare what has a name and unroll loops;
//! evaluate lets and joints; then sections, members, supports, loads, claims.
//!
//! Works in one sweep a pass whatever the order of statements, and reports
//! each fault once, however many turns of a loop repeat it.
//!
//! Must not know: equilibrium, words for people.

mod chains;
mod claims;
mod combinations;
mod evaluate;
mod expand;
mod heading;
mod layout;
mod loads;
mod naming;
mod sections;
mod setting;
mod travels;

use std::cell::Cell;
use std::rc::Rc;

use indexmap::IndexSet;
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

use crate::base::ids::typed_id;
use crate::base::{
    CaseId, FileId, Files, IdVec, JointId, MaterialId, Origin, SectionId, Span, memory, nearest, similar,
};
use crate::quantity::format::Figures;
use crate::quantity::{Dimension, NamedUnit, Number, Reading, Unit, UnitSystem, Value, Vector};
use crate::syntax::tree::{ExprId, NameRef, Range, Statement, Tree, Turn, Units};

use super::fault::{Fault, FaultKind, Named, Near, Wanted};
use super::model::Structure;
use super::names::{NameId, Names, Recent};
use super::project::Project;

use evaluate::{Evaluated, Stop};

pub use setting::MOST_SET;

/// The most statements a project may unroll into.
pub const MAX_STATEMENTS: usize = 2_500_000;
/// What a statement takes at most until its structure is judged, bytes: a
/// joint with its name, its place and its rows.
pub const BYTES_OF_STATEMENT: usize = 800;
/// The most faults that are kept; the rest are only counted.
pub const MAX_FAULTS: usize = 2_000;
/// The most names that one unknown name is compared with.
const MOST_CANDIDATES: usize = 20_000;
/// The most comparisons of names in one run.
const MOST_COMPARISONS: usize = 1_000_000;

/// A structure with everything that was wrong on the way to it.
#[derive(Debug, Default)]
pub struct Lowered {
    pub structure: Structure,
    pub faults: Vec<Fault>,
    /// Faults beyond [`MAX_FAULTS`].
    pub more_faults: usize,
    /// Whether a fault left out a joint, member or support, so that nothing
    /// can be said of the stability of what was meant.
    pub layout: LayoutState,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LayoutState {
    #[default]
    Whole,
    Incomplete,
}

typed_id!(
    /// A let or a joint, in the order met.
    DefId,
    /// A turn of a loop, or the root.
    ScopeId,
);

impl ScopeId {
    const ROOT: ScopeId = ScopeId(0);
}

/// Where an expression is evaluated: in which file, in which turns of which loops.
#[derive(Clone, Copy, Debug)]
pub struct Context {
    pub file: FileId,
    pub scope: ScopeId,
    /// The joint a load stands on, for `toward`.
    pub loaded_joint: Option<DefId>,
    pub bare: Bare,
}

/// What a bare number may become where a length or a force is wanted, or is
/// added to one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bare {
    /// One in the file's unit.
    FileUnit,
    /// Nothing: a displacement that is no literal.
    Refused,
}

/// One turn of a loop, or the root.
#[derive(Debug)]
struct Scope {
    parent: Option<ScopeId>,
    variable: Option<NameId>,
    value: i64,
    /// Whether the loop ends with this turn.
    is_last: bool,
    /// A run of `scope_lets`.
    lets: (u32, u32),
}

/// A let or a joint: a name and the expression that gives its value.
#[derive(Debug)]
struct Definition {
    name: NameId,
    origin: Origin,
    context: Context,
    expr: ExprId,
    state: DefState,
    /// The place in `joints` of a joint; `None` for a let.
    joint: Option<u32>,
    read: bool,
    /// Of a pure let: another that it depends on, of a file with other units.
    foreign: Option<DefId>,
}

impl Definition {
    const fn what(&self) -> Named {
        if self.joint.is_some() { Named::Joint } else { Named::Let }
    }
}

#[derive(Clone, Debug)]
enum DefState {
    Waiting,
    /// Being evaluated.
    Open,
    Settled(Settled),
    Failed,
}

#[derive(Clone, Debug)]
enum Settled {
    Value(Value),
    /// A joint's position in metres.
    Point(Number, Number),
}

impl Settled {
    fn value(&self) -> Value {
        match self {
            Settled::Value(value) => value.clone(),
            Settled::Point(x, y) => Value::Vector(Vector::new(x.clone(), y.clone(), Dimension::LENGTH)),
        }
    }
}

/// A statement to lower once all names are known.
#[derive(Clone, Copy, Debug)]
struct Instance<'t> {
    statement: &'t Statement,
    context: Context,
    /// The case whose block it stands in.
    case: Option<CaseId>,
}

/// Whether names may still be declared that no statement has declared so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Declaring {
    Open,
    Done,
}

/// A joint that is never declared: its place, and the variable of the loop that
/// would declare it.
type HeldUp = (Origin, String, Origin);

/// Where names are declared, each place once, in the order met.
type Places = IndexSet<(NameId, Origin), FxBuildHasher>;

struct Lowering<'t> {
    files: &'t Files,
    trees: &'t [Tree],
    structure: Structure,
    names: Names,
    recent: Recent,
    globals: Vec<Option<DefId>>,
    defs: IdVec<DefId, Definition>,
    /// Values given to lets in place of their own, by where the let is named.
    given: FxHashMap<Origin, setting::Given>,
    /// Of a let that is set, the value it has of its own.
    own_values: FxHashMap<DefId, DefId>,
    /// Files of which some let may be set: their claims of values are not judged.
    files_set: FxHashSet<FileId>,
    /// Definitions of joints, in source order; later, where each joint went.
    joints: Vec<DefId>,
    joint_statements: Vec<&'t Statement>,
    /// Where each declared joint went; `None` where it has no position.
    joint_ids: Vec<Option<JointId>>,
    section_index: FxHashMap<NameId, SectionId>,
    material_index: FxHashMap<NameId, MaterialId>,
    combination_index: FxHashMap<NameId, usize>,
    travel_index: FxHashMap<NameId, Origin>,
    scopes: IdVec<ScopeId, Scope>,
    scope_lets: Vec<(NameId, DefId)>,
    loop_variables: Places,
    turn_lets: Places,
    declaring: Declaring,
    /// By the word of its name, without the index.
    held_up: FxHashMap<String, HeldUp>,
    units: Vec<Option<UnitSystem>>,
    /// Whether files of the project read bare numbers in different units.
    files_differ: bool,
    /// The turning sense each file counts as positive, and where it says so.
    senses: Vec<Option<(Turn, Origin)>>,
    unit_cache: FxHashMap<&'t str, Rc<Unit>>,
    members: Vec<Instance<'t>>,
    sections: Vec<Instance<'t>>,
    others: Vec<Instance<'t>>,
    combinations: Vec<Instance<'t>>,
    claims: Vec<Instance<'t>>,
    /// Whether a member may be missing because of a fault already reported.
    members_incomplete: bool,
    case_index: FxHashMap<NameId, CaseId>,
    statements: usize,
    /// As many as the limit and the budget of memory allow.
    most_statements: usize,
    faults: Vec<Fault>,
    more_faults: usize,
    seen: FxHashSet<(Origin, std::mem::Discriminant<FaultKind>)>,
    /// Names whose declarations could not be read: no message about them.
    broken_names: FxHashMap<String, String>,
    layout_touched: bool,
    /// Comparisons of names that hints may still cost.
    comparisons_left: Cell<usize>,
    scratch: String,
}

/// Lowers a project to the structure it states.
pub fn lower(project: &Project) -> Lowered {
    let mut lowering = Lowering::new(project);
    for refusal in &project.refusals {
        lowering.layout_touched = true;
        if lowering.faults.len() < MAX_FAULTS {
            lowering.faults.push(refusal.clone());
        } else {
            lowering.more_faults += 1;
        }
    }
    lowering.read_units();
    lowering.read_settings(project);
    lowering.read_senses();
    lowering.expand();
    lowering.evaluate_all();
    lowering.lower_sections();
    lowering.lower_layout();
    lowering.lower_others();
    if project.figures.is_some() {
        lowering.structure.figures = Figures::new(project.figures);
    }
    lowering.lower_combinations();
    lowering.lower_claims();
    lowering.check_broken();
    lowering.finish()
}

impl<'t> Lowering<'t> {
    fn new(project: &'t Project) -> Self {
        Lowering {
            files: &project.files,
            trees: &project.trees,
            structure: Structure::default(),
            names: Names::new(),
            recent: Recent::default(),
            globals: Vec::new(),
            defs: IdVec::default(),
            given: FxHashMap::default(),
            own_values: FxHashMap::default(),
            files_set: FxHashSet::default(),
            joints: Vec::new(),
            joint_statements: Vec::new(),
            joint_ids: Vec::new(),
            section_index: FxHashMap::default(),
            material_index: FxHashMap::default(),
            combination_index: FxHashMap::default(),
            travel_index: FxHashMap::default(),
            scopes: vec![Scope { parent: None, variable: None, value: 0, is_last: false, lets: (0, 0) }].into(),
            scope_lets: Vec::new(),
            loop_variables: Places::default(),
            turn_lets: Places::default(),
            declaring: Declaring::Open,
            held_up: FxHashMap::default(),
            units: Vec::new(),
            files_differ: false,
            senses: Vec::new(),
            unit_cache: FxHashMap::default(),
            members: Vec::new(),
            sections: Vec::new(),
            others: Vec::new(),
            combinations: Vec::new(),
            claims: Vec::new(),
            members_incomplete: false,
            case_index: FxHashMap::default(),
            statements: 0,
            most_statements: MAX_STATEMENTS.min(memory::room_for(BYTES_OF_STATEMENT)),
            faults: Vec::new(),
            more_faults: 0,
            seen: FxHashSet::default(),
            broken_names: project.broken_names(),
            layout_touched: project.layout_is_broken(),
            comparisons_left: Cell::new(MOST_COMPARISONS),
            scratch: String::new(),
        }
    }

    fn tree(&self, context: Context) -> &'t Tree {
        static EMPTY: std::sync::LazyLock<Tree> = std::sync::LazyLock::new(Tree::default);
        self.trees.get(context.file.index()).unwrap_or(&EMPTY)
    }

    fn root(&self, file: FileId) -> Context {
        Context { file, scope: ScopeId::ROOT, loaded_joint: None, bare: Bare::FileUnit }
    }

    /// Records a fault, once for each place and kind.
    fn fault(&mut self, context: Context, mut fault: Fault) {
        if !self.seen.insert((fault.at, std::mem::discriminant(&fault.kind))) {
            return;
        }
        if self.faults.len() >= MAX_FAULTS {
            self.more_faults += 1;
            return;
        }
        fault.turn = self.turn_text(context.scope);
        fault.reads = self.reads(context, &fault);
        self.faults.push(fault);
    }

    fn stopped(&mut self, context: Context, stop: Stop) {
        if let Stop::Fault(fault) = stop {
            self.fault(context, *fault);
        }
    }

    fn touch_layout(&mut self, is_part: bool) {
        self.layout_touched |= is_part;
    }

    /// `i = 3, j = 2`, outermost loop first.
    fn turn_text(&self, scope: ScopeId) -> Option<String> {
        let mut parts = Vec::new();
        let mut at = Some(scope);
        while let Some(turn) = at.map(|id| &self.scopes[id]) {
            if let Some(variable) = turn.variable {
                parts.push(format!("{} = {}", self.names.get(variable), turn.value));
            }
            at = turn.parent;
        }
        parts.reverse();
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    fn near_names(&self, context: Context, written: NameRef, name: &str, wanted: Wanted) -> Near {
        /// More joints than this are no answer.
        const MOST_LISTED: usize = 12;
        if wanted == Wanted::Joint && !written.index.is_empty() && self.scopes[context.scope].is_last {
            return Near::PastLastTurn(self.turn_text(context.scope).unwrap_or_default());
        }
        let candidates = || self.defs.iter().filter(|def| wanted == Wanted::Value || def.joint.is_some());
        let known = || candidates().map(|def| self.names.get(def.name));
        let broken = if wanted == Wanted::Value { &["joint", "let"][..] } else { &["joint"] };
        let near = self.near(name, known().chain(self.broken_named(broken)));
        if near.is_empty() && wanted == Wanted::Joint && known().nth(MOST_LISTED).is_none() {
            return Near::All(known().map(str::to_owned).collect());
        }
        Near::Alike(near)
    }

    /// Which of some names may be meant, as long as looking costs less than
    /// the hint is worth: a loop may miss a name in each of a million turns.
    fn near<'a>(&self, name: &str, candidates: impl Iterator<Item = &'a str>) -> Vec<String> {
        let mut left = self.comparisons_left.get();
        if left < MOST_CANDIDATES {
            return Vec::new();
        }
        let near = nearest(name, candidates.take(MOST_CANDIDATES).inspect(|_| left -= 1));
        let near = near.into_iter().map(str::to_owned).collect();
        self.comparisons_left.set(left);
        near
    }

    /// Names whose declarations could not be read, of statements that begin so.
    fn broken_named(&self, keywords: &[&str]) -> impl Iterator<Item = &str> {
        let named = self.broken_names.iter().filter(move |(_, keyword)| keywords.contains(&keyword.as_str()));
        named.map(|(name, _)| name.as_str())
    }

    /// A joint can be looked up even where the rest of its statement could not
    /// be read.
    fn check_broken(&mut self) {
        for (file, tree) in self.trees.iter().enumerate() {
            let context = self.root(FileId(u32::try_from(file).unwrap_or(u32::MAX)));
            for word in tree.broken.iter().filter_map(|broken| broken.joint) {
                let name = NameRef { word, span: word, index: Range::default() };
                if let Err(stop) = self.now(|this| this.joint_definition(context, name)) {
                    self.stopped(context, stop);
                }
            }
        }
    }

    /// Says once for each place that `lb` was read as a force.
    fn watch_unit(&mut self, context: Context, span: Span, reading: Reading) {
        if reading == Reading::PoundAsForce {
            self.fault(context, FaultKind::PoundAsForce.at(Origin::new(context.file, span)));
        }
    }

    fn read_units(&mut self) {
        use crate::syntax::tree::StatementKind;
        for (file, tree) in self.trees.iter().enumerate() {
            let context = self.root(FileId(u32::try_from(file).unwrap_or(u32::MAX)));
            let mut first: Option<Origin> = None;
            self.units.push(None);
            for statement in &tree.statements {
                let StatementKind::Units(units) = &statement.kind else { continue };
                let at = self.origin(context, statement.span);
                if let Some(first) = first {
                    self.fault(context, FaultKind::DuplicateUnits { first }.at(at));
                    continue;
                }
                first = Some(at);
                match self.own_units(context, units) {
                    Ok(own) => {
                        if file == 0 {
                            self.structure.units = Some(own.clone());
                        }
                        if let Some(slot) = self.units.last_mut() {
                            *slot = Some(own);
                        }
                    }
                    Err(stop) => {
                        self.layout_touched = true;
                        self.stopped(context, stop);
                        self.stand_in_units();
                    }
                }
            }
            // `unit m, kN` was to be it as well.
            let unread = |broken: &crate::syntax::tree::Broken| {
                let word = self.text_of(context, broken.span).split_whitespace().next().unwrap_or("");
                word == "units" || similar(word, ["units"]).is_some()
            };
            if first.is_none() && tree.broken.iter().any(unread) {
                self.layout_touched = true;
                self.stand_in_units();
            }
        }
        let mut stated = self.units.iter().flatten();
        self.files_differ = stated.next().is_some_and(|first| stated.any(|other| !other.reads_like(first)));
        // A sheet of claims is shown as the problem it uses is.
        if self.units.first().is_some_and(Option::is_none) {
            self.structure.units = self.first_by_name(&self.units).cloned();
        }
    }

    /// What the first file in the order of names states that states any: the
    /// order of `use` lines means nothing.
    fn first_by_name<'a, T>(&self, stated: &'a [Option<T>]) -> Option<&'a T> {
        let files = stated.iter().enumerate().filter_map(|(file, stated)| Some((file, stated.as_ref()?)));
        let name = |file: usize| self.files.name(FileId(u32::try_from(file).unwrap_or(u32::MAX)));
        files.min_by_key(|(file, _)| name(*file)).map(|(_, stated)| stated)
    }

    /// Which turning sense each file counts as positive.
    fn read_senses(&mut self) {
        use crate::syntax::tree::StatementKind;
        for tree in self.trees {
            let context = self.root(tree.file);
            let mut own: Option<(Turn, Origin)> = None;
            for statement in &tree.statements {
                let StatementKind::Moments(turn) = statement.kind else { continue };
                let at = self.origin(context, statement.span);
                match own {
                    Some((known, first)) if known != turn => {
                        self.fault(context, FaultKind::DuplicateMoments { first }.at(at));
                    }
                    Some(_) => {}
                    None => own = Some((turn, at)),
                }
            }
            self.senses.push(own);
        }
        // Pages are those of the root file, or show the problem a sheet uses as it is.
        let root = self.senses.first().and_then(Option::as_ref);
        self.structure.moments = root.or_else(|| self.first_by_name(&self.senses)).map(|(turn, _)| *turn);
    }

    /// The sense in which a couple or rotation without a word is positive: the
    /// file's own. Where the file states none and another counts clockwise,
    /// two readings stand.
    fn positive_turn(&self, context: Context, at: Origin) -> Evaluated<Turn> {
        if let Some((turn, _)) = self.senses.get(context.file.index()).copied().flatten() {
            return Ok(turn);
        }
        let other = self.senses.iter().flatten().find(|(turn, _)| *turn == Turn::Clockwise);
        match other {
            None => Ok(Turn::Counterclockwise),
            Some((_, stated)) => {
                let text = self.text_of(context, at.span).to_owned();
                Err(FaultKind::TurnUnsaid { text, stated: *stated }.at(at).into())
            }
        }
    }

    /// Units for a file whose own could not be read, so that its bare numbers
    /// are not reported as well.
    fn stand_in_units(&mut self) {
        if let Some(slot) = self.units.last_mut() {
            *slot = Some(UnitSystem::si());
        }
    }

    fn own_units(&mut self, context: Context, units: &Units) -> Evaluated<UnitSystem> {
        let mut named = |span: Span, wanted: Dimension| {
            let unit = self.unit(context, span)?;
            if unit.dimension == wanted {
                return Ok(NamedUnit::new(&evaluate::plain_unit(self.text_of(context, span)), (*unit).clone()));
            }
            let at = self.origin(context, span);
            Err(Stop::from(FaultKind::UnitsOfWrongKind { wanted, found: unit.dimension }.at(at)))
        };
        let length = named(units.length, Dimension::LENGTH)?;
        let force = named(units.force, Dimension::FORCE)?;
        let deflection = match units.deflection {
            Some(span) => named(span, Dimension::LENGTH)?,
            None => length.clone(),
        };
        Ok(UnitSystem { length, force, deflection })
    }

    fn evaluate_all(&mut self) {
        for index in 0..self.defs.len() {
            let def = DefId(u32::try_from(index).unwrap_or(u32::MAX));
            if matches!(self.defs.get(index).map(|d| &d.state), Some(DefState::Waiting)) {
                self.evaluate_definition(def);
            }
        }
        let failed = |definition: &Definition| matches!(definition.state, DefState::Failed);
        self.layout_touched |= self.defs.iter().any(|definition| failed(definition) && definition.joint.is_some());
    }

    fn finish(mut self) -> Lowered {
        let unread =
            self.defs.iter().filter(|def| def.joint.is_none() && !def.read && !matches!(def.state, DefState::Failed));
        let mut seen = FxHashSet::default();
        self.structure.unused_lets =
            unread.filter(|def| seen.insert(def.origin)).map(|def| (def.name, def.origin)).collect();
        self.structure.names = self.names;
        self.faults.sort_by_key(|fault| fault.at);
        Lowered {
            structure: self.structure,
            faults: self.faults,
            more_faults: self.more_faults,
            layout: if self.layout_touched { LayoutState::Incomplete } else { LayoutState::Whole },
        }
    }
}
