//! The method of joints: bars that carry nothing by inspection, then joint
//! after joint with at most two unknowns, what is left over as a check; where
//! the joints stall, a section, and where that fails the joints together.
//!
//! Must not know: how reactions are found.

use std::collections::BTreeSet;

use crate::base::{JointId, MemberId};
use crate::present::document::{Block, Formula, Inline, Line, Sign, Step, words};
use crate::statics::equilibrium::Points;

use super::complex;
use super::elimination::{Pair, eliminate};
use super::loads::Loads;
use super::part::{Acting, Kind, Part, Size, Sum, Unknown, UnknownId, What, meaning};
use super::pen::{Pen, Saying, count, equation, formula, listed, say, zero};
use super::sections;
use super::system::{System, assumed};

/// The forces on all joints of a truss.
pub struct Truss {
    pub unknowns: Vec<Unknown>,
    /// The unknown of each member, in the structure's order.
    pub bars: Vec<UnknownId>,
    /// What acts on each joint, bars last.
    pub joints: Vec<Part>,
    /// Divisions of the joints that may still be looked at for sections.
    pub divisions: usize,
}

impl Truss {
    /// The bars as unknowns, after the reactions of a system.
    pub fn new(pen: &Pen<'_>, system: &System, loads: &Loads) -> Truss {
        let mut unknowns = system.unknowns.clone();
        let mut joints = vec![Part::default(); pen.structure.joints.len()];
        let mut act = |joint: JointId, acting: Acting| {
            if let Some(part) = joints.get_mut(joint.index()) {
                part.forces.push(acting);
            }
        };
        for (place, acting) in &loads.each {
            if let super::loads::Where::Joint(joint) = place {
                act(*joint, acting.clone());
            }
        }
        for (support, given) in &system.reactions {
            let Some(joint) = pen.structure.supports.get(support.index()).map(|support| support.joint) else {
                continue;
            };
            for (id, kind) in given {
                let place = format!("at {}", pen.joint(joint));
                act(joint, Acting { size: assumed(pen, *id, kind), kind: kind.clone(), at: pen.at(joint), place });
            }
        }
        let mut bars = Vec::new();
        for (index, member) in pen.structure.members.iter().enumerate() {
            let id = MemberId::new(index);
            // A link found on the way to the reactions is known already.
            let known = system.links.iter().find(|(link, _)| *link == id).map(|(_, unknown)| *unknown);
            let unknown = known.unwrap_or(unknowns.len());
            if known.is_none() {
                unknowns.push(Unknown { symbol: pen.bar_force(id), what: What::Bar, value: None });
            }
            bars.push(unknown);
            for (from, to) in [(member.start, member.end), (member.end, member.start)] {
                let kind = Kind::Force(pen.between(from, to));
                let size = Size::Unknown(unknown, 1.0);
                act(from, Acting { size, kind, at: pen.at(from), place: format!("at {}", pen.joint(from)) });
            }
        }
        Truss { unknowns, bars, joints, divisions: sections::MOST_DIVISIONS }
    }

    pub fn value(&self, id: UnknownId) -> Option<f64> {
        self.unknowns.get(id).and_then(|unknown| unknown.value)
    }

    pub fn set(&mut self, id: UnknownId, value: f64) {
        if let Some(unknown) = self.unknowns.get_mut(id) {
            unknown.value = Some(value);
        }
    }

    pub fn bar(&self, member: MemberId) -> Option<f64> {
        self.bars.get(member.index()).and_then(|id| self.value(*id))
    }

    /// The unknowns at a joint that are not found yet.
    pub fn open_at(&self, joint: JointId) -> BTreeSet<UnknownId> {
        let forces = self.joints.get(joint.index()).map_or(&[][..], |part| part.forces.as_slice());
        forces
            .iter()
            .filter_map(|acting| match acting.size {
                Size::Unknown(id, _) if self.value(id).is_none() => Some(id),
                _ => None,
            })
            .collect()
    }

    pub fn all_found(&self) -> bool {
        self.unknowns.iter().all(|unknown| unknown.value.is_some())
    }
}

