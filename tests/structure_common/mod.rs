//! Frames built by hand for the checks of `structure`.
#![allow(dead_code)]

use fretwork::part::{
    Depth, Layout, Perforation, Pose, Rib, Section, Segment, SegmentKind, StripName, Wall,
};
use fretwork::structure::{Action, Carried, Frame, Loading, Metal, Model, Support};

/// Aluminium of the reference data.
pub const ALUMINIUM: Metal = Metal {
    modulus_mpa: 68900.0,
    poisson: 0.33,
    density_t_mm3: 2.7e-9,
    yield_mpa: 276.0,
};

/// A solid bar, `width` in the plane of the path.
pub fn bar(width: f64, height: f64) -> Section {
    Section {
        width_mm: width,
        floor_mm: height,
        outer_wall: None,
        inner_wall: None,
        ribs: Vec::new(),
        slits: None,
    }
}

pub fn channel(
    width: f64,
    floor: f64,
    outer: (f64, f64),
    inner: (f64, f64),
    rib: Option<(f64, f64, f64)>,
) -> Section {
    let wall = |(thickness_mm, height_mm): (f64, f64)| {
        (thickness_mm > 0.0).then_some(Wall {
            thickness_mm,
            height_mm,
        })
    };
    Section {
        width_mm: width,
        floor_mm: floor,
        outer_wall: wall(outer),
        inner_wall: wall(inner),
        ribs: rib
            .map(|(offset_mm, thickness_mm, height_mm)| Rib {
                offset_mm,
                thickness_mm,
                height_mm,
            })
            .into_iter()
            .collect(),
        slits: None,
    }
}

/// A chain of equal segments.
pub fn chain(
    section: Section,
    perforations: Vec<Perforation>,
    curvature: f64,
    length: f64,
    segments: usize,
    closed: bool,
) -> Layout {
    let kinds = vec![SegmentKind {
        length_mm: length / segments as f64,
        curvature,
        section: 0,
        perforations,
    }];
    of_kinds(vec![section], kinds, &vec![0; segments], closed)
}

/// A chain of the given kinds in the given order.
pub fn of_kinds(
    sections: Vec<Section>,
    kinds: Vec<SegmentKind>,
    order: &[usize],
    closed: bool,
) -> Layout {
    let mut segments = Vec::new();
    let mut nodes_mm = Vec::new();
    let mut at = 0.0;
    for &kind in order {
        segments.push(Segment { start_mm: at, kind });
        nodes_mm.push(at);
        at += kinds[kind].length_mm;
    }
    if !closed {
        nodes_mm.push(at);
    }
    Layout {
        closed,
        length_mm: at,
        sections,
        kinds,
        segments,
        nodes_mm,
        station_nodes: Vec::new(),
        holes: Vec::new(),
    }
}

pub const ORIGIN: Pose = Pose {
    x: 0.0,
    y: 0.0,
    heading: 0.0,
};

pub fn model(layout: &Layout) -> Model {
    Model::new(layout, ORIGIN, &ALUMINIUM, &Carried::default()).expect("a sound frame")
}

pub fn clamp(node: usize) -> Support {
    Support {
        node,
        frame: Frame::Path,
        hold_move: [true; 3],
        hold_turn: [true; 3],
        hold_warp: true,
    }
}

pub fn force(node: usize, force: [f64; 3]) -> Action {
    Action {
        node,
        frame: Frame::Path,
        force,
        moment: [0.0; 3],
        offset_mm: (0.0, 0.0),
    }
}

pub fn moment(node: usize, moment: [f64; 3]) -> Action {
    Action {
        moment,
        ..force(node, [0.0; 3])
    }
}

pub fn loading(supports: Vec<Support>, actions: Vec<Action>) -> Loading {
    Loading {
        supports,
        actions,
        acceleration: [0.0; 3],
    }
}

pub fn floor_row(diameter: f64, pitch: f64, rows: usize, gap: f64, offset: f64) -> Perforation {
    Perforation {
        strip: StripName::Floor,
        row: 0,
        diameter_mm: diameter,
        pitch_mm: pitch,
        depth: Depth::Through,
        rows,
        row_gap_mm: gap,
        stagger: 0.0,
        offset_mm: offset,
    }
}

