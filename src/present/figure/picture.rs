//! A drawing as data: lines, areas and lettering on paper, in millimetres, x
//! to the right and y down.
//!
//! Must not know: structures; how a drawing is written.

use super::inks::Ink;
use super::letters;
pub use super::letters::Weight;
pub use super::plane::Point;

/// Heights of lettering, millimetres.
pub const NAME_SIZE: f64 = 3.2;
pub const VALUE_SIZE: f64 = 2.8;
pub const NOTE_SIZE: f64 = 2.5;

/// A drawing with its paper.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Picture {
    /// Millimetres.
    pub width: f64,
    pub height: f64,
    /// From the back to the front.
    pub marks: Vec<Mark>,
    pub tally: Tally,
}

/// What became of the words that were to stand on a drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Those for which there was no room.
    pub left_out: usize,
    /// Places that were looked at, one by one, until the drawing was done.
    pub tried: usize,
}

impl std::ops::AddAssign for Tally {
    fn add_assign(&mut self, other: Tally) {
        self.left_out += other.left_out;
        self.tried += other.tried;
    }
}

/// One thing on the paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    Path(Path),
    Lettering(Lettering),
}

/// A line, or an area with or without an outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    pub steps: Vec<Step>,
    pub stroke: Option<Stroke>,
    pub fill: Option<Ink>,
    pub depth: Depth,
}

/// Whether lettering must keep clear of a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// Part of the drawing: no lettering over it.
    Drawing,
    /// Tints, hatching, the outline of the unloaded structure: lettering may
    /// lie over it and covers it with its halo.
    Backdrop,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    Move(Point),
    Line(Point),
    /// A cubic: two handles and where it ends.
    Curve(Point, Point, Point),
    Close,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    pub ink: Ink,
    /// Millimetres.
    pub width: f64,
    pub form: Form,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Solid,
    Dashed,
    Dotted,
    /// Long and short by turns: centre lines and axes.
    Chain,
}

impl Form {
    /// Lengths drawn and left out by turns, millimetres; empty for solid.
    pub const fn dashes(self) -> &'static [f64] {
        match self {
            Form::Solid => &[],
            Form::Dashed => &[2.0, 1.0],
            Form::Dotted => &[0.5, 0.9],
            Form::Chain => &[4.0, 0.8, 0.5, 0.8],
        }
    }
}

/// Words in one line.
#[derive(Clone, Debug, PartialEq)]
pub struct Lettering {
    /// The middle of its box.
    pub at: Point,
    /// Degrees clockwise on paper, by which the line is turned.
    pub turn: f64,
    /// Height of the letters' body, millimetres.
    pub size: f64,
    pub runs: Vec<Run>,
    pub ink: Ink,
    pub weight: Weight,
}

/// Part of a line of lettering.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    pub text: String,
    pub script: Script,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Script {
    Base,
    /// Lowered and smaller: the `y` of `A_y`.
    Subscript,
}

/// Size of a subscript against its line.
pub const SUBSCRIPT_SIZE: f64 = 0.72;
/// How far a subscript's base line is lowered, against the line's size.
pub const SUBSCRIPT_DROP: f64 = 0.2;
/// From the middle of the box down to the base line, against the size.
pub const BASE_LINE: f64 = 0.34;
/// Height of the box against the size: capitals and most of what hangs below.
pub const BOX_HEIGHT: f64 = 1.0;

impl Run {
    pub fn base(text: impl Into<String>) -> Run {
        Run { text: text.into(), script: Script::Base }
    }

    pub fn sub(text: impl Into<String>) -> Run {
        Run { text: text.into(), script: Script::Subscript }
    }

    /// Millimetres, in a line of this size.
    pub fn width(&self, size: f64, weight: Weight) -> f64 {
        let own = match self.script {
            Script::Base => size,
            Script::Subscript => size * SUBSCRIPT_SIZE,
        };
        letters::width(&self.text, weight) * own
    }
}

/// Words with their form, before they have a place.
#[derive(Clone, Debug)]
pub struct Words {
    pub runs: Vec<Run>,
    pub size: f64,
    pub ink: Ink,
    pub weight: Weight,
    pub need: Need,
}

/// Whether a drawing may do without.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Need {
    Always,
    IfRoom,
}

/// A middle, and degrees clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    pub at: Point,
    pub turn: f64,
}

/// Level lettering.
impl From<Point> for Place {
    fn from(at: Point) -> Place {
        Place { at, turn: 0.0 }
    }
}

impl Words {
    pub fn new(text: impl Into<String>, size: f64, ink: Ink) -> Words {
        Words { runs: vec![Run::base(text)], size, ink, weight: Weight::Regular, need: Need::Always }
    }

    pub fn bold(text: impl Into<String>, size: f64, ink: Ink) -> Words {
        Words { weight: Weight::Bold, ..Words::new(text, size, ink) }
    }

    pub fn width(&self) -> f64 {
        line_width(&self.runs, self.size, self.weight)
    }

