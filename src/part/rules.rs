//! Geometric rules: how much metal or room is left, and where it is least.

use super::layout::boss_at;
use super::path::around;
use super::{Depth, Hole, HoleRow, Layout, Part, StripName, drill_point_height_mm};

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
    /// Width of the strips between slits.
    StripWidth,
}

impl RuleKind {
    /// All kinds, in the order of [`Rules::all`].
    pub const ALL: [RuleKind; 9] = [
        RuleKind::Ligament,
        RuleKind::Edge,
        RuleKind::BossGap,
        RuleKind::Skin,
        RuleKind::Slot,
        RuleKind::BossSpacing,
        RuleKind::InnerRadius,
        RuleKind::BoreWall,
        RuleKind::StripWidth,
    ];
}

/// Where a rule is tightest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// The part has nothing of the kind.
    Nowhere,
    /// At a hole: index in [`Layout::holes`], and the neighbour's where there is one.
    Hole(usize, Option<usize>),
    /// In a section: index in [`Layout::sections`], and which slot.
    Slot(usize, usize),
    /// At a boss: index in [`Part::bosses`], and the neighbour's where there is one.
    Boss(usize, Option<usize>),
    /// At a piece of the path.
    Piece(usize),
}

/// The least value of one rule over the part, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// What is watched.
    pub kind: RuleKind,
    /// Least value, in mm; infinite where the part has nothing of the kind.
    pub value_mm: f64,
    /// Where.
    pub place: Place,
}

/// All rules of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules {
    /// One entry a kind, in the order of [`RuleKind::ALL`].
    pub all: [Rule; 9],
}

impl Rules {
    /// The rules of a part cut into segments.
    pub fn of(part: &Part, layout: &Layout) -> Rules {
        let mut rules = Rules {
            all: RuleKind::ALL.map(|kind| Rule {
                kind,
                value_mm: f64::INFINITY,
                place: Place::Nowhere,
            }),
        };
        rules.neighbours(part, layout);
        rules.holes_in_strips(part, layout);
        rules.bosses(part, layout);
        for (section, each) in layout.sections.iter().enumerate() {
            for (slot, (from, to)) in each.slots().into_iter().enumerate() {
                rules.least(RuleKind::Slot, to - from, Place::Slot(section, slot));
            }
        }
        let half_width = layout
            .sections
            .iter()
            .map(|section| 0.5 * section.width_mm)
            .fold(0.0, f64::max);
        for (piece, each) in part.path.pieces().iter().enumerate() {
            let curvature = each.curvature();
            if curvature != 0.0 {
                rules.least(
                    RuleKind::InnerRadius,
                    1.0 / curvature.abs() - half_width,
                    Place::Piece(piece),
                );
            }
        }
        rules
    }

    /// Least value of a kind, in mm; infinite where the part has nothing of it.
    pub fn value_mm(&self, kind: RuleKind) -> f64 {
        self.all[kind as usize].value_mm
    }

    /// Whether every rule is kept: metal is left where metal must be, and room is not less than none elsewhere.
    pub fn kept(&self) -> bool {
        self.all.iter().all(|rule| match rule.kind {
            RuleKind::BossGap | RuleKind::BossSpacing | RuleKind::Slot => rule.value_mm >= 0.0,
            _ => rule.value_mm > 1e-9,
        })
    }

    /// Least value over all kinds, in mm: negative where the part can't be made as drawn.
    pub fn least_mm(&self) -> f64 {
        self.all
            .iter()
            .map(|rule| rule.value_mm)
            .fold(f64::INFINITY, f64::min)
    }

    fn least(&mut self, kind: RuleKind, value_mm: f64, place: Place) {
        let rule = &mut self.all[kind as usize];
        // Not a number counts as broken.
        if !(value_mm >= rule.value_mm) {
            rule.value_mm = if value_mm.is_nan() {
                f64::NEG_INFINITY
            } else {
                value_mm
            };
            rule.place = place;
        }
    }

