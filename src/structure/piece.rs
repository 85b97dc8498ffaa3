//! The short piece that every element starts from: stiffness and mass.

use super::block::{Block, ZERO, add_row};
use super::element::{Level, turn};
use super::section::{MassLaw, SectionLaw};

/// Points and weights of Gauss's rule with six points, one half of it.
const GAUSS: [(f64, f64); 3] = [
    (0.238_619_186_083_196_9, 0.467_913_934_572_691),
    (0.661_209_386_466_264_5, 0.360_761_573_048_138_6),
    (0.932_469_514_203_152, 0.171_324_492_379_170_36),
];

type Three = [[f64; 3]; 3];

/// `transpose(a) c a` added to `out` with a weight.
#[inline(always)]
fn add_congruent(out: &mut Three, weight: f64, a: &Three, c: &Three) {
    let mut ca = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            ca[i][j] = weight * (c[i][0] * a[0][j] + c[i][1] * a[1][j] + c[i][2] * a[2][j]);
        }
    }
    for i in 0..3 {
        for j in 0..3 {
            out[i][j] += a[0][i] * ca[0][j] + a[1][i] * ca[1][j] + a[2][i] * ca[2][j];
        }
    }
}

/// A short piece: exact section forces from equilibrium, the warping amplitude along it by polynomials.
///
/// Unknown are the six section forces r in the middle and p(s). With r(s) = E(s) r and the section law, the
/// mixed functional r.D - r.F r / 2 - r.G p + p.K p / 2 is stationary; D is the relative motion of the ends.
/// By symmetry (N_t, M_n, M_b) go with odd p, (N_n, N_b, M_t) with even p. The polynomials go to the fifth
/// degree; over a piece no longer than 1 / decay the energy is exact to about 1e-12.
#[inline(always)]
pub(super) fn start(law: &SectionLaw, length: f64, curvature: f64) -> Level {
    let h = 0.5 * length;
    let (mut even, mut odd) = ([[0.0; 3]; 3], [[0.0; 3]; 3]);
    // Work of each polynomial of p with each section force.
    let (mut even_p, mut odd_p) = ([[0.0; 3]; 3], [[0.0; 3]; 3]);
    for (x, weight) in GAUSS {
        let (sin, cos, along, across) = turn(curvature, h * x);
        let weight = 2.0 * h * weight;
        let even_of_even = [[cos, 0.0, 0.0], [0.0, cos, 0.0], [across, 0.0, 1.0]];
        let odd_of_even = [[-sin, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0, sin, 0.0]];
        let odd_of_odd = [[cos, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, across, cos]];
        let even_of_odd = [[sin, 0.0, 0.0], [0.0, along, -sin], [-along, 0.0, 0.0]];
        add_congruent(&mut even, weight, &even_of_even, &law.even);
        add_congruent(&mut even, weight, &odd_of_even, &law.odd);
        add_congruent(&mut odd, weight, &odd_of_odd, &law.odd);
        add_congruent(&mut odd, weight, &even_of_odd, &law.even);
        let bubble = 1.0 - x * x;
        let odd_shapes = [x, x * bubble, x * x * x * bubble];
        let even_shapes = [1.0, bubble, x * x * bubble];
        let (square, fourth) = (x * x, x * x * x * x);
        let odd_slopes = [1.0, 1.0 - 3.0 * square, 3.0 * square - 5.0 * fourth];
        let even_slopes = [0.0, -2.0 * x, 2.0 * x - 4.0 * square * x];
        for i in 0..3 {
            let stretch =
                |rows: &Three| -> f64 { (0..3).map(|k| rows[k][i] * law.warp_lever[k]).sum() };
            let warp_odd = weight / h * stretch(&even_of_even);
            let warp_even = weight / h * stretch(&even_of_odd);
            let pull = |rows: &Three| (0..3).map(|k| rows[k][i] * law.lever[k]).sum::<f64>();
            let (with_odd, with_even) = (weight * pull(&odd_of_even), weight * pull(&odd_of_odd));
            for k in 0..3 {
                even_p[i][k] += with_odd * odd_shapes[k] + warp_odd * odd_slopes[k];
                odd_p[i][k] += with_even * even_shapes[k] + warp_even * even_slopes[k];
            }
        }
    }
    let (bend, twist) = (law.warping / h, law.twist * h);
    let form = |stiff: [f64; 6], mass: [f64; 6]| {
        let v: [f64; 6] = std::array::from_fn(|k| bend * stiff[k] + twist * mass[k]);
        [[v[0], v[1], v[2]], [v[1], v[3], v[4]], [v[2], v[4], v[5]]]
    };
    let p_odd = form(
        [2.0, 0.0, 0.0, 8.0 / 5.0, 24.0 / 35.0, 184.0 / 315.0],
        [
            2.0 / 3.0,
            4.0 / 15.0,
            4.0 / 35.0,
            16.0 / 105.0,
            16.0 / 315.0,
            16.0 / 693.0,
        ],
    );
    let p_even = form(
        [0.0, 0.0, 0.0, 8.0 / 3.0, 8.0 / 15.0, 88.0 / 105.0],
        [
            2.0,
            4.0 / 3.0,
            4.0 / 15.0,
            16.0 / 15.0,
            16.0 / 105.0,
            16.0 / 315.0,
        ],
    );
    let (even_flex, even_lever, difference) = condense(&even, &even_p, &p_odd);
    let (odd_flex, odd_lever, mean) = condense(&odd, &odd_p, &p_even);
    let (k00, k01) = stiffness(
        [&even_flex, &odd_flex],
        [&even_lever, &odd_lever],
        (mean, difference),
        turn(curvature, h),
    );
    let (m00, m01) = mass(&law.mass, h, curvature);
    Level {
        k00,
        k01,
        m00,
        m01,
        middle: ZERO,
        give: ZERO,
    }
}

