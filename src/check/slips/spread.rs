//! Slips in loads spread along members.
//!
//! Must not know: words for people.

use crate::base::MemberId;
use crate::quantity::Number;
use crate::statics::spans::measured_share;
use crate::structure::{Delivery, Distributed, LoadKind, LoadPoint, Structure};
use crate::syntax::tree::Measure;

use super::kinds::{LoadSlip, Spot};
use super::loads::{Altered, Group};

/// A resultant is put elsewhere for loads on at most so many members.
const MOST_IN_ROW: usize = 20;

/// The stretch of a spread load, metres.
fn stretch(load: &Distributed<Number>) -> f64 {
    load.to.minus(&load.from).to_f64()
}

fn intensities(load: &Distributed<Number>) -> [f64; 2] {
    [&load.start, &load.end].map(|[x, y]| x.to_f64().hypot(y.to_f64()))
}

/// The whole group as spread loads, with the stretch of all and its peak.
fn as_spread<'a>(group: &Group<'a>) -> Option<(Vec<&'a Distributed<Number>>, f64, f64)> {
    let spread: Option<Vec<_>> = group.loads.iter().map(|kind| kind.spread()).collect();
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

/// How a spread load's intensity goes along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    Uniform,
    Triangle,
    Other,
}

fn shape(group: &Group, spread: &[&Distributed<Number>], peak: f64) -> Shape {
    let first = spread.first().map(|load| pair(&load.start)).unwrap_or_default();
    let is_first = |force: &[Number; 2]| {
        let [x, y] = pair(force);
        (x - first[0]).hypot(y - first[1]) <= 1e-9 * peak
    };
    if peak > 0.0 && spread.iter().all(|load| is_first(&load.start) && is_first(&load.end)) {
        Shape::Uniform
    } else if is_triangle(group) {
        Shape::Triangle
    } else {
        Shape::Other
    }
}

fn pair(force: &[Number; 2]) -> [f64; 2] {
    force.each_ref().map(Number::to_f64)
}

