//! Arithmetic modulo a prime just below 2^61, and seeded random numbers.
//!
//! A sum of 63 products of residues fits 128 bits, so dot products reduce once,
//! not once a term. Both primes have the form 2^61 − c with a small c, so a
//! reduction is a few shifts and additions.
//!
//! Must not know: matrices.

use num_bigint::{BigInt, Sign};
use num_rational::BigRational;
use std::fmt::Debug;
use std::ops::Range;

/// 2^61 − 1, a Mersenne prime.
pub type Prime = Fp<1>;
/// 2^61 − 31, the next prime below, for repeating a verdict of deficiency.
pub type Prime2 = Fp<31>;

/// A number a matrix can hold: a double or a residue.
pub trait Scalar: Copy + PartialEq + Debug + Send + Sync + 'static {
    const ZERO: Self;
    const ONE: Self;
    fn add(self, other: Self) -> Self;
    fn sub(self, other: Self) -> Self;
    fn mul(self, other: Self) -> Self;

    /// False for infinities and NaN.
    fn is_proper(self) -> bool {
        true
    }

    fn is_zero(self) -> bool {
        self == Self::ZERO
    }
}

impl Scalar for f64 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;
    fn add(self, other: Self) -> Self {
        self + other
    }
    fn sub(self, other: Self) -> Self {
        self - other
    }
    fn mul(self, other: Self) -> Self {
        self * other
    }
    fn is_proper(self) -> bool {
        self.is_finite()
    }
}

/// A finite field whose elements are cheap to copy.
pub trait Field: Scalar {
    /// 1/2.
    const HALF: Self;
    /// So many random vectors must all vanish at a place before it counts as zero for every vector.
    const DRAWS: usize;

    /// The residue of a signed integer.
    fn from_i128(value: i128) -> Self;
    /// `None` for zero.
    fn inverse(self) -> Option<Self>;
    /// A uniformly random element other than zero.
    fn random(rng: &mut Rng) -> Self;
    /// Σ aᵢ bᵢ over the shorter of the two lengths.
    fn dot(a: &[Self], b: &[Self]) -> Self;
    /// The four dot products of two rows with two rows: `[a0·b0, a0·b1, a1·b0, a1·b1]`.
    fn dot_tile(a: [&[Self]; 2], b: [&[Self]; 2]) -> [Self; 4];

    /// `c[i][j] −= left(i)·right(j)` for all rows i and the columns in each row's range of `c`, which grow with i.
    fn subtract_products<'a>(
        c: &mut [Self],
        rows: Range<usize>,
        row_range: impl Fn(usize) -> Range<usize>,
        left: impl Fn(usize) -> &'a [Self],
        right: impl Fn(usize) -> &'a [Self],
    ) {
        subtract_by_tiles(c, rows, row_range, left, right);
    }

    fn neg(self) -> Self {
        Self::ZERO.sub(self)
    }

    /// `None` for a divisor of zero.
    fn div(self, other: Self) -> Option<Self> {
        Some(self.mul(other.inverse()?))
    }

    fn from_i64(value: i64) -> Self {
        Self::from_i128(i128::from(value))
    }

    /// `numerator / denominator`; `None` where the denominator is a multiple of the prime.
    fn from_ratio(numerator: i128, denominator: i128) -> Option<Self> {
        Self::from_i128(numerator).div(Self::from_i128(denominator))
    }

    /// The residue of a big integer.
    fn from_big_int(value: &BigInt) -> Self {
        let radix = Self::from_i128(1i128 << 32);
        let (sign, digits) = value.to_u32_digits();
        let size = digits.iter().rev().fold(Self::ZERO, |sum, &d| sum.mul(radix).add(Self::from_i64(i64::from(d))));
        if sign == Sign::Minus { size.neg() } else { size }
    }

    /// The residue of an exact fraction; `None` where its denominator is a multiple of the prime.
    fn from_big_rational(value: &BigRational) -> Option<Self> {
        Self::from_big_int(value.numer()).div(Self::from_big_int(value.denom()))
    }

    /// The rational number a double stands for, m·2^e, exactly. `None` for NaN and infinities.
    fn from_f64(value: f64) -> Option<Self> {
        if !value.is_finite() {
            return None;
        }
        let bits = value.to_bits();
        let raw = (bits >> 52) & 0x7ff;
        let fraction = i128::from(bits & ((1 << 52) - 1));
        let (mantissa, exponent) =
            if raw == 0 { (fraction, -1074) } else { (fraction + (1i128 << 52), i64::try_from(raw).ok()? - 1075) };
        let mantissa = Self::from_i128(if value.is_sign_negative() { -mantissa } else { mantissa });
        let base = if exponent < 0 { Self::HALF } else { Self::from_i128(2) };
        Some(mantissa.mul(base.pow(exponent.unsigned_abs())))
    }

    fn pow(self, mut exponent: u64) -> Self {
        let (mut base, mut result) = (self, Self::ONE);
        while exponent > 0 {
            if exponent & 1 == 1 {
                result = result.mul(base);
            }
            base = base.mul(base);
            exponent >>= 1;
        }
        result
    }
}

