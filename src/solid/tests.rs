//! Slabs of brick, condensed and joined, against one sparse solve of the whole frame on the same mesh.

use faer::Mat;
use faer::linalg::solvers::Solve;
use faer::sparse::{SparseColMat, Triplet};

use super::Solid;
use super::hexahedron::{Hexahedron, Law, NODES, SIZE, mass};
use super::slab::{Cut, Face, Link, Plane, Seat, Slab};
use crate::part::{
    Bore, Boss, Depth, HoleRow, Layout, Part, Path, Piece, Pose, Section, StripName, Wall,
};
use crate::structure::{Action, Carried, Frame, Loading, Metal, Support};

const METAL: Metal = Metal {
    modulus_mpa: 68_900.0,
    poisson: 0.33,
    density_t_mm3: 2.7e-9,
    yield_mpa: 240.0,
};

/// A slab of an arc or bar: `cells` elements along the path, section lines `ys` and `zs` (mid lines are added).
/// One cell of the section may be left out, so that it is no rectangle.
pub(super) fn brick(
    length: f64,
    curvature: f64,
    cells: usize,
    (ys, zs): (&[f64], &[f64]),
    without: Option<(usize, usize)>,
) -> (Slab, Face) {
    let fine = |lines: &[f64]| -> Vec<f64> {
        let mut all = vec![lines[0]];
        for pair in lines.windows(2) {
            all.extend([0.5 * (pair[0] + pair[1]), pair[1]]);
        }
        all
    };
    let (y, z) = (fine(ys), fine(zs));
    let (ny, nz, nx) = (y.len(), z.len(), 2 * cells + 1);
    let boxes: Vec<(usize, usize)> = (0..zs.len() - 1)
        .flat_map(|k| (0..ys.len() - 1).map(move |j| (j, k)))
        .filter(|&at| Some(at) != without)
        .collect();
    let mut number = vec![u32::MAX; nx * ny * nz];
    let mut slab = Slab {
        turn: curvature * length,
        ..Slab::default()
    };
    let start = Pose {
        x: 0.0,
        y: 0.0,
        heading: 0.0,
    };
    let end = start.advance(length, curvature);
    slab.reach_mm = (end.x, end.y);
    let mut node = |slab: &mut Slab, i: usize, j: usize, k: usize| {
        let at = i + nx * (j + ny * k);
        if number[at] == u32::MAX {
            number[at] = slab.nodes.len() as u32;
            let pose = start.advance(length * i as f64 / (nx - 1) as f64, curvature);
            let (px, py) = pose.left(y[j]);
            slab.nodes.push([px, py, z[k]]);
        }
        number[at]
    };
    for i in 0..cells {
        for &(j, k) in &boxes {
            let nodes = std::array::from_fn(|at| {
                node(
                    &mut slab,
                    2 * i + at % 3,
                    2 * j + at / 3 % 3,
                    2 * k + at / 9,
                )
            });
            slab.elements.push(nodes);
        }
    }
    let mut face = Face::default();
    let mut seen = vec![u32::MAX; ny * nz];
    for &(j, k) in &boxes {
        let quad = std::array::from_fn(|at| {
            let (p, q) = (2 * j + at % 3, 2 * k + at / 3);
            if seen[p + ny * q] == u32::MAX {
                seen[p + ny * q] = face.nodes.len() as u32;
                face.nodes.push([y[p], z[q]]);
                let (from, to) = (node(&mut slab, 0, p, q), node(&mut slab, nx - 1, p, q));
                slab.start.push(from);
                slab.end.push(to);
            }
            seen[p + ny * q]
        });
        face.quads.push(quad);
    }
    (slab, face)
}

