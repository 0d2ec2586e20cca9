//! The sheet a figure is drawn on: its scale, the joints' places on paper,
//! lines and areas put on it, lettering waiting for its place.
//!
//! Must not know: which figure is drawn; results.

use crate::base::tolerances::SAME;
use crate::base::{IdVec, JointId, MemberId};
use crate::quantity::UnitSystem;
use crate::quantity::format::Column;
use crate::structure::Structure;

use super::Telling;
use super::inks::Ink;
use super::labels::{self, Obstacles, Wanted};
use super::picture::{Bounds, Depth, Form, Mark, Path, Picture, Place, Step, Stroke, Tally, Words};
use super::plane::{NO_SIZE, Point, between, sub, unit};

/// The widest and the highest drawing, millimetres: what an upright A4 page
/// leaves between its margins.
pub const WIDEST: f64 = 170.0;
pub const HIGHEST: f64 = 235.0;
/// A drawing whose lettering finds no room is made larger by this much, up to
/// this width; a page may show it smaller again, with all lettering in its place.
const LARGER: f64 = 1.4;
const WIDEST_LARGER: f64 = 200.0;
/// So many words may stand off what they are about.
const FEW_ASTRAY: usize = 3;
/// White around a drawing.
const MARGIN: f64 = 3.0;

/// A drawing that comes about.
pub struct Sheet<'a> {
    pub structure: &'a Structure,
    pub units: UnitSystem,
    /// Millimetres on paper for a metre.
    pub scale: f64,
    /// The joints on paper.
    points: IdVec<JointId, Point>,
    /// Members at each joint.
    at: IdVec<JointId, Vec<MemberId>>,
    pub marks: Vec<Mark>,
    pub wanted: Vec<Wanted>,
    /// Words that stand off what they are about, at the end of a leader line.
    astray: usize,
    pub tally: Tally,
    /// Arrows of loads that were drawn so far.
    pub arrows: usize,
    /// How much may be written.
    pub room: Room,
    /// Between the joints that stand closest, on paper.
    pub closest: f64,
    /// What lettering and arrows keep clear of: the first so many marks.
    obstacles: Obstacles,
    known: usize,
}

/// How much lettering a drawing of this size bears.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Room {
    /// Joints and members.
    All,
    /// Names of joints and what is largest, where there is a free place.
    Some,
    /// What is largest.
    Little,
}

/// Up to so many members are all lettered, with their joints: twice as many at
/// most, as loose joints are many where a text is in the making.
pub const MOST_LETTERED: usize = 60;
/// Up to so many joints have their names on a larger drawing.
pub const MOST_NAMED: usize = 200;

pub const fn pen(ink: Ink, width: f64) -> Stroke {
    Stroke { ink, width, form: Form::Solid }
}

pub const fn dashed(ink: Ink, width: f64) -> Stroke {
    Stroke { ink, width, form: Form::Dashed }
}

/// The size of a structure, metres; `None` for one without any.
pub fn extent(structure: &Structure) -> Option<[Point; 2]> {
    let bounds = Bounds::around(structure.joints.iter().map(|joint| joint.point()), 0.0);
    let size = bounds.width().max(bounds.height());
    let sound = size > 0.0 && size.is_finite() && 1.0 / size > 0.0;
    let far = [bounds.left, bounds.right, bounds.top, bounds.bottom].iter().fold(0.0_f64, |far, x| far.max(x.abs()));
    // A drawing needs some figures left in the differences of its coordinates.
    (sound && far.is_finite() && size > SAME * far)
        .then_some([[bounds.left, bounds.top], [bounds.right, bounds.bottom]])
}

/// The scale to begin with: wide ones fill the width; what is as high as wide
/// or higher takes more of the page's height.
fn first_scale(width: f64, height: f64) -> f64 {
    const WIDE: f64 = 138.0;
    const HIGH: f64 = 88.0;
    let ratio = height / width.max(NO_SIZE);
    let high = if ratio <= 1.0 { HIGH } else { (HIGH * ratio.powf(0.75)).min(185.0) };
    (WIDE / width).min(high / height)
}

/// What a figure is drawn of, and whether it is drawn at all.
#[derive(Clone, Copy)]
pub struct Order<'a> {
    pub structure: &'a Structure,
    /// Its box, metres.
    pub extent: [Point; 2],
    pub telling: Telling,
}

