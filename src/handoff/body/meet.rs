//! Points on the curves of a plan, and where they meet.

use std::f64::consts::{PI, TAU};

use super::grid::{Grid, Point, Shape, left};
use super::plan::{Line, Plan, PlanCurve, PlanEdge};

/// Point of a curve at its parameter.
pub fn point_at(grid: &Grid, plan: &Plan, curve: usize, at: f64) -> Point {
    let PlanCurve { line, shape, .. } = plan.curves[curve];
    match (line, shape) {
        (Line::Rail { chain, rail }, _) => left(grid.chains[chain].pose(at), grid.rails[rail]),
        (_, Shape::Line { point, direction }) => point + direction * at,
        (_, Shape::Circle { centre, radius, .. }) => {
            let (sin, cos) = at.sin_cos();
            centre + Point::new(cos, sin) * radius
        }
    }
}

/// Parameter of a point of an edge's curve, the one nearest to the edge's middle.
pub fn parameter(grid: &Grid, plan: &Plan, edge: &PlanEdge, point: Point) -> f64 {
    let PlanCurve { line, shape, .. } = plan.curves[edge.curve];
    let middle = 0.5 * (edge.at.0 + edge.at.1);
    match (line, shape) {
        (Line::Rail { chain, .. }, _) => grid.chains[chain].place(point, middle).0,
        (
            _,
            Shape::Line {
                point: zero,
                direction,
            },
        ) => (point - zero).dot(&direction),
        (_, Shape::Circle { centre, .. }) => {
            let from = point - centre;
            middle + (from.y.atan2(from.x) - middle + PI).rem_euclid(TAU) - PI
        }
    }
}

/// Chord that a curve and a circle share: how far in mm the curve comes inside the circle (negative: it stays
/// out), the chord's middle, and half of it.
pub fn chord(shape: Shape, middle: Point, reach: f64) -> (f64, Point, Point) {
    match shape {
        Shape::Line { point, direction } => {
            let foot = point + direction * (middle - point).dot(&direction);
            let away = (middle - foot).norm();
            let half = (reach * reach - away * away).max(0.0).sqrt();
            (reach - away, foot, direction * half)
        }
        Shape::Circle { centre, radius, .. } => {
            let between = middle - centre;
            let apart = between.norm();
            let towards = between / apart;
            // Distance of the common chord from the curve's centre (law of cosines).
            let along = (apart * apart + radius * radius - reach * reach) / (2.0 * apart);
            let half = (radius * radius - along * along).max(0.0).sqrt();
            let across = Point::new(-towards.y, towards.x);
            (
                reach - (apart - radius).abs(),
                centre + towards * along,
                across * half,
            )
        }
    }
}
