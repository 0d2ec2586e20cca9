//! The answers to unit loads along a train's path, and every force as a
//! polynomial of the train's position from them.
//!
//! Must not know: which positions matter.

use std::collections::BTreeMap;

use crate::base::tolerances::ROUNDED;
use crate::base::{JointId, MemberId, SupportId, TravelId};
use crate::numeric::NumericError;
use crate::structure::{Passage, Structure};

use super::super::equations::{Asked, Equations};
use super::super::equilibrium::Equilibrium;
use super::super::results::{Columns, Reaction, Sum};
use super::super::spans::{self, SpanLoad};
use super::super::{flexibility, polynomial};
use super::{Heading, MOST_NUMBERS, MOST_STEPS, Spent, TooLong, TrainPosition};

/// Coefficients of powers of the way the train has gone since a stretch began.
pub(super) type Cubic = [f64; 4];

/// A member of the path.
#[derive(Clone, Debug)]
struct Visit {
    member: MemberId,
    passage: Passage,
    /// Where it begins, metres along the path.
    from: f64,
    length: f64,
    /// The unit vector along the member as it is named.
    axis: [f64; 2],
    /// Answers to a unit load along x and y at the member's two joints.
    ends: [[Option<usize>; 2]; 2],
    /// Answers to a unit turn of the member's two ends against the chord.
    turns: [Option<usize>; 2],
    /// 1/EI, zero where it is rigid or has no influence.
    bending: f64,
}

/// All it takes to give every force for any position of one train.
#[derive(Clone, Debug)]
pub struct Influence {
    visits: Vec<Visit>,
    /// The path's length, metres.
    whole: f64,
    /// Newtons.
    loads: Vec<[f64; 2]>,
    /// Metres behind the leading load.
    behind: Vec<f64>,
    /// One for each unit action: all unknowns.
    responses: Vec<Vec<f64>>,
    pub(super) columns: Columns,
}

/// A load on the path while no load passes a joint.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    pub member: MemberId,
    /// Metres from the member's first-named joint: at the start of the
    /// stretch, and for each metre the train goes.
    pub at: [f64; 2],
    pub along: f64,
    pub across: f64,
}

/// Positions of the train between two breakpoints.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub heading: Heading,
    /// The leading load at the start, metres along the path.
    pub front: f64,
    pub length: f64,
    pub on: [usize; 2],
    /// By member, then by place along it.
    pub standing: Vec<Standing>,
    /// How much of each unit action there is.
    weights: Vec<(usize, Cubic)>,
}

impl Influence {
    pub(super) fn of(
        structure: &Structure,
        equilibrium: &Equilibrium,
        equations: &Equations,
        id: TravelId,
        spent: &mut Spent,
    ) -> Result<Result<Influence, TooLong>, NumericError> {
        let travel = &structure.travels[id];
        let loads: Vec<[f64; 2]> = travel.loads.iter().map(|[x, y]| [x.to_f64(), y.to_f64()]).collect();
        let mut behind = vec![0.0];
        let mut passed = 0.0;
        for spacing in &travel.spacings {
            passed += spacing.to_f64();
            behind.push(passed);
        }
        let size = Size { members: travel.path.len(), loads: loads.len(), unknowns: equilibrium.unknowns.len() };
        let (numbers, steps) = size.takes(equations.is_redundant());
        for (size, before, limit) in [(numbers, spent.numbers, MOST_NUMBERS), (steps, spent.steps, MOST_STEPS)] {
            if size.saturating_add(before) > limit {
                return Ok(Err(TooLong { travel: id, size, before, limit }));
            }
        }
        spent.numbers += numbers;
        spent.steps += steps;
        let columns = Columns::of(structure, equilibrium);
        let mut asked: Vec<Asked> = Vec::new();
        let mut rows: BTreeMap<u32, usize> = BTreeMap::new();
        let mut ask = |what: Asked| {
            asked.push(what);
            asked.len() - 1
        };
        let mut joint_loads = |joint: JointId| {
            let row = equilibrium.rows.force(joint);
            [0, 1].map(|axis: usize| {
                let used = loads.iter().any(|load| load.get(axis).is_some_and(|part| *part != 0.0));
                let row = if axis == 0 { row } else { row + 1 };
                used.then(|| *rows.entry(row).or_insert_with(|| ask(Asked::Load(row))))
            })
        };
        let mut visits = Vec::with_capacity(travel.path.len());
        let mut whole = 0.0;
        for (member, passage) in &travel.path {
            let at = &structure.members[*member];
            let ends = [joint_loads(at.start), joint_loads(at.end)];
            let length = structure.member_length(*member);
            visits.push(Visit {
                member: *member,
                passage: *passage,
                from: whole,
                length,
                axis: spans::axis(structure, *member),
                ends,
                turns: [None; 2],
                bending: flexibility::bending(structure, *member).known().unwrap_or(0.0),
            });
            whole += length;
        }
        for visit in visits.iter_mut().filter(|visit| equations.is_redundant() && visit.bending != 0.0) {
            visit.turns = columns.members[visit.member].moments.map(|column| {
                column.map(|column| {
                    asked.push(Asked::Deformation(u32::try_from(column).unwrap_or(u32::MAX)));
                    asked.len() - 1
                })
            });
        }
        let responses = equations.answers(&asked)?;
        Ok(Ok(Influence { visits, whole, loads, behind, responses, columns }))
    }

