//! Rules of thumb of the shop floor. All of them: common practice, no source.

use crate::catalogue::ToolMaterial;

/// Metal left on the billet's faces, in mm.
pub const FACE_ALLOWANCE_MM: f64 = 0.5;
/// Thickness of the skin that the outline leaves on the billet's underside, in mm (0.2 to 0.5): it holds the part until
/// it is faced away.
pub const SKIN_MM: f64 = 0.3;
/// Metal that roughing leaves on floors and walls, in mm.
pub const FINISH_ALLOWANCE_MM: f64 = 0.2;
/// Widest cutter for the outline, in mm: a wider one only turns more billet into chips.
pub const OUTLINE_CUTTER_MM: f64 = 10.0;
/// Radius of a bend over that of the cutter, at least, so that it is not wrapped by metal (1.1 to 1.5).
pub const CORNER_ROOM: f64 = 1.1;
/// Turn in rad up to which a bend is a corner that a wider cutter may leave to a smaller one; a bend that turns
/// further is the end of a room that the cutter must enter.
pub const CORNER_RAD: f64 = 2.0;
/// Depth of cut in a full slot, as a share of the cutter's diameter (0.25 to 1).
pub const SLOT_DEPTH: f64 = 0.5;
/// Width of cut when widening a slot, as a share of the diameter (0.1 to 0.4).
pub const SIDE_WIDTH: f64 = 0.4;
/// Force square to a finished wall, as a share of the tooth's cutting force (0.3 to 0.5).
pub const SIDE_SHARE: f64 = 0.3;
/// Room in mm between the part's top and the holder: a tool stands out by its reach and this.
pub const HOLDER_ROOM_MM: f64 = 3.0;
/// How far a tool stands out at least, in diameters.
pub const LEAST_STICK_OUT: f64 = 3.0;
/// Diameter of the fluted part that bends like a rod, as a share of the tool's.
pub const FLUTED_CORE: f64 = 0.8;
/// How far a tool may bend while roughing, in mm: half of what it leaves for finishing.
pub const ROUGH_BEND_MM: f64 = 0.5 * FINISH_ALLOWANCE_MM;
/// How far tool and wall may each be pushed aside in a finish pass, in mm (0.01 to 0.03).
pub const FINISH_BEND_MM: f64 = 0.02;
/// Least chip load, as a share of the usual one: a thinner chip is rubbed off rather than cut.
pub const LEAST_CHIP: f64 = 0.3;
/// Step-over on floors and faces, as a share of the diameter (0.5 to 0.75).
pub const FLOOR_WIDTH: f64 = 0.6;
/// Depth of a wall's finish pass, in diameters.
pub const FINISH_DEPTH: f64 = 2.0;
/// Reach in diameters up to which a cutter works undiminished; beyond it the depth of cut falls in proportion.
pub const PLAIN_REACH: f64 = 3.0;
/// Least share of the depth of cut that a long reach leaves.
pub const LEAST_REACH_SHARE: f64 = 0.25;
/// Slope of a ramp into a pocket: the tangent of 3 degrees (1 to 5).
pub const RAMP_SLOPE: f64 = 0.052_407_779_283_041_2;
/// Most by which thinned chips raise the chip load.
pub const MOST_THINNING: f64 = 3.0;
/// Unsupported height in wall thicknesses that may be cut at once: the eight-to-one rule.
pub const STEP_RULE: f64 = 8.0;
/// Share of the eight-to-one step used on a slender wall (0.5 to 1).
pub const STEP_SHARE: f64 = 0.75;
/// Share of the eight-to-one step used on a wall that wants support.
pub const SUPPORT_STEP_SHARE: f64 = 0.5;
/// Depth in diameters beyond which a hole is pecked (2.5 to 4).
pub const PECK_BEYOND: f64 = 3.0;
/// Depth of a peck, in diameters (0.5 to 2).
pub const PECK: f64 = 1.0;
/// Re-entry gap of a peck, in mm.
pub const PECK_GAP_MM: f64 = 0.5;
/// Travel of a drill's point beyond the far face, in mm.
pub const BREAKTHROUGH_MM: f64 = 0.5;
/// Washing, drying and looking over a part at the bench, in s (30 to 120).
pub const WASH_S: f64 = 60.0;
/// Measuring one dimension of a part at the bench, in s (10 to 30).
pub const MEASURE_S: f64 = 15.0;
/// Diameter of the 90 degree tool that spots holes and breaks edges, in mm.
pub const SPOT_TOOL_MM: f64 = 6.0;
/// Chip load of that tool, in mm a tooth.
pub const SPOT_CHIP_MM: f64 = 0.05;
/// Width of a broken edge, in mm.
pub const EDGE_MM: f64 = 0.3;
/// What drilling leaves for the reamer, on the diameter, in mm: at least, at most, and where no drill in stock leaves
/// between the two.
pub const LEAST_REAM_MM: f64 = 0.1;
pub const MOST_REAM_MM: f64 = 0.4;
pub const USUAL_REAM_MM: f64 = 0.2;
/// Cutting speed of reaming as a share of drilling's, and its feed a turn in multiples of drilling's.
pub const REAM_SPEED: f64 = 0.5;
pub const REAM_FEED: f64 = 2.0;
/// Price of a reamer in prices of a drill of its size (invented), and the holes it keeps its size for as a share of those
/// that a drill lasts.
pub const REAMER_PRICE: f64 = 8.0;
pub const REAMER_LIFE: f64 = 0.1;
/// Widest end mill for a bore, as a share of the bore's diameter.
pub const BORE_CUTTER: f64 = 0.8;
/// How near a drill in stock must be to a hole, in mm.
pub const SAME_DRILL_MM: f64 = 0.02;
/// Cutting speed of high-speed steel as a share of carbide's.
pub const HSS_SPEED: f64 = 0.3;
/// Chip load of high-speed steel as a share of carbide's (0.6 to 0.7).
pub const HSS_CHIP: f64 = 0.65;
/// Drill feed a turn as a share of the diameter where a material has none in the catalogue.
pub const UNKNOWN_DRILL_FEED: f64 = 0.015;