impl<'a> Order<'a> {
    /// `None` for a structure without any size.
    pub fn of(structure: &'a Structure, telling: Telling) -> Option<Order<'a>> {
        Some(Order { structure, extent: extent(structure)?, telling })
    }

    /// The larger side of the box, metres.
    pub fn size(&self) -> f64 {
        let [[left, bottom], [right, top]] = self.extent;
        (right - left).max(top - bottom)
    }
}

/// Draws until the drawing fits the page, larger where its lettering needs more
/// room; an empty picture of what is only told in words.
pub fn fit(order: &Order<'_>, draw: &dyn Fn(&mut Sheet<'_>)) -> Picture {
    if order.telling == Telling::InWords {
        return Picture::default();
    }
    let (picture, astray) = fit_once(order, [WIDEST, HIGHEST], 1.0, draw);
    if astray <= FEW_ASTRAY {
        return picture;
    }
    let (larger, still) = fit_once(order, [WIDEST_LARGER, HIGHEST], LARGER, draw);
    let tried = picture.tally.tried + larger.tally.tried;
    let mut best = if still < astray { larger } else { picture };
    best.tally.tried = tried;
    best
}

/// Draws until the drawing fits a part of the page, width and height in millimetres.
pub fn fit_within(order: &Order<'_>, room: [f64; 2], draw: &dyn Fn(&mut Sheet<'_>)) -> Picture {
    fit_once(order, room, 1.0, draw).0
}

/// The drawing, and how many of its words stand off what they are about or
/// nowhere at all.
fn fit_once(order: &Order<'_>, [wide, high]: [f64; 2], larger: f64, draw: &dyn Fn(&mut Sheet<'_>)) -> (Picture, usize) {
    const TRIES: usize = 6;
    let [[left, bottom], [right, top]] = order.extent;
    let (width, height) = (right - left, top - bottom);
    let mut scale = (first_scale(width, height) * larger).min(wide / width).min(high / height);
    let (mut marks, mut astray, mut tally) = (Vec::new(), 0, Tally::default());
    for _ in 0..TRIES {
        let mut sheet = Sheet::new(order.structure, scale, [left, top]);
        draw(&mut sheet);
        sheet.place_labels();
        let bounds = Bounds::of(&sheet.marks);
        (marks, astray) = (sheet.marks, sheet.astray + sheet.tally.left_out);
        tally = Tally { tried: tally.tried + sheet.tally.tried, ..sheet.tally };
        let too_wide = bounds.width() - (wide - 2.0 * MARGIN);
        let too_high = bounds.height() - (high - 2.0 * MARGIN);
        if too_wide <= 0.0 && too_high <= 0.0 {
            break;
        }
        let shrink = |over: f64, size: f64| {
            if over > 0.0 { (1.0 - (over + 0.5) / (size * scale).max(NO_SIZE)).max(0.5) } else { 1.0 }
        };
        scale *= shrink(too_wide, width).min(shrink(too_high, height));
    }
    (Picture { tally, ..Picture::around(marks, MARGIN) }, astray)
}

/// A sheet for what has a scale of its own.
pub fn canvas(structure: &Structure) -> Sheet<'_> {
    Sheet::new(structure, 0.0, [0.0; 2])
}

