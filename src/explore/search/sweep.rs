//! The neighbours of one design on its discrete axes.

use super::super::ledger::Ledger;
use super::Search;

impl Search<'_> {
    /// Proposes the designs that differ from one by a step on one discrete axis, or on two, as far as there is room.
    /// Returns how many are new.
    pub(super) fn propose_neighbours(&mut self, ledger: &mut Ledger<'_>, design: usize) -> usize {
        let steps: Vec<(usize, f64)> = (0..self.scales.len())
            .filter_map(|axis| self.scales[axis].count.map(|count| (axis, count)))
            .filter(|(_, count)| *count > 1)
            .flat_map(|(axis, count)| [(axis, -1.0 / count as f64), (axis, 1.0 / count as f64)])
            .collect();
        let before = ledger.proposed();
        for &one in &steps {
            self.propose_step(ledger, design, &[one]);
        }
        for (k, &one) in steps.iter().enumerate() {
            for &other in steps[k + 1..].iter().filter(|other| other.0 != one.0) {
                self.propose_step(ledger, design, &[one, other]);
            }
        }
        ledger.proposed() - before
    }

    fn propose_step(&mut self, ledger: &mut Ledger<'_>, design: usize, steps: &[(usize, f64)]) {
        let axes = self.scales.len();
        self.x.clear();
        self.x.extend_from_slice(ledger.x(design));
        for &(axis, step) in steps {
            let place = self.places[design * axes + axis] + step;
            if !(0.0..1.0).contains(&place) {
                return;
            }
            self.x[axis] = self.scales[axis].value(place);
        }
        ledger.propose(&self.x);
    }
}
