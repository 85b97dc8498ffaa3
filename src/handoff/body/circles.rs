//! Holes along the tool axis cut into the plan: floor holes, bores and counterbores.

use std::f64::consts::TAU;

use super::BodyError;
use super::grid::{Grid, Point, Shape, left};
use super::meet::{chord, parameter, point_at};
use super::plan::{Bottom, Line, Plan, PlanCurve, PlanEdge};
use crate::part::{Bore, Boss, Depth, HoleRow, Layout, Part, StripName, drill_point_height_mm};

/// A circle that comes so near to a line, in mm, touches it.
const TOUCH_MM: f64 = 1e-5;

/// A bore that touches the side of a wall or rib is moved by so much across the path, in mm: a hundredth of what any
/// drill can place, and no zero to divide metal from air.
const STEP_MM: f64 = 5e-4;

/// A circle to cut.
#[derive(Clone, Copy, Debug)]
struct Circle {
    centre: Point,
    radius: f64,
    /// Station of its centre.
    station: f64,
    /// Metal above this height is taken; 0 goes through.
    floor: f64,
    /// Height of the drill point of a blind hole, in mm.
    apex: Option<f64>,
}

/// Why a circle can't be cut.
enum Refused {
    /// It touches a line: +1 or -1 where a step to higher or lower y would part them or let them cross, else 0.
    Touches(f64),
    /// It reaches beyond the part, or its section.
    Beyond,
    /// A blind one comes out.
    Through,
}

/// Heights of the bottoms of everything drilled along the tool axis.
pub fn levels(part: &Part, grid: &Grid) -> Vec<f64> {
    let mut levels = Vec::new();
    let floor = floor_top(grid);
    for row in &part.hole_rows {
        if let (StripName::Floor, Depth::Blind(depth)) = (row.strip, row.depth) {
            levels.push(floor - depth);
        }
    }
    for boss in &part.bosses {
        if let Some(bore) = &boss.bore {
            levels.extend(heights(boss, bore).into_iter().filter(|&z| z > 0.0));
        }
    }
    levels
}

/// Height of the floor of the part's own section.
fn floor_top(grid: &Grid) -> f64 {
    grid.strips[0].first().map_or(0.0, |floor| floor.z_high)
}

/// Heights of the bottoms of counterbore and bore; 0 through.
fn heights(boss: &Boss, bore: &Bore) -> [f64; 2] {
    let top = boss.bore_top_mm();
    let wide = bore
        .counterbore
        .filter(|wide| wide.diameter_mm > bore.diameter_mm)
        .map_or(top, |wide| (top - wide.depth_mm).max(0.0));
    let deep = bore.depth_mm.map_or(0.0, |depth| (top - depth).max(0.0));
    [wide, deep]
}

/// All holes along the tool axis, cut into the plan.
pub fn cut(part: &Part, layout: &Layout, grid: &Grid, plan: &mut Plan) -> Result<(), BodyError> {
    let undrilled = plan.edges.len();
    for (index, row) in part.hole_rows.iter().enumerate() {
        if row.strip == StripName::Floor {
            floor_row(part, layout, grid, plan, (index, row), undrilled)?;
        }
    }
    for boss in &part.bosses {
        if let Some(bore) = &boss.bore {
            bore_hole(part, grid, plan, boss, bore)?;
        }
    }
    Ok(())
}

fn floor_row(
    part: &Part,
    layout: &Layout,
    grid: &Grid,
    plan: &mut Plan,
    (index, row): (usize, &HoleRow),
    undrilled: usize,
) -> Result<(), BodyError> {
    let top = floor_top(grid);
    let own = layout.holes.iter().filter(|hole| hole.row == index);
    for (number, hole) in own.enumerate() {
        let (floor, apex) = match row.depth {
            Depth::Through => (0.0, None),
            Depth::Blind(depth) => (
                top - depth,
                Some(top - depth - drill_point_height_mm(row.diameter_mm)),
            ),
        };
        let circle = Circle {
            centre: left(part.path.pose(hole.station_mm), hole.across_mm),
            radius: 0.5 * row.diameter_mm,
            station: hole.station_mm,
            floor,
            apex,
        };
        let over_border = BodyError::Hole {
            row: row.name.clone(),
            hole: number + 1,
            station_mm: grid.wrapped(hole.station_mm),
        };
        let clear = plan.edges[..undrilled].iter().all(|edge| {
            let apart = (plan.vertices[edge.from] - circle.centre).norm() > circle.radius;
            apart && matches!(hits(grid, plan, edge, &circle), Ok(points) if points.is_empty())
        });
        let around = outside(grid, plan, &circle, circle.centre, &[]);
        let in_floor = around
            .is_ok_and(|profile| plan.full(profile, 0.0, top) && plan.clear_above(profile, top));
        if !clear || !in_floor {
            return Err(over_border);
        }
        arcs(grid, plan, &circle, &[], Vec::new()).map_err(|_| BodyError::BreaksThrough {
            name: format!("row {}", row.name),
            station_mm: grid.wrapped(hole.station_mm),
        })?;
    }
    Ok(())
}