/// A chain of equal slabs along a path, every second one as its mirror image; all stations on planes.
pub(super) fn chain(
    slab: Slab,
    face: Face,
    length: f64,
    count: usize,
    path: &Path,
    stations: &[f64],
) -> Cut {
    let closed = path.closed();
    let planes = if closed { count } else { count + 1 };
    Cut {
        closed,
        slabs: vec![slab],
        faces: vec![face],
        links: (0..count)
            .map(|i| Link {
                slab: 0,
                mirrored: i % 2 == 1,
            })
            .collect(),
        planes: (0..planes)
            .map(|i| Plane {
                station_mm: i as f64 * length,
                face: 0,
                pose: path.pose(i as f64 * length),
            })
            .collect(),
        seats: stations
            .iter()
            .map(|&station_mm| {
                let plane = (station_mm / length).round() as usize % planes;
                Seat {
                    station_mm,
                    shares: [(plane, 1.0), (plane, 0.0)],
                }
            })
            .collect(),
        remarks: Vec::new(),
    }
}

/// The whole frame's mesh in plan axes: places of all nodes and elements, and for each plane its nodes.
struct Whole {
    places: Vec<[f64; 3]>,
    elements: Vec<[u32; 27]>,
    planes: Vec<Vec<u32>>,
}

fn whole(solid: &Solid) -> Whole {
    let cut = solid.cut;
    let mut all = Whole {
        places: Vec::new(),
        elements: Vec::new(),
        planes: vec![Vec::new(); cut.planes.len()],
    };
    for (link, at) in cut.links.iter().enumerate() {
        let slab = &cut.slabs[at.slab];
        let mut number = vec![u32::MAX; slab.nodes.len()];
        let next = (link + 1) % cut.planes.len();
        let (near, far) = if at.mirrored {
            (&slab.end, &slab.start)
        } else {
            (&slab.start, &slab.end)
        };
        for (plane, nodes) in [(link, near), (next, far)] {
            if all.planes[plane].is_empty() {
                continue;
            }
            for (&node, &known) in nodes.iter().zip(&all.planes[plane]) {
                if node == u32::MAX || known == u32::MAX {
                    continue;
                }
                number[node as usize] = known;
                let place = solid.place(link, node);
                for k in 0..3 {
                    // Slabs are meshed from dimensions rounded to 1e-7 mm.
                    let apart = (place[k] - all.places[known as usize][k]).abs();
                    assert!(
                        apart < 1e-7,
                        "link {link}, plane {plane}, slab {}: {apart:e}",
                        at.slab
                    );
                }
            }
        }
        for node in 0..slab.nodes.len() {
            if number[node] == u32::MAX {
                number[node] = all.places.len() as u32;
                all.places.push(solid.place(link, node as u32));
            }
        }
        for (plane, nodes) in [(link, near), (next, far)] {
            all.planes[plane].resize(nodes.len(), u32::MAX);
            for (known, &node) in all.planes[plane].iter_mut().zip(nodes) {
                if node != u32::MAX {
                    *known = number[node as usize];
                }
            }
        }
        for element in &slab.elements {
            // A mirror image is turned right by running along the path the other way.
            all.elements.push(std::array::from_fn(|k| {
                let from = if at.mirrored {
                    k - k % 3 + (2 - k % 3)
                } else {
                    k
                };
                number[element[from] as usize]
            }));
        }
    }
    all
}

/// The whole frame's stiffness, planes in `fixed` held, and which unknowns that are.
fn stiffness_whole(all: &Whole, fixed: &[usize]) -> (SparseColMat<usize, f64>, Vec<bool>) {
    let law = Law::new(&METAL);
    let size = 3 * all.places.len();
    let mut held = vec![false; size];
    for &plane in fixed {
        for &node in &all.planes[plane] {
            held[3 * node as usize..3 * node as usize + 3].fill(true);
        }
    }
    let mut triplets = Vec::new();
    let mut matrices = Hexahedron::new();
    for element in &all.elements {
        let places = element.map(|node| all.places[node as usize]);
        matrices.fill(&places, &law).unwrap();
        let unknown = |at: usize| 3 * element[at % NODES] as usize + at / NODES;
        for b in 0..SIZE {
            for a in 0..SIZE {
                let (p, q) = (unknown(a), unknown(b));
                if !held[p] && !held[q] {
                    triplets.push(Triplet::new(p, q, matrices.stiffness[b * SIZE + a]));
                }
            }
        }
    }
    for (p, _) in held.iter().enumerate().filter(|(_, held)| **held) {
        triplets.push(Triplet::new(p, p, 1.0));
    }
    let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(size, size, &triplets).unwrap();
    (matrix, held)
}

