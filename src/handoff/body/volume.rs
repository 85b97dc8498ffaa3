//! Volume and area of a body from its faces as they are.

use super::{Body, Curve, Face, Surface, Use, Vec3};

/// Gauss's rule with 8 points over -1 to 1: abscissas and weights of its positive half (Abramowitz and Stegun,
/// table 25.4, from memory; a test holds it to its order).
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_2, 0.101_228_536_290_376_3),
];

impl Body {
    /// Volume in mm³ by the divergence theorem, from surfaces, senses and loops as they are: a third of the flow of
    /// (x, y, z) out of every face. A face whose sense does not fit its loops counts the wrong way round.
    pub fn volume_mm3(&self) -> f64 {
        let flow = |index: usize| {
            let face = &self.faces[index];
            let sense = if face.same_sense { 1.0 } else { -1.0 };
            let (flow, area) = self.over(face);
            sense * area.signum() * flow
        };
        (0..self.faces.len()).map(flow).sum::<f64>() / 3.0
    }

    /// Area of all faces, in mm².
    pub fn area_mm2(&self) -> f64 {
        (0..self.faces.len())
            .map(|face| self.signed_area(face).abs())
            .sum()
    }

    /// Area of a face in mm², negative where its loops run against its sense.
    pub fn signed_area(&self, face: usize) -> f64 {
        let face = &self.faces[face];
        let area = self.over(face).1;
        if face.same_sense { area } else { -area }
    }

    /// Flow of (x, y, z) along the surface's own normal, and area, over what the loops run round
    /// counter-clockwise, both by line integrals along the loops (Green's theorem).
    fn over(&self, face: &Face) -> (f64, f64) {
        let mut sum = (0.0, 0.0);
        for each in face.loops.iter().flatten() {
            let (flow, area) = self.along_use(&face.surface, each);
            sum.0 += flow;
            sum.1 += area;
        }
        sum
    }

    fn along_use(&self, surface: &Surface, each: &Use) -> (f64, f64) {
        let edge = &self.edges[each.edge];
        let (from, to) = (self.vertices[edge.from], self.vertices[edge.to]);
        let pieces = match &edge.curve {
            Curve::Line => 1,
            Curve::Circle { .. } => {
                let turn = edge.curve.turn(from, to, edge.from == edge.to);
                (turn / 0.7).ceil() as usize
            }
            Curve::Spline(spline) => 2 * spline.pieces(),
        };
        let step = 1.0 / pieces as f64;
        let mut sum = (0.0, 0.0);
        for piece in 0..pieces {
            let middle = (piece as f64 + 0.5) * step;
            for (offset, weight) in GAUSS {
                for offset in [-offset, offset] {
                    let (point, slope) = self.along(each.edge, middle + 0.5 * step * offset);
                    let (flow, area) = rate(surface, &point, &slope);
                    sum.0 += 0.5 * step * weight * flow;
                    sum.1 += 0.5 * step * weight * area;
                }
            }
        }
        if each.forward { sum } else { (-sum.0, -sum.1) }
    }
}

/// What a step along a boundary adds to flow and area.
///
/// Plane: area 1/2 p x dp along the normal, flow its distance times that. Cylinder with angle t and height v:
/// area -v r dt, flow -v r (c.e + r) dt, with e outwards at t and c its origin. Cone with radius w = r + v tan a:
/// area and flow integrated along v from its point, where both begin.
fn rate(surface: &Surface, point: &Vec3, slope: &Vec3) -> (f64, f64) {
    match surface {
        Surface::Plane(frame) => {
            let from = point - frame.origin;
            let area = 0.5 * from.cross(slope).dot(&frame.axis);
            (area * frame.origin.dot(&frame.axis), area)
        }
        Surface::Cylinder { frame, radius } => {
            let (angle, away, height) = frame.polar(point);
            let outward = frame.outward(angle);
            let turn = frame.axis.cross(&outward).dot(slope) / away;
            let area = -height * radius * turn;
            (area * (frame.origin.dot(&outward) + radius), area)
        }
        Surface::Cone {
            frame,
            radius,
            half_angle,
        } => {
            let (angle, away, height) = frame.polar(point);
            let outward = frame.outward(angle);
            let turn = frame.axis.cross(&outward).dot(slope) / away;
            let (sin, cos) = half_angle.sin_cos();
            let point_height = -radius * cos / sin;
            let wide = (height - point_height) * sin / cos;
            // Distance along the surface times half the radius reached.
            let area = -0.5 * wide * wide / sin * turn;
            let apex = frame.origin + frame.axis * point_height;
            (area * apex.dot(&(outward * cos - frame.axis * sin)), area)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gauss's rule with n points is exact to degree 2 n - 1.
    #[test]
    fn gauss_is_exact_to_degree_15() {
        for degree in 0..=15 {
            let sum: f64 = GAUSS
                .iter()
                .map(|(x, weight)| weight * (x.powi(degree) + (-x).powi(degree)))
                .sum();
            let want = if degree % 2 == 0 {
                2.0 / f64::from(degree + 1)
            } else {
                0.0
            };
            assert!((sum - want).abs() < 1e-14, "{degree}: {sum}");
        }
    }
}
