//! An **invented** finished run for tests of the review: a ring of radius 46 mm with four bosses and a row of
//! holes in its floor. Shapes and orders of magnitude are plausible, the figures are made up by simple
//! formulas and mean nothing.

use fretwork::analyse::Chance;
use fretwork::evaluate::{
    Arrow, Field, FieldPlace, Held, Judged, LoadPeak, LoadRow, MassRow, Named, RuleRow, ScrewRow,
    SectionRow, Sheet, ToleranceRow, WallRow,
};
use fretwork::machining::{FeatureCost, Operation, Plan};
use fretwork::part::{
    Bore, Boss, Depth, Hole, HoleRow, Layout, Part, Path, Perforation, Rib, Section, Segment,
    SegmentKind, StripName, Wall,
};
use fretwork::run::{
    Active, Changed, Column, Designs, Exchange, Finished, Goal, Limit, Milestone, Neighbour, Role,
    Scatter, ScatterRow, Shift, SourceShare, Step, SureRow, Told, Why,
};

const RADIUS_MM: f64 = 46.0;
const BOSSES: usize = 4;
const BOSS_MM: f64 = 9.0;
const DRILLS_MM: [f64; 7] = [2.5, 2.8, 3.0, 3.2, 3.5, 3.8, 4.0];

/// Columns: name, unit, role.
const COLUMNS: [(&str, &str, Role); 22] = [
    ("outer_wall", "mm", Role::Variable),
    ("inner_wall", "mm", Role::Variable),
    ("height", "mm", Role::Variable),
    ("floor", "mm", Role::Variable),
    ("rib", "mm", Role::Variable),
    ("hole", "mm", Role::Variable),
    ("gap", "mm", Role::Variable),
    ("pitch", "mm", Role::Derived),
    ("mass", "g", Role::Measure),
    ("metal_mass", "g", Role::Measure),
    ("squeeze.stiffness", "N/mm", Role::Measure),
    ("tilt.stiffness", "N/mm", Role::Measure),
    ("squeeze.stress", "MPa", Role::Measure),
    ("shock.stress", "MPa", Role::Measure),
    ("frequency", "Hz", Role::Measure),
    ("cycle", "s", Role::Measure),
    ("ligament", "mm", Role::Measure),
    ("edge", "mm", Role::Measure),
    ("skin", "mm", Role::Measure),
    ("holes", "", Role::Measure),
    ("safety", "", Role::Measure),
    ("slot", "mm", Role::Measure),
];
const MASS: usize = 8;
const SQUEEZE: usize = 10;
const CYCLE: usize = 15;
/// Width of the frame, in mm.
const WIDTH_MM: f64 = 10.0;

/// A cheap even sequence: the fractional part of multiples of a quadratic irrational.
fn even(index: usize, dimension: usize) -> f64 {
    const STEPS: [f64; 7] = [
        0.618_033_988_7,
        0.754_877_666_2,
        0.569_840_290_9,
        0.414_213_562_3,
        0.732_050_807_5,
        0.236_067_977_4,
        0.645_751_311_0,
    ];
    (index as f64 * STEPS[dimension]).fract()
}

/// Variables of a design: the baseline is design 0.
fn variables(index: usize) -> [f64; 7] {
    if index == 0 {
        return [1.2, 1.2, 8.0, 1.0, 1.0, 3.0, 1.2];
    }
    let step = |u: f64, low: f64, high: f64, step: f64| {
        let raw = low + u * (high - low);
        low + ((raw - low) / step).round() * step
    };
    let u = |d| even(index, d);
    [
        step(u(0), 0.7, 1.8, 0.05),
        step(u(1), 0.7, 1.8, 0.05),
        step(u(2), 6.0, 9.0, 0.1),
        0.6 + 0.8 * u(3),
        step(u(4), 0.6, 1.4, 0.1),
        DRILLS_MM[(u(5) * 7.0) as usize],
        0.7 + 1.5 * u(6),
    ]
}

