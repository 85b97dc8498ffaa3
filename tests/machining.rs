//! Machining against published worked examples, and trends of the trade (common practice, no source).

use std::f64::consts::PI;

use fretwork::catalogue::{Catalogue, Machine, Material, Tools};
use fretwork::machining::cutting::*;
use fretwork::machining::motion::*;
use fretwork::machining::{MachiningError, Plan, Shop, plan};
use fretwork::part::*;
use proptest::prelude::*;

/// Relative tolerance.
#[track_caller]
fn check(value: f64, published: f64, tolerance: f64) {
    assert!(
        (value - published).abs() <= tolerance * published.abs(),
        "{value} against {published}"
    );
}

// Published worked examples. Tolerances: rounding of the printed inputs and results.

/// Groover, Fundamentals of Modern Manufacturing, Example 21.2: drilling 15 mm of plate, 12.0 s, 549.8 mm³/s.
#[test]
fn drilling_a_plate() {
    let speed = spindle_speed_rpm(0.5 * 60.0, 20.0);
    check(speed / 60.0, 7.95775, 1e-5);
    let feed = feed_mm_min(speed, 1.0, 0.22);
    check(feed / 60.0, 1.7507, 1e-4);
    let allowance = point_allowance_mm(20.0, 118.0);
    check(allowance, 6.0086, 1e-4);
    check(drill_point_height_mm(20.0), allowance, 1e-12);
    let cycle = PeckCycle {
        depth_mm: 15.0 + allowance,
        peck_mm: 15.0 + allowance,
        feed_mm_s: feed / 60.0,
        rapid_mm_s: 100.0,
        acceleration_mm_s2: f64::INFINITY,
        gap_mm: 0.0,
        start_mm: 0.0,
    };
    check(cycle.times_s().0, 12.0, 5e-3);
    check(
        drilling_removal_mm3_min(20.0, 0.22, speed) / 60.0,
        549.8,
        5e-3,
    );
}

/// Groover, Example 21.3: peripheral milling, 144.2 s, 846 mm³/s.
#[test]
fn peripheral_milling() {
    let speed = spindle_speed_rpm(0.5 * 60.0, 65.0);
    check(speed / 60.0, 2.44854, 1e-5);
    let feed = feed_mm_min(speed, 4.0, 0.24);
    check(feed / 60.0, 2.3506, 1e-4);
    let approach = side_approach_mm(6.0, 65.0);
    check(approach, 18.815, 1e-4);
    check((320.0 + approach) / (feed / 60.0), 144.2, 5e-3);
    check(milling_removal_mm3_min(6.0, 60.0, feed) / 60.0, 846.0, 5e-3);
}

/// Kalpakjian & Schmid, slab milling: 20 in/min, 10 in³/min, 11 hp, 578 lbf ft, 37.5 s.
#[test]
fn slab_milling() {
    let (inch, horsepower) = (25.4, 0.745_699_9);
    let feed = feed_mm_min(100.0, 20.0, 0.01 * inch);
    check(feed, 20.0 * inch, 1e-12);
    let removal = milling_removal_mm3_min(0.125 * inch, 4.0 * inch, feed);
    check(removal / inch.powi(3), 10.0, 1e-12);
    // 1.1 hp min/in³ as a specific force in MPa.
    let specific = 1.1 * horsepower * 6e7 / inch.powi(3);
    let power = cutting_power_kw(removal, specific);
    check(power / horsepower, 11.0, 5e-3);
    check(torque_n_m(power, 100.0) / 1.355_818, 578.0, 5e-3);
    let approach = side_approach_mm(0.125 * inch, 2.0 * inch);
    check((12.0 * inch + approach) / feed * 60.0, 37.5, 5e-3);
}

/// Kalpakjian & Schmid, face milling: 108000 mm³/min, 65 s, 0.6 mm a tooth, 1.98 kW.
#[test]
fn face_milling() {
    let removal = milling_removal_mm3_min(3.0, 60.0, 600.0);
    check(removal, 108_000.0, 1e-12);
    check(cutting_power_kw(removal, 1100.0), 1.98, 5e-3);
    check((500.0 + 2.0 * 75.0) / 600.0 * 60.0, 65.0, 5e-3);
    check(feed_mm_min(100.0, 10.0, 0.6), 600.0, 1e-12);
}

/// Kalpakjian & Schmid, drilling magnesium: 210 mm³/s, 1.25 N m.
#[test]
fn drilling_magnesium() {
    let removal = drilling_removal_mm3_min(10.0, 0.2, 800.0);
    check(removal / 60.0, 210.0, 5e-3);
    check(
        torque_n_m(cutting_power_kw(removal, 500.0), 800.0),
        1.25,
        5e-3,
    );
}

