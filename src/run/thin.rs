//! Which of many designs a run holds in memory: all of them on the disk, some of them here.

use super::data::{Designs, Thinned};

/// Designs held at most beside the baseline, the front and the least violating.
const MOST: usize = 100_000;
/// Designs that break their constraints least, held where a run may end without a front.
const LEAST_VIOLATING: usize = 40;

/// Takes designs in the order of their numbers and holds some: baseline, what came onto the front, the least
/// violating, and others evenly.
#[derive(Debug)]
pub struct Thinner {
    expected: usize,
    most: usize,
    designs: Designs,
    numbers: Vec<usize>,
    evaluated: usize,
    feasible: usize,
    /// Violation and number, least first.
    least: Vec<(f64, usize, Vec<f64>)>,
}

impl Thinner {
    /// For a number of designs expected.
    pub fn new(expected: usize) -> Self {
        Self::holding(expected, MOST)
    }

    fn holding(expected: usize, most: usize) -> Self {
        Self {
            expected,
            most,
            designs: Designs::default(),
            numbers: Vec::new(),
            evaluated: 0,
            feasible: 0,
            least: Vec::new(),
        }
    }

    /// The next design, its number, and whether it came onto the front.
    pub fn take(&mut self, design: usize, row: &[f64], violation: f64, front: bool) {
        self.evaluated += 1;
        self.feasible += usize::from(violation <= 0.0);
        let step =
            |design: usize| design as u128 * self.most as u128 / self.expected.max(1) as u128;
        let even = self.expected <= self.most || step(design + 1) > step(design);
        if even || front || design == 0 {
            self.numbers.push(design);
            self.designs.values.extend_from_slice(row);
            self.designs.violation.push(violation);
        } else if violation > 0.0 && violation.is_finite() {
            self.note_violating(design, row, violation);
        }
    }

    fn note_violating(&mut self, design: usize, row: &[f64], violation: f64) {
        let at = self.least.partition_point(|each| each.0 <= violation);
        if at < LEAST_VIOLATING {
            self.least.insert(at, (violation, design, row.to_vec()));
            self.least.truncate(LEAST_VIOLATING);
        }
    }

    /// What is held.
    pub fn finish(self) -> Designs {
        if self.numbers.len() == self.evaluated {
            return self.designs;
        }
        let width = self.designs.values.len() / self.numbers.len().max(1);
        let even = self.numbers.into_iter().enumerate().map(|(place, number)| {
            let row = &self.designs.values[place * width..(place + 1) * width];
            (number, self.designs.violation[place], row)
        });
        let least = self.least.iter();
        let least = least.map(|(violation, number, row)| (*number, *violation, row.as_slice()));
        let mut all: Vec<(usize, f64, &[f64])> = even.chain(least).collect();
        all.sort_by_key(|each| each.0);
        Designs {
            values: all.iter().flat_map(|each| each.2).copied().collect(),
            violation: all.iter().map(|each| each.1).collect(),
            thinned: Some(Thinned {
                numbers: all.iter().map(|each| each.0).collect(),
                evaluated: self.evaluated,
                feasible: self.feasible,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thinned(count: usize, most: usize) -> Designs {
        let mut thinner = Thinner::holding(count, most);
        for design in 0..count {
            let violation = if design % 10 == 3 {
                0.0
            } else {
                1.0 + design as f64
            };
            let row = [design as f64, -(design as f64)];
            thinner.take(design, &row, violation, design == 703);
        }
        thinner.finish()
    }

    #[test]
    fn few_designs_are_all_held() {
        let designs = thinned(50, 100);
        assert_eq!((designs.thinned.as_ref(), designs.len()), (None, 50));
        assert_eq!((designs.feasible(), designs.held().count()), (5, 50));
    }

    #[test]
    fn of_many_an_even_choice_and_what_matters() {
        let designs = thinned(1_000, 100);
        assert_eq!((designs.len(), designs.feasible()), (1_000, 100));
        let held: Vec<usize> = designs.held().collect();
        assert!(
            held.is_sorted() && (140..=142).contains(&held.len()),
            "{}",
            held.len()
        );
        // Baseline, front, least violating.
        for design in [0, 703, 1, 2, 4, 30] {
            assert_eq!(designs.row(design), [design as f64, -(design as f64)]);
        }
        assert_eq!(
            (designs.violation_of(703), designs.violation_of(4)),
            (0.0, 5.0)
        );
        assert!(!designs.holds(701) && designs.violation_of(701).is_infinite());
        let gaps = held.windows(2).map(|pair| pair[1] - pair[0]);
        assert!(gaps.max().unwrap() <= 10);
    }
}
