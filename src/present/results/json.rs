//! Results as JSON: SI base units, names as in the source, stable key order,
//! numbers that read back exactly. Written as a stream, member by member.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::{JointId, MemberId};
use crate::statics::diagram::{Quantity, Section, largest_deflection};
use crate::statics::{CaseResult, Displacement, Place, Verdict, VerdictKind};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{Answer, subject_kind, subject_name};

/// The name and version readers can rely on.
pub const FORMAT: &str = "kingpost-results";
pub const VERSION: u32 = 1;

/// Writes one file's answer as a JSON document.
pub fn write_json(out: &mut dyn Write, answer: &Answer<'_>, only: &dyn Fn(&CaseResult) -> bool) -> io::Result<()> {
    let structure = answer.structure;
    writeln!(out, "{{")?;
    writeln!(out, "  \"format\": {},", text(FORMAT))?;
    writeln!(out, "  \"version\": {VERSION},")?;
    writeln!(out, "  \"title\": {},", structure.title.as_deref().map_or("null".to_owned(), text))?;
    writeln!(out, "  \"file\": {},", text(answer.file))?;
    write_structure(out, structure, answer.verdict)?;
    write!(out, "  \"cases\": [")?;
    let names = Names::of(structure);
    let mut first = true;
    for result in answer.results.iter().filter(|result| only(result)) {
        write!(out, "{}", if first { "\n" } else { ",\n" })?;
        first = false;
        write_case(out, structure, &names, result)?;
    }
    writeln!(out, "{}]", if first { "" } else { "\n  " })?;
    writeln!(out, "}}")
}

/// The parts of lines that no case changes: made once, written for each.
struct Names {
    members: Vec<String>,
}

impl Names {
    fn of(structure: &Structure) -> Self {
        let joints: Vec<String> = (0..structure.joints.len())
            .map(|index| {
                let name = text(structure.joint_name(JointId::new(index)));
                name.get(1..name.len().saturating_sub(1)).unwrap_or("").to_owned()
            })
            .collect();
        let joint = |id: JointId| joints.get(id.index()).map_or("?", String::as_str);
        let members = structure.members.iter().enumerate().map(|(index, member)| {
            let kind = match member.kind {
                MemberKind::Bar => "bar",
                MemberKind::Cable => "cable",
                MemberKind::Beam => "beam",
            };
            let length = number(structure.member_length(MemberId::new(index)));
            let (start, end) = (joint(member.start), joint(member.end));
            format!("        {{\"member\": \"{start}-{end}\", \"kind\": \"{kind}\", \"length\": {length}, \"axial\": ")
        });
        Names { members: members.collect() }
    }
}

fn write_structure(out: &mut dyn Write, structure: &Structure, verdict: Option<&Verdict>) -> io::Result<()> {
    writeln!(out, "  \"structure\": {{")?;
    let reactions: usize = structure.supports.iter().map(|support| support.kind.reactions()).sum();
    let (joints, members) = (structure.joints.len(), structure.members.len());
    write!(out, "    \"joints\": {joints}, \"members\": {members}, \"reactions\": {reactions},\n    ")?;
    match verdict {
        Some(verdict) => {
            let word = match verdict.kind {
                VerdictKind::Determinate => "determinate",
                VerdictKind::Indeterminate => "indeterminate",
                VerdictKind::Unstable => "unstable",
            };
            let (redundancy, mechanisms) = (verdict.redundancy, verdict.mechanisms);
            writeln!(out, "\"verdict\": \"{word}\",\n    \"redundancy\": {redundancy}, \"mechanisms\": {mechanisms}")?;
        }
        None => writeln!(out, "\"verdict\": null,\n    \"redundancy\": null, \"mechanisms\": null")?,
    }
    writeln!(out, "  }},")
}

