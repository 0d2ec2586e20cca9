//! The declaring pass: names of lets and joints first, then cases, loops
//! unrolled, every other statement queued with the turn it stands in.
//!
//! What depends on a name that no statement has declared yet waits until another
//! loop has been unrolled, so the order of statements never matters.
//!
//! Must not know: what the queued statements mean.

use crate::base::{CaseId, FileId, Origin, Span};
use crate::diagnostic::Slug;
use crate::quantity::Value;
use crate::structure::fault::{FaultKind, Named};
use crate::structure::model::{Case, LintSwitch};
use crate::structure::names::NameId;
use crate::structure::project::unescape;
use crate::syntax::tree::{ExprId, ForStatement, NameRef, Statement, StatementKind};

use super::evaluate::{Evaluated, Stop};
use super::naming::normal;
use super::{Context, Declaring, DefId, DefState, Definition, Instance, Lowering, Scope, ScopeId};

/// The name of the case that loads outside any case belong to.
pub const IMPLICIT_CASE: &str = "loads";

/// A loop or a declaration that depends on names not declared yet.
struct Waiting<'t> {
    statement: &'t Statement,
    context: Context,
    case: Option<CaseId>,
    /// Of a loop, the turn to go on from.
    from: Option<i64>,
}

impl<'t> Lowering<'t> {
    pub(super) fn expand(&mut self) {
        self.make_room();
        let mut waiting = Vec::new();
        let trees = self.trees;
        for tree in trees {
            self.declarations(&tree.statements, self.root(tree.file), &mut waiting);
        }
        for tree in trees {
            self.block(&tree.statements, self.root(tree.file), None, &mut waiting);
        }
        while !waiting.is_empty() {
            let before = (waiting.len(), self.defs.len());
            self.take_up(&mut waiting);
            if (waiting.len(), self.defs.len()) == before {
                // Nothing more will be declared: what still waits is wrong.
                self.declaring = Declaring::Done;
                self.note_held_up(&waiting);
                self.take_up(&mut waiting);
                break;
            }
        }
        self.declaring = Declaring::Done;
        self.check_loop_names();
    }

    fn take_up(&mut self, waiting: &mut Vec<Waiting<'t>>) {
        for Waiting { statement, context, case, from } in std::mem::take(waiting) {
            match &statement.kind {
                StatementKind::For(repeat) => self.repeat((statement, repeat), from, context, case, waiting),
                _ => self.declaration(statement, context, waiting),
            }
        }
    }

    /// Declares the lets and joints outside loops, so that everything else may
    /// depend on them wherever they stand.
    fn declarations(&mut self, statements: &'t [Statement], context: Context, waiting: &mut Vec<Waiting<'t>>) {
        for statement in statements {
            match &statement.kind {
                StatementKind::Let { .. } | StatementKind::Joint { .. } => {
                    self.declaration(statement, context, waiting);
                }
                StatementKind::Case { body, .. } => {
                    for inner in body.iter().filter(|inner| matches!(inner.kind, StatementKind::Let { .. })) {
                        self.declaration(inner, context, waiting);
                    }
                }
                _ => {}
            }
        }
    }

    /// A let outside loops, or a joint.
    fn declaration(&mut self, statement: &'t Statement, context: Context, waiting: &mut Vec<Waiting<'t>>) {
        let (name, expr, what) = match &statement.kind {
            StatementKind::Let { name, value } => (*name, *value, Declared::Let),
            StatementKind::Joint { name, at } => (*name, *at, Declared::Joint(statement)),
            _ => return,
        };
        let is_joint = matches!(what, Declared::Joint(_));
        match self.declare(context, name, expr, what) {
            Ok(()) => {}
            Err(Stop::Undeclared) => waiting.push(Waiting { statement, context, case: None, from: None }),
            Err(stop) => {
                self.touch_layout(is_joint);
                self.stopped(context, stop);
            }
        }
    }

