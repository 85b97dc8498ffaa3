//! Flat strips cut by laser: slits, holes, outline, each a contour that is pierced and followed.
//!
//! Rules of thumb are common practice, without a source.

use std::f64::consts::PI;

use super::bands::Run;
use super::billet::Billet;
use super::cost::{self, Rates, StepCost, Wear};
use super::describe;
use super::look_ahead::look_ahead;
use super::operations::at_bench;
use super::path::{Motion, Move, Route, Track, left};
use super::simulate::{SimulatedOperation, Simulation};
use super::step::{Feature, Kind, Limit, Step, Tool};
use super::tooling::Limits;
use super::{MachiningError, Operation, Plan};
use crate::catalogue::{Laser, Machine, Material};
use crate::part::{Boss, Depth, Layout, Part, Path, Section, StripName};

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
    pub(super) limits: Limits,
    severance_j_mm2: f64,
    rates: Rates,
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

/// Lines of one kind to be followed by the beam.
struct Contours {
    feature: Feature,
    /// Each with the scrap on its left.
    tracks: Vec<Track>,
    /// Way from the pierce to the line, on the side of the scrap, in mm.
    lead: f64,
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
        Ok(LaserShop {
            laser,
            limits: Limits::of(machine),
            severance_j_mm2: severance_j_mm2(material.iso_group),
            rates: Rates::of(material, machine),
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
        if severing < self.limits.feed {
            (severing, Limit::Power)
        } else {
            (self.limits.feed, Limit::FeedLimit)
        }
    }

    /// The plan of a flat part: load, slits, holes, bores, outline last; words only where `detail` is asked for.
    ///
    /// `metal` is the part's volume in mm³. What is not flat, of two thicknesses, blind or smaller than the beam can cut is told by
    /// [`Plan::obstacles`]; a slit narrower than the cut by [`Plan::cutter_gap_mm`].
    pub fn plan(&self, part: &Part, layout: &Layout, metal: f64, detail: bool) -> Plan {
        let mut remarks = Vec::new();
        let obstacles = self.obstacles(part, layout, &mut remarks);
        let moved = self.steps(part, layout);
        let steps: Vec<Step> = moved.into_iter().map(|each| each.0).collect();
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
            table_room_mm: billet.table_room_mm(self.limits.table),
            cutter_gap_mm: narrowest - self.laser.kerf_mm + 1e-9,
            obstacles,
            ..Plan::empty()
        };
        plan.add_up(&steps);
        if detail {
            plan.simulated_s = plan.cycle_s;
            plan.take(steps.iter().map(|step| {
                let cost = StepCost::of(step, &self.rates, unworn(step));
                Operation {
                    simulated_s: step.total_s(),
                    ..describe::operation(part, layout, step, self.words(step.tool), &cost)
                }
            }));
            plan.remarks = remarks;
            plan.remarks.extend(self.remarks.iter().cloned());
        }
        plan
    }

    /// Every move of the plan. The plan's own times are these: a strip has few contours.
    pub fn simulate(&self, part: &Part, layout: &Layout) -> Simulation {
        let operations = self.steps(part, layout).into_iter().map(|(step, moves)| {
            let rapid = moves.iter().filter(|each| each.motion == Motion::Rapid);
            SimulatedOperation {
                name: describe::kind(step.kind).into(),
                feature: describe::feature(part, layout, step.feature),
                setup: step.setup + 1,
                tool: self.words(step.tool),
                cut_length_mm: step.cut_length_mm,
                move_length_mm: rapid.map(Move::length_mm).sum(),
                cut_s: step.cut_s,
                move_s: step.move_s,
                fixed_s: step.fixed_s,
                moves,
            }
        });
        Simulation::of(operations.collect())
    }

    fn words(&self, tool: Tool) -> String {
        match tool {
            Tool::Laser => format!(
                "laser {} kW, cut {} mm wide",
                self.laser.power_kw, self.laser.kerf_mm
            ),
            _ => String::new(),
        }
    }

