//! One operation as numbers: small, copied, without text.

use super::shop::Cut;
use super::task::Task;
use crate::part::StripName;

/// Setup of the work at the bench, where no machine is kept busy.
pub(super) const BENCH: usize = 3;

/// What is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Load, clamp, unload.
    Load,
    /// The part's zero found.
    Zero,
    /// Face of the billet.
    Face,
    /// Outline roughed as a slot around the part.
    OutlineRough,
    /// Inside corners of the outline that the roughing cutter does not enter.
    Corners,
    /// Outline finished.
    OutlineFinish,
    /// Pocket roughed.
    PocketRough,
    /// Pocket roughed in loops of constant engagement.
    PocketLoops,
    /// Corners at the ends of a pocket that its cutter leaves.
    PocketCorners,
    /// Pocket floor finished.
    FloorFinish,
    /// Pocket walls finished.
    WallFinish,
    /// Top of a wall, rib or boss milled to its height.
    Top,
    /// Holes spotted.
    Spot,
    /// Holes drilled in one stroke.
    Drill,
    /// Holes drilled in pecks.
    Peck,
    /// Bore widened by an end mill on a helix.
    Bore,
    /// Bores reamed to size.
    Ream,
    /// Start of a bore widened for the head of a screw.
    Counterbore,
    /// Edges broken.
    EdgeBreak,
    /// Contours cut by laser.
    LaserCut,
    /// Part washed and looked over.
    Wash,
    /// Part measured.
    Measure,
}

/// On what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feature {
    /// The clamped part.
    Part,
    /// Top of the billet.
    Top,
    /// Underside of the billet.
    Underside,
    /// The outline.
    Outline,
    /// A slot between walls and ribs, by section and place (from 0 at the outer side).
    Slot(usize, usize),
    /// A pocket open to one side or both, by section and place.
    OpenSide(usize, usize),
    /// A strip of a section.
    Strip(usize, StripName),
    /// A hole row.
    Row(usize),
    /// The slits in this stretch of the path.
    Slits(usize),
    /// The bore of this boss and those equal to it.
    Bore(usize),
}

/// With what. Numbers are places in the shop's tools, sorted by diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tool {
    /// None.
    Hand,
    /// An end mill.
    EndMill(usize),
    /// A drill.
    Drill(usize),
    /// A drill that is not in stock, by diameter in mm.
    SpecialDrill(f64),
    /// A reamer, by diameter in mm.
    Reamer(f64),
    /// The 90 degree tool that spots and breaks edges.
    Spot,
    /// The beam of a laser cutter.
    Laser,
}

/// What bounds speed or feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// Nothing turns.
    Nothing,
    /// The chip load that a tooth stands.
    ChipLoad,
    /// The spindle cannot turn as fast as the tool could cut.
    SpindleSpeed,
    /// The machine cannot feed faster.
    FeedLimit,
    /// The spindle has no more power.
    Power,
    /// The tool would bend too far.
    ToolBending,
    /// The wall beside the tool would bend too far.
    WallBending,
    /// The machine cannot take bends or short moves faster.
    Acceleration,
}

/// One operation of the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// What is done.
    pub kind: Kind,
    /// On what.
    pub feature: Feature,
    /// With what.
    pub tool: Tool,
    /// In which setup: 0 from the top, 1 from the underside, 2 from the side.
    pub setup: usize,
    /// Spindle speed, in rev/min.
    pub spindle_rpm: f64,
    /// Feed, in mm/min.
    pub feed_mm_min: f64,
    /// Depth of cut (or of hole), in mm.
    pub depth_mm: f64,
    /// Width of cut, in mm; 0 for drilling.
    pub width_mm: f64,
    /// Passes over all levels, or holes.
    pub count: f64,
    /// Length at feed, in mm.
    pub cut_length_mm: f64,
    /// Length of the passes alone, without ramps and links, in mm.
    pub pass_length_mm: f64,
    /// Metal removed, in mm³.
    pub removed_mm3: f64,
    /// Time in cut, in s.
    pub cut_s: f64,
    /// Time of positioning moves, in s.
    pub move_s: f64,
    /// Fixed times, in s.
    pub fixed_s: f64,
    /// What bounds the feed.
    pub limit: Limit,
    /// When its tool is loaded: before those of a higher turn in the same setup.
    pub(super) turn: usize,
    /// The way of the tool.
    pub(super) task: Task,
}

impl Step {
    /// A step in which nothing happens yet.
    pub(super) fn new(kind: Kind, feature: Feature, tool: Tool, setup: usize) -> Step {
        Step {
            kind,
            feature,
            tool,
            setup,
            spindle_rpm: 0.0,
            feed_mm_min: 0.0,
            depth_mm: 0.0,
            width_mm: 0.0,
            count: 0.0,
            cut_length_mm: 0.0,
            pass_length_mm: 0.0,
            removed_mm3: 0.0,
            cut_s: 0.0,
            move_s: 0.0,
            fixed_s: 0.0,
            limit: Limit::Nothing,
            turn: 0,
            task: Task::Nothing,
        }
    }

    /// This step with speed, feed and limit of a cut.
    pub(super) fn cutting(mut self, cut: &Cut) -> Step {
        self.spindle_rpm = cut.rpm;
        self.feed_mm_min = 60.0 * cut.feed_mm_s;
        self.limit = cut.limit;
        self
    }

    /// Time of the operation, in s.
    pub fn total_s(&self) -> f64 {
        self.cut_s + self.move_s + self.fixed_s
    }
}

/// Something the reader of the plan must know.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remark {
    /// No end mill in stock fits a slot of this width in mm.
    Narrow(Feature, f64),
    /// A pocket of this depth in mm is deeper than the cutter that fits it reaches.
    Deep(Feature, f64, usize),
    /// The frame is bent more sharply on its inside than the smallest end mill: radius in mm.
    SharpBend(f64),
    /// A wall of this height over thickness wants support while it is finished.
    Slender(usize, StripName, f64),
    /// No drill of this diameter in mm is in stock.
    NoDrill(Feature, f64),
    /// A hole of this depth in mm is deeper than the drill's flutes.
    DeepHole(Feature, f64),
    /// There is no room for a ramp: the end mill must plunge.
    Plunge(Feature),
    /// Edges of through holes that the 90 degree tool is too narrow for.
    WideEdges(Feature),
    /// Holes that need the part on its side.
    SideHoles(usize),
    /// The billet, of these sizes in mm, does not go on the table.
    TooLarge(f64, f64),
}
