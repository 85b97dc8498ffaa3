//! Why a part can't be made as an exact solid.

use std::fmt;

use super::Fault;
use crate::part::{Layout, Part, RuleKind, Rules};

/// Why a part can't be made as an exact solid. The words say the mend.
#[derive(Clone, Debug, PartialEq)]
pub enum BodyError {
    /// The part breaks a geometric rule: metal or room is missing.
    Rule {
        /// What the rule watches.
        kind: RuleKind,
        /// Its value, in mm.
        value_mm: f64,
        /// Where, in words.
        place: String,
    },
    /// The pieces of the path don't meet.
    Gap {
        /// Where along the path, in mm.
        station_mm: f64,
        /// Distance, in mm.
        gap_mm: f64,
    },
    /// A hole of a row breaks over the border of its strip, a boss or a slit.
    Hole {
        /// Name of the row.
        row: String,
        /// Which of its holes, from 1.
        hole: usize,
        /// Its place along the path, in mm.
        station_mm: f64,
    },
    /// A blind hole comes out, or has not its whole bottom in metal.
    BreaksThrough {
        /// Name of the row or boss.
        name: String,
        /// Its place along the path, in mm.
        station_mm: f64,
    },
    /// The circle of a bore only touches the side of a wall or rib, or runs through its corner.
    Touches {
        /// Name of the boss.
        boss: String,
        /// Diameter of the circle, in mm.
        diameter_mm: f64,
    },
    /// A bore reaches beyond its boss.
    Bore {
        /// Name of the boss.
        boss: String,
        /// Diameter, in mm.
        diameter_mm: f64,
    },
    /// The metal is in pieces that don't hang together.
    Apart {
        /// Number of pieces.
        pieces: usize,
    },
    /// Metal hangs together by a line or a point only, or the path runs over itself.
    Contact {
        /// Where: x, y, z in mm.
        at: [f64; 3],
    },
    /// There is no metal.
    Nothing,
    /// The boundary found is none: a fault of the program.
    Fault(Fault),
}

impl fmt::Display for BodyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BodyError::Rule {
                kind,
                value_mm,
                place,
            } => write!(
                f,
                "no solid: {} is {value_mm:.4} mm ({place}); choose a design that keeps the geometric rules",
                words(*kind)
            ),
            BodyError::Gap { station_mm, gap_mm } => write!(
                f,
                "no solid: the path misses its next piece by {gap_mm:.2e} mm at s = {station_mm:.3} mm; give its lengths and angles by formulas that close it"
            ),
            BodyError::Hole {
                row,
                hole,
                station_mm,
            } => write!(
                f,
                "no solid: hole {hole} of row {row} at s = {station_mm:.3} mm breaks over a border of its strip; give the row more clearance or a smaller diameter"
            ),
            BodyError::BreaksThrough { name, station_mm } => write!(
                f,
                "no solid: the blind hole of {name} at s = {station_mm:.3} mm has no metal all round its point; make it less deep, or through"
            ),
            BodyError::Touches { boss, diameter_mm } => write!(
                f,
                "no solid: the circle of {diameter_mm:.3} mm in boss {boss} just touches a wall or rib; change its diameter or move the strip by 0.01 mm"
            ),
            BodyError::Bore { boss, diameter_mm } => write!(
                f,
                "no solid: the circle of {diameter_mm:.3} mm in boss {boss} reaches beyond it; make the boss longer or the hole smaller"
            ),
            BodyError::Apart { pieces } => write!(
                f,
                "no solid: the metal is in {pieces} pieces; let bosses, floor and walls overlap"
            ),
            BodyError::Contact { at: [x, y, z] } => write!(
                f,
                "no solid: at x = {x:.3} mm, y = {y:.3} mm, z = {z:.3} mm metal meets metal along a line or in a point only, or the path runs over itself; let the strips there overlap, or move them apart"
            ),
            BodyError::Nothing => write!(f, "no solid: the part has no metal"),
            BodyError::Fault(fault) => write!(
                f,
                "no solid: its boundary came out wrong ({fault}), which is a fault of this program; please report the study"
            ),
        }
    }
}

impl std::error::Error for BodyError {}

impl From<Fault> for BodyError {
    fn from(fault: Fault) -> BodyError {
        match fault {
            Fault::Pieces { count } => BodyError::Apart { pieces: count },
            Fault::Pinched { at } => BodyError::Contact { at },
            Fault::Empty => BodyError::Nothing,
            other => BodyError::Fault(other),
        }
    }
}

fn words(kind: RuleKind) -> &'static str {
    match kind {
        RuleKind::Ligament => "the metal between two holes",
        RuleKind::Edge => "the metal between a hole and the edge of its strip",
        RuleKind::BossGap => "the distance between a hole and a boss or an end",
        RuleKind::Skin => "the metal under a blind hole",
        RuleKind::Slot => "a slot between walls and ribs",
        RuleKind::BossSpacing => "the gap between two bosses or a boss and an end",
        RuleKind::InnerRadius => "the radius inside the sharpest bend",
        RuleKind::BoreWall => "the metal around a bore",
        RuleKind::StripWidth => "the metal between two slits",
    }
}

/// A part that breaks a geometric rule is refused, at the worst broken one.
pub(super) fn keeps_rules(part: &Part, layout: &Layout) -> Result<(), BodyError> {
    let rules = Rules::of(part, layout);
    if rules.kept() {
        return Ok(());
    }
    let least = |a: &&crate::part::Rule, b: &&crate::part::Rule| a.value_mm.total_cmp(&b.value_mm);
    match rules.all.iter().min_by(least) {
        Some(rule) => Err(BodyError::Rule {
            kind: rule.kind,
            value_mm: rule.value_mm,
            place: rule.words(part, layout),
        }),
        None => Ok(()),
    }
}