fn write_case(out: &mut dyn Write, structure: &Structure, names: &Names, result: &CaseResult) -> io::Result<()> {
    writeln!(out, "    {{")?;
    writeln!(out, "      \"name\": {},", text(subject_name(structure, result.subject)))?;
    writeln!(out, "      \"kind\": \"{}\",", subject_kind(result.subject))?;
    writeln!(out, "      \"holds\": {},", result.holds())?;
    write!(out, "      \"reactions\": [")?;
    for (index, (support, reaction)) in structure.supports.iter().zip(&result.reactions).enumerate() {
        write!(out, "{}", if index == 0 { "\n" } else { ",\n" })?;
        let joint = text(structure.joint_name(support.joint));
        write!(out, "        {{\"joint\": {joint}, \"support\": \"{}\"", support.kind.word())?;
        for (key, value) in [("fx", reaction.fx), ("fy", reaction.fy), ("m", reaction.m)] {
            if let Some(value) = value {
                write!(out, ", \"{key}\": {}", number(value))?;
            }
        }
        write!(out, "}}")?;
    }
    writeln!(out, "{}],", if structure.supports.is_empty() { "" } else { "\n      " })?;
    write!(out, "      \"members\": [")?;
    let mut first = true;
    for (index, (head, axial)) in names.members.iter().zip(&result.axial).enumerate() {
        out.write_all(if first { b"\n" } else { b",\n" })?;
        first = false;
        out.write_all(head.as_bytes())?;
        let member = MemberId::new(index);
        if structure.member(member).is_some_and(|member| member.kind == MemberKind::Beam) {
            write_beam(out, structure, result, member)?;
        } else {
            out.write_all(number(*axial).as_bytes())?;
        }
        out.write_all(b"}")?;
    }
    writeln!(out, "{}],", if first { "" } else { "\n      " })?;
    if let Some(displacements) = &result.displacements {
        write_displacements(out, structure, displacements)?;
    }
    let residual = &result.residual;
    let (at, name) = match residual.worst {
        Place::Structure => ("structure", String::new()),
        Place::Joint(joint) => ("joint", structure.joint_name(joint).to_owned()),
        Place::Member(member) => ("member", structure.member_name(member)),
    };
    write!(out, "      \"residual\": {{\"relative\": {}, \"worst\": {{\"at\": \"{at}\"", number(residual.relative))?;
    if !name.is_empty() {
        write!(out, ", \"name\": {}", text(&name))?;
    }
    writeln!(out, "}}, \"force\": {}, \"moment\": {}}}", number(residual.force), number(residual.moment))?;
    write!(out, "    }}")
}

/// A beam's entry from its axial force on: ends and extremes.
fn write_beam(out: &mut dyn Write, structure: &Structure, result: &CaseResult, member: MemberId) -> io::Result<()> {
    let diagram = result.diagram(structure, member);
    let section = |section: Section| {
        let (axial, shear, moment) = (number(section.axial), number(section.shear), number(section.moment));
        format!("{{\"axial\": {axial}, \"shear\": {shear}, \"moment\": {moment}}}")
    };
    let (start, end) = (diagram.start(), diagram.end());
    write!(out, "{}, \"start\": {}, \"end\": {}, \"extremes\": [", number(start.axial), section(start), section(end))?;
    let mut separator = "";
    for (word, quantity) in [("axial", Quantity::Axial), ("shear", Quantity::Shear), ("moment", Quantity::Moment)] {
        let [most, least] = diagram.extremes(quantity);
        let both = if most.value == least.value { vec![most] } else { vec![most, least] };
        for extreme in both {
            let (value, at) = (number(extreme.value), number(extreme.at));
            write!(out, "{separator}{{\"quantity\": \"{word}\", \"value\": {value}, \"at\": {at}}}")?;
            separator = ", ";
        }
    }
    if let Some(curves) = result.deflection(structure, member) {
        let largest = largest_deflection(&curves);
        let (value, at) = (number(largest.value), number(largest.at));
        write!(out, "{separator}{{\"quantity\": \"deflection\", \"value\": {value}, \"at\": {at}}}")?;
    }
    write!(out, "]")
}

fn write_displacements(out: &mut dyn Write, structure: &Structure, displacements: &[Displacement]) -> io::Result<()> {
    write!(out, "      \"displacements\": [")?;
    let mut separator = "\n";
    for (index, moved) in displacements.iter().enumerate() {
        let joint = text(structure.joint_name(JointId::new(index)));
        let (dx, dy) = (number(moved.dx), number(moved.dy));
        write!(out, "{separator}        {{\"joint\": {joint}, \"dx\": {dx}, \"dy\": {dy}")?;
        if let Some(turn) = moved.turn {
            write!(out, ", \"turn\": {}", number(turn))?;
        }
        write!(out, "}}")?;
        separator = ",\n";
    }
    writeln!(out, "\n      ],")
}

/// A JSON string, quotes and all.
fn text(text: &str) -> String {
    serde_json::to_string(text).unwrap_or_else(|_| "\"\"".to_owned())
}

/// The shortest decimal that reads back as the same double; JSON has no
/// infinities, so what is not finite is null.
fn number(value: f64) -> String {
    if !value.is_finite() {
        return "null".to_owned();
    }
    let mut buffer = ryu::Buffer::new();
    buffer.format_finite(value + 0.0).to_owned()
}
