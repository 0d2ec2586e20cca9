//! Results as JSON: SI base units, names as in the source, stable key order,
//! numbers that read back exactly. Written as a stream, member by member.
//!
//! Must not know: files, terminals.

mod travel;

use std::io::{self, Write};

use crate::base::{JointId, MemberId, escaped_json};
use crate::statics::diagram::{Extreme, Quantity, Section, largest_deflection};
use crate::statics::{CaseResult, Displacement, Place, Verdict, VerdictKind};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::beams::moment_scale;
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
    let mut first = true;
    for result in answer.results.iter().filter(|result| only(result)) {
        write!(out, "{}", if first { "\n" } else { ",\n" })?;
        first = false;
        write_case(out, structure, result)?;
    }
    write!(out, "{}]", if first { "" } else { "\n  " })?;
    if !answer.travels.is_empty() {
        write!(out, ",\n  \"travels\": [")?;
        for (index, result) in answer.travels.iter().enumerate() {
            write!(out, "{}", if index == 0 { "\n" } else { ",\n" })?;
            travel::write_travel(out, structure, result)?;
        }
        write!(out, "\n  ]")?;
    }
    writeln!(out, "\n}}")
}

fn write_structure(out: &mut dyn Write, structure: &Structure, verdict: Option<&Verdict>) -> io::Result<()> {
    writeln!(out, "  \"structure\": {{")?;
    let reactions: usize = structure.supports.iter().map(|support| support.components().count()).sum();
    let (joints, members) = (structure.joints.len(), structure.members.len());
    write!(out, "    \"joints\": {joints}, \"members\": {members}, \"reactions\": {reactions},\n    ")?;
    match verdict {
        Some(verdict) => {
            let word = verdict.kind.word();
            let is_settled = verdict.kind != VerdictKind::NotSettled;
            let count = |count: usize| if is_settled { count.to_string() } else { "null".to_owned() };
            let (redundancy, mechanisms) = (count(verdict.redundancy), count(verdict.mechanisms));
            writeln!(out, "\"verdict\": \"{word}\",\n    \"redundancy\": {redundancy}, \"mechanisms\": {mechanisms}")?;
        }
        None => writeln!(out, "\"verdict\": null,\n    \"redundancy\": null, \"mechanisms\": null")?,
    }
    writeln!(out, "  }},")
}

