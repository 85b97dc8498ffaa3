//! Views on sheets: the main view with its side view first, at the largest standard scale for which there is room, then
//! sections, details and the table of holes wherever they fit.

use super::detail::{Kind, kinds};
use super::elevation::elevation;
use super::fits::Fits;
use super::frame::{Numbering, block_place, frame, inside, notes};
use super::ink::{Anchor, Board, Point};
use super::plan::Plan;
use super::plan_holes::drilled;
use super::section::{Ring, section_view};
use super::shape::{bounds, circle, top_at};
use super::side::{Look, Seen, seen};
use super::table::hole_table;
use super::view::View;
use super::{Facts, Paper, Projection};
use crate::drawing::lettering::Weight;
use crate::drawing::{Cut, cuts, scale_words};
use crate::part::StripName;

/// Standard scales (ISO 5455), the largest first.
const SCALES: [f64; 14] = [
    20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001,
];
/// Clear paper between views, in mm.
const APART: f64 = 7.0;
/// A side view thinner than this on paper, in mm, shows nothing.
const THIN: f64 = 2.0;
/// Of detail letters, the first; the ones before it follow.
const DETAILS: [char; 6] = ['Z', 'Y', 'X', 'W', 'V', 'U'];
/// Names of sections: letters that are easily misread are left out (ISO 128-3).
const LETTERS: [char; 8] = ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H'];

/// A sheet being filled: what is drawn, and rectangles that are taken (left, top, right, bottom).
struct Sheet {
    board: Board,
    taken: Vec<[f64; 4]>,
}

impl Sheet {
    /// The first free place of a view, row by row from the upper left: what its origin must be moved by.
    fn room_for(&self, view: &View, paper: Paper) -> Option<Point> {
        let [left, top, right, bottom] = inside(paper);
        let (low, _) = view.board.extent();
        let (wide, tall) = view.size();
        let (most_x, most_y) = (right - APART - wide, bottom - APART - tall);
        let mut y = top + APART;
        while y <= most_y {
            let mut x = left + APART;
            while x <= most_x {
                let own = [x - APART, y - APART, x + wide + APART, y + tall + APART];
                let in_way = self.taken.iter().find(|other| {
                    own[0] < other[2] && other[0] < own[2] && own[1] < other[3] && other[1] < own[3]
                });
                match in_way {
                    None => return Some((x - low.0, y - low.1)),
                    Some(other) => x = x.max(other[2] + APART) + 0.5,
                }
            }
            y += 2.0;
        }
        None
    }

    fn put(&mut self, view: &View, by: Point) {
        let (low, high) = view.board.extent();
        self.taken
            .push([low.0 + by.0, low.1 + by.1, high.0 + by.0, high.1 + by.1]);
        self.board.place(&view.board, by);
    }
}

/// Everything that does not depend on a scale.
struct Matter<'a> {
    facts: &'a Facts<'a>,
    fits: Fits<'a>,
    projection: Projection,
    cuts: Vec<Cut<'a>>,
    kinds: Vec<Kind<'a>>,
    sides: [(Look, Seen, Option<f64>); 2],
    /// Letter of the full section.
    full: char,
}

/// The sheets of a drawing, complete.
pub(crate) fn sheets(facts: &Facts, projection: Projection, paper: Paper) -> Vec<Board> {
    let (part, layout) = (facts.part, facts.layout);
    let cuts = cuts(part, layout);
    let (low, high) = bounds(part, layout);
    let middle = (0.5 * (low.0 + high.0), 0.5 * (low.1 + high.1));
    let side = |look: Look| {
        let cut = part.path.closed().then(|| look.of(middle).1);
        (look, seen(part, layout, look, cut), cut)
    };
    let matter = Matter {
        facts,
        fits: Fits::new(facts.tolerances),
        projection,
        full: LETTERS[cuts.len().min(LETTERS.len() - 1)],
        kinds: kinds(facts),
        sides: [side(Look::Right), side(Look::Below)],
        cuts,
    };
    matter.filled(paper)
}

