//! Tolerances that the process gives each dimension, and the tables of ISO they are read from.

use std::sync::LazyLock;

use super::describe::kind;
use super::practice::*;
use super::step::Kind;
use super::{Operation, Plan, Works};
use crate::part::{Layout, Part, Section, StripName};

/// A class of general tolerances of ISO 2768-1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum General {
    /// `f`.
    Fine,
    /// `m`.
    Medium,
    /// `c`.
    Coarse,
    /// `v`.
    VeryCoarse,
}

/// What is given a tolerance by the way it is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Made {
    /// Thickness of a wall or rib milled on both sides.
    WallThickness,
    /// Thickness over two milled faces that stand firm: the width of a frame.
    Width,
    /// Thickness of a floor, or height of a face over another, milled in one set-up.
    Floor,
    /// The same, the faces milled in two set-ups.
    FloorTwoSetups,
    /// Diameter of a drilled hole.
    Drilled,
    /// Diameter of a reamed hole.
    Reamed,
    /// Diameter of a bore milled on a helix.
    Helix,
    /// Place of a hole against others of the same set-up.
    Position,
    /// Width over edges cut by laser: a slit, a strip, a hole.
    LaserCut,
    /// Thickness of rolled strip.
    Strip,
}

/// A tolerance and what it rests on.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Tolerance {
    /// To either side of the middle, in mm.
    pub plus_minus_mm: f64,
    /// In words: `drilled: IT12 of ISO 286-1`.
    pub basis: String,
}

/// What makes dimensions of one part deviate together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Common {
    /// Diameter and wear of the finishing cutters: walls and widths.
    Cutter,
    /// How the part lies in its second set-up: floors and heights.
    Setup,
    /// Width of the laser's kerf.
    Kerf,
}

impl Common {
    /// All of them, in order.
    pub const ALL: [Common; 3] = [Common::Cutter, Common::Setup, Common::Kerf];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Common::Cutter => "finishing cutters",
            Common::Setup => "second set-up",
            Common::Kerf => "laser kerf",
        }
    }
}

impl Made {
    /// What a dimension made so has in common with others, and the share of its variance that comes from there.
    ///
    /// Half of a wall's is the cutter's, half of a cut width's the kerf's (common practice, no source); of a floor's
    /// as much as the second set-up adds to its tolerance.
    pub fn common(self) -> Option<(Common, f64)> {
        match self {
            Made::WallThickness | Made::Width => Some((Common::Cutter, COMMON_WEAR)),
            Made::FloorTwoSetups => {
                let [one, again] = [FLOOR_MM, RELOCATION_MM].map(|each| each * each);
                Some((Common::Setup, again / (one + again)))
            }
            Made::LaserCut => Some((Common::Kerf, COMMON_WEAR)),
            _ => None,
        }
    }
}

/// A dimension of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// Width of a section, by its index in [`Layout::sections`].
    Width(usize),
    /// Thickness of a strip of a section.
    Thickness(usize, StripName),
    /// Height of a wall or rib of a section over the underside.
    Height(usize, StripName),
    /// Diameter of a hole row, by its index in [`Part::hole_rows`].
    RowDiameter(usize),
    /// Place of the holes of a row.
    RowPosition(usize),
    /// Diameter of the bore of a boss, by its index in [`Part::bosses`].
    BoreDiameter(usize),
    /// Place of the bore of a boss.
    BorePosition(usize),
    /// Width of the slits of a stretch, by its index in [`Part::bosses`].
    SlitWidth(usize),
}

/// A dimension with its size and the tolerance that the process gives it.
#[derive(Clone, Debug, PartialEq)]
pub struct Toleranced {
    /// Which.
    pub dimension: Dimension,
    /// In words: `outer wall, thickness`.
    pub name: String,
    /// Nominal size, in mm; 0 for a place.
    pub size_mm: f64,
    /// How it is made.
    pub made: Made,
    /// What the process gives.
    pub tolerance: Tolerance,
}

struct Row {
    table: &'static str,
    grade: &'static str,
    over_mm: f64,
    up_to_mm: f64,
    value_mm: f64,
}

static TABLES: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let row = |line: &'static str| {
        let mut cells = line.split(',');
        Some(Row {
            table: cells.next()?,
            grade: cells.next()?,
            over_mm: cells.next()?.parse().ok()?,
            up_to_mm: cells.next()?.parse().ok()?,
            value_mm: cells.next()?.parse().ok()?,
        })
    };
    let text = include_str!("data/tolerances.csv");
    text.lines().skip(1).filter_map(row).collect()
});

