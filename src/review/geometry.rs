//! A frame as plain numbers, for who builds it in three dimensions.

use serde_json::{Value, json};

use crate::drawing::runs;
use crate::part::{
    Boss, Depth, HoleRow, Layout, POINT_ANGLE_DEG, Part, Section, Slits, Strip, StripName,
};

/// Everything that the solid of a part needs, in mm and rad. `layout` must be of `part`.
///
/// **Frame.** The plan's x, y and the tool axis z are right-handed; z = 0 is the underside of the floor. A station
/// `s` runs along the path, the line y = z = 0 of the section. There the path has a heading h, counter-clockwise from
/// the plan's x; `y` of the section points to its **left**, so the point (s, y, z) stands in the plan at
/// (X - y sin h, Y + y cos h), X and Y those of the path. Curvature is positive where the path turns left; a closed
/// path runs counter-clockwise, and its inside is at positive y.
///
/// - `closed`, `length`: of the path. On a closed one stations wrap.
/// - `pieces`: `[x, y, heading, length, curvature]` at the start of every line and arc of the path, in order.
/// - `segments`: `[s0, s1, section]`, where the section is constant. They cover the path in order; the first of a
///   closed one may start below zero.
/// - `sections`: every one a list of strips `{name, y0, y1, z0, z1}` that do not overlap: swept along the path they
///   are the part before it is drilled. A slit floor is several strips of the name `floor`.
/// - `slits`: `{name, s0, s1, y0, y1}` of every slit, which the strips above leave out already.
/// - `holes`: one entry a row: `strip`, the diameter `d`, `axis` (`z`, or `y` for walls and ribs), `from` (the face
///   of the strip that the drill enters: `z1`, `y0` or `y1`), `through`, `depth` of the full diameter from the plane
///   that touches this face on the hole's axis (through: the strip's thickness), `point` (the full angle of the cone
///   below a blind hole) and `at`, `[s, w]` of every hole: w is the axis' `y` in the floor, its `z` elsewhere. The
///   axis of a wall's hole lies along the section's y at `s`.
/// - `bores`: holes along z on the path, in the middle of a boss: `boss`, `s`, diameter `d`, `top` (z of the metal
///   there), `through`, `depth` from the top, `point`, `reamed`, and `counterbore`, `null` or `{d, depth}` from the top
///   with a flat bottom. A bore or counterbore takes whatever metal of the boss stands within its circle.
pub fn shape_json(part: &Part, layout: &Layout) -> Value {
    let mut at = 0.0;
    let pieces: Vec<Value> = part
        .path
        .pieces()
        .iter()
        .map(|piece| {
            let pose = part.path.pose(at);
            let length = piece.length_mm();
            at += length;
            json!([
                fine(pose.x),
                fine(pose.y),
                turned(pose.heading),
                fine(length),
                turned(piece.curvature())
            ])
        })
        .collect();
    let segments: Vec<Value> = runs(layout)
        .iter()
        .map(|run| json!([fine(run.from_mm), fine(run.to_mm), run.index]))
        .collect();
    let sections: Vec<Value> = layout.sections.iter().map(strips).collect();
    let slits: Vec<Value> = part.bosses.iter().flat_map(slits).collect();
    let holes: Vec<Value> = part
        .hole_rows
        .iter()
        .enumerate()
        .filter_map(|(index, row)| holes(index, row, part, layout))
        .collect();
    json!({
        "closed": layout.closed,
        "length": fine(layout.length_mm),
        "pieces": pieces,
        "segments": segments,
        "sections": sections,
        "slits": slits,
        "holes": holes,
        "bores": part.bosses.iter().filter_map(bore).collect::<Vec<Value>>(),
    })
}

/// A length in mm without the noise of its last bits.
fn fine(value: f64) -> Value {
    rounded(value, 1e7)
}

/// A place of a hole, to a tenth of a micrometre.
fn placed(value: f64) -> Value {
    rounded(value, 1e4)
}

/// An angle or a curvature.
fn turned(value: f64) -> Value {
    rounded(value, 1e12)
}

fn rounded(value: f64, parts: f64) -> Value {
    let short = (value * parts).round() / parts;
    if short.fract() == 0.0 && short.abs() < 1e9 {
        Value::from(short as i64)
    } else {
        Value::from(short)
    }
}

fn strips(section: &Section) -> Value {
    let strip = |strip: &Strip| {
        json!({
            "name": strip.name.words(),
            "y0": fine(strip.y_low),
            "y1": fine(strip.y_high),
            "z0": fine(strip.z_low),
            "z1": fine(strip.z_high),
        })
    };
    section.strips().iter().map(strip).collect()
}

fn slits(boss: &Boss) -> Vec<Value> {
    let Some(Slits {
        count, width_mm, ..
    }) = boss.section.slits
    else {
        return Vec::new();
    };
    let (half, strip) = (0.5 * boss.section.width_mm, boss.section.floor_strip_mm());
    let slit = |index: usize| {
        let y0 = -half + (index + 1) as f64 * strip + index as f64 * width_mm;
        json!({
            "name": boss.name,
            "s0": fine(boss.station_mm - 0.5 * boss.length_mm),
            "s1": fine(boss.station_mm + 0.5 * boss.length_mm),
            "y0": fine(y0),
            "y1": fine(y0 + width_mm),
        })
    };
    (0..count).map(slit).collect()
}

fn holes(index: usize, row: &HoleRow, part: &Part, layout: &Layout) -> Option<Value> {
    let strips = part.section.strips();
    let strip = strips.iter().find(|strip| strip.name == row.strip)?;
    let (axis, from) = match row.strip {
        StripName::Floor => ("z", "z1"),
        StripName::InnerWall => ("y", "y1"),
        StripName::OuterWall | StripName::Rib(_) => ("y", "y0"),
    };
    let thickness = match row.strip {
        StripName::Floor => strip.z_high - strip.z_low,
        _ => strip.y_high - strip.y_low,
    };
    let (through, depth) = match row.depth {
        Depth::Through => (true, thickness),
        Depth::Blind(depth) => (false, depth),
    };
    let own = layout.holes.iter().filter(|hole| hole.row == index);
    let at: Vec<Value> = own
        .map(|hole| json!([placed(hole.station_mm), placed(hole.across_mm)]))
        .collect();
    Some(json!({
        "row": row.name,
        "strip": row.strip.words(),
        "d": fine(row.diameter_mm),
        "axis": axis,
        "from": from,
        "through": through,
        "depth": fine(depth),
        "point": turned(POINT_ANGLE_DEG.to_radians()),
        "at": at,
    }))
}

fn bore(boss: &Boss) -> Option<Value> {
    let bore = boss.bore?;
    let top = boss.bore_top_mm();
    let wide = bore
        .counterbore
        .map(|wide| json!({ "d": fine(wide.diameter_mm), "depth": fine(wide.depth_mm) }));
    Some(json!({
        "boss": boss.name,
        "s": placed(boss.station_mm),
        "d": fine(bore.diameter_mm),
        "top": fine(top),
        "through": bore.depth_mm.is_none(),
        "depth": fine(bore.depth_mm.unwrap_or(top)),
        "point": turned(POINT_ANGLE_DEG.to_radians()),
        "reamed": bore.reamed,
        "counterbore": wide,
    }))
}
