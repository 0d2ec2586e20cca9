//! Findings about places: joints on one spot, members through joints they do
//! not use, members that cross, joints that nothing meets.
//!
//! Must not know: equilibrium beyond exact positions.

use crate::base::tolerances::SAME;
use crate::base::{IdVec, JointId, Lists, MemberId, Origin};
use crate::diagnostic::{Cure, CureKind, Diagnostic, Slug};
use crate::statics::equilibrium::Points;
use crate::structure::{Member, Structure};

use super::words;

/// Pairs of members near each other that are looked at before the search for
/// crossings, or for members through joints, stops.
pub const MOST_PAIRS: usize = 100_000_000;
/// Crossings found before the search for more stops.
const MOST_CROSSINGS: usize = 100_000;
/// Of a cell, how far beyond its edge a segment counts as in it.
const SLACK: f64 = 1e-6;
/// Findings of one kind that are listed one by one.
const MOST_TOLD: usize = 20;
/// Places of one finding that get a label of their own.
const MOST_LABELS: usize = 4;

pub fn check_geometry(structure: &Structure, points: &Points) -> Vec<Diagnostic> {
    let groups = coinciding(structure, points);
    let mut found: Vec<Diagnostic> =
        groups.iter().filter_map(|group| coincident_words(structure, points, group)).collect();
    let mut told: Vec<JointId> = groups.into_iter().flatten().collect();
    told.sort_unstable();
    found.extend(loose_joints(structure, &told));
    let at = structure.joints.ids().map(|joint| points.at(joint)).collect();
    let grid = Grid::of(structure, &at);
    let search = Search { structure, points, at, grid };
    found.extend(search.passages());
    found.extend(search.crossings());
    found
}

/// Joints at one place, one finding a group.
pub fn coincident_joints(structure: &Structure, points: &Points) -> Vec<Diagnostic> {
    coinciding(structure, points).iter().filter_map(|group| coincident_words(structure, points, group)).collect()
}

/// Groups of joints at one place.
fn coinciding(structure: &Structure, points: &Points) -> Vec<Vec<JointId>> {
    let bits = |joint| points.at(joint).map(|part| (part + 0.0).to_bits());
    let mut by_place: Vec<([u64; 2], JointId)> = structure.joints.ids().map(|joint| (bits(joint), joint)).collect();
    by_place.sort_unstable();
    let groups = by_place.chunk_by(|(_, a), (_, b)| points.coincide(*a, *b)).filter(|group| group.len() > 1);
    let mut groups: Vec<Vec<JointId>> =
        groups.map(|group| group.iter().map(|(_, joint)| *joint).collect()).take(MOST_TOLD).collect();
    groups.sort_unstable();
    groups
}

fn coincident_words(structure: &Structure, points: &Points, group: &[JointId]) -> Option<Diagnostic> {
    // As the reader meets them: the first stands, the others repeat its place.
    let mut placed: Vec<(Origin, JointId)> =
        group.iter().map(|joint| (structure.joints[*joint].origin, *joint)).collect();
    placed.sort_unstable();
    let ((first_at, first), repeats) = placed.split_first()?;
    let place = words::point(structure, points.at(*first));
    let (first, names) = (structure.joint_name(*first), words::joints(structure, group));
    let mut diagnostic =
        Diagnostic::new(Slug::CoincidentJoints, format!("joints {names} are at the same place, {place}"));
    let unused = unused_among(structure, group);
    for (at, joint) in repeats.iter().take(MOST_LABELS) {
        let unused = if unused == Some(*joint) { ", and in no member" } else { "" };
        diagnostic = diagnostic.label(*at, format!("{} is where {first} is{unused}", structure.joint_name(*joint)));
    }
    diagnostic = diagnostic
        .label(*first_at, format!("{first} is here first"))
        .why("Joints at one place are not joined to each other: forces do not pass between them.");
    if let [a, b] = group
        && let Some((member, _)) = structure.find_member(*a, *b)
    {
        let name = structure.member_name(member);
        diagnostic = diagnostic.why(format!("Member {name} between them has no length, so it has no direction."));
    }
    if let Some(unused) = unused {
        let unused = structure.joint_name(unused);
        return Some(diagnostic.help(format!("leave out {unused}, which is in no member, or move it")));
    }
    Some(diagnostic.help(match group {
        [_, _] => "use one of the two names throughout, or move one of the joints",
        _ => "use one of the names throughout, or move the other joints",
    }))
}