    /// How far an upright box of these words reaches from its middle.
    pub fn reach(&self, [dx, dy]: Point) -> f64 {
        dx.abs() * self.width() / 2.0 + dy.abs() * self.size * BOX_HEIGHT / 2.0
    }

    pub fn placed(self, Place { at, turn }: Place) -> Lettering {
        let Words { runs, size, ink, weight, .. } = self;
        Lettering { at, turn, size, runs, ink, weight }
    }
}

/// The width of a line of runs, millimetres.
fn line_width(runs: &[Run], size: f64, weight: Weight) -> f64 {
    runs.iter().map(|run| run.width(size, weight)).sum()
}

impl Lettering {
    pub fn width(&self) -> f64 {
        line_width(&self.runs, self.size, self.weight)
    }

    /// The runs, each with where it begins across, its own size and how far its
    /// base line is lowered, for a line with its middle at `x`.
    pub fn laid_out(&self, x: f64) -> impl Iterator<Item = (&Run, f64, f64, f64)> {
        let mut next = x - self.width() / 2.0;
        self.runs.iter().map(move |run| {
            let left = next;
            next += run.width(self.size, self.weight);
            match run.script {
                Script::Base => (run, left, self.size, 0.0),
                Script::Subscript => (run, left, self.size * SUBSCRIPT_SIZE, SUBSCRIPT_DROP * self.size),
            }
        })
    }

    /// What it says, without its form.
    pub fn text(&self) -> String {
        self.runs.iter().map(|run| run.text.as_str()).collect()
    }

    /// The corners of its box, in order.
    pub fn corners(&self) -> [Point; 4] {
        box_corners(self.at, self.turn, self.width(), self.size * BOX_HEIGHT)
    }
}

/// The corners of a box about its middle, turned clockwise on paper by so many degrees.
pub fn box_corners([x, y]: Point, turn: f64, width: f64, height: f64) -> [Point; 4] {
    let (sin, cos) = turn.to_radians().sin_cos();
    let (half, up) = (width / 2.0, height / 2.0);
    [[-half, -up], [half, -up], [half, up], [-half, up]]
        .map(|[dx, dy]| [x + dx * cos - dy * sin, y + dx * sin + dy * cos])
}

impl Path {
    /// A straight line.
    pub fn line([a, b]: [Point; 2], stroke: Stroke, depth: Depth) -> Path {
        Path { steps: vec![Step::Move(a), Step::Line(b)], stroke: Some(stroke), fill: None, depth }
    }

    /// Half the width of its line.
    pub fn half(&self) -> f64 {
        self.stroke.map_or(0.0, |stroke| stroke.width / 2.0)
    }

    /// The path as straight pieces, curves in short chords.
    pub fn segments(&self) -> Vec<[Point; 2]> {
        const CHORDS: usize = 8;
        let mut found = Vec::new();
        let (mut first, mut last) = ([0.0; 2], [0.0; 2]);
        for step in &self.steps {
            match *step {
                Step::Move(to) => (first, last) = (to, to),
                Step::Line(to) => {
                    found.push([last, to]);
                    last = to;
                }
                Step::Curve(a, b, to) => {
                    let start = last;
                    for chord in 1..=CHORDS {
                        #[allow(clippy::cast_precision_loss)]
                        let t = chord as f64 / CHORDS as f64;
                        let next = on_cubic([start, a, b, to], t);
                        found.push([last, next]);
                        last = next;
                    }
                }
                Step::Close => {
                    found.push([last, first]);
                    last = first;
                }
            }
        }
        found
    }
}

/// A point of a cubic.
fn on_cubic([a, b, c, d]: [Point; 4], t: f64) -> Point {
    let s = 1.0 - t;
    let weights = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
    let part = |axis: fn(Point) -> f64| {
        weights.iter().zip([a, b, c, d]).map(|(weight, point)| weight * axis(point)).sum::<f64>()
    };
    [part(|[x, _]| x), part(|[_, y]| y)]
}

impl Mark {
    fn each_point(&mut self, with: &mut dyn FnMut(&mut Point)) {
        match self {
            Mark::Lettering(lettering) => with(&mut lettering.at),
            Mark::Path(path) => {
                for step in &mut path.steps {
                    match step {
                        Step::Move(to) | Step::Line(to) => with(to),
                        Step::Curve(a, b, to) => [a, b, to].into_iter().for_each(&mut *with),
                        Step::Close => {}
                    }
                }
            }
        }
    }

    pub fn move_by(&mut self, [dx, dy]: Point) {
        self.each_point(&mut |[x, y]| {
            *x += dx;
            *y += dy;
        });
    }

    /// The least box upright on the paper that holds it.
    pub fn bounds(&self) -> Bounds {
        match self {
            Mark::Lettering(lettering) => Bounds::around(lettering.corners(), 0.0),
            Mark::Path(path) => Bounds::around(path.segments().into_iter().flatten(), path.half()),
        }
    }
}

