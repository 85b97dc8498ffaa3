//! Plans of a fixed number of designs, given in coded values: -1 is an axis's lower bound, 1 its upper one.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error};

/// Evaluates coded designs, (designs, axes) flat, in their order.
///
/// A value that a discrete axis has not becomes the nearest that it has. Designs that this makes equal are evaluated
/// once; and so is the centre, which published tables repeat: an evaluation has no scatter that repeating would show.
///
/// # Errors
///
/// More designs than the budget; values beyond -1 and 1 on an axis that can't leave its bounds.
pub(super) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    designs: &[f64],
) -> Result<Ending, Error> {
    let (count, budget) = (designs.len() / scales.len(), ledger.room());
    if count > budget {
        return Err(Error::PlanTooLarge {
            designs: count,
            budget,
        });
    }
    for design in designs.chunks_exact(scales.len()) {
        let value = |(axis, (scale, &coded)): (usize, (&Scale, &f64))| {
            let share = (coded + 1.0) / 2.0;
            if (-1.0..=1.0).contains(&coded) {
                Ok(scale.between(share))
            } else {
                scale.beyond(share).ok_or(Error::BeyondBounds { axis })
            }
        };
        let x: Result<Vec<f64>, Error> = scales.iter().zip(design).enumerate().map(value).collect();
        ledger.propose(&x?);
    }
    Ok(match ledger.evaluate()? {
        Some(Ending::Stopped) => Ending::Stopped,
        _ => Ending::Budget,
    })
}
