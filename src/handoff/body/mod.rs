//! The exact solid of a part: one closed boundary of planes, cylinders and cones.
//!
//! Along the path everything but wall holes is a prism in the tool axis, so the solid is made from its plan: rails
//! (lines of constant `y`), stations and the circles of drilled holes divide the plan into regions, each of which is
//! metal over some heights (`plan`, `circles`). Where metal meets air there is a face: level ones from the
//! regions, upright ones from the lines between them (`patches`). Holes of walls and ribs are then let into the
//! upright faces (`wall_holes`). Boundaries are traced into loops (`trace`), and what belongs to one line is made
//! one edge (`assemble`).
//!
//! **Frame.** As [`crate::part`]: x, y of the plan, z the tool axis, z = 0 the underside of the floor; mm and rad.

mod assemble;
mod check;
mod circles;
mod crossing;
mod error;
mod geometry;
mod grid;
mod meet;
mod patches;
mod plan;
mod spline;
mod trace;
mod tube;
mod volume;
mod wall_cut;
mod wall_holes;

pub use check::{Fault, Topology};
pub use error::BodyError;
pub use geometry::{Curve, Frame, Surface, Vec3};
pub use spline::{DEGREE, Spline};

use crate::part::{Layout, Part};

/// A piece of a curve between two vertices.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// The curve; circles are run counter-clockwise about their axis.
    pub curve: Curve,
    /// Index of the vertex at the start.
    pub from: usize,
    /// Index of the vertex at the end; the start's on a full circle.
    pub to: usize,
}

/// An edge as a loop uses it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Use {
    /// Index of the edge.
    pub edge: usize,
    /// Whether the loop runs along the edge (or against it).
    pub forward: bool,
}

/// A piece of a surface within loops.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// The surface.
    pub surface: Surface,
    /// Whether the metal lies behind the surface's own normal, so that this points into the air.
    pub same_sense: bool,
    /// Boundaries, the outer one first: seen from the air the face lies to the left of each. A face around a whole
    /// cylinder or cone has one loop, which runs along a seam once each way.
    pub loops: Vec<Vec<Use>>,
}

/// The boundary of one closed solid, in mm. See the [module](self).
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Corners.
    pub vertices: Vec<Vec3>,
    /// Edges; each is used once each way.
    pub edges: Vec<Edge>,
    /// Faces.
    pub faces: Vec<Face>,
}

impl Body {
    /// The solid of a part. `layout` must be of `part`.
    ///
    /// The same part gives the same body to the bit.
    ///
    /// # Errors
    /// [`BodyError`]: a geometric rule is broken, a hole breaks over a border where its edge can't be made, metal
    /// falls apart or hangs together by an edge or a point only.
    pub fn of(part: &Part, layout: &Layout) -> Result<Body, BodyError> {
        error::keeps_rules(part, layout)?;
        let grid = grid::Grid::of(part, layout)?;
        let holes = wall_holes::place(part, layout, &grid)?;
        let mut plan = plan::Plan::of(
            &grid,
            circles::levels(part, &grid),
            wall_holes::levels(&holes),
        );
        crossing::none(&grid, &plan)?;
        circles::cut(part, layout, &grid, &mut plan)?;
        let mut patches = patches::Patches::of(&plan);
        wall_cut::cut(part, &grid, &plan, &holes, &mut patches)?;
        let body = assemble::body(&plan, patches)?;
        body.check().map_err(BodyError::from)?;
        Ok(body)
    }

    /// A point on an edge, a share 0 to 1 of its parameter from its start; and the derivative by this share.
    pub fn along(&self, edge: usize, share: f64) -> (Vec3, Vec3) {
        let each = &self.edges[edge];
        each.curve.along(
            self.vertices[each.from],
            self.vertices[each.to],
            each.from == each.to,
            share,
        )
    }
}
