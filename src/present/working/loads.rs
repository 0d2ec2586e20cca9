//! What a case or combination puts on the structure: loads at an angle
//! resolved, loads along members replaced by their resultants or handed to
//! the joints, and the loads of each joint added up.
//!
//! Must not know: equilibrium, unknowns.

use std::collections::BTreeMap;

use crate::base::{Files, JointId, MemberId, Origin};
use crate::present::document::{Align, Block, Formula, Inline, Line, Sign, Step, Table, TableColumn, words};
use crate::quantity::{Dimension, Number};
use crate::statics::Subject;
use crate::statics::spans::{area_and_weight, measured_share};
use crate::structure::{Delivery, Distributed, LoadKind, LoadPoint};
use crate::syntax::tree::{Measure, MemberKind};

use super::part::{Acting, Kind, Size, gathered};
use super::pen::{Direction, Pen, arrow, equation, formula, product, say, sum, whole};

/// Where a load acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Where {
    Joint(JointId),
    /// Between the joints of a beam.
    Member(MemberId),
}

/// All loads of a case or combination, every one square to an axis, and how
/// they came about.
#[derive(Debug, Default)]
pub struct Loads {
    pub each: Vec<(Where, Acting)>,
    /// Settlements, heat and misfits act without being forces.
    pub imposed: bool,
    pub blocks: Vec<Block>,
}

impl Loads {
    /// Force and couple on a joint itself: newtons, newton-metres.
    pub fn at(&self, joint: JointId) -> [f64; 3] {
        let mut total = [0.0; 3];
        for (place, acting) in &self.each {
            let (Where::Joint(own), Some(size)) = (place, acting.size.known()) else { continue };
            if *own == joint {
                match &acting.kind {
                    Kind::Force(direction) => {
                        let [x, y] = direction.unit;
                        total[0] += x * size;
                        total[1] += y * size;
                    }
                    Kind::Couple => total[2] += size,
                }
            }
        }
        total
    }
}

