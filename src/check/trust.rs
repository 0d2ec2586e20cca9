//! How far results can be trusted: layouts that are all but mechanisms,
//! equations that cannot be solved, results that fail their own check.
//!
//! Must not know: how equations are solved.

use crate::base::tolerances::BALANCE;
use crate::base::{IdVec, JointId};
use crate::diagnostic::{Diagnostic, Slug};
use crate::numeric::NumericError;
use crate::quantity::format::rough;
use crate::quantity::{Dimension, format};
use crate::statics::equilibrium::Points;
use crate::statics::verdict::nearly_at_fault;
use crate::statics::{Equilibrium, Solution, SolveError, Subject, SupportFault, Verdict, VerdictKind, solve, spans};
use crate::structure::{Section, Stiffness, Structure};

use super::{loads, stability, words};

/// Members are told of whose angle has a sine below this: a degree or so.
const NARROW: f64 = 0.02;

/// Member forces of more times all the loads together are asked about.
const MOST_TIMES: f64 = 50.0;

/// Labels on rigid sections.
const MOST_LABELS: usize = 4;

/// Where a finding is about all of it.
const HERE: &str = "in this structure";

/// Findings about the figures of a solution.
pub fn check_trust(structure: &Structure, points: &Points, solution: &Solution) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    if solution.condition > solve::LARGE_CONDITION {
        let left = digits(solution.condition);
        let told = Diagnostic::new(Slug::NearlySingular, format!("the forces are good to about {left} figures only"));
        let magnified =
            format!("The layout magnifies loads, or changes in its data, up to {} times.", rough(solution.condition));
        found.push(about_layout(told, structure, points, solution.weakest, magnified));
    }
    if found.is_empty() {
        found.extend(large_forces(structure, solution));
    }
    let cases = solution.results.iter().map(|result| (&result.residual, loads::under(structure, result.subject)));
    let travels = solution.travels.iter();
    let travels = travels.map(|result| (&result.residual, format!(" under {}", structure.travel_name(result.travel))));
    for (residual, under) in cases.chain(travels) {
        if !residual.is_small() {
            let told = Diagnostic::new(Slug::DoesNotBalance, format!("the result does not balance{under}"));
            let why = format!(
                "Adding all forces up again leaves {} of the largest force; it should leave less than {BALANCE:e}.",
                rough(residual.relative)
            );
            found.push(words::at_first_joint(told, structure, HERE).why(why).help("do not use these numbers"));
        }
    }
    found
}