impl Matter<'_> {
    fn filled(&self, paper: Paper) -> Vec<Board> {
        let block = block_place(paper);
        let lines = self.notes(true);
        let noted = notes(paper, &lines);
        let start = |first: bool| {
            let mut sheet = Sheet {
                board: Board::default(),
                taken: vec![block],
            };
            if first {
                let (low, high) = noted.extent();
                sheet.taken.push([low.0, low.1, high.0, high.1]);
            }
            sheet
        };
        let (scale, main) = self.main(paper, &start(true));
        let mut sheets = vec![start(true)];
        match sheets[0].room_for(&main, paper) {
            Some(by) => sheets[0].put(&main, by),
            None => {
                // Nothing smaller is left to try: as it is, from the upper left corner.
                let (low, _) = main.board.extent();
                let [left, top, ..] = inside(paper);
                sheets[0].put(&main, (left + APART - low.0, top + APART - low.1));
            }
        }
        for index in 0..self.cuts.len() {
            self.place(&mut sheets, paper, &start, &|room| {
                self.section(index, room)
            });
        }
        for (kind, letter) in self.details() {
            self.place(&mut sheets, paper, &start, &|room| {
                Some(kind.view(letter, &self.fits, (room, 0.6 * room)))
            });
        }
        let listed = self.table(&mut sheets, paper, &start);
        let count = sheets.len();
        let words = scale_words(scale);
        let finish = |(index, sheet): (usize, Sheet)| {
            let numbering = Numbering {
                sheet: index + 1,
                sheets: count,
                scale: &words,
                class: self.fits.class_words(),
            };
            let mut board = frame(self.facts, paper, self.projection, &numbering);
            if index == 0 {
                board.place(&notes(paper, &self.notes(listed)), (0.0, 0.0));
            }
            board.place(&sheet.board, (0.0, 0.0));
            board
        };
        sheets.into_iter().enumerate().map(finish).collect()
    }

    /// The main view at the largest scale at which it leaves room for the first section, or at which it fits at all.
    fn main(&self, paper: Paper, empty: &Sheet) -> (f64, View) {
        let (low, high) = bounds(self.facts.part, self.facts.layout);
        let [left, top, right, bottom] = inside(paper);
        let mut found: Option<(f64, View)> = None;
        for scale in SCALES {
            let (wide, tall) = (scale * (high.0 - low.0), scale * (high.1 - low.1));
            if wide > right - left - 20.0 || tall > bottom - top - 20.0 {
                continue;
            }
            for (look, seen, cut) in &self.sides {
                let view = self.block(scale, *look, seen, *cut);
                let Some(by) = empty.room_for(&view, paper) else {
                    continue;
                };
                let mut sheet = Sheet {
                    board: Board::default(),
                    taken: empty.taken.clone(),
                };
                sheet.put(&view, by);
                let section = self.section(0, 60.0);
                let with = section.is_none_or(|section| sheet.room_for(&section, paper).is_some());
                if with {
                    return (scale, view);
                }
                found.get_or_insert((scale, view));
            }
            // A smaller scale only where it lets the section in, and is no reduction.
            if found
                .as_ref()
                .is_some_and(|found| found.0 > 2.6 * scale || found.0 <= 1.0)
            {
                break;
            }
        }
        found.unwrap_or_else(|| {
            let scale = SCALES[SCALES.len() - 1];
            let (look, seen, cut) = &self.sides[1];
            (scale, self.block(scale, *look, seen, *cut))
        })
    }

    /// Plan and side view, in line with each other as the projection has them.
    fn block(&self, scale: f64, look: Look, seen: &Seen, cut: Option<f64>) -> View {
        let mut plan = Plan {
            facts: self.facts,
            fits: &self.fits,
            scale,
            board: Board::default(),
            letters: Vec::new(),
        };
        plan.edges();
        plan.holes();
        plan.centre_lines();
        for each in &self.cuts {
            plan.cut(each, self.station(each, look, cut));
        }
        if let Some(depth) = cut {
            plan.plane(look, depth, self.full);
        }
        // Short sizes first; those of a round frame start at its sides, where others would be in the way.
        if circle(&self.facts.part.path).is_some() {
            plan.sizes();
            plan.pitch();
            plan.bosses();
        } else {
            plan.bosses();
            plan.sizes();
        }
        plan.letters();
        plan.datum();
        plan.calls(&self.kinds);
        plan.numbers();
        let mut board = plan.board;
        let mut side = elevation(seen, look, scale);
        let (low, high) = side.extent();
        let thin = (high.0 - low.0).min(high.1 - low.1) < THIN;
        if thin && cut.is_none() {
            // A line would be seen; the section shows the thickness.
            return View { board };
        }
        if cut.is_some() {
            let words = format!("{0}–{0}", self.full);
            let at = (0.5 * (low.0 + high.0), low.1 - 3.0);
            side.words(at, (1.0, 0.0), Anchor::Middle, 4.4, Weight::Regular, &words);
        }
        let ((plan_low, plan_high), (low, high)) = (board.extent(), side.extent());
        let gap = 2.0 * APART;
        let first = self.projection == Projection::First;
        let by = match (look, first) {
            (Look::Right, true) => (plan_low.0 - gap - high.0, 0.0),
            (Look::Right, false) => (plan_high.0 + gap - low.0, 0.0),
            (Look::Below, true) => (0.0, plan_low.1 - gap - high.1),
            (Look::Below, false) => (0.0, plan_high.1 + gap - low.1),
        };
        board.place(&side, by);
        View { board }
    }

    /// Where a section is marked: of equal bosses at the one farthest from the plane of the full section.
    fn station(&self, cut: &Cut, look: Look, plane: Option<f64>) -> f64 {
        let (Some(_), Some(depth)) = (cut.bored, plane) else {
            return cut.station_mm;
        };
        let part = self.facts.part;
        let off = |station: f64| {
            let (x, y) = part.path.pose(station).left(0.0);
            (look.of((x, y)).1 - depth).abs()
        };
        let alike = part
            .bosses
            .iter()
            .filter(|boss| boss.section == *cut.section && boss.bore.is_some());
        let mut best = cut.station_mm;
        for boss in alike {
            if off(boss.station_mm) > off(best) + 1e-6 {
                best = boss.station_mm;
            }
        }
        best
    }

    /// The section of a cut, no wider than `room` before its sizes are written.
    fn section(&self, index: usize, room: f64) -> Option<View> {
        let cut = self.cuts.get(index)?;
        let wide = cut.section.width_mm.max(1.6 * cut.section.height_mm());
        let scale = SCALES
            .into_iter()
            .find(|scale| scale * wide <= room)?
            .min(20.0);
        let known = self
            .facts
            .layout
            .sections
            .iter()
            .position(|each| each == cut.section);
        let rings: Vec<Ring> = self
            .details()
            .filter_map(|(kind, letter)| {
                let (middle, radius) = kind.ring(cut)?;
                Some(Ring {
                    letter,
                    middle,
                    radius,
                })
            })
            .collect();
        let main = (known.unwrap_or(0), &self.facts.part.section);
        let view = section_view(cut, main, &rings, &self.fits, scale);
        Some(view)
    }

    /// Kinds of holes that are shown as details, with their letters: those that a call-out can't show, or the first.
    fn details(&self) -> impl Iterator<Item = (&Kind<'_>, char)> {
        let telling: Vec<&Kind> = self.kinds.iter().filter(|kind| kind.telling()).collect();
        let shown = if telling.is_empty() {
            self.kinds.iter().take(1).collect()
        } else {
            telling
        };
        shown.into_iter().zip(DETAILS)
    }

    /// A view on the first sheet with room for it, smaller where that helps, else on a sheet of its own.
    fn place(
        &self,
        sheets: &mut Vec<Sheet>,
        paper: Paper,
        start: &dyn Fn(bool) -> Sheet,
        view: &dyn Fn(f64) -> Option<View>,
    ) {
        let rooms = [72.0, 50.0, 36.0];
        let views: Vec<View> = rooms.into_iter().filter_map(view).collect();
        for view in &views {
            for sheet in sheets.iter_mut() {
                if let Some(by) = sheet.room_for(view, paper) {
                    sheet.put(view, by);
                    return;
                }
            }
        }
        let mut sheet = start(false);
        for view in &views {
            if let Some(by) = sheet.room_for(view, paper) {
                sheet.put(view, by);
                sheets.push(sheet);
                return;
            }
        }
    }

    /// The table of holes where there is room, or on a sheet of its own; whether it found any.
    fn table(&self, sheets: &mut Vec<Sheet>, paper: Paper, start: &dyn Fn(bool) -> Sheet) -> bool {
        let holes = self.facts.holes;
        let round = circle(&self.facts.part.path).is_some();
        if holes.is_empty() {
            return true;
        }
        let blocks = 1..=5.min(holes.len().div_ceil(4));
        let views: Vec<View> = blocks
            .map(|blocks| hole_table(holes, round, blocks))
            .collect();
        sheets.push(start(false));
        for sheet in sheets.iter_mut() {
            for view in &views {
                if let Some(by) = sheet.room_for(view, paper) {
                    sheet.put(view, by);
                    drop_empty(sheets);
                    return true;
                }
            }
        }
        drop_empty(sheets);
        false
    }

    /// What holds for the whole drawing.
    fn notes(&self, listed: bool) -> Vec<String> {
        let facts = self.facts;
        let mut lines = vec![
            "Dimensions in mm. Tolerances stated are those of the process; all others are general."
                .to_string(),
        ];
        if let Some(place) = self.fits.position_mm().filter(|_| drilled(facts.part)) {
            let place = crate::drawing::text::decimals(place, 3);
            let table = if listed { "the table" } else { "holes.csv" };
            lines.push(format!(
                "Holes at the places of {table}, ±{place} against those drilled from the same side."
            ));
            lines.push(
                "Holes are numbered along the path; where there is no room their numbers are left out."
                    .into(),
            );
        }
        let walls = facts
            .part
            .hole_rows
            .iter()
            .any(|row| row.strip != StripName::Floor);
        if walls {
            lines
                .push("Holes in walls are drilled square to the wall, from its outer side.".into());
        }
        if facts.edge_mm.is_some() {
            lines.push("Remove burrs; break outside edges evenly.".into());
        }
        let tall = facts
            .layout
            .sections
            .iter()
            .any(|section| top_at(section, 0.0) > 0.0);
        if tall && facts.part.path.closed() {
            lines.push("X, Y: middle of the frame. Heights from the underside.".into());
        } else {
            lines.push("X, Y: start of the centreline. Heights from the underside.".into());
        }
        lines.extend(facts.notes.iter().cloned());
        lines.push(
            "Made from estimates. Where failure can hurt someone, tests, local codes and a licensed engineer decide. Thin \
             parts can fly out of the vice; spring steel stores energy; magnesium chips burn."
                .into(),
        );
        lines
    }
}

/// A sheet that nothing was put on is taken away again.
fn drop_empty(sheets: &mut Vec<Sheet>) {
    sheets.retain(|sheet| !sheet.board.marks.is_empty());
}
