//! The way of the tools in plan: one setup of a plan, move by move.

use std::collections::BTreeSet;

use super::canvas::{Anchor, Canvas, Point, number, pair};
use super::outline::runs;
use super::plan::{bounds, metal};
use super::{scale_words, standard_scale};
use crate::drawing::text::shortened;
use crate::machining::{Motion, Move, SimulatedOperation, Simulation};
use crate::part::{Layout, Part};

/// Paper given to the larger extent of the path, in mm.
const ROOM_MM: f64 = 150.0;
/// Line styles there are; more operations share them.
const STYLES: usize = 12;
/// Radius of the ring that marks a drilled hole, in mm: its line tells the operation, not its size.
const HOLE_MM: f64 = 0.8;
/// Height of a line of the legend, in mm.
const LINE_MM: f64 = 4.4;

/// The path of the tools' centres in one setup (from 1), to scale over the frame: rapid moves thin and dashed, feed
/// moves in a colour and a dash pattern of their own for each operation, with a legend; a move that is
/// repeated on several levels is drawn once, a drilled hole as a small ring.
///
/// `tool` leaves only the operations of one tool, by its words. Holes in walls and ribs, which are drilled in a setup
/// of their own, are drawn unrolled: along the path to the right, up the wall upward, without the frame.
/// `simulation` must be of `part`, `layout` of it too.
pub fn tool_path_view(
    part: &Part,
    layout: &Layout,
    simulation: &Simulation,
    setup: usize,
    tool: Option<&str>,
) -> String {
    let operations: Vec<_> = simulation
        .operations
        .iter()
        .filter(|each| each.setup == setup && !each.moves.is_empty())
        .filter(|each| tool.is_none_or(|tool| each.tool == tool))
        .collect();
    let unrolled = setup > 2;
    let mut canvas = Canvas::new();
    let mut size = extent(&operations);
    let runs = runs(layout);
    let (low, high) = bounds(part, &runs);
    if !unrolled {
        size = size.max(high.0 - low.0).max(high.1 - low.1);
    }
    let scale = standard_scale(size, ROOM_MM);
    if !unrolled {
        canvas.grow((low.0 * scale, -low.1 * scale));
        canvas.grow((high.0 * scale, -high.1 * scale));
        canvas.raw("<g opacity='.4'>");
        metal(&mut canvas, part, &runs, scale);
        canvas.raw("</g>");
    }
    let names = names(&operations);
    for motion in [Motion::Rapid, Motion::Feed] {
        for operation in &operations {
            let style = names.iter().position(|name| *name == operation.name);
            let class = match motion {
                Motion::Rapid => "rapid".to_string(),
                _ => format!("way w{}", style.unwrap_or(0) % STYLES),
            };
            moves(&mut canvas, operation, motion, &class, scale);
        }
    }
    if let Some(first) = operations.first().and_then(|each| each.moves.first()) {
        let at = paper(first.from_mm, scale);
        canvas.circle("dot", at, 0.8);
    }
    let what = if unrolled {
        "unrolled along the path"
    } else if setup == 2 {
        "underside, seen through from the top"
    } else {
        "from the top"
    };
    let title = format!(
        "Tool path, setup {setup}, {what}, scale {}",
        scale_words(scale)
    );
    legend(&mut canvas, &operations, &names, &title);
    canvas.finish("drawing toolpath", &title, 1.5)
}

fn paper([x, y, _]: [f64; 3], scale: f64) -> Point {
    (x * scale, -y * scale)
}

/// Larger extent of the path in mm; never none.
fn extent(operations: &[&SimulatedOperation]) -> f64 {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for each in operations.iter().flat_map(|operation| &operation.moves) {
        // A bend may bulge beyond its ends.
        for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let at = each.point_mm(share);
            for axis in 0..2 {
                low[axis] = low[axis].min(at[axis]);
                high[axis] = high[axis].max(at[axis]);
            }
        }
    }
    (high[0] - low[0]).max(high[1] - low[1]).max(1.0)
}

