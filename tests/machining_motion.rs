//! Every move of the plan: against hand calculation, against what a machine can do, and against the fast estimate.

use std::f64::consts::PI;

use fretwork::catalogue::{Catalogue, Machine, ToolMaterial, Tools};
use fretwork::evaluate::setup::Range;
use fretwork::machining::{Motion, Move, Plan, Shop, SimulatedOperation, plan, simulate};
use fretwork::part::*;
use fretwork::run::{Overrides, Prepared};

#[path = "studies_support/mod.rs"]
mod studies_support;

/// Relative tolerance.
#[track_caller]
fn check(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance * expected.abs(),
        "{value} against {expected}"
    );
}

/// A machine with round figures: 250 mm/s rapid, 1000 mm/s² and 2 mm clearance.
fn round_machine() -> Machine {
    Machine {
        rapid_xy_m_min: 15.0,
        rapid_z_m_min: 15.0,
        acceleration_xy_m_s2: 1.0,
        acceleration_z_m_s2: 1.0,
        clearance_mm: 2.0,
        ..Catalogue::builtin()
            .machine("small_vmc")
            .expect("in the catalogue")
            .clone()
    }
}

fn stock(end_mills: &[f64], drills: &[f64]) -> Tools {
    let catalogue = Catalogue::builtin();
    let known = "in the catalogue";
    Tools {
        end_mills: end_mills
            .iter()
            .map(|&d| catalogue.end_mill_of(d).expect(known).clone())
            .collect(),
        drills: drills
            .iter()
            .map(|&d| catalogue.drill_of(d).expect(known).clone())
            .collect(),
    }
}

fn shop(tools: &Tools, machine: &Machine) -> Shop {
    let catalogue = Catalogue::builtin();
    let metal = catalogue.material("6061-T6511").expect("in the catalogue");
    Shop::new(tools, metal, machine).expect("complete")
}

fn flat(width_mm: f64, floor_mm: f64) -> Section {
    Section {
        width_mm,
        floor_mm,
        outer_wall: None,
        inner_wall: None,
        ribs: vec![],
        slits: None,
    }
}

fn channel(width_mm: f64, floor_mm: f64, height_mm: f64) -> Section {
    let wall = Some(Wall {
        thickness_mm: 1.0,
        height_mm,
    });
    Section {
        outer_wall: wall,
        inner_wall: wall,
        ..flat(width_mm, floor_mm)
    }
}

fn bar(length_mm: f64, section: Section) -> Part {
    Part {
        path: Path::chain(vec![Piece::Line { length_mm }], false).expect("a good size"),
        section,
        bosses: vec![],
        hole_rows: vec![],
        carried: vec![],
    }
}

fn row(diameter_mm: f64, pitch_mm: f64, depth: Depth) -> HoleRow {
    HoleRow {
        name: "relief".into(),
        strip: StripName::Floor,
        diameter_mm,
        pitch_mm,
        depth,
        rows: 1,
        row_gap_mm: 0.0,
        stagger: 0.0,
        offset_mm: 0.0,
        span_mm: None,
        clearance_mm: 0.5,
    }
}

fn boss(station_mm: f64, length_mm: f64, section: Section) -> Boss {
    Boss {
        name: "lug".into(),
        station_mm,
        length_mm,
        section,
        bore: None,
    }
}

fn layout(part: &Part) -> Layout {
    Layout::new(part, &[]).expect("a good part")
}

#[track_caller]
fn named<'a>(operations: &'a [SimulatedOperation], name: &str) -> &'a SimulatedOperation {
    operations
        .iter()
        .find(|operation| operation.name == name)
        .unwrap_or_else(|| panic!("no {name}"))
}

// Hand calculation. Time from speed u to w over s, at most v, by the area under the speed: elementary kinematics.