/// The one of two joints at one place that is in no member, if the other is in one.
fn unused_among(structure: &Structure, group: &[JointId]) -> Option<JointId> {
    let [a, b] = group else { return None };
    let is_met = |joint: &JointId| structure.members.iter().any(|m| m.start == *joint || m.end == *joint);
    match (is_met(a), is_met(b)) {
        (true, false) => Some(*b),
        (false, true) => Some(*a),
        _ => None,
    }
}

/// Whether some member joins two joints at one place.
pub fn has_members_of_no_length(structure: &Structure, points: &Points) -> bool {
    structure.members.iter().any(|member| points.coincide(member.start, member.end))
}

/// The joints in no member.
pub fn loose(structure: &Structure) -> Vec<JointId> {
    let mut met = IdVec::filled(&structure.joints, false);
    for member in &structure.members {
        met[member.start] = true;
        met[member.end] = true;
    }
    met.entries().filter(|(_, met)| !**met).map(|(joint, _)| joint).collect()
}

/// Joints in no member, but for those already told of (in their order): an
/// error where nothing holds them either.
fn loose_joints(structure: &Structure, told: &[JointId]) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let untold = |joint: &JointId| told.binary_search(joint).is_err();
    for joint in loose(structure).into_iter().filter(untold).take(MOST_TOLD) {
        let name = structure.joint_name(joint);
        let mut diagnostic = Diagnostic::new(Slug::LooseJoint, format!("joint {name} is in no member"))
            .label(structure.joints[joint].origin, "no bar, cable or beam ends here")
            .why("A joint that no member meets carries nothing and is held by nothing but its own support.")
            .help(format!("give {name} its members, or leave it out (a point without members can be a `let`)"));
        if let Some(load) = first_load(structure, joint) {
            diagnostic = diagnostic.label(load, format!("this load on {name} has nowhere to go"));
        }
        found.push(diagnostic);
    }
    found
}

fn first_load(structure: &Structure, at: JointId) -> Option<Origin> {
    let loads = structure.cases.iter().flat_map(|case| &case.loads);
    let on = |load: &&crate::structure::Load| load.kind.force_on_joint().is_some_and(|(joint, _)| joint == at);
    loads.into_iter().find(on).map(|load| load.origin)
}

/// Members by the cells of a square grid they pass through.
struct Grid {
    cell: f64,
    buckets: Buckets,
    members: Lists<MemberId>,
}

impl Grid {
    fn of(structure: &Structure, at: &IdVec<JointId, [f64; 2]>) -> Grid {
        let count = structure.members.len().max(1);
        let ends = |member: &Member| [at[member.start], at[member.end]];
        let lengths = structure.members.iter().map(|member| {
            let [[ax, ay], [bx, by]] = ends(member);
            ((bx - ax).powi(2) + (by - ay).powi(2)).sqrt()
        });
        #[allow(clippy::cast_precision_loss)]
        let mean = lengths.sum::<f64>() / count as f64;
        // With cells as long as a member all members together pass a few cells each.
        let cell = if mean > 0.0 && mean.is_finite() { mean } else { 1.0 };
        let (buckets, bucket_count) = Buckets::of(at, cell, count);
        let mut passed = Vec::new();
        for (id, member) in structure.members.entries() {
            cells(ends(member), cell, |place| passed.push((buckets.bucket(place), id)));
        }
        Grid { cell, buckets, members: Lists::of(bucket_count, || passed.iter().copied()) }
    }

    fn at(&self, point: [f64; 2]) -> &[MemberId] {
        self.members.list(self.buckets.bucket(key(point, self.cell)))
    }

    fn buckets(&self) -> impl Iterator<Item = &[MemberId]> {
        (0..self.members.len()).map(|bucket| self.members.list(bucket))
    }
}

/// Which bucket a cell is in.
#[derive(Clone, Copy)]
enum Buckets {
    /// One for each cell, row by row from the first cell: neighbours stay near.
    Rows { first: (i64, i64), width: i64 },
    /// As many as this power of two, where most cells are empty. Cells share a
    /// bucket where their numbers fall together, which costs a look and no more.
    Spread { bits: u32 },
}

