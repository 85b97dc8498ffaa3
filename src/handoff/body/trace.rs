//! Boundaries of a patch traced into loops, and loops sorted into faces.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use super::grid::Point;
use super::patches::{Half, Patch};

/// Loops of one face, the outer one first.
pub type Loops = Vec<Vec<Half>>;

/// The faces of a patch. `Err` with a place in the patch where its boundary is open: no body.
pub fn faces(patch: &Patch) -> Result<Vec<Loops>, Half> {
    let mut faces: Vec<Loops> = Vec::new();
    let mut inner: Vec<(Vec<Half>, Point)> = Vec::new();
    for each in loops(&patch.halves)? {
        if area(&each) > 0.0 {
            faces.push(vec![each]);
        } else {
            let point = each[0].a;
            inner.push((each, point));
        }
    }
    let areas: Vec<f64> = faces.iter().map(|face| area(&face[0])).collect();
    for (hole, point) in inner.into_iter().chain(patch.holes.iter().cloned()) {
        let around = (0..faces.len())
            .filter(|&face| winding(&faces[face][0], point) > 0)
            .min_by(|&a, &b| areas[a].total_cmp(&areas[b]));
        match around {
            Some(face) => faces[face].push(hole),
            None => return Err(hole[0]),
        }
    }
    Ok(faces)
}

/// Pieces joined end to end. Where several start at one point, the one that turns most to the left goes on.
fn loops(halves: &[Half]) -> Result<Vec<Vec<Half>>, Half> {
    let key = |point: Point| (point.x.to_bits(), point.y.to_bits());
    let mut starts: BTreeMap<(u64, u64), Vec<usize>> = BTreeMap::new();
    for (index, half) in halves.iter().enumerate() {
        starts.entry(key(half.a)).or_default().push(index);
    }
    let mut used = vec![false; halves.len()];
    let mut loops = Vec::new();
    for first in 0..halves.len() {
        if used[first] {
            continue;
        }
        let mut around = Vec::new();
        let mut at = first;
        loop {
            used[at] = true;
            around.push(halves[at]);
            let end = halves[at].b;
            let free = starts.get(&key(end)).into_iter().flatten();
            let back = -direction(&halves[at], false);
            let next = free
                .filter(|&&index| !used[index] || index == first)
                .min_by(|&&a, &&b| {
                    let turn = |index: usize| clockwise(back, direction(&halves[index], true));
                    turn(a).total_cmp(&turn(b))
                });
            match next {
                Some(&next) if next == first => break,
                Some(&next) => at = next,
                None => return Err(halves[at]),
            }
        }
        loops.push(around);
    }
    Ok(loops)
}

/// Angle clockwise from one direction to another, in rad, of (0, tau].
fn clockwise(from: Point, to: Point) -> f64 {
    let turn = (from.y.atan2(from.x) - to.y.atan2(to.x)).rem_euclid(TAU);
    if turn < 1e-9 { TAU } else { turn }
}

/// Direction of travel at the start or the end of a piece.
fn direction(half: &Half, at_start: bool) -> Point {
    match half.bend {
        None => half.b - half.a,
        Some(bend) => {
            let from = if at_start { half.a } else { half.b } - bend.centre;
            let left = Point::new(-from.y, from.x);
            if bend.ccw { left } else { -left }
        }
    }
}

/// Angle that a bent piece turns through, in rad, positive counter-clockwise.
fn sweep(half: &Half) -> f64 {
    let Some(bend) = half.bend else { return 0.0 };
    let (a, b) = (half.a - bend.centre, half.b - bend.centre);
    if half.a == half.b {
        return if bend.ccw { TAU } else { -TAU };
    }
    let turn = (b.y.atan2(b.x) - a.y.atan2(a.x)).rem_euclid(TAU);
    if bend.ccw { turn } else { turn - TAU }
}