fn speed_up_and_down(s: f64, u: f64, w: f64, v: f64, a: f64) -> f64 {
    let (rise, fall) = ((v * v - u * u) / (2.0 * a), (v * v - w * w) / (2.0 * a));
    if rise + fall <= s {
        (v - u) / a + (v - w) / a + (s - rise - fall) / v
    } else {
        let top = (a * s + 0.5 * (u * u + w * w)).sqrt();
        (top - u) / a + (top - w) / a
    }
}

/// A bar 40 x 3 x 3 mm with nothing on it, made with one end mill of 6 mm: every move of both setups. All feeds are
/// the machine's 10 mm/s (down: 5), rapid 250 mm/s, 1000 mm/s². Own calculation; rounding of the corners 0.01 mm.
#[test]
fn a_small_part_by_hand() {
    let machine = Machine {
        feed_max_m_min: 0.6,
        ..round_machine()
    };
    let part = bar(40.0, flat(3.0, 3.0));
    let shop = shop(&stock(&[6.0], &[]), &machine);
    let simulation = simulate(&part, &layout(&part), &shop);

    let a = 1000.0;
    let rapid = |s: f64| speed_up_and_down(s, 0.0, 0.0, 250.0, a);
    let feed = |s: f64, u: f64, w: f64| speed_up_and_down(s, u, w, 10.0, a);
    // Through a square corner: v² = 1000 · 0.01 / (√2 - 1), v = 4.913 mm/s.
    let corner = (a * 0.01 / (2f64.sqrt() - 1.0)).sqrt();
    assert!((corner - 4.913).abs() < 1e-3);
    // The last 0.5 mm down at 5 mm/s, into a square corner.
    let down = speed_up_and_down(0.5, 0.0, corner, 5.0, a);

    // Face, from above the start of the path: 3 mm back; down from 5 to 3.5, to 3; 3 + 40 + 3 mm; up 2.
    let face = |to_start: f64| {
        (
            down + feed(46.0, corner, 0.0),
            rapid(to_start) + rapid(1.5) + rapid(2.0),
        )
    };
    let face_top = face(3.0);

    // Outline rough, 3.2 mm off the edge: 2 levels of 1.6 mm, to 0.2 mm below the part. A turn is 2 · (40 + 3) + 2π · 3.2 mm; a ramp at 3°.
    // The turn starts at the nearest hundredth of it, 44: 46.69 mm on, at the end's face 0.16 mm past the middle,
    // so (0.2, 0.16) mm from where facing ended. The first ramp is steep enough to be entered at its 5 mm/s.
    let turn = 86.0 + 2.0 * PI * 3.2;
    let ramp = 1.6 / 3f64.to_radians().tan();
    let sloped = ramp.hypot(1.6);
    let past = 0.44 * turn - 40.0 - 0.5 * PI * 3.2 - 1.5;
    let rough = (
        speed_up_and_down(0.5, 0.0, 5.0, 5.0, a)
            + 2.0 * sloped / 5.0
            + feed(turn, 5.0, 5.0)
            + feed(turn, 5.0, 0.0),
        rapid(past.hypot(0.2)) + rapid(1.5) + rapid(5.2),
    );

    // It ended two ramps farther: 1.64 mm along the right side. Outline finish, 3 mm off: from there to the nearest
    // hundredth of its turn, 2; down to 0.5, to 0; 0.2 mm in, around, 0.2 mm out; up 5.
    let ended = 0.44 * turn + 2.0 * ramp - turn;
    let turn = 86.0 + 2.0 * PI * 3.0;
    let started = 0.02 * turn;
    let finish = (
        down + feed(0.2, corner, corner) + feed(turn, corner, corner) + feed(0.2, corner, 0.0),
        rapid((ended - started).abs()) + rapid(4.5) + rapid(5.0),
    );

    // Edges from the top: over to the start of the right edge, down from 5 to 3.2, to 2.7; 40 mm; up 2.3, 3 across,
    // and back on the left edge.
    let edges = |to_start: f64| {
        (
            2.0 * (down + feed(40.0, corner, 0.0)),
            rapid(to_start) + rapid(3.0) + 2.0 * (rapid(1.8) + rapid(2.3)),
        )
    };
    let edges_top = edges(started.hypot(4.7 - 1.5));

    // Turned over: face from the left edge's start, (3, 1.5) mm away; edges from its end, as far from the right edge.
    let face_under = face(3f64.hypot(1.5));
    let edges_under = edges(3f64.hypot(1.5));

    let by_hand = [face_top, rough, finish, edges_top, face_under, edges_under];
    let moving: Vec<_> = simulation
        .operations
        .iter()
        .filter(|operation| !operation.moves.is_empty())
        .collect();
    assert_eq!(moving.len(), by_hand.len());
    for (operation, (cut, moved)) in moving.iter().zip(by_hand) {
        let off = |is: f64, hand: f64| (is - hand).abs();
        assert!(
            off(operation.cut_s, cut) < 1e-4 && off(operation.move_s, moved) < 1e-4,
            "{}: {} {cut}, {} {moved}",
            operation.name,
            operation.cut_s,
            operation.move_s
        );
    }
    // Two loads, two zeros, two tools in each setup.
    let fixed = 2.0 * (machine.load_s + machine.zero_s)
        + 4.0 * (machine.tool_change_s + machine.spindle_start_s);
    let sum: f64 = by_hand.iter().map(|(cut, moved)| cut + moved).sum();
    check(simulation.cycle_s, sum + fixed, 1e-6);
}

