//! The displacement method as textbooks give it (common practice): element
//! stiffness of a prismatic member, ends released by condensation, supports
//! as constraints with multipliers, dense. Nothing of it comes from the
//! program it is held against.

use nalgebra::{DMatrix, DVector, SMatrix, SVector};

use super::frame::{EXPANSION, Frame, Hold, Kind, Load, Local};

type Stiffness = SMatrix<f64, 6, 6>;
type Ends = SVector<f64, 6>;

/// Of a support: the row's coefficients by place, and what it equals.
type Constraint = (usize, Vec<(usize, f64)>, f64);

pub struct Answer {
    /// Of each member: axial, shear and moment at its start and at its end,
    /// tension positive, moments positive with tension on the right-hand side.
    pub ends: Vec<[[f64; 3]; 2]>,
    /// x, y and rotation of each joint.
    pub moved: Vec<[f64; 3]>,
    /// Fx, Fy and M on the structure, of each support.
    pub reactions: Vec<[f64; 3]>,
}

/// `None` where the equations are singular.
pub fn solve(frame: &Frame) -> Option<Answer> {
    let turns: Vec<bool> = (0..frame.joints.len()).map(|joint| frame.turns(joint)).collect();
    let mut first = Vec::new();
    let mut size = 0;
    for turns in &turns {
        first.push(size);
        size += if *turns { 3 } else { 2 };
    }
    let rotation = |joint: usize| turns[joint].then(|| first[joint] + 2);
    let mut matrix = DMatrix::<f64>::zeros(size, size);
    let mut loads = DVector::<f64>::zeros(size);
    for (joint, sums) in frame.on_joints().into_iter().enumerate() {
        loads[first[joint]] += sums[0];
        loads[first[joint] + 1] += sums[1];
        if let Some(row) = rotation(joint) {
            loads[row] += sums[2];
        }
    }
    let mut elements = Vec::new();
    for member in 0..frame.members.len() {
        let (stiffness, equivalent) = element(frame, member);
        let turn = turn_matrix(frame.axis(member));
        let [a, b] = frame.members[member].ends;
        let places = [Some(first[a]), Some(first[a] + 1), rotation(a), Some(first[b]), Some(first[b] + 1), rotation(b)];
        let (global, pushed) = (turn.transpose() * stiffness * turn, turn.transpose() * equivalent);
        for (i, row) in places.iter().enumerate() {
            let Some(row) = row else { continue };
            loads[*row] += pushed[i];
            for (j, column) in places.iter().enumerate() {
                if let Some(column) = column {
                    matrix[(*row, *column)] += global[(i, j)];
                }
            }
        }
        elements.push((stiffness, equivalent, turn, places));
    }

    let settled = settled(frame);
    let mut constraints: Vec<Constraint> = Vec::new();
    for (index, (joint, hold)) in frame.supports.iter().enumerate() {
        let ([sx, sy, st], x) = (settled[*joint], first[*joint]);
        let line = |[nx, ny]: [f64; 2]| {
            let length = nx.hypot(ny);
            let (nx, ny) = (nx / length, ny / length);
            (index, vec![(x, nx), (x + 1, ny)], nx * sx + ny * sy)
        };
        let turn = || (index, vec![(rotation(*joint).unwrap(), 1.0)], st);
        match hold {
            Hold::Pin => constraints.extend([line([1.0, 0.0]), line([0.0, 1.0])]),
            Hold::Fixed => constraints.extend([line([1.0, 0.0]), line([0.0, 1.0]), turn()]),
            Hold::Roller(normal) => constraints.push(line(*normal)),
            Hold::Guide([fx, fy]) => constraints.extend([line([-fy, *fx]), turn()]),
            Hold::Spring { force, turn } => {
                let parts = [(force[0], Some(x), sx), (force[1], Some(x + 1), sy), (*turn, rotation(*joint), st)];
                for (k, place, settled) in parts {
                    if let (Some(k), Some(place)) = (k, place) {
                        matrix[(place, place)] += k;
                        loads[place] += k * settled;
                    }
                }
            }
        }
    }
    let whole = size + constraints.len();
    let mut bordered = DMatrix::<f64>::zeros(whole, whole);
    bordered.view_mut((0, 0), (size, size)).copy_from(&matrix);
    let mut right = DVector::<f64>::zeros(whole);
    right.rows_mut(0, size).copy_from(&loads);
    // Multipliers are forces; a factor brings them to the size of the rest.
    let scale = matrix.amax();
    for (row, (_, coefficients, value)) in constraints.iter().enumerate() {
        for (place, coefficient) in coefficients {
            bordered[(size + row, *place)] = coefficient * scale;
            bordered[(*place, size + row)] = coefficient * scale;
        }
        right[size + row] = value * scale;
    }
    let found = bordered.full_piv_lu().solve(&right)?;

    let mut reactions = vec![[0.0; 3]; frame.supports.len()];
    for (row, (support, coefficients, _)) in constraints.iter().enumerate() {
        let joint = frame.supports[*support].0;
        for (place, coefficient) in coefficients {
            reactions[*support][place - first[joint]] -= coefficient * scale * found[size + row];
        }
    }
    for (index, (joint, hold)) in frame.supports.iter().enumerate() {
        if let Hold::Spring { force, turn } = hold {
            for (part, k) in [force[0], force[1], *turn].into_iter().enumerate() {
                if let Some(k) = k {
                    reactions[index][part] = k * (settled[*joint][part] - found[first[*joint] + part]);
                }
            }
        }
    }
    let ends = elements
        .iter()
        .map(|(stiffness, equivalent, turn, places)| {
            let moved = Ends::from_iterator(places.iter().map(|place| place.map_or(0.0, |place| found[place])));
            let q = stiffness * (turn * moved) - equivalent;
            [[-q[0], q[1], -q[2]], [q[3], -q[4], q[5]]]
        })
        .collect();
    let moved = (0..frame.joints.len())
        .map(|joint| [found[first[joint]], found[first[joint] + 1], rotation(joint).map_or(0.0, |row| found[row])])
        .collect();
    Some(Answer { ends, moved, reactions })
}

