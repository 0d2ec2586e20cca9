//! The value a claim is about, in words.
//!
//! Must not know: what was claimed.

use crate::base::{JointId, MemberId};
use crate::check::words;
use crate::quantity::Dimension;
use crate::quantity::format::{self, Figures};
use crate::structure::Structure;
use crate::syntax::tree::ClaimWhat;

use super::sections::is_bar;

/// A value in SI units, in the senses of results. Places are metres from the
/// member's first-named joint.
#[derive(Clone, Debug)]
pub enum Found {
    Axial(f64),
    Reaction([f64; 2]),
    /// A reaction of which the size is claimed.
    Resultant([f64; 2]),
    /// The part of a reaction along the claim's own direction.
    Component {
        along: f64,
        direction: [f64; 2],
    },
    Couple(f64),
    /// `beyond` is the value on the other side of the place.
    Section {
        what: ClaimWhat,
        member: MemberId,
        value: f64,
        at: Option<f64>,
        beyond: Option<(MemberId, f64)>,
    },
    Movement {
        by: [f64; 2],
        at: Option<(MemberId, f64)>,
    },
    MovementAlong {
        along: f64,
        direction: [f64; 2],
        at: Option<(MemberId, f64)>,
    },
    Rotation(f64),
}

impl Found {
    /// In SI units.
    pub fn size(&self) -> f64 {
        match *self {
            Found::Reaction([x, y]) | Found::Resultant([x, y]) | Found::Movement { by: [x, y], .. } => x.hypot(y),
            Found::Axial(value)
            | Found::Component { along: value, .. }
            | Found::MovementAlong { along: value, .. }
            | Found::Couple(value)
            | Found::Section { value, .. }
            | Found::Rotation(value) => value.abs(),
        }
    }

    /// The member and the place along it, where a claim was on all of it.
    pub fn place(&self) -> Option<(MemberId, f64)> {
        match *self {
            Found::Section { member, at, .. } => at.map(|at| (member, at)),
            Found::Movement { at, .. } | Found::MovementAlong { at, .. } => at,
            _ => None,
        }
    }

    /// `3.606 kN compression`, `14.67 mm up at 4.243 m from A`; what is no
    /// larger than `noise` is zero.
    pub fn words(&self, structure: &Structure, noise: f64, figures: Figures) -> String {
        let value = self.value_words(structure, noise, figures);
        match self.place() {
            Some((member, at)) if self.size() > noise && !self.is_of_bar(structure) => {
                let at = words::quantity(structure, at, Dimension::LENGTH);
                let name = structure.joint_name(structure.member(member).map_or(JointId(0), |m| m.start));
                format!("{value} at {at} from {name}")
            }
            _ => value,
        }
    }

    fn is_of_bar(&self, structure: &Structure) -> bool {
        matches!(*self, Found::Section { what: ClaimWhat::Moment | ClaimWhat::Shear, member, .. } if is_bar(structure, member))
    }

    /// Without the place.
    pub fn value_words(&self, structure: &Structure, noise: f64, figures: Figures) -> String {
        let force = |value: f64| quantity(structure, figures, value.abs(), Dimension::FORCE);
        match *self {
            Found::Section { what, member, .. } if self.is_of_bar(structure) => {
                let carries = if what == ClaimWhat::Moment { "bending" } else { "shear" };
                format!("zero: {} is a bar and carries no {carries}", structure.member_name(member))
            }
            Found::Section { what, member, value, beyond, .. } => {
                let is = section_words(structure, what, member, value, noise, figures);
                match beyond.filter(|(_, beyond)| (beyond - value).abs() > noise) {
                    Some((member, value)) => {
                        format!("{is} before, {} after", section_words(structure, what, member, value, noise, figures))
                    }
                    None => is,
                }
            }
            Found::Component { along, .. } | Found::MovementAlong { along, .. } if along.abs() <= noise => {
                "zero that way".to_owned()
            }
            _ if self.size() <= noise => "zero".to_owned(),
            Found::Axial(axial) => format!("{} {}", force(axial), if axial > 0.0 { "tension" } else { "compression" }),
            Found::Reaction(force) => reaction_words(structure, force, noise, figures),
            Found::Resultant([fx, fy]) if fx.abs().min(fy.abs()) > noise => {
                format!("{}, {}", force(fx.hypot(fy)), words::way(structure, [fx, fy]))
            }
            Found::Resultant(force) => reaction_words(structure, force, noise, figures),
            Found::Component { along, direction: [dx, dy] } => {
                format!("{} {}", force(along), words::way(structure, [dx * along.signum(), dy * along.signum()]))
            }
            Found::Couple(moment) => {
                let sense = if moment < 0.0 { "cw" } else { "ccw" };
                format!("{} {sense}", quantity(structure, figures, moment.abs(), Dimension::MOMENT))
            }
            Found::Movement { by, .. } => {
                let direction = words::way(structure, by.map(|part| if part.abs() <= noise { 0.0 } else { part }));
                format!("{} {direction}", words::units(structure).deflection.show(self.size(), figures))
            }
            Found::MovementAlong { along, direction: [dx, dy], .. } => {
                let towards = words::way(structure, [dx * along.signum(), dy * along.signum()]);
                format!("{} {towards}", words::units(structure).deflection.show(along.abs(), figures))
            }
            Found::Rotation(turn) => {
                let sense = if turn < 0.0 { "cw" } else { "ccw" };
                format!("{} rad {sense}", figures.result(turn.abs()))
            }
        }
    }
}

/// `23.83 kN·m sagging`, `-4.917 kN`; a zero has no sense.
fn section_words(
    structure: &Structure,
    what: ClaimWhat,
    member: MemberId,
    value: f64,
    noise: f64,
    figures: Figures,
) -> String {
    match what {
        _ if value.abs() <= noise => "zero".to_owned(),
        ClaimWhat::Moment => {
            let size = quantity(structure, figures, value.abs(), Dimension::MOMENT);
            format!("{size} {}", tension_side(structure, member, value))
        }
        ClaimWhat::Force => Found::Axial(value).value_words(structure, noise, figures),
        _ => quantity(structure, figures, value, Dimension::FORCE),
    }
}

fn reaction_words(structure: &Structure, [fx, fy]: [f64; 2], noise: f64, figures: Figures) -> String {
    if fx.abs() <= noise || fy.abs() <= noise {
        let size = quantity(structure, figures, fx.hypot(fy), Dimension::FORCE);
        let straight = if fx.abs() <= noise { [0.0, fy] } else { [fx, 0.0] };
        return format!("{size} {}", words::way(structure, straight));
    }
    let unit = words::units(structure).display_unit(Dimension::FORCE);
    let [x, y] = [fx, fy].map(|part| figures.result(unit.convert(part)));
    format::with_symbol(&format!("({x}, {y})"), &unit.symbol)
}

fn quantity(structure: &Structure, figures: Figures, si: f64, dimension: Dimension) -> String {
    words::units(structure).display_unit(dimension).show(si, figures)
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
