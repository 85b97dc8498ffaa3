//! Box-Behnken: middles of edges or faces and the centre, three levels an axis, no corners.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error};
use super::coded;

/// Most axes: 481 runs.
const MOST_AXES: usize = 16;
/// Blocks of six and seven axes: the axes, from 1, that change together.
const SIX: [[usize; 3]; 6] = [
    [1, 2, 4],
    [2, 3, 5],
    [3, 4, 6],
    [1, 4, 5],
    [2, 5, 6],
    [1, 3, 6],
];
const SEVEN: [[usize; 3]; 7] = [
    [4, 5, 6],
    [1, 6, 7],
    [2, 5, 7],
    [1, 2, 4],
    [3, 4, 7],
    [1, 3, 5],
    [2, 3, 6],
];

/// Axes, from 0, that change together while the others stay in the middle.
fn blocks(axes: usize) -> Vec<Vec<usize>> {
    let from_zero = |block: &[usize; 3]| block.iter().map(|axis| axis - 1).collect();
    match axes {
        6 => SIX.iter().map(from_zero).collect(),
        7 => SEVEN.iter().map(from_zero).collect(),
        _ => (0..axes)
            .flat_map(|a| (a + 1..axes).map(move |b| vec![a, b]))
            .collect(),
    }
}

/// Coded runs, (runs, axes) flat: block by block all combinations of lower and upper levels, then the centre once.
///
/// Up to seven axes as published; from eight on every pair of axes is a block, which keeps the three levels and every
/// term of a quadratic, in more runs than the published designs for 9, 10, 11, 12 and 16.
///
/// Source: Box and Behnken, Technometrics 2(4), 1960; tables as in the NIST/SEMATECH e-Handbook of Statistical
/// Methods, 5.3.3.6.2, and Montgomery, Design and Analysis of Experiments (six and seven axes from memory).
pub(crate) fn coded(axes: usize) -> Result<Vec<f64>, Error> {
    if !(3..=MOST_AXES).contains(&axes) {
        return Err(Error::AxisCount {
            plan: "Box-Behnken",
            axes,
            least: 3,
            most: MOST_AXES,
        });
    }
    let mut runs = Vec::new();
    for block in blocks(axes) {
        for corner in 0..1_usize << block.len() {
            let mut run = vec![0.0; axes];
            for (k, &axis) in block.iter().enumerate() {
                run[axis] = if corner >> k & 1 == 1 { 1.0 } else { -1.0 };
            }
            runs.extend(run);
        }
    }
    runs.extend(vec![0.0; axes]);
    Ok(runs)
}

/// Evaluates the design.
pub(crate) fn run(ledger: &mut Ledger<'_>, scales: &[Scale]) -> Result<Ending, Error> {
    coded::run(ledger, scales, &coded(scales.len())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs without centres (Box and Behnken 1960): 12, 24, 40, 48, 56 for three to seven axes.
    #[test]
    fn runs_are_as_published() {
        for (axes, runs) in [(3, 12), (4, 24), (5, 40), (6, 48), (7, 56)] {
            assert_eq!(coded(axes).unwrap().len(), (runs + 1) * axes);
        }
        assert!(coded(2).is_err());
        assert!(coded(17).is_err());
    }

    /// Every axis comes in equally many blocks, and every pair of axes in one at least, so that each product can be
    /// fitted; with seven axes in exactly one (a balanced incomplete block design).
    #[test]
    fn blocks_are_balanced() {
        for axes in 3..=MOST_AXES {
            let blocks = blocks(axes);
            let with = |wanted: &[usize]| {
                let holds = |block: &&Vec<usize>| wanted.iter().all(|axis| block.contains(axis));
                blocks.iter().filter(holds).count()
            };
            for a in 0..axes {
                assert_eq!(with(&[a]), with(&[0]));
                for b in 0..a {
                    let pairs = with(&[a, b]);
                    assert!(if axes == 6 {
                        (1..=2).contains(&pairs)
                    } else {
                        pairs == 1
                    });
                }
            }
        }
    }
}
