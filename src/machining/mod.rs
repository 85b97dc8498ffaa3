//! Time on the mill: the operations a machinist would plan, with tools, speeds, feeds and moves.

/// One operation of the plan, with everything its time follows from.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Operation {
    /// What is done: `pocket rough`, `outer wall finish`, `drill`.
    pub name: String,
    /// On which feature: `slot 1`, `row relief`.
    pub feature: String,
    /// Tool from the stock, in words: `end mill 3 mm, 3 flutes, carbide`. Empty where none is used.
    pub tool: String,
    /// Spindle speed, in rev/min; 0 where no tool turns.
    pub spindle_rpm: f64,
    /// Feed, in mm/min; 0 where no tool turns.
    pub feed_mm_min: f64,
    /// Depth of cut (or of hole), in mm.
    pub depth_mm: f64,
    /// Radial width of cut, in mm; 0 for drilling.
    pub width_mm: f64,
    /// Passes, levels or holes.
    pub count: usize,
    /// Length travelled in cut, in mm.
    pub cut_length_mm: f64,
    /// Time in cut, in s, with the acceleration-limited moves it consists of.
    pub cut_s: f64,
    /// Time of positioning moves, in s.
    pub move_s: f64,
    /// Fixed times that belong to the operation (load, tool change, spindle start), in s.
    pub fixed_s: f64,
    /// What bounds the feed or speed: `chip load`, `spindle speed`, `power`, `feed limit`.
    pub limit: String,
}

impl Operation {
    /// Time of the operation, in s.
    pub fn total_s(&self) -> f64 {
        self.cut_s + self.move_s + self.fixed_s
    }
}

/// The plan of a part.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Plan {
    /// In the order in which they are done.
    pub operations: Vec<Operation>,
    /// Tool changes.
    pub tool_changes: usize,
    /// Time for one part, in s.
    pub cycle_s: f64,
    /// Remarks the sheet must show: `no end mill in stock fits slot 2 (1.6 mm)`.
    pub remarks: Vec<String>,
}