fn hole_count(hole: f64, gap: f64) -> usize {
    let arc = std::f64::consts::TAU * RADIUS_MM / BOSSES as f64 - BOSS_MM - 2.0;
    BOSSES * ((arc - hole) / (hole + gap)).floor().max(0.0) as usize + BOSSES
}

/// All columns of a design from its variables, by invented formulas.
fn values(v: [f64; 7]) -> Vec<f64> {
    let [outer, inner, height, floor, rib, hole, gap] = v;
    let length = std::f64::consts::TAU * RADIUS_MM;
    let holes = hole_count(hole, gap) as f64;
    let area = WIDTH_MM * floor + (outer + inner + 0.8 * rib) * (height - floor);
    let metal = 2.7e-3 * (area * length - holes * 0.785 * hole * hole * floor) + 1.9;
    let stiff = 9.0 * (outer.powf(0.9) + 0.8 * inner.powf(0.9)) * (height / 8.0).powf(0.6)
        + 14.0 * rib
        + 30.0 * floor * gap / (gap + 0.6 * hole);
    let tilt = 0.55 * floor * height * height * (outer + inner) * gap / (gap + 0.5 * hole) / 2.4;
    let stress = 2600.0 / (stiff + 6.0) / (height / 8.0);
    let cycle = 250.0
        + 1.15 * holes
        + 2400.0 / (WIDTH_MM - outer - inner - rib) / (height / 5.0)
        + 42.0 / outer.min(inner)
        + 18.0 * (height - floor);
    let edge = 0.5 * (WIDTH_MM - hole) - outer.max(inner) - 0.5;
    vec![
        outer,
        inner,
        height,
        floor,
        rib,
        hole,
        gap,
        hole + gap,
        metal + 6.4,
        metal,
        stiff,
        tilt,
        stress,
        1.8 * stress,
        190.0 * (stiff / (metal + 6.4)).sqrt(),
        cycle,
        gap,
        edge,
        f64::INFINITY,
        holes,
        275.0 / (1.8 * stress),
        0.5 * (WIDTH_MM - outer - inner - rib),
    ]
}

fn violation(row: &[f64]) -> f64 {
    let at_least = |value: f64, limit: f64| ((limit - value) / limit).max(0.0);
    [
        at_least(row[SQUEEZE], 38.0),
        at_least(row[20], 1.5),
        at_least(row[16], 0.8),
        at_least(row[17], 0.4),
        ((row[CYCLE] - 720.0) / 720.0).max(0.0),
    ]
    .into_iter()
    .fold(0.0, f64::max)
}

/// A run of `count` invented designs with a sheet for at most `sheets` of its front.
pub fn invented_run(count: usize, sheets: usize) -> Finished {
    let mut designs = Designs::default();
    for index in 0..count {
        let row = values(variables(index));
        designs.violation.push(violation(&row));
        designs.values.extend(row);
    }
    let goals = vec![
        Goal {
            column: MASS,
            most: false,
        },
        Goal {
            column: SQUEEZE,
            most: true,
        },
        Goal {
            column: CYCLE,
            most: false,
        },
    ];
    let front = front(&designs, &goals);
    let kept = front.len().min(sheets);
    let sheets: Vec<(usize, Sheet)> = (0..kept)
        .map(|k| front[k * front.len() / kept.max(1)])
        .map(|design| (design, invented_sheet(design)))
        .collect();
    let told = sheets
        .iter()
        .map(|(design, _)| invented_told(*design))
        .collect();
    let trace = (1..=60)
        .map(|k| {
            let share = k as f64 / 60.0;
            Milestone {
                designs: count * k / 60,
                feasible: count * k / 110,
                front: (front.len() as f64 * share.sqrt()) as usize,
                hypervolume: 0.78 * (1.0 - (-5.0 * share).exp()),
            }
        })
        .collect();
    Finished {
        study: "yaw-ring".into(),
        title: "Yaw ring of a survey drone's gimbal (invented figures)".into(),
        notes: "Invented run for tests of the page: the figures follow made-up formulas and mean nothing.".into(),
        columns: COLUMNS
            .iter()
            .map(|&(name, unit, role)| Column { name: name.into(), unit: unit.into(), role })
            .collect(),
        goals,
        limits: [
            ("stiff enough", "squeeze.stiffness >= 38 N/mm"),
            ("strong enough", "safety >= 1.5"),
            ("metal between holes", "ligament >= 0.8 mm"),
            ("holes clear of walls", "edge >= 0.4 mm"),
            ("time on the mill", "cycle <= 12 min"),
        ]
        .map(|(name, text)| Limit { name: name.into(), text: text.into() })
        .to_vec(),
        designs,
        front,
        baseline: invented_sheet(0),
        sheets,
        trace,
        ending: format!("all {count} evaluations used"),
        law: Vec::new(),
        remarks: Vec::new(),
        asks: false,
        failures: Vec::new(),
        told,
        shortfall: None,
    }
}

