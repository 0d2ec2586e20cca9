//! A second solver, for the reading of claims alone: one dense system of equilibrium at joints, compatibility of
//! members and conditions of supports, with forces and movements as unknowns side by side, so that a member may be
//! as soft or as stiff as it likes. Inside members everything is a sum of powers of the distance past each load.
//! SI units throughout; it knows nothing of the notation.

use std::f64::consts::FRAC_PI_2;

pub type Xy = [f64; 2];

pub fn dot(a: Xy, b: Xy) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub struct Joint {
    pub name: String,
    pub at: Xy,
}

pub struct Member {
    pub ends: [usize; 2],
    pub beam: bool,
    pub ea: f64,
    pub ei: f64,
    pub expansion: f64,
    pub weight: f64,
    pub freed: [bool; 2],
}

#[derive(Default, Clone)]
pub struct Support {
    pub joint: usize,
    pub lines: Vec<Xy>,
    pub turn: bool,
    pub spring: [f64; 3],
}

#[derive(Default)]
pub struct Frame {
    pub joints: Vec<Joint>,
    pub members: Vec<Member>,
    pub supports: Vec<Support>,
}

/// `coefficient * <x - start>^power`, nothing before `start`.
#[derive(Clone, Copy, Debug)]
pub struct Term {
    start: f64,
    coefficient: f64,
    power: i32,
}

#[derive(Default, Clone)]
pub struct Actions {
    pub forces: Vec<(usize, Xy)>,
    pub couples: Vec<(usize, f64)>,
    /// Of members: what is taken off the axial force, and what is added to the moment.
    pub axial: Vec<(usize, Term)>,
    pub bending: Vec<(usize, Term)>,
    pub strain: Vec<(usize, f64)>,
    /// Joint, movement, turn.
    pub settle: Vec<(usize, [f64; 3])>,
}

impl Actions {
    pub fn add(&mut self, factor: f64, other: &Actions) {
        let scaled = |term: &Term| Term { coefficient: factor * term.coefficient, ..*term };
        self.forces.extend(other.forces.iter().map(|(j, f)| (*j, [factor * f[0], factor * f[1]])));
        self.couples.extend(other.couples.iter().map(|(j, c)| (*j, factor * c)));
        self.axial.extend(other.axial.iter().map(|(m, t)| (*m, scaled(t))));
        self.bending.extend(other.bending.iter().map(|(m, t)| (*m, scaled(t))));
        self.strain.extend(other.strain.iter().map(|(m, e)| (*m, factor * e)));
        self.settle.extend(other.settle.iter().map(|(j, s)| (*j, s.map(|v| factor * v))));
    }

    pub fn point(&mut self, frame: &Frame, member: usize, at: f64, force: Xy) {
        let (along, across, _) = frame.axes(member);
        self.axial.push((member, Term { start: at, coefficient: dot(force, along), power: 0 }));
        self.bending.push((member, Term { start: at, coefficient: dot(force, across), power: 1 }));
    }

    pub fn turn(&mut self, member: usize, at: f64, couple: f64) {
        self.bending.push((member, Term { start: at, coefficient: -couple, power: 0 }));
    }

    /// From `first` at `from` to `last` at `to`, straight between them.
    pub fn spread(&mut self, frame: &Frame, member: usize, from: f64, to: f64, first: Xy, last: Xy) {
        let (along, across, _) = frame.axes(member);
        for (direction, bending) in [(along, false), (across, true)] {
            let (a, b) = (dot(first, direction), dot(last, direction));
            let slope = (b - a) / (to - from);
            for (start, level, slope) in [(from, a, slope), (to, -b, -slope)] {
                let list = if bending { &mut self.bending } else { &mut self.axial };
                let (flat, rising) = if bending { (level / 2.0, slope / 6.0) } else { (level, slope / 2.0) };
                let more = i32::from(bending);
                list.push((member, Term { start, coefficient: flat, power: 1 + more }));
                list.push((member, Term { start, coefficient: rising, power: 2 + more }));
            }
        }
    }
}

