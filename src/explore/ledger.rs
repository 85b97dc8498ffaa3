//! Everything evaluated so far, in order: the one place where designs are evaluated, counted and kept.

use rayon::prelude::*;

use super::archive::Archive;
use super::seen::{Marks, Numbers, Seen};
use super::trace::{Look, Trace};
use super::{
    Ending, Error, Known, Next, Outcome, Problem, Progress, Recall, Settings, Shard, Streamed,
    violation,
};

/// Designs proposed and evaluated; flat, index = order.
///
/// It holds all of them, or, of a stream, those of the block at hand.
pub(crate) struct Ledger<'a> {
    problem: &'a dyn Problem,
    known: Source<'a>,
    shard: Shard,
    observer: &'a mut dyn FnMut(&Progress<'_>) -> Next,
    budget: usize,
    axes: usize,
    width: usize,
    objectives: usize,
    /// Number of the first design held: 0, or how many of a stream were let go.
    base: usize,
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

/// Where the rows of known designs come from.
enum Source<'a> {
    /// They are all there; the ledger holds every design.
    Held(Known<'a>),
    /// They are asked for; the ledger lets designs go.
    Asked(Recall<'a>),
}

impl<'a> Ledger<'a> {
    /// A ledger that holds all.
    pub(crate) fn new(
        problem: &'a dyn Problem,
        settings: &Settings,
        known: Known<'a>,
        observer: &'a mut dyn FnMut(&Progress<'_>) -> Next,
    ) -> Result<Self, Error> {
        let (axes, width) = (problem.axes().len(), problem.width());
        let designs = known.xs.len() / axes;
        if designs * axes != known.xs.len() || designs * width != known.rows.len() {
            return Err(Error::BadKnown);
        }
        let seen = Seen::Held(Numbers::default());
        let source = Source::Held(known);
        Ok(Self::empty(
            problem,
            settings,
            source,
            seen,
            Shard::ALL,
            observer,
        ))
    }

    /// A ledger that lets designs go once the observer has seen them, and evaluates its shard alone.
    pub(crate) fn streaming(
        problem: &'a dyn Problem,
        settings: &Settings,
        shard: Shard,
        recall: Recall<'a>,
        observer: &'a mut dyn FnMut(&Progress<'_>) -> Next,
    ) -> Self {
        let seen = Seen::Marked(Marks::default());
        let source = Source::Asked(recall);
        Self::empty(problem, settings, source, seen, shard, observer)
    }

    fn empty(
        problem: &'a dyn Problem,
        settings: &Settings,
        known: Source<'a>,
        seen: Seen,
        shard: Shard,
        observer: &'a mut dyn FnMut(&Progress<'_>) -> Next,
    ) -> Self {
        let objectives = problem.objectives();
        Self {
            problem,
            known,
            shard,
            observer,
            budget: settings.evaluations,
            axes: problem.axes().len(),
            width: problem.width(),
            objectives,
            base: 0,
            xs: Vec::new(),
            rows: Vec::new(),
            violations: Vec::new(),
            seen,
            archive: Archive::new(objectives),
            trace: Trace::new(objectives, settings),
            feasible: 0,
            entered: 0,
            stopped: false,
        }
    }

    /// Designs evaluated, or left to other shards.
    pub(crate) fn len(&self) -> usize {
        self.base + self.violations.len()
    }

    /// Designs evaluated or proposed.
    pub(crate) fn proposed(&self) -> usize {
        self.base + self.xs.len() / self.axes
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

    pub(crate) fn row(&self, design: usize) -> &[f64] {
        &self.rows[design * self.width..(design + 1) * self.width]
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
        let known = match self.known {
            Source::Held(known) => known,
            Source::Asked(_) => Known::default(),
        };
        let known_seen = if known.xs.len() > self.xs.len() {
            Numbers::of(known.xs, self.axes)
        } else {
            Numbers::default()
        };
        Shelf {
            problem: self.problem,
            xs: &self.xs,
            rows: &self.rows,
            seen: &self.seen,
            known,
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
        match self.known {
            Source::Held(_) => {
                if self.len() < self.proposed() {
                    self.work_out(self.proposed(), rows)?;
                }
            }
            Source::Asked(_) => self.stream()?,
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

    /// Evaluates what is of this shard, and lets all of it go.
    fn stream(&mut self) -> Result<(), Error> {
        while self.len() < self.proposed() && !self.stopped {
            let unit = self.shard.unit;
            let end = ((self.len() / unit + 1) * unit).min(self.proposed());
            if self.shard.holds(self.len()) {
                self.work_out(end, &[])?;
            }
            self.xs.drain(..(end - self.base) * self.axes);
            self.rows.clear();
            self.violations.clear();
            self.base = end;
        }
        Ok(())
    }

    /// Evaluates the designs up to a number, enters them and shows them to the observer.
    fn work_out(&mut self, end: usize, rows: &[f64]) -> Result<(), Error> {
        let first = self.len();
        self.fill_rows(first, end, rows)?;
        let mut entered = Vec::new();
        for design in first..end {
            if self.enter(design) {
                entered.push(design);
            }
        }
        self.report(first, end, &entered);
        Ok(())
    }

    /// Puts the rows of known designs there; they must be the same designs.
    fn recall(&mut self, first: usize, end: usize) -> Result<usize, Error> {
        let (axes, width) = (self.axes, self.width);
        let asked;
        let (xs, rows) = match self.known {
            Source::Held(known) => {
                let last = (known.xs.len() / axes).clamp(first, end);
                match known.xs.get(first * axes..last * axes) {
                    Some(xs) => (xs, &known.rows[first * width..last * width]),
                    None => (&[][..], &[][..]),
                }
            }
            Source::Asked(recall) => {
                asked = recall(first..end);
                (&asked.0[..], &asked.1[..])
            }
        };
        let count = xs.len() / axes;
        if count * axes != xs.len() || count * width != rows.len() || count > end - first {
            return Err(Error::BadKnown);
        }
        let same = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| a.to_bits() == b.to_bits());
        let from = (first - self.base) * axes;
        for (k, x) in xs.chunks_exact(axes).enumerate() {
            if !same(&self.xs[from + k * axes..][..axes], x) {
                return Err(Error::KnownDiffers { design: first + k });
            }
        }
        self.rows.extend_from_slice(rows);
        Ok(first + count)
    }

    fn fill_rows(&mut self, first: usize, end: usize, given: &[f64]) -> Result<(), Error> {
        let (axes, width, problem) = (self.axes, self.width, self.problem);
        let known = self.recall(first, end)?;
        self.rows
            .extend_from_slice(given.get((known - first) * width..).unwrap_or_default());
        let from = self.rows.len() / width;
        let all = end - self.base;
        self.rows.resize(all * width, f64::NAN);
        let xs = &self.xs[from * axes..all * axes];
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

    /// Whether the design came onto the front.
    fn enter(&mut self, design: usize) -> bool {
        let row = &self.rows[(design - self.base) * self.width..][..self.width];
        let violation = violation(row, self.objectives, self.problem.constraints());
        self.violations.push(violation);
        let feasible = violation == 0.0;
        self.feasible += usize::from(feasible);
        let entered =
            feasible && self.objectives > 0 && self.archive.insert(&row[..self.objectives], design);
        self.entered += usize::from(entered);
        entered
    }

    fn look(&self) -> Look {
        Look {
            evaluations: self.len(),
            feasible: self.feasible,
            points: self.archive.points(self.objectives),
        }
    }

    fn report(&mut self, first: usize, end: usize, entered: &[usize]) {
        if self.trace.is_due(end) {
            self.trace.look(self.look());
        }
        let progress = Progress {
            block: first..end,
            xs: &self.xs[(first - self.base) * self.axes..(end - self.base) * self.axes],
            rows: &self.rows[(first - self.base) * self.width..(end - self.base) * self.width],
            budget: self.budget,
            feasible: self.feasible,
            entered,
            front: self.archive.len(),
            hypervolume: self.trace.hypervolume(),
        };
        self.stopped |= (self.observer)(&progress) == Next::Stop;
    }

    pub(crate) fn finish(self, ending: Ending) -> Outcome {
        let mut front = self.archive.designs();
        let trace = self.trace.finish(Look {
            evaluations: self.violations.len(),
            feasible: self.feasible,
            points: self.archive.points(self.objectives),
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

    pub(crate) fn end_stream(self, ending: Ending) -> Streamed {
        let mut front = self.archive.designs();
        front.sort_unstable();
        let last = self.look();
        Streamed {
            designs: last.evaluations,
            feasible: self.feasible,
            front,
            trace: self.trace.finish(last),
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
    known_seen: Numbers,
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
