//! Lengths of frame on the unknowns of their two end planes, and how two become one.
//!
//! A piece serves as its own mirror image too: seen from its last plane, moves along the path change their sign.
//! Where a piece meets its mirror image, the plane between them moves along the path only where the two ends move
//! oppositely, and across it only where they move alike, so that both parts are eliminated on their own.

use faer::{Mat, MatMut, MatRef};

use super::condense::ACCELERATIONS;
use super::reduce::{
    Body, Loose, Reduced, Way, add_product, eliminate, mirror_lower, product, subtract_square,
};

/// A piece in one of its two directions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Laid {
    pub piece: usize,
    /// Whether it stands as its own mirror image, last plane first.
    pub mirrored: bool,
}

/// Where a piece comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Origin {
    /// A slab.
    Slab(usize),
    /// Two pieces joined at a plane.
    Join(Laid, Laid),
}

/// A length of frame on the unknowns of its two end planes.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub origin: Origin,
    /// Unknowns of the first plane; the rest are the last plane's.
    pub first: usize,
    /// Links in it.
    pub links: usize,
    /// Turn of the path over it, in rad.
    pub turn: f64,
    /// Whether it is its own mirror image.
    pub symmetric: bool,
    /// Stiffness (k, k); only the lower triangle holds.
    pub stiffness: Mat<f64>,
    /// Loads (k, 3) of accelerations along the axes of the first plane.
    pub loads: Mat<f64>,
    /// Give (3, 3) under them.
    pub give: Mat<f64>,
    pub middle: Middle,
}

/// The way back to the plane between two joined pieces.
#[derive(Clone, Debug)]
pub(super) struct Middle {
    pub factors: Factors,
    /// y (e, 3) of the accelerations.
    pub loads: Mat<f64>,
}

#[derive(Clone, Debug)]
pub(super) enum Factors {
    /// No plane: a slab.
    None,
    /// Two different pieces.
    Plain(Way),
    /// A piece and its mirror image: factors of the unknowns along and across the path in one of them.
    Mirror { along: Way, across: Way },
}

/// One of the two end planes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    First,
    Last,
}

/// Sign that an unknown changes to in the mirror image.
pub(super) fn sign(unknown: usize) -> f64 {
    if unknown.is_multiple_of(3) { -1.0 } else { 1.0 }
}

/// Matrix that takes a vector's components along a plane's axes to those along axes turned on by `turn`.
pub(super) fn rotation(turn: f64) -> Mat<f64> {
    let (sin, cos) = turn.sin_cos();
    let rows = [[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]];
    Mat::from_fn(3, 3, |i, j| rows[i][j])
}

/// Accelerations of a mirror image, along its first plane's axes, as the original sees them along its own.
pub(super) fn mirror_mix(turn: f64) -> Mat<f64> {
    let back = rotation(-turn);
    Mat::from_fn(3, 3, |i, j| back[(i, j)] * if j == 0 { -1.0 } else { 1.0 })
}

/// Rows of two planes as the mirror image has them: the last `size - first` come first.
pub(super) fn mirror_rows(rows: MatRef<'_, f64>, first: usize) -> Mat<f64> {
    let size = rows.nrows();
    let last = size - first;
    let mut mirrored = Mat::zeros(size, rows.ncols());
    for c in 0..rows.ncols() {
        for i in 0..size {
            let (from, at) = if i < last {
                (first + i, i)
            } else {
                (i - last, i - last)
            };
            mirrored[(i, c)] = sign(at) * rows[(from, c)];
        }
    }
    mirrored
}

/// Changes the signs of a plane's rows.
pub(super) fn mirror_plane(mut rows: MatMut<'_, f64>) {
    for c in 0..rows.ncols() {
        for i in (0..rows.nrows()).step_by(3) {
            rows[(i, c)] = -rows[(i, c)];
        }
    }
}

impl Piece {
    /// A slab's.
    pub fn of_slab(slab: usize, reduced: Reduced, first: usize, turn: f64) -> Piece {
        Piece {
            origin: Origin::Slab(slab),
            first,
            links: 1,
            turn,
            symmetric: false,
            stiffness: reduced.stiffness,
            loads: reduced.loads,
            give: reduced.give,
            middle: Middle {
                factors: Factors::None,
                loads: Mat::new(),
            },
        }
    }

    pub fn size(&self) -> usize {
        self.stiffness.nrows()
    }

    /// Unknowns of an end plane of the piece as it is laid.
    pub fn count(&self, mirrored: bool, end: End) -> usize {
        if (end == End::First) == mirrored {
            self.size() - self.first
        } else {
            self.first
        }
    }

