//! Cases in order, and combinations unfolded into factors of cases.
//!
//! Must not know: what the cases hold.

use crate::base::{CaseId, Origin, nearest};
use crate::quantity::{Dimension, Number};
use crate::structure::fault::{FaultKind, Named, Wanted};
use crate::structure::model::Combo;
use crate::structure::names::{NameId, natural_permutation};
use crate::syntax::tree::{ComboTerm, StatementKind};

use super::evaluate::Evaluated;
use super::{Context, Instance, Lowering, owned};

impl<'t> Lowering<'t> {
    /// Cases in natural order of their names.
    pub(super) fn order_cases(&mut self) {
        let cases = std::mem::take(&mut self.structure.cases);
        let name = |index: usize| cases.get(index).map_or("", |case| self.names.get(case.name));
        let order = natural_permutation(cases.len(), name);
        let mut moved = vec![CaseId::new(0); cases.len()];
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
            claim.case = claim.case.and_then(|case| moved.get(case.index()).copied());
        }
    }

    pub(super) fn lower_combos(&mut self) {
        let queued = std::mem::take(&mut self.combos);
        let mut named: Vec<(NameId, Origin, usize)> = Vec::new();
        for (index, instance) in queued.iter().enumerate() {
            let StatementKind::Combo { name, .. } = &instance.statement.kind else { continue };
            let context = instance.context;
            match self.now(|this| this.declare_name(context, *name)) {
                Err(stop) => self.stopped(context, stop),
                Ok(id) => {
                    let at = self.origin(context, name.span);
                    let case = self.case_index.get(&id).and_then(|case| self.structure.cases.get(case.index()));
                    let case = case.map(|case| (case.origin, Named::Case));
                    let combo =
                        named.iter().find(|(other, _, _)| *other == id).map(|(_, at, _)| (*at, Named::Combination));
                    let travel = self.travel_origin(id).map(|at| (at, Named::Travel));
                    if let Some((first, first_what)) = case.or(combo).or(travel) {
                        let name = self.names.get(id).to_owned();
                        let what = Named::Combination;
                        self.fault(context, FaultKind::DuplicateName { at, name, what, first, first_what });
                    } else {
                        self.combo_index.insert(id, named.len());
                        named.push((id, at, index));
                    }
                }
            }
        }
        let name = |index: usize| named.get(index).map_or("", |(id, _, _)| self.names.get(*id));
        let order = natural_permutation(named.len(), name);
        let mut unfolded: Vec<Option<Vec<(CaseId, Number)>>> = vec![None; named.len()];
        for index in 0..named.len() {
            self.unfold(index, &named, &queued, &mut unfolded, &mut Vec::new());
        }
        self.combo_index.clear();
        for index in order {
            let Some((id, origin, _)) = named.get(index as usize).copied() else { continue };
            let factors = unfolded.get_mut(index as usize).and_then(Option::take).unwrap_or_default();
            self.combo_index.insert(id, self.structure.combos.len());
            self.structure.combos.push(Combo { name: id, factors, origin });
        }
    }

    /// Factors of cases of one combination, the combinations within it first.
    fn unfold(
        &mut self,
        index: usize,
        named: &[(NameId, Origin, usize)],
        queued: &[Instance<'t>],
        unfolded: &mut Vec<Option<Vec<(CaseId, Number)>>>,
        open: &mut Vec<usize>,
    ) {
        const DEEPEST: usize = 64;
        if unfolded.get(index).is_none_or(Option::is_some) {
            return;
        }
        let Some((_, _, place)) = named.get(index) else { return };
        let Some(instance) = queued.get(*place) else { return };
        let StatementKind::Combo { terms, .. } = &instance.statement.kind else { return };
        let context = instance.context;
        if open.contains(&index) || open.len() >= DEEPEST {
            let from = open.iter().position(|other| *other == index).unwrap_or(0);
            let cycle = open.get(from..).unwrap_or(&[]).iter().filter_map(|index| named.get(*index));
            let chain = cycle.map(|(id, at, _)| (self.names.get(*id).to_owned(), *at)).collect();
            self.fault(context, FaultKind::ComboCycle { chain });
            return;
        }
        open.push(index);
        let mut factors: Vec<(CaseId, Number)> = Vec::new();
        for term in terms {
            match self.term(context, term, named, queued, unfolded, open) {
                Ok(parts) => {
                    for (case, factor) in parts {
                        match factors.iter_mut().find(|(other, _)| *other == case) {
                            Some((_, sum)) => *sum = sum.plus(&factor),
                            None => factors.push((case, factor)),
                        }
                    }
                }
                Err(stop) => self.stopped(context, stop),
            }
        }
        open.pop();
        if let Some(slot) = unfolded.get_mut(index) {
            *slot = Some(factors);
        }
    }

    fn term(
        &mut self,
        context: Context,
        term: &ComboTerm,
        named: &[(NameId, Origin, usize)],
        queued: &[Instance<'t>],
        unfolded: &mut Vec<Option<Vec<(CaseId, Number)>>>,
        open: &mut Vec<usize>,
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
        if let Some(inner) = id.and_then(|id| self.combo_index.get(&id)).copied() {
            self.unfold(inner, named, queued, unfolded, open);
            let parts = unfolded.get(inner).and_then(Option::as_ref).cloned().unwrap_or_default();
            return Ok(parts.into_iter().map(|(case, inner)| (case, inner.times(&factor))).collect());
        }
        let text = self.now(|this| this.full_name(context, term.name))?;
        if let Some(declared) = id.and_then(|id| self.travel_origin(id)) {
            let (at, found, wanted) = (self.origin(context, term.name.span), Named::Travel, Wanted::Case);
            return Err(FaultKind::WrongKindOfName { at, name: text, found, wanted, declared }.into());
        }
        let near = self.near_cases(&text);
        Err(self.unknown(context, term.name, Wanted::Case, near))
    }

    pub(super) fn near_cases(&self, name: &str) -> Vec<String> {
        let cases = self.structure.cases.iter().map(|case| self.names.get(case.name));
        let combos = self.combo_index.keys().map(|id| self.names.get(*id));
        let travels = self.travel_index.keys().map(|id| self.names.get(*id));
        let broken = self.broken_named(&["case", "combo", "travel"]);
        owned(nearest(name, cases.chain(combos).chain(travels).chain(broken)))
    }
}