/// An upright box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Bounds {
    pub const EMPTY: Bounds =
        Bounds { left: f64::INFINITY, top: f64::INFINITY, right: f64::NEG_INFINITY, bottom: f64::NEG_INFINITY };

    /// Grown to hold a point with so much around it.
    pub fn take(&mut self, [x, y]: Point, around: f64) {
        self.left = self.left.min(x - around);
        self.right = self.right.max(x + around);
        self.top = self.top.min(y - around);
        self.bottom = self.bottom.max(y + around);
    }

    pub fn join(&mut self, other: Bounds) {
        self.left = self.left.min(other.left);
        self.right = self.right.max(other.right);
        self.top = self.top.min(other.top);
        self.bottom = self.bottom.max(other.bottom);
    }

    pub fn is_empty(&self) -> bool {
        self.left > self.right
    }

    pub fn holds(&self, [x, y]: Point) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    pub fn width(&self) -> f64 {
        (self.right - self.left).max(0.0)
    }

    pub fn height(&self) -> f64 {
        (self.bottom - self.top).max(0.0)
    }

    pub fn of(marks: &[Mark]) -> Bounds {
        let mut all = Bounds::EMPTY;
        marks.iter().for_each(|mark| all.join(mark.bounds()));
        all
    }

    /// Of points with so much around each.
    pub fn around(points: impl IntoIterator<Item = Point>, around: f64) -> Bounds {
        let mut bounds = Bounds::EMPTY;
        points.into_iter().for_each(|point| bounds.take(point, around));
        bounds
    }
}

/// How far a line of words below moves up into the white under a drawing.
const LINE_OVERLAP: f64 = 1.2;

impl Picture {
    /// The marks moved to stand in the middle of the least paper with this margin.
    pub fn around(mut marks: Vec<Mark>, margin: f64) -> Picture {
        let bounds = Bounds::of(&marks);
        if bounds.is_empty() {
            return Picture { width: 2.0 * margin, height: 2.0 * margin, marks, ..Picture::default() };
        }
        marks.iter_mut().for_each(|mark| mark.move_by([margin - bounds.left, margin - bounds.top]));
        let (width, height) = (bounds.width() + 2.0 * margin, bounds.height() + 2.0 * margin);
        Picture { width, height, marks, ..Picture::default() }
    }

    /// With a line of words under everything else, at the left; as it is for none.
    #[must_use]
    pub fn with_line_below(self, text: &str) -> Picture {
        if text.is_empty() { self } else { self.with_words_below(Words::bold(text, NOTE_SIZE, Ink::Line)) }
    }

    /// With a line in small letters under everything else; as it is where nothing is drawn.
    #[must_use]
    pub fn with_caution(self, text: &str) -> Picture {
        const SIZE: f64 = 1.9;
        if self.marks.is_empty() { self } else { self.with_words_below(Words::new(text, SIZE, Ink::Faint)) }
    }

    fn with_words_below(mut self, words: Words) -> Picture {
        let bounds = Bounds::of(&self.marks);
        let left = if bounds.is_empty() { 0.0 } else { bounds.left };
        let width = words.width();
        let at = [left + width / 2.0, self.height - LINE_OVERLAP + NOTE_SIZE / 2.0];
        self.marks.push(Mark::Lettering(words.placed(at.into())));
        self.width = self.width.max(left + width + left);
        self.height += NOTE_SIZE;
        self
    }

    /// Pictures one under the other.
    pub fn stacked(pictures: Vec<Picture>) -> Picture {
        const BETWEEN: f64 = 4.0;
        let mut whole = Picture::default();
        for picture in pictures {
            let down = if whole.marks.is_empty() { 0.0 } else { whole.height + BETWEEN };
            whole.take(picture, [0.0, down]);
        }
        whole
    }

    /// Puts another picture on this one, so far from its corner, and makes its
    /// paper as large as it must be.
    pub fn take(&mut self, other: Picture, [right, down]: Point) {
        self.width = self.width.max(right + other.width);
        self.height = self.height.max(down + other.height);
        self.tally += other.tally;
        self.marks.extend(other.marks.into_iter().map(|mut mark| {
            mark.move_by([right, down]);
            mark
        }));
    }

    pub fn lettering(&self) -> impl Iterator<Item = &Lettering> {
        self.marks.iter().filter_map(|mark| match mark {
            Mark::Lettering(lettering) => Some(lettering),
            Mark::Path(_) => None,
        })
    }
}

/// A line and two runs of turned lettering, for the tests of the writers.
#[cfg(test)]
pub fn sample([base, sub]: [&str; 2]) -> Picture {
    let stroke = Stroke { ink: Ink::Tension, width: 0.5, form: Form::Solid };
    let runs = vec![Run::base(base), Run::sub(sub)];
    let words = Words { runs, ..Words::bold("", 3.0, Ink::Line) };
    let marks = vec![
        Mark::Path(Path::line([[0.0, 0.0], [25.4, 10.0]], stroke, Depth::Drawing)),
        Mark::Lettering(words.placed(Place { at: [5.0, 5.0], turn: -90.0 })),
    ];
    Picture { width: 30.0, height: 10.0, marks, ..Picture::default() }
}
