//! What acts on a structure in one case or combination, as it is drawn: forces
//! and couples on joints, loads along members, and words for the rest.
//!
//! Must not know: how it is drawn.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use crate::base::tolerances::SAME;
use crate::base::{CaseId, JointId, MemberId};
use crate::check::words;
use crate::quantity::Dimension;
use crate::statics::equilibrium::Rows;
use crate::statics::spans::{Piece, SpanLoad, actions, actions_of};
use crate::statics::{Equilibrium, Subject};
use crate::structure::{Delivery, Distributed, Imposed, Structure};
use crate::syntax::tree::Measure;

/// Loads of one case or combination, factors taken in.
#[derive(Clone, Debug, Default)]
pub struct Loads {
    /// Only joints with any.
    pub joints: Vec<JointLoad>,
    /// On members between their joints; spread loads over one stretch are one.
    pub spans: BTreeMap<MemberId, Vec<SpanLoad>>,
    /// The members whose spread loads were all stated by the length of their run, or of their rise.
    pub measures: BTreeMap<MemberId, Measure>,
    /// What cannot be drawn as an arrow: `C settles 40 mm down`.
    pub notes: Vec<String>,
}

/// What acts on one joint.
#[derive(Clone, Debug)]
pub struct JointLoad {
    pub joint: JointId,
    /// Newtons in x and y: one for each line along which forces were stated.
    pub forces: Vec<[f64; 2]>,
    /// Newton-metres, counterclockwise.
    pub couple: f64,
}

/// Forces below this share of the largest are what is left of those that cancel.
const NO_FORCE: f64 = 1e-12;
/// Up to so many loads and members, forces of different directions on a joint
/// are kept apart; beyond, each case's are added up.
const MOST_APART: usize = 400;
/// Forces of more directions than this are drawn by their components.
const MOST_DIRECTIONS: usize = 3;

impl Loads {
    pub fn of(structure: &Structure, subject: Option<Subject>) -> Loads {
        let Some(subject) = subject else { return Loads::default() };
        let factors = subject.factors(structure).into_iter().map(|(case, factor)| (case, factor.to_f64()));
        let factors: Vec<(CaseId, f64)> = factors.collect();
        if factors.is_empty() {
            return Loads::default();
        }
        let rows = Equilibrium::of(structure).rows;
        let mut on_joints: BTreeMap<JointId, JointLoad> = BTreeMap::new();
        let mut spans: BTreeMap<MemberId, Drawn> = BTreeMap::new();
        let mut notes = Vec::new();
        let measures = measures(structure, &factors);
        let loads = |case: CaseId| structure.cases[case].loads.as_slice();
        let many = factors.iter().map(|(case, _)| loads(*case).len()).sum::<usize>().max(structure.members.len());
        for (case, factor) in factors {
            let acting = actions(structure, &rows, case);
            if many > MOST_APART {
                add_direct(structure, &rows, factor, &acting.direct, &mut on_joints);
            } else {
                // Forces along different lines stay what they were stated as.
                for load in loads(case) {
                    let own = actions_of(structure, &rows, std::slice::from_ref(load));
                    add_direct(structure, &rows, factor, &own.direct, &mut on_joints);
                }
            }
            for (member, loads) in acting.spans {
                let known = spans.entry(member).or_default();
                loads.iter().for_each(|load| known.add(load.times(factor)));
            }
            notes.extend(imposed(structure, case, factor));
        }
        let mut spans: BTreeMap<MemberId, Vec<SpanLoad>> =
            spans.into_iter().map(|(member, drawn)| (member, drawn.loads)).collect();
        let largest =
            on_joints.values().flat_map(|load| &load.forces).fold(0.0_f64, |most, [x, y]| most.max(x.hypot(*y)));
        let mut joints: Vec<JointLoad> = on_joints.into_values().collect();
        for load in &mut joints {
            load.forces.retain(|[x, y]| x.hypot(*y) > NO_FORCE * largest);
            if load.forces.len() > MOST_DIRECTIONS {
                let [x, y] = load.forces.iter().fold([0.0, 0.0], |[x, y], [fx, fy]| [x + fx, y + fy]);
                load.forces = [[x, 0.0], [0.0, y]].into_iter().filter(|force| *force != [0.0; 2]).collect();
            }
        }
        joints.retain(|load| !load.forces.is_empty() || load.couple != 0.0);
        spans.retain(|_, loads| {
            loads.retain(|load| !is_nothing(load));
            !loads.is_empty()
        });
        Loads { joints, spans, measures, notes }
    }

    /// One force on each joint.
    #[must_use]
    pub fn resultants(mut self) -> Loads {
        for load in &mut self.joints {
            let [x, y] = load.forces.iter().fold([0.0, 0.0], |[x, y], [fx, fy]| [x + fx, y + fy]);
            load.forces = vec![[x, y]];
        }
        self
    }

