//! Findings about what moves in structures with beams: hinges too many, hinges
//! in a line.
//!
//! Must not know: loads.

use crate::base::JointId;
use crate::diagnostic::{Cure, CureKind, Diagnostic, Slug};
use crate::statics::equilibrium::Points;
use crate::statics::{Mechanism, Motion, Part, RigidMotion, Shape, Special, Verdict};
use crate::structure::Structure;

use super::motions::{displaced, rigid_words};
use super::words;

/// Joints of one mechanism that get a label of their own.
const MOST_LABELS: usize = 4;
/// Parts told one by one.
const MOST_PARTS: usize = 3;

/// One independent motion of a structure with beams.
pub fn mechanism_words(
    structure: &Structure,
    verdict: &Verdict,
    mechanism: &Mechanism,
    count: Option<String>,
) -> Diagnostic {
    let motion = mechanism.motion.as_ref();
    // A beam resists every turn of its own end, so no motion is made of turns alone.
    let displaced = displaced(mechanism);
    let mut diagnostic = headline(structure, verdict, mechanism, &displaced);
    let turning: Vec<JointId> = mechanism.moving.iter().copied().filter(|joint| !displaced.contains(joint)).collect();
    for joint in displaced.iter().take(MOST_LABELS) {
        let name = structure.joint_name(*joint);
        let text = match motion.map(|motion| (motion.of(*joint), motion.shape)) {
            Some((u, Shape::Parts)) if displaced.len() > 1 => format!("{name} moves {}", words::direction(u)),
            Some((u, _)) => format!("{name} moves {}", words::line(u)),
            None => format!("{name} moves"),
        };
        diagnostic = diagnostic.label(structure.joints[*joint].origin, text);
    }
    for joint in turning.iter().take(MOST_LABELS.saturating_sub(displaced.len().min(MOST_LABELS))) {
        let text = format!("the beam end at {} turns", structure.joint_name(*joint));
        diagnostic = diagnostic.label(structure.joints[*joint].origin, text);
    }
    diagnostic.why.extend(motion.and_then(|motion| parts_words(structure, motion)));
    diagnostic.why.extend(count);
    if let Some(hinge) = mechanism.hinge {
        let name = structure.joint_name(hinge);
        diagnostic =
            diagnostic.cure(Cure::new(CureKind::LeaveOutHinge(hinge), format!("leave out the hinge at {name}")));
    }
    if let Some(place) = mechanism.place {
        let name = structure.joint_name(place);
        diagnostic = diagnostic.cure(Cure::new(CureKind::Move(place), format!("move {name} off that line")));
    } else if let Some(cure) = &mechanism.cure {
        diagnostic = diagnostic.cure(words::cure(structure, cure));
    }
    diagnostic.cure(Cure::new(
        CureKind::Fallback,
        "clamp a support, take out a hinge, or brace the moving joints against those that stand still",
    ))
}

fn headline(structure: &Structure, verdict: &Verdict, mechanism: &Mechanism, displaced: &[JointId]) -> Diagnostic {
    let names = words::joints(structure, displaced);
    let special = matches!(verdict.special, Special::FewerElsewhere(_));
    if special && let Some([one, hinge, other]) = hinges_in_line(structure, mechanism, displaced) {
        let [one, hinge, other] = [one, hinge, other].map(|joint| structure.joint_name(joint));
        let message = format!("the hinges at {one}, {hinge} and {other} are in one line: {hinge} can move across it");
        return Diagnostic::new(Slug::HingesInLine, message);
    }
    let what = if displaced.len() == 1 { format!("joint {names}") } else { format!("joints {names}") };
    let how = match mechanism.motion.as_ref().map(|motion| motion.shape) {
        Some(Shape::Slides { along }) => format!("can move {}", words::line(along)),
        Some(Shape::Turns { about }) => format!("can turn about {}", words::place(structure, about)),
        _ => match mechanism.motion.as_ref().and_then(common_line) {
            Some(along) => format!("can move {}", words::line(along)),
            None => "can move".to_owned(),
        },
    };
    let nothing = if displaced.len() == 1 { "nothing holds it" } else { "nothing holds them" };
    Diagnostic::new(Slug::Sway, format!("{what} {how}: {nothing} there"))
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
    moves.all(|[u, v]| (x * v - y * u).abs() <= 1e-7).then_some([x, y])
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

/// `While A-B turns clockwise about joint A, B-C turns counterclockwise about joint C.`
fn parts_words(structure: &Structure, motion: &Motion) -> Option<String> {
    let told: Vec<String> = motion
        .parts
        .iter()
        .take(MOST_PARTS)
        .map(|part| {
            let names = match part.joints.as_slice() {
                [a, b] => format!("{}-{}", structure.joint_name(*a), structure.joint_name(*b)),
                several => format!("the part with {}", words::joints(structure, several)),
            };
            format!("{names} {}", rigid_words(structure, part.moves))
        })
        .collect();
    match told.split_first() {
        None => None,
        // Names of joints keep their letters: only a word of ours is raised.
        Some((only, [])) if only.starts_with("the ") => Some(format!("{}.", words::capital(only))),
        Some((only, [])) => Some(format!("{only}.")),
        Some((first, rest)) => {
            let more = motion.parts.len().saturating_sub(MOST_PARTS);
            let more = if more > 0 {
                format!("; {} move with them", words::counted(more, "more part"))
            } else {
                String::new()
            };
            Some(format!("While {first}, {}{more}.", rest.join(" and ")))
        }
    }
}
