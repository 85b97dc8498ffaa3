//! The frame in solid under its load cases.

use faer::Mat;
use faer::linalg::solvers::Solve;

use super::chain::{
    Chain, Make, Origin, RESULTANT, Spread, link_length, mirror_mix, mirror_order, seat_columns,
    seat_loads, turned,
};
use super::condense::{ACCELERATIONS, nodal_stresses, product};
use super::error::SolidError;
use super::hexahedron::{Law, equivalent};
use super::reduce::{Body, add_product};
use super::slab::{Cut, Seat};
use crate::part::{Path, Pose};
use crate::structure::{Action, Carried, Frame, Loading, Metal, Support};

/// A frame in solid, condensed: loads cost little from here on.
#[derive(Clone, Debug)]
pub struct Solid<'a> {
    pub(super) cut: &'a Cut,
    pub(super) law: Law,
    pub(super) chain: Chain,
    /// Seats of the layout's nodes, then one on the first kept plane.
    pub(super) seats: Vec<Seat>,
    /// Pose of the path at each seat.
    poses: Vec<Pose>,
    /// Seat of a node of the layout.
    seat_of: Vec<usize>,
    carried: Carried,
    /// On the unknowns of the kept planes; amplitudes are accelerations in plan axes, then the seats'.
    whole: Body,
    /// First unknown of each kept plane.
    offsets: Vec<usize>,
}

/// The answer to one load case.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidResponse {
    /// Sum over the actions of force times displacement of its point along it, in N mm.
    pub work_n_mm: f64,
    /// Mean motion of every plane's section in plan axes: three displacements in mm, three rotations in rad.
    pub planes: Vec<[f64; 6]>,
    /// Greatest of these displacements, in mm, and its plane.
    pub greatest_displacement_mm: f64,
    /// Plane of the greatest displacement.
    pub greatest_displacement_plane: usize,
    /// Greatest equivalent stress on the wall of every drilled hole, or part of a hole between two planes, in
    /// no particular order.
    pub hole_peaks: Vec<HolePeak>,
}

/// Greatest equivalent stress on a hole's wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HolePeak {
    /// In MPa.
    pub equivalent_mpa: f64,
    /// Place (x, y, z) in the plan, in mm.
    pub place_mm: [f64; 3],
    /// Place along the path of the middle of its slab, in mm.
    pub station_mm: f64,
    /// Row of the part's hole rows; `None`: the bore of a boss.
    pub row: Option<usize>,
}

/// Motion of all planes under load cases, and what it takes to go into the slabs.
pub(super) struct Inside {
    /// For each link: motion of its two planes in their axes and accelerations along the first's: (k, cases),
    /// (3, cases).
    pub links: Vec<(Mat<f64>, Mat<f64>)>,
}

