//! The ten-bar truss.

/// Sections in stock, in square inches.
pub const SECTIONS: [f64; 42] = [
    1.62, 1.80, 1.99, 2.13, 2.38, 2.62, 2.63, 2.88, 2.93, 3.09, 3.13, 3.38, 3.47, 3.55, 3.63, 3.84,
    3.87, 3.88, 4.18, 4.22, 4.49, 4.59, 4.80, 4.97, 5.12, 5.74, 7.22, 7.97, 11.5, 13.5, 13.9, 14.2,
    15.5, 16.0, 16.9, 18.8, 19.9, 22.0, 22.9, 26.5, 30.0, 33.5,
];

/// Bays 360 in high.
pub fn tenbar(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    truss(x, 360.0, f, g);
}

/// The height of the bays is the last variable, and the displacement has a limit.
pub fn tenbar_of_any_height(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    truss(x, x[10], f, &mut g[..10]);
    g[10] = f[1] / 5.0 - 1.0;
}

/// Plane truss by the stiffness method, two bays of 360 in.
fn truss(x: &[f64], height: f64, f: &mut [f64], g: &mut [f64]) {
    const BARS: [(usize, usize); 10] = [
        (3, 5),
        (1, 3),
        (4, 6),
        (2, 4),
        (3, 4),
        (1, 2),
        (4, 5),
        (3, 6),
        (2, 3),
        (1, 4),
    ];
    let nodes: [(f64, f64); 6] = [
        (720.0, height),
        (720.0, 0.0),
        (360.0, height),
        (360.0, 0.0),
        (0.0, height),
        (0.0, 0.0),
    ];
    let area = |bar: usize| SECTIONS[x[bar] as usize];
    let geometry = |bar: usize| {
        let ((ax, ay), (bx, by)) = (nodes[BARS[bar].0 - 1], nodes[BARS[bar].1 - 1]);
        let length = (bx - ax).hypot(by - ay);
        (
            [
                (ax - bx) / length,
                (ay - by) / length,
                (bx - ax) / length,
                (by - ay) / length,
            ],
            length,
        )
    };
    // Freedoms 0 to 7 are nodes 1 to 4; beyond, the fixed ones.
    let freedom = |bar: usize, k: usize| {
        [
            BARS[bar].0 - 1,
            BARS[bar].0 - 1,
            BARS[bar].1 - 1,
            BARS[bar].1 - 1,
        ][k] * 2
            + k % 2
    };
    let mut matrix = [[0.0; 9]; 8];
    matrix[3][8] = -100.0;
    matrix[7][8] = -100.0;
    f[0] = 0.0;
    for bar in 0..10 {
        let (direction, length) = geometry(bar);
        f[0] += 0.1 * area(bar) * length;
        for i in (0..4).filter(|&i| freedom(bar, i) < 8) {
            for j in (0..4).filter(|&j| freedom(bar, j) < 8) {
                matrix[freedom(bar, i)][freedom(bar, j)] +=
                    1e4 * area(bar) / length * direction[i] * direction[j];
            }
        }
    }
    for k in 0..8 {
        for row in k + 1..8 {
            let factor = matrix[row][k] / matrix[k][k];
            let pivot = matrix[k];
            matrix[row]
                .iter_mut()
                .zip(pivot)
                .skip(k)
                .for_each(|(m, p)| *m -= factor * p);
        }
    }
    let mut moved = [0.0; 12];
    for k in (0..8).rev() {
        let known: f64 = (k + 1..8)
            .map(|column| matrix[k][column] * moved[column])
            .sum();
        moved[k] = (matrix[k][8] - known) / matrix[k][k];
    }
    f[1] = moved.iter().fold(0.0, |most, m| m.abs().max(most));
    for (bar, g) in g.iter_mut().enumerate() {
        let (direction, length) = geometry(bar);
        let strain = (0..4)
            .map(|k| direction[k] * moved[freedom(bar, k)])
            .sum::<f64>()
            / length;
        *g = (1e4 * strain).abs() / 25.0 - 1.0;
    }
}
