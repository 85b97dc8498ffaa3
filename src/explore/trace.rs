//! How the front grew, and whether it still does.

use super::hypervolume::{hypervolume, sampled_share};
use super::{Settings, TracePoint};

/// Reference point, in front boxes scaled to 0..1.
const REFERENCE: f64 = 1.1;
/// Looks at the front over a whole budget.
const LOOKS: usize = 16;
/// Relative gain of hypervolume below which a front stands still.
const STANDSTILL: f64 = 1e-4;

/// Fronts at some moments.
pub(crate) struct Trace {
    objectives: usize,
    every: usize,
    next: usize,
    /// Evaluations, designs of the front, their objectives flat.
    looks: Vec<(usize, usize, Vec<f64>)>,
    hypervolume: f64,
    window: Option<usize>,
    stalled: bool,
}

impl Trace {
    pub(crate) fn new(objectives: usize, settings: &Settings) -> Self {
        let window = settings.stall_after;
        let every = (settings.evaluations / LOOKS)
            .min(window.unwrap_or(usize::MAX) / 2)
            .max(1);
        Self {
            objectives,
            every,
            next: every,
            looks: Vec::new(),
            hypervolume: 0.0,
            window,
            stalled: false,
        }
    }

    /// Whether the front gained next to nothing in the window of the settings, at the last look.
    pub(crate) fn is_stalled(&self) -> bool {
        self.stalled
    }

    pub(crate) fn is_due(&self, evaluations: usize) -> bool {
        evaluations >= self.next
    }

    pub(crate) fn hypervolume(&self) -> f64 {
        self.hypervolume
    }

    pub(crate) fn look<'r>(
        &mut self,
        evaluations: usize,
        front: Vec<usize>,
        goals: impl Fn(usize) -> &'r [f64],
    ) {
        self.next = evaluations / self.every * self.every + self.every;
        let points: Vec<f64> = front
            .iter()
            .flat_map(|&design| goals(design))
            .copied()
            .collect();
        if let Some(frame) = Frame::around(&points, self.objectives) {
            self.hypervolume = frame.hypervolume(&points);
            let before = |window| {
                self.looks
                    .iter()
                    .rev()
                    .find(|look| look.0 + window <= evaluations)
            };
            let gain =
                |look: &(usize, usize, Vec<f64>)| self.hypervolume - frame.hypervolume(&look.2);
            self.stalled = self
                .window
                .and_then(before)
                .is_some_and(|look| gain(look) < STANDSTILL * self.hypervolume);
        }
        self.looks.push((evaluations, front.len(), points));
    }

    pub(crate) fn finish<'r>(
        self,
        evaluations: usize,
        front: &[usize],
        goals: impl Fn(usize) -> &'r [f64],
    ) -> Vec<TracePoint> {
        let mut looks = self.looks;
        if looks.last().is_none_or(|look| look.0 != evaluations) {
            let points = front
                .iter()
                .flat_map(|&design| goals(design))
                .copied()
                .collect();
            looks.push((evaluations, front.len(), points));
        }
        let frame = looks
            .last()
            .and_then(|look| Frame::around(&look.2, self.objectives));
        let point = |look: &(usize, usize, Vec<f64>)| TracePoint {
            evaluations: look.0,
            front: look.1,
            hypervolume: frame
                .as_ref()
                .map_or(0.0, |frame| frame.hypervolume(&look.2)),
        };
        looks.iter().map(point).collect()
    }
}

/// The box around a front.
struct Frame {
    low: Vec<f64>,
    size: Vec<f64>,
}

impl Frame {
    fn around(points: &[f64], objectives: usize) -> Option<Self> {
        let first = points.get(..objectives).filter(|first| !first.is_empty())?;
        let (mut low, mut high) = (first.to_vec(), first.to_vec());
        for point in points.chunks_exact(objectives) {
            for (k, &p) in point.iter().enumerate() {
                low[k] = low[k].min(p);
                high[k] = high[k].max(p);
            }
        }
        let size = low
            .iter()
            .zip(&high)
            .map(|(low, high)| if high > low { high - low } else { 1.0 })
            .collect();
        Some(Self { low, size })
    }

    fn hypervolume(&self, points: &[f64]) -> f64 {
        let width = self.low.len();
        let scaled: Vec<f64> = points
            .iter()
            .enumerate()
            .map(|(k, p)| (p - self.low[k % width]) / self.size[k % width])
            .collect();
        if width <= 3 {
            hypervolume(&scaled, &vec![REFERENCE; width])
        } else {
            REFERENCE.powi(width as i32)
                * sampled_share(&scaled, &vec![0.0; width], &vec![REFERENCE; width])
        }
    }
}
