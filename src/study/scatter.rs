//! `[[scatter]]` and `[robust]`: what deviates from its nominal value, and what is asked of parts that do.

use super::keys;
use super::problem::{Problem, suggest};
use super::reader::{Entries, Reader};
use crate::evaluate::scatter::{
    Distribution, Of, ScatterPlan, ScatterRecipe, Shape, TOLERANCE_SDS,
};
use crate::evaluate::setup::{LoadRecipe, Variable};
use crate::units::Unit;
use std::ops::Range;

/// What is scattered of a material.
const MATERIAL: [(&str, Of); 3] = [
    ("material.modulus", Of::Modulus),
    ("material.density", Of::Density),
    ("material.yield", Of::Yield),
];

/// Reads `[[scatter]]` and `[robust]`; with the places of the names, one a recipe.
pub(super) fn read_scatter(
    reader: &mut Reader,
    root: &Entries,
    variables: &[Variable],
    loads: &[LoadRecipe],
) -> (ScatterPlan, Vec<Range<usize>>) {
    let entries = match root.node("robust") {
        Some(node) => reader.table(&keys::ROBUST, node),
        None => reader.nothing(&keys::ROBUST, root.span.clone()),
    };
    let mut plan = ScatterPlan {
        recipes: Vec::new(),
        process: shape(reader.word(&entries, "process")),
        chance: share(
            reader,
            &entries,
            "chance",
            0.5..1.0,
            "a chance from 50 % to below 100 %",
        ),
        samples: usize::try_from(reader.whole(&entries, "samples")).unwrap_or(1),
    };
    let mut places: Vec<Range<usize>> = Vec::new();
    for entries in reader.tables(root, "scatter") {
        let Some(recipe) = read_recipe(reader, &entries, variables, loads) else {
            continue;
        };
        let place = entries.place("of");
        if let Some(at) = plan.recipes.iter().position(|other| other.of == recipe.of) {
            let title = format!("`{}` scatters twice", recipe.name);
            let problem = Problem::new("study/repeated", title, place.clone(), "again");
            reader.note(
                problem
                    .with(places[at].clone(), "first here")
                    .mend("keep one of them"),
            );
        }
        places.push(place);
        plan.recipes.push(recipe);
    }
    (plan, places)
}

/// The quantile of an objective.
pub(super) fn quantile(reader: &mut Reader, entries: &Entries) -> Option<f64> {
    share(
        reader,
        entries,
        "quantile",
        0.5..1.0,
        "a share of the parts from 50 % to below 100 %",
    )
}

fn shape(word: &str) -> Option<Shape> {
    match word {
        "normal" => Some(Shape::Normal),
        "uniform" => Some(Shape::Uniform),
        "triangular" => Some(Shape::Triangular),
        "truncated" => Some(Shape::Truncated),
        _ => None,
    }
}

fn read_recipe(
    reader: &mut Reader,
    entries: &Entries,
    variables: &[Variable],
    loads: &[LoadRecipe],
) -> Option<ScatterRecipe> {
    let name = reader.text(entries, "of");
    if name.is_empty() {
        return None;
    }
    let (of, unit) = target(reader, entries, &name, variables, loads)?;
    let kind = shape(reader.word(entries, "shape")).unwrap_or(Shape::Normal);
    let mut relative = None;
    let mut number = |reader: &mut Reader, key: &str, least: f64| {
        let node = entries.node(key)?;
        let (value, found) = reader.fixed(key, node.value)?;
        let is_share = found.symbol.as_str() == "%";
        match unit {
            Some(wanted) if !is_share => {
                reader.fixed_as(key, node.value, wanted)?;
            }
            None if found.dimension != Unit::NUMBER.dimension => {
                let title = "materials and load cases scatter by shares of their nominal value";
                let label = format!("this is {}", found.dimension);
                let problem = Problem::new("scatter/spread", title, node.value.span(), label);
                reader.note(problem.mend("write it in per cent: \"3 %\""));
                return None;
            }
            _ => {}
        }
        let is_share = is_share || unit.is_none();
        if value < least {
            let title = format!("`{key}` is less than nothing");
            let problem = Problem::new("study/out-of-range", title, node.value.span(), "below 0");
            reader.note(problem.mend("write 0 or more"));
            return None;
        }
        if value != 0.0 && *relative.get_or_insert(is_share) != is_share {
            let title = "one of these is a share of the nominal value, another an amount";
            let problem =
                Problem::new("scatter/spread", title, node.value.span(), "otherwise here");
            reader.note(problem.mend("give all in per cent, or all with the unit"));
            return None;
        }
        Some(value)
    };
    let half = number(reader, "plus_minus", 0.0);
    let sd = number(reader, "sd", 0.0);
    let middle = number(reader, "shift", f64::NEG_INFINITY).unwrap_or(0.0);
    let has = |key: &str| entries.node(key).is_some();
    let distribution = match (kind, half, sd) {
        (Shape::Normal, Some(half), None) if !has("sd") => Some(Distribution::Normal {
            middle,
            sd: half / TOLERANCE_SDS,
        }),
        (Shape::Normal, None, Some(sd)) if !has("plus_minus") => {
            Some(Distribution::Normal { middle, sd })
        }
        (Shape::Uniform, Some(half), None) if !has("sd") => {
            Some(Distribution::Uniform { middle, half })
        }
        (Shape::Triangular, Some(half), None) if !has("sd") => {
            Some(Distribution::Triangular { middle, half })
        }
        (Shape::Truncated, Some(half), Some(sd)) => {
            Some(Distribution::Truncated { middle, sd, half })
        }
        _ => None,
    };
    let Some(distribution) = distribution else {
        // What can't be read has been noted.
        let unread = |key: &str, value: Option<f64>| has(key) && value.is_none();
        if !unread("plus_minus", half) && !unread("sd", sd) {
            note_spread(reader, entries, kind);
        }
        return None;
    };
    let common = entries
        .node("common")
        .map(|_| reader.text(entries, "common"))
        .filter(|name| !name.is_empty());
    let share = share(
        reader,
        entries,
        "share",
        0.0..1.0 + f64::EPSILON,
        "a share from 0 to 1",
    );
    Some(ScatterRecipe {
        relative: match of {
            Of::Modulus | Of::Density | Of::Yield | Of::Load(_) => true,
            _ => relative.unwrap_or(false),
        },
        of,
        name,
        distribution,
        common,
        share: share.unwrap_or(1.0),
    })
}

