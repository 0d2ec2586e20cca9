//! The words for one mechanism: what kind it is, how its joints move, what
//! would stop it; with beams, hinges too many or in a line.
//!
//! Must not know: loads; what holds the structure as one piece.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::tolerances::OF_MOTION;
use crate::base::{JointId, MemberId, Origin};
use crate::diagnostic::{Cure as DiagnosticCure, CureKind, Diagnostic, Label, Slug};
use crate::statics::equilibrium::Points;
use crate::statics::verdict::{VerdictKind, split};
use crate::statics::{Cure, Mechanism, Motion, Part, RigidMotion, Shape, Special, Verdict};
use crate::structure::Structure;
use crate::syntax::tree::{MemberKind, Turn};

use super::words;

/// Joints of one mechanism that get a label of their own.
const MOST_LABELS: usize = 4;
/// Joints named in a headline.
const MOST_NAMED: usize = 6;
/// Rigid parts listed one by one.
const MOST_PARTS: usize = 3;
/// A part of fewer joints is a single bar, told by its joints.
const LEAST_PART: usize = 3;

/// One mechanism as a finding. `count` is the count of equations and
/// unknowns, where it is to be told here.
pub fn mechanism_words(
    structure: &Structure,
    points: &Points,
    verdict: &Verdict,
    mechanism: &Mechanism,
    met: &FxHashMap<JointId, Vec<MemberId>>,
    count: Option<String>,
) -> Diagnostic {
    let displaced = displaced(mechanism);
    let kind = if verdict.has_rotations() {
        Kind::of_frame(structure, verdict, mechanism, &displaced)
    } else {
        Kind::of(structure, points, verdict, mechanism, &displaced, met)
    };
    let mut told = Diagnostic::new(kind.slug(), kind.headline(structure, mechanism, &displaced));
    told.labels = labels(structure, mechanism, &displaced, &kind);
    let told_all = told.labels.len() >= mechanism.moving.len();
    told.why.extend(kind.reason(structure, mechanism, &displaced, told_all));
    told.why.extend(count);
    if !verdict.has_rotations() && is_special(verdict, mechanism) {
        told.why.push(special_words(structure, verdict, &kind));
    }
    if let Some(joint) = mechanism.place {
        let text = kind.place_help(structure, joint, mechanism.idle_way);
        told = told.cure(DiagnosticCure::new(CureKind::Move(joint), text));
    }
    if let Some(hinge) = mechanism.hinge {
        let text = format!("leave out the hinge at {}", structure.joint_name(hinge));
        told = told.cure(DiagnosticCure::new(CureKind::LeaveOutHinge(hinge), text));
    }
    if let Some(cure) = &mechanism.cure {
        told = told.cure(words::cure(structure, cure));
    }
    told.cure(DiagnosticCure::new(
        CureKind::Fallback,
        match verdict.has_rotations() {
            true => "clamp a support, take out a hinge, or brace the moving joints against those that stand still",
            false => "brace the moving joints against those that stand still, or support them",
        },
    ))
}

enum Kind {
    Dangling(JointId, MemberId),
    /// All that holds the joint acts along one line.
    Collinear(JointId, Vec<Holder>),
    Panel([JointId; 4]),
    /// Two parts turn about a joint each; the joint they share is in line with those.
    HingeInLine {
        hinge: JointId,
        about: [[f64; 2]; 2],
    },
    /// One piece that turns about a point, with all that holds it.
    Turns([f64; 2], Vec<Holder>, Held),
    /// One piece that slides, with all that holds it.
    Slides([f64; 2], Vec<Holder>, Held),
    /// No joint leaves its place.
    OnlyTurns,
    /// With what is known of such layouts.
    Special(Option<Theorem>),
    Other,
    /// Of beams: three hinges in one line, that which moves in the middle.
    HingesInLine([JointId; 3]),
    /// Of beams: anything else that moves.
    Sway,
}

/// Why a layout of enough members moves.
#[derive(Clone, Debug)]
enum Theorem {
    /// Three joints, each joined to each of three others, all six on a conic
    /// (Bolker and Roth, When is a bipartite graph a rigid framework?, 1980; from memory).
    Conic([JointId; 6]),
    /// Two triangles with three bars between them, whose lines meet in one point or are parallel.
    ThreeBars([MemberId; 3]),
}

