//! One wrong claim, and what it would be compared with under some slip.
//!
//! Must not know: slips.

use crate::base::tolerances::{COMPUTED, SAME};
use crate::base::{JointId, MemberId};
use crate::check::outcome::{is_axial_varying, numbers};
use crate::statics::spans::{SpanLoad, Spans};
use crate::statics::{CaseResult, End, ResultPart, Wanted};
use crate::structure::{Chain, ClaimSubject, Inside, Passage, ResultOf, Structure, ValueClaim, unit};
use crate::syntax::tree::Relation;

/// Claims on longer chains are not looked into.
const MOST_MEMBERS: usize = 8;
/// Shares of the claimed size within which the density of candidates is taken.
const NEIGHBOURHOODS: [f64; 2] = [0.5, 0.1];

/// A claim with the few results it hangs on.
pub struct Trial<'a> {
    structure: &'a Structure,
    pub claim: ValueClaim,
    pub aim: Aim,
    pub wanted: Vec<Wanted>,
    /// What is right.
    pub truth: Vec<f64>,
    /// Loads on the members whose inside the claim is about.
    spans: Spans,
    /// A result in which values are put for a trial.
    scratch: CaseResult,
}

/// Values in place of the true ones, and loads added to those on members.
#[derive(Clone, Debug)]
pub struct Change {
    pub values: Vec<f64>,
    pub spans: Vec<(MemberId, SpanLoad)>,
}

impl Change {
    /// So many times another on top.
    #[must_use]
    pub fn plus(mut self, factor: f64, other: &Change) -> Change {
        self.values.iter_mut().zip(&other.values).for_each(|(value, part)| *value += factor * part);
        self.spans.extend(other.spans.iter().map(|(member, load)| (*member, load.times(factor))));
        self
    }
}

