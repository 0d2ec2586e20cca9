//! Things that belong together: disjoint sets, and lists kept end to end.
//!
//! Must not know: what is joined, or why.

/// Disjoint sets of the numbers below a count (Tarjan, "Efficiency of a good
/// but not linear set union algorithm", 1975, with halved paths). A set goes by
/// its least number, whatever the order of joining.
#[derive(Clone, Debug)]
pub struct DisjointSets {
    parents: Vec<u32>,
}

impl DisjointSets {
    /// Each number in a set of its own.
    #[allow(clippy::cast_possible_truncation)]
    pub fn new(count: usize) -> DisjointSets {
        DisjointSets { parents: (0..count as u32).collect() }
    }

    /// The least number of the set of each number.
    pub fn into_roots(mut self) -> Vec<u32> {
        // A parent is never above its child, so one pass upward settles all.
        for index in 0..self.parents.len() {
            let above = self.parents.get(index).and_then(|&parent| self.parents.get(parent as usize)).copied();
            if let (Some(above), Some(slot)) = (above, self.parents.get_mut(index)) {
                *slot = above;
            }
        }
        self.parents
    }

    /// A number beyond the count is its own.
    #[allow(clippy::cast_possible_truncation)]
    fn root(&mut self, index: usize) -> usize {
        let mut index = index as u32;
        while let Some(&parent) = self.parents.get(index as usize)
            && parent != index
        {
            let above = self.parents.get(parent as usize).copied().unwrap_or(parent);
            if let Some(slot) = self.parents.get_mut(index as usize) {
                *slot = above;
            }
            index = above;
        }
        index as usize
    }

    #[allow(clippy::cast_possible_truncation)]
    pub fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if let Some(slot) = self.parents.get_mut(a.max(b)) {
            *slot = a.min(b) as u32;
        }
    }
}

/// A list for each number below a count, all in one vector: two allocations
/// where a vector of vectors makes one a list.
#[derive(Clone, Debug)]
pub struct Lists<T> {
    /// Where each list begins, with the end as a last item.
    starts: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy> Lists<T> {
    /// The items `walk` gives, each with its list's number; it is walked twice,
    /// and each list keeps the order. Items of lists beyond the count are left out.
    pub fn of<I: DoubleEndedIterator<Item = (usize, T)>>(count: usize, walk: impl Fn() -> I) -> Lists<T> {
        let mut starts = vec![0u32; count + 1];
        for (list, _) in walk() {
            if list < count
                && let Some(length) = starts.get_mut(list)
            {
                *length += 1;
            }
        }
        let mut total = 0;
        for start in &mut starts {
            total += *start;
            *start = total;
        }
        let mut items: Vec<T> = walk().next().map_or_else(Vec::new, |(_, item)| vec![item; total as usize]);
        // Filled from the end, so that each list begins where it is last written.
        for (list, item) in walk().rev().filter(|(list, _)| *list < count) {
            let Some(start) = starts.get_mut(list) else { continue };
            *start -= 1;
            if let Some(slot) = items.get_mut(*start as usize) {
                *slot = item;
            }
        }
        Lists { starts, items }
    }

    /// How many lists there are.
    pub fn len(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Empty beyond the last list.
    pub fn list(&self, list: usize) -> &[T] {
        let range = self.starts.get(list..).and_then(|rest| rest.first_chunk::<2>());
        range.and_then(|[start, end]| self.items.get(*start as usize..*end as usize)).unwrap_or(&[])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_go_by_their_least_number_in_any_order_of_joining() {
        let pairs = [(5, 3), (7, 5), (1, 0), (3, 9)];
        for turn in 0..pairs.len() {
            let mut sets = DisjointSets::new(10);
            (0..pairs.len()).for_each(|k| {
                let (a, b) = pairs[(k + turn) % pairs.len()];
                sets.join(a, b);
            });
            assert_eq!(sets.into_roots(), [0, 0, 2, 3, 4, 3, 6, 3, 8, 3], "from {turn}");
        }
    }

    #[test]
    fn lists_keep_their_order_and_end_with_the_last() {
        let pairs = [(2, 'a'), (0, 'b'), (2, 'c'), (3, 'd'), (0, 'e')];
        let lists = Lists::of(3, || pairs.iter().copied());
        assert_eq!(lists.len(), 3);
        assert_eq!([0, 1, 2, 3].map(|list| lists.list(list).iter().collect::<String>()), ["be", "", "ac", ""]);
        assert!(Lists::<u8>::of(0, std::iter::empty).list(0).is_empty());
    }
}