    /// Loads and give of accelerations along the first plane's axes of the piece as it is laid.
    pub fn laid_loads(&self, mirrored: bool) -> (Mat<f64>, Mat<f64>) {
        if !mirrored {
            return (self.loads.clone(), self.give.clone());
        }
        let (loads, give) = mixed(&self.loads, &self.give, &mirror_mix(self.turn));
        (mirror_rows(loads.as_ref(), self.first), give)
    }

    /// Adds a block of the stiffness of the piece as it is laid; of a diagonal block the lower triangle.
    pub fn add_block(&self, mirrored: bool, (rows, columns): (End, End), into: MatMut<'_, f64>) {
        add_block(
            self.stiffness.as_ref(),
            self.first,
            mirrored,
            (rows, columns),
            into,
        );
    }
}

/// Loads and give of accelerations that are mixed into a body's own.
pub(super) fn mixed(loads: &Mat<f64>, give: &Mat<f64>, mix: &Mat<f64>) -> (Mat<f64>, Mat<f64>) {
    let give = product(give.as_ref(), mix.as_ref());
    (
        product(loads.as_ref(), mix.as_ref()),
        product(mix.transpose(), give.as_ref()),
    )
}

/// Adds a block of a symmetric matrix on two planes, whose lower triangle holds.
fn add_block(
    matrix: MatRef<'_, f64>,
    first: usize,
    mirrored: bool,
    (rows, columns): (End, End),
    into: MatMut<'_, f64>,
) {
    let from = |end: End| {
        if (end == End::First) == mirrored {
            first
        } else {
            0
        }
    };
    let (row, column) = (from(rows), from(columns));
    let lower = rows == columns;
    let transposed = row < column;
    for (j, into) in into.col_iter_mut().enumerate() {
        let Some(into) = into.try_as_col_major_mut() else {
            continue;
        };
        let into = into.as_slice_mut();
        let begin = if lower { j } else { 0 };
        let flip = if mirrored { sign(j) } else { 1.0 };
        if transposed {
            for (i, value) in into.iter_mut().enumerate() {
                let flip = if mirrored { flip * sign(i) } else { 1.0 };
                *value += flip * matrix[(column + j, row + i)];
            }
            continue;
        }
        let Some(source) = matrix.col(column + j).try_as_col_major() else {
            continue;
        };
        let source = &source.as_slice()[row..];
        for (i, (value, part)) in into.iter_mut().zip(source).enumerate().skip(begin) {
            let flip = if mirrored { flip * sign(i) } else { 1.0 };
            *value += flip * part;
        }
    }
}

impl Middle {
    /// Forward half of a solve for forces on the middle plane, then on the first and last: y, and the forces left.
    pub fn forth(&self, mut all: MatMut<'_, f64>) {
        match &self.factors {
            Factors::None => {}
            Factors::Plain(way) => way.forth(all),
            Factors::Mirror { along, across } => {
                let ends = along.factor.nrows() - along.factor.ncols();
                let middle = all.nrows() - 2 * ends;
                let many = all.ncols();
                for (way, parity) in [(along, -1.0), (across, 1.0)] {
                    let gone = way.factor.ncols();
                    let mut half = Mat::zeros(gone + ends, many);
                    for c in 0..many {
                        for (i, at) in part(parity, middle).enumerate() {
                            half[(i, c)] = 0.5 * all[(at, c)];
                        }
                    }
                    way.forth(half.as_mut());
                    for c in 0..many {
                        for (i, at) in part(parity, middle).enumerate() {
                            all[(at, c)] = half[(i, c)];
                        }
                        for i in 0..ends {
                            let left = half[(gone + i, c)];
                            all[(middle + i, c)] += left;
                            all[(middle + ends + i, c)] += parity * sign(i) * left;
                        }
                    }
                }
            }
        }
    }

    /// Backward half: y becomes the middle plane's motion, that of the end planes given.
    pub fn back(&self, mut y: MatMut<'_, f64>, kept: MatRef<'_, f64>) {
        match &self.factors {
            Factors::None => {}
            Factors::Plain(way) => way.back(y, kept),
            Factors::Mirror { along, across } => {
                let ends = along.factor.nrows() - along.factor.ncols();
                let (middle, many) = (y.nrows(), y.ncols());
                for (way, parity) in [(along, -1.0), (across, 1.0)] {
                    let moved = Mat::from_fn(ends, many, |i, c| {
                        0.5 * (kept[(i, c)] + parity * sign(i) * kept[(ends + i, c)])
                    });
                    let mut half = Mat::zeros(way.factor.ncols(), many);
                    for c in 0..many {
                        for (i, at) in part(parity, middle).enumerate() {
                            half[(i, c)] = y[(at, c)];
                        }
                    }
                    way.back(half.as_mut(), moved.as_ref());
                    for c in 0..many {
                        for (i, at) in part(parity, middle).enumerate() {
                            y[(at, c)] = half[(i, c)];
                        }
                    }
                }
            }
        }
    }

