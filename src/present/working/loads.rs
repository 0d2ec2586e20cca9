//! What a case or combination puts on the structure: loads at an angle
//! resolved, loads along members replaced by their resultants or handed to
//! the joints, and the loads of each joint added up.
//!
//! Must not know: equilibrium, unknowns.

use std::collections::BTreeMap;

use crate::base::{Files, JointId, MemberId, Origin};
use crate::present::document::{Align, Block, Formula, Inline, Line, Sign, Step, Table, words};
use crate::present::results::words::arrow;
use crate::quantity::{Dimension, Number};
use crate::solution::part::{Acting, Kind, Place, Size};
use crate::solution::problem::{Direction, NO_PART};
use crate::solution::system::Loads;
use crate::statics::Subject;
use crate::statics::spans::{area_and_weight, measured_share};
use crate::structure::{Delivery, Distributed, LoadKind, LoadPoint};
use crate::syntax::tree::{Measure, MemberKind};

use super::pen::{Page, Pen, column, equation, formula, over, plain, product, say, sum, table, unitless, whole};
use super::sums::gathered;

/// Everything that acts in a case or combination, and how it came about.
pub fn gather(pen: &Pen<'_>, files: &Files, subject: Subject) -> (Loads, Vec<Block>) {
    let mut gather = Gather { pen, files, loads: Loads::default(), sums: BTreeMap::new(), steps: Steps::default() };
    for (case, factor) in subject.factors(pen.structure) {
        for load in &pen.structure.cases[case].loads {
            gather.load(&load.kind, load.origin, &factor);
        }
    }
    gather.finish()
}

#[derive(Default)]
struct Steps {
    resolved: Vec<Step>,
    /// Loads handed to joints: the label's members, the line, and a key that
    /// is alike for lines that say the same.
    handed: Vec<(Vec<String>, Step)>,
    resultants: Vec<Step>,
}

/// Whether a load's components stand in the source.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Givenness {
    Given,
    Computed,
}

fn written(value: f64, how: Givenness) -> Size {
    if how == Givenness::Given { Size::Load(value) } else { Size::Found(value) }
}

struct Gather<'a, 'b> {
    pen: &'a Pen<'b>,
    files: &'a Files,
    loads: Loads,
    /// What is added up at each joint along each axis.
    sums: BTreeMap<(JointId, u8), Vec<Size>>,
    steps: Steps,
}

impl Gather<'_, '_> {
    fn load(&mut self, kind: &LoadKind, origin: Origin, factor: &Number) {
        let times = factor.to_f64();
        match kind {
            LoadKind::Force { at, force: [x, y] } => {
                let place = placed(at);
                let is_given = self.resolve([x, y], factor, origin, place);
                let parts = [x, y].map(|part| written(part.to_f64() * times, is_given));
                match place {
                    Place::Joint(joint) => self.add(joint, parts),
                    Place::Along(member, at) => self.on_member(member, at, parts),
                }
            }
            LoadKind::Couple { at, moment } => {
                let place = placed(at);
                let at = match place {
                    Place::Joint(joint) => self.pen.at(joint),
                    Place::Along(member, at) => self.pen.structure.point_on(member, at),
                };
                let size = Size::Load(moment.to_f64() * times);
                self.loads.each.push(Acting { size, kind: Kind::Couple, at, place });
            }
            LoadKind::Distributed(load) => self.distributed(load, factor),
            LoadKind::Weight { member } => self.weight(*member, factor),
            LoadKind::Heat { .. } | LoadKind::Misfit { .. } | LoadKind::Settlement { .. } => self.loads.imposed = true,
        }
    }

    fn add(&mut self, joint: JointId, force: [Size; 2]) {
        for (axis, part) in (0..).zip(force) {
            if part.known() != Some(0.0) {
                self.sums.entry((joint, axis)).or_default().push(part);
            }
        }
    }

