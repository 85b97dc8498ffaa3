//! A body reduced to some of its unknowns: the one operation that elements, slabs and frames are built with.
//!
//! With unknowns (e, k), of which e are eliminated, and loads W r of amplitudes r,
//!
//! ```text
//! [K_ee K_ek] [u_e]   [W_e]          S = K_kk - K_ke K_ee⁻¹ K_ek      W' = W_k - K_ke K_ee⁻¹ W_e
//! [K_ke K_kk] [u_k] = [W_k] r        G' = G + W_eᵀ K_ee⁻¹ W_e
//! ```
//!
//! G is the give under the amplitudes with the kept unknowns held, so that -1/2 rᵀ G r is the part of the
//! potential that no longer has unknowns. Source: Guyan 1965; Przemieniecki, Matrix structural analysis of
//! substructures, 1963 (both from memory). With K_ee = L Lᵀ everything is dense work of the third order.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor as cholesky;
use faer::linalg::matmul::matmul;
use faer::linalg::matmul::triangular::{BlockStructure, matmul as triangular};
use faer::linalg::triangular_solve as solve;
use faer::prelude::ReborrowMut;
use faer::{Accum, Mat, MatMut, MatRef, Par};

/// A body on its kept unknowns.
#[derive(Clone, Debug)]
pub(super) struct Reduced {
    /// Stiffness (k, k); only the lower triangle holds.
    pub stiffness: Mat<f64>,
    /// Loads (k, c) of the amplitudes.
    pub loads: Mat<f64>,
    /// Give (c, c).
    pub give: Mat<f64>,
    /// Mass (k, k), full; empty where it is not wanted.
    pub mass: Mat<f64>,
    /// The way back to the eliminated unknowns.
    pub way: Way,
}

/// L (n, e) of the eliminated unknowns and y = L_ee⁻¹ W_e (e, c).
#[derive(Clone, Debug)]
pub(super) struct Way {
    pub factor: Mat<f64>,
    pub loads: Mat<f64>,
}

/// A body before unknowns are eliminated.
#[derive(Clone, Debug)]
pub(super) struct Body {
    pub stiffness: Mat<f64>,
    pub loads: Mat<f64>,
    pub give: Mat<f64>,
    pub mass: Mat<f64>,
}

/// The unknown, of those to be eliminated, that has no stiffness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Loose(pub usize);

impl Body {
    /// A body without stiffness: `size` unknowns, `columns` amplitudes.
    pub fn new(size: usize, columns: usize, with_mass: bool) -> Body {
        let of_mass = if with_mass { size } else { 0 };
        Body {
            stiffness: Mat::zeros(size, size),
            loads: Mat::zeros(size, columns),
            give: Mat::zeros(columns, columns),
            mass: Mat::zeros(of_mass, of_mass),
        }
    }

    /// Adds a square matrix, of which the lower triangle holds, at the unknowns `to` (`usize::MAX`: left out).
    pub fn add_stiffness(&mut self, part: MatRef<'_, f64>, to: &[usize]) {
        add_lower(self.stiffness.as_mut(), part, to);
    }

    /// Adds a part's reduced body at the unknowns `to`; its amplitude c is this body's `columns[c]`.
    pub fn add(&mut self, part: &Reduced, to: &[usize], columns: &[usize]) {
        add_lower(self.stiffness.as_mut(), part.stiffness.as_ref(), to);
        self.add_loads(part.loads.as_ref(), part.give.as_ref(), to, columns);
        if part.mass.nrows() > 0 && self.mass.nrows() > 0 {
            self.add_mass(part.mass.as_ref(), to);
        }
    }

    /// Adds a full mass matrix at the unknowns `to`.
    pub fn add_mass(&mut self, part: MatRef<'_, f64>, to: &[usize]) {
        for (j, &q) in to.iter().enumerate().filter(|(_, q)| **q != usize::MAX) {
            for (i, &p) in to.iter().enumerate().filter(|(_, p)| **p != usize::MAX) {
                self.mass[(p, q)] += part[(i, j)];
            }
        }
    }

