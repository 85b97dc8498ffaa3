//! Made-up results for tests of what is printed.

use crate::evaluate::{
    Judged, LoadFatigue, LoadPeak, LoadRow, MassRow, Named, RuleRow, ScrewRow, SectionRow, Sheet,
    ToleranceRow, WallRow,
};
use crate::machining::{Billet, Cost, FeatureCost, Operation, Plan};
use crate::run::{Column, Designs, Finished, Goal, Limit, Milestone, Role};

fn named(name: &str, value: f64, unit: &str) -> Named {
    Named {
        name: name.into(),
        value,
        unit: unit.into(),
    }
}

fn judged(
    name: &str,
    text: &str,
    value: f64,
    limit: f64,
    relation: &'static str,
    unit: &str,
) -> Judged {
    let room = if relation == "at least" {
        value - limit
    } else {
        limit - value
    };
    Judged {
        name: name.into(),
        text: text.into(),
        value,
        limit,
        relation,
        unit: unit.into(),
        met: room >= 0.0,
        margin: room / limit,
    }
}

fn operation(
    name: &str,
    feature: &str,
    tool: &str,
    turns: (f64, f64),
    sizes: (f64, usize),
    times: (f64, f64, f64),
) -> Operation {
    Operation {
        name: name.into(),
        feature: feature.into(),
        setup: 1,
        tool: tool.into(),
        spindle_rpm: turns.0,
        feed_mm_min: turns.1,
        depth_mm: sizes.0,
        width_mm: 0.6,
        count: sizes.1,
        cut_length_mm: 300.0,
        removed_mm3: 0.0,
        cut_s: times.0,
        move_s: times.1,
        fixed_s: times.2,
        cost: 0.03 * (times.0 + times.1 + times.2),
        tool_life_share: times.0 / 7200.0,
        simulated_s: times.0 + times.1 + times.2,
        limit: if turns.0 > 11_000.0 {
            "spindle speed"
        } else {
            "chip load"
        }
        .into(),
    }
}