    /// Metal between every hole and its neighbours in the same strip.
    ///
    /// Holes are kept line by line in order of their station, so neighbours are found by walking two lines
    /// at once; every pair of lines in one strip is walked.
    fn neighbours(&mut self, part: &Part, layout: &Layout) {
        let lines = lines(&layout.holes);
        let single = lines.len() == 1;
        let placed: Vec<Placed> = if single {
            Vec::new()
        } else {
            layout
                .holes
                .iter()
                .map(|hole| Placed::of(part, hole))
                .collect()
        };
        for (index, &a) in lines.iter().enumerate() {
            let row_a = &part.hole_rows[layout.holes[a.0].row];
            self.within_line(part, layout, row_a, a);
            for &b in &lines[index + 1..] {
                let row_b = &part.hole_rows[layout.holes[b.0].row];
                if row_a.strip == row_b.strip {
                    self.between_lines(part, layout, &placed, (row_a, a), (row_b, b));
                }
            }
        }
    }

    fn within_line(&mut self, part: &Part, layout: &Layout, row: &HoleRow, line: (usize, usize)) {
        let faces = faces(part, row.strip);
        let mut metal = |a: usize, b: usize| {
            let (from, to) = (&layout.holes[a], &layout.holes[b]);
            let apart = apart_mm(
                faces,
                (&Placed::of(part, from), from),
                (&Placed::of(part, to), to),
            );
            self.least(
                RuleKind::Ligament,
                apart - row.diameter_mm,
                Place::Hole(a, Some(b)),
            );
        };
        let mut last = (f64::NAN, f64::NAN, f64::NAN);
        for index in line.0..line.1.saturating_sub(1) {
            let (a, b) = (
                layout.holes[index].station_mm,
                layout.holes[index + 1].station_mm,
            );
            let (from, to) = (part.path.curvature(a), part.path.curvature(b));
            // Most steps repeat the one before: same length, same curvature.
            if (b - a - last.0).abs() < 1e-9 && (from, to) == (last.1, last.2) {
                continue;
            }
            last = (b - a, from, to);
            metal(index, index + 1);
        }
        if part.path.closed() && line.1 - line.0 > 1 {
            metal(line.1 - 1, line.0);
        }
    }

    fn between_lines(
        &mut self,
        part: &Part,
        layout: &Layout,
        placed: &[Placed],
        (row_a, a): (&HoleRow, (usize, usize)),
        (row_b, b): (&HoleRow, (usize, usize)),
    ) {
        let radii = 0.5 * (row_a.diameter_mm + row_b.diameter_mm);
        // Holes further along than this are further apart than neighbours in their own line.
        let reach = row_a.pitch_mm.max(row_b.pitch_mm) + radii;
        let faces = faces(part, row_a.strip);
        let turns: &[f64] = if part.path.closed() {
            &[-1.0, 0.0, 1.0]
        } else {
            &[0.0]
        };
        for turn in turns.iter().map(|turn| turn * layout.length_mm) {
            let mut start = b.0;
            for index in a.0..a.1 {
                let hole = &layout.holes[index];
                let from = hole.station_mm - reach - turn;
                let to = hole.station_mm + reach - turn;
                while start < b.1 && layout.holes[start].station_mm < from {
                    start += 1;
                }
                for other in start..b.1 {
                    if layout.holes[other].station_mm > to {
                        break;
                    }
                    let apart = apart_mm(
                        faces,
                        (&placed[index], hole),
                        (&placed[other], &layout.holes[other]),
                    );
                    self.least(
                        RuleKind::Ligament,
                        apart - radii,
                        Place::Hole(index, Some(other)),
                    );
                }
            }
        }
    }

    fn holes_in_strips(&mut self, part: &Part, layout: &Layout) {
        let strips = part.section.strips();
        let bosses: Vec<(f64, f64)> = part
            .bosses
            .iter()
            .map(|boss| (boss.station_mm, 0.5 * boss.length_mm))
            .collect();
        let mut last = None;
        for (index, hole) in layout.holes.iter().enumerate() {
            let row = &part.hole_rows[hole.row];
            let radius = 0.5 * row.diameter_mm;
            self.boss_gap(part, layout, &bosses, index, radius);
            if last == Some((hole.row, hole.line)) {
                continue;
            }
            last = Some((hole.row, hole.line));
            let place = Place::Hole(index, None);
            let Some(strip) = strips.iter().find(|strip| strip.name == row.strip) else {
                self.least(RuleKind::Edge, f64::NEG_INFINITY, place);
                continue;
            };
            let (low, high, thickness) = match row.strip {
                StripName::Floor => (strip.y_low, strip.y_high, strip.z_high - strip.z_low),
                _ => (strip.z_low, strip.z_high, strip.y_high - strip.y_low),
            };
            let across = hole.across_mm;
            self.least(
                RuleKind::Edge,
                (across - low).min(high - across) - radius,
                place,
            );
            if row.strip == StripName::Floor {
                for standing in strips.iter().filter(|strip| strip.name != StripName::Floor) {
                    let gap = (standing.y_low - across).max(across - standing.y_high);
                    self.least(RuleKind::Edge, gap - radius, place);
                }
            }
            if let Depth::Blind(depth) = row.depth {
                let left = thickness - depth - drill_point_height_mm(row.diameter_mm);
                self.least(RuleKind::Skin, left, place);
            }
        }
    }