impl Buckets {
    /// The buckets for the cells of these places, and how many they are.
    fn of(at: &IdVec<JointId, [f64; 2]>, cell: f64, members: usize) -> (Buckets, usize) {
        let ends = |part: fn((i64, i64)) -> i64| {
            let keys = || at.iter().map(|place| part(key(*place, cell)));
            Some((keys().min()?, keys().max()?))
        };
        let rows = ends(|(x, _)| x).zip(ends(|(_, y)| y)).and_then(|((left, right), (low, high))| {
            // A margin of one cell, for what lies on an edge.
            let width = right.checked_sub(left)?.checked_add(3)?;
            let count = usize::try_from(high.checked_sub(low)?.checked_add(3)?.checked_mul(width)?).ok()?;
            (count <= 8 * members).then_some((Buckets::Rows { first: (left - 1, low - 1), width }, count))
        });
        let count = (2 * members).next_power_of_two();
        rows.unwrap_or((Buckets::Spread { bits: count.trailing_zeros() }, count))
    }

    #[allow(clippy::cast_sign_loss, clippy::cast_possible_truncation)]
    fn bucket(self, (x, y): (i64, i64)) -> usize {
        match self {
            Buckets::Rows { first: (left, low), width } => ((y - low) * width + (x - left)) as usize,
            // Fibonacci hashing (Knuth vol. 3, section 6.4).
            Buckets::Spread { bits } => {
                let mixed =
                    (x as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ (y as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
                (mixed.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> (64 - bits)) as usize
            }
        }
    }
}

#[allow(clippy::cast_possible_truncation)]
fn key([x, y]: [f64; 2], cell: f64) -> (i64, i64) {
    ((x / cell).floor() as i64, (y / cell).floor() as i64)
}

/// The cells a segment passes through, with their neighbours along its slope:
/// a few too many, never one too few. Cells are as long as the mean member, so
/// that all members together pass no more than a few each, however long one is.
fn cells([a, b]: [[f64; 2]; 2], cell: f64, mut put: impl FnMut((i64, i64))) {
    let ((ax, _), (bx, _)) = (key(a, cell), key(b, cell));
    let (x0, x1) = (ax.min(bx), ax.max(bx));
    for x in x0..=x1 {
        // The part of the segment over this column of cells.
        #[allow(clippy::cast_precision_loss)]
        let edge = |at: i64| {
            let share = if a[0] == b[0] { 0.0 } else { ((at as f64 * cell - a[0]) / (b[0] - a[0])).clamp(0.0, 1.0) };
            a[1] + share * (b[1] - a[1])
        };
        let (y0, y1) = if x0 == x1 { (a[1], b[1]) } else { (edge(x), edge(x + 1)) };
        let slack = cell * SLACK;
        let (_, low) = key([0.0, y0.min(y1) - slack], cell);
        let (_, high) = key([0.0, y0.max(y1) + slack], cell);
        (low..=high).for_each(|y| put((x, y)));
    }
}

/// What lies across what.
struct Search<'a> {
    structure: &'a Structure,
    points: &'a Points,
    /// The joints' positions in metres, for a first look.
    at: IdVec<JointId, [f64; 2]>,
    grid: Grid,
}

impl Search<'_> {
    /// Members that run through joints they do not use, one finding a member.
    fn passages(&self) -> Vec<Diagnostic> {
        let mut passed: Vec<(MemberId, JointId)> = Vec::new();
        let mut looked = 0;
        let mut extent = Extent::Whole;
        for (joint, at) in self.at.entries() {
            let near = self.grid.at(*at);
            looked += near.len();
            if looked > MOST_PAIRS || passed.len() > MOST_CROSSINGS {
                extent = Extent::Stopped;
                break;
            }
            let through = near.iter().filter(|id| self.passes(&self.structure.members[**id], joint));
            passed.extend(through.map(|id| (*id, joint)));
        }
        // A member may pass two cells that share a bucket.
        passed.sort_unstable();
        passed.dedup();
        let total = passed.chunk_by(|a, b| a.0 == b.0).count();
        let each = passed.chunk_by(|a, b| a.0 == b.0).take(MOST_TOLD);
        let mut found: Vec<Diagnostic> = each.filter_map(|group| Some(self.passage(group.first()?.0, group))).collect();
        if let Some(last) = found.pop() {
            let untold = total.saturating_sub(MOST_TOLD);
            found.push(match untold {
                0 => last,
                1 => last.why("One more member runs through joints without using them."),
                more => last.why(format!("{} more members run through joints without using them.", words::count(more))),
            });
        }
        if extent == Extent::Stopped {
            found.push(search_stopped(self.structure, Slug::RunsThroughJoint, "joints that members run through"));
        }
        found
    }