/// Why a design is as it is and how it comes out, invented like the rest.
fn invented_told(design: usize) -> Told {
    let shift = |name: &str, by: f64, unit: &str, better: bool| Shift {
        name: name.into(),
        by,
        unit: unit.into(),
        better: Some(better),
    };
    let change = Changed {
        variable: "floor".into(),
        from: 1.2,
        to: 1.1,
        unit: "mm".into(),
    };
    let chance = |share: f64| Chance {
        share,
        low: share - 0.02,
        high: share + 0.01,
    };
    let source = |source: &str, share: f64| SourceShare {
        source: source.into(),
        share,
    };
    Told {
        design,
        why: Some(Why {
            design,
            on_front: true,
            active: vec![Active {
                name: "stiff enough".into(),
                text: "squeeze.stiffness >= 38 N/mm".into(),
                value: 38.3,
                limit: 38.0,
                unit: "N/mm".into(),
                margin: 0.008,
                held: vec![change.words()],
            }],
            ends: vec![],
            exchange: vec![Exchange {
                of: "mass".into(),
                of_unit: "g".into(),
                per: "squeeze.stiffness".into(),
                per_unit: "N/mm".into(),
                cost: 0.12,
                error: 0.01,
            }],
            neighbours: vec![Neighbour {
                design: 0,
                changes: vec![change.clone()],
                shifts: vec![shift("mass", -1.3, "g", true)],
            }],
            steps: vec![Step {
                change,
                shifts: vec![
                    shift("mass", -1.3, "g", true),
                    shift("squeeze.stiffness", -12.0, "N/mm", false),
                ],
                broken: vec![],
                beats: false,
            }],
        }),
        scatter: Some(Scatter {
            samples: 256,
            quantities: vec![],
            sources: 2,
            figures: vec![ScatterRow {
                name: "mass".into(),
                unit: "g".into(),
                nominal: 24.0,
                mean: 24.0,
                sd: 0.2,
                linear_sd: 0.2,
                quantiles: [23.7, 24.0, 24.3],
                asked: None,
                sources: vec![
                    source("second set-up", 0.61),
                    source("finishing cutters", 0.39),
                ],
                explained: 1.0,
            }],
            constraints: vec![SureRow {
                name: "stiff enough".into(),
                text: "squeeze.stiffness >= 38 N/mm".into(),
                chance: chance(0.93),
                linear_chance: 0.94,
                deviations: 1.5,
                sources: vec![source("second set-up", 0.8)],
            }],
            all: chance(0.93),
            asked: Some(0.99),
            broken: 0,
            tighten: vec![],
            relax: None,
        }),
    }
}

