//! A load case on a model: displacements, reactions, stress.

use super::block::{Row, add_row, dot};
use super::error::StructureError;
use super::factor::to_plan;
use super::model::Model;
use super::stress::{HoleStress, Stresses, StripStress};
use super::{Action, Frame, Loading};

/// What a load case does to a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadResponse {
    /// At every node of the layout, plan axes: displacement x, y, z in mm, rotation about x, y, z in rad, and
    /// the warping amplitude (rate of twist) in rad/mm. Of a floating frame: relative to its mean motion,
    /// nodes weighted by the mass of the adjoining segments.
    pub displacements: Vec<[f64; 7]>,
    /// Work coefficient of the actions, in N mm: sum of force x displacement of its point and moment x
    /// rotation. A single force P so has the stiffness P² / work.
    pub work_n_mm: f64,
    /// Greatest displacement of the path at a node, in mm.
    pub greatest_displacement_mm: f64,
    /// The node of the layout where that is.
    pub greatest_displacement_node: usize,
    /// Greatest nominal stress of every strip, the most stressed first.
    pub strips: Vec<StripStress>,
    /// Greatest local stress at the holes of every row, the most stressed first; empty where nothing is drilled.
    pub holes: Vec<HoleStress>,
    /// Of every support in order: force in N and moment in N mm on the frame, plan axes, and bimoment in
    /// N mm².
    pub reactions: Vec<[f64; 7]>,
    /// Motion of every node of the chain in path axes, for [`Model::field`].
    pub(super) chain: Vec<Row>,
}

impl Model {
    /// The frame's response to a load case.
    ///
    /// Without supports the frame floats: actions and inertia forces must balance, and rigid motion is taken
    /// out of the result.
    ///
    /// # Errors
    /// [`StructureError::FreeToMove`], [`StructureError::Unbalanced`], [`StructureError::NoNode`],
    /// [`StructureError::MixedAxes`], [`StructureError::Size`].
    pub fn solve(&mut self, loading: &Loading) -> Result<LoadResponse, StructureError> {
        let factor = self.factor(&loading.supports)?;
        let mut loads = vec![[0.0; 8]; self.poses.len()];
        for action in &loading.actions {
            let node = self.action_node(action)?;
            let row = self.action_row(action, node);
            add_row(&mut loads[node], 1.0, &row);
        }
        let accelerated = loading.acceleration != [0.0; 3];
        let mut acceleration = Vec::new();
        if accelerated {
            if loading.acceleration.iter().any(|a| !a.is_finite()) {
                return Err(StructureError::Size {
                    what: "an acceleration in mm/s2",
                    value: loading.acceleration.iter().sum(),
                });
            }
            acceleration = self.translation(loading.acceleration);
            self.add_inertia(&acceleration, -1.0, &mut loads);
        }
        if loading.supports.is_empty() {
            self.check_balance(&loads)?;
        }
        let mut motion = loads.clone();
        self.substitute(factor, &mut motion);
        let reactions = self.reactions(loading, factor, &motion, &loads);
        if loading.supports.is_empty() {
            self.remove_mean(&mut motion);
        }
        let mut stresses = Stresses::new(self, self.length() / 40.0);
        let fixed = accelerated.then_some(acceleration.as_slice());
        stresses.look(self, &motion, fixed);
        let displacements: Vec<[f64; 7]> = self
            .chain_nodes
            .iter()
            .map(|&node| {
                let mut row = motion[node];
                to_plan(&mut row, self.headings[node]);
                std::array::from_fn(|k| row[k])
            })
            .collect();
        let (mut greatest, mut at) = (0.0, 0);
        for (node, d) in displacements.iter().enumerate() {
            let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
            if length > greatest {
                (greatest, at) = (length, node);
            }
        }
        let work = loading
            .actions
            .iter()
            .map(|action| {
                let node = self.chain_nodes[action.node];
                dot(&self.action_row(action, node), &motion[node])
            })
            .sum();
        let (strips, holes) = stresses.finish(self);
        Ok(LoadResponse {
            displacements,
            work_n_mm: work,
            greatest_displacement_mm: greatest,
            greatest_displacement_node: at,
            strips,
            holes,
            reactions,
            chain: motion,
        })
    }

    fn action_node(&self, action: &Action) -> Result<usize, StructureError> {
        self.check_node(action.node)?;
        let numbers = action.force.iter().chain(&action.moment);
        for &value in numbers.chain([&action.offset_mm.0, &action.offset_mm.1]) {
            if !value.is_finite() {
                return Err(StructureError::Size {
                    what: "a component of an action",
                    value,
                });
            }
        }
        Ok(self.chain_nodes[action.node])
    }

    /// An action as a load on the path line at its node, in the axes of the path.
    fn action_row(&self, action: &Action, node: usize) -> Row {
        let (f, m) = (action.force, action.moment);
        let mut row = [f[0], f[1], f[2], m[0], m[1], m[2], 0.0, 0.0];
        if action.frame == Frame::Plan {
            let (sin, cos) = self.headings[node];
            to_plan(&mut row, (-sin, cos));
        }
        let (y, z) = action.offset_mm;
        row[3] += y * row[2] - z * row[1];
        row[4] += z * row[0];
        row[5] -= y * row[0];
        row
    }

