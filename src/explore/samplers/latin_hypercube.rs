//! Latin hypercube: on every axis one design in each of n equal strata.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::random::{Random, to_unit};
use super::super::{Ending, Error};
use super::BLOCK;
use super::permutation::Permutation;
use super::sobol::mix;

/// Places of n designs in 0 to 1, (n, axes) flat: strata paired at random, each design at random within its own.
///
/// Source: McKay, Beckman and Conover, Technometrics 21(2), 1979.
pub(crate) fn places(designs: usize, axes: usize, random: &mut Random) -> Vec<f64> {
    let mut places = vec![0.0; designs * axes];
    let mut strata: Vec<usize> = (0..designs).collect();
    for axis in 0..axes {
        random.shuffle(&mut strata);
        for (design, &stratum) in strata.iter().enumerate() {
            places[design * axes + axis] = (stratum as f64 + random.unit()) / designs as f64;
        }
    }
    places
}

/// Evaluates as many designs as there is room for. On discrete axes values come equally often, as far as that can
/// be. Where rounding makes two designs one, another takes its place at random.
///
/// Strata are reached by index, so that ten million designs need no more memory than ten.
pub(crate) fn run(ledger: &mut Ledger<'_>, scales: &[Scale], seed: u64) -> Result<Ending, Error> {
    let designs = ledger.room() as u64;
    let key = |axis: usize| mix(seed ^ mix(axis as u64 + 1));
    let strata: Vec<Permutation> = (0..scales.len())
        .map(|axis| Permutation::new(designs, key(axis)))
        .collect();
    let place = |design: u64, axis: usize| {
        let within = to_unit(mix(design ^ mix(key(axis))));
        (strata[axis].at(design) as f64 + within) / designs as f64
    };
    take(ledger, scales, seed, designs, place)
}

/// Evaluates designs given by their places, 0 to 1, on the axes; where rounding makes two designs one, another takes
/// its place at random.
pub(super) fn take(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    seed: u64,
    designs: u64,
    place: impl Fn(u64, usize) -> f64,
) -> Result<Ending, Error> {
    let mut random = Random::new(seed);
    let mut x = vec![0.0; scales.len()];
    for design in 0..designs {
        for (axis, (x, scale)) in x.iter_mut().zip(scales).enumerate() {
            *x = scale.value(place(design, axis));
        }
        if !ledger.propose(&x) && !propose_at_random(ledger, scales, &mut random) {
            break;
        }
        if (design + 1) % BLOCK as u64 == 0
            && let Some(ending) = ledger.evaluate()?
        {
            return Ok(ending);
        }
    }
    Ok(ledger.evaluate()?.unwrap_or(Ending::Exhausted))
}

/// Proposes some new design; `false` where a thousand tries found none.
pub(crate) fn propose_at_random(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    random: &mut Random,
) -> bool {
    let mut x = vec![0.0; scales.len()];
    (0..1_000).any(|_| {
        x.iter_mut()
            .zip(scales)
            .for_each(|(x, scale)| *x = scale.value(random.unit()));
        ledger.propose(&x)
    })
}