fn bore_hole(
    part: &Part,
    grid: &Grid,
    plan: &mut Plan,
    boss: &Boss,
    bore: &Bore,
) -> Result<(), BodyError> {
    let before = plan.clone();
    match bore_at(part, grid, plan, (boss, bore), 0.0) {
        Err((Refused::Touches(step), _)) if step != 0.0 => {
            *plan = before;
            bore_at(part, grid, plan, (boss, bore), step * STEP_MM)
        }
        done => done,
    }
    .map_err(|(refused, diameter_mm)| {
        let name = boss.name.clone();
        match refused {
            Refused::Touches(_) => BodyError::Touches {
                boss: name,
                diameter_mm,
            },
            Refused::Beyond => BodyError::Bore {
                boss: name,
                diameter_mm,
            },
            Refused::Through => BodyError::BreaksThrough {
                name: format!("boss {name}"),
                station_mm: grid.wrapped(boss.station_mm),
            },
        }
    })
}

/// A bore and its counterbore at a distance from the path; where refused, with the diameter of the circle.
fn bore_at(
    part: &Part,
    grid: &Grid,
    plan: &mut Plan,
    (boss, bore): (&Boss, &Bore),
    y: f64,
) -> Result<(), (Refused, f64)> {
    let station = boss.station_mm;
    let [wide_floor, floor] = heights(boss, bore);
    let plain = Circle {
        centre: left(part.path.pose(station), y),
        radius: 0.5 * bore.diameter_mm,
        station,
        floor,
        apex: bore
            .depth_mm
            .map(|_| floor - drill_point_height_mm(bore.diameter_mm)),
    };
    let wide = bore
        .counterbore
        .filter(|wide| wide.diameter_mm > bore.diameter_mm);
    let wide = wide.map(|wide| Circle {
        radius: 0.5 * wide.diameter_mm,
        floor: wide_floor,
        apex: None,
        ..plain
    });
    let circles: Vec<Circle> = wide.into_iter().chain([plain]).collect();
    for (index, circle) in circles.iter().enumerate() {
        one(grid, plan, circle, &circles[..index])
            .map_err(|refused| (refused, 2.0 * circle.radius))?;
    }
    Ok(())
}

/// One circle, cut into every line that it meets. `earlier` ones of the same axis are wider.
fn one(grid: &Grid, plan: &mut Plan, circle: &Circle, earlier: &[Circle]) -> Result<(), Refused> {
    let level = plan.level(circle.floor);
    let mut met = Vec::new();
    for index in 0..plan.edges.len() {
        let edge = plan.edges[index];
        let points = match plan.curves[edge.curve].line {
            Line::Circle => Vec::new(),
            _ => hits(grid, plan, &edge, circle)?,
        };
        if !points.is_empty() && plan.curves[edge.curve].line == Line::Station {
            return Err(Refused::Beyond);
        }
        let mut bounds = vec![(edge.at.0, edge.from)];
        for (at, point) in points {
            plan.vertices.push(point);
            let vertex = plan.vertices.len() - 1;
            let from = point - circle.centre;
            met.push((from.y.atan2(from.x), vertex));
            bounds.push((at, vertex));
        }
        bounds.push((edge.at.1, edge.to));
        for (number, ends) in bounds.windows(2).enumerate() {
            let mut piece = PlanEdge {
                from: ends[0].1,
                to: ends[1].1,
                at: (ends[0].0, ends[1].0),
                ..edge
            };
            let middle = point_at(grid, plan, edge.curve, 0.5 * (piece.at.0 + piece.at.1));
            if (middle - circle.centre).norm() < circle.radius {
                if let Some(apex) = circle.apex {
                    let whole = plan.full(edge.left, apex, circle.floor)
                        && plan.full(edge.right, apex, circle.floor);
                    if !whole {
                        return Err(Refused::Through);
                    }
                }
                piece.left = plan.cut_above(piece.left, level);
                piece.right = plan.cut_above(piece.right, level);
            }
            if number == 0 {
                plan.edges[index] = piece;
            } else {
                plan.edges.push(piece);
            }
        }
    }
    plan.edges.retain(|edge| edge.left != edge.right);
    arcs(grid, plan, circle, earlier, met)
}

