//! Candidate sheets for the page: figures as JSON, drawings as SVG in `<template>` elements.

use serde_json::{Value, json};

use super::columns::plain;
use super::drawing::{load_view, plan_view, section_view};
use crate::evaluate::{Named, Proof, Sheet};
use crate::part::{Boss, Layout, Part, Perforation};

/// Words used more than once, each kept once and named by its number.
#[derive(Default)]
pub struct Words {
    list: Vec<String>,
    known: std::collections::BTreeMap<String, usize>,
}

impl Words {
    pub(super) fn number(&mut self, text: &str) -> Value {
        if let Some(&index) = self.known.get(text) {
            return index.into();
        }
        let index = self.list.len();
        self.list.push(text.into());
        self.known.insert(text.into(), index);
        index.into()
    }

    /// All words in the order of their numbers.
    pub fn list(&self) -> &[String] {
        &self.list
    }
}

/// A sheet as nested arrays, its words by number; the order of fields is the one `sheet.js` reads.
pub fn sheet_json(design: usize, sheet: &Sheet, words: &mut Words) -> Value {
    let constraints: Vec<Value> = sheet
        .constraints
        .iter()
        .map(|c| {
            json!([
                words.number(&c.name),
                words.number(&c.text),
                plain(c.value),
                words.number(c.relation),
                plain(c.limit),
                words.number(&c.unit),
                u8::from(c.met),
                plain(c.margin)
            ])
        })
        .collect();
    let sections: Vec<Value> = sheet
        .sections
        .iter()
        .map(|s| {
            json!([
                words.number(&s.name),
                named(&s.values, words),
                words.number(&s.outside_range)
            ])
        })
        .collect();
    let loads: Vec<Value> = sheet
        .loads
        .iter()
        .map(|l| {
            json!([
                words.number(&l.name),
                words.number(&l.words),
                l.stiffness
                    .as_ref()
                    .map(|n| json!([plain(n.value), words.number(&n.unit)])),
                plain(l.displacement_mm),
                plain(l.displacement_at_mm),
                plain(l.stress_mpa),
                words.number(&l.stress_place),
                plain(l.safety),
                l.opening.as_ref().map(|o| json!([
                    plain(o.force_n),
                    plain(o.energy_n_mm),
                    plain(o.fatigue_safety),
                    o.curve
                        .iter()
                        .map(|(mm, n)| [tidy(*mm), tidy(*n)])
                        .collect::<Vec<_>>()
                ])),
                l.peak
                    .as_ref()
                    .map(|peak| json!([tidy(peak.mpa), words.number(&peak.place)])),
                l.fatigue
                    .as_ref()
                    .map(|fatigue| json!([tidy(fatigue.safety), words.number(&fatigue.words)]))
            ])
        })
        .collect();
    let walls: Vec<Value> = sheet
        .walls
        .iter()
        .map(|w| {
            json!([
                words.number(&w.name),
                tidy(w.height_mm),
                tidy(w.thickness_mm),
                tidy(w.slenderness),
                tidy(w.cut_force_n),
                tidy(w.cut_mm),
                tidy(w.press_mm),
                words.number(&w.held)
            ])
        })
        .collect();
    let screws: Vec<Value> = sheet
        .screws
        .iter()
        .map(|s| {
            json!([
                words.number(&s.name),
                tidy(s.clamp_n),
                tidy(s.bearing_mpa),
                tidy(s.bearing_safety),
                tidy(s.cone_mm),
                tidy(s.cone_room_mm),
                tidy(s.head_room_mm),
                tidy(s.stiffness_n_mm)
            ])
        })
        .collect();
    let operations: Vec<Value> = sheet
        .plan
        .operations
        .iter()
        .map(|o| {
            json!([
                words.number(&o.name),
                words.number(&o.feature),
                words.number(&o.tool),
                tidy(o.spindle_rpm),
                tidy(o.feed_mm_min),
                tidy(o.depth_mm),
                tidy(o.width_mm),
                o.count,
                tidy(o.cut_length_mm),
                tidy(o.cut_s),
                tidy(o.move_s),
                tidy(o.fixed_s),
                words.number(&o.limit),
                tidy(o.cost)
            ])
        })
        .collect();
    let mass: Vec<Value> = sheet
        .mass
        .iter()
        .map(|m| json!([words.number(&m.name), tidy(m.volume_mm3), tidy(m.mass_g)]))
        .collect();
    let rules: Vec<Value> = sheet
        .rules
        .iter()
        .map(|r| {
            json!([
                words.number(&r.name),
                plain(r.value_mm),
                words.number(&r.place)
            ])
        })
        .collect();
    let remarks: Vec<Value> = sheet
        .remarks
        .iter()
        .chain(
            sheet
                .plan
                .remarks
                .iter()
                .filter(|remark| !sheet.remarks.contains(remark)),
        )
        .map(|remark| words.number(remark))
        .collect();
    json!([
        design,
        named(&sheet.variables, words),
        named(&sheet.derived, words),
        named(&sheet.measures, words),
        named(&sheet.objectives, words),
        constraints,
        sections,
        loads,
        [
            json!(operations),
            json!(sheet.plan.tool_changes),
            plain(sheet.plan.cycle_s),
            tidy(sheet.plan.simulated_s),
            json!(making(sheet, words))
        ],
        mass,
        rules,
        remarks,
        sheet.proof.as_ref().map(|proof| proof_json(proof, words)),
        walls,
        screws
    ])
}

