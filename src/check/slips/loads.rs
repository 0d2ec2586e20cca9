//! Slips in one load.
//!
//! Must not know: words for people.

use std::collections::BTreeMap;

use crate::base::{CaseId, MemberId, Origin};
use crate::quantity::Number;
use crate::statics::spans::SpanLoad;
use crate::statics::{Adjoint, External, Influence, ResultPart, Subject, Wanted};
use crate::structure::{Delivery, Distributed, LoadKind, Structure};
use crate::syntax::tree::Measure;

use super::Candidate;
use super::kinds::{Axis, LoadSlip, Slip};
use super::trial::{Change, Trial};

/// What one statement says, or one turn of a loop.
#[derive(Clone, Debug)]
pub struct Group<'a> {
    pub origin: Origin,
    /// Of its case in the combination.
    pub factor: f64,
    pub loads: Vec<&'a LoadKind>,
}

/// The loads of a case or combination by statement, in the order of the file,
/// and the turns of a loop one by one as well where that makes no more than
/// `most_groups`; none where there are more than `most_loads` loads.
pub fn groups(structure: &Structure, subject: Subject, most_groups: usize, most_loads: usize) -> Vec<Group<'_>> {
    let factors: Vec<(CaseId, f64)> = match subject {
        Subject::Case(id) => vec![(id, 1.0)],
        Subject::Combo(id) => structure
            .combos
            .get(id.index())
            .map_or(Vec::new(), |combo| combo.factors.iter().map(|(case, factor)| (*case, factor.to_f64())).collect()),
    };
    let cases = factors.iter().filter_map(|(id, factor)| Some((*id, *factor, structure.cases.get(id.index())?)));
    if cases.clone().map(|(.., case)| case.loads.len()).sum::<usize>() > most_loads {
        return Vec::new();
    }
    let mut statements: BTreeMap<(Origin, CaseId), Group> = BTreeMap::new();
    let mut turns: BTreeMap<(Origin, CaseId, u32), Group> = BTreeMap::new();
    for (id, factor, case) in cases {
        for load in &case.loads {
            let group = || Group { origin: load.origin, factor, loads: Vec::new() };
            statements.entry((load.origin, id)).or_insert_with(group).loads.push(&load.kind);
            // A loop says the same of several joints; each is a load of its own.
            let own = match &load.kind {
                LoadKind::JointForce { joint, .. } | LoadKind::JointMoment { joint, .. } => joint.0,
                LoadKind::MemberForce { member, .. } | LoadKind::MemberMoment { member, .. } => member.0,
                _ => continue,
            };
            turns.entry((load.origin, id, own)).or_insert_with(group).loads.push(&load.kind);
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
    if found.len() > most_groups { Vec::new() } else { found }
}

/// A load as it would be after a slip.
enum Altered {
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
    let mut found = Vec::new();
    for (index, group) in groups.iter().enumerate() {
        let mut own = trial.unchanged();
        own.values.iter_mut().for_each(|value| *value = 0.0);
        for kind in &group.loads {
            add(&mut own, &weigh(kind), inside(kind), group.factor);
        }
        for (slip, altered) in variants(structure, group) {
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
fn variants(structure: &Structure, group: &Group) -> Vec<(LoadSlip, Altered)> {
    let mut found = vec![(LoadSlip::Out, Altered::Times(0.0))];
    let is_triangle = is_triangle(group);
    let is_force = |kind: &&LoadKind| vector(kind).is_some();
    if !group.loads.iter().all(|kind| matches!(kind, LoadKind::Weight { .. })) {
        found.push((LoadSlip::Reversed, Altered::Times(-1.0)));
    }
    if group.loads.iter().all(is_force) {
        let twice = if is_triangle { LoadSlip::HalfForgotten } else { LoadSlip::Twice };
        found.push((twice, Altered::Times(2.0)));
        found.extend(turned(group));
        found.extend(spread(structure, group, is_triangle));
    }
    found.extend(from_other_end(structure, group).map(|kind| (LoadSlip::FromOtherEnd, Altered::Instead(vec![kind]))));
    found
}

/// A load's force, or its intensity where it is largest, x and y.
pub fn vector(kind: &LoadKind) -> Option<[f64; 2]> {
    let pair = |force: &[Number; 2]| force.each_ref().map(Number::to_f64);
    match kind {
        LoadKind::JointForce { force, .. } | LoadKind::MemberForce { force, .. } => Some(pair(force)),
        LoadKind::Distributed(load) => {
            let (start, end) = (pair(&load.start), pair(&load.end));
            Some(if start[0].hypot(start[1]) >= end[0].hypot(end[1]) { start } else { end })
        }
        _ => None,
    }
}

/// The same load with its vectors changed.
fn with_vectors(kind: &LoadKind, change: impl Fn([f64; 2]) -> [f64; 2]) -> LoadKind {
    let changed = |force: &[Number; 2]| change(force.each_ref().map(Number::to_f64)).map(Number::from_f64);
    match kind {
        LoadKind::JointForce { joint, force } => LoadKind::JointForce { joint: *joint, force: changed(force) },
        LoadKind::MemberForce { member, force, at } => {
            LoadKind::MemberForce { member: *member, force: changed(force), at: at.clone() }
        }
        LoadKind::Distributed(load) => {
            let (start, end) = (changed(&load.start), changed(&load.end));
            LoadKind::Distributed(Box::new(Distributed { start, end, ..(**load).clone() }))
        }
        other => other.clone(),
    }
}

/// Slips in resolving an inclined load.
fn turned(group: &Group) -> Vec<(LoadSlip, Altered)> {
    let Some([x, y]) = group.loads.first().and_then(|kind| vector(kind)) else { return Vec::new() };
    let size = x.hypot(y);
    if x.abs().min(y.abs()) <= 1e-9 * size {
        return Vec::new();
    }
    let (right, up) = (x.signum(), y.signum());
    let with = |slip, change: &dyn Fn([f64; 2]) -> [f64; 2]| {
        (slip, Altered::Instead(group.loads.iter().map(|kind| with_vectors(kind, change)).collect()))
    };
    let mut found = vec![
        with(LoadSlip::Whole(Axis::Y), &|[x, y]| [0.0, up * x.hypot(y)]),
        with(LoadSlip::Whole(Axis::X), &|[x, y]| [right * x.hypot(y), 0.0]),
        with(LoadSlip::PartOut(Axis::X), &|[_, y]| [0.0, y]),
        with(LoadSlip::PartOut(Axis::Y), &|[x, _]| [x, 0.0]),
        with(LoadSlip::PartReversed(Axis::X), &|[x, y]| [-x, y]),
        with(LoadSlip::PartReversed(Axis::Y), &|[x, y]| [x, -y]),
    ];
    if (x.abs() - y.abs()).abs() > 1e-9 * size {
        found.push(with(LoadSlip::SineCosine, &|[x, y]| [right * y.abs(), up * x.abs()]));
    }
    found
}

/// The stretch of a spread load, metres.
fn stretch(load: &Distributed) -> f64 {
    load.to.minus(&load.from).to_f64()
}

fn intensities(load: &Distributed) -> [f64; 2] {
    [&load.start, &load.end].map(|[x, y]| x.to_f64().hypot(y.to_f64()))
}

/// The whole group as spread loads, with the stretch of all and its peak.
fn as_spread<'a>(group: &Group<'a>) -> Option<(Vec<&'a Distributed>, f64, f64)> {
    let spread: Option<Vec<&Distributed>> = group
        .loads
        .iter()
        .map(|kind| match kind {
            LoadKind::Distributed(load) => Some(load.as_ref()),
            _ => None,
        })
        .collect();
    let spread = spread.filter(|all| !all.is_empty())?;
    let whole = spread.iter().map(|load| stretch(load)).sum();
    let peak = spread.iter().flat_map(|load| intensities(load)).fold(0.0, f64::max);
    Some((spread, whole, peak))
}

/// Whether a spread load rises from nothing to its peak, along all its members.
pub fn is_triangle(group: &Group) -> bool {
    let Some((spread, whole, peak)) = as_spread(group) else { return false };
    let area: f64 = spread
        .iter()
        .map(|load| {
            let [a, b] = intensities(load);
            (a + b) / 2.0 * stretch(load)
        })
        .sum();
    peak > 0.0 && (area - peak * whole / 2.0).abs() <= 1e-9 * peak * whole
}

/// Slips in a load along members.
fn spread(structure: &Structure, group: &Group, is_triangle: bool) -> Vec<(LoadSlip, Altered)> {
    let Some((spread, whole, peak)) = as_spread(group) else { return Vec::new() };
    let mut found = Vec::new();
    let unit = structure.units.as_ref().map_or(1.0, |units| units.length.unit.factor.to_f64());
    if (whole - unit).abs() > 1e-9 * whole {
        found.push((LoadSlip::Intensity, Altered::Times(unit / whole)));
    }
    let with = |change: &dyn Fn([f64; 2]) -> [f64; 2]| -> Vec<LoadKind> {
        group.loads.iter().map(|kind| with_vectors(kind, change)).collect()
    };
    if let (true, Some([px, py])) = (is_triangle, group.loads.iter().filter_map(|kind| vector(kind)).max_by(longer)) {
        found.push((LoadSlip::InTheMiddle, Altered::Instead(with(&|_| [px / 2.0, py / 2.0]))));
        found.push((LoadSlip::TurnedRound, Altered::Instead(with(&|[x, y]| [px - x, py - y]))));
    }
    let is_sloped = |load: &&Distributed| {
        let [dx, dy] = structure.member_vector(load.member);
        match load.measure {
            Some(Measure::PerRise) => dx != 0.0,
            _ => dy != 0.0,
        }
    };
    if spread.iter().any(is_sloped) {
        let other = |load: &&Distributed| {
            let measure = if load.measure.is_some() { None } else { Some(Measure::PerRun) };
            LoadKind::Distributed(Box::new(Distributed { measure, ..(*load).clone() }))
        };
        found.push((LoadSlip::OtherLength, Altered::Instead(spread.iter().map(other).collect())));
    }
    if let [only] = spread.as_slice()
        && only.delivery == Delivery::AlongMember
        && peak > 0.0
    {
        found.extend(resultant(structure, only).map(|kind| (LoadSlip::Resultant, Altered::Instead(vec![kind]))));
    }
    found
}

fn longer([ax, ay]: &[f64; 2], [bx, by]: &[f64; 2]) -> std::cmp::Ordering {
    ax.hypot(*ay).total_cmp(&bx.hypot(*by))
}

/// A load along one member as one force at its centroid, where its direction
/// is the same throughout.
fn resultant(structure: &Structure, load: &Distributed) -> Option<LoadKind> {
    let [a, b] = [&load.start, &load.end].map(|force| force.each_ref().map(Number::to_f64));
    if (a[0] * b[1] - a[1] * b[0]).abs() > 1e-9 * a[0].hypot(a[1]) * b[0].hypot(b[1]) || a[0] * b[0] + a[1] * b[1] < 0.0
    {
        return None;
    }
    let [dx, dy] = structure.member_vector(load.member).map(f64::abs);
    let share = match load.measure {
        None => 1.0,
        Some(Measure::PerRun) => dx / dx.hypot(dy),
        Some(Measure::PerRise) => dy / dx.hypot(dy),
    };
    let (from, length) = (load.from.to_f64(), stretch(load));
    let [small, large] = intensities(load);
    let at = from + length * (small + 2.0 * large) / (3.0 * (small + large));
    let total = |index: usize| {
        let (a, b) = (a.get(index).copied().unwrap_or(0.0), b.get(index).copied().unwrap_or(0.0));
        Number::from_f64((a + b) / 2.0 * length * share)
    };
    at.is_finite().then(|| LoadKind::MemberForce {
        member: load.member,
        force: [total(0), total(1)],
        at: Number::from_f64(at),
    })
}

fn from_other_end(structure: &Structure, group: &Group) -> Option<LoadKind> {
    let mirrored = |member: MemberId, at: &Number| {
        let length = structure.member_length(member);
        let other = length - at.to_f64();
        ((other - at.to_f64()).abs() > 1e-9 * length).then(|| Number::from_f64(other))
    };
    let [only] = group.loads.as_slice() else { return None };
    match only {
        LoadKind::MemberForce { member, force, at } => {
            let at = mirrored(*member, at)?;
            Some(LoadKind::MemberForce { member: *member, force: force.clone(), at })
        }
        LoadKind::MemberMoment { member, moment, at } => {
            let at = mirrored(*member, at)?;
            Some(LoadKind::MemberMoment { member: *member, moment: moment.clone(), at })
        }
        _ => None,
    }
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
    let Some([ox, oy]) = structure.joint(external.centre).map(|joint| [joint.x.to_f64(), joint.y.to_f64()]) else {
        return Vec::new();
    };
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
    let on_member = |member: MemberId, at: f64| {
        let start = structure.joint(structure.member(member)?.start)?;
        let [dx, dy] = structure.member_vector(member);
        let share = at / dx.hypot(dy);
        Some([start.x.to_f64() + dx * share, start.y.to_f64() + dy * share])
    };
    match kind {
        LoadKind::JointForce { joint, .. } => {
            let joint = structure.joint(*joint)?;
            Some(([joint.x.to_f64(), joint.y.to_f64()], vector(kind)?))
        }
        LoadKind::MemberForce { member, at, .. } => Some((on_member(*member, at.to_f64())?, vector(kind)?)),
        LoadKind::Distributed(load) => force_at(structure, &resultant(structure, load)?),
        _ => None,
    }
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
