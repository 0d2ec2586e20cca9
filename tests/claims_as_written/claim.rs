//! Random claims, and what the notation says of each: right, wrong, not judged or an error. Where rounding or silence
//! of the notation would decide, nothing is said.

use std::cell::RefCell;

use crate::model::{Dice, Model, direction};
use crate::solve::{Actions, Inside, Solver, State, Xy, dot};

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Mark {
    Right,
    Wrong,
    Unjudged,
    Error,
}

pub struct Claim {
    /// After `expect `.
    pub text: String,
    /// Stands inside a block of this case.
    pub block: Option<String>,
    pub mark: Mark,
    pub kind: String,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum What {
    Reaction,
    Couple,
    Force,
    Shear,
    Moment,
    Deflection,
    Rotation,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Dim {
    Force,
    Moment,
    Moved,
    Angle,
}

impl What {
    fn word(self) -> &'static str {
        match self {
            What::Reaction | What::Couple => "reaction",
            What::Force => "force",
            What::Shear => "shear",
            What::Moment => "moment",
            What::Deflection => "deflection",
            What::Rotation => "rotation",
        }
    }
    fn dim(self) -> Dim {
        match self {
            What::Reaction | What::Force | What::Shear => Dim::Force,
            What::Couple | What::Moment => Dim::Moment,
            What::Deflection => Dim::Moved,
            What::Rotation => Dim::Angle,
        }
    }
    fn vector(self) -> bool {
        matches!(self, What::Reaction | What::Deflection)
    }
}

/// What a number is taken of.
#[derive(Clone, Debug)]
enum Measure {
    Part(Xy),
    Size,
    /// Of every member a sign; of joints the first.
    Signed(Vec<f64>),
    Bare,
}

#[derive(Clone)]
struct Asked {
    what: What,
    joint: usize,
    chain: Vec<usize>,
    at: Option<f64>,
    place: String,
}

#[derive(Clone, Copy)]
enum Under {
    Case(usize),
    All,
    Train,
}

pub struct Book<'a> {
    pub model: &'a Model,
    solver: Solver<'a>,
    states: Vec<State>,
    train: RefCell<Vec<(f64, bool, State)>>,
}

/// Least and greatest, and both sides of a place.
#[derive(Clone, Debug)]
struct Seen {
    low: f64,
    high: f64,
    sides: Vec<f64>,
}

#[derive(Clone)]
struct Value {
    text: String,
    value: f64,
    /// None: computed, half a per cent.
    tolerance: f64,
    zero: bool,
    wrong: bool,
}