/// A process-planning text's face mill with a lead angle of 45 degrees (Example 2.7, book not named in the
/// collection read): 0.20 min.
#[test]
fn face_milling_with_a_lead_angle() {
    let speed = spindle_speed_rpm(300.0, 200.0);
    check(speed, 477.465, 1e-5);
    let chip_load = 0.3 / 45f64.to_radians().sin();
    check(chip_load, 0.424264, 1e-5);
    let feed = feed_mm_min(speed, 18.0, chip_load);
    check(feed, 3646.28, 1e-5);
    let approach = face_approach_mm(150.0, 200.0);
    check(approach, 33.8562, 1e-5);
    check((700.0 + approach) / feed, 0.20, 1e-2);
}

/// Ghosh & Mallik, Manufacturing Science, Problems 4.16 to 4.18: 817 W, 257.161 W, 138 W (printed).
#[test]
fn milling_power() {
    let removal = milling_removal_mm3_min(5.0, 20.0, 25.0);
    check(
        1000.0 * cutting_power_kw(removal, specific_force_mpa(1400.0, 0.28, 0.005)),
        257.161,
        1e-3,
    );
    check(1000.0 * cutting_power_kw(removal, 3300.0), 138.0, 1e-2);
    let removal = milling_removal_mm3_min(5.0, 20.0, 100.0);
    check(
        1000.0 * cutting_power_kw(removal, specific_force_mpa(1400.0, 0.4, 0.043)),
        817.0,
        1e-2,
    );
}

/// University lecture notes on drilling: 663 rpm, 99.45 mm/min; the time worked from them.
#[test]
fn drilling_lecture_example() {
    let speed = spindle_speed_rpm(25.0, 12.0);
    check(speed, 663.0, 5e-3);
    let feed = feed_mm_min(speed, 1.0, 0.15);
    check(feed, 99.45, 5e-3);
    check(30.0 / feed, 0.3016, 5e-3);
}

/// University course notes, machining exercise: 385 rpm, tooth force 3528 N largest and 3055 N least, power
/// 8526 W largest and 8150 W mean, one tooth always in cut over ±30 degrees.
#[test]
fn tooth_forces_of_a_face_mill() {
    check(spindle_speed_rpm(145.0, 120.0), 385.0, 2e-3);
    let force = |from_middle: f64| tooth_force_n(3920.0, 5.0, 0.18, 0.5 * PI + from_middle);
    check(force(0.0), 3528.0, 2e-3);
    check(force(PI / 6.0), 3055.0, 2e-3);
    check(force(0.0) * 145.0 / 60.0, 8526.0, 2e-3);
    let mean = (0..1000)
        .map(|i| force((f64::from(i) + 0.5 - 500.0) / 500.0 * PI / 6.0))
        .sum::<f64>()
        / 1000.0;
    check(mean * 145.0 / 60.0, 8150.0, 2e-3);
}

/// Elementary kinematics (from memory).
#[test]
fn trapezoid_moves() {
    check(move_s(300.0, 250.0, 1000.0), 1.45, 1e-6);
    check(move_s(62.5, 250.0, 1000.0), 0.5, 1e-6);
    check(move_s(10.0, 250.0, 1000.0), 0.2, 1e-6);
    check(move_s(20.0, 1000.0 / 3.0, 2500.0), 0.178885, 1e-5);
    check(move_s(500.0, 500.0, 5000.0), 1.1, 1e-6);
    assert_eq!(move_s(0.0, 250.0, 1000.0), 0.0);
}

/// 24 holes 12 mm apart: the 23 moves take 5.03905 s, not the 1.104 s of speed alone (worked from kinematics;
/// no published source).
#[test]
fn a_row_of_holes() {
    check(23.0 * move_s(12.0, 250.0, 1000.0), 5.03905, 1e-5);
}

/// Four pecks with full retract, 1.792 s (worked motion by motion; no published source).
#[test]
fn peck_cycle() {
    let cycle = PeckCycle {
        depth_mm: 12.0,
        peck_mm: 3.0,
        feed_mm_s: 10.0,
        rapid_mm_s: 250.0,
        acceleration_mm_s2: f64::INFINITY,
        gap_mm: 0.5,
        start_mm: 2.0,
    };
    assert_eq!(cycle.pecks(), 4);
    check(cycle.total_s(), 1.792, 1e-4);
}

/// Machining textbooks (from memory), worked: D 10, fz 0.05.
#[test]
fn chip_thinning() {
    let widths = [0.25, 0.5, 1.0, 2.5, 5.0];
    let largest = [0.0156125, 0.0217945, 0.03, 0.0433013, 0.05];
    let mean = [0.00787252, 0.0110858, 0.01554, 0.0238732, 0.0318310];
    let restored = [0.160128, 0.114708, 0.0833333, 0.0577350, 0.05];
    for (i, width) in widths.into_iter().enumerate() {
        check(largest_chip_mm(0.05, width, 10.0), largest[i], 1e-5);
        check(mean_chip_mm(0.05, width, 10.0), mean[i], 1e-5);
        check(thinned_chip_load_mm(0.05, width, 10.0), restored[i], 1e-5);
    }
}