    fn on_member(&mut self, member: MemberId, at: f64, force: [Size; 2]) {
        let point = self.pen.structure.point_on(member, at);
        for (axis, part) in [[1.0, 0.0], [0.0, 1.0]].into_iter().zip(force) {
            if part.known() != Some(0.0) {
                self.loads.each.push(axis_force(axis, part, point, Place::Along(member, at)));
            }
        }
    }

    /// The components of a load at an angle, and a factor put to any load;
    /// whether its components are those that were given.
    fn resolve(&mut self, [x, y]: [&Number; 2], factor: &Number, origin: Origin, place: Place) -> Givenness {
        let pen = self.pen;
        let place = pen.place(place);
        let (fx, fy, times) = (x.to_f64(), y.to_f64(), factor.to_f64());
        let multiplier = factor_formula(factor);
        let text = self.files.text(origin.file);
        let written = origin.span.text(text);
        let by_components = written.split_once(':').is_some_and(|(_, value)| value.trim_start().starts_with('('))
            && !written.contains('@');
        if fx == 0.0 || fy == 0.0 || by_components {
            if let Some(multiplier) = multiplier {
                for (axis, part) in [([1.0, 0.0], fx), ([0.0, 1.0], fy)] {
                    if part != 0.0 {
                        let given = pen.given(part.abs(), &pen.force);
                        let result = pen.force((part * times).abs());
                        let way = arrow(axis.map(|unit| unit * (part * times).signum()));
                        let sides = vec![product(vec![multiplier.clone(), given]), result];
                        self.steps.resolved.push(equation(Vec::new(), sides, words(format!("{way} {place}"))));
                    }
                }
                return Givenness::Computed;
            }
            return Givenness::Given;
        }
        let size = fx.hypot(fy);
        let whole_force = pen.given(size, &pen.force);
        let from_vertical = written.contains("of up") || written.contains("of down");
        let (cosines, angle) = self.cosines([x, y], from_vertical);
        let words_of_angle = angle.map_or_else(String::new, |angle| {
            let (side, across) = (if fy > 0.0 { "above" } else { "below" }, if fx > 0.0 { "right" } else { "left" });
            if from_vertical {
                format!(", {angle}° {across} of {}", if fy > 0.0 { "up" } else { "down" })
            } else {
                format!(", {angle}° {side} {across}")
            }
        });
        let label = vec![
            formula(Formula::Struck(Box::new(whole_force.clone()))),
            say(format!(" {} {place}{words_of_angle}", arrow([fx, fy]))),
        ];
        self.steps.resolved.push(Step { label, sides: Vec::new(), remark: Vec::new() });
        for ((axis, part), cosine) in [([1.0, 0.0], fx), ([0.0, 1.0], fy)].into_iter().zip(cosines) {
            let factors: Vec<Formula> = multiplier.clone().into_iter().chain([whole_force.clone(), cosine]).collect();
            let way = arrow(axis.map(|unit| unit * (part * times).signum()));
            let sides = vec![product(factors), pen.force((part * times).abs())];
            self.steps.resolved.push(equation(Vec::new(), sides, words(format!("{way} {place}"))));
        }
        Givenness::Computed
    }

    /// How the two components' shares are written, and the angle in degrees
    /// where it is one.
    fn cosines(&self, [x, y]: [&Number; 2], from_vertical: bool) -> ([Formula; 2], Option<String>) {
        let (fx, fy) = (x.to_f64(), y.to_f64());
        let is_rational = x.is_exact() && y.is_exact() && x.hypot(y).is_exact();
        if let (true, Some([across @ Formula::Fraction(..), up])) =
            (is_rational, self.pen.cosines(Direction::of([x, y])))
        {
            return ([across, up], None);
        }
        let (across, up) = (fx.abs(), fy.abs());
        let degrees = if from_vertical { across.atan2(up) } else { up.atan2(across) }.to_degrees();
        let digits = self.pen.structure.figures.angle(degrees);
        let angle = Formula::Number { digits: digits.clone(), unit: "°".to_owned() };
        let of = |name| Formula::Function(name, Box::new(angle.clone()));
        let cosines = if from_vertical { [of("sin"), of("cos")] } else { [of("cos"), of("sin")] };
        (cosines, Some(digits))
    }

