//! Where lettering goes: clear of lines and of other lettering, near what it
//! is about; at the end of a leader line where nothing near is free.
//!
//! Must not know: structures.

use rustc_hash::FxHashMap;

use super::inks::Ink;
use super::picture::{BOX_HEIGHT, Bounds, Depth, Form, Mark, Need, Path, Place, Point, Stroke, Words, box_corners};
use super::plane::{along, between, crossing, distance, size, sub};

/// Kept free around lettering, millimetres.
pub const CLEARANCE: f64 = 0.3;

/// Lettering that waits for its place.
#[derive(Clone, Debug)]
pub struct Wanted {
    pub words: Words,
    /// What it is about: where a leader line would end.
    pub anchor: Point,
    /// Places for its middle, the best first.
    pub places: Vec<Place>,
    /// Of its line, millimetres.
    pub width: f64,
}

impl Wanted {
    pub fn new(words: Words, anchor: Point, places: Vec<Place>) -> Wanted {
        Wanted { width: words.width(), words, anchor, places }
    }

    fn corners(&self, place: Place) -> [Point; 4] {
        let around = 2.0 * CLEARANCE;
        box_corners(place.at, place.turn, self.width + around, self.words.size * BOX_HEIGHT + around)
    }

    fn at(&self, place: Place) -> Mark {
        Mark::Lettering(self.words.clone().placed(place))
    }
}

/// What lettering must keep clear of, by squares of the paper.
#[derive(Clone, Debug, Default)]
pub struct Obstacles {
    squares: FxHashMap<(i32, i32), Square>,
}

/// The lines and boxes that reach into a square.
#[derive(Clone, Debug, Default)]
struct Square {
    lines: Vec<Line>,
    boxes: Vec<Area>,
}

/// A square that this many lines or words reach into is full: nothing more is
/// written in it, and no further line in it is looked at one by one.
const FULL: usize = 160;

impl Square {
    fn is_full(&self) -> bool {
        self.lines.len() >= FULL || self.boxes.len() >= FULL
    }
}

/// The side of a square, millimetres.
const SIDE: f64 = 8.0;

/// The square a point lies in, of those on or near a paper.
fn square_of([x, y]: Point) -> (i32, i32) {
    const FARTHEST: f64 = 1e5;
    #[allow(clippy::cast_possible_truncation)]
    let square = |at: f64| (at.clamp(-FARTHEST, FARTHEST) / SIDE).floor() as i32;
    (square(x), square(y))
}

/// The squares a box reaches into.
fn squares(bounds: Bounds) -> impl Iterator<Item = (i32, i32)> + Clone {
    let ((left, top), (right, bottom)) =
        (square_of([bounds.left, bounds.top]), square_of([bounds.right, bounds.bottom]));
    (left..=right).flat_map(move |x| (top..=bottom).map(move |y| (x, y)))
}

/// The squares a line of some width reaches into: of a slanting one, few of
/// those of its bounds.
fn squares_along(bounds: Bounds, ends: [Point; 2], half: f64) -> impl Iterator<Item = (i32, i32)> {
    squares(bounds).filter(move |(x, y)| {
        let middle = [(f64::from(*x) + 0.5) * SIDE, (f64::from(*y) + 0.5) * SIDE];
        crosses(&box_corners(middle, 0.0, SIDE, SIDE), ends, half)
    })
}

#[derive(Clone, Copy, Debug)]
struct Line {
    ends: [Point; 2],
    half: f64,
    bounds: Bounds,
}

#[derive(Clone, Copy, Debug)]
struct Area {
    corners: [Point; 4],
    bounds: Bounds,
}

impl Area {
    fn new(corners: [Point; 4]) -> Area {
        Area { corners, bounds: Bounds::around(corners, 0.0) }
    }
}

impl Obstacles {
    /// Everything on a sheet that lettering may not lie on.
    pub fn of(marks: &[Mark]) -> Obstacles {
        let mut obstacles = Obstacles::default();
        marks.iter().for_each(|mark| obstacles.add(mark));
        obstacles
    }

    pub fn add(&mut self, mark: &Mark) {
        match mark {
            Mark::Lettering(lettering) => {
                let area = Area::new(lettering.corners());
                self.each(squares(area.bounds), |square| square.boxes.push(area));
            }
            Mark::Path(path) if path.depth == Depth::Drawing => {
                path.segments().into_iter().for_each(|ends| self.add_line(ends, path.half()));
            }
            Mark::Path(_) => {}
        }
    }

    pub fn add_line(&mut self, ends: [Point; 2], half: f64) {
        let line = Line { ends, half, bounds: Bounds::around(ends, half) };
        self.each(squares_along(line.bounds, ends, half + 0.1), |square| square.lines.push(line));
    }

