//! Everything evaluated so far, in order: the one place where designs are evaluated, counted and kept.

use rayon::prelude::*;

use super::archive::Archive;
use super::trace::Trace;
use super::{Ending, Error, Known, Next, Outcome, Problem, Progress, Settings, violation};

/// Designs proposed and evaluated; flat, index = order.
pub(crate) struct Ledger<'a> {
    problem: &'a dyn Problem,
    known: Known<'a>,
    observer: &'a mut dyn FnMut(&Progress<'_>) -> Next,
    budget: usize,
    axes: usize,
    width: usize,
    objectives: usize,
    xs: Vec<f64>,
    rows: Vec<f64>,
    violations: Vec<f64>,
    seen: Seen,
    archive: Archive,
    trace: Trace,
    feasible: usize,
    /// Designs that came to the front.
    entered: usize,
    stopped: bool,
}

impl<'a> Ledger<'a> {
    pub(crate) fn new(
        problem: &'a dyn Problem,
        settings: &Settings,
        known: Known<'a>,
        observer: &'a mut dyn FnMut(&Progress<'_>) -> Next,
    ) -> Result<Self, Error> {
        let (axes, width, objectives) =
            (problem.axes().len(), problem.width(), problem.objectives());
        let designs = known.xs.len() / axes;
        if designs * axes != known.xs.len() || designs * width != known.rows.len() {
            return Err(Error::BadKnown);
        }
        Ok(Self {
            problem,
            known,
            observer,
            budget: settings.evaluations,
            axes,
            width,
            objectives,
            xs: Vec::new(),
            rows: Vec::new(),
            violations: Vec::new(),
            seen: Seen::default(),
            archive: Archive::new(objectives),
            trace: Trace::new(objectives, settings),
            feasible: 0,
            entered: 0,
            stopped: false,
        })
    }

    /// Designs evaluated.
    pub(crate) fn len(&self) -> usize {
        self.violations.len()
    }

    /// Designs evaluated or proposed.
    pub(crate) fn proposed(&self) -> usize {
        self.xs.len() / self.axes
    }

    /// Designs that may still be proposed.
    pub(crate) fn room(&self) -> usize {
        self.budget - self.proposed()
    }

    pub(crate) fn x(&self, design: usize) -> &[f64] {
        &self.xs[design * self.axes..(design + 1) * self.axes]
    }

    pub(crate) fn goals(&self, design: usize) -> &[f64] {
        &self.rows[design * self.width..design * self.width + self.objectives]
    }

    /// Violations of a design, one for each constraint.
    pub(crate) fn limits(&self, design: usize) -> &[f64] {
        let first = design * self.width + self.objectives;
        &self.rows[first..first + self.problem.constraints()]
    }

    /// Designs on the front; two objectives: sorted by the first.
    pub(crate) fn front(&self) -> Vec<usize> {
        self.archive.designs()
    }

    /// Whether a design of the front is at least as good in all objectives, feasible or not.
    pub(crate) fn is_beaten(&self, design: usize) -> bool {
        self.archive.beats(self.goals(design))
    }

    /// Whether a design is on the front.
    pub(crate) fn is_on_front(&self, design: usize) -> bool {
        self.archive.holds(self.goals(design), design)
    }

    /// Designs that have come to the front so far, and that have left it.
    pub(crate) fn turnover(&self) -> (usize, usize) {
        (self.entered, self.entered - self.archive.len())
    }

    pub(crate) fn objectives(&self) -> usize {
        self.objectives
    }

    pub(crate) fn violation(&self, design: usize) -> f64 {
        self.violations[design]
    }

    /// What has been evaluated, for several readers at once.
    pub(crate) fn shelf(&self) -> Shelf<'_> {
        let known_seen = if self.known.xs.len() > self.xs.len() {
            Seen::of(self.known.xs, self.axes)
        } else {
            Seen::default()
        };
        Shelf {
            problem: self.problem,
            xs: &self.xs,
            rows: &self.rows,
            seen: &self.seen,
            known: self.known,
            known_seen,
        }
    }

    /// Proposes a design for the next block; `false` where it is not new or the budget is used up.
    pub(crate) fn propose(&mut self, x: &[f64]) -> bool {
        self.room() > 0 && self.seen.insert(x, &mut self.xs)
    }

    /// Evaluates what was proposed. Returns why the run is over, if it is.
    pub(crate) fn evaluate(&mut self) -> Result<Option<Ending>, Error> {
        self.keep(&[])
    }

    /// As [`Self::evaluate`], where the rows of the first designs proposed are there already.
    pub(crate) fn keep(&mut self, rows: &[f64]) -> Result<Option<Ending>, Error> {
        let (first, end) = (self.len(), self.proposed());
        if first < end {
            self.fill_rows(first, end, rows)?;
            (first..end).for_each(|design| self.enter(design));
            self.report(first, end);
        }
        Ok(if self.stopped {
            Some(Ending::Stopped)
        } else if self.room() == 0 {
            Some(Ending::Budget)
        } else if self.trace.is_stalled() {
            Some(Ending::Stalled)
        } else {
            None
        })
    }

    fn fill_rows(&mut self, first: usize, end: usize, given: &[f64]) -> Result<(), Error> {
        let (axes, width, problem) = (self.axes, self.width, self.problem);
        let known = (self.known.xs.len() / axes).clamp(first, end);
        let same = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| a.to_bits() == b.to_bits());
        for design in first..known {
            if !same(
                self.x(design),
                &self.known.xs[design * axes..(design + 1) * axes],
            ) {
                return Err(Error::KnownDiffers { design });
            }
        }
        self.rows.extend_from_slice(
            self.known
                .rows
                .get(first * width..known * width)
                .unwrap_or_default(),
        );
        self.rows
            .extend_from_slice(given.get((known - first) * width..).unwrap_or_default());
        let from = self.rows.len() / width;
        self.rows.resize(end * width, f64::NAN);
        let xs = &self.xs[from * axes..end * axes];
        let rows = &mut self.rows[from * width..];
        if rayon::current_num_threads() == 1 {
            let pairs = xs.chunks_exact(axes).zip(rows.chunks_exact_mut(width));
            pairs.for_each(|(x, row)| problem.evaluate(x, row));
        } else {
            let pairs = xs
                .par_chunks_exact(axes)
                .zip(rows.par_chunks_exact_mut(width));
            pairs.for_each(|(x, row)| problem.evaluate(x, row));
        }
        Ok(())
    }

    fn enter(&mut self, design: usize) {
        let row = &self.rows[design * self.width..(design + 1) * self.width];
        let violation = violation(row, self.objectives, self.problem.constraints());
        self.violations.push(violation);
        let feasible = violation == 0.0;
        self.feasible += usize::from(feasible);
        if feasible && self.objectives > 0 {
            self.entered += usize::from(self.archive.insert(&row[..self.objectives], design));
        }
    }

    fn report(&mut self, first: usize, end: usize) {
        if self.trace.is_due(end) {
            let front = self.archive.designs();
            self.trace.look(end, front, |design| {
                &self.rows[design * self.width..][..self.objectives]
            });
        }
        let progress = Progress {
            block: first..end,
            xs: &self.xs[first * self.axes..end * self.axes],
            rows: &self.rows[first * self.width..end * self.width],
            budget: self.budget,
            feasible: self.feasible,
            front: self.archive.len(),
            hypervolume: self.trace.hypervolume(),
        };
        self.stopped |= (self.observer)(&progress) == Next::Stop;
    }

    pub(crate) fn finish(self, ending: Ending) -> Outcome {
        let mut front = self.archive.designs();
        let trace = self.trace.finish(self.violations.len(), &front, |design| {
            &self.rows[design * self.width..][..self.objectives]
        });
        front.sort_unstable();
        Outcome {
            xs: self.xs,
            rows: self.rows,
            feasible: self.feasible,
            front,
            trace,
            ending,
        }
    }
}

