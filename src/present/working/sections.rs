//! The method of sections: a cut through a bar, the part kept, and the one sum
//! in which the other bars that are cut do not appear.
//!
//! Must not know: the order in which joints are taken.

use std::collections::BTreeSet;

use crate::base::{JointId, MemberId};
use crate::present::document::{Block, Formula, Line, words};

use super::joints::Truss;
use super::part::{Acting, Balance, Kind, Part, Size, Sum, UnknownId, What, arm, foot, meaning};
use super::pen::{Pen, formula, listed, say};
use super::system::meeting;

/// Divisions of the joints that are looked at in one solution.
pub const MOST_DIVISIONS: usize = 20_000;
/// A section cuts at most so many bars of unknown force.
const MOST_CUT: usize = 6;

/// A section that gives one bar's force.
pub struct Cut {
    /// The bars cut, with the joint of each on the part kept.
    bars: Vec<(MemberId, JointId)>,
    kept: BTreeSet<JointId>,
    what: Sum,
    why: Why,
}

enum Why {
    /// The others meet in a point.
    Meet(Vec<MemberId>, [f64; 2], String),
    /// The others are parallel.
    Parallel(Vec<MemberId>),
    /// No other unknown is cut.
    Alone,
}

/// A straight cut through a bar that leaves its force alone in one sum; the one
/// through fewest bars.
pub fn find(pen: &Pen<'_>, truss: &mut Truss, member: MemberId) -> Option<Cut> {
    let ends = pen.structure.member(member)?;
    let points = pen.points();
    let at = |joint: JointId| points.get(joint.index()).copied().unwrap_or_default();
    let ([ax, ay], [bx, by]) = (at(ends.start), at(ends.end));
    let mut best: Option<(usize, Cut)> = None;
    for share in [0.5, 0.1, 0.9] {
        let from = [ax + (bx - ax) * share, ay + (by - ay) * share];
        for angle in angles(&points, from) {
            if truss.divisions == 0 {
                break;
            }
            truss.divisions -= 1;
            let (sine, cosine) = angle.sin_cos();
            let side = |[x, y]: &[f64; 2]| (x - from[0]) * sine - (y - from[1]) * cosine > 0.0;
            let sides: Vec<bool> = points.iter().map(side).collect();
            let known = best.as_ref().map_or(usize::MAX, |(count, _)| *count);
            if let Some(found) = judge(pen, truss, member, &sides, known) {
                best = Some(found);
            }
        }
    }
    best.map(|(_, cut)| cut)
}

/// Between every two neighbouring directions to joints, one.
fn angles(points: &[[f64; 2]], [x, y]: [f64; 2]) -> Vec<f64> {
    let half_turn = std::f64::consts::PI;
    let mut to: Vec<f64> = points.iter().map(|[px, py]| (py - y).atan2(px - x).rem_euclid(half_turn)).collect();
    to.sort_by(f64::total_cmp);
    to.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let next = to.iter().skip(1).copied().chain(to.first().map(|first| first + half_turn));
    to.iter().zip(next).map(|(angle, next)| f64::midpoint(*angle, next)).collect()
}