    /// Adds loads (k, c) at the unknowns `to` and give (c, c) of the amplitudes `columns`.
    pub fn add_loads(
        &mut self,
        loads: MatRef<'_, f64>,
        give: MatRef<'_, f64>,
        to: &[usize],
        columns: &[usize],
    ) {
        for (c, &column) in columns.iter().enumerate() {
            for (i, &at) in to.iter().enumerate().filter(|(_, at)| **at != usize::MAX) {
                self.loads[(at, column)] += loads[(i, c)];
            }
            for (d, &other) in columns.iter().enumerate() {
                self.give[(column, other)] += give[(c, d)];
            }
        }
    }

    /// Eliminates the first `count` unknowns.
    ///
    /// # Errors
    /// [`Loose`] where one of them has no stiffness.
    pub fn reduce(mut self, count: usize) -> Result<Reduced, Loose> {
        let size = self.stiffness.nrows();
        let columns = self.loads.ncols();
        eliminate(self.stiffness.as_mut(), count)?;
        let factor = self.stiffness.as_ref().subcols(0, count).to_owned();
        let (near, far) = factor.as_ref().split_at_row(count);
        let mut way = Mat::from_fn(count, columns, |i, j| self.loads[(i, j)]);
        let mut loads = Mat::from_fn(size - count, columns, |i, j| self.loads[(count + i, j)]);
        if columns > 0 && count > 0 {
            solve::solve_lower_triangular_in_place(near, way.as_mut(), Par::Seq);
            add_product(loads.as_mut(), far, way.as_ref(), -1.0);
            add_product(self.give.as_mut(), way.transpose(), way.as_ref(), 1.0);
        }
        let mass = match self.mass.nrows() {
            0 => Mat::new(),
            _ => reduce_mass(self.mass.as_ref(), near, far, count),
        };
        let kept = self
            .stiffness
            .as_ref()
            .submatrix(count, count, size - count, size - count);
        Ok(Reduced {
            stiffness: kept.to_owned(),
            loads,
            give: self.give,
            mass,
            way: Way { factor, loads: way },
        })
    }
}

impl Way {
    /// Motion of the eliminated unknowns (e, m) from that of the kept ones (k, m) and the amplitudes (c, m).
    pub fn back(&self, kept: MatRef<'_, f64>, amplitudes: MatRef<'_, f64>) -> Mat<f64> {
        let count = self.factor.ncols();
        let (near, far) = self.factor.as_ref().split_at_row(count);
        let mut motion = Mat::zeros(count, kept.ncols());
        add_product(motion.as_mut(), self.loads.as_ref(), amplitudes, 1.0);
        add_product(motion.as_mut(), far.transpose(), kept, -1.0);
        solve::solve_upper_triangular_in_place(near.transpose(), motion.as_mut(), Par::Seq);
        motion
    }

    /// Forward half of a solve: `loads` (n, m) becomes y = L⁻¹ f on the eliminated rows and the loads left on
    /// the kept ones.
    pub fn forth(&self, loads: &mut Mat<f64>) {
        let count = self.factor.ncols();
        let (near, far) = self.factor.as_ref().split_at_row(count);
        let (mut gone, kept) = loads.as_mut().split_at_row_mut(count);
        solve::solve_lower_triangular_in_place(near, gone.rb_mut(), Par::Seq);
        add_product(kept, far, gone.as_ref(), -1.0);
    }

    /// Backward half of a solve: motion of the eliminated unknowns from y and the kept ones.
    pub fn back_solve(&self, reduced: MatRef<'_, f64>, kept: MatRef<'_, f64>) -> Mat<f64> {
        let count = self.factor.ncols();
        let (near, far) = self.factor.as_ref().split_at_row(count);
        let mut motion = reduced.to_owned();
        add_product(motion.as_mut(), far.transpose(), kept, -1.0);
        solve::solve_upper_triangular_in_place(near.transpose(), motion.as_mut(), Par::Seq);
        motion
    }
}

