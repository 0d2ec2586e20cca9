//! A fill-reducing order and the shape of the factor it leads to.
//!
//! The unknowns are small groups of rows; two groups are neighbours when a
//! column touches both. From the order follow the elimination tree (Liu, 1990)
//! and fronts: runs of groups that share their pattern below and are eliminated
//! as one dense table.
//!
//! Must not know: the values.

use super::error::NumericError;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::amd;

/// An undirected graph: sorted neighbour lists without loops.
#[derive(Clone, Debug)]
pub struct Graph {
    starts: Vec<u32>,
    neighbours: Vec<u32>,
}

/// The most neighbour entries a graph may have: columns that each touch very many groups fill a table of that size.
pub const MAX_NEIGHBOURS: u64 = 100_000_000;

impl Graph {
    /// The graph on `n` groups in which the groups of each list are all neighbours of one another.
    #[allow(clippy::cast_possible_truncation)]
    pub fn from_cliques<'a>(n: usize, cliques: impl Iterator<Item = &'a [u32]> + Clone) -> Result<Self, NumericError> {
        let total: u64 = cliques.clone().map(|list| (list.len() as u64).saturating_pow(2)).fold(0, u64::saturating_add);
        if total > MAX_NEIGHBOURS {
            return Err(NumericError::TooLarge { entries: total });
        }
        let mut starts = vec![0u32; n + 1];
        for list in cliques.clone() {
            for &a in list {
                starts[a as usize + 1] += list.len() as u32 - 1;
            }
        }
        for v in 0..n {
            starts[v + 1] += starts[v];
        }
        let mut next = starts.clone();
        let mut all = vec![0u32; starts[n] as usize];
        for list in cliques {
            for (i, &a) in list.iter().enumerate() {
                for (j, &b) in list.iter().enumerate() {
                    if i != j {
                        all[next[a as usize] as usize] = b;
                        next[a as usize] += 1;
                    }
                }
            }
        }
        // Sorts each list, drops what comes twice, and closes the gaps.
        let (mut write, mut begin) = (0usize, 0usize);
        for v in 0..n {
            let end = starts[v + 1] as usize;
            all[begin..end].sort_unstable();
            starts[v] = write as u32;
            let mut last = u32::MAX;
            for read in begin..end {
                if all[read] != last && all[read] != v as u32 {
                    last = all[read];
                    all[write] = last;
                    write += 1;
                }
            }
            begin = end;
        }
        starts[n] = write as u32;
        all.truncate(write);
        Ok(Graph { starts, neighbours: all })
    }

    pub fn len(&self) -> usize {
        self.starts.len() - 1
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    pub fn neighbours(&self, v: usize) -> &[u32] {
        &self.neighbours[self.starts[v] as usize..self.starts[v + 1] as usize]
    }
}

/// The approximate minimum degree order: item `k` is the group eliminated `k`-th.
pub fn minimum_degree(graph: &Graph) -> Result<Vec<u32>, NumericError> {
    let n = graph.len();
    let mut order = vec![0u32; n];
    let mut inverse = vec![0u32; n];
    let request = amd::order_scratch::<u32>(n, graph.neighbours.len());
    let mut memory = MemBuffer::try_new(request).map_err(|_| NumericError::OutOfMemory)?;
    let pattern = SymbolicSparseColMatRef::new_checked(n, n, &graph.starts, None, &graph.neighbours);
    amd::order(&mut order, &mut inverse, pattern, amd::Control::default(), MemStack::new(&mut memory))
        .map_err(|_| NumericError::OutOfMemory)?;
    Ok(order)
}

/// A run of consecutive places of the order, eliminated as one dense table.
#[derive(Clone, Debug)]
pub struct Front {
    /// Its places: `begin..end`.
    pub begin: u32,
    pub end: u32,
    /// The front that takes its remainder, or `u32::MAX` at a root.
    pub parent: u32,
    /// Where its later places are listed in [`Shape::later`].
    pub later: std::ops::Range<usize>,
}

