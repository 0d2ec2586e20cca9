//! The spaces between the lines of a truss and its outer forces (Bow's
//! notation), and the reciprocal figure: one point for each space, one line
//! for each force, parallel to it (Maxwell, Phil. Mag. 27 (1864) 250; Bow,
//! Economics of Construction, 1873; both from memory).
//!
//! Must not know: how it is drawn.

use crate::base::tolerances::{ROUNDED, SAME, TO_THE_EYE};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::{PI, TAU};

use crate::base::ids::typed_id;
use crate::base::{DisjointSets, IdVec, JointId, MemberId};
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::loads::Loads;
use super::plane::{Point, along, back, dot, mean, side, size, sub};

/// Trusses of more members have no force diagram that could be read.
pub const MOST_MEMBERS: usize = 120;

/// An outer force keeps this far from the members of its joint, radians.
const CLEAR: f64 = 0.2;

typed_id!(
    SpaceId,
    /// A load or reaction.
    OuterId,
    /// Between two lines that are neighbours at a joint.
    CornerId,
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

/// What stands round each joint, clockwise, and in which direction.
type Rounds = IdVec<JointId, Vec<(Item, f64)>>;

/// The corner clockwise of a line at a joint.
struct Corner {
    joint: JointId,
    item: Item,
    /// The line's direction, and how wide the corner is, radians.
    from: f64,
    wide: f64,
    /// The corner on the other side of the line.
    before: CornerId,
}

type Corners = IdVec<CornerId, Corner>;

pub fn reciprocal(structure: &Structure, loads: &Loads, result: &CaseResult) -> Result<Reciprocal, Unfit> {
    if structure.members.len() > MOST_MEMBERS {
        return Err(Unfit::TooMany);
    }
    if structure.members.iter().any(|member| member.kind == MemberKind::Beam) {
        return Err(Unfit::Beams);
    }
    if let Some((member, _)) = loads.members.first() {
        return Err(Unfit::LoadOnMember(*member));
    }
    check_crossings(structure)?;
    let mut rounds = members_round(structure)?;
    check_connected(structure, &rounds)?;
    let outer = outer_forces(structure, loads, result, &corners(&rounds))?;
    for (id, force) in outer.entries() {
        rounds[force.joint].push((Item::Outer(id), normal(force.angle)));
    }
    rounds.iter_mut().for_each(|round| clockwise(round));
    build(structure, &corners(&rounds), outer, result)
}

fn check_crossings(structure: &Structure) -> Result<(), Unfit> {
    let members = || structure.members.entries().map(|(id, member)| (id, [member.start, member.end]));
    for (i, one) in members() {
        for (j, other) in members().skip(i.index() + 1) {
            let is_joined = one.iter().any(|joint| other.contains(joint));
            let [one, other] = [one, other].map(|ends| ends.map(|joint| structure.point(joint)));
            if !is_joined && touch(one, other) {
                return Err(Unfit::Crossing(i, j));
            }
        }
    }
    Ok(())
}

fn members_round(structure: &Structure) -> Result<Rounds, Unfit> {
    let mut rounds: Rounds = IdVec::filled(&structure.joints, Vec::new());
    for (id, member) in structure.members.entries() {
        for (joint, far) in [(member.start, member.end), (member.end, member.start)] {
            let [dx, dy] = sub(structure.point(far), structure.point(joint));
            rounds[joint].push((Item::Member(id), dy.atan2(dx)));
        }
    }
    for joint in rounds.ids() {
        clockwise(&mut rounds[joint]);
        if rounds[joint].windows(2).any(|pair| matches!(pair, [(_, a), (_, b)] if a - b < SAME)) {
            return Err(Unfit::Overlapping(joint));
        }
    }
    Ok(rounds)
}

fn clockwise(round: &mut [(Item, f64)]) {
    round.sort_by(|(_, a), (_, b)| b.total_cmp(a));
}

fn check_connected(structure: &Structure, rounds: &Rounds) -> Result<(), Unfit> {
    let mut sets = DisjointSets::new(rounds.len());
    for member in &structure.members {
        sets.join(member.start.index(), member.end.index());
    }
    let used = rounds.iter().zip(sets.into_roots()).filter(|(round, _)| !round.is_empty());
    let pieces: BTreeSet<u32> = used.map(|(_, root)| root).collect();
    if pieces.len() == 1 { Ok(()) } else { Err(Unfit::Apart) }
}

fn corners(rounds: &Rounds) -> Corners {
    let mut corners = Corners::default();
    for (joint, round) in rounds.entries() {
        let first = corners.len();
        let last = (first + round.len()).saturating_sub(1);
        let next = round.iter().cycle().skip(1);
        for ((index, (item, from)), (_, to)) in round.iter().enumerate().zip(next) {
            let wide = from - to;
            // A corner without width goes once round: its two sides are one.
            let wide = if wide <= ROUNDED { wide + TAU } else { wide };
            let before = CornerId::new(if index == 0 { last } else { first + index - 1 });
            corners.push(Corner { joint, item: *item, from: *from, wide, before });
        }
    }
    corners
}

/// The space of each corner: one space fills those on one side of a member, at both its ends.
fn spaces_of(corners: &Corners) -> IdVec<CornerId, u32> {
    let mut sets = DisjointSets::new(corners.len());
    let mut met: BTreeMap<MemberId, CornerId> = BTreeMap::new();
    for (id, corner) in corners.entries() {
        let Item::Member(member) = corner.item else { continue };
        if let Some(far) = met.insert(member, id) {
            sets.join(corners[far].before.index(), id.index());
            sets.join(far.index(), corner.before.index());
        }
    }
    sets.into_roots().into()
}

/// Loads and reactions, each in a corner of its joint that is outside.
fn outer_forces(
    structure: &Structure,
    loads: &Loads,
    result: &CaseResult,
    corners: &Corners,
) -> Result<IdVec<OuterId, Outer>, Unfit> {
    let loads = loads.joints.iter().flat_map(|load| load.forces.iter().map(|force| (load.joint, *force, false)));
    let reactions = structure.supports.iter().zip(&result.reactions);
    let reactions = reactions.map(|(support, reaction)| (support.joint, reaction.force(), true));
    let noise = ZERO_SHARE * result.largest;
    let spaces = spaces_of(corners);
    let outside = outside(structure, corners).map(|corner| spaces[corner]);
    let mut outer = IdVec::default();
    for (joint, force, is_reaction) in loads.chain(reactions).filter(|(_, force, _)| size(*force) > noise) {
        let is_open = |(id, corner): &(CornerId, &Corner)| corner.joint == joint && Some(spaces[*id]) == outside;
        let open: Vec<&Corner> = corners.entries().filter(is_open).map(|(_, corner)| corner).collect();
        // Arriving, leaving, else in the middle of the widest corner outside.
        let [x, y] = force;
        let wishes = [(-y).atan2(-x), y.atan2(x)];
        // Too close to a member it could not be told from it.
        let clear = |wish: &f64| open.iter().any(|corner| corner.holds(*wish, CLEAR));
        let widest = open.iter().max_by(|a, b| a.wide.total_cmp(&b.wide)).map(|corner| corner.middle());
        let angle = wishes.into_iter().find(clear).or(widest).ok_or(Unfit::Inside(joint))?;
        outer.push(Outer { joint, force, is_reaction, angle });
    }
    Ok(outer)
}

/// A corner of the space that holds everything to the left of the leftmost joint.
fn outside(structure: &Structure, corners: &Corners) -> Option<CornerId> {
    let at = |corner: &Corner| structure.point(corner.joint);
    let leftmost = corners.iter().min_by(|a, b| from_left(at(a), at(b)))?.joint;
    // Left is just outside of every member there, or straight down for one that stands.
    let left = PI - SAME;
    let mut there = corners.entries().filter(|(_, corner)| corner.joint == leftmost);
    there.find(|(_, corner)| corner.holds(left, 0.0)).map(|(id, _)| id)
}

fn build(
    structure: &Structure,
    corners: &Corners,
    outer: IdVec<OuterId, Outer>,
    result: &CaseResult,
) -> Result<Reciprocal, Unfit> {
    let sets = spaces_of(corners);
    let mut numbers: BTreeMap<u32, SpaceId> = BTreeMap::new();
    let mut spaces: IdVec<SpaceId, Space> = IdVec::default();
    let mut lines: Vec<ForceLine> = Vec::new();
    // Every step clockwise round a joint from space to space, by a force.
    let mut steps: Vec<Passage> = Vec::new();
    for (id, corner) in corners.entries() {
        let [p, q] = [corner.before, id].map(|corner| {
            *numbers.entry(sets[corner]).or_insert_with(|| {
                spaces.push(Space::default());
                SpaceId::new(spaces.len() - 1)
            })
        });
        spaces[q].corners.push((corner.joint, corner.middle()));
        let (force, value, is_first) = match corner.item {
            Item::Outer(id) => {
                [p, q].into_iter().for_each(|space| spaces[space].is_outer = true);
                (outer[id].force, size(outer[id].force), true)
            }
            Item::Member(id) => {
                let (axial, member) = (result.axial[id], &structure.members[id]);
                let is_start = member.start == corner.joint;
                let far = if is_start { member.end } else { member.start };
                let along = sub(structure.point(far), structure.point(corner.joint));
                (along.map(|part| axial * part / size(along)), axial, is_start)
            }
        };
        steps.push((p, q, force));
        if is_first {
            lines.push(ForceLine { item: corner.item, between: [p, q], value });
        }
    }
    let gap = settle(&mut spaces, &steps, result.largest);
    if gap > TO_THE_EYE {
        return Err(Unfit::Open);
    }
    name(structure, &mut spaces, &lines, &outer);
    Ok(Reciprocal { spaces, lines, outer, gap })
}

/// Letters for the spaces outside, clockwise from the left, that no joint
/// has for its name, or the first numbers where both cases are taken; numbers for
/// those inside, from the left.
fn name(structure: &Structure, spaces: &mut IdVec<SpaceId, Space>, lines: &[ForceLine], outer: &IdVec<OuterId, Outer>) {
    let around = lines.iter().filter_map(|line| match line.item {
        Item::Outer(id) => Some((structure.point(outer[id].joint), line.between)),
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
    for (space, name) in order.iter().zip(outer_names(structure, order.len())) {
        spaces[*space].is_outer = true;
        spaces[*space].name = name;
    }
    let middle = |space: &Space| mean(space.corners.iter().map(|(joint, _)| structure.point(*joint)));
    let unnamed = spaces.entries().filter(|(_, space)| space.name.is_empty());
    let mut inner: Vec<(SpaceId, Point)> = unnamed.map(|(id, space)| (id, middle(space))).collect();
    inner.sort_by(|(_, [ax, ay]), (_, [bx, by])| ax.total_cmp(bx).then(by.total_cmp(ay)));
    let numbered = spaces.iter().filter(|space| space.has_number()).count();
    for (number, (space, _)) in (numbered + 1..).zip(inner) {
        spaces[space].name = number.to_string();
    }
}

impl Corner {
    fn middle(&self) -> f64 {
        self.from - self.wide / 2.0
    }

    /// Whether a direction lies in it, so far from both its sides.
    fn holds(&self, angle: f64, off: f64) -> bool {
        let after = (self.from - off - angle).rem_euclid(TAU);
        after > TO_THE_EYE && after < self.wide - 2.0 * off - TO_THE_EYE
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

/// Between -π and π.
fn normal(angle: f64) -> f64 {
    let turned = angle.rem_euclid(TAU);
    if turned > PI { turned - TAU } else { turned }
}

/// Whether two members without a joint in common cross or touch.
fn touch([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let scale = ROUNDED * size(sub(b, a)) * size(sub(d, c));
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