    fn weight(&mut self, member: MemberId, factor: &Number) {
        let (structure, pen) = (self.pen.structure, self.pen);
        let Some((area, weight)) = area_and_weight(structure, member) else { return };
        let length = structure.member_length(member);
        let total = area.to_f64() * weight.to_f64() * length * factor.to_f64();
        let mut factors: Vec<Formula> = factor_formula(factor).into_iter().collect();
        factors.push(pen.given(area.to_f64(), &pen.unit(Dimension::AREA)));
        factors.push(pen.given(weight.to_f64(), &pen.unit(Dimension::WEIGHT)));
        factors.push(pen.length(length));
        let is_beam = structure.members[member].kind == MemberKind::Beam;
        self.stretch(member, product(factors), [0.0, -total], length / 2.0, is_beam, "own weight of");
    }

    /// A resultant with how it was found, at its place on a member: kept there
    /// on a beam, handed to the ends else.
    fn stretch(&mut self, member: MemberId, how: Formula, force: [f64; 2], at: f64, is_beam: bool, what: &str) {
        let pen = self.pen;
        let name = pen.structure.member_name(member);
        let length = pen.structure.member_length(member);
        let [fx, fy] = force;
        let size = fx.hypot(fy);
        if size == 0.0 {
            return;
        }
        let way = arrow(force);
        let (start, end) = (pen.structure.members[member].start, pen.structure.members[member].end);
        // The lines of a resultant at an angle along x and y.
        let cosines = pen.cosines(Direction::of_floats(force));
        let resolved = |share: f64, place: &str| -> Vec<Step> {
            let parts = [(fx, [1.0, 0.0]), (fy, [0.0, 1.0])].into_iter().zip(cosines.iter().flatten());
            let line = |((part, axis), cosine): ((f64, [f64; 2]), &Formula)| {
                let sides =
                    vec![product(vec![pen.force(size * share), cosine.clone()]), pen.force((part * share).abs())];
                let way = arrow(axis.map(|unit| unit * part.signum()));
                equation(Vec::new(), sides, words(format!("{way}{place}")))
            };
            parts.map(line).collect()
        };
        if is_beam {
            let start = pen.joint(start);
            let place =
                if at == 0.0 { format!("at {start}") } else { format!("{} from {start}", plain(&pen.length(at))) };
            let label = words(format!("{what} {name}"));
            let sides = vec![how, pen.force(size)];
            self.steps.resultants.push(equation(label, sides, words(format!("{way} {place}"))));
            self.steps.resultants.extend(resolved(1.0, ""));
            self.on_member(member, at, force.map(Size::Found));
            return;
        }
        let far = at / length;
        let shares = if (far - 0.5).abs() < NO_PART {
            vec![(0.5, over(how, whole(2)), " at each end".to_owned())]
        } else {
            let part = |distance: f64| over(product(vec![how.clone(), pen.length(distance)]), pen.length(length));
            vec![
                (1.0 - far, part(length - at), format!(" at {}", pen.joint(start))),
                (far, part(at), format!(" at {}", pen.joint(end))),
            ]
        };
        for (share, how, place) in shares {
            let step = equation(Vec::new(), vec![how, pen.force(size * share)], words(format!("{way}{place}")));
            let label = format!("{what} ");
            self.hand(words(label.clone()), &name, step);
            for step in resolved(share, &place) {
                self.hand(vec![say(label.clone()), say("resolved")], &name, step);
            }
        }
        self.add(start, force.map(|part| Size::Found(part * (1.0 - far))));
        self.add(end, force.map(|part| Size::Found(part * far)));
    }

