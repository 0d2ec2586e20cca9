//! Random sound structures, written out in the notation and built for the second solver from the same numbers.

#[path = "../support/dice.rs"]
mod dice;

use crate::solve::{Actions, Frame, Joint, Member, Solver, Support, Xy, dot};

pub use dice::Dice;

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d_4c95_7f2d)
    }
    /// Both ends included.
    pub fn from(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn odds(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }
}

pub struct Units {
    pub length: (&'static str, f64),
    pub force: (&'static str, f64),
    /// Of displacements: the third unit, or that of lengths.
    pub moved: (&'static str, f64),
    pub three: bool,
    /// A round length in the file's unit; a round force.
    grid: f64,
    push: f64,
}

const FT: f64 = 0.3048;
const LBF: f64 = 4.448_221_615_260_5;

fn units(dice: &mut Dice) -> Units {
    let all = [
        (("m", 1.0), ("kN", 1e3), None, 1.0, 2.0),
        (("m", 1.0), ("kN", 1e3), Some(("mm", 1e-3)), 1.0, 3.0),
        (("mm", 1e-3), ("N", 1.0), None, 1000.0, 500.0),
        (("m", 1.0), ("N", 1.0), Some(("cm", 1e-2)), 0.5, 100.0),
        (("ft", FT), ("kip", 1e3 * LBF), Some(("in", FT / 12.0)), 4.0, 1.5),
        (("ft", FT), ("lbf", LBF), None, 3.0, 120.0),
        (("in", FT / 12.0), ("lbf", LBF), Some(("mm", 1e-3)), 30.0, 80.0),
    ];
    let (length, force, moved, grid, push) = all[dice.below(all.len())];
    Units { length, force, moved: moved.unwrap_or(length), three: moved.is_some(), grid, push }
}

#[derive(Clone)]
pub struct Case {
    pub name: String,
    pub combination: bool,
    pub actions: Actions,
}

pub struct Train {
    pub name: String,
    pub loads: Vec<f64>,
    pub gaps: Vec<f64>,
    pub chain: Vec<usize>,
}

pub struct Model {
    pub lines: Vec<String>,
    pub units: Units,
    pub frame: Frame,
    pub cases: Vec<Case>,
    pub train: Option<Train>,
    pub known: bool,
    pub clockwise: bool,
    /// Chains of beams or of bars, as joints in a row.
    pub chains: Vec<Vec<usize>>,
}

/// A number to three figures, as text and as what the text says.
pub fn round(value: f64) -> (String, f64) {
    if value == 0.0 {
        return ("0".to_owned(), 0.0);
    }
    let places = (2 - value.abs().log10().floor() as i32).max(0) as usize;
    let text = format!("{value:.places$}");
    let back = text.parse().unwrap();
    (text, back)
}

impl Model {
    pub fn member(&self, a: usize, b: usize) -> Option<(usize, bool)> {
        self.frame
            .members
            .iter()
            .position(|m| m.ends == [a, b])
            .map(|m| (m, false))
            .or_else(|| self.frame.members.iter().position(|m| m.ends == [b, a]).map(|m| (m, true)))
    }

    pub fn name(&self, chain: &[usize]) -> String {
        chain.iter().map(|j| self.frame.joints[*j].name.as_str()).collect::<Vec<_>>().join("-")
    }

    pub fn length(&self, chain: &[usize]) -> f64 {
        chain
            .windows(2)
            .map(|w| {
                let (a, b) = (self.frame.joints[w[0]].at, self.frame.joints[w[1]].at);
                (b[0] - a[0]).hypot(b[1] - a[1])
            })
            .sum()
    }
}

/// A direction as it may be written after `@`, or a word alone, and its unit vector.
pub fn direction(dice: &mut Dice, model: &Model) -> (String, Xy) {
    let turned = |degrees: f64| {
        let (s, c) = degrees.to_radians().sin_cos();
        [c, s]
    };
    let unit = |v: Xy| {
        let l = v[0].hypot(v[1]);
        [v[0] / l, v[1] / l]
    };
    match dice.below(12) {
        0 | 1 => ("up".to_owned(), [0.0, 1.0]),
        2 | 3 => ("down".to_owned(), [0.0, -1.0]),
        4 => ("left".to_owned(), [-1.0, 0.0]),
        5 => ("right".to_owned(), [1.0, 0.0]),
        6 => {
            let a = dice.from(1, 359) as f64;
            (format!("@ {a}°"), turned(a))
        }
        7 => {
            let a = dice.from(5, 85) as f64;
            let (words, at) = [
                ("above right", a),
                ("above left", 180.0 - a),
                ("below left", 180.0 + a),
                ("below right", -a),
                ("left of up", 90.0 + a),
                ("right of up", 90.0 - a),
                ("left of down", 270.0 - a),
                ("right of down", 270.0 + a),
            ][dice.below(8)];
            (format!("@ {a}° {words}"), turned(at))
        }
        8 => {
            let v = [dice.from(1, 4), -dice.from(1, 4)];
            (format!("@ ({}, {})", v[0], v[1]), unit([v[0] as f64, v[1] as f64]))
        }
        kind => {
            let n = model.frame.joints.len();
            let a = dice.below(n);
            let b = (a + 1 + dice.below(n - 1)) % n;
            let (p, q) = (model.frame.joints[a].at, model.frame.joints[b].at);
            let v = unit([q[0] - p[0], q[1] - p[1]]);
            let (a, b) = (&model.frame.joints[a].name, &model.frame.joints[b].name);
            match kind {
                9 => (format!("@ along({a}-{b})"), v),
                10 => (format!("@ across({a}-{b})"), [-v[1], v[0]]),
                _ => (format!("@ ({b} - {a})"), v),
            }
        }
    }
}

struct Draft {
    joints: Vec<Joint>,
    /// Chains with whether they are beams, and where they are hinged.
    chains: Vec<(Vec<usize>, bool, Vec<usize>)>,
    hinges: Vec<usize>,
    supports: Vec<(usize, u8)>,
    texts: Vec<String>,
}

impl Draft {
    fn joint(&mut self, u: &Units, name: &str, x: f64, y: f64) -> usize {
        let (x, y) = ((x * 8.0).round() / 8.0 * u.grid, (y * 8.0).round() / 8.0 * u.grid);
        self.texts.push(format!("joint {name}: ({x}, {y})"));
        self.joints.push(Joint { name: name.to_owned(), at: [x * u.length.1, y * u.length.1] });
        self.joints.len() - 1
    }
}

fn layout(dice: &mut Dice, u: &Units) -> Draft {
    let mut d = Draft { joints: vec![], chains: vec![], hinges: vec![], supports: vec![], texts: vec![] };
    let jog = |dice: &mut Dice| dice.from(-2, 2) as f64 / 8.0;
    match dice.below(6) {
        0 | 1 => {
            // A truss of panels, here and there braced twice.
            let panels = 1 + dice.below(3);
            let twice = dice.odds(40);
            let mut low = vec![];
            let mut high = vec![];
            for i in 0..=panels {
                let x = 1.5 * i as f64;
                let y = jog(dice);
                low.push(d.joint(u, &format!("L{i}"), x, y));
                let (px, py) = (x + jog(dice), 1.0 + jog(dice));
                high.push(d.joint(u, &format!("U{i}"), px, py));
            }
            for i in 0..panels {
                d.chains.push((vec![low[i], low[i + 1]], false, vec![]));
                d.chains.push((vec![high[i + 1], high[i]], false, vec![]));
                let rising = dice.odds(50);
                let a = vec![low[i], high[i + 1]];
                let b = vec![high[i], low[i + 1]];
                let both = twice && dice.odds(60);
                if rising || both {
                    d.chains.push((a, false, vec![]));
                }
                if !rising || both {
                    d.chains.push((b, false, vec![]));
                }
            }
            for i in 0..=panels {
                d.chains.push((vec![low[i], high[i]], false, vec![]));
            }
            d.supports.push((low[0], 0));
            d.supports.push((low[panels], 3));
        }
        2 | 3 => {
            // A beam in one line: level, sloping or upright, and named either way.
            let joints = 2 + dice.below(3);
            let (dx, dy) =
                [(1.0, 0.0), (1.0, 0.0), (1.0, 0.5), (0.0, 1.0), (-1.0, 0.75), (-1.0, 0.0), (0.5, -1.0)][dice.below(7)];
            let mut x = 0.0;
            let mut chain = vec![];
            for i in 0..joints {
                chain.push(d.joint(u, ["A", "B", "C", "D", "E"][i], x * dx, x * dy));
                x += 1.0 + dice.from(0, 8) as f64 / 8.0 * 2.0;
            }
            let fixed = dice.odds(50);
            let across = if dx == 0.0 { 4 } else { 3 };
            d.supports.push((chain[0], if fixed { 1 } else { 0 }));
            let mut hinged = vec![];
            for (at, joint) in chain.iter().enumerate().skip(1) {
                let last = at + 1 == chain.len();
                if dice.odds(60) || (!fixed && last) {
                    d.supports.push((*joint, if dice.odds(15) { 5 } else { across }));
                } else if !last && dice.odds(50) {
                    hinged.push(*joint);
                }
            }
            if dice.odds(50) {
                d.chains.push((chain, true, hinged));
            } else {
                d.hinges = hinged;
                d.chains.push((chain, true, vec![]));
            }
        }
        4 => {
            // A portal: posts, a roof with a ridge, perhaps a hinge, perhaps a tie.
            let a = d.joint(u, "A", 0.0, 0.0);
            let h = 3.0 + jog(dice);
            let b = d.joint(u, "B", jog(dice) * 2.0, h);
            let ridge = 3.0 + jog(dice) + if dice.odds(30) { 0.0 } else { 1.0 };
            let c = d.joint(u, "C", 3.0 + jog(dice), ridge);
            let end = d.joint(u, "D", 6.0, 3.0 + jog(dice));
            let e = d.joint(u, "E", 6.0 + jog(dice), jog(dice) * 2.0);
            d.chains.push((vec![a, b], true, vec![]));
            if dice.odds(30) {
                d.chains.push((vec![b, c], true, vec![]));
                d.chains.push((vec![c, end], true, if dice.odds(50) { vec![c] } else { vec![] }));
            } else {
                d.chains.push((vec![b, c, end], true, if dice.odds(50) { vec![c] } else { vec![] }));
            }
            d.chains.push((if dice.odds(50) { vec![end, e] } else { vec![e, end] }, true, vec![]));
            if dice.odds(30) {
                d.chains.push((vec![b, end], false, vec![]));
            }
            let s = [0, 0, 1, 3];
            d.supports.push((a, if dice.odds(50) { 0 } else { 1 }));
            d.supports.push((e, s[dice.below(4)]));
        }
        _ => {
            // A beam on a strut.
            let a = d.joint(u, "A", 0.0, 0.0);
            let b = d.joint(u, "B", 2.0 + jog(dice), jog(dice));
            let c = d.joint(u, "C", 4.0, jog(dice));
            let s = d.joint(u, "S", jog(dice), -2.0 + jog(dice));
            d.chains.push((if dice.odds(50) { vec![a, b, c] } else { vec![c, b, a] }, true, vec![]));
            d.chains.push((vec![s, b], false, vec![]));
            d.supports.push((a, if dice.odds(60) { 0 } else { 1 }));
            d.supports.push((s, 0));
            if dice.odds(30) {
                d.supports.push((c, 3));
            }
        }
    }
    d
}

/// A structure that stands, its cases and combinations; nothing where the dice gave none that does.
pub fn model(dice: &mut Dice) -> Option<Model> {
    let units = units(dice);
    let mut draft = layout(dice, &units);
    let mut frame = Frame { joints: std::mem::take(&mut draft.joints), ..Frame::default() };
    let mut lines = std::mem::take(&mut draft.texts);
    let lead = format!("units {}, {}", units.length.0, units.force.0);
    lines.insert(0, if units.three { format!("{lead}, {}", units.moved.0) } else { lead });
    let clockwise = dice.odds(25);
    if clockwise {
        lines.push("moments cw".to_owned());
    }
    // Stiffness: direct, soft, or of a material.
    let wanted = dice.odds(75);
    let kind = dice.below(4);
    let (ea, ei, expansion, weight) = match kind {
        0 => (0.0, 0.0, 1.2e-5, 77e3),
        1 => (dice.from(2, 40) as f64 * 1e4, dice.from(2, 40) as f64 * 1e5, 0.0, 0.0),
        _ => (dice.from(2, 90) as f64 * 1e6, dice.from(2, 90) as f64 * 1e5, 0.0, 0.0),
    };
    let (area, second) = (dice.from(10, 60), dice.from(200, 4000));
    let section = match kind {
        0 => {
            lines.push("material steel: E = 210 GPa, weight = 77 kN/m^3, expansion = 12e-6 per K".to_owned());
            format!("section s: steel, A = {area} cm^2, I = {second} cm^4")
        }
        _ => format!("section s: EA = {} kN, EI = {} kN*m^2", ea / 1e3, ei / 1e3),
    };
    let (ea, ei) = if kind == 0 { (210e9 * area as f64 * 1e-4, 210e9 * second as f64 * 1e-8) } else { (ea, ei) };
    let weight = weight * area as f64 * 1e-4;
    let mut chains = vec![];
    for (chain, beam, hinged) in &draft.chains {
        for pair in chain.windows(2) {
            let freed = [0, 1].map(|k| hinged.contains(&pair[k]) || draft.hinges.contains(&pair[k]));
            frame.members.push(Member { ends: [pair[0], pair[1]], beam: *beam, ea, ei, expansion, weight, freed });
        }
        chains.push(chain.clone());
    }
    for (joint, kind) in &draft.supports {
        let name = frame.joints[*joint].name.clone();
        let mut support = Support { joint: *joint, ..Support::default() };
        let both = vec![[1.0, 0.0], [0.0, 1.0]];
        let text = match kind {
            0 if dice.odds(85) => {
                support.lines = both;
                format!("pin {name}")
            }
            0 => {
                let (k, h) = (dice.from(1, 9), dice.from(1, 9));
                support.spring = [k as f64 * 1e6, h as f64 * 1e6, 0.0];
                format!("spring {name}: kx = {k} kN/mm, ky = {h} kN/mm")
            }
            1 if dice.odds(80) => {
                support.lines = both;
                support.turn = true;
                format!("fixed {name}")
            }
            1 if dice.odds(50) => {
                support.spring = [5e6, 8e6, 4e6];
                format!("spring {name}: kx = 5 kN/mm, ky = 8 kN/mm, kr = 4000 kN*m/rad")
            }
            1 => {
                support.turn = true;
                let a = [0, 90, 30, 45][dice.below(4)];
                let (s, c) = f64::from(a).to_radians().sin_cos();
                support.lines = vec![[-s, c]];
                format!("guide {name}: along {a}°")
            }
            4 => {
                support.lines = vec![[1.0, 0.0]];
                format!("roller {name}: along up")
            }
            5 => {
                support.spring = [2e6, 3e6, 0.0];
                format!("spring {name}: kx = 2 kN/mm, ky = 3 kN/mm")
            }
            _ => {
                let (text, line) = match dice.below(4) {
                    0 => {
                        let a = dice.from(-40, 40) as f64;
                        let (s, c) = a.to_radians().sin_cos();
                        (format!(": along {a}°"), [-s, c])
                    }
                    1 => {
                        let a = dice.from(55, 125) as f64;
                        let (s, c) = a.to_radians().sin_cos();
                        (format!(": pushes {a}°"), [c, s])
                    }
                    _ => (String::new(), [0.0, 1.0]),
                };
                support.lines = vec![line];
                format!("roller {name}{text}")
            }
        };
        if (support.turn || support.spring[2] != 0.0) && frame.rigid_ends(*joint) == 0 {
            return None;
        }
        lines.push(text);
        frame.supports.push(support);
    }
    let solver = Solver::new(&frame);
    if !solver.stands {
        return None;
    }
    let known = wanted || solver.redundancy > 0;
    if known {
        lines.push(section);
    }
    let tail = |more: &str| match (known, more.is_empty()) {
        (true, true) => ": s".to_owned(),
        (true, false) => format!(": s, {more}"),
        (false, false) => format!(": {more}"),
        _ => String::new(),
    };
    let mut model = Model { lines, units, frame, cases: vec![], train: None, known, clockwise, chains };
    for (chain, beam, hinged) in &draft.chains {
        let hinged: Vec<String> = hinged.iter().map(|j| model.frame.joints[*j].name.clone()).collect();
        let more = if hinged.is_empty() { String::new() } else { format!("hinged at {}", hinged.join(", ")) };
        let word = if *beam { "beam" } else { "bar" };
        let line = format!("{word} {}{}", model.name(chain), tail(&more));
        model.lines.push(line);
    }
    for joint in &draft.hinges {
        model.lines.push(format!("hinge {}", model.frame.joints[*joint].name));
    }
    model.lines.push("allow roller-pulls".to_owned());
    if !cases(dice, &mut model, kind == 0) {
        return None;
    }
    // Nothing that lies near to folding: rounding would decide.
    let solver = Solver::new(&model.frame);
    for case in &model.cases {
        let state = solver.solve(&case.actions);
        let push = 60.0 * model.units.push * model.units.force.1 * 8.0;
        if state.reactions.iter().any(|r| !(r[0].hypot(r[1]) < push)) {
            return None;
        }
        if model.known && state.joints.iter().any(|j| !(j[0].hypot(j[1]) < 3.0 * model.frame.size())) {
            return None;
        }
    }
    Some(model)
}

/// Whether anything acts.
fn cases(dice: &mut Dice, model: &mut Model, material: bool) -> bool {
    let count = dice.below(4);
    let names: Vec<String> = match count {
        0 => vec!["loads".to_owned()],
        n => ["dead", "snow", "wind"][..n].iter().map(|s| (*s).to_owned()).collect(),
    };
    for name in &names {
        let mut actions = Actions::default();
        let mut lines = vec![];
        for _ in 0..1 + dice.below(4) {
            if let Some(line) = action(dice, model, &mut actions, material) {
                lines.push(line);
            }
        }
        if lines.is_empty() {
            return false;
        }
        if count == 0 {
            model.lines.extend(lines);
        } else {
            model.lines.push(format!("case {name} {{"));
            model.lines.extend(lines.iter().map(|l| format!("  {l}")));
            model.lines.push("}".to_owned());
        }
        model.cases.push(Case { name: name.clone(), combination: false, actions });
    }
    if count > 0 {
        for name in &["strength", "service"][..dice.below(3)] {
            let mut actions = Actions::default();
            let mut terms = vec![];
            for case in model.cases.iter().filter(|c| !c.combination) {
                let factor = dice.from(5, 20) as f64 / 10.0;
                actions.add(factor, &case.actions);
                terms.push(format!("{factor} {}", case.name));
            }
            model.lines.push(format!("combination {name}: {}", terms.join(" + ")));
            model.cases.push(Case { name: (*name).to_owned(), combination: true, actions });
        }
    }
    if dice.odds(30)
        && let Some(chain) =
            model.chains.iter().find(|c| model.member(c[0], c[1]).is_some_and(|(m, _)| model.frame.members[m].beam))
    {
        let chain: Vec<usize> = if dice.odds(50) { chain.clone() } else { chain.iter().rev().copied().collect() };
        let whole = model.length(&chain) / model.units.length.1;
        let n = 1 + dice.below(3);
        let loads: Vec<(String, f64)> =
            (0..n).map(|_| round(model.units.push * dice.from(5, 60) as f64 / 10.0)).collect();
        let gaps: Vec<(String, f64)> = (1..n).map(|_| round(whole * dice.from(5, 40) as f64 / 100.0)).collect();
        let (f, l) = (model.units.force, model.units.length);
        let text: Vec<String> = loads.iter().map(|(t, _)| format!("{t} {}", f.0)).collect();
        let spaced: Vec<String> = gaps.iter().map(|(t, _)| format!("{t} {}", l.0)).collect();
        let spaced = if n > 1 { format!(" spaced {}", spaced.join(", ")) } else { String::new() };
        model.lines.push(format!("travel crane: {}{spaced} along {}", text.join(", "), model.name(&chain)));
        model.train = Some(Train {
            name: "crane".to_owned(),
            loads: loads.iter().map(|(_, v)| v * f.1).collect(),
            gaps: gaps.iter().map(|(_, v)| v * l.1).collect(),
            chain,
        });
    }
    true
}

fn action(dice: &mut Dice, model: &Model, actions: &mut Actions, material: bool) -> Option<String> {
    let frame = &model.frame;
    let u = &model.units;
    let push = |dice: &mut Dice| round(u.push * dice.from(2, 80) as f64 / 10.0);
    let joint = dice.below(frame.joints.len());
    let name = &frame.joints[joint].name;
    let beams: Vec<usize> = (0..frame.members.len()).filter(|m| frame.members[*m].beam).collect();
    let kind = if beams.is_empty() { [0, 0, 0, 6, 7, 8, 9][dice.below(7)] } else { dice.below(10) };
    if kind <= 1 {
        if dice.odds(40) {
            let ((a, x), (b, y)) = (push(dice), push(dice));
            let (x, y) = if dice.odds(50) { (-x, y) } else { (x, -y) };
            let (a, b) = if x < 0.0 { (format!("-{a}"), b) } else { (a, format!("-{b}")) };
            actions.forces.push((joint, [x * u.force.1, y * u.force.1]));
            return Some(format!("load {name}: ({a}, {b}) {}", u.force.0));
        }
        let (text, v) = push(dice);
        let (way, d) = direction(dice, model);
        actions.forces.push((joint, [v * u.force.1 * d[0], v * u.force.1 * d[1]]));
        return Some(format!("load {name}: {text} {} {way}", u.force.0));
    }
    let any = if beams.is_empty() { dice.below(frame.members.len()) } else { beams[dice.below(beams.len())] };
    let [i, j] = frame.members[any].ends;
    let (along, _, l) = frame.axes(any);
    let back = dice.odds(40);
    let named = if back { model.name(&[j, i]) } else { model.name(&[i, j]) };
    let place = |s: f64| if back { l - s } else { s };
    match kind {
        2 => {
            let (text, v) = round(u.push * u.grid * dice.from(2, 30) as f64 / 10.0);
            let (sense, sign) =
                [("ccw", 1.0), ("cw", -1.0), ("", if model.clockwise { -1.0 } else { 1.0 })][dice.below(3)];
            let value = sign * v * u.force.1 * u.length.1;
            let unit = format!("{}*{}", u.force.0, u.length.0);
            if dice.odds(50) && frame.rigid_ends(joint) > 0 {
                actions.couples.push((joint, value));
                return Some(format!("moment {name}: {text} {unit} {sense}"));
            }
            let share = dice.from(1, 9) * 10;
            actions.turn(any, place(l * share as f64 / 100.0), value);
            Some(format!("moment {named}: {text} {unit} {sense} at {share}%"))
        }
        3 => {
            let (text, v) = push(dice);
            let (way, d) = direction(dice, model);
            let (at, s) = round(l / u.length.1 * dice.from(5, 95) as f64 / 100.0);
            let s = place(s * u.length.1);
            actions.point(frame, any, s, [v * u.force.1 * d[0], v * u.force.1 * d[1]]);
            let unit = if dice.odds(50) { format!(" {}", u.length.0) } else { String::new() };
            Some(format!("load {named}: {text} {} {way} at {at}{unit}", u.force.0))
        }
        4 | 5 => {
            let per = u.force.1 / u.length.1;
            let ((a, first), (b, last)) = (
                round(u.push / u.grid * dice.from(2, 40) as f64 / 10.0),
                round(u.push / u.grid * dice.from(2, 40) as f64 / 10.0),
            );
            let (way, d) = direction(dice, model);
            let unit = format!("{}/{}", u.force.0, u.length.0);
            let mut text = format!("load {named}: {a} {unit}");
            let mut ends = (first, first);
            if dice.odds(40) {
                text = format!("{text} to {b} {unit}");
                ends.1 = last;
            }
            text = format!("{text} {way}");
            let mut stretch = (0.0, 1.0);
            if dice.odds(40) {
                let (p, q) = (dice.from(0, 6), dice.from(7, 10));
                text = format!("{text} from {}% to {}%", p * 10, q * 10);
                stretch = (p as f64 / 10.0, q as f64 / 10.0);
            }
            let mut measure = 1.0;
            if dice.odds(20) && along[0].abs() > 0.1 {
                text.push_str(" per run");
                measure = along[0].abs();
            }
            let (mut p, mut q) = (place(stretch.0 * l), place(stretch.1 * l));
            if p > q {
                (p, q, ends) = (q, p, (ends.1, ends.0));
            }
            let v = |w: f64| [w * per * measure * d[0], w * per * measure * d[1]];
            actions.spread(frame, any, p, q, v(ends.0), v(ends.1));
            Some(text)
        }
        6 if material && model.known => {
            let t = dice.from(5, 40);
            actions.strain.push((any, frame.members[any].expansion * t as f64));
            Some(format!("heat {named}: {t} K"))
        }
        7 if model.known => {
            let (text, v) = round(l / u.moved.1 * dice.from(1, 20) as f64 / 1e4);
            let (word, sign) = if dice.odds(50) { ("long", 1.0) } else { ("short", -1.0) };
            actions.strain.push((any, sign * v * u.moved.1 / l));
            let unit = if dice.odds(50) { format!(" {}", u.moved.0) } else { String::new() };
            Some(format!("misfit {named}: {text}{unit} {word}"))
        }
        8 if model.known => {
            let support = &frame.supports[dice.below(frame.supports.len())];
            if support.lines.is_empty() || actions.settle.iter().any(|(j, _)| *j == support.joint) {
                return None;
            }
            let line = support.lines[dice.below(support.lines.len())];
            let (words, d) = [("up", [0.0, 1.0]), ("down", [0.0, -1.0]), ("left", [-1.0, 0.0]), ("right", [1.0, 0.0])]
                .into_iter()
                .find(|(_, d)| dot(*d, line) > 0.999_999_9)?;
            let (text, v) = round(l / u.moved.1 * dice.from(1, 20) as f64 / 1e4);
            let v = v * u.moved.1;
            actions.settle.push((support.joint, [v * d[0], v * d[1], 0.0]));
            Some(format!("settle {}: {text} {} {words}", frame.joints[support.joint].name, u.moved.0))
        }
        9 if material && model.known => {
            for m in 0..frame.members.len() {
                let (_, _, l) = frame.axes(m);
                let w = frame.members[m].weight;
                if frame.members[m].beam {
                    actions.spread(frame, m, 0.0, l, [0.0, -w], [0.0, -w]);
                } else {
                    for j in frame.members[m].ends {
                        actions.forces.push((j, [0.0, -w * l / 2.0]));
                    }
                }
            }
            Some("weigh all".to_owned())
        }
        _ => None,
    }
}