/// Metal of the billet beyond the outline cutter's way, on every side, to clamp on, in mm.
pub const BILLET_MARGIN_MM: f64 = 4.0;
/// Width of the saw cut that parts the billet from the bar or plate, in mm (1.5 to 3).
pub const SAW_KERF_MM: f64 = 2.5;
/// Web of sheet between two parts cut by laser, in mm (2 to 5).
pub const SHEET_WEB_MM: f64 = 3.0;
/// Price of a kilogram of stock where a material has none in the catalogue. Invented, in euros.
pub const UNKNOWN_PRICE_PER_KG: f64 = 10.0;
/// Price of the 90 degree tool. Invented, in euros.
pub const SPOT_PRICE: f64 = 18.0;
/// Parts made in one go where a study does not say.
pub const USUAL_BATCH: f64 = 10.0;

/// Standard grade of ISO 286-1 of a drilled hole (12 to 13), a reamed one (7 to 8), a bore milled on a helix (8 to 10).
pub const DRILLED_GRADE: u32 = 12;
pub const REAMED_GRADE: u32 = 7;
pub const HELIX_GRADE: u32 = 9;
/// Tolerance of a finish-milled wall, to either side, in mm: up to 10, 20 and 30 times as high as thick.
pub const RIGID_WALL_MM: f64 = 0.03;
pub const SLIM_WALL_MM: f64 = 0.05;
pub const SLENDER_WALL_MM: f64 = 0.1;
/// Of a depth milled in one set-up, to either side, in mm.
pub const FLOOR_MM: f64 = 0.05;
/// Of laying a part against its stops again, to either side, in mm.
pub const RELOCATION_MM: f64 = 0.05;
/// Share of the variance of a cut width that is the tool's, and so common to all that it cuts.
pub const COMMON_WEAR: f64 = 0.5;
/// Of a hole's place in one set-up, in mm.
pub const POSITION_MM: f64 = 0.05;
/// Of a width over edges cut by laser in thin strip, to either side, in mm.
pub const LASER_MM: f64 = 0.05;
/// Of the thickness of precision rolled strip, to either side, in mm.
pub const STRIP_MM: f64 = 0.02;

/// Longest time in cut in min before an end mill is changed, whatever its wear (60 to 240 in aluminium): it is chipped
/// or loaded with metal before it is worn.
pub fn longest_life_min(iso_group: char) -> f64 {
    match iso_group {
        'N' => 120.0,
        'H' | 'S' => 30.0,
        _ => 60.0,
    }
}

/// Time in cut in min that an end mill lasts in a material of whose tool life nothing is known.
pub fn unknown_life_min(iso_group: char) -> f64 {
    0.5 * longest_life_min(iso_group)
}

/// Holes that a drill lasts for: in aluminium a million is not unusual, in hard and tough metals a few hundred.
pub fn holes_per_drill(iso_group: char) -> f64 {
    match iso_group {
        'N' => 1e6,
        'P' | 'K' => 2000.0,
        'M' => 500.0,
        'S' => 200.0,
        'H' => 100.0,
        _ => 500.0,
    }
}

/// Young's modulus of a tool in MPa: high-speed steel, carbide (550 to 650 GPa).
pub fn tool_modulus(material: ToolMaterial) -> f64 {
    match material {
        ToolMaterial::Hss => 210e3,
        ToolMaterial::Carbide => 600e3,
    }
}

/// Chip load in a material group of ISO 513 as a share of that in aluminium.
pub fn group_chip(iso_group: char) -> f64 {
    match iso_group {
        'N' => 1.0,
        'P' => 0.55,
        'H' => 0.4,
        'O' => 0.6,
        _ => 0.5,
    }
}

/// Height over thickness up to which a wall stands an ordinary finish pass; twice that wants support.
///
/// `modulus` in GPa tells plastics from metals.
pub fn plain_slenderness(iso_group: char, modulus: f64) -> f64 {
    if modulus < 10.0 {
        8.0
    } else if iso_group == 'N' {
        15.0
    } else {
        12.0
    }
}

/// Feed of a ramp or plunge as a share of the feed (0.3 to 0.6).
pub const PLUNGE_FEED: f64 = 0.5;
/// Length in cutter diameters that a ramp needs; where there is less room the end mill must plunge.
pub const RAMP_ROOM: f64 = 0.25;
/// Width of a slot in cutter diameters from which it may be cleared in loops.
pub const LOOP_SLOT: f64 = 1.5;
/// Step of a loop in cutter diameters (0.08 to 0.15).
pub const LOOP_STEP: f64 = 0.12;
/// Depth of cut in loops, in diameters (1.5 to 2.5).
pub const LOOP_DEPTH: f64 = 2.0;
/// Sharpest inside corner in mm that the ends of a pocket need: a wider cutter leaves the rest to a smaller one.
pub const END_CORNER_MM: f64 = 1.5;
/// Height in mm above the metal at which a rapid descent turns to feed (0.5 to 2).
pub const APPROACH_MM: f64 = 0.5;
