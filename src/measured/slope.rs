//! Stiffness from loads and the movements read under them, up and down.

use super::least_squares::students;
use super::statistics::CHANCE_APART;
use crate::analyse::regress;

/// A stiffness as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Slope {
    /// Stiffness, the rig's give taken out, in the unit of a load over that of a movement.
    pub stiffness: f64,
    /// Its standard error; `None` of fewer than three readings.
    pub error: Option<f64>,
    /// As read, with the give of the rig.
    pub read: f64,
    /// Stiffness of the way up and of the way down, each alone; `None` of fewer than two readings.
    pub ways: (Option<f64>, Option<f64>),
    /// Greatest distance between the movement on the way down and that on the way up under the same load, as a share of
    /// the greatest movement; `None` where no load was met twice.
    pub hysteresis: Option<f64>,
    /// The reading that stands apart from the line, if one does: its index, those of the way down after those of the way
    /// up.
    pub apart: Option<usize>,
}

/// Why readings give no stiffness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SlopeFault {
    /// No reading.
    Empty,
    /// Every reading is under the same load.
    OneLoad,
    /// The movement does not grow with the load.
    NoGive,
    /// The rig gives more than was read.
    Rig,
}

impl std::fmt::Display for SlopeFault {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(match self {
            SlopeFault::Empty => "there is no reading",
            SlopeFault::OneLoad => "all readings are under one load",
            SlopeFault::NoGive => "the movement does not grow with the load",
            SlopeFault::Rig => "the rig gives more than was read: its stiffness is too small",
        })
    }
}

/// Stiffness of (load, movement) pairs on the way up and on the way down.
///
/// The movement is fitted as a line over the load, which is set and so has no error; the slope is 1/k. The rig's give is
/// taken out of it: 1/k = 1/k_read - 1/k_rig. A single reading goes through nothing at no load.
///
/// A reading stands apart where its residual, over the scatter of the line without it, is beyond Student's t at
/// 5 %/(2n) (Cook and Weisberg, Residuals and Influence in Regression, 1982, 2.2.2; from memory).
///
/// # Errors
/// [`SlopeFault`].
pub fn slope(
    up: &[(f64, f64)],
    down: &[(f64, f64)],
    rig: Option<f64>,
) -> Result<Slope, SlopeFault> {
    let all: Vec<(f64, f64)> = up.iter().chain(down).copied().collect();
    let (give, error) = give(&all)?;
    if !(give > 0.0) {
        return Err(SlopeFault::NoGive);
    }
    let own = give - rig.map_or(0.0, |rig| 1.0 / rig);
    if !(own > 0.0) {
        return Err(SlopeFault::Rig);
    }
    let way = |readings: &[(f64, f64)]| match readings.len() {
        0 | 1 => None,
        _ => self::give(readings).ok().map(|(give, _)| 1.0 / give),
    };
    let most = all.iter().map(|(_, moved)| moved.abs()).fold(0.0, f64::max);
    let gaps = up.iter().filter_map(|(load, moved)| {
        let same = |(other, _): &&(f64, f64)| (other - load).abs() <= 1e-9 * load.abs();
        let (_, back) = down.iter().find(same)?;
        Some((back - moved).abs() / most)
    });
    Ok(Slope {
        stiffness: 1.0 / own,
        error: error.map(|error| error / (own * own)),
        read: 1.0 / give,
        ways: (way(up), way(down)),
        hysteresis: gaps.reduce(f64::max).filter(|gap| gap.is_finite()),
        apart: apart(&all),
    })
}

/// Movement per load, and its standard error where three readings or more tell it.
fn give(readings: &[(f64, f64)]) -> Result<(f64, Option<f64>), SlopeFault> {
    let (loads, moved): (Vec<f64>, Vec<f64>) = readings.iter().copied().unzip();
    match loads.as_slice() {
        [] => Err(SlopeFault::Empty),
        [load] if *load == 0.0 => Err(SlopeFault::OneLoad),
        [load] => Ok((moved[0] / load, None)),
        _ => {
            let fit = regress(&[loads], &moved).map_err(|_| SlopeFault::OneLoad)?;
            let found = fit.coefficients.get(1).copied().flatten();
            let slope = found.ok_or(SlopeFault::OneLoad)?;
            Ok((
                slope.value,
                Some(slope.error).filter(|error| error.is_finite()),
            ))
        }
    }
}

/// The reading that stands apart from the line through the others, by its index.
fn apart(readings: &[(f64, f64)]) -> Option<usize> {
    let count = readings.len();
    if count < 5 {
        return None;
    }
    let limit = students(count - 3, 1.0 - CHANCE_APART / count as f64);
    let beyond = |at: usize| {
        let mut others = readings.to_vec();
        let (load, moved) = others.remove(at);
        let (loads, rest): (Vec<f64>, Vec<f64>) = others.iter().copied().unzip();
        let mean = loads.iter().sum::<f64>() / loads.len() as f64;
        let spread: f64 = loads.iter().map(|each| (each - mean).powi(2)).sum();
        let fit = regress(std::slice::from_ref(&loads), &rest).ok()?;
        let (constant, along) = (fit.coefficients[0]?, fit.coefficients[1]?);
        let missed = moved - constant.value - along.value * load;
        let room = 1.0 + 1.0 / loads.len() as f64 + (load - mean).powi(2) / spread;
        let statistic = missed.abs() / (fit.deviation * room.sqrt());
        // Lines through all others but for rounding leave no scatter to judge by.
        let exact = fit.deviation <= 1e-9 * moved.abs();
        (!exact && statistic > limit).then_some((at, statistic))
    };
    let found = (0..count).filter_map(beyond);
    found.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at)
}