/// The member force that is the most times all the loads of its case, if that
/// is very many.
fn large_forces(structure: &Structure, solution: &Solution) -> Option<Diagnostic> {
    let (times, member, result, loads) = solution
        .results
        .iter()
        .filter_map(|result| {
            let loads = size_of_loads(structure, result.subject).filter(|loads| *loads > 0.0)?;
            let (member, axial) = result.axial.entries().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
            Some((axial.abs() / loads, member, result, loads))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(times, ..)| *times > MOST_TIMES)?;
    let force = |size: f64| words::quantity(structure, size, Dimension::FORCE);
    let axial = result.axial[member];
    let sense = if axial < 0.0 { "compression" } else { "tension" };
    let (name, under) = (structure.member_name(member), loads::under(structure, result.subject));
    Some(
        Diagnostic::new(
            Slug::LargeForces,
            format!("forces are {} times all the loads together{under}", format::trimmed(times, 3)),
        )
        .label(structure.members[member].origin, format!("{name} carries {} {sense}", force(axial.abs())))
        .why(format!("The sizes of all the loads add up to {}.", force(loads)))
        .why("The layout is close to a mechanism: a small change of a coordinate changes the forces greatly.")
        .help(format!("look whether the layout is meant, or `allow {}`", Slug::LargeForces.word())),
    )
}

/// What acts in a case, its couples as forces on the arm of the shortest
/// member; `None` for a combination, and where anything acts that is no load.
fn size_of_loads(structure: &Structure, subject: Subject) -> Option<f64> {
    let Subject::Case(id) = subject else { return None };
    if structure.cases[id].loads.iter().any(|load| load.kind.is_imposed()) {
        return None;
    }
    let (forces, couples) = spans::sizes(structure, id);
    let lengths = structure.members.ids().map(|member| structure.member_length(member));
    let arm = lengths.fold(f64::INFINITY, f64::min);
    Some(if couples > 0.0 { forces + couples / arm } else { forces })
}

/// A layout in which no figure of a force would be left.
pub fn too_sensitive(structure: &Structure, points: &Points, condition: f64, weakest: Option<JointId>) -> Diagnostic {
    let times = if condition.is_finite() {
        format!("up to {} times", rough(condition))
    } else {
        "more than 1e16 times".to_owned()
    };
    let left = digits(condition);
    let told = Diagnostic::new(Slug::TooSensitive, "no forces can be quoted: the layout is all but a mechanism");
    let magnified = format!(
        "It is stable as written, but magnifies loads, or changes in its data, {times}; of the 16 figures of \
         double precision at most {left} would be left."
    );
    about_layout(told, structure, points, weakest, magnified)
}

/// Asks double precision whether a rounded layout is stable; where it cannot
/// tell, the verdict is not settled.
pub fn settle_by_doubles(
    structure: &Structure,
    equilibrium: &Equilibrium,
    verdict: &mut Verdict,
) -> Option<Diagnostic> {
    if !verdict.kind.is_stable() || structure.is_rational() {
        return None;
    }
    let weakest = match solve::confirmation(equilibrium, verdict) {
        Err(SolveError::TooSensitive { weakest, .. }) => weakest,
        Err(SolveError::Numeric(NumericError::Singular)) => None,
        _ => return None,
    };
    verdict.kind = VerdictKind::NotSettled;
    let told = |headline: String| Diagnostic::new(Slug::TooSensitive, headline);
    let rounded = "Coordinates or directions from angles and roots are rounded to 16 figures; within that rounding it \
                   can move, so no claim on the verdict or on forces is judged."
        .to_owned();
    let but_for_rounding = match nearly_at_fault(structure, equilibrium) {
        Some(SupportFault::Concurrent { point, .. }) => {
            format!("but for rounding, all reactions pass through {}", words::place(structure, point))
        }
        Some(SupportFault::Parallel { direction: [x, y] }) => {
            format!("but for rounding, all reactions are parallel and it can slide {}", words::line([-y, x]))
        }
        other => {
            let told = told("the verdict is not settled: within rounding, the layout is a mechanism".to_owned());
            return Some(match other {
                None => about_layout(told, structure, equilibrium.points(), weakest, rounded),
                Some(_) => words::at_first_joint(told, structure, HERE).why(rounded),
            });
        }
    };
    let mut told = told(format!("the verdict is not settled: {but_for_rounding}")).why(rounded);
    told.cures = stability::support_cures(structure);
    Some(stability::with_reactions(told, structure))
}

pub fn numeric(structure: &Structure, error: NumericError) -> Diagnostic {
    let why = match error {
        NumericError::TooLarge { entries } => {
            format!("It would take {entries} numbers, more than the limit this program keeps.")
        }
        NumericError::NotAFlexibility { .. } => "A stiffness is too large or too small to compute with.".to_owned(),
        NumericError::OutOfMemory => "The memory it takes could not be had.".to_owned(),
        NumericError::Singular => "In double precision the equations cannot be told from singular ones.".to_owned(),
        NumericError::Unlucky => "The random numbers behind the exact verdict failed their own proof.".to_owned(),
        NumericError::NotFinite { .. } | NumericError::NotFiniteRight { .. } => {
            "Lengths or forces are too large or too small for double precision (about 1e-308 to 1e308).".to_owned()
        }
        NumericError::NotSquare { rows, columns } => {
            format!("There are {rows} equations for {columns} unknowns.")
        }
        NumericError::RowOutOfRange { .. } | NumericError::Mismatch { .. } => {
            "The equations were put together wrongly: this is a fault of the program, not of the file.".to_owned()
        }
    };
    words::at_first_joint(Diagnostic::new(Slug::NotComputable, "the equations cannot be solved"), structure, HERE)
        .why(why)
}

pub fn rigid_redundancy(structure: &Structure) -> Diagnostic {
    let mut told = Diagnostic::new(Slug::RigidRedundancy, "rigid members share a redundancy that nothing decides");
    let is_rigid = |section: &&Section| {
        [&section.axial_stiffness, &section.bending_stiffness].iter().any(|own| matches!(own, Some(Stiffness::Rigid)))
    };
    let rigid = structure.sections.iter().filter(is_rigid);
    for section in rigid.take(MOST_LABELS) {
        let name = structure.names.get(section.name);
        told = told.label(section.origin, format!("members of section {name} do not give"));
    }
    told.why("Between members that do not give at all, no compatibility tells how they share the force.")
        .help("give one of them a stiffness in place of `rigid`")
}

/// Why a layout is sensitive, at the joint where its members are most nearly
/// in one line, where there is one; otherwise at that where a force is
/// magnified most, if it is known.
fn about_layout(
    told: Diagnostic,
    structure: &Structure,
    points: &Points,
    weakest: Option<JointId>,
    magnified: String,
) -> Diagnostic {
    let Some((joint, sine)) = narrowest(structure, points) else {
        let told = match weakest {
            Some(joint) => told.label(structure.joints[joint].origin, "a force here is magnified most"),
            None => words::at_first_joint(told, structure, HERE),
        };
        return told
            .why(magnified)
            .help("look for members almost in one line, or reactions whose lines almost meet in a point or are almost parallel");
    };
    let name = structure.joint_name(joint);
    let off = if sine > 1e-4 { format!("1 in {:.0}", 1.0 / sine) } else { format!("1 in {}", rough(1.0 / sine)) };
    told.label(structure.joints[joint].origin, format!("the members at {name} are all but in one line: {off} off it"))
        .why(magnified)
        .why(format!(
            "A force at {name} square to its members is balanced by their small parts across the line alone, so the \
             force in each is of the order of {} times as large.",
            rough(1.0 / sine)
        ))
        .help(format!("move {name} further off the line of its members, or give it a member across"))
}

/// The joint without a support whose members are most nearly in one line, and
/// the sine of the widest angle between two of them, if that is narrow.
fn narrowest(structure: &Structure, points: &Points) -> Option<(JointId, f64)> {
    let mut first: IdVec<JointId, Option<[f64; 2]>> = IdVec::filled(&structure.joints, None);
    let mut widest = IdVec::filled(&structure.joints, 0.0_f64);
    for member in &structure.members {
        let [ux, uy] = points.difference(member.start, member.end);
        let length = ux.hypot(uy);
        let along = [ux / length, uy / length];
        for joint in [member.start, member.end] {
            let [ax, ay] = *first[joint].get_or_insert(along);
            widest[joint] = widest[joint].max((ax * along[1] - ay * along[0]).abs());
        }
    }
    let is_narrow =
        |(joint, sine): &(JointId, &f64)| **sine > 0.0 && **sine < NARROW && structure.support_at(*joint).is_none();
    let narrowest = widest.entries().filter(is_narrow).min_by(|a, b| a.1.total_cmp(b.1))?;
    Some((narrowest.0, *narrowest.1))
}

/// Digits that survive a condition number in double precision.
fn digits(condition: f64) -> usize {
    let lost = condition.log10().ceil().clamp(0.0, 16.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let lost = lost as usize;
    16 - lost
}
