//! Cross-section: a floor with walls and ribs, all rectangles ("strips").

/// A wall along one edge of the floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Thickness across the frame, in mm.
    pub thickness_mm: f64,
    /// Height from the underside of the floor (`z = 0`), in mm.
    pub height_mm: f64,
}

/// A rib standing on the floor between the walls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rib {
    /// Middle of the rib, `y` in mm from the path (positive toward the inner wall).
    pub offset_mm: f64,
    /// Thickness across the frame, in mm.
    pub thickness_mm: f64,
    /// Height from the underside of the floor (`z = 0`), in mm.
    pub height_mm: f64,
}

/// Slits that part the floor lengthwise into equal strips side by side.
///
/// The strips bend together only where they are joined: at both ends of the slits. Slits need a floor without
/// walls and ribs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slits {
    /// Number of slits, 1 or more; they leave one strip more.
    pub count: usize,
    /// Width of each slit, in mm.
    pub width_mm: f64,
    /// Length of the slits along the path, from joint to joint, in mm.
    pub length_mm: f64,
}

/// Cross-section of the frame in (y, z); see the conventions of [`crate::part`].
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Overall width across the frame, walls included, in mm.
    pub width_mm: f64,
    /// Thickness of the floor, in mm.
    pub floor_mm: f64,
    /// Wall at `y = -width/2`.
    pub outer_wall: Option<Wall>,
    /// Wall at `y = +width/2`.
    pub inner_wall: Option<Wall>,
    /// Ribs in any order.
    pub ribs: Vec<Rib>,
    /// Slits in the floor; absent where it is whole.
    pub slits: Option<Slits>,
}

/// Names one strip of a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StripName {
    /// The floor, over the full width.
    Floor,
    /// The outer wall above the floor.
    OuterWall,
    /// The inner wall above the floor.
    InnerWall,
    /// A rib above the floor, by its index in [`Section::ribs`].
    Rib(usize),
}

impl StripName {
    /// The strip in words, for sheets and messages: `floor`, `outer wall`, `rib 1`.
    pub fn words(self) -> String {
        match self {
            StripName::Floor => "floor".into(),
            StripName::OuterWall => "outer wall".into(),
            StripName::InnerWall => "inner wall".into(),
            StripName::Rib(index) => format!("rib {}", index + 1),
        }
    }
}

/// One rectangle of a section, in mm. Strips of a section never overlap: walls and ribs start on top of the
/// floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// Which strip it is.
    pub name: StripName,
    /// Lower `y`.
    pub y_low: f64,
    /// Upper `y`.
    pub y_high: f64,
    /// Lower `z`.
    pub z_low: f64,
    /// Upper `z`.
    pub z_high: f64,
}

impl Strip {
    /// Area in mm².
    pub fn area(&self) -> f64 {
        (self.y_high - self.y_low) * (self.z_high - self.z_low)
    }

    /// Middle (y, z) in mm.
    pub fn centre(&self) -> (f64, f64) {
        (
            0.5 * (self.y_low + self.y_high),
            0.5 * (self.z_low + self.z_high),
        )
    }
}

impl Section {
    /// The non-overlapping rectangles: floor first (each of its strips where it is slit), then outer wall, inner
    /// wall, ribs. A wall or rib not higher than the floor adds nothing and is left out.
    pub fn strips(&self) -> Vec<Strip> {
        let half = 0.5 * self.width_mm;
        let parts = 1 + self.slits.map_or(0, |slits| slits.count);
        let mut strips = Vec::with_capacity(2 + parts + self.ribs.len());
        let width = self.floor_strip_mm();
        let step = width + self.slits.map_or(0.0, |slits| slits.width_mm);
        for index in 0..parts {
            let y_low = -half + index as f64 * step;
            strips.push(Strip {
                name: StripName::Floor,
                y_low,
                y_high: if index + 1 == parts {
                    half
                } else {
                    y_low + width
                },
                z_low: 0.0,
                z_high: self.floor_mm,
            });
        }
        let mut stand = |name, y_low, y_high, z_high| {
            if z_high > self.floor_mm && y_high > y_low {
                strips.push(Strip {
                    name,
                    y_low,
                    y_high,
                    z_low: self.floor_mm,
                    z_high,
                });
            }
        };
        if let Some(wall) = self.outer_wall {
            stand(
                StripName::OuterWall,
                -half,
                -half + wall.thickness_mm,
                wall.height_mm,
            );
        }
        if let Some(wall) = self.inner_wall {
            stand(
                StripName::InnerWall,
                half - wall.thickness_mm,
                half,
                wall.height_mm,
            );
        }
        for (index, rib) in self.ribs.iter().enumerate() {
            stand(
                StripName::Rib(index),
                rib.offset_mm - 0.5 * rib.thickness_mm,
                rib.offset_mm + 0.5 * rib.thickness_mm,
                rib.height_mm,
            );
        }
        strips
    }

    /// Width of the floor, of each of its strips where it is slit, in mm; negative where the slits leave none.
    pub fn floor_strip_mm(&self) -> f64 {
        match self.slits {
            None => self.width_mm,
            Some(slits) => {
                let count = slits.count as f64;
                (self.width_mm - count * slits.width_mm) / (count + 1.0)
            }
        }
    }

    /// The same section without its slits.
    pub fn unslit(&self) -> Section {
        Section {
            slits: None,
            ..self.clone()
        }
    }

    /// Height of the tallest strip, in mm.
    pub fn height_mm(&self) -> f64 {
        self.strips()
            .iter()
            .map(|strip| strip.z_high)
            .fold(0.0, f64::max)
    }

    /// Clear slots (y from, y to), in mm, between neighbouring walls and ribs, in order of `y`. The space
    /// beside the outermost wall or rib is open and not listed, nor is any without a strip on both sides.
    pub fn slots(&self) -> Vec<(f64, f64)> {
        let mut standing: Vec<_> = self
            .strips()
            .into_iter()
            .filter(|strip| strip.name != StripName::Floor)
            .collect();
        standing.sort_by(|a, b| a.y_low.total_cmp(&b.y_low));
        standing
            .windows(2)
            .map(|pair| (pair[0].y_high, pair[1].y_low))
            .collect()
    }
}
