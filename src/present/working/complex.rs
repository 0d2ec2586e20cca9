//! Complex trusses: where no joint has two unknowns and no section leaves one
//! bar alone, the force of one bar is kept as an unknown and carried from joint
//! to joint, until an equation is to spare, which gives it. (Common practice
//! for complex trusses, beside the exchange of a bar: Henneberg 1886.)
//!
//! Must not know: sections, which joints were taken before.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::JointId;
use crate::present::document::{Block, Formula, Step, words};

use super::elimination::eliminated;
use super::joints::{Truss, bars_at};
use super::part::{Balance, Sum, UnknownId, What, meaning};
use super::pen::{Pen, equation, formula, product, say, signed, sum, zero};

/// So many bars are tried as the one that is kept.
const MOST_TRIED: usize = 24;
/// An equation that hangs on the kept force by less than this says nothing.
const LEAST_SHARE: f64 = 1e-6;

/// A force as a number and a share of the kept one, newtons.
#[derive(Clone, Copy, Debug, Default)]
struct Carried {
    constant: f64,
    share: f64,
}

impl Carried {
    fn add(&mut self, times: f64, other: Carried) {
        self.constant += times * other.constant;
        self.share += times * other.share;
    }

    fn over(self, divisor: f64) -> Carried {
        Carried { constant: self.constant / divisor, share: self.share / divisor }
    }
}

/// The way from the kept bar to the equation that gives its force.
struct Way {
    kept: UnknownId,
    forces: BTreeMap<UnknownId, Carried>,
    /// In the order in which they are found.
    order: Vec<UnknownId>,
    /// The joints, with the lines of each.
    joints: Vec<(JointId, Vec<Step>)>,
    /// The last equation: number and share, which add up to zero.
    closing: Carried,
}

/// Finds one bar's force by carrying it along, and with it all bars on the way;
/// false where no single bar is enough.
pub fn tell(pen: &Pen<'_>, truss: &mut Truss, done: &mut BTreeSet<JointId>, blocks: &mut Vec<Block>) -> bool {
    let open: Vec<UnknownId> = truss.bars.iter().copied().filter(|id| truss.value(*id).is_none()).collect();
    // The equation that hangs most on the kept force gives it best.
    let ways = open.iter().take(MOST_TRIED).filter_map(|kept| carry(pen, truss, *kept));
    let best = ways.reduce(|best, way| {
        let is_better = way.closing.share.abs() > 1.001 * best.closing.share.abs();
        if is_better { way } else { best }
    });
    let Some(way) = best else { return false };
    let Some(name) = truss.unknowns.get(way.kept).map(|unknown| unknown.symbol.clone()) else { return false };
    blocks.push(Block::Paragraph(vec![
        say(
            "No joint left gives its unknowns by its own two equations, and no straight section was found that leaves one alone: \
             the truss is solved as a complex one. One force, ",
        ),
        formula(name.clone()),
        say(
            ", is kept as an unknown and carried from joint to joint, until a joint is reached that has an equation to spare: \
             that equation gives it.",
        ),
    ]));
    let value = pen.quiet(-way.closing.constant / way.closing.share);
    let last = way.joints.len().saturating_sub(1);
    for (index, (joint, mut steps)) in way.joints.into_iter().enumerate() {
        blocks.push(Block::Heading { level: 3, text: words(format!("Joint {}", pen.joint(joint))) });
        if index == last {
            steps.extend(closed(pen, way.closing, &name, value));
        }
        blocks.push(Block::Working(steps));
        done.insert(joint);
    }
    truss.set(way.kept, value);
    let mut steps = Vec::new();
    for id in way.order {
        let Some(carried) = way.forces.get(&id).copied() else { continue };
        let force = pen.quiet(carried.constant + carried.share * value);
        truss.set(id, force);
        if let (true, Some(unknown)) = (carried.share != 0.0, truss.unknowns.get(id)) {
            let mut sides = vec![unknown.symbol.clone()];
            let shown = pen.force(force);
            let written = written(pen, carried, &pen.force(value.abs()), value);
            if written != shown {
                sides.push(written);
            }
            sides.push(shown);
            steps.push(equation(Vec::new(), sides, meaning(pen, unknown.what, force, [0.0; 2])));
        }
    }
    if !steps.is_empty() {
        blocks.push(Block::Paragraph(vec![
            say("With "),
            formula(name),
            say(" known, so are the forces that were carried along:"),
        ]));
        blocks.push(Block::Working(steps));
    }
    true
}

