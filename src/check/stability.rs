//! Findings about what moves: supports that cannot hold the structure as one
//! piece, and parts that move against each other.
//!
//! Must not know: loads.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::{JointId, MemberId};
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::equilibrium::Points;
use crate::statics::{Cure, Freedom, Mechanism, Shape, Special, SupportFault, Unknown, Verdict};
use crate::structure::{Structure, SupportKind};

use super::words;

/// Joints of one mechanism that get a label of their own.
const MOST_LABELS: usize = 4;

pub fn check_stability(structure: &Structure, points: &Points, verdict: &Verdict) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    if let Some(fault) = &verdict.support_fault {
        found.push(support_words(structure, verdict, fault));
    }
    let met = members_at(structure, verdict);
    let mut told = 0;
    for mechanism in &verdict.motions {
        // A joint in no member has been reported as that.
        if mechanism.moving.iter().all(|joint| met.get(joint).is_none_or(Vec::is_empty)) {
            told += 1;
            continue;
        }
        told += 1;
        found.push(mechanism_words(structure, points, verdict, mechanism, &met));
    }
    let whole = if verdict.support_fault.is_some() { whole_motions(verdict) } else { 0 };
    let rest = verdict.mechanisms.saturating_sub(whole + told);
    if rest > 0 && !verdict.motions.is_empty() {
        found.push(more_mechanisms(structure, rest));
    }
    found
}

/// Motions of the structure as one piece.
fn whole_motions(verdict: &Verdict) -> usize {
    match verdict.support_fault {
        None => 0,
        Some(SupportFault::None) => 3,
        Some(SupportFault::TooFew { reactions, free }) => match free {
            Freedom::All => 3_usize.saturating_sub(reactions).max(1),
            _ => 1,
        },
        Some(SupportFault::Parallel { .. } | SupportFault::Concurrent { .. }) => 1,
    }
}

/// The members at the joints that messages are about.
fn members_at(structure: &Structure, verdict: &Verdict) -> FxHashMap<JointId, Vec<MemberId>> {
    let wanted: FxHashSet<JointId> = verdict.motions.iter().flat_map(|m| m.moving.iter().take(64)).copied().collect();
    let mut met: FxHashMap<JointId, Vec<MemberId>> = FxHashMap::default();
    for (index, member) in structure.members.iter().enumerate() {
        for joint in [member.start, member.end] {
            if wanted.contains(&joint) {
                met.entry(joint).or_default().push(MemberId::new(index));
            }
        }
    }
    met
}

/// `m + r = 9 + 3 = 12 against 2j = 12: …`
pub fn count_words(verdict: &Verdict) -> String {
    let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
    let (have, want) = (m + r, 2 * j);
    let ends = match have.cmp(&want) {
        std::cmp::Ordering::Less => format!("{} short", words::count(want - have)),
        std::cmp::Ordering::Equal => "the count is right, and the layout still moves".to_owned(),
        std::cmp::Ordering::Greater => format!("{} to spare, and the layout still moves", words::count(have - want)),
    };
    format!("m + r = {m} + {r} = {have} against 2j = {want}: {ends}.")
}

