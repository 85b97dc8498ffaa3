//! Candidate sheets for the page: figures as JSON, drawings as SVG.

use serde_json::{Value, json};

use super::columns::plain;
use super::fields::{field_json, modes_json};
use super::geometry::shape_json;
use crate::drawing::{load_view, plan_view, section_views};
use crate::evaluate::{LoadRow, Named, Proof, Sheet};
use crate::machining::Operation;

/// A sheet as the script of the page reads it.
pub fn sheet_json(design: usize, sheet: &Sheet) -> Value {
    let plan = &sheet.plan;
    let told_twice = |remark: &&String| !sheet.remarks.contains(remark);
    let remarks = sheet.remarks.iter();
    let remarks: Vec<&String> = remarks
        .chain(plan.remarks.iter().filter(told_twice))
        .collect();
    json!({
        "design": design,
        "variables": named(&sheet.variables),
        "derived": named(&sheet.derived),
        "measures": named(&sheet.measures),
        "objectives": named(&sheet.objectives),
        "constraints": list(&sheet.constraints, |c| json!({
            "name": c.name, "text": c.text, "value": plain(c.value), "relation": c.relation,
            "limit": plain(c.limit), "unit": c.unit, "met": c.met, "margin": plain(c.margin),
        })),
        "shape": sheet.part.as_ref().zip(sheet.layout.as_ref()).map(|(part, layout)| shape_json(part, layout)),
        "sections": list(&sheet.sections, |s| json!({
            "name": s.name, "values": named(&s.values), "outside": s.outside_range,
        })),
        "loads": list(&sheet.loads, load),
        "modes": modes_json(sheet),
        "operations": list(&plan.operations, operation),
        "toolChanges": plan.tool_changes,
        "cycle": plain(plan.cycle_s),
        "simulated": tidy(plan.simulated_s),
        "making": making(sheet),
        "mass": list(&sheet.mass, |m| json!({
            "name": m.name, "volume": tidy(m.volume_mm3), "grams": tidy(m.mass_g),
        })),
        "rules": list(&sheet.rules, |r| json!({
            "name": r.name, "value": plain(r.value_mm), "place": r.place,
        })),
        "remarks": remarks,
        "proof": sheet.proof.as_ref().map(proof_json),
        "calibration": sheet.calibration.as_ref().map(|found| json!({
            "words": found.words(),
            "parts": found.parts,
            "rows": list(&found.rows, |r| json!({
                "name": r.name, "unit": r.unit, "before": tidy(r.before), "after": tidy(r.after), "error": tidy(r.error),
            })),
        })),
        "walls": list(&sheet.walls, |w| json!({
            "name": w.name, "height": tidy(w.height_mm), "thickness": tidy(w.thickness_mm),
            "slenderness": tidy(w.slenderness), "force": tidy(w.cut_force_n), "cut": tidy(w.cut_mm),
            "press": tidy(w.press_mm), "held": w.held,
        })),
        "screws": list(&sheet.screws, |s| json!({
            "name": s.name, "clamp": tidy(s.clamp_n), "bearing": tidy(s.bearing_mpa),
            "safety": tidy(s.bearing_safety), "cone": tidy(s.cone_mm), "coneRoom": tidy(s.cone_room_mm),
            "headRoom": tidy(s.head_room_mm), "stiffness": tidy(s.stiffness_n_mm),
        })),
    })
}

fn list<T>(rows: &[T], json: impl Fn(&T) -> Value) -> Vec<Value> {
    rows.iter().map(json).collect()
}

fn named(values: &[Named]) -> Vec<Value> {
    list(
        values,
        |n| json!({ "name": n.name, "value": plain(n.value), "unit": n.unit }),
    )
}

fn load(load: &LoadRow) -> Value {
    json!({
        "name": load.name,
        "words": load.words,
        "stiffness": load.stiffness.as_ref().map(|n| json!({ "value": plain(n.value), "unit": n.unit })),
        "displacement": plain(load.displacement_mm),
        "at": plain(load.displacement_at_mm),
        "stress": plain(load.stress_mpa),
        "place": load.stress_place,
        "field": field_json(load),
        "safety": plain(load.safety),
        "opening": load.opening.as_ref().map(|o| json!({
            "force": plain(o.force_n), "energy": plain(o.energy_n_mm), "fatigue": plain(o.fatigue_safety),
            "curve": list(&o.curve, |(mm, n)| json!([tidy(*mm), tidy(*n)])),
        })),
        "peak": load.peak.as_ref().map(|p| json!({ "stress": tidy(p.mpa), "place": p.place })),
        "fatigue": load.fatigue.as_ref().map(|f| json!({ "safety": tidy(f.safety), "words": f.words })),
    })
}