/// [`Field::subtract_products`] by two rows and two columns at a time.
pub fn subtract_by_tiles<'a, F: Field>(
    c: &mut [F],
    rows: Range<usize>,
    row_range: impl Fn(usize) -> Range<usize>,
    left: impl Fn(usize) -> &'a [F],
    right: impl Fn(usize) -> &'a [F],
) {
    let mut i = rows.start;
    while i < rows.end {
        let range = row_range(i);
        if i + 1 == rows.end {
            for (j, c) in c[range].iter_mut().enumerate() {
                *c = c.sub(F::dot(left(i), right(j)));
            }
            return;
        }
        let next = row_range(i + 1);
        let both = range.len();
        let mut j = 0;
        while j + 1 < both {
            let tile = F::dot_tile([left(i), left(i + 1)], [right(j), right(j + 1)]);
            for (at, value) in
                [range.start + j, range.start + j + 1, next.start + j, next.start + j + 1].into_iter().zip(tile)
            {
                c[at] = c[at].sub(value);
            }
            j += 2;
        }
        for (i, range) in [(i, range), (i + 1, next)] {
            for j in j..range.len() {
                c[range.start + j] = c[range.start + j].sub(F::dot(left(i), right(j)));
            }
        }
        i += 2;
    }
}

/// The integers modulo 2^61 − `C`, for the few small `C` that make it prime.
/// Always the reduced residue, so equality is equality.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fp<const C: u64>(u64);

const MASK: u64 = (1 << 61) - 1;

impl<const C: u64> Fp<C> {
    pub const P: u64 = (1 << 61) - C;

    #[inline]
    const fn once(x: u64) -> u64 {
        if x >= Self::P { x - Self::P } else { x }
    }

    /// Reduces any 128-bit number: 2^61 ≡ C, applied twice.
    #[inline]
    #[allow(clippy::cast_possible_truncation)]
    const fn reduce(x: u128) -> u64 {
        let low = (x as u64) & MASK;
        if C == 1 {
            let sum = low + (((x >> 61) as u64) & MASK) + ((x >> 122) as u64);
            Self::once((sum & MASK) + (sum >> 61))
        } else {
            let sum = low as u128 + (x >> 61) * C as u128;
            Self::once(((sum as u64) & MASK) + ((sum >> 61) as u64) * C)
        }
    }
}

/// So many products of residues, and one reduced sum, are below 2^128.
const LAZY: usize = 60;

#[inline]
fn wide(a: u64, b: u64) -> u128 {
    u128::from(a) * u128::from(b)
}

impl<const C: u64> Scalar for Fp<C> {
    const ZERO: Self = Fp(0);
    const ONE: Self = Fp(1);

    #[inline]
    fn add(self, other: Self) -> Self {
        Fp(Self::once(self.0 + other.0))
    }

    #[inline]
    fn sub(self, other: Self) -> Self {
        Fp(Self::once(self.0 + Self::P - other.0))
    }

    #[inline]
    fn mul(self, other: Self) -> Self {
        Fp(Self::reduce(wide(self.0, other.0)))
    }
}

