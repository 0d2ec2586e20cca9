//! Random frames whose degree of redundancy is known, because they are grown
//! step by step: a piece held by three reactions, then cantilevers, hinged
//! spans on a roller, three-hinged arches, pairs of bars; then what is more
//! than needed.

use super::frame::{Delivery, Frame, Hold, Kind, Load, Measure, Member, Rng};

/// What the loads of a grown frame may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Acting {
    /// Forces and couples only.
    Loads,
    /// Heat, misfits and settlements too.
    Everything,
}

pub fn determinate(seed: u64, steps: usize, acting: Acting) -> Frame {
    let mut rng = Rng(seed);
    let mut frame = Frame::default();
    begin(&mut frame, &mut rng);
    for _ in 0..steps {
        grow(&mut frame, &mut rng);
    }
    load(&mut frame, &mut rng, acting);
    frame
}

pub fn redundant(seed: u64, steps: usize, extras: usize, acting: Acting) -> Frame {
    let mut rng = Rng(seed);
    let mut frame = Frame::default();
    begin(&mut frame, &mut rng);
    for _ in 0..steps {
        grow(&mut frame, &mut rng);
    }
    for _ in 0..extras {
        add(&mut frame, &mut rng);
    }
    load(&mut frame, &mut rng, acting);
    frame
}

fn direction(rng: &mut Rng) -> [f64; 2] {
    let (sin, cos) = rng.between(0.0, std::f64::consts::TAU, 3).sin_cos();
    [cos, sin].map(|part| (part * 1000.0).round() / 1000.0)
}

