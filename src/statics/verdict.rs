//! The verdict: determinate, redundant or unstable, exactly; with what moves
//! and what is more than needed.
//!
//! Nothing here depends on a tolerance. The rank is that of the equilibrium
//! matrix over a prime field: full rank is a proof, a deficiency is checked
//! and repeated with a second prime by the layer below.
//!
//! Must not know: loads, words for people.

use crate::base::tolerances::{ROUNDED, SAME};
use crate::base::{JointId, MemberId, SupportId};
use crate::numeric::{
    Field, Group, NumericError, Prime, Rank, Scalar, exact_rank, exact_rank_only, null_basis, null_direction,
    null_residues,
};
use crate::quantity::Number;
use crate::structure::{Structure, unit};

use super::cure::{Cure, Moves, Neighbours, find_cure};
use super::equilibrium::{Component, Equilibrium, Generic, Restraint, Unknown, idle_turns, in_field};
use super::motion::{ExactMotion, MOST_ROWS, Motion, motion_of};

/// Seeds every random weight, so that the same file gives the same output.
pub(super) const SEED: u64 = 0x6b70_2026;
/// Explanations are worked out for so many mechanisms; the rest are counted.
pub const MOST_MECHANISMS: usize = 8;
/// Explanations are worked out for so many redundancies; the rest are counted.
pub const MOST_REDUNDANCIES: usize = 8;
/// Other places for joints are tried in structures of up to so many joints.
const MOST_PLACED: usize = 2_000;

/// What can be said of a layout without a load on it.
#[derive(Debug)]
pub struct Verdict {
    pub kind: VerdictKind,
    pub members: usize,
    /// Reaction components, couples that no member could bring left out.
    pub reactions: usize,
    /// Those couples: each is an unknown and an equation more.
    pub idle: usize,
    pub joints: usize,
    /// Independent motions: rows less rank.
    pub mechanisms: usize,
    /// Members and reactions more than statics can resolve: columns less rank.
    pub redundancy: usize,
    /// What is wrong with the supports as a whole.
    pub support_fault: Option<SupportFault>,
    /// One support that would mend that, verified.
    pub support_cure: Option<Cure>,
    /// Motions of parts against each other, or of the whole against one support too few.
    pub motions: Vec<Mechanism>,
    pub redundancies: Vec<Redundancy>,
    /// Whether the joints placed otherwise would make it stable: the layout is
    /// special, not short of a member.
    pub special: Special,
    pub rank: Rank,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VerdictKind {
    Determinate,
    Indeterminate,
    Unstable,
    /// The layout is rounded, set out by angles or roots, and up to that
    /// rounding it cannot be told from a mechanism.
    NotSettled,
}

impl VerdictKind {
    pub const fn is_stable(self) -> bool {
        matches!(self, VerdictKind::Determinate | VerdictKind::Indeterminate)
    }

