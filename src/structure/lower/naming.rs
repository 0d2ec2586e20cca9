//! Names in their scopes: what a name stands for where it is read, and the full
//! name that an indexed one spells.
//!
//! Must not know: units, statements.

use crate::base::Origin;
use crate::quantity::{Dimension, Number, Quantity, Value};
use crate::structure::fault::{Fault, FaultKind, Named, Read, Wanted};
use crate::structure::names::NameId;
use crate::syntax::tree::{ExprId, NameRef};

use super::evaluate::{Evaluated, Stop};
use super::{Context, Declaring, DefId, Lowering, ScopeId};

/// What a name reads as where a value is wanted.
enum Meaning {
    Turn(i64),
    Definition(DefId),
    Unknown,
}

impl<'t> Lowering<'t> {
    pub fn name_value(&mut self, context: Context, name: NameRef) -> Evaluated<Value> {
        let id = self.name_id(context, name)?;
        match id.map_or(Meaning::Unknown, |id| self.meaning(context.scope, id)) {
            Meaning::Turn(value) => Ok(Value::Scalar(Quantity::new(Number::from_integer(value), Dimension::PURE))),
            Meaning::Definition(def) => self.definition(def),
            Meaning::Unknown => Err(self.unknown_name(context, name, Wanted::Value)),
        }
    }

    /// The let or joint a name stands for, if it is one.
    pub(super) fn definition_of(&mut self, context: Context, name: NameRef) -> Option<DefId> {
        let id = self.name_id(context, name).ok().flatten()?;
        match self.meaning(context.scope, id) {
            Meaning::Definition(def) => Some(def),
            Meaning::Turn(_) | Meaning::Unknown => None,
        }
    }

    /// The definition of a joint, named where a joint is wanted.
    pub fn joint_definition(&mut self, context: Context, name: NameRef) -> Evaluated<DefId> {
        let id = self.name_id(context, name)?;
        let at = self.origin(context, name.span);
        match id.map_or(Meaning::Unknown, |id| self.meaning(context.scope, id)) {
            Meaning::Definition(def) if self.defs[def].joint.is_some() => Ok(def),
            Meaning::Definition(def) => {
                let (found, wanted, declared) = (Named::Let, Wanted::Joint, self.defs[def].origin);
                let name = self.names.get(self.defs[def].name).to_owned();
                Err(FaultKind::WrongKindOfName { name, found, wanted, declared }.at(at).into())
            }
            Meaning::Turn(_) => {
                let name = self.text_of(context, name.span).to_owned();
                let (found, wanted) = (Named::LoopVariable, Wanted::Joint);
                let declared = self.loop_variable_before(id, at);
                Err(FaultKind::WrongKindOfName { name, found, wanted, declared }.at(at).into())
            }
            Meaning::Unknown => Err(self.unknown_name(context, name, Wanted::Joint)),
        }
    }

    /// Where the loop variable of this name that a place stands under is written.
    fn loop_variable_before(&self, name: Option<NameId>, at: Origin) -> Origin {
        let before = |(id, place): &&(NameId, Origin)| {
            Some(*id) == name && place.file == at.file && place.span.start <= at.span.start
        };
        self.loop_variables.iter().filter(before).map(|(_, place)| *place).max().unwrap_or(at)
    }

    pub fn unknown_name(&mut self, context: Context, name: NameRef, wanted: Wanted) -> Stop {
        if self.declaring == Declaring::Open {
            return Stop::Undeclared;
        }
        match self.full_name(context, name) {
            Ok(text) => {
                if self.is_broken(&text) {
                    return Stop::Poisoned;
                }
                let word = text.trim_end_matches(|c: char| c.is_ascii_digit() || c == '_');
                if let Some((declared, variable, at)) = self.held_up.get(word) {
                    let chain = vec![(text, *declared), (variable.clone(), *at)];
                    return FaultKind::Cycle { chain }.at(*declared).into();
                }
                let before = self.files.text(context.file).get(..name.span.start as usize).unwrap_or("");
                let wanted = if before.trim_end().ends_with(" toward") { Wanted::Joint } else { wanted };
                let near = self.near_names(context, name, &text, wanted);
                FaultKind::UnknownName { name: text, wanted, near }.at(self.origin(context, name.span)).into()
            }
            Err(stop) => stop,
        }
    }

    /// Whether a name's declaration could not be read: `L3` too where that of
    /// `L[i]` could not.
    pub fn is_broken(&self, name: &str) -> bool {
        let mut word = name;
        loop {
            if self.broken_names.contains_key(word) {
                return true;
            }
            match word.strip_suffix(|c: char| c.is_ascii_digit() || c == '_') {
                Some(shorter) => word = shorter,
                None => return false,
            }
        }
    }

