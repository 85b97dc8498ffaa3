//! `[calibration]`: what measured parts say of the model.

use super::problem::Problem;
use super::reader::{Entries, Reader};
use crate::evaluate::{Calibration, Factor};
use crate::units::{Unit, read_unit};
use std::ops::RangeInclusive;

/// Reads `[calibration]`; neutral where it is left out.
pub(super) fn read_calibration(reader: &mut Reader, root: &Entries) -> Calibration {
    let neutral = Calibration::NEUTRAL;
    let Some(entries) = reader.optional_table(root, "calibration") else {
        return neutral;
    };
    let parts = usize::try_from(reader.whole(&entries, "parts")).unwrap_or(1);
    let mut read = |name, key, unit, range: RangeInclusive<f64>, neutral| {
        factor(reader, &entries, name, (key, unit), range).unwrap_or(neutral)
    };
    let give = read_unit("mm/N").unwrap_or(Unit::NUMBER);
    Calibration {
        parts,
        density: read(
            "density",
            "factor",
            Unit::NUMBER,
            0.5..=2.0,
            neutral.density,
        ),
        modulus: read(
            "modulus",
            "factor",
            Unit::NUMBER,
            0.2..=5.0,
            neutral.modulus,
        ),
        wall_mm: read("wall", "offset", Unit::MM, -1.0..=1.0, neutral.wall_mm),
        joint_mm_per_n: read(
            "joint",
            "compliance",
            give,
            0.0..=1.0,
            neutral.joint_mm_per_n,
        ),
        operation_s: read(
            "overhead",
            "time",
            Unit::SECOND,
            -60.0..=3600.0,
            neutral.operation_s,
        ),
        acceleration: read(
            "acceleration",
            "factor",
            Unit::NUMBER,
            0.01..=100.0,
            neutral.acceleration,
        ),
    }
}

/// One factor with its standard error; `None` where left out or at fault.
fn factor(
    reader: &mut Reader,
    entries: &Entries,
    name: &str,
    (key, unit): (&str, Unit),
    range: RangeInclusive<f64>,
) -> Option<Factor> {
    let own = reader.optional_table(entries, name)?;
    let mut number = |key: &str, range: RangeInclusive<f64>| {
        let node = own.node(key)?;
        let value = reader.fixed_as(key, node.value, unit)?;
        if range.contains(&value) {
            return Some(value);
        }
        let title = format!("`{key}` of `{name}` is outside of what a calibration can mean");
        let problem = Problem::new("study/out-of-range", title, node.value.span(), "outside");
        reader.note(problem.mend(format!(
            "write {} to {}",
            unit.print(*range.start()),
            unit.print(*range.end())
        )));
        None
    };
    let value = number(key, range.clone())?;
    let error = number("error", 0.0..=(range.end() - range.start()))?;
    Some(Factor { value, error })
}