/// The value of a term's `times`-fold integral (a derivative where negative) at `x`; `after` says on which side of a
/// jump.
fn term(t: &Term, x: f64, times: i32, after: bool) -> f64 {
    let d = x - t.start;
    let power = t.power + times;
    if power < 0 || d < 0.0 || (d == 0.0 && !(after && power == 0)) {
        return 0.0;
    }
    let mut c = t.coefficient;
    for i in 0..times {
        c /= f64::from(t.power + 1 + i);
    }
    for i in 0..-times {
        c *= f64::from(t.power - i);
    }
    c * d.powi(power)
}

#[derive(Clone, Copy, Default, Debug)]
pub struct Inside {
    pub axial: f64,
    pub shear: f64,
    pub moment: f64,
    pub moved: Xy,
}

#[derive(Clone, Default)]
struct Of {
    n: f64,
    v: f64,
    m: f64,
    start: [f64; 3],
    strain: f64,
    axial: Vec<Term>,
    bending: Vec<Term>,
}

#[derive(Clone)]
pub struct State {
    pub joints: Vec<[f64; 3]>,
    /// A support each: what it does to the structure.
    pub reactions: Vec<[f64; 3]>,
    members: Vec<Of>,
}

pub struct Solver<'a> {
    pub frame: &'a Frame,
    turns: Vec<Option<usize>>,
    columns: Vec<Columns>,
    held: Vec<Vec<usize>>,
    system: Lu,
    pub redundancy: usize,
    pub stands: bool,
}

#[derive(Clone, Copy)]
struct Columns {
    n: usize,
    v: usize,
    m: usize,
    turn: usize,
}

impl Frame {
    /// Along a member, to its left, its length.
    pub fn axes(&self, member: usize) -> (Xy, Xy, f64) {
        let [i, j] = self.members[member].ends;
        let (a, b) = (self.joints[i].at, self.joints[j].at);
        let d = [b[0] - a[0], b[1] - a[1]];
        let length = d[0].hypot(d[1]);
        let along = [d[0] / length, d[1] / length];
        (along, [-along[1], along[0]], length)
    }

    pub fn rigid_ends(&self, joint: usize) -> usize {
        let ends =
            self.members.iter().filter(|m| m.beam).flat_map(|m| [(m.ends[0], m.freed[0]), (m.ends[1], m.freed[1])]);
        ends.filter(|(j, freed)| *j == joint && !freed).count()
    }

    pub fn size(&self) -> f64 {
        let mut low = [f64::MAX; 2];
        let mut high = [f64::MIN; 2];
        for joint in &self.joints {
            for k in 0..2 {
                low[k] = low[k].min(joint.at[k]);
                high[k] = high[k].max(joint.at[k]);
            }
        }
        (high[0] - low[0]).hypot(high[1] - low[1])
    }
}

