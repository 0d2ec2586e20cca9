//! The spaces between the lines of a truss and its outer forces (Bow's
//! notation), and the reciprocal figure: one point for each space, one line
//! for each force, parallel to it (Maxwell, Phil. Mag. 27 (1864) 250; Bow,
//! Economics of Construction, 1873; both from memory).
//!
//! Must not know: how it is drawn.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::ids::typed_id;
use crate::base::{DisjointSets, IdVec, JointId, MemberId};
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::loads::Loads;
use super::plane::{Point, along, back, dot, mean, side, size, sub};

/// Trusses of more members have no force diagram that could be read.
pub const MOST_MEMBERS: usize = 120;

/// Members whose directions differ by less, radians, lie on each other.
const ONE_ANGLE: f64 = 1e-9;
/// A corner of less, radians, goes once round: its two sides are one.
const NO_CORNER: f64 = 1e-12;
/// A direction in a corner stands off its sides by so much, radians.
const WITHIN: f64 = 1e-6;
/// A joint nearer to the line of a member, as a share of both lengths, is on it.
const TOUCH: f64 = 1e-12;
/// Forces that leave a larger share of the largest open are not in equilibrium.
const OPEN: f64 = 1e-6;
/// An outer force keeps this far from the members of its joint, radians.
const CLEAR: f64 = 0.2;

typed_id!(
    SpaceId,
    /// A load or reaction.
    OuterId,
);

/// Why a truss has no force diagram.
#[derive(Clone, Debug, PartialEq)]
pub enum Unfit {
    Beams,
    TooMany,
    /// Loads on members between their joints.
    LoadOnMember(MemberId),
    Crossing(MemberId, MemberId),
    /// Members that do not hang together.
    Apart,
    /// A load or reaction at a joint that the outside does not reach.
    Inside(JointId),
    /// Two members with one end and one direction.
    Overlapping(JointId),
    /// The sums of forces leave a gap: no equilibrium.
    Open,
}

/// Something that acts on a joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Item {
    Member(MemberId),
    Outer(OuterId),
}

/// A load or reaction.
#[derive(Clone, Copy, Debug)]
pub struct Outer {
    pub joint: JointId,
    /// Newtons, x and y up.
    pub force: [f64; 2],
    pub is_reaction: bool,
    /// The direction from the joint in which its arrow stands, radians.
    pub angle: f64,
}

/// A space: a corner for each joint it touches.
#[derive(Clone, Debug, Default)]
pub struct Space {
    pub name: String,
    pub is_outer: bool,
    /// Joints with the direction, radians, that halves the corner there.
    pub corners: Vec<(JointId, f64)>,
    /// Its point in the force diagram, newtons, y up.
    pub at: [f64; 2],
}

impl Space {
    /// Whether it is named by a number and not by a letter.
    pub fn has_number(&self) -> bool {
        self.name.starts_with(|c: char| c.is_ascii_digit())
    }
}

/// A line of the force diagram.
#[derive(Clone, Copy, Debug)]
pub struct ForceLine {
    pub item: Item,
    /// Spaces passed going clockwise round the joint: first before, then after.
    pub between: [SpaceId; 2],
    /// Newtons, tension positive; of an outer force its size.
    pub value: f64,
}

#[derive(Debug)]
pub struct Reciprocal {
    pub spaces: IdVec<SpaceId, Space>,
    pub lines: Vec<ForceLine>,
    pub outer: IdVec<OuterId, Outer>,
    /// The largest gap over all joints against the largest force.
    pub gap: f64,
}

/// What stands round a joint, clockwise.
type Round = Vec<(Item, f64)>;
type Rounds = IdVec<JointId, Round>;

pub fn reciprocal(structure: &Structure, loads: &Loads, result: &CaseResult) -> Result<Reciprocal, Unfit> {
    if structure.members.len() > MOST_MEMBERS {
        return Err(Unfit::TooMany);
    }
    if structure.members.iter().any(|member| member.kind == MemberKind::Beam) {
        return Err(Unfit::Beams);
    }
    if let Some((member, _)) = loads.spans.iter().next() {
        return Err(Unfit::LoadOnMember(*member));
    }
    let net = Net { structure };
    net.check_crossings()?;
    let bare = net.rounds()?;
    net.check_connected(&bare)?;
    let outer = net.outer_forces(loads, result, &bare)?;
    let rounds = net.with_outer(bare, &outer);
    net.build(&rounds, outer, result)
}

