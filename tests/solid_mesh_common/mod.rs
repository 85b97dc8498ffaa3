//! Parts for the checks of `solid`'s meshes, and the checks that every mesh must pass.
#![allow(dead_code)]

use std::collections::BTreeMap;

use fretwork::part::{
    Bore, Boss, Depth, HoleRow, Layout, Part, Path, Piece, Section, StripName, Volume,
};
use fretwork::solid::{Cut, Density, MeshError, Slab, cut};

use crate::structure_common::Table;
use crate::structure_common::channel;

pub fn row(strip: StripName, diameter_mm: f64, pitch_mm: f64, offset_mm: f64) -> HoleRow {
    HoleRow {
        name: "relief".into(),
        strip,
        diameter_mm,
        pitch_mm,
        depth: Depth::Through,
        rows: 1,
        row_gap_mm: 0.0,
        stagger: 0.0,
        offset_mm,
        span_mm: None,
        clearance_mm: 1.5,
    }
}

pub fn frame(path: Path, section: Section, hole_rows: Vec<HoleRow>) -> Part {
    Part {
        path,
        section,
        bosses: Vec::new(),
        hole_rows,
        carried: Vec::new(),
    }
}

pub fn boss(station_mm: f64, length_mm: f64, section: Section, bore: Option<Bore>) -> Boss {
    Boss {
        name: "lug".into(),
        station_mm,
        length_mm,
        section,
        bore,
    }
}

pub fn bar_path(length_mm: f64) -> Path {
    Path::chain(vec![Piece::Line { length_mm }], false).unwrap()
}

/// A channel 10 x 1.5 mm with walls 1.2 x 8 mm.
pub fn usual() -> Section {
    channel(10.0, 1.5, (1.2, 8.0), (1.2, 8.0), None)
}

/// A member of the reference tables as a part, and the stations of its load and clamp.
pub fn member(table: &Table, row_: &[String]) -> (Part, Vec<f64>) {
    let get = |column: &str| table.get(row_, column).unwrap_or(0.0);
    let (width, length) = (get("B_mm"), get("L_mm"));
    let rib = (get("rib_t_mm") > 0.0).then(|| {
        let offset = 0.5 * width - get("rib_y_mm");
        (offset, get("rib_t_mm"), get("rib_H_mm"))
    });
    let section = channel(
        width,
        get("tf_mm"),
        (get("to_mm"), get("Ho_mm")),
        (get("ti_mm"), get("Hi_mm")),
        rib,
    );
    let radius_mm = get("Rm_mm");
    let path = match row_[1].as_str() {
        "ring" => Path::circle(radius_mm),
        "arc" => Path::chain(
            vec![Piece::Arc {
                radius_mm,
                angle: get("arc_deg").to_radians(),
            }],
            false,
        ),
        _ => Path::chain(vec![Piece::Line { length_mm: length }], false),
    }
    .unwrap();
    let stations = if row_[1] == "ring" {
        vec![0.0, 0.5 * path.length_mm()]
    } else {
        vec![0.0, path.length_mm()]
    };
    let mut rows = Vec::new();
    // The table's pitch is rounded; its number of holes is not.
    let pitch = path.length_mm() / get("holes_per_row");
    if get("n_rows") > 0.0 {
        let first = get("row1_y_mm");
        let last = if get("n_rows") > 1.0 {
            get("row2_y_mm")
        } else {
            first
        };
        let diameter = get("hole_d_mm");
        rows.push(HoleRow {
            rows: get("n_rows") as usize,
            row_gap_mm: last - first,
            clearance_mm: 0.5 * (pitch - diameter) - 1e-4,
            ..row(
                StripName::Floor,
                diameter,
                pitch,
                0.5 * width - 0.5 * (first + last),
            )
        });
    }
    (frame(path, section, rows), stations)
}

pub fn meshed(part: &Part, stations: &[f64], density: Density) -> Result<Cut, MeshError> {
    let layout = Layout::new(part, stations).unwrap();
    cut(part, &layout, stations, density)
}

/// Quadratic Lagrange polynomials through -1, 0, 1 and their slopes.
fn quadratic(x: f64) -> ([f64; 3], [f64; 3]) {
    (
        [0.5 * x * (x - 1.0), 1.0 - x * x, 0.5 * x * (x + 1.0)],
        [x - 0.5, -2.0 * x, x + 0.5],
    )
}