/// Non-dominated feasible designs in order of the first objective.
fn front(designs: &Designs, goals: &[Goal]) -> Vec<usize> {
    let key = |design: usize| -> Vec<f64> {
        let row = designs.row(design);
        goals
            .iter()
            .map(|goal| {
                if goal.most {
                    -row[goal.column]
                } else {
                    row[goal.column]
                }
            })
            .collect()
    };
    let mut order: Vec<(Vec<f64>, usize)> = (0..designs.len())
        .filter(|&design| designs.violation[design] == 0.0)
        .map(|design| (key(design), design))
        .collect();
    order.sort_by(|a, b| a.partial_cmp(b).unwrap());
    let mut kept: Vec<(Vec<f64>, usize)> = Vec::new();
    for (key, design) in order {
        let covers = |other: &(Vec<f64>, usize)| other.0.iter().zip(&key).all(|(a, b)| a <= b);
        if !kept.iter().any(covers) {
            kept.push((key, design));
        }
    }
    kept.into_iter().map(|(_, design)| design).collect()
}

fn named(name: &str, value: f64, unit: &str) -> Named {
    Named {
        name: name.into(),
        value,
        unit: unit.into(),
    }
}

/// The sheet of an invented design.
pub fn invented_sheet(design: usize) -> Sheet {
    let v = variables(design);
    let row = values(v);
    let of_role = |role: Role| {
        COLUMNS
            .iter()
            .zip(&row)
            .filter(|((_, _, own), _)| *own == role)
            .map(|((name, unit, _), &value)| named(name, value, unit))
            .collect::<Vec<_>>()
    };
    let part = invented_part(v);
    let layout = invented_layout(&part);
    let judged = |name: &str, text: &str, column: usize, limit: f64, least: bool| {
        let (value, unit) = (row[column], COLUMNS[column].1);
        let margin = if least {
            (value - limit) / limit
        } else {
            (limit - value) / limit
        };
        Judged {
            name: name.into(),
            text: text.into(),
            value,
            limit,
            relation: if least { "at least" } else { "at most" },
            unit: unit.into(),
            met: margin >= 0.0,
            margin,
        }
    };
    Sheet {
        variables: of_role(Role::Variable),
        derived: of_role(Role::Derived),
        measures: of_role(Role::Measure),
        objectives: [MASS, SQUEEZE, CYCLE]
            .map(|c| named(COLUMNS[c].0, row[c], COLUMNS[c].1))
            .to_vec(),
        constraints: vec![
            judged(
                "stiff enough",
                "squeeze.stiffness >= 38 N/mm",
                SQUEEZE,
                38.0,
                true,
            ),
            judged("strong enough", "safety >= 1.5", 20, 1.5, true),
            judged("metal between holes", "ligament >= 0.8 mm", 16, 0.8, true),
            judged("holes clear of walls", "edge >= 0.4 mm", 17, 0.4, true),
            judged("time on the mill", "cycle <= 12 min", CYCLE, 720.0, false),
        ],
        sections: section_rows(&row),
        loads: load_rows(&row),
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
            bearing_safety: 3.6,
            cone_mm: 11.27,
            cone_room_mm: -2.27,
            head_room_mm: 0.75,
            stiffness_n_mm: 512_000.0,
        }],
        plan: plan(&row),
        features: features(),
        tolerances: tolerances(),
        currency: "EUR".into(),
        mass: vec![
            MassRow {
                name: "floor".into(),
                volume_mm3: 2890.0 * v[3],
                mass_g: 7.8 * v[3],
            },
            MassRow {
                name: "outer wall".into(),
                volume_mm3: 2100.0 * v[0],
                mass_g: 5.7 * v[0],
            },
            MassRow {
                name: "inner wall".into(),
                volume_mm3: 1900.0 * v[1],
                mass_g: 5.1 * v[1],
            },
            MassRow {
                name: "holes relief".into(),
                volume_mm3: -7.0 * row[19],
                mass_g: -0.019 * row[19],
            },
            MassRow {
                name: "bearing insert".into(),
                volume_mm3: 0.0,
                mass_g: 6.4,
            },
        ],
        rules: vec![
            RuleRow {
                name: "ligament".into(),
                value_mm: v[6],
                place: "row relief, holes 3 and 4, s = 16.2 mm".into(),
            },
            RuleRow {
                name: "edge".into(),
                value_mm: row[17],
                place: "row relief, hole 1, outer wall".into(),
            },
            RuleRow {
                name: "skin".into(),
                value_mm: f64::INFINITY,
                place: String::new(),
            },
            RuleRow {
                name: "slot".into(),
                value_mm: row[21],
                place: "between rib 1 and the inner wall".into(),
            },
        ],
        remarks: if design.is_multiple_of(3) {
            vec!["Section `frame, drilled`: tall thin walls on a thin floor, outside the validated range of the beam".into()]
        } else {
            vec![]
        },
        proof: None,
        calibration: None,
        part: Some(part),
        layout: Some(layout),
    }
}