fn support_words(structure: &Structure, verdict: &Verdict, fault: &SupportFault) -> Diagnostic {
    let support_labels = |mut diagnostic: Diagnostic| {
        for support in structure.supports.iter().take(MOST_LABELS) {
            diagnostic = diagnostic.label(support.origin, reaction_words(structure, support));
        }
        diagnostic
    };
    let turn_or_slide = |free: &Freedom| match free {
        Freedom::All => "It can slide either way and turn.".to_owned(),
        Freedom::Turns { about } => format!("It can still turn about {}.", place_words(structure, *about)),
        Freedom::Slides { along } => format!("It can still slide {}.", words::line(*along)),
    };
    match fault {
        SupportFault::None => {
            let mut diagnostic = Diagnostic::new(Slug::NoSupport, "nothing supports the structure");
            if let Some(joint) = structure.joints.first() {
                diagnostic = diagnostic.label(joint.origin, "no joint of the structure has a support");
            }
            diagnostic
                .why("A plane structure needs at least three reaction components: two against sliding and one against turning.")
                .help(two_supports(structure))
        }
        SupportFault::TooFew { reactions, free } => {
            let message = format!(
                "{} cannot hold the structure: it takes three",
                words::counted(*reactions, "reaction component")
            );
            support_labels(Diagnostic::new(Slug::TooFewReactions, message))
                .why(turn_or_slide(free))
                .why(count_words(verdict))
                .help(support_cure(structure, verdict))
        }
        SupportFault::Parallel { direction } => {
            let [x, y] = *direction;
            let message =
                format!("all reactions are parallel: nothing stops the structure sliding {}", words::line([-y, x]));
            support_labels(Diagnostic::new(Slug::ParallelReactions, message))
                .why("Forces along one direction cannot balance a force square to it, however many there are.")
                .help(support_cure(structure, verdict))
        }
        SupportFault::Concurrent { point, joint } => {
            let place = match joint {
                Some(joint) => format!("joint {}", structure.joint_name(*joint)),
                None => place_words(structure, *point),
            };
            let message = format!("all reactions pass through {place}: the structure can turn about it");
            support_labels(Diagnostic::new(Slug::ConcurrentReactions, message))
                .why("Forces whose lines meet in one point have no moment about it, so they cannot balance a load that has one.")
                .help(support_cure(structure, verdict))
        }
    }
}

/// A joint's name where one is at the point, else its coordinates.
fn place_words(structure: &Structure, [x, y]: [f64; 2]) -> String {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (1.0 + a.abs());
    let at = structure.joints.iter().position(|joint| near(joint.x.to_f64(), x) && near(joint.y.to_f64(), y));
    match at {
        Some(index) => format!("joint {}", structure.joint_name(JointId::new(index))),
        None => format!("the point {}", words::point(structure, [x, y])),
    }
}

fn reaction_words(structure: &Structure, support: &crate::structure::Support) -> String {
    let name = structure.joint_name(support.joint);
    match &support.kind {
        SupportKind::Pin => format!("pin {name}: two reactions, both through {name}"),
        SupportKind::Roller(roller) => {
            let line = roller.normal.each_ref().map(|part| part.to_f64());
            format!("roller {name}: {}", one_reaction(line))
        }
        other => format!("{} {name}", other.word()),
    }
}

/// `one vertical reaction`, `one reaction along 45° above right`
fn one_reaction(line: [f64; 2]) -> String {
    match words::direction(line).as_str() {
        "up" | "down" => "one vertical reaction".to_owned(),
        "left" | "right" => "one horizontal reaction".to_owned(),
        slope => format!("one reaction along {slope}"),
    }
}

fn two_supports(structure: &Structure) -> String {
    let by_x = |a: &&crate::structure::Joint, b: &&crate::structure::Joint| a.x.compare(&b.x);
    let lowest = structure.joints.iter().map(|joint| joint.y.to_f64()).fold(f64::INFINITY, f64::min);
    let low = || structure.joints.iter().filter(|joint| joint.y.to_f64() <= lowest);
    let (left, right) = (low().min_by(by_x), low().max_by(by_x));
    let name = |joint: &crate::structure::Joint| structure.names.get(joint.name).to_owned();
    match (left, right) {
        (Some(left), Some(right)) if left.name != right.name => {
            format!("state the supports, for example `pin {}` and `roller {}`", name(left), name(right))
        }
        _ => "state the supports, for example a `pin` and a `roller`".to_owned(),
    }
}