/// Volume of an element by 3 x 3 x 3 Gauss points, and the least volume density over the mean.
fn element_volume(places: &[[f64; 3]; 27]) -> (f64, f64) {
    let points = [
        (-0.6_f64.sqrt(), 5.0 / 9.0),
        (0.0, 8.0 / 9.0),
        (0.6_f64.sqrt(), 5.0 / 9.0),
    ];
    let (mut volume, mut least) = (0.0, f64::INFINITY);
    for (u, wu) in points {
        for (v, wv) in points {
            for (w, ww) in points {
                let (a, b, c) = (quadratic(u), quadratic(v), quadratic(w));
                let mut j = [[0.0; 3]; 3];
                for (node, place) in places.iter().enumerate() {
                    let (p, q, r) = (node % 3, node / 3 % 3, node / 9);
                    let slopes = [
                        a.1[p] * b.0[q] * c.0[r],
                        a.0[p] * b.1[q] * c.0[r],
                        a.0[p] * b.0[q] * c.1[r],
                    ];
                    for axis in 0..3 {
                        for (value, x) in j[axis].iter_mut().zip(place) {
                            *value += slopes[axis] * x;
                        }
                    }
                }
                let density = j[0][0] * (j[1][1] * j[2][2] - j[1][2] * j[2][1])
                    - j[0][1] * (j[1][0] * j[2][2] - j[1][2] * j[2][0])
                    + j[0][2] * (j[1][0] * j[2][1] - j[1][1] * j[2][0]);
                volume += wu * wv * ww * density;
                least = f64::min(least, density);
            }
        }
    }
    (volume, 8.0 * least / volume)
}

pub fn slab_volume(slab: &Slab) -> f64 {
    slab.elements
        .iter()
        .map(|element| element_volume(&element.map(|node| slab.nodes[node as usize])).0)
        .sum()
}

/// Least density of volume over the element's mean, of all elements.
pub fn least_shape(slab: &Slab) -> f64 {
    slab.elements
        .iter()
        .map(|element| element_volume(&element.map(|node| slab.nodes[node as usize])).1)
        .fold(f64::INFINITY, f64::min)
}

/// Nodes of an element's six faces.
fn faces(element: &[u32; 27]) -> [[u32; 9]; 6] {
    let steps = [1, 3, 9];
    std::array::from_fn(|face| {
        let (axis, side) = (face / 2, 2 * (face % 2));
        let (u, v) = (steps[(axis + 1) % 3], steps[(axis + 2) % 3]);
        std::array::from_fn(|at| element[side * steps[axis] + u * (at % 3) + v * (at / 3)])
    })
}

/// Conforming: a face is shared by two elements at most, with all its nodes; no two nodes in one place; every
/// node used.
fn conforming(slab: &Slab, what: &str) {
    let mut places: Vec<[i64; 3]> = slab
        .nodes
        .iter()
        .map(|place| place.map(|x| (x * 1e6).round() as i64))
        .collect();
    places.sort_unstable();
    let count = places.len();
    places.dedup();
    assert_eq!(count, places.len(), "{what}: two nodes in one place");
    let mut used = vec![false; count];
    let mut shared: BTreeMap<[u32; 9], usize> = BTreeMap::new();
    let mut corners: BTreeMap<[u32; 4], [u32; 9]> = BTreeMap::new();
    for element in &slab.elements {
        for &node in element {
            used[node as usize] = true;
        }
        for face in faces(element) {
            let mut all = face;
            all.sort_unstable();
            *shared.entry(all).or_default() += 1;
            let mut four = [face[0], face[2], face[6], face[8]];
            four.sort_unstable();
            let known = corners.entry(four).or_insert(all);
            assert_eq!(*known, all, "{what}: faces of equal corners differ");
        }
    }
    assert!(
        used.iter().all(|&each| each),
        "{what}: a node without element"
    );
    assert!(
        shared.values().all(|&count| count <= 2),
        "{what}: a face of three"
    );
    // A face of one element is skin: its edges' middles belong to no other element's inside. That a skin face
    // lies on the frame's surface is checked by the volume and the area of the skin.
}

/// A node that one side of a plane lacks lies outside that side's metal.
fn overlaps(cut: &Cut, plane: usize, what: &str) {
    let face = &cut.faces[cut.planes[plane].face];
    for (at, link) in cut.links.iter().enumerate() {
        let slab = &cut.slabs[link.slab];
        let (first, last) = if link.mirrored {
            (&slab.end, &slab.start)
        } else {
            (&slab.start, &slab.end)
        };
        let mut sides = Vec::new();
        if at == plane {
            sides.push(first);
        }
        if (at + 1) % cut.planes.len() == plane {
            sides.push(last);
        }
        for side in sides {
            for quad in face.quads.iter() {
                if quad.iter().any(|&node| side[node as usize] == u32::MAX) {
                    continue;
                }
                let (low, high) = (face.nodes[quad[0] as usize], face.nodes[quad[8] as usize]);
                for (node, [y, z]) in face.nodes.iter().enumerate() {
                    let within = *y > low[0] - 1e-6
                        && *y < high[0] + 1e-6
                        && *z > low[1] - 1e-6
                        && *z < high[1] + 1e-6;
                    assert!(
                        side[node] != u32::MAX || !within,
                        "{what}: sides of plane {plane} differ at y {y} z {z}"
                    );
                }
            }
        }
    }
}

