//! Which of the slips tried are told, claim by claim and then over all wrong
//! claims of one file: who makes a slip in setting up a problem has it in every
//! answer that follows.
//!
//! Must not know: how a slip is tried, words for people.

use crate::base::Origin;

use super::group::Group;
use super::kinds::{LoadSlip, Slip};
use super::trial::Aim;

/// The chance at which a match means too little to be told.
const MOST_CHANCE: f64 = 0.05;

/// A slip and what it would give.
pub struct Tried {
    pub slip: Slip,
    pub key: Key,
    pub numbers: [f64; 2],
    /// Whether others on the sheet contradict it: it is thought of, not told.
    pub is_contradicted: bool,
}

/// A slip in whatever claim it is met: the load by its statement, not by its
/// place among those of one case.
#[derive(Clone, Debug, PartialEq)]
pub enum Key {
    Load(LoadSlip, Origin, (crate::base::CaseId, Option<u32>)),
    Loads([Origin; 2]),
    Other(Slip),
}

impl Key {
    pub fn of(slip: Slip, groups: &[Group]) -> Key {
        let group = |index: usize| groups.get(index);
        match slip {
            Slip::Load(own, index) => {
                group(index).map_or(Key::Other(slip), |group| Key::Load(own, group.origin, group.turn))
            }
            Slip::LoadsExchanged(a, b) => match (group(a), group(b)) {
                (Some(a), Some(b)) => Key::Loads([a.origin, b.origin]),
                _ => Key::Other(slip),
            },
            other => Key::Other(other),
        }
    }
}

/// One wrong claim and all that was tried for it, the simplest first.
pub struct Inquiry {
    pub aim: Aim,
    pub tried: Vec<Tried>,
}

impl Inquiry {
    pub fn new(aim: Aim, mut tried: Vec<Tried>) -> Inquiry {
        // What changes nothing explains nothing.
        tried.retain(|tried| !aim.is_right(tried.numbers));
        tried.sort_by_key(|tried| tried.slip.rank());
        Inquiry { aim, tried }
    }

    fn matching(&self) -> impl Iterator<Item = &Tried> {
        self.tried.iter().filter(|tried| self.is_met(tried))
    }

    fn is_met(&self, tried: &Tried) -> bool {
        !tried.is_contradicted && self.aim.matches(tried.numbers)
    }

    /// The numbers with a slip: the right ones where it changes nothing.
    pub fn with(&self, key: &Key) -> [f64; 2] {
        let tried = self.tried.iter().find(|tried| tried.key == *key);
        tried.map_or(self.aim.right, |tried| tried.numbers)
    }

    /// By itself: the slips that give its number, as far as a match means
    /// something, without those that say the same in other words.
    fn alone(&self) -> Vec<&Tried> {
        let mut considered: Vec<[f64; 2]> = Vec::new();
        let mut matches: Vec<&Tried> = Vec::new();
        for same in self.tried.chunk_by(|a, b| a.slip.rank() == b.slip.rank()) {
            self.consider(&mut considered, same.iter());
            if self.aim.chance(&considered) > MOST_CHANCE {
                break;
            }
            matches.extend(same.iter().filter(|tried| self.is_met(tried)));
        }
        // What gives the very same number costs no chance, however late it is thought of.
        let later: Vec<&Tried> = self
            .matching()
            .filter(|tried| !matches.iter().any(|own| own.key == tried.key))
            .filter(|tried| matches.iter().any(|own| self.aim.is_same(own.numbers, tried.numbers)))
            .collect();
        matches.extend(later);
        self.distinct(matches)
    }

    /// Takes in the numbers that are not considered yet.
    fn consider<'t>(&self, considered: &mut Vec<[f64; 2]>, tried: impl Iterator<Item = &'t Tried>) {
        for Tried { numbers, .. } in tried {
            if !considered.iter().any(|other| self.aim.is_same(*other, *numbers)) {
                considered.push(*numbers);
            }
        }
    }

    /// Without slips that say the same as one before them.
    fn distinct<'t>(&self, matches: Vec<&'t Tried>) -> Vec<&'t Tried> {
        let says_the_same = |own: &Tried, tried: &Tried| own.slip != tried.slip && self.says_the_same(own, tried);
        let mut kept: Vec<&Tried> = Vec::new();
        for tried in matches {
            if !kept.iter().any(|own| says_the_same(own, tried)) {
                kept.push(tried);
            }
        }
        kept
    }

    fn says_the_same(&self, own: &Tried, other: &Tried) -> bool {
        self.aim.is_same(own.numbers, other.numbers) && own.slip.says_the_same(other.slip)
    }

    /// Two at most. More of one number are the likeliest two of them; more
    /// numbers than two are none.
    fn at_most_two<'t>(&self, matches: Vec<&'t Tried>) -> Vec<&'t Tried> {
        if matches.len() <= 2 {
            return matches;
        }
        let mut numbers: Vec<&Tried> = Vec::new();
        for tried in &matches {
            if !numbers.iter().any(|other| self.aim.is_same(other.numbers, tried.numbers)) {
                numbers.push(tried);
            }
        }
        match numbers.len() {
            1 => matches.into_iter().take(2).collect(),
            2 => numbers,
            _ => Vec::new(),
        }
    }
}