/// The last equation with what is known put in, and what it gives.
fn closed(pen: &Pen<'_>, closing: Carried, name: &Formula, value: f64) -> Vec<Step> {
    let mut terms = Vec::new();
    let share = share_of(pen, closing.share);
    if pen.quiet(closing.constant) != 0.0 {
        terms.push(signed(closing.constant, pen.force(closing.constant.abs())));
    }
    let factors: Vec<Formula> = share.clone().into_iter().chain([name.clone()]).collect();
    terms.push(signed(closing.share, product(factors)));
    let mut steps = vec![equation(words("put in"), vec![sum(terms), zero()], Vec::new())];
    let mut sides = vec![name.clone()];
    if let (Some(share), true) = (share, value != 0.0) {
        let ratio = Formula::Fraction(Box::new(pen.force(closing.constant.abs())), Box::new(share));
        sides.push(sum(vec![signed(value, ratio)]));
    }
    sides.push(pen.force(value));
    steps.push(equation(Vec::new(), sides, meaning(pen, What::Bar, value, [0.0; 2])));
    steps
}

/// A share as it is written; nothing for one.
fn share_of(pen: &Pen<'_>, share: f64) -> Option<Formula> {
    let is_one = (share.abs() - 1.0).abs() < 1e-12;
    (!is_one).then(|| pen.ratio(share))
}

/// `5.2 kN + 0.7107 × F_AD`; `size` is what stands for the kept force, of this
/// sign.
fn written(pen: &Pen<'_>, carried: Carried, size: &Formula, sign: f64) -> Formula {
    let mut terms = Vec::new();
    if pen.quiet(carried.constant) != 0.0 {
        terms.push(signed(carried.constant, pen.force(carried.constant.abs())));
    }
    if carried.share != 0.0 {
        let factors = share_of(pen, carried.share).into_iter().chain([size.clone()]).collect();
        terms.push(signed(carried.share * if sign < 0.0 { -1.0 } else { 1.0 }, product(factors)));
    }
    sum(terms)
}

/// Carries one force through the joints as far as an equation that gives it.
fn carry(pen: &Pen<'_>, truss: &Truss, kept: UnknownId) -> Option<Way> {
    let mut way = Way {
        kept,
        forces: BTreeMap::from([(kept, Carried { constant: 0.0, share: 1.0 })]),
        order: Vec::new(),
        joints: Vec::new(),
        closing: Carried::default(),
    };
    let mut left: Vec<(JointId, BTreeSet<UnknownId>)> = (0..truss.joints.len())
        .map(JointId::new)
        .map(|joint| (joint, truss.open_at(joint)))
        .filter(|(_, open)| !open.is_empty())
        .collect();
    loop {
        let unknown = |open: &BTreeSet<UnknownId>| open.iter().filter(|id| !way.forces.contains_key(*id)).count();
        let last = way.joints.last().map(|(joint, _)| *joint);
        let is_near = |joint: JointId| last.is_some_and(|last| bars_at(pen, last).iter().any(|(_, far)| *far == joint));
        let ready = left
            .iter()
            .enumerate()
            .filter(|(_, (_, open))| unknown(open) <= 2)
            .min_by_key(|(index, (joint, open))| (unknown(open), !is_near(*joint), *index))?;
        let (index, _) = ready;
        let (joint, open) = left.remove(index);
        if joint_gives(pen, truss, &mut way, joint, &open)? {
            return Some(way);
        }
    }
}

