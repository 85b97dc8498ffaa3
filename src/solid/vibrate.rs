//! The joined frame as a solver for forces on all planes that stay, and the mass that moves with them.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use faer::{Mat, MatRef};

use super::chain::{Chain, as_own, carry, inertia, seat_columns, spread_ends};
use super::error::SolidError;
use super::frame::Solid;
use super::piece::{End, Origin, join_mass, mirror_plane, mirror_rows, sign};
use super::reduce::{add_product, product};
use super::ties::{Bed, Ties};
use crate::structure::Support;

/// Block of vectors: for every plane that stays, its rows; no rows at the others.
pub(super) type Block = Vec<Mat<f64>>;

/// A place where a joined piece stands.
struct Stand {
    piece: usize,
    mirrored: bool,
    /// First plane, the plane between the halves, last plane.
    planes: [usize; 3],
    /// Left and right; `None`: a cell.
    halves: [Option<usize>; 2],
}

/// A cell's piece, its mass, and where it stands: (mirrored, first link).
type Cell = (usize, Mat<f64>, Vec<(bool, usize)>);

/// A frame with some supports, ready to be solved for forces on its planes.
pub(super) struct Vibrator<'a> {
    pub solid: &'a Solid<'a>,
    stands: Vec<Stand>,
    /// Stands of each piece.
    of_piece: Vec<Vec<usize>>,
    /// Stand at the top of each span.
    tops: Vec<Option<usize>>,
    bed: Bed,
    /// Whether a plane stays and moves.
    pub moves: Vec<bool>,
    /// Springs and holds as forces on the planes, and the motions they make.
    ties: (Block, Block),
    small: Option<Ties>,
    /// Distinct cells.
    cells: Vec<Cell>,
    /// Masses that ride on planes.
    points: BTreeMap<usize, Mat<f64>>,
}

