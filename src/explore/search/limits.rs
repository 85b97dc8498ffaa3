//! Back to the limits: a child that would be on the front, were it feasible, is tried again nearer to its parent.

use super::super::ledger::Ledger;

/// A feasible design, one beyond the limits that came from it, and how often it was tried to go between.
#[derive(Clone, Copy, Debug)]
pub(super) struct Crossing {
    pub(super) inside: usize,
    outside: usize,
    pub(super) tries: u32,
}

/// Tries between a feasible design and one beyond the limits.
const MOST_TRIES: u32 = 2;
/// Share of the way to the limit that is gone: a limit that curves inward is met at the first try.
const SHORT: f64 = 0.9;

impl Crossing {
    /// The crossing worth a try between a design and its child, if there is one.
    pub(super) fn between(
        ledger: &Ledger<'_>,
        parent: usize,
        child: usize,
        tries: u32,
    ) -> Option<Self> {
        let violation = ledger.violation(child);
        let crossed = violation > 0.0 && violation.is_finite() && ledger.violation(parent) == 0.0;
        (crossed && tries < MOST_TRIES && !ledger.is_beaten(child)).then_some(Self {
            inside: parent,
            outside: child,
            tries,
        })
    }

    /// Both designs, and the share of the way from the one inside to the one outside where the first limit is met,
    /// were they straight, or a little less.
    ///
    /// The rule of false position, known since antiquity, with the nearest of several roots.
    pub(super) fn place(&self, ledger: &Ledger<'_>) -> (usize, usize, f64) {
        let (inside, outside) = (ledger.limits(self.inside), ledger.limits(self.outside));
        let met = |(from, to): (&f64, &f64)| (*to > 0.0).then(|| from / (from - to));
        let first = inside.iter().zip(outside).filter_map(met);
        (self.inside, self.outside, SHORT * first.fold(1.0, f64::min))
    }
}