impl<'a> Solver<'a> {
    pub fn new(frame: &'a Frame) -> Solver<'a> {
        let mut count = 2 * frame.joints.len();
        let mut next = || {
            count += 1;
            count - 1
        };
        let turns: Vec<Option<usize>> =
            (0..frame.joints.len()).map(|j| (frame.rigid_ends(j) > 0).then(&mut next)).collect();
        let movements = turns.iter().flatten().count() + 2 * frame.joints.len();
        let columns: Vec<Columns> = frame
            .members
            .iter()
            .map(|m| {
                let n = next();
                if !m.beam {
                    return Columns { n, v: usize::MAX, m: usize::MAX, turn: usize::MAX };
                }
                let (v, mm) = (next(), next());
                let turn = if m.freed[0] { next() } else { turns[m.ends[0]].unwrap_or(usize::MAX) };
                Columns { n, v, m: mm, turn }
            })
            .collect();
        let held: Vec<Vec<usize>> = frame
            .supports
            .iter()
            .map(|s| {
                let turn = usize::from(s.turn && turns[s.joint].is_some());
                (0..s.lines.len() + turn).map(|_| next()).collect()
            })
            .collect();
        let mut a = vec![vec![0.0; count]; count];
        // Equilibrium stands in the rows of the joints' own movements.
        for (index, member) in frame.members.iter().enumerate() {
            let (t, n, l) = frame.axes(index);
            let c = columns[index];
            let [i, j] = member.ends;
            for k in 0..2 {
                a[2 * i + k][c.n] += t[k];
                a[2 * j + k][c.n] -= t[k];
                if member.beam {
                    a[2 * i + k][c.v] -= n[k];
                    a[2 * j + k][c.v] += n[k];
                }
            }
            // (uj - ui) t - N l / EA = strain l + ...
            for k in 0..2 {
                a[c.n][2 * j + k] += t[k];
                a[c.n][2 * i + k] -= t[k];
            }
            a[c.n][c.n] -= l / member.ea;
            if !member.beam {
                continue;
            }
            if let (Some(row), false) = (turns[i], member.freed[0]) {
                a[row][c.m] += 1.0;
            }
            if let (Some(row), false) = (turns[j], member.freed[1]) {
                a[row][c.m] -= 1.0;
                a[row][c.v] -= l;
            }
            for k in 0..2 {
                a[c.v][2 * j + k] += n[k];
                a[c.v][2 * i + k] -= n[k];
            }
            a[c.v][c.turn] -= l;
            a[c.v][c.m] -= l * l / 2.0 / member.ei;
            a[c.v][c.v] -= l * l * l / 6.0 / member.ei;
            if member.freed[0] {
                a[c.turn][c.m] += 1.0;
            }
            match (turns[j], member.freed[1]) {
                (Some(turn), false) => {
                    a[c.m][turn] += 1.0;
                    a[c.m][c.turn] -= 1.0;
                    a[c.m][c.m] -= l / member.ei;
                    a[c.m][c.v] -= l * l / 2.0 / member.ei;
                }
                _ => {
                    a[c.m][c.m] += 1.0;
                    a[c.m][c.v] += l;
                }
            }
        }
        for (support, held) in frame.supports.iter().zip(&held) {
            for (column, line) in held.iter().zip(&support.lines) {
                for k in 0..2 {
                    a[2 * support.joint + k][*column] += line[k];
                    a[*column][2 * support.joint + k] += line[k];
                }
            }
            for k in 0..2 {
                a[2 * support.joint + k][2 * support.joint + k] -= support.spring[k];
            }
            if let Some(turn) = turns[support.joint] {
                a[turn][turn] -= support.spring[2];
                if support.turn {
                    let column = *held.last().unwrap();
                    a[turn][column] += 1.0;
                    a[column][turn] += 1.0;
                }
            }
        }
        let (redundancy, stands) = count_out(frame, &turns, movements);
        Solver { frame, turns, columns, held, system: Lu::new(a), redundancy, stands }
    }

    pub fn solve(&self, actions: &Actions) -> State {
        let frame = self.frame;
        let mut of: Vec<Of> = vec![Of::default(); frame.members.len()];
        for (m, t) in &actions.axial {
            of[*m].axial.push(*t);
        }
        for (m, t) in &actions.bending {
            of[*m].bending.push(*t);
        }
        for (m, e) in &actions.strain {
            of[*m].strain += e;
        }
        let mut b = vec![0.0; self.system.a.len()];
        for (j, f) in &actions.forces {
            b[2 * j] -= f[0];
            b[2 * j + 1] -= f[1];
        }
        for (j, c) in &actions.couples {
            b[self.turns[*j].unwrap()] -= c;
        }
        for (index, member) in frame.members.iter().enumerate() {
            let (t, n, l) = frame.axes(index);
            let c = self.columns[index];
            let [_, j] = member.ends;
            let sum = |terms: &[Term], times: i32| terms.iter().map(|t| term(t, l, times, true)).sum::<f64>();
            let (axial, bending) = (&of[index].axial, &of[index].bending);
            let (lost, shear, moment) = (sum(axial, 0), sum(bending, -1), sum(bending, 0));
            for k in 0..2 {
                b[2 * j + k] -= lost * t[k] + shear * n[k];
            }
            b[c.n] += of[index].strain * l - sum(axial, 1) / member.ea;
            if member.beam {
                b[c.v] += sum(bending, 2) / member.ei;
                match (self.turns[j], member.freed[1]) {
                    (Some(turn), false) => {
                        b[turn] += moment;
                        b[c.m] += sum(bending, 1) / member.ei;
                    }
                    _ => b[c.m] -= moment,
                }
            }
        }
        let mut settled = vec![[0.0; 3]; frame.joints.len()];
        for (j, s) in &actions.settle {
            for k in 0..3 {
                settled[*j][k] += s[k];
            }
        }
        for (support, held) in frame.supports.iter().zip(&self.held) {
            let s = settled[support.joint];
            for (column, line) in held.iter().zip(&support.lines) {
                b[*column] += dot([s[0], s[1]], *line);
            }
            if held.len() > support.lines.len() {
                b[*held.last().unwrap()] += s[2];
            }
        }
        let x = self.system.solve(&b);
        let joints: Vec<[f64; 3]> = (0..frame.joints.len())
            .map(|j| [x[2 * j], x[2 * j + 1], self.turns[j].map_or(f64::NAN, |t| x[t])])
            .collect();
        let reactions = frame
            .supports
            .iter()
            .zip(&self.held)
            .map(|(s, held)| {
                let mut r = [0.0; 3];
                for (column, line) in held.iter().zip(&s.lines) {
                    r[0] += x[*column] * line[0];
                    r[1] += x[*column] * line[1];
                }
                if held.len() > s.lines.len() {
                    r[2] += x[*held.last().unwrap()];
                }
                for k in 0..3 {
                    if s.spring[k] != 0.0 {
                        r[k] -= s.spring[k] * joints[s.joint][k];
                    }
                }
                r
            })
            .collect();
        for (index, member) in frame.members.iter().enumerate() {
            let c = self.columns[index];
            let o = &mut of[index];
            let at = joints[member.ends[0]];
            o.n = x[c.n];
            if member.beam {
                (o.v, o.m) = (x[c.v], x[c.m]);
                o.start = [at[0], at[1], x[c.turn]];
            } else {
                let (_, n, l) = frame.axes(index);
                let to = joints[member.ends[1]];
                o.start = [at[0], at[1], dot([to[0] - at[0], to[1] - at[1]], n) / l];
            }
        }
        State { joints, reactions, members: of }
    }
}

impl State {
    pub fn inside(&self, frame: &Frame, member: usize, x: f64, after: bool) -> Inside {
        let (t, n, _) = frame.axes(member);
        let (m, o) = (&frame.members[member], &self.members[member]);
        let axial = |times: i32| o.axial.iter().map(|t| term(t, x, times, after)).sum::<f64>();
        let bending = |times: i32| o.bending.iter().map(|t| term(t, x, times, after)).sum::<f64>();
        let u = o.strain * x + (o.n * x - axial(1)) / m.ea;
        let mut v = o.start[2] * x;
        if m.beam {
            v += (o.m * x * x / 2.0 + o.v * x * x * x / 6.0 + bending(2)) / m.ei;
        }
        Inside {
            axial: o.n - axial(0),
            shear: o.v + bending(-1),
            moment: o.m + o.v * x + bending(0),
            moved: [o.start[0] + u * t[0] + v * n[0], o.start[1] + u * t[1] + v * n[1]],
        }
    }