/// `into += factor * a b`, nothing where a side is empty.
pub(super) fn add_product(
    into: MatMut<'_, f64>,
    a: MatRef<'_, f64>,
    b: MatRef<'_, f64>,
    factor: f64,
) {
    if a.ncols() > 0 && into.nrows() > 0 && into.ncols() > 0 {
        matmul(into, Accum::Add, a, b, factor, Par::Seq);
    }
}

/// Mass on the kept unknowns with the eliminated ones following statically (Guyan 1965).
fn reduce_mass(
    mass: MatRef<'_, f64>,
    near: MatRef<'_, f64>,
    far: MatRef<'_, f64>,
    count: usize,
) -> Mat<f64> {
    let kept = far.nrows();
    let mut reduced = mass.submatrix(count, count, kept, kept).to_owned();
    if count == 0 {
        return reduced;
    }
    // Motion of the eliminated unknowns for each kept one.
    let mut follow = Mat::from_fn(count, kept, |i, j| -far[(j, i)]);
    solve::solve_upper_triangular_in_place(near.transpose(), follow.as_mut(), Par::Seq);
    let crossed = mass.submatrix(count, 0, kept, count);
    let mut half = crossed.transpose().to_owned();
    add_product(
        half.as_mut(),
        mass.submatrix(0, 0, count, count),
        follow.as_ref(),
        1.0,
    );
    add_product(reduced.as_mut(), crossed, follow.as_ref(), 1.0);
    add_product(reduced.as_mut(), follow.transpose(), half.as_ref(), 1.0);
    reduced
}

/// Eliminates the first `count` unknowns of a symmetric matrix in its lower triangle: L in their columns, the
/// Schur complement in the rest.
fn eliminate(matrix: MatMut<'_, f64>, count: usize) -> Result<(), Loose> {
    if count == 0 {
        return Ok(());
    }
    let (mut near, _, far, rest) = matrix.split_at_mut(count, count);
    let mut space = MemBuffer::new(cholesky::cholesky_in_place_scratch::<f64>(
        count,
        Par::Seq,
        Default::default(),
    ));
    cholesky::cholesky_in_place(
        near.rb_mut(),
        Default::default(),
        Par::Seq,
        MemStack::new(&mut space),
        Default::default(),
    )
    .map_err(|error| match error {
        cholesky::LltError::NonPositivePivot { index } => Loose(index),
    })?;
    if rest.nrows() == 0 {
        return Ok(());
    }
    let mut far = far;
    solve::solve_lower_triangular_in_place(near.as_ref(), far.rb_mut().transpose_mut(), Par::Seq);
    triangular(
        rest,
        BlockStructure::TriangularLower,
        Accum::Add,
        far.as_ref(),
        BlockStructure::Rectangular,
        far.as_ref().transpose(),
        BlockStructure::Rectangular,
        -1.0,
        Par::Seq,
    );
    Ok(())
}

/// Adds the lower triangle of a part at the unknowns `to` of a whole (`usize::MAX`: left out).
fn add_lower(whole: MatMut<'_, f64>, part: MatRef<'_, f64>, to: &[usize]) {
    let mut columns: Vec<&mut [f64]> = whole
        .col_iter_mut()
        .filter_map(|column| column.try_as_col_major_mut().map(|c| c.as_slice_mut()))
        .collect();
    for (j, &q) in to.iter().enumerate() {
        let Some(from) = part.col(j).try_as_col_major().map(|c| c.as_slice()) else {
            continue;
        };
        if q == usize::MAX {
            continue;
        }
        for (&value, &p) in from[j..].iter().zip(&to[j..]) {
            if p > q {
                if p != usize::MAX {
                    columns[q][p] += value;
                }
            } else if p < q {
                columns[p][q] += value;
            } else {
                columns[q][q] += value;
            }
        }
        // Two unknowns of the part that are one in the whole meet on its diagonal from both sides.
        for (&value, &p) in from[j + 1..].iter().zip(&to[j + 1..]) {
            if p == q {
                columns[q][q] += value;
            }
        }
    }
}
