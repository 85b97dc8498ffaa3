//! Which designs there are already.

/// A set of designs, by their variables or, where these are let go, by a fingerprint of them.
pub(crate) enum Seen {
    /// Compared number by number with the designs held.
    Held(Numbers),
    /// Compared by 64 bits each, so that a design costs 9 to 18 bytes. Two designs out of 10^7 share theirs with a
    /// probability of 3 in a million; the later one is then left out as if it were the same.
    Marked(Marks),
}

impl Seen {
    /// Appends `x` to `xs` unless it is there.
    pub(crate) fn insert(&mut self, x: &[f64], xs: &mut Vec<f64>) -> bool {
        match self {
            Self::Held(numbers) => numbers.insert(x, xs),
            Self::Marked(marks) => {
                let new = marks.insert(hash(x));
                if new {
                    xs.extend_from_slice(x);
                }
                new
            }
        }
    }

    /// Where a design is among those held.
    pub(crate) fn position(&self, x: &[f64], xs: &[f64]) -> Option<usize> {
        match self {
            Self::Held(numbers) => numbers.position(x, xs),
            Self::Marked(_) => None,
        }
    }
}

/// A hash table of 64-bit marks, open addressing, at most seven eighths full.
#[derive(Default)]
pub(crate) struct Marks {
    /// 0: free.
    slots: Vec<u64>,
    count: usize,
}

impl Marks {
    fn insert(&mut self, hash: u64) -> bool {
        let mark = hash.max(1);
        if (self.count + 1) * 8 > self.slots.len() * 7 {
            self.grow();
        }
        let new = place(&mut self.slots, mark);
        self.count += usize::from(new);
        new
    }

    fn grow(&mut self) {
        let old = std::mem::take(&mut self.slots);
        self.slots = vec![0; (old.len() * 2).max(1_024)];
        for mark in old.into_iter().filter(|mark| *mark != 0) {
            place(&mut self.slots, mark);
        }
    }
}

fn place(slots: &mut [u64], mark: u64) -> bool {
    let mut slot = mark as usize & (slots.len() - 1);
    while slots[slot] != 0 {
        if slots[slot] == mark {
            return false;
        }
        slot = (slot + 1) & (slots.len() - 1);
    }
    slots[slot] = mark;
    true
}

/// A hash table of indices, open addressing.
#[derive(Default)]
pub(crate) struct Numbers {
    slots: Vec<u32>,
    count: usize,
}

impl Numbers {
    pub(crate) fn of(xs: &[f64], axes: usize) -> Self {
        let mut seen = Self::default();
        let mut copy = Vec::with_capacity(xs.len());
        xs.chunks_exact(axes).for_each(|x| {
            seen.insert(x, &mut copy);
        });
        seen
    }

    pub(crate) fn position(&self, x: &[f64], xs: &[f64]) -> Option<usize> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_kinds_tell_new_designs_from_old() {
        for mut seen in [
            Seen::Held(Numbers::default()),
            Seen::Marked(Marks::default()),
        ] {
            let mut xs = Vec::new();
            for k in 0..20_000 {
                let x = [f64::from(k % 9_000) / 7.0, f64::from(k % 9_000 % 13)];
                assert_eq!(seen.insert(&x, &mut xs), k < 9_000, "{k}");
            }
            assert_eq!(xs.len(), 18_000);
            let zero = [0.0, 0.0];
            assert!(!seen.insert(&zero.map(|x: f64| -x), &mut xs), "-0 is 0");
        }
    }
}
