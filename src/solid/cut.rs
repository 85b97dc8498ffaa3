//! A part cut into slabs.

use std::collections::{BTreeMap, BTreeSet};

use super::bend::Bend;
use super::density::Density;
use super::drill::{Drill, Placed, bores, rows};
use super::grid::Grid;
use super::mesh::{Fault, GRAZING, MOST_ELEMENTS, Mesh, mesh};
use super::mesh_error::MeshError;
use super::pattern::Share;
use super::planes::{Planes, planes};
use super::slab::{Cut, Face, Link, Plane, Slab};
use super::spec::{Spec, Spot};
use crate::part::{Layout, Part, drill_point_height_mm};

/// The part as a chain of meshed slabs, cut where its sections change, at `stations` (mm along the path, as
/// asked of the layout), at hole centres and between holes.
///
/// Slabs that are equal but for rounding, or mirror images, are meshed once. Lengths are rounded to 1e-7 mm.
///
/// # Errors
/// [`MeshError`] where the part can't be meshed; its beam stands.
pub fn cut(
    part: &Part,
    layout: &Layout,
    stations: &[f64],
    density: Density,
) -> Result<Cut, MeshError> {
    let fineness = density.fineness();
    let mut drills = rows(part, layout)?;
    let row_drills = drills.clone();
    let mut bores = bores(part)?;
    let mut with_sections: Vec<_> = bores
        .iter_mut()
        .map(|(boss, drill)| (part.bosses[*boss].section.clone(), drill))
        .collect();
    let grid = Grid::new(&layout.sections, &row_drills, &mut with_sections, &fineness);
    check_arcs(part, &grid)?;
    let mut holes = placed(part, layout, &drills);
    let grazed = grazed(part, &grid, &bores);
    for (boss, drill) in bores {
        // Bosses of one kind share the drill, so that their slabs can be equal.
        let same = |each: &Drill| {
            each.row.is_none()
                && each.radius == drill.radius
                && each.band == drill.band
                && each.bottom == drill.bottom
        };
        let index = drills.iter().position(same).unwrap_or(drills.len());
        let station = part.bosses[boss].station_mm;
        holes.push(Placed {
            drill: index,
            station,
            reach: reach(part, &drill, station),
        });
        if index == drills.len() {
            drills.push(drill);
        }
    }
    let planes = planes(part, &drills, &holes, stations, &fineness)?;
    let mut chain = Chain::default();
    for index in 0..planes.links() {
        let (from, to) = planes.link(index);
        let spec = describe(part, layout, &planes, &drills, from, to)?.settled();
        chain.add(spec, |spec| {
            mesh(spec, &drills, &grid, &fineness).map_err(|fault| {
                let name = spec
                    .holes
                    .first()
                    .map(|hole| drills[hole.drill].name.clone());
                match fault {
                    Fault::Touch(metal_mm) => MeshError::HolesTouch {
                        name: name.unwrap_or_default(),
                        station_mm: from,
                        metal_mm,
                    },
                    Fault::Many(elements) => MeshError::TooManyElements {
                        station_mm: from,
                        elements,
                        most: MOST_ELEMENTS,
                    },
                }
            })
        })?;
    }
    let seats = stations.iter().map(|&each| planes.seat(each)).collect();
    let mut cut = chain.joined(part, &planes);
    cut.seats = seats;
    cut.remarks = remarks(&drills);
    cut.remarks.extend(grazed);
    Ok(cut)
}

fn reach(part: &Part, drill: &Drill, station: f64) -> f64 {
    let near = |shift: f64| drill.reach(part.path.curvature(station + shift));
    near(0.0).max(near(drill.radius)).max(near(-drill.radius))
}

fn placed(part: &Part, layout: &Layout, drills: &[Drill]) -> Vec<Placed> {
    layout
        .holes
        .iter()
        .filter_map(|hole| {
            let drill = drills
                .iter()
                .position(|each| each.row == Some(hole.row) && each.line == hole.line)?;
            Some(Placed {
                drill,
                station: hole.station_mm,
                reach: reach(part, &drills[drill], hole.station_mm),
            })
        })
        .collect()
}

/// What is not meshed as it is.
fn remarks(drills: &[Drill]) -> Vec<String> {
    let mut remarks = Vec::new();
    for drill in drills.iter().filter(|drill| drill.bottom.is_some()) {
        remarks.push(if drill.pointed {
            format!("blind holes {}: meshed with their drill point", drill.name)
        } else {
            format!(
                "blind holes {}: meshed flat, {:.3} mm³ of drill point each left out for want of metal",
                drill.name,
                std::f64::consts::PI / 3.0
                    * drill.radius.powi(2)
                    * drill_point_height_mm(2.0 * drill.radius)
            )
        });
    }
    remarks.dedup();
    remarks
}

