//! What acts on a structure in one case or combination, as it is drawn: forces
//! and couples on joints, loads along members, and words for the rest.
//!
//! Must not know: how it is drawn.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use crate::base::tolerances::{ROUNDED, SAME};
use crate::base::{CaseId, JointId, MemberId};
use crate::check::words;
use crate::quantity::Dimension;
use crate::statics::equilibrium::Rows;
use crate::statics::spans::{Piece, SpanLoad, actions, actions_of, global};
use crate::statics::{Equilibrium, Subject};
use crate::structure::{Delivery, Distributed, Imposed, Structure};
use crate::syntax::tree::Measure;

use super::plane::{along, size};

/// Loads of one case or combination, factors taken in.
#[derive(Clone, Debug, Default)]
pub struct Loads {
    /// Only joints with any.
    pub joints: Vec<JointLoad>,
    /// On members between their joints; spread loads over one stretch are one.
    pub members: Vec<(MemberId, MemberLoad)>,
    /// The members whose spread loads were all stated by the length of their run, or of their rise.
    measures: BTreeMap<MemberId, Measure>,
    /// What cannot be drawn as an arrow: `C settles 40 mm down`.
    pub notes: Vec<String>,
}

/// What acts on a member: places in metres from its first-named joint, forces
/// in newtons, or newtons a metre, x and y up.
#[derive(Clone, Copy, Debug)]
pub enum MemberLoad {
    Force {
        at: f64,
        force: [f64; 2],
    },
    /// Newton-metres, counterclockwise.
    Couple {
        at: f64,
        moment: f64,
    },
    /// Linear between its ends.
    Spread {
        from: f64,
        to: f64,
        ends: [[f64; 2]; 2],
    },
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
        let rows = Equilibrium::of(structure).rows;
        let mut on_joints: BTreeMap<JointId, JointLoad> = BTreeMap::new();
        let mut on_members: BTreeMap<MemberId, Drawn> = BTreeMap::new();
        let mut found = Loads { measures: measures(structure, &factors), ..Loads::default() };
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
                let known = on_members.entry(member).or_default();
                loads.iter().for_each(|load| known.add(MemberLoad::of(structure, member, load.times(factor))));
            }
            found.notes.extend(imposed(structure, case, factor));
        }
        found.joints = on_joints.into_values().collect();
        let largest =
            found.joints.iter().flat_map(|load| &load.forces).fold(0.0_f64, |most, force| most.max(size(*force)));
        for load in &mut found.joints {
            // What is left of forces that cancel.
            load.forces.retain(|force| size(*force) > ROUNDED * largest);
            if load.forces.len() > MOST_DIRECTIONS {
                let [x, y] = load.resultant();
                load.forces = [[x, 0.0], [0.0, y]].into_iter().filter(|force| *force != [0.0; 2]).collect();
            }
        }
        found.joints.retain(|load| !load.forces.is_empty() || load.couple != 0.0);
        let on_members =
            on_members.into_iter().flat_map(|(member, on)| on.loads.into_iter().map(move |on| (member, on)));
        found.members = on_members.filter(|(_, load)| !load.is_nothing()).collect();
        found
    }

    /// One force on each joint.
    #[must_use]
    pub fn resultants(mut self) -> Loads {
        self.joints.iter_mut().for_each(|load| load.forces = vec![load.resultant()]);
        self
    }

    /// The largest single force, newtons.
    pub fn largest_force(&self) -> f64 {
        let on_members = self.members.iter().filter_map(|(_, load)| match load {
            MemberLoad::Force { force, .. } => Some(force),
            MemberLoad::Couple { .. } | MemberLoad::Spread { .. } => None,
        });
        let all = self.joints.iter().flat_map(|load| &load.forces).chain(on_members);
        all.fold(0.0, |most, force| most.max(size(*force)))
    }

    /// Where loads on members act, begin and end, metres.
    pub fn places(&self, structure: &Structure) -> Vec<[f64; 2]> {
        let places = self.members.iter().flat_map(|(member, load)| {
            let [from, to] = match *load {
                MemberLoad::Spread { from, to, .. } => [Some(from), Some(to)],
                MemberLoad::Force { at, .. } | MemberLoad::Couple { at, .. } => [Some(at), None],
            };
            [from, to].into_iter().flatten().map(|at| structure.point_on(*member, at))
        });
        places.collect()
    }

    /// How much of a spread load: as it was stated, `3.6 kN/m per run`, or by the
    /// length of the member, which is said where it could be taken for its run.
    /// `force` is in newtons a metre of the member, x and y up.
    pub fn line_load(&self, structure: &Structure, member: MemberId, force: [f64; 2]) -> String {
        let size = size(force);
        let [dx, dy] = structure.member_vector(member);
        let length = dx.hypot(dy);
        let (run, rise) = (dx.abs() / length, dy.abs() / length);
        let (share, said) = match self.measures.get(&member) {
            _ if run.min(rise) < SAME => (1.0, ""),
            Some(Measure::PerRun) => (run, " per run"),
            Some(Measure::PerRise) => (rise, " per rise"),
            // What acts perpendicular to a member, or along it, is per length of it.
            None if (force[0] * dx + force[1] * dy).abs().min((force[0] * dy - force[1] * dx).abs())
                <= SAME * size * length =>
            {
                (1.0, "")
            }
            None => (1.0, " per length"),
        };
        format!("{}{said}", quantity(structure, size / share, Dimension::LINE_LOAD))
    }
}

