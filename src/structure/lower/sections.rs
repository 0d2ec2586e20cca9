//! Materials and sections: their properties, checked against what there is.
//!
//! Must not know: members.

use crate::base::{MaterialId, Origin, SectionId, Span, similar};
use crate::quantity::{Dimension, Number};
use crate::structure::fault::{FaultKind, Named, Wanted};
use crate::structure::model::{Material, Section, Stiffness};
use crate::syntax::tree::{ExprId, NameRef, Property, PropertyValue, StatementKind};

use super::evaluate::{Evaluated, Stop};
use super::{Bare, Context, Lowering};

const MATERIAL: &[&str] = &["E", "weight", "expansion"];
const SECTION: &[&str] = &["A", "I", "EA", "EI"];

impl Lowering<'_> {
    pub(super) fn lower_sections(&mut self) {
        let queued = std::mem::take(&mut self.sections);
        for instance in &queued {
            if let StatementKind::Material { name, properties } = &instance.statement.kind
                && let Err(stop) = self.material(instance.context, *name, properties)
            {
                self.stopped(instance.context, stop);
            }
        }
        for instance in &queued {
            if let StatementKind::Section { name, material, properties } = &instance.statement.kind
                && let Err(stop) = self.section(instance.context, *name, *material, properties)
            {
                self.stopped(instance.context, stop);
            }
        }
    }

    fn material(&mut self, context: Context, name: NameRef, properties: &[Property]) -> Evaluated<()> {
        let id = self.now(|this| this.declare_name(context, name))?;
        let origin = self.origin(context, name.span);
        if let Some(first) = self.material_index.get(&id).map(|id| &self.structure.materials[*id]) {
            let (name, what) = (self.names.get(id).to_owned(), Named::Material);
            return Err(FaultKind::DuplicateName { name, what, first: first.origin, first_what: what }
                .at(origin)
                .into());
        }
        self.material_index.insert(id, MaterialId::new(self.structure.materials.len()));
        let mut material = Material { name: id, elasticity: None, weight: None, expansion: None, origin };
        let outcome = self.check_properties(context, properties, "a material", MATERIAL);
        for property in properties {
            let word = self.text_of(context, property.name);
            let PropertyValue::Given(value) = property.value else {
                let at = self.origin(context, property.name);
                self.stopped(context, FaultKind::NotRigid { name: word.to_owned() }.at(at).into());
                continue;
            };
            let (wanted, role) = match word {
                "E" => (Dimension::PRESSURE, "a modulus of elasticity"),
                "weight" => (Dimension::WEIGHT, "a weight per volume"),
                "expansion" => (Dimension::EXPANSION, "an expansion per degree"),
                _ => continue,
            };
            let value = match self.positive(context, property.name, value, wanted, role) {
                Ok(value) => Some(value),
                Err(stop) => {
                    self.stopped(context, stop);
                    continue;
                }
            };
            match word {
                "E" => material.elasticity = value,
                "weight" => material.weight = value,
                _ => material.expansion = value,
            }
        }
        self.structure.materials.push(material);
        outcome
    }

    fn section(
        &mut self,
        context: Context,
        name: NameRef,
        material: Option<NameRef>,
        properties: &[Property],
    ) -> Evaluated<()> {
        let id = self.now(|this| this.declare_name(context, name))?;
        let origin = self.origin(context, name.span);
        if let Some(first) = self.section_index.get(&id).map(|id| &self.structure.sections[*id]) {
            let (name, what) = (self.names.get(id).to_owned(), Named::Section);
            return Err(FaultKind::DuplicateName { name, what, first: first.origin, first_what: what }
                .at(origin)
                .into());
        }
        self.section_index.insert(id, SectionId::new(self.structure.sections.len()));
        let mut section = Section {
            name: id,
            material: None,
            area: None,
            second_moment: None,
            axial_stiffness: None,
            bending_stiffness: None,
            origin,
        };
        let outcome = self.check_properties(context, properties, "a section", SECTION);
        if let Some(name) = material {
            match self.material_at(context, name) {
                Ok(id) => section.material = Some(id),
                Err(stop) => self.stopped(context, stop),
            }
        }
        for property in properties {
            let word = self.text_of(context, property.name);
            let (wanted, role) = match word {
                "A" => (Dimension::AREA, "an area"),
                "I" => (Dimension::SECOND_MOMENT, "a second moment of area"),
                "EA" => (Dimension::FORCE, "an axial stiffness"),
                "EI" => (Dimension::BENDING_STIFFNESS, "a bending stiffness"),
                _ => continue,
            };
            let value = match property.value {
                PropertyValue::Given(value) => self.positive(context, property.name, value, wanted, role).map(Some),
                PropertyValue::Rigid(_) => Ok(None),
            };
            let value = match value {
                Ok(value) => value,
                Err(stop) => {
                    self.stopped(context, stop);
                    continue;
                }
            };
            match (word, value) {
                ("A", Some(value)) => section.area = Some(value),
                ("I", Some(value)) => section.second_moment = Some(value),
                ("EA", value) => section.axial_stiffness = Some(value.map_or(Stiffness::Rigid, Stiffness::Value)),
                ("EI", value) => section.bending_stiffness = Some(value.map_or(Stiffness::Rigid, Stiffness::Value)),
                (_, _) => {
                    let (at, name) = (self.origin(context, property.name), word.to_owned());
                    self.stopped(context, FaultKind::NotRigid { name }.at(at).into());
                }
            }
        }
        self.structure.sections.push(section);
        outcome
    }

    pub(super) fn section_at(&mut self, context: Context, name: NameRef) -> Evaluated<SectionId> {
        let id = self.now(|this| this.name_id(context, name))?;
        if let Some(id) = id.and_then(|id| self.section_index.get(&id)) {
            return Ok(*id);
        }
        let text = self.now(|this| this.full_name(context, name))?;
        let near = self.near(
            &text,
            self.structure.sections.iter().map(|s| self.names.get(s.name)).chain(self.broken_named(&["section"])),
        );
        Err(self.unknown(context, name, Wanted::Section, near))
    }

    fn material_at(&mut self, context: Context, name: NameRef) -> Evaluated<MaterialId> {
        let id = self.now(|this| this.name_id(context, name))?;
        if let Some(id) = id.and_then(|id| self.material_index.get(&id)) {
            return Ok(*id);
        }
        let text = self.now(|this| this.full_name(context, name))?;
        let near = self.near(
            &text,
            self.structure.materials.iter().map(|m| self.names.get(m.name)).chain(self.broken_named(&["material"])),
        );
        Err(self.unknown(context, name, Wanted::Material, near))
    }

    /// Reports properties the thing does not have, and ones given twice.
    pub(super) fn check_properties(
        &mut self,
        context: Context,
        properties: &[Property],
        of: &'static str,
        known: &'static [&'static str],
    ) -> Evaluated<()> {
        let mut seen: Vec<(&str, Origin)> = Vec::new();
        let mut faults = Vec::new();
        for property in properties {
            let word = self.text_of(context, property.name);
            let at = self.origin(context, property.name);
            if !known.contains(&word) {
                let similar = similar(word, known.iter().copied()).map(str::to_owned);
                faults.push(FaultKind::UnknownProperty { name: word.to_owned(), of, known, similar }.at(at));
            } else if let Some((_, first)) = seen.iter().find(|(other, _)| *other == word) {
                faults.push(FaultKind::DuplicateProperty { name: word.to_owned(), first: *first }.at(at));
            }
            seen.push((word, at));
        }
        let last = faults.pop();
        for fault in faults {
            self.fault(context, fault);
        }
        last.map_or(Ok(()), |fault| Err(fault.into()))
    }

    /// A property's value, which must be more than nothing.
    pub(super) fn positive(
        &mut self,
        context: Context,
        name: Span,
        value: ExprId,
        wanted: Dimension,
        role: &'static str,
    ) -> Evaluated<Number> {
        let number = self.now(|this| this.quantity(Context { bare: Bare::Refused, ..context }, value, wanted, role));
        let number = number.map_err(|stop| match stop {
            Stop::Fault(fault)
                if matches!(fault.kind, FaultKind::UnitMissing { .. })
                    && fault.at == self.expr_origin(context, value) =>
            {
                self.unit_missing(context, value, wanted, Some(name)).into()
            }
            other => other,
        })?;
        if number.is_zero() || number.is_negative() {
            let name = self.text_of(context, name).to_owned();
            return Err(Stop::from(FaultKind::NotPositive { name }.at(self.expr_origin(context, value))));
        }
        Ok(number)
    }
}
