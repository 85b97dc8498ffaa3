//! Tools and machine as the planner uses them: speeds worked out, units in mm and s.

use super::cost::Wear;
use super::step::Limit;
use crate::catalogue::{ChipLoad, Machine};

/// An end mill with its speed in this material.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cutter {
    pub diameter: f64,
    pub flutes: f64,
    pub flute_length: f64,
    /// How far it reaches down beside metal.
    pub reach: f64,
    /// Largest chip, in mm.
    pub chip: f64,
    /// How far its tip bends per N and cube of the free length, in 1/(N mm²).
    pub give: f64,
    pub rpm: f64,
    /// What bounds the speed: the spindle, or (as chip load) the tool itself.
    pub limit: Limit,
    pub wear: Wear,
    /// For the sheet: `3 mm, 3 flutes, carbide`.
    pub words: String,
}

/// A drill with its speed and feed in this material.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Bit {
    pub diameter: f64,
    pub flute_length: f64,
    pub hss: bool,
    pub rpm: f64,
    pub feed_mm_s: f64,
    pub limit: Limit,
    pub wear: Wear,
    pub words: String,
}

/// What the machine can do, in mm and s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Limits {
    pub rapid_xy: f64,
    pub rapid_z: f64,
    pub acceleration_xy: f64,
    pub acceleration_z: f64,
    pub feed: f64,
    pub power_w: f64,
    pub slowest_rpm: f64,
    pub fastest_rpm: f64,
    pub tool_change_s: f64,
    /// Added to every operation, in s.
    pub operation_s: f64,
    pub settle_s: f64,
    pub index_s: f64,
    pub zero_s: f64,
    pub clearance: f64,
    /// How far the tool may leave a corner of its path.
    pub corner_deviation: f64,
    pub load_s: f64,
    /// Longer and shorter side of the table.
    pub table: [f64; 2],
    pub rotary: bool,
}

impl Limits {
    pub(super) fn of(machine: &Machine) -> Limits {
        let per_s = 1000.0 / 60.0;
        Limits {
            rapid_xy: machine.rapid_xy_m_min * per_s,
            rapid_z: machine.rapid_z_m_min * per_s,
            acceleration_xy: machine.acceleration_xy_m_s2 * 1000.0,
            acceleration_z: machine.acceleration_z_m_s2 * 1000.0,
            feed: machine.feed_max_m_min * per_s,
            power_w: machine.power_kw * 1000.0 * machine.efficiency,
            slowest_rpm: machine.spindle_min_rpm,
            fastest_rpm: machine.spindle_max_rpm,
            tool_change_s: machine.tool_change_s + machine.spindle_start_s,
            operation_s: 0.0,
            settle_s: machine.settle_s,
            index_s: machine.index_s,
            zero_s: machine.zero_s,
            clearance: machine.clearance_mm,
            corner_deviation: machine.corner_deviation_mm,
            load_s: machine.load_s,
            table: table(machine),
            rotary: machine.rotary,
        }
    }
}

/// Longer and shorter side of a machine's table, in mm.
fn table(machine: &Machine) -> [f64; 2] {
    let (x, y) = (machine.table_x_mm, machine.table_y_mm);
    [x.max(y), x.min(y)]
}

/// Typical chip load in mm at a diameter: linear between table rows, in proportion below, constant above.
pub(super) fn chip_load(loads: &[ChipLoad], diameter: f64) -> f64 {
    let Some(above) = loads.iter().position(|row| row.diameter_mm >= diameter) else {
        return loads.last().map_or(0.0, |row| row.typical_mm);
    };
    let high = loads[above];
    if above == 0 {
        return high.typical_mm * diameter / high.diameter_mm;
    }
    let low = loads[above - 1];
    let share = (diameter - low.diameter_mm) / (high.diameter_mm - low.diameter_mm);
    low.typical_mm + share * (high.typical_mm - low.typical_mm)
}