/// Displacements of the whole frame by one sparse factorisation: planes in `fixed` held, loads per unknown.
fn solve_whole(all: &Whole, fixed: &[usize], loads: &[f64]) -> Vec<f64> {
    let (matrix, held) = stiffness_whole(all, fixed);
    let size = held.len();
    let right = Mat::from_fn(size, 1, |i, _| if held[i] { 0.0 } else { loads[i] });
    let factor = matrix.sp_cholesky(faer::Side::Lower).unwrap();
    let mut answer = factor.solve(&right);
    // One step of refinement, so that the reference is not the weaker side.
    let rest = &right - &matrix * &answer;
    answer += factor.solve(&rest);
    (0..size).map(|i| answer[(i, 0)]).collect()
}

/// First natural frequency of the whole mesh in Hz, planes in `fixed` held, by inverse iteration.
fn frequency_whole(all: &Whole, fixed: &[usize]) -> f64 {
    let (matrix, held) = stiffness_whole(all, fixed);
    let size = held.len();
    let factor = matrix.sp_cholesky(faer::Side::Lower).unwrap();
    let law = Law::new(&METAL);
    let pull = |motion: &Mat<f64>| {
        let mut force = Mat::zeros(size, 1);
        for element in &all.elements {
            let mass = mass(&element.map(|node| all.places[node as usize]), &law).unwrap();
            for (b, &q) in element.iter().enumerate() {
                for (a, &p) in element.iter().enumerate() {
                    for axis in 0..3 {
                        force[(3 * p as usize + axis, 0)] +=
                            mass[b * NODES + a] * motion[(3 * q as usize + axis, 0)];
                    }
                }
            }
        }
        Mat::from_fn(size, 1, |i, _| if held[i] { 0.0 } else { force[(i, 0)] })
    };
    let mut motion = Mat::from_fn(
        size,
        1,
        |i, _| if held[i] { 0.0 } else { (i as f64).sin() + 0.5 },
    );
    let mut value = 0.0;
    for _ in 0..60 {
        let force = pull(&motion);
        let next = factor.solve(&force);
        let work: f64 = (0..size).map(|i| next[(i, 0)] * force[(i, 0)]).sum();
        let mass: f64 = {
            let heavy = pull(&next);
            (0..size).map(|i| next[(i, 0)] * heavy[(i, 0)]).sum()
        };
        value = work / mass;
        motion = &next * (1.0 / mass.sqrt());
    }
    value.sqrt() / std::f64::consts::TAU
}

fn clamp(node: usize) -> Support {
    Support {
        node,
        frame: Frame::Path,
        hold_move: [true; 3],
        hold_turn: [true; 3],
        hold_warp: true,
    }
}

fn force(node: usize, force: [f64; 3]) -> Action {
    Action {
        node,
        frame: Frame::Path,
        force,
        moment: [0.0; 3],
        offset_mm: (0.0, 0.0),
    }
}

fn case(supports: Vec<Support>, actions: Vec<Action>) -> Loading {
    Loading {
        supports,
        actions,
        acceleration: [0.0; 3],
    }
}