impl<const C: u64> Field for Fp<C> {
    const HALF: Self = Fp(Self::P.div_ceil(2));
    const DRAWS: usize = 1;

    fn from_i128(value: i128) -> Self {
        let size = Fp(Self::reduce(value.unsigned_abs()));
        if value < 0 { size.neg() } else { size }
    }

    #[allow(clippy::cast_possible_wrap, clippy::cast_sign_loss)]
    fn inverse(self) -> Option<Self> {
        if self.0 == 0 {
            return None;
        }
        // Extended Euclid; the coefficients stay below P in size, so 64 bits hold them.
        let (mut r0, mut r1, mut t0, mut t1) = (Self::P, self.0, 0i64, 1i64);
        while r1 != 0 {
            let q = r0 / r1;
            (r0, r1) = (r1, r0 - q * r1);
            (t0, t1) = (t1, t0.wrapping_sub((q as i64).wrapping_mul(t1)));
        }
        Some(Fp(if t0 < 0 { (t0 + Self::P as i64) as u64 } else { t0 as u64 }))
    }

    fn random(rng: &mut Rng) -> Self {
        loop {
            let draw = rng.next_u64() & MASK;
            if draw != 0 && draw < Self::P {
                return Fp(draw);
            }
        }
    }

    fn dot(a: &[Self], b: &[Self]) -> Self {
        let mut sum = 0u128;
        for (a, b) in a.chunks(LAZY).zip(b.chunks(LAZY)) {
            for (x, y) in a.iter().zip(b) {
                sum += wide(x.0, y.0);
            }
            sum = u128::from(Self::reduce(sum));
        }
        // The last chunk has already been reduced.
        #[allow(clippy::cast_possible_truncation)]
        Fp(sum as u64)
    }

    fn dot_tile(a: [&[Self]; 2], b: [&[Self]; 2]) -> [Self; 4] {
        let length = a[0].len().min(a[1].len()).min(b[0].len()).min(b[1].len());
        let mut sums = [0u128; 4];
        let mut start = 0;
        while start < length {
            let end = (start + LAZY).min(length);
            let (a0, a1) = (&a[0][start..end], &a[1][start..end]);
            let (b0, b1) = (&b[0][start..end], &b[1][start..end]);
            for (((x0, x1), y0), y1) in a0.iter().zip(a1).zip(b0).zip(b1) {
                sums[0] += wide(x0.0, y0.0);
                sums[1] += wide(x0.0, y1.0);
                sums[2] += wide(x1.0, y0.0);
                sums[3] += wide(x1.0, y1.0);
            }
            sums = sums.map(|sum| u128::from(Self::reduce(sum)));
            start = end;
        }
        #[allow(clippy::cast_possible_truncation)]
        sums.map(|sum| Fp(sum as u64))
    }
}

impl<const C: u64> Debug for Fp<C> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A small deterministic generator: splitmix64 (Steele, Lea and Flood, 2014).
/// The same seed gives the same verdict, message and byte on every machine.
#[derive(Clone, Debug)]
pub struct Rng(u64);

impl Rng {
    pub const fn new(seed: u64) -> Self {
        Rng(seed)
    }

