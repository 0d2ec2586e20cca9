//! A part cut free: what acts on it, and sums of forces or moments in which
//! one unknown is left.
//!
//! Must not know: how a structure is divided into parts.

use crate::present::document::{Formula, Line, Sign, Step};

use super::pen::{Direction, Pen, arrow, equation, formula, product, say, signed, sum, symbol, turn_arrow, zero};

/// A force or couple to be found, one in the list of all.
pub type UnknownId = usize;

/// What is to be found.
#[derive(Clone, Debug)]
pub struct Unknown {
    pub symbol: Formula,
    pub what: What,
    /// Newtons or newton-metres, once found.
    pub value: Option<f64>,
}

impl Unknown {
    /// A value of it.
    pub fn shown(&self, pen: &Pen<'_>, value: f64) -> Formula {
        match self.what {
            What::Couple => pen.moment(value),
            What::Force | What::Bar => pen.force(value),
        }
    }

    /// A value of it, nothing where that is rounding noise.
    pub fn quiet(&self, pen: &Pen<'_>, value: f64) -> f64 {
        match self.what {
            What::Couple => pen.quiet_moment(value),
            What::Force | What::Bar => pen.quiet(value),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Force,
    Couple,
    /// The force in a bar, assumed to pull.
    Bar,
}

/// Something that acts on a part.
#[derive(Clone, Debug)]
pub struct Acting {
    pub size: Size,
    pub kind: Kind,
    /// Where: metres, and in words (`at D`).
    pub at: [f64; 2],
    pub place: String,
}

#[derive(Clone, Copy, Debug)]
pub enum Size {
    /// Newtons along the direction, or newton-metres counterclockwise; as it
    /// was given.
    Load(f64),
    /// The same, computed on the way.
    Found(f64),
    /// So many times an unknown: a couple of it turns in the sense that the
    /// page counts as positive.
    Unknown(UnknownId, f64),
}

impl Size {
    /// What is known without solving anything.
    pub const fn known(self) -> Option<f64> {
        match self {
            Size::Load(size) | Size::Found(size) => Some(size),
            Size::Unknown(..) => None,
        }
    }
}

#[derive(Clone, Debug)]
pub enum Kind {
    Force(Direction),
    Couple,
}

/// What is summed up.
#[derive(Clone, Debug)]
pub enum Sum {
    /// The components along a direction, called so.
    Along([f64; 2], Formula),
    /// The moments about a point, called so in a subscript.
    About([f64; 2], String),
}

impl Sum {
    pub fn x() -> Sum {
        Sum::Along([1.0, 0.0], symbol("ΣF", "x"))
    }

    pub fn y() -> Sum {
        Sum::Along([0.0, 1.0], symbol("ΣF", "y"))
    }

    pub fn symbol(&self) -> Formula {
        match self {
            Sum::Along(_, name) => name.clone(),
            Sum::About(_, name) => symbol("ΣM", name.clone()),
        }
    }

    /// The point about which moments are taken, by name.
    pub fn centre(&self) -> Option<String> {
        match self {
            Sum::Along(..) => None,
            Sum::About(_, name) => Some(name.clone()),
        }
    }

    /// How much one unit of it counts.
    pub fn coefficient(&self, acting: &Acting) -> f64 {
        match (self, &acting.kind) {
            (Sum::Along([x, y], _), Kind::Force(direction)) => {
                let [ux, uy] = direction.unit;
                ux * x + uy * y
            }
            (Sum::Along(..), Kind::Couple) => 0.0,
            (Sum::About(centre, _), Kind::Force(direction)) => arm(*centre, acting.at, direction.unit),
            (Sum::About(..), Kind::Couple) => 1.0,
        }
    }
}

/// The signed arm of a force about a point, counterclockwise positive.
pub fn arm([cx, cy]: [f64; 2], [x, y]: [f64; 2], [ux, uy]: [f64; 2]) -> f64 {
    (x - cx) * uy - (y - cy) * ux
}

/// The foot of the perpendicular from a point on the line of a force.
pub fn foot([cx, cy]: [f64; 2], [x, y]: [f64; 2], [ux, uy]: [f64; 2]) -> [f64; 2] {
    let along = (cx - x) * ux + (cy - y) * uy;
    [x + along * ux, y + along * uy]
}

/// A part cut free.
#[derive(Clone, Debug, Default)]
pub struct Part {
    pub forces: Vec<Acting>,
}

/// One sum written out, with what it says about the unknowns.
pub struct Balance {
    /// Each term with its sign, zero ones left out.
    pub terms: Vec<(Sign, Formula)>,
    /// The unknowns not yet found, with their coefficients.
    pub open: Vec<(UnknownId, f64)>,
    /// All that is known, added up.
    pub known: f64,
    /// The known terms alone.
    known_terms: Vec<(Sign, Formula)>,
    /// The largest known term.
    largest: f64,
}

impl Part {
    /// Sums up. Coefficients below a billionth of the part's size are zero.
    pub fn balance(&self, pen: &Pen<'_>, unknowns: &[Unknown], what: &Sum) -> Balance {
        let mut found =
            Balance { terms: Vec::new(), open: Vec::new(), known: 0.0, known_terms: Vec::new(), largest: 0.0 };
        let flips = matches!(what, Sum::About(..)) && pen.structure.turning_sign() < 0.0;
        for acting in &self.forces {
            let coefficient = pen_quiet(pen, what, what.coefficient(acting));
            if coefficient == 0.0 {
                continue;
            }
            let shown = if flips { -coefficient } else { coefficient };
            let (size, share) = match acting.size {
                Size::Load(size) | Size::Found(size) => (Some(size), 1.0),
                Size::Unknown(id, share) => (unknowns.get(id).and_then(|unknown| unknown.value), share),
            };
            let factor = factor(pen, what, acting, coefficient.abs());
            match (size, acting.size) {
                (None, Size::Unknown(id, share)) => {
                    let name = unknowns.get(id).map_or_else(zero, |unknown| unknown.symbol.clone());
                    found.terms.push(signed(shown * share, product(std::iter::once(name).chain(factor).collect())));
                    match found.open.iter_mut().find(|(known, _)| *known == id) {
                        Some((_, sum)) => *sum += coefficient * share,
                        None => found.open.push((id, coefficient * share)),
                    }
                }
                (Some(size), given) => {
                    let size = size * share;
                    let size = match acting.kind {
                        Kind::Couple => pen.quiet_moment(size),
                        Kind::Force(_) => pen.quiet(size),
                    };
                    if size == 0.0 {
                        continue;
                    }
                    let number = match (given, &acting.kind) {
                        (Size::Load(_), Kind::Force(_)) => pen.given(size.abs(), &pen.force),
                        (Size::Load(_), Kind::Couple) => pen.given(size.abs(), &pen.moment),
                        (_, Kind::Force(_)) => pen.force(size.abs()),
                        (_, Kind::Couple) => pen.moment(size.abs()),
                    };
                    let term = signed(shown * size, product(std::iter::once(number).chain(factor).collect()));
                    found.known += coefficient * size;
                    found.largest = found.largest.max((coefficient * size).abs());
                    found.terms.push(term.clone());
                    found.known_terms.push(term);
                }
                (None, Size::Load(_) | Size::Found(_)) => {}
            }
        }
        // What is looked for stands in front.
        let mut terms: Vec<(Sign, Formula)> =
            found.terms.iter().filter(|term| !found.known_terms.contains(term)).cloned().collect();
        terms.extend(found.known_terms.iter().cloned());
        found.terms = terms;
        found.open.retain(|(_, coefficient)| pen_quiet(pen, what, *coefficient) != 0.0);
        if flips {
            found.open.iter_mut().for_each(|(_, coefficient)| *coefficient = -*coefficient);
            found.known = -found.known;
        }
        if found.known.abs() <= 1e-10 * found.largest {
            found.known = 0.0;
        }
        found
    }
}

fn pen_quiet(pen: &Pen<'_>, what: &Sum, coefficient: f64) -> f64 {
    match what {
        Sum::About(..) => pen.quiet_length(coefficient),
        Sum::Along(..) if coefficient.abs() < 1e-9 => 0.0,
        Sum::Along(..) => coefficient,
    }
}

/// What stands beside a force in a sum: its arm, or its cosine; nothing for 1.
fn factor(pen: &Pen<'_>, what: &Sum, acting: &Acting, coefficient: f64) -> Option<Formula> {
    match (what, &acting.kind) {
        (_, Kind::Couple) => None,
        (Sum::About(..), Kind::Force(_)) => Some(pen.length(coefficient)),
        (Sum::Along([x, y], _), Kind::Force(direction)) => {
            if (coefficient - 1.0).abs() < 1e-12 {
                return None;
            }
            match &direction.cosines {
                Some([cosine, _]) if *y == 0.0 => Some(cosine.clone()),
                Some([_, sine]) if *x == 0.0 => Some(sine.clone()),
                _ => Some(pen.ratio(coefficient)),
            }
        }
    }
}

impl Balance {
    /// `ΣM_A = C_y × 12 ft − 240 lbf × 3 ft = 0`
    pub fn statement(&self, what: &Sum) -> Step {
        self.with_terms(what, gathered(&self.terms))
    }

    /// The same with all that is known in one number, for sums too long to
    /// write out.
    pub fn short_statement(&self, pen: &Pen<'_>, what: &Sum) -> Step {
        let mut terms: Vec<(Sign, Formula)> =
            self.terms.iter().filter(|term| !self.known_terms.contains(term)).cloned().collect();
        if self.known != 0.0 {
            terms.push(signed(self.known, self.total(pen, what)));
        }
        self.with_terms(what, terms)
    }

    fn with_terms(&self, what: &Sum, terms: Vec<(Sign, Formula)>) -> Step {
        let mut sides = vec![what.symbol()];
        if !terms.is_empty() {
            sides.push(sum(terms));
        }
        sides.push(zero());
        equation(Vec::new(), sides, Vec::new())
    }

    /// The one unknown left, found: the lines of the calculation, and its value.
    pub fn solve(&self, pen: &Pen<'_>, unknowns: &[Unknown], what: &Sum) -> Option<(UnknownId, f64, Vec<Step>)> {
        let [(id, coefficient)] = self.open.as_slice() else { return None };
        let unknown = unknowns.get(*id)?;
        let value = unknown.quiet(pen, -self.known / coefficient);
        let mut sides = vec![unknown.symbol.clone()];
        let is_plain =
            (coefficient.abs() - 1.0).abs() < 1e-12 && (matches!(what, Sum::Along(..)) || unknown.what == What::Couple);
        let moved: Vec<(Sign, Formula)> = gathered(&self.known_terms)
            .into_iter()
            .map(|(sign, term)| (turned(sign, *coefficient > 0.0), term))
            .collect();
        if value != 0.0 {
            if is_plain {
                sides.push(sum(moved.clone()));
            } else {
                let below = self.coefficient_of(unknown)?;
                let above = match moved.as_slice() {
                    [(_, one)] => one.clone(),
                    _ => self.total(pen, what),
                };
                let sign = if value < 0.0 { Sign::Minus } else { Sign::Plus };
                sides.push(sum(vec![(sign, Formula::Fraction(Box::new(above), Box::new(below)))]));
            }
        }
        let shown = unknown.shown(pen, value);
        // A sum of one number, or none, is the result itself.
        let is_bare = is_plain && matches!(moved.as_slice(), [] | [(_, Formula::Number { .. })]);
        if is_bare {
            sides.truncate(1);
        }
        sides.push(shown);
        // `ΣF_x = A_x = 0` says it already.
        let is_said = moved.is_empty() && is_plain && *coefficient > 0.0;
        let lines = if is_said { Vec::new() } else { vec![equation(Vec::new(), sides, Vec::new())] };
        Some((*id, value, lines))
    }

    /// The known terms added up, as a size.
    pub fn total(&self, pen: &Pen<'_>, what: &Sum) -> Formula {
        match what {
            Sum::Along(..) => pen.force(self.known.abs()),
            Sum::About(..) => pen.moment(self.known.abs()),
        }
    }

    /// How much one unit of an unknown counts.
    pub fn coefficient(&self, id: UnknownId) -> f64 {
        self.open.iter().find(|(own, _)| *own == id).map_or(0.0, |(_, value)| *value)
    }

    /// What stands beside an unknown in the sum; nothing for 1.
    pub fn coefficient_of(&self, unknown: &Unknown) -> Option<Formula> {
        self.terms.iter().find_map(|(_, term)| match term {
            Formula::Product(factors) if factors.first() == Some(&unknown.symbol) => factors.get(1).cloned(),
            _ => None,
        })
    }

    /// A tick where nothing is left but rounding; how much there is of that in
    /// a layout that magnifies it.
    pub fn verdict(&self) -> String {
        let share = self.known.abs() / self.largest.max(f64::MIN_POSITIVE);
        if share <= 1e-7 {
            "✓".to_owned()
        } else {
            format!("but for {share:.0e} of the largest term, which rounding leaves in so sensitive a layout")
        }
    }
}

/// Terms that are alike, once with their number.
pub fn gathered(terms: &[(Sign, Formula)]) -> Vec<(Sign, Formula)> {
    let mut each: Vec<(i64, Sign, &Formula)> = Vec::new();
    for (sign, term) in terms {
        match each.iter_mut().find(|(_, known, other)| known == sign && *other == term) {
            Some((count, ..)) => *count += 1,
            None => each.push((1, *sign, term)),
        }
    }
    let written = |(count, sign, term): (i64, Sign, &Formula)| match count {
        1 => (sign, term.clone()),
        count => (sign, product(vec![super::pen::whole(count), term.clone()])),
    };
    each.into_iter().map(written).collect()
}

const fn turned(sign: Sign, turn: bool) -> Sign {
    match (sign, turn) {
        (Sign::Plus, true) | (Sign::Minus, false) => Sign::Minus,
        _ => Sign::Plus,
    }
}

/// What the value of a result means: its direction, or `tension`.
pub fn meaning(pen: &Pen<'_>, what: What, value: f64, unit: [f64; 2]) -> Line {
    if value == 0.0 {
        return Vec::new();
    }
    let [x, y] = unit;
    match what {
        What::Bar => vec![say(if value > 0.0 { "tension" } else { "compression" })],
        What::Couple => vec![say(turn_arrow(pen.structure.turning(value)))],
        What::Force => vec![say(arrow([x * value.signum(), y * value.signum()]))],
    }
}

/// A known or unknown force by name: `240 lbf ↓`, `A_x →`.
pub fn named(pen: &Pen<'_>, unknowns: &[Unknown], acting: &Acting) -> Line {
    let (inner, sign) = match acting.size {
        Size::Load(size) | Size::Found(size) => {
            let unit = if matches!(acting.kind, Kind::Couple) { &pen.moment } else { &pen.force };
            let is_given = matches!(acting.size, Size::Load(_));
            let number = if is_given { pen.given(size.abs(), unit) } else { pen.result(size.abs(), unit) };
            (number, size.signum())
        }
        Size::Unknown(id, share) => {
            (unknowns.get(id).map_or_else(zero, |unknown| unknown.symbol.clone()), share.signum())
        }
    };
    let arrow = match &acting.kind {
        Kind::Force(direction) => arrow(direction.unit.map(|part| part * sign)),
        Kind::Couple => turn_arrow(sign),
    };
    vec![formula(inner), say(format!(" {arrow}"))]
}
