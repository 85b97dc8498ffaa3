//! Natural vibrations of the frame with their shapes.

use super::Support;
use super::block::{Row, add_row, dot};
use super::error::StructureError;
use super::factor::to_plan;
use super::frequency::RigidMotions;
use super::model::{Model, Piece};
use super::section::MassLaw;
use nalgebra::DMatrix;
use std::f64::consts::{PI, TAU};

/// How the sections of a frame move in a mode, by the greatest share of kinetic energy.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub enum ModeKind {
    /// In the plane of the path.
    InPlane,
    /// Along the tool axis.
    OutOfPlane,
    /// Turning about the path.
    Twist,
}

impl ModeKind {
    /// In words: `in plane`.
    pub fn words(self) -> &'static str {
        match self {
            ModeKind::InPlane => "in plane",
            ModeKind::OutOfPlane => "out of plane",
            ModeKind::Twist => "twist",
        }
    }
}

/// A natural vibration of the beam.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ModeShape {
    /// In Hz.
    pub frequency_hz: f64,
    /// What moves most.
    pub kind: ModeKind,
    /// Its share of the kinetic energy, 0 to 1.
    pub share: f64,
    /// Along the path, the first place again at the end of a closed one: station in mm, and motion of the path line
    /// in plan axes, three displacements and three rotations (per mm). The corner of a section that moves most
    /// moves by 1.
    pub places: Vec<(f64, [f64; 6])>,
}

/// Motions that are improved together beyond those asked for, so that equal frequencies are all found.
const SPARE: usize = 6;

const MOST_ROUNDS: usize = 120;

/// Change of a squared frequency, over itself, at which it is settled.
const CHANGE: f64 = 1e-10;

impl Model {
    /// The first `count` natural vibrations, lowest first: with the given supports, or of the frame free in space (its
    /// six rigid motions left out) where there are none.
    ///
    /// Subspace iteration on the frame cut into 24 pieces or more; equal frequencies, as a ring has them in pairs, come
    /// with shapes that are square to each other. The sixth frequency of a bar is off by 2e-4 or less for the cut.
    ///
    /// # Errors
    /// As [`Model::solve`] for the supports; [`StructureError::NoFrequency`].
    ///
    /// Source: Bathe and Wilson, Numerical Methods in Finite Element Analysis, 1976 (from memory).
    pub fn modes(
        &self,
        supports: &[Support],
        count: usize,
    ) -> Result<Vec<ModeShape>, StructureError> {
        let mut model = self.refined();
        let factor = model.factor(supports)?;
        let free = supports.is_empty().then(|| RigidMotions::new(&model));
        let mut motions: Vec<Vec<Row>> = (0..count + SPARE).map(|k| model.guess(k)).collect();
        let mut known = vec![f64::INFINITY; count];
        for _ in 0..MOST_ROUNDS {
            let mut heavy = model.momenta(&motions);
            for (motion, momentum) in motions.iter_mut().zip(&heavy) {
                motion.copy_from_slice(momentum);
                model.substitute(factor, motion);
                if let Some(free) = &free {
                    free.remove(motion);
                }
            }
            let stiff = products(&motions, &heavy);
            heavy = model.momenta(&motions);
            let mass = products(&motions, &heavy);
            let (squares, mix) = ritz(&stiff, &mass).ok_or(StructureError::NoFrequency)?;
            motions = mixed(&motions, &mix);
            let settled = squares[..count]
                .iter()
                .zip(&known)
                .all(|(new, old)| (new - old).abs() <= CHANGE * new.abs());
            known.copy_from_slice(&squares[..count]);
            if settled {
                break;
            }
        }
        if known
            .iter()
            .any(|square| !(*square > 0.0 && square.is_finite()))
        {
            return Err(StructureError::NoFrequency);
        }
        let modes = known.iter().zip(&motions);
        Ok(modes
            .map(|(square, motion)| model.mode(*square, motion))
            .collect())
    }

    /// The same frame with its pieces halved until they are a 48th of it, where their elements go down so far.
    fn refined(&self) -> Model {
        let limit = self.length() / 48.0;
        let (mut pieces, mut poses) = (Vec::new(), Vec::new());
        // Node of the finer chain for each node of this one.
        let mut nodes = Vec::with_capacity(self.poses.len());
        for (index, piece) in self.pieces.iter().enumerate() {
            nodes.push(pieces.len());
            let mut halvings = 0;
            while halvings < piece.level && piece.length_mm > limit * (1 << halvings) as f64 {
                halvings += 1;
            }
            let length = piece.length_mm / (1 << halvings) as f64;
            for k in 0..1 << halvings {
                pieces.push(Piece {
                    level: piece.level - halvings,
                    start_mm: piece.start_mm + k as f64 * length,
                    length_mm: length,
                    ..*piece
                });
                let curvature = self.curvatures[piece.kind];
                poses.push(self.poses[index].advance(k as f64 * length, curvature));
            }
        }
        if !self.closed {
            nodes.push(pieces.len());
            poses.extend(self.poses.last());
        }
        self.recut(pieces, poses, &nodes)
    }

    /// A smooth motion to start from; no two alike.
    fn guess(&self, index: usize) -> Vec<Row> {
        let waves = 1.0 + (index / 2) as f64;
        let phase = 0.5 * PI * (index % 2) as f64 + 0.3;
        let twist = 0.5 / self.laws[0].mass.radius();
        (0..self.poses.len())
            .map(|node| {
                let s = node as f64 / self.pieces.len() as f64;
                let wave = |shift: f64| (0.5 * TAU * waves * s + phase + shift).cos();
                // A slower wave on top, so that no symmetry of the frame hides a mode from all of them.
                let more = |shift: f64| {
                    0.4 * (TAU * (waves + 1.0) * s + shift * (1.0 + index as f64)).sin()
                };
                [
                    0.2 * wave(1.1),
                    wave(0.0) + more(0.3),
                    0.8 * wave(0.7) + more(1.3),
                    twist * (wave(1.9) + more(2.1)),
                    0.0,
                    0.0,
                    0.0,
                    0.0,
                ]
            })
            .collect()
    }