    /// Lines that say the same of several members are written once.
    fn hand(&mut self, label: Line, name: &str, mut step: Step) {
        step.label = label;
        match self.steps.handed.iter_mut().find(|(_, known)| *known == step) {
            Some((names, _)) => names.push(name.to_owned()),
            None => self.steps.handed.push((vec![name.to_owned()], step)),
        }
    }

    fn distributed(&mut self, load: &Distributed<Number>, factor: &Number) {
        let pen = self.pen;
        let measure = measured_share(pen.structure, load);
        let (from, to) = (load.from.to_f64(), load.to.to_f64());
        let span = to - from;
        let vector = |[x, y]: &[Number; 2]| [x.to_f64(), y.to_f64()];
        let (start, end) = (vector(&load.start), vector(&load.end));
        let is_beam = load.delivery == Delivery::AlongMember;
        let what = match load.measure {
            None => "load on",
            Some(Measure::PerRun) => "load on the run of",
            Some(Measure::PerRise) => "load on the rise of",
        };
        let times = factor.to_f64();
        let written = |intensity: [f64; 2], half: bool| {
            let mut factors: Vec<Formula> = factor_formula(factor).into_iter().collect();
            factors.push(pen.given(intensity[0].hypot(intensity[1]), &pen.line_load));
            factors.push(pen.length(span * measure));
            let all = product(factors);
            if half { over(all, whole(2)) } else { all }
        };
        // A trapezoid as a rectangle and a triangle, the smaller end its height.
        let (size_start, size_end) = (start[0].hypot(start[1]), end[0].hypot(end[1]));
        let even = if size_start <= size_end { start } else { end };
        let more = [start, end].map(|[x, y]| [x - even[0], y - even[1]]);
        let force = |intensity: [f64; 2], share: f64| intensity.map(|part| part * span * measure * share * times);
        if even != [0.0; 2] {
            self.stretch(load.member, written(even, false), force(even, 1.0), from + span / 2.0, is_beam, what);
        }
        let [at_start, at_end] = more;
        let triangle =
            if size_start <= size_end { (at_end, from + span * 2.0 / 3.0) } else { (at_start, from + span / 3.0) };
        if triangle.0 != [0.0; 2] {
            let what = what.replace("load", "triangle");
            self.stretch(load.member, written(triangle.0, true), force(triangle.0, 0.5), triangle.1, is_beam, &what);
        }
    }

    fn finish(mut self) -> (Loads, Vec<Block>) {
        let pen = self.pen;
        let mut page = Page::default();
        let Steps { resolved, handed, resultants } = std::mem::take(&mut self.steps);
        if !resolved.is_empty() {
            if resolved.iter().any(|step| step.sides.is_empty()) {
                page.say(
                    "Loads at an angle are resolved along x and y. The components take the place of the force in \
                     [brackets]: it is not counted again.",
                );
            }
            page.working(resolved);
        }
        if !resultants.is_empty() {
            page.say(
                "A load spread along a member is replaced by its resultant at the centre of the loaded stretch (a \
                 triangle: at a third from its high end). That holds for reactions only, not for V and M along the \
                 member.",
            );
            page.working(resultants);
        }
        if !handed.is_empty() {
            page.say("A load along a bar goes to the two ends of the bar, as a simple span would hand it on.");
            let steps = handed.into_iter().map(|(names, step)| {
                // Components stand below the force they are of.
                let label = match step.label.as_slice() {
                    [Inline::Words(what)] => words(format!("{what}{}", few(&names))),
                    _ => Vec::new(),
                };
                Step { label, ..step }
            });
            page.working(steps.collect());
        }
        if self.sums.values().any(|parts| parts.len() > 1) {
            page.say("The loads of each joint, added up (→ and ↑ positive):");
            page.table(self.table());
        }
        let mut each: Vec<Acting> = Vec::new();
        for ((joint, axis), parts) in &self.sums {
            let total = pen.quiet(total(parts));
            let size = match parts.as_slice() {
                [Size::Load(_)] => Size::Load(total),
                _ => Size::Found(total),
            };
            let unit = if *axis == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
            if total != 0.0 {
                each.push(axis_force(unit, size, pen.at(*joint), Place::Joint(*joint)));
            }
        }
        each.append(&mut self.loads.each);
        (Loads { each, imposed: self.loads.imposed }, page.blocks)
    }

