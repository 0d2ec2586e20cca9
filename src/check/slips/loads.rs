//! Slips in one load: what it would be instead, and what that would change.
//!
//! Must not know: words for people.

use crate::base::MemberId;
use crate::base::tolerances::SAME;
use crate::quantity::Number;
use crate::statics::spans::measured_share;
use crate::statics::{Adjoint, External, Influence, ResultPart, Wanted};
use crate::structure::{Delivery, Distributed, LoadKind, LoadPoint, Structure};
use crate::syntax::tree::Measure;

use super::group::{Axis, Group, Shape, Spread, along, intensities, pair, stretch};
use super::kinds::{LoadSlip, Slip};
use super::trial::{Change, Trial};

/// Among so many forces two are tried with each other's sizes.
const MOST_EXCHANGED: usize = 6;
/// A resultant is put elsewhere for loads on at most so many members.
const MOST_IN_ROW: usize = 20;

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
) -> Vec<(Slip, Change)> {
    let effect = |kind: &LoadKind| Change {
        values: influences.iter().map(|influence| adjoint.of_load(influence, kind)).collect(),
        spans: adjoint.on_member(kind).filter(|(member, _)| trial.is_about_inside(*member)).into_iter().collect(),
    };
    let sum =
        |group: &Group| group.loads.iter().fold(trial.nothing(), |own, kind| own.plus(group.factor, &effect(kind)));
    let owns: Vec<Change> = groups.iter().map(sum).collect();
    let mut found = Vec::new();
    for (index, (group, own)) in groups.iter().zip(&owns).enumerate() {
        for (slip, altered) in variants(structure, trial, group) {
            let change = match altered {
                Altered::Times(times) => trial.unchanged().plus(times - 1.0, own),
                Altered::Instead(kinds) => {
                    let without = trial.unchanged().plus(-1.0, own);
                    kinds.iter().fold(without, |change, kind| change.plus(group.factor, &effect(kind)))
                }
            };
            found.push((Slip::Load(slip, index), change));
        }
    }
    found.extend(exchanged(trial, groups, &owns));
    found
}

