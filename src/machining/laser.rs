//! Flat strips cut by laser: slits, holes, outline, each a contour that is pierced and followed.
//!
//! Rules of thumb are common practice, without a source.

use std::f64::consts::PI;

use super::billet::Billet;
use super::cost::{self, Rates, StepCost, Wear};
use super::describe;
use super::motion::{arc_speed_mm_s, move_s};
use super::operations::at_bench;
use super::step::{Feature, Kind, Limit, Step, Tool};
use super::tooling::table;
use super::{MachiningError, Plan};
use crate::catalogue::{Laser, Machine, Material};
use crate::part::{Depth, Layout, Part, Section, StripName};

/// Way from the pierce to the contour, on the side of the scrap, in mm.
const LEAD_MM: f64 = 1.0;
/// Least diameter of a hole in thicknesses of the strip: heat blows smaller ones out.
const LEAST_HOLE: f64 = 1.0;
/// Share of the beam's power that arrives in the cut at its rated speed.
const POWER_SHARE: f64 = 0.9;

/// A laser cutter with its speed in one material.
#[derive(Clone, Debug, PartialEq)]
pub struct LaserShop {
    laser: Laser,
    rapid: f64,
    acceleration: f64,
    feed: f64,
    load_s: f64,
    severance_j_mm2: f64,
    rates: Rates,
    table: [f64; 2],
    remarks: Vec<String>,
}

/// Energy in J that parts 1 mm² of cut face (length times thickness), inert gas.
///
/// Means of CO2 lasers: stainless steel 13, mild steel 10, titanium 14, aluminium 14 J/mm². A fibre laser parts thin
/// sheet with less, so times come out long rather than short.
///
/// Source: Steen, Laser Material Processing, table of average severance energies (from memory).
fn severance_j_mm2(iso_group: char) -> f64 {
    match iso_group {
        'P' => 10.0,
        'M' | 'H' => 13.0,
        _ => 14.0,
    }
}

/// Fastest cut in mm/s through a thickness: v = P / (s t).
///
/// `power` P in W, `severance` s in J/mm², `thickness` t in mm.
///
/// Source: Steen, Laser Material Processing, lumped heat balance of cutting (from memory).
pub fn severing_speed_mm_s(power: f64, severance: f64, thickness: f64) -> f64 {
    power / (severance * thickness)
}

/// Closed lines of one kind, all alike.
struct Contours {
    feature: Feature,
    count: f64,
    /// Straight edges, from corner to corner, in mm.
    edges: Vec<f64>,
    /// Arcs: length and radius, in mm.
    arcs: Vec<(f64, f64)>,
    /// Way from the pierce to the line, in mm.
    lead: f64,
    /// Between two of them, in mm.
    apart: f64,
}

impl LaserShop {
    /// The cutter for a material.
    ///
    /// # Errors
    /// [`MachiningError::NoLaser`] where the machine has none; [`MachiningError::NoSeverance`] where the material is no
    /// metal, which these energies do not hold for.
    pub fn new(material: &Material, machine: &Machine) -> Result<LaserShop, MachiningError> {
        let laser = machine.laser.ok_or_else(|| MachiningError::NoLaser {
            machine: machine.id.clone(),
        })?;
        if !"PMHNS".contains(material.iso_group) || material.modulus_gpa < 10.0 {
            return Err(MachiningError::NoSeverance {
                material: material.id.clone(),
            });
        }
        let mut remarks = Vec::new();
        if material.iso_group == 'H' {
            remarks.push(
                "laser edges of hardened strip are brittle and start cracks: deburr, polish or etch them, and \
                 derate fatigue"
                    .to_string(),
            );
        }
        let per_s = 1000.0 / 60.0;
        Ok(LaserShop {
            laser,
            rapid: machine.rapid_xy_m_min * per_s,
            acceleration: machine.acceleration_xy_m_s2 * 1000.0,
            feed: machine.feed_max_m_min * per_s,
            load_s: machine.load_s,
            severance_j_mm2: severance_j_mm2(material.iso_group),
            rates: Rates::of(material, machine),
            table: table(machine),
            remarks,
        })
    }

    /// The same shop, parts made so many in one go (at least one).
    pub fn for_batch(mut self, parts: f64) -> LaserShop {
        self.rates.batch = parts.max(1.0);
        self
    }