/// Whether a division of the joints gives the bar, with fewer bars cut than known.
fn judge(pen: &Pen<'_>, truss: &Truss, member: MemberId, sides: &[bool], known: usize) -> Option<(usize, Cut)> {
    let structure = pen.structure;
    let is_right = |joint: JointId| sides.get(joint.index()).copied().unwrap_or(false);
    let mut crossing: Vec<MemberId> = Vec::new();
    for (index, bar) in structure.members.iter().enumerate() {
        if is_right(bar.start) != is_right(bar.end) {
            crossing.push(MemberId::new(index));
            if crossing.len() >= known {
                return None;
            }
        }
    }
    if !crossing.contains(&member) {
        return None;
    }
    let open: Vec<MemberId> =
        crossing.iter().copied().filter(|bar| *bar != member && truss.bar(*bar).is_none()).collect();
    if open.len() > MOST_CUT {
        return None;
    }
    let line = |bar: MemberId| {
        let joint = structure.member(bar)?.start;
        Some((pen.at(joint), pen.between(joint, structure.member(bar)?.end).unit))
    };
    let lines: Vec<([f64; 2], [f64; 2])> = open.iter().filter_map(|bar| line(*bar)).collect();
    let own = line(member)?;
    let (what, why) = match lines.as_slice() {
        [] => {
            let [ux, uy] = own.1;
            let what = if uy.abs() > 1e-9 {
                Sum::y()
            } else if ux.abs() > 1e-9 {
                Sum::x()
            } else {
                return None;
            };
            (what, Why::Alone)
        }
        [(_, [ux, uy]), rest @ ..] if rest.iter().all(|(_, [vx, vy])| (ux * vy - uy * vx).abs() < 1e-9) => {
            // One other alone is best left out by moments about one of its ends.
            if let ([only], [bar]) = (lines.as_slice(), open.as_slice())
                && (own.1[0] * uy - own.1[1] * ux).abs() < 1e-9
            {
                let joint = structure.member(*bar)?.start;
                let at = pen.at(joint);
                if pen.quiet_length(arm(at, own.0, own.1)) == 0.0 {
                    return None;
                }
                let _ = only;
                let name = pen.joint(joint).to_owned();
                (Sum::About(at, name.clone()), Why::Meet(open.clone(), at, name))
            } else if (own.1[0] * uy - own.1[1] * ux).abs() < 1e-9 {
                return None;
            } else if *uy == 0.0 {
                (Sum::y(), Why::Parallel(open.clone()))
            } else if *ux == 0.0 {
                (Sum::x(), Why::Parallel(open.clone()))
            } else {
                (Sum::Along([-uy, *ux], super::pen::symbol("ΣF", "⊥")), Why::Parallel(open.clone()))
            }
        }
        [first, rest @ ..] => {
            let second = rest.iter().find(|(_, [vx, vy])| (first.1[0] * vy - first.1[1] * vx).abs() >= 1e-9)?;
            let at = meeting(*first, *second)?;
            let through = |(point, unit): &([f64; 2], [f64; 2])| pen.quiet_length(arm(at, *point, *unit)) == 0.0;
            if !rest.iter().all(through) || through(&own) {
                return None;
            }
            let joint = (0..structure.joints.len()).map(JointId::new).find(|joint| {
                let [x, y] = pen.at(*joint);
                pen.quiet_length(x - at[0]) == 0.0 && pen.quiet_length(y - at[1]) == 0.0
            });
            let name = joint.map_or_else(|| pen.letter(), |joint| pen.joint(joint)).to_owned();
            (Sum::About(at, name.clone()), Why::Meet(open.clone(), at, name))
        }
    };
    // The part with fewer forces on it is less work.
    let forces = |right: bool| -> usize {
        let on = |(joint, part): (usize, &Part)| {
            if sides.get(joint).copied().unwrap_or(false) == right { part.forces.len() } else { 0 }
        };
        truss.joints.iter().enumerate().map(on).sum()
    };
    let right = forces(true) < forces(false);
    let kept: BTreeSet<JointId> =
        (0..structure.joints.len()).map(JointId::new).filter(|joint| is_right(*joint) == right).collect();
    let bars: Vec<(MemberId, JointId)> = crossing
        .iter()
        .filter_map(|bar| {
            let ends = structure.member(*bar)?;
            Some((*bar, if kept.contains(&ends.start) { ends.start } else { ends.end }))
        })
        .collect();
    let cut = Cut { bars, kept, what, why };
    // Reactions not found yet may stand on the part as well.
    let balance = balance(pen, truss, &cut);
    matches!(balance.open.as_slice(), [_]).then(|| (crossing.len(), cut))
}

fn part(truss: &Truss, cut: &Cut) -> Part {
    let cut_ids: BTreeSet<UnknownId> =
        cut.bars.iter().filter_map(|(bar, _)| truss.bars.get(bar.index()).copied()).collect();
    let bars: BTreeSet<UnknownId> = truss.bars.iter().copied().collect();
    let on_kept = cut.kept.iter().filter_map(|joint| truss.joints.get(joint.index()));
    let forces = on_kept
        .flat_map(|part| part.forces.iter().cloned())
        .filter(|acting: &Acting| match acting.size {
            // Bars within the part pull both ways and cancel.
            Size::Unknown(id, _) => !bars.contains(&id) || cut_ids.contains(&id),
            Size::Load(_) | Size::Found(_) => true,
        })
        .collect();
    Part { forces }
}

