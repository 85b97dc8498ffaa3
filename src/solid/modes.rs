//! Natural frequencies of the frame in solid.
//!
//! The mass inside a cell follows its end planes statically (Guyan 1965, from memory), so the frequencies are
//! upper bounds of the mesh's own; a cell is a pitch at most, and its own vibrations are far above the
//! frame's. All the cells' planes stay; a few motions are iterated with the joined frame as the solver, and the
//! best combinations of all of them taken (block Lanczos, Golub & Underwood 1977; Rayleigh-Ritz; both from
//! memory).

use faer::Mat;
use nalgebra::DMatrix;

use super::error::SolidError;
use super::frame::Solid;
use super::reduce::{add_product, product};
use super::slab::Cut;
use super::vibrate::{Block, Vibrator};
use crate::part::Path;
use crate::structure::{Carried, Loading, Metal, ModeKind, Support};

use std::f64::consts::TAU;

/// A natural vibration.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// In Hz.
    pub frequency_hz: f64,
    /// What moves most.
    pub kind: ModeKind,
    /// Its share of the kinetic energy, 0 to 1.
    pub share: f64,
    /// (plane, mean motion of its section in plan axes: three displacements, three rotations), the greatest
    /// displacement 1.
    pub shape: Vec<(usize, [f64; 6])>,
}

/// What a vibration calculation needs of the part.
#[derive(Clone, Copy, Debug)]
pub struct Vibration<'a> {
    /// The path.
    pub path: &'a Path,
    /// For each seat of the cut, its node of the layout.
    pub nodes: &'a [usize],
    /// The metal.
    pub metal: &'a Metal,
    /// What rides on the frame.
    pub carried: &'a Carried,
    /// Supports; empty: free in space.
    pub supports: &'a [Support],
}

/// Most rounds of the iteration.
const ROUNDS: usize = 60;

/// Where the iteration stops: residual of a motion over itself, squared; about the relative error of its value.
const SETTLED: f64 = 1e-6;

/// The first `count` natural vibrations, lowest first; motions without strain are left out.
///
/// # Errors
/// [`SolidError`]: faults of the mesh, or an iteration that did not settle.
pub fn modes(cut: &Cut, of: &Vibration, count: usize) -> Result<Vec<Mode>, SolidError> {
    let held = Loading {
        supports: of.supports.to_vec(),
        actions: Vec::new(),
        acceleration: [0.0; 3],
    };
    let solid = Solid::new(cut, of.path, of.nodes, of.metal, of.carried, &[held])?;
    solid.modes(of.supports, count)
}

impl Solid<'_> {
    /// The first `count` natural vibrations with some supports, lowest first; motions without strain are left
    /// out. Planes that the supports clamp must be among those that a load case clamps.
    ///
    /// # Errors
    /// [`SolidError::Unsettled`]: an iteration that did not settle.
    pub fn modes(&self, supports: &[Support], count: usize) -> Result<Vec<Mode>, SolidError> {
        let vibrator = Vibrator::new(self, supports)?;
        let mut basis = Basis::new(&vibrator);
        let mut more = basis.add(vibrator.solve(&vibrator.mass(&vibrator.start(2 + count / 4))));
        for _ in 0..ROUNDS {
            if !more {
                break;
            }
            more = basis.grow();
            if let Some((values, mix)) = basis.settled(count, more) {
                let motion = basis.combined(&mix);
                return Ok((0..count)
                    .map(|k| mode(&vibrator, &motion, k, values[k]))
                    .collect());
            }
        }
        Err(SolidError::Unsettled)
    }
}

/// Motions of unit mass, square to each other and to those without strain.
struct Basis<'a> {
    vibrator: &'a Vibrator<'a>,
    /// Motions without strain and their pull.
    rigid: (Block, Block),
    /// Blocks of motions and their pull.
    blocks: Vec<(Block, Block)>,
    /// For each block but the first: what the answer to the pull of the block before it holds of all before it.
    shares: Vec<Vec<DMatrix<f64>>>,
    /// How what was left of the last answer is made of the last block.
    rest: DMatrix<f64>,
}

