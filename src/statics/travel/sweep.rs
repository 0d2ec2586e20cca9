//! The extremes of every force over all positions of a train.
//!
//! Must not know: how the polynomials were found.

use crate::base::MemberId;
use crate::base::tolerances::ROUNDED;
use crate::structure::Structure;

use super::super::diagram::Quantity;
use super::super::polynomial::{self, Bound};
use super::super::results::Sum;
use super::influence::{Cubic, Influence, Piece, Standing};
use super::{BendingRange, MemberRange, Peak, Probe, Range, ReactionRange, TrainPosition, bends};

/// The ranges of all reactions and of all members.
pub(super) fn ranges(structure: &Structure, influence: &Influence) -> (Vec<ReactionRange>, Vec<MemberRange>) {
    let mut reactions: Vec<ReactionRange> = influence
        .columns
        .supports
        .iter()
        .map(|columns| {
            let some = |sum: &Option<Sum>| sum.as_ref().map(|_| Range::default());
            let [fx, fy, m, push] = [&columns.fx, &columns.fy, &columns.m, &columns.push].map(some);
            ReactionRange { fx, fy, m, push, size: Peak::default() }
        })
        .collect();
    let bending = |id| bends(structure, id).then(BendingRange::default);
    let range = |id| MemberRange { axial: Range::default(), bending: bending(id) };
    let mut members: Vec<MemberRange> = structure.members.ids().map(range).collect();
    for heading in influence.headings() {
        for piece in influence.pieces(*heading, None) {
            for (range, columns) in reactions.iter_mut().zip(&influence.columns.supports) {
                let parts = [
                    (&mut range.fx, &columns.fx),
                    (&mut range.fy, &columns.fy),
                    (&mut range.m, &columns.m),
                    (&mut range.push, &columns.push),
                ];
                for (range, sum) in parts {
                    if let (Some(range), Some(sum)) = (range, sum) {
                        range.watch(&influence.sum(&piece, sum), &piece, [0.0; 2]);
                    }
                }
                let curve = |sum: &Option<Sum>| sum.as_ref().map_or([0.0; 4], |sum| influence.sum(&piece, sum));
                watch_size(&mut range.size, curve(&columns.fx), curve(&columns.fy), &piece);
            }
            for (member, range) in structure.members.ids().zip(&mut members) {
                watch_member(range, &Along::of(structure, influence, &piece, member), &piece);
            }
        }
    }
    (reactions, members)
}

/// The range of one force.
pub(super) fn range(structure: &Structure, influence: &Influence, probe: Probe) -> Range {
    let mut range = Range::default();
    let place = match probe {
        Probe::Section(member, at, _) => Some((member, at)),
        Probe::Reaction(..) => None,
    };
    for heading in influence.headings() {
        for piece in influence.pieces(*heading, place) {
            match probe {
                Probe::Reaction(support, [x, y]) => {
                    let columns = &influence.columns.supports[support];
                    let length = x.hypot(y);
                    let mut along = [0.0; 4];
                    for (sum, factor) in [(&columns.fx, x / length), (&columns.fy, y / length)] {
                        let part = sum.as_ref().map_or([0.0; 4], |sum| influence.sum(&piece, sum));
                        along.iter_mut().zip(part).for_each(|(total, part)| *total += factor * part);
                    }
                    range.watch(&along, &piece, [0.0; 2]);
                }
                Probe::Section(member, at, quantity) => {
                    let along = Along::of(structure, influence, &piece, member);
                    range.watch(&along.section(at, &piece, quantity), &piece, [at, 0.0]);
                }
            }
        }
    }
    range
}

/// The forces along one member while the train goes along one piece.
struct Along<'a> {
    length: f64,
    /// The loads on it, by place.
    loads: &'a [Standing],
    /// At the very start.
    axial: Cubic,
    shear: Cubic,
    moments: [Cubic; 2],
}