    pub(super) fn loads(&self) -> &[[f64; 2]] {
        &self.loads
    }

    /// Which ways the train is driven: a train that is its own mirror image
    /// causes the same either way.
    pub(super) fn headings(&self) -> &'static [Heading] {
        let last = self.behind.last().copied().unwrap_or(0.0);
        let mirrored = self.loads.iter().eq(self.loads.iter().rev())
            && self.behind.iter().zip(self.behind.iter().rev()).all(|(a, b)| (a + b - last).abs() <= ROUNDED * last);
        if mirrored { &[Heading::Onward] } else { &[Heading::Onward, Heading::Back] }
    }

    /// A load's place against the leading one's, metres along the path.
    fn offset(&self, load: usize, heading: Heading) -> f64 {
        let behind = self.behind.get(load).copied().unwrap_or(0.0);
        if heading == Heading::Onward { -behind } else { behind }
    }

    /// The stretches of the train's way between breakpoints: some load at a
    /// joint of the path, or at one of `places` (a member and metres from its
    /// first-named joint).
    pub(super) fn pieces(&self, heading: Heading, place: Option<(MemberId, f64)>) -> impl Iterator<Item = Piece> {
        let mut nodes: Vec<f64> = self.visits.iter().map(|visit| visit.from).chain([self.whole]).collect();
        if let Some((member, at)) = place
            && let Some(visit) = self.visits.iter().find(|visit| visit.member == member)
        {
            nodes.push(visit.from + if visit.passage == Passage::Forward { at } else { visit.length - at });
        }
        let mut breaks: Vec<f64> = (0..self.loads.len())
            .flat_map(|load| {
                let offset = self.offset(load, heading);
                nodes.iter().map(move |node| node - offset).collect::<Vec<_>>()
            })
            .collect();
        breaks.sort_by(f64::total_cmp);
        // Two breakpoints may be one place and differ by the last bit.
        let near = ROUNDED * (self.whole + self.behind.last().copied().unwrap_or(0.0));
        breaks.dedup_by(|a, b| *a - *b <= near);
        let pairs: Vec<[f64; 2]> = breaks.windows(2).filter_map(|pair| pair.first_chunk::<2>().copied()).collect();
        pairs.into_iter().filter_map(move |[from, to]| self.piece(heading, from, to))
    }

    /// The positions from one of the leading load to another; `None` where no
    /// load stands on the path.
    fn piece(&self, heading: Heading, front: f64, to: f64) -> Option<Piece> {
        let middle = front + (to - front) / 2.0;
        let mut on: Option<[usize; 2]> = None;
        let mut standing = Vec::new();
        let mut weights = Vec::new();
        for load in 0..self.loads.len() {
            let offset = self.offset(load, heading);
            let place = middle + offset;
            if place <= 0.0 || place >= self.whole {
                continue;
            }
            on = Some([on.map_or(load, |[first, _]| first), load]);
            self.stand(load, front + offset, place, &mut standing, &mut weights);
        }
        Some(Piece { heading, front, length: to - front, on: on?, standing: sorted(standing), weights: added(weights) })
    }

    /// A load that stands at `place` of the path, from where it was at the
    /// start of the piece.
    fn stand(
        &self,
        load: usize,
        start: f64,
        place: f64,
        standing: &mut Vec<Standing>,
        weights: &mut Vec<(usize, Cubic)>,
    ) {
        let index = self.visits.partition_point(|visit| visit.from <= place).saturating_sub(1);
        let (Some(visit), Some(force)) = (self.visits.get(index), self.loads.get(load)) else { return };
        let local = (start - visit.from).clamp(0.0, visit.length);
        let at = match visit.passage {
            Passage::Forward => [local, 1.0],
            Passage::Backward => [visit.length - local, -1.0],
        };
        let ([x, y], [c, s]) = (*force, visit.axis);
        let load = Standing { member: visit.member, at, along: x * c + y * s, across: y * c - x * s };
        visit.weigh(*force, &load, weights);
        standing.push(load);
    }

    /// The loads of a train at one position as loads on members, with the
    /// weights of the unit actions.
    pub(super) fn stopped(&self, train: TrainPosition) -> (Vec<(MemberId, SpanLoad)>, Piece) {
        let mut standing = Vec::new();
        let mut weights = Vec::new();
        let [first, last] = train.on;
        for load in first..=last.min(self.loads.len().saturating_sub(1)) {
            let place = (train.front + self.offset(load, train.heading)).clamp(0.0, self.whole);
            self.stand(load, place, place, &mut standing, &mut weights);
        }
        let loads = standing
            .iter()
            .map(|load| {
                let [at, _] = load.at;
                (load.member, SpanLoad::Point { at, along: load.along, across: load.across })
            })
            .collect();
        let piece = Piece {
            heading: train.heading,
            front: train.front,
            length: 0.0,
            on: train.on,
            standing: sorted(standing),
            weights: added(weights),
        };
        (loads, piece)
    }

    /// All unknowns at the start of a piece.
    pub(super) fn unknowns(&self, piece: &Piece) -> Vec<f64> {
        let mut sum = vec![0.0; self.responses.first().map_or(0, Vec::len)];
        for (action, [weight, ..]) in &piece.weights {
            let Some(response) = self.responses.get(*action) else { continue };
            for (total, part) in sum.iter_mut().zip(response) {
                *total += weight * part;
            }
        }
        sum
    }

    /// One unknown along a piece.
    pub(super) fn column(&self, piece: &Piece, column: usize) -> Cubic {
        let mut sum = [0.0; 4];
        for (action, weight) in &piece.weights {
            let part = self.responses.get(*action).and_then(|response| response.get(column)).copied().unwrap_or(0.0);
            if part != 0.0 {
                sum.iter_mut().zip(weight).for_each(|(total, weight)| *total += part * weight);
            }
        }
        sum
    }

    /// A sum of unknowns along a piece.
    pub(super) fn sum(&self, piece: &Piece, of: &[(usize, f64)]) -> Cubic {
        let mut sum = [0.0; 4];
        for (column, factor) in of {
            let part = self.column(piece, *column);
            sum.iter_mut().zip(part).for_each(|(total, part)| *total += factor * part);
        }
        sum
    }

    pub(super) fn reaction(&self, support: SupportId, train: TrainPosition) -> Reaction {
        let (_, piece) = self.stopped(train);
        let columns = &self.columns.supports[support];
        let value = |sum: &Option<Sum>| sum.as_ref().map(|sum| self.sum(&piece, sum)[0]);
        Reaction { fx: value(&columns.fx), fy: value(&columns.fy), m: value(&columns.m) }
    }
}

