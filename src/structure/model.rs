//! The frame as a chain of pieces, ready to be loaded.

use super::block::{Row, add_row};
use super::check::check;
use super::distortion::outside_validated_range;
use super::element::{Element, Level};
use super::error::{Caution, StructureError};
use super::factor::{Factor, Hold};
use super::piece::momentum;
use super::run::Run;
use super::section::{MassLaw, Metal, SectionLaw, SectionProperties};
use super::wide::wide;
use super::{Frame, Support};
use crate::part::{Layout, Pose, SegmentKind};

/// A mass fixed to the frame at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointMass {
    /// Node of the layout.
    pub node: usize,
    /// Mass, in t.
    pub mass_t: f64,
    /// Its centre off the path, (y, z) in mm.
    pub offset_mm: (f64, f64),
}

/// What rides on the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Carried {
    /// Masses at nodes.
    pub points: Vec<PointMass>,
    /// Mass spread along the whole path, in t per mm of path.
    pub spread_t_per_mm: f64,
    /// Centre of the spread mass off the path, (y, z) in mm.
    pub spread_offset_mm: (f64, f64),
}

/// Pieces that the whole path is cut into at least; longer segments are halved.
const LEAST_PIECES: f64 = 9.0;

/// One element of the chain.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    pub kind: usize,
    /// Which level of the kind's element.
    pub level: usize,
    pub segment: usize,
    pub start_mm: f64,
    pub length_mm: f64,
}

/// A frame of one metal with its sections, elements and masses computed.
///
/// Build it once per design; [`Model::solve`] and [`Model::first_frequency_hz`] share factorisations between
/// equal sets of supports.
#[derive(Clone, Debug)]
pub struct Model {
    pub(super) closed: bool,
    pub(super) laws: Vec<SectionLaw>,
    pub(super) elements: Vec<Element>,
    /// Curvature of each kind.
    pub(super) curvatures: Vec<f64>,
    pub(super) pieces: Vec<Piece>,
    /// Pose of the path at every node of the chain.
    pub(super) poses: Vec<Pose>,
    /// Sine and cosine of the heading there.
    pub(super) headings: Vec<(f64, f64)>,
    /// Node of the chain for each node of the layout.
    pub(super) chain_nodes: Vec<usize>,
    pub(super) points: Vec<(usize, MassLaw)>,
    pub(super) middle: (f64, f64),
    /// Strips that a section can have: floor, two walls, the most ribs.
    pub(super) strips: usize,
    pub(super) modulus_mpa: f64,
    /// Rows of holes that the part can have.
    pub(super) rows: usize,
    cautions: Vec<Caution>,
    runs: Vec<Run>,
    factors: Vec<(Vec<Support>, Factor)>,
}

