//! Where along the path the frame is cut.

use super::density::Fineness;
use super::drill::{Drill, LEAST_METAL_MM, Placed};
use super::mesh_error::MeshError;
use super::slab::Seat;
use crate::part::Part;

/// Planes nearer than this, in mm, are one.
const SAME_PLANE_MM: f64 = 1e-6;
/// No slab is thinner than this, in mm, where it can be helped.
const LEAST_SLAB_MM: f64 = 0.05;

/// Where the frame is cut, and its holes.
pub(super) struct Planes {
    closed: bool,
    length: f64,
    /// Sorted; on a closed path in the first turn.
    pub stations: Vec<f64>,
    /// Holes sorted by station; on a closed path those of one turn before and after as well.
    holes: Vec<Placed>,
    /// Greatest reach of a hole.
    reach: f64,
}

/// Stations of all planes.
///
/// # Errors
/// [`MeshError::HolesTouch`], [`MeshError::RowsEntwined`], [`MeshError::HoleCutsJoint`].
pub(super) fn planes(
    part: &Part,
    drills: &[Drill],
    holes: &[Placed],
    asked: &[f64],
    fineness: &Fineness,
) -> Result<Planes, MeshError> {
    let length = part.path.length_mm();
    let closed = part.path.closed();
    let mut planes = Planes::new(closed, length, holes);
    planes.apart(drills)?;
    if !closed {
        planes.stations = vec![0.0, length];
    }
    planes.joints(part, drills)?;
    planes.centres();
    for &station in asked {
        planes.offer(station);
    }
    for station in turns(part) {
        planes.offer(station);
    }
    planes.middles(drills);
    planes.half_pitches(drills);
    if planes.stations.is_empty() {
        planes.stations.push(0.0);
    }
    planes.plain_lengths(part, fineness);
    Ok(planes)
}

/// Stations at which the curvature changes.
fn turns(part: &Part) -> Vec<f64> {
    let pieces = part.path.pieces();
    let mut at = 0.0;
    let mut turns = Vec::new();
    for (index, piece) in pieces.iter().enumerate() {
        let before = if index > 0 {
            pieces[index - 1]
        } else {
            pieces[pieces.len() - 1]
        };
        if before.curvature() != piece.curvature() && (index > 0 || part.path.closed()) {
            turns.push(at);
        }
        at += piece.length_mm();
    }
    turns
}

impl Planes {
    fn new(closed: bool, length: f64, holes: &[Placed]) -> Planes {
        let mut all = Vec::with_capacity(3 * holes.len());
        for hole in holes {
            if closed {
                let station = hole.station.rem_euclid(length);
                all.extend([-1.0, 0.0, 1.0].map(|turn| Placed {
                    station: station + turn * length,
                    ..*hole
                }));
            } else {
                all.push(*hole);
            }
        }
        all.sort_by(|a, b| a.station.total_cmp(&b.station).then(a.drill.cmp(&b.drill)));
        Planes {
            closed,
            length,
            stations: Vec::new(),
            reach: all.iter().map(|hole| hole.reach).fold(0.0, f64::max),
            holes: all,
        }
    }

    /// Number of slabs.
    pub fn links(&self) -> usize {
        self.stations.len() - usize::from(!self.closed)
    }

    /// A slab's planes; the last of a closed path passes its length.
    pub fn link(&self, index: usize) -> (f64, f64) {
        let from = self.stations[index];
        match self.stations.get(index + 1) {
            Some(&to) => (from, to),
            None => (from, self.stations[0] + self.length),
        }
    }

    /// Holes that reach into a range.
    pub fn holes_in(&self, from: f64, to: f64) -> impl Iterator<Item = &Placed> {
        let first = self
            .holes
            .partition_point(|hole| hole.station < from - self.reach);
        self.holes[first..]
            .iter()
            .take_while(move |hole| hole.station <= to + self.reach)
            .filter(move |hole| hole.station + hole.reach > from && hole.station - hole.reach < to)
    }

    fn wrapped(&self, station: f64) -> f64 {
        if !self.closed {
            return station.clamp(0.0, self.length);
        }
        let station = station.rem_euclid(self.length);
        if self.length - station < SAME_PLANE_MM {
            0.0
        } else {
            station
        }
    }