impl<'a> Book<'a> {
    pub fn new(model: &'a Model) -> Book<'a> {
        let solver = Solver::new(&model.frame);
        let states = model.cases.iter().map(|c| solver.solve(&c.actions)).collect();
        Book { model, solver, states, train: RefCell::new(vec![]) }
    }

    // ---- What is there ----

    fn joint_value(&self, asked: &Asked, state: &State, measure: &Measure) -> f64 {
        let (vector, scalar) = match asked.what {
            What::Reaction | What::Couple => {
                let support = self.model.frame.supports.iter().position(|s| s.joint == asked.joint).unwrap();
                let r = state.reactions[support];
                ([r[0], r[1]], r[2])
            }
            _ => {
                let d = state.joints[asked.joint];
                ([d[0], d[1]], d[2])
            }
        };
        match measure {
            Measure::Part(d) => dot(vector, *d),
            Measure::Size => vector[0].hypot(vector[1]),
            Measure::Signed(s) => s[0] * scalar,
            Measure::Bare => scalar.abs(),
        }
    }

    fn inside_value(&self, what: What, member: usize, inside: Inside, measure: &Measure) -> f64 {
        let scalar = match what {
            What::Force => inside.axial,
            What::Shear => inside.shear,
            _ => inside.moment,
        };
        match measure {
            Measure::Part(d) => dot(inside.moved, *d),
            Measure::Size => inside.moved[0].hypot(inside.moved[1]),
            Measure::Signed(s) => s[member] * scalar,
            Measure::Bare => scalar.abs(),
        }
    }

    /// Members of a chain in order, with whether they are named from their last joint.
    fn members(&self, chain: &[usize]) -> Vec<(usize, bool)> {
        chain.windows(2).map(|w| self.model.member(w[0], w[1]).unwrap()).collect()
    }

    /// The sections that a place along a chain is about.
    fn sections(&self, asked: &Asked, at: f64) -> Vec<(usize, f64, bool)> {
        let mut out = vec![];
        let mut before = 0.0;
        let whole = self.model.length(&asked.chain);
        let tiny = 1e-9 * whole;
        for (member, back) in self.members(&asked.chain) {
            let (_, _, l) = self.model.frame.axes(member);
            let x = at - before;
            before += l;
            if x < -tiny || x > l + tiny {
                continue;
            }
            let x = x.clamp(0.0, l);
            let mut own = if back { l - x } else { x };
            // A load stands where the text says, to the last bit or two.
            for b in self.states.iter().flat_map(|s| s.breaks(&self.model.frame, member)) {
                if (b - own).abs() < tiny {
                    own = b;
                }
            }
            if own > tiny {
                out.push((member, own, false));
            }
            if own < l - tiny {
                out.push((member, own, true));
            }
        }
        out
    }

    fn see(&self, asked: &Asked, state: &State, measure: &Measure, straight: bool) -> Seen {
        let frame = &self.model.frame;
        if asked.chain.is_empty() {
            let v = self.joint_value(asked, state, measure);
            return Seen { low: v, high: v, sides: vec![v] };
        }
        let mut sides = vec![];
        if let Some(at) = asked.at {
            for (member, x, after) in self.sections(asked, at) {
                sides.push(self.inside_value(asked.what, member, state.inside(frame, member, x, after), measure));
            }
            let (low, high) = ends(&sides);
            return Seen { low, high, sides };
        }
        let (mut low, mut high) = (f64::MAX, f64::MIN);
        for (member, _) in self.members(&asked.chain) {
            let breaks = state.breaks(frame, member);
            for pair in breaks.windows(2) {
                let (a, b) = (pair[0], pair[1]);
                let f = |x: f64| {
                    let after = x == a;
                    self.inside_value(asked.what, member, state.inside(frame, member, x, after), measure)
                };
                let n = if straight { 1 } else { 24 };
                let xs: Vec<f64> =
                    (0..=n).map(|i| if i == n { b } else { a + (b - a) * f64::from(i) / f64::from(n) }).collect();
                let ys: Vec<f64> = xs.iter().map(|x| f(*x)).collect();
                let (l, h) = ends(&ys);
                (low, high) = (low.min(l), high.max(h));
                for i in 1..ys.len() - 1 {
                    if ys[i] >= ys[i - 1] && ys[i] >= ys[i + 1] {
                        high = high.max(golden(&f, xs[i - 1], xs[i + 1]));
                    }
                    if ys[i] <= ys[i - 1] && ys[i] <= ys[i + 1] {
                        low = low.min(-golden(&|x| -f(x), xs[i - 1], xs[i + 1]));
                    }
                }
            }
        }
        Seen { low, high, sides: vec![] }
    }

    fn driven(&self, front: f64, back: bool) -> State {
        let train = self.model.train.as_ref().unwrap();
        let frame = &self.model.frame;
        let whole = self.model.length(&train.chain);
        let mut actions = Actions::default();
        let mut behind = 0.0;
        for (i, load) in train.loads.iter().enumerate() {
            if i > 0 {
                behind += train.gaps[i - 1];
            }
            let mut s = front - behind;
            if !(0.0..=whole).contains(&s) {
                continue;
            }
            if back {
                s = whole - s;
            }
            let mut before = 0.0;
            for (member, reversed) in self.members(&train.chain) {
                let (_, _, l) = frame.axes(member);
                if s <= before + l + 1e-12 * whole {
                    let x = (s - before).clamp(0.0, l);
                    actions.point(frame, member, if reversed { l - x } else { x }, [0.0, -load]);
                    break;
                }
                before += l;
            }
        }
        self.solver.solve(&actions)
    }

    /// Over every position of the train, both ways.
    fn swept(&self, asked: &Asked, measure: &Measure) -> Seen {
        let train = self.model.train.as_ref().unwrap();
        let whole = self.model.length(&train.chain);
        let mut offsets = vec![0.0];
        for gap in &train.gaps {
            offsets.push(offsets.last().unwrap() + gap);
        }
        let mut marks = vec![0.0];
        for (m, _) in self.members(&train.chain) {
            marks.push(marks.last().unwrap() + self.model.frame.axes(m).2);
        }
        let mut stops: Vec<f64> = vec![];
        for o in &offsets {
            for m in &marks {
                for tiny in [-1e-9, 1e-9] {
                    stops.push(o + m + tiny * whole);
                }
            }
        }
        let length = whole + offsets.last().unwrap();
        let sort = |stops: &mut Vec<f64>| {
            stops.retain(|s| (0.0..=length).contains(s));
            stops.sort_by(f64::total_cmp);
        };
        sort(&mut stops);
        if self.train.borrow().is_empty() {
            let mut all = stops.clone();
            for pair in stops.windows(2).filter(|p| p[1] - p[0] > 1e-6 * whole) {
                all.extend((1..8).map(|i| pair[0] + (pair[1] - pair[0]) * f64::from(i) / 8.0));
            }
            sort(&mut all);
            for back in [false, true] {
                self.train.borrow_mut().extend(all.iter().map(|s| (*s, back, self.driven(*s, back))));
            }
        }
        let own: Vec<(f64, bool, State)> = asked.at.map_or(vec![], |at| {
            let mut out = vec![];
            // Where a wheel stands close by the place.
            let cuts = self.sections(asked, at);
            let mut before = 0.0;
            for (member, reversed) in self.members(&train.chain) {
                let (_, _, l) = self.model.frame.axes(member);
                for (_, x, _) in cuts.iter().filter(|c| c.0 == member) {
                    let s = before + if reversed { l - x } else { *x };
                    for (o, tiny) in offsets.iter().flat_map(|o| [(*o, -1e-9), (*o, 1e-9)]) {
                        for (back, s) in [(false, s), (true, whole - s)] {
                            let front = s + o + tiny * whole;
                            if (0.0..=length).contains(&front) {
                                out.push((front, back, self.driven(front, back)));
                            }
                        }
                    }
                }
                before += l;
            }
            out
        });
        let cached = self.train.borrow();
        let mut seen: Vec<(f64, bool, f64, f64)> = cached
            .iter()
            .chain(&own)
            .map(|(s, back, state)| {
                let seen = self.see(asked, state, measure, true);
                (*s, *back, seen.low, seen.high)
            })
            .collect();
        seen.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.total_cmp(&b.0)));
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        for s in &seen {
            (low, high) = (low.min(s.2), high.max(s.3));
        }
        for w in seen.windows(3).filter(|w| w[0].1 == w[2].1) {
            if w[1].3 >= w[0].3 && w[1].3 >= w[2].3 && w[1].3 > 0.9 * high {
                high =
                    high.max(golden(&|s| self.see(asked, &self.driven(s, w[1].1), measure, true).high, w[0].0, w[2].0));
            }
            if w[1].2 <= w[0].2 && w[1].2 <= w[2].2 && w[1].2 < 0.9 * low {
                low =
                    low.min(-golden(&|s| -self.see(asked, &self.driven(s, w[1].1), measure, true).low, w[0].0, w[2].0));
            }
        }
        Seen { low, high, sides: vec![high] }
    }

    /// What counts as nothing: below the first zero, above the second not.
    fn dust(&self, what: What, states: &[&State]) -> (f64, f64) {
        let frame = &self.model.frame;
        let mut top = [0.0_f64; 6];
        for state in states {
            for r in &state.reactions {
                top[0] = top[0].max(r[0].hypot(r[1]));
                top[4] = top[4].max(r[2].abs());
            }
            for d in &state.joints {
                top[5] = top[5].max(if d[2].is_nan() { 0.0 } else { d[2].abs() });
            }
            for member in 0..frame.members.len() {
                let l = frame.axes(member).2;
                for i in 0..=8 {
                    let s = state.inside(frame, member, l * f64::from(i) / 8.0, i == 0);
                    top[1] = top[1].max(s.axial.abs());
                    top[2] = top[2].max(s.shear.abs());
                    top[3] = top[3].max(s.moved[0].hypot(s.moved[1]));
                    top[4] = top[4].max(s.moment.abs());
                }
            }
        }
        // What moves as a rigid body strains nothing, to rounding.
        let stiffest = frame.members.iter().map(|m| m.ea).fold(0.0, f64::max);
        let strained = if self.model.known { stiffest * top[3] } else { 0.0 };
        let floor = 1e-12 * strained.max(top[4]) / frame.size();
        let force = top[0].max(top[1]).max(top[2]);
        let (low, high) = match what {
            What::Reaction => (top[0], force),
            What::Force => (top[1], force),
            What::Shear => (top[2], force),
            What::Couple | What::Moment => (force * frame.size(), top[4].max(force * frame.size() * 2.0)),
            What::Deflection => (top[3], top[3] * 2.0),
            What::Rotation => (top[5], top[5].max(top[3])),
        };
        let floor = match what.dim() {
            Dim::Force => floor,
            Dim::Moment => floor * frame.size(),
            // Less than this of the structure's size is rounding of its coordinates.
            Dim::Moved => 1e-14 * frame.size(),
            Dim::Angle => 1e-14,
        };
        ((3e-10 * low).max(1e-12 * high).max(floor), (3e-9 * high).max(100.0 * floor))
    }

    /// Where the program's own results are others.
    pub fn compare(&self, solved: &serde_json::Value) -> Vec<String> {
        let mut out = vec![];
        let frame = &self.model.frame;
        for case in solved["cases"].as_array().into_iter().flatten() {
            let Some(at) = self.model.cases.iter().position(|c| case["name"] == *c.name) else { continue };
            let state = &self.states[at];
            let top = state.reactions.iter().flat_map(|r| [r[0].abs(), r[1].abs()]).fold(1.0, f64::max);
            let mut same = |what: String, theirs: &serde_json::Value, own: f64, top: f64| {
                if let Some(theirs) = theirs.as_f64()
                    && (theirs - own).abs() > 1e-7 * top
                {
                    out.push(format!("{}: {what} is {theirs}, here {own}", case["name"]));
                }
            };
            for r in case["reactions"].as_array().into_iter().flatten() {
                let support =
                    self.model.frame.supports.iter().position(|s| r["joint"] == *frame.joints[s.joint].name).unwrap();
                for (k, part) in ["fx", "fy", "m"].into_iter().enumerate() {
                    same(
                        format!("reaction {} {part}", r["joint"]),
                        &r[part],
                        state.reactions[support][k],
                        top * if k == 2 { frame.size() } else { 1.0 },
                    );
                }
            }
            let far = state.joints.iter().flat_map(|r| [r[0].abs(), r[1].abs()]).fold(1e-18, f64::max);
            for d in case["displacements"].as_array().into_iter().flatten() {
                let joint = frame.joints.iter().position(|j| d["joint"] == *j.name).unwrap();
                for (k, part) in ["dx", "dy"].into_iter().enumerate() {
                    same(format!("movement {} {part}", d["joint"]), &d[part], state.joints[joint][k], far);
                }
            }
            for m in case["members"].as_array().into_iter().flatten() {
                let member = (0..frame.members.len())
                    .find(|i| m["member"] == *self.model.name(&frame.members[*i].ends))
                    .unwrap();
                let l = frame.axes(member).2;
                same(format!("axial {}", m["member"]), &m["axial"], state.inside(frame, member, 0.0, true).axial, top);
                for (end, x) in [("start", 0.0), ("end", l)] {
                    let s = state.inside(frame, member, x, x == 0.0);
                    same(format!("moment {} {end}", m["member"]), &m[end]["moment"], s.moment, top * frame.size());
                    same(format!("shear {} {end}", m["member"]), &m[end]["shear"], s.shear, top);
                }
            }
        }
        out
    }

    fn names(&self) -> usize {
        self.model.cases.len() + usize::from(self.model.train.is_some())
    }
}

