//! Cases in order, and combinations unfolded into factors of cases.
//!
//! Must not know: what the cases hold.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::{CaseId, IdVec, Origin};
use crate::quantity::{Dimension, Number};
use crate::structure::fault::{FaultKind, Named, Wanted};
use crate::structure::model::Combination;
use crate::structure::names::{NameId, natural_permutation};
use crate::syntax::tree::{CombinationTerm, StatementKind};

use super::evaluate::Evaluated;
use super::{Context, Lowering, MAX_STATEMENTS};

/// The most factors of cases that combinations within combinations unfold into.
const MOST_FACTORS: usize = MAX_STATEMENTS;

/// A combination as its statement has it.
struct Stated<'t> {
    name: NameId,
    origin: Origin,
    context: Context,
    terms: &'t [CombinationTerm],
}

impl<'t> Lowering<'t> {
    /// Cases in natural order of their names.
    pub(super) fn order_cases(&mut self) {
        let cases = std::mem::take(&mut self.structure.cases);
        let name = |index: usize| cases.get(index).map_or("", |case| self.names.get(case.name));
        let order = natural_permutation(cases.len(), name);
        let mut moved: IdVec<CaseId, CaseId> = vec![CaseId::new(0); cases.len()].into();
        let mut slots: Vec<_> = cases.into_iter().map(Some).collect();
        for (place, index) in order.iter().enumerate() {
            let id = CaseId::new(place);
            if let (Some(slot), Some(case)) =
                (moved.get_mut(*index as usize), slots.get_mut(*index as usize).and_then(Option::take))
            {
                *slot = id;
                self.case_index.insert(case.name, id);
                self.structure.cases.push(case);
            }
        }
        for claim in &mut self.claims {
            claim.case = claim.case.map(|case| moved[case]);
        }
    }

    pub(super) fn lower_combinations(&mut self) {
        let queued = std::mem::take(&mut self.combinations);
        let mut named: Vec<(NameId, Origin, usize)> = Vec::new();
        for (index, instance) in queued.iter().enumerate() {
            let StatementKind::Combination { name, .. } = &instance.statement.kind else { continue };
            let context = instance.context;
            match self.now(|this| this.declare_name(context, *name)) {
                Err(stop) => self.stopped(context, stop),
                Ok(id) => {
                    let at = self.origin(context, name.span);
                    let case = self.case_index.get(&id);
                    let case = case.map(|case| (self.structure.cases[*case].origin, Named::Case));
                    let combination = self.combination_index.get(&id).and_then(|index| named.get(*index));
                    let combination = combination.map(|(_, at, _)| (*at, Named::Combination));
                    let travel = self.travel_origin(id).map(|at| (at, Named::Travel));
                    if let Some((first, first_what)) = case.or(combination).or(travel) {
                        let name = self.names.get(id).to_owned();
                        let what = Named::Combination;
                        self.fault(context, FaultKind::DuplicateName { name, what, first, first_what }.at(at));
                    } else {
                        self.combination_index.insert(id, named.len());
                        named.push((id, at, index));
                    }
                }
            }
        }
        let name = |index: usize| named.get(index).map_or("", |(id, _, _)| self.names.get(*id));
        let order = natural_permutation(named.len(), name);
        let stated: Vec<Stated<'t>> = named
            .iter()
            .filter_map(|(id, origin, place)| {
                let instance = queued.get(*place)?;
                let StatementKind::Combination { terms, .. } = &instance.statement.kind else { return None };
                Some(Stated { name: *id, origin: *origin, context: instance.context, terms })
            })
            .collect();
        let mut unfolded = vec![None; stated.len()];
        let mut room = MOST_FACTORS;
        for index in 0..stated.len() {
            self.unfold(index, &stated, &mut unfolded, &mut room);
        }
        self.combination_index.clear();
        for index in order {
            let Some((id, origin, _)) = named.get(index as usize).copied() else { continue };
            let factors = unfolded.get_mut(index as usize).and_then(Option::take).unwrap_or_default();
            self.combination_index.insert(id, self.structure.combinations.len());
            self.structure.combinations.push(Combination { name: id, factors, origin });
        }
    }