    /// Where something begins or ends on a member, its own ends among them.
    pub fn breaks(&self, frame: &Frame, member: usize) -> Vec<f64> {
        let (_, _, l) = frame.axes(member);
        let o = &self.members[member];
        let mut at: Vec<f64> = o.axial.iter().chain(&o.bending).map(|t| t.start).chain([0.0, l]).collect();
        at.retain(|x| (0.0..=l).contains(x));
        at.sort_by(f64::total_cmp);
        at.dedup();
        at
    }
}

/// How many forces equilibrium leaves open, and whether it can be had under every load.
fn count_out(frame: &Frame, turns: &[Option<usize>], movements: usize) -> (usize, bool) {
    let freed: usize = frame.members.iter().filter(|m| m.beam).map(|m| m.freed.iter().filter(|f| **f).count()).sum();
    let mut columns: Vec<Vec<f64>> = Vec::new();
    let rows = movements + freed;
    let scale = frame.size();
    let mut own = movements;
    for (index, member) in frame.members.iter().enumerate() {
        let (t, n, l) = frame.axes(index);
        let [i, j] = member.ends;
        let mut axial = vec![0.0; rows];
        let mut shear = vec![0.0; rows];
        let mut moment = vec![0.0; rows];
        for k in 0..2 {
            axial[2 * i + k] = t[k];
            axial[2 * j + k] = -t[k];
            shear[2 * i + k] = -n[k];
            shear[2 * j + k] = n[k];
        }
        columns.push(axial);
        if member.beam {
            let mut row = |joint: usize, freed: bool| {
                if freed {
                    own += 1;
                    return own - 1;
                }
                turns[joint].unwrap()
            };
            let first = row(i, member.freed[0]);
            let last = row(j, member.freed[1]);
            moment[first] += 1.0;
            moment[last] -= 1.0;
            shear[last] -= l / scale;
            columns.push(shear);
            columns.push(moment);
        }
    }
    for support in &frame.supports {
        let mut push = |row: usize, value: Xy| {
            let mut column = vec![0.0; rows];
            column[row] = value[0];
            if value[1] != 0.0 {
                column[row + 1] = value[1];
            }
            columns.push(column);
        };
        for line in &support.lines {
            push(2 * support.joint, *line);
        }
        for k in 0..2 {
            if support.spring[k] != 0.0 {
                push(2 * support.joint + k, [1.0, 0.0]);
            }
        }
        if let Some(turn) = turns[support.joint]
            && (support.turn || support.spring[2] != 0.0)
        {
            push(turn, [1.0, 0.0]);
        }
    }
    let unknowns = columns.len();
    let mut rank = 0;
    let mut left: Vec<usize> = (0..rows).collect();
    while !left.is_empty() && rank < unknowns {
        let mut best = (0.0, 0, 0);
        for c in rank..unknowns {
            for (at, r) in left.iter().enumerate() {
                if columns[c][*r].abs() > best.0 {
                    best = (columns[c][*r].abs(), c, at);
                }
            }
        }
        if best.0 < 1e-4 {
            break;
        }
        columns.swap(rank, best.1);
        let r = left.swap_remove(best.2);
        for c in rank + 1..unknowns {
            let f = columns[c][r] / columns[rank][r];
            if f != 0.0 {
                for k in 0..rows {
                    let v = columns[rank][k];
                    columns[c][k] -= f * v;
                }
            }
        }
        rank += 1;
    }
    (unknowns - rank, rank == rows)
}

struct Lu {
    a: Vec<Vec<f64>>,
    lu: Vec<Vec<f64>>,
    order: Vec<usize>,
    rows: Vec<f64>,
    columns: Vec<f64>,
}

impl Lu {
    fn new(a: Vec<Vec<f64>>) -> Lu {
        let n = a.len();
        let mut rows = vec![1.0; n];
        let mut columns = vec![1.0; n];
        for _ in 0..6 {
            for i in 0..n {
                let top = (0..n).map(|j| (a[i][j] * rows[i] * columns[j]).abs()).fold(0.0, f64::max);
                if top > 0.0 {
                    rows[i] /= top.sqrt();
                }
            }
            for j in 0..n {
                let top = (0..n).map(|i| (a[i][j] * rows[i] * columns[j]).abs()).fold(0.0, f64::max);
                if top > 0.0 {
                    columns[j] /= top.sqrt();
                }
            }
        }
        let mut lu: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| a[i][j] * rows[i] * columns[j]).collect()).collect();
        let mut order: Vec<usize> = (0..n).collect();
        for k in 0..n {
            let best = (k..n).max_by(|p, q| lu[*p][k].abs().total_cmp(&lu[*q][k].abs())).unwrap();
            lu.swap(k, best);
            order.swap(k, best);
            let (top, rest) = lu.split_at_mut(k + 1);
            let top = &top[k];
            for row in rest {
                if row[k] != 0.0 {
                    row[k] /= top[k];
                    let f = row[k];
                    for j in k + 1..n {
                        row[j] -= f * top[j];
                    }
                }
            }
        }
        Lu { a, lu, order, rows, columns }
    }

    fn once(&self, b: &[f64]) -> Vec<f64> {
        let n = b.len();
        let mut y: Vec<f64> = self.order.iter().map(|i| b[*i] * self.rows[*i]).collect();
        for i in 0..n {
            let s: f64 = (0..i).map(|j| self.lu[i][j] * y[j]).sum();
            y[i] -= s;
        }
        for i in (0..n).rev() {
            let s: f64 = (i + 1..n).map(|j| self.lu[i][j] * y[j]).sum();
            y[i] = (y[i] - s) / self.lu[i][i];
        }
        y.iter().zip(&self.columns).map(|(y, c)| y * c).collect()
    }

    fn solve(&self, b: &[f64]) -> Vec<f64> {
        let mut x = self.once(b);
        for _ in 0..2 {
            let rest: Vec<f64> =
                b.iter().zip(&self.a).map(|(b, row)| b - row.iter().zip(&x).map(|(a, x)| a * x).sum::<f64>()).collect();
            for (x, d) in x.iter_mut().zip(self.once(&rest)) {
                *x += d;
            }
        }
        x
    }
}