/// The shape of a factor: which groups are eliminated when, and what each front touches.
#[derive(Clone, Debug)]
pub struct Shape {
    /// Place → group.
    pub order: Vec<u32>,
    /// Group → place.
    pub place: Vec<u32>,
    /// Place → its first scalar unknown, with the total as a last item.
    pub first: Vec<u32>,
    /// Children before parents; the descendants of a front are a run that ends just before it.
    pub fronts: Vec<Front>,
    /// The places after a front's own that it touches, ascending, front after front.
    pub later: Vec<u32>,
    /// Place → front.
    pub front_of: Vec<u32>,
    /// The numbers the factor stores.
    pub entries: u64,
    /// Multiplications the factorisation takes.
    pub products: f64,
}

const NONE: u32 = u32::MAX;

impl Shape {
    /// The shape for eliminating `graph` in `order`, where a group holds `widths` scalar unknowns.
    pub fn of(graph: &Graph, order: Vec<u32>, widths: &[u32]) -> Self {
        let parents = elimination_tree(graph, &order);
        let order: Vec<u32> = post_order(&parents).iter().map(|&k| order[k as usize]).collect();
        let place = inverse(&order);
        let parents = elimination_tree(graph, &order);
        let mut first = Vec::with_capacity(order.len() + 1);
        first.push(0u32);
        for &group in &order {
            first.push(first.last().copied().unwrap_or(0) + widths[group as usize]);
        }
        let heights = column_heights(graph, &order, &place, &parents, widths);
        let mut fronts = gather_fronts(&parents, &heights, &first);
        let mut shape = Shape {
            front_of: vec![0; order.len()],
            order,
            place,
            first,
            fronts: Vec::new(),
            later: Vec::new(),
            entries: 0,
            products: 0.0,
        };
        shape.list_later(graph, &mut fronts);
        shape.fronts = fronts;
        shape
    }

    /// The scalar unknowns of a front: own, later.
    pub fn size(&self, front: &Front) -> (usize, usize) {
        let own = self.first[front.end as usize] - self.first[front.begin as usize];
        let later: u32 =
            self.later[front.later.clone()].iter().map(|&p| self.first[p as usize + 1] - self.first[p as usize]).sum();
        (own as usize, later as usize)
    }

    #[allow(clippy::cast_possible_truncation)]
    fn list_later(&mut self, graph: &Graph, fronts: &mut [Front]) {
        let mut seen = vec![NONE; self.order.len()];
        let mut children: Vec<Vec<u32>> = vec![Vec::new(); fronts.len()];
        for (f, front) in fronts.iter().enumerate() {
            self.front_of[front.begin as usize..front.end as usize].fill(f as u32);
        }
        for f in 0..fronts.len() {
            let (begin, end) = (fronts[f].begin, fronts[f].end);
            let mut list: Vec<u32> = Vec::new();
            let mut note = |p: u32| {
                if p >= end && seen[p as usize] != f as u32 {
                    seen[p as usize] = f as u32;
                    list.push(p);
                }
            };
            for p in begin..end {
                for &v in graph.neighbours(self.order[p as usize] as usize) {
                    note(self.place[v as usize]);
                }
            }
            for &child in &children[f] {
                self.later[fronts[child as usize].later.clone()].iter().for_each(|&p| note(p));
            }
            list.sort_unstable();
            fronts[f].parent = list.first().map_or(NONE, |&p| self.front_of[p as usize]);
            if let Some(siblings) = children.get_mut(fronts[f].parent as usize) {
                siblings.push(f as u32);
            }
            fronts[f].later = self.later.len()..self.later.len() + list.len();
            self.later.extend(list);
            let (own, later) = self.size(&fronts[f]);
            let (w, u) = (own as f64, later as f64);
            self.entries += (own * (own + later)) as u64;
            self.products += w * w * w / 6.0 + w * w * u / 2.0 + w * u * u / 2.0;
            children[f] = Vec::new();
        }
    }
}

#[allow(clippy::cast_possible_truncation)]
fn inverse(order: &[u32]) -> Vec<u32> {
    let mut place = vec![0; order.len()];
    for (p, &v) in order.iter().enumerate() {
        place[v as usize] = p as u32;
    }
    place
}

