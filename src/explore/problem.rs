//! What is explored, seen from here: axes in, a row of numbers out.

use super::Axis;

/// A space of designs and what comes out of each.
///
/// A row is: the objectives, all to be made least; one violation for each constraint, met at 0 or below and growing
/// with the distance from being met, all of one scale; then measures that ride along.
pub trait Problem: Sync {
    /// The axes of the space; a design has one number for each.
    fn axes(&self) -> &[Axis];
    /// Number of objectives.
    fn objectives(&self) -> usize;
    /// Number of constraints.
    fn constraints(&self) -> usize;
    /// Length of a row, at least objectives and constraints together.
    fn width(&self) -> usize;
    /// Writes the row of a design; what is left unwritten stays NaN. The same design must give the same row.
    ///
    /// A design that can't be evaluated leaves its objectives NaN or infinite, and counts as worse than any other.
    fn evaluate(&self, x: &[f64], row: &mut [f64]);
    /// Whether a design keeps the rules that can be looked up before it is evaluated. Space filling replaces those
    /// that don't; the other plans evaluate them all the same. Unless said otherwise, every design does.
    fn allows(&self, _x: &[f64]) -> bool {
        true
    }
}

/// Sum of a row's violations: 0 where the design is feasible, infinite where an objective or a violation is NaN or
/// an objective is not finite.
pub fn violation(row: &[f64], objectives: usize, constraints: usize) -> f64 {
    let (goals, rest) = row.split_at(objectives);
    let limits = &rest[..constraints];
    if goals.iter().any(|goal| !goal.is_finite()) || limits.iter().any(|limit| limit.is_nan()) {
        return f64::INFINITY;
    }
    limits.iter().map(|limit| limit.max(0.0)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn broken_rows_are_worst() {
        assert_eq!(violation(&[1.0, 2.0, -3.0, 0.0, f64::NAN], 2, 2), 0.0);
        assert_eq!(violation(&[1.0, 2.0, 3.0, -1.0], 2, 2), 3.0);
        for row in [
            [f64::NAN, 0.0, -1.0],
            [f64::INFINITY, 0.0, -1.0],
            [0.0, 0.0, f64::NAN],
        ] {
            assert_eq!(violation(&row, 2, 1), f64::INFINITY);
        }
    }
}