#[test]
fn joined_slabs_are_the_whole_frame() {
    // A ring of an angle section, 12 slabs.
    let path = Path::circle(20.0).unwrap();
    let length = path.length_mm() / 12.0;
    let lines = (&[-3.0, -1.5, 3.0][..], &[0.0, 1.0, 4.0][..]);
    let (slab, face) = brick(length, 1.0 / 20.0, 2, lines, Some((1, 1)));
    let cut = chain(slab, face, length, 12, &path, &[0.0, 4.0 * length]);
    let loads = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let mut loadings: Vec<Loading> = loads
        .iter()
        .map(|&f| case(vec![clamp(0)], vec![force(1, f)]))
        .collect();
    loadings.push(Loading {
        supports: vec![clamp(0)],
        actions: Vec::new(),
        acceleration: [3e5, -2e5, 1e5],
    });
    let solid = Solid::new(&cut, &path, &[0, 1], &METAL, &Carried::default(), &loadings).unwrap();
    let responses = solid.solve(&loadings).unwrap();
    let all = whole(&solid);
    let rows = &solid.chain.means[0].rows;
    let pose = cut.planes[4].pose;
    let (sin, cos) = pose.heading.sin_cos();
    for (index, response) in responses.iter().enumerate() {
        let mut load = vec![0.0; 3 * all.places.len()];
        if index < 3 {
            for (at, &node) in all.planes[4].iter().enumerate() {
                let f = [0, 1, 2].map(|axis| rows[(3 * at + axis, index)]);
                let node = 3 * node as usize;
                load[node] = cos * f[0] - sin * f[1];
                load[node + 1] = sin * f[0] + cos * f[1];
                load[node + 2] = f[2];
            }
        } else {
            let law = Law::new(&METAL);
            let mut matrices = Hexahedron::new();
            for element in &all.elements {
                let places = element.map(|node| all.places[node as usize]);
                matrices.fill(&places, &law).unwrap();
                for (&node, pull) in element.iter().zip(&matrices.pull) {
                    for axis in 0..3 {
                        load[3 * node as usize + axis] -= loadings[3].acceleration[axis] * pull;
                    }
                }
            }
        }
        let u = solve_whole(&all, &[0], &load);
        if index < 3 {
            let work: f64 = load.iter().zip(&u).map(|(f, u)| f * u).sum();
            let error = response.work_n_mm / work - 1.0;
            assert!(error.abs() < 1e-8, "case {index}: work off by {error:e}");
        }
        // Mean motion of a plane that was eliminated on the way.
        let plane = 7;
        let (sin, cos) = cut.planes[plane].pose.heading.sin_cos();
        let mut mean = [0.0; 3];
        for (at, &node) in all.planes[plane].iter().enumerate() {
            let node = 3 * node as usize;
            let local = [
                cos * u[node] + sin * u[node + 1],
                cos * u[node + 1] - sin * u[node],
                u[node + 2],
            ];
            for (axis, value) in local.iter().enumerate() {
                for (k, sum) in mean.iter_mut().enumerate() {
                    *sum += rows[(3 * at + axis, k)] * value;
                }
            }
        }
        let mean = [
            cos * mean[0] - sin * mean[1],
            sin * mean[0] + cos * mean[1],
            mean[2],
        ];
        for k in 0..3 {
            let error = response.planes[plane][k] - mean[k];
            let scale = response.greatest_displacement_mm;
            assert!(
                error.abs() < 1e-8 * scale,
                "case {index} axis {k}: {error:e} of {scale:e}"
            );
        }
        let most = u.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        assert!(most >= response.greatest_displacement_mm * 0.5);
    }
}

