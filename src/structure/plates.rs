//! A section with its holes as a tree of plates: what each strip and each line of holes takes part in.

use super::perforated::strip_factors;
use crate::part::{Depth, Perforation, Section, StripName, drill_point_height_mm};
use std::f64::consts::PI;

/// One strip of the section.
#[derive(Clone, Debug)]
pub(super) struct Plate {
    pub name: StripName,
    /// Whether it stands on the floor.
    pub standing: bool,
    pub y: (f64, f64),
    pub z: (f64, f64),
    /// Share of the solid strip's stiffness that its holes leave.
    pub axial: f64,
    pub out_of_plane: f64,
    pub torsion: f64,
    /// Share of the width, and of the pitch, that the holes leave as metal.
    pub net_width: f64,
    pub net_pitch: f64,
}

impl Plate {
    pub fn length(&self) -> f64 {
        if self.standing {
            self.z.1 - self.z.0
        } else {
            self.y.1 - self.y.0
        }
    }
    pub fn thickness(&self) -> f64 {
        if self.standing {
            self.y.1 - self.y.0
        } else {
            self.z.1 - self.z.0
        }
    }
    pub fn area(&self) -> f64 {
        self.length() * self.thickness()
    }
    pub fn middle(&self) -> (f64, f64) {
        (0.5 * (self.y.0 + self.y.1), 0.5 * (self.z.0 + self.z.1))
    }
}

/// One line of holes along the path in one plate.
#[derive(Clone, Debug)]
pub(super) struct HoleLine {
    pub plate: usize,
    /// Index of the row in the part.
    pub row: usize,
    /// Middle of the drilled layer.
    pub y: f64,
    pub z: f64,
    pub diameter: f64,
    /// Pitch at the line's own radius.
    pub pitch: f64,
    /// Drilled share of the thickness.
    pub depth_share: f64,
    /// Area that stretching loses.
    pub area: f64,
    /// Second moments about the line's own middle that bending loses, about the y and the z axis.
    pub about_y: f64,
    pub about_z: f64,
    /// Volume per length of path that is drilled away.
    pub volume: f64,
}

/// The plates and hole lines of a section, at a curvature of the path.
pub(super) struct Plates {
    pub plates: Vec<Plate>,
    pub lines: Vec<HoleLine>,
    /// Middle height of the floor.
    pub floor_middle: f64,
}

impl Plates {
    pub fn new(section: &Section, perforations: &[Perforation], curvature: f64) -> Plates {
        let mut plates: Vec<Plate> = Vec::with_capacity(3 + section.ribs.len());
        for strip in section.strips() {
            plates.push(Plate {
                name: strip.name,
                standing: strip.name != StripName::Floor,
                y: (strip.y_low, strip.y_high),
                z: (strip.z_low, strip.z_high),
                axial: 1.0,
                out_of_plane: 1.0,
                torsion: 1.0,
                net_width: 1.0,
                net_pitch: 1.0,
            });
        }
        let mut all = Plates {
            plates,
            lines: Vec::new(),
            floor_middle: 0.5 * section.floor_mm,
        };
        for index in 0..all.plates.len() {
            let name = all.plates[index].name;
            let rows: usize = perforations
                .iter()
                .filter(|perforation| perforation.strip == name)
                .map(|perforation| perforation.rows.max(1))
                .sum();
            for perforation in perforations.iter().filter(|p| p.strip == name) {
                all.drill(index, perforation, rows as f64, curvature);
            }
        }
        all
    }

    /// Takes the rows of one perforation out of a plate, each out of its equal share of the plate's width.
    fn drill(&mut self, index: usize, perforation: &Perforation, lanes: f64, curvature: f64) {
        let plate = &mut self.plates[index];
        let (length, thickness) = (plate.length(), plate.thickness());
        let (middle_y, middle_z) = plate.middle();
        let (lane, diameter) = (length / lanes, perforation.diameter_mm);
        let depth = match perforation.depth {
            Depth::Through => thickness,
            Depth::Blind(depth) => depth.min(thickness),
        };
        let share = depth / thickness;
        let point = if share < 1.0 {
            drill_point_height_mm(diameter) / 3.0
        } else {
            0.0
        };
        let rows = perforation.rows.max(1);
        for row in 0..rows {
            let across = perforation.offset_mm
                + (row as f64 - 0.5 * (rows as f64 - 1.0)) * perforation.row_gap_mm;
            let (y, z) = match plate.name {
                StripName::Floor => (across, plate.z.1 - 0.5 * depth),
                StripName::InnerWall => (plate.y.1 - 0.5 * depth, across),
                _ => (plate.y.0 + 0.5 * depth, across),
            };
            let line_y = if plate.standing { middle_y } else { across };
            let pitch = perforation.pitch_mm * (1.0 - curvature * line_y);
            let factors = strip_factors(diameter / lane, diameter / pitch, thickness / lane);
            let area = (1.0 - factors.axial) * lane * thickness * share;
            let in_plane = (1.0 - factors.in_plane) * thickness * lane * lane * lane / 12.0 * share;
            let own = lane * thickness * thickness * thickness / 12.0;
            let through = if share < 1.0 {
                (1.0 - factors.axial) * own * share * share * share
            } else {
                (1.0 - factors.out_of_plane) * own
            };
            let (about_y, about_z) = if plate.standing {
                (in_plane, through)
            } else {
                (through, in_plane)
            };
            self.lines.push(HoleLine {
                plate: index,
                row: perforation.row,
                y: if plate.standing && share >= 1.0 {
                    middle_y
                } else {
                    y
                },
                z: if !plate.standing && share >= 1.0 {
                    middle_z
                } else {
                    z
                },
                diameter,
                pitch,
                depth_share: share,
                area,
                about_y,
                about_z,
                // Overlapping holes are the geometric rules' matter; here some metal always stays.
                volume: (0.25 * PI * diameter * diameter * (depth + point) / perforation.pitch_mm)
                    .min(0.9 * lane * thickness),
            });
            plate.axial -= area / (length * thickness);
            plate.out_of_plane -= through / (own * lanes);
            plate.torsion -= (1.0 - factors.torsion) * share / lanes;
            plate.net_width -= diameter * share / length;
            plate.net_pitch = plate
                .net_pitch
                .min(1.0 - share * (diameter / pitch).min(0.95));
        }
        plate.axial = plate.axial.max(1e-3);
        plate.out_of_plane = plate.out_of_plane.max(1e-3);
        plate.torsion = plate.torsion.max(1e-3);
        plate.net_width = plate.net_width.max(0.05);
    }
}
