//! Mean rigid motion of a plane cross-section, and its partner in work: a resultant spread over it.
//!
//! The displacement is the mean over the area, the rotations are those of the best-fitting rigid motion,
//! weighted by area; so a force is a uniform traction and a bending moment one that grows linearly across.

use faer::Mat;

use super::hexahedron::quadratic;
use super::slab::Face;

/// Area integrals of a face.
#[derive(Clone, Debug)]
pub(super) struct Means {
    /// Area, in mm².
    pub area: f64,
    /// Centroid (y, z), in mm.
    pub centroid: (f64, f64),
    /// Polar radius of gyration about it, squared, in mm².
    pub gyration_square: f64,
    /// The six mean motions about the path's point (moves along the path, left, up; turns about the same
    /// axes) as rows over the face's unknowns, transposed: (3 nodes, 6).
    pub rows: Mat<f64>,
}

/// The means of a face.
pub(super) fn means(face: &Face) -> Means {
    let count = face.nodes.len();
    // Per node the integrals of its shape function times 1, y, z.
    let mut weights = vec![[0.0; 3]; count];
    let (mut area, mut first, mut second) = (0.0, [0.0; 2], [0.0; 3]);
    let gauss = [
        (-0.6_f64.sqrt(), 5.0 / 9.0),
        (0.0, 8.0 / 9.0),
        (0.6_f64.sqrt(), 5.0 / 9.0),
    ];
    for quad in &face.quads {
        for (b, weight_b) in gauss {
            for (a, weight_a) in gauss {
                let ((f, df), (g, dg)) = (quadratic(a), quadratic(b));
                let (mut place, mut along, mut up) = ([0.0; 2], [0.0; 2], [0.0; 2]);
                for (at, &node) in quad.iter().enumerate() {
                    let (j, k) = (at % 3, at / 3);
                    let [y, z] = face.nodes[node as usize];
                    for (value, x) in [(0, y), (1, z)] {
                        place[value] += f[j] * g[k] * x;
                        along[value] += df[j] * g[k] * x;
                        up[value] += f[j] * dg[k] * x;
                    }
                }
                let weight = weight_a * weight_b * (along[0] * up[1] - along[1] * up[0]);
                let [y, z] = place;
                area += weight;
                first[0] += weight * y;
                first[1] += weight * z;
                for (value, product) in second.iter_mut().zip([y * y, y * z, z * z]) {
                    *value += weight * product;
                }
                for (at, &node) in quad.iter().enumerate() {
                    let shape = weight * f[at % 3] * g[at / 3];
                    let node = &mut weights[node as usize];
                    node[0] += shape;
                    node[1] += shape * y;
                    node[2] += shape * z;
                }
            }
        }
    }
    let (y, z) = (first[0] / area, first[1] / area);
    let yy = second[0] - area * y * y;
    let yz = second[1] - area * y * z;
    let zz = second[2] - area * z * z;
    let determinant = yy * zz - yz * yz;
    let mut rows = Mat::zeros(3 * count, 6);
    for (node, [w, wy, wz]) in weights.into_iter().enumerate() {
        let (my, mz) = (wy - w * y, wz - w * z);
        let mean = w / area;
        // Best fit of a motion along the path: about y (left) it grows with z, about z it falls with y.
        let about_left = (yy * mz - yz * my) / determinant;
        let about_up = -(zz * my - yz * mz) / determinant;
        let (left, up) = (-mz / (yy + zz), my / (yy + zz));
        let [along_row, left_row, up_row] = [3 * node, 3 * node + 1, 3 * node + 2];
        rows[(along_row, 4)] = about_left;
        rows[(along_row, 5)] = about_up;
        rows[(left_row, 3)] = left;
        rows[(up_row, 3)] = up;
        // Moves of the path's point: of the centroid, less what the turns add between the two.
        rows[(along_row, 0)] = mean - about_left * z + about_up * y;
        rows[(left_row, 1)] = mean + left * z;
        rows[(up_row, 1)] = up * z;
        rows[(left_row, 2)] = -left * y;
        rows[(up_row, 2)] = mean - up * y;
    }
    Means {
        area,
        centroid: (y, z),
        gyration_square: (yy + zz) / area,
        rows,
    }
}

/// Resultant at one point as seen from another, both in the axes of the second: (6, 6), rows the second's.
///
/// `reach` the place of the first point in the second's axes (along, left, up); `turn` of the first's axes
/// from the second's about the tool axis, in rad.
pub(super) fn transport(reach: [f64; 3], turn: f64) -> [[f64; 6]; 6] {
    let (sin, cos) = turn.sin_cos();
    let [x, y, z] = reach;
    let rotation = [[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]];
    let lever = [[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]];
    let mut all = [[0.0; 6]; 6];
    for i in 0..3 {
        for j in 0..3 {
            all[i][j] = rotation[i][j];
            all[i + 3][j + 3] = rotation[i][j];
            for (k, row) in rotation.iter().enumerate() {
                all[i + 3][j] += lever[i][k] * row[j];
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 4 x 2 rectangle of one quadrilateral off the path's point.
    fn face() -> Face {
        let nodes = (0..9)
            .map(|at| [1.0 + 2.0 * (at % 3) as f64, -3.0 + (at / 3) as f64])
            .collect();
        Face {
            nodes,
            quads: vec![[0, 1, 2, 3, 4, 5, 6, 7, 8]],
        }
    }

    #[test]
    fn a_rigid_motion_is_its_own_mean() {
        let face = face();
        let means = means(&face);
        assert!((means.area - 8.0).abs() < 1e-13);
        for motion in 0..6 {
            let mut mean = [0.0; 6];
            for (node, [y, z]) in face.nodes.iter().enumerate() {
                let u = match motion {
                    0 => [1.0, 0.0, 0.0],
                    1 => [0.0, 1.0, 0.0],
                    2 => [0.0, 0.0, 1.0],
                    3 => [0.0, -z, *y],
                    4 => [*z, 0.0, 0.0],
                    _ => [-y, 0.0, 0.0],
                };
                for (axis, value) in u.into_iter().enumerate() {
                    for (k, sum) in mean.iter_mut().enumerate() {
                        *sum += means.rows[(3 * node + axis, k)] * value;
                    }
                }
            }
            for (k, got) in mean.into_iter().enumerate() {
                let want = if k == motion { 1.0 } else { 0.0 };
                assert!((got - want).abs() < 1e-13, "{motion} {k}: {got}");
            }
        }
    }
}