/// A yaw ring with one limit broken.
pub fn sheet() -> Sheet {
    let mill = "end mill 3 mm, 3 flutes, carbide";
    let drill = "drill 2.8 mm, high-speed steel";
    Sheet {
        variables: vec![
            named("hole", 2.8, "mm"),
            named("pitch", 4.25, "mm"),
            named("wall", 0.9, "mm"),
            named("rows", 1.0, ""),
            named("floor_thickness_beside_the_rib", 1.05, "mm"),
        ],
        derived: vec![named("web", 1.45, "mm")],
        measures: vec![
            named("mass", 21.427, "g"),
            named("squeeze.stiffness", 118.23, "N/mm"),
            named("squeeze.safety", f64::INFINITY, ""),
            named("frequency", 412.7, "Hz"),
            named("cycle_time", 1523.4, "s"),
            named("holes", 84.0, ""),
            named("ligament", 1.45, "mm"),
        ],
        objectives: vec![named("mass", 21.427, "g"), named("squeeze.stiffness / mass", 5.5177, "N/mm/g")],
        constraints: vec![
            judged("stiff enough", "squeeze.stiffness >= 100 N/mm", 118.23, 100.0, "at least", "N/mm"),
            judged("light", "mass <= 20 g", 21.427, 20.0, "at most", "g"),
            judged("metal between holes and every edge of the floor", "ligament >= 0.8 mm", 1.45, 0.8, "at least", "mm"),
        ],
        sections: vec![
            SectionRow {
                name: "frame".into(),
                values: vec![named("area", 23.1, "mm²"), named("Iyy", 142.33, "mm⁴"), named("Cw", 10234.5, "mm⁶")],
                outside_range: String::new(),
            },
            SectionRow {
                name: "frame, drilled".into(),
                values: vec![named("area", 19.8, "mm²"), named("Iyy", 139.1, "mm⁴"), named("Cw", 9876.5, "mm⁶")],
                outside_range: "walls are slender (h/t = 9.4, checked to 8): stiffness may be too high".into(),
            },
            SectionRow {
                name: "boss lug".into(),
                values: vec![named("area", 61.0, "mm²"), named("Iyy", 388.0, "mm⁴")],
                outside_range: String::new(),
            },
        ],
        loads: vec![
            LoadRow {
                name: "squeeze".into(),
                words: "floats free; 50 N inward at 0° and 180°".into(),
                stiffness: Some(named("stiffness", 118.23, "N/mm")),
                displacement_mm: 0.4229,
                displacement_at_mm: 0.0,
                stress_mpa: 31.82,
                stress_place: "outer wall, s = 31.2 mm (in boss lug 2)".into(),
                stress_at_mm: None,
                safety: 7.54,
                peak: Some(LoadPeak {
                    mpa: 48.2,
                    place: "hole of row relief in the floor, s = 31.2 mm".into(),
                    at_mm: [0.0, 0.0],
                }),
                fatigue: Some(LoadFatigue {
                    safety: 1.7,
                    words: "1e6 cycles, stress ratio -1".into(),
                }),
                arrows: vec![],
                supports: vec![],
                field: Default::default(),
                opening: None,
            },
            LoadRow {
                name: "shock".into(),
                words: "held at the four bosses; 40 g along z with the bearing insert".into(),
                stiffness: None,
                displacement_mm: 0.0123,
                displacement_at_mm: 125.7,
                stress_mpa: 112.4,
                stress_place: "floor, s = 125.7 mm".into(),
                stress_at_mm: None,
                safety: 2.13,
                peak: None,
                fatigue: None,
                arrows: vec![],
                supports: vec![],
                field: Default::default(),
                opening: None,
            },
        ],
        modes: vec![],
        walls: vec![WallRow {
            name: "outer wall".into(),
            height_mm: 6.2,
            thickness_mm: 0.9,
            slenderness: 6.889,
            cut_force_n: 14.2,
            cut_mm: 0.0213,
            press_mm: 0.015,
            held: "root, without ends".into(),
        }],
        screws: vec![ScrewRow {
            name: "lug 1".into(),
            clamp_n: 1200.0,
            bearing_mpa: 76.4,
            bearing_safety: 3.16,
            cone_mm: 11.27,
            cone_room_mm: -2.27,
            head_room_mm: 0.75,
            stiffness_n_mm: 512_000.0,
        }],
        plan: Plan {
            operations: vec![
                operation("load", "", "", (0.0, 0.0), (0.0, 0), (0.0, 0.0, 45.0)),
                operation("pocket rough", "slot 1", mill, (12000.0, 1080.0), (1.5, 5), (212.4, 11.0, 6.0)),
                operation("outer wall finish", "outer wall", mill, (12000.0, 900.0), (8.0, 2), (64.2, 2.0, 0.0)),
                operation("drill", "row relief", drill, (9000.0, 540.0), (2.2, 84), (102.3, 61.0, 6.0)),
            ],
            bench: vec![],
            bench_s: 0.0,
            tool_changes: 2,
            cycle_s: 509.9,
            simulated_s: 509.9,
            cut_s: 379.0,
            move_s: 74.0,
            fixed_s: 57.0,
            removed_mm3: 5000.0,
            billet: Billet {
                x_mm: 112.0,
                y_mm: 112.0,
                z_mm: 9.0,
                volume_mm3: 115_000.0,
                mass_g: 311.0,
                chips: 0.94,
            },
            cost: Cost { stock: 2.2, machine: 8.5, labour: 4.5, tools: 0.3, setup: 24.1, total: 39.6 },
            setup_s: 826.0,
            table_room_mm: 288.0,
            cutter_gap_mm: -1.4,
            wall_forces: vec![],
            obstacles: 0,
            remarks: vec!["no end mill in stock fits slot 2 (1.6 mm)".into()],
        },
        features: features(),
        tolerances: tolerances(),
        currency: "EUR".into(),
        mass: vec![
            MassRow { name: "frame".into(), volume_mm3: 6812.2, mass_g: 18.461 },
            MassRow { name: "holes of row relief".into(), volume_mm3: -1137.9, mass_g: -3.084 },
            MassRow { name: "bearing insert, carried".into(), volume_mm3: 0.0, mass_g: 6.05 },
        ],
        rules: vec![
            RuleRow { name: "ligament".into(), value_mm: 1.45, place: "hole 3 of row relief and its neighbour".into() },
            RuleRow { name: "drill_room".into(), value_mm: -0.2, place: "hole 1 of row relief sticks out of the floor toward the inner wall at s = 4.2 mm".into() },
        ],
        remarks: vec!["The floor between wall and rib is 1.6 mm wide.".into()],
        proof: None,
        calibration: None,
        part: None,
        layout: None,
    }
}

