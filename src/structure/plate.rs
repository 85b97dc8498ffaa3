//! A thin wall as a plate clamped along its root: what gives under a point load on its free edge.
//!
//! Deflection = c P H² / D, with D = E t³ / (12 (1 - ν²)), H the wall's height and c the coefficients below.

use nalgebra::{DMatrix, DVector};

/// Bending stiffness of a plate, in N mm: E t³ / (12 (1 - ν²)).
///
/// `modulus` E in MPa, `poisson` ν, `thickness` t in mm.
pub fn plate_stiffness_n_mm(modulus: f64, poisson: f64, thickness: f64) -> f64 {
    modulus * thickness.powi(3) / (12.0 * (1.0 - poisson * poisson))
}

/// Coefficient of a wall without ends: point load on the free edge, deflection under it.
///
/// Source: Jaramillo 1950 (from memory); here the load's Fourier integral over exact solutions of a strip.
pub fn long_wall(poisson: f64) -> f64 {
    let (step, end) = (0.05, 25.0);
    let count = (end / step) as usize;
    let sum: f64 = (0..count)
        .map(|k| strip((k as f64 + 0.5) * step, poisson).0)
        .sum();
    // Beyond the end the strip is an edge of a half plane: 2 / ((3 + nu)(1 - nu) a³).
    let tail = 1.0 / ((3.0 + poisson) * (1.0 - poisson) * end * end);
    (sum * step + tail) / std::f64::consts::PI
}

/// Moment at the root of a wall without ends per length and force, `away` heights along the root from the load.
///
/// Source: as [`long_wall`].
pub fn long_wall_root_moment(poisson: f64, away: f64) -> f64 {
    let step = 0.05;
    let wave = |k: usize| (k as f64 + 0.5) * step;
    let sum: f64 = (0..500)
        .map(|k| strip(wave(k), poisson).1 * (wave(k) * away).cos())
        .sum();
    sum * step / std::f64::consts::PI
}

/// Deflection of the free edge and moment at the root of a strip of unit height and stiffness under an edge load
/// cos(a x): w = (B (y cosh ay - sinh(ay)/a) + D y sinh ay) cos ax meets the plate equation and the root; moment and
/// Kirchhoff's shear at the edge give B and D.
fn strip(a: f64, poisson: f64) -> (f64, f64) {
    let (s, c) = (a.sinh(), a.cosh());
    let b = [
        c - s / a,
        a * s,
        a * s + a * a * c,
        2.0 * a * a * c + a * a * a * s,
    ];
    let d = [
        s,
        s + a * c,
        2.0 * a * c + a * a * s,
        3.0 * a * a * s + a * a * a * c,
    ];
    let moment = |w: &[f64; 4]| w[2] - poisson * a * a * w[0];
    let shear = |w: &[f64; 4]| w[3] - (2.0 - poisson) * a * a * w[1];
    let determinant = moment(&b) * shear(&d) - moment(&d) * shear(&b);
    let (share_b, share_d) = (moment(&d) / determinant, -moment(&b) / determinant);
    (share_b * b[0] + share_d * d[0], 2.0 * a * share_d)
}

/// How a wall ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Clamped at both ends; the load stands in the middle of the free edge.
    Clamped,
    /// Free at one end at least; the load stands at a free corner.
    Free,
    /// As free ends, but the load stands in the middle.
    FreeMiddle,
}

/// Coefficient of a wall of finite length, by Ritz's method: 12 by 8 polynomials, 0.5 % stiff at most.
///
/// `length_over_height` 0.25 to 6.
///
/// Source: Ritz 1909 on Kirchhoff's plate; Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells (from
/// memory).
pub fn short_wall(length_over_height: f64, poisson: f64, ends: Ends) -> f64 {
    const ALONG: usize = 12;
    const UP: usize = 8;
    let gauss = gauss_points();
    let clamped = ends == Ends::Clamped;
    let degree = |i: usize| if clamped { 2 * i } else { i };
    // Values and two derivatives of every polynomial at the points, the weights in.
    let along: Vec<Vec<[f64; 3]>> = (0..ALONG)
        .map(|i| {
            gauss
                .iter()
                .map(|(x, _)| along_wall(degree(i), *x, clamped))
                .collect()
        })
        .collect();
    let up: Vec<Vec<[f64; 3]>> = (0..UP)
        .map(|j| gauss.iter().map(|(x, _)| up_wall(j, *x)).collect())
        .collect();
    let table = |of: &[Vec<[f64; 3]>], scale: f64| {
        let count = of.len();
        let mut all = vec![[[0.0; 3]; 3]; count * count];
        for i in 0..count {
            for j in 0..count {
                for (point, (_, weight)) in gauss.iter().enumerate() {
                    for a in 0..3 {
                        for b in 0..3 {
                            all[i * count + j][a][b] +=
                                scale * weight * of[i][point][a] * of[j][point][b];
                        }
                    }
                }
            }
        }
        all
    };
    let (x, y) = (table(&along, 1.0), table(&up, 0.5));
    let s = 2.0 / length_over_height;
    let energy = |row: usize, column: usize| {
        let x = &x[(row / UP) * ALONG + column / UP];
        let y = &y[(row % UP) * UP + column % UP];
        s * s * s * x[2][2] * y[0][0]
            + x[0][0] * y[2][2] / s
            + poisson * s * (x[2][0] * y[0][2] + x[0][2] * y[2][0])
            + 2.0 * (1.0 - poisson) * s * x[1][1] * y[1][1]
    };
    let size = ALONG * UP;
    let scale: Vec<f64> = (0..size).map(|k| 1.0 / energy(k, k).sqrt()).collect();
    let matrix = DMatrix::from_fn(size, size, |i, j| scale[i] * scale[j] * energy(i, j));
    let at = if ends == Ends::Free { 1.0 } else { 0.0 };
    let load = DVector::from_fn(size, |k, _| {
        scale[k] * along_wall(degree(k / UP), at, clamped)[0] * up_wall(k % UP, 1.0)[0]
    });
    matrix
        .cholesky()
        .map_or(f64::NAN, |factor| load.dot(&factor.solve(&load)))
}