impl<'a> Trial<'a> {
    /// `None` for what no slip is looked for in: bounds (but for the largest
    /// moment or shear along a member, which is an answer), `zero`, long chains, an
    /// axial force that varies along its member or is claimed at a place on several.
    pub fn new(
        structure: &'a Structure,
        claim: &ValueClaim,
        result: &CaseResult,
        member: Option<(MemberId, Passage)>,
    ) -> Option<Trial<'a>> {
        let mut claim = claim.clone();
        if let ResultOf::Inside(Inside::Axial, chain) = &mut claim.subject.of {
            if let Some(member) = member {
                chain.path = vec![member];
            }
            let varies = |(member, _): &(MemberId, Passage)| is_axial_varying(structure, *member, result);
            if chain.path.iter().any(varies) || chain.at.is_some() && chain.path.len() > 1 {
                return None;
            }
        }
        match claim.relation {
            Relation::Equals => {}
            Relation::AtMost if claim.subject.is_largest_along() => {
                claim.relation = Relation::Equals;
                claim.numbers = claim.numbers.map(|number| number.abs());
            }
            Relation::AtMost | Relation::AtLeast => return None,
        }
        let claimed = claim.claimed();
        let size = claimed[0].hypot(claimed[1]);
        if size == 0.0 || !size.is_finite() {
            return None;
        }
        let computed = size * COMPUTED;
        let within = claim.figures.unwrap_or([computed; 2]).map(|own| if own > 0.0 { own } else { computed });
        let wanted = wanted(structure, &claim.subject)?;
        let truth: Vec<f64> = wanted.iter().map(|wanted| wanted.of(result)).collect();
        let mut spans = Spans::new();
        for (member, _) in members_bent(&claim.subject) {
            if let Some(loads) = result.spans.get(member) {
                spans.insert(*member, loads.clone());
            }
        }
        // Loads on other members are not copied: there may be many.
        let scratch = CaseResult {
            subject: result.subject,
            reactions: result.reactions.clone(),
            axial: result.axial.clone(),
            moments: result.moments.clone(),
            spans: spans.clone(),
            displacements: result.displacements.clone(),
            residual: result.residual,
            largest: result.largest,
            slack: Vec::new(),
            lifted: Vec::new(),
        };
        let aim = Aim { claimed, within, right: [0.0; 2] };
        let mut trial = Trial { structure, claim, aim, wanted, truth, spans, scratch };
        trial.aim.right = trial.numbers(&trial.unchanged())?;
        Some(trial)
    }

    /// What it takes to work the numbers out once: each load on each of the
    /// stretches that they make.
    pub fn cost(&self) -> usize {
        let loads = self.spans.values().map(|loads| loads.len().saturating_mul(loads.len()));
        loads.fold(1 + self.wanted.len(), usize::saturating_add)
    }

    pub fn unchanged(&self) -> Change {
        Change { values: self.truth.clone(), spans: Vec::new() }
    }

    pub fn nothing(&self) -> Change {
        Change { values: vec![0.0; self.truth.len()], spans: Vec::new() }
    }

    /// All that another result adds, its loads included.
    pub fn part_of(&self, result: &CaseResult) -> Change {
        let inside = result.spans.iter().filter(|(member, _)| self.is_about_inside(**member));
        let spans = inside.flat_map(|(member, loads)| loads.iter().map(|load| (*member, *load)));
        Change { values: self.wanted.iter().map(|wanted| wanted.of(result)).collect(), spans: spans.collect() }
    }

    /// Everything times a factor.
    pub fn times(&self, factor: f64) -> Change {
        let loads = self.spans.iter().flat_map(|(member, loads)| loads.iter().map(|load| (*member, *load)));
        Change {
            values: self.truth.iter().map(|value| value * factor).collect(),
            spans: loads.map(|(member, load)| (member, load.times(factor - 1.0))).collect(),
        }
    }

    /// What another result has instead, under the same loads.
    pub fn as_in(&self, other: &CaseResult) -> Change {
        let values: Vec<f64> = self.wanted.iter().map(|wanted| wanted.of(other)).collect();
        match (self.pushes(), values.as_slice()) {
            // Its size, whatever line it pushes along there.
            (Some(_), [x, y]) => self.pushing(x.hypot(*y) * if *y < 0.0 { -1.0 } else { 1.0 }),
            _ => Change { values, spans: Vec::new() },
        }
    }

    /// The line along which a roller pushes, of length one, where the claim is
    /// about how hard it does.
    pub fn pushes(&self) -> Option<[f64; 2]> {
        let subject = &self.claim.subject;
        let ResultOf::Reaction(support) = subject.of else { return None };
        let is_size = subject.vector.is_none() && subject.component.is_none();
        self.structure.supports[support].roller().filter(|_| is_size).map(unit)
    }

    /// A roller's reaction of this size.
    pub fn pushing(&self, size: f64) -> Change {
        let [x, y] = self.pushes().unwrap_or_default();
        Change { values: vec![x * size, y * size], spans: Vec::new() }
    }

    /// Whether loads on a member count for the claim directly.
    pub fn is_about_inside(&self, member: MemberId) -> bool {
        members_bent(&self.claim.subject).iter().any(|(own, _)| *own == member)
    }

    /// The numbers the claim would be compared with.
    pub fn numbers(&mut self, change: &Change) -> Option<[f64; 2]> {
        for (wanted, value) in self.wanted.iter().zip(&change.values) {
            wanted.put(&mut self.scratch, *value);
        }
        for (member, load) in &change.spans {
            self.scratch.spans.entry(*member).or_default().push(*load);
        }
        let found = numbers(self.structure, &self.claim, &self.scratch);
        if !change.spans.is_empty() {
            self.scratch.spans.clone_from(&self.spans);
        }
        found
    }
}

/// The numbers claimed, and how near is near.
#[derive(Clone, Copy, Debug)]
pub struct Aim {
    pub claimed: [f64; 2],
    /// Half a unit of the last figures written.
    pub within: [f64; 2],
    pub right: [f64; 2],
}

impl Aim {
    /// Whether these are the numbers claimed, as written.
    pub fn matches(&self, numbers: [f64; 2]) -> bool {
        self.is_near(numbers, self.within)
    }