impl<'a> Solid<'a> {
    /// Condenses a cut frame. `stations_mm` are those the cut was made with, `nodes` which node of the
    /// layout each of them is; `loadings` the load cases that will be solved, of which only the supports
    /// matter here.
    ///
    /// # Errors
    /// [`SolidError`] for faults of the mesh.
    pub fn new(
        cut: &'a Cut,
        path: &Path,
        nodes: &[usize],
        metal: &Metal,
        carried: &Carried,
        loadings: &[Loading],
    ) -> Result<Solid<'a>, SolidError> {
        let law = Law::new(metal);
        let mut seats = Vec::new();
        let mut seat_of = Vec::new();
        for (seat, &node) in cut.seats.iter().zip(nodes) {
            if seat_of.len() <= node {
                seat_of.resize(node + 1, usize::MAX);
            }
            if seat_of[node] == usize::MAX {
                seat_of[node] = seats.len();
                seats.push(*seat);
            }
        }
        let clamped =
            |support: &Support| clamps(support).then(|| plane_of(&seats[seat_of[support.node]]));
        let held: Vec<usize> = loadings
            .iter()
            .flat_map(|loading| loading.supports.iter().filter_map(clamped))
            .collect();
        // The mean motion of a plane that is surely kept stands for the whole where nothing holds it.
        let anchor = held.iter().copied().min().unwrap_or(0);
        seats.push(Seat {
            station_mm: cut.planes[anchor].station_mm,
            shares: [(anchor, 1.0), (anchor, 0.0)],
        });
        let pose_at = |station: f64| path.pose(station);
        let face_means: Vec<_> = cut.faces.iter().map(super::mean::means).collect();
        let attached = seat_loads(&seats, cut, &face_means, &pose_at);
        let make = Make {
            law: &law,
            spread: Spread {
                mass: carried.spread_t_per_mm,
                offset: carried.spread_offset_mm,
            },
            with_mass: false,
            shift: 0.0,
        };
        let chain = Chain::new(cut, &make, &held, attached)
            .map_err(|(slab, bad)| SolidError::mesh(slab, bad))?;
        let poses = seats
            .iter()
            .map(|seat| path.pose(seat.station_mm))
            .collect();
        let (whole, offsets) = assemble(cut, &chain, seats.len());
        Ok(Solid {
            cut,
            law,
            chain,
            seats,
            poses,
            seat_of,
            carried: carried.clone(),
            whole,
            offsets,
        })
    }

    /// Solves load cases.
    ///
    /// # Errors
    /// [`SolidError::Free`] where a frame can move without strain.
    pub fn solve(&self, loadings: &[Loading]) -> Result<Vec<SolidResponse>, SolidError> {
        let (motion, amplitudes) = self.states(loadings)?;
        let inside = self.descend(&motion, &amplitudes);
        let mut responses: Vec<SolidResponse> = (0..loadings.len())
            .map(|case| self.response(case, &loadings[case], &motion, &amplitudes, &inside))
            .collect();
        self.add_hole_peaks(&inside, &mut responses);
        Ok(responses)
    }

    /// What goes into the slabs under load cases.
    pub(super) fn inside(&self, loadings: &[Loading]) -> Result<Inside, SolidError> {
        let (motion, amplitudes) = self.states(loadings)?;
        Ok(self.descend(&motion, &amplitudes))
    }

    /// Motion of the kept planes and amplitudes of every load case.
    fn states(&self, loadings: &[Loading]) -> Result<(Mat<f64>, Mat<f64>), SolidError> {
        let size = self.whole.stiffness.nrows();
        let columns = self.whole.loads.ncols();
        let mut motion = Mat::zeros(size, loadings.len());
        let mut amplitudes = Mat::zeros(columns, loadings.len());
        for (case, loading) in loadings.iter().enumerate() {
            self.solve_one(case, loading, &mut motion, &mut amplitudes)?;
        }
        Ok((motion, amplitudes))
    }

    /// Load case `case` to its column of motion and amplitudes.
    fn solve_one(
        &self,
        case: usize,
        loading: &Loading,
        motion: &mut Mat<f64>,
        amplitudes: &mut Mat<f64>,
    ) -> Result<(), SolidError> {
        let columns = amplitudes.nrows();
        let mut applied = vec![0.0; columns];
        for axis in 0..3 {
            applied[axis] = -loading.acceleration[axis];
        }
        for action in &loading.actions {
            self.add_action(action, &mut applied);
        }
        for point in &self.carried.points {
            self.add_point_inertia(point, loading.acceleration, &mut applied);
        }
        let mut gone = vec![false; self.whole.stiffness.nrows()];
        let mut holds: Vec<Vec<f64>> = Vec::new();
        for support in &loading.supports {
            let seat = self.seat_of[support.node];
            if clamps(support) {
                let at = self.chain.kept.binary_search(&plane_of(&self.seats[seat]));
                if let Ok(at) = at {
                    let end = self.offsets.get(at + 1).copied().unwrap_or(gone.len());
                    gone[self.offsets[at]..end].fill(true);
                }
            } else {
                self.add_holds(support, seat, columns, &mut holds);
            }
        }
        let floats = loading.supports.is_empty();
        if floats {
            let anchor = self.seats.len() - 1;
            for column in seat_columns(anchor) {
                let mut hold = vec![0.0; columns];
                hold[column] = 1.0;
                holds.push(hold);
            }
        }
        let free: Vec<usize> = (0..gone.len()).filter(|&i| !gone[i]).collect();
        let (size, held) = (free.len(), holds.len());
        let hold = Mat::from_fn(columns, held, |i, j| holds[j][i]);
        let force = Mat::from_fn(columns, 1, |i, _| applied[i]);
        // [S, -W H; -Hᵀ Wᵀ, -Hᵀ G H] [u; ρ] = [W r; Hᵀ G r], ρ the forces of the holds.
        let pull = product(self.whole.loads.as_ref(), hold.as_ref());
        let give = product(
            hold.transpose(),
            product(self.whole.give.as_ref(), hold.as_ref()).as_ref(),
        );
        let right = product(self.whole.loads.as_ref(), force.as_ref());
        let across = product(
            hold.transpose(),
            product(self.whole.give.as_ref(), force.as_ref()).as_ref(),
        );
        let stiffness = &self.whole.stiffness;
        let typical = (0..stiffness.nrows())
            .map(|i| stiffness[(i, i)])
            .fold(0.0, f64::max);
        // Forces in units that give displacements like those of the other unknowns.
        let scale: Vec<f64> = (0..held)
            .map(|j| {
                let size = pull.col(j).norm_l2();
                if size > 0.0 {
                    typical / size
                } else {
                    (typical / give[(j, j)].abs().max(f64::MIN_POSITIVE)).sqrt()
                }
            })
            .collect();
        let mut matrix = Mat::zeros(size + held, size + held);
        let mut vector = Mat::zeros(size + held, 1);
        for (j, &q) in free.iter().enumerate() {
            for (i, &p) in free.iter().enumerate().skip(j) {
                let value = stiffness[(p.max(q), p.min(q))];
                matrix[(i, j)] = value;
                matrix[(j, i)] = value;
            }
            for h in 0..held {
                let value = -scale[h] * pull[(q, h)];
                matrix[(size + h, j)] = value;
                matrix[(j, size + h)] = value;
            }
            vector[(j, 0)] = right[(q, 0)];
        }
        for h in 0..held {
            for g in 0..held {
                matrix[(size + g, size + h)] = -scale[g] * scale[h] * give[(g, h)];
            }
            vector[(size + h, 0)] = scale[h] * across[(h, 0)];
        }
        let answer = match held {
            0 => matrix
                .llt(faer::Side::Lower)
                .map_err(|_| SolidError::Free)?
                .solve(&vector),
            _ => matrix.partial_piv_lu().solve(&vector),
        };
        for (i, &p) in free.iter().enumerate() {
            motion[(p, case)] = answer[(i, 0)];
        }
        for c in 0..columns {
            amplitudes[(c, case)] = applied[c];
            for h in 0..held {
                amplitudes[(c, case)] += hold[(c, h)] * scale[h] * answer[(size + h, 0)];
            }
        }
        if (0..size + held).all(|i| answer[(i, 0)].is_finite()) {
            Ok(())
        } else {
            Err(SolidError::Free)
        }
    }

    /// An action's resultant at its seat, in the path's axes there.
    fn add_action(&self, action: &Action, applied: &mut [f64]) {
        let seat = self.seat_of[action.node];
        let (mut force, mut moment) = (action.force, action.moment);
        if action.frame == Frame::Plan {
            force = self.to_path(seat, force);
            moment = self.to_path(seat, moment);
        }
        let (y, z) = action.offset_mm;
        let lever = [y * force[2] - z * force[1], z * force[0], -y * force[0]];
        let parts = (0..3)
            .map(|k| force[k])
            .chain((0..3).map(|k| moment[k] + lever[k]));
        for (column, part) in seat_columns(seat).zip(parts) {
            applied[column] += part;
        }
    }

    fn add_point_inertia(
        &self,
        point: &crate::structure::PointMass,
        acceleration: [f64; 3],
        applied: &mut [f64],
    ) {
        let seat = self.seat_of[point.node];
        let force = self.to_path(seat, acceleration).map(|a| -point.mass_t * a);
        let action = Action {
            node: point.node,
            frame: Frame::Path,
            force,
            moment: [0.0; 3],
            offset_mm: point.offset_mm,
        };
        self.add_action(&action, applied);
    }

    fn to_path(&self, seat: usize, [x, y, z]: [f64; 3]) -> [f64; 3] {
        let (sin, cos) = self.poses[seat].heading.sin_cos();
        [cos * x + sin * y, cos * y - sin * x, z]
    }

    fn add_holds(&self, support: &Support, seat: usize, columns: usize, holds: &mut Vec<Vec<f64>>) {
        let (sin, cos) = match support.frame {
            Frame::Plan => self.poses[seat].heading.sin_cos(),
            Frame::Path => (0.0, 1.0),
        };
        let first = seat_columns(seat).start;
        for (k, &held) in support
            .hold_move
            .iter()
            .chain(&support.hold_turn)
            .enumerate()
        {
            if !held {
                continue;
            }
            let mut hold = vec![0.0; columns];
            let base = first + 3 * (k / 3);
            match k % 3 {
                0 => (hold[base], hold[base + 1]) = (cos, -sin),
                1 => (hold[base], hold[base + 1]) = (sin, cos),
                _ => hold[base + 2] = 1.0,
            }
            holds.push(hold);
        }
    }

    /// Motion of every link's planes, by going down from the kept planes.
    pub(super) fn descend(&self, motion: &Mat<f64>, amplitudes: &Mat<f64>) -> Inside {
        let cases = motion.ncols();
        let links = self.cut.links.len();
        let mut tasks: Vec<Vec<(usize, Mat<f64>)>> = vec![Vec::new(); self.chain.pieces.len()];
        for (span, &(piece, link)) in self.chain.spans.iter().enumerate() {
            let next = (span + 1) % self.chain.kept.len();
            let at = &self.chain.pieces[piece];
            let far = at.reduced.stiffness.nrows() - at.first;
            let (from, to) = (self.offsets[span], self.offsets[next]);
            let ends = Mat::from_fn(at.first + far, cases, |i, c| {
                if i < at.first {
                    motion[(from + i, c)]
                } else {
                    motion[(to + i - at.first, c)]
                }
            });
            tasks[piece].push((link, ends));
        }
        let mut found: Vec<(Mat<f64>, Mat<f64>)> = vec![(Mat::new(), Mat::new()); links];
        for piece in (0..tasks.len()).rev() {
            let here = std::mem::take(&mut tasks[piece]);
            if here.is_empty() {
                continue;
            }
            let at = &self.chain.pieces[piece];
            let many = here.len() * cases;
            let loads = Mat::from_fn(at.columns.len(), many, |c, m| {
                let (task, case) = (m / cases, m % cases);
                self.amplitude(at.columns[c], here[task].0, amplitudes, case)
            });
            if let Origin::Join { left, right } = at.origin {
                let size = at.reduced.stiffness.nrows();
                let kept = Mat::from_fn(size, many, |i, m| here[m / cases].1[(i, m % cases)]);
                let middle = at.reduced.way.back(kept.as_ref(), loads.as_ref());
                let last = middle.nrows();
                for (task, (link, ends)) in here.iter().enumerate() {
                    let of = |i: usize, c: usize| middle[(i, task * cases + c)];
                    let near = Mat::from_fn(at.first + last, cases, |i, c| {
                        if i < at.first {
                            ends[(i, c)]
                        } else {
                            of(i - at.first, c)
                        }
                    });
                    let far = Mat::from_fn(last + size - at.first, cases, |i, c| {
                        if i < last {
                            of(i, c)
                        } else {
                            ends[(at.first + i - last, c)]
                        }
                    });
                    tasks[left].push((*link, near));
                    let on = (link + self.chain.pieces[left].links) % links;
                    tasks[right].push((on, far));
                }
            } else {
                for (task, (link, ends)) in here.into_iter().enumerate() {
                    let own = loads
                        .as_ref()
                        .submatrix(0, task * cases, ACCELERATIONS, cases);
                    found[link] = (ends, own.to_owned());
                }
            }
        }
        Inside { links: found }
    }

    /// Amplitude of a piece's column for a case, the piece starting at a link.
    fn amplitude(&self, column: usize, link: usize, amplitudes: &Mat<f64>, case: usize) -> f64 {
        if column >= ACCELERATIONS {
            return amplitudes[(column, case)];
        }
        let (sin, cos) = self.cut.planes[link].pose.heading.sin_cos();
        let (x, y) = (amplitudes[(0, case)], amplitudes[(1, case)]);
        match column {
            0 => cos * x + sin * y,
            1 => cos * y - sin * x,
            _ => amplitudes[(2, case)],
        }
    }

    fn response(
        &self,
        case: usize,
        loading: &Loading,
        motion: &Mat<f64>,
        amplitudes: &Mat<f64>,
        inside: &Inside,
    ) -> SolidResponse {
        let mut planes = self.plane_motions(case, inside);
        if loading.supports.is_empty() {
            remove_mean(self.cut, &mut planes);
        }
        // Motions of the seats, partners in work of their resultants.
        let u = motion.as_ref().subcols(case, 1);
        let r = amplitudes.as_ref().subcols(case, 1);
        let mut seats = product(self.whole.loads.transpose(), u);
        add_product(seats.as_mut(), self.whole.give.as_ref(), r, 1.0);
        let mut applied = vec![0.0; self.whole.loads.ncols()];
        for action in &loading.actions {
            self.add_action(action, &mut applied);
        }
        let work = applied
            .iter()
            .enumerate()
            .map(|(i, r)| r * seats[(i, 0)])
            .sum();
        let length = |m: &[f64; 6]| (m[0] * m[0] + m[1] * m[1] + m[2] * m[2]).sqrt();
        let mut greatest = 0;
        for (plane, moved) in planes.iter().enumerate() {
            if length(moved) > length(&planes[greatest]) {
                greatest = plane;
            }
        }
        SolidResponse {
            work_n_mm: work,
            greatest_displacement_mm: length(&planes[greatest]),
            greatest_displacement_plane: greatest,
            planes,
            hole_peaks: Vec::new(),
        }
    }

    /// Mean motion of every plane, in plan axes.
    fn plane_motions(&self, case: usize, inside: &Inside) -> Vec<[f64; 6]> {
        let count = self.cut.planes.len();
        (0..count)
            .map(|plane| {
                let rows = &self.chain.means[self.cut.planes[plane].face].rows;
                let (ends, from) = match inside.links.get(plane) {
                    Some((ends, _)) => (ends, 0),
                    None => {
                        let ends = &inside.links[plane - 1].0;
                        (ends, ends.nrows() - rows.nrows())
                    }
                };
                let (sin, cos) = self.cut.planes[plane].pose.heading.sin_cos();
                let mean: [f64; RESULTANT] = std::array::from_fn(|k| {
                    (0..rows.nrows())
                        .map(|i| rows[(i, k)] * ends[(from + i, case)])
                        .sum()
                });
                let turn = |a: f64, b: f64| (cos * a - sin * b, sin * a + cos * b);
                let ((x, y), (tx, ty)) = (turn(mean[0], mean[1]), turn(mean[3], mean[4]));
                [x, y, mean[2], tx, ty, mean[5]]
            })
            .collect()
    }

    /// Motion of all nodes of a slab in its own axes for every link that uses it, link by link, cases
    /// together.
    pub(super) fn slab_motion(&self, slab: usize, inside: &Inside) -> (Vec<usize>, Mat<f64>) {
        let mesh = &self.cut.slabs[slab];
        let links: Vec<usize> = (0..self.cut.links.len())
            .filter(|&link| self.cut.links[link].slab == slab)
            .collect();
        let cases = inside.links.first().map_or(0, |link| link.0.ncols());
        let size = 3 * (mesh.start.len() + mesh.end.len());
        let mut planes = Mat::zeros(size, links.len() * cases);
        let mut loads = Mat::zeros(ACCELERATIONS, links.len() * cases);
        let order = mirror_order(size, 3 * mesh.end.len());
        let mix = mirror_mix(mesh.turn);
        for (at, &link) in links.iter().enumerate() {
            let (ends, own) = &inside.links[link];
            let mirrored = self.cut.links[link].mirrored;
            let seen = match mirrored {
                true => product(mix.as_ref(), own.as_ref()),
                false => own.clone(),
            };
            for c in 0..cases {
                for i in 0..size {
                    planes[(i, at * cases + c)] = match mirrored {
                        false => ends[(i, c)],
                        true => ends[(order[i], c)] * if i % 3 == 0 { -1.0 } else { 1.0 },
                    };
                }
                for k in 0..ACCELERATIONS {
                    loads[(k, at * cases + c)] = seen[(k, c)];
                }
            }
        }
        let motion = self.chain.condensed[slab].inside(mesh, planes.as_ref(), loads.as_ref());
        (links, motion)
    }

    fn add_hole_peaks(&self, inside: &Inside, responses: &mut [SolidResponse]) {
        let cases = responses.len();
        for (slab, mesh) in self.cut.slabs.iter().enumerate() {
            if mesh.holes.is_empty() {
                continue;
            }
            let mut wanted = vec![false; mesh.nodes.len()];
            for &node in mesh.holes.iter().flat_map(|hole| &hole.nodes) {
                wanted[node as usize] = true;
            }
            let (links, motion) = self.slab_motion(slab, inside);
            for (at, &link) in links.iter().enumerate() {
                for (case, response) in responses.iter_mut().enumerate() {
                    let stress = nodal_stresses(
                        mesh,
                        &self.law,
                        motion.as_ref(),
                        at * cases + case,
                        &wanted,
                    );
                    for hole in &mesh.holes {
                        let peak = |node: &u32| equivalent(&stress[*node as usize]);
                        let at = hole.nodes.iter().max_by(|a, b| peak(a).total_cmp(&peak(b)));
                        response.hole_peaks.extend(at.map(|node| HolePeak {
                            equivalent_mpa: peak(node),
                            place_mm: self.place(link, *node),
                            station_mm: self.cut.planes[link].station_mm
                                + 0.5 * link_length(self.cut, link),
                            row: hole.row,
                        }));
                    }
                }
            }
        }
    }

    /// Place of a slab's node in the plan when the slab stands at a link.
    pub(super) fn place(&self, link: usize, node: u32) -> [f64; 3] {
        let at = self.cut.links[link];
        let slab = &self.cut.slabs[at.slab];
        let [mut x, mut y, z] = slab.nodes[node as usize];
        if at.mirrored {
            // Seen from the last plane, looking back: the mirror image's first plane.
            let (sin, cos) = slab.turn.sin_cos();
            let (dx, dy) = (x - slab.reach_mm.0, y - slab.reach_mm.1);
            (x, y) = (-(cos * dx + sin * dy), cos * dy - sin * dx);
        }
        let pose = self.cut.planes[link].pose;
        let (sin, cos) = pose.heading.sin_cos();
        [pose.x + cos * x - sin * y, pose.y + sin * x + cos * y, z]
    }
}