    /// Factors of cases of one combination, the combinations within it first:
    /// in whatever order and however deep they are stated.
    fn unfold(
        &mut self,
        index: usize,
        stated: &[Stated<'t>],
        unfolded: &mut [Option<Vec<(CaseId, Number)>>],
        room: &mut usize,
    ) {
        // The combinations open, each within the one before it, with the term
        // of it that is looked at next.
        let mut open: Vec<(usize, usize)> = vec![(index, 0)];
        let mut is_open = FxHashSet::from_iter([index]);
        while let Some((index, next)) = open.pop() {
            let Some(combination) = stated.get(index) else { continue };
            if unfolded.get(index).is_none_or(Option::is_some) {
                continue;
            }
            let Some(term) = combination.terms.get(next) else {
                is_open.remove(&index);
                let factors = self.factors(combination, unfolded, room);
                if let Some(slot) = unfolded.get_mut(index) {
                    *slot = Some(factors);
                }
                continue;
            };
            open.push((index, next + 1));
            // A name that cannot be read is told of with the factors.
            let inner = self.now(|this| this.name_id(combination.context, term.name)).ok().flatten();
            let Some(inner) = inner.and_then(|id| self.combination_index.get(&id)).copied() else { continue };
            if unfolded.get(inner).is_none_or(Option::is_some) {
                continue;
            }
            if is_open.insert(inner) {
                open.push((inner, 0));
            } else {
                let from = open.iter().position(|(other, _)| *other == inner).unwrap_or(0);
                let cycle = open.get(from..).unwrap_or(&[]).iter().filter_map(|(index, _)| stated.get(*index));
                let chain = cycle
                    .map(|combination| (self.names.get(combination.name).to_owned(), combination.origin))
                    .collect();
                let (context, at) = stated
                    .get(inner)
                    .map_or((combination.context, combination.origin), |own| (own.context, own.origin));
                self.fault(context, FaultKind::CombinationCycle { chain }.at(at));
            }
        }
    }

    /// The sum of a combination's terms. `room` is how many factors of cases
    /// all combinations may still take.
    fn factors(
        &mut self,
        combination: &Stated<'t>,
        unfolded: &[Option<Vec<(CaseId, Number)>>],
        room: &mut usize,
    ) -> Vec<(CaseId, Number)> {
        // In the order in which the cases are first met.
        let mut factors: Vec<(CaseId, Number)> = Vec::new();
        let mut places: FxHashMap<CaseId, usize> = FxHashMap::default();
        for term in combination.terms {
            let parts = match self.term(combination.context, term, unfolded, room) {
                Ok(parts) => parts,
                Err(stop) => {
                    self.stopped(combination.context, stop);
                    continue;
                }
            };
            for (case, factor) in parts {
                let place = *places.entry(case).or_insert(factors.len());
                match factors.get_mut(place) {
                    Some((_, sum)) => *sum = sum.plus(&factor),
                    None => factors.push((case, factor)),
                }
            }
        }
        factors
    }

    fn term(
        &mut self,
        context: Context,
        term: &CombinationTerm,
        unfolded: &[Option<Vec<(CaseId, Number)>>],
        room: &mut usize,
    ) -> Evaluated<Vec<(CaseId, Number)>> {
        let mut factor = match term.factor {
            Some(id) => self.now(|this| this.quantity(context, id, Dimension::PURE, "a factor"))?,
            None => Number::from_integer(1),
        };
        if term.negative {
            factor = factor.negated();
        }
        let id = self.now(|this| this.name_id(context, term.name))?;
        if let Some(case) = id.and_then(|id| self.case_index.get(&id)) {
            return Ok(vec![(*case, factor)]);
        }
        if let Some(inner) = id.and_then(|id| self.combination_index.get(&id)) {
            let parts = unfolded.get(*inner).and_then(Option::as_ref).map_or(&[][..], Vec::as_slice);
            let Some(left) = room.checked_sub(parts.len()) else {
                let at = self.origin(context, term.name.span);
                return Err(FaultKind::TooManyStatements { limit: MOST_FACTORS }.at(at).into());
            };
            *room = left;
            return Ok(parts.iter().map(|(case, inner)| (*case, inner.times(&factor))).collect());
        }
        let text = self.now(|this| this.full_name(context, term.name))?;
        if let Some(declared) = id.and_then(|id| self.travel_origin(id)) {
            let (at, found, wanted) = (self.origin(context, term.name.span), Named::Travel, Wanted::Case);
            return Err(FaultKind::WrongKindOfName { name: text, found, wanted, declared }.at(at).into());
        }
        let near = self.near_cases(&text);
        Err(self.unknown(context, term.name, Wanted::Case, near))
    }

    pub(super) fn near_cases(&self, name: &str) -> Vec<String> {
        let cases = self.structure.cases.iter().map(|case| self.names.get(case.name));
        let combinations = self.combination_index.keys().map(|id| self.names.get(*id));
        let travels = self.travel_index.keys().map(|id| self.names.get(*id));
        let broken = self.broken_named(&["case", "combination", "combo", "travel"]);
        self.near(name, cases.chain(combinations).chain(travels).chain(broken))
    }
}