impl<'a> Basis<'a> {
    fn new(vibrator: &'a Vibrator<'a>) -> Basis<'a> {
        let motion = vibrator.rigid();
        let pull = vibrator.mass(&motion);
        let (mix, _) = unit(&gram(&motion, &pull), &[]);
        Basis {
            vibrator,
            rigid: (mixed(&motion, &mix), mixed(&pull, &mix)),
            blocks: Vec::new(),
            shares: Vec::new(),
            rest: DMatrix::zeros(0, 0),
        }
    }

    /// Adds the answers to the pull of the last block; false where they hold nothing new.
    fn grow(&mut self) -> bool {
        let answer = match self.blocks.last() {
            Some((_, pull)) => self.vibrator.solve(pull),
            None => return false,
        };
        self.add(answer)
    }

    /// Adds motions, made square to all others; false where they hold nothing new.
    fn add(&mut self, mut motion: Block) -> bool {
        let mut shares: Vec<DMatrix<f64>> = Vec::new();
        // Twice is enough (Kahan, after Parlett; from memory).
        for round in 0..2 {
            for (at, (other, pull)) in std::iter::once(&self.rigid).chain(&self.blocks).enumerate()
            {
                let share = gram(pull, &motion);
                for (part, other) in motion.iter_mut().zip(other) {
                    add_product(part.as_mut(), other.as_ref(), plain(&share).as_ref(), -1.0);
                }
                if at > 0 && round == 0 {
                    shares.push(share);
                }
            }
        }
        let pull = self.vibrator.mass(&motion);
        let gone: Vec<f64> = (0..many(&motion))
            .map(|c| {
                shares
                    .iter()
                    .map(|share| share.column(c).norm_squared())
                    .sum()
            })
            .collect();
        let (mix, rest) = unit(&gram(&motion, &pull), &gone);
        if !self.blocks.is_empty() {
            self.shares.push(shares);
        }
        self.rest = rest;
        if mix.ncols() == 0 {
            return false;
        }
        self.blocks.push((mixed(&motion, &mix), mixed(&pull, &mix)));
        true
    }

    /// The first `count` values in rad²/s² and their combinations of the motions, where they have settled.
    fn settled(&self, count: usize, more: bool) -> Option<(Vec<f64>, DMatrix<f64>)> {
        let blocks = self.shares.len();
        let sizes: Vec<usize> = self.blocks[..blocks].iter().map(|b| many(&b.0)).collect();
        let size: usize = sizes.iter().sum();
        if size < count || (size == count && more) {
            return None;
        }
        let mut works = DMatrix::zeros(size, size);
        let mut column = 0;
        for (shares, &columns) in self.shares.iter().zip(&sizes) {
            let mut row = 0;
            for share in shares {
                let (m, n) = (share.nrows(), columns.min(share.ncols()));
                works.view_mut((row, column), (m, n)).copy_from(share);
                works
                    .view_mut((column, row), (n, m))
                    .copy_from(&share.transpose());
                row += m;
            }
            column += columns;
        }
        let eigen = works.symmetric_eigen();
        let mut order: Vec<usize> = (0..size).collect();
        order.sort_by(|&a, &b| eigen.eigenvalues[b].total_cmp(&eigen.eigenvalues[a]));
        let last = sizes.last().copied().unwrap_or(0);
        for &k in &order[..count] {
            let value = eigen.eigenvalues[k];
            let end = eigen.eigenvectors.view((size - last, k), (last, 1));
            let left = (&self.rest * end).norm();
            if !(value > 0.0) || (left / value).powi(2) > SETTLED {
                return None;
            }
        }
        let values = order[..count]
            .iter()
            .map(|&k| 1.0 / eigen.eigenvalues[k])
            .collect();
        let mix = DMatrix::from_fn(size, count, |i, j| eigen.eigenvectors[(i, order[j])]);
        Some((values, mix))
    }

    fn combined(&self, mix: &DMatrix<f64>) -> Block {
        let mut sum: Block = self
            .rigid
            .0
            .iter()
            .map(|part| Mat::zeros(part.nrows(), mix.ncols()))
            .collect();
        let mut row = 0;
        for (motion, _) in &self.blocks[..self.shares.len()] {
            let rows = many(motion);
            let share = plain(&mix.rows(row, rows).into_owned());
            for (part, motion) in sum.iter_mut().zip(motion) {
                add_product(part.as_mut(), motion.as_ref(), share.as_ref(), 1.0);
            }
            row += rows;
        }
        sum
    }
}

fn many(block: &Block) -> usize {
    block.iter().map(|part| part.ncols()).max().unwrap_or(0)
}

fn plain(matrix: &DMatrix<f64>) -> Mat<f64> {
    Mat::from_fn(matrix.nrows(), matrix.ncols(), |i, j| matrix[(i, j)])
}

