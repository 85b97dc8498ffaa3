//! Hypervolume: how much of objective space a front dominates, up to a reference point.

mod contributions;
mod layer;
mod ranks;
mod sweep;

pub use contributions::contributions;

use layer::Layer;

/// Hypervolume of points, in the product of the objectives' units; exact.
///
/// The measure of all that is at least as bad as some point and better than `reference` in every objective, all
/// objectives to be made least. `points` is flat, one objective after another, in any order, dominated ones
/// included; points that are not better than the reference in every objective do not count. Two and three objectives
/// take n log n steps, four n² short ones, more objectives grow fast with their number.
///
/// Source: Zitzler and Thiele, IEEE Trans. Evol. Comput. 3(4), 1999 (measure); Beume, Fonseca and others, IEEE
/// Trans. Evol. Comput. 13(5), 2009 (sweep in three dimensions); Guerreiro and Fonseca, IEEE Trans. Evol. Comput.
/// 22(3), 2018 (four); While, Bradstreet and Barone, IEEE Trans. Evol. Comput. 16(1), 2012 (more).
pub fn hypervolume(points: &[f64], reference: &[f64]) -> f64 {
    let width = reference.len();
    if width == 0 {
        return 0.0;
    }
    let better = |point: &&[f64]| point.iter().zip(reference).all(|(p, r)| p < r);
    let inside: Vec<f64> = points
        .chunks_exact(width)
        .filter(better)
        .flatten()
        .copied()
        .collect();
    match *reference {
        [a] => inside.iter().fold(0.0, |most, point| (a - point).max(most)),
        [a, b] => sweep::area(arrays(&inside), [a, b]),
        [a, b, c] => sweep::volume(arrays(&inside), [a, b, c]),
        [a, b, c, d] => four(arrays(&inside), [a, b, c, d]),
        _ => {
            let mut inside: Vec<Vec<f64>> =
                inside.chunks_exact(width).map(<[f64]>::to_vec).collect();
            inside.sort_by(|a, b| b[width - 1].total_cmp(&a[width - 1]));
            measure(&inside, reference)
        }
    }
}

/// Points as arrays.
fn arrays<const N: usize>(points: &[f64]) -> Vec<[f64; N]> {
    points.as_chunks::<N>().0.to_vec()
}

/// Sweeps along the fourth objective and keeps the volume of the first three.
fn four(mut points: Vec<[f64; 4]>, reference: [f64; 4]) -> f64 {
    points.sort_unstable_by(|a, b| a[3].total_cmp(&b[3]));
    let [x, y, z, end] = reference;
    let mut layer = Layer::default();
    let (mut total, mut volume) = (0.0, 0.0);
    for (k, point) in points.iter().enumerate() {
        volume += layer.insert([point[0], point[1], point[2]], [x, y, z]);
        total += volume * (points.get(k + 1).map_or(end, |next| next[3]) - point[3]);
    }
    total
}

/// Sum of what each point adds to those after it.
fn measure(points: &[Vec<f64>], reference: &[f64]) -> f64 {
    let boxed = |point: &[f64]| {
        point
            .iter()
            .zip(reference)
            .map(|(p, r)| r - p)
            .product::<f64>()
    };
    let mut total = 0.0;
    for (k, point) in points.iter().enumerate() {
        let mut clipped: Vec<Vec<f64>> = Vec::new();
        for other in &points[k + 1..] {
            let clip: Vec<f64> = other.iter().zip(point).map(|(a, b)| a.max(*b)).collect();
            let beats = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| a <= b);
            if !clipped.iter().any(|c| beats(c, &clip)) {
                clipped.retain(|c| !beats(&clip, c));
                clipped.push(clip);
            }
        }
        total += boxed(point) - measure(&clipped, reference);
    }
    total
}

/// Share of a box that a front dominates, by 4,096 points of the Sobol sequence: an estimate, exact only in the
/// limit (error of the order of 0.5 % of the box, common experience).
pub(crate) fn sampled_share(points: &[f64], low: &[f64], high: &[f64]) -> f64 {
    const SAMPLES: u64 = 4_096;
    let width = low.len();
    let sobol = super::samplers::sobol::Sobol::plain(width);
    let mut sample = vec![0.0; width];
    let mut hits = 0;
    for k in 0..SAMPLES {
        for (axis, s) in sample.iter_mut().enumerate() {
            *s = low[axis] + (high[axis] - low[axis]) * sobol.at(k, axis);
        }
        hits += u64::from(
            points
                .chunks_exact(width)
                .any(|point| point.iter().zip(&sample).all(|(p, s)| p <= s)),
        );
    }
    hits as f64 / SAMPLES as f64
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    #[test]
    fn sampling_comes_close() {
        let mut random = Random::new(5);
        let points: Vec<f64> = (0..30 * 4).map(|_| random.unit()).collect();
        let exact = hypervolume(&points, &[1.0; 4]);
        assert!((sampled_share(&points, &[0.0; 4], &[1.0; 4]) - exact).abs() < 0.01);
    }
}
