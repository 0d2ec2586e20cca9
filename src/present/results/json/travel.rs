//! Travelling loads as JSON: the ends of every range with the place on the
//! member and the train's position.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::{JointId, MemberId};
use crate::statics::TravelResult;
use crate::statics::travel::{Heading, Peak, Range};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{number, text};

/// Where a value is met, besides the train's position.
#[derive(Clone, Copy)]
enum Place {
    /// A reaction or an end has its place in its key.
    Known,
    Along,
}

pub fn write_travel(out: &mut dyn Write, structure: &Structure, result: &TravelResult) -> io::Result<()> {
    let Some(travel) = structure.travels.get(result.travel.index()) else { return Ok(()) };
    let peaks = Peaks { ends: travel.ends(structure).unwrap_or([JointId(0); 2]), structure };
    writeln!(out, "    {{")?;
    writeln!(out, "      \"name\": {},", text(structure.travel_name(result.travel)))?;
    let loads: Vec<String> = travel
        .loads
        .iter()
        .map(|[x, y]| format!("{{\"fx\": {}, \"fy\": {}}}", number(x.to_f64()), number(y.to_f64())))
        .collect();
    writeln!(out, "      \"loads\": [{}],", loads.join(", "))?;
    let spacings: Vec<String> = travel.spacings.iter().map(|spacing| number(spacing.to_f64())).collect();
    writeln!(out, "      \"spacings\": [{}],", spacings.join(", "))?;
    let path: Vec<String> =
        travel.joints(structure).into_iter().map(|joint| text(structure.joint_name(joint))).collect();
    writeln!(out, "      \"path\": [{}],", path.join(", "))?;
    write!(out, "      \"reactions\": [")?;
    for (index, (support, range)) in structure.supports.iter().zip(&result.reactions).enumerate() {
        write!(out, "{}", if index == 0 { "\n" } else { ",\n" })?;
        let joint = text(structure.joint_name(support.joint));
        write!(out, "        {{\"joint\": {joint}, \"support\": \"{}\"", support.kind.word())?;
        for (key, range) in [("fx", range.fx), ("fy", range.fy), ("m", range.m)] {
            if let Some(range) = range {
                write!(out, ", \"{key}\": {}", peaks.range(&range, Place::Known))?;
            }
        }
        write!(out, "}}")?;
    }
    writeln!(out, "{}],", if structure.supports.is_empty() { "" } else { "\n      " })?;
    write!(out, "      \"members\": [")?;
    for (index, (member, range)) in structure.members.iter().zip(&result.members).enumerate() {
        write!(out, "{}", if index == 0 { "\n" } else { ",\n" })?;
        let id = MemberId::new(index);
        let kind = match member.kind {
            MemberKind::Bar => "bar",
            MemberKind::Cable => "cable",
            MemberKind::Beam => "beam",
        };
        let (name, length) = (text(&structure.member_name(id)), number(structure.member_length(id)));
        write!(out, "        {{\"member\": {name}, \"kind\": \"{kind}\", \"length\": {length}, \"axial\": ")?;
        match &range.bending {
            None => write!(out, "{}", peaks.range(&range.axial, Place::Known))?,
            Some(bending) => {
                let [start, end] = &bending.ends;
                write!(out, "{}, ", peaks.range(&range.axial, Place::Along))?;
                write!(out, "\"shear\": {}, ", peaks.range(&bending.shear, Place::Along))?;
                write!(out, "\"moment\": {}, ", peaks.range(&bending.moment, Place::Along))?;
                write!(out, "\"start\": {{\"moment\": {}}}, ", peaks.range(start, Place::Known))?;
                write!(out, "\"end\": {{\"moment\": {}}}", peaks.range(end, Place::Known))?;
            }
        }
        write!(out, "}}")?;
    }
    writeln!(out, "{}],", if structure.members.is_empty() { "" } else { "\n      " })?;
    writeln!(
        out,
        "      \"residual\": {{\"relative\": {}, \"positions\": {}}}",
        number(result.residual.relative),
        result.checked
    )?;
    write!(out, "    }}")
}

struct Peaks<'a> {
    structure: &'a Structure,
    ends: [JointId; 2],
}

impl Peaks<'_> {
    fn range(&self, range: &Range, place: Place) -> String {
        format!("{{\"least\": {}, \"most\": {}}}", self.peak(&range.least, place), self.peak(&range.most, place))
    }

    /// `{"value", "at", "front", "towards"}`: `front` in metres along the path
    /// from its first joint, and the joint the train runs towards; both null
    /// with the train away.
    fn peak(&self, peak: &Peak, place: Place) -> String {
        let at = match place {
            Place::Along => format!(", \"at\": {}", number(peak.at)),
            Place::Known => String::new(),
        };
        let (front, towards) = match peak.train {
            Some(train) => {
                let [first, last] = self.ends;
                let towards = if train.heading == Heading::Onward { last } else { first };
                (number(train.front), text(self.structure.joint_name(towards)))
            }
            None => ("null".to_owned(), "null".to_owned()),
        };
        format!("{{\"value\": {}{at}, \"front\": {front}, \"towards\": {towards}}}", number(peak.value))
    }
}
