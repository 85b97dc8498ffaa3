//! Designs along a sequence that fills the space ever more finely.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error};
use super::BLOCK;

/// Evaluates the points of a sequence, given by index and axis as places from 0 to 1, until the budget is used up.
/// Points that rounding has made equal to an earlier one are passed over; a hundred thousand of them in a row end it.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    at: impl Fn(u64, usize) -> f64,
) -> Result<Ending, Error> {
    let mut x = vec![0.0; scales.len()];
    let (mut passed_over, mut block) = (0, 0);
    for index in 0.. {
        x.iter_mut()
            .enumerate()
            .for_each(|(axis, x)| *x = scales[axis].value(at(index, axis)));
        if ledger.propose(&x) {
            (passed_over, block) = (0, block + 1);
        } else {
            passed_over += 1;
        }
        let stuck = passed_over > 100_000;
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
    Ok(Ending::Exhausted)
}