/// Tells the force in every bar, or in bars until one is found.
pub fn tell(pen: &Pen<'_>, truss: &mut Truss, loads: &Loads, wanted: Option<MemberId>, blocks: &mut Vec<Block>) {
    let rule = words(
        "Every bar is assumed in tension: it pulls on the joints at its ends. A minus in a result means compression. \
         Each joint gives two equations: joints with at most two unknowns come first.",
    );
    if pen.saying == Saying::First {
        blocks.push(Block::Paragraph(rule));
    }
    let slopes = if pen.saying == Saying::First { slopes(pen) } else { Vec::new() };
    if !slopes.is_empty() {
        blocks.push(Block::Paragraph(words(
            "Directions of the bars that are not along an axis: legs, length, and the share of a force across and up.",
        )));
        blocks.push(Block::Working(slopes));
    }
    zero_bars(pen, truss, loads, blocks);
    let mut last: Option<JointId> = None;
    let mut done: BTreeSet<JointId> = BTreeSet::new();
    while !truss.all_found() {
        if wanted.is_some_and(|member| truss.bar(member).is_some()) {
            return;
        }
        if let Some((joint, steps)) = next_joint(pen, truss, last, &done) {
            blocks.push(Block::Heading { level: 3, text: words(format!("Joint {}", pen.joint(joint))) });
            blocks.push(Block::Working(steps));
            done.insert(joint);
            last = Some(joint);
            continue;
        }
        let open: Vec<MemberId> =
            (0..truss.bars.len()).map(MemberId::new).filter(|member| truss.bar(*member).is_none()).collect();
        let cut = open.iter().find_map(|member| sections::find(pen, truss, *member));
        if let Some(cut) = cut {
            blocks.push(Block::Paragraph(words(
                "No joint left gives its unknowns by its own two equations. A section through the truss helps on.",
            )));
            sections::tell(pen, truss, &cut, blocks);
            last = None;
            continue;
        }
        if complex::tell(pen, truss, &mut done, blocks) {
            last = None;
            continue;
        }
        if !together(pen, truss, blocks) {
            blocks.push(Block::Paragraph(words(
                "In double precision the equations of the joints left cannot be told from singular ones: no forces are \
                 worked out for their bars.",
            )));
            return;
        }
    }
    left_over(pen, truss, &done, blocks);
}

/// Bars of one slope: legs, length and cosines.
fn slopes(pen: &Pen<'_>) -> Vec<Step> {
    let mut found: Vec<([Formula; 3], Vec<String>, Line)> = Vec::new();
    for (index, member) in pen.structure.members.iter().enumerate() {
        let id = MemberId::new(index);
        let direction = pen.between(member.start, member.end);
        let Some([cosine, sine]) = direction.cosines else { continue };
        let [dx, dy] = pen.structure.member_vector(id).map(f64::abs);
        let legs = [pen.length(dx), pen.length(dy), pen.length(dx.hypot(dy))];
        let name = pen.structure.member_name(id);
        match found.iter_mut().find(|(known, ..)| *known == legs) {
            Some((_, names, _)) => names.push(name),
            None => {
                let mut remark = vec![say("across "), formula(cosine.clone()), say(", up "), formula(sine.clone())];
                if let Formula::Fraction(_, below) = &cosine
                    && let Formula::Root(_) = **below
                {
                    let [ux, _] = direction.unit;
                    if let Formula::Fraction(above, _) = &cosine
                        && let Formula::Number { digits, .. } = &**above
                        && let Ok(leg) = digits.parse::<f64>()
                    {
                        let root = pen.ratio(leg / ux);
                        remark.extend([say(", "), formula((**below).clone()), say(" = "), formula(root)]);
                    }
                }
                found.push((legs, vec![name], remark));
            }
        }
    }
    found
        .into_iter()
        .map(|([across, up, length], names, remark)| {
            let square = |leg: Formula| Formula::Power(Box::new(leg), 2);
            let root =
                Formula::Root(Box::new(Formula::Sum(vec![(Sign::Plus, square(across)), (Sign::Plus, square(up))])));
            let label = match names.as_slice() {
                [first, .., last] if names.len() > 4 => format!("{first} … {last} ({})", names.len()),
                names => names.join(", "),
            };
            equation(words(label), vec![super::pen::symbol("L", ""), root, length], remark)
        })
        .collect()
}

