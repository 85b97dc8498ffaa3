//! Details: one hole of each kind, cut along its axis, with diameter, depth, point and counterbore.

use super::Facts;
use super::dimension::{Angular, Linear};
use super::fits::Fits;
use super::hatch::hatched;
use super::ink::{Anchor, Board, Pen, Point, SMALL};
use super::shape::strip;
use super::view::{View, titled};
use super::void::{Void, bore_void, draw_void, drilled};
use crate::drawing::Cut;
use crate::drawing::standard_scale;
use crate::drawing::text::{decimals, shortened};
use crate::machining::tolerance::Dimension;
use crate::part::{Bore, Boss, Depth, StripName};

/// One kind of hole: what is said of it, and its first place in the list of holes.
pub(crate) struct Kind<'a> {
    pub(crate) caption: String,
    pub(crate) count: usize,
    thick: f64,
    shape: Shape<'a>,
}

enum Shape<'a> {
    Row(usize, f64, Depth),
    Bore(usize, &'a Boss, Bore),
}

/// Every kind of hole once: rows that are alike in diameter, depth and thickness of the metal, bores that are alike.
pub(crate) fn kinds<'a>(facts: &Facts<'a>) -> Vec<Kind<'a>> {
    let (part, layout) = (facts.part, facts.layout);
    let mut kinds: Vec<Kind> = Vec::new();
    for (index, row) in part.hole_rows.iter().enumerate() {
        let count = layout.holes.iter().filter(|hole| hole.row == index).count();
        let Some(strip) = strip(&part.section, row.strip).filter(|_| count > 0) else {
            continue;
        };
        let thick = match row.strip {
            StripName::Floor => strip.z_high - strip.z_low,
            _ => strip.y_high - strip.y_low,
        };
        kinds.push(Kind {
            caption: format!("{}, {}", shortened(&row.name, 24), row.strip.words()),
            count,
            thick,
            shape: Shape::Row(index, row.diameter_mm, row.depth),
        });
    }
    for (index, boss) in part.bosses.iter().enumerate() {
        let Some(bore) = boss.bore else { continue };
        let alike = |other: &Boss| other.bore == boss.bore && other.section == boss.section;
        if part.bosses[..index].iter().any(alike) {
            continue;
        }
        kinds.push(Kind {
            caption: format!("bore of {}", shortened(&boss.name, 24)),
            count: part.bosses.iter().filter(|other| alike(other)).count(),
            thick: boss.bore_top_mm(),
            shape: Shape::Bore(index, boss, bore),
        });
    }
    kinds
}

