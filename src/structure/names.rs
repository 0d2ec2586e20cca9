//! Interned names and their natural order at scale.
//!
//! Must not know: what a name stands for.

use std::cmp::Ordering;
use std::hash::BuildHasher;

use hashbrown::HashTable;
use rustc_hash::FxBuildHasher;

use crate::base::natural_order;

/// A name of one [`Names`] table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NameId(pub u32);

/// Every distinct name once, all text in one string.
#[derive(Clone, Debug, Default)]
pub struct Names {
    text: String,
    /// Where each name ends in `text`; it begins where the one before ends.
    ends: Vec<u32>,
    table: HashTable<u32>,
}

impl Names {
    pub fn new() -> Self {
        Names::default()
    }

    pub fn get(&self, id: NameId) -> &str {
        slice(&self.text, &self.ends, id.0)
    }

    /// The id of a name already known.
    pub fn find(&self, name: &str) -> Option<NameId> {
        let hash = FxBuildHasher.hash_one(name);
        self.table.find(hash, |id| slice(&self.text, &self.ends, *id) == name).map(|id| NameId(*id))
    }

    /// The same, tried first on names found not long ago and those made known
    /// right after them: a file speaks of near things together, and the table
    /// itself lies scattered over memory.
    pub fn find_near(&self, recent: &mut Recent, name: &str) -> Option<NameId> {
        let is_it = |id: u32| (id as usize) < self.len() && slice(&self.text, &self.ends, id) == name;
        let near = recent.ids.iter().flat_map(|id| [*id, id.saturating_add(1)]).find(|id| is_it(*id));
        let found = near.map(NameId).or_else(|| self.find(name))?;
        recent.note(found.0);
        Some(found)
    }

    /// The id of a name, made known if it was not.
    pub fn intern(&mut self, name: &str) -> NameId {
        if let Some(id) = self.find(name) {
            return id;
        }
        let id = u32::try_from(self.ends.len()).unwrap_or(u32::MAX);
        self.text.push_str(name);
        self.ends.push(u32::try_from(self.text.len()).unwrap_or(u32::MAX));
        let Names { text, ends, table } = self;
        table
            .insert_unique(FxBuildHasher.hash_one(name), id, |other| FxBuildHasher.hash_one(slice(text, ends, *other)));
        NameId(id)
    }

    /// Room for so many names more.
    pub fn reserve(&mut self, names: usize) {
        let Names { text, ends, table } = self;
        ends.reserve(names);
        table.reserve(names, |other| FxBuildHasher.hash_one(slice(text, ends, *other)));
    }

    pub fn len(&self) -> usize {
        self.ends.len()
    }

    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }
}

/// A few names found not long ago.
#[derive(Clone, Copy, Debug, Default)]
pub struct Recent {
    ids: [u32; 4],
    next: usize,
}

impl Recent {
    fn note(&mut self, id: u32) {
        // A name that moves on by one keeps its place.
        let same = self.ids.iter().position(|known| *known == id || known.saturating_add(1) == id);
        let place = same.unwrap_or_else(|| {
            self.next = (self.next + 1) % self.ids.len();
            self.next
        });
        if let Some(slot) = self.ids.get_mut(place) {
            *slot = id;
        }
    }
}

fn slice<'a>(text: &'a str, ends: &[u32], id: u32) -> &'a str {
    let index = id as usize;
    let start = index.checked_sub(1).and_then(|before| ends.get(before)).copied().unwrap_or(0);
    let end = ends.get(index).copied().unwrap_or(start);
    text.get(start as usize..end as usize).unwrap_or("")
}

/// The permutation that puts names into natural order: `order[k]` is the index
/// of the k-th name.
pub fn natural_permutation<'a>(count: usize, name: impl Fn(usize) -> &'a str) -> Vec<u32> {
    let mut keyed: Vec<(u128, u32)> =
        (0..count).map(|index| (sort_key(name(index)), u32::try_from(index).unwrap_or(u32::MAX))).collect();
    let text = |index: u32| name(index as usize);
    keyed.sort_unstable_by(|(key_a, a), (key_b, b)| match key_a.cmp(key_b) {
        Ordering::Equal => natural_order(text(*a), text(*b)).then(a.cmp(b)),
        order => order,
    });
    keyed.into_iter().map(|(_, index)| index).collect()
}

/// The first sixteen bytes of an encoding whose byte order is the natural
/// order: a run of digits becomes `0`, its length without leading zeros, and
/// the digits. Equal keys still need [`natural_order`].
fn sort_key(name: &str) -> u128 {
    let bytes = name.as_bytes();
    let mut key = [0_u8; 16];
    let mut filled = 0;
    let mut push = |byte: u8| {
        if let Some(slot) = key.get_mut(filled) {
            *slot = byte;
            filled += 1;
        }
    };
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        if byte.is_ascii_digit() {
            let run = bytes.get(at..).unwrap_or(&[]);
            let end = run.iter().position(|b| !b.is_ascii_digit()).unwrap_or(run.len());
            let digits = run.get(..end).unwrap_or(&[]);
            let zeros = digits.iter().position(|b| *b != b'0').unwrap_or(digits.len());
            push(b'0');
            push(u8::try_from(end - zeros).unwrap_or(u8::MAX));
            digits.iter().skip(zeros).for_each(|digit| push(*digit));
            at += end;
        } else {
            push(*byte);
            at += 1;
        }
    }
    u128::from_be_bytes(key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interning_twice_gives_one_id() {
        let mut names = Names::new();
        let a = names.intern("A");
        let b = names.intern("B1");
        assert_eq!(names.intern("A"), a);
        assert_eq!(names.get(b), "B1");
        assert_eq!(names.find("C"), None);
        let recent = &mut Recent::default();
        for name in ["A", "C", "B1", "B1", "A", "", "B"] {
            assert_eq!(names.find_near(recent, name), names.find(name), "{name}");
        }
    }

    #[test]
    fn the_permutation_agrees_with_the_pairwise_order() {
        let names = [
            "L10",
            "L2_10",
            "L2_9",
            "L2",
            "L5",
            "L1_2",
            "averyveryverylongname12",
            "averyveryverylongname3",
            "A",
            "L02",
            "Ü",
            "_",
        ];
        let order = natural_permutation(names.len(), |i| names[i]);
        let sorted: Vec<&str> = order.iter().map(|i| names[*i as usize]).collect();
        let mut expected = names.to_vec();
        expected.sort_by(|a, b| natural_order(a, b));
        assert_eq!(sorted, expected);
    }
}