fn operation(o: &Operation) -> Value {
    json!({
        "name": o.name, "feature": o.feature, "tool": o.tool, "rpm": tidy(o.spindle_rpm),
        "feed": tidy(o.feed_mm_min), "depth": tidy(o.depth_mm), "width": tidy(o.width_mm), "count": o.count,
        "length": tidy(o.cut_length_mm), "cut": tidy(o.cut_s), "move": tidy(o.move_s), "fixed": tidy(o.fixed_s),
        "limit": o.limit, "cost": tidy(o.cost),
    })
}

/// Cost, billet, features and tolerances; nothing where there is no plan.
fn making(sheet: &Sheet) -> Value {
    let plan = &sheet.plan;
    if plan.operations.is_empty() {
        return Value::Null;
    }
    let cost = &plan.cost;
    let billet = &plan.billet;
    json!({
        "currency": sheet.currency,
        "cost": {
            "stock": tidy(cost.stock), "machine": tidy(cost.machine), "labour": tidy(cost.labour),
            "tools": tidy(cost.tools), "setup": tidy(cost.setup), "total": tidy(cost.total),
        },
        "billet": {
            "x": tidy(billet.x_mm), "y": tidy(billet.y_mm), "z": tidy(billet.z_mm), "grams": tidy(billet.mass_g),
            "chips": tidy(billet.chips),
        },
        "bench": tidy(plan.bench_s),
        "features": list(&sheet.features, |f| json!({
            "name": f.feature, "time": tidy(f.time_s), "money": tidy(f.cost), "removed": tidy(f.removed_g),
        })),
        "tolerances": list(&sheet.tolerances, |t| json!({
            "name": t.name, "size": tidy(t.size_mm), "plusMinus": tidy(t.plus_minus_mm), "basis": t.basis,
        })),
    })
}

/// A design's solid answer beside the others.
fn proof_json(proof: &Proof) -> Value {
    json!({
        "rows": list(&proof.rows, |r| json!({
            "name": r.name, "unit": r.unit, "beam": tidy(r.beam), "searched": tidy(r.searched),
            "coarser": tidy(r.coarser), "finer": tidy(r.finer), "solid": tidy(r.solid), "open": tidy(r.open_percent),
        })),
        "peaks": list(&proof.peaks, |p| {
            let [x, y, z] = p.place_mm;
            json!({
                "load": p.load, "coarser": tidy(p.coarser_mpa), "finer": tidy(p.finer_mpa),
                "place": format!("{}, x {x:.1}, y {y:.1}, z {z:.1} mm", p.hole),
            })
        }),
        "modes": list(&proof.modes, |m| json!({
            "hz": tidy(m.frequency_hz), "kind": m.kind, "share": tidy(m.share),
        })),
        "meshes": proof.meshes,
        "remarks": proof.remarks,
    })
}

/// Four digits: enough for a table that prints three.
pub(super) fn tidy(value: f64) -> Value {
    if value.is_finite() {
        plain(format!("{value:.3e}").parse().unwrap_or(value))
    } else {
        plain(value)
    }
}

/// The drawings of a sheet as SVG: plan, sections, load cases. Empty lists where the frame can't be built.
pub fn drawings(design: usize, sheet: &Sheet) -> Value {
    let mut plan = Vec::new();
    let mut cuts = Vec::new();
    if let (Some(part), Some(layout)) = (&sheet.part, &sheet.layout) {
        plan.push(plan_view(
            part,
            layout,
            &governing(sheet),
            &format!("d{design}"),
        ));
        cuts = section_views(part, layout, &format!("d{design}"));
    }
    let closed = sheet.layout.as_ref().is_some_and(|layout| layout.closed);
    let loads: Vec<String> = sheet
        .loads
        .iter()
        .map(|load| load_view(load, closed))
        .collect();
    json!({ "plan": plan, "sections": cuts, "loads": loads })
}

/// Governing places of a sheet for the plan: the most stressed place of all load cases, and the greatest local peak.
fn governing(sheet: &Sheet) -> Vec<(&'static str, [f64; 2])> {
    let places = sheet.loads.iter();
    let nominal = places
        .filter_map(|load| Some((load.stress_mpa, load.stress_at_mm?)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let peaks = sheet.loads.iter().filter_map(|load| load.peak.as_ref());
    let peak = peaks.max_by(|a, b| a.mpa.total_cmp(&b.mpa));
    let nominal = nominal.map(|(_, at)| ("most stressed", at));
    nominal
        .into_iter()
        .chain(peak.map(|peak| ("local peak", peak.at_mm)))
        .collect()
}
