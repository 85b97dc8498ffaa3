//! Space filling under rules: every design allowed, each as far as can be from those before.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error, Problem};
use super::BLOCK;
use super::sobol::Sobol;

/// Designs chosen by distance; what comes after them follows the sequence, which is even enough by then.
const BY_DISTANCE: usize = 2_048;
/// Allowed points among which each design is chosen, for each design wanted. More fill better and take longer.
const CHOICE: usize = 8;
/// Points looked at for each one that is allowed, before the space counts as exhausted.
const TRIES: u64 = 10_000;

/// Allowed points of the sequence, as values and as places, from an index on.
struct Allowed<'a> {
    problem: &'a dyn Problem,
    scales: &'a [Scale],
    sobol: Sobol,
    next: u64,
}

impl Allowed<'_> {
    /// The next allowed point; `None` where a long stretch holds none.
    fn next(&mut self) -> Option<Vec<f64>> {
        for index in self.next..self.next + TRIES {
            let value = |(axis, scale): (usize, &Scale)| scale.value(self.sobol.at(index, axis));
            let x: Vec<f64> = self.scales.iter().enumerate().map(value).collect();
            if self.problem.allows(&x) {
                self.next = index + 1;
                return Some(x);
            }
        }
        None
    }
}

/// Evaluates allowed designs: of the allowed points of a scrambled Sobol sequence always the one farthest from all
/// designs before it, starts included. Distance is measured over places, 0 to 1, on all axes; neighbours on a
/// discrete axis of n values are 1/n apart.
///
/// Sources: Kennard and Stone, Technometrics 11(1), 1969; Johnson, Moore and Ylvisaker, Journal of Statistical
/// Planning and Inference 26, 1990 (greatest least distance; both from memory).
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    problem: &dyn Problem,
    scales: &[Scale],
    seed: u64,
) -> Result<Ending, Error> {
    let mut allowed = Allowed {
        problem,
        scales,
        sobol: Sobol::for_axes(scales.len(), seed)?,
        next: 0,
    };
    let wanted = ledger.room().min(BY_DISTANCE);
    let candidates: Vec<Vec<f64>> = std::iter::from_fn(|| allowed.next())
        .take(CHOICE * wanted)
        .collect();
    for candidate in farthest(ledger, scales, &candidates, wanted) {
        ledger.propose(&candidates[candidate]);
    }
    if let Some(ending) = ledger.evaluate()? {
        return Ok(ending);
    }
    let (mut passed_over, mut block) = (0, 0);
    while let Some(x) = allowed.next() {
        if ledger.propose(&x) {
            (passed_over, block) = (0, block + 1);
        } else {
            passed_over += 1;
        }
        let stuck = passed_over > TRIES;
        if block == BLOCK || ledger.room() == 0 || stuck {
            block = 0;
            if let Some(ending) = ledger.evaluate()? {
                return Ok(ending);
            }
        }
        if stuck {
            break;
        }
    }
    Ok(ledger.evaluate()?.unwrap_or(Ending::Exhausted))
}

/// Indices of candidates, each the farthest from the ledger's designs and those chosen before it.
fn farthest(
    ledger: &Ledger<'_>,
    scales: &[Scale],
    candidates: &[Vec<f64>],
    count: usize,
) -> Vec<usize> {
    let axes = scales.len();
    let places = |x: &[f64]| -> Vec<f64> {
        let pairs = scales.iter().zip(x);
        pairs.map(|(scale, &x)| scale.place(x)).collect()
    };
    let all: Vec<f64> = candidates.iter().flat_map(|x| places(x)).collect();
    let mut nearest = vec![f64::INFINITY; candidates.len()];
    let come_near = |nearest: &mut [f64], at: &[f64]| {
        for (nearest, place) in nearest.iter_mut().zip(all.chunks_exact(axes)) {
            let square = place.iter().zip(at).map(|(a, b)| (a - b) * (a - b));
            *nearest = nearest.min(square.sum());
        }
    };
    for design in 0..ledger.proposed() {
        come_near(&mut nearest, &places(ledger.x(design)));
    }
    let mut chosen = Vec::with_capacity(count);
    while chosen.len() < count.min(candidates.len()) {
        let better = |best: usize, index: usize| {
            if nearest[index] > nearest[best] {
                index
            } else {
                best
            }
        };
        let best = (1..nearest.len()).fold(0, better);
        if !(nearest[best] > 0.0) {
            break;
        }
        chosen.push(best);
        come_near(&mut nearest, &all[best * axes..(best + 1) * axes]);
    }
    chosen
}