    /// Speed in mm/s through a thickness, and what bounds it.
    fn speed(&self, thickness: f64) -> (f64, Limit) {
        let power = POWER_SHARE * 1000.0 * self.laser.power_kw;
        let severing = severing_speed_mm_s(power, self.severance_j_mm2, thickness);
        if severing < self.feed {
            (severing, Limit::Power)
        } else {
            (self.feed, Limit::FeedLimit)
        }
    }

    /// The plan of a flat part: load, slits, holes, bores, outline last; words only where `detail` is asked for.
    ///
    /// `metal` is the part's volume in mm³. What is not flat, of two thicknesses, blind or smaller than the beam can cut is told by
    /// [`Plan::obstacles`]; a slit narrower than the cut by [`Plan::cutter_gap_mm`].
    pub fn plan(&self, part: &Part, layout: &Layout, metal: f64, detail: bool) -> Plan {
        let mut remarks = Vec::new();
        let thickness = layout.sections[0].floor_mm;
        let obstacles = self.obstacles(part, layout, &mut remarks);
        let mut steps = vec![Step {
            count: 1.0,
            fixed_s: self.load_s,
            ..Step::new(Kind::Load, Feature::Part, Tool::Hand, 0)
        }];
        let contours = self.contours(part, layout);
        steps.extend(contours.iter().map(|each| self.cut(each, thickness)));
        steps.extend(at_bench(part));
        let slits = part.bosses.iter().filter_map(|boss| boss.section.slits);
        let narrowest = slits
            .map(|slits| slits.width_mm)
            .fold(f64::INFINITY, f64::min);
        let billet = Billet::sheet(part, layout, metal, self.rates.density_g_mm3);
        let setup_s = cost::setup_s(&[(0, Tool::Hand)], &self.rates);
        let unworn = |_: &Step| (0.0, Wear::NONE);
        let mut plan = Plan {
            billet,
            cost: cost::of_part(&steps, &billet, setup_s, &self.rates, unworn),
            setup_s,
            table_room_mm: billet.table_room_mm(self.table),
            cutter_gap_mm: narrowest - self.laser.kerf_mm + 1e-9,
            obstacles,
            ..Plan::empty()
        };
        plan.add_up(&steps);
        if detail {
            let words = format!(
                "laser {} kW, cut {} mm wide",
                self.laser.power_kw, self.laser.kerf_mm
            );
            let tool = |step: &Step| {
                if step.tool == Tool::Laser {
                    words.clone()
                } else {
                    String::new()
                }
            };
            plan.take(steps.iter().map(|step| {
                let cost = StepCost::of(step, &self.rates, unworn(step));
                describe::operation(part, layout, step, tool(step), &cost)
            }));
            plan.remarks = remarks;
            plan.remarks.extend(self.remarks.iter().cloned());
        }
        plan
    }

    /// What a laser cannot cut: how many features, and each in words.
    fn obstacles(&self, part: &Part, layout: &Layout, remarks: &mut Vec<String>) -> usize {
        let thickness = layout.sections[0].floor_mm;
        let mut count = 0;
        let mut cannot = |what: String| {
            count += 1;
            remarks.push(what);
        };
        if layout.sections.iter().any(standing) {
            cannot("walls and ribs can't be cut by laser: name a mill as `machine`".into());
        }
        if layout
            .sections
            .iter()
            .any(|section| (section.floor_mm - thickness).abs() > 1e-9)
        {
            cannot("a laser cuts strip of one thickness: give every boss the part's own floor, or name a mill".into());
        }
        for row in &part.hole_rows {
            let blind = row.depth != Depth::Through || row.strip != StripName::Floor;
            if blind || row.diameter_mm < LEAST_HOLE * thickness {
                cannot(format!(
                    "row {} can't be cut by laser: its holes must go through and be at least as wide ({:.2} mm) as the strip is thick ({thickness:.2} mm)",
                    row.name, row.diameter_mm
                ));
            }
        }
        for boss in &part.bosses {
            let Some(bore) = boss.bore else { continue };
            if bore.depth_mm.is_some() || bore.diameter_mm < LEAST_HOLE * thickness {
                cannot(format!(
                    "the bore of {} can't be cut by laser: it must go through and be at least as wide as the strip is thick",
                    boss.name
                ));
            }
        }
        count
    }