fn look_up(table: &str, grade: &str, size: f64) -> Option<f64> {
    let mut rows = TABLES
        .iter()
        .filter(|row| row.table == table && row.grade == grade);
    let row = rows.find(|row| size > row.over_mm && size <= row.up_to_mm)?;
    Some(row.value_mm)
}

/// General tolerance of a length in mm, to either side; `None` where the standard gives none.
///
/// `size` in mm, from 0.5.
///
/// Source: ISO 2768-1, Table 1; `data/tolerances.csv` says for each value how it stands.
pub fn general_mm(class: General, size: f64) -> Option<f64> {
    let grade = match class {
        General::Fine => "f",
        General::Medium => "m",
        General::Coarse => "c",
        General::VeryCoarse => "v",
    };
    // The first step holds its lower bound too.
    let size = if size == 0.5 {
        0.5 + f64::EPSILON
    } else {
        size
    };
    look_up("general", grade, size)
}

/// Width in mm of the tolerance zone of a standard grade IT4 to IT14; `None` beyond 315 mm and for other grades.
///
/// `size` in mm; up to 3 mm the first step of the standard holds.
///
/// Source: ISO 286-1; `data/tolerances.csv` says how it stands.
pub fn standard_grade_mm(grade: u32, size: f64) -> Option<f64> {
    look_up("IT", &grade.to_string(), size.max(1.5))
}

/// The tolerance that a dimension of a size in mm comes out with.
///
/// `slenderness` is height over thickness of a wall; of no effect for anything else. Grades and allowances of the ways of
/// making are common practice without a source; widths of grades are those of ISO 286-1, of the last step for sizes
/// beyond it.
pub fn tolerance_of(made: Made, size: f64, slenderness: f64) -> Tolerance {
    let fixed = |plus_minus_mm: f64, basis: &str| Tolerance {
        plus_minus_mm,
        basis: format!("{basis} (common practice)"),
    };
    let graded = |grade: u32, how: &str| Tolerance {
        plus_minus_mm: 0.5 * standard_grade_mm(grade, size.min(315.0)).unwrap_or(f64::NAN),
        basis: format!("{how}: IT{grade} of ISO 286-1"),
    };
    match made {
        Made::WallThickness => {
            let (plus_minus_mm, words) = wall_mm(slenderness);
            fixed(plus_minus_mm, &format!("finish-milled wall, {words}"))
        }
        Made::Width => fixed(RIGID_WALL_MM, "finish-milled on both sides"),
        Made::Floor => fixed(FLOOR_MM, "milled in one set-up"),
        Made::FloorTwoSetups => fixed(FLOOR_MM.hypot(RELOCATION_MM), "milled in two set-ups"),
        Made::Drilled => graded(DRILLED_GRADE, "drilled"),
        Made::Reamed => graded(REAMED_GRADE, "reamed"),
        Made::Helix => graded(HELIX_GRADE, "milled on a helix"),
        Made::Position => fixed(POSITION_MM, "placed in one set-up"),
        Made::LaserCut => fixed(LASER_MM, "cut by laser"),
        Made::Strip => fixed(STRIP_MM, "precision rolled strip"),
    }
}

/// Of a wall by its height over thickness; a wall beyond 30 wants support, and is given more in proportion.
fn wall_mm(slenderness: f64) -> (f64, String) {
    let plus_minus = match slenderness {
        s if s <= 10.0 => RIGID_WALL_MM,
        s if s <= 20.0 => SLIM_WALL_MM,
        s if s <= 30.0 => SLENDER_WALL_MM,
        s => SLENDER_WALL_MM * s / 30.0,
    };
    (
        plus_minus,
        format!("{slenderness:.0} times as high as thick"),
    )
}

/// The tolerance of every dimension of a part, as the plan makes it; equal bosses share one.
///
/// The plan must be one in detail: its operations say how holes are made.
pub fn tolerances(part: &Part, layout: &Layout, plan: &Plan) -> Vec<Toleranced> {
    let does = |what: Kind, on: Option<(&str, f64)>| {
        let is = |operation: &Operation| {
            operation.name == kind(what) && on.is_none_or(|on| operation.feature == on.0)
        };
        plan.operations.iter().any(is)
    };
    listed(part, layout, &does)
}

