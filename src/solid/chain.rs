//! The frame joined from its slabs: equal slabs once, equal runs by doubling, faces kept where they are held.

use std::collections::HashMap;

use faer::Mat;

use super::condense::{ACCELERATIONS, Bad, Condensed, condense, product};
use super::hexahedron::Law;
use super::mean::{Means, means, transport};
use super::reduce::{Body, Loose, Reduced, Way};
use super::slab::{Cut, Seat};
use crate::part::Pose;

/// Amplitudes of a seat: the resultant's six components in the path's axes there.
pub(super) const RESULTANT: usize = 6;

/// Where a piece comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Origin {
    /// A slab, perhaps as its mirror image.
    Slab { slab: usize, mirrored: bool },
    /// Two pieces joined at a plane.
    Join { left: usize, right: usize },
    /// A cell with its mass in its stiffness, for vibrations.
    Shifted { cell: usize },
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
    /// Amplitudes: 0 to 2 accelerations along the axes of its first plane, 3 + 6 s + c component c of seat s.
    pub columns: Vec<usize>,
    pub reduced: Reduced,
}

/// What acts on a plane besides its neighbours.
#[derive(Clone, Debug, Default)]
pub(super) struct Attached {
    /// (seat, its six loads on the plane's unknowns).
    pub seats: Vec<(usize, Mat<f64>)>,
    /// Stiffness to be added, a full matrix.
    pub stiffness: Option<Mat<f64>>,
}

/// Mass spread along the path, as the slabs carry it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spread {
    /// In t/mm.
    pub mass: f64,
    /// Centre off the path (y, z), in mm.
    pub offset: (f64, f64),
}

/// A frame's pieces and how they make it up.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    pub condensed: Vec<Condensed>,
    pub means: Vec<Means>,
    pub pieces: Vec<Piece>,
    /// Planes that are kept, in order.
    pub kept: Vec<usize>,
    /// Piece and its first link between kept planes i and i + 1.
    pub spans: Vec<(usize, usize)>,
    /// With mass: the cells in order, piece and its first link.
    pub cells: Vec<(usize, usize)>,
    pub attached: HashMap<usize, Attached>,
}

/// What a chain is made of besides the cut.
#[derive(Clone, Copy, Debug)]
pub(super) struct Make<'a> {
    pub law: &'a Law,
    pub spread: Spread,
    pub with_mass: bool,
    /// With mass: what its cells' stiffness is enlarged by, times their mass, before they are joined, in
    /// rad²/s².
    pub shift: f64,
}

/// Loads of every seat on the planes it rests on.
pub(super) fn seat_loads(
    seats: &[Seat],
    cut: &Cut,
    means: &[Means],
    path_pose: &dyn Fn(f64) -> Pose,
) -> HashMap<usize, Attached> {
    let mut attached: HashMap<usize, Attached> = HashMap::new();
    for (index, seat) in seats.iter().enumerate() {
        for (plane, share) in seat.shares {
            if share == 0.0 {
                continue;
            }
            let (at, there) = (&cut.planes[plane], path_pose(seat.station_mm));
            let (sin, cos) = at.pose.heading.sin_cos();
            let (dx, dy) = (there.x - at.pose.x, there.y - at.pose.y);
            let reach = [cos * dx + sin * dy, cos * dy - sin * dx, 0.0];
            let carry = transport(reach, there.heading - at.pose.heading);
            let carry = Mat::from_fn(6, 6, |i, j| share * carry[i][j]);
            let loads = product(means[at.face].rows.as_ref(), carry.as_ref());
            attached
                .entry(plane)
                .or_default()
                .seats
                .push((index, loads));
        }
    }
    attached
}