    fn momenta(&self, motions: &[Vec<Row>]) -> Vec<Vec<Row>> {
        let momentum = |motion: &Vec<Row>| {
            let mut heavy = vec![[0.0; 8]; motion.len()];
            self.add_inertia(motion, 1.0, &mut heavy);
            heavy
        };
        motions.iter().map(momentum).collect()
    }

    fn mode(&self, square: f64, motion: &[Row]) -> ModeShape {
        let mut energy = [0.0; 3];
        let mut add = |law: &MassLaw, length: f64, row: &Row| {
            for (sum, share) in energy.iter_mut().zip(kinetic(law, row)) {
                *sum += length * share;
            }
        };
        // The corner that moves most, and whether it does so against the axis along which it moves most.
        let (mut most, mut sign) = (f64::MIN_POSITIVE, 1.0);
        for (index, piece) in self.pieces.iter().enumerate() {
            let law = &self.laws[piece.kind];
            for node in [index, self.far(index)] {
                add(&law.mass, 0.5 * piece.length_mm, &motion[node]);
                let [u, v, w, t, n, b, ..] = motion[node];
                for &(y, z) in law.points.iter().flat_map(|points| &points.places) {
                    let moved = [u + z * n - y * b, v - z * t, w + y * t];
                    let size = moved.iter().map(|x| x * x).sum::<f64>().sqrt();
                    if size > most * (1.0 + 1e-9) {
                        most = size;
                        let largest = moved
                            .iter()
                            .fold(0.0_f64, |a, &b| if b.abs() > a.abs() { b } else { a });
                        sign = largest.signum();
                    }
                }
            }
        }
        for (node, law) in &self.points {
            add(law, 1.0, &motion[*node]);
        }
        let kinds = [ModeKind::InPlane, ModeKind::OutOfPlane, ModeKind::Twist];
        let best = (1..3).fold(0, |best, k| if energy[k] > energy[best] { k } else { best });
        let mut places: Vec<(f64, [f64; 6])> = Vec::new();
        for (index, piece) in self.pieces.iter().enumerate() {
            for (along, row, _) in self.stops(index, motion, None) {
                if along == 0.0 && index > 0 {
                    continue;
                }
                let pose = self.poses[index].advance(along, self.curvatures[piece.kind]);
                let mut row = row;
                to_plan(&mut row, pose.heading.sin_cos());
                let moved = std::array::from_fn(|k| sign * row[k] / most);
                places.push((piece.start_mm + along, moved));
            }
        }
        ModeShape {
            frequency_hz: square.sqrt() / TAU,
            kind: kinds[best],
            share: energy[best] / energy.iter().sum::<f64>().max(f64::MIN_POSITIVE),
            places,
        }
    }
}

/// Twice the kinetic energy of a moving section at unit angular frequency: in the plane, along the tool axis, turning
/// about the path.
fn kinetic(law: &MassLaw, row: &Row) -> [f64; 3] {
    let m = law.mass;
    let (y, z) = (law.y / m, law.z / m);
    let along = row[0] + z * row[4] - y * row[5];
    let (left, up) = (row[1] - z * row[3], row[2] + y * row[3]);
    let gyration = (law.yy + law.zz - m * (y * y + z * z)).max(0.0);
    [
        m * (along * along + left * left),
        m * up * up,
        gyration * row[3] * row[3],
    ]
}

fn products(a: &[Vec<Row>], b: &[Vec<Row>]) -> DMatrix<f64> {
    let inner = |a: &[Row], b: &[Row]| a.iter().zip(b).map(|(a, b)| dot(a, b)).sum::<f64>();
    let whole = DMatrix::from_fn(a.len(), b.len(), |i, j| inner(&a[i], &b[j]));
    (&whole + whole.transpose()) * 0.5
}

/// Squared frequencies in rising order and the mixtures that have them; `None` where the motions depend on each other.
fn ritz(stiff: &DMatrix<f64>, mass: &DMatrix<f64>) -> Option<(Vec<f64>, DMatrix<f64>)> {
    let lower = mass.clone().cholesky()?;
    let l = lower.l();
    // L⁻¹ K L⁻ᵀ
    let half = l.solve_lower_triangular(stiff)?;
    let plain = l.solve_lower_triangular(&half.transpose())?;
    let eigen = ((&plain + plain.transpose()) * 0.5).symmetric_eigen();
    let mut order: Vec<usize> = (0..eigen.eigenvalues.len()).collect();
    order.sort_by(|&a, &b| eigen.eigenvalues[a].total_cmp(&eigen.eigenvalues[b]));
    let sorted = DMatrix::from_fn(order.len(), order.len(), |i, j| {
        eigen.eigenvectors[(i, order[j])]
    });
    let mix = l.transpose().solve_upper_triangular(&sorted)?;
    let squares = order.iter().map(|&k| eigen.eigenvalues[k]).collect();
    Some((squares, mix))
}

fn mixed(motions: &[Vec<Row>], mix: &DMatrix<f64>) -> Vec<Vec<Row>> {
    let column = |j: usize| {
        let mut sum = vec![[0.0; 8]; motions[0].len()];
        for (i, motion) in motions.iter().enumerate() {
            for (row, other) in sum.iter_mut().zip(motion) {
                add_row(row, mix[(i, j)], other);
            }
        }
        sum
    };
    (0..mix.ncols()).map(column).collect()
}