fn ends(v: &[f64]) -> (f64, f64) {
    v.iter().fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(*x), h.max(*x)))
}

/// The greatest value between two places with one summit between them.
fn golden(f: &dyn Fn(f64) -> f64, mut a: f64, mut b: f64) -> f64 {
    let r = 0.618_033_988_749_894_9;
    let (mut c, mut d) = (b - r * (b - a), a + r * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    let mut best = fc.max(fd);
    for _ in 0..34 {
        if fc > fd {
            (b, d, fd) = (d, c, fc);
            c = b - r * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + r * (b - a);
            fd = f(d);
        }
        best = best.max(fc).max(fd);
    }
    best
}

// ---- Numbers as written ----

/// Half a unit of the last figure written, never closer than three figures.
fn half_unit(text: &str, value: f64) -> f64 {
    let plain = text.trim_start_matches('-').replace('_', "");
    let (mantissa, exponent) =
        plain.split_once('e').map_or((plain.as_str(), 0), |(m, e)| (m, e.parse::<i32>().unwrap()));
    let decimals = mantissa.split_once('.').map_or(0, |(_, d)| d.len() as i32);
    let last = exponent - decimals;
    let third = if value == 0.0 { last } else { value.abs().log10().floor() as i32 - 2 };
    0.5 * 10f64.powi(last.max(third))
}

fn figures(x: f64, n: i32) -> String {
    if x == 0.0 {
        return "0".to_owned();
    }
    let decimals = n - 1 - x.abs().log10().floor() as i32;
    if decimals >= 0 {
        return format!("{x:.*}", decimals as usize);
    }
    let step = 10f64.powi(-decimals);
    format!("{}", ((x / step).round() * step) as i64)
}

struct Pen<'a> {
    model: &'a Model,
    dim: Dim,
}