struct Net<'a> {
    structure: &'a Structure,
}

impl Net<'_> {
    fn place(&self, joint: JointId) -> Point {
        self.structure.point(joint)
    }

    fn check_crossings(&self) -> Result<(), Unfit> {
        let members = || self.structure.members.entries().map(|(id, member)| (id, [member.start, member.end]));
        for (i, one) in members() {
            for (j, other) in members().skip(i.index() + 1) {
                let is_joined = one.iter().any(|joint| other.contains(joint));
                if !is_joined && touch(one.map(|joint| self.place(joint)), other.map(|joint| self.place(joint))) {
                    return Err(Unfit::Crossing(i, j));
                }
            }
        }
        Ok(())
    }

    /// Members round each joint, clockwise.
    fn rounds(&self) -> Result<Rounds, Unfit> {
        let mut rounds: Rounds = IdVec::filled(&self.structure.joints, Vec::new());
        for (id, member) in self.structure.members.entries() {
            for (joint, far) in [(member.start, member.end), (member.end, member.start)] {
                let [dx, dy] = sub(self.place(far), self.place(joint));
                rounds[joint].push((Item::Member(id), dy.atan2(dx)));
            }
        }
        for joint in rounds.ids() {
            let round = &mut rounds[joint];
            round.sort_by(|(_, a), (_, b)| b.total_cmp(a));
            if round.windows(2).any(|pair| matches!(pair, [(_, a), (_, b)] if a - b < ONE_ANGLE)) {
                return Err(Unfit::Overlapping(joint));
            }
        }
        Ok(rounds)
    }

    fn check_connected(&self, rounds: &Rounds) -> Result<(), Unfit> {
        let mut sets = DisjointSets::new(rounds.len());
        for member in &self.structure.members {
            sets.join(member.start.index(), member.end.index());
        }
        let roots = sets.into_roots();
        let used: BTreeSet<u32> =
            rounds.iter().zip(roots).filter(|(round, _)| !round.is_empty()).map(|(_, root)| root).collect();
        if used.len() == 1 { Ok(()) } else { Err(Unfit::Apart) }
    }

    /// Loads and reactions, each in a corner of its joint that is outside.
    fn outer_forces(&self, loads: &Loads, result: &CaseResult, bare: &Rounds) -> Result<IdVec<OuterId, Outer>, Unfit> {
        let mut acting: Vec<(JointId, [f64; 2], bool)> = Vec::new();
        for load in &loads.joints {
            acting.extend(load.forces.iter().map(|force| (load.joint, *force, false)));
        }
        let noise = ZERO_SHARE * result.largest;
        for (support, reaction) in self.structure.supports.iter().zip(&result.reactions) {
            acting.push((support.joint, reaction.force(), true));
        }
        acting.retain(|(_, force, _)| size(*force) > noise);
        let corners = Corners::of(bare);
        let spaces = self.join(bare, &corners);
        let outside = self.outside(bare, &corners, &spaces);
        let mut outer = IdVec::default();
        for (joint, force, is_reaction) in acting {
            let round = &bare[joint];
            let open: Vec<(f64, f64)> = (0..round.len())
                .filter(|index| corners.at(joint, *index).is_some_and(|corner| spaces.get(corner) == outside.as_ref()))
                .filter_map(|index| corner_angles(round, index))
                .collect();
            // Arriving, leaving, else in the middle of the widest corner outside.
            let [x, y] = force;
            let wishes = [(-y).atan2(-x), y.atan2(x)];
            // Too close to a member it could not be told from it.
            let clear = |wish: f64| open.iter().any(|(from, wide)| is_within(wish, from - CLEAR, wide - 2.0 * CLEAR));
            let wished = wishes.into_iter().find(|wish| clear(*wish));
            let widest = open.iter().max_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(from, wide)| from - wide / 2.0);
            let angle = wished.or(widest).ok_or(Unfit::Inside(joint))?;
            outer.push(Outer { joint, force, is_reaction, angle });
        }
        Ok(outer)
    }

    fn with_outer(&self, mut rounds: Rounds, outer: &IdVec<OuterId, Outer>) -> Rounds {
        for (id, force) in outer.entries() {
            rounds[force.joint].push((Item::Outer(id), normal(force.angle)));
        }
        rounds.iter_mut().for_each(|round| round.sort_by(|(_, a), (_, b)| b.total_cmp(a)));
        rounds
    }

    /// The space of each corner: one space fills those on one side of a member, at both its ends.
    fn join(&self, rounds: &Rounds, corners: &Corners) -> Vec<u32> {
        let mut sets = DisjointSets::new(corners.count);
        for (id, member) in self.structure.members.entries() {
            let item = Item::Member(id);
            let sides = |joint: JointId| {
                let round = &rounds[joint];
                let at = round.iter().position(|(other, _)| *other == item)?;
                let before = (at + round.len() - 1) % round.len();
                Some((corners.at(joint, before)?, corners.at(joint, at)?))
            };
            if let (Some((start_before, start_after)), Some((end_before, end_after))) =
                (sides(member.start), sides(member.end))
            {
                sets.join(start_before, end_after);
                sets.join(start_after, end_before);
            }
        }
        sets.into_roots()
    }

    /// The space that holds everything to the left of the leftmost joint.
    fn outside(&self, rounds: &Rounds, corners: &Corners, spaces: &[u32]) -> Option<u32> {
        let used = rounds.entries().filter(|(_, round)| !round.is_empty());
        let (leftmost, round) = used.min_by(|(a, _), (b, _)| from_left(self.place(*a), self.place(*b)))?;
        // Left is just outside of every member there, or straight down for one that stands.
        let left = std::f64::consts::PI - ONE_ANGLE;
        let index = (0..round.len())
            .find(|index| corner_angles(round, *index).is_some_and(|(from, wide)| is_within(left, from, wide)))?;
        spaces.get(corners.at(leftmost, index)?).copied()
    }

    fn build(&self, rounds: &Rounds, outer: IdVec<OuterId, Outer>, result: &CaseResult) -> Result<Reciprocal, Unfit> {
        let corners = Corners::of(rounds);
        let sets = self.join(rounds, &corners);
        let mut number: BTreeMap<Option<u32>, SpaceId> = BTreeMap::new();
        let mut spaces: IdVec<SpaceId, Space> = IdVec::default();
        let mut lines: Vec<ForceLine> = Vec::new();
        // Every step clockwise round a joint from space to space, by a force.
        let mut steps: Vec<Passage> = Vec::new();
        let mut space_of = |corner: usize, spaces: &mut IdVec<SpaceId, Space>| {
            *number.entry(sets.get(corner).copied()).or_insert_with(|| {
                spaces.push(Space::default());
                SpaceId::new(spaces.len() - 1)
            })
        };
        for (joint, round) in rounds.entries() {
            for (index, (item, _)) in round.iter().enumerate() {
                let before = (index + round.len() - 1) % round.len();
                let (Some(p), Some(q)) = (corners.at(joint, before), corners.at(joint, index)) else { continue };
                let (p, q) = (space_of(p, &mut spaces), space_of(q, &mut spaces));
                if let Some((from, wide)) = corner_angles(round, index) {
                    spaces[q].corners.push((joint, from - wide / 2.0));
                }
                let (force, value, is_first) = self.force_on(joint, *item, &outer, result);
                steps.push((p, q, force));
                if is_first {
                    lines.push(ForceLine { item: *item, between: [p, q], value });
                }
                if matches!(item, Item::Outer(_)) {
                    [p, q].into_iter().for_each(|space| spaces[space].is_outer = true);
                }
            }
        }
        let gap = settle(&mut spaces, &steps, result.largest);
        if gap > OPEN {
            return Err(Unfit::Open);
        }
        self.name(&mut spaces, &lines, &outer);
        Ok(Reciprocal { spaces, lines, outer, gap })
    }

    /// What an item does to a joint; its value; whether it is told here.
    fn force_on(
        &self,
        joint: JointId,
        item: Item,
        outer: &IdVec<OuterId, Outer>,
        result: &CaseResult,
    ) -> ([f64; 2], f64, bool) {
        match item {
            Item::Outer(id) => (outer[id].force, size(outer[id].force), true),
            Item::Member(member) => {
                let (axial, m) = (result.axial[member], &self.structure.members[member]);
                let far = if m.start == joint { m.end } else { m.start };
                let [dx, dy] = sub(self.place(far), self.place(joint));
                let length = dx.hypot(dy);
                ([axial * dx / length, axial * dy / length], axial, m.start == joint)
            }
        }
    }

    /// Letters for the spaces outside, clockwise from the left, that no joint
    /// has for its name, or the first numbers where both cases are taken; numbers for
    /// those inside, from the left.
    fn name(&self, spaces: &mut IdVec<SpaceId, Space>, lines: &[ForceLine], outer: &IdVec<OuterId, Outer>) {
        let around = lines.iter().filter_map(|line| match line.item {
            Item::Outer(id) => Some((self.place(outer[id].joint), line.between)),
            Item::Member(_) => None,
        });
        let around: Vec<(Point, [SpaceId; 2])> = around.collect();
        let first = around.iter().min_by(|(a, _), (b, _)| from_left(*a, *b));
        let mut order: Vec<SpaceId> = Vec::new();
        let mut next = first.map(|(_, [_, after])| *after);
        while let Some(space) = next.filter(|space| !order.contains(space)) {
            order.push(space);
            next = around.iter().find(|(_, [before, _])| *before == space).map(|(_, [_, after])| *after);
        }
        if around.is_empty() {
            let only = spaces.entries().max_by_key(|(_, space)| space.corners.len());
            order.extend(only.map(|(id, _)| id));
        }
        for (space, name) in order.iter().zip(outer_names(self.structure, order.len())) {
            spaces[*space].is_outer = true;
            spaces[*space].name = name;
        }
        let middle = |space: &Space| mean(space.corners.iter().map(|(joint, _)| self.place(*joint)));
        let unnamed = spaces.entries().filter(|(_, space)| space.name.is_empty());
        let mut inner: Vec<(SpaceId, Point)> = unnamed.map(|(id, space)| (id, middle(space))).collect();
        inner.sort_by(|(_, [ax, ay]), (_, [bx, by])| ax.total_cmp(bx).then(by.total_cmp(ay)));
        let numbered = spaces.iter().filter(|space| space.has_number()).count();
        for (number, (space, _)) in (numbered + 1..).zip(inner) {
            spaces[space].name = number.to_string();
        }
    }
}