impl Chain {
    /// Condenses and joins a cut frame. `held` are planes to be kept with all their unknowns.
    ///
    /// # Errors
    /// [`Bad`] with the slab's index.
    pub fn new(
        cut: &Cut,
        make: &Make,
        held: &[usize],
        attached: HashMap<usize, Attached>,
    ) -> Result<Chain, (usize, Bad)> {
        let face_means: Vec<Means> = cut.faces.iter().map(means).collect();
        let mut condensed = Vec::with_capacity(cut.slabs.len());
        for (index, slab) in cut.slabs.iter().enumerate() {
            condensed.push(condense(slab, make.law, make.with_mass).map_err(|bad| (index, bad))?);
        }
        let mut kept: Vec<usize> = held.to_vec();
        if !cut.closed {
            kept.extend([0, cut.planes.len() - 1]);
        } else if kept.is_empty() {
            kept.push(0);
        }
        kept.sort_unstable();
        kept.dedup();
        let mut chain = Chain {
            condensed,
            means: face_means,
            pieces: Vec::new(),
            kept,
            spans: Vec::new(),
            cells: Vec::new(),
            attached,
        };
        chain.join_all(cut, make)?;
        Ok(chain)
    }

    fn join_all(&mut self, cut: &Cut, make: &Make) -> Result<(), (usize, Bad)> {
        let mut known = Known::default();
        let planes = cut.planes.len();
        let spans = if cut.closed {
            self.kept.len()
        } else {
            self.kept.len() - 1
        };
        for span in 0..spans {
            let from = self.kept[span];
            let to = match self.kept.get(span + 1) {
                Some(&next) => next,
                None => self.kept[0] + planes,
            };
            // Between planes with something attached the pieces are pure and can be shared.
            let mut whole: Option<usize> = None;
            let mut begin = from;
            for end in begin + 1..=to {
                let plane = end % planes;
                if end != to && !self.attached.contains_key(&plane) {
                    continue;
                }
                let links: Vec<usize> = (begin..end).collect();
                let pure = self.run(cut, make, &mut known, &links)?;
                whole = Some(match whole {
                    None => pure,
                    Some(left) => {
                        let at = Some(begin % planes);
                        self.join(left, pure, at).map_err(|bad| (0, bad))?
                    }
                });
                begin = end;
            }
            if let Some(piece) = whole {
                self.spans.push((piece, from));
            }
        }
        Ok(())
    }

    /// One piece of consecutive links with nothing attached between them.
    fn run(
        &mut self,
        cut: &Cut,
        make: &Make,
        known: &mut Known,
        links: &[usize],
    ) -> Result<usize, (usize, Bad)> {
        let mut row = Vec::with_capacity(links.len());
        for &link in links {
            let link_at = cut.links[link % cut.links.len()];
            let length = link_length(cut, link % cut.links.len());
            let piece = self.slab(cut, make, known, link_at.slab, link_at.mirrored, length);
            row.push((piece, link_at));
        }
        // A slab and its mirror image first: they meet where the section is smallest.
        let mut paired = Vec::with_capacity(row.len());
        let mut at = 0;
        while at < row.len() {
            let (piece, link) = row[at];
            match row.get(at + 1) {
                Some(&(next, other))
                    if !link.mirrored && other.mirrored && other.slab == link.slab =>
                {
                    paired.push(self.known_join(known, piece, next)?);
                    at += 2;
                }
                _ => {
                    paired.push(piece);
                    at += 1;
                }
            }
        }
        if make.with_mass {
            let mut link = links[0];
            for piece in &mut paired {
                self.cells.push((*piece, link % cut.links.len()));
                link += self.pieces[*piece].links;
                *piece = self.shifted(known, *piece, make.shift);
            }
        }
        // Runs of equal pieces by doubling.
        let mut runs = Vec::new();
        let mut at = 0;
        while at < paired.len() {
            let same = paired[at..]
                .iter()
                .take_while(|&&p| p == paired[at])
                .count();
            runs.push(self.power(known, paired[at], same)?);
            at += same;
        }
        self.fold(known, &runs)
    }

