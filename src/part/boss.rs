//! Bosses and carried masses.

use super::Section;

/// A range of the path with another section: as a rule thicker, to take a screw or an insert; or slit.
#[derive(Clone, Debug, PartialEq)]
pub struct Boss {
    /// Name from the study, with a number where it is one of several: `lug 2`.
    pub name: String,
    /// Middle of the boss along the path, in mm from the start.
    pub station_mm: f64,
    /// Length along the path, in mm.
    pub length_mm: f64,
    /// Section over that length.
    pub section: Section,
    /// Screw or pin hole along the tool axis, in the middle of the boss.
    pub bore: Option<Bore>,
}

impl Boss {
    /// Height in mm of the metal over the path, where the bore goes: the strip that stands there, else the floor.
    pub fn bore_top_mm(&self) -> f64 {
        let strips = self.section.strips();
        let there = strips
            .iter()
            .filter(|strip| strip.y_low <= 0.0 && strip.y_high >= 0.0);
        there.map(|strip| strip.z_high).fold(0.0, f64::max)
    }

    /// What it is, in words: `boss lug 2`; `slit` and its name where the floor is slit there.
    pub fn words(&self) -> String {
        match self.section.slits {
            None => format!("boss {}", self.name),
            Some(_) => format!("slit {}", self.name),
        }
    }
}

/// A hole along the tool axis in a boss, centred on the path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bore {
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// `None`: through. Otherwise depth of the full diameter from the top, in mm; the drill point goes deeper.
    pub depth_mm: Option<f64>,
    /// Whether it is reamed to H7 (ISO 286-1).
    pub reamed: bool,
    /// Wider at the top, for the head of a screw.
    pub counterbore: Option<Counterbore>,
}

/// A wider start of a bore with a flat bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counterbore {
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Depth from the top of the metal, in mm.
    pub depth_mm: f64,
}

/// A mass that rides on the frame at a station: insert, bearing, screw.
#[derive(Clone, Debug, PartialEq)]
pub struct CarriedMass {
    /// Name from the study.
    pub name: String,
    /// Where on the path, in mm from the start. Empty: spread evenly along the whole path.
    pub stations_mm: Vec<f64>,
    /// Mass at **each** station (or, spread, altogether), in g.
    pub mass_g: f64,
    /// Centre of mass off the path: (y, z) in mm.
    pub offset_mm: (f64, f64),
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::Wall;

    #[test]
    fn a_solid_boss_is_bored_over_its_full_height() {
        let boss = |thickness_mm| Boss {
            name: "lug".into(),
            station_mm: 0.0,
            length_mm: 8.0,
            section: Section {
                width_mm: 8.0,
                floor_mm: 1.0,
                outer_wall: Some(Wall {
                    thickness_mm,
                    height_mm: 6.0,
                }),
                inner_wall: None,
                ribs: vec![],
                slits: None,
            },
            bore: None,
        };
        assert_eq!(boss(8.0).bore_top_mm(), 6.0);
        assert_eq!(boss(1.0).bore_top_mm(), 1.0);
    }
}