fn write_case(out: &mut dyn Write, structure: &Structure, result: &CaseResult) -> io::Result<()> {
    let (forces, moments) = (Noise(result.largest), Noise(moment_scale(structure, result)));
    writeln!(out, "    {{")?;
    writeln!(out, "      \"name\": {},", text(subject_name(structure, result.subject)))?;
    writeln!(out, "      \"kind\": \"{}\",", subject_kind(result.subject))?;
    writeln!(out, "      \"holds\": {},", result.holds())?;
    write!(out, "      \"reactions\": [")?;
    for (index, (support, reaction)) in structure.supports.iter().zip(&result.reactions).enumerate() {
        write!(out, "{}", if index == 0 { "\n" } else { ",\n" })?;
        let joint = text(structure.joint_name(support.joint));
        write!(out, "        {{\"joint\": {joint}, \"support\": \"{}\"", support.kind.word())?;
        for (key, value, noise) in
            [("fx", reaction.fx, forces), ("fy", reaction.fy, forces), ("m", reaction.m, moments)]
        {
            if let Some(value) = value {
                write!(out, ", \"{key}\": {}", number(noise.off(value)))?;
            }
        }
        write!(out, "}}")?;
    }
    writeln!(out, "{}],", if structure.supports.is_empty() { "" } else { "\n      " })?;
    write!(out, "      \"members\": [")?;
    let mut separator = "\n";
    let mut line = Line::default();
    for (index, (member, axial)) in structure.members.iter().zip(&result.axial).enumerate() {
        let (id, kind) = (MemberId::new(index), member.kind);
        let word = match kind {
            MemberKind::Bar => "bar",
            MemberKind::Cable => "cable",
            MemberKind::Beam => "beam",
        };
        line.put(separator).put("        {\"member\": \"").name(structure, member.start).put("-");
        line.name(structure, member.end).put("\", \"kind\": \"").put(word).put("\", \"length\": ");
        line.number(structure.member_length(id)).put(", \"axial\": ");
        if kind == MemberKind::Beam {
            line.write_to(out)?;
            write_beam(out, structure, result, id, [forces, moments])?;
        } else {
            line.number(forces.off(*axial));
        }
        line.put("}").write_to(out)?;
        separator = ",\n";
    }
    writeln!(out, "{}],", if structure.members.is_empty() { "" } else { "\n      " })?;
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
fn write_beam(
    out: &mut dyn Write,
    structure: &Structure,
    result: &CaseResult,
    member: MemberId,
    [forces, moments]: [Noise; 2],
) -> io::Result<()> {
    let diagram = result.diagram(structure, member);
    let section = |section: Section| {
        let [axial, shear] = [section.axial, section.shear].map(|value| number(forces.off(value)));
        let moment = number(moments.off(section.moment));
        format!("{{\"axial\": {axial}, \"shear\": {shear}, \"moment\": {moment}}}")
    };
    let (start, end) = (diagram.start(), diagram.end());
    write!(
        out,
        "{}, \"start\": {}, \"end\": {}, \"extremes\": [",
        number(forces.off(start.axial)),
        section(start),
        section(end)
    )?;
    let mut separator = "";
    for (word, quantity, noise) in
        [("axial", Quantity::Axial, forces), ("shear", Quantity::Shear, forces), ("moment", Quantity::Moment, moments)]
    {
        let [most, least] =
            diagram.extremes(quantity).map(|extreme| Extreme { value: noise.off(extreme.value), ..extreme });
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
    let most = |size: fn(&Displacement) -> f64| Noise(displacements.iter().map(size).fold(0.0, f64::max));
    let moves = most(|moved| moved.dx.abs().max(moved.dy.abs()));
    let turns = most(|moved| moved.turn.unwrap_or(0.0).abs());
    let mut separator = "\n";
    let mut line = Line::default();
    for (index, moved) in displacements.iter().enumerate() {
        line.put(separator).put("        {\"joint\": \"").name(structure, JointId::new(index)).put("\", \"dx\": ");
        line.number(moves.off(moved.dx)).put(", \"dy\": ").number(moves.off(moved.dy));
        if let Some(turn) = moved.turn {
            line.put(", \"turn\": ").number(turns.off(turn));
        }
        line.put("}").write_to(out)?;
        separator = ",\n";
    }
    writeln!(out, "\n      ],")
}

/// The size beside which a number is told from the last bits of a sum. Those
/// change with every revision of a file, and a difference between two results
/// is to show what changed.
#[derive(Clone, Copy)]
struct Noise(f64);

impl Noise {
    /// What the last bits of a solve amount to, of the largest number in play.
    const SHARE: f64 = 1e-14;

    fn off(self, value: f64) -> f64 {
        if value.abs() <= Noise::SHARE * self.0 { 0.0 } else { value }
    }
}

/// A line put together in one buffer, for lists as long as the structure.
#[derive(Default)]
struct Line(String);

impl Line {
    fn put(&mut self, text: &str) -> &mut Self {
        self.0.push_str(text);
        self
    }

    /// A joint's name as it stands inside a JSON string.
    fn name(&mut self, structure: &Structure, joint: JointId) -> &mut Self {
        let name = structure.joint_name(joint);
        if name.bytes().all(|byte| byte >= b' ' && byte != b'"' && byte != b'\\') {
            return self.put(name);
        }
        let quoted = text(name);
        self.put(quoted.get(1..quoted.len().saturating_sub(1)).unwrap_or(""))
    }

    fn number(&mut self, value: f64) -> &mut Self {
        if value.is_finite() {
            let mut buffer = ryu::Buffer::new();
            self.put(buffer.format_finite(value + 0.0))
        } else {
            self.put("null")
        }
    }

    fn write_to(&mut self, out: &mut dyn Write) -> io::Result<()> {
        out.write_all(self.0.as_bytes())?;
        self.0.clear();
        Ok(())
    }
}

/// A JSON string, quotes and all.
fn text(text: &str) -> String {
    escaped_json(serde_json::to_string(text).unwrap_or_else(|_| "\"\"".to_owned()))
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
