//! Slips in one load.
//!
//! Must not know: words for people.

use std::collections::BTreeMap;

use crate::base::{CaseId, MemberId, Origin};
use crate::quantity::Number;
use crate::statics::spans::SpanLoad;
use crate::statics::{Adjoint, External, Influence, ResultPart, Subject, Wanted};
use crate::structure::{LoadKind, LoadPoint, StatedAngle, Structure};

use super::Candidate;
use super::kinds::{Axis, LoadSlip, Slip};
use super::spread::{is_triangle, resultant, spread};
use super::trial::{Change, Trial};

/// Among so many forces two are tried with each other's sizes.
const MOST_EXCHANGED: usize = 6;

/// What one statement says, or one turn of a loop.
#[derive(Clone, Debug)]
pub struct Group<'a> {
    pub origin: Origin,
    /// Its case, and of a loop the joint or member of its turn.
    pub turn: (CaseId, Option<u32>),
    /// The angle it is stated at.
    pub stated: Option<StatedAngle>,
    /// Of its case in the combination.
    pub factor: f64,
    pub loads: Vec<&'a LoadKind>,
}

/// The loads of a case or combination by statement, in the order of the file,
/// and the turns of a loop one by one as well where that makes no more than
/// `most_groups`; none where there are more than `most_loads` loads.
pub fn groups(structure: &Structure, subject: Subject, most_groups: usize, most_loads: usize) -> Vec<Group<'_>> {
    let factors = subject.factors(structure);
    let cases = factors.iter().map(|(id, factor)| (*id, factor.to_f64(), &structure.cases[*id]));
    if cases.clone().map(|(.., case)| case.loads.len()).sum::<usize>() > most_loads {
        return Vec::new();
    }
    let mut statements: BTreeMap<(Origin, CaseId), Group> = BTreeMap::new();
    let mut turns: BTreeMap<(Origin, CaseId, u32), Group> = BTreeMap::new();
    for (id, factor, case) in cases {
        for load in &case.loads {
            let stated = structure.stated_angles.get(&load.origin).copied();
            let group = |own| Group { origin: load.origin, turn: (id, own), stated, factor, loads: Vec::new() };
            statements.entry((load.origin, id)).or_insert_with(|| group(None)).loads.push(&load.kind);
            // A loop says the same of several joints; each is a load of its own.
            let own = match load.kind.point() {
                Some(LoadPoint::Joint(joint)) => joint.0,
                Some(LoadPoint::Along(member, _)) => member.0,
                None => continue,
            };
            turns.entry((load.origin, id, own)).or_insert_with(|| group(Some(own))).loads.push(&load.kind);
        }
    }
    let is_shared = |key: &(Origin, CaseId, u32), group: &Group| {
        statements.get(&(key.0, key.1)).is_some_and(|all| all.loads.len() > group.loads.len())
    };
    turns.retain(|key, group| is_shared(key, group));
    let mut found: Vec<Group> = statements.into_values().collect();
    if found.len() + turns.len() <= most_groups {
        found.extend(turns.into_values());
    }
    for group in &mut found {
        // Of a loop, each turn may have an angle of its own.
        let (stated, loads) = (group.stated, &group.loads);
        group.stated = stated.filter(|stated| loads.iter().all(|kind| is_at(*stated, kind)));
    }
    if found.len() > most_groups { Vec::new() } else { found }
}

/// Whether a load acts at this angle, or against it.
fn is_at(stated: StatedAngle, kind: &LoadKind) -> bool {
    let Some([x, y]) = kind.vector() else { return false };
    let [ux, uy] = along(stated, stated.radians);
    (x * uy - y * ux).abs() <= 1e-9 * x.hypot(y)
}

/// A unit vector at some angle from where the stated one is measured.
fn along(stated: StatedAngle, radians: f64) -> [f64; 2] {
    let (sin, cos) = radians.sin_cos();
    let ([fx, fy], [tx, ty]) = (stated.from, stated.towards);
    [fx * cos + tx * sin, fy * cos + ty * sin]
}

/// A load as it would be after a slip.
pub enum Altered {
    Times(f64),
    Instead(Vec<LoadKind>),
}