/// The sizes of two forces of one direction exchanged; `owns` is what each of
/// the groups adds.
fn exchanged(trial: &Trial, groups: &[Group], owns: &[Change]) -> Vec<(Slip, Change)> {
    let single = |group: &Group| match group.loads.as_slice() {
        [only] if only.point().is_some() => only.vector(),
        _ => None,
    };
    let forces = groups.iter().zip(owns).enumerate();
    let forces: Vec<(usize, [f64; 2], &Change)> =
        forces.filter_map(|(index, (group, own))| Some((index, single(group)?, own))).collect();
    if forces.len() > MOST_EXCHANGED {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (place, (first, [ax, ay], one)) in forces.iter().enumerate() {
        for (second, [bx, by], two) in forces.iter().skip(place + 1) {
            let (a, b) = (ax.hypot(*ay), bx.hypot(*by));
            let is_one_way = (ax * by - ay * bx).abs() <= SAME * a * b && ax * bx + ay * by > 0.0;
            if is_one_way && (a - b).abs() > SAME * a {
                let change = trial.unchanged().plus(b / a - 1.0, one).plus(a / b - 1.0, two);
                found.push((Slip::LoadsExchanged(*first, *second), change));
            }
        }
    }
    found
}

/// The slips that can be made with a load of this kind.
fn variants(structure: &Structure, trial: &Trial, group: &Group) -> Vec<(LoadSlip, Altered)> {
    let mut found = vec![(LoadSlip::Out, Altered::Times(0.0))];
    if !group.loads.iter().all(|kind| kind.is_weight()) {
        found.push((LoadSlip::Reversed, Altered::Times(-1.0)));
    }
    if group.loads.iter().all(|kind| kind.vector().is_some()) {
        let spread = group.spread();
        let is_triangle = spread.as_ref().is_some_and(|spread| spread.shape == Shape::Triangle);
        let twice = if is_triangle { LoadSlip::HalfForgotten } else { LoadSlip::Twice };
        found.push((twice, Altered::Times(2.0)));
        found.extend(turned(group));
        found.extend(spread.iter().flat_map(|spread| spread_otherwise(structure, trial, group, spread)));
    }
    found.extend(from_other_end(structure, group).map(|kind| (LoadSlip::FromOtherEnd, Altered::Instead(vec![kind]))));
    found
}

fn with_vectors(group: &Group, change: impl Fn([f64; 2]) -> [f64; 2]) -> Altered {
    Altered::Instead(group.loads.iter().map(|kind| kind.with_vectors(&change)).collect())
}

/// Slips in resolving an inclined load.
fn turned(group: &Group) -> Vec<(LoadSlip, Altered)> {
    let Some([x, y]) = group.vector() else { return Vec::new() };
    let size = x.hypot(y);
    let mut found = Vec::new();
    // A calculator set to radians takes 35° for 35 rad.
    if let Some(stated) = group.stated {
        let ([rx, ry], [wx, wy]) = (along(stated, stated.radians), along(stated, stated.radians.to_degrees()));
        if (rx - wx).hypot(ry - wy) > SAME {
            let turned = |[x, y]: [f64; 2]| [wx, wy].map(|part| part * (x * rx + y * ry));
            found.push((LoadSlip::Radians, with_vectors(group, turned)));
        }
    }
    if x.abs().min(y.abs()) <= SAME * size {
        return found;
    }
    let (right, up) = (x.signum(), y.signum());
    found.extend([
        (LoadSlip::AllVertical, with_vectors(group, |[x, y]| [0.0, up * x.hypot(y)])),
        (LoadSlip::AllHorizontal, with_vectors(group, |[x, y]| [right * x.hypot(y), 0.0])),
        (LoadSlip::PartOut(Axis::X), with_vectors(group, |[_, y]| [0.0, y])),
        (LoadSlip::PartOut(Axis::Y), with_vectors(group, |[x, _]| [x, 0.0])),
        (LoadSlip::PartReversed(Axis::X), with_vectors(group, |[x, y]| [-x, y])),
        (LoadSlip::PartReversed(Axis::Y), with_vectors(group, |[x, y]| [x, -y])),
    ]);
    if (x.abs() - y.abs()).abs() > SAME * size {
        found.push((LoadSlip::SineCosine, with_vectors(group, |[x, y]| [right * y.abs(), up * x.abs()])));
    }
    found
}

/// Slips in a load along members.
fn spread_otherwise(structure: &Structure, trial: &Trial, group: &Group, spread: &Spread) -> Vec<(LoadSlip, Altered)> {
    let Spread { loads, peak, shape } = spread;
    let mut found = totals(structure, spread);
    let longer = |[ax, ay]: &[f64; 2], [bx, by]: &[f64; 2]| ax.hypot(*ay).total_cmp(&bx.hypot(*by));
    let highest = group.loads.iter().filter_map(|kind| kind.vector()).max_by(longer);
    if let (Shape::Triangle, Some([px, py])) = (shape, highest) {
        found.push((LoadSlip::InTheMiddle, with_vectors(group, |_| [px / 2.0, py / 2.0])));
        found.push((LoadSlip::TurnedRound, with_vectors(group, |[x, y]| [px - x, py - y])));
        found.push((LoadSlip::Rectangle, with_vectors(group, |_| [px, py])));
    }
    if *shape == Shape::Even && !loads.iter().any(|load| trial.is_about_inside(load.member)) {
        found.extend(misplaced(structure, loads));
    }
    let instead = |change: &dyn Fn(&Distributed<Number>) -> Distributed<Number>| {
        Altered::Instead(loads.iter().map(|load| change(load).into()).collect())
    };
    if let (Shape::Even, [only]) = (shape, loads.as_slice())
        && stretch(only) < structure.member_length(only.member) * (1.0 - SAME)
    {
        let to = Number::from_f64(structure.member_length(only.member));
        let whole = |load: &Distributed<Number>| Distributed { from: Number::ZERO, to: to.clone(), ..load.clone() };
        found.push((LoadSlip::WholeSpan, instead(&whole)));
    }
    let is_sloped = |load: &&Distributed<Number>| {
        let [dx, dy] = structure.member_vector(load.member);
        if load.measure == Some(Measure::PerRise) { dx != 0.0 } else { dy != 0.0 }
    };
    if loads.iter().any(is_sloped) {
        let measure = |load: &Distributed<Number>| if load.measure.is_some() { None } else { Some(Measure::PerRun) };
        let other = |load: &Distributed<Number>| Distributed { measure: measure(load), ..load.clone() };
        found.push((LoadSlip::OtherLength, instead(&other)));
    }
    if let [only] = loads.as_slice()
        && only.delivery == Delivery::AlongMember
        && *peak > 0.0
    {
        found.extend(resultant(structure, only).map(|kind| (LoadSlip::Resultant, Altered::Instead(vec![kind]))));
    }
    found
}

/// An intensity taken for the whole load: of a triangle its peak, or half of it.
fn totals(structure: &Structure, spread: &Spread) -> Vec<(LoadSlip, Altered)> {
    let unit = structure.units.as_ref().map_or(1.0, |units| units.length.unit.factor.to_f64());
    // As long as its intensity is for: along the member, its run or its rise.
    let whole: f64 = spread.loads.iter().map(|load| stretch(load) * measured_share(structure, load)).sum();
    let taken = unit / whole;
    if !taken.is_finite() {
        return Vec::new();
    }
    let ways: &[(LoadSlip, f64)] = match spread.shape {
        Shape::Even => &[(LoadSlip::Intensity, taken)],
        Shape::Triangle => &[(LoadSlip::Intensity, 2.0 * taken), (LoadSlip::HalfIntensity, taken)],
        Shape::Other => &[],
    };
    let changed = ways.iter().filter(|(_, times)| (times - 1.0).abs() > SAME);
    changed.map(|(slip, times)| (*slip, Altered::Times(*times))).collect()
}

/// The resultant of an even load put at an end of its stretch, or at the middle
/// of a member of which it takes a part only.
fn misplaced(structure: &Structure, loads: &[&Distributed<Number>]) -> Vec<(LoadSlip, Altered)> {
    if loads.len() > MOST_IN_ROW {
        return Vec::new();
    }
    let mut total = [0.0; 2];
    for load in loads {
        let [x, y] = pair(&load.start);
        let length = stretch(load) * measured_share(structure, load);
        total = [total[0] + x * length, total[1] + y * length];
    }
    let put =
        |member: MemberId, at: f64| Altered::Instead(vec![LoadPoint::Along(member, Number::from_f64(at)).force(total)]);
    let ends_of = |load: &&Distributed<Number>| {
        let member = load.member;
        [&load.from, &load.to].map(|at| (member, at.to_f64(), structure.point_on(member, at.to_f64())))
    };
    let ends: Vec<(MemberId, f64, [f64; 2])> = loads.iter().flat_map(ends_of).collect();
    let length: f64 = loads.iter().map(|load| stretch(load)).sum();
    let is_same = |[ax, ay]: [f64; 2], [bx, by]: [f64; 2]| (ax - bx).hypot(ay - by) <= SAME * length;
    // Where two members of the row meet, it does not end.
    let outer = ends.iter().filter(|(.., own)| ends.iter().filter(|(.., other)| is_same(*own, *other)).count() == 1);
    let outer: Vec<_> = outer.copied().collect();
    let [(_, _, a), (_, _, b)] = outer.as_slice() else { return Vec::new() };
    let middle = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
    let centre = match loads {
        [only] => Some((only.member, structure.member_length(only.member) / 2.0)),
        _ => None,
    };
    let centre = centre.map(|(member, half)| (member, half, structure.point_on(member, half)));
    let centre = centre.filter(|(.., place)| !is_same(*place, middle));
    let mut found = Vec::new();
    if let Some((member, half, _)) = centre {
        found.push((LoadSlip::AtMiddleOf(member), put(member, half)));
    }
    for (member, end, own) in &outer {
        if !centre.is_some_and(|(.., place)| is_same(place, *own)) {
            found.push((LoadSlip::AtEnd(*member, *end), put(*member, *end)));
        }
    }
    found
}

/// A load along one member as one force at its centroid, where its direction
/// is the same throughout.
fn resultant(structure: &Structure, load: &Distributed<Number>) -> Option<LoadKind> {
    let [a, b] = [&load.start, &load.end].map(pair);
    let [small, large] = intensities(load);
    if (a[0] * b[1] - a[1] * b[0]).abs() > SAME * small * large || a[0] * b[0] + a[1] * b[1] < 0.0 {
        return None;
    }
    let (from, length, share) = (load.from.to_f64(), stretch(load), measured_share(structure, load));
    let at = from + length * (small + 2.0 * large) / (3.0 * (small + large));
    let total = |a: f64, b: f64| (a + b) / 2.0 * length * share;
    let force = [total(a[0], b[0]), total(a[1], b[1])];
    at.is_finite().then(|| LoadPoint::Along(load.member, Number::from_f64(at)).force(force))
}

fn from_other_end(structure: &Structure, group: &Group) -> Option<LoadKind> {
    let [only] = group.loads.as_slice() else { return None };
    let LoadPoint::Along(member, at) = only.point()? else { return None };
    let (length, at) = (structure.member_length(*member), at.to_f64());
    let other = length - at;
    let is_elsewhere = (other - at).abs() > SAME * length;
    is_elsewhere.then(|| only.moved_to(LoadPoint::Along(*member, Number::from_f64(other))))
}

/// Reactions found by moments with the straight distance from the moment
/// centre to a load in place of its arm perpendicular to the force. The sums of the
/// forces are right, so all that is wrong is a couple too much.
pub fn of_arms(
    structure: &Structure,
    trial: &Trial,
    groups: &[Group],
    external: Option<&External>,
) -> Vec<(Slip, Change)> {
    let Some(external) = external else { return Vec::new() };
    let of_couple = |wanted: &Wanted| match wanted {
        Wanted::Reaction(support, part) => {
            let (_, each) = external.per_couple.iter().find(|(own, _)| own == support)?;
            Some(each[*part as usize])
        }
        _ => None,
    };
    let values: Option<Vec<f64>> = trial.wanted.iter().map(of_couple).collect();
    let Some(values) = values else { return Vec::new() };
    let per_couple = Change { values, spans: Vec::new() };
    let [ox, oy] = structure.point(external.centre);
    let mut found = Vec::new();
    for (index, group) in groups.iter().enumerate() {
        let [only] = group.loads.as_slice() else { continue };
        let Some(([x, y], [fx, fy])) = force_at(structure, only) else { continue };
        let (rx, ry) = (x - ox, y - oy);
        let moment = rx * fy - ry * fx;
        let along = rx.hypot(ry) * fx.hypot(fy);
        if moment.abs() > SAME * along && moment.abs() < along * (1.0 - SAME) {
            let couple = group.factor * (along * moment.signum() - moment);
            found.push((Slip::Load(LoadSlip::Arm, index), trial.unchanged().plus(couple, &per_couple)));
        }
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
pub fn of_halves(structure: &Structure, trial: &Trial, groups: &[Group], adjoint: &Adjoint) -> Option<(Slip, Change)> {
    if structure.supports.len() != 2 {
        return None;
    }
    let own = |group: &Group| group.factor * group.loads.iter().map(|kind| adjoint.resultant(kind)[1]).sum::<f64>();
    let down: f64 = groups.iter().map(own).sum();
    let mut change = trial.unchanged();
    let mut has_part = false;
    for (value, wanted) in change.values.iter_mut().zip(&trial.wanted) {
        if matches!(wanted, Wanted::Reaction(_, ResultPart::Y)) {
            *value = -down / 2.0;
            has_part = true;
        }
    }
    has_part.then_some((Slip::Halves, change))
}