/// Rows of designs already evaluated, and of new ones.
pub(crate) struct Shelf<'l> {
    problem: &'l dyn Problem,
    xs: &'l [f64],
    rows: &'l [f64],
    seen: &'l Seen,
    known: Known<'l>,
    known_seen: Seen,
}

impl<'l> Shelf<'l> {
    pub(crate) fn constraints(&self) -> usize {
        self.problem.constraints()
    }

    pub(crate) fn x(&self, design: usize) -> &'l [f64] {
        let axes = self.problem.axes().len();
        &self.xs[design * axes..(design + 1) * axes]
    }

    pub(crate) fn goals(&self, design: usize) -> &'l [f64] {
        &self.rows[design * self.problem.width()..][..self.problem.objectives()]
    }

    /// Row of a design, evaluated only where no row is there.
    pub(crate) fn row(&self, x: &[f64]) -> Vec<f64> {
        let width = self.problem.width();
        if let Some(design) = self.seen.position(x, self.xs) {
            return self.rows[design * width..(design + 1) * width].to_vec();
        }
        if let Some(design) = self.known_seen.position(x, self.known.xs) {
            return self.known.rows[design * width..(design + 1) * width].to_vec();
        }
        let mut row = vec![f64::NAN; width];
        self.problem.evaluate(x, &mut row);
        row
    }
}

/// Which designs there are already: a hash table of indices, open addressing.
#[derive(Default)]
struct Seen {
    slots: Vec<u32>,
    count: usize,
}

impl Seen {
    fn of(xs: &[f64], axes: usize) -> Self {
        let mut seen = Self::default();
        let mut copy = Vec::with_capacity(xs.len());
        xs.chunks_exact(axes).for_each(|x| {
            seen.insert(x, &mut copy);
        });
        seen
    }

    fn position(&self, x: &[f64], xs: &[f64]) -> Option<usize> {
        let slot = (!self.slots.is_empty()).then(|| self.find(x, xs))?;
        (self.slots[slot] as usize).checked_sub(1)
    }

    /// Appends `x` to `xs` unless it is there.
    fn insert(&mut self, x: &[f64], xs: &mut Vec<f64>) -> bool {
        if (self.count + 1) * 2 > self.slots.len() {
            self.grow(x.len(), xs);
        }
        let slot = self.find(x, xs);
        if self.slots[slot] != 0 {
            return false;
        }
        self.count += 1;
        self.slots[slot] = self.count as u32;
        xs.extend_from_slice(x);
        true
    }

    fn find(&self, x: &[f64], xs: &[f64]) -> usize {
        let mut slot = hash(x) as usize & (self.slots.len() - 1);
        loop {
            let number = self.slots[slot] as usize;
            if number == 0 || xs[(number - 1) * x.len()..number * x.len()] == *x {
                return slot;
            }
            slot = (slot + 1) & (self.slots.len() - 1);
        }
    }

    fn grow(&mut self, axes: usize, xs: &[f64]) {
        self.slots = vec![0; (self.slots.len() * 2).max(1_024)];
        for (k, x) in xs.chunks_exact(axes).enumerate() {
            let slot = self.find(x, xs);
            self.slots[slot] = k as u32 + 1;
        }
    }
}

fn hash(x: &[f64]) -> u64 {
    let mix = |hash: u64, value: &f64| {
        (hash ^ (value + 0.0).to_bits())
            .wrapping_mul(0x9E37_79B9_7F4A_7C15)
            .rotate_left(29)
    };
    let hash = x.iter().fold(0, mix);
    hash ^ hash >> 32
}