    fn boss_gap(
        &mut self,
        part: &Part,
        layout: &Layout,
        bosses: &[(f64, f64)],
        index: usize,
        radius: f64,
    ) {
        let station = layout.holes[index].station_mm;
        let place = Place::Hole(index, None);
        for &(middle, half) in bosses {
            let apart = along(part, layout, station, middle);
            self.least(RuleKind::BossGap, apart - half - radius, place);
        }
        if !part.path.closed() {
            let to_end = station.min(layout.length_mm - station);
            self.least(RuleKind::BossGap, to_end - radius, place);
        }
    }

    fn bosses(&mut self, part: &Part, layout: &Layout) {
        for (index, boss) in part.bosses.iter().enumerate() {
            let half = 0.5 * boss.length_mm;
            for (other, each) in part.bosses.iter().enumerate().skip(index + 1) {
                let apart = along(part, layout, boss.station_mm, each.station_mm);
                self.least(
                    RuleKind::BossSpacing,
                    apart - half - 0.5 * each.length_mm,
                    Place::Boss(index, Some(other)),
                );
            }
            let room = if part.path.closed() {
                layout.length_mm - boss.length_mm
            } else {
                boss.station_mm.min(layout.length_mm - boss.station_mm) - half
            };
            // A boss may end flush with the part.
            if room < -1e-9 || part.path.closed() {
                self.least(RuleKind::BossSpacing, room, Place::Boss(index, None));
            }
            if boss.section.slits.is_some() {
                let width = boss.section.floor_strip_mm();
                self.least(RuleKind::StripWidth, width, Place::Boss(index, None));
            }
            if let Some(bore) = boss.bore {
                let widest = bore.counterbore.map_or(0.0, |wide| wide.diameter_mm);
                let metal =
                    half.min(0.5 * boss.section.width_mm) - 0.5 * bore.diameter_mm.max(widest);
                self.least(RuleKind::BoreWall, metal, Place::Boss(index, None));
                if let Some(counterbore) = bore.counterbore {
                    let left = boss.bore_top_mm() - counterbore.depth_mm;
                    self.least(RuleKind::Skin, left, Place::Boss(index, None));
                }
                if let Some(depth) = bore.depth_mm {
                    let left =
                        boss.section.height_mm() - depth - drill_point_height_mm(bore.diameter_mm);
                    self.least(RuleKind::Skin, left, Place::Boss(index, None));
                }
            }
        }
    }
}