    fn shifted(&mut self, known: &mut Known, cell: usize, shift: f64) -> usize {
        if let Some(&piece) = known.shifted.get(&cell) {
            return piece;
        }
        let from = &self.pieces[cell];
        let size = from.reduced.stiffness.nrows();
        let (stiffness, mass) = (&from.reduced.stiffness, &from.reduced.mass);
        let piece = Piece {
            origin: Origin::Shifted { cell },
            first: from.first,
            links: from.links,
            turn: from.turn,
            columns: from.columns.clone(),
            reduced: Reduced {
                stiffness: Mat::from_fn(size, size, |i, j| {
                    stiffness[(i, j)] + shift * mass[(i, j)]
                }),
                mass: Mat::new(),
                ..copy(&from.reduced)
            },
        };
        self.pieces.push(piece);
        known.shifted.insert(cell, self.pieces.len() - 1);
        self.pieces.len() - 1
    }

    fn power(
        &mut self,
        known: &mut Known,
        piece: usize,
        count: usize,
    ) -> Result<usize, (usize, Bad)> {
        if count == 1 {
            return Ok(piece);
        }
        let half = self.power(known, piece, count / 2)?;
        let double = self.known_join(known, half, half)?;
        match count % 2 {
            0 => Ok(double),
            _ => self.known_join(known, double, piece),
        }
    }

    fn fold(&mut self, known: &mut Known, pieces: &[usize]) -> Result<usize, (usize, Bad)> {
        match pieces {
            [one] => Ok(*one),
            _ => {
                let (low, high) = pieces.split_at(pieces.len() / 2);
                let left = self.fold(known, low)?;
                let right = self.fold(known, high)?;
                self.known_join(known, left, right)
            }
        }
    }

    fn known_join(
        &mut self,
        known: &mut Known,
        left: usize,
        right: usize,
    ) -> Result<usize, (usize, Bad)> {
        if let Some(&piece) = known.joins.get(&(left, right)) {
            return Ok(piece);
        }
        let piece = self.join(left, right, None).map_err(|bad| (0, bad))?;
        known.joins.insert((left, right), piece);
        Ok(piece)
    }

    /// Joins two pieces at the plane between them, whose unknowns are eliminated.
    fn join(&mut self, left: usize, right: usize, plane: Option<usize>) -> Result<usize, Bad> {
        let nothing = Attached::default();
        let attached = plane
            .and_then(|plane| self.attached.get(&plane))
            .unwrap_or(&nothing);
        let (l, r) = (&self.pieces[left], &self.pieces[right]);
        let last = l.reduced.stiffness.nrows() - l.first;
        let far = r.reduced.stiffness.nrows() - r.first;
        let mut columns = l.columns.clone();
        let own = attached
            .seats
            .iter()
            .flat_map(|(seat, _)| seat_columns(*seat));
        for column in r.columns.iter().copied().chain(own) {
            if !columns.contains(&column) {
                columns.push(column);
            }
        }
        let find = |wanted: usize| columns.iter().position(|&c| c == wanted).unwrap_or(0);
        let with_mass = l.reduced.mass.nrows() > 0;
        let mut body = Body::new(last + l.first + far, columns.len(), with_mass);
        let near: Vec<usize> = (0..l.first).map(|i| last + i).chain(0..last).collect();
        let away: Vec<usize> = (0..last)
            .chain((0..far).map(|i| last + l.first + i))
            .collect();
        let of_left: Vec<usize> = l.columns.iter().map(|&c| find(c)).collect();
        let of_right: Vec<usize> = r.columns.iter().map(|&c| find(c)).collect();
        body.add(&l.reduced, &near, &of_left);
        body.add_stiffness(r.reduced.stiffness.as_ref(), &away);
        let (loads, give) = turned(&r.reduced, &r.columns, l.turn);
        body.add_loads(loads.as_ref(), give.as_ref(), &away, &of_right);
        if with_mass {
            body.add_mass(r.reduced.mass.as_ref(), &away);
        }
        let to: Vec<usize> = (0..last).collect();
        for (seat, loads) in &attached.seats {
            for (c, column) in seat_columns(*seat).enumerate() {
                for i in 0..last {
                    body.loads[(i, find(column))] += loads[(i, c)];
                }
            }
        }
        if let Some(stiffness) = &attached.stiffness {
            body.add_stiffness(stiffness.as_ref(), &to);
        }
        let (first, links, turn) = (l.first, l.links + r.links, l.turn + r.turn);
        let reduced = body.reduce(last).map_err(|Loose(at)| Bad::Node(at / 3))?;
        self.pieces.push(Piece {
            origin: Origin::Join { left, right },
            first,
            links,
            turn,
            columns,
            reduced,
        });
        Ok(self.pieces.len() - 1)
    }