/// What holds a moving piece: a member with its other end at rest, or a support.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Holder {
    Member(MemberId),
    Support(JointId),
}

/// Whether a piece has what would hold it if it were placed otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Held {
    TooLittle,
    BadlyPlaced,
}

/// Whether the members would do, placed otherwise.
fn is_special(verdict: &Verdict, mechanism: &Mechanism) -> bool {
    match verdict.special {
        Special::No => false,
        Special::FewerElsewhere(fewer) => fewer >= verdict.mechanisms || mechanism.place.is_some(),
    }
}

impl Kind {
    fn of(
        structure: &Structure,
        points: &Points,
        verdict: &Verdict,
        mechanism: &Mechanism,
        displaced: &[JointId],
        met: &FxHashMap<JointId, Vec<MemberId>>,
    ) -> Kind {
        let special = is_special(verdict, mechanism);
        if mechanism.motion.as_ref().is_some_and(|motion| motion.joints.is_empty()) {
            return Kind::OnlyTurns;
        }
        if let [joint] = displaced
            && let Some(kind) = Kind::of_one(structure, points, *joint, met.get(joint).map_or(&[][..], Vec::as_slice))
        {
            return kind;
        }
        if let (Some(Cure::Bar(a, b)), false) = (&mechanism.cure, special)
            && let Some(corners) = panel(structure, *a, *b)
        {
            return Kind::Panel(corners);
        }
        let Some(motion) = &mechanism.motion else {
            return if special { Kind::Special(None) } else { Kind::Other };
        };
        let holders = || holders(structure, displaced);
        let held = if special { Held::BadlyPlaced } else { Held::TooLittle };
        match motion.shape {
            Shape::Turns { about } => Kind::Turns(about, holders(), held),
            Shape::Slides { along } => Kind::Slides(along, holders(), held),
            Shape::Parts if special => {
                hinge_in_line(motion).unwrap_or_else(|| Kind::Special(theorem(structure, verdict)))
            }
            Shape::Parts => Kind::Other,
        }
    }

    fn of_frame(structure: &Structure, verdict: &Verdict, mechanism: &Mechanism, displaced: &[JointId]) -> Kind {
        match verdict.special {
            Special::FewerElsewhere(_) => {
                hinges_in_line(structure, mechanism, displaced).map_or(Kind::Sway, Kind::HingesInLine)
            }
            Special::No => Kind::Sway,
        }
    }

    /// A single joint that moves.
    fn of_one(structure: &Structure, points: &Points, joint: JointId, members: &[MemberId]) -> Option<Kind> {
        let support = structure.support_at(joint).map(|(_, support)| support);
        let [first, rest @ ..] = members else { return None };
        let near = other_end(structure, *first, joint);
        if rest.iter().any(|member| points.turn(joint, near, other_end(structure, *member, joint)).is_ne()) {
            return None;
        }
        let mut all: Vec<Holder> = members.iter().map(|member| Holder::Member(*member)).collect();
        match support {
            None if rest.is_empty() => return Some(Kind::Dangling(joint, *first)),
            None => {}
            // It moves perpendicular to the members, so that the roller can only act along them.
            Some(support) if support.roller().is_some() => all.push(Holder::Support(joint)),
            Some(_) => return None,
        }
        Some(Kind::Collinear(joint, all))
    }

    const fn slug(&self) -> Slug {
        match self {
            Kind::Dangling(..) => Slug::DanglingJoint,
            Kind::Collinear(..) => Slug::CollinearJoint,
            Kind::Panel(_) => Slug::UnbracedPanel,
            Kind::Turns(_, _, Held::TooLittle) => Slug::TurningPart,
            Kind::Special(_)
            | Kind::HingeInLine { .. }
            | Kind::Turns(_, _, Held::BadlyPlaced)
            | Kind::Slides(_, _, Held::BadlyPlaced) => Slug::SpecialLayout,
            Kind::Slides(_, _, Held::TooLittle) | Kind::OnlyTurns | Kind::Other => Slug::Mechanism,
            Kind::HingesInLine(_) => Slug::HingesInLine,
            Kind::Sway => Slug::Sway,
        }
    }

