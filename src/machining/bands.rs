//! The path gathered into bands of constant section, with the pockets and walls of each.

use super::step::Feature;
use crate::part::{Layout, Strip, StripName};

/// Length of path at one curvature.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub length: f64,
    pub curvature: f64,
}

/// An uninterrupted stretch of a band.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    /// Station at which it starts, in mm.
    pub from: f64,
    pub length: f64,
    /// Its runs in [`Band::runs`]: from, and up to but without.
    pub runs: (usize, usize),
    /// Sections before and behind it; `None` at the end of an open path.
    pub beside: [Option<usize>; 2],
    /// How many spans of the band are like this one, itself included; 0 where an earlier one counts it.
    pub alike: f64,
}

/// All of the path that has one section.
#[derive(Clone, Debug)]
pub(super) struct Band {
    pub section: usize,
    /// Runs of the spans in order; spans that are alike share theirs.
    pub runs: Vec<Run>,
    pub spans: Vec<Span>,
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
            half_width: 0.5 * shape.width_mm,
            floor: shape.floor_mm,
            standing,
            pockets: Vec::with_capacity(4),
            ..Band::empty(4)
        }
    }

    fn empty(room: usize) -> Band {
        Band {
            section: 0,
            runs: Vec::with_capacity(room),
            spans: Vec::with_capacity(room),
            length: 0.0,
            stretches: 0.0,
            ring: false,
            half_width: 0.0,
            floor: 0.0,
            standing: Vec::new(),
            pockets: Vec::new(),
        }
    }

    /// Height of its tallest strip or its floor, in mm.
    pub(super) fn height(&self) -> f64 {
        self.standing
            .iter()
            .map(|strip| strip.z_high)
            .fold(self.floor, f64::max)
    }

    /// Whether metal stands higher than `z` between y `low` and `high`.
    pub(super) fn stands(&self, low: f64, high: f64, z: f64) -> bool {
        let meets = |strip: &Strip| {
            strip.z_high > z + 1e-9 && strip.y_low < high - 1e-6 && strip.y_high > low + 1e-6
        };
        self.floor > z + 1e-9 || self.standing.iter().any(meets)
    }

    /// The runs of a span.
    pub(super) fn runs_of(&self, span: &Span) -> &[Run] {
        &self.runs[span.runs.0..span.runs.1]
    }

    /// Area in mm² that it covers from y `low` to `high`.
    pub(super) fn area(&self, low: f64, high: f64) -> f64 {
        let middle = 0.5 * (low + high);
        let mut along = 0.0;
        for span in &self.spans {
            for run in self.runs_of(span) {
                along += span.alike * run.length * (1.0 - run.curvature * middle).max(0.0);
            }
        }
        along * (high - low)
    }

    /// What the first and the last run of a span gain along the path where the tool's centre, `y` mm off it, goes
    /// `ends` mm beyond the span; never less than what they have; nothing
    /// on a whole closed path.
    pub(super) fn gains(&self, span: &Span, ends: [f64; 2], y: f64) -> [f64; 2] {
        if self.ring {
            return [0.0; 2];
        }
        let runs = self.runs_of(span);
        let gain =
            |run: &Run, end: f64| (end / (1.0 - run.curvature * y).max(0.1)).max(-run.length);
        let [first, last] = [&runs[0], &runs[runs.len() - 1]];
        let [before, behind] = [gain(first, ends[0]), gain(last, ends[1])];
        if runs.len() == 1 && first.length + before + behind < 0.0 {
            let half = -0.5 * first.length;
            return [half, half];
        }
        [before, behind]
    }

    /// Ends the last span: it is counted with an earlier one that is like it.
    fn end_span(&mut self) {
        let Some(mut last) = self.spans.pop() else {
            return;
        };
        last.runs.1 = self.runs.len();
        let own = &self.runs[last.runs.0..];
        let close = |a: &Run, b: &Run| {
            a.curvature == b.curvature && (a.length - b.length).abs() <= 1e-9 * (1.0 + a.length)
        };
        let alike = self.spans.iter().position(|span| {
            let runs = &self.runs[span.runs.0..span.runs.1];
            span.alike > 0.0
                && span.beside == last.beside
                && runs.len() == own.len()
                && runs.iter().zip(own).all(|(a, b)| close(a, b))
        });
        if let Some(at) = alike {
            self.spans[at].alike += 1.0;
            self.runs.truncate(last.runs.0);
            last.runs = self.spans[at].runs;
            last.alike = 0.0;
        }
        self.spans.push(last);
    }

    fn begin_span(&mut self, from: f64, before: Option<usize>) {
        self.spans.push(Span {
            from,
            length: 0.0,
            runs: (self.runs.len(), self.runs.len()),
            beside: [before, None],
            alike: 1.0,
        });
        self.stretches += 1.0;
    }

    /// Lengthens the last span.
    fn go_on(&mut self, length: f64, curvature: f64) {
        self.length += length;
        let Some(span) = self.spans.last_mut() else {
            return;
        };
        span.length += length;
        let first = span.runs.0;
        match self.runs[first..].last_mut() {
            Some(run) if run.curvature == curvature => run.length += length,
            _ => self.runs.push(Run { length, curvature }),
        }
    }
}

