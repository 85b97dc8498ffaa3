//! The frame joined from its slabs: equal lengths once, also as their mirror images, planes kept where they are
//! held.

use std::collections::HashMap;

use faer::Mat;

use super::condense::{ACCELERATIONS, Bad, Condensed, condense};
use super::hexahedron::Law;
use super::mean::{Means, means, transport};
use super::piece::{
    End, Laid, Middle, Origin, Piece, join, join_mirror, joined_loads, mirror_plane, mirror_rows,
    mixed, rotation,
};
use super::reduce::{Loose, product};
use super::slab::{Cut, Seat};
use crate::part::Pose;

/// Amplitudes of a seat: the resultant's six components in the path's axes there.
pub(super) const RESULTANT: usize = 6;

/// Loads of a seat on a plane: (seat, its six loads on the plane's unknowns).
pub(super) type SeatLoads = Vec<(usize, Mat<f64>)>;

/// A length between kept planes: a piece, or two lengths joined at a plane that seats rest on.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    pub laid: Laid,
    /// Its first link.
    pub link: usize,
    /// Amplitudes: 0 to 2 accelerations along the axes of its first plane, 3 + 6 s + c component c of seat s.
    pub columns: Vec<usize>,
    /// Loads (k, c) of the amplitudes.
    pub loads: Mat<f64>,
    /// Give (c, c) under them.
    pub give: Mat<f64>,
    pub halves: Option<Halves>,
}

/// What a stretch was joined from.
#[derive(Clone, Debug)]
pub(super) struct Halves {
    pub left: usize,
    pub right: usize,
    /// y (e, c) of the amplitudes as the piece has it that is laid here.
    pub loads: Mat<f64>,
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
    /// Those of the slabs first; each after those that it is made of.
    pub pieces: Vec<Piece>,
    /// Each after its halves.
    pub stretches: Vec<Stretch>,
    /// Planes that are kept, in order.
    pub kept: Vec<usize>,
    /// Stretch between kept planes i and i + 1.
    pub spans: Vec<usize>,
    /// Pitches, or slabs between them, in order, with their first links.
    pub cells: Vec<(Laid, usize)>,
    /// Loads of the seats on each plane.
    pub seats: HashMap<usize, SeatLoads>,
    known: Known,
}

/// Pieces made so far, by what they are made of.
#[derive(Clone, Debug, Default)]
struct Known {
    joins: HashMap<(Laid, Laid), usize>,
    rows: HashMap<Vec<Laid>, Laid>,
}

/// Loads of every seat on the planes it rests on.
pub(super) fn seat_loads(
    seats: &[Seat],
    cut: &Cut,
    means: &[Means],
    path_pose: &dyn Fn(f64) -> Pose,
) -> HashMap<usize, SeatLoads> {
    let mut all: HashMap<usize, SeatLoads> = HashMap::new();
    for (index, seat) in seats.iter().enumerate() {
        for (plane, share) in seat.shares {
            if share == 0.0 {
                continue;
            }
            let carry = carry(cut, plane, seat.station_mm, path_pose);
            let loads =
                share * product(means[cut.planes[plane].face].rows.as_ref(), carry.as_ref());
            all.entry(plane).or_default().push((index, loads));
        }
    }
    all
}

/// Resultant at a station as seen from a plane's point and axes, (6, 6).
pub(super) fn carry(
    cut: &Cut,
    plane: usize,
    station_mm: f64,
    path_pose: &dyn Fn(f64) -> Pose,
) -> Mat<f64> {
    let (at, there) = (&cut.planes[plane].pose, path_pose(station_mm));
    let (sin, cos) = at.heading.sin_cos();
    let (dx, dy) = (there.x - at.x, there.y - at.y);
    let reach = [cos * dx + sin * dy, cos * dy - sin * dx, 0.0];
    let carry = transport(reach, there.heading - at.heading);
    Mat::from_fn(6, 6, |i, j| carry[i][j])
}