fn balance(pen: &Pen<'_>, truss: &Truss, cut: &Cut) -> Balance {
    part(truss, cut).balance(pen, &truss.unknowns, &cut.what)
}

/// Tells a section and the force it gives.
pub fn tell(pen: &Pen<'_>, truss: &mut Truss, cut: &Cut, blocks: &mut Vec<Block>) {
    let structure = pen.structure;
    let names =
        |members: &[MemberId]| -> Vec<String> { members.iter().map(|bar| structure.member_name(*bar)).collect() };
    let all: Vec<MemberId> = cut.bars.iter().map(|(bar, _)| *bar).collect();
    blocks.push(Block::Heading { level: 3, text: words(format!("Section through {}", listed(&names(&all)))) });
    let kept: Vec<String> = cut.kept.iter().map(|joint| pen.joint(*joint).to_owned()).collect();
    let kept = match kept.as_slice() {
        [only] => format!("joint {only}"),
        [first, .., last] if kept.len() > 8 => format!("the part with joints {first} … {last} ({})", kept.len()),
        several => format!("the part with joints {}", listed(several)),
    };
    let mut line: Line = vec![say(format!("Keep {kept}. The bars cut pull on it. "))];
    match &cut.why {
        Why::Alone => line.push(say("No other unknown force appears in the sum.")),
        Why::Parallel(others) => line.push(say(match others.as_slice() {
            [_] => format!("The sum of forces square to {} leaves it out.", listed(&names(others))),
            _ => format!("{} are parallel: the sum of forces square to them leaves them out.", listed(&names(others))),
        })),
        Why::Meet(others, at, name) => {
            let point = if pen.is_no_joint(name) { format!("{name} {}", pen.point(*at)) } else { name.clone() };
            line.push(say(match others.as_slice() {
                [_] => format!("{} passes through {point}: moments about {name} leave it out.", listed(&names(others))),
                _ => format!("{} meet at {point}: moments about {name} leave them out.", listed(&names(others))),
            }));
        }
    }
    blocks.push(Block::Paragraph(line));
    let part = part(truss, cut);
    let balance = part.balance(pen, &truss.unknowns, &cut.what);
    if let Sum::About(centre, name) = &cut.what {
        let slanted: Vec<Line> = part
            .forces
            .iter()
            .filter_map(|acting| match (&acting.kind, acting.size) {
                (Kind::Force(direction), Size::Unknown(id, _)) if direction.cosines.is_some() => {
                    let lever = pen.quiet_length(arm(*centre, acting.at, direction.unit));
                    if lever == 0.0 {
                        return None;
                    }
                    let symbol = truss.unknowns.get(id).map(|unknown| unknown.symbol.clone())?;
                    Some(arm_of(pen, symbol, lever, foot(*centre, acting.at, direction.unit), name))
                }
                _ => None,
            })
            .collect();
        if !slanted.is_empty() {
            blocks.push(Block::List(slanted));
        }
    }
    let Some((id, value, lines)) = balance.solve(pen, &truss.unknowns, &cut.what) else { return };
    let value = pen.quiet(value);
    let mut steps = vec![balance.statement(&cut.what)];
    for mut step in lines {
        step.remark = meaning(pen, What::Bar, value, [0.0; 2]);
        steps.push(step);
    }
    truss.set(id, value);
    blocks.push(Block::Working(steps));
}

fn arm_of(pen: &Pen<'_>, symbol: Formula, lever: f64, foot: [f64; 2], name: &str) -> Line {
    vec![
        say("Arm of "),
        formula(symbol),
        say(format!(" about {name}: ")),
        formula(pen.length(lever.abs())),
        say(format!(", the perpendicular on its line, foot at {}.", pen.point(foot))),
    ]
}