/// Strips whose edge grazes a bore's circle: no ray can follow the edge there.
fn grazed(part: &Part, grid: &Grid, bores: &[(usize, Drill)]) -> Vec<String> {
    let mut remarks = Vec::new();
    for (boss, drill) in bores {
        for strip in part.bosses[*boss].section.strips() {
            let columns = grid.columns(drill.band);
            for edge in [strip.y_low, strip.y_high] {
                let line = grid.columns((edge, edge)).0;
                let inside = columns.0 < line && line < columns.1;
                let off = (edge - drill.centre).abs() / drill.radius;
                if inside && off > GRAZING {
                    // The triangle between the edge and the ray that stands for it, on both sides.
                    let most = (off - GRAZING)
                        * drill.radius
                        * 0.5
                        * part.bosses[*boss].length_mm
                        * (strip.z_high - strip.z_low);
                    remarks.push(format!(
                        "the edge of the {} grazes the bore of boss {}: up to {most:.2} mm³ of it meshed wrongly",
                        strip.name.words(),
                        drill.name
                    ));
                }
            }
        }
    }
    remarks.dedup();
    remarks
}

/// Every line of the grid must keep clear of every arc's centre.
fn check_arcs(part: &Part, grid: &Grid) -> Result<(), MeshError> {
    for piece in part.path.pieces() {
        let curvature = piece.curvature();
        for edge_mm in [grid.y[0], grid.y[grid.y.len() - 1]] {
            if 1.0 - curvature * edge_mm < 0.02 {
                return Err(MeshError::TightArc {
                    radius_mm: 1.0 / curvature.abs(),
                    edge_mm: edge_mm.abs(),
                });
            }
        }
    }
    Ok(())
}

fn describe(
    part: &Part,
    layout: &Layout,
    planes: &Planes,
    drills: &[Drill],
    from: f64,
    to: f64,
) -> Result<Spec, MeshError> {
    let section = match layout.boss_at(part, 0.5 * (from + to)) {
        Some(boss) => layout
            .sections
            .iter()
            .position(|each| *each == part.bosses[boss].section)
            .unwrap_or(0),
        None => 0,
    };
    let bend = Bend::of(&part.path, from, to);
    let mut holes = Vec::new();
    for hole in planes.holes_in(from, to) {
        let share = if (hole.station - from).abs() < 2e-6 {
            Share::Start
        } else if (hole.station - to).abs() < 2e-6 {
            Share::End
        } else if hole.station - hole.reach > from && hole.station + hole.reach < to {
            Share::Whole
        } else {
            return Err(MeshError::HoleCutsJoint {
                name: drills[hole.drill].name.clone(),
                station_mm: hole.station,
            });
        };
        holes.push(Spot {
            drill: hole.drill,
            at: hole.station - from,
            reach: bend
                .pieces
                .iter()
                .map(|piece| drills[hole.drill].reach(piece.1))
                .fold(0.0, f64::max),
            share,
        });
    }
    Ok(Spec {
        bend,
        section,
        holes,
    })
}

/// Meshes found so far and the chain made of them.
#[derive(Default)]
struct Chain {
    meshes: Vec<(Spec, Mesh)>,
    links: Vec<Link>,
}

/// A node's place in a face, in units that rounding does not reach.
type FaceSpot = (i64, i64);

fn spot(place: &[f64; 3]) -> FaceSpot {
    // Off the halves, where rounding errors would decide.
    let grain = |x: f64| (x * 1e6 + 0.237).round() as i64;
    (grain(place[1]), grain(place[2]))
}

impl Chain {
    fn add(
        &mut self,
        spec: Spec,
        mesh: impl FnOnce(&Spec) -> Result<Mesh, MeshError>,
    ) -> Result<(), MeshError> {
        let reversed = spec.mirrored();
        for (slab, (known, _)) in self.meshes.iter().enumerate() {
            let mirrored = !known.same(&spec);
            if !mirrored || known.same(&reversed) {
                self.links.push(Link { slab, mirrored });
                return Ok(());
            }
        }
        let made = mesh(&spec)?;
        self.links.push(Link {
            slab: self.meshes.len(),
            mirrored: false,
        });
        self.meshes.push((spec, made));
        Ok(())
    }

    /// The sides (mesh, end) that meet at a plane.
    fn sides(&self, plane: usize, closed: bool) -> Vec<(usize, usize)> {
        let count = self.links.len();
        let mut sides = Vec::with_capacity(2);
        if plane > 0 || closed {
            let before = self.links[(plane + count - 1) % count];
            sides.push((before.slab, usize::from(!before.mirrored)));
        }
        if plane < count {
            let after = self.links[plane];
            sides.push((after.slab, usize::from(after.mirrored)));
        }
        sides
    }

