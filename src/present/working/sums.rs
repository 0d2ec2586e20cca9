//! Sums written out: each term with its arm or its cosine, and how the unknown
//! of a sum, or of two, follows from it.
//!
//! Must not know: how a structure is divided into parts, which sums are taken.

use crate::base::tolerances::MAGNIFIED;
use crate::present::document::{Formula, Line, Sign, Step, words};
use crate::present::results::words::arrow;
use crate::solution::elimination::Pair;
use crate::solution::part::{Acting, Balance, Kind, Size, Sum, Term, UnknownId, Unknowns, is_one};

use super::pen::{Pen, equation, formula, over, product, say, signed, sum, turn_arrow, whole, zero};

/// A term with its sign.
pub type Signed = (Sign, Formula);

/// The size of something known, as it was given or found.
pub fn size(pen: &Pen<'_>, acting: &Acting, value: f64) -> Formula {
    let unit = if matches!(acting.kind, Kind::Couple) { &pen.moment } else { &pen.force };
    let is_given = matches!(acting.size, Size::Load(_));
    if is_given { pen.given(value.abs(), unit) } else { pen.result(value.abs(), unit) }
}

/// A sum with what its terms are written with.
pub struct Written<'a> {
    pub pen: &'a Pen<'a>,
    pub unknowns: &'a Unknowns,
    pub balance: &'a Balance,
}

impl Written<'_> {
    fn term(&self, term: &Term) -> Signed {
        let factor = self.factor(term);
        match (term.value, term.acting.size) {
            (None, Size::Unknown(id, share)) => {
                let name = self.pen.unknown(self.unknowns[id].name);
                signed(term.coefficient * share, product(std::iter::once(name).chain(factor).collect()))
            }
            (value, _) => {
                let value = value.unwrap_or_default();
                let number = size(self.pen, &term.acting, value);
                signed(term.coefficient * value, product(std::iter::once(number).chain(factor).collect()))
            }
        }
    }

    /// What stands beside a force in a sum: its arm, or its cosine; nothing for 1.
    fn factor(&self, term: &Term) -> Option<Formula> {
        let direction = term.acting.direction()?;
        let coefficient = term.coefficient.abs();
        match self.balance.sum {
            Sum::About(..) => Some(self.pen.length(coefficient)),
            Sum::Along(_) if is_one(coefficient) => None,
            Sum::Along([x, y]) => match self.pen.cosines(direction) {
                Some([cosine, _]) if y == 0.0 => Some(cosine),
                Some([_, sine]) if x == 0.0 => Some(sine),
                _ => Some(self.pen.ratio(coefficient)),
            },
        }
    }

    fn terms(&self, which: impl Fn(&Term) -> bool) -> Vec<Signed> {
        self.balance.terms.iter().filter(|term| which(term)).map(|term| self.term(term)).collect()
    }

    /// All terms with their signs.
    pub fn all(&self) -> Vec<Signed> {
        self.terms(|_| true)
    }

    /// `ΣM_A = C_y × 12 ft − 310 lbf × 3 ft = 0`
    pub fn statement(&self) -> Step {
        self.with_terms(gathered(&self.all()))
    }

    /// The same with all that is known in one number, for sums too long to
    /// write out.
    pub fn short_statement(&self) -> Step {
        let mut terms = self.terms(|term| term.value.is_none());
        if self.balance.known != 0.0 {
            terms.push(signed(self.balance.known, self.total()));
        }
        self.with_terms(terms)
    }

    fn with_terms(&self, terms: Vec<Signed>) -> Step {
        let mut sides = vec![self.pen.sum(&self.balance.sum)];
        if !terms.is_empty() {
            sides.push(sum(terms));
        }
        sides.push(zero());
        equation(Vec::new(), sides, Vec::new())
    }

    /// The statement of a sum that has to come to nothing, with a tick where
    /// nothing is left but rounding, or how much there is of that in a layout
    /// that magnifies it.
    pub fn check(&self) -> Step {
        let share = self.balance.left_over();
        let verdict = if share <= MAGNIFIED {
            "✓".to_owned()
        } else {
            format!("off by {share:.0e} of the largest term, from rounding in an ill-conditioned layout")
        };
        Step { remark: words(verdict), ..self.statement() }
    }

    /// The line that gives the one unknown left; none where the statement says
    /// it already.
    pub fn solved(&self, (id, value): (UnknownId, f64)) -> Option<Step> {
        let name = self.unknowns[id].name;
        let coefficient = self.balance.coefficient(id);
        let mut sides = vec![self.pen.unknown(name)];
        let is_plain = is_one(coefficient) && (matches!(self.balance.sum, Sum::Along(_)) || name.is_couple());
        let moved: Vec<Signed> = gathered(&self.terms(|term| term.value.is_some()))
            .into_iter()
            .map(|(sign, term)| (if coefficient > 0.0 { sign.opposite() } else { sign }, term))
            .collect();
        // `ΣF_x = A_x = 0` says it already.
        if moved.is_empty() && is_plain && coefficient > 0.0 {
            return None;
        }
        // A sum of one number, or none, is the result itself.
        let is_bare = is_plain && matches!(moved.as_slice(), [] | [(_, Formula::Number { .. })]);
        if value != 0.0 && !is_bare {
            let below = self.beside(id).filter(|_| !is_plain);
            sides.push(match (below, moved.as_slice()) {
                (None, _) => sum(moved),
                (Some(below), [(_, one)]) => sum(vec![signed(value, over(one.clone(), below))]),
                (Some(below), _) => sum(vec![signed(value, over(self.total(), below))]),
            });
        }
        sides.push(self.pen.value(name, value));
        let remark = self.pen.meaning(name, value, self.balance.direction_of(id));
        Some(equation(Vec::new(), sides, remark))
    }

    /// The known terms added up, as a size.
    fn total(&self) -> Formula {
        match self.balance.sum {
            Sum::Along(_) => self.pen.force(self.balance.known.abs()),
            Sum::About(..) => self.pen.moment(self.balance.known.abs()),
        }
    }

    /// What stands beside an unknown in the sum; nothing for 1.
    fn beside(&self, id: UnknownId) -> Option<Formula> {
        let own = |term: &&Term| term.value.is_none() && term.acting.size.unknown() == Some(id);
        self.balance.terms.iter().filter(own).find_map(|term| self.factor(term))
    }

    /// The coefficient of an unknown.
    pub fn coefficient(&self, id: UnknownId) -> Coefficient {
        (self.balance.coefficient(id), self.beside(id))
    }
}