    fn each(&mut self, squares: impl Iterator<Item = (i32, i32)>, add: impl Fn(&mut Square)) {
        for at in squares {
            let square = self.squares.entry(at).or_default();
            if !square.is_full() {
                add(square);
            }
        }
    }

    fn near(&self, bounds: Bounds) -> impl Iterator<Item = &Square> + Clone {
        squares(bounds).filter_map(|square| self.squares.get(&square))
    }

    /// Whether a box meets nothing; stops at the first thing it meets.
    fn is_clear(&self, corners: [Point; 4]) -> bool {
        let area = Area::new(corners);
        let meets = |other: &Area| meet(other.bounds, area.bounds) && overlap(&other.corners, &corners);
        let is_crossed = |line: &Line| meet(line.bounds, area.bounds) && crosses(&corners, line.ends, line.half);
        !self
            .near(area.bounds)
            .any(|square| square.is_full() || square.boxes.iter().any(meets) || square.lines.iter().any(is_crossed))
    }

    /// How many lines a line from a to b crosses, up to `most`; `None` where
    /// they are more, or it meets lettering, or a full square.
    fn crossings(&self, ends: [Point; 2], most: usize) -> Option<usize> {
        let mut crossed = 0;
        for at in squares_along(Bounds::around(ends, 0.2), ends, 0.2) {
            let Some(square) = self.squares.get(&at) else { continue };
            if square.is_full() || square.boxes.iter().any(|other| crosses(&other.corners, ends, 0.2)) {
                return None;
            }
            // A line that reaches into several squares counts in the one where it is crossed.
            let here = |line: &&Line| crossing(ends, line.ends).is_some_and(|point| square_of(point) == at);
            crossed += square.lines.iter().filter(here).count();
            if crossed > most {
                return None;
            }
        }
        Some(crossed)
    }

    /// How much of an arrow's length lies close to something, 0 to 1.
    pub fn crowding(&self, a: Point, b: Point, near: f64) -> f64 {
        const SAMPLES: u32 = 12;
        let bounds = Bounds::around([a, b], near);
        let squares = self.near(bounds);
        let lines: Vec<&Line> =
            squares.clone().flat_map(|square| &square.lines).filter(|line| meet(line.bounds, bounds)).collect();
        let boxes: Vec<&Area> =
            squares.flat_map(|square| &square.boxes).filter(|area| meet(area.bounds, bounds)).collect();
        let is_close = |sample: &u32| {
            let at = between(a, b, f64::from(*sample) / f64::from(SAMPLES));
            let around = box_corners(at, 0.0, near, near);
            lines.iter().any(|line| distance(at, line.ends) < near + line.half)
                || boxes.iter().any(|area| overlap(&area.corners, &around))
        };
        #[allow(clippy::cast_precision_loss)]
        let close = (0..=SAMPLES).filter(is_close).count() as f64;
        close / f64::from(SAMPLES + 1)
    }
}

/// What came of placing lettering.
#[derive(Clone, Debug, Default)]
pub struct Placed {
    /// Lettering and leader lines, to be added to the drawing.
    pub marks: Vec<Mark>,
    /// Words that stand off what they are about, at the end of a leader line.
    pub astray: usize,
    /// Words that were to stand there and for which there is no room.
    pub left_out: usize,
    /// Places looked at, one by one.
    pub tried: usize,
    cost: f64,
}

impl Placed {
    fn put(&mut self, obstacles: &mut Obstacles, mark: Mark) {
        obstacles.add(&mark);
        self.marks.push(mark);
    }
}

/// Of more words than this that must stand, each takes the first free place of
/// its own as they come: no order of them finds room for all.
const MOST_CONTENDING: usize = 240;
/// So many words of a drawing are sought a place far off, with a leader line.
const MOST_LED: usize = 24;
/// Where fewer found no place near, they choose first in another round.
const MOST_UNHAPPY: usize = 12;

/// Puts everything wanted into its place.
pub fn place(obstacles: &Obstacles, wanted: Vec<Wanted>) -> Placed {
    const ROUNDS: usize = 4;
    if wanted.iter().filter(|wanted| wanted.words.need == Need::Always).count() > MOST_CONTENDING {
        let mut order: Vec<usize> = (0..wanted.len()).collect();
        order.sort_by_key(|index| wanted.get(*index).map(|wanted| wanted.words.need));
        return attempt(obstacles.clone(), &wanted, &order, 0).0;
    }
    let mut tried = 0;
    let mut clean = |wanted: &Wanted| {
        tried += wanted.places.len();
        wanted.places.iter().filter(|place| obstacles.is_clear(wanted.corners(**place))).count()
    };
    let mut order: Vec<(Need, usize, usize)> =
        wanted.iter().enumerate().map(|(index, wanted)| (wanted.words.need, clean(wanted), index)).collect();
    order.sort_unstable();
    let mut order: Vec<usize> = order.into_iter().map(|(_, _, index)| index).collect();
    let mut best: Option<Placed> = None;
    for _ in 0..ROUNDS {
        let (placed, unhappy) = attempt(obstacles.clone(), &wanted, &order, MOST_LED);
        tried += placed.tried;
        if best.as_ref().is_none_or(|known| placed.cost < known.cost) {
            best = Some(placed);
        }
        if unhappy.is_empty() || unhappy.len() > MOST_UNHAPPY {
            break;
        }
        // Those that found nothing near choose first in the next round.
        order.retain(|index| !unhappy.contains(index));
        order.splice(0..0, unhappy);
    }
    Placed { tried, ..best.unwrap_or_default() }
}