/// Distinct names of operations in their order.
fn names<'a>(operations: &[&'a SimulatedOperation]) -> Vec<&'a str> {
    let mut names: Vec<&str> = Vec::new();
    for operation in operations {
        if !names.contains(&&operation.name[..]) {
            names.push(&operation.name);
        }
    }
    names
}

/// The moves of an operation that are made in one way; what lies on the same line is drawn once.
fn moves(
    canvas: &mut Canvas,
    operation: &SimulatedOperation,
    motion: Motion,
    class: &str,
    scale: f64,
) {
    let down = |each: &Move| each.motion != Motion::Feed || each.from_mm[..2] == each.to_mm[..2];
    let drilled = motion == Motion::Feed && operation.moves.iter().all(down);
    let mut drawn = BTreeSet::new();
    let mut pen: Option<String> = None;
    let mut commands = String::new();
    for each in operation.moves.iter().filter(|each| each.motion == motion) {
        for piece in pieces(each, scale) {
            let (from, to) = (pair(piece.from), pair(piece.to));
            // The same line on the way back is the same line.
            let (a, b) = if from <= to {
                (&from, &to)
            } else {
                (&to, &from)
            };
            if !drawn.insert(format!("{a} {b} {}", piece.bend)) {
                continue;
            }
            if from == to {
                if drilled {
                    canvas.circle(class, piece.from, HOLE_MM);
                }
                continue;
            }
            canvas.grow(piece.from);
            canvas.grow(piece.to);
            if pen.as_ref() != Some(&from) {
                commands += &format!("M{from}");
            }
            commands += &match piece.sweep {
                None => format!("L{to}"),
                Some(sweep) => format!("A{0} {0} 0 0 {sweep} {to}", piece.bend),
            };
            pen = Some(to);
        }
    }
    if !commands.is_empty() {
        canvas.path(class, &commands);
    }
}

/// A line or an arc below half a turn, on paper.
struct Piece {
    from: Point,
    to: Point,
    /// Radius as SVG has it; empty for a line.
    bend: String,
    sweep: Option<u8>,
}

fn pieces(each: &Move, scale: f64) -> Vec<Piece> {
    let Some(arc) = each.arc else {
        return vec![Piece {
            from: paper(each.from_mm, scale),
            to: paper(each.to_mm, scale),
            bend: String::new(),
            sweep: None,
        }];
    };
    // More than a turn (a helix) lies on itself.
    let turn = arc.turn.abs().min(2.0 * std::f64::consts::PI);
    let count = (turn / 2.0).ceil().max(1.0) as usize;
    let share = turn / arc.turn.abs();
    let at = |k: usize| paper(each.point_mm(share * k as f64 / count as f64), scale);
    let piece = |k: usize| Piece {
        from: at(k),
        to: at(k + 1),
        bend: number(each.radius_mm() * scale),
        // Paper's y points down: a left turn runs against the sweep of SVG.
        sweep: Some(u8::from(arc.turn < 0.0)),
    };
    (0..count).map(piece).collect()
}

