//! How fine a part is meshed.

/// Density of a mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Density {
    /// About 70 nodes in the face of a channel: a search can afford it.
    Coarse,
    /// About 140 nodes: what a sheet shows. Walls get two elements across where they are thicker than 1 mm:
    /// that halves the error of rings, where more elements around the holes change nothing.
    Fine,
    /// About 250 nodes: to judge the others by.
    Finest,
}

/// The numbers of a density.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fineness {
    /// Elements across the band of a hole.
    pub across_band: usize,
    /// Elements along the path beside half a hole.
    pub beside_half: usize,
    /// Layers of elements around a hole.
    pub rings: usize,
    /// Layers in the thinnest floor.
    pub floor_layers: usize,
    /// Least number of elements across a wall or rib.
    pub across_wall: usize,
    /// Greatest thickness of an element in a wall or rib, in mm.
    pub wall_mm: f64,
    /// Greatest height of an element in a wall or a thick floor, in mm.
    pub height_mm: f64,
    /// Greatest width of an element across the floor, in mm.
    pub width_mm: f64,
    /// Greatest length of an element along the path, in mm.
    pub length_mm: f64,
    /// Greatest turn of the path along an element, in rad.
    pub turn: f64,
}

impl Density {
    /// In words: `coarse`.
    pub fn words(self) -> &'static str {
        match self {
            Density::Coarse => "coarse",
            Density::Fine => "fine",
            Density::Finest => "finest",
        }
    }

    /// What a finer mesh leaves of the error, as a share of the difference between it and this one; about.
    ///
    /// Found on the members of `tests/data/solid/members.csv`, where it varies from 0.1 to 1.5 with the kind of
    /// load: re-entrant corners converge slowly, bending of walls fast.
    pub fn left_by(self, finer: Density) -> f64 {
        match (self, finer) {
            (Density::Coarse, Density::Finest) => 0.1,
            _ => 0.35,
        }
    }

    pub(super) fn fineness(self) -> Fineness {
        match self {
            Density::Coarse => Fineness {
                across_band: 4,
                beside_half: 2,
                rings: 2,
                floor_layers: 1,
                across_wall: 1,
                wall_mm: 2.5,
                height_mm: 4.0,
                width_mm: 4.0,
                length_mm: 3.0,
                turn: 6.0_f64.to_radians(),
            },
            Density::Fine => Fineness {
                across_band: 4,
                beside_half: 3,
                rings: 3,
                floor_layers: 2,
                across_wall: 1,
                wall_mm: 1.0,
                height_mm: 2.2,
                width_mm: 2.4,
                length_mm: 2.0,
                turn: 3.0_f64.to_radians(),
            },
            Density::Finest => Fineness {
                across_band: 8,
                beside_half: 4,
                rings: 4,
                floor_layers: 3,
                across_wall: 2,
                wall_mm: 1.0,
                height_mm: 1.4,
                width_mm: 1.6,
                length_mm: 1.4,
                turn: 2.5_f64.to_radians(),
            },
        }
    }
}