    /// The names read at the place of a fault that is one of values.
    pub(super) fn reads(&self, context: Context, fault: &Fault) -> Vec<Read> {
        /// More would be a list and no hint.
        const MOST: usize = 3;
        use FaultKind as F;
        let Fault { at, kind, .. } = fault;
        if !matches!(
            kind,
            F::WrongDimension { .. }
                | F::MixedDimensions { .. }
                | F::BareAngle { .. }
                | F::UnitMissing { .. }
                | F::MassAsLoad { .. }
                | F::ZeroDirection
                | F::DirectionTwice
                | F::BoundNotWhole { value: None }
        ) {
            return Vec::new();
        }
        let is_part = |c: char| c.is_alphanumeric() || c == '_';
        let text = self.text_of(context, at.span);
        let mut reads: Vec<Read> = Vec::new();
        for word in text.split(|c: char| !is_part(c)).filter(|word| word.starts_with(is_part)) {
            let Some(id) = self.names.find(&normal(word)) else { continue };
            let Meaning::Definition(def) = self.meaning(context.scope, id) else { continue };
            let definition = &self.defs[def];
            let dimension = match definition.joint {
                Some(_) => None,
                None => self.definition_value(def).map(|value| value.dimension()),
            };
            let is_told = dimension.is_some() || *kind == F::ZeroDirection;
            let read = Read { name: word.to_owned(), declared: definition.origin, dimension };
            if is_told && read.declared != *at && reads.len() < MOST && !reads.contains(&read) {
                reads.push(read);
            }
        }
        reads
    }

    fn meaning(&self, scope: ScopeId, name: NameId) -> Meaning {
        let mut at = Some(scope);
        while let Some(turn) = at.map(|id| &self.scopes[id]) {
            if turn.variable == Some(name) {
                return Meaning::Turn(turn.value);
            }
            let (start, len) = turn.lets;
            let own = self.scope_lets.get(start as usize..(start + len) as usize).unwrap_or(&[]);
            if let Some((_, def)) = own.iter().find(|(own, _)| *own == name) {
                return Meaning::Definition(*def);
            }
            at = turn.parent;
        }
        match self.globals.get(name.0 as usize).copied().flatten() {
            Some(def) => Meaning::Definition(def),
            None => Meaning::Unknown,
        }
    }

    /// The id of a name as written, its index worked out; `None` where no such
    /// name is known.
    pub fn name_id(&mut self, context: Context, name: NameRef) -> Evaluated<Option<NameId>> {
        if name.index.is_empty() {
            let text = self.text_of(context, name.word);
            return Ok(if text.is_ascii() {
                self.names.find_near(&mut self.recent, text)
            } else {
                self.names.find(&normal(text))
            });
        }
        self.write_name(context, name)?;
        Ok(self.names.find_near(&mut self.recent, &self.scratch))
    }

    /// The name as written, its index worked out.
    pub fn full_name(&mut self, context: Context, name: NameRef) -> Evaluated<String> {
        self.write_name(context, name)?;
        Ok(self.scratch.clone())
    }

    /// The id of a name being declared.
    pub fn declare_name(&mut self, context: Context, name: NameRef) -> Evaluated<NameId> {
        self.write_name(context, name)?;
        let id = self.names.intern(&self.scratch);
        if self.globals.len() < self.names.len() {
            self.globals.resize(self.names.len(), None);
        }
        Ok(id)
    }

    fn write_name(&mut self, context: Context, name: NameRef) -> Evaluated<()> {
        use std::fmt::Write as _;
        let mut text = std::mem::take(&mut self.scratch);
        text.clear();
        let word = self.text_of(context, name.word);
        if word.is_ascii() {
            text.push_str(word);
        } else {
            text.push_str(&normal(word));
        }
        let tree = self.tree(context);
        for (position, index) in tree.list(name.index).iter().enumerate() {
            let value = self.index_value(context, *index)?;
            let separator = if position == 0 { "" } else { "_" };
            // Writing to a string cannot fail.
            let _ = write!(text, "{separator}{value}");
        }
        self.scratch = text;
        Ok(())
    }

    pub fn index_value(&mut self, context: Context, id: ExprId) -> Evaluated<i64> {
        let at = self.expr_origin(context, id);
        match self.evaluate(context, id)? {
            Value::Scalar(quantity) if quantity.dimension.is_pure() => {
                let not_whole = FaultKind::IndexNotWhole { value: Some(quantity.to_f64()) }.at(at);
                let value = quantity.value.as_integer().ok_or(not_whole)?;
                if value < 0 { Err(FaultKind::IndexNegative { value }.at(at).into()) } else { Ok(value) }
            }
            _ => Err(FaultKind::IndexNotWhole { value: None }.at(at).into()),
        }
    }
}

/// Names are compared in the composed form of Unicode.
pub fn normal(text: &str) -> String {
    use unicode_normalization::UnicodeNormalization as _;
    text.nfc().collect()
}