impl Model {
    /// The model of a layout whose path starts at `start` in the plan.
    ///
    /// # Errors
    /// [`StructureError::Size`], [`StructureError::Tight`] and [`StructureError::NoNode`] for input that
    /// makes no frame.
    pub fn new(
        layout: &Layout,
        start: Pose,
        metal: &Metal,
        carried: &Carried,
    ) -> Result<Model, StructureError> {
        check(layout, metal, carried)?;
        let total: f64 = layout
            .segments
            .iter()
            .map(|s| layout.kinds[s.kind].length_mm)
            .sum();
        let mut laws: Vec<SectionLaw> = Vec::with_capacity(layout.kinds.len());
        let mut elements = Vec::with_capacity(layout.kinds.len());
        let mut cautions = Vec::new();
        let mut halvings = Vec::with_capacity(layout.kinds.len());
        for (index, kind) in layout.kinds.iter().enumerate() {
            let section = &layout.sections[kind.section];
            // Kinds that differ in length only have one law.
            let alike = |other: &SegmentKind| {
                other.section == kind.section
                    && other.curvature == kind.curvature
                    && other.perforations == kind.perforations
            };
            let law = match layout.kinds[..index].iter().position(alike) {
                Some(known) => laws[known].clone(),
                None => {
                    let mut law =
                        SectionLaw::new(section, &kind.perforations, kind.curvature, metal);
                    add_spread(&mut law.mass, carried);
                    law
                }
            };
            let halved = (LEAST_PIECES * kind.length_mm / total)
                .log2()
                .ceil()
                .max(0.0) as usize;
            let fine = (24.0 * kind.length_mm / total).log2().ceil().max(0.0) as usize;
            let least = (halved + 1).max(fine);
            elements.push(Element::new(&law, kind.length_mm, kind.curvature, least));
            laws.push(law);
            halvings.push(halved);
            if let Some(reason) = outside_validated_range(section, kind.curvature) {
                cautions.push(Caution {
                    kind: index,
                    reason,
                });
            }
        }
        let count: usize = layout.segments.iter().map(|s| 1 << halvings[s.kind]).sum();
        let mut pieces = Vec::with_capacity(count);
        let mut poses = Vec::with_capacity(count + 1);
        let mut chain_nodes = Vec::with_capacity(layout.nodes_mm.len());
        let mut pose = start;
        for (segment, part) in layout.segments.iter().enumerate() {
            let kind = &layout.kinds[part.kind];
            let parts = 1_usize << halvings[part.kind];
            let length = kind.length_mm / parts as f64;
            chain_nodes.push(pieces.len());
            for k in 0..parts {
                pieces.push(Piece {
                    kind: part.kind,
                    level: elements[part.kind].levels.len() - 1 - halvings[part.kind],
                    segment,
                    start_mm: part.start_mm + k as f64 * length,
                    length_mm: length,
                });
                poses.push(pose);
                pose = pose.advance(length, kind.curvature);
            }
        }
        if !layout.closed {
            chain_nodes.push(pieces.len());
            poses.push(pose);
        }
        let over = 1.0 / poses.len() as f64;
        let middle = (
            poses.iter().map(|pose| pose.x).sum::<f64>() * over,
            poses.iter().map(|pose| pose.y).sum::<f64>() * over,
        );
        let points = carried
            .points
            .iter()
            .map(|point| (chain_nodes[point.node], point_mass(point)))
            .collect();
        Ok(Model {
            closed: layout.closed,
            laws,
            elements,
            curvatures: layout.kinds.iter().map(|kind| kind.curvature).collect(),
            headings: poses.iter().map(|pose| pose.heading.sin_cos()).collect(),
            pieces,
            poses,
            chain_nodes,
            points,
            middle,
            strips: 3 + layout
                .sections
                .iter()
                .map(|s| s.ribs.len())
                .max()
                .unwrap_or(0),
            modulus_mpa: metal.modulus_mpa,
            rows: layout
                .kinds
                .iter()
                .flat_map(|kind| &kind.perforations)
                .map(|perforation| perforation.row + 1)
                .max()
                .unwrap_or(0),
            cautions,
            runs: Vec::new(),
            factors: Vec::new(),
        })
    }

    /// The same frame cut into other pieces, `poses` at their ends; `nodes`: the new node of each old one.
    pub(super) fn recut(&self, pieces: Vec<Piece>, poses: Vec<Pose>, nodes: &[usize]) -> Model {
        Model {
            closed: self.closed,
            laws: self.laws.clone(),
            elements: self.elements.clone(),
            curvatures: self.curvatures.clone(),
            headings: poses.iter().map(|pose| pose.heading.sin_cos()).collect(),
            pieces,
            poses,
            chain_nodes: self.chain_nodes.iter().map(|&node| nodes[node]).collect(),
            points: self
                .points
                .iter()
                .map(|&(node, mass)| (nodes[node], mass))
                .collect(),
            middle: self.middle,
            strips: self.strips,
            modulus_mpa: self.modulus_mpa,
            rows: self.rows,
            cautions: self.cautions.clone(),
            runs: Vec::new(),
            factors: Vec::new(),
        }
    }

    /// Properties of the section of a segment kind of the layout, for the sheet.
    pub fn section_properties(&self, kind: usize) -> Option<&SectionProperties> {
        self.laws.get(kind).map(|law| &law.properties)
    }

