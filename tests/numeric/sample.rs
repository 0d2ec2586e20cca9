//! Matrices for the tests: small ones at random, large ones that look like the frameworks of the trade.

use kingpost::numeric::{Blocks, ExactMatrix, Field, NumericError, Rng, Sparse};
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Zero};

/// A matrix of doubles, each standing for itself.
pub struct Doubles<'a>(pub &'a Sparse<f64>);

impl ExactMatrix for Doubles<'_> {
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
        let entry = |(row, value): (usize, f64)| (row as u32, F::from_f64(value).unwrap());
        Sparse::from_columns(self.0.rows(), (0..self.0.columns()).map(|column| self.0.column(column).map(entry)))
    }
}

/// So many numbers between −1 and 1.
pub fn numbers(n: usize, rng: &mut Rng) -> Vec<f64> {
    (0..n).map(|_| rng.below(2001) as f64 / 1000.0 - 1.0).collect()
}

/// The size of the largest number.
pub fn largest(numbers: &[f64]) -> f64 {
    numbers.iter().fold(0.0f64, |m, x| m.max(x.abs()))
}

/// A matrix of whole numbers, by columns.
#[derive(Clone, Debug)]
pub struct Whole {
    pub rows: usize,
    pub columns: Vec<Vec<(u32, i64)>>,
}

impl ExactMatrix for Whole {
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
        Sparse::from_columns(
            self.rows,
            self.columns.iter().map(|column| column.iter().map(|&(row, value)| (row, F::from_i64(value)))),
        )
    }
}

impl Whole {
    /// In doubles, each column scaled to unit length.
    pub fn unit(&self) -> Sparse<f64> {
        let unit = |column: &Vec<(u32, i64)>| {
            let length = column.iter().take(2).map(|&(_, v)| (v * v) as f64).sum::<f64>().sqrt();
            column.iter().map(|&(row, value)| (row, value as f64 / length)).collect::<Vec<_>>()
        };
        Sparse::from_columns(self.rows, self.columns.iter().map(unit)).unwrap()
    }

    pub fn dense(&self) -> Vec<Vec<BigRational>> {
        let mut dense = vec![vec![BigRational::zero(); self.columns.len()]; self.rows];
        for (j, column) in self.columns.iter().enumerate() {
            for &(row, value) in column {
                dense[row as usize][j] += BigRational::from(BigInt::from(value));
            }
        }
        dense
    }

    pub fn transposed(&self) -> Whole {
        let mut columns = vec![Vec::new(); self.rows];
        for (j, column) in self.columns.iter().enumerate() {
            for &(row, value) in column {
                columns[row as usize].push((j as u32, value));
            }
        }
        Whole { rows: self.columns.len(), columns }
    }
}

/// A basis of the right null space by Gauss–Jordan elimination in fractions; its length is columns − rank.
pub fn dense_null_space(mut a: Vec<Vec<BigRational>>, columns: usize) -> Vec<Vec<BigRational>> {
    let mut pivots: Vec<(usize, usize)> = Vec::new();
    for column in 0..columns {
        let top = pivots.len();
        let Some(found) = (top..a.len()).find(|&row| !a[row][column].is_zero()) else { continue };
        a.swap(top, found);
        let inverse = a[top][column].recip();
        a[top].iter_mut().for_each(|value| *value *= &inverse);
        for row in (0..a.len()).filter(|&row| row != top) {
            let factor = a[row][column].clone();
            if !factor.is_zero() {
                let lead = a[top].clone();
                a[row].iter_mut().zip(&lead).for_each(|(value, lead)| *value -= &factor * lead);
            }
        }
        pivots.push((top, column));
    }
    let is_pivot = |column: usize| pivots.iter().any(|&(_, c)| c == column);
    (0..columns)
        .filter(|&column| !is_pivot(column))
        .map(|free| {
            let mut vector = vec![BigRational::zero(); columns];
            vector[free] = BigRational::one();
            for &(row, column) in &pivots {
                vector[column] = -a[row][free].clone();
            }
            vector
        })
        .collect()
}

/// A framework as joints (x, y), bars between them, and reactions (joint, direction).
#[derive(Clone, Debug, Default)]
pub struct Frame {
    pub joints: Vec<(i64, i64)>,
    pub bars: Vec<(u32, u32)>,
    pub reactions: Vec<(u32, i64, i64)>,
}

