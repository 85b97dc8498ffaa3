//! The manufacturing drawing of one design: sheets as SVG text and as one PDF.
//!
//! `arrange` puts the views on sheets. `plan` is the main view, along the tool axis (`plan_sizes`, `plan_holes`: what is
//! written on it); `side` works out what is seen from the side (`columns`, `cut_faces`), and `elevation` draws it where first or third angle projection has its place; `section` and `detail` are
//! enlarged; `table` lists the holes. `dimension` finds a place for every size, `fits` its
//! tolerance. `ink` holds what is drawn, `frame` the sheet around it, `svg` writes it.
//!
//! Standards, from memory: ISO 128 (lines, views, sections), ISO 129-1 (dimensions), ISO 5455 (scales), ISO 5456-2
//! (projection), ISO 5457 and ISO 7200 (sheet, title block), ISO 2768-1 (general tolerances), ISO 13715 (edges).

mod arrange;
mod columns;
mod cut_faces;
mod detail;
mod dimension;
mod elevation;
mod fits;
mod frame;
mod hatch;
mod ink;
mod plan;
mod plan_holes;
mod plan_sizes;
mod room;
mod section;
mod shape;
mod side;
mod sign;
mod svg;
mod table;
mod view;
mod void;

use crate::drawing::leaf::{Leaf, Picture};
use crate::drawing::lettering::plain;
use crate::drawing::write::{About, write};
use crate::handoff::HoleRecord;
use crate::machining::tolerance::Toleranced;
use crate::part::{Layout, Part};

pub(crate) use ink::Point;

/// Which way views are placed (ISO 5456-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Projection {
    /// First angle: what is seen from the right stands on the left.
    First,
    /// Third angle: what is seen from the right stands on the right.
    Third,
}

/// Paper of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm, upright (ISO 216).
    A4,
    /// 420 by 297 mm (ISO 216).
    A3,
    /// 8.5 by 11 inches, upright (ANSI/ASME Y14.1, size A).
    Letter,
    /// 17 by 11 inches (ANSI/ASME Y14.1, size B).
    Tabloid,
}

impl Paper {
    /// Width and height, in mm.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::A3 => (420.0, 297.0),
            Paper::Letter => (215.9, 279.4),
            Paper::Tabloid => (431.8, 279.4),
        }
    }
}

/// What a drawing is made from.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// The frame.
    pub part: &'a Part,
    /// The frame cut into segments: of `part`.
    pub layout: &'a Layout,
    /// What the process gives each dimension of `part` ([`crate::machining::tolerance::tolerances`]).
    pub tolerances: &'a [Toleranced],
    /// Every hole of `part`, numbered ([`crate::handoff::holes`]).
    pub holes: &'a [HoleRecord],
    /// Title of the part.
    pub title: &'a str,
    /// Supplementary title: run and design.
    pub supplement: &'a str,
    /// Identification number.
    pub number: &'a str,
    /// Revision letter; empty where there is none.
    pub revision: &'a str,
    /// Document status: `for review, not released for manufacture`.
    pub status: &'a str,
    /// Date of issue, `2026-11-26`; may have a time behind it.
    pub date: &'a str,
    /// Who or what made it.
    pub created_by: &'a str,
    /// Legal owner; may be empty.
    pub owner: &'a str,
    /// Designation of the material and its condition.
    pub material: &'a str,
    /// Mass of the metal, in g.
    pub mass_g: f64,
    /// Width of broken edges, in mm; `None` where the process breaks none.
    pub edge_mm: Option<f64>,
    /// Notes behind the drawing's own.
    pub notes: &'a [String],
}

/// A drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Each sheet as a complete SVG file in mm.
    pub sheets_svg: Vec<String>,
    /// All sheets as a PDF file.
    pub pdf: Vec<u8>,
    /// Sizes for which no place was found.
    pub lost: Vec<String>,
}

/// The drawing of a design. The same facts give the same bytes.
///
/// # Errors
/// In words, why the file can't be made.
pub fn drawing(facts: &Facts, projection: Projection, paper: Paper) -> Result<Drawing, String> {
    let date: String = facts.date.chars().take(10).collect();
    let shown = Facts {
        date: &date,
        ..*facts
    };
    let boards = arrange::sheets(&shown, projection, paper);
    let count = boards.len();
    let lost: Vec<String> = boards.iter().flat_map(|board| board.lost.clone()).collect();
    let title = plain(facts.title);
    let sheets_svg: Vec<String> = boards
        .iter()
        .enumerate()
        .map(|(index, board)| {
            let label = format!("Part drawing {title}, sheet {} of {count}", index + 1);
            svg::sheet(board, paper.size_mm(), &label)
        })
        .collect();
    let leaf = |text: &String| {
        let picture = Picture::of_file(text).ok_or("read the sheet that was drawn")?;
        let mut leaf = Leaf::default();
        leaf.drawing((0.0, 0.0), picture, 1.0);
        Ok(leaf)
    };
    let leaves: Vec<Leaf> = sheets_svg.iter().map(leaf).collect::<Result<_, String>>()?;
    let about = About {
        title: format!("{title}, part drawing"),
        subject: plain(facts.number),
        tool: plain(facts.created_by),
        date: facts.date.into(),
    };
    let pdf = write(&leaves, &[], paper.size_mm(), &about)?;
    Ok(Drawing {
        sheets_svg,
        pdf,
        lost,
    })
}
