//! Full factorial: every combination of levels.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error};
use super::BLOCK;

/// Evaluates the grid, first axis slowest. Levels 0: all values of a discrete axis.
///
/// # Errors
///
/// Another number of levels than of axes, no levels for an axis without end, more designs than the budget.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    levels: &[usize],
) -> Result<Ending, Error> {
    let levels = effective_levels(scales, levels)?;
    let designs = levels
        .iter()
        .try_fold(1_u64, |product, &n| product.checked_mul(n));
    let budget = ledger.room();
    let Some(designs) = designs.filter(|&designs| designs <= budget as u64) else {
        return Err(Error::GridTooLarge { designs, budget });
    };
    let whole = scales
        .iter()
        .zip(&levels)
        .all(|(scale, &n)| scale.count == Some(n));
    let mut x = vec![0.0; scales.len()];
    for index in 0..designs {
        let mut rest = index;
        for axis in (0..scales.len()).rev() {
            x[axis] = scales[axis].level(rest % levels[axis], levels[axis]);
            rest /= levels[axis];
        }
        ledger.propose(&x);
        if (index + 1) % BLOCK as u64 == 0
            && let Some(ending @ Ending::Stopped) = ledger.evaluate()?
        {
            return Ok(ending);
        }
    }
    let stopped = ledger.evaluate()? == Some(Ending::Stopped);
    Ok(match (stopped, whole) {
        (true, _) => Ending::Stopped,
        (false, true) => Ending::Exhausted,
        (false, false) => Ending::Budget,
    })
}

fn effective_levels(scales: &[Scale], levels: &[usize]) -> Result<Vec<u64>, Error> {
    if levels.len() != scales.len() {
        return Err(Error::LevelCount {
            levels: levels.len(),
            axes: scales.len(),
        });
    }
    let effective = |(axis, (scale, &n)): (usize, (&Scale, &usize))| match (scale.count, n as u64) {
        (Some(count), 0) => Ok(count),
        (Some(count), n) => Ok(count.min(n)),
        (None, 0) => Err(Error::EndlessAxis { axis }),
        (None, n) => Ok(n),
    };
    scales
        .iter()
        .zip(levels)
        .enumerate()
        .map(effective)
        .collect()
}