/// Bars that carry nothing, by inspection, and why.
fn zero_bars(pen: &Pen<'_>, truss: &mut Truss, loads: &Loads, blocks: &mut Vec<Block>) {
    let points = Points::of(pen.structure);
    let mut steps: Vec<Step> = Vec::new();
    let free: Vec<JointId> = (0..pen.structure.joints.len())
        .map(JointId::new)
        .filter(|joint| pen.structure.support_at(*joint).is_none())
        .filter(|joint| loads.at(*joint).iter().all(|part| pen.quiet(*part) == 0.0))
        .collect();
    let mut again = true;
    while again {
        again = false;
        for joint in &free {
            let bars: Vec<(MemberId, JointId)> =
                bars_at(pen, *joint).into_iter().filter(|(member, _)| truss.bar(*member) != Some(0.0)).collect();
            if bars.iter().all(|(member, _)| truss.bar(*member).is_some()) {
                continue;
            }
            let in_line = |a: JointId, b: JointId| points.turn(a, *joint, b).is_eq();
            let name = |member: MemberId| pen.structure.member_name(member);
            let (none, why): (Vec<MemberId>, String) = match bars.as_slice() {
                [(only, _)] => (vec![*only], "one bar alone at an unloaded joint".to_owned()),
                [(first, a), (second, b)] if !in_line(*a, *b) => {
                    (vec![*first, *second], "two bars not in line at an unloaded joint".to_owned())
                }
                [(first, a), (second, b), (third, c)] => {
                    let odd = match (in_line(*a, *b), in_line(*a, *c), in_line(*b, *c)) {
                        (true, false, false) => Some((*third, *first, *second)),
                        (false, true, false) => Some((*second, *first, *third)),
                        (false, false, true) => Some((*first, *second, *third)),
                        _ => None,
                    };
                    let Some((odd, one, other)) = odd else { continue };
                    let why = format!("three bars at an unloaded joint, {} and {} in line", name(one), name(other));
                    (vec![odd], why)
                }
                _ => continue,
            };
            let fresh: Vec<MemberId> = none.into_iter().filter(|member| truss.bar(*member).is_none()).collect();
            if fresh.is_empty() {
                continue;
            }
            let mut sides = Vec::new();
            for member in &fresh {
                if let Some(id) = truss.bars.get(member.index()).copied() {
                    truss.set(id, 0.0);
                    sides.push(pen.bar_force(*member));
                }
            }
            sides.push(zero());
            steps.push(equation(words(format!("joint {}", pen.joint(*joint))), sides, words(why)));
            again = true;
        }
    }
    if !steps.is_empty() {
        blocks.push(Block::Paragraph(vec![
            Inline::Strong("Bars without force, by inspection.".to_owned()),
            say(" Each is taken away before the next is looked for. (It stays in the structure: other loads may need it.)"),
        ]));
        blocks.push(Block::Working(steps));
    }
}

/// The bars at a joint with the joints they go to.
pub fn bars_at(pen: &Pen<'_>, joint: JointId) -> Vec<(MemberId, JointId)> {
    let members = pen.structure.members.iter().enumerate();
    members
        .filter_map(|(index, member)| {
            let id = MemberId::new(index);
            if member.start == joint {
                Some((id, member.end))
            } else if member.end == joint {
                Some((id, member.start))
            } else {
                None
            }
        })
        .collect()
}

/// The next joint with at most two unknowns, and how they are found. Joints
/// whose sums leave one unknown each come first, then neighbours of the last.
fn next_joint(
    pen: &Pen<'_>,
    truss: &mut Truss,
    last: Option<JointId>,
    done: &BTreeSet<JointId>,
) -> Option<(JointId, Vec<Step>)> {
    let mut ready: Vec<(bool, bool, JointId)> = (0..truss.joints.len())
        .map(JointId::new)
        .filter(|joint| !done.contains(joint))
        .filter_map(|joint| {
            let open = truss.open_at(joint);
            if open.is_empty() || open.len() > 2 {
                return None;
            }
            let part = truss.joints.get(joint.index())?;
            let single =
                [Sum::x(), Sum::y()].iter().any(|what| part.balance(pen, &truss.unknowns, what).open.len() == 1);
            let near = last.is_some_and(|last| bars_at(pen, last).iter().any(|(_, other)| *other == joint));
            Some((!single, !near, joint))
        })
        .collect();
    ready.sort_unstable();
    ready.into_iter().find_map(|(_, _, joint)| Some((joint, at_joint(pen, truss, joint)?)))
}

/// The sums of one joint, and what they give.
fn at_joint(pen: &Pen<'_>, truss: &mut Truss, joint: JointId) -> Option<Vec<Step>> {
    let part = truss.joints.get(joint.index())?.clone();
    let mut steps = Vec::new();
    let mut waiting = vec![Sum::y(), Sum::x()];
    loop {
        let next = waiting.iter().position(|what| part.balance(pen, &truss.unknowns, what).open.len() == 1);
        let Some(next) = next else { break };
        let what = waiting.remove(next);
        let balance = part.balance(pen, &truss.unknowns, &what);
        let (id, value, lines) = balance.solve(pen, &truss.unknowns, &what)?;
        let value = pen.quiet(value);
        steps.push(balance.statement(&what));
        for mut line in lines {
            line.remark = remark(pen, &part, truss, id, value);
            steps.push(line);
        }
        truss.set(id, value);
    }
    if let [second, first] = waiting.as_slice()
        && truss.open_at(joint).len() == 2
    {
        let (a, b) = (part.balance(pen, &truss.unknowns, first), part.balance(pen, &truss.unknowns, second));
        let ids: Vec<UnknownId> = truss.open_at(joint).into_iter().collect();
        let ids = <[UnknownId; 2]>::try_from(ids).ok()?;
        let pair = Pair::of([(&a, first), (&b, second)], &truss.unknowns, ids)?;
        steps.push(a.statement(first));
        steps.push(b.statement(second));
        for (mut step, (id, value)) in pair.steps(pen, &truss.unknowns).into_iter().zip(pair.values) {
            let value = pen.quiet(value);
            step.remark = remark(pen, &part, truss, id, value);
            steps.push(step);
            truss.set(id, value);
        }
        waiting.clear();
    }
    if !truss.open_at(joint).is_empty() {
        return (!steps.is_empty()).then_some(steps);
    }
    for what in waiting {
        let balance = part.balance(pen, &truss.unknowns, &what);
        if balance.terms.is_empty() {
            continue;
        }
        let mut step = balance.statement(&what);
        step.remark = words(balance.verdict());
        steps.push(step);
    }
    Some(steps)
}