    fn is_near(&self, numbers: [f64; 2], within: [f64; 2]) -> bool {
        let pairs = numbers.iter().zip(&self.claimed).zip(&within);
        pairs.into_iter().all(|((number, claimed), within)| (number - claimed).abs() <= within * (1.0 + SAME))
    }

    /// Whether this is what is right.
    pub fn is_right(&self, numbers: [f64; 2]) -> bool {
        self.is_same(numbers, self.right)
    }

    /// Whether two numbers differ by rounding only.
    pub fn is_same(&self, a: [f64; 2], b: [f64; 2]) -> bool {
        let near = SAME * self.size().max(self.right[0].hypot(self.right[1]));
        a.iter().zip(&b).all(|(a, b)| (a - b).abs() <= near)
    }

    fn size(&self) -> f64 {
        self.claimed[0].hypot(self.claimed[1])
    }

    /// The chance that a number near the claimed one, taken at random, is one
    /// of these as the claim is written: their density around it times the
    /// width of its last figure.
    pub fn chance(&self, candidates: &[[f64; 2]]) -> f64 {
        let of = |share: f64| {
            let wide = share * self.size();
            let mut reach = self.within;
            let mut odds = 1.0;
            for ((within, right), claimed) in reach.iter_mut().zip(self.right).zip(self.claimed) {
                // A component that is right as it stands was not taken at random.
                if (right - claimed).abs() > *within {
                    odds *= (*within / wide).min(1.0);
                    *within = wide;
                }
            }
            let near = candidates.iter().filter(|numbers| self.is_near(**numbers, reach)).count();
            #[allow(clippy::cast_precision_loss)]
            let near = near as f64;
            near * odds
        };
        NEIGHBOURHOODS.into_iter().map(of).fold(0.0, f64::max)
    }
}

/// The members on which loads count for a claim directly.
fn members_bent(subject: &ClaimSubject) -> &[(MemberId, Passage)] {
    match &subject.of {
        ResultOf::Inside(Inside::Shear | Inside::Moment, chain) | ResultOf::Deflection(chain) => &chain.path,
        ResultOf::Inside(Inside::Axial, _)
        | ResultOf::Reaction(_)
        | ResultOf::Couple(_)
        | ResultOf::Movement(_)
        | ResultOf::Rotation(_) => &[],
    }
}

/// The results a claim hangs on.
fn wanted(structure: &Structure, subject: &ClaimSubject) -> Option<Vec<Wanted>> {
    let ends = |(member, _): &(MemberId, Passage)| End::BOTH.map(|end| Wanted::EndMoment(*member, end));
    let moves = |joint: JointId| [ResultPart::X, ResultPart::Y].map(|part| Wanted::Movement(joint, part));
    if subject.of.path().len() > MOST_MEMBERS {
        return None;
    }
    Some(match &subject.of {
        ResultOf::Reaction(support) => {
            [ResultPart::X, ResultPart::Y].map(|part| Wanted::Reaction(*support, part)).into()
        }
        ResultOf::Couple(support) => vec![Wanted::Reaction(*support, ResultPart::Turn)],
        ResultOf::Movement(joint) => moves(*joint).into(),
        ResultOf::Rotation(joint) => vec![Wanted::Movement(*joint, ResultPart::Turn)],
        ResultOf::Inside(Inside::Axial, Chain { path, .. }) => {
            path.iter().map(|(member, _)| Wanted::Axial(*member)).collect()
        }
        ResultOf::Inside(Inside::Shear | Inside::Moment, Chain { path, .. }) => path.iter().flat_map(ends).collect(),
        ResultOf::Deflection(Chain { path, .. }) => {
            let mut joints: Vec<JointId> =
                path.iter().map(|(id, _)| &structure.members[*id]).flat_map(|m| [m.start, m.end]).collect();
            joints.sort_unstable();
            joints.dedup();
            joints.into_iter().flat_map(moves).chain(path.iter().flat_map(ends)).collect()
        }
    })
}
