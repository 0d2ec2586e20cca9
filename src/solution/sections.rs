//! The method of sections: a cut through a bar, the part kept, and the one sum
//! in which the other bars that are cut do not appear.
//!
//! Must not know: the order in which joints are taken.

use crate::base::tolerances::SAME;
use std::collections::BTreeSet;

use crate::base::{IdVec, JointId, MemberId};

use super::bodies::BodyId;
use super::part::{Acting, Balance, Centre, Sum, UnknownId};
use super::problem::{Problem, arm, cross, meeting};
use super::system::System;

/// Divisions of the joints that are looked at in one solution.
const MOST_DIVISIONS: usize = 20_000;
/// A section cuts at most so many bars of unknown force.
const MOST_CUT: usize = 6;

/// A section that gives one bar's force.
#[derive(Clone, Debug)]
pub struct Cut {
    pub bars: Vec<MemberId>,
    pub kept: BTreeSet<JointId>,
    pub why: Why,
    /// What acts on the part kept.
    pub part: Vec<Acting>,
    pub balance: Balance,
    pub gives: (UnknownId, f64),
}

/// Why a sum leaves the other bars out.
#[derive(Clone, Debug)]
pub enum Why {
    /// They meet in its centre.
    Meet(Vec<MemberId>),
    Parallel(Vec<MemberId>),
    /// No other unknown is cut.
    Alone,
}

/// What may still be looked at for sections.
pub struct Sections {
    divisions: usize,
    points: IdVec<JointId, [f64; 2]>,
}

impl Sections {
    pub fn new(problem: &Problem<'_>) -> Sections {
        Sections { divisions: MOST_DIVISIONS, points: problem.points() }
    }

    /// A straight cut through a bar that leaves its force alone in one sum; the
    /// one through fewest bars.
    pub fn find(&mut self, problem: &Problem<'_>, truss: &System, bar: MemberId) -> Option<Cut> {
        let ends = &problem.structure.members[bar];
        let [[ax, ay], [bx, by]] = [ends.start, ends.end].map(|joint| self.points[joint]);
        let mut best: Option<Cut> = None;
        for share in [0.5, 0.1, 0.9] {
            let from = [ax + (bx - ax) * share, ay + (by - ay) * share];
            for angle in angles(&self.points, from) {
                if self.divisions == 0 {
                    break;
                }
                self.divisions -= 1;
                let (sine, cosine) = angle.sin_cos();
                let side = |[x, y]: &[f64; 2]| (x - from[0]) * sine - (y - from[1]) * cosine > 0.0;
                let sides = self.points.iter().map(side).collect();
                let most = best.as_ref().map_or(usize::MAX, |cut| cut.bars.len());
                best = judge(problem, truss, bar, &sides, most).or(best);
            }
        }
        best
    }
}

/// Between every two neighbouring directions to joints, one.
fn angles(points: &[[f64; 2]], [x, y]: [f64; 2]) -> Vec<f64> {
    let half_turn = std::f64::consts::PI;
    let mut to: Vec<f64> = points.iter().map(|[px, py]| (py - y).atan2(px - x).rem_euclid(half_turn)).collect();
    to.sort_by(f64::total_cmp);
    to.dedup_by(|a, b| (*a - *b).abs() < SAME);
    let next = to.iter().skip(1).copied().chain(to.first().map(|first| first + half_turn));
    to.iter().zip(next).map(|(angle, next)| f64::midpoint(*angle, next)).collect()
}

/// Whether a division of the joints gives the bar, with fewer bars cut than `most`.
fn judge(
    problem: &Problem<'_>,
    truss: &System,
    wanted: MemberId,
    is_right: &IdVec<JointId, bool>,
    most: usize,
) -> Option<Cut> {
    let members = problem.structure.members.entries();
    let crossing = members.filter(|(_, bar)| is_right[bar.start] != is_right[bar.end]).map(|(id, _)| id);
    let bars: Vec<MemberId> = crossing.take(most).collect();
    if bars.len() == most || !bars.contains(&wanted) {
        return None;
    }
    let open: Vec<MemberId> = bars.iter().copied().filter(|bar| *bar != wanted && truss.bar(*bar).is_none()).collect();
    if open.len() > MOST_CUT {
        return None;
    }
    let (sum, why) = leaving_out(problem, wanted, open)?;
    // The part with fewer forces on it is less work.
    let forces = |right: bool| -> usize {
        let on_side = is_right.entries().filter(|(_, side)| **side == right);
        on_side.map(|(joint, _)| truss.part_at(joint).len()).sum()
    };
    let right = forces(true) < forces(false);
    let kept: BTreeSet<JointId> = is_right.entries().filter(|(_, side)| **side == right).map(|(id, _)| id).collect();
    let part = truss.part(&kept.iter().map(|joint| BodyId::new(joint.index())).collect());
    let balance = Balance::of(problem, &truss.unknowns, &part, sum);
    // Reactions not found yet may stand on the part as well.
    let (id, value) = balance.alone(problem, &truss.unknowns)?;
    Some(Cut { bars, kept, why, part, balance, gives: (id, problem.quiet(value)) })
}

/// The sum that leaves out all bars cut but the one wanted.
fn leaving_out(problem: &Problem<'_>, wanted: MemberId, open: Vec<MemberId>) -> Option<(Sum, Why)> {
    type Ray = ([f64; 2], [f64; 2]);
    let ray = |bar: &MemberId| -> Ray {
        let member = &problem.structure.members[*bar];
        (problem.at(member.start), problem.between(member.start, member.end).unit)
    };
    let is_parallel = |u: [f64; 2], v: [f64; 2]| cross(u, v).abs() < SAME;
    let passes = |at: [f64; 2], (point, unit): &Ray| problem.quiet_length(arm(at, *point, *unit)) == 0.0;
    let own = ray(&wanted);
    let rays: Vec<Ray> = open.iter().map(ray).collect();
    let [first, rest @ ..] = rays.as_slice() else {
        let [ux, uy] = own.1.map(f64::abs);
        let sum = if uy > SAME { Sum::Y } else { Sum::X };
        return (ux.max(uy) > SAME).then_some((sum, Why::Alone));
    };
    let Some(second) = rest.iter().find(|(_, unit)| !is_parallel(first.1, *unit)) else {
        return match open.as_slice() {
            // One other alone is best left out by moments about one of its ends.
            [only] if is_parallel(own.1, first.1) => {
                let sum = Sum::about(problem, problem.structure.members[*only].start);
                (!passes(first.0, &own)).then_some((sum, Why::Meet(open)))
            }
            _ if is_parallel(own.1, first.1) => None,
            _ => {
                let sum = match first.1 {
                    [_, 0.0] => Sum::Y,
                    [0.0, _] => Sum::X,
                    [ux, uy] => Sum::Along([-uy, ux]),
                };
                Some((sum, Why::Parallel(open)))
            }
        };
    };
    let at = meeting(*first, *second)?;
    if !rest.iter().all(|ray| passes(at, ray)) || passes(at, &own) {
        return None;
    }
    let joint = problem.structure.joints.ids().find(|joint| problem.is_one_place(problem.at(*joint), at));
    Some((Sum::About(at, joint.map_or(Centre::Free, Centre::Joint)), Why::Meet(open)))
}