/// A slip to be told.
pub struct Told {
    pub slip: Slip,
    /// Whether the sense is reversed besides.
    pub is_reversed: bool,
}

/// The slips told of each claim of one file: one, two of which either may be
/// it, or none.
pub fn choose(sheet: &[&Inquiry]) -> Vec<Vec<Told>> {
    let alone: Vec<Vec<&Tried>> = sheet.iter().map(|inquiry| inquiry.alone()).collect();
    let matching: Vec<Vec<&Tried>> = sheet.iter().map(|inquiry| inquiry.matching().collect()).collect();
    // Beyond doubt is what alone gives a number, whatever else is thought of.
    let mut proved: Vec<&Key> = Vec::new();
    for ((inquiry, found), matching) in sheet.iter().zip(&alone).zip(&matching) {
        if let [only] = found.as_slice()
            && !only.slip.is_of_answer()
            && matching.iter().all(|tried| tried.key == only.key || inquiry.says_the_same(only, tried))
            && !proved.contains(&&only.key)
        {
            proved.push(&only.key);
        }
    }
    let count =
        |lists: &[Vec<&Tried>], key: &Key| lists.iter().filter(|own| own.iter().any(|tried| tried.key == *key)).count();
    let explains = |key: &Key| count(&matching, key);
    let proved: Vec<(&Key, usize)> = proved.into_iter().map(|key| (key, explains(key))).collect();
    let tell = |tried: &Tried, is_reversed| Told { slip: tried.slip, is_reversed };
    let choice = |(inquiry, found): (&&Inquiry, &Vec<&Tried>)| -> Vec<Told> {
        let by_others = by_others(inquiry, found, &proved, &explains);
        if by_others.is_none()
            && found.is_empty()
            && let Some(tried) = reversed_too(inquiry, &proved)
        {
            return vec![tell(tried, true)];
        }
        let own = || inquiry.at_most_two(most_shared(found, |key| count(&alone, key)));
        by_others.unwrap_or_else(own).into_iter().map(|tried| tell(tried, false)).collect()
    };
    sheet.iter().zip(&alone).map(choice).collect()
}

/// Of several slips the one that is met in most claims.
fn most_shared<'s>(found: &[&'s Tried], met: impl Fn(&Key) -> usize) -> Vec<&'s Tried> {
    let most = found.iter().map(|tried| met(&tried.key)).max().unwrap_or_default();
    let mut best = found.iter().filter(|tried| met(&tried.key) == most);
    match (best.next(), best.next()) {
        (Some(only), None) if most > 1 => vec![only],
        _ => found.to_vec(),
    }
}

/// The slip proved in other claims that explains this one too, and most of the
/// others; `None` where none does, or where this claim speaks for itself.
fn by_others<'s>(
    inquiry: &'s Inquiry,
    alone: &[&'s Tried],
    proved: &[(&Key, usize)],
    explains: &impl Fn(&Key) -> usize,
) -> Option<Vec<&'s Tried>> {
    let matching: Vec<(&Tried, usize)> = known(inquiry.matching(), proved).collect();
    let most = matching.iter().map(|(_, weight)| *weight).max()?;
    // An answer right but for its form is likelier than a slip of few claims.
    if alone.iter().any(|tried| tried.slip.is_of_answer() && explains(&tried.key) >= most)
        || !is_telling(inquiry, proved)
    {
        return None;
    }
    let best = matching.iter().filter(|(_, weight)| *weight == most).map(|(tried, _)| *tried).collect();
    let told = inquiry.at_most_two(inquiry.distinct(best));
    (!told.is_empty()).then_some(told)
}

/// The slip proved in several claims that explains this one with the sense
/// reversed.
fn reversed_too<'s>(inquiry: &'s Inquiry, proved: &[(&Key, usize)]) -> Option<&'s Tried> {
    let turned = inquiry.tried.iter().filter(|tried| !tried.is_contradicted);
    let turned = turned.filter(|tried| inquiry.aim.matches(tried.numbers.map(|number| -number)));
    let mut found = known(turned, proved).filter(|(_, weight)| *weight > 1);
    match (found.next(), found.next()) {
        (Some((only, _)), None) if is_telling(inquiry, proved) => Some(only),
        _ => None,
    }
}

/// Those proved elsewhere, and how many claims each explains.
fn known<'s>(
    tried: impl Iterator<Item = &'s Tried>,
    proved: &[(&Key, usize)],
) -> impl Iterator<Item = (&'s Tried, usize)> {
    tried.filter_map(|tried| {
        let (_, weight) = proved.iter().find(|(key, _)| **key == tried.key)?;
        Some((tried, *weight))
    })
}

/// Whether a match with one of the slips proved elsewhere, the sense reversed
/// or not, means something.
fn is_telling(inquiry: &Inquiry, proved: &[(&Key, usize)]) -> bool {
    let mut considered = Vec::new();
    inquiry.consider(&mut considered, known(inquiry.tried.iter(), proved).map(|(tried, _)| tried));
    let turned: Vec<[f64; 2]> = considered.iter().map(|numbers| numbers.map(|number| -number)).collect();
    considered.extend(turned);
    inquiry.aim.chance(&considered) <= MOST_CHANCE
}