    /// Notes which joints are never declared because a bound of their loop
    /// depends on what is not declared either.
    fn note_held_up(&mut self, waiting: &[Waiting<'t>]) {
        let mut open: Vec<(&'t ForStatement, Context)> = Vec::new();
        for Waiting { statement, context, .. } in waiting {
            if let StatementKind::For(repeat) = &statement.kind {
                open.push((repeat, *context));
            }
        }
        while let Some((repeat, context)) = open.pop() {
            let around = (self.text_of(context, repeat.variable.span), self.origin(context, repeat.variable.span));
            for inner in &repeat.body {
                match &inner.kind {
                    StatementKind::Joint { name, .. } => {
                        let word = normal(self.text_of(context, name.word));
                        let declared = self.origin(context, name.span);
                        self.held_up.entry(word).or_insert((declared, around.0.to_owned(), around.1));
                    }
                    StatementKind::For(nested) => open.push((nested, context)),
                    _ => {}
                }
            }
        }
    }

    /// Room for what the files state outside loops, so that long lists need not
    /// move as they grow.
    fn make_room(&mut self) {
        let statements = || self.trees.iter().flat_map(|tree| &tree.statements);
        let count = |is: fn(&StatementKind) -> bool| statements().filter(|statement| is(&statement.kind)).count();
        let joints = count(|kind| matches!(kind, StatementKind::Joint { .. }));
        let lets = count(|kind| matches!(kind, StatementKind::Let { .. }));
        let members = count(|kind| matches!(kind, StatementKind::Member(_)));
        let others = statements().count().saturating_sub(joints + lets + members);
        self.names.reserve(joints + lets);
        self.globals.reserve(joints + lets);
        self.defs.reserve(joints + lets);
        self.joints.reserve(joints);
        self.joint_statements.reserve(joints);
        self.members.reserve(members);
        self.others.reserve(others);
    }

    fn block(
        &mut self,
        statements: &'t [Statement],
        context: Context,
        case: Option<CaseId>,
        waiting: &mut Vec<Waiting<'t>>,
    ) {
        for statement in statements {
            self.statement(statement, context, case, waiting);
        }
    }

    fn statement(
        &mut self,
        statement: &'t Statement,
        context: Context,
        case: Option<CaseId>,
        waiting: &mut Vec<Waiting<'t>>,
    ) {
        self.statements += 1;
        if self.statements > self.most_statements {
            let at = self.origin(context, statement.span);
            self.layout_touched = true;
            if self.statements == self.most_statements + 1 {
                self.fault(context, FaultKind::TooManyStatements { limit: self.most_statements }.at(at));
            }
            return;
        }
        if let Some(keyword) = self.out_of_place(statement, context, case) {
            let at = self.origin(context, statement.span);
            let kind = match keyword {
                OutOfPlace::InBlock(keyword) => FaultKind::NotInBlock { keyword }.at(at),
                OutOfPlace::InCase(keyword) => FaultKind::NotInCase { keyword }.at(at),
            };
            self.layout_touched = true;
            self.fault(context, kind);
            return;
        }
        let instance = Instance { statement, context, case };
        match &statement.kind {
            StatementKind::Title(span) => {
                if context.file == FileId(0) {
                    if self.structure.title.is_some() {
                        let at = self.origin(context, statement.span);
                        let first = self.first_of(context, |kind| matches!(kind, StatementKind::Title(_)));
                        self.fault(context, FaultKind::DuplicateTitle { first }.at(at));
                    } else {
                        self.structure.title = Some(unescape(self.text_of(context, *span)));
                    }
                }
            }
            StatementKind::Units(_) | StatementKind::Moments(_) | StatementKind::Use { .. } => {}
            StatementKind::Lint { action, slug } => {
                let origin = self.origin(context, *slug);
                let word = self.text_of(context, *slug);
                match Slug::from_word(word) {
                    Some(slug) if slug.is_switchable() => {
                        self.structure.lints.push(LintSwitch { action: *action, slug, origin });
                    }
                    Some(slug) => {
                        self.fault(context, FaultKind::NotSwitchable { slug, action: *action }.at(origin));
                    }
                    None => self.fault(context, FaultKind::UnknownSlug { slug: word.to_owned() }.at(origin)),
                }
            }
            // Outside loops these are declared already; a turn's lets with its turn.
            StatementKind::Let { .. } => {}
            StatementKind::Joint { .. } => {
                if context.scope != ScopeId::ROOT {
                    self.declaration(statement, context, waiting);
                }
            }
            StatementKind::Member(_) => self.members.push(instance),
            StatementKind::Material { .. } | StatementKind::Section { .. } => self.sections.push(instance),
            StatementKind::Case { name, body } => match self.case(context, *name) {
                Ok(id) => self.block(body, context, Some(id), waiting),
                Err(stop) => self.stopped(context, stop),
            },
            StatementKind::For(repeat) => self.repeat((statement, repeat), None, context, case, waiting),
            _ => self.others.push(instance),
        }
    }

    fn out_of_place(&self, statement: &Statement, context: Context, case: Option<CaseId>) -> Option<OutOfPlace> {
        let keyword = keyword(&statement.kind);
        let root_only = matches!(
            statement.kind,
            StatementKind::Title(_)
                | StatementKind::Units(_)
                | StatementKind::Use { .. }
                | StatementKind::Moments(_)
                | StatementKind::Figures(_)
                | StatementKind::Lint { .. }
        );
        let in_case = matches!(
            statement.kind,
            StatementKind::Load(_)
                | StatementKind::Moment(_)
                | StatementKind::Settle { .. }
                | StatementKind::Heat { .. }
                | StatementKind::Misfit { .. }
                | StatementKind::Weigh { .. }
                | StatementKind::Expect(_)
                | StatementKind::For(_)
                | StatementKind::Let { .. }
        );
        if root_only && (case.is_some() || context.scope != ScopeId::ROOT) {
            Some(OutOfPlace::InBlock(keyword))
        } else if case.is_some() && !in_case {
            Some(OutOfPlace::InCase(keyword))
        } else {
            None
        }
    }

    /// Where the first top-level statement of a kind stands in this file.
    pub(super) fn first_of(&self, context: Context, is: impl Fn(&StatementKind) -> bool) -> Origin {
        let first = self.tree(context).statements.iter().find(|statement| is(&statement.kind));
        self.origin(context, first.map_or_else(Default::default, |statement| statement.span))
    }

    /// Opens a case, or opens it again.
    fn case(&mut self, context: Context, name: NameRef) -> Evaluated<CaseId> {
        let id = self.now(|this| this.declare_name(context, name))?;
        let origin = self.origin(context, name.span);
        Ok(self.case_named(id, origin))
    }

    pub(super) fn case_named(&mut self, name: NameId, origin: Origin) -> CaseId {
        if let Some(id) = self.case_index.get(&name) {
            return *id;
        }
        let id = CaseId::new(self.structure.cases.len());
        self.structure.cases.push(Case { name, loads: Vec::new(), origin });
        self.case_index.insert(name, id);
        id
    }

    /// The case of a load outside any case.
    pub(super) fn implicit_case(&mut self, origin: Origin) -> CaseId {
        let name = self.names.intern(IMPLICIT_CASE);
        if self.globals.len() < self.names.len() {
            self.globals.resize(self.names.len(), None);
        }
        self.case_named(name, origin)
    }

    fn declare(&mut self, context: Context, name: NameRef, expr: ExprId, what: Declared<'t>) -> Evaluated<()> {
        let is_joint = matches!(what, Declared::Joint(_));
        self.check_reserved(context, name, if is_joint { Named::Joint } else { Named::Let })?;
        let id = self.now(|this| this.declare_name(context, name))?;
        let at = self.origin(context, name.span);
        if let Some(first) = self.globals.get(id.0 as usize).copied().flatten() {
            self.touch_layout(is_joint);
            let definition = &self.defs[first];
            let (what, known) = (if is_joint { Named::Joint } else { Named::Let }, definition.what());
            // Whichever was declared first here, the later place is told as the second.
            let (at, what, first, first_what) = match definition.origin {
                other if other.file == at.file && other.span.start > at.span.start => (other, known, at, what),
                other => (at, what, other, known),
            };
            return Err(FaultKind::DuplicateName { name: self.names.get(id).to_owned(), what, first, first_what }
                .at(at)
                .into());
        }
        let mut def = self.define(context, id, at, expr, is_joint);
        if let Some(given) = self.given.get(&at).copied() {
            self.defs[def].read = true;
            let own = def;
            def = self.define(given.context, id, at, given.value, is_joint);
            self.own_values.insert(def, own);
        }
        if let Some(slot) = self.globals.get_mut(id.0 as usize) {
            *slot = Some(def);
        }
        if let Declared::Joint(statement) = what {
            self.joints.push(def);
            self.joint_statements.push(statement);
        }
        Ok(())
    }

    /// `pi` is a number in every expression, whatever else were to be called so.
    fn check_reserved(&self, context: Context, name: NameRef, what: Named) -> Evaluated<()> {
        let word = self.text_of(context, name.word);
        if word != "pi" || !name.index.is_empty() {
            return Ok(());
        }
        Err(FaultKind::ReservedName { name: word.to_owned(), what }.at(self.origin(context, name.span)).into())
    }

    fn define(&mut self, context: Context, name: NameId, origin: Origin, expr: ExprId, is_joint: bool) -> DefId {
        let def = DefId::new(self.defs.len());
        let joint = is_joint.then(|| u32::try_from(self.joints.len()).unwrap_or(u32::MAX));
        self.defs.push(Definition {
            name,
            origin,
            context,
            expr,
            state: DefState::Waiting,
            joint,
            read: false,
            foreign: None,
        });
        def
    }

    /// First value, last value and step of a loop.
    fn bounds(&mut self, repeat: &ForStatement, context: Context) -> Evaluated<(i64, i64, i64)> {
        let mut whole = |id: ExprId| {
            let at = self.expr_origin(context, id);
            match self.evaluate_now(context, id)? {
                Value::Scalar(quantity) if quantity.dimension.is_pure() => {
                    let value = Some(quantity.to_f64());
                    quantity.value.as_integer().ok_or_else(|| FaultKind::BoundNotWhole { value }.at(at).into())
                }
                _ => Err(Stop::from(FaultKind::BoundNotWhole { value: None }.at(at))),
            }
        };
        let (from, to) = (whole(repeat.from)?, whole(repeat.to)?);
        let by = repeat.by.map_or(Ok(1), whole)?;
        if by == 0 {
            let at = repeat.by.map_or_else(Origin::default, |id| self.expr_origin(context, id));
            return Err(FaultKind::StepZero.at(at).into());
        }
        Ok((from, to, by))
    }

    /// A loop, from its first turn or a later one.
    fn repeat(
        &mut self,
        (statement, repeat): (&'t Statement, &'t ForStatement),
        from: Option<i64>,
        context: Context,
        case: Option<CaseId>,
        waiting: &mut Vec<Waiting<'t>>,
    ) {
        let stopped = match self.bounds(repeat, context) {
            Ok((first, to, by)) => {
                self.turns((statement, repeat), (from.unwrap_or(first), to, by), context, case, waiting).map(Some)
            }
            Err(Stop::Undeclared) => Some(from),
            Err(stop) => {
                self.layout_touched = true;
                self.stopped(context, stop);
                None
            }
        };
        if let Some(from) = stopped {
            waiting.push(Waiting { statement, context, case, from });
        }
    }

    /// Unrolls a loop; gives the turn that depends on what is not declared yet.
    fn turns(
        &mut self,
        (statement, repeat): (&'t Statement, &'t ForStatement),
        (from, to, by): (i64, i64, i64),
        context: Context,
        case: Option<CaseId>,
        waiting: &mut Vec<Waiting<'t>>,
    ) -> Option<i64> {
        if let Err(stop) = self.check_reserved(context, plain_name(repeat.variable.span), Named::LoopVariable) {
            self.layout_touched = true;
            self.stopped(context, stop);
            return None;
        }
        let variable = self.declare_name(context, plain_name(repeat.variable.span)).ok()?;
        let place = (variable, self.origin(context, repeat.variable.span));
        if self.loop_variables.insert(place) {
            self.check_nested_variable(context, variable, place.1);
        }
        let count = turn_count((from, to, by));
        let room = i128::try_from(self.most_statements.saturating_sub(self.statements)).unwrap_or(0);
        if count.saturating_mul(self.least_turn(repeat, context, variable, (from, to))) > room {
            let at = self.origin(context, statement.span);
            self.layout_touched = true;
            self.fault(context, FaultKind::TooManyStatements { limit: self.most_statements }.at(at));
            return None;
        }
        let mut value = from;
        for turn in 0..count {
            if turn > 0 {
                value = value.saturating_add(by);
            }
            let scope = ScopeId::new(self.scopes.len());
            let (defs, lets) = (self.defs.len(), self.scope_lets.len());
            let start = u32::try_from(lets).unwrap_or(u32::MAX);
            let (parent, variable) = (Some(context.scope), Some(variable));
            let is_last = turn > 0 && turn + 1 == count;
            self.scopes.push(Scope { parent, variable, value, is_last, lets: (start, 0) });
            let inner = Context { scope, ..context };
            if !self.declare_turn(&repeat.body, inner) {
                self.defs.truncate(defs);
                self.scope_lets.truncate(lets);
                self.scopes.pop();
                return Some(value);
            }
            self.block(&repeat.body, inner, case, waiting);
            if self.statements > self.most_statements {
                return None;
            }
        }
        None
    }

    /// How many statements a turn unrolls into at least: loops inside it count
    /// as many times as they turn, where every turn gives them the same bounds.
    fn least_turn(
        &mut self,
        repeat: &'t ForStatement,
        context: Context,
        variable: NameId,
        (from, to): (i64, i64),
    ) -> i128 {
        let own = i128::try_from(repeat.body.len().max(1)).unwrap_or(i128::MAX);
        let mut inner = 0_i128;
        for statement in &repeat.body {
            let StatementKind::For(nested) = &statement.kind else { continue };
            let [middle, last] =
                [from.midpoint(to), to].map(|value| self.bounds_in_turn(nested, context, variable, value).0);
            let (first, scope) = self.bounds_in_turn(nested, context, variable, from);
            let Some(bounds) = first.filter(|_| first == middle && first == last) else { continue };
            let turns = turn_count(bounds);
            if turns > 0
                && let Ok(name) = self.declare_name(context, plain_name(nested.variable.span))
            {
                self.scopes.push(scope);
                let turn = Context { scope: ScopeId::new(self.scopes.len() - 1), ..context };
                let least = self.least_turn(nested, turn, name, (bounds.0, bounds.1));
                self.scopes.pop();
                inner = inner.saturating_add(turns.saturating_mul(least));
            }
        }
        own.saturating_add(inner)
    }

    /// The bounds of a loop in one turn of the loop around it, and that turn.
    fn bounds_in_turn(
        &mut self,
        nested: &ForStatement,
        context: Context,
        variable: NameId,
        value: i64,
    ) -> (Option<(i64, i64, i64)>, Scope) {
        let (parent, variable) = (Some(context.scope), Some(variable));
        let scope = || Scope { parent, variable, value, is_last: false, lets: (0, 0) };
        let id = ScopeId::new(self.scopes.len());
        self.scopes.push(scope());
        let bounds = self.bounds(nested, Context { scope: id, ..context }).ok();
        self.scopes.pop();
        (bounds, scope())
    }

    /// Declares the lets of a turn, those with indices last, for they may lean
    /// on the others; gives whether none depends on what is not declared yet.
    fn declare_turn(&mut self, body: &'t [Statement], context: Context) -> bool {
        let mut faults = Vec::new();
        for is_indexed in [false, true] {
            for own in body {
                if let StatementKind::Let { name, value } = &own.kind
                    && name.index.is_empty() != is_indexed
                {
                    match self.turn_let(context, *name, *value) {
                        Ok(()) => {}
                        Err(Stop::Undeclared) => return false,
                        Err(stop) => faults.push(stop),
                    }
                }
            }
        }
        faults.into_iter().for_each(|stop| self.stopped(context, stop));
        true
    }

    /// A let inside a loop belongs to its turn.
    fn turn_let(&mut self, context: Context, name: NameRef, expr: ExprId) -> Evaluated<()> {
        self.check_reserved(context, name, Named::Let)?;
        let id = self.now(|this| this.declare_name(context, name))?;
        let at = self.origin(context, name.span);
        let (start, len) = self.scopes[context.scope].lets;
        let own = self.scope_lets.get(start as usize..(start + len) as usize).unwrap_or(&[]);
        if let Some((_, first)) = own.iter().find(|(own, _)| *own == id) {
            let first = self.defs[*first].origin;
            let name = self.names.get(id).to_owned();
            let (what, first_what) = (Named::Let, Named::Let);
            return Err(FaultKind::DuplicateName { name, what, first, first_what }.at(at).into());
        }
        let def = self.define(context, id, at, expr, false);
        self.scope_lets.push((id, def));
        self.scopes[context.scope].lets.1 += 1;
        self.turn_lets.insert((id, at));
        Ok(())
    }

    /// A loop inside a loop takes another variable.
    fn check_nested_variable(&mut self, context: Context, variable: NameId, at: Origin) {
        let mut scope = Some(context.scope);
        while let Some(turn) = scope.map(|id| &self.scopes[id]) {
            if turn.variable == Some(variable) {
                let name = self.names.get(variable).to_owned();
                let first = self.loop_variables.iter().find(|(id, _)| *id == variable).map_or(at, |(_, at)| *at);
                let (what, first_what) = (Named::LoopVariable, Named::LoopVariable);
                self.fault(context, FaultKind::DuplicateName { name, what, first, first_what }.at(at));
                return;
            }
            scope = turn.parent;
        }
    }

    /// Loop variables and lets of turns share the namespace of joints and lets.
    fn check_loop_names(&mut self) {
        let variables = self.loop_variables.iter().map(|(id, at)| (*id, *at, Named::LoopVariable));
        let lets = self.turn_lets.iter().map(|(id, at)| (*id, *at, Named::Let));
        let clashes: Vec<_> = variables
            .chain(lets)
            .filter_map(|(id, at, what)| {
                let def = self.globals.get(id.0 as usize).copied().flatten()?;
                let first = &self.defs[def];
                let first_what = first.what();
                let name = self.names.get(id).to_owned();
                Some(FaultKind::DuplicateName { name, what, first: first.origin, first_what }.at(at))
            })
            .collect();
        for fault in clashes {
            self.fault(self.root(fault.at.file), fault);
        }
    }
}

/// How often a loop turns.
fn turn_count((from, to, by): (i64, i64, i64)) -> i128 {
    let span = i128::from(to) - i128::from(from);
    if (span >= 0) == (by > 0) || span == 0 { span / i128::from(by) + 1 } else { 0 }
}

/// A name without an index.
fn plain_name(span: Span) -> NameRef {
    NameRef { word: span, span, index: crate::syntax::tree::Range::default() }
}

enum Declared<'t> {
    Let,
    Joint(&'t Statement),
}

enum OutOfPlace {
    InBlock(&'static str),
    InCase(&'static str),
}

/// The keyword a statement begins with.
pub const fn keyword(kind: &StatementKind) -> &'static str {
    use crate::syntax::tree::{LintAction, MemberKind};
    match kind {
        StatementKind::Title(_) => "title",
        StatementKind::Units(_) => "units",
        StatementKind::Moments(_) => "moments",
        StatementKind::Figures(_) => "figures",
        StatementKind::Let { .. } => "let",
        StatementKind::Joint { .. } => "joint",
        StatementKind::Member(member) => match member.kind {
            MemberKind::Bar => "bar",
            MemberKind::Cable => "cable",
            MemberKind::Beam => "beam",
        },
        StatementKind::Hinge(_) => "hinge",
        StatementKind::Support(support) => support.kind.word(),
        StatementKind::Settle { .. } => "settle",
        StatementKind::Load(_) => "load",
        StatementKind::Moment(_) => "moment",
        StatementKind::Heat { .. } => "heat",
        StatementKind::Misfit { .. } => "misfit",
        StatementKind::Weigh { .. } => "weigh",
        StatementKind::Case { .. } => "case",
        StatementKind::Combination { .. } => "combination",
        StatementKind::Travel(_) => "travel",
        StatementKind::Material { .. } => "material",
        StatementKind::Section { .. } => "section",
        StatementKind::For(_) => "for",
        StatementKind::Use { .. } => "use",
        StatementKind::Lint { action: LintAction::Allow, .. } => "allow",
        StatementKind::Lint { action: LintAction::Deny, .. } => "deny",
        StatementKind::Expect(_) => "expect",
    }
}
