//! Path, bosses, hole rows, carried masses.

use super::formulas::placeholder;
use super::keys;
use super::names::Stage;
use super::problem::Problem;
use super::reader::{Entries, Reader, Value};
use super::sections::{read_boss_section, read_section, read_strip};
use super::tools::{Tools, has_size, nearest_sizes};
use crate::evaluate::setup::{
    BoreRecipe, BossRecipe, CarriedRecipe, HoleRowRecipe, PartRecipe, PathRecipe, PieceRecipe,
    Range, SectionRecipe, SlitRecipe, Station, Variable,
};
use crate::expression::Formula;
use crate::part::StripName;
use crate::units::{Dimension, Unit};
use toml::de::DeValue;

pub(super) fn read_part(
    reader: &mut Reader,
    root: &Entries,
    tools: &Tools,
    variables: &[Variable],
) -> PartRecipe {
    let part = match root.node("part") {
        Some(node) => reader.table(&keys::PART, node),
        None => reader.nothing(&keys::PART, root.span.clone()),
    };
    let path = read_path(reader, &part);
    reader.on_circle = matches!(path, PathRecipe::Circle(_));
    let section = read_section(reader, &part);
    let bosses = read_bosses(reader, &part, &section);
    let hole_rows = read_rows(reader, &part, &section, tools, variables);
    let slits = read_slits(reader, &part, &path, &section);
    let carried = read_carried(reader, &part);
    PartRecipe {
        press: reader.formula(&part, "press"),
        path,
        section,
        bosses,
        slits,
        hole_rows,
        carried,
    }
}

