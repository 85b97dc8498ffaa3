//! The widest gaps between neighbours on the whole front.

use super::super::ledger::Ledger;

/// Gaps worth filling; two objectives only, where a front has an order.
#[derive(Clone, Debug)]
pub(super) struct Gaps {
    /// Designs on both sides, widest gap last.
    queue: Vec<(usize, usize)>,
    /// By the design on the left: on the right when it was tried last, and how often.
    tried: Vec<(usize, u32)>,
    /// Share of designs entering the front that beat none there, smoothed.
    rest: f64,
    /// Share of fillers that came to the front, smoothed.
    success: f64,
    /// Entered and beaten before the last look.
    before: (usize, usize),
}

/// Share of fillers on the front from which gaps get their full share, and least part of it.
const ENOUGH: f64 = 0.3;
const LEAST: f64 = 0.1;
/// Weight of the last generation, or filler, in what is smoothed.
const LEARNING: f64 = 0.05;
/// A try that left the gap as it was makes it count as this much narrower.
const TRIED: f64 = 0.25;
/// Gaps queued at a time, as a share of the front.
const QUEUED: usize = 8;

impl Default for Gaps {
    fn default() -> Self {
        Self {
            queue: Vec::new(),
            tried: Vec::new(),
            rest: 0.0,
            success: ENOUGH,
            before: (0, 0),
        }
    }
}

impl Gaps {
    /// Share of children, of `most`, that should fill gaps. A front that still moves leaves filled gaps behind; when what enters
    /// it beats nothing, it rests.
    pub(super) fn share(&self, ledger: &Ledger<'_>, most: f64) -> f64 {
        match ledger.objectives() {
            2 => most * self.rest * self.rest * (self.success / ENOUGH).clamp(LEAST, 1.0),
            _ => 0.0,
        }
    }

    /// Looks at how the front moved in the last generation, and what became of the designs that filled gaps.
    pub(super) fn learn(&mut self, ledger: &Ledger<'_>, fillers: impl Iterator<Item = usize>) {
        for filler in fillers {
            let success = f64::from(u8::from(ledger.is_on_front(filler)));
            self.success += LEARNING * (success - self.success);
        }
        let now = ledger.turnover();
        let (entered, beaten) = (now.0 - self.before.0, now.1 - self.before.1);
        self.before = now;
        if entered > 0 {
            let rest = 1.0 - (beaten as f64 / entered as f64).min(1.0);
            self.rest += LEARNING * (rest - self.rest);
        }
    }

    /// The designs on both sides of the widest gap, measured by the area between them.
    pub(super) fn next(&mut self, ledger: &Ledger<'_>) -> Option<(usize, usize)> {
        if self.queue.is_empty() {
            self.refill(ledger);
        }
        let (left, right) = self.queue.pop()?;
        self.tried[left] = (right, self.tries(left, right) + 1);
        Some((left, right))
    }

    fn tries(&self, left: usize, right: usize) -> u32 {
        let (other, tries) = self.tried[left];
        if other == right { tries } else { 0 }
    }

    fn refill(&mut self, ledger: &Ledger<'_>) {
        self.tried.resize(ledger.len(), (0, 0));
        let front = ledger.front();
        let gap = |pair: &[usize]| {
            let (left, right) = (pair[0], pair[1]);
            let (a, b) = (ledger.goals(left), ledger.goals(right));
            let tries = self.tries(left, right).min(64);
            let area = (b[0] - a[0]) * (a[1] - b[1]) * TRIED.powi(tries as i32);
            (area, left, right)
        };
        let mut gaps: Vec<(f64, usize, usize)> = front.windows(2).map(gap).collect();
        let order = |a: &(f64, usize, usize), b: &(f64, usize, usize)| {
            b.0.total_cmp(&a.0).then(a.1.cmp(&b.1))
        };
        let keep = (gaps.len() / QUEUED).max(QUEUED).min(gaps.len());
        if keep > 0 {
            gaps.select_nth_unstable_by(keep - 1, order);
        }
        gaps.truncate(keep);
        gaps.sort_unstable_by(order);
        self.queue
            .extend(gaps.iter().rev().map(|&(_, left, right)| (left, right)));
    }
}