pub fn near(value: f64, expected: f64, tolerance: f64, what: &str) {
    let error = value / expected - 1.0;
    assert!(
        error.abs() <= tolerance,
        "{what}: {value} against {expected}, off by {:.4} %, allowed {:.4} %",
        100.0 * error,
        100.0 * tolerance
    );
}

/// Rows of a reference table as (column name -> value) look-ups.
pub struct Table {
    header: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub fn read(text: &str) -> Table {
        let mut lines = text.lines();
        let split = |line: &str| line.split(',').map(str::to_string).collect::<Vec<_>>();
        Table {
            header: split(lines.next().unwrap()),
            rows: lines.map(split).collect(),
        }
    }
    pub fn get(&self, row: &[String], column: &str) -> Option<f64> {
        let at = self.header.iter().position(|name| name == column)?;
        row.get(at)?.parse().ok()
    }
}

/// One member of the reference tables.
pub struct Member {
    pub case: String,
    pub kind: String,
    pub row: Vec<String>,
}

/// Stiffness of every measure of a member by the beam: (column, value).
pub fn member_stiffness(table: &Table, row: &[String], drilled: bool) -> Vec<(&'static str, f64)> {
    let get = |column: &str| table.get(row, column).unwrap_or(0.0);
    let kind = row[1].as_str();
    let width = get("B_mm");
    let rib = (get("rib_t_mm") > 0.0).then(|| {
        (
            0.5 * width - get("rib_y_mm"),
            get("rib_t_mm"),
            get("rib_H_mm"),
        )
    });
    let section = channel(
        width,
        get("tf_mm"),
        (get("to_mm"), get("Ho_mm")),
        (get("ti_mm"), get("Hi_mm")),
        rib,
    );
    let mut holes = Vec::new();
    let rows = get("n_rows") as usize;
    if drilled && rows > 0 {
        let (first, last) = (
            get("row1_y_mm"),
            if rows > 1 {
                get("row2_y_mm")
            } else {
                get("row1_y_mm")
            },
        );
        holes.push(floor_row(
            get("hole_d_mm"),
            get("pitch_mm"),
            rows,
            last - first,
            0.5 * width - 0.5 * (first + last),
        ));
    }
    let offset_mm = (0.5 * width - get("yc_mm"), get("zc_mm"));
    let at = |node, f| Action {
        offset_mm,
        ..force(node, f)
    };
    let curvature = if kind == "straight" {
        0.0
    } else {
        1.0 / get("Rm_mm")
    };
    let mut found = Vec::new();
    if kind == "ring" {
        let layout = chain(section, holes, curvature, get("L_mm"), 2, true);
        let mut model = model(&layout);
        let mut stiffness = |supports: Vec<Support>, actions: Vec<Action>| {
            1.0 / model.solve(&loading(supports, actions)).unwrap().work_n_mm
        };
        found.push((
            "k_y_N_per_mm",
            stiffness(vec![clamp(0)], vec![at(1, [0.0, -1.0, 0.0])]),
        ));
        found.push((
            "k_z_N_per_mm",
            stiffness(vec![clamp(0)], vec![at(1, [0.0, 0.0, 1.0])]),
        ));
        found.push((
            "k_tan_N_per_mm",
            stiffness(vec![clamp(0)], vec![at(1, [1.0, 0.0, 0.0])]),
        ));
        let squeeze = vec![at(0, [0.0, -1.0, 0.0]), at(1, [0.0, -1.0, 0.0])];
        found.push(("k_squeeze_N_per_mm", stiffness(Vec::new(), squeeze)));
        found.push(("f1_Hz", model.first_frequency_hz(&[]).unwrap()));
    } else {
        let layout = chain(section, holes, curvature, get("L_mm"), 1, false);
        let mut model = model(&layout);
        let mut stiffness = |action: Action| {
            1.0 / model
                .solve(&loading(vec![clamp(0)], vec![action]))
                .unwrap()
                .work_n_mm
        };
        found.push(("k_axial_N_per_mm", stiffness(at(1, [1.0, 0.0, 0.0]))));
        found.push(("k_y_N_per_mm", stiffness(at(1, [0.0, 1.0, 0.0]))));
        found.push(("k_z_N_per_mm", stiffness(at(1, [0.0, 0.0, 1.0]))));
        found.push((
            "kT_rigid_Nmm_per_rad",
            stiffness(moment(1, [1.0, 0.0, 0.0])),
        ));
        found.push(("f1_Hz", model.first_frequency_hz(&[]).unwrap()));
    }
    found
}
