//! Geometric rules: how much metal or room is left, and where it is least.

/// What a rule watches. All are lengths in mm that should be positive; a negative one says by how much the
/// rule is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RuleKind {
    /// Metal between two neighbouring holes.
    Ligament,
    /// Metal between a hole and the edge of its strip, or the foot of a wall or rib beside it.
    Edge,
    /// Distance along the path between a hole and a boss, or the end of an open path.
    BossGap,
    /// Metal left under a blind hole, drill point included.
    Skin,
    /// Clear width of the narrowest slot between walls and ribs.
    Slot,
    /// Gap between neighbouring bosses along the path, or a boss and an open end.
    BossSpacing,
    /// Radius of the innermost fibre on the inside of the sharpest bend.
    InnerRadius,
    /// Metal around a bore in its boss.
    BoreWall,
}

/// The least value of one rule over the part, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// What is watched.
    pub kind: RuleKind,
    /// Least value, in mm; infinite where the part has nothing of the kind.
    pub value_mm: f64,
    /// Where, in words: `row "relief", holes 3 and 4, s = 31.2 mm`. Empty where there is nothing.
    pub place: String,
}

/// All rules of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// One entry a kind, in the order of [`RuleKind`].
    pub all: Vec<Rule>,
}

impl Rules {
    /// Least value of a kind, in mm; infinite where the part has nothing of it.
    pub fn value_mm(&self, kind: RuleKind) -> f64 {
        self.all
            .iter()
            .find(|rule| rule.kind == kind)
            .map_or(f64::INFINITY, |rule| rule.value_mm)
    }
}