impl JointLoad {
    fn resultant(&self) -> [f64; 2] {
        self.forces.iter().fold([0.0; 2], |sum, force| along(sum, *force, 1.0))
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

/// Loads on one member as they are drawn, each with what is drawn where it is.
#[derive(Default)]
struct Drawn {
    loads: Vec<MemberLoad>,
    /// By the place where they begin, in steps of [`ONE_PLACE`] metres.
    beginning: FxHashMap<i64, Vec<usize>>,
}

/// Loads this near each other on a member, metres, act at one place.
const ONE_PLACE: f64 = 1e-6;

impl Drawn {
    /// Spread loads over one stretch, and forces at one place, are one to the
    /// eye if they act along one line.
    fn add(&mut self, new: MemberLoad) {
        let (MemberLoad::Spread { from: at, .. } | MemberLoad::Force { at, .. } | MemberLoad::Couple { at, .. }) = new;
        #[allow(clippy::cast_possible_truncation)]
        let step = (at / ONE_PLACE).round() as i64;
        for near in [step - 1, step, step + 1] {
            for index in self.beginning.get(&near).into_iter().flatten() {
                if self.loads.get_mut(*index).is_some_and(|old| old.join(new)) {
                    return;
                }
            }
        }
        self.beginning.entry(step).or_default().push(self.loads.len());
        self.loads.push(new);
    }
}

impl MemberLoad {
    fn of(structure: &Structure, member: MemberId, load: SpanLoad) -> MemberLoad {
        let global = |along, across| global(structure, member, [along, across]);
        match load {
            SpanLoad::Point { at, along, across } => MemberLoad::Force { at, force: global(along, across) },
            SpanLoad::Couple { at, moment } => MemberLoad::Couple { at, moment },
            SpanLoad::Spread { from, to, along: [a, b], across: [c, d] } => {
                MemberLoad::Spread { from, to, ends: [global(a, c), global(b, d)] }
            }
        }
    }

    fn is_nothing(&self) -> bool {
        match *self {
            MemberLoad::Force { force, .. } => force == [0.0; 2],
            MemberLoad::Couple { moment, .. } => moment == 0.0,
            MemberLoad::Spread { ends, .. } => ends == [[0.0; 2]; 2],
        }
    }

    /// Adds a load to another if they are one to the eye, and says whether they are.
    fn join(&mut self, new: MemberLoad) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= SAME * (1.0 + a.abs());
        match (self, new) {
            (MemberLoad::Spread { from, to, ends: [a, b] }, MemberLoad::Spread { from: f, to: t, ends: [c, d] })
                if near(*from, f) && near(*to, t) && are_parallel(&[*a, *b, c, d]) =>
            {
                (*a, *b) = (along(*a, c, 1.0), along(*b, d, 1.0));
                true
            }
            (MemberLoad::Force { at, force }, MemberLoad::Force { at: place, force: more })
                if near(*at, place) && are_parallel(&[*force, more]) =>
            {
                *force = along(*force, more, 1.0);
                true
            }
            _ => false,
        }
    }
}

fn are_parallel(forces: &[[f64; 2]]) -> bool {
    let largest = forces.iter().copied().max_by(|a, b| size(*a).total_cmp(&size(*b)));
    let [x, y] = largest.unwrap_or_default();
    forces.iter().all(|[a, b]| (a * y - b * x).abs() <= SAME * (x * x + y * y))
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
            Some(format!("{} rotates {} rad {sense}", structure.joint_name(joint), structure.figures.given(by.abs())))
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
