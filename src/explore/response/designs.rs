//! Which designs to work out.

use std::collections::BTreeSet;

use super::super::axis::{Scale, scales};
use super::super::samplers::sobol::Sobol;
use super::super::{Axis, Error};

/// Candidates looked at for each design wanted.
const TRIES: usize = 400;
/// Share of an unstepped axis at either end that is moved onto the bound, where fronts often lie.
const EDGE: f64 = 0.04;

/// Different designs spread evenly over a space, those that `accept` refuses replaced by the next ones; flat.
///
/// A scrambled Sobol sequence; fewer designs than `count` where the space has no more, or hardly any is accepted.
///
/// # Errors
///
/// Axes that make no sense, or more than the sequence has dimensions.
pub fn spread(
    axes: &[Axis],
    count: usize,
    seed: u64,
    accept: &mut dyn FnMut(&[f64]) -> bool,
) -> Result<Vec<f64>, Error> {
    let scales = scales(axes)?;
    if scales.is_empty() {
        return Err(Error::NoAxes);
    }
    let sobol = Sobol::for_axes(axes.len(), seed)?;
    let mut seen: BTreeSet<Vec<u64>> = BTreeSet::new();
    let mut designs = Vec::with_capacity(count * axes.len());
    let mut taken = 0;
    for index in 0..(TRIES * count) as u64 {
        if taken == count {
            break;
        }
        let value =
            |(axis, scale): (usize, &Scale)| scale.value(stretch(scale, sobol.at(index, axis)));
        let x: Vec<f64> = scales.iter().enumerate().map(value).collect();
        if seen.insert(x.iter().map(|x| x.to_bits()).collect()) && accept(&x) {
            designs.extend(x);
            taken += 1;
        }
    }
    Ok(designs)
}

fn stretch(scale: &Scale, place: f64) -> f64 {
    if scale.count.is_some() {
        return place;
    }
    ((place - EDGE) / (1.0 - 2.0 * EDGE)).clamp(0.0, 1.0)
}

/// Indices of `count` candidates, each as far as can be from the known designs and those chosen before.
///
/// `candidates` (a front and its neighbours, say) and `known` are flat, one value an axis. Distance is measured over
/// the places of the values on their axes, 0 to 1; different choices are as far apart as their places. A candidate
/// equal to a known or chosen one is never taken.
///
/// # Errors
///
/// Axes that make no sense.
///
/// Source: Kennard and Stone, Technometrics 11, 1969 (from memory).
pub fn farthest(
    axes: &[Axis],
    candidates: &[f64],
    known: &[f64],
    count: usize,
) -> Result<Vec<usize>, Error> {
    let scales = scales(axes)?;
    if scales.is_empty() {
        return Err(Error::NoAxes);
    }
    let places = |designs: &[f64]| -> Vec<Vec<f64>> {
        let place = |x: &[f64]| scales.iter().zip(x).map(|(s, &x)| s.place(x)).collect();
        designs.chunks_exact(axes.len()).map(place).collect()
    };
    let square = |a: &[f64], b: &[f64]| {
        let each = a.iter().zip(b);
        each.map(|(a, b)| (a - b) * (a - b)).sum::<f64>()
    };
    let (candidates, known) = (places(candidates), places(known));
    let middle = vec![0.5; axes.len()];
    // Without anything known the first is the one nearest the middle.
    let mut nearest: Vec<f64> = candidates
        .iter()
        .map(|at| {
            let known = known.iter().map(|known| square(at, known));
            known.fold(f64::INFINITY, f64::min)
        })
        .collect();
    if known.is_empty() {
        for (nearest, at) in nearest.iter_mut().zip(&candidates) {
            *nearest = 1e6 - square(at, &middle);
        }
    }
    let mut chosen = Vec::new();
    while chosen.len() < count.min(candidates.len()) {
        let mut best = 0;
        for (index, distance) in nearest.iter().enumerate() {
            if *distance > nearest[best] {
                best = index;
            }
        }
        if !(nearest[best] > 0.0) {
            break;
        }
        chosen.push(best);
        for (nearest, at) in nearest.iter_mut().zip(&candidates) {
            *nearest = nearest.min(square(at, &candidates[best]));
        }
    }
    Ok(chosen)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axes() -> Vec<Axis> {
        vec![
            Axis::Continuous {
                low: 1.0,
                high: 3.0,
                step: None,
                log: false,
            },
            Axis::Choice { count: 5 },
            Axis::Integer { low: -1, high: 3 },
        ]
    }

    #[test]
    fn refused_designs_are_replaced() {
        let mut refused = 0;
        let designs = spread(&axes(), 40, 7, &mut |x| {
            let good = x[0] * (x[1] + 1.0) < 8.0;
            refused += usize::from(!good);
            good
        })
        .unwrap();
        assert_eq!(designs.len(), 120);
        assert!(refused > 0);
        assert!(designs.chunks(3).all(|x| x[0] * (x[1] + 1.0) < 8.0));
        let at_bound = designs.chunks(3).filter(|x| x[0] == 1.0 || x[0] == 3.0);
        assert!((1..10).contains(&at_bound.count()));
    }

    #[test]
    fn no_design_comes_twice() {
        let axes = [Axis::Choice { count: 3 }, Axis::Integer { low: 0, high: 3 }];
        let designs = spread(&axes, 100, 1, &mut |_| true).unwrap();
        let mut pairs: Vec<(u64, u64)> = designs
            .chunks(2)
            .map(|x| (x[0].to_bits(), x[1].to_bits()))
            .collect();
        pairs.sort_unstable();
        pairs.dedup();
        assert_eq!((pairs.len(), designs.len()), (12, 24));
    }

    #[test]
    fn farthest_first() {
        let axes = [Axis::Continuous {
            low: 0.0,
            high: 10.0,
            step: None,
            log: false,
        }];
        let candidates = [1.0, 4.0, 4.0, 9.0, 6.0, 0.0];
        let order = |known: &[f64], count| farthest(&axes, &candidates, known, count).unwrap();
        // Known 0: 9 is farthest, then 4 (4 from 0), then 6 (2 from 4), then 1; the others are there already.
        assert_eq!(order(&[0.0], 9), [3, 1, 4, 0]);
        assert_eq!(order(&[0.0], 2), [3, 1]);
        assert_eq!(order(&[], 2), [1, 3]);
    }
}
