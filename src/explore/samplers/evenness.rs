//! What makes a Latin hypercube even: one number for each pair of designs, cheap to bring up to date.

/// A sum over pairs of designs, and over designs, that is to be made least.
///
/// A pair is kept as one number, from which its share in the sum follows, and which is brought up to date when one of
/// the two designs moves along one axis.
pub(super) trait Measure {
    /// The number of a design beside itself: such that its share is 0 and stays so.
    const SELF: f64;
    /// Designs of which the one with the greatest share is moved.
    const LOOK: usize;
    /// The number of a pair of designs.
    fn pair(a: &[f64], b: &[f64]) -> f64;
    /// The number of a pair of which one moves along an axis, while the other stays at `other`.
    fn moved(pair: f64, from: f64, to: f64, other: f64) -> f64;
    /// Share of a pair in the sum.
    fn share(pair: f64) -> f64;
    /// Share of a design in the sum.
    fn own_share(at: impl Iterator<Item = f64>, designs: usize) -> f64;
}

/// The centred discrepancy, squared: the sum is n²/2 times it, less a constant.
///
/// Sources: Hickernell, Mathematics of Computation 67, 1998, equation 5; Jin, Chen and Sudjianto, Journal of
/// Statistical Planning and Inference 134, 2005 (a swap in n steps; from memory).
pub(super) struct Discrepancy;

impl Discrepancy {
    /// 1 + (|x - 1/2| + |y - 1/2| - |x - y|) / 2: what is nearer to the middle, if both are on one side of it.
    #[inline(always)]
    fn factor(x: f64, y: f64) -> f64 {
        let (x, y) = (x - 0.5, y - 0.5);
        1.0 + x.min(y).max(0.0) - x.max(y).min(0.0)
    }
}

impl Measure for Discrepancy {
    const SELF: f64 = 0.0;
    const LOOK: usize = 1;

    fn pair(a: &[f64], b: &[f64]) -> f64 {
        a.iter().zip(b).map(|(&a, &b)| Self::factor(a, b)).product()
    }

    #[inline(always)]
    fn moved(pair: f64, from: f64, to: f64, other: f64) -> f64 {
        pair * Self::factor(to, other) / Self::factor(from, other)
    }

    #[inline(always)]
    fn share(pair: f64) -> f64 {
        pair
    }

    fn own_share(at: impl Iterator<Item = f64>, designs: usize) -> f64 {
        let (mut alone, mut beside) = (1.0, 1.0);
        for x in at {
            let off = (x - 0.5).abs();
            alone *= 1.0 + 0.5 * off - 0.5 * off * off;
            beside *= 1.0 + off;
        }
        beside / 2.0 - designs as f64 * alone
    }
}

/// Closeness: the sum of distance^-16 over all pairs, governed by the closest ones.
///
/// Source: Morris and Mitchell, Journal of Statistical Planning and Inference 43, 1995 (from memory).
pub(super) struct Distance;

impl Measure for Distance {
    const SELF: f64 = f64::INFINITY;
    const LOOK: usize = 4;

    fn pair(a: &[f64], b: &[f64]) -> f64 {
        a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum()
    }

    #[inline(always)]
    fn moved(pair: f64, from: f64, to: f64, other: f64) -> f64 {
        let (before, after) = (from - other, to - other);
        pair + after * after - before * before
    }

    #[inline(always)]
    fn share(pair: f64) -> f64 {
        let square = pair * pair;
        let fourth = square * square;
        1.0 / (fourth * fourth)
    }

    fn own_share(_: impl Iterator<Item = f64>, _: usize) -> f64 {
        0.0
    }
}