/// Kienzle 1952 (from memory), worked through: kc1.1 700, mc 0.25, D 10, 3 teeth, vc 250, fz 0.05, ae 1, ap 5.
#[test]
fn kienzle_chain() {
    let speed = spindle_speed_rpm(250.0, 10.0);
    check(speed, 7957.75, 1e-5);
    let feed = feed_mm_min(speed, 3.0, 0.05);
    check(feed, 1193.66, 1e-5);
    let chip = mean_chip_mm(0.05, 1.0, 10.0);
    let specific = specific_force_mpa(700.0, 0.25, chip);
    check(specific, 1982.60, 1e-5);
    let removal = milling_removal_mm3_min(5.0, 1.0, feed);
    check(removal / 1000.0, 5.96831, 1e-5);
    let power = cutting_power_kw(removal, specific);
    check(power, 0.197213, 1e-5);
    check(torque_n_m(power, speed), 0.236656, 1e-5);
    check(specific * 5.0 * chip, 154.048, 1e-5);
}

/// Cantilever formula (from memory), fluted part at 0.8 D.
#[test]
fn end_mill_bending() {
    check(
        tool_deflection_mm(100.0, 30.0, 10.0, 600_000.0),
        0.00305577,
        1e-5,
    );
    check(
        tool_deflection_mm(100.0, 30.0, 8.0, 600_000.0),
        0.00746039,
        1e-5,
    );
}

// The planner, on rings built by hand.

/// A ring with equal bosses and one row of holes between them.
#[derive(Clone, Debug)]
struct Ring {
    radius: f64,
    section: Section,
    bosses: usize,
    boss_length: f64,
    bore: Option<Bore>,
    hole: f64,
    holes: usize,
    depth: Depth,
    strip: StripName,
}

impl Ring {
    fn plain() -> Ring {
        Ring {
            radius: 40.0,
            section: Section {
                width_mm: 10.0,
                floor_mm: 1.2,
                outer_wall: Some(Wall {
                    thickness_mm: 1.0,
                    height_mm: 8.0,
                }),
                inner_wall: Some(Wall {
                    thickness_mm: 1.0,
                    height_mm: 8.0,
                }),
                ribs: vec![],
                slits: None,
            },
            bosses: 0,
            boss_length: 8.0,
            bore: None,
            hole: 3.0,
            holes: 0,
            depth: Depth::Through,
            strip: StripName::Floor,
        }
    }

    fn rib(mut self, offset_mm: f64, thickness_mm: f64) -> Ring {
        self.section.ribs.push(Rib {
            offset_mm,
            thickness_mm,
            height_mm: 8.0,
        });
        self
    }

    fn part(&self) -> Part {
        let total = 2.0 * PI * self.radius;
        let solid = Section {
            floor_mm: 8.0,
            outer_wall: None,
            inner_wall: None,
            ribs: vec![],
            slits: None,
            ..self.section.clone()
        };
        let boss = |index: usize| Boss {
            name: format!("lug {}", index + 1),
            station_mm: (index as f64 + 0.5) * total / self.bosses as f64,
            length_mm: self.boss_length,
            section: solid.clone(),
            bore: self.bore,
        };
        Part {
            path: Path::circle(self.radius).expect("a positive radius"),
            section: self.section.clone(),
            bosses: (0..self.bosses).map(boss).collect(),
            hole_rows: vec![HoleRow {
                name: "relief".into(),
                strip: self.strip,
                diameter_mm: self.hole,
                pitch_mm: total / self.holes.max(1) as f64,
                depth: self.depth,
                rows: 1,
                row_gap_mm: 0.0,
                stagger: 0.0,
                offset_mm: 0.0,
                span_mm: None,
                clearance_mm: 0.5,
            }],
            carried: vec![],
        }
    }

    fn layout(&self, part: &Part) -> Layout {
        let total = part.path.length_mm();
        let curvature = 1.0 / self.radius;
        let mut sections = vec![self.section.clone()];
        let between = total / self.bosses.max(1) as f64
            - if self.bosses > 0 {
                self.boss_length
            } else {
                0.0
            };
        let kind = |length_mm, section| SegmentKind {
            length_mm,
            curvature,
            section,
            perforations: vec![],
        };
        let mut kinds = vec![kind(between, 0)];
        let mut segments = vec![Segment {
            start_mm: 0.0,
            kind: 0,
        }];
        if let Some(boss) = part.bosses.first() {
            sections.push(boss.section.clone());
            kinds.push(kind(self.boss_length, 1));
            segments.clear();
            for index in 0..self.bosses {
                let start_mm = index as f64 * (between + self.boss_length);
                segments.push(Segment { start_mm, kind: 0 });
                segments.push(Segment {
                    start_mm: start_mm + between,
                    kind: 1,
                });
            }
        }
        let pitch = total / self.holes.max(1) as f64;
        let hole = |index: usize| Hole {
            row: 0,
            line: 0,
            station_mm: (index as f64 + 0.5) * pitch,
            across_mm: 0.0,
        };
        Layout {
            closed: true,
            length_mm: total,
            sections,
            kinds,
            nodes_mm: segments.iter().map(|segment| segment.start_mm).collect(),
            segments,
            station_nodes: vec![],
            holes: (0..self.holes).map(hole).collect(),
        }
    }

