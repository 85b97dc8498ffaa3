//! Milling machines and laser cutters.

use serde::Serialize;

use super::rows::MachineRow;

/// What an hour of a machine costs where the catalogue does not say. Invented.
const USUAL_RATE_PER_H: f64 = 60.0;

/// What an hour of labour costs where the catalogue does not say. Invented.
const USUAL_LABOUR_PER_H: f64 = 45.0;

/// A milling machine or a laser cutter. Fixed times that a row leaves out are common practice without a source.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Machine {
    /// Key in the catalogue: `small_vmc`.
    pub id: String,
    /// In words.
    pub name: String,
    /// Slowest spindle speed, in rev/min.
    pub spindle_min_rpm: f64,
    /// Fastest spindle speed, in rev/min.
    pub spindle_max_rpm: f64,
    /// Continuous spindle power, in kW.
    pub power_kw: f64,
    /// Share of the power that reaches the cut.
    pub efficiency: f64,
    /// Rapid rate in the table's plane, in m/min.
    pub rapid_xy_m_min: f64,
    /// Rapid rate along the tool axis, in m/min.
    pub rapid_z_m_min: f64,
    /// Acceleration in the table's plane, in m/s².
    pub acceleration_xy_m_s2: f64,
    /// Acceleration along the tool axis, in m/s².
    pub acceleration_z_m_s2: f64,
    /// Highest feed in cut, in m/min.
    pub feed_max_m_min: f64,
    /// Tool change, chip to chip, in s.
    pub tool_change_s: f64,
    /// Spindle start to speed, in s.
    pub spindle_start_s: f64,
    /// Settling and block time for each drilled hole, in s.
    pub settle_s: f64,
    /// Turning the part to the next hole in its side (rotary axis or by hand), in s.
    pub index_s: f64,
    /// Finding the part's zero with a probe, in each setup of each part, in s.
    pub zero_s: f64,
    /// Height above the face at which rapid turns to feed, in mm.
    pub clearance_mm: f64,
    /// The beam of a laser cutter; `None` for a mill.
    pub laser: Option<Laser>,
    /// Loading and clamping, with unloading, for each setup, in s.
    pub load_s: f64,
    /// Making the machine ready for a new part (fixture, zero, first part), for each setup, in s.
    pub setup_s: f64,
    /// Measuring a tool into its holder, for each tool of a batch, in s.
    pub probe_s: f64,
    /// What an hour of the machine costs, without the people.
    pub rate_per_h: f64,
    /// What an hour of the people beside it costs.
    pub labour_per_h: f64,
    /// Table, along its longer side, in mm; infinite where the catalogue does not say.
    pub table_x_mm: f64,
    /// Table, across, in mm; infinite where the catalogue does not say.
    pub table_y_mm: f64,
    /// Whether it can turn the part under the tool by itself.
    pub rotary: bool,
    /// How far the tool may leave the path where the path turns a corner, in mm.
    pub corner_deviation_mm: f64,
    /// Coolant: `flood`, `mist`, `air blast`, `dry`.
    pub coolant: String,
    /// What else to know; may be empty.
    pub note: String,
    /// Where the figures come from.
    pub source: String,
}

/// What cuts in a laser cutter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Laser {
    /// Power of the beam, in kW.
    pub power_kw: f64,
    /// Piercing before each contour, in s.
    pub pierce_s: f64,
    /// Width of the cut, in mm.
    pub kerf_mm: f64,
}

impl Laser {
    fn from_row(row: &MachineRow) -> Option<Laser> {
        Some(Laser {
            power_kw: row.laser_kw?,
            pierce_s: row.pierce_s.unwrap_or(0.1),
            kerf_mm: row.kerf_mm.unwrap_or(0.1),
        })
    }
}

impl Machine {
    pub(super) fn from_row(row: &MachineRow) -> Result<Machine, &'static str> {
        let id = row.id.clone().ok_or("id")?;
        let laser = Laser::from_row(row);
        // A laser cutter has no spindle and changes no tools.
        let of_mill = |value: Option<f64>, key| match laser {
            Some(_) => Ok(value.unwrap_or(0.0)),
            None => value.ok_or(key),
        };
        Ok(Machine {
            name: row.name.clone().unwrap_or_else(|| id.clone()),
            id,
            spindle_min_rpm: row.spindle_min_rpm.unwrap_or(1.0),
            spindle_max_rpm: of_mill(row.spindle_max_rpm, "spindle_max_rpm")?,
            power_kw: of_mill(row.power_kw, "power_kw")?,
            efficiency: row.efficiency.unwrap_or(0.8),
            rapid_xy_m_min: row.rapid_xy_m_min.ok_or("rapid_xy_m_min")?,
            rapid_z_m_min: of_mill(row.rapid_z_m_min, "rapid_z_m_min")?,
            acceleration_xy_m_s2: row.acceleration_xy_m_s2.ok_or("acceleration_xy_m_s2")?,
            acceleration_z_m_s2: of_mill(row.acceleration_z_m_s2, "acceleration_z_m_s2")?,
            feed_max_m_min: row.feed_max_m_min.ok_or("feed_max_m_min")?,
            tool_change_s: of_mill(row.tool_change_s, "tool_change_s")?,
            spindle_start_s: row.spindle_start_s.unwrap_or(2.0),
            settle_s: row.settle_s.unwrap_or(0.1),
            index_s: row.index_s.unwrap_or(1.5),
            zero_s: row.zero_s.unwrap_or(20.0),
            clearance_mm: row.clearance_mm.unwrap_or(2.0),
            laser,
            load_s: row.load_s.ok_or("load_s")?,
            setup_s: row.setup_s.unwrap_or(3600.0),
            probe_s: row.probe_s.unwrap_or(60.0),
            rate_per_h: row.rate_per_h.unwrap_or(USUAL_RATE_PER_H),
            labour_per_h: row.labour_per_h.unwrap_or(USUAL_LABOUR_PER_H),
            table_x_mm: row.table_x_mm.unwrap_or(f64::INFINITY),
            table_y_mm: row.table_y_mm.unwrap_or(f64::INFINITY),
            rotary: match row.rotary.as_deref() {
                None | Some("no") => false,
                Some("yes") => true,
                Some(_) => return Err("rotary"),
            },
            corner_deviation_mm: row.corner_deviation_mm.unwrap_or(0.01),
            coolant: row.coolant.clone().unwrap_or_else(|| "dry".into()),
            note: row.note.clone().unwrap_or_default(),
            source: row
                .source
                .clone()
                .unwrap_or_else(|| "user's catalogue file".into()),
        })
    }
}