/// Everything that acts in a case or combination.
pub fn gather(pen: &Pen<'_>, files: &Files, subject: Subject) -> Loads {
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

/// What is added up at one joint along one axis.
#[derive(Default)]
struct Contributions {
    /// Newtons, signed.
    parts: Vec<Size>,
}

impl Contributions {
    fn total(&self) -> f64 {
        self.parts.iter().filter_map(|part| part.known()).sum()
    }
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
    sums: BTreeMap<(JointId, u8), Contributions>,
    steps: Steps,
}

impl Gather<'_, '_> {
    fn load(&mut self, kind: &LoadKind, origin: Origin, factor: &Number) {
        let times = factor.to_f64();
        match kind {
            LoadKind::Force { at, force: [x, y] } => {
                let (_, _, place) = self.stands(at);
                let is_given = self.resolve([x, y], factor, origin, &place);
                let parts = [x, y].map(|part| written(part.to_f64() * times, is_given));
                match at {
                    LoadPoint::Joint(joint) => self.add(*joint, parts),
                    LoadPoint::Along(member, at) => self.on_member(*member, at.to_f64(), parts),
                }
            }
            LoadKind::Couple { at, moment } => {
                let (on, at, place) = self.stands(at);
                let size = Size::Load(moment.to_f64() * times);
                self.loads.each.push((on, Acting { size, kind: Kind::Couple, at, place }));
            }
            LoadKind::Distributed(load) => self.distributed(load, factor),
            LoadKind::Weight { member } => self.weight(*member, factor),
            LoadKind::Heat { .. } | LoadKind::Misfit { .. } | LoadKind::Settlement { .. } => self.loads.imposed = true,
        }
    }

    /// What a load at one point acts on, where it is and how the place is called.
    fn stands(&self, at: &LoadPoint<Number>) -> (Where, [f64; 2], String) {
        match at {
            LoadPoint::Joint(joint) => {
                (Where::Joint(*joint), self.pen.at(*joint), format!("at {}", self.pen.joint(*joint)))
            }
            LoadPoint::Along(member, at) => {
                let at = at.to_f64();
                (Where::Member(*member), self.pen.structure.point_on(*member, at), self.along(*member, at))
            }
        }
    }

    fn add(&mut self, joint: JointId, force: [Size; 2]) {
        for (axis, part) in (0..).zip(force) {
            if part.known() != Some(0.0) {
                self.sums.entry((joint, axis)).or_default().parts.push(part);
            }
        }
    }

    /// `on S-C, 1.2 m from S`
    fn along(&self, member: MemberId, at: f64) -> String {
        let name = self.pen.structure.member_name(member);
        let start = self.pen.structure.member(member).map_or("", |member| self.pen.joint(member.start));
        let distance = self.pen.length(at);
        format!("on {name}, {} from {start}", plain(&distance))
    }

    fn on_member(&mut self, member: MemberId, at: f64, force: [Size; 2]) {
        let (point, place) = (self.pen.structure.point_on(member, at), self.along(member, at));
        for (axis, part) in [[1.0, 0.0], [0.0, 1.0]].into_iter().zip(force) {
            if part.known() != Some(0.0) {
                self.loads.each.push((Where::Member(member), axis_force(axis, part, point, place.clone())));
            }
        }
    }

    /// The components of a load at an angle, and a factor put to any load;
    /// whether its components are those that were given.
    fn resolve(&mut self, [x, y]: [&Number; 2], factor: &Number, origin: Origin, place: &str) -> Givenness {
        let pen = self.pen;
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
        let direction = self.pen.direction([x, y]);
        let (fx, fy) = (x.to_f64(), y.to_f64());
        let is_rational = x.is_exact() && y.is_exact() && x.hypot(y).is_exact();
        if let (true, Some([across @ Formula::Fraction(..), up])) = (is_rational, direction.cosines) {
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
        let direction = pen.direction_of(force);
        if is_beam {
            let start = pen.structure.member(member).map_or("", |member| pen.joint(member.start));
            let place =
                if at == 0.0 { format!("at {start}") } else { format!("{} from {start}", plain(&pen.length(at))) };
            self.steps.resultants.push(equation(
                words(format!("{what} {name}")),
                vec![how, pen.force(size)],
                words(format!("{way} {place}")),
            ));
            if let Some([cosine, sine]) = &direction.cosines {
                for (part, cosine, axis) in [(fx, cosine, [1.0, 0.0]), (fy, sine, [0.0, 1.0])] {
                    let sides = vec![product(vec![pen.force(size), cosine.clone()]), pen.force(part.abs())];
                    let way = arrow(axis.map(|unit: f64| unit * part.signum()));
                    self.steps.resultants.push(equation(Vec::new(), sides, words(way)));
                }
            }
            self.on_member(member, at, force.map(Size::Found));
            return;
        }
        let Some((start, end)) = pen.structure.member(member).map(|member| (member.start, member.end)) else { return };
        let far = at / length;
        let is_half = (far - 0.5).abs() < 1e-12;
        let shares: Vec<(f64, Formula, String)> = if is_half {
            vec![(0.5, Formula::Fraction(Box::new(how), Box::new(whole(2))), "at each end".to_owned())]
        } else {
            let part = |distance: f64| {
                Formula::Fraction(
                    Box::new(product(vec![how.clone(), pen.length(distance)])),
                    Box::new(pen.length(length)),
                )
            };
            vec![
                (1.0 - far, part(length - at), format!("at {}", pen.joint(start))),
                (far, part(at), format!("at {}", pen.joint(end))),
            ]
        };
        for (share, how, place) in shares {
            let step = equation(Vec::new(), vec![how, pen.force(size * share)], words(format!("{way} {place}")));
            let label = format!("{what} ");
            self.hand(words(label.clone()), &name, step);
            if let Some([cosine, sine]) = &direction.cosines {
                for (part, cosine, axis) in [(fx, cosine, [1.0, 0.0]), (fy, sine, [0.0, 1.0])] {
                    let sides =
                        vec![product(vec![pen.force(size * share), cosine.clone()]), pen.force((part * share).abs())];
                    let way = arrow(axis.map(|unit: f64| unit * part.signum()));
                    let step = equation(Vec::new(), sides, words(format!("{way} {place}")));
                    self.hand(vec![say(label.clone()), say("resolved")], &name, step);
                }
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
            if half { Formula::Fraction(Box::new(all), Box::new(whole(2))) } else { all }
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

    fn finish(mut self) -> Loads {
        let pen = self.pen;
        let mut blocks = Vec::new();
        if !self.steps.resolved.is_empty() {
            if self.steps.resolved.iter().any(|step| step.sides.is_empty()) {
                blocks.push(Block::Paragraph(words(
                    "Loads at an angle are resolved along x and y. The components take the place of the force in \
                     [brackets]: it is not counted again.",
                )));
            }
            blocks.push(Block::Working(std::mem::take(&mut self.steps.resolved)));
        }
        if !self.steps.resultants.is_empty() {
            blocks.push(Block::Paragraph(words(
                "A load spread along a member is replaced by its resultant at the centre of the loaded stretch (a \
                 triangle: at a third from its high end). That holds for reactions only, not for V and M along the \
                 member.",
            )));
            blocks.push(Block::Working(std::mem::take(&mut self.steps.resultants)));
        }
        if !self.steps.handed.is_empty() {
            blocks.push(Block::Paragraph(words(
                "A load along a bar goes to the two ends of the bar, as a simple span would hand it on.",
            )));
            let steps = std::mem::take(&mut self.steps.handed).into_iter().map(|(names, mut step)| {
                // Components stand below the force they are of.
                step.label = match step.label.as_slice() {
                    [Inline::Words(what)] => words(format!("{what}{}", few(&names))),
                    _ => Vec::new(),
                };
                step
            });
            blocks.push(Block::Working(steps.collect()));
        }
        let is_table = self.sums.values().any(|sum| sum.parts.len() > 1);
        if is_table {
            blocks.push(Block::Paragraph(words("The loads of each joint, added up (→ and ↑ positive):")));
            blocks.push(Block::Table(self.table()));
        }
        let mut each: Vec<(Where, Acting)> = Vec::new();
        for ((joint, axis), sum) in &self.sums {
            let total = pen.quiet(sum.total());
            let total = match sum.parts.as_slice() {
                [Size::Load(_)] => Size::Load(total),
                _ => Size::Found(total),
            };
            let unit = if *axis == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
            if total.known() != Some(0.0) {
                let place = format!("at {}", pen.joint(*joint));
                each.push((Where::Joint(*joint), axis_force(unit, total, pen.at(*joint), place)));
            }
        }
        each.append(&mut self.loads.each);
        Loads { each, imposed: self.loads.imposed, blocks }
    }

    fn table(&self) -> Table {
        let pen = self.pen;
        let unit = &pen.force.symbol;
        let column = |heading: String, align| TableColumn { heading: words(heading), align };
        // Joints whose loads are alike share a row.
        let mut alike: Vec<(Vec<String>, [Line; 3])> = Vec::new();
        for ((joint, axis), added) in &self.sums {
            let way = words(if *axis == 0 { "→" } else { "↑" });
            let mut parts = added.parts.clone();
            parts.sort_by(|a, b| {
                b.known().map(f64::abs).unwrap_or(0.0).total_cmp(&a.known().map(f64::abs).unwrap_or(0.0))
            });
            let term = |part: &Size| {
                let value = part.known().unwrap_or(0.0);
                let is_given = matches!(part, Size::Load(_));
                let digits = if is_given { pen.given(value.abs(), &pen.force) } else { pen.force(value.abs()) };
                (if value < 0.0 { Sign::Minus } else { Sign::Plus }, unitless(digits))
            };
            let total = pen.quiet(added.total());
            let is_given = matches!(added.parts.as_slice(), [Size::Load(_)]);
            let shown = unitless(if is_given { pen.given(total, &pen.force) } else { pen.force(total) });
            let terms: Vec<(Sign, Formula)> = parts.iter().map(term).collect();
            let how: Line = if parts.len() == 1 { Vec::new() } else { vec![formula(sum(gathered(&terms))), say(" =")] };
            let row = [way, how, vec![formula(shown)]];
            let name = pen.joint(*joint).to_owned();
            match alike.iter_mut().find(|(_, known)| *known == row) {
                Some((names, _)) => names.push(name),
                None => alike.push((vec![name], row)),
            }
        }
        let rows = alike
            .into_iter()
            .map(|(names, cells)| std::iter::once(words(few(&names))).chain(cells).collect())
            .collect();
        Table {
            caption: Vec::new(),
            columns: vec![
                column("joint".into(), Align::Left),
                column(String::new(), Align::Left),
                column(format!("in {unit}"), Align::Right),
                column(String::new(), Align::Point),
            ],
            rows,
            foot: Vec::new(),
        }
    }
}

/// A number without its unit, where the column's heading gives it.
pub fn unitless(formula: Formula) -> Formula {
    match formula {
        Formula::Number { digits, .. } => Formula::Number { digits, unit: String::new() },
        other => other,
    }
}

/// A number with its unit as words.
pub fn plain(formula: &Formula) -> String {
    match formula {
        Formula::Number { digits, unit } => crate::quantity::format::with_symbol(digits, unit),
        _ => String::new(),
    }
}

/// The first names of a long list, and how many there are.
fn few(names: &[String]) -> String {
    const MOST: usize = 3;
    match names {
        [first, .., last] if names.len() > MOST => format!("{first} … {last} ({})", names.len()),
        names => names.join(", "),
    }
}

/// A factor of a combination; nothing for 1.
pub fn factor_formula(factor: &Number) -> Option<Formula> {
    // Its sign shows in the direction of what it multiplies.
    let size = factor.abs();
    let digits = crate::quantity::format::decimal(&size);
    (size.to_f64() != 1.0).then_some(Formula::Number { digits, unit: String::new() })
}

/// A force along an axis, its direction turned so that its size is positive.
pub fn axis_force(axis: [f64; 2], part: Size, at: [f64; 2], place: String) -> Acting {
    let value = part.known().unwrap_or(0.0);
    let unit = axis.map(|unit| unit * value.signum());
    let size = if matches!(part, Size::Load(_)) { Size::Load(value.abs()) } else { Size::Found(value.abs()) };
    Acting { size, kind: Kind::Force(Direction { unit, cosines: None }), at, place }
}