    fn plan(&self, shop: &Shop) -> Plan {
        let part = self.part();
        plan(&part, &self.layout(&part), shop, true)
    }
}

fn material(id: &str) -> Material {
    Catalogue::builtin()
        .material(id)
        .expect("in the catalogue")
        .clone()
}

fn machine(id: &str) -> Machine {
    Catalogue::builtin()
        .machine(id)
        .expect("in the catalogue")
        .clone()
}

fn tools(end_mills: &[f64], drills: &[f64]) -> Tools {
    let catalogue = Catalogue::builtin();
    Tools {
        end_mills: end_mills
            .iter()
            .map(|&d| catalogue.end_mill_of(d).expect("known").clone())
            .collect(),
        drills: drills
            .iter()
            .map(|&d| catalogue.drill_of(d).expect("known").clone())
            .collect(),
    }
}

fn shop_with(end_mills: &[f64], drills: &[f64]) -> Shop {
    Shop::new(
        &tools(end_mills, drills),
        &material("6061-T6511"),
        &machine("small_vmc"),
    )
    .expect("complete")
}

fn shop() -> Shop {
    shop_with(
        &[1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0, 16.0],
        &[2.0, 2.5, 3.0, 3.3, 4.0],
    )
}

/// Time and metal of the operations whose name starts so.
fn share(plan: &Plan, name: &str) -> (f64, f64) {
    let these = plan
        .operations
        .iter()
        .filter(|operation| operation.name.starts_with(name));
    these.fold((0.0, 0.0), |(time, metal), each| {
        (time + each.total_s(), metal + each.removed_mm3)
    })
}

#[test]
fn operations_add_up_to_the_cycle_time_in_both_ways_of_asking() {
    let mut ring = Ring::plain().rib(0.0, 0.8);
    (ring.bosses, ring.holes) = (4, 60);
    ring.bore = Some(Bore {
        diameter_mm: 3.3,
        depth_mm: None,
        reamed: false,
        counterbore: None,
    });
    let (part, shop) = (ring.part(), shop());
    let layout = ring.layout(&part);
    let full = plan(&part, &layout, &shop, true);
    let short = plan(&part, &layout, &shop, false);
    let sum: f64 = full
        .operations
        .iter()
        .map(|operation| operation.total_s())
        .sum();
    check(sum, full.cycle_s, 1e-12);
    check(full.cut_s + full.move_s + full.fixed_s, full.cycle_s, 1e-12);
    assert!(short.operations.is_empty() && short.remarks.is_empty());
    let bare = Plan {
        operations: vec![],
        bench: vec![],
        remarks: vec![],
        simulated_s: 0.0,
        ..full.clone()
    };
    assert!(short.simulated_s.is_nan());
    let short = Plan {
        simulated_s: 0.0,
        ..short
    };
    assert_eq!(bare, short);
    for name in [
        "load",
        "face",
        "outline rough",
        "outline finish",
        "pocket rough",
        "floor",
        "wall",
        "spot",
        "drill",
        "break",
    ] {
        assert!(share(&full, name).0 > 0.0, "no {name}");
    }
    assert!(full.remarks.is_empty(), "{:?}", full.remarks);
}

/// The metal that roughing and finishing take from the slot is the slot: by Pappus.
#[test]
fn the_pocket_is_emptied_once() {
    let plan = Ring::plain().plan(&shop());
    let slot = 2.0 * PI * 40.0 * 8.0 * (8.0 - 1.2);
    check(
        share(&plan, "pocket rough").1 + share(&plan, "floor finish").1,
        slot,
        1e-9,
    );
    let mut drilled = Ring::plain();
    drilled.holes = 40;
    let holes = 40.0 * PI / 4.0 * 9.0 * 1.2;
    check(share(&drilled.plan(&shop()), "drill").1, holes, 1e-9);
}

