//! A parametric part with its variables fixed: recipe and values to a [`Part`].

use std::fmt;

use super::setup::{
    BossRecipe, HoleRowRecipe, PartRecipe, PathRecipe, PieceRecipe, SectionRecipe, SlitRecipe,
    Station,
};
use crate::expression::Formula;
use crate::part::{
    Bore, Boss, CarriedMass, Counterbore, Depth, HoleRow, LayoutError, Part, Path, PathError,
    Piece, Rib, Section, Slits, Wall,
};

/// Tonnes to grams.
const GRAMS: f64 = 1e6;

/// More slits than this side by side count as so many, which leave no metal.
const MOST_SLITS: usize = 10_000;

/// Why a design is no part.
#[derive(Clone, Debug, PartialEq)]
pub enum BuildError {
    /// The path can't be.
    Path(PathError),
    /// The part can't be cut into segments.
    Layout(LayoutError),
    /// A size is zero, negative or not a number.
    Size {
        /// What it is the size of: `floor`, `diameter of row relief`.
        what: String,
        /// The value, in mm.
        value: f64,
    },
}

impl fmt::Display for BuildError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BuildError::Path(error) => error.fmt(f),
            BuildError::Layout(error) => error.fmt(f),
            BuildError::Size { what, value } => {
                write!(f, "{what} is {value} mm, which must be positive")
            }
        }
    }
}

impl std::error::Error for BuildError {}

impl From<PathError> for BuildError {
    fn from(error: PathError) -> Self {
        BuildError::Path(error)
    }
}

impl From<LayoutError> for BuildError {
    fn from(error: LayoutError) -> Self {
        BuildError::Layout(error)
    }
}

/// The part that a recipe gives with the named quantities in `slots` (base units).
///
/// # Errors
/// [`BuildError`]: a size that must be positive is not, or the path does not close.
pub fn part(recipe: &PartRecipe, slots: &[f64]) -> Result<Part, BuildError> {
    let path = path(&recipe.path, slots)?;
    let mut bosses = Vec::with_capacity(2 * recipe.bosses.len());
    for boss in &recipe.bosses {
        place_boss(boss, &path, slots, &mut bosses)?;
    }
    let own = section(&recipe.section, slots, || "frame".into())?;
    for slit in &recipe.slits {
        place_slits(slit, &own, &path, slots, &mut bosses)?;
    }
    let mut hole_rows = Vec::with_capacity(recipe.hole_rows.len());
    for row in &recipe.hole_rows {
        hole_rows.push(hole_row(row, &path, slots)?);
    }
    let carried = recipe
        .carried
        .iter()
        .map(|carried| CarriedMass {
            name: carried.name.clone(),
            stations_mm: carried
                .at
                .iter()
                .map(|at| station_mm(at, &path, slots))
                .collect(),
            mass_g: carried.mass.value(slots) * GRAMS,
            offset_mm: (carried.offset.0.value(slots), carried.offset.1.value(slots)),
        })
        .collect();
    Ok(Part {
        section: own,
        path,
        bosses,
        hole_rows,
        carried,
    })
}

/// A station in mm from the start of the path.
pub fn station_mm(station: &Station, path: &Path, slots: &[f64]) -> f64 {
    match station {
        Station::Length(length) => length.value(slots),
        Station::Angle(angle) => angle.value(slots) / std::f64::consts::TAU * path.length_mm(),
        Station::Share(share) => share.value(slots) * path.length_mm(),
    }
}

fn path(recipe: &PathRecipe, slots: &[f64]) -> Result<Path, PathError> {
    match recipe {
        PathRecipe::Circle(radius) => Path::circle(radius.value(slots)),
        PathRecipe::Stadium(length, radius) => {
            Path::stadium(length.value(slots), radius.value(slots))
        }
        PathRecipe::RoundedRectangle(length, width, radius) => {
            Path::rounded_rectangle(length.value(slots), width.value(slots), radius.value(slots))
        }
        PathRecipe::Chain { pieces, closed } => {
            let pieces = pieces.iter().map(|piece| match piece {
                PieceRecipe::Line(length) => Piece::Line {
                    length_mm: length.value(slots),
                },
                PieceRecipe::Arc(radius, angle) => Piece::Arc {
                    radius_mm: radius.value(slots),
                    angle: angle.value(slots),
                },
            });
            Path::chain(pieces.collect(), *closed)
        }
    }
}

/// A size in mm that must be positive.
fn size(formula: &Formula, slots: &[f64], what: impl Fn() -> String) -> Result<f64, BuildError> {
    let value = formula.value(slots);
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(BuildError::Size {
            what: what(),
            value,
        })
    }
}