/// 24 holes 12 mm apart at 250 mm/s and 1000 mm/s²: the 23 moves take 5.03905 s (worked from kinematics; no
/// published source).
#[test]
fn a_row_of_holes_move_by_move() {
    let mut part = bar(282.0, flat(12.0, 3.0));
    part.hole_rows.push(row(3.0, 12.0, Depth::Through));
    let layout = layout(&part);
    assert_eq!(layout.holes.len(), 24);
    let shop = shop(&stock(&[6.0], &[3.0]), &round_machine());
    let simulation = simulate(&part, &layout, &shop);
    let drill = named(&simulation.operations, "drill");
    let between = drill
        .moves
        .iter()
        .filter(|each| each.motion == Motion::Rapid && (each.length_mm() - 12.0).abs() < 1e-9);
    let times: Vec<_> = between.map(|each| each.time_s).collect();
    assert_eq!(times.len(), 23);
    check(times.iter().sum(), 5.03905, 1e-5);
}

/// Four pecks with full retract, 1.792 s (worked motion by motion; no published source): depth 12 with the point,
/// peck 3, feed 10 mm/s, rapid 250 mm/s, no time to accelerate, gap 0.5, start 2 above.
#[test]
fn pecks_move_by_move() {
    let machine = Machine {
        acceleration_xy_m_s2: 1e9,
        acceleration_z_m_s2: 1e9,
        feed_max_m_min: 0.6,
        settle_s: 0.0,
        ..round_machine()
    };
    let mut tools = stock(&[6.0], &[3.0]);
    // A carbide drill needs no spot and would go faster than the machine's 10 mm/s.
    tools.drills[0].material = ToolMaterial::Carbide;
    let mut part = bar(12.0, flat(12.0, 20.0));
    let deep = 12.0 - drill_point_height_mm(3.0);
    part.hole_rows.push(row(3.0, 100.0, Depth::Blind(deep)));
    let simulation = simulate(&part, &layout(&part), &shop(&tools, &machine));
    let moves = &named(&simulation.operations, "drill in pecks").moves;
    let first = moves
        .iter()
        .position(|each| each.motion == Motion::Feed)
        .expect("drilled");
    assert_eq!(
        moves
            .iter()
            .filter(|each| each.motion == Motion::Feed)
            .count(),
        4
    );
    let cycle: f64 = moves[first..].iter().map(|each| each.time_s).sum();
    check(cycle, 1.792, 1e-4);
}

// What a machine can do.