impl Rule {
    /// Where the rule is tightest, in words: `row relief, holes 3 and 4, s = 31.2 mm`. Empty where the part
    /// has nothing of the kind.
    pub fn words(&self, part: &Part, layout: &Layout) -> String {
        let number = |hole: usize| {
            let row = layout.holes[hole].row;
            let first = layout.holes.iter().position(|each| each.row == row);
            hole - first.unwrap_or(hole) + 1
        };
        let row = |hole: usize| &part.hole_rows[layout.holes[hole].row].name;
        let along = |hole: usize| {
            let station = layout.holes[hole].station_mm;
            if layout.closed {
                around(station, layout.length_mm)
            } else {
                station
            }
        };
        match self.place {
            Place::Nowhere => String::new(),
            Place::Hole(hole, None) => {
                let station = along(hole);
                let near = boss_at(part, station, layout.length_mm)
                    .map(|boss| format!(" (in boss {})", part.bosses[boss].name))
                    .unwrap_or_default();
                format!(
                    "row {}, hole {}, s = {station:.1} mm{near}",
                    row(hole),
                    number(hole)
                )
            }
            Place::Hole(hole, Some(other)) if layout.holes[hole].row == layout.holes[other].row => {
                format!(
                    "row {}, holes {} and {}, s = {:.1} mm",
                    row(hole),
                    number(hole),
                    number(other),
                    along(hole)
                )
            }
            Place::Hole(hole, Some(other)) => format!(
                "row {}, hole {} and row {}, hole {}, s = {:.1} mm",
                row(hole),
                number(hole),
                row(other),
                number(other),
                layout.holes[hole].station_mm
            ),
            Place::Slot(0, slot) => format!("slot {} of the frame's section", slot + 1),
            Place::Slot(_, slot) => format!("slot {} of a boss's section", slot + 1),
            Place::Boss(boss, None) => part.bosses[boss].words(),
            Place::Boss(boss, Some(other)) => format!(
                "{} and {}",
                part.bosses[boss].words(),
                part.bosses[other].words()
            ),
            Place::Piece(piece) => format!("piece {} of the path", piece + 1),
        }
    }
}

/// Ranges of [`Layout::holes`] that share row and line.
///
/// A row between bosses puts each line down once a free length; ranges of one line are joined only where they
/// follow one another, which they do for one line a row.
fn lines(holes: &[Hole]) -> Vec<(usize, usize)> {
    let mut lines: Vec<(usize, usize)> = Vec::new();
    for (index, hole) in holes.iter().enumerate() {
        match lines.last_mut() {
            Some(line)
                if (holes[line.0].row, holes[line.0].line) == (hole.row, hole.line)
                    && holes[index - 1].station_mm < hole.station_mm =>
            {
                line.1 = index + 1;
            }
            _ => lines.push((index, index + 1)),
        }
    }
    lines
}

/// Distance along the path between two stations, in mm, the short way round on a closed path.
fn along(part: &Part, layout: &Layout, a: f64, b: f64) -> f64 {
    let apart = (a - b).abs();
    if part.path.closed() {
        let apart = around(apart, layout.length_mm);
        apart.min(layout.length_mm - apart)
    } else {
        apart
    }
}

/// A hole's station in the plan: point on the path, and the unit vector to its left.
struct Placed {
    point: (f64, f64),
    left: (f64, f64),
}

impl Placed {
    fn of(part: &Part, hole: &Hole) -> Placed {
        let pose = part.path.pose(hole.station_mm);
        let (sin, cos) = pose.heading.sin_cos();
        Placed {
            point: (pose.x, pose.y),
            left: (-sin, cos),
        }
    }

    fn at(&self, y: f64) -> (f64, f64) {
        (
            self.point.0 + y * self.left.0,
            self.point.1 + y * self.left.1,
        )
    }
}

/// The two faces (y low, y high) of a wall or rib that is drilled; none for the floor.
fn faces(part: &Part, strip: StripName) -> Option<(f64, f64)> {
    if strip == StripName::Floor {
        return None;
    }
    let strips = part.section.strips();
    let strip = strips.iter().find(|each| each.name == strip)?;
    Some((strip.y_low, strip.y_high))
}

