//! What the tool does in one operation, decided once: read by the fast estimate (`estimate.rs`) and by the
//! expansion into moves (`path/`), so that both speak of the same way.

use super::motion::PeckCycle;

/// Small, copied, without text. Lengths in mm, feeds in mm/s; `band` is a place in the job's bands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Task {
    /// No way of its own: its time stands as it is.
    Nothing,
    Along(Along),
    Loops(Loops),
    Walls(Walls),
    Ends(Ends),
    Outline(Outline),
    Corners(Corners),
    Holes(Holes),
    Helix(Helix),
    Edges(Edges),
}

/// How a cutter gets into the metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Entry {
    /// Down a ramp along the first pass, to and fro on a short one; from outside where both ends are open.
    Ramp,
    /// Straight down: into so little metal that an end mill stands it.
    Plunge,
}

/// Passes along every span of a band, level by level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Along {
    /// Place in the bands; [`WHOLE`] for the whole path.
    pub band: usize,
    /// Offset of the first pass and of the last.
    pub low: f64,
    pub high: f64,
    pub passes: f64,
    pub levels: f64,
    /// Depth of a level.
    pub depth: f64,
    /// Height that the last level leaves.
    pub bottom: f64,
    /// Feed of the first pass, and of all others.
    pub first_feed: f64,
    pub feed: f64,
    /// What lies beyond the ends of a span within these offsets is not to be cut.
    pub clear: (f64, f64),
    /// Radius that the tool's centre keeps from it.
    pub radius: f64,
    /// How far the tool's centre goes beyond an open end.
    pub beyond: f64,
    pub entry: Entry,
}

/// [`Along::band`] for the whole path.
pub(super) const WHOLE: usize = usize::MAX;

/// A slot cleared in loops of constant engagement, each a full circle and a step onward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Loops {
    pub band: usize,
    /// Edges of the slot.
    pub clear: (f64, f64),
    /// Radius of a loop of the tool's centre.
    pub loop_radius: f64,
    pub step: f64,
    pub levels: f64,
    pub depth: f64,
    pub bottom: f64,
    /// Feed of the half of a loop that cuts, and of the half that returns through air.
    pub feed: f64,
    pub back_feed: f64,
    /// Radius of the cutter.
    pub radius: f64,
}

/// Finish passes on the walls at both sides of a pocket, with the faces at its ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Walls {
    pub band: usize,
    /// Edges of the pocket.
    pub clear: (f64, f64),
    pub sides: [Side; 2],
    pub bottom: f64,
    pub radius: f64,
}

/// One wall of a pocket; no levels where there is none.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Side {
    /// Offset of the tool's centre.
    pub y: f64,
    pub levels: f64,
    pub depth: f64,
    pub feed: f64,
    /// Place of the wall in the band's standing strips.
    pub wall: usize,
    /// Force square to the wall, in N.
    pub force_n: f64,
}

/// What a wide cutter leaves in the corners of a pocket at its closed ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ends {
    pub band: usize,
    pub clear: (f64, f64),
    /// Sides that have a wall.
    pub walled: [bool; 2],
    /// Radius of the cutter that left them.
    pub left: f64,
    pub levels: f64,
    pub depth: f64,
    pub bottom: f64,
    pub feed: f64,
    pub radius: f64,
}

/// Loops around the frame: inside and outside of a closed one, around an open one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Outline {
    /// Distance of the tool's centre from the edge.
    pub off: f64,
    pub levels: f64,
    pub depth: f64,
    pub bottom: f64,
    pub feed: f64,
    /// Into full metal by a ramp; else from the side by this much.
    pub ramped: bool,
    pub aside: f64,
}

/// Inside corners of the outline that a wider cutter leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Corners {
    pub off: f64,
    /// Radius of the wider cutter.
    pub left: f64,
    pub levels: f64,
    pub depth: f64,
    pub bottom: f64,
    pub feed: f64,
}

/// Holes, each with the same cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Holes {
    pub at: Places,
    pub count: f64,
    pub cycle: PeckCycle,
    /// Height of the drilled face.
    pub top: f64,
}

/// Where holes are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Places {
    /// These holes of the layout: from, and up to but without; whether in a wall or rib, from the side.
    Row {
        from: usize,
        to: usize,
        side: bool,
        /// Time of the moves to the first of them and on, in s.
        travel_s: f64,
    },
    /// In the boss of this index and in those after it that are alike.
    Bosses {
        first: usize,
        /// Time of the moves in the plane to the first of them and on, in s.
        travel_s: f64,
    },
}

/// Bores widened turn by turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Helix {
    /// The first of the bosses.
    pub boss: usize,
    pub count: f64,
    /// Time of the moves in the plane to the first of them and on, in s.
    pub travel_s: f64,
    /// Radius of the tool's centre on the last ring, and how far the first lies inside it.
    pub radius: f64,
    pub spread: f64,
    pub rings: f64,
    /// Turns of a ring, the flat one at the bottom included.
    pub turns: f64,
    /// Depth of a turn.
    pub depth: f64,
    pub feed: f64,
    pub top: f64,
}

/// Edges broken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edges {
    /// From the underside.
    pub under: bool,
    pub feed: f64,
}
