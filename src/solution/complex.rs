//! Complex trusses: where no joint has two unknowns and no section leaves one
//! bar alone, the force of one bar is kept as an unknown and carried from joint
//! to joint, until an equation is to spare, which gives it. (Common practice
//! for complex trusses, beside the exchange of a bar: Henneberg 1886.)
//!
//! Must not know: sections, which joints were taken before.

use crate::base::tolerances::WEAK;
use std::collections::{BTreeMap, BTreeSet};

use crate::base::JointId;

use super::part::{Balance, UnknownId};
use super::problem::Problem;
use super::system::System;

/// So many bars are tried as the one that is kept.
const MOST_TRIED: usize = 24;
/// A way is better than another whose last equation hangs on the kept force so
/// many times less.
const BETTER: f64 = 1.001;

/// A force as a number and a share of the kept one, newtons.
#[derive(Clone, Copy, Debug, Default)]
pub struct Carried {
    pub constant: f64,
    pub share: f64,
}

impl Carried {
    fn plus(self, times: f64, other: Carried) -> Carried {
        Carried { constant: self.constant + times * other.constant, share: self.share + times * other.share }
    }

    fn over(self, divisor: f64) -> Carried {
        Carried { constant: self.constant / divisor, share: self.share / divisor }
    }
}

/// The way from the kept bar to the equation that gives its force.
#[derive(Clone, Debug)]
pub struct Way {
    pub kept: UnknownId,
    forces: BTreeMap<UnknownId, Carried>,
    /// In the order in which they are found.
    order: Vec<UnknownId>,
    /// The joints, with the lines of each.
    pub joints: Vec<(JointId, Vec<Line>)>,
    /// The last equation: number and share, which add up to zero.
    pub closing: Carried,
}

/// A line at a joint on the way.
#[derive(Clone, Debug)]
pub enum Line {
    Sum(Balance),
    /// A force, from the sum before or from two, by eliminating another.
    Found(UnknownId, Carried, Option<Box<Elimination>>),
}

/// The second of two unknowns of two sums, with the first eliminated.
#[derive(Clone, Debug)]
pub struct Elimination {
    pub unknowns: [UnknownId; 2],
    /// With what is known or carried in each.
    pub sums: [(Balance, Carried); 2],
}

impl Way {
    /// The kept force, newtons.
    pub fn value(&self, problem: &Problem<'_>) -> f64 {
        problem.quiet(-self.closing.constant / self.closing.share)
    }

    /// The forces that were carried along.
    pub fn carried(&self) -> impl Iterator<Item = (UnknownId, Carried)> + '_ {
        self.order.iter().filter_map(|id| Some((*id, *self.forces.get(id)?)))
    }

    /// All forces that it finds.
    pub fn gives(&self, problem: &Problem<'_>) -> Vec<(UnknownId, f64)> {
        let value = self.value(problem);
        let carried = self.carried().map(|(id, force)| (id, problem.quiet(force.constant + force.share * value)));
        std::iter::once((self.kept, value)).chain(carried).collect()
    }

    /// What is known or carried in a sum.
    fn rest(&self, balance: &Balance) -> Carried {
        let known = Carried { constant: balance.known, share: 0.0 };
        let force = |id| self.forces.get(id).copied().unwrap_or_default();
        balance.open.iter().fold(known, |rest, (id, times)| rest.plus(*times, force(id)))
    }

    fn found(&mut self, id: UnknownId, mut carried: Carried, how: Option<Elimination>) -> Line {
        if carried.share.abs() < WEAK {
            carried.share = 0.0;
        }
        self.forces.insert(id, carried);
        self.order.push(id);
        Line::Found(id, carried, how.map(Box::new))
    }
}

/// Finds one bar's force by carrying it along, and with it all bars on the way;
/// `None` where no single bar is enough. The equation that hangs most on the
/// kept force gives it best.
pub fn find_way(problem: &Problem<'_>, truss: &System) -> Option<Way> {
    let open = truss.links.iter().flatten().copied().filter(|id| truss.value(*id).is_none());
    let ways = open.take(MOST_TRIED).filter_map(|kept| carry(problem, truss, kept));
    ways.reduce(|best, way| if way.closing.share.abs() > BETTER * best.closing.share.abs() { way } else { best })
}