    /// Give of amplitudes whose forces on the middle plane became y.
    pub fn give(&self, y: MatRef<'_, f64>) -> Mat<f64> {
        let mut give = product(y.transpose(), y);
        if let Factors::Mirror { .. } = self.factors {
            give *= 2.0;
        }
        give
    }
}

/// Unknowns of a plane along the path (parity -1) or across it.
fn part(parity: f64, size: usize) -> impl Iterator<Item = usize> {
    (0..size).filter(move |&i| sign(i) == parity)
}

/// Stiffness on the outer planes and the way back, of two pieces joined.
pub(super) fn join(
    left: (&Piece, bool),
    right: (&Piece, bool),
) -> Result<(Mat<f64>, Factors), Loose> {
    let ends = [
        left.0.count(left.1, End::First),
        right.0.count(right.1, End::Last),
    ];
    let middle = left.0.count(left.1, End::Last);
    let mut body = Body::new(middle, ends[0] + ends[1], 0);
    let (mut near, far) = body.going.as_mut().split_at_row_mut(middle);
    left.0
        .add_block(left.1, (End::Last, End::Last), near.as_mut());
    right.0.add_block(right.1, (End::First, End::First), near);
    let (first, last) = far.split_at_row_mut(ends[0]);
    left.0.add_block(left.1, (End::First, End::Last), first);
    right.0.add_block(right.1, (End::Last, End::First), last);
    let (first, _, _, last) = body.staying.as_mut().split_at_mut(ends[0], ends[0]);
    left.0.add_block(left.1, (End::First, End::First), first);
    right.0.add_block(right.1, (End::Last, End::Last), last);
    let reduced = body.reduce()?;
    Ok((reduced.stiffness, Factors::Plain(reduced.way)))
}

/// The same of a piece and its mirror image.
pub(super) fn join_mirror(piece: &Piece, mirrored: bool) -> Result<(Mat<f64>, Factors), Loose> {
    let (ends, middle) = (
        piece.count(mirrored, End::First),
        piece.count(mirrored, End::Last),
    );
    let mut own = Mat::zeros(ends, ends);
    piece.add_block(mirrored, (End::First, End::First), own.as_mut());
    let (between, across) = middle_blocks(&piece.stiffness, piece, mirrored);
    let mut ways = Vec::with_capacity(2);
    // Stiffness of the ends moved oppositely, and alike.
    let mut moved = Vec::with_capacity(2);
    for parity in [-1.0, 1.0] {
        let at: Vec<usize> = part(parity, middle).collect();
        let mut factor = Mat::zeros(at.len() + ends, at.len());
        for (j, &q) in at.iter().enumerate() {
            let column = factor.col_as_slice_mut(j);
            for (i, &p) in at.iter().enumerate().skip(j) {
                column[i] = between[(p, q)];
            }
            column[at.len()..].copy_from_slice(across.col_as_slice(q));
        }
        eliminate(factor.as_mut()).map_err(|Loose(i)| Loose(at[i]))?;
        let mut stiffness = own.clone();
        let far = factor.as_ref().subrows(at.len(), ends);
        subtract_square(stiffness.as_mut(), far, 1.0);
        moved.push(stiffness);
        ways.push(Way {
            factor,
            loads: Mat::new(),
        });
    }
    let (across, along) = (ways.pop(), ways.pop());
    let stiffness = both(&moved[0], &moved[1]);
    match (along, across) {
        (Some(along), Some(across)) => Ok((stiffness, Factors::Mirror { along, across })),
        _ => Err(Loose(0)),
    }
}

/// Blocks of a matrix on a piece's planes: (last, last) in its lower triangle, (first, last).
fn middle_blocks(matrix: &Mat<f64>, piece: &Piece, mirrored: bool) -> (Mat<f64>, Mat<f64>) {
    let (ends, middle) = (
        piece.count(mirrored, End::First),
        piece.count(mirrored, End::Last),
    );
    let (mut between, mut across) = (Mat::zeros(middle, middle), Mat::zeros(ends, middle));
    let block = |which, into| add_block(matrix.as_ref(), piece.first, mirrored, which, into);
    block((End::Last, End::Last), between.as_mut());
    block((End::First, End::Last), across.as_mut());
    (between, across)
}