/// Whether a support holds a section altogether.
pub(super) fn clamps(support: &Support) -> bool {
    support.hold_warp && support.hold_move == [true; 3] && support.hold_turn == [true; 3]
}

/// The plane that a support on a seat holds.
pub(super) fn plane_of(seat: &Seat) -> usize {
    let [first, second] = seat.shares;
    if second.1 > first.1 {
        second.0
    } else {
        first.0
    }
}

/// The kept planes' body: spans between them, accelerations in plan axes.
fn assemble(cut: &Cut, chain: &Chain, seats: usize) -> (Body, Vec<usize>) {
    let mut offsets = Vec::with_capacity(chain.kept.len());
    let mut size = 0;
    for &plane in &chain.kept {
        offsets.push(size);
        size += chain.means[cut.planes[plane].face].rows.nrows();
    }
    let columns = ACCELERATIONS + RESULTANT * seats;
    let mut whole = Body::new(size, columns, false);
    for (span, &(piece, link)) in chain.spans.iter().enumerate() {
        let at = &chain.pieces[piece];
        let next = (span + 1) % chain.kept.len();
        let far = at.reduced.stiffness.nrows() - at.first;
        let to: Vec<usize> = (0..at.first)
            .map(|i| offsets[span] + i)
            .chain((0..far).map(|i| offsets[next] + i))
            .collect();
        let heading = cut.planes[link].pose.heading;
        let (loads, give) = turned(&at.reduced, &at.columns, heading);
        whole.add_stiffness(at.reduced.stiffness.as_ref(), &to);
        whole.add_loads(loads.as_ref(), give.as_ref(), &to, &at.columns);
    }
    for (at, plane) in chain.kept.iter().enumerate() {
        for (seat, loads) in chain.attached.get(plane).map_or(&[][..], |a| &a.seats) {
            for (c, column) in seat_columns(*seat).enumerate() {
                for i in 0..loads.nrows() {
                    whole.loads[(offsets[at] + i, column)] += loads[(i, c)];
                }
            }
        }
    }
    (whole, offsets)
}

