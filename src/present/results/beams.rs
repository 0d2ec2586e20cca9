//! What tables of members show of them: which are beams, the moments between
//! the ends that count, what is noise.
//!
//! Must not know: how tables are made and written.

use crate::base::MemberId;
use crate::base::tolerances::SAME;
use crate::statics::diagram::{Diagram, Extreme, Quantity};
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

/// The beams of a structure.
pub fn beams(structure: &Structure) -> Vec<MemberId> {
    structure.members.entries().filter(|(_, member)| member.kind == MemberKind::Beam).map(|(id, _)| id).collect()
}

/// The members that carry axial force only.
pub fn pinned(structure: &Structure) -> Vec<MemberId> {
    structure.members.entries().filter(|(_, member)| member.kind != MemberKind::Beam).map(|(id, _)| id).collect()
}

/// Whether each beam carries one axial force from end to end: no load acts
/// along it.
pub fn has_even_axial(diagrams: &[Diagram], largest: f64) -> bool {
    diagrams.iter().all(|diagram| {
        let [most, least] = diagram.extremes(Quantity::Axial);
        most.value - least.value <= ZERO_SHARE * largest
    })
}

/// The size of the moments that the largest force makes, beside which noise is
/// told from numbers.
pub fn moment_scale(structure: &Structure, result: &CaseResult) -> f64 {
    result.largest * structure.size()
}

/// Below this a moment is noise.
pub fn noise_moment(structure: &Structure, result: &CaseResult) -> f64 {
    moment_scale(structure, result) * ZERO_SHARE
}

/// A row of a table of beams: the first has the beam's name and end values.
pub struct InsideRow {
    /// Counted among the table's beams.
    pub beam: usize,
    pub is_first: bool,
    pub extreme: Option<Extreme>,
}

/// The rows a table of these beams has: one each, and one more for a beam with
/// a largest and a smallest moment between its ends.
pub fn inside_rows(diagrams: &[Diagram], noise: f64) -> Vec<InsideRow> {
    let rows = diagrams.iter().enumerate().flat_map(|(beam, diagram)| {
        let mut extremes: Vec<Option<Extreme>> = extremes_inside(diagram, noise).into_iter().map(Some).collect();
        if extremes.is_empty() {
            extremes.push(None);
        }
        extremes.into_iter().enumerate().map(move |(nth, extreme)| InsideRow { beam, is_first: nth == 0, extreme })
    });
    rows.collect()
}

/// The largest and the smallest moment, each where it lies strictly between
/// the ends and outside the range of the two end values: the span moment of a
/// continuous beam counts however large the support moments are.
pub fn extremes_inside(diagram: &Diagram, noise: f64) -> Vec<Extreme> {
    let (start, end) = (diagram.start().moment, diagram.end().moment);
    let (low, high) = (start.min(end), start.max(end));
    let margin = noise.max(SAME * low.abs().max(high.abs()));
    let length = diagram.length();
    let between = |extreme: &Extreme| extreme.at > SAME * length && extreme.at < length * (1.0 - SAME);
    let [most, least] = diagram.extremes(Quantity::Moment);
    let above = Some(most).filter(|extreme| extreme.value > high + margin);
    let below = Some(least).filter(|extreme| extreme.value < low - margin);
    let mut found: Vec<Extreme> = [above, below].into_iter().flatten().filter(between).collect();
    found.sort_by(|a, b| a.at.total_cmp(&b.at));
    found
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;
    use crate::statics::spans::SpanLoad;

    #[test]
    fn a_span_moment_is_told_beside_a_larger_support_moment() {
        let load = SpanLoad::Spread { from: 0.0, to: 6.0, along: [0.0; 2], across: [-1.2; 2] };
        let diagram = Diagram::of(6.0, 0.0, [-4.65, 0.0], &[load]);
        let found = extremes_inside(&diagram, 0.0);
        let [sagging] = found.as_slice() else { panic!("{found:?}") };
        assert!((sagging.value - 3.325).abs() < 1e-3 && (sagging.at - 3.646).abs() < 1e-3, "{sagging:?}");
    }

    #[test]
    fn both_ways_beyond_the_ends_and_nothing_at_them() {
        let up = SpanLoad::Point { at: 1.0, along: 0.0, across: 3.0 };
        let down = SpanLoad::Point { at: 3.0, along: 0.0, across: -3.0 };
        let found = extremes_inside(&Diagram::of(4.0, 0.0, [0.0; 2], &[up, down]), 0.0);
        let values: Vec<[f64; 2]> = found.iter().map(|extreme| [extreme.value, extreme.at]).collect();
        assert_eq!(values, [[-1.5, 1.0], [1.5, 3.0]]);
        assert!(extremes_inside(&Diagram::of(4.0, 0.0, [-2.0, 1.0], &[]), 0.0).is_empty());
    }
}