impl Kind<'_> {
    /// Whether there is more to show than a plain hole through.
    pub(crate) fn telling(&self) -> bool {
        match &self.shape {
            Shape::Row(_, _, depth) => *depth != Depth::Through,
            Shape::Bore(_, _, bore) => bore.counterbore.is_some() || bore.depth_mm.is_some(),
        }
    }

    /// The call-out of the kind: count, diameter with its tolerance, depth, counterbore.
    pub(crate) fn call(&self, fits: &Fits) -> Vec<String> {
        let (size, dimension, depth) = match &self.shape {
            Shape::Row(index, size, depth) => (*size, Dimension::RowDiameter(*index), *depth),
            Shape::Bore(index, _, bore) => (
                bore.diameter_mm,
                Dimension::BoreDiameter(*index),
                bore.depth_mm.map_or(Depth::Through, Depth::Blind),
            ),
        };
        let count = if self.count > 1 {
            format!("{}× ", self.count)
        } else {
            String::new()
        };
        let depth = match depth {
            Depth::Through => String::new(),
            Depth::Blind(depth) => format!(" ↧{}", decimals(depth, 3)),
        };
        let mut lines = vec![format!("{count}{}{depth}", fits.size("⌀", size, dimension))];
        if let Shape::Bore(
            _,
            _,
            Bore {
                counterbore: Some(wide),
                ..
            },
        ) = &self.shape
        {
            lines.push(format!(
                "⌴⌀{} ↧{}",
                decimals(wide.diameter_mm, 3),
                decimals(wide.depth_mm, 3)
            ));
        }
        lines
    }

    /// Row that it is; none where it is a bore.
    pub(crate) fn row(&self) -> Option<usize> {
        match self.shape {
            Shape::Row(index, ..) => Some(index),
            Shape::Bore(..) => None,
        }
    }

    /// Its first boss, by index.
    pub(crate) fn boss(&self) -> Option<usize> {
        match self.shape {
            Shape::Row(..) => None,
            Shape::Bore(index, ..) => Some(index),
        }
    }

    /// Where a section shows one of them: middle in (y, z) and radius around it, in mm; none where it goes through none.
    pub(crate) fn ring(&self, cut: &Cut) -> Option<(Point, f64)> {
        let (middle, deep) = match &self.shape {
            Shape::Row(index, ..) => {
                let hole = cut.perforations.iter().find(|hole| hole.row == *index)?;
                let strip = strip(cut.section, hole.strip)?;
                let across =
                    hole.offset_mm - 0.5 * (hole.rows.max(1) as f64 - 1.0) * hole.row_gap_mm;
                let (y, z) = strip.centre();
                match hole.strip {
                    StripName::Floor => ((across, z), strip.z_high - strip.z_low),
                    _ => ((y, across), strip.y_high - strip.y_low),
                }
            }
            Shape::Bore(_, boss, bore) => {
                let known = cut.bored.filter(|other| other.bore == Some(*bore))?;
                let top = boss.bore_top_mm();
                (known.section == boss.section).then_some(((0.0, 0.5 * top), top))?
            }
        };
        Some((middle, 0.5 * self.widest().hypot(deep)))
    }

    fn widest(&self) -> f64 {
        match &self.shape {
            Shape::Row(_, size, _) => *size,
            Shape::Bore(_, _, bore) => bore.counterbore.map_or(bore.diameter_mm, |c| c.diameter_mm),
        }
    }

    /// The detail with the letter given, as large as `room` (mm, across and up) allows.
    pub(crate) fn view(&self, letter: char, fits: &Fits, room: Point) -> View {
        let wide = 1.9 * self.widest();
        let scale = standard_scale(wide, room.0)
            .min(standard_scale(self.thick, room.1))
            .min(20.0);
        let at = |y: f64, z: f64| (y * scale, -z * scale);
        let mut board = Board::default();
        let (left, right, top) = (-0.5 * wide, 0.5 * wide, self.thick);
        board.line(Pen::Edge, at(left, top), at(right, top));
        board.line(Pen::Edge, at(left, 0.0), at(right, 0.0));
        for side in [left, right] {
            board.chain(Pen::Narrow, &broken(at(side, 0.0), at(side, top)));
        }
        let mut metal = vec![
            [broken(at(left, 0.0), at(left, top)), {
                let mut back = broken(at(right, 0.0), at(right, top));
                back.reverse();
                back
            }]
            .concat(),
        ];
        let void: Void = match &self.shape {
            Shape::Row(_, size, depth) => {
                drilled(*size, *depth, self.thick, &|u, v| (u, self.thick - v))
            }
            Shape::Bore(_, boss, _) => bore_void(boss),
        };
        draw_void(&mut board, &mut metal, &void, &at);
        hatched(&mut board, &metal);
        self.sizes(&mut board, fits, (left, right, top), &at);
        let mut view = titled(board, &letter.to_string(), scale);
        let (low, high) = view.board.extent();
        let words = match self.count {
            1 => self.caption.clone(),
            count => format!("{count}× {}", self.caption),
        };
        let under = (0.5 * (low.0 + high.0), high.1 + 4.6);
        view.board.text(under, Anchor::Middle, SMALL, &words);
        view
    }

    fn sizes(
        &self,
        board: &mut Board,
        fits: &Fits,
        (left, right, top): (f64, f64, f64),
        at: &dyn Fn(f64, f64) -> Point,
    ) {
        let upright =
            |board: &mut Board, y: f64, (from, to): (f64, f64), side: f64, words: &str| {
                let reach = if side > 0.0 {
                    at(right, 0.0).0
                } else {
                    -at(left, 0.0).0
                };
                let (from, to) = (at(y, from), at(y, to));
                Linear {
                    from,
                    to,
                    along: (0.0, -1.0),
                    away: (side, 0.0),
                    reach,
                    words,
                    lean: 0.0,
                }
                .draw(board);
            };
        let across = |board: &mut Board, radius: f64, z: f64, over: bool, words: &str| {
            let (away, reach) = match over {
                true => ((0.0, -1.0), -at(0.0, top).1),
                false => ((0.0, 1.0), 0.0),
            };
            let (from, to) = (at(-radius, z), at(radius, z));
            Linear {
                from,
                to,
                along: (1.0, 0.0),
                away,
                reach,
                words,
                lean: 0.0,
            }
            .draw(board);
        };
        let point = |board: &mut Board, size: f64, depth: f64| {
            let tip = depth + crate::part::drill_point_height_mm(size);
            let centre = at(0.0, top - tip);
            let half = (0.5 * crate::part::POINT_ANGLE_DEG).to_radians();
            let up = -0.5 * std::f64::consts::PI;
            let reach = (0.5 * size / half.sin()) * (at(1.0, 0.0).0 - at(0.0, 0.0).0);
            // Beyond the drilled face, where there is room.
            Angular {
                centre,
                from: up - half,
                turn: 2.0 * half,
                feet: Some(reach),
                reach: (centre.1 - at(0.0, top).1).max(reach),
                words: &format!("{}°", decimals(crate::part::POINT_ANGLE_DEG, 1)),
            }
            .draw(board);
        };
        // The point's angle takes most room.
        match &self.shape {
            Shape::Row(_, size, Depth::Blind(depth)) => point(board, *size, *depth),
            Shape::Bore(_, _, bore) => {
                if let Some(depth) = bore.depth_mm {
                    point(board, bore.diameter_mm, depth);
                }
            }
            Shape::Row(..) => {}
        }
        let blind = |board: &mut Board, size: f64, depth: f64| {
            upright(
                board,
                0.5 * size,
                (top - depth, top),
                1.0,
                &decimals(depth, 3),
            );
        };
        match &self.shape {
            Shape::Row(index, size, depth) => {
                let words = fits.size("⌀", *size, Dimension::RowDiameter(*index));
                across(board, 0.5 * size, top, true, &words);
                if let Depth::Blind(depth) = depth {
                    blind(board, *size, *depth);
                }
            }
            Shape::Bore(index, _, bore) => {
                let words = fits.size("⌀", bore.diameter_mm, Dimension::BoreDiameter(*index));
                match bore.counterbore {
                    None => across(board, 0.5 * bore.diameter_mm, top, true, &words),
                    Some(wide) => {
                        let outer = format!("⌀{}", decimals(wide.diameter_mm, 3));
                        across(board, 0.5 * wide.diameter_mm, top, true, &outer);
                        let depth = decimals(wide.depth_mm, 3);
                        let ends = (top - wide.depth_mm, top);
                        upright(board, -0.5 * wide.diameter_mm, ends, -1.0, &depth);
                        across(board, 0.5 * bore.diameter_mm, 0.0, false, &words);
                    }
                }
                if let Some(depth) = bore.depth_mm {
                    blind(board, bore.diameter_mm, depth);
                }
            }
        }
        // The metal's thickness is dimensioned in the section; here it only helps to read.
        let words = format!("({})", decimals(self.thick, 3));
        upright(board, left, (0.0, top), -1.0, &words);
    }
}

/// A break in the metal: a narrow line with one zigzag.
fn broken(from: Point, to: Point) -> Vec<Point> {
    let share = |t: f64, off: f64| {
        (
            from.0 + t * (to.0 - from.0) + off,
            from.1 + t * (to.1 - from.1),
        )
    };
    vec![
        from,
        share(0.42, 0.0),
        share(0.46, -1.1),
        share(0.54, 1.1),
        share(0.58, 0.0),
        to,
    ]
}