/// Cost, billet, features and tolerances; nothing where there is no plan.
fn making(sheet: &Sheet, words: &mut Words) -> Value {
    let plan = &sheet.plan;
    if plan.operations.is_empty() {
        return Value::Null;
    }
    let cost = &plan.cost;
    let billet = &plan.billet;
    let features: Vec<Value> = sheet
        .features
        .iter()
        .map(|f| {
            json!([
                words.number(&f.feature),
                tidy(f.time_s),
                tidy(f.cost),
                tidy(f.removed_g)
            ])
        })
        .collect();
    let tolerances: Vec<Value> = sheet
        .tolerances
        .iter()
        .map(|t| {
            json!([
                words.number(&t.name),
                tidy(t.size_mm),
                tidy(t.plus_minus_mm),
                words.number(&t.basis)
            ])
        })
        .collect();
    json!([
        words.number(&sheet.currency),
        [
            tidy(cost.stock),
            tidy(cost.machine),
            tidy(cost.labour),
            tidy(cost.tools),
            tidy(cost.setup),
            tidy(cost.total)
        ],
        [
            tidy(billet.x_mm),
            tidy(billet.y_mm),
            tidy(billet.z_mm),
            tidy(billet.mass_g),
            tidy(billet.chips),
            tidy(plan.bench_s)
        ],
        features,
        tolerances
    ])
}

/// A design's solid answer beside the others.
fn proof_json(proof: &Proof, words: &mut Words) -> Value {
    let rows: Vec<Value> = proof
        .rows
        .iter()
        .map(|row| {
            json!([
                words.number(&row.name),
                words.number(&row.unit),
                tidy(row.beam),
                tidy(row.searched),
                tidy(row.coarser),
                tidy(row.finer),
                tidy(row.solid),
                tidy(row.open_percent)
            ])
        })
        .collect();
    let peaks: Vec<Value> = proof
        .peaks
        .iter()
        .map(|peak| {
            let [x, y, z] = peak.place_mm;
            json!([
                words.number(&peak.load),
                tidy(peak.coarser_mpa),
                tidy(peak.finer_mpa),
                words.number(&format!("{}, x {x:.1}, y {y:.1}, z {z:.1} mm", peak.hole))
            ])
        })
        .collect();
    let modes: Vec<Value> = proof
        .modes
        .iter()
        .map(|mode| {
            json!([
                tidy(mode.frequency_hz),
                words.number(&mode.kind),
                tidy(mode.share)
            ])
        })
        .collect();
    let remarks: Vec<Value> = proof
        .remarks
        .iter()
        .map(|remark| words.number(remark))
        .collect();
    json!([rows, peaks, modes, words.number(&proof.meshes), remarks])
}

fn named(values: &[Named], words: &mut Words) -> Vec<Value> {
    values
        .iter()
        .map(|n| json!([words.number(&n.name), plain(n.value), words.number(&n.unit)]))
        .collect()
}

/// Four digits: enough for a table that prints three.
pub(super) fn tidy(value: f64) -> Value {
    if value.is_finite() {
        plain(format!("{value:.3e}").parse().unwrap_or(value))
    } else {
        plain(value)
    }
}

/// The drawings of a sheet: plan, sections, load cases, in a `<template>` that nothing shows until it is asked
/// for. Empty where the frame can't be built.
pub fn drawings(design: usize, sheet: &Sheet) -> String {
    let mut out = format!("<template id='drawings-{design}'>");
    if let (Some(part), Some(layout)) = (&sheet.part, &sheet.layout) {
        out += &plan_view(part, layout, &governing(sheet), &format!("d{design}"));
        out += &sections(part, layout, design);
    }
    let closed = sheet.layout.as_ref().is_some_and(|layout| layout.closed);
    for load in &sheet.loads {
        out += &load_view(load, closed);
    }
    out + "</template>\n"
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

/// The frame's own section, through a hole where it is drilled, and one of every different boss section.
fn sections(part: &Part, layout: &Layout, design: usize) -> String {
    let drilled: Vec<Perforation> = layout
        .kinds
        .iter()
        .filter(|kind| kind.section == 0 && !kind.perforations.is_empty())
        .max_by_key(|kind| kind.perforations.len())
        .map(|kind| kind.perforations.clone())
        .unwrap_or_default();
    let title = if drilled.is_empty() {
        "frame"
    } else {
        "frame, through holes"
    };
    let mut out = section_view(&part.section, &drilled, title, &format!("d{design}s0"));
    for (index, section) in layout.sections.iter().enumerate().skip(1).take(3) {
        let name = part
            .bosses
            .iter()
            .find(|boss| boss.section == *section)
            .map_or("boss".into(), Boss::words);
        out += &section_view(section, &[], &name, &format!("d{design}s{index}"));
    }
    out
}