/// One round in a given order, with what found no clean place near; so many of
/// it may be led to a place far off.
fn attempt(mut obstacles: Obstacles, wanted: &[Wanted], order: &[usize], mut led_left: usize) -> (Placed, Vec<usize>) {
    let (mut placed, mut unhappy) = (Placed::default(), Vec::new());
    for index in order {
        let Some(one) = wanted.get(*index) else { continue };
        let near = one.places.iter().position(|place| obstacles.is_clear(one.corners(*place)));
        placed.tried += near.map_or(one.places.len(), |rank| rank + 1);
        if let Some(rank) = near
            && let Some(place) = one.places.get(rank)
        {
            #[allow(clippy::cast_precision_loss)]
            let rank = rank as f64;
            placed.cost += rank * 0.01;
            placed.put(&mut obstacles, one.at(*place));
            continue;
        }
        if one.words.need == Need::IfRoom {
            placed.cost += 3.0;
            continue;
        }
        unhappy.push(*index);
        let found = if led_left > 0 { led(&obstacles, one, &mut placed.tried) } else { None };
        led_left = led_left.saturating_sub(1);
        if let Some((place, leader, far)) = found {
            placed.cost += 5.0 + far * 0.1;
            placed.astray += 1;
            placed.put(&mut obstacles, leader);
            placed.put(&mut obstacles, one.at(place));
            continue;
        }
        placed.cost += 1_000.0;
        placed.left_out += 1;
    }
    (placed, unhappy)
}

/// A free place further off, with the line that leads from it to the anchor.
fn led(obstacles: &Obstacles, wanted: &Wanted, tried: &mut usize) -> Option<(Place, Mark, f64)> {
    const RINGS: u32 = 20;
    const STEP: f64 = 2.0;
    const DIRECTIONS: u32 = 24;
    /// A line crossed is worth so many millimetres.
    const CROSSED: f64 = 7.0;
    let mut best: Option<(f64, Place, [Point; 2])> = None;
    for ring in 1..=RINGS {
        let far = 2.0 + STEP * f64::from(ring);
        if best.is_some_and(|(cost, ..)| cost <= far) {
            break;
        }
        for direction in 0..DIRECTIONS {
            *tried += 1;
            // From straight up round to both sides would favour one; this order is fixed all the same.
            let angle = std::f64::consts::TAU * (f64::from(direction) + 0.5) / f64::from(DIRECTIONS);
            let out = [angle.cos(), angle.sin()];
            let at = |far: f64| along(wanted.anchor, out, far);
            let place = Place::from(at(far + wanted.words.reach(out)));
            if !obstacles.is_clear(wanted.corners(place)) {
                continue;
            }
            let (start, end) = (at(0.8), at(far - 0.5));
            // More crossings than this would cost more than the best that is known.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let most = best.map_or(usize::MAX, |(known, ..)| ((known - far) / CROSSED).max(0.0) as usize);
            let Some(lines) = obstacles.crossings([start, end], most) else { continue };
            #[allow(clippy::cast_precision_loss)]
            let cost = far + CROSSED * lines as f64;
            if best.is_none_or(|(known, ..)| cost < known) {
                best = Some((cost, place, [start, end]));
            }
        }
    }
    best.map(|(cost, place, ends)| {
        let stroke = Stroke { ink: Ink::Faint, width: 0.15, form: Form::Solid };
        (place, Mark::Path(Path::line(ends, stroke, Depth::Drawing)), cost)
    })
}

fn meet(a: Bounds, b: Bounds) -> bool {
    a.left <= b.right && b.left <= a.right && a.top <= b.bottom && b.top <= a.bottom
}

/// Whether two boxes, turned as they may be, overlap: no side of either parts
/// them (separating axes).
pub fn overlap(a: &[Point; 4], b: &[Point; 4]) -> bool {
    let parts = |a: &[Point; 4], b: &[Point; 4]| {
        let [p, q, r, _] = *a;
        [sub(q, p), sub(r, q)].into_iter().any(|[x, y]| {
            let range = |corners: &[Point; 4]| {
                let along = corners.map(|[cx, cy]| cx * x + cy * y);
                (
                    along.iter().copied().fold(f64::INFINITY, f64::min),
                    along.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                )
            };
            let ((least, most), (other_least, other_most)) = (range(a), range(b));
            most <= other_least || other_most <= least
        })
    };
    !parts(a, b) && !parts(b, a)
}