/// Carries one force through the joints as far as an equation that gives it.
fn carry(problem: &Problem<'_>, truss: &System, kept: UnknownId) -> Option<Way> {
    let mut way = Way {
        kept,
        forces: BTreeMap::from([(kept, Carried { constant: 0.0, share: 1.0 })]),
        order: Vec::new(),
        joints: Vec::new(),
        closing: Carried::default(),
    };
    let joints = problem.structure.joints.ids().map(|joint| (joint, truss.open_at(joint)));
    let mut left: Vec<(JointId, BTreeSet<UnknownId>)> = joints.filter(|(_, open)| !open.is_empty()).collect();
    loop {
        let unknown = |open: &BTreeSet<UnknownId>| open.iter().filter(|id| !way.forces.contains_key(*id)).count();
        let last = way.joints.last().map(|(joint, _)| *joint);
        let ready = left.iter().enumerate().filter(|(_, (_, open))| unknown(open) <= 2);
        let (index, _) =
            ready.min_by_key(|(index, (joint, open))| (unknown(open), !problem.is_near(last, *joint), *index))?;
        let (joint, open) = left.remove(index);
        let wanted: Vec<UnknownId> = open.into_iter().filter(|id| !way.forces.contains_key(id)).collect();
        if joint_gives(problem, truss, &mut way, joint, &wanted)? {
            return Some(way);
        }
    }
}

/// The sums of one joint; true where one of them gives the kept force, nothing
/// where they cannot be solved.
fn joint_gives(
    problem: &Problem<'_>,
    truss: &System,
    way: &mut Way,
    joint: JointId,
    wanted: &[UnknownId],
) -> Option<bool> {
    let [across, up] = truss.sums_at(problem, joint);
    match wanted {
        [first, second] => {
            let [[a, b], [c, d]] = [first, second].map(|id| [across.coefficient(*id), up.coefficient(*id)]);
            let determinant = a * d - b * c;
            if determinant.abs() < WEAK {
                return None;
            }
            let (r, s) = (way.rest(&across), way.rest(&up));
            let solved = |[p, q]: [f64; 2]| Carried::default().plus(-p, r).plus(-q, s).over(determinant);
            let pairs = [(*first, solved([d, -c])), (*second, solved([-b, a]))];
            // A sum with one of them only is solved first.
            let is_alone = |balance: &Balance| wanted.iter().filter(|id| balance.coefficient(**id) != 0.0).count() == 1;
            let mut lines = Vec::new();
            if is_alone(&across) || is_alone(&up) {
                let [one, other] = if is_alone(&across) { [across, up] } else { [up, across] };
                let [mut own, mut rest] = pairs;
                if one.coefficient(own.0) == 0.0 {
                    std::mem::swap(&mut own, &mut rest);
                }
                for (sum, (id, carried)) in [(one, own), (other, rest)] {
                    lines.push(Line::Sum(sum));
                    lines.push(way.found(id, carried, None));
                }
            } else {
                lines.extend([Line::Sum(across.clone()), Line::Sum(up.clone())]);
                for ((id, carried), unknowns) in pairs.into_iter().zip([[*second, *first], [*first, *second]]) {
                    let sums = [(across.clone(), r), (up.clone(), s)];
                    lines.push(way.found(id, carried, Some(Elimination { unknowns, sums })));
                }
            }
            way.joints.push((joint, lines));
            Some(false)
        }
        [only] => {
            let is_across = across.coefficient(*only).abs() >= up.coefficient(*only).abs();
            let [first, second] = if is_across { [across, up] } else { [up, across] };
            let value = way.rest(&first).over(-first.coefficient(*only));
            let found = way.found(*only, value, None);
            way.closing = way.rest(&second);
            way.joints.push((joint, vec![Line::Sum(first), found, Line::Sum(second)]));
            Some(way.closing.share.abs() > WEAK)
        }
        _ => {
            let (a, b) = (way.rest(&across), way.rest(&up));
            let (closing, sum) = if a.share.abs() >= b.share.abs() { (a, across) } else { (b, up) };
            if closing.share.abs() <= WEAK {
                return Some(false);
            }
            way.joints.push((joint, vec![Line::Sum(sum)]));
            way.closing = closing;
            Some(true)
        }
    }
}