    /// A uniform translation of all nodes, in path axes.
    pub(super) fn translation(&self, plan: [f64; 3]) -> Vec<Row> {
        self.headings
            .iter()
            .map(|(sin, cos)| {
                let along = cos * plan[0] + sin * plan[1];
                let left = cos * plan[1] - sin * plan[0];
                [along, left, plan[2], 0.0, 0.0, 0.0, 0.0, 0.0]
            })
            .collect()
    }

    /// Checks that the loads of a floating frame do no work in its rigid motions.
    fn check_balance(&self, loads: &[Row]) -> Result<(), StructureError> {
        let size = self.size();
        let mut sum = [0.0; 6];
        let mut scale = 0.0;
        for (node, load) in loads.iter().enumerate() {
            let motions = self.rigid_motions(node);
            for (value, motion) in sum.iter_mut().zip(&motions) {
                *value += dot(motion, load);
            }
            for k in 0..6 {
                scale += load[k].abs() * if k < 3 { size } else { 1.0 };
            }
        }
        let residual = (0..6)
            .map(|k| sum[k].abs() * if k < 3 { size } else { 1.0 })
            .fold(0.0, f64::max);
        if residual <= 1e-6 * scale {
            return Ok(());
        }
        let (x, y) = self.middle;
        Err(StructureError::Unbalanced {
            force: [sum[0], sum[1], sum[2]],
            moment: [
                sum[3] + y * sum[2],
                sum[4] - x * sum[2],
                sum[5] + x * sum[1] - y * sum[0],
            ],
        })
    }

    /// Takes the mean rigid motion out of a floating frame's motion.
    fn remove_mean(&self, motion: &mut [Row]) {
        let mut weights = vec![0.0; motion.len()];
        for (index, piece) in self.pieces.iter().enumerate() {
            let half = 0.5 * piece.length_mm * self.laws[piece.kind].mass.mass;
            weights[index] += half;
            weights[self.far(index)] += half;
        }
        for (node, mass) in &self.points {
            weights[*node] += mass.mass;
        }
        let mut gram = nalgebra::SMatrix::<f64, 6, 6>::zeros();
        let mut mean = nalgebra::SVector::<f64, 6>::zeros();
        for (node, row) in motion.iter().enumerate() {
            let rigid = self.rigid_motions(node);
            for i in 0..6 {
                let moved = |a: &Row, b: &Row| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
                mean[i] += weights[node] * moved(&rigid[i], row);
                for j in 0..6 {
                    gram[(i, j)] += weights[node] * moved(&rigid[i], &rigid[j]);
                }
            }
        }
        // A straight frame does not see its turn about itself: nothing is taken out there.
        let scale = gram.diagonal().max();
        for i in 0..6 {
            gram[(i, i)] += 1e-13 * scale;
        }
        let Some(solution) = gram.cholesky().map(|c| c.solve(&mean)) else {
            return;
        };
        for (node, row) in motion.iter_mut().enumerate() {
            let rigid = self.rigid_motions(node);
            for i in 0..6 {
                add_row(row, -solution[i], &rigid[i]);
            }
        }
    }

    /// Forces that the supports exert: what the elements need beyond the loads.
    fn reactions(
        &self,
        loading: &Loading,
        factor: usize,
        motion: &[Row],
        loads: &[Row],
    ) -> Vec<[f64; 7]> {
        if loading.supports.is_empty() {
            return Vec::new();
        }
        let holds = self.holds_of(factor);
        let mut taken = vec![false; holds.len()];
        let mut reactions = Vec::with_capacity(loading.supports.len());
        for support in &loading.supports {
            let node = self.chain_nodes[support.node];
            let place = holds.iter().position(|hold| hold.node == node);
            let mut row = [0.0; 8];
            if let Some(place) = place.filter(|&place| !taken[place]) {
                taken[place] = true;
                row = self.element_force(node, motion);
                add_row(&mut row, -1.0, &loads[node]);
                let hold = holds[place];
                if let Some(plan) = hold.plan {
                    to_plan(&mut row, plan);
                }
                for (value, held) in row.iter_mut().zip(hold.held) {
                    if !held {
                        *value = 0.0;
                    }
                }
                if hold.plan.is_none() {
                    to_plan(&mut row, self.headings[node]);
                }
            }
            reactions.push(std::array::from_fn(|k| row[k]));
        }
        reactions
    }

    /// Stiffness times motion at one node.
    fn element_force(&self, node: usize, motion: &[Row]) -> Row {
        let mut row = [0.0; 8];
        let forces = |piece: usize| {
            let far = self.far(piece);
            self.level(&self.pieces[piece])
                .forces(&motion[piece], &motion[far])
        };
        if node < self.pieces.len() {
            add_row(&mut row, 1.0, &forces(node).0);
        }
        if node > 0 {
            add_row(&mut row, 1.0, &forces(node - 1).1);
        } else if self.closed {
            add_row(&mut row, 1.0, &forces(self.pieces.len() - 1).1);
        }
        row
    }
}