    /// One member and the joints it runs through.
    fn passage(&self, id: MemberId, group: &[(MemberId, JointId)]) -> Diagnostic {
        let from = self.at[self.structure.members[id].start];
        let away = |joint: &JointId| (self.at[*joint][0] - from[0]).hypot(self.at[*joint][1] - from[1]);
        let mut joints: Vec<JointId> = group.iter().map(|(_, joint)| *joint).collect();
        joints.sort_by(|a, b| away(a).total_cmp(&away(b)));
        passage_words(self.structure, id, &joints)
    }

    /// Whether a member goes through a joint that is none of its ends.
    fn passes(&self, member: &Member, joint: JointId) -> bool {
        let (a, b) = (member.start, member.end);
        if a == joint || b == joint || !overlap(self.box_of(member), [self.at[joint]; 2]) {
            return false;
        }
        lies_within(self.points, a, b, joint) && !self.points.coincide(a, joint) && !self.points.coincide(b, joint)
    }

    /// Members that cross where neither has a joint.
    fn crossings(&self) -> Vec<Diagnostic> {
        let mut pairs: Vec<(MemberId, MemberId)> = Vec::new();
        let mut looked = 0;
        for members in self.grid.buckets() {
            for (place, first) in members.iter().enumerate() {
                let a = &self.structure.members[*first];
                let around = self.box_of(a);
                for second in members.iter().skip(place + 1) {
                    let b = &self.structure.members[*second];
                    if overlap(around, self.box_of(b)) && self.cross(a, b) {
                        pairs.push((*first.min(second), *first.max(second)));
                    }
                }
                looked += members.len() - place;
                if looked > MOST_PAIRS || pairs.len() > MOST_CROSSINGS {
                    return crossing_words(self.structure, pairs, Extent::Stopped);
                }
            }
        }
        crossing_words(self.structure, pairs, Extent::Whole)
    }

    /// Exactly.
    fn cross(&self, a: &Member, b: &Member) -> bool {
        if [b.start, b.end].contains(&a.start) || [b.start, b.end].contains(&a.end) {
            return false;
        }
        let apart = |p: JointId, q: JointId, r: JointId, s: JointId| {
            let (left, right) = (self.points.turn(p, q, r), self.points.turn(p, q, s));
            left.is_ne() && right.is_ne() && left != right
        };
        apart(a.start, a.end, b.start, b.end) && apart(b.start, b.end, a.start, a.end)
    }

    /// Least and greatest coordinates.
    fn box_of(&self, member: &Member) -> [[f64; 2]; 2] {
        let ([ax, ay], [bx, by]) = (self.at[member.start], self.at[member.end]);
        [[ax.min(bx), ay.min(by)], [ax.max(bx), ay.max(by)]]
    }
}

/// Whether two boxes have a point in common. Rounding keeps the order of
/// coordinates, so that boxes apart hold members apart.
fn overlap([[ax, ay], [bx, by]]: [[f64; 2]; 2], [[cx, cy], [dx, dy]]: [[f64; 2]; 2]) -> bool {
    ax <= dx && cx <= bx && ay <= dy && cy <= by
}

/// Whether every pair was looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Extent {
    Whole,
    Stopped,
}

