//! Arithmetic modulo 2^24 − 3 in doubles, for proofs of full rank at speed.
//!
//! Residues lie within ±2^23, so that 100 products sum exactly in a double, in
//! any order, and dense updates run through the floating matrix product. A
//! prime this small now and then finds a dependence where there is none, never
//! the reverse: full rank modulo any prime is full rank.
//!
//! Must not know: matrices; it is given rows and ranges.

use super::field::{Field, Rng, Scalar, subtract_by_tiles};
use faer::linalg::matmul::matmul;
use faer::{Accum, MatMut, MatRef, Par};
use std::ops::Range;

/// An integer modulo 2^24 − 3 as a double, between −2^23 and 2^23. The residue is unique, so equality is equality.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Small(f64);

const P: f64 = 16_777_213.0;
/// So many products of residues sum to less than 2^53, with a residue to spare.
const EXACT: usize = 120;
/// Adding and subtracting it rounds a double below 2^51 to the nearest whole number.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
/// Rows and columns of a tile that goes through the matrix product.
const TILE: usize = 192;
/// Below so many products a row the plain loops are faster.
const SHORT: usize = 12;

/// A residue of a whole number below 2^53 in size; within one of ±P/2, exact below 2^48.
#[inline]
fn reduce(x: f64) -> f64 {
    let quotient = (x * (1.0 / P) + ROUNDER) - ROUNDER;
    x - quotient * P
}

impl Scalar for Small {
    const ZERO: Self = Small(0.0);
    const ONE: Self = Small(1.0);

    #[inline]
    fn add(self, other: Self) -> Self {
        Small(reduce(self.0 + other.0))
    }

    #[inline]
    fn sub(self, other: Self) -> Self {
        Small(reduce(self.0 - other.0))
    }

    #[inline]
    fn mul(self, other: Self) -> Self {
        Small(reduce(self.0 * other.0))
    }
}

impl Field for Small {
    const HALF: Self = Small(-8_388_606.0);
    const DRAWS: usize = 2;

    #[allow(clippy::cast_precision_loss)]
    fn from_i128(value: i128) -> Self {
        // The remainder is below 2^24.
        Small(reduce((value % 16_777_213) as f64))
    }

    #[allow(clippy::cast_possible_truncation)]
    fn inverse(self) -> Option<Self> {
        if self.0 == 0.0 {
            return None;
        }
        let (mut r0, mut r1, mut t0, mut t1) = (16_777_213i32, self.0 as i32, 0i32, 1i32);
        while r1 != 0 {
            let q = r0 / r1;
            (r0, r1) = (r1, r0 - q * r1);
            (t0, t1) = (t1, t0.wrapping_sub(q.wrapping_mul(t1)));
        }
        // The greatest common divisor comes out as 1 or −1.
        Some(Small(reduce(f64::from(t0) * f64::from(r0))))
    }

    #[allow(clippy::cast_precision_loss)]
    fn random(rng: &mut Rng) -> Self {
        Small(reduce((1 + rng.below(16_777_212)) as f64))
    }

    fn dot(a: &[Self], b: &[Self]) -> Self {
        let mut sum = 0.0;
        for (a, b) in a.chunks(EXACT).zip(b.chunks(EXACT)) {
            let (a4, a1) = a.as_chunks::<4>();
            let (b4, b1) = b.as_chunks::<4>();
            let mut lanes = [0.0; 4];
            for (a, b) in a4.iter().zip(b4) {
                for k in 0..4 {
                    lanes[k] += a[k].0 * b[k].0;
                }
            }
            for (a, b) in a1.iter().zip(b1) {
                lanes[0] += a.0 * b.0;
            }
            sum = reduce(sum + lanes.iter().sum::<f64>());
        }
        Small(reduce(sum))
    }

    fn dot_tile(a: [&[Self]; 2], b: [&[Self]; 2]) -> [Self; 4] {
        [Self::dot(a[0], b[0]), Self::dot(a[0], b[1]), Self::dot(a[1], b[0]), Self::dot(a[1], b[1])]
    }

