//! What a slab is made from; slabs of equal descriptions are one.

use super::bend::Bend;
use super::pattern::Share;

/// Lengths are rounded to this, in mm, before anything is meshed, so that rounding errors don't make two slabs
/// of one.
const GRAIN_MM: f64 = 1e-7;

/// All that a slab's mesh follows from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spec {
    pub bend: Bend,
    pub section: usize,
    pub holes: Vec<Spot>,
}

/// A hole in a slab.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spot {
    pub drill: usize,
    /// From the slab's first plane, in mm.
    pub at: f64,
    /// How far it reaches to either side along the path, in mm; it follows from the rest.
    pub reach: f64,
    pub share: Share,
}

pub(super) fn rounded(x: f64) -> f64 {
    (x / GRAIN_MM).round() * GRAIN_MM
}

impl Spec {
    pub fn length(&self) -> f64 {
        self.bend.pieces.iter().map(|piece| piece.0).sum()
    }

    /// The description with its lengths rounded, its holes in order of place.
    pub fn settled(mut self) -> Spec {
        for piece in &mut self.bend.pieces {
            piece.0 = rounded(piece.0);
        }
        self.bend.pieces.retain(|piece| piece.0 > 0.0);
        let length = self.length();
        for hole in &mut self.holes {
            hole.at = match hole.share {
                Share::Start => 0.0,
                Share::Whole => rounded(hole.at),
                Share::End => length,
            };
        }
        self.in_order()
    }

    /// Seen from its last plane.
    pub fn mirrored(&self) -> Spec {
        let length = self.length();
        let mut spec = self.clone();
        spec.bend = self.bend.reversed();
        for hole in &mut spec.holes {
            hole.at = length - hole.at;
            hole.share = match hole.share {
                Share::Start => Share::End,
                Share::Whole => Share::Whole,
                Share::End => Share::Start,
            };
        }
        spec.in_order()
    }

    fn in_order(mut self) -> Spec {
        let grain = |at: f64| (at / GRAIN_MM / 8.0).round();
        self.holes.sort_by(|a, b| {
            grain(a.at)
                .total_cmp(&grain(b.at))
                .then(a.drill.cmp(&b.drill))
        });
        self
    }

    /// Whether two descriptions are equal but for rounding.
    pub fn same(&self, other: &Spec) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < 2.0 * GRAIN_MM;
        self.section == other.section
            && self.holes.len() == other.holes.len()
            && self.bend.pieces.len() == other.bend.pieces.len()
            && self
                .bend
                .pieces
                .iter()
                .zip(&other.bend.pieces)
                .all(|(a, b)| near(a.0, b.0) && a.1 == b.1)
            && self
                .holes
                .iter()
                .zip(&other.holes)
                .all(|(a, b)| a.drill == b.drill && a.share == b.share && near(a.at, b.at))
    }
}