/// Title and legend below the drawing.
fn legend(canvas: &mut Canvas, operations: &[&SimulatedOperation], names: &[&str], title: &str) {
    let (low, high) = canvas.extent();
    let left = low.0;
    let mut y = high.1 + 7.0;
    canvas.text("", (left, y), Anchor::Start, title);
    let mut line = |canvas: &mut Canvas, class: &str, text: &str| {
        y += LINE_MM;
        canvas.line(class, &[(left, y - 1.0), (left + 14.0, y - 1.0)]);
        canvas.text("small", (left + 16.5, y), Anchor::Start, text);
    };
    for (index, name) in names.iter().enumerate() {
        let mut tools: Vec<&str> = Vec::new();
        for operation in operations.iter().filter(|each| each.name == *name) {
            if !tools.contains(&&operation.tool[..]) {
                tools.push(&operation.tool);
            }
        }
        let text = shortened(&format!("{name}: {}", tools.join("; ")), 110);
        line(canvas, &format!("way w{}", index % STYLES), &text);
    }
    line(canvas, "rapid", "rapid; the dot is where it begins");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Catalogue, Tools};
    use crate::machining::{Shop, simulate};
    use crate::part::{Depth, HoleRow, Path, Section, StripName, Wall};

    fn ring() -> (Part, Layout, Simulation) {
        let wall = Some(Wall {
            thickness_mm: 1.0,
            height_mm: 6.0,
        });
        let row = |name: &str, strip, offset_mm| HoleRow {
            name: name.into(),
            strip,
            diameter_mm: 3.0,
            pitch_mm: 20.0,
            depth: Depth::Through,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm,
            span_mm: None,
            clearance_mm: 0.5,
        };
        let part = Part {
            path: Path::circle(30.0).expect("a good size"),
            section: Section {
                width_mm: 10.0,
                floor_mm: 1.5,
                outer_wall: wall,
                inner_wall: wall,
                ribs: vec![],
                slits: None,
            },
            bosses: vec![],
            hole_rows: vec![
                row("relief", StripName::Floor, 0.0),
                row("side", StripName::OuterWall, 4.0),
            ],
            carried: vec![],
        };
        let layout = Layout::new(&part, &[]).expect("a good part");
        let catalogue = Catalogue::builtin();
        let tools = Tools {
            end_mills: catalogue.end_mill_of(6.0).into_iter().cloned().collect(),
            drills: catalogue.drill_of(3.0).into_iter().cloned().collect(),
        };
        let metal = catalogue.material("6061-T6511").expect("known");
        let machine = catalogue.machine("small_vmc").expect("known");
        let shop = Shop::new(&tools, metal, machine).expect("complete");
        let simulation = simulate(&part, &layout, &shop);
        (part, layout, simulation)
    }

    #[test]
    fn scale_setup_and_every_operation_are_told() {
        let (part, layout, simulation) = ring();
        let svg = tool_path_view(&part, &layout, &simulation, 1, None);
        // Ring and outline cutter: 2 (35 + 6) = 82 mm, in 150 mm of paper: 1 : 1.
        assert!(svg.contains("Tool path, setup 1, from the top, scale 1 : 1"));
        let first: Vec<_> = simulation
            .operations
            .iter()
            .filter(|each| each.setup == 1 && !each.moves.is_empty())
            .collect();
        assert!(first.len() > 6);
        for operation in &first {
            assert!(
                svg.contains(&format!("{}: ", operation.name)),
                "{}",
                operation.name
            );
        }
        assert!(svg.contains("class='rapid'"));
        // A ring for every hole, once spotted and once drilled.
        let holes = layout.holes.iter().filter(|hole| hole.row == 0).count();
        assert_eq!(svg.matches("<circle class='way").count(), 2 * holes);
    }

    /// The outline's outer way is a circle of 35 + 3.2 mm, the inner one of 25 - 3.2 mm, at a scale of 1 : 1.
    #[test]
    fn a_way_is_drawn_to_scale() {
        let (part, layout, simulation) = ring();
        let svg = tool_path_view(&part, &layout, &simulation, 1, None);
        for radius in ["A38.2 38.2", "A21.8 21.8"] {
            assert!(svg.matches(radius).count() >= 4, "{radius}");
        }
    }

    #[test]
    fn one_tool_alone_and_the_side_unrolled() {
        let (part, layout, simulation) = ring();
        let drill = "drill 3 mm, HSS";
        let one = tool_path_view(&part, &layout, &simulation, 1, Some(drill));
        assert!(one.contains("drill: ") && !one.contains("face: "));
        let side = tool_path_view(&part, &layout, &simulation, 3, None);
        assert!(side.contains("unrolled") && !side.contains("class='top'"));
    }
}
