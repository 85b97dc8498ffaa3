//! Natural frequencies of the frame in solid.
//!
//! The mass inside a cell follows its end planes statically (Guyan 1965, from memory), so the frequencies are
//! upper bounds of the mesh's own; a cell is a pitch at most, and its own vibrations are far above the
//! frame's. All the cells' planes stay; they are iterated as a block (subspace iteration, Bathe & Wilson 1972,
//! from memory) with the joined frame as the solver.

use std::collections::HashMap;
use std::f64::consts::{PI, TAU};

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Side};
use nalgebra::DMatrix;

use super::chain::{Attached, Chain, Make, Origin, Spread, inertia};
use super::condense::product;
use super::error::SolidError;
use super::frame::{clamps, plane_of};
use super::hexahedron::Law;
use super::mean::{means, transport};
use super::reduce::add_product;
use super::slab::{Cut, Seat};
use crate::part::Path;
use crate::structure::{Carried, Frame, Metal, Support};

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
    /// About where the first frequency is, in Hz, such as the beam's: sets how the iteration is scaled.
    pub guess_hz: f64,
}

/// Most rounds of the iteration.
const ROUNDS: usize = 40;

/// The first `count` natural vibrations, lowest first; rigid motions of a free frame are left out.
///
/// # Errors
/// [`SolidError`]: faults of the mesh, or an iteration that did not settle.
pub fn modes(cut: &Cut, of: &Vibration, count: usize) -> Result<Vec<Mode>, SolidError> {
    let law = Law::new(of.metal);
    let shift = (0.3 * TAU * of.guess_hz.max(1.0)).powi(2);
    let face_means: Vec<_> = cut.faces.iter().map(means).collect();
    let seat_at = |node: usize| {
        of.nodes
            .iter()
            .position(|&n| n == node)
            .map(|at| cut.seats[at])
    };
    let mut masses: HashMap<usize, Mat<f64>> = HashMap::new();
    for point in &of.carried.points {
        if let Some(seat) = seat_at(point.node) {
            let inertia = inertia(point.mass_t, point.offset_mm);
            add_at_seat(cut, of.path, &seat, &face_means, &inertia, &mut masses);
        }
    }
    let mut springs: HashMap<usize, Mat<f64>> = HashMap::new();
    let mut held = Vec::new();
    for support in of.supports {
        let Some(seat) = seat_at(support.node) else {
            continue;
        };
        if clamps(support) {
            held.push(plane_of(&seat));
        } else {
            let stiff = spring(cut, of, support, &seat);
            add_at_seat(cut, of.path, &seat, &face_means, &stiff, &mut springs);
        }
    }
    let mut attached: HashMap<usize, Attached> = HashMap::new();
    let mut planes: Vec<usize> = masses.keys().chain(springs.keys()).copied().collect();
    planes.sort_unstable();
    planes.dedup();
    for plane in planes {
        let rows = face_means[cut.planes[plane].face].rows.nrows();
        let mut all = Mat::zeros(rows, rows);
        if let Some(mass) = masses.get(&plane) {
            all += shift * mass;
        }
        if let Some(spring) = springs.get(&plane) {
            all += spring;
        }
        attached.entry(plane).or_default().stiffness = Some(all);
    }
    let make = Make {
        law: &law,
        spread: Spread {
            mass: of.carried.spread_t_per_mm,
            offset: of.carried.spread_offset_mm,
        },
        with_mass: true,
        shift,
    };
    let chain = Chain::new(cut, &make, &held, attached)
        .map_err(|(slab, bad)| SolidError::mesh(slab, bad))?;
    let solver = Solver::new(cut, &chain, &held)?;
    iterate(&solver, &masses, of, shift, count)
}

/// Adds a (6, 6) matrix on the motion of a seat to the planes it rests on, by its shares.
fn add_at_seat(
    cut: &Cut,
    path: &Path,
    seat: &Seat,
    face_means: &[super::mean::Means],
    matrix: &Mat<f64>,
    to: &mut HashMap<usize, Mat<f64>>,
) {
    for (plane, share) in seat.shares {
        if share == 0.0 {
            continue;
        }
        let (at, there) = (&cut.planes[plane], path.pose(seat.station_mm));
        let (sin, cos) = at.pose.heading.sin_cos();
        let (dx, dy) = (there.x - at.pose.x, there.y - at.pose.y);
        let carry = transport(
            [cos * dx + sin * dy, cos * dy - sin * dx, 0.0],
            there.heading - at.pose.heading,
        );
        let rows = &face_means[at.face].rows;
        let rows = product(
            rows.as_ref(),
            Mat::from_fn(6, 6, |i, j| carry[i][j]).as_ref(),
        );
        let part = product(
            product(rows.as_ref(), matrix.as_ref()).as_ref(),
            rows.transpose(),
        );
        let into = to
            .entry(plane)
            .or_insert_with(|| Mat::zeros(rows.nrows(), rows.nrows()));
        *into += share * part;
    }
}