impl Works {
    /// The same without a plan: from what this shop would do.
    pub fn tolerances(&self, part: &Part, layout: &Layout) -> Vec<Toleranced> {
        let does = |what: Kind, on: Option<(&str, f64)>| match (self, what, on) {
            (Works::Laser(_), Kind::LaserCut, _) => true,
            (Works::Mill(shop), Kind::Bore, Some((_, diameter))) => shop.bores(diameter),
            _ => false,
        };
        listed(part, layout, &does)
    }
}

/// Whether the shop does something, to a feature of a diameter where one is given.
type Does<'a> = &'a dyn Fn(Kind, Option<(&str, f64)>) -> bool;

fn listed(part: &Part, layout: &Layout, does: Does) -> Vec<Toleranced> {
    let mut list = List {
        does,
        rows: Vec::new(),
    };
    for (index, section) in layout.sections.iter().enumerate() {
        list.section(index, section, &of_section(part, section, index));
    }
    for (index, row) in part.hole_rows.iter().enumerate() {
        let feature = format!("row {}", row.name);
        let dimensions = [Dimension::RowDiameter(index), Dimension::RowPosition(index)];
        list.hole(dimensions, &feature, row.diameter_mm, Made::Drilled);
    }
    for (index, boss) in part.bosses.iter().enumerate() {
        if let Some(slits) = boss.section.slits {
            let name = format!("slits {}, width", boss.name);
            list.add(
                Dimension::SlitWidth(index),
                name,
                slits.width_mm,
                Made::LaserCut,
                0.0,
            );
        }
        let alike =
            |other: &crate::part::Boss| other.bore == boss.bore && other.section == boss.section;
        let Some(bore) = boss
            .bore
            .filter(|_| !part.bosses[..index].iter().any(alike))
        else {
            continue;
        };
        let made = if bore.reamed {
            Made::Reamed
        } else {
            Made::Drilled
        };
        let feature = format!("bore of {}", boss.name);
        let dimensions = [
            Dimension::BoreDiameter(index),
            Dimension::BorePosition(index),
        ];
        list.hole(dimensions, &feature, bore.diameter_mm, made);
    }
    list.rows
}

fn of_section(part: &Part, section: &Section, index: usize) -> String {
    let boss = part.bosses.iter().find(|boss| &boss.section == section);
    match boss {
        Some(boss) if index > 0 => format!(" of boss {}", boss.name),
        _ => String::new(),
    }
}

struct List<'a> {
    does: Does<'a>,
    rows: Vec<Toleranced>,
}

impl List<'_> {
    fn add(&mut self, dimension: Dimension, name: String, size: f64, made: Made, slenderness: f64) {
        self.rows.push(Toleranced {
            dimension,
            name,
            size_mm: size,
            made,
            tolerance: tolerance_of(made, size, slenderness),
        });
    }

    fn section(&mut self, index: usize, section: &Section, of: &str) {
        let laser = (self.does)(Kind::LaserCut, None);
        let (width, floor) = if laser {
            (Made::LaserCut, Made::Strip)
        } else {
            (Made::Width, Made::FloorTwoSetups)
        };
        let size = section.width_mm;
        self.add(
            Dimension::Width(index),
            format!("frame{of}, width"),
            size,
            width,
            0.0,
        );
        for strip in section.strips() {
            let name = strip.name;
            let words = format!("{}{of}", name.words());
            let thick = Dimension::Thickness(index, name);
            if name == StripName::Floor {
                // A slit floor is several strips of one thickness.
                if !self.rows.iter().any(|row| row.dimension == thick) {
                    let size = section.floor_mm;
                    self.add(thick, format!("{words}, thickness"), size, floor, 0.0);
                }
                continue;
            }
            let (size, height) = (strip.y_high - strip.y_low, strip.z_high - strip.z_low);
            let slenderness = height / size;
            self.add(
                thick,
                format!("{words}, thickness"),
                size,
                Made::WallThickness,
                slenderness,
            );
            let high = Dimension::Height(index, name);
            self.add(
                high,
                format!("{words}, height"),
                strip.z_high,
                Made::FloorTwoSetups,
                0.0,
            );
        }
    }

    fn hole(&mut self, [diameter, position]: [Dimension; 2], of: &str, size: f64, made: Made) {
        let made = if (self.does)(Kind::LaserCut, Some((of, size))) {
            Made::LaserCut
        } else if made == Made::Drilled && (self.does)(Kind::Bore, Some((of, size))) {
            Made::Helix
        } else {
            made
        };
        self.add(diameter, format!("{of}, diameter"), size, made, 0.0);
        self.add(
            position,
            format!("{of}, position"),
            0.0,
            Made::Position,
            0.0,
        );
    }
}