impl<'a> Vibrator<'a> {
    pub fn new(solid: &'a Solid<'a>, supports: &[Support]) -> Result<Vibrator<'a>, SolidError> {
        let chain = &solid.chain;
        let planes = solid.cut.planes.len();
        let clamped = solid.clamped(supports);
        let mut moves = vec![false; planes];
        for &(laid, link) in &chain.cells {
            moves[link] = true;
            moves[(link + chain.pieces[laid.piece].links) % planes] = true;
        }
        for (&plane, &from) in chain.kept.iter().zip(&solid.whole.offsets) {
            moves[plane] = !clamped[from];
        }
        let mut vibrator = Vibrator {
            solid,
            stands: Vec::new(),
            of_piece: vec![Vec::new(); chain.pieces.len()],
            tops: Vec::new(),
            bed: solid.bed(&clamped)?,
            moves,
            ties: (Vec::new(), Vec::new()),
            small: None,
            cells: masses(solid),
            points: BTreeMap::new(),
        };
        let is_cell: Vec<bool> = {
            let mut cell = vec![false; chain.pieces.len()];
            chain
                .cells
                .iter()
                .for_each(|(laid, _)| cell[laid.piece] = true);
            cell
        };
        for &span in &chain.spans {
            let top = vibrator.stand_stretch(span, &is_cell);
            vibrator.tops.push(top);
        }
        vibrator.add_points();
        vibrator.tie(supports);
        Ok(vibrator)
    }

    fn chain(&self) -> &'a Chain {
        &self.solid.chain
    }

    fn stand_stretch(&mut self, at: usize, is_cell: &[bool]) -> Option<usize> {
        let stretch = &self.chain().stretches[at];
        let Some(halves) = &stretch.halves else {
            return self.stand(
                stretch.laid.piece,
                stretch.laid.mirrored,
                stretch.link,
                is_cell,
            );
        };
        let both = [halves.left, halves.right].map(|half| self.stand_stretch(half, is_cell));
        let middle = self.chain().stretches[halves.right].link;
        Some(self.push(
            stretch.laid.piece,
            stretch.laid.mirrored,
            [stretch.link, middle],
            both,
        ))
    }

    fn stand(
        &mut self,
        piece: usize,
        mirrored: bool,
        link: usize,
        is_cell: &[bool],
    ) -> Option<usize> {
        let Origin::Join(left, right) = self.chain().pieces[piece].origin else {
            return None;
        };
        if is_cell[piece] {
            return None;
        }
        let [near, far] = if mirrored {
            [right, left]
        } else {
            [left, right]
        };
        let links = self.solid.cut.links.len();
        let middle = (link + self.chain().pieces[near.piece].links) % links;
        let halves = [(near, link), (far, middle)];
        let halves = halves
            .map(|(laid, link)| self.stand(laid.piece, laid.mirrored != mirrored, link, is_cell));
        Some(self.push(piece, mirrored, [link, middle], halves))
    }

    fn push(
        &mut self,
        piece: usize,
        mirrored: bool,
        [first, middle]: [usize; 2],
        halves: [Option<usize>; 2],
    ) -> usize {
        let last = (first + self.chain().pieces[piece].links) % self.solid.cut.planes.len();
        self.stands.push(Stand {
            piece,
            mirrored,
            planes: [first, middle, last],
            halves,
        });
        self.of_piece[piece].push(self.stands.len() - 1);
        self.stands.len() - 1
    }

    pub fn rows(&self, plane: usize) -> usize {
        let face = self.solid.cut.planes[plane].face;
        self.chain().means[face].rows.nrows()
    }

    fn empty(&self, many: usize) -> Block {
        let rows = |plane: usize| {
            if self.moves[plane] {
                self.rows(plane)
            } else {
                0
            }
        };
        (0..self.moves.len())
            .map(|plane| Mat::zeros(rows(plane), many))
            .collect()
    }

    /// Masses that ride on seats, on the planes those rest on.
    fn add_points(&mut self) {
        let solid = self.solid;
        for point in &solid.carried.points {
            let seat = solid.seat_of[point.node];
            let inertia = inertia(point.mass_t, point.offset_mm);
            for (plane, share) in solid.seats[seat].shares {
                if share == 0.0 || !self.moves[plane] {
                    continue;
                }
                let pose = |_| solid.poses[seat];
                let carry = carry(solid.cut, plane, solid.seats[seat].station_mm, &pose);
                let face = solid.cut.planes[plane].face;
                let rows = product(self.chain().means[face].rows.as_ref(), carry.as_ref());
                let pull = product(rows.as_ref(), inertia.as_ref());
                let none = || Mat::zeros(rows.nrows(), rows.nrows());
                let into = self.points.entry(plane).or_insert_with(none);
                add_product(into.as_mut(), pull.as_ref(), rows.transpose(), share);
            }
        }
    }

    /// Springs that stand in for supports, and the holds.
    fn tie(&mut self, supports: &[Support]) {
        let (solid, chain) = (self.solid, self.chain());
        let holds = solid.holds(supports);
        let (soft, held) = (self.bed.soft.ncols(), holds.ncols());
        if soft + held == 0 {
            return;
        }
        let mut ties = self.empty(soft + held);
        for (&plane, &from) in chain.kept.iter().zip(&solid.whole.offsets) {
            // With springs nothing is clamped, so that all unknowns are free.
            for c in 0..soft {
                for i in 0..ties[plane].nrows() {
                    ties[plane][(i, c)] = self.bed.soft[(from + i, c)];
                }
            }
        }
        for (&plane, seats) in &chain.seats {
            for (seat, loads) in seats.iter().filter(|_| self.moves[plane]) {
                let first = seat_columns(*seat).start;
                let own = holds.as_ref().subrows(first, loads.ncols());
                let part = product(loads.as_ref(), own);
                for c in 0..held {
                    for i in 0..part.nrows() {
                        ties[plane][(i, soft + c)] += part[(i, c)];
                    }
                }
            }
        }
        for c in soft..soft + held {
            let square: f64 = ties.iter().map(|part| part.col(c).squared_norm_l2()).sum();
            let factor = (self.bed.typical / square.max(f64::MIN_POSITIVE)).sqrt();
            for part in &mut ties {
                part.as_mut()
                    .col_mut(c)
                    .iter_mut()
                    .for_each(|value| *value *= factor);
            }
        }
        let moved = self.untied(&ties);
        let work = work(&ties, &moved);
        self.small = Some(Ties::new(work.as_ref(), Mat::zeros(held, held).as_ref()));
        self.ties = (ties, moved);
    }

    /// Motions without strain that the supports allow.
    pub fn rigid(&self) -> Block {
        match &self.small {
            Some(small) => {
                let free = Mat::from_fn(small.free.nrows(), small.free.ncols(), |i, j| {
                    small.free[(i, j)]
                });
                let parts = self.ties.1.iter();
                parts
                    .map(|part| product(part.as_ref(), free.as_ref()))
                    .collect()
            }
            None => self.empty(0),
        }
    }

    /// Motion under forces on the planes; where the supports allow motions without strain the forces must not
    /// work on them, and any of them may be part of the answer.
    pub fn solve(&self, forces: &Block) -> Block {
        let mut motion = self.untied(forces);
        if let Some(small) = &self.small {
            let work = work(&self.ties.0, &motion);
            let held = vec![0.0; self.ties.0[0].ncols().max(work.nrows()) - self.bed.soft.ncols()];
            let mut back = Mat::zeros(work.nrows(), work.ncols());
            for c in 0..work.ncols() {
                let found = small.forces(work.col_as_slice(c), &held);
                back.col_as_slice_mut(c).copy_from_slice(&found);
            }
            for (part, moved) in motion.iter_mut().zip(&self.ties.1) {
                add_product(part.as_mut(), moved.as_ref(), back.as_ref(), 1.0);
            }
        }
        motion
    }

    /// Motion under forces with the soft springs on and no hold.
    fn untied(&self, forces: &Block) -> Block {
        let many = forces.iter().map(|block| block.ncols()).max().unwrap_or(0);
        // What each stand hands up on its two end planes, and keeps for the way down as its piece has it.
        let mut handed: Vec<Mat<f64>> = vec![Mat::new(); self.stands.len()];
        let mut own: Vec<Mat<f64>> = vec![Mat::new(); self.chain().pieces.len()];
        for (piece, at) in self.chain().pieces.iter().enumerate() {
            let here = &self.of_piece[piece];
            if here.is_empty() {
                continue;
            }
            let gone = at.middle.loads.nrows();
            let mut all = Mat::zeros(gone + at.size(), here.len() * many);
            for (k, &stand) in here.iter().enumerate() {
                let gathered = self.gathered(&self.stands[stand], forces, &handed, many);
                let own = as_own(at, self.stands[stand].mirrored, gathered);
                all.as_mut().subcols_mut(k * many, many).copy_from(&own);
            }
            at.middle.forth(all.as_mut());
            for (k, &stand) in here.iter().enumerate() {
                let ends = all.as_ref().submatrix(gone, k * many, at.size(), many);
                handed[stand] = match self.stands[stand].mirrored {
                    true => mirror_rows(ends, at.first),
                    false => ends.to_owned(),
                };
            }
            own[piece] = all.as_ref().subrows(0, gone).to_owned();
        }
        let mut motion = self.kept(forces, &handed, many);
        for (piece, at) in self.chain().pieces.iter().enumerate().rev() {
            let here = &self.of_piece[piece];
            let mut kept = Mat::zeros(at.size(), here.len() * many);
            for (k, &stand) in here.iter().enumerate() {
                let stand = &self.stands[stand];
                let into = kept.as_mut().subcols_mut(k * many, many);
                self.ends(
                    &motion,
                    [stand.planes[0], stand.planes[2]],
                    stand.mirrored,
                    into,
                );
            }
            let mut middle = std::mem::replace(&mut own[piece], Mat::new());
            at.middle.back(middle.as_mut(), kept.as_ref());
            for (k, &stand) in here.iter().enumerate() {
                let stand = &self.stands[stand];
                let mut part = middle.as_ref().subcols(k * many, many).to_owned();
                if stand.mirrored {
                    mirror_plane(part.as_mut());
                }
                motion[stand.planes[1]] = part;
            }
        }
        motion
    }

    /// Forces on a stand's middle plane, then on its first and last, as the frame has them.
    fn gathered(
        &self,
        stand: &Stand,
        forces: &Block,
        handed: &[Mat<f64>],
        many: usize,
    ) -> Mat<f64> {
        let piece = &self.chain().pieces[stand.piece];
        let gone = piece.middle.loads.nrows();
        let first = piece.count(stand.mirrored, End::First);
        let mut all = Mat::zeros(gone + piece.size(), many);
        let mut add = |to: usize, part: MatRef<'_, f64>| {
            let mut into = all.as_mut().subrows_mut(to, part.nrows());
            into += part;
        };
        add(0, forces[stand.planes[1]].as_ref());
        if let Some(left) = stand.halves[0] {
            let (near, middle) = handed[left].as_ref().split_at_row(first);
            add(gone, near);
            add(0, middle);
        }
        if let Some(right) = stand.halves[1] {
            let (middle, far) = handed[right].as_ref().split_at_row(gone);
            add(0, middle);
            add(gone + first, far);
        }
        all
    }

    /// Motion of the kept planes.
    fn kept(&self, forces: &Block, handed: &[Mat<f64>], many: usize) -> Block {
        let (chain, whole) = (self.chain(), &self.solid.whole);
        let mut right = Mat::zeros(whole.stiffness.nrows(), many);
        let mut add = |at: usize, part: MatRef<'_, f64>| {
            let mut into = right.as_mut().subrows_mut(whole.offsets[at], part.nrows());
            into += part;
        };
        for (at, &plane) in chain
            .kept
            .iter()
            .enumerate()
            .filter(|(_, plane)| self.moves[**plane])
        {
            add(at, forces[plane].as_ref());
        }
        for (span, top) in self.tops.iter().enumerate() {
            if let Some(top) = top {
                let first = self.rows(chain.kept[span]);
                let (near, far) = handed[*top].as_ref().split_at_row(first);
                add(span, near);
                add((span + 1) % chain.kept.len(), far);
            }
        }
        let free = &self.bed.free;
        let right = Mat::from_fn(free.len(), many, |i, c| right[(free[i], c)]);
        let moved = self.bed.solve(&right);
        let mut all = Mat::zeros(whole.stiffness.nrows(), many);
        for (i, &p) in free.iter().enumerate() {
            for c in 0..many {
                all[(p, c)] = moved[(i, c)];
            }
        }
        let mut motion = self.empty(many);
        for (&plane, &from) in chain.kept.iter().zip(&whole.offsets) {
            let rows = motion[plane].nrows();
            motion[plane].copy_from(all.as_ref().subrows(from, rows));
        }
        motion
    }

    /// Rows of two planes, the first one first, or as the mirror image has them.
    fn ends(
        &self,
        block: &Block,
        [first, last]: [usize; 2],
        mirrored: bool,
        mut into: faer::MatMut<'_, f64>,
    ) {
        let order = if mirrored {
            [last, first]
        } else {
            [first, last]
        };
        let mut from = 0;
        for plane in order {
            let rows = self.rows(plane);
            if self.moves[plane] {
                let mut part = into.as_mut().subrows_mut(from, rows);
                part.copy_from(&block[plane]);
                if mirrored {
                    mirror_plane(part);
                }
            }
            from += rows;
        }
    }

    /// Mass times motion.
    pub fn mass(&self, motion: &Block) -> Block {
        let many = motion.iter().map(|block| block.ncols()).max().unwrap_or(0);
        let planes = self.moves.len();
        let mut result = self.empty(many);
        for (piece, mass, places) in &self.cells {
            let at = &self.chain().pieces[*piece];
            let ends = |link: usize| [link, (link + at.links) % planes];
            let mut moved = Mat::zeros(at.size(), places.len() * many);
            for (k, &(mirrored, link)) in places.iter().enumerate() {
                let into = moved.as_mut().subcols_mut(k * many, many);
                self.ends(motion, ends(link), mirrored, into);
            }
            let pulled = product(mass.as_ref(), moved.as_ref());
            for (k, &(mirrored, link)) in places.iter().enumerate() {
                let part = pulled.as_ref().subcols(k * many, many);
                let (first, last) = part.split_at_row(at.first);
                let [near, far] = ends(link);
                let order = if mirrored { [far, near] } else { [near, far] };
                for (plane, part) in order.into_iter().zip([first, last]) {
                    if !self.moves[plane] {
                        continue;
                    }
                    for c in 0..many {
                        for i in 0..part.nrows() {
                            let flip = if mirrored { sign(i) } else { 1.0 };
                            result[plane][(i, c)] += flip * part[(i, c)];
                        }
                    }
                }
            }
        }
        for (&plane, mass) in &self.points {
            let own = motion[plane].as_ref();
            add_product(result[plane].as_mut(), mass.as_ref(), own, 1.0);
        }
        result
    }

    /// Motions to start from: sections moved as rigid bodies, in waves along the path.
    pub fn start(&self, many: usize) -> Block {
        let cut = self.solid.cut;
        let total = cut.planes.len() as f64;
        let mut block = self.empty(many);
        for (plane, part) in block.iter_mut().enumerate() {
            let along = plane as f64 / total;
            let nodes = &cut.faces[cut.planes[plane].face].nodes;
            for c in 0..many {
                // All rigid motions in waves of their own, and a little of everything, so that no mode is left out
                // by symmetry.
                let share: [f64; 6] = std::array::from_fn(|k| {
                    let order = (1 + (c + k) % (2 + many / 2)) as f64;
                    0.3 + (order * along * TAU + (7 * c + 3 * k) as f64).sin()
                });
                for i in 0..part.nrows() {
                    let [y, z] = nodes[i / 3];
                    let motion = [
                        share[0] + 0.1 * (share[4] * z - share[5] * y),
                        share[1] - 0.1 * share[3] * z,
                        share[2] + 0.1 * share[3] * y,
                    ];
                    let speck =
                        ((37 * plane + 13 * i + 101 * c) as f64 * 0.618_033_988_749).fract();
                    part[(i, c)] = motion[i % 3] + 0.02 * (speck - 0.5);
                }
            }
        }
        block
    }
}

