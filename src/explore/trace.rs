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
    looks: Vec<Look>,
    hypervolume: f64,
    window: Option<usize>,
    stalled: bool,
}

/// The front at one moment.
pub(crate) struct Look {
    pub evaluations: usize,
    pub feasible: usize,
    /// Objectives of the front, flat.
    pub points: Vec<f64>,
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

    pub(crate) fn look(&mut self, look: Look) {
        self.next = look.evaluations / self.every * self.every + self.every;
        if let Some(frame) = Frame::around(&look.points, self.objectives) {
            self.hypervolume = frame.hypervolume(&look.points);
            let before = |window| {
                self.looks
                    .iter()
                    .rev()
                    .find(|earlier| earlier.evaluations + window <= look.evaluations)
            };
            let gain = |earlier: &Look| self.hypervolume - frame.hypervolume(&earlier.points);
            self.stalled = self
                .window
                .and_then(before)
                .is_some_and(|earlier| gain(earlier) < STANDSTILL * self.hypervolume);
        }
        self.looks.push(look);
    }

    /// The growth of the front, whose last state is given.
    pub(crate) fn finish(self, last: Look) -> Vec<TracePoint> {
        let mut looks = self.looks;
        if looks
            .last()
            .is_none_or(|look| look.evaluations != last.evaluations)
        {
            looks.push(last);
        }
        let frame = looks
            .last()
            .and_then(|look| Frame::around(&look.points, self.objectives));
        let point = |look: &Look| TracePoint {
            evaluations: look.evaluations,
            feasible: look.feasible,
            front: look.points.len() / self.objectives.max(1),
            hypervolume: frame
                .as_ref()
                .map_or(0.0, |frame| frame.hypervolume(&look.points)),
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
