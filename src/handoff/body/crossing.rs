//! Whether the frame runs over itself: boundaries of the undrilled plan that cross.

use super::BodyError;
use super::grid::{Grid, Point, SAME_MM, Shape};
use super::meet::{chord, parameter, point_at};
use super::plan::{Plan, PlanEdge};

/// No two edges of the plan cross, but where they share a vertex.
///
/// # Errors
/// [`BodyError::Contact`] at the first crossing.
pub fn none(grid: &Grid, plan: &Plan) -> Result<(), BodyError> {
    for (index, a) in plan.edges.iter().enumerate() {
        for b in &plan.edges[index + 1..] {
            let neighbours = [a.from, a.to]
                .iter()
                .any(|end| [b.from, b.to].contains(end));
            if a.curve == b.curve || neighbours {
                continue;
            }
            if let Some(at) = crossing(grid, plan, a, b) {
                return Err(BodyError::Contact {
                    at: [at.x, at.y, 0.0],
                });
            }
        }
    }
    Ok(())
}

/// A point that two edges have in common.
fn crossing(grid: &Grid, plan: &Plan, a: &PlanEdge, b: &PlanEdge) -> Option<Point> {
    let shapes = (plan.curves[a.curve].shape, plan.curves[b.curve].shape);
    // Of curves that run side by side their ends show whether they lie on one another.
    let ends = [a.from, a.to, b.from, b.to]
        .map(|end| plan.vertices[end])
        .to_vec();
    let candidates: Vec<Point> = match shapes {
        (
            Shape::Line { point, direction },
            Shape::Line {
                point: other,
                direction: along,
            },
        ) => {
            let turn = direction.perp(&along);
            if turn.abs() > 1e-9 {
                vec![point + direction * ((other - point).perp(&along) / turn)]
            } else {
                ends
            }
        }
        (shape, Shape::Circle { centre, radius, .. })
        | (Shape::Circle { centre, radius, .. }, shape) => {
            let concentric = matches!(shape, Shape::Circle { centre: other, .. } if (other - centre).norm() < SAME_MM);
            if concentric {
                ends
            } else {
                let (depth, foot, half) = chord(shape, centre, radius);
                // Circles that lie within one another share nothing, however deep.
                if depth < 0.0 || half == Point::zeros() && depth > SAME_MM {
                    vec![]
                } else {
                    vec![foot - half, foot + half]
                }
            }
        }
    };
    let on = |edge: &PlanEdge, point: Point| {
        let at = parameter(grid, plan, edge, point);
        let near = (point_at(grid, plan, edge.curve, at) - point).norm() < SAME_MM;
        near && edge.at.0 - SAME_MM < at && at < edge.at.1 + SAME_MM
    };
    candidates
        .into_iter()
        .find(|&point| on(a, point) && on(b, point))
}