/// A spring a million times stiffer than the frame for each held direction of a seat.
fn spring(cut: &Cut, of: &Vibration, support: &Support, seat: &Seat) -> Mat<f64> {
    let height = cut
        .faces
        .iter()
        .flat_map(|face| &face.nodes)
        .fold(0.0_f64, |most, [_, z]| most.max(z.abs()));
    let stiff = 1e4 * of.metal.modulus_mpa * height.max(1.0);
    let (sin, cos) = match support.frame {
        Frame::Plan => of.path.pose(seat.station_mm).heading.sin_cos(),
        Frame::Path => (0.0, 1.0),
    };
    let mut spring = Mat::zeros(6, 6);
    for (k, &held) in support
        .hold_move
        .iter()
        .chain(&support.hold_turn)
        .enumerate()
    {
        if !held {
            continue;
        }
        let base = 3 * (k / 3);
        let mut axis = [0.0; 6];
        match k % 3 {
            0 => (axis[base], axis[base + 1]) = (cos, -sin),
            1 => (axis[base], axis[base + 1]) = (sin, cos),
            _ => axis[base + 2] = 1.0,
        }
        let factor = stiff * if k < 3 { 1.0 } else { height * height };
        for i in 0..6 {
            for j in 0..6 {
                spring[(i, j)] += factor * axis[i] * axis[j];
            }
        }
    }
    spring
}

/// Block of vectors: for every plane that stays, its rows; empty at the others.
type Block = Vec<Mat<f64>>;

/// A place where a piece stands.
struct Stand {
    /// Its first plane, the plane between its halves and its last plane.
    planes: [usize; 3],
    halves: Option<[usize; 2]>,
}

/// The joined frame as a solver for forces on all planes that stay.
struct Solver<'a> {
    cut: &'a Cut,
    chain: &'a Chain,
    stands: Vec<Stand>,
    /// Stands of each piece.
    of_piece: Vec<Vec<usize>>,
    /// Kept planes and their first unknown, held ones left out (`usize::MAX`).
    offsets: Vec<usize>,
    /// Stand at the top of each span.
    tops: Vec<usize>,
    /// Factor of the kept planes' stiffness; absent where all are held.
    whole: Option<Llt<f64>>,
    size: usize,
    /// Whether a plane stays and moves.
    moves: Vec<bool>,
}