fn support_cure(structure: &Structure, verdict: &Verdict) -> String {
    match &verdict.support_cure {
        // With reactions enough, the idle one has to be turned, not another added.
        Some(Cure::RollerToPin { joint, along }) if is_idle(structure, verdict, *joint) => {
            let name = structure.joint_name(*joint);
            let written = match along.each_ref().map(|part| part.to_f64()) {
                [x, y] if x == 0.0 && y != 0.0 => format!("roller {name}"),
                [x, y] if y == 0.0 && x != 0.0 => format!("roller {name}: along up"),
                [x, y] if y > 0.0 => format!("roller {name}: along {}", words::direction([y, -x])),
                [x, y] => format!("roller {name}: along {}", words::direction([-y, x])),
            };
            format!("turn the roller at {name}, `{written}`: that holds it (verified)")
        }
        Some(cure) => format!("{}: that holds it (verified)", cure_words(structure, cure)),
        None => "add supports until two reactions stop it sliding and one more stops it turning".to_owned(),
    }
}

/// Whether a roller's reaction could be left out without loss.
fn is_idle(structure: &Structure, verdict: &Verdict, joint: JointId) -> bool {
    let Some((id, _)) = structure.support_at(joint) else { return false };
    let is = |unknown: &Unknown| matches!(unknown, Unknown::Reaction(support, _) if *support == id);
    verdict.redundancies.iter().any(|redundancy| redundancy.among.iter().any(is))
}

/// `add \`bar P-D\``
fn cure_words(structure: &Structure, cure: &Cure) -> String {
    match cure {
        Cure::Bar(a, b) => format!("add `bar {}-{}`", structure.joint_name(*a), structure.joint_name(*b)),
        Cure::RollerToPin { joint, .. } => {
            let name = structure.joint_name(*joint);
            format!("make the roller at {name} a `pin {name}`")
        }
        Cure::Roller { joint, along } => {
            let name = structure.joint_name(*joint);
            let pushes = along.each_ref().map(|part| part.to_f64());
            match pushes {
                [x, y] if x == 0.0 && y > 0.0 => format!("add `roller {name}`"),
                _ => format!("add `roller {name}: pushes {}`", words::direction(pushes)),
            }
        }
    }
}

fn mechanism_words(
    structure: &Structure,
    points: &Points,
    verdict: &Verdict,
    mechanism: &Mechanism,
    met: &FxHashMap<JointId, Vec<MemberId>>,
) -> Diagnostic {
    let moving = &mechanism.moving;
    let kind = Kind::of(structure, points, verdict, mechanism, met);
    let names = words::joints(structure, moving);
    let motion = mechanism.motion.as_ref();
    let message = match &kind {
        Kind::Dangling(joint, member) => {
            let (joint, member) = (structure.joint_name(*joint), structure.member_name(*member));
            format!("joint {joint} hangs on {member} alone: nothing stops it swinging")
        }
        Kind::Collinear(joint) => {
            format!(
                "the members at joint {} are all in one line: nothing holds it across",
                structure.joint_name(*joint)
            )
        }
        Kind::Panel(corners) => {
            format!("panel {} has no diagonal: {}", chain(structure, corners), shears(structure, moving))
        }
        Kind::Turning(about) => {
            let place = place_words(structure, *about);
            let turns = if moving.len() == 1 { "turns" } else { "turn as one piece" };
            format!("{} {turns} about {place}", joint_or_joints(&names, moving.len()))
        }
        Kind::Special => format!(
            "{} can move: the members are enough, but placed so that they do not hold",
            joint_or_joints(&names, moving.len())
        ),
        Kind::Other => {
            format!("{} can move: nothing holds {}", joint_or_joints(&names, moving.len()), them(moving.len()))
        }
    };
    let mut diagnostic = Diagnostic::new(kind.slug(), message);
    // Where many joints move, those of the open panel show best how.
    let shown: Vec<JointId> = match &kind {
        Kind::Panel(corners) if moving.len() > MOST_LABELS => {
            let mut corners = corners.to_vec();
            corners.sort_unstable();
            corners
        }
        _ => moving.clone(),
    };
    for joint in shown.iter().take(MOST_LABELS) {
        let Some(at) = structure.joint(*joint) else { continue };
        let name = structure.joint_name(*joint);
        let text = match motion.map(|motion| motion.of(*joint)) {
            Some(u) if u != [0.0; 2] => format!("{name} moves {}", relative_line(motion, u)),
            None if moving.contains(joint) => format!("{name} moves"),
            _ => format!("{name} stands still"),
        };
        diagnostic = diagnostic.label(at.origin, text);
    }
    if let Some(motion) = motion
        && moving.len() > 1
    {
        diagnostic = diagnostic.why(match motion.shape {
            Shape::Slides { along } => format!("They move together, {}.", words::line(along)),
            Shape::Turns { about } => format!("They turn together about {}.", place_words(structure, about)),
            Shape::Parts => together(structure, motion, &shown),
        });
    }
    if verdict.support_fault.is_none() {
        diagnostic = diagnostic.why(count_words(verdict));
    }
    if let (Special::FewerElsewhere(_), Kind::Special | Kind::Collinear(_)) = (verdict.special, &kind) {
        diagnostic = diagnostic
            .why(
                "With the joints placed almost anywhere else the same members would hold: only this layout is special.",
            )
            .help(special_cure(structure, motion, &kind));
    }
    match &mechanism.cure {
        Some(cure) if verdict.mechanisms <= mirrored(verdict) => diagnostic.help(format!(
            "or {}: that stops it (verified), and leaves one member or reaction more than statics can resolve",
            cure_words(structure, cure)
        )),
        Some(cure) => diagnostic.help(format!("{}: that stops it (verified)", cure_words(structure, cure))),
        None if matches!(kind, Kind::Special) => diagnostic,
        None => diagnostic.help("brace the moving joints against those that stand still, or support them"),
    }
}