/// Every tool is loaded once a setup: changes = distinct tools, summed over the setups.
#[test]
fn one_tool_change_for_each_distinct_tool() {
    let mut ring = Ring::plain().rib(0.0, 0.8);
    (ring.holes, ring.bosses) = (40, 4);
    ring.bore = Some(Bore {
        diameter_mm: 4.0,
        depth_mm: Some(5.0),
        reamed: false,
        counterbore: None,
    });
    let plan = ring.plan(&shop());
    let mut changes = 0;
    for setup in 1..=3 {
        let used = plan
            .operations
            .iter()
            .filter(|operation| operation.setup == setup && !operation.tool.is_empty());
        let mut tools: Vec<_> = used.map(|operation| operation.tool.as_str()).collect();
        tools.dedup();
        let loads = tools.len();
        tools.sort_unstable();
        tools.dedup();
        assert_eq!(
            loads,
            tools.len(),
            "a tool is loaded twice in setup {setup}"
        );
        changes += loads;
    }
    assert_eq!(plan.tool_changes, changes);
    // A bore of the holes' own diameter saves the change (common practice, no source).
    ring.bore = Some(Bore {
        diameter_mm: 3.0,
        depth_mm: Some(5.0),
        reamed: false,
        counterbore: None,
    });
    assert_eq!(ring.plan(&shop()).tool_changes, plan.tool_changes - 1);
}

// Trends: common practice, no source.

#[test]
fn a_stiffer_and_faster_machine_is_quicker() {
    let mut ring = Ring::plain().rib(0.0, 0.8);
    (ring.holes, ring.bosses) = (60, 4);
    let stock = tools(&[2.0, 3.0, 6.0, 10.0], &[3.0]);
    let time = |id| {
        let shop = Shop::new(&stock, &material("6061-T6511"), &machine(id)).expect("complete");
        let plan = ring.plan(&shop);
        (plan.cycle_s, plan.cut_s + plan.move_s)
    };
    let (knee, small, fast) = (
        time("converted_knee_mill"),
        time("small_vmc"),
        time("fast_small_vmc"),
    );
    assert!(fast.0 < small.0 && small.0 < knee.0);
    assert!(fast.1 < small.1 && small.1 < knee.1);
}

/// Acceleration alone changes what many short moves cost.
#[test]
fn short_moves_cost_what_acceleration_lets_them() {
    let mut ring = Ring::plain();
    ring.holes = 80;
    let moves = |acceleration| {
        let slow = Machine {
            acceleration_xy_m_s2: acceleration,
            ..machine("small_vmc")
        };
        let shop =
            Shop::new(&tools(&[3.0], &[3.0]), &material("6061-T6511"), &slow).expect("complete");
        ring.plan(&shop)
            .operations
            .iter()
            .filter(|o| o.name == "drill")
            .map(|o| o.move_s)
            .sum::<f64>()
    };
    let pitch = 2.0 * PI * 40.0 / 80.0;
    let saved = 79.0 * (move_s(pitch, 400.0, 500.0) - move_s(pitch, 400.0, 4000.0));
    // To the first hole: as far as the frame is wide.
    let width = 10.0;
    let first = move_s(width, 400.0, 500.0) - move_s(width, 400.0, 4000.0);
    check(moves(0.5) - moves(4.0), saved + first, 1e-6);
}

#[test]
fn harder_metal_takes_longer() {
    let time = |id: &str| {
        let shop = Shop::new(
            &tools(&[3.0, 6.0, 10.0], &[3.0]),
            &material(id),
            &machine("small_vmc"),
        );
        Ring::plain().plan(&shop.expect("complete")).cycle_s
    };
    assert!(time("6061-T6511") < time("4130"));
    assert!(time("4130") < time("Ti-6Al-4V"));
}

#[test]
fn a_rib_and_a_narrower_slot_cost_time() {
    let open = Ring::plain().plan(&shop()).cycle_s;
    let ribbed = Ring::plain().rib(0.0, 0.8).plan(&shop()).cycle_s;
    let crowded = Ring::plain().rib(1.6, 0.8).plan(&shop()).cycle_s;
    assert!(open < ribbed, "{open} {ribbed}");
    assert!(ribbed < crowded, "{ribbed} {crowded}");
}

#[test]
fn deep_holes_are_pecked_and_cost_more() {
    let mut ring = Ring::plain();
    ring.section.floor_mm = 7.0;
    (ring.holes, ring.hole) = (40, 2.0);
    ring.depth = Depth::Blind(3.0);
    let shallow = ring.plan(&shop());
    ring.depth = Depth::Blind(6.2);
    let deep = ring.plan(&shop());
    assert!(shallow.operations.iter().any(|o| o.name == "drill"));
    assert!(deep.operations.iter().any(|o| o.name == "drill in pecks"));
    assert!(share(&deep, "drill").0 > 2.0 * share(&shallow, "drill").0);
}

