//! The frame in solid under its load cases.

use faer::Mat;

use super::chain::{Chain, RESULTANT, Spread, link_length, seat_columns, seat_loads, turned};
use super::condense::ACCELERATIONS;
use super::error::SolidError;
use super::hexahedron::Law;
use super::inside::{Inside, Task};
use super::piece::{End, mirror_rows, pushed, sign};
use super::reduce::{add_product, product};
use super::slab::{Cut, Seat};
use super::slopes::NodeSlopes;
use super::ties::{Bed, Ties, work};
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
    pub(super) poses: Vec<Pose>,
    /// Seat of a node of the layout.
    pub(super) seat_of: Vec<usize>,
    pub(super) carried: Carried,
    /// On the unknowns of the kept planes; amplitudes are accelerations in plan axes, then the seats'.
    pub(super) whole: Whole,
    pub(super) spread: Spread,
}

/// The body on the kept planes.
#[derive(Clone, Debug)]
pub(super) struct Whole {
    /// Stiffness, its lower triangle.
    pub stiffness: Mat<f64>,
    pub loads: Mat<f64>,
    pub give: Mat<f64>,
    /// First unknown of each kept plane.
    pub offsets: Vec<usize>,
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
        let loads = seat_loads(&seats, cut, &face_means, &pose_at);
        let spread = Spread {
            mass: carried.spread_t_per_mm,
            offset: carried.spread_offset_mm,
        };
        let chain = Chain::new(cut, &law, spread, &held, loads)
            .map_err(|(slab, bad)| SolidError::mesh(slab, bad))?;
        let poses = seats
            .iter()
            .map(|seat| path.pose(seat.station_mm))
            .collect();
        let whole = assemble(cut, &chain, seats.len());
        Ok(Solid {
            cut,
            law,
            chain,
            seats,
            poses,
            seat_of,
            carried: carried.clone(),
            whole,
            spread,
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
        // One factorisation for all cases that clamp the same planes.
        let clamps: Vec<Vec<bool>> = loadings
            .iter()
            .map(|loading| self.clamped(&loading.supports))
            .collect();
        for case in 0..loadings.len() {
            if clamps[..case].contains(&clamps[case]) {
                continue;
            }
            let bed = self.bed(&clamps[case])?;
            for same in (case..loadings.len()).filter(|&same| clamps[same] == clamps[case]) {
                self.solve_one(&bed, same, &loadings[same], &mut motion, &mut amplitudes)?;
            }
        }
        Ok((motion, amplitudes))
    }

    /// Which unknowns of the kept planes are clamped.
    pub(super) fn clamped(&self, supports: &[Support]) -> Vec<bool> {
        let offsets = &self.whole.offsets;
        let mut clamped = vec![false; self.whole.stiffness.nrows()];
        for support in supports.iter().filter(|support| clamps(support)) {
            let plane = plane_of(&self.seats[self.seat_of[support.node]]);
            if let Ok(at) = self.chain.kept.binary_search(&plane) {
                let end = offsets.get(at + 1).copied().unwrap_or(clamped.len());
                clamped[offsets[at]..end].fill(true);
            }
        }
        clamped
    }

    /// The kept planes' stiffness with some unknowns clamped.
    pub(super) fn bed(&self, clamped: &[bool]) -> Result<Bed, SolidError> {
        let plane = self.seats[self.seats.len() - 1].shares[0].0;
        let at = self.chain.kept.binary_search(&plane).unwrap_or(0);
        let face = self.cut.planes[self.chain.kept[at]].face;
        let anchor = (self.whole.offsets[at], &self.chain.means[face].rows);
        let anchor = (!clamped.contains(&true)).then_some(anchor);
        Bed::new(&self.whole.stiffness, clamped, anchor)
    }

    /// The holds of supports that are no clamps, as amplitudes (columns, holds).
    pub(super) fn holds(&self, supports: &[Support]) -> Mat<f64> {
        let columns = self.whole.loads.ncols();
        let mut holds: Vec<Vec<f64>> = Vec::new();
        for support in supports.iter().filter(|support| !clamps(support)) {
            self.add_holds(support, self.seat_of[support.node], columns, &mut holds);
        }
        Mat::from_fn(columns, holds.len(), |i, j| holds[j][i])
    }

    /// Load case `case` to its column of motion and amplitudes.
    fn solve_one(
        &self,
        bed: &Bed,
        case: usize,
        loading: &Loading,
        motion: &mut Mat<f64>,
        amplitudes: &mut Mat<f64>,
    ) -> Result<(), SolidError> {
        let columns = amplitudes.nrows();
        let mut applied = Mat::zeros(columns, 1);
        self.add_loading(loading, applied.col_as_slice_mut(0));
        let mut hold = self.holds(&loading.supports);
        if loading.supports.is_empty() {
            // Any six holds do for a frame that floats.
            let anchor = seat_columns(self.seats.len() - 1).start;
            hold = Mat::from_fn(columns, RESULTANT, |i, j| {
                f64::from(u8::from(i == anchor + j))
            });
        }
        let rows = |loads: Mat<f64>| {
            Mat::from_fn(bed.free.len(), loads.ncols(), |i, c| {
                loads[(bed.free[i], c)]
            })
        };
        let give = |amplitudes: &Mat<f64>| product(self.whole.give.as_ref(), amplitudes.as_ref());
        let pull = rows(product(self.whole.loads.as_ref(), hold.as_ref()));
        let own = give(&hold);
        // Holds in units that make all ties alike.
        for h in 0..hold.ncols() {
            let size = pull.col(h).norm_l2();
            let by_give: f64 = (0..columns).map(|c| hold[(c, h)] * own[(c, h)]).sum();
            let factor = match size > 0.0 {
                true => bed.typical.sqrt() / size,
                false => 1.0 / by_give.abs().max(f64::MIN_POSITIVE).sqrt(),
            };
            hold.as_mut()
                .col_mut(h)
                .iter_mut()
                .for_each(|value| *value *= factor);
        }
        let pull = rows(product(self.whole.loads.as_ref(), hold.as_ref()));
        let (soft, held, size) = (bed.soft.ncols(), hold.ncols(), bed.free.len());
        let ties = Mat::from_fn(size, soft + held, |i, j| match j < soft {
            true => bed.soft[(i, j)],
            false => pull[(i, j - soft)],
        });
        let moved = bed.solve(&ties);
        let free = bed.solve(&rows(product(self.whole.loads.as_ref(), applied.as_ref())));
        let own = work(&hold, &give(&hold));
        let small = Ties::new(work(&ties, &moved).as_ref(), own.as_ref());
        if small.free.ncols() > 0 {
            return Err(SolidError::Free);
        }
        let across = work(&hold, &give(&applied));
        let forces = small.forces(work(&ties, &free).col_as_slice(0), across.col_as_slice(0));
        for (i, &p) in bed.free.iter().enumerate() {
            let back: f64 = forces
                .iter()
                .enumerate()
                .map(|(t, f)| f * moved[(i, t)])
                .sum();
            motion[(p, case)] = free[(i, 0)] + back;
        }
        for c in 0..columns {
            let back: f64 = (0..held).map(|h| hold[(c, h)] * forces[soft + h]).sum();
            amplitudes[(c, case)] = applied[(c, 0)] + back;
        }
        match (0..motion.nrows()).all(|i| motion[(i, case)].is_finite()) {
            true => Ok(()),
            false => Err(SolidError::Free),
        }
    }

    /// A load case's amplitudes but for its supports.
    fn add_loading(&self, loading: &Loading, applied: &mut [f64]) {
        for axis in 0..3 {
            applied[axis] = -loading.acceleration[axis];
        }
        for action in &loading.actions {
            self.add_action(action, applied);
        }
        for point in &self.carried.points {
            self.add_point_inertia(point, loading.acceleration, applied);
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
        let (chain, cases) = (&self.chain, motion.ncols());
        let mut ends: Vec<Mat<f64>> = vec![Mat::new(); chain.stretches.len()];
        for (span, &at) in chain.spans.iter().enumerate() {
            let next = (span + 1) % chain.kept.len();
            let stretch = &chain.stretches[at];
            let first = chain.pieces[stretch.laid.piece].count(stretch.laid.mirrored, End::First);
            let (from, to) = (self.whole.offsets[span], self.whole.offsets[next]);
            ends[at] = Mat::from_fn(stretch.loads.nrows(), cases, |i, c| match i < first {
                true => motion[(from + i, c)],
                false => motion[(to + i - first, c)],
            });
        }
        let mut tasks = Vec::new();
        for (at, stretch) in chain.stretches.iter().enumerate().rev() {
            let piece = &chain.pieces[stretch.laid.piece];
            let own = match stretch.laid.mirrored {
                true => {
                    let first = piece.size() - piece.first;
                    mirror_rows(ends[at].as_ref(), first)
                }
                false => ends[at].clone(),
            };
            let push = Mat::from_fn(stretch.columns.len(), cases, |c, case| {
                self.amplitude(stretch.columns[c], stretch.link, amplitudes, case)
            });
            let Some(halves) = &stretch.halves else {
                tasks.push(Task::new(stretch, piece, own, push));
                continue;
            };
            let mut middle = pushed(halves.loads.as_ref(), push.as_ref());
            piece.middle.back(middle.as_mut(), own.as_ref());
            if stretch.laid.mirrored {
                super::piece::mirror_plane(middle.as_mut());
            }
            let first = piece.count(stretch.laid.mirrored, End::First);
            let (gone, here) = (middle.nrows(), std::mem::replace(&mut ends[at], Mat::new()));
            ends[halves.left] = Mat::from_fn(first + gone, cases, |i, c| match i < first {
                true => here[(i, c)],
                false => middle[(i - first, c)],
            });
            let far = here.nrows() - first;
            ends[halves.right] = Mat::from_fn(gone + far, cases, |i, c| match i < gone {
                true => middle[(i, c)],
                false => here[(first + i - gone, c)],
            });
        }
        Inside::below(chain, self.cut.links.len(), tasks)
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
                let (link, end) = match plane < inside.links.len() {
                    true => (plane, End::First),
                    false => (plane - 1, End::Last),
                };
                let here = &inside.links[link];
                let last = (end == End::First) == here.mirrored;
                let from = if last {
                    here.ends.nrows() - rows.nrows()
                } else {
                    0
                };
                let (sin, cos) = self.cut.planes[plane].pose.heading.sin_cos();
                let mean: [f64; RESULTANT] = std::array::from_fn(|k| {
                    let mut sum = 0.0;
                    for i in 0..rows.nrows() {
                        let flip = if here.mirrored { sign(i) } else { 1.0 };
                        sum += flip * rows[(i, k)] * here.ends[(from + i, case)];
                    }
                    sum
                });
                let turn = |a: f64, b: f64| (cos * a - sin * b, sin * a + cos * b);
                let ((x, y), (tx, ty)) = (turn(mean[0], mean[1]), turn(mean[3], mean[4]));
                [x, y, mean[2], tx, ty, mean[5]]
            })
            .collect()
    }