fn section(
    recipe: &SectionRecipe,
    slots: &[f64],
    of: impl Fn() -> String,
) -> Result<Section, BuildError> {
    let wall = |wall: &Option<super::setup::WallRecipe>, which: &str| {
        wall.as_ref()
            .map(|wall| {
                Ok::<_, BuildError>(Wall {
                    thickness_mm: size(&wall.thickness, slots, || {
                        format!("thickness of the {which} ({})", of())
                    })?,
                    height_mm: size(&wall.height, slots, || {
                        format!("height of the {which} ({})", of())
                    })?,
                })
            })
            .transpose()
    };
    let ribs = recipe
        .ribs
        .iter()
        .map(|rib| {
            Ok(Rib {
                offset_mm: rib.offset.value(slots),
                thickness_mm: size(&rib.thickness, slots, || {
                    format!("thickness of a rib ({})", of())
                })?,
                height_mm: size(&rib.height, slots, || format!("height of a rib ({})", of()))?,
            })
        })
        .collect::<Result<_, BuildError>>()?;
    Ok(Section {
        width_mm: size(&recipe.width, slots, || format!("width ({})", of()))?,
        floor_mm: size(&recipe.floor, slots, || format!("floor ({})", of()))?,
        outer_wall: wall(&recipe.outer_wall, "outer wall")?,
        inner_wall: wall(&recipe.inner_wall, "inner wall")?,
        ribs,
        slits: None,
    })
}

/// Slits as a range of the path with a section of its own; nothing where their number is 0.
fn place_slits(
    recipe: &SlitRecipe,
    own: &Section,
    path: &Path,
    slots: &[f64],
    bosses: &mut Vec<Boss>,
) -> Result<(), BuildError> {
    let of = |what: &str| format!("{what} of slit {}", recipe.name);
    let count = recipe.count.value(slots).round();
    if !(count >= 1.0) {
        return Ok(());
    }
    let (from, to) = (
        station_mm(&recipe.span.0, path, slots),
        station_mm(&recipe.span.1, path, slots),
    );
    let length_mm = to - from;
    if !(length_mm > 0.0 && length_mm.is_finite()) {
        return Err(BuildError::Size {
            what: of("length"),
            value: length_mm,
        });
    }
    let slits = Slits {
        count: (count as usize).min(MOST_SLITS),
        width_mm: size(&recipe.width, slots, || of("width"))?,
        length_mm,
    };
    bosses.push(Boss {
        name: recipe.name.clone(),
        station_mm: 0.5 * (from + to),
        length_mm,
        section: Section {
            slits: Some(slits),
            ..own.clone()
        },
        bore: None,
    });
    Ok(())
}

fn place_boss(
    recipe: &BossRecipe,
    path: &Path,
    slots: &[f64],
    bosses: &mut Vec<Boss>,
) -> Result<(), BuildError> {
    let of = |what: &str| format!("{what} of boss {}", recipe.name);
    let section = section(&recipe.section, slots, || format!("boss {}", recipe.name))?;
    let length_mm = size(&recipe.length, slots, || of("length"))?;
    let bore = recipe
        .bore
        .as_ref()
        .map(|bore| {
            Ok::<_, BuildError>(Bore {
                diameter_mm: size(&bore.diameter, slots, || of("bore"))?,
                depth_mm: bore
                    .depth
                    .as_ref()
                    .map(|depth| size(depth, slots, || of("bore depth")))
                    .transpose()?,
                reamed: bore.reamed,
                counterbore: bore
                    .counterbore
                    .as_ref()
                    .map(|(diameter, depth)| {
                        Ok::<_, BuildError>(Counterbore {
                            diameter_mm: size(diameter, slots, || of("counterbore"))?,
                            depth_mm: size(depth, slots, || of("counterbore depth"))?,
                        })
                    })
                    .transpose()?,
            })
        })
        .transpose()?;
    for (index, at) in recipe.at.iter().enumerate() {
        bosses.push(Boss {
            name: match recipe.at.len() {
                1 => recipe.name.clone(),
                _ => format!("{} {}", recipe.name, index + 1),
            },
            station_mm: station_mm(at, path, slots),
            length_mm,
            section: section.clone(),
            bore,
        });
    }
    Ok(())
}

fn hole_row(recipe: &HoleRowRecipe, path: &Path, slots: &[f64]) -> Result<HoleRow, BuildError> {
    let of = |what: &str| format!("{what} of row {}", recipe.name);
    let rows = recipe.rows.value(slots).round();
    Ok(HoleRow {
        name: recipe.name.clone(),
        strip: recipe.strip,
        diameter_mm: size(&recipe.diameter, slots, || of("diameter"))?,
        pitch_mm: size(&recipe.pitch, slots, || of("pitch"))?,
        depth: match &recipe.depth {
            None => Depth::Through,
            Some(depth) => Depth::Blind(size(depth, slots, || of("depth"))?),
        },
        rows: if rows > 0.0 { rows as usize } else { 0 },
        row_gap_mm: recipe.row_gap.value(slots),
        stagger: recipe.stagger.value(slots),
        offset_mm: recipe.offset.value(slots),
        span_mm: recipe
            .span
            .as_ref()
            .map(|(from, to)| (station_mm(from, path, slots), station_mm(to, path, slots))),
        clearance_mm: recipe.clearance.value(slots),
    })
}
