//! Trains of loads: sizes, spacings, the path they run along.
//!
//! Must not know: what a train does to the structure.

use crate::base::{Origin, TravelId};
use crate::quantity::{Dimension, Number, Value};
use crate::structure::fault::{FaultKind, Named};
use crate::structure::model::Travel;
use crate::structure::names::{NameId, natural_permutation};
use crate::syntax::tree::TravelStatement;

use super::evaluate::{Evaluated, Stop};
use super::{Context, Instance, Lowering};

impl<'t> Lowering<'t> {
    pub(super) fn travel(&mut self, instance: &Instance<'t>, travel: &TravelStatement) -> Evaluated<()> {
        let context = instance.context;
        let name = self.now(|this| this.declare_name(context, travel.name))?;
        let origin = self.origin(context, travel.name.span);
        if let Some(first) = self.travel_index.insert(name, origin) {
            self.travel_index.insert(name, first);
            let what = Named::Travel;
            let name = self.names.get(name).to_owned();
            return Err(FaultKind::DuplicateName { name, what, first, first_what: what }.at(origin).into());
        }
        let links = self.path(context, travel.chain)?.links;
        let path_origin = self.origin(context, travel.chain.span);
        let mut seen = rustc_hash::FxHashSet::default();
        if let Some((member, ..)) = links.iter().find(|(member, ..)| !seen.insert(*member)) {
            let member = self.member_text(*member);
            return Err(FaultKind::PathDoublesBack { member }.at(path_origin).into());
        }
        let mut loads = Vec::new();
        for id in self.tree(context).list(travel.loads) {
            match self.evaluate_now(context, *id)? {
                Value::Vector(_) => loads.push(self.force(context, *id, Dimension::FORCE, "a travelling load")?),
                Value::Scalar(_) => {
                    let size = self.now(|this| this.quantity(context, *id, Dimension::FORCE, "a travelling load"))?;
                    loads.push([Number::ZERO, size.negated()]);
                }
            }
        }
        let spacings = self.spacings(context, travel, loads.len(), origin)?;
        let path = links.into_iter().map(|(member, passage, _)| (member, passage)).collect();
        self.structure.travels.push(Travel { name, loads, spacings, path, origin, path_origin });
        Ok(())
    }

    /// One spacing between each two neighbours; one alone stands for all.
    fn spacings(
        &mut self,
        context: Context,
        travel: &TravelStatement,
        loads: usize,
        origin: Origin,
    ) -> Evaluated<Vec<Number>> {
        let mut spacings = Vec::new();
        let written = self.tree(context).list(travel.spacings);
        for id in written {
            let spacing = self.now(|this| this.quantity(context, *id, Dimension::LENGTH, "a spacing"))?;
            if spacing.is_negative() {
                return Err(FaultKind::SpacingNegative.at(self.expr_origin(context, *id)).into());
            }
            spacings.push(spacing);
        }
        let spaces = loads.saturating_sub(1);
        match spacings.as_slice() {
            [one] if spaces > 1 => Ok(vec![one.clone(); spaces]),
            given if given.len() == spaces => Ok(spacings),
            given => {
                let at = written.first().map_or(origin, |id| self.expr_origin(context, *id));
                Err(Stop::from(FaultKind::SpacingCount { loads, spacings: given.len() }.at(at)))
            }
        }
    }

    /// Travels in natural order of their names, none of them named like a case.
    pub(super) fn order_travels(&mut self) {
        let travels = std::mem::take(&mut self.structure.travels);
        for travel in &travels {
            let Some(case) = self.case_index.get(&travel.name) else { continue };
            let first = self.structure.cases[*case].origin;
            let (at, name) = (travel.origin, self.names.get(travel.name).to_owned());
            let (what, first_what) = (Named::Travel, Named::Case);
            let root = self.root(at.file);
            self.fault(root, FaultKind::DuplicateName { name, what, first, first_what }.at(at));
        }
        let order = natural_permutation(travels.len(), |index| {
            travels.get(index).map_or("", |travel| self.names.get(travel.name))
        });
        let mut slots: Vec<Option<Travel>> = travels.into_iter().map(Some).collect();
        self.structure.travels =
            order.iter().filter_map(|index| slots.get_mut(*index as usize).and_then(Option::take)).collect();
    }

    /// Where a travelling load of this name is stated.
    pub(super) fn travel_origin(&self, name: NameId) -> Option<Origin> {
        self.travel_index.get(&name).copied()
    }

    pub(super) fn travel_named(&self, name: NameId) -> Option<TravelId> {
        self.structure.travels.iter().position(|travel| travel.name == name).map(TravelId::new)
    }
}
