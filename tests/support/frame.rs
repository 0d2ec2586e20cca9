//! Plane frames as plain numbers, apart from the program: grown at random,
//! written in the notation, and what statics says of them by hand.

use super::dice;

use std::fmt::Write as _;

pub use dice::Dice as Rng;

/// Metres, newtons.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    pub joints: Vec<[f64; 2]>,
    pub members: Vec<Member>,
    pub supports: Vec<(usize, Hold)>,
    pub loads: Vec<Load>,
    /// Empty where joints are J0, J1, …
    pub names: Vec<String>,
    /// How many unknowns more than equations it was grown with.
    pub redundancy: u64,
}

#[derive(Clone, Copy, Debug)]
pub struct Member {
    pub ends: [usize; 2],
    pub kind: Kind,
    pub hinged: [bool; 2],
    /// Newtons; newton square metres.
    pub ea: f64,
    pub ei: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Bar,
    Beam,
}

#[derive(Clone, Copy, Debug)]
pub enum Hold {
    Pin,
    Fixed,
    /// The line of its reaction.
    Roller([f64; 2]),
    /// The direction it leaves free.
    Guide([f64; 2]),
    Spring {
        force: [Option<f64>; 2],
        turn: Option<f64>,
    },
}

#[derive(Clone, Copy, Debug)]
pub enum Load {
    Force {
        joint: usize,
        force: [f64; 2],
    },
    Couple {
        joint: usize,
        moment: f64,
    },
    /// Places are measured from the member's end `from_end`.
    Point {
        member: usize,
        from_end: usize,
        at: f64,
        force: [f64; 2],
    },
    Twist {
        member: usize,
        from_end: usize,
        at: f64,
        moment: f64,
    },
    Spread {
        member: usize,
        from_end: usize,
        stretch: [f64; 2],
        intensity: [[f64; 2]; 2],
        measure: Measure,
        delivery: Delivery,
    },
    Heat {
        member: usize,
        rise: f64,
    },
    Misfit {
        member: usize,
        amount: f64,
    },
    Settle {
        joint: usize,
        by: [f64; 2],
    },
    Turn {
        joint: usize,
        by: f64,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    Length,
    Run,
    Rise,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Delivery {
    Along,
    AtJoints,
}

/// Thermal expansion of every member, per kelvin.
pub const EXPANSION: f64 = 1.2e-5;

/// The units a file is written in: decimal ones, so that nothing is rounded.
#[derive(Clone, Copy, Debug)]
pub struct Units {
    pub length: (&'static str, f64),
    pub force: (&'static str, f64),
}

pub const BASE: Units = Units { length: ("m", 1.0), force: ("N", 1.0) };
pub const SMALL: Units = Units { length: ("mm", 1e-3), force: ("kN", 1e3) };

/// A load on a member in its own axes: along it, and across it to the left,
/// measured from its first-named joint.
#[derive(Clone, Copy, Debug)]
pub enum Local {
    Spread { from: f64, to: f64, start: [f64; 2], end: [f64; 2] },
    Point { at: f64, force: [f64; 2] },
    Couple { at: f64, moment: f64 },
}

impl Frame {
    pub fn vector(&self, member: usize) -> [f64; 2] {
        let [a, b] = self.members[member].ends;
        [self.joints[b][0] - self.joints[a][0], self.joints[b][1] - self.joints[a][1]]
    }

    pub fn length(&self, member: usize) -> f64 {
        let [x, y] = self.vector(member);
        x.hypot(y)
    }

    /// The unit vector along a member.
    pub fn axis(&self, member: usize) -> [f64; 2] {
        let ([x, y], length) = (self.vector(member), self.length(member));
        [x / length, y / length]
    }

    pub fn local(&self, member: usize, [x, y]: [f64; 2]) -> [f64; 2] {
        let [c, s] = self.axis(member);
        [x * c + y * s, y * c - x * s]
    }

    pub fn global(&self, member: usize, [along, across]: [f64; 2]) -> [f64; 2] {
        let [c, s] = self.axis(member);
        [along * c - across * s, along * s + across * c]
    }

    pub fn name(&self, member: usize) -> String {
        let [a, b] = self.members[member].ends;
        format!("{}-{}", self.joint_name(a), self.joint_name(b))
    }

    pub fn joint_name(&self, joint: usize) -> String {
        self.names.get(joint).cloned().unwrap_or_else(|| format!("J{joint}"))
    }

    /// Whether a member's end passes a moment to its joint.
    pub fn holds(&self, member: usize, end: usize) -> bool {
        let member = &self.members[member];
        member.kind == Kind::Beam && !member.hinged[end]
    }

    /// Whether a joint has a rotation of its own.
    pub fn turns(&self, joint: usize) -> bool {
        let by_member =
            (0..self.members.len()).any(|m| (0..2).any(|end| self.members[m].ends[end] == joint && self.holds(m, end)));
        by_member || self.support(joint).is_some_and(Hold::holds_rotation)
    }

    pub fn support(&self, joint: usize) -> Option<Hold> {
        self.supports.iter().find(|(at, _)| *at == joint).map(|(_, hold)| *hold)
    }

    /// A load on a member in its own axes; `None` for what acts elsewhere.
    pub fn on_member(&self, load: &Load) -> Option<(usize, Local)> {
        let place = |member: usize, from_end: usize, at: f64| if from_end == 0 { at } else { self.length(member) - at };
        Some(match *load {
            Load::Point { member, from_end, at, force } => {
                (member, Local::Point { at: place(member, from_end, at), force: self.local(member, force) })
            }
            Load::Twist { member, from_end, at, moment } => {
                (member, Local::Couple { at: place(member, from_end, at), moment })
            }
            Load::Spread { member, from_end, stretch: [a, b], intensity: [p, q], measure, delivery } => {
                let share = match measure {
                    Measure::Length => 1.0,
                    Measure::Run => self.axis(member)[0].abs(),
                    Measure::Rise => self.axis(member)[1].abs(),
                };
                let [p, q] = [p, q].map(|w| self.local(member, [w[0] * share, w[1] * share]));
                if delivery == Delivery::AtJoints {
                    return None;
                }
                let ends = [place(member, from_end, a), place(member, from_end, b)];
                if from_end == 0 {
                    (member, Local::Spread { from: ends[0], to: ends[1], start: p, end: q })
                } else {
                    (member, Local::Spread { from: ends[1], to: ends[0], start: q, end: p })
                }
            }
            _ => return None,
        })
    }

    /// The loads on one member.
    pub fn spans(&self, member: usize) -> Vec<Local> {
        self.loads
            .iter()
            .filter_map(|load| self.on_member(load))
            .filter(|(m, _)| *m == member)
            .map(|(_, load)| load)
            .collect()
    }

    /// What acts on the joints themselves: Fx, Fy, M.
    pub fn on_joints(&self) -> Vec<[f64; 3]> {
        let mut sums = vec![[0.0; 3]; self.joints.len()];
        for load in &self.loads {
            match *load {
                Load::Force { joint, force: [x, y] } => {
                    sums[joint][0] += x;
                    sums[joint][1] += y;
                }
                Load::Couple { joint, moment } => sums[joint][2] += moment,
                Load::Spread { member, delivery: Delivery::AtJoints, .. } => {
                    let mut along = *load;
                    if let Load::Spread { delivery, .. } = &mut along {
                        *delivery = Delivery::Along;
                    }
                    let (_, local) = self.on_member(&along).unwrap();
                    let length = self.length(member);
                    let ([fx, fy], centre) = local.resultant();
                    for (end, share) in [(0, 1.0 - centre / length), (1, centre / length)] {
                        let [x, y] = self.global(member, [fx * share, fy * share]);
                        let joint = self.members[member].ends[end];
                        sums[joint][0] += x;
                        sums[joint][1] += y;
                    }
                }
                _ => {}
            }
        }
        sums
    }

    /// The statements, one a line, in no order that matters.
    pub fn lines(&self, units: Units, sections: Sections) -> Vec<String> {
        let mut lines = self.structure_lines(units, sections);
        lines.extend(self.load_lines(units));
        lines
    }

    /// All but the loads.
    pub fn structure_lines(&self, units: Units, sections: Sections) -> Vec<String> {
        let ((m, metre), (n, newton)) = (units.length, units.force);
        let point = |[x, y]: [f64; 2]| format!("({}, {}) {m}", decimal(x / metre), decimal(y / metre));
        let mut lines = vec![format!("units {m}, {n}"), format!("material grey: expansion = {EXPANSION} per K")];
        lines.extend(self.joints.iter().enumerate().map(|(index, at)| format!("joint J{index}: {}", point(*at))));
        for (index, member) in self.members.iter().enumerate() {
            let word = if member.kind == Kind::Bar { "bar" } else { "beam" };
            let [a, b] = member.ends;
            let mut line = format!("{word} J{a}-J{b}");
            if sections == Sections::Stated {
                write!(line, ": s{index}").unwrap();
                let stiffness = |value: f64, unit: f64, symbol: String| {
                    if value.is_finite() { format!("{} {symbol}", decimal(value / unit)) } else { "rigid".to_owned() }
                };
                let ea = stiffness(member.ea, newton, n.to_owned());
                let ei = stiffness(member.ei, newton * metre * metre, format!("{n}*{m}^2"));
                lines.push(format!("section s{index}: grey, EA = {ea}, EI = {ei}"));
            }
            let hinged: Vec<String> =
                (0..2).filter(|end| member.hinged[*end]).map(|end| format!("J{}", member.ends[end])).collect();
            if !hinged.is_empty() && member.kind == Kind::Beam {
                let colon = if sections == Sections::Stated { "" } else { ":" };
                write!(line, "{colon} hinged at {}", hinged.join(", ")).unwrap();
            }
            lines.push(line);
        }
        for (joint, hold) in &self.supports {
            let vector = |[x, y]: [f64; 2]| format!("({}, {})", decimal(x), decimal(y));
            lines.push(match hold {
                Hold::Pin => format!("pin J{joint}"),
                Hold::Fixed => format!("fixed J{joint}"),
                Hold::Roller(normal) => format!("roller J{joint}: pushes {}", vector(*normal)),
                Hold::Guide(free) => format!("guide J{joint}: along {}", vector(*free)),
                Hold::Spring { force: [kx, ky], turn } => {
                    let mut parts = Vec::new();
                    for (word, k) in [("kx", kx), ("ky", ky)] {
                        parts.extend(k.map(|k| format!("{word} = {} {n}/{m}", decimal(k / newton * metre))));
                    }
                    parts.extend(turn.map(|k| format!("kr = {} {n}*{m}/rad", decimal(k / newton / metre))));
                    format!("spring J{joint}: {}", parts.join(", "))
                }
            });
        }
        lines
    }

    pub fn load_lines(&self, units: Units) -> Vec<String> {
        let ((m, metre), (n, newton)) = (units.length, units.force);
        let length = |value: f64| format!("{} {m}", decimal(value / metre));
        let point = |[x, y]: [f64; 2]| format!("({}, {}) {m}", decimal(x / metre), decimal(y / metre));
        let force = |[x, y]: [f64; 2]| format!("({}, {}) {n}", decimal(x / newton), decimal(y / newton));
        let couple = |value: f64| format!("{} {n}*{m}", decimal(value / newton / metre));
        let spread = |[x, y]: [f64; 2]| {
            let unit = newton / metre;
            format!("({}, {}) {n}/{m}", decimal(x / unit), decimal(y / unit))
        };
        let chain = |member: usize, from_end: usize| {
            let ends = self.members[member].ends;
            format!("J{}-J{}", ends[from_end], ends[1 - from_end])
        };
        let mut lines = Vec::new();
        for load in &self.loads {
            lines.push(match *load {
                Load::Force { joint, force: f } => format!("load J{joint}: {}", force(f)),
                Load::Couple { joint, moment } => format!("moment J{joint}: {}", couple(moment)),
                Load::Point { member, from_end, at, force: f } => {
                    format!("load {}: {} at {}", chain(member, from_end), force(f), length(at))
                }
                Load::Twist { member, from_end, at, moment } => {
                    format!("moment {}: {} at {}", chain(member, from_end), couple(moment), length(at))
                }
                Load::Spread { member, from_end, stretch: [a, b], intensity: [p, q], measure, delivery } => {
                    let mut line = format!("load {}: {} to {}", chain(member, from_end), spread(p), spread(q));
                    write!(line, " from {} to {}", length(a), length(b)).unwrap();
                    line += match measure {
                        Measure::Length => "",
                        Measure::Run => " per run",
                        Measure::Rise => " per rise",
                    };
                    line + if delivery == Delivery::AtJoints { " at joints" } else { "" }
                }
                Load::Heat { member, rise } => format!("heat {}: {} K", chain(member, 0), decimal(rise)),
                Load::Misfit { member, amount } => {
                    let sense = if amount > 0.0 { "long" } else { "short" };
                    format!("misfit {}: {} {sense}", chain(member, 0), length(amount.abs()))
                }
                Load::Settle { joint, by } => format!("settle J{joint}: {}", point(by)),
                Load::Turn { joint, by } => {
                    let sense = if by > 0.0 { "ccw" } else { "cw" };
                    format!("settle J{joint}: {} rad {sense}", decimal(by.abs()))
                }
            });
        }
        lines
    }

    pub fn text(&self) -> String {
        self.lines(BASE, Sections::Stated).join("\n") + "\n"
    }

    /// Turned by the angle of the 3-4-5 triangle, or mirrored left to right.
    pub fn moved(&self, how: Moved) -> Frame {
        let turn = |[x, y]: [f64; 2]| match how {
            Moved::Turned => [0.6 * x - 0.8 * y, 0.8 * x + 0.6 * y].map(|part| (part * 1e6).round() / 1e6),
            Moved::Mirrored => [-x, y],
        };
        let couple = |m: f64| if how == Moved::Mirrored { -m } else { m };
        let mut frame = self.clone();
        frame.joints.iter_mut().for_each(|joint| *joint = turn(*joint));
        for (_, hold) in &mut frame.supports {
            match hold {
                Hold::Roller(line) | Hold::Guide(line) => *line = turn(*line),
                _ => {}
            }
        }
        for load in &mut frame.loads {
            match load {
                Load::Force { force, .. } | Load::Point { force, .. } => *force = turn(*force),
                Load::Couple { moment, .. } | Load::Twist { moment, .. } => *moment = couple(*moment),
                Load::Spread { intensity: [p, q], .. } => (*p, *q) = (turn(*p), turn(*q)),
                Load::Settle { by, .. } => *by = turn(*by),
                Load::Turn { by, .. } => *by = couple(*by),
                Load::Heat { .. } | Load::Misfit { .. } => {}
            }
        }
        frame
    }
}

/// Whether members are written with their stiffness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sections {
    Stated,
    Unknown,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moved {
    Turned,
    Mirrored,
}

impl Hold {
    pub fn holds_rotation(self) -> bool {
        matches!(self, Hold::Fixed | Hold::Guide(_) | Hold::Spring { turn: Some(_), .. })
    }
}

impl Local {
    /// The force along and across, and where its line crosses the member.
    pub fn resultant(self) -> ([f64; 2], f64) {
        match self {
            Local::Point { at, force } => (force, at),
            Local::Couple { at, .. } => ([0.0; 2], at),
            Local::Spread { from, to, start, end } => {
                let span = to - from;
                let total = [(start[0] + end[0]) / 2.0 * span, (start[1] + end[1]) / 2.0 * span];
                // Both parts have the shares of one trapezoid where they are in proportion;
                // loads handed to joints here are.
                let (a, b) = (start[0].hypot(start[1]), end[0].hypot(end[1]));
                let share = if a + b > 0.0 { (a + 2.0 * b) / (a + b) } else { 1.5 };
                (total, from + span / 3.0 * share)
            }
        }
    }

    /// The force between the member's start and a place, and its moment about
    /// that place, counterclockwise. A load exactly there is left out.
    pub fn before(self, place: f64) -> ([f64; 2], f64) {
        match self {
            Local::Point { at, force } if at < place => (force, -force[1] * (place - at)),
            Local::Couple { at, moment } if at < place => ([0.0; 2], moment),
            Local::Spread { from, to, start, end } if from < place => {
                let until = to.min(place);
                let span = until - from;
                let share = span / (to - from);
                let last = [0, 1].map(|i| start[i] + (end[i] - start[i]) * share);
                let total = [0, 1].map(|i| (start[i] + last[i]) / 2.0 * span);
                // A rectangle and a triangle.
                let arm = |centre: f64| place - (from + span * centre);
                let turn = -start[1] * span * arm(0.5) - (last[1] - start[1]) / 2.0 * span * arm(2.0 / 3.0);
                (total, turn)
            }
            _ => ([0.0; 2], 0.0),
        }
    }
}

/// A decimal to thirteen figures: without the dust of a change of units.
pub fn decimal(value: f64) -> String {
    let before = if value == 0.0 { 0 } else { value.abs().log10().floor() as i32 + 1 };
    let text = format!("{value:.*}", (13 - before).clamp(1, 15) as usize);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text.is_empty() || text == "-0" { "0".to_owned() } else { text.to_owned() }
}

impl Rng {
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// To so many decimal places.
    pub fn between(&mut self, low: f64, high: f64, places: i32) -> f64 {
        let scale = 10_f64.powi(places);
        ((low + (high - low) * self.share()) * scale).round() / scale
    }

    pub fn chance(&mut self, of_ten: usize) -> bool {
        self.below(10) < of_ten
    }
}
