//! The sheet: frame and centring marks (ISO 5457), title block (ISO 7200), projection symbol (ISO 5456-2), notes.

use super::ink::{Anchor, Board, Pen, Point, SMALL};
use super::{Facts, Paper, Projection};
use crate::drawing::lettering::{Weight, cut, wrapped};
use crate::drawing::text::decimals;

/// The frame's distance to the edges of the paper: left, elsewhere (ISO 5457: 20 mm for binding, 10 mm).
const EDGES: (f64, f64) = (20.0, 10.0);
/// Width of the title block (ISO 7200).
const WIDE: f64 = 180.0;
const ROW: f64 = 9.0;
const ROWS: f64 = 4.0;
/// Size of the letters that name a field.
const NAME: f64 = 1.9;
/// Of notes.
const NOTE: f64 = 2.6;
const NOTE_ROW: f64 = 3.9;

/// What differs from sheet to sheet.
pub(crate) struct Numbering<'a> {
    pub(crate) sheet: usize,
    pub(crate) sheets: usize,
    pub(crate) scale: &'a str,
    pub(crate) class: &'a str,
}

/// Left, top, right, bottom of the room inside the frame.
pub(crate) fn inside(paper: Paper) -> [f64; 4] {
    let (wide, tall) = paper.size_mm();
    [EDGES.0, EDGES.1, wide - EDGES.1, tall - EDGES.1]
}

/// The title block's place: left, top, right, bottom.
pub(crate) fn block_place(paper: Paper) -> [f64; 4] {
    let [left, _, right, bottom] = inside(paper);
    [(right - WIDE).max(left), bottom - ROW * ROWS, right, bottom]
}

/// Frame, marks and title block.
pub(crate) fn frame(
    facts: &Facts,
    paper: Paper,
    projection: Projection,
    numbering: &Numbering,
) -> Board {
    let mut board = Board::default();
    let [left, top, right, bottom] = inside(paper);
    board.polygon(
        Pen::Frame,
        &[(left, top), (right, top), (right, bottom), (left, bottom)],
    );
    let middle = (0.5 * (left + right), 0.5 * (top + bottom));
    for (from, to) in [
        ((middle.0, top - 5.0), (middle.0, top)),
        ((middle.0, bottom), (middle.0, bottom + 5.0)),
        ((left - 5.0, middle.1), (left, middle.1)),
        ((right, middle.1), (right + 5.0, middle.1)),
    ] {
        board.line(Pen::Frame, from, to);
    }
    title_block(&mut board, facts, paper, projection, numbering);
    board
}

fn title_block(
    board: &mut Board,
    facts: &Facts,
    paper: Paper,
    projection: Projection,
    numbering: &Numbering,
) {
    let [left, top, right, bottom] = block_place(paper);
    board.chain(Pen::Edge, &[(left, bottom), (left, top), (right, top)]);
    let mass = format!("{} g", decimals(facts.mass_g, 2));
    let sheet = format!("{}/{}", numbering.sheet, numbering.sheets);
    let edges = match facts.edge_mm {
        Some(size) => format!("ISO 13715  −{}", decimals(size, 2)),
        None => "ISO 13715".into(),
    };
    let rows: [&[(f64, &str, &str)]; 4] = [
        &[
            (58.0, "Material", facts.material),
            (22.0, "Mass", &mass),
            (24.0, "Scale", numbering.scale),
            (24.0, "Projection", ""),
            (26.0, "General tolerances", numbering.class),
            (26.0, "Edges", &edges),
        ],
        &[
            (38.0, "Legal owner", facts.owner),
            (28.0, "Document type", "Part drawing"),
            (64.0, "Document status", facts.status),
            (50.0, "Identification number", facts.number),
        ],
        &[
            (104.0, "Title", facts.title),
            (76.0, "Supplementary title", facts.supplement),
        ],
        &[
            (50.0, "Created by", facts.created_by),
            (50.0, "Approved by", ""),
            (40.0, "Date of issue", facts.date),
            (20.0, "Revision", facts.revision),
            (20.0, "Sheet", &sheet),
        ],
    ];
    let share = (right - left) / WIDE;
    for (row, cells) in rows.iter().enumerate() {
        let y = top + ROW * row as f64;
        if row > 0 {
            board.line(Pen::Narrow, (left, y), (right, y));
        }
        let mut x = left;
        for (index, (width, name, text)) in cells.iter().enumerate() {
            if index > 0 {
                board.line(Pen::Narrow, (x, y), (x, y + ROW));
            }
            let width = share * width;
            let strong = matches!(*name, "Title" | "Identification number");
            let weight = if strong {
                Weight::Bold
            } else {
                Weight::Regular
            };
            board.text((x + 1.2, y + 2.6), Anchor::Start, NAME, name);
            if *name == "Projection" {
                projection_symbol(board, (x + 0.5 * width, y + 6.0), projection);
            } else {
                let size = if strong { 3.4 } else { 2.9 };
                let words = cut(text, weight, (width - 2.4) / size);
                board.words(
                    (x + 1.2, y + 7.3),
                    (1.0, 0.0),
                    Anchor::Start,
                    size,
                    weight,
                    &words,
                );
            }
            x += width;
        }
    }
}