/// From the left, then from below.
fn from_left([ax, ay]: Point, [bx, by]: Point) -> std::cmp::Ordering {
    ax.total_cmp(&bx).then(ay.total_cmp(&by))
}

/// Without those that look like figures.
const SMALL: &str = "abcdefghjkmnpqrstuvwxyz";
const CAPITAL: &str = "ABCDEFGHJKLMNPQRSTUVWXYZ";

/// Names for so many spaces outside, none of them a joint's: small letters, or
/// capital ones, or numbers.
fn outer_names(structure: &Structure, count: usize) -> Vec<String> {
    let joints: BTreeSet<&str> = structure.joints.ids().map(|joint| structure.joint_name(joint)).collect();
    let lettered = [SMALL, CAPITAL].map(|alphabet| (0..count).map(|index| letter(alphabet, index)).collect::<Vec<_>>());
    let free = lettered.into_iter().find(|names| !names.iter().any(|name| joints.contains(name.as_str())));
    free.unwrap_or_else(|| (1..=count).map(|number| number.to_string()).collect())
}

/// `a`, `b` … `z`, `aa`, `ab` …
fn letter(alphabet: &str, mut index: usize) -> String {
    let letters = alphabet.len().max(1);
    let mut name = String::new();
    loop {
        name.extend(alphabet.chars().nth(index % letters));
        if index < letters {
            return name.chars().rev().collect();
        }
        index = index / letters - 1;
    }
}