fn work(ties: &Block, motion: &Block) -> Mat<f64> {
    let columns = |block: &Block| block.iter().map(|part| part.ncols()).max().unwrap_or(0);
    let mut sum = Mat::zeros(columns(ties), columns(motion));
    for (a, b) in ties.iter().zip(motion) {
        add_product(sum.as_mut(), a.transpose(), b.as_ref(), 1.0);
    }
    sum
}

/// Mass of every distinct cell, and where it stands.
fn masses(solid: &Solid) -> Vec<Cell> {
    let chain = &solid.chain;
    let mut slabs: BTreeMap<usize, Mat<f64>> = BTreeMap::new();
    let mut cells: BTreeMap<usize, Vec<(bool, usize)>> = BTreeMap::new();
    for &(laid, link) in &chain.cells {
        cells
            .entry(laid.piece)
            .or_default()
            .push((laid.mirrored, link));
    }
    let mut of_slab = |slab: usize| -> Mat<f64> {
        slabs
            .entry(slab)
            .or_insert_with(|| slab_mass(solid, slab))
            .clone()
    };
    cells
        .into_iter()
        .map(|(piece, places)| {
            let at = &chain.pieces[piece];
            let mass = match at.origin {
                Origin::Slab(slab) => of_slab(slab),
                Origin::Join(left, right) => {
                    let [l, r] = [left, right].map(|laid| of_slab(laid.piece));
                    let side = |laid: super::piece::Laid| &chain.pieces[laid.piece];
                    join_mass(
                        &at.middle,
                        (side(left), left.mirrored, &l),
                        (side(right), right.mirrored, &r),
                    )
                }
            };
            (piece, mass, places)
        })
        .collect()
}

fn slab_mass(solid: &Solid, slab: usize) -> Mat<f64> {
    let chain = &solid.chain;
    let mut mass = chain.condensed[slab].mass(&solid.cut.slabs[slab], &solid.law);
    if solid.spread.mass > 0.0 {
        for (end, inertia, face) in spread_ends(solid.cut, slab, solid.spread) {
            let rows = &chain.means[face].rows;
            let pull = product(rows.as_ref(), inertia.as_ref());
            let from = match end {
                End::First => 0,
                End::Last => chain.pieces[slab].first,
            };
            let into = mass
                .as_mut()
                .submatrix_mut(from, from, rows.nrows(), rows.nrows());
            add_product(into, pull.as_ref(), rows.transpose(), 1.0);
        }
    }
    mass
}