/// A cut cone from the front and from its narrow end on the left, which first angle puts to the right and third angle
/// to the left (ISO 5456-2).
fn projection_symbol(board: &mut Board, (x, y): Point, projection: Projection) {
    let (large, small, long, gap) = (2.0, 1.0, 4.6, 3.0);
    let (cone, circles) = match projection {
        Projection::First => (x - 4.6, x + 0.4 + gap + 0.8),
        Projection::Third => (x + 0.6, x - 4.0),
    };
    board.polygon(
        Pen::Narrow,
        &[
            (cone, y - small),
            (cone + long, y - large),
            (cone + long, y + large),
            (cone, y + small),
        ],
    );
    board.circle(Pen::Narrow, (circles, y), large);
    board.circle(Pen::Narrow, (circles, y), small);
    board.line(Pen::Centre, (cone - 1.0, y), (cone + long + 1.0, y));
    board.line(
        Pen::Centre,
        (circles - large - 1.0, y),
        (circles + large + 1.0, y),
    );
    board.line(
        Pen::Centre,
        (circles, y - large - 0.5),
        (circles, y + large + 0.5),
    );
}

/// Notes, and where they stand: left of the title block, or above it where the paper is narrow.
pub(crate) fn notes(paper: Paper, lines: &[String]) -> Board {
    let [left, _, right, bottom] = inside(paper);
    let block = block_place(paper);
    let beside = block[0] - left > 80.0;
    let room = if beside {
        (block[0] - left - 12.0).min(150.0)
    } else {
        right - left - 8.0
    };
    let mut set: Vec<(bool, String)> = Vec::new();
    for (index, line) in lines.iter().enumerate() {
        let words = format!("{}. {line}", index + 1);
        let pieces = wrapped(&words, Weight::Regular, room / NOTE, 4);
        set.extend(
            pieces
                .into_iter()
                .enumerate()
                .map(|(k, piece)| (k == 0, piece)),
        );
    }
    let tall = NOTE_ROW * (set.len() as f64 + 1.0);
    let base = if beside { bottom - 4.0 } else { block[1] - 3.0 };
    let mut board = Board::default();
    let mut y = base - tall + NOTE_ROW;
    board.words(
        (left + 4.0, y - 0.8),
        (1.0, 0.0),
        Anchor::Start,
        SMALL,
        Weight::Bold,
        "Notes",
    );
    for (first, piece) in set {
        y += NOTE_ROW;
        let indent = if first { 0.0 } else { 3.2 };
        board.text((left + 4.0 + indent, y - 0.6), Anchor::Start, NOTE, &piece);
    }
    board
}