/// The ring with its dimensions fixed.
pub fn invented_part(v: [f64; 7]) -> Part {
    let [outer, inner, height, floor, rib, hole, gap] = v;
    let section = Section {
        width_mm: WIDTH_MM,
        floor_mm: floor,
        outer_wall: Some(Wall {
            thickness_mm: outer,
            height_mm: height,
        }),
        inner_wall: Some(Wall {
            thickness_mm: inner,
            height_mm: height,
        }),
        ribs: vec![Rib {
            offset_mm: 1.9,
            thickness_mm: rib,
            height_mm: 0.8 * height,
        }],
        slits: None,
    };
    let solid = Section {
        width_mm: 12.0,
        floor_mm: height,
        outer_wall: None,
        inner_wall: None,
        ribs: vec![],
        slits: None,
    };
    let length = std::f64::consts::TAU * RADIUS_MM;
    let bosses = (0..BOSSES)
        .map(|k| Boss {
            name: format!("lug {}", k + 1),
            station_mm: length * (k as f64 + 0.5) / BOSSES as f64,
            length_mm: BOSS_MM,
            section: solid.clone(),
            bore: Some(Bore {
                diameter_mm: 3.2,
                depth_mm: None,
                reamed: false,
                counterbore: None,
            }),
        })
        .collect();
    Part {
        path: Path::circle(RADIUS_MM).unwrap(),
        section,
        bosses,
        hole_rows: vec![HoleRow {
            name: "relief".into(),
            strip: StripName::Floor,
            diameter_mm: hole,
            pitch_mm: hole + gap,
            depth: Depth::Through,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm: -0.9,
            span_mm: None,
            clearance_mm: 1.0,
        }],
        carried: vec![],
    }
}

/// Four bosses, four drilled lengths between them; the first drilled length runs through station 0.
pub fn invented_layout(part: &Part) -> Layout {
    let length = part.path.length_mm();
    let row = &part.hole_rows[0];
    let (mut segments, mut holes) = (Vec::new(), Vec::new());
    let quarter = length / BOSSES as f64;
    let clear = quarter - BOSS_MM;
    for boss in &part.bosses {
        let start = boss.station_mm - 0.5 * BOSS_MM;
        segments.push(Segment {
            start_mm: start,
            kind: 1,
        });
        segments.push(Segment {
            start_mm: start + BOSS_MM,
            kind: 0,
        });
        let count = ((clear - 2.0 - row.diameter_mm) / row.pitch_mm).floor() as usize + 1;
        let first = start + BOSS_MM + 0.5 * (clear - (count - 1) as f64 * row.pitch_mm);
        for k in 0..count {
            holes.push(Hole {
                row: 0,
                line: 0,
                station_mm: first + k as f64 * row.pitch_mm,
                across_mm: row.offset_mm,
            });
        }
    }
    let perforation = Perforation {
        strip: row.strip,
        row: 0,
        diameter_mm: row.diameter_mm,
        pitch_mm: row.pitch_mm,
        depth: row.depth,
        rows: 1,
        row_gap_mm: 0.0,
        stagger: 0.0,
        offset_mm: row.offset_mm,
    };
    Layout {
        closed: true,
        length_mm: length,
        sections: vec![part.section.clone(), part.bosses[0].section.clone()],
        kinds: vec![
            SegmentKind {
                length_mm: clear,
                curvature: 1.0 / RADIUS_MM,
                section: 0,
                perforations: vec![perforation],
            },
            SegmentKind {
                length_mm: BOSS_MM,
                curvature: 1.0 / RADIUS_MM,
                section: 1,
                perforations: vec![],
            },
        ],
        nodes_mm: segments.iter().map(|segment| segment.start_mm).collect(),
        segments,
        station_nodes: vec![],
        holes,
    }
}