    /// A slab as a piece, made now or found.
    fn slab(
        &mut self,
        cut: &Cut,
        make: &Make,
        known: &mut Known,
        slab: usize,
        mirrored: bool,
        length: f64,
    ) -> usize {
        if let Some(&piece) = known.slabs.get(&(slab, mirrored)) {
            return piece;
        }
        let turn = cut.slabs[slab].turn;
        let reduced = match mirrored {
            false => copy(&self.condensed[slab].reduced),
            true => mirror(
                &self.condensed[slab].reduced,
                cut.slabs[slab].start.len(),
                turn,
            ),
        };
        let mesh = &cut.slabs[slab];
        let start = if mirrored {
            mesh.end.len()
        } else {
            mesh.start.len()
        };
        let piece = Piece {
            origin: Origin::Slab { slab, mirrored },
            first: 3 * start,
            links: 1,
            turn,
            columns: (0..ACCELERATIONS).collect(),
            reduced,
        };
        self.pieces.push(piece);
        known.slabs.insert((slab, mirrored), self.pieces.len() - 1);
        if make.spread.mass > 0.0 {
            let link = cut
                .links
                .iter()
                .position(|link| link.slab == slab && link.mirrored == mirrored)
                .unwrap_or(0);
            let planes = cut.planes.len();
            let faces = [link, (link + 1) % planes].map(|plane| cut.planes[plane].face);
            self.spread(make, faces, length);
        }
        self.pieces.len() - 1
    }

    /// Adds half of the spread mass of the last made piece to each of its planes.
    fn spread(&mut self, make: &Make, faces: [usize; 2], length: f64) {
        let Some(piece) = self.pieces.last_mut() else {
            return;
        };
        let inertia = inertia(0.5 * length * make.spread.mass, make.spread.offset);
        for (end, face) in faces.into_iter().enumerate() {
            let from = if end == 0 { 0 } else { piece.first };
            let rows = &self.means[face].rows;
            let pull = product(rows.as_ref(), inertia.as_ref());
            let (sin, cos) = if end == 0 {
                (0.0, 1.0)
            } else {
                piece.turn.sin_cos()
            };
            for i in 0..pull.nrows() {
                // Accelerations along the first plane's axes, seen from this plane's.
                let (t, n, b) = (pull[(i, 0)], pull[(i, 1)], pull[(i, 2)]);
                piece.reduced.loads[(from + i, 0)] += cos * t - sin * n;
                piece.reduced.loads[(from + i, 1)] += sin * t + cos * n;
                piece.reduced.loads[(from + i, 2)] += b;
            }
            if make.with_mass {
                let mass = product(pull.as_ref(), rows.transpose());
                for j in 0..mass.ncols() {
                    for i in 0..mass.nrows() {
                        piece.reduced.mass[(from + i, from + j)] += mass[(i, j)];
                    }
                }
            }
        }
    }
}

/// Pieces made so far, by what they are made of.
#[derive(Default)]
struct Known {
    slabs: HashMap<(usize, bool), usize>,
    joins: HashMap<(usize, usize), usize>,
    shifted: HashMap<usize, usize>,
}

/// Length of the path in a link, in mm.
pub(super) fn link_length(cut: &Cut, link: usize) -> f64 {
    let slab = &cut.slabs[cut.links[link].slab];
    let (x, y) = slab.reach_mm;
    let chord = x.hypot(y);
    // An arc over its chord; for a slab over two curvatures close enough to spread a mass by.
    match slab.turn.abs() {
        small if small < 1e-9 => chord,
        turn => chord * (0.5 * turn) / (0.5 * turn).sin(),
    }
}