fn note_spread(reader: &mut Reader, entries: &Entries, kind: Shape) {
    let (title, mend) = match kind {
        Shape::Normal => (
            "a normal distribution has either `plus_minus` or `sd`",
            "write plus_minus = ... (three standard deviations), or sd = ...",
        ),
        Shape::Truncated => (
            "a truncated normal distribution has `sd` and, where it is cut off, `plus_minus`",
            "write both",
        ),
        Shape::Uniform | Shape::Triangular => (
            "the limits of this distribution are its `plus_minus` alone",
            "write plus_minus = ..., and take `sd` out",
        ),
    };
    let problem = Problem::new("scatter/spread", title, entries.span.clone(), "here");
    reader.note(problem.mend(mend));
}

/// What a name stands for, and the unit of its deviations (`None`: shares alone).
fn target(
    reader: &mut Reader,
    entries: &Entries,
    name: &str,
    variables: &[Variable],
    loads: &[LoadRecipe],
) -> Option<(Of, Option<Unit>)> {
    if let Some((_, of)) = MATERIAL.iter().find(|(known, _)| *known == name) {
        return Some((of.clone(), None));
    }
    let of_load = |load: &LoadRecipe| name.strip_prefix("load.") == Some(load.name.as_str());
    if let Some(load) = loads.iter().position(of_load) {
        return Some((Of::Load(load), None));
    }
    if let Some(index) = variables.iter().position(|each| each.name == name) {
        return Some((Of::Variable(index), Some(variables[index].unit)));
    }
    // Dimensions are known once today's revision is built.
    if name.contains(',') {
        return Some((Of::Dimension(name.to_string()), Some(Unit::MM)));
    }
    let load_names = loads.iter().map(|load| format!("load.{}", load.name));
    let names = variables.iter().map(|each| each.name.clone());
    let fixed = MATERIAL.iter().map(|(known, _)| known.to_string());
    let known: Vec<String> = names.chain(load_names).chain(fixed).collect();
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let title = format!("nothing that can scatter is called `{name}`");
    let problem = Problem::new("scatter/unknown", title, entries.place("of"), "not known");
    let problem = problem.mend(
        "name a variable, `material.modulus`, `material.density`, `material.yield`, `load.` and a load case, or a \
         dimension as `fretwork try` lists it under tolerances: \"outer wall, thickness\"",
    );
    reader.note(problem.mend_if(suggest(name, &known).filter(|text| text.starts_with("did"))));
    None
}

/// A share in a range; `None` where left out or at fault.
fn share(
    reader: &mut Reader,
    entries: &Entries,
    key: &str,
    range: Range<f64>,
    words: &str,
) -> Option<f64> {
    let node = entries.node(key)?;
    let value = reader.fixed_as(key, node.value, Unit::NUMBER)?;
    if range.contains(&value) {
        return Some(value);
    }
    let title = format!("`{key}` is out of range");
    let problem = Problem::new("study/out-of-range", title, node.value.span(), "outside");
    reader.note(problem.mend(format!("write {words}")));
    None
}

/// What a dimension that a study names is not, at the place of its name.
pub fn no_such_dimension(name: &str, place: Range<usize>, known: &[String]) -> Problem {
    let title = format!("today's revision has no dimension `{name}`");
    let names: Vec<&str> = known.iter().map(String::as_str).collect();
    let near = suggest(name, &names).filter(|text| text.starts_with("did"));
    Problem::new("scatter/unknown", title, place, "not among its tolerances")
        .mend("write it as `fretwork try` lists it under tolerances")
        .mend_if(near)
        .note(format!("there are: {}", names.join("; ")))
}