/// From a space to another, by a force.
type Passage = (SpaceId, SpaceId, [f64; 2]);

/// Puts each space's point by going from space to space; gives the largest
/// gap that is left, against the largest force.
fn settle(spaces: &mut IdVec<SpaceId, Space>, steps: &[Passage], largest: f64) -> f64 {
    let mut known: IdVec<SpaceId, bool> = IdVec::filled(spaces, false);
    let mut from: IdVec<SpaceId, Vec<(SpaceId, [f64; 2])>> = IdVec::filled(spaces, Vec::new());
    for (p, q, force) in steps {
        from[*p].push((*q, *force));
        from[*q].push((*p, back(*force)));
    }
    let mut open: Vec<SpaceId> = spaces.ids().take(1).collect();
    open.iter().for_each(|first| known[*first] = true);
    while let Some(space) = open.pop() {
        for (next, force) in &from[space] {
            if !std::mem::replace(&mut known[*next], true) {
                spaces[*next].at = along(spaces[space].at, *force, 1.0);
                open.push(*next);
            }
        }
    }
    let gap = |(p, q, force): &Passage| size(sub(sub(spaces[*q].at, spaces[*p].at), *force));
    let worst = steps.iter().map(gap).fold(0.0, f64::max);
    if largest > 0.0 { worst / largest } else { 0.0 }
}

