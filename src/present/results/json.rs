//! Results as JSON: SI base units, names as in the source, stable key order,
//! numbers that read back exactly. Written as a stream, member by member.
//!
//! Must not know: files, terminals.

use crate::base::tolerances::LAST_BITS;
use std::io::{self, Write};

use crate::base::{JointId, MemberId, escaped_json};
use crate::statics::diagram::{Extreme, Quantity, largest_deflection};
use crate::statics::travel::{Heading, Peak, Range};
use crate::statics::{CaseResult, Displacement, Place, TravelResult, Verdict, VerdictKind};
use crate::structure::{SetLet, Structure, Support};
use crate::syntax::tree::MemberKind;

use super::beams::moment_scale;
use super::{Answer, CAUTION, subject_kind, subject_name};

/// The name and version readers can rely on.
pub const FORMAT: &str = "kingpost-results";
pub const VERSION: u32 = 2;

/// Writes one file's answer as a JSON document.
pub fn write_json(out: &mut dyn Write, answer: &Answer<'_>, only: &dyn Fn(&CaseResult) -> bool) -> io::Result<()> {
    let structure = answer.structure;
    writeln!(out, "{{")?;
    writeln!(out, "  \"format\": {},", text(FORMAT))?;
    writeln!(out, "  \"version\": {VERSION},")?;
    writeln!(out, "  \"title\": {},", structure.title.as_deref().map_or("null".to_owned(), text))?;
    writeln!(out, "  \"file\": {},", text(answer.file))?;
    writeln!(out, "  \"caution\": {},", text(CAUTION))?;
    if !structure.set.is_empty() {
        let set = |set: &SetLet| {
            format!("{{\"name\": {}, \"value\": {}, \"file\": {}}}", text(&set.name), text(&set.value), text(&set.file))
        };
        writeln!(out, "  \"set\": [{}],", structure.set.iter().map(set).collect::<Vec<_>>().join(", "))?;
    }
    write_structure(out, structure, answer.verdict)?;
    let cases = answer.results.iter().filter(|result| only(result));
    write_all(out, "cases", cases, |out, result| write_case(out, structure, result))?;
    if !answer.travels.is_empty() {
        writeln!(out, ",")?;
        write_all(out, "travels", answer.travels.iter(), |out, result| write_travel(out, structure, result))?;
    }
    writeln!(out, "\n}}")
}

/// A list of what takes several lines each.
fn write_all<T>(
    out: &mut dyn Write,
    key: &str,
    entries: impl Iterator<Item = T>,
    write: impl Fn(&mut dyn Write, T) -> io::Result<()>,
) -> io::Result<()> {
    write!(out, "  \"{key}\": [")?;
    let mut separator = "\n";
    for entry in entries {
        out.write_all(separator.as_bytes())?;
        write(out, entry)?;
        separator = ",\n";
    }
    write!(out, "{}]", if separator == "\n" { "" } else { "\n  " })
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
    write_list(out, "reactions", structure.supports.iter().zip(&result.reactions), |line, (support, reaction)| {
        line.support(structure, support);
        for (key, value, noise) in
            [("fx", reaction.fx, forces), ("fy", reaction.fy, forces), ("m", reaction.m, moments)]
        {
            if let Some(value) = value {
                line.field(key).number(noise.off(value));
            }
        }
    })?;
    write_list(out, "members", structure.members.entries().zip(&result.axial), |line, ((id, member), axial)| {
        line.member(structure, id).field("axial");
        if member.kind == MemberKind::Beam {
            line.beam(structure, result, id, [forces, moments]);
        } else {
            line.number(forces.off(*axial));
        }
    })?;
    if let Some(displacements) = &result.displacements {
        let most = |size: fn(&Displacement) -> f64| Noise(displacements.iter().map(size).fold(0.0, f64::max));
        let moves = most(|moved| moved.dx.abs().max(moved.dy.abs()));
        let turns = most(|moved| moved.turn.unwrap_or(0.0).abs());
        write_list(out, "displacements", displacements.entries(), |line, (joint, moved)| {
            line.field("joint").quoted(|line| line.name(structure, joint));
            line.field("dx").number(moves.off(moved.dx)).field("dy").number(moves.off(moved.dy));
            if let Some(turn) = moved.turn {
                line.field("turn").number(turns.off(turn));
            }
        })?;
    }
    let residual = &result.residual;
    let mut line = Line::default();
    line.put("      \"residual\": {").field("relative").number(residual.relative).field("worst").put("{");
    match residual.worst {
        Place::Structure => line.field("at").put("\"structure\""),
        Place::Joint(joint) => {
            line.field("at").put("\"joint\"").field("name").quoted(|line| line.name(structure, joint))
        }
        Place::Member(member) => {
            line.field("at").put("\"member\"").field("name").quoted(|line| line.member_name(structure, member))
        }
    };
    line.put("}").field("force").number(residual.force).field("moment").number(residual.moment);
    line.put("}\n    }").write_to(out)
}

