//! What is needed to draw and cut a design: tables, and what they are about, as files in memory.
//!
//! One file a format. Nothing here opens a file; `store` puts them into a folder, whole or not at all.

pub mod body;
pub mod drawing;
mod holes;
pub mod mesh;
mod readme;
pub mod step;
mod tables;
pub mod three_mf;

use std::fmt;

pub use drawing::{Drawing, Paper, Projection};
pub use holes::{HoleRecord, holes};

use crate::evaluate::Sheet;
use crate::machining::tolerance::tolerances;
use crate::part::{Layout, Part, Volume};
use body::{Body, BodyError};
use mesh::{Mesh, MeshError};
use three_mf::{PackageError, three_mf};

/// A design that is handed off, and what it is of.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// Study, by the stem of its file.
    pub study: &'a str,
    /// Title of the study.
    pub title: &'a str,
    /// Run, by its folder's name; empty for a design of a study.
    pub run: &'a str,
    /// Number of the design in the run.
    pub design: Option<usize>,
    /// Letter of the revision that it was adopted as; empty where it was not.
    pub revision: &'a str,
    /// Who adopted it.
    pub by: &'a [String],
    /// Fingerprints of run and study, in hexadecimal digits; empty where there is none.
    pub fingerprints: [&'a str; 2],
    /// Name and version of this tool.
    pub tool: &'a str,
    /// Day, as in ISO 8601: `2026-11-26`.
    pub date: &'a str,
    /// Material.
    pub material: &'a str,
    /// Machine.
    pub machine: &'a str,
    /// Everything known of the design.
    pub sheet: &'a Sheet,
}

impl Facts<'_> {
    /// The part in a line: title, material, design.
    fn about(&self) -> String {
        let of = match (self.run, self.design) {
            ("", _) | (_, None) => String::new(),
            (run, Some(design)) => format!(", design {design} of run {run}"),
        };
        format!("{}, {}{of}", self.title, self.material)
    }

    /// What every file is called by: `yaw-ring-B`, `yaw-ring-1804`, `yaw-ring`.
    pub fn stem(&self) -> String {
        match (self.revision, self.design) {
            ("", None) => self.study.to_string(),
            ("", Some(design)) => format!("{}-{design}", self.study),
            (letter, _) => format!("{}-{letter}", self.study),
        }
    }
}

/// Why a design can't be handed off, as what comes after "failed to".
#[derive(Clone, Debug, PartialEq)]
pub enum HandoffError {
    /// It is no part.
    NoPart,
    /// Its solid can't be made.
    Solid(BodyError),
    /// Its mesh can't.
    Mesh(MeshError),
    /// The mesh can't be packed.
    Package(PackageError),
    /// Its drawing can't be made; in words, why.
    Drawing(String),
}

impl fmt::Display for HandoffError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            HandoffError::NoPart => write!(f, "hand off a design that can't be built"),
            HandoffError::Solid(error) => error.fmt(f),
            HandoffError::Mesh(error) => error.fmt(f),
            HandoffError::Package(error) => error.fmt(f),
            HandoffError::Drawing(why) => write!(f, "{why}"),
        }
    }
}

impl std::error::Error for HandoffError {}

/// How the files are to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wants {
    /// Chord error of the mesh, in mm.
    pub chord_mm: f64,
    /// Which way views are placed.
    pub projection: Projection,
    /// Paper of the drawing.
    pub paper: Paper,
}