    fn headline(&self, structure: &Structure, mechanism: &Mechanism, moving: &[JointId]) -> String {
        let name = |joint: &JointId| structure.joint_name(*joint);
        let at = |point: [f64; 2]| words::place(structure, point);
        let joints = joints_words(structure, moving);
        match self {
            Kind::Dangling(joint, member) => {
                let member = structure.member_name(*member);
                format!("joint {} hangs on {member} alone: nothing stops it swinging", name(joint))
            }
            Kind::Collinear(joint, holders) if holders.iter().any(|holder| matches!(holder, Holder::Support(_))) => {
                let all = holder_list(structure, holders);
                format!("{all} act along one line: nothing holds joint {} across", name(joint))
            }
            Kind::Collinear(joint, _) => {
                format!("the members at joint {} are all in one line: nothing holds it across", name(joint))
            }
            Kind::Panel(corners) => {
                let what = if moving.len() > MOST_NAMED { "it" } else { &joints };
                format!("panel {} has no diagonal: {what} can move", chain(structure, corners))
            }
            Kind::HingeInLine { hinge, about } => {
                let [first, second] = about.map(at);
                format!("hinge {} is in line with {first} and {second}: nothing holds it across", name(hinge))
            }
            Kind::Turns(about, _, Held::BadlyPlaced) => {
                format!("all that holds {joints} acts through {}: they can turn about it", at(*about))
            }
            Kind::Turns(about, ..) => format!("{joints} can turn as one piece about {}", at(*about)),
            Kind::Slides(along, _, Held::BadlyPlaced) => {
                format!("all that holds {joints} is parallel: they can slide {}", words::line(*along))
            }
            Kind::Slides(along, ..) => format!("{joints} can slide as one piece, {}", words::line(*along)),
            Kind::OnlyTurns => format!("{joints} can turn in place: nothing takes a couple there"),
            Kind::Special(Some(Theorem::Conic(six))) => {
                format!("joints {} lie on a conic: {joints} can move", words::joints(structure, six))
            }
            Kind::Special(Some(Theorem::ThreeBars(bars))) => {
                format!("bars {} meet in one point or are parallel: {joints} can move", words::members(structure, bars))
            }
            Kind::Special(None) => format!("{joints} can move: the members are enough, but badly placed"),
            Kind::Other => format!("{joints} can move: nothing holds {}", it_or_them(moving)),
            Kind::HingesInLine(three) => {
                let [_, hinge, _] = three;
                format!(
                    "the hinges at {} are in one line: {} can move across it",
                    words::joints(structure, three),
                    name(hinge)
                )
            }
            Kind::Sway => {
                let how = match mechanism.motion.as_ref().map(|motion| motion.shape) {
                    Some(Shape::Slides { along }) => format!(" {}", words::line(along)),
                    Some(Shape::Turns { about }) => format!(" about {}", at(about)),
                    _ => match mechanism.motion.as_ref().and_then(common_line) {
                        Some(along) => format!(" {}", words::line(along)),
                        None => String::new(),
                    },
                };
                format!("{joints} can move{how}: nothing holds {} there", it_or_them(moving))
            }
        }
    }