impl Chain {
    /// Condenses and joins a cut frame. `held` are planes to be kept with all their unknowns.
    ///
    /// # Errors
    /// [`Bad`] with the slab's index.
    pub fn new(
        cut: &Cut,
        law: &Law,
        spread: Spread,
        held: &[usize],
        seats: HashMap<usize, SeatLoads>,
    ) -> Result<Chain, (usize, Bad)> {
        let mut kept: Vec<usize> = held.to_vec();
        if !cut.closed {
            kept.extend([0, cut.planes.len() - 1]);
        } else if kept.is_empty() {
            kept.push(0);
        }
        kept.sort_unstable();
        kept.dedup();
        let mut chain = Chain {
            condensed: Vec::with_capacity(cut.slabs.len()),
            means: cut.faces.iter().map(means).collect(),
            pieces: Vec::new(),
            stretches: Vec::new(),
            kept,
            spans: Vec::new(),
            cells: Vec::new(),
            seats,
            known: Known::default(),
        };
        for (index, slab) in cut.slabs.iter().enumerate() {
            let (reduced, condensed) = condense(slab, law).map_err(|bad| (index, bad))?;
            chain.condensed.push(condensed);
            let first = 3 * slab.start.len();
            let mut piece = Piece::of_slab(index, reduced, first, slab.turn);
            if spread.mass > 0.0 {
                chain.add_spread(cut, index, spread, &mut piece);
            }
            chain.pieces.push(piece);
        }
        chain.join_all(cut).map_err(|bad| (0, bad))?;
        Ok(chain)
    }