/// An open bar that bends left and then right, with a boss at its end, blind holes in two staggered rows of
/// its floor and holes in its outer wall.
pub fn invented_arm() -> (Part, Layout) {
    use fretwork::part::Piece;
    let pieces = [
        (Piece::Line { length_mm: 30.0 }, 0.0),
        (
            Piece::Arc {
                radius_mm: 25.0,
                angle: 1.2,
            },
            1.0 / 25.0,
        ),
        (
            Piece::Arc {
                radius_mm: 40.0,
                angle: -0.6,
            },
            -1.0 / 40.0,
        ),
    ];
    let path = Path::chain(pieces.iter().map(|(piece, _)| *piece).collect(), false).unwrap();
    let mut part = invented_part([1.2, 1.2, 8.0, 2.0, 1.0, 1.6, 1.2]);
    let row = HoleRow {
        name: "pockets".into(),
        depth: Depth::Blind(1.0),
        rows: 2,
        row_gap_mm: 2.4,
        stagger: 0.5,
        offset_mm: -1.0,
        pitch_mm: 4.0,
        ..part.hole_rows[0].clone()
    };
    let side = HoleRow {
        name: "side".into(),
        strip: StripName::OuterWall,
        depth: Depth::Through,
        rows: 1,
        offset_mm: 5.0,
        ..row.clone()
    };
    part.path = path;
    part.bosses.truncate(1);
    part.bosses[0].station_mm = 4.5;
    let boss = part.bosses[0].section.clone();
    let holes = (0..10)
        .flat_map(|k| {
            let station = 16.0 + 4.0 * f64::from(k);
            [
                (0, 0, station, -2.2),
                (0, 1, station + 2.0, 0.2),
                (1, 0, station, 5.0),
            ]
        })
        .map(|(row, line, station_mm, across_mm)| Hole {
            row,
            line,
            station_mm,
            across_mm,
        })
        .collect();
    let perforation = |row: &HoleRow, index: usize| Perforation {
        strip: row.strip,
        row: index,
        diameter_mm: row.diameter_mm,
        pitch_mm: row.pitch_mm,
        depth: row.depth,
        rows: row.rows,
        row_gap_mm: row.row_gap_mm,
        stagger: row.stagger,
        offset_mm: row.offset_mm,
    };
    let kind = |length_mm, curvature, section| SegmentKind {
        length_mm,
        curvature,
        section,
        perforations: if section == 0 {
            vec![perforation(&row, 0), perforation(&side, 1)]
        } else {
            vec![]
        },
    };
    let layout = Layout {
        closed: false,
        length_mm: part.path.length_mm(),
        sections: vec![part.section.clone(), boss],
        kinds: vec![
            kind(9.0, 0.0, 1),
            kind(21.0, 0.0, 0),
            kind(30.0, 1.0 / 25.0, 0),
            kind(24.0, -1.0 / 40.0, 0),
        ],
        segments: [0.0, 9.0, 30.0, 60.0]
            .iter()
            .enumerate()
            .map(|(kind, &start_mm)| Segment { start_mm, kind })
            .collect(),
        nodes_mm: vec![0.0, 9.0, 30.0, 60.0, 84.0],
        station_nodes: vec![],
        holes,
    };
    part.hole_rows = vec![row, side];
    (part, layout)
}