/// A gram drilled out of the floor costs less time than a gram milled out of a slot that only a small cutter
/// enters; out of a wide pocket milling wins. Holes with everything they need (spot, moves, tool changes)
/// against roughing and finishing of the slot with its tool change.
#[test]
fn a_drilled_gram_is_quicker_than_one_pocketed_in_a_tight_corner() {
    let shop = shop();
    let mut drilled = Ring::plain();
    (drilled.holes, drilled.hole) = (60, 3.0);
    let bare = Ring::plain().plan(&shop);
    let with = drilled.plan(&shop);
    let drilled_s_mm3 = (with.cycle_s - bare.cycle_s) / share(&with, "drill").1;

    let slot = |width: f64| {
        // A solid ring with one slot: walls fill the rest.
        let mut ring = Ring::plain();
        let wall = Some(Wall {
            thickness_mm: 0.5 * (10.0 - width),
            height_mm: 8.0,
        });
        (ring.section.outer_wall, ring.section.inner_wall) = (wall, wall);
        ring.section.floor_mm = 8.0 - 2.0 * width;
        let plan = ring.plan(&shop);
        let (rough, metal) = share(&plan, "pocket rough");
        let finish = share(&plan, "floor finish").0 + share(&plan, "wall finish").0;
        (rough + finish) / (metal + share(&plan, "floor finish").1)
    };
    let tight = slot(1.5);
    let wide = slot(6.0);
    assert!(
        drilled_s_mm3 < tight,
        "drilled {drilled_s_mm3} s/mm³, tight slot {tight}"
    );
    assert!(
        wide < drilled_s_mm3,
        "drilled {drilled_s_mm3} s/mm³, wide slot {wide}"
    );
    let rates: Vec<_> = [6.0, 4.0, 3.0, 2.0, 1.5, 1.1]
        .into_iter()
        .map(slot)
        .collect();
    assert!(rates.windows(2).all(|pair| pair[0] < pair[1]), "{rates:?}");
}

#[test]
fn a_slot_that_no_cutter_fits_is_a_measure_and_a_remark() {
    let shop = shop_with(&[2.0, 6.0], &[3.0]);
    let ring = Ring::plain().rib(2.0, 1.0);
    let plan = ring.plan(&shop);
    // Slots: -4 to 1.5 and 2.5 to 4.
    check(plan.cutter_gap_mm, 1.5 - 2.0, 1e-9);
    assert!(
        plan.remarks
            .iter()
            .any(|remark| remark.contains("slot 2 (1.50 mm)")),
        "{:?}",
        plan.remarks
    );
    assert!(
        plan.operations
            .iter()
            .any(|o| o.feature == "slot 2" && o.tool.contains("2 mm"))
    );
    check(Ring::plain().plan(&shop).cutter_gap_mm, 6.0, 1e-9);
}

#[test]
fn a_slender_wall_is_finished_in_more_steps() {
    let mut ring = Ring::plain();
    let mut passes = |thickness_mm| {
        let wall = Some(Wall {
            thickness_mm,
            height_mm: 8.0,
        });
        (ring.section.outer_wall, ring.section.inner_wall) = (wall, wall);
        let plan = ring.plan(&shop());
        let finish = plan.operations.iter().filter(|o| o.name == "wall finish");
        (finish.map(|o| o.count).sum::<usize>(), plan.remarks)
    };
    let (stout, slim, slender) = (passes(1.0), passes(0.3), passes(0.2));
    assert!(
        stout.0 < slim.0 && slim.0 < slender.0,
        "{stout:?} {slim:?} {slender:?}"
    );
    assert!(stout.1.is_empty() && slim.1.is_empty());
    assert!(slender.1.iter().any(|remark| remark.contains("support")));
}

#[test]
fn what_bounds_the_feed_is_named() {
    let limits = |machine: &Machine| -> Vec<(String, String)> {
        let shop = Shop::new(
            &tools(&[3.0, 10.0], &[3.0]),
            &material("6061-T6511"),
            machine,
        )
        .expect("complete");
        let plan = Ring::plain().plan(&shop);
        plan.operations
            .into_iter()
            .map(|o| (o.name, o.limit))
            .collect()
    };
    let of = |all: &[(String, String)], name: &str| {
        all.iter()
            .find(|(n, _)| n == name)
            .map(|(_, limit)| limit.clone())
            .unwrap_or_default()
    };
    let small = machine("small_vmc");
    assert_eq!(of(&limits(&small), "pocket rough"), "spindle speed");
    let spindle = Machine {
        spindle_max_rpm: 200_000.0,
        power_kw: 500.0,
        feed_max_m_min: 200.0,
        acceleration_xy_m_s2: 50.0,
        ..small.clone()
    };
    assert_eq!(of(&limits(&spindle), "pocket rough"), "chip load");
    assert_eq!(
        of(
            &limits(&Machine {
                power_kw: 0.05,
                ..small.clone()
            }),
            "outline rough"
        ),
        "power"
    );
    assert_eq!(
        of(
            &limits(&Machine {
                feed_max_m_min: 0.5,
                ..small.clone()
            }),
            "outline rough"
        ),
        "feed limit"
    );
    assert_eq!(
        of(
            &limits(&Machine {
                acceleration_xy_m_s2: 0.01,
                ..small
            }),
            "outline rough"
        ),
        "acceleration"
    );
}

