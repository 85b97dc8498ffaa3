//! Sections: floor, walls, ribs; and the strips that holes are drilled in.

use super::keys;
use super::problem::Problem;
use super::reader::{Entries, Reader};
use crate::evaluate::setup::{RibRecipe, SectionRecipe, WallRecipe};
use crate::part::StripName;
use toml::de::DeValue;

/// The part's own section.
pub(super) fn read_section(reader: &mut Reader, part: &Entries) -> SectionRecipe {
    let entries = match part.node("section") {
        Some(node) => reader.table(&keys::SECTION, node),
        None => reader.nothing(&keys::SECTION, part.span.clone()),
    };
    SectionRecipe {
        width: reader.formula(&entries, "width"),
        floor: reader.formula(&entries, "floor"),
        outer_wall: read_wall(reader, &entries, "outer_wall", None),
        inner_wall: read_wall(reader, &entries, "inner_wall", None),
        ribs: read_ribs(reader, part),
    }
}

/// A boss's section: what it leaves out is the part's own.
pub(super) fn read_boss_section(
    reader: &mut Reader,
    boss: &Entries,
    own: &SectionRecipe,
) -> SectionRecipe {
    let Some(entries) = reader.optional_table(boss, "section") else {
        return own.clone();
    };
    SectionRecipe {
        width: reader
            .formula_if(&entries, "width")
            .unwrap_or_else(|| own.width.clone()),
        floor: reader
            .formula_if(&entries, "floor")
            .unwrap_or_else(|| own.floor.clone()),
        outer_wall: read_wall(reader, &entries, "outer_wall", own.outer_wall.as_ref()),
        inner_wall: read_wall(reader, &entries, "inner_wall", own.inner_wall.as_ref()),
        ribs: match entries.node("rib") {
            Some(_) => read_ribs(reader, &entries),
            None => own.ribs.clone(),
        },
    }
}

fn read_wall(
    reader: &mut Reader,
    section: &Entries,
    name: &str,
    own: Option<&WallRecipe>,
) -> Option<WallRecipe> {
    let Some(node) = section.node(name) else {
        return own.cloned();
    };
    if let DeValue::String(word) = node.value.get_ref() {
        if word != "none" {
            reader.unknown_word(name, word, &["none"], node.value.span());
        }
        return None;
    }
    let wall = reader.optional_table(section, name)?;
    Some(WallRecipe {
        thickness: reader.formula(&wall, "thickness"),
        height: reader.formula(&wall, "height"),
    })
}

fn read_ribs(reader: &mut Reader, entries: &Entries) -> Vec<RibRecipe> {
    let mut ribs = Vec::new();
    for rib in reader.tables(entries, "rib") {
        ribs.push(RibRecipe {
            offset: reader.formula(&rib, "offset"),
            thickness: reader.formula(&rib, "thickness"),
            height: reader.formula(&rib, "height"),
        });
    }
    ribs
}

/// The strip that a hole row names; the floor where that is at fault.
pub(super) fn read_strip(reader: &mut Reader, row: &Entries, section: &SectionRecipe) -> StripName {
    let words = reader.text(row, "strip");
    let Some(node) = row.node("strip").filter(|_| !words.is_empty()) else {
        return StripName::Floor;
    };
    let span = node.value.span();
    let strip = match words.as_str() {
        "floor" => StripName::Floor,
        "outer wall" => StripName::OuterWall,
        "inner wall" => StripName::InnerWall,
        "rib" => StripName::Rib(0),
        other => match other
            .strip_prefix("rib ")
            .and_then(|number| number.parse::<usize>().ok())
        {
            Some(number) if number >= 1 => StripName::Rib(number - 1),
            _ => {
                let known = ["floor", "outer wall", "inner wall", "rib 1"];
                reader.unknown_word("strip", other, &known, span);
                return StripName::Floor;
            }
        },
    };
    let there = match strip {
        StripName::Floor => true,
        StripName::OuterWall => section.outer_wall.is_some(),
        StripName::InnerWall => section.inner_wall.is_some(),
        StripName::Rib(index) => index < section.ribs.len(),
    };
    if !there {
        let title = format!("the section has no {}", strip.words());
        let problem = Problem::new("part/no-such-strip", title, span, "holes asked for here");
        reader.note(problem.mend(match strip {
            StripName::Rib(_) => format!(
                "there are {} ribs; add one by [[part.rib]]",
                section.ribs.len()
            ),
            _ => format!(
                "add `{}` to [part.section]",
                strip.words().replace(' ', "_")
            ),
        }));
        return StripName::Floor;
    }
    strip
}