/// Every slip in every load.
pub fn of_loads(
    structure: &Structure,
    trial: &Trial,
    groups: &[Group],
    adjoint: &Adjoint,
    influences: &[Influence],
) -> Vec<Candidate> {
    let weigh =
        |kind: &LoadKind| -> Vec<f64> { influences.iter().map(|influence| adjoint.of_load(influence, kind)).collect() };
    let inside = |kind: &LoadKind| adjoint.on_member(kind).filter(|(member, _)| trial.is_about_inside(*member));
    let (mut found, mut owns) = (Vec::new(), Vec::new());
    for (index, group) in groups.iter().enumerate() {
        let mut own = trial.unchanged();
        own.values.iter_mut().for_each(|value| *value = 0.0);
        for kind in &group.loads {
            add(&mut own, &weigh(kind), inside(kind), group.factor);
        }
        for (slip, altered) in variants(structure, trial, group) {
            let mut change = trial.unchanged();
            let taken = match &altered {
                Altered::Times(times) => times - 1.0,
                Altered::Instead(_) => -1.0,
            };
            for (value, part) in change.values.iter_mut().zip(&own.values) {
                *value += taken * part;
            }
            change.spans.extend(own.spans.iter().map(|(member, load)| (*member, load.times(taken))));
            if let Altered::Instead(kinds) = &altered {
                for kind in kinds {
                    add(&mut change, &weigh(kind), inside(kind), group.factor);
                }
            }
            found.push(Candidate { slip: Slip::Load(slip, index), change });
        }
        owns.push(own);
    }
    found.extend(exchanged(trial, groups, &owns));
    found
}

