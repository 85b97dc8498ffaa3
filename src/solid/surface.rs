//! The outside of a loaded solid: patches with their displacement and stress, for pictures.

use std::collections::BTreeMap;

use super::condense::nodal_stresses;
use super::error::SolidError;
use super::frame::Solid;
use super::hexahedron::equivalent;
use super::slab::Slab;
use crate::structure::Loading;

/// An outer face of an element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Corners (x, y, z) in the plan, in mm, counter-clockwise seen from outside.
    pub places_mm: [[f64; 3]; 4],
    /// Their displacements, in mm.
    pub moves_mm: [[f64; 3]; 4],
    /// Mean equivalent stress over the corners, in MPa. At sharp inner corners it grows with the mesh's
    /// fineness without end.
    pub equivalent_mpa: f64,
}

/// Corners of the six faces of an element, counter-clockwise seen from outside.
const FACES: [[usize; 4]; 6] = [
    [0, 18, 24, 6],
    [2, 8, 26, 20],
    [0, 2, 20, 18],
    [6, 24, 26, 8],
    [0, 6, 8, 2],
    [18, 20, 26, 24],
];

impl Solid<'_> {
    /// The outside of the frame under one load case.
    ///
    /// # Errors
    /// [`SolidError::Free`] where the frame can move without strain.
    pub fn surface(&self, loading: &Loading) -> Result<Vec<Patch>, SolidError> {
        let inside = self.inside(std::slice::from_ref(loading))?;
        let ends = (!self.cut.closed).then(|| (0, self.cut.links.len() - 1));
        let mut patches = Vec::new();
        for (slab, mesh) in self.cut.slabs.iter().enumerate() {
            let (links, motion) = self.slab_motion(slab, &inside);
            for (at, &link) in links.iter().enumerate() {
                let mirrored = self.cut.links[link].mirrored;
                let open = match ends {
                    Some((first, last)) => [
                        link == if mirrored { last } else { first },
                        link == if mirrored { first } else { last },
                    ],
                    None => [false; 2],
                };
                let faces = outside(mesh, open);
                let mut wanted = vec![false; mesh.nodes.len()];
                for &node in faces.iter().flatten() {
                    wanted[node as usize] = true;
                }
                let stress = nodal_stresses(mesh, &self.law, motion.as_ref(), at, &wanted);
                for mut face in faces {
                    if mirrored {
                        face.reverse();
                    }
                    let moved = |node: u32| {
                        let row = 3 * node as usize;
                        self.turn_to_plan(link, [0, 1, 2].map(|k| motion[(row + k, at)]))
                    };
                    let sum: f64 = face.iter().map(|&n| equivalent(&stress[n as usize])).sum();
                    patches.push(Patch {
                        places_mm: face.map(|node| self.place(link, node)),
                        moves_mm: face.map(moved),
                        equivalent_mpa: 0.25 * sum,
                    });
                }
            }
        }
        Ok(patches)
    }

    /// A vector along a slab's axes in plan axes, when the slab stands at a link.
    fn turn_to_plan(&self, link: usize, [mut x, mut y, z]: [f64; 3]) -> [f64; 3] {
        let at = self.cut.links[link];
        if at.mirrored {
            let (sin, cos) = self.cut.slabs[at.slab].turn.sin_cos();
            (x, y) = (-(cos * x + sin * y), cos * y - sin * x);
        }
        let (sin, cos) = self.cut.planes[link].pose.heading.sin_cos();
        [cos * x - sin * y, sin * x + cos * y, z]
    }
}

/// Faces that only one element has, those on the planes left out unless `open` (first, last).
fn outside(mesh: &Slab, open: [bool; 2]) -> Vec<[u32; 4]> {
    let mut on = vec![[false; 2]; mesh.nodes.len()];
    for (end, nodes) in [&mesh.start, &mesh.end].into_iter().enumerate() {
        for &node in nodes.iter().filter(|node| **node != u32::MAX) {
            on[node as usize][end] = true;
        }
    }
    let mut seen: BTreeMap<[u32; 4], (usize, [u32; 4])> = BTreeMap::new();
    for element in &mesh.elements {
        for corners in FACES {
            let face = corners.map(|corner| element[corner]);
            let mut key = face;
            key.sort_unstable();
            seen.entry(key).or_insert((0, face)).0 += 1;
        }
    }
    seen.into_values()
        .filter(|(count, face)| {
            let lies = |end: usize| face.iter().all(|&node| on[node as usize][end]);
            *count == 1 && (0..2).all(|end| open[end] || !lies(end))
        })
        .map(|(_, face)| face)
        .collect()
}
