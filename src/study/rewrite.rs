//! A study's text with another material, machine or stock of tools; everything else stays as it was written.

use std::ops::Range;

use toml_edit::{Document, DocumentMut, Item, TableLike, Value};

use super::tools::has_size;
use crate::units::{Unit, read_quantity};

/// What is to be otherwise. What is `None` stays.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Changes {
    /// Id of the material.
    pub material: Option<String>,
    /// Id of the machine.
    pub machine: Option<String>,
    /// Drills in stock.
    pub drills: Option<Vec<Size>>,
    /// End mills in stock.
    pub end_mills: Option<Vec<Size>>,
    /// Name of the catalogue file.
    pub catalogue: Option<String>,
    /// What is looked for, in the place of the objectives.
    pub goal: Option<Goal>,
    /// Further constraints.
    pub limits: Vec<String>,
}

/// One objective.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    /// What it is called; absent where its formula says it.
    pub name: Option<String>,
    /// Formula.
    pub formula: String,
    /// Whether more is better.
    pub most: bool,
}

/// A tool's diameter, as written and in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// As written: `2.7 mm`.
    pub text: String,
    /// In mm.
    pub mm: f64,
}

/// A value of today's revision that the new stock doesn't have, and what stands for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// Variable.
    pub variable: String,
    /// Value as written.
    pub from: String,
    /// Value that stands for it.
    pub to: String,
}

/// A study's text as asked for, and the values of today's revision that had to move with the stock.
///
/// A variable that chooses from the tools in stock follows them by itself; where its value in today's revision is no
/// longer among them, the one that is `rank`-nearest (0: nearest) takes its place.
///
/// # Errors
/// In words that fit after "failed to", why the text can't be changed: it is no TOML.
pub fn rewrite(text: &str, changes: &Changes, rank: usize) -> Result<(String, Vec<Moved>), String> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error| format!("read the study as TOML: {error}"))?;
    let root = document.as_table_mut();
    for (key, value) in [
        ("material", &changes.material),
        ("machine", &changes.machine),
        ("catalogue", &changes.catalogue),
    ] {
        if let Some(value) = value {
            put(root, key, Value::from(value.as_str()));
        }
    }
    let mut moved = Vec::new();
    for (key, sizes) in [
        ("drills", &changes.drills),
        ("end_mills", &changes.end_mills),
    ] {
        let Some(sizes) = sizes else { continue };
        let list: toml_edit::Array = sizes.iter().map(|size| size.text.as_str()).collect();
        let tools = root
            .entry("tools")
            .or_insert_with(toml_edit::table)
            .as_table_like_mut()
            .ok_or("change the tools: `tools` is no table")?;
        put(tools, key, Value::from(list));
        moved.extend(follow(root, key, sizes, rank));
    }
    if let Some(goal) = &changes.goal {
        let mut table = toml_edit::Table::new();
        let sense = if goal.most { "most" } else { "least" };
        if let Some(name) = &goal.name {
            table.insert("name", toml_edit::value(name.as_str()));
        }
        table.insert(sense, toml_edit::value(goal.formula.as_str()));
        let mut tables = toml_edit::ArrayOfTables::new();
        tables.push(table);
        root.insert("objective", Item::ArrayOfTables(tables));
    }
    if !changes.limits.is_empty() {
        limit(root, &changes.limits)?;
    }
    Ok((document.to_string(), moved))
}

/// Adds constraints under names that are free.
fn limit(root: &mut toml_edit::Table, limits: &[String]) -> Result<(), String> {
    let constraints = root
        .entry("constraints")
        .or_insert_with(toml_edit::table)
        .as_table_like_mut()
        .ok_or("add a limit: `constraints` is no table")?;
    for text in limits {
        let free = (1..).map(|number| format!("limit_{number}"));
        let mut free = free.filter(|name| !constraints.contains_key(name));
        let name = free.next().unwrap_or_default();
        constraints.insert(&name, toml_edit::value(text.as_str()));
    }
    Ok(())
}

/// Puts a value in the place of another, whose comments stay.
fn put(table: &mut dyn TableLike, key: &str, mut value: Value) {
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        _ => {
            table.insert(key, Item::Value(value));
        }
    }
}

/// A study's text with other values of today's revision, comments and layout as they were.
///
/// `values`: name, number, unit of each variable. A value written as a plain number stays one; every other is written
/// with its unit.
///
/// # Errors
/// In words that fit after "failed to", why the text can't be changed.
pub fn rebase(text: &str, values: &[(String, f64, String)]) -> Result<String, String> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error| format!("read the study as TOML: {error}"))?;
    let baseline = document
        .as_table_mut()
        .entry("baseline")
        .or_insert_with(toml_edit::table)
        .as_table_like_mut()
        .ok_or("change today's revision: `baseline` is no table")?;
    for (name, number, unit) in values {
        let plain = unit.is_empty() && !baseline.get(name).is_some_and(Item::is_str);
        let value = match (plain, number.fract() == 0.0 && number.abs() < 1e15) {
            (true, true) => Value::from(*number as i64),
            (true, false) => Value::from(*number),
            (false, _) => Value::from(format!("{number} {unit}").trim_end()),
        };
        put(baseline, name, value);
    }
    Ok(document.to_string())
}