impl Visit {
    /// How much of each unit action a load on the member makes, as it moves.
    fn weigh(&self, force: [f64; 2], load: &Standing, weights: &mut Vec<(usize, Cubic)>) {
        let [at, step] = load.at;
        let end = [at / self.length, step / self.length];
        let shares = [[1.0 - end[0], -end[1]], end];
        for (axes, [share, slope]) in self.ends.iter().zip(shares) {
            for (action, part) in axes.iter().zip(force) {
                if let Some(action) = action {
                    weights.push((*action, [part * share, part * slope, 0.0, 0.0]));
                }
            }
        }
        // The turns of a simple span's ends under a load at x, against its chord:
        // P x (L - x)(2L - x) / 6 L EI and P x (L² - x²) / 6 L EI, common practice.
        let length = self.length;
        let scale = -load.across * self.bending / (6.0 * length);
        let turns = [[0.0, 2.0 * length * length, -3.0 * length, 1.0], [0.0, length * length, 0.0, -1.0]];
        for (action, turn) in self.turns.iter().zip(turns) {
            if let Some(action) = action {
                weights.push((*action, polynomial::moved(turn.map(|part| part * scale), at, step)));
            }
        }
    }
}

fn sorted(mut standing: Vec<Standing>) -> Vec<Standing> {
    standing.sort_by(|a, b| a.member.cmp(&b.member).then(a.at[0].total_cmp(&b.at[0])));
    standing
}

/// Weights of the same action added up.
fn added(mut weights: Vec<(usize, Cubic)>) -> Vec<(usize, Cubic)> {
    weights.sort_by_key(|(action, _)| *action);
    let mut sum: Vec<(usize, Cubic)> = Vec::with_capacity(weights.len());
    for (action, part) in weights {
        match sum.last_mut() {
            Some((last, total)) if *last == action => {
                total.iter_mut().zip(part).for_each(|(total, part)| *total += part);
            }
            _ => sum.push((action, part)),
        }
    }
    sum
}

/// What following a train would take.
struct Size {
    members: usize,
    loads: usize,
    unknowns: usize,
}

impl Size {
    /// The numbers kept, and the steps.
    fn takes(&self, is_redundant: bool) -> (u128, u128) {
        let (members, loads) = (self.members as u128, self.loads as u128);
        let unknowns = self.unknowns as u128;
        let actions = 2 * (members + 1) + if is_redundant { 2 * members } else { 0 };
        let pieces = 2 * loads * (members + 1);
        let active = actions.min(6 * loads);
        // Of each load on a member the moment is that of all before it.
        (actions * unknowns, pieces * (loads * loads + active * unknowns))
    }
}