impl<'a> Sheet<'a> {
    fn new(structure: &'a Structure, scale: f64, [left, top]: Point) -> Sheet<'a> {
        let on_paper = |[x, y]: [f64; 2]| [(x - left) * scale, (top - y) * scale];
        let points = structure.joints.iter().map(|joint| on_paper(joint.point())).collect();
        let mut at = IdVec::filled(&structure.joints, Vec::new());
        for (id, member) in structure.members.entries() {
            [member.start, member.end].into_iter().for_each(|joint| at[joint].push(id));
        }
        let room = match (structure.members.len(), structure.joints.len()) {
            (members, joints) if members <= MOST_LETTERED && joints <= 2 * MOST_LETTERED => Room::All,
            (_, joints) if joints <= MOST_NAMED => Room::Some,
            _ => Room::Little,
        };
        let lengths = structure.members.ids().map(|member| structure.member_length(member) * scale);
        let closest = lengths.fold(f64::INFINITY, f64::min);
        let units = crate::check::words::units(structure);
        Sheet {
            structure,
            units,
            scale,
            points,
            at,
            marks: Vec::new(),
            wanted: Vec::new(),
            astray: 0,
            tally: Tally::default(),
            arrows: 0,
            room,
            closest,
            obstacles: Obstacles::default(),
            known: 0,
        }
    }

    /// How numbers that stand on one drawing are written.
    pub fn lettered(&self, largest: f64, scale: f64) -> Column {
        Column::of(&[largest], self.structure.figures, scale)
    }

    /// A joint on paper.
    pub fn at(&self, joint: JointId) -> Point {
        self.points[joint]
    }

    pub fn ends(&self, member: MemberId) -> [Point; 2] {
        let member = &self.structure.members[member];
        [self.at(member.start), self.at(member.end)]
    }

    /// A place on a member, metres from its start, on paper.
    pub fn on_member(&self, member: MemberId, at: f64) -> Point {
        let [a, b] = self.ends(member);
        between(a, b, at / self.structure.member_length(member))
    }

    pub fn members_at(&self, joint: JointId) -> &[MemberId] {
        &self.at[joint]
    }

    /// A point of the structure, metres, on paper.
    pub fn on_paper(&self, [x, y]: Point) -> Point {
        let origin = self.structure.joints.first().map_or([0.0; 2], |joint| joint.point());
        let [px, py] = self.points.first().copied().unwrap_or([0.0; 2]);
        [px + (x - origin[0]) * self.scale, py - (y - origin[1]) * self.scale]
    }

    /// Directions in which members leave a joint, on paper.
    pub fn directions(&self, joint: JointId) -> Vec<Point> {
        let other = |member: &MemberId| {
            let member = &self.structure.members[*member];
            let far = if member.start == joint { member.end } else { member.start };
            unit(sub(self.at(far), self.at(joint)))
        };
        self.members_at(joint).iter().map(other).collect()
    }

    pub fn members(&self) -> impl Iterator<Item = MemberId> + use<> {
        self.structure.members.ids()
    }

    pub fn joints(&self) -> impl Iterator<Item = JointId> + use<> {
        self.structure.joints.ids()
    }

    pub fn put(&mut self, steps: Vec<Step>, stroke: Option<Stroke>, fill: Option<Ink>, depth: Depth) {
        self.marks.push(Mark::Path(Path { steps, stroke, fill, depth }));
    }

    pub fn line(&mut self, a: Point, b: Point, stroke: Stroke) {
        self.marks.push(Mark::Path(Path::line([a, b], stroke, Depth::Drawing)));
    }

    pub fn back_line(&mut self, a: Point, b: Point, stroke: Stroke) {
        self.marks.push(Mark::Path(Path::line([a, b], stroke, Depth::Backdrop)));
    }

    pub fn polyline(&mut self, points: &[Point], stroke: Stroke) {
        self.put(open_steps(points), Some(stroke), None, Depth::Drawing);
    }

    pub fn polygon(&mut self, points: &[Point], stroke: Option<Stroke>, fill: Option<Ink>) {
        let mut steps = open_steps(points);
        steps.push(Step::Close);
        self.put(steps, stroke, fill, Depth::Drawing);
    }

    pub fn circle(&mut self, centre: Point, radius: f64, stroke: Option<Stroke>, fill: Option<Ink>) {
        self.put(circle_steps(centre, radius), stroke, fill, Depth::Drawing);
    }

    /// Lettering that waits for its place, the best of these first.
    pub fn want<P: Into<Place>>(&mut self, words: Words, anchor: Point, places: impl IntoIterator<Item = P>) {
        let places = places.into_iter().map(Into::into).collect();
        self.wanted.push(Wanted::new(words, anchor, places));
    }

    /// Lettering at a place that is known to be free.
    pub fn write(&mut self, words: Words, at: Point) {
        self.marks.push(Mark::Lettering(words.placed(at.into())));
    }

    /// What is in the way of more, as the sheet is now.
    pub fn obstacles(&mut self) -> &Obstacles {
        for mark in self.marks.iter().skip(self.known) {
            self.obstacles.add(mark);
        }
        self.known = self.marks.len();
        &self.obstacles
    }

    /// Keeps lettering off a line that is not drawn.
    pub fn keep_clear(&mut self, ends: [Point; 2]) {
        self.obstacles.add_line(ends, 0.0);
    }

    /// Places what waits, clear of everything drawn so far.
    pub fn place_labels(&mut self) {
        let wanted = std::mem::take(&mut self.wanted);
        if wanted.is_empty() {
            return;
        }
        let placed = labels::place(self.obstacles(), wanted);
        self.marks.extend(placed.marks);
        self.astray += placed.astray;
        self.tally += Tally { left_out: placed.left_out, tried: placed.tried };
    }

    pub fn bounds(&self) -> Bounds {
        Bounds::of(&self.marks)
    }
}

fn open_steps(points: &[Point]) -> Vec<Step> {
    let first = points.first().map(|point| Step::Move(*point));
    first.into_iter().chain(points.iter().skip(1).map(|point| Step::Line(*point))).collect()
}

/// Four cubics; the handle for a quarter circle is 0.5523 of the radius.
fn circle_steps([x, y]: Point, r: f64) -> Vec<Step> {
    const HANDLE: f64 = 0.552_284_75;
    let k = r * HANDLE;
    vec![
        Step::Move([x + r, y]),
        Step::Curve([x + r, y + k], [x + k, y + r], [x, y + r]),
        Step::Curve([x - k, y + r], [x - r, y + k], [x - r, y]),
        Step::Curve([x - r, y - k], [x - k, y - r], [x, y - r]),
        Step::Curve([x + k, y - r], [x + r, y - k], [x + r, y]),
        Step::Close,
    ]
}