/// Speed and place in the plan and along z at times within a move: its trapezoid, sampled.
fn samples(each: &Move) -> Vec<(f64, [f64; 3])> {
    let (u, w, a, s) = (
        each.enter_mm_s,
        each.leave_mm_s,
        each.acceleration_mm_s2,
        each.length_mm(),
    );
    let top = each.most_mm_s.min((0.5 * (u * u + w * w) + a * s).sqrt());
    let (rise, fall) = ((top - u) / a, (top - w) / a);
    let count = 64;
    let at = |step: usize| {
        let t = each.time_s * step as f64 / count as f64;
        let left = each.time_s - t;
        let gone = if t < rise {
            u * t + 0.5 * a * t * t
        } else if left < fall {
            s - w * left - 0.5 * a * left * left
        } else {
            0.5 * (u + top) * rise + top * (t - rise)
        };
        (t, each.point_mm((gone / s).clamp(0.0, 1.0)))
    };
    (0..=count).map(at).collect()
}

/// Sampled in time, no move of either demo part is faster than its feed or the rapid rates, none accelerates more
/// than the machine can: along the way and toward the centre of a bend each for itself.
#[test]
fn no_move_asks_too_much_of_the_machine() {
    for study in ["yaw-ring", "tilt-arm"] {
        let prepared = studies_support::prepared(study, Overrides::default());
        let conditions = prepared.conditions.as_ref().expect("a part");
        let machine = &conditions.machine;
        let sheet = prepared.evaluator.sheet(&prepared.evaluator.baseline());
        let (part, layout) = (sheet.part.expect("built"), sheet.layout.expect("cut"));
        let shop = Shop::new(&conditions.tools, &conditions.material, machine);
        let simulation = simulate(&part, &layout, &shop.expect("complete"));
        let rapid =
            [machine.rapid_xy_m_min, machine.rapid_z_m_min].map(|rate| rate * 1000.0 / 60.0);
        let most = [machine.acceleration_xy_m_s2, machine.acceleration_z_m_s2].map(|a| a * 1000.0);
        let feed = machine.feed_max_m_min * 1000.0 / 60.0;
        let mut count = 0;
        for each in simulation.operations.iter().flat_map(|o| &o.moves) {
            if each.motion == Motion::Wait {
                continue;
            }
            count += 1;
            let samples = samples(each);
            let speeds: Vec<[f64; 2]> = samples
                .windows(2)
                .map(|pair| {
                    let step = pair[1].0 - pair[0].0;
                    let part = |axis: usize| pair[1].1[axis] - pair[0].1[axis];
                    [part(0).hypot(part(1)) / step, part(2).abs() / step]
                })
                .collect();
            let fast = speeds.iter().map(|v| v[0].hypot(v[1])).fold(0.0, f64::max);
            for axis in [0, 1] {
                let top = speeds.iter().map(|v| v[axis]).fold(0.0, f64::max);
                assert!(top <= rapid[axis] * (1.0 + 1e-6), "{top} {each:?}");
            }
            if each.motion == Motion::Feed {
                assert!(
                    fast <= feed.min(each.most_mm_s) * (1.0 + 1e-6),
                    "{fast} {each:?}"
                );
            }
            let step = each.time_s / 64.0;
            for pair in speeds.windows(2) {
                for axis in [0, 1] {
                    let along = (pair[1][axis] - pair[0][axis]).abs() / step;
                    assert!(
                        along <= most[axis] * (1.0 + 1e-3) + 1e-3,
                        "{along} {each:?}"
                    );
                }
            }
            let inward = speeds.iter().map(|v| v[0] * v[0]).fold(0.0, f64::max) / each.radius_mm();
            assert!(inward <= most[0] * (1.0 + 1e-3), "{inward} {each:?}");
        }
        assert!(count > 500, "{count} moves");
    }
}