fn cross([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    ax * by - ay * bx
}

fn beam(rng: &mut Rng, a: usize, b: usize, hinged: [bool; 2]) -> Member {
    let (ea, ei) = (rng.between(2e8, 2e9, 0), rng.between(4e6, 8e7, 0));
    if rng.chance(5) {
        Member { ends: [a, b], kind: Kind::Beam, hinged, ea, ei }
    } else {
        Member { ends: [b, a], kind: Kind::Beam, hinged: [hinged[1], hinged[0]], ea, ei }
    }
}

fn bar(rng: &mut Rng, a: usize, b: usize) -> Member {
    Member { kind: Kind::Bar, ..beam(rng, a, b, [true; 2]) }
}

/// A line whose angle to a direction is not small.
fn across(rng: &mut Rng, along: [f64; 2]) -> [f64; 2] {
    loop {
        let line = direction(rng);
        if cross(along, line).abs() > 0.4 * along[0].hypot(along[1]) * line[0].hypot(line[1]) {
            return line;
        }
    }
}

fn begin(frame: &mut Frame, rng: &mut Rng) {
    frame.joints.push([rng.between(-3.0, 3.0, 2), rng.between(-3.0, 3.0, 2)]);
    let far = loop {
        if let Some(far) = free_place(frame, rng, &[0]) {
            break far;
        }
    };
    frame.joints.push(far);
    let member = beam(rng, 0, 1, [false; 2]);
    frame.members.push(member);
    match rng.below(5) {
        0 => frame.supports.push((0, Hold::Fixed)),
        1 => {
            let force = [Some(rng.between(5e6, 9e7, 0)), Some(rng.between(5e6, 9e7, 0))];
            frame.supports.push((0, Hold::Spring { force, turn: Some(rng.between(2e6, 9e7, 0)) }));
        }
        kind => {
            let from = [far[0] - frame.joints[0][0], far[1] - frame.joints[0][1]];
            if kind == 2 {
                // Slides along the guide until the roller stops it.
                let free = direction(rng);
                let normal = across(rng, [-free[1], free[0]]);
                frame.supports.push((0, Hold::Guide(free)));
                frame.supports.push((1, Hold::Roller(normal)));
            } else {
                let normal = across(rng, from);
                frame.supports.push((0, Hold::Pin));
                frame.supports.push((1, Hold::Roller(normal)));
            }
        }
    }
}

fn grow(frame: &mut Frame, rng: &mut Rng) {
    let count = frame.joints.len();
    let from = rng.below(count);
    let new = count;
    match rng.below(5) {
        // A cantilever from a joint that turns with the rest.
        0 | 1 if frame.turns(from) => {
            let Some(at) = free_place(frame, rng, &[from]) else { return };
            frame.joints.push(at);
            let member = beam(rng, from, new, [false; 2]);
            frame.members.push(member);
        }
        // A hinged span with a roller at its far end.
        2 => {
            let Some(at) = free_place(frame, rng, &[from]) else { return };
            let along = [at[0] - frame.joints[from][0], at[1] - frame.joints[from][1]];
            frame.joints.push(at);
            let member = beam(rng, from, new, [true, false]);
            frame.members.push(member);
            let normal = across(rng, along);
            frame.supports.push((new, Hold::Roller(normal)));
        }
        // Two pieces and three hinges, not in a line.
        3 | 4 => {
            let to = rng.below(count);
            let Some(at) = free_place(frame, rng, &[from, to]) else { return };
            let [[px, py], [qx, qy]] = [frame.joints[from], frame.joints[to]];
            let (p, q) = ([px - at[0], py - at[1]], [qx - at[0], qy - at[1]]);
            let lean = cross(p, q) / (p[0].hypot(p[1]) * q[0].hypot(q[1]));
            if from == to || lean.abs() < 0.3 {
                return;
            }
            frame.joints.push(at);
            let members = if rng.chance(6) {
                [beam(rng, from, new, [true; 2]), beam(rng, to, new, [true; 2])]
            } else {
                [bar(rng, from, new), bar(rng, to, new)]
            };
            frame.members.extend(members);
        }
        _ => {}
    }
}

/// One thing more than statics needs.
fn add(frame: &mut Frame, rng: &mut Rng) {
    let count = frame.joints.len();
    let (a, b) = (rng.below(count), rng.below(count));
    let joined = |frame: &Frame, a: usize, b: usize| frame.members.iter().any(|m| m.ends == [a, b] || m.ends == [b, a]);
    match rng.below(7) {
        0 if a != b && !joined(frame, a, b) && clear_between(frame, a, b) => {
            let member = bar(rng, a, b);
            frame.members.push(member);
            frame.redundancy += 1;
        }
        1 | 2 if a != b && !joined(frame, a, b) && clear_between(frame, a, b) => {
            let hinged = [!frame.turns(a) || rng.chance(3), !frame.turns(b) || rng.chance(3)];
            let member = beam(rng, a, b, hinged);
            frame.members.push(member);
            frame.redundancy += 3 - hinged.iter().filter(|end| **end).count() as u64;
        }
        3 | 4 if frame.support(a).is_none() => {
            let turns = frame.turns(a);
            let (hold, more) = match rng.below(5) {
                0 => (Hold::Pin, 2),
                1 if turns => (Hold::Fixed, 3),
                2 if turns => (Hold::Guide(direction(rng)), 2),
                3 => (Hold::Spring { force: [None, Some(rng.between(5e6, 9e7, 0))], turn: None }, 1),
                _ => (Hold::Roller(direction(rng)), 1),
            };
            frame.supports.push((a, hold));
            frame.redundancy += more;
        }
        5 => {
            // A strut, hinged at the old joint, to a pin that its foot can turn on.
            let Some(at) = free_place(frame, rng, &[a]) else { return };
            frame.joints.push(at);
            let strut = beam(rng, a, count, [false; 2]);
            let hinged = strut.ends.map(|end| end == a);
            frame.members.push(Member { hinged, ..strut });
            frame.supports.push((count, Hold::Pin));
            frame.redundancy += 1;
        }
        _ => {
            // A hinge made rigid, where the joint already turns.
            let ends = (0..frame.members.len()).flat_map(|m| [(m, 0), (m, 1)]);
            let hinges: Vec<(usize, usize)> = ends
                .filter(|(m, end)| {
                    let member = &frame.members[*m];
                    member.kind == Kind::Beam && member.hinged[*end] && frame.turns(member.ends[*end])
                })
                .collect();
            if hinges.is_empty() {
                return;
            }
            let (member, end) = hinges[rng.below(hinges.len())];
            frame.members[member].hinged[end] = false;
            frame.redundancy += 1;
        }
    }
}

/// A place a few metres from some joints and clear of all there is.
fn free_place(frame: &Frame, rng: &mut Rng, near: &[usize]) -> Option<[f64; 2]> {
    for _ in 0..40 {
        let [x, y] = frame.joints[near[0]];
        let ([dx, dy], far) = (direction(rng), rng.between(1.5, 5.0, 2));
        let at = [x + dx * far, y + dy * far].map(|part| (part * 100.0).round() / 100.0);
        let apart = frame.joints.iter().all(|joint| (joint[0] - at[0]).hypot(joint[1] - at[1]) > 0.8);
        let off = frame.members.iter().all(|m| distance(at, frame.joints[m.ends[0]], frame.joints[m.ends[1]]) > 0.3);
        let clear = near.iter().all(|start| clear(frame, frame.joints[*start], at, &[*start]));
        if apart && off && clear {
            return Some(at);
        }
    }
    None
}

fn clear_between(frame: &Frame, a: usize, b: usize) -> bool {
    clear(frame, frame.joints[a], frame.joints[b], &[a, b])
}

/// Whether a line between two points stays clear of all other joints.
fn clear(frame: &Frame, a: [f64; 2], b: [f64; 2], but: &[usize]) -> bool {
    frame.joints.iter().enumerate().all(|(index, joint)| but.contains(&index) || distance(*joint, a, b) > 0.2)
}

fn distance(point: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (u, v) = ([b[0] - a[0], b[1] - a[1]], [point[0] - a[0], point[1] - a[1]]);
    let t = ((u[0] * v[0] + u[1] * v[1]) / (u[0] * u[0] + u[1] * u[1])).clamp(0.0, 1.0);
    (v[0] - u[0] * t).hypot(v[1] - u[1] * t)
}

/// Loads of every kind.
pub fn load(frame: &mut Frame, rng: &mut Rng, acting: Acting) {
    let beams: Vec<usize> = (0..frame.members.len()).filter(|m| frame.members[*m].kind == Kind::Beam).collect();
    let kinds = if acting == Acting::Loads { 6 } else { 10 };
    let vector = |rng: &mut Rng, size: f64| [rng.between(-size, size, 0), rng.between(-size, size, 0)];
    for _ in 0..3 + rng.below(5) {
        let joint = rng.below(frame.joints.len());
        let load = match rng.below(kinds) {
            0 => Load::Force { joint, force: vector(rng, 5e4) },
            1 if frame.turns(joint) => Load::Couple { joint, moment: rng.between(-4e4, 4e4, 0) },
            kind @ 2..=5 if !beams.is_empty() => {
                let member = beams[rng.below(beams.len())];
                let (length, from_end) = (frame.length(member), rng.below(2));
                let share = rng.between(0.05, 0.6, 2);
                let at = (share * length * 1000.0).round() / 1000.0;
                match kind {
                    2 => Load::Point { member, from_end, at, force: vector(rng, 5e4) },
                    3 => Load::Twist { member, from_end, at, moment: rng.between(-4e4, 4e4, 0) },
                    _ => {
                        let to = at + ((length - at) * rng.between(0.2, 0.95, 2) * 1000.0).round() / 1000.0;
                        let start = vector(rng, 2e4);
                        let measure = [Measure::Length, Measure::Run, Measure::Rise][rng.below(3)];
                        let delivery = if rng.chance(2) { Delivery::AtJoints } else { Delivery::Along };
                        let factor = rng.between(0.1, 2.0, 1);
                        // In proportion where the joints take it, any way elsewhere.
                        let end = if delivery == Delivery::AtJoints {
                            start.map(|part| (part * factor * 10.0).round() / 10.0)
                        } else {
                            vector(rng, 2e4)
                        };
                        Load::Spread { member, from_end, stretch: [at, to], intensity: [start, end], measure, delivery }
                    }
                }
            }
            6 if !frame.members.is_empty() => {
                Load::Heat { member: rng.below(frame.members.len()), rise: rng.between(-30.0, 40.0, 0) }
            }
            7 if !frame.members.is_empty() => {
                let amount = rng.between(0.001, 0.009, 4) * if rng.chance(5) { 1.0 } else { -1.0 };
                Load::Misfit { member: rng.below(frame.members.len()), amount }
            }
            8 | 9 => {
                let (joint, hold) = frame.supports[rng.below(frame.supports.len())];
                if hold.holds_rotation() && rng.chance(4) {
                    Load::Turn { joint, by: rng.between(0.0005, 0.004, 4) * if rng.chance(5) { 1.0 } else { -1.0 } }
                } else {
                    Load::Settle { joint, by: [rng.between(-0.01, 0.01, 4), rng.between(-0.01, 0.01, 4)] }
                }
            }
            _ => Load::Force { joint, force: vector(rng, 5e4) },
        };
        frame.loads.push(load);
    }
}
