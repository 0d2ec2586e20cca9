//! Whether a structure asks for more results, or more answers to claims, than
//! are worked out: each line is in bounds, and their products need not be.
//!
//! Must not know: how forces are found.

use rustc_hash::FxHashMap;

use crate::base::{Budget, CaseId, IdVec, MemberId, Origin, memory};
use crate::diagnostic::{Diagnostic, Slug};
use crate::structure::{Case, Claim, ClaimKind, Passage, Structure, Under};

/// Results of cases and combinations, one for each member, joint and support.
const MOST_RESULTS: usize = 32_000_000;
/// What one of them takes, bytes.
const BYTES_OF_RESULT: usize = 56;
/// Claims, and cases looked at for claims under all of them.
const MOST_CLAIMS: usize = 200_000;
const MOST_LOOKS: usize = 5_000_000;
/// A look at a member with loads between its ends takes this many times the
/// square of their number, over those of its ends.
const LOADS_AT_A_LOOK: usize = 16;

/// Loads on a member in one case count as many from here on: each is looked at
/// on each of the stretches that they all make.
const MANY_LOADS: u64 = 500;
const MOST_STRETCHES: u64 = 50_000_000;

/// Trains of loads: each is followed both ways and added up again.
const MOST_TRAINS: usize = 500;

/// What is beyond the limits, at the last case, combination or claim that is.
pub fn check_size(structure: &Structure) -> Option<Diagnostic> {
    let cases = structure.cases.len() + structure.combinations.len();
    let parts = structure.members.len() + structure.joints.len() + structure.supports.len();
    let most = MOST_RESULTS.min(memory::room_for(BYTES_OF_RESULT));
    if cases.saturating_mul(parts) > most {
        let at = structure.combinations.last().map(|combination| combination.origin);
        let at = at.or_else(|| structure.cases.last().map(|case| case.origin))?;
        let why = format!(
            "{cases} cases and combinations of {parts} members, joints and supports make {} results; at most \
             {most} are worked out{}.",
            cases.saturating_mul(parts),
            if most < MOST_RESULTS { " within the budget of memory" } else { "" }
        );
        let help = "solve some cases at a time, in files of their own that take the structure in with `use`";
        return Some(over(at, "there are too many cases for so large a structure", why, help));
    }
    if let Some(over) = too_many_loads(structure) {
        return Some(over);
    }
    if let Some(travel) = structure.travels.get(MOST_TRAINS) {
        let why =
            format!("{} travelling loads are stated; at most {MOST_TRAINS} are followed.", structure.travels.len());
        let help = "follow some at a time, in files of their own that take the structure in with `use`";
        return Some(over(travel.origin, "there are too many travelling loads", why, help));
    }
    let claims = structure.claims.len();
    let help = "claim what matters; a limit such as `<= 20 kN*m` holds along a whole chain";
    if let Some(claim) = structure.claims.get(MOST_CLAIMS) {
        let why = format!("{claims} claims are stated; at most {MOST_CLAIMS} are judged.");
        return Some(over(claim.origin, "there are too many claims", why, help));
    }
    let looks = Looks::of(structure);
    let mut budget = Budget::of(MOST_LOOKS);
    for claim in &structure.claims {
        if !budget.take(looks.at(claim)) {
            let why = format!(
                "Claims look at the members they are about in every case they hold in, at each load along them: \
                 up to here more than {MOST_LOOKS} times; no more is answered."
            );
            return Some(over(claim.origin, "there are too many claims for so many cases and loads", why, help));
        }
    }
    None
}

/// What claims look at: members, in cases and combinations, with the loads
/// between their ends.
struct Looks {
    /// The most loads on a member in one case or combination.
    loads: FxHashMap<MemberId, usize>,
    results: usize,
}

impl Looks {
    fn of(structure: &Structure) -> Looks {
        let mut loads: FxHashMap<MemberId, usize> = FxHashMap::default();
        for case in &structure.cases {
            let mut own: FxHashMap<MemberId, usize> = FxHashMap::default();
            case.loads
                .iter()
                .filter_map(|load| load.kind.between_joints())
                .for_each(|member| *own.entry(member).or_default() += 1);
            for (member, count) in own {
                let most = loads.entry(member).or_default();
                // A combination may hold all cases.
                *most = if structure.combinations.is_empty() { count.max(*most) } else { count + *most };
            }
        }
        let results = structure.cases.len() + structure.combinations.len();
        Looks { loads, results }
    }

    /// How many looks a claim takes.
    fn at(&self, claim: &Claim) -> usize {
        let ClaimKind::Value(value) = &claim.kind else { return 0 };
        let at_member = |(member, _): &(MemberId, Passage)| {
            let loads = self.loads.get(member).copied().unwrap_or(0);
            1 + loads.saturating_mul(loads) / LOADS_AT_A_LOOK
        };
        let once =
            value.subject.of.chain().map_or(1, |chain| chain.path.iter().map(at_member).fold(0, usize::saturating_add));
        match value.subject.under {
            Under::All | Under::Unsaid => once.saturating_mul(self.results),
            Under::Case(_) | Under::Combination(_) | Under::Travel(_) => once,
        }
    }
}

/// Loads between the ends of one member, in all cases of one combination.
fn too_many_loads(structure: &Structure) -> Option<Diagnostic> {
    type Counts = FxHashMap<MemberId, (u64, Origin)>;
    let count = |case: &Case| {
        let mut on = Counts::default();
        for load in &case.loads {
            let Some(member) = load.kind.between_joints() else { continue };
            let entry = on.entry(member).or_insert((0, load.origin));
            *entry = (entry.0 + 1, load.origin);
        }
        on.retain(|_, (count, _)| *count > MANY_LOADS);
        on
    };
    let counts: IdVec<CaseId, Counts> = structure.cases.iter().map(count).collect();
    let cases = counts.ids().map(|case| vec![case]);
    let combinations =
        structure.combinations.iter().map(|combination| combination.factors.iter().map(|(case, _)| *case).collect());
    let mut stretches: u64 = 0;
    for cases in cases.chain(combinations) {
        let mut on: FxHashMap<MemberId, u64> = FxHashMap::default();
        for (member, (count, origin)) in cases.into_iter().flat_map(|case| &counts[case]) {
            let sum = on.entry(*member).or_default();
            stretches = stretches.saturating_add(count.saturating_mul(count + 2 * *sum));
            *sum += count;
            if stretches > MOST_STRETCHES {
                let name = structure.member_name(*member);
                let why = format!(
                    "{count} loads act on {name} in one case. Each stretch between two of them is worked out with all \
                     of them; at most {MOST_STRETCHES} times a load on a stretch are worked out."
                );
                let help = "join loads that stand close together to one spread along the member";
                return Some(over(*origin, "there are too many loads on one member", why, help));
            }
        }
    }
    None
}

fn over(at: Origin, headline: &str, why: String, help: &str) -> Diagnostic {
    Diagnostic::new(Slug::OverLimit, headline).label(at, "the limit is passed here").why(why).help(help)
}