/// Every move starts where and as fast as the one before it ended; an operation starts and ends at rest, above the part.
#[test]
fn the_way_is_of_one_piece() {
    let mut part = bar(60.0, channel(14.0, 1.5, 9.0));
    part.bosses = vec![boss(30.0, 8.0, flat(14.0, 6.0))];
    let shop = shop(&stock(&[2.0, 3.0, 6.0], &[3.0]), &round_machine());
    let simulation = simulate(&part, &layout(&part), &shop);
    let mut at = None;
    for operation in &simulation.operations {
        let (Some(first), Some(last)) = (operation.moves.first(), operation.moves.last()) else {
            continue;
        };
        assert_eq!((first.enter_mm_s, last.leave_mm_s), (0.0, 0.0));
        assert!((last.to_mm[2] - 11.0).abs() < 1e-9, "{}", operation.name);
        if let Some(at) = at {
            assert_eq!(first.from_mm, at, "{}", operation.name);
        }
        for pair in operation.moves.windows(2) {
            assert_eq!(pair[0].to_mm, pair[1].from_mm);
            assert_eq!(pair[0].leave_mm_s, pair[1].enter_mm_s);
        }
        at = Some(last.to_mm);
    }
    assert!(at.is_some());
}

// The metal that is cut.

/// Area in mm² that a disc of `radius` mm sweeps along the moves that end at height `z`, on a grid of 0.1 mm.
fn swept(moves: &[Move], z: f64, radius: f64) -> f64 {
    let grid = 0.1;
    let reach = (radius / grid).ceil() as i64;
    let mut cells = std::collections::BTreeSet::new();
    for each in moves.iter().filter(|each| each.motion == Motion::Feed) {
        if (each.from_mm[2] - z).abs() > 1e-6 || (each.to_mm[2] - z).abs() > 1e-6 {
            continue;
        }
        let steps = (each.length_mm() / 0.1).ceil().max(1.0) as usize;
        for step in 0..=steps {
            let [x, y, _] = each.point_mm(step as f64 / steps as f64);
            let (i, j) = ((x / grid).round() as i64, (y / grid).round() as i64);
            for di in -reach..=reach {
                for dj in -reach..=reach {
                    let (dx, dy) = ((i + di) as f64 * grid - x, (j + dj) as f64 * grid - y);
                    if dx * dx + dy * dy <= radius * radius {
                        cells.insert((i + di, j + dj));
                    }
                }
            }
        }
    }
    cells.len() as f64 * grid * grid
}

/// The floor that the finishing cutter sweeps is the pocket's floor: what it leaves in the corners at bosses is a
/// hundredth, and it cuts into no wall. Area from the path against removed metal over depth.
#[test]
fn a_pocket_is_swept_once_and_nothing_else() {
    let section = channel(10.0, 1.2, 8.0);
    let length = 2.0 * PI * 30.0;
    for bosses in [0, 2] {
        let part = Part {
            path: Path::circle(30.0).expect("a good size"),
            bosses: (0..bosses)
                .map(|index| boss(0.5 * length * f64::from(index), 8.0, flat(10.0, 8.0)))
                .collect(),
            ..bar(1.0, section.clone())
        };
        let layout = layout(&part);
        let shop = shop(&stock(&[3.0, 6.0], &[]), &round_machine());
        let simulation = simulate(&part, &layout, &shop);
        let floor = named(&simulation.operations, "floor finish");
        let plan = plan(&part, &layout, &shop, true);
        let removed: f64 = plan
            .operations
            .iter()
            .filter(|o| o.name == "floor finish")
            .map(|o| o.removed_mm3)
            .sum();
        check(swept(&floor.moves, 1.2, 3.0), removed / 0.2, 0.02);
    }
}

/// A deep slot half again as wide as its cutter goes quicker in loops of constant engagement, and the loops sweep it.
#[test]
fn a_deep_slot_is_cleared_in_loops() {
    let part = Part {
        path: Path::circle(30.0).expect("a good size"),
        ..bar(1.0, channel(8.1, 1.2, 9.0))
    };
    let layout = layout(&part);
    let catalogue = Catalogue::builtin();
    let machine = catalogue.machine("small_vmc").expect("in the catalogue");
    let shop = shop(&stock(&[4.0, 10.0], &[]), machine);
    let plan = plan(&part, &layout, &shop, true);
    let simulation = simulate(&part, &layout, &shop);
    let loops = named(&simulation.operations, "pocket rough in loops");
    let estimate = plan
        .operations
        .iter()
        .find(|o| o.name == loops.name)
        .expect("the same plan");
    check(estimate.cut_s, loops.cut_s, 0.05);
    check(estimate.cut_length_mm, loops.cut_length_mm, 0.02);
    // 0.2 mm stay on both walls.
    let area = 2.0 * PI * 30.0 * 5.7;
    check(swept(&loops.moves, 1.4, 2.0), area, 0.02);
}