    /// The statics or the geometry behind it.
    fn reason(
        &self,
        structure: &Structure,
        mechanism: &Mechanism,
        displaced: &[JointId],
        told_all: bool,
    ) -> Option<String> {
        let only = |holders: &[Holder], why: String| match (holders, holder_list(structure, holders)) {
            ([], _) => None,
            ([_], only) => Some(format!("Only {only} holds them.")),
            (_, all) => Some(format!("Only {all} hold them, and {why}.")),
        };
        match self {
            Kind::Dangling(joint, member) if structure.members[*member].kind == MemberKind::Beam => {
                let root = structure.joint_name(other_end(structure, *member, *joint));
                Some(format!("{} is free to turn at {root}.", structure.member_name(*member)))
            }
            Kind::Dangling(..) => {
                Some("One member holds a joint along its own line only; a joint needs two, not in one line.".to_owned())
            }
            Kind::Collinear(..) => Some("Forces along one line cannot balance a load square to it.".to_owned()),
            Kind::Turns(about, holders, _) => match common_end(structure, displaced, holders) {
                Some(joint) => {
                    let joint = structure.joint_name(joint);
                    Some(format!("They are joined to the rest at {joint} alone, and a pinned joint takes no moment."))
                }
                None => {
                    let place = words::place(structure, *about);
                    only(holders, format!("their lines meet in {place}, so they have no moment about it"))
                }
            },
            Kind::Slides(_, holders, _) => {
                only(holders, "they are parallel: none resists a push square to them".to_owned())
            }
            Kind::OnlyTurns => None,
            Kind::Special(Some(Theorem::Conic(_))) => Some(
                "Three joints, each joined to each of three others, hold one another unless all six lie on a conic."
                    .to_owned(),
            ),
            Kind::Special(Some(Theorem::ThreeBars(_))) => Some(
                "Three bars hold two triangles together unless their lines meet in one point or are parallel."
                    .to_owned(),
            ),
            Kind::Panel(_)
            | Kind::HingeInLine { .. }
            | Kind::Special(None)
            | Kind::Other
            | Kind::HingesInLine(_)
            | Kind::Sway => {
                // The labels say how joints move; what is left to say is which parts turn.
                let motion = mechanism.motion.as_ref().filter(|motion| !told_all || !bodies(motion).is_empty());
                motion.and_then(|motion| motion_words(structure, motion))
            }
        }
    }

    /// Where a joint should go, and where not.
    fn place_help(&self, structure: &Structure, joint: JointId, idle_way: Option<[f64; 2]>) -> String {
        let joint = structure.joint_name(joint);
        let along = idle_way.map_or(String::new(), |way| format!(" (not {})", words::line(way)));
        match self {
            Kind::Collinear(..) | Kind::HingeInLine { .. } | Kind::HingesInLine(_) => {
                format!("move {joint} off the line")
            }
            Kind::Turns(..) => format!("move {joint}{along} so that the lines no longer meet in one point"),
            Kind::Slides(..) => format!("move {joint}{along} so that they are no longer parallel"),
            Kind::Special(Some(Theorem::Conic(_))) => format!("move {joint} off the conic{along}"),
            _ => format!("move {joint}{along}"),
        }
    }
}

fn it_or_them(joints: &[JointId]) -> &'static str {
    if joints.len() == 1 { "it" } else { "them" }
}

/// `joint C`, `joints C and D`, `20 joints`.
fn joints_words(structure: &Structure, joints: &[JointId]) -> String {
    match joints {
        [only] => format!("joint {}", structure.joint_name(*only)),
        several if several.len() <= MOST_NAMED => format!("joints {}", words::joints(structure, several)),
        several => words::counted(several.len(), "joint"),
    }
}

fn special_words(structure: &Structure, verdict: &Verdict, kind: &Kind) -> String {
    let which = match kind {
        Kind::Special(None) => {
            "The members are enough in number, and would hold with the joints placed almost anywhere else"
        }
        _ => "The members are enough in number",
    };
    let members = stressed(verdict);
    let named = match members.len() {
        0 => return format!("{which}."),
        1..=4 => words::members(structure, &members),
        many => words::counted(many, "member"),
    };
    format!("{which}; as placed, {named} can be in self-stress.")
}

/// The members of the one state of self-stress: what moves one way leaves a force open the other way.
fn stressed(verdict: &Verdict) -> Vec<MemberId> {
    match verdict.redundancies.as_slice() {
        [only] if verdict.kind == VerdictKind::Unstable && verdict.redundancy == 1 => split(&only.among).0,
        _ => Vec::new(),
    }
}