fn write_travel(out: &mut dyn Write, structure: &Structure, result: &TravelResult) -> io::Result<()> {
    let travel = &structure.travels[result.travel];
    let ends = travel.ends(structure).unwrap_or([JointId(0); 2]);
    writeln!(out, "    {{")?;
    writeln!(out, "      \"name\": {},", text(structure.travel_name(result.travel)))?;
    let load = |[x, y]: [f64; 2]| format!("{{\"fx\": {}, \"fy\": {}}}", number(x), number(y));
    let loads = travel.loads.iter().map(|load_on| load(load_on.each_ref().map(|part| part.to_f64())));
    let spacings = travel.spacings.iter().map(|spacing| number(spacing.to_f64()));
    let path = travel.joints(structure).into_iter().map(|joint| text(structure.joint_name(joint)));
    for (key, values) in
        [("loads", loads.collect::<Vec<_>>()), ("spacings", spacings.collect()), ("path", path.collect())]
    {
        writeln!(out, "      \"{key}\": [{}],", values.join(", "))?;
    }
    write_list(out, "reactions", structure.supports.iter().zip(&result.reactions), |line, (support, range)| {
        line.support(structure, support);
        for (key, range) in [("fx", range.fx), ("fy", range.fy), ("m", range.m)] {
            if let Some(range) = range {
                line.field(key).range(structure, ends, &range, Where::InTheKey);
            }
        }
    })?;
    write_list(out, "members", structure.members.ids().zip(&result.members), |line, (id, range)| {
        line.member(structure, id).field("axial");
        let Some(bending) = &range.bending else {
            line.range(structure, ends, &range.axial, Where::InTheKey);
            return;
        };
        line.range(structure, ends, &range.axial, Where::Along);
        line.field("shear").range(structure, ends, &bending.shear, Where::Along);
        line.field("moment").range(structure, ends, &bending.moment, Where::Along);
        for (key, range) in ["start", "end"].iter().zip(&bending.ends) {
            line.field(key).put("{").field("moment").range(structure, ends, range, Where::InTheKey).put("}");
        }
    })?;
    let (relative, positions) = (number(result.residual.relative), result.checked);
    write!(out, "      \"residual\": {{\"relative\": {relative}, \"positions\": {positions}}}\n    }}")
}

/// A list of objects, one a line.
fn write_list<T>(
    out: &mut dyn Write,
    key: &str,
    entries: impl Iterator<Item = T>,
    mut fields: impl FnMut(&mut Line, T),
) -> io::Result<()> {
    write!(out, "      \"{key}\": [")?;
    let mut line = Line::default();
    let mut separator = "\n";
    for entry in entries {
        line.put(separator).put("        {");
        fields(&mut line, entry);
        line.put("}").write_to(out)?;
        separator = ",\n";
    }
    writeln!(out, "{}],", if separator == "\n" { "" } else { "\n      " })
}

/// The size beside which a number is told from the last bits of a sum: a
/// difference between two results is to show what changed.
#[derive(Clone, Copy)]
struct Noise(f64);

impl Noise {
    fn off(self, value: f64) -> f64 {
        if value.abs() <= LAST_BITS * self.0 { 0.0 } else { value }
    }
}

/// Where the extreme under a train is met, besides the train's position.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Where {
    /// A reaction or an end has its place in its key.
    InTheKey,
    Along,
}

/// A line put together in one buffer, for lists as long as the structure.
#[derive(Default)]
struct Line(String);

