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
    /// The way back to the eliminated unknowns.
    pub way: Way,
}

/// L (e + k, e): K_ee's factor and K_ke L_ee⁻ᵀ below it; and y = L_ee⁻¹ W_e (e, c).
#[derive(Clone, Debug)]
pub(super) struct Way {
    pub factor: Mat<f64>,
    pub loads: Mat<f64>,
}

/// A body before unknowns are eliminated: lower triangles of its columns that go and of those that stay.
#[derive(Clone, Debug)]
pub(super) struct Body {
    /// (e + k, e).
    pub going: Mat<f64>,
    /// (k, k).
    pub staying: Mat<f64>,
    /// (e + k, c).
    pub loads: Mat<f64>,
    /// (c, c).
    pub give: Mat<f64>,
}

/// The unknown, of those to be eliminated, that has no stiffness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Loose(pub usize);

impl Body {
    /// A body without stiffness: unknowns that go and that stay, amplitudes.
    pub fn new(going: usize, staying: usize, columns: usize) -> Body {
        Body {
            going: Mat::zeros(going + staying, going),
            staying: Mat::zeros(staying, staying),
            loads: Mat::zeros(going + staying, columns),
            give: Mat::zeros(columns, columns),
        }
    }

    /// The column of an unknown from its diagonal on.
    pub fn column(&mut self, unknown: usize) -> &mut [f64] {
        let gone = self.going.ncols();
        if unknown < gone {
            &mut self.going.col_as_slice_mut(unknown)[unknown..]
        } else {
            &mut self.staying.col_as_slice_mut(unknown - gone)[unknown - gone..]
        }
    }

    /// Adds a part's reduced body at the unknowns `to`, which ascend; amplitudes are the same.
    pub fn add(&mut self, part: &Reduced, to: &[usize]) {
        for (j, &q) in to.iter().enumerate() {
            let from = &part.stiffness.col_as_slice(j)[j..];
            let into = self.column(q);
            for (value, &p) in from.iter().zip(&to[j..]) {
                into[p - q] += value;
            }
        }
        for c in 0..self.loads.ncols() {
            for (i, &p) in to.iter().enumerate() {
                self.loads[(p, c)] += part.loads[(i, c)];
            }
        }
        self.give += &part.give;
    }

    /// Eliminates the unknowns that go.
    ///
    /// # Errors
    /// [`Loose`] where one of them has no stiffness.
    pub fn reduce(mut self) -> Result<Reduced, Loose> {
        let gone = self.going.ncols();
        eliminate(self.going.as_mut())?;
        let far = self.going.as_ref().subrows(gone, self.staying.nrows());
        subtract_square(self.staying.as_mut(), far, 1.0);
        let way = Way {
            factor: self.going,
            loads: Mat::new(),
        };
        way.forth(self.loads.as_mut());
        let (top, rest) = self.loads.as_ref().split_at_row(gone);
        add_product(self.give.as_mut(), top.transpose(), top, 1.0);
        Ok(Reduced {
            stiffness: self.staying,
            loads: rest.to_owned(),
            give: self.give,
            way: Way {
                loads: top.to_owned(),
                ..way
            },
        })
    }
}

impl Way {
    /// Forward half of a solve: `loads` (n, m) becomes y = L⁻¹ f on the eliminated rows and the loads left on
    /// the kept ones.
    pub fn forth(&self, loads: MatMut<'_, f64>) {
        let gone = self.factor.ncols();
        if gone == 0 || loads.ncols() == 0 {
            return;
        }
        let (near, far) = self.factor.as_ref().split_at_row(gone);
        let (mut top, rest) = loads.split_at_row_mut(gone);
        solve::solve_lower_triangular_in_place(near, top.rb_mut(), Par::Seq);
        add_product(rest, far, top.as_ref(), -1.0);
    }

    /// Backward half of a solve: y becomes the motion of the eliminated unknowns, that of the kept ones given.
    pub fn back(&self, mut y: MatMut<'_, f64>, kept: MatRef<'_, f64>) {
        let gone = self.factor.ncols();
        if gone == 0 || y.ncols() == 0 {
            return;
        }
        let (near, far) = self.factor.as_ref().split_at_row(gone);
        add_product(y.rb_mut(), far.transpose(), kept, -1.0);
        solve::solve_upper_triangular_in_place(near.transpose(), y, Par::Seq);
    }

    /// Mass (k, k) on the kept unknowns with the eliminated ones following statically (Guyan 1965), from that on
    /// all, of which both triangles hold.
    pub fn mass(&self, mass: MatRef<'_, f64>) -> Mat<f64> {
        let gone = self.factor.ncols();
        let kept = mass.nrows() - gone;
        let mut reduced = mass.submatrix(gone, gone, kept, kept).to_owned();
        if gone == 0 || kept == 0 {
            return reduced;
        }
        // Motion of the eliminated unknowns for each kept one, with the other sign.
        let (near, far) = self.factor.as_ref().split_at_row(gone);
        let mut follow = Mat::zeros(gone, kept);
        follow.copy_from(far.transpose());
        solve::solve_upper_triangular_in_place(near.transpose(), follow.as_mut(), Par::Seq);
        let mut half = mass.submatrix(0, gone, gone, kept).to_owned();
        let inner = mass.submatrix(0, 0, gone, gone);
        add_product(half.as_mut(), inner, follow.as_ref(), -0.5);
        for (a, b) in [(&half, &follow), (&follow, &half)] {
            triangular(
                reduced.as_mut(),
                BlockStructure::TriangularLower,
                Accum::Add,
                a.transpose(),
                BlockStructure::Rectangular,
                b.as_ref(),
                BlockStructure::Rectangular,
                -1.0,
                Par::Seq,
            );
        }
        mirror_lower(&mut reduced);
        reduced
    }
}

/// Fills the upper triangle in from the lower one.
pub(super) fn mirror_lower(matrix: &mut Mat<f64>) {
    for j in 1..matrix.ncols() {
        for i in 0..j {
            matrix[(i, j)] = matrix[(j, i)];
        }
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

/// Product of two matrices.
pub(super) fn product(a: MatRef<'_, f64>, b: MatRef<'_, f64>) -> Mat<f64> {
    let mut result = Mat::zeros(a.nrows(), b.ncols());
    add_product(result.as_mut(), a, b, 1.0);
    result
}

/// `into -= factor * a aᵀ` in its lower triangle.
pub(super) fn subtract_square(into: MatMut<'_, f64>, a: MatRef<'_, f64>, factor: f64) {
    if a.nrows() == 0 || a.ncols() == 0 {
        return;
    }
    triangular(
        into,
        BlockStructure::TriangularLower,
        Accum::Add,
        a,
        BlockStructure::Rectangular,
        a.transpose(),
        BlockStructure::Rectangular,
        -factor,
        Par::Seq,
    );
}

/// K_ee (its lower triangle) over K_ke, in place, to L_ee over K_ke L_ee⁻ᵀ.
pub(super) fn eliminate(matrix: MatMut<'_, f64>) -> Result<(), Loose> {
    let count = matrix.ncols();
    if count == 0 {
        return Ok(());
    }
    let (mut near, far) = matrix.split_at_row_mut(count);
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
    if far.nrows() > 0 {
        solve::solve_lower_triangular_in_place(near.as_ref(), far.transpose_mut(), Par::Seq);
    }
    Ok(())
}
