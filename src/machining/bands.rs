//! The path gathered into bands of constant section, with the pockets and walls of each.

use super::step::Feature;
use crate::part::{Layout, Strip, StripName};

/// Length of path at one curvature.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub length: f64,
    pub curvature: f64,
}

/// All of the path that has one section.
#[derive(Clone, Debug)]
pub(super) struct Band {
    pub section: usize,
    pub runs: Vec<Run>,
    pub length: f64,
    /// Uninterrupted stretches; a whole closed path is one.
    pub stretches: f64,
    /// Whether it is a whole closed path.
    pub ring: bool,
    pub half_width: f64,
    /// Thickness of the floor.
    pub floor: f64,
    /// Walls and ribs in order of y.
    pub standing: Vec<Strip>,
    pub pockets: Vec<Pocket>,
}

/// Room to be cleared on the floor, from y `low` to `high`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pocket {
    pub feature: Feature,
    pub low: f64,
    pub high: f64,
    /// Places in [`Band::standing`] of the walls at `low` and `high`.
    pub walls: [Option<usize>; 2],
    pub cutter: usize,
}

impl Pocket {
    pub(super) fn width(&self) -> f64 {
        self.high - self.low
    }

    pub(super) fn is_slot(&self) -> bool {
        matches!(self.feature, Feature::Slot(..))
    }
}

impl Band {
    fn of(layout: &Layout, section: usize) -> Band {
        let shape = &layout.sections[section];
        let mut standing = shape.strips();
        standing.retain(|strip| strip.name != StripName::Floor);
        standing.sort_by(|a, b| a.y_low.total_cmp(&b.y_low));
        Band {
            section,
            runs: Vec::with_capacity(4),
            length: 0.0,
            stretches: 0.0,
            ring: false,
            half_width: 0.5 * shape.width_mm,
            floor: shape.floor_mm,
            standing,
            pockets: Vec::with_capacity(4),
        }
    }

    /// Height of its tallest strip or its floor, in mm.
    pub(super) fn height(&self) -> f64 {
        self.standing
            .iter()
            .map(|strip| strip.z_high)
            .fold(self.floor, f64::max)
    }
}

/// The bands of a layout, in order of their sections; sections that no segment uses are left out.
pub(super) fn bands(layout: &Layout) -> Vec<Band> {
    let mut bands: Vec<Band> = Vec::with_capacity(layout.sections.len());
    let mut changes = 0;
    let last = layout.segments.last().filter(|_| layout.closed);
    let mut before = last.map(|segment| layout.kinds[segment.kind].section);
    for segment in &layout.segments {
        let kind = &layout.kinds[segment.kind];
        let at = match bands.iter().position(|band| band.section == kind.section) {
            Some(at) => at,
            None => {
                bands.push(Band::of(layout, kind.section));
                bands.len() - 1
            }
        };
        let band = &mut bands[at];
        band.length += kind.length_mm;
        if before != Some(kind.section) {
            band.stretches += 1.0;
            changes += 1;
        }
        before = Some(kind.section);
        match band
            .runs
            .iter_mut()
            .find(|run| run.curvature == kind.curvature)
        {
            Some(run) => run.length += kind.length_mm,
            None => band.runs.push(Run {
                length: kind.length_mm,
                curvature: kind.curvature,
            }),
        }
    }
    if layout.closed && changes == 0 {
        for band in &mut bands {
            band.stretches = 1.0;
            band.ring = true;
        }
    }
    bands.sort_by_key(|band| band.section);
    bands
}