#[test]
fn cells_vibrate_like_the_whole_mesh() {
    // An arc of an angle section, 6 slabs that turn by 0.2 rad each: one end clamped.
    let arc = crate::part::Piece::Arc {
        radius_mm: 15.0,
        angle: 1.2,
    };
    let path = Path::chain(vec![arc], false).unwrap();
    let length = path.length_mm() / 6.0;
    let lines = (&[-3.0, -1.5, 3.0][..], &[0.0, 1.0, 4.0][..]);
    let (slab, face) = brick(length, 1.0 / 15.0, 2, lines, Some((1, 1)));
    let cut = chain(slab, face, length, 6, &path, &[0.0]);
    let loading = case(vec![clamp(0)], Vec::new());
    let carried = Carried::default();
    let solid = Solid::new(&cut, &path, &[0], &METAL, &carried, &[loading]).unwrap();
    let found = solid.modes(&[clamp(0)], 1).unwrap()[0].frequency_hz;
    let whole = frequency_whole(&whole(&solid), &[0]);
    // Guyan's reduction holds the inside of a pitch to its ends, so that it errs upward.
    let error = found / whole - 1.0;
    assert!(
        (-1e-7..1e-3).contains(&error),
        "{found} against {whole}: {error:e}"
    );
}

#[test]
fn cells_vibrate_like_the_slender_ring() {
    // Ring R 60, section 4 radial x 10 axial, free: check 7 of the reference facts (Love; Blevins; from
    // memory): 691.96 and 1957.16 Hz in plane, 1251.33 Hz out of plane for thin bars; with rotary inertia and
    // shear a frame model gives 691.80, 1956.4 and 1238.96.
    let path = Path::circle(60.0).unwrap();
    let count = 48;
    let length = path.length_mm() / count as f64;
    let lines = (&[-2.0, 2.0][..], &[0.0, 5.0, 10.0][..]);
    let (slab, face) = brick(length, 1.0 / 60.0, 3, lines, None);
    let cut = chain(slab, face, length, count, &path, &[]);
    let carried = Carried::default();
    let of = super::Vibration {
        path: &path,
        nodes: &[],
        metal: &METAL,
        carried: &carried,
        supports: &[],
    };
    let modes = super::modes(&cut, &of, 6).unwrap();
    let found: Vec<(f64, &str)> = modes
        .iter()
        .map(|m| (m.frequency_hz, m.kind.words()))
        .collect();
    let expected = [
        (691.8, "in plane"),
        (691.8, "in plane"),
        (1239.0, "out of plane"),
        (1239.0, "out of plane"),
        (1956.4, "in plane"),
        (1956.4, "in plane"),
    ];
    for ((got, kind), (want, name)) in found.iter().zip(expected) {
        assert!((got / want - 1.0).abs() < 0.01, "{found:?}");
        assert_eq!(*kind, name, "{found:?}");
    }
}

/// Loads on the whole mesh's unknowns of a unit of the mean motion `k` of a plane, in the path's axes there.
fn mean_load(solid: &Solid, all: &Whole, plane: usize, k: usize) -> Vec<f64> {
    let at = &solid.cut.planes[plane];
    let rows = &solid.chain.means[at.face].rows;
    let (sin, cos) = at.pose.heading.sin_cos();
    let mut load = vec![0.0; 3 * all.places.len()];
    for (at, &node) in all.planes[plane].iter().enumerate() {
        let f = [0, 1, 2].map(|axis| rows[(3 * at + axis, k)]);
        let node = 3 * node as usize;
        load[node] = cos * f[0] - sin * f[1];
        load[node + 1] = sin * f[0] + cos * f[1];
        load[node + 2] = f[2];
    }
    load
}