/// What is known of nine bars between six joints, three at each.
fn theorem(structure: &Structure, verdict: &Verdict) -> Option<Theorem> {
    let members = stressed(verdict);
    let ends = |id: &MemberId| [structure.members[*id].start, structure.members[*id].end];
    let mut joints: Vec<JointId> = members.iter().flat_map(ends).collect();
    joints.sort_unstable();
    let is_even = joints.chunk_by(|a, b| a == b).all(|own| own.len() == 3);
    joints.dedup();
    let six: [JointId; 6] = joints.try_into().ok().filter(|_| members.len() == 9 && is_even)?;
    let met = |joint: JointId| -> Vec<JointId> {
        members
            .iter()
            .map(ends)
            .filter(|ends| ends.contains(&joint))
            .map(|[a, b]| if a == joint { b } else { a })
            .collect()
    };
    let in_triangle = |id: &&MemberId| {
        let [a, b] = ends(id).map(met);
        a.iter().any(|joint| b.contains(joint))
    };
    let between: Vec<MemberId> = members.iter().filter(|id| !in_triangle(id)).copied().collect();
    match <[MemberId; 3]>::try_from(between) {
        Ok(three) => Some(Theorem::ThreeBars(three)),
        // Without a triangle among them, nine bars between six joints join each of three to each of the others.
        Err(between) => (between.len() == 9).then_some(Theorem::Conic(six)),
    }
}

/// Joints with how they move, those at one place in the source together.
fn labels(structure: &Structure, mechanism: &Mechanism, displaced: &[JointId], kind: &Kind) -> Vec<Label> {
    let moving = &mechanism.moving;
    let motion = mechanism.motion.as_ref();
    let shown: Vec<JointId> = match kind {
        Kind::Panel(corners) if moving.len() > MOST_LABELS => {
            let mut corners = corners.to_vec();
            corners.sort_unstable();
            corners.retain(|corner| moving.binary_search(corner).is_ok());
            corners
        }
        Kind::HingeInLine { hinge, .. } | Kind::HingesInLine([_, hinge, _]) => vec![*hinge],
        // A beam resists every turn of its own end: those that only turn come last.
        Kind::Sway => {
            displaced.iter().chain(moving.iter().filter(|joint| !displaced.contains(joint))).copied().collect()
        }
        _ => moving.clone(),
    };
    let mut places: Vec<(Origin, Vec<JointId>)> = Vec::new();
    for joint in shown.into_iter().take(MOST_LABELS) {
        let at = structure.joints[joint].origin;
        match places.iter_mut().find(|(place, _)| *place == at) {
            Some((_, joints)) => joints.push(joint),
            None => places.push((at, vec![joint])),
        }
    }
    let is_line = matches!(kind, Kind::HingeInLine { .. } | Kind::HingesInLine(_))
        || (matches!(kind, Kind::Sway) && displaced.len() == 1);
    let moves = |joint: JointId| match motion.map(|motion| (motion, motion.of(joint))) {
        Some((_, u)) if u != [0.0; 2] && is_line => format!("moves {}", words::line(u)),
        Some((motion, u)) if u != [0.0; 2] => format!("moves {}", sense(motion, u)),
        Some((motion, _)) if motion.turns.iter().any(|(turning, _)| *turning == joint) => "turns".to_owned(),
        _ => "moves".to_owned(),
    };
    let text = |joints: &[JointId]| match joints {
        [joint] => match moves(*joint) {
            turns if turns == "turns" && matches!(kind, Kind::Sway) => {
                format!("the beam end at {} turns", structure.joint_name(*joint))
            }
            moves => format!("{} {moves}", structure.joint_name(*joint)),
        },
        several => format!("{} move", words::joints(structure, several)),
    };
    places.iter().map(|(at, joints)| Label { at: *at, text: text(joints) }).collect()
}

/// How one joint moves: as a line where one sense is as good as the other,
/// with the sense it has beside the others where parts move differently.
fn sense(motion: &Motion, u: [f64; 2]) -> String {
    if motion.joints.len() > 1 && motion.shape == Shape::Parts { words::direction(u) } else { words::line(u) }
}