/// The corner after an item, clockwise: the item's own angle and how wide it is.
fn corner_angles(round: &[(Item, f64)], index: usize) -> Option<(f64, f64)> {
    let (_, from) = round.get(index)?;
    let (_, to) = round.get((index + 1) % round.len())?;
    let wide = from - to;
    let whole = std::f64::consts::TAU;
    Some((*from, if wide <= NO_CORNER { wide + whole } else { wide }))
}

/// Whether an angle lies strictly in the corner that opens clockwise from `from`.
fn is_within(angle: f64, from: f64, wide: f64) -> bool {
    let after = (from - angle).rem_euclid(std::f64::consts::TAU);
    after > WITHIN && after < wide - WITHIN
}

/// Between -π and π.
fn normal(angle: f64) -> f64 {
    let turned = angle.rem_euclid(std::f64::consts::TAU);
    if turned > std::f64::consts::PI { turned - std::f64::consts::TAU } else { turned }
}

/// Whether two members without a joint in common cross or touch.
fn touch([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let scale = TOUCH * size(sub(b, a)) * size(sub(d, c));
    let sign = |value: f64| if value.abs() <= scale { 0.0 } else { value.signum() };
    let (s1, s2) = (sign(side(a, b, c)), sign(side(a, b, d)));
    let (s3, s4) = (sign(side(c, d, a)), sign(side(c, d, b)));
    if s1 == 0.0 && s2 == 0.0 {
        // In one line: they touch if their stretches do.
        let axis = sub(b, a);
        let on = |p: Point| dot(sub(p, a), axis);
        let whole = on(b);
        return on(c).min(on(d)) < whole && on(c).max(on(d)) > 0.0;
    }
    s1 * s2 <= 0.0 && s3 * s4 <= 0.0
}

/// The corners of all joints, numbered.
struct Corners {
    starts: Vec<usize>,
    count: usize,
}

impl Corners {
    fn of(rounds: &Rounds) -> Corners {
        let mut starts = Vec::with_capacity(rounds.len() + 1);
        let mut count = 0;
        for round in rounds {
            starts.push(count);
            count += round.len();
        }
        starts.push(count);
        Corners { starts, count }
    }

    fn at(&self, joint: JointId, index: usize) -> Option<usize> {
        let (start, end) = (self.starts.get(joint.index())?, self.starts.get(joint.index() + 1)?);
        (start + index < *end).then_some(start + index)
    }
}