#[test]
fn held_means_are_those_of_the_whole_frame() {
    // The ring of angle section on two supports that hold some mean motions only, pulled between them; once more
    // with too few of them.
    let path = Path::circle(20.0).unwrap();
    let length = path.length_mm() / 12.0;
    let lines = (&[-3.0, -1.5, 3.0][..], &[0.0, 1.0, 4.0][..]);
    let (slab, face) = brick(length, 1.0 / 20.0, 2, lines, Some((1, 1)));
    let stations = [0.0, 6.0 * length, 4.0 * length];
    let cut = chain(slab, face, length, 12, &path, &stations);
    let first = Support {
        hold_turn: [true, true, false],
        hold_warp: false,
        ..clamp(0)
    };
    let second = Support {
        hold_move: [true, false, true],
        hold_turn: [false; 3],
        hold_warp: false,
        ..clamp(1)
    };
    let pull = force(2, [1.0, 0.5, 2.0]);
    let loading = case(vec![first, second.clone()], vec![pull.clone()]);
    let loose = case(vec![second], vec![pull]);
    let nodes = [0, 1, 2];
    let carried = Carried::default();
    let loadings = [loading, loose];
    let solid = Solid::new(&cut, &path, &nodes, &METAL, &carried, &loadings).unwrap();
    let found = solid.solve(&loadings[..1]).unwrap()[0].work_n_mm;
    assert_eq!(
        solid.solve(&loadings[1..]).unwrap_err(),
        super::SolidError::Free
    );
    let all = whole(&solid);
    let holds = [(0, 0), (0, 1), (0, 2), (0, 3), (0, 4), (6, 0), (6, 2)];
    let (stiffness, _) = stiffness_whole(&all, &[]);
    let size = stiffness.nrows();
    let mut triplets: Vec<_> = stiffness
        .triplet_iter()
        .map(|t| Triplet::new(t.row, t.col, *t.val))
        .collect();
    for (h, &(plane, k)) in holds.iter().enumerate() {
        let load = mean_load(&solid, &all, plane, k);
        for (i, &value) in load.iter().enumerate().filter(|(_, value)| **value != 0.0) {
            // In units of the stiffness, so that pivots are alike.
            let value = 1e5 * value;
            triplets.push(Triplet::new(i, size + h, value));
            triplets.push(Triplet::new(size + h, i, value));
        }
    }
    let full = size + holds.len();
    let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(full, full, &triplets).unwrap();
    let mut load = vec![0.0; full];
    for (k, amount) in [(0, 1.0), (1, 0.5), (2, 2.0)] {
        let part = mean_load(&solid, &all, 4, k);
        for (sum, part) in load.iter_mut().zip(part) {
            *sum += amount * part;
        }
    }
    let right = Mat::from_fn(full, 1, |i, _| load[i]);
    let answer = matrix.sp_lu().unwrap().solve(&right);
    let work: f64 = (0..size).map(|i| load[i] * answer[(i, 0)]).sum();
    let error = found / work - 1.0;
    assert!(error.abs() < 1e-8, "{found} against {work}: {error:e}");
}

#[test]
fn a_free_frame_moves_rigidly_without_force() {
    let path = Path::circle(20.0).unwrap();
    let length = path.length_mm() / 12.0;
    let lines = (&[-3.0, -1.5, 3.0][..], &[0.0, 1.0, 4.0][..]);
    let (slab, face) = brick(length, 1.0 / 20.0, 2, lines, Some((1, 1)));
    let cut = chain(slab, face, length, 12, &path, &[0.0, 5.0 * length]);
    let loading = case(vec![clamp(0), clamp(1)], Vec::new());
    let carried = Carried::default();
    let solid = Solid::new(&cut, &path, &[0, 1], &METAL, &carried, &[loading]).unwrap();
    let stiffness = &solid.whole.stiffness;
    let size = stiffness.nrows();
    let most = (0..size).map(|i| stiffness[(i, i)]).fold(0.0, f64::max);
    for motion in 0..6 {
        let mut moved = Vec::with_capacity(size);
        for &plane in &solid.chain.kept {
            let at = &cut.planes[plane];
            let (sin, cos) = at.pose.heading.sin_cos();
            for &[across, z] in &cut.faces[at.face].nodes {
                let (x, y) = at.pose.left(across);
                let u = match motion {
                    0 => [1.0, 0.0, 0.0],
                    1 => [0.0, 1.0, 0.0],
                    2 => [0.0, 0.0, 1.0],
                    3 => [0.0, -z, y],
                    4 => [z, 0.0, -x],
                    _ => [-y, x, 0.0],
                };
                moved.extend([cos * u[0] + sin * u[1], cos * u[1] - sin * u[0], u[2]]);
            }
        }
        let largest = moved.iter().fold(0.0_f64, |m, u| m.max(u.abs()));
        for i in 0..size {
            let entry = |j: usize| stiffness[(i.max(j), i.min(j))];
            let force: f64 = (0..size).map(|j| entry(j) * moved[j]).sum();
            assert!(
                force.abs() < 1e-10 * most * largest,
                "motion {motion} unknown {i}: {force:e}"
            );
        }
    }
    // Six motions without strain are set aside, so that the first mode is one that bends.
    let first = solid.modes(&[], 1).unwrap()[0].frequency_hz;
    assert!(first > 100.0, "{first} Hz");
}

