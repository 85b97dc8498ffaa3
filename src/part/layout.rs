//! The path cut at every change: segments of constant section, perforation and curvature.

use std::fmt;

use super::path::around;
use super::{Depth, Hole, HoleRow, Part, Path, Piece, Section, StripName};

/// Stations nearer than this, in mm, are one.
const SAME_PLACE_MM: f64 = 1e-6;

/// More holes than this in one part are refused.
pub const MOST_HOLES: usize = 20_000;

/// Holes repeated along a segment in one strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Perforation {
    /// The drilled strip.
    pub strip: StripName,
    /// Index of the row in [`Part::hole_rows`].
    pub row: usize,
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Pitch along the path, in mm.
    pub pitch_mm: f64,
    /// Through, or blind.
    pub depth: Depth,
    /// Number of parallel rows.
    pub rows: usize,
    /// Distance between rows across the strip, in mm.
    pub row_gap_mm: f64,
    /// Shift of every second row, as a share of the pitch.
    pub stagger: f64,
    /// Middle of the rows across the strip, in mm (`y` in the floor, `z` elsewhere).
    pub offset_mm: f64,
}

/// A length of the path over which nothing changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Start along the path, in mm.
    pub start_mm: f64,
    /// Which [`SegmentKind`] it is: equal kinds are equal in everything but their place.
    pub kind: usize,
}

/// What equal segments share.
#[derive(Clone, Debug, PartialEq)]
pub struct SegmentKind {
    /// Length along the path, in mm.
    pub length_mm: f64,
    /// Signed curvature of the path, in 1/mm.
    pub curvature: f64,
    /// Index in [`Layout::sections`].
    pub section: usize,
    /// Holes in its strips; empty where there are none.
    pub perforations: Vec<Perforation>,
}

/// A part cut into segments, with a node at every joint.
///
/// A closed path of n segments has n nodes, node i at the start of segment i; segment n-1 runs back to node
/// 0. An open path has n + 1 nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Whether the last segment joins the first.
    pub closed: bool,
    /// Length of the path, in mm.
    pub length_mm: f64,
    /// Distinct sections: 0 is the part's own, the others are bosses'.
    pub sections: Vec<Section>,
    /// Distinct segments.
    pub kinds: Vec<SegmentKind>,
    /// Segments in order along the path.
    pub segments: Vec<Segment>,
    /// Stations of the nodes, in mm.
    pub nodes_mm: Vec<f64>,
    /// For each station asked for, its node.
    pub station_nodes: Vec<usize>,
    /// Every drilled hole of the hole rows (bores of bosses are not among them), row by row.
    pub holes: Vec<Hole>,
}

/// Why a part cannot be cut into segments.
#[derive(Clone, Debug, PartialEq)]
pub enum LayoutError {
    /// The holes would be too many to drill, or to count.
    TooManyHoles {
        /// Index of the row in [`Part::hole_rows`].
        row: usize,
    },
    /// A station of a load, support, carried mass or boss lies off the path.
    OffPath {
        /// The station, in mm.
        station_mm: f64,
        /// Length of the path, in mm.
        length_mm: f64,
    },
}

impl fmt::Display for LayoutError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LayoutError::TooManyHoles { row } => {
                write!(f, "hole row {} has more than {MOST_HOLES} holes", row + 1)
            }
            LayoutError::OffPath {
                station_mm,
                length_mm,
            } => write!(
                f,
                "station {station_mm:.3} mm lies off the path, which is {length_mm:.3} mm long"
            ),
        }
    }
}

impl std::error::Error for LayoutError {}

/// A run of equally spaced holes of one row between two obstacles.
#[derive(Clone, Copy, Debug)]
struct Run {
    row: usize,
    from: f64,
    to: f64,
    pitch: f64,
}