fn settled(frame: &Frame) -> Vec<[f64; 3]> {
    let mut settled = vec![[0.0; 3]; frame.joints.len()];
    for load in &frame.loads {
        match *load {
            Load::Settle { joint, by: [x, y] } => {
                settled[joint][0] += x;
                settled[joint][1] += y;
            }
            Load::Turn { joint, by } => settled[joint][2] += by,
            _ => {}
        }
    }
    settled
}

fn turn_matrix([c, s]: [f64; 2]) -> Stiffness {
    let mut turn = Stiffness::identity();
    for start in [0, 3] {
        turn[(start, start)] = c;
        turn[(start, start + 1)] = s;
        turn[(start + 1, start)] = -s;
        turn[(start + 1, start + 1)] = c;
    }
    turn
}

/// Stiffness and equivalent end loads of a member in its own axes.
fn element(frame: &Frame, index: usize) -> (Stiffness, Ends) {
    let (member, l) = (&frame.members[index], frame.length(index));
    let (a, e) = (member.ea / l, if member.kind == Kind::Bar { 0.0 } else { member.ei });
    let (v, m) = (12.0 * e / (l * l * l), 6.0 * e / (l * l));
    let (near, far) = (4.0 * e / l, 2.0 * e / l);
    #[rustfmt::skip]
    let mut stiffness = Stiffness::from_row_slice(&[
        a, 0.0, 0.0, -a, 0.0, 0.0,
        0.0, v, m, 0.0, -v, m,
        0.0, m, near, 0.0, -m, far,
        -a, 0.0, 0.0, a, 0.0, 0.0,
        0.0, -v, -m, 0.0, v, -m,
        0.0, m, far, 0.0, -m, near,
    ]);
    let mut ends = Ends::zeros();
    for local in frame.spans(index) {
        ends += equivalent(local, l);
    }
    for load in &frame.loads {
        let longer = match *load {
            Load::Heat { member, rise } if member == index => EXPANSION * rise,
            Load::Misfit { member, amount } if member == index => amount / l,
            _ => continue,
        };
        ends[0] -= member.ea * longer;
        ends[3] += member.ea * longer;
    }
    if member.kind == Kind::Beam {
        for (end, place) in [(0, 2), (1, 5)] {
            let pivot = stiffness[(place, place)];
            if member.hinged[end] && pivot != 0.0 {
                let column = stiffness.column(place).into_owned();
                let freed = ends[place];
                stiffness -= column * column.transpose() / pivot;
                ends -= column * (freed / pivot);
            }
        }
    }
    (stiffness, ends)
}

/// Work of a load along the shape functions of a member held at both ends.
fn equivalent(load: Local, l: f64) -> Ends {
    let shapes = |x: f64| {
        let t = x / l;
        let (t2, t3) = (t * t, t * t * t);
        ([1.0 - 3.0 * t2 + 2.0 * t3, l * (t - 2.0 * t2 + t3), 3.0 * t2 - 2.0 * t3, l * (t3 - t2)], [1.0 - t, t])
    };
    let at = |x: f64, [along, across]: [f64; 2]| {
        let ([v1, t1, v2, t2], [u1, u2]) = shapes(x);
        Ends::new(u1 * along, v1 * across, t1 * across, u2 * along, v2 * across, t2 * across)
    };
    match load {
        Local::Point { at: x, force } => at(x, force),
        Local::Couple { at: x, moment } => {
            let t = x / l;
            let slopes = [
                (-6.0 * t + 6.0 * t * t) / l,
                1.0 - 4.0 * t + 3.0 * t * t,
                (6.0 * t - 6.0 * t * t) / l,
                3.0 * t * t - 2.0 * t,
            ];
            Ends::new(0.0, slopes[0], slopes[1], 0.0, slopes[2], slopes[3]) * moment
        }
        Local::Spread { from, to, start, end } => {
            // Three Gauss points are exact up to the fifth power; the work has the fourth.
            let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
            let mut sum = Ends::zeros();
            for (place, weight) in [(-0.6_f64.sqrt(), 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.6_f64.sqrt(), 5.0 / 9.0)] {
                let x = middle + half * place;
                let share = (x - from) / (to - from);
                let w = [0, 1].map(|i| start[i] + (end[i] - start[i]) * share);
                sum += at(x, w) * (weight * half);
            }
            sum
        }
    }
}