/// Every file of a hand-off, the README first.
///
/// # Errors
/// [`HandoffError`].
pub fn files(facts: &Facts, wants: &Wants) -> Result<Vec<Item>, HandoffError> {
    let (part, layout) = built(facts)?;
    let stem = facts.stem();
    let body = Body::of(part, layout).map_err(HandoffError::Solid)?;
    let holes = holes(part, layout, &facts.sheet.plan);
    let item = |name: String, bytes: Vec<u8>, words: &str| Item {
        name,
        bytes,
        words: words.into(),
    };
    let mesh = Mesh::of(&body, wants.chord_mm).map_err(HandoffError::Mesh)?;
    let about = facts.about();
    let label = step::Label {
        name: &stem,
        description: &about,
        date: &format!("{}T00:00:00", facts.date),
    };
    let mut items = vec![
        item(
            format!("{stem}.step"),
            step::step(&body, &label).into_bytes(),
            "solid, ISO 10303-21 (AP 214): true planes, cylinders and cones",
        ),
        item(
            format!("{stem}.3mf"),
            three_mf(&mesh, &label).map_err(HandoffError::Package)?,
            &format!(
                "mesh, ISO/IEC 25422: within {} mm of the solid",
                wants.chord_mm
            ),
        ),
        item(
            format!("{stem}-holes.csv"),
            tables::holes(&holes),
            "hole table: number, place, direction, diameter, depth, tool",
        ),
        item(
            format!("{stem}-parameters.csv"),
            tables::parameters(facts),
            "variables, derived values and measures",
        ),
        item(
            format!("{stem}-operations.csv"),
            tables::operations(facts),
            "operations with tools, speeds, feeds, times and cost",
        ),
    ];
    let drawn = drawn(facts, wants, &holes)?;
    for (index, sheet) in drawn.sheets_svg.iter().enumerate() {
        let name = format!("{stem}-drawing-{}.svg", index + 1);
        items.push(item(
            name,
            sheet.clone().into_bytes(),
            "sheet of the drawing",
        ));
    }
    items.push(item(
        format!("{stem}-drawing.pdf"),
        drawn.pdf,
        "drawing, all sheets",
    ));
    let volumes = [Volume::of(part, layout).metal_mm3, body.volume_mm3()];
    let text = readme::readme(facts, &items, &holes, volumes, &drawn.lost);
    items.insert(0, item("README.md".into(), text.into_bytes(), "this text"));
    Ok(items)
}

/// The drawing; sizes for which it has no place stand in a note.
fn drawn(facts: &Facts, wants: &Wants, holes: &[HoleRecord]) -> Result<Drawing, HandoffError> {
    let (part, layout) = built(facts)?;
    let tolerances = tolerances(part, layout, &facts.sheet.plan);
    let supplement = match (facts.run, facts.design) {
        ("", _) | (_, None) => format!("study {}", facts.study),
        (run, Some(design)) => format!("design {design} of run {run}"),
    };
    let mass = facts
        .sheet
        .measures
        .iter()
        .find(|named| named.name == "metal_mass");
    let edges = facts
        .sheet
        .plan
        .operations
        .iter()
        .filter(|each| each.name == "break edges");
    let edge = edges
        .map(|each| each.depth_mm)
        .fold(f64::INFINITY, f64::min);
    let shown = drawing::Facts {
        part,
        layout,
        tolerances: &tolerances,
        holes,
        title: facts.title,
        supplement: &supplement,
        number: &facts.stem(),
        revision: facts.revision,
        status: match facts.revision {
            "" => "for review, not released for manufacture",
            _ => "adopted, not released for manufacture",
        },
        date: facts.date,
        created_by: facts.tool,
        owner: "",
        material: facts.material,
        mass_g: mass.map_or(f64::NAN, |named| named.value),
        edge_mm: edge.is_finite().then_some(edge),
        notes: &[],
    };
    drawing::drawing(&shown, wants.projection, wants.paper).map_err(HandoffError::Drawing)
}

fn built<'a>(facts: &Facts<'a>) -> Result<(&'a Part, &'a Layout), HandoffError> {
    match (&facts.sheet.part, &facts.sheet.layout) {
        (Some(part), Some(layout)) => Ok((part, layout)),
        _ => Err(HandoffError::NoPart),
    }
}

/// A file of a hand-off.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
    /// The same in words, for the list of files.
    pub words: String,
}