    /// Loading, every contour with its moves, the bench.
    fn steps(&self, part: &Part, layout: &Layout) -> Vec<(Step, Vec<Move>)> {
        let load = Step {
            count: 1.0,
            fixed_s: self.limits.load_s,
            ..Step::new(Kind::Load, Feature::Part, Tool::Hand, 0)
        };
        let start = part.path.start();
        let mut at = [start.x, start.y, 0.0];
        let thickness = layout.sections[0].floor_mm;
        let mut steps = vec![(load, Vec::new())];
        for contours in self.contours(part, layout) {
            steps.push(self.cut(&contours, thickness, &mut at));
        }
        for (step, _) in &mut steps {
            step.fixed_s += self.limits.operation_s;
        }
        steps.extend(at_bench(part).map(|step| (step, Vec::new())));
        steps
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
            let Some(slits) = boss.section.slits else {
                continue;
            };
            let (strip, width) = (boss.section.floor_strip_mm(), boss.section.width_mm);
            let middle = |slit: usize| {
                (slit + 1) as f64 * strip + (slit as f64 + 0.5) * slits.width_mm - 0.5 * width
            };
            let inner = (slits.width_mm - self.laser.kerf_mm).max(0.0);
            all.push(Contours {
                feature: Feature::Slits(index),
                tracks: (0..slits.count)
                    .map(|slit| self.slit(&part.path, boss, slits.length_mm, middle(slit), inner))
                    .collect(),
                lead: 0.5 * inner,
            });
        }
        for (index, row) in part.hole_rows.iter().enumerate() {
            let holes = layout.holes.iter().filter(|hole| hole.row == index);
            let places = holes.map(|hole| left(part.path.pose(hole.station_mm), hole.across_mm));
            all.push(self.circles(Feature::Row(index), row.diameter_mm, places.collect()));
        }
        for (index, boss) in part.bosses.iter().enumerate() {
            if let Some(bore) = boss.bore {
                let place = left(part.path.pose(boss.station_mm), 0.0);
                all.push(self.circles(Feature::Bore(index), bore.diameter_mm, vec![place]));
            }
        }
        all.push(Contours {
            feature: Feature::Outline,
            tracks: outline(part, layout),
            lead: LEAD_MM,
        });
        all.retain(|each| !each.tracks.is_empty());
        all
    }

    /// A slit `y` mm off the path: one pass where the cut itself is as wide, else around it.
    fn slit(&self, path: &Path, boss: &Boss, length: f64, y: f64, inner: f64) -> Track {
        let half = 0.5 * length;
        let [from, to] = [-half, half].map(|off| path.pose(boss.station_mm + off));
        let mut track = Track::default();
        if inner <= 1e-6 {
            track.line(left(from, y), left(to, y));
            return track;
        }
        let within = 0.5 * self.laser.kerf_mm;
        let [from, to] = [from.advance(within, 0.0), to.advance(-within, 0.0)];
        let (low, high) = (y - 0.5 * inner, y + 0.5 * inner);
        track.line(left(from, low), left(to, low));
        track.line_to(left(to, high));
        track.line_to(left(from, high));
        track.line_to(left(from, low));
        track
    }

    fn circles(&self, feature: Feature, diameter: f64, places: Vec<[f64; 2]>) -> Contours {
        let radius = 0.5 * (diameter - self.laser.kerf_mm).max(0.0);
        let circle = |centre: [f64; 2]| {
            let mut track = Track::default();
            track.arc([centre[0] + radius, centre[1]], centre, 2.0 * PI);
            track
        };
        Contours {
            feature,
            tracks: places.into_iter().map(circle).collect(),
            lead: radius.min(LEAD_MM),
        }
    }

    /// Every contour of a kind pierced and followed, from where the beam is; every move with its time.
    fn cut(&self, contours: &Contours, thickness: f64, at: &mut [f64; 3]) -> (Step, Vec<Move>) {
        let (speed, mut limit) = self.speed(thickness);
        let mut route = Route::from(*at);
        for track in &contours.tracks {
            let (start, aside) = (track.start(), track.left_of(0.0));
            route.over([0, 1].map(|axis| start[axis] + contours.lead * aside[axis]));
            track.go(&mut route, 0.0, track.length, 0.0, speed);
        }
        *at = route.at;
        let mut moves = route.moves;
        look_ahead(&mut moves, &self.limits);
        let slowed = |each: &Move| each.arc.is_some() && each.most_mm_s < speed - 1e-9;
        if moves.iter().any(slowed) {
            limit = Limit::Acceleration;
        }
        let fed = |each: &&Move| each.motion == Motion::Feed;
        let count = contours.tracks.len() as f64;
        let mut step = Step::new(Kind::LaserCut, contours.feature, Tool::Laser, 0);
        step.count = count;
        step.feed_mm_min = 60.0 * speed;
        step.depth_mm = thickness;
        step.width_mm = self.laser.kerf_mm;
        step.cut_length_mm = moves.iter().filter(fed).map(Move::length_mm).sum();
        step.removed_mm3 = step.cut_length_mm * self.laser.kerf_mm * thickness;
        step.cut_s = moves.iter().filter(fed).map(|each| each.time_s).sum();
        step.fixed_s = count * self.laser.pierce_s;
        let rapid = moves.iter().filter(|each| !fed(each));
        step.move_s = rapid.map(|each| each.time_s).sum();
        step.limit = limit;
        (step, moves)
    }
}

/// Edges of the frame, the cut's own width left out: one closed line around an open frame, two of a closed one.
fn outline(part: &Part, layout: &Layout) -> Vec<Track> {
    let edge = |side: f64| {
        let mut track = Track::default();
        let mut pose = part.path.start();
        for segment in &layout.segments {
            let kind = &layout.kinds[segment.kind];
            let run = Run {
                length: kind.length_mm,
                curvature: kind.curvature,
            };
            let y = side * 0.5 * layout.sections[kind.section].width_mm;
            track.follow(pose, std::iter::once(run), y);
            pose = pose.advance(run.length, run.curvature);
        }
        track
    };
    let (mut one, other) = (edge(1.0), edge(-1.0));
    if layout.closed {
        let mut back = Track::default();
        other.copy_back(&mut back);
        return vec![one, back];
    }
    other.copy_back(&mut one);
    let start = one.start();
    one.line_to(start);
    vec![one]
}

fn standing(section: &Section) -> bool {
    section
        .strips()
        .iter()
        .any(|strip| strip.name != StripName::Floor)
}