    /// The word of the formats for programs.
    pub const fn word(self) -> &'static str {
        match self {
            VerdictKind::Determinate => "determinate",
            VerdictKind::Indeterminate => "indeterminate",
            VerdictKind::Unstable => "unstable",
            VerdictKind::NotSettled => "not settled",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Special {
    /// The joints of this layout, placed anywhere, would do no better.
    No,
    /// Placed otherwise it would have so many mechanisms fewer.
    FewerElsewhere(usize),
}

/// Why the supports cannot hold the structure as one piece.
#[derive(Clone, Debug, PartialEq)]
pub enum SupportFault {
    /// No support at all.
    None,
    /// Fewer than three reaction components.
    TooFew { reactions: usize, free: Freedom },
    /// All reactions in one direction (a unit vector).
    Parallel { direction: [f64; 2] },
    /// All reaction lines through one point, metres.
    Concurrent { point: [f64; 2], joint: Option<JointId> },
}

/// How a structure that is held by too few reactions can still move as one piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Freedom {
    /// Every way.
    All,
    /// It turns about a point, metres.
    Turns { about: [f64; 2] },
    /// It slides along a direction, a unit vector.
    Slides { along: [f64; 2] },
}

/// One independent motion.
#[derive(Clone, Debug)]
pub struct Mechanism {
    /// The joints that move, ascending.
    pub moving: Vec<JointId>,
    /// How they move, where that was worked out.
    pub motion: Option<Motion>,
    /// What would stop it, verified.
    pub cure: Option<Cure>,
    /// A hinge which, left out, would stop it, verified.
    pub hinge: Option<JointId>,
    /// A joint which, placed almost anywhere else, would stop it, verified;
    /// looked for where the layout is special.
    pub place: Option<JointId>,
    /// The direction, a unit vector, along which a small move of that joint does not help: to first order the
    /// motion and the state of self-stress stay.
    pub idle_way: Option<[f64; 2]>,
}

/// Members and reactions that share one redundancy.
#[derive(Clone, Debug)]
pub struct Redundancy {
    /// Any one of them can be left out without loss.
    pub among: Vec<Unknown>,
    /// How many of the group are too many.
    pub degree: usize,
}

impl Verdict {
    /// Whether some joint has a rotation of its own: beams or clamped supports.
    pub const fn has_rotations(&self) -> bool {
        self.rank.rows > 2 * self.joints + self.idle
    }
}

/// The verdict on a structure.
pub fn find_verdict(structure: &Structure, equilibrium: &Equilibrium) -> Result<Verdict, NumericError> {
    let blocks = equilibrium.blocks();
    let rank = exact_rank(equilibrium, &blocks, SEED)?;
    let (mechanisms, redundancy) = (rank.row_deficiency(), rank.column_deficiency());
    let kind = match (mechanisms, redundancy) {
        (0, 0) => VerdictKind::Determinate,
        (0, _) => VerdictKind::Indeterminate,
        _ => VerdictKind::Unstable,
    };
    let idle = idle_turns(structure).len();
    let reactions: usize = structure.supports.iter().map(|support| support.components().count()).sum();
    let mut verdict = Verdict {
        kind,
        members: structure.members.len(),
        reactions: reactions.saturating_sub(idle),
        idle,
        joints: structure.joints.len(),
        mechanisms,
        redundancy,
        support_fault: None,
        support_cure: None,
        motions: Vec::new(),
        redundancies: redundancies(equilibrium, &rank.column_groups),
        special: Special::No,
        rank,
    };
    if mechanisms > 0 {
        // Columns that are all independent are so almost anywhere else.
        if redundancy > 0 {
            let generic = exact_rank_only(&Generic(equilibrium), &blocks, SEED)?;
            if generic > verdict.rank.rank {
                verdict.special = Special::FewerElsewhere(generic - verdict.rank.rank);
            }
        }
        explain_motion(structure, equilibrium, &mut verdict)?;
    }
    Ok(verdict)
}

fn redundancies(equilibrium: &Equilibrium, groups: &[Group]) -> Vec<Redundancy> {
    let unknowns = |columns: &[u32]| columns.iter().map(|column| equilibrium.unknowns[*column as usize]).collect();
    let told = groups.iter().take(MOST_REDUNDANCIES);
    told.map(|group| Redundancy { among: unknowns(&group.members), degree: group.degree }).collect()
}

/// Tells motions of the whole from motions of parts, and works out both.
fn explain_motion(structure: &Structure, equilibrium: &Equilibrium, verdict: &mut Verdict) -> Result<(), NumericError> {
    let (held, mut extra) = held_as_one_piece(structure, equilibrium);
    if held < 3 && !structure.joints.is_empty() {
        verdict.support_fault = support_fault(structure, equilibrium, held);
        verdict.support_cure = support_cure(structure, equilibrium, verdict.rank.rank)?;
    } else {
        extra.clear();
    }
    // With the piece held, what still moves moves within it.
    let restrained = equilibrium.with(&extra);
    let second;
    let rank = if extra.is_empty() {
        &verdict.rank
    } else {
        second = exact_rank(&restrained, &restrained.blocks(), SEED)?;
        &second
    };
    let mut motions = told_motions(structure, &restrained, rank)?;
    if motions.len() > 1 && motions.len() == rank.row_deficiency() {
        tell_apart(structure, &restrained, &mut motions)?;
    }
    if extra.is_empty() && structure.joints.len() <= MOST_PLACED {
        for mechanism in &mut motions {
            if verdict.special != Special::No {
                mechanism.place = find_place(structure, verdict.rank.rank, &mechanism.moving)?;
                let place = mechanism.place.filter(|_| !verdict.has_rotations());
                mechanism.idle_way = place
                    .zip(mechanism.motion.as_ref())
                    .and_then(|(place, motion)| idle_way(equilibrium, &verdict.rank, place, motion));
            }
            mechanism.hinge = find_hinge(structure, verdict.mechanisms, &mechanism.moving)?;
        }
    }
    verdict.motions = motions;
    Ok(())
}

/// The motions that are told, those of fewest joints first, each with what
/// would stop it when those before it are stopped.
///
/// Such a cure needs no further proof. Each motion is exactly one of the matrix,
/// freed of what the cures before it stop, and its own cure strains it: so the
/// strains of the motions by the cures are a triangle without a zero on its
/// diagonal, and with all cures in place the rank is higher by one for each.
fn told_motions(structure: &Structure, restrained: &Equilibrium, rank: &Rank) -> Result<Vec<Mechanism>, NumericError> {
    let mut sets: Vec<(Vec<u32>, Option<Vec<Prime>>)> = Vec::new();
    for group in &rank.row_groups {
        sets.extend(group.sets.iter().map(|set| (set.clone(), rank.residues_of(group))));
        if group.sets.is_empty() {
            let basis = null_basis(restrained, &group.members, MOST_MECHANISMS, SEED)?;
            sets.extend(basis.into_iter().map(|residues| support_of(&group.members, residues)));
        }
    }
    sets.sort_by_key(|(rows, _)| (rows.len(), rows.first().copied()));
    // Motions of very many rows are not worked out in floating point.
    let is_small = |(rows, _): &(Vec<u32>, Option<Vec<Prime>>)| rows.len() <= MOST_ROWS;
    let matrix = if sets.iter().take(MOST_MECHANISMS).any(is_small) { Some(restrained.floating()?) } else { None };
    let neighbours = Neighbours::of(structure);
    let mut motions = Vec::new();
    let mut stopped: Vec<(ExactMotion, Restraint)> = Vec::new();
    for (rows, residues) in sets.into_iter().take(MOST_MECHANISMS) {
        let mut moving: Vec<JointId> = rows.iter().map(|row| restrained.rows.joint_of(*row).0).collect();
        moving.sort_unstable();
        moving.dedup();
        let motion = matrix.as_ref().and_then(|matrix| motion_of(restrained, matrix, &rows));
        let residues = residues.or_else(|| null_residues(restrained, &rows, SEED).ok());
        let exact = residues.map(|residues| {
            let mut exact = ExactMotion::of(restrained, &rows, &residues);
            stopped.iter().for_each(|(other, restraint)| exact.held_by(restrained, other, restraint));
            exact
        });
        let cure = exact.as_ref().and_then(|exact| {
            let moves = Moves { moving: &moving, motion: motion.as_ref(), exact };
            let cure = find_cure(structure, restrained, &neighbours, moves);
            cure.filter(|cure| !exact.strain(restrained, &cure.restraint()).is_zero())
        });
        if let (Some(exact), Some(cure)) = (exact, &cure) {
            stopped.push((exact, cure.restraint()));
        }
        motions.push(Mechanism { moving, motion, cure, hinge: None, place: None, idle_way: None });
    }
    Ok(motions)
}

/// Each of several motions with all the others stopped by their cures, where fewer parts move then: that of two
/// open panels is a motion of one panel each.
fn tell_apart(structure: &Structure, restrained: &Equilibrium, motions: &mut [Mechanism]) -> Result<(), NumericError> {
    let cures: Vec<Restraint> = motions.iter().filter_map(|told| told.cure.as_ref().map(Cure::restraint)).collect();
    if cures.len() != motions.len() || structure.joints.len() > MOST_PLACED {
        return Ok(());
    }
    for (own, told) in motions.iter_mut().enumerate() {
        let parts = told.motion.as_ref().map_or(0, |motion| motion.parts.len());
        if parts <= 2 {
            continue;
        }
        let others = cures.iter().enumerate().filter(|(index, _)| *index != own);
        let held = restrained.with(&others.map(|(_, cure)| cure.clone()).collect::<Vec<_>>());
        let rank = exact_rank(&held, &held.blocks(), SEED)?;
        let [Group { members: rows, degree: 1, .. }] = rank.row_groups.as_slice() else { continue };
        let Some(motion) = motion_of(&held, &held.floating()?, rows) else { continue };
        if motion.parts.len() < parts {
            told.moving = rows.iter().map(|row| held.rows.joint_of(*row).0).collect();
            told.moving.dedup();
            told.motion = Some(motion);
        }
    }
    Ok(())
}

/// With one motion v and one state of self-stress, of forces s, a joint moved by d leaves both where the sum of
/// s / L · (v of the other end − v of the joint) over its bars, of lengths L, is square to d.
fn idle_way(equilibrium: &Equilibrium, rank: &Rank, joint: JointId, motion: &Motion) -> Option<[f64; 2]> {
    let [Group { members: columns, degree: 1, .. }] = rank.column_groups.as_slice() else { return None };
    let stress = null_direction(&equilibrium.floating().ok()?.transpose(), columns).ok()?;
    let mut sum = [0.0; 2];
    for (column, force) in columns.iter().zip(stress) {
        let Some(Restraint::Bar(a, b)) = equilibrium.columns().get(*column as usize) else { continue };
        let other = match (*a == joint, *b == joint) {
            (true, _) => *b,
            (_, true) => *a,
            _ => continue,
        };
        let [dx, dy] = equilibrium.points().difference(joint, other);
        let density = force / dx.hypot(dy);
        let ([ax, ay], [bx, by]) = (motion.of(joint), motion.of(other));
        sum = [sum[0] + density * (bx - ax), sum[1] + density * (by - ay)];
    }
    let size = sum[0].hypot(sum[1]);
    (size > SAME).then(|| [-sum[1] / size, sum[0] / size])
}

/// The rows at which a vector is not zero, with what it is there.
fn support_of(rows: &[u32], residues: Vec<Prime>) -> (Vec<u32>, Option<Vec<Prime>>) {
    let of = rows.iter().copied().zip(residues).filter(|(_, residue)| !residue.is_zero());
    let (rows, residues) = of.unzip();
    (rows, Some(residues))
}

/// A hinge among the moving joints which, left out, would leave fewer motions.
fn find_hinge(structure: &Structure, mechanisms: usize, moving: &[JointId]) -> Result<Option<JointId>, NumericError> {
    const MOST_TRIED: usize = 8;
    let freed = |joint: JointId| {
        let ends = |member: &crate::structure::Member| {
            let [start, end] = member.hinged;
            (start && member.start == joint) || (end && member.end == joint)
        };
        structure.hinges.iter().any(|(hinge, _)| *hinge == joint) || structure.members.iter().any(ends)
    };
    // The moving joints first, then those they hang on.
    let mut tried: Vec<JointId> = moving.to_vec();
    for member in &structure.members {
        for (joint, other) in [(member.start, member.end), (member.end, member.start)] {
            if moving.binary_search(&joint).is_ok() && !tried.contains(&other) {
                tried.push(other);
            }
        }
    }
    for joint in tried.into_iter().filter(|joint| freed(*joint)).take(MOST_TRIED) {
        let mut rigid = structure.clone();
        rigid.hinges.retain(|(hinge, _)| *hinge != joint);
        for member in &mut rigid.members {
            let [start, end] = &mut member.hinged;
            *start &= member.start != joint;
            *end &= member.end != joint;
        }
        let equilibrium = Equilibrium::of(&rigid);
        let rank = exact_rank_only(&equilibrium, &equilibrium.blocks(), SEED)?;
        if equilibrium.rows.len() - rank < mechanisms {
            return Ok(Some(joint));
        }
    }
    Ok(None)
}

/// A joint which, placed elsewhere, would leave one motion fewer: one that
/// moves, or one next to those.
fn find_place(structure: &Structure, rank: usize, moving: &[JointId]) -> Result<Option<JointId>, NumericError> {
    const MOST_TRIED: usize = 6;
    // Of no special angle, and exact in binary.
    const SHIFT: [f64; 2] = [0.34375, 0.59375];
    let is_moving = |joint: &JointId| moving.binary_search(joint).is_ok();
    let (free, held): (Vec<JointId>, Vec<JointId>) =
        moving.iter().partition(|joint| structure.support_at(**joint).is_none());
    let mut near = Vec::new();
    let mut size = 1.0_f64;
    for (index, member) in structure.members.iter().enumerate() {
        let ends = [member.start, member.end];
        if ends.iter().any(is_moving) {
            size = size.max(structure.member_length(MemberId::new(index)));
            near.extend(ends.into_iter().filter(|joint| !is_moving(joint)));
        }
    }
    near.sort_unstable();
    near.dedup();
    let tried = free.into_iter().take(MOST_TRIED).chain(held.into_iter().take(MOST_TRIED));
    for joint in tried.chain(near.into_iter().take(MOST_TRIED)) {
        let mut other = structure.clone();
        let at = &mut other.joints[joint];
        let [dx, dy] = SHIFT.map(|part| Number::from_f64(part * size));
        (at.x, at.y) = (at.x.plus(&dx), at.y.plus(&dy));
        let placed = Equilibrium::of(&other);
        if exact_rank_only(&placed, &placed.blocks(), SEED)? > rank {
            return Ok(Some(joint));
        }
    }
    Ok(None)
}

/// The reactions as forces on one rigid piece: the exact rank of their Fx, Fy
/// and M (at most 3), and restraints that would raise it to 3.
fn held_as_one_piece(structure: &Structure, equilibrium: &Equilibrium) -> (usize, Vec<Restraint>) {
    let mut basis: Vec<[Prime; 3]> = Vec::new();
    for column in equilibrium.columns() {
        let row = match column {
            Restraint::Line(joint, direction) => wrench(structure, *joint, direction),
            Restraint::Turn(_) => Some([Prime::ZERO, Prime::ZERO, Prime::ONE]),
            Restraint::Bar(..) | Restraint::Moment(..) => None,
        };
        if let Some(row) = row {
            insert(&mut basis, row);
        }
    }
    let held = basis.len();
    let axis = |x, y| [Number::from_integer(x), Number::from_integer(y)];
    let mut extra = Vec::new();
    for joint in structure.joints.ids() {
        for direction in [axis(1, 0), axis(0, 1)] {
            if basis.len() == 3 {
                return (held, extra);
            }
            if let Some(row) = wrench(structure, joint, &direction)
                && insert(&mut basis, row)
            {
                extra.push(Restraint::Line(joint, Box::new(direction)));
            }
        }
    }
    (held, extra)
}

/// Fx, Fy and M about the origin of a line of force, exactly.
fn wrench(structure: &Structure, joint: JointId, [fx, fy]: &[Number; 2]) -> Option<[Prime; 3]> {
    let joint = &structure.joints[joint];
    let (x, y) = (in_field::<Prime>(&joint.x)?, in_field::<Prime>(&joint.y)?);
    let (fx, fy) = (in_field::<Prime>(fx)?, in_field::<Prime>(fy)?);
    Some([fx, fy, x.mul(fy).sub(y.mul(fx))])
}

/// Adds a vector to a basis in echelon form, if it is independent.
fn insert(basis: &mut Vec<[Prime; 3]>, mut row: [Prime; 3]) -> bool {
    for known in basis.iter() {
        let Some(lead) = known.iter().position(|entry| !entry.is_zero()) else { continue };
        if let (Some(factor), Some(pivot)) = (row.get(lead).copied(), known.get(lead).and_then(|p| p.inverse())) {
            let factor = factor.mul(pivot);
            for (entry, known) in row.iter_mut().zip(known) {
                *entry = entry.sub(factor.mul(*known));
            }
        }
    }
    let independent = row.iter().any(|entry| !entry.is_zero());
    if independent {
        basis.push(row);
        basis.sort_by_key(|row| row.iter().position(|entry| !entry.is_zero()));
    }
    independent
}

/// What is wrong with the supports but for rounding: all reactions through one
/// point, or all parallel.
pub fn nearly_at_fault(structure: &Structure, equilibrium: &Equilibrium) -> Option<SupportFault> {
    let lines = reaction_lines(structure, equilibrium);
    let turns = equilibrium.columns().iter().any(|column| matches!(column, Restraint::Turn(_)));
    if turns || lines.len() < 3 {
        return None;
    }
    if let Some([x, y]) = meeting_point(&lines) {
        let size = lines.iter().map(|([ax, ay], _)| (ax - x).hypot(ay - y)).fold(0.0_f64, f64::max);
        let is_off = |([ax, ay], [ux, uy]): &([f64; 2], [f64; 2])| ((x - ax) * uy - (y - ay) * ux).abs() > SAME * size;
        if lines.iter().any(is_off) {
            return None;
        }
    }
    support_fault(structure, equilibrium, 2)
}

/// The line of each reaction: a point of it in metres, and its direction as a
/// unit vector.
fn reaction_lines(structure: &Structure, equilibrium: &Equilibrium) -> Vec<([f64; 2], [f64; 2])> {
    let columns = equilibrium.columns().iter();
    columns
        .filter_map(|column| match column {
            Restraint::Line(joint, line) => Some((structure.point(*joint), unit(line))),
            _ => None,
        })
        .collect()
}

/// Puts the supports' fault into geometry.
fn support_fault(structure: &Structure, equilibrium: &Equilibrium, held: usize) -> Option<SupportFault> {
    let lines = reaction_lines(structure, equilibrium);
    let turns = equilibrium.columns().iter().filter(|column| matches!(column, Restraint::Turn(_))).count();
    let reactions = lines.len() + turns;
    if reactions == 0 {
        return Some(SupportFault::None);
    }
    let meeting = meeting_point(&lines);
    if reactions < 3 {
        let free = match (held, meeting) {
            (2, Some(about)) => Freedom::Turns { about },
            (2, None) => lines.first().map_or(Freedom::All, |(_, [x, y])| Freedom::Slides { along: [-y, *x] }),
            _ => Freedom::All,
        };
        return Some(SupportFault::TooFew { reactions, free });
    }
    match meeting {
        Some(point) => {
            let pinned = structure.supports.iter().find(|support| support.is_pin()).map(|support| support.joint);
            let joint = pinned.filter(|joint| structure.point(*joint) == point);
            Some(SupportFault::Concurrent { point, joint })
        }
        None => lines.first().map(|(_, direction)| SupportFault::Parallel { direction: *direction }),
    }
}

/// A roller that would do as a pin, or a roller more, if the rank then rises
/// and with it the whole piece is held.
fn support_cure(structure: &Structure, equilibrium: &Equilibrium, rank: usize) -> Result<Option<Cure>, NumericError> {
    const MOST_TRIED: usize = 8;
    let rollers = structure.supports.iter().filter_map(|support| {
        let [x, y] = support.roller()?;
        Some(Cure::RollerToPin { joint: support.joint, along: [y.negated(), x.clone()] })
    });
    // The free joint farthest from the first support is the likeliest new place.
    let from = structure.supports.first().map_or(JointId(0), |support| support.joint);
    let free = structure.joints.ids().filter(|joint| structure.support_at(*joint).is_none());
    let distance = |joint: JointId| {
        let [dx, dy] = equilibrium.points().difference(from, joint);
        // Of two equally far, the lower one.
        (dx.abs(), -dy)
    };
    let far = free.max_by(|a, b| {
        let ((ax, ay), (bx, by)) = (distance(*a), distance(*b));
        ax.total_cmp(&bx).then(ay.total_cmp(&by)).then(b.cmp(a))
    });
    let upright = [Number::ZERO, Number::ONE];
    if let Some(cure) = turned_roller(structure, rank)? {
        return Ok(Some(cure));
    }
    let extra = far.map(|joint| Cure::Roller { joint, along: upright });
    for cure in rollers.take(MOST_TRIED).chain(extra) {
        if holds_with(structure, &equilibrium.with(&[cure.restraint()]), rank)? {
            return Ok(Some(cure));
        }
    }
    Ok(None)
}

/// Whether the whole piece is held in a tried structure, and the rank has risen by one.
fn holds_with(structure: &Structure, tried: &Equilibrium, rank: usize) -> Result<bool, NumericError> {
    let (held, _) = held_as_one_piece(structure, tried);
    Ok(held == 3 && exact_rank_only(tried, &tried.blocks(), SEED)? == rank + 1)
}

/// Where there are reactions enough, a roller that pushes another way.
fn turned_roller(structure: &Structure, rank: usize) -> Result<Option<Cure>, NumericError> {
    const LEAST_REACTIONS: usize = 3;
    const MOST_TRIED: usize = 4;
    let reactions: usize = structure.supports.iter().map(|support| support.components().count()).sum();
    if reactions < LEAST_REACTIONS || structure.joints.len() > MOST_PLACED {
        return Ok(None);
    }
    let rollers = structure.supports.entries().filter(|(_, support)| support.roller().is_some());
    for (id, support) in rollers.take(MOST_TRIED) {
        for along in [[Number::ZERO, Number::ONE], [Number::ONE, Number::ZERO]] {
            let mut other = structure.clone();
            other.supports[id].held.line = Some(along.clone());
            if holds_with(&other, &Equilibrium::of(&other), rank)? {
                return Ok(Some(Cure::TurnedRoller { joint: support.joint, along }));
            }
        }
    }
    Ok(None)
}

/// Where the first two lines that are not parallel meet.
fn meeting_point(lines: &[([f64; 2], [f64; 2])]) -> Option<[f64; 2]> {
    let ([ax, ay], [ux, uy]) = *lines.first()?;
    let across = |[vx, vy]: [f64; 2]| ux * vy - uy * vx;
    let ([bx, by], [vx, vy]) = *lines.iter().max_by(|(_, a), (_, b)| across(*a).abs().total_cmp(&across(*b).abs()))?;
    let cross = across([vx, vy]);
    // Of directions of length one.
    if cross.abs() < ROUNDED {
        return None;
    }
    // A joint shared by the two lines is the point itself, to the last bit.
    if ax == bx && ay == by {
        return Some([ax, ay]);
    }
    let along = ((bx - ax) * vy - (by - ay) * vx) / cross;
    Some([ax + along * ux, ay + along * uy])
}

/// The supports a redundancy depends on and the members, apart.
pub fn split(unknowns: &[Unknown]) -> (Vec<crate::base::MemberId>, Vec<SupportId>) {
    let mut members = Vec::new();
    let mut supports = Vec::new();
    for unknown in unknowns {
        match unknown {
            Unknown::Axial(member) | Unknown::EndMoment(member, _) => {
                if members.last() != Some(member) {
                    members.push(*member);
                }
            }
            Unknown::Reaction(support, _) => {
                if supports.last() != Some(support) {
                    supports.push(*support);
                }
            }
        }
    }
    (members, supports)
}

/// As many forces of a stable structure's redundancy as it has too many, such
/// that without them the rank is what it was. `None` where none were found.
pub fn releases(
    structure: &Structure,
    equilibrium: &Equilibrium,
    verdict: &Verdict,
    redundancy: &Redundancy,
) -> Option<Vec<Unknown>> {
    // Larger structures are not tried, nor more of a redundancy's forces; more at once are no advice.
    const MOST_TRIED_ROWS: usize = 2_000;
    const MOST_TRIED: usize = 24;
    const MOST_FREED: usize = 6;
    if verdict.mechanisms > 0 || equilibrium.rows.len() > MOST_TRIED_ROWS || redundancy.degree > MOST_FREED {
        return None;
    }
    let rank_of = |unknown: &Unknown| match unknown {
        // A hinge at a support leaves the fewest members changed.
        Unknown::EndMoment(member, end) => {
            Some(u8::from(structure.support_at(end.joint(&structure.members[*member])).is_none()))
        }
        Unknown::Reaction(support, component) => {
            let is_pin = structure.supports[*support].is_pin();
            match component {
                Component::X if is_pin => Some(2),
                Component::Y if is_pin => Some(3),
                _ => None,
            }
        }
        Unknown::Axial(_) => None,
    };
    let mut candidates: Vec<(u8, Unknown)> =
        redundancy.among.iter().filter_map(|unknown| Some((rank_of(unknown)?, *unknown))).collect();
    candidates.sort_by_key(|(rank, _)| *rank);
    let blocks = equilibrium.blocks();
    let mut freed: Vec<Unknown> = Vec::new();
    for (_, candidate) in candidates.into_iter().take(MOST_TRIED) {
        if freed.len() == redundancy.degree {
            break;
        }
        let is_kept = |index: usize| {
            equilibrium.unknowns.get(index).is_some_and(|unknown| *unknown != candidate && !freed.contains(unknown))
        };
        let rank = exact_rank_only(&equilibrium.only(is_kept), &blocks, SEED).ok()?;
        if rank == verdict.rank.rank {
            freed.push(candidate);
        }
    }
    (freed.len() == redundancy.degree).then_some(freed)
}