    fn subtract_products<'a>(
        c: &mut [Self],
        rows: Range<usize>,
        row_range: impl Fn(usize) -> Range<usize>,
        left: impl Fn(usize) -> &'a [Self],
        right: impl Fn(usize) -> &'a [Self],
    ) {
        let (Some(last), true) = (rows.clone().next_back(), rows.len() >= SHORT) else {
            return subtract_by_tiles(c, rows, row_range, left, right);
        };
        let (width, depth) = (row_range(last).len(), left(last).len());
        if depth < SHORT || width < SHORT {
            return subtract_by_tiles(c, rows, row_range, left, right);
        }
        let doubles = |count: usize, row: &dyn Fn(usize) -> &'a [Self]| {
            let mut all = Vec::with_capacity(count * depth);
            (0..count).for_each(|i| all.extend(row(i).iter().map(|x| x.0)));
            all
        };
        let all_left = doubles(rows.len(), &|i| left(rows.start + i));
        let all_right = doubles(width, &|j| right(j));
        let all_left = MatRef::from_row_major_slice(&all_left, rows.len(), depth);
        let all_right = MatRef::from_row_major_slice(&all_right, width, depth);
        let mut tile = vec![0.0; TILE * TILE];
        for top in rows.clone().step_by(TILE) {
            let height = TILE.min(rows.end - top);
            let reach = row_range(top + height - 1).len();
            for side in (0..reach).step_by(TILE) {
                let breadth = TILE.min(reach - side);
                for start in (0..depth).step_by(EXACT) {
                    let k = EXACT.min(depth - start);
                    let l = all_left.submatrix(top - rows.start, start, height, k);
                    let r = all_right.submatrix(side, start, breadth, k);
                    let product = MatMut::from_column_major_slice_mut(&mut tile[..height * breadth], breadth, height);
                    matmul(product, Accum::Replace, r, l.transpose(), 1.0, Par::Seq);
                    for (i, products) in tile[..height * breadth].chunks(breadth).enumerate() {
                        let range = row_range(top + i);
                        let from = (range.start + side).min(range.end);
                        for (c, product) in c[from..range.end].iter_mut().zip(products) {
                            c.0 = reduce(c.0 - product);
                        }
                    }
                }
            }
        }
        // Long sums may have come out one step off the unique residue.
        for i in rows {
            for c in &mut c[row_range(i)] {
                c.0 = reduce(c.0);
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::Rng;
    use super::*;
    use proptest::prelude::*;

    fn plain(x: Small) -> i128 {
        (x.0 as i128).rem_euclid(16_777_213)
    }

    fn slow(a: &[Small], b: &[Small]) -> i128 {
        a.iter().zip(b).map(|(x, y)| plain(*x) * plain(*y)).sum::<i128>() % 16_777_213
    }

    proptest! {
        #[test]
        fn arithmetic_agrees_with_remainders(a: i128, b: i128) {
            let (x, y) = (Small::from_i128(a), Small::from_i128(b));
            prop_assert_eq!(plain(x), a.rem_euclid(16_777_213));
            prop_assert_eq!(plain(x.add(y)), (plain(x) + plain(y)) % 16_777_213);
            prop_assert_eq!(plain(x.sub(y)), (plain(x) - plain(y)).rem_euclid(16_777_213));
            prop_assert_eq!(plain(x.mul(y)), plain(x) * plain(y) % 16_777_213);
            prop_assert!(x.0.abs() <= 8_388_606.0);
            prop_assert_eq!(Small::HALF.add(Small::HALF), Small::ONE);
            prop_assert!(x.is_zero() || x.mul(x.inverse().unwrap()) == Small::ONE);
        }
    }

    #[test]
    fn updates_agree_with_single_steps() {
        let mut rng = Rng::new(3);
        // The largest residues of one sign make the largest sums.
        for (n, depth, spread) in [(5, 3, 0), (40, 30, 0), (401, 250, 1), (200, 121, 16_777_212)] {
            let mut draw = || Small::from_i128(8_388_606 - if spread > 0 { rng.below(spread) as i128 } else { 0 });
            let left: Vec<Vec<Small>> = (0..n).map(|_| (0..depth).map(|_| draw()).collect()).collect();
            let right: Vec<Vec<Small>> = (0..n).map(|_| (0..depth).map(|_| draw()).collect()).collect();
            let packed = |i: usize| i * (i + 1) / 2;
            let before: Vec<Small> = (0..packed(n)).map(|_| draw()).collect();
            let mut after = before.clone();
            Small::subtract_products(&mut after, 0..n, |i| packed(i)..packed(i + 1), |i| &left[i], |j| &right[j]);
            for i in 0..n {
                for j in 0..=i {
                    let expected = (plain(before[packed(i) + j]) - slow(&left[i], &right[j])).rem_euclid(16_777_213);
                    assert_eq!(plain(after[packed(i) + j]), expected);
                    assert!(after[packed(i) + j].0.abs() <= 8_388_606.0);
                }
            }
            assert_eq!(plain(Small::dot(&left[0], &right[0])), slow(&left[0], &right[0]));
        }
    }
}
