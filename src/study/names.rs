//! What a name in an expression stands for.

use crate::units::{Dimension, Unit};
use std::cell::{Cell, RefCell};
use std::ops::Range;

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    /// A design variable.
    Variable,
    /// A derived value; `after` where it uses a measure; `read` once its expression is known.
    Derived { after: bool, read: bool },
    /// A measure.
    Measure,
}

/// Which names an expression may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stage {
    /// What is known before evaluation: variables and derived values without measures.
    Before,
    /// Everything.
    After,
}

/// A name, in the order of the slots.
#[derive(Clone, Debug)]
pub(super) struct Name {
    pub name: String,
    pub unit: Unit,
    pub role: Role,
    /// Whether its definition is at fault, so that what follows from it says nothing.
    pub broken: bool,
    /// Bounds in base units.
    pub bounds: (f64, f64),
    /// Where it is defined; `None` for measures.
    pub span: Option<Range<usize>>,
}

/// All names of a study, in the order of the slots: variables, derived values, measures.
#[derive(Debug, Default)]
pub(super) struct Names {
    pub list: Vec<Name>,
    used: RefCell<Vec<bool>>,
    touched_broken: Cell<bool>,
}

impl Names {
    /// Slot and dimension of a name for the expression reader; notes that the name is used.
    pub fn find(&self, name: &str, stage: Stage) -> Option<(usize, Dimension)> {
        let slot = self.slot(name)?;
        let entry = &self.list[slot];
        if !visible(entry.role, stage) {
            return None;
        }
        let mut used = self.used.borrow_mut();
        used.resize(self.list.len(), false);
        used[slot] = true;
        if entry.broken {
            self.touched_broken.set(true);
        }
        Some((slot, entry.unit.dimension))
    }

    /// Slot of a name, visible or not.
    pub fn slot(&self, name: &str) -> Option<usize> {
        self.list.iter().position(|entry| entry.name == name)
    }

    /// Names that an expression of the stage may use.
    pub fn visible(&self, stage: Stage) -> Vec<&str> {
        let seen = self.list.iter().filter(|entry| visible(entry.role, stage));
        seen.map(|entry| entry.name.as_str()).collect()
    }

    /// Bounds of every slot.
    pub fn bounds(&self) -> Vec<(f64, f64)> {
        self.list.iter().map(|entry| entry.bounds).collect()
    }

    /// Whether any expression read so far uses the slot.
    pub fn is_used(&self, slot: usize) -> bool {
        self.used.borrow().get(slot).copied().unwrap_or(false)
    }

    /// Whether a faulty name was used since the last call.
    pub fn take_touched_broken(&self) -> bool {
        self.touched_broken.replace(false)
    }
}

fn visible(role: Role, stage: Stage) -> bool {
    match role {
        Role::Variable => true,
        Role::Derived { after, read } => read && (!after || stage == Stage::After),
        Role::Measure => stage == Stage::After,
    }
}