/// The parent of each place, or `NONE`: Liu's algorithm with path compression.
#[allow(clippy::cast_possible_truncation)]
fn elimination_tree(graph: &Graph, order: &[u32]) -> Vec<u32> {
    let place = inverse(order);
    let mut parents = vec![NONE; order.len()];
    let mut ancestors = vec![NONE; order.len()];
    for (j, &v) in order.iter().enumerate() {
        for &u in graph.neighbours(v as usize) {
            let mut i = place[u as usize];
            while i < j as u32 {
                let next = std::mem::replace(&mut ancestors[i as usize], j as u32);
                if next == NONE {
                    parents[i as usize] = j as u32;
                    break;
                }
                i = next;
            }
        }
    }
    parents
}

/// The places so listed that every subtree is a run ending in its root.
#[allow(clippy::cast_possible_truncation)]
fn post_order(parents: &[u32]) -> Vec<u32> {
    let n = parents.len();
    let (mut child, mut sibling) = (vec![NONE; n], vec![NONE; n]);
    let mut roots = Vec::new();
    for v in (0..n).rev() {
        match child.get_mut(parents[v] as usize) {
            Some(head) => sibling[v] = std::mem::replace(head, v as u32),
            None => roots.push(v as u32),
        }
    }
    let mut list = Vec::with_capacity(n);
    while let Some(v) = roots.pop() {
        match std::mem::replace(&mut child[v as usize], NONE) {
            NONE => list.push(v),
            first => {
                // Its parent is listed after its subtree; siblings wait below it on the stack.
                roots.push(v);
                let bottom = roots.len();
                let mut c = first;
                while c != NONE {
                    roots.push(c);
                    c = sibling[c as usize];
                }
                roots[bottom..].reverse();
            }
        }
    }
    list
}

/// The scalar height of each place's column in the factor, its own unknowns included.
#[allow(clippy::cast_possible_truncation)]
fn column_heights(graph: &Graph, order: &[u32], place: &[u32], parents: &[u32], widths: &[u32]) -> Vec<u32> {
    let mut heights: Vec<u32> = order.iter().map(|&v| widths[v as usize]).collect();
    let mut seen = vec![NONE; order.len()];
    for (j, &v) in order.iter().enumerate() {
        seen[j] = j as u32;
        for &u in graph.neighbours(v as usize) {
            let mut i = place[u as usize];
            // Row j of the factor is the paths from its earlier neighbours up to j.
            while i < j as u32 && seen[i as usize] != j as u32 {
                seen[i as usize] = j as u32;
                heights[i as usize] += widths[v as usize];
                i = parents[i as usize];
            }
        }
    }
    heights
}

/// Runs of places with one pattern, then neighbours in the tree joined where that costs few stored zeros.
#[allow(clippy::cast_possible_truncation)]
fn gather_fronts(parents: &[u32], heights: &[u32], first: &[u32]) -> Vec<Front> {
    struct Run {
        begin: u32,
        end: u32,
        height: u64,
        zeros: u64,
    }
    let width = |begin: u32, end: u32| u64::from(first[end as usize] - first[begin as usize]);
    let mut runs: Vec<Run> = Vec::new();
    for p in 0..parents.len() as u32 {
        let height = u64::from(heights[p as usize]);
        if let Some(run) = runs.last_mut() {
            let last = run.end - 1;
            if parents[last as usize] == p && u64::from(heights[last as usize]) == height + width(last, p) {
                run.end = p + 1;
                continue;
            }
        }
        runs.push(Run { begin: p, end: p + 1, height, zeros: 0 });
    }
    let mut joined: Vec<Run> = Vec::with_capacity(runs.len());
    for mut run in runs {
        while let Some(child) = joined.last() {
            if parents[child.end as usize - 1] < run.begin || parents[child.end as usize - 1] >= run.end {
                break;
            }
            let own = width(child.begin, child.end);
            let zeros = child.zeros + run.zeros + own * (run.height + own - child.height);
            let all = width(child.begin, run.end);
            let stored = all * (run.height + own) - all * all / 2;
            let cheap = (all <= 8 && zeros * 2 <= stored) || (all <= 24 && zeros * 5 <= stored) || zeros * 20 <= stored;
            if !cheap {
                break;
            }
            run = Run { begin: child.begin, end: run.end, height: run.height + own, zeros };
            joined.pop();
        }
        joined.push(run);
    }
    joined.iter().map(|run| Front { begin: run.begin, end: run.end, parent: NONE, later: 0..0 }).collect()
}