#[test]
fn missing_data_is_assumed_with_a_remark_or_refused_by_name() {
    let no_hss = material("st1095_spring");
    let shop =
        Shop::new(&tools(&[3.0], &[3.0]), &no_hss, &machine("small_vmc")).expect("enough is known");
    let plan = Ring::plain().plan(&shop);
    assert!(
        plan.remarks
            .iter()
            .any(|remark| remark.contains("no drilling speed for HSS")),
        "{:?}",
        plan.remarks
    );
    let laminate = Shop::new(
        &tools(&[3.0], &[]),
        &material("cfrp_qi"),
        &machine("small_vmc"),
    );
    assert_eq!(
        laminate.err(),
        Some(MachiningError::NoCuttingForce {
            material: "cfrp_qi".into()
        })
    );
    let empty = Shop::new(
        &Tools::default(),
        &material("6061-T6"),
        &machine("small_vmc"),
    );
    assert_eq!(empty.err(), Some(MachiningError::NoEndMill));
}

#[test]
fn holes_without_a_drill_or_from_the_side_are_told() {
    let mut ring = Ring::plain();
    (ring.holes, ring.hole) = (20, 3.7);
    let plan = ring.plan(&shop());
    assert_eq!(plan.obstacles, 1);
    assert!(
        plan.remarks
            .iter()
            .any(|remark| remark.contains("3.700 mm"))
    );
    (ring.hole, ring.strip) = (3.0, StripName::OuterWall);
    let side = ring.plan(&shop());
    assert_eq!(side.obstacles, 0);
    assert!(
        side.remarks
            .iter()
            .any(|remark| remark.contains("from the side"))
    );
    assert_eq!(
        side.operations
            .iter()
            .filter(|o| o.name.starts_with("load"))
            .count(),
        3
    );
}

/// A bore too wide for any drill in stock is widened on a helix by an end mill.
#[test]
fn a_wide_bore_is_milled() {
    let mut ring = Ring::plain();
    ring.bosses = 4;
    ring.bore = Some(Bore {
        diameter_mm: 8.0,
        depth_mm: None,
        reamed: false,
        counterbore: None,
    });
    let plan = ring.plan(&shop());
    assert_eq!(plan.obstacles, 0);
    let bore: f64 = share(&plan, "bore").1 + share(&plan, "drill").1;
    check(bore, 4.0 * PI / 4.0 * 64.0 * 8.0, 1e-9);
}

/// A rounded rectangle whose corners are too sharp inside for the roughing cutter: a smaller cutter clears them
/// and finishes; roughing stays with the wide one.
#[test]
fn sharp_corners_take_a_smaller_cutter() {
    let ring = Ring::plain();
    let outline = |corner: f64| {
        let mut part = ring.part();
        part.path = Path::rounded_rectangle(80.0, 60.0, corner).expect("a good path");
        let mut layout = ring.layout(&part);
        layout.length_mm = part.path.length_mm();
        let pieces = part.path.pieces();
        let kind = |piece: &Piece| SegmentKind {
            length_mm: piece.length_mm(),
            curvature: piece.curvature(),
            section: 0,
            perforations: vec![],
        };
        layout.kinds = pieces.iter().map(kind).collect();
        layout.segments = (0..pieces.len())
            .map(|kind| Segment {
                start_mm: 0.0,
                kind,
            })
            .collect();
        plan(&part, &layout, &shop(), true)
    };
    let tool = |plan: &Plan, name: &str| {
        plan.operations
            .iter()
            .find(|o| o.name == name)
            .map(|o| o.tool.clone())
    };
    let (wide, sharp) = (outline(12.0), outline(7.0));
    assert_eq!(tool(&wide, "corners rough"), None);
    assert!(tool(&wide, "outline finish").is_some_and(|tool| tool.contains("10 mm")));
    assert!(tool(&sharp, "outline rough").is_some_and(|tool| tool.contains("10 mm")));
    assert!(tool(&sharp, "corners rough").is_some_and(|tool| tool.contains("3 mm")));
    assert!(tool(&sharp, "outline finish").is_some_and(|tool| tool.contains("3 mm")));
    assert!(sharp.cycle_s > wide.cycle_s);
    // Four corners of 2 mm inside radius left by a 10 mm cutter, roughed 0.2 mm off by a 3 mm one, whose centre
    // goes π/2 · (2 - 1.7) + 2 · 3 mm at every level; then to the metal 0.5 mm down at feed, once a corner.
    let corners = sharp
        .operations
        .iter()
        .find(|o| o.name == "corners rough")
        .expect("as above");
    check(
        corners.cut_length_mm,
        corners.count as f64 * 4.0 * (0.15 * PI + 6.0) + 4.0 * 0.5,
        1e-9,
    );
}

fn stock() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    let mills = prop::sample::subsequence(vec![1.0, 2.0, 3.0, 6.0, 10.0, 25.0], 1..=6);
    let drills = prop::sample::subsequence(vec![0.5, 1.0, 3.0, 8.0], 0..=4);
    (mills, drills)
}