enum Kind {
    Dangling(JointId, MemberId),
    Collinear(JointId),
    Panel([JointId; 4]),
    Turning([f64; 2]),
    Special,
    Other,
}

impl Kind {
    fn of(
        structure: &Structure,
        points: &Points,
        verdict: &Verdict,
        mechanism: &Mechanism,
        met: &FxHashMap<JointId, Vec<MemberId>>,
    ) -> Kind {
        if let [joint] = mechanism.moving.as_slice() {
            let members = met.get(joint).map_or(&[][..], Vec::as_slice);
            let unsupported = structure.support_at(*joint).is_none();
            match members {
                [only] if unsupported => return Kind::Dangling(*joint, *only),
                [first, rest @ ..] if unsupported && !rest.is_empty() => {
                    let other = |member: &MemberId| {
                        structure.member(*member).map_or(*joint, |m| if m.start == *joint { m.end } else { m.start })
                    };
                    let near = other(first);
                    if rest.iter().all(|member| points.turn(*joint, near, other(member)).is_eq()) {
                        return Kind::Collinear(*joint);
                    }
                }
                _ => {}
            }
        }
        let special = mirrored(verdict);
        if special >= verdict.mechanisms {
            return Kind::Special;
        }
        if let Some(Cure::Bar(a, b)) = &mechanism.cure
            && let Some(corners) = panel(structure, points, *a, *b)
        {
            return Kind::Panel(corners);
        }
        match mechanism.motion.as_ref().map(|motion| motion.shape) {
            Some(Shape::Turns { about }) => Kind::Turning(about),
            _ if special > 0 => Kind::Special,
            _ => Kind::Other,
        }
    }

    const fn slug(&self) -> Slug {
        match self {
            Kind::Dangling(..) => Slug::DanglingJoint,
            Kind::Collinear(_) => Slug::CollinearJoint,
            Kind::Panel(_) => Slug::UnbracedPanel,
            Kind::Turning(_) => Slug::TurningPart,
            Kind::Special => Slug::SpecialLayout,
            Kind::Other => Slug::Mechanism,
        }
    }
}

/// How many motions go with the layout's special shape, not with a member short.
fn mirrored(verdict: &Verdict) -> usize {
    match (verdict.special, &verdict.support_fault) {
        (Special::FewerElsewhere(fewer), None) => fewer,
        _ => 0,
    }
}