/// The sums of one joint; true where one of them gives the kept force, nothing
/// where they cannot be solved.
fn joint_gives(
    pen: &Pen<'_>,
    truss: &Truss,
    way: &mut Way,
    joint: JointId,
    open: &BTreeSet<UnknownId>,
) -> Option<bool> {
    let part = truss.joints.get(joint.index())?;
    let wanted: Vec<UnknownId> = open.iter().copied().filter(|id| !way.forces.contains_key(id)).collect();
    let sums = [Sum::x(), Sum::y()].map(|what| (part.balance(pen, &truss.unknowns, &what), what));
    let share = |balance: &Balance, id: UnknownId| -> f64 {
        balance.open.iter().find(|(own, _)| *own == id).map_or(0.0, |(_, share)| *share)
    };
    // What is known or carried in a sum.
    let rest = |way: &Way, balance: &Balance| {
        let mut rest = Carried { constant: balance.known, share: 0.0 };
        for (id, times) in &balance.open {
            rest.add(*times, way.forces.get(id).copied().unwrap_or_default());
        }
        rest
    };
    let mut steps = Vec::new();
    let name = |id: UnknownId| truss.unknowns.get(id).map_or_else(zero, |unknown| unknown.symbol.clone());
    let found = |way: &mut Way, id: UnknownId, carried: Carried, how: Option<Formula>| {
        let mut carried = carried;
        if carried.share.abs() < LEAST_SHARE {
            carried.share = 0.0;
        }
        let shown = written(pen, carried, &name(way.kept), 1.0);
        way.forces.insert(id, carried);
        way.order.push(id);
        let label = if how.is_some() { words("eliminated") } else { Vec::new() };
        equation(label, std::iter::once(name(id)).chain(how).chain([shown]).collect(), Vec::new())
    };
    // The second of two unknowns of both sums, the first eliminated.
    let how_found = |way: &Way, [first, second]: [UnknownId; 2]| {
        let [(one, _), (two, _)] = &sums;
        let coefficients = |balance: &Balance| {
            [first, second].map(|id| {
                let unknown = truss.unknowns.get(id);
                (share(balance, id), unknown.and_then(|unknown| balance.coefficient_of(unknown)))
            })
        };
        let known = |balance: &Balance| -> Vec<(f64, Formula)> {
            let Carried { constant, share } = rest(way, balance);
            let times = product(share_of(pen, share).into_iter().chain([name(way.kept)]).collect());
            let parts = [(pen.quiet(constant), pen.force(constant.abs())), (share, times)];
            parts.into_iter().filter(|(value, _)| value.abs() >= LEAST_SHARE).collect()
        };
        let ([a, b], [c, d]) = (coefficients(one), coefficients(two));
        eliminated([&a, &b], [&c, &d], &known(one), &known(two))
    };
    let [(across, x), (up, y)] = &sums;
    match wanted.as_slice() {
        [first, second] => {
            let ([a, b], [c, d]) =
                ([across, up].map(|sum| share(sum, *first)), [across, up].map(|sum| share(sum, *second)));
            let determinant = a * d - b * c;
            if determinant.abs() < LEAST_SHARE {
                return None;
            }
            let (r, s) = (rest(way, across), rest(way, up));
            let solved = |times: [f64; 2]| {
                let mut value = Carried::default();
                value.add(-times[0], r);
                value.add(-times[1], s);
                value.over(determinant)
            };
            let values = [solved([d, -c]), solved([-b, a])];
            // A sum with one of them only is solved first.
            let alone =
                |balance: &Balance| [*first, *second].iter().filter(|id| share(balance, **id) != 0.0).count() == 1;
            let order = if alone(up) && !alone(across) { [(up, y), (across, x)] } else { [(across, x), (up, y)] };
            let pairs = [*first, *second].into_iter().zip(values);
            let [(one, what), (two, other_sum)] = order;
            let (own, other): (Vec<_>, Vec<_>) = pairs.partition(|(id, _)| share(one, *id) != 0.0);
            steps.push(one.statement(what));
            if alone(one) {
                for (id, value) in own {
                    steps.push(found(way, id, value, None));
                }
                steps.push(two.statement(other_sum));
                for (id, value) in other {
                    steps.push(found(way, id, value, None));
                }
            } else {
                steps.push(two.statement(other_sum));
                let hows = [how_found(way, [*second, *first]), how_found(way, [*first, *second])];
                for ((id, value), how) in own.into_iter().chain(other).zip(hows) {
                    steps.push(found(way, id, value, how));
                }
            }
            way.joints.push((joint, steps));
            Some(false)
        }
        [only] => {
            let [(first, what), (second, other)] = if share(across, *only).abs() >= share(up, *only).abs() {
                [(across, x), (up, y)]
            } else {
                [(up, y), (across, x)]
            };
            let value = rest(way, first).over(-share(first, *only));
            steps.push(first.statement(what));
            steps.push(found(way, *only, value, None));
            let closing = rest(way, second);
            steps.push(second.statement(other));
            way.joints.push((joint, steps));
            way.closing = closing;
            Some(closing.share.abs() > LEAST_SHARE)
        }
        _ => {
            let closings = [across, up].map(|balance| rest(way, balance));
            let [a, b] = closings;
            let (closing, (balance, what)) =
                if a.share.abs() >= b.share.abs() { (a, (across, x)) } else { (b, (up, y)) };
            if closing.share.abs() <= LEAST_SHARE {
                return Some(false);
            }
            way.joints.push((joint, vec![balance.statement(what)]));
            way.closing = closing;
            Some(true)
        }
    }
}