impl Pen<'_> {
    /// A unit, its factor, and whether it is the one of the file.
    fn unit(&self, dice: &mut Dice) -> (String, f64, bool) {
        let u = &self.model.units;
        let own = dice.odds(60);
        match self.dim {
            Dim::Force if own => (u.force.0.to_owned(), u.force.1, true),
            Dim::Force => {
                let (n, f) = [
                    ("N", 1.0),
                    ("kN", 1e3),
                    ("lbf", 4.448_221_615_260_5),
                    ("kip", 4_448.221_615_260_5),
                    ("kgf", 9.806_65),
                ][dice.below(5)];
                (n.to_owned(), f, n == u.force.0)
            }
            Dim::Moment if own => (format!("{}*{}", u.force.0, u.length.0), u.force.1 * u.length.1, true),
            Dim::Moment => {
                let (n, f) = [
                    ("N*m", 1.0),
                    ("kN*m", 1e3),
                    ("kNm", 1e3),
                    ("lbf*ft", 4.448_221_615_260_5 * 0.3048),
                    ("kip*in", 4_448.221_615_260_5 * 0.0254),
                    ("kN·cm", 10.0),
                ][dice.below(6)];
                (n.to_owned(), f, false)
            }
            Dim::Moved if own => (u.moved.0.to_owned(), u.moved.1, true),
            Dim::Moved => {
                let (n, f) = [("mm", 1e-3), ("cm", 1e-2), ("m", 1.0), ("in", 0.0254), ("ft", 0.3048)][dice.below(5)];
                (n.to_owned(), f, n == u.moved.0)
            }
            Dim::Angle => {
                let (n, f) = [("rad", 1.0), ("°", 1f64.to_radians()), ("deg", 1f64.to_radians())][dice.below(3)];
                (n.to_owned(), f, false)
            }
        }
    }

    /// A number near `target`, without its unit: text, value in the unit, half unit.
    fn number(&self, dice: &mut Dice, x: f64) -> (String, f64, f64) {
        let n = dice.from(1, 6) as i32;
        let mut text = figures(x, n);
        let mut value: f64 = text.parse().unwrap();
        if dice.odds(25) && value != 0.0 {
            // One unit of the last figure off.
            let decimals = text.split_once('.').map_or(0, |(_, d)| d.len());
            let step = 10f64.powi(-(decimals as i32)) * if dice.odds(50) { 1.0 } else { -1.0 };
            text = format!("{:.*}", decimals, value + step);
            value = text.parse().unwrap();
        }
        if dice.odds(8) && value != 0.0 {
            text = format!("{:.*e}", dice.below(4), value);
            value = text.parse().unwrap();
        }
        if value == 0.0 {
            text = text.trim_start_matches('-').to_owned();
        }
        let half = half_unit(&text, value);
        (text, value, half)
    }

    fn zero(&self, dice: &mut Dice) -> Value {
        let (unit, f, _) = self.unit(dice);
        let exact = |text: String| Value { text, value: 0.0, tolerance: 0.0, zero: true, wrong: false };
        match dice.below(5) {
            0 | 1 => exact("zero".to_owned()),
            2 => exact("0".to_owned()),
            3 => exact(format!("0 {unit}")),
            _ => {
                let d = dice.below(3) + 1;
                let text = format!("{:.*}", d, 0.0);
                Value {
                    tolerance: half_unit(&text, 0.0) * f,
                    text: format!("{text} {unit}"),
                    value: 0.0,
                    zero: false,
                    wrong: false,
                }
            }
        }
    }

    fn value(&self, dice: &mut Dice, target: f64) -> Value {
        let (unit, f, own) = self.unit(dice);
        let x = target / f;
        if x.abs() < 1e-9 || x.abs() > 1e12 {
            return self.zero(dice);
        }
        if dice.odds(12) {
            // A computed value.
            let (text, value) = match dice.below(3) {
                0 => {
                    let (t, v, _) = self.number(dice, x / 2.0);
                    (format!("2*{t} {unit}"), 2.0 * v)
                }
                1 => {
                    let (t, v, _) = self.number(dice, x / 2.0);
                    let (s, w, _) = self.number(dice, (x - v).abs().max(x.abs() * 1e-3));
                    (format!("({t} {unit} + {s} {unit})"), v + w)
                }
                _ => {
                    let (t, v, _) = self.number(dice, x * 4.0);
                    (format!("{t} {unit}/4"), v / 4.0)
                }
            };
            return Value {
                text,
                value: value * f,
                tolerance: 0.005 * (value * f).abs(),
                zero: value == 0.0,
                wrong: false,
            };
        }
        let (text, value, half) = self.number(dice, x);
        let bare = value != 0.0 && dice.odds(if matches!(self.dim, Dim::Force | Dim::Moved) { 15 } else { 4 });
        if bare && !own {
            let wrong = matches!(self.dim, Dim::Moment | Dim::Angle);
            if wrong {
                return Value { text, value: value * f, tolerance: half * f, zero: false, wrong };
            }
        }
        if bare && own {
            if self.dim == Dim::Moved && dice.odds(30) {
                return Value {
                    text: format!("2*{text}"),
                    value: 2.0 * value * f,
                    tolerance: 0.0,
                    zero: false,
                    wrong: true,
                };
            }
            return Value { text, value: value * f, tolerance: half * f, zero: false, wrong: self.dim == Dim::Moment };
        }
        let zero = value == 0.0 && !text.contains('.');
        Value {
            text: format!("{text} {unit}"),
            value: value * f,
            tolerance: if zero { 0.0 } else { half * f },
            zero,
            wrong: false,
        }
    }
}

// ---- Comparison ----

/// At most `limit`? Nothing where rounding decides.
fn at_most(x: f64, limit: f64, dust: (f64, f64)) -> Option<bool> {
    let x = if x.abs() <= dust.0 { 0.0 } else { x };
    if limit == 0.0 {
        return (x == 0.0 || x.abs() >= dust.1).then_some(x <= 0.0);
    }
    let gap = 1e-6 * x.abs().max(limit.abs());
    ((x - limit).abs() > gap).then_some(x < limit)
}

fn close(x: f64, value: &Value, dust: (f64, f64)) -> Option<bool> {
    if value.zero && value.tolerance == 0.0 {
        if x.abs() <= dust.0 {
            return Some(true);
        }
        return (x.abs() >= dust.1).then_some(false);
    }
    let d = (x - value.value).abs();
    let gap = 1e-6 * x.abs().max(value.value.abs()) + dust.1;
    ((d - value.tolerance).abs() > gap).then_some(d < value.tolerance)
}