/// `While L1 moves down, …`, or which part turns about which joint; nothing where nothing but the labels is to be said.
fn motion_words(structure: &Structure, motion: &Motion) -> Option<String> {
    match motion.shape {
        Shape::Slides { .. } | Shape::Turns { .. } => return None,
        Shape::Parts => {}
    }
    let bodies = bodies(motion);
    let told = bodies.get(..MOST_PARTS.min(bodies.len())).unwrap_or(&[]);
    let within: FxHashSet<JointId> = bodies.iter().flat_map(|part| &part.joints).copied().collect();
    let others: Vec<&(JointId, [f64; 2])> =
        motion.joints.iter().filter(|(joint, u)| *u != [0.0; 2] && !within.contains(joint)).collect();
    let more = bodies.len() - told.len();
    let mut clauses = told
        .iter()
        .map(|part| part_words(structure, part))
        .chain(
            others.iter().map(|(joint, u)| format!("{} moves {}", structure.joint_name(*joint), words::direction(*u))),
        )
        .chain((more > 0).then(|| format!("{} move too", words::counted(more, "more part"))));
    let total = told.len() + others.len() + usize::from(more > 0);
    match (clauses.next()?, total) {
        // Names of joints keep their letters: only a word of ours is raised.
        (only, 1) if only.starts_with("the ") => Some(format!("{}.", words::capital(&only))),
        (only, 1) => Some(format!("{only}.")),
        (first, total) => Some(format!("While {first}, {}.", words::listed(total - 1, clauses))),
    }
}

/// `A-B turns clockwise about joint A`, `the part with A, C and P turns …`
fn part_words(structure: &Structure, part: &Part) -> String {
    let which = match part.joints.as_slice() {
        [a, b] => format!("{}-{}", structure.joint_name(*a), structure.joint_name(*b)),
        several => format!("the part with {}", words::joints(structure, several)),
    };
    format!("{which} {}", rigid_words(structure, part.moves))
}

/// `turns clockwise about joint A`
fn rigid_words(structure: &Structure, moves: RigidMotion) -> String {
    match moves {
        RigidMotion::Slides { along } => format!("slides {}", words::direction(along)),
        RigidMotion::Turns { about, sense } => {
            let sense = if sense == Turn::Clockwise { "clockwise" } else { "counterclockwise" };
            format!("turns {sense} about {}", words::place(structure, about))
        }
    }
}

/// The joints that leave their place; all of the mechanism where the motion is
/// not known or moves none.
fn displaced(mechanism: &Mechanism) -> Vec<JointId> {
    let known = mechanism.motion.iter().flat_map(|motion| &motion.joints);
    let displaced: Vec<JointId> = known.filter(|(_, u)| *u != [0.0; 2]).map(|(joint, _)| *joint).collect();
    if displaced.is_empty() { mechanism.moving.clone() } else { displaced }
}

/// The parts worth naming: a single bar is told by its joints, a beam is not.
fn bodies(motion: &Motion) -> Vec<&Part> {
    let least = if motion.turns.is_empty() { LEAST_PART } else { 2 };
    motion.parts.iter().filter(|part| part.joints.len() >= least).collect()
}

fn hinge_in_line(motion: &Motion) -> Option<Kind> {
    let bodies = bodies(motion);
    let [first, second] = bodies.as_slice() else { return None };
    let (RigidMotion::Turns { about: one, .. }, RigidMotion::Turns { about: other, .. }) = (first.moves, second.moves)
    else {
        return None;
    };
    let mut shared = first.joints.iter().filter(|joint| second.joints.binary_search(joint).is_ok());
    match (shared.next(), shared.next()) {
        (Some(hinge), None) if motion.parts.len() == 2 => {
            Some(Kind::HingeInLine { hinge: *hinge, about: [one, other] })
        }
        _ => None,
    }
}

fn other_end(structure: &Structure, member: MemberId, joint: JointId) -> JointId {
    let member = &structure.members[member];
    if member.start == joint { member.end } else { member.start }
}

/// Members with one end among the moving joints, and supports at those.
fn holders(structure: &Structure, moving: &[JointId]) -> Vec<Holder> {
    let moves = |joint: JointId| moving.binary_search(&joint).is_ok();
    let holding = structure.members.entries().filter(|(_, member)| moves(member.start) != moves(member.end));
    let mut found: Vec<Holder> = holding.map(|(id, _)| Holder::Member(id)).collect();
    found.extend(structure.supports.iter().filter(|s| moves(s.joint)).map(|support| Holder::Support(support.joint)));
    found
}