/// Area within a loop, positive where it runs counter-clockwise.
fn area(around: &[Half]) -> f64 {
    let each = around.iter().map(|half| {
        let chord = 0.5 * (half.a.x * half.b.y - half.a.y * half.b.x);
        let Some(bend) = half.bend else { return chord };
        let turn = sweep(half);
        let radius = (half.a - bend.centre).norm();
        chord + 0.5 * radius * radius * (turn - turn.sin())
    });
    each.sum()
}

/// How often a loop runs counter-clockwise round a point.
fn winding(around: &[Half], point: Point) -> i32 {
    let mut turned = 0.0;
    for half in around {
        let turn = sweep(half);
        let pieces = (turn.abs() / (0.5 * PI)).ceil().max(1.0) as usize;
        let mut from = half.a;
        for piece in 1..=pieces {
            let to = match half.bend {
                Some(bend) if piece < pieces => {
                    let (sin, cos) = (turn * piece as f64 / pieces as f64).sin_cos();
                    let a = half.a - bend.centre;
                    bend.centre + Point::new(a.x * cos - a.y * sin, a.x * sin + a.y * cos)
                }
                _ => half.b,
            };
            let (a, b) = (from - point, to - point);
            let side = a.x * b.y - a.y * b.x;
            turned += side.atan2(a.dot(&b));
            if let Some(bend) = half.bend {
                // Between chord and arc the arc passes on the other side.
                let radius = (half.a - bend.centre).norm();
                let beyond = if turn > 0.0 { side < 0.0 } else { side > 0.0 };
                if beyond && (point - bend.centre).norm() < radius {
                    turned += TAU.copysign(turn);
                }
            }
            from = to;
        }
    }
    (turned / TAU).round() as i32
}

#[cfg(test)]
mod tests {
    use super::super::patches::Bend;
    use super::*;

    fn half(a: (f64, f64), b: (f64, f64), bend: Option<bool>) -> Half {
        Half {
            edge: 0,
            forward: true,
            a: Point::new(a.0, a.1),
            b: Point::new(b.0, b.1),
            bend: bend.map(|ccw| Bend {
                centre: Point::zeros(),
                ccw,
            }),
        }
    }

    /// A half disc of radius 2: area 2 pi; points beside its arc fall on the right side of it (own computation).
    #[test]
    fn area_and_winding_of_a_half_disc() {
        let disc = [
            half((-2.0, 0.0), (2.0, 0.0), None),
            half((2.0, 0.0), (-2.0, 0.0), Some(true)),
        ];
        assert!((area(&disc) - TAU).abs() < 1e-12);
        for (x, y, inside) in [
            (0.0, 1.99, 1),
            (0.0, 2.01, 0),
            (1.40, 1.40, 1),
            (1.43, 1.43, 0),
            (0.0, -0.01, 0),
        ] {
            assert_eq!(winding(&disc, Point::new(x, y)), inside, "{x} {y}");
        }
    }

    /// A full circle run clockwise.
    #[test]
    fn a_full_circle() {
        let circle = [half((1.0, 0.0), (1.0, 0.0), Some(false))];
        assert!((area(&circle) + PI).abs() < 1e-12);
        assert_eq!(winding(&circle, Point::new(0.3, -0.9)), -1);
        assert_eq!(winding(&circle, Point::new(0.8, 0.8)), 0);
    }

    /// Two squares that touch in a corner are two loops, not one.
    #[test]
    fn squares_that_touch_in_a_corner() {
        let square = |x: f64, y: f64| {
            [
                half((x, y), (x + 1.0, y), None),
                half((x + 1.0, y), (x + 1.0, y + 1.0), None),
                half((x + 1.0, y + 1.0), (x, y + 1.0), None),
                half((x, y + 1.0), (x, y), None),
            ]
        };
        let mut both = square(0.0, 0.0).to_vec();
        both.extend(square(1.0, 1.0));
        let loops = loops(&both).unwrap();
        assert_eq!(loops.len(), 2);
        assert!(loops.iter().all(|each| each.len() == 4));
    }
}