/// Takes the two inner polynomials of p out: flexibility, lever of the end value, stiffness of the end value.
#[inline(always)]
fn condense(flex: &Three, work: &Three, p: &Three) -> (Three, [f64; 3], f64) {
    let over = 1.0 / (p[1][1] * p[2][2] - p[1][2] * p[1][2]);
    let inverse = [
        [p[2][2] * over, -p[1][2] * over],
        [-p[1][2] * over, p[1][1] * over],
    ];
    let apply = |a: f64, b: f64| {
        [
            inverse[0][0] * a + inverse[0][1] * b,
            inverse[1][0] * a + inverse[1][1] * b,
        ]
    };
    let end = apply(p[0][1], p[0][2]);
    let mut out = *flex;
    let mut lever = [0.0; 3];
    for i in 0..3 {
        let inner = apply(work[i][1], work[i][2]);
        for j in 0..3 {
            out[i][j] += inner[0] * work[j][1] + inner[1] * work[j][2];
        }
        lever[i] = work[i][0] - work[i][1] * end[0] - work[i][2] * end[1];
    }
    (out, lever, p[0][0] - p[0][1] * end[0] - p[0][2] * end[1])
}

/// K00 and K01 from the flexibilities in the middle.
#[inline(always)]
fn stiffness(
    flexibility: [&Three; 2],
    lever: [&[f64; 3]; 2],
    (mean, difference): (f64, f64),
    (sin, cos, along, across): (f64, f64, f64, f64),
) -> (Block, Block) {
    let (mut k00, mut k01) = (ZERO, ZERO);
    // Relative motion conjugate to (N_t, M_n, M_b) and (N_n, N_b, M_t) per motion of the far end.
    let far_even = |sin: f64| -> [[f64; 8]; 3] {
        [
            [cos, -sin, 0.0, 0.0, 0.0, across, 0.0, 0.0],
            [0.0, 0.0, 0.0, sin, cos, 0.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0],
        ]
    };
    let far_odd = |sin: f64, along: f64| -> [[f64; 8]; 3] {
        [
            [sin, cos, 0.0, 0.0, 0.0, -along, 0.0, 0.0],
            [0.0, 0.0, 1.0, across, along, 0.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, cos, -sin, 0.0, 0.0, 0.0],
        ]
    };
    let near = |rows: [[f64; 8]; 3]| rows.map(|row| row.map(|value| -value));
    let mut pairs = [
        (near(far_even(-sin)), far_even(sin)),
        (near(far_odd(-sin, -along)), far_odd(sin, along)),
    ];
    for i in 0..3 {
        pairs[0].0[i][6] = 0.5 * lever[0][i];
        pairs[0].1[i][6] = -0.5 * lever[0][i];
        pairs[1].0[i][6] = -0.5 * lever[1][i];
        pairs[1].1[i][6] = -0.5 * lever[1][i];
    }
    for (flex, (near, far)) in flexibility.into_iter().zip(&pairs) {
        let stiff = super::thinwall::inverse_symmetric(flex);
        for i in 0..3 {
            let (mut to_near, mut to_far) = ([0.0; 8], [0.0; 8]);
            for k in 0..3 {
                add_row(&mut to_near, stiff[i][k], &near[k]);
                add_row(&mut to_far, stiff[i][k], &far[k]);
            }
            for row in 0..7 {
                add_row(&mut k00[row], near[i][row], &to_near);
                add_row(&mut k01[row], near[i][row], &to_far);
            }
        }
    }
    k00[6][6] += 0.25 * (mean + difference);
    k01[6][6] += 0.25 * (mean - difference);
    (k00, k01)
}