/// Moves today's values of the variables that choose from a stock into the stock.
fn follow(root: &mut toml_edit::Table, stock: &str, sizes: &[Size], rank: usize) -> Vec<Moved> {
    let choosing: Vec<String> = root
        .get("variables")
        .and_then(Item::as_table_like)
        .into_iter()
        .flat_map(|variables| variables.iter())
        .filter(|(_, variable)| {
            let choices = variable.as_table_like().and_then(|v| v.get("choices"));
            choices.and_then(Item::as_str) == Some(stock)
        })
        .map(|(name, _)| name.to_string())
        .collect();
    let Some(baseline) = root.get_mut("baseline").and_then(Item::as_table_like_mut) else {
        return Vec::new();
    };
    let mut moved = Vec::new();
    for variable in choosing {
        let Some(from) = baseline.get(&variable).and_then(Item::as_str) else {
            continue;
        };
        let Ok((now, _)) = read_quantity(from) else {
            continue;
        };
        let all: Vec<f64> = sizes.iter().map(|size| size.mm).collect();
        if has_size(&all, now) {
            continue;
        }
        let mut nearest: Vec<&Size> = sizes.iter().collect();
        nearest.sort_by(|a, b| (a.mm - now).abs().total_cmp(&(b.mm - now).abs()));
        let Some(size) = nearest.get(rank).or(nearest.last()) else {
            continue;
        };
        let (from, to) = (from.to_string(), size.text.clone());
        put(baseline, &variable, Value::from(to.as_str()));
        moved.push(Moved { variable, from, to });
    }
    moved
}

/// A list of tools in stock, as its file tells it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StockList {
    /// Drills in stock, with where each is written.
    pub drills: Option<Vec<(Size, Range<usize>)>>,
    /// End mills in stock, with where each is written.
    pub end_mills: Option<Vec<(Size, Range<usize>)>>,
    /// The rest of the file, which is a catalogue file; lines and columns are those of the file.
    pub catalogue: String,
}

/// What is wrong with a list of tools.
#[derive(Clone, Debug, PartialEq)]
pub struct StockFault {
    /// What is wrong, in words.
    pub what: String,
    /// Where, as a byte of the text.
    pub at: usize,
    /// What to do about it.
    pub mend: &'static str,
}

const LIST: &str = "write a list of diameters: drills = [\"2 mm\", \"2.5 mm\"]";

/// A list of tools in stock: `drills = [...]`, `end_mills = [...]`, either or both, and catalogue entries as in a
/// user's catalogue file.
///
/// # Errors
/// No TOML, no lists of lengths, a size listed twice.
pub fn read_stock(text: &str) -> Result<StockList, StockFault> {
    let document = Document::parse(text).map_err(|error| StockFault {
        what: format!("this is no TOML: {}", error.message().trim()),
        at: error.span().map_or(0, |span| span.start),
        mend: "a line is `key = value`, `[table]` or `[[table]]`",
    })?;
    let mut stock = StockList::default();
    let mut rest = text.as_bytes().to_vec();
    for (name, place) in [
        ("drills", &mut stock.drills),
        ("end_mills", &mut stock.end_mills),
    ] {
        let Some((key, item)) = document.get_key_value(name) else {
            continue;
        };
        *place = Some(sizes(name, item)?);
        let from = key.span().map_or(0, |span| span.start);
        let to = item.span().map_or(from, |span| span.end);
        // Blank, so that what is left keeps its lines.
        for byte in rest.iter_mut().take(to).skip(from) {
            if !matches!(byte, b'\n' | b'\r') {
                *byte = b' ';
            }
        }
    }
    if document.contains_key("tools") {
        let span = document.get("tools").and_then(Item::span);
        return Err(StockFault {
            what: "`[tools]` is the study's; this file is the list itself".into(),
            at: span.map_or(0, |span| span.start),
            mend: "leave the line `[tools]` out",
        });
    }
    stock.catalogue = String::from_utf8(rest).unwrap_or_default();
    Ok(stock)
}