fn special_cure(structure: &Structure, motion: Option<&crate::statics::Motion>, kind: &Kind) -> String {
    match (kind, motion.map(|motion| motion.shape)) {
        (Kind::Collinear(joint), _) => {
            format!("move {} off the line, so that its members pull across it too", structure.joint_name(*joint))
        }
        (_, Some(Shape::Turns { about })) => format!(
            "place the members that hold the moving part so that their lines do not all pass through {}",
            place_words(structure, about)
        ),
        (_, Some(Shape::Slides { along })) => format!(
            "place the members that hold the moving part so that one of them resists sliding {}",
            words::line(along)
        ),
        _ => "move one of the joints out of the regular pattern".to_owned(),
    }
}

/// The corners of the panel whose missing diagonal is `a`-`b`: four sides that do not cross each other.
fn panel(structure: &Structure, points: &Points, a: JointId, b: JointId) -> Option<[JointId; 4]> {
    let mut at_a = FxHashSet::default();
    let mut common = Vec::new();
    for member in &structure.members {
        for (joint, other) in [(member.start, member.end), (member.end, member.start)] {
            if joint == a {
                at_a.insert(other);
            }
        }
    }
    for member in &structure.members {
        for (joint, other) in [(member.start, member.end), (member.end, member.start)] {
            if joint == b && at_a.contains(&other) {
                common.push(other);
            }
        }
    }
    common.sort_unstable();
    match common.as_slice() {
        [c, d] => {
            let apart = |p, q, r, s| points.turn(p, q, r) == points.turn(p, q, s).reverse();
            (apart(a, b, *c, *d) && apart(*c, *d, a, b)).then_some([a, *c, b, *d])
        }
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

fn shears(structure: &Structure, moving: &[JointId]) -> String {
    match moving {
        [only] => format!("joint {} can move", structure.joint_name(*only)),
        several if several.len() <= MOST_LABELS => format!("joints {} can move", words::joints(structure, several)),
        several => format!("{} can move", words::counted(several.len(), "joint")),
    }
}

fn joint_or_joints(names: &str, count: usize) -> String {
    if count == 1 { format!("joint {names}") } else { format!("joints {names}") }
}

const fn them(count: usize) -> &'static str {
    if count == 1 { "it" } else { "them" }
}

/// How one joint of a motion moves: on its own as a line, among others with
/// the sense it has beside them.
fn relative_line(motion: Option<&crate::statics::Motion>, u: [f64; 2]) -> String {
    match motion {
        Some(motion) if motion.joints.len() > 1 && motion.shape == Shape::Parts => words::direction(u),
        _ => words::line(u),
    }
}

/// `While B moves down, D moves right and E stands still.`, and how many more go with them.
fn together(structure: &Structure, motion: &crate::statics::Motion, shown: &[JointId]) -> String {
    let parts: Vec<String> = shown
        .iter()
        .map(|joint| (structure.joint_name(*joint), motion.of(*joint)))
        .map(|(name, u)| match u {
            [0.0, 0.0] => format!("{name} stands still"),
            u => format!("{name} moves {}", words::direction(u)),
        })
        .collect();
    let moves = |joint: &&JointId| motion.of(**joint) != [0.0; 2];
    let others = motion.joints.len().saturating_sub(shown.iter().filter(moves).count());
    let follow = match others {
        0 => String::new(),
        1 => " One more joint moves with them.".to_owned(),
        many => format!(" {many} more joints move with them."),
    };
    match parts.split_first() {
        None => String::new(),
        Some((only, [])) => format!("{only}.{follow}"),
        Some((first, rest)) => format!("While {first}, {}.{follow}", words::list(rest)),
    }
}

fn more_mechanisms(structure: &Structure, rest: usize) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Slug::MoreMechanisms,
        format!(
            "{} more independent {} not told one by one",
            words::count(rest),
            if rest == 1 { "motion is" } else { "motions are" }
        ),
    );
    if let Some(joint) = structure.joints.first() {
        diagnostic = diagnostic.label(joint.origin, "in this structure");
    }
    diagnostic
        .why("Each missing member or reaction leaves one independent motion.")
        .help("cure those told above and check again")
}