fn ring() -> impl Strategy<Value = Ring> {
    let wall = || {
        prop::option::of(
            (0.05..4.0, 0.3..30.0).prop_map(|(thickness_mm, height_mm)| Wall {
                thickness_mm,
                height_mm,
            }),
        )
    };
    let rib =
        (-6.0..6.0, 0.05..3.0, 0.3..30.0).prop_map(|(offset_mm, thickness_mm, height_mm)| Rib {
            offset_mm,
            thickness_mm,
            height_mm,
        });
    let section = (
        1.0..30.0,
        0.05..12.0,
        wall(),
        wall(),
        prop::collection::vec(rib, 0..4),
    )
        .prop_map(
            |(width_mm, floor_mm, outer_wall, inner_wall, ribs)| Section {
                width_mm,
                floor_mm,
                outer_wall,
                inner_wall,
                ribs,
                slits: None,
            },
        );
    let counterbore = (1.05..3.0, 0.1..10.0);
    let bore = (
        0.2..20.0,
        prop::option::of(0.1..20.0),
        any::<bool>(),
        prop::option::of(counterbore),
    );
    let bore = prop::option::of(bore.prop_map(|(diameter_mm, depth_mm, reamed, wide)| Bore {
        diameter_mm,
        depth_mm,
        reamed,
        counterbore: wide.map(|(times, depth_mm)| Counterbore {
            diameter_mm: times * diameter_mm,
            depth_mm,
        }),
    }));
    let depth = prop_oneof![Just(Depth::Through), (0.05..30.0).prop_map(Depth::Blind)];
    let strip = prop_oneof![
        Just(StripName::Floor),
        Just(StripName::OuterWall),
        Just(StripName::Rib(2))
    ];
    (
        1.0..300.0,
        section,
        0usize..6,
        0.01..0.9,
        bore,
        0.1..15.0,
        0usize..200,
        depth,
        strip,
    )
        .prop_map(
            |(radius, section, bosses, length, bore, hole, holes, depth, strip)| Ring {
                radius,
                section,
                bosses,
                boss_length: length * 2.0 * PI * radius / (bosses.max(1) as f64),
                bore,
                hole,
                holes,
                depth,
                strip,
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    /// Whatever the part, every figure is a finite number, not negative, and the sum holds.
    #[test]
    fn no_part_makes_the_planner_fail((mills, drills) in stock(), ring in ring()) {
        let shop = shop_with(&mills, &drills);
        let plan = ring.plan(&shop);
        prop_assert!(plan.cycle_s.is_finite() && plan.cycle_s > 0.0);
        prop_assert!(!plan.cutter_gap_mm.is_nan());
        for o in &plan.operations {
            for value in [o.cut_s, o.move_s, o.fixed_s, o.cut_length_mm, o.removed_mm3, o.depth_mm, o.width_mm, o.feed_mm_min, o.spindle_rpm] {
                prop_assert!(value.is_finite() && value >= 0.0, "{o:?}");
            }
        }
        let sum: f64 = plan.operations.iter().map(|o| o.total_s()).sum();
        prop_assert!((sum - plan.cycle_s).abs() <= 1e-9 * sum);
    }

    /// The same for open chains that bend both ways, every piece a segment.
    #[test]
    fn no_open_path_makes_the_planner_fail(
        (mills, drills) in stock(),
        ring in ring(),
        pieces in prop::collection::vec((1.0..80.0, 0.5..60.0, -2.5..2.5f64), 1..6),
    ) {
        let pieces: Vec<_> = pieces
            .into_iter()
            .flat_map(|(length_mm, radius_mm, angle)| {
                let angle = if angle == 0.0 { 0.1 } else { angle };
                [Piece::Line { length_mm }, Piece::Arc { radius_mm, angle }]
            })
            .collect();
        let mut part = Ring { bosses: 0, ..ring.clone() }.part();
        part.path = Path::chain(pieces, false).expect("good sizes");
        let mut layout = ring.layout(&part);
        (layout.closed, layout.length_mm) = (false, part.path.length_mm());
        let pieces = part.path.pieces();
        let kind = |piece: &Piece| SegmentKind {
            length_mm: piece.length_mm(),
            curvature: piece.curvature(),
            section: 0,
            perforations: vec![],
        };
        layout.kinds = pieces.iter().map(kind).collect();
        layout.segments = (0..pieces.len()).map(|kind| Segment { start_mm: 0.0, kind }).collect();
        let shop = shop_with(&mills, &drills);
        let plan = plan(&part, &layout, &shop, true);
        prop_assert!(plan.cycle_s.is_finite() && plan.cycle_s > 0.0);
        for o in &plan.operations {
            for value in [o.cut_s, o.move_s, o.cut_length_mm, o.removed_mm3, o.depth_mm, o.feed_mm_min] {
                prop_assert!(value.is_finite() && value >= 0.0, "{o:?}");
            }
        }
    }
}