    /// Faces, planes, and slabs with their ends in the order of the faces.
    fn joined(self, part: &Part, planes: &Planes) -> Cut {
        let closed = part.path.closed();
        let mut cut = Cut {
            closed,
            ..Cut::default()
        };
        let mut known: BTreeMap<Vec<(usize, usize)>, usize> = BTreeMap::new();
        for (plane, &station_mm) in planes.stations.iter().enumerate() {
            let mut sides = self.sides(plane, closed);
            sides.sort_unstable();
            sides.dedup();
            let face = *known.entry(sides).or_insert_with_key(|sides| {
                let face = self.face(sides);
                let same = cut.faces.iter().position(|each| same_face(each, &face));
                same.unwrap_or_else(|| {
                    cut.faces.push(face);
                    cut.faces.len() - 1
                })
            });
            cut.planes.push(Plane {
                station_mm,
                face,
                pose: part.path.pose(station_mm),
            });
        }
        let mut slabs: BTreeMap<(usize, usize, usize), usize> = BTreeMap::new();
        for (index, link) in self.links.iter().enumerate() {
            let next = (index + 1) % cut.planes.len();
            let mut link = *link;
            let mut faces = [cut.planes[index].face, cut.planes[next].face];
            let spec = &self.meshes[link.slab].0;
            let known = |faces: [usize; 2]| slabs.contains_key(&(link.slab, faces[0], faces[1]));
            if !known(faces) && known([faces[1], faces[0]]) && spec.same(&spec.mirrored()) {
                link.mirrored = true;
            }
            if link.mirrored {
                faces.reverse();
            }
            let slab = *slabs
                .entry((link.slab, faces[0], faces[1]))
                .or_insert_with(|| {
                    cut.slabs
                        .push(self.slab(link.slab, faces.map(|face| &cut.faces[face])));
                    cut.slabs.len() - 1
                });
            cut.links.push(Link {
                slab,
                mirrored: link.mirrored,
            });
        }
        cut
    }

    /// The union of the faces of all sides.
    fn face(&self, sides: &[(usize, usize)]) -> Face {
        let mut nodes: BTreeMap<FaceSpot, [f64; 2]> = BTreeMap::new();
        let mut quads: BTreeSet<[FaceSpot; 9]> = BTreeSet::new();
        for &(slab, end) in sides {
            let mesh = &self.meshes[slab].1;
            for quad in &mesh.ends[end] {
                let spots = quad.map(|node| {
                    let place = &mesh.places[node as usize];
                    nodes.entry(spot(place)).or_insert([place[1], place[2]]);
                    spot(place)
                });
                quads.insert(spots);
            }
        }
        let order: BTreeMap<FaceSpot, u32> = nodes.keys().copied().zip(0..).collect();
        Face {
            nodes: nodes.into_values().collect(),
            quads: quads
                .into_iter()
                .map(|quad| quad.map(|spot| order[&spot]))
                .collect(),
        }
    }

    fn slab(&self, index: usize, faces: [&Face; 2]) -> Slab {
        let (spec, mesh) = &self.meshes[index];
        let [start, end] = [0, 1].map(|side| {
            let here: BTreeMap<FaceSpot, u32> = mesh.ends[side]
                .iter()
                .flatten()
                .map(|&node| (spot(&mesh.places[node as usize]), node))
                .collect();
            faces[side]
                .nodes
                .iter()
                .map(|&[y, z]| here.get(&spot(&[0.0, y, z])).copied().unwrap_or(u32::MAX))
                .collect::<Vec<u32>>()
        });
        let last = spec.bend.pose(spec.length());
        let topology = name(&mesh.elements, &start, &end);
        Slab {
            nodes: mesh.nodes.clone(),
            elements: mesh.elements.clone(),
            start,
            end,
            holes: mesh.holes.clone(),
            reach_mm: (last.x, last.y),
            turn: last.heading,
            topology,
        }
    }
}

/// Whether two faces are equal but for rounding.
fn same_face(a: &Face, b: &Face) -> bool {
    let near = |(p, q): (&[f64; 2], &[f64; 2])| (p[0] - q[0]).abs() + (p[1] - q[1]).abs() < 1e-9;
    a.quads == b.quads && a.nodes.len() == b.nodes.len() && a.nodes.iter().zip(&b.nodes).all(near)
}

/// Names connections: FNV-1a over all node numbers (Fowler, Noll, Vo; from memory).
fn name(elements: &[[u32; 27]], start: &[u32], end: &[u32]) -> u64 {
    let mut name = 0xcbf2_9ce4_8422_2325_u64;
    let lengths = [elements.len() as u32, start.len() as u32];
    let all = elements.iter().flatten().chain(start).chain(end);
    for word in lengths.iter().chain(all) {
        for byte in word.to_le_bytes() {
            name = (name ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    name
}
