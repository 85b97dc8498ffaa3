//! Plackett-Burman: main effects of many axes in the fewest designs.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error};
use super::coded;

/// Most axes there are runs for.
const MOST_AXES: usize = 63;

/// Number of runs for so many axes: the least multiple of 4 above their number for which a matrix is known here
/// (all up to 64 but 52).
pub(crate) fn runs(axes: usize) -> Result<usize, Error> {
    if axes == 0 || axes > MOST_AXES {
        return Err(Error::AxisCount {
            plan: "Plackett-Burman",
            axes,
            least: 1,
            most: MOST_AXES,
        });
    }
    let from = axes / 4 + 1;
    let known = (from..)
        .map(|quarter| 4 * quarter)
        .find(|&runs| is_known(runs));
    Ok(known.unwrap_or(64))
}

/// Coded runs, (runs, axes) flat: every column has as many of either level, any two columns each of the four pairs.
///
/// Where one less than the number of runs is a prime, the rows are the cyclic shifts of one row, and last a row of
/// lower levels, as published for 12, 20, 24, 44 and 48 runs; otherwise (16, 28, 36, 40, ...) another matrix with the
/// same properties.
///
/// Sources: Plackett and Burman, Biometrika 33(4), 1946; Paley, Journal of Mathematics and Physics 12, 1933 (from
/// memory).
pub(crate) fn coded(axes: usize) -> Result<Vec<f64>, Error> {
    let runs = runs(axes)?;
    let rows = if is_prime(runs - 1) {
        shifts(runs - 1)
    } else {
        let matrix = hadamard(runs);
        let row = |row: &Vec<i8>| row[1..].iter().map(|each| each * row[0]).collect();
        matrix.iter().map(row).collect()
    };
    let level = |&each: &i8| f64::from(each);
    Ok(rows
        .iter()
        .flat_map(|row: &Vec<i8>| row[..axes].iter().map(level))
        .collect())
}

fn is_known(runs: usize) -> bool {
    runs == 4
        || is_prime(runs - 1)
        || is_doubled_prime(runs)
        || runs.is_multiple_of(8) && is_known(runs / 2)
}

fn is_doubled_prime(runs: usize) -> bool {
    is_prime(runs / 2 - 1) && (runs / 2 - 1) % 4 == 1
}

fn is_prime(number: usize) -> bool {
    number > 1
        && (2..number)
            .take_while(|k| k * k <= number)
            .all(|k| !number.is_multiple_of(k))
}

/// Whether a number is 0 (0), a square (1) or not (-1) among the whole numbers modulo a prime.
fn quadratic_character(number: usize, prime: usize) -> i8 {
    match number % prime {
        0 => 0,
        rest if (1..prime).any(|root| root * root % prime == rest) => 1,
        _ => -1,
    }
}

/// Cyclic shifts of the row of squares modulo a prime that leaves 3 by 4, then a row of lower levels.
fn shifts(prime: usize) -> Vec<Vec<i8>> {
    let up = |place: usize| match quadratic_character(place, prime) {
        -1 => -1,
        _ => 1,
    };
    let row = |shift: usize| (0..prime).map(|place| up(place + prime - shift)).collect();
    (0..prime).map(row).chain([vec![-1; prime]]).collect()
}

/// A matrix of -1 and 1 with orthogonal rows: from the shifts, Paley's second construction, or by doubling.
fn hadamard(runs: usize) -> Vec<Vec<i8>> {
    if is_prime(runs - 1) {
        let with_ones = |row: Vec<i8>| [1].into_iter().chain(row).collect();
        return shifts(runs - 1).into_iter().map(with_ones).collect();
    }
    let half = runs / 2;
    if !is_doubled_prime(runs) {
        let part = if half == 2 {
            vec![vec![1, 1], vec![1, -1]]
        } else {
            hadamard(half)
        };
        let entry = |row: usize, column: usize| {
            let sign = if row >= half && column >= half { -1 } else { 1 };
            sign * part[row % half][column % half]
        };
        return square(runs, entry);
    }
    let conference = |row: usize, column: usize| match (row, column) {
        (0, 0) => 0,
        (0, _) | (_, 0) => 1,
        _ => quadratic_character(row + half - 1 - column, half - 1),
    };
    square(runs, |row, column| match conference(row / 2, column / 2) {
        0 => [[1, -1], [-1, -1]][row % 2][column % 2],
        sign => sign * [[1, 1], [1, -1]][row % 2][column % 2],
    })
}

fn square(size: usize, entry: impl Fn(usize, usize) -> i8) -> Vec<Vec<i8>> {
    let row = |row: usize| (0..size).map(|column| entry(row, column)).collect();
    (0..size).map(row).collect()
}

/// Evaluates the design.
pub(crate) fn run(ledger: &mut Ledger<'_>, scales: &[Scale]) -> Result<Ending, Error> {
    coded::run(ledger, scales, &coded(scales.len())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First rows of Plackett and Burman 1946 (from memory), with the last row of lower levels.
    #[test]
    fn published_rows() {
        let published = [
            "++-+++---+-",
            "++--++++-+-+----++-",
            "+++++-+-++--++--+-+----",
            "+++++-++++--+-+-+++--+--++-++---+-+-++----+----",
        ];
        for row in published {
            let axes = row.len();
            let coded = coded(axes).unwrap();
            let level = |sign| if sign == '+' { 1.0 } else { -1.0 };
            let row: Vec<f64> = row.chars().map(level).collect();
            assert_eq!(coded[..axes], row);
            // The second row is the first, moved on by one.
            assert_eq!(coded[axes + 1..2 * axes], row[..axes - 1]);
            assert_eq!(coded[axes], row[axes - 1]);
            assert_eq!(coded[coded.len() - axes..], vec![-1.0; axes]);
        }
    }

    #[test]
    fn columns_are_balanced_and_orthogonal() {
        for axes in 1..=MOST_AXES {
            let runs = runs(axes).unwrap();
            assert!(runs > axes && runs - axes <= 8 && runs.is_multiple_of(4));
            let coded = coded(axes).unwrap();
            assert_eq!(coded.len(), runs * axes);
            let sum = |of: &dyn Fn(&[f64]) -> f64| coded.chunks(axes).map(of).sum::<f64>();
            for a in 0..axes {
                assert_eq!(sum(&|row| row[a]), 0.0, "{axes}: column {a}");
                for b in 0..a {
                    assert_eq!(sum(&|row| row[a] * row[b]), 0.0, "{axes}: columns {a}, {b}");
                }
            }
        }
        assert_eq!(runs(11), Ok(12));
        assert_eq!(runs(12), Ok(16));
        assert_eq!(runs(48), Ok(56));
        assert!(runs(64).is_err());
    }
}
