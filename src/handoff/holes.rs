//! The holes of a part, numbered along its path, with what a machinist needs to know of each.

use crate::machining::{Operation, Plan};
use crate::part::{
    Boss, Depth, HoleRow, Layout, POINT_ANGLE_DEG, Part, Strip, StripName, drill_point_height_mm,
};

/// One hole. Lengths in mm, in the plan's x and y and the tool axis z (0: underside of the floor).
#[derive(Clone, Debug, PartialEq)]
pub struct HoleRecord {
    /// Number, from 1: along the path, row by row where two stand at one station.
    pub number: usize,
    /// What it belongs to: `row relief`, `bore of lug 1`.
    pub group: String,
    /// Which metal it is in: `floor`, `outer wall`, `boss lug 1`.
    pub strip: String,
    /// Station along the path.
    pub station_mm: f64,
    /// Where its axis meets the face that the drill enters: x, y, z.
    pub at_mm: [f64; 3],
    /// Direction in which the drill goes: a unit vector in x, y, z.
    pub axis: [f64; 3],
    /// Angle of that point about the plan's origin, counter-clockwise from x, in degrees from 0 to 360.
    pub angle_deg: f64,
    /// Diameter.
    pub diameter_mm: f64,
    /// Depth of the full diameter from the face on the hole's axis.
    pub depth_mm: f64,
    /// Whether it goes through.
    pub through: bool,
    /// Height of the cone that the drill's point leaves below that; 0 through.
    pub point_mm: f64,
    /// Diameter and depth of its counterbore from the same face.
    pub counterbore_mm: Option<(f64, f64)>,
    /// Whether it is reamed to H7 (ISO 286-1).
    pub reamed: bool,
    /// What it is made with, in words, in the order of use; empty where the plan does not say.
    pub tools: Vec<String>,
}

impl HoleRecord {
    /// Full angle of the drill's point below a blind hole, in degrees.
    pub const POINT_ANGLE_DEG: f64 = POINT_ANGLE_DEG;
}

/// Every hole of a part, in the order of their numbers. `layout` must be of `part`; the plan, in detail, names the
/// tools.
pub fn holes(part: &Part, layout: &Layout, plan: &Plan) -> Vec<HoleRecord> {
    let mut found: Vec<(usize, HoleRecord)> = Vec::new();
    let strips = part.section.strips();
    for hole in &layout.holes {
        let row = &part.hole_rows[hole.row];
        let Some(strip) = strips.iter().find(|strip| strip.name == row.strip) else {
            continue;
        };
        let record = in_row(part, row, strip, hole.station_mm, hole.across_mm, plan);
        found.push((hole.row, record));
    }
    for (index, boss) in part.bosses.iter().enumerate() {
        found.extend(bore(part, boss, plan).map(|record| (part.hole_rows.len() + index, record)));
    }
    found.sort_by(|(group, one), (other, two)| {
        let stations = one.station_mm.total_cmp(&two.station_mm);
        stations.then(group.cmp(other))
    });
    let numbered = found.into_iter().enumerate();
    numbered
        .map(|(index, (_, record))| HoleRecord {
            number: index + 1,
            ..record
        })
        .collect()
}

fn in_row(
    part: &Part,
    row: &HoleRow,
    strip: &Strip,
    station: f64,
    across: f64,
    plan: &Plan,
) -> HoleRecord {
    let pose = part.path.pose(station);
    let (sin, cos) = pose.heading.sin_cos();
    // The section's y points to the left of the path.
    let left = [-sin, cos, 0.0];
    let (y, z, axis, thickness) = match row.strip {
        StripName::Floor => (
            across,
            strip.z_high,
            [0.0, 0.0, -1.0],
            strip.z_high - strip.z_low,
        ),
        StripName::InnerWall => (strip.y_high, across, left.map(|each| -each), wide(strip)),
        StripName::OuterWall | StripName::Rib(_) => (strip.y_low, across, left, wide(strip)),
    };
    let (x_mm, y_mm) = pose.left(y);
    let group = format!("row {}", row.name);
    let (through, depth_mm) = match row.depth {
        Depth::Through => (true, thickness),
        Depth::Blind(depth) => (false, depth),
    };
    HoleRecord {
        number: 0,
        strip: row.strip.words(),
        station_mm: station,
        at_mm: [x_mm, y_mm, z],
        axis,
        angle_deg: angle_deg(x_mm, y_mm),
        diameter_mm: row.diameter_mm,
        depth_mm,
        through,
        point_mm: point(row.diameter_mm, through),
        counterbore_mm: None,
        reamed: false,
        tools: tools(plan, |operation| operation.feature == group),
        group,
    }
}

fn bore(part: &Part, boss: &Boss, plan: &Plan) -> Option<HoleRecord> {
    let bore = boss.bore?;
    let pose = part.path.pose(boss.station_mm);
    let top = boss.bore_top_mm();
    let through = bore.depth_mm.is_none();
    // The plan names equal bores by the first of them.
    let alike = |name: &str| {
        let mut bosses = part.bosses.iter();
        bosses.any(|other| other.name == name && other.bore == boss.bore)
    };
    Some(HoleRecord {
        number: 0,
        group: format!("bore of {}", boss.name),
        strip: boss.words(),
        station_mm: boss.station_mm,
        at_mm: [pose.x, pose.y, top],
        axis: [0.0, 0.0, -1.0],
        angle_deg: angle_deg(pose.x, pose.y),
        diameter_mm: bore.diameter_mm,
        depth_mm: bore.depth_mm.unwrap_or(top),
        through,
        point_mm: point(bore.diameter_mm, through),
        counterbore_mm: bore
            .counterbore
            .map(|wide| (wide.diameter_mm, wide.depth_mm)),
        reamed: bore.reamed,
        tools: tools(plan, |operation| {
            operation
                .feature
                .strip_prefix("bore of ")
                .is_some_and(alike)
        }),
    })
}

fn wide(strip: &Strip) -> f64 {
    strip.y_high - strip.y_low
}

fn point(diameter: f64, through: bool) -> f64 {
    if through {
        0.0
    } else {
        drill_point_height_mm(diameter)
    }
}

fn angle_deg(x: f64, y: f64) -> f64 {
    let angle = y.atan2(x).to_degrees().rem_euclid(360.0);
    // What rounds to a full turn is its start.
    if angle >= 360.0 - 1e-9 { 0.0 } else { angle }
}

/// Tools of the operations on a hole, each once, in the order of the plan; edges are broken with what is no size of it.
fn tools(plan: &Plan, on: impl Fn(&Operation) -> bool) -> Vec<String> {
    let mut tools: Vec<String> = Vec::new();
    for operation in plan.operations.iter().filter(|operation| on(operation)) {
        let edge = operation.name == "break edges" || operation.name == "spot";
        if !edge && !operation.tool.is_empty() && !tools.contains(&operation.tool) {
            tools.push(operation.tool.clone());
        }
    }
    tools
}