    fn table(&self) -> Table {
        let pen = self.pen;
        // Joints whose loads are alike share a row.
        let mut alike: Vec<(Vec<String>, [Line; 3])> = Vec::new();
        for ((joint, axis), parts) in &self.sums {
            let way = words(if *axis == 0 { "→" } else { "↑" });
            let mut sorted = parts.clone();
            let reach = |part: &Size| part.known().map_or(0.0, f64::abs);
            sorted.sort_by(|a, b| reach(b).total_cmp(&reach(a)));
            let show =
                |value: f64, is_given| unitless(if is_given { pen.given(value, &pen.force) } else { pen.force(value) });
            let term = |part: &Size| {
                let value = part.known().unwrap_or(0.0);
                (if value < 0.0 { Sign::Minus } else { Sign::Plus }, show(value.abs(), matches!(part, Size::Load(_))))
            };
            let shown = show(pen.quiet(total(parts)), matches!(parts.as_slice(), [Size::Load(_)]));
            let terms: Vec<(Sign, Formula)> = sorted.iter().map(term).collect();
            let how: Line = if parts.len() == 1 { Vec::new() } else { vec![formula(sum(gathered(&terms))), say(" =")] };
            let row = [way, how, vec![formula(shown)]];
            let name = pen.joint(*joint).to_owned();
            match alike.iter_mut().find(|(_, known)| *known == row) {
                Some((names, _)) => names.push(name),
                None => alike.push((vec![name], row)),
            }
        }
        let row = |(names, cells): (Vec<String>, [Line; 3])| std::iter::once(words(few(&names))).chain(cells).collect();
        let columns = vec![
            column("joint", Align::Left),
            column("", Align::Left),
            column(format!("in {}", pen.force.symbol), Align::Right),
            column("", Align::Point),
        ];
        table(columns, alike.into_iter().map(row).collect())
    }
}

fn placed(at: &LoadPoint<Number>) -> Place {
    match at {
        LoadPoint::Joint(joint) => Place::Joint(*joint),
        LoadPoint::Along(member, at) => Place::Along(*member, at.to_f64()),
    }
}

/// Newtons, signed.
fn total(parts: &[Size]) -> f64 {
    parts.iter().filter_map(|part| part.known()).sum()
}

/// The first names of a long list, and how many there are.
fn few(names: &[String]) -> String {
    const MOST: usize = 3;
    match names {
        [first, .., last] if names.len() > MOST => format!("{first} … {last} ({})", names.len()),
        names => names.join(", "),
    }
}

/// `−1.5 × `, before what a factor multiplies.
pub fn times(factor: &Number) -> String {
    let minus = if factor.is_negative() { "−" } else { "" };
    let size = factor_formula(factor).map_or_else(String::new, |size| format!("{} × ", plain(&size)));
    format!("{minus}{size}")
}

/// A factor of a combination; nothing for 1.
pub fn factor_formula(factor: &Number) -> Option<Formula> {
    // Its sign shows in the direction of what it multiplies.
    let size = factor.abs();
    let digits = crate::quantity::format::decimal(&size);
    (size.to_f64() != 1.0).then_some(Formula::Number { digits, unit: String::new() })
}

/// A force along an axis, its direction turned so that its size is positive.
fn axis_force(axis: [f64; 2], part: Size, at: [f64; 2], place: Place) -> Acting {
    let value = part.known().unwrap_or(0.0);
    let size = if matches!(part, Size::Load(_)) { Size::Load(value.abs()) } else { Size::Found(value.abs()) };
    Acting { size, kind: Kind::Force(Direction::axis(axis.map(|unit| unit * value.signum()))), at, place }
}