fn remark(pen: &Pen<'_>, part: &Part, truss: &Truss, id: UnknownId, value: f64) -> Line {
    let what = truss.unknowns.get(id).map_or(What::Bar, |unknown| unknown.what);
    let unit = part.forces.iter().find_map(|acting| match (&acting.kind, acting.size) {
        (Kind::Force(direction), Size::Unknown(own, _)) if own == id => Some(direction.unit),
        _ => None,
    });
    meaning(pen, what, value, unit.unwrap_or_default())
}

/// Joints of which no sum was needed: they have to balance all the same.
fn left_over(pen: &Pen<'_>, truss: &Truss, done: &BTreeSet<JointId>, blocks: &mut Vec<Block>) {
    let mut steps = Vec::new();
    for joint in (0..truss.joints.len()).map(JointId::new).filter(|joint| !done.contains(joint)) {
        let Some(part) = truss.joints.get(joint.index()) else { continue };
        for what in [Sum::x(), Sum::y()] {
            let balance = part.balance(pen, &truss.unknowns, &what);
            if balance.terms.is_empty() {
                continue;
            }
            let mut step = balance.statement(&what);
            step.label = words(format!("joint {}", pen.joint(joint)));
            step.remark = words(balance.verdict());
            steps.push(step);
        }
    }
    if !steps.is_empty() {
        blocks.push(Block::Paragraph(words("Check: put into the equations of these joints, the forces come to zero.")));
        blocks.push(Block::Working(steps));
    }
}

/// The equations of all joints left, solved together.
fn together(pen: &Pen<'_>, truss: &mut Truss, blocks: &mut Vec<Block>) -> bool {
    let open: Vec<UnknownId> = (0..truss.unknowns.len()).filter(|id| truss.value(*id).is_none()).collect();
    let mut rows = Vec::new();
    let mut steps = Vec::new();
    for joint in (0..truss.joints.len()).map(JointId::new) {
        if truss.open_at(joint).is_empty() {
            continue;
        }
        let Some(part) = truss.joints.get(joint.index()) else { continue };
        for what in [Sum::x(), Sum::y()] {
            let balance = part.balance(pen, &truss.unknowns, &what);
            if balance.open.is_empty() {
                continue;
            }
            let of = |id: &UnknownId| balance.open.iter().find(|(own, _)| own == id).map_or(0.0, |(_, value)| *value);
            rows.push((open.iter().map(of).collect::<Vec<f64>>(), -balance.known));
            let mut step = balance.statement(&what);
            step.label = words(format!("joint {}", pen.joint(joint)));
            steps.push(step);
        }
    }
    let equations = rows.len();
    let Some(values) = eliminate(rows, open.len()) else { return false };
    let names: Vec<String> = (0..truss.bars.len())
        .map(MemberId::new)
        .filter(|member| truss.bar(*member).is_none())
        .map(|member| pen.structure.member_name(member))
        .collect();
    let which = if names.len() <= 8 { format!(" ({})", listed(&names)) } else { String::new() };
    blocks.push(Block::Paragraph(words(format!(
        "No joint left gives its unknowns by its own two equations, no straight section was found that leaves one alone, and one \
         force carried from joint to joint is not enough. The {} equations of the joints left are solved together for {} \
         unknowns{which}; their elimination is not written out.",
        count(equations),
        count(open.len()),
    ))));
    if steps.len() <= 2 * super::external::MOST_TOGETHER {
        blocks.push(Block::Working(steps));
    }
    let mut results = Vec::new();
    for (id, value) in open.into_iter().zip(values) {
        let value = pen.quiet(value);
        let Some(unknown) = truss.unknowns.get(id).cloned() else { continue };
        let label = if results.is_empty() { words("together") } else { Vec::new() };
        results.push(equation(
            label,
            vec![unknown.symbol, pen.force(value)],
            meaning(pen, unknown.what, value, [0.0; 2]),
        ));
        truss.set(id, value);
    }
    blocks.push(Block::Working(results));
    true
}