impl<'a> Solver<'a> {
    fn new(cut: &'a Cut, chain: &'a Chain, held: &[usize]) -> Result<Solver<'a>, SolidError> {
        let planes = cut.planes.len();
        let mut moves = vec![false; planes];
        for &(piece, link) in &chain.cells {
            moves[link] = true;
            moves[(link + chain.pieces[piece].links) % planes] = true;
        }
        for &plane in held {
            moves[plane] = false;
        }
        let mut offsets = Vec::new();
        let mut size = 0;
        for &plane in &chain.kept {
            offsets.push(if moves[plane] { size } else { usize::MAX });
            if moves[plane] {
                size += chain.means[cut.planes[plane].face].rows.nrows();
            }
        }
        let mut solver = Solver {
            cut,
            chain,
            stands: Vec::new(),
            of_piece: vec![Vec::new(); chain.pieces.len()],
            offsets,
            tops: Vec::new(),
            whole: None,
            size,
            moves,
        };
        for &(piece, link) in &chain.spans {
            let top = solver.stand(piece, link);
            solver.tops.push(top);
        }
        if size > 0 {
            let matrix = solver.assemble();
            solver.whole = Some(matrix.llt(Side::Lower).map_err(|_| SolidError::Free)?);
        }
        Ok(solver)
    }

    fn stand(&mut self, piece: usize, link: usize) -> usize {
        let at = &self.chain.pieces[piece];
        let planes = self.cut.planes.len();
        let mut stand = Stand {
            planes: [link, link, (link + at.links) % planes],
            halves: None,
        };
        if let Origin::Join { left, right } = at.origin {
            let middle = link + self.chain.pieces[left].links;
            stand.planes[1] = middle % planes;
            let halves = [
                self.stand(left, link),
                self.stand(right, middle % self.cut.links.len()),
            ];
            stand.halves = Some(halves);
        }
        self.stands.push(stand);
        self.of_piece[piece].push(self.stands.len() - 1);
        self.stands.len() - 1
    }

    fn rows(&self, plane: usize) -> usize {
        self.chain.means[self.cut.planes[plane].face].rows.nrows()
    }

    fn kept_unknowns(&self, span: usize) -> Vec<usize> {
        let kept = &self.chain.kept;
        let next = (span + 1) % kept.len();
        [span, next]
            .into_iter()
            .flat_map(|at| {
                let offset = self.offsets[at];
                (0..self.rows(kept[at])).map(move |i| match offset {
                    usize::MAX => usize::MAX,
                    offset => offset + i,
                })
            })
            .collect()
    }

    fn assemble(&self) -> Mat<f64> {
        let mut body = super::reduce::Body::new(self.size, 0, false);
        for (span, &(piece, _)) in self.chain.spans.iter().enumerate() {
            let stiffness = &self.chain.pieces[piece].reduced.stiffness;
            body.add_stiffness(stiffness.as_ref(), &self.kept_unknowns(span));
        }
        for (at, plane) in self.chain.kept.iter().enumerate() {
            let attached = self
                .chain
                .attached
                .get(plane)
                .and_then(|a| a.stiffness.as_ref());
            if let (Some(stiffness), true) = (attached, self.moves[*plane]) {
                let to: Vec<usize> = (0..stiffness.nrows())
                    .map(|i| self.offsets[at] + i)
                    .collect();
                body.add_stiffness(stiffness.as_ref(), &to);
            }
        }
        body.stiffness
    }

    /// Motion under forces on the planes.
    fn solve(&self, forces: &Block) -> Block {
        let many = forces.iter().map(|block| block.ncols()).max().unwrap_or(0);
        let count = self.stands.len();
        // What each stand hands up on its two end planes, and keeps for the way down.
        let mut handed: Vec<Mat<f64>> = vec![Mat::new(); count];
        let mut reduced: Vec<Mat<f64>> = vec![Mat::new(); count];
        for (piece, at) in self.chain.pieces.iter().enumerate() {
            let here = &self.of_piece[piece];
            let size = at.reduced.stiffness.nrows();
            let Origin::Join { .. } = at.origin else {
                for &stand in here {
                    handed[stand] = Mat::zeros(size, many);
                }
                continue;
            };
            let gone = at.reduced.way.factor.ncols();
            let mut all = Mat::zeros(gone + size, here.len() * many);
            for (k, &stand) in here.iter().enumerate() {
                let [left, right] = self.stands[stand].halves.unwrap_or([0, 0]);
                let own = &forces[self.stands[stand].planes[1]];
                let (low, high) = (&handed[left], &handed[right]);
                for c in 0..many {
                    let to = k * many + c;
                    for i in 0..gone {
                        all[(i, to)] = own[(i, c)] + low[(at.first + i, c)] + high[(i, c)];
                    }
                    for i in 0..at.first {
                        all[(gone + i, to)] = low[(i, c)];
                    }
                    for i in at.first..size {
                        all[(gone + i, to)] = high[(gone + i - at.first, c)];
                    }
                }
            }
            at.reduced.way.forth(&mut all);
            for (k, &stand) in here.iter().enumerate() {
                let part = all.as_ref().subcols(k * many, many);
                reduced[stand] = part.subrows(0, gone).to_owned();
                handed[stand] = part.subrows(gone, size).to_owned();
            }
        }
        let top = self.solve_kept(forces, &handed, many);
        self.descend(&top, &reduced, many)
    }

    fn solve_kept(&self, forces: &Block, handed: &[Mat<f64>], many: usize) -> Mat<f64> {
        let mut right = Mat::zeros(self.size, many);
        for (at, &plane) in self.chain.kept.iter().enumerate() {
            if self.moves[plane] {
                for c in 0..many {
                    for i in 0..forces[plane].nrows() {
                        right[(self.offsets[at] + i, c)] += forces[plane][(i, c)];
                    }
                }
            }
        }
        for (span, &top) in self.tops.iter().enumerate() {
            for (i, &to) in self.kept_unknowns(span).iter().enumerate() {
                if to != usize::MAX {
                    for c in 0..many {
                        right[(to, c)] += handed[top][(i, c)];
                    }
                }
            }
        }
        match &self.whole {
            Some(whole) => whole.solve(&right),
            None => right,
        }
    }

    fn descend(&self, top: &Mat<f64>, reduced: &[Mat<f64>], many: usize) -> Block {
        let mut block: Block = (0..self.cut.planes.len())
            .map(|plane| Mat::zeros(self.rows(plane), many))
            .collect();
        for (at, &plane) in self.chain.kept.iter().enumerate() {
            if self.moves[plane] {
                let rows = self.rows(plane);
                block[plane] = top.as_ref().subrows(self.offsets[at], rows).to_owned();
            }
        }
        for (piece, at) in self.chain.pieces.iter().enumerate().rev() {
            let here = &self.of_piece[piece];
            let Origin::Join { .. } = at.origin else {
                continue;
            };
            let gone = at.reduced.way.factor.ncols();
            let size = at.reduced.stiffness.nrows();
            let kept = Mat::from_fn(size, here.len() * many, |i, m| {
                let [first, _, last] = self.stands[here[m / many]].planes;
                let c = m % many;
                if i < at.first {
                    block[first][(i, c)]
                } else {
                    block[last][(i - at.first, c)]
                }
            });
            let stored = Mat::from_fn(gone, here.len() * many, |i, m| {
                reduced[here[m / many]][(i, m % many)]
            });
            let motion = at.reduced.way.back_solve(stored.as_ref(), kept.as_ref());
            for (k, &stand) in here.iter().enumerate() {
                let middle = self.stands[stand].planes[1];
                block[middle] = motion.as_ref().subcols(k * many, many).to_owned();
            }
        }
        block
    }

    /// Mass times motion.
    fn mass(&self, motion: &Block, points: &HashMap<usize, Mat<f64>>) -> Block {
        let many = motion.iter().map(|block| block.ncols()).max().unwrap_or(0);
        let planes = self.cut.planes.len();
        let mut result: Block = motion
            .iter()
            .map(|m| Mat::zeros(m.nrows(), m.ncols()))
            .collect();
        let mut pieces: Vec<usize> = self.chain.cells.iter().map(|cell| cell.0).collect();
        pieces.sort_unstable();
        pieces.dedup();
        for piece in pieces {
            let at = &self.chain.pieces[piece];
            let size = at.reduced.mass.nrows();
            let links: Vec<usize> = self
                .chain
                .cells
                .iter()
                .filter(|cell| cell.0 == piece)
                .map(|cell| cell.1)
                .collect();
            let ends = |m: usize| [links[m / many], (links[m / many] + at.links) % planes];
            let moved = Mat::from_fn(size, links.len() * many, |i, m| {
                let [first, last] = ends(m);
                let c = m % many;
                if i < at.first {
                    motion[first][(i, c)]
                } else {
                    motion[last][(i - at.first, c)]
                }
            });
            let pulled = product(at.reduced.mass.as_ref(), moved.as_ref());
            for m in 0..pulled.ncols() {
                let [first, last] = ends(m);
                for i in 0..at.first {
                    result[first][(i, m % many)] += pulled[(i, m)];
                }
                for i in at.first..size {
                    result[last][(i - at.first, m % many)] += pulled[(i, m)];
                }
            }
        }
        for plane in 0..planes {
            if !self.moves[plane] {
                result[plane].fill(0.0);
            } else if let Some(mass) = points.get(&plane) {
                add_product(
                    result[plane].as_mut(),
                    mass.as_ref(),
                    motion[plane].as_ref(),
                    1.0,
                );
            }
        }
        result
    }

    /// Motions to start from: sections moved as rigid bodies, in waves along the path.
    fn start(&self, many: usize) -> Block {
        let total = self.cut.planes.len() as f64;
        (0..self.cut.planes.len())
            .map(|plane| {
                let rows = self.rows(plane);
                if !self.moves[plane] {
                    return Mat::zeros(rows, many);
                }
                let along = plane as f64 / total;
                let nodes = &self.cut.faces[self.cut.planes[plane].face].nodes;
                Mat::from_fn(rows, many, |i, c| {
                    let [y, z] = nodes[i / 3];
                    let (pattern, wave) = if c < 6 {
                        (c, 1.0)
                    } else {
                        let order = (1 + (c - 6) / 4) as f64;
                        let angle = order * along * if self.cut.closed { TAU } else { PI };
                        let wave = if c % 4 < 2 {
                            angle.cos()
                        } else {
                            (angle + 0.1).sin()
                        };
                        (1 + c % 2, wave)
                    };
                    let motion = match pattern {
                        0 => [1.0, 0.0, 0.0],
                        1 => [0.0, 1.0, 0.0],
                        2 => [0.0, 0.0, 1.0],
                        3 => [0.0, -z, y],
                        4 => [z, 0.0, 0.0],
                        _ => [-y, 0.0, 0.0],
                    };
                    // A little of everything, so that no mode is left out by symmetry.
                    let speck =
                        ((37 * plane + 13 * i + 101 * c) as f64 * 0.618_033_988_749).fract();
                    wave * motion[i % 3] + 0.02 * (speck - 0.5)
                })
            })
            .collect()
    }
}