    /// Where loads on members act, begin and end, metres.
    pub fn places(&self, structure: &Structure) -> Vec<[f64; 2]> {
        let mut places = Vec::new();
        for (member, on_it) in &self.spans {
            let mut add = |at: f64| places.push(structure.point_on(*member, at));
            for load in on_it {
                match *load {
                    SpanLoad::Spread { from, to, .. } => [from, to].into_iter().for_each(&mut add),
                    SpanLoad::Point { at, .. } | SpanLoad::Couple { at, .. } => add(at),
                }
            }
        }
        places
    }

    /// How much of a spread load: as it was stated, `3.6 kN/m per run`, or by the
    /// length of the member, which is said where it could be taken for its run.
    /// `force` is in newtons a metre of the member, x and y up.
    pub fn line_load(&self, structure: &Structure, member: MemberId, force: [f64; 2]) -> String {
        let size = force[0].hypot(force[1]);
        let [dx, dy] = structure.member_vector(member);
        let length = dx.hypot(dy);
        let (run, rise) = (dx.abs() / length, dy.abs() / length);
        let (share, said) = match self.measures.get(&member) {
            _ if run.min(rise) < SAME => (1.0, ""),
            Some(Measure::PerRun) => (run, " per run"),
            Some(Measure::PerRise) => (rise, " per rise"),
            // What acts square to a member, or along it, is per length of it.
            None if (force[0] * dx + force[1] * dy).abs().min((force[0] * dy - force[1] * dx).abs())
                <= SAME * size * length =>
            {
                (1.0, "")
            }
            None => (1.0, " per length"),
        };
        format!("{}{said}", quantity(structure, size / share, Dimension::LINE_LOAD))
    }

    pub fn is_empty(&self) -> bool {
        self.joints.is_empty() && self.spans.is_empty()
    }
}

/// Adds what acts on joints.
fn add_direct(
    structure: &Structure,
    rows: &Rows,
    factor: f64,
    direct: &[f64],
    on_joints: &mut BTreeMap<JointId, JointLoad>,
) {
    for joint in (0..structure.joints.len()).map(JointId::new) {
        let part = |row: u32| direct.get(row as usize).copied().unwrap_or(0.0) * factor;
        let row = rows.force(joint);
        let (force, couple) = ([part(row), part(row + 1)], rows.moment(joint).map_or(0.0, part));
        if force != [0.0; 2] || couple != 0.0 {
            let load = on_joints.entry(joint).or_insert(JointLoad { joint, forces: Vec::new(), couple: 0.0 });
            load.couple += couple;
            add_force(&mut load.forces, force);
        }
    }
}

/// Forces along one line add up; others stand beside each other.
fn add_force(forces: &mut Vec<[f64; 2]>, [x, y]: [f64; 2]) {
    if x == 0.0 && y == 0.0 {
        return;
    }
    let parallel = |[a, b]: &[f64; 2]| (a * y - b * x).abs() <= SAME * a.hypot(*b) * x.hypot(y);
    match forces.iter_mut().find(|force| parallel(force)) {
        Some([a, b]) => (*a, *b) = (*a + x, *b + y),
        None => forces.push([x, y]),
    }
    forces.retain(|force| *force != [0.0; 2]);
}

/// By which length the loads on members were stated, where it was one for all of a member's.
fn measures(structure: &Structure, factors: &[(CaseId, f64)]) -> BTreeMap<MemberId, Measure> {
    let mut stated: BTreeMap<MemberId, Option<Measure>> = BTreeMap::new();
    let acting = factors.iter().filter(|(_, factor)| *factor != 0.0);
    for piece in acting.flat_map(|(case, _)| Piece::all(structure, *case)) {
        if let Piece::Spread(Distributed { member, measure, delivery: Delivery::AlongMember, .. }) = piece {
            stated
                .entry(member)
                .and_modify(|known| *known = known.filter(|known| measure == Some(*known)))
                .or_insert(measure);
        }
    }
    stated.into_iter().filter_map(|(member, measure)| Some((member, measure?))).collect()
}

fn is_nothing(load: &SpanLoad) -> bool {
    match *load {
        SpanLoad::Spread { along, across, .. } => along == [0.0; 2] && across == [0.0; 2],
        SpanLoad::Point { along, across, .. } => along == 0.0 && across == 0.0,
        SpanLoad::Couple { moment, .. } => moment == 0.0,
    }
}

/// Loads on one member as they are drawn, each with what is drawn where it is.
#[derive(Default)]
struct Drawn {
    loads: Vec<SpanLoad>,
    /// By the place where they begin, in steps of [`ONE_PLACE`] metres.
    beginning: FxHashMap<i64, Vec<usize>>,
}