    fn contours(&self, part: &Part, layout: &Layout) -> Vec<Contours> {
        let mut all = Vec::new();
        for (index, boss) in part.bosses.iter().enumerate() {
            if let Some(slits) = boss.section.slits {
                // One pass where the cut itself is as wide as the slit, else around it.
                let inner = slits.width_mm - self.laser.kerf_mm;
                let edges = if inner <= 1e-6 {
                    vec![slits.length_mm]
                } else {
                    let along = slits.length_mm - self.laser.kerf_mm;
                    vec![along, inner, along, inner]
                };
                all.push(Contours {
                    feature: Feature::Slits(index),
                    count: slits.count as f64,
                    edges,
                    arcs: Vec::new(),
                    lead: 0.5 * inner.max(0.0),
                    apart: slits
                        .length_mm
                        .hypot(boss.section.width_mm / (slits.count + 1) as f64),
                });
            }
        }
        for (index, row) in part.hole_rows.iter().enumerate() {
            let count = layout.holes.iter().filter(|hole| hole.row == index).count();
            if count > 0 {
                all.push(self.circles(
                    Feature::Row(index),
                    count as f64,
                    row.diameter_mm,
                    row.pitch_mm,
                ));
            }
        }
        for (index, boss) in part.bosses.iter().enumerate() {
            if let Some(bore) = boss.bore {
                all.push(self.circles(Feature::Bore(index), 1.0, bore.diameter_mm, 0.0));
            }
        }
        all.extend(self.outline(layout));
        all
    }

    fn circles(&self, feature: Feature, count: f64, diameter: f64, apart: f64) -> Contours {
        let radius = 0.5 * (diameter - self.laser.kerf_mm).max(0.0);
        Contours {
            feature,
            count,
            edges: Vec::new(),
            arcs: vec![(2.0 * PI * radius, radius)],
            lead: radius.min(LEAD_MM),
            apart,
        }
    }

    /// Both long edges with their bends, and the ends of an open frame.
    fn outline(&self, layout: &Layout) -> Option<Contours> {
        let (mut edges, mut arcs) = (Vec::new(), Vec::new());
        for side in [-1.0, 1.0] {
            let mut straight = 0.0;
            for segment in &layout.segments {
                let kind = &layout.kinds[segment.kind];
                let y = side * 0.5 * layout.sections[kind.section].width_mm;
                let length = kind.length_mm * (1.0 - kind.curvature * y);
                if kind.curvature == 0.0 {
                    straight += length;
                } else {
                    arcs.push((length, (1.0 / kind.curvature - y).abs()));
                }
            }
            edges.push(straight);
        }
        if !layout.closed {
            let ends = [layout.segments.first()?, layout.segments.last()?];
            edges.extend(ends.map(|end| layout.sections[layout.kinds[end.kind].section].width_mm));
        }
        Some(Contours {
            feature: Feature::Outline,
            count: 1.0,
            edges,
            arcs,
            lead: LEAD_MM,
            apart: 0.0,
        })
    }

    /// Every contour of a kind pierced and followed, edges from rest to rest.
    fn cut(&self, contours: &Contours, thickness: f64) -> Step {
        let (speed, mut limit) = self.speed(thickness);
        let lead = move_s(contours.lead, speed, self.acceleration);
        let mut length: f64 = contours.edges.iter().sum();
        let mut time: f64 = contours
            .edges
            .iter()
            .map(|&edge| move_s(edge, speed, self.acceleration))
            .sum();
        for &(arc, radius) in &contours.arcs {
            let around = arc_speed_mm_s(radius, self.acceleration);
            if around < speed {
                limit = Limit::Acceleration;
            }
            length += arc;
            time += move_s(arc, speed.min(around), self.acceleration);
        }
        let mut step = Step::new(Kind::LaserCut, contours.feature, Tool::Laser, 0);
        step.count = contours.count;
        step.feed_mm_min = 60.0 * speed;
        step.depth_mm = thickness;
        step.width_mm = self.laser.kerf_mm;
        step.cut_length_mm = contours.count * (length + contours.lead);
        step.removed_mm3 = step.cut_length_mm * self.laser.kerf_mm * thickness;
        step.cut_s = contours.count * (time + lead);
        step.fixed_s = contours.count * self.laser.pierce_s;
        step.move_s =
            (contours.count - 1.0).max(0.0) * move_s(contours.apart, self.rapid, self.acceleration);
        step.limit = limit;
        step
    }
}

fn standing(section: &Section) -> bool {
    section
        .strips()
        .iter()
        .any(|strip| strip.name != StripName::Floor)
}