fn section_rows(row: &[f64]) -> Vec<SectionRow> {
    ["frame", "frame, drilled", "boss lug"]
        .map(|name| SectionRow {
            name: name.into(),
            values: vec![
                named("area", 3.0 * row[0] + 10.0 * row[3], "mm²"),
                named("I_yy", 210.0 * row[2] / 8.0, "mm⁴"),
                named("I_zz", 390.0 * row[0], "mm⁴"),
                named("J", 11.0 * row[3], "mm⁴"),
                named("C_w", 2900.0 * row[2], "mm⁶"),
                named("y_shear_centre", 0.12, "mm"),
            ],
            outside_range: if name == "frame, drilled" && row[2] > 8.4 {
                "walls taller than the range compared with solids".into()
            } else {
                String::new()
            },
        })
        .to_vec()
}

fn load_rows(row: &[f64]) -> Vec<LoadRow> {
    let around = |u: &dyn Fn(f64) -> [f64; 3]| {
        let places = (0..96)
            .map(|k| {
                let angle = std::f64::consts::TAU * f64::from(k) / 96.0;
                FieldPlace {
                    station_mm: RADIUS_MM * angle,
                    at_mm: [RADIUS_MM * angle.cos(), RADIUS_MM * angle.sin()],
                    moved_mm: u(angle),
                    turned: [0.0; 3],
                    stress_mpa: vec![Some(row[12] * angle.cos().powi(2))],
                }
            })
            .collect::<Vec<_>>();
        Field {
            strips: vec!["floor".into()],
            places,
        }
    };
    let arrow = |at_mm, force_n| Arrow {
        at_mm,
        force_n,
        moment_n_mm: [0.0; 3],
        inertia: false,
    };
    let held = |at_mm| Held {
        at_mm,
        heading: 0.0,
        moves: [true; 3],
        turns: [true; 3],
        warp: true,
    };
    let squeeze = 20.0 / row[SQUEEZE];
    let tilt = 5.0 / row[11];
    let load = |name: &str, words: &str| LoadRow {
        name: name.into(),
        words: words.into(),
        stiffness: None,
        displacement_mm: 0.0,
        displacement_at_mm: 0.0,
        stress_mpa: row[12],
        stress_place: "outer wall, s = 36.1 mm (in boss lug 1)".into(),
        stress_at_mm: Some([RADIUS_MM, 0.0]),
        safety: 275.0 / row[12],
        peak: Some(LoadPeak {
            mpa: 1.6 * row[12],
            place: "hole of row relief in the floor, s = 36.1 mm".into(),
            at_mm: [0.0, RADIUS_MM],
        }),
        fatigue: None,
        arrows: vec![],
        supports: vec![],
        field: Field::default(),
        opening: None,
    };
    vec![
        LoadRow {
            stiffness: Some(named("squeeze.stiffness", row[SQUEEZE], "N/mm")),
            displacement_mm: squeeze,
            displacement_at_mm: 0.0,
            arrows: vec![
                arrow([RADIUS_MM, 0.0], [-20.0, 0.0, 0.0]),
                arrow([-RADIUS_MM, 0.0], [20.0, 0.0, 0.0]),
            ],
            field: around(&|a| {
                [
                    -squeeze * (2.0 * a).cos() * a.cos(),
                    -squeeze * (2.0 * a).cos() * a.sin(),
                    0.0,
                ]
            }),
            ..load(
                "squeeze",
                "20 N inward at two opposite points; the frame floats",
            )
        },
        LoadRow {
            stiffness: Some(named("tilt.stiffness", row[11], "N/mm")),
            displacement_mm: tilt,
            displacement_at_mm: 144.5,
            arrows: vec![arrow([-RADIUS_MM, 0.0], [0.0, 0.0, 5.0])],
            supports: vec![
                held([0.707 * RADIUS_MM, 0.707 * RADIUS_MM]),
                held([0.707 * RADIUS_MM, -0.707 * RADIUS_MM]),
            ],
            field: around(&|a| [0.0, 0.0, tilt * (0.5 * (1.0 - a.cos())).powi(2)]),
            ..load(
                "tilt",
                "held at lugs 1 and 4, 5 N along the tool axis on the far side",
            )
        },
        LoadRow {
            displacement_mm: 0.3 * tilt,
            displacement_at_mm: 72.0,
            stress_mpa: row[13],
            safety: row[20],
            supports: (0..4)
                .map(|k| {
                    let angle = std::f64::consts::FRAC_PI_4 * f64::from(2 * k + 1);
                    held([RADIUS_MM * angle.cos(), RADIUS_MM * angle.sin()])
                })
                .collect(),
            field: around(&|a| [0.0, 0.0, -0.3 * tilt * (1.0 + (4.0 * a).cos()) * 0.5]),
            ..load("shock", "held at the four lugs, 40 g along the tool axis")
        },
    ]
}