fn sizes(name: &str, item: &Item) -> Result<Vec<(Size, Range<usize>)>, StockFault> {
    let span = item.span().unwrap_or(0..0);
    let fault = |what: String, at: usize| StockFault {
        what,
        at,
        mend: LIST,
    };
    let list = item
        .as_array()
        .ok_or_else(|| fault(format!("`{name}` is no list"), span.start))?;
    let mut found: Vec<(Size, Range<usize>)> = Vec::new();
    for value in list {
        let at = value.span().unwrap_or(span.clone());
        let text = value.as_str().ok_or_else(|| {
            fault(
                format!("`{name}` holds something else than texts"),
                at.start,
            )
        })?;
        let (mm, unit) = read_quantity(text)
            .map_err(|error| fault(format!("`{text}` in `{name}`: {}", error.kind), at.start))?;
        if unit.dimension != Unit::MM.dimension {
            let what = format!("`{text}` in `{name}` is no length");
            return Err(fault(what, at.start));
        }
        let known: Vec<f64> = found.iter().map(|(size, _)| size.mm).collect();
        if has_size(&known, mm) {
            return Err(StockFault {
                what: format!("{text} comes twice in `{name}`"),
                at: at.start,
                mend: "leave it out once",
            });
        }
        let text = text.to_string();
        found.push((Size { text, mm }, at));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    const STUDY: &str = "\
material = \"al6061_t6511\" # bar
machine = \"small_vmc\"

[tools]
# What lies in the drawer.
drills = [\"2 mm\", \"4 mm\"]

[variables.hole]
choices = \"drills\"

[baseline]
hole = \"4 mm\" # as cut today
";

    fn size(text: &str) -> Size {
        let (mm, _) = read_quantity(text).unwrap();
        let text = text.into();
        Size { text, mm }
    }

    #[test]
    fn comments_and_layout_stay() {
        let changes = Changes {
            material: Some("al7075_t6".into()),
            ..Changes::default()
        };
        let (text, moved) = rewrite(STUDY, &changes, 0).unwrap();
        assert_eq!(text, STUDY.replace("al6061_t6511", "al7075_t6"));
        assert!(moved.is_empty());
        assert_eq!(rewrite(STUDY, &Changes::default(), 0).unwrap().0, STUDY);
    }

    #[test]
    fn today_becomes_another_revision() {
        let values = [
            ("hole".to_string(), 4.5, "mm".to_string()),
            ("slits".to_string(), 2.0, String::new()),
        ];
        let text = rebase(STUDY, &values).unwrap();
        let changed = STUDY.replace(
            "hole = \"4 mm\" # as cut today\n",
            "hole = \"4.5 mm\" # as cut today\nslits = 2\n",
        );
        assert_eq!(text, changed);
        assert!(rebase("baseline = 3", &values).is_err());
        assert!(rebase("baseline = [", &values).is_err());
    }

    #[test]
    fn todays_revision_follows_the_stock() {
        let changes = Changes {
            drills: Some(vec![size("2 mm"), size("3.5 mm"), size("5 mm")]),
            ..Changes::default()
        };
        let (text, moved) = rewrite(STUDY, &changes, 0).unwrap();
        assert!(
            text.contains("drills = [\"2 mm\", \"3.5 mm\", \"5 mm\"]\n"),
            "{text}"
        );
        assert!(text.contains("hole = \"3.5 mm\" # as cut today"), "{text}");
        assert!(text.contains("# What lies in the drawer."), "{text}");
        let expected = Moved {
            variable: "hole".into(),
            from: "4 mm".into(),
            to: "3.5 mm".into(),
        };
        assert_eq!(moved, [expected]);
        let (text, _) = rewrite(STUDY, &changes, 1).unwrap();
        assert!(text.contains("hole = \"5 mm\""), "{text}");
    }

    #[test]
    fn a_stock_file_is_a_list_and_a_catalogue() {
        let text = "drills = [\n  \"2 mm\", \"0.125 in\",\n]\n[[drill]]\nid = \"x\"\n";
        let stock = read_stock(text).unwrap();
        let drills = stock.drills.unwrap();
        assert_eq!(
            (drills[1].0.mm, &text[drills[1].1.clone()]),
            (3.175, "\"0.125 in\"")
        );
        assert_eq!(stock.end_mills, None);
        assert_eq!(stock.catalogue.trim_start(), "[[drill]]\nid = \"x\"\n");
        assert_eq!(stock.catalogue.matches('\n').count(), 5);
        for (wrong, at) in [
            ("drills = \"2 mm\"", 9),
            ("drills = [2]", 10),
            ("drills = [\"2 mm\", \"2.0 mm\"]", 18),
            ("drills = [\"2 kg\"]", 10),
            ("[tools]\ndrills = []", 0),
            ("drills = [", 10),
        ] {
            let fault = read_stock(wrong).unwrap_err();
            assert_eq!(fault.at, at, "{wrong}: {}", fault.what);
        }
    }
}
