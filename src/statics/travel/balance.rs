//! The positions that govern, each added up again as a case of its own.
//!
//! Must not know: how the extremes were found.

use crate::structure::Structure;

use super::super::equilibrium::Equilibrium;
use super::super::residual::{Forces, moment_centre, residual};
use super::super::results::{Place, Residual, WholeSums, sort_out};
use super::super::spans::{SpanLoad, Spans};
use super::influence::Influence;
use super::{MemberRange, Peak, ReactionRange, TrainPosition};

/// Positions added up again.
const MOST_CHECKED: usize = 64;

/// The positions of the largest values, the most telling first.
pub(super) fn governing(reactions: &[ReactionRange], members: &[MemberRange]) -> Vec<TrainPosition> {
    let largest = |peaks: &mut dyn Iterator<Item = Peak>| peaks.max_by(|a, b| a.value.abs().total_cmp(&b.value.abs()));
    let bending = || members.iter().filter_map(|member| member.bending);
    let mut peaks: Vec<Peak> = Vec::new();
    peaks.extend(largest(&mut bending().flat_map(|bending| [bending.moment.most, bending.moment.least])));
    peaks.extend(largest(&mut bending().flat_map(|bending| [bending.shear.most, bending.shear.least])));
    peaks.extend(largest(&mut members.iter().flat_map(|member| [member.axial.most, member.axial.least])));
    for reaction in reactions {
        peaks.push(reaction.size);
        peaks.extend([reaction.fx, reaction.fy, reaction.m].into_iter().flatten().flat_map(|r| [r.most, r.least]));
    }
    peaks.extend(bending().flat_map(|bending| [bending.moment.most, bending.moment.least]));
    let mut positions: Vec<TrainPosition> = Vec::new();
    for train in peaks.into_iter().filter_map(|peak| peak.train) {
        if positions.len() < MOST_CHECKED && !positions.contains(&train) {
            positions.push(train);
        }
    }
    positions
}

/// The worst residual of some positions.
pub(super) fn worst(
    structure: &Structure,
    equilibrium: &Equilibrium,
    influence: &Influence,
    positions: &[TrainPosition],
    largest: f64,
) -> Residual {
    let mut worst =
        Residual { relative: 0.0, worst: Place::Structure, force: 0.0, moment: 0.0, whole: WholeSums::default() };
    for train in positions {
        let found = balance(structure, equilibrium, influence, *train, largest);
        if found.relative > worst.relative || found.relative.is_nan() {
            worst = found;
        }
    }
    worst
}

fn balance(
    structure: &Structure,
    equilibrium: &Equilibrium,
    influence: &Influence,
    train: TrainPosition,
    largest: f64,
) -> Residual {
    let (loads, piece) = influence.stopped(train);
    let sorted = sort_out(structure, equilibrium, &influence.unknowns(&piece));
    let mut spans = Spans::new();
    for (member, load) in &loads {
        spans.entry(*member).or_default().push(*load);
    }
    let [cx, cy] = moment_centre(structure).1;
    let mut resultant = [0.0; 3];
    let [first, _] = train.on;
    // Loads come in the order of the train, each with its own force and place.
    for ((member, load), [fx, fy]) in loads.iter().zip(influence.loads().iter().skip(first)) {
        let SpanLoad::Point { at, .. } = load else { continue };
        let [x, y] = structure.point_on(*member, *at);
        let [sx, sy, sm] = &mut resultant;
        *sx += fx;
        *sy += fy;
        *sm += (x - cx) * fy - (y - cy) * fx;
    }
    let direct = vec![0.0; equilibrium.rows.len()];
    residual(
        structure,
        Forces {
            direct: &direct,
            rows: &equilibrium.rows,
            spans: &spans,
            resultant,
            reactions: &sorted.reactions,
            axial: &sorted.axial,
            moments: &sorted.moments,
            largest,
        },
    )
}