/// The two lines of a pair: the second unknown with the first eliminated, then
/// the first by putting it back.
pub fn pair_steps(pen: &Pen<'_>, unknowns: &Unknowns, pair: &Pair) -> [Step; 2] {
    let sums = pair.sums.each_ref().map(|balance| Written { pen, unknowns, balance });
    let [[a, b], [c, d]] = sums.each_ref().map(|own| pair.unknowns.map(|id| own.coefficient(id)));
    let [k, l] = sums.each_ref().map(|own| {
        let known = own.balance.known;
        if known == 0.0 { Vec::new() } else { vec![(known, own.total())] }
    });
    let [(q, v), (p, u)] = pair.gives;
    let eliminated = eliminated([&a, &b], [&c, &d], &k, &l);
    let mut above: Vec<Signed> = k.iter().map(|(value, size)| signed(-value * a.0, size.clone())).collect();
    let name = unknowns[q].name;
    if name.quiet(pen, v) != 0.0 {
        above.push(signed(-v * b.0 * a.0, times(&b, pen.value(name, v.abs()))));
    }
    let put_back = quotient(above, a.1.clone());
    [("eliminated", q, eliminated, v), ("substituted", p, put_back, u)].map(|(label, id, how, value)| {
        let name = unknowns[id].name;
        let shown = pen.value(name, name.quiet(pen, value));
        let how = how.filter(|how| *how != shown);
        let sides = std::iter::once(pen.unknown(name)).chain(how).chain([shown]).collect();
        equation(words(label), sides, Vec::new())
    })
}

/// A coefficient as a number and as it is written; nothing for 1.
pub type Coefficient = (f64, Option<Formula>);

/// The second unknown of `a u + b v + k = 0` and `c u + d v + l = 0`: the first
/// equation times c less the second times a. What is known stands in terms.
pub fn eliminated(
    [a, b]: [&Coefficient; 2],
    [c, d]: [&Coefficient; 2],
    k: &[(f64, Formula)],
    l: &[(f64, Formula)],
) -> Option<Formula> {
    let turn = (a.0 * d.0 - b.0 * c.0).signum();
    let mut above: Vec<Signed> = Vec::new();
    if c.0 != 0.0 {
        above.extend(k.iter().map(|(value, size)| signed(c.0 * value * turn, times(c, size.clone()))));
    }
    above.extend(l.iter().map(|(value, size)| signed(-a.0 * value * turn, times(a, size.clone()))));
    let term = |p: &Coefficient, q: &Coefficient, sign: f64| {
        let factors: Vec<Formula> = p.1.iter().chain(&q.1).cloned().collect();
        let one = if factors.is_empty() { whole(1) } else { product(factors) };
        signed(p.0 * q.0 * sign * turn, one)
    };
    let mut terms = vec![term(a, d, 1.0)];
    if b.0 != 0.0 && c.0 != 0.0 {
        terms.push(term(b, c, -1.0));
    }
    // What is taken off stands behind.
    terms.sort_by_key(|(sign, _)| *sign == Sign::Minus);
    quotient(above, Some(sum(terms)))
}

fn times((_, factor): &Coefficient, size: Formula) -> Formula {
    product(factor.iter().cloned().chain([size]).collect())
}

/// A sum over something; nothing for an empty one.
fn quotient(above: Vec<Signed>, below: Option<Formula>) -> Option<Formula> {
    match (above.as_slice(), below) {
        ([], _) => None,
        ([(sign, one)], Some(below)) => Some(sum(vec![(*sign, over(one.clone(), below))])),
        (_, Some(below)) => Some(over(sum(above), below)),
        (_, None) => Some(sum(above)),
    }
}

/// Terms that are alike, once with their number.
pub fn gathered(terms: &[Signed]) -> Vec<Signed> {
    let mut each: Vec<(i64, Sign, &Formula)> = Vec::new();
    for (sign, term) in terms {
        match each.iter_mut().find(|(_, known, other)| known == sign && *other == term) {
            Some((count, ..)) => *count += 1,
            None => each.push((1, *sign, term)),
        }
    }
    let written = |(count, sign, term): (i64, Sign, &Formula)| match count {
        1 => (sign, term.clone()),
        count => (sign, product(vec![whole(count), term.clone()])),
    };
    each.into_iter().map(written).collect()
}

/// A known or unknown force by name: `310 lbf ↓`, `A_x →`.
pub fn named(pen: &Pen<'_>, unknowns: &Unknowns, acting: &Acting) -> Line {
    let (inner, sign) = match acting.size {
        Size::Load(value) | Size::Found(value) => (size(pen, acting, value), value.signum()),
        Size::Unknown(id, share) => (pen.unknown(unknowns[id].name), share.signum()),
    };
    let arrow = match acting.kind {
        Kind::Force(direction) => arrow(direction.unit.map(|part| part * sign)),
        Kind::Couple => turn_arrow(sign),
    };
    vec![formula(inner), say(format!(" {arrow}"))]
}