    /// Motion of nodes of a slab in its own axes for every link that uses it, link by link, cases together; only
    /// nodes of the elements that touch a `wanted` node are sure to be there.
    pub(super) fn slab_motion(
        &self,
        slab: usize,
        inside: &Inside,
        wanted: &[bool],
    ) -> (Vec<usize>, Mat<f64>) {
        let mesh = &self.cut.slabs[slab];
        let links: Vec<usize> = (0..self.cut.links.len())
            .filter(|&link| self.cut.links[link].slab == slab)
            .collect();
        let cases = inside.links.first().map_or(0, |link| link.ends.ncols());
        let size = 3 * (mesh.start.len() + mesh.end.len());
        let mut planes = Mat::zeros(size, links.len() * cases);
        let mut loads = Mat::zeros(ACCELERATIONS, links.len() * cases);
        for (at, &link) in links.iter().enumerate() {
            let here = &inside.links[link];
            let mut into = planes.as_mut().subcols_mut(at * cases, cases);
            into.copy_from(&here.ends);
            let mut into = loads.as_mut().subcols_mut(at * cases, cases);
            into.copy_from(&here.push);
        }
        let condensed = &self.chain.condensed[slab];
        let motion = condensed.inside(mesh, planes.as_ref(), loads.as_ref(), wanted);
        (links, motion)
    }