impl Frame {
    pub fn matrix(&self) -> Whole {
        let mut columns = Vec::new();
        for &(a, b) in &self.bars {
            let ((ax, ay), (bx, by)) = (self.joints[a as usize], self.joints[b as usize]);
            let (dx, dy) = (bx - ax, by - ay);
            columns.push(vec![(2 * a, dx), (2 * a + 1, dy), (2 * b, -dx), (2 * b + 1, -dy)]);
        }
        for &(a, x, y) in &self.reactions {
            columns.push(vec![(2 * a, x), (2 * a + 1, y)]);
        }
        Whole { rows: 2 * self.joints.len(), columns }
    }

    pub fn blocks(&self) -> Blocks {
        Blocks::uniform(2 * self.joints.len(), 2)
    }

    fn pinned_and_rolling(mut self, pin: u32, roller: u32) -> Self {
        self.reactions = vec![(pin, 1, 0), (pin, 0, 1), (roller, 0, 1)];
        self
    }

    /// A girder of panels with one diagonal each, pinned at the left end and on a roller at the right.
    pub fn girder(panels: u32) -> Frame {
        let mut frame = Frame::default();
        for i in 0..=panels {
            frame.joints.push((3 * i64::from(i), 0));
            frame.joints.push((3 * i64::from(i), 4));
            frame.bars.push((2 * i, 2 * i + 1));
            if i > 0 {
                frame.bars.push((2 * i - 2, 2 * i));
                frame.bars.push((2 * i - 1, 2 * i + 1));
                frame.bars.push(if i % 2 == 0 { (2 * i - 2, 2 * i + 1) } else { (2 * i - 1, 2 * i) });
            }
        }
        frame.pinned_and_rolling(0, 2 * panels)
    }

    /// A sheet of n × n squares braced along a random spanning tree of the row–column graph: just rigid
    /// by the theorem on bracing a grid (Bolker and Crapo, 1977).
    pub fn sheet(n: u32, seed: u64) -> Frame {
        let mut rng = Rng::new(seed);
        let mut frame = Frame::default();
        let at = |i: u32, j: u32| i * (n + 1) + j;
        for i in 0..=n {
            for j in 0..=n {
                frame.joints.push((i64::from(i), i64::from(j)));
                if i > 0 {
                    frame.bars.push((at(i - 1, j), at(i, j)));
                }
                if j > 0 {
                    frame.bars.push((at(i, j - 1), at(i, j)));
                }
            }
        }
        // Each new row or column of squares is braced to one already in the tree.
        let (mut rows, mut columns) = (1, 1);
        let mut brace = |i: u32, j: u32, rng: &mut Rng| {
            frame.bars.push(if rng.below(2) == 0 {
                (at(i, j), at(i + 1, j + 1))
            } else {
                (at(i + 1, j), at(i, j + 1))
            });
        };
        brace(0, 0, &mut rng);
        while rows < n || columns < n {
            if columns == n || (rows < n && rng.below(2) == 0) {
                brace(rows, rng.below(columns as usize) as u32, &mut rng);
                rows += 1;
            } else {
                brace(rng.below(rows as usize) as u32, columns, &mut rng);
                columns += 1;
            }
        }
        frame.pinned_and_rolling(0, at(n, 0))
    }

    /// Moves every joint a little off its place, so that no two bars at a joint are in line.
    #[must_use]
    pub fn roughened(mut self, seed: u64) -> Self {
        let mut rng = Rng::new(seed);
        for (x, y) in &mut self.joints {
            *x = *x * 1000 + rng.below(401) as i64 - 200;
            *y = *y * 1000 + rng.below(401) as i64 - 200;
        }
        self
    }

    /// A few joints on a small lattice with bars and reactions at random: often deficient, often both ways.
    pub fn random(joints: u32, bars: usize, reactions: usize, seed: u64) -> Frame {
        let mut rng = Rng::new(seed);
        let mut frame = Frame::default();
        while frame.joints.len() < joints as usize {
            let joint = (rng.below(5) as i64, rng.below(5) as i64);
            if !frame.joints.contains(&joint) {
                frame.joints.push(joint);
            }
        }
        let n = frame.joints.len();
        for _ in 0..bars {
            let (a, b) = (rng.below(n) as u32, rng.below(n) as u32);
            if a != b {
                frame.bars.push((a, b));
            }
        }
        for _ in 0..reactions {
            let direction = [(1, 0), (0, 1), (1, 1), (3, -4)][rng.below(4)];
            frame.reactions.push((rng.below(n) as u32, direction.0, direction.1));
        }
        frame
    }
}