fn plan(row: &[f64]) -> Plan {
    let holes = row[19];
    let operation = |name: &str,
                     feature: &str,
                     tool: &str,
                     rpm: f64,
                     feed: f64,
                     cut: f64,
                     moved: f64,
                     fixed: f64| Operation {
        name: name.into(),
        feature: feature.into(),
        setup: 1,
        tool: tool.into(),
        spindle_rpm: rpm,
        feed_mm_min: feed,
        depth_mm: if rpm > 0.0 { 1.5 } else { 0.0 },
        width_mm: if name == "drill" || rpm == 0.0 {
            0.0
        } else {
            2.0
        },
        count: if name == "drill" { holes as usize } else { 5 },
        cut_length_mm: cut * feed / 60.0,
        removed_mm3: 100.0 * cut,
        cut_s: cut,
        move_s: moved,
        fixed_s: fixed,
        cost: 0.03 * (cut + moved + fixed),
        tool_life_share: cut / 7200.0,
        simulated_s: cut + moved + fixed,
        limit: if rpm > 0.0 {
            "chip load".into()
        } else {
            String::new()
        },
    };
    let mill = "end mill 3 mm, 3 flutes, carbide";
    let small = "end mill 2 mm, 2 flutes, carbide";
    let operations = vec![
        operation("load", "", "", 0.0, 0.0, 0.0, 0.0, 45.0),
        operation(
            "outline",
            "blank",
            "end mill 6 mm, 3 flutes, carbide",
            18_000.0,
            2700.0,
            64.0,
            4.0,
            6.0,
        ),
        operation(
            "pocket rough",
            "slot 1",
            mill,
            24_000.0,
            2160.0,
            71.0,
            6.2,
            6.0,
        ),
        operation(
            "pocket rough",
            "slot 2",
            small,
            24_000.0,
            960.0,
            0.2 * row[CYCLE],
            8.1,
            6.0,
        ),
        operation(
            "floor finish",
            "slots",
            mill,
            24_000.0,
            1440.0,
            22.0,
            2.0,
            6.0,
        ),
        operation(
            "outer wall finish",
            "inside",
            mill,
            24_000.0,
            1440.0,
            31.0,
            2.0,
            0.0,
        ),
        operation(
            "inner wall finish",
            "inside",
            small,
            24_000.0,
            960.0,
            38.0,
            2.0,
            6.0,
        ),
        operation(
            "drill",
            "row relief",
            "drill 3 mm",
            9_500.0,
            760.0,
            0.3 * holes,
            0.55 * holes,
            6.0,
        ),
        operation(
            "drill",
            "bores of lugs",
            "drill 3.2 mm",
            9_000.0,
            720.0,
            4.0,
            2.4,
            6.0,
        ),
        operation(
            "edge break",
            "all edges",
            "chamfer mill 4 mm",
            15_000.0,
            1200.0,
            41.0,
            6.0,
            6.0,
        ),
        operation("unload", "", "", 0.0, 0.0, 0.0, 0.0, 30.0),
    ];
    Plan {
        cycle_s: row[CYCLE],
        operations,
        bench: vec![],
        bench_s: 0.0,
        tool_changes: 6,
        ..Plan::empty()
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