    fn add_hole_peaks(&self, inside: &Inside, responses: &mut [SolidResponse]) {
        let cases = responses.len();
        for (slab, mesh) in self.cut.slabs.iter().enumerate() {
            if mesh.holes.is_empty() {
                continue;
            }
            let walls = NodeSlopes::new(mesh, mesh.holes.iter().flat_map(|hole| &hole.nodes));
            let (links, motion) = self.slab_motion(slab, inside, &walls.wanted);
            let found = walls.equivalents(mesh, &self.law, &motion);
            for (at, &link) in links.iter().enumerate() {
                for (case, response) in responses.iter_mut().enumerate() {
                    let column = at * cases + case;
                    for hole in &mesh.holes {
                        let peak = |node: &u32| found[(walls.row[*node as usize], column)];
                        let most = hole.nodes.iter().max_by(|a, b| peak(a).total_cmp(&peak(b)));
                        response.hole_peaks.extend(most.map(|node| HolePeak {
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
fn assemble(cut: &Cut, chain: &Chain, seats: usize) -> Whole {
    let mut offsets = Vec::with_capacity(chain.kept.len());
    let mut size = 0;
    for &plane in &chain.kept {
        offsets.push(size);
        size += chain.means[cut.planes[plane].face].rows.nrows();
    }
    let columns = ACCELERATIONS + RESULTANT * seats;
    let mut whole = Whole {
        stiffness: Mat::zeros(size, size),
        loads: Mat::zeros(size, columns),
        give: Mat::zeros(columns, columns),
        offsets,
    };
    for (span, &at) in chain.spans.iter().enumerate() {
        let stretch = &chain.stretches[at];
        let next = (span + 1) % chain.kept.len();
        let (piece, mirrored) = (&chain.pieces[stretch.laid.piece], stretch.laid.mirrored);
        let first = piece.count(mirrored, End::First);
        let last = piece.size() - first;
        let (from, to) = (whole.offsets[span], whole.offsets[next]);
        let mut block = |row, column, (m, n), which| {
            let into = whole.stiffness.as_mut().submatrix_mut(row, column, m, n);
            piece.add_block(mirrored, which, into);
        };
        block(from, from, (first, first), (End::First, End::First));
        block(to, to, (last, last), (End::Last, End::Last));
        if to > from {
            block(to, from, (last, first), (End::Last, End::First));
        } else {
            block(from, to, (first, last), (End::First, End::Last));
        }
        if to == from {
            block(to, from, (last, first), (End::Last, End::First));
        }
        let heading = cut.planes[stretch.link].pose.heading;
        let (loads, give) = turned(&stretch.loads, &stretch.give, &stretch.columns, heading);
        for (c, &column) in stretch.columns.iter().enumerate() {
            for i in 0..first + last {
                let row = if i < first { from + i } else { to + i - first };
                whole.loads[(row, column)] += loads[(i, c)];
            }
            for (d, &other) in stretch.columns.iter().enumerate() {
                whole.give[(column, other)] += give[(c, d)];
            }
        }
    }
    for (at, plane) in chain.kept.iter().enumerate() {
        for (seat, loads) in chain.seats.get(plane).map_or(&[][..], |seats| &seats[..]) {
            for (c, column) in seat_columns(*seat).enumerate() {
                for i in 0..loads.nrows() {
                    whole.loads[(whole.offsets[at] + i, column)] += loads[(i, c)];
                }
            }
        }
    }
    whole
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