/// Distance between the axes of two holes of one strip, in mm: in the floor as they lie in the plan; in walls
/// and ribs (`faces`) along the strip's shorter face and over its height.
fn apart_mm(faces: Option<(f64, f64)>, a: (&Placed, &Hole), b: (&Placed, &Hole)) -> f64 {
    let plan = |y_a: f64, y_b: f64| {
        let (p, q) = (a.0.at(y_a), b.0.at(y_b));
        (p.0 - q.0).hypot(p.1 - q.1)
    };
    match faces {
        None => plan(a.1.across_mm, b.1.across_mm),
        Some((low, high)) => plan(low, low)
            .min(plan(high, high))
            .hypot(a.1.across_mm - b.1.across_mm),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{Boss, Path, Section, Wall};

    fn wall(thickness_mm: f64) -> Option<Wall> {
        Some(Wall {
            thickness_mm,
            height_mm: 8.0,
        })
    }

    fn row(diameter_mm: f64, pitch_mm: f64) -> HoleRow {
        HoleRow {
            name: "relief".into(),
            strip: StripName::Floor,
            diameter_mm,
            pitch_mm,
            depth: Depth::Through,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm: 0.0,
            span_mm: None,
            clearance_mm: 1.0,
        }
    }

    fn part(path: Path, hole_rows: Vec<HoleRow>) -> Part {
        Part {
            path,
            section: Section {
                width_mm: 12.0,
                floor_mm: 2.0,
                outer_wall: wall(1.0),
                inner_wall: wall(2.0),
                ribs: Vec::new(),
                slits: None,
            },
            bosses: Vec::new(),
            hole_rows,
            carried: Vec::new(),
        }
    }

    fn rules(part: &Part) -> Rules {
        Rules::of(part, &Layout::new(part, &[]).unwrap())
    }

    fn close(got: f64, want: f64) {
        assert!((got - want).abs() < 1e-9, "{got} is not {want}");
    }

    /// Plane trigonometry: n holes round a circle of radius R are 2 R sin(pi/n) apart.
    #[test]
    fn ligament_is_the_chord_less_the_diameter() {
        let radius = 40.0;
        let pitch = std::f64::consts::TAU * radius / 50.0;
        let part = part(Path::circle(radius).unwrap(), vec![row(3.0, pitch)]);
        let rules = rules(&part);
        let chord = 2.0 * radius * (std::f64::consts::PI / 50.0).sin();
        close(rules.value_mm(RuleKind::Ligament), chord - 3.0);
        // Clear floor between the walls is -5 to +4: the hole at 0 is nearest the inner wall.
        close(rules.value_mm(RuleKind::Edge), 4.0 - 1.5);
        close(rules.value_mm(RuleKind::Slot), 9.0);
        close(rules.value_mm(RuleKind::InnerRadius), 34.0);
    }

    #[test]
    fn two_staggered_rows_see_each_other_across_the_start() {
        let radius = 40.0;
        let pitch = std::f64::consts::TAU * radius / 50.0;
        let mut rows = row(2.0, pitch);
        rows.rows = 2;
        rows.row_gap_mm = 3.0;
        rows.stagger = 0.5;
        let part = part(Path::circle(radius).unwrap(), vec![rows]);
        // Law of cosines between radii R - 1.5 and R + 1.5, half a pitch apart.
        let (a, b) = (radius - 1.5, radius + 1.5);
        let turn = std::f64::consts::PI / 50.0;
        let apart = (a * a + b * b - 2.0 * a * b * turn.cos()).sqrt();
        let layout = Layout::new(&part, &[]).unwrap();
        assert_eq!(layout.holes.len(), 100);
        close(rules(&part).value_mm(RuleKind::Ligament), apart - 2.0);
    }

    #[test]
    fn a_hole_wider_than_its_strip_breaks_the_edge_rule() {
        let part = part(Path::circle(60.0).unwrap(), vec![row(9.5, 12.0)]);
        let rules = rules(&part);
        close(rules.value_mm(RuleKind::Edge), 4.0 - 4.75);
        assert!(rules.least_mm() < 0.0);
    }

    #[test]
    fn holes_keep_clear_of_bosses_and_ends() {
        let path = Path::chain(vec![crate::part::Piece::Line { length_mm: 100.0 }], false).unwrap();
        let mut part = part(path, vec![row(4.0, 6.0)]);
        part.bosses.push(Boss {
            name: "lug".into(),
            station_mm: 50.0,
            length_mm: 10.0,
            section: part.section.clone(),
            bore: None,
        });
        let layout = Layout::new(&part, &[]).unwrap();
        // 45 mm free on each side, 39 of it for centres: 7 holes take 36, 1.5 more at each end.
        assert_eq!(layout.holes.len(), 14);
        close(layout.holes[0].station_mm, 4.5);
        close(rules(&part).value_mm(RuleKind::BossGap), 2.5);
    }

    #[test]
    fn a_drill_point_must_not_break_through() {
        let mut blind = row(3.0, 6.0);
        blind.depth = Depth::Blind(1.5);
        let part = part(Path::circle(60.0).unwrap(), vec![blind]);
        close(
            rules(&part).value_mm(RuleKind::Skin),
            2.0 - 1.5 - drill_point_height_mm(3.0),
        );
        assert!(rules(&part).value_mm(RuleKind::Skin) < 0.0);
    }
}