/// Inertia (6, 6) of a mass off the path about the path's point.
pub(super) fn inertia(mass: f64, (y, z): (f64, f64)) -> Mat<f64> {
    // Motion of the mass: u + θ x (0, y, z).
    let motion = [
        [1.0, 0.0, 0.0, 0.0, z, -y],
        [0.0, 1.0, 0.0, -z, 0.0, 0.0],
        [0.0, 0.0, 1.0, y, 0.0, 0.0],
    ];
    Mat::from_fn(6, 6, |i, j| {
        mass * motion.iter().map(|row| row[i] * row[j]).sum::<f64>()
    })
}

/// Columns of a seat's resultant.
pub(super) fn seat_columns(seat: usize) -> std::ops::Range<usize> {
    let first = ACCELERATIONS + RESULTANT * seat;
    first..first + RESULTANT
}

fn copy(reduced: &Reduced) -> Reduced {
    Reduced {
        stiffness: reduced.stiffness.clone(),
        loads: reduced.loads.clone(),
        give: reduced.give.clone(),
        mass: reduced.mass.clone(),
        way: Way {
            factor: Mat::new(),
            loads: Mat::new(),
        },
    }
}

/// Matrix that takes a vector's components along a plane's axes to those along axes turned on by `turn`.
fn rotation(turn: f64) -> Mat<f64> {
    let (sin, cos) = turn.sin_cos();
    let rows = [[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]];
    Mat::from_fn(3, 3, |i, j| rows[i][j])
}

/// Loads and give of a body whose accelerations are to be along axes from which its own are turned by `turn`;
/// they are its columns 0 to 2.
pub(super) fn turned(reduced: &Reduced, columns: &[usize], turn: f64) -> (Mat<f64>, Mat<f64>) {
    let mut mix = Mat::<f64>::identity(columns.len(), columns.len());
    let rotation = rotation(turn);
    for j in 0..ACCELERATIONS {
        for i in 0..ACCELERATIONS {
            mix[(i, j)] = rotation[(i, j)];
        }
    }
    let give = product(
        mix.transpose(),
        product(reduced.give.as_ref(), mix.as_ref()).as_ref(),
    );
    (product(reduced.loads.as_ref(), mix.as_ref()), give)
}

/// For each unknown of the mirror image the original's unknown.
pub(super) fn mirror_order(size: usize, first: usize) -> Vec<usize> {
    (first..size).chain(0..first).collect()
}

fn sign(unknown: usize) -> f64 {
    if unknown.is_multiple_of(3) { -1.0 } else { 1.0 }
}

/// Accelerations of a mirror image, along its first plane's axes, as the original sees them along its own.
pub(super) fn mirror_mix(turn: f64) -> Mat<f64> {
    let back = rotation(-turn);
    Mat::from_fn(3, 3, |i, j| back[(i, j)] * if j == 0 { -1.0 } else { 1.0 })
}

/// The mirror image of a slab about a plane across the path, travelled from its other end.
fn mirror(reduced: &Reduced, first_nodes: usize, turn: f64) -> Reduced {
    let size = reduced.stiffness.nrows();
    let order = mirror_order(size, 3 * first_nodes);
    let flip = |matrix: &Mat<f64>| match matrix.nrows() {
        0 => Mat::new(),
        _ => Mat::from_fn(size, size, |i, j| {
            sign(i) * sign(j) * matrix[(order[i], order[j])]
        }),
    };
    let mix = mirror_mix(turn);
    let loads = product(reduced.loads.as_ref(), mix.as_ref());
    Reduced {
        stiffness: flip(&reduced.stiffness),
        loads: Mat::from_fn(size, ACCELERATIONS, |i, c| sign(i) * loads[(order[i], c)]),
        give: product(
            mix.transpose(),
            product(reduced.give.as_ref(), mix.as_ref()).as_ref(),
        ),
        mass: flip(&reduced.mass),
        way: Way {
            factor: Mat::new(),
            loads: Mat::new(),
        },
    }
}