impl<'a> Along<'a> {
    fn of(structure: &Structure, influence: &Influence, piece: &'a Piece, member: MemberId) -> Along<'a> {
        let first = piece.standing.partition_point(|load| load.member < member);
        let last = piece.standing.partition_point(|load| load.member <= member);
        let loads = piece.standing.get(first..last).unwrap_or(&[]);
        let columns = influence.columns.members[member];
        let moments = columns.moments.map(|column| column.map_or([0.0; 4], |column| influence.column(piece, column)));
        let length = structure.member_length(member);
        let mut axial = influence.column(piece, columns.axial);
        let [start, end] = moments;
        let mut shear = [0.0; 4];
        for ((shear, start), end) in shear.iter_mut().zip(start).zip(end) {
            *shear = (end - start) / length;
        }
        // What a simple span hands to its start, as in `SpanLoad::shares`.
        for load in loads {
            let [at, step] = load.at;
            axial[0] += load.along * (1.0 - at / length);
            axial[1] -= load.along * step / length;
            shear[0] -= load.across * (1.0 - at / length);
            shear[1] += load.across * step / length;
        }
        Along { length, loads, axial, shear, moments }
    }

    /// The moment at a place that is itself moving, `before` of the loads
    /// standing nearer to the start.
    fn moment(&self, [at, step]: [f64; 2], before: usize) -> [f64; 5] {
        let [start, _] = self.moments;
        let mut moment = [start[0], start[1], start[2], start[3], 0.0];
        for (power, shear) in self.shear.iter().enumerate() {
            if let Some([low, high]) = moment.get_mut(power..power + 2).and_then(|pair| pair.first_chunk_mut::<2>()) {
                *low += shear * at;
                *high += shear * step;
            }
        }
        for load in self.loads.iter().take(before) {
            let [from, slope] = load.at;
            moment[0] += load.across * (at - from);
            moment[1] += load.across * (step - slope);
        }
        moment
    }

    /// A force at a fixed place, with no load passing it on the piece.
    fn section(&self, at: f64, piece: &Piece, quantity: Quantity) -> [f64; 5] {
        let middle = piece.length / 2.0;
        let before = self.loads.iter().filter(|load| load.at[0] + load.at[1] * middle < at).count();
        let passed = self.loads.iter().take(before);
        match quantity {
            Quantity::Moment => self.moment([at, 0.0], before),
            Quantity::Shear => quartic(self.shear, passed.map(|load| load.across).sum()),
            Quantity::Axial => quartic(self.axial, passed.map(|load| -load.along).sum()),
        }
    }
}

fn quartic([a, b, c, d]: Cubic, more: f64) -> [f64; 5] {
    [a + more, b, c, d, 0.0]
}

fn watch_member(range: &mut MemberRange, along: &Along<'_>, piece: &Piece) {
    let (mut axial, mut shear) = (0.0, 0.0);
    let spaces = along.loads.len();
    for space in 0..=spaces {
        // A space between two loads is told by the load before it, the first
        // and the last by the end of the member.
        let place = match space {
            0 => [0.0; 2],
            last if last == spaces => [along.length, 0.0],
            other => along.loads.get(other - 1).map_or([0.0; 2], |load| load.at),
        };
        range.axial.watch(&quartic(along.axial, axial), piece, place);
        if let Some(bending) = &mut range.bending {
            bending.shear.watch(&quartic(along.shear, shear), piece, place);
        }
        if let Some(load) = along.loads.get(space) {
            axial -= load.along;
            shear += load.across;
            if let Some(bending) = &mut range.bending {
                bending.moment.watch(&along.moment(load.at, space), piece, load.at);
            }
        }
    }
    let Some(bending) = &mut range.bending else { return };
    let [start, end] = &along.moments;
    for (curve, place, own) in [(start, 0.0, 0), (end, along.length, 1)] {
        bending.moment.watch(curve, piece, [place, 0.0]);
        if let Some(own) = bending.ends.get_mut(own) {
            own.watch(curve, piece, [place, 0.0]);
        }
    }
}

/// The largest length of a vector whose components are given.
fn watch_size(size: &mut Peak, x: Cubic, y: Cubic, piece: &Piece) {
    let most = |curve: &Cubic| {
        let Bound { least, most } = polynomial::bound(curve, piece.length);
        least.abs().max(most.abs())
    };
    if most(&x).hypot(most(&y)) <= size.value {
        return;
    }
    let square = polynomial::sum(&polynomial::product(&x, &x), 1.0, &polynomial::product(&y, &y), 1.0);
    for t in polynomial::turning_points(&square, piece.length) {
        let value = polynomial::value(&x, t).hypot(polynomial::value(&y, t));
        // By more than rounding, so that the first of several equal positions is told.
        if value > size.value * (1.0 + ROUNDED) {
            *size = Peak { value, at: 0.0, train: Some(piece.train(t)) };
        }
    }
}

impl Piece {
    /// Where the train is after a way of `t` metres.
    fn train(&self, t: f64) -> TrainPosition {
        TrainPosition { front: self.front + t, heading: self.heading, on: self.on }
    }
}

impl Range {
    /// Widens the range to hold a force along a piece, at a place that may move.
    fn watch(&mut self, curve: &[f64], piece: &Piece, [at, step]: [f64; 2]) {
        let bound = polynomial::bound(curve, piece.length);
        let larger = |value: f64, than: f64| value > than + ROUNDED * than.abs();
        if !larger(bound.most, self.most.value) && !larger(-bound.least, -self.least.value) {
            return;
        }
        for t in polynomial::turning_points(curve, piece.length) {
            let value = polynomial::value(curve, t);
            let peak = || Peak { value, at: at + step * t, train: Some(piece.train(t)) };
            if larger(value, self.most.value) {
                self.most = peak();
            }
            if larger(-value, -self.least.value) {
                self.least = peak();
            }
        }
    }
}