fn read_path(reader: &mut Reader, part: &Entries) -> PathRecipe {
    let Some(node) = part.node("path") else {
        return PathRecipe::Circle(placeholder());
    };
    // The shape is read first, quietly: it says which other keys there are.
    let shape = match node.value.get_ref() {
        DeValue::Table(found) => found
            .get("shape")
            .and_then(|value| value.get_ref().as_str()),
        _ => None,
    };
    let tables: &[(&str, &'static keys::Table)] = match keys::PART.key("path").map(|key| &key.kind)
    {
        Some(keys::Kind::TableBy(_, tables)) => tables,
        _ => &[],
    };
    let Some((_, table)) = tables.iter().find(|(word, _)| Some(*word) == shape) else {
        let only_shape = reader.shape_alone(node);
        reader.word(&only_shape, "shape");
        return PathRecipe::Circle(placeholder());
    };
    let path = reader.table(table, node);
    match shape {
        Some("stadium") => PathRecipe::Stadium(
            reader.formula(&path, "straight"),
            reader.formula(&path, "radius"),
        ),
        Some("rounded rectangle") => PathRecipe::RoundedRectangle(
            reader.formula(&path, "length"),
            reader.formula(&path, "width"),
            reader.formula(&path, "corner"),
        ),
        Some("chain") => PathRecipe::Chain {
            closed: reader.flag(&path, "closed"),
            pieces: read_pieces(reader, &path),
        },
        _ => PathRecipe::Circle(reader.formula(&path, "radius")),
    }
}

fn read_pieces(reader: &mut Reader, path: &Entries) -> Vec<PieceRecipe> {
    let mut pieces = Vec::new();
    let tables = reader.tables(path, "pieces");
    if tables.is_empty() && path.node("pieces").is_some() {
        let title = "a chain needs at least one piece";
        reader.note(Problem::new(
            "part/piece",
            title,
            path.place("pieces"),
            "empty",
        ));
    }
    for piece in tables {
        let given = ["line", "arc", "turn"].map(|name| piece.node(name).is_some());
        match given {
            [true, false, false] => pieces.push(PieceRecipe::Line(reader.formula(&piece, "line"))),
            [false, true, true] => {
                let radius = reader.formula(&piece, "arc");
                pieces.push(PieceRecipe::Arc(radius, reader.formula(&piece, "turn")));
            }
            _ => {
                let title = "a piece of a path is either a line or an arc with its turn";
                let problem = Problem::new("part/piece", title, piece.span.clone(), "neither");
                let mend = "write { line = \"30 mm\" } or { arc = \"40 mm\", turn = \"90 deg\" }";
                reader.note(problem.mend(mend));
            }
        }
    }
    pieces
}

fn read_bosses(reader: &mut Reader, part: &Entries, own: &SectionRecipe) -> Vec<BossRecipe> {
    let tables = reader.tables(part, "boss");
    reader.check_repeated(&tables, "boss");
    let mut bosses = Vec::new();
    for boss in tables {
        let bore = reader.optional_table(&boss, "bore");
        let screw = reader.optional_table(&boss, "screw");
        if screw.is_some() && bore.is_none() {
            let title = "a screw needs a bore to go through";
            let problem = Problem::new(
                "study/missing-key",
                title,
                boss.place("screw"),
                "no `bore` here",
            );
            reader.note(problem.mend("add `bore = { diameter = ... }` to this boss"));
        }
        bosses.push(BossRecipe {
            screw: screw.map(|screw| {
                (
                    reader.formula(&screw, "clamp"),
                    reader.formula(&screw, "head"),
                )
            }),
            name: reader.text(&boss, "name"),
            at: reader.places(&boss, "at"),
            length: reader.formula(&boss, "length"),
            section: read_boss_section(reader, &boss, own),
            bore: bore.map(|bore| read_bore(reader, &bore)),
        });
    }
    bosses
}

fn read_bore(reader: &mut Reader, bore: &Entries) -> BoreRecipe {
    let counterbore = reader.optional_table(bore, "counterbore");
    BoreRecipe {
        diameter: reader.formula(bore, "diameter"),
        depth: reader.formula_or_word(bore, "depth"),
        reamed: reader.flag(bore, "reamed"),
        counterbore: counterbore.map(|wide| {
            (
                reader.formula(&wide, "diameter"),
                reader.formula(&wide, "depth"),
            )
        }),
    }
}

fn read_slits(
    reader: &mut Reader,
    part: &Entries,
    path: &PathRecipe,
    section: &SectionRecipe,
) -> Vec<SlitRecipe> {
    let tables = reader.tables(part, "slit");
    reader.check_repeated(&tables, "slit");
    let mut slits = Vec::new();
    for slit in tables {
        if !is_straight(path) || !is_bare(section) {
            let title = "slits need a straight frame without walls and ribs";
            let problem = Problem::new("part/not-a-blade", title, slit.span.clone(), "slit here");
            reader.note(problem.mend("make the path of lines only, and the section a floor alone"));
        }
        let mut end = |name: &str| {
            let share = Formula::constant(0.0, Dimension::NUMBER);
            let places = reader.places(&slit, name);
            places
                .into_iter()
                .next_back()
                .unwrap_or(Station::Share(share))
        };
        let span = (end("from"), end("to"));
        slits.push(SlitRecipe {
            name: reader.text(&slit, "name"),
            count: reader.formula(&slit, "count"),
            width: reader.formula(&slit, "width"),
            span,
        });
    }
    slits
}

/// Whether a path has no arc.
pub(super) fn is_straight(path: &PathRecipe) -> bool {
    match path {
        PathRecipe::Chain { pieces, closed } => {
            !closed
                && pieces
                    .iter()
                    .all(|piece| matches!(piece, PieceRecipe::Line(_)))
        }
        _ => false,
    }
}

/// Whether a section is a floor alone.
pub(super) fn is_bare(section: &SectionRecipe) -> bool {
    section.outer_wall.is_none() && section.inner_wall.is_none() && section.ribs.is_empty()
}

fn read_rows(
    reader: &mut Reader,
    part: &Entries,
    section: &SectionRecipe,
    tools: &Tools,
    variables: &[Variable],
) -> Vec<HoleRowRecipe> {
    let tables = reader.tables(part, "hole_row");
    reader.check_repeated(&tables, "hole row");
    let mut rows = Vec::new();
    for row in tables {
        let strip = read_strip(reader, &row, section);
        let diameter = reader.formula(&row, "diameter");
        check_drill(reader, &row, &diameter, tools, variables);
        let count = reader.formula(&row, "rows");
        check_row_gap(reader, &row, &count);
        rows.push(HoleRowRecipe {
            name: reader.text(&row, "name"),
            strip,
            diameter,
            pitch: reader.formula(&row, "pitch"),
            depth: reader.formula_or_word(&row, "depth"),
            rows: count,
            row_gap: reader.formula(&row, "row_gap"),
            stagger: reader.formula(&row, "stagger"),
            offset: match reader.formula_if(&row, "offset") {
                Some(offset) => offset,
                None => middle_of(reader, strip, section),
            },
            span: read_span(reader, &row),
            clearance: reader.formula(&row, "clearance"),
        });
    }
    rows
}

/// Middle across a strip: the path in the floor, halfway up in walls and ribs.
fn middle_of(reader: &Reader, strip: StripName, section: &SectionRecipe) -> Formula {
    let height = match strip {
        StripName::Floor => None,
        StripName::OuterWall => section.outer_wall.as_ref().map(|wall| &wall.height),
        StripName::InnerWall => section.inner_wall.as_ref().map(|wall| &wall.height),
        StripName::Rib(index) => section.ribs.get(index).map(|rib| &rib.height),
    };
    let middle = height.and_then(|height| {
        let text = format!("(({}) + ({})) / 2", section.floor.text, height.text);
        Formula::read(&text, &|name| reader.names.find(name, Stage::Before)).ok()
    });
    middle.unwrap_or_else(|| Formula::constant(0.0, Dimension::LENGTH))
}

fn read_span(reader: &mut Reader, row: &Entries) -> Option<(Station, Station)> {
    if row.node("from").is_none() && row.node("to").is_none() {
        return None;
    }
    let end = |share: f64| Station::Share(Formula::constant(share, Dimension::NUMBER));
    let mut place =
        |name: &str, share: f64| reader.places(row, name).pop().unwrap_or_else(|| end(share));
    Some((place("from", 0.0), place("to", 1.0)))
}

/// Notes a fixed diameter, or a choice of diameters, for which there is no drill.
fn check_drill(
    reader: &mut Reader,
    row: &Entries,
    diameter: &Formula,
    tools: &Tools,
    variables: &[Variable],
) {
    let sizes = match (
        diameter.constant_value(),
        diameter.uses().next().and_then(|slot| variables.get(slot)),
    ) {
        (Some(size), _) if diameter.dimension == Dimension::LENGTH => vec![size],
        (None, Some(variable)) if variable.name == diameter.text => match &variable.range {
            Range::Choice(values) => values.clone(),
            _ => return,
        },
        _ => return,
    };
    let missing = sizes
        .into_iter()
        .find(|size| *size > 0.0 && !has_size(&tools.drills_mm, *size));
    if let Some(size) = missing {
        let title = format!("no drill of {} in stock", Unit::MM.print(size));
        let problem = Problem::new(
            "part/not-in-drill-index",
            title,
            row.place("diameter"),
            "asked for here",
        );
        let mend = nearest_sizes(size, &tools.drills_mm).unwrap_or_default();
        reader.note(problem.mend(format!("{mend}; or add the drill to [tools] drills")));
    }
}

/// Several rows need a distance between them.
fn check_row_gap(reader: &mut Reader, row: &Entries, count: &Formula) {
    let most = count.bounds(&reader.names.bounds()).1;
    if most > 1.0 && most.is_finite() && row.node("row_gap").is_none() {
        let title = "several rows of holes need `row_gap`";
        let problem = Problem::new(
            "study/missing-key",
            title,
            row.place("rows"),
            "more than one row",
        );
        reader.note(problem.mend("add `row_gap`: distance between neighbouring rows"));
    }
}

fn read_carried(reader: &mut Reader, part: &Entries) -> Vec<CarriedRecipe> {
    let tables = reader.tables(part, "carries");
    reader.check_repeated(&tables, "carried mass");
    let mut carried = Vec::new();
    for mass in tables {
        let at = mass.node("at").map(|node| node.value.get_ref());
        let spread = at.is_none_or(|value| value.as_str() == Some("spread"));
        carried.push(CarriedRecipe {
            name: reader.text(&mass, "name"),
            mass: reader.formula(&mass, "mass"),
            at: if spread {
                Vec::new()
            } else {
                reader.places(&mass, "at")
            },
            offset: reader.vector2(&mass, "offset"),
        });
    }
    carried
}

impl Reader<'_> {
    /// Places of a key: one, or a list of them.
    pub fn places(&mut self, entries: &Entries, name: &str) -> Vec<Station> {
        let Some(node) = entries.node(name) else {
            return Vec::new();
        };
        let single = matches!(
            entries.table.key(name).map(|key| &key.kind),
            Some(keys::Kind::Place)
        );
        match node.value.get_ref() {
            DeValue::Array(items) if !single => {
                if items.is_empty() {
                    let title = format!("`{name}` names no place");
                    let problem =
                        Problem::new("part/not-on-path", title, node.value.span(), "empty");
                    self.note(problem.mend("name at least one place: \"0 deg\", \"12 mm\", 0.5"));
                }
                items.iter().map(|value| self.place(name, value)).collect()
            }
            _ => vec![self.place(name, node.value)],
        }
    }

    /// A place: a length along the path, an angle on a circle, or a share of the path.
    fn place(&mut self, name: &str, value: &Value) -> Station {
        let wanted = "a place: a length, an angle, or a share from 0 to 1";
        let Some(written) = self.written(name, wanted, value) else {
            return Station::Share(placeholder());
        };
        let Some(formula) = self.formula_of(&written, None, Stage::Before) else {
            return Station::Share(placeholder());
        };
        let (low, high) = formula.bounds(&self.names.bounds());
        match formula.dimension {
            Dimension::ANGLE => {
                if !self.on_circle {
                    let title = "an angle names a place only on a circle";
                    let problem =
                        Problem::new("part/angle-off-circle", title, written.span, "an angle");
                    self.note(problem.mend("give a length along the path, or a share from 0 to 1"));
                }
                Station::Angle(formula)
            }
            Dimension::LENGTH | Dimension::NUMBER => {
                let length = formula.dimension == Dimension::LENGTH;
                if high < 0.0 || (!length && low > 1.0) {
                    let problem = Problem::new(
                        "part/not-on-path",
                        "this place is not on the path",
                        written.span,
                        "outside",
                    );
                    self.note(problem.mend("give a length from the start, or a share from 0 to 1"));
                }
                if length {
                    Station::Length(formula)
                } else {
                    Station::Share(formula)
                }
            }
            other => {
                let title = format!("`{name}` must be {wanted}");
                let problem = Problem::new(
                    "units/wrong-kind",
                    title,
                    written.span,
                    format!("this is {other}"),
                );
                self.note(problem.mend("write \"12 mm\", \"90 deg\" or 0.25"));
                Station::Share(formula)
            }
        }
    }

    /// Notes two tables of a kind that have one name.
    pub fn check_repeated(&mut self, tables: &[Entries], kind: &str) {
        let names: Vec<(String, std::ops::Range<usize>)> = tables
            .iter()
            .filter_map(|table| table.node("name"))
            .filter_map(|node| {
                Some((
                    node.value.get_ref().as_str()?.to_string(),
                    node.value.span(),
                ))
            })
            .collect();
        for (index, (name, span)) in names.iter().enumerate() {
            if let Some((_, first)) = names[..index].iter().find(|(other, _)| other == name) {
                let title = format!("two of the kind {kind} are called `{name}`");
                let problem = Problem::new("study/name-clash", title, span.clone(), "again");
                self.note(
                    problem
                        .with(first.clone(), "first here")
                        .mend("give each a name of its own"),
                );
            }
        }
    }
}