/// Products of all pairs of columns.
fn gram(a: &Block, b: &Block) -> DMatrix<f64> {
    let mut sum = Mat::zeros(many(a), many(b));
    for (x, y) in a.iter().zip(b) {
        add_product(sum.as_mut(), x.transpose(), y.as_ref(), 1.0);
    }
    DMatrix::from_fn(sum.nrows(), sum.ncols(), |i, j| sum[(i, j)])
}

/// Columns mixed.
fn mixed(block: &Block, mix: &DMatrix<f64>) -> Block {
    let mix = plain(mix);
    block
        .iter()
        .map(|part| product(part.as_ref(), mix.as_ref()))
        .collect()
}

/// For motions of a mass (m, m): combinations of them that have unit mass and are square to each other, and how
/// they are made of these. Motions are left out that are of no mass against what is `gone` of them, or that the
/// others make up.
fn unit(mass: &DMatrix<f64>, gone: &[f64]) -> (DMatrix<f64>, DMatrix<f64>) {
    let count = mass.nrows();
    let root: Vec<f64> = (0..count)
        .map(|i| {
            let own = mass[(i, i)];
            let new = own > 0.0 && own > 1e-22 * gone.get(i).copied().unwrap_or(0.0);
            if new { own.sqrt() } else { 0.0 }
        })
        .collect();
    let scaled = DMatrix::from_fn(count, count, |i, j| match root[i] * root[j] > 0.0 {
        true => 0.5 * (mass[(i, j)] + mass[(j, i)]) / (root[i] * root[j]),
        false => 0.0,
    });
    if count == 0 {
        return (DMatrix::zeros(0, 0), DMatrix::zeros(0, 0));
    }
    let eigen = scaled.symmetric_eigen();
    let kept: Vec<usize> = (0..count)
        .filter(|&k| eigen.eigenvalues[k] > 1e-13)
        .collect();
    let part = |i: usize, k: usize| eigen.eigenvectors[(i, kept[k])];
    let size = |k: usize| eigen.eigenvalues[kept[k]].sqrt();
    let mix = DMatrix::from_fn(count, kept.len(), |i, k| match root[i] > 0.0 {
        true => part(i, k) / (root[i] * size(k)),
        false => 0.0,
    });
    let rest = DMatrix::from_fn(kept.len(), count, |k, i| size(k) * part(i, k) * root[i]);
    (mix, rest)
}

fn mode(vibrator: &Vibrator, motion: &Block, column: usize, value: f64) -> Mode {
    let mut energy = [0.0; 3];
    let mut shape = Vec::new();
    let solid = vibrator.solid;
    for (plane, moved) in motion.iter().enumerate() {
        if !vibrator.moves[plane] {
            continue;
        }
        let means = &solid.chain.means[solid.cut.planes[plane].face];
        let m: [f64; 6] = std::array::from_fn(|k| {
            (0..moved.nrows())
                .map(|i| means.rows[(i, k)] * moved[(i, column)])
                .sum()
        });
        let (y, z) = means.centroid;
        let (left, up) = (m[1] - z * m[3], m[2] + y * m[3]);
        let along = m[0] + z * m[4] - y * m[5];
        let weight = means.area;
        energy[0] += weight * (along * along + left * left);
        energy[1] += weight * up * up;
        energy[2] += weight * means.gyration_square * m[3] * m[3];
        let (sin, cos) = solid.cut.planes[plane].pose.heading.sin_cos();
        let turn = |a: f64, b: f64| (cos * a - sin * b, sin * a + cos * b);
        let ((x, y), (tx, ty)) = (turn(m[0], m[1]), turn(m[3], m[4]));
        shape.push((plane, [x, y, m[2], tx, ty, m[5]]));
    }
    let most = shape
        .iter()
        .map(|(_, m)| (m[0] * m[0] + m[1] * m[1] + m[2] * m[2]).sqrt())
        .fold(f64::MIN_POSITIVE, f64::max);
    for (_, m) in &mut shape {
        *m = m.map(|value| value / most);
    }
    let total: f64 = energy.iter().sum();
    let kinds = [ModeKind::InPlane, ModeKind::OutOfPlane, ModeKind::Twist];
    let mut best = 0;
    for k in 1..3 {
        if energy[k] > energy[best] {
            best = k;
        }
    }
    Mode {
        frequency_hz: value.max(0.0).sqrt() / TAU,
        kind: kinds[best],
        share: energy[best] / total.max(f64::MIN_POSITIVE),
        shape,
    }
}