/// Rows side by side are drilled to and fro: never longer than one after the other, as given.
#[test]
fn rows_are_drilled_in_a_good_order() {
    let mut part = bar(80.0, flat(20.0, 3.0));
    part.hole_rows.push(HoleRow {
        rows: 3,
        row_gap_mm: 5.0,
        ..row(3.0, 5.0, Depth::Through)
    });
    let layout = layout(&part);
    let shop = shop(&stock(&[6.0], &[3.0]), &round_machine());
    let simulation = simulate(&part, &layout, &shop);
    let drill = named(&simulation.operations, "drill");
    let flat = |each: &&Move| each.motion == Motion::Rapid && each.from_mm[2] == each.to_mm[2];
    let travelled: f64 = drill.moves.iter().filter(flat).map(Move::length_mm).sum();
    let per_row = layout.holes.len() as f64 / 3.0 - 1.0;
    // To and fro: three rows and two steps across; as given, two ways back besides.
    let to_and_fro = 3.0 * 5.0 * per_row + 2.0 * 5.0;
    assert!(travelled <= to_and_fro + 10.0, "{travelled}, {to_and_fro}");
    let estimate = plan(&part, &layout, &shop, true);
    let by_rows = estimate.operations.iter().find(|o| o.name == "drill");
    assert!(drill.move_s <= by_rows.expect("drilled").move_s);
}

// The fast estimate against every move. Five per cent: asked for.

/// Whole cycle, the same without loading and tool changes, cut and moves.
#[track_caller]
fn agree(plan: &Plan, what: &str) {
    let pair = |fast: f64, slow: f64, of: &str| {
        assert!(
            (fast - slow).abs() <= 0.05 * slow,
            "{what}, {of}: estimate {fast}, every move {slow}"
        );
    };
    pair(plan.cycle_s, plan.simulated_s, "cycle");
    pair(
        plan.cycle_s - plan.fixed_s,
        plan.simulated_s - plan.fixed_s,
        "without fixed times",
    );
    let slow: f64 = plan.operations.iter().map(|o| o.simulated_s).sum();
    assert!((slow - plan.simulated_s).abs() < 1e-9 * slow);
}

/// Designs spread over the space of a study by an additive recurrence.
fn designs(prepared: &Prepared) -> impl Iterator<Item = Vec<f64>> {
    let variables = &prepared.evaluator.setup().variables;
    (0..).map(move |design| {
        let value = |(axis, range): (usize, &Range)| {
            let at = (0.5 + f64::from(design) * (0.618_034 / (1.0 + axis as f64)).sqrt()).fract();
            match range {
                Range::Continuous { low, high, .. } => low + at * (high - low),
                Range::Integer { low, high } => (*low as f64 + at * (high - low) as f64).round(),
                Range::Choice(values) => values[(at * values.len() as f64) as usize],
            }
        };
        let ranges = variables.iter().map(|variable| &variable.range);
        ranges.enumerate().map(value).collect()
    })
}

/// Baseline and 200 designs that can be made, of each study that is milled.
#[test]
fn the_estimate_agrees_with_every_move() {
    for study in ["yaw-ring", "tilt-arm"] {
        let prepared = studies_support::prepared(study, Overrides::default());
        let evaluator = &prepared.evaluator;
        agree(&evaluator.sheet(&evaluator.baseline()).plan, study);
        let plans = designs(&prepared)
            .take(3000)
            .map(|design| (evaluator.sheet(&design).plan, design))
            .filter(|(plan, _)| plan.cycle_s.is_finite())
            .take(200);
        let mut count = 0;
        for (plan, design) in plans {
            agree(&plan, &format!("{study} {design:?}"));
            count += 1;
        }
        assert_eq!(count, 200, "{study}");
    }
}