/// Lower triangle on both ends from those for the ends moved oppositely and alike.
fn both(opposite: &Mat<f64>, alike: &Mat<f64>) -> Mat<f64> {
    let ends = alike.nrows();
    let mut all = Mat::zeros(2 * ends, 2 * ends);
    for j in 0..ends {
        for i in j..ends {
            let (a, b) = (alike[(i, j)], opposite[(i, j)]);
            let (own, cross) = (0.5 * (a + b), 0.5 * (a - b));
            all[(i, j)] = own;
            all[(ends + i, ends + j)] = sign(i) * sign(j) * own;
            all[(ends + i, j)] = sign(i) * cross;
            all[(ends + j, i)] = sign(j) * cross;
        }
    }
    all
}

/// Mass (both triangles) on the outer planes of two joined pieces, from theirs.
pub(super) fn join_mass(
    middle: &Middle,
    left: (&Piece, bool, &Mat<f64>),
    right: (&Piece, bool, &Mat<f64>),
) -> Mat<f64> {
    match &middle.factors {
        Factors::None => Mat::new(),
        Factors::Plain(way) => {
            let gone = way.factor.ncols();
            let first = left.0.count(left.1, End::First);
            let size = way.factor.nrows();
            let mut all = Mat::zeros(size, size);
            let offsets = [
                [(End::First, gone), (End::Last, 0)],
                [(End::First, 0), (End::Last, gone + first)],
            ];
            for ((piece, mirrored, mass), offsets) in [left, right].into_iter().zip(offsets) {
                for (rows, row) in offsets {
                    for (columns, column) in offsets {
                        let (m, n) = (piece.count(mirrored, rows), piece.count(mirrored, columns));
                        let into = all.as_mut().submatrix_mut(row, column, m, n);
                        add_block(mass.as_ref(), piece.first, mirrored, (rows, columns), into);
                    }
                }
            }
            mirror_lower(&mut all);
            way.mass(all.as_ref())
        }
        Factors::Mirror { along, across } => {
            let (piece, mirrored, mass) = left;
            let ends = piece.count(mirrored, End::First);
            let mut own = Mat::zeros(ends, ends);
            let which = (End::First, End::First);
            add_block(mass.as_ref(), piece.first, mirrored, which, own.as_mut());
            mirror_lower(&mut own);
            let (mut between, cross) = middle_blocks(mass, piece, mirrored);
            mirror_lower(&mut between);
            let half = |way: &Way, parity: f64| {
                let at: Vec<usize> = part(parity, between.nrows()).collect();
                let gone = at.len();
                let all = Mat::from_fn(gone + ends, gone + ends, |i, j| {
                    match (i < gone, j < gone) {
                        (true, true) => between[(at[i], at[j])],
                        (false, true) => cross[(i - gone, at[j])],
                        (true, false) => cross[(j - gone, at[i])],
                        (false, false) => own[(i - gone, j - gone)],
                    }
                });
                way.mass(all.as_ref())
            };
            let mut all = both(&half(along, -1.0), &half(across, 1.0));
            mirror_lower(&mut all);
            all
        }
    }
}

/// Loads on the middle plane, then on the first and last, and give, of accelerations on two joined pieces, along
/// the first plane's axes of the left one.
pub(super) fn joined_loads(left: (&Piece, bool), right: (&Piece, bool)) -> (Mat<f64>, Mat<f64>) {
    let (near, mut give) = left.0.laid_loads(left.1);
    let (far, far_give) = right.0.laid_loads(right.1);
    let (far, far_give) = mixed(&far, &far_give, &rotation(left.0.turn));
    give += far_give;
    let first = left.0.count(left.1, End::First);
    let middle = left.0.count(left.1, End::Last);
    let last = right.0.count(right.1, End::Last);
    let all = Mat::from_fn(middle + first + last, ACCELERATIONS, |i, c| {
        if i < middle {
            near[(first + i, c)] + far[(i, c)]
        } else if i < middle + first {
            near[(i - middle, c)]
        } else {
            far[(i - first, c)]
        }
    });
    (all, give)
}

/// `into += y r` for amplitudes r.
pub(super) fn pushed(y: MatRef<'_, f64>, amplitudes: MatRef<'_, f64>) -> Mat<f64> {
    let mut all = Mat::zeros(y.nrows(), amplitudes.ncols());
    add_product(all.as_mut(), y, amplitudes, 1.0);
    all
}