impl Layout {
    /// The part cut at every change of curvature, section and perforation and at every one of `stations`
    /// (mm from the start; on a closed path they wrap).
    ///
    /// # Errors
    /// [`LayoutError`].
    pub fn new(part: &Part, stations: &[f64]) -> Result<Layout, LayoutError> {
        let path = &part.path;
        let length = path.length_mm();
        for &station_mm in stations {
            if !on_path(path, length, station_mm) {
                return Err(LayoutError::OffPath {
                    station_mm,
                    length_mm: length,
                });
            }
        }
        if let Some(boss) = part
            .bosses
            .iter()
            .find(|boss| !on_path(path, length, boss.station_mm))
        {
            return Err(LayoutError::OffPath {
                station_mm: boss.station_mm,
                length_mm: length,
            });
        }
        let obstacles = obstacles(part, length);
        let mut holes = Vec::new();
        let mut runs = Vec::new();
        for (row, each) in part.hole_rows.iter().enumerate() {
            place_row(row, each, path, length, &obstacles, &mut holes, &mut runs)?;
        }
        let nodes_mm = nodes(part, stations, &runs, length);
        let mut layout = Layout {
            closed: path.closed(),
            length_mm: length,
            sections: vec![part.section.clone()],
            kinds: Vec::new(),
            segments: Vec::with_capacity(nodes_mm.len()),
            station_nodes: Vec::with_capacity(stations.len()),
            nodes_mm,
            holes,
        };
        layout.cut(part, &runs);
        for &station in stations {
            let node = layout.node_at(station);
            layout.station_nodes.push(node);
        }
        Ok(layout)
    }

    /// End of a segment along the path, in mm; on a closed path it may pass the path's length.
    pub fn end_mm(&self, segment: usize) -> f64 {
        let segment = &self.segments[segment];
        segment.start_mm + self.kinds[segment.kind].length_mm
    }

    /// Index of the boss that covers a station in mm, the first where several do.
    pub fn boss_at(&self, part: &Part, station: f64) -> Option<usize> {
        boss_at(part, station, self.length_mm)
    }

    /// Nodes at the start and end of a segment.
    pub fn ends(&self, segment: usize) -> (usize, usize) {
        (segment, (segment + 1) % self.nodes_mm.len())
    }

    fn node_at(&self, station: f64) -> usize {
        let distance = |node: f64| {
            let apart = (node - station).abs();
            if self.closed {
                let apart = around(apart, self.length_mm);
                apart.min(self.length_mm - apart)
            } else {
                apart
            }
        };
        let (mut best, mut least) = (0, f64::INFINITY);
        for (index, &node) in self.nodes_mm.iter().enumerate() {
            let distance = distance(node);
            if distance < least {
                (best, least) = (index, distance);
            }
        }
        best
    }

    fn cut(&mut self, part: &Part, runs: &[Run]) {
        let count = self.nodes_mm.len();
        let pieces = if self.closed { count } else { count - 1 };
        for index in 0..pieces {
            let start = self.nodes_mm[index];
            let end = if index + 1 < count {
                self.nodes_mm[index + 1]
            } else {
                self.nodes_mm[0] + self.length_mm
            };
            let middle = 0.5 * (start + end);
            let section = match boss_at(part, middle, self.length_mm) {
                Some(boss) => self.section_index(&part.bosses[boss].section),
                None => 0,
            };
            let mut perforations = Vec::new();
            for run in runs {
                if covers(self.closed, self.length_mm, run.from, run.to, middle) {
                    perforations.push(perforation(&part.hole_rows[run.row], run));
                }
            }
            let kind = SegmentKind {
                length_mm: end - start,
                curvature: part.path.curvature(middle),
                section,
                perforations,
            };
            let kind = self.kind_index(kind);
            self.segments.push(Segment {
                start_mm: start,
                kind,
            });
        }
    }

    fn section_index(&mut self, section: &Section) -> usize {
        let known = self.sections.iter().position(|each| each == section);
        known.unwrap_or_else(|| {
            self.sections.push(section.clone());
            self.sections.len() - 1
        })
    }

