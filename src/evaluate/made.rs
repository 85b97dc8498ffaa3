//! What is measured of a made part beside the measures: vibrations held otherwise than the study's frequency is, times of
//! the operations.

use super::build;
use super::evaluator::{Evaluator, carried as riding};
use super::stations::{loadings, stations};
use crate::part::Layout;
use crate::structure::{Carried, Model};

impl Evaluator {
    /// The first `count` natural frequencies of a design, from its variables in base units, in Hz, lowest first, by the
    /// beam: held as in a load case (by its name) or hung free (`None`), with or without what the part carries. `None`
    /// where the design is no part, can't be solved, or there is no such load case.
    pub fn frequencies(
        &self,
        variables: &[f64],
        held: Option<&str>,
        with_carried: bool,
        count: usize,
    ) -> Option<Vec<f64>> {
        let frame = self.frame.as_ref()?;
        let slots = self.known_ahead(variables);
        let part = build::part(&frame.part, &slots).ok()?;
        let layout = Layout::new(&part, &stations(&self.setup.loads, &part, &slots)).ok()?;
        let (loads, _, nodes) = loadings(&self.setup.loads, &layout, &slots);
        let made = self.setup.calibration.of_part(&part, &layout);
        let (part, layout) = made.unwrap_or((part, layout));
        let supports = match held {
            None => Vec::new(),
            Some(held) => {
                let named = self.setup.loads.iter().position(|load| load.name == held)?;
                loads.get(named)?.supports.clone()
            }
        };
        let masses = match with_carried {
            true => riding(&part, layout.length_mm, &nodes),
            false => Carried::default(),
        };
        let start = part.path.pose(layout.nodes_mm[0]);
        let model = Model::new(&layout, start, &frame.metal, &masses).ok()?;
        let modes = model.modes(&supports, count).ok()?;
        Some(modes.into_iter().map(|mode| mode.frequency_hz).collect())
    }

    /// Name, feature and time in s of every operation on the machine for a design, from its variables in base units.
    /// `None` where the design is no part.
    pub fn operation_times(&self, variables: &[f64]) -> Option<Vec<(String, String, f64)>> {
        let frame = self.frame.as_ref()?;
        let slots = self.known_ahead(variables);
        let part = build::part(&frame.part, &slots).ok()?;
        let layout = Layout::new(&part, &stations(&self.setup.loads, &part, &slots)).ok()?;
        Some(frame.works.times(&part, &layout))
    }
}