/// Polynomial along the wall, -1 to 1, and its derivatives; (1 - x²)² clamps the ends.
fn along_wall(degree: usize, x: f64, clamped: bool) -> [f64; 3] {
    let p = legendre(degree, x);
    if !clamped {
        return p;
    }
    let (g, g1, g2) = (
        (1.0 - x * x).powi(2),
        -4.0 * x * (1.0 - x * x),
        12.0 * x * x - 4.0,
    );
    [
        g * p[0],
        g1 * p[0] + g * p[1],
        g2 * p[0] + 2.0 * g1 * p[1] + g * p[2],
    ]
}

/// Polynomial up the wall at x from -1 (root) to 1 (edge), in heights, and its derivatives; y² clamps the root.
fn up_wall(degree: usize, x: f64) -> [f64; 3] {
    let y = 0.5 * (x + 1.0);
    let [p, p1, p2] = legendre(degree, x);
    let (p1, p2) = (2.0 * p1, 4.0 * p2);
    [
        y * y * p,
        2.0 * y * p + y * y * p1,
        2.0 * p + 4.0 * y * p1 + y * y * p2,
    ]
}

/// Legendre's polynomial and its first two derivatives.
fn legendre(degree: usize, x: f64) -> [f64; 3] {
    let (mut before, mut now) = ([0.0; 3], [1.0, 0.0, 0.0]);
    for n in 0..degree {
        let n = n as f64;
        let next = [
            ((2.0 * n + 1.0) * x * now[0] - n * before[0]) / (n + 1.0),
            before[1] + (2.0 * n + 1.0) * now[0],
            before[2] + (2.0 * n + 1.0) * now[1],
        ];
        (before, now) = (now, next);
    }
    now
}

/// Points and weights of Gauss and Legendre, exact to degree 55.
fn gauss_points() -> Vec<(f64, f64)> {
    const COUNT: usize = 28;
    (0..COUNT)
        .map(|k| {
            let mut x = (std::f64::consts::PI * (k as f64 + 0.75) / (COUNT as f64 + 0.5)).cos();
            for _ in 0..8 {
                let [p, slope, _] = legendre(COUNT, x);
                x -= p / slope;
            }
            let slope = legendre(COUNT, x)[1];
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!(
            (value / expected - 1.0).abs() <= tolerance,
            "{value} against {expected}"
        );
    }

    #[test]
    fn wide_wall_under_a_line_load() {
        // H 20, t 1, q 1 N/mm: D 6443.35, q H³/(3 D) = 0.413864. Timoshenko & Woinowsky-Krieger (from memory).
        let stiffness = plate_stiffness_n_mm(68900.0, 0.33, 1.0);
        near(stiffness, 6443.35, 1e-6);
        near(20f64.powi(3) / (3.0 * stiffness), 0.413864, 1e-5);
        // The same from the strip whose load does not change along it.
        near(strip(1e-3, 0.33).0, 1.0 / 3.0, 1e-4);
        near(strip(1e-3, 0.33).1, 1.0, 1e-4);
    }

    #[test]
    fn long_wall_under_a_point_load() {
        // nu 0.3: deflection 0.1665 (0.168 recalled in print), moments at the root 0, 0.25, ... 2 heights away.
        // Jaramillo 1950; Roark, wide cantilever (from memory). 1 %.
        near(long_wall(0.3), 0.1665, 0.01);
        for (away, moment) in [
            (0.0, 0.509),
            (0.25, 0.474),
            (0.5, 0.389),
            (1.0, 0.205),
            (1.5, 0.091),
            (2.0, 0.037),
        ] {
            near(long_wall_root_moment(0.3, away), moment, 0.01);
        }
    }

    #[test]
    fn short_walls_under_a_point_load() {
        // Length x height 40 x 25, 40 x 20, 60 x 20 mm, nu 0.33: conforming plate finite elements (own
        // computation, no published source), 1 %; the free wall of three heights 2 %: its long span suits
        // polynomials least.
        for (ratio, clamped, free) in [
            (1.6, 0.0661, 0.2475),
            (2.0, 0.0958, 0.2139),
            (3.0, 0.147, 0.1803),
        ] {
            near(short_wall(ratio, 0.33, Ends::Clamped), clamped, 0.01);
            near(short_wall(ratio, 0.33, Ends::FreeMiddle), free, 0.02);
        }
        // 0.3 x 154.048 N square to the middle of a 40 x 20 x 1 wall of aluminium: 0.6137 mm (own computation).
        let stiffness = plate_stiffness_n_mm(68900.0, 0.33, 1.0);
        let force = 0.3 * 154.048;
        let give = short_wall(2.0, 0.33, Ends::FreeMiddle) * 400.0 / stiffness;
        near(force * give, 0.6137, 0.015);
        // A narrow wall is a cantilever, 1/(3 D b) H³ without the plate's hold, nearly.
        near(short_wall(0.25, 0.0, Ends::FreeMiddle), 4.0 / 3.0, 0.02);
        // Long walls with ends far away approach the wall without ends.
        near(short_wall(6.0, 0.33, Ends::Clamped), long_wall(0.33), 0.015);
    }
}
