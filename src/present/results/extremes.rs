//! The extremes of every reaction and member over all that is judged, and
//! which case or combination each is under.
//!
//! Must not know: how forces are found, how tables are written.

use crate::base::MemberId;
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, Reaction, Subject, ZERO_SHARE, judged};
use crate::structure::Structure;

use super::beams::noise_moment;

/// The largest value one way, where on the member, and under what.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    pub value: f64,
    /// Metres from the member's first joint.
    pub at: f64,
    pub subject: Subject,
}

/// The results that are compared: every combination, and a case that no
/// combination uses. A result that does not hold is no answer and stays out.
pub struct Compared<'r> {
    pub results: Vec<&'r CaseResult>,
    /// Judged, but a cable is slack there or a roller lifts off.
    pub left_out: Vec<&'r CaseResult>,
}

impl<'r> Compared<'r> {
    /// Nothing where fewer than two results can be compared.
    pub fn of(structure: &Structure, results: &[&'r CaseResult]) -> Option<Compared<'r>> {
        let (results, left_out): (Vec<_>, Vec<_>) =
            judged(structure, results.iter().copied()).partition(|result| result.holds());
        (results.len() > 1).then_some(Compared { results, left_out })
    }

    /// The largest tension and the largest compression of each of the bars.
    pub fn bars(&self, bars: &[MemberId]) -> Vec<[Option<Peak>; 2]> {
        let noise = self.noise(|result| ZERO_SHARE * result.largest);
        let of_bar = |bar: &MemberId| {
            let axial = |result: &CaseResult| result.axial[*bar];
            self.both_ways(|result| [(axial(result), 0.0); 2], &noise)
        };
        bars.iter().map(of_bar).collect()
    }

    /// The largest positive and the largest negative value along each of the beams.
    pub fn beams(&self, structure: &Structure, beams: &[MemberId], quantity: Quantity) -> Vec<[Option<Peak>; 2]> {
        let noise = self.noise(|result| match quantity {
            Quantity::Moment => noise_moment(structure, result),
            _ => ZERO_SHARE * result.largest,
        });
        let of_beam = |beam: &MemberId| {
            let extremes = |result: &CaseResult| {
                result.diagram(structure, *beam).extremes(quantity).map(|extreme| (extreme.value, extreme.at))
            };
            self.both_ways(extremes, &noise)
        };
        beams.iter().map(of_beam).collect()
    }

    /// The greatest and the least of one component at each support, signs
    /// counted; none where the support cannot give it.
    pub fn reactions(&self, component: fn(&Reaction) -> Option<f64>) -> Vec<Option<[Peak; 2]>> {
        let supports = self.results.first().map_or(0, |result| result.reactions.len());
        let of_support = |index: usize| {
            let values = self.results.iter().filter_map(|result| {
                let value = component(result.reactions.get(index)?)?;
                let is_noise = value.abs() <= ZERO_SHARE * result.largest;
                Some(Peak { value: if is_noise { 0.0 } else { value }, at: 0.0, subject: result.subject })
            });
            values.fold(None, |best: Option<[Peak; 2]>, peak| {
                let [most, least] = best.unwrap_or([peak; 2]);
                Some([
                    if peak.value > most.value { peak } else { most },
                    if peak.value < least.value { peak } else { least },
                ])
            })
        };
        (0..supports).map(of_support).collect()
    }

    /// Below what a value is rounding noise, for each result.
    fn noise(&self, of: impl Fn(&CaseResult) -> f64) -> Vec<f64> {
        self.results.iter().map(|result| of(result)).collect()
    }

    fn both_ways(&self, values: impl Fn(&CaseResult) -> [(f64, f64); 2], noise: &[f64]) -> [Option<Peak>; 2] {
        let mut best: [Option<Peak>; 2] = [None; 2];
        for (result, noise) in self.results.iter().zip(noise) {
            for (value, at) in values(result) {
                let Some(kept) = best.get_mut(usize::from(value < 0.0)) else { continue };
                if value.abs() > *noise && kept.is_none_or(|kept| value.abs() > kept.value.abs()) {
                    *kept = Some(Peak { value, at, subject: result.subject });
                }
            }
        }
        best
    }
}