/// Today's revision of the same ring.
pub fn baseline() -> Sheet {
    let mut sheet = sheet();
    for values in [
        &mut sheet.variables,
        &mut sheet.measures,
        &mut sheet.objectives,
    ] {
        for value in values.iter_mut().step_by(2) {
            value.value *= 1.07;
        }
    }
    sheet
}

/// A small run: six candidates of eight designs, two of them better than the baseline in both objectives.
pub fn finished() -> Finished {
    let column = |name: &str, unit: &str, role| Column {
        name: name.into(),
        unit: unit.into(),
        role,
    };
    let mut designs = Designs::default();
    for (design, (mass, stiffness)) in [
        (20.0, 100.0),
        (16.0, 80.0),
        (17.0, 90.0),
        (18.0, 101.0),
        (19.0, 110.0),
        (21.0, 125.5),
        (22.0, 140.25),
        (9.0, 10.0),
    ]
    .into_iter()
    .enumerate()
    {
        designs.values.extend([
            2.0 + design as f64 / 10.0,
            1.0 + (design % 2) as f64,
            mass,
            stiffness,
        ]);
        designs.violation.push(if design == 7 { 0.4 } else { 0.0 });
    }
    Finished {
        study: "yaw-ring".into(),
        title: "Yaw ring of a survey drone's camera gimbal".into(),
        notes: String::new(),
        columns: vec![
            column("hole", "mm", Role::Variable),
            column("rows", "", Role::Variable),
            column("mass", "g", Role::Measure),
            column("squeeze.stiffness", "N/mm", Role::Measure),
        ],
        goals: vec![
            Goal {
                column: 2,
                most: false,
            },
            Goal {
                column: 3,
                most: true,
            },
        ],
        limits: vec![Limit {
            name: "light".into(),
            text: "mass <= 25 g".into(),
        }],
        designs,
        front: vec![1, 2, 3, 4, 5, 6],
        baseline: baseline(),
        sheets: vec![(1, sheet())],
        trace: vec![Milestone {
            designs: 8,
            feasible: 7,
            front: 6,
            hypervolume: 0.75,
        }],
        ending: "all 8 evaluations used".into(),
        law: Vec::new(),
        remarks: Vec::new(),
        asks: false,
        failures: Vec::new(),
        told: vec![],
        shortfall: None,
    }
}

fn features() -> Vec<FeatureCost> {
    vec![FeatureCost {
        feature: "slot 1".into(),
        time_s: 229.4,
        cost: 5.73,
        removed_g: 1.62,
        s_per_g: Some(141.6),
        cost_per_g: Some(3.54),
    }]
}

fn tolerances() -> Vec<ToleranceRow> {
    vec![ToleranceRow {
        name: "outer wall, thickness".into(),
        size_mm: 0.9,
        plus_minus_mm: 0.05,
        basis: "finish-milled".into(),
    }]
}