fn all(list: impl IntoIterator<Item = Option<bool>>) -> Option<bool> {
    let list: Vec<Option<bool>> = list.into_iter().collect();
    if list.contains(&Some(false)) {
        return Some(false);
    }
    list.iter().all(Option::is_some).then_some(true)
}

fn any(list: impl IntoIterator<Item = Option<bool>>) -> Option<bool> {
    all(list.into_iter().map(|b| b.map(|b| !b))).map(|b| !b)
}

// ---- Claims ----

/// The members' signs for a sense of bending; nothing where some member has no such side.
fn side(book: &Book, chain: &[usize], sense: &str) -> Vec<Option<f64>> {
    let frame = &book.model.frame;
    let mut signs = vec![Some(0.0); frame.members.len()];
    for (member, _) in book.members(chain) {
        let (t, _, _) = frame.axes(member);
        // To the right, looking along: (ty, -tx).
        let down = if t[0].abs() < 1e-9 { None } else { Some(t[0].signum()) };
        let right = if t[1].abs() < 1e-9 { None } else { Some(t[1].signum()) };
        signs[member] = match sense {
            "sagging" | "tension below" => down,
            "hogging" | "tension above" => down.map(|s| -s),
            "tension right" => right,
            _ => right.map(|s| -s),
        };
    }
    signs
}

pub fn claim(dice: &mut Dice, book: &Book) -> Option<Claim> {
    let model = book.model;
    if dice.odds(2) {
        return verdict(dice, book);
    }
    let under = match dice.below(10) {
        0 => Under::All,
        1 | 2 if model.train.is_some() => Under::Train,
        _ => Under::Case(dice.below(model.cases.len())),
    };
    let asked = asked(dice, book, under)?;
    let not = dice.odds(12);
    let mut kind = format!(
        "{:?}{}{}",
        asked.what,
        if asked.chain.is_empty() { "" } else { " member" },
        if asked.at.is_some() { " at" } else { "" }
    );
    let (mut body, verdict) = sentence(dice, book, &asked, under, &mut kind)?;
    let mut block = None;
    let mut error = false;
    match under {
        Under::Case(c) => {
            let case = &model.cases[c];
            if book.names() == 1 && dice.odds(70) {
            } else if !case.combination && book.names() > 1 && dice.odds(20) {
                block = Some(case.name.clone());
                kind.push_str(" in block");
            } else if book.names() > 1 && dice.odds(2) {
                error = true;
                kind.push_str(" no under");
            } else {
                body = format!("{body} under {}", case.name);
            }
        }
        Under::All => {
            body = format!("{body} under all");
            kind.push_str(" all");
        }
        Under::Train => {
            body = format!("{body} under {}", model.train.as_ref().unwrap().name);
            kind.push_str(" train");
        }
    }
    let moved = matches!(asked.what, What::Deflection | What::Rotation);
    let mark = match verdict {
        _ if error => Mark::Error,
        Judged::Error => Mark::Error,
        _ if moved && !model.known => {
            if asked.chain.is_empty() && model.frame.supports.iter().any(|s| s.joint == asked.joint) {
                return None;
            }
            Mark::Unjudged
        }
        _ if moved && matches!(under, Under::Train) => Mark::Unjudged,
        Judged::Is(Some(b)) => {
            if b != not {
                Mark::Right
            } else {
                Mark::Wrong
            }
        }
        Judged::Is(None) => return None,
    };
    let text = if not { format!("not {body}") } else { body };
    if not {
        kind.push_str(" not");
    }
    Some(Claim { text, block, mark, kind })
}

fn verdict(dice: &mut Dice, book: &Book) -> Option<Claim> {
    let r = book.solver.redundancy;
    let n = dice.below(4);
    let (text, holds) = match dice.below(4) {
        0 => ("determinate".to_owned(), r == 0),
        1 => ("indeterminate".to_owned(), r > 0),
        2 => (format!("indeterminate {}", n.max(1)), r == n.max(1)),
        _ => ("unstable".to_owned(), false),
    };
    let not = dice.odds(30);
    let text = if not { format!("not {text}") } else { text };
    Some(Claim {
        text,
        block: None,
        mark: if holds != not { Mark::Right } else { Mark::Wrong },
        kind: "verdict".to_owned(),
    })
}

fn asked(dice: &mut Dice, book: &Book, under: Under) -> Option<Asked> {
    let model = book.model;
    let frame = &model.frame;
    let joint =
        |j: usize, what: What| Asked { what, joint: j, chain: vec![], at: None, place: frame.joints[j].name.clone() };
    let what = [
        What::Reaction,
        What::Reaction,
        What::Couple,
        What::Force,
        What::Force,
        What::Shear,
        What::Moment,
        What::Moment,
        What::Deflection,
        What::Deflection,
        What::Deflection,
        What::Rotation,
    ][dice.below(12)];
    match what {
        What::Reaction => Some(joint(frame.supports[dice.below(frame.supports.len())].joint, what)),
        What::Couple => {
            let s = frame.supports.iter().find(|s| s.turn || s.spring[2] != 0.0)?;
            Some(joint(s.joint, what))
        }
        What::Rotation => {
            let j = dice.below(frame.joints.len());
            (frame.rigid_ends(j) > 0).then(|| joint(j, what))
        }
        What::Deflection if dice.odds(45) => Some(joint(dice.below(frame.joints.len()), what)),
        _ => {
            let whole = &model.chains[dice.below(model.chains.len())];
            let beam = frame.members[model.member(whole[0], whole[1])?.0].beam;
            if !beam && matches!(what, What::Shear | What::Moment) {
                return None;
            }
            let first = dice.below(whole.len() - 1);
            let last = first + 1 + dice.below(whole.len() - 1 - first);
            let mut chain = whole[first..=last].to_vec();
            if dice.odds(35) {
                chain.reverse();
            }
            let mut at = None;
            let mut text = String::new();
            if (what != What::Force || beam) && dice.odds(60) {
                let l = model.length(&chain);
                if dice.odds(50) {
                    let share = dice.from(0, 20) * 5;
                    text = format!(" at {share}%");
                    at = Some(l * share as f64 / 100.0);
                } else {
                    let u = model.units.length;
                    let (t, v) = crate::model::round(l / u.1 * dice.share());
                    let v = v.min(l / u.1);
                    let (t, v) = if v * u.1 >= l { ("0".to_owned(), 0.0) } else { (t, v) };
                    let unit = if dice.odds(50) { format!(" {}", u.0) } else { String::new() };
                    text = format!(" at {t}{unit}");
                    at = Some(v * u.1);
                }
            }
            if matches!(under, Under::Train) && what == What::Deflection && dice.odds(80) {
                return None;
            }
            Some(Asked { what, joint: 0, place: format!("{}\u{0}{text}", model.name(&chain)), chain, at })
        }
    }
}