    /// Segment kinds whose sections are outside the range in which the beam was checked.
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }

    pub(super) fn level(&self, piece: &Piece) -> &Level {
        &self.elements[piece.kind].levels[piece.level]
    }

    /// Node of the chain at the end of a piece.
    pub(super) fn far(&self, piece: usize) -> usize {
        if piece + 1 == self.poses.len() {
            0
        } else {
            piece + 1
        }
    }

    /// The factorisation for a set of supports, made now or found.
    pub(super) fn factor(&mut self, supports: &[Support]) -> Result<usize, StructureError> {
        if let Some(index) = self.factors.iter().position(|known| known.0 == supports) {
            return Ok(index);
        }
        let holds = self.holds(supports)?;
        let keys: Vec<_> = self
            .pieces
            .iter()
            .map(|piece| (piece.kind, piece.level))
            .collect();
        let factor = Factor::new(self.closed, &keys, &self.elements, &mut self.runs, holds)
            .map_err(|(node, freedom)| self.singular(node, freedom))?;
        self.factors.push((supports.to_vec(), factor));
        Ok(self.factors.len() - 1)
    }

    /// Replaces loads by displacements with a factorisation.
    pub(super) fn substitute(&self, factor: usize, loads: &mut [Row]) {
        self.factors[factor].1.solve(&self.runs, loads);
    }

    /// The supports of a factorisation.
    pub(super) fn holds_of(&self, factor: usize) -> &[Hold] {
        self.factors[factor].1.holds()
    }

    fn singular(&self, node: usize, freedom: usize) -> StructureError {
        let layout_node = self
            .chain_nodes
            .iter()
            .rposition(|&at| at <= node)
            .unwrap_or(0);
        StructureError::Singular {
            node: layout_node,
            freedom,
        }
    }

    /// Held degrees of freedom of the chain; of a floating frame, node 0 but for its warping.
    fn holds(&self, supports: &[Support]) -> Result<Vec<Hold>, StructureError> {
        if supports.is_empty() {
            let held = [true, true, true, true, true, true, false];
            return Ok(vec![Hold {
                node: 0,
                held,
                plan: None,
            }]);
        }
        let mut holds: Vec<Hold> = Vec::with_capacity(supports.len());
        for support in supports {
            self.check_node(support.node)?;
            let node = self.chain_nodes[support.node];
            let (m, t) = (support.hold_move, support.hold_turn);
            let held = [m[0], m[1], m[2], t[0], t[1], t[2], support.hold_warp];
            let even = m[0] == m[1] && t[0] == t[1];
            let plan = (support.frame == Frame::Plan && !even).then(|| self.headings[node]);
            match holds.iter_mut().find(|hold| hold.node == node) {
                None => holds.push(Hold { node, held, plan }),
                Some(hold) => {
                    let known_even = hold.held[0] == hold.held[1] && hold.held[3] == hold.held[4];
                    if hold.plan.is_some() != plan.is_some() && !even && !known_even {
                        return Err(StructureError::MixedAxes { node: support.node });
                    }
                    hold.plan = hold.plan.or(plan);
                    for (value, more) in hold.held.iter_mut().zip(held) {
                        *value |= more;
                    }
                }
            }
        }
        self.check_held(&holds)?;
        Ok(holds)
    }

    /// Checks that no rigid motion is left: the frame has no inner hinges, so nothing else can be free.
    fn check_held(&self, holds: &[Hold]) -> Result<(), StructureError> {
        let size = self.size();
        let mut gram = nalgebra::SMatrix::<f64, 6, 6>::zeros();
        for hold in holds {
            let motions = self.rigid_motions(hold.node);
            for k in 0..6 {
                if !hold.held[k] {
                    continue;
                }
                let mut line = nalgebra::SVector::<f64, 6>::zeros();
                for (motion, value) in line.iter_mut().enumerate() {
                    let mut row = motions[motion];
                    if let Some(plan) = hold.plan {
                        super::factor::to_plan(&mut row, plan);
                    }
                    // Rotations in units of 1 / size, so that all are displacements.
                    let scale = if k < 3 { 1.0 } else { size };
                    *value = row[k] * scale * if motion < 3 { 1.0 } else { 1.0 / size };
                }
                gram += line * line.transpose();
            }
        }
        if gram
            .cholesky()
            .is_some_and(|l| l.l_dirty().diagonal().min() > 1e-3)
        {
            return Ok(());
        }
        let eigen = gram.symmetric_eigen();
        let (index, least) = eigen.eigenvalues.argmin();
        if least > 1e-9 {
            return Ok(());
        }
        let free = eigen.eigenvectors.column(index);
        let round = |value: f64| if value.abs() < 1e-6 { 0.0 } else { value };
        let mut slide = [round(free[0]), round(free[1]), round(free[2])];
        let mut turn = [round(free[3]), round(free[4]), round(free[5])];
        unit(&mut turn);
        unit(&mut slide);
        Err(StructureError::FreeToMove { slide, turn })
    }

    /// Length of the path, in mm.
    pub(super) fn length(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.length_mm).sum()
    }

    /// Greatest distance of a node from the middle, in mm.
    pub(super) fn size(&self) -> f64 {
        self.poses
            .iter()
            .map(|pose| (pose.x - self.middle.0).hypot(pose.y - self.middle.1))
            .fold(1e-3, f64::max)
    }

    /// The six rigid motions of the frame at a node of the chain, in the axes of the path there: along and
    /// about the plan's x, y, z through the frame's middle.
    pub(super) fn rigid_motions(&self, node: usize) -> [Row; 6] {
        let (sin, cos) = self.headings[node];
        let x = self.poses[node].x - self.middle.0;
        let y = self.poses[node].y - self.middle.1;
        [
            [cos, -sin, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            [sin, cos, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            [0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            [0.0, 0.0, y, cos, -sin, 0.0, 0.0, 0.0],
            [0.0, 0.0, -x, sin, cos, 0.0, 0.0, 0.0],
            [
                x * sin - y * cos,
                x * cos + y * sin,
                0.0,
                0.0,
                0.0,
                1.0,
                0.0,
                0.0,
            ],
        ]
    }

    /// Adds the mass matrix times a motion of the chain's nodes to `out`.
    pub(super) fn add_inertia(&self, motion: &[Row], factor: f64, out: &mut [Row]) {
        add_inertia(self, motion, factor, out);
    }

    #[inline(always)]
    fn inertia(&self, motion: &[Row], factor: f64, out: &mut [Row]) {
        for (index, piece) in self.pieces.iter().enumerate() {
            let far = self.far(index);
            let (near, away) = self.level(piece).inertia(&motion[index], &motion[far]);
            add_row(&mut out[index], factor, &near);
            add_row(&mut out[far], factor, &away);
        }
        for (node, mass) in &self.points {
            add_row(
                &mut out[*node],
                factor,
                &point_momentum(mass, &motion[*node]),
            );
        }
    }

    pub(super) fn check_node(&self, node: usize) -> Result<(), StructureError> {
        let nodes = self.chain_nodes.len();
        if node < nodes {
            Ok(())
        } else {
            Err(StructureError::NoNode { node, nodes })
        }
    }
}

wide! {
    fn add_inertia<'a>(model: &'a Model, motion: &'a [Row], factor: f64, out: &'a mut [Row]) -> () = Model::inertia;
}

/// Momentum of a point mass moving with its node.
pub(super) fn point_momentum(mass: &MassLaw, m: &Row) -> Row {
    let p = momentum(mass, &[m[0], m[1], m[2], m[3], m[4], m[5]]);
    [p[0], p[1], p[2], p[3], p[4], p[5], 0.0, 0.0]
}

fn unit(v: &mut [f64; 3]) {
    let length = v.iter().map(|x| x * x).sum::<f64>().sqrt();
    if length > 0.0 {
        for x in v {
            *x /= length;
        }
    }
}

fn add_spread(law: &mut MassLaw, carried: &Carried) {
    let ((y, z), m) = (carried.spread_offset_mm, carried.spread_t_per_mm);
    law.mass += m;
    law.y += m * y;
    law.z += m * z;
    law.yy += m * y * y;
    law.zz += m * z * z;
    law.yz += m * y * z;
}

fn point_mass(point: &PointMass) -> MassLaw {
    let ((y, z), m) = (point.offset_mm, point.mass_t);
    MassLaw {
        mass: m,
        y: m * y,
        z: m * z,
        yy: m * y * y,
        zz: m * z * z,
        yz: m * y * z,
    }
}
