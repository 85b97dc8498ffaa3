//! B-splines through the rims of holes in curved walls.

use super::Vec3;

/// Degree of the splines: pieces of this degree keep three derivatives at their joints.
pub const DEGREE: usize = 7;

/// How often a knot between two pieces is repeated, so that three derivatives stay.
const REPEATED: usize = DEGREE - 3;

/// A B-spline curve of degree 7 over equal pieces, clamped at its ends, with three continuous derivatives.
///
/// Its parameter runs from 0 to the number of pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Spline {
    /// Control points, in mm; four a piece and four more.
    pub points: Vec<Vec3>,
}

impl Spline {
    /// Number of pieces.
    pub fn pieces(&self) -> usize {
        self.points.len() / REPEATED - 1
    }

    /// Distinct knots with their multiplicities.
    pub fn knots(&self) -> Vec<(f64, usize)> {
        let last = self.pieces();
        (0..=last)
            .map(|knot| {
                let end = knot == 0 || knot == last;
                (knot as f64, if end { DEGREE + 1 } else { REPEATED })
            })
            .collect()
    }

    /// Knot of an index of the full knot vector.
    fn knot(&self, index: usize) -> f64 {
        let last = self.pieces();
        let knot = match index {
            0..=DEGREE => 0,
            _ => 1 + (index - DEGREE - 1) / REPEATED,
        };
        knot.min(last) as f64
    }

    /// Point and derivative at a share 0 to 1 of the parameter (de Boor's recursion, textbook).
    pub fn at(&self, share: f64) -> (Vec3, Vec3) {
        let pieces = self.pieces();
        let t = share * pieces as f64;
        let piece = (t.max(0.0) as usize).min(pieces - 1);
        // Knot index of the piece's start.
        let k = DEGREE + REPEATED * piece;
        let mut d: Vec<Vec3> = (0..=DEGREE).map(|j| self.points[j + k - DEGREE]).collect();
        let mut slope = Vec3::zeros();
        for r in 1..=DEGREE {
            for j in (r..=DEGREE).rev() {
                let (low, high) = (self.knot(j + k - DEGREE), self.knot(j + 1 + k - r));
                if r == DEGREE {
                    slope = (d[j] - d[j - 1]) * (DEGREE as f64 / (high - low));
                }
                let a = (t - low) / (high - low);
                d[j] = d[j - 1] * (1.0 - a) + d[j] * a;
            }
        }
        (d[DEGREE], slope * pieces as f64)
    }

    /// The spline that shares value and three derivatives with a curve at equal steps of its parameter.
    ///
    /// `jet` gives the value and the first three derivatives at a parameter; the spline runs from `from` to `to` in
    /// `pieces` pieces.
    pub(super) fn through(
        jet: impl Fn(f64) -> [Vec3; 4],
        from: f64,
        to: f64,
        pieces: usize,
    ) -> Spline {
        let step = (to - from) / pieces as f64;
        let jets: Vec<[Vec3; 4]> = (0..=pieces)
            .map(|index| {
                let at = if index == pieces {
                    to
                } else {
                    from + step * index as f64
                };
                let [p, d1, d2, d3] = jet(at);
                [p, d1 * step, d2 * step * step, d3 * step.powi(3)]
            })
            .collect();
        let bezier: Vec<[Vec3; 8]> = jets
            .windows(2)
            .map(|ends| hermite(&ends[0], &ends[1]))
            .collect();
        let mut spline = Spline {
            points: vec![Vec3::zeros(); REPEATED * (pieces + 1)],
        };
        let knots: Vec<f64> = (0..REPEATED * (pieces + 1) + DEGREE + 1)
            .map(|index| spline.knot(index))
            .collect();
        for index in 0..spline.points.len() {
            // A control point is the polar form of any piece that it acts on, at the knots behind its own.
            let piece = (index.saturating_sub(2) / REPEATED).min(pieces - 1);
            let local: Vec<f64> = (1..=DEGREE)
                .map(|j| knots[index + j] - piece as f64)
                .collect();
            spline.points[index] = polar(&bezier[piece], &local);
        }
        spline
    }
}

/// Bézier points of the polynomial of degree 7 with value and three derivatives given at both ends of 0 to 1.
fn hermite(a: &[Vec3; 4], b: &[Vec3; 4]) -> [Vec3; 8] {
    let side = |[p, d1, d2, d3]: &[Vec3; 4], sign: f64| {
        let first = p + d1 * (sign / 7.0);
        let second = first * 2.0 - p + d2 / 42.0;
        let third = second * 3.0 - first * 3.0 + p + d3 * (sign / 210.0);
        [*p, first, second, third]
    };
    let (a, b) = (side(a, 1.0), side(b, -1.0));
    [a[0], a[1], a[2], a[3], b[3], b[2], b[1], b[0]]
}

/// Polar form of a Bézier polynomial: de Casteljau's scheme with another parameter at every step.
fn polar(bezier: &[Vec3; 8], parameters: &[f64]) -> Vec3 {
    let mut points = *bezier;
    for (level, &t) in parameters.iter().enumerate() {
        for j in 0..DEGREE - level {
            points[j] = points[j] * (1.0 - t) + points[j + 1] * t;
        }
    }
    points[0]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A spline of degree 7 gives back a polynomial of degree 7 exactly, and its derivative (own computation).
    #[test]
    fn polynomials_come_back() {
        let jet = |t: f64| {
            [
                Vec3::new(t.powi(7), t * t, 1.0),
                Vec3::new(7.0 * t.powi(6), 2.0 * t, 0.0),
                Vec3::new(42.0 * t.powi(5), 2.0, 0.0),
                Vec3::new(210.0 * t.powi(4), 0.0, 0.0),
            ]
        };
        for pieces in [1, 2, 3, 5] {
            let spline = Spline::through(jet, -0.5, 1.0, pieces);
            assert_eq!(spline.pieces(), pieces);
            let total: usize = spline.knots().iter().map(|knot| knot.1).sum();
            assert_eq!(total, spline.points.len() + DEGREE + 1);
            for k in 0..=20 {
                let share = f64::from(k) / 20.0;
                let t = -0.5 + 1.5 * share;
                let (point, slope) = spline.at(share);
                assert!((point - jet(t)[0]).norm() < 1e-12, "{pieces} {t}");
                assert!((slope - jet(t)[1] * 1.5).norm() < 1e-11, "{pieces} {t}");
            }
        }
    }
}