/// A drilled channel along a path, with a boss of another section and a bore in its middle.
fn drilled(path: Path, boss: bool) -> Part {
    let wall = |thickness_mm, height_mm| {
        Some(Wall {
            thickness_mm,
            height_mm,
        })
    };
    let section = Section {
        width_mm: 10.0,
        floor_mm: 1.5,
        outer_wall: wall(1.2, 6.0),
        inner_wall: wall(1.0, 5.0),
        ribs: Vec::new(),
        slits: None,
    };
    let middle = 0.5 * path.length_mm();
    let bosses = boss.then(|| Boss {
        name: "lug".into(),
        station_mm: middle,
        length_mm: 6.0,
        section: Section {
            floor_mm: 3.0,
            outer_wall: wall(1.8, 6.0),
            ..section.clone()
        },
        bore: Some(Bore {
            diameter_mm: 2.5,
            depth_mm: None,
            reamed: false,
            counterbore: None,
        }),
    });
    Part {
        path,
        section,
        bosses: bosses.into_iter().collect(),
        hole_rows: vec![HoleRow {
            name: "row".into(),
            strip: StripName::Floor,
            diameter_mm: 3.0,
            pitch_mm: 5.0,
            depth: Depth::Through,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm: 0.2,
            span_mm: None,
            clearance_mm: 1.0,
        }],
        carried: Vec::new(),
    }
}

fn cut_of(part: &Part, stations: &[f64]) -> (Cut, Layout) {
    let layout = Layout::new(part, stations).unwrap();
    let cut = super::cut(part, &layout, stations, super::Density::Coarse).unwrap();
    (cut, layout)
}

#[test]
fn a_drilled_curved_mesh_passes_the_patch_test() {
    // Irons: a linear field on any mesh needs no force inside and has its constant stress (Irons & Razzaque
    // 1972, from memory).
    let path = Path::chain(
        vec![Piece::Arc {
            radius_mm: 30.0,
            angle: 1.0,
        }],
        false,
    )
    .unwrap();
    let (cut, _) = cut_of(&drilled(path, true), &[0.0]);
    let law = Law::new(&METAL);
    let slope = [[1e-3, 2e-4, -3e-4], [4e-4, -5e-4, 6e-4], [7e-4, 8e-4, 9e-4]];
    let field = |p: [f64; 3]| slope.map(|row| row[0] * p[0] + row[1] * p[1] + row[2] * p[2]);
    let mut inner = 0;
    for slab in &cut.slabs {
        let mut force = vec![[0.0; 3]; slab.nodes.len()];
        let mut matrices = Hexahedron::new();
        let mut greatest = 0.0_f64;
        for element in &slab.elements {
            let places = element.map(|node| slab.nodes[node as usize]);
            matrices.fill(&places, &law).unwrap();
            let moved = places.map(field);
            for row in 0..SIZE {
                let f: f64 = (0..SIZE)
                    .map(|at| matrices.stiffness[at * SIZE + row] * moved[at % NODES][at / NODES])
                    .sum();
                force[element[row % NODES] as usize][row / NODES] += f;
                greatest = greatest.max(f.abs());
            }
        }
        for node in inside(slab) {
            inner += 1;
            for f in force[node] {
                assert!(f.abs() < 1e-11 * greatest, "{f:e} of {greatest:e}");
            }
        }
    }
    assert!(inner > 200, "{inner} nodes inside");
}