    fn kind_index(&mut self, kind: SegmentKind) -> usize {
        let same = |each: &SegmentKind| {
            (each.length_mm - kind.length_mm).abs() <= 1e-9 * self.length_mm
                && each.curvature == kind.curvature
                && each.section == kind.section
                && each.perforations == kind.perforations
        };
        let known = self.kinds.iter().position(same);
        known.unwrap_or_else(|| {
            self.kinds.push(kind);
            self.kinds.len() - 1
        })
    }
}

/// Whether a station lies on the path; on a closed one it may count backwards, but not pass the start.
fn on_path(path: &Path, length: f64, station: f64) -> bool {
    let low = if path.closed() { -length } else { 0.0 };
    (low - SAME_PLACE_MM..=length + SAME_PLACE_MM).contains(&station)
}

/// The boss that covers a station, the first where several do.
pub(super) fn boss_at(part: &Part, station: f64, length: f64) -> Option<usize> {
    part.bosses.iter().position(|boss| {
        let half = 0.5 * boss.length_mm;
        covers(
            part.path.closed(),
            length,
            boss.station_mm - half,
            boss.station_mm + half,
            station,
        )
    })
}

/// Whether a range of the path, which may wrap on a closed one, covers a station.
fn covers(closed: bool, length: f64, from: f64, to: f64, station: f64) -> bool {
    if closed {
        around(station - from, length) <= to - from
    } else {
        from <= station && station <= to
    }
}

/// Ranges that holes must stay clear of, sorted; on a closed path each starts within one turn.
fn obstacles(part: &Part, length: f64) -> Vec<(f64, f64)> {
    let mut ranges: Vec<_> = part
        .bosses
        .iter()
        .map(|boss| {
            let from = boss.station_mm - 0.5 * boss.length_mm;
            let from = if part.path.closed() {
                around(from, length)
            } else {
                from
            };
            (from, from + boss.length_mm)
        })
        .collect();
    ranges.sort_by(|a, b| a.0.total_cmp(&b.0));
    ranges
}

/// Free lengths of the path between obstacles that a row may use.
fn free_lengths(
    row: &HoleRow,
    closed: bool,
    length: f64,
    obstacles: &[(f64, f64)],
) -> Vec<(f64, f64)> {
    let whole = match row.span_mm {
        Some((from, to)) if closed && to <= from => (from, to + length),
        Some(span) => span,
        None if closed => match obstacles.first() {
            Some(first) => (first.0, first.0 + length),
            None => (0.0, length),
        },
        None => (0.0, length),
    };
    let mut free = Vec::with_capacity(obstacles.len() + 1);
    let mut from = whole.0;
    let turns: &[f64] = if closed { &[-1.0, 0.0, 1.0] } else { &[0.0] };
    for turn in turns {
        for obstacle in obstacles {
            let (start, end) = (obstacle.0 + turn * length, obstacle.1 + turn * length);
            if end <= from || start >= whole.1 {
                continue;
            }
            if start > from {
                free.push((from, start));
            }
            from = from.max(end);
        }
    }
    if from < whole.1 {
        free.push((from, whole.1));
    }
    free
}