impl Line {
    fn put(&mut self, text: &str) -> &mut Self {
        self.0.push_str(text);
        self
    }

    /// The key of a value, after those before it in its object.
    fn field(&mut self, key: &str) -> &mut Self {
        let separator = if self.0.ends_with('{') { "\"" } else { ", \"" };
        self.put(separator).put(key).put("\": ")
    }

    fn quoted(&mut self, inside: impl FnOnce(&mut Self) -> &mut Self) -> &mut Self {
        inside(self.put("\"")).put("\"")
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

    /// The shortest decimal that reads back as the same double; JSON has no
    /// infinities, so what is not finite is null.
    fn number(&mut self, value: f64) -> &mut Self {
        if value.is_finite() {
            let mut buffer = ryu::Buffer::new();
            self.put(buffer.format_finite(value + 0.0))
        } else {
            self.put("null")
        }
    }

    fn member_name(&mut self, structure: &Structure, member: MemberId) -> &mut Self {
        let member = &structure.members[member];
        self.name(structure, member.start).put("-").name(structure, member.end)
    }

    /// Whose reactions follow.
    fn support(&mut self, structure: &Structure, support: &Support) -> &mut Self {
        self.field("joint").quoted(|line| line.name(structure, support.joint));
        self.field("support").quoted(|line| line.put(support.kind.word()))
    }

    /// Whose forces follow.
    fn member(&mut self, structure: &Structure, member: MemberId) -> &mut Self {
        self.field("member").quoted(|line| line.member_name(structure, member));
        self.field("kind").quoted(|line| line.put(structure.members[member].kind.word()));
        self.field("length").number(structure.member_length(member))
    }

    /// A beam's entry from its axial force on: ends and extremes.
    fn beam(&mut self, structure: &Structure, result: &CaseResult, member: MemberId, [forces, moments]: [Noise; 2]) {
        let diagram = result.diagram(structure, member);
        let (start, end) = (diagram.start(), diagram.end());
        self.number(forces.off(start.axial));
        for (key, section) in [("start", start), ("end", end)] {
            self.field(key).put("{").field("axial").number(forces.off(section.axial));
            self.field("shear").number(forces.off(section.shear));
            self.field("moment").number(moments.off(section.moment)).put("}");
        }
        self.field("extremes").put("[");
        for (word, quantity, noise) in [
            ("axial", Quantity::Axial, forces),
            ("shear", Quantity::Shear, forces),
            ("moment", Quantity::Moment, moments),
        ] {
            let [most, least] =
                diagram.extremes(quantity).map(|extreme| Extreme { value: noise.off(extreme.value), ..extreme });
            self.extreme(word, most);
            if most.value != least.value {
                self.extreme(word, least);
            }
        }
        if let Some(curves) = result.deflection(structure, member) {
            self.extreme("deflection", largest_deflection(&curves));
        }
        self.put("]");
    }

    fn extreme(&mut self, quantity: &str, extreme: Extreme) {
        let separator = if self.0.ends_with('[') { "{" } else { ", {" };
        self.put(separator).field("quantity").quoted(|line| line.put(quantity));
        self.field("value").number(extreme.value).field("at").number(extreme.at).put("}");
    }

    fn range(&mut self, structure: &Structure, ends: [JointId; 2], range: &Range, place: Where) -> &mut Self {
        self.put("{").field("least").peak(structure, ends, &range.least, place);
        self.field("most").peak(structure, ends, &range.most, place).put("}")
    }

    /// `{"value", "at", "front", "towards"}`: `front` in metres along the path
    /// from its first joint, and the joint the train runs towards; both null
    /// with the train away.
    fn peak(&mut self, structure: &Structure, [first, last]: [JointId; 2], peak: &Peak, place: Where) -> &mut Self {
        self.put("{").field("value").number(peak.value);
        if place == Where::Along {
            self.field("at").number(peak.at);
        }
        match peak.train {
            Some(train) => {
                let towards = if train.heading == Heading::Onward { last } else { first };
                self.field("front").number(train.front);
                self.field("towards").quoted(|line| line.name(structure, towards))
            }
            None => self.field("front").put("null").field("towards").put("null"),
        }
        .put("}")
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

fn number(value: f64) -> String {
    let mut line = Line::default();
    line.number(value);
    line.0
}