    fn join_all(&mut self, cut: &Cut) -> Result<(), Bad> {
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
            // Between planes with seats the pieces can be shared.
            let mut whole: Option<usize> = None;
            let mut begin = from;
            for end in begin + 1..=to {
                if end != to && !self.seats.contains_key(&(end % planes)) {
                    continue;
                }
                let pure = self.run(cut, begin, end)?;
                whole = Some(match whole {
                    None => pure,
                    Some(left) => self.join_at(left, pure, begin % planes)?,
                });
                begin = end;
            }
            self.spans.extend(whole);
        }
        Ok(())
    }

    /// Links `begin` to `end` with no seat between them.
    fn run(&mut self, cut: &Cut, begin: usize, end: usize) -> Result<usize, Bad> {
        let count = cut.links.len();
        let row: Vec<Laid> = (begin..end)
            .map(|link| {
                let link = cut.links[link % count];
                Laid {
                    piece: link.slab,
                    mirrored: link.mirrored,
                }
            })
            .collect();
        // A slab and its mirror image first: they meet where the section is smallest.
        let mut cells = Vec::with_capacity(row.len());
        let mut at = 0;
        while at < row.len() {
            let here = row[at];
            let pair = row
                .get(at + 1)
                .filter(|&&next| !here.mirrored && next == self.flipped(here));
            let laid = match pair {
                Some(&next) => self.join(here, next)?,
                None => here,
            };
            self.cells.push((laid, (begin + at) % count));
            cells.push(laid);
            at += self.pieces[laid.piece].links;
        }
        let laid = self.build(&cells)?;
        let (loads, give) = self.pieces[laid.piece].laid_loads(laid.mirrored);
        self.stretches.push(Stretch {
            laid,
            link: begin % count,
            columns: (0..ACCELERATIONS).collect(),
            loads,
            give,
            halves: None,
        });
        Ok(self.stretches.len() - 1)
    }

    /// The mirror image.
    fn flipped(&self, laid: Laid) -> Laid {
        Laid {
            piece: laid.piece,
            mirrored: !laid.mirrored && !self.pieces[laid.piece].symmetric,
        }
    }

    fn reversed(&self, row: &[Laid]) -> Vec<Laid> {
        row.iter().rev().map(|&laid| self.flipped(laid)).collect()
    }

    /// A row of pieces as one.
    fn build(&mut self, row: &[Laid]) -> Result<Laid, Bad> {
        if let [one] = row {
            return Ok(*one);
        }
        if let Some(&laid) = self.known.rows.get(row) {
            return Ok(laid);
        }
        if let Some(&laid) = self.known.rows.get(&self.reversed(row)) {
            return Ok(self.flipped(laid));
        }
        let (left, right) = row.split_at(self.split(row));
        let left = self.build(left)?;
        let right = self.build(right)?;
        let laid = self.join(left, right)?;
        self.known.rows.insert(row.to_vec(), laid);
        Ok(laid)
    }

    /// Where a row is best parted: in the middle of what is its own mirror image; where equal pieces begin or end,
    /// at the largest plane, so that the smallest are eliminated first.
    fn split(&self, row: &[Laid]) -> usize {
        let count = row.len();
        if count.is_multiple_of(2) && self.reversed(row) == row {
            return count / 2;
        }
        let changes = (1..count).filter(|&at| row[at] != row[at - 1]);
        let plane = |at: usize| {
            let laid = row[at];
            self.pieces[laid.piece].count(laid.mirrored, End::First)
        };
        let off = |at: usize| (2 * at).abs_diff(count);
        changes
            .max_by(|&a, &b| plane(a).cmp(&plane(b)).then(off(b).cmp(&off(a))))
            .unwrap_or(count - 1)
    }

    /// Joins two pieces at the plane between them, whose unknowns are eliminated, or finds them joined.
    fn join(&mut self, left: Laid, right: Laid) -> Result<Laid, Bad> {
        if let Some(&piece) = self.known.joins.get(&(left, right)) {
            return Ok(Laid {
                piece,
                mirrored: false,
            });
        }
        let images = (self.flipped(right), self.flipped(left));
        if let Some(&piece) = self.known.joins.get(&images) {
            return Ok(Laid {
                piece,
                mirrored: true,
            });
        }
        let symmetric = images == (left, right);
        let side = |laid: Laid| (&self.pieces[laid.piece], laid.mirrored);
        let (stiffness, factors) = match symmetric {
            true => join_mirror(&self.pieces[left.piece], left.mirrored),
            false => join(side(left), side(right)),
        }
        .map_err(|Loose(at)| Bad::Node(at / 3))?;
        let mut middle = Middle {
            factors,
            loads: Mat::new(),
        };
        let (l, r) = (side(left), side(right));
        let (mut all, mut give) = joined_loads(l, r);
        let gone = l.0.count(left.mirrored, End::Last);
        middle.forth(all.as_mut());
        let (y, loads) = all.as_ref().split_at_row(gone);
        give += middle.give(y);
        middle.loads = y.to_owned();
        let piece = Piece {
            origin: Origin::Join(left, right),
            first: l.0.count(left.mirrored, End::First),
            links: l.0.links + r.0.links,
            turn: l.0.turn + r.0.turn,
            symmetric,
            stiffness,
            loads: loads.to_owned(),
            give,
            middle,
        };
        self.pieces.push(piece);
        let piece = self.pieces.len() - 1;
        self.known.joins.insert((left, right), piece);
        Ok(Laid {
            piece,
            mirrored: false,
        })
    }

    /// Joins two stretches at a plane that seats rest on.
    fn join_at(&mut self, left: usize, right: usize, plane: usize) -> Result<usize, Bad> {
        let laid = self.join(self.stretches[left].laid, self.stretches[right].laid)?;
        let (l, r) = (&self.stretches[left], &self.stretches[right]);
        let piece = &self.pieces[laid.piece];
        let seats = self.seats.get(&plane).map_or(&[][..], |seats| &seats[..]);
        let mut columns = l.columns.clone();
        let own = seats.iter().flat_map(|(seat, _)| seat_columns(*seat));
        for column in r.columns.iter().copied().chain(own) {
            if !columns.contains(&column) {
                columns.push(column);
            }
        }
        let find = |wanted: usize| columns.iter().position(|&c| c == wanted).unwrap_or(0);
        let first = piece.count(laid.mirrored, End::First);
        let gone = l.loads.nrows() - first;
        let mut all = Mat::zeros(gone + piece.size(), columns.len());
        let mut give = Mat::zeros(columns.len(), columns.len());
        let turn = self.pieces[l.laid.piece].turn;
        let (far, far_give) = turned(&r.loads, &r.give, &r.columns, turn);
        let row = |left: bool, i: usize| match left {
            true if i < first => gone + i,
            true => i - first,
            false if i < gone => i,
            false => i + first,
        };
        for (left, loads, part, own) in [
            (true, &l.loads, &l.give, &l.columns),
            (false, &far, &far_give, &r.columns),
        ] {
            for (c, &column) in own.iter().enumerate() {
                let to = find(column);
                for i in 0..loads.nrows() {
                    all[(row(left, i), to)] += loads[(i, c)];
                }
                for (d, &other) in own.iter().enumerate() {
                    give[(to, find(other))] += part[(c, d)];
                }
            }
        }
        for (seat, loads) in seats {
            for (c, column) in seat_columns(*seat).enumerate() {
                for i in 0..gone {
                    all[(i, find(column))] += loads[(i, c)];
                }
            }
        }
        let mut own = as_own(piece, laid.mirrored, all);
        piece.middle.forth(own.as_mut());
        let (y, kept) = own.as_ref().split_at_row(gone);
        give += piece.middle.give(y);
        let loads = match laid.mirrored {
            true => mirror_rows(kept, piece.first),
            false => kept.to_owned(),
        };
        let stretch = Stretch {
            laid,
            link: l.link,
            columns,
            loads,
            give,
            halves: Some(Halves {
                left,
                right,
                loads: y.to_owned(),
            }),
        };
        self.stretches.push(stretch);
        Ok(self.stretches.len() - 1)
    }

    /// Adds half of a slab's spread mass to each of its planes.
    fn add_spread(&self, cut: &Cut, slab: usize, spread: Spread, piece: &mut Piece) {
        for (end, inertia, face) in spread_ends(cut, slab, spread) {
            let pull = product(self.means[face].rows.as_ref(), inertia.as_ref());
            let (from, turn) = match end {
                End::First => (0, 0.0),
                End::Last => (piece.first, piece.turn),
            };
            let (sin, cos) = turn.sin_cos();
            for i in 0..pull.nrows() {
                // Accelerations along the first plane's axes, seen from this plane's.
                let (t, n, b) = (pull[(i, 0)], pull[(i, 1)], pull[(i, 2)]);
                piece.loads[(from + i, 0)] += cos * t - sin * n;
                piece.loads[(from + i, 1)] += sin * t + cos * n;
                piece.loads[(from + i, 2)] += b;
            }
        }
    }
}