enum Judged {
    Is(Option<bool>),
    Error,
}

/// Place, sense and position: `A-B`, `sagging`, ` at 2 m`.
fn head(asked: &Asked, sense: &str) -> String {
    let (name, at) = asked.place.split_once('\u{0}').unwrap_or((&asked.place, ""));
    let gap = if sense.is_empty() || sense.starts_with('.') { "" } else { " " };
    format!("{} {name}{gap}{sense}{at}", asked.what.word())
}

fn sentence(dice: &mut Dice, book: &Book, asked: &Asked, under: Under, kind: &mut String) -> Option<(String, Judged)> {
    let relation = [":", "<=", ">="][dice.below(3)];
    let states: Vec<&State> = match under {
        Under::Case(c) => vec![&book.states[c]],
        Under::All => book.states.iter().collect(),
        Under::Train => vec![],
    };
    let cached;
    let dust = if states.is_empty() {
        book.swept(asked, &Measure::Size);
        cached = book.train.borrow();
        book.dust(asked.what, &cached.iter().map(|s| &s.2).step_by(7).collect::<Vec<_>>())
    } else {
        // The least of the cases' own is nothing in each of them.
        states
            .iter()
            .map(|s| book.dust(asked.what, &[s]))
            .fold((f64::MAX, 0.0_f64), |a: (f64, f64), b| (a.0.min(b.0), a.1.max(b.1)))
    };
    if asked.what.vector()
        && relation == ":"
        && asked.at.is_none()
        && asked.chain.is_empty()
        && dice.odds(45)
        && !states.is_empty()
    {
        return whole(dice, book, asked, &states, dust, kind);
    }
    let pen = Pen { model: book.model, dim: asked.what.dim() };
    // The measure, and the words that name it: after the place, after the value.
    let members = book.model.frame.members.len();
    let mut before = String::new();
    let mut after = String::new();
    let mut spoilt = false;
    let mut sensed = true;
    let measure = if asked.what.vector() {
        let axis = [(".x", [1.0, 0.0]), (".y", [0.0, 1.0])][dice.below(2)];
        let words = |x: bool| if x { [("right", 1.0), ("left", -1.0)] } else { [("up", 1.0), ("down", -1.0)] };
        match dice.below(10) {
            0..=3 => {
                let (text, d) = direction(dice, book.model);
                if relation != ":" && !text.starts_with('@') && dice.odds(50) {
                    after = text;
                } else {
                    before = text;
                }
                Measure::Part(d)
            }
            4 | 5 => {
                // A component without a sense.
                before = axis.0.to_owned();
                sensed = false;
                Measure::Part(axis.1)
            }
            6 | 7 => {
                before = axis.0.to_owned();
                let (word, sign) = words(axis.0 == ".x")[dice.below(2)];
                after = word.to_owned();
                Measure::Part([sign * axis.1[0], sign * axis.1[1]])
            }
            8 if dice.odds(40) => {
                before = axis.0.to_owned();
                after = words(axis.0 != ".x")[dice.below(2)].0.to_owned();
                spoilt = true;
                Measure::Part(axis.1)
            }
            _ if relation == ":" => return None,
            _ => {
                sensed = false;
                Measure::Size
            }
        }
    } else {
        let turn = if book.model.clockwise { -1.0 } else { 1.0 };
        let senses: &[(&str, f64)] = match asked.what {
            What::Force => &[("tension", 1.0), ("compression", -1.0)],
            What::Moment => &[
                ("sagging", 0.0),
                ("hogging", 0.0),
                ("tension below", 0.0),
                ("tension above", 0.0),
                ("tension left", 0.0),
                ("tension right", 0.0),
            ],
            What::Shear => &[],
            _ => &[("cw", -1.0), ("ccw", 1.0)],
        };
        if senses.is_empty() || dice.odds(30) {
            sensed = false;
            match (relation, asked.what) {
                (":", What::Force | What::Shear) => Measure::Signed(vec![1.0; members]),
                (":", What::Moment) => {
                    let mut signs = vec![0.0; members];
                    for (m, back) in book.members(&asked.chain) {
                        signs[m] = if back { -1.0 } else { 1.0 };
                    }
                    Measure::Signed(signs)
                }
                (":", _) => Measure::Signed(vec![turn; members]),
                _ => Measure::Bare,
            }
        } else {
            let (word, sign) = senses[dice.below(senses.len())];
            if dice.odds(50) {
                before = word.to_owned();
            } else {
                after = word.to_owned();
            }
            if asked.what == What::Moment {
                let signs = side(book, &asked.chain, word);
                let own: Vec<Option<f64>> = book.members(&asked.chain).iter().map(|(m, _)| signs[*m]).collect();
                if own.iter().any(Option::is_none) {
                    if own.iter().any(Option::is_some) {
                        return None;
                    }
                    spoilt = true;
                }
                Measure::Signed(signs.iter().map(|s| s.unwrap_or(1.0)).collect())
            } else {
                Measure::Signed(vec![sign; members])
            }
        }
    };
    let look = |measure: &Measure| -> Vec<Seen> {
        match under {
            Under::Train => vec![book.swept(asked, measure)],
            _ => states.iter().map(|s| book.see(asked, s, measure, false)).collect(),
        }
    };
    if dice.odds(2) && !spoilt {
        // A sense of another kind.
        let other = match asked.what.dim() {
            Dim::Angle => ["tension", "up", "sagging"][dice.below(3)],
            Dim::Force if asked.what == What::Force => ["cw", "sagging", "up"][dice.below(3)],
            Dim::Moment if asked.what == What::Moment => ["cw", "compression", "up"][dice.below(3)],
            Dim::Moment => ["tension", "sagging", "compression"][dice.below(3)],
            _ => ["tension", "sagging", "cw"][dice.below(3)],
        };
        (before, after) = (if before.starts_with('.') { before } else { String::new() }, other.to_owned());
        spoilt = true;
        kind.push_str(" other sense");
    }
    let along = !asked.chain.is_empty() && asked.at.is_none();
    let signed_part = matches!(&measure, Measure::Part(_)) && !sensed && relation != ":";
    // A component without a sense is about its size in limits.
    let seen: Vec<Seen> = look(&measure)
        .into_iter()
        .map(|s| {
            if !signed_part {
                return s;
            }
            let top = s.low.abs().max(s.high.abs());
            let least = if s.low * s.high < 0.0 { 0.0 } else { s.low.abs().min(s.high.abs()) };
            let sides: Vec<f64> = s.sides.iter().map(|v| v.abs()).collect();
            Seen { low: least, high: top, sides }
        })
        .collect();
    let one = &seen[dice.below(seen.len())];
    let truth = if along || matches!(under, Under::Train) || one.sides.is_empty() {
        one.high
    } else {
        one.sides[dice.below(one.sides.len())]
    };
    let target = match dice.below(10) {
        0..=3 => truth,
        4..=6 => truth * (1.0 + (dice.share() - 0.5) * 0.04),
        7 => truth * (0.2 + 2.0 * dice.share()),
        8 => -truth,
        _ => 0.0,
    };
    let mut value = if target.abs() <= dust.1 { pen.zero(dice) } else { pen.value(dice, target) };
    let limit = relation != ":";
    if asked.what == What::Couple
        && before.is_empty()
        && after.is_empty()
        && (value.text == "zero" || value.text.parse::<f64>().is_ok())
    {
        // Without a unit or a sense it is the force that is claimed.
        return None;
    }
    if limit {
        if value.value < 0.0 {
            if dice.odds(70) {
                return None;
            }
            spoilt = true;
            kind.push_str(" negative limit");
        }
    } else if value.value < 0.0 && !after.is_empty() {
        return None;
    }
    if value.zero && (value.text == "zero" || value.text == "0") && !after.is_empty() {
        // `0 up` says no more than `0`.
        before = if before.is_empty() && !asked.what.vector() { after } else { before };
        after = String::new();
        if before.is_empty() {
            return None;
        }
        if spoilt || (asked.what.vector() && !limit) {
            return None;
        }
        if limit && before.starts_with('.') {
            return None;
        }
    }
    if dice.odds(1) {
        let u = &book.model.units;
        value.text = match asked.what.dim() {
            Dim::Force => format!("3 {}", u.length.0),
            Dim::Moment => format!("3 {}", u.force.0),
            Dim::Moved => format!("3 {}", u.force.0),
            Dim::Angle => format!("3 {}", u.length.0),
        };
        if asked.what == What::Couple {
            return None;
        }
        value.wrong = true;
        kind.push_str(" other dimension");
    }
    let mut text = format!("{}{} {} {}", head(asked, &before), if limit { " " } else { "" }, relation, value.text)
        .replace("  ", " ")
        .replace(" :", ":");
    if !after.is_empty() {
        text = format!("{text} {after}");
    }
    kind.push_str(&format!(
        " {relation}{}{}",
        if before.is_empty() { "" } else { " sense before" },
        if after.is_empty() { "" } else { " sense after" }
    ));
    if spoilt || value.wrong {
        return Some((text, Judged::Error));
    }
    if value.zero {
        kind.push_str(" zero");
    }
    let holds = if limit {
        // Samples of a train, or along a chain, miss what is next to nothing.
        let is_sampled = along || matches!(under, Under::Train);
        let is_slight =
            |s: &Seen| s.high < 1e-2 * s.low.abs().max(s.high.abs()) && s.low.abs().max(s.high.abs()) > dust.0;
        if is_sampled && value.value == 0.0 && seen.iter().any(is_slight) {
            return None;
        }
        all(seen.iter().map(|s| {
            if relation == "<=" {
                at_most(s.high, value.value, dust)
            } else {
                let x = if along || matches!(under, Under::Train) { s.high } else { s.low };
                at_most(-x, -value.value, dust)
            }
        }))
    } else {
        let mut values = value.clone();
        let mut other = None;
        if dice.odds(15) && !values.zero {
            kind.push_str(" within");
            let d = (truth - values.value).abs().max(truth.abs() * 1e-3) * (0.2 + 3.0 * dice.share());
            if dice.odds(40) {
                let share = crate::model::round(100.0 * d / values.value.abs());
                if share.1 > 90.0 || share.1 < 1e-3 {
                    return None;
                }
                text = format!("{text} within {}%", share.0);
                values.tolerance = share.1 / 100.0 * values.value.abs();
                other = Some(share.1 / 100.0 * truth.abs());
            } else {
                let (unit, f, own) = pen.unit(dice);
                if d / f < 1e-6 {
                    return None;
                }
                let (t, v) = crate::model::round(d / f);
                values.tolerance = v * f;
                let bare = own && matches!(pen.dim, Dim::Force | Dim::Moved) && dice.odds(40);
                text = if bare { format!("{text} within {t}") } else { format!("{text} within {t} {unit}") };
            }
        }
        let judge = |value: &Value| {
            all(seen.iter().map(|s| {
                if value.zero && (along || matches!(under, Under::Train)) {
                    return all([close(s.low, value, dust), close(s.high, value, dust)]);
                }
                if along || matches!(under, Under::Train) {
                    return close(s.high, value, dust);
                }
                any(s.sides.iter().map(|x| close(*x, value, dust)))
            }))
        };
        // What the notation leaves open: a bare value along a chain or under a train, and several bars at once.
        if !sensed && (along || matches!(under, Under::Train)) && !value.zero {
            return None;
        }
        if along && value.tolerance > 0.0 && value.value == 0.0 {
            return None;
        }
        if sensed && (along || matches!(under, Under::Train)) && (value.zero || value.value < 0.0) {
            return None;
        }
        let first = judge(&values);
        if let Some(other) = other {
            let second = judge(&Value { tolerance: other, ..values });
            if first != second {
                return None;
            }
        }
        first
    };
    if along && asked.what == What::Force && (relation == ">=" || (relation == ":" && !value.zero)) {
        return None;
    }
    Some((text, Judged::Is(holds)))
}