/// Products of all pairs of columns.
fn gram(a: &Block, b: &Block) -> DMatrix<f64> {
    let many = a.iter().map(|block| block.ncols()).max().unwrap_or(0);
    let mut sum = Mat::zeros(many, many);
    for (x, y) in a.iter().zip(b) {
        add_product(sum.as_mut(), x.transpose(), y.as_ref(), 1.0);
    }
    DMatrix::from_fn(many, many, |i, j| 0.5 * (sum[(i, j)] + sum[(j, i)]))
}

/// Columns mixed.
fn mixed(block: &Block, mix: &DMatrix<f64>) -> Block {
    let mix = Mat::from_fn(mix.nrows(), mix.ncols(), |i, j| mix[(i, j)]);
    block
        .iter()
        .map(|part| product(part.as_ref(), mix.as_ref()))
        .collect()
}

fn iterate(
    solver: &Solver,
    masses: &HashMap<usize, Mat<f64>>,
    of: &Vibration,
    shift: f64,
    count: usize,
) -> Result<Vec<Mode>, SolidError> {
    let rigid = if of.supports.is_empty() { 6 } else { 0 };
    let wanted = count + rigid;
    let many = wanted + 8;
    let mut pulled = solver.mass(&solver.start(many), masses);
    let mut last: Vec<f64> = Vec::new();
    for _ in 0..ROUNDS {
        let motion = solver.solve(&pulled);
        let stiff = gram(&motion, &pulled);
        let heavy = solver.mass(&motion, masses);
        let mass = gram(&motion, &heavy);
        // Columns to unit mass, so that the factor is not spoilt by their sizes.
        let unit = DMatrix::from_diagonal(
            &mass
                .diagonal()
                .map(|m| 1.0 / m.max(f64::MIN_POSITIVE).sqrt()),
        );
        let (stiff, mass) = (&unit * stiff * &unit, &unit * mass * &unit);
        let lower = mass.cholesky().ok_or(SolidError::Unsettled)?.l();
        let inverse = lower.try_inverse().ok_or(SolidError::Unsettled)?;
        let eigen = (&inverse * stiff * inverse.transpose()).symmetric_eigen();
        let mut order: Vec<usize> = (0..many).collect();
        order.sort_by(|&a, &b| eigen.eigenvalues[a].total_cmp(&eigen.eigenvalues[b]));
        let values: Vec<f64> = order
            .iter()
            .map(|&k| eigen.eigenvalues[k] - shift)
            .collect();
        let vectors = DMatrix::from_fn(many, many, |i, j| eigen.eigenvectors[(i, order[j])]);
        let mix = unit * inverse.transpose() * vectors;
        let settled = last.len() == many
            && (rigid..wanted).all(|k| (values[k] - last[k]).abs() <= 1e-7 * values[k].abs());
        if settled {
            let motion = mixed(&motion, &mix);
            return Ok((rigid..wanted)
                .map(|k| mode(solver, &motion, k, values[k]))
                .collect());
        }
        pulled = mixed(&heavy, &mix);
        last = values;
    }
    Err(SolidError::Unsettled)
}

fn mode(solver: &Solver, motion: &Block, column: usize, value: f64) -> Mode {
    let mut energy = [0.0; 3];
    let mut shape = Vec::new();
    for (plane, moved) in motion.iter().enumerate() {
        if !solver.moves[plane] {
            continue;
        }
        let means = &solver.chain.means[solver.cut.planes[plane].face];
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
        let (sin, cos) = solver.cut.planes[plane].pose.heading.sin_cos();
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
