//! The hole table of a drawing.

use super::ink::{Anchor, Board, Pen, SMALL, words_width};
use super::view::View;
use crate::drawing::lettering::Weight;
use crate::drawing::text::decimals;
use crate::handoff::HoleRecord;

const ROW: f64 = 4.4;
/// Between blocks that stand side by side.
const BETWEEN: f64 = 5.0;

/// The holes in so many blocks side by side.
pub(crate) fn hole_table(holes: &[HoleRecord], round: bool, blocks: usize) -> View {
    let mut board = Board::default();
    let rows = holes.len().div_ceil(blocks.max(1)).max(1);
    let heads = heads(holes, round);
    let cells: Vec<Vec<String>> = holes.iter().map(|hole| cells(hole, &heads)).collect();
    let widths: Vec<f64> = (0..heads.len())
        .map(|k| {
            let all = cells.iter().map(|row| row[k].as_str()).chain([heads[k].1]);
            let widest = all
                .map(|text| words_width(SMALL, Weight::Regular, text))
                .fold(0.0, f64::max);
            widest + 2.6
        })
        .collect();
    let total: f64 = widths.iter().sum();
    let mut x0 = 0.0;
    for block in cells.chunks(rows) {
        let bottom = ROW * (block.len() as f64 + 1.0);
        for k in 0..=block.len() + 1 {
            board.line(
                Pen::Narrow,
                (x0, ROW * k as f64),
                (x0 + total, ROW * k as f64),
            );
        }
        let mut x = x0;
        board.line(Pen::Narrow, (x, 0.0), (x, bottom));
        for (column, width) in widths.iter().enumerate() {
            board.text(
                (x + 0.5 * width, 0.5 * ROW + 0.36 * SMALL),
                Anchor::Middle,
                SMALL,
                heads[column].1,
            );
            for (k, row) in block.iter().enumerate() {
                let y = ROW * (k as f64 + 1.5) + 0.36 * SMALL;
                board.text((x + width - 1.3, y), Anchor::End, SMALL, &row[column]);
            }
            x += width;
            board.line(Pen::Narrow, (x, 0.0), (x, bottom));
        }
        x0 += total + BETWEEN;
    }
    board.words(
        (0.0, -2.4),
        (1.0, 0.0),
        Anchor::Start,
        3.4,
        Weight::Regular,
        "Holes, from X, Y and the underside",
    );
    View { board }
}

#[derive(Clone, Copy, PartialEq)]
enum Column {
    Number,
    X,
    Y,
    Z,
    Polar,
    Axis,
    Diameter,
    Depth,
    Counterbore,
}

/// Columns that say something; the direction from the middle only of `round` frames.
fn heads(holes: &[HoleRecord], round: bool) -> Vec<(Column, &'static str)> {
    let any = |f: fn(&HoleRecord) -> bool| holes.iter().any(f);
    let mut heads = vec![
        (Column::Number, "No."),
        (Column::X, "X"),
        (Column::Y, "Y"),
        (Column::Z, "Z"),
    ];
    if round {
        heads.push((Column::Polar, "at °"));
    }
    if any(along_path) {
        heads.push((Column::Axis, "axis °"));
    }
    heads.push((Column::Diameter, "⌀"));
    if any(|hole| !hole.through) {
        heads.push((Column::Depth, "↧"));
    }
    if any(|hole| hole.counterbore_mm.is_some()) {
        heads.push((Column::Counterbore, "⌴ ↧"));
    }
    heads
}

/// Whether the hole lies in the plane of the path, not along the tool axis.
fn along_path(hole: &HoleRecord) -> bool {
    hole.axis[2].abs() < 0.5
}

fn cells(hole: &HoleRecord, heads: &[(Column, &str)]) -> Vec<String> {
    let cell = |column: Column| match column {
        Column::Number => hole.number.to_string(),
        Column::X => fixed(hole.at_mm[0]),
        Column::Y => fixed(hole.at_mm[1]),
        Column::Z => fixed(hole.at_mm[2]),
        Column::Polar => fixed(hole.angle_deg),
        Column::Axis if !along_path(hole) => "Z".into(),
        Column::Axis => {
            let angle = hole.axis[1].atan2(hole.axis[0]).to_degrees();
            // What rounds to a full turn is its start.
            fixed((angle + 1e-9).rem_euclid(360.0))
        }
        Column::Diameter => {
            let fit = if hole.reamed { " H7" } else { "" };
            format!("{}{fit}", decimals(hole.diameter_mm, 3))
        }
        Column::Depth if hole.through => "–".into(),
        Column::Depth => decimals(hole.depth_mm, 3),
        Column::Counterbore => hole.counterbore_mm.map_or("–".into(), |(wide, depth)| {
            format!("{} {}", decimals(wide, 3), decimals(depth, 3))
        }),
    };
    heads.iter().map(|(column, _)| cell(*column)).collect()
}

/// A coordinate in hundredths of a mm, without a sign where it is zero.
fn fixed(value: f64) -> String {
    let text = format!("{value:.2}");
    match text.as_str() {
        "-0.00" => "0.00".into(),
        _ => text.replace('-', "−"),
    }
}