/// Inertia (6, 6) of the spread mass at a slab's two planes, and their faces.
pub(super) fn spread_ends(
    cut: &Cut,
    slab: usize,
    spread: Spread,
) -> impl Iterator<Item = (End, Mat<f64>, usize)> {
    let link = cut.links.iter().position(|link| link.slab == slab);
    link.into_iter().flat_map(move |link| {
        let inertia = inertia(0.5 * link_length(cut, link) * spread.mass, spread.offset);
        let next = (link + 1) % cut.planes.len();
        let planes = match cut.links[link].mirrored {
            false => [link, next],
            true => [next, link],
        };
        let [first, last] = planes.map(|plane| cut.planes[plane].face);
        [
            (End::First, inertia.clone(), first),
            (End::Last, inertia, last),
        ]
    })
}

/// Rows of the middle plane, then of the two end planes, as a piece laid here has them.
pub(super) fn as_own(piece: &Piece, mirrored: bool, mut all: Mat<f64>) -> Mat<f64> {
    if !mirrored {
        return all;
    }
    let gone = all.nrows() - piece.size();
    let last = piece.size() - piece.first;
    mirror_plane(all.as_mut().subrows_mut(0, gone));
    let ends = mirror_rows(all.as_ref().subrows(gone, piece.size()), last);
    all.as_mut()
        .subrows_mut(gone, piece.size())
        .copy_from(&ends);
    all
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

/// Loads and give of a body whose accelerations are to be along axes from which its own are turned by `turn`;
/// they are its columns 0 to 2.
pub(super) fn turned(
    loads: &Mat<f64>,
    give: &Mat<f64>,
    columns: &[usize],
    turn: f64,
) -> (Mat<f64>, Mat<f64>) {
    let mut mix = Mat::<f64>::identity(columns.len(), columns.len());
    let rotation = rotation(turn);
    for j in 0..ACCELERATIONS {
        for i in 0..ACCELERATIONS {
            mix[(i, j)] = rotation[(i, j)];
        }
    }
    mixed(loads, give, &mix)
}
