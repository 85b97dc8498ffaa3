//! The billet that a part is cut from: its size, its mass, and how much of it does not end in the part.

use super::job::Job;
use super::practice::{BILLET_MARGIN_MM, FACE_ALLOWANCE_MM, SAW_KERF_MM, SHEET_WEB_MM};
use crate::part::{Layout, Part, Path, Piece, Section};

/// The piece of stock for one part.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Billet {
    /// Length, along the x axis of the plan, in mm.
    pub x_mm: f64,
    /// Width, along the y axis, in mm.
    pub y_mm: f64,
    /// Height, along the tool, in mm.
    pub z_mm: f64,
    /// Volume that is paid for, the saw cut that parts it from the bar or plate included, in mm³.
    pub volume_mm3: f64,
    /// Its mass, in g.
    pub mass_g: f64,
    /// Share of it that does not end in the part but in chips and offcuts, from 0 to 1.
    pub chips: f64,
}

impl Billet {
    /// That of a design that is no part.
    pub const UNKNOWN: Billet = Billet::all(f64::NAN);

    /// A billet of which every figure is the same, such as not a number.
    pub(super) const fn all(value: f64) -> Billet {
        Billet {
            x_mm: value,
            y_mm: value,
            z_mm: value,
            volume_mm3: value,
            mass_g: value,
            chips: value,
        }
    }

    /// A plate around the frame: the room that the outline cutter needs and a rim to clamp on all sides, the facing
    /// allowance on both faces. `metal` is the part's volume, in mm³.
    pub(super) fn milled(job: &Job, metal: f64) -> Billet {
        let rim = job.shop.cutters[job.outline_cutter].diameter + BILLET_MARGIN_MM;
        let (x, y) = frame_size(job.part, job.layout);
        let size = [
            x + 2.0 * rim,
            y + 2.0 * rim,
            job.height + 2.0 * FACE_ALLOWANCE_MM,
        ];
        Billet::new(size, SAW_KERF_MM, metal, job.shop.rates.density_g_mm3)
    }

    /// A billet of these sizes in mm, parted by a saw cut of `kerf` mm, `metal` mm³ of which end in the part; `density`
    /// in g/mm³.
    fn new([x_mm, y_mm, z_mm]: [f64; 3], kerf: f64, metal: f64, density: f64) -> Billet {
        let volume_mm3 = (x_mm + kerf) * y_mm * z_mm;
        Billet {
            x_mm,
            y_mm,
            z_mm,
            volume_mm3,
            mass_g: volume_mm3 * density,
            chips: 1.0 - metal / volume_mm3,
        }
    }
}

impl Billet {
    /// A blank of sheet around a flat part of `metal` mm³, half the web to its neighbours on all sides.
    pub(super) fn sheet(part: &Part, layout: &Layout, metal: f64, density: f64) -> Billet {
        let (x, y) = frame_size(part, layout);
        let thickness = layout.sections[0].floor_mm;
        let size = [x + SHEET_WEB_MM, y + SHEET_WEB_MM, thickness];
        Billet::new(size, 0.0, metal, density)
    }

    /// Room in mm that it leaves on a table given by its longer and shorter side, the better way round.
    pub(super) fn table_room_mm(&self, [long, short]: [f64; 2]) -> f64 {
        (long - self.x_mm.max(self.y_mm)).min(short - self.x_mm.min(self.y_mm))
    }
}

/// Size of the frame over all in the plan, (x, y) in mm: the box around its path, and half its greatest width on all
/// sides.
pub(super) fn frame_size(part: &Part, layout: &Layout) -> (f64, f64) {
    let widths = layout
        .sections
        .iter()
        .map(|section: &Section| section.width_mm);
    let width = widths.fold(0.0, f64::max);
    let (low, high) = path_box(&part.path);
    (high[0] - low[0] + width, high[1] - low[1] + width)
}

/// The box around a path, (lowest x and y, highest x and y) in mm: ends of its pieces, and the points of its arcs
/// where they run along an axis.
fn path_box(path: &Path) -> ([f64; 2], [f64; 2]) {
    let mut pose = path.start();
    let (mut low, mut high) = ([pose.x, pose.y], [pose.x, pose.y]);
    let mut take = |x: f64, y: f64| {
        low = [low[0].min(x), low[1].min(y)];
        high = [high[0].max(x), high[1].max(y)];
    };
    for piece in path.pieces() {
        if let Piece::Arc { radius_mm, angle } = *piece {
            let side = angle.signum();
            let (sin, cos) = pose.heading.sin_cos();
            let centre = (
                pose.x - side * radius_mm * sin,
                pose.y + side * radius_mm * cos,
            );
            let quarter = std::f64::consts::FRAC_PI_2;
            let (from, to) = if angle > 0.0 {
                (pose.heading, pose.heading + angle)
            } else {
                (pose.heading + angle, pose.heading)
            };
            let first = (from / quarter).ceil() as i64;
            // Four quarters see every extreme of the circle.
            let last = ((to / quarter).floor() as i64).min(first.saturating_add(3));
            for turn in first..=last {
                // Heading (cos, sin) of a quarter turn; the point lies square to it, off the centre.
                let (cos, sin) = match turn.rem_euclid(4) {
                    0 => (1.0, 0.0),
                    1 => (0.0, 1.0),
                    2 => (-1.0, 0.0),
                    _ => (0.0, -1.0),
                };
                take(
                    centre.0 + side * radius_mm * sin,
                    centre.1 - side * radius_mm * cos,
                );
            }
        }
        pose = pose.advance(piece.length_mm(), piece.curvature());
        take(pose.x, pose.y);
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[track_caller]
    fn check(path: Path, size: [f64; 2]) {
        let (low, high) = path_box(&path);
        for axis in 0..2 {
            assert!(
                (high[axis] - low[axis] - size[axis]).abs() < 1e-9,
                "{low:?} {high:?}"
            );
        }
        // Against points along the path.
        for step in 0..=1000 {
            let pose = path.pose(path.length_mm() * f64::from(step) / 1000.0);
            assert!(pose.x >= low[0] - 1e-9 && pose.x <= high[0] + 1e-9);
            assert!(pose.y >= low[1] - 1e-9 && pose.y <= high[1] + 1e-9);
        }
    }

    #[test]
    fn boxes_of_paths_by_plain_geometry() {
        check(Path::circle(40.0).unwrap(), [80.0, 80.0]);
        check(
            Path::rounded_rectangle(80.0, 60.0, 7.0).unwrap(),
            [80.0, 60.0],
        );
        let arc = |angle| Piece::Arc {
            radius_mm: 10.0,
            angle,
        };
        let line = Piece::Line { length_mm: 20.0 };
        // A hairpin to the left and to the right: the line, and the arc's radius beyond its end.
        for side in [1.0, -1.0] {
            let hairpin = Path::chain(vec![line, arc(side * PI), line], false).unwrap();
            check(hairpin, [30.0, 20.0]);
        }
        // An eighth of a turn: no extreme inside.
        let bend = Path::chain(vec![arc(0.25 * PI)], false).unwrap();
        let half = (0.5f64).sqrt();
        check(bend, [10.0 * half, 10.0 * (1.0 - half)]);
    }
}