/// The circle's own edges, between the points where it meets lines (angle, vertex) or all round.
fn arcs(
    grid: &Grid,
    plan: &mut Plan,
    circle: &Circle,
    earlier: &[Circle],
    mut met: Vec<(f64, usize)>,
) -> Result<(), Refused> {
    let level = plan.level(circle.floor);
    met.sort_by(|a, b| a.0.total_cmp(&b.0));
    // A tube is closed along a seam, which keeps far from everything else.
    let seam = match met.len() {
        0 => 0.0,
        count => {
            let gap = |index: usize| {
                let to = met[(index + 1) % count].0 + if index + 1 == count { TAU } else { 0.0 };
                (to - met[index].0, 0.5 * (to + met[index].0))
            };
            let widest = (0..count).map(gap).max_by(|a, b| a.0.total_cmp(&b.0));
            widest.map_or(0.0, |widest| widest.1)
        }
    };
    let on = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        circle.centre + Point::new(cos, sin) * circle.radius
    };
    plan.vertices.push(on(seam));
    let first = plan.vertices.len() - 1;
    let mut stops: Vec<(f64, usize)> = met
        .iter()
        .map(|&(angle, vertex)| (seam + (angle - seam).rem_euclid(TAU), vertex))
        .collect();
    stops.sort_by(|a, b| a.0.total_cmp(&b.0));
    stops.insert(0, (seam, first));
    stops.push((seam + TAU, first));
    plan.curves.push(PlanCurve {
        line: Line::Circle,
        shape: Shape::Circle {
            centre: circle.centre,
            radius: circle.radius,
            ccw: true,
        },
        bottom: circle.apex.map(|apex| Bottom { level, apex }),
    });
    let curve = plan.curves.len() - 1;
    for ends in stops.windows(2) {
        let middle = on(0.5 * (ends[0].0 + ends[1].0));
        let right = outside(grid, plan, circle, middle, earlier)?;
        if circle
            .apex
            .is_some_and(|apex| apex < TOUCH_MM || !plan.full(right, apex, circle.floor))
        {
            return Err(Refused::Through);
        }
        let left = plan.cut_above(right, level);
        plan.keep(PlanEdge {
            curve,
            from: ends[0].1,
            to: ends[1].1,
            at: (ends[0].0, ends[1].0),
            left,
            right,
        });
    }
    Ok(())
}

/// Profile at a point outside a circle but within the wider ones before it.
fn outside(
    grid: &Grid,
    plan: &mut Plan,
    circle: &Circle,
    point: Point,
    earlier: &[Circle],
) -> Result<usize, Refused> {
    let (column, y) = grid.place(point, circle.station).ok_or(Refused::Beyond)?;
    let own = grid.column_at(circle.station);
    if grid.columns[column].section != grid.columns[own].section {
        return Err(Refused::Beyond);
    }
    let mut profile = plan.cell(grid, column, grid.between(y));
    if profile == 0 {
        return Err(Refused::Beyond);
    }
    for wider in earlier {
        let level = plan.level(wider.floor);
        profile = plan.cut_above(profile, level);
    }
    Ok(profile)
}

/// Where a circle crosses an edge: parameter and point, in order along the edge.
fn hits(
    grid: &Grid,
    plan: &Plan,
    edge: &PlanEdge,
    circle: &Circle,
) -> Result<Vec<(f64, Point)>, Refused> {
    let shape = plan.curves[edge.curve].shape;
    let parameter = |point: Point| parameter(grid, plan, edge, point);
    // How far inside the circle the curve's nearest point is, and the two points where it crosses.
    let (depth, foot, half) = chord(shape, circle.centre, circle.radius);
    if depth < -TOUCH_MM {
        return Ok(Vec::new());
    }
    let (from, to) = edge.at;
    let within = |at: f64| from - TOUCH_MM < at && at < to + TOUCH_MM;
    if depth < TOUCH_MM {
        return match within(parameter(foot)) {
            true => Err(Refused::Touches(away(plan, edge))),
            false => Ok(Vec::new()),
        };
    }
    let mut found = Vec::with_capacity(2);
    for point in [foot - half, foot + half] {
        let at = parameter(point);
        if (at - from).abs() < TOUCH_MM || (at - to).abs() < TOUCH_MM {
            return Err(Refused::Touches(0.0));
        }
        if within(at) {
            found.push((at, point));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(found)
}

/// Direction in y away from the metal at a rail; 0 for other lines.
fn away(plan: &Plan, edge: &PlanEdge) -> f64 {
    let metal = |profile: usize| {
        plan.profiles[profile]
            .iter()
            .filter(|&&metal| metal)
            .count()
    };
    match plan.curves[edge.curve].line {
        Line::Rail { .. } if metal(edge.right) > metal(edge.left) => 1.0,
        Line::Rail { .. } => -1.0,
        _ => 0.0,
    }
}
