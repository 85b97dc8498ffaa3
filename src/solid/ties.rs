//! The kept planes under forces, with some directions held: one factorisation for all load cases that clamp the
//! same planes.
//!
//! Where nothing is clamped the stiffness is singular; then soft springs R Rᵀ on the mean motion of one plane are
//! added, and taken off again exactly together with the holds C:
//!
//! ```text
//! A = S + R Rᵀ     u = A⁻¹ (f + R q + C ρ)     q = Rᵀ u     Cᵀ u + D ρ = -g
//! ```
//!
//! q are the springs' forces given back, ρ those of the holds, D and g what the holds' seats give by themselves.

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, MatRef, Side};
use nalgebra::{DMatrix, DVector};

use super::error::SolidError;
use super::reduce::product;

/// Singular values of the ties' small system below this share of the greatest, or below it, are a free motion.
const FREE: f64 = 1e-9;

/// The stiffness of the kept planes' unknowns that no clamp holds, factorised.
pub(super) struct Bed {
    /// Unknowns that are free.
    pub free: Vec<usize>,
    /// R (free, 6); no columns where a plane is clamped.
    pub soft: Mat<f64>,
    /// Typical stiffness of an unknown.
    pub typical: f64,
    factor: Option<Llt<f64>>,
}

impl Bed {
    /// From the lower triangle of the stiffness, which unknowns are clamped, and, where none is, the mean motions
    /// (k, 6) of a plane and its first unknown.
    ///
    /// # Errors
    /// [`SolidError::Free`] where a part of the frame hangs loose.
    pub fn new(
        stiffness: &Mat<f64>,
        clamped: &[bool],
        anchor: Option<(usize, &Mat<f64>)>,
    ) -> Result<Bed, SolidError> {
        let free: Vec<usize> = (0..clamped.len()).filter(|&i| !clamped[i]).collect();
        let size = free.len();
        let mut matrix = Mat::zeros(size, size);
        for (j, &q) in free.iter().enumerate() {
            let (into, from) = (matrix.col_as_slice_mut(j), stiffness.col_as_slice(q));
            for (value, &p) in into.iter_mut().zip(&free).skip(j) {
                *value = from[p];
            }
        }
        let trace: f64 = (0..size).map(|i| matrix[(i, i)]).sum();
        let typical = trace / size.max(1) as f64;
        let soft = match anchor {
            Some((from, rows)) => {
                let mut soft = Mat::zeros(size, rows.ncols());
                for k in 0..rows.ncols() {
                    let factor = typical.sqrt() / rows.col(k).norm_l2();
                    for i in 0..rows.nrows() {
                        soft[(from + i, k)] = factor * rows[(i, k)];
                    }
                }
                for j in 0..rows.nrows() {
                    for i in j..rows.nrows() {
                        let (i, j) = (from + i, from + j);
                        let square: f64 =
                            (0..rows.ncols()).map(|k| soft[(i, k)] * soft[(j, k)]).sum();
                        matrix[(i, j)] += square;
                    }
                }
                soft
            }
            None => Mat::zeros(size, 0),
        };
        let factor = match size {
            0 => None,
            _ => Some(matrix.llt(Side::Lower).map_err(|_| SolidError::Free)?),
        };
        Ok(Bed {
            free,
            soft,
            typical,
            factor,
        })
    }

    /// A⁻¹ f.
    pub fn solve(&self, forces: &Mat<f64>) -> Mat<f64> {
        match &self.factor {
            Some(factor) if forces.ncols() > 0 => factor.solve(forces),
            _ => forces.clone(),
        }
    }
}

/// Small system of springs to be taken off and holds to be kept.
pub(super) struct Ties {
    inverse: DMatrix<f64>,
    /// Free motions that are left: combinations (n, m) of the unknowns q, ρ.
    pub free: DMatrix<f64>,
}

impl Ties {
    /// `work` Tᵀ A⁻¹ T with T = [R, C]; `give` D.
    pub fn new(work: MatRef<'_, f64>, give: MatRef<'_, f64>) -> Ties {
        let (all, held) = (work.nrows(), give.nrows());
        let soft = all - held;
        if all == 0 {
            let none = DMatrix::zeros(0, 0);
            return Ties {
                inverse: none.clone(),
                free: none,
            };
        }
        let system = DMatrix::from_fn(all, all, |i, j| {
            let own = work[(i, j)];
            match (i < soft, j < soft) {
                (true, _) => f64::from(u8::from(i == j)) - own,
                (false, true) => own,
                (false, false) => own + give[(i - soft, j - soft)],
            }
        });
        if held == 0 {
            return Ties {
                inverse: DMatrix::zeros(all, all),
                free: DMatrix::identity(all, all),
            };
        }
        let svd = system.svd(true, true);
        let (u, v) = (svd.u.unwrap_or_default(), svd.v_t.unwrap_or_default());
        let most = svd.singular_values.iter().copied().fold(1.0, f64::max);
        let mut inverse = DMatrix::zeros(all, all);
        let mut free = Vec::new();
        for (k, &value) in svd.singular_values.iter().enumerate() {
            if value > FREE * most {
                inverse += v.row(k).transpose() * u.column(k).transpose() / value;
            } else {
                free.push(v.row(k).transpose());
            }
        }
        let free = match free.len() {
            0 => DMatrix::zeros(all, 0),
            _ => DMatrix::from_columns(&free),
        };
        Ties { inverse, free }
    }

    /// [q; ρ] for `work` Tᵀ A⁻¹ f and g.
    pub fn forces(&self, work: &[f64], give: &[f64]) -> Vec<f64> {
        let soft = work.len() - give.len();
        let right = DVector::from_fn(work.len(), |i, _| match i < soft {
            true => work[i],
            false => -work[i] - give[i - soft],
        });
        (&self.inverse * right).iter().copied().collect()
    }
}

/// Tᵀ x.
pub(super) fn work(ties: &Mat<f64>, motion: &Mat<f64>) -> Mat<f64> {
    product(ties.transpose(), motion.as_ref())
}