/// Loads this near each other on a member, metres, act at one place.
const ONE_PLACE: f64 = 1e-6;

impl Drawn {
    /// Spread loads over one stretch, and forces at one place, are one to the
    /// eye if they act along one line.
    fn add(&mut self, new: SpanLoad) {
        let at = match new {
            SpanLoad::Spread { from, .. } => from,
            SpanLoad::Point { at, .. } | SpanLoad::Couple { at, .. } => at,
        };
        #[allow(clippy::cast_possible_truncation)]
        let step = (at / ONE_PLACE).round() as i64;
        for near in [step - 1, step, step + 1] {
            for index in self.beginning.get(&near).into_iter().flatten() {
                if self.loads.get_mut(*index).is_some_and(|old| join(old, new)) {
                    return;
                }
            }
        }
        self.beginning.entry(step).or_default().push(self.loads.len());
        self.loads.push(new);
    }
}

/// Adds a load to another if they are one to the eye, and says whether they are.
fn join(old: &mut SpanLoad, new: SpanLoad) -> bool {
    let plus = |[a, b]: [f64; 2], [c, d]: [f64; 2]| [a + c, b + d];
    let near = |a: f64, b: f64| (a - b).abs() <= SAME * (1.0 + a.abs());
    match (old, new) {
        (
            SpanLoad::Spread { from, to, along, across },
            SpanLoad::Spread { from: new_from, to: new_to, along: new_along, across: new_across },
        ) if near(*from, new_from) && near(*to, new_to) && one_line(*along, *across, new_along, new_across) => {
            (*along, *across) = (plus(*along, new_along), plus(*across, new_across));
            true
        }
        (
            SpanLoad::Point { at, along, across },
            SpanLoad::Point { at: new_at, along: new_along, across: new_across },
        ) if near(*at, new_at) && one_line([*along; 2], [*across; 2], [new_along; 2], [new_across; 2]) => {
            (*along, *across) = (*along + new_along, *across + new_across);
            true
        }
        _ => false,
    }
}

/// Whether all four vectors, given along and across, are parallel.
fn one_line(along: [f64; 2], across: [f64; 2], other_along: [f64; 2], other_across: [f64; 2]) -> bool {
    let all = [
        [along[0], across[0]],
        [along[1], across[1]],
        [other_along[0], other_across[0]],
        [other_along[1], other_across[1]],
    ];
    let Some([x, y]) = all.iter().copied().max_by(|[a, b], [c, d]| a.hypot(*b).total_cmp(&c.hypot(*d))) else {
        return true;
    };
    all.iter().all(|[a, b]| (a * y - b * x).abs() <= SAME * (x * x + y * y))
}

/// Settlements, heat and misfits in words.
fn imposed(structure: &Structure, case: CaseId, factor: f64) -> Vec<String> {
    let said = Piece::imposed(structure, case).filter_map(|piece| match piece {
        Piece::Settles { joint, by: Imposed::Move(by) } => {
            let by = by.map(|part| part * factor);
            let size = movement(structure, by[0].hypot(by[1]));
            Some(format!("{} settles {size} {}", structure.joint_name(joint), words::way(structure, by)))
        }
        Piece::Settles { joint, by: Imposed::Turn(by) } => {
            let by = by * factor;
            let sense = if by > 0.0 { "counterclockwise" } else { "clockwise" };
            Some(format!("{} turns {} rad {sense}", structure.joint_name(joint), structure.figures.given(by.abs())))
        }
        Piece::Longer { member, rise: Some(rise), .. } => {
            let rise = rise * factor;
            let way = if rise < 0.0 { "cooler" } else { "warmer" };
            Some(format!("{} {} K {way}", structure.member_name(member), structure.figures.given(rise.abs())))
        }
        Piece::Longer { member, by, rise: None } => {
            let by = by * factor;
            let way = if by < 0.0 { "short" } else { "long" };
            Some(format!("{} {} {way}", structure.member_name(member), movement(structure, by.abs())))
        }
        Piece::Force(..) | Piece::Couple(..) | Piece::Spread(_) => None,
    });
    said.collect()
}

/// `5 kN`, `2.4 kN/m`, `1.8 kN·m`: sizes of loads, in the file's units.
pub fn quantity(structure: &Structure, si: f64, dimension: Dimension) -> String {
    words::units(structure).display_unit(dimension).show_given(si.abs(), structure.figures)
}

/// `40 mm`: a given movement in the file's unit of deflection.
pub fn movement(structure: &Structure, metres: f64) -> String {
    words::units(structure).deflection.show_given(metres, structure.figures)
}