/// The bands of a layout, in order of their sections; sections that no segment uses are left out.
pub(super) fn bands(layout: &Layout) -> Vec<Band> {
    let mut bands: Vec<Band> = Vec::with_capacity(layout.sections.len());
    let count = layout.segments.len();
    let section = |at: usize| layout.kinds[layout.segments[at % count].kind].section;
    let change = (0..count).find(|&at| !layout.closed || section(at) != section(at + count - 1));
    let mut station = layout.segments.first().map_or(0.0, |first| first.start_mm);
    let first = change.unwrap_or(0);
    station += layout.segments[..first.min(count)]
        .iter()
        .map(|segment| layout.kinds[segment.kind].length_mm)
        .sum::<f64>();
    let mut before = (layout.closed && change.is_some()).then(|| section(first + count - 1));
    let mut open: Option<usize> = None;
    for at in first..first + count {
        let kind = &layout.kinds[layout.segments[at % count].kind];
        if open.is_none_or(|open| bands[open].section != kind.section) {
            if let Some(ended) = open {
                if let Some(span) = bands[ended].spans.last_mut() {
                    span.beside[1] = Some(kind.section);
                }
                bands[ended].end_span();
            }
            let known = bands.iter().position(|band| band.section == kind.section);
            let index = known.unwrap_or_else(|| {
                bands.push(Band::of(layout, kind.section));
                bands.len() - 1
            });
            bands[index].begin_span(station, before);
            open = Some(index);
        }
        if let Some(open) = open {
            bands[open].go_on(kind.length_mm, kind.curvature);
        }
        before = Some(kind.section);
        station += kind.length_mm;
    }
    if let Some(ended) = open {
        if layout.closed && change.is_some() {
            let next = section(first);
            if let Some(span) = bands[ended].spans.last_mut() {
                span.beside[1] = Some(next);
            }
        }
        bands[ended].ring = layout.closed && change.is_none();
        bands[ended].end_span();
    }
    bands.sort_by_key(|band| band.section);
    bands
}

/// The whole path as one band, as wide as its widest section.
pub(super) fn whole(layout: &Layout, half_width: f64) -> Band {
    let mut whole = Band {
        half_width,
        ring: layout.closed,
        ..Band::empty(4)
    };
    let Some(first) = layout.segments.first() else {
        return whole;
    };
    whole.begin_span(first.start_mm, None);
    for segment in &layout.segments {
        let kind = &layout.kinds[segment.kind];
        whole.go_on(kind.length_mm, kind.curvature);
    }
    whole.end_span();
    whole
}