/// Nodes of a slab that lie on no outer face.
fn inside(slab: &Slab) -> Vec<usize> {
    let face = |axis: usize, end: usize| {
        let step = 3_usize.pow(axis as u32);
        (0..27).filter(move |at| at / step % 3 == end)
    };
    let mut faces = std::collections::BTreeMap::new();
    for element in &slab.elements {
        for (axis, end) in (0..3).flat_map(|axis| [(axis, 0), (axis, 2)]) {
            let mut nodes: Vec<u32> = face(axis, end).map(|at| element[at]).collect();
            nodes.sort_unstable();
            *faces.entry(nodes).or_insert(0) += 1;
        }
    }
    let mut outer = vec![false; slab.nodes.len()];
    for (nodes, count) in faces {
        for node in nodes {
            outer[node as usize] |= count == 1;
        }
    }
    (0..outer.len()).filter(|&node| !outer[node]).collect()
}

#[test]
fn sections_that_change_are_the_whole_frame() {
    let path = Path::chain(
        vec![
            Piece::Line { length_mm: 14.0 },
            Piece::Arc {
                radius_mm: 20.0,
                angle: 1.2,
            },
        ],
        false,
    )
    .unwrap();
    let part = drilled(path, true);
    let end = part.path.length_mm();
    let (cut, layout) = cut_of(&part, &[0.0, end]);
    let nodes = &layout.station_nodes;
    let loads = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let loadings: Vec<Loading> = loads
        .iter()
        .map(|&f| case(vec![clamp(nodes[0])], vec![force(nodes[1], f)]))
        .collect();
    let carried = Carried::default();
    let solid = Solid::new(&cut, &part.path, nodes, &METAL, &carried, &loadings).unwrap();
    let responses = solid.solve(&loadings).unwrap();
    let all = whole(&solid);
    let plane = cut.planes.len() - 1;
    for (k, response) in responses.iter().enumerate() {
        let load = mean_load(&solid, &all, plane, k);
        let u = solve_whole(&all, &[0], &load);
        let work: f64 = load.iter().zip(&u).map(|(f, u)| f * u).sum();
        let error = response.work_n_mm / work - 1.0;
        assert!(error.abs() < 1e-8, "case {k}: work off by {error:e}");
    }
}

#[test]
fn finer_meshes_come_together_from_the_stiff_side() {
    // Displacement elements are too stiff (Rayleigh), less so the finer they are. At sharp inner corners the
    // order falls from four to little more than one, so the steps are asked only to shrink by half.
    let part = drilled(Path::circle(12.0).unwrap(), false);
    let half = 0.5 * part.path.length_mm();
    let work = |density, f: [f64; 3]| {
        let layout = Layout::new(&part, &[0.0, half]).unwrap();
        let cut = super::cut(&part, &layout, &[0.0, half], density).unwrap();
        let nodes = &layout.station_nodes;
        let loading = [case(vec![clamp(nodes[0])], vec![force(nodes[1], f)])];
        let carried = Carried::default();
        let solid = Solid::new(&cut, &part.path, nodes, &METAL, &carried, &loading).unwrap();
        solid.solve(&loading).unwrap()[0].work_n_mm
    };
    for f in [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] {
        let [rough, fine, finest] = [
            super::Density::Coarse,
            super::Density::Fine,
            super::Density::Finest,
        ]
        .map(|density| work(density, f));
        let (first, second) = (fine - rough, finest - fine);
        assert!(first > 0.0 && second > 0.0, "{rough} {fine} {finest}");
        let order = (first / second).log2();
        assert!(
            (0.8..6.0).contains(&order),
            "steps {first:e}, {second:e}: {order}"
        );
        assert!(first / finest < 0.05, "{rough} {finest}");
    }
}
