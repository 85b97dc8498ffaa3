//! Sizes with their tolerances: the general class of ISO 2768-1 that the process keeps, and what is stated beside it.

use crate::drawing::text::decimals;
use crate::machining::tolerance::{Dimension, General, Made, Toleranced, general_mm};

/// What the process gives, and the class of general tolerances that stands in the title block.
pub(crate) struct Fits<'a> {
    rows: &'a [Toleranced],
    pub(crate) class: General,
}

/// To the next hundredth of a mm: the process gives no less.
fn stated_mm(plus_minus: f64) -> f64 {
    (100.0 * plus_minus - 1e-6).ceil() / 100.0
}

impl Fits<'_> {
    /// The finest class that the process keeps in every dimension for which the standard gives a value.
    pub(crate) fn new(rows: &[Toleranced]) -> Fits<'_> {
        let kept = |class: &General| {
            rows.iter()
                .filter(|row| row.made != Made::Position)
                .all(|row| {
                    general_mm(*class, row.size_mm)
                        .is_none_or(|general| row.tolerance.plus_minus_mm <= general + 1e-9)
                })
        };
        let classes = [General::Fine, General::Medium, General::Coarse];
        Fits {
            rows,
            class: classes.into_iter().find(kept).unwrap_or(General::Coarse),
        }
    }

    /// The class as title blocks have it: `ISO 2768-m`.
    pub(crate) fn class_words(&self) -> &'static str {
        match self.class {
            General::Fine => "ISO 2768-f",
            General::Medium => "ISO 2768-m",
            General::Coarse => "ISO 2768-c",
            General::VeryCoarse => "ISO 2768-v",
        }
    }

    pub(crate) fn row(&self, dimension: Dimension) -> Option<&Toleranced> {
        self.rows.iter().find(|row| row.dimension == dimension)
    }

    /// A size with `sign` before it and, where it is not the general one, its tolerance behind it: `1.5 ±0.03`. Holes
    /// whose process keeps the general tolerance have none of their own; reamed ones have `H7`.
    pub(crate) fn size(&self, sign: &str, size: f64, dimension: Dimension) -> String {
        let bare = format!("{sign}{}", decimals(size, 3));
        let Some(row) = self.row(dimension) else {
            return bare;
        };
        if row.made == Made::Reamed {
            return format!("{bare} H7");
        }
        let stated = stated_mm(row.tolerance.plus_minus_mm);
        let general = general_mm(self.class, size);
        let hole = matches!(row.made, Made::Drilled | Made::Helix);
        let silent = general.is_some_and(|general| {
            (stated - general).abs() < 0.005 || (hole && stated <= general + 1e-9)
        });
        match silent || !stated.is_finite() {
            true => bare,
            false => format!("{bare} ±{}", decimals(stated, 2)),
        }
    }

    /// Tolerance of the places of holes, in mm to either side.
    pub(crate) fn position_mm(&self) -> Option<f64> {
        let places = self.rows.iter().filter(|row| row.made == Made::Position);
        places
            .map(|row| row.tolerance.plus_minus_mm)
            .reduce(f64::max)
    }
}