/// Frames that the studies do not show: bends too sharp for the wide cutter, bosses wider than the frame, several
/// rows, a bore on a helix, a weak machine.
#[test]
fn the_estimate_agrees_on_other_frames() {
    let rectangle = Part {
        path: Path::rounded_rectangle(80.0, 60.0, 7.0).expect("good sizes"),
        ..bar(1.0, channel(10.0, 1.2, 8.0))
    };
    let mut lugs = Part {
        path: Path::stadium(50.0, 25.0).expect("good sizes"),
        ..bar(1.0, channel(8.0, 1.2, 7.0))
    };
    let length = lugs.path.length_mm();
    lugs.bosses = (0..3)
        .map(|index| Boss {
            bore: Some(Bore {
                diameter_mm: 8.0,
                depth_mm: None,
                reamed: false,
                counterbore: None,
            }),
            ..boss(
                length * (f64::from(index) + 0.5) / 3.0,
                12.0,
                flat(13.0, 7.0),
            )
        })
        .collect();
    let mut plate = bar(90.0, flat(24.0, 2.0));
    plate.hole_rows.push(HoleRow {
        rows: 3,
        row_gap_mm: 6.0,
        stagger: 0.5,
        ..row(3.0, 6.0, Depth::Through)
    });
    let tools = stock(&[2.0, 3.0, 6.0, 10.0], &[3.0, 4.0]);
    let catalogue = Catalogue::builtin();
    for id in ["small_vmc", "fast_small_vmc", "converted_knee_mill"] {
        let machine = catalogue.machine(id).expect("in the catalogue");
        let shop = shop(&tools, machine);
        for (name, part) in [
            ("rectangle", &rectangle),
            ("lugs", &lugs),
            ("plate", &plate),
        ] {
            let plan = plan(part, &layout(part), &shop, true);
            agree(&plan, &format!("{name} on {id}"));
        }
    }
}

// Ends of pockets. Common practice, no source.

/// A pocket between two bosses with hardly more room than its cutter: no ramp fits, the end mill plunges, and the
/// plan says so; with room for a ramp it does not. Corners that a wide cutter leaves at closed ends go to a small
/// one; a ring without bosses has none, nor has a pocket that a small cutter clears.
#[test]
fn short_pockets_are_plunged_and_corners_cleared() {
    let between = |room: f64, mills: &[f64]| {
        let mut part = bar(60.0, channel(10.0, 1.2, 8.0));
        let length = 0.5 * (60.0 - room);
        part.bosses = [0.5 * length, 60.0 - 0.5 * length]
            .map(|station| boss(station, length, flat(10.0, 8.0)))
            .into();
        let shop = shop(&stock(mills, &[]), &round_machine());
        plan(&part, &layout(&part), &shop, true)
    };
    let plunges = |plan: &Plan| plan.remarks.iter().any(|each| each.contains("plunges"));
    assert!(plunges(&between(6.5, &[3.0, 6.0])));
    assert!(!plunges(&between(12.0, &[3.0, 6.0])));
    let corners = |plan: &Plan| {
        let of = plan.operations.iter().find(|o| o.name == "pocket corners");
        of.map(|o| (o.count, o.removed_mm3))
    };
    let (count, removed) = corners(&between(20.0, &[3.0, 6.0])).expect("corners");
    // Four corners, 6.8 mm deep; the stiffness of a reach of 6.8 mm in a 3 mm cutter leaves its full 1.5 mm a level.
    assert_eq!(count, 4 * 5);
    // Each (1 - π/4)(3² - 1.5²) mm² by 6.8 mm.
    check(removed, 4.0 * (1.0 - 0.25 * PI) * 6.75 * 6.8, 1e-9);
    assert_eq!(corners(&between(20.0, &[3.0])), None);
}