/// A cantilever, a propped one and a bar, from the tables of any handbook (PL^3/3EI, 3qL/8, NL/EA).
pub fn proved() {
    let member = |ends| Member { ends, beam: true, ea: 1e7, ei: 2e5, expansion: 0.0, weight: 0.0, freed: [false; 2] };
    let joint = |name: &str, at| Joint { name: name.to_owned(), at };
    let mut frame = Frame {
        joints: vec![joint("A", [0.0, 0.0]), joint("B", [0.0, 4.0])],
        members: vec![member([0, 1])],
        supports: vec![Support { joint: 0, lines: vec![[1.0, 0.0], [0.0, 1.0]], turn: true, ..Support::default() }],
    };
    let near = |a: f64, b: f64| assert!((a - b).abs() <= 1e-10 * b.abs().max(1e-6), "{a} {b}");
    let solver = Solver::new(&frame);
    assert!(solver.redundancy == 0 && solver.stands);
    let mut actions = Actions::default();
    actions.forces.push((1, [1000.0, -500.0]));
    let state = solver.solve(&actions);
    near(state.joints[1][0], 1000.0 * 64.0 / 3.0 / 2e5);
    near(state.joints[1][1], -500.0 * 4.0 / 1e7);
    near(state.joints[1][2], -1000.0 * 16.0 / 2.0 / 2e5);
    near(state.reactions[0][2], 4000.0);
    near(state.inside(&frame, 0, 0.0, true).moment, -4000.0 * FRAC_PI_2.sin());
    frame.supports.push(Support { joint: 1, lines: vec![[1.0, 0.0]], ..Support::default() });
    let solver = Solver::new(&frame);
    assert!(solver.redundancy == 1 && solver.stands);
    let mut actions = Actions::default();
    actions.spread(&frame, 0, 0.0, 4.0, [-300.0, 0.0], [-300.0, 0.0]);
    let state = solver.solve(&actions);
    near(state.reactions[1][0], 3.0 * 300.0 * 4.0 / 8.0);
    near(state.inside(&frame, 0, 4.0, true).moment, 0.0);
}
