//! Central composite: corners, axial designs and centre, for a quadratic fit.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Axial, Ending, Error};
use super::coded;
use super::two_level::Fraction;

/// Least resolution of the corners: below it interactions of two factors are mixed with each other.
const LEAST_RESOLUTION: usize = 5;

/// Halvings of the corners that leave them good enough, besides 0.
fn possible(axes: usize) -> Vec<usize> {
    let good = |&halvings: &usize| {
        let fraction = Fraction::new(axes, halvings);
        fraction.is_ok_and(|fraction| fraction.resolution() >= Some(LEAST_RESOLUTION))
    };
    Fraction::possible(axes).into_iter().filter(good).collect()
}

/// Coded runs, (runs, axes) flat: corners in standard order, the axial designs axis by axis, the centre once.
///
/// The axial distance over the corners' is F^(1/4), F the number of corners, which makes the variance of a quadratic
/// fit depend on the distance from the centre alone (rotatable); 1 where the design is faced.
///
/// Sources: Box and Wilson, Journal of the Royal Statistical Society B 13(1), 1951; Box and Hunter, Annals of
/// Mathematical Statistics 28(1), 1957; NIST/SEMATECH e-Handbook of Statistical Methods, 5.3.3.6.1.
pub(crate) fn coded(axes: usize, axial: Axial, halvings: usize) -> Result<Vec<f64>, Error> {
    if axes < 2 {
        return Err(Error::AxisCount {
            plan: "central composite",
            axes,
            least: 2,
            most: 20,
        });
    }
    let possible = possible(axes);
    if halvings > 0 && !possible.contains(&halvings) {
        return Err(Error::NoFraction {
            axes,
            halvings,
            possible,
        });
    }
    let fraction = Fraction::new(axes, halvings)?;
    let rotatable = (fraction.runs() as f64).powf(0.25);
    let (corner, end) = match axial {
        Axial::Inscribed => (1.0 / rotatable, 1.0),
        Axial::Faced => (1.0, 1.0),
        Axial::Circumscribed => (1.0, rotatable),
    };
    let mut runs: Vec<f64> = fraction
        .coded()
        .iter()
        .map(|level| level * corner)
        .collect();
    for axis in 0..axes {
        for sign in [-1.0, 1.0] {
            runs.extend((0..axes).map(|other| if other == axis { sign * end } else { 0.0 }));
        }
    }
    runs.extend(vec![0.0; axes]);
    Ok(runs)
}

/// Evaluates the design.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    axial: Axial,
    halvings: usize,
) -> Result<Ending, Error> {
    coded::run(ledger, scales, &coded(scales.len(), axial, halvings)?)
}