/// `joints` in the order in which the member comes to them.
fn passage_words(structure: &Structure, id: MemberId, joints: &[JointId]) -> Diagnostic {
    let member = &structure.members[id];
    let (whole, names) = (structure.member_name(id), words::joints(structure, joints));
    let (start, end) = (structure.joint_name(member.start), structure.joint_name(member.end));
    let (noun, them) = if joints.len() == 1 { ("joint", "it") } else { ("joints", "them") };
    let mut told = Diagnostic::new(
        Slug::RunsThroughJoint,
        format!("member {whole} runs through {noun} {names} without using {them}"),
    )
    .label(member.origin, format!("passes {names} and is not joined to {them}"));
    for joint in joints.iter().take(MOST_LABELS) {
        let name = structure.joint_name(*joint);
        told = told.label(structure.joints[*joint].origin, format!("{name} lies on the line from {start} to {end}"));
    }
    let told = told.why("Only the joints a member is named by are joined to it; a joint on its way is not.");
    if joints.len() > MOST_LABELS {
        return told.help("run the chain through the joints at which the member is meant to be joined");
    }
    let way: Vec<&str> = joints.iter().map(|joint| structure.joint_name(*joint)).collect();
    let text = format!("write `{start}-{}-{end}` in place of `{whole}` to join it at {names}", way.join("-"));
    let told = told.cure(Cure::new(CureKind::Join(vec![(id, joints.to_vec())]), text));
    told.cure(Cure::new(CureKind::Fallback, format!("look whether it is meant to be joined at {names}")))
}

/// So much lies close together that not every pair was looked at.
fn search_stopped(structure: &Structure, slug: Slug, what: &str) -> Diagnostic {
    let origin = structure.members.first().map_or_else(Origin::default, |member| member.origin);
    Diagnostic::new(slug, format!("the search for {what} stopped before its end"))
        .label(origin, "not every pair of members and joints was looked at")
        .why("So much lies close together that looking at every pair would take too long.")
        .help("check a part of the structure on its own")
}

/// Whether a joint is on the line between two others and between them. Exact
/// as to the line.
fn lies_within(points: &Points, a: JointId, b: JointId, joint: JointId) -> bool {
    let ([ux, uy], [vx, vy]) = (points.difference(a, b), points.difference(a, joint));
    let square = ux * ux + uy * uy;
    let share = (ux * vx + uy * vy) / square;
    (0.0..=1.0).contains(&share) && (ux * vy - uy * vx).abs() <= SAME * square && points.turn(a, b, joint).is_eq()
}

/// ` at (1.5, 1.5) m`
fn meeting_words(structure: &Structure, a: &Member, b: &Member) -> String {
    let at = |joint: JointId| [structure.joints[joint].x.to_f64(), structure.joints[joint].y.to_f64()];
    let ([px, py], [qx, qy], [rx, ry], [sx, sy]) = (at(a.start), at(a.end), at(b.start), at(b.end));
    let ([ux, uy], [vx, vy]) = ([qx - px, qy - py], [sx - rx, sy - ry]);
    let share = ((rx - px) * vy - (ry - py) * vx) / (ux * vy - uy * vx);
    format!(" at {}", words::point(structure, [px + share * ux, py + share * uy]))
}

fn crossing_words(structure: &Structure, mut pairs: Vec<(MemberId, MemberId)>, extent: Extent) -> Vec<Diagnostic> {
    pairs.sort_unstable();
    pairs.dedup();
    let total = pairs.len();
    let Some((first, second)) = pairs.first().copied() else {
        let stopped = || search_stopped(structure, Slug::CrossingMembers, "members that cross without a joint");
        return if extent == Extent::Stopped { vec![stopped()] } else { Vec::new() };
    };
    let [a, b] = [first, second].map(|id| structure.member_name(id));
    let (ma, mb) = (&structure.members[first], &structure.members[second]);
    let message = match total {
        1 => format!("members {a} and {b} cross without a joint"),
        _ => format!("{} pairs of members cross without a joint", words::count(total)),
    };
    let mut diagnostic = Diagnostic::new(Slug::CrossingMembers, message)
        .label(mb.origin, format!("{b} crosses {a}{}", meeting_words(structure, ma, mb)))
        .label(ma.origin, format!("{a} has no joint there"))
        .why("Members that cross without a joint pass each other freely: no force goes from one to the other.");
    if total > 1 {
        let others = pairs.iter().skip(1);
        let others = others.map(|(a, b)| format!("{} with {}", structure.member_name(*a), structure.member_name(*b)));
        diagnostic = diagnostic.why(format!("So do {}.", words::listed(total - 1, others)));
    }
    if extent == Extent::Stopped {
        diagnostic = diagnostic.why("There are so many that the search stopped here; there may be more.");
    }
    vec![diagnostic.help("if they are joined where they cross, declare a joint there and run both chains through it; if not, `allow crossing-members`")]
}