/// Takes the mean rigid motion out of a floating frame's planes, weighted by length of path.
fn remove_mean(cut: &Cut, planes: &mut [[f64; 6]]) {
    let count = cut.planes.len();
    let mut gram = nalgebra::SMatrix::<f64, 6, 6>::zeros();
    let mut sum = nalgebra::SVector::<f64, 6>::zeros();
    let rigid = |plane: usize| {
        let pose = &cut.planes[plane].pose;
        [
            [1.0, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [0.0, 0.0, 1.0],
            [0.0, 0.0, pose.y],
            [0.0, 0.0, -pose.x],
            [-pose.y, pose.x, 0.0],
        ]
    };
    let mut weights = vec![0.0; count];
    for link in 0..cut.links.len() {
        let half = 0.5 * link_length(cut, link);
        weights[link] += half;
        weights[(link + 1) % count] += half;
    }
    for plane in 0..count {
        let motions = rigid(plane);
        for i in 0..6 {
            for k in 0..3 {
                sum[i] += weights[plane] * motions[i][k] * planes[plane][k];
                for j in 0..6 {
                    gram[(i, j)] += weights[plane] * motions[i][k] * motions[j][k];
                }
            }
        }
    }
    let scale = gram.diagonal().max();
    for i in 0..6 {
        gram[(i, i)] += 1e-13 * scale;
    }
    let Some(mean) = gram.cholesky().map(|c| c.solve(&sum)) else {
        return;
    };
    for (plane, moved) in planes.iter_mut().enumerate() {
        let motions = rigid(plane);
        for i in 0..6 {
            for k in 0..3 {
                moved[k] -= mean[i] * motions[i][k];
            }
        }
        for k in 0..3 {
            moved[3 + k] -= mean[3 + k];
        }
    }
}