    fn distance(&self, a: f64, b: f64) -> f64 {
        let apart = (a - b).abs();
        if self.closed {
            apart.min(self.length - apart)
        } else {
            apart
        }
    }

    fn add(&mut self, station: f64) {
        let at = self.stations.partition_point(|&each| each < station);
        self.stations.insert(at, station);
    }

    /// Whether a plane keeps clear of every hole by a share of its reach; holes at the plane itself do not count.
    fn clear(&self, station: f64, share: f64) -> bool {
        let wide = self.reach * (1.0 + share) + LEAST_SLAB_MM;
        let first = self
            .holes
            .partition_point(|hole| hole.station < station - wide);
        self.holes[first..]
            .iter()
            .take_while(|hole| hole.station <= station + wide)
            .all(|hole| {
                let apart = (hole.station - station).abs();
                apart < SAME_PLANE_MM || apart >= hole.reach + (share * hole.reach).max(0.03)
            })
    }

    /// Takes a plane where it keeps clear of holes and of other planes.
    fn offer(&mut self, station: f64) {
        let station = self.wrapped(station);
        let free = self
            .stations
            .iter()
            .all(|&each| self.distance(each, station) >= LEAST_SLAB_MM);
        if free && self.clear(station, 0.08) {
            self.add(station);
        }
    }

    /// Holes of one band must leave metal between them.
    fn apart(&self, drills: &[Drill]) -> Result<(), MeshError> {
        for (index, hole) in self.holes.iter().enumerate() {
            for other in &self.holes[index + 1..] {
                if other.station > hole.station + hole.reach + self.reach + LEAST_METAL_MM {
                    break;
                }
                let (one, two) = (&drills[hole.drill], &drills[other.drill]);
                let along = other.station - other.reach - hole.station - hole.reach;
                if along >= LEAST_METAL_MM || !one.shares(two) {
                    continue;
                }
                let apart = (other.station - hole.station).hypot(two.centre - one.centre);
                let metal_mm = along.max(apart - one.radius - two.radius);
                let (name, station_mm) = (one.name.clone(), hole.station);
                return Err(if metal_mm < LEAST_METAL_MM {
                    MeshError::HolesTouch {
                        name,
                        station_mm,
                        metal_mm,
                    }
                } else {
                    MeshError::RowsEntwined { name, station_mm }
                });
            }
        }
        Ok(())
    }

    /// Ends of bosses.
    fn joints(&mut self, part: &Part, drills: &[Drill]) -> Result<(), MeshError> {
        for boss in &part.bosses {
            for side in [-0.5, 0.5] {
                let station = boss.station_mm + side * boss.length_mm;
                if !self.closed
                    && (station < SAME_PLANE_MM || station > self.length - SAME_PLANE_MM)
                {
                    continue;
                }
                let station = self.wrapped(station);
                let cut = self
                    .holes_in(station, station)
                    .find(|hole| (hole.station - station).abs() < hole.reach + LEAST_METAL_MM);
                if let Some(hole) = cut {
                    return Err(MeshError::HoleCutsJoint {
                        name: drills[hole.drill].name.clone(),
                        station_mm: station,
                    });
                }
                let known = self
                    .stations
                    .iter()
                    .any(|&each| self.distance(each, station) < SAME_PLANE_MM);
                if !known {
                    self.add(station);
                }
            }
        }
        Ok(())
    }

    /// Centres of holes that no other hole reaches.
    fn centres(&mut self) {
        let mut centres: Vec<f64> = self.holes.iter().map(|hole| hole.station).collect();
        centres.retain(|&station| (0.0..self.length).contains(&station));
        centres.dedup_by(|later, earlier| *later - *earlier < SAME_PLANE_MM);
        for station in centres {
            let free = self
                .stations
                .iter()
                .all(|&each| self.distance(each, station) >= LEAST_SLAB_MM);
            if free && self.clear(station, 0.25) {
                self.add(station);
            }
        }
    }