/// Holes that fit into each free length, centred in it. On a closed path without obstacle or span they go
/// all round, their pitch stretched to fill the turn.
fn place_row(
    row: usize,
    each: &HoleRow,
    path: &Path,
    length: f64,
    obstacles: &[(f64, f64)],
    holes: &mut Vec<Hole>,
    runs: &mut Vec<Run>,
) -> Result<(), LayoutError> {
    if each.rows == 0 {
        return Ok(());
    }
    let shift = if each.rows > 1 {
        each.stagger * each.pitch_mm
    } else {
        0.0
    };
    let all_round = path.closed() && obstacles.is_empty() && each.span_mm.is_none();
    for (from, to) in free_lengths(each, path.closed(), length, obstacles) {
        let margin = each.clearance_mm + 0.5 * each.diameter_mm;
        let room = to - from - 2.0 * margin - shift.abs();
        let fits = if all_round {
            (length / each.pitch_mm + 1e-9).floor()
        } else if room >= -1e-9 {
            (room.max(0.0) / each.pitch_mm + 1e-9).floor() + 1.0
        } else {
            0.0
        };
        if !(fits * (each.rows as f64) + (holes.len() as f64) <= MOST_HOLES as f64) {
            return Err(LayoutError::TooManyHoles { row });
        }
        let count = fits as usize;
        if count == 0 {
            continue;
        }
        let pitch = if all_round {
            length / fits
        } else {
            each.pitch_mm
        };
        let span = pitch * (fits - 1.0);
        let first = if all_round {
            0.5 * pitch
        } else {
            0.5 * (from + to) - 0.5 * (span + shift)
        };
        for line in 0..each.rows {
            let start = first + if line % 2 == 1 { shift } else { 0.0 };
            let across_mm =
                each.offset_mm + (line as f64 - 0.5 * (each.rows as f64 - 1.0)) * each.row_gap_mm;
            holes.extend((0..count).map(|index| Hole {
                row,
                line,
                station_mm: start + index as f64 * pitch,
                across_mm,
            }));
        }
        let low = first + shift.min(0.0) - 0.5 * pitch;
        let high = first + span + shift.max(0.0) + 0.5 * pitch;
        runs.push(Run {
            row,
            from: low.max(from),
            to: high.min(to),
            pitch,
        });
    }
    Ok(())
}

fn perforation(row: &HoleRow, run: &Run) -> Perforation {
    Perforation {
        strip: row.strip,
        row: run.row,
        diameter_mm: row.diameter_mm,
        pitch_mm: run.pitch,
        depth: row.depth,
        rows: row.rows,
        row_gap_mm: row.row_gap_mm,
        stagger: row.stagger,
        offset_mm: row.offset_mm,
    }
}

/// Sorted stations of all nodes.
fn nodes(part: &Part, stations: &[f64], runs: &[Run], length: f64) -> Vec<f64> {
    let closed = part.path.closed();
    let mut nodes = Vec::with_capacity(stations.len() + 2 * (runs.len() + part.bosses.len()) + 8);
    nodes.extend_from_slice(stations);
    for boss in &part.bosses {
        nodes.push(boss.station_mm - 0.5 * boss.length_mm);
        nodes.push(boss.station_mm + 0.5 * boss.length_mm);
    }
    for run in runs {
        nodes.push(run.from);
        nodes.push(run.to);
    }
    let pieces = part.path.pieces();
    let mut at = 0.0;
    for (index, piece) in pieces.iter().enumerate() {
        let before = match index {
            0 if closed => pieces[pieces.len() - 1].curvature(),
            0 => f64::NAN,
            _ => pieces[index - 1].curvature(),
        };
        if piece.curvature() != before {
            nodes.push(at);
        }
        at += Piece::length_mm(piece);
    }
    if closed {
        for node in &mut nodes {
            *node = around(*node, length);
            if length - *node < SAME_PLACE_MM {
                *node = 0.0;
            }
        }
    } else {
        nodes.push(length);
        for node in &mut nodes {
            *node = node.clamp(0.0, length);
        }
    }
    sort_apart(&mut nodes);
    // A closed chain needs joints of its own where nothing else gives it any.
    if closed && nodes.len() < 3 {
        let first = nodes.first().copied().unwrap_or(0.0);
        nodes.extend((0..4).map(|k| (first + 0.25 * k as f64 * length).rem_euclid(length)));
        sort_apart(&mut nodes);
    }
    nodes
}

fn sort_apart(nodes: &mut Vec<f64>) {
    nodes.sort_by(f64::total_cmp);
    nodes.dedup_by(|later, earlier| *later - *earlier < SAME_PLACE_MM);
}
