//! How evenly points fill the unit cube.

/// Centred discrepancy of points in the unit cube, squared L2 value; less is more even.
///
/// `points` is (n, dimensions), flat. Takes n² steps.
///
/// Source: Hickernell, Mathematics of Computation 67, 1998, equation 5.
pub fn centred_discrepancy(points: &[f64], dimensions: usize) -> f64 {
    let count = (points.len() / dimensions) as f64;
    let centred = |p: f64| (p - 0.5).abs();
    let one = |point: &[f64]| {
        point
            .iter()
            .map(|&p| 1.0 + 0.5 * centred(p) - 0.5 * centred(p).powi(2))
            .product::<f64>()
    };
    let two = |a: &[f64], b: &[f64]| {
        let pair = |(&a, &b): (&f64, &f64)| 1.0 + 0.5 * (centred(a) + centred(b) - (a - b).abs());
        a.iter().zip(b).map(pair).product::<f64>()
    };
    let all = || points.chunks_exact(dimensions);
    let single: f64 = all().map(one).sum();
    let double: f64 = all().map(|a| all().map(|b| two(a, b)).sum::<f64>()).sum();
    (13.0_f64 / 12.0).powi(dimensions as i32) - 2.0 / count * single + double / count.powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The worked example in the manual of a general scientific library (SciPy, `qmc.discrepancy`).
    #[test]
    fn worked_example() {
        let sample = [
            [1.0, 3.0],
            [2.0, 6.0],
            [3.0, 2.0],
            [4.0, 5.0],
            [5.0, 1.0],
            [6.0, 4.0],
        ];
        let points: Vec<f64> = sample.iter().flatten().map(|p| (p - 0.5) / 6.0).collect();
        assert!((centred_discrepancy(&points, 2) - 0.008_142_039_609_053_464).abs() < 1e-15);
    }
}