/// The whole of a reaction or movement: by components, or a size and a direction.
fn whole(
    dice: &mut Dice,
    book: &Book,
    asked: &Asked,
    states: &[&State],
    dust: (f64, f64),
    kind: &mut String,
) -> Option<(String, Judged)> {
    let pen = Pen { model: book.model, dim: asked.what.dim() };
    let of = |state: &State| [[1.0, 0.0], [0.0, 1.0]].map(|d| book.joint_value(asked, state, &Measure::Part(d)));
    let truth = of(states[dice.below(states.len())]);
    kind.push_str(" whole");
    let head = head(asked, "");
    let stray = |dice: &mut Dice, v: f64| match dice.below(8) {
        0 => v * (1.0 + (dice.share() - 0.5) * 0.04),
        1 if dice.odds(30) => -v,
        _ => v,
    };
    let within = |dice: &mut Dice, text: String, claimed: Xy| -> (String, Option<f64>) {
        if !dice.odds(25) {
            return (text, None);
        }
        let d = (truth[0] - claimed[0]).hypot(truth[1] - claimed[1]).max(truth[0].hypot(truth[1]) * 1e-3)
            * (0.3 + 2.0 * dice.share());
        let (unit, f, _) = pen.unit(dice);
        let (t, v) = crate::model::round(d / f);
        (format!("{text} within {t} {unit}"), (v > 0.0).then_some(v * f))
    };
    let judge = |claimed: [&Value; 2], within: Option<f64>| {
        all(states.iter().map(|s| {
            let is = of(s);
            if let Some(w) = within {
                let d = (is[0] - claimed[0].value).hypot(is[1] - claimed[1].value);
                let gap = 1e-6 * is[0].hypot(is[1]).max(claimed[0].value.hypot(claimed[1].value)) + dust.1;
                return ((d - w).abs() > gap).then_some(d < w);
            }
            all([0, 1].map(|k| close(is[k], claimed[k], dust)))
        }))
    };
    let nothing = Value { text: String::new(), value: 0.0, tolerance: 0.0, zero: true, wrong: false };
    match dice.below(5) {
        0 | 1 => {
            let (unit, f, own) = pen.unit(dice);
            let mut part = |v: f64| {
                let v = stray(dice, v);
                let (text, value, half) = if v.abs() <= dust.1 {
                    let t = ["0", "0", "0.0", "0.00"][dice.below(4)];
                    (t.to_owned(), 0.0, half_unit(t, 0.0))
                } else {
                    pen.number(dice, v / f)
                };
                let zero = value == 0.0 && !text.contains('.');
                Value { text, value: value * f, tolerance: if zero { 0.0 } else { half * f }, zero, wrong: false }
            };
            let (x, y) = (part(truth[0]), part(truth[1]));
            let text = match dice.below(3) {
                0 if own => format!("({}, {})", x.text, y.text),
                1 => format!("({} {unit}, {} {unit})", x.text, y.text),
                _ => format!("({}, {}) {unit}", x.text, y.text),
            };
            kind.push_str(" parts");
            let (text, w) = within(dice, format!("{head}: {text}"), [x.value, y.value]);
            Some((text, Judged::Is(judge([&x, &y], w))))
        }
        2 | 3 => {
            let (words, d) = [("up", [0.0, 1.0]), ("down", [0.0, -1.0]), ("left", [-1.0, 0.0]), ("right", [1.0, 0.0])]
                .into_iter()
                .max_by(|a, b| dot(a.1, truth).total_cmp(&dot(b.1, truth)))?;
            let v = stray(dice, dot(truth, d));
            if v <= dust.1 {
                return None;
            }
            let value = pen.value(dice, v);
            if value.value <= 0.0 {
                return None;
            }
            kind.push_str(" sense after");
            let mut parts = [nothing.clone(), nothing];
            let k = usize::from(d[0] == 0.0);
            parts[k] = Value { value: value.value * d[k], ..value.clone() };
            let text = format!("{head}: {} {words}", value.text);
            if value.wrong {
                return Some((text, Judged::Error));
            }
            let (text, w) = within(dice, text, [parts[0].value, parts[1].value]);
            Some((text, Judged::Is(judge([&parts[0], &parts[1]], w))))
        }
        _ => {
            let size = stray(dice, truth[0].hypot(truth[1])).abs();
            if size <= dust.1 {
                return None;
            }
            let value = pen.value(dice, size);
            if value.value <= 0.0 || value.wrong {
                return None;
            }
            let angle = truth[1].atan2(truth[0]).to_degrees();
            let angle: f64 = format!("{angle:.*}", dice.below(4)).parse().unwrap();
            let (s, c) = angle.to_radians().sin_cos();
            kind.push_str(" at angle");
            let text = format!("{head}: {} @ {angle}°", value.text);
            let parts = |tolerance: &dyn Fn(f64) -> f64| {
                [c, s].map(|d| Value {
                    text: String::new(),
                    value: value.value * d,
                    tolerance: tolerance(value.value * d),
                    zero: false,
                    wrong: false,
                })
            };
            let (text, w) = within(dice, text, [value.value * c, value.value * s]);
            // By half a unit of the size, or as computed parts: only where the narrower and the wider say the same.
            let ways = [
                parts(&|v| value.tolerance.min(0.005 * v.abs())),
                parts(&|_| value.tolerance.max(0.005 * value.value)),
            ];
            let judged = ways.map(|p| judge([&p[0], &p[1]], w));
            (judged[0] == judged[1]).then_some((text, Judged::Is(judged[0])))
        }
    }
}