/// Whether a line of some width meets a box.
pub fn crosses(corners: &[Point; 4], [a, b]: [Point; 2], half: f64) -> bool {
    let [p, q, _, s] = *corners;
    let (width, height) = (size(sub(q, p)), size(sub(s, p)));
    if width == 0.0 || height == 0.0 {
        return false;
    }
    // In the box's own axes, from its first corner.
    let (ux, uy) = ((q[0] - p[0]) / width, (q[1] - p[1]) / width);
    let own = |[x, y]: Point| [(x - p[0]) * ux + (y - p[1]) * uy, (y - p[1]) * ux - (x - p[0]) * uy];
    let (a, b) = (own(a), own(b));
    // Liang and Barsky: the share of the line within all four sides.
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (start, change, least, most) in
        [(a[0], b[0] - a[0], -half, width + half), (a[1], b[1] - a[1], -half, height + half)]
    {
        if change == 0.0 {
            if start <= least || start >= most {
                return false;
            }
            continue;
        }
        let (one, other) = ((least - start) / change, (most - start) / change);
        from = from.max(one.min(other));
        to = to.min(one.max(other));
    }
    from < to
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;

    fn wanted(text: &str, anchor: Point, places: &[Point]) -> Wanted {
        let words = Words::new(text, 3.0, Ink::Line);
        let places = places.iter().map(|at| Place::from(*at)).collect();
        Wanted { words, anchor, places, width: 2.0 }
    }

    fn line(a: Point, b: Point) -> Mark {
        let stroke = Stroke { ink: Ink::Line, width: 0.5, form: Form::Solid };
        Mark::Path(Path::line([a, b], stroke, Depth::Drawing))
    }

    #[test]
    fn boxes_and_lines_meet_where_they_do() {
        let square = box_corners([0.0, 0.0], 0.0, 2.0, 2.0);
        assert!(overlap(&square, &box_corners([1.9, 0.0], 45.0, 2.0, 2.0)));
        assert!(!overlap(&square, &box_corners([2.5, 0.0], 45.0, 2.0, 2.0)));
        assert!(!overlap(&square, &box_corners([2.0, 0.0], 0.0, 2.0, 2.0)));
        assert!(crosses(&square, [[-3.0, 0.0], [3.0, 0.1]], 0.0));
        assert!(crosses(&square, [[0.1, 0.1], [0.2, 0.2]], 0.0));
        assert!(!crosses(&square, [[-3.0, 1.2], [3.0, 1.2]], 0.1));
        assert!(crosses(&square, [[-3.0, 1.2], [3.0, 1.2]], 0.3));
        assert!(crosses(&box_corners([0.0, 0.0], 90.0, 8.0, 1.0), [[-3.0, 3.5], [3.0, 3.5]], 0.0));
    }

    #[test]
    fn the_first_free_place_is_taken() {
        let obstacles = Obstacles::of(&[line([-10.0, 0.0], [10.0, 0.0])]);
        let placed = place(&obstacles, vec![wanted("A", [0.0, 0.0], &[[0.0, 0.0], [0.0, 3.0], [0.0, -3.0]])]);
        assert!(matches!(placed.marks.as_slice(), [Mark::Lettering(a)] if a.at == [0.0, 3.0]));
        assert_eq!(placed.astray, 0);
    }

    #[test]
    fn the_one_with_least_choice_chooses_first() {
        let obstacles = Obstacles::default();
        let one = wanted("A", [0.0, 0.0], &[[0.0, 0.0], [0.0, 9.0]]);
        let other = wanted("B", [0.0, 0.0], &[[0.0, 0.0]]);
        let placed = place(&obstacles, vec![one, other]);
        assert_eq!(placed.marks.len(), 2);
        assert!(placed.marks.iter().all(|mark| matches!(mark, Mark::Lettering(_))));
    }

    #[test]
    fn a_leader_line_leads_out_of_a_crowd() {
        let crowd: Vec<Mark> = (-8..=8).map(|y| line([-9.0, f64::from(y)], [9.0, f64::from(y)])).collect();
        let obstacles = Obstacles::of(&crowd);
        let placed = place(&obstacles, vec![wanted("A", [0.0, 0.0], &[[0.0, 1.5]])]);
        assert_eq!((placed.astray, placed.left_out), (1, 0));
        let [Mark::Path(_), Mark::Lettering(word)] = placed.marks.as_slice() else { panic!("{:?}", placed.marks) };
        assert!(Obstacles::of(&crowd).is_clear(word.corners()));
    }
}