/// Consistent mass of a short piece: linear motion plus what the ends' turns bend into it, rigid motions exact.
///
/// u = (1-x) u0 + x u1 + (1-x) th0 x (r - r0 + sag) / 2 + x th1 x (r - r1 + sag) / 2, sag the arc off its chord.
#[inline(always)]
fn mass(law: &MassLaw, h: f64, curvature: f64) -> (Block, Block) {
    let (end_sin, end_cos, end_along, end_across) = turn(curvature, h);
    let (mut m00, mut m01) = (ZERO, ZERO);
    let place = 1.0 / 3.0_f64.sqrt();
    for x in [-place, place] {
        let (sin, cos, along, across) = turn(curvature, h * x);
        let share = 0.5 * (1.0 + x);
        let sag = [
            along + end_along - share * 2.0 * end_along,
            across - end_across,
        ];
        let shape = |share: f64, from: f64, end_sin: f64| -> [[f64; 6]; 6] {
            // Motion in the axes at x, by columns: what each degree of freedom of the end does.
            let lever = [
                0.5 * share * (along - from + sag[0]),
                0.5 * share * (across - end_across + sag[1]),
            ];
            let local = |v: [f64; 3]| [cos * v[0] + sin * v[1], cos * v[1] - sin * v[0], v[2]];
            let axes = [
                [end_cos, end_sin, 0.0],
                [-end_sin, end_cos, 0.0],
                [0.0, 0.0, 1.0],
            ];
            let mut columns = [[0.0; 6]; 6];
            for (k, axis) in axes.iter().enumerate() {
                let moved = local(axis.map(|value| share * value));
                columns[k][..3].copy_from_slice(&moved);
                columns[k + 3][3..].copy_from_slice(&moved);
                let turned = [
                    -axis[2] * lever[1],
                    axis[2] * lever[0],
                    axis[0] * lever[1] - axis[1] * lever[0],
                ];
                columns[k + 3][..3].copy_from_slice(&local(turned));
            }
            columns
        };
        let near = shape(1.0 - share, -end_along, -end_sin);
        let far = shape(share, end_along, end_sin);
        for i in 0..6 {
            let momentum = momentum(law, &near[i]).map(|value| h * value);
            let with = |motion: &[f64; 6]| -> f64 { (0..6).map(|k| momentum[k] * motion[k]).sum() };
            for j in 0..6 {
                m00[i][j] += with(&near[j]);
                m01[i][j] += with(&far[j]);
            }
        }
    }
    (m00, m01)
}

/// Momentum and moment of momentum per length of a rigid section moving with (u, th) about the path line.
#[inline(always)]
pub(super) fn momentum(law: &MassLaw, motion: &[f64; 6]) -> [f64; 6] {
    let [u, v, w, t, n, b] = *motion;
    [
        law.mass * u + law.z * n - law.y * b,
        law.mass * v - law.z * t,
        law.mass * w + law.y * t,
        law.y * w - law.z * v + (law.yy + law.zz) * t,
        law.z * u + law.zz * n - law.yz * b,
        -law.y * u - law.yz * n + law.yy * b,
    ]
}
