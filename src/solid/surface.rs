//! The outside of a loaded solid: patches with their displacement and stress, for pictures.

use std::collections::BTreeMap;

use super::error::SolidError;
use super::frame::Solid;
use super::slab::Slab;
use super::slopes::NodeSlopes;
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
        let mut patches = Vec::new();
        for (slab, mesh) in self.cut.slabs.iter().enumerate() {
            let outside: Vec<Vec<[u32; 4]>> = (0..self.cut.links.len())
                .filter(|&link| self.cut.links[link].slab == slab)
                .map(|link| outside(mesh, self.beyond(link)))
                .collect();
            let slopes = NodeSlopes::new(mesh, outside.iter().flatten().flatten());
            let (links, motion) = self.slab_motion(slab, &inside, &slopes.wanted);
            let stress = slopes.equivalents(mesh, &self.law, &motion);
            for ((at, &link), faces) in links.iter().enumerate().zip(outside) {
                let mirrored = self.cut.links[link].mirrored;
                for mut face in faces {
                    if mirrored {
                        face.reverse();
                    }
                    let moved = |node: u32| {
                        let row = 3 * node as usize;
                        self.turn_to_plan(link, [0, 1, 2].map(|k| motion[(row + k, at)]))
                    };
                    let sum: f64 = face
                        .iter()
                        .map(|&n| stress[(slopes.row[n as usize], at)])
                        .sum();
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

    /// For the slab at a link, what its neighbours have of the faces of its first and last plane: their node
    /// lists, in the slab's own order of planes; none at the ends of an open frame.
    fn beyond(&self, link: usize) -> [Option<&[u32]>; 2] {
        let (links, count) = (&self.cut.links, self.cut.links.len());
        let nodes = |at: usize, last: bool| {
            let slab = &self.cut.slabs[links[at].slab];
            if links[at].mirrored == last {
                &slab.start
            } else {
                &slab.end
            }
            .as_slice()
        };
        let inside = self.cut.closed;
        let before = (inside || link > 0).then(|| nodes((link + count - 1) % count, true));
        let after = (inside || link + 1 < count).then(|| nodes((link + 1) % count, false));
        match links[link].mirrored {
            false => [before, after],
            true => [after, before],
        }
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

/// Faces that only one element has, without those that touch what lies `beyond` the first and last plane.
fn outside(mesh: &Slab, beyond: [Option<&[u32]>; 2]) -> Vec<[u32; 4]> {
    // For each node whether it lies on a plane, and whether the neighbour has it too.
    let mut on = vec![[None; 2]; mesh.nodes.len()];
    for (end, nodes) in [&mesh.start, &mesh.end].into_iter().enumerate() {
        for (at, &node) in nodes
            .iter()
            .enumerate()
            .filter(|(_, node)| **node != u32::MAX)
        {
            let shared = beyond[end].is_some_and(|nodes| nodes[at] != u32::MAX);
            on[node as usize][end] = Some(shared);
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
    let touches =
        |face: &[u32; 4], end: usize| face.iter().all(|&n| on[n as usize][end] == Some(true));
    seen.into_values()
        .filter(|(count, face)| *count == 1 && !touches(face, 0) && !touches(face, 1))
        .map(|(_, face)| face)
        .collect()
}
