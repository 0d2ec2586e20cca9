//! What a claim met, in words.
//!
//! Must not know: how it is compared with what is claimed.

use crate::base::MemberId;
use crate::check::words;
use crate::quantity::Dimension;
use crate::quantity::format;
use crate::structure::{Inside, ResultOf, Structure};

use super::values::{direction_of, is_bar};
use super::{Outcome, Source};

impl Outcome<'_> {
    /// `3.606 kN compression`, `14.67 mm up at 4.243 m from A`; under a train
    /// with the member it is in. What is no larger than the noise is zero.
    pub fn words(&self) -> String {
        let structure = self.gauge.structure;
        match (self.gauge.source, self.value.train, self.value.place()) {
            (Source::Train(_), None, _) => "zero in every position".to_owned(),
            (Source::Train(_), Some(_), Some((member, at))) => {
                let whose = match self.member {
                    Some(_) => String::new(),
                    None => format!("in {}, ", structure.member_name(member)),
                };
                format!("{}, {whose}{}", self.value_words(), words::member_place(structure, member, at))
            }
            (Source::Case(_), _, Some((member, at))) if self.value.found_size() > self.noise && !self.is_of_bar() => {
                let at = words::quantity(structure, at, Dimension::LENGTH);
                let start = structure.joint_name(structure.members[member].start);
                format!("{} at {at} from {start}", self.value_words())
            }
            _ => self.value_words(),
        }
    }

    fn is_of_bar(&self) -> bool {
        matches!(self.claim.subject.of, ResultOf::Inside(Inside::Moment | Inside::Shear, _))
            && self.value.on.is_some_and(|member| is_bar(self.gauge.structure, member))
    }

    /// Without the place.
    fn value_words(&self) -> String {
        let (structure, noise, figures, subject) =
            (self.gauge.structure, self.noise, self.figures, &self.claim.subject);
        let [x, y] = self.value.found;
        let size = x.hypot(y);
        let unit = words::unit_of(structure, subject.of.dimension());
        let shown = unit.show(size, figures);
        // Small components are told by none.
        let clean = |[x, y]: [f64; 2]| [x, y].map(|part| if part.abs() <= noise { 0.0 } else { part });
        match (&subject.of, direction_of(subject)) {
            (ResultOf::Inside(inside, _), _) => match self.value.on {
                Some(member) => self.section_words(*inside, member),
                None => shown,
            },
            (ResultOf::Rotation(_) | ResultOf::Couple(_), _) if x.abs() <= noise => "zero".to_owned(),
            (ResultOf::Rotation(_) | ResultOf::Couple(_), _) => {
                format!("{shown} {}", if x < 0.0 { "cw" } else { "ccw" })
            }
            (_, Some(_)) if size <= noise => "zero that way".to_owned(),
            (_, Some(direction)) => {
                format!("{shown} {}", words::way(structure, direction.map(|part| part * x.signum())))
            }
            _ if size <= noise => "zero".to_owned(),
            (ResultOf::Movement(_) | ResultOf::Deflection(_), None) => {
                format!("{shown} {}", words::way(structure, clean([x, y])))
            }
            (ResultOf::Reaction(_), None) if x.abs() <= noise || y.abs() <= noise => {
                format!("{shown} {}", words::way(structure, if x.abs() <= noise { [0.0, y] } else { [x, 0.0] }))
            }
            (ResultOf::Reaction(_), None) if subject.vector.is_some() => {
                let [x, y] = [x, y].map(|part| figures.result(unit.convert(part)));
                format::with_symbol(&format!("({x}, {y})"), &unit.symbol)
            }
            (ResultOf::Reaction(_), None) => format!("{shown}, {}", words::way(structure, [x, y])),
        }
    }

    /// `23.83 kN·m sagging`, `5 kN before, -3 kN after`; a zero has no sense.
    fn section_words(&self, inside: Inside, member: MemberId) -> String {
        let structure = self.gauge.structure;
        if self.is_of_bar() {
            let carries = if inside == Inside::Moment { "bending" } else { "shear" };
            return format!("zero: {} is a bar and carries no {carries}", structure.member_name(member));
        }
        let unit = words::unit_of(structure, self.claim.subject.of.dimension());
        let side = |member: MemberId, value: f64| {
            let shown = |value| unit.show(value, self.figures);
            match inside {
                _ if value.abs() <= self.noise => "zero".to_owned(),
                Inside::Moment => format!("{} {}", shown(value.abs()), tension_side(structure, member, value)),
                Inside::Axial => {
                    format!("{} {}", shown(value.abs()), if value > 0.0 { "tension" } else { "compression" })
                }
                Inside::Shear => shown(value),
            }
        };
        let value = self.value.found[0];
        match self.value.beyond.filter(|(_, beyond)| (beyond - value).abs() > self.noise) {
            Some((other, beyond)) => format!("{} before, {} after", side(member, value), side(other, beyond)),
            None => side(member, value),
        }
    }
}

/// `sagging`, `hogging`, or the side in tension of a member that stands.
pub fn tension_side(structure: &Structure, member: MemberId, moment: f64) -> &'static str {
    let [dx, dy] = structure.member_vector(member);
    let right = [dy * moment.signum(), -dx * moment.signum()];
    if dx.abs() * 1e6 > dy.abs() {
        if right[1] < 0.0 { "sagging" } else { "hogging" }
    } else if right[0] > 0.0 {
        "with tension on the right"
    } else {
        "with tension on the left"
    }
}