/// The checks that every mesh must pass; the relative error of its volume.
pub fn check(part: &Part, stations: &[f64], density: Density, what: &str) -> (Cut, f64) {
    let layout = Layout::new(part, stations).unwrap();
    let cut =
        cut(part, &layout, stations, density).unwrap_or_else(|error| panic!("{what}: {error}"));
    let links = cut.planes.len() - usize::from(!cut.closed);
    assert_eq!(cut.links.len(), links, "{what}");
    for slab in &cut.slabs {
        let least = least_shape(slab);
        assert!(least > 0.0, "{what}: least shape {least}");
        conforming(slab, what);
    }
    for (index, link) in cut.links.iter().enumerate() {
        let slab = &cut.slabs[link.slab];
        let planes = [index, (index + 1) % cut.planes.len()].map(|at| &cut.planes[at]);
        let pose = |at: usize| {
            let plane = planes[at];
            (plane.pose.x, plane.pose.y, plane.pose.heading)
        };
        let sides = if link.mirrored {
            [&slab.end, &slab.start]
        } else {
            [&slab.start, &slab.end]
        };
        // The slab's own last plane against the path's poses.
        let (x0, y0, h0) = pose(0);
        let (x1, y1, h1) = pose(1);
        let turn = (h1 - h0 - slab.turn).rem_euclid(std::f64::consts::TAU);
        assert!(
            turn.min(std::f64::consts::TAU - turn) < 1e-8,
            "{what}: turn {turn}"
        );
        let gap = (x1 - x0).hypot(y1 - y0) - slab.reach_mm.0.hypot(slab.reach_mm.1);
        assert!(gap.abs() < 3e-7, "{what}: reach off by {gap}");
        for (side, plane) in sides.iter().zip(planes) {
            let face = &cut.faces[plane.face];
            assert_eq!(side.len(), face.nodes.len());
            for (&node, place) in side.iter().zip(&face.nodes) {
                if node == u32::MAX {
                    continue;
                }
                let [x, y, z] = slab.nodes[node as usize];
                let local = if std::ptr::eq(*side, &slab.end) {
                    let (sin, cos) = slab.turn.sin_cos();
                    let (dx, dy) = (x - slab.reach_mm.0, y - slab.reach_mm.1);
                    [dx * cos + dy * sin, dy * cos - dx * sin, z]
                } else {
                    [x, y, z]
                };
                let miss =
                    local[0].abs() + (local[1] - place[0]).abs() + (local[2] - place[1]).abs();
                assert!(miss < 1e-9, "{what}: face node off by {miss}");
            }
        }
    }
    // Every face node belongs to a slab on one side at least, and to every slab whose metal is there.
    for (index, plane) in cut.planes.iter().enumerate() {
        let face = &cut.faces[plane.face];
        overlaps(&cut, index, what);
        for node in 0..face.nodes.len() {
            let held = cut.links.iter().enumerate().any(|(at, link)| {
                let slab = &cut.slabs[link.slab];
                let (first, last) = if link.mirrored {
                    (&slab.end, &slab.start)
                } else {
                    (&slab.start, &slab.end)
                };
                (at == index && first[node] != u32::MAX)
                    || ((at + 1) % cut.planes.len() == index && last[node] != u32::MAX)
            });
            assert!(held, "{what}: a face node that nothing holds");
        }
        assert!(
            face.quads
                .iter()
                .flatten()
                .all(|&n| (n as usize) < face.nodes.len())
        );
        for quad in &face.quads {
            let at = |k: usize| face.nodes[quad[k] as usize];
            assert!(
                at(2)[0] > at(0)[0] && at(6)[1] > at(0)[1],
                "{what}: a face turned"
            );
        }
    }
    for (seat, &station) in cut.seats.iter().zip(stations) {
        assert_eq!(seat.station_mm, station);
        let [a, b] = seat.shares;
        assert!((a.1 + b.1 - 1.0).abs() < 1e-12 && a.1 >= 0.0 && b.1 >= 0.0);
        let length = part.path.length_mm();
        let at = |share: (usize, f64)| {
            let shift = cut.planes[share.0].station_mm - station;
            let shift = if cut.closed {
                shift - length * (shift / length).round()
            } else {
                shift
            };
            share.1 * shift
        };
        assert!((at(a) + at(b)).abs() < 1e-5, "{what}: seat of {station}");
    }
    let volumes: Vec<f64> = cut.slabs.iter().map(slab_volume).collect();
    let volume: f64 = cut.links.iter().map(|link| volumes[link.slab]).sum();
    let expected = Volume::of(part, &layout).metal_mm3;
    (cut, volume / expected - 1.0)
}

/// Size of a mesh in words.
pub fn size(cut: &Cut) -> String {
    let faces: Vec<usize> = cut.faces.iter().map(|face| face.nodes.len()).collect();
    let nodes: Vec<usize> = cut.slabs.iter().map(|slab| slab.nodes.len()).collect();
    format!(
        "{} links, faces {faces:?}, slabs {nodes:?}",
        cut.links.len()
    )
}