/// The joint at rest at which all that holds a piece ends.
fn common_end(structure: &Structure, moving: &[JointId], holders: &[Holder]) -> Option<JointId> {
    let mut ends = holders.iter().map(|holder| match holder {
        Holder::Member(id) => {
            let member = &structure.members[*id];
            Some(if moving.binary_search(&member.start).is_ok() { member.end } else { member.start })
        }
        Holder::Support(_) => None,
    });
    let first = ends.next()??;
    ends.all(|end| end == Some(first)).then_some(first)
}

fn holder_list(structure: &Structure, holders: &[Holder]) -> String {
    let name = |holder: &Holder| match holder {
        Holder::Member(member) => structure.member_name(*member),
        Holder::Support(joint) => format!("the roller at {}", structure.joint_name(*joint)),
    };
    words::listed(holders.len(), holders.iter().map(name))
}

/// The corners of the panel with the diagonal `a`-`b`: the first and the third are its ends.
pub fn panel(structure: &Structure, a: JointId, b: JointId) -> Option<[JointId; 4]> {
    let met_at = |joint: JointId| -> FxHashSet<JointId> {
        let ends = structure.members.iter().flat_map(|m| [(m.start, m.end), (m.end, m.start)]);
        ends.filter(|(own, _)| *own == joint).map(|(_, other)| other).collect()
    };
    let mut common: Vec<JointId> = met_at(a).intersection(&met_at(b)).copied().collect();
    common.sort_unstable();
    match common.as_slice() {
        [c, d] => Some([a, *c, b, *d]),
        _ => None,
    }
}

fn chain(structure: &Structure, corners: &[JointId; 4]) -> String {
    // Begin with the first name and go the way whose second name comes first.
    let mut corners = *corners;
    let least = corners.iter().enumerate().min_by_key(|(_, joint)| **joint).map_or(0, |(at, _)| at);
    corners.rotate_left(least);
    if corners[3] < corners[1] {
        corners.swap(1, 3);
    }
    let names: Vec<&str> = corners.iter().map(|joint| structure.joint_name(*joint)).collect();
    names.join("-")
}

/// Two parts, straight or bent, that turn about a joint each, and between them
/// the joint they share, in line with both.
fn hinges_in_line(structure: &Structure, mechanism: &Mechanism, displaced: &[JointId]) -> Option<[JointId; 3]> {
    let centres = turning_centres(structure, mechanism);
    let [one, other] = centres.as_slice() else { return None };
    let parts = &mechanism.motion.as_ref()?.parts;
    let shared = |joint: &&JointId| parts.iter().filter(|part| part.joints.contains(joint)).count() == 2;
    let hinges: Vec<JointId> = displaced.iter().filter(shared).copied().collect();
    let [hinge] = hinges.as_slice() else { return None };
    let in_line = Points::of(structure).turn(*one, *hinge, *other).is_eq();
    in_line.then_some([*one, *hinge, *other])
}

/// The line along which every joint that moves does so.
fn common_line(motion: &Motion) -> Option<[f64; 2]> {
    let mut moves = motion.joints.iter().map(|(_, u)| *u).filter(|u| *u != [0.0; 2]);
    let [x, y] = moves.next()?;
    moves.all(|[u, v]| (x * v - y * u).abs() <= OF_MOTION).then_some([x, y])
}

/// The still joints about which the parts of a motion turn.
fn turning_centres(structure: &Structure, mechanism: &Mechanism) -> Vec<JointId> {
    let Some(motion) = &mechanism.motion else { return Vec::new() };
    let mut centres: Vec<JointId> = motion.parts.iter().filter_map(|part| centre(structure, part)).collect();
    centres.sort_unstable();
    centres.dedup();
    centres
}

fn centre(structure: &Structure, part: &Part) -> Option<JointId> {
    let RigidMotion::Turns { about, .. } = part.moves else { return None };
    part.joints.iter().copied().find(|joint| words::is_at(&structure.joints[*joint], about))
}