/// The sizes of two forces of one direction exchanged; `owns` is what each of
/// the groups adds.
fn exchanged(trial: &Trial, groups: &[Group], owns: &[Change]) -> Vec<Candidate> {
    let single = |group: &Group| match group.loads.as_slice() {
        [kind] if kind.point().is_some() => kind.vector(),
        _ => None,
    };
    let forces: Vec<(usize, [f64; 2], &Change)> = groups
        .iter()
        .zip(owns)
        .enumerate()
        .filter_map(|(index, (group, own))| Some((index, single(group)?, own)))
        .collect();
    if forces.len() > MOST_EXCHANGED {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (place, (first, [ax, ay], one)) in forces.iter().enumerate() {
        for (second, [bx, by], two) in forces.iter().skip(place + 1) {
            let (a, b) = (ax.hypot(*ay), bx.hypot(*by));
            let is_one_way = (ax * by - ay * bx).abs() <= 1e-9 * a * b && ax * bx + ay * by > 0.0;
            if !is_one_way || (a - b).abs() <= 1e-9 * a {
                continue;
            }
            let mut change = trial.unchanged();
            for (own, times) in [(one, b / a - 1.0), (two, a / b - 1.0)] {
                change.values.iter_mut().zip(&own.values).for_each(|(value, part)| *value += times * part);
                change.spans.extend(own.spans.iter().map(|(member, load)| (*member, load.times(times))));
            }
            found.push(Candidate { slip: Slip::LoadsExchanged(*first, *second), change });
        }
    }
    found
}

fn add(change: &mut Change, values: &[f64], inside: Option<(MemberId, SpanLoad)>, factor: f64) {
    for (value, part) in change.values.iter_mut().zip(values) {
        *value += factor * part;
    }
    change.spans.extend(inside.map(|(member, load)| (member, load.times(factor))));
}

/// The slips that can be made with a load of this kind.
fn variants(structure: &Structure, trial: &Trial, group: &Group) -> Vec<(LoadSlip, Altered)> {
    let mut found = vec![(LoadSlip::Out, Altered::Times(0.0))];
    let is_triangle = is_triangle(group);
    let is_force = |kind: &&LoadKind| kind.vector().is_some();
    if !group.loads.iter().all(|kind| kind.is_weight()) {
        found.push((LoadSlip::Reversed, Altered::Times(-1.0)));
    }
    if group.loads.iter().all(is_force) {
        let twice = if is_triangle { LoadSlip::HalfForgotten } else { LoadSlip::Twice };
        found.push((twice, Altered::Times(2.0)));
        found.extend(turned(group));
        found.extend(spread(structure, group, |member| trial.is_about_inside(member)));
    }
    found.extend(from_other_end(structure, group).map(|kind| (LoadSlip::FromOtherEnd, Altered::Instead(vec![kind]))));
    found
}

/// Slips in resolving an inclined load.
fn turned(group: &Group) -> Vec<(LoadSlip, Altered)> {
    let Some([x, y]) = group.loads.first().and_then(|kind| kind.vector()) else { return Vec::new() };
    let size = x.hypot(y);
    let radians = group.stated.map(|stated| (stated, stated.radians.to_degrees()));
    let mut found = Vec::new();
    // A calculator set to radians takes 35° for 35 rad.
    if let Some((stated, wrong)) = radians {
        let ([rx, ry], [wx, wy]) = (along(stated, stated.radians), along(stated, wrong));
        if (rx - wx).hypot(ry - wy) > 1e-9 {
            let turned = |[x, y]: [f64; 2]| {
                let size = x * rx + y * ry;
                [wx * size, wy * size]
            };
            let kinds = group.loads.iter().map(|kind| kind.with_vectors(turned)).collect();
            found.push((LoadSlip::Radians, Altered::Instead(kinds)));
        }
    }
    if x.abs().min(y.abs()) <= 1e-9 * size {
        return found;
    }
    let (right, up) = (x.signum(), y.signum());
    let with = |slip, change: &dyn Fn([f64; 2]) -> [f64; 2]| {
        (slip, Altered::Instead(group.loads.iter().map(|kind| kind.with_vectors(change)).collect()))
    };
    found.extend([
        with(LoadSlip::Whole(Axis::Y), &|[x, y]| [0.0, up * x.hypot(y)]),
        with(LoadSlip::Whole(Axis::X), &|[x, y]| [right * x.hypot(y), 0.0]),
        with(LoadSlip::PartOut(Axis::X), &|[_, y]| [0.0, y]),
        with(LoadSlip::PartOut(Axis::Y), &|[x, _]| [x, 0.0]),
        with(LoadSlip::PartReversed(Axis::X), &|[x, y]| [-x, y]),
        with(LoadSlip::PartReversed(Axis::Y), &|[x, y]| [x, -y]),
    ]);
    if (x.abs() - y.abs()).abs() > 1e-9 * size {
        found.push(with(LoadSlip::SineCosine, &|[x, y]| [right * y.abs(), up * x.abs()]));
    }
    found
}

fn from_other_end(structure: &Structure, group: &Group) -> Option<LoadKind> {
    let [only] = group.loads.as_slice() else { return None };
    let LoadPoint::Along(member, at) = only.point()? else { return None };
    let (length, at) = (structure.member_length(*member), at.to_f64());
    let other = length - at;
    let is_elsewhere = (other - at).abs() > 1e-9 * length;
    is_elsewhere.then(|| only.moved_to(LoadPoint::Along(*member, Number::from_f64(other))))
}

/// Reactions found by moments with the straight distance from the moment
/// centre to a load in place of its arm square to the force. The sums of the
/// forces are right, so all that is wrong is a couple too much.
pub fn of_arms(structure: &Structure, trial: &Trial, groups: &[Group], external: Option<&External>) -> Vec<Candidate> {
    let Some(external) = external else { return Vec::new() };
    let per_couple: Option<Vec<f64>> = trial
        .wanted()
        .iter()
        .map(|wanted| match wanted {
            Wanted::Reaction(support, part) => {
                let (_, [x, y, turn]) = external.per_couple.iter().find(|(own, _)| own == support)?;
                Some(match part {
                    ResultPart::X => *x,
                    ResultPart::Y => *y,
                    ResultPart::Turn => *turn,
                })
            }
            _ => None,
        })
        .collect();
    let Some(per_couple) = per_couple else { return Vec::new() };
    let [ox, oy] = structure.point(external.centre);
    let mut found = Vec::new();
    for (index, group) in groups.iter().enumerate() {
        let [only] = group.loads.as_slice() else { continue };
        let Some(([x, y], [fx, fy])) = force_at(structure, only) else { continue };
        let (rx, ry) = (x - ox, y - oy);
        let moment = rx * fy - ry * fx;
        let along = rx.hypot(ry) * fx.hypot(fy);
        if moment.abs() <= 1e-9 * along || moment.abs() >= along * (1.0 - 1e-9) {
            continue;
        }
        let couple = group.factor * (along * moment.signum() - moment);
        let mut change = trial.unchanged();
        change.values.iter_mut().zip(&per_couple).for_each(|(value, each)| *value += couple * each);
        found.push(Candidate { slip: Slip::Load(LoadSlip::Arm, index), change });
    }
    found
}

/// A load's resultant and the place where it acts.
fn force_at(structure: &Structure, kind: &LoadKind) -> Option<([f64; 2], [f64; 2])> {
    if let Some(load) = kind.spread() {
        return force_at(structure, &resultant(structure, load)?);
    }
    let at = match kind.point()? {
        LoadPoint::Joint(joint) => structure.point(*joint),
        LoadPoint::Along(member, at) => structure.point_on(*member, at.to_f64()),
    };
    Some((at, kind.vector()?))
}

/// Each of two supports taken to carry half of what acts upwards and down.
pub fn of_halves(structure: &Structure, trial: &Trial, groups: &[Group], adjoint: &Adjoint) -> Option<Candidate> {
    if structure.supports.len() != 2 {
        return None;
    }
    let down: f64 = groups
        .iter()
        .map(|group| group.factor * group.loads.iter().map(|kind| adjoint.resultant(kind)[1]).sum::<f64>())
        .sum();
    let mut change = trial.unchanged();
    let mut has_part = false;
    for (value, wanted) in change.values.iter_mut().zip(trial.wanted()) {
        if matches!(wanted, Wanted::Reaction(_, ResultPart::Y)) {
            *value = -down / 2.0;
            has_part = true;
        }
    }
    has_part.then_some(Candidate { slip: Slip::Halves, change })
}