    pub const fn next_u64(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 up to, not including, `bound` (which must not be zero; zero gives zero).
    #[allow(clippy::cast_possible_truncation)]
    pub const fn below(&mut self, bound: usize) -> usize {
        ((self.next_u64() as u128 * bound as u128) >> 64) as usize
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::Rng;
    use super::*;
    use num_traits::ToPrimitive;
    use proptest::prelude::*;

    /// Miller–Rabin with the bases that decide every number below 3.3e24.
    fn is_prime(n: u64) -> bool {
        let power = |mut b: u128, mut e: u64| {
            let mut r = 1u128;
            while e > 0 {
                if e & 1 == 1 {
                    r = r * b % u128::from(n);
                }
                b = b * b % u128::from(n);
                e >>= 1;
            }
            r
        };
        let s = (n - 1).trailing_zeros();
        [2u64, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41].iter().all(|&a| {
            let mut x = power(u128::from(a), (n - 1) >> s);
            if x == 1 || x == u128::from(n - 1) {
                return true;
            }
            (1..s).any(|_| {
                x = x * x % u128::from(n);
                x == u128::from(n - 1)
            })
        })
    }

    #[test]
    fn both_moduli_are_prime() {
        assert!(is_prime(Prime::P));
        assert!(is_prime(Prime2::P));
        assert!(!is_prime((1 << 61) - 3));
    }

    fn plain<const C: u64>(x: i128) -> u64 {
        x.rem_euclid(i128::from(Fp::<C>::P)) as u64
    }

    fn check_arithmetic<const C: u64>(a: i128, b: i128) {
        let (x, y) = (Fp::<C>::from_i128(a), Fp::<C>::from_i128(b));
        assert_eq!(x.0, plain::<C>(a));
        assert_eq!(x.add(y).0, ((u128::from(x.0) + u128::from(y.0)) % u128::from(Fp::<C>::P)) as u64);
        assert_eq!(x.sub(y).add(y), x);
        assert_eq!(Fp::<C>::HALF.add(Fp::HALF), Fp::ONE);
        assert_eq!(x.mul(y).0, (wide(x.0, y.0) % u128::from(Fp::<C>::P)) as u64);
        if !x.is_zero() {
            assert_eq!(x.mul(x.inverse().unwrap()), Fp::ONE);
        }
    }

    proptest! {
        #[test]
        fn arithmetic_agrees_with_remainders(a: i128, b: i128) {
            check_arithmetic::<1>(a, b);
            check_arithmetic::<31>(a, b);
            check_arithmetic::<1>(a >> 66, b >> 66);
            check_arithmetic::<31>(a >> 66, b >> 66);
        }

        #[test]
        fn dots_agree_with_single_steps(seed: u64, length in 0usize..200) {
            let mut rng = Rng::new(seed);
            let rows: Vec<Vec<Prime2>> =
                (0..4).map(|_| (0..length).map(|_| Fp(Prime2::P - 1 - (rng.next_u64() >> 50))).collect()).collect();
            let slow = |a: &[Prime2], b: &[Prime2]| {
                a.iter().zip(b).fold(Fp::ZERO, |s, (&x, &y)| s.add(x.mul(y)))
            };
            let tile = Prime2::dot_tile([&rows[0], &rows[1]], [&rows[2], &rows[3]]);
            prop_assert_eq!(Prime2::dot(&rows[0], &rows[2]), slow(&rows[0], &rows[2]));
            prop_assert_eq!(tile, [
                slow(&rows[0], &rows[2]), slow(&rows[0], &rows[3]), slow(&rows[1], &rows[2]), slow(&rows[1], &rows[3])
            ]);
        }

        #[test]
        fn doubles_are_the_fractions_they_stand_for(value: f64) {
            prop_assume!(value.is_finite());
            let exact = BigRational::from_float(value).unwrap();
            prop_assert_eq!(exact.to_f64(), Some(value));
            prop_assert_eq!(Prime::from_f64(value), Prime::from_big_rational(&exact));
            prop_assert_eq!(Prime2::from_f64(value), Prime2::from_big_rational(&exact));
        }
    }

    #[test]
    fn extremes() {
        for x in [0, 1, -1, i128::MAX, i128::MIN, i128::from(Prime::P), i128::from(Prime2::P), 1 << 61, 1 << 122] {
            for y in [0, 1, -1, i128::MAX, i128::MIN, i128::from(Prime::P) - 1] {
                check_arithmetic::<1>(x, y);
                check_arithmetic::<31>(x, y);
            }
        }
        assert_eq!(Prime::from_f64(f64::NAN), None);
        assert_eq!(Prime::from_f64(f64::INFINITY), None);
        assert_eq!(Prime::ZERO.inverse(), None);
        assert_eq!(Prime::from_ratio(1, i128::from(Prime::P)), None);
        assert_eq!(Prime::from_ratio(-3, 4).map(|x| x.mul(Prime::from_i64(4))), Some(Prime::from_i64(-3)));
        assert!((0..1000).all(|i| Rng::new(i).below(7) < 7));
    }
}