/// Slips in a load along members.
pub fn spread(
    structure: &Structure,
    group: &Group,
    about_inside: impl Fn(MemberId) -> bool,
) -> Vec<(LoadSlip, Altered)> {
    let Some((spread, _, peak)) = as_spread(group) else { return Vec::new() };
    let shape = shape(group, &spread, peak);
    let mut found = totals(structure, &spread, shape);
    let with = |change: &dyn Fn([f64; 2]) -> [f64; 2]| -> Vec<LoadKind> {
        group.loads.iter().map(|kind| kind.with_vectors(change)).collect()
    };
    let highest = group.loads.iter().filter_map(|kind| kind.vector()).max_by(longer);
    if let (Shape::Triangle, Some([px, py])) = (shape, highest) {
        found.push((LoadSlip::InTheMiddle, Altered::Instead(with(&|_| [px / 2.0, py / 2.0]))));
        found.push((LoadSlip::TurnedRound, Altered::Instead(with(&|[x, y]| [px - x, py - y]))));
        found.push((LoadSlip::Rectangle, Altered::Instead(with(&|_| [px, py]))));
    }
    if shape == Shape::Uniform && !spread.iter().any(|load| about_inside(load.member)) {
        found.extend(misplaced(structure, &spread));
    }
    if let (Shape::Uniform, [only]) = (shape, spread.as_slice())
        && stretch(only) < structure.member_length(only.member) * (1.0 - 1e-9)
    {
        let to = Number::from_f64(structure.member_length(only.member));
        let whole = Distributed { from: Number::ZERO, to, ..(*only).clone() };
        found.push((LoadSlip::WholeSpan, Altered::Instead(vec![LoadKind::Distributed(Box::new(whole))])));
    }
    let is_sloped = |load: &&Distributed<Number>| {
        let [dx, dy] = structure.member_vector(load.member);
        match load.measure {
            Some(Measure::PerRise) => dx != 0.0,
            _ => dy != 0.0,
        }
    };
    if spread.iter().any(is_sloped) {
        let other = |load: &&Distributed<Number>| {
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

/// An intensity taken for the whole load: of a triangle its peak, or half of it.
fn totals(structure: &Structure, spread: &[&Distributed<Number>], shape: Shape) -> Vec<(LoadSlip, Altered)> {
    let unit = structure.units.as_ref().map_or(1.0, |units| units.length.unit.factor.to_f64());
    // As long as its intensity is for: along the member, its run or its rise.
    let whole: f64 = spread.iter().map(|load| stretch(load) * measured_share(structure, load)).sum();
    let taken = unit / whole;
    if !taken.is_finite() {
        return Vec::new();
    }
    let ways: &[(LoadSlip, f64)] = match shape {
        Shape::Uniform => &[(LoadSlip::Intensity, taken)],
        Shape::Triangle => &[(LoadSlip::Intensity, 2.0 * taken), (LoadSlip::HalfIntensity, taken)],
        Shape::Other => &[],
    };
    let changed = ways.iter().filter(|(_, times)| (times - 1.0).abs() > 1e-9);
    changed.map(|(slip, times)| (*slip, Altered::Times(*times))).collect()
}

/// The resultant of an even load put at an end of its stretch, or at the middle
/// of a member of which it takes a part only.
fn misplaced(structure: &Structure, spread: &[&Distributed<Number>]) -> Vec<(LoadSlip, Altered)> {
    if spread.len() > MOST_IN_ROW {
        return Vec::new();
    }
    let mut total = [0.0; 2];
    for load in spread {
        let [x, y] = pair(&load.start);
        let length = stretch(load) * measured_share(structure, load);
        total = [total[0] + x * length, total[1] + y * length];
    }
    let at = |member: MemberId, at: f64| {
        vec![LoadKind::Force { at: LoadPoint::Along(member, Number::from_f64(at)), force: total.map(Number::from_f64) }]
    };
    let mut ends: Vec<(MemberId, f64, [f64; 2])> = Vec::new();
    for load in spread {
        for end in [load.from.to_f64(), load.to.to_f64()] {
            ends.push((load.member, end, structure.point_on(load.member, end)));
        }
    }
    let length: f64 = spread.iter().map(|load| stretch(load)).sum();
    let is_same = |[ax, ay]: [f64; 2], [bx, by]: [f64; 2]| (ax - bx).hypot(ay - by) <= 1e-9 * length;
    // Where two members of the row meet, it does not end.
    let outer = ends.iter().filter(|(.., own)| ends.iter().filter(|(.., other)| is_same(*own, *other)).count() == 1);
    let outer: Vec<_> = outer.copied().collect();
    let mut found = Vec::new();
    if let [(_, _, a), (_, _, b)] = outer.as_slice() {
        let middle = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
        let half = spread.iter().map(|load| (load.member, structure.member_length(load.member) / 2.0));
        let half = half.take(1).filter(|_| spread.len() == 1);
        let centre = half.map(|(member, half)| (member, half, structure.point_on(member, half)));
        let centre: Vec<_> = centre.filter(|(.., place)| !is_same(*place, middle)).collect();
        for (member, half, _) in &centre {
            found.push((LoadSlip::Misplaced(Spot::MiddleOf(*member)), Altered::Instead(at(*member, *half))));
        }
        for (member, end, own) in &outer {
            if !centre.iter().any(|(.., place)| is_same(*place, *own)) {
                found.push((LoadSlip::Misplaced(Spot::End(*member, *end)), Altered::Instead(at(*member, *end))));
            }
        }
    }
    found
}

fn longer([ax, ay]: &[f64; 2], [bx, by]: &[f64; 2]) -> std::cmp::Ordering {
    ax.hypot(*ay).total_cmp(&bx.hypot(*by))
}

/// A load along one member as one force at its centroid, where its direction
/// is the same throughout.
pub fn resultant(structure: &Structure, load: &Distributed<Number>) -> Option<LoadKind> {
    let [a, b] = [&load.start, &load.end].map(|force| force.each_ref().map(Number::to_f64));
    if (a[0] * b[1] - a[1] * b[0]).abs() > 1e-9 * a[0].hypot(a[1]) * b[0].hypot(b[1]) || a[0] * b[0] + a[1] * b[1] < 0.0
    {
        return None;
    }
    let share = measured_share(structure, load);
    let (from, length) = (load.from.to_f64(), stretch(load));
    let [small, large] = intensities(load);
    let at = from + length * (small + 2.0 * large) / (3.0 * (small + large));
    let total = |index: usize| {
        let (a, b) = (a.get(index).copied().unwrap_or(0.0), b.get(index).copied().unwrap_or(0.0));
        Number::from_f64((a + b) / 2.0 * length * share)
    };
    at.is_finite().then(|| LoadKind::Force {
        at: LoadPoint::Along(load.member, Number::from_f64(at)),
        force: [total(0), total(1)],
    })
}