    /// Midway between neighbouring holes, where no plane is yet and one band holds both.
    fn middles(&mut self, drills: &[Drill]) {
        let Some(first) = self.holes.first() else {
            return;
        };
        let mut last = *first;
        let mut middles = Vec::new();
        for hole in &self.holes[1..] {
            let (from, to) = (last.station + last.reach, hole.station - hole.reach);
            if to - from > 2.0 * LEAST_METAL_MM {
                let taken = self.has_plane(from, to);
                let parted = !drills[last.drill].shares(&drills[hole.drill])
                    && self.has_plane(last.station, last.station)
                    && self.has_plane(hole.station, hole.station);
                let middle = 0.5 * (from + to);
                if !taken && !parted && (0.0..self.length).contains(&middle) {
                    middles.push(middle);
                }
            }
            if hole.station + hole.reach > last.station + last.reach {
                last = *hole;
            }
        }
        for middle in middles {
            self.add(middle);
        }
    }

    fn has_plane(&self, from: f64, to: f64) -> bool {
        let turns: &[f64] = if self.closed {
            &[-1.0, 0.0, 1.0]
        } else {
            &[0.0]
        };
        turns.iter().any(|turn| {
            let shift = turn * self.length;
            let at = self
                .stations
                .partition_point(|&each| each + shift < from - SAME_PLANE_MM);
            self.stations
                .get(at)
                .is_some_and(|&each| each + shift <= to + SAME_PLANE_MM)
        })
    }

    /// Half a pitch beyond the last holes of a run, so that they have the slab of all others.
    fn half_pitches(&mut self, drills: &[Drill]) {
        let halves = self.half_pitch_of(drills.len());
        let mut wanted = Vec::new();
        for hole in &self.holes {
            let half = halves[hole.drill];
            let inside = (0.0..self.length).contains(&hole.station);
            if !inside || !half.is_finite() || !self.has_plane(hole.station, hole.station) {
                continue;
            }
            let beyond = half + (0.35 * half).max(0.5);
            let gap = 2.0 * SAME_PLANE_MM;
            if !self.has_plane(hole.station + gap, hole.station + beyond) {
                wanted.push(hole.station + half);
            }
            if !self.has_plane(hole.station - beyond, hole.station - gap) {
                wanted.push(hole.station - half);
            }
        }
        for station in wanted {
            if self.closed || (0.0..=self.length).contains(&station) {
                self.offer(station);
            }
        }
    }

    /// For each drill half the least distance between its holes.
    fn half_pitch_of(&self, drills: usize) -> Vec<f64> {
        let mut halves = vec![f64::INFINITY; drills];
        let mut last = vec![f64::NEG_INFINITY; drills];
        for hole in &self.holes {
            let half = 0.5 * (hole.station - last[hole.drill]);
            halves[hole.drill] = half.min(halves[hole.drill]);
            last[hole.drill] = hole.station;
        }
        halves
    }

    /// Lengths without holes in equal slabs of a few elements.
    fn plain_lengths(&mut self, part: &Part, fineness: &Fineness) {
        let mut more = Vec::new();
        for index in 0..self.links() {
            let (from, to) = self.link(index);
            if self.holes_in(from, to).next().is_some() {
                continue;
            }
            let tightest = super::bend::Bend::of(&part.path, from, to).tightest();
            let count = ((to - from) / (2.0 * longest(fineness, tightest)) - 1e-6)
                .ceil()
                .max(1.0) as usize;
            let step = (to - from) / count as f64;
            more.extend((1..count).map(|k| from + k as f64 * step));
        }
        for station in more {
            let station = self.wrapped(station);
            self.add(station);
        }
    }

    /// Shares of a station on the planes.
    pub fn seat(&self, asked: f64) -> Seat {
        let station = self.wrapped(asked);
        let count = self.stations.len();
        for (index, &each) in self.stations.iter().enumerate() {
            if self.distance(each, station) <= SAME_PLANE_MM {
                return Seat {
                    station_mm: asked,
                    shares: [(index, 1.0), (index, 0.0)],
                };
            }
        }
        let after = self.stations.partition_point(|&each| each < station);
        let before = (after + count - 1) % count;
        let (from, to) = self.link(before);
        let gone = (station - from).rem_euclid(self.length.max(1e-300));
        let share = gone / (to - from);
        Seat {
            station_mm: asked,
            shares: [(before, 1.0 - share), (after % count, share)],
        }
    }
}

/// Greatest length of an element on a path of a curvature, in mm.
pub(super) fn longest(fineness: &Fineness, curvature: f64) -> f64 {
    fineness.length_mm.min(fineness.turn / curvature.max(1e-12))
}
